//! What is to be planned: tests, their segments of work, the waits between them, windows.
//!
//! Plain data and its check. What bends and what does not is decided here:
//!
//! | said of                                  | bends | why                                                    |
//! |------------------------------------------|-------|--------------------------------------------------------|
//! | the length of a segment, its wholeness   | no    | half a layer rodded is no layer                        |
//! | the order of the segments of a test      | no    | the method's                                           |
//! | the least wait, a window's `at_least`    | no    | a probe read too soon is wrong, and waiting is possible |
//! | when a test may begin                    | no    | what it needs is not there before                      |
//! | the longest wait, a window's `at_most`   | yes   | time passes whatever the plan says; late is told        |
//!
//! **Invariant:** a problem that passed its check has a plan, if perhaps a late one.

use crate::graph;

/// A moment or a span, a whole number of the caller's unit (seconds in this house).
pub type Time = i64;

/// No time, span or sum of spans may be longer than this: enough for two years of seconds, and short
/// enough that the search can add without looking.
pub(crate) const LONGEST: Time = 1 << 26;

/// Which test of a [`Problem`].
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TestId(pub usize);

impl TestId {
    /// The segment at `index` in this test, from 0.
    pub fn segment(self, index: usize) -> SegmentId {
        SegmentId { test: self, index }
    }
}

/// Which segment of which test.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SegmentId {
    /// The test it belongs to.
    pub test: TestId,
    /// Its place in the test, from 0.
    pub index: usize,
}

/// A stretch of work that holds a pair of hands from its start to its end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Segment {
    /// What is done.
    pub name: String,
    /// How long it holds the hands. A segment that takes no time needs no hands.
    pub lasts: Time,
    /// The wait after it, before the next segment of the test. Of the last segment, nothing follows from it.
    pub wait: Wait,
}

impl Segment {
    /// A segment the next one may follow at once, or at any time later.
    pub fn new(name: impl Into<String>, lasts: Time) -> Self {
        Self { name: name.into(), lasts, wait: Wait::default() }
    }

    /// The same with a wait after it, during which the hands are free.
    pub fn then_wait(mut self, at_least: Time, at_most: Option<Time>) -> Self {
        self.wait = Wait { at_least, at_most };
        self
    }
}

/// A wait without hands between two segments of a test.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub struct Wait {
    /// The next segment does not start sooner than this after the end of the one before.
    pub at_least: Time,
    /// And should start within this; longer is late.
    pub at_most: Option<Time>,
}

/// One test: segments in their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Test {
    /// What it is called.
    pub name: String,
    /// Its work.
    pub segments: Vec<Segment>,
    /// It may not begin before this moment.
    pub ready: Time,
}

impl Test {
    /// A test that may begin at 0.
    pub fn new(name: impl Into<String>, segments: Vec<Segment>) -> Self {
        Self { name: name.into(), segments, ready: 0 }
    }

    /// The same, but it may not begin before `ready`.
    pub fn not_before(mut self, ready: Time) -> Self {
        self.ready = ready;
        self
    }
}

/// A moment a window opens or closes with.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum Point {
    /// A fixed moment, such as the last portion of the sample.
    Fixed(Time),
    /// The start of a segment.
    Start(SegmentId),
    /// The end of a segment.
    End(SegmentId),
    /// So long after the start of a segment, while it lasts.
    Into(SegmentId, Time),
}

impl Point {
    /// The segment it hangs on, if it is not fixed.
    pub fn segment(self) -> Option<SegmentId> {
        match self {
            Self::Fixed(_) => None,
            Self::Start(segment) | Self::End(segment) | Self::Into(segment, _) => Some(segment),
        }
    }
}

/// A limit from one moment to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// What it is called in an explanation.
    pub name: String,
    /// It counts from here.
    pub from: Point,
    /// To here.
    pub to: Point,
    /// `to` is not before this much after `from`. Zero makes a plain order of two moments.
    pub at_least: Option<Time>,
    /// `to` should not be later than this after `from`; later is late by the difference.
    pub at_most: Option<Time>,
}

impl Window {
    /// A window that asks for nothing yet.
    pub fn new(name: impl Into<String>, from: Point, to: Point) -> Self {
        Self { name: name.into(), from, to, at_least: None, at_most: None }
    }

    /// The same with a least time.
    pub fn at_least(mut self, span: Time) -> Self {
        self.at_least = Some(span);
        self
    }

    /// The same with a longest time.
    pub fn at_most(mut self, span: Time) -> Self {
        self.at_most = Some(span);
        self
    }
}

/// Tests to be done by so many pairs of hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The tests.
    pub tests: Vec<Test>,
    /// Windows within and between tests.
    pub windows: Vec<Window>,
    /// How many pairs of hands there are.
    pub hands: usize,
}

/// Which limit is meant: a stated window, or the longest wait after a segment.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WindowOf {
    /// Index in [`Problem::windows`].
    Stated(usize),
    /// The longest wait after this segment.
    Wait(SegmentId),
}

/// One statement in a chain of statements that cannot all hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Link {
    /// A window's least or longest time.
    Window(usize),
    /// The wait after a segment: its least or longest time.
    Wait(SegmentId),
    /// The segment's own length.
    Lasts(SegmentId),
    /// When a test may begin.
    Ready(TestId),
}

/// Why a problem cannot be planned at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Nobody is there.
    #[error("there is no pair of hands: say how many there are, 1 or more")]
    NoHands,
    /// A test without work.
    #[error("the test {test} has no work in it: give it a segment, or leave it out")]
    NoWork {
        /// The test's name.
        test: String,
    },
    /// A name for a segment that is not there.
    #[error("{name} speaks of a segment that is not there")]
    NoSuchSegment {
        /// The window, or what was told as done.
        name: String,
    },
    /// A negative span where only a positive one makes sense.
    #[error(
        "{name} has a time below zero, or a longest time shorter than its least, or longer than the work it lies in"
    )]
    BadSpan {
        /// The segment or window.
        name: String,
    },
    /// More than the search can hold.
    #[error("this is too much for one plan: at most 120 segments, and times under two years in all")]
    TooMuch,
    /// What cannot bend leaves no order of work for so many hands.
    #[error("no order of work keeps what cannot bend: look at the least times that end at a fixed moment")]
    NoOrder,
    /// Statements that contradict each other, however quick the work.
    #[error("these cannot all be kept, however quick the work ({over} too much): {}", names.join(", "))]
    Contradiction {
        /// The statements, in the order of the cycle.
        cycle: Vec<Link>,
        /// Their names.
        names: Vec<String>,
        /// By how much they miss.
        over: Time,
    },
}

impl Problem {
    /// No tests yet.
    pub fn new(hands: usize) -> Self {
        Self { tests: Vec::new(), windows: Vec::new(), hands }
    }

    /// Adds a test and gives its name for windows.
    pub fn add(&mut self, test: Test) -> TestId {
        self.tests.push(test);
        TestId(self.tests.len() - 1)
    }

    /// Adds a window.
    pub fn window(&mut self, window: Window) {
        self.windows.push(window);
    }

    /// The segment behind an id.
    pub fn segment(&self, id: SegmentId) -> Option<&Segment> {
        self.tests.get(id.test.0)?.segments.get(id.index)
    }

    /// Every segment, test after test.
    pub fn segments(&self) -> impl Iterator<Item = SegmentId> + '_ {
        self.tests
            .iter()
            .enumerate()
            .flat_map(|(test, it)| (0..it.segments.len()).map(move |s| TestId(test).segment(s)))
    }

    /// What a limit is called: the window's own name, or the wait after a segment.
    pub fn name_of(&self, which: WindowOf) -> String {
        match which {
            WindowOf::Stated(index) => self.windows.get(index).map_or_else(String::new, |window| window.name.clone()),
            WindowOf::Wait(id) => format!("wait after {}", self.segment_name(id)),
        }
    }

    pub(crate) fn segment_name(&self, id: SegmentId) -> String {
        let test = self.tests.get(id.test.0).map_or("?", |test| &test.name);
        format!("{test}, {}", self.segment(id).map_or("?", |segment| &segment.name))
    }

    /// The same problem without one test and every window that speaks of it.
    /// Tests and windows after it move up by one.
    pub fn without(&self, test: TestId) -> Self {
        let moved = |point: Point| match point {
            Point::Fixed(_) => Some(point),
            Point::Start(id) => shifted(id, test).map(Point::Start),
            Point::End(id) => shifted(id, test).map(Point::End),
            Point::Into(id, after) => shifted(id, test).map(|id| Point::Into(id, after)),
        };
        let windows = self
            .windows
            .iter()
            .filter_map(|window| Some(Window { from: moved(window.from)?, to: moved(window.to)?, ..window.clone() }));
        let tests = self.tests.iter().enumerate().filter(|(index, _)| *index != test.0);
        Self { windows: windows.collect(), tests: tests.map(|(_, test)| test.clone()).collect(), hands: self.hands }
    }

    /// Whether it can be planned at all.
    ///
    /// # Errors
    ///
    /// The first [`Fault`]. Work that is too long for its window is not one: that plan is late, and says so.
    /// A [`Fault::Contradiction`] is what contradicts itself within one test even if its work took no time,
    /// or an order of work that bites its own tail.
    pub fn check(&self) -> Result<(), Fault> {
        if self.hands == 0 {
            return Err(Fault::NoHands);
        }
        let mut longest: Time = 0;
        let mut add = |span: Time, name: &dyn Fn() -> String, may_be_negative: bool| {
            if span < 0 && !may_be_negative {
                return Err(Fault::BadSpan { name: name() });
            }
            longest = longest.saturating_add(span.saturating_abs());
            Ok(())
        };
        for (index, test) in self.tests.iter().enumerate() {
            if test.segments.is_empty() {
                return Err(Fault::NoWork { test: test.name.clone() });
            }
            add(test.ready, &|| test.name.clone(), true)?;
            for (at, segment) in test.segments.iter().enumerate() {
                let name = || self.segment_name(TestId(index).segment(at));
                add(segment.lasts, &name, false)?;
                add(segment.wait.at_least, &name, false)?;
                add(segment.wait.at_most.unwrap_or(0), &name, false)?;
                if segment.wait.at_most.is_some_and(|most| most < segment.wait.at_least) {
                    return Err(Fault::BadSpan { name: name() });
                }
            }
        }
        for window in &self.windows {
            let name = || window.name.clone();
            for point in [window.from, window.to] {
                match point {
                    Point::Fixed(moment) => add(moment, &name, true)?,
                    Point::Start(id) | Point::End(id) | Point::Into(id, _) if self.segment(id).is_none() => {
                        return Err(Fault::NoSuchSegment { name: name() });
                    }
                    Point::Into(id, after) => {
                        let lasts = self.segment(id).map_or(0, |segment| segment.lasts);
                        if after < 0 || after > lasts {
                            return Err(Fault::BadSpan { name: name() });
                        }
                    }
                    Point::Start(_) | Point::End(_) => {}
                }
            }
            add(window.at_least.unwrap_or(0), &name, true)?;
            add(window.at_most.unwrap_or(0), &name, true)?;
            if window.at_least.zip(window.at_most).is_some_and(|(least, most)| most < least) {
                return Err(Fault::BadSpan { name: name() });
            }
        }
        let count: usize = self.tests.iter().map(|test| test.segments.len()).sum();
        if longest >= LONGEST || count > 120 {
            return Err(Fault::TooMuch);
        }
        graph::contradiction(self)
    }
}

fn shifted(id: SegmentId, without: TestId) -> Option<SegmentId> {
    match id.test.0.cmp(&without.0) {
        std::cmp::Ordering::Less => Some(id),
        std::cmp::Ordering::Equal => None,
        std::cmp::Ordering::Greater => Some(TestId(id.test.0 - 1).segment(id.index)),
    }
}

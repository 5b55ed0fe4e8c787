//! The moments of a run that are to be heard.
//!
//! Here: which moments, and how hard each is. Not here: the words for them, and any sound.
//!
//! **Invariant:** a cue follows from the running clocks alone, so that the same run at the same moment gives the same
//! cues, and what was foreseen comes true if nothing happens.

use procedure::Wants;
use quantity::Span;

use crate::moment::Tick;
use crate::offer::{Clock, ClockOf, Side};
use crate::run::Run;
use crate::state::Phase;

/// A moment that is to be heard.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct TimeCue {
    /// When.
    pub at: Tick,
    /// The clock it belongs to.
    pub of: ClockOf,
    /// Which side of it is allowed.
    pub side: Side,
    /// What it says.
    pub what: TimeSays,
}

/// What the moment says.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum TimeSays {
    /// Half of a long wait is over; so much is left.
    Halfway(Span),
    /// So much is left.
    Left(Span),
    /// One of the last seconds: 5, 4, 3, 2, 1.
    Countdown(u8),
    /// So many seconds in a position that has a limit, or since what is timed was begun: a tick.
    Tick(u8),
    /// The moment itself: long enough, read now, turn it, over.
    Now,
}

/// A wait shorter than this has no middle worth telling, and no half minute.
const LONG_WAIT: Span = Span::from_secs(60);
/// Two things said about one clock are at least this far apart, and from its start.
const APART: Span = Span::from_secs(5);
/// The last seconds, counted down one by one.
const COUNTED_DOWN: u64 = 5;
/// A limit no longer than this is ticked from its start instead of being told from its end.
const TICKED_AT_MOST: Span = Span::from_secs(15);
/// More repetitions of a prompt than this are not foreseen at once.
const MOST_PROMPTS: u64 = 1_000;

impl Run {
    /// The moments after `now`, up to `ahead` later, that are to be heard if nothing else happens; in order, and of those
    /// at one moment first what asks for a hand.
    ///
    /// | clock                           | half way | left           | last five seconds | ticks        | the moment       |
    /// |---------------------------------|----------|----------------|-------------------|--------------|------------------|
    /// | a hold's least, the next reading| from 60 s| 60, 30, 10 s   | counted down      | –            | when it is due   |
    /// | a hold's most, settling         | –        | 60, 30, 10 s   | –                 | –            | once it is over  |
    /// | the limited position            | –        | –              | –                 | each second  | when it is due   |
    /// | what the person times           | –        | –              | –                 | each second  | least; most once it is over |
    /// | a limit across steps            | –        | 60, 10 s       | –                 | –            | once it is over  |
    /// | a prompt                        | –        | –              | –                 | –            | every time       |
    ///
    /// A limit is over one millisecond after it: the limit itself still counts as kept. `30 s` is told only of a minute and
    /// more. Nothing is told within five seconds of the start of its clock or of its half. While the limited position
    /// lasts, of the hold around it only its moment is told.
    pub fn cues(&self, now: Tick, ahead: Span) -> Vec<TimeCue> {
        let mut told = Told { now, end: now.after(ahead), cues: Vec::new() };
        let cursor = &self.state.cursor;
        let open = self.edition.steps.get(cursor.step.0 as usize).filter(|_| cursor.phase == Phase::AtStep);
        let wants = open.map(|step| &step.wants);
        let clocks: Vec<Clock> = self.clocks(now).collect();
        let due_of = |of| clocks.iter().find(|clock: &&Clock| clock.of == of).map(|clock| clock.due);
        // A reading that would come after the limit is not waited for.
        let is_given_up = due_of(ClockOf::NextReading) > due_of(ClockOf::GiveUp);
        let is_down = due_of(ClockOf::Down).is_some();
        for clock in &clocks {
            match (clock.of, wants) {
                (ClockOf::Hold, Some(Wants::Timed { .. })) => told.now(clock),
                (ClockOf::HoldMost, Some(Wants::Timed { at_least, .. })) => told.timed(clock, *at_least),
                (ClockOf::Hold, _) if is_down => told.now(clock),
                (ClockOf::NextReading | ClockOf::GiveUp, _) if is_given_up => {}
                (ClockOf::Hold | ClockOf::NextReading, _) => told.wait(clock),
                (ClockOf::HoldMost | ClockOf::GiveUp, _) => told.limit(clock, &[60, 30, 10]),
                (ClockOf::Limit(_), _) => told.limit(clock, &[60, 10]),
                (ClockOf::Down, _) => told.position(clock),
                (ClockOf::Prompt, _) => {
                    if let Some(every) = open.and_then(|step| step.every.as_ref()) {
                        told.prompts(clock, every.span);
                    }
                }
            }
        }
        let mut cues = told.cues;
        cues.sort_by_key(|cue| (cue.at, rank(cue.of)));
        cues
    }
}

/// Of several at one moment, which is first.
fn rank(of: ClockOf) -> (u8, u16) {
    match of {
        ClockOf::Down => (0, 0),
        ClockOf::Hold => (1, 0),
        ClockOf::NextReading => (2, 0),
        ClockOf::HoldMost => (3, 0),
        ClockOf::GiveUp => (4, 0),
        ClockOf::Limit(n) => (5, n),
        ClockOf::Prompt => (6, 0),
    }
}

/// What is told of the clocks within the time asked for.
struct Told {
    now: Tick,
    end: Tick,
    cues: Vec<TimeCue>,
}

impl Told {
    fn add(&mut self, clock: &Clock, at: Tick, what: TimeSays) {
        if self.now < at && at <= self.end {
            self.cues.push(TimeCue { at, of: clock.of, side: clock.side, what });
        }
    }

    /// The moment of a clock; that of a limit is when it is over.
    fn now(&mut self, clock: &Clock) {
        self.add(clock, clock.due, TimeSays::Now);
    }

    fn over(&mut self, clock: &Clock) {
        self.add(clock, clock.due.after(Span(1)), TimeSays::Now);
    }

    /// What is left of a clock, at those of `ladder` that say something new.
    fn left(&mut self, clock: &Clock, halfway: Option<Tick>, ladder: &[u64]) {
        let whole = clock.due.since(clock.started);
        for left in ladder.iter().map(|seconds| Span::from_secs(*seconds)) {
            let says_much = left != Span::from_secs(30) || whole >= LONG_WAIT;
            if !says_much || whole.0 < left.0.saturating_add(APART.0) {
                continue;
            }
            let at = Tick(clock.due.0 - left.0);
            let is_near = |halfway: Tick| halfway.0.abs_diff(at.0) < APART.0;
            if !halfway.is_some_and(is_near) {
                self.add(clock, at, TimeSays::Left(left));
            }
        }
    }

    /// Something to wait for.
    fn wait(&mut self, clock: &Clock) {
        let whole = clock.due.since(clock.started);
        // In whole seconds, because it is said.
        let half = Span::from_secs(whole.0 / 2_000);
        let halfway = (whole >= LONG_WAIT).then(|| Tick(clock.due.0 - half.0));
        if let Some(halfway) = halfway {
            self.add(clock, halfway, TimeSays::Halfway(half));
        }
        self.left(clock, halfway, &[60, 30, 10]);
        for second in (1..=COUNTED_DOWN).rev().filter(|second| second * 1_000 < whole.0) {
            self.add(clock, Tick(clock.due.0 - second * 1_000), TimeSays::Countdown(second as u8));
        }
        self.now(clock);
    }

    /// Something that must not last longer.
    fn limit(&mut self, clock: &Clock, ladder: &[u64]) {
        self.left(clock, None, ladder);
        self.over(clock);
    }

    /// The limited one of two positions: at its limit it is still time to leave it.
    fn position(&mut self, clock: &Clock) {
        let whole = clock.due.since(clock.started);
        if whole > TICKED_AT_MOST {
            return self.wait(clock);
        }
        self.ticks(clock, |_| false);
        self.now(clock);
    }

    /// What the person times: its seconds, but for the one at which it may end.
    fn timed(&mut self, most: &Clock, at_least: Span) {
        if most.due.since(most.started) > TICKED_AT_MOST {
            return self.limit(most, &[60, 30, 10]);
        }
        self.ticks(most, |gone| gone == at_least);
        self.over(most);
    }

    fn ticks(&mut self, clock: &Clock, is_told_otherwise: impl Fn(Span) -> bool) {
        let whole = clock.due.since(clock.started);
        for second in (1..=TICKED_AT_MOST.0 / 1_000).take_while(|second| second * 1_000 < whole.0) {
            let gone = Span::from_secs(second);
            if !is_told_otherwise(gone) {
                self.add(clock, clock.started.after(gone), TimeSays::Tick(second as u8));
            }
        }
    }

    /// Every repetition of a prompt, not only the next.
    fn prompts(&mut self, clock: &Clock, every: Span) {
        for n in 0..MOST_PROMPTS {
            let Some(at) = every.0.checked_mul(n).and_then(|gone| clock.due.0.checked_add(gone)) else { return };
            if at > self.end.0 {
                return;
            }
            self.add(clock, Tick(at), TimeSays::Now);
        }
    }
}

//! From procedures to segments, waits and windows.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use plan::{Point, Problem, Segment, SegmentId, Test, TestId, Time, Wait, Window};
use procedure::{Edition, ReadingId, StepId, Text, Wants};
use quantity::Span;

use super::rehearse::{Beat, Rehearsal, rehearse};
use super::{Chosen, Day, Durations, Laid, Pace, Placed};

/// The moment all windows of the trade count from.
const LAST_PORTION: &str = "last-portion";

/// A place between two stages where the hands may go elsewhere: the test, and the step that comes next in which round.
pub(super) type Break = (usize, StepId, u16);

/// Breaks that are not to be used.
pub(super) type Joined = BTreeSet<Break>;

/// The chosen tests, rehearsed.
pub(super) struct Sketch<'c> {
    tests: Vec<(&'c Chosen, Rehearsal)>,
}

impl<'c> Sketch<'c> {
    pub fn of(chosen: &'c [Chosen]) -> Self {
        Self { tests: chosen.iter().map(|test| (test, rehearse(&test.edition, &test.expected))).collect() }
    }

    /// The tests as a problem for so many pairs of hands.
    pub fn day(&self, hands: usize, pace: Pace, durations: &Durations, joined: &Joined) -> Day {
        let mut day = Day { problem: Problem::new(hands), tests: Vec::new(), pace };
        let mut drafts = Vec::new();
        for (at, (test, rehearsal)) in self.tests.iter().enumerate() {
            let own: BTreeSet<(StepId, u16)> =
                joined.iter().filter(|(test, ..)| *test == at).map(|(_, step, round)| (*step, *round)).collect();
            let draft = Draft::of(test, rehearsal, pace, durations, &own);
            let names: Vec<String> = (0..draft.segments.len()).map(|at| draft.segment_name(at)).collect();
            let named = |(at, segment): (usize, &Segment)| {
                // Two stretches of one stage are told apart by their number.
                let same = |list: &[String]| list.iter().filter(|name| **name == names[at]).count();
                let name = names[at].clone();
                let name = if same(&names) > 1 { format!("{name} ({})", same(&names[..=at])) } else { name };
                Segment { name, ..segment.clone() }
            };
            let segments = draft.segments.iter().enumerate().map(named).collect();
            day.problem.add(Test::new(test.name.clone(), segments).not_before(test.ready));
            for window in &draft.settling {
                day.problem.window(window.in_test(TestId(at)));
            }
            day.tests.push(draft.laid.clone());
            drafts.push(draft);
        }
        let moments = moments(&drafts);
        for (at, draft) in drafts.iter().enumerate() {
            for window in draft.limits(TestId(at), &moments) {
                day.problem.window(window);
            }
            draft.order(TestId(at), &drafts, &moments, &mut day.problem);
        }
        day
    }
}

/// The breaks a day has.
pub(super) fn breaks(day: &Day) -> Vec<Break> {
    let tests = day.tests.iter().enumerate();
    let breaks = tests.flat_map(|(test, laid)| {
        laid.segments.windows(2).filter_map(move |pair| {
            let [before, after] = pair else { return None };
            let next = after.first()?;
            let free = before.last().is_some_and(|last| !last.begins_wait);
            free.then_some((test, next.step, next.round))
        })
    });
    breaks.collect()
}

/// The segment that begins at a break.
pub(super) fn segment_at(day: &Day, (test, step, round): &Break) -> Option<SegmentId> {
    let begins = |steps: &Vec<Placed>| steps.first().is_some_and(|first| first.step == *step && first.round == *round);
    let at = day.tests.get(*test)?.segments.iter().position(begins)?;
    Some(TestId(*test).segment(at))
}

/// A window between two places of one test, before the test has its number.
struct Inner {
    name: String,
    from: (usize, Time),
    to: (usize, Time),
    at_most: Time,
}

impl Inner {
    fn in_test(&self, test: TestId) -> Window {
        let point = |(segment, after): (usize, Time)| Point::Into(test.segment(segment), after);
        Window::new(self.name.clone(), point(self.from), point(self.to)).at_most(self.at_most)
    }
}

struct Draft<'c> {
    chosen: &'c Chosen,
    laid: Laid,
    segments: Vec<Segment>,
    settling: Vec<Inner>,
    /// The steps before the last portion.
    before: Vec<Beat>,
    /// The moment of the sample this test begins with, by its name.
    begins_with: Option<String>,
}

/// Where each moment of the sample will be marked by a step after the last portion.
type Moments = BTreeMap<String, (TestId, Point)>;

/// Whole seconds; a part of a second counts as one.
fn seconds_up(span: Span) -> Time {
    Time::try_from(span.0.div_ceil(1_000)).unwrap_or(Time::MAX / 4)
}

/// Whole seconds; a part of a second is not there yet.
fn seconds_down(span: Span) -> Time {
    Time::try_from(span.0 / 1_000).unwrap_or(Time::MAX / 4)
}

/// A text as it stands before anything is read.
fn say(edition: &Arc<Edition>, text: &Text) -> String {
    let run = engine::Run::open(edition.clone(), quantity::Ties::Even, engine::Moment::default());
    run.say(text)
}

impl<'c> Draft<'c> {
    fn of(
        chosen: &'c Chosen,
        rehearsal: &Rehearsal,
        pace: Pace,
        durations: &Durations,
        joined: &BTreeSet<(StepId, u16)>,
    ) -> Self {
        let edition = &chosen.edition;
        let (first, begins_with) = first_beat(edition, &rehearsal.beats);
        let (before, after) = rehearsal.beats.split_at(first);
        let mut draft = Self {
            chosen,
            laid: Laid {
                name: chosen.name.clone(),
                takes_sample: begins_with.is_none()
                    && before.last().is_some_and(|beat| edition.step(beat.step).moment.is_some()),
                preparation: 0,
                segments: vec![Vec::new()],
                guessed_from: rehearsal.guessed_from.map(|step| edition.step(step).id.clone()),
                without_length: Vec::new(),
            },
            segments: vec![Segment::new("", 0)],
            settling: Vec::new(),
            before: before.to_vec(),
            begins_with,
        };
        for beat in before {
            draft.laid.preparation += draft.hands_on(beat.step, pace, durations) * Time::from(beat.sets)
                + prescribed(&edition.step(beat.step).wants, beat.sets);
        }
        // Whoever begins a test only to keep the window of its beginning has not begun it.
        let begins = |step: StepId| {
            edition.limits.iter().any(|limit| limit.to == step && edition.step(limit.from).moment.is_some())
        };
        for (before, beat) in std::iter::once(None).chain(after.iter().map(Some)).zip(after) {
            let next_stage = |before: &Beat| edition.step(before.step).stage != edition.step(beat.step).stage;
            let may_break = before.is_some_and(|before| next_stage(before) && !begins(before.step));
            let begun = draft.laid.segments.last().is_some_and(|steps| !steps.is_empty());
            if may_break && begun && !joined.contains(&(beat.step, beat.round)) {
                draft.wait(0, None);
            }
            draft.put(beat, pace, durations);
        }
        // A wait at the very end is waited for by nobody.
        if draft.segments.len() > 1 && draft.laid.segments.last().is_some_and(Vec::is_empty) {
            draft.segments.pop();
            draft.laid.segments.pop();
        }
        draft
    }

    /// The length of a step beside what the method prescribes.
    fn hands_on(&mut self, step: StepId, pace: Pace, durations: &Durations) -> Time {
        let spec = self.chosen.edition.step(step);
        let measured = durations.of(&self.chosen.edition.id, &spec.id).map(|it| (it.typical, it.slow));
        let Some((typical, slow)) = measured.or(spec.lasts.map(|lasts| (lasts.typical, lasts.slow))) else {
            if !self.laid.without_length.contains(&spec.id) {
                self.laid.without_length.push(spec.id.clone());
            }
            return 0;
        };
        seconds_up(if pace == Pace::Slow { slow } else { typical })
    }

    fn put(&mut self, beat: &Beat, pace: Pace, durations: &Durations) {
        let edition = self.chosen.edition.clone();
        let step = edition.step(beat.step);
        let own = self.hands_on(beat.step, pace, durations);
        match &step.wants {
            Wants::Hold { at_least, at_most, .. } if step.hands_free => {
                self.work(beat, 1, own, true);
                self.wait(seconds_up(*at_least), at_most.map(seconds_down));
            }
            Wants::Settle(settle) if step.hands_free => {
                let opened = self.here();
                for set in 1..=beat.sets {
                    self.work(beat, set, own, set < beat.sets);
                    if set < beat.sets {
                        self.wait(seconds_up(settle.every), None);
                    }
                }
                if beat.sets > 1 {
                    let at_most = seconds_down(settle.give_up_after);
                    let name = format!("{}: standing still before it is given up", self.chosen.name);
                    self.settling.push(Inner { name, from: opened, to: self.here(), at_most });
                }
            }
            wants => self.work(beat, 1, own * Time::from(beat.sets) + prescribed(wants, beat.sets), false),
        }
    }

    /// The place reached so far.
    fn here(&self) -> (usize, Time) {
        (self.segments.len() - 1, self.segments.last().map_or(0, |segment| segment.lasts))
    }

    fn work(&mut self, beat: &Beat, set: u32, lasts: Time, begins_wait: bool) {
        let (at, from) = self.here();
        if let (Some(segment), Some(steps)) = (self.segments.get_mut(at), self.laid.segments.get_mut(at)) {
            segment.lasts = from + lasts;
            steps.push(Placed { step: beat.step, round: beat.round, set, from, to: from + lasts, begins_wait });
        }
    }

    fn wait(&mut self, at_least: Time, at_most: Option<Time>) {
        if let Some(segment) = self.segments.last_mut() {
            segment.wait = Wait { at_least, at_most: at_most.map(|most| most.max(at_least)) };
        }
        self.segments.push(Segment::new("", 0));
        self.laid.segments.push(Vec::new());
    }

    /// A segment is called after the stages its steps belong to.
    fn segment_name(&self, at: usize) -> String {
        let edition = &self.chosen.edition;
        let steps = self.laid.segments.get(at).map_or(&[][..], Vec::as_slice);
        let stage = |placed: &Placed| edition.stage_of(placed.step).title.clone();
        match (steps.first().map(stage), steps.last().map(stage)) {
            (Some(first), Some(last)) if first == last => first,
            (Some(first), Some(last)) => format!("{first} to {last}"),
            _ => self.chosen.name.clone(),
        }
    }

    /// The place where a step is done, the first time after `since`.
    fn done_at(&self, step: StepId, since: Option<(usize, Time)>) -> Option<(usize, Time)> {
        let segments = self.laid.segments.iter().enumerate();
        let mut places = segments.flat_map(|(at, steps)| steps.iter().map(move |placed| (at, placed)));
        let mut found = places.by_ref().filter(|(at, placed)| {
            placed.step == step && !placed.begins_wait && since.is_none_or(|since| (*at, placed.to) >= since)
        });
        if let Some((at, placed)) = found.next() {
            return Some((at, placed.to));
        }
        // A wait without hands is over when the next segment may begin.
        let waits = |steps: &Vec<Placed>| steps.last().is_some_and(|placed| placed.step == step && placed.begins_wait);
        let at = self.laid.segments.iter().position(waits)? + 1;
        (at < self.segments.len()).then_some((at, 0))
    }

    fn limits(&self, test: TestId, moments: &Moments) -> Vec<Window> {
        let edition = &self.chosen.edition;
        let point = |(segment, after): (usize, Time)| Point::Into(test.segment(segment), after);
        let mut windows = Vec::new();
        for limit in &edition.limits {
            let moment = edition.step(limit.from).moment.and_then(|at| edition.moments.get(at as usize));
            let own = self.done_at(limit.from, None);
            let from = match (own, moment) {
                (Some(own), _) => point(own),
                (None, Some(moment)) if moment == LAST_PORTION => Point::Fixed(0),
                (None, Some(moment)) => moments.get(moment).map_or(Point::Fixed(0), |(_, point)| *point),
                // Preparation has no moment in the plan, and what is left out opens nothing.
                (None, None) => continue,
            };
            let Some(to) = self.done_at(limit.to, own) else { continue };
            let name = format!("{}: {}", self.chosen.name, say(edition, &limit.title));
            windows.push(Window::new(name, from, point(to)).at_most(seconds_down(limit.at_most)));
        }
        windows
    }

    /// What must be done before this test: the sample mixed, the results it asks for.
    fn order(&self, test: TestId, drafts: &[Draft<'_>], moments: &Moments, problem: &mut Problem) {
        let start = Point::Start(test.segment(0));
        if let Some((giver, made)) = moments.get("composite")
            && *giver != test
            && self.begins_with.is_some()
        {
            let name = format!("{} after the sample is mixed", self.chosen.name);
            problem.window(Window::new(name, *made, start).at_least(0));
        }
        for (at, other) in drafts.iter().enumerate().filter(|(at, _)| *at != test.0) {
            for result in &other.chosen.edition.results {
                let Some(shared) = &result.shared else { continue };
                // Of two tests that report the same, the first one chosen counts.
                let reports = |draft: &Draft<'_>| {
                    draft.chosen.edition.results.iter().any(|it| it.shared.as_ref() == Some(shared))
                };
                let first = drafts.iter().position(reports) == Some(at);
                if !first || reports(self) {
                    continue;
                }
                let Some(needed) = self.asks_for(shared) else { continue };
                let end = Point::End(SegmentId { test: TestId(at), index: other.segments.len() - 1 });
                let needed = needed.map_or(start, |(segment, from)| Point::Into(test.segment(segment), from));
                let name = format!("{} after {}", self.chosen.name, other.chosen.name);
                // Two tests that each wait for the other would never begin: the first one chosen goes on without.
                let turned = |window: &Window| {
                    window.at_least.is_some()
                        && window.from.segment().is_some_and(|id| id.test == test)
                        && window.to.segment().is_some_and(|id| id.test.0 == at)
                };
                if !problem.windows.iter().any(turned) {
                    problem.window(Window::new(name, end, needed).at_least(0));
                }
            }
        }
    }

    /// Where a shared fact is asked for: before the last portion (`Some(None)`), or at a place in the test.
    fn asks_for(&self, shared: &str) -> Option<Option<(usize, Time)>> {
        let edition = &self.chosen.edition;
        let shares = |reading: ReadingId| edition.reading(reading).shared.as_deref() == Some(shared);
        let asks = |step: StepId| match &edition.step(step).wants {
            Wants::Read(reading) => shares(*reading),
            Wants::Settle(settle) => shares(settle.reading) || settle.also.iter().any(|also| shares(*also)),
            Wants::Act | Wants::Count { .. } | Wants::Hold { .. } | Wants::Timed { .. } => false,
        };
        if self.before.iter().any(|beat| asks(beat.step)) {
            return Some(None);
        }
        let segments = self.laid.segments.iter().enumerate();
        let mut places = segments.flat_map(|(at, steps)| steps.iter().map(move |placed| (at, placed)));
        places.find(|(_, placed)| asks(placed.step)).map(|(at, placed)| Some((at, placed.from)))
    }
}

/// What the method prescribes to be spent with the hands on it, beside `lasts`.
fn prescribed(wants: &Wants, sets: u32) -> Time {
    match wants {
        Wants::Hold { at_least, .. } => seconds_up(*at_least),
        Wants::Timed { at_least, at_most, .. } => seconds_up(Span(at_least.0.midpoint(at_most.0))),
        Wants::Settle(settle) => seconds_up(settle.every) * Time::from(sets.saturating_sub(1)),
        Wants::Act | Wants::Count { .. } | Wants::Read(_) => 0,
    }
}

/// The first step after the last portion, and the moment the test begins with.
///
/// Who marks the last portion among other moments takes the sample; what comes after it counts from there. A test
/// begins with the moment it marks at the end of its preparation. Without any moment, the preparation alone comes before.
fn first_beat(edition: &Edition, beats: &[Beat]) -> (usize, Option<String>) {
    let moment_of = |beat: &Beat| edition.step(beat.step).moment.and_then(|at| edition.moments.get(at as usize));
    let last_portion = beats.iter().position(|beat| moment_of(beat).is_some_and(|moment| moment == LAST_PORTION));
    let prepares = |beat: &Beat| edition.stage_of(beat.step).id == "prepare";
    let first_moment = beats.iter().position(|beat| prepares(beat) && moment_of(beat).is_some());
    match last_portion.or(first_moment) {
        Some(at) => {
            // Whoever takes the sample is not waiting for it.
            let takes_it = beats.iter().filter(|beat| moment_of(beat).is_some()).count() > 1
                && !beats.get(at).is_some_and(prepares);
            let begins_with = beats.get(at).and_then(moment_of).filter(|_| !takes_it).cloned();
            (at + 1, begins_with)
        }
        None => (beats.iter().take_while(|beat| prepares(beat)).count(), None),
    }
}

/// Which moments are marked on the way, and where. Of several tests that mark one, the first chosen counts.
fn moments(drafts: &[Draft<'_>]) -> Moments {
    let mut moments = Moments::new();
    for (at, draft) in drafts.iter().enumerate() {
        let edition = &draft.chosen.edition;
        for (index, steps) in draft.laid.segments.iter().enumerate() {
            for placed in steps {
                let Some(moment) = edition.step(placed.step).moment else { continue };
                let Some(name) = edition.moments.get(moment as usize) else { continue };
                let segment = TestId(at).segment(index);
                moments.entry(name.clone()).or_insert((TestId(at), Point::Into(segment, placed.to)));
            }
        }
    }
    moments
}

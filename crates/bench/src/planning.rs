//! Planning a sample: which test first, so that one person keeps every window.
//!
//! Here: from the methods chosen for a sample to a problem for the planner, its plan and what would mend it
//! ([`Planner::plan`]), the same while the tests are done ([`Planner::replan`]), the lengths of steps learned from past
//! runs ([`learn`]), and all of it told in words and as a timeline ([`explain`], [`timeline`]). Not here: the search
//! itself (crate `plan`), clocks, files.
//!
//! How a test becomes segments of work:
//!
//! | in the procedure                        | in the plan                                                        |
//! |-----------------------------------------|--------------------------------------------------------------------|
//! | steps up to the moment of the sample    | done before the last portion; told as a sum                        |
//! | steps of one stage                      | one attended segment, `lasts` added up                             |
//! | the end of a stage                      | the hands may go elsewhere; a plan that does without that is taken |
//! | a hold, a timed act                     | its least time (the middle of a timed act) and `lasts`             |
//! | a hold with `hands = "free"`            | its `lasts`, then a wait of its least time to its most             |
//! | settling with `hands = "free"`          | `lasts` for each set of readings, the waits between without hands  |
//! | a limit                                 | a window that ends when its `to` step is done                      |
//! | a limit from a moment of the sample     | a window from the last portion, or from the step that will mark it |
//! | a shared reading another test reports   | that test is done first                                            |
//!
//! All times are seconds, counted from the last portion of the sample.
//!
//! **Invariant:** a plan is advice. Nothing here judges a test; that is done by the run, from what really happened.

mod durations;
mod layout;
mod rehearse;
mod stand;
mod words;

use std::collections::BTreeMap;
use std::sync::Arc;

use plan::{Broken, Effort, Explanation, Fault, Hold, Plan, Point, SegmentId, TestId, Time, Window, WindowOf};
use procedure::{Edition, StepId};

use layout::{Joined, Sketch};

pub use durations::{Durations, Measured, RUNS_AT_LEAST, learn};
pub use stand::{Seated, stand};
pub use words::{Block, BlockKind, Row, Timeline, clock, explain, timeline};

/// A test chosen for the sample.
#[derive(Clone, Debug)]
pub struct Chosen {
    /// What it is called on this bench.
    pub name: String,
    /// The method, in the unit system of the job.
    pub edition: Arc<Edition>,
    /// It may not begin sooner than this after the last portion, in seconds; 0 for at once.
    pub ready: Time,
    /// Answers that are expected, as they would be typed, by the name of a reading or its shared name: the size of the
    /// aggregate, the design slump. They decide which steps there will be.
    pub expected: BTreeMap<String, String>,
}

impl Chosen {
    /// A test that may begin at once, with nothing known beforehand.
    pub fn new(name: impl Into<String>, edition: Arc<Edition>) -> Self {
        Self { name: name.into(), edition, ready: 0, expected: BTreeMap::new() }
    }
}

/// How quickly the work is assumed to go.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Pace {
    /// As a practised person works, or as this person does half of the time.
    Typical,
    /// As a slow one works, or as this person does at nine times out of ten.
    Slow,
}

/// The tests of a sample as a problem for the planner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day {
    /// The problem; its tests are those chosen, in their order.
    pub problem: plan::Problem,
    /// What lies behind each test of the problem.
    pub tests: Vec<Laid>,
    /// The pace it was laid out at.
    pub pace: Pace,
}

/// A test as it was laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Laid {
    /// What it is called.
    pub name: String,
    /// Whether it takes the sample itself, so that nothing can be done without it.
    pub takes_sample: bool,
    /// The work before the last portion, in seconds.
    pub preparation: Time,
    /// The steps of each segment.
    pub segments: Vec<Vec<Placed>>,
    /// The id of the step from which on the steps are guessed, because no likely answers led to the end.
    pub guessed_from: Option<String>,
    /// Ids of steps on the way that state no length and need one; they count as nothing.
    pub without_length: Vec<String>,
}

/// A step in a segment.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Which.
    pub step: StepId,
    /// In which round of a repeated stage, from 1.
    pub round: u16,
    /// Which set of settling readings, from 1; 1 for everything else.
    pub set: u32,
    /// From, in seconds from the start of the segment.
    pub from: Time,
    /// To.
    pub to: Time,
    /// Whether it is only begun here: its wait follows without hands.
    pub begins_wait: bool,
}

/// A planned sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayPlan {
    /// The tests as laid out.
    pub day: Day,
    /// The plan, what it breaks, what would mend it.
    pub told: Explanation,
}

impl DayPlan {
    /// The order of the tests by their first attended work, as places in the list of those chosen.
    pub fn order(&self) -> Vec<usize> {
        by_beginning(&self.told.plan)
    }

    /// The order in which the tests next need hands, `at` seconds after the last portion: who is at work first, then by
    /// the beginning of what is next. Tests with nothing left to do are not in it.
    pub fn order_from(&self, at: Time) -> Vec<usize> {
        let mut order = Vec::new();
        for work in self.told.plan.work.iter().filter(|work| work.end > at || work.start >= at) {
            if !order.contains(&work.at.test.0) {
                order.push(work.at.test.0);
            }
        }
        order
    }

    /// The steps of a segment.
    pub fn steps(&self, segment: SegmentId) -> &[Placed] {
        self.day.tests.get(segment.test.0).and_then(|test| test.segments.get(segment.index)).map_or(&[], Vec::as_slice)
    }
}

/// Plans one sample: the tests chosen, who does them, how quickly.
#[derive(Clone, Debug)]
pub struct Planner {
    /// The tests.
    pub chosen: Vec<Chosen>,
    /// How many pairs of hands there are.
    pub hands: usize,
    /// How quickly the work is assumed to go.
    pub pace: Pace,
    /// Measured lengths of steps, which come before those of the procedures.
    pub durations: Durations,
    /// How long to search.
    pub effort: Effort,
    /// Whether, of equally good plans, one is looked for that a person would rather follow: with few changes from test
    /// to test, and each test carried through soon once it is begun. That takes some dozens of searches more.
    pub is_neat: bool,
}

impl Planner {
    /// One person, at a slow pace, with the lengths the procedures state.
    pub fn new(chosen: Vec<Chosen>) -> Self {
        Self {
            chosen,
            hands: 1,
            pace: Pace::Slow,
            durations: Durations::default(),
            effort: Effort::default(),
            is_neat: true,
        }
    }

    /// The same sample with another method in place of the test at `place`, to see whether that would mend a day.
    pub fn instead(&self, place: usize, other: Chosen) -> Self {
        let mut planner = self.clone();
        if let Some(chosen) = planner.chosen.get_mut(place) {
            *chosen = other;
        }
        planner
    }

    /// The plan before the sample is taken, and if a window breaks, what would mend it.
    ///
    /// # Errors
    ///
    /// [`Fault`] where the methods contradict each other, so that no order of work keeps what cannot bend.
    pub fn plan(&self) -> Result<DayPlan, Fault> {
        let sketch = Sketch::of(&self.chosen);
        let day = sketch.day(self.hands, self.pace, &self.durations, &Joined::new());
        let typical = || sketch.day(self.hands, Pace::Typical, &self.durations, &Joined::new()).problem;
        let typical = (self.pace == Pace::Slow).then(typical);
        let told = plan::explain(&day.problem, typical.as_ref(), self.effort)?;
        let solve = |day: &Day| plan::solve_granting(&day.problem, self.effort);
        let (day, plan) = self.neat(&sketch, day, told.plan, &solve);
        let broken = broken(&plan);
        Ok(DayPlan { day, told: Explanation { plan, broken, trials: told.trials } })
    }

    /// The plan for what is left to do, `at` seconds after the last portion. `seats` are the tests chosen, in their order,
    /// with their runs. Answers already given decide which steps there will be. What would mend it is not tried.
    ///
    /// # Errors
    ///
    /// As [`Planner::plan`].
    pub fn replan(&self, seats: &[Seated<'_>], at: Time) -> Result<DayPlan, Fault> {
        let chosen: Vec<Chosen> = self
            .chosen
            .iter()
            .enumerate()
            .map(|(index, chosen)| {
                let run = seats.get(index).and_then(|seat| seat.run);
                run.map_or_else(|| chosen.clone(), |run| stand::with_answers(chosen, run))
            })
            .collect();
        let sketch = Sketch::of(&chosen);
        let solve = |day: &Day| plan::replan(&day.problem, &stand(day, seats, at), self.effort);
        let day = sketch.day(self.hands, self.pace, &self.durations, &Joined::new());
        let plan = solve(&day)?;
        let (day, plan) = self.neat(&sketch, day, plan, &solve);
        let broken = broken(&plan);
        Ok(DayPlan { day, told: Explanation { plan, broken, trials: Vec::new() } })
    }

    fn neat(&self, sketch: &Sketch<'_>, day: Day, plan: Plan, solve: Solve<'_>) -> (Day, Plan) {
        if !self.is_neat {
            return (day, plan);
        }
        let (day, plan) = self.undivided(sketch, day, plan, solve);
        let plan = gathered(&day, plan, solve);
        (day, plan)
    }

    /// The same plan with as few changes from test to test as are needed: two stages stay together where no window and
    /// not the end suffers.
    fn undivided(&self, sketch: &Sketch<'_>, day: Day, plan: Plan, solve: Solve<'_>) -> (Day, Plan) {
        let breaks = layout::breaks(&day);
        let mut joined = Joined::new();
        let (mut day, mut plan) = (day, plan);
        // What the plan itself does not pull apart is joined at once; then one break after the other is tried.
        let together: Joined = breaks.iter().filter(|place| !is_used(&day, &plan, place)).copied().collect();
        for more in std::iter::once(together).chain(breaks.iter().map(|place| Joined::from([*place]))) {
            if more.is_subset(&joined) {
                continue;
            }
            let with: Joined = joined.union(&more).copied().collect();
            let tried = sketch.day(self.hands, self.pace, &self.durations, &with);
            if let Ok(found) = solve(&tried)
                && goodness(&found) <= goodness(&plan)
            {
                (joined, day, plan) = (with, tried, found);
            }
        }
        (day, plan)
    }
}

/// Finds the plan of a day as it is laid out.
type Solve<'s> = &'s dyn Fn(&Day) -> Result<Plan, Fault>;

/// How often a span is halved in search of the shortest one.
const HALVINGS: usize = 5;

/// The same plan with each test carried through as soon as can be once it is begun, where no window and not the end
/// suffers: first the test that begins first, then the next.
fn gathered(day: &Day, plan: Plan, solve: Solve<'_>) -> Plan {
    let stated = day.problem.windows.len();
    let is_stated = |hold: &Hold| !matches!(hold.of, WindowOf::Stated(at) if at >= stated);
    let best = goodness(&plan);
    let (mut with, mut plan) = (day.clone(), plan);
    let order: Vec<usize> = by_beginning(&plan);
    for test in order {
        let segments = day.problem.tests.get(test).map_or(&[][..], |test| &test.segments);
        let (first, last) = (TestId(test).segment(0), TestId(test).segment(segments.len().saturating_sub(1)));
        let span = |plan: &Plan| Some(plan.at(last)?.end - plan.at(first)?.start);
        let Some(now) = span(&plan) else { continue };
        let waits: Time = segments.iter().rev().skip(1).map(|segment| segment.wait.at_least).sum();
        let alone: Time = waits + segments.iter().map(|segment| segment.lasts).sum::<Time>();
        let whole = |most| Window::new("carried through", Point::Start(first), Point::End(last)).at_most(most);
        let (mut low, mut high) = (alone, now);
        for _ in 0..HALVINGS {
            if low >= high {
                break;
            }
            let middle = low + (high - low) / 2;
            with.problem.window(whole(middle));
            let found = solve(&with).ok().and_then(|mut found| {
                let kept = found.windows.iter().all(|hold| is_stated(hold) || hold.slack >= 0);
                found.windows.retain(is_stated);
                (kept && goodness(&found) <= best).then_some(found)
            });
            with.problem.windows.pop();
            match found {
                Some(found) => {
                    high = span(&found).map_or(middle, |span| span.min(middle));
                    plan = found;
                }
                None => low = middle + 1,
            }
        }
        with.problem.window(whole(high));
    }
    plan
}

/// The tests in the order of their first attended work.
fn by_beginning(plan: &Plan) -> Vec<usize> {
    let mut order = Vec::new();
    for work in &plan.work {
        if !order.contains(&work.at.test.0) {
            order.push(work.at.test.0);
        }
    }
    order
}

/// How late the open windows are, the latest first; then the end. Less is better.
fn goodness(plan: &Plan) -> (Vec<Time>, Time) {
    let mut late: Vec<Time> = plan.windows.iter().filter(|hold| hold.open).map(|hold| (-hold.slack).max(0)).collect();
    late.sort_unstable_by(|one, other| other.cmp(one));
    (late, plan.ends)
}

/// Whether the plan does something else, or nothing, between the two sides of a break.
fn is_used(day: &Day, plan: &Plan, place: &layout::Break) -> bool {
    let Some(after) = layout::segment_at(day, place) else { return false };
    let before = after.test.segment(after.index.saturating_sub(1));
    let side = |segment| plan.at(segment).map(|work| (work.start, work.end));
    !matches!((side(before), side(after)), (Some((_, end)), Some((start, _))) if end == start)
}

/// What of a plan is late and not over.
fn broken(plan: &Plan) -> Vec<Broken> {
    let late = plan.late().into_iter().filter(|hold| hold.open);
    late.map(|hold| Broken { of: hold.of, by: -hold.slack, alone: hold.granted }).collect()
}

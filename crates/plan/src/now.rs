//! Planning again when part of the work is done.
//!
//! What happened stays as it happened, also where it broke a rule: a plan is for what is to come.

use crate::graph::Network;
use crate::problem::{Fault, LONGEST, Problem, SegmentId, Time};
use crate::solve::{Effort, Plan, plan_of};

/// A segment that is done.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Done {
    /// Which.
    pub segment: SegmentId,
    /// When it was begun.
    pub start: Time,
    /// When it was done. A segment that was left out is told as done in no time.
    pub end: Time,
}

/// A segment that is begun and not done. It holds a pair of hands.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct UnderWay {
    /// Which.
    pub segment: SegmentId,
    /// When it was begun. It ends after its length, or now if it has lasted longer already.
    pub since: Time,
}

/// How things stand.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Now {
    /// The moment. Nothing that is not begun can start before it.
    pub at: Time,
    /// What is done.
    pub done: Vec<Done>,
    /// What is under way. If it is more than there are hands, the hands are free when the last of it is done.
    pub under_way: Vec<UnderWay>,
}

/// The best plan for what is left to do.
///
/// A window whose end lies in the past is in the plan with what became of it, but does not count in
/// [`Plan::lateness`]. One that must be late by now, whatever is done, may be so late and no more, so that
/// one lost window does not excuse the others: see [`Hold::granted`](crate::Hold::granted).
///
/// # Errors
///
/// As [`solve`](crate::solve()), and [`Fault::NoSuchSegment`] or [`Fault::BadSpan`] for what is told as done.
pub fn replan(problem: &Problem, now: &Now, effort: Effort) -> Result<Plan, Fault> {
    problem.check()?;
    let told = now.done.iter().map(|done| done.segment).chain(now.under_way.iter().map(|it| it.segment));
    for segment in told {
        if problem.segment(segment).is_none() {
            return Err(Fault::NoSuchSegment { name: "what is told as done".to_owned() });
        }
    }
    let moments = now.done.iter().flat_map(|done| [done.start, done.end]);
    let moments = moments.chain(now.under_way.iter().map(|it| it.since)).chain([now.at]);
    if moments.map(Time::saturating_abs).fold(0, Time::saturating_add) >= LONGEST {
        return Err(Fault::TooMuch);
    }
    let backwards = now.done.iter().find(|done| done.end < done.start).map(|done| done.segment);
    let ahead = now.under_way.iter().find(|it| it.since > now.at).map(|it| it.segment);
    if let Some(segment) = backwards.or(ahead) {
        return Err(Fault::BadSpan { name: problem.segment_name(segment) });
    }
    plan_of(Network::of(problem, Some(now)), effort, true)
}

//! How long steps take this person: from their own past runs.
//!
//! **Invariant:** whole numbers only, and no figure from fewer than three runs.

use std::collections::BTreeMap;

use engine::Run;
use procedure::{Edition, Step, Wants};
use quantity::Span;

/// How many runs a step must have been done in before its measured length counts.
pub const RUNS_AT_LEAST: usize = 3;

/// Measured lengths of steps, instead of those the procedures state.
///
/// A length is what a step takes beside what the method itself prescribes: of a hold what goes beyond its least
/// time, of a timed act what goes before it.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Durations {
    by_step: BTreeMap<(String, String), Measured>,
}

/// The measured length of one step.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Measured {
    /// The median.
    pub typical: Span,
    /// Nine times out of ten it was no longer than this.
    pub slow: Span,
    /// In how many runs it was measured.
    pub runs: usize,
}

impl Durations {
    /// What was measured for a step of a method, by their ids.
    pub fn of(&self, method: &str, step: &str) -> Option<Measured> {
        self.by_step.get(&(method.to_owned(), step.to_owned())).copied()
    }

    /// States a length.
    pub fn set(&mut self, method: &str, step: &str, measured: Measured) {
        self.by_step.insert((method.to_owned(), step.to_owned()), measured);
    }

    /// How many steps have a measured length.
    pub fn len(&self) -> usize {
        self.by_step.len()
    }

    /// Whether nothing was measured.
    pub fn is_empty(&self) -> bool {
        self.by_step.is_empty()
    }
}

/// Measured lengths from past runs of one person: the median as typical, the 90th percentile (nearest rank) as
/// slow, for every step done in at least [`RUNS_AT_LEAST`] runs. Settling readings are not measured, since most of their
/// time is waiting; nor is the wait of a hold that leaves the hands free.
///
/// A step that stood open while the hands were at another test of the same sample counts as long as it stood open: give
/// runs that were performed by themselves where there are enough of them.
pub fn learn(runs: &[&Run]) -> Durations {
    // By method and step: in which run, and how long.
    let mut seen: BTreeMap<(String, String), Vec<(usize, u64)>> = BTreeMap::new();
    for (at, run) in runs.iter().enumerate() {
        let edition: &Edition = run.edition();
        for passed in run.passed() {
            let step = edition.step(passed.step);
            let opened = passed.opened.tick;
            let whole = passed.done.tick.since(opened);
            let until_begun = passed.begun.map(|begun| begun.since(opened));
            let Some(length) = own_length(step, whole, until_begun) else { continue };
            seen.entry((edition.id.clone(), step.id.clone())).or_default().push((at, length.0));
        }
    }
    let mut durations = Durations::default();
    for ((method, step), mut lengths) in seen {
        let mut in_runs: Vec<usize> = lengths.iter().map(|(run, _)| *run).collect();
        in_runs.dedup();
        if in_runs.len() < RUNS_AT_LEAST {
            continue;
        }
        lengths.sort_by_key(|(_, length)| *length);
        let middle = lengths.len() / 2;
        let length = |at: usize| lengths.get(at).map_or(0, |(_, length)| *length);
        let median = if lengths.len() % 2 == 1 { length(middle) } else { (length(middle - 1) + length(middle)) / 2 };
        let slow = length((lengths.len() * 9).div_ceil(10) - 1);
        let measured = Measured { typical: Span(median), slow: Span(slow.max(median)), runs: in_runs.len() };
        durations.by_step.insert((method, step), measured);
    }
    durations
}

fn own_length(step: &Step, whole: Span, until_begun: Option<Span>) -> Option<Span> {
    match &step.wants {
        Wants::Settle(_) => None,
        Wants::Hold { .. } if step.hands_free => until_begun,
        Wants::Hold { at_least, .. } => Some(Span(whole.0.saturating_sub(at_least.0))),
        Wants::Timed { .. } => until_begun,
        Wants::Act | Wants::Count { .. } | Wants::Read(_) => Some(whole),
    }
}

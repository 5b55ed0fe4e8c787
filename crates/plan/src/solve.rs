//! The best plan: first the least lateness, then the earliest end.
//!
//! What is best, in this order:
//!
//! 1. the largest lateness over all windows and longest waits is as small as can be, 0 if all can be kept;
//! 2. the last attended work ends as early as can be;
//! 3. of plans equal in both, the first one found; the search is the same every time, so the plan is too.
//!
//! **Invariant:** [`Proof::Optimal`] is said only of what was searched to the end.

use crate::graph::Network;
use crate::problem::{Fault, Problem, SegmentId, Time, WindowOf};
use crate::search::{Goal, Sequence, least_lateness, may_hold, search};

/// How long the search may go on.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Nodes of the search in all. A node of a day of 12 tests takes some microseconds.
    pub nodes: u64,
}

impl Default for Effort {
    /// 200 000 nodes: about a second on a small machine.
    fn default() -> Self {
        Self { nodes: 200_000 }
    }
}

/// What is known of a plan.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Proof {
    /// No plan is less late, and none as little late ends earlier.
    Optimal,
    /// No plan is less late; one that ends earlier was not excluded within the effort.
    Lateness,
    /// The effort was spent first. No plan is less late than this.
    Unproven {
        /// The least lateness that was not excluded.
        lateness_at_least: Time,
    },
}

/// A segment in a plan.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Work {
    /// Which.
    pub at: SegmentId,
    /// Whose hands, from 0. `None` for what is done, and for what takes no time.
    pub hands: Option<usize>,
    /// From.
    pub start: Time,
    /// To.
    pub end: Time,
}

/// A window in a plan: how far it is kept.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Hold {
    /// Which.
    pub of: WindowOf,
    /// When it opens.
    pub opens: Time,
    /// When its longest time is over.
    pub due: Time,
    /// When the plan reaches its end.
    pub reached: Time,
    /// What is left of it; below zero it is late by so much.
    pub slack: Time,
    /// What it was allowed to be late because no plan at all is less late in it. Zero unless that was asked for.
    pub granted: Time,
    /// False if its end is a thing of the past.
    pub open: bool,
}

/// The best plan found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// All segments, in the order they are begun.
    pub work: Vec<Work>,
    /// Every window and longest wait, stated windows first.
    pub windows: Vec<Hold>,
    /// The largest lateness of an open window beyond what was granted.
    pub lateness: Time,
    /// When the last work ends.
    pub ends: Time,
    /// What is known of it.
    pub proof: Proof,
    /// Nodes the search took.
    pub nodes: u64,
}

impl Plan {
    /// The segment as planned.
    pub fn at(&self, segment: SegmentId) -> Option<&Work> {
        self.work.iter().find(|work| work.at == segment)
    }

    /// The windows that are late, the latest first.
    pub fn late(&self) -> Vec<&Hold> {
        let mut late: Vec<&Hold> = self.windows.iter().filter(|hold| hold.slack < 0).collect();
        late.sort_by_key(|hold| (hold.slack, hold.of));
        late
    }

    /// How late the latest window is, granted or not, among those still open; 0 if all are kept.
    pub fn worst(&self) -> Time {
        self.windows.iter().filter(|hold| hold.open).map(|hold| -hold.slack).max().unwrap_or(0).max(0)
    }

    /// When the hands with this number have nothing to do between two pieces of work: from, to.
    pub fn free(&self, hands: usize) -> Vec<(Time, Time)> {
        let held = self.work.iter().filter(|work| work.hands == Some(hands));
        let mut free = Vec::new();
        let mut since = None;
        for work in held {
            if let Some(since) = since.filter(|since| *since < work.start) {
                free.push((since, work.start));
            }
            since = Some(work.end);
        }
        free
    }
}

/// The best plan for a problem.
///
/// # Errors
///
/// What [`Problem::check`] finds, and [`Fault::NoOrder`]. A plan that is late is not an error.
pub fn solve(problem: &Problem, effort: Effort) -> Result<Plan, Fault> {
    problem.check()?;
    plan_of(Network::of(problem, None), effort, false)
}

/// The plan a person would rather have when not every window can be kept: one lost window does not excuse the others.
///
/// A window that no plan can keep may be as late as it must be ([`Hold::granted`]). Then, while the largest lateness is
/// above 0, the window that is so late (of several, the last one stated) keeps that lateness, and the largest lateness
/// of the others is made as small as can be, and so on down; at last the end as early as can be. The lateness of the plan
/// is its largest lateness beyond what was granted, the same that [`solve`] would find with those grants.
///
/// # Errors
///
/// As [`solve`].
pub fn solve_granting(problem: &Problem, effort: Effort) -> Result<Plan, Fault> {
    problem.check()?;
    plan_of(Network::of(problem, None), effort, true)
}

pub(crate) fn plan_of(mut network: Network, effort: Effort, grant: bool) -> Result<Plan, Fault> {
    let mut granted = vec![0; network.soft.len()];
    if grant {
        granted = network.unavoidable();
        for (soft, more) in network.soft.iter_mut().zip(&granted) {
            soft.most += more;
        }
    }
    let mut left = effort.nodes.max(network.nodes() as u64 * 4);
    let given = left;
    let first = best(&network, &mut left, !grant)?;
    let (mut held, mut proof) = (first.sequence, first.proof);
    if grant {
        let given_by_file: Vec<Time> = network.soft.iter().map(|soft| soft.most).collect();
        let mut lateness = first.lateness;
        while let Some(worst) = latest(&network, &held, lateness) {
            network.soft[worst].most += lateness;
            network.soft[worst].settled = true;
            let next = best(&network, &mut left, false)?;
            proof = proof.and(next.proof);
            (held, lateness) = (next.sequence, next.lateness);
        }
        // Nothing is late any more beyond what it keeps: what is left is the earliest end.
        let last = best(&network, &mut left, true)?;
        (held, proof) = (last.sequence, proof.and(last.proof));
        for (soft, most) in network.soft.iter_mut().zip(given_by_file) {
            soft.most = most;
        }
    }
    Ok(told(&network, &granted, &held, proof, given - left))
}

/// The last stated of the open windows that are this late; `None` if nothing is late.
fn latest(network: &Network, held: &Sequence, lateness: Time) -> Option<usize> {
    let over = |soft: &crate::graph::Soft| {
        let (opens, reached) = soft.moments(&held.starts);
        reached - opens - soft.most
    };
    let late = network
        .soft
        .iter()
        .enumerate()
        .filter(|(_, soft)| lateness > 0 && soft.open && !soft.settled && over(soft) >= lateness);
    late.max_by_key(|(_, soft)| soft.of).map(|(at, _)| at)
}

impl Proof {
    /// What is known when both were needed.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Unproven { .. }, _) => self,
            (_, Self::Unproven { .. }) => Self::Unproven { lateness_at_least: 0 },
            (Self::Lateness, _) | (_, Self::Lateness) => Self::Lateness,
            (Self::Optimal, Self::Optimal) => Self::Optimal,
        }
    }
}

/// The best of one network.
struct Best {
    sequence: Sequence,
    lateness: Time,
    proof: Proof,
}

/// The least lateness, and the earliest end if it is asked for.
fn best(network: &Network, left: &mut u64, ends: bool) -> Result<Best, Fault> {
    let horizon = network.horizon();
    let goal = |late, ends_by, any| Goal { late, ends_by, any };
    // So late that no window binds: any order that keeps what cannot bend will do.
    let spans = network.soft.iter().map(|soft| soft.most.abs() + soft.from_off.abs() + soft.to_off.abs());
    let weights = network.hard.iter().map(|arc| arc.weight.abs());
    let boundless = horizon * 2 + spans.max().unwrap_or(0) + weights.max().unwrap_or(0);
    let Some(mut held) = search(network, goal(boundless, horizon, true), left).best else { return Err(Fault::NoOrder) };
    let mut high = least_lateness(network, &held.order, boundless);
    let mut low = least_not_excluded(network, horizon, high);
    // The bound is often right: ask it first, and for the earliest end at once, because a yes to it is final.
    // Then halve, because contradictions far from the answer are cheap.
    let mut again = None;
    let mut ask = low;
    while low < high || (ends && again.is_none()) {
        // Something is kept back for the second part.
        let mut share = if low < high { *left - *left / 8 } else { *left };
        let before = share;
        let last = ask == low;
        let found = search(network, goal(ask, horizon, !(last && ends)), &mut share);
        *left -= before - share;
        if last && found.best.is_some() {
            high = low;
            again = Some(found);
            break;
        }
        match found.best {
            Some(sequence) => {
                high = least_lateness(network, &sequence.order, ask);
                held = sequence;
            }
            None if found.proven => low = ask + 1,
            None => break,
        }
        ask = low + (high - low) / 2;
    }
    let proven = low == high;
    // The order held ends no later than this at its least lateness.
    let again = match again {
        Some(found) => found,
        None => search(network, goal(high, horizon, !ends), left),
    };
    let sequence = again.best.or_else(|| placed(network, &held, high)).unwrap_or(held);
    let proof = match (proven, again.proven) {
        (true, true) => Proof::Optimal,
        (true, false) => Proof::Lateness,
        (false, _) => Proof::Unproven { lateness_at_least: low },
    };
    Ok(Best { sequence, lateness: high, proof })
}

/// The least lateness that is not excluded before any order is tried.
fn least_not_excluded(network: &Network, horizon: Time, high: Time) -> Time {
    let (mut low, mut high) = (0, high);
    while low < high {
        let middle = low + (high - low) / 2;
        if may_hold(network, Goal { late: middle, ends_by: horizon, any: true }) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// The same order with the earliest starts that allow no more than `late`.
fn placed(network: &Network, held: &Sequence, late: Time) -> Option<Sequence> {
    let mut ordered = network.clone();
    let mut last = vec![None; network.hands];
    for (at, node) in network.at_work.iter().enumerate() {
        last[at % network.hands] = Some(*node);
    }
    for (node, hand) in &held.order {
        if let Some(before) = last[*hand].replace(*node) {
            let why = crate::problem::Link::Lasts(network.ids[before - 1]);
            ordered.hard.push(crate::graph::Arc { from: before, to: *node, weight: network.lasts[before], why });
        }
    }
    let mut few = network.nodes() as u64 * 4;
    search(&ordered, Goal { late, ends_by: network.horizon(), any: true }, &mut few).best
}

fn told(network: &Network, granted: &[Time], sequence: &Sequence, proof: Proof, nodes: u64) -> Plan {
    let mut hands: Vec<Option<usize>> = vec![None; network.nodes()];
    for (at, node) in network.at_work.iter().enumerate() {
        hands[*node] = Some(at % network.hands);
    }
    for (node, hand) in &sequence.order {
        hands[*node] = Some(*hand);
    }
    let mut work: Vec<Work> = network
        .ids
        .iter()
        .enumerate()
        .map(|(index, id)| {
            let (node, start) = (index + 1, sequence.starts[index + 1]);
            Work { at: *id, hands: hands[node], start, end: start + network.lasts[node] }
        })
        .collect();
    work.sort_by_key(|work| (work.start, work.end, work.at));
    let mut windows: Vec<Hold> = network
        .soft
        .iter()
        .zip(granted)
        .map(|(soft, granted)| {
            let (opens, reached) = soft.moments(&sequence.starts);
            let due = opens + soft.most - granted;
            Hold { of: soft.of, opens, due, reached, slack: due - reached, granted: *granted, open: soft.open }
        })
        .collect();
    windows.sort_by_key(|hold| hold.of);
    let beyond = windows.iter().filter(|hold| hold.open).map(|hold| -hold.slack - hold.granted);
    let lateness = beyond.max().unwrap_or(0).max(0);
    Plan { work, windows, lateness, ends: sequence.ends, proof, nodes }
}

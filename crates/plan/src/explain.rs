//! Why a day cannot be kept, and what would mend it.
//!
//! Tries what a person would try and says what came of it, as data. Writes no sentences. A window that no plan
//! can keep is told as such, and does not excuse the others: see [`solve_granting`].

use crate::graph::Network;
use crate::problem::{Fault, Problem, TestId, Time, WindowOf};
use crate::solve::{Effort, Plan, Proof, solve_granting};

/// A window the best plan does not keep.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Which.
    pub of: WindowOf,
    /// Late by this in the best plan.
    pub by: Time,
    /// Late by at least this in any plan with any number of hands: the work itself is too long for it.
    pub alone: Time,
}

/// A change that was tried.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Mend {
    /// One more pair of hands.
    MoreHands,
    /// This test is left out, or done later on a sample of its own. To put it behind the others on the same
    /// sample is no change: the best plan has tried every place for it.
    LeaveOut(TestId),
    /// The work goes at its typical pace.
    TypicalPace,
}

/// What came of a change.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Trial {
    /// The change.
    pub mend: Mend,
    /// How late the best plan then is; 0 if the change mends it.
    pub lateness: Time,
    /// How many windows are then late.
    pub late: usize,
    /// When the work then ends.
    pub ends: Time,
    /// Whether that is proven.
    pub proof: Proof,
}

impl Trial {
    /// Whether every window is kept after the change.
    pub fn mends(&self) -> bool {
        self.lateness == 0
    }
}

/// The best plan, what it breaks, and what would mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// The best plan.
    pub plan: Plan,
    /// What it breaks, the worst first. Empty if every window is kept.
    pub broken: Vec<Broken>,
    /// What was tried: more hands, leaving out each test in turn, the typical pace. Empty if nothing is broken.
    pub trials: Vec<Trial>,
}

impl Explanation {
    /// The changes that mend it.
    pub fn mends(&self) -> impl Iterator<Item = &Trial> {
        self.trials.iter().filter(|trial| trial.mends())
    }
}

/// Solves a problem, and if a window breaks, tries what would mend it.
///
/// `typical` is the same problem at the typical pace, if `problem` is stated at a slower one.
///
/// # Errors
///
/// As [`solve`](crate::solve()).
pub fn explain(problem: &Problem, typical: Option<&Problem>, effort: Effort) -> Result<Explanation, Fault> {
    let plan = solve_granting(problem, effort)?;
    let network = Network::of(problem, None);
    let alone = network.unavoidable();
    let alone_of = |of: WindowOf| {
        let pairs = network.soft.iter().zip(&alone);
        pairs.filter(|(soft, _)| soft.of == of).map(|(_, alone)| *alone).max().unwrap_or(0)
    };
    let broken: Vec<Broken> =
        plan.late().into_iter().map(|hold| Broken { of: hold.of, by: -hold.slack, alone: alone_of(hold.of) }).collect();
    let mut trials = Vec::new();
    if !broken.is_empty() {
        let mut attempt = |mend: Mend, changed: &Problem, effort: Effort| -> Result<(), Fault> {
            let plan = solve_granting(changed, effort)?;
            let late = plan.windows.iter().filter(|hold| hold.slack < 0).count();
            trials.push(Trial { mend, lateness: plan.worst(), late, ends: plan.ends, proof: plan.proof });
            Ok(())
        };
        // With more hands the earliest end is hard to prove and not asked for: a part of the effort will do.
        let few = Effort { nodes: effort.nodes / 8 };
        attempt(Mend::MoreHands, &Problem { hands: problem.hands + 1, ..problem.clone() }, few)?;
        if problem.tests.len() > 1 {
            for test in (0..problem.tests.len()).map(TestId) {
                attempt(Mend::LeaveOut(test), &problem.without(test), effort)?;
            }
        }
        if let Some(typical) = typical {
            attempt(Mend::TypicalPace, typical, effort)?;
        }
    }
    Ok(Explanation { plan, broken, trials })
}

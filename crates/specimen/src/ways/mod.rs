//! The ways through a procedure.
//!
//! Here: what can come about in a run ([`branches`]), what has to be told so that it does ([`way_to`], [`clean`]), an
//! ideal technician who does exactly what is told ([`perform`]), and whether it came about ([`meets`]).
//! Not here: what the specimen shows on the way.
//!
//! A way is found, never written: the conditions a branch rests on are traced back to the readings that feed them,
//! values are looked for that make them so, and the engine performs the run and judges it. What is a branch in one
//! procedure file is a branch in any other.
//!
//! **Invariant:** a way that is given was performed by the engine and met its branch; the same edition, branch and seed
//! give the same way.

mod field;
mod find;
mod list;
mod meet;
mod perform;
mod says;
mod solve;

use std::sync::Arc;

use engine::Entry;
use procedure::{Edition, ReadingId, StepId};
use quantity::Span;

use crate::chance::Chance;

pub use find::Ways;
pub use list::branches;
pub use meet::{meets, meets_with};
pub use perform::{Performed, Refusal, perform};

/// Something that can come about in a run: a rule that bites, a limit that is passed, an end and a new start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Branch {
    /// Its name, the same for every build, such as `settle.give-up`.
    pub id: String,
    /// What comes about, in the words of the trade.
    pub title: String,
    /// What it is in the edition.
    pub kind: BranchKind,
}

/// What a branch is in the edition.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BranchKind {
    /// The clean way to a result.
    Clean,
    /// A rule of a step bites.
    Rule {
        /// The step.
        step: StepId,
        /// Its rule, by its place in the step.
        rule: u16,
    },
    /// A rule that went back so often that the attempt ends.
    BackTooOften {
        /// The step.
        step: StepId,
        /// Its rule, by its place in the step.
        rule: u16,
    },
    /// A timed act was too quick or too slow.
    Timed {
        /// The step.
        step: StepId,
        /// Too slow, not too quick.
        too_slow: bool,
    },
    /// A hold lasted longer than it may.
    HoldTooLong {
        /// The step.
        step: StepId,
    },
    /// The limited position was kept too long.
    DownTooLong {
        /// The step.
        step: StepId,
    },
    /// Settling was given up.
    GiveUp {
        /// The step.
        step: StepId,
    },
    /// Rounds never agreed.
    RoundsDisagree {
        /// The repeated stage, by its place in the edition.
        stage: u16,
    },
    /// A limit across steps was passed.
    Limit {
        /// By its place in the edition.
        limit: u16,
    },
    /// Something the procedure names went wrong.
    Incident {
        /// By its place in the edition.
        incident: u16,
    },
    /// A new attempt is begun this way.
    Again {
        /// By its place in the edition.
        again: u16,
    },
    /// The new attempt does not change what it has to change, and is told so.
    NoChange {
        /// The way it was begun again, by its place in the edition.
        again: u16,
    },
    /// A step with a condition is done, or left out.
    Condition {
        /// The step.
        step: StepId,
        /// Done, not left out.
        is_done: bool,
    },
    /// What must hold before a step does not.
    Need {
        /// The step.
        step: StepId,
        /// By its place in the step.
        need: u16,
    },
    /// A rule of a result bites.
    ResultRule {
        /// The result, by its place in the edition.
        result: u16,
        /// By its place in the result.
        rule: u16,
    },
    /// A result with a condition is reported, or is not.
    Result {
        /// By its place in the edition.
        result: u16,
        /// Reported.
        is_reported: bool,
    },
    /// A tally is added to, such as cups of water beyond the scale.
    Added {
        /// The step it is added in.
        step: StepId,
    },
}

/// A way through a procedure: what has to be told to come there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Way {
    /// Where it leads.
    pub branch: Branch,
    /// What is told, in the order in which it comes about. What somebody writes in words of their own is not told.
    pub tells: Vec<Tell>,
}

/// One thing that is so on a way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tell {
    /// In this attempt, from 1.
    pub attempt: u16,
    /// At this step.
    pub step: StepId,
    /// The how-manieth time the step is open in the attempt (rounds and going back), from 0.
    pub visit: u16,
    /// The how-manieth reading of the visit (settling, or again after it was refused), from 0.
    pub nth: u16,
    /// What is so.
    pub told: Told,
}

/// What is so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// A reading has this value.
    Value {
        /// Which reading.
        reading: ReadingId,
        /// Its value.
        entry: Entry,
    },
    /// What is begun and ended lasts so long, against the procedure.
    Lasts {
        /// From begin to end.
        span: Span,
    },
    /// So long passes before the step is done.
    Late {
        /// Before anything is done in the step.
        span: Span,
    },
    /// The limited position is kept so long.
    Down {
        /// The first time it is taken.
        span: Span,
    },
    /// One is added to a tally so often, before the value that is told after it is read.
    Adds {
        /// How often.
        n: u32,
    },
    /// Something the procedure names goes wrong while the step is open.
    Incident {
        /// By its place in the edition.
        incident: u16,
    },
}

/// Why no way is given.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no way was found to “{}” ({}) in {n_tried} tries: {last}", branch.title, branch.id)]
pub struct NoWay {
    /// The branch that was looked for.
    pub branch: Branch,
    /// How many runs were performed for it.
    pub n_tried: u32,
    /// How the last of them came out.
    pub last: String,
}

/// An ordinary way to a result: usual values, varied by `seed`.
///
/// # Errors
///
/// [`NoWay`] if every run that was tried ended without a result or with something to note: a fault of the procedure.
pub fn clean(edition: &Arc<Edition>, seed: u64) -> Result<Way, NoWay> {
    Ways::of(edition).clean(seed)
}

/// A way on which `branch` comes about, otherwise as ordinary as it can be, varied by `seed`. Where an attempt may be
/// begun again after it, the way goes on to a result.
///
/// # Errors
///
/// [`NoWay`] if none was found within the bound: the branch cannot come about, such as a rule that stands in the shadow
/// of the one above it, or what it needs is too well hidden.
pub fn way_to(edition: &Arc<Edition>, branch: &Branch, seed: u64) -> Result<Way, NoWay> {
    Ways::of(edition).to(branch, seed)
}

/// A way to a branch chosen by `seed`, the rare ones as often as the others.
///
/// # Errors
///
/// [`NoWay`] if there is none, not even a clean one.
pub fn by_seed(edition: &Arc<Edition>, seed: u64) -> Result<Way, NoWay> {
    let ways = Ways::of(edition);
    let mut branches = branches(edition);
    Chance::named(seed, "branch").shuffle(&mut branches);
    // One that cannot come about is passed over; a few in a row are likely no accident.
    let found = branches.iter().take(8).find_map(|branch| ways.to(branch, seed).ok());
    found.map_or_else(|| ways.clean(seed), Ok)
}

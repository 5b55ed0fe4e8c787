//! Mock practical exams: a roster, methods, trials; marks given by raters; a rule that decides.
//!
//! Here: the exam and its roster as an instructor writes them ([`config`], [`roster`]), what is marked ([`MarkSheet`]),
//! what happened ([`Event`]) and the state of all trials ([`State`]), results ([`Outcome`], [`Standing`]) and statistics
//! ([`class`]), and the sheets as data. Not here: the screen, the clock, the disk.
//!
//! **Invariant:** a mark names its trial, and a trial names its candidate: no mark depends on what is in focus. The state
//! is a function of the exam, the roster and the accepted events with their moments; live use and replay are one
//! function.

pub mod class;
pub mod config;
mod event;
mod marksheet;
mod outcome;
pub mod papers;
mod refuse;
pub mod roster;
mod state;

pub use config::{Exam, MethodRule, NotSeen, PassRule, Told};
pub use event::{Event, How, Mark, TrialId};
pub use marksheet::{ClockSpec, CountSpec, Item, MarkSheet, NoSheet, NoSheetWhy, Window, sheets};
pub use outcome::{Missed, Outcome, Standing, Verdict};
pub use refuse::Refused;
pub use roster::{Candidate, Roster, RosterFault};
pub use state::{
    Applied, ClockRun, ItemStatus, Note, Overrule, Running, RunningOf, State, TIME, Trial, TrialPhase, TrialView,
    WindowState, WindowStatus, practice_seed,
};

/// Whether people are named on what leaves the machine.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Names {
    /// By number and name.
    #[default]
    Shown,
    /// By number only. Notes and reasons are free words and may hold names: leave them out too.
    LeftOut,
}

impl Names {
    /// What a candidate is called: "07 Ines Marlowe", or "Candidate 07".
    pub fn of(self, candidate: &Candidate) -> String {
        match self {
            Names::Shown => format!("{} {}", candidate.number, candidate.name),
            Names::LeftOut => format!("Candidate {}", candidate.number),
        }
    }

    /// What a rater is called; with names left out "Rater 1", by the order in which the raters came up.
    pub fn of_rater(self, state: &State, rater: &str) -> String {
        match self {
            Names::Shown => rater.to_owned(),
            Names::LeftOut => match state.raters().iter().position(|known| *known == rater) {
                Some(at) => format!("Rater {}", at + 1),
                None => "Rater".to_owned(),
            },
        }
    }

    /// Free words as they may leave the machine.
    pub fn words(self, text: &str) -> &str {
        match self {
            Names::Shown => text,
            Names::LeftOut => "(words left out with the names)",
        }
    }
}

//! What the marking screen shows, as plain data.
//!
//! Here: what a sheet, a station and a row of it consist of on the screen. Not here: where they stand (`view`), and how
//! they are found out from the exam (`faces`).
//!
//! **Invariant:** a sheet names its candidate, and everything on it is of one trial.

use quantity::Span;

/// A sheet in focus.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct SheetFace {
    /// The candidate's number.
    pub number: String,
    /// The candidate's name.
    pub name: String,
    /// The method's title.
    pub method: String,
    /// `trial 2 of 2`, or whose performance a second rater scores.
    pub trial: String,
    /// Who marks.
    pub rater: String,
    /// Whether it marks a performance that another rater marks too.
    pub is_second: bool,
    /// How long the trial has lasted.
    pub lasted: Span,
    /// How long it may last.
    pub limit: Option<Span>,
    /// The stages.
    pub stages: Vec<StageFace>,
    /// Every act.
    pub rows: Vec<RowFace>,
    /// The act in focus.
    pub present: usize,
    /// What is said once it is ended.
    pub verdict: Option<Verdict>,
    /// Limits from one act to another.
    pub windows: Vec<WindowFace>,
    /// What was noted.
    pub notes: Vec<String>,
}

impl SheetFace {
    /// How many acts have a mark.
    pub fn n_marked(&self) -> usize {
        self.rows.iter().filter(|row| row.mark.is_some()).count()
    }
}

/// The result of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Verdict {
    /// `PASSED`, `NOT PASSED`, `OPEN`.
    pub word: &'static str,
    /// Whether the candidate passed.
    pub is_passed: bool,
    /// Why, then what was missed.
    pub reasons: Vec<String>,
    /// What comes next for the candidate.
    pub next: Option<String>,
}

/// A stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct StageFace {
    /// Its title.
    pub title: String,
    /// How many acts of it have a mark.
    pub n_marked: usize,
    /// How many acts it has.
    pub n: usize,
}

/// The mark of an act, as it is drawn.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    Done,
    Missed,
    Told,
    NotSeen,
}

impl Sign {
    /// Its sign.
    pub const fn sign(self) -> &'static str {
        match self {
            Self::Done => "✓",
            Self::Missed => "✗",
            Self::Told => "T",
            Self::NotSeen => "?",
        }
    }

    /// Its words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Missed => "MISSED",
            Self::Told => "told aloud",
            Self::NotSeen => "not seen",
        }
    }
}

/// An act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct RowFace {
    /// The place of its stage.
    pub stage: usize,
    /// What must be seen.
    pub text: String,
    /// Its mark.
    pub mark: Option<Sign>,
    /// What stands beside the mark: `held 38 s; at least 45 s`, `overruled: …`.
    pub beside: String,
    /// The clock or the count of the act, in words; what it wants.
    pub wants: String,
    /// The clock that runs, or how far the count is.
    pub live: Option<String>,
    /// Whether its clock runs.
    pub is_running: bool,
    /// Whether it is asked in some performances only.
    pub is_conditional: bool,
    /// Whether it may be told aloud.
    pub tellable: bool,
    /// Whether nothing makes up for missing it.
    pub critical: bool,
    /// Why it matters.
    pub why: Option<String>,
    /// The usual slip.
    pub slip: Option<String>,
}

/// A limit from one act to another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct WindowFace {
    /// Its words.
    pub text: String,
    /// Whether it was or is exceeded.
    pub is_over: bool,
}

/// A station.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct StationFace {
    /// The name of its key.
    pub key: String,
    /// Whose sheet is there: number and name; none if it is free.
    pub who: Option<String>,
    /// The method and the trial.
    pub what: String,
    /// How long it has lasted.
    pub time: String,
    /// Marks so far, or the result.
    pub stand: String,
    /// A clock that runs.
    pub clock: String,
    /// Whether the time limit is over, or the trial failed.
    pub is_loud: bool,
    /// How many open sheets are there.
    pub n_sheets: usize,
}

//! Results, time limits, and what else happened.

use serde::{Deserialize, Serialize};

/// A number with its unit.
///
/// The number is text: an exact decimal with as many places as it was reported with. 4 in and 4.0 in are different.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The decimal, with a point and an ordinary minus: `-0.30`.
    pub value: String,
    /// The unit: `in`, `%`, `lb/ft³`, `s`; empty for a bare number.
    pub unit: String,
}

impl Measured {
    /// A number with its unit.
    pub fn new(value: impl Into<String>, unit: impl Into<String>) -> Self {
        Self { value: value.into(), unit: unit.into() }
    }
}

impl std::fmt::Display for Measured {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let space = if self.unit.is_empty() { "" } else { " " };
        write!(f, "{}{space}{}", self.value, self.unit)
    }
}

/// What one test came to. A test with several results has several of these, one after the other.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestResult {
    /// The run's name in the record.
    pub run: String,
    /// The method's title: "Slump".
    pub test: String,
    /// The designation: "ASTM C143/C143M".
    pub basis: String,
    /// What is reported: "Slump".
    pub name: String,
    /// How the test ended.
    pub status: Status,
    /// The value as reported. `None` if there is none.
    pub value: Option<Measured>,
    /// The value before rounding, as text with its unit: "5.95 %"; one that does not end begins with "≈".
    pub exact: String,
    /// How it was rounded: "to the nearest 0.25 %".
    pub rounding: String,
    /// The limit exactly as the specification writes it: "4.0 in ± 1.0 in".
    pub limit: Option<String>,
    /// Where the limit stands.
    pub limit_source: String,
    /// Result against limit.
    pub verdict: Verdict,
    /// What the value was made of, with the corrections that went into it.
    pub terms: Vec<Term>,
    /// How many attempts it took, the last one included.
    pub attempts: u32,
    /// What else must be read beside the value: a class, why a test is not applicable.
    pub note: String,
}

/// One part of a value: "aggregate correction −0.3 %".
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Term {
    /// What it is.
    pub name: String,
    /// How much.
    pub value: Measured,
}

/// How a test ended.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Status {
    /// With a result.
    #[default]
    Result,
    /// Thrown away and not begun again.
    Discarded,
    /// Void: whatever was read says nothing.
    Void,
    /// The method does not apply to this concrete.
    NotApplicable,
    /// It was planned and not done.
    NotDone,
}

/// A value against its limit.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within the limit.
    Within,
    /// Too low.
    Below,
    /// Too high.
    Above,
    /// There is no limit, or nothing to hold against it.
    #[default]
    NotJudged,
    /// There is a limit, but this sample accepts nothing.
    NotAcceptance,
}

/// A time limit that ran.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Which test it belongs to.
    pub test: String,
    /// Its name: "Begin slump".
    pub name: String,
    /// What it is counted from: "last portion".
    pub from: String,
    /// What it is counted to: "first scoop into the mould".
    pub to: String,
    /// How long it may take, in `s`.
    pub allowed: Measured,
    /// How long it took, in `s`. `None` while it is open.
    pub took: Option<Measured>,
    /// Whether it was kept.
    pub verdict: Kept,
    /// When it began to run.
    pub started: String,
    /// When it stopped. `None` while it is open.
    pub ended: Option<String>,
}

/// Whether a time limit was kept.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Kept {
    /// Kept.
    Kept,
    /// Passed.
    Late {
        /// By how much, in `s`.
        by: Measured,
    },
    /// Neither yet.
    #[default]
    Open,
}

/// What the rules found in what was done.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// When.
    pub at: String,
    /// In which test.
    pub test: String,
    /// What was found.
    pub words: String,
}

/// An attempt that was thrown away.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Discarded {
    /// When.
    pub at: String,
    /// In which test.
    pub test: String,
    /// Which attempt, from 1.
    pub attempt: u32,
    /// Why.
    pub why: String,
    /// How it was started again; empty if it was not.
    pub again: String,
}

/// A reading that was put right afterwards. The first one stays in the record.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// When.
    pub at: String,
    /// In which test.
    pub test: String,
    /// Which reading.
    pub reading: String,
    /// What it said.
    pub from: String,
    /// What it says now.
    pub to: String,
    /// Why.
    pub why: String,
}

/// A refusal a person went past.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Overruled {
    /// When.
    pub at: String,
    /// In which test.
    pub test: String,
    /// What the program had said.
    pub refusal: String,
    /// The reason given.
    pub why: String,
}

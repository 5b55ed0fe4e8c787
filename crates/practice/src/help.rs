//! How much help a try is given.

use serde::{Deserialize, Serialize};

/// How much help a try is given, the most first.
///
/// It falls one level after a right try and rises one after a wrong one, for each item by itself, and is logged with
/// every try: a right answer after the act was shown and one without any help are not the same thing, and are never
/// counted together.
///
/// | level | before the try | after it |
/// | --- | --- | --- |
/// | `Shown` | the act itself | what became of it |
/// | `AfterTry` | the stage, the acts just done, four choices | the reason, and the act shown while it is done |
/// | `StageOnly` | the stage, four choices | the reason |
/// | `Nothing` | six choices | the reason; in a timed run nothing until its end |
///
/// Source: fading cues with feedback always given, `Fiechter and Benjamin 2018, 2019` (on word pairs; carrying it over to
/// a procedure of the hand is ours).
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Help {
    /// The act is shown, then done.
    #[default]
    Shown,
    /// It is shown after a try.
    AfterTry,
    /// Only the name of the stage is given.
    StageOnly,
    /// Nothing is given.
    Nothing,
}

impl Help {
    /// All levels, the most help first.
    pub const ALL: [Help; 4] = [Help::Shown, Help::AfterTry, Help::StageOnly, Help::Nothing];

    /// The level after a try: one less after a right one, one more after a wrong one.
    #[must_use]
    pub fn after(self, right: bool) -> Help {
        match (self, right) {
            (Help::Shown, true) | (Help::StageOnly, false) => Help::AfterTry,
            (Help::AfterTry, true) | (Help::Nothing, false) => Help::StageOnly,
            (Help::StageOnly | Help::Nothing, true) => Help::Nothing,
            (Help::Shown | Help::AfterTry, false) => Help::Shown,
        }
    }

    /// Whether the act is shown while it is done.
    pub fn shows_while_acting(self) -> bool {
        self <= Help::AfterTry
    }

    /// Whether a right answer counts as helped by the memory model: the act had been shown, or is being learnt by trying.
    pub fn is_help(self) -> bool {
        self <= Help::AfterTry
    }

    /// The name of the level, for a person.
    pub fn words(self) -> &'static str {
        match self {
            Help::Shown => "shown",
            Help::AfterTry => "shown after a try",
            Help::StageOnly => "stage name only",
            Help::Nothing => "no help",
        }
    }
}

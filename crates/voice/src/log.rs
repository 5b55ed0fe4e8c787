//! The cue log: one line of JSON for each cue, so that lateness can be looked at without an ear.
//!
//! Here: the line, to JSON and back. Not here: the file it is added to.
//!
//! The fields of a line always stand in this order; one that has nothing to say is left out. Moments are milliseconds on
//! the clock of the cues.
//!
//! | field     | says                                                                                                      |
//! |-----------|-----------------------------------------------------------------------------------------------------------|
//! | `text`    | the cue's words, whole, whatever form was spoken; empty for a tone alone                                  |
//! | `class`   | `info`, `prompt` or `hard`                                                                                |
//! | `tone`    | `begin`, `halfway`, `tick`, `done`, `refused`, `elsewhere`                                                |
//! | `due`     | when it was due                                                                                           |
//! | `begun`   | when it was first begun; missing if it never was                                                          |
//! | `again`   | when it was last begun anew, after something had cut it                                                   |
//! | `ended`   | when its sound ended or was cut                                                                           |
//! | `cut_by`  | what cut it last: the words or the tone of another cue, `a new plan`, `silence`. With `again` later than  |
//! |           | the cut, the sound was whole in the end                                                                   |
//! | `dropped` | why it was not played (no `begun`), or only in part: its tone alone, its short form                       |
//!
//! ```json
//! {"text":"three","class":"hard","tone":"tick","due":3000,"begun":3001,"ended":3711}
//! ```
//!
//! **Invariant:** every cue that was due has exactly one line. A planned cue whose plan was replaced before it was due has
//! none: it was never due.

use crate::cue::{Class, Cue, Tone};

/// What became of a cue.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Entry {
    /// Its words, whole; empty for a tone alone.
    pub text: String,
    /// How hard its moment is.
    pub class: Class,
    /// Its tone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tone: Option<Tone>,
    /// When it was due, in milliseconds.
    pub due: u64,
    /// When it was first begun; not if it was dropped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub begun: Option<u64>,
    /// When it was last begun anew after a cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<u64>,
    /// When its sound ended or was cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended: Option<u64>,
    /// Whether it was cut, by what.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_by: Option<String>,
    /// Why it was not played, or only in part.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dropped: Option<String>,
}

/// Why a line is none of a cue log.
#[derive(Debug, thiserror::Error)]
#[error("this is no line of a cue log")]
pub struct NotALine(#[from] serde_json::Error);

impl Entry {
    /// An entry that says nothing yet but which cue it is about.
    pub fn of(cue: &Cue) -> Self {
        Self {
            text: cue.text.clone(),
            class: cue.class,
            tone: cue.tone,
            due: cue.due,
            begun: None,
            again: None,
            ended: None,
            cut_by: None,
            dropped: None,
        }
    }

    /// How long after its moment it was begun, in milliseconds; None if it never was.
    pub fn late_ms(&self) -> Option<u64> {
        Some(self.begun?.saturating_sub(self.due))
    }

    /// Its line, without the end of line. Words can hold anything: JSON keeps them on one line.
    ///
    /// # Errors
    ///
    /// None is known; the writer of JSON has a way to say so, and a log is no reason to panic.
    pub fn line(&self) -> Result<String, NotALine> {
        Ok(serde_json::to_string(self)?)
    }

    /// Reads a line. Fields it does not know are passed over, so that an older reader reads a newer log.
    ///
    /// # Errors
    ///
    /// [`NotALine`] if it is none, such as the last line after a power cut.
    pub fn read(line: &str) -> Result<Self, NotALine> {
        Ok(serde_json::from_str(line)?)
    }
}

//! The cue log: one line of JSON for each cue, so that lateness can be looked at without an ear.
//!
//! **Invariant:** every cue that was due has exactly one line.

use crate::cue::{Class, Tone};

/// What became of a cue.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Entry {
    /// Its words; empty for a tone alone.
    pub text: String,
    /// How hard its moment is.
    pub class: Class,
    /// Its tone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tone: Option<Tone>,
    /// When it was due, in milliseconds.
    pub due: u64,
    /// When it was begun; not if it was dropped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub begun: Option<u64>,
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

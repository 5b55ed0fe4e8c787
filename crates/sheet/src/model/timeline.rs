//! What was done when: the data of the picture.

use serde::{Deserialize, Serialize};

/// What was done when. Seconds are counted from the last portion, before it they are negative.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Timeline {
    /// The wall clock at zero, the last portion. `None` if there was none.
    pub zero: Option<String>,
    /// The first portion.
    pub first_portion_s: Option<i64>,
    /// One row for each test.
    pub rows: Vec<TimelineRow>,
}

/// A test on the timeline.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimelineRow {
    /// Its name.
    pub name: String,
    /// What was done.
    pub blocks: Vec<Block>,
    /// Moments worth a name.
    pub marks: Vec<Mark>,
    /// Ends of time limits.
    pub windows: Vec<WindowEnd>,
}

/// A stretch of time on a row.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// From.
    pub from_s: i64,
    /// To.
    pub to_s: i64,
    /// What kind of stretch.
    pub kind: BlockKind,
}

/// What kind of stretch.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BlockKind {
    /// With hands on it.
    #[default]
    Attended,
    /// It went on by itself.
    Waiting,
    /// Thrown away afterwards.
    Discarded,
}

/// A moment worth a name.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// When.
    pub at_s: i64,
    /// Its name.
    pub words: String,
}

/// The end of a time limit.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowEnd {
    /// When it closes.
    pub closes_at_s: i64,
    /// Its name.
    pub name: String,
    /// Whether it was kept; `None` while it is open.
    pub kept: Option<bool>,
}

//! What outlives the day: specimens and appointments.

use serde::{Deserialize, Serialize};

use super::Measured;

/// Specimens that belong together.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpecimenSet {
    /// The label of each specimen.
    pub labels: Vec<String>,
    /// The size: "4 × 8 in cylinders".
    pub size: String,
    /// When the last one was finished.
    pub moulded: String,
    /// The initial curing.
    pub curing: Curing,
    /// The earliest moment at which they may travel, if told.
    pub transport_from: Option<String>,
}

/// How specimens are kept on the site.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Curing {
    /// The range in words: "60 °F to 80 °F".
    pub range: String,
    /// Until when at the latest, if told.
    pub until: Option<String>,
}

/// Something due after the sample.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Appointment {
    /// A name that stays the same when the sheet is made again: "break-7".
    pub id: String,
    /// What is due: "Break 2 cylinders at 7 days".
    pub title: String,
    /// When, with the offset: `2026-05-21T08:05:00-05:00`.
    pub at: String,
    /// How far it may be off, either way: in `s`, `min`, `h` or `d`.
    pub give_or_take: Option<Measured>,
    /// How many specimens, if it is about specimens.
    pub count: Option<u32>,
    /// The labels of the specimens.
    pub labels: Vec<String>,
}

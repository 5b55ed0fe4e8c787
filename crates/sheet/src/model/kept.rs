//! Apparatus, delivery, weather, and the record everything comes from.

use serde::{Deserialize, Serialize};

use super::{Measured, Standing, Verdict};

/// A piece of apparatus.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Apparatus {
    /// What it is: "Pressure meter".
    pub kind: String,
    /// The mark it is known by.
    pub id: String,
    /// The day its calibration or check is due, if told: `2026-08-01`.
    pub due: Option<String>,
    /// How that stood on the day.
    pub standing: Standing,
    /// The same in words: "in date until 1 August 2026".
    pub words: String,
}

/// What the ticket says, and what became of it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Delivery {
    /// Facts of the ticket, in order.
    pub facts: Vec<Fact>,
    /// Water added on the site. `None` if nothing was told.
    pub water_added: Option<Measured>,
    /// What is held against a limit: time since batching, revolutions.
    pub judged: Vec<Judged>,
}

/// A fact: a name and what is said under it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    /// Its name.
    pub name: String,
    /// What is said.
    pub words: String,
}

/// A value held against a limit.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Judged {
    /// What it is: "Time since batching".
    pub name: String,
    /// How much. A span of time is in `s`.
    pub value: Measured,
    /// The limit as written.
    pub limit: Option<String>,
    /// Where the limit stands.
    pub limit_source: String,
    /// Value against limit.
    pub verdict: Verdict,
}

/// The weather while testing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weather {
    /// The temperature of the air.
    pub air: Option<Measured>,
    /// The relative humidity.
    pub humidity: Option<Measured>,
    /// The wind.
    pub wind: Option<Measured>,
    /// The temperature of the concrete.
    pub concrete: Option<Measured>,
    /// How fast the surface dries.
    pub evaporation: Option<Measured>,
    /// What that means; empty if nothing need be said.
    pub caution: String,
}

/// Where a sheet comes from.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// The runs the sheet was made from.
    pub runs: Vec<RunRecord>,
    /// How and where the records are kept.
    pub kept: String,
}

/// One run's record.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunRecord {
    /// The run's name.
    pub name: String,
    /// The checksum of the record's last line, which chains to every line before it.
    pub checksum: String,
}

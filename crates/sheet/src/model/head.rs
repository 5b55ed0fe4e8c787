//! The head of a sheet: the sample, the person, and what the page must say about itself.

use serde::{Deserialize, Serialize};

/// Whose sample this is, and what the page itself must say.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// What kind of page this is: "Fresh concrete: one sample".
    pub title: String,
    /// The job.
    pub project: String,
    /// Where the concrete went.
    pub location: String,
    /// The mixture by its name.
    pub mixture: String,
    /// The sample's name. The calendar's entries are named by it: the same name gives the same entries.
    pub sample: String,
    /// What the sample was taken for.
    pub purpose: Purpose,
    /// The truck.
    pub truck: String,
    /// The number of the delivery ticket.
    pub ticket: String,
    /// Who tested.
    pub technician: Technician,
    /// The local day of the sample: `2026-05-14`.
    pub date: String,
    /// The offset of local time from UTC: `-05:00`.
    pub offset: String,
    /// The unit system of every value on the sheet.
    pub system: System,
    /// If times were simulated: what to say about it.
    pub simulated: Option<String>,
    /// The program that made the sheet.
    pub tool: String,
    /// Its version.
    pub version: String,
    /// What must stand on the page besides, such as that the standard and the specification come first.
    pub notices: Vec<String>,
}

/// What a sample was taken for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// The concrete is accepted or refused by it.
    #[default]
    Acceptance,
    /// For adjusting; it accepts nothing.
    Preliminary,
    /// Nobody's concrete: an exercise.
    Practice,
}

/// The unit system of a sheet. It also chooses the paper: inch-pound is printed on Letter, SI on A4.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum System {
    /// Inch-pound units.
    #[default]
    #[serde(rename = "inch-pound")]
    InchPound,
    /// SI units.
    #[serde(rename = "SI")]
    Si,
}

/// Who tested.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Technician {
    /// The name.
    pub name: String,
    /// The certificate: its kind and number.
    pub certificate: String,
    /// The last day of the certificate, if told: `2027-03-31`.
    pub expires: Option<String>,
    /// How the certificate stood on the day.
    pub standing: Standing,
    /// The same in words: "in date until 31 March 2027".
    pub words: String,
}

/// How a certificate or a calibration stood on the day of the sample.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// In date.
    InDate,
    /// In date, but not for long.
    DueSoon,
    /// Past its date.
    Overdue,
    /// No date was told.
    #[default]
    NotTold,
}

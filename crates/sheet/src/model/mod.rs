//! What a sheet says, as plain data.
//!
//! Every text is already in the words it is to be printed in, every number is an exact decimal written as text beside
//! its unit ([`Measured`]), every moment of the wall clock is an RFC 3339 text with its offset, and every verdict has been
//! reached by whoever filled the sheet in.
//!
//! **Invariant:** a sheet can be written as JSON and read back without any loss.

mod head;
mod kept;
mod late;
mod results;
mod timeline;

use serde::{Deserialize, Serialize};

pub use head::{Head, Purpose, Standing, System, Technician};
pub use kept::{Apparatus, Delivery, Fact, Judged, Record, RunRecord, Weather};
pub use late::{Appointment, Curing, SpecimenSet};
pub use results::{
    Correction, Discarded, Finding, Kept, Measured, Overruled, Status, Term, TestResult, Verdict, Window,
};
pub use timeline::{Block, BlockKind, Mark, Timeline, TimelineRow, WindowEnd};

/// Everything that is said about one sample.
///
/// # Example
///
/// ```
/// use sheet::{Head, Measured, Sheet, TestResult, Verdict};
///
/// let sheet = Sheet {
///     head: Head { sample: "HB-P2-07".into(), date: "2026-05-14".into(), ..Head::default() },
///     results: vec![TestResult {
///         test: "Slump".into(),
///         name: "Slump".into(),
///         value: Some(Measured::new("4.25", "in")),
///         limit: Some("3 in to 5 in".into()),
///         verdict: Verdict::Within,
///         attempts: 1,
///         ..TestResult::default()
///     }],
///     ..Sheet::default()
/// };
/// assert!(sheet::text(&sheet).contains("4.25 in"));
/// assert_eq!(sheet::from_json(&sheet::json(&sheet))?, sheet);
/// # Ok::<(), sheet::NotASheet>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Whose sample this is, and what the page itself must say.
    pub head: Head,
    /// What the tests came to, in the order in which they are to stand.
    pub results: Vec<TestResult>,
    /// The time limits that ran on this sample.
    pub windows: Vec<Window>,
    /// What the rules found in what was done.
    pub findings: Vec<Finding>,
    /// Attempts that were thrown away.
    pub discarded: Vec<Discarded>,
    /// Readings that were put right afterwards.
    pub corrections: Vec<Correction>,
    /// Refusals a person went past, with the reason given.
    pub overruled: Vec<Overruled>,
    /// What was tested with.
    pub apparatus: Vec<Apparatus>,
    /// What the ticket says, and what became of it.
    pub delivery: Delivery,
    /// The weather while testing.
    pub weather: Weather,
    /// The specimens that were moulded.
    pub specimens: Vec<SpecimenSet>,
    /// What is due later.
    pub appointments: Vec<Appointment>,
    /// What was done when, as a picture.
    pub timeline: Timeline,
    /// Where all this comes from.
    pub record: Record,
}

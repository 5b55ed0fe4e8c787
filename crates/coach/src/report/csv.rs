//! The report as CSV, one row for each act, for a spreadsheet.

use super::Report;

/// The columns.
pub const COLUMNS: [&str; 14] = [
    "entry",
    "number",
    "moment",
    "run_ms",
    "attempt",
    "round",
    "step",
    "what",
    "reading",
    "value",
    "unit",
    "note",
    "taken_back",
    "simulated",
];

/// The report as CSV with a head line. A text that a spreadsheet would take for a formula is preceded by an
/// apostrophe.
pub fn render(report: &Report) -> String {
    let mut out = ::csv::Writer::from_writer(Vec::new());
    // Writing into memory does not fail.
    let _ = out.write_record(COLUMNS);
    let simulated = report.simulated.as_deref().unwrap_or_default();
    for act in &report.acts {
        let words = |text: &Option<String>| text.as_deref().map(plain).unwrap_or_default();
        let _ = out.write_record([
            act.entry.to_string(),
            act.number.to_string(),
            act.time.at.clone(),
            act.time.run_ms.to_string(),
            act.attempt.to_string(),
            act.round.to_string(),
            act.step.clone(),
            act.what.to_owned(),
            act.reading.clone().unwrap_or_default(),
            words(&act.value),
            act.unit.clone().unwrap_or_default(),
            words(&act.note),
            if act.taken_back { "yes" } else { "" }.to_owned(),
            simulated.to_owned(),
        ]);
    }
    out.into_inner().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).unwrap_or_default()
}

/// A text that stays a text in a spreadsheet.
fn plain(text: &str) -> String {
    let is_number = text.parse::<quantity::Decimal>().is_ok();
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number { format!("'{text}") } else { text.to_owned() }
}

//! The report as JSON, for other programs. The schema is described in `REPORT.md` beside this crate.

use super::Report;

/// The report as JSON, indented, with a newline at its end. Numbers read or computed are exact texts with their unit.
pub fn render(report: &Report) -> String {
    // Plain structures of texts and whole numbers: there is nothing in them that could not be written.
    let mut text = serde_json::to_string_pretty(report).unwrap_or_default();
    text.push('\n');
    text
}

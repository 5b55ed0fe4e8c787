//! Tables for a spreadsheet: every try, every step's progress, every timed run.
//!
//! Comma, one line a row, quotes doubled inside quotes (RFC 4180), line ends `\n`. A text that a spreadsheet would take
//! for a formula is led by an apostrophe: procedures may come from elsewhere.
//!
//! **Invariant:** every row has as many fields as the head.

use crate::history::{Entry, History, Share, show_day};
use crate::progress::MethodProgress;

/// Every try that counts, the oldest first.
pub fn tries(history: &History) -> String {
    let mut out = row(&["at", "method", "item", "help", "right", "slip", "took_s"]);
    for entry in history.counting() {
        if let Entry::Tried(tried) = entry {
            out += &row(&[
                &tried.at.show(),
                tried.method(),
                &tried.item,
                tried.help.words(),
                if tried.right { "yes" } else { "no" },
                tried.slip.map_or("", |slip| slip.words()),
                &seconds(tried.took_ms),
            ]);
        }
    }
    out
}

/// Every step of some methods, in order.
pub fn progress(methods: &[MethodProgress]) -> String {
    let mut out = row(&[
        "method",
        "stage",
        "item",
        "instruction",
        "level",
        "due",
        "tries",
        "right",
        "unhinted_tries",
        "unhinted_right",
        "median_s",
        "acts_done",
        "acts_without_fault",
        "readings",
        "readings_right",
    ]);
    for method in methods {
        for step in &method.steps {
            let Share { right, of } = step.tally.all;
            let unhinted = step.tally.unhinted;
            out += &row(&[
                &method.id,
                method.stages.get(step.stage).map_or("", |stage| &stage.title),
                &step.item,
                &step.instruction,
                step.level.words(),
                &step.due.map(show_day).unwrap_or_default(),
                &of.to_string(),
                &right.to_string(),
                &unhinted.of.to_string(),
                &unhinted.right.to_string(),
                &step.tally.median_ms.map(seconds).unwrap_or_default(),
                &step.performed.of.to_string(),
                &step.performed.right.to_string(),
                &step.readings.of.to_string(),
                &step.readings.right.to_string(),
            ]);
        }
    }
    out
}

/// Every timed run, the oldest first.
pub fn trials(history: &History) -> String {
    let mut out = row(&[
        "at",
        "method",
        "system",
        "seed",
        "acts",
        "acts_right",
        "readings",
        "readings_right",
        "took_s",
        "passed",
        "broken_off",
        "missed",
    ]);
    for entry in history.entries() {
        if let Entry::Trial(trial) = entry {
            let missed: Vec<&str> = trial.missed.iter().map(|missed| missed.item.as_str()).collect();
            out += &row(&[
                &trial.at.show(),
                &trial.method,
                &trial.system,
                &trial.seed.to_string(),
                &trial.acts.of.to_string(),
                &trial.acts.right.to_string(),
                &trial.readings.of.to_string(),
                &trial.readings.right.to_string(),
                &seconds(trial.took_ms),
                if trial.passed() { "yes" } else { "no" },
                trial.broken_off.as_deref().unwrap_or_default(),
                &missed.join(" "),
            ]);
        }
    }
    out
}

fn seconds(ms: u64) -> String {
    format!("{}.{}", ms / 1000, ms % 1000 / 100)
}

fn row(fields: &[&str]) -> String {
    let mut out = fields.iter().map(|text| field(text)).collect::<Vec<_>>().join(",");
    out.push('\n');
    out
}

fn field(text: &str) -> String {
    let text = if text.starts_with(['=', '+', '-', '@', '\t']) { format!("'{text}") } else { text.to_owned() };
    let is_plain = !text.contains([',', '"', '\n', '\r']) && text.trim() == text;
    if is_plain { text } else { format!("\"{}\"", text.replace('"', "\"\"")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_comes_back_from_a_spreadsheet_as_it_was() {
        for (text, written) in [
            ("plain", "plain"),
            ("a, b", "\"a, b\""),
            ("he said \"go\"", "\"he said \"\"go\"\"\""),
            ("two\nlines", "\"two\nlines\""),
            (" led by a space", "\" led by a space\""),
            ("=SUM(A1)", "'=SUM(A1)"),
            ("", ""),
        ] {
            assert_eq!(field(text), written);
        }
    }
}

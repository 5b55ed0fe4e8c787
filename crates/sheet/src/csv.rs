//! The sheet as one table for a spreadsheet. `SHEET.md` beside this crate describes it.
//!
//! **Invariant:** a number stands alone in its cell, an exact decimal with its unit in the next one. A text that a
//! spreadsheet would take for a formula is preceded by an apostrophe.

use crate::wrap::TIE;
use crate::{Kept, Measured, Sheet, words};

/// The columns.
pub const COLUMNS: [&str; 11] =
    ["kind", "test", "name", "value", "unit", "limit", "verdict", "from", "to", "at", "words"];

/// One line of the table; what does not apply stays empty.
#[derive(Default)]
struct Line {
    kind: &'static str,
    test: String,
    name: String,
    value: Option<Measured>,
    limit: String,
    verdict: String,
    from: String,
    to: String,
    at: String,
    words: String,
}

impl Line {
    fn of(kind: &'static str) -> Self {
        Self { kind, ..Self::default() }
    }

    /// A fact of the head or the ticket.
    fn fact(kind: &'static str, name: &str, words: &str) -> Self {
        Self { name: name.to_owned(), words: words.to_owned(), ..Self::of(kind) }
    }

    fn cells(&self) -> [String; 11] {
        let (value, unit) = self.value.as_ref().map_or(("", ""), |value| (value.value.as_str(), value.unit.as_str()));
        [
            self.kind.to_owned(),
            plain(&self.test),
            plain(&self.name),
            plain(value),
            plain(unit),
            plain(&self.limit),
            plain(&self.verdict),
            plain(&self.from),
            plain(&self.to),
            plain(&self.at),
            plain(&self.words),
        ]
    }
}

/// The sheet as CSV with a head line.
pub fn render(sheet: &Sheet) -> String {
    let mut out = ::csv::Writer::from_writer(Vec::new());
    // Writing into memory does not fail.
    let _ = out.write_record(COLUMNS);
    for line in lines(sheet) {
        let _ = out.write_record(line.cells());
    }
    out.into_inner().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).unwrap_or_default()
}

/// A text that stays a text in a spreadsheet.
fn plain(text: &str) -> String {
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let is_number =
        unsigned.starts_with(|c: char| c.is_ascii_digit()) && unsigned.chars().all(|c| c.is_ascii_digit() || c == '.');
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number { format!("'{text}") } else { text.to_owned() }
}

fn lines(sheet: &Sheet) -> Vec<Line> {
    let mut lines = head(sheet);
    lines.extend(results(sheet));
    lines.extend(windows(sheet));
    lines.extend(happened(sheet));
    lines.extend(around(sheet));
    lines.extend(later(sheet));
    lines.extend(timeline(sheet));
    if !sheet.record.kept.is_empty() {
        lines.push(Line::fact("record", "", &sheet.record.kept));
    }
    lines.extend(sheet.record.runs.iter().map(|run| Line::fact("record", &run.name, &run.checksum)));
    lines
}

fn head(sheet: &Sheet) -> Vec<Line> {
    let head = &sheet.head;
    let facts = [
        ("title", &head.title),
        ("project", &head.project),
        ("location", &head.location),
        ("mixture", &head.mixture),
        ("sample", &head.sample),
        ("purpose", &head.purpose.words().to_owned()),
        ("truck", &head.truck),
        ("ticket", &head.ticket),
        ("technician", &head.technician.name),
        ("units", &head.system.words().to_owned()),
        ("simulated", &head.simulated.clone().unwrap_or_default()),
        ("made by", &words::joined(" ", &[&head.tool, &head.version])),
    ];
    let mut lines: Vec<Line> = facts
        .iter()
        .filter(|(_, words)| !words.is_empty())
        .map(|(name, words)| Line::fact("head", name, words))
        .collect();
    lines.push(Line { at: head.date.clone(), words: head.offset.clone(), ..Line::fact("head", "date", "") });
    let person = &head.technician;
    if !person.certificate.is_empty() || person.expires.is_some() {
        lines.push(Line {
            name: person.certificate.clone(),
            verdict: person.standing.words().to_owned(),
            to: person.expires.clone().unwrap_or_default(),
            words: person.words.clone(),
            ..Line::of("certificate")
        });
    }
    lines
}

fn results(sheet: &Sheet) -> Vec<Line> {
    let mut lines = Vec::new();
    for result in &sheet.results {
        lines.push(Line {
            test: result.test.clone(),
            name: result.name.clone(),
            value: result.value.clone(),
            limit: result.limit.clone().unwrap_or_default(),
            verdict: result.verdict_words().to_owned(),
            words: words::joined("; ", &[&result.basis, &result.how(), &result.limit_source]).replace(TIE, " "),
            ..Line::of("result")
        });
        lines.extend(result.terms.iter().map(|term| Line {
            test: result.test.clone(),
            name: term.name.clone(),
            value: Some(term.value.clone()),
            words: format!("part of {}", result.name),
            ..Line::of("term")
        }));
    }
    lines
}

fn windows(sheet: &Sheet) -> impl Iterator<Item = Line> + '_ {
    sheet.windows.iter().map(|window| {
        let verdict = match &window.verdict {
            Kept::Kept => "kept".to_owned(),
            Kept::Late { by } => format!("late by {by}"),
            Kept::Open => "open".to_owned(),
        };
        Line {
            test: window.test.clone(),
            name: window.name.clone(),
            value: window.took.clone(),
            limit: window.allowed.to_string(),
            verdict,
            from: window.started.clone(),
            to: window.ended.clone().unwrap_or_default(),
            words: window.between(),
            ..Line::of("time limit")
        }
    })
}

fn happened(sheet: &Sheet) -> Vec<Line> {
    let mut lines = Vec::new();
    for found in &sheet.findings {
        let words = found.words.clone();
        lines.push(Line { test: found.test.clone(), at: found.at.clone(), words, ..Line::of("finding") });
    }
    for gone in &sheet.discarded {
        lines.push(Line {
            test: gone.test.clone(),
            name: format!("attempt {}", gone.attempt),
            at: gone.at.clone(),
            words: words::joined("; ", &[&gone.why, &gone.again]),
            ..Line::of("discarded")
        });
    }
    for refused in &sheet.overruled {
        lines.push(Line {
            test: refused.test.clone(),
            name: refused.refusal.clone(),
            at: refused.at.clone(),
            words: refused.why.clone(),
            ..Line::of("overruled")
        });
    }
    for put_right in &sheet.corrections {
        lines.push(Line {
            test: put_right.test.clone(),
            name: put_right.reading.clone(),
            from: put_right.from.clone(),
            to: put_right.to.clone(),
            at: put_right.at.clone(),
            words: put_right.why.clone(),
            ..Line::of("correction")
        });
    }
    lines
}

/// Apparatus, delivery and weather.
fn around(sheet: &Sheet) -> Vec<Line> {
    let mut lines = Vec::new();
    for piece in &sheet.apparatus {
        lines.push(Line {
            test: piece.kind.clone(),
            name: piece.id.clone(),
            verdict: piece.standing.words().to_owned(),
            to: piece.due.clone().unwrap_or_default(),
            words: piece.words.clone(),
            ..Line::of("apparatus")
        });
    }
    lines.extend(sheet.delivery.facts.iter().map(|fact| Line::fact("delivery", &fact.name, &fact.words)));
    if let Some(water) = &sheet.delivery.water_added {
        lines.push(Line { value: Some(water.clone()), ..Line::fact("delivery", "Water added on site", "") });
    }
    for judged in &sheet.delivery.judged {
        lines.push(Line {
            name: judged.name.clone(),
            value: Some(judged.value.clone()),
            limit: judged.limit.clone().unwrap_or_default(),
            verdict: judged.verdict.words().to_owned(),
            words: judged.limit_source.clone(),
            ..Line::of("delivery")
        });
    }
    let weather = &sheet.weather;
    for (name, value) in [
        ("air", &weather.air),
        ("humidity", &weather.humidity),
        ("wind", &weather.wind),
        ("concrete", &weather.concrete),
        ("evaporation", &weather.evaporation),
    ] {
        if let Some(value) = value {
            lines.push(Line { value: Some(value.clone()), ..Line::fact("weather", name, "") });
        }
    }
    if !weather.caution.is_empty() {
        lines.push(Line::fact("weather", "caution", &weather.caution));
    }
    lines
}

/// Specimens and what is due.
fn later(sheet: &Sheet) -> Vec<Line> {
    let mut lines = Vec::new();
    for set in &sheet.specimens {
        lines.push(Line {
            name: set.labels.join(" "),
            at: set.moulded.clone(),
            to: set.curing.until.clone().unwrap_or_default(),
            limit: set.curing.range.clone(),
            words: set.size.clone(),
            ..Line::of("specimens")
        });
        if let Some(from) = &set.transport_from {
            let name = set.labels.join(" ");
            lines.push(Line { from: from.clone(), ..Line::fact("transport", &name, "not moved before") });
        }
    }
    for appointment in &sheet.appointments {
        lines.push(Line {
            test: appointment.id.clone(),
            name: appointment.title.clone(),
            value: appointment.count.map(|count| Measured::new(count.to_string(), "piece")),
            limit: appointment.give_or_take.as_ref().map(|span| format!("± {span}")).unwrap_or_default(),
            at: appointment.at.clone(),
            words: appointment.labels.join(" "),
            ..Line::of("due")
        });
    }
    lines
}

fn timeline(sheet: &Sheet) -> Vec<Line> {
    use crate::BlockKind::{Attended, Discarded, Waiting};
    let mut lines = Vec::new();
    let seconds = |second: i64| Some(Measured::new(second.to_string(), "s"));
    if let Some(zero) = &sheet.timeline.zero {
        lines.push(Line { at: zero.clone(), value: seconds(0), ..Line::fact("moment", "last portion", "") });
    }
    if let Some(first) = sheet.timeline.first_portion_s {
        lines.push(Line { value: seconds(first), ..Line::fact("moment", "first portion", "") });
    }
    for row in &sheet.timeline.rows {
        let test = || row.name.clone();
        lines.extend(row.blocks.iter().map(|block| {
            let words = match block.kind {
                Attended => "attended",
                Waiting => "waiting",
                Discarded => "discarded",
            };
            let (from, to) = (block.from_s.to_string(), block.to_s.to_string());
            Line { test: test(), from, to, words: words.to_owned(), ..Line::of("stretch") }
        }));
        lines.extend(row.marks.iter().map(|mark| Line {
            test: test(),
            value: seconds(mark.at_s),
            ..Line::fact("moment", &mark.words, "")
        }));
        lines.extend(row.windows.iter().map(|end| {
            let verdict = match end.kept {
                Some(true) => "kept",
                Some(false) => "late",
                None => "open",
            };
            Line {
                test: test(),
                value: seconds(end.closes_at_s),
                verdict: verdict.to_owned(),
                ..Line::fact("closing", &end.name, "")
            }
        }));
    }
    lines
}

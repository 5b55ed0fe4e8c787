//! The sheet as text, for a terminal, a mail or a line printer.
//!
//! **Invariant:** no line is wider than [`WIDTH`], no page longer than [`PAGE_LINES`], and words are wrapped, never cut.

mod page;
mod picture;

use crate::words::{self, shown};
use crate::wrap::printable;
use crate::{Purpose, Sheet, moment};
use page::{Align, Column, Page};

/// The width of a page in columns.
pub const WIDTH: usize = 100;

/// The lines of a page.
pub const PAGE_LINES: usize = 66;

/// The sheet as text.
pub fn render(sheet: &Sheet) -> String {
    let mut page = Page::default();
    head(&mut page, sheet);
    results(&mut page, sheet);
    picture::draw(&mut page, sheet);
    windows(&mut page, sheet);
    happenings(&mut page, sheet);
    around(&mut page, sheet);
    later(&mut page, sheet);
    tail(&mut page, sheet);
    page.finished(&footer(sheet))
}

fn footer(sheet: &Sheet) -> String {
    let head = &sheet.head;
    let name = words::joined(" ", &["Sample", &head.sample]);
    printable(&words::joined(" · ", &[&words::joined(" ", &[&head.tool, &head.version]), &name]))
}

fn head(page: &mut Page, sheet: &Sheet) {
    let head = &sheet.head;
    let day = words::day_words(sheet);
    page.ends(&head.title, &day);
    let sample =
        if head.sample.is_empty() { "SAMPLE WITHOUT A NAME".to_owned() } else { format!("SAMPLE {}", head.sample) };
    let purpose = match head.purpose {
        Purpose::Acceptance => head.purpose.words().to_owned(),
        Purpose::Preliminary | Purpose::Practice => format!("*** {} ***", head.purpose.words().to_uppercase()),
    };
    page.ends(&sample, &purpose);
    let times = words::joined(" ", &["local time", &moment::offset_words(&head.offset)]);
    let place = words::joined(" · ", &[&head.project, &head.location]);
    page.ends(&place, &words::joined(" · ", &[&times, head.system.words()]));
    if let Some(notice) = &head.simulated {
        page.paragraph(&format!("*** {notice} ***"));
    }
    page.rule('=');
    let truck = words::joined(
        ", ",
        &[
            &if head.truck.is_empty() { String::new() } else { format!("truck {}", head.truck) },
            &if head.ticket.is_empty() { String::new() } else { format!("ticket {}", head.ticket) },
        ],
    );
    let certificate = words::certificate(sheet);
    for (name, value) in [
        ("Mixture", &head.mixture),
        ("Delivered by", &truck),
        ("Tested by", &head.technician.name),
        ("Certificate", &certificate),
    ] {
        page.labelled(name, if value.is_empty() { "not told" } else { value });
    }
    page.gap();
    for line in words::headlines(sheet) {
        let mark = if line.tone == words::Tone::Alarm { "!" } else { " " };
        page.table(
            &[Column::left(2), Column::right(10), Column::left(84)],
            &[mark.to_owned(), line.figure, line.words],
        );
    }
}

fn results(page: &mut Page, sheet: &Sheet) {
    if sheet.results.is_empty() {
        return;
    }
    page.heading("RESULTS");
    let columns = [Column::left(25), Column::right(9), Column::left(10), Column::left(27), Column::left(23)];
    page.names(&columns, &["", "value", "", "limit as specified", "verdict"]);
    let mut before = None;
    for result in &sheet.results {
        let group = (&result.run, &result.test, &result.basis);
        let source = if before == Some(group) { String::new() } else { result.source_words() };
        before = Some(group);
        let name = if result.name.is_empty() { &result.test } else { &result.name };
        let (value, unit) = match &result.value {
            Some(value) => (words::minus(&value.value), value.unit.clone()),
            None => ("–".to_owned(), String::new()),
        };
        let limit = result.limit.clone().unwrap_or_else(|| "none".to_owned());
        let stands_in = if result.limit_source.is_empty() { "" } else { &format!("limit: {}", result.limit_source) };
        let alarm = if result.tone() == words::Tone::Alarm { "! " } else { "" };
        let verdict = format!("{alarm}{}", result.verdict_words());
        page.keep_start();
        // The unit is one space from its value.
        page.table_close(&columns, &[name.clone(), value, unit, limit, verdict], 1);
        page.indented(4, &words::joined("; ", &[&source, &result.how(), stands_in]));
        page.keep_end();
    }
}

fn windows(page: &mut Page, sheet: &Sheet) {
    if sheet.windows.is_empty() {
        return;
    }
    page.heading("TIME LIMITS");
    let columns = [Column::left(24), Column::right(13), Column::right(14), Column::left(23), Column::left(18)];
    page.names(&columns, &["", "allowed", "took", "verdict", "clock"]);
    for window in &sheet.windows {
        let clock = match &window.ended {
            Some(ended) => format!("{}–{}", words::at(sheet, &window.started), words::at(sheet, ended)),
            None if window.started.is_empty() => String::new(),
            None => format!("from {}", words::at(sheet, &window.started)),
        };
        let alarm = if window.verdict.tone() == words::Tone::Alarm { "! " } else { "" };
        let verdict = format!("{alarm}{}", window.verdict.words());
        let cells = [window.name.clone(), shown(&window.allowed), window.took_words(), verdict, clock];
        page.keep_start();
        page.table(&columns, &cells);
        page.indented(4, &window.between());
        page.keep_end();
    }
}

fn happenings(page: &mut Page, sheet: &Sheet) {
    let all = words::happenings(sheet);
    if all.is_empty() {
        return;
    }
    page.heading("DISCARDED, FOUND, OVERRULED, CORRECTED");
    let columns = [Column::left(9), Column::left(9), Column::left(12), Column::left(64)];
    for happening in &all {
        let at = words::at(sheet, &happening.at);
        let cells = [at, happening.kind.to_owned(), happening.test.clone(), happening.words.clone()];
        page.table(&columns, &cells);
    }
}

/// Delivery, weather, apparatus.
fn around(page: &mut Page, sheet: &Sheet) {
    let facts = words::delivery(sheet);
    if !facts.is_empty() || !sheet.delivery.judged.is_empty() {
        page.heading("DELIVERY");
        for (name, value) in &facts {
            page.labelled(name, value);
        }
        for judged in &sheet.delivery.judged {
            let alarm = if judged.verdict.tone() == words::Tone::Alarm { "! " } else { "" };
            let value = shown(&judged.value);
            let verdict = judged.verdict.words();
            page.labelled(&judged.name, &format!("{value}; {alarm}{verdict}; limit: {}", judged.limit_words()));
        }
    }
    let weather = words::weather(sheet);
    if !weather.is_empty() || !sheet.weather.caution.is_empty() {
        page.heading("WEATHER");
        let said: Vec<String> = weather.iter().map(|(name, value)| format!("{name} {value}")).collect();
        page.paragraph(&said.join(" · "));
        page.paragraph(&sheet.weather.caution);
    }
    if !sheet.apparatus.is_empty() {
        page.heading("APPARATUS");
        for piece in &sheet.apparatus {
            let alarm = if piece.standing.tone() == words::Tone::Alarm { "! " } else { "" };
            let columns = [Column::left(28), Column::left(18), Column::left(50)];
            let cells = [piece.kind.clone(), piece.id.clone(), format!("{alarm}{}", words::standing(piece))];
            page.table(&columns, &cells);
        }
    }
}

/// Specimens and what is due.
fn later(page: &mut Page, sheet: &Sheet) {
    if !sheet.specimens.is_empty() {
        page.heading("SPECIMENS");
    }
    for set in &sheet.specimens {
        page.keep_start();
        page.paragraph(&words::joined(": ", &[&words::set_words(set), &words::labels(&set.labels)]));
        let until = set.curing.until.as_ref().map(|until| format!("until {}", words::at(sheet, until)));
        let curing = words::joined(", ", &[&set.curing.range, &until.unwrap_or_default()]);
        let moulded = words::at(sheet, &set.moulded);
        let transport = set.transport_from.as_ref().map(|from| words::at(sheet, from)).unwrap_or_default();
        for (name, value) in [("Moulded", &moulded), ("Initial curing", &curing), ("Not moved before", &transport)] {
            if !value.is_empty() {
                page.labelled(name, value);
            }
        }
        page.keep_end();
    }
    if !sheet.appointments.is_empty() {
        page.heading("DUE LATER");
        let columns = [Column::left(36), Column::left(32), Column::left(28)];
        for appointment in &sheet.appointments {
            let cells = [appointment.title.clone(), words::due(sheet, appointment), words::pieces(appointment)];
            page.table(&columns, &cells);
        }
    }
}

fn tail(page: &mut Page, sheet: &Sheet) {
    let record = &sheet.record;
    if !record.runs.is_empty() || !record.kept.is_empty() {
        page.heading("RECORD");
        page.paragraph(&record.kept);
        for run in &record.runs {
            page.paragraph(&words::joined("  ", &[&run.name, &run.checksum]));
        }
    }
    page.keep_start();
    page.gap();
    page.rule('-');
    for notice in &sheet.head.notices {
        page.paragraph(notice);
    }
    page.paragraph(words::UNSIGNED);
    page.gap();
    for who in ["Technician", "Reviewer"] {
        let columns = [Column { width: 12, align: Align::Left }, Column::left(84)];
        page.table(&columns, &[who.to_owned(), format!("{}  date {}", "_".repeat(44), "_".repeat(20))]);
    }
    page.keep_end();
}

//! The sheet as text, for a terminal, a mail or a line printer.
//!
//! **Invariant:** no line is wider than [`WIDTH`], no page longer than [`PAGE_LINES`], and words are wrapped, never cut.

mod page;
mod picture;

use crate::words::{self, shown};
use crate::wrap::{columns as columns_of, printable};
use crate::{Apparatus, Purpose, Sheet, moment};
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
    let columns =
        [Column::left(27), Column::right(8), Column::left(8), Column::left(13), Column::left(16), Column::left(19)];
    page.names(&columns, &["", "value", "", "unrounded", "limit", "verdict"]);
    let mut before = None;
    for result in &sheet.results {
        let group = (&result.run, &result.test, &result.basis);
        let source = if before == Some(group) { "" } else { result.source_words() };
        before = Some(group);
        let name = if result.name.is_empty() { &result.test } else { &result.name };
        let (value, unit) = result.value_words();
        let limit = result.limit.clone().unwrap_or_else(|| "none".to_owned());
        let stands_in = if result.limit_source.is_empty() { "" } else { &format!("limit: {}", result.limit_source) };
        let alarm = if result.tone() == words::Tone::Alarm { "! " } else { "" };
        let verdict = format!("{alarm}{}", result.verdict_words());
        page.keep_start();
        // The unit is one space from its value.
        page.table_close(&columns, &[name.clone(), value, unit.to_owned(), result.unrounded(), limit, verdict], 1);
        page.indented(4, &words::joined("; ", &[source, &result.workings(), stands_in]));
        page.keep_end();
    }
}

fn windows(page: &mut Page, sheet: &Sheet) {
    if sheet.windows.is_empty() {
        return;
    }
    page.heading("TIME LIMITS");
    let columns = [Column::left(14), Column::left(45), Column::right(7), Column::right(6), Column::left(20)];
    page.names(&columns, &["", "", "allowed", "took", "verdict"]);
    for window in &sheet.windows {
        let alarm = if window.verdict.tone() == words::Tone::Alarm { "! " } else { "" };
        let verdict = format!("{alarm}{}", window.verdict.words());
        let test = words::test_words(&window.test);
        let cells = [test, window.name.clone(), window.allowed_words(), window.took_words(), verdict];
        page.keep_start();
        page.table(&columns, &cells);
        page.indented(16, &words::joined(", ", &[&window.between(), &window.clock(sheet)]));
        page.keep_end();
    }
}

fn happenings(page: &mut Page, sheet: &Sheet) {
    let all = words::happenings(sheet);
    if all.is_empty() {
        return;
    }
    page.heading("DISCARDED, FOUND, OVERRULED, CORRECTED");
    let columns = [Column::left(8), Column::left(9), Column::left(14), Column::left(63)];
    for happening in &all {
        let at = words::at(sheet, &happening.at);
        let cells = [at, happening.kind.to_owned(), happening.test.clone(), happening.words.clone()];
        page.table(&columns, &cells);
    }
}

/// Delivery and weather, apparatus.
fn around(page: &mut Page, sheet: &Sheet) {
    let facts = words::delivery(sheet);
    let weather = words::weather(sheet);
    let is_told = !facts.is_empty() || !sheet.delivery.judged.is_empty();
    match (is_told, weather.is_empty() && sheet.weather.caution.is_empty()) {
        (true, true) => page.heading("DELIVERY"),
        (true, false) => page.heading("DELIVERY AND WEATHER"),
        (false, false) => page.heading("WEATHER"),
        (false, true) => {}
    }
    let one = |(name, value): (&str, &str)| format!("{name}: {value}");
    let told: Vec<String> = facts.iter().map(|(name, value)| one((name, value))).collect();
    let said: Vec<String> = weather.iter().map(|(name, value)| one((name, value))).collect();
    if sheet.delivery.judged.is_empty() {
        page.paragraph(&[told, said].concat().join(" · "));
    } else {
        page.paragraph(&told.join(" · "));
        for judged in &sheet.delivery.judged {
            let alarm = if judged.verdict.tone() == words::Tone::Alarm { "! " } else { "" };
            let value = shown(&judged.value);
            let verdict = judged.verdict.words();
            page.labelled(&judged.name, &format!("{value}; {alarm}{verdict}; limit: {}", judged.limit_words()));
        }
        page.paragraph(&said.join(" · "));
    }
    page.paragraph(&sheet.weather.caution);
    if !sheet.apparatus.is_empty() {
        page.heading("APPARATUS");
        let pieces: Vec<String> = sheet.apparatus.iter().map(apparatus).collect();
        // Two to a line where each has room.
        let half = Column::left(WIDTH / 2 - 1);
        if pieces.iter().all(|piece| columns_of(piece) <= half.width) {
            for two in pieces.chunks(2) {
                page.table(&[half, half], two);
            }
        } else {
            pieces.iter().for_each(|piece| page.paragraph(piece));
        }
    }
}

/// A piece of apparatus and how it stands.
fn apparatus(piece: &Apparatus) -> String {
    let alarm = if piece.standing.tone() == words::Tone::Alarm { "! " } else { "" };
    let name = words::joined(" ", &[&piece.kind, &piece.id]);
    words::joined(": ", &[&name, &format!("{alarm}{}", words::standing(piece))])
}

/// Specimens and what is due.
fn later(page: &mut Page, sheet: &Sheet) {
    if !sheet.specimens.is_empty() {
        page.heading("SPECIMENS");
    }
    for set in &sheet.specimens {
        page.keep_start();
        page.paragraph(&words::joined(": ", &[&words::set_words(set), &words::labels(&set.labels)]));
        let facts = words::set_facts(sheet, set).into_iter().map(|(name, value)| format!("{name}: {value}"));
        page.paragraph(&facts.collect::<Vec<_>>().join(" · "));
        page.keep_end();
    }
    if !sheet.appointments.is_empty() {
        page.heading("DUE LATER");
        let columns = [Column::left(33), Column::left(47), Column::left(16)];
        for appointment in &sheet.appointments {
            let cells = [words::due(sheet, appointment), appointment.title.clone(), words::pieces(appointment)];
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
    let notices = sheet.head.notices.iter().map(String::as_str).chain([words::UNSIGNED]);
    page.paragraph(&notices.collect::<Vec<_>>().join(" "));
    page.gap();
    for who in ["Technician", "Reviewer"] {
        let columns = [Column { width: 12, align: Align::Left }, Column::left(84)];
        page.table(&columns, &[who.to_owned(), format!("{}  date {}", "_".repeat(44), "_".repeat(20))]);
    }
    page.keep_end();
}

//! The middle of the screen when an attempt has ended or there is a result.
//!
//! Here: what ended it and what must change, or the result with every term. Not here: the report.
//!
//! **Invariant:** the result that is biggest is never shown without the terms it is made of, and no result without its name.

use std::fmt::Write as _;

use engine::{Ended, FindingKind, Outcome, Phase};
use procedure::EndingKind;
use quantity::Ties;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::body::{draw_face, draw_message};
use super::paint::Column;
use crate::screen::face::said;
use crate::screen::keys::{self, Command};
use crate::screen::model::{MessageKind, Model};
use crate::screen::update::{finding_words, timed_words};

/// Rows for what stands below the results: findings, endings, the way to the report.
const ROWS_BELOW: u16 = 5;

/// Draws the end of an attempt, the result, or the closed run.
pub(super) fn draw(model: &Model, buf: &mut Buffer, area: Rect) {
    let mut column = Column::new(buf, area);
    match model.run.phase() {
        Phase::AtStep => {}
        Phase::Ended => ended(model, &mut column),
        Phase::Finished | Phase::Closed { .. } => result(model, &mut column),
    }
}

/// The same in a few lines.
pub(super) fn essential(model: &Model, column: &mut Column<'_>) {
    let theme = &model.theme;
    match (model.run.phase(), model.run.endings().last()) {
        (Phase::Ended, Some(end)) => {
            column.line(kind_words(end.kind).trim(), theme.alarm);
            column.block("", theme.strong, &end.because, theme.strong);
            draw_message(model, column);
        }
        (Phase::Closed { .. }, _) => column.line("The run is closed.", theme.strong),
        _ => {}
    }
}

fn kind_words(kind: EndingKind) -> &'static str {
    match kind {
        EndingKind::Discard => " DISCARDED ",
        EndingKind::Void => " VOID ",
    }
}

fn ended(model: &Model, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let Some(end) = run.endings().last() else { return };
    let gap = if column.area.height > 26 { 2 } else { 1 };
    column.skip(gap - 1);
    column.line(kind_words(end.kind), theme.alarm);
    column.skip(1);
    let text = format!("Attempt {} has no result: {}.", end.attempt, end.because.trim_end_matches('.'));
    column.barred(theme.warn, &text, theme.strong);
    column.skip(gap);
    let text = format!("It ended at “{}”.", super::step_words(model, end.step));
    column.block("", theme.plain, &text, theme.plain);
    if let Some(text) = timed_words(run, end.step) {
        column.block("", theme.strong, &text, theme.strong);
    }
    column.line("Its readings stay on the record.", theme.plain);
    column.skip(gap);
    if let Some(again) = end.again.and_then(|again| run.edition().agains.get(again.0 as usize)) {
        column.line("NEXT", theme.quiet);
        column.barred(theme.number, &said(run, &again.say), theme.strong);
        column.skip(1);
        if let Some(change) = &again.change {
            let reading = run.edition().reading(change.reading);
            let ask = said(run, &reading.ask);
            let was = run.latest(change.reading).map(|taken| run.show(change.reading, &taken.entry));
            let was = was.map_or_else(String::new, |was| format!(" It was {was}."));
            column.block("", theme.plain, &format!("What must change: {ask}.{was}"), theme.plain);
        }
        let from = super::step_words(model, again.from);
        let text = format!("What was read before “{from}” is carried over.");
        column.block("", theme.plain, &text, theme.plain);
    }
    column.skip(1);
    draw_message(model, column);
    column.skip(1);
    let key = |command| keys::key_for(command, false).map_or_else(String::new, keys::Key::name);
    let text = format!(
        "{} takes back what ended it. {} closes the run without a result. {} leaves; the run is kept.",
        key(Command::Undo),
        key(Command::Wrong),
        key(Command::Leave)
    );
    column.block("", theme.quiet, &text, theme.quiet);
}

fn result(model: &Model, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let gap = u16::from(column.area.height > 26);
    let face = model.face(model.seen);
    draw_face(model, &face, column);
    column.skip(gap);
    results(model, &run.results(), column);
    if let Phase::Closed { with_result: false } = run.phase() {
        column.skip(1);
        column.barred(theme.warn, "The run is closed without a result.", theme.strong);
    }
    column.skip(gap);
    // A finding stands in the list below.
    if !model.message.as_ref().is_some_and(|message| message.kind == MessageKind::Finding) {
        draw_message(model, column);
    }
    endings(model, run.endings(), column);
    findings(model, column);
    column.skip(1);
    let report = format!("The report: pourside report {}", model.options.run_name);
    column.block("", theme.plain, &report, theme.plain);
}

/// The first result with its terms; the others with theirs where there is room, else in a line each.
fn results(model: &Model, outcomes: &[Outcome<'_>], column: &mut Column<'_>) {
    let theme = &model.theme;
    let [first, others @ ..] = outcomes else { return };
    terms(model, first, true, column);
    let needed: usize = others.iter().map(|outcome| outcome.terms.len() + 4).sum();
    if needed + usize::from(ROWS_BELOW) <= column.area.height as usize {
        for outcome in others {
            column.skip(1);
            column.line(&outcome.title.to_uppercase(), theme.quiet);
            terms(model, outcome, false, column);
        }
        return;
    }
    if others.is_empty() {
        return;
    }
    // What was found and the way to the report keep their rows.
    let room = usize::from(column.area.height.saturating_sub(ROWS_BELOW - 1)).max(1);
    column.skip(u16::from(others.len() < room));
    let shown = if others.len() > room { room - 1 } else { others.len() };
    let titles = others.iter().map(|outcome| outcome.title.chars().count());
    let width = titles.max().unwrap_or(0);
    let values: Vec<String> = others.iter().map(|outcome| outcome.reported.to_string()).collect();
    let value_width = values.iter().map(|value| value.chars().count()).max().unwrap_or(0);
    for (outcome, value) in others.iter().zip(&values).take(shown) {
        let exact = outcome.reported.exact.show_short();
        let text = format!("{:<width$}  {value:<value_width$}  exactly {exact}", outcome.title);
        column.line(&text, theme.strong);
    }
    if shown < others.len() {
        column.line(&format!("and {} more: see the report", others.len() - shown), theme.quiet);
    }
}

/// Every term with its sign, the exact sum and how it was rounded.
fn terms(model: &Model, outcome: &Outcome<'_>, is_first: bool, column: &mut Column<'_>) {
    let theme = &model.theme;
    let reported = &outcome.reported;
    let unit = reported.unit.symbol();
    // As many decimals as the longest needs: the points stand under one another, and nothing is rounded.
    let all = || outcome.terms.iter().map(|term| &term.value).chain([&reported.exact]);
    let places = all().map(quantity::Exact::decimal_places).collect::<Option<Vec<_>>>();
    let places = places.and_then(|places| places.into_iter().max()).filter(|places| *places <= 6);
    let show = |value: &quantity::Exact| places.map_or_else(|| value.show_short(), |places| value.show(places));
    let values: Vec<String> = outcome.terms.iter().map(|term| show(&term.value)).collect();
    let exact = show(&reported.exact);
    let labels = outcome.terms.iter().map(|term| term.term.label.chars().count());
    let width = labels.max().unwrap_or(0).max(14);
    let number_width = values.iter().map(String::len).max().unwrap_or(0).max(exact.len());
    let mut text = String::with_capacity(64);
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    column.skip(u16::from(is_first));
    for (term, value) in outcome.terms.iter().zip(&values) {
        text.clear();
        let sign = if term.term.sign == '-' { '−' } else { '+' };
        let _ = write!(text, "{sign} {:<width$}  {value:>number_width$}{unit}", term.term.label);
        column.line(&text, theme.plain);
    }
    text.clear();
    let _ = write!(text, "= {:<width$}  {exact:>number_width$}{unit}", "exactly");
    column.line(&text, theme.strong);
    let ties = match reported.ties {
        Ties::Even => "half to even",
        Ties::Up => "half up",
    };
    let nearest = reported.increment.show_exact();
    column.line(&format!("Reported to the nearest {nearest}{unit}, {ties}: {reported}"), theme.strong);
}

fn endings(model: &Model, endings: &[Ended], column: &mut Column<'_>) {
    let theme = &model.theme;
    for end in endings {
        let kind = match end.kind {
            EndingKind::Discard => "discarded",
            EndingKind::Void => "void",
        };
        let text = format!("Attempt {} {kind}: {}.", end.attempt, end.because.trim_end_matches('.'));
        column.block("✗ ", theme.warn, &text, theme.plain);
    }
}

fn findings(model: &Model, column: &mut Column<'_>) {
    let theme = &model.theme;
    let findings = model.run.findings();
    if findings.is_empty() {
        column.line("✓ No findings.", theme.good);
    }
    for (n, finding) in findings.iter().enumerate() {
        // The last rows belong to the way to the report.
        if column.area.height <= 3 && n + 1 < findings.len() {
            column.line(&format!("  and {} findings more: see the report", findings.len() - n), theme.warn);
            return;
        }
        let text = match &finding.what {
            FindingKind::Corrected { from, to, reason, .. } => format!("Corrected: {from} → {to} ({reason})."),
            FindingKind::Overruled { refusal, reason } => format!("Gone on against “{refusal}” Reason: {reason}"),
            what => finding_words(what).unwrap_or_default(),
        };
        column.block("! ", theme.warn, &format!("Attempt {}: {text}", finding.attempt), theme.plain);
    }
}

//! What lies over the screen: help, steps, questions, reasons, corrections.
//!
//! Here: how each of them looks. Not here: what its keys do.
//!
//! **Invariant:** every overlay says how it is closed without anything having happened.

use std::borrow::Cow;
use std::fmt::Write as _;

use engine::{Status, Tick};
use procedure::{ReadingKind, StepId};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::body::{draw_message, field, number_words};
use super::paint::{Column, line, push_cut};
use crate::screen::bench::BENCH_BINDINGS;
use crate::screen::entry::Entry;
use crate::screen::face::said;
use crate::screen::keys::{self, BINDINGS};
use crate::screen::model::{Ask, Confirm, MessageKind, Model, Overlay};
use crate::screen::update::{WrongLine, wrong_lines};

/// What an overlay is called.
pub(super) fn title(overlay: &Overlay) -> &'static str {
    match overlay {
        Overlay::Help { .. } => "KEYS",
        Overlay::Steps { .. } => "STEPS",
        Overlay::Wrong { .. } => "WHAT WENT WRONG?",
        Overlay::Ask { what, .. } => match what {
            Ask::Remark => "REMARK",
            Ask::DiscardReason => "GIVE THIS ATTEMPT UP",
            Ask::OverruleReason(_) => "GO ON ALL THE SAME",
            Ask::CorrectReason { .. } => "CORRECT A READING",
            Ask::Folder => "ANOTHER FOLDER FOR THE RECORD",
        },
        Overlay::Confirm(Confirm::Leave) => "LEAVE?",
        Overlay::Confirm(_) => "IS THAT SO?",
        Overlay::Correct { .. } | Overlay::CorrectTo { .. } => "CORRECT A READING",
    }
}

/// The keys of an overlay, for the line of the big key.
pub(super) fn keys_now(overlay: &Overlay) -> &'static [(&'static str, &'static str)] {
    match overlay {
        Overlay::Help { .. } => &[("↑ ↓", "scroll"), ("Esc", "back to the test")],
        Overlay::Steps { .. } => &[("↑ ↓", "choose"), ("Enter", "try it now"), ("Esc", "back to the test")],
        Overlay::Wrong { .. } => &[("↑ ↓", "choose"), ("Enter", "this happened"), ("Esc", "nothing happened")],
        Overlay::Ask { .. } => &[("Enter", "take it"), ("Esc", "back, nothing happens")],
        Overlay::Confirm(_) => &[("Y", "yes"), ("N", "no, back to the test")],
        Overlay::Correct { .. } => &[("↑ ↓", "choose"), ("Enter", "correct this one"), ("Esc", "back to the test")],
        Overlay::CorrectTo { .. } => &[("Enter", "go on to the reason"), ("Esc", "back to the list")],
    }
}

/// Draws an overlay in the middle of the screen.
pub(super) fn draw(model: &Model, overlay: &Overlay, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    column.skip(u16::from(area.height > 26));
    let row = Rect { height: column.area.height.min(1), ..column.area };
    line(column.buf, row, &format!(" {} ", title(overlay)), theme.chosen);
    column.skip(2);
    let inside = column.area;
    draw_inside(model, overlay, now, buf, inside);
}

/// Draws what is in an overlay.
pub(super) fn draw_inside(model: &Model, overlay: &Overlay, now: Tick, buf: &mut Buffer, area: Rect) {
    let mut column = Column::new(buf, area);
    match overlay {
        Overlay::Help { from } => help(model, *from, &mut column),
        Overlay::Steps { chosen } => steps(model, *chosen, &mut column),
        Overlay::Wrong { chosen } => wrong(model, *chosen, &mut column),
        Overlay::Ask { what, field } => ask(model, what, &field.text, &mut column),
        Overlay::Confirm(what) => confirm(model, what, now, &mut column),
        Overlay::Correct { chosen } => correct(model, *chosen, &mut column),
        Overlay::CorrectTo { seq, reading, entry } => {
            let edition = model.run.edition();
            column.block("", model.theme.strong, &said(&model.run, &edition.reading(*reading).ask), model.theme.strong);
            if let Some(taken) = model.run.taken().iter().find(|taken| taken.seq == *seq) {
                let text = format!("On record: {}", model.run.show(*reading, &taken.entry));
                column.block("", model.theme.plain, &text, model.theme.plain);
            }
            column.skip(1);
            column.line("It should have been:", model.theme.quiet);
            correct_to(model, *reading, entry, &mut column);
            column.skip(1);
            if is_refused(model) {
                draw_message(model, &mut column);
            }
        }
    }
}

/// Whether what was said last is a refusal: notes on the test belong under what lies over it.
fn is_refused(model: &Model) -> bool {
    model.message.as_ref().is_some_and(|message| message.kind == MessageKind::Refused)
}

/// The first line of a list so that the chosen one is seen.
fn window(chosen: usize, n: usize, rows: usize) -> usize {
    chosen.saturating_sub(rows / 2).min(n.saturating_sub(rows))
}

/// Every key with what it does, made from the table that dispatches them.
pub fn help_lines() -> impl Iterator<Item = (String, &'static str)> {
    BINDINGS.iter().map(|binding| {
        let mut names = String::new();
        for key in binding.keys {
            let _ = write!(names, "{}{}", if names.is_empty() { "" } else { "  " }, key.name());
        }
        (names, binding.long)
    })
}

/// The same on a bench: its own keys first, and what they leave to the run.
pub fn bench_help_lines() -> impl Iterator<Item = (String, &'static str)> {
    let own = BENCH_BINDINGS.iter().map(|(keys, does)| ((*keys).to_owned(), *does));
    let of_run = BINDINGS.iter().map(|binding| {
        let is_left = |key: &&keys::Key| !matches!(key, keys::Key::F1 | keys::Key::Tab);
        let names: Vec<String> = binding.keys.iter().filter(is_left).map(|key| key.name()).collect();
        let names = if names.is_empty() { keys::Key::Right.name() } else { names.join("  ") };
        (names, binding.long)
    });
    own.chain(of_run)
}

fn help(model: &Model, from: usize, column: &mut Column<'_>) {
    let theme = &model.theme;
    let rows = column.area.height.saturating_sub(2) as usize;
    let lines: Vec<(String, &'static str)> = match &model.on_bench {
        Some(_) => bench_help_lines().collect(),
        None => help_lines().collect(),
    };
    let n = lines.len();
    let from = from.min(n.saturating_sub(rows.max(1)));
    let names = 21;
    for (name, long) in lines.into_iter().skip(from).take(rows) {
        let row = Rect { height: column.area.height.min(1), ..column.area };
        line(column.buf, row, &name, theme.strong);
        let x = row.x + names.min(row.width);
        line(column.buf, Rect { x, width: row.width.saturating_sub(names), ..row }, long, theme.plain);
        column.skip(1);
    }
    column.skip(1);
    let more = if from + rows < n { "↓ more below. " } else { "" };
    let text = format!("{more}While words are typed, only keys that are no letters work.");
    column.line(&text, theme.quiet);
}

fn status_words(status: Status) -> (&'static str, &'static str) {
    match status {
        Status::Done => ("✓", ""),
        Status::Carried => ("✓", "carried over"),
        Status::Now => ("▶", "now"),
        Status::LeftOut => ("–", "left out"),
        Status::ToCome => ("·", ""),
    }
}

fn steps(model: &Model, chosen: usize, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let steps = &run.edition().steps;
    let detail_rows = 7.min(column.area.height / 2);
    let rows = column.area.height.saturating_sub(detail_rows) as usize;
    let from = window(chosen, steps.len(), rows);
    for (n, step) in steps.iter().enumerate().skip(from).take(rows) {
        let (sign, words) = status_words(run.status(StepId(n as u16)));
        let instruction = said(run, &step.instruction);
        let row = Rect { height: column.area.height.min(1), ..column.area };
        let mut style = if words == "now" { theme.strong } else { theme.plain };
        if n == chosen {
            style = theme.chosen;
        }
        let mut text = String::with_capacity(80);
        let _ = write!(text, "{sign} {:>2}  ", n + 1);
        let room = (row.width as usize).saturating_sub(8 + words.len());
        push_cut(&mut text, &instruction, room);
        if !words.is_empty() {
            let _ = write!(text, "  {words}");
        }
        line(column.buf, row, &text, style);
        column.skip(1);
    }
    column.skip(1);
    let Some(step) = steps.get(chosen) else { return };
    if let Some(mark) = &step.mark {
        column.block("Must be seen: ", theme.quiet, &said(run, mark), theme.plain);
    }
    if is_refused(model) {
        draw_message(model, column);
    }
    for (label, text) in [("Why: ", &step.why), ("CAUTION ", &step.caution), ("Usual slip: ", &step.slip)] {
        if let Some(text) = text {
            column.block(label, theme.quiet, &said(run, text), theme.plain);
        }
    }
}

fn wrong(model: &Model, chosen: usize, column: &mut Column<'_>) {
    let theme = &model.theme;
    for (n, what) in wrong_lines(model).into_iter().enumerate() {
        let text: Cow<'_, str> = match what {
            WrongLine::Incident(at) => said(&model.run, &model.run.edition().incidents[at as usize].title),
            WrongLine::Other => "Something else: give this attempt up, with a reason".into(),
            WrongLine::Close => "Close the run without a result".into(),
        };
        let (sign, style) = if n == chosen { ("▶", theme.chosen) } else { (" ", theme.plain) };
        column.block(&format!("{sign} {} ", n + 1), style, &text, style);
    }
    column.skip(1);
    column.block("", theme.quiet, "You are asked once more before anything is lost.", theme.quiet);
}

fn ask(model: &Model, what: &Ask, text: &str, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    match what {
        Ask::Remark => column.block("", theme.plain, "Its words go on the record as they stand.", theme.plain),
        Ask::DiscardReason => column.block("", theme.plain, "Why? The reason stays on the record.", theme.plain),
        Ask::OverruleReason(event) => {
            if let Some(refusal) = overruled(model, event) {
                column.block("", theme.plain, &format!("The procedure says: {refusal}"), theme.plain);
            }
            column.skip(1);
            let text = "Why do you go on? Refusal and reason both stay on the record.";
            column.block("", theme.plain, text, theme.plain);
        }
        Ask::CorrectReason { seq, reading, entry, follows } => {
            let from = run.taken().iter().find(|taken| taken.seq == *seq).map(|taken| run.show(*reading, &taken.entry));
            let to = run.show(*reading, entry);
            let text =
                format!("{}: {} → {to}", said(run, &run.edition().reading(*reading).ask), from.unwrap_or_default());
            column.block("", theme.strong, &text, theme.strong);
            column.skip(1);
            column.block("", theme.plain, follows, theme.plain);
            column.skip(1);
            column.block("", theme.plain, "Why? Both values and the reason stay on the record.", theme.plain);
        }
        Ask::Folder => {
            let place = &model.options.place;
            column.block("", theme.plain, &format!("Now: {place}"), theme.plain);
            let text = "The whole run is written there; nothing is lost if that fails.";
            column.block("", theme.plain, text, theme.plain);
        }
    }
    column.skip(1);
    field(text, column, theme);
    column.skip(1);
    if text.trim().is_empty() && is_refused(model) && !matches!(what, Ask::OverruleReason(_)) {
        draw_message(model, column);
    }
}

/// What the procedure said against it.
fn overruled(model: &Model, event: &engine::Event) -> Option<String> {
    if let Some((refused, _)) = model.refused.as_ref().filter(|(_, refused)| refused == event) {
        return Some(refused.to_string());
    }
    let run = &model.run;
    match &run.offer(model.seen).act {
        engine::Act::GiveUp(ending) => Some(format!("{}.", said(run, &ending.because))),
        _ => None,
    }
}

fn confirm(model: &Model, what: &Confirm, now: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let attempt = run.attempt();
    let text = match what {
        Confirm::Incident(at) => {
            let title = said(run, &run.edition().incidents[*at as usize].title);
            format!("{title}: attempt {attempt} ends here without a result.")
        }
        Confirm::Discard(reason) => format!("“{reason}”: attempt {attempt} ends here without a result."),
        Confirm::CloseWithoutResult => "The run is closed without a result. No attempt can be added to it.".to_owned(),
        Confirm::Leave if model.store.in_memory > 0 => {
            let n = model.store.in_memory;
            let acts = if n == 1 { "act is" } else { "acts are" };
            format!("{n} of your {acts} not recorded and will be lost. Keep them in another folder first.")
        }
        Confirm::Leave if !model.is_recorded() => "The last act is not yet recorded.".to_owned(),
        Confirm::Leave => {
            let words = super::next_words(model, now);
            format!("What is being typed has not been taken ({words}). The rest of the run is kept.")
        }
    };
    column.barred(theme.warn, &text, theme.strong);
    column.skip(1);
    if !matches!(what, Confirm::Leave) {
        column.block("", theme.plain, "Its readings stay on the record; undo takes it back.", theme.plain);
    }
}

fn correct(model: &Model, chosen: usize, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let n = model.correctable().count();
    let rows = column.area.height as usize;
    let from = window(chosen, n, rows);
    for (at, taken) in model.correctable().enumerate().skip(from).take(rows) {
        let (sign, style) = if at == chosen { ("▶", theme.chosen) } else { (" ", theme.plain) };
        let ask = said(run, &run.edition().reading(taken.reading).ask);
        let mut text = String::with_capacity(80);
        let _ = write!(text, "{sign} {}  ", taken.at.tick.since(run.opened().tick).clock());
        let value = run.show(taken.reading, &taken.entry);
        let attempt = if run.attempt() > 1 { format!("  (attempt {})", taken.attempt) } else { String::new() };
        let used = text.chars().count() + value.chars().count() + attempt.chars().count() + 3;
        let room = (column.area.width as usize).saturating_sub(used);
        push_cut(&mut text, &ask, room);
        let _ = write!(text, "  {value}{attempt}");
        column.line(&text, style);
    }
}

fn correct_to(model: &Model, reading: procedure::ReadingId, entry: &Entry, column: &mut Column<'_>) {
    let theme = &model.theme;
    match entry {
        Entry::Number(number) => {
            field(&number.text, column, theme);
            let (text, style) = number_words(number, theme);
            column.line(&text, style);
        }
        Entry::Words(words) => field(&words.field.text, column, theme),
        Entry::Choice(marked) => {
            let ReadingKind::Choice(choices) = &model.run.edition().reading(reading).kind else { return };
            for (n, choice) in choices.iter().enumerate() {
                let (sign, style) = if *marked == Some(n) { ("▶", theme.strong) } else { (" ", theme.plain) };
                let key = keys::Key::Char(choice.key.to_ascii_uppercase()).name();
                column.line(&format!("{sign} {key}  {}", choice.label), style);
            }
        }
        Entry::Count(_) | Entry::Nothing => {}
    }
}

//! What lies over the marking screen: help, who begins, ending, overruling, notes, results.
//!
//! Here: how each of them looks. Not here: what its keys do.
//!
//! **Invariant:** what is about a trial says whose it is, and every overlay says how it is closed without anything having
//! happened.

use engine::Tick;
use exam::{Names, Standing, TrialId};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::begin::Begin;
use super::keys::EXAM_BINDINGS;
use super::model::{ExamModel, Overlay, Page};
use crate::screen::theme::Theme;
use crate::screen::view::paint::{Column, line, line_right, push_cut};

fn title(model: &ExamModel, overlay: &Overlay) -> String {
    match overlay {
        Overlay::Help { .. } => "KEYS".to_owned(),
        Overlay::Begin(_) => format!("WHO BEGINS AT STATION {}?", model.station + 1),
        Overlay::Rater { scores: None, .. } => "WHO MARKS?".to_owned(),
        Overlay::Rater { scores: Some(_), .. } => "WHO IS THE SECOND RATER?".to_owned(),
        Overlay::End { .. } => "END THIS TRIAL?".to_owned(),
        Overlay::StopReason { is_void: false, .. } => "WHY IS IT STOPPED?".to_owned(),
        Overlay::StopReason { is_void: true, .. } => "WHY DOES IT NOT COUNT?".to_owned(),
        Overlay::Overrule { .. } | Overlay::OverruleReason { .. } => "OVERRULE".to_owned(),
        Overlay::Note { .. } => "NOTE".to_owned(),
        Overlay::MoveStation { .. } => "TO WHICH STATION?".to_owned(),
        Overlay::Results { page: Page::Everybody, .. } => "RESULTS".to_owned(),
        Overlay::Results { page: Page::Class, .. } => "THE CLASS".to_owned(),
        Overlay::Folder { .. } => "ANOTHER FOLDER FOR THE RECORD".to_owned(),
        Overlay::Leave => "LEAVE?".to_owned(),
    }
}

/// The keys of an overlay.
pub(super) fn keys_now(overlay: &Overlay) -> &'static [(&'static str, &'static str)] {
    match overlay {
        Overlay::Help { .. } => &[("↑ ↓", "scroll"), ("Esc", "back to the sheet")],
        Overlay::Begin(Begin { candidate: None, .. }) => {
            &[("type", "number or name"), ("↑ ↓", "choose"), ("Enter", "this one"), ("Esc", "nobody begins")]
        }
        Overlay::Begin(_) => &[("↑ ↓", "choose"), ("Enter", "begin"), ("Esc", "somebody else")],
        Overlay::Rater { .. } => &[("type", "the name"), ("Enter", "this one"), ("Esc", "nothing happens")],
        Overlay::End { .. } => {
            &[("Enter", "finished"), ("s", "stopped"), ("v", "void, no trial"), ("Esc", "it goes on")]
        }
        Overlay::Overrule { .. } => &[
            ("↑ ↓", "choose"),
            ("d", "done"),
            ("m", "missed"),
            ("t", "told"),
            ("n", "not seen"),
            ("Esc", "nothing happens"),
        ],
        Overlay::StopReason { .. } | Overlay::OverruleReason { .. } => {
            &[("Enter", "take it"), ("Esc", "one step back")]
        }
        Overlay::Note { .. } | Overlay::Folder { .. } => &[("Enter", "take it"), ("Esc", "nothing happens")],
        Overlay::MoveStation { .. } => &[("F1 … F12", "or its number: go there"), ("Esc", "it stays")],
        Overlay::Results { .. } => &[("↑ ↓", "scroll"), ("r", "the other page"), ("Esc", "back to the sheet")],
        Overlay::Leave => &[("Y", "leave, they are lost"), ("N", "stay")],
    }
}

/// Draws an overlay in the middle of the screen.
pub(super) fn draw(model: &ExamModel, overlay: &Overlay, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    let row = Rect { height: column.area.height.min(1), ..column.area };
    let x = line(column.buf, row, &format!(" {} ", title(model, overlay)), theme.chosen);
    if let Some(trial) = trial_of(overlay) {
        let who = format!("  {} · {} · {}", model.who(trial), model.method_title(trial), model.trial_words(trial));
        line(column.buf, Rect { x, width: row.right().saturating_sub(x), ..row }, &who, theme.strong);
    }
    column.skip(if area.height > 8 { 2 } else { 1 });
    match overlay {
        Overlay::Help { from } => help(theme, *from, &mut column),
        Overlay::Begin(begin) => match begin.candidate {
            None => who_begins(model, begin, &mut column),
            Some(candidate) => which_method(model, begin, candidate, &mut column),
        },
        Overlay::Rater { field, scores } => {
            let text = match scores {
                Some(_) => "The sheet is empty: the second rater's marks are made without seeing the first rater's.",
                None => "The name stands on every sheet marked from now on.",
            };
            column.block("", theme.plain, text, theme.plain);
            column.skip(1);
            typing(theme, &field.text, &mut column);
            column.skip(1);
            for (n, name) in model.raters_offered(field, scores.as_ref()).iter().enumerate() {
                let style = if n == 0 { theme.chosen } else { theme.plain };
                column.line(&format!("  {name}  "), style);
            }
        }
        Overlay::End { trial } => {
            let unmarked = model.unmarked(trial);
            if unmarked.is_empty() {
                column.line("Every act has a mark.", theme.good);
            } else {
                let n = unmarked.len();
                let acts = if n == 1 { "1 act has".to_owned() } else { format!("{n} acts have") };
                column.block("✗ ", theme.warn, &format!("{acts} no mark yet, and nobody will have seen:"), theme.warn);
                for text in unmarked {
                    let mut cut = String::new();
                    push_cut(&mut cut, &text, usize::from(column.area.width.saturating_sub(4)));
                    column.line(&format!("  · {cut}"), theme.plain);
                }
            }
        }
        Overlay::StopReason { is_void, field, .. } => {
            let text = if *is_void {
                "Broken off through no fault of the candidate: it counts as no trial. The reason stays on the sheet."
            } else {
                "Broken off: it counts as a trial and is not passed. The reason stays on the sheet."
            };
            column.block("", theme.plain, text, theme.plain);
            column.skip(1);
            typing(theme, &field.text, &mut column);
        }
        Overlay::Overrule { trial, chosen } => {
            let targets = model.overrulable(trial);
            let rows = usize::from(column.area.height);
            let from = window(*chosen, targets.len(), rows);
            for (n, target) in targets.iter().enumerate().skip(from).take(rows) {
                let (sign, style) = if n == *chosen { ("▶ ", theme.chosen) } else { ("  ", theme.plain) };
                let mut text = String::from(sign);
                push_cut(&mut text, &target.text, usize::from(column.area.width.saturating_sub(2)));
                column.line(&text, style);
            }
        }
        Overlay::OverruleReason { trial, item, mark, field } => {
            let text = format!("{}: {}", mark.word().to_uppercase(), model.text_of(trial, item));
            column.block("", theme.strong, &text, theme.strong);
            column.skip(1);
            column.line("Why? The reason stays on the sheet.", theme.plain);
            typing(theme, &field.text, &mut column);
        }
        Overlay::Note { trial, item, field } => {
            let about = item.as_ref().map(|item| model.text_of(trial, item));
            column.block("About: ", theme.quiet, &about.unwrap_or_else(|| "the whole trial".to_owned()), theme.plain);
            column.skip(1);
            typing(theme, &field.text, &mut column);
        }
        Overlay::MoveStation { .. } => {
            for (n, face) in model.station_faces(now).into_iter().enumerate() {
                let who = face.who.unwrap_or_else(|| "free".to_owned());
                let style = if n == model.station { theme.strong } else { theme.plain };
                column.line(&format!("  {:<4} {who}  {}", face.key, face.what), style);
            }
        }
        Overlay::Results { from, page, class } => results(model, *from, *page, class, &mut column),
        Overlay::Folder { field } => {
            column.block("", theme.plain, &format!("Now: {}", model.options.place), theme.plain);
            let text =
                "The whole exam is written there; nothing is lost if that fails. Enter alone tries this folder again.";
            column.block("", theme.plain, text, theme.plain);
            column.skip(1);
            typing(theme, &field.text, &mut column);
        }
        Overlay::Leave => {
            let n = model.store.in_memory.max(u64::from(model.store.awaited));
            let acts = if n == 1 { "1 act is".to_owned() } else { format!("{n} acts are") };
            let text =
                format!("{acts} NOT RECORDED. They are printed when the program ends; f keeps them in another folder.");
            column.barred(theme.warn, &text, theme.strong);
        }
    }
}

fn trial_of(overlay: &Overlay) -> Option<&TrialId> {
    match overlay {
        Overlay::Rater { scores, .. } => scores.as_ref(),
        Overlay::End { trial }
        | Overlay::StopReason { trial, .. }
        | Overlay::Overrule { trial, .. }
        | Overlay::OverruleReason { trial, .. }
        | Overlay::Note { trial, .. }
        | Overlay::MoveStation { trial } => Some(trial),
        _ => None,
    }
}

fn typing(theme: &Theme, text: &str, column: &mut Column<'_>) {
    let room = usize::from(column.area.width).saturating_sub(4);
    let n = text.chars().count();
    let shown: String = text.chars().skip(n.saturating_sub(room)).collect();
    column.line(&format!("> {shown}_"), theme.strong);
}

/// The first line of a list so that the chosen one is seen.
fn window(chosen: usize, n: usize, rows: usize) -> usize {
    chosen.saturating_sub(rows / 2).min(n.saturating_sub(rows))
}

fn help(theme: &Theme, from: usize, column: &mut Column<'_>) {
    let rows = usize::from(column.area.height);
    let from = from.min(EXAM_BINDINGS.len().saturating_sub(rows.max(1)));
    for binding in EXAM_BINDINGS.iter().skip(from).take(rows) {
        let row = Rect { height: column.area.height.min(1), ..column.area };
        line(column.buf, row, binding.keys, theme.strong);
        let x = row.x + 11.min(row.width);
        line(column.buf, Rect { x, width: row.right().saturating_sub(x), ..row }, binding.long, theme.plain);
        column.skip(1);
    }
}

/// A row of a list: what it is on the left, how it stands on the right.
fn choice(theme: &Theme, is_chosen: bool, is_free: bool, left: &str, right: &str, column: &mut Column<'_>) {
    let row = Rect { height: column.area.height.min(1), ..column.area };
    let style = match (is_chosen, is_free) {
        (true, _) => theme.chosen,
        (false, true) => theme.plain,
        (false, false) => theme.quiet,
    };
    if is_chosen {
        line(column.buf, row, &" ".repeat(usize::from(row.width)), style);
    }
    let mut cut = String::new();
    push_cut(&mut cut, right, usize::from(row.width / 2));
    let end = line_right(column.buf, row, &cut, style);
    let mut text = String::from(if is_chosen { "▶ " } else { "  " });
    push_cut(&mut text, left, usize::from(end.saturating_sub(row.x)).saturating_sub(4));
    line(column.buf, Rect { width: end.saturating_sub(row.x), ..row }, &text, style);
    column.skip(1);
}

fn who_begins(model: &ExamModel, begin: &Begin, column: &mut Column<'_>) {
    let theme = &model.theme;
    typing(theme, &begin.field.text, column);
    let candidates = model.begin_rows(&begin.field.text);
    let rows = usize::from(column.area.height);
    let from = window(begin.chosen, candidates.len(), rows);
    for (n, row) in candidates.iter().enumerate().skip(from).take(rows) {
        choice(theme, n == begin.chosen, row.is_free, &row.who, &row.stand, column);
    }
    if candidates.is_empty() {
        column.line("Nobody on the roster fits.", theme.warn);
    }
}

fn which_method(model: &ExamModel, begin: &Begin, candidate: usize, column: &mut Column<'_>) {
    let theme = &model.theme;
    if let Some(candidate) = model.state.roster().candidates.get(candidate) {
        let text = format!(" {} {} ", candidate.number, candidate.name);
        column.line(&text, theme.key);
        if let Some(note) = &candidate.note {
            column.block("", theme.quiet, note, theme.quiet);
        }
        column.skip(1);
    }
    let methods = model.method_rows(candidate);
    let rows = usize::from(column.area.height);
    let from = window(begin.chosen, methods.len(), rows);
    for (n, row) in methods.iter().enumerate().skip(from).take(rows) {
        let left = format!("{} {}", row.method + 1, row.title);
        choice(theme, n == begin.chosen, row.is_free, &left, &row.stand, column);
    }
}

// ---------------------------------------------------------------------------------------------- results

/// Columns of the sheet of the class.
const CLASS_COLUMNS: usize = 76;

fn results(model: &ExamModel, from: usize, page: Page, class: &[String], column: &mut Column<'_>) {
    let theme = &model.theme;
    let of_everybody = if page == Page::Everybody { everybody(model, column) } else { Vec::new() };
    let rows = if page == Page::Everybody { &of_everybody } else { class };
    let height = usize::from(column.area.height);
    let n = rows.len();
    let from = from.min(n.saturating_sub(height.max(1)));
    for (at, text) in rows.iter().enumerate().skip(from).take(height) {
        let is_last = at + 1 == from + height && at + 1 < n;
        column.line(if is_last { "↓ more" } else { text }, theme.plain);
    }
}

/// The sign of how somebody stands in a method.
fn standing_sign(standing: &Standing) -> String {
    match standing {
        Standing::Due { number: 1 } => "·".to_owned(),
        Standing::Due { number } => format!("✗ {number}?"),
        Standing::UnderWay { number, .. } => format!("▶ {number}"),
        Standing::Undecided { number, .. } => format!("? {number}"),
        Standing::Passed { number, .. } => format!("✓ {number}"),
        Standing::ReExamination { .. } => "✗ RE".to_owned(),
    }
}

/// A row for each candidate, a column for each method; the head is drawn at once.
fn everybody(model: &ExamModel, column: &mut Column<'_>) -> Vec<String> {
    let theme = &model.theme;
    let state = &model.state;
    let methods = state.sheets();
    let width = usize::from(column.area.width);
    let n = methods.len().max(1);
    let names = (width / 3).clamp(1, 24);
    let each = (width.saturating_sub(names) / n).clamp(6, 18);
    let mut head = format!("{:names$}", "");
    for sheet in methods {
        let mut cut = String::new();
        push_cut(&mut cut, &sheet.method, each.saturating_sub(1));
        head.push_str(&format!("{cut:<each$}"));
    }
    column.line(&head, theme.strong);
    let mut rows = Vec::new();
    for (at, candidate) in state.roster().candidates.iter().enumerate() {
        let mut cut = String::new();
        push_cut(&mut cut, &format!("{} {}", candidate.number, candidate.name), names.saturating_sub(1));
        let mut row = format!("{cut:<names$}");
        for method in 0..methods.len() {
            row.push_str(&format!("{:<each$}", standing_sign(&state.standing(at, method))));
        }
        rows.push(row);
    }
    rows.push(String::new());
    let legend = "✓ 1 passed at trial 1   ✗ 2? trial 2 due   ✗ RE re-examination   ▶ under way   ? nobody saw enough";
    rows.push(legend.to_owned());
    rows
}

impl ExamModel {
    /// An act, a limit or the time, whole.
    fn text_of(&self, trial: &TrialId, key: &str) -> String {
        let view = self.state.trial(trial);
        let item = view.and_then(|view| view.sheet.item(key).map(|at| view.sheet.items[at].text.clone()));
        item.unwrap_or_else(|| self.short(trial, key))
    }

    pub(super) fn n_result_rows(&self, page: Page, class: &[String]) -> usize {
        match page {
            Page::Everybody => self.state.roster().candidates.len() + 2,
            Page::Class => class.len(),
        }
    }

    /// The results, opened at a page; the sheet of the class is worked out once, not with every picture.
    pub(super) fn results(&self, page: Page) -> Overlay {
        let class = match page {
            Page::Everybody => Vec::new(),
            Page::Class => {
                let paper = exam::papers::class(&self.state, Names::Shown);
                paper.text(CLASS_COLUMNS).lines().map(str::to_owned).collect()
            }
        };
        Overlay::Results { from: 0, page, class }
    }
}

//! The middle of the screen while a step is open: the number, the sentence, what is blocked, clocks, the instrument.
//!
//! Here: the order of what is said. Not here: lists and questions over the screen.
//!
//! **Invariant:** the sentence to do is always seen, whatever else has no room.

use std::borrow::Cow;
use std::fmt::Write as _;

use engine::{Act, Clock, ClockOf, Phase, Tick};
use procedure::{ReadingKind, Settle, Step, Wants};
use quantity::{Decimal, NotAReading};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::paint::{Column, line};
use crate::screen::cone::Cone;
use crate::screen::digits::{self, Size};
use crate::screen::entry::{Entry, NumberEntry, Typed};
use crate::screen::face::{self, Face, said};
use crate::screen::model::{Message, MessageKind, Model};
use crate::screen::neck::{self, Neck};
use crate::screen::theme::Theme;

/// Columns for the instrument beside the reading.
fn neck_width(width: u16) -> u16 {
    match width {
        100.. => 40,
        76.. => 31,
        _ => 25,
    }
}

/// Draws the open step.
pub(super) fn draw(model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
    let Some((_, step)) = model.run.offer(now).step else { return };
    let face = model.face(now);
    let is_wide = area.width >= 100;
    let mut clocks = Vec::new();
    face::other_clocks(&model.run, face.clock, now, &mut clocks);
    if matches!(step.wants, Wants::Timed { .. }) {
        // Its own least time stands in the caption.
        clocks.retain(|clock| clock.of != ClockOf::Hold);
    }
    let has_neck = draw_neck(model, step, now, buf, area) || draw_cone(model, step, now, buf, area);
    let side = match (has_neck, clocks.is_empty()) {
        (true, _) => neck_width(area.width) + 1,
        (false, false) if is_wide => 40,
        (false, false) => 27,
        (false, true) => 0,
    };
    let left = Rect { width: area.width.saturating_sub(side + 1), ..area };
    if !has_neck && side > 0 {
        let right = Rect { x: area.right() - side, width: side, ..area };
        let mut column = Column::new(buf, right);
        column.line("CLOCKS", model.theme.quiet);
        draw_clocks(model, step, &clocks, now, &mut column);
    }
    let mut column = Column::new(buf, left);
    let gap = u16::from(area.height > 26);
    let theme = &model.theme;
    let instruction = said(&model.run, &step.instruction);
    draw_face(model, &face, &mut column);
    // Words and answers stand under the question; a number is read first.
    let is_question = matches!(model.entry, Entry::Words(_) | Entry::Choice(_));
    if !is_question {
        draw_entry(model, now, &mut column);
    }
    column.skip(1 + gap);
    if face.number.is_empty() && matches!(step.wants, Wants::Act) {
        // Without a number the sentence is the biggest thing.
        draw_sentence(&instruction, &mut column, theme);
    }
    column.barred(theme.number, &instruction, theme.strong);
    if is_question {
        column.skip(1);
        draw_entry(model, now, &mut column);
    }
    column.skip(gap);
    if let Wants::Settle(settle) = &step.wants {
        draw_settling(model, step, settle, now, &mut column);
    }
    if let Some((cue, span, is_now)) = face::prompt(&model.run, now) {
        let style = if is_now { theme.alarm } else { theme.plain };
        column.block("» ", style, &format!("{}, every {span}", said(&model.run, cue)), style);
    }
    draw_message(model, &mut column);
    if let Some(text) = standing_reason(model, step, &face, now) {
        column.block("■ ", theme.warn, &text, theme.plain);
    }
    if has_neck {
        draw_clocks(model, step, &clocks, now, &mut column);
    }
    if let Some(add) = &step.add {
        let count = model.run.tally(add.reading);
        let tally = if count.is_zero() { String::new() } else { format!(" ({} so far)", count.show_exact()) };
        column.block("c ", theme.strong, &format!("{}{tally}", said(&model.run, &add.ask)), theme.plain);
    }
    column.skip(gap);
    if let Some(caution) = &step.caution {
        column.block("CAUTION ", theme.warn, &said(&model.run, caution), theme.plain);
        column.skip(gap);
    }
    if let Some(slip) = &step.slip {
        column.block("Usual slip: ", theme.quiet, &said(&model.run, slip), theme.quiet);
    }
}

/// The number with its caption above and its unit beside it.
pub(super) fn draw_face(model: &Model, face: &Face, column: &mut Column<'_>) {
    let theme = &model.theme;
    let (number_style, caption_style) = match (face.is_alarm, face.is_good) {
        (true, _) => (theme.warn, theme.alarm),
        (false, true) => (theme.good, theme.good),
        (false, false) => (theme.number, theme.plain),
    };
    if face.caption.is_empty() {
        return;
    }
    // Its end says within which time: a long one takes two lines rather than lose it.
    if face.is_alarm {
        let text = format!(" {} ", face.caption);
        if text.chars().count() <= column.area.width as usize {
            column.line(&text, caption_style);
        } else {
            column.block("", caption_style, &face.caption, caption_style);
        }
    } else {
        column.block("", caption_style, &face.caption, caption_style);
    }
    if face.number.is_empty() {
        return;
    }
    // The sentence below needs its room too.
    let height = if column.area.height >= 26 {
        7
    } else if column.area.height >= 13 {
        5
    } else {
        3
    };
    let beside = face.side.chars().count() as u16 + 3;
    let room = column.area.width.saturating_sub(beside);
    let Some(size) = Size::fitting(&face.number, room, height) else {
        column.line(&format!("{} {}", face.number, face.side), number_style);
        return;
    };
    let width = size.width(&face.number).unwrap_or(0);
    digits::draw(column.buf, column.area, &face.number, size, number_style);
    let x = column.area.x + width + 2;
    let y = column.area.y + size.height() - 1;
    let right = column.area.right();
    line(column.buf, Rect { x, y, width: right.saturating_sub(x), height: 1 }, &face.side, theme.strong);
    column.skip(size.height());
}

/// The sentence in big letters, where it is short enough for them and leaves room for what stands below.
fn draw_sentence(text: &str, column: &mut Column<'_>, theme: &Theme) {
    let below = if column.area.height > 26 { 10 } else { 6 };
    let height = column.area.height.saturating_sub(below);
    let Some((lines, size)) = digits::sentence(text, column.area.width, height) else { return };
    for line in lines {
        digits::draw(column.buf, column.area, &line, size, theme.number);
        column.skip(size.height() + 1);
    }
    column.skip(u16::from(column.area.height > 12));
}

/// What is being typed, with what the instrument allows.
fn draw_entry(model: &Model, now: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    match &model.entry {
        Entry::Number(number) => {
            let is_asked = matches!(model.run.offer(now).act, Act::Answer(_));
            if is_asked || !number.text.is_empty() {
                let (text, style) = number_words(number, theme);
                column.line(&text, style);
            }
        }
        Entry::Words(words) => {
            let Some((_, reading, _)) = model.reading_asked(now) else { return };
            column.block("", theme.quiet, &said(&model.run, &model.run.edition().reading(reading).ask), theme.quiet);
            field(&words.field.text, column, theme);
            let used = model.used_words(reading);
            for (n, words_used) in words.matching(used).take(4).enumerate() {
                let is_marked = words.marked == Some(n);
                let style = if is_marked { theme.chosen } else { theme.quiet };
                column.line(&format!("{} {words_used} ", if is_marked { "▶" } else { " " }), style);
            }
        }
        Entry::Choice(marked) => {
            let Some((_, reading, _)) = model.reading_asked(now) else { return };
            let asked = model.run.edition().reading(reading);
            let ReadingKind::Choice(choices) = &asked.kind else { return };
            // A sentence that is the question itself is not said twice.
            let ask = said(&model.run, &asked.ask);
            let step = model.run.offer(now).step;
            let is_said = step.is_some_and(|(_, step)| {
                said(&model.run, &step.instruction).to_lowercase().ends_with(&ask.to_lowercase())
            });
            if !is_said {
                column.block("", theme.strong, &ask, theme.strong);
                column.skip(1);
            }
            for (n, choice) in choices.iter().enumerate() {
                let is_marked = *marked == Some(n);
                let sign = if is_marked { "▶ " } else { "  " };
                let row = Rect { height: column.area.height.min(1), ..column.area };
                let x = line(column.buf, row, sign, theme.strong);
                let x = line(column.buf, rest(row, x), &format!("  {}  ", choice.key.to_uppercase()), theme.key);
                let style = if is_marked { theme.strong } else { theme.plain };
                line(column.buf, rest(row, x + 1), &choice.label, style);
                column.skip(2);
            }
        }
        Entry::Count(field) if !field.text.is_empty() => column.line("Enter takes the count", theme.quiet),
        Entry::Count(_) => {
            column.block("", theme.quiet, "+ counts one, or type how many; Space: all given", theme.quiet);
        }
        Entry::Nothing => {}
    }
}

fn rest(row: Rect, x: u16) -> Rect {
    Rect { x: x.min(row.right()), width: row.right().saturating_sub(x), ..row }
}

/// A line of text being typed, with its end marked.
pub(super) fn field(text: &str, column: &mut Column<'_>, theme: &Theme) {
    let row = Rect { height: column.area.height.min(1), ..column.area };
    // The end is what is being typed: a long text is shown from behind.
    let room = row.width.saturating_sub(4) as usize;
    let n = text.chars().count();
    let from = text.char_indices().nth(n.saturating_sub(room)).map_or(0, |(at, _)| at);
    let x = line(column.buf, row, "▏", theme.number);
    let x = line(column.buf, rest(row, x), text.get(from..).unwrap_or(""), theme.strong);
    line(column.buf, rest(row, x), "▂", theme.number);
    column.skip(1);
}

/// What the instrument allows, and what is wrong with what was typed.
pub(super) fn number_words(number: &NumberEntry, theme: &Theme) -> (String, Style) {
    let scale = &number.scale;
    let mut text = String::with_capacity(64);
    match number.typed() {
        Typed::Not(NotAReading::BetweenMarks { below: Some(below), above: Some(above), .. }) => {
            let step = scale.step.normalize();
            let _ = write!(text, "✗ {}: {below} ← or → {above}? Marks every {step}", number.text.trim());
            (text, theme.warn)
        }
        // After Enter the refusal stands below, and the range takes its place here.
        Typed::Not(not) if !number.is_refused() => {
            let _ = write!(text, "✗ {not}");
            (text, theme.warn)
        }
        typed => {
            let sign = if matches!(typed, Typed::Mark(_)) { "✓ on a mark: " } else { "" };
            let low = scale.show(&scale.min);
            let low = low.split(' ').next().unwrap_or("");
            let _ = write!(text, "{sign}{low} to {}, every {}", scale.show(&scale.max), scale.step.normalize());
            (text, theme.quiet)
        }
    }
}

/// The running clocks, the soonest first.
fn draw_clocks(model: &Model, step: &Step, clocks: &[Clock], now: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let mut text = String::with_capacity(64);
    for clock in clocks {
        text.clear();
        face::clock_words(&model.run, Some(step), clock, now, &mut text);
        let style = if face::is_over(clock, now) { theme.warn } else { theme.plain };
        column.block("◷ ", style, &text, style);
    }
}

/// What was said last: a refusal, a finding, a note.
pub(super) fn draw_message(model: &Model, column: &mut Column<'_>) {
    let theme = &model.theme;
    let Some(Message { kind, text }) = &model.message else { return };
    let (mark, style) = match kind {
        MessageKind::Refused => ("✗ ", theme.warn),
        MessageKind::Finding | MessageKind::Warned => ("! ", theme.warn),
        MessageKind::Back => ("↶ ", theme.warn),
        MessageKind::Note => ("✓ ", theme.good),
    };
    column.block(mark, style, text, style);
}

/// Why the next act cannot happen yet, for as long as that is so.
fn standing_reason(model: &Model, step: &Step, face: &Face, now: Tick) -> Option<Cow<'static, str>> {
    if let Some(waits) = &model.waits {
        return Some(waits.text.clone().into());
    }
    let offer = model.run.offer(now);
    match (&offer.act, &step.wants) {
        (Act::Wait { .. }, Wants::Settle(settle)) => {
            Some(format!("Not yet: readings are at least {} apart.", settle.every).into())
        }
        (Act::GiveUp(ending), _) => {
            let because = said(&model.run, &ending.because).into_owned();
            Some(format!("{because}: the attempt is over.").into())
        }
        (Act::Wait { .. } | Act::Turn { to_down: true }, Wants::Hold { at_least, .. }) => {
            let hands = if step.hands_free { " Your hands are free." } else { "" };
            Some(format!("Not done before {at_least}.{hands}").into())
        }
        (Act::Turn { to_down: false }, Wants::Hold { turns: Some(turns), .. }) if !face.is_alarm => {
            Some(format!("{} for at most {} at one time.", sentence_case(&turns.down), turns.down_at_most).into())
        }
        (Act::Turn { to_down: false }, Wants::Hold { turns: Some(turns), .. }) => {
            Some(format!("More than {} {}: it goes on the record.", turns.down_at_most, turns.down).into())
        }
        _ => None,
    }
}

fn sentence_case(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}

// ---------------------------------------------------------------------------------------------- settling

/// The readings of this settling and of the rounds before.
fn draw_settling(model: &Model, step: &Step, settle: &Settle, now: Tick, column: &mut Column<'_>) {
    let theme = &model.theme;
    let run = &model.run;
    let offer = run.offer(now);
    let mut text = String::with_capacity(80);
    let attempt = offer.attempt;
    let earlier = run.rounds().iter().filter(|round| round.attempt == attempt && round.stage == step.stage);
    for round in earlier {
        let _ =
            write!(text, "{}round {}: {}", if text.is_empty() { "" } else { ", " }, round.round, round.value.show(2));
    }
    if !text.is_empty() {
        column.block("", theme.plain, &format!("Steady before — {text}"), theme.plain);
        text.clear();
    }
    let opened = offer.standing.opened.tick;
    let mut before: Option<&engine::Set> = None;
    for set in run.sets_here() {
        let sign = if before.is_some() { ", " } else { "Readings: " };
        let _ = write!(text, "{sign}{} {}", set.at.since(opened).clock(), set.value.show(2));
        if let Some(before) = before {
            let change = (&set.value - &before.value).abs();
            let word = if set.steady { "steady" } else { "not steady" };
            let _ = write!(text, " (change {}: {word})", change.show_exact());
        }
        before = Some(set);
    }
    if text.is_empty() {
        let _ = write!(text, "Steady: two readings within {}.", settle.change_at_most.show_exact());
    }
    column.block("", theme.plain, &text, theme.plain);
}

/// The instrument beside the reading; false if this step has none or there is no room for it.
fn draw_neck(model: &Model, step: &Step, now: Tick, buf: &mut Buffer, area: Rect) -> bool {
    let run = &model.run;
    let edition = run.edition();
    let is_neck = |id: procedure::ReadingId| edition.reading(id).instrument.as_deref() == Some("neck");
    let (level_id, foam_id) = match &step.wants {
        Wants::Settle(settle) if is_neck(settle.reading) => {
            (settle.reading, settle.also.iter().copied().find(|id| is_neck(*id)))
        }
        Wants::Read(reading) if is_neck(*reading) => (*reading, None),
        _ => return false,
    };
    let ReadingKind::Number(scale) = &edition.reading(level_id).kind else { return false };
    let offer = run.offer(now);
    let opened = offer.standing.opened.tick;
    let number = |taken: &engine::Taken| match taken.entry {
        engine::Entry::Number(value) => Some(value),
        _ => None,
    };
    let here = |id: procedure::ReadingId| {
        run.taken_now().iter().filter(move |taken| taken.reading == id && taken.at.tick >= opened && !taken.carried)
    };
    let typed = match &model.entry {
        Entry::Number(number) => quantity::parse_typed(&number.text).ok().and_then(|typed| typed.to_decimal()),
        _ => None,
    };
    let asked = model.reading_asked(now).map(|(_, reading, _)| reading);
    let last = |id| here(id).next_back().and_then(number);
    let (level, foam) = match asked {
        Some(id) if id == level_id && typed.is_some() => (typed, None),
        Some(id) if id == level_id && !matches!(offer.act, Act::Wait { .. } | Act::GiveUp(_)) => (None, None),
        Some(id) if Some(id) == foam_id => (last(level_id), typed),
        _ => (last(level_id), foam_id.and_then(last)),
    };
    let show = |value: Decimal| scale.show(&value).trim_end_matches(" %").to_owned();
    let label = match (level, foam) {
        (Some(level), Some(foam)) => format!("{}, foam {}", show(level), show(foam)),
        (Some(level), None) => format!("level {}", show(level)),
        _ => String::new(),
    };
    // The readings before the one that is drawn as the level.
    let drawn = usize::from(level.is_some() && !(asked == Some(level_id) && typed.is_some()));
    let n = here(level_id).count().saturating_sub(drawn);
    let labels: Vec<(Decimal, String)> = here(level_id)
        .take(n)
        .filter_map(|taken| {
            number(taken).map(|level| (level, format!("{} {}", taken.at.tick.since(opened).clock(), show(level))))
        })
        .collect();
    let before: Vec<neck::Tick<'_>> =
        labels.iter().map(|(level, label)| neck::Tick { level: *level, label: label.as_str() }).collect();
    let neck = Neck { scale, level, foam, label: &label, before: &before };
    let width = neck_width(area.width);
    let Some(height) = neck.height(area.height) else { return false };
    let right = Rect { x: area.right().saturating_sub(width), width: width.min(area.width), height, ..area };
    neck.draw(buf, right, &model.theme)
}

/// The cone beside the reading of the slump; false if this step does not read it or there is no room.
fn draw_cone(model: &Model, step: &Step, now: Tick, buf: &mut Buffer, area: Rect) -> bool {
    let Wants::Read(reading) = step.wants else { return false };
    let reading_spec = model.run.edition().reading(reading);
    if reading_spec.instrument.as_deref() != Some("cone") || !matches!(model.run.offer(now).act, Act::Answer(_)) {
        return false;
    }
    let Entry::Number(number) = &model.entry else { return false };
    let slump = quantity::parse_typed(&number.text).ok().and_then(|typed| typed.to_decimal());
    let cone = Cone { scale: &number.scale, slump };
    let width = neck_width(area.width).min(area.width);
    cone.draw(buf, Rect { x: area.right() - width, width, ..area }, &model.theme)
}

// ---------------------------------------------------------------------------------------------- little room

/// The number, the sentence and what is blocked, where there is no room for more.
pub(super) fn essential(model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    if let Some(overlay) = &model.overlay {
        column.line(super::overlay_title(overlay), theme.strong);
        let rest = column.area;
        super::over::draw_inside(model, overlay, now, buf, rest);
        return;
    }
    if !model.is_recorded() && (model.store.in_memory > 0 || model.store.failed.is_some()) {
        column.line("NOT RECORDED", theme.alarm);
    }
    let face = model.face(now);
    let tall = column.area.height >= 8 && column.area.width >= 20;
    if tall {
        draw_face(model, &face, &mut column);
    } else if !face.number.is_empty() {
        let style = if face.is_alarm { theme.alarm } else { theme.number };
        let text = if column.area.width >= 24 {
            format!("{} {} {}", face.number, face.side, face.caption)
        } else {
            format!("{} {}", face.number, face.side)
        };
        column.line(&text, style);
    } else if face.is_alarm {
        column.line(&face.caption, theme.alarm);
    }
    let offer = model.run.offer(now);
    match (offer.phase, offer.step) {
        (Phase::AtStep, Some((_, step))) => {
            if let Entry::Words(words) = &model.entry {
                field(&words.field.text, &mut column, theme);
            }
            // What is blocked keeps two rows, whatever the sentence takes.
            let is_blocked = model.message.is_some() && column.area.height > 3;
            let whole = column.area;
            column.area.height -= if is_blocked { 2 } else { 0 };
            column.block("", theme.strong, &said(&model.run, &step.instruction), theme.strong);
            column.area.height = whole.bottom() - column.area.y;
            if matches!(model.entry, Entry::Choice(_)) && column.area.height > 2 {
                draw_entry(model, now, &mut column);
            }
            draw_message(model, &mut column);
            if let Some(text) = standing_reason(model, step, &face, now) {
                column.block("■ ", theme.warn, &text, theme.plain);
            }
            let mut clocks = Vec::new();
            face::other_clocks(&model.run, face.clock, now, &mut clocks);
            draw_clocks(model, step, &clocks, now, &mut column);
        }
        _ => super::ended::essential(model, &mut column),
    }
    if column.area.height > 0 {
        let text = super::big_key(model, now);
        let last = Rect { y: column.area.bottom() - 1, height: 1, ..column.area };
        line(buf, last, &text, theme.quiet);
    }
}

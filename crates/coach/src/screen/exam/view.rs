//! Drawing the marking screen: stations side by side, one sheet in focus below them.
//!
//! Here: where everything stands. Not here: what is shown of an exam (`faces`), what lies over the screen (`over`).
//!
//! | room | what is shown |
//! |------|---------------|
//! | 116 columns and 30 rows and more | beside the acts: why the act matters, its usual slip, limits, notes |
//! | 60 columns and 16 rows and more | stations, whose sheet it is, the acts of the stage, the keys |
//! | less | whose sheet it is, the act in focus, its mark |
//!
//! **Invariant:** whose sheet it is stands on every picture of a sheet, bigger than everything else; no size makes this
//! panic.

use engine::Tick;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::face::{RowFace, SheetFace, Sign, StationFace, Verdict};
use super::keys::{EXAM_BINDINGS, ExamCommand};
use super::model::{ExamModel, MessageKind};
use super::over;
use crate::screen::digits::{self, Size};
use crate::screen::theme::Theme;
use crate::screen::view::paint::{Column, line, line_right, lines, push_cut};
use crate::screen::view::{FULL_HEIGHT, FULL_WIDTH, ground};

/// Columns and rows from which what an act is about stands beside the acts.
const BESIDE_FROM: (u16, u16) = (116, 30);
/// Columns of that.
const BESIDE: u16 = 42;
/// A station with its own card needs so many columns; else the stations stand in rows.
const CARD: u16 = 19;

/// Draws the screen as it is at `now`.
pub(super) fn draw(model: &ExamModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    ground(&model.theme, buf, area);
    if area.width < FULL_WIDTH || area.height < FULL_HEIGHT {
        return essential(model, now, buf, area);
    }
    let row = |y: u16| Rect { x: area.x + 1, y: area.y + y, width: area.width - 2, height: 1 };
    header(model, buf, row(0));
    let faces = model.station_faces(now);
    let n_rows = stations(model, &faces, buf, Rect { y: area.y + 1, height: area.height - 1, ..area });
    let top = 1 + n_rows;
    let mut middle = Rect { y: area.y + top, height: (area.height - top).saturating_sub(3), ..row(0) };
    middle = banner(model, buf, middle);
    match &model.overlay {
        Some(overlay) => over::draw(model, overlay, now, buf, middle),
        None => match model.sheet_face(now) {
            Some(sheet) => draw_sheet(model, &sheet, buf, middle),
            None => free(model, buf, middle),
        },
    }
    message(model, buf, row(area.height - 3));
    footer(model, buf, row(area.height - 2), row(area.height - 1));
}

fn header(model: &ExamModel, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let (words, style) = recorded(model);
    let end = line_right(buf, area, &words, style);
    let left = Rect { width: end.saturating_sub(area.x + 2), ..area };
    let x = line(buf, left, &model.title(), theme.strong);
    let rest = Rect { x, width: left.right().saturating_sub(x), ..left };
    let mut text = String::new();
    if let Some(simulated) = &model.options.simulated {
        text.push_str(&format!(" · {}", simulated.to_uppercase()));
    }
    if model.is_silent() {
        text.push_str(" · sound off");
    }
    line(buf, rest, &text, theme.warn);
}

fn recorded(model: &ExamModel) -> (String, Style) {
    let (theme, store) = (&model.theme, &model.store);
    if store.in_memory > 0 {
        return (format!(" NOT RECORDED: {} only in memory ", store.in_memory), theme.alarm);
    }
    if store.failed.is_some() {
        return (" NOT RECORDED ".to_owned(), theme.alarm);
    }
    match (store.awaited, store.n) {
        (0, n) => (format!("recorded ✓ {n}"), theme.good),
        _ => ("recording …".to_owned(), theme.good),
    }
}

// ---------------------------------------------------------------------------------------------- stations

/// Draws the stations; returns how many rows they take, the rule below them included.
fn stations(model: &ExamModel, faces: &[StationFace], buf: &mut Buffer, area: Rect) -> u16 {
    let n = u16::try_from(faces.len()).unwrap_or(u16::MAX).max(1);
    let rows = if area.width / n >= CARD {
        let width = area.width / n;
        for (at, face) in faces.iter().enumerate() {
            let x = area.x + width * at as u16;
            // The last takes what is left over.
            let right = if at + 1 == faces.len() { area.right() } else { x + width };
            card(model, face, at == model.station, buf, Rect { x, width: right - x, height: 3, ..area });
        }
        3
    } else {
        let columns = (area.width / 39).max(1);
        let rows = n.div_ceil(columns);
        let width = area.width / columns;
        for (at, face) in faces.iter().enumerate() {
            let (column, row) = (at as u16 / rows, at as u16 % rows);
            let place = Rect { x: area.x + column * width, y: area.y + row, width, height: 1 };
            one_row(model, face, at == model.station, buf, place);
        }
        rows
    };
    let y = area.y + rows;
    if y < area.bottom() {
        for x in area.left()..area.right() {
            buf[(x, y)].set_symbol("─").set_style(model.theme.quiet);
        }
    }
    rows + 1
}

fn fill(buf: &mut Buffer, area: Rect, style: Style) {
    let area = area.intersection(buf.area);
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            buf[(x, y)].set_symbol(" ").set_style(style);
        }
    }
}

fn card(model: &ExamModel, face: &StationFace, is_focus: bool, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    let plain = if is_focus { theme.chosen } else { theme.plain };
    let quiet = if is_focus { theme.chosen } else { theme.quiet };
    if is_focus {
        fill(buf, Rect { width: area.width.saturating_sub(1), ..area }, theme.chosen);
    }
    for y in area.top()..area.bottom() {
        buf[(area.right() - 1, y)].set_symbol("│").set_style(theme.quiet);
    }
    let inner = |y: u16| Rect { x: area.x + 1, y: area.y + y, width: area.width.saturating_sub(3), height: 1 };
    let sign = if is_focus { "▶" } else { " " };
    let mut text = format!("{sign}{} ", face.key);
    let room = usize::from(inner(0).width).saturating_sub(text.chars().count());
    push_cut(&mut text, face.who.as_deref().unwrap_or("free"), room);
    line(buf, inner(0), &text, plain);
    if area.height < 2 {
        return;
    }
    let end = line_right(buf, inner(1), &face.time, if face.is_loud && !is_focus { theme.warn } else { quiet });
    let mut text = String::from(" ");
    push_cut(&mut text, &face.what, usize::from(end.saturating_sub(inner(1).x + 2)));
    line(buf, Rect { width: end.saturating_sub(inner(1).x), ..inner(1) }, &text, quiet);
    if area.height < 3 {
        return;
    }
    let end = line_right(buf, inner(2), &face.clock, plain);
    let mut text = String::from(" ");
    push_cut(&mut text, &face.stand, usize::from(end.saturating_sub(inner(2).x + 2)));
    let style = if face.is_loud && !is_focus { theme.warn } else { plain };
    line(buf, Rect { width: end.saturating_sub(inner(2).x), ..inner(2) }, &text, style);
}

fn one_row(model: &ExamModel, face: &StationFace, is_focus: bool, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let style = if is_focus { theme.chosen } else { theme.plain };
    let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area };
    if is_focus {
        fill(buf, inner, style);
    }
    let right = if face.clock.is_empty() { face.stand.clone() } else { format!("{} {}", face.stand, face.clock) };
    let end = line_right(buf, inner, &right, if face.is_loud && !is_focus { theme.warn } else { style });
    let mut text = format!("{}{:<4}", if is_focus { "▶" } else { " " }, face.key);
    let who = match &face.who {
        Some(who) => format!("{who} {}", face.what),
        None => "free".to_owned(),
    };
    push_cut(&mut text, &who, usize::from(end.saturating_sub(inner.x + 6)));
    line(buf, Rect { width: end.saturating_sub(inner.x), ..inner }, &text, style);
}

// ---------------------------------------------------------------------------------------------- the sheet

/// Whose sheet it is, as big as there is room for. Returns how many rows it took.
fn whose(theme: &Theme, number: &str, name: &str, buf: &mut Buffer, area: Rect, tallest: u16) -> u16 {
    let last = name.split_whitespace().next_back().unwrap_or(name);
    let texts = [format!("{number} {name}"), format!("{number} {last}")].map(|text| capitals(&text));
    for size in [Size::Full, Size::Small].into_iter().filter(|size| size.height() <= tallest) {
        for text in &texts {
            if size.width(text).is_some_and(|width| width <= area.width)
                && digits::draw(buf, Rect { height: size.height(), ..area }, text, size, theme.number)
            {
                return size.height();
            }
        }
    }
    // A name in other letters, or a long one: as it stands, in a field.
    let text = format!("  {number}  {name}  ");
    line(buf, Rect { height: 1, ..area }, &text, theme.key);
    1
}

/// Capitals without the marks above and below them, which have no big form; the name stands in its own letters beside.
fn capitals(text: &str) -> String {
    text.to_uppercase()
        .chars()
        .flat_map(|sign| {
            let plain: &str = match sign {
                'À'..='Å' | 'Ā' | 'Ă' | 'Ą' => "A",
                'Æ' => "AE",
                'Ç' | 'Ć' | 'Č' => "C",
                'È'..='Ë' | 'Ē' | 'Ę' | 'Ě' => "E",
                'Ì'..='Ï' | 'Ī' | 'İ' => "I",
                'Ñ' | 'Ń' | 'Ň' => "N",
                'Ò'..='Ö' | 'Ø' | 'Ō' | 'Ő' => "O",
                'Ś' | 'Š' | 'Ş' | 'Ș' => "S",
                'Ù'..='Ü' | 'Ū' | 'Ů' | 'Ű' => "U",
                'Ý' | 'Ÿ' => "Y",
                'Ź' | 'Ż' | 'Ž' => "Z",
                'Ł' => "L",
                'Đ' | 'Ð' | 'Ď' => "D",
                'Ř' => "R",
                'Ť' | 'Ţ' | 'Ț' => "T",
                'Ğ' => "G",
                '’' => "'",
                '–' => "-",
                other => return vec![other],
            };
            plain.chars().collect()
        })
        .collect()
}

fn draw_sheet(model: &ExamModel, sheet: &SheetFace, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let tallest = if area.height >= 26 { 5 } else { 3 };
    let took = whose(theme, &sheet.number, &sheet.name, buf, area, tallest);
    let mut column = Column::new(buf, area);
    column.skip(took);
    let row = Rect { height: column.area.height.min(1), ..column.area };
    let time = match sheet.limit {
        Some(limit) if sheet.lasted > limit => format!(" OVER TIME {} of {} ", sheet.lasted.clock(), limit.clock()),
        Some(limit) => format!("{} of {}", sheet.lasted.clock(), limit.clock()),
        None => sheet.lasted.clock(),
    };
    let is_over = sheet.limit.is_some_and(|limit| sheet.lasted > limit);
    let end = line_right(column.buf, row, &time, if is_over { theme.alarm } else { theme.strong });
    let mut text = String::new();
    // Where the big letters have room for the last name only, the whole name stands here.
    let whole = capitals(&format!("{} {}", sheet.number, sheet.name));
    let is_cut = took > 1 && Size::Small.width(&whole).is_none_or(|width| width > area.width);
    let name = if is_cut { format!("{} {} · ", sheet.number, sheet.name) } else { String::new() };
    let words = format!("{name}{} · {} · rater {}", sheet.method, sheet.trial, sheet.rater);
    push_cut(&mut text, &words, usize::from(end.saturating_sub(row.x + 2)));
    // Two sheets of one performance bear the same name: the second is told apart by a field.
    let style = if sheet.is_second { theme.key } else { theme.strong };
    line(column.buf, Rect { width: end.saturating_sub(row.x), ..row }, &text, style);
    column.skip(1);
    if area.height >= 22 {
        column.skip(1);
    }
    let rest = column.area;
    let rest = match &sheet.verdict {
        Some(verdict) => ended(theme, verdict, buf, rest),
        None => rest,
    };
    if area.width >= BESIDE_FROM.0 - 2 && buf.area.height >= BESIDE_FROM.1 {
        let acts_area = Rect { width: rest.width - BESIDE - 2, ..rest };
        acts(theme, sheet, buf, acts_area, false);
        beside(theme, sheet, buf, Rect { x: acts_area.right() + 2, width: BESIDE, ..rest });
    } else {
        acts(theme, sheet, buf, rest, true);
    }
}

/// The result, why, and what comes next; returns what is left.
fn ended(theme: &Theme, verdict: &Verdict, buf: &mut Buffer, area: Rect) -> Rect {
    let mut column = Column::new(buf, area);
    let row = Rect { height: 3, ..column.area };
    if area.height >= 10 && digits::draw(column.buf, row, verdict.word, Size::Small, theme.number) {
        column.skip(3);
    } else {
        column.line(&format!(" {} ", verdict.word), if verdict.is_passed { theme.key } else { theme.alarm });
    }
    if let Some(next) = &verdict.next {
        column.block("", theme.strong, next, theme.strong);
    }
    // Some rows stay for the acts: they can still be overruled.
    let keep = if area.height >= 10 { 4 } else { 0 };
    for reason in &verdict.reasons {
        if column.area.height <= keep {
            break;
        }
        let mut cut = String::new();
        push_cut(&mut cut, reason, usize::from(column.area.width));
        column.line(&cut, theme.plain);
    }
    column.area
}

fn stage_line(theme: &Theme, sheet: &SheetFace, column: &mut Column<'_>) {
    let Some(row) = sheet.rows.get(sheet.present) else { return };
    let Some(stage) = sheet.stages.get(row.stage) else { return };
    let place = Rect { height: column.area.height.min(1), ..column.area };
    let all = format!("{} of {} marked", sheet.n_marked(), sheet.rows.len());
    let end = line_right(column.buf, place, &all, theme.quiet);
    let mut text = format!(" {}/{}  ", row.stage + 1, sheet.stages.len());
    let room = usize::from(end.saturating_sub(place.x)).saturating_sub(text.chars().count() + 10);
    push_cut(&mut text, &stage.title.to_uppercase(), room);
    text.push_str(&format!("  {}/{} ", stage.n_marked, stage.n));
    line(column.buf, Rect { width: end.saturating_sub(place.x), ..place }, &text, theme.chosen);
    column.skip(1);
}

fn style_of(theme: &Theme, mark: Option<Sign>) -> Style {
    match mark {
        Some(Sign::Missed) => theme.warn,
        Some(Sign::Done) => theme.good,
        Some(Sign::Told | Sign::NotSeen) => theme.plain,
        None => theme.plain,
    }
}

/// The acts of the stage in focus, the one in focus whole.
fn acts(theme: &Theme, sheet: &SheetFace, buf: &mut Buffer, area: Rect, tells_why: bool) {
    let mut column = Column::new(buf, area);
    stage_line(theme, sheet, &mut column);
    let Some(present) = sheet.rows.get(sheet.present) else { return };
    let of_stage: Vec<usize> = (0..sheet.rows.len()).filter(|n| sheet.rows[*n].stage == present.stage).collect();
    let at = of_stage.iter().position(|n| *n == sheet.present).unwrap_or(0);
    let whole = present_rows(present, column.area.width) + if tells_why { slip_rows(present, area.width) } else { 0 };
    let room = usize::from(column.area.height).saturating_sub(usize::from(whole));
    // As many before as leave the same room behind, and no empty rows at either end.
    let others = of_stage.len() - 1;
    let before = at.min((room / 2).max(room.saturating_sub(others - at.min(others))));
    let from = if others <= room { 0 } else { at - before };
    for (n, idx) in of_stage.iter().enumerate().skip(from) {
        if column.area.height == 0 {
            break;
        }
        let row = &sheet.rows[*idx];
        if n == at {
            present_act(theme, row, &mut column);
            if tells_why {
                slip(theme, row, &mut column);
            }
        } else {
            short_act(theme, row, &mut column);
        }
    }
    // What is to come, so that the hand knows where it goes: the acts where there is room, else the stages.
    if column.area.height >= 8 {
        column.skip(1);
        for (n, stage) in sheet.stages.iter().enumerate().skip(present.stage + 1) {
            if column.area.height < 2 {
                break;
            }
            column.line(&format!(" {}/{}  {}", n + 1, sheet.stages.len(), stage.title), theme.quiet);
            for row in sheet.rows.iter().filter(|row| row.stage == n) {
                short_act(theme, row, &mut column);
            }
        }
    } else if column.area.height >= 2 {
        let next = sheet.stages.iter().skip(present.stage + 1).map(|stage| stage.title.as_str());
        let text = next.collect::<Vec<_>>().join(" · ");
        if !text.is_empty() {
            let y = column.area.bottom() - 1;
            let row = Rect { y, height: 1, ..column.area };
            let mut cut = String::new();
            push_cut(&mut cut, &format!("then: {text}"), usize::from(row.width));
            line(column.buf, row, &cut, theme.quiet);
        }
    }
}

fn short_act(theme: &Theme, row: &RowFace, column: &mut Column<'_>) {
    let place = Rect { height: column.area.height.min(1), ..column.area };
    let beside = match (&row.live, row.mark) {
        (Some(live), _) if row.is_running => format!("◷ {live}"),
        (Some(live), None) => live.clone(),
        (_, Some(mark)) if row.beside.is_empty() => mark.words().to_owned(),
        (_, Some(mark)) => format!("{}: {}", mark.words(), row.beside),
        (None, None) => row.wants.clone(),
    };
    let mut right = String::new();
    push_cut(&mut right, &beside, usize::from(place.width / 2));
    let end = line_right(column.buf, place, &right, style_of(theme, row.mark));
    let mut text = format!("  {}  ", row.mark.map_or("·", Sign::sign));
    push_cut(&mut text, &row.text, usize::from(end.saturating_sub(place.x)).saturating_sub(7));
    line(column.buf, Rect { width: end.saturating_sub(place.x), ..place }, &text, style_of(theme, row.mark));
    column.skip(1);
}

fn present_rows(row: &RowFace, width: u16) -> u16 {
    let text = lines(&row.text, width.saturating_sub(5)).count() as u16;
    text + u16::from(!present_words(row).is_empty())
}

/// What stands under the act in focus: its mark, its clock, its count, whether it may be told.
fn present_words(row: &RowFace) -> String {
    let mut words: Vec<String> = Vec::new();
    if let Some(live) = &row.live {
        words.push(if row.is_running { format!("◷ {live}") } else { live.clone() });
    }
    if let Some(mark) = row.mark {
        words.push(if row.beside.is_empty() {
            mark.words().to_owned()
        } else {
            format!("{}: {}", mark.words(), row.beside)
        });
    }
    if !row.wants.is_empty() {
        words.push(row.wants.clone());
    }
    if row.is_conditional && row.mark.is_none() {
        words.push("only if it applies, ↓ passes over it".to_owned());
    }
    if row.critical {
        words.push("CRITICAL".to_owned());
    }
    if row.tellable {
        words.push("may be told aloud".to_owned());
    }
    words.join(" · ")
}

fn present_act(theme: &Theme, row: &RowFace, column: &mut Column<'_>) {
    let mark = format!("▶ {}  ", row.mark.map_or("·", Sign::sign));
    let height = present_rows(row, column.area.width).min(column.area.height);
    let field = Rect { height, ..column.area };
    fill(column.buf, field, theme.chosen);
    column.block(&mark, theme.chosen, &row.text, theme.chosen);
    let words = present_words(row);
    if !words.is_empty() {
        column.line(&format!("     {words}"), theme.chosen);
    }
}

fn slip_rows(row: &RowFace, width: u16) -> u16 {
    row.slip.as_ref().map_or(0, |slip| lines(slip, width.saturating_sub(13)).count().min(2) as u16)
}

fn slip(theme: &Theme, row: &RowFace, column: &mut Column<'_>) {
    let Some(text) = &row.slip else { return };
    let rows = slip_rows(row, column.area.width).min(column.area.height);
    let mut part = Column::new(column.buf, Rect { height: rows, ..column.area });
    part.block("     watch:  ", theme.quiet, text, theme.quiet);
    column.skip(rows);
}

/// What the act in focus is about, limits and notes.
fn beside(theme: &Theme, sheet: &SheetFace, buf: &mut Buffer, area: Rect) {
    let x = area.x.saturating_sub(1);
    for y in area.top()..area.bottom() {
        buf[(x, y)].set_symbol("│").set_style(theme.quiet);
    }
    let mut column = Column::new(buf, Rect { x: area.x + 1, width: area.width.saturating_sub(1), ..area });
    if let Some(row) = sheet.rows.get(sheet.present) {
        for (label, text) in [("USUAL SLIP", &row.slip), ("WHY", &row.why)] {
            if let Some(text) = text {
                column.line(label, theme.quiet);
                column.block("", theme.plain, text, theme.plain);
                column.skip(1);
            }
        }
    }
    if !sheet.windows.is_empty() {
        column.line("LIMITS", theme.quiet);
        for window in &sheet.windows {
            let (mark, style) = if window.is_over { ("✗ ", theme.warn) } else { ("◷ ", theme.plain) };
            column.block(mark, style, &window.text, style);
        }
        column.skip(1);
    }
    if !sheet.notes.is_empty() {
        column.line("NOTES", theme.quiet);
        for note in sheet.notes.iter().rev() {
            column.block("/ ", theme.quiet, note, theme.plain);
        }
    }
}

/// A station where nobody is.
fn free(model: &ExamModel, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    column.skip(1);
    let text = format!("STATION {}", model.station + 1);
    let row = Rect { height: 3, ..column.area };
    if digits::draw(column.buf, row, &text, Size::Small, theme.number) {
        column.skip(4);
    } else {
        column.line(&text, theme.strong);
    }
    column.block("", theme.strong, "Nobody is at this station. Press b to begin a trial.", theme.strong);
    column.skip(1);
    for text in model.waiting_words(usize::from(column.area.height)) {
        column.line(&text, theme.quiet);
    }
}

// ---------------------------------------------------------------------------------------------- what is always there

/// What is not on disk, said loudly; returns what is left of the area.
fn banner(model: &ExamModel, buf: &mut Buffer, area: Rect) -> Rect {
    let Some((what, hint)) = &model.store.failed else { return area };
    let theme = &model.theme;
    let mut column = Column::new(buf, Rect { height: area.height.min(3), ..area });
    column.block("✗ ", theme.alarm, &format!("NOT RECORDED: {what}. {hint}"), theme.alarm);
    column.line("  Go on: nothing is lost while this program runs. f keeps it in another folder.", theme.strong);
    let y = column.area.y.min(area.bottom());
    Rect { y, height: area.bottom() - y, ..area }
}

/// What was said last, right above the keys; a long refusal takes a row more.
fn message(model: &ExamModel, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let Some(message) = &model.message else { return };
    if message.kind == MessageKind::Refused {
        let text = format!("✗ {}", message.text);
        let rows = (lines(&text, area.width).count().min(3) as u16).max(1);
        let top = area.y.saturating_sub(rows - 1).max(buf.area.y);
        let field = Rect { y: top, height: area.bottom() - top, ..area };
        fill(buf, field, theme.alarm);
        Column::new(buf, field).block("", theme.alarm, &text, theme.alarm);
        return;
    }
    let style = if message.kind == MessageKind::Marked { theme.good } else { theme.strong };
    let mut text = String::new();
    push_cut(&mut text, &message.text, usize::from(area.width));
    line(buf, area, &text, style);
}

fn footer(model: &ExamModel, buf: &mut Buffer, upper: Rect, lower: Rect) {
    let theme = &model.theme;
    if let Some(overlay) = &model.overlay {
        let mut x = upper.x;
        for (key, words) in over::keys_now(overlay) {
            let rest = |x: u16| Rect { x, width: upper.right().saturating_sub(x), ..upper };
            x = line(buf, rest(x), &format!(" {key} "), theme.key);
            x = line(buf, rest(x), &format!(" {words}   "), theme.plain);
        }
        return;
    }
    use ExamCommand as To;
    let marks = [To::Done, To::Missed, To::Told, To::NotSeen, To::Clock, To::Count, To::Undo];
    let others = [
        To::Begin,
        To::End,
        To::NextStation,
        To::Overrule,
        To::Note,
        To::Results,
        To::Help,
        To::Leave,
        To::SecondRater,
        To::MoveStation,
        To::Folder,
    ];
    key_row(theme, &marks, theme.key, buf, upper);
    key_row(theme, &others, theme.strong, buf, lower);
}

fn key_row(theme: &Theme, commands: &[ExamCommand], key: Style, buf: &mut Buffer, row: Rect) {
    let mut x = row.x;
    for binding in commands.iter().filter_map(|of| EXAM_BINDINGS.iter().find(|row| row.command == *of)) {
        let name = binding.keys.split("  ").next().unwrap_or(binding.keys);
        let is_field = key == theme.key;
        let name = if is_field { format!(" {name} ") } else { name.to_owned() };
        let room = (name.chars().count() + binding.short.chars().count() + 1) as u16;
        if x + room > row.right() {
            break;
        }
        let rest = |x: u16| Rect { x, width: row.right().saturating_sub(x), ..row };
        x = line(buf, rest(x), &name, key);
        x = line(buf, rest(x + 1), binding.short, theme.plain) + if is_field { 1 } else { 2 };
    }
}

/// Whose sheet it is and the act in focus, where there is no room for more.
fn essential(model: &ExamModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let mut column = Column::new(buf, area);
    let (words, style) = recorded(model);
    if model.store.failed.is_some() {
        column.line(&words, style);
    }
    if let Some(overlay) = &model.overlay {
        let area = column.area;
        return over::draw(model, overlay, now, buf, area);
    }
    let Some(sheet) = model.sheet_face(now) else {
        column.block(
            "",
            theme.strong,
            &format!("Station {}: free. b begins a trial.", model.station + 1),
            theme.strong,
        );
        return;
    };
    column.line(&format!(" {} {} ", sheet.number, sheet.name), theme.key);
    if let Some(verdict) = &sheet.verdict {
        column.line(verdict.word, theme.strong);
        return;
    }
    if let Some(message) = &model.message {
        column.block("", theme.plain, &message.text, theme.plain);
    }
    if let Some(row) = sheet.rows.get(sheet.present) {
        present_act(theme, row, &mut column);
    }
    column.line("d done  m missed  u undo", theme.quiet);
}

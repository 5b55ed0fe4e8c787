//! Drawing the bench: the run in focus, a line for each other run, the limits that close.
//!
//! Here: where they stand. Not here: how a run is drawn, and the words.
//!
//! | room | what is shown beside the run in focus |
//! |------|----------------------------------------|
//! | 116 columns and more | a column with every run in two rows, and the limits below |
//! | 18 rows and more | a rule with what is due next, and a row for each other run, as many as leave the focus whole |
//! | 8 rows and more | one row: what is due next |
//! | less | the run in focus alone |
//!
//! **Invariant:** the run in focus keeps the room a run alone needs, and no size makes this panic.

use bench::live::{self, Seat, Stand, Window, WindowState};
use engine::Tick;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::keys::CHECK_KEY;
use super::words::{LineWords, Urgency, line_words, turn_words, window_words};
use super::{BENCH_BINDINGS, BenchModel};
use crate::screen::theme::Theme;
use crate::screen::view::paint::{Column, line, line_right, push_cut};
use crate::screen::view::{self, FULL_HEIGHT, FULL_WIDTH};

/// Columns from which the bench stands beside the run.
const BESIDE_FROM: u16 = 116;
/// Columns of the bench beside the run.
const BESIDE: u16 = 40;

/// Where the run in focus and the bench stand.
struct Rooms {
    focus: Rect,
    bench: Rect,
    is_beside: bool,
}

fn rooms(area: Rect, n_members: usize) -> Rooms {
    let others = u16::try_from(n_members.saturating_sub(1)).unwrap_or(u16::MAX);
    if area.width >= BESIDE_FROM && area.height >= FULL_HEIGHT {
        let focus = Rect { width: area.width - BESIDE - 1, ..area };
        let bench = Rect { x: focus.right() + 1, width: BESIDE, ..area };
        return Rooms { focus, bench, is_beside: true };
    }
    // The limits get a row of their own only where the run in focus does not need it.
    let wanted = others.saturating_add(1 + u16::from(area.height > FULL_HEIGHT + others + 8));
    let rows = if area.width >= FULL_WIDTH && area.height >= FULL_HEIGHT + 2 {
        wanted.min(area.height - FULL_HEIGHT)
    } else {
        u16::from(area.height >= 8)
    };
    let focus = Rect { height: area.height - rows, ..area };
    Rooms { focus, bench: Rect { y: focus.bottom(), height: rows, ..area }, is_beside: false }
}

/// Draws the bench as it is at `now`.
pub(super) fn draw(bench: &BenchModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    view::ground(&bench.theme, buf, area);
    let rooms = rooms(area, bench.members.len());
    if bench.overview.is_some() {
        overview(bench, now, buf, rooms.focus);
    } else if let Some(model) = bench.members.get(bench.focus).and_then(|member| member.model.as_ref()) {
        view::draw(model, now, buf, rooms.focus);
    }
    if rooms.bench.is_empty() {
        return;
    }
    if rooms.is_beside {
        beside(bench, now, buf, rooms.bench);
    } else {
        below(bench, now, buf, rooms.bench);
    }
}

fn style_of(urgency: Urgency, theme: &Theme) -> Style {
    match urgency {
        Urgency::Calm => theme.plain,
        Urgency::Soon => theme.warn,
        Urgency::Over => theme.alarm,
    }
}

/// What is due next, or what was said last about another run.
fn headline(bench: &BenchModel, seats: &[Seat<'_>], now: Tick) -> (String, bool) {
    if let live::Repeat::NewSample { because } = live::repeat(seats, bench.focus, now) {
        return (format!("A NEW SAMPLE IS NEEDED: {because}"), true);
    }
    if let Some(notice) = &bench.notice {
        return (notice.text.clone(), notice.run.is_some());
    }
    // Result, limit and verdict stand together for as long as the finished run is looked at.
    if matches!(live::stand(seats, bench.focus, now), Stand::Finished | Stand::Closed { .. }) {
        let all: Vec<_> = bench.watch.judged_of(bench.focus).collect();
        let words: Vec<String> = all.iter().map(|judged| format!("{}: {}", judged.title, judged.words())).collect();
        if !all.is_empty() {
            return (words.join(" · "), all.iter().any(|judged| !judged.conforms()));
        }
    }
    let due = live::due(seats, &bench.options.order, now);
    match due.first() {
        Some(turn) if turn.run == bench.focus => ("due next: here".to_owned(), false),
        Some(turn) => (format!("Tab: {}", turn_words(seats, turn, now)), false),
        None => ("every test of this sample is closed".to_owned(), false),
    }
}

/// The name of the key that goes to a run.
fn key_of(n: usize) -> String {
    if n < 9 { format!("F{}", n + 1) } else { "  ".to_owned() }
}

// ---------------------------------------------------------------------------------------------- below

fn below(bench: &BenchModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &bench.theme;
    let seats = bench.seats();
    let (text, is_loud) = headline(bench, &seats, now);
    let row = Rect { height: 1, ..area };
    if area.height == 1 {
        let style = if is_loud { theme.alarm } else { theme.quiet };
        line(buf, row, &text, style);
        return;
    }
    for x in row.left()..row.right() {
        buf[(x, row.y)].set_symbol("─").set_style(theme.quiet);
    }
    let inner = Rect { x: row.x + 2, width: row.width.saturating_sub(4), ..row };
    let style = if is_loud { theme.alarm } else { theme.strong };
    line(buf, inner, &format!(" {text} "), style);
    let mut column =
        Column::new(buf, Rect { x: area.x + 1, y: area.y + 1, width: area.width - 2, height: area.height - 1 });
    let others: Vec<usize> = (0..seats.len()).filter(|n| *n != bench.focus).collect();
    let room = column.area.height as usize;
    let shown = most_pressing(&seats, &others, now, room);
    let names = others.iter().map(|n| seats[*n].name.chars().count()).max().unwrap_or(0).min(18);
    for n in &others {
        if !shown.contains(n) {
            continue;
        }
        let row = Rect { height: 1, ..column.area };
        run_row(bench, &seats, *n, now, column.buf, row, names);
        column.skip(1);
    }
    if column.area.height > 0 {
        closing(bench, &seats, now, &mut column);
    }
}

/// As many runs as there is room for: those that press most are never left out.
fn most_pressing(seats: &[Seat<'_>], others: &[usize], now: Tick, room: usize) -> Vec<usize> {
    let mut ranked: Vec<usize> = others.to_vec();
    if others.len() > room {
        let order: Vec<usize> = live::due(seats, others, now).into_iter().map(|turn| turn.run).collect();
        ranked.sort_by_key(|n| {
            let urgency = line_words(seats, *n, now).urgency;
            (std::cmp::Reverse(urgency), order.iter().position(|at| at == n).unwrap_or(usize::MAX))
        });
        ranked.truncate(room);
    }
    ranked
}

/// One run in one row: key, sign, name, what is next, its soonest clock.
fn run_row(bench: &BenchModel, seats: &[Seat<'_>], n: usize, now: Tick, buf: &mut Buffer, row: Rect, names: usize) {
    let theme = &bench.theme;
    let words = bench.line_words(seats, n, now);
    let style = style_of(words.urgency, theme);
    let end = if words.clock.is_empty() {
        row.right()
    } else {
        line_right(buf, row, &format!("{} {}", clock_sign(words.urgency), words.clock), style)
    };
    let mut name = String::new();
    push_cut(&mut name, seats[n].name, names);
    let x = line(buf, row, &format!("{:<3}", key_of(n)), theme.strong);
    let rest = |x: u16| Rect { x, width: row.right().saturating_sub(x), ..row };
    let x = line(buf, rest(x), &format!("{} {name:<names$}  ", words.sign), style);
    let mut text = String::new();
    push_cut(&mut text, &state_and_act(&words), end.saturating_sub(x + 2) as usize);
    line(buf, rest(x), &text, if words.urgency == Urgency::Calm { theme.quiet } else { theme.plain });
}

fn clock_sign(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Calm => "◷",
        Urgency::Soon => "!",
        Urgency::Over => "✗",
    }
}

fn state_and_act(words: &LineWords) -> String {
    match (words.state.is_empty(), words.act.is_empty()) {
        (true, _) => words.act.clone(),
        (false, true) => words.state.clone(),
        (false, false) => format!("{}: {}", words.state, words.act),
    }
}

/// The limits that count, the soonest first.
fn closing_windows(windows: Vec<Window>) -> Vec<Window> {
    let mut closing: Vec<Window> = windows
        .into_iter()
        .filter(|window| matches!(window.state, WindowState::Running { .. } | WindowState::Missed { .. }))
        .collect();
    closing.sort_by_key(|window| match window.state {
        WindowState::Running { due, .. } | WindowState::Missed { due } => due,
        _ => Tick(u64::MAX),
    });
    closing
}

/// The limits of the whole sample that close, in one row.
fn closing(bench: &BenchModel, seats: &[Seat<'_>], now: Tick, column: &mut Column<'_>) {
    let theme = &bench.theme;
    let mut text = String::new();
    for window in closing_windows(live::windows(seats, now)) {
        let name = seats.get(window.run).map_or("", |seat| seat.name);
        let words = format!("{name} {}: {}", window.title, window_words(&window, now));
        let sign = if text.is_empty() { "closing  " } else { " · " };
        if text.chars().count() + words.chars().count() > column.area.width as usize && !text.is_empty() {
            break;
        }
        text.push_str(sign);
        text.push_str(&words);
    }
    if !text.is_empty() {
        let mut cut = String::new();
        push_cut(&mut cut, &text, column.area.width as usize);
        column.line(&cut, theme.quiet);
    }
}

// ---------------------------------------------------------------------------------------------- beside

fn beside(bench: &BenchModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &bench.theme;
    let seats = bench.seats();
    for y in area.top()..area.bottom() {
        let x = area.x.saturating_sub(1);
        if x >= buf.area.left() {
            buf[(x, y)].set_symbol("│").set_style(theme.quiet);
        }
    }
    let mut column = Column::new(buf, Rect { x: area.x + 1, width: area.width - 2, ..area });
    let mut sample = String::new();
    push_cut(&mut sample, &bench.options.sample, column.area.width as usize);
    column.line(&sample, theme.strong);
    let (text, is_loud) = headline(bench, &seats, now);
    column.block("", theme.plain, &text, if is_loud { theme.alarm } else { theme.strong });
    column.skip(1);
    let rows_each = if column.area.height as usize >= seats.len() * 2 + 4 { 2 } else { 1 };
    for n in 0..seats.len() {
        let words = bench.line_words(&seats, n, now);
        let row = Rect { height: column.area.height.min(1), ..column.area };
        let style = if n == bench.focus { theme.chosen } else { style_of(words.urgency, theme) };
        if n == bench.focus {
            line(column.buf, row, &" ".repeat(row.width as usize), theme.chosen);
        }
        let clock = if words.clock.is_empty() {
            String::new()
        } else {
            format!("{} {}", clock_sign(words.urgency), words.clock)
        };
        let end = line_right(column.buf, row, &clock, style);
        let mut text = format!("{:<3}{} ", key_of(n), words.sign);
        let room = (end.saturating_sub(row.x) as usize).saturating_sub(text.chars().count() + 1);
        push_cut(&mut text, seats[n].name, room);
        line(column.buf, row, &text, style);
        column.skip(1);
        if rows_each == 2 {
            let mut text = String::from("     ");
            let room = (column.area.width as usize).saturating_sub(5);
            // The verdict is what matters of a run that is done; how it stands, its sign says.
            let is_judged = bench.watch.judged_of(n).next().is_some() && !words.act.is_empty();
            push_cut(&mut text, &if is_judged { words.act.clone() } else { state_and_act(&words) }, room);
            column.line(&text, theme.quiet);
        }
    }
    let closing = closing_windows(live::windows(&seats, now));
    if closing.is_empty() || column.area.height < 3 {
        return;
    }
    column.skip(1);
    column.line("LIMITS THAT CLOSE", theme.quiet);
    let has_room = column.area.height as usize >= closing.len() * 2;
    for window in closing {
        if has_room {
            let title = window.title.clone();
            window_rows(&seats, &Window { title: String::new(), ..window }, now, &mut column, theme);
            let mut text = String::from("     ");
            push_cut(&mut text, &title, (column.area.width as usize).saturating_sub(5));
            column.line(&text, theme.quiet);
        } else {
            window_rows(&seats, &window, now, &mut column, theme);
        }
    }
}

fn window_rows(seats: &[Seat<'_>], window: &Window, now: Tick, column: &mut Column<'_>, theme: &Theme) {
    let name = seats.get(window.run).map_or("", |seat| seat.name);
    let urgency = match window.state {
        WindowState::Missed { .. } | WindowState::Late { .. } => Urgency::Over,
        _ if window.is_near(now) => Urgency::Soon,
        _ => Urgency::Calm,
    };
    let row = Rect { height: column.area.height.min(1), ..column.area };
    let sign = if matches!(window.state, WindowState::Kept { .. }) { "✓" } else { clock_sign(urgency) };
    let words = format!("{sign} {}", window_words(window, now));
    let end = line_right(column.buf, row, &words, style_of(urgency, theme));
    let mut text = String::new();
    let room = (end.saturating_sub(row.x) as usize).saturating_sub(1);
    let whole = if window.title.is_empty() { name.to_owned() } else { format!("{name}: {}", window.title) };
    push_cut(&mut text, &whole, room);
    line(column.buf, row, &text, theme.plain);
    column.skip(1);
}

// ---------------------------------------------------------------------------------------------- overview

/// Every run, and every limit with how it stands.
fn overview(bench: &BenchModel, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &bench.theme;
    let seats = bench.seats();
    let chosen = bench.overview.unwrap_or(bench.focus);
    let inner = Rect { x: area.x + u16::from(area.width > 4), width: area.width.saturating_sub(2), ..area };
    let mut column = Column::new(buf, inner);
    column.line(&format!(" THE BENCH  {} ", bench.options.sample), theme.chosen);
    let names = seats.iter().map(|seat| seat.name.chars().count()).max().unwrap_or(0).min(18);
    let calls_for_check = bench.watch.judged().iter().any(|judged| judged.wants_check);
    // The key of the check test stands in the last row, and only where there is something to be checked.
    let bindings = || BENCH_BINDINGS.iter().filter(|(key, _)| *key != CHECK_KEY);
    let keys = bindings().count() as u16 + 1;
    for n in 0..seats.len() {
        if column.area.height <= 1 {
            break;
        }
        let mut row = Rect { height: 1, ..column.area };
        let sign = if n == chosen { "▶ " } else { "  " };
        row.x = line(column.buf, row, sign, theme.strong);
        row.width = column.area.right().saturating_sub(row.x);
        run_row(bench, &seats, n, now, column.buf, row, names);
        column.skip(1);
    }
    column.skip(1);
    let bar = usize::from(column.area.width).saturating_sub(names + 5);
    let plan = bench.plan_rows(now, bar);
    if !plan.is_empty() && usize::from(column.area.height) > plan.len() + 2 {
        column.line("PLAN   = done   # hands   · waits   ] limit   ! late   │ now", theme.quiet);
        for (name, bar) in &plan {
            let mut text = String::new();
            push_cut(&mut text, name, names);
            column.line(&format!("  {text:<names$}  {bar}"), theme.plain);
        }
        column.skip(1);
    }
    let mut windows = live::windows(&seats, now);
    windows.retain(|window| window.state != WindowState::NotStarted);
    for window in &windows {
        if column.area.height <= 1 + keys {
            column.line("…", theme.quiet);
            break;
        }
        window_rows(&seats, window, now, &mut column, theme);
    }
    column.skip(u16::from(column.area.height > keys + 1));
    for (key, does) in bindings() {
        if column.area.height <= 1 {
            break;
        }
        column.line(&format!("{key:<20} {does}"), theme.quiet);
    }
    column.line(
        if calls_for_check {
            "↑ ↓ choose   Enter go there   + check test   Esc back"
        } else {
            "↑ ↓ choose   Enter go there   Esc back"
        },
        theme.strong,
    );
}

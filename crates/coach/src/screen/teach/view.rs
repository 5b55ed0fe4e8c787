//! How the teach screen looks.
//!
//! **Invariant:** drawing changes nothing, nothing is said by a colour alone, and on the smallest screen the question stands
//! first.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Mark, TeachModel};
use crate::screen::hands::keymap::{BOUNCE_MS, Role, spoken_name};
use crate::screen::view::ground;
use crate::screen::view::paint::{Column, line, push_cut};

/// From this size on everything is shown.
const FULL: (u16, u16) = (60, 20);
/// Columns of the names of roles, with the sign before them.
const TITLE_WIDE: u16 = 9;

/// The keys this screen is served with.
const SERVED: &[(&str, &str)] =
    &[("Ctrl-S", "save"), ("q q", "leave"), ("Ctrl-N", "skip"), ("Ctrl-P", "back"), ("Ctrl-D", "forget its keys")];

/// Draws the teach screen.
pub(super) fn draw(model: &TeachModel, buf: &mut Buffer, area: Rect) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    ground(&model.theme, buf, area);
    if area.width < FULL.0 || area.height < FULL.1 {
        let mut column = Column::new(buf, Rect { height: area.height.saturating_sub(1).max(1), ..area });
        question(model, &mut column);
        came(model, &mut column);
        if area.height > 3 {
            footer(model, buf, Rect { y: area.bottom() - 1, height: 1, ..area });
        }
        return;
    }
    let inner = Rect { x: area.x + 1, width: area.width - 2, ..area };
    header(model, buf, Rect { height: 1, ..inner });
    for x in area.left()..area.right() {
        buf[(x, area.y + 1)].set_symbol("─").set_style(model.theme.quiet);
    }
    let mut column = Column::new(buf, Rect { y: area.y + 2, height: area.height - 4, ..inner });
    for role in Role::ALL {
        of_role(model, role, &mut column);
    }
    column.skip(1);
    question(model, &mut column);
    came(model, &mut column);
    if column.area.height > 3 {
        column.skip(1);
        let text = "Nothing comes? Some terminals keep Page Up and Page Down to scroll back with, and some pedals are no \
                    keyboard until they are set to be one.";
        column.block("", model.theme.quiet, text, model.theme.quiet);
    }
    footer(model, buf, Rect { y: area.bottom() - 1, height: 1, ..inner });
}

fn header(model: &TeachModel, buf: &mut Buffer, area: Rect) {
    let x = line(buf, area, "Keys and pedals", model.theme.strong);
    let room = area.right().saturating_sub(x);
    let mut text = String::new();
    push_cut(&mut text, &format!(" · kept in {}", model.options.place), usize::from(room));
    line(buf, Rect { x, width: room, ..area }, &text, model.theme.quiet);
}

/// A role with its keys, in two lines.
fn of_role(model: &TeachModel, role: Role, column: &mut Column<'_>) {
    let theme = &model.theme;
    let is_here = model.role() == Some(role);
    let sign = if is_here { "▶" } else { " " };
    let title = format!("{sign} {:<7}", role.title());
    let style = if is_here { theme.chosen } else { theme.strong };
    let row = Rect { height: column.area.height.min(1), ..column.area };
    line(column.buf, Rect { width: row.width.min(TITLE_WIDE), ..row }, &title, style);
    let beside = |row: Rect| Rect { x: row.x + TITLE_WIDE + 1, width: row.width.saturating_sub(TITLE_WIDE + 1), ..row };
    line(column.buf, beside(row), role.does(), theme.plain);
    column.skip(1);
    let taught: Vec<String> = model.keymap.taught_for(role).map(spoken_name).collect();
    let comes: Vec<String> = role
        .as_it_comes()
        .iter()
        .map(|code| KeyEvent::from(*code))
        .filter(|key| model.keymap.role(key) == Some(role) && model.keymap.taught_role(key).is_none())
        .map(|key| spoken_name(&key))
        .collect();
    let mut text = match taught.is_empty() {
        true => "none taught".to_owned(),
        false => format!("taught: {}", taught.join(", ")),
    };
    if !comes.is_empty() {
        text.push_str(&format!(" · without being taught: {}", comes.join(", ")));
    }
    let row = Rect { height: column.area.height.min(1), ..column.area };
    let mut cut = String::new();
    push_cut(&mut cut, &text, usize::from(beside(row).width));
    line(column.buf, beside(row), &cut, if taught.is_empty() { theme.quiet } else { theme.good });
    column.skip(1);
}

fn question(model: &TeachModel, column: &mut Column<'_>) {
    let theme = &model.theme;
    let text = match (model.role(), &model.candidate) {
        (Some(role), None) => format!("Press the key or pedal you want for {}.", role.title()),
        (Some(role), Some(candidate)) => {
            format!("{} for {}: press it again.", spoken_name(&candidate.key), role.title())
        }
        (None, _) => "Try them all: every press says what it stands for. Ctrl-S saves.".to_owned(),
    };
    column.barred(theme.number, &text, theme.strong);
}

/// What came, what is to be known about it, and what was ignored.
fn came(model: &TeachModel, column: &mut Column<'_>) {
    let theme = &model.theme;
    if let Some(key) = &model.heard {
        column.block("", theme.plain, &format!("Came last: {} ({})", spoken_name(key), raw_of(key)), theme.plain);
    }
    if let Some(warning) = model.candidate.as_ref().and_then(|candidate| candidate.warning.as_ref()) {
        column.block("! ", theme.warn, warning, theme.warn);
    }
    if let Some((mark, text)) = &model.said {
        let (sign, style) = match mark {
            Mark::Good => ("✓ ", theme.good),
            Mark::Warn => ("! ", theme.warn),
            Mark::Plain => ("", theme.plain),
        };
        column.block(sign, style, text, style);
    }
    if model.n_bounces > 0 {
        let all = if model.n_bounces == 1 { String::new() } else { format!(" ({} in all)", model.n_bounces) };
        let text = if model.last_gap_ms < BOUNCE_MS {
            format!("A second press after {} ms was ignored{all}.", model.last_gap_ms)
        } else {
            format!("A key held down is one press: its repeat was ignored{all}.")
        };
        column.block("", theme.quiet, &text, theme.quiet);
    }
}

/// What the terminal said, without the name.
fn raw_of(key: &KeyEvent) -> String {
    let what = match key.code {
        KeyCode::Char(sign) => format!("character U+{:04X}", sign as u32),
        KeyCode::F(n) => format!("function key {n}"),
        KeyCode::Media(_) => "media key".to_owned(),
        _ => "key of its own".to_owned(),
    };
    let held: Vec<&str> = [
        (KeyModifiers::CONTROL, "Ctrl"),
        (KeyModifiers::ALT, "Alt"),
        (KeyModifiers::SHIFT, "Shift"),
        (KeyModifiers::SUPER, "Super"),
        (KeyModifiers::HYPER, "Hyper"),
        (KeyModifiers::META, "Meta"),
    ]
    .into_iter()
    .filter(|(bit, _)| key.modifiers.contains(*bit))
    .map(|(_, name)| name)
    .collect();
    if held.is_empty() { format!("{what}, nothing held") } else { format!("{what}, held: {}", held.join(", ")) }
}

fn footer(model: &TeachModel, buf: &mut Buffer, area: Rect) {
    let mut x = area.x;
    for (key, does) in SERVED {
        let room = (key.chars().count() + does.chars().count() + 1) as u16;
        if x + room > area.right() {
            break;
        }
        let rest = |x: u16| Rect { x, width: area.right().saturating_sub(x), ..area };
        x = line(buf, rest(x), key, model.theme.strong) + 1;
        x = line(buf, rest(x), does, model.theme.quiet) + 2;
    }
}

//! Something written, as a sheet with a folded corner, and something seen, in words.
//!
//! **Invariant:** every word is there; a text that does not fit is not begun.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Span;

use super::{clear, frame, put};
use crate::screen::theme::Theme;

/// The narrowest sheet.
const NARROWEST: u16 = 30;
/// The widest, so that lines stay short.
const WIDEST: u16 = 56;

fn wide(text: &str) -> usize {
    Span::raw(text).width()
}

/// A text in lines of at most `width` columns; a longer word is cut.
fn wrap(text: &str, width: u16) -> Vec<String> {
    let width = usize::from(width.max(1));
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let mut rest = word;
        while let Some(line) = lines.last_mut() {
            let gap = usize::from(!line.is_empty());
            if wide(line) + gap + wide(rest) <= width {
                if gap == 1 {
                    line.push(' ');
                }
                line.push_str(rest);
                break;
            }
            if !line.is_empty() {
                lines.push(String::new());
                continue;
            }
            let mut cut = 0;
            for (at, sign) in rest.char_indices() {
                let end = at + sign.len_utf8();
                if cut > 0 && wide(&rest[..end]) > width {
                    break;
                }
                cut = end;
            }
            line.push_str(&rest[..cut]);
            rest = &rest[cut..];
            if rest.is_empty() {
                break;
            }
            lines.push(String::new());
        }
    }
    lines
}

/// Title and lines as they are written on a sheet of that width.
fn sheet(title: &str, lines: &[String], width: u16) -> (Vec<String>, Vec<String>) {
    let room = width.saturating_sub(4);
    let title = wrap(title, room.saturating_sub(2));
    (title, lines.iter().flat_map(|line| wrap(line, room)).collect())
}

fn sheet_rows(title: &str, lines: &[String], width: u16) -> u16 {
    let (title, lines) = sheet(title, lines, width);
    u16::try_from(title.len().max(1) + lines.len() + 3).unwrap_or(u16::MAX)
}

pub(super) fn least_paper(title: &str, lines: &[String]) -> (u16, u16) {
    (NARROWEST, sheet_rows(title, lines, NARROWEST))
}

pub(super) fn draw_paper(title: &str, lines: &[String], buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let width = area.width.min(WIDEST);
    let (head, text) = sheet(title, lines, width);
    let rows = sheet_rows(title, lines, width);
    if rows > area.height {
        return false;
    }
    clear(buf, area, theme);
    let outer = Rect { width, height: rows, ..area };
    let inner = frame(buf, outer, "", theme.plain);
    let right = outer.right() - 1;
    // A sheet has square corners, and one that is folded.
    for (x, y, corner) in [
        (outer.x, outer.y, "┌"),
        (outer.x, outer.bottom() - 1, "└"),
        (right, outer.bottom() - 1, "┘"),
        (right - 2, outer.y, "┬"),
        (right - 1, outer.y, "╮"),
        (right, outer.y, " "),
        (right - 2, outer.y + 1, "╰"),
        (right - 1, outer.y + 1, "─"),
        (right, outer.y + 1, "┤"),
    ] {
        put(buf, x, y, corner, theme.plain);
    }
    let mut y = inner.y;
    for line in &head {
        buf.set_string(inner.x + 1, y, line, theme.strong);
        y += 1;
    }
    for x in inner.x + 1..inner.right() - 1 {
        put(buf, x, y, "╌", theme.quiet);
    }
    for line in &text {
        y += 1;
        buf.set_string(inner.x + 1, y, line, theme.plain);
    }
    true
}

pub(super) fn least_sight(says: &str) -> (u16, u16) {
    (NARROWEST, u16::try_from(wrap(says, NARROWEST - 6).len() + 4).unwrap_or(u16::MAX))
}

pub(super) fn draw_sight(says: &str, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let width = area.width.min(WIDEST);
    let lines = wrap(says, width - 6);
    let rows = lines.len() as u16 + 4;
    if rows > area.height {
        return false;
    }
    clear(buf, area, theme);
    let inner = frame(buf, Rect { width, height: rows, ..area }, " you see ", theme.quiet);
    for (y, line) in (inner.y + 1..).zip(&lines) {
        buf.set_string(inner.x + 2, y, line, theme.strong);
    }
    true
}

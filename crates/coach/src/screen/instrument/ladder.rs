//! The marks beside an upright tube or edge, and the sign that says which part of the small picture is enlarged.
//!
//! **Invariant:** a mark's line lies in the middle of its row, and so does its number.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::close::{Close, Rank};
use super::coarse::Coarse;
use super::put;
use crate::screen::theme::Theme;
use quantity::Scale;

/// Columns of the longest line of a mark.
pub(super) const LINE: u16 = 3;

/// Draws the marks of a close-up to the left of the wall at column `wall`, numbers before them, and short lines to the
/// right of the wall at column `other`.
pub(super) fn draw(buf: &mut Buffer, close: &Close, top: u16, wall: u16, other: Option<u16>, theme: &Theme) {
    for (cell, mark, rank) in close.marks() {
        let y = top + cell as u16;
        let line = match rank {
            Rank::Numbered => LINE,
            Rank::Middle => 2,
            Rank::Plain => 1,
        };
        for x in wall - line..wall {
            put(buf, x, y, "─", theme.plain);
        }
        put(buf, wall, y, "┤", theme.plain);
        if rank == Rank::Numbered {
            let label = close.label(mark);
            let x = (wall - LINE - 1).saturating_sub(label.len() as u16 - 1);
            buf.set_string(x, y, &label, theme.strong);
        }
        if let Some(other) = other {
            put(buf, other, y, "├", theme.plain);
            let line = if rank == Rank::Plain { 1 } else { 2 };
            for x in other + 1..=other + line {
                put(buf, x, y, "─", theme.plain);
            }
        }
    }
}

/// Draws the numbers of a whole scale to the left of the wall at column `wall`.
pub(super) fn draw_coarse(buf: &mut Buffer, coarse: &Coarse, scale: &Scale, top: u16, wall: u16, theme: &Theme) {
    for (row, label) in coarse.marks(scale) {
        let y = top + row as u16;
        put(buf, wall, y, "┤", theme.plain);
        let x = wall.saturating_sub(label.len() as u16);
        buf.set_string(x, y, &label, theme.quiet);
    }
}

/// A bracket at column `x` beside the rows that are enlarged.
pub(super) fn draw_bracket(buf: &mut Buffer, coarse: &Coarse, close: &Close, area: Rect, x: u16, theme: &Theme) {
    let (low, high) = close.span();
    let row = |value| (coarse.eighths(value) / super::EIGHTHS).clamp(0, coarse.rows() - 1) as u16;
    let (from, to) = (row(low).min(row(high)), row(low).max(row(high)));
    for y in from..=to {
        let sign = match (y == from, y == to) {
            (true, true) => "]",
            (true, false) => "╮",
            (false, true) => "╯",
            (false, false) => "│",
        };
        if area.y + y < area.bottom() {
            put(buf, x, area.y + y, sign, theme.number);
        }
    }
}

//! The rule beside the slumped cone: the cone with its mould and the rod across, and the rule close by.
//!
//! **Invariant:** zero is at the height of the mould and the scale grows downwards; at the rule's edge the concrete
//! stands at the slump to an eighth of a row, flat there, and lower or as high away from it. So the middle of the top
//! and the highest point are one place, and the rule is read the same whichever of them a standard asks for.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};
use specimen::Shape;

use super::close::{Close, label_width, nearest, within_sight};
use super::ladder::{self, LINE};
use super::{CLOSE_UP, EIGHTHS, LOWER, clear, frame, put};
use crate::screen::theme::Theme;

/// Columns of the close-up beside the concrete: frame, numbers, lines, edges.
fn beside(scale: &Scale) -> u16 {
    2 + label_width(scale) + LINE + 3
}

pub(super) fn least(scale: &Scale) -> (u16, u16) {
    (beside(scale) + 5, 13)
}

pub(super) fn draw(scale: &Scale, slump: Decimal, shape: Shape, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let slump = within_sight(scale, slump);
    let rows = area.height - 2;
    let per = if rows >= 24 { (2, 4) } else { (2, 3) };
    let Some(close) = Close::of_rows(scale, &[slump], rows, false, per) else { return false };
    clear(buf, area, theme);
    let concrete = (area.width - beside(scale)).min(if area.width >= 50 { 16 } else { 7 });
    let wide = beside(scale) + concrete;
    let whole = area.width.saturating_sub(wide + 1);
    let mut left = 0;
    if whole >= 12 {
        left = whole + 1;
        draw_whole(buf, Rect { width: whole, ..area }, scale, slump, shape, theme);
    }
    let outer = Rect { x: area.x + left, width: wide, ..area };
    let inner = frame(buf, outer, CLOSE_UP, theme.quiet);
    let edge = inner.x + label_width(scale) + LINE + 1;
    for y in inner.y..inner.bottom() {
        put(buf, inner.x, y, "▏", theme.quiet);
        put(buf, edge, y, "│", theme.plain);
    }
    ladder::draw(buf, &close, inner.y, edge, None, theme);
    let surface = close.part(slump);
    for column in 0..inner.right() - edge - 1 {
        let x = edge + 1 + column;
        let top = surface + fall(shape, i64::from(column));
        for row in 0..inner.height {
            let filled = ((i64::from(row) + 1) * EIGHTHS - top).clamp(0, EIGHTHS);
            if filled > 0 {
                put(buf, x, inner.y + row, LOWER[filled as usize], theme.foam);
            }
        }
    }
    // Where to measure.
    let row = surface / EIGHTHS - 1;
    if row >= 0 {
        put(buf, edge + 2, inner.y + row as u16, "▼", theme.strong);
    }
    true
}

/// How much lower than at the rule the top stands so many columns away, in eighths of a row.
fn fall(shape: Shape, column: i64) -> i64 {
    let away = (column - 2).max(0);
    match shape {
        Shape::True => away * away / 12 + (away % 3) * away.min(2) / 2,
        Shape::Sheared => away * 9,
        Shape::Collapsed => away * 3 + [0, 5, 1, 7, 2][(away % 5) as usize] * i64::from(away > 0),
    }
}

/// The cone as it stands, the mould as it stood, the rod across it, and where the rule goes down.
fn draw_whole(buf: &mut Buffer, area: Rect, scale: &Scale, slump: Decimal, shape: Shape, theme: &Theme) {
    // A row is twice as high as a column is wide; the base of the mould is two thirds of its height, the top a third.
    let width = i64::from(area.width);
    let height = i64::from(area.height - 3).min(width * 2 / 3);
    let base = area.bottom() - 1;
    let rim = i64::from(base) - height;
    let middle = i64::from(area.x) + width / 2;
    let half_base = height * 2 / 3;
    let half_top = half_base / 2;
    let sunk = slump.checked_mul(Decimal::from(height * EIGHTHS)).and_then(|all| all.checked_div(scale.max));
    let sunk = nearest(sunk.unwrap_or_default()).clamp(0, height * EIGHTHS - 2);
    let room = width / 2;
    for x in -room..(width - room) {
        let column = (middle + x) as u16;
        put(buf, column, base, "▔", theme.plain);
        let Some(top) = outline(shape, x, sunk, height * EIGHTHS, half_base, room) else { continue };
        for row in 0..height {
            let filled = ((row + 1) * EIGHTHS - top).clamp(0, EIGHTHS);
            if filled > 0 {
                put(buf, column, (rim + row) as u16, LOWER[filled as usize], theme.foam);
            }
        }
    }
    // The mould as it stood.
    for row in 0..height {
        let side = half_top + (half_base - half_top) * (2 * row + 1) / (2 * height);
        for x in [middle - side - 1, middle + side] {
            if x < i64::from(area.x) || x >= i64::from(area.right()) {
                continue;
            }
            let at = (x as u16, (rim + row) as u16);
            if buf[at].symbol() == " " {
                put(buf, at.0, at.1, "┊", theme.quiet);
            }
        }
    }
    // The rod across the mould, and the rule hanging from it to the place to measure.
    for x in area.x..area.right() {
        put(buf, x, (rim - 1) as u16, "▄", theme.quiet);
    }
    let end = rim + sunk / EIGHTHS;
    for y in rim..end {
        put(buf, middle as u16, y as u16, if y + 1 == end { "▼" } else { "│" }, theme.strong);
    }
}

/// How far below the rim the concrete's top is at column `x` from the middle, in eighths of a row; `None` beside it.
fn outline(shape: Shape, x: i64, sunk: i64, height: i64, half_base: i64, room: i64) -> Option<i64> {
    let left = height - sunk;
    // Widths grow with the root of what the height has lost: the same volume.
    let wider = |half: i64| (half * half * height / left.max(1)).isqrt().clamp(2, room);
    let from = x.abs().max((-x - 1).max(0)) - i64::from(x < 0);
    match shape {
        Shape::True => {
            let base = wider(half_base);
            let top = base / 2;
            if from < top {
                Some(sunk)
            } else if from < base {
                Some(sunk + left * (from - top + 1) / (base - top + 1))
            } else {
                None
            }
        }
        Shape::Sheared => {
            let base = wider(half_base);
            let top = base / 2;
            if x <= 1 {
                // The half that stands.
                if from < top || x > 0 {
                    Some(sunk)
                } else {
                    (from < base).then(|| sunk + left * (from - top + 1) / (base - top + 1))
                }
            } else {
                // The half that slid: a steep face, then a slab lying at its foot.
                let slab = left * 5 / 12;
                let face = height - left + (x - 1) * left / 3;
                let reach = room - 1;
                if x >= reach { None } else { Some(face.min(height - slab * (reach - x) / reach).max(sunk)) }
            }
        }
        Shape::Collapsed => {
            let base = room;
            if from <= 1 {
                return Some(sunk);
            }
            if from >= base {
                return None;
            }
            let slope = left * (base - from) / base;
            let ragged = [0, -2, 1, -3, 2, -1][(x.rem_euclid(6)) as usize];
            Some((height - (slope * 3 / 4 + ragged).max(2)).max(sunk))
        }
    }
}

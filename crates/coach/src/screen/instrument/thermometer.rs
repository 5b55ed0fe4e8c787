//! A thermometer: small with its bulb, and close by.
//!
//! **Invariant:** the scale grows upwards, and the top of the column stands at the temperature to an eighth of a row.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};

use super::close::{Close, label_width, within_sight};
use super::coarse::Coarse;
use super::ladder::{self, LINE};
use super::{CLOSE_UP, EIGHTHS, LOWER, clear, frame, put};
use crate::screen::theme::Theme;

/// Rows of the small picture above the first and below the last mark.
const ABOVE: u16 = 1;
const BELOW: u16 = 2;

/// Columns of the small picture, with a gap after it.
fn whole_width(scale: &Scale) -> u16 {
    label_width(scale) + 7
}

/// Columns of the close-up beside its bore: frame, numbers, lines, walls.
fn beside(scale: &Scale) -> u16 {
    2 + label_width(scale) + LINE + 2 + 2 + 4
}

pub(super) fn least(scale: &Scale) -> (u16, u16) {
    (beside(scale) + 2, 13)
}

pub(super) fn draw(scale: &Scale, at: Decimal, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let at = within_sight(scale, at);
    let rows = area.height - 2;
    let per = if rows >= 24 { (2, 4) } else { (2, 3) };
    let Some(close) = Close::of_rows(scale, &[at], rows, true, per) else { return false };
    clear(buf, area, theme);
    let whole = (area.width >= least(scale).0 + whole_width(scale))
        .then(|| Coarse::of(scale, area.height - ABOVE - BELOW, true))
        .flatten();
    let mut left = 0;
    if let Some(coarse) = &whole {
        left = whole_width(scale);
        let wall = area.x + label_width(scale) + 1;
        draw_whole(buf, area, scale, coarse, at, wall, theme);
        let marks = Rect { y: area.y + ABOVE, height: area.height - ABOVE, ..area };
        ladder::draw_bracket(buf, coarse, &close, marks, wall + 3, theme);
    }
    // The close-up is as wide as helps the eye, and no wider.
    let glass = (area.width - left - beside(scale)).min(5);
    let outer = Rect { x: area.x + left, width: (area.width - left).min(beside(scale) + 12), ..area };
    let inner = frame(buf, outer, CLOSE_UP, theme.quiet);
    let spare = (inner.width + 2 - beside(scale) - glass) / 2;
    let wall = inner.x + spare + label_width(scale) + LINE + 1;
    let other = wall + glass + 1;
    let surface = close.part(at);
    for row in 0..inner.height {
        let y = inner.y + row;
        put(buf, wall, y, "│", theme.plain);
        put(buf, other, y, "│", theme.plain);
        let filled = ((i64::from(row) + 1) * EIGHTHS - surface).clamp(0, EIGHTHS);
        for x in wall + 1..other {
            put(buf, x, y, LOWER[filled as usize], theme.warn);
        }
    }
    ladder::draw(buf, &close, inner.y, wall, Some(other), theme);
    let unit = scale.unit.to_string();
    let x = inner.right().saturating_sub(unit.chars().count() as u16);
    buf.set_string(x, inner.bottom() - 1, unit, theme.quiet);
    true
}

fn draw_whole(buf: &mut Buffer, area: Rect, scale: &Scale, coarse: &Coarse, at: Decimal, wall: u16, theme: &Theme) {
    let first = area.y + ABOVE;
    let rows = coarse.rows() as u16;
    buf.set_string(wall, area.y, "╭─╮", theme.plain);
    let surface = coarse.eighths(at);
    for row in 0..rows {
        let y = first + row;
        put(buf, wall, y, "│", theme.plain);
        put(buf, wall + 2, y, "│", theme.plain);
        let filled = ((i64::from(row) + 1) * EIGHTHS - surface).clamp(0, EIGHTHS);
        put(buf, wall + 1, y, LOWER[filled as usize], theme.warn);
    }
    ladder::draw_coarse(buf, coarse, scale, first, wall, theme);
    // The bulb.
    let bulb = first + rows;
    buf.set_string(wall - 1, bulb, "╭╯", theme.plain);
    buf.set_string(wall + 2, bulb, "╰╮", theme.plain);
    put(buf, wall + 1, bulb, "█", theme.warn);
    buf.set_string(wall - 1, bulb + 1, "╰", theme.plain);
    buf.set_string(wall + 3, bulb + 1, "╯", theme.plain);
    for x in wall..=wall + 2 {
        put(buf, x, bulb + 1, "█", theme.warn);
    }
}

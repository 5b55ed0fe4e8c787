//! The neck of the volumetric meter: small with the bowl under it, and close by with meniscus and foam.
//!
//! **Invariant:** zero is at the top. In the close-up the middle of the liquid's surface, the bottom of the meniscus,
//! stands at the level to an eighth of a row; towards the walls the liquid only ever stands higher. The foam ends a
//! quarter of a row at most from where it ends.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};

use super::close::{Close, label_width, within_sight};
use super::coarse::Coarse;
use super::ladder::{self, LINE};
use super::{CLOSE_UP, EIGHTHS, LOWER, clear, frame, put};
use crate::screen::theme::Theme;

/// Columns of the small picture, with a gap after it.
const WHOLE: u16 = 12;
/// Rows of the small picture above the first and below the last mark.
const ABOVE: u16 = 2;
const BELOW: u16 = 5;
/// Eighths of a row by which the liquid climbs at the wall, and in the next columns.
const CLIMB: [i64; 3] = [6, 3, 1];

/// Columns of the close-up beside its bore: frame, numbers, lines, walls.
fn beside(scale: &Scale) -> u16 {
    2 + label_width(scale) + LINE + 1 + 1 + 3
}

pub(super) fn least(scale: &Scale) -> (u16, u16) {
    (beside(scale) + 5, 13)
}

pub(super) fn draw(scale: &Scale, level: Decimal, foam: Decimal, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let level = within_sight(scale, level);
    let crown = (foam > Decimal::ZERO).then(|| within_sight(scale, level - foam));
    let rows = area.height - 2;
    let per = if rows >= 24 { (3, 4) } else { (3, 3) };
    let both = crown.and_then(|crown| Close::of_rows(scale, &[level, crown], rows, false, per));
    let Some(close) = both.or_else(|| Close::of_rows(scale, &[level], rows, false, per)) else { return false };
    clear(buf, area, theme);
    let whole = (area.height > ABOVE + BELOW && area.width >= least(scale).0 + WHOLE)
        .then(|| Coarse::of(scale, area.height - ABOVE - BELOW, false))
        .flatten();
    let mut left = 0;
    if let Some(coarse) = &whole {
        left = WHOLE;
        draw_whole(buf, area, scale, coarse, level, crown, theme);
        let marks = Rect { y: area.y + ABOVE, height: area.height - ABOVE, ..area };
        ladder::draw_bracket(buf, coarse, &close, marks, area.x + 9, theme);
    }
    let bore = (area.width - left - beside(scale)).min(17);
    let outer = Rect { x: area.x + left, width: beside(scale) + bore, ..area };
    let inner = frame(buf, outer, CLOSE_UP, theme.quiet);
    let wall = inner.x + label_width(scale) + LINE + 1;
    let other = wall + bore + 1;
    for y in inner.y..inner.bottom() {
        put(buf, wall, y, "│", theme.plain);
        put(buf, other, y, "│", theme.plain);
    }
    ladder::draw(buf, &close, inner.y, wall, Some(other), theme);
    let surface = close.part(level);
    let crown = crown.map(|crown| close.part(crown));
    let tube = Rect { x: wall + 1, width: bore, ..inner };
    fill(buf, tube, surface, crown, true, theme);
    true
}

/// Liquid and foam between the walls of a tube: `surface` and `crown` in eighths of a row from its top.
fn fill(buf: &mut Buffer, tube: Rect, surface: i64, crown: Option<i64>, curved: bool, theme: &Theme) {
    for column in 0..tube.width {
        let from_wall = usize::from(column.min(tube.width - 1 - column));
        let climb = if curved { CLIMB.get(from_wall).copied().unwrap_or(0) } else { 0 };
        // A narrow tube keeps one column at least at the level itself.
        let climb = if column == tube.width / 2 { 0 } else { climb };
        for row in 0..tube.height {
            let (x, y) = (tube.x + column, tube.y + row);
            let (top, bottom) = (i64::from(row) * EIGHTHS, (i64::from(row) + 1) * EIGHTHS);
            let filled = (bottom - (surface - climb)).clamp(0, EIGHTHS);
            if filled > 0 {
                put(buf, x, y, LOWER[filled as usize], theme.liquid);
            } else if let Some(crown) = crown.filter(|crown| *crown < bottom) {
                let quarters = ((bottom - crown.max(top) + 1) / 2).clamp(0, 4);
                put(buf, x, y, foam(quarters, crown >= top), theme.foam);
            }
        }
    }
}

/// Bubbles in the lower quarters of a cell; the uppermost of them is a closed line where the foam ends.
fn foam(quarters: i64, ends: bool) -> &'static str {
    match (quarters, ends) {
        (0, _) => " ",
        (1, true) => "⣀",
        (2, true) => "⢤",
        (3, true) => "⡲",
        (4, true) => "⢝",
        _ => "⢕",
    }
}

fn draw_whole(
    buf: &mut Buffer,
    area: Rect,
    scale: &Scale,
    coarse: &Coarse,
    level: Decimal,
    crown: Option<Decimal>,
    theme: &Theme,
) {
    let wall = area.x + 4;
    let (bore, first) = (3, area.y + ABOVE);
    let other = wall + bore + 1;
    let last = first + coarse.rows() as u16;
    // The cap, the neck, the shoulders, and the top of the bowl.
    buf.set_string(wall, area.y, "▗▄▄▄▖", theme.plain);
    for y in area.y + 1..=last {
        put(buf, wall, y, "│", theme.plain);
        put(buf, other, y, "│", theme.plain);
    }
    ladder::draw_coarse(buf, coarse, scale, first, wall, theme);
    for y in first..first + coarse.rows() as u16 {
        if buf[(wall, y)].symbol() == "┤" {
            put(buf, other, y, "├", theme.plain);
        }
    }
    let tube = Rect { x: wall + 1, y: first, width: bore, height: coarse.rows() as u16 + 1 };
    let crown = crown.map(|crown| coarse.eighths(crown));
    fill(buf, tube, coarse.eighths(level), crown, false, theme);
    buf.set_string(wall - 1, last + 1, "╱", theme.plain);
    buf.set_string(other + 1, last + 1, "╲", theme.plain);
    buf.set_string(wall - 2, last + 2, "╱", theme.plain);
    buf.set_string(other + 2, last + 2, "╲", theme.plain);
    for (y, from, to) in [(last + 1, wall, other), (last + 2, wall - 1, other + 1)] {
        for x in from..=to {
            put(buf, x, y, "█", theme.liquid);
        }
    }
    buf.set_string(wall - 3, last + 3, "▕", theme.plain);
    buf.set_string(other + 3, last + 3, "▏", theme.plain);
    for x in wall - 2..=other + 2 {
        put(buf, x, last + 3, "█", theme.liquid);
    }
}

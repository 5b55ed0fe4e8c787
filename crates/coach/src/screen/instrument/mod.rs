//! The instruments of a specimen, drawn so that a person reads them to the graduation.
//!
//! Here: the neck of the volumetric meter, the dial of a gauge, a thermometer, the rule beside the slumped cone, the
//! display of a balance, a sheet of paper, and words for what is only seen. Each is drawn whole and small where there
//! is room, and always as a close-up of the marks around the pointer, as eyes do it. Not here: what the specimen
//! shows, and whether the person read it well.
//!
//! **Invariant:** the value of a neck, a gauge, a thermometer or a rule is never written anywhere: only its marks
//! carry numbers. Every shape can be told without colour, and where there is no room nothing is drawn.

mod balance;
mod close;
mod coarse;
mod dots;
mod gauge;
mod ladder;
mod neck;
mod note;
mod rule;
mod thermometer;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use specimen::Shown;

use super::theme::Theme;

/// Eighths of a cell that are filled from below.
const LOWER: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];
/// Parts of a row in which a level is placed.
const EIGHTHS: i64 = 8;
/// What stands on the frame of every close-up.
const CLOSE_UP: &str = " close-up ";

/// Draws what is shown into `area`; false, and nothing drawn, if `area` is smaller than [`least`] asks.
pub fn draw(shown: &Shown, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let area = area.intersection(buf.area);
    let (width, height) = least(shown);
    if area.width < width || area.height < height {
        return false;
    }
    match shown {
        Shown::Neck { scale, level, foam } => neck::draw(scale, *level, *foam, buf, area, theme),
        Shown::Gauge { scale, at } => gauge::draw(scale, *at, buf, area, theme),
        Shown::Thermometer { scale, at } => thermometer::draw(scale, *at, buf, area, theme),
        Shown::Rule { scale, slump, shape } => rule::draw(scale, *slump, *shape, buf, area, theme),
        Shown::Balance { scale, at } => balance::draw(scale, *at, buf, area, theme),
        Shown::Paper { title, lines } => note::draw_paper(title, lines, buf, area, theme),
        Shown::Sight { says } => note::draw_sight(says, buf, area, theme),
    }
}

/// The columns and rows below which it cannot be drawn to be read.
pub fn least(shown: &Shown) -> (u16, u16) {
    match shown {
        Shown::Neck { scale, .. } => neck::least(scale),
        Shown::Gauge { scale, .. } => gauge::least(scale),
        Shown::Thermometer { scale, .. } => thermometer::least(scale),
        Shown::Rule { scale, .. } => rule::least(scale),
        Shown::Balance { scale, at } => balance::least(scale, *at),
        Shown::Paper { title, lines } => note::least_paper(title, lines),
        Shown::Sight { says } => note::least_sight(says),
    }
}

/// Empties an area, so that nothing drawn before shines through.
fn clear(buf: &mut Buffer, area: Rect, theme: &Theme) {
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            buf[(x, y)].reset();
            buf[(x, y)].set_symbol(" ").set_style(theme.plain);
        }
    }
}

/// A sign in a cell; outside the buffer nothing.
fn put(buf: &mut Buffer, x: u16, y: u16, sign: &str, style: Style) {
    if let Some(cell) = buf.cell_mut((x, y)) {
        cell.set_symbol(sign).set_style(style);
    }
}

/// A frame with rounded corners and a title; what is inside it. At least two by two.
fn frame(buf: &mut Buffer, area: Rect, title: &str, style: Style) -> Rect {
    let (right, bottom) = (area.right().saturating_sub(1), area.bottom().saturating_sub(1));
    for x in area.x..=right {
        put(buf, x, area.y, "─", style);
        put(buf, x, bottom, "─", style);
    }
    for y in area.y..=bottom {
        put(buf, area.x, y, "│", style);
        put(buf, right, y, "│", style);
    }
    for (x, y, corner) in [(area.x, area.y, "╭"), (right, area.y, "╮"), (area.x, bottom, "╰"), (right, bottom, "╯")]
    {
        put(buf, x, y, corner, style);
    }
    buf.set_stringn(area.x + 2, area.y, title, usize::from(area.width.saturating_sub(4)), style);
    Rect::new(area.x + 1, area.y + 1, area.width.saturating_sub(2), area.height.saturating_sub(2))
}

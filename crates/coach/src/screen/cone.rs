//! The slump cone, drawn from the side: the mould as it stood, the concrete as it stands, and how far it sank.
//!
//! Here: where the outlines stand on the screen, in eighths of a row, and the drawing. Not here: what a slump means.
//!
//! **Invariant:** the height is to scale, and the mark stands over the middle of the top, where the slump is measured.
//! The width grows as the same volume asks, up to the room there is.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};

use super::theme::Theme;

/// Parts of a row, and of a column.
const EIGHTHS: u64 = 8;
const LOWER: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];
/// Columns for the measure and its figure.
const MARGIN: u16 = 12;

/// What is drawn.
#[derive(Clone, Debug)]
pub struct Cone<'a> {
    /// The rule; its highest mark is the height of the mould.
    pub scale: &'a Scale,
    /// The slump as typed so far, or as read.
    pub slump: Option<Decimal>,
}

/// Where things stand: rows the mould is high, and half its width at the base in columns.
struct Size {
    rows: u64,
    half: u64,
    room: u64,
}

impl Cone<'_> {
    /// The size in an area; `None` if it cannot be drawn to be seen.
    fn size(area: Rect) -> Option<Size> {
        let room = u64::from(area.width.checked_sub(MARGIN)?) / 2;
        // A base two thirds as wide as the mould is high, in columns half as wide as a row is high.
        let rows = u64::from(area.height.checked_sub(2)?).min(room * 5 / 7 * 3 / 2);
        (rows >= 6).then_some(Size { rows, half: rows * 2 / 3, room })
    }

    /// How far the top has sunk, in eighths of a row.
    fn sunk(&self, rows: u64) -> Option<u64> {
        let slump = self.slump?.clamp(Decimal::ZERO, self.scale.max);
        let all = Decimal::from(i64::try_from(rows * EIGHTHS).ok()?);
        let eighths = (slump * all).checked_div(self.scale.max)?;
        u64::try_from(eighths.round().normalize().mantissa()).ok().filter(|_| eighths.round().scale() == 0)
    }

    /// Draws it in the upper left of `area`; false if there is no room.
    pub fn draw(&self, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
        let area = area.intersection(buf.area);
        let Some(Size { rows, half, room }) = Self::size(area) else { return false };
        let middle = area.x + room as u16;
        let first = area.y + 1;
        let base = first + rows as u16;
        let sunk = self.sunk(rows);
        if let Some(sunk) = sunk {
            draw_concrete(buf, (middle, first), &Size { rows, half, room }, sunk, theme);
        }
        // The mould: its rim, and its two sides where no concrete stands.
        let top = (half / 2) as u16;
        for x in middle - top..middle + top {
            buf[(x, area.y)].set_symbol("▁").set_style(theme.quiet);
        }
        for row in 0..rows {
            let side = (half + half * (2 * row + 1) / (2 * rows)) / 2;
            for x in [middle - side as u16 - 1, middle + side as u16] {
                let cell = &mut buf[(x, first + row as u16)];
                if cell.symbol() == " " {
                    cell.set_symbol("┊").set_style(theme.quiet);
                }
            }
        }
        for x in area.x..area.x + 2 * room as u16 {
            buf[(x, base)].set_symbol("▔").set_style(theme.plain);
        }
        if let Some(sunk) = sunk {
            let right = Rect { x: middle + room as u16, width: area.right() - middle - room as u16, ..area };
            self.draw_measure(buf, right, (sunk / EIGHTHS) as u16, theme);
            let above = first + (sunk / EIGHTHS) as u16 - 1;
            buf[(middle, above)].set_symbol("▼").set_style(theme.strong);
        }
        true
    }

    /// From the rim of the mould down to the concrete.
    fn draw_measure(&self, buf: &mut Buffer, area: Rect, rows: u16, theme: &Theme) {
        let (top, end) = (area.y, area.y + rows + 1);
        for y in top..=end {
            let sign = if y == top { "┬" } else { "│" };
            buf[(area.x, y)].set_symbol(sign).set_style(theme.strong);
        }
        buf[(area.x, end)].set_symbol("┴").set_style(theme.strong);
        if let Some(slump) = self.slump {
            let text = self.scale.show(&slump.clamp(Decimal::ZERO, self.scale.max));
            let room = area.width.saturating_sub(2) as usize;
            buf.set_stringn(area.x + 2, top + (end - top) / 2, text, room, theme.strong);
        }
    }
}

/// The concrete: the shape of the mould, lower and as much wider as its volume asks.
fn draw_concrete(buf: &mut Buffer, (middle, first): (u16, u16), size: &Size, sunk: u64, theme: &Theme) {
    let whole = size.rows * EIGHTHS;
    let height = whole.saturating_sub(sunk).max(1);
    // Widths grow with the root of what the height has lost: the same volume.
    let wider = (64 * 64 * whole / height).isqrt();
    for row in 0..size.rows {
        let (top, bottom) = (row * EIGHTHS, (row + 1) * EIGHTHS);
        let filled = bottom.saturating_sub(sunk.max(top)).min(EIGHTHS);
        if filled == 0 {
            continue;
        }
        let down = bottom.saturating_sub(sunk);
        let side = (size.half * wider * (height + down.min(height)) / (2 * height * 64)).clamp(1, size.room) as u16;
        for x in middle - side..middle + side {
            buf[(x, first + row as u16)].set_symbol(LOWER[filled as usize]).set_style(theme.liquid);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::theme::{Colours, ThemeChoice};
    use quantity::Unit;

    fn drawn(slump: Option<&str>, width: u16, height: u16) -> String {
        let decimal = |text: &str| text.parse::<Decimal>().unwrap();
        let scale = Scale::new(decimal("0.25"), Decimal::ZERO, Decimal::from(12), Unit::parse("in").unwrap()).unwrap();
        let cone = Cone { scale: &scale, slump: slump.map(decimal) };
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        if !cone.draw(&mut buf, area, &Theme::new(ThemeChoice::Dark, Colours::True)) {
            return "no room".to_owned();
        }
        let mut out = String::new();
        for y in 0..height {
            let line: String = (0..width).map(|x| buf[(x, y)].symbol()).collect();
            out.push_str(&format!("{line:?}\n"));
        }
        out
    }

    #[test]
    fn the_concrete_stands_lower_and_wider_than_its_mould() {
        insta::assert_snapshot!(drawn(Some("4.25"), 32, 14), @r#"
        "       ▁▁▁▁▁▁       ┬           "
        "      ┊      ┊      │           "
        "      ┊      ┊      │ 4.25 in   "
        "      ┊   ▼  ┊      │           "
        "     ┊ ▄▄▄▄▄▄ ┊     ┴           "
        "     ┊████████┊                 "
        "     ██████████                 "
        "     ██████████                 "
        "    ████████████                "
        "    ████████████                "
        "   ██████████████               "
        "▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔            "
        "                                "
        "                                "
        "#);
        insta::assert_snapshot!(drawn(None, 32, 14), @r#"
        "       ▁▁▁▁▁▁                   "
        "      ┊      ┊                  "
        "      ┊      ┊                  "
        "      ┊      ┊                  "
        "     ┊        ┊                 "
        "     ┊        ┊                 "
        "     ┊        ┊                 "
        "     ┊        ┊                 "
        "    ┊          ┊                "
        "    ┊          ┊                "
        "    ┊          ┊                "
        "▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔▔            "
        "                                "
        "                                "
        "#);
    }

    #[test]
    fn every_slump_is_drawn_inside_its_area() {
        for quarter in 0..=52 {
            let slump = Decimal::new(quarter * 25, 2).to_string();
            for (width, height) in [(32, 14), (40, 30), (26, 12), (25, 9)] {
                let picture = drawn(Some(&slump), width, height);
                assert!(picture.contains('▔') && picture.contains('┴'), "{slump} in {width} x {height}: {picture}");
            }
        }
        assert_eq!(drawn(Some("4"), 20, 14), "no room");
        assert_eq!(drawn(Some("4"), 32, 7), "no room");
    }
}

//! The neck of the meter, drawn to scale: marks, liquid, foam, and the readings taken before.
//!
//! Here: where a level stands on the screen, in eighths of a row, and the drawing. Not here: what a level means.
//!
//! **Invariant:** zero is at the top and the scale grows downwards, as on the meter; a level is drawn exactly where it
//! stands, to an eighth of a row.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use quantity::{Decimal, Scale};

use super::theme::Theme;

/// Parts of a row.
const EIGHTHS: i64 = 8;
const LOWER: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];
/// Columns left of the tube for the numbers of the marks.
const MARGIN: u16 = 4;

/// A reading taken before, for its tick beside the tube.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tick<'a> {
    /// The level.
    pub level: Decimal,
    /// When, and what it was, in short.
    pub label: &'a str,
}

/// What is drawn.
#[derive(Clone, Debug)]
pub struct Neck<'a> {
    /// The marks.
    pub scale: &'a Scale,
    /// The level as typed so far, or as read.
    pub level: Option<Decimal>,
    /// The foam above it, in divisions of the neck.
    pub foam: Option<Decimal>,
    /// What stands beside the level.
    pub label: &'a str,
    /// Readings taken before.
    pub before: &'a [Tick<'a>],
}

impl Neck<'_> {
    /// Divisions of one unit from the lowest to the highest mark.
    fn divisions(&self) -> i64 {
        let span = self.scale.max - self.scale.min;
        i64::try_from(span.ceil().normalize().mantissa()).unwrap_or(0).max(1)
    }

    /// Rows one division takes in `height` rows; 0 if they do not fit.
    fn rows_each(&self, height: u16) -> i64 {
        (i64::from(height).saturating_sub(1) / self.divisions()).min(4)
    }

    /// How far below the first mark a value stands, in eighths of a row.
    fn eighths(&self, value: Decimal, rows_each: i64) -> i64 {
        let at = (value.clamp(self.scale.min, self.scale.max) - self.scale.min) * Decimal::from(EIGHTHS * rows_each);
        i64::try_from(at.round().mantissa()).unwrap_or(0)
    }

    /// Rows it takes when `height` are there, or `None` if it cannot be drawn to scale.
    pub fn height(&self, height: u16) -> Option<u16> {
        let rows_each = self.rows_each(height);
        (rows_each > 0).then(|| (rows_each * self.divisions() + 1) as u16)
    }

    /// Draws it in the upper left of `area`; false if there is no room.
    pub fn draw(&self, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
        let area = area.intersection(buf.area);
        let rows_each = self.rows_each(area.height);
        let bore = (area.width / 4).clamp(3, 9);
        if rows_each == 0 || area.width < MARGIN + bore + 2 {
            return false;
        }
        let rows = rows_each * self.divisions();
        let left = area.x + MARGIN;
        let right = left + bore + 1;
        let surface = self.level.map(|level| self.eighths(level, rows_each));
        // Foam stands above the liquid, towards zero.
        let crown = self.level.zip(self.foam).map(|(level, foam)| self.eighths(level - foam, rows_each));
        for row in 0..=rows {
            let y = area.y + row as u16;
            self.draw_marks(buf, row, rows_each, Rect { x: area.x, y, width: MARGIN, height: 1 }, theme);
            buf[(left, y)].set_symbol("│").set_style(theme.plain);
            buf[(right, y)].set_symbol("│").set_style(theme.plain);
            let (symbol, style) = inside(row, surface, crown, theme);
            for x in left + 1..right {
                buf[(x, y)].set_symbol(symbol).set_style(style);
            }
        }
        self.draw_labels(buf, Rect { x: right + 1, width: area.right() - right - 1, ..area }, rows_each, theme);
        true
    }

    /// The number of a whole mark with its long line, or the short line of a half.
    fn draw_marks(&self, buf: &mut Buffer, row: i64, rows_each: i64, margin: Rect, theme: &Theme) {
        let end = margin.right() - 1;
        if row % rows_each == 0 {
            let mark = (self.scale.min + Decimal::from(row / rows_each)).normalize().to_string();
            buf.set_stringn(margin.x, margin.y, &mark, 2, theme.plain);
            buf[(end - 1, margin.y)].set_symbol("▔").set_style(theme.plain);
            buf[(end, margin.y)].set_symbol("▔").set_style(theme.plain);
        } else if row * 2 % rows_each == 0 {
            buf[(end, margin.y)].set_symbol("▔").set_style(theme.quiet);
        }
        // With an odd number of rows the half mark lies in the middle of one.
        let into = row % rows_each;
        if rows_each % 2 == 1 && rows_each > 1 && into == rows_each / 2 && row < rows_each * self.divisions() {
            buf[(end, margin.y)].set_symbol("─").set_style(theme.quiet);
        }
    }

    fn draw_labels(&self, buf: &mut Buffer, area: Rect, rows_each: i64, theme: &Theme) {
        let row_of = |level: Decimal| (self.eighths(level, rows_each) / EIGHTHS) as u16;
        let own = self.level.map(row_of);
        let mut taken = [false; 64];
        let mut put = |row: u16, sign: &str, label: &str, style: Style, buf: &mut Buffer| {
            // A row that is taken moves the label down to the next free one.
            let Some(free) = (row..area.height.min(64)).find(|row| !taken[*row as usize]) else { return };
            taken[free as usize] = true;
            let y = area.y + free;
            let (x, _) = buf.set_stringn(area.x, y, sign, area.width as usize, style);
            let room = area.right().saturating_sub(x) as usize;
            buf.set_stringn(x, y, label, room, style);
        };
        if let Some(row) = own {
            put(row, "◀ ", self.label, theme.strong, buf);
        }
        for tick in self.before {
            put(row_of(tick.level), "◂ ", tick.label, theme.quiet, buf);
        }
    }
}

/// What stands inside the tube in one row.
fn inside(row: i64, surface: Option<i64>, crown: Option<i64>, theme: &Theme) -> (&'static str, Style) {
    let Some(surface) = surface else { return (" ", theme.plain) };
    let (top, bottom) = (row * EIGHTHS, (row + 1) * EIGHTHS);
    if surface <= top {
        return ("█", theme.liquid);
    }
    let crown = crown.filter(|crown| *crown < surface);
    if surface < bottom {
        let filled = LOWER[(bottom - surface).clamp(0, EIGHTHS) as usize];
        // Foam that reaches above this row fills what the liquid leaves of it.
        let style = match (crown, theme.foam.fg, theme.liquid.fg) {
            (Some(crown), Some(foam), Some(liquid)) if crown <= top && foam != liquid => {
                Style::new().fg(liquid).bg(foam)
            }
            _ => theme.liquid,
        };
        return (filled, style);
    }
    match crown {
        Some(crown) if crown <= top => ("▒", theme.foam),
        Some(crown) if crown < bottom => ("░", theme.foam),
        _ => (" ", theme.plain),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::theme::{Colours, ThemeChoice};
    use quantity::Unit;

    fn drawn(level: Option<&str>, foam: Option<&str>, before: &[Tick<'_>], width: u16, height: u16) -> String {
        let decimal = |text: &str| text.parse::<Decimal>().unwrap();
        let unit = Unit::parse("%").unwrap();
        let scale = Scale::new(decimal("0.25"), Decimal::ZERO, Decimal::from(9), unit).unwrap();
        let neck = Neck { scale: &scale, level: level.map(decimal), foam: foam.map(decimal), label: "level", before };
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        if !neck.draw(&mut buf, area, &Theme::new(ThemeChoice::Dark, Colours::True)) {
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
    fn zero_is_at_the_top_and_foam_stands_above_the_liquid() {
        let before = [Tick { level: Decimal::new(575, 2), label: "0:00" }];
        insta::assert_snapshot!(drawn(Some("5.5"), Some("1.25"), &before, 24, 19), @r#"
        "0 ▔▔│      │            "
        "   ▔│      │            "
        "1 ▔▔│      │            "
        "   ▔│      │            "
        "2 ▔▔│      │            "
        "   ▔│      │            "
        "3 ▔▔│      │            "
        "   ▔│      │            "
        "4 ▔▔│░░░░░░│            "
        "   ▔│▒▒▒▒▒▒│            "
        "5 ▔▔│▒▒▒▒▒▒│            "
        "   ▔│██████│◀ level     "
        "6 ▔▔│██████│◂ 0:00      "
        "   ▔│██████│            "
        "7 ▔▔│██████│            "
        "   ▔│██████│            "
        "8 ▔▔│██████│            "
        "   ▔│██████│            "
        "9 ▔▔│██████│            "
        "#);
        insta::assert_snapshot!(drawn(Some("0.25"), None, &[], 20, 28), @r#"
        "0 ▔▔│▂▂▂▂▂│◀ level  "
        "   ─│█████│         "
        "    │█████│         "
        "1 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "2 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "3 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "4 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "5 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "6 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "7 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "8 ▔▔│█████│         "
        "   ─│█████│         "
        "    │█████│         "
        "9 ▔▔│█████│         "
        "#);
        insta::assert_snapshot!(drawn(None, None, &[], 20, 10), @r#"
        "0 ▔▔│     │         "
        "1 ▔▔│     │         "
        "2 ▔▔│     │         "
        "3 ▔▔│     │         "
        "4 ▔▔│     │         "
        "5 ▔▔│     │         "
        "6 ▔▔│     │         "
        "7 ▔▔│     │         "
        "8 ▔▔│     │         "
        "9 ▔▔│     │         "
        "#);
    }

    #[test]
    fn without_room_nothing_is_drawn() {
        assert_eq!(drawn(Some("5"), None, &[], 20, 9), "no room");
        assert_eq!(drawn(Some("5"), None, &[], 8, 30), "no room");
    }
}

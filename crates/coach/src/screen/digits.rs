//! Big digits and letters, drawn on a grid of three by five so that they can be read across a truck bed.
//!
//! Here: our own glyphs for digits, for the few signs a reading or a clock needs, and for the capitals of a short
//! sentence; in three sizes here, in any size in [`big`]. Not here: which number or sentence is shown. Neighbouring digits share most of their grid, so a clock that ticks repaints few cells.
//!
//! **Invariant:** nothing is drawn outside the area given; a text that does not fit is not begun.

pub mod big;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// How big the digits are.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Size {
    /// Seven rows high, nine columns wide: for a large screen.
    Tall,
    /// Five rows high, six columns wide.
    Full,
    /// Three rows high, three columns wide, of half blocks.
    Small,
}

/// Five rows of three dots, the first row in the high bits; `None` for a sign that has no glyph.
const fn glyph(sign: char) -> Option<u16> {
    Some(match sign {
        '0' => 0b111_101_101_101_111,
        '1' => 0b001_001_001_001_001,
        '2' => 0b111_001_111_100_111,
        '3' => 0b111_001_111_001_111,
        '4' => 0b101_101_111_001_001,
        '5' => 0b111_100_111_001_111,
        '6' => 0b111_100_111_101_111,
        '7' => 0b111_001_001_001_001,
        '8' => 0b111_101_111_101_111,
        '9' => 0b111_101_111_001_111,
        '-' => 0b000_000_111_000_000,
        '+' => 0b000_010_111_010_000,
        '/' => 0b001_001_010_100_100,
        ' ' => 0,
        // Narrow signs use the middle column alone.
        ':' => 0b000_010_000_010_000,
        '.' => 0b000_000_000_000_010,
        ',' => 0b000_000_000_010_010,
        _ => return None,
    })
}

/// The capitals, and the signs of a sentence. Three columns are few: a sentence is written below in plain letters too.
const fn letter(sign: char) -> Option<u16> {
    Some(match sign {
        'A' => 0b111_101_111_101_101,
        'B' => 0b110_101_110_101_110,
        'C' => 0b111_100_100_100_111,
        'D' => 0b110_101_101_101_110,
        'E' => 0b111_100_110_100_111,
        'F' => 0b111_100_110_100_100,
        'G' => 0b111_100_101_101_111,
        'H' => 0b101_101_111_101_101,
        'I' => 0b111_010_010_010_111,
        'J' => 0b001_001_001_101_111,
        'K' => 0b101_101_110_101_101,
        'L' => 0b100_100_100_100_111,
        'M' => 0b101_111_111_101_101,
        'N' => 0b110_101_101_101_101,
        'O' => 0b111_101_101_101_111,
        'P' => 0b111_101_111_100_100,
        'Q' => 0b111_101_101_111_001,
        'R' => 0b111_101_110_101_101,
        'S' => 0b111_100_111_001_111,
        'T' => 0b111_010_010_010_010,
        'U' => 0b101_101_101_101_111,
        'V' => 0b101_101_101_101_010,
        'W' => 0b101_101_111_111_101,
        'X' => 0b101_101_010_101_101,
        'Y' => 0b101_101_010_010_010,
        'Z' => 0b111_001_010_100_111,
        ';' => 0b000_010_000_010_110,
        '\'' => 0b010_010_000_000_000,
        other => return glyph(other),
    })
}

const fn is_narrow(sign: char) -> bool {
    matches!(sign, ':' | '.' | ',')
}

impl Size {
    /// Rows a text takes.
    pub const fn height(self) -> u16 {
        match self {
            Size::Tall => 7,
            Size::Full => 5,
            Size::Small => 3,
        }
    }

    /// Columns of one dot.
    const fn dot(self) -> u16 {
        match self {
            Size::Tall => 3,
            Size::Full => 2,
            Size::Small => 1,
        }
    }

    /// Columns between two glyphs.
    const fn gap(self) -> u16 {
        match self {
            Size::Small => 1,
            Size::Full | Size::Tall => 2,
        }
    }

    /// Rows of the grid row `at`: the tall digits have longer uprights.
    const fn rows_of(self, at: u16) -> u16 {
        match self {
            Size::Tall if at % 2 == 1 => 2,
            _ => 1,
        }
    }

    /// Columns a text takes, or `None` if a sign in it has no glyph.
    pub fn width(self, text: &str) -> Option<u16> {
        let mut width = 0;
        for (n, sign) in text.chars().enumerate() {
            letter(sign)?;
            let dots = if is_narrow(sign) { 1 } else { 3 };
            width += dots * self.dot() + if n > 0 { self.gap() } else { 0 };
        }
        Some(width)
    }

    /// The biggest size in which `text` fits `width` columns and `height` rows.
    pub fn fitting(text: &str, width: u16, height: u16) -> Option<Size> {
        [Size::Tall, Size::Full, Size::Small]
            .into_iter()
            .find(|size| size.height() <= height && size.width(text).is_some_and(|wide| wide <= width))
    }
}

/// Draws `text` with its upper left corner in that of `area`; false, and nothing drawn, if it does not fit.
pub fn draw(buf: &mut Buffer, area: Rect, text: &str, size: Size, style: Style) -> bool {
    let area = area.intersection(buf.area);
    let fits = size.height() <= area.height && size.width(text).is_some_and(|width| width <= area.width);
    if !fits {
        return false;
    }
    let mut x = area.x;
    for sign in text.chars() {
        let dots = letter(sign).unwrap_or(0);
        let columns = if is_narrow(sign) { 1..2 } else { 0..3 };
        for column in columns {
            let is_on = |row: u16| row < 5 && dots >> (14 - (row * 3 + column)) & 1 == 1;
            for step in 0..size.dot() {
                if size == Size::Small {
                    for row in 0..3 {
                        let block = match (is_on(row * 2), is_on(row * 2 + 1)) {
                            (true, true) => "█",
                            (true, false) => "▀",
                            (false, true) => "▄",
                            (false, false) => continue,
                        };
                        buf[(x + step, area.y + row)].set_symbol(block).set_style(style);
                    }
                    continue;
                }
                let mut y = area.y;
                for row in 0..5 {
                    for _ in 0..size.rows_of(row) {
                        if is_on(row) {
                            buf[(x + step, y)].set_symbol("█").set_style(style);
                        }
                        y += 1;
                    }
                }
            }
            x += size.dot();
        }
        x += size.gap();
    }
    true
}

/// The lines of a sentence in capitals and the biggest size in which they fit; `None` if they do not.
pub fn sentence(text: &str, width: u16, height: u16) -> Option<(Vec<String>, Size)> {
    let capitals = text.to_uppercase();
    [Size::Full, Size::Small].into_iter().find_map(|size| {
        let mut lines: Vec<String> = Vec::new();
        for word in capitals.split_whitespace() {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match longer.filter(|longer| size.width(longer).is_some_and(|wide| wide <= width)) {
                Some(longer) => {
                    lines.pop();
                    lines.push(longer);
                }
                None => lines.push(word.to_owned()),
            }
        }
        let all_fit = lines.iter().all(|line| size.width(line).is_some_and(|wide| wide <= width));
        let rows = lines.len() * (usize::from(size.height()) + 1);
        (all_fit && !lines.is_empty() && rows <= usize::from(height) + 1).then_some((lines, size))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(text: &str, size: Size) -> String {
        let area = Rect::new(0, 0, size.width(text).unwrap(), size.height());
        let mut buf = Buffer::empty(area);
        assert!(draw(&mut buf, area, text, size, Style::new()));
        let mut out = String::new();
        for y in 0..area.height {
            let line: String = (0..area.width).map(|x| buf[(x, y)].symbol()).collect();
            out.push_str(&format!("{:?}\n", line));
        }
        out
    }

    #[test]
    fn a_clock_is_readable_in_every_size() {
        insta::assert_snapshot!(drawn("4:12", Size::Small), @r#"
        "█ █ ▄   █ ▀▀█"
        "▀▀█ ▄   █ █▀▀"
        "  ▀     ▀ ▀▀▀"
        "#);
        insta::assert_snapshot!(drawn("5.75", Size::Full), @r#"
        "██████      ██████  ██████"
        "██              ██  ██    "
        "██████          ██  ██████"
        "    ██          ██      ██"
        "██████  ██      ██  ██████"
        "#);
        insta::assert_snapshot!(drawn("3-8", Size::Tall), @r#"
        "█████████             █████████"
        "      ███             ███   ███"
        "      ███             ███   ███"
        "█████████  █████████  █████████"
        "      ███             ███   ███"
        "      ███             ███   ███"
        "█████████             █████████"
        "#);
    }

    #[test]
    fn every_digit_has_its_own_shape() {
        let mut seen = std::collections::BTreeSet::new();
        for sign in "0123456789-+/:.,".chars() {
            assert!(seen.insert(glyph(sign).unwrap()), "{sign} looks like another sign");
        }
    }

    #[test]
    fn a_short_sentence_is_written_in_capitals_where_it_fits() {
        let (lines, size) = sentence("Set the top on the bowl and clamp it tight", 78, 15).unwrap();
        assert_eq!((lines.join("|").as_str(), size), ("SET THE TOP ON THE|BOWL AND CLAMP IT|TIGHT", Size::Small));
        let (lines, size) = sentence("Put the funnel in", 118, 26).unwrap();
        assert_eq!((lines.join("|").as_str(), size), ("PUT THE FUNNEL|IN", Size::Full));
        assert_eq!(sentence("Set the top on the bowl and clamp it tight", 78, 10), None, "too few rows");
        assert_eq!(sentence("Tilt to about 45°", 118, 26), None, "a sign without a glyph");
        assert_eq!(sentence("", 118, 26), None);
        insta::assert_snapshot!(drawn("CLAMP IT", Size::Small), @r#"
        "█▀▀ █   █▀█ █▄█ █▀█     ▀█▀ ▀█▀"
        "█   █   █▀█ █▀█ █▀▀      █   █ "
        "▀▀▀ ▀▀▀ ▀ ▀ ▀ ▀ ▀       ▀▀▀  ▀ "
        "#);
        let all: std::collections::BTreeSet<u16> = ('A'..='Z').filter_map(letter).collect();
        assert_eq!(all.len(), 26, "every capital has its own shape");
    }

    #[test]
    fn one_second_changes_few_cells() {
        for (now, next) in [("0", "1"), ("1", "2"), ("5", "6"), ("9", "0"), ("8", "9"), ("4", "5")] {
            let cells = |text| drawn(text, Size::Full).chars().collect::<Vec<_>>();
            let changed = cells(now).iter().zip(&cells(next)).filter(|(a, b)| a != b).count();
            assert!(changed <= 16, "{now} to {next} changes {changed} cells");
        }
    }

    #[test]
    fn what_does_not_fit_is_not_begun() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 10, 4));
        assert!(!draw(&mut buf, Rect::new(0, 0, 10, 4), "12", Size::Full, Style::new()));
        assert!(!draw(&mut buf, Rect::new(8, 2, 50, 50), "1", Size::Small, Style::new()));
        assert_eq!(buf, Buffer::empty(Rect::new(0, 0, 10, 4)));
        assert_eq!(Size::fitting("12:34", 80, 5), Some(Size::Full));
        assert_eq!(Size::fitting("12:34", 20, 4), Some(Size::Small));
        assert_eq!(Size::fitting("12:34", 5, 5), None);
        assert_eq!(Size::fitting("abc", 80, 9), None);
    }
}

//! The same glyphs in any size: numbers and lines for somebody who stands far off.
//!
//! Here: how high and how wide a glyph of so many rows is, in half rows, and which size a text fits. Not here: the
//! shapes, which are those of the parent. A half row is about as high as a column is wide, so strokes come out even.
//!
//! **Invariant:** nothing is drawn outside the area given; a text that does not fit is not begun; what is drawn covers
//! every row of its height as soon as it holds a digit or a letter (but for three rows, where the last is a half).

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::letter;

/// A size of glyphs.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Big {
    /// Rows.
    rows: u16,
    /// Columns of an upright stroke.
    stem: u16,
    /// Columns between the two uprights of a glyph.
    inside: u16,
}

/// The shape of a sign: so many columns, and five rows of so many dots, the first row in the high bits.
#[derive(Copy, Clone)]
struct Shape {
    columns: u16,
    dots: u32,
}

/// The shape of a sign: that of the parent, a clearer one where there is more room, and what a sentence and somebody's
/// words need besides.
const fn shape(sign: char) -> Option<Shape> {
    let dots = match sign {
        // Three columns are few for these.
        'M' => return Some(Shape { columns: 5, dots: 0b10001_11011_10101_10001_10001 }),
        'W' => return Some(Shape { columns: 5, dots: 0b10001_10001_10101_11011_10001 }),
        'N' => return Some(Shape { columns: 4, dots: 0b1001_1101_1011_1001_1001 }),
        '…' => return Some(Shape { columns: 5, dots: 0b10101 }),
        ':' => return Some(Shape { columns: 1, dots: 0b0_1_0_1_0 }),
        '.' => return Some(Shape { columns: 1, dots: 0b0_0_0_0_1 }),
        ',' => return Some(Shape { columns: 1, dots: 0b0_0_0_1_1 }),
        // In the middle of its place, so that a second that ends in it does not stand apart.
        '1' => 0b110_010_010_010_111,
        '−' | '–' | '—' => 0b000_000_111_000_000,
        '’' => 0b010_010_000_000_000,
        '"' | '“' | '”' => 0b101_101_000_000_000,
        '°' => 0b111_101_111_000_000,
        '%' => 0b101_001_010_100_101,
        '?' => 0b111_001_011_000_010,
        '!' => 0b010_010_010_000_010,
        '(' => 0b001_010_010_010_001,
        ')' => 0b100_010_010_010_100,
        other => match letter(other) {
            Some(dots) => dots,
            None => return None,
        },
    };
    Some(Shape { columns: 3, dots: dots as u32 })
}

impl Big {
    /// The sizes of so many rows, the widest first. A slim one is for a text that has no room otherwise.
    fn of_rows(rows: u16, is_slim: bool) -> impl Iterator<Item = Big> {
        let halves = u32::from(rows) * 2;
        // In proportion: six wide for ten high. Below two fifths a glyph is hard to tell from the next.
        let widest = (halves * 3 / 5).max(3) as u16;
        let slimmest = if is_slim { 3 } else { (halves * 2).div_ceil(5).max(3) as u16 };
        let beam = Big { rows, stem: 1, inside: 1 }.beam();
        (slimmest..=widest).rev().filter_map(move |width| {
            // The uprights as strong as the beams, as far as the openings stay open.
            (1..=width / 3)
                .filter(|stem| width - 2 * stem <= 2 * stem + 1)
                .min_by_key(|stem| stem.abs_diff(beam))
                .map(|stem| Big { rows, stem, inside: width - 2 * stem })
        })
    }

    /// The biggest size in which `text` fits `width` columns, of at most `most` rows. Fewer than `least` rows are never
    /// chosen: rather than that the glyphs become slim. `None` if even that is too wide, or a sign has no shape.
    pub fn fitting(text: &str, width: u16, most: u16, least: u16) -> Option<Big> {
        let fits = |size: &Big| size.width(text).is_some_and(|wide| wide <= width);
        let well = (least..=most).rev().find_map(|rows| Big::of_rows(rows, false).find(fits));
        well.or_else(|| (least..=most).rev().find_map(|rows| Big::of_rows(rows, true).find(fits)))
    }

    /// Rows a text takes.
    pub const fn height(self) -> u16 {
        self.rows
    }

    /// Half rows of a level stroke.
    const fn beam(self) -> u16 {
        let beam = 2 * ((self.rows * 2 + 5) / 11);
        match self.rows {
            ..4 => 1,
            _ if beam < 2 => 2,
            _ => beam,
        }
    }

    /// Half rows of each of the five rows of the grid.
    const fn bands(self) -> [u16; 5] {
        let beam = self.beam();
        if self.rows < 4 {
            return [1; 5];
        }
        let rest = self.rows * 2 - 3 * beam;
        [beam, rest / 2, beam, rest - rest / 2, beam]
    }

    /// Columns between two glyphs.
    const fn gap(self) -> u16 {
        let gap = (self.stem * 3 + 2) / 4;
        if gap == 0 { 1 } else { gap }
    }

    /// Columns of each column of a shape.
    fn columns(self, shape: Shape) -> impl Iterator<Item = u16> {
        let (stem, inside) = (self.stem, self.inside);
        (0..shape.columns).map(move |column| match (shape.columns, column) {
            (3, 1) => inside,
            (4, 1 | 2) => inside.div_ceil(2),
            (5, 1 | 3) => (inside / 2).max(1),
            _ => stem,
        })
    }

    /// Columns of one sign, or `None` if it has no shape.
    fn advance(self, sign: char) -> Option<u16> {
        if sign == ' ' { Some(self.stem + self.inside) } else { shape(sign).map(|shape| self.columns(shape).sum()) }
    }

    /// Columns a text takes, or `None` if a sign in it has no shape.
    pub fn width(self, text: &str) -> Option<u16> {
        let mut width: u16 = 0;
        for (n, sign) in text.chars().enumerate() {
            width = width.checked_add(self.advance(sign)? + if n > 0 { self.gap() } else { 0 })?;
        }
        Some(width)
    }

    /// Rows between two lines of text.
    pub const fn leading(self) -> u16 {
        1 + self.rows / 6
    }

    /// Rows so many lines take.
    pub fn height_of(self, lines: usize) -> u16 {
        let lines = u16::try_from(lines).unwrap_or(u16::MAX);
        lines.saturating_mul(self.rows + self.leading()).saturating_sub(self.leading())
    }
}

/// Draws `text` with its upper left corner in that of `area`; false, and nothing drawn, if it does not fit.
pub fn draw(buf: &mut Buffer, area: Rect, text: &str, size: Big, style: Style) -> bool {
    draw_lower(buf, area, text, size, 0, style)
}

/// The same, lower by so many half rows, as far as they have room in the area.
pub fn draw_lower(buf: &mut Buffer, area: Rect, text: &str, size: Big, halves: u16, style: Style) -> bool {
    let area = area.intersection(buf.area);
    let rows = (size.bands().iter().sum::<u16>().saturating_add(halves)).div_ceil(2);
    let fits = rows <= area.height && size.width(text).is_some_and(|width| width <= area.width);
    if !fits {
        return false;
    }
    let mut x = area.x;
    for sign in text.chars() {
        if let Some(shape) = shape(sign).filter(|_| sign != ' ') {
            for y in 0..rows {
                for (dx, block) in size.row(shape, sign, y, halves) {
                    buf[(x + dx, area.y + y)].set_symbol(block).set_style(style);
                }
            }
        }
        x += size.advance(sign).unwrap_or(0) + size.gap();
    }
    true
}

impl Big {
    /// The blocks of one row of a shape that stands lower by so many half rows.
    fn row(self, shape: Shape, sign: char, y: u16, halves: u16) -> impl Iterator<Item = (u16, &'static str)> {
        let is_on = move |half: u16, column: u16, within: u16, width: u16| {
            half.checked_sub(halves).is_some_and(|half| self.is_on(shape, sign, half, column, (within, width)))
        };
        let mut from = 0;
        let columns: Vec<(u16, u16)> = self
            .columns(shape)
            .map(|width| {
                from += width;
                (from - width, width)
            })
            .collect();
        (0u16..).zip(columns).flat_map(move |(column, (from, width))| {
            (0..width).filter_map(move |within| {
                let upper = is_on(y * 2, column, within, width);
                let lower = is_on(y * 2 + 1, column, within, width);
                let block = match (upper, lower) {
                    (true, true) => "█",
                    (true, false) => "▀",
                    (false, true) => "▄",
                    (false, false) => return None,
                };
                Some((from + within, block))
            })
        })
    }

    /// Whether a half row of a shape is set in a column of the grid, so far within it.
    fn is_on(self, shape: Shape, sign: char, half: u16, column: u16, (within, width): (u16, u16)) -> bool {
        let mut above = 0;
        for (row, band) in (0u16..5).zip(self.bands()) {
            if half >= above + band {
                above += band;
                continue;
            }
            let is_set = |column: u16| {
                column < shape.columns
                    && shape.dots >> ((4 - row) * shape.columns + shape.columns - 1 - column) & 1 == 1
            };
            if !is_set(column) {
                return false;
            }
            // The dots of a colon are square, in the middle of what an upright would take.
            let dot = self.beam().min(band);
            let top = above + (band - dot) / 2;
            if sign == ':' {
                return (top..top + dot).contains(&half);
            }
            // An upright in the middle is as strong as one at the side, and a flag ends at it.
            if shape.columns == 3 && column == 1 && !is_set(2) && (!is_set(0) || sign == '1') {
                let left = (width.saturating_sub(self.stem)).div_ceil(2);
                return within < left + self.stem && (is_set(0) || within >= left);
            }
            return true;
        }
        false
    }
}

/// The lines of a sentence in capitals and the biggest size in which they fit so many columns and rows, in at most
/// `most_lines` lines of at most `most_rows` rows each; `None` if they fit in none.
pub fn lettering(text: &str, width: u16, height: u16, most_lines: usize, most_rows: u16) -> Option<(Vec<String>, Big)> {
    let capitals = text.to_uppercase();
    if capitals.trim().is_empty() {
        return None;
    }
    let words: Vec<&str> = capitals.split_whitespace().collect();
    // Where each line begins, kept from size to size.
    let mut begins = Vec::with_capacity(most_lines);
    let size = (3..=most_rows.min(height)).rev().flat_map(|rows| Big::of_rows(rows, false)).find(|size| {
        let space = size.advance(' ').unwrap_or(0) + 2 * size.gap();
        let mut so_far = 0;
        begins.clear();
        for (n, word) in words.iter().enumerate() {
            let Some(wide) = size.width(word).filter(|wide| *wide <= width) else { return false };
            if n > 0 && so_far + space + wide <= width {
                so_far += space + wide;
                continue;
            }
            if begins.len() == most_lines {
                return false;
            }
            begins.push(n);
            so_far = wide;
        }
        size.height_of(begins.len()) <= height
    })?;
    let ends = begins.iter().skip(1).copied().chain([words.len()]);
    let lines = begins.iter().zip(ends).map(|(from, to)| words.get(*from..to).unwrap_or(&[]).join(" "));
    Some((lines.collect(), size))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(text: &str, size: Big) -> String {
        let area = Rect::new(0, 0, size.width(text).unwrap(), size.height());
        let mut buf = Buffer::empty(area);
        assert!(draw(&mut buf, area, text, size, Style::new()));
        let line = |y| (0..area.width).map(|x| buf[(x, y)].symbol()).collect::<String>();
        (0..area.height).map(|y| format!("{:?}\n", line(y))).collect()
    }

    #[test]
    fn a_clock_grows_in_proportion() {
        let sizes: Vec<_> = [5, 6, 7, 12].map(|rows| Big::fitting("4:12", 200, rows, 5).unwrap()).to_vec();
        insta::assert_snapshot!(drawn("4:12", sizes[0]), @r#"
            "██  ██      ████    ██████"
            "██  ██  ██    ██        ██"
            "██████        ██    ██████"
            "    ██  ██    ██    ██    "
            "    ██      ██████  ██████"
        "#);
        assert_eq!(
            [sizes[1], sizes[3]].map(|size| (size.height(), size.width("4:12"))),
            [(6, Some(29)), (12, Some(55))]
        );
        assert_eq!(sizes[2].height(), 7);
    }

    #[test]
    fn every_row_of_a_number_is_covered_whatever_its_size() {
        for rows in (4..=24).chain([37, 60]) {
            for size in Big::of_rows(rows, true) {
                for digit in '0'..='9' {
                    let picture = drawn(&digit.to_string(), size);
                    let covered = picture.lines().filter(|line| line.contains(['█', '▀', '▄'])).count();
                    assert_eq!(covered, rows as usize, "{digit} in {size:?}:\n{picture}");
                }
                assert_eq!(size.bands().iter().sum::<u16>(), rows * 2, "{size:?}");
                assert!(size.bands().iter().all(|band| *band > 0), "{size:?}");
            }
        }
    }

    #[test]
    fn every_digit_keeps_its_own_shape_in_every_size() {
        for rows in (3..=16).chain([33]) {
            for size in Big::of_rows(rows, true) {
                let pictures: std::collections::BTreeSet<_> =
                    "0123456789-+/".chars().map(|sign| drawn(&sign.to_string(), size)).collect();
                assert_eq!(pictures.len(), 13, "{size:?}");
            }
        }
    }

    #[test]
    fn a_long_number_becomes_slim_before_it_becomes_low() {
        let size = Big::fitting("12.25-12.50", 78, 20, 8).unwrap();
        assert!(size.height() >= 8, "{size:?}");
        assert!(size.width("12.25-12.50").unwrap() <= 78);
        assert_eq!(Big::fitting("12.25-12.50", 30, 20, 8), None);
        assert_eq!(Big::fitting("1ß", 80, 20, 5), None);
    }

    #[test]
    fn a_line_takes_the_biggest_letters_that_fit() {
        let lines = |text, width, height, most| {
            lettering(text, width, height, most, 12).map(|(lines, size)| (lines.join("|"), size.height()))
        };
        assert_eq!(lines("Clamp it tight", 78, 3, 2), Some(("CLAMP IT TIGHT".to_owned(), 3)));
        assert_eq!(
            lines("Set the top on and clamp it tight", 78, 7, 2),
            Some(("SET THE TOP ON AND|CLAMP IT TIGHT".to_owned(), 3))
        );
        assert_eq!(lines("Set the top on and clamp it tight", 78, 6, 2), None, "too few rows");
        assert_eq!(
            lines("Set the top on and clamp it tight", 198, 12, 1),
            Some(("SET THE TOP ON AND CLAMP IT TIGHT".to_owned(), 6))
        );
        assert_eq!(lines("", 78, 7, 2), None);
        assert_eq!(lines("ß", 78, 7, 2).map(|(text, _)| text), Some("SS".to_owned()));
        assert_eq!(lines("試験", 78, 7, 2), None, "signs without a shape");
    }

    #[test]
    fn what_does_not_fit_is_not_begun() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 10, 4));
        let size = Big::fitting("12", 80, 5, 5).unwrap();
        assert!(!draw(&mut buf, Rect::new(0, 0, 10, 4), "12", size, Style::new()));
        assert!(!draw(&mut buf, Rect::new(8, 0, 50, 50), "1", size, Style::new()));
        assert_eq!(buf, Buffer::empty(Rect::new(0, 0, 10, 4)));
    }
}

//! Lines and paragraphs on the buffer.
//!
//! Here: writing text that never leaves its area, and breaking it between words. Not here: what is written.
//!
//! **Invariant:** whatever the size of the area, nothing is written outside it and nothing panics.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Whether a line may be broken at the space between `before` and `after`: a figure keeps its fraction and its unit.
fn may_break(before: &str, after: &str) -> bool {
    if !before.ends_with(|sign: char| sign.is_ascii_digit()) {
        return true;
    }
    let next = after.split(' ').next().unwrap_or("");
    let unit = next.trim_end_matches(['.', ',', ';', ':', '?']);
    !(next.starts_with(|sign: char| sign.is_ascii_digit() || matches!(sign, '°' | '%' | '/' | '±')))
        && unit.chars().count() > 3
}

/// Breaks a text into lines of at most `width` columns, between words where there are any.
pub(crate) fn lines(text: &str, width: u16) -> impl Iterator<Item = &str> {
    let width = width as usize;
    let mut rest = text.trim_start();
    std::iter::from_fn(move || {
        if rest.is_empty() || width == 0 {
            return None;
        }
        let mut last_space = None;
        for (columns, (at, sign)) in rest.char_indices().enumerate() {
            let is_gap = sign == ' ' && may_break(&rest[..at], &rest[at + 1..]);
            if columns == width {
                let cut = if is_gap { at } else { last_space.unwrap_or(at) };
                let line = &rest[..cut];
                rest = rest[cut..].trim_start();
                return Some(line.trim_end());
            }
            if is_gap {
                last_space = Some(at);
            }
        }
        let line = rest;
        rest = "";
        Some(line.trim_end())
    })
}

/// Writes one line at the top of `area`; returns the column after it.
pub(crate) fn line(buf: &mut Buffer, area: Rect, text: &str, style: Style) -> u16 {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return area.x;
    }
    if !text.chars().all(is_one_column) {
        return buf.set_stringn(area.x, area.y, text, area.width as usize, style).0;
    }
    let mut x = area.x;
    for sign in text.chars().take(area.width as usize) {
        buf[(x, area.y)].set_char(sign).set_style(style);
        x += 1;
    }
    x
}

/// Signs that surely take one column and stand alone: for them nobody needs to look for clusters.
const fn is_one_column(sign: char) -> bool {
    matches!(sign, ' '..='~' | '\u{a1}'..='\u{ac}' | '\u{ae}'..='\u{2ff}' | '‐'..='…' | '←'..='↓' | '─'..='▟'
        | '■' | '▶' | '◀' | '◂' | '◷' | '✓' | '✗' | '−' | '↶')
}

/// Writes one line that ends at the right edge of `area`; returns the column where it begins.
pub(crate) fn line_right(buf: &mut Buffer, area: Rect, text: &str, style: Style) -> u16 {
    let width = (text.chars().count() as u16).min(area.width);
    let x = area.right() - width;
    line(buf, Rect { x, width, ..area }, text, style);
    x
}

/// Adds as much of a text as has room, and says with a sign that it was cut.
pub(crate) fn push_cut(out: &mut String, text: &str, room: usize) {
    if text.chars().count() <= room {
        out.push_str(text);
    } else if room > 1 {
        out.extend(text.chars().take(room - 1));
        out.push('…');
    }
}

/// A column that is filled from the top.
pub(crate) struct Column<'a> {
    /// What is drawn on.
    pub buf: &'a mut Buffer,
    /// What is left of it.
    pub area: Rect,
}

impl<'a> Column<'a> {
    /// A column over `area`.
    pub(crate) fn new(buf: &'a mut Buffer, area: Rect) -> Self {
        let area = area.intersection(buf.area);
        Self { buf, area }
    }

    /// Leaves rows empty.
    pub(crate) fn skip(&mut self, rows: u16) {
        let rows = rows.min(self.area.height);
        self.area.y += rows;
        self.area.height -= rows;
    }

    /// Writes one line.
    pub(crate) fn line(&mut self, text: &str, style: Style) {
        line(self.buf, Rect { height: self.area.height.min(1), ..self.area }, text, style);
        self.skip(1);
    }

    /// Writes a paragraph behind a mark; lines after the first stand under its first word.
    pub(crate) fn block(&mut self, mark: &str, mark_style: Style, text: &str, style: Style) {
        let indent = (mark.chars().count() as u16).min(self.area.width);
        let width = self.area.width - indent;
        for (n, piece) in lines(text, width).enumerate() {
            if self.area.height == 0 {
                return;
            }
            if n == 0 {
                line(self.buf, Rect { height: 1, ..self.area }, mark, mark_style);
            }
            line(self.buf, Rect { x: self.area.x + indent, width, height: 1, ..self.area }, piece, style);
            self.skip(1);
        }
    }

    /// Writes a paragraph with a bar along its left side.
    pub(crate) fn barred(&mut self, bar: Style, text: &str, style: Style) {
        let width = self.area.width.saturating_sub(2);
        for piece in lines(text, width) {
            if self.area.height == 0 {
                return;
            }
            line(self.buf, Rect { width: self.area.width.min(1), height: 1, ..self.area }, "▌", bar);
            line(
                self.buf,
                Rect { x: self.area.x + 2.min(self.area.width), width, height: 1, ..self.area },
                piece,
                style,
            );
            self.skip(1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_signs_take_two_columns_and_the_quick_way_draws_what_the_slow_one_does() {
        let area = Rect::new(0, 0, 12, 1);
        for text in ["Set the top", "4 °C — “wet” ✓", "試験 air", "e\u{301}tat", "", "longer than the area"]
        {
            let mut quick = Buffer::empty(area);
            let mut slow = Buffer::empty(area);
            let x = line(&mut quick, area, text, Style::new());
            assert_eq!(x, slow.set_stringn(0, 0, text, 12, Style::new()).0, "{text:?}");
            assert_eq!(quick, slow, "{text:?}");
        }
    }

    #[test]
    fn a_text_is_broken_between_words_and_a_long_word_where_it_must() {
        for (text, width, broken) in [
            ("Set the top on the bowl", 11, vec!["Set the top", "on the bowl"]),
            ("Set the top on the bowl", 12, vec!["Set the top", "on the bowl"]),
            ("taking 3 s to 7 s. Press", 16, vec!["taking 3 s to", "7 s. Press"]),
            ("a layer 2 5/8 in deep", 12, vec!["a layer", "2 5/8 in", "deep"]),
            ("rod it 25 times", 9, vec!["rod it 25", "times"]),
            ("aggregate", 4, vec!["aggr", "egat", "e"]),
            ("", 4, vec![]),
            ("wet", 0, vec![]),
            ("  a  b  ", 1, vec!["a", "b"]),
        ] {
            assert_eq!(lines(text, width).collect::<Vec<_>>(), broken, "{text:?} in {width}");
        }
    }
}

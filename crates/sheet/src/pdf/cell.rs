//! Words in a column: styles, cells, table rows.

use super::flow::{Piece, Row};
use crate::chart::{Anchor, Shape};
use crate::helvetica;
use crate::palette::Ink;
use crate::words::Tone;
use crate::wrap::wrap;

/// How a text is set, in points at scale 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub(super) size: f32,
    /// From one line to the next.
    pub(super) line: f32,
    pub(super) bold: bool,
    pub(super) ink: Ink,
}

impl Style {
    const fn new(size: f32, line: f32, bold: bool, ink: Ink) -> Self {
        Self { size, line, bold, ink }
    }

    pub(super) const BODY: Self = Self::new(8.0, 9.2, false, Ink::Text);
    pub(super) const STRONG: Self = Self::new(8.0, 9.2, true, Ink::Text);
    pub(super) const SMALL: Self = Self::new(6.8, 7.7, false, Ink::Quiet);
    pub(super) const LABEL: Self = Self::new(6.5, 7.4, false, Ink::Quiet);
    pub(super) const HEADING: Self = Self::new(9.2, 10.4, true, Ink::Accent);
    pub(super) const VALUE: Self = Self::new(9.4, 9.2, true, Ink::Text);
    pub(super) const FINE: Self = Self::new(5.9, 7.1, false, Ink::Quiet);

    pub(super) const fn ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// The style on a page whose sizes are multiplied by `scale`. What is small already does not shrink without end.
    pub(super) fn at(self, scale: f32) -> Self {
        let scale = scale.max((SMALLEST / self.size).min(1.0));
        Self { size: self.size * scale, line: self.line * scale, ..self }
    }
}

/// No type is set smaller than this, in points.
const SMALLEST: f32 = 5.3;

/// The width of a spelled text in points.
pub(super) fn width(text: &str, size: f32, bold: bool) -> f32 {
    helvetica::width(text, bold) as f32 / 1000.0 * size
}

/// A column of a row, filled from the top.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    x: f32,
    width: f32,
    pub(super) y: f32,
    scale: f32,
    anchor: Anchor,
    pub(super) pieces: Vec<Piece>,
}

impl Cell {
    pub(super) fn new(x: f32, width: f32, scale: f32) -> Self {
        Self { x, width, y: 0.0, scale, anchor: Anchor::Start, pieces: Vec::new() }
    }

    /// The cell with its texts at the right.
    pub(super) fn at_right(mut self) -> Self {
        self.anchor = Anchor::End;
        self
    }

    pub(super) fn gap(mut self, points: f32) -> Self {
        self.y += points * self.scale;
        self
    }

    /// Adds a text, wrapped. An empty one adds nothing.
    pub(super) fn text(mut self, text: &str, style: Style) -> Self {
        let style = style.at(self.scale);
        for line in wrap(&helvetica::spell(text), &self.width, |text| width(text, style.size, style.bold)) {
            let x = match self.anchor {
                Anchor::Start => self.x,
                Anchor::Middle => self.x + self.width / 2.0,
                Anchor::End => self.x + self.width,
            };
            let baseline = self.y + (style.line - style.size) / 2.0 + style.size * 0.8;
            let (anchor, bold, ink, size) = (self.anchor, style.bold, style.ink, style.size);
            let shape = Shape::Words { x, baseline, size, anchor, bold, ink, text: line };
            self.pieces.push(Piece { top: self.y, height: style.line, shape });
            self.y += style.line;
        }
        self
    }

    /// Adds a verdict: a tick and words, a filled field, or quiet words, so that it is told apart without colour.
    pub(super) fn verdict(self, words: &str, tone: Tone) -> Self {
        match tone {
            Tone::Good => self.ticked(words, Style::STRONG.ink(Ink::Good)),
            Tone::Alarm => self.filled(words),
            Tone::Plain => self.indented(words, Style::BODY.ink(Ink::Quiet)),
        }
    }

    /// Adds a text in two styles side by side, wrapped as one only if both do not fit on a line.
    pub(super) fn texts(self, first: (&str, Style), second: (&str, Style)) -> Self {
        let spread =
            |(text, style): (&str, Style)| width(&helvetica::spell(text), style.at(self.scale).size, style.bold);
        let (gap, shift) = (5.0 * self.scale, spread(first));
        if first.0.is_empty() || second.0.is_empty() || shift + gap + spread(second) > self.width {
            return self.text(first.0, first.1).text(second.0, second.1);
        }
        let (x, width, y) = (self.x, self.width, self.y);
        let mut cell = self.text(first.0, first.1);
        let below = cell.y;
        cell.x += shift + gap;
        cell.width -= shift + gap;
        // Both stand on one line of letters.
        let (one, other) = (first.1.at(cell.scale), second.1.at(cell.scale));
        cell.y = y + (one.line - other.line) / 2.0 + (one.size - other.size) * 0.3;
        let mut cell = cell.text(second.0, second.1);
        (cell.x, cell.width, cell.y) = (x, width, below);
        cell
    }

    /// Adds how papers stand: like a verdict, but quieter, since it is as it should be in most lines.
    pub(super) fn standing(self, words: &str, tone: Tone) -> Self {
        match tone {
            Tone::Good => {
                let style = Style::SMALL.ink(Ink::Text);
                let (x, y, unit) = (self.x, self.y + style.line * self.scale / 2.0, self.scale);
                let mut cell = self;
                tick(&mut cell.pieces, (x, y), unit, Ink::Good, style.line);
                cell.indented(words, style)
            }
            Tone::Alarm => self.filled(words),
            Tone::Plain => self.indented(words, Style::SMALL.ink(Ink::Text)),
        }
    }

    /// Room for the tick, so that words with and without one stand under each other.
    const MARK: f32 = 9.0;

    fn indented(mut self, words: &str, style: Style) -> Self {
        let mark = Self::MARK * self.scale;
        let (x, width) = (self.x, self.width);
        self.x += mark;
        self.width -= mark;
        let mut cell = self.text(words, style);
        (cell.x, cell.width) = (x, width);
        cell
    }

    fn ticked(mut self, words: &str, style: Style) -> Self {
        let (x, y, unit) = (self.x, self.y + style.line * self.scale / 2.0, self.scale);
        tick(&mut self.pieces, (x, y), unit, style.ink, style.line);
        self.indented(words, style)
    }

    fn filled(mut self, words: &str) -> Self {
        let style = Style::STRONG.ink(Ink::Paper);
        let inset = 3.0 * self.scale;
        let (size, line) = (style.size * self.scale, style.line * self.scale);
        let most = self.width - 2.0 * inset;
        let words = helvetica::spell(words);
        for text in wrap(&words, &most, |text| width(text, size, true)) {
            let spread = width(&text, size, true);
            let (x, y) = (self.x, self.y);
            let bar = Shape::Bar { x, y, width: spread + 2.0 * inset, height: line, fill: Ink::Alarm, edge: None };
            self.pieces.push(Piece { top: y, height: line, shape: bar });
            let (x, width) = (self.x, self.width);
            self.x += inset;
            self.width = most + 0.01;
            self = self.text(&text, style);
            (self.x, self.width) = (x, width);
        }
        self
    }
}

/// A tick about 6 points wide, its middle line at `y`.
pub(super) fn tick(pieces: &mut Vec<Piece>, (x, y): (f32, f32), unit: f32, ink: Ink, line: f32) {
    let corner = (x + 2.3 * unit, y + 2.4 * unit);
    for (from, to) in [((x + 0.4 * unit, y + 0.3 * unit), corner), (corner, (x + 6.2 * unit, y - 2.9 * unit))] {
        let shape = Shape::Stroke { from, to, width: 1.2 * unit, ink, dashed: false };
        pieces.push(Piece { top: y - line * unit / 2.0, height: line * unit, shape });
    }
}

/// Cells side by side as a row, with `below` points of space under the longest.
pub(super) fn row(cells: Vec<Cell>, below: f32) -> Row {
    let height = cells.iter().map(|cell| cell.y).fold(0.0_f32, f32::max) + below;
    Row { height, pieces: cells.into_iter().flat_map(|cell| cell.pieces).collect(), keep_with_next: false }
}

/// Places of columns from their shares of `width`, with `gap` between two.
pub(super) fn columns(shares: &[f32], width: f32, gap: f32) -> Vec<(f32, f32)> {
    let all: f32 = shares.iter().sum();
    let room = width - gap * shares.len().saturating_sub(1) as f32;
    let mut x = 0.0;
    shares
        .iter()
        .map(|share| {
            let column = (x, room * share / all);
            x += column.1 + gap;
            column
        })
        .collect()
}

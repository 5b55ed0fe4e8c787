//! Signs in rows and columns.
//!
//! **Invariant:** each sign is told apart without colour: a tick, a filled field, an empty field, a dot, or nothing.

use super::super::cell::{Cell, Style, row, tick};
use super::super::flow::{Piece, Row};
use super::blocks::{at_bottom, caption, spread};
use super::{Group, Setting};
use crate::chart::Shape;
use crate::palette::Ink;
use crate::paper::{Mark, Matrix, Sign};
use crate::wrap::words;

/// From the left edge of a sign to its letters, in points at scale 1: room for a tick or a dot.
const SHAPE: f32 = 10.0;

/// The same where a field stands round the letters, or nothing.
const FIELD: f32 = 4.0;

/// A column is not made wider than this, so that a sign is not far from the next.
const WIDEST: f32 = 96.0;

/// White space at the right of a sign.
const AFTER: f32 = 5.0;

/// The matrix, a group for each part that fits beside the names of the rows.
pub(super) fn groups(matrix: &Matrix, set: Setting) -> Vec<Group> {
    let Setting { width, scale } = set;
    let widest = |texts: &mut dyn Iterator<Item = f32>| texts.fold(0.0_f32, f32::max);
    let names = matrix.rows.iter().map(|(name, _)| spread(name, Style::BODY, scale));
    let corner = spread(&matrix.corner, Style::LABEL, scale);
    let names = widest(&mut names.chain([corner])).clamp(30.0 * scale, width * 0.36) + 6.0 * scale + 0.1;
    let marks = matrix.rows.iter().flat_map(|(_, marks)| marks);
    let marks = widest(&mut marks.map(|mark| spread(&mark.letters, letters(mark.sign), scale)));
    let breadth = matrix.breadth();
    let heads: Vec<String> = (0..breadth).map(|n| matrix.column(n)).collect();
    let word = heads.iter().flat_map(|head| words(head)).map(|word| spread(word, Style::LABEL, scale));
    let word = widest(&mut word.map(|word| word.min(62.0 * scale)));
    let room = width - names;
    let least = (marks + (SHAPE + AFTER) * scale).max(word + 5.0 * scale).clamp(24.0 * scale, room * 0.5);
    let most = (room / least + 0.001) as usize;
    let parts = matrix.parts(most);
    let mut groups = Vec::new();
    // All parts have their columns at the same places.
    let longest = parts.iter().map(|part| part.len()).max().unwrap_or(1);
    let each = (room / longest as f32).min(least.max(WIDEST * scale));
    for (k, part) in parts.into_iter().enumerate() {
        let x = |n: usize| names + (n - part.start) as f32 * each;
        let across = names + part.len() as f32 * each;
        let mut cells = vec![Cell::new(0.0, names - 6.0 * scale, scale).gap(1.5).text(&matrix.corner, Style::LABEL)];
        cells.extend(
            part.clone().map(|n| Cell::new(x(n), each - 5.0 * scale, scale).gap(1.5).text(&heads[n], Style::LABEL)),
        );
        let head = vec![at_bottom(cells, 1.4 * scale).ruled(0.0, across, Ink::Quiet, 0.6)];
        let body = matrix.rows.iter().map(|(name, marks)| {
            let mut cells = vec![Cell::new(0.0, names - 6.0 * scale, scale).gap(1.3).text(name, Style::BODY)];
            cells.extend(part.clone().filter_map(|n| Some(sign(marks.get(n)?, (x(n), each), 1.3 * scale, scale))));
            row(cells, 2.0 * scale).ruled(0.0, across, Ink::Rule, 0.5)
        });
        let gap = if k == 0 { 4.0 } else { 9.0 };
        let lead = caption(&matrix.part_words(&part), set);
        groups.push(Group { lead, head, body: body.collect(), gap: gap * scale });
    }
    let legend = legend(matrix, set);
    if !legend.is_empty() {
        groups.push(Group { body: legend, gap: 5.0 * scale, ..Group::default() });
    }
    groups
}

fn letters(sign: Sign) -> Style {
    match sign {
        Sign::Good => Style::STRONG.ink(Ink::Good),
        Sign::Bad => Style::STRONG.ink(Ink::Paper),
        Sign::Open => Style::STRONG,
        Sign::Told => Style::STRONG.ink(Ink::Accent),
        Sign::None => Style::BODY.ink(Ink::Quiet),
    }
}

/// A sign in a place `width` wide, its top at `y`.
fn sign(mark: &Mark, (x, width): (f32, f32), y: f32, scale: f32) -> Cell {
    let style = letters(mark.sign);
    let inner = width - (SHAPE + AFTER) * scale;
    let shape = if matches!(mark.sign, Sign::Good | Sign::Told) { SHAPE } else { FIELD };
    let mut cell = Cell::new(x + shape * scale, inner, scale);
    cell.y = y;
    let mut cell = cell.text(&mark.letters, style);
    let line = style.at(scale).line;
    let middle = y + line / 2.0;
    let mut behind = Vec::new();
    match mark.sign {
        Sign::Good => tick(&mut behind, (x + 1.5 * scale, middle), scale, Ink::Good, line / scale),
        Sign::Bad | Sign::Open => {
            let wide = spread(&mark.letters, style, scale).min(inner) + 6.0 * scale;
            let (fill, edge) = if mark.sign == Sign::Bad { (Ink::Alarm, None) } else { (Ink::Paper, Some(Ink::Text)) };
            let height = (cell.y - y).max(line);
            // A little lower than the line is high, so that fields under each other stay apart.
            let (y, height) = (y + 0.3 * scale, height - 0.6 * scale);
            let field = Shape::Bar { x: x + (FIELD - 3.0) * scale, y, width: wide, height, fill, edge };
            behind.push(Piece::of(field));
        }
        Sign::Told => {
            let point = |dx: f32, dy: f32| (x + (4.6 + dx) * scale, middle + dy * scale);
            let points = vec![point(0.0, -2.2), point(2.2, 0.0), point(0.0, 2.2), point(-2.2, 0.0)];
            behind.push(Piece::of(Shape::Filled { points, ink: Ink::Accent }));
        }
        Sign::None => {}
    }
    behind.append(&mut cell.pieces);
    cell.pieces = behind;
    cell.y = cell.y.max(y + line);
    cell
}

/// What the signs mean, one after the other.
fn legend(matrix: &Matrix, set: Setting) -> Vec<Row> {
    let Setting { width, scale } = set;
    let style = Style::SMALL;
    let mut rows = Vec::new();
    let mut cells: Vec<Cell> = Vec::new();
    let mut x = 0.0;
    for (mark, words) in &matrix.legend {
        let signed =
            (spread(&mark.letters, letters(mark.sign), scale) + (SHAPE + AFTER) * scale + 0.1).min(width * 0.4);
        let told = spread(words, style, scale) + 0.1;
        if x > 0.0 && x + signed + told > width {
            rows.push(row(std::mem::take(&mut cells), 1.5 * scale));
            x = 0.0;
        }
        cells.push(sign(mark, (x, signed), 0.0, scale));
        let room = (width - x - signed).min(told);
        cells.push(Cell::new(x + signed, room, scale).gap(0.8).text(words, style));
        x += signed + room + 12.0 * scale;
    }
    if !cells.is_empty() {
        rows.push(row(cells, 1.5 * scale));
    }
    rows
}

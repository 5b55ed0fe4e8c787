//! The blocks of a paper as rows.

use super::super::cell::{self, Cell, Style, columns, row, tick};
use super::super::flow::{Piece, Row, moved};
use super::{Group, Setting, matrix};
use crate::chart::Shape;
use crate::palette::Ink;
use crate::paper::{Bar, Bars, Block, Column, Entry, Figure, Holds, Table, Tone};

/// Points above the words of a row of a table, and below them.
const ABOVE: f32 = 1.5;
const BELOW: f32 = 2.4;

const SUBHEADING: Style = Style { size: 8.4, line: 10.0, bold: true, ink: Ink::Text };
const FIGURE: Style = Style { size: 14.0, line: 16.0, bold: true, ink: Ink::Text };

/// A column narrower than this, in points at scale 1, cannot be read; the table stands as names and values then.
const LEAST: f32 = 26.0;

pub(super) fn heading(text: &str, set: Setting) -> Row {
    let cell = Cell::new(0.0, set.width, set.scale).text(text, Style::HEADING);
    let mut row = row(vec![cell], 1.6 * set.scale).ruled(0.0, set.width, Ink::Accent, 0.7);
    row.height += 1.5 * set.scale;
    row
}

pub(super) fn subheading(text: &str, set: Setting) -> Row {
    row(vec![Cell::new(0.0, set.width, set.scale).gap(2.0).text(text, SUBHEADING)], 1.0 * set.scale)
}

/// A block as groups of rows. Headings and breaks are no rows of their own.
pub(super) fn groups(block: &Block, set: Setting) -> Vec<Group> {
    let Setting { width, scale } = set;
    let cell = || Cell::new(0.0, width, scale);
    let plain = |body: Vec<Row>, gap: f32| vec![Group { body, gap: gap * scale, ..Group::default() }];
    match block {
        Block::Heading(_) | Block::Subheading(_) | Block::PageBreak => Vec::new(),
        Block::Text(text) => plain(vec![row(vec![cell().text(text, Style::BODY)], 0.0)], 4.5),
        Block::Note(text) => plain(vec![row(vec![cell().text(text, Style::SMALL)], 0.0)], 4.5),
        Block::Points(points) => plain(points.iter().map(|text| point(text, set)).collect(), 3.0),
        Block::Figures(all) => plain(figures(all, set), 7.0),
        Block::Entry(entry) => plain(vec![self::entry(entry, set)], 0.0),
        Block::Table(table) => vec![self::table(table, set)],
        Block::Bars(bars) => vec![self::bars(bars, set)],
        Block::Matrix(matrix) => matrix::groups(matrix, set),
    }
}

/// A line that says what follows; no row if there is nothing to say.
pub(super) fn caption(text: &str, set: Setting) -> Vec<Row> {
    if text.is_empty() {
        return Vec::new();
    }
    vec![row(vec![Cell::new(0.0, set.width, set.scale).text(text, Style::SMALL)], 1.5 * set.scale)]
}

fn point(text: &str, set: Setting) -> Row {
    let Setting { width, scale } = set;
    let dot = Cell::new(2.0 * scale, 6.0 * scale, scale).gap(0.8).text("•", Style::BODY.ink(Ink::Accent));
    let words = Cell::new(10.0 * scale, width - 10.0 * scale, scale).gap(0.8).text(text, Style::BODY);
    row(vec![dot, words], 1.2 * scale)
}

/// Large figures on a wash, four to a row at most.
fn figures(all: &[Figure], set: Setting) -> Vec<Row> {
    let Setting { width, scale } = set;
    let across = all.len().clamp(1, 4);
    let places = columns(&vec![1.0; across], width, 0.0);
    let inset = 8.0 * scale;
    all.chunks(across)
        .map(|some| {
            let cells: Vec<Cell> = some.iter().zip(&places).map(|(one, place)| figure(one, *place, set)).collect();
            let words = row(cells, 5.0 * scale);
            let wash = Shape::Bar { x: 0.0, y: 0.0, width, height: words.height, fill: Ink::Wash, edge: None };
            let mut pieces = vec![Piece::of(wash)];
            for (x, _) in places.iter().skip(1).take(some.len().saturating_sub(1)) {
                let (from, to) = ((*x, inset * 0.5), (*x, words.height - inset * 0.5));
                pieces.push(Piece::of(Shape::Stroke { from, to, width: 0.5, ink: Ink::Rule, dashed: false }));
            }
            pieces.extend(words.pieces);
            Row { height: words.height, pieces, keep_with_next: false }
        })
        .collect()
}

fn figure(one: &Figure, (x, width): (f32, f32), set: Setting) -> Cell {
    let scale = set.scale;
    let inset = 8.0 * scale;
    let mark = if one.tone == Tone::Plain || one.figure.is_empty() { 0.0 } else { 13.0 * scale };
    let (x, width) = (x + inset, width - 2.0 * inset);
    let middle = 4.0 * scale + FIGURE.at(scale).line / 2.0;
    let mut pieces = Vec::new();
    match one.tone {
        _ if mark <= 0.0 => {}
        Tone::Good => tick(&mut pieces, (x, middle), 1.5 * scale, Ink::Good, 8.0),
        Tone::Alarm => {
            let point = |dx: f32, dy: f32| (x + dx * scale, middle + dy * scale);
            let points = vec![point(0.0, 4.0), point(9.0, 4.0), point(4.5, -4.0)];
            pieces.push(Piece::of(Shape::Filled { points, ink: Ink::Alarm }));
        }
        Tone::Plain => {}
    }
    let mut large = Cell::new(x + mark, width - mark, scale).gap(4.0).text(&one.figure, FIGURE);
    large.pieces.extend(pieces);
    let mut words = Cell::new(x, width, scale);
    words.y = large.y;
    let words = words.text(&one.words, Style::SMALL.ink(Ink::Text));
    large.y = words.y;
    large.pieces.extend(words.pieces);
    large
}

/// A mark, a title, and what is told under it.
fn entry(entry: &Entry, set: Setting) -> Row {
    let Setting { width, scale } = set;
    let (mark, names, gap) = (58.0 * scale, 66.0 * scale, 4.0 * scale);
    let left = Cell::new(0.0, mark - gap, scale).gap(3.0);
    let left = match entry.tone {
        _ if entry.mark.is_empty() => left,
        Tone::Plain => left.gap(0.9).text(&entry.mark, Style::SMALL),
        tone => left.verdict(&entry.mark, tone),
    };
    let mut title = Cell::new(mark, width - mark, scale).gap(3.0);
    title = title.texts((&entry.title, Style::STRONG), (&entry.beside, Style::SMALL)).gap(0.8);
    let mut y = title.y;
    let mut cells = vec![left, title];
    for (name, words) in entry.lines.iter().filter(|(_, words)| !words.is_empty()) {
        let mut label = Cell::new(mark, names - gap, scale);
        label.y = y;
        let label = label.gap(0.9).text(name, Style::SMALL);
        let mut told = Cell::new(mark + names, width - mark - names, scale);
        told.y = y;
        let told = told.text(words, Style::BODY);
        y = label.y.max(told.y) + 0.8 * scale;
        cells.extend([label, told]);
    }
    row(cells, 3.4 * scale).ruled(0.0, width, Ink::Rule, 0.5)
}

/// Where the columns of a table stand; none if one would be too narrow.
fn places(columns: &[Column], set: Setting) -> Option<Vec<(f32, f32)>> {
    let gap = 11.0 * set.scale;
    let n = columns.len() as f32;
    let room = set.width - gap * (n - 1.0);
    if columns.is_empty() || room / n < LEAST * set.scale {
        return None;
    }
    // However the shares are, no column is unreadable.
    let all: f32 = columns.iter().map(|column| column.share.max(1) as f32).sum();
    let least = LEAST * set.scale;
    let spare = room - least * n;
    let wanted: Vec<f32> =
        columns.iter().map(|column| (room * column.share.max(1) as f32 / all - least).max(0.0)).collect();
    let want: f32 = wanted.iter().sum::<f32>().max(0.01);
    let mut x = 0.0;
    let place = |want_one: f32| {
        let one = (x, least + spare * want_one / want);
        x += one.1 + gap;
        one
    };
    Some(wanted.into_iter().map(place).collect())
}

fn table(table: &Table, set: Setting) -> Group {
    let Setting { width, scale } = set;
    let gap = 4.0 * scale;
    let lead = caption(&table.caption, set);
    let Some(places) = places(&table.columns, set) else {
        return Group { body: listed(table, set), lead, gap, ..Group::default() };
    };
    let cell = |n: usize, holds: Holds| {
        let cell = Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
        if holds == Holds::Number { cell.at_right() } else { cell }
    };
    let mut head = Vec::new();
    if table.columns.iter().any(|column| !column.title.is_empty()) {
        let titles = table.columns.iter().enumerate();
        let cells = titles.map(|(n, column)| cell(n, column.holds).text(&column.title, Style::LABEL)).collect();
        head.push(at_bottom(cells, 1.4 * scale).ruled(0.0, width, Ink::Quiet, 0.6));
    }
    let body = table.rows.iter().map(|one| {
        let cells = table.cells(one).into_iter().zip(&table.columns).enumerate();
        let cells = cells.map(|(n, (words, column))| {
            let cell = cell(n, column.holds);
            match column.holds {
                Holds::Lead => cell.text(&words, Style::STRONG),
                Holds::Words | Holds::Number => cell.text(&words, Style::BODY),
                Holds::Small => cell.gap(0.8).text(&words, Style::SMALL),
                Holds::Verdict if words.is_empty() => cell,
                Holds::Verdict => cell.verdict(&words, one.tone),
            }
        });
        row(cells.collect(), BELOW * scale).ruled(0.0, width, Ink::Rule, 0.5)
    });
    Group { body: body.collect(), lead, head, gap }
}

/// A table of too many columns, as names and values.
fn listed(table: &Table, set: Setting) -> Vec<Row> {
    let Setting { width, scale } = set;
    let rows = table.rows.iter().map(|one| {
        let mut cell = Cell::new(0.0, width, scale).gap(ABOVE);
        for (n, words) in table.cells(one).iter().enumerate().filter(|(_, words)| !words.is_empty()) {
            let name = table.columns.get(n).map(|column| column.title.as_str()).unwrap_or_default();
            let style = if n == 0 { Style::STRONG } else { Style::BODY };
            cell = cell.text(&crate::words::joined(": ", &[if n == 0 { "" } else { name }, words]), style);
        }
        row(vec![cell], BELOW * scale).ruled(0.0, width, Ink::Rule, 0.5)
    });
    rows.collect()
}

/// Cells side by side with their last lines on one height.
pub(super) fn at_bottom(cells: Vec<Cell>, below: f32) -> Row {
    let lowest = cells.iter().map(|cell| cell.y).fold(0.0_f32, f32::max);
    let mut pieces = Vec::new();
    for cell in cells {
        let down = lowest - cell.y;
        pieces.extend(cell.pieces.into_iter().map(|piece| Piece {
            top: piece.top + down,
            height: piece.height,
            shape: moved(&piece.shape, 0.0, down),
        }));
    }
    Row { height: lowest + below, pieces, keep_with_next: false }
}

fn bars(bars: &Bars, set: Setting) -> Group {
    let Setting { width, scale } = set;
    let places = columns(&[0.38, 0.3, 0.32], width, 10.0 * scale);
    let body = bars.rows.iter().map(|bar| {
        let label = Cell::new(places[0].0, places[0].1, scale).gap(1.2).text(&bar.label, Style::BODY);
        let words = Cell::new(places[2].0, places[2].1, scale).gap(2.0).text(&bar.words, Style::SMALL.ink(Ink::Text));
        let mut plot = Cell::new(places[1].0, places[1].1, scale);
        plot.pieces = drawn(bar, places[1], scale);
        row(vec![label, plot, words], 1.4 * scale)
    });
    Group { body: body.collect(), lead: caption(&bars.caption, set), gap: 4.0 * scale, ..Group::default() }
}

/// A track with the share on it, and a line with ends where it may well lie.
fn drawn(bar: &Bar, (x, width): (f32, f32), scale: f32) -> Vec<Piece> {
    let Some(share) = bar.per_mille else { return Vec::new() };
    let at = |share: u16| x + width * f32::from(share.min(1000)) / 1000.0;
    let (y, height) = (2.6 * scale, 6.4 * scale);
    let track = Shape::Bar { x, y, width, height, fill: Ink::Wash, edge: None };
    let fill = Shape::Bar { x, y, width: at(share) - x, height, fill: Ink::Pale, edge: None };
    let end = Shape::Stroke {
        from: (at(share), y),
        to: (at(share), y + height),
        width: 2.0,
        ink: Ink::Accent,
        dashed: false,
    };
    let mut shapes = vec![track, fill, end];
    if let Some((one, other)) = bar.between {
        let (low, high) = (at(one.min(other)), at(one.max(other)));
        let (middle, half) = (y + height / 2.0, 1.9 * scale);
        let stroke = |from, to| Shape::Stroke { from, to, width: 0.9, ink: Ink::Text, dashed: false };
        shapes.push(stroke((low, middle), (high, middle)));
        shapes.extend([low, high].map(|x| stroke((x, middle - half), (x, middle + half))));
    }
    shapes.into_iter().map(Piece::of).collect()
}

/// The width of a spelled text in a style.
pub(super) fn spread(text: &str, style: Style, scale: f32) -> f32 {
    cell::width(&crate::helvetica::spell(text), style.at(scale).size, style.bold)
}

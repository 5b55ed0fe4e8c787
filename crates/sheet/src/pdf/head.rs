//! The head of the page: whose sample this is, who tested it, and what it comes to.

use super::cell::{self, Cell, Style, columns, row};
use super::flow::{Piece, Row};
use crate::chart::Shape;
use crate::helvetica;
use crate::palette::Ink;
use crate::words::{self, Tone};
use crate::{Purpose, Sheet, moment};

/// The rows of the head, `width` points wide.
pub(super) fn rows(sheet: &Sheet, width: f32, scale: f32) -> Vec<Row> {
    let mut rows = vec![name(sheet, width, scale)];
    if let Some(notice) = sheet.head.simulated.as_ref().filter(|_| sheet.head.purpose != Purpose::Practice) {
        rows.push(Row::space(3.0 * scale));
        rows.push(banner(notice, width, scale));
    }
    rows.push(Row::space(3.0 * scale));
    rows.push(facts(sheet, width, scale));
    rows.push(Row::space(4.0 * scale));
    rows.push(summary(sheet, width, scale));
    rows
}

/// What stands at the top of a further page.
pub(super) fn running(sheet: &Sheet, width: f32, scale: f32) -> Row {
    let head = &sheet.head;
    let name = words::joined(" ", &["Sample", &head.sample]);
    let text = words::joined(" · ", &[&name, &head.project, &words::day_words(sheet)]);
    let cell = Cell::new(0.0, width, scale).text(&text, Style::SMALL);
    row(vec![cell], 3.0 * scale).ruled(0.0, width, Ink::Rule, 0.6)
}

fn name(sheet: &Sheet, width: f32, scale: f32) -> Row {
    let head = &sheet.head;
    let places = columns(&[0.66, 0.34], width, 14.0 * scale);
    let ((left_x, left), (right_x, right)) = (places[0], places[1]);
    let sample =
        if head.sample.is_empty() { "Sample without a name".to_owned() } else { format!("Sample {}", head.sample) };
    let big = Style { size: 19.0, line: 21.0, bold: true, ink: Ink::Text };
    let what = Cell::new(left_x, left, scale)
        .text(&head.title, Style { size: 8.6, line: 11.0, bold: true, ink: Ink::Accent })
        .text(&sample, big)
        .gap(1.0)
        .text(&words::joined(" · ", &[&head.project, &head.location]), Style { size: 9.4, line: 11.6, ..Style::BODY });
    let times = words::joined(
        " · ",
        &[&words::joined(" ", &["local time", &moment::offset_words(&head.offset)]), head.system.words()],
    );
    let day = Style { size: 12.5, line: 15.5, bold: true, ink: Ink::Text };
    let when = Cell::new(right_x, right, scale).at_right();
    let when = match head.purpose {
        Purpose::Acceptance => {
            when.text(head.purpose.words(), Style { size: 8.6, line: 11.0, bold: true, ink: Ink::Accent })
        }
        // What accepts nothing must not be taken for what does, in grey print either.
        Purpose::Preliminary | Purpose::Practice => flag(when, head.purpose.words(), scale),
    };
    let mut when = when.gap(3.6).text(&words::day_words(sheet), day).gap(1.0);
    // The flag above says what it is; why stands under the day.
    if let (Purpose::Practice, Some(notice)) = (head.purpose, &head.simulated) {
        when = when.text(notice, Style { bold: true, ..Style::SMALL }.ink(Ink::Text));
    } else {
        when = when.gap(2.8);
    }
    let when = when.text(&times, Style::SMALL);
    row(vec![what, when], 4.0 * scale).ruled(0.0, width, Ink::Text, 1.2)
}

/// White words on a dark field at the right.
fn flag(cell: Cell, text: &str, scale: f32) -> Cell {
    let before = cell.pieces.len();
    let mut cell = cell.text(text, Style { size: 8.6, line: 11.6, bold: true, ink: Ink::Paper });
    let inset = 4.0 * scale;
    let mut fields = Vec::new();
    for piece in &mut cell.pieces[before..] {
        if let Shape::Words { x, size, text, .. } = &mut piece.shape {
            let spread = cell::width(text, *size, true) + 2.0 * inset;
            let fill = Ink::Text;
            let bar =
                Shape::Bar { x: *x - spread, y: piece.top, width: spread, height: piece.height, fill, edge: None };
            fields.push(Piece { top: piece.top, height: piece.height, shape: bar });
            *x -= inset;
        }
    }
    cell.pieces.splice(before..before, fields);
    cell
}

/// A line that must not be overlooked.
fn banner(text: &str, width: f32, scale: f32) -> Row {
    let inset = 8.0 * scale;
    let cell = Cell::new(inset, width - 2.0 * inset, scale).gap(2.6).text(text, Style::STRONG);
    let mut row = row(vec![cell], 2.6 * scale);
    fill(&mut row, 0.0, width, Ink::Wash);
    fill(&mut row, 0.0, 3.0 * scale, Ink::Text);
    // The dark edge lies on the field, not under it.
    row.pieces.swap(0, 1);
    row
}

/// Puts a field behind everything in a row.
fn fill(row: &mut Row, x: f32, width: f32, fill: Ink) {
    let shape = Shape::Bar { x, y: 0.0, width, height: row.height, fill, edge: None };
    row.pieces.insert(0, Piece { top: 0.0, height: row.height, shape });
}

fn facts(sheet: &Sheet, width: f32, scale: f32) -> Row {
    let head = &sheet.head;
    let truck = words::joined(
        ", ",
        &[
            &if head.truck.is_empty() { String::new() } else { format!("truck {}", head.truck) },
            &if head.ticket.is_empty() { String::new() } else { format!("ticket {}", head.ticket) },
        ],
    );
    let certificate = words::certificate(sheet);
    let facts = [
        ("Mixture", &head.mixture),
        ("Delivered by", &truck),
        ("Tested by", &head.technician.name),
        ("Certificate", &certificate),
    ];
    // Each as wide as it needs, within reason.
    let needed = facts.map(|(_, value)| {
        let spread = cell::width(&helvetica::spell(value), Style::BODY.at(scale).size, false);
        spread.clamp(0.14 * width, 0.5 * width)
    });
    let places = columns(&needed, width, 12.0 * scale);
    let cells = facts.iter().zip(&places).map(|((label, value), (x, width))| {
        let cell = Cell::new(*x, *width, scale).text(label, Style::LABEL);
        if value.is_empty() {
            cell.text("not told", Style::BODY.ink(Ink::Quiet))
        } else {
            cell.text(value, Style::BODY)
        }
    });
    row(cells.collect(), 2.0 * scale)
}

/// The four figures the page comes to.
fn summary(sheet: &Sheet, width: f32, scale: f32) -> Row {
    let lines = words::headlines(sheet);
    let places = columns(&[1.0; 4], width, 0.0);
    let inset = 7.0 * scale;
    let figure = Style { size: 13.0, line: 14.6, bold: true, ink: Ink::Text };
    let cells: Vec<Cell> = lines
        .iter()
        .zip(&places)
        .map(|(line, (x, width))| {
            let cell = Cell::new(x + inset, width - 2.0 * inset, scale).gap(2.8);
            let (y, mark) = (cell.y + figure.line * scale / 2.0, x + inset);
            let mut marks = Vec::new();
            let ink = match line.tone {
                Tone::Good => {
                    cell::tick(&mut marks, (mark, y + 0.4 * scale), scale * 1.25, Ink::Good, figure.line);
                    Ink::Text
                }
                Tone::Alarm => {
                    let (side, half) = (9.0 * scale, 4.2 * scale);
                    let points = vec![(mark, y + half), (mark + side / 2.0, y - half), (mark + side, y + half)];
                    let shape = Shape::Filled { points, ink: Ink::Alarm };
                    marks.push(Piece { top: y - half, height: 2.0 * half, shape });
                    Ink::Alarm
                }
                Tone::Plain => Ink::Text,
            };
            let shift = if marks.is_empty() { 0.0 } else { 12.5 * scale };
            let mut cell = Cell::new(x + inset + shift, width - 2.0 * inset - shift, scale)
                .gap(2.8)
                .text(&line.figure, figure.ink(ink));
            cell.pieces.extend(marks);
            let below = cell.y;
            let mut words = Cell::new(x + inset, width - 2.0 * inset, scale);
            words.y = below;
            let mut words = words.text(&line.words, Style::SMALL.ink(Ink::Text));
            words.pieces.extend(cell.pieces);
            words
        })
        .collect();
    let mut row = row(cells, 3.0 * scale);
    for (x, _) in &places[1..] {
        let (from, to) = ((*x, 4.0 * scale), (*x, row.height - 4.0 * scale));
        let shape = Shape::Stroke { from, to, width: 0.5, ink: Ink::Rule, dashed: false };
        row.pieces.push(Piece { top: 0.0, height: row.height, shape });
    }
    fill(&mut row, 0.0, width, Ink::Wash);
    row
}

//! The foot of the last page: signatures, notices, the record; and the number on every page.

use super::cell::{self, Cell, Style, columns, row};
use super::flow::{Piece, Row};
use crate::chart::Shape;
use crate::helvetica;
use crate::palette::Ink;
use crate::{Sheet, words};

/// Said where letters stand as numbers.
const NUMBERED: &str =
    "Letters this typeface lacks stand as their Unicode numbers; the other forms of this sheet show them.";

/// The closing rows, `width` points wide.
pub(super) fn rows(sheet: &Sheet, width: f32, scale: f32) -> Vec<Row> {
    let mut rows = vec![signatures(width, scale), Row::space(3.0 * scale)];
    let mut notices: Vec<&str> = vec![words::UNSIGNED];
    notices.extend(sheet.head.notices.iter().map(String::as_str));
    if helvetica::lacks_letters(&crate::json(sheet)) {
        notices.push(NUMBERED);
    }
    // How the records are kept comes last: what it says stands below it.
    notices.push(&sheet.record.kept);
    let said = Cell::new(0.0, width, scale).text(&words::joined(" ", &notices), Style::FINE);
    rows.push(row(vec![said], 1.6 * scale));
    let record = &sheet.record;
    let runs: Vec<String> = record.runs.iter().map(|run| words::joined(" ", &[&run.name, &run.checksum])).collect();
    // Two to a line only if each stays on its line.
    let (fine, two) = (Style::FINE.at(scale), columns(&[1.0, 1.0], width, 10.0 * scale));
    let fits = runs.iter().all(|run| cell::width(&helvetica::spell(run), fine.size, false) <= two[0].1);
    let places = if fits { two } else { columns(&[1.0], width, 0.0) };
    for some in runs.chunks(places.len()) {
        let cells =
            some.iter().zip(&places).map(|(run, (x, width))| Cell::new(*x, *width, scale).text(run, Style::FINE));
        rows.push(row(cells.collect(), 0.0));
    }
    rows
}

/// Two lines to be signed on.
fn signatures(width: f32, scale: f32) -> Row {
    let places = columns(&[0.36, 0.14, 0.36, 0.14], width, 10.0 * scale);
    let cells = ["Technician, signature", "Date", "Reviewer, signature", "Date"].iter().zip(&places).map(
        |(name, (x, width))| {
            let mut cell = Cell::new(*x, *width, scale).gap(16.0);
            let (from, to) = ((*x, cell.y), (x + width, cell.y));
            let shape = Shape::Stroke { from, to, width: 0.7, ink: Ink::Text, dashed: false };
            cell.pieces.push(Piece { top: cell.y, height: 0.0, shape });
            cell = cell.gap(0.8).text(name, Style::LABEL);
            cell
        },
    );
    let mut row = row(cells.collect(), 0.0);
    row.keep_with_next = true;
    row
}

/// The last line of each page.
pub(super) fn foot(sheet: &Sheet, width: f32, scale: f32, page: usize, of: usize) -> Row {
    let head = &sheet.head;
    let made = words::joined(" ", &[&head.tool, &head.version]);
    let places = columns(&[0.7, 0.3], width, 10.0);
    let scale = scale.min(1.0);
    let left = Cell::new(places[0].0, places[0].1, scale).text(&made, Style::FINE);
    let number = format!("page {page} of {of}");
    let right = Cell::new(places[1].0, places[1].1, scale).at_right().text(&number, Style::FINE);
    row(vec![left, right], 0.0)
}

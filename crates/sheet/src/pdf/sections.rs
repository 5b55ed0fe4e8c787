//! What stands where on the page.

use super::cell::{self, Cell, Style, columns, row};
use super::flow::{Page, Pages, Paper, Piece, Place, Row};
use super::{head, tail};
use crate::chart;
use crate::helvetica;
use crate::palette::Ink;
use crate::words::{self, shown};
use crate::{Judged, Sheet, moment};

/// A heading with what stands under it. The first rows of a table are its head and are repeated on each further page.
struct Section {
    head: Vec<Row>,
    rows: Vec<Row>,
}

/// The sheet on pages, every size multiplied by `scale`.
pub(super) fn lay_out(sheet: &Sheet, paper: Paper, scale: f32) -> Vec<Page> {
    let closest = 4.2 * scale;
    let (pages, left, gaps) = set(sheet, paper, scale, closest);
    if pages.len() > 1 || gaps == 0 {
        return pages;
    }
    // What is left over on the one page goes between the sections rather than to its foot, within reason.
    let more = (left / gaps as f32).clamp(0.0, 9.0 * scale);
    let (roomy, ..) = set(sheet, paper, scale, closest + more - 0.02);
    if roomy.len() == 1 { roomy } else { pages }
}

/// Sets the pages with `gap` between sections; also what is left at the foot, and how many gaps there were.
fn set(sheet: &Sheet, paper: Paper, scale: f32, gap: f32) -> (Vec<Page>, f32, usize) {
    let width = paper.inner();
    let running = head::running(sheet, width, scale);
    let mut pages = Pages::new(paper, Paper::TOP + running.height + 6.0 * scale);
    let left = Paper::SIDE;
    let mut gaps = 0;
    let mut at = pages.start();
    at = pages.place(&head::rows(sheet, width, scale), &[], left, at);

    let single = |pages: &mut Pages, section: Option<Section>, at: Place, gaps: &mut usize| {
        let Some(section) = section else { return at };
        *gaps += 1;
        section.place(pages, left, Place { y: at.y + gap, ..at })
    };
    at = single(&mut pages, results(sheet, width, scale), at, &mut gaps);
    at = single(&mut pages, timeline(sheet, width, scale), at, &mut gaps);
    at = single(&mut pages, windows(sheet, width, scale), at, &mut gaps);
    at = single(&mut pages, happenings(sheet, width, scale), at, &mut gaps);

    // Specimens and apparatus side by side, delivery and weather under the shorter of them.
    let (one, other) = abreast(sheet, width, scale, gap);
    if one.is_empty() || other.is_empty() {
        let sections = [specimens(sheet, width, scale), apparatus(sheet, width, scale)].into_iter().flatten();
        for section in sections.chain(around(sheet, width, scale)) {
            at = single(&mut pages, Some(section), at, &mut gaps);
        }
    } else {
        let top = Place { y: at.y + gap, ..at };
        let stack = |pages: &mut Pages, sections: &[Section], x: f32| {
            let mut here = top;
            for (n, section) in sections.iter().enumerate() {
                let above = if n == 0 { 0.0 } else { gap };
                here = section.place(pages, left + x, Place { y: here.y + above, ..here });
            }
            here
        };
        let halves = halves(width, scale);
        gaps += one.len().max(other.len());
        at = stack(&mut pages, &one, halves[0].0).lower(stack(&mut pages, &other, halves[1].0));
    }
    at = single(&mut pages, due(sheet, width, scale), at, &mut gaps);

    let closing = tail::rows(sheet, width, scale);
    let height: f32 = closing.iter().map(|row| row.height).sum();
    let free = paper.bottom() - at.y - height - gap;
    gaps += 1;
    // The signatures stand at the foot of the last page.
    let foot = if free > 0.0 { paper.bottom() - height } else { at.y + gap };
    pages.place(&closing, &[], left, Place { y: foot, ..at });
    finish(sheet, &mut pages, &running, scale);
    (pages.pages, free, gaps)
}

fn halves(width: f32, scale: f32) -> Vec<(f32, f32)> {
    columns(&[1.0, 1.0], width, 18.0 * scale)
}

/// What stands in the two columns below the time limits, about equally high.
fn abreast(sheet: &Sheet, width: f32, scale: f32, gap: f32) -> (Vec<Section>, Vec<Section>) {
    let half = halves(width, scale)[0].1;
    let mut one: Vec<Section> = specimens(sheet, half, scale).into_iter().collect();
    let mut other: Vec<Section> = apparatus(sheet, half, scale).into_iter().collect();
    for section in around(sheet, half, scale) {
        let height = |stack: &[Section]| stack.iter().map(|section| section.height() + gap).sum::<f32>();
        if height(&one) <= height(&other) { &mut one } else { &mut other }.push(section);
    }
    (one, other)
}

/// Running heads and page numbers, once the number of pages is known.
fn finish(sheet: &Sheet, pages: &mut Pages, running: &Row, scale: f32) {
    let (paper, count) = (pages.paper, pages.pages.len());
    for (n, page) in pages.pages.iter_mut().enumerate() {
        if n > 0 {
            let shapes = running.pieces.iter().map(|piece| super::flow::moved(&piece.shape, Paper::SIDE, Paper::TOP));
            page.extend(shapes);
        }
        let line = tail::foot(sheet, paper.inner(), scale, n + 1, count);
        let y = paper.bottom() + 7.0;
        page.extend(line.pieces.iter().map(|piece| super::flow::moved(&piece.shape, Paper::SIDE, y)));
    }
}

impl Section {
    fn new(title: &str, width: f32, scale: f32) -> Self {
        let cell = Cell::new(0.0, width, scale).text(title, Style::HEADING);
        let mut heading = row(vec![cell], 1.0 * scale).ruled(0.0, width, Ink::Accent, 0.8);
        heading.keep_with_next = true;
        Self { head: vec![heading], rows: Vec::new() }
    }

    /// The names of the columns on the line of the heading, the ones in `right` at the right. The heading itself names the
    /// first.
    fn with_columns(mut self, names: &[&str], places: &[(f32, f32)], right: &[usize], scale: f32) -> Self {
        let cells = names.iter().zip(places).enumerate().map(|(n, (name, (x, width)))| {
            let cell = Cell::new(*x, *width, scale).gap(2.6);
            if right.contains(&n) { cell.at_right() } else { cell }.text(name, Style::LABEL)
        });
        let pieces: Vec<Piece> = cells.flat_map(|cell| cell.pieces).collect();
        if let Some(heading) = self.head.first_mut() {
            heading.pieces.extend(pieces);
        }
        self
    }

    fn height(&self) -> f32 {
        self.head.iter().chain(&self.rows).map(|row| row.height).sum()
    }

    fn place(&self, pages: &mut Pages, x: f32, at: Place) -> Place {
        let all: Vec<Row> = self.head.iter().chain(&self.rows).cloned().collect();
        // On a further page the heading stands again, so that a table is never without its columns.
        let first = all.first().map_or(0.0, |row| row.height);
        let needed: f32 =
            self.head.iter().map(|row| row.height).sum::<f32>() + self.rows.first().map_or(first, |row| row.height);
        let at = if at.y + needed > pages.paper.bottom() && at.y > pages.later_top && needed < 0.5 * pages.paper.height
        {
            Place { page: at.page + 1, y: pages.later_top }
        } else {
            at
        };
        let at = pages.place(&self.head, &[], x, at);
        pages.place(&self.rows, &self.head, x, at)
    }
}

/// A row of a table, with a fine line under it.
fn line(cells: Vec<Cell>, width: f32, scale: f32) -> Row {
    row(cells, 0.8 * scale).ruled(0.0, width, Ink::Rule, 0.4)
}

/// Space above the first line of a table's cell.
const ABOVE: f32 = 0.8;

fn results(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.results.is_empty() {
        return None;
    }
    let places = columns(&[0.44, 0.055, 0.057, 0.072, 0.276, 0.1], width, 5.0 * scale);
    // The unit stands close to its number.
    let cell = |n: usize| {
        let (x, width) = places[n];
        let (x, width) = if n == 2 { (x - 2.4 * scale, width + 2.4 * scale) } else { (x, width) };
        Cell::new(x, width, scale).gap(ABOVE)
    };
    let names = ["", "Value", "", "Unrounded", "Limit as specified", "Verdict"];
    let mut section = Section::new("Results", width, scale).with_columns(&names, &places, &[1], scale);
    let mut before = None;
    for result in &sheet.results {
        let group = (&result.run, &result.test, &result.basis);
        let source = if before == Some(group) { "" } else { result.source_words() };
        before = Some(group);
        let name = if result.name.is_empty() { &result.test } else { &result.name };
        let (value, unit) = result.value_words();
        let limit = match &result.limit {
            Some(limit) => cell(4).texts((limit, Style::BODY), (&result.limit_source, Style::SMALL)),
            None => cell(4).text("none", Style::BODY.ink(Ink::Quiet)).text(&result.limit_source, Style::SMALL),
        };
        let mut cells = vec![
            cell(0).texts((name, Style::STRONG), (source, Style::SMALL)),
            cell(1).at_right().text(&value, Style::VALUE),
            cell(2).text(unit, Style::BODY),
            cell(3).gap(0.7).text(&result.unrounded(), Style::SMALL),
            limit,
            cell(5).verdict(result.verdict_words(), result.tone()),
        ];
        // How it was found stands under it, as wide as it needs.
        let mut workings = Cell::new(0.0, width, scale);
        let small = Style::SMALL.at(scale);
        let spread = cell::width(&helvetica::spell(&result.workings()), small.size, false);
        // What is short stands to the left of the limit, however high that is.
        let above = if spread < places[4].0 - 2.0 { &cells[..4] } else { cells.as_slice() };
        workings.y = above.iter().map(|cell| cell.y).fold(0.0, f32::max);
        let below = workings.y;
        workings = workings.text(&result.workings(), Style::SMALL);
        if workings.y > below {
            cells.push(workings);
        }
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

fn timeline(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    let chart = chart::draw(sheet, width, scale)?;
    let mut section = Section::new("Timeline", width, scale);
    // The meaning of the shapes stands beside the heading.
    if let Some(heading) = section.head.first_mut() {
        let (dx, dy) = (width - chart.legend_width, 1.2 * scale);
        heading.pieces.extend(chart.legend.shapes.iter().map(|shape| Piece::of(super::flow::moved(shape, dx, dy))));
    }
    section.rows = chart
        .strips
        .into_iter()
        .map(|strip| Row {
            height: strip.height,
            pieces: strip.shapes.into_iter().map(Piece::of).collect(),
            keep_with_next: false,
        })
        .collect();
    if let Some(axis) = section.rows.first_mut() {
        axis.keep_with_next = true;
    }
    Some(section)
}

fn windows(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.windows.is_empty() {
        return None;
    }
    let places = columns(&[0.118, 0.482, 0.147, 0.062, 0.062, 0.16], width, 6.0 * scale);
    let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
    let names = ["", "", "Clock", "Allowed", "Took", "Verdict"];
    let mut section = Section::new("Time limits", width, scale).with_columns(&names, &places, &[3, 4], scale);
    for window in &sheet.windows {
        let cells = vec![
            cell(0).text(&words::test_words(&window.test), Style::STRONG),
            cell(1).texts((&window.name, Style::BODY), (&window.between(), Style::SMALL)),
            cell(2).text(&window.clock(sheet), Style::BODY),
            cell(3).at_right().text(&window.allowed_words(), Style::BODY),
            cell(4).at_right().text(&window.took_words(), Style::BODY),
            cell(5).verdict(&window.verdict.words(), window.verdict.tone()),
        ];
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

/// The columns of names and values.
fn named(width: f32, scale: f32) -> Vec<(f32, f32)> {
    columns(&[0.43, 0.57], width, 6.0 * scale)
}

/// Names and values one after the other, as many to a line as it holds.
fn flowing(pairs: &[(String, String)], width: f32, scale: f32) -> Vec<Row> {
    let (name_style, value_style) = (Style::BODY.ink(Ink::Quiet), Style::BODY);
    let spread = |text: &str| cell::width(&helvetica::spell(text), Style::BODY.at(scale).size, false);
    let (close, apart) = (4.0 * scale, 12.0 * scale);
    let mut rows = Vec::new();
    let mut cells: Vec<Cell> = Vec::new();
    let mut x = 0.0;
    for (name, value) in pairs {
        let (name_spread, value_spread) = (spread(name), spread(value));
        let needed = name_spread + close + value_spread + 0.1;
        if x > 0.0 && x + needed > width {
            rows.push(row(std::mem::take(&mut cells), 0.5 * scale));
            x = 0.0;
        }
        // One that is wider than the line is wrapped on lines of its own.
        let (name_width, value_x) =
            if needed > width { (width * 0.4, width * 0.4 + close) } else { (name_spread + 0.1, name_spread + close) };
        let value_width = if needed > width { width - value_x } else { value_spread + 0.1 };
        cells.push(Cell::new(x, name_width, scale).gap(ABOVE).text(name, name_style));
        cells.push(Cell::new(x + value_x, value_width, scale).gap(ABOVE).text(value, value_style));
        x += needed + apart;
    }
    if !cells.is_empty() {
        rows.push(row(cells, 0.5 * scale));
    }
    rows
}

/// The rows with a fine line under the last.
fn closed(mut rows: Vec<Row>, width: f32) -> Vec<Row> {
    if let Some(last) = rows.pop() {
        rows.push(last.ruled(0.0, width, Ink::Rule, 0.4));
    }
    rows
}

/// The ticket and the weather: under one heading where both are short.
fn around(sheet: &Sheet, width: f32, scale: f32) -> Vec<Section> {
    let told = words::delivery(sheet);
    let air: Vec<_> = words::weather(sheet).into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
    let caution = &sheet.weather.caution;
    let has_weather = !air.is_empty() || !caution.is_empty();
    let judged = &sheet.delivery.judged;
    let mut sections = Vec::new();
    if judged.is_empty() && !told.is_empty() && has_weather {
        let mut section = Section::new("Delivery and weather", width, scale);
        section.rows = closed(flowing(&[told, air].concat(), width, scale), width);
        sections.push(section);
    } else {
        if !told.is_empty() || !judged.is_empty() {
            let mut section = Section::new("Delivery", width, scale);
            section.rows = closed(flowing(&told, width, scale), width);
            section.rows.extend(judged.iter().map(|judged| self::judged(judged, width, scale)));
            sections.push(section);
        }
        if has_weather {
            let mut section = Section::new("Weather", width, scale);
            section.rows = closed(flowing(&air, width, scale), width);
            sections.push(section);
        }
    }
    let caution = Cell::new(0.0, width, scale).gap(ABOVE).text(caution, Style::STRONG);
    if let Some(weather) = sections.last_mut().filter(|_| !caution.pieces.is_empty()) {
        weather.rows.push(row(vec![caution], 1.0 * scale));
    }
    sections
}

/// A value held against a limit.
fn judged(judged: &Judged, width: f32, scale: f32) -> Row {
    // Value and verdict share the column of the values.
    let (name, values) = (named(width, scale)[0], named(width, scale)[1]);
    let shared = columns(&[0.48, 0.52], values.1, 4.0 * scale);
    let places = [name, (values.0, shared[0].1), (values.0 + shared[1].0, shared[1].1)];
    let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
    let value = cell(1).text(&shown(&judged.value), Style::STRONG);
    let verdict = cell(2).verdict(judged.verdict.words(), judged.verdict.tone());
    // The limit runs on under both.
    let mut limit = Cell::new(places[1].0, width - places[1].0, scale);
    limit.y = value.y.max(verdict.y);
    let limit = limit.text(&judged.limit_words(), Style::SMALL);
    let cells = vec![cell(0).text(&judged.name, Style::BODY.ink(Ink::Quiet)), value, verdict, limit];
    line(cells, width, scale)
}

fn apparatus(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.apparatus.is_empty() {
        return None;
    }
    let mut section = Section::new("Apparatus", width, scale);
    let places = columns(&[0.42, 0.58], width, 6.0 * scale);
    for piece in &sheet.apparatus {
        let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
        let cells = vec![
            cell(0).text(&words::joined(" ", &[&piece.kind, &piece.id]), Style::BODY),
            cell(1).gap(0.8).standing(&words::standing(piece), piece.standing.tone()),
        ];
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

fn specimens(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.specimens.is_empty() {
        return None;
    }
    let mut section = Section::new("Specimens", width, scale);
    for set in &sheet.specimens {
        let what = words::set_words(set);
        let title = Cell::new(0.0, width, scale)
            .gap(ABOVE)
            .texts((&what, Style::STRONG), (&words::labels(&set.labels), Style::BODY));
        section.rows.push(row(vec![title], 0.0));
        let facts = words::set_facts(sheet, set).into_iter().map(|(name, value)| (name.to_owned(), value));
        section.rows.extend(flowing(&facts.collect::<Vec<_>>(), width, scale));
        section.rows = closed(std::mem::take(&mut section.rows), width);
    }
    Some(section)
}

fn due(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.appointments.is_empty() {
        return None;
    }
    let mut section = Section::new("Due later", width, scale);
    let places = columns(&[0.217, 0.643, 0.14], width, 6.0 * scale);
    for appointment in &sheet.appointments {
        let pieces = words::pieces(appointment);
        let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
        // What is about no specimen of its own has their column as well.
        let title =
            if pieces.is_empty() { Cell::new(places[1].0, width - places[1].0, scale).gap(ABOVE) } else { cell(1) };
        let cells = vec![
            cell(0).text(&words::due(sheet, appointment), Style::STRONG),
            title.text(&appointment.title, Style::BODY),
            cell(2).gap(0.8).text(&pieces, Style::SMALL.ink(Ink::Text)),
        ];
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

fn happenings(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    let all = words::happenings(sheet);
    if all.is_empty() {
        return None;
    }
    let mut section = Section::new("Discarded, found, overruled, corrected", width, scale);
    let places = columns(&[0.066, 0.086, 0.108, 0.74], width, 6.0 * scale);
    for happening in &all {
        let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
        let at = moment::at_words(&happening.at, &sheet.head.date, &sheet.head.offset);
        let cells = vec![
            cell(0).text(&at, Style::BODY),
            cell(1).text(happening.kind, Style::STRONG),
            cell(2).text(&happening.test, Style::BODY),
            cell(3).text(&happening.words, Style::BODY),
        ];
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

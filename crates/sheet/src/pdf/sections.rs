//! What stands where on the page.

use super::cell::{Cell, Style, columns, row};
use super::flow::{Page, Pages, Paper, Piece, Place, Row};
use super::{head, tail};
use crate::chart;
use crate::palette::Ink;
use crate::words::{self, shown};
use crate::{Sheet, moment};

/// A heading with what stands under it. The first rows of a table are its head and are repeated on each further page.
struct Section {
    head: Vec<Row>,
    rows: Vec<Row>,
}

/// The sheet on pages, every size multiplied by `scale`.
pub(super) fn lay_out(sheet: &Sheet, paper: Paper, scale: f32) -> Vec<Page> {
    let closest = 5.6 * scale;
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

    // Two columns side by side, or one of full width if the other has nothing to say.
    let halves = columns(&[0.56, 0.44], width, 18.0 * scale);
    let first = |width: f32| [specimens(sheet, width, scale), due(sheet, width, scale), weather(sheet, width, scale)];
    let second = |width: f32| [delivery(sheet, width, scale), apparatus(sheet, width, scale), None];
    let (has_first, has_second) = (first(width).iter().any(Option::is_some), second(width).iter().any(Option::is_some));
    if has_first && has_second {
        let top = Place { y: at.y + gap, ..at };
        let mut deepest = 0;
        let mut stack = |pages: &mut Pages, sections: [Option<Section>; 3], x: f32| {
            let mut here = top;
            let mut n = 0;
            for section in sections.into_iter().flatten() {
                let above = if n == 0 { 0.0 } else { gap };
                here = section.place(pages, left + x, Place { y: here.y + above, ..here });
                n += 1;
            }
            deepest = deepest.max(n);
            here
        };
        let ((first_x, first_width), (second_x, second_width)) = (halves[0], halves[1]);
        let one = stack(&mut pages, first(first_width), first_x);
        let other = stack(&mut pages, second(second_width), second_x);
        gaps += deepest;
        at = one.lower(other);
    } else {
        for section in first(width).into_iter().chain(second(width)) {
            at = single(&mut pages, section, at, &mut gaps);
        }
    }

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
        let mut heading = row(vec![cell], 1.4 * scale).ruled(0.0, width, Ink::Accent, 0.8);
        heading.keep_with_next = true;
        Self { head: vec![heading], rows: Vec::new() }
    }

    /// The names of the columns, the ones in `right` at the right.
    fn with_columns(mut self, names: &[&str], places: &[(f32, f32)], right: &[usize], scale: f32) -> Self {
        let cells = names.iter().zip(places).enumerate().map(|(n, (name, (x, width)))| {
            let cell = Cell::new(*x, *width, scale).gap(2.2);
            if right.contains(&n) { cell.at_right() } else { cell }.text(name, Style::LABEL)
        });
        let mut names = row(cells.collect(), 0.8 * scale);
        names.keep_with_next = true;
        self.head.push(names);
        self
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
    row(cells, 1.4 * scale).ruled(0.0, width, Ink::Rule, 0.4)
}

/// Space above the first line of a table's cell.
const ABOVE: f32 = 1.35;

fn results(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.results.is_empty() {
        return None;
    }
    let places = columns(&[0.34, 0.068, 0.052, 0.165, 0.1, 0.275], width, 7.0 * scale);
    // The unit stands close to its number.
    let cell = |n: usize| {
        let (x, width) = places[n];
        let (x, width) = if n == 2 { (x - 4.5 * scale, width + 4.5 * scale) } else { (x, width) };
        Cell::new(x, width, scale).gap(ABOVE)
    };
    let names = ["Result", "Value", "", "Limit as specified", "Verdict", "How it was found"];
    let mut section = Section::new("Results", width, scale).with_columns(&names, &places, &[1], scale);
    let mut before = None;
    for result in &sheet.results {
        let group = (&result.run, &result.test, &result.basis);
        let source = if before == Some(group) { String::new() } else { result.source_words() };
        before = Some(group);
        let name = if result.name.is_empty() { &result.test } else { &result.name };
        let (value, unit) = match &result.value {
            Some(value) => (words::minus(&value.value), value.unit.clone()),
            None => ("–".to_owned(), String::new()),
        };
        let limit = match &result.limit {
            Some(limit) => cell(3).texts((limit, Style::BODY), (&result.limit_source, Style::SMALL)),
            None => cell(3).text("none", Style::BODY.ink(Ink::Quiet)).text(&result.limit_source, Style::SMALL),
        };
        let cells = vec![
            cell(0).texts((name, Style::STRONG), (&source, Style::SMALL)),
            cell(1).at_right().text(&value, Style::VALUE),
            cell(2).text(&unit, Style::BODY),
            limit,
            cell(4).verdict(result.verdict_words(), result.tone()),
            cell(5).gap(0.8).text(&result.how(), Style::SMALL),
        ];
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
    let places = columns(&[0.5, 0.17, 0.09, 0.095, 0.18], width, 8.0 * scale);
    let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
    let names = ["Limit", "Clock", "Allowed", "Took", "Verdict"];
    let mut section = Section::new("Time limits", width, scale).with_columns(&names, &places, &[2, 3], scale);
    for window in &sheet.windows {
        let clock = match &window.ended {
            Some(ended) => format!("{}–{}", words::at(sheet, &window.started), words::at(sheet, ended)),
            None if window.started.is_empty() => String::new(),
            None => format!("from {}", words::at(sheet, &window.started)),
        };
        let cells = vec![
            cell(0).texts((&window.name, Style::STRONG), (&window.between(), Style::SMALL)),
            cell(1).text(&clock, Style::BODY),
            cell(2).at_right().text(&shown(&window.allowed), Style::BODY),
            cell(3).at_right().text(&window.took_words(), Style::BODY),
            cell(4).verdict(&window.verdict.words(), window.verdict.tone()),
        ];
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

/// The columns of names and values.
fn named(width: f32, scale: f32) -> Vec<(f32, f32)> {
    columns(&[0.43, 0.57], width, 6.0 * scale)
}

/// A name and what is said under it, side by side.
fn pair(name: &str, value: Cell, width: f32, scale: f32) -> Row {
    let places = named(width, scale);
    let name = Cell::new(places[0].0, places[0].1, scale).gap(ABOVE).text(name, Style::BODY.ink(Ink::Quiet));
    line(vec![name, value], width, scale)
}

fn value_cell(width: f32, scale: f32) -> Cell {
    let places = named(width, scale);
    Cell::new(places[1].0, places[1].1, scale).gap(ABOVE)
}

fn delivery(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    let facts = words::delivery(sheet);
    if facts.is_empty() && sheet.delivery.judged.is_empty() {
        return None;
    }
    let mut section = Section::new("Delivery", width, scale);
    for (name, value) in &facts {
        section.rows.push(pair(name, value_cell(width, scale).text(value, Style::BODY), width, scale));
    }
    for judged in &sheet.delivery.judged {
        // Value and verdict share the column of the values above.
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
        section.rows.push(line(cells, width, scale));
    }
    Some(section)
}

fn weather(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    let facts = words::weather(sheet);
    let caution = &sheet.weather.caution;
    if facts.is_empty() && caution.is_empty() {
        return None;
    }
    let mut section = Section::new("Weather", width, scale);
    // Three to a line: they are short.
    let places = columns(&[0.27, 0.4, 0.33], width, 6.0 * scale);
    for some in facts.chunks(3) {
        let cells = some.iter().zip(&places).map(|((name, value), (x, width))| {
            Cell::new(*x, *width, scale).gap(ABOVE).texts((name, Style::BODY.ink(Ink::Quiet)), (value, Style::BODY))
        });
        section.rows.push(line(cells.collect(), width, scale));
    }
    if !caution.is_empty() {
        let cell = Cell::new(0.0, width, scale).gap(ABOVE).text(caution, Style::STRONG);
        section.rows.push(row(vec![cell], 1.0 * scale));
    }
    Some(section)
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
        let name = |text: &str| format!("{text} ");
        let mut facts = vec![(name("Moulded"), words::at(sheet, &set.moulded))];
        let until = set.curing.until.as_ref().map(|until| format!("until {}", words::at(sheet, until)));
        facts.push((name("Initial curing"), words::joined(", ", &[&set.curing.range, &until.unwrap_or_default()])));
        if let Some(from) = &set.transport_from {
            facts.push((name("Not moved before"), words::at(sheet, from)));
        }
        let title = Cell::new(0.0, width, scale)
            .gap(ABOVE)
            .texts((&what, Style::STRONG), (&words::labels(&set.labels), Style::BODY));
        section.rows.push(row(vec![title], 0.0));
        for (name, value) in facts.iter().filter(|(_, value)| !value.is_empty()) {
            let places = columns(&[0.26, 0.74], width, 6.0 * scale);
            let cells = vec![
                Cell::new(places[0].0, places[0].1, scale).gap(0.6).text(name, Style::BODY.ink(Ink::Quiet)),
                Cell::new(places[1].0, places[1].1, scale).gap(0.6).text(value, Style::BODY),
            ];
            section.rows.push(row(cells, 0.6 * scale));
        }
        let last = section.rows.len() - 1;
        section.rows[last] = section.rows[last].clone().ruled(0.0, width, Ink::Rule, 0.4);
    }
    Some(section)
}

fn due(sheet: &Sheet, width: f32, scale: f32) -> Option<Section> {
    if sheet.appointments.is_empty() {
        return None;
    }
    let mut section = Section::new("Due later", width, scale);
    let places = columns(&[0.37, 0.4, 0.23], width, 7.0 * scale);
    for appointment in &sheet.appointments {
        let cell = |n: usize| Cell::new(places[n].0, places[n].1, scale).gap(ABOVE);
        let cells = vec![
            cell(0).text(&appointment.title, Style::STRONG),
            cell(1).text(&words::due(sheet, appointment), Style::BODY),
            cell(2).gap(0.8).text(&words::pieces(appointment), Style::SMALL.ink(Ink::Text)),
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
    let places = columns(&[0.075, 0.095, 0.1, 0.73], width, 8.0 * scale);
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

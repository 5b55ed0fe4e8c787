//! A paper ([`crate::paper::Paper`]) as PDF: blocks into groups of rows, groups onto pages.
//!
//! **Invariant:** every text is measured before it is set and stays between the margins; a table or matrix that goes on
//! to another page has its head there again, and no heading is the last on its page.

mod blocks;
mod matrix;

use super::cell::{self, Cell, Style, columns, row};
use super::flow::{Page, Pages, Paper as Format, Place, Row, moved};
use super::write::{self, About};
use super::{A4, LETTER};
use crate::helvetica;
use crate::palette::Ink;
use crate::paper::{Block, Paper, Size};
use crate::wrap::wrap;

/// Margins in points.
const SIDE: f32 = 46.0;
const TOP: f32 = 40.0;
const BOTTOM: f32 = 52.0;

/// From the lower edge of the paper to the line at the foot of a page.
const NUMBER: f32 = 38.0;

/// The factors of the type sizes that are tried for one page, largest first.
const SCALES: [f32; 11] = [1.2, 1.17, 1.14, 1.11, 1.08, 1.06, 1.04, 1.02, 1.0, 0.98, 0.95];

/// The factor if one page is not enough at any of them.
const SPILLED: f32 = 1.14;

const TITLE: Style = Style { size: 17.0, line: 20.0, bold: true, ink: Ink::Text };
const SUBTITLE: Style = Style { size: 9.2, line: 11.4, bold: false, ink: Ink::Text };

/// Said where letters stand as numbers.
const NUMBERED: &str =
    "Letters this typeface lacks stand as their Unicode numbers; the other forms of this paper show them.";

/// How wide and how large things are set.
#[derive(Debug, Clone, Copy)]
struct Setting {
    /// Between the margins.
    width: f32,
    /// The factor of every size.
    scale: f32,
}

/// Rows that belong together.
#[derive(Debug, Default)]
struct Group {
    /// Set once, kept together with the first row below.
    lead: Vec<Row>,
    /// Set over the body, and again on each further page.
    head: Vec<Row>,
    body: Vec<Row>,
    /// White space before it, unless it begins a page.
    gap: f32,
}

/// The paper as PDF.
pub(crate) fn render(paper: &Paper) -> Vec<u8> {
    let title = if paper.title.is_empty() { &paper.kind } else { &paper.title };
    let about = About { title, author: "", tool: "Pourside" };
    write::document(&about, format(paper), &pages(paper))
}

fn format(paper: &Paper) -> Format {
    match paper.size {
        Size::Letter => LETTER,
        Size::A4 => A4,
    }
}

fn pages(paper: &Paper) -> Vec<Page> {
    fitted(paper).map_or_else(|| lay_out(paper, SPILLED), |(_, pages)| pages)
}

/// The one page a paper fits on, at the largest size at which it does.
fn fitted(paper: &Paper) -> Option<(f32, Vec<Page>)> {
    let on_one = |scale: f32| Some((scale, lay_out(paper, scale))).filter(|(_, pages)| pages.len() == 1);
    // What does not fit at the smallest size need not be tried at the others.
    let smallest = SCALES.last().copied().and_then(on_one)?;
    Some(SCALES.into_iter().find_map(on_one).unwrap_or(smallest))
}

/// The size of body text in points.
pub(crate) fn body_size(paper: &Paper) -> f32 {
    Style::BODY.at(fitted(paper).map_or(SPILLED, |(scale, _)| scale)).size
}

fn lay_out(paper: &Paper, scale: f32) -> Vec<Page> {
    let format = format(paper);
    let set = Setting { width: format.width - 2.0 * SIDE, scale };
    // The flow keeps its own foot free; ours is higher.
    let area = Format { width: format.width, height: format.height - (BOTTOM - Format::FOOT) };
    let mut pages = Pages::new(area, TOP);
    let mut at = pages.place(&head(paper, set), &[], SIDE, Place { page: 0, y: TOP });

    let mut lead: Vec<Row> = Vec::new();
    let mut gap = 9.0 * scale;
    let mut breaks = false;
    for block in &paper.blocks {
        match block {
            Block::PageBreak => breaks = true,
            Block::Heading(text) => {
                gap = 11.0 * scale;
                lead.push(blocks::heading(text, set));
            }
            Block::Subheading(text) => {
                if lead.is_empty() {
                    gap = 7.0 * scale;
                }
                lead.push(blocks::subheading(text, set));
            }
            _ => {
                let groups = blocks::groups(block, set).into_iter();
                for mut group in groups {
                    if !lead.is_empty() {
                        group.lead.splice(0..0, std::mem::take(&mut lead));
                        group.gap = gap;
                    }
                    at = put(&mut pages, group, at, std::mem::take(&mut breaks));
                }
            }
        }
    }
    if !lead.is_empty() {
        // A heading over nothing is still said.
        at = put(&mut pages, Group { body: lead, gap, ..Group::default() }, at, breaks);
    }
    put(&mut pages, foot(paper, set), at, false);
    let mut pages = pages.pages;
    number(&mut pages, paper, format, set);
    pages
}

/// Places a group, on a new page if its first rows do not fit on this one.
fn put(pages: &mut Pages, group: Group, from: Place, breaks: bool) -> Place {
    let height = |rows: &[Row]| rows.iter().map(|row| row.height).sum::<f32>();
    let room = pages.paper.bottom() - pages.later_top;
    let above = height(&group.lead) + height(&group.head);
    let needed = above + group.body.first().map_or(0.0, |row| row.height);
    let needed = if needed > room { room * 0.25 } else { needed };
    let is_fresh = from.y <= pages.later_top + 0.01;
    let mut at = from;
    if !is_fresh && (breaks || at.y + group.gap + needed > pages.paper.bottom()) {
        at = Place { page: at.page + 1, y: pages.later_top };
    } else if !is_fresh {
        at.y += group.gap;
    }
    let mut first = group.lead;
    first.extend(group.head.iter().cloned());
    at = pages.place(&first, &[], SIDE, at);
    // A head that would fill half of every page is said once.
    let again = if height(&group.head) > room / 2.0 { &[] } else { group.head.as_slice() };
    pages.place(&group.body, again, SIDE, at)
}

fn head(paper: &Paper, set: Setting) -> Vec<Row> {
    let Setting { width, scale } = set;
    let title = Cell::new(0.0, width, scale)
        .text(&paper.kind, Style::HEADING)
        .text(&paper.title, TITLE)
        .text(&paper.subtitle, SUBTITLE);
    let mut rows = vec![row(vec![title], 4.0 * scale).ruled(0.0, width, Ink::Text, 1.3), Row::space(5.0 * scale)];
    let across = match paper.facts.len() {
        5 | 6 => 3,
        _ => 4,
    };
    let places = columns(&vec![1.0; across], width, 12.0 * scale);
    for some in paper.facts.chunks(across) {
        let cells = some.iter().zip(&places).map(|((name, value), (x, width))| {
            Cell::new(*x, *width, scale).text(name, Style::LABEL).text(value, Style::BODY)
        });
        rows.push(row(cells.collect(), 3.0 * scale));
    }
    rows
}

/// What is said once at the end.
fn foot(paper: &Paper, set: Setting) -> Group {
    let Setting { width, scale } = set;
    let mut said: Vec<&str> = paper.foot.iter().map(String::as_str).filter(|line| !line.is_empty()).collect();
    if helvetica::lacks_letters(&paper.text(200)) {
        said.push(NUMBERED);
    }
    if said.is_empty() {
        return Group::default();
    }
    let line = |text: &str| row(vec![Cell::new(0.0, width, scale).text(text, Style::FINE)], 1.5 * scale);
    let body: Vec<Row> = said.into_iter().map(line).collect();
    let lead = vec![Row::space(0.0).ruled(0.0, width, Ink::Rule, 0.5), Row::space(3.0 * scale)];
    Group { lead, body, gap: 12.0 * scale, ..Group::default() }
}

/// The line at the foot of each page: whose it is, which page of how many.
fn number(pages: &mut [Page], paper: &Paper, format: Format, set: Setting) {
    let (style, of) = (Style::FINE.at(set.scale), pages.len());
    let places = columns(&[0.8, 0.2], set.width, 10.0);
    let whose = crate::words::joined(" · ", &[&paper.title, &paper.subtitle, &paper.kind]);
    // The whole stands at the head of the first page.
    let mut lines = wrap(&helvetica::spell(&whose), &(places[0].1 - 8.0), |text| cell::width(text, style.size, false));
    let more = lines.len() > 1;
    let mut whose = if lines.is_empty() { String::new() } else { lines.swap_remove(0) };
    if more {
        whose.push('…');
    }
    for (n, page) in pages.iter_mut().enumerate() {
        let left = Cell::new(places[0].0, places[0].1, set.scale).text(&whose, Style::FINE);
        let number = format!("page {} of {of}", n + 1);
        let right = Cell::new(places[1].0, places[1].1, set.scale).at_right().text(&number, Style::FINE);
        let line = row(vec![left, right], 0.0);
        page.extend(line.pieces.iter().map(|piece| moved(&piece.shape, SIDE, format.height - NUMBER)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Anchor, Shape};
    use crate::paper::invented;
    use proptest::prelude::*;

    fn bounds(shape: &Shape) -> (f32, f32, f32, f32) {
        match shape {
            Shape::Bar { x, y, width, height, .. } => (*x, x + width, *y, y + height),
            Shape::Stroke { from, to, .. } => (from.0.min(to.0), from.0.max(to.0), from.1.min(to.1), from.1.max(to.1)),
            Shape::Filled { points, .. } => points.iter().fold((1e9, 0.0, 1e9, 0.0), |all, (x, y)| {
                (f32::min(all.0, *x), f32::max(all.1, *x), f32::min(all.2, *y), f32::max(all.3, *y))
            }),
            Shape::Words { x, baseline, size, anchor, bold, text, .. } => {
                let spread = cell::width(&helvetica::spell(text), *size, *bold);
                let left = match anchor {
                    Anchor::Start => *x,
                    Anchor::Middle => x - spread / 2.0,
                    Anchor::End => x - spread,
                };
                (left, left + spread, baseline - size * 0.75, baseline + size * 0.22)
            }
        }
    }

    /// Every corner of every shape lies between the margins.
    fn keeps_inside(paper: &Paper) {
        let format = format(paper);
        for page in pages(paper) {
            for shape in page {
                let (left, right, top, bottom) = bounds(&shape);
                assert!(left >= SIDE - 0.6 && right <= format.width - SIDE + 0.6, "{left} to {right}: {shape:?}");
                assert!(top >= TOP - 3.0 && bottom <= format.height - 24.0, "{top} to {bottom}: {shape:?}");
            }
        }
    }

    fn said(page: &Page) -> Vec<&str> {
        let words = page.iter().filter_map(|shape| match shape {
            Shape::Words { text, .. } => Some(text.as_str()),
            _ => None,
        });
        words.collect()
    }

    #[test]
    fn a_paper_for_one_person_is_one_page() {
        for size in [Size::A4, Size::Letter] {
            let paper = Paper { size, ..invented::candidate() };
            keeps_inside(&paper);
            assert_eq!(pages(&paper).len(), 1);
        }
    }

    #[test]
    fn a_table_has_its_head_again_on_each_page_and_every_page_its_number() {
        let paper = invented::long_table(150);
        keeps_inside(&paper);
        let pages = pages(&paper);
        assert!(pages.len() > 2);
        for (n, page) in pages.iter().enumerate() {
            let said = said(page);
            assert_eq!(said.iter().filter(|text| **text == "Namehead").count(), 1, "page {}", n + 1);
            assert!(said.contains(&format!("page {} of {}", n + 1, pages.len()).as_str()), "{said:?}");
            assert!(said.iter().any(|text| text.starts_with("Long")), "whose it is: {said:?}");
        }
        let all: Vec<&str> = pages.iter().flat_map(|page| said(page)).collect();
        for n in 0..150 {
            assert!(all.contains(&format!("Act {n}").as_str()), "act {n}");
        }
    }

    #[test]
    fn a_matrix_too_wide_and_too_long_goes_on_in_both_directions() {
        let paper = invented::wide_matrix(40, 120);
        keeps_inside(&paper);
        let pages = pages(&paper);
        let all: Vec<&str> = pages.iter().flat_map(|page| said(page)).collect();
        let parts = all.iter().filter(|text| text.starts_with("Results (columns")).count();
        assert!(parts > 1);
        let heads = all.iter().filter(|text| **text == "Candidate").count();
        assert!(heads > parts, "{heads} heads over {parts} parts");
        let rows = all.iter().filter(|text| **text == "Candidate 120").count();
        assert_eq!(rows, parts);
        let signs = all.iter().filter(|text| ["P", "F", "O", "T", "–"].contains(text)).count();
        assert_eq!(signs, 40 * 120 + 5, "every sign, and those of the legend");
    }

    #[test]
    fn a_heading_is_never_the_last_on_its_page() {
        for n in 0..60 {
            let mut paper = invented::long_table(1);
            paper.blocks.insert(0, Block::Points(vec!["a point".into(); n + 30]));
            for page in pages(&paper) {
                let said = said(&page);
                let heading = said.iter().position(|text| *text == "Acts");
                assert!(heading.is_none_or(|_| said.contains(&"Act 0")), "after {n} points");
            }
        }
    }

    #[test]
    fn what_follows_a_break_begins_a_page() {
        let mut paper = invented::candidate();
        paper.blocks.insert(2, Block::PageBreak);
        paper.blocks.push(Block::PageBreak);
        assert_eq!(pages(&paper).len(), 2);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn whatever_is_typed_stays_inside_the_margins(paper in invented::any()) {
            keeps_inside(&paper);
            prop_assert!(paper.pdf() == paper.pdf());
        }
    }
}

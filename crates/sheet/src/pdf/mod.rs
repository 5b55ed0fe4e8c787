//! The sheet as PDF: one page of Letter or A4 if it fits at a readable size, as many as it takes otherwise.
//!
//! [`flow`] puts rows on pages, [`cell`] sets words into columns, [`sections`] says what stands where, [`write`](mod@write)
//! turns shapes into bytes. The typefaces are the ones every reader has, so nothing is embedded.
//!
//! **Invariant:** every text is measured before it is set. What is too wide is wrapped, what is too much for one page is
//! set smaller down to a size that can still be read, and beyond that goes on to another page.

#![expect(clippy::float_arithmetic, reason = "places on paper are binary floats; no reading or limit is among them")]

mod cell;
mod flow;
mod head;
mod paper;
mod sections;
mod tail;
mod write;

use crate::{Sheet, System};
use flow::{Page, Paper};
pub(crate) use paper::{body_size as paper_body_size, render as render_paper};

/// The factors of the type sizes that are tried for one page, largest first. Larger than 1 a time of day would not fit its
/// column any more.
const SCALES: [f32; 14] = [1.0, 0.98, 0.96, 0.95, 0.94, 0.93, 0.92, 0.91, 0.90, 0.88, 0.86, 0.84, 0.82, 0.80];

/// The factor if one page is not enough at any of them.
const SPILLED: f32 = 0.94;

/// The sheet as PDF.
pub fn render(sheet: &Sheet) -> Vec<u8> {
    let paper = paper(sheet);
    write::sheet(sheet, paper, &pages(sheet, paper))
}

/// The factor of the type sizes at which a sheet fits on one page of Letter and of A4. `None` if it needs more than one.
pub(crate) fn one_page_scale(sheet: &Sheet) -> Option<f32> {
    let (letter, _) = fitted(sheet, LETTER)?;
    let (a4, _) = fitted(sheet, A4)?;
    Some(letter.min(a4))
}

const LETTER: Paper = Paper { width: 612.0, height: 792.0 };

const A4: Paper = Paper { width: 595.276, height: 841.89 };

fn paper(sheet: &Sheet) -> Paper {
    match sheet.head.system {
        System::InchPound => LETTER,
        System::Si => A4,
    }
}

fn pages(sheet: &Sheet, paper: Paper) -> Vec<Page> {
    fitted(sheet, paper).map_or_else(|| sections::lay_out(sheet, paper, SPILLED), |(_, page)| vec![page])
}

/// The one page a sheet fits on, at the largest size at which it does.
fn fitted(sheet: &Sheet, paper: Paper) -> Option<(f32, Page)> {
    let on_one = |scale: f32| match sections::lay_out(sheet, paper, scale).as_slice() {
        [page] => Some((scale, page.clone())),
        _ => None,
    };
    // What does not fit at the smallest size need not be tried at the others.
    let smallest = SCALES.last().copied().and_then(on_one)?;
    Some(SCALES.into_iter().find_map(on_one).unwrap_or(smallest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Anchor, Shape};
    use crate::{Finding, fixture};
    use proptest::prelude::*;

    /// Every corner of every shape lies between the edges of the paper, every text between its margins.
    fn keeps_inside(sheet: &Sheet) {
        let paper = paper(sheet);
        for page in pages(sheet, paper) {
            for shape in page {
                let (left, right, top, bottom) = match &shape {
                    Shape::Bar { x, y, width, height, .. } => (*x, x + width, *y, y + height),
                    Shape::Stroke { from, to, .. } => {
                        (from.0.min(to.0), from.0.max(to.0), from.1.min(to.1), from.1.max(to.1))
                    }
                    Shape::Filled { points, .. } => points.iter().fold((1e9, 0.0, 1e9, 0.0), |all, (x, y)| {
                        (f32::min(all.0, *x), f32::max(all.1, *x), f32::min(all.2, *y), f32::max(all.3, *y))
                    }),
                    Shape::Words { x, baseline, size, anchor, bold, text, .. } => {
                        let spread = cell::width(&crate::helvetica::spell(text), *size, *bold);
                        let left = match anchor {
                            Anchor::Start => *x,
                            Anchor::Middle => x - spread / 2.0,
                            Anchor::End => x - spread,
                        };
                        (left, left + spread, baseline - size * 0.75, baseline + size * 0.22)
                    }
                };
                let side = Paper::SIDE - 0.6;
                assert!(left >= side && right <= paper.width - side, "{left} to {right}: {shape:?}");
                assert!(top >= Paper::TOP - 3.0 && bottom <= paper.height - 8.0, "{top} to {bottom}: {shape:?}");
            }
        }
    }

    #[test]
    fn nothing_stands_outside_the_margins() {
        for (_, sheet) in fixture::all() {
            keeps_inside(&sheet);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn whatever_is_typed_stays_inside_the_margins(
            words in proptest::collection::vec("\\PC{0,400}", 4),
            count in 0_usize..30,
        ) {
            let mut sheet = fixture::harrow_bend();
            sheet.head.sample = words[0].clone();
            sheet.head.technician.name = words[1].clone();
            sheet.head.notices.push(words[2].clone());
            sheet.results[0].limit = Some(words[3].clone());
            sheet.results[1].name = words[2].clone();
            sheet.results[2].value = Some(crate::Measured::new("9".repeat(words[0].len().min(40)), words[1].clone()));
            sheet.windows[0].name = words[1].clone();
            sheet.timeline.rows[1].name = words[0].clone();
            sheet.timeline.rows[2].marks[0].words = words[3].clone();
            sheet.apparatus[3].words = words[0].clone();
            sheet.record.runs[0].name = words[3].clone();
            sheet.findings = vec![Finding { words: words[2].clone(), ..Finding::default() }; count];
            keeps_inside(&sheet);
        }
    }

    #[test]
    fn a_text_longer_than_a_page_goes_on_to_the_next() {
        let mut sheet = fixture::harrow_bend();
        sheet.findings[0].words = "The strokes were not spread evenly over the section. ".repeat(400);
        keeps_inside(&sheet);
        let pages = pages(&sheet, paper(&sheet));
        let words = pages.iter().flatten().filter(|shape| matches!(shape, Shape::Words { .. })).count();
        assert!(pages.len() > 2 && words > 400, "{} pages", pages.len());
    }
}

//! The timeline as a picture made of plain shapes, for SVG and PDF alike.
//!
//! Coordinates are in points, y grows downwards. The picture is a stack of strips, each of which can stand on another page
//! than the one before. What is told by colour is told by shape as well: hands are solid, waiting is pale with an edge,
//! a discarded attempt is hatched; a time limit that was kept ends in a bracket, one that was not in a filled wedge.
//!
//! **Invariant:** no shape lies outside its strip, and no name or label is left out or cut.

#![expect(clippy::float_arithmetic, reason = "places on paper are binary floats; no reading or limit is among them")]

mod axis;
mod row;

use crate::helvetica;
use crate::palette::Ink;
use crate::{Sheet, Timeline};
use axis::Axis;

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A shape.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shape {
    Bar { x: f32, y: f32, width: f32, height: f32, fill: Ink, edge: Option<Ink> },
    Stroke { from: (f32, f32), to: (f32, f32), width: f32, ink: Ink, dashed: bool },
    Filled { points: Vec<(f32, f32)>, ink: Ink },
    Words { x: f32, baseline: f32, size: f32, anchor: Anchor, bold: bool, ink: Ink, text: String },
}

/// A horizontal slice of the picture.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Strip {
    pub(crate) height: f32,
    /// Places are counted from the top of the strip.
    pub(crate) shapes: Vec<Shape>,
}

/// The picture.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chart {
    pub(crate) strips: Vec<Strip>,
    /// What the shapes mean, on one line from the left edge.
    pub(crate) legend: Strip,
    /// How wide the legend is.
    pub(crate) legend_width: f32,
}

impl Chart {
    /// The strips with the legend under them.
    pub(crate) fn with_legend(&self) -> impl Iterator<Item = &Strip> {
        self.strips.iter().chain([&self.legend])
    }
}

/// Sizes of the picture, in points at scale 1.
#[derive(Debug, Clone, Copy)]
struct Sizes {
    /// The factor of every size.
    scale: f32,
    /// Width of the whole.
    width: f32,
    /// Where the plot begins.
    left: f32,
    /// Where it ends.
    right: f32,
}

impl Sizes {
    const NAME: f32 = 7.2;

    /// The size of labels; they do not shrink without end.
    fn label(self) -> f32 {
        (6.2 * self.scale).max(5.4)
    }

    fn at(self, points: f32) -> f32 {
        points * self.scale
    }
}

/// How wide a text is set, with some room for typefaces a little wider than Helvetica.
fn width(text: &str, size: f32, bold: bool) -> f32 {
    helvetica::width(&helvetica::spell(text), bold) as f32 / 1000.0 * size * 1.04
}

/// Draws the timeline of a sheet, `full` points wide. `None` if there is nothing to draw.
pub(crate) fn draw(sheet: &Sheet, full: f32, scale: f32) -> Option<Chart> {
    let timeline = &sheet.timeline;
    if timeline.rows.is_empty() && timeline.first_portion_s.is_none() {
        return None;
    }
    let widest = timeline.rows.iter().map(|row| width(&row.name, Sizes::NAME * scale, true)).fold(0.0_f32, f32::max);
    let names = widest.clamp(40.0 * scale, full * 0.24);
    let sizes = Sizes { scale, width: full, left: names + 12.0 * scale, right: full - 6.0 * scale };
    let axis = Axis::of(timeline, sizes);
    let mut strips = vec![axis.strip(sheet)];
    strips.extend(timeline.rows.iter().enumerate().map(|(n, row)| row::strip(row, n, &axis)));
    let (legend, legend_width) = legend(timeline, sizes);
    Some(Chart { strips, legend, legend_width })
}

/// What the shapes mean; only those that are there.
fn legend(timeline: &Timeline, sizes: Sizes) -> (Strip, f32) {
    use crate::BlockKind::{Attended, Discarded, Waiting};
    let mut shapes = Vec::new();
    let mut x = sizes.at(3.0);
    let top = sizes.at(3.0);
    let has = |kind| timeline.rows.iter().any(|row| row.blocks.iter().any(|block| block.kind == kind));
    let ends = |kept: Option<bool>| timeline.rows.iter().any(|row| row.windows.iter().any(|end| end.kept == kept));
    let keys: [(bool, Key, &str); 6] = [
        (has(Attended), Key::Block(Attended), "hands on it"),
        (has(Waiting), Key::Block(Waiting), "waiting"),
        (has(Discarded), Key::Block(Discarded), "discarded"),
        (ends(Some(true)), Key::End(Some(true)), "limit closes, kept"),
        (ends(Some(false)), Key::End(Some(false)), "not kept"),
        (ends(None), Key::End(None), "still open"),
    ];
    for (_, key, words) in keys.into_iter().filter(|(there, ..)| *there) {
        let words_width = width(words, sizes.label(), false);
        let swatch = sizes.at(14.0);
        match key {
            Key::Block(kind) => row::block(&mut shapes, (x, x + sizes.at(11.0)), top, sizes.at(5.5), kind, sizes),
            Key::End(kept) => row::end(&mut shapes, x + sizes.at(8.0), top, sizes.at(5.5), kept, sizes),
        }
        shapes.push(Shape::Words {
            x: x + swatch,
            baseline: top + sizes.at(5.1),
            size: sizes.label(),
            anchor: Anchor::Start,
            bold: false,
            ink: Ink::Quiet,
            text: words.to_owned(),
        });
        x += swatch + words_width + sizes.at(12.0);
    }
    let height = if shapes.is_empty() { 0.0 } else { top + sizes.at(8.0) };
    (Strip { height, shapes }, x - sizes.at(12.0))
}

enum Key {
    Block(crate::BlockKind),
    End(Option<bool>),
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Block, BlockKind, Mark, TimelineRow, WindowEnd};
    use proptest::prelude::*;

    /// The corners of a shape.
    fn corners(shape: &Shape) -> Vec<(f32, f32)> {
        match shape {
            Shape::Bar { x, y, width, height, .. } => vec![(*x, *y), (x + width, y + height)],
            Shape::Stroke { from, to, .. } => vec![*from, *to],
            Shape::Filled { points, .. } => points.clone(),
            Shape::Words { x, baseline, size, anchor, bold, text, .. } => {
                let spread = helvetica::width(&helvetica::spell(text), *bold) as f32 / 1000.0 * size;
                let start = match anchor {
                    Anchor::Start => *x,
                    Anchor::Middle => x - spread / 2.0,
                    Anchor::End => x - spread,
                };
                vec![(start, baseline - size * 0.75), (start + spread, baseline + size * 0.2)]
            }
        }
    }

    fn moments() -> impl Strategy<Value = i64> {
        prop_oneof![4 => -900_i64..3600, 1 => any::<i64>()]
    }

    fn rows() -> impl Strategy<Value = TimelineRow> {
        let kind = prop_oneof![Just(BlockKind::Attended), Just(BlockKind::Waiting), Just(BlockKind::Discarded)];
        let block = (moments(), moments(), kind).prop_map(|(from_s, to_s, kind)| Block { from_s, to_s, kind });
        let mark = (moments(), "[a-z]{0,30}").prop_map(|(at_s, words)| Mark { at_s, words });
        let end = (moments(), "[a-z ]{0,30}", any::<Option<bool>>()).prop_map(|(closes_at_s, name, kept)| WindowEnd {
            closes_at_s,
            name,
            kept,
        });
        let many = 0..5_usize;
        (
            "[a-zA-Z ]{0,60}",
            proptest::collection::vec(block, many.clone()),
            proptest::collection::vec(mark, many.clone()),
            proptest::collection::vec(end, many),
        )
            .prop_map(|(name, blocks, marks, windows)| TimelineRow { name, blocks, marks, windows })
    }

    proptest! {
        #[test]
        fn nothing_is_drawn_outside_the_picture(
            rows in proptest::collection::vec(rows(), 1..6),
            first in proptest::option::of(moments()),
        ) {
            let timeline = Timeline { zero: None, first_portion_s: first, rows };
            let sheet = Sheet { timeline, ..Sheet::default() };
            let chart = draw(&sheet, 540.0, 1.0).unwrap();
            for strip in chart.with_legend() {
                for shape in &strip.shapes {
                    for (x, y) in corners(shape) {
                        prop_assert!((-0.1..=540.1).contains(&x), "{shape:?}");
                        prop_assert!((-0.1..=strip.height + 0.1).contains(&y), "{} {shape:?}", strip.height);
                    }
                }
            }
        }

        #[test]
        fn every_name_and_label_is_on_the_picture(rows in proptest::collection::vec(rows(), 1..6)) {
            let sheet = Sheet { timeline: Timeline { rows, ..Timeline::default() }, ..Sheet::default() };
            let chart = draw(&sheet, 540.0, 1.0).unwrap();
            let texts: String = chart.strips.iter().flat_map(|strip| &strip.shapes).filter_map(|shape| match shape {
                Shape::Words { text, .. } => Some(text.replace(' ', "")),
                _ => None,
            }).collect();
            for row in &sheet.timeline.rows {
                let labels = row.marks.iter().map(|mark| &mark.words).chain(row.windows.iter().map(|end| &end.name));
                for name in labels.chain([&row.name]) {
                    prop_assert!(texts.contains(&name.replace(' ', "")), "{name} in {texts}");
                }
            }
        }
    }

    #[test]
    fn no_timeline_no_picture() {
        assert_eq!(draw(&Sheet::default(), 540.0, 1.0), None);
    }
}

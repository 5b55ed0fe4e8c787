//! One test on the timeline: its name, its blocks, its marks and the ends of its time limits.

use super::axis::Axis;
use super::{Anchor, Shape, Sizes, Strip, width};
use crate::palette::Ink;
use crate::wrap::wrap;
use crate::{BlockKind, TimelineRow};

/// A label above the bars, as it stands.
struct Label {
    /// Where it points.
    x: f32,
    from: f32,
    to: f32,
    /// Which line above the bars, from the bottom; `None` beside the bars.
    level: Option<usize>,
    text: String,
    bold: bool,
    ink: Ink,
}

/// Draws a row.
pub(super) fn strip(row: &TimelineRow, n: usize, axis: &Axis) -> Strip {
    let sizes = axis.sizes;
    let names = wrap(&row.name, &(sizes.left - sizes.at(10.0)), |text| width(text, sizes.at(Sizes::NAME), true));
    let labels = place(row, axis);
    let levels = labels.iter().filter_map(|label| label.level).map(|level| level + 1).max().unwrap_or_default();
    let (bar, line, name_line) = (sizes.at(6.0), sizes.at(6.6), sizes.at(8.0));
    let needed = sizes.at(1.4) + levels as f32 * line + bar + sizes.at(2.0);
    let height = needed.max(names.len() as f32 * name_line + sizes.at(2.6)).max(sizes.at(10.4));
    let bar_top = height - sizes.at(2.0) - bar;

    let mut shapes = Vec::new();
    if n % 2 == 1 {
        shapes.push(Shape::Bar { x: 0.0, y: 0.0, width: sizes.width, height, fill: Ink::Wash, edge: None });
    }
    axis.grid(&mut shapes, height);
    // The last line of the name stands beside the bars.
    let first_line = bar_top + sizes.at(5.6) - names.len().saturating_sub(1) as f32 * name_line;
    let first_line = first_line.max(sizes.at(Sizes::NAME));
    for (n, name) in names.iter().enumerate() {
        shapes.push(Shape::Words {
            x: sizes.at(3.0),
            baseline: first_line + n as f32 * name_line,
            size: sizes.at(Sizes::NAME),
            anchor: Anchor::Start,
            bold: true,
            ink: Ink::Text,
            text: name.clone(),
        });
    }
    let paper = if n % 2 == 1 { Ink::Wash } else { Ink::Paper };
    let baseline = |label: &Label| match label.level {
        Some(level) => bar_top - sizes.at(2.3) - level as f32 * line,
        None => bar_top + (bar + sizes.label() * 0.72) / 2.0,
    };
    for label in &labels {
        // The fine lines of the minutes do not run through words.
        let (y, height) = (baseline(label) - sizes.label() * 0.78, sizes.label());
        let x = (label.from - 0.4).max(0.0);
        let width = (label.to - label.from + 0.8).min(sizes.width - x);
        shapes.push(Shape::Bar { x, y, width, height, fill: paper, edge: None });
    }
    for one in &row.blocks {
        let (from, to) = (axis.x(one.from_s.min(one.to_s)), axis.x(one.from_s.max(one.to_s)));
        // What took next to no time is still seen.
        let to = to.max(from + sizes.at(0.8)).min(sizes.width);
        block(&mut shapes, (from, to), bar_top, bar, one.kind, sizes);
    }
    for label in &labels {
        let baseline = baseline(label);
        if label.level.is_some() && !label.text.is_empty() {
            let from = (label.x, baseline - sizes.label() * 0.7);
            let pointer = Shape::Stroke { from, to: (label.x, bar_top), width: 0.5, ink: label.ink, dashed: false };
            shapes.push(pointer);
        }
        shapes.push(Shape::Words {
            x: label.from,
            baseline,
            size: sizes.label(),
            anchor: Anchor::Start,
            bold: label.bold,
            ink: label.ink,
            text: label.text.clone(),
        });
    }
    for mark in &row.marks {
        let x = axis.x(mark.at_s);
        let (from, to) = ((x, bar_top - sizes.at(1.0)), (x, bar_top + bar + sizes.at(1.0)));
        shapes.push(Shape::Stroke { from, to, width: 1.0, ink: Ink::Text, dashed: false });
    }
    for one in row.windows.iter().filter(|one| !axis.is_beyond(one.closes_at_s)) {
        end(&mut shapes, axis.x(one.closes_at_s), bar_top, bar, one.kept, sizes);
    }
    Strip { height, shapes }
}

/// Gives every label a place where it touches no other.
fn place(row: &TimelineRow, axis: &Axis) -> Vec<Label> {
    let sizes = axis.sizes;
    let marks = row.marks.iter().map(|mark| (mark.at_s, mark.words.clone(), false, Ink::Quiet));
    let ends = row.windows.iter().map(|end| {
        let (state, bold, ink) = match end.kept {
            Some(true) => ("kept", false, Ink::Quiet),
            Some(false) => ("LATE", true, Ink::Alarm),
            None => ("open", false, Ink::Quiet),
        };
        let when = if axis.is_beyond(end.closes_at_s) {
            format!(", closes at {} \u{2192}", Axis::far_words(end.closes_at_s))
        } else {
            String::new()
        };
        (end.closes_at_s, format!("{}, {state}{when}", end.name), bold, ink)
    });
    let gap = sizes.at(2.8);
    let mut wanted: Vec<Label> = Vec::new();
    for (second, text, bold, ink) in marks.chain(ends) {
        let x = axis.x(second);
        // A label longer than the picture is parted; each part stands on a line of its own.
        let parts = wrap(&text, &(sizes.width - gap), |text| width(text, sizes.label(), bold));
        for text in parts.into_iter().rev() {
            let spread = width(&text, sizes.label(), bold);
            let from = if x + gap + spread <= sizes.width { x + gap } else { (x - gap - spread).max(0.0) };
            wanted.push(Label { x, from, to: from + spread, level: None, text, bold, ink });
        }
    }
    // A label that reaches to the right of its moment stands above the ones further right, so from right to left; one that
    // had to turn left at the edge stands above whatever it reaches over, so last.
    let turned = |label: &Label| label.from < label.x;
    wanted.sort_by(|a, b| turned(a).cmp(&turned(b)).then(b.x.total_cmp(&a.x)));
    let mut placed: Vec<Label> = Vec::new();
    for label in wanted {
        if beside(&label, row, axis, &placed) {
            placed.push(label);
            continue;
        }
        // Text keeps clear of other texts and of the pointers that go up past it, its pointer of the texts it goes past.
        let clear = |level: usize| {
            placed.iter().filter_map(|other| other.level.map(|at| (other, at))).all(|(other, other_level)| {
                let apart = label.to + 2.0 * gap < other.from || label.from > other.to + 2.0 * gap;
                let over = other.x >= label.from - 0.5 && other.x <= label.to + 0.5;
                let through = label.x >= other.from - 0.5 && label.x <= other.to + 0.5;
                (other_level != level || apart) && (other_level <= level || !over) && (other_level >= level || !through)
            })
        };
        let highest = placed.iter().filter_map(|other| other.level).map(|level| level + 1).max().unwrap_or_default();
        let level = (0..highest).find(|level| clear(*level)).unwrap_or(highest);
        placed.push(Label { level: Some(level), ..label });
    }
    placed
}

/// Whether a label finds room on the line of the bars, to the right of its moment.
fn beside(label: &Label, row: &TimelineRow, axis: &Axis, placed: &[Label]) -> bool {
    let gap = axis.sizes.at(3.0);
    let (from, to) = (label.x + 0.6, label.to + gap);
    let blocks = row.blocks.iter().map(|block| (block.from_s.min(block.to_s), block.from_s.max(block.to_s)));
    let bars = blocks.map(|(start, end)| (axis.x(start), axis.x(end)));
    let ends = row.windows.iter().filter(|end| !axis.is_beyond(end.closes_at_s)).map(|end| end.closes_at_s);
    let moments = row.marks.iter().map(|mark| mark.at_s).chain(ends).map(|second| axis.x(second));
    // The bracket of a limit reaches a little to its left, the wedge of a late one to its right.
    let points = moments.map(|x| (x - axis.sizes.at(2.6), x));
    let texts = placed.iter().filter(|other| other.level.is_none()).map(|other| (other.x, other.to));
    let own = |start: f32, end: f32| (end - label.x).abs() < 0.01 && start < label.x;
    label.from > label.x
        && !label.bold
        && bars.chain(points).chain(texts).all(|(start, end)| own(start, end) || end <= from || start >= to)
}

/// A stretch of time: solid, pale or hatched.
pub(super) fn block(
    shapes: &mut Vec<Shape>,
    (from, to): (f32, f32),
    top: f32,
    height: f32,
    kind: BlockKind,
    sizes: Sizes,
) {
    let bar = |y, height, fill, edge| Shape::Bar { x: from, y, width: to - from, height, fill, edge };
    match kind {
        BlockKind::Attended => shapes.push(bar(top, height, Ink::Accent, None)),
        BlockKind::Waiting => {
            let (inset, edge) = (height * 0.2, Some(Ink::Accent));
            shapes.push(bar(top + inset, height - 2.0 * inset, Ink::Pale, edge));
        }
        BlockKind::Discarded => {
            shapes.push(bar(top, height, Ink::Paper, Some(Ink::Alarm)));
            let mut x = from - height;
            while x < to {
                // A line at 45 degrees, cut where it leaves the bar.
                let (low, high) = (x.max(from), (x + height).min(to));
                if low < high {
                    let from = (low, top + height - (low - x));
                    let to = (high, top + height - (high - x));
                    shapes.push(Shape::Stroke { from, to, width: 0.6, ink: Ink::Alarm, dashed: false });
                }
                x += sizes.at(2.4).max(0.5);
            }
        }
    }
}

/// The end of a time limit: a bracket, or a wedge where it was not kept.
pub(super) fn end(shapes: &mut Vec<Shape>, x: f32, top: f32, height: f32, kept: Option<bool>, sizes: Sizes) {
    let (above, below) = (top - sizes.at(1.0), top + height + sizes.at(1.0));
    let ink = if kept == Some(false) { Ink::Alarm } else { Ink::Text };
    let stroke = |from, to| Shape::Stroke { from, to, width: 1.1, ink, dashed: kept.is_none() };
    shapes.push(stroke((x, above), (x, below)));
    let serif = sizes.at(2.6);
    if kept == Some(false) {
        let points = vec![(x, above), ((x + serif * 1.6).min(sizes.width), (above + below) / 2.0), (x, below)];
        shapes.push(Shape::Filled { points, ink });
    } else {
        shapes.push(stroke((x - serif, above), (x, above)));
        shapes.push(stroke((x - serif, below), (x, below)));
    }
}

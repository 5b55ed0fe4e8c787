//! The axis: from the first thing done to the last, in minutes from the last portion.

use super::{Anchor, Shape, Sizes, Strip, width};
use crate::palette::Ink;
use crate::{Sheet, Timeline, words};

/// Seconds to points.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub(super) sizes: Sizes,
    from_s: i64,
    to_s: i64,
    step_s: i64,
    first_portion_s: Option<i64>,
}

/// The steps between two ticks, in seconds.
const STEPS: [i64; 19] = [
    5, 10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14_400, 21_600, 43_200, 86_400, 172_800, 604_800, 2_419_200,
    31_536_000,
];

/// Beyond this nothing is a sample's time; it is drawn at the edge.
const FARTHEST_S: i64 = 40 * 31_536_000;

fn sane(second: i64) -> i64 {
    second.clamp(-FARTHEST_S, FARTHEST_S)
}

impl Axis {
    pub(super) fn of(timeline: &Timeline, sizes: Sizes) -> Self {
        let blocks = timeline.rows.iter().flat_map(|row| &row.blocks).flat_map(|block| [block.from_s, block.to_s]);
        let marks = timeline.rows.iter().flat_map(|row| &row.marks).map(|mark| mark.at_s);
        let done: Vec<i64> = blocks.chain(marks).chain(timeline.first_portion_s).chain([0]).map(sane).collect();
        let from_s = done.iter().copied().min().unwrap_or_default();
        let mut to_s = done.iter().copied().max().unwrap_or_default();
        // A limit that closes soon after belongs on the picture; one that closes in days would press it flat and stands
        // at the edge instead.
        let soon_s = to_s + ((to_s - from_s) / 4).max(180);
        for end in timeline.rows.iter().flat_map(|row| &row.windows).map(|end| sane(end.closes_at_s)) {
            if end > to_s && end <= soon_s {
                to_s = end;
            }
        }
        let to_s = to_s.max(from_s + 60);
        let room = (sizes.right - sizes.left) / (30.0 * sizes.scale);
        let ticks = (room as i64).clamp(2, 18);
        let step_s =
            STEPS.into_iter().find(|step| (to_s - from_s) / step <= ticks).unwrap_or(STEPS[STEPS.len() - 1] * 10);
        Self { sizes, from_s, to_s, step_s, first_portion_s: timeline.first_portion_s.map(sane) }
    }

    /// The place of a second; beyond the ends it is the end.
    pub(super) fn x(&self, second: i64) -> f32 {
        let share = (second.clamp(self.from_s, self.to_s) - self.from_s) as f32 / (self.to_s - self.from_s) as f32;
        self.sizes.left + share * (self.sizes.right - self.sizes.left)
    }

    pub(super) fn is_beyond(&self, second: i64) -> bool {
        second > self.to_s
    }

    fn ticks(&self) -> impl Iterator<Item = i64> + '_ {
        let first = self.from_s.div_euclid(self.step_s) + i64::from(self.from_s.rem_euclid(self.step_s) != 0);
        (first..=self.to_s.div_euclid(self.step_s)).map(|n| n * self.step_s)
    }

    /// How far a limit closes from the last portion, in words.
    pub(super) fn far_words(second: i64) -> String {
        let (sign, second) = if second < 0 { ("\u{2212}", second.unsigned_abs()) } else { ("", second.unsigned_abs()) };
        match second {
            0..3600 => format!("{sign}{}:{:02} min", second / 60, second % 60),
            3600..172_800 => format!("{sign}{}:{:02} h", second / 3600, second / 60 % 60),
            _ => format!("{sign}{} d", second / 86_400),
        }
    }

    fn tick_words(&self, second: i64) -> String {
        let each = match self.step_s {
            0..60 => 1,
            60..3600 => 60,
            3600..86_400 => 3600,
            _ => 86_400,
        };
        words::minus(&(second / each).to_string())
    }

    fn unit(&self) -> &'static str {
        match self.step_s {
            0..60 => "s",
            60..3600 => "min",
            3600..86_400 => "h",
            _ => "days",
        }
    }

    /// The fine lines behind a row, `height` points high.
    pub(super) fn grid(&self, shapes: &mut Vec<Shape>, height: f32) {
        for second in self.ticks() {
            let x = self.x(second);
            let (width, ink) = if second == 0 { (0.9, Ink::Quiet) } else { (0.4, Ink::Rule) };
            shapes.push(Shape::Stroke { from: (x, 0.0), to: (x, height), width, ink, dashed: false });
        }
        if let Some(first) = self.first_portion_s {
            let x = self.x(first);
            shapes.push(Shape::Stroke { from: (x, 0.0), to: (x, height), width: 0.7, ink: Ink::Quiet, dashed: true });
        }
    }

    /// The head of the picture: the portions by name, then the ticks.
    pub(super) fn strip(&self, sheet: &Sheet) -> Strip {
        let sizes = self.sizes;
        let size = sizes.label();
        let height = sizes.at(17.8);
        let mut shapes = Vec::new();
        let clock = sheet.timeline.zero.as_ref().map(|zero| words::at(sheet, zero)).unwrap_or_default();
        let last = words::joined(" ", &["last portion", &clock]);
        let zero_x = self.x(0);
        let (last_x, anchor) = self.held(zero_x, width(&last, size, true));
        let text = |x, baseline, anchor, bold, ink, text: &str| Shape::Words {
            x,
            baseline,
            size,
            anchor,
            bold,
            ink,
            text: text.to_owned(),
        };
        shapes.push(text(last_x, sizes.at(6.5), anchor, true, Ink::Text, &last));
        if let Some(first) = self.first_portion_s {
            let words = "first portion";
            let spread = width(words, size, false);
            let x = self.x(first);
            // Before the last portion's name if there is room, else to its left, in the margin of the names.
            let fits = anchor == Anchor::Start && x + spread + sizes.at(4.0) < zero_x;
            let x = if fits { x } else { (zero_x.min(x) - sizes.at(3.0)).max(spread) };
            let anchor = if fits { Anchor::Start } else { Anchor::End };
            shapes.push(text(x, sizes.at(6.5), anchor, false, Ink::Quiet, words));
        }
        let unit_spread = width(self.unit(), size, false) + sizes.at(3.0);
        for second in self.ticks() {
            let x = self.x(second);
            let label = self.tick_words(second);
            let half = width(&label, size, second == 0) / 2.0;
            let x_label = x.clamp(half, sizes.width - half);
            // The unit stands where the last label would.
            if x_label + half > sizes.right - unit_spread {
                continue;
            }
            let ink = if second == 0 { Ink::Text } else { Ink::Quiet };
            shapes.push(text(x_label, sizes.at(13.4), Anchor::Middle, second == 0, ink, &label));
        }
        shapes.push(text(sizes.right, sizes.at(13.4), Anchor::End, false, Ink::Quiet, self.unit()));
        let mut lines = Vec::new();
        self.grid(&mut lines, sizes.at(3.2));
        for line in lines {
            if let Shape::Stroke { from, to, width, ink, dashed } = line {
                let down = sizes.at(14.6);
                shapes.push(Shape::Stroke { from: (from.0, down), to: (to.0, down + to.1), width, ink, dashed });
            }
        }
        let base = (sizes.left, height);
        shapes.push(Shape::Stroke {
            from: base,
            to: (sizes.right, height),
            width: 0.6,
            ink: Ink::Quiet,
            dashed: false,
        });
        Strip { height, shapes }
    }

    /// Where a text beside `x` is held so that it stays inside: to the right of it, or to its left.
    fn held(&self, x: f32, spread: f32) -> (f32, Anchor) {
        let gap = self.sizes.at(2.5);
        if x + gap + spread <= self.sizes.width {
            (x + gap, Anchor::Start)
        } else {
            ((x - gap).max(spread), Anchor::End)
        }
    }
}

//! A gauge: its dial with the needle, and close by the needle's tip between the marks.
//!
//! **Invariant:** in the close-up marks and needle are dots of one raster, so the tip stands among the marks to half a
//! column whatever the font; below the marks the needle is the only thing drawn.

#![expect(clippy::float_arithmetic, reason = "angles of a drawn dial; nothing is read or computed from them")]

use std::f64::consts::PI;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use quantity::{Decimal, Scale};

use super::close::{Close, Fit, Rank, label_width, within_sight};
use super::coarse::Coarse;
use super::dots::Dots;
use super::{CLOSE_UP, clear, frame, put};
use crate::screen::theme::Theme;

/// Rows of the close-up: frame, numbers, two of marks, two of needle.
const CLOSE_ROWS: u16 = 7;
/// By how much the dial reaches below its pivot on each side, as an angle.
const DIP: f64 = PI / 12.0;
/// Dot rows of the marks in the close-up, by rank; the tip of the needle ends between the short ones' ends and the
/// long ones'.
const NUMBERED: i64 = 8;
const MIDDLE: i64 = 6;
const PLAIN: i64 = 4;
const TIP: i64 = 5;

pub(super) fn least(scale: &Scale) -> (u16, u16) {
    ((label_width(scale) * 2 + 8).max(26), CLOSE_ROWS)
}

pub(super) fn draw(scale: &Scale, at: Decimal, buf: &mut Buffer, area: Rect, theme: &Theme) -> bool {
    let at = within_sight(scale, at);
    let width = area.width.min(64);
    // On a high screen the close-up gets more needle.
    let rows = if area.height >= 24 { CLOSE_ROWS + 2 } else { CLOSE_ROWS };
    let outer = Rect { y: area.bottom() - rows, height: rows, width, ..area };
    let fit = Fit {
        cells: i64::from(width - 2),
        every: &[10, 5, 4, 2, 1],
        per: (4, 6),
        margin: 3,
        rising: false,
        parts: (2, 0),
    };
    let Some(close) = Close::of(scale, &[at], &fit) else { return false };
    clear(buf, area, theme);
    let dial = Rect { height: area.height - rows, width, ..area };
    draw_dial(buf, dial, scale, at, &close, theme);
    let inner = frame(buf, outer, CLOSE_UP, theme.quiet);
    draw_close(buf, inner, at, &close, theme);
    true
}

fn draw_close(buf: &mut Buffer, inner: Rect, at: Decimal, close: &Close, theme: &Theme) {
    let area = Rect { y: inner.y + 1, height: inner.height - 1, ..inner };
    let mut marks = Dots::new(area);
    let mut taken = inner.x;
    for (cell, mark, rank) in close.marks() {
        let length = match rank {
            Rank::Numbered => NUMBERED,
            Rank::Middle => MIDDLE,
            Rank::Plain => PLAIN,
        };
        for y in 0..length {
            marks.set(cell * 2, y);
        }
        if rank == Rank::Numbered {
            let label = close.label(mark);
            let long = label.len() as u16;
            let x = (inner.x + cell as u16).saturating_sub(long / 2).max(inner.x);
            if x >= taken && x + long <= inner.right() {
                buf.set_string(x, inner.y, &label, theme.strong);
                taken = x + long + 1;
            }
        }
    }
    // The line the marks stand on, from the first to the last.
    let (low, high) = close.span();
    for x in close.part(low)..=close.part(high) {
        marks.set(x, 0);
    }
    marks.draw(buf, theme.plain);
    let mut needle = Dots::new(area);
    let tip = close.part(at).clamp(0, i64::from(area.width) * 2 - 1);
    let bottom = i64::from(area.height) * 4;
    for y in TIP..bottom {
        let half = ((y - NUMBERED - 2).max(0) + 1) / 2;
        for x in tip - half..=tip + half {
            needle.set(x, y);
        }
    }
    needle.draw(buf, theme.warn);
}

fn draw_dial(buf: &mut Buffer, area: Rect, scale: &Scale, at: Decimal, close: &Close, theme: &Theme) {
    let label = label_width(scale).min(5);
    let (wide, high) = (f64::from(area.width) * 2.0, f64::from(area.height) * 4.0);
    // One row for the numbers above, and what dips below the pivot.
    let radius = ((wide / 2.0) - f64::from(label) * 2.0 - 3.0).min((high - 6.0) / (1.0 + DIP.sin()));
    if radius < 14.0 {
        return;
    }
    // On a scale of a dial's length, numbers need about ten dots each.
    let numbers = ((radius * (PI + 2.0 * DIP) / (f64::from(label) * 2.0 + 6.0)) as u16).clamp(2, 12);
    let Some(coarse) = Coarse::of(scale, numbers, false) else { return };
    let (x0, y0) = (wide / 2.0, 5.0 + radius);
    let share = |value: Decimal| {
        let span = scale.max - scale.min;
        let per_mille = ((value - scale.min) * Decimal::from(100_000)).checked_div(span).unwrap_or_default();
        super::close::nearest(per_mille) as f64 / 100_000.0
    };
    let angle = |value: Decimal| PI + DIP - share(value) * (PI + 2.0 * DIP);
    let point = |angle: f64, at: f64| (x0 + at * angle.cos(), y0 - at * angle.sin());
    let dot = |dots: &mut Dots, angle: f64, at: f64| {
        let (x, y) = point(angle, at);
        dots.set(x.round() as i64, y.round() as i64);
    };
    let mut face = Dots::new(area);
    let steps = (radius * 8.0) as u32;
    for step in 0..=steps {
        let share = f64::from(step) / f64::from(steps);
        dot(&mut face, PI + DIP - share * (PI + 2.0 * DIP), radius);
    }
    // The part that is enlarged has a bold line.
    let (low, high) = close.span();
    let (from, to) = (angle(low), angle(high));
    for step in 0..=steps / 2 {
        let share = f64::from(step) / f64::from(steps / 2);
        dot(&mut face, from + (to - from) * share, radius + 1.0);
    }
    let values: Vec<Decimal> =
        coarse.marks(scale).iter().filter_map(|(_, number)| number.parse::<Decimal>().ok()).collect();
    let small = values.first().zip(values.get(1)).map(|(first, second)| (*second - *first) / Decimal::TWO);
    for value in &values {
        let angle_at = angle(*value);
        for into in 0..6 {
            dot(&mut face, angle_at, radius - f64::from(into));
        }
        if let Some(half) = small.map(|half| *value + half).filter(|half| *half < scale.max) {
            for into in 0..3 {
                dot(&mut face, angle(half), radius - f64::from(into));
            }
        }
    }
    face.draw(buf, theme.plain);
    for value in &values {
        let text = value.to_string();
        let long = text.len() as f64;
        let (x, y) = point(angle(*value), radius + 5.0);
        // On the left a number ends at its mark, on the right it begins there.
        let shift = (1.0 - angle(*value).cos()) / 2.0 * long;
        let column = (x / 2.0 - shift + 0.25).floor().max(0.0) as u16;
        let row = (y / 4.0).floor().max(0.0) as u16;
        if row < area.height && column + text.len() as u16 <= area.width {
            buf.set_string(area.x + column, area.y + row, &text, theme.quiet);
        }
    }
    let mut needle = Dots::new(area);
    let towards = angle(at);
    for step in 0..=((radius * 4.0) as u32) {
        let along = f64::from(step) / 4.0;
        if along > radius - 7.0 {
            break;
        }
        dot(&mut needle, towards, along);
        if along < radius * 0.55 {
            let (x, y) = point(towards, along);
            let (aside, up) = (towards.sin() * 0.8, towards.cos() * 0.8);
            needle.set((x + aside).round() as i64, (y + up).round() as i64);
        }
    }
    needle.draw(buf, theme.warn);
    let (x, y) = ((x0 / 2.0) as u16, (y0 / 4.0) as u16);
    put(buf, area.x + x, area.y + y, "●", theme.strong);
    let unit = scale.unit.to_string();
    let row = area.y + y + 2;
    if row < area.bottom() {
        let x = (area.x + x).saturating_sub(unit.chars().count() as u16 / 2);
        buf.set_string(x, row, unit, theme.quiet);
    }
}

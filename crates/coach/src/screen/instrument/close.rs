//! A close-up: which marks of a scale are in sight around a pointer, and in which cell each stands.
//!
//! Here: whole cells from mark to mark, which marks carry a number, and the place of any value in parts of a cell.
//! Not here: drawing.
//!
//! **Invariant:** every mark stands at the same place within its cell, so a pointer is read against it to a part of a
//! cell; the pointer and the numbered marks on both sides of it are in sight.

use quantity::{Decimal, Scale};

use super::EIGHTHS;

/// What a mark is drawn as.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Rank {
    /// Long, with its number.
    Numbered,
    /// Half-way between two numbers.
    Middle,
    /// Short.
    Plain,
}

/// How a close-up may be laid out.
pub(super) struct Fit {
    /// Cells there are.
    pub cells: i64,
    /// How many marks apart the numbers may stand, the liked first.
    pub every: &'static [i64],
    /// Cells from mark to mark: not fewer if it can be helped, and not more.
    pub per: (i64, i64),
    /// Cells to be left before the first and after the last of the two numbers.
    pub margin: i64,
    /// Whether the scale grows towards cell 0.
    pub rising: bool,
    /// Parts of a cell, and in which of them a mark stands.
    pub parts: (i64, i64),
}

/// A close-up that is laid out.
#[derive(Clone, Debug)]
pub(super) struct Close {
    step: Decimal,
    /// Lowest and highest mark, counted in graduations from zero.
    ends: (i64, i64),
    /// Marks from number to number.
    every: i64,
    /// Cells from mark to mark.
    pub(super) per: i64,
    /// A mark and the cell it stands in.
    anchor: (i64, i64),
    cells: i64,
    rising: bool,
    parts: (i64, i64),
}

/// The whole number below; 0 for what is no number of an instrument.
pub(super) fn floor(value: Decimal) -> i64 {
    i64::try_from(value.floor()).unwrap_or(0)
}

/// The nearest whole number, halves away from zero.
pub(super) fn nearest(value: Decimal) -> i64 {
    floor(value + Decimal::new(5, 1))
}

/// True for 1, 2 and 5 and these with noughts: what is written on an instrument.
pub(super) fn is_round(value: Decimal) -> bool {
    let mut digits = value.normalize().mantissa();
    while digits != 0 && digits % 10 == 0 {
        digits /= 10;
    }
    matches!(digits, 1 | 2 | 5)
}

impl Close {
    /// Lays out the marks around all of `values`, the first of which is the pointer; `None` if the cells are too few.
    pub(super) fn of(scale: &Scale, values: &[Decimal], fit: &Fit) -> Option<Close> {
        let index = |value: Decimal| value.checked_div(scale.step);
        let ends = (nearest(index(scale.min)?), nearest(index(scale.max)?));
        let lowest = values.iter().min()?;
        let highest = values.iter().max()?;
        let (from, to) = (floor(index(*lowest)?), -floor(index(-*highest)?));
        let (from, to) = (from.clamp(ends.0, ends.1), to.clamp(ends.0, ends.1));
        // A scale of a few marks is all numbered.
        let liked =
            fit.every.iter().copied().filter(|every| {
                *every == 1 || (*every <= ends.1 - ends.0 && is_round(Decimal::from(*every) * scale.step))
            });
        // Around one pointer the numbers on both sides of it are in sight. Where there is more to see, such as foam,
        // all of that is in sight, and two numbers somewhere among the marks.
        let single = values.len() == 1;
        let room = fit.cells - 1 - 2 * if single { fit.margin } else { 1 };
        let layout = |every: i64, least: i64| {
            let grain = if single { every } else { 1 };
            let mut first = from.div_euclid(grain) * grain;
            let mut last = -(-to).div_euclid(grain) * grain;
            if last - first < every {
                last = first + every;
            }
            // Beyond the end of the scale there is nothing to see.
            if last > ends.1 {
                last = ends.1.max(to);
                first = first.min(last - every);
            }
            if first < ends.0 {
                first = ends.0.min(from);
                last = last.max(first + every);
            }
            let per = (room / (last - first).max(1)).min(fit.per.1);
            if per < least {
                return None;
            }
            let before = (fit.cells - 1 - (last - first) * per) / 2;
            let anchor = (first, if fit.rising { fit.cells - 1 - before } else { before });
            let (step, cells, rising, parts) = (scale.step, fit.cells, fit.rising, fit.parts);
            let close = Close { step, ends, every, per, anchor, cells, rising, parts };
            let numbers = close.marks().iter().filter(|(.., rank)| *rank == Rank::Numbered).count();
            (numbers >= 2).then_some(close)
        };
        liked
            .clone()
            .find_map(|every| layout(every, fit.per.0))
            .or_else(|| (1..fit.per.0).rev().find_map(|least| liked.clone().find_map(|every| layout(every, least))))
    }

    /// A close-up of rows in eighths, its marks in the middle of their rows.
    pub(super) fn of_rows(
        scale: &Scale,
        values: &[Decimal],
        rows: u16,
        rising: bool,
        per: (i64, i64),
    ) -> Option<Close> {
        let fit =
            Fit { cells: i64::from(rows), every: &[5, 4, 2, 1], per, margin: 2, rising, parts: (EIGHTHS, EIGHTHS / 2) };
        Close::of(scale, values, &fit)
    }

    fn cell_of(&self, mark: i64) -> i64 {
        let along = (mark - self.anchor.0) * self.per;
        self.anchor.1 + if self.rising { -along } else { along }
    }

    /// The marks in sight: cell, number of the mark in graduations from zero, and rank.
    pub(super) fn marks(&self) -> Vec<(i64, i64, Rank)> {
        let reach = self.cells / self.per + 1;
        let (low, high) = (self.anchor.0 - reach, self.anchor.0 + reach);
        (low.max(self.ends.0)..=high.min(self.ends.1))
            .map(|mark| (self.cell_of(mark), mark, self.rank(mark)))
            .filter(|(cell, ..)| (0..self.cells).contains(cell))
            .collect()
    }

    fn rank(&self, mark: i64) -> Rank {
        if mark % self.every == 0 || mark == self.ends.0 || mark == self.ends.1 {
            Rank::Numbered
        } else if self.every >= 4 && self.every % 2 == 0 && mark % (self.every / 2) == 0 {
            Rank::Middle
        } else {
            Rank::Plain
        }
    }

    /// The number at a mark, with the decimals its neighbours need.
    pub(super) fn label(&self, mark: i64) -> String {
        let mut value = (Decimal::from(mark) * self.step).normalize();
        let places = (Decimal::from(self.every) * self.step).normalize().scale();
        if value.scale() < places {
            value.rescale(places);
        }
        value.to_string()
    }

    /// Where a value stands, in parts of a cell from the start of cell 0; what is out of sight stands at the edge.
    pub(super) fn part(&self, value: Decimal) -> i64 {
        let (parts, mark) = self.parts;
        let along = value
            .checked_div(self.step)
            .and_then(|index| (index - Decimal::from(self.anchor.0)).checked_mul(Decimal::from(self.per * parts)));
        let along = nearest(along.unwrap_or_default());
        let at = self.anchor.1 * parts + mark + if self.rising { -along } else { along };
        at.clamp(0, self.cells * parts)
    }

    /// The lowest and the highest value in sight.
    pub(super) fn span(&self) -> (Decimal, Decimal) {
        let marks = self.marks();
        let value = |mark: Option<&(i64, i64, Rank)>| Decimal::from(mark.map_or(0, |mark| mark.1)) * self.step;
        (value(marks.first()), value(marks.last()))
    }
}

/// A pointer beyond the scale is drawn a little beyond its last mark.
pub(super) fn within_sight(scale: &Scale, value: Decimal) -> Decimal {
    value.max(scale.min - scale.step).min(scale.max + scale.step)
}

/// Columns the numbers of a scale need.
pub(super) fn label_width(scale: &Scale) -> u16 {
    let width = |end: Decimal| {
        let mut end = end.normalize();
        if end.scale() < scale.places() {
            end.rescale(scale.places());
        }
        end.to_string().len()
    };
    width(scale.min).max(width(scale.max)) as u16
}

//! The whole scale of an instrument, small: which marks carry numbers and where a value stands among them.
//!
//! Here: whole rows from number to number over the whole range. Not here: the single graduations, which need a close-up.
//!
//! **Invariant:** the whole range has its place, and numbers stand in the middle of their rows, as in a close-up.

use quantity::{Decimal, Scale};

use super::EIGHTHS;
use super::close::{floor, is_round, nearest};

/// The whole scale, laid out over rows.
#[derive(Clone, Debug)]
pub(super) struct Coarse {
    /// From number to number.
    every: Decimal,
    /// The first number, counted in `every` from zero, and the last.
    ends: (i64, i64),
    /// Rows from number to number.
    each: i64,
    rising: bool,
}

impl Coarse {
    /// The finest layout in so many rows; `None` if even two numbers do not fit.
    pub(super) fn of(scale: &Scale, rows: u16, rising: bool) -> Option<Coarse> {
        let rows = i64::from(rows);
        // Where there are many rows, numbers need not stand in every one.
        let least = if rows >= 20 { 2 } else { 1 };
        // Ones, twos and fives, from the graduation upwards.
        let mut unit = Decimal::new(1, 4);
        while unit < Decimal::from(1_000_000) {
            for times in [1, 2, 5] {
                let every = unit * Decimal::from(times);
                if every < scale.step || !is_round(every) || !(every.checked_rem(scale.step)?).is_zero() {
                    continue;
                }
                let first = floor(scale.min.checked_div(every)?);
                let last = -floor((-scale.max).checked_div(every)?);
                if last > first && (last - first) * least < rows {
                    let each = ((rows - 1) / (last - first)).min(3);
                    return Some(Coarse { every, ends: (first, last), each, rising });
                }
            }
            unit *= Decimal::TEN;
        }
        None
    }

    /// Rows it takes.
    pub(super) fn rows(&self) -> i64 {
        (self.ends.1 - self.ends.0) * self.each + 1
    }

    /// Row and number of every mark within the range.
    pub(super) fn marks(&self, scale: &Scale) -> Vec<(i64, String)> {
        (self.ends.0..=self.ends.1)
            .map(|mark| (mark, Decimal::from(mark) * self.every))
            .filter(|(_, value)| *value >= scale.min && *value <= scale.max)
            .map(|(mark, value)| {
                let along = (mark - self.ends.0) * self.each;
                let row = if self.rising { self.rows() - 1 - along } else { along };
                (row, value.normalize().to_string())
            })
            .collect()
    }

    /// Where a value stands, in eighths of a row from the top of the first.
    pub(super) fn eighths(&self, value: Decimal) -> i64 {
        let along = value.checked_div(self.every).unwrap_or_default() - Decimal::from(self.ends.0);
        let along = nearest(along * Decimal::from(self.each * EIGHTHS));
        let at = if self.rising { (self.rows() - 1) * EIGHTHS - along } else { along };
        (at + EIGHTHS / 2).clamp(0, self.rows() * EIGHTHS)
    }
}

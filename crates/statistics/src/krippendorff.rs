//! Any number of raters, with gaps: Krippendorff's alpha.
//!
//! Here: nominal, ordinal and interval marks. Not here: ratio marks, which no mark sheet has.
//!
//! **Invariant:** a mark nobody else gave a partner to is left out of everything, also of the frequencies.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::estimate::{Estimate, Undefined, as_f64, even_rows, is_rounding, largest_to_square};
use crate::fleiss::{JACKKNIFE, jackknife};

/// What the difference of two marks means.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Level {
    /// Alike or not.
    Nominal,
    /// Ranks: a difference counts the marks that lie between.
    Ordinal,
    /// Numbers: a difference counts by its square.
    Interval,
}

/// Krippendorff's alpha; n is the performances (columns) with at least two marks.
///
/// A row is a rater, a column a performance; `None` where the rater did not see it. 1 − (disagreement seen) /
/// (disagreement expected when the marks were dealt out at random). The interval is the jackknife of
/// [`crate::fleiss_kappa`].
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NotANumber`]; [`Undefined::OneRater`];
/// [`Undefined::NoPairs`] if no column has two marks; [`Undefined::OneCategory`] if all marks that have a partner are
/// alike; [`Undefined::OneItem`] for a single such column, where alpha is 0 whatever was marked. The interval as in
/// [`crate::fleiss_kappa`].
///
/// ```
/// use statistics::{Level, Undefined, krippendorff_alpha};
///
/// let marks = [vec![Some(0.0), Some(1.0), None, Some(1.0)], vec![Some(0.0), Some(1.0), Some(1.0), Some(0.0)]];
/// let alpha = krippendorff_alpha(&marks, Level::Nominal)?;
/// assert_eq!(alpha.n, 3); // the third performance was seen by one rater only
/// assert_eq!(format!("{:.4}", alpha.value), "0.4444");
/// # Ok::<(), Undefined>(())
/// ```
///
/// Source: Krippendorff, Content Analysis (from memory, equal to the Python package `krippendorff`).
pub fn krippendorff_alpha(raters: &[Vec<Option<f64>>], level: Level) -> Result<Estimate, Undefined> {
    let columns = even_rows(raters)?;
    largest_to_square(raters.iter().flatten().flatten().copied())?;
    if !raters.iter().flatten().any(Option::is_some) {
        return Err(Undefined::NoRatings);
    }
    if raters.len() == 1 {
        return Err(Undefined::OneRater);
    }
    let marks_of = |at: usize| raters.iter().filter_map(|row| row[at]).collect::<Vec<f64>>();
    let units: Vec<Vec<f64>> = (0..columns).map(marks_of).filter(|unit| unit.len() > 1).collect();
    let Some(first) = units.first().map(|unit| unit[0]) else { return Err(Undefined::NoPairs) };
    if units.iter().flatten().all(|mark| *mark == first) {
        return Err(Undefined::OneCategory);
    }
    if units.len() == 1 {
        return Err(Undefined::OneItem);
    }
    let marks = Marks::of(&units);
    let value = marks.alpha(level, None).ok_or(Undefined::OutOfReach)?;
    let ends = jackknife(value, (0..units.len()).map(|at| marks.alpha(level, Some(at))));
    Estimate::checked(value, units.len(), JACKKNIFE, ends)
}

/// The marks with a partner, by category.
struct Marks {
    /// The different marks, in order.
    values: Vec<f64>,
    /// How often each was given.
    totals: Vec<usize>,
    /// For each performance its marks as places in `values`.
    units: Vec<Vec<usize>>,
}

impl Marks {
    fn of(units: &[Vec<f64>]) -> Self {
        let mut values: Vec<f64> = units.iter().flatten().copied().collect();
        values.sort_by(f64::total_cmp);
        values.dedup_by(|a, b| *a == *b);
        let mut totals = vec![0_usize; values.len()];
        let mut place = |mark: &f64| {
            let at = values.partition_point(|value| value < mark);
            totals[at] += 1;
            at
        };
        let units = units.iter().map(|unit| unit.iter().map(&mut place).collect()).collect();
        Self { values, totals, units }
    }

    /// Alpha, leaving one performance out if asked; none if what is left is all alike.
    fn alpha(&self, level: Level, without: Option<usize>) -> Option<f64> {
        let mut totals = self.totals.clone();
        if let Some(unit) = without {
            for &at in &self.units[unit] {
                totals[at] -= 1;
            }
        }
        if totals.iter().filter(|total| **total > 0).count() < 2 {
            return None;
        }
        let all: usize = totals.iter().sum();
        let places = self.places(level, &totals);
        let kept = self.units.iter().enumerate().filter(|(at, _)| Some(*at) != without).map(|(_, unit)| unit);
        let (seen, by_chance) = match level {
            Level::Nominal => {
                let seen: f64 = kept.map(|unit| unlike_pairs(unit) / (as_f64(unit.len()) - 1.0)).sum();
                let alike: usize = totals.iter().map(|total| total * total).sum();
                (seen, as_f64(all * all - alike))
            }
            Level::Ordinal | Level::Interval => {
                let pairs = |marks: &mut dyn Iterator<Item = (f64, f64)>| squared_differences(marks);
                let seen = kept
                    .map(|unit| pairs(&mut unit.iter().map(|at| (places[*at], 1.0))) / (as_f64(unit.len()) - 1.0))
                    .sum();
                (seen, pairs(&mut places.iter().zip(&totals).map(|(place, total)| (*place, as_f64(*total)))))
            }
        };
        let largest = places.iter().fold(0.0_f64, |most, place| most.max(place.abs()));
        if by_chance <= 0.0 || is_rounding(by_chance, all * all, largest) {
            return None;
        }
        Some(1.0 - (as_f64(all) - 1.0) * (seen / by_chance))
    }

    /// Where each mark stands on the line its differences are measured on. The ordinal difference of two marks (half of
    /// each, and all between) is the difference of their mean ranks.
    fn places(&self, level: Level, totals: &[usize]) -> Vec<f64> {
        match level {
            Level::Nominal | Level::Interval => {
                // Measured from the middle one: a large constant in all marks costs no digits.
                let middle = self.values[self.values.len() / 2];
                self.values.iter().map(|value| value - middle).collect()
            }
            Level::Ordinal => totals
                .iter()
                .scan(0, |below, total| {
                    let rank = as_f64(*below) + as_f64(*total) / 2.0;
                    *below += total;
                    Some(rank)
                })
                .collect(),
        }
    }
}

/// Ordered pairs of unlike marks in one performance.
fn unlike_pairs(unit: &[usize]) -> f64 {
    as_f64(unit.iter().map(|a| unit.iter().filter(|b| *b != a).count()).sum())
}

/// The squared differences of all ordered pairs of marks, each mark given with how often it occurs.
fn squared_differences(marks: &mut dyn Iterator<Item = (f64, f64)>) -> f64 {
    // Twice n times the sum of squares about the mean, which grows with every mark and so never cancels.
    let (mut n, mut mean, mut about) = (0.0, 0.0, 0.0);
    for (place, weight) in marks.filter(|(_, weight)| *weight > 0.0) {
        n += weight;
        let step = place - mean;
        mean += step * weight / n;
        about += weight * step * (place - mean);
    }
    2.0 * n * about
}

//! Two raters of the same performances: percent agreement and Cohen's kappa.
//!
//! Here: the table of pairs and the two coefficients. Not here: three raters or gaps ([`crate::fleiss_kappa`],
//! [`crate::krippendorff_alpha`]).
//!
//! **Invariant:** the categories are those that were declared. One that nobody used keeps its place, so the distance
//! between grades 4 and 6 stays two however the marks fell.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::estimate::{Estimate, Undefined, as_f64, even_rows};
use crate::proportion::proportion;
use crate::special::Z_95;

/// How a disagreement weighs.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Weights {
    /// All disagreements alike: for marks without an order, such as done or missed.
    #[default]
    None,
    /// By the number of grades between the two marks.
    Linear,
    /// By its square.
    Quadratic,
}

impl Weights {
    /// The weight of a disagreement between two categories. It is a whole number, so that what is zero is exactly zero.
    fn between(self, a: usize, b: usize) -> u128 {
        let apart = a.abs_diff(b) as u128;
        match self {
            Self::None => u128::from(apart > 0),
            Self::Linear => apart,
            Self::Quadratic => apart.saturating_mul(apart),
        }
    }
}

/// How often the two raters gave each pair of marks, over all declared categories.
///
/// ```
/// use statistics::{Table, Undefined, Weights, cohen_kappa, percent_agreement};
///
/// // Done = 0, missed = 1: twelve acts marked by two raters.
/// let first = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0];
/// let second = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 1];
/// let table = Table::of(2, &first, &second)?;
/// assert_eq!(percent_agreement(&table)?.to_string(), "0.83 (95 % 0.55 to 0.95, n = 12)");
/// assert_eq!(format!("{:.4}", cohen_kappa(&table, Weights::None)?.value), "0.5556");
/// # Ok::<(), Undefined>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Row: the first rater's mark; column: the second's.
    counts: Vec<Vec<u32>>,
}

impl Table {
    /// An empty table over so many categories.
    pub fn new(categories: usize) -> Self {
        Self { counts: vec![vec![0; categories]; categories] }
    }

    /// The pairs of two raters; marks are categories counted from 0.
    ///
    /// # Errors
    ///
    /// [`Undefined::Ragged`] if one rater marked more than the other, [`Undefined::UnknownCategory`] for a mark beyond
    /// the declared ones.
    pub fn of(categories: usize, first: &[usize], second: &[usize]) -> Result<Self, Undefined> {
        if first.len() != second.len() {
            return Err(Undefined::Ragged { row: 2, has: second.len(), expected: first.len() });
        }
        let mut table = Self::new(categories);
        for (&a, &b) in first.iter().zip(second) {
            table.count(a, b)?;
        }
        Ok(table)
    }

    /// A table that is already counted: row the first rater's mark, column the second's.
    ///
    /// # Errors
    ///
    /// [`Undefined::Ragged`] if it is not square.
    pub fn from_counts(counts: Vec<Vec<u32>>) -> Result<Self, Undefined> {
        let columns = even_rows(&counts)?;
        if columns != counts.len() {
            return Err(Undefined::Ragged { row: 1, has: columns, expected: counts.len() });
        }
        Ok(Self { counts })
    }

    /// Counts one pair of marks.
    ///
    /// # Errors
    ///
    /// [`Undefined::UnknownCategory`] for a mark beyond the declared ones; the table is as before.
    pub fn count(&mut self, first: usize, second: usize) -> Result<(), Undefined> {
        let declared = self.counts.len();
        let unknown = |category| Undefined::UnknownCategory { category, declared };
        let row = self.counts.get_mut(first).ok_or(unknown(first))?;
        let cell = row.get_mut(second).ok_or(unknown(second))?;
        *cell = cell.saturating_add(1);
        Ok(())
    }

    /// Adds the pairs of another trial, for agreement over all of them.
    ///
    /// # Errors
    ///
    /// [`Undefined::Ragged`] if the two have not the same number of categories; the table is as before.
    pub fn add(&mut self, other: &Self) -> Result<(), Undefined> {
        if other.counts.len() != self.counts.len() {
            return Err(Undefined::Ragged { row: 1, has: other.counts.len(), expected: self.counts.len() });
        }
        for (cell, more) in self.counts.iter_mut().flatten().zip(other.counts.iter().flatten()) {
            *cell = cell.saturating_add(*more);
        }
        Ok(())
    }

    /// How many pairs there are.
    pub fn pairs(&self) -> usize {
        self.counts.iter().flatten().map(|count| *count as usize).sum()
    }

    /// How many pairs agree.
    pub fn agreeing(&self) -> usize {
        self.counts.iter().enumerate().map(|(at, row)| row[at] as usize).sum()
    }

    /// How often each category was given by the first rater, and by the second.
    fn margins(&self) -> (Vec<u128>, Vec<u128>) {
        let rows = self.counts.iter().map(|row| row.iter().copied().map(u128::from).sum()).collect();
        let columns =
            (0..self.counts.len()).map(|at| self.counts.iter().map(|row| u128::from(row[at])).sum()).collect();
        (rows, columns)
    }
}

/// The share of performances both raters marked alike, with Wilson's interval; n is the pairs.
///
/// Percent agreement counts what chance would have given too: two raters who both mark nearly everything "done" agree
/// nearly always. [`cohen_kappa`] allows for that.
///
/// # Errors
///
/// [`Undefined::NoRatings`] for an empty table.
pub fn percent_agreement(table: &Table) -> Result<Estimate, Undefined> {
    proportion(table.agreeing(), table.pairs())
}

/// Cohen's kappa: agreement beyond chance, as a share of what was possible; n is the pairs.
///
/// 1 − (disagreement seen) / (disagreement expected from the raters' own frequencies), each disagreement weighted by
/// `weights` over **all** declared categories. The interval is ± 1.96 of the asymptotic standard error for a kappa
/// that is not zero, kept within −1 to 1; it is a large-sample interval and too short for a handful of pairs.
///
/// # Errors
///
/// [`Undefined::NoRatings`]; [`Undefined::OneCategory`] if only one is declared, or both raters gave one and the same
/// mark throughout; [`Undefined::OneItem`] for a single pair, where kappa can only be 0 or 0 / 0. The interval is
/// [`Undefined::NoScatter`] where the standard error is zero: after perfect agreement, or one mark throughout by one
/// rater.
///
/// Source: Cohen 1960 and 1968; standard error of Fleiss, Cohen and Everitt 1969 (from memory, equal to statsmodels
/// `cohens_kappa`).
pub fn cohen_kappa(table: &Table, weights: Weights) -> Result<Estimate, Undefined> {
    const HOW: &str = "asymptotic standard error of Fleiss, Cohen and Everitt (1969)";
    let (rows, columns) = table.margins();
    let (categories, pairs) = (table.counts.len(), table.pairs());
    if pairs == 0 {
        return Err(Undefined::NoRatings);
    }
    if categories == 1 {
        return Err(Undefined::OneCategory);
    }
    let cells = || (0..categories).flat_map(|a| (0..categories).map(move |b| (a, b)));
    let seen: u128 = cells().map(|(a, b)| weights.between(a, b) * u128::from(table.counts[a][b])).sum();
    let expected: u128 = cells().map(|(a, b)| weights.between(a, b) * rows[a] * columns[b]).sum();
    if expected == 0 {
        return Err(Undefined::OneCategory);
    }
    if pairs == 1 {
        return Err(Undefined::OneItem);
    }
    let n = as_f64(pairs);
    let (seen, expected) = (wide(seen) / n, wide(expected) / (n * n));
    let kappa = 1.0 - seen / expected;

    // In disagreement weights v = 1 − w the variance reads
    // Σ p (v − (v̄ row + v̄ column)(seen / expected))² − (seen)², over n · expected².
    // It is the published one with v put in: all that is constant drops out.
    let share = |counts: &[u128], at: usize| wide(counts[at]) / n;
    let weight = |a, b| wide(weights.between(a, b));
    let row_mean: Vec<f64> =
        (0..categories).map(|a| (0..categories).map(|b| weight(a, b) * share(&columns, b)).sum()).collect();
    let column_mean: Vec<f64> =
        (0..categories).map(|b| (0..categories).map(|a| weight(a, b) * share(&rows, a)).sum()).collect();
    let ratio = seen / expected;
    let spread: f64 = cells()
        .map(|(a, b)| {
            let influence = weight(a, b) - (row_mean[a] + column_mean[b]) * ratio;
            f64::from(table.counts[a][b]) / n * influence * influence
        })
        .sum();
    let variance = spread - seen * seen;
    let ends = if variance <= 1e-12 * spread.max(seen * seen) {
        Err(Undefined::NoScatter)
    } else {
        let reach = Z_95 * (variance / n).sqrt() / expected;
        Ok(((kappa - reach).max(-1.0), (kappa + reach).min(1.0)))
    };
    Estimate::checked(kappa, pairs, HOW, ends)
}

/// A whole number as a float; counts here stay far below 2⁵³, and beyond it the last bit hardly matters.
#[expect(clippy::cast_precision_loss, reason = "a count; exact up to 2^53 and correctly rounded beyond")]
fn wide(count: u128) -> f64 {
    count as f64
}

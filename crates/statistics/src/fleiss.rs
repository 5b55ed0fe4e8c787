//! Three or more raters, the same number for every performance: Fleiss' kappa.
//!
//! Here: the coefficient from counts, and the jackknife it shares with Krippendorff's alpha. Not here: gaps.
//!
//! **Invariant:** every performance was marked by the same number of raters; otherwise nothing is returned.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::estimate::{Estimate, Undefined, as_f64, even_rows};
use crate::special::t_95;

/// What the jackknife is called in a report.
pub(crate) const JACKKNIFE: &str = "jackknife over performances, Student's t";

/// Fleiss' kappa: agreement of several raters beyond chance; n is the performances (rows).
///
/// A row holds how many raters gave each category. The interval is a jackknife: the coefficient is worked out again
/// without each performance in turn, and their scatter gives the standard error, ± t with n − 1 degrees of freedom,
/// kept within −1 to 1. It draws no random numbers, so it is the same every time.
///
/// # Errors
///
/// [`Undefined::NoRatings`]; [`Undefined::Ragged`] if a row has another number of categories, or of raters;
/// [`Undefined::OneRater`]; [`Undefined::OneCategory`]; [`Undefined::OneItem`] for a single row, where it is
/// −1 / (raters − 1) whatever was marked. The interval takes three rows ([`Undefined::TooFew`]), scatter
/// ([`Undefined::NoScatter`]), and a coefficient that exists without each ([`Undefined::RestsOnOne`]).
///
/// ```
/// use statistics::{Undefined, fleiss_kappa};
///
/// // Three raters, four performances: done, told aloud, missed.
/// let kappa = fleiss_kappa(&[vec![3, 0, 0], vec![0, 3, 0], vec![1, 2, 0], vec![0, 0, 3]])?;
/// assert_eq!(format!("{:.4}", kappa.value), "0.7447");
/// assert_eq!(fleiss_kappa(&[vec![3, 0], vec![3, 0]]), Err(Undefined::OneCategory));
/// # Ok::<(), Undefined>(())
/// ```
///
/// Source: Fleiss 1971 (from memory, equal to statsmodels `fleiss_kappa`); jackknife after Quenouille and Tukey (memory).
pub fn fleiss_kappa(counts: &[Vec<u32>]) -> Result<Estimate, Undefined> {
    let categories = even_rows(counts)?;
    let raters_of = |row: &Vec<u32>| row.iter().map(|count| *count as usize).sum::<usize>();
    let raters = counts.first().map_or(0, raters_of);
    if let Some(at) = counts.iter().position(|row| raters_of(row) != raters) {
        return Err(Undefined::Ragged { row: at.saturating_add(1), has: raters_of(&counts[at]), expected: raters });
    }
    if counts.is_empty() || raters == 0 {
        return Err(Undefined::NoRatings);
    }
    if raters == 1 {
        return Err(Undefined::OneRater);
    }
    let used = (0..categories).filter(|at| counts.iter().any(|row| row[*at] > 0)).count();
    if used < 2 {
        return Err(Undefined::OneCategory);
    }
    if counts.len() == 1 {
        return Err(Undefined::OneItem);
    }
    let (raters, n) = (as_f64(raters), counts.len());
    let alike = |row: &Vec<u32>| -> f64 { row.iter().map(|c| f64::from(*c) * (f64::from(*c) - 1.0)).sum() };
    let totals: Vec<f64> = (0..categories).map(|at| counts.iter().map(|row| f64::from(row[at])).sum()).collect();
    let alike_in_all: f64 = counts.iter().map(alike).sum();
    let kappa = |without: Option<&Vec<u32>>| -> Option<f64> {
        let rows = as_f64(n) - without.map_or(0.0, |_| 1.0);
        let seen = (alike_in_all - without.map_or(0.0, alike)) / (rows * raters * (raters - 1.0));
        let left = |at: usize| totals[at] - without.map_or(0.0, |row| f64::from(row[at]));
        let all = rows * raters;
        // All of these are whole numbers, so that one category left alone is found exactly.
        if (0..categories).any(|at| left(at) >= all) {
            return None;
        }
        let by_chance: f64 = (0..categories).map(|at| (left(at) / all).powi(2)).sum();
        Some((seen - by_chance) / (1.0 - by_chance))
    };
    let value = kappa(None).ok_or(Undefined::OneCategory)?;
    Estimate::checked(value, n, JACKKNIFE, jackknife(value, counts.iter().map(|row| kappa(Some(row)))))
}

/// The ends of a jackknife interval around `value` from the figure without each unit in turn, within −1 to 1.
pub(crate) fn jackknife(value: f64, without_each: impl Iterator<Item = Option<f64>>) -> Result<(f64, f64), Undefined> {
    const FEWEST: usize = 3;
    let Some(left) = without_each.collect::<Option<Vec<f64>>>() else { return Err(Undefined::RestsOnOne) };
    if left.len() < FEWEST {
        return Err(Undefined::TooFew { have: left.len(), need: FEWEST });
    }
    let n = as_f64(left.len());
    let mean = left.iter().sum::<f64>() / n;
    let scatter: f64 = left.iter().map(|figure| (figure - mean).powi(2)).sum();
    // The figures are of size 1 and carry the rounding of some dozens of sums.
    if scatter <= n * 1e-26 {
        return Err(Undefined::NoScatter);
    }
    let reach = t_95(n - 1.0) * (scatter * (n - 1.0) / n).sqrt();
    Ok(((value - reach).max(-1.0), (value + reach).min(1.0)))
}

//! A share of so many, with Wilson's score interval.
//!
//! Here: shares and the difference of two. Not here: what is counted.
//!
//! **Invariant:** the ends lie within 0 to 1 (a difference: −1 to 1), also at none and at all.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::estimate::{Estimate, Undefined, as_f64};
use crate::special::Z_95;

/// What Wilson's interval is called in a report.
const WILSON: &str = "Wilson score interval (1927)";

/// A share: `part` of `whole`; n is `whole`.
///
/// Wilson's score interval has ends also where none or all are counted, which is what small groups do: from 8 people
/// one person more moves the share by 12.5 points, and the interval says so.
///
/// # Errors
///
/// [`Undefined::NoRatings`] of none; [`Undefined::NotAShare`] where the part is more than the whole.
///
/// Source: Wilson 1927 (formula from memory, equal to statsmodels `proportion_confint`).
pub fn proportion(part: usize, whole: usize) -> Result<Estimate, Undefined> {
    if whole == 0 {
        return Err(Undefined::NoRatings);
    }
    if part > whole {
        return Err(Undefined::NotAShare { part, whole });
    }
    let share = as_f64(part) / as_f64(whole);
    Estimate::checked(share, whole, WILSON, Ok(wilson(share, as_f64(whole))))
}

/// The ends of Wilson's interval.
pub(crate) fn wilson(share: f64, n: f64) -> (f64, f64) {
    let square = Z_95 * Z_95;
    let centre = (share + square / (2.0 * n)) / (1.0 + square / n);
    let reach = Z_95 * (share * (1.0 - share) / n + square / (4.0 * n * n)).sqrt() / (1.0 + square / n);
    ((centre - reach).max(0.0), (centre + reach).min(1.0))
}

/// What the interval of a difference of two shares is called in a report.
pub(crate) const NEWCOMBE: &str = "Newcombe's interval from two Wilson intervals (1998)";

/// The ends of Newcombe's interval for `upper` − `lower`, shares of groups of `n` each.
pub(crate) fn newcombe(upper: f64, lower: f64, n: f64) -> (f64, f64) {
    let difference = upper - lower;
    let ((upper_low, upper_high), (lower_low, lower_high)) = (wilson(upper, n), wilson(lower, n));
    let down = ((upper - upper_low).powi(2) + (lower_high - lower).powi(2)).sqrt();
    let up = ((upper_high - upper).powi(2) + (lower - lower_low).powi(2)).sqrt();
    (difference - down, difference + up)
}

//! Times and scores in short: mean, scatter, median, range.
//!
//! Here: what a class sheet says of a list of numbers. Not here: how the numbers arose.
//!
//! **Invariant:** a sum of squares is taken about the mean, in two passes; the one-pass formula loses every digit of
//! NIST's NumAcc4.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::estimate::{Estimate, Undefined, as_f64, is_rounding, largest, largest_to_square};
use crate::special::t_95;

/// Mean and scatter of a list of at least two numbers.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Spread {
    /// The mean.
    pub mean: f64,
    /// Variance with n − 1 in the denominator: of people drawn from many.
    pub sample_variance: f64,
    /// Variance with n: of these people and no others, as [`crate::kr20`] uses it.
    pub population_variance: f64,
    /// Root of the sample variance.
    pub sd: f64,
    /// How many numbers.
    pub n: usize,
}

/// The mean and the sum of squares about it, exactly zero if all values are the same.
pub(crate) struct About {
    pub mean: f64,
    pub squares: f64,
}

/// Two passes, measured from the first value, the second corrected by the rounding of the first.
pub(crate) fn about(values: &[f64]) -> About {
    let (n, from) = (as_f64(values.len()), values.first().copied().unwrap_or(0.0));
    let shift = values.iter().map(|value| value - from).sum::<f64>() / n;
    let (mut sum, mut squares) = (0.0, 0.0);
    for value in values {
        let off = (value - from) - shift;
        sum += off;
        squares += off * off;
    }
    About { mean: from + (shift + sum / n), squares: (squares - sum * sum / n).max(0.0) }
}

/// Mean, variances and standard deviation.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`], [`Undefined::TooFew`] below two, [`Undefined::OutOfReach`].
/// All values alike is not an error: the scatter is 0.
pub fn spread(values: &[f64]) -> Result<Spread, Undefined> {
    if values.is_empty() {
        return Err(Undefined::NoRatings);
    }
    largest_to_square(values.iter().copied())?;
    let n = values.len();
    if n < 2 {
        return Err(Undefined::TooFew { have: n, need: 2 });
    }
    let About { mean, squares } = about(values);
    if !(mean.is_finite() && squares.is_finite()) {
        return Err(Undefined::OutOfReach);
    }
    let sample_variance = squares / (as_f64(n) - 1.0);
    Ok(Spread { mean, sample_variance, population_variance: squares / as_f64(n), sd: sample_variance.sqrt(), n })
}

/// The mean with Student's interval; n is the values.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`]. The interval takes two values ([`Undefined::TooFew`]) that
/// are not alike ([`Undefined::NoScatter`]).
pub fn mean(values: &[f64]) -> Result<Estimate, Undefined> {
    const HOW: &str = "Student's t";
    if values.is_empty() {
        return Err(Undefined::NoRatings);
    }
    let most = largest_to_square(values.iter().copied())?;
    let (n, About { mean, squares }) = (values.len(), about(values));
    let ends = if n < 2 {
        Err(Undefined::TooFew { have: n, need: 2 })
    } else if is_rounding(squares, n, most) {
        Err(Undefined::NoScatter)
    } else {
        let reach = t_95(as_f64(n) - 1.0) * (squares / (as_f64(n) - 1.0) / as_f64(n)).sqrt();
        Ok((mean - reach, mean + reach))
    };
    Estimate::checked(mean, n, HOW, ends)
}

/// The value a `share` of the list lies below, straight between neighbours: the place is (n − 1) · share, from 0.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`], [`Undefined::NoSuchQuantile`].
///
/// Source: definition 7 of Hyndman and Fan 1996 (memory), the default of NumPy and R.
pub fn quantile(values: &[f64], share: f64) -> Result<f64, Undefined> {
    if values.is_empty() {
        return Err(Undefined::NoRatings);
    }
    largest(values.iter().copied())?;
    if !(0.0..=1.0).contains(&share) {
        return Err(Undefined::NoSuchQuantile);
    }
    let value = at_share(&sorted(values), share);
    if value.is_finite() { Ok(value) } else { Err(Undefined::OutOfReach) }
}

/// The median with an interval of the list's own values; n is the values.
///
/// The ends are the values as many places from either end as a fair coin allows in 2.5 % of cases at most, so the
/// interval holds at least 95 % whatever the distribution of the times is.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`]. The interval takes six values ([`Undefined::TooFew`]).
pub fn median(values: &[f64]) -> Result<Estimate, Undefined> {
    const HOW: &str = "order statistics, at least 95 %";
    const FEWEST: usize = 6;
    let value = quantile(values, 0.5)?;
    let (n, values) = (values.len(), sorted(values));
    let ends = match places_from_the_end(n) {
        Some(places) => Ok((values[places], values[n - 1 - places])),
        None => Err(Undefined::TooFew { have: n, need: FEWEST }),
    };
    Estimate::checked(value, n, HOW, ends)
}

/// How many values are passed over from either end: the most k with P(at most k of n heads) ≤ 2.5 %.
fn places_from_the_end(n: usize) -> Option<usize> {
    let (mut ln_term, mut sum, mut found) = (-as_f64(n) * std::f64::consts::LN_2, 0.0, None);
    for k in 0..n {
        // Terms by their logarithms: 2⁻ⁿ itself is 0 for more than a thousand values.
        sum += ln_term.exp();
        if sum > 0.025 {
            break;
        }
        found = Some(k);
        ln_term += (as_f64(n - k) / (as_f64(k) + 1.0)).ln();
    }
    found
}

/// The smallest and the largest value.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`].
pub fn range(values: &[f64]) -> Result<(f64, f64), Undefined> {
    if values.is_empty() {
        return Err(Undefined::NoRatings);
    }
    largest(values.iter().copied())?;
    Ok(values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value))))
}

fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// Of a sorted list that is not empty.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place within the list")]
fn at_share(sorted: &[f64], share: f64) -> f64 {
    let place = as_f64(sorted.len() - 1) * share;
    let below = (place.floor() as usize).min(sorted.len() - 1);
    let above = sorted[(below + 1).min(sorted.len() - 1)];
    sorted[below] + (above - sorted[below]) * (place - place.floor())
}

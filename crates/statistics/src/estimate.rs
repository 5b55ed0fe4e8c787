//! A figure with its n and interval, and the reasons why there is none.
//!
//! Here: the two things every function of this crate answers with. Not here: any formula.
//!
//! **Invariant:** an [`Estimate`] is finite, and so are the ends of its [`Interval`]; all else is an [`Undefined`].

use std::fmt;

/// Where the true figure plausibly lies: a 95 % interval.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// The method it was found by, in words for a report's foot.
    pub how: &'static str,
}

/// A figure estimated from n observations.
///
/// The interval can be undefined although the figure is not: two raters who never differ agree perfectly, but
/// nothing says how far that holds.
///
/// ```
/// use statistics::{Undefined, proportion};
///
/// let passed = proportion(6, 8)?;
/// assert_eq!(passed.to_string(), "0.75 (95 % 0.41 to 0.93, n = 8)");
/// assert_eq!(format!("{passed:.3}"), "0.750 (95 % 0.409 to 0.929, n = 8)");
/// # Ok::<(), Undefined>(())
/// ```
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Estimate {
    /// The figure.
    pub value: f64,
    /// How many observations stand behind it; each function says what it counts.
    pub n: usize,
    /// The 95 % interval, or why there is none.
    pub interval: Result<Interval, Undefined>,
}

impl Estimate {
    /// The figure with the interval somebody worked out for it. What is not finite becomes [`Undefined::OutOfReach`],
    /// so that no caller can be handed an infinity.
    pub(crate) fn checked(
        value: f64,
        n: usize,
        how: &'static str,
        ends: Result<(f64, f64), Undefined>,
    ) -> Result<Self, Undefined> {
        if !value.is_finite() {
            return Err(Undefined::OutOfReach);
        }
        let interval = ends.and_then(|(low, high)| {
            // The last bit of a sum may put an end past the figure; the figure belongs to its interval.
            let (low, high) = (low.min(value), high.max(value));
            if low.is_finite() && high.is_finite() {
                Ok(Interval { low, high, how })
            } else {
                Err(Undefined::OutOfReach)
            }
        });
        Ok(Self { value, n, interval })
    }

    /// The lower end of the interval, where there is one.
    pub fn low(&self) -> Option<f64> {
        self.interval.ok().map(|interval| interval.low)
    }

    /// The upper end of the interval, where there is one.
    pub fn high(&self) -> Option<f64> {
        self.interval.ok().map(|interval| interval.high)
    }
}

/// "0.75 (95 % 0.41 to 0.93, n = 8)"; two places unless the format asks for others.
impl fmt::Display for Estimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = f.precision().unwrap_or(2);
        let (value, n) = (written(self.value, places), self.n);
        match self.interval {
            Ok(Interval { low, high, .. }) => {
                write!(f, "{value} (95 % {} to {}, n = {n})", written(low, places), written(high, places))
            }
            Err(why) => write!(f, "{value} (n = {n}; no interval: {why})"),
        }
    }
}

/// Rounded, with a true minus, and never "−0.00".
fn written(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(size) if size.chars().all(|c| matches!(c, '0' | '.')) => size.to_owned(),
        Some(size) => format!("−{size}"),
        None => text,
    }
}

/// Why a figure, or its interval, does not exist.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, thiserror::Error)]
#[non_exhaustive]
pub enum Undefined {
    /// Nothing has been marked yet.
    #[error("nothing has been marked")]
    NoRatings,
    /// All marks are of one category, so agreement by chance is already complete and kappa is 0 / 0.
    #[error("all marks fall in one category: agreement cannot be told from chance")]
    OneCategory,
    /// Agreement needs two.
    #[error("only one rater: agreement needs a second")]
    OneRater,
    /// One item or one performance: there is nothing to compare it with.
    #[error("only one item: nothing to compare it with")]
    OneItem,
    /// One person.
    #[error("only one person: nothing to compare with")]
    OnePerson,
    /// Everybody has the same score, every item the same mark, every time is equal.
    #[error("all values are the same: nothing varies")]
    NoVariance,
    /// Raters and items were not crossed: no performance was marked by two raters.
    #[error("no performance was marked by two raters")]
    NoPairs,
    /// Too few for this figure or this interval.
    #[error("only {have}: at least {need} are needed")]
    TooFew {
        /// How many there are.
        have: usize,
        /// How many it takes.
        need: usize,
    },
    /// Rows of unlike length: some marks are missing where the formula allows none.
    #[error("row {row} has {has} marks where the first has {expected}: complete it or leave it out")]
    Ragged {
        /// The row, from 1.
        row: usize,
        /// The marks it has.
        has: usize,
        /// The marks of the first row.
        expected: usize,
    },
    /// A mark outside the declared categories.
    #[error("category {category} is not among the {declared} that were declared")]
    UnknownCategory {
        /// The mark, counted from 0.
        category: usize,
        /// How many categories there are.
        declared: usize,
    },
    /// The item that was asked for is not in the table.
    #[error("there is no item {item}: the table has {items}")]
    NoSuchItem {
        /// The item, counted from 0.
        item: usize,
        /// How many items there are.
        items: usize,
    },
    /// More successes than tries.
    #[error("{part} of {whole} is not a share")]
    NotAShare {
        /// The part.
        part: usize,
        /// The whole.
        whole: usize,
    },
    /// A value that is not a number, or infinite.
    #[error("a value is not a number")]
    NotANumber,
    /// A share of a quantile outside 0 to 1.
    #[error("a quantile is asked for between 0 and 1")]
    NoSuchQuantile,
    /// The standard error is zero, which says that the sample shows no error, not that there is none.
    #[error("the sample shows no scatter to estimate an interval from")]
    NoScatter,
    /// The variance of the averaged marks is estimated as zero or less, so no share of it is true.
    #[error("the raters' scatter swamps the differences between people: the estimated variance is not positive")]
    VarianceNotPositive,
    /// Left one at a time, the rest does not always define the figure, so a jackknife has no spread.
    #[error("the figure rests on a single performance: without it there is none")]
    RestsOnOne,
    /// Numbers too large or too small to calculate with.
    #[error("the values are too large or too small to calculate with")]
    OutOfReach,
}

/// Whether a sum of squared deviations is nothing but rounding: `n` terms of values no larger than `largest`.
pub(crate) fn is_rounding(sum_of_squares: f64, n: usize, largest: f64) -> bool {
    #![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]
    // Compared by their roots: squares of the steps themselves would be 0 for small values.
    sum_of_squares.sqrt() <= as_f64(n).sqrt() * 16.0 * f64::EPSILON * largest
}

/// A count as a float. Exact up to 2⁵³, more people than there are.
#[expect(clippy::cast_precision_loss, reason = "exact up to 2^53")]
pub(crate) fn as_f64(count: usize) -> f64 {
    count as f64
}

/// The largest size among finite values, or that one is not finite.
pub(crate) fn largest(values: impl IntoIterator<Item = f64>) -> Result<f64, Undefined> {
    values.into_iter().try_fold(0.0_f64, |most, value| {
        if value.is_finite() { Ok(most.max(value.abs())) } else { Err(Undefined::NotANumber) }
    })
}

/// As [`largest`], for values whose squares are needed: between 1e-140 and 1e140 no square vanishes or overflows.
pub(crate) fn largest_to_square(values: impl IntoIterator<Item = f64>) -> Result<f64, Undefined> {
    let most = largest(values)?;
    if most == 0.0 || (1e-140..=1e140).contains(&most) { Ok(most) } else { Err(Undefined::OutOfReach) }
}

/// That all rows are as long as the first; its length.
pub(crate) fn even_rows<T>(rows: &[Vec<T>]) -> Result<usize, Undefined> {
    let expected = rows.first().map_or(0, Vec::len);
    match rows.iter().position(|row| row.len() != expected) {
        Some(at) => Err(Undefined::Ragged { row: at.saturating_add(1), has: rows[at].len(), expected }),
        None => Ok(expected),
    }
}

//! Whether somebody gets better: a straight line through figures by trial or day.
//!
//! Here: least squares and the slope's interval. Not here: whether a straight line suits.
//!
//! **Invariant:** a slope has an interval or the reason why not, so that three trials are not taken for a trend.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::describe::{About, about};
use crate::estimate::{Estimate, Undefined, as_f64, is_rounding, largest_to_square};
use crate::special::t_95;

/// A straight line through points.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Trend {
    /// Change of the figure for one step along (one day, one trial); n is the points.
    pub slope: Estimate,
    /// The line at the mean of the points: (mean place, mean figure).
    pub middle: (f64, f64),
}

impl Trend {
    /// The line's figure at a place.
    pub fn at(&self, place: f64) -> f64 {
        self.middle.1 + self.slope.value * (place - self.middle.0)
    }
}

/// The least-squares line through (place, figure) points, with Student's interval for the slope.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::NotANumber`], [`Undefined::TooFew`] below two points,
/// [`Undefined::NoVariance`] if all places are the same. The interval takes three points ([`Undefined::TooFew`]) that
/// do not lie on the line themselves ([`Undefined::NoScatter`]).
///
/// ```
/// use statistics::{Undefined, trend};
///
/// // Seconds for the same act in five trials.
/// let times = trend(&[(1.0, 40.0), (2.0, 37.0), (3.0, 38.0), (4.0, 33.0), (5.0, 31.0)])?;
/// assert_eq!(times.slope.to_string(), "−2.20 (95 % −3.67 to −0.73, n = 5)");
/// # Ok::<(), Undefined>(())
/// ```
pub fn trend(points: &[(f64, f64)]) -> Result<Trend, Undefined> {
    const HOW: &str = "Student's t of the least-squares slope";
    let (places, figures): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let n = points.len();
    if n == 0 {
        return Err(Undefined::NoRatings);
    }
    largest_to_square(places.iter().copied())?;
    let most = largest_to_square(figures.iter().copied())?;
    if n < 2 {
        return Err(Undefined::TooFew { have: n, need: 2 });
    }
    let (x, y) = (about(&places), about(&figures));
    if x.squares == 0.0 {
        return Err(Undefined::NoVariance);
    }
    let slope = products(&places, &x, &figures, &y) / x.squares;
    let left: f64 = points.iter().map(|(at, figure)| ((figure - y.mean) - slope * (at - x.mean)).powi(2)).sum();
    let ends = if n < 3 {
        Err(Undefined::TooFew { have: n, need: 3 })
    } else if is_rounding(left, n, most) {
        Err(Undefined::NoScatter)
    } else {
        let degrees = as_f64(n) - 2.0;
        let reach = t_95(degrees) * (left / degrees / x.squares).sqrt();
        Ok((slope - reach, slope + reach))
    };
    let middle = (x.mean, y.mean);
    if !(middle.0.is_finite() && middle.1.is_finite()) {
        return Err(Undefined::OutOfReach);
    }
    Ok(Trend { slope: Estimate::checked(slope, n, HOW, ends)?, middle })
}

/// The sum of products about both means.
pub(crate) fn products(xs: &[f64], x: &About, ys: &[f64], y: &About) -> f64 {
    xs.iter().zip(ys).map(|(a, b)| (a - x.mean) * (b - y.mean)).sum()
}

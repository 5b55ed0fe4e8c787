//! Total scores of the same people by several raters: intraclass correlations.
//!
//! Here: the six forms of Shrout and Fleiss, each by its full name. Not here: which one suits; the exam that was held
//! decides that.
//!
//! **Invariant:** a form is always asked for by name. The same six people and four raters give 0.17 to 0.91.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use std::fmt;

use crate::describe::about;
use crate::estimate::{Estimate, Undefined, as_f64, even_rows, is_rounding, largest_to_square};
use crate::special::f_quantile;

/// Which intraclass correlation: how the raters came to the people, and whether one rater's score or the mean counts.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum IccForm {
    /// ICC(1,1): every person is marked by other raters; one rater's score.
    OneWayRandomSingle,
    /// ICC(2,1): the same raters mark everybody and stand for many others; their severity counts; one rater's score.
    TwoWayRandomSingle,
    /// ICC(3,1): the same raters mark everybody and no others matter; severity does not count; one rater's score.
    TwoWayMixedSingle,
    /// ICC(1,k): as ICC(1,1), for the mean of the raters.
    OneWayRandomAverage,
    /// ICC(2,k): as ICC(2,1), for the mean of the raters.
    TwoWayRandomAverage,
    /// ICC(3,k): as ICC(3,1), for the mean of the raters; equal to Cronbach's alpha over raters.
    TwoWayMixedAverage,
}

impl IccForm {
    /// All six, in the order of the paper.
    pub const ALL: [Self; 6] = [
        Self::OneWayRandomSingle,
        Self::TwoWayRandomSingle,
        Self::TwoWayMixedSingle,
        Self::OneWayRandomAverage,
        Self::TwoWayRandomAverage,
        Self::TwoWayMixedAverage,
    ];

    /// The form's name in full, as a report must print it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OneWayRandomSingle => "ICC(1,1), one-way random effects, single rater",
            Self::TwoWayRandomSingle => "ICC(2,1), two-way random effects, absolute agreement, single rater",
            Self::TwoWayMixedSingle => "ICC(3,1), two-way mixed effects, consistency, single rater",
            Self::OneWayRandomAverage => "ICC(1,k), one-way random effects, mean of the raters",
            Self::TwoWayRandomAverage => "ICC(2,k), two-way random effects, absolute agreement, mean of the raters",
            Self::TwoWayMixedAverage => "ICC(3,k), two-way mixed effects, consistency, mean of the raters",
        }
    }

    const fn is_average(self) -> bool {
        matches!(self, Self::OneWayRandomAverage | Self::TwoWayRandomAverage | Self::TwoWayMixedAverage)
    }
}

impl fmt::Display for IccForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// The intraclass correlation of scores (row: a person, column: a rater) in the form named; n is the people.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NotANumber`], [`Undefined::OnePerson`],
/// [`Undefined::OneRater`]; [`Undefined::NoVariance`] if no scores differ, or for a mean of raters no persons do;
/// [`Undefined::VarianceNotPositive`] where a form estimates the variance of the score itself as not above zero. The
/// interval is [`Undefined::NoScatter`] where the raters leave no error, [`Undefined::NoVariance`] where the people do not
/// differ, and [`Undefined::OutOfReach`] where the end
/// for a mean of raters has no value or ICC(2,·) is left with less than one degree of freedom.
///
/// ```
/// use statistics::{IccForm, Undefined, icc};
///
/// let scores = [vec![28.0, 27.0], vec![22.0, 20.0], vec![30.0, 30.0], vec![25.0, 21.0], vec![18.0, 19.0]];
/// let form = IccForm::TwoWayRandomSingle;
/// let text = format!("{form}: {}", icc(&scores, form)?);
/// let name = "ICC(2,1), two-way random effects, absolute agreement, single rater";
/// assert_eq!(text, format!("{name}: 0.91 (95 % 0.45 to 0.99, n = 5)"));
/// # Ok::<(), Undefined>(())
/// ```
///
/// Source: Shrout and Fleiss 1979, with their F intervals (from memory, equal to pingouin `intraclass_corr`).
pub fn icc(scores: &[Vec<f64>], form: IccForm) -> Result<Estimate, Undefined> {
    const HOW: &str = "F interval of Shrout and Fleiss (1979)";
    let raters = even_rows(scores)?;
    let most = largest_to_square(scores.iter().flatten().copied())?;
    if scores.is_empty() || raters == 0 {
        return Err(Undefined::NoRatings);
    }
    if scores.len() == 1 {
        return Err(Undefined::OnePerson);
    }
    if raters == 1 {
        return Err(Undefined::OneRater);
    }
    let squares = Squares::of(scores, raters, most)?;
    let value = squares.value(form)?;
    Estimate::checked(value, scores.len(), HOW, squares.ends(form))
}

/// Mean squares of the analysis of variance, people by raters.
struct Squares {
    /// People.
    n: f64,
    /// Raters.
    k: f64,
    /// Between people.
    people: f64,
    /// Between raters.
    raters: f64,
    /// Within people: raters and error together.
    within: f64,
    /// Error: what is left.
    error: f64,
}

impl Squares {
    fn of(scores: &[Vec<f64>], raters: usize, most: f64) -> Result<Self, Undefined> {
        let (n, k) = (as_f64(scores.len()), as_f64(raters));
        let person_means: Vec<f64> = scores.iter().map(|row| about(row).mean).collect();
        let rater_means: Vec<f64> =
            (0..raters).map(|at| about(&scores.iter().map(|row| row[at]).collect::<Vec<_>>()).mean).collect();
        let (people, between_raters) = (about(&person_means), about(&rater_means));
        let error: f64 = scores
            .iter()
            .zip(&person_means)
            .flat_map(|(row, person)| row.iter().zip(&rater_means).map(move |(score, rater)| (score - person, rater)))
            .map(|(off, rater)| (off - (rater - people.mean)).powi(2))
            .sum();
        let cells = scores.len() * raters;
        let clean = |squares: f64| if is_rounding(squares, cells, most) { 0.0 } else { squares };
        let (people, between_raters, error) =
            (clean(k * people.squares), clean(n * between_raters.squares), clean(error));
        if people + between_raters + error == 0.0 {
            return Err(Undefined::NoVariance);
        }
        Ok(Self {
            n,
            k,
            people: people / (n - 1.0),
            raters: between_raters / (k - 1.0),
            within: (between_raters + error) / (n * (k - 1.0)),
            error: error / ((n - 1.0) * (k - 1.0)),
        })
    }

    fn value(&self, form: IccForm) -> Result<f64, Undefined> {
        let Self { n, k, people, raters, within, error } = *self;
        if form.is_average() && people == 0.0 {
            return Err(Undefined::NoVariance);
        }
        let (difference, whole) = match form {
            IccForm::OneWayRandomSingle => (people - within, people + (k - 1.0) * within),
            IccForm::TwoWayRandomSingle => (people - error, people + (k - 1.0) * error + k * (raters - error) / n),
            IccForm::TwoWayMixedSingle => (people - error, people + (k - 1.0) * error),
            IccForm::OneWayRandomAverage => (people - within, people),
            IccForm::TwoWayRandomAverage => (people - error, people + (raters - error) / n),
            IccForm::TwoWayMixedAverage => (people - error, people),
        };
        if whole > 1e-12 * (people + raters + error) {
            Ok(difference / whole)
        } else {
            Err(if people == 0.0 && error == 0.0 { Undefined::NoVariance } else { Undefined::VarianceNotPositive })
        }
    }

    fn ends(&self, form: IccForm) -> Result<(f64, f64), Undefined> {
        let Self { n, k, people, within, error, .. } = *self;
        match form {
            IccForm::OneWayRandomSingle | IccForm::OneWayRandomAverage => {
                self.by_ratio(people, within, n * (k - 1.0), form)
            }
            IccForm::TwoWayMixedSingle | IccForm::TwoWayMixedAverage => {
                self.by_ratio(people, error, (n - 1.0) * (k - 1.0), form)
            }
            IccForm::TwoWayRandomSingle => self.by_satterthwaite(),
            IccForm::TwoWayRandomAverage => {
                // Spearman and Brown's step from one rater to the mean of k; below −1 / (k − 1) it has no value.
                let mean_of = |one: f64| {
                    let whole = 1.0 + one * (k - 1.0);
                    if whole > 1e-12 { Ok(one * k / whole) } else { Err(Undefined::OutOfReach) }
                };
                let (low, high) = self.by_satterthwaite()?;
                Ok((mean_of(low)?, mean_of(high)?))
            }
        }
    }

    /// Forms 1 and 3: the ratio of two mean squares over the quantiles of F.
    fn by_ratio(&self, people: f64, rest: f64, degrees: f64, form: IccForm) -> Result<(f64, f64), Undefined> {
        if rest == 0.0 {
            return Err(Undefined::NoScatter);
        }
        if people == 0.0 {
            return Err(Undefined::NoVariance);
        }
        let (ratio, k) = (people / rest, self.k);
        let low = ratio / f_quantile(0.975, self.n - 1.0, degrees);
        let high = ratio * f_quantile(0.975, degrees, self.n - 1.0);
        let end = |f: f64| if form.is_average() { 1.0 - 1.0 / f } else { (f - 1.0) / (f + k - 1.0) };
        Ok((end(low), end(high)))
    }

    /// Form 2: Satterthwaite's degrees of freedom for raters and error together.
    fn by_satterthwaite(&self) -> Result<(f64, f64), Undefined> {
        let Self { n, k, people, raters, error, .. } = *self;
        if error == 0.0 {
            return Err(Undefined::NoScatter);
        }
        if people == 0.0 {
            return Err(Undefined::NoVariance);
        }
        let one = self.value(IccForm::TwoWayRandomSingle)?;
        let severity = k * one * (raters / error);
        let rest = n * (1.0 + (k - 1.0) * one) - k * one;
        let degrees = (n - 1.0) * (k - 1.0) * (severity + rest).powi(2) / ((n - 1.0) * severity.powi(2) + rest.powi(2));
        if !degrees.is_finite() || degrees < 1.0 {
            return Err(Undefined::OutOfReach);
        }
        let low = f_quantile(0.975, n - 1.0, degrees);
        let high = f_quantile(0.975, degrees, n - 1.0);
        let both = k * raters + (k * n - k - n) * error;
        Ok((
            n * (people - low * error) / (low * both + n * people),
            n * (high * people - error) / (both + n * high * people),
        ))
    }
}

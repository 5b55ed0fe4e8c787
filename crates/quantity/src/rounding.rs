//! Where a half goes, and a value rounded once for a report.
//!
//! Here: the two rules for ties and [`Reported`]. Not here: the rounding arithmetic, which is
//! [`Exact::rounded_to`], and the choice of increment, which belongs to the method.
//!
//! **Invariant:** a reported value keeps the exact value it was rounded from, so nothing is ever rounded twice.

use std::fmt;
use std::str::FromStr;

use crate::exact::Exact;
use crate::typed::Unreadable;
use crate::unit::Unit;

/// Where a value goes that lies exactly half-way between two increments.
///
/// ```
/// use quantity::Ties;
///
/// assert_eq!("up".parse(), Ok(Ties::Up));
/// assert_eq!(Ties::default().to_string(), "even");
/// ```
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Ties {
    /// To the even multiple of the increment: 50.5 to the nearest 1 is 50, 51.5 is 52.
    ///
    /// The rounding method of ASTM E29. The text of E29 was not seen; this is the rule as agency manuals restate it
    /// (Alberta Transportation ATT-70/96, section 3.0).
    #[default]
    Even,
    /// Away from zero: 50.5 to the nearest 1 is 51. Some agencies replace the even rule by this one
    /// (Iowa DOT Materials IM 202).
    Up,
}

impl fmt::Display for Ties {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Even => "even",
            Self::Up => "up",
        })
    }
}

impl FromStr for Ties {
    type Err = Unreadable;

    /// Reads "even" or "up".
    ///
    /// # Errors
    ///
    /// [`Unreadable`] for any other word.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        match text {
            "even" => Ok(Self::Even),
            "up" => Ok(Self::Up),
            _ => Err(Unreadable::new(text, "even (a half goes to the even digit) or up (a half goes away from zero)")),
        }
    }
}

/// A value rounded once, with what it was rounded from and how.
///
/// ```
/// use quantity::{Exact, Reported, Ties, Unit};
///
/// let air: Exact = "5.95".parse().unwrap();
/// let step: Exact = "0.25".parse().unwrap();
/// let reported = Reported::new(air, &step, Unit::parse("%").unwrap(), Ties::Even);
/// assert_eq!(reported.to_string(), "6.00 %");
/// assert_eq!(reported.exact.show_exact(), "5.95");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reported {
    /// The value as computed, unrounded.
    pub exact: Exact,
    /// The value as reported: a multiple of `increment`.
    pub rounded: Exact,
    /// What the method reports to the nearest of, in `unit`.
    pub increment: Exact,
    /// The unit of all three.
    pub unit: Unit,
    /// Where a half went.
    pub ties: Ties,
}

impl Reported {
    /// Rounds `exact` to the nearest `increment`. An increment of zero or below rounds nothing.
    pub fn new(exact: Exact, increment: &Exact, unit: Unit, ties: Ties) -> Self {
        let rounded = exact.rounded_to(increment, ties);
        Self { exact, rounded, increment: increment.clone(), unit, ties }
    }
}

impl fmt::Display for Reported {
    /// The rounded value with the decimals of the increment: "6.00 %" for 0.25, "70 °F" for 1, "3850 kPa" for 10.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let positive = self.increment > Exact::zero();
        let number = match self.increment.decimal_places() {
            Some(places) if positive => self.rounded.show(places),
            _ => self.rounded.show_exact(),
        };
        f.pad(&self.unit.after(&number))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reported_value_has_the_decimals_of_its_increment() {
        for (exact, increment, unit, shown) in [
            ("5.95", "0.25", "%", "6.00 %"),
            ("5.35", "0.25", "%", "5.25 %"),
            ("5.30", "0.1", "%", "5.3 %"),
            ("145.04", "0.1", "lb/ft³", "145.0 lb/ft³"),
            ("70.5", "1", "°F", "70 °F"),
            ("3852", "5", "psi", "3850 psi"),
            ("3855", "10", "psi", "3860 psi"),
            ("0.4852", "0.01", "", "0.49"),
            ("-0.04", "0.1", "%", "0.0 %"),
            ("5.35", "0", "%", "5.35 %"),
        ] {
            let [exact, increment] = [exact, increment].map(|text| text.parse::<Exact>().unwrap());
            let reported = Reported::new(exact.clone(), &increment, Unit::parse(unit).unwrap(), Ties::Even);
            assert_eq!(reported.to_string(), shown);
            assert_eq!(reported.exact, exact, "the unrounded value is kept");
        }
        let thirds = Reported::new(Exact::from_int(1), &Exact::ratio(1, 3).unwrap(), Unit::NONE, Ties::Even);
        assert_eq!(thirds.to_string(), "1");
    }

    #[test]
    fn the_two_rules_for_a_half_have_names() {
        for ties in [Ties::Even, Ties::Up] {
            assert_eq!(ties.to_string().parse(), Ok(ties));
        }
        assert!("down".parse::<Ties>().is_err());
    }
}

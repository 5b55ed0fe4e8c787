//! A value with its unit.
//!
//! Here: arithmetic and comparison that watch the units. Not here: conversion; there is none.
//!
//! **Invariant:** unlike units are never added, subtracted or compared; multiplying and dividing carry the units along.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use crate::exact::Exact;
use crate::typed::Unreadable;
use crate::unit::{Unit, UnknownUnit};

/// A value with its unit.
///
/// ```
/// use quantity::Quantity;
///
/// let mass: Quantity = "36.25 lb".parse().unwrap();
/// let volume: Quantity = "0.25 ft³".parse().unwrap();
/// assert_eq!(mass.over(&volume).unwrap().to_string(), "145 lb/ft³");
/// assert!(mass.plus(&volume).is_err());
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Quantity {
    /// The number, exact.
    pub value: Exact,
    /// Its unit.
    pub unit: Unit,
}

/// Why two quantities could not be combined.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Adding, subtracting or comparing asks for one unit. Nothing converts, so the procedure mixed two.
    #[error("{} and {} do not go together: both must be in one unit", .left.in_words(), .right.in_words())]
    UnlikeUnits {
        /// The unit of the first quantity.
        left: Unit,
        /// The unit of the second.
        right: Unit,
    },
    /// Dividing by a reading of zero: an empty measure, or a reading typed as 0.
    #[error("cannot divide by zero: check the reading that is 0")]
    DivisionByZero,
    /// The unit of the result has more than four factors or an exponent beyond 9: a slip in the formula.
    #[error("the unit of the result has too many factors: check the formula")]
    TooComplex,
}

impl Quantity {
    /// A value in a unit.
    pub fn new(value: Exact, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The sum.
    ///
    /// # Errors
    ///
    /// [`QuantityError::UnlikeUnits`] unless both are in one unit.
    pub fn plus(&self, other: &Self) -> Result<Self, QuantityError> {
        let unit = self.shared_unit(other)?;
        Ok(Self::new(&self.value + &other.value, unit))
    }

    /// The difference.
    ///
    /// # Errors
    ///
    /// [`QuantityError::UnlikeUnits`] unless both are in one unit.
    pub fn minus(&self, other: &Self) -> Result<Self, QuantityError> {
        let unit = self.shared_unit(other)?;
        Ok(Self::new(&self.value - &other.value, unit))
    }

    /// The product, its unit the product of the units.
    ///
    /// # Errors
    ///
    /// [`QuantityError::TooComplex`] if that unit has too many factors.
    pub fn times(&self, other: &Self) -> Result<Self, QuantityError> {
        let unit = self.unit.times(other.unit).ok_or(QuantityError::TooComplex)?;
        Ok(Self::new(&self.value * &other.value, unit))
    }

    /// The quotient, its unit the quotient of the units.
    ///
    /// # Errors
    ///
    /// [`QuantityError::DivisionByZero`], or [`QuantityError::TooComplex`] if the unit has too many factors.
    pub fn over(&self, other: &Self) -> Result<Self, QuantityError> {
        let value = self.value.checked_div(&other.value).ok_or(QuantityError::DivisionByZero)?;
        let unit = self.unit.per(other.unit).ok_or(QuantityError::TooComplex)?;
        Ok(Self::new(value, unit))
    }

    /// Which of the two is larger, compared exactly.
    ///
    /// # Errors
    ///
    /// [`QuantityError::UnlikeUnits`] unless both are in one unit.
    pub fn compare(&self, other: &Self) -> Result<Ordering, QuantityError> {
        self.shared_unit(other)?;
        Ok(self.value.cmp(&other.value))
    }

    fn shared_unit(&self, other: &Self) -> Result<Unit, QuantityError> {
        if self.unit == other.unit {
            Ok(self.unit)
        } else {
            Err(QuantityError::UnlikeUnits { left: self.unit, right: other.unit })
        }
    }
}

impl fmt::Display for Quantity {
    /// The exact value and its unit: "5.25 %", "70".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.unit.after(&self.value.show_exact()))
    }
}

/// Why a text is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAQuantity {
    /// The number could not be read.
    #[error(transparent)]
    Unreadable(#[from] Unreadable),
    /// The unit is not known.
    #[error(transparent)]
    UnknownUnit(#[from] UnknownUnit),
}

impl FromStr for Quantity {
    type Err = NotAQuantity;

    /// Reads a plain decimal and a unit: "2.5 pt", "0.25 %", "70".
    ///
    /// # Errors
    ///
    /// [`NotAQuantity`] says whether the number or the unit could not be read.
    fn from_str(text: &str) -> Result<Self, NotAQuantity> {
        let text = text.trim();
        let number_end =
            text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-'))).unwrap_or(text.len());
        let (number, unit) = text.split_at(number_end);
        let unreadable = || Unreadable::new(text, "a number and a unit such as 2.5 pt or 0.25 %");
        let value = number.parse().map_err(|_| unreadable())?;
        // "5 1" is a slip of the finger, not five of the unit one.
        if unit.trim() == "1" {
            return Err(unreadable().into());
        }
        Ok(Self::new(value, Unit::parse(unit)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantity(text: &str) -> Quantity {
        text.parse().unwrap()
    }

    #[test]
    fn quantities_are_read_and_shown_with_their_unit() {
        for (text, shown) in [
            ("2.5 pt", "2.5 pt"),
            ("0.25 %", "0.25 %"),
            ("0.25%", "0.25 %"),
            ("70", "70"),
            ("-4 °C", "-4 °C"),
            ("3 fl oz", "3 fl oz"),
            ("25 strokes", "25 stroke"),
            (" 145.20 lb/ft3 ", "145.2 lb/ft³"),
        ] {
            assert_eq!(quantity(text).to_string(), shown, "written {text:?}");
        }
    }

    #[test]
    fn a_text_that_is_no_quantity_says_which_part_is_wrong() {
        let expected = "expected a number and a unit such as 2.5 pt or 0.25 %";
        for (text, said) in [
            ("", format!("nothing was typed: {expected}")),
            ("pt", format!("cannot read \"pt\": {expected}")),
            ("5 1", format!("cannot read \"5 1\": {expected}")),
            ("1.2.3 pt", format!("cannot read \"1.2.3 pt\": {expected}")),
            ("2.5 furlong", "unknown unit \"furlong\"".to_owned()),
            ("2.5 ptt", "unknown unit \"ptt\": did you mean \"pt\"?".to_owned()),
        ] {
            assert_eq!(text.parse::<Quantity>().unwrap_err().to_string(), said, "written {text:?}");
        }
    }

    #[test]
    fn unlike_units_are_never_added_subtracted_or_compared() {
        let (litre, pint, bare) = (quantity("1 L"), quantity("1 pt"), quantity("1"));
        let said = "L and pt do not go together: both must be in one unit";
        assert_eq!(litre.plus(&pint).unwrap_err().to_string(), said);
        assert_eq!(litre.minus(&pint).unwrap_err().to_string(), said);
        assert_eq!(litre.compare(&pint).unwrap_err().to_string(), said);
        assert_eq!(
            bare.plus(&pint).unwrap_err().to_string(),
            "a bare number and pt do not go together: both must be in one unit"
        );
    }

    #[test]
    fn arithmetic_is_exact_and_carries_the_unit() {
        assert_eq!(quantity("5.25 %").plus(&quantity("2 %")), Ok(quantity("7.25 %")));
        assert_eq!(quantity("6.2 %").minus(&quantity("0.4 %")), Ok(quantity("5.8 %")));
        assert_eq!(quantity("2 cups").times(&quantity("1 %/cup")), Ok(quantity("2 %")));
        assert_eq!(quantity("36 lb").over(&quantity("0.25 ft³")), Ok(quantity("144 lb/ft³")));
        assert_eq!(quantity("36 lb").over(&quantity("0 ft³")), Err(QuantityError::DivisionByZero));
        assert_eq!(quantity("1 ft9").times(&quantity("1 ft")), Err(QuantityError::TooComplex));
        assert_eq!(quantity("0.3 %").compare(&quantity("0.30 %")), Ok(Ordering::Equal));
        assert_eq!(quantity("0.3 %").compare(&quantity("0.31 %")), Ok(Ordering::Less));
    }
}

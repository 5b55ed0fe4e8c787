//! The marks of an instrument.
//!
//! Here: reading what a person typed against graduation and range, and stepping from mark to mark. Not here: what the
//! reading means, and tolerances between readings.
//!
//! **Invariant:** a reading that comes out of here stands exactly on a mark within the range. Nothing is moved to the
//! nearest mark: between two marks the person is asked which one it was.

use std::fmt;

use rust_decimal::Decimal;

use crate::exact::Exact;
use crate::typed::{Comma, Unreadable, parse_with};
use crate::unit::Unit;

/// The marks of an instrument: every multiple of `step`, counted from zero, from `min` to `max`.
///
/// ```
/// use quantity::{Decimal, Scale, Unit};
///
/// let neck = Scale::new(Decimal::new(25, 2), Decimal::ZERO, Decimal::from(9), Unit::parse("%").unwrap()).unwrap();
/// assert_eq!(neck.read("5 1/4").unwrap().to_string(), "5.25");
/// assert_eq!(neck.read("2.8").unwrap_err().to_string(), "graduated in 0.25 %: 2.75 or 3.00?");
/// assert_eq!(neck.read("9.25").unwrap_err().to_string(), "9.25 % is off the scale, which runs from 0.00 to 9.00 %");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Scale {
    /// The distance between two marks, above zero.
    pub step: Decimal,
    /// The lowest mark.
    pub min: Decimal,
    /// The highest mark.
    pub max: Decimal,
    /// The unit the instrument is marked in.
    pub unit: Unit,
}

/// Why step and range describe no instrument.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BadScale {
    /// The graduation is zero or below.
    #[error("the graduation must be above zero, not {step}")]
    StepNotAboveZero {
        /// The graduation given.
        step: Decimal,
    },
    /// The range runs backwards.
    #[error("the range must run from low to high, not from {min} to {max}")]
    Backwards {
        /// The low end given.
        min: Decimal,
        /// The high end given.
        max: Decimal,
    },
    /// An end of the range is no mark, so nobody could read it off the instrument.
    #[error("the range must end on marks: {end} is not a multiple of the graduation {step}")]
    EndBetweenMarks {
        /// The end that is no mark.
        end: Decimal,
        /// The graduation.
        step: Decimal,
    },
}

/// Why a text or value is no reading of this instrument.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAReading {
    /// It is no number.
    #[error(transparent)]
    Unreadable(#[from] Unreadable),
    /// It lies between two marks; the person must say which one it was.
    #[error("{}", Marks { step, below, above, unit })]
    BetweenMarks {
        /// What was typed.
        typed: String,
        /// The graduation.
        step: Decimal,
        /// The mark below, if it is on the scale.
        below: Option<Decimal>,
        /// The mark above, if it is on the scale.
        above: Option<Decimal>,
        /// The unit of the marks.
        unit: Unit,
    },
    /// The instrument has no such mark: a slip, or a sample beyond this instrument.
    #[error("{} is off the scale, which runs from {min} to {}", .unit.after(typed), .unit.after(&max.to_string()))]
    OutOfRange {
        /// What was typed.
        typed: String,
        /// The lowest mark.
        min: Decimal,
        /// The highest mark.
        max: Decimal,
        /// The unit of the marks.
        unit: Unit,
    },
}

/// "graduated in 0.25 %: 2.75 or 3.00?"
struct Marks<'a> {
    step: &'a Decimal,
    below: &'a Option<Decimal>,
    above: &'a Option<Decimal>,
    unit: &'a Unit,
}

impl fmt::Display for Marks<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "graduated in {}", self.unit.after(&self.step.to_string()))?;
        match (self.below, self.above) {
            (Some(below), Some(above)) => write!(f, ": {below} or {above}?"),
            (Some(only), None) | (None, Some(only)) => write!(f, ": {only}?"),
            (None, None) => f.write_str(", with no mark near that"),
        }
    }
}

impl Scale {
    /// A sound scale.
    ///
    /// # Errors
    ///
    /// [`BadScale`] unless the step is above zero, the range runs upwards, and both its ends are marks.
    pub fn new(step: Decimal, min: Decimal, max: Decimal, unit: Unit) -> Result<Self, BadScale> {
        if step <= Decimal::ZERO {
            return Err(BadScale::StepNotAboveZero { step });
        }
        if min > max {
            return Err(BadScale::Backwards { min, max });
        }
        for end in [min, max] {
            if !Exact::from(end).is_multiple_of(&Exact::from(step)) {
                return Err(BadScale::EndBetweenMarks { end, step });
            }
        }
        Ok(Self { step, min, max, unit })
    }

    /// Reads what a person typed, as exactly the mark it names, with the decimals of the graduation ("5.00").
    ///
    /// Everything [`crate::parse_typed`] reads is read here. On an instrument that stays below 1000 "7,125" is read
    /// too: there the comma can only be a decimal comma.
    ///
    /// # Errors
    ///
    /// [`NotAReading`] says whether it is no number, off the scale, or between two marks, and then which.
    pub fn read(&self, typed: &str) -> Result<Decimal, NotAReading> {
        let thousand = Decimal::ONE_THOUSAND;
        let no_thousands = self.max < thousand && self.min > -thousand;
        let comma = if no_thousands { Comma::Decimal } else { Comma::Doubtful };
        let value = parse_with(typed, comma)?;
        self.on_a_mark(&value, typed.trim())
    }

    /// The same for a value that is already a number.
    ///
    /// # Errors
    ///
    /// [`NotAReading::OutOfRange`] or [`NotAReading::BetweenMarks`].
    pub fn check(&self, value: &Exact) -> Result<Decimal, NotAReading> {
        self.on_a_mark(value, &value.show_exact())
    }

    /// The decimals of the graduation: 2 for 0.25, 1 for 0.1, 0 for 5.
    pub fn places(&self) -> u32 {
        self.step.normalize().scale()
    }

    /// A reading with the decimals of the graduation and its unit: "5.25 %". More decimals than that are kept.
    pub fn show(&self, value: &Decimal) -> String {
        let value = value.normalize();
        let shown = if value.scale() > self.places() { value } else { self.with_places(value) };
        self.unit.after(&shown.to_string())
    }

    /// The next mark above, or the highest mark.
    pub fn up(&self, value: &Decimal) -> Decimal {
        self.moved(value, |marks| marks.floor() + Exact::one())
    }

    /// The next mark below, or the lowest mark.
    pub fn down(&self, value: &Decimal) -> Decimal {
        self.moved(value, |marks| marks.ceil() - Exact::one())
    }

    fn on_a_mark(&self, value: &Exact, typed: &str) -> Result<Decimal, NotAReading> {
        let out_of_range = || NotAReading::OutOfRange {
            typed: typed.to_owned(),
            min: self.with_places(self.min),
            max: self.with_places(self.max),
            unit: self.unit,
        };
        let (min, max, step) = (Exact::from(self.min), Exact::from(self.max), Exact::from(self.step));
        if *value < min || *value > max {
            return Err(out_of_range());
        }
        if value.is_multiple_of(&step) {
            return value.to_decimal().map(|mark| self.with_places(mark)).ok_or_else(out_of_range);
        }
        let mark = |number: Exact| {
            let mark = number * &step;
            let on_scale = mark >= min && mark <= max;
            mark.to_decimal().filter(|_| on_scale).map(|mark| self.with_places(mark))
        };
        let marks = value.checked_div(&step);
        Err(NotAReading::BetweenMarks {
            typed: typed.to_owned(),
            step: self.step.normalize(),
            below: marks.as_ref().and_then(|marks| mark(marks.floor())),
            above: marks.as_ref().and_then(|marks| mark(marks.ceil())),
            unit: self.unit,
        })
    }

    fn moved(&self, value: &Decimal, to: impl Fn(Exact) -> Exact) -> Decimal {
        let step = Exact::from(self.step);
        let moved =
            Exact::from(value).checked_div(&step).and_then(|marks| (to(marks) * &step).to_decimal()).unwrap_or(*value);
        self.with_places(moved.min(self.max).max(self.min))
    }

    /// Pads with zeros to the decimals of the graduation. Only ever called with a value that has no more than these.
    fn with_places(&self, mut value: Decimal) -> Decimal {
        let places = self.places();
        if value.normalize().scale() <= places {
            value.rescale(places);
        }
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(step: &str, min: &str, max: &str, unit: &str) -> Scale {
        let decimal = |text: &str| text.parse::<Decimal>().unwrap();
        Scale::new(decimal(step), decimal(min), decimal(max), Unit::parse(unit).unwrap()).unwrap()
    }

    #[test]
    fn a_reading_is_the_mark_it_names_or_a_reason_in_plain_words() {
        let neck = scale("0.25", "0", "9", "%");
        let dial = scale("0.1", "0", "10", "%");
        let ruler = scale("0.25", "0", "12", "in");
        let thermometer = scale("1", "-10", "50", "°C");
        let balance = scale("5", "0", "50000", "g");
        let fine_balance = scale("0.005", "0", "50", "kg");
        let gauge = scale("5", "0", "100", "");
        for (instrument, typed, said) in [
            (&neck, "5.25", "5.25"),
            (&neck, "5", "5.00"),
            (&neck, "5,5", "5.50"),
            (&neck, "2,500", "2.50"),
            (&neck, "5.250", "5.25"),
            (&neck, "0", "0.00"),
            (&neck, "-0", "0.00"),
            (&neck, "9", "9.00"),
            (&neck, "2.8", "graduated in 0.25 %: 2.75 or 3.00?"),
            (&neck, "2 1/3", "graduated in 0.25 %: 2.25 or 2.50?"),
            (&neck, "9.25", "9.25 % is off the scale, which runs from 0.00 to 9.00 %"),
            (&neck, " 9.3 ", "9.3 % is off the scale, which runs from 0.00 to 9.00 %"),
            (&neck, "-0.25", "-0.25 % is off the scale, which runs from 0.00 to 9.00 %"),
            (&neck, "", "nothing was typed: expected a number such as 2.75, 2,75, 2 3/4 or 2¾"),
            (&neck, "five", "cannot read \"five\": expected a number such as 2.75, 2,75, 2 3/4 or 2¾"),
            (&dial, "4.2", "4.2"),
            (&dial, "4.25", "graduated in 0.1 %: 4.2 or 4.3?"),
            (&ruler, "3 3/4", "3.75"),
            (&ruler, "3¾", "3.75"),
            (&ruler, "3-7/8", "graduated in 0.25 in: 3.75 or 4.00?"),
            (&thermometer, "-5", "-5"),
            (&thermometer, "−5", "-5"),
            (&thermometer, "-5.5", "graduated in 1 °C: -6 or -5?"),
            (&balance, "3800", "3800"),
            (&balance, "3802", "graduated in 5 g: 3800 or 3805?"),
            (
                &balance,
                "3,800",
                "cannot read \"3,800\": expected a decimal point here, or no comma at all: \
                 a comma before three digits could be a decimal comma or thousands",
            ),
            (&fine_balance, "7,125", "7.125"),
            (&gauge, "105", "105 is off the scale, which runs from 0 to 100"),
            (&gauge, "7", "graduated in 5: 5 or 10?"),
        ] {
            let answer = match instrument.read(typed) {
                Ok(mark) => mark.to_string(),
                Err(error) => error.to_string(),
            };
            assert_eq!(answer, said, "typed {typed:?}");
        }
    }

    #[test]
    fn a_mark_that_is_not_on_the_scale_is_not_offered() {
        // Built by hand, past `new`: the ends are no marks, so near an end only one neighbour is left.
        let scale = Scale { min: Decimal::new(1, 1), max: Decimal::new(4, 1), ..scale("0.25", "0", "9", "%") };
        assert_eq!(scale.read("0.2").unwrap_err().to_string(), "graduated in 0.25 %: 0.25?");
        assert_eq!(scale.read("0.3").unwrap_err().to_string(), "graduated in 0.25 %: 0.25?");
        let no_step = Scale { step: Decimal::ZERO, ..scale };
        assert_eq!(no_step.read("0.3").unwrap_err().to_string(), "graduated in 0 %, with no mark near that");
    }

    #[test]
    fn an_unsound_scale_is_refused_with_its_fault() {
        let decimal = |text: &str| text.parse::<Decimal>().unwrap();
        for (step, min, max, said) in [
            ("0", "0", "9", "the graduation must be above zero, not 0"),
            ("-0.5", "0", "9", "the graduation must be above zero, not -0.5"),
            ("0.25", "9", "0", "the range must run from low to high, not from 9 to 0"),
            ("0.25", "0", "9.1", "the range must end on marks: 9.1 is not a multiple of the graduation 0.25"),
            ("0.25", "0.1", "9", "the range must end on marks: 0.1 is not a multiple of the graduation 0.25"),
        ] {
            let refused = Scale::new(decimal(step), decimal(min), decimal(max), Unit::NONE).unwrap_err();
            assert_eq!(refused.to_string(), said);
        }
    }

    #[test]
    fn decimals_shown_are_those_of_the_graduation() {
        for (step, places) in [("0.25", 2), ("0.250", 2), ("0.1", 1), ("0.5", 1), ("1", 0), ("5", 0), ("10", 0)] {
            assert_eq!(scale(step, "0", "10", "%").places(), places, "graduation {step}");
        }
        let neck = scale("0.25", "0", "9", "%");
        assert_eq!(neck.show(&Decimal::from(5)), "5.00 %");
        assert_eq!(neck.show(&Decimal::new(5125, 3)), "5.125 %", "never rounded");
    }

    #[test]
    fn stepping_goes_mark_by_mark_and_stops_at_the_ends() {
        let neck = scale("0.25", "0", "9", "%");
        for (from, up, down) in [
            ("5.25", "5.50", "5.00"),
            ("9", "9.00", "8.75"),
            ("0", "0.25", "0.00"),
            ("5.3", "5.50", "5.25"),
            ("12", "9.00", "9.00"),
            ("-3", "0.00", "0.00"),
        ] {
            let value = from.parse::<Decimal>().unwrap();
            assert_eq!(neck.up(&value).to_string(), up, "up from {from}");
            assert_eq!(neck.down(&value).to_string(), down, "down from {from}");
        }
    }
}

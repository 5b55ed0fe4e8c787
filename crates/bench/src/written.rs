//! Amounts as they are written: the number, its unit, and the last place it is written to.
//!
//! Here: reading "4 in", "4.0 in", "4 1/2 in" and "½ in", each with its own last place; a tolerance around a target.
//! Not here: what is compared with it ([`crate::verdict`]).
//!
//! **Invariant:** the text is kept as it stands in the file, the number is exact, and the last place follows from the
//! text alone: 4 and 4.0 are one number and two limits.

use std::fmt;

use quantity::{Exact, Quantity, Unit, UnknownUnit, Unreadable, parse_typed};

/// An amount with the text it was written as.
///
/// ```
/// use bench::written::Written;
///
/// let whole: Written = "4 in".parse().unwrap();
/// let tenth: Written = "4.0 in".parse().unwrap();
/// assert_eq!(whole.amount, tenth.amount);
/// assert_eq!(whole.place.to_string(), "1");
/// assert_eq!(tenth.place.to_string(), "0.1");
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The text, without the spaces around it.
    pub text: String,
    /// The number, exact, with its unit.
    pub amount: Quantity,
    /// The last place of the number as written, in the same unit; see [`last_place`].
    pub place: Exact,
}

/// Why a text is not an amount.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotWritten {
    /// The number could not be read.
    #[error(transparent)]
    Number(#[from] Unreadable),
    /// The unit is not known.
    #[error(transparent)]
    Unit(#[from] UnknownUnit),
    /// There is a number and no unit.
    #[error("{number} what? The number has no unit")]
    NoUnit {
        /// The number as it stands.
        number: String,
    },
}

impl std::str::FromStr for Written {
    type Err = NotWritten;

    /// Reads a number and a unit. A bare number must say so: "0.45 1".
    ///
    /// # Errors
    ///
    /// [`NotWritten`] says which part could not be read.
    fn from_str(text: &str) -> Result<Self, NotWritten> {
        let text = text.trim();
        let (number, unit) = split_unit(text);
        let value = parse_typed(number)?;
        if unit.is_empty() {
            return Err(NotWritten::NoUnit { number: number.to_owned() });
        }
        Ok(Self { text: text.to_owned(), amount: Quantity::new(value, Unit::parse(unit)?), place: last_place(number) })
    }
}

impl Written {
    /// Reads a number that has no unit, such as a ratio by mass.
    ///
    /// # Errors
    ///
    /// [`NotWritten::Number`] if the text is no number.
    pub fn bare(text: &str) -> Result<Self, NotWritten> {
        let text = text.trim();
        let amount = Quantity::new(parse_typed(text)?, Unit::NONE);
        Ok(Self { text: text.to_owned(), amount, place: last_place(text) })
    }

    /// The amount with as many decimals as its last place has: for an amount that was worked out and has no text.
    pub fn made(amount: Quantity, place: Exact) -> Self {
        Self { text: shown(&amount.value, &place, amount.unit), amount, place }
    }
}

impl fmt::Display for Written {
    /// The text as it stands.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// A value with its unit, with the decimals of `place`; exactly as it is if those do not hold it.
pub fn shown(value: &Exact, place: &Exact, unit: Unit) -> String {
    let places = place.decimal_places().filter(|_| value.is_multiple_of(place));
    let number = places.map_or_else(|| value.show_exact(), |places| value.show(places));
    if unit == Unit::NONE { number } else { format!("{number} {unit}") }
}

/// The last place a number is written to.
///
/// | written          | last place | why                                                                        |
/// |------------------|------------|----------------------------------------------------------------------------|
/// | `4`, `40`, `400` | 1          | a whole number is written to the unit; its zeros are no doubt left open     |
/// | `4.0`            | 0.1        | its last decimal                                                           |
/// | `4.25`           | 0.01       | the same                                                                   |
/// | `4 1/2`, `4½`    | 1/2        | written in halves                                                          |
/// | `4 1/4`          | 1/4        | written in quarters                                                        |
/// | `4 2/4`          | 1/4        | the same: as written, not in lowest terms                                  |
///
/// Whole numbers and decimals follow the rounding method of ASTM E29 as agency manuals restate it (Iowa DOT Materials
/// IM 202: a slump of 4 1/4 in meets "4 in" and fails "4.0 in"); the text of E29 was not seen. What a fraction is
/// rounded to is our reading of the same idea, and no source was found for it: a limit may say otherwise with
/// `to_nearest`.
pub fn last_place(number: &str) -> Exact {
    let one = Exact::one();
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).collect::<String>();
    if let Some((_, below)) = number.split_once(['/', '⁄']) {
        let parts = digits(below).parse::<Exact>().ok();
        return parts.and_then(|parts| one.checked_div(&parts)).unwrap_or(one);
    }
    if let Some(parts) = number.chars().next_back().and_then(parts_of) {
        return Exact::ratio(1, parts).unwrap_or(one);
    }
    let Some((_, decimals)) = number.split_once(['.', ',']) else { return one };
    let places = digits(decimals).len();
    format!("0.{}1", "0".repeat(places.saturating_sub(1))).parse().ok().filter(|_| places > 0).unwrap_or(one)
}

/// What a vulgar fraction is written in: 4 for ¼ and for ¾.
fn parts_of(sign: char) -> Option<i64> {
    Some(match sign {
        '½' => 2,
        '⅓' | '⅔' => 3,
        '¼' | '¾' => 4,
        '⅕' | '⅖' | '⅗' | '⅘' => 5,
        '⅙' | '⅚' => 6,
        '⅐' => 7,
        '⅛' | '⅜' | '⅝' | '⅞' => 8,
        '⅑' => 9,
        '⅒' => 10,
        _ => return None,
    })
}

/// How far a result may lie below and above a target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tolerance {
    /// The text.
    pub text: String,
    /// How far below, not negative.
    pub minus: Written,
    /// How far above, not negative.
    pub plus: Written,
}

/// Why a text is no tolerance.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotATolerance {
    /// There is no sign, or a sign twice.
    #[error("expected a plus and a minus, such as \"+1 in -1 in\", or \"± 1.5 %\" for both alike")]
    NoSigns,
    /// One of the amounts could not be read.
    #[error(transparent)]
    Amount(#[from] NotWritten),
}

impl std::str::FromStr for Tolerance {
    type Err = NotATolerance;

    /// Reads "± 1.5 %", "+1 in -1 in" or "+0 in -2 1/2 in". The first amount may leave its unit to the second.
    ///
    /// # Errors
    ///
    /// [`NotATolerance`].
    fn from_str(text: &str) -> Result<Self, NotATolerance> {
        let text = text.trim();
        if let Some(both) =
            text.strip_prefix('±').or_else(|| text.strip_prefix("+/-")).or_else(|| text.strip_prefix("+-"))
        {
            let both: Written = unsigned(both)?.parse()?;
            return Ok(Self { text: text.to_owned(), minus: both.clone(), plus: both });
        }
        let signs = ['+', '-', '−'];
        let first = text.strip_prefix(signs).ok_or(NotATolerance::NoSigns)?;
        // "-2-1/2 in" is a number with a hyphen in it, so the second sign follows a space.
        let parting =
            first.char_indices().find(|(at, sign)| signs.contains(sign) && first[..*at].ends_with([' ', ',']));
        let (at, second_sign) = parting.ok_or(NotATolerance::NoSigns)?;
        let (former, latter) = (first[..at].trim().trim_end_matches(','), &first[at + second_sign.len_utf8()..]);
        let is_plus = text.starts_with('+');
        if is_plus == (second_sign == '+') {
            return Err(NotATolerance::NoSigns);
        }
        let latter: Written = unsigned(latter)?.parse()?;
        let former = match unsigned(former)?.parse() {
            Err(NotWritten::NoUnit { number }) => format!("{number} {}", latter.amount.unit).parse()?,
            read => read?,
        };
        let (plus, minus) = if is_plus { (former, latter) } else { (latter, former) };
        Ok(Self { text: text.to_owned(), minus, plus })
    }
}

fn unsigned(text: &str) -> Result<&str, NotATolerance> {
    let text = text.trim();
    if text.starts_with(['+', '-', '−', '±']) { Err(NotATolerance::NoSigns) } else { Ok(text) }
}

/// Splits "1/8 in", "2½ in", "0.25 %", "-5 °C" into number and unit.
fn split_unit(text: &str) -> (&str, &str) {
    let belongs = |sign: char| {
        sign.is_ascii_digit() || sign.is_whitespace() || ".,+-−/⁄".contains(sign) || parts_of(sign).is_some()
    };
    let end = text.find(|sign: char| !belongs(sign)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    // "0.45 1": the unit one stands behind a bare number that has decimals.
    if unit.is_empty()
        && let Some(bare) = number.trim_end().strip_suffix(" 1")
    {
        return (bare.trim(), "1");
    }
    (number.trim(), unit.trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str) -> Written {
        text.parse().unwrap()
    }

    #[test]
    fn an_amount_keeps_its_text_and_knows_the_last_place_it_is_written_to() {
        for (text, value, unit, place) in [
            ("4 in", "4", "in", "1"),
            ("4.0 in", "4", "in", "0.1"),
            ("4.00 in", "4", "in", "0.01"),
            ("4,0 in", "4", "in", "0.1"),
            ("4 1/2 in", "4.5", "in", "0.5"),
            ("4½ in", "4.5", "in", "0.5"),
            ("4-1/4 in", "4.25", "in", "0.25"),
            ("4 2/4 in", "4.5", "in", "0.25"),
            ("3/8 in", "0.375", "in", "0.125"),
            ("⅔ in", "2/3", "in", "1/3"),
            ("100 mm", "100", "mm", "1"),
            ("4000 psi", "4000", "psi", "1"),
            ("-5.0 °C", "-5", "°C", "0.1"),
            ("145.3 lb/ft³", "145.3", "lb/ft³", "0.1"),
            ("0.45 1", "0.45", "", "0.01"),
        ] {
            let read = written(text);
            assert_eq!(read.text, text);
            assert_eq!(read.amount.value.show_exact(), value, "{text}");
            assert_eq!(read.amount.unit.symbol(), unit, "{text}");
            assert_eq!(read.place.show_exact(), place, "{text}");
        }
    }

    #[test]
    fn a_text_that_is_no_amount_says_which_part_is_wrong() {
        for (text, said) in [
            ("4", "4 what? The number has no unit"),
            ("4 1/2", "4 1/2 what? The number has no unit"),
            ("four in", "nothing was typed: expected a number such as 2.75, 2,75, 2 3/4 or 2¾"),
            ("4 inches", "unknown unit \"inches\": did you mean \"in\"?"),
        ] {
            assert_eq!(text.parse::<Written>().unwrap_err().to_string(), said, "{text}");
        }
    }

    #[test]
    fn a_tolerance_is_read_with_its_two_sides() {
        for (text, minus, plus) in [
            ("± 1.5 %", "1.5 %", "1.5 %"),
            ("+/- 1.5 %", "1.5 %", "1.5 %"),
            ("+1 in -1 in", "1 in", "1 in"),
            ("-2 1/2 in +0 in", "2 1/2 in", "0 in"),
            ("+0 in, -2-1/2 in", "2-1/2 in", "0 in"),
            ("+1.5 -1.0 %", "1.0 %", "1.5 %"),
        ] {
            let read: Tolerance = text.parse().unwrap();
            assert_eq!((read.minus.text.as_str(), read.plus.text.as_str()), (minus, plus), "{text}");
        }
        for text in ["1 in", "+1 in", "+1 in +1 in", "+-", "± -1 in", "+1 in -", "± 1"] {
            assert!(text.parse::<Tolerance>().is_err(), "{text}");
        }
    }

    #[test]
    fn an_amount_that_was_worked_out_is_shown_to_its_place() {
        let inch = Unit::parse("in").unwrap();
        let made = |value: &str, place: &str| {
            Written::made(Quantity::new(value.parse().unwrap(), inch), place.parse().unwrap()).text
        };
        assert_eq!(made("5", "1"), "5 in");
        assert_eq!(made("5", "0.1"), "5.0 in");
        assert_eq!(made("5.5", "0.5"), "5.5 in");
        assert_eq!(made("5.25", "0.1"), "5.25 in", "a place that does not hold it rounds nothing");
    }
}

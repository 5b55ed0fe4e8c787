//! Numbers as people type them.
//!
//! Here: decimals with a point or a comma, mixed fractions, vulgar fractions, and the error for a text that is none
//! of these. Not here: units, ranges and graduations, which belong to the instrument.
//!
//! **Invariant:** a text is read in one way or refused; nothing is guessed. No text makes this panic.

use crate::exact::Exact;

/// The longest number a person types, in characters without the spaces around it.
const LONGEST_TYPED: usize = 40;

const ACCEPTED: &str = "a number such as 2.75, 2,75, 2 3/4 or 2¾";
const ONE_MARK_ONLY: &str =
    "one decimal mark and no thousands separator: 1234.5 is read, 1,234.5 could be meant in two ways";
const COMMA_OR_THOUSANDS: &str =
    "a decimal point here, or no comma at all: a comma before three digits could be a decimal comma or thousands";

/// A text that could not be read as what was asked for. Says what was typed and what would have been read.
///
/// ```
/// let error = quantity::parse_typed("abc").unwrap_err();
/// assert_eq!(error.to_string(), r#"cannot read "abc": expected a number such as 2.75, 2,75, 2 3/4 or 2¾"#);
/// ```
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}: expected {expected}", as_said(.typed))]
pub struct Unreadable {
    /// What was typed, without the spaces around it and cut after 40 characters.
    pub typed: String,
    /// What would have been read, in plain words.
    pub expected: String,
}

impl Unreadable {
    pub(crate) fn new(typed: &str, expected: &str) -> Self {
        let typed = typed.trim();
        let mut shown: String = typed.chars().take(LONGEST_TYPED).collect();
        if shown.len() < typed.len() {
            shown.push('…');
        }
        Self { typed: shown, expected: expected.to_owned() }
    }
}

fn as_said(typed: &str) -> String {
    if typed.is_empty() { "nothing was typed".to_owned() } else { format!("cannot read {typed:?}") }
}

/// How to take a comma before exactly three digits.
#[derive(Copy, Clone, PartialEq, Eq)]
pub(crate) enum Comma {
    /// "3,802" is refused: 3.802 and 3802 are both meant by somebody.
    Doubtful,
    /// "7,125" is 7.125: the instrument stays below 1000, so the comma can only be a decimal comma there.
    Decimal,
}

/// Reads a number as a person types it.
///
/// | typed                          | read as                                        |
/// |--------------------------------|------------------------------------------------|
/// | `2.75` `.5` `-1` `+3` `" 5 "`  | a decimal                                      |
/// | `2,75` `0,125`                 | a decimal with a decimal comma                 |
/// | `3/4` `5/4`                    | a fraction                                     |
/// | `2 3/4` `2-3/4` `2¾` `2 ¾` `¾` | a whole number and a fraction less than one    |
/// | `1,234.5` `1.2.3` `1,234`      | refused: a thousands separator or a slip       |
/// | `5.` `.` `1e5` `2 3/0` `2 5/4` | refused                                        |
///
/// # Errors
///
/// [`Unreadable`] for any other text, and for more than 40 characters. `1,234` is refused because a batch mass of
/// 1,234 lb and a length of 1,234 m differ by a factor of a thousand; an instrument that stays below 1000 settles
/// that question ([`crate::Scale::read`]).
///
/// # Example
///
/// ```
/// use quantity::{Exact, parse_typed};
///
/// assert_eq!(parse_typed("2-3/4").unwrap(), Exact::ratio(11, 4).unwrap());
/// assert!(parse_typed("1e5").is_err());
/// ```
pub fn parse_typed(text: &str) -> Result<Exact, Unreadable> {
    parse_with(text, Comma::Doubtful)
}

pub(crate) fn parse_with(text: &str, comma: Comma) -> Result<Exact, Unreadable> {
    let typed = text.trim();
    read(typed, comma).map_err(|expected| Unreadable::new(typed, expected))
}

fn read(typed: &str, comma: Comma) -> Result<Exact, &'static str> {
    if typed.chars().nth(LONGEST_TYPED).is_some() {
        return Err("at most 40 characters");
    }
    let (negative, body) = match typed.strip_prefix(['-', '−']) {
        Some(body) => (true, body),
        None => (false, typed.strip_prefix('+').unwrap_or(typed)),
    };
    let value = match whole_and_fraction(body)? {
        (whole, None) => decimal(whole, comma)?,
        ("", Some(fraction)) => fraction,
        (whole, Some(fraction)) if is_digits(whole) => {
            if fraction >= Exact::one() {
                return Err("a fraction smaller than one after the whole number");
            }
            Exact::from_digits(whole, "") + fraction
        }
        _ => return Err(ACCEPTED),
    };
    Ok(if negative { -value } else { value })
}

/// Splits "2 3/4", "2-3/4", "2¾" into its whole number and its fraction; a text without a fraction is all whole.
fn whole_and_fraction(body: &str) -> Result<(&str, Option<Exact>), &'static str> {
    if let Some(last) = body.chars().next_back()
        && let Some((num, den)) = vulgar(last)
    {
        let whole = body.strip_suffix(last).unwrap_or(body);
        let fraction = Exact::ratio(num, den).ok_or(ACCEPTED)?;
        return Ok((before_fraction(whole, true)?, Some(fraction)));
    }
    let Some((left, den)) = body.split_once(['/', '⁄']) else {
        return Ok((body, None));
    };
    let digits_start = left.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    let (whole, num) = left.split_at(digits_start);
    if !is_digits(num) || !is_digits(den) {
        return Err(ACCEPTED);
    }
    let fraction = Exact::from_digits(num, "")
        .checked_div(&Exact::from_digits(den, ""))
        .ok_or("a fraction that is not over zero")?;
    Ok((before_fraction(whole, false)?, Some(fraction)))
}

/// The whole number before a fraction, without the spaces or the one hyphen that joins them.
fn before_fraction(whole: &str, may_touch: bool) -> Result<&str, &'static str> {
    if whole.is_empty() {
        return Ok(whole);
    }
    let joined = match whole.strip_suffix('-') {
        Some(joined) => joined,
        None => whole.trim_end(),
    };
    let touches = joined.len() == whole.len();
    if joined.is_empty() || (touches && !may_touch) { Err(ACCEPTED) } else { Ok(joined) }
}

fn decimal(body: &str, comma: Comma) -> Result<Exact, &'static str> {
    let Some(mark) = body.find(['.', ',']) else {
        return if is_digits(body) { Ok(Exact::from_digits(body, "")) } else { Err(ACCEPTED) };
    };
    let (whole, rest) = body.split_at(mark);
    let (is_comma, decimals) = (rest.starts_with(','), &rest[1..]);
    if !(whole.is_empty() || is_digits(whole)) {
        return Err(ACCEPTED);
    }
    if decimals.contains(['.', ',']) && decimals.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(ONE_MARK_ONLY);
    }
    if !is_digits(decimals) {
        return Err(ACCEPTED);
    }
    let looks_like_thousands =
        is_comma && decimals.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if looks_like_thousands && comma == Comma::Doubtful {
        return Err(COMMA_OR_THOUSANDS);
    }
    Ok(Exact::from_digits(whole, decimals))
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

fn vulgar(character: char) -> Option<(i64, i64)> {
    Some(match character {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅐' => (1, 7),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '⅑' => (1, 9),
        '⅒' => (1, 10),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        for (typed, value) in [
            ("2.75", "2.75"),
            ("2,75", "2.75"),
            ("2 3/4", "2.75"),
            ("2-3/4", "2.75"),
            ("2  3/4", "2.75"),
            ("2\u{a0}3/4", "2.75"),
            ("2 3⁄4", "2.75"),
            ("2¾", "2.75"),
            ("2 ¾", "2.75"),
            ("2-¾", "2.75"),
            ("3/4", "0.75"),
            ("9/4", "2.25"),
            ("0/4", "0"),
            ("2 0/4", "2"),
            ("-2 3/4", "-2.75"),
            ("−2¾", "-2.75"),
            ("2½", "2.5"),
            ("½", "0.5"),
            ("¼", "0.25"),
            ("¾", "0.75"),
            ("⅛", "0.125"),
            ("⅜", "0.375"),
            ("⅝", "0.625"),
            ("⅞", "0.875"),
            ("⅓", "1/3"),
            (".5", "0.5"),
            (",5", "0.5"),
            ("-.5", "-0.5"),
            ("-1", "-1"),
            ("+3", "3"),
            (" 5 ", "5"),
            ("\t5\n", "5"),
            ("007", "7"),
            ("0", "0"),
            ("-0", "0"),
            ("0,125", "0.125"),
            ("1,25", "1.25"),
            ("1,2345", "1.2345"),
            ("1234,125", "1234.125"),
            ("3802", "3802"),
            ("1234567890123456789012345678901234567890", "1234567890123456789012345678901234567890"),
        ] {
            assert_eq!(parse_typed(typed).map(|read| read.show_exact()), Ok(value.to_owned()), "typed {typed:?}");
        }
    }

    #[test]
    fn anything_else_is_refused_and_what_would_do_is_said() {
        for typed in [
            "",
            " ",
            ".",
            ",",
            "-",
            "+",
            "/",
            "-.",
            "abc",
            "5a",
            "1e5",
            "0x1f",
            "inf",
            "NaN",
            "1_000",
            "5.",
            "5,",
            "5/",
            "/4",
            "2/",
            "2 /4",
            "3 / 4",
            "2 3/0",
            "3/0",
            "0/0",
            "2 4/4",
            "2 5/4",
            "--1",
            "+-1",
            "-+1",
            "- 1",
            "2--3/4",
            "2 -3/4",
            "2- 3/4",
            "2 - 3/4",
            "2 - 3/4 x",
            "2.5 3/4",
            "2,5¾",
            "1/2/3",
            "½½",
            "½3",
            "2½/3",
            "2 3",
            "1.2.3",
            "1,234,5",
            "1,234.5",
            "1.234,5",
            "1,2,3",
            "1..2",
            "1,234",
            "-12,345",
            "1 234",
            "5 %",
            "٣",
            "5²",
            "∞",
            "12345678901234567890123456789012345678901",
        ] {
            assert!(parse_typed(typed).is_err(), "typed {typed:?} was read as {:?}", parse_typed(typed));
        }
        let usual = "a number such as 2.75, 2,75, 2 3/4 or 2¾";
        for (typed, said) in [
            ("", format!("nothing was typed: expected {usual}")),
            (" abc ", format!("cannot read \"abc\": expected {usual}")),
            ("1,234.5", format!("cannot read \"1,234.5\": expected {ONE_MARK_ONLY}")),
            ("1,234", format!("cannot read \"1,234\": expected {COMMA_OR_THOUSANDS}")),
            ("2 3/0", "cannot read \"2 3/0\": expected a fraction that is not over zero".to_owned()),
            ("2 5/4", "cannot read \"2 5/4\": expected a fraction smaller than one after the whole number".to_owned()),
            (&"7".repeat(50), format!("cannot read \"{}…\": expected at most 40 characters", "7".repeat(40))),
            ("\u{1b}[2J", format!("cannot read \"\\u{{1b}}[2J\": expected {usual}")),
        ] {
            assert_eq!(parse_typed(typed).unwrap_err().to_string(), said);
        }
    }
}

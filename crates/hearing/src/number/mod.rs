//! Numbers as the trade says them.
//!
//! Here: from words to a mark of an instrument. Not here: read-back.
//!
//! The words are read in every way the grammar in `spoken` allows. The instrument then settles which one was meant,
//! or nobody does:
//!
//! | said | instrument | taken as |
//! |------|------------|----------|
//! | two and three quarters | 0 to 12 in by 0.25 | 2.75 |
//! | one forty five | 0 to 300 mm by 5 | 145 |
//! | five seventy five | 0 to 9 % by 0.25 | 5.75, because 575 is no mark |
//! | one forty five | 0 to 200 lb by 0.01 | nothing: 145.00 or 1.45 |
//! | seventy two and a half | −20 to 140 °F by 1 | nothing: 72 or 73 |
//! | five inches | 0 to 9 % by 0.25 | nothing: another unit |
//!
//! **Invariant:** every way to understand the words is tried; only if exactly one of them is a mark of the instrument is
//! it taken. Nothing is moved to the nearest mark.

mod spoken;
pub(crate) mod units;

use quantity::{Decimal, Exact, NotAReading, Scale, Unit};

use spoken::Word;

/// Why words are no reading.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotANumber {
    /// No number is said.
    #[error("that is no number")]
    NoNumber,
    /// It can be understood in several ways, all of them marks of the instrument.
    #[error("it could be {}", .0.join(" or "))]
    Ambiguous(Vec<String>),
    /// It is a number, but no mark of the instrument; the reason in words.
    #[error("{0}")]
    NotAMark(String),
}

/// Reads words that were [made alike](crate::words::alike) as a mark of an instrument.
///
/// # Errors
///
/// [`NotANumber`] says why they are none.
///
/// # Example
///
/// ```
/// use quantity::{Decimal, Scale, Unit};
///
/// let neck = Scale::new(Decimal::new(25, 2), Decimal::ZERO, Decimal::from(9), Unit::parse("%").unwrap()).unwrap();
/// let heard = |words| hearing::number::number(words, &neck);
/// assert_eq!(heard("five and three quarters").unwrap().to_string(), "5.75");
/// assert_eq!(heard("five point eight").unwrap_err().to_string(), "graduated in 0.25 %: 5.75 or 6.00?");
/// assert_eq!(heard("five no six").unwrap_err().to_string(), "that is no number");
/// ```
pub fn number(words: &str, scale: &Scale) -> Result<Decimal, NotANumber> {
    let words: Vec<&str> = words.split_whitespace().collect();
    let (is_minus, words) = sign(&words);
    let (said, unit) = match units::at_the_end(words, scale.unit) {
        Some(unit) => {
            let (amount, named) = words.split_at(words.len() - unit.n_words);
            (Said::of(without_of(amount), scale), Some((unit.is_own, named.join(" "))))
        }
        None => match with_unit_inside(words, scale.unit) {
            Some((said, is_own, named)) => (said, Some((is_own, named))),
            None => (Said::of(words, scale), None),
        },
    };
    match (said, unit) {
        (Said::Nothing, _) => Err(NotANumber::NoNumber),
        (_, Some((false, named))) => Err(NotANumber::NotAMark(other_unit(scale.unit, &named))),
        (Said::Written(text), _) => written(is_minus, &text, scale),
        (Said::Spoken(values), _) => the_one_mark(is_minus, values, scale),
    }
}

/// What was said, apart from sign and unit.
enum Said {
    /// No number.
    Nothing,
    /// A number in digits, as it is typed.
    Written(String),
    /// Every value the words can have.
    Spoken(Vec<Exact>),
}

impl Said {
    fn of(words: &[&str], scale: &Scale) -> Self {
        match words {
            [number] | [number, "and", _] | [number, _] if !spoken::is_numeral(number) => Self::in_words(words, scale),
            [number] => Self::Written((*number).to_owned()),
            [number, "and", parts] | [number, parts] if parts.contains('/') => {
                Self::Written(format!("{number} {parts}"))
            }
            _ => Self::in_words(words, scale),
        }
    }

    fn in_words(words: &[&str], scale: &Scale) -> Self {
        let values = spoken::words(words).map(|words| spoken::amounts(&words, scale.places() == 2)).unwrap_or_default();
        Self::spoken(values)
    }

    fn spoken(values: Vec<Exact>) -> Self {
        if values.is_empty() { Self::Nothing } else { Self::Spoken(values) }
    }
}

/// "minus five", "negative five", "five below zero", "five degrees below zero".
fn sign<'w, 'a>(words: &'w [&'a str]) -> (bool, &'w [&'a str]) {
    match words {
        ["minus" | "negative", rest @ ..] => (true, rest),
        ["plus", rest @ ..] => (false, rest),
        [rest @ .., "below", "zero"] => (true, rest),
        _ => (false, words),
    }
}

/// "three quarters of an (inch)", "half a (pint)".
fn without_of<'w, 'a>(words: &'w [&'a str]) -> &'w [&'a str] {
    let parts =
        |word: &str| word.contains('/') || matches!(spoken::words(&[word]).as_deref(), Some([Word::Part { .. }]));
    match words {
        [amount @ .., "of", "a" | "an"] if amount.last().is_some_and(|word| parts(word)) => amount,
        ["half", "a" | "an"] => &words[..1],
        _ => words,
    }
}

/// "two inches and three quarters", whether the unit is the instrument's own, and the unit.
fn with_unit_inside(words: &[&str], own: Unit) -> Option<(Said, bool, String)> {
    let ands = words.iter().enumerate().filter(|(_, word)| **word == "and").map(|(at, _)| at);
    let (unit, at) = ands.filter_map(|at| Some((units::at_the_end(&words[..at], own)?, at))).next()?;
    let (whole, named) = words[..at].split_at(at - unit.n_words);
    let value = spoken::whole_and(&spoken::words(whole)?, &spoken::words(&words[at + 1..])?);
    Some((Said::spoken(value.into_iter().collect()), unit.is_own, named.join(" ")))
}

fn other_unit(own: Unit, named: &str) -> String {
    if own == Unit::NONE {
        format!("a number without a unit is asked, not one in {named}")
    } else {
        format!("it is read in {own}, not in {named}")
    }
}

fn written(is_minus: bool, text: &str, scale: &Scale) -> Result<Decimal, NotANumber> {
    let typed = if is_minus { format!("-{text}") } else { text.to_owned() };
    scale.read(&typed).map_err(|why| match why {
        NotAReading::Unreadable(_) => NotANumber::NoNumber,
        why => NotANumber::NotAMark(why.to_string()),
    })
}

/// The one value that is a mark of the instrument.
fn the_one_mark(is_minus: bool, values: Vec<Exact>, scale: &Scale) -> Result<Decimal, NotANumber> {
    let mut marks = Vec::new();
    let mut why_not = None;
    for value in values {
        match scale.check(&if is_minus { -value } else { value }) {
            Ok(mark) => marks.push(mark),
            // Between two marks says more than off the scale.
            Err(why @ NotAReading::BetweenMarks { .. }) => why_not = Some(why),
            Err(why) => why_not = why_not.or(Some(why)),
        }
    }
    match (marks.as_slice(), why_not) {
        ([mark], _) => Ok(*mark),
        ([], Some(why)) => Err(NotANumber::NotAMark(why.to_string())),
        ([], None) => Err(NotANumber::NoNumber),
        _ => Err(NotANumber::Ambiguous(marks.iter().map(|mark| scale.show(mark)).collect())),
    }
}

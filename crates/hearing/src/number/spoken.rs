//! The grammar of spoken numbers.
//!
//! Here: words to every value they can have. Not here: instruments, units and signs.
//!
//! ```text
//! amount   = whole | whole "point" decimals | "point" decimals | fraction | whole "and" fraction
//!          | cardinal fraction                "two three quarters"
//!          | below100 pair                    "five seventy five" for 5.75: only where two decimals are read
//! whole    = cardinal | digits | run | numeral
//! cardinal = [below1000 "thousand" ["and"]] [hundreds "hundred" ["and"]] [below100]
//! digits   = digit digit …                    "one four five"; does not begin with a zero
//! run      = digit pair | pair pair | pair "oh" digit    "one forty five", "twenty three ten", "twenty oh five"
//! decimals = digit … [pair] | pair pair | numeral
//! pair     = teen | tens [digit]              ten to ninety-nine
//! fraction = ("a" | cardinal) part | "half"   less than one
//! ```
//!
//! Each rule is tried on all words; a way counts only if it uses every one of them.
//!
//! **Invariant:** nothing is skipped, and no way of reading is left out because another was found first.

use quantity::Exact;

/// Longer numbers are no readings.
const DIGITS_AT_MOST: usize = 7;

/// A word of a number.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Word<'a> {
    /// Zero to nine.
    Digit(u8),
    /// Ten to nineteen.
    Teen(u8),
    /// Twenty, thirty … ninety.
    Tens(u8),
    /// "hundred"
    Hundred,
    /// "thousand"
    Thousand,
    /// "point"
    Point,
    /// "and"
    And,
    /// "a", "an"
    A,
    /// "quarter", "quarters"
    Part {
        /// Four.
        of: u64,
        /// Whether it is said of several.
        several: bool,
    },
    /// A number in digits, not read yet.
    Numeral(&'a str),
}

use Word::{A, And, Digit, Hundred, Numeral, Part, Point, Teen, Tens, Thousand};

/// The words of a number, or none if one of them is no such word.
///
/// Words that only sound like numbers ("to", "for", "won") count as such if another word makes sure that a number is
/// said. "to" and "for" beside another digit are what they usually are: "two to five" is no 225. After a point they can
/// only be digits.
pub(super) fn words<'a>(said: &[&'a str]) -> Option<Vec<Word<'a>>> {
    let mut found: Vec<Word<'a>> = Vec::with_capacity(said.len());
    let mut is_sure = false;
    for (idx, text) in said.iter().copied().enumerate() {
        let word = match surely(text) {
            Some(word) => {
                is_sure |= !matches!(word, And | A);
                word
            }
            None => {
                let next = said.get(idx + 1).copied();
                let is_before_number = next.is_some_and(|next| {
                    sounds_like(next).is_some()
                        || matches!(surely(next), Some(Digit(_) | Teen(_) | Tens(_) | Numeral(_) | A))
                });
                let is_after_digit = matches!(found.last(), Some(Digit(_)));
                let is_decimal = found.contains(&Point);
                match text {
                    "to" | "too" | "for" if (is_before_number || is_after_digit) && !is_decimal => return None,
                    _ => Digit(sounds_like(text)?),
                }
            }
        };
        found.push(word);
    }
    is_sure.then_some(found)
}

fn surely(text: &str) -> Option<Word<'_>> {
    let several = text.ends_with('s') || text == "halves";
    Some(match text {
        "zero" | "nought" | "naught" => Digit(0),
        "one" => Digit(1),
        "two" => Digit(2),
        "three" => Digit(3),
        "four" => Digit(4),
        "five" => Digit(5),
        "six" => Digit(6),
        "seven" => Digit(7),
        "eight" => Digit(8),
        "nine" | "niner" => Digit(9),
        "ten" => Teen(10),
        "eleven" => Teen(11),
        "twelve" => Teen(12),
        "thirteen" => Teen(13),
        "fourteen" => Teen(14),
        "fifteen" => Teen(15),
        "sixteen" => Teen(16),
        "seventeen" => Teen(17),
        "eighteen" => Teen(18),
        "nineteen" => Teen(19),
        "twenty" => Tens(20),
        "thirty" => Tens(30),
        "forty" => Tens(40),
        "fifty" => Tens(50),
        "sixty" => Tens(60),
        "seventy" => Tens(70),
        "eighty" => Tens(80),
        "ninety" => Tens(90),
        "hundred" => Hundred,
        "thousand" => Thousand,
        "point" | "decimal" => Point,
        "and" => And,
        "a" | "an" => A,
        "half" | "halves" => Part { of: 2, several },
        "third" | "thirds" => Part { of: 3, several },
        "quarter" | "quarters" | "fourth" | "fourths" => Part { of: 4, several },
        "fifth" | "fifths" => Part { of: 5, several },
        "eighth" | "eighths" => Part { of: 8, several },
        "tenth" | "tenths" => Part { of: 10, several },
        "sixteenth" | "sixteenths" => Part { of: 16, several },
        "hundredth" | "hundredths" => Part { of: 100, several },
        "thousandth" | "thousandths" => Part { of: 1000, several },
        _ if is_numeral(text) => Numeral(text),
        _ => return None,
    })
}

fn sounds_like(text: &str) -> Option<u8> {
    Some(match text {
        "oh" | "o" => 0,
        "won" => 1,
        "to" | "too" => 2,
        "for" => 4,
        "ate" => 8,
        _ => return None,
    })
}

/// Whether this is written as a number, rightly or not.
pub(super) fn is_numeral(text: &str) -> bool {
    let text = text.strip_prefix(['-', '+']).unwrap_or(text);
    text.strip_prefix(['.', ',']).unwrap_or(text).starts_with(|sign: char| sign.is_ascii_digit())
}

/// Every value of an amount; on an instrument with two decimals the point may be left out. Without doubles.
pub(super) fn amounts(words: &[Word<'_>], two_decimals: bool) -> Vec<Exact> {
    let mut found: Vec<Exact> = wholes(words).into_iter().map(whole_value).collect();
    found.extend(with_point(words));
    found.extend(fraction(words));
    for at in 1..words.len() {
        found.extend(mixed(&words[..at], &words[at..]));
        if two_decimals {
            found.extend(without_point(&words[..at], &words[at..]));
        }
    }
    let mut distinct: Vec<Exact> = Vec::new();
    for value in found {
        if !distinct.contains(&value) {
            distinct.push(value);
        }
    }
    distinct
}

fn with_point(words: &[Word<'_>]) -> Vec<Exact> {
    let Some(at) = words.iter().position(|word| *word == Point) else { return Vec::new() };
    let Some(decimals) = decimals(&words[at + 1..]) else { return Vec::new() };
    let before = match &words[..at] {
        [] | [Digit(0)] => vec![0],
        before => wholes(before),
    };
    before.into_iter().filter_map(|whole| format!("{whole}.{decimals}").parse().ok()).collect()
}

/// "two and three quarters", "two three quarters".
fn mixed(before: &[Word<'_>], after: &[Word<'_>]) -> Option<Exact> {
    if let [whole @ .., And] = before {
        return whole_and(whole, after);
    }
    // Without "and" it must be plain where the whole number ends: "twenty one quarter" could be either.
    let is_plain = matches!(before.last(), Some(Digit(1..) | Teen(_)))
        && matches!(after, [Digit(1..), Part { of: 2 | 3 | 4 | 8 | 16, .. }] | [Teen(_), Part { of: 16, .. }]);
    if is_plain { Some(whole_value(cardinal(before)?) + fraction(after)?) } else { None }
}

/// A whole number and a fraction that were said with "and", or a unit and "and", between them.
pub(super) fn whole_and(whole: &[Word<'_>], parts: &[Word<'_>]) -> Option<Exact> {
    let whole = match whole {
        [Digit(1..), Teen(_) | Tens(_), ..] => run(whole)?,
        [Numeral(text)] => numeral(text)?,
        _ => cardinal(whole)?,
    };
    // "oh, and a half" has lost its beginning.
    if whole == 0 { None } else { Some(whole_value(whole) + fraction(parts)?) }
}

/// "five seventy five" where hundredths are read. Hundredths alone, with no point, are too little to go by.
fn without_point(before: &[Word<'_>], after: &[Word<'_>]) -> Option<Exact> {
    let whole = cardinal(before).filter(|whole| (1..100).contains(whole))?;
    let (hundredths, []) = pair(after)? else { return None };
    if is_stutter(before, after) { None } else { format!("{whole}.{hundredths}").parse().ok() }
}

/// A fraction less than one.
pub(super) fn fraction(words: &[Word<'_>]) -> Option<Exact> {
    let (num, of) = match words {
        [Numeral(text)] => {
            let (num, of) = text.split_once('/')?;
            (numeral(num)?, numeral(of)?)
        }
        // A half is a half with or without "a"; a lone "quarter" may have lost its "three".
        [Part { of: 2, several: false }] => (1, 2),
        [A, Part { of, several: false }] => (1, *of),
        // "three quarter inches" is said; "two quarter" is a quarter that lost its "and a".
        [num @ .., Part { of, several: false }] => (cardinal(num).filter(|num| is_in_lowest_terms(*num, *of))?, *of),
        [num @ .., Part { of, several: true }] => (cardinal(num).filter(|num| *num > 1)?, *of),
        _ => return None,
    };
    if num == 0 || num >= of {
        return None;
    }
    Exact::ratio(i64::try_from(num).ok()?, i64::try_from(of).ok()?)
}

fn is_in_lowest_terms(num: u64, of: u64) -> bool {
    (2..=num).all(|by| !num.is_multiple_of(by) || !of.is_multiple_of(by))
}

/// Every whole number that the words can be.
fn wholes(words: &[Word<'_>]) -> Vec<u64> {
    let written = if let [Numeral(text)] = words { numeral(text) } else { None };
    [cardinal(words), digits(words), run(words), written].into_iter().flatten().collect()
}

/// "two thousand three hundred and forty", "twenty three hundred and forty", "a hundred and five", "seventy two".
fn cardinal(words: &[Word<'_>]) -> Option<u64> {
    let Some(at) = words.iter().position(|word| *word == Thousand) else { return below_thousand(words, true) };
    let thousands = match &words[..at] {
        [A] => 1,
        count => below_thousand(count, false).filter(|count| *count > 0)?,
    };
    let rest = match &words[at + 1..] {
        [] => 0,
        [And, rest @ ..] if !rest.contains(&Hundred) => below_thousand(rest, false).filter(|rest| *rest > 0)?,
        [A, ..] => return None,
        rest => below_thousand(rest, false).filter(|rest| *rest > 0)?,
    };
    Some(thousands * 1000 + rest)
}

/// With or without hundreds; where `by_teens`, "twelve hundred" counts too.
fn below_thousand(words: &[Word<'_>], by_teens: bool) -> Option<u64> {
    let Some(at) = words.iter().position(|word| *word == Hundred) else { return below_hundred(words) };
    let hundreds = match &words[..at] {
        [A] => 1,
        [Digit(count @ 1..)] => u64::from(*count),
        count if by_teens => match pair(count)? {
            (count, []) if count % 10 != 0 => count,
            _ => return None,
        },
        _ => return None,
    };
    let rest = match &words[at + 1..] {
        [] => 0,
        [And, rest @ ..] | rest => below_hundred(rest).filter(|rest| *rest > 0)?,
    };
    Some(hundreds * 100 + rest)
}

fn below_hundred(words: &[Word<'_>]) -> Option<u64> {
    match words {
        [Digit(digit)] => Some(u64::from(*digit)),
        _ => match pair(words)? {
            (pair, []) => Some(pair),
            _ => None,
        },
    }
}

/// "one four five". A number does not begin with a zero: that would be decimals whose point was lost.
fn digits(words: &[Word<'_>]) -> Option<u64> {
    if !(2..=DIGITS_AT_MOST).contains(&words.len()) || words.first() == Some(&Digit(0)) {
        return None;
    }
    words.iter().try_fold(0, |number, word| match word {
        Digit(digit) => Some(number * 10 + u64::from(*digit)),
        _ => None,
    })
}

/// "one forty five", "twenty three ten", "twenty oh five".
fn run(words: &[Word<'_>]) -> Option<u64> {
    if let [Digit(hundreds @ 1..), rest @ ..] = words {
        let (pair, []) = pair(rest)? else { return None };
        return Some(u64::from(*hundreds) * 100 + pair);
    }
    let (first, rest) = pair(words)?;
    let last = match rest {
        [Digit(0), Digit(digit @ 1..)] => u64::from(*digit),
        _ => match pair(rest)? {
            (last, []) if !is_stutter(words, rest) => last,
            _ => return None,
        },
    };
    Some(first * 100 + last)
}

/// "seventy, seventy two" and "twelve, twelve": said again rather than said on.
fn is_stutter(first: &[Word<'_>], second: &[Word<'_>]) -> bool {
    match (pair(first), pair(second)) {
        (Some((first, _)), Some((second, _))) => first == second || (first % 10 == 0 && first / 10 == second / 10),
        _ => false,
    }
}

/// The digits after the point.
fn decimals(words: &[Word<'_>]) -> Option<String> {
    if let [Numeral(text)] = words {
        return (text.len() <= DIGITS_AT_MOST && text.bytes().all(|byte| byte.is_ascii_digit()))
            .then(|| (*text).to_owned());
    }
    let mut found = String::new();
    let mut rest = words;
    while let [Digit(digit), after @ ..] = rest {
        found.push(char::from(b'0' + digit));
        rest = after;
    }
    if !rest.is_empty() {
        let only_pairs = found.is_empty();
        let (two, after) = pair(rest)?;
        found.push_str(&two.to_string());
        match after {
            [] => {}
            _ if only_pairs && !is_stutter(rest, after) => {
                let (two, []) = pair(after)? else { return None };
                found.push_str(&two.to_string());
            }
            _ => return None,
        }
    }
    (1..=DIGITS_AT_MOST).contains(&found.len()).then_some(found)
}

/// Ten to ninety-nine, and what follows. A digit after tens always belongs to them.
fn pair<'w, 'a>(words: &'w [Word<'a>]) -> Option<(u64, &'w [Word<'a>])> {
    match words {
        [Teen(teen), rest @ ..] => Some((u64::from(*teen), rest)),
        [Tens(tens), Digit(digit @ 1..), rest @ ..] => Some((u64::from(tens + digit), rest)),
        [Tens(tens), rest @ ..] => Some((u64::from(*tens), rest)),
        _ => None,
    }
}

/// A whole number in digits.
fn numeral(text: &str) -> Option<u64> {
    let is_plain = text.bytes().all(|byte| byte.is_ascii_digit()) && (text == "0" || !text.starts_with('0'));
    (is_plain && text.len() <= DIGITS_AT_MOST).then(|| text.parse().ok())?
}

fn whole_value(whole: u64) -> Exact {
    Exact::from_int(i64::try_from(whole).unwrap_or(i64::MAX))
}

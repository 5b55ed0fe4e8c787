//! How the marks of an instrument are said, as rules of a grammar.
//!
//! Here: from graduation and range to rules for whole numbers, decimals and fractions. Not here: understanding them,
//! which is [`crate::number`]'s; every sentence of these rules is understood there as the mark it names, or refused.
//!
//! | graduation | rules |
//! |------------|-------|
//! | 1, 5, 50 | whole numbers with the endings that are marks |
//! | 0.25, 0.5, 0.05 | whole numbers; the decimals that are marks, one by one; halves and quarters that are marks |
//! | 0.1, 0.001 | whole numbers; so many digits after the point |
//!
//! **Invariant:** every mark within the range can be said in at least one way.

use std::fmt::Write as _;

use quantity::{Decimal, Exact, Scale};

use crate::number::units;

/// No instrument read aloud goes further.
const HIGHEST: u64 = 999_999;
/// So many different decimals are listed one by one; where there are more, all digits are allowed.
const LISTED_AT_MOST: u64 = 40;

const ONES: [&str; 9] = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
const TEENS: [&str; 10] =
    ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// The rules for an instrument, `number` first; each a name and what it stands for.
pub(super) fn rules(scale: &Scale) -> Vec<(&'static str, String)> {
    let mut signed = Vec::new();
    let mut rules = Vec::new();
    let mut parts = Vec::new();
    if scale.max >= Decimal::ZERO {
        let above = Range::new(scale, scale.min.max(Decimal::ZERO), scale.max);
        signed.push("<above>");
        rules.push(("above", any(&above.said())));
        parts = if above.low == 0 { above.parts() } else { parts };
    }
    if scale.min < Decimal::ZERO {
        let below = Range::new(scale, (-scale.max).max(Decimal::ZERO), -scale.min).said();
        signed.push("(minus | negative) <below>");
        rules.push(("below", any(&below)));
    }
    let mut number = signed.join(" | ");
    let unit: Vec<&str> = units::spoken(scale.unit).filter(|words| is_spelled(words)).collect();
    if !unit.is_empty() {
        number = format!("({number}) [<unit>]");
        // "three quarters of an inch", "half a pint"; "degrees" have no other form.
        if let Some(one) = unit.last().filter(|one| !one.ends_with('s') && !parts.is_empty()) {
            let _ = write!(number, " | ({} | half) of (a | an) {one} | half (a | an) {one}", any(&parts));
        }
        rules.push(("unit", unit.join(" | ")));
    }
    rules.insert(0, ("number", number));
    rules.extend([
        ("pair", "<teen> | <ten> [<one>]".to_owned()),
        ("hundredth", "<one> | <pair>".to_owned()),
        ("digit", "zero | oh | <one> | niner".to_owned()),
        ("one", ONES.join(" | ")),
        ("teen", TEENS.join(" | ")),
        ("ten", TENS.join(" | ")),
    ]);
    rules
}

/// The marks of one sign.
struct Range {
    low: u64,
    high: u64,
    /// Whether the highest whole number has marks above it.
    beyond_high: bool,
    /// The first digits after the point of both ends, of use only if both are below one.
    below_one: (u64, u64),
    /// Whole marks are multiples of this.
    step: u64,
    graduation: Decimal,
    places: u32,
}

impl Range {
    fn new(scale: &Scale, low: Decimal, high: Decimal) -> Self {
        let whole = |value: Decimal| u64::try_from(value.floor()).unwrap_or(HIGHEST).min(HIGHEST);
        let is_whole = scale.places() == 0;
        Self {
            low: whole(low),
            high: whole(high),
            beyond_high: high != high.floor(),
            below_one: (whole(low * Decimal::TEN), whole(high * Decimal::TEN).min(9)),
            step: if is_whole { whole(scale.step).max(1) } else { 1 },
            graduation: scale.step,
            places: scale.places(),
        }
    }

    fn said(&self) -> Vec<String> {
        let mut said = Vec::new();
        if self.low == 0 {
            said.push("zero".to_owned());
        }
        let ending = gcd(self.step, 100);
        said.extend(self.wholes(self.low.max(1), self.high, ending));
        if self.places == 0 {
            return said;
        }
        let last = if self.beyond_high { self.high } else { self.high.saturating_sub(1) };
        let decimals = any(&self.decimals());
        if self.low == 0 {
            said.push(format!("[zero | oh] point ({decimals})"));
        }
        let wholes = self.wholes(self.low.max(1), last, 1);
        if !wholes.is_empty() {
            said.push(format!("({}) point ({decimals})", any(&wholes)));
        }
        let parts = self.parts();
        if !parts.is_empty() {
            let parts = any(&parts);
            if self.low == 0 {
                said.push(parts.clone());
            }
            let wholes = cardinals(self.low.max(1), last, 1);
            if !wholes.is_empty() {
                said.push(format!("({}) and ({parts})", any(&wholes)));
            }
        }
        said
    }

    /// Whole numbers from `low` to `high` in every way that is published.
    fn wholes(&self, low: u64, high: u64, ending: u64) -> Vec<String> {
        let mut said = cardinals(low, high, ending);
        said.extend(digit_by_digit(low.max(10), high, ending));
        // With two decimals "one forty five" could be 1.45.
        if self.places != 2 {
            said.extend(runs(low.max(100), high, ending));
        }
        said
    }

    /// What is said after the point.
    fn decimals(&self) -> Vec<String> {
        let places = usize::try_from(self.places).unwrap_or(0);
        let marks = self.marks_below_one();
        if marks.is_empty() {
            let first = self.first_digits();
            let rest = (1..places).fold(String::new(), |rest, _| match rest.as_str() {
                "" => " [<digit>]".to_owned(),
                rest => format!(" [<digit>{rest}]"),
            });
            let in_pairs = match places {
                2 => Some("<pair>".to_owned()),
                3 => Some(format!("{first} <pair>")),
                _ => None,
            };
            return [format!("{first}{rest}")].into_iter().chain(in_pairs).collect();
        }
        let mut said = Vec::new();
        for mark in marks {
            let text = mark.to_string();
            let digits = text.split_once('.').map_or("0", |(_, digits)| digits);
            let needed = digits.trim_end_matches('0');
            let needed = if needed.is_empty() { "0" } else { needed };
            let spoken = spelled(needed);
            let zeros = (needed.len()..places).fold(String::new(), |rest, _| match rest.as_str() {
                "" => "[zero | oh]".to_owned(),
                rest => format!("[(zero | oh) {rest}]"),
            });
            said.push(format!("{spoken} {zeros}").trim_end().to_owned());
            if places == 2
                && let Some(pair) = digits.parse().ok().filter(|pair| *pair >= 10)
            {
                said.push(below_hundred(pair));
            }
        }
        said
    }

    /// The first digit after the point: any, but for an instrument that stays below one.
    fn first_digits(&self) -> String {
        if self.high > 0 || self.below_one == (0, 9) {
            return "<digit>".to_owned();
        }
        let (low, high) = self.below_one;
        format!("({})", (low..=high).map(digit_word).collect::<Vec<_>>().join(" | "))
    }

    /// The marks from zero up to one, if they are few and one is a mark.
    fn marks_below_one(&self) -> Vec<Decimal> {
        let is_all_digits = self.graduation.normalize().mantissa() == 1;
        let one_is_a_mark = Exact::one().is_multiple_of(&Exact::from(self.graduation));
        if is_all_digits || !one_is_a_mark {
            return Vec::new();
        }
        let marks =
            (0..=LISTED_AT_MOST).map(|n| self.graduation * Decimal::from(n)).take_while(|mark| *mark < Decimal::ONE);
        let mut marks: Vec<Decimal> = marks.collect();
        if marks.len() as u64 > LISTED_AT_MOST {
            marks.clear();
        }
        for mark in &mut marks {
            mark.rescale(self.places);
        }
        marks
    }

    /// The halves, quarters, eighths and sixteenths that are marks. On a fine balance nobody says eighths.
    fn parts(&self) -> Vec<String> {
        let graduation = Exact::from(self.graduation);
        let mut said = Vec::new();
        for (of, least, article, name) in [
            (2, Decimal::new(1, 2), "a", "half"),
            (4, Decimal::new(5, 2), "a", "quarter"),
            (8, Decimal::new(625, 4), "an", "eighth"),
            (16, Decimal::new(625, 4), "a", "sixteenth"),
        ] {
            let is_mark = Exact::ratio(1, of).is_some_and(|part| part.is_multiple_of(&graduation));
            if !is_mark || self.graduation < least {
                continue;
            }
            said.push(format!("({article} | one) {name}"));
            let several: Vec<String> =
                (3..of).step_by(2).filter_map(|n| u64::try_from(n).ok()).map(below_hundred).collect();
            if !several.is_empty() {
                said.push(format!("({}) {name}s", any(&several)));
            }
        }
        said
    }
}

/// "two thousand three hundred and forty", for all numbers from `low` that end as marks do.
fn cardinals(low: u64, high: u64, ending: u64) -> Vec<String> {
    let mut said = up_to_999(low, high.min(999), ending);
    for (from, to, low, high) in by(1000, low.max(1000), high) {
        let count = up_to_999(from, to, 1);
        if count.is_empty() {
            continue;
        }
        let short = up_to_99(low.max(1), high.min(99), ending);
        let mut rest = if short.is_empty() { short } else { vec![format!("[and] ({})", any(&short))] };
        rest.extend(up_to_999(low.max(100), high, ending));
        if rest.is_empty() && low > 0 {
            continue;
        }
        said.push(with_rest(&format!("({}) thousand", any(&count)), &rest, low == 0));
    }
    for (from, to, low, high) in by(100, low.max(1100), high.min(9999)) {
        said.extend(in_hundreds((from..=to).filter(|count| count % 10 != 0), low, high, ending));
    }
    said
}

fn up_to_999(low: u64, high: u64, ending: u64) -> Vec<String> {
    let mut said = up_to_99(low.max(1), high.min(99), ending);
    for (from, to, low, high) in by(100, low.max(100), high) {
        said.extend(in_hundreds(from..=to, low, high, ending));
    }
    said
}

/// "two hundred and forty", "twenty three hundred and forty"
fn in_hundreds(counts: impl Iterator<Item = u64>, low: u64, high: u64, ending: u64) -> Option<String> {
    let counts: Vec<String> = counts.map(below_hundred).collect();
    let rest = up_to_99(low.max(1), high, ending);
    let rest = if rest.is_empty() { rest } else { vec![format!("[and] ({})", any(&rest))] };
    if counts.is_empty() || (rest.is_empty() && low > 0) {
        return None;
    }
    Some(with_rest(&format!("({}) hundred", any(&counts)), &rest, low == 0))
}

fn up_to_99(low: u64, high: u64, ending: u64) -> Vec<String> {
    match (low, high, ending) {
        (1, 99, 1) => vec!["<hundredth>".to_owned()],
        (10, 99, 1) => vec!["<pair>".to_owned()],
        _ => (low..=high).filter(|number| number.is_multiple_of(ending)).map(below_hundred).collect(),
    }
}

/// "one forty five", "twenty three ten", "twenty oh five".
fn runs(low: u64, high: u64, ending: u64) -> Vec<String> {
    let mut said = Vec::new();
    for (from, to, low, high) in by(100, low, high.min(9999)) {
        let first: Vec<String> = (from.max(10)..=to).map(below_hundred).collect();
        let last = up_to_99(low.max(1), high.min(9), ending);
        if !first.is_empty() && !last.is_empty() {
            said.push(format!("({}) (zero | oh) ({})", any(&first), any(&last)));
        }
        let last = up_to_99(low.max(10), high, ending);
        let first: Vec<String> =
            (from..=to).filter(|first| *first < 10 || first % 10 != 0).map(below_hundred).collect();
        if !last.is_empty() && !first.is_empty() {
            said.push(format!("({}) ({})", any(&first), any(&last)));
        }
    }
    said
}

/// "one four five": blocks of numbers that share their first digits.
fn digit_by_digit(mut low: u64, high: u64, ending: u64) -> Vec<String> {
    let mut said = Vec::new();
    while low <= high {
        let mut block = 1;
        while low.is_multiple_of(block * 10) && low + block * 10 - 1 <= high && low / (block * 10) > 0 {
            block *= 10;
        }
        // As many blocks as fit before the digit in front of them changes.
        let in_decade = 10 - (low / block) % 10;
        let fit = (high - low + 1) / block;
        let n = in_decade.min(fit).max(1);
        let is_mark = |digit: &u64| block > 1 || (low / 10 * 10 + digit).is_multiple_of(gcd(ending, 10));
        let first = (low / block) % 10;
        let digits: Vec<&str> = (first..first + n).filter(is_mark).map(digit_word).collect();
        if !digits.is_empty() {
            let mut text = spelled(&(low / block / 10).to_string());
            if low / block < 10 {
                text.clear();
            }
            text = format!("{text} ({})", digits.join(" | "));
            let mut rest = block;
            while rest > 1 {
                rest /= 10;
                text.push_str(match (rest, gcd(ending, 10)) {
                    (1, 10) => " (zero | oh)",
                    (1, 5) => " (zero | oh | five)",
                    _ => " <digit>",
                });
            }
            said.push(text.trim_start().to_owned());
        }
        low += n * block;
    }
    said
}

/// Splits a range into parts of equal endings: (first, last, lowest ending, highest ending).
fn by(size: u64, low: u64, high: u64) -> Vec<(u64, u64, u64, u64)> {
    if low > high {
        return Vec::new();
    }
    let (first, last) = (low / size, high / size);
    let (head, tail) = (low % size, high % size);
    if first == last {
        return vec![(first, last, head, tail)];
    }
    let mut parts = Vec::new();
    let from = if head == 0 { first } else { first + 1 };
    let to = if tail == size - 1 { last } else { last - 1 };
    if head != 0 {
        parts.push((first, first, head, size - 1));
    }
    if from <= to {
        parts.push((from, to, 0, size - 1));
    }
    if tail != size - 1 {
        parts.push((last, last, 0, tail));
    }
    parts
}

fn with_rest(first: &str, rest: &[String], may_end: bool) -> String {
    match (rest, may_end) {
        ([], _) => first.to_owned(),
        (rest, true) => format!("{first} [{}]", any(rest)),
        (rest, false) => format!("{first} ({})", any(rest)),
    }
}

fn below_hundred(number: u64) -> String {
    let word =
        |words: &[&'static str], at: u64| usize::try_from(at).ok().and_then(|at| words.get(at)).copied().unwrap_or("");
    match number {
        0 => "zero".to_owned(),
        1..=9 => word(&ONES, number - 1).to_owned(),
        10..=19 => word(&TEENS, number - 10).to_owned(),
        _ if number.is_multiple_of(10) => word(&TENS, number / 10 - 2).to_owned(),
        _ => format!("{} {}", word(&TENS, number / 10 - 2), word(&ONES, number % 10 - 1)),
    }
}

fn spelled(digits: &str) -> String {
    digits.bytes().map(|digit| digit_word(u64::from(digit - b'0'))).collect::<Vec<_>>().join(" ")
}

fn digit_word(digit: u64) -> &'static str {
    match digit {
        0 => "(zero | oh)",
        9 => "(nine | niner)",
        _ => usize::try_from(digit - 1).ok().and_then(|at| ONES.get(at)).copied().unwrap_or(""),
    }
}

fn any(said: &[String]) -> String {
    said.join(" | ")
}

fn is_spelled(words: &str) -> bool {
    words.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b' ')
}

fn gcd(one: u64, other: u64) -> u64 {
    if other == 0 { one } else { gcd(other, one % other) }
}

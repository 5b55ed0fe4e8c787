//! Numbers in words.
//!
//! Here: whole numbers, decimals, digits one by one, fractions, ordinals. Not here: what they count.
//!
//! **Invariant:** whole numbers are worded as in American English, without `and`; decimals digit by digit after `point`.

use super::unit::{Number, named};

const SMALL: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
const SCALES: [(u64, &str); 6] = [
    (1_000_000_000_000_000_000, "quintillion"),
    (1_000_000_000_000_000, "quadrillion"),
    (1_000_000_000_000, "trillion"),
    (1_000_000_000, "billion"),
    (1_000_000, "million"),
    (1_000, "thousand"),
];

/// A whole number: `one hundred forty-five`.
pub fn whole(n: u64) -> String {
    let mut said = String::new();
    let mut rest = n;
    for (size, name) in SCALES {
        if rest >= size {
            push(&mut said, &below_thousand(rest / size));
            push(&mut said, name);
            rest %= size;
        }
    }
    if rest > 0 || n == 0 {
        push(&mut said, &below_thousand(rest));
    }
    said
}

fn push(said: &mut String, word: &str) {
    if !said.is_empty() {
        said.push(' ');
    }
    said.push_str(word);
}

fn below_thousand(n: u64) -> String {
    let hundreds = n / 100;
    let small = |n: u64| SMALL.get(n as usize).copied().unwrap_or_default();
    let rest = match n % 100 {
        0 if n > 0 => String::new(),
        rest @ 0..20 => small(rest).to_owned(),
        rest => {
            let tens = TENS.get((rest / 10) as usize).copied().unwrap_or_default();
            if rest % 10 == 0 { tens.to_owned() } else { format!("{tens}-{}", small(rest % 10)) }
        }
    };
    match (hundreds, rest.is_empty()) {
        (0, _) => rest,
        (_, true) => format!("{} hundred", small(hundreds)),
        _ => format!("{} hundred {rest}", small(hundreds)),
    }
}

/// Digits one by one: `one four five`; what is no digit is left out.
pub fn digits(text: &str) -> String {
    let words: Vec<&str> = text
        .chars()
        .filter_map(|sign| sign.to_digit(10))
        .filter_map(|digit| SMALL.get(digit as usize).copied())
        .collect();
    words.join(" ")
}

/// `first`, `twenty-eighth`.
pub fn ordinal(n: u64) -> String {
    let cardinal = whole(n);
    let at = cardinal.rfind([' ', '-']).map_or(0, |at| at + 1);
    let (head, last) = cardinal.split_at(at);
    let last = match last {
        "one" => "first".to_owned(),
        "two" => "second".to_owned(),
        "three" => "third".to_owned(),
        "five" => "fifth".to_owned(),
        "eight" => "eighth".to_owned(),
        "nine" => "ninth".to_owned(),
        "twelve" => "twelfth".to_owned(),
        other => match other.strip_suffix('y') {
            Some(stem) => format!("{stem}ieth"),
            None => format!("{other}th"),
        },
    };
    format!("{head}{last}")
}

/// A number as it is written, without its sign.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Plain {
    /// The digits before the point.
    pub whole: String,
    /// The digits after it; none if there is no point.
    pub decimals: Option<String>,
}

impl Plain {
    /// Reads `145.2`, `1,450`, `.5`; nothing else.
    pub(super) fn read(text: &str) -> Option<Plain> {
        let (whole, decimals) = match text.split_once('.') {
            Some((whole, decimals)) => (whole, Some(decimals)),
            None => (text, None),
        };
        let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
        if decimals.is_some_and(|decimals| !is_digits(decimals)) {
            return None;
        }
        let bare = match whole.split_once(',') {
            None => whole.to_owned(),
            Some((first, rest)) => {
                let groups: Vec<&str> = rest.split(',').collect();
                let sound = (1..=3).contains(&first.len()) && groups.iter().all(|group| group.len() == 3);
                if !sound {
                    return None;
                }
                format!("{first}{}", groups.concat())
            }
        };
        let whole = if bare.is_empty() && decimals.is_some() { "0".to_owned() } else { bare };
        is_digits(&whole).then(|| Plain { whole, decimals: decimals.map(str::to_owned) })
    }

    /// Exactly one, so that its unit stands in the singular.
    pub(super) fn is_one(&self) -> bool {
        self.whole == "1" && self.decimals.is_none()
    }

    /// Its whole part, if it is no string of digits such as `007` or one too long to be a number.
    fn value(&self) -> Option<u64> {
        let is_number = self.whole.len() <= 15 && (self.whole == "0" || !self.whole.starts_with('0'));
        self.whole.parse().ok().filter(|_| is_number)
    }
}

/// A number in words: `one hundred forty-five point two`.
pub(super) fn said(number: &Plain) -> String {
    let head = number.value().map_or_else(|| digits(&number.whole), whole);
    match &number.decimals {
        Some(decimals) => format!("{head} point {}", digits(decimals)),
        None => head,
    }
}

/// The words of a text that is a number.
pub(super) fn decimal(text: &str) -> String {
    Plain::read(text.trim_end_matches('0').trim_end_matches('.')).map_or_else(|| digits(text), |number| said(&number))
}

/// A number said so that it survives noise.
pub(super) fn read_back(number: &Plain) -> String {
    let one_by_one = || {
        let head = digits(&number.whole);
        match &number.decimals {
            Some(decimals) => format!("{head} point {}", digits(decimals)),
            None => head,
        }
    };
    let Some(value) = number.value() else { return one_by_one() };
    if value >= 100 && number.decimals.is_some() {
        return one_by_one();
    }
    if sounds_like_another(value) { format!("{}, {}", said(number), one_by_one()) } else { said(number) }
}

/// Thirteen and thirty, fourteen and forty: also inside a longer number.
fn sounds_like_another(mut n: u64) -> bool {
    while n > 0 {
        let tail = n % 100;
        if (13..=19).contains(&tail) || (tail >= 30 && tail.is_multiple_of(10)) {
            return true;
        }
        n /= 1_000;
    }
    false
}

/// A decimal as a fraction of an inch, if it is one down to sixteenths: `two and three quarter inches`.
pub(super) fn as_fraction(number: &Plain, symbol: &str) -> Option<String> {
    let value = number.value().filter(|value| *value < 10_000)?;
    let decimals = number.decimals.as_deref().unwrap_or("").trim_end_matches('0');
    if decimals.len() > 4 {
        return None;
    }
    let ten_thousandths: u64 = format!("{decimals:0<4}").parse().ok()?;
    let sixteenths = ten_thousandths * 16;
    if !sixteenths.is_multiple_of(10_000) {
        return None;
    }
    let (mut above, mut below) = (sixteenths / 10_000, 16);
    while above > 0 && above.is_multiple_of(2) {
        (above, below) = (above / 2, below / 2);
    }
    if above == 0 {
        let unit = named(symbol, if value == 1 { Number::One } else { Number::Many })?;
        let head = if sounds_like_another(value) {
            format!("{}, {}", whole(value), digits(&number.whole))
        } else {
            whole(value)
        };
        return Some(format!("{head} {unit}"));
    }
    mixed(value, above, below, symbol)
}

/// `a quarter inch`, `three quarters of an inch`, `one and a half inches`, `two and three quarter inches`.
pub(super) fn mixed(value: u64, above: u64, below: u64, symbol: &str) -> Option<String> {
    let (one, many) = (named(symbol, Number::One)?, named(symbol, Number::Many)?);
    let part = fraction(above, below)?;
    Some(match (value, one.is_empty()) {
        (0, true) => part,
        (0, false) if above == 1 => format!("{part} {one}"),
        (0, false) => format!("{part} of {} {one}", article(&one)),
        (_, true) => format!("{} and {part}", whole(value)),
        // Quarters lose their plural before the unit, smaller parts keep it.
        (_, false) if below <= 4 => format!("{} and {} {many}", whole(value), part.trim_end_matches('s')),
        (_, false) => format!("{} and {part} {many}", whole(value)),
    })
}

fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// `a half`, `a quarter`, `three eighths`.
pub(super) fn fraction(above: u64, below: u64) -> Option<String> {
    let (one, many) = match below {
        0 | 1 => return None,
        2 => ("half".to_owned(), "halves".to_owned()),
        4 => ("quarter".to_owned(), "quarters".to_owned()),
        _ => {
            let part = ordinal(below);
            (part.clone(), format!("{part}s"))
        }
    };
    Some(match above {
        1 => format!("{} {one}", article(&one)),
        _ => format!("{} {many}", whole(above)),
    })
}

//! Any sentence of the screen, to be spoken.
//!
//! Here: finding numbers with their units, times, ranges, fractions, dates, designations and signs in a text. Not here:
//! how a number or a unit is worded.
//!
//! **Invariant:** whatever the text, letters, spaces, commas, full stops, question and exclamation marks are left, and
//! apostrophes and hyphens between letters; nothing else.

use quantity::Span;

use super::number::{Plain, digits, fraction, mixed, ordinal, said, whole};
use super::unit::{Number, named};

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
/// Words that say that a time of day follows, not a span.
const BEFORE_A_TIME: [&str; 8] = ["at", "until", "by", "since", "from", "before", "after", "about"];
/// After a number and `in`, these make it the word and not the inch.
const AFTER_THE_WORD_IN: [&str; 8] = ["the", "a", "an", "each", "every", "it", "its", "this"];
/// Symbols that are spoken as a unit where no number stands before them.
const UNIT_ALONE: [&str; 14] = ["%", "°F", "°C", "mm", "kg", "mL", "lb", "psi", "kPa", "MPa", "ft³", "m³", "yd³", "°"];
/// Words before a number that is a name and no amount.
const NAMES: [&str; 11] = ["AASHTO", "ASTM", "EN", "BS", "ISO", "IM", "KT", "FOP", "WAQTC", "PP", "TM"];

/// Words written short, and whether only before a number.
const SHORT_WORDS: [(&str, &str, bool); 5] = [
    ("e.g.", "for example", false),
    ("i.e.", "that is", false),
    ("max.", "at most", true),
    ("min.", "at least", true),
    ("approx.", "about", true),
];

/// Any sentence of the screen, to be spoken.
///
/// ```
/// use voice::say::sentence;
///
/// assert_eq!(sentence("Rod it 25 times, about 1 in (25 mm) deep"), "Rod it twenty-five times, about one inch, twenty-five millimetres, deep");
/// assert_eq!(sentence("5 ± 2 s"), "five plus or minus two seconds");
/// ```
pub fn sentence(text: &str) -> String {
    let signs: Vec<char> = text.chars().collect();
    let mut reader = Reader { signs: &signs, at: 0, out: String::new() };
    while reader.at < signs.len() {
        reader.step();
    }
    tidy(&reader.out)
}

struct Reader<'t> {
    signs: &'t [char],
    at: usize,
    out: String,
}

/// A number of the text with what belongs to it.
struct Amount {
    /// Its words without its unit.
    words: String,
    /// The unit as written; empty if there is none.
    unit: String,
    /// Whether its unit stands in the singular.
    number: Number,
    /// Words with the unit, where the two are said together, such as `a quarter inch`.
    together: Option<String>,
    /// Where it ends.
    end: usize,
}

impl Amount {
    fn in_full(&self) -> String {
        match &self.together {
            Some(together) => together.clone(),
            None => join(&self.words, &named(&self.unit, self.number).unwrap_or_default()),
        }
    }
}

fn join(words: &str, unit: &str) -> String {
    if unit.is_empty() { words.to_owned() } else { format!("{words} {unit}") }
}

impl Reader<'_> {
    fn sign(&self, at: usize) -> Option<char> {
        self.signs.get(at).copied()
    }

    fn is_digit(&self, at: usize) -> bool {
        self.sign(at).is_some_and(|sign| sign.is_ascii_digit())
    }

    fn skip_spaces(&self, mut at: usize) -> usize {
        while self.sign(at).is_some_and(char::is_whitespace) {
            at += 1;
        }
        at
    }

    /// The signs from `from` on as long as `belongs`.
    fn run(&self, from: usize, belongs: impl Fn(char) -> bool) -> String {
        self.signs.get(from..).unwrap_or(&[]).iter().copied().take_while(|sign| belongs(*sign)).collect()
    }

    fn last_word(&self) -> &str {
        self.out.trim_end().rsplit(|sign: char| !sign.is_alphanumeric()).next().unwrap_or_default()
    }

    /// Words of their own, parted from what stands before.
    fn put(&mut self, words: &str) {
        if !self.out.is_empty() && !self.out.ends_with(char::is_whitespace) {
            self.out.push(' ');
        }
        self.out.push_str(words);
        self.out.push(' ');
    }

    fn step(&mut self) {
        let Some(sign) = self.sign(self.at) else { return };
        let after_letter = self.at > 0 && self.sign(self.at - 1).is_some_and(char::is_alphanumeric);
        let starts_number =
            self.is_digit(self.at) || is_vulgar(sign) || (sign == '.' && !after_letter && self.is_digit(self.at + 1));
        if starts_number {
            self.number();
        } else if sign.is_alphabetic() {
            self.word();
        } else {
            self.symbol(sign, after_letter);
        }
    }

    // ------------------------------------------------------------------------------------------ words

    fn word(&mut self) {
        let word = self.run(self.at, |sign| sign.is_alphanumeric() || sign == '\'' || sign == '’');
        let whole_run = self.run(self.at, |sign| !sign.is_whitespace() && !",;:()?!".contains(sign));
        let unit = whole_run.trim_end_matches('.');
        let looks_like_unit = unit.contains('/') && unit.chars().any(|sign| "²³%°".contains(sign));
        if (UNIT_ALONE.contains(&unit) || looks_like_unit)
            && let Some(words) = named(unit, Number::Many)
        {
            self.at += unit.chars().count();
            return self.put(&words);
        }
        let before_number = |short: &str| self.is_digit(self.skip_spaces(self.at + short.len()));
        if let Some((short, long)) = SHORT_WORDS
            .iter()
            .find(|(short, _, needs)| whole_run == *short && (!needs || before_number(short)))
            .map(|(short, long, _)| (*short, *long))
        {
            self.at += short.len();
            return self.put(long);
        }
        self.at += word.chars().count();
        if whole_run.starts_with("No.") && self.is_digit(self.skip_spaces(self.at + 1)) {
            self.at += 1;
            return self.put("number");
        }
        let has_digit = word.chars().any(|sign| sign.is_ascii_digit());
        if !has_digit {
            for sign in word.chars() {
                self.out.push(if sign == '’' { '\'' } else { sign });
            }
            return;
        }
        // C173, C138M: letters and digits one by one.
        let mut parts = Vec::new();
        let mut letters = String::new();
        for sign in word.chars() {
            match sign.to_digit(10) {
                Some(_) => {
                    if !letters.is_empty() {
                        parts.push(std::mem::take(&mut letters));
                    }
                    parts.push(digits(&sign.to_string()));
                }
                None => letters.push(sign),
            }
        }
        if !letters.is_empty() {
            parts.push(letters);
        }
        self.put(&parts.join(" "));
        self.out.truncate(self.out.trim_end().len());
    }

    // ------------------------------------------------------------------------------------------ numbers

    fn number(&mut self) {
        if self.name() || self.date() || self.clock() {
            return;
        }
        let Some(first) = self.amount(self.at) else {
            // No number after all: its digits.
            let run = self.run(self.at, |sign| sign.is_ascii_digit() || sign == '.' || sign == ',');
            self.at += run.chars().count().max(1);
            let words = digits(&run);
            return self.put(&words);
        };
        let mut end = first.end;
        let mut said = self.ranged(&first, &mut end).unwrap_or_else(|| first.in_full());
        // 2 min 30 s
        let mut last = first;
        while let Some(next) = self.amount(self.skip_spaces(end)).filter(|next| is_smaller(&last.unit, &next.unit)) {
            end = next.end;
            said = format!("{said} {}", next.in_full());
            last = next;
        }
        // 28-day
        if self.sign(end) == Some('-') && self.sign(end + 1).is_some_and(char::is_alphabetic) {
            end += 1;
        }
        let is_followed = self.sign(end).is_some_and(char::is_alphanumeric);
        self.at = end;
        self.put(&said);
        if !is_followed {
            self.out.truncate(self.out.trim_end().len());
        }
    }

    /// Two numbers that belong together: a range, a tolerance, a size.
    fn ranged(&self, first: &Amount, end: &mut usize) -> Option<String> {
        let after = self.skip_spaces(first.end);
        let is_word_to = self.run(after, char::is_alphabetic) == "to" && after > first.end;
        let (between, next) = match self.sign(after)? {
            '–' | '-' if after == first.end => ("to", after + 1),
            '–' => ("to", after + 1),
            '±' => ("plus or minus", after + 1),
            '×' => ("by", after + 1),
            _ if is_word_to => ("to", after + 2),
            _ => return None,
        };
        let start = self.skip_spaces(next);
        // 3 s to -2 s is left to the signs.
        let second = self.amount(start)?;
        if between == "to" && !first.unit.is_empty() && !second.unit.is_empty() && first.unit != second.unit {
            return None;
        }
        let is_dash = !is_word_to && between == "to";
        if is_dash && first.unit.is_empty() && second.unit.is_empty() && !self.is_rising(first, &second) {
            *end = second.end;
            return Some(format!("{} dash {}", first.words, second.in_full()));
        }
        *end = second.end;
        // The unit is said once, after the second, unless only the first has one.
        let head =
            if first.unit.is_empty() || first.unit == second.unit { first.words.clone() } else { first.in_full() };
        Some(format!("{head} {between} {}", second.in_full()))
    }

    fn is_rising(&self, first: &Amount, second: &Amount) -> bool {
        let written = |end: usize| -> String {
            let mut start = end;
            while start > 0 && (self.is_digit(start - 1) || self.sign(start - 1) == Some('.')) {
                start -= 1;
            }
            self.signs.get(start..end).unwrap_or(&[]).iter().collect()
        };
        let value = |text: String| text.parse::<quantity::Decimal>().ok();
        match (value(written(first.end)), value(written(second.end))) {
            (Some(low), Some(high)) => low < high,
            _ => true,
        }
    }

    /// A number, its fraction and its unit.
    fn amount(&self, start: usize) -> Option<Amount> {
        let plain = self.run(start, |sign| sign.is_ascii_digit() || sign == '.' || sign == ',');
        let mut plain: &str = plain.trim_end_matches(['.', ',']);
        // A comma that parts no thousands ends the number.
        while !plain.is_empty() && Plain::read(plain).is_none() {
            plain = &plain[..plain.rfind([',', '.'])?];
            plain = plain.trim_end_matches(['.', ',']);
        }
        let (mut value, mut end) = (Plain::read(plain), start + plain.len());
        if plain.is_empty() {
            (value, end) = (None, start);
        }
        // 1/4, 1 1/2, ½, 1½
        let mut part = None;
        let is_whole = value.as_ref().is_none_or(|value| value.decimals.is_none());
        if let Some((above, below, after)) = self.parted(end).filter(|_| is_whole) {
            part = Some((above, below));
            end = after;
        } else if self.sign(end) == Some('/') && self.is_digit(end + 1) && is_whole && !plain.contains(',') {
            let below = self.run(end + 1, |sign| sign.is_ascii_digit());
            let after = end + 1 + below.len();
            if let (Ok(above), Ok(below)) = (plain.parse::<u64>(), below.parse::<u64>())
                && fraction(above, below).is_some()
            {
                part = Some((above, below));
                (value, end) = (None, after);
            }
        } else if value.is_some() && is_whole {
            let next = self.skip_spaces(end);
            let above = self.run(next, |sign| sign.is_ascii_digit());
            let stroke = next + above.len();
            if let Some((above, below, after)) = self.parted(next).filter(|_| next > end) {
                part = Some((above, below));
                end = after;
            } else if next > end && !above.is_empty() && self.sign(stroke) == Some('/') && self.is_digit(stroke + 1) {
                let below = self.run(stroke + 1, |sign| sign.is_ascii_digit());
                let after = stroke + 1 + below.len();
                if let (Ok(above), Ok(below)) = (above.parse::<u64>(), below.parse::<u64>())
                    && above < below
                    && fraction(above, below).is_some()
                {
                    part = Some((above, below));
                    end = after;
                }
            }
        }
        if value.is_none() && part.is_none() {
            return None;
        }
        let (unit, end) = self.unit(end);
        let number =
            if value.as_ref().is_some_and(Plain::is_one) && part.is_none() { Number::One } else { Number::Many };
        let (words, together) = match (value, part) {
            (value, Some((above, below))) => {
                let whole_part = value.and_then(|value| value.whole.parse().ok()).unwrap_or(0);
                let bare = mixed(whole_part, above, below, "")?;
                (bare, mixed(whole_part, above, below, &unit))
            }
            (Some(value), None) => (said(&value), None),
            (None, None) => return None,
        };
        Some(Amount { words, unit, number, together, end })
    }

    /// One sign that is a fraction.
    fn parted(&self, at: usize) -> Option<(u64, u64, usize)> {
        let (above, below) = match self.sign(at)? {
            '½' => (1, 2),
            '¼' => (1, 4),
            '¾' => (3, 4),
            '⅛' => (1, 8),
            '⅜' => (3, 8),
            '⅝' => (5, 8),
            '⅞' => (7, 8),
            '⅓' => (1, 3),
            '⅔' => (2, 3),
            _ => return None,
        };
        Some((above, below, at + 1))
    }

    /// The unit after a number that ends at `end`, and where it ends.
    fn unit(&self, end: usize) -> (String, usize) {
        let start = self.skip_spaces(end);
        let is_of_unit = |sign: char| sign.is_alphabetic() || sign.is_numeric() || "%°/·²³⁴⁵⁶⁷⁸⁹^".contains(sign);
        let mut run = self.run(start, is_of_unit);
        if run == "fl" && self.run(start, |sign| sign.is_alphabetic() || sign == ' ').starts_with("fl oz") {
            run = format!("fl oz{}", self.run(start + 5, is_of_unit));
        }
        let none = (String::new(), end);
        // 3in(: what follows a letter without a space is a unit too, but 3rd is none.
        if run.is_empty() || run.chars().all(|sign| sign.is_numeric()) {
            return none;
        }
        let after = start + run.chars().count();
        if run == "in" {
            let next = self.run(self.skip_spaces(after), char::is_alphabetic);
            if self.sign(after) == Some('-') || AFTER_THE_WORD_IN.contains(&next.as_str()) {
                return none;
            }
        }
        match named(&run, Number::Many) {
            Some(words) if !words.is_empty() => (run, after),
            _ => none,
        }
    }

    /// A number that is a name: ASTM C 173, EN 12350-7, T 121, 1st, No. 007.
    fn name(&mut self) -> bool {
        let run = self.run(self.at, |sign| sign.is_ascii_digit());
        let after = self.at + run.len();
        let ending = self.run(after, char::is_alphabetic);
        if ["st", "nd", "rd", "th"].contains(&ending.as_str())
            && let Ok(n) = run.parse::<u64>()
        {
            self.at = after + 2;
            self.put(&ordinal(n));
            self.out.truncate(self.out.trim_end().len());
            return true;
        }
        let before = self.last_word();
        let is_letter =
            before.chars().count() == 1 && before.chars().all(char::is_uppercase) && !["A", "I"].contains(&before);
        let is_joined = self.out.ends_with(char::is_whitespace) || self.out.ends_with('-') || self.out.ends_with(':');
        let is_after_name = is_joined && (NAMES.contains(&before) || is_letter);
        let is_name = !run.is_empty() && (is_after_name || run.len() >= 6);
        let is_decimal = self.sign(after).is_some_and(|sign| sign == '.' || sign == ',') && self.is_digit(after + 1);
        if !is_name || is_decimal || !self.unit(after).0.is_empty() {
            return false;
        }
        self.at = after;
        self.put(&digits(&run));
        // 12350-7: its part; M 46-01.48 and 309M go on with the next sign.
        if self.sign(self.at) == Some('-') && self.is_digit(self.at + 1) {
            self.at += 1;
            let part = self.run(self.at, |sign| sign.is_ascii_digit());
            self.at += part.len();
            self.put(&format!("dash {}", digits(&part)));
        }
        // T 121:2016: its year.
        if self.sign(self.at) == Some(':') && self.is_digit(self.at + 1) {
            self.at += 1;
            let year = self.run(self.at, |sign| sign.is_ascii_digit());
            self.at += year.len();
            let said = year.parse().ok().filter(|_| year.len() == 4).map_or_else(|| digits(&year), said_year);
            self.out.truncate(self.out.trim_end().len());
            self.put(&format!(", {said}"));
        }
        self.out.truncate(self.out.trim_end().len());
        if self.sign(self.at).is_some_and(char::is_alphabetic) {
            self.out.push(' ');
        }
        true
    }

    /// 2026-05-14.
    fn date(&mut self) -> bool {
        let run = self.run(self.at, |sign| sign.is_ascii_digit() || sign == '-');
        let mut parts = run.split('-');
        let (Some(year), Some(month), Some(day), None) = (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return false;
        };
        if (year.len(), month.len(), day.len()) != (4, 2, 2) {
            return false;
        }
        let (Ok(year), Ok(month), Ok(day)) = (year.parse::<u64>(), month.parse::<usize>(), day.parse::<u64>()) else {
            return false;
        };
        let Some(month) = month.checked_sub(1).and_then(|month| MONTHS.get(month)).filter(|_| (1..=31).contains(&day))
        else {
            return false;
        };
        self.at += run.len();
        self.put(&format!("{month} {}, {}", ordinal(day), said_year(year)));
        self.out.truncate(self.out.trim_end().len());
        true
    }

    /// 2:30 is a span; 07:30, and 2:30 after `at`, are times of day.
    fn clock(&mut self) -> bool {
        let run = self.run(self.at, |sign| sign.is_ascii_digit() || sign == ':');
        let run = run.trim_end_matches(':');
        let parts: Vec<&str> = run.split(':').collect();
        if !(2..=3).contains(&parts.len())
            || parts.iter().skip(1).any(|part| part.len() != 2)
            || parts.first().is_none_or(|first| first.is_empty() || first.len() > 3)
        {
            return false;
        }
        let Some(numbers) = parts.iter().map(|part| part.parse::<u64>().ok()).collect::<Option<Vec<u64>>>() else {
            return false;
        };
        if numbers.iter().skip(1).any(|number| *number >= 60) {
            return false;
        }
        let before = self.last_word().to_lowercase();
        let is_named = BEFORE_A_TIME.contains(&before.as_str());
        let is_padded = parts.first().is_some_and(|first| first.len() == 2 && first.starts_with('0'));
        let words = match numbers.as_slice() {
            [hour, minute] | [hour, minute, _] if *hour < 24 && (is_named || is_padded) => said_time(*hour, *minute),
            [minutes, seconds] => super::span(Span::from_secs(minutes * 60 + seconds)),
            [hours, minutes, seconds] => super::span(Span::from_secs(hours * 3_600 + minutes * 60 + seconds)),
            _ => return false,
        };
        self.at += run.len();
        self.put(&words);
        self.out.truncate(self.out.trim_end().len());
        true
    }

    // ------------------------------------------------------------------------------------------ signs

    fn symbol(&mut self, sign: char, after_letter: bool) {
        let next = self.sign(self.at + 1);
        let before_digit = next.is_some_and(|next| next.is_ascii_digit() || is_vulgar(next));
        if sign == '°' {
            let unit: String = self.run(self.at, |sign| sign == '°' || sign.is_alphabetic());
            let (unit, words) = match named(&unit, Number::Many) {
                Some(words) => (unit, words),
                None => ("°".to_owned(), "degrees".to_owned()),
            };
            self.at += unit.chars().count();
            return self.put(&words);
        }
        self.at += 1;
        match sign {
            sign if sign.is_whitespace() => self.out.push(' '),
            '.' | ',' | '?' | '!' => self.out.push(sign),
            '\'' | '’' => {
                if after_letter && next.is_some_and(char::is_alphabetic) {
                    self.out.push('\'');
                }
            }
            '-' | '−' if !after_letter && before_digit => self.put("minus"),
            '-' | '‑' if after_letter && next.is_some_and(char::is_alphabetic) => self.out.push('-'),
            '-' | '‑' if after_letter && before_digit => self.out.push(' '),
            '-' | '–' | '—' | '−' | ';' | ':' | '(' | ')' | '[' | ']' | '{' | '}' | '…' | '“' | '”' | '„' | '"'
            | '|' | '→' => self.pause(sign, after_letter, next),
            '/' => {
                let is_joined = after_letter && next.is_some_and(char::is_alphabetic);
                let is_name = self.out.ends_with(char::is_uppercase) || self.last_word_is_digits();
                if is_joined && self.last_word() == "and" {
                    self.out.push(' ');
                } else if is_joined && !is_name {
                    self.put("or");
                } else {
                    self.out.push_str(", ");
                }
            }
            '%' => self.put("percent"),
            '±' => self.put("plus or minus"),
            '+' => self.put("plus"),
            '=' => self.put("equals"),
            '<' => self.put("under"),
            '>' => self.put("over"),
            '≤' => self.put("at most"),
            '≥' => self.put("at least"),
            '×' => self.put("times"),
            '÷' => self.put("divided by"),
            '&' => self.put("and"),
            '@' => self.put("at"),
            '#' if before_digit => self.put("number"),
            '§' => self.put("section"),
            '²' => self.put("squared"),
            '³' => self.put("cubed"),
            '·' if after_letter => self.out.push_str(", "),
            _ => self.out.push(' '),
        }
    }

    fn last_word_is_digits(&self) -> bool {
        const DIGITS: [&str; 10] = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
        DIGITS.contains(&self.last_word())
    }

    /// A pause: a comma, or nothing inside a word.
    fn pause(&mut self, sign: char, after_letter: bool, next: Option<char>) {
        let is_quote = "“”„\"".contains(sign);
        let is_inside = after_letter && next.is_some_and(char::is_alphanumeric) && "()[]{}".contains(sign);
        self.out.push_str(if is_quote || is_inside { " " } else { ", " });
    }
}

fn is_vulgar(sign: char) -> bool {
    "½¼¾⅛⅜⅝⅞⅓⅔".contains(sign)
}

/// The next unit of one span of time.
fn is_smaller(unit: &str, next: &str) -> bool {
    const SPANS: [&str; 5] = ["d", "h", "min", "s", "ms"];
    let place = |unit: &str| SPANS.iter().position(|span| *span == unit);
    match (place(unit), place(next)) {
        (Some(unit), Some(next)) => unit < next,
        _ => false,
    }
}

/// `fourteen oh five`, `seven thirty`, `noon` is no word of a record: `twelve o'clock`.
fn said_time(hour: u64, minute: u64) -> String {
    match minute {
        0 => format!("{} o'clock", whole(hour)),
        1..10 => format!("{} oh {}", whole(hour), whole(minute)),
        _ => format!("{} {}", whole(hour), whole(minute)),
    }
}

/// `twenty twenty-six`, `two thousand five`, `nineteen ninety-eight`.
fn said_year(year: u64) -> String {
    match (year / 100, year % 100) {
        (20, rest) if rest < 10 => whole(year),
        (century @ 10..100, 0) => format!("{} hundred", whole(century)),
        (century @ 10..100, rest @ 1..10) => format!("{} oh {}", whole(century), whole(rest)),
        (century @ 10..100, rest) => format!("{} {}", whole(century), whole(rest)),
        _ => whole(year),
    }
}

/// Spaces and pauses put in order; what is no letter and no mark of a sentence is gone.
fn tidy(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let signs: Vec<char> = text.chars().collect();
    for (at, sign) in signs.iter().copied().enumerate() {
        let before = at.checked_sub(1).and_then(|at| signs.get(at)).copied();
        let next = signs.get(at + 1).copied();
        let is_between = before.is_some_and(char::is_alphabetic) && next.is_some_and(char::is_alphabetic);
        match sign {
            sign if sign.is_alphabetic() => out.push(sign),
            '\'' | '-' if is_between => out.push(sign),
            ',' | '.' | '?' | '!' => {
                let kept = out.trim_end();
                let last = kept.chars().next_back();
                out.truncate(kept.len());
                match last {
                    // A stronger mark stands for the weaker one beside it.
                    Some(',') if sign != ',' => {
                        out.pop();
                        out.push(sign);
                    }
                    Some(',' | '.' | '?' | '!') | None => {}
                    Some(_) => out.push(sign),
                }
                if !out.is_empty() {
                    out.push(' ');
                }
            }
            _ => {
                if !out.is_empty() && !out.ends_with(' ') {
                    out.push(' ');
                }
            }
        }
    }
    let kept = out.trim_end().trim_end_matches(',').trim_end();
    kept.to_owned()
}

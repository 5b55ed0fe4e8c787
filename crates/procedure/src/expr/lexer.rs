//! Words, numbers and signs.
//!
//! A sign of another language (`&&`, `=`, `≤`) is a fault that names the right one, and is read as it was meant, so
//! that the rest of the expression is looked at too. What names stand for is not known here.

use super::{Fault, MOST_DIGITS, Op};
use quantity::{Exact, Unit};
use std::ops::Range;

/// One word, number or sign.
#[derive(Clone, Debug)]
pub(super) struct Token<'s> {
    pub what: Word<'s>,
    pub at: Range<usize>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Word<'s> {
    /// A number, a time already in seconds, and the unit as it is written behind it.
    Number {
        value: Exact,
        unit: Unit,
        written: &'s str,
    },
    Name(&'s str),
    Sign(Op),
    If,
    Then,
    Else,
    Not,
    True,
    False,
    Open,
    Close,
    Comma,
    /// Something that was faulted and has no meaning.
    Bad,
}

pub(super) fn keyword(word: &str) -> Option<Word<'static>> {
    Some(match word {
        "if" => Word::If,
        "then" => Word::Then,
        "else" => Word::Else,
        "not" => Word::Not,
        "and" => Word::Sign(Op::And),
        "or" => Word::Sign(Op::Or),
        "true" => Word::True,
        "false" => Word::False,
        _ => return None,
    })
}

/// Signs as they are written, and as they are not, longest first: what is meant, and the right way to write it.
const SIGNS: &[(&str, Word<'static>, Option<&str>)] = &[
    ("===", Word::Sign(Op::Equal), Some("==")),
    ("!==", Word::Sign(Op::NotEqual), Some("!=")),
    ("<=", Word::Sign(Op::AtMost), None),
    (">=", Word::Sign(Op::AtLeast), None),
    ("==", Word::Sign(Op::Equal), None),
    ("!=", Word::Sign(Op::NotEqual), None),
    ("=<", Word::Sign(Op::AtMost), Some("<=")),
    ("=>", Word::Sign(Op::AtLeast), Some(">=")),
    ("<>", Word::Sign(Op::NotEqual), Some("!=")),
    ("=!", Word::Sign(Op::NotEqual), Some("!=")),
    ("&&", Word::Sign(Op::And), Some("and")),
    ("||", Word::Sign(Op::Or), Some("or")),
    (":=", Word::Sign(Op::Equal), Some("==")),
    ("=", Word::Sign(Op::Equal), Some("==")),
    ("&", Word::Sign(Op::And), Some("and")),
    ("|", Word::Sign(Op::Or), Some("or")),
    ("!", Word::Not, Some("not")),
    ("~", Word::Not, Some("not")),
    ("∧", Word::Sign(Op::And), Some("and")),
    ("∨", Word::Sign(Op::Or), Some("or")),
    ("¬", Word::Not, Some("not")),
    ("≤", Word::Sign(Op::AtMost), Some("<=")),
    ("≥", Word::Sign(Op::AtLeast), Some(">=")),
    ("≠", Word::Sign(Op::NotEqual), Some("!=")),
    ("×", Word::Sign(Op::Multiply), Some("*")),
    ("·", Word::Sign(Op::Multiply), Some("*")),
    ("÷", Word::Sign(Op::Divide), Some("/")),
    ("−", Word::Sign(Op::Subtract), Some("-")),
    ("–", Word::Sign(Op::Subtract), Some("-")),
    ("<", Word::Sign(Op::Less), None),
    (">", Word::Sign(Op::More), None),
    ("+", Word::Sign(Op::Add), None),
    ("-", Word::Sign(Op::Subtract), None),
    ("*", Word::Sign(Op::Multiply), None),
    ("/", Word::Sign(Op::Divide), None),
    ("(", Word::Open, None),
    (")", Word::Close, None),
    (",", Word::Comma, None),
    ("[", Word::Open, Some("(")),
    ("]", Word::Close, Some(")")),
    ("{", Word::Open, Some("(")),
    ("}", Word::Close, Some(")")),
];

/// Units people write in other words, and the symbol that is meant.
const OTHER_WORDS: &[(&str, &str)] = &[
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("percent", "%"),
    ("pint", "pt"),
    ("pints", "pt"),
    ("inch", "in"),
    ("inches", "in"),
    ("liter", "L"),
    ("litre", "L"),
    ("liters", "L"),
    ("litres", "L"),
    ("l", "L"),
    ("ml", "mL"),
    ("ounce", "oz"),
    ("ounces", "oz"),
];

/// Splits `src`; what does not belong is added to `faults`.
pub(super) fn lex<'s>(src: &'s str, faults: &mut Vec<Fault>) -> Vec<Token<'s>> {
    let mut lexer = Lexer { src, at: 0, faults, tokens: Vec::new() };
    while let Some(next) = lexer.rest().chars().next() {
        lexer.one(next);
    }
    lexer.tokens
}

struct Lexer<'s, 'f> {
    src: &'s str,
    at: usize,
    faults: &'f mut Vec<Fault>,
    tokens: Vec<Token<'s>>,
}

impl<'s> Lexer<'s, '_> {
    fn rest(&self) -> &'s str {
        &self.src[self.at..]
    }

    /// The longest run from here of characters that belong, in bytes.
    fn run(&self, belongs: impl Fn(char) -> bool) -> usize {
        run_of(self.rest(), belongs)
    }

    fn push(&mut self, what: Word<'s>, n_bytes: usize) -> Range<usize> {
        let at = self.at..self.at + n_bytes;
        self.at = at.end;
        self.tokens.push(Token { what, at: at.clone() });
        at
    }

    fn one(&mut self, next: char) {
        if next.is_whitespace() {
            self.at += next.len_utf8();
        } else if next.is_ascii_digit() || (next == '.' && starts_with_digit(&self.rest()[1..])) {
            self.number();
        } else if next.is_alphabetic() || next == '_' {
            self.name();
        } else if !self.sign() {
            self.stranger(next);
        }
    }

    fn name(&mut self) {
        let n_bytes = self.run(is_name_char);
        let word = &self.rest()[..n_bytes];
        if let Some(keyword) = keyword(word) {
            self.push(keyword, n_bytes);
            return;
        }
        let lower = word.to_ascii_lowercase();
        match keyword(&lower) {
            Some(keyword) => {
                let at = self.push(keyword, n_bytes);
                self.faults.push(
                    Fault::new(
                        at,
                        "not-a-sign",
                        format!("`{word}` is written in small letters"),
                        "capitals stand here",
                    )
                    .help(format!("write `{lower}`")),
                );
            }
            None => {
                self.push(Word::Name(word), n_bytes);
            }
        }
    }

    fn sign(&mut self) -> bool {
        let rest = self.rest();
        if rest.starts_with("**") {
            let at = self.push(Word::Bad, 2);
            self.no_powers(at);
            return true;
        }
        let Some((written, what, right)) = SIGNS.iter().find(|(written, ..)| rest.starts_with(written)) else {
            return false;
        };
        if *written == "="
            && let Some(Token { what: last @ Word::Sign(Op::Less | Op::More), at }) = self.tokens.last_mut()
        {
            let (sign, op) = if *last == Word::Sign(Op::Less) { ("<=", Op::AtMost) } else { (">=", Op::AtLeast) };
            *last = Word::Sign(op);
            at.end = self.at + written.len();
            self.at = at.end;
            self.faults.push(
                Fault::new(at.clone(), "not-a-sign", format!("`{sign}` is one sign"), "a space stands inside")
                    .help(format!("write `{sign}` without a space")),
            );
            return true;
        }
        let at = self.push(what.clone(), written.len());
        if let Some(right) = right {
            self.faults.push(
                Fault::new(at, "not-a-sign", format!("`{written}` is not a sign of this language"), "not understood")
                    .help(format!("write `{right}`")),
            );
        }
        true
    }

    fn no_powers(&mut self, at: Range<usize>) {
        self.faults.push(
            Fault::new(at, "not-a-sign", "there is no sign for powers", "not understood")
                .help("multiply the number by itself: `x * x`"),
        );
    }

    /// A character that begins nothing.
    fn stranger(&mut self, next: char) {
        match next {
            '"' | '\'' | '`' | '“' | '”' | '‘' | '’' => self.quoted(next),
            '^' | '²' | '³' => {
                let at = self.push(Word::Bad, next.len_utf8());
                self.no_powers(at);
            }
            '%' => {
                let at = self.push(Word::Bad, 1);
                self.faults.push(
                    Fault::new(at, "not-a-sign", "`%` stands only behind a number", "no number before it").help(
                        "write a percentage as `2 %`; a reading brings its unit along; there is no remainder sign",
                    ),
                );
            }
            '?' | ':' => {
                let at = self.push(Word::Bad, 1);
                self.faults.push(
                    Fault::new(at, "not-a-sign", format!("`{next}` is not a sign of this language"), "not understood")
                        .help("a choice between two is written `if c then a else b`"),
                );
            }
            '½' | '¼' | '¾' => {
                let (value, decimal) = match next {
                    '½' => (Exact::ratio(1, 2), "0.5"),
                    '¼' => (Exact::ratio(1, 4), "0.25"),
                    _ => (Exact::ratio(3, 4), "0.75"),
                };
                let value = value.unwrap_or_else(|| Exact::from(1));
                let at = self.at..self.at + next.len_utf8();
                self.faults.push(
                    Fault::new(at.clone(), "bad-number", format!("`{next}` is not a number here"), "not a decimal")
                        .help(format!("write it as a decimal: `{decimal}`")),
                );
                self.unit_behind(at.start, at.end, value);
            }
            _ => {
                let strange = |c: char| !(c.is_alphanumeric() || c.is_whitespace() || c.is_ascii_punctuation());
                let n_bytes = self.run(strange).max(next.len_utf8());
                let written = self.rest()[..n_bytes].escape_debug().to_string();
                let at = self.push(Word::Bad, n_bytes);
                self.faults.push(Fault::new(
                    at,
                    "not-a-sign",
                    format!("`{written}` has no meaning in an expression"),
                    "not understood",
                ));
            }
        }
    }

    fn quoted(&mut self, quote: char) {
        let closes = match quote {
            '“' => '”',
            '‘' => '’',
            other => other,
        };
        let inside = &self.rest()[quote.len_utf8()..];
        let length = inside.find(closes).unwrap_or(inside.len());
        let word = &inside[..length];
        let n_bytes = (quote.len_utf8() + length + closes.len_utf8()).min(self.rest().len());
        let is_name = word.starts_with(|c: char| c.is_ascii_lowercase()) && word.chars().all(is_name_char);
        let what = if is_name && keyword(word).is_none() { Word::Name(word) } else { Word::Bad };
        let at = self.push(what, n_bytes);
        self.faults.push(
            Fault::new(at, "quoted", "nothing is written in quotes here", "quoted")
                .help("names and answers stand without quotes, as in `heard == no`"),
        );
    }

    fn number(&mut self) {
        let from = self.at;
        let whole = self.run(|c| c.is_ascii_digit());
        let mut end = from + whole;
        let mut decimals = 0;
        if self.src[end..].starts_with('.') {
            decimals = run_of(&self.src[end + 1..], |c| c.is_ascii_digit());
            end += 1 + decimals;
        }
        let digits = &self.src[from..end];
        let more = run_of(&self.src[end..], |c| c.is_ascii_digit() || c == '.');
        if self.src[end..].starts_with('.') {
            let written = &self.src[from..end + more];
            let at = self.push(Word::Bad, written.len());
            self.faults.push(Fault::new(
                at,
                "bad-number",
                format!("`{}` is not a number", short(written)),
                "more than one decimal point",
            ));
            return;
        }
        let mut value = Exact::from(1);
        if whole + decimals > MOST_DIGITS {
            self.faults.push(
                Fault::new(
                    from..end,
                    "bad-number",
                    format!("this number has {} digits", whole + decimals),
                    format!("more than {MOST_DIGITS} digits"),
                )
                .help("no instrument reads that many: shorten it"),
            );
        } else if whole == 0 || (decimals == 0 && digits.ends_with('.')) {
            let (side, right) = if whole == 0 {
                ("before", format!("0{digits}"))
            } else {
                ("after", digits.trim_end_matches('.').to_owned())
            };
            self.faults.push(
                Fault::new(
                    from..end,
                    "bad-number",
                    format!("a digit is missing {side} the decimal point"),
                    "half a number",
                )
                .help(format!("write `{right}`")),
            );
            value = right.parse().unwrap_or(value);
        } else {
            value = digits.parse().unwrap_or(value);
        }
        self.unit_behind(from, end, value);
    }

    /// The unit directly behind a number that ends at `end`, and the number with it.
    fn unit_behind(&mut self, from: usize, end: usize, value: Exact) {
        let space = run_of(&self.src[end..], char::is_whitespace);
        let begins = end + space;
        let run = unit_run(&self.src[begins..]);
        let word = &self.src[begins..begins + run_of(&self.src[begins..], is_name_char)];
        let called = !word.is_empty() && self.src[begins + word.len()..].starts_with('(');
        let none = Word::Number { value: value.clone(), unit: Unit::NONE, written: "" };
        if run == 0 || called || keyword(&word.to_ascii_lowercase()).is_some() {
            self.push(none, end - from);
            return;
        }
        for length in unit_lengths(&self.src[begins..], run) {
            let written = &self.src[begins..begins + length];
            let (value, unit) = match (in_seconds(written), Unit::parse(written)) {
                (Some(seconds), _) => (&value * &Exact::from(seconds), Unit::parse("s").unwrap_or(Unit::NONE)),
                (None, Ok(unit)) if unit != Unit::NONE => (value.clone(), unit),
                _ => continue,
            };
            self.push(Word::Number { value, unit, written }, begins + length - from);
            return;
        }
        let written = &self.src[begins..begins + run];
        let number = &self.src[from..end];
        self.push(Word::Bad, begins + run - from);
        self.faults.push(not_a_unit(number, written, space == 0, begins..begins + run));
    }
}

fn not_a_unit(number: &str, written: &str, joined: bool, at: Range<usize>) -> Fault {
    let exponent = written.strip_prefix(['e', 'E']);
    if joined && exponent.is_some_and(|digits| digits.bytes().all(|digit| digit.is_ascii_digit())) {
        return Fault::new(at, "bad-number", "powers of ten are not written here", "not understood")
            .help("write the number out in full");
    }
    if joined && written.starts_with('_') {
        return Fault::new(at, "bad-number", "a number is written in digits only", "not a digit")
            .help("leave out the `_`");
    }
    let title = format!("`{}` is not a unit", short(written));
    let known =
        OTHER_WORDS.iter().find(|(word, _)| *word == written.to_lowercase()).map(|(_, unit)| (*unit).to_owned());
    let nearest = known.or_else(|| Unit::parse(written).err().and_then(|fault| fault.nearest));
    let fault = Fault::new(at, "unknown-unit", title, "not known as a unit");
    match nearest {
        Some(unit) => fault.help(format!("did you mean `{number} {unit}`?")),
        None => {
            let written = short(written);
            fault.help(format!("if `{written}` is a name, put `*` or another sign before it: `{number} * {written}`"))
        }
    }
}

/// A text cut to what fits a message.
pub(super) fn short(text: &str) -> String {
    let shown: String = text.chars().take(24).collect();
    if shown.len() == text.len() { shown } else { format!("{shown}…") }
}

/// How many seconds a unit of time holds.
fn in_seconds(unit: &str) -> Option<i64> {
    match unit {
        "s" => Some(1),
        "min" => Some(60),
        "h" => Some(3600),
        _ => None,
    }
}

fn is_name_char(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn starts_with_digit(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
}

fn run_of(text: &str, belongs: impl Fn(char) -> bool) -> usize {
    text.find(|c| !belongs(c)).unwrap_or(text.len())
}

/// How far something that looks like a unit reaches: `lb/ft³`, `%/cup`; a `/` only with a unit behind it.
fn unit_run(text: &str) -> usize {
    let begins = |c: char| c.is_alphabetic() || matches!(c, '%' | '°' | '_');
    let mut end = 0;
    loop {
        let part = &text[end..];
        if !part.starts_with(begins) {
            // The stroke before it, if there was one, divides.
            return end.saturating_sub(usize::from(end > 0));
        }
        end += run_of(part, |c| begins(c) || c.is_alphanumeric() || matches!(c, '^' | '⁻' | '·'));
        if !text[end..].starts_with('/') {
            return end;
        }
        end += 1;
    }
}

/// The lengths at which a unit may end, longest first: the whole run, one word more for `fl oz`, or before a stroke.
fn unit_lengths(text: &str, run: usize) -> Vec<usize> {
    let mut lengths = Vec::new();
    let last_word = text[..run].rsplit('/').next().unwrap_or_default();
    for symbol in Unit::all_symbols() {
        if let Some((first, second)) = symbol.split_once(' ')
            && first == last_word
        {
            let behind = &text[run..];
            let space = run_of(behind, |c| c == ' ');
            if space == 1 && behind[1..].starts_with(second) {
                lengths.push(run + 1 + unit_run(&behind[1..]));
                lengths.push(run + 1 + second.len());
            }
        }
    }
    lengths.push(run);
    lengths.extend(text[..run].rmatch_indices('/').map(|(at, _)| at));
    lengths
}

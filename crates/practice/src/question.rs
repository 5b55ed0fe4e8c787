//! A question, and how a try at it is judged.
//!
//! Here: the question as it is shown, reading what was typed, the verdict. Not here: which questions there are
//! ([`crate::deck`]) and when they are asked.
//!
//! **Invariant:** of the choices exactly one is right, and no two read the same. A number is judged exactly.

use quantity::{Exact, Span, Unit, parse_typed};
use serde::{Deserialize, Serialize};

use crate::help::Help;

/// A question, ready to be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// The key of the item.
    pub item: String,
    /// The method in words.
    pub method: String,
    /// The help given.
    pub help: Help,
    /// The stage, where it is told.
    pub stage: Option<String>,
    /// The acts just done, the last one last, where they are told.
    pub after: Vec<String>,
    /// What is chosen or known by now, where the answer rests on it, such as `How is it consolidated?: Rod`.
    pub given: Vec<String>,
    /// The act, prompt or limit the question is about, with its numbers left open.
    pub about: Option<String>,
    /// The question itself.
    pub prompt: String,
    /// What is answered.
    pub form: Form,
    /// The whole right answer, for after the try.
    pub(crate) right_answer: String,
    /// The procedure's own reason, for after the try.
    pub(crate) because: String,
    /// Where the figures come from.
    pub(crate) sources: Vec<String>,
}

/// What is answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// One of several.
    Choices(Vec<Choice>),
    /// A number, typed; shown is the unit beside the field.
    Number(Number),
}

/// One of several answers. Whether it is right is not to be seen before the try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// What it reads.
    pub text: String,
    pub(crate) wrong: Option<Wrong>,
}

/// Why a choice is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wrong {
    pub slip: Slip,
    pub because: String,
}

/// A number that is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// The unit beside the field: `strokes`, `s`, `%`.
    pub unit: String,
    pub(crate) is: Figure,
}

/// A figure of a procedure that can be asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Figure {
    /// A count.
    Count { n: u32, of: String },
    /// A time.
    Time(Span),
    /// An amount.
    Amount { value: Exact, unit: Unit },
}

/// A try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// The choice at this place.
    Choice(usize),
    /// A number, as [`Question::read`] reads it.
    Number(Given),
    /// "I don't know": wrong, and no slip.
    NotKnown,
}

/// A number that was typed, read in the unit of the question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given(pub(crate) Exact);

impl Given {
    /// As a person reads it, in the unit of its question.
    pub fn show(&self, question: &Question) -> String {
        let Form::Number(number) = &question.form else { return self.0.show_short() };
        match &number.is {
            Figure::Time(_) => self.0.to_u64().map_or_else(|| self.0.show_short(), |ms| Span(ms).to_string()),
            _ => format!("{} {}", self.0.show_short(), number.unit).trim_end().to_owned(),
        }
    }
}

/// What kind of slip a wrong try was.
///
/// | chosen | slip |
/// | --- | --- |
/// | a later act the procedure itself says comes too soon here (it has `too_soon`) | `Reversed` |
/// | a later act of the same stage, or the first one of the next stage | `Skipped` |
/// | an act done before | `Repeated` |
/// | the slip that belongs to another act | `UsualSlip` |
/// | any other act | `OtherAct` |
/// | a number that is not the one | `WrongNumber` |
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Slip {
    /// The act that was due is left out.
    Skipped,
    /// A later act is done before it.
    Reversed,
    /// An earlier act is done again.
    Repeated,
    /// The usual slip at this act is not known.
    UsualSlip,
    /// An act that does not belong here.
    OtherAct,
    /// Another number.
    WrongNumber,
}

impl Slip {
    /// The slip in a word or two, for a person.
    pub fn words(self) -> &'static str {
        match self {
            Slip::Skipped => "skipped",
            Slip::Reversed => "reversed",
            Slip::Repeated => "repeated",
            Slip::UsualSlip => "usual slip not known",
            Slip::OtherAct => "another act",
            Slip::WrongNumber => "wrong number",
        }
    }
}

/// The verdict on a try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Whether it was right.
    pub right: bool,
    /// What kind of slip it was, where one can be told.
    pub slip: Option<Slip>,
    /// The procedure's own reason.
    pub because: String,
    /// The whole right answer.
    pub right_answer: String,
    /// Where the figures come from.
    pub sources: Vec<String>,
}

/// Why what was typed is no answer yet. It is no try: it is typed again.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAnAnswer {
    /// It could not be read.
    #[error("{typed:?} cannot be read as a number of {unit}: type it as {example}")]
    Unreadable {
        /// What was typed.
        typed: String,
        /// The unit asked for.
        unit: String,
        /// A number as it can be typed. It is never the answer.
        example: String,
    },
    /// It was given in another unit.
    #[error("it is asked in {unit}, and nothing is converted: type it in {unit}")]
    OtherUnit {
        /// The unit asked for.
        unit: String,
    },
    /// One of the choices is asked for, not a number.
    #[error("choose one of the answers")]
    NotANumber,
}

impl Question {
    /// Reads a typed number: with the unit or without it, a time also as `2:30` or `2 min 30 s`.
    ///
    /// # Errors
    ///
    /// [`NotAnAnswer`]: what was typed is no number, or is in another unit. Nobody has given a wrong answer then.
    pub fn read(&self, typed: &str) -> Result<Answer, NotAnAnswer> {
        let Form::Number(number) = &self.form else { return Err(NotAnAnswer::NotANumber) };
        number.read(typed).map(|given| Answer::Number(Given(given)))
    }

    /// The choices, if it has any.
    pub fn choices(&self) -> &[Choice] {
        match &self.form {
            Form::Choices(choices) => choices,
            Form::Number(_) => &[],
        }
    }
}

/// Judges a try.
///
/// ```
/// # use practice::{Answer, Deck, Help, judge};
/// # let text = include_str!("../../../procedures/slump.toml");
/// # let procedure = procedure::check("slump.toml", text).procedure.unwrap();
/// # let deck = Deck::of(procedure.edition(quantity::System::InchPound).unwrap());
/// let item = deck.find("slump/lift#most").unwrap();
/// let question = deck.question(item, Help::Nothing, true, 7);
/// assert_eq!(question.prompt, "How long, at most?");
/// assert!(judge(&question, &question.read("7 s").unwrap()).right);
/// assert!(judge(&question, &question.read("7").unwrap()).right);
/// assert!(!judge(&question, &question.read("10").unwrap()).right);
/// assert!(question.read("seven").is_err(), "no number, so no wrong answer either");
/// # let _ = Answer::NotKnown;
/// ```
pub fn judge(question: &Question, answer: &Answer) -> Judged {
    let right_answer = question.right_answer.clone();
    let sources = question.sources.clone();
    let own = || question.because.clone();
    let (right, slip, because) = match (&question.form, answer) {
        (Form::Choices(choices), Answer::Choice(at)) => match choices.get(*at) {
            Some(Choice { wrong: None, .. }) => (true, None, own()),
            Some(Choice { wrong: Some(wrong), .. }) => (false, Some(wrong.slip), wrong.because.clone()),
            None => (false, None, own()),
        },
        (Form::Number(number), Answer::Number(given)) => {
            let right = given.0 == number.is.exact();
            (right, (!right).then_some(Slip::WrongNumber), own())
        }
        _ => (false, None, own()),
    };
    Judged { right, slip, because, right_answer, sources }
}

const MS_PER_S: u64 = 1_000;

impl Figure {
    /// The number in the unit of [`Figure::unit`].
    fn exact(&self) -> Exact {
        match self {
            Figure::Count { n, .. } => Exact::from_int(i64::from(*n)),
            Figure::Time(span) => ms(*span),
            Figure::Amount { value, .. } => value.clone(),
        }
    }

    /// The unit beside the field. For a time it is the largest that gives a whole number.
    pub fn unit(&self) -> String {
        match self {
            Figure::Count { of, .. } => of.clone(),
            Figure::Time(span) => time_unit(*span).0.to_owned(),
            Figure::Amount { unit, .. } => unit.symbol(),
        }
    }

    /// As a person reads it: `25 strokes`, `2 min 30 s`, `0.25 %`.
    pub fn show(&self) -> String {
        match self {
            Figure::Count { n, of } => format!("{n} {of}"),
            Figure::Time(span) => span.to_string(),
            Figure::Amount { value, unit } => quantity::Quantity::new(value.clone(), *unit).to_string(),
        }
    }

    /// The number where it is a small whole one.
    pub fn whole(&self) -> Option<u32> {
        match self {
            Figure::Count { n, .. } => Some(*n),
            Figure::Time(span) => u32::try_from(span.0 / time_unit(*span).1).ok(),
            Figure::Amount { value, .. } => value.to_u64().and_then(|n| u32::try_from(n).ok()),
        }
    }
}

fn ms(span: Span) -> Exact {
    i64::try_from(span.0).map_or_else(|_| Exact::from_int(i64::MAX), Exact::from_int)
}

fn time_unit(span: Span) -> (&'static str, u64) {
    let units = [("d", 86_400 * MS_PER_S), ("h", 3_600 * MS_PER_S), ("min", 60 * MS_PER_S)];
    // "24 h" is how the trade says it; days count from two on.
    let fits =
        |(name, ms): &&(&str, u64)| span.0.is_multiple_of(*ms) && span.0 >= if *name == "d" { 2 * ms } else { *ms };
    units.iter().find(fits).copied().unwrap_or(("s", MS_PER_S))
}

impl Number {
    pub(crate) fn of(is: Figure) -> Self {
        Self { unit: is.unit(), is }
    }

    fn read(&self, typed: &str) -> Result<Exact, NotAnAnswer> {
        let typed = typed.trim();
        let unreadable = || NotAnAnswer::Unreadable {
            typed: typed.chars().take(40).collect(),
            unit: if self.unit.is_empty() { "the question".to_owned() } else { self.unit.clone() },
            example: self.example(),
        };
        let split = typed.find(|c: char| c.is_alphabetic() || "%°'\"".contains(c)).unwrap_or(typed.len());
        let (number, unit) = typed.split_at(split);
        let unit = unit.trim();
        let plain = || parse_typed(number).map_err(|_| unreadable());
        match &self.is {
            Figure::Count { of, .. } => {
                let one = of.trim_end_matches('s');
                let is_of = unit.is_empty() || unit.eq_ignore_ascii_case(of) || unit.eq_ignore_ascii_case(one);
                if is_of { plain() } else { Err(NotAnAnswer::OtherUnit { unit: of.clone() }) }
            }
            Figure::Time(span) => {
                if let Some((minutes, seconds)) = typed.split_once(':') {
                    let part = |text: &str| text.trim().parse::<u32>().map_err(|_| unreadable());
                    let total = i64::from(part(minutes)?) * 60 + i64::from(part(seconds)?);
                    return Ok(Exact::from_int(total * MS_PER_S as i64));
                }
                if unit.is_empty() {
                    return Ok(plain()? * Exact::from_int(time_unit(*span).1 as i64));
                }
                typed.parse::<Span>().map(ms).map_err(|_| unreadable())
            }
            Figure::Amount { unit: asked, .. } => {
                if unit.is_empty() || Unit::parse(unit).is_ok_and(|given| given == *asked) {
                    plain()
                } else {
                    Err(NotAnAnswer::OtherUnit { unit: asked.symbol() })
                }
            }
        }
    }

    /// A number that can be typed, and is not the answer.
    fn example(&self) -> String {
        let shown = if self.is.whole() == Some(12) { 40 } else { 12 };
        format!("{shown} {}", self.unit).trim_end().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(is: Figure) -> Number {
        Number::of(is)
    }

    #[test]
    fn a_number_is_read_as_it_is_typed_and_judged_exactly() {
        let count = number(Figure::Count { n: 25, of: "strokes".to_owned() });
        let half_past = number(Figure::Time(Span::from_secs(150)));
        let five = number(Figure::Time(Span::from_secs(300)));
        let quarter = number(Figure::Amount { value: "0.25".parse().unwrap(), unit: Unit::parse("%").unwrap() });
        for (number, typed, right) in [
            (&count, "25", Some(true)),
            (&count, " 25 strokes ", Some(true)),
            (&count, "25 stroke", Some(true)),
            (&count, "24", Some(false)),
            (&count, "25 taps", None),
            (&count, "many", None),
            (&count, "", None),
            (&half_past, "150", Some(true)),
            (&half_past, "150 s", Some(true)),
            (&half_past, "2:30", Some(true)),
            (&half_past, "2 min 30 s", Some(true)),
            (&half_past, "2.5 min", Some(true)),
            (&half_past, "2", Some(false)),
            (&half_past, "2 pt", None),
            (&five, "5", Some(true)),
            (&five, "300 s", Some(true)),
            (&five, "300", Some(false)),
            (&quarter, "0,25", Some(true)),
            (&quarter, "1/4 %", Some(true)),
            (&quarter, "0.250001", Some(false)),
            (&quarter, "0.25 in", None),
        ] {
            let read = number.read(typed).ok().map(|given| given == number.is.exact());
            assert_eq!(read, right, "{typed:?} for {}", number.is.show());
        }
    }

    #[test]
    fn the_example_of_a_fault_is_never_the_answer() {
        for n in [12, 40, 25] {
            let count = number(Figure::Count { n, of: "taps".to_owned() });
            assert!(!count.example().starts_with(&n.to_string()), "{}", count.example());
        }
    }
}

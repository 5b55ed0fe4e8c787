//! The values of a site file: what is not read like in every other file.
//!
//! Here: amounts with their units, numbers, dates, times. Not here: keys, texts, words and counts
//! ([`procedure::reading`]), and what a key means ([`super::sections`], [`super::limits`]).
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out; every number
//! is read from the text of the file, never from a binary float.

use std::ops::Range;

use procedure::diagnose::Diagnostic;
use procedure::reading::{self, Manner, Part, Value, said};
use quantity::{Exact, Span, System, Unit};
use toml::de::DeValue;

use super::known::{ANYTHING, Measure};
use crate::calendar::{Date, NotADate};
use crate::written::{NotWritten, Written};

/// More than any count of a site file, and few enough to be meant.
const MOST: u32 = 100_000;

/// How a site file is read.
const MANNER: Manner = Manner {
    // A report has lines to put it in.
    longest_text: 200,
    no_table: |known| format!("a table holds keys with values, such as {{ {} = … }}", known.first().unwrap_or(&"key")),
    no_text: |key, value| match value {
        DeValue::Integer(number) if number.radix() == 10 => {
            format!("put it in quotes: {key} = \"{}\"", number.as_str())
        }
        _ => format!("write {key} = \"…\""),
    },
};

/// A site file while it is read.
pub(super) struct Reader<'t> {
    /// Its keys and what was found wrong.
    pub file: reading::Reader<'t>,
    /// The unit system it says it is in.
    pub system: Option<System>,
    /// Whether it was said already that the file does not name its unit system.
    pub system_missed: bool,
}

impl<'t> Reader<'t> {
    /// Begins to read a file in which these faults were found so far.
    pub fn new(text: &'t str, faults: Vec<Diagnostic>) -> Self {
        Self { file: reading::Reader { text, faults, manner: MANNER }, system: None, system_missed: false }
    }

    /// Several texts under a key that may be missing.
    pub fn lines_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Vec<(&'t str, Range<usize>)> {
        let Some(key) = part.key(name) else { return Vec::new() };
        self.file.lines(name, key.value, example)
    }

    /// A whole number from `least`.
    pub fn whole_of(&mut self, part: &Part<'t>, name: &str, least: u32) -> Option<u32> {
        let example = least.max(3);
        self.file.whole_of(part, name, least..=MOST, example, example)
    }

    /// A plain number above zero, without a unit.
    pub fn number_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Option<Exact> {
        let value = part.key(name)?.value;
        let digits = self.digits(name, value, example)?;
        let found = digits.parse::<Exact>().ok().filter(|number| *number > Exact::zero());
        if found.is_none() {
            self.file.push(
                Diagnostic::error("not-a-number", format!("`{name}` must be a plain number above 0"))
                    .at(self.file.place(value), "not such a number")
                    .help(format!("write digits with a decimal point: {name} = \"{example}\"")),
            );
        }
        found
    }

    /// The digits of a number as they stand, quoted or not.
    fn digits(&mut self, name: &str, value: &'t Value<'t>, example: &str) -> Option<String> {
        Some(match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().to_owned(),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::String(text) => text.trim().to_owned(),
            _ => return self.file.wrong_kind(name, value, "a number", format!("write {name} = \"{example}\"")),
        })
    }

    /// A time under a key that may be missing.
    pub fn span_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Option<Span> {
        let value = part.key(name)?.value;
        let text = self.file.time_text(name, value)?;
        let found = span(text);
        if found.is_none() {
            self.file.push(
                Diagnostic::error("not-a-time", format!("\"{}\" is not a time", said(text)))
                    .at(
                        self.file.place(value),
                        "expected a time longer than nothing, such as \"90 min\" or \"1 h 30 min\"",
                    )
                    .help(format!("write {name} = \"{example}\"")),
            );
        }
        found
    }

    /// A date under a key that may be missing, in quotes or not.
    pub fn date_of(&mut self, part: &Part<'t>, name: &str) -> Option<Date> {
        let value = part.key(name)?.value;
        let text = self.file.date_text(name, value, "2026-09-30")?;
        match text.parse::<Date>() {
            Ok(date) => Some(date),
            Err(why) => {
                self.file.push(not_a_date(why, &text, self.file.place(value)));
                None
            }
        }
    }

    /// An amount under a key that may be missing, above zero unless it is a temperature.
    ///
    /// Without a measure any unit of the file's system will do.
    pub fn amount_of(&mut self, part: &Part<'t>, name: &str, measure: impl Into<Option<Measure>>) -> Option<Written> {
        let measure = measure.into().unwrap_or(ANYTHING);
        let value = part.key(name)?.value;
        let amount = self.amount(name, value, measure)?;
        let temperature = ["°F", "°C"].contains(&amount.amount.unit.symbol().as_str());
        if amount.amount.value < Exact::zero() && !temperature {
            self.file.push(
                Diagnostic::error("not-a-number", format!("`{name}` cannot be less than nothing"))
                    .at(self.file.place(value), format!("expected {} of 0 or more", measure.what))
                    .help(format!("write {name} = \"{}\"", measure.example(self.system))),
            );
            return None;
        }
        Some(amount)
    }

    /// An amount that must be above zero.
    pub fn positive_of(&mut self, part: &Part<'t>, name: &str, measure: impl Into<Option<Measure>>) -> Option<Written> {
        let measure = measure.into().unwrap_or(ANYTHING);
        let value = part.key(name)?.value;
        let amount = self.amount_of(part, name, measure)?;
        if amount.amount.value.is_zero() {
            self.file.push(
                Diagnostic::error("not-a-number", format!("`{name}` cannot be 0"))
                    .at(self.file.place(value), format!("expected {} above 0", measure.what))
                    .help(format!("write {name} = \"{}\", or take the key away", measure.example(self.system))),
            );
            return None;
        }
        Some(amount)
    }

    /// An amount in one of the units of a measure, in the unit system of the file.
    pub fn amount(&mut self, name: &str, value: &'t Value<'t>, measure: Measure) -> Option<Written> {
        let example = measure.example(self.system);
        let bare = may_be_bare(measure);
        let text: &str = match value.get_ref() {
            DeValue::String(text) => text,
            DeValue::Integer(_) | DeValue::Float(_) if bare => {
                let digits = self.digits(name, value, example)?;
                return self.read(name, value, &digits, measure);
            }
            DeValue::Integer(_) | DeValue::Float(_) => {
                let digits = self.digits(name, value, example)?;
                let unit = self.system.and_then(|system| measure.units(system).first()).unwrap_or(&"…");
                let help = format!("put it in quotes with its unit: {name} = \"{digits} {unit}\"");
                return self.file.wrong_kind(name, value, "an amount with its unit, in quotes", help);
            }
            _ => {
                let help = format!("write {name} = \"{example}\"");
                return self.file.wrong_kind(name, value, "an amount with its unit, in quotes", help);
            }
        };
        self.read(name, value, text, measure)
    }

    fn read(&mut self, name: &str, value: &'t Value<'t>, text: &str, measure: Measure) -> Option<Written> {
        let example = measure.example(self.system);
        let bare = may_be_bare(measure);
        let read = if bare { Written::bare(text).or_else(|_| text.parse()) } else { text.parse::<Written>() };
        let at = self.file.place(value);
        match read {
            Ok(written) => self.fits(name, at, &written, measure).then_some(written),
            Err(why) => {
                self.file.push(self.not_written(&why, text, at, example).help(format!("write {name} = \"{example}\"")));
                None
            }
        }
    }

    /// The fault of a text that is no amount.
    pub fn not_written(&self, why: &NotWritten, text: &str, at: Range<usize>, example: &str) -> Diagnostic {
        match why {
            NotWritten::Number(unreadable) => {
                Diagnostic::error("not-a-number", format!("\"{}\" does not begin with a number", said(text)))
                    .at(at, format!("expected {}", unreadable.expected))
            }
            NotWritten::NoUnit { number } => {
                Diagnostic::error("missing-unit", format!("{} what? The number has no unit", said(number)))
                    .at(at, "a number without a unit")
            }
            NotWritten::Unit(unknown) => {
                let fault =
                    Diagnostic::error("unknown-unit", format!("`{}` is no unit known here", said(&unknown.text)))
                        .at(at, format!("expected an amount such as {example}"));
                match &unknown.nearest {
                    Some(near) => fault.help(format!("did you mean \"{near}\"?")),
                    None => fault,
                }
            }
        }
    }

    /// Whether an amount is in the unit system of the file and in a unit its key can take.
    pub fn fits(&mut self, name: &str, at: Range<usize>, written: &Written, measure: Measure) -> bool {
        let unit = written.amount.unit;
        // A result of somebody's own procedure may be in any unit.
        let in_units = |units: &[&str]| {
            units.is_empty() || units.iter().any(|known| Unit::parse(known).is_ok_and(|known| known == unit))
        };
        let example = measure.example(self.system);
        if let Some(system) = unit.system() {
            match self.system {
                None => {
                    self.system_missing(&at, system);
                }
                Some(own) if own != system && in_units(measure.units(system)) => {
                    self.file.push(
                        Diagnostic::error(
                            "unit-system",
                            format!("{unit} is an {system} unit, and this file is in {own} units"),
                        )
                        .at(at, format!("expected {}, such as {}", measure.what, measure.example(Some(own))))
                        .help("nothing converts by itself: state the value the specification gives in that system")
                        .help("a site file is in one system; for the other one write a file of its own"),
                    );
                    return false;
                }
                Some(_) => {}
            }
        }
        let system = self.system.or(unit.system());
        let fits = match system {
            Some(system) => in_units(measure.units(system)),
            None => in_units(measure.inch_pound) || in_units(measure.si),
        };
        if !fits {
            let units = measure.units(system.unwrap_or(System::InchPound));
            self.file.push(
                Diagnostic::error("unlike-units", format!("`{name}` is {}, and {} is not one", measure.what, written))
                    .at(at, format!("expected {}", said_units(units)))
                    .help(format!("write {name} = \"{example}\"")),
            );
        }
        fits
    }

    fn system_missing(&mut self, at: &Range<usize>, system: System) {
        if self.system_missed {
            return;
        }
        self.system_missed = true;
        self.file.push(
            Diagnostic::error("missing-key", "the file does not say in which unit system it is")
                .at(at.clone(), format!("this is an {system} amount"))
                .help(format!("add under [site]: system = \"{system}\"")),
        );
    }
}

/// The fault of a text that is no date.
pub(super) fn not_a_date(why: NotADate, text: &str, at: Range<usize>) -> Diagnostic {
    let title = match why {
        NotADate::Form => format!("\"{}\" is not a date", said(text)),
        NotADate::NoSuchDay => format!("there is no day {}", said(text)),
    };
    Diagnostic::error("not-a-date", title).at(at, why.to_string()).help("write year, month and day: 2026-09-30")
}

/// Whether an amount may stand without a unit.
fn may_be_bare(measure: Measure) -> bool {
    measure.inch_pound.is_empty() || measure.inch_pound == ["1"]
}

/// Units as they stand in a sentence.
fn said_units(units: &[&str]) -> String {
    match units {
        ["1"] => "a number without a unit".to_owned(),
        [unit] => format!("an amount in the unit {unit}"),
        _ => format!("an amount in one of the units {}", units.join(", ")),
    }
}

/// A time longer than nothing; days may be written as `7 d`.
pub(super) fn span(text: &str) -> Option<Span> {
    let text = text.trim();
    let days =
        text.strip_suffix(" d").or_else(|| text.strip_suffix('d')).and_then(|days| days.trim().parse::<u32>().ok());
    let span = match days {
        Some(days) => Span::from_secs(u64::from(days) * 86_400),
        None => text.parse().ok()?,
    };
    // Nothing on a job is waited for longer than a hundred years.
    (span > Span(0) && span <= Span::from_secs(36_525 * 86_400)).then_some(span)
}

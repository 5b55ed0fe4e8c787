//! Taking a site file apart, key by key, and saying what is wrong with it.
//!
//! Here: known, unknown and missing keys; texts, amounts with their units, dates, times, counts. Not here: what a key
//! means ([`super::sections`], [`super::limits`]).
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out; every number
//! is read from the text of the file, never from a binary float.

use std::ops::Range;

use procedure::diagnose::Diagnostic;
use procedure::nearest::nearest;
use quantity::{Exact, Span, System, Unit};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::known::{ANYTHING, Measure};
use crate::calendar::{Date, NotADate};
use crate::written::{NotWritten, Written};

/// A value of the file with its place.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// More than any count of a site file, and few enough to be meant.
const MOST: u32 = 100_000;
/// The longest text; a report has lines to put it in.
const LONGEST_TEXT: usize = 200;

/// What is known while a file is read.
pub(super) struct Reader<'t> {
    /// The file.
    pub text: &'t str,
    /// The unit system it says it is in.
    pub system: Option<System>,
    /// What was found wrong.
    pub faults: Vec<Diagnostic>,
    /// Whether it was said already that the file does not name its unit system.
    pub system_missed: bool,
}

/// A table being taken apart.
pub(super) struct Part<'t> {
    /// What it is: "a limit".
    pub what: String,
    /// Its header, for keys that are missing.
    pub at: Range<usize>,
    keys: Vec<Key<'t>>,
}

/// A key with its value.
#[derive(Clone)]
pub(super) struct Key<'t> {
    /// The name, as it was meant.
    pub name: String,
    /// Where it stands.
    pub at: Range<usize>,
    /// Its value.
    pub value: &'t Value<'t>,
}

impl<'t> Part<'t> {
    /// A key, if it is there.
    pub fn key(&self, name: &str) -> Option<&Key<'t>> {
        self.keys.iter().find(|key| key.name == name)
    }

    /// Every key, in the order of the file.
    pub fn keys(&self) -> &[Key<'t>] {
        &self.keys
    }

    /// The part made of some of the keys alone.
    pub fn only(&self, what: &str, known: &[&str]) -> Part<'t> {
        let keys = self.keys.iter().filter(|key| known.contains(&key.name.as_str())).cloned().collect();
        Part { what: what.to_owned(), at: self.at.clone(), keys }
    }

    /// Every key, to be read under the name that was meant.
    pub fn keys_mut(&mut self) -> &mut [Key<'t>] {
        &mut self.keys
    }
}

/// What a value is, for a person.
fn described(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text in quotes",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or a time of day",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

impl<'t> Reader<'t> {
    /// Notes a fault, unless there are more already than anybody reads.
    pub fn push(&mut self, fault: Diagnostic) {
        if self.faults.len() < 2 * super::MOST_FAULTS {
            self.faults.push(fault);
        }
    }

    /// Where a value stands.
    pub fn place(&self, value: &Value) -> Range<usize> {
        inside(self.text, value.span())
    }

    /// A table with its keys; those that are not among `known` are reported. An empty `known` takes any key.
    pub fn part(&mut self, value: &'t Value<'t>, what: impl Into<String>, known: &[&str]) -> Option<Part<'t>> {
        let what = what.into();
        let at = self.place(value);
        match value.get_ref() {
            DeValue::Table(table) => Some(self.table(table, what, at, known)),
            other => {
                let example = known.first().unwrap_or(&"key");
                self.push(
                    Diagnostic::error("wrong-kind", format!("{what} must be a table"))
                        .at(at, format!("this is {}", described(other)))
                        .help(format!("a table holds keys with values, such as {{ {example} = … }}")),
                );
                None
            }
        }
    }

    /// The keys of a table.
    pub fn table(&mut self, table: &'t DeTable<'t>, what: String, at: Range<usize>, known: &[&str]) -> Part<'t> {
        let mut keys: Vec<Key> = table
            .iter()
            .map(|(key, value)| Key { name: key.get_ref().to_string(), at: inside(self.text, key.span()), value })
            .collect();
        // The parser sorts by name; people read from top to bottom.
        keys.sort_by_key(|key| key.at.start);
        let there: Vec<String> = keys.iter().map(|key| key.name.clone()).collect();
        let mut meant: Vec<&str> = Vec::new();
        for key in &mut keys {
            if known.is_empty() || known.contains(&key.name.as_str()) {
                continue;
            }
            let mut fault = Diagnostic::error("unknown-key", format!("{what} has no key `{}`", said(&key.name)))
                .at(key.at.clone(), "not a key that means anything here");
            if let Some(near) = nearest(&key.name, known.iter().copied()) {
                fault = fault.help(format!("did you mean `{near}`?"));
                // Read on as if it were right, so that one slip is one fault.
                if !there.iter().any(|name| name == near) && !meant.contains(&near) {
                    meant.push(near);
                    key.name = near.to_owned();
                }
            }
            self.push(fault.help(format!("keys that may stand here: {}", listed(known))));
        }
        Part { what, at, keys }
    }

    /// The tables of `[[name]]`.
    pub fn parts(&mut self, root: &Part<'t>, name: &str, what: &str, known: &[&str]) -> Vec<Part<'t>> {
        let Some(key) = root.key(name) else { return Vec::new() };
        let value = key.value;
        let DeValue::Array(items) = value.get_ref() else {
            self.push(
                Diagnostic::error("wrong-kind", format!("`{name}` must be a list of tables"))
                    .at(key.at.clone(), format!("this is {}", described(value.get_ref())))
                    .help(format!("write each one under a header in double brackets: [[{name}]]")),
            );
            return Vec::new();
        };
        items.iter().filter_map(|item| self.part(item, what, known)).collect()
    }

    /// A key that must be there; `example` is what may be written.
    pub fn need<'p>(&mut self, part: &'p Part<'t>, name: &str, example: &str) -> Option<&'p Key<'t>> {
        let found = part.key(name);
        if found.is_none() {
            self.push(
                Diagnostic::error("missing-key", format!("{} has no `{name}`", part.what))
                    .at(part.at.clone(), format!("`{name}` is missing here"))
                    .help(format!("add a line such as: {example}")),
            );
        }
        found
    }

    /// A value of the wrong kind.
    pub fn wrong_kind<T>(&mut self, key: &str, value: &Value, expected: &str, help: impl Into<String>) -> Option<T> {
        self.push(
            Diagnostic::error("wrong-kind", format!("`{key}` must be {expected}"))
                .at(self.place(value), format!("this is {}", described(value.get_ref())))
                .help(help),
        );
        None
    }

    /// A text on one line.
    pub fn line(&mut self, key: &str, value: &'t Value<'t>) -> Option<&'t str> {
        let text: &str = match value.get_ref() {
            DeValue::String(text) => text,
            DeValue::Integer(number) if number.radix() == 10 => {
                let help = format!("put it in quotes: {key} = \"{}\"", number.as_str());
                return self.wrong_kind(key, value, "text in quotes", help);
            }
            _ => return self.wrong_kind(key, value, "text in quotes", format!("write {key} = \"…\"")),
        };
        let trouble = if text.trim().is_empty() {
            Some(("is empty", "nothing stands between the quotes"))
        } else if text.chars().any(char::is_control) {
            Some(("must stand on one line", "this text has a line break or a tabulator in it"))
        } else if text.chars().count() > LONGEST_TEXT {
            Some(("is too long", "more than 200 characters"))
        } else {
            None
        };
        if let Some((wrong, label)) = trouble {
            self.push(
                Diagnostic::error("bad-text", format!("`{key}` {wrong}"))
                    .at(self.place(value), label)
                    .help("write a short text on one line, or take the key away"),
            );
            return None;
        }
        Some(text.trim())
    }

    /// A text on one line under a key that may be missing.
    pub fn line_of(&mut self, part: &Part<'t>, name: &str) -> Option<String> {
        let value = part.key(name)?.value;
        self.line(name, value).map(str::to_owned)
    }

    /// Several texts.
    pub fn lines_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Vec<(&'t str, Range<usize>)> {
        let Some(key) = part.key(name) else { return Vec::new() };
        let value = key.value;
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {name} = {example}");
            return self.wrong_kind(name, value, "a list in square brackets", help).unwrap_or_default();
        };
        items.iter().filter_map(|item| self.line(name, item).map(|text| (text, self.place(item)))).collect()
    }

    /// One of a few words.
    pub fn word_of<T: Copy>(&mut self, part: &Part<'t>, name: &str, words: &[(&str, T)]) -> Option<T> {
        let value = part.key(name)?.value;
        let word = self.line(name, value)?;
        let found = words.iter().find(|(known, _)| *known == word).map(|(_, meaning)| *meaning);
        if found.is_none() {
            let known: Vec<&str> = words.iter().map(|(known, _)| *known).collect();
            let mut fault = Diagnostic::error("unknown-word", format!("`{name}` cannot be \"{}\"", said(word)))
                .at(self.place(value), format!("expected one of {}", listed(&known)));
            fault = match nearest(word, known.iter().copied()) {
                Some(near) => fault.help(format!("did you mean \"{near}\"?")),
                None => fault.help(format!("write {name} = \"{}\"", known.first().unwrap_or(&"…"))),
            };
            self.push(fault);
        }
        found
    }

    /// A whole number from `least`.
    pub fn whole_of(&mut self, part: &Part<'t>, name: &str, least: u32) -> Option<u32> {
        let value = part.key(name)?.value;
        let digits = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().to_owned(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::String(text) => text.trim().to_owned(),
            _ => return self.wrong_kind(name, value, "a whole number", format!("write {name} = {}", least.max(3))),
        };
        let found = digits.parse::<u32>().ok().filter(|count| (least..=MOST).contains(count));
        if found.is_none() {
            self.push(
                Diagnostic::error("not-a-count", format!("`{name}` must be a whole number from {least} to {MOST}"))
                    .at(self.place(value), "not such a number")
                    .help(format!("write it with digits alone, such as: {name} = {}", least.max(3))),
            );
        }
        found
    }

    /// A plain number above zero, without a unit.
    pub fn number_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Option<Exact> {
        let value = part.key(name)?.value;
        let digits = self.digits(name, value, example)?;
        let found = digits.parse::<Exact>().ok().filter(|number| *number > Exact::zero());
        if found.is_none() {
            self.push(
                Diagnostic::error("not-a-number", format!("`{name}` must be a plain number above 0"))
                    .at(self.place(value), "not such a number")
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
            _ => return self.wrong_kind(name, value, "a number", format!("write {name} = \"{example}\"")),
        })
    }

    /// A time under a key that may be missing.
    pub fn span_of(&mut self, part: &Part<'t>, name: &str, example: &str) -> Option<Span> {
        let value = part.key(name)?.value;
        if let DeValue::Integer(number) = value.get_ref() {
            let help = format!("a time needs its unit: {name} = \"{number} min\"");
            return self.wrong_kind(name, value, "a time", help);
        }
        let text = self.line(name, value)?;
        let found = span(text);
        if found.is_none() {
            self.push(
                Diagnostic::error("not-a-time", format!("\"{}\" is not a time", said(text)))
                    .at(self.place(value), "expected a time longer than nothing, such as \"90 min\" or \"1 h 30 min\"")
                    .help(format!("write {name} = \"{example}\"")),
            );
        }
        found
    }

    /// A date under a key that may be missing, in quotes or not.
    pub fn date_of(&mut self, part: &Part<'t>, name: &str) -> Option<Date> {
        let value = part.key(name)?.value;
        let text = match value.get_ref() {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Datetime(moment) => moment.to_string(),
            _ => return self.wrong_kind(name, value, "a date", format!("write {name} = 2026-09-30")),
        };
        match text.parse::<Date>() {
            Ok(date) => Some(date),
            Err(why) => {
                self.push(not_a_date(why, &text, self.place(value)));
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
            self.push(
                Diagnostic::error("not-a-number", format!("`{name}` cannot be less than nothing"))
                    .at(self.place(value), format!("expected {} of 0 or more", measure.what))
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
            self.push(
                Diagnostic::error("not-a-number", format!("`{name}` cannot be 0"))
                    .at(self.place(value), format!("expected {} above 0", measure.what))
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
                return self.wrong_kind(name, value, "an amount with its unit, in quotes", help);
            }
            _ => {
                let help = format!("write {name} = \"{example}\"");
                return self.wrong_kind(name, value, "an amount with its unit, in quotes", help);
            }
        };
        self.read(name, value, text, measure)
    }

    fn read(&mut self, name: &str, value: &'t Value<'t>, text: &str, measure: Measure) -> Option<Written> {
        let example = measure.example(self.system);
        let bare = may_be_bare(measure);
        let read = if bare { Written::bare(text).or_else(|_| text.parse()) } else { text.parse::<Written>() };
        let at = self.place(value);
        match read {
            Ok(written) => self.fits(name, at, &written, measure).then_some(written),
            Err(why) => {
                self.push(self.not_written(&why, text, at, example).help(format!("write {name} = \"{example}\"")));
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
                    self.push(
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
            self.push(
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
        self.push(
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

/// "`a`, `b`, `c`"
pub(super) fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// A name from the file, cut to a length that fits a sentence.
pub(super) fn said(name: &str) -> String {
    const LONGEST: usize = 40;
    let mut shown: String = name.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if name.chars().count() > LONGEST {
        shown.push('…');
    }
    shown
}

/// The nearest range inside the text that cuts no character.
pub(super) fn inside(text: &str, at: Range<usize>) -> Range<usize> {
    let mut start = at.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = at.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

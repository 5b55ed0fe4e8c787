//! Taking an exam file apart, key by key, and saying what is wrong with it.
//!
//! Here: known, unknown and missing keys; texts, names, times, counts. Not here: what a key means ([`super::sections`]).
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out.

use std::ops::Range;

use procedure::diagnose::Diagnostic;
use procedure::nearest::nearest;
use quantity::Span;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value of the file with its place.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// The longest text; a sheet has lines to put it in.
const LONGEST_TEXT: usize = 120;

/// What is known while a file is read.
pub(super) struct Reader<'t> {
    /// The file.
    pub text: &'t str,
    /// What was found wrong.
    pub faults: Vec<Diagnostic>,
}

/// A table being taken apart.
pub(super) struct Part<'t> {
    /// What it is: "a method".
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
}

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

    /// A table with its keys; those that are not known are reported.
    pub fn part(&mut self, value: &'t Value<'t>, what: &str, known: &[&str]) -> Option<Part<'t>> {
        let at = self.place(value);
        match value.get_ref() {
            DeValue::Table(table) => Some(self.table(table, what, at, known)),
            other => {
                self.push(
                    Diagnostic::error("wrong-kind", format!("{what} must be a table"))
                        .at(at, format!("this is {}", described(other)))
                        .help("write it under a header of its own, its keys below"),
                );
                None
            }
        }
    }

    /// The keys of a table.
    pub fn table(&mut self, table: &'t DeTable<'t>, what: &str, at: Range<usize>, known: &[&str]) -> Part<'t> {
        let mut keys: Vec<Key> = table
            .iter()
            .map(|(key, value)| Key { name: key.get_ref().to_string(), at: inside(self.text, key.span()), value })
            .collect();
        // The parser sorts by name; people read from top to bottom.
        keys.sort_by_key(|key| key.at.start);
        let there: Vec<String> = keys.iter().map(|key| key.name.clone()).collect();
        for key in &mut keys {
            if known.contains(&key.name.as_str()) {
                continue;
            }
            let mut fault = Diagnostic::error("unknown-key", format!("{what} has no key `{}`", said(&key.name)))
                .at(key.at.clone(), "not a key that means anything here");
            if let Some(near) = nearest(&key.name, known.iter().copied()) {
                fault = fault.help(format!("did you mean `{near}`?"));
                // Read on as if it were right, so that one slip is one fault.
                if !there.iter().any(|name| name == near) {
                    key.name = near.to_owned();
                }
            }
            self.push(fault.help(format!("keys that may stand here: {}", listed(known))));
        }
        Part { what: what.to_owned(), at, keys }
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
        let DeValue::String(text) = value.get_ref() else {
            return self.wrong_kind(key, value, "text in quotes", format!("write {key} = \"…\""));
        };
        let trouble = if text.trim().is_empty() {
            Some(("is empty", "nothing stands between the quotes"))
        } else if text.chars().any(char::is_control) {
            Some(("must stand on one line", "this text has a line break or a tabulator in it"))
        } else if text.chars().count() > LONGEST_TEXT {
            Some(("is too long", "more than 120 characters"))
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

    /// Several texts, none of them twice.
    pub fn lines(&mut self, name: &str, value: &'t Value<'t>, example: &str) -> Vec<(&'t str, Range<usize>)> {
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {name} = {example}");
            return self.wrong_kind(name, value, "a list in square brackets", help).unwrap_or_default();
        };
        let mut found: Vec<(&str, Range<usize>)> = Vec::new();
        for item in items {
            let Some(text) = self.line(name, item) else { continue };
            let at = self.place(item);
            match found.iter().find(|(other, _)| *other == text) {
                Some((_, first)) => {
                    let fault = Diagnostic::error("duplicate", format!("\"{}\" is named twice", said(text)))
                        .at(at, "second time")
                        .also(first.clone(), "first time here")
                        .help("take one of the two away");
                    self.push(fault);
                }
                None => found.push((text, at)),
            }
        }
        found
    }

    /// One of a few words.
    pub fn word<T: Copy>(&mut self, name: &str, value: &'t Value<'t>, words: &[(&str, T)], also: &str) -> Option<T> {
        let word = self.line(name, value)?;
        let found = words.iter().find(|(known, _)| *known == word).map(|(_, meaning)| *meaning);
        if found.is_none() {
            let known: Vec<&str> = words.iter().map(|(known, _)| *known).collect();
            let mut fault = Diagnostic::error("unknown-word", format!("`{name}` cannot be \"{}\"", said(word)))
                .at(self.place(value), format!("expected one of {}{also}", listed(&known)));
            fault = match nearest(word, known.iter().copied()) {
                Some(near) => fault.help(format!("did you mean \"{near}\"?")),
                None => fault.help(format!("write {name} = \"{}\"", known.first().unwrap_or(&"…"))),
            };
            self.push(fault);
        }
        found
    }

    /// A whole number from `least` to `most`.
    pub fn whole_of(&mut self, part: &Part<'t>, name: &str, least: u32, most: u32) -> Option<u32> {
        let value = part.key(name)?.value;
        let digits = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().to_owned(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::String(text) => text.trim().to_owned(),
            _ => return self.wrong_kind(name, value, "a whole number", format!("write {name} = {least}")),
        };
        let found = digits.parse::<u32>().ok().filter(|count| (least..=most).contains(count));
        if found.is_none() {
            self.push(
                Diagnostic::error("not-a-count", format!("`{name}` must be a whole number from {least} to {most}"))
                    .at(self.place(value), "not such a number")
                    .help(format!("write it with digits alone, such as: {name} = {}", most.min(2))),
            );
        }
        found
    }

    /// A time longer than nothing, at most a day.
    pub fn span_of(&mut self, part: &Part<'t>, name: &str) -> Option<Span> {
        let value = part.key(name)?.value;
        if let DeValue::Integer(number) = value.get_ref() {
            let help = format!("a time needs its unit: {name} = \"{number} min\"");
            return self.wrong_kind(name, value, "a time", help);
        }
        let text = self.line(name, value)?;
        let day = Span::from_secs(86_400);
        let found = text.parse::<Span>().ok().filter(|span| *span > Span(0) && *span <= day);
        if found.is_none() {
            self.push(
                Diagnostic::error("not-a-time", format!("\"{}\" is no time for a trial", said(text)))
                    .at(self.place(value), "expected a time up to a day, such as \"20 min\" or \"2 min 30 s\"")
                    .help(format!("write {name} = \"20 min\"")),
            );
        }
        found
    }

    /// A day under a key that may be missing, in quotes or not; as it is written: year-month-day.
    pub fn day_of(&mut self, part: &Part<'t>, name: &str) -> Option<String> {
        let value = part.key(name)?.value;
        let text = match value.get_ref() {
            DeValue::String(text) => text.trim().to_owned(),
            DeValue::Datetime(moment) => moment.to_string(),
            _ => return self.wrong_kind(name, value, "a date", format!("write {name} = 2026-05-15")),
        };
        if is_a_day(&text) {
            return Some(text);
        }
        self.push(
            Diagnostic::error("not-a-date", format!("\"{}\" is not a date", said(&text)))
                .at(self.place(value), "expected year, month and day of a day that there is")
                .help(format!("write {name} = 2026-05-15")),
        );
        None
    }
}

fn is_a_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return false };
    let digits = |part: &str, n: usize| part.len() == n && part.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(year, 4) || !digits(month, 2) || !digits(day, 2) {
        return false;
    }
    let (Ok(year), Ok(month), Ok(day)) = (year.parse::<u32>(), month.parse::<u32>(), day.parse::<u32>()) else {
        return false;
    };
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    };
    (1..=days).contains(&day)
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

#[cfg(test)]
mod tests {
    use super::is_a_day;

    #[test]
    fn a_day_is_one_of_the_calendar() {
        for (text, is) in [
            ("2026-05-15", true),
            ("2024-02-29", true),
            ("2026-02-29", false),
            ("2000-02-29", true),
            ("1900-02-29", false),
            ("2026-04-31", false),
            ("2026-13-01", false),
            ("2026-5-1", false),
            ("15.05.2026", false),
            ("", false),
        ] {
            assert_eq!(is_a_day(text), is, "{text}");
        }
    }
}

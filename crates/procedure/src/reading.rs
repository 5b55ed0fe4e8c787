//! Files that people write beside procedures, such as a site file or an exam file: taken apart key by key.
//!
//! Here: what every such file has in common. A text that is no TOML ([`not_toml`]), tables with their known, unknown and
//! missing keys ([`Reader::part`]), texts, lists, words and counts, and the faults put in order ([`in_order`]). Each is
//! reported with its place, a way out and the nearest name. Not here: what a key means, and amounts, times and dates:
//! each kind of file reads its own. Procedures themselves are read by [`crate::load`].
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out; every place
//! lies inside the text.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnose::{Diagnostic, Severity, within};
use crate::nearest::nearest;

/// More faults than this are not shown: nobody mends them all at once.
pub const MOST_FAULTS: usize = 100;

/// A value of the file with its place.
pub type Value<'t> = Spanned<DeValue<'t>>;

/// What one kind of file says differently from another.
#[derive(Copy, Clone, Debug)]
pub struct Manner {
    /// The longest text, in characters.
    pub longest_text: usize,
    /// The way out where a table was expected, from the keys that may stand in it.
    pub no_table: fn(&[&str]) -> String,
    /// The way out where a text was expected, from the key and what stands there.
    pub no_text: fn(&str, &DeValue) -> String,
}

/// A file while it is read.
#[derive(Debug)]
pub struct Reader<'t> {
    /// The file.
    pub text: &'t str,
    /// What was found wrong.
    pub faults: Vec<Diagnostic>,
    /// How this kind of file says it.
    pub manner: Manner,
}

/// A table being taken apart.
#[derive(Clone, Debug)]
pub struct Part<'t> {
    /// What it is: "a limit".
    pub what: String,
    /// Its header, for keys that are missing.
    pub at: Range<usize>,
    keys: Vec<Key<'t>>,
}

/// A key with its value.
#[derive(Clone, Debug)]
pub struct Key<'t> {
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

    /// Every key, to be read under the name that was meant.
    pub fn keys_mut(&mut self) -> &mut [Key<'t>] {
        &mut self.keys
    }

    /// The part made of some of the keys alone.
    #[must_use]
    pub fn only(&self, what: &str, known: &[&str]) -> Self {
        let keys = self.keys.iter().filter(|key| known.contains(&key.name.as_str())).cloned().collect();
        Self { what: what.to_owned(), at: self.at.clone(), keys }
    }
}

impl<'t> Reader<'t> {
    /// Notes a fault, unless there are more already than anybody reads.
    pub fn push(&mut self, fault: Diagnostic) {
        if self.faults.len() < 2 * MOST_FAULTS {
            self.faults.push(fault);
        }
    }

    /// Where a value stands.
    pub fn place(&self, value: &Value) -> Range<usize> {
        within(self.text, &value.span())
    }

    /// A table with its keys; those that are not among `known` are reported. An empty `known` takes any key.
    pub fn part(&mut self, value: &'t Value<'t>, what: impl Into<String>, known: &[&str]) -> Option<Part<'t>> {
        let what = what.into();
        let at = self.place(value);
        match value.get_ref() {
            DeValue::Table(table) => Some(self.table(table, what, at, known)),
            other => {
                self.push(
                    Diagnostic::error("wrong-kind", format!("{what} must be a table"))
                        .at(at, format!("this is {}", described(other)))
                        .help((self.manner.no_table)(known)),
                );
                None
            }
        }
    }

    /// The keys of a table.
    pub fn table(
        &mut self,
        table: &'t DeTable<'t>,
        what: impl Into<String>,
        at: Range<usize>,
        known: &[&str],
    ) -> Part<'t> {
        let what = what.into();
        let mut keys: Vec<Key> = table
            .iter()
            .map(|(key, value)| Key { name: key.get_ref().to_string(), at: within(self.text, &key.span()), value })
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
        let DeValue::String(text) = value.get_ref() else {
            let help = (self.manner.no_text)(key, value.get_ref());
            return self.wrong_kind(key, value, "text in quotes", help);
        };
        let longest = self.manner.longest_text;
        let (wrong, label) = if text.trim().is_empty() {
            ("is empty", "nothing stands between the quotes".to_owned())
        } else if text.chars().any(char::is_control) {
            ("must stand on one line", "this text has a line break or a tabulator in it".to_owned())
        } else if text.chars().count() > longest {
            ("is too long", format!("more than {longest} characters"))
        } else {
            return Some(text.trim());
        };
        self.push(
            Diagnostic::error("bad-text", format!("`{key}` {wrong}"))
                .at(self.place(value), label)
                .help("write a short text on one line, or take the key away"),
        );
        None
    }

    /// A text on one line under a key that may be missing.
    pub fn line_of(&mut self, part: &Part<'t>, name: &str) -> Option<String> {
        let value = part.key(name)?.value;
        self.line(name, value).map(str::to_owned)
    }

    /// Several texts with their places; `example` is a list that may be written.
    pub fn lines(&mut self, name: &str, value: &'t Value<'t>, example: &str) -> Vec<(&'t str, Range<usize>)> {
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {name} = {example}");
            return self.wrong_kind(name, value, "a list in square brackets", help).unwrap_or_default();
        };
        items.iter().filter_map(|item| self.line(name, item).map(|text| (text, self.place(item)))).collect()
    }

    /// One of a few words; `also` goes on the sentence that lists them, where something else may stand as well.
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

    /// One of a few words under a key that may be missing.
    pub fn word_of<T: Copy>(&mut self, part: &Part<'t>, name: &str, words: &[(&str, T)]) -> Option<T> {
        let value = part.key(name)?.value;
        self.word(name, value, words, "")
    }

    /// A whole number under a key that may be missing, quoted or not.
    ///
    /// `first` is an example for somebody who wrote no number, `fitting` for one whose number does not fit.
    pub fn whole_of(
        &mut self,
        part: &Part<'t>,
        name: &str,
        fits: RangeInclusive<u32>,
        first: u32,
        fitting: u32,
    ) -> Option<u32> {
        let value = part.key(name)?.value;
        let digits = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().to_owned(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::String(text) => text.trim().to_owned(),
            _ => return self.wrong_kind(name, value, "a whole number", format!("write {name} = {first}")),
        };
        let found = digits.parse::<u32>().ok().filter(|count| fits.contains(count));
        if found.is_none() {
            let (least, most) = fits.into_inner();
            self.push(
                Diagnostic::error("not-a-count", format!("`{name}` must be a whole number from {least} to {most}"))
                    .at(self.place(value), "not such a number")
                    .help(format!("write it with digits alone, such as: {name} = {fitting}")),
            );
        }
        found
    }

    /// The text of a time; a number alone is reported, since it has no unit.
    pub fn time_text(&mut self, name: &str, value: &'t Value<'t>) -> Option<&'t str> {
        if let DeValue::Integer(number) = value.get_ref() {
            let help = format!("a time needs its unit: {name} = \"{number} min\"");
            return self.wrong_kind(name, value, "a time", help);
        }
        self.line(name, value)
    }

    /// The text of a date, in quotes or not; `example` is one that may be written.
    pub fn date_text(&mut self, name: &str, value: &'t Value<'t>, example: &str) -> Option<String> {
        match value.get_ref() {
            DeValue::String(text) => Some(text.trim().to_owned()),
            DeValue::Datetime(moment) => Some(moment.to_string()),
            _ => self.wrong_kind(name, value, "a date", format!("write {name} = {example}")),
        }
    }
}

/// Why a text is not even looked at: it is longer than `longest` bytes, or empty.
///
/// `what` is what the text ought to be, such as "a site file"; `begin` says how one begins.
pub fn unreadable(text: &str, longest: usize, what: &str, begin: &str) -> Option<Diagnostic> {
    if text.len() > longest {
        let fault = Diagnostic::error("too-large", format!("this file is too large for {what}"))
            .at(0..0, format!("{} bytes; at most {longest} are read", text.len()))
            .help("check that this is the right file");
        return Some(fault);
    }
    text.trim_start_matches('\u{feff}')
        .trim()
        .is_empty()
        .then(|| Diagnostic::error("empty-text", "this file is empty").at(0..0, format!("expected {what}")).help(begin))
}

/// The faults of TOML itself, in the same words as for a procedure.
///
/// Only those with the code `duplicate` leave the file whole enough to be read further.
pub fn not_toml(text: &str) -> Vec<Diagnostic> {
    crate::load::not_toml(text)
}

/// Puts faults in the order of the file and leaves out what is more than anybody reads; says whether none is an error.
pub fn in_order(text: &str, faults: &mut Vec<Diagnostic>) -> bool {
    let in_order = |found: &Diagnostic| (found.place().start, found.severity, found.place().end);
    for label in faults.iter_mut().flat_map(|fault| &mut fault.labels) {
        label.at = within(text, &label.at);
    }
    faults.sort_by_key(in_order);
    let sound = faults.iter().all(|found| found.severity != Severity::Error);
    if faults.len() > MOST_FAULTS {
        // Errors first: a file full of warnings must not hide why it cannot be used.
        faults.sort_by_key(|found| found.severity);
        faults.truncate(MOST_FAULTS);
        faults.sort_by_key(in_order);
        let last = faults.last().map_or(0..0, Diagnostic::place);
        faults.push(
            Diagnostic::warning("more-faults", format!("there are more faults than the {MOST_FAULTS} shown here"))
                .at(last, "the last one shown")
                .help("mend these first, then check the file again"),
        );
    }
    sound
}

/// "`a`, `b`, `c`"
pub fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// A name from the file, cut to a length that fits a sentence.
///
/// ```
/// assert_eq!(procedure::reading::said("a\tb"), "a b");
/// ```
pub fn said(name: &str) -> String {
    const LONGEST: usize = 40;
    let mut shown: String = name.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if name.chars().count() > LONGEST {
        shown.push('…');
    }
    shown
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

    use super::*;

    const MANNER: Manner = Manner {
        longest_text: 12,
        no_table: |known| format!("keys: {}", known.join(", ")),
        no_text: |key, _| format!("quote the {key}"),
    };

    /// The code, the words in the text and the first way out of every fault that `read` finds.
    fn faults(
        text: &str,
        read: impl for<'t> FnOnce(&mut Reader<'t>, &Part<'t>),
    ) -> Vec<(&'static str, String, String)> {
        let (root, _) = DeTable::parse_recoverable(text);
        let mut reader = Reader { text, faults: Vec::new(), manner: MANNER };
        let part = reader.table(root.get_ref(), "a card", 0..0, &["name", "count", "kind", "list"]);
        read(&mut reader, &part);
        assert!(!in_order(text, &mut reader.faults));
        let said = |fault: Diagnostic| (fault.code, text[fault.place()].to_owned(), fault.help[0].clone());
        reader.faults.into_iter().map(said).collect()
    }

    #[test]
    fn a_slip_in_a_key_is_one_fault_and_its_value_is_read_all_the_same() {
        let found = faults("naem = \"slab\"\n", |reader, part| {
            assert_eq!(reader.line_of(part, "name").as_deref(), Some("slab"));
            assert!(reader.need(part, "name", "name = \"wall\"").is_some());
        });
        assert_eq!(found, [("unknown-key", "naem".to_owned(), "did you mean `name`?".to_owned())]);
    }

    #[test]
    fn two_slips_that_mean_the_same_key_give_it_once() {
        let found = faults("naem = \"slab\"\nnmae = \"wall\"\n", |reader, part| {
            assert_eq!(reader.line_of(part, "name").as_deref(), Some("slab"));
        });
        assert_eq!(found.iter().map(|(_, place, _)| place.as_str()).collect::<Vec<_>>(), ["naem", "nmae"]);
    }

    #[test]
    fn every_wrong_value_is_reported_at_its_place_with_a_way_out() {
        let text = "name = 7\ncount = \"many\"\nkind = \"sqare\"\nlist = [\"far too long to say\", \"short\"]\n";
        let found = faults(text, |reader, part| {
            assert!(reader.line_of(part, "name").is_none());
            assert!(reader.whole_of(part, "count", 1..=9, 1, 2).is_none());
            assert!(reader.word_of(part, "kind", &[("square", 4), ("round", 0)]).is_none());
            let list = reader.lines("list", part.key("list").unwrap().value, "[\"a\"]");
            assert_eq!(list.iter().map(|(text, _)| *text).collect::<Vec<_>>(), ["short"]);
        });
        let places: Vec<_> = found.iter().map(|(code, place, help)| (*code, place.as_str(), help.as_str())).collect();
        assert_eq!(
            places,
            [
                ("wrong-kind", "7", "quote the name"),
                ("not-a-count", "\"many\"", "write it with digits alone, such as: count = 2"),
                ("unknown-word", "\"sqare\"", "did you mean \"square\"?"),
                ("bad-text", "\"far too long to say\"", "write a short text on one line, or take the key away"),
            ]
        );
    }
}

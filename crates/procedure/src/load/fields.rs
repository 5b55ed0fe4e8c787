//! Taking a table of the file apart, key by key, and saying what is wrong with it.
//!
//! Here: known and unknown keys, missing keys, wrong kinds of value, names and their form, one value for each unit
//! system, one text for each language. Not here: what any key means.
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is reported once and left out.

use std::ops::Range;

use quantity::System;

use super::scope::{Scope, What};
use super::tree::{Entry, Kind, Node};
use crate::diagnose::Diagnostic;
use crate::nearest::nearest;
pub(super) use crate::reading::said as shown;

/// What is known while one edition of a procedure is read.
pub(super) struct Reader<'a> {
    /// The file.
    pub text: &'a str,
    /// The unit systems the procedure is stated in.
    pub systems: &'a [System],
    /// The one this edition is in.
    pub system: System,
    /// The language texts are wanted in.
    pub language: &'a str,
    /// What was found wrong.
    pub faults: Vec<Diagnostic>,
    /// Places that belong to one unit system alone.
    pub branches: Vec<Range<usize>>,
    /// Every name defined so far.
    pub scope: Scope,
}

/// A table being taken apart.
#[derive(Clone)]
pub(super) struct Fields<'n> {
    /// What it is: "a figure", "step `strike-off`".
    pub what: String,
    /// Its header, for keys that are missing.
    pub at: Range<usize>,
    entries: &'n [Entry],
    /// Misspelt keys, reported already, by the key that was meant.
    meant: Vec<(String, &'n Entry)>,
}

impl<'n> Fields<'n> {
    /// The value of a key, if it is there.
    pub fn get(&self, key: &str) -> Option<&'n Node> {
        self.entry(key).map(|entry| &entry.value)
    }

    /// A key with its value, if it is there.
    pub fn entry(&self, key: &str) -> Option<&'n Entry> {
        let meant = || self.meant.iter().find(|(meant, _)| meant == key).map(|(_, entry)| *entry);
        self.entries.iter().find(|entry| entry.key == key).or_else(meant)
    }

    /// The value of a key that must be there; `example` is what may be written.
    pub fn need(&self, reader: &mut Reader, key: &str, example: &str) -> Option<&'n Node> {
        let found = self.get(key);
        if found.is_none() {
            reader.push(
                Diagnostic::error("missing-key", format!("{} has no `{key}`", self.what))
                    .at(self.at.clone(), format!("`{key}` is missing here"))
                    .help(format!("add a line such as: {example}")),
            );
        }
        found
    }
}

impl Reader<'_> {
    /// Notes a fault, unless there are more already than anybody reads.
    pub fn push(&mut self, fault: Diagnostic) {
        if self.faults.len() < 2 * super::MOST_FAULTS {
            self.faults.push(fault);
        }
    }

    /// A table and its keys; keys that are not among `known` are reported.
    pub fn fields<'n>(&mut self, node: &'n Node, what: impl Into<String>, known: &[&str]) -> Option<Fields<'n>> {
        let what = what.into();
        let Some(entries) = node.entries() else {
            self.push(
                Diagnostic::error("wrong-kind", format!("{what} must be a table"))
                    .at(node.at.clone(), format!("this is {}", node.described()))
                    .help(format!(
                        "a table holds keys with values, such as {{ {} = … }}",
                        known.first().unwrap_or(&"key")
                    )),
            );
            return None;
        };
        let mut meant: Vec<(String, &Entry)> = Vec::new();
        // A key with a `!` means nothing here, but is understood and explained by whoever takes the table apart.
        let understood = |key: &str| known.iter().any(|known| known.trim_start_matches('!') == key);
        let proposed = || known.iter().copied().filter(|known| !known.starts_with('!'));
        for entry in entries.iter().filter(|entry| !understood(&entry.key)) {
            let mut fault = Diagnostic::error("unknown-key", format!("{what} has no key `{}`", shown(&entry.key)))
                .at(entry.key_at.clone(), "not a key that means anything here");
            if let Some(near) = nearest(&entry.key, proposed()) {
                fault = fault.help(format!("did you mean `{near}`?"));
                // Read on as if it were right, so that one slip is one fault.
                if !entries.iter().any(|entry| entry.key == near) && !meant.iter().any(|(meant, _)| meant == near) {
                    meant.push((near.to_owned(), entry));
                }
            }
            self.push(fault.help(format!("keys that may stand here: {}", listed(proposed(), 30))));
        }
        Some(Fields { what, at: node.at.clone(), entries, meant })
    }

    /// The tables of `[what.name]`, in the order of the file.
    pub fn named_tables<'n>(&mut self, root: &Fields<'n>, what: &str) -> Vec<&'n Entry> {
        let Some(entry) = root.entry(what) else { return Vec::new() };
        let entries = entry.value.entries();
        let (tables, others): (Vec<&Entry>, Vec<&Entry>) =
            entries.unwrap_or_default().iter().partition(|entry| entry.value.entries().is_some());
        if entries.is_none() || !others.is_empty() {
            let header = format!("[{what}]");
            let label = match others.first() {
                // The header above the first key that has no name.
                Some(first) => match self.text[..first.key_at.start].rfind(&header) {
                    Some(at) => at..at + header.len(),
                    None => first.key_at.clone(),
                },
                None => entry.key_at.clone(),
            };
            self.push(
                Diagnostic::error("wrong-kind", format!("every {what} has a name, and this has none"))
                    .at(label, format!("expected [{what}.name]"))
                    .help(format!(
                        "write a header [{what}.name] for each, with a name of your own, and its keys below"
                    )),
            );
        }
        tables
    }

    /// The tables of `[[what]]`, in the order of the file.
    pub fn listed_tables<'n>(&mut self, fields: &Fields<'n>, key: &str, header: &str) -> &'n [Node] {
        match fields.entry(key) {
            None => &[],
            Some(Entry { value: Node { kind: Kind::List(items), .. }, .. }) => items,
            Some(entry) => {
                self.push(
                    Diagnostic::error("wrong-kind", format!("`{key}` must be a list of tables"))
                        .at(entry.key_at.clone(), format!("this is {}", entry.value.described()))
                        .help(format!("write each one under a header in double brackets: [[{header}]]")),
                );
                &[]
            }
        }
    }

    /// A text in quotes, one for each unit system if they differ.
    pub fn string<'n>(&mut self, node: &'n Node, key: &str) -> Option<(&'n str, Range<usize>)> {
        let node = self.pick(node)?;
        match &node.kind {
            Kind::Text(text) => Some((text, node.at.clone())),
            Kind::Number(number) => {
                let help = format!("put it in quotes: {key} = \"{number}\"");
                self.wrong_kind(node, key, "text in quotes", help)
            }
            _ => self.wrong_kind(node, key, "text in quotes", format!("write {key} = \"…\"")),
        }
    }

    /// A list, one for each unit system if they differ.
    pub fn list<'n>(&mut self, node: &'n Node, key: &str, example: &str) -> Option<(&'n [Node], Range<usize>)> {
        let node = self.pick(node)?;
        match &node.kind {
            Kind::List(items) => Some((items, node.at.clone())),
            _ => self.wrong_kind(node, key, "a list in square brackets", format!("write {key} = {example}")),
        }
    }

    /// A whole number that is at least 1 and small enough to be meant.
    pub fn whole(&mut self, node: &Node, key: &str) -> Option<u32> {
        let node = self.pick(node)?;
        let number = match &node.kind {
            Kind::Number(number) => number.as_str(),
            Kind::Text(text) => text.trim(),
            _ => {
                return self.wrong_kind(
                    node,
                    key,
                    "a whole number",
                    format!("write it with digits alone, such as: {key} = 3"),
                );
            }
        };
        match number.parse::<u32>() {
            Ok(count @ 1..=MOST) => Some(count),
            _ => {
                self.push(
                    Diagnostic::error("not-a-count", format!("`{key}` must be a whole number from 1 to {MOST}"))
                        .at(node.at.clone(), "not such a number")
                        .help(format!("write it with digits alone, such as: {key} = 3")),
                );
                None
            }
        }
    }

    /// One of a few words.
    pub fn word<T: Copy>(&mut self, node: &Node, key: &str, words: &[(&str, T)]) -> Option<T> {
        let (word, at) = self.string(node, key)?;
        let found = words.iter().find(|(known, _)| *known == word).map(|(_, meaning)| *meaning);
        if found.is_none() {
            let known = || words.iter().map(|(known, _)| *known);
            let mut fault = Diagnostic::error("unknown-word", format!("`{key}` cannot be \"{}\"", shown(word)))
                .at(at, format!("expected one of {}", listed(known(), 30)));
            fault = match (nearest(word, known()), words) {
                (Some(near), _) => fault.help(format!("did you mean \"{near}\"?")),
                (None, [(only, _)]) => fault.help(format!("write {key} = \"{only}\", or take the line away")),
                (None, _) => fault.help(format!("write one of these words: {key} = \"…\"")),
            };
            self.push(fault);
        }
        found
    }

    /// `true` or `false`.
    pub fn truth(&mut self, node: &Node, key: &str) -> Option<bool> {
        let node = self.pick(node)?;
        match node.kind {
            Kind::Truth(truth) => Some(truth),
            _ => self.wrong_kind(node, key, "true or false, without quotes", format!("write {key} = true")),
        }
    }

    /// A value of the wrong kind.
    pub fn wrong_kind<T>(&mut self, node: &Node, key: &str, expected: &str, help: impl Into<String>) -> Option<T> {
        self.push(
            Diagnostic::error("wrong-kind", format!("`{key}` must be {expected}"))
                .at(node.at.clone(), format!("this is {}", node.described()))
                .help(help),
        );
        None
    }

    /// The value for this edition: itself, or the one of `{ inch-pound = …, SI = … }`.
    pub fn pick<'n>(&mut self, node: &'n Node) -> Option<&'n Node> {
        let Some(entries) = node.entries().filter(|entries| by_system(entries)) else {
            return Some(node);
        };
        let mut branch = None;
        let mut found = Vec::new();
        for entry in entries {
            match entry.key.parse::<System>() {
                Ok(system) if self.systems.contains(&system) => {
                    found.push(system);
                    if system == self.system {
                        branch = Some(&entry.value);
                    }
                }
                Ok(system) => self.push(
                    Diagnostic::error("unit-system", format!("the procedure is not stated in {system} units"))
                        .at(entry.key_at.clone(), format!("a value for {system}, which nobody can choose"))
                        .help(format!("add \"{system}\" to `systems` under [procedure], or take this value away")),
                ),
                Err(_) => {
                    let mut fault =
                        Diagnostic::error("unit-system", format!("`{}` is no unit system", shown(&entry.key)))
                            .at(entry.key_at.clone(), "expected inch-pound or SI");
                    let near = nearest(&entry.key, ["inch-pound", "SI"]);
                    if let Some(system) = near.and_then(|near| near.parse::<System>().ok()) {
                        // Read on as if it were right, so that one slip is one fault.
                        found.push(system);
                        if system == self.system {
                            branch = branch.or(Some(&entry.value));
                        }
                    }
                    fault = match near {
                        Some(near) => fault.help(format!("did you mean `{near}`?")),
                        None => fault.help("write one value for each: { inch-pound = …, SI = … }"),
                    };
                    self.push(fault);
                }
            }
        }
        let missing: Vec<System> = self.systems.iter().copied().filter(|system| !found.contains(system)).collect();
        for system in missing {
            self.push(
                Diagnostic::error("unit-system", format!("there is no value for {system} units here"))
                    .at(node.at.clone(), format!("`{system}` is missing"))
                    .help(format!("add it between the curly brackets: {system} = …")),
            );
        }
        if let Some(branch) = branch {
            self.branches.push(branch.at.clone());
        }
        branch
    }

    /// A name for use in sentences and records: `start-of-test`.
    pub fn kebab(&mut self, name: &str, at: Range<usize>, what: &str) -> bool {
        self.form(name, at, what, '-')
    }

    /// A name for use in expressions: `strokes_per_layer`.
    pub fn snake(&mut self, name: &str, at: Range<usize>, what: &str) -> bool {
        if crate::expr::RESERVED.contains(&name) {
            self.push(
                Diagnostic::error("bad-name", format!("{what} cannot be called `{name}`"))
                    .at(at, "this word has a meaning of its own in expressions")
                    .help(format!("choose another name, such as `the_{name}`")),
            );
            return false;
        }
        self.form(name, at, what, '_')
    }

    fn form(&mut self, name: &str, at: Range<usize>, what: &str, joint: char) -> bool {
        let fits = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == joint;
        if name.starts_with(|first: char| first.is_ascii_lowercase()) && name.chars().all(fits) {
            return true;
        }
        let mended = mended(name, joint);
        let mut fault = Diagnostic::error("bad-name", format!("{what} cannot be called `{}`", shown(name)))
            .at(at, format!("a small letter first, then small letters, digits and {joint}"));
        fault = if mended.is_empty() {
            fault.help("choose a word that says what it is")
        } else {
            fault.help(format!("write `{mended}`"))
        };
        self.push(fault);
        false
    }

    /// A name in expressions that is not given to anything that fits.
    pub fn no_such(&mut self, what: &str, name: &str, at: Range<usize>, fits: impl Fn(What) -> bool) {
        let known = self.scope.names_of(fits);
        let Some(given) = self.scope.names.iter().find(|given| given.id == name) else {
            let known: Vec<String> = known.into_iter().map(str::to_owned).collect();
            return self.unknown(what, name, at, &known);
        };
        let kind = match given.what {
            What::Figure(_) => "figure",
            What::Reading(_) => "reading",
            What::Table(_) => "table",
            What::Value(id) if self.scope.values.get(id as usize).is_some_and(|value| value.result) => "result",
            What::Value(_) => "value",
        };
        let fault = Diagnostic::error("unknown-name", format!("`{name}` is a {kind}, where a {what} is needed"))
            .at(at, format!("expected the name of a {what}"))
            .also(given.at.clone(), format!("the {kind} is defined here"));
        let fault = if known.is_empty() {
            fault.help(format!("this file defines no {what} at all"))
        } else {
            fault.help(format!("there are: {}", listed(known, 8)))
        };
        self.push(fault);
    }

    /// A name that nothing is called by.
    pub fn unknown(&mut self, what: &str, name: &str, at: Range<usize>, known: &[String]) {
        let known = || known.iter().map(String::as_str).filter(|name| !name.is_empty());
        let mut fault = Diagnostic::error("unknown-name", format!("there is no {what} called `{}`", shown(name)))
            .at(at, format!("not the name of a {what}"));
        fault = match nearest(name, known()) {
            Some(near) => fault.help(format!("did you mean `{near}`?")),
            None if known().next().is_none() => fault.help(format!("this file defines no {what} at all")),
            None => fault.help(format!("there are: {}", listed(known(), 8))),
        };
        self.push(fault);
    }
}

/// The nearest well-formed name; empty if there is none.
pub(super) fn mended(name: &str, joint: char) -> String {
    let fits = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == joint;
    let letters: String = name.to_lowercase().chars().map(|letter| if fits(letter) { letter } else { joint }).collect();
    let letters = letters.trim_start_matches(|letter: char| !letter.is_ascii_lowercase());
    letters.trim_end_matches(joint).to_owned()
}

/// More than any count, attempt or round of a method.
const MOST: u32 = 100_000;

/// Whether a table holds one value for each unit system.
fn by_system(entries: &[Entry]) -> bool {
    entries.iter().any(|entry| {
        entry.key.parse::<System>().is_ok()
            || nearest(&entry.key, ["inch-pound"]).is_some()
            || ["metric", "us", "imperial"].contains(&entry.key.to_lowercase().as_str())
    })
}

/// "`a`, `b` and 3 more"
pub(super) fn listed<'c>(names: impl IntoIterator<Item = &'c str>, most: usize) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    let mut said: Vec<String> = names.iter().take(most).map(|name| format!("`{name}`")).collect();
    if names.len() > most {
        said.push(format!("and {} more", names.len() - most));
    }
    said.join(", ")
}

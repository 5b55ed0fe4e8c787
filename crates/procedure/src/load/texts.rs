//! Texts with places to fill in, texts in several languages, and expressions inside the file.
//!
//! Here: `{figure}`, `{reading}`, `{was:reading}`, `{value}`, `{round}`; `{ en = "…", es = "…" }`; where in the file a piece of
//! a text stands. Not here: what a text is for.
//!
//! **Invariant:** every language of a text is checked, not only the one that is wanted.

use std::ops::Range;

use super::fields::{Fields, Reader, listed, shown};
use super::scope::{Standing, View, What};
use super::tree::{Entry, Kind, Node};
use crate::diagnose::Diagnostic;
use crate::expr::{Compiled, Want, compile};
use crate::model::{Part, ReadingId, Text, ValueId};
use crate::nearest::nearest;

/// The longest text a screen can make use of, in characters.
const LONGEST: usize = 2_000;
/// What takes some six seconds to say at 165 words a minute, in characters.
const LONGEST_SAID: usize = 90;
/// What a place to fill in counts for in that.
const FILLED: usize = 6;

impl Reader<'_> {
    /// A text that must be there.
    pub fn need_text(&mut self, fields: &Fields, key: &str, example: &str) -> Option<Text> {
        let node = fields.need(self, key, example)?;
        self.text_of(node, key)
    }

    /// A text that may be there.
    pub fn may_text(&mut self, fields: &Fields, key: &str) -> Option<Text> {
        self.text_of(fields.get(key)?, key)
    }

    /// The spoken form of the text under `key`, if it has one. What takes too long to say is a warning.
    pub fn spoken(&mut self, fields: &Fields, key: &str, written: Option<&Text>) -> Option<Text> {
        let say = self.may_text(fields, "say");
        let (key, spoken) = if say.is_some() { ("say", say.as_ref()) } else { (key, written) };
        let signs = |part: &Part| match part {
            Part::Plain(text) => text.chars().count(),
            _ => FILLED,
        };
        let signs: usize = spoken.iter().flat_map(|text| &text.parts).map(signs).sum();
        if let Some(node) = fields.get(key).filter(|_| signs > LONGEST_SAID) {
            let title = format!("`{key}` of {} takes longer to say than anybody listens", fields.what);
            let fault = Diagnostic::warning("long-to-say", title)
                .at(node.at.clone(), format!("{signs} characters; {LONGEST_SAID} are said in some six seconds"));
            self.push(if key == "say" {
                fault.help("shorten it: what to do, in a few words; the rest stands on the screen")
            } else {
                fault.help("add a short form to be spoken below it: say = \"…\"")
            });
        }
        say
    }

    /// A text that must be there and has nothing to fill in but figures.
    pub fn need_plain(&mut self, fields: &Fields, key: &str, example: &str) -> Option<String> {
        let node = fields.need(self, key, example)?;
        self.plain_of(node, key)
    }

    /// A text that has nothing to fill in but figures.
    pub fn plain_of(&mut self, node: &Node, key: &str) -> Option<String> {
        let at = node.at.clone();
        let text = self.text_of(node, key)?;
        let plain = text.as_plain().map(str::to_owned);
        if plain.is_none() {
            self.push(
                Diagnostic::error("placeholder", format!("only figures can be filled in in `{key}`"))
                    .at(at, "this has a place for a reading or a value")
                    .help("it is shown before anything is read: name a figure, or say it in words"),
            );
        }
        plain
    }

    /// A text in the wanted language.
    pub fn text_of(&mut self, node: &Node, key: &str) -> Option<Text> {
        let (texts, fallback) = self.languages(node, key)?;
        let mut chosen = None;
        for (language, node) in texts {
            let text = self.one_text(node, key);
            if language.is_none_or(|language| language == fallback) {
                chosen = text;
            }
        }
        chosen
    }

    /// A text taken as it stands, in the wanted language: braces mean nothing in it.
    pub fn verbatim(&mut self, fields: &Fields, key: &str, example: &str) -> Option<String> {
        let node = fields.need(self, key, example)?;
        self.verbatim_of(node, key)
    }

    /// A text taken as it stands, in the wanted language.
    pub fn verbatim_of(&mut self, node: &Node, key: &str) -> Option<String> {
        let (texts, fallback) = self.languages(node, key)?;
        let mut chosen = None;
        for (language, node) in texts {
            let text = self.sound_string(node, key).map(|(text, _)| text.to_owned());
            if language.is_none_or(|language| language == fallback) {
                chosen = text;
            }
        }
        chosen
    }

    /// The texts of each language, and the language that is wanted or stands in for it.
    #[allow(clippy::type_complexity, reason = "a list of languages with their texts, used in this file alone")]
    fn languages<'n>(&mut self, node: &'n Node, key: &str) -> Option<(Vec<(Option<&'n str>, &'n Node)>, &'n str)> {
        let node = self.pick(node)?;
        let Some(entries) = node.entries() else { return Some((vec![(None, node)], "")) };
        let mut texts: Vec<(Option<&str>, &Node)> = Vec::new();
        for entry in entries {
            if is_language(&entry.key) {
                texts.push((Some(entry.key.as_str()), &entry.value));
                continue;
            }
            self.push(
                Diagnostic::error(
                    "unknown-key",
                    format!("`{}` is neither a language nor a unit system", shown(&entry.key)),
                )
                .at(entry.key_at.clone(), "expected a language such as en or es")
                .help(format!("write {key} = \"…\", or one text for each language: {{ en = \"…\", es = \"…\" }}")),
            );
        }
        if entries.is_empty() {
            self.push(
                Diagnostic::error("missing-key", format!("`{key}` has no text"))
                    .at(node.at.clone(), "nothing between the curly brackets")
                    .help(format!("write {key} = \"…\", or one text for each language: {{ en = \"…\", es = \"…\" }}")),
            );
        }
        let has =
            |wanted: &str| entries.iter().find(|entry: &&Entry| entry.key == wanted).map(|entry| entry.key.as_str());
        let first = texts.first().and_then(|(language, _)| *language)?;
        let chosen = has(self.language).or_else(|| has("en")).unwrap_or(first);
        Some((texts, chosen))
    }

    fn sound_string<'n>(&mut self, node: &'n Node, key: &str) -> Option<(&'n str, Range<usize>)> {
        let (text, at) = self.string(node, key)?;
        if text.trim().is_empty() {
            self.push(Diagnostic::error("empty-text", format!("`{key}` is empty")).at(at, "expected some words").help(
                if matches!(key, "do" | "ask" | "title" | "id") {
                    format!("write what the person is to read: {key} = \"…\"")
                } else {
                    format!("write the text, or take the `{key}` line away")
                },
            ));
            return None;
        }
        if text.chars().count() > LONGEST {
            self.push(
                Diagnostic::error("too-large", format!("`{key}` is longer than {LONGEST} characters"))
                    .at(at, "too long to be read on a screen")
                    .help("shorten it to a sentence or two"),
            );
            return None;
        }
        Some((text, at))
    }

    fn one_text(&mut self, node: &Node, key: &str) -> Option<Text> {
        let (text, at) = self.sound_string(node, key)?;
        let mut parts: Vec<Part> = Vec::new();
        let mut plain = String::new();
        let mut sound = true;
        let mut rest = 0;
        while let Some(brace) = text[rest..].find(['{', '}']).map(|found| rest + found) {
            plain.push_str(&text[rest..brace]);
            let twice = text[brace + 1..].chars().next() == text[brace..].chars().next();
            if twice {
                plain.push_str(&text[brace..brace + 1]);
                rest = brace + 2;
                continue;
            }
            let close = text[brace + 1..].find(['{', '}']).map(|found| brace + 1 + found);
            let (is_open, close) =
                (text[brace..].starts_with('{'), close.filter(|close| text[*close..].starts_with('}')));
            let (true, Some(close)) = (is_open, close) else {
                let place = self.inside(&at, text, brace..brace + 1);
                let (title, label) = if is_open {
                    ("a { in this text is never closed", "} is missing after it")
                } else {
                    ("a } in this text was never opened", "{ is missing before it")
                };
                self.push(
                    Diagnostic::error("placeholder", title)
                        .at(place, label)
                        .help("a name to fill in stands between curly brackets: {alcohol}")
                        .help("for a curly bracket itself, write it twice: {{ or }}"),
                );
                sound = false;
                rest = brace + 1;
                continue;
            };
            let name = text[brace + 1..close].trim();
            let place = self.inside(&at, text, brace..close + 1);
            match self.placeholder(name, place) {
                Some(Filled::Now(words)) => plain.push_str(&words),
                Some(Filled::Later(part)) => {
                    if !plain.is_empty() {
                        parts.push(Part::Plain(std::mem::take(&mut plain)));
                    }
                    parts.push(part);
                }
                None => sound = false,
            }
            rest = close + 1;
        }
        plain.push_str(&text[rest..]);
        if !plain.is_empty() {
            parts.push(Part::Plain(plain));
        }
        sound.then_some(Text { parts })
    }

    fn placeholder(&mut self, name: &str, at: Range<usize>) -> Option<Filled> {
        let (was, name) = match name.split_once(':') {
            Some((prefix, name)) if prefix.trim() == "was" => (true, name.trim()),
            Some((prefix, _)) => {
                self.push(
                    Diagnostic::error("placeholder", format!("`{}:` means nothing in a text", shown(prefix)))
                        .at(at, "expected a name, or was: and the name of a reading")
                        .help("{alcohol} is the latest reading, {was:alcohol} the one of the attempt before"),
                );
                return None;
            }
            None if name == "round" => return Some(Filled::Later(Part::Round)),
            None => (false, name),
        };
        match self.scope.name(name) {
            Some(What::Reading(id)) if was => Some(Filled::Later(Part::Was(ReadingId(id)))),
            Some(What::Reading(id)) => Some(Filled::Later(Part::Reading(ReadingId(id)))),
            Some(_) if was => {
                let fault =
                    Diagnostic::error("placeholder", format!("`{name}` is not a reading, so it has no earlier value"))
                        .at(at, "expected was: and the name of a reading");
                let fault = self.pointing_at(fault, name, "the name belongs to this");
                self.push(fault.help(format!("write {{{name}}} without was:, or name a reading")));
                None
            }
            Some(What::Value(id)) => Some(Filled::Later(Part::Value(ValueId(id)))),
            Some(What::Figure(id)) => Some(Filled::Now(self.scope.figures.get(id as usize)?.as_ref()?.text.clone())),
            Some(What::Table(_)) => {
                self.push(
                    Diagnostic::error(
                        "placeholder",
                        format!("`{name}` is a table, which cannot be shown in a sentence"),
                    )
                    .at(at, "expected a figure, a reading or a value")
                    .help("define a value that looks it up, and name the value here"),
                );
                None
            }
            None => {
                let known = self.scope.names_of(|what| !matches!(what, What::Table(_)));
                let mut fault =
                    Diagnostic::error("placeholder", format!("nothing called `{}` can be filled in here", shown(name)))
                        .at(at, "not the name of a figure, a reading or a value");
                fault = match nearest(name, known.iter().copied()) {
                    Some(near) => fault.help(format!("did you mean {{{near}}}?")),
                    None => fault.help(format!("there are: {}", listed(known.iter().copied(), 8))),
                };
                self.push(fault.help("for a curly bracket itself, write it twice: {{ or }}"));
                None
            }
        }
    }

    /// An expression, with its faults shown at their place in the file.
    pub fn expression(&mut self, node: &Node, key: &str, want: Want, values_before: usize) -> Option<Compiled> {
        let (source, at) = self.string(node, key)?;
        let view = View { scope: &self.scope, values_before };
        let faults = match compile(source, &view, want) {
            Ok(compiled) => return Some(compiled),
            Err(faults) => faults,
        };
        let mut said = Vec::new();
        let alone = faults.len() == 1;
        for fault in faults {
            // Which answers there are cannot be known beside a name that is not.
            let before = source.get(..fault.at.start).unwrap_or_default().trim_end();
            if !alone && fault.code == "unknown-name" && (before.ends_with("==") || before.ends_with("!=")) {
                continue;
            }
            let word = source.get(fault.at.clone()).unwrap_or_default().trim();
            let place = self.inside(&at, source, fault.at.clone());
            match view.standing(word) {
                // Its own fault was reported where it is defined.
                Standing::Broken => {}
                Standing::Later => {
                    let same = self.scope.values.len();
                    let given = self.scope.names.iter().find(|given| given.id == word);
                    let itself = given.is_some_and(|given| given.what == What::Value(values_before as u16))
                        && values_before < same;
                    let mut moved = if itself {
                        Diagnostic::error("used-before", format!("`{word}` is worked out from itself"))
                            .at(place, "this is the value being defined")
                            .help("a formula uses readings, figures, tables, and the values above it")
                    } else {
                        Diagnostic::error("used-before", format!("`{word}` is used before it is defined"))
                            .at(place, "a formula can only use values that stand above it")
                            .help(format!(
                                "move `{word}` up, above the value that uses it; results come after all values"
                            ))
                    };
                    if let Some(given) = given.filter(|_| !itself) {
                        moved = moved.also(given.at.clone(), "it is defined here");
                    }
                    said.push(moved);
                }
                Standing::Unknown | Standing::Sound => {
                    let mut diagnostic = Diagnostic::error(fault.code, fault.title).at(place, fault.label);
                    diagnostic.help.extend(fault.help);
                    said.push(diagnostic);
                }
            }
        }
        for fault in said {
            self.push(fault);
        }
        None
    }

    /// Where in the file a piece of a text stands; the whole text if it was written with escapes.
    pub fn inside(&self, at: &Range<usize>, decoded: &str, piece: Range<usize>) -> Range<usize> {
        let written = self.text.get(at.clone()).unwrap_or_default();
        let quotes = if written.starts_with("\"\"\"") || written.starts_with("'''") { 3 } else { 1 };
        let body = written.get(quotes..written.len().saturating_sub(quotes)).unwrap_or_default();
        let skipped =
            if quotes == 3 { body.len() - body.trim_start_matches('\r').trim_start_matches('\n').len() } else { 0 };
        for skipped in [0, skipped] {
            if body.get(skipped..) == Some(decoded) {
                let start = at.start + quotes + skipped;
                return start + piece.start..start + piece.end;
            }
        }
        at.clone()
    }
}

enum Filled {
    Now(String),
    Later(Part),
}

/// `en`, `es`, `pt-BR`.
fn is_language(key: &str) -> bool {
    let (language, region) = key.split_once('-').map_or((key, None), |(language, region)| (language, Some(region)));
    (2..=3).contains(&language.len())
        && language.bytes().all(|letter| letter.is_ascii_lowercase())
        && region.is_none_or(|region| {
            (2..=4).contains(&region.len()) && region.bytes().all(|sign| sign.is_ascii_alphanumeric())
        })
}

/// A text in quotes, whichever kind of node it is.
pub(super) fn as_text(node: &Node) -> Option<&str> {
    match &node.kind {
        Kind::Text(text) => Some(text),
        _ => None,
    }
}

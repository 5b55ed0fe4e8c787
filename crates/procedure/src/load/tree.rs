//! The file as a tree of keys and values that know their place.
//!
//! Here: TOML in, [`Node`]s in the order of the file out, syntax faults said in plain words. Not here: what a key
//! means.
//!
//! **Invariant:** every place lies inside the text and cuts no character; numbers keep the text they were written in,
//! so no decimal is lost to a binary float; the tree is at most as deep as the TOML parser allows (80).

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use crate::diagnose::{Diagnostic, within};

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Node {
    /// Where: for a `[header]` table, the header.
    pub at: Range<usize>,
    /// What it is.
    pub kind: Kind,
}

/// What a value is.
#[derive(Clone, Debug)]
pub(super) enum Kind {
    Text(String),
    /// A whole or decimal number, as it is written.
    Number(String),
    Truth(bool),
    Moment,
    List(Vec<Node>),
    Table(Vec<Entry>),
}

/// A key with its value.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    pub key: String,
    pub key_at: Range<usize>,
    pub value: Node,
}

impl Node {
    /// What the value is, for a person.
    pub fn described(&self) -> &'static str {
        match &self.kind {
            Kind::Text(_) => "text in quotes",
            Kind::Number(_) => "a number",
            Kind::Truth(_) => "true or false",
            Kind::Moment => "a date or a time of day",
            Kind::List(_) => "a list",
            Kind::Table(_) => "a table",
        }
    }

    /// The value of a key, if it is a table with this key.
    pub fn entry(&self, key: &str) -> Option<&Node> {
        self.entries()?.iter().find(|entry| entry.key == key).map(|entry| &entry.value)
    }

    /// The entries, if it is a table.
    pub fn entries(&self) -> Option<&[Entry]> {
        match &self.kind {
            Kind::Table(entries) => Some(entries),
            _ => None,
        }
    }
}

/// Deeper than any procedure needs, and less than the TOML parser's own limit of 80.
const DEEPEST: usize = 64;
/// More entries than any list or table of a procedure needs; everything is counted in 16 bits later.
const MOST_ENTRIES: usize = 1_000;

/// Reads the text. The tree is there if it is whole enough to be checked further.
pub(super) fn read(text: &str) -> (Option<Node>, Vec<Diagnostic>) {
    if let Some(at) = too_deep(text) {
        let (at, by_brackets) = at;
        let fault = if by_brackets {
            Diagnostic::error("too-large", "brackets are nested too deeply here")
                .at(at, format!("more than {DEEPEST} levels of brackets"))
                .help("a procedure needs no more than six levels: look for brackets that are never closed")
        } else {
            Diagnostic::error("too-large", "this key has too many dots")
                .at(at, format!("more than {DEEPEST} dots"))
                .help("keys and headers of a procedure have at most two dots, such as [[stage.step.rule]]")
        };
        return (None, vec![fault]);
    }
    let (root, errors) = DeTable::parse_recoverable(text);
    let slips = super::syntax::slips(text, &errors);
    if !slips.is_empty() {
        return (None, slips);
    }
    let faults = super::syntax::duplicates(text, &errors);
    let root = Node { at: 0..0, kind: Kind::Table(entries(text, root.get_ref())) };
    if let Some((at, what)) = too_many(&root) {
        let fault = Diagnostic::error("too-large", format!("too many entries in this {what}"))
            .at(at, format!("more than {MOST_ENTRIES} entries"))
            .help(format!("a {what} of a procedure holds at most {MOST_ENTRIES} entries"));
        return (None, vec![fault]);
    }
    (Some(root), faults)
}

fn entries(text: &str, table: &DeTable) -> Vec<Entry> {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_at: within(text, &key.span()),
            value: node(text, value.span(), value.get_ref()),
        })
        .collect();
    // The parser sorts by name; people read from top to bottom.
    entries.sort_by_key(|entry| entry.key_at.start);
    entries
}

fn node(text: &str, at: Range<usize>, value: &DeValue) -> Node {
    let kind = match value {
        DeValue::String(content) => Kind::Text(content.to_string()),
        DeValue::Integer(number) if number.radix() == 10 => Kind::Number(number.as_str().to_owned()),
        DeValue::Integer(number) => Kind::Number(number.to_string()),
        DeValue::Float(number) => Kind::Number(number.as_str().to_owned()),
        DeValue::Boolean(truth) => Kind::Truth(*truth),
        DeValue::Datetime(_) => Kind::Moment,
        DeValue::Array(items) => Kind::List(items.iter().map(|item| node(text, item.span(), item.get_ref())).collect()),
        DeValue::Table(table) => Kind::Table(entries(text, table)),
    };
    Node { at: within(text, &at), kind }
}

fn too_many(node: &Node) -> Option<(Range<usize>, &'static str)> {
    match &node.kind {
        Kind::List(items) if items.len() > MOST_ENTRIES => Some((node.at.clone(), "list")),
        Kind::Table(entries) if entries.len() > MOST_ENTRIES => {
            let at = entries.get(MOST_ENTRIES).map_or_else(|| node.at.clone(), |entry| entry.key_at.clone());
            Some((at, "table"))
        }
        Kind::List(items) => items.iter().find_map(too_many),
        Kind::Table(entries) => entries.iter().find_map(|entry| too_many(&entry.value)),
        _ => None,
    }
}

/// Where brackets outside of texts and comments, or the dots of one key, go too deep.
///
/// The parser has a limit of its own; this one comes before it and can be explained.
fn too_deep(text: &str) -> Option<(Range<usize>, bool)> {
    let bytes = text.as_bytes();
    let mut depth = 0_usize;
    let mut dots = 0_usize;
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            quote @ (b'"' | b'\'') => {
                at = end_of_text(bytes, at, quote);
                continue;
            }
            b'#' => {
                while at < bytes.len() && bytes[at] != b'\n' {
                    at += 1;
                }
                continue;
            }
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            b'.' => dots += 1,
            b'\n' | b'=' | b',' => dots = 0,
            _ => {}
        }
        if depth > DEEPEST || dots > DEEPEST {
            return Some((at..at + 1, depth > DEEPEST));
        }
        at += 1;
    }
    None
}

/// One past the closing quote, or the end of the line for a text that is never closed.
pub(super) fn end_of_text(bytes: &[u8], start: usize, quote: u8) -> usize {
    let long = bytes[start..].starts_with(&[quote; 3]);
    let mut at = start + if long { 3 } else { 1 };
    while at < bytes.len() {
        match bytes[at] {
            b'\\' if quote == b'"' => at += 1,
            b'\n' if !long => return at,
            byte if byte == quote && !long => return at + 1,
            byte if byte == quote && bytes[at..].starts_with(&[quote; 3]) => return at + 3,
            _ => {}
        }
        at += 1;
    }
    bytes.len()
}

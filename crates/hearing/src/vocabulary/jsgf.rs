//! The words valid now as a grammar for recognisers.
//!
//! Here: the form of the file (Java Speech Grammar Format, version 1.0). Not here: how numbers are said.
//!
//! **Invariant:** only words stand in it, in small letters: no digits, no signs, nothing that would need quoting.

use std::fmt::Write as _;

use quantity::Scale;

use super::marks;

/// The whole file.
pub(super) fn grammar<'a>(phrases: impl Iterator<Item = &'a str>, number: Option<&Scale>) -> String {
    let phrases: Vec<&str> = phrases.filter(|phrase| is_words(phrase)).collect();
    let rules = number.map(marks::rules).unwrap_or_default();
    let mut valid = Vec::new();
    if !phrases.is_empty() {
        valid.push("<phrase>");
    }
    if !rules.is_empty() {
        valid.push("<number>");
    }
    // Nothing is valid: a rule that nothing matches.
    let valid = if valid.is_empty() { "<VOID>".to_owned() } else { valid.join(" | ") };
    let mut out = format!("#JSGF V1.0;\ngrammar valid;\npublic <line> = {valid};\n");
    // Writing to a String cannot fail.
    if !phrases.is_empty() {
        let _ = writeln!(out, "<phrase> = {};", phrases.join(" | "));
    }
    for (name, body) in rules {
        let _ = writeln!(out, "<{name}> = {body};");
    }
    out
}

fn is_words(phrase: &str) -> bool {
    !phrase.is_empty() && phrase.chars().all(|sign| sign.is_lowercase() || matches!(sign, ' ' | '\''))
}

//! Faults of TOML itself, in the words of somebody who has never programmed.
//!
//! Here: what the parser's messages mean for a person, and where the first of two equal keys stands. Not here:
//! parsing.

use std::ops::Range;

use toml::de::{DeTable, Error};

use super::tree::end_of_text;
use crate::diagnose::{Diagnostic, within};

/// More slips than this are not looked for: mending the first ones changes what is found after them.
const MOST_SLIPS: usize = 20;

/// | the parser says                | what the person did          |
/// |--------------------------------|------------------------------|
/// | first column                   | title, label, help           |
const MEANINGS: &[(&str, &str, &str, &str)] = &[
    (
        "invalid basic string",
        "this text is never closed",
        "a quote \" is missing at its end",
        "a text begins and ends with a quote on the same line: \"like this\"",
    ),
    (
        "invalid literal string",
        "this text is never closed",
        "a quote ' is missing at its end",
        "a text begins and ends with a quote on the same line: \"like this\"",
    ),
    (
        "string values must be quoted",
        "text must stand in quotes",
        "these words are not in quotes",
        "put a quote before and after the text: \"like this\"",
    ),
    (
        "missing assignment between key-value pairs",
        "an equals sign is missing",
        "expected = after this word",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "key with no value",
        "this key has no value",
        "expected = and a value",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "missing value",
        "a value is missing",
        "expected a value after the equals sign",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    ("invalid value", "this is no value", "not a text, a number, a list or a table", "text stands in quotes: \"45 s\""),
    (
        "missing comma between key-value pairs",
        "a comma is missing",
        "expected a comma before this",
        "inside { } keys are parted by commas: { at_least = 10, at_most = 15 }",
    ),
    (
        "missing comma between array elements",
        "a comma is missing",
        "expected a comma before this",
        "inside [ ] values are parted by commas: [\"0.00\", \"9.00\"]",
    ),
    ("extra comma", "there is a comma too many", "nothing stands between the commas", "take this comma away"),
    (
        "extra `=`",
        "there is an equals sign too many",
        "not expected here",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "extra assignment",
        "there is an equals sign too many",
        "not expected here",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "unexpected `=` in array",
        "an equals sign has no place in a list",
        "not expected here",
        "keys with values stand in curly brackets: { at_least = 10 }",
    ),
    (
        "unclosed inline table",
        "this curly bracket is never closed",
        "} is missing",
        "every { needs its }: { at_least = 10, at_most = 15 }",
    ),
    ("unclosed array table", "this header is never closed", "]] is missing", "a header stands in brackets: [[stage]]"),
    ("unclosed array", "this list is never closed", "] is missing", "every [ needs its ]: [\"0.00\", \"9.00\"]"),
    (
        "unclosed table",
        "this header is never closed",
        "] is missing",
        "a header stands in brackets on a line of its own: [figure.strokes]",
    ),
    (
        "invalid unquoted key",
        "this key holds a character that a key cannot have",
        "only letters, digits, _ and - may stand in a key",
        "write the key without spaces or signs: at_least",
    ),
    (
        "unquoted keys cannot be empty",
        "a key is missing here",
        "expected a key before the equals sign or between the dots",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "missing key",
        "a key is missing here",
        "expected a key",
        "every line is a key, an equals sign and a value: unit = \"%\"",
    ),
    (
        "escape",
        "a backslash in a text begins a special character, and this one is not known",
        "after this backslash comes no known sign",
        "write \\\\ for a backslash itself, or put the text between single quotes: 'like this'",
    ),
    (
        "carriage return",
        "this line has a broken line ending",
        "a carriage return without a line feed",
        "save the file again with ordinary line endings",
    ),
    (
        "invalid comment character",
        "this comment holds a control character",
        "this character cannot be shown",
        "take the character away",
    ),
    (
        "leading zero",
        "a number cannot begin with a zero",
        "this zero",
        "write the number without it, or in quotes if it is a text",
    ),
    (
        "cannot extend value",
        "this header adds to something that is already complete",
        "this was given its value further up",
        "give all its keys in one place",
    ),
    (
        "unexpected content",
        "something stands after the end of the value",
        "not expected here",
        "one key and its value on each line; a comment begins with #",
    ),
    (
        "unexpected key or value",
        "something stands after the end of the value",
        "not expected here",
        "one key and its value on each line; a comment begins with #",
    ),
    ("recur", "brackets are nested too deeply here", "too many levels", "look for brackets that are never closed"),
];

/// Every line that is not TOML, each with its first fault. `errors` are those of the whole text.
///
/// The parser gives up or stumbles on after a slip, so each faulty line is blanked out before the text is read again:
/// every slip is found, and none is an echo of another.
pub(super) fn slips(text: &str, errors: &[Error]) -> Vec<Diagnostic> {
    let unclosed = unclosed(text);
    // Nearly every file is sound, and reading it takes most of the time: it is not read twice.
    if unclosed.is_empty() && errors.iter().all(|error| error.message() == DUPLICATE) {
        return Vec::new();
    }
    let mut rest = text.to_owned();
    let mut faults = Vec::new();
    for (open, line_at) in unclosed.into_iter().take(MOST_SLIPS) {
        faults.push(never_closed(text, open, line_at));
        blank(&mut rest, line_start(text, open)..line_at);
    }
    while faults.len() < MOST_SLIPS {
        let errors = DeTable::parse_recoverable(&rest).1;
        let slip = errors
            .iter()
            .filter(|error| error.message() != DUPLICATE)
            .map(|error| (error.message(), within(text, &error.span().unwrap_or(text.len()..text.len()))))
            .min_by_key(|(_, at)| at.start);
        let Some((message, at)) = slip else { break };
        let whole_text = message.contains("multi-line");
        let shown = visible(text, at);
        let line = line_start(text, shown.start)..line_end(text, shown.end);
        faults.push(fault(text, message, shown));
        // A text over several lines that is never closed leaves nothing to go on with; neither does a blank line.
        if whole_text || rest[line.clone()].trim().is_empty() {
            break;
        }
        blank(&mut rest, line);
    }
    faults
}

/// The keys and headers that are there twice.
pub(super) fn duplicates(text: &str, errors: &[Error]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut header_at: Option<usize> = None;
    for error in errors.iter().take(super::MOST_FAULTS + 1) {
        let at = within(text, &error.span().unwrap_or(text.len()..text.len()));
        let is_header = header_line(text, at.start).is_some();
        if is_header {
            header_at = Some(at.start);
        } else if header_at.is_some_and(|header_at| same_section(text, header_at, at.start)) {
            // The keys under a repeated header repeat those of the first; one fault for all of them is enough.
            continue;
        }
        faults.push(duplicate(text, at, is_header));
    }
    faults
}

const DUPLICATE: &str = "duplicate key";

/// A syntax fault. A message that is not in the table is shown as the parser says it.
fn fault(text: &str, message: &str, at: Range<usize>) -> Diagnostic {
    let place = &text[at.clone()];
    if place.contains(['“', '”', '„', '‟', '‘', '’']) {
        return Diagnostic::error("not-toml", "these quotes are typographic")
            .at(at, "expected the plain quote \"")
            .help("type the quotes again in a plain text editor: \"like this\"");
    }
    let message = if message.contains("must be quoted") && place.trim_start_matches('=').trim().is_empty() {
        "missing value"
    } else {
        message
    };
    if message.contains("unexpected") && text[..at.end].trim_end().ends_with('"') {
        return Diagnostic::error("not-toml", "something stands behind the end of a text")
            .at(at, "this quote ends the text")
            .help("for a quote inside a text put the whole text between single quotes: 'the \"first\" layer'")
            .help("what is meant as a note begins with #");
    }
    if message.contains("leading zero") && decimal_comma(&text[..at.start]) {
        return Diagnostic::error("not-toml", "a number is written with a decimal point, not with a comma")
            .at(at, "the comma before this parts two values")
            .help("write the number with a point, in quotes to keep its decimals: \"0.25\"");
    }
    match MEANINGS.iter().find(|(says, ..)| message.contains(says)) {
        Some((_, title, label, help)) => Diagnostic::error("not-toml", *title).at(at, *label).help(*help),
        None => Diagnostic::error("not-toml", "this line cannot be read")
            .at(at, message.to_owned())
            .help("every line is a key, an equals sign and a value: unit = \"%\""),
    }
}

/// Whether a text ends with a digit and a comma.
fn decimal_comma(before: &str) -> bool {
    before.strip_suffix(',').is_some_and(|before| before.ends_with(|digit: char| digit.is_ascii_digit()))
}

fn never_closed(text: &str, open: usize, line_at: usize) -> Diagnostic {
    let list = text[open..].starts_with('[');
    let (title, closes, example) = if list {
        ("this list is never closed", "]", "[\"0.00\", \"9.00\"]")
    } else {
        ("this curly bracket is never closed", "}", "{ at_least = 10, at_most = 15 }")
    };
    let fault = Diagnostic::error("not-toml", title).at(open..open + 1, format!("{closes} is missing"));
    let next = line_at..line_end(text, line_at);
    let fault = if text[next.clone()].trim().is_empty() {
        fault
    } else {
        let indent = text[next.clone()].len() - text[next.clone()].trim_start().len();
        fault.also(next.start + indent..next.start + text[next].trim_end().len(), "a new line begins here")
    };
    fault.help(format!("close it, such as {example}"))
}

/// Brackets of values that are still open where a new key or header begins, with the start of that line.
fn unclosed(text: &str) -> Vec<(usize, usize)> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut last = b'\n';
    let mut at = 0;
    let mut line = 0;
    while at < bytes.len() {
        if at == line && !open.is_empty() && begins_anew(text, line, open.last().map(|open| bytes[*open]), last) {
            if let Some(outermost) = open.first() {
                found.push((*outermost, line));
            }
            open.clear();
            last = b'\n';
        }
        // A header is no list.
        if open.is_empty() && at == line && text[line..].trim_start_matches([' ', '\t']).starts_with('[') {
            at = line_end(text, at);
            continue;
        }
        let byte = bytes[at];
        match byte {
            b'"' | b'\'' => {
                at = end_of_text(bytes, at, byte);
                last = byte;
                continue;
            }
            b'#' => {
                at = line_end(text, at);
                continue;
            }
            b'[' | b'{' => open.push(at),
            b']' | b'}' => {
                open.pop();
            }
            _ => {}
        }
        at += 1;
        if byte == b'\n' {
            line = at;
        } else if !byte.is_ascii_whitespace() {
            last = byte;
        }
    }
    if let Some(outermost) = open.first() {
        found.push((*outermost, text.len()));
    }
    found
}

/// Whether a line inside an open bracket can only be the beginning of something new.
fn begins_anew(text: &str, line: usize, innermost: Option<u8>, last: u8) -> bool {
    let content = text[line..line_end(text, line)].trim();
    let key: &str = content.split('=').next().unwrap_or_default().trim();
    let is_key = content.contains('=')
        && !key.is_empty()
        && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-' | b'.'));
    let name = content.trim_start_matches('[').trim_end_matches(']');
    let is_header = content.starts_with('[')
        && content.ends_with(']')
        && !name.is_empty()
        && name.starts_with(|first: char| first.is_ascii_alphabetic())
        && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'_' | b'-' | b'.'));
    is_header || is_key && (innermost == Some(b'[') || !matches!(last, b',' | b'{'))
}

fn line_start(text: &str, byte: usize) -> usize {
    text[..byte].rfind('\n').map_or(0, |newline| newline + 1)
}

fn line_end(text: &str, byte: usize) -> usize {
    text[byte..].find('\n').map_or(text.len(), |newline| byte + newline)
}

/// Overwrites a part with spaces, so that all other places stay where they are.
fn blank(text: &mut String, part: Range<usize>) {
    let spaces: String = text[part.clone()].bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect();
    text.replace_range(part, &spaces);
}

/// The same key or header twice.
fn duplicate(text: &str, at: Range<usize>, header: bool) -> Diagnostic {
    let name = text[at.clone()].to_owned();
    let first = if header { earlier_header(text, at.start) } else { earlier_key(text, at.start, &name) };
    let mut fault = if header {
        Diagnostic::error("duplicate", format!("`{name}` is there twice"))
            .at(at, "this header was used before")
            .help("every name is defined once: rename one of the two, or take one away")
    } else {
        Diagnostic::error("duplicate", format!("the key `{name}` is there twice"))
            .at(at, "second time")
            .help("a key has one value: take one of the two away")
    };
    if let Some(first) = first {
        fault = fault.also(within(text, &first), "first time here");
    }
    fault
}

/// A place of no width, or a line end, is hard to see: show the word or sign before it instead.
fn visible(text: &str, at: Range<usize>) -> Range<usize> {
    let at = within(text, &at);
    if !text[at.clone()].trim().is_empty() {
        let shown = text[at.clone()].lines().next().unwrap_or_default().trim_end();
        return at.start..at.start + shown.len();
    }
    let start = line_start(text, at.start);
    let before = text[start..at.start].trim_end();
    let word = before.len() - before.trim_end_matches(|sign: char| sign.is_alphanumeric() || "_-".contains(sign)).len();
    let shown = word.max(before.chars().next_back().map_or(0, char::len_utf8));
    start + before.len() - shown..start + before.len()
}

/// The line a byte is in, if that line is a `[header]`.
fn header_line(text: &str, byte: usize) -> Option<&str> {
    let start = text[..byte].rfind('\n').map_or(0, |newline| newline + 1);
    let line = text[start..].lines().next().unwrap_or_default().trim();
    line.starts_with('[').then_some(line)
}

/// Whether no header stands between two places.
fn same_section(text: &str, header_at: usize, byte: usize) -> bool {
    let (from, to) = (header_at.min(byte), header_at.max(byte));
    text[from..to].lines().skip(1).all(|line| !line.trim_start().starts_with('['))
}

fn earlier_header(text: &str, byte: usize) -> Option<Range<usize>> {
    let name = |line: &str| line.trim().split(']').next().map(|name| name.replace(char::is_whitespace, ""));
    let wanted = name(header_line(text, byte)?)?;
    let line_start = text[..byte].rfind('\n').map_or(0, |newline| newline + 1);
    let mut start = 0;
    for line in text[..line_start].split_inclusive('\n') {
        if name(line).as_deref() == Some(&wanted) {
            let indent = line.len() - line.trim_start().len();
            return Some(start + indent..start + line.trim_end().len());
        }
        start += line.len();
    }
    None
}

/// The nearest `key =` before a place, where a key may stand.
fn earlier_key(text: &str, byte: usize, key: &str) -> Option<Range<usize>> {
    let mut before = &text[..byte];
    while let Some(at) = before.rfind(key) {
        let preceded = before[..at].chars().next_back().is_none_or(|sign| sign.is_whitespace() || "{,".contains(sign));
        let followed = text[at + key.len()..].trim_start_matches([' ', '\t']).starts_with('=');
        if preceded && followed && !key.is_empty() {
            return Some(at..at + key.len());
        }
        before = &before[..at];
        if key.is_empty() {
            return None;
        }
    }
    None
}

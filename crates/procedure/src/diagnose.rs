//! Faults of a procedure file, and how they are shown to the person who has to mend them.
//!
//! Holds the fault as data ([`Diagnostic`]), its picture with the place underlined ([`render`]) and its JSON form
//! for editors and checks ([`to_json`]). Finds no faults itself: that is [`crate::load`].
//!
//! **Invariant:** every fault has a place, a title that says what is wrong in plain words, and lies inside the text
//! it was found in. Any fault can be shown beside any text without a panic.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use serde::Serialize;

/// How grave a fault is.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The procedure cannot be used.
    Error,
    /// The procedure can be used, but something in it is probably not meant so.
    Warning,
}

/// A place in the file and what is said about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Bytes of the file.
    pub at: Range<usize>,
    /// What is said beside the place.
    pub text: String,
    /// Whether this is the fault itself, or a place that explains it.
    pub primary: bool,
}

/// A fault of a procedure file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// How grave it is.
    pub severity: Severity,
    /// Its stable code, such as `missing-key`.
    pub code: &'static str,
    /// What is wrong, in plain words.
    pub title: String,
    /// Where; the first primary one is the place of the fault.
    pub labels: Vec<Label>,
    /// How to mend it.
    pub help: Vec<String>,
}

impl Diagnostic {
    /// A fault that makes the procedure unusable.
    pub fn error(code: &'static str, title: impl Into<String>) -> Self {
        Self { severity: Severity::Error, code, title: title.into(), labels: Vec::new(), help: Vec::new() }
    }

    /// Something that is probably not meant so.
    pub fn warning(code: &'static str, title: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(code, title) }
    }

    /// The place of the fault, and what was expected there.
    #[must_use]
    pub fn at(mut self, at: Range<usize>, text: impl Into<String>) -> Self {
        self.labels.push(Label { at, text: text.into(), primary: true });
        self
    }

    /// Another place that explains the fault.
    #[must_use]
    pub fn also(mut self, at: Range<usize>, text: impl Into<String>) -> Self {
        self.labels.push(Label { at, text: text.into(), primary: false });
        self
    }

    /// How to mend it.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// Where the fault is.
    pub fn place(&self) -> Range<usize> {
        let primary = self.labels.iter().find(|label| label.primary).or_else(|| self.labels.first());
        primary.map_or(0..0, |label| label.at.clone())
    }
}

/// Shows faults with file, line and column, the line underlined, and how to mend them; then how many there are.
///
/// With `colour` the text carries terminal colours. No faults give the empty text.
pub fn render(file_name: &str, text: &str, diagnostics: &[Diagnostic], colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let file_name = one_line(file_name);
    let mut shown = String::new();
    for diagnostic in diagnostics {
        let level = match diagnostic.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let labels: Vec<Label> =
            diagnostic.labels.iter().map(|label| Label { at: within(text, &label.at), ..label.clone() }).collect();
        // Only the lines concerned are handed over, so that a long file with many faults stays quick to show.
        let first = labels.iter().map(|label| label.at.start).min().unwrap_or(0);
        let last = labels.iter().map(|label| label.at.end).max().unwrap_or(0);
        let from = text[..first].rfind('\n').map_or(0, |newline| newline + 1);
        let to = text[last..].find('\n').map_or(text.len(), |newline| last + newline);
        let line = 1 + text[..from].matches('\n').count();
        let lines = Lines::new(&text[from..to]);
        let snippet = Snippet::source(lines.text.as_str()).line_start(line).path(file_name.as_str()).annotations(
            labels.iter().map(|label| {
                let kind = if label.primary { AnnotationKind::Primary } else { AnnotationKind::Context };
                kind.span(lines.place(label.at.start - from)..lines.place(label.at.end - from))
                    .label(label.text.as_str())
            }),
        );
        let group = level
            .primary_title(diagnostic.title.as_str())
            .id(diagnostic.code)
            .element(snippet)
            .elements(diagnostic.help.iter().map(|help| Level::HELP.message(help.as_str())));
        shown.push_str(&renderer.render(&[group]));
        shown.push_str("\n\n");
    }
    if !diagnostics.is_empty() {
        shown.push_str(&format!("{} in {file_name}\n", counted(diagnostics)));
    }
    shown
}

/// Lines of the file as they are shown: without a byte order mark, with plain line ends.
struct Lines {
    text: String,
    /// Where something was left out, and how many bytes.
    left_out: Vec<(usize, usize)>,
}

impl Lines {
    fn new(part: &str) -> Self {
        let mut lines = Self { text: String::with_capacity(part.len()), left_out: Vec::new() };
        for (at, character) in part.char_indices() {
            let unseen = character == '\u{feff}'
                || character == '\r' && matches!(part.as_bytes().get(at + 1), None | Some(b'\n'));
            if unseen {
                lines.left_out.push((at, character.len_utf8()));
            } else {
                lines.text.push(character);
            }
        }
        lines
    }

    fn place(&self, byte: usize) -> usize {
        let before: usize = self.left_out.iter().filter(|(at, _)| *at < byte).map(|(_, length)| length).sum();
        byte - before
    }
}

/// "3 errors, 1 warning"
fn counted(diagnostics: &[Diagnostic]) -> String {
    let count = |severity: Severity, word: &str| {
        let n_found = diagnostics.iter().filter(|diagnostic| diagnostic.severity == severity).count();
        (n_found > 0).then(|| format!("{n_found} {word}{}", if n_found == 1 { "" } else { "s" }))
    };
    let parts: Vec<String> =
        [count(Severity::Error, "error"), count(Severity::Warning, "warning")].into_iter().flatten().collect();
    parts.join(", ")
}

#[derive(Serialize)]
struct JsonDiagnostic<'a> {
    file: &'a str,
    code: &'a str,
    severity: &'static str,
    message: &'a str,
    #[serde(flatten)]
    place: JsonPlace,
    labels: Vec<JsonLabel<'a>>,
    help: &'a [String],
}

#[derive(Serialize)]
struct JsonLabel<'a> {
    #[serde(flatten)]
    place: JsonPlace,
    primary: bool,
    text: &'a str,
}

#[derive(Serialize)]
struct JsonPlace {
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    byte_start: usize,
    byte_end: usize,
}

/// The faults as one JSON array, for editors and automatic checks.
///
/// Each is an object:
///
/// | key                      | meaning                                                                      |
/// |--------------------------|------------------------------------------------------------------------------|
/// | `file`                   | the file name that was given                                                 |
/// | `code`                   | the stable code, such as `missing-key`                                              |
/// | `severity`               | `error` or `warning`                                                         |
/// | `message`                | what is wrong, one sentence                                                  |
/// | `line`, `column`         | where it begins; both from 1, columns in characters (not bytes)              |
/// | `end_line`, `end_column` | where it ends; the column is the one after the last character                |
/// | `byte_start`, `byte_end` | the same place in bytes from the start of the file, the end not included     |
/// | `labels`                 | every place: the same six numbers, `primary` (true: the fault), and `text`   |
/// | `help`                   | sentences that say how to mend it                                            |
pub fn to_json(file_name: &str, text: &str, diagnostics: &[Diagnostic]) -> String {
    let all: Vec<JsonDiagnostic> = diagnostics
        .iter()
        .map(|diagnostic| JsonDiagnostic {
            file: file_name,
            code: diagnostic.code,
            severity: match diagnostic.severity {
                Severity::Error => "error",
                Severity::Warning => "warning",
            },
            message: &diagnostic.title,
            place: json_place(text, &diagnostic.place()),
            labels: diagnostic
                .labels
                .iter()
                .map(|label| JsonLabel {
                    place: json_place(text, &label.at),
                    primary: label.primary,
                    text: &label.text,
                })
                .collect(),
            help: &diagnostic.help,
        })
        .collect();
    // Texts and numbers always have a JSON form; were that ever untrue, an empty list would hide faults.
    serde_json::to_string_pretty(&all).unwrap_or_else(|fault| format!("[{{\"message\":\"{fault}\"}}]"))
}

fn json_place(text: &str, at: &Range<usize>) -> JsonPlace {
    let at = within(text, at);
    let (line, column) = line_and_column(text, at.start);
    let (end_line, end_column) = line_and_column(text, at.end);
    JsonPlace { line, column, end_line, end_column, byte_start: at.start, byte_end: at.end }
}

/// Line and column of a byte, both from 1, the column in characters. A byte order mark has no column.
pub fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let byte = within(text, &(byte..byte)).start;
    let line_start = text[..byte].rfind('\n').map_or(0, |newline| newline + 1);
    let line = 1 + text[..line_start].matches('\n').count();
    let column = 1 + text[line_start..byte].chars().filter(|character| *character != '\u{feff}').count();
    (line, column)
}

/// The nearest range inside the text that cuts no character.
pub fn within(text: &str, at: &Range<usize>) -> Range<usize> {
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

fn one_line(file_name: &str) -> String {
    file_name.chars().map(|character| if character.is_control() { ' ' } else { character }).collect()
}

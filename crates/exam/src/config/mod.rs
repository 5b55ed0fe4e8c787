//! The exam file: methods, trials, time limits, the rule that passes.
//!
//! Holds reading the file ([`check`], [`check_with`]) with the same diagnostics as procedures have, and what it means once
//! checked ([`Exam`]). The handbook of the file is `crates/exam/EXAM.md`.
//!
//! Knows no disk: text comes in.
//!
//! **Invariant:** whatever the text, this returns. Either there is an exam, or there is at least one error.

mod model;
mod reader;
mod sections;

use procedure::diagnose::Diagnostic;
use procedure::{Procedure, Severity};
use toml::de::DeTable;

pub use model::*;

use reader::{Reader, inside};

/// The version of the exam file this program reads.
pub const LANGUAGE: u32 = 1;
/// The longest file, in bytes.
pub const LONGEST_FILE: usize = 1 << 18;

/// More faults than this are not shown: nobody mends them all at once.
const MOST_FAULTS: usize = 100;

/// What came of reading an exam file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// The exam, unless there is an error.
    pub exam: Option<Exam>,
    /// Every fault, in the order of the file; shown by `procedure::diagnose`.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads and checks the text of an exam file by itself: whether its procedures have the steps it names is not asked.
/// `file_name` is not opened.
///
/// ```
/// let text = "[exam]\ntitle = \"Friday\"\nsystem = \"SI\"\n\n[[method]]\nid = \"slump\"\n";
/// let exam = exam::config::check("exam.toml", text).exam.unwrap();
/// assert_eq!((exam.title.as_str(), exam.methods[0].trials_at_most), ("Friday", 2));
///
/// let checked = exam::config::check("exam.toml", &text.replace("title", "tilte"));
/// assert_eq!(checked.diagnostics[0].help[0], "did you mean `title`?");
/// ```
pub fn check(file_name: &str, text: &str) -> Checked {
    checked(file_name, text, None)
}

/// Reads and checks an exam file beside the procedures: methods, unit systems, steps and limits it names must be there.
pub fn check_with<'p>(file_name: &str, text: &str, procedures: impl Fn(&str) -> Option<&'p Procedure>) -> Checked {
    checked(file_name, text, Some(&procedures))
}

/// Finds a procedure by its id.
type Find<'f, 'p> = &'f dyn Fn(&str) -> Option<&'p Procedure>;

fn checked<'p>(file_name: &str, text: &str, find: Option<Find<'_, 'p>>) -> Checked {
    let (exam, mut diagnostics) = read(file_name, text, find);
    for label in diagnostics.iter_mut().flat_map(|diagnostic| &mut diagnostic.labels) {
        label.at = inside(text, label.at.clone());
    }
    let in_order = |found: &Diagnostic| (found.place().start, found.severity, found.place().end);
    diagnostics.sort_by_key(in_order);
    let sound = diagnostics.iter().all(|found| found.severity != Severity::Error);
    if diagnostics.len() > MOST_FAULTS {
        diagnostics.sort_by_key(|found| found.severity);
        diagnostics.truncate(MOST_FAULTS);
        diagnostics.sort_by_key(in_order);
        let last = diagnostics.last().map_or(0..0, Diagnostic::place);
        diagnostics.push(
            Diagnostic::warning("more-faults", format!("there are more faults than the {MOST_FAULTS} shown here"))
                .at(last, "the last one shown")
                .help("mend these first, then check the file again"),
        );
    }
    Checked { exam: exam.filter(|_| sound), diagnostics }
}

fn read<'p>(file_name: &str, text: &str, find: Option<Find<'_, 'p>>) -> (Option<Exam>, Vec<Diagnostic>) {
    if text.len() > LONGEST_FILE {
        let fault = Diagnostic::error("too-large", "this file is too large for an exam file")
            .at(0..0, format!("{} bytes; at most {LONGEST_FILE} are read", text.len()))
            .help("check that this is the right file");
        return (None, vec![fault]);
    }
    if text.trim_start_matches('\u{feff}').trim().is_empty() {
        let fault = Diagnostic::error("empty-text", "this file is empty")
            .at(0..0, "expected an exam file")
            .help("begin with [exam], and below it the title: title = \"Practical exam, spring class\"");
        return (None, vec![fault]);
    }
    // The procedure language's own reader says what is wrong with TOML itself, in the same words for every kind of file.
    let mut faults = procedure::check(file_name, text).diagnostics;
    faults.retain(|fault| matches!(fault.code, "not-toml" | "too-large" | "duplicate"));
    if faults.iter().any(|fault| fault.code != "duplicate") {
        return (None, faults);
    }
    let (root, _) = DeTable::parse_recoverable(text);
    let mut reader = Reader { text, faults };
    let exam = sections::exam(&mut reader, root.get_ref(), find);
    (exam, reader.faults)
}

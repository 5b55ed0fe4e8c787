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

use procedure::Procedure;
use procedure::diagnose::Diagnostic;
use procedure::reading::{Reader, in_order, not_toml, unreadable};
use toml::de::DeTable;

pub use model::*;

use reader::MANNER;

/// The version of the exam file this program reads.
pub const LANGUAGE: u32 = 1;
/// The longest file, in bytes.
pub const LONGEST_FILE: usize = 1 << 18;

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
pub fn check(_file_name: &str, text: &str) -> Checked {
    checked(text, None)
}

/// Reads and checks an exam file beside the procedures: methods, unit systems, steps and limits it names must be there.
pub fn check_with<'p>(_file_name: &str, text: &str, procedures: impl Fn(&str) -> Option<&'p Procedure>) -> Checked {
    checked(text, Some(&procedures))
}

/// Finds a procedure by its id.
type Find<'f, 'p> = &'f dyn Fn(&str) -> Option<&'p Procedure>;

fn checked<'p>(text: &str, find: Option<Find<'_, 'p>>) -> Checked {
    let (exam, mut diagnostics) = read(text, find);
    let sound = in_order(text, &mut diagnostics);
    Checked { exam: exam.filter(|_| sound), diagnostics }
}

fn read<'p>(text: &str, find: Option<Find<'_, 'p>>) -> (Option<Exam>, Vec<Diagnostic>) {
    let begin = "begin with [exam], and below it the title: title = \"Practical exam, spring class\"";
    if let Some(fault) = unreadable(text, LONGEST_FILE, "an exam file", begin) {
        return (None, vec![fault]);
    }
    let faults = not_toml(text);
    if faults.iter().any(|fault| fault.code != "duplicate") {
        return (None, faults);
    }
    let (root, _) = DeTable::parse_recoverable(text);
    let mut reader = Reader { text, faults, manner: MANNER };
    let exam = sections::exam(&mut reader, root.get_ref(), find);
    (exam, reader.faults)
}

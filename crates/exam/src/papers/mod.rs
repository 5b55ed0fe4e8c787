//! What is handed out after an exam: a paper for each candidate, a paper on the class.
//!
//! Here: which words stand on them, taken from the trials, the rule and the procedures. Not here: how a paper is set
//! ([`sheet::paper`]), where it goes.
//!
//! **Invariant:** nothing is judged here: every verdict is an [`crate::Outcome`] or a [`crate::Standing`], every figure
//! one of [`crate::class`]. With [`Names::LeftOut`] no name of the roster or of a rater is on any paper, nor any words
//! somebody typed during the exam.

mod candidate;
mod class;
mod words;

#[cfg(test)]
mod invented;
#[cfg(test)]
mod tests;

#[cfg(test)]
use crate::{Event, How, Mark, TrialId, config, roster, sheets};
use crate::{Names, State};

pub use candidate::render as candidate;
pub use class::{of as class_of, render as class};

/// What a candidate's file is called, without its ending: "candidate-07". Names are never part of it.
pub fn file_stem(state: &State, candidate: usize) -> String {
    let plain = |number: &str| -> String {
        number.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect()
    };
    let all = &state.roster().candidates;
    let stem = all.get(candidate).map(|candidate| plain(&candidate.number)).unwrap_or_default();
    // Two numbers may differ only in what a file's name does without.
    let is_alone = all.iter().filter(|other| plain(&other.number) == stem).count() == 1;
    if is_alone { format!("candidate-{stem}") } else { format!("candidate-{stem}-place-{}", candidate + 1) }
}

/// Said at the foot of every paper.
pub(crate) const PRACTICE: &str =
    "A mock exam: practice before an examination, not an examination, and no certification follows from it.";

/// Said where words were left out.
pub(crate) const LEFT_OUT: &str =
    "Names are left out, and with them notes and reasons, which are free words and may hold names.";

/// The closing lines.
pub(crate) fn foot(names: Names) -> Vec<String> {
    let left_out = (names == Names::LeftOut).then_some(LEFT_OUT);
    [Some(PRACTICE), left_out].into_iter().flatten().map(str::to_owned).collect()
}

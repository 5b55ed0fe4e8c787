//! The words that go out: one cue is one line, a start word for machines and a text for people.
//!
//! **Invariant:** a cue is exactly one line. Whatever stands in its text, no control character goes out.

use std::fmt;

/// One line out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cue {
    /// The start word, one of [`WORDS`].
    pub word: &'static str,
    /// What is said.
    pub text: String,
}

impl Cue {
    /// A cue of `word` that says `text`.
    pub fn new(word: &'static str, text: impl Into<String>) -> Self {
        Self { word, text: text.into() }
    }
}

impl fmt::Display for Cue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word)?;
        if !self.text.is_empty() {
            f.write_str(" ")?;
        }
        for c in self.text.chars() {
            fmt::Write::write_char(f, if c.is_control() { ' ' } else { c })?;
        }
        Ok(())
    }
}

/// Every start word with what it says, in the order of `LINES.md`.
pub const WORDS: &[(&str, &str)] = &[
    ("SIMULATED", "the time is not real; said once at the start"),
    ("NOTICE", "what comes before any tool: local codes, the specification, the current edition"),
    ("METHOD", "id, unit system, title"),
    ("RESUMED", "the run goes on after it was left"),
    ("RECORDED", "the act is on the disk; how many entries are there now"),
    ("NOT-RECORDED", "the act is taken but not on the disk; what failed and what to do"),
    ("REFUSED", "the act is not taken, and why; nothing has changed"),
    ("DESPITE", "the refused act can be done all the same, with a reason"),
    ("ERROR", "the line was not understood; nothing has changed"),
    ("STAGE", "id, title: another part of the test"),
    ("STEP", "id, what to do"),
    ("CAUTION", "what can hurt at this step"),
    ("SLIP", "the usual slip at this step"),
    ("WHY", "more about this step"),
    ("COUNT", "step, what is counted and how many are asked"),
    ("COUNTED", "step, how many were given"),
    ("ASK", "reading, question, what may be answered"),
    ("ADD", "tally, when to add one"),
    ("TALLY", "tally, how many so far"),
    ("TURNED", "the position now, how often, the longest so far"),
    ("CLOCK", "clock, least or most or reminder, time left, what it is"),
    ("DUE", "clock, what its moment means"),
    ("PROMPT", "what to do again while the step lasts"),
    ("SET", "round, number, the value compared, whether it stands still"),
    ("ROUND", "round, its value, whether it agrees with the one before"),
    ("FINDING", "something the rules say about what was done"),
    ("ENDED", "discard or void, the cause: the attempt is over without a result"),
    ("AGAIN", "how the next attempt is begun"),
    ("ATTEMPT", "number of the attempt that begins"),
    ("RESULT", "result, value as reported, title"),
    ("TERM", "sign, exact value, what it is"),
    ("EXACT", "result, the sum before it is rounded, how it is rounded"),
    ("PRESS", "what the big key would do now"),
    ("UNDONE", "the act taken back"),
    ("REDONE", "the act that happens after all"),
    ("BACK", "step the run went back to after a correction"),
    ("REMARK", "a remark on the record"),
    ("READING", "number to correct it by, moment, attempt, reading, value"),
    ("LIST", "step, how it stands, what to do"),
    ("FOLDER", "where the run is recorded now"),
    ("HELP", "a word that may come in, and what it does"),
    ("CLOSED", "the run is closed"),
    ("LEFT", "the program ends; the run can be resumed"),
    ("SAMPLE", "the sample's name, its tests"),
    ("FOCUS", "the run lines without a name are for"),
    ("BEGUN", "the name of a test's run: its journal is on the disk"),
    ("KNOWN", "what the bench knew and told the run"),
    ("BENCH", "how a run stands, its soonest clock, its next act"),
    ("WINDOW", "limit, how it stands, what it is"),
    ("NEAR", "limit, how much is left: it closes soon"),
    ("OVER", "limit: the time is over in a test that is not under way"),
    ("REPEAT", "whether a discarded test may be repeated on this sample"),
    ("VERDICT", "result, where it stands, the result beside its limit, and what follows"),
    ("ADDED", "a check test that belongs to the sample now"),
    ("PAPER", "finding or remark: a certification or a calibration"),
    ("STALE", "something this run was told that no longer stands where it came from"),
];

//! What is said: the spoken form of a step, of a time, of a result.
//!
//! Here: from the run to words a voice can say. Not here: when they are said.
//!
//! **Invariant:** whatever is said here also stands on the screen.

use engine::{Run, Tick, TimeCue};

/// What is said when the open step is reached, or the run has ended or has its result: the whole and a short form of at
/// most some two seconds.
pub fn prompt(_run: &Run, _now: Tick) -> Option<(String, String)> {
    None
}

/// What is said of a time.
pub fn of_time(_run: &Run, _cue: &TimeCue) -> String {
    String::new()
}

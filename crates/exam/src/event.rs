//! What can happen in a practical exam. Only what happened; marks that a clock gives and results are computed.
//!
//! Here: the events as they are written down, with names and never with places in a list. Not here: what follows from
//! them ([`crate::State`]).
//!
//! **Invariant:** every event names its trial.

use std::fmt;

use serde::{Deserialize, Serialize};

/// The name of a trial, such as `07/slump/1`; the second rater's sheet of it is `07/slump/1/b`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct TrialId(pub String);

impl fmt::Display for TrialId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// What is said about one act.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Done as it should be.
    Done,
    /// Left out, or done wrongly.
    Missed,
    /// Told aloud instead of done, where that is allowed.
    Told,
    /// The rater looked elsewhere: neither done nor missed.
    NotSeen,
}

impl Mark {
    /// The mark in a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Mark::Done => "done",
            Mark::Missed => "missed",
            Mark::Told => "told aloud",
            Mark::NotSeen => "not seen",
        }
    }
}

/// How a trial ended.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "end", rename_all = "kebab-case", deny_unknown_fields)]
pub enum How {
    /// The candidate came to the end.
    Finished,
    /// Broken off: given up, or stopped by the rater. It counts as a trial, and is not passed.
    Stopped {
        /// Why.
        reason: String,
    },
    /// Broken off through no fault of the candidate, such as a broken meter. It counts as no trial.
    Void {
        /// Why.
        reason: String,
    },
}

/// Something that happened at a station.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Event {
    /// A candidate begins a method.
    Began {
        /// The new trial; see [`crate::State::new_trial`].
        trial: TrialId,
        /// The candidate's number on the roster.
        candidate: String,
        /// The method's id.
        method: String,
        /// The station, from 1.
        station: u16,
        /// Who marks.
        rater: String,
        /// The trial whose performance this sheet marks a second time.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        scores: Option<TrialId>,
    },
    /// A rater marks an act. A later mark for the same act replaces it.
    Marked {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        item: String,
        /// What is said about it.
        mark: Mark,
    },
    /// The clock of an act starts.
    ClockStarted {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        item: String,
    },
    /// The clock of an act stops.
    ClockStopped {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        item: String,
    },
    /// While the clock runs: the other position is taken, or the next settling reading.
    Turned {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        item: String,
    },
    /// So many have been counted, all together in this round.
    Counted {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        item: String,
        /// How many.
        n: u32,
    },
    /// A note, about an act or about the whole trial.
    Noted {
        /// Whose.
        trial: TrialId,
        /// The act's key.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        item: Option<String>,
        /// Its words.
        text: String,
    },
    /// A mark is set against the clock, or after the end, with the reason. The item may also be a window
    /// (`limit:ID`) or the time of the whole trial (`time`).
    Overruled {
        /// Whose.
        trial: TrialId,
        /// The key of the act, the window or the time.
        item: String,
        /// What counts instead.
        mark: Mark,
        /// Why.
        reason: String,
    },
    /// The trial ends.
    Ended {
        /// Whose.
        trial: TrialId,
        /// How.
        how: How,
    },
    /// The last act of this trial is taken back. A move is not: it is put right by another move.
    Undone {
        /// Whose.
        trial: TrialId,
    },
    /// The trial goes on at another station.
    Moved {
        /// Whose.
        trial: TrialId,
        /// The station, from 1.
        station: u16,
    },
}

impl Event {
    /// The trial it belongs to.
    pub fn trial(&self) -> &TrialId {
        match self {
            Event::Began { trial, .. }
            | Event::Marked { trial, .. }
            | Event::ClockStarted { trial, .. }
            | Event::ClockStopped { trial, .. }
            | Event::Turned { trial, .. }
            | Event::Counted { trial, .. }
            | Event::Noted { trial, .. }
            | Event::Overruled { trial, .. }
            | Event::Ended { trial, .. }
            | Event::Undone { trial }
            | Event::Moved { trial, .. } => trial,
        }
    }

    /// The key of the act it is about, if it is about one.
    pub fn item(&self) -> Option<&str> {
        match self {
            Event::Marked { item, .. }
            | Event::ClockStarted { item, .. }
            | Event::ClockStopped { item, .. }
            | Event::Turned { item, .. }
            | Event::Counted { item, .. }
            | Event::Overruled { item, .. }
            | Event::Noted { item: Some(item), .. } => Some(item),
            _ => None,
        }
    }
}

//! What can happen in a run. Only what happened; what follows from it is computed.

use procedure::{ReadingId, StepId};
use quantity::Decimal;

use crate::moment::{Moment, Tick};

/// Something a person did or saw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// A hold or a timed act was begun.
    Begin {
        /// Which.
        step: StepId,
    },
    /// So many strokes or taps have been given.
    Count {
        /// In which step.
        step: StepId,
        /// How many, all together.
        n: u32,
    },
    /// The other position was taken: upright or upside down.
    Turn {
        /// In which step.
        step: StepId,
    },
    /// The act is done, the hold is over, the count is as asked, the attempt given up as the rule says.
    Done {
        /// Which.
        step: StepId,
        /// The reason for going on although the procedure says no.
        despite: Option<String>,
    },
    /// A reading was taken, an observation made, a name written down.
    Answer {
        /// In which step.
        step: StepId,
        /// Which reading.
        reading: ReadingId,
        /// What it was.
        entry: Entry,
        /// When the person began to enter it. Lateness is judged by this moment, earliness by the
        /// moment of the event, so that typing costs nobody a test.
        seen: Tick,
        /// The reason for going on although the procedure says no.
        despite: Option<String>,
    },
    /// One more on a tally.
    Add {
        /// In which step.
        step: StepId,
        /// Which tally.
        reading: ReadingId,
    },
    /// Something went wrong that the procedure names.
    Incident {
        /// Index in the edition's incidents.
        incident: u16,
    },
    /// The person gives the attempt up.
    Discard {
        /// Why.
        reason: String,
    },
    /// The next attempt is begun.
    Again,
    /// The run is closed: nothing more will be done on it.
    Close,
    /// The last act is taken back.
    Undo,
    /// The act taken back last happens after all.
    Redo,
    /// An earlier answer was wrong.
    Correct {
        /// The number of the event that gave it.
        seq: u32,
        /// What it should have been.
        entry: Entry,
        /// Why.
        reason: String,
    },
    /// A remark for the record.
    Remark {
        /// Its words.
        text: String,
    },
    /// A moment of the sample was marked elsewhere: by another run on the same bench.
    ///
    /// It is no act of the person at this run, so nothing takes it back; a later one for the same moment replaces it.
    Known {
        /// Index in the edition's moments.
        moment: u16,
        /// When it was, on this run's own count. It may lie before the run was opened, if the run was opened at a
        /// tick that leaves room for it; what lies ahead of the event counts as the event's own moment.
        at: Moment,
    },
}

/// What was entered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// A number on the instrument's marks.
    Number(Decimal),
    /// An answer of a choice, by its place in the list.
    Choice(u16),
    /// Words.
    Words(String),
    /// One on a tally.
    One,
}

//! Why an event was refused, in the words of the trade.

use procedure::StepId;
use quantity::{NotAReading, Span};

/// Why an event was refused. Nothing has changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The step comes later.
    #[error("{because}")]
    NotYet {
        /// What was tried.
        step: StepId,
        /// The procedure's reason, or which step is open.
        because: String,
    },
    /// The step is behind us.
    #[error("“{title}” is done already. Take it back with undo, or correct its reading.")]
    AlreadyDone {
        /// What was tried.
        step: StepId,
        /// Its instruction.
        title: String,
    },
    /// Something that lasts has not lasted long enough.
    #[error("{left} to go: {what} takes at least {at_least}.")]
    TooEarly {
        /// What lasts.
        what: String,
        /// The least time.
        at_least: Span,
        /// How much is left, rounded up to whole seconds.
        left: Span,
    },
    /// A hold with turns ends in its free position.
    #[error("It is still {down}: bring it {up} first.")]
    StillDown {
        /// The limited position.
        down: String,
        /// The free one.
        up: String,
    },
    /// Ended before it was begun.
    #[error("Begin it first; its time starts then.")]
    NotBegun,
    /// Begun twice.
    #[error("It is running already.")]
    AlreadyBegun,
    /// A count is not as asked.
    #[error("{given} {of} given, {asked} asked{hint}.")]
    CountOff {
        /// What is counted.
        of: String,
        /// How many were given.
        given: u32,
        /// How many are asked, in words.
        asked: String,
        /// What to do: how many are missing, or that too many cannot be taken out again.
        hint: String,
    },
    /// Not a reading of this instrument.
    #[error("{0}")]
    NotAReading(NotAReading),
    /// Words where a number is asked, and the like.
    #[error("{asked}")]
    WrongKind {
        /// What is asked.
        asked: String,
    },
    /// A rule of the procedure refuses this answer, or a condition for the step does not hold.
    #[error("{because}")]
    Rule {
        /// The procedure's reason.
        because: String,
    },
    /// The next attempt must change something, and this answer does not.
    #[error("{because}")]
    NoChange {
        /// The procedure's reason.
        because: String,
    },
    /// The time for it is over.
    #[error("{because}")]
    TooLate {
        /// What has run out.
        because: String,
    },
    /// This step takes something else.
    #[error("This step takes {takes}.")]
    NotHere {
        /// What it takes.
        takes: String,
    },
    /// A tally has reached its most.
    #[error("{at_most} is the most that can be counted here. A stuck key? Take one back with undo.")]
    TallyFull {
        /// The most.
        at_most: u32,
    },
    /// That cannot happen in this stage.
    #[error("That cannot happen in this part of the test.")]
    NoIncidentHere,
    /// The procedure has no such moment of the sample.
    #[error("This procedure marks no such moment of the sample.")]
    NoSuchMoment,
    /// The attempt has ended.
    #[error("This attempt has ended. Start again, or close the run.")]
    AttemptOver,
    /// The procedure names no way to start again after such an end.
    #[error("The procedure names no way to start again after this: close the run.")]
    NoWayAgain,
    /// The run is finished or closed.
    #[error("The run is closed; only its readings can still be corrected.")]
    RunClosed,
    /// The attempt is still going on.
    #[error("The attempt is still going on. Finish it, or discard it with a reason.")]
    StillGoing,
    /// Too many attempts.
    #[error("{at_most} attempts have been made; open a new run for another sample.")]
    NoMoreAttempts {
        /// The most.
        at_most: u32,
    },
    /// Nothing to take back.
    #[error("There is nothing to take back.")]
    NothingToUndo,
    /// Nothing was taken back.
    #[error("Nothing was taken back.")]
    NothingToRedo,
    /// No such answer to correct.
    #[error("There is no such reading in this run.")]
    NothingToCorrect,
    /// The correction changes nothing.
    #[error("That is the value already on record.")]
    SameValue,
    /// A reason was asked and none given.
    #[error("Say why, in a few words: it stays on the record.")]
    NoReason,
    /// A moment before the last one.
    #[error("The clock ran back by {by}. The run's time never does: check the clock and try again.")]
    TimeRanBack {
        /// By how much.
        by: Span,
    },
}

impl Refused {
    /// Whether the person may go on all the same, with a reason that stays on the record.
    pub fn may_be_overruled(&self) -> bool {
        matches!(
            self,
            Refused::TooEarly { .. }
                | Refused::CountOff { .. }
                | Refused::Rule { .. }
                | Refused::NoChange { .. }
                | Refused::TooLate { .. }
        )
    }
}

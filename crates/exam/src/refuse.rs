//! Why an event of an exam was refused, in the words of the people who stand there.

use quantity::Span;

/// Why an event was refused. Nothing has changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// The roster has no such number.
    #[error("Nobody on the roster has the number {number}. Pick the candidate from the list.")]
    NoSuchCandidate {
        /// What was given.
        number: String,
    },
    /// The exam has no such method.
    #[error("{method} is no method of this exam.")]
    NoSuchMethod {
        /// What was given.
        method: String,
    },
    /// The exam has no such station.
    #[error("There is no station {station}: the exam has {stations}.")]
    NoSuchStation {
        /// What was given.
        station: u16,
        /// How many there are.
        stations: u16,
    },
    /// No such rater.
    #[error("{rater} is not among the raters of this exam: {raters}.")]
    NoSuchRater {
        /// What was given.
        rater: String,
        /// Those who are.
        raters: String,
    },
    /// No such trial.
    #[error("There is no trial {trial}.")]
    NoSuchTrial {
        /// What was given.
        trial: String,
    },
    /// The name of the trial is taken.
    #[error("There is a trial {trial} already.")]
    TrialNameTaken {
        /// The name.
        trial: String,
    },
    /// No such act on this sheet.
    #[error("The sheet of {method} has no act {item}.")]
    NoSuchItem {
        /// The method.
        method: String,
        /// What was given.
        item: String,
    },
    /// Somebody is at this station.
    #[error("Station {station} is in use by {who}. End that trial or move it first.")]
    StationTaken {
        /// The station.
        station: u16,
        /// Who is there.
        who: String,
    },
    /// The candidate is busy.
    #[error("{who} is at station {station} with {method}. End that trial first.")]
    CandidateBusy {
        /// Who.
        who: String,
        /// Where.
        station: u16,
        /// With what.
        method: String,
    },
    /// Passed already.
    #[error("{who} has passed {method} at trial {number}.")]
    AlreadyPassed {
        /// Who.
        who: String,
        /// What.
        method: String,
        /// Which trial.
        number: u32,
    },
    /// No trial is left.
    #[error("{who} has had {trials} of {method}: a re-examination is due.")]
    NoTrialLeft {
        /// Who.
        who: String,
        /// "both trials", "the one trial", "all 3 trials".
        trials: String,
        /// What.
        method: String,
    },
    /// The trial before is not decided.
    #[error(
        "Trial {number} of {who} is still open: {what}. Undo its end and mark them, or overrule each with a reason; then the next trial."
    )]
    TrialOpen {
        /// Who.
        who: String,
        /// Which trial.
        number: u32,
        /// What is not decided.
        what: String,
    },
    /// Telling is not allowed for this act.
    #[error("This act must be done; telling it aloud does not count here.")]
    NotTellable,
    /// The trial is over.
    #[error("This trial has ended. Undo takes the end back; a mark can still be overruled with a reason.")]
    TrialEnded,
    /// The clock has judged.
    #[error("The clock says: {because}. Overrule it with a reason if it was done all the same.")]
    ClockSaysNo {
        /// What the clock says.
        because: String,
    },
    /// Overruled already.
    #[error("This was overruled with a reason: {reason}. Undo that, or overrule it anew.")]
    IsOverruled {
        /// The reason.
        reason: String,
    },
    /// The act has no clock.
    #[error("This act has no clock: mark it.")]
    NoClock,
    /// It has no positions.
    #[error("This act has no two positions, and no readings at intervals.")]
    NoTurns,
    /// It has nothing to count.
    #[error("Nothing is counted in this act: mark it.")]
    NoCount,
    /// More than anybody counts.
    #[error("{n} is more than anybody counts here.")]
    CountTooHigh {
        /// What was given.
        n: u32,
    },
    /// The clock runs already.
    #[error("Its clock is running already.")]
    ClockRuns,
    /// The clock does not run.
    #[error("Its clock is not running: start it first.")]
    ClockStands,
    /// A window or a time is done or missed, nothing else.
    #[error("A time is kept or not: overrule it as done or as missed.")]
    TimeIsKeptOrNot,
    /// Nothing to overrule.
    #[error("There is no time limit for this trial.")]
    NoTimeLimit,
    /// A reason was asked and none given.
    #[error("Say why, in a few words: it stays on the sheet.")]
    NoReason,
    /// A note without words.
    #[error("The note has no words.")]
    NoWords,
    /// Nothing to take back.
    #[error("There is nothing to take back in this trial.")]
    NothingToUndo,
    /// A later trial rests on this one.
    #[error(
        "Trial {later} has been begun since; the end of this one stays. A mark can still be overruled with a reason."
    )]
    LaterTrial {
        /// The later trial.
        later: u32,
    },
    /// Another sheet rests on this one.
    #[error("{rater} marks the same performance: take that sheet back first.")]
    ScoredTwice {
        /// The second rater.
        rater: String,
    },
    /// The second sheet is for another performance.
    #[error("A second sheet is for the same candidate and method: {who}, {method}.")]
    OtherPerformance {
        /// Whose performance it is.
        who: String,
        /// Of what.
        method: String,
    },
    /// The same rater twice.
    #[error("{rater} marks this performance already: a second sheet needs another rater.")]
    SameRater {
        /// Who.
        rater: String,
    },
    /// A second sheet of a second sheet, or of a trial taken back.
    #[error("A second sheet belongs to the first rater's sheet of a trial that counts.")]
    NotTheFirstSheet,
    /// A moment before the last one.
    #[error("The clock ran back by {by}. The exam's time never does: check the clock and try again.")]
    TimeRanBack {
        /// By how much.
        by: Span,
    },
}

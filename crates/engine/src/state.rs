//! The state of a run: a small cursor, and lists that only grow.
//!
//! Because the lists only grow, taking an act back is cutting them to their former lengths and
//! putting the old cursor in place: undo costs the same however long the run is.

use procedure::{AgainId, Edition, EndingKind, ReadingId, StepId};
use quantity::{Exact, Span};

use crate::event::Entry;
use crate::moment::{Moment, Tick};

/// Where a run stands.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Phase {
    /// A step is open.
    AtStep,
    /// The attempt has ended without a result; another may be begun.
    Ended,
    /// There is a result.
    Finished,
    /// The run was closed.
    Closed {
        /// Whether it was closed with a result.
        with_result: bool,
    },
}

/// Everything about the present moment that is not a list.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) struct Cursor {
    pub phase: Phase,
    pub attempt: u16,
    pub step: StepId,
    pub round: u16,
    pub opened: Moment,
    pub begun: Option<Tick>,
    pub count: Option<u32>,
    pub is_down: bool,
    pub turned: Tick,
    pub n_turns: u32,
    pub longest_down: Span,
    /// How many of the readings that go with a settling reading have been taken.
    pub n_also: u8,
    /// Whether the settling reading of the present set has been taken.
    pub in_set: bool,
    /// When it was taken.
    pub set_at: Tick,
    /// Where the sets of the open step start.
    pub sets_from: u32,
    /// Where the readings of the open step start.
    pub taken_from: u32,
    /// Where this attempt starts in each list.
    pub base: Lengths,
}

/// Lengths of the lists.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub(crate) struct Lengths {
    pub taken: u32,
    pub passed: u32,
    pub sets: u32,
    pub rounds: u32,
    pub backs: u32,
    pub findings: u32,
    pub endings: u32,
    pub starts: u32,
    pub remarks: u32,
    pub known: u32,
}

/// A reading, observation or name on record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// The number of the event that gave it.
    pub seq: u32,
    /// When.
    pub at: Moment,
    /// In which attempt, from 1.
    pub attempt: u16,
    /// In which round of a repeated stage, from 1.
    pub round: u16,
    /// In which step.
    pub step: StepId,
    /// Which reading.
    pub reading: ReadingId,
    /// What it was; after a correction, what it should have been.
    pub entry: Entry,
    /// Whether it was carried over from the attempt before.
    pub carried: bool,
}

/// A step that was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Passed {
    /// Which.
    pub step: StepId,
    /// In which attempt.
    pub attempt: u16,
    /// In which round.
    pub round: u16,
    /// When it was opened.
    pub opened: Moment,
    /// When it was begun, for something that lasts.
    pub begun: Option<Tick>,
    /// When it was done.
    pub done: Moment,
    /// What was counted; `None` if the count was declared as asked.
    pub count: Option<u32>,
    /// How often the other position was taken.
    pub n_turns: u32,
    /// The longest time in the limited position.
    pub longest_down: Span,
}

/// One complete set of settling readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Set {
    /// When its settling reading was taken.
    pub at: Tick,
    /// In which step.
    pub step: StepId,
    /// In which round.
    pub round: u16,
    /// The compared value.
    pub value: Exact,
    /// True if it differs from the set before by no more than allowed.
    pub steady: bool,
}

/// The outcome of one round of a repeated stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Round {
    /// Index of the stage.
    pub stage: u16,
    /// Which round, from 1.
    pub round: u16,
    /// In which attempt.
    pub attempt: u16,
    /// The compared value.
    pub value: Exact,
}

/// Something the rules say about what the person did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// When it came about.
    pub at: Moment,
    /// In which attempt.
    pub attempt: u16,
    /// At which step.
    pub step: StepId,
    /// What it is.
    pub what: FindingKind,
}

/// What a finding is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FindingKind {
    /// A rule of the procedure noted something.
    Rule {
        /// In its words.
        text: String,
    },
    /// A limit across steps was passed.
    Late {
        /// Index in the edition's limits.
        limit: u16,
        /// How long it took.
        took: Span,
        /// In the procedure's words.
        text: String,
    },
    /// The limited position lasted too long.
    DownTooLong {
        /// How long.
        lasted: Span,
        /// In the procedure's words.
        text: String,
    },
    /// Something lasted longer than allowed.
    HeldTooLong {
        /// How long.
        lasted: Span,
        /// The most.
        at_most: Span,
    },
    /// The person went on although the procedure said no.
    Overruled {
        /// What the procedure said.
        refusal: String,
        /// The person's reason.
        reason: String,
    },
    /// A reading was corrected.
    Corrected {
        /// The number of the event that gave it.
        seq: u32,
        /// Which reading.
        reading: ReadingId,
        /// What was on record before.
        from: String,
        /// What is on record now.
        to: String,
        /// Why.
        reason: String,
        /// The step the run went back to, if the corrected value leads another way.
        back_to: Option<StepId>,
    },
}

/// An attempt that was begun.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Started {
    /// When.
    pub at: Moment,
    /// Its first step.
    pub from: StepId,
    /// How it was to be begun again, after the first.
    pub again: Option<AgainId>,
}

/// An attempt that ended without a result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ended {
    /// When.
    pub at: Moment,
    /// Which attempt.
    pub attempt: u16,
    /// At which step.
    pub step: StepId,
    /// Discarded or void.
    pub kind: EndingKind,
    /// Why.
    pub because: String,
    /// How to start again, if the procedure says.
    pub again: Option<AgainId>,
    /// Whether it was the person's own decision.
    pub own: bool,
}

/// A remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// When.
    pub at: Moment,
    /// At which step.
    pub step: StepId,
    /// Its words.
    pub text: String,
}

/// The whole state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct State {
    pub cursor: Cursor,
    pub taken: Vec<Taken>,
    pub passed: Vec<Passed>,
    pub sets: Vec<Set>,
    pub rounds: Vec<Round>,
    /// Steps the run was sent back from.
    pub backs: Vec<StepId>,
    pub findings: Vec<Finding>,
    pub endings: Vec<Ended>,
    pub starts: Vec<Started>,
    pub remarks: Vec<Remark>,
    /// Moments of the sample as they were told, for all attempts; of several for one moment the last counts.
    pub known: Vec<(u16, Moment)>,
}

/// Enough to put a state back.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) struct Mark {
    cursor: Cursor,
    lengths: Lengths,
}

impl State {
    pub(crate) fn lengths(&self) -> Lengths {
        Lengths {
            taken: self.taken.len() as u32,
            passed: self.passed.len() as u32,
            sets: self.sets.len() as u32,
            rounds: self.rounds.len() as u32,
            backs: self.backs.len() as u32,
            findings: self.findings.len() as u32,
            endings: self.endings.len() as u32,
            starts: self.starts.len() as u32,
            remarks: self.remarks.len() as u32,
            known: self.known.len() as u32,
        }
    }

    pub(crate) fn mark(&self) -> Mark {
        Mark { cursor: self.cursor, lengths: self.lengths() }
    }

    pub(crate) fn back_to(&mut self, mark: Mark) {
        let Mark { cursor, lengths } = mark;
        self.cursor = cursor;
        self.taken.truncate(lengths.taken as usize);
        self.passed.truncate(lengths.passed as usize);
        self.sets.truncate(lengths.sets as usize);
        self.rounds.truncate(lengths.rounds as usize);
        self.backs.truncate(lengths.backs as usize);
        self.findings.truncate(lengths.findings as usize);
        self.endings.truncate(lengths.endings as usize);
        self.starts.truncate(lengths.starts as usize);
        self.remarks.truncate(lengths.remarks as usize);
        self.known.truncate(lengths.known as usize);
    }

    /// Readings of this attempt.
    pub(crate) fn taken_now(&self) -> &[Taken] {
        &self.taken[self.cursor.base.taken as usize..]
    }

    /// Readings of the attempt before.
    pub(crate) fn taken_before(&self) -> &[Taken] {
        let before = self.cursor.attempt.wrapping_sub(1);
        let end = self.cursor.base.taken as usize;
        let start = self.taken[..end].partition_point(|taken| taken.attempt < before);
        &self.taken[start..end]
    }

    /// Steps done in this attempt.
    pub(crate) fn passed_now(&self) -> &[Passed] {
        &self.passed[self.cursor.base.passed as usize..]
    }

    /// A moment of the sample as it was told from outside.
    pub(crate) fn known(&self, moment: u16) -> Option<Moment> {
        self.known.iter().rev().find(|known| known.0 == moment).map(|known| known.1)
    }

    /// When `step` was done in this attempt; if it was not, when the moment it marks was, as told.
    pub(crate) fn done_or_known(&self, edition: &Edition, step: StepId) -> Option<Moment> {
        let done = self.passed_now().iter().rev().find(|passed| passed.step == step).map(|passed| passed.done);
        done.or_else(|| self.known(edition.step(step).moment?))
    }

    /// Whether nothing has been begun, counted or read since the open step was opened.
    pub(crate) fn untouched(&self) -> bool {
        let cursor = &self.cursor;
        cursor.begun.is_none()
            && cursor.count.is_none()
            && !cursor.in_set
            && self.taken.len() == cursor.taken_from as usize
    }

    /// Settling sets of the open step since it was opened.
    pub(crate) fn sets_here(&self) -> &[Set] {
        &self.sets[self.cursor.sets_from as usize..]
    }
}

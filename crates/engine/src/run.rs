//! A run: the accepted events, and the one function that takes the next.
//!
//! Here: taking events, taking them back, correcting them. Not here: what an event does to the state (`transition`).
//!
//! **Invariant:** a refused event changes nothing, and the accepted ones with their moments give the same state again.

use std::sync::Arc;

use procedure::expr::Facts;
use procedure::{Edition, ReadingId, Repeat, StepId, Text};
use quantity::{Exact, Ties};

use crate::event::{Entry, Event};
use crate::facts::{View, show_entry};
use crate::moment::Moment;
use crate::refuse::Refused;
use crate::state::{
    Cursor, Ended, Finding, FindingKind, Mark, Passed, Phase, Remark, Round, Set, Started, State, Taken,
};
use crate::transition::{Transition, check_entry, first_state, rounds_wanted};

/// Corrections one run may have: each keeps what was there before, so their number is bounded.
const CORRECTIONS_AT_MOST: u32 = 200;

/// One performance of a procedure on one sample.
///
/// ```
/// # use std::sync::Arc;
/// # use engine::{Event, Moment, Run, Tick};
/// # fn demo(edition: Arc<procedure::Edition>) -> Result<(), engine::Refused> {
/// let mut run = Run::open(edition, quantity::Ties::Even, Moment::default());
/// let step = run.offer(Tick(0)).step.map(|(id, _)| id);
/// if let Some(step) = step {
///     run.apply(Event::Done { step, despite: None }, Moment { tick: Tick(1_000), ..Moment::default() })?;
/// }
/// # Ok(())
/// # }
/// ```
#[derive(Clone, Debug)]
pub struct Run {
    pub(crate) edition: Arc<Edition>,
    pub(crate) ties: Ties,
    pub(crate) opened: Moment,
    pub(crate) state: State,
    live: Vec<Live>,
    history: Vec<Before>,
    redo: Vec<Live>,
    accepted: u32,
    n_corrections: u32,
    last: Moment,
}

/// An accepted event that has not been taken back. After a correction it holds the corrected entry.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Live {
    seq: u32,
    at: Moment,
    event: Event,
    /// For a correction: the finding it left.
    note: Option<FindingKind>,
}

impl Live {
    /// Whether it was told from outside: no act, so nothing takes it back.
    fn is_told(&self) -> bool {
        matches!(self.event, Event::Known { .. })
    }
}

/// How to take an event back.
#[derive(Clone, Debug)]
enum Before {
    Mark(Mark),
    Whole(Box<Whole>),
}

#[derive(Clone, Debug)]
struct Whole {
    state: State,
    live: Vec<Live>,
    history: Vec<Before>,
}

/// What an accepted event brought about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Applied {
    /// The number of the event, from 0.
    pub seq: u32,
    /// How many findings there were before it.
    pub findings_before: usize,
    /// The step a correction sent the run back to.
    pub back_to: Option<StepId>,
}

impl Run {
    /// A fresh run of `edition`, opened at `at`. `ties` is the rounding rule of the agency.
    pub fn open(edition: Arc<Edition>, ties: Ties, at: Moment) -> Self {
        let state = first_state(&edition, at);
        Self {
            edition,
            ties,
            opened: at,
            state,
            live: Vec::new(),
            history: Vec::new(),
            redo: Vec::new(),
            accepted: 0,
            n_corrections: 0,
            last: at,
        }
    }

    /// Takes `event`, which happened at `at`, or says why not.
    ///
    /// # Errors
    ///
    /// [`Refused`], and nothing has changed: too early, too late, not on a mark, out of order, or
    /// against a rule of the procedure. [`Refused::may_be_overruled`] tells whether the person may
    /// go on all the same with a reason.
    pub fn apply(&mut self, event: Event, at: Moment) -> Result<Applied, Refused> {
        if at.tick < self.last.tick {
            return Err(Refused::TimeRanBack { by: self.last.tick.since(at.tick) });
        }
        let seq = self.accepted;
        let findings_before = self.state.findings.len();
        let mut back_to = None;
        match event {
            Event::Known { moment, .. } => {
                if matches!(self.phase(), Phase::Closed { .. }) {
                    return Err(Refused::RunClosed);
                }
                if moment as usize >= self.edition.moments.len() {
                    return Err(Refused::NoSuchMoment);
                }
                // No act of this person: what they took back can still happen after all.
                self.take(Live { seq, at, event, note: None })?;
            }
            Event::Undo => self.undo()?,
            Event::Redo => self.redo()?,
            Event::Correct { .. } => {
                back_to = self.correct(Live { seq, at, event, note: None })?;
                self.redo.clear();
            }
            _ => {
                self.take(Live { seq, at, event, note: None })?;
                self.redo.clear();
            }
        }
        self.last = at;
        self.accepted += 1;
        Ok(Applied { seq, findings_before, back_to })
    }

    fn take(&mut self, live: Live) -> Result<(), Refused> {
        let mark = self.state.mark();
        let mut step = Transition { edition: &self.edition, state: &mut self.state, seq: live.seq, at: live.at };
        if let Err(refused) = step.take(&live.event) {
            self.state.back_to(mark);
            return Err(refused);
        }
        self.history.push(Before::Mark(mark));
        self.live.push(live);
        Ok(())
    }

    /// Takes the last act back. What was told from outside after it stays in force: it is taken again.
    fn undo(&mut self) -> Result<(), Refused> {
        let last = self.live.iter().rposition(|live| !live.is_told()).ok_or(Refused::NothingToUndo)?;
        let told = self.live.split_off(last + 1);
        if let Some(Before::Mark(mark)) = self.history.drain(last + 1..).next() {
            self.state.back_to(mark);
        }
        let before = self.history.pop().ok_or(Refused::NothingToUndo)?;
        let taken_back = self.live.pop();
        match before {
            Before::Mark(mark) => self.state.back_to(mark),
            Before::Whole(whole) => {
                let Whole { state, live, history } = *whole;
                self.state = state;
                self.live = live;
                self.history = history;
                self.n_corrections = self.n_corrections.saturating_sub(1);
            }
        }
        self.redo.extend(taken_back);
        told.into_iter().try_for_each(|live| self.take(live))
    }

    fn redo(&mut self) -> Result<(), Refused> {
        let live = self.redo.pop().ok_or(Refused::NothingToRedo)?;
        let again = live.clone();
        let outcome = match live.event {
            Event::Correct { .. } => self.correct(Live { note: None, ..live }).map(|_| ()),
            _ => self.take(live),
        };
        if outcome.is_err() {
            self.redo.push(again);
        }
        outcome
    }

    /// Puts a corrected entry in place and performs all events again; where one is no longer
    /// possible the run has come to the fork, and what followed is set aside.
    fn correct(&mut self, mut correction: Live) -> Result<Option<StepId>, Refused> {
        let Event::Correct { seq, entry, reason } = &correction.event else { return Err(Refused::NothingToCorrect) };
        if reason.trim().is_empty() {
            return Err(Refused::NoReason);
        }
        if self.n_corrections >= CORRECTIONS_AT_MOST {
            return Err(Refused::NothingToCorrect);
        }
        let at = self.live.iter().position(|live| live.seq == *seq).ok_or(Refused::NothingToCorrect)?;
        let mut lives = self.live.clone();
        let Event::Answer { step, reading, entry: on_record, .. } = &mut lives[at].event else {
            return Err(Refused::NothingToCorrect);
        };
        let (step, reading) = (*step, *reading);
        let entry = check_entry(&self.edition, reading, entry)?;
        if entry == *on_record {
            return Err(Refused::SameValue);
        }
        let from = show_entry(&self.edition, reading, on_record);
        let to = show_entry(&self.edition, reading, &entry);
        *on_record = entry;

        let mut state = first_state(&self.edition, self.opened);
        let mut history = Vec::with_capacity(lives.len() + 1);
        let mut kept = Vec::with_capacity(lives.len() + 1);
        let mut back_to = None;
        for (n, live) in lives.into_iter().enumerate() {
            let stays = matches!(live.event, Event::Remark { .. }) || live.is_told();
            if back_to.is_some() && !stays {
                continue;
            }
            let mark = state.mark();
            let mut transition = Transition { edition: &self.edition, state: &mut state, seq: live.seq, at: live.at };
            let outcome = match &live.note {
                Some(note) => {
                    transition.find(note.clone());
                    Ok(())
                }
                None => transition.take(&live.event),
            };
            match outcome {
                Ok(()) => {
                    history.push(Before::Mark(mark));
                    kept.push(live);
                }
                // The corrected answer itself is against a rule: the correction is refused.
                Err(refused) if n == at => return Err(refused),
                Err(_) => {
                    state.back_to(mark);
                    back_to = Some(state.cursor.step);
                }
            }
        }
        // A step can be open again although nothing had followed it yet.
        let place = |cursor: &Cursor| (cursor.attempt, cursor.round, cursor.step, cursor.phase != Phase::AtStep);
        if back_to.is_none() && place(&state.cursor) < place(&self.state.cursor) {
            back_to = Some(state.cursor.step);
        }
        let note = FindingKind::Corrected { seq: *seq, reading, from, to, reason: reason.trim().to_owned(), back_to };
        state.findings.push(Finding { at: correction.at, attempt: state.cursor.attempt, step, what: note.clone() });
        correction.note = Some(note);
        kept.push(correction);
        let whole = Whole {
            state: std::mem::replace(&mut self.state, state),
            live: std::mem::replace(&mut self.live, kept),
            history: std::mem::take(&mut self.history),
        };
        history.push(Before::Whole(Box::new(whole)));
        self.history = history;
        self.n_corrections += 1;
        Ok(back_to)
    }

    /// The edition this run follows.
    pub fn edition(&self) -> &Edition {
        &self.edition
    }
    /// The rounding rule for ties.
    pub fn ties(&self) -> Ties {
        self.ties
    }
    /// When the run was opened.
    pub fn opened(&self) -> Moment {
        self.opened
    }
    /// The moment of the last accepted event.
    pub fn last(&self) -> Moment {
        self.last
    }
    /// How many events were accepted.
    pub fn n_accepted(&self) -> u32 {
        self.accepted
    }
    /// Where it stands.
    pub fn phase(&self) -> Phase {
        self.state.cursor.phase
    }
    /// The present attempt, from 1.
    pub fn attempt(&self) -> u16 {
        self.state.cursor.attempt
    }
    /// A moment of the sample as it was told from outside, if it was; it stays for all attempts.
    pub fn known(&self, moment: u16) -> Option<Moment> {
        self.state.known(moment)
    }
    /// A moment of the sample as a step of this run marked it in the present attempt.
    pub fn marked(&self, moment: u16) -> Option<Moment> {
        let marks = |passed: &&Passed| self.edition.step(passed.step).moment == Some(moment);
        self.state.passed_now().iter().rev().find(marks).map(|passed| passed.done)
    }
    /// Everything read so far, all attempts.
    pub fn taken(&self) -> &[Taken] {
        &self.state.taken
    }
    /// Everything read in this attempt, what was carried over included.
    pub fn taken_now(&self) -> &[Taken] {
        self.state.taken_now()
    }
    /// Every step done, all attempts.
    pub fn passed(&self) -> &[Passed] {
        &self.state.passed
    }
    /// All settling sets.
    pub fn sets(&self) -> &[Set] {
        &self.state.sets
    }
    /// The settling sets of the open step.
    pub fn sets_here(&self) -> &[Set] {
        self.state.sets_here()
    }
    /// The rounds of repeated stages.
    pub fn rounds(&self) -> &[Round] {
        &self.state.rounds
    }
    /// How many rounds the open stage has, where their number is read and known by now.
    pub fn rounds_wanted(&self) -> Option<u32> {
        match &self.edition.stage_of(self.state.cursor.step).repeat {
            Some(Repeat::Times(times)) => rounds_wanted(times, &self.view()),
            _ => None,
        }
    }
    /// All findings.
    pub fn findings(&self) -> &[Finding] {
        &self.state.findings
    }
    /// Attempts begun.
    pub fn starts(&self) -> &[Started] {
        &self.state.starts
    }
    /// Attempts that ended without a result.
    pub fn endings(&self) -> &[Ended] {
        &self.state.endings
    }
    /// Remarks.
    pub fn remarks(&self) -> &[Remark] {
        &self.state.remarks
    }
    /// Whether there is an act to take back.
    pub fn can_undo(&self) -> bool {
        self.last_act().is_some()
    }
    /// Whether an act was taken back that may happen after all.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }
    /// The event that undo would take back.
    pub fn last_act(&self) -> Option<&Event> {
        self.live.iter().rev().find(|live| !live.is_told()).map(|live| &live.event)
    }
    /// A text of the procedure with its places filled in.
    pub fn say(&self, text: &Text) -> String {
        self.view().say(text)
    }
    /// An entry as a person reads it.
    pub fn show(&self, reading: ReadingId, entry: &Entry) -> String {
        show_entry(&self.edition, reading, entry)
    }
    /// The latest entry for a reading in this attempt.
    pub fn latest(&self, reading: ReadingId) -> Option<&Taken> {
        self.state.taken_now().iter().rev().find(|taken| taken.reading == reading)
    }
    /// What has been counted on a tally in this attempt.
    pub fn tally(&self, reading: ReadingId) -> Exact {
        self.view().sum(reading)
    }

    pub(crate) fn view(&self) -> View<'_> {
        View { edition: &self.edition, state: &self.state }
    }
    /// True if two runs stand in the same place, whatever way led there.
    pub fn same_state(&self, other: &Run) -> bool {
        self.state == other.state
    }
}

//! One trial: its acts, and what they come to.
//!
//! Here: what one accepted act changes in its trial, and taking the last one back. Not here: whether an act is accepted
//! ([`super::check`]).
//!
//! **Invariant:** a trial is a function of its acts that stand; taking one back is doing the others again.

use engine::Moment;

use crate::event::{Event, How, Mark, TrialId};
use crate::marksheet::MarkSheet;

/// Where a trial stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TrialPhase {
    /// Under way.
    Open,
    /// Over.
    Ended {
        /// When.
        at: Moment,
        /// How.
        how: How,
    },
    /// Begun by mistake and taken back: it counts for nothing.
    Withdrawn,
}

/// One performance of one method by one candidate, as one rater marks it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trial {
    /// Its name.
    pub id: TrialId,
    /// The candidate's place on the roster.
    pub candidate: usize,
    /// The method's place in the exam.
    pub method: usize,
    /// Which trial of this method it is for the candidate, from 1.
    pub number: u32,
    /// The station.
    pub station: u16,
    /// Who marks.
    pub rater: String,
    /// The place of the first rater's sheet of the same performance, on a second one.
    pub scores: Option<usize>,
    /// When it began.
    pub began: Moment,
    /// Where it stands.
    pub phase: TrialPhase,
    pub(crate) acts: Vec<(Event, Moment)>,
    pub(crate) records: Vec<Record>,
    pub(crate) windows: Vec<Option<Overrule>>,
    pub(crate) time: Option<Overrule>,
    pub(crate) notes: Vec<Note>,
    /// The act that was touched last.
    pub(crate) last_item: Option<usize>,
}

/// A mark set with a reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overrule {
    /// What counts.
    pub mark: Mark,
    /// Why.
    pub reason: String,
    /// When.
    pub at: Moment,
}

/// A note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// The place of the act it is about.
    pub item: Option<usize>,
    /// Its words.
    pub text: String,
    /// When.
    pub at: Moment,
}

/// Once that a clock ran.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ClockRun {
    /// When it started.
    pub started: Moment,
    /// The turns, or the readings after the first.
    pub turns: Vec<Moment>,
    /// When it stopped.
    pub stopped: Option<Moment>,
}

impl ClockRun {
    /// Whether it is in the limited position: it starts there, and each turn changes it.
    pub fn is_down(&self) -> bool {
        self.stopped.is_none() && self.turns.len().is_multiple_of(2)
    }
    /// Since when it is in its position.
    pub fn turned(&self) -> Moment {
        self.turns.last().copied().unwrap_or(self.started)
    }
}

/// What was noted down for one act.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(crate) struct Record {
    pub mark: Option<Mark>,
    /// When it was marked done first. Windows count from here: a mark mended later moves no window.
    pub first_done: Option<Moment>,
    pub runs: Vec<ClockRun>,
    /// The count of each round.
    pub counts: Vec<u32>,
    pub overruled: Option<Overrule>,
    /// When it was touched last.
    pub touched: Option<Moment>,
}

impl Record {
    pub(crate) fn is_running(&self) -> bool {
        self.runs.last().is_some_and(|run| run.stopped.is_none())
    }
}

impl Trial {
    pub(crate) fn blank(sheet: &MarkSheet, id: TrialId, at: Moment) -> Self {
        Self {
            id,
            candidate: 0,
            method: 0,
            number: 1,
            station: 1,
            rater: String::new(),
            scores: None,
            began: at,
            phase: TrialPhase::Open,
            acts: Vec::new(),
            records: vec![Record::default(); sheet.items.len()],
            windows: vec![None; sheet.windows.len()],
            time: None,
            notes: Vec::new(),
            last_item: None,
        }
    }

    /// Whether it counts as a trial of the candidate: not taken back, not broken off through no fault of theirs.
    pub fn counts(&self) -> bool {
        !matches!(self.phase, TrialPhase::Withdrawn | TrialPhase::Ended { how: How::Void { .. }, .. })
    }

    /// Whether it is under way.
    pub fn is_open(&self) -> bool {
        self.phase == TrialPhase::Open
    }

    /// The acts that stand after the beginning, in order.
    pub fn acts(&self) -> &[(Event, Moment)] {
        &self.acts
    }

    /// Notes, in order.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// The time limit overruled.
    pub fn time_overruled(&self) -> Option<&Overrule> {
        self.time.as_ref()
    }

    /// An accepted act: it stands from now on.
    pub(crate) fn take(&mut self, sheet: &MarkSheet, event: Event, at: Moment) {
        self.carry_out(sheet, &event, at);
        self.acts.push((event, at));
    }

    /// The last act is taken back; without any the trial itself is.
    pub(crate) fn take_back(&mut self, sheet: &MarkSheet) -> Option<Event> {
        let Some((undone, _)) = self.acts.pop() else {
            self.phase = TrialPhase::Withdrawn;
            return None;
        };
        let acts = std::mem::take(&mut self.acts);
        let blank = Trial::blank(sheet, self.id.clone(), self.began);
        let Trial { phase, records, windows, time, notes, last_item, .. } = blank;
        (self.phase, self.records, self.windows) = (phase, records, windows);
        (self.time, self.notes, self.last_item) = (time, notes, last_item);
        for (event, at) in &acts {
            self.carry_out(sheet, event, *at);
        }
        self.acts = acts;
        Some(undone)
    }

    fn carry_out(&mut self, sheet: &MarkSheet, event: &Event, at: Moment) {
        if let Event::Overruled { item, mark, reason, .. } = event {
            let overrule = Some(Overrule { mark: *mark, reason: reason.trim().to_owned(), at });
            if item == super::TIME {
                self.time = overrule;
            } else if let Some(window) = sheet.window(item) {
                self.windows[window] = overrule;
            } else if let Some(item) = sheet.item(item) {
                self.records[item].overruled = overrule;
            }
            return;
        }
        if let Event::Ended { how, .. } = event {
            self.phase = TrialPhase::Ended { at, how: how.clone() };
            return;
        }
        let place = event.item().and_then(|key| sheet.item(key));
        if let Event::Noted { text, .. } = event {
            self.notes.push(Note { item: place, text: text.trim().to_owned(), at });
            return;
        }
        let Some(place) = place else { return };
        self.last_item = Some(place);
        let record = &mut self.records[place];
        record.touched = Some(at);
        match event {
            Event::Marked { mark, .. } => {
                record.mark = Some(*mark);
                // A mark is the end of what was timed: nobody has a hand free for two keys.
                if let Some(run) = record.runs.last_mut() {
                    run.stopped.get_or_insert(at);
                }
                if *mark == Mark::Done {
                    record.first_done.get_or_insert(at);
                }
            }
            Event::ClockStarted { .. } => {
                record.runs.push(ClockRun { started: at, turns: Vec::new(), stopped: None });
            }
            Event::ClockStopped { .. } => {
                if let Some(run) = record.runs.last_mut() {
                    run.stopped = Some(at);
                }
            }
            Event::Turned { .. } => {
                if let Some(run) = record.runs.last_mut() {
                    run.turns.push(at);
                }
            }
            Event::Counted { n, .. } => match record.counts.last_mut() {
                // Counting goes up; a number that does not is the first of the next round.
                Some(last) if *last < *n => *last = *n,
                _ => record.counts.push(*n),
            },
            _ => {}
        }
    }
}

//! A trial as a screen or a sheet looks at it: acts, windows, clocks, the result.
//!
//! Here: questions about one trial at a moment. Not here: changing anything.

use engine::measured::is_over;
use engine::{Moment, Side, Tick};
use quantity::Span;

use super::State;
use super::judged::{Judged, judge};
use super::trial::{ClockRun, Overrule, Trial, TrialPhase};
use crate::config::MethodRule;
use crate::event::{Event, How, Mark};
use crate::marksheet::{Item, MarkSheet, Window};
use crate::outcome::{self, Outcome};
use crate::roster::Candidate;

/// A trial with all that belongs to it.
#[derive(Copy, Clone, Debug)]
pub struct TrialView<'s> {
    /// All trials.
    pub state: &'s State,
    /// This one.
    pub trial: &'s Trial,
    /// What is marked.
    pub sheet: &'s MarkSheet,
}

/// How one act stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemStatus<'s> {
    /// Its place on the sheet.
    pub at: usize,
    /// The act.
    pub item: &'s Item,
    /// The mark that counts; `None` as long as there is none.
    pub mark: Option<Mark>,
    /// What the clock or the counter says, or the reason of an overrule.
    pub because: Option<String>,
    /// The mark the rater gave.
    pub given: Option<Mark>,
    /// The mark the clock or the counter gave, with what it says.
    pub judged: Option<(Mark, String)>,
    /// The overrule.
    pub overruled: Option<&'s Overrule>,
    /// Every time its clock ran.
    pub runs: &'s [ClockRun],
    /// Whether its clock runs.
    pub is_running: bool,
    /// The count of the present round.
    pub count: Option<u32>,
    /// When it was touched last.
    pub touched: Option<Moment>,
}

impl ItemStatus<'_> {
    /// Whether it enters the result: asked of everybody, or marked although it is asked of some only.
    pub fn is_asked(&self) -> bool {
        !self.item.conditional || self.mark.is_some()
    }

    /// The mark without what was overruled: the rater's own, unless the clock says it was missed.
    pub fn own_mark(&self) -> Option<Mark> {
        match (&self.judged, self.given) {
            (Some((Mark::Missed, _)), _) => Some(Mark::Missed),
            (_, Some(given)) => Some(given),
            (Some((judged, _)), None) => Some(*judged),
            (None, None) => None,
        }
    }
}

/// How a window stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WindowStatus<'s> {
    /// Its place on the sheet.
    pub at: usize,
    /// The window.
    pub window: &'s Window,
    /// Where it stands by the clock.
    pub state: WindowState,
    /// The overrule.
    pub overruled: Option<&'s Overrule>,
    /// The mark that counts: done or missed; `None` if it is not judged.
    pub mark: Option<Mark>,
    /// What the clock says, or the reason of an overrule.
    pub because: Option<String>,
}

/// Where a window stands by the clock.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum WindowState {
    /// Its first act is not done, or one of its acts was not done at a moment anybody knows: nothing to judge.
    Unknown,
    /// It runs.
    Running {
        /// Since when.
        from: Tick,
        /// The last moment at which it is kept.
        due: Tick,
    },
    /// It was kept.
    Kept {
        /// How long it took.
        took: Span,
    },
    /// It was not.
    Late {
        /// How long it took.
        took: Span,
    },
}

/// A running clock.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Running<'s> {
    /// Whose.
    pub trial: &'s Trial,
    /// What runs.
    pub of: RunningOf,
    /// Whether it must be reached or must not be passed.
    pub side: Side,
    /// When it started.
    pub started: Tick,
    /// When it bites.
    pub due: Tick,
}

/// What a clock measures.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum RunningOf {
    /// The least time of an act, by its place.
    Least(usize),
    /// The most time of an act.
    Most(usize),
    /// The limited position of an act.
    Down(usize),
    /// The time until the next reading of an act.
    Reading(usize),
    /// A window, by its place.
    Window(usize),
    /// The time of the whole trial.
    Time,
}

impl<'s> TrialView<'s> {
    /// Whose trial it is.
    pub fn candidate(&self) -> &'s Candidate {
        &self.state.roster.candidates[self.trial.candidate]
    }

    /// The rules of its method.
    pub fn rule(&self) -> &'s MethodRule {
        &self.state.exam.methods[self.trial.method]
    }

    /// How an act stands.
    ///
    /// # Panics
    ///
    /// If the sheet has no such place.
    pub fn item(&self, at: usize) -> ItemStatus<'s> {
        let item = &self.sheet.items[at];
        let record = &self.trial.records[at];
        let counting = self.trial.is_open() && self.trial.last_item == Some(at);
        let judged = judge(item, record, counting);
        let overruled = record.overruled.as_ref();
        let (mark, because) = match (overruled, &judged, record.mark) {
            (Some(overrule), _, _) => (Some(overrule.mark), Some(overrule.reason.clone())),
            // A rater cannot give back what the clock took without saying why.
            (None, Some(Judged { mark: Mark::Missed, because }), _) => (Some(Mark::Missed), Some(because.clone())),
            (None, judged, Some(given)) => (Some(given), judged.as_ref().map(|judged| judged.because.clone())),
            (None, Some(judged), None) => (Some(judged.mark), Some(judged.because.clone())),
            (None, None, None) => (None, None),
        };
        ItemStatus {
            at,
            item,
            mark,
            because,
            given: record.mark,
            judged: judged.map(|judged| (judged.mark, judged.because)),
            overruled,
            runs: &record.runs,
            is_running: self.trial.is_open() && record.is_running(),
            count: record.counts.last().copied(),
            touched: record.touched,
        }
    }

    /// How every act stands, in order.
    pub fn items(&self) -> impl Iterator<Item = ItemStatus<'s>> + use<'s> {
        let view = *self;
        (0..self.sheet.items.len()).map(move |at| view.item(at))
    }

    /// When an act was done, as far as a window can know: its clock stopped, or it was marked done.
    fn done_at(&self, at: usize, first: bool) -> Option<Tick> {
        let status = self.item(at);
        let record = &self.trial.records[at];
        let stops = || record.runs.iter().filter_map(|run| run.stopped);
        let stopped = if first { stops().next() } else { stops().next_back() };
        if matches!(status.given, Some(Mark::Told | Mark::NotSeen | Mark::Missed)) {
            return None;
        }
        let counted = record.touched.filter(|_| status.mark == Some(Mark::Done));
        stopped.or(record.first_done).or(counted).map(|at| at.tick)
    }

    /// How a window stands.
    ///
    /// # Panics
    ///
    /// If the sheet has no such place.
    pub fn window(&self, at: usize) -> WindowStatus<'s> {
        let window = &self.sheet.windows[at];
        let is_open = self.trial.is_open();
        let state = match (self.done_at(window.from, true), self.done_at(window.to, false)) {
            (Some(from), Some(to)) if to >= from => {
                let took = to.since(from);
                if is_over(window.at_most, took) { WindowState::Late { took } } else { WindowState::Kept { took } }
            }
            (Some(from), None) if is_open && self.item(window.to).given.is_none() => {
                WindowState::Running { from, due: from.after(window.at_most) }
            }
            _ => WindowState::Unknown,
        };
        let overruled = self.trial.windows[at].as_ref();
        let (mark, because) = match (overruled, state) {
            (Some(overrule), _) => (Some(overrule.mark), Some(overrule.reason.clone())),
            (None, WindowState::Late { took }) => {
                let took = engine::measured::to_the_tenth(took, true);
                (Some(Mark::Missed), Some(format!("it took {took}; at most {}", window.at_most)))
            }
            (None, WindowState::Kept { took }) => {
                let took = engine::measured::to_the_tenth(took, false);
                (Some(Mark::Done), Some(format!("it took {took}")))
            }
            (None, WindowState::Running { .. } | WindowState::Unknown) => (None, None),
        };
        WindowStatus { at, window, state, overruled, mark, because }
    }

    /// How every window stands.
    pub fn windows(&self) -> impl Iterator<Item = WindowStatus<'s>> + use<'s> {
        let view = *self;
        (0..self.sheet.windows.len()).map(move |at| view.window(at))
    }

    /// How long the trial has taken at `now`, or took.
    pub fn took(&self, now: Tick) -> Span {
        match &self.trial.phase {
            TrialPhase::Ended { at, .. } => at.tick.since(self.trial.began.tick),
            TrialPhase::Open | TrialPhase::Withdrawn => now.since(self.trial.began.tick),
        }
    }

    /// The clocks that run, those of the acts first.
    pub fn clocks(&self) -> Vec<Running<'s>> {
        let trial = self.trial;
        let mut found = Vec::new();
        if !trial.is_open() {
            return found;
        }
        let mut push = |of, side, started: Tick, due| found.push(Running { trial, of, side, started, due });
        for (at, (item, record)) in self.sheet.items.iter().zip(&trial.records).enumerate() {
            let (Some(spec), Some(run)) = (&item.clock, record.runs.last().filter(|run| run.stopped.is_none())) else {
                continue;
            };
            let (started, turned) = (run.started.tick, run.turned().tick);
            if spec.by_readings {
                push(RunningOf::Reading(at), Side::AtLeast, turned, turned.after(spec.at_least));
                continue;
            }
            push(RunningOf::Least(at), Side::AtLeast, started, started.after(spec.at_least));
            if let Some(at_most) = spec.at_most {
                push(RunningOf::Most(at), Side::AtMost, started, started.after(at_most));
            }
            if let Some(down) = spec.down_at_most.filter(|_| run.is_down()) {
                push(RunningOf::Down(at), Side::AtMost, turned, turned.after(down));
            }
        }
        for status in self.windows() {
            if let WindowState::Running { from, due } = status.state {
                push(RunningOf::Window(status.at), Side::AtMost, from, due);
            }
        }
        if let Some(limit) = self.sheet.time_limit {
            push(RunningOf::Time, Side::AtMost, trial.began.tick, trial.began.tick.after(limit));
        }
        found
    }

    /// The next act after the place `after` that has no mark yet; from the top if there is none behind. Acts that are
    /// asked in some performances only are offered in their turn, and not again from the top.
    pub fn next_item(&self, after: Option<usize>) -> Option<usize> {
        let from = after.map_or(0, |after| after + 1);
        let unmarked = |at: &usize| self.item(*at).mark.is_none();
        let behind = (from..self.sheet.items.len()).find(unmarked);
        behind.or_else(|| {
            let upto = from.min(self.sheet.items.len());
            (0..upto).filter(|at| !self.sheet.items[*at].conditional).find(unmarked)
        })
    }

    /// How many acts are marked, of how many asked.
    pub fn progress(&self) -> (usize, usize) {
        let asked = || self.items().filter(ItemStatus::is_asked);
        (asked().filter(|status| status.mark.is_some()).count(), asked().count())
    }

    /// What would be taken back by an undo; `None` for the beginning of the trial itself.
    pub fn last_act(&self) -> Option<&'s Event> {
        self.trial.acts.last().map(|(event, _)| event)
    }

    /// The result by the rule.
    pub fn outcome(&self) -> Outcome {
        outcome::of(self)
    }

    /// How it ended, if it has.
    pub fn ended(&self) -> Option<(&'s How, Moment)> {
        match &self.trial.phase {
            TrialPhase::Ended { at, how } => Some((how, *at)),
            TrialPhase::Open | TrialPhase::Withdrawn => None,
        }
    }
}

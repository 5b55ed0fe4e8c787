//! All trials of an exam, and the one function that changes them.
//!
//! Here: [`State::apply`] for live use and replay alike, and the questions a screen asks about stations, candidates and
//! methods. Not here: what one trial looks like ([`TrialView`]), whether an act is accepted (`check`).
//!
//! **Invariant:** an event changes its own trial and nothing else. A refused event changes nothing.

mod check;
mod judged;
mod trial;
mod view;

use std::collections::BTreeMap;

use engine::{Moment, Tick};

use crate::config::Exam;
use crate::event::{Event, Mark, TrialId};
use crate::marksheet::MarkSheet;
use crate::outcome::{Outcome, Standing};
use crate::refuse::Refused;
use crate::roster::Roster;

pub use trial::{ClockRun, Note, Overrule, Trial, TrialPhase};
pub use view::{ItemStatus, Running, RunningOf, TrialView, WindowState, WindowStatus};

/// The key of the time of a whole trial, where an act's key is asked.
pub const TIME: &str = "time";

/// All trials of an exam.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    pub(crate) exam: Exam,
    pub(crate) roster: Roster,
    pub(crate) sheets: Vec<MarkSheet>,
    trials: Vec<Trial>,
    by_id: BTreeMap<TrialId, usize>,
    /// The first raters' trials of each candidate and method, candidate by candidate.
    by_pair: Vec<Vec<usize>>,
    last: Option<Moment>,
}

/// What an accepted event did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Applied {
    /// Whose trial.
    pub trial: TrialId,
    /// At which station.
    pub station: u16,
    /// The place of the act it was about.
    pub item: Option<usize>,
    /// The mark of that act that counts now.
    pub mark: Option<Mark>,
    /// What the clock or the counter says of it, or the reason of an overrule.
    pub because: Option<String>,
    /// The result, when the trial ended with this, or a mark of a trial that has ended was changed.
    pub outcome: Option<Outcome>,
    /// What was taken back; the outer `Some` for every undo, the inner `None` if the trial itself was.
    pub undone: Option<Option<Event>>,
}

impl State {
    /// An exam before anybody begins. `sheets` are those of [`crate::sheets`], one for each method in order.
    pub fn open(exam: Exam, roster: Roster, sheets: Vec<MarkSheet>) -> Self {
        let pairs = roster.candidates.len() * sheets.len();
        Self {
            exam,
            roster,
            sheets,
            trials: Vec::new(),
            by_id: BTreeMap::new(),
            by_pair: vec![Vec::new(); pairs],
            last: None,
        }
    }

    /// Takes one event: the only way anything changes, live and at replay.
    ///
    /// # Errors
    ///
    /// [`Refused`], in words that say what to do instead. Nothing has changed then.
    pub fn apply(&mut self, event: Event, at: Moment) -> Result<Applied, Refused> {
        check::check(self, &event, at)?;
        self.last = Some(at);
        if let Event::Began { trial, candidate, method, station, rater, scores } = event {
            return Ok(self.begin(trial, [&candidate, &method], station, &rater, scores, at));
        }
        // `check` has found it.
        let Some(&n) = self.by_id.get(event.trial()) else {
            return Err(Refused::NoSuchTrial { trial: event.trial().to_string() });
        };
        let sheet = &self.sheets[self.trials[n].method];
        let trial = &mut self.trials[n];
        let item = event.item().and_then(|key| sheet.item(key));
        let mut undone = None;
        match event {
            Event::Undone { .. } => undone = Some(trial.take_back(sheet)),
            Event::Moved { station, .. } => trial.station = station,
            event => trial.take(sheet, event, at),
        }
        let item = item.or_else(|| undone.as_ref()?.as_ref()?.item().and_then(|key| sheet.item(key)));
        let view = self.view(n);
        let status = item.map(|at| view.item(at));
        Ok(Applied {
            trial: view.trial.id.clone(),
            station: view.trial.station,
            item,
            mark: status.as_ref().and_then(|status| status.mark),
            because: status.and_then(|status| status.because),
            outcome: view.ended().map(|_| view.outcome()),
            undone,
        })
    }

    /// Why `event` would be refused, without trying it.
    pub fn would_refuse(&self, event: &Event, at: Moment) -> Option<Refused> {
        check::check(self, event, at).err()
    }

    /// A new trial of a candidate in a method, both by name; `check` has found them.
    fn begin(
        &mut self,
        id: TrialId,
        [candidate, method]: [&str; 2],
        station: u16,
        rater: &str,
        scores: Option<TrialId>,
        at: Moment,
    ) -> Applied {
        let candidate = self.roster.candidate(candidate).unwrap_or_default();
        let method = self.exam.method(method).unwrap_or_default();
        let scores = scores.and_then(|first| self.by_id.get(&first).copied());
        let number = match scores {
            Some(first) => self.trials[first].number,
            None => self.counting(candidate, method).count() as u32 + 1,
        };
        let n = self.trials.len();
        self.trials.push(Trial {
            candidate,
            method,
            number,
            station,
            rater: rater.trim().to_owned(),
            scores,
            ..Trial::blank(&self.sheets[method], id.clone(), at)
        });
        self.by_id.insert(id.clone(), n);
        if scores.is_none() {
            let pair = self.pair(candidate, method);
            self.by_pair[pair].push(n);
        }
        Applied { trial: id, station, item: None, mark: None, because: None, outcome: None, undone: None }
    }

    fn pair(&self, candidate: usize, method: usize) -> usize {
        candidate * self.sheets.len() + method
    }

    /// The first raters' trials of a candidate in a method that count, in order.
    fn counting(&self, candidate: usize, method: usize) -> impl Iterator<Item = &Trial> {
        self.by_pair[self.pair(candidate, method)].iter().map(|n| &self.trials[*n]).filter(|trial| trial.counts())
    }

    pub(crate) fn view(&self, n: usize) -> TrialView<'_> {
        let trial = &self.trials[n];
        TrialView { state: self, trial, sheet: &self.sheets[trial.method] }
    }

    // ------------------------------------------------------------------ what a screen asks

    /// The exam.
    pub fn exam(&self) -> &Exam {
        &self.exam
    }

    /// The roster.
    pub fn roster(&self) -> &Roster {
        &self.roster
    }

    /// The sheets, one for each method in order.
    pub fn sheets(&self) -> &[MarkSheet] {
        &self.sheets
    }

    /// The moment of the last event.
    pub fn last(&self) -> Option<Moment> {
        self.last
    }

    /// A trial by its name.
    pub fn trial(&self, id: &TrialId) -> Option<TrialView<'_>> {
        self.by_id.get(id).map(|n| self.view(*n))
    }

    /// Every trial in the order in which they began, those taken back included.
    pub fn trials(&self) -> impl Iterator<Item = TrialView<'_>> {
        (0..self.trials.len()).map(|n| self.view(n))
    }

    /// The open trials at a station: one, or two and more when several raters mark the same performance.
    pub fn at_station(&self, station: u16) -> impl Iterator<Item = TrialView<'_>> {
        self.trials().filter(move |view| view.trial.is_open() && view.trial.station == station)
    }

    /// The first raters' trials of a candidate in a method that count, in order.
    pub fn trials_of(&self, candidate: usize, method: usize) -> impl Iterator<Item = TrialView<'_>> {
        let trials = &self.by_pair[self.pair(candidate, method)];
        trials.iter().map(|n| self.view(*n)).filter(|view| view.trial.counts())
    }

    /// The other raters' sheets of a first rater's trial.
    pub fn second_sheets(&self, first: &TrialId) -> impl Iterator<Item = TrialView<'_>> {
        let first = self.by_id.get(first).copied();
        self.trials().filter(move |view| first.is_some() && view.trial.scores == first && view.trial.counts())
    }

    /// How a candidate stands in a method, by places.
    pub fn standing(&self, candidate: usize, method: usize) -> Standing {
        let at_most = self.sheets[method].trials_at_most;
        Standing::of(self.trials_of(candidate, method), at_most)
    }

    /// The methods a candidate may begin now, by place, in the order of the exam; none while a trial is under way.
    pub fn may_begin(&self, candidate: usize) -> Vec<usize> {
        let busy = self.trials.iter().any(|trial| trial.is_open() && trial.candidate == candidate);
        let due = |method: &usize| matches!(self.standing(candidate, *method), Standing::Due { .. });
        if busy { Vec::new() } else { (0..self.sheets.len()).filter(due).collect() }
    }

    /// A free name for a new trial, for [`Event::Began`].
    pub fn new_trial(&self, candidate: &str, method: &str, scores: Option<&TrialId>) -> TrialId {
        let plain = match scores {
            // The second rater's sheet is b, the third's c.
            Some(first) => {
                let n = self.second_sheets(first).count().min(24) as u8;
                format!("{first}/{}", char::from(b'b' + n))
            }
            None => {
                let pair = self.roster.candidate(candidate).zip(self.exam.method(method));
                let had = pair.map_or(0, |(candidate, method)| self.counting(candidate, method).count());
                format!("{candidate}/{method}/{}", had + 1)
            }
        };
        // One that was taken back keeps its name, so that no mark of it can come to another.
        let mut id = TrialId(plain.clone());
        let mut n = 1;
        while self.by_id.contains_key(&id) {
            n += 1;
            id = TrialId(format!("{plain}~{n}"));
        }
        id
    }

    /// The clocks that run at all stations.
    pub fn clocks(&self) -> impl Iterator<Item = Running<'_>> {
        self.trials().filter(|view| view.trial.is_open()).flat_map(|view| view.clocks())
    }

    /// The earliest moment after `now` at which anything changes by itself; `None` if nothing does.
    pub fn next_wake(&self, now: Tick) -> Option<Tick> {
        self.clocks().map(|clock| clock.due).filter(|due| *due > now).min()
    }

    /// Everybody who marks or may: those the exam names, then others in the order in which they came up.
    pub fn raters(&self) -> Vec<&str> {
        let mut raters: Vec<&str> = self.exam.raters.iter().map(String::as_str).collect();
        for trial in &self.trials {
            if !raters.contains(&trial.rater.as_str()) {
                raters.push(&trial.rater);
            }
        }
        raters
    }
}

/// What a candidate missed, for their practice: method and step, each once, in the order of the exam and its sheets.
///
/// Every trial that counts is looked at, first raters' and others': what was missed once is worth practising, even if it
/// was right the second time. A window that was late stands for the step that came too late.
pub fn practice_seed(state: &State, candidate: usize) -> Vec<(String, String)> {
    let mut seed = Vec::new();
    for (method, sheet) in state.sheets.iter().enumerate() {
        let mut missed = vec![false; sheet.items.len()];
        let of_candidate =
            |view: &TrialView| view.trial.candidate == candidate && view.trial.method == method && view.trial.counts();
        for view in state.trials().filter(of_candidate) {
            for status in view.items().filter(|status| status.mark == Some(Mark::Missed)) {
                missed[status.at] = true;
            }
            for status in view.windows().filter(|status| status.mark == Some(Mark::Missed)) {
                missed[status.window.to] = true;
            }
        }
        for (item, _) in sheet.items.iter().zip(missed).filter(|(_, missed)| *missed) {
            let key = (sheet.method.clone(), item.step.clone());
            if !seed.contains(&key) {
                seed.push(key);
            }
        }
    }
    seed
}

//! One event at work on a state: the rules of the method carried out.
//!
//! Here: whose turn it is, what is refused and why, what follows from a step that is done. Not here: which events there
//! have been and how they are taken back (`run`).
//!
//! **Invariant:** the lists of the state only grow. After a refusal the state is half changed, and the caller puts it
//! back.

use procedure::expr::{Datum, Expr, Facts};
use procedure::{
    AgainId, Consequence, Edition, Ending, EndingKind, ReadingId, ReadingKind, Repeat, Rule, Settle, Step, StepId,
    Text, Times, Wants,
};
use quantity::{Exact, Span};

use crate::event::{Entry, Event};
use crate::facts::View;
use crate::measured::{Bounds, Counted, Lasted, is_over, judge_count};
use crate::moment::{Moment, Tick};
use crate::refuse::Refused;
use crate::result::is_reported;
use crate::state::{
    Cursor, Ended, Finding, FindingKind, Lengths, Passed, Phase, Remark, Round, Set, Started, State, Taken,
};

/// Words of a name, a reason or a remark, at most.
const WORDS_AT_MOST: usize = 400;

/// The state of a run that has just been opened.
pub(crate) fn first_state(edition: &Edition, at: Moment) -> State {
    let mut state = State {
        cursor: Cursor {
            phase: Phase::AtStep,
            attempt: 1,
            step: StepId(0),
            round: 1,
            opened: at,
            begun: None,
            count: None,
            is_down: false,
            turned: at.tick,
            n_turns: 0,
            longest_down: Span::default(),
            n_also: 0,
            in_set: false,
            set_at: at.tick,
            sets_from: 0,
            taken_from: 0,
            base: Lengths::default(),
        },
        taken: Vec::new(),
        passed: Vec::new(),
        sets: Vec::new(),
        rounds: Vec::new(),
        backs: Vec::new(),
        findings: Vec::new(),
        endings: Vec::new(),
        starts: vec![Started { at, from: StepId(0), again: None }],
        remarks: Vec::new(),
        known: Vec::new(),
    };
    Transition { edition, state: &mut state, seq: 0, at }.open_from(StepId(0));
    state
}

/// One event at work on a state. After a refusal the state is half changed; the caller puts it back.
pub(crate) struct Transition<'a> {
    pub edition: &'a Edition,
    pub state: &'a mut State,
    pub seq: u32,
    pub at: Moment,
}

impl<'a> Transition<'a> {
    pub(crate) fn take(&mut self, event: &Event) -> Result<(), Refused> {
        if let Event::Remark { text } = event {
            let text = words(text).ok_or(Refused::NoReason)?;
            self.state.remarks.push(Remark { at: self.at, step: self.state.cursor.step, text });
            return Ok(());
        }
        if let Event::Known { moment, at } = event {
            self.known(*moment, *at);
            return Ok(());
        }
        match (self.state.cursor.phase, event) {
            (Phase::AtStep, Event::Again | Event::Close) => Err(Refused::StillGoing),
            (Phase::AtStep, _) => self.at_step(event),
            (Phase::Ended, Event::Again) => self.again(),
            (Phase::Ended, Event::Close) => self.close(false),
            (Phase::Ended, _) => Err(Refused::AttemptOver),
            (Phase::Finished, Event::Close) => self.close(true),
            (Phase::Finished | Phase::Closed { .. }, _) => Err(Refused::RunClosed),
        }
    }

    fn at_step(&mut self, event: &Event) -> Result<(), Refused> {
        match event {
            Event::Begin { step } => self.begin(*step),
            Event::Count { step, n } => self.count(*step, *n),
            Event::Turn { step } => self.turn(*step),
            Event::Done { step, despite } => self.done(*step, despite.as_deref()),
            Event::Answer { step, reading, entry, seen, despite } => {
                self.answer(*step, *reading, entry, *seen, despite.as_deref())
            }
            Event::Add { step, reading } => self.add(*step, *reading),
            Event::Incident { incident } => self.incident(*incident),
            Event::Discard { reason } => {
                let because = words(reason).ok_or(Refused::NoReason)?;
                let plain = self.edition.agains.iter().position(|again| again.change.is_none());
                self.end(EndingKind::Discard, because, plain.map(|at| AgainId(at as u16)), true);
                Ok(())
            }
            // Handled before, or not possible here.
            Event::Again
            | Event::Close
            | Event::Undo
            | Event::Redo
            | Event::Correct { .. }
            | Event::Remark { .. }
            | Event::Known { .. } => Err(Refused::StillGoing),
        }
    }

    /// A moment of the sample was marked elsewhere; the step that would mark it is left out.
    fn known(&mut self, moment: u16, at: Moment) {
        let at = if at.tick > self.at.tick { self.at } else { at };
        self.state.known.push((moment, at));
        let is_open = self.state.cursor.phase == Phase::AtStep && self.step().moment == Some(moment);
        if is_open && self.state.untouched() {
            self.next();
        }
    }

    /// Whether a step is left out, as far as can be said now.
    fn is_left_out(&self, step: &Step) -> bool {
        step.when.as_ref().is_some_and(|when| when.eval(&self.view()) == Datum::Truth(false))
            || step.moment.is_some_and(|moment| self.state.known(moment).is_some())
    }

    fn step(&self) -> &'a Step {
        self.edition.step(self.state.cursor.step)
    }

    /// The step must be the open one.
    fn its_turn(&self, step: StepId) -> Result<&'a Step, Refused> {
        let open = self.state.cursor.step;
        if step == open {
            return Ok(self.edition.step(step));
        }
        let Some(tried) = self.edition.steps.get(step.0 as usize) else {
            return Err(Refused::NotHere { takes: "another step".to_owned() });
        };
        if step < open {
            return Err(Refused::AlreadyDone { step, title: self.say(&tried.instruction) });
        }
        let because = match &tried.too_soon {
            Some(text) => self.say(text),
            None => format!("First: {}.", self.say(&self.step().instruction)),
        };
        Err(Refused::NotYet { step, because })
    }

    /// What must hold before the step may be begun.
    fn needs(&mut self, step: &Step, despite: Option<&str>) -> Result<(), Refused> {
        for need in &step.needs {
            if !self.holds(&need.that) {
                let because = self.say(&need.because);
                self.refuse_unless(despite, Refused::Rule { because })?;
            }
        }
        Ok(())
    }

    fn begin(&mut self, id: StepId) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        let turns = match &step.wants {
            Wants::Hold { turns, .. } => turns.is_some(),
            Wants::Timed { .. } => false,
            other => return Err(Refused::NotHere { takes: takes(other) }),
        };
        if self.state.cursor.begun.is_some() {
            return Err(Refused::AlreadyBegun);
        }
        self.needs(step, None)?;
        let cursor = &mut self.state.cursor;
        cursor.begun = Some(self.at.tick);
        cursor.is_down = turns;
        cursor.turned = self.at.tick;
        cursor.n_turns = u32::from(turns);
        Ok(())
    }

    fn turn(&mut self, id: StepId) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        let Wants::Hold { turns: Some(turns), .. } = &step.wants else {
            return Err(Refused::NotHere { takes: takes(&step.wants) });
        };
        if self.state.cursor.begun.is_none() {
            return Err(Refused::NotBegun);
        }
        let lasted = self.at.tick.since(self.state.cursor.turned);
        let was_down = self.state.cursor.is_down;
        if was_down && is_over(turns.down_at_most, lasted) {
            let text = self.say(&turns.finding);
            self.find(FindingKind::DownTooLong { lasted, text });
        }
        let cursor = &mut self.state.cursor;
        if was_down {
            cursor.longest_down = cursor.longest_down.max(lasted);
        } else {
            cursor.n_turns += 1;
        }
        cursor.is_down = !was_down;
        cursor.turned = self.at.tick;
        Ok(())
    }

    fn count(&mut self, id: StepId, n: u32) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        let Wants::Count { of, .. } = &step.wants else {
            return Err(Refused::NotHere { takes: takes(&step.wants) });
        };
        if n > 9_999 {
            return Err(Refused::WrongKind { asked: format!("How many {of}, in plain digits?") });
        }
        self.needs(step, None)?;
        self.state.cursor.count = Some(n);
        Ok(())
    }

    fn done(&mut self, id: StepId, despite: Option<&str>) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        self.needs(step, despite)?;
        match &step.wants {
            Wants::Act => {}
            Wants::Count { of, at_least, at_most, .. } => {
                if let Some(given) = self.state.cursor.count {
                    let judged = judge_count(*at_least, *at_most, given);
                    if judged != Counted::Right {
                        self.refuse_unless(despite, count_off(of, given, *at_least, *at_most, judged))?;
                    }
                }
            }
            Wants::Hold { at_least, at_most, turns, .. } => {
                let begun = self.state.cursor.begun.ok_or(Refused::NotBegun)?;
                if let (Some(turns), true) = (turns, self.state.cursor.is_down) {
                    return Err(Refused::StillDown { down: turns.down.clone(), up: turns.up.clone() });
                }
                let bounds = Bounds { at_least: *at_least, at_most: *at_most };
                match bounds.judge(self.at.tick.since(begun)) {
                    Lasted::Kept { .. } => {}
                    Lasted::TooShort { lasted, at_least } => {
                        let left = whole_seconds_up(Span(at_least.0 - lasted.0));
                        let what = self.edition.stage_of(id).title.to_lowercase();
                        self.refuse_unless(despite, Refused::TooEarly { what, at_least, left })?;
                    }
                    Lasted::TooLong { lasted, at_most } => self.find(FindingKind::HeldTooLong { lasted, at_most }),
                }
            }
            Wants::Timed { at_least, at_most, otherwise } => {
                let begun = self.state.cursor.begun.ok_or(Refused::NotBegun)?;
                let bounds = Bounds { at_least: *at_least, at_most: Some(*at_most) };
                if !bounds.judge(self.at.tick.since(begun)).is_kept() {
                    let otherwise = otherwise.clone();
                    self.pass();
                    if self.follow(&otherwise, id) {
                        return Ok(());
                    }
                    return self.after(id);
                }
            }
            Wants::Read(reading) => {
                let asked = self.say(&self.edition.reading(*reading).ask);
                return Err(Refused::WrongKind { asked });
            }
            Wants::Settle(settle) => {
                if !gave_up(self.state, settle, self.at.tick) {
                    return Err(Refused::NotHere { takes: takes(&step.wants) });
                }
                let because = self.say(&settle.otherwise.because);
                match despite {
                    // Without one complete set there is nothing to go on with.
                    Some(_) if !self.state.sets_here().is_empty() => {
                        self.refuse_unless(despite, Refused::TooLate { because })?;
                    }
                    _ => {
                        self.pass();
                        self.end_by(&settle.otherwise);
                        return Ok(());
                    }
                }
            }
        }
        self.pass();
        self.after(id)
    }

    fn answer(
        &mut self,
        id: StepId,
        reading: ReadingId,
        entry: &Entry,
        seen: Tick,
        despite: Option<&str>,
    ) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        let asked = match &step.wants {
            Wants::Read(reading) => *reading,
            Wants::Settle(settle) if self.state.cursor.in_set => {
                settle.also.get(self.state.cursor.n_also as usize).copied().unwrap_or(settle.reading)
            }
            Wants::Settle(settle) => settle.reading,
            other => return Err(Refused::NotHere { takes: takes(other) }),
        };
        if reading != asked {
            let asked = self.say(&self.edition.reading(asked).ask);
            return Err(Refused::WrongKind { asked });
        }
        self.needs(step, despite)?;
        let entry = check_entry(self.edition, reading, entry)?;
        if let Wants::Settle(settle) = &step.wants
            && !self.state.cursor.in_set
        {
            let seen = Tick(seen.0.clamp(self.state.cursor.opened.tick.0, self.at.tick.0));
            if gave_up(self.state, settle, seen) {
                let because = self.say(&settle.otherwise.because);
                return Err(Refused::TooLate { because });
            }
            if let Some(due) = next_reading(self.state, settle)
                && self.at.tick < due
            {
                let what = "the time between two readings".to_owned();
                let left = whole_seconds_up(due.since(self.at.tick));
                self.refuse_unless(despite, Refused::TooEarly { what, at_least: settle.every, left })?;
            }
        }
        self.state.taken.push(Taken {
            seq: self.seq,
            at: self.at,
            attempt: self.state.cursor.attempt,
            round: self.state.cursor.round,
            step: id,
            reading,
            entry,
            carried: false,
        });
        self.changed_enough(reading, despite)?;
        for rule in &step.rules {
            if let Consequence::Refuse(because) = &rule.then
                && self.holds(&rule.when)
            {
                let because = self.say(because);
                self.refuse_unless(despite, Refused::Rule { because })?;
            }
        }
        match &step.wants {
            Wants::Settle(settle) => self.settle(id, settle),
            _ => {
                self.pass();
                self.after(id)
            }
        }
    }

    /// A set of settling readings grows by one; when it is complete it is judged.
    fn settle(&mut self, id: StepId, settle: &Settle) -> Result<(), Refused> {
        let cursor = &mut self.state.cursor;
        if cursor.in_set {
            cursor.n_also += 1;
        } else {
            cursor.in_set = true;
            cursor.n_also = 0;
            cursor.set_at = self.at.tick;
        }
        if (cursor.n_also as usize) < settle.also.len() {
            return Ok(());
        }
        cursor.in_set = false;
        let value = match settle.value {
            Some(value) => self.edition.values[value.0 as usize].is.eval(&self.view()),
            None => self.view().reading(settle.reading),
        };
        let Some(value) = value.number() else {
            return Err(Refused::WrongKind { asked: "What is compared cannot be computed yet.".to_owned() });
        };
        let before = self.state.sets_here().last();
        let steady = before.is_some_and(|before| (&value - &before.value).abs() <= settle.change_at_most);
        let Cursor { round, set_at, .. } = self.state.cursor;
        self.state.sets.push(Set { at: set_at, step: id, round, value, steady });
        if steady {
            self.pass();
            return self.after(id);
        }
        Ok(())
    }

    /// After a discard the next attempt must change what the procedure says.
    fn changed_enough(&mut self, reading: ReadingId, despite: Option<&str>) -> Result<(), Refused> {
        let again = self.state.starts.last().and_then(|start| start.again);
        let Some(change) = again.and_then(|again| self.edition.agains[again.0 as usize].change.as_ref()) else {
            return Ok(());
        };
        if change.reading == reading && !self.holds(&change.require) {
            let because = self.say(&change.because);
            self.refuse_unless(despite, Refused::NoChange { because })?;
        }
        Ok(())
    }

    fn add(&mut self, id: StepId, reading: ReadingId) -> Result<(), Refused> {
        let step = self.its_turn(id)?;
        if step.add.as_ref().is_none_or(|add| add.reading != reading) {
            return Err(Refused::NotHere { takes: takes(&step.wants) });
        }
        if self.state.cursor.in_set {
            return Err(Refused::WrongKind { asked: "Complete the readings you have begun first.".to_owned() });
        }
        if let ReadingKind::Tally { at_most, .. } = self.edition.reading(reading).kind
            && self.view().sum(reading) >= Exact::from_int(i64::from(at_most))
        {
            return Err(Refused::TallyFull { at_most });
        }
        let Cursor { attempt, round, .. } = self.state.cursor;
        self.state.taken.push(Taken {
            seq: self.seq,
            at: self.at,
            attempt,
            round,
            step: id,
            reading,
            entry: Entry::One,
            carried: false,
        });
        Ok(())
    }

    fn incident(&mut self, incident: u16) -> Result<(), Refused> {
        let stage = self.step().stage;
        let incident = self
            .edition
            .incidents
            .get(incident as usize)
            .filter(|incident| incident.during.contains(&stage))
            .ok_or(Refused::NoIncidentHere)?;
        self.end_by(&incident.ending);
        Ok(())
    }

    // ------------------------------------------------------------------ closing a step and going on

    /// Puts the open step on the list of those done.
    fn pass(&mut self) {
        let Cursor { step, attempt, round, opened, begun, count, n_turns, longest_down, .. } = self.state.cursor;
        self.state.passed.push(Passed {
            step,
            attempt,
            round,
            opened,
            begun,
            done: self.at,
            count,
            n_turns,
            longest_down,
        });
    }

    /// What follows from a step that was done: limits that end with it, its rules, the next step.
    fn after(&mut self, id: StepId) -> Result<(), Refused> {
        let edition = self.edition;
        for (n, limit) in edition.limits.iter().enumerate().filter(|(_, limit)| limit.to == id) {
            let from = self.state.done_or_known(edition, limit.from);
            let Some(took) = from.map(|from| self.at.tick.since(from.tick)) else { continue };
            if !is_over(limit.at_most, took) {
                continue;
            }
            match &limit.otherwise {
                Consequence::Finding(text) => {
                    let text = self.say(text);
                    self.find(FindingKind::Late { limit: n as u16, took, text });
                }
                other => {
                    if self.follow(other, id) {
                        return Ok(());
                    }
                }
            }
        }
        for Rule { when, then, .. } in &edition.step(id).rules {
            if !matches!(then, Consequence::Refuse(_)) && self.holds(when) && self.follow(then, id) {
                return Ok(());
            }
        }
        self.next();
        Ok(())
    }

    /// Carries out a consequence; true if the run does not simply go on.
    fn follow(&mut self, then: &Consequence, id: StepId) -> bool {
        match then {
            Consequence::Refuse(_) => false,
            Consequence::Finding(text) => {
                let text = self.say(text);
                self.find(FindingKind::Rule { text });
                false
            }
            Consequence::End(ending) => {
                self.end_by(ending);
                true
            }
            Consequence::Back { to, at_most, otherwise } => {
                let backs = &self.state.backs[self.state.cursor.base.backs as usize..];
                if backs.iter().filter(|from| **from == id).count() >= *at_most as usize {
                    self.end_by(otherwise);
                } else {
                    self.state.backs.push(id);
                    self.open_from(*to);
                }
                true
            }
        }
    }

    /// Opens the step after the present one, the next round, the next stage, or finishes.
    fn next(&mut self) {
        let stage = self.edition.stage_of(self.state.cursor.step);
        let next = StepId(self.state.cursor.step.0 + 1);
        if next < stage.end {
            self.open_from(next);
        } else {
            self.end_of_stage();
        }
    }

    /// Opens `step`, or the first after it that is not left out.
    fn open_from(&mut self, step: StepId) {
        let mut step = step;
        loop {
            let Some(here) = self.edition.steps.get(step.0 as usize) else {
                self.finish();
                return;
            };
            let stage = here.stage;
            if self.edition.stages[stage as usize].first == step
                && self.edition.step(self.state.cursor.step).stage != stage
            {
                self.state.cursor.round = 1;
            }
            self.state.cursor.step = step;
            if !self.is_left_out(here) {
                self.open(step);
                return;
            }
            let next = StepId(step.0 + 1);
            if next >= self.edition.stages[stage as usize].end {
                self.end_of_stage();
                return;
            }
            step = next;
        }
    }

    fn end_of_stage(&mut self) {
        let index = self.step().stage;
        let stage = &self.edition.stages[index as usize];
        let Some(repeat) = &stage.repeat else {
            self.open_from(stage.end);
            return;
        };
        let Cursor { round, attempt, .. } = self.state.cursor;
        let agree = match repeat {
            Repeat::UntilAgree(agree) => agree,
            Repeat::Times(times) => {
                // Unknown, or no whole number: the checker sees to it that it is read, and nothing goes round for ever.
                if rounds_wanted(times, &self.view()).is_some_and(|wanted| u32::from(round) < wanted) {
                    self.state.cursor.round = round + 1;
                    self.open_from(stage.first);
                } else {
                    self.open_from(stage.end);
                }
                return;
            }
        };
        let value = self.edition.values[agree.value.0 as usize].is.eval(&self.view());
        let Some(value) = value.number() else {
            // The checker sees to it that the value is read in every round; without it there is
            // nothing to compare and so nothing to report.
            self.end_by(&agree.otherwise);
            return;
        };
        let rounds = &self.state.rounds[self.state.cursor.base.rounds as usize..];
        let before = rounds.iter().rev().find(|before| before.stage == index);
        let agrees = before.is_some_and(|before| (&value - &before.value).abs() <= agree.within);
        self.state.rounds.push(Round { stage: index, round, attempt, value });
        if agrees {
            self.open_from(stage.end);
        } else if u32::from(round) >= agree.rounds_at_most {
            self.end_by(&agree.otherwise);
        } else {
            self.state.cursor.round = round + 1;
            self.open_from(stage.first);
        }
    }

    fn open(&mut self, step: StepId) {
        let n_sets = self.state.sets.len() as u32;
        let n_taken = self.state.taken.len() as u32;
        let cursor = &mut self.state.cursor;
        cursor.phase = Phase::AtStep;
        cursor.step = step;
        cursor.opened = self.at;
        cursor.begun = None;
        cursor.count = None;
        cursor.is_down = false;
        cursor.turned = self.at.tick;
        cursor.n_turns = 0;
        cursor.longest_down = Span::default();
        cursor.n_also = 0;
        cursor.in_set = false;
        cursor.set_at = self.at.tick;
        cursor.sets_from = n_sets;
        cursor.taken_from = n_taken;
    }

    fn finish(&mut self) {
        self.state.cursor.phase = Phase::Finished;
        for spec in &self.edition.results {
            // What is not reported has nothing to be noted about it.
            if spec.when.is_some() && !is_reported(spec, &self.view()) {
                continue;
            }
            for rule in &spec.rules {
                if let Consequence::Finding(text) = &rule.then
                    && self.holds(&rule.when)
                {
                    let text = self.say(text);
                    self.find(FindingKind::Rule { text });
                }
            }
        }
    }

    fn end_by(&mut self, ending: &Ending) {
        let because = self.say(&ending.because);
        self.end(ending.kind, because, ending.again, false);
    }

    fn end(&mut self, kind: EndingKind, because: String, again: Option<AgainId>, own: bool) {
        let Cursor { attempt, step, .. } = self.state.cursor;
        self.state.endings.push(Ended { at: self.at, attempt, step, kind, because, again, own });
        self.state.cursor.phase = Phase::Ended;
    }

    fn again(&mut self) -> Result<(), Refused> {
        let at_most = self.edition.attempts_at_most;
        let attempt = self.state.cursor.attempt;
        if u32::from(attempt) >= at_most {
            return Err(Refused::NoMoreAttempts { at_most });
        }
        if !may_begin_again(self.edition, self.state) {
            return Err(Refused::NoWayAgain);
        }
        let again = self.state.endings.last().and_then(|ended| ended.again);
        let from = again.map_or(StepId(0), |again| self.edition.agains[again.0 as usize].from);
        let base = self.state.lengths();
        let old = self.state.cursor.base.taken as usize..self.state.taken.len();
        self.state.cursor.base = base;
        self.state.cursor.attempt = attempt + 1;
        self.state.cursor.round = 1;
        self.state.starts.push(Started { at: self.at, from, again });
        for n in old.clone() {
            let taken = &self.state.taken[n];
            let latest = taken.entry == Entry::One
                || !self.state.taken[n + 1..old.end].iter().any(|later| later.reading == taken.reading);
            if taken.step < from && latest {
                let carried = Taken { attempt: attempt + 1, carried: true, ..taken.clone() };
                self.state.taken.push(carried);
            }
        }
        self.open_from(from);
        Ok(())
    }

    fn close(&mut self, with_result: bool) -> Result<(), Refused> {
        self.state.cursor.phase = Phase::Closed { with_result };
        Ok(())
    }

    // ------------------------------------------------------------------ small things

    fn view(&self) -> View<'_> {
        View { edition: self.edition, state: self.state }
    }
    fn holds(&self, that: &Expr) -> bool {
        that.eval(&self.view()).holds()
    }
    fn say(&self, text: &Text) -> String {
        self.view().say(text)
    }
    pub(crate) fn find(&mut self, what: FindingKind) {
        let Cursor { attempt, step, .. } = self.state.cursor;
        self.state.findings.push(Finding { at: self.at, attempt, step, what });
    }

    /// Refuses, unless the person goes on with a reason; then the refusal becomes a finding.
    fn refuse_unless(&mut self, despite: Option<&str>, refused: Refused) -> Result<(), Refused> {
        let Some(reason) = despite else { return Err(refused) };
        let reason = words(reason).ok_or(Refused::NoReason)?;
        self.find(FindingKind::Overruled { refusal: refused.to_string(), reason });
        Ok(())
    }
}

/// How many rounds a stage has whose number is read; `None` if it is unknown or no whole number from 1.
pub(crate) fn rounds_wanted(times: &Times, view: &View<'_>) -> Option<u32> {
    let wanted = times.times.eval(view).number()?.to_u64().filter(|wanted| *wanted > 0)?;
    Some(u32::try_from(wanted).map_or(times.at_most, |wanted| wanted.min(times.at_most)))
}

/// When the next settling reading may be taken, if one was taken before.
pub(crate) fn next_reading(state: &State, settle: &Settle) -> Option<Tick> {
    state.sets_here().last().map(|set| set.at.after(settle.every))
}

/// Whether it can no longer be shown within the time that the reading stands still.
pub(crate) fn gave_up(state: &State, settle: &Settle, now: Tick) -> bool {
    if state.cursor.in_set {
        return false;
    }
    let end = state.cursor.opened.tick.after(settle.give_up_after);
    now > end || next_reading(state, settle).is_some_and(|next| next > end)
}

/// Whether another attempt may follow one that has ended: the procedure names a way, or the person gave it up alone.
pub(crate) fn may_begin_again(edition: &Edition, state: &State) -> bool {
    let has_way = state.endings.last().is_none_or(|ended| ended.again.is_some() || ended.own);
    has_way && u32::from(state.cursor.attempt) < edition.attempts_at_most
}

/// What a step takes, for a refusal.
fn takes(wants: &Wants) -> String {
    match wants {
        Wants::Act => "one press when it is done".to_owned(),
        Wants::Count { of, .. } => format!("a number of {of}"),
        Wants::Hold { turns: Some(turns), .. } => {
            format!("a begin, a press at each turn {} and {}, and an end", turns.down, turns.up)
        }
        Wants::Hold { .. } | Wants::Timed { .. } => "a begin and an end".to_owned(),
        Wants::Read(_) => "a reading".to_owned(),
        Wants::Settle(settle) => {
            format!("readings at least {} apart until two agree", settle.every)
        }
    }
}

fn count_off(of: &str, given: u32, at_least: u32, at_most: u32, judged: Counted) -> Refused {
    let asked = if at_least == at_most { at_least.to_string() } else { format!("{at_least} to {at_most}") };
    let hint = match judged {
        Counted::TooFew { missing } => format!(": {missing} to go"),
        Counted::TooMany { .. } | Counted::Right => ": too many cannot be taken out again".to_owned(),
    };
    Refused::CountOff { of: of.to_owned(), given, asked, hint }
}

/// The entry as it goes on record, or why it cannot.
pub(crate) fn check_entry(edition: &Edition, id: ReadingId, entry: &Entry) -> Result<Entry, Refused> {
    let reading = edition.readings.get(id.0 as usize).ok_or(Refused::NothingToCorrect)?;
    let wrong = |asked: &str| Refused::WrongKind { asked: asked.to_owned() };
    match (&reading.kind, entry) {
        (ReadingKind::Number(scale), Entry::Number(value)) => {
            scale.check(&Exact::from(*value)).map(Entry::Number).map_err(Refused::NotAReading)
        }
        (ReadingKind::Choice(choices), Entry::Choice(at)) if (*at as usize) < choices.len() => Ok(entry.clone()),
        (ReadingKind::Words, Entry::Words(text)) => {
            words(text).map(Entry::Words).ok_or_else(|| wrong("Write a word or two."))
        }
        (ReadingKind::Number(_), _) => Err(wrong("A number is asked here.")),
        (ReadingKind::Choice(_), _) => Err(wrong("One of the answers shown is asked here.")),
        (ReadingKind::Words, _) => Err(wrong("Words are asked here.")),
        (ReadingKind::Tally { .. }, _) => Err(wrong("A tally is corrected by taking back, not by a value.")),
    }
}

/// Words as they go on record: trimmed, no control characters, not too many; `None` if nothing is left.
fn words(text: &str) -> Option<String> {
    let clean: String = text.trim().chars().filter(|c| !c.is_control()).take(WORDS_AT_MOST).collect();
    let clean = clean.trim();
    (!clean.is_empty()).then(|| clean.to_owned())
}

fn whole_seconds_up(span: Span) -> Span {
    Span(span.0.div_ceil(1_000) * 1_000)
}

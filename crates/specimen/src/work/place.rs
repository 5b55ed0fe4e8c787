//! Where in a run something is read, and what the scenario tells there.

use engine::{Entry, Run, Taken, Tick};
use procedure::{ReadingId, StepId, Wants};

use super::Specimen;
use crate::ways::{Told, Way};

/// One reading of one visit of one step.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub attempt: u16,
    pub step: StepId,
    /// The how-manieth time the step is open in the attempt, from 0.
    pub visit: u16,
    /// The how-manieth reading of the visit, from 0.
    pub nth: u16,
    /// When the step was opened.
    pub opened: Tick,
    /// When the reading before it was taken, if there was one in the visit.
    pub before: Option<Tick>,
}

/// What is told for a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct TellOf<'s> {
    pub entry: &'s Entry,
    /// Cups and the like told in the attempt before this reading.
    pub adds: u32,
    /// Whether the scenario's own way tells it for this very visit.
    pub is_exact: bool,
}

impl Specimen {
    /// Where `reading` is read: in the open step, else where it was read last, else where it will be.
    pub(super) fn place(&self, run: &Run, reading: ReadingId) -> Option<Place> {
        let attempt = run.attempt();
        let offer = run.offer(run.last().tick);
        if let Some(step) = self.open_step(run)
            && self.asks(step, reading)
        {
            let visit = self.visits(run, attempt, step);
            let refused = self.refused.get(&(attempt, step, visit)).copied().unwrap_or(0);
            let sets = run.sets_here();
            let nth = refused + u16::try_from(sets.len()).unwrap_or(u16::MAX);
            let opened = offer.standing.opened.tick;
            return Some(Place { attempt, step, visit, nth, opened, before: sets.last().map(|set| set.at) });
        }
        let passed =
            run.passed().iter().rev().find(|passed| passed.attempt == attempt && self.asks(passed.step, reading));
        if let Some(passed) = passed {
            let visit = self.visits(run, attempt, passed.step).saturating_sub(1);
            let sets = run.sets().iter().filter(|set| set.step == passed.step && set.round == passed.round);
            let n = sets.filter(|set| set.at >= passed.opened.tick).count();
            let refused = self.refused.get(&(attempt, passed.step, visit)).copied().unwrap_or(0);
            let nth = refused + u16::try_from(n.saturating_sub(1)).unwrap_or(u16::MAX);
            let opened = passed.opened.tick;
            return Some(Place { attempt, step: passed.step, visit, nth, opened, before: None });
        }
        let (step, _) = self.steps().find(|(id, _)| self.asks(*id, reading))?;
        Some(Place { attempt, step, visit: 0, nth: 0, opened: offer.standing.opened.tick, before: None })
    }

    /// Where something on record was read, seen from the run just after it.
    pub(super) fn place_of(&self, run: &Run, taken: &Taken) -> Place {
        let Taken { attempt, step, .. } = *taken;
        let mut visit = self.visits(run, attempt, step);
        let closed = run.passed().last().filter(|passed| passed.step == step && passed.done == taken.at);
        let opened = match closed {
            Some(passed) => {
                visit = visit.saturating_sub(1);
                passed.opened.tick
            }
            None => run.offer(taken.at.tick).standing.opened.tick,
        };
        let here = run.sets().iter().filter(|set| set.step == step && set.at >= opened && set.round == taken.round);
        let settles = matches!(self.edition.step(step).wants, Wants::Settle(_));
        // The set this reading completes is not one before it.
        let is_complete = here.clone().next_back().is_some_and(|set| self.ends_set(run, step, taken, set.at));
        let n = here.clone().count() - usize::from(is_complete);
        let before = here.take(n).last().map(|set| set.at).filter(|_| settles);
        let refused = self.refused.get(&(attempt, step, visit)).copied().unwrap_or(0);
        let nth = refused + u16::try_from(n).unwrap_or(u16::MAX);
        Place { attempt, step, visit, nth, opened, before }
    }

    /// Whether `taken` is the last reading of the set begun at `set_at`.
    fn ends_set(&self, run: &Run, step: StepId, taken: &Taken, set_at: Tick) -> bool {
        let Wants::Settle(settle) = &self.edition.step(step).wants else { return false };
        let last = settle.also.last().copied().unwrap_or(settle.reading);
        let is_last_taken = run.taken().last().is_some_and(|last| last.seq == taken.seq);
        taken.reading == last && is_last_taken && taken.at.tick >= set_at
    }

    /// How often `step` has been done in `attempt`.
    pub(super) fn visits(&self, run: &Run, attempt: u16, step: StepId) -> u16 {
        let done = run.passed().iter().filter(|passed| passed.attempt == attempt && passed.step == step).count();
        u16::try_from(done).unwrap_or(u16::MAX)
    }

    /// What is told for `reading` at `place`, or at the place nearest to it.
    ///
    /// | what tells it | when |
    /// |---|---|
    /// | the way, this visit | first of all; of several readings the one with this number, else the last before it |
    /// | the way of what comes after | where the way says nothing about this visit |
    /// | the way, another visit, then another attempt | where there is no such way, or it says nothing either |
    pub(super) fn told(&self, place: &Place, reading: ReadingId) -> Option<TellOf<'_>> {
        let Place { attempt, step, visit, nth, .. } = *place;
        let way = &self.scenario.way;
        if let Some(at) = nth_of(way, nth, reading, |tell| tell == (attempt, step, visit)) {
            return tell_of(way, at, true);
        }
        if let Some(after) = &self.scenario.after {
            let visits = [visit, u16::MAX];
            let at = visits.into_iter().find_map(|most| {
                let latest = after.tells.iter().filter(|tell| tell.step == step && tell.visit <= most);
                let (attempt, _, visit) = latest.map(|tell| (tell.attempt, tell.step, tell.visit)).max()?;
                nth_of(after, nth, reading, |tell| tell == (attempt, step, visit))
            });
            if let Some(at) = at {
                return tell_of(after, at, false);
            }
        }
        let tells = || way.tells.iter().filter(|tell| tell.step == step && is_value(&tell.told, reading));
        let earlier = tells().filter(|tell| tell.attempt < attempt || (tell.attempt == attempt && tell.visit <= visit));
        let nearest = earlier.map(|tell| (tell.attempt, tell.visit)).max();
        let (attempt, visit) = nearest.or_else(|| tells().map(|tell| (tell.attempt, tell.visit)).min())?;
        let at = nth_of(way, nth, reading, |tell| tell == (attempt, step, visit))?;
        tell_of(way, at, false)
    }
}

fn is_value(told: &Told, reading: ReadingId) -> bool {
    matches!(told, Told::Value { reading: told, .. } if *told == reading)
}

/// The place among the tells of the `nth` value of `reading` at one visit; of fewer the last.
fn nth_of(way: &Way, nth: u16, reading: ReadingId, here: impl Fn((u16, StepId, u16)) -> bool) -> Option<usize> {
    let values = way
        .tells
        .iter()
        .enumerate()
        .filter(|(_, tell)| here((tell.attempt, tell.step, tell.visit)) && is_value(&tell.told, reading));
    values.take(usize::from(nth) + 1).last().map(|(at, _)| at)
}

fn tell_of(way: &Way, at: usize, is_exact: bool) -> Option<TellOf<'_>> {
    let tell = way.tells.get(at)?;
    let Told::Value { entry, .. } = &tell.told else { return None };
    let before = way.tells[..at].iter().filter(|before| before.attempt == tell.attempt);
    let adds = before.map(|before| if let Told::Adds { n } = before.told { n } else { 0 }).sum();
    Some(TellOf { entry, adds, is_exact })
}

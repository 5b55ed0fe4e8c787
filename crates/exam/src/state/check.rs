//! Whether an event is accepted.
//!
//! Here: every reason to refuse one, in one function that changes nothing.

use engine::Moment;
use quantity::Span;

use super::trial::TrialPhase;
use super::{State, TIME, TrialView};
use crate::event::{Event, Mark, TrialId};
use crate::outcome::Standing;
use crate::refuse::Refused;

/// More than this nobody counts.
const COUNT_AT_MOST: u32 = 9_999;

pub(super) fn check(state: &State, event: &Event, at: Moment) -> Result<(), Refused> {
    if let Some(last) = state.last
        && at.tick < last.tick
    {
        return Err(Refused::TimeRanBack { by: Span(last.tick.0 - at.tick.0) });
    }
    if let Event::Began { trial, candidate, method, station, rater, scores } = event {
        return may_begin(state, trial, candidate, method, *station, rater, scores.as_ref());
    }
    let id = event.trial();
    let view = state
        .trial(id)
        .filter(|view| view.trial.phase != TrialPhase::Withdrawn)
        .ok_or_else(|| Refused::NoSuchTrial { trial: id.to_string() })?;
    let is_open = view.trial.is_open();
    match event {
        Event::Began { .. } => Ok(()),
        Event::Undone { .. } => may_undo(&view),
        Event::Moved { station, .. } => {
            station_exists(state, *station)?;
            if is_open { station_free(state, *station, performance(state, id)) } else { Ok(()) }
        }
        Event::Noted { item, text, .. } => {
            if let Some(key) = item {
                place(&view, key)?;
            }
            if text.trim().is_empty() { Err(Refused::NoWords) } else { Ok(()) }
        }
        Event::Overruled { item, mark, reason, .. } => may_overrule(&view, item, *mark, reason),
        _ if !is_open => Err(Refused::TrialEnded),
        Event::Ended { how, .. } => match how {
            crate::How::Stopped { reason } | crate::How::Void { reason } if reason.trim().is_empty() => {
                Err(Refused::NoReason)
            }
            _ => Ok(()),
        },
        Event::Marked { item, mark, .. } => may_mark(&view, place(&view, item)?, *mark),
        Event::ClockStarted { item, .. } => {
            let status = view.item(place(&view, item)?);
            match (&status.item.clock, status.is_running) {
                (None, _) => Err(Refused::NoClock),
                (Some(_), true) => Err(Refused::ClockRuns),
                (Some(_), false) => Ok(()),
            }
        }
        Event::ClockStopped { item, .. } => {
            let status = view.item(place(&view, item)?);
            match (&status.item.clock, status.is_running) {
                (None, _) => Err(Refused::NoClock),
                (Some(_), false) => Err(Refused::ClockStands),
                (Some(_), true) => Ok(()),
            }
        }
        Event::Turned { item, .. } => {
            let status = view.item(place(&view, item)?);
            let Some(clock) = &status.item.clock else { return Err(Refused::NoClock) };
            if clock.down_at_most.is_none() && !clock.by_readings {
                return Err(Refused::NoTurns);
            }
            if status.is_running { Ok(()) } else { Err(Refused::ClockStands) }
        }
        Event::Counted { item, n, .. } => {
            let status = view.item(place(&view, item)?);
            if status.item.count.is_none() {
                return Err(Refused::NoCount);
            }
            if *n > COUNT_AT_MOST { Err(Refused::CountTooHigh { n: *n }) } else { Ok(()) }
        }
    }
}

fn place(view: &TrialView, key: &str) -> Result<usize, Refused> {
    let no = || Refused::NoSuchItem { method: view.sheet.title.clone(), item: key.to_owned() };
    view.sheet.item(key).ok_or_else(no)
}

fn may_mark(view: &TrialView, at: usize, mark: Mark) -> Result<(), Refused> {
    let status = view.item(at);
    if let Some(overrule) = status.overruled {
        return Err(Refused::IsOverruled { reason: overrule.reason.clone() });
    }
    if mark == Mark::Told && !status.item.tellable {
        return Err(Refused::NotTellable);
    }
    // A clock that still runs is stopped by the mark, and judges then: that is no contradiction yet.
    if let (Mark::Done, Some((Mark::Missed, because)), false) = (mark, &status.judged, status.is_running) {
        return Err(Refused::ClockSaysNo { because: because.clone() });
    }
    Ok(())
}

fn may_overrule(view: &TrialView, key: &str, mark: Mark, reason: &str) -> Result<(), Refused> {
    let is_time = key == TIME;
    if is_time && view.sheet.time_limit.is_none() {
        return Err(Refused::NoTimeLimit);
    }
    if is_time || view.sheet.window(key).is_some() {
        if !matches!(mark, Mark::Done | Mark::Missed) {
            return Err(Refused::TimeIsKeptOrNot);
        }
    } else {
        let at = place(view, key)?;
        if mark == Mark::Told && !view.sheet.items[at].tellable {
            return Err(Refused::NotTellable);
        }
    }
    if reason.trim().is_empty() { Err(Refused::NoReason) } else { Ok(()) }
}

fn may_undo(view: &TrialView) -> Result<(), Refused> {
    let (state, trial) = (view.state, view.trial);
    match view.last_act() {
        Some(Event::Ended { .. }) => {
            // The end stays once something rests on it.
            if trial.scores.is_none() {
                let own = state.by_id.get(&trial.id);
                let mut trials = state.trials_of(trial.candidate, trial.method);
                if let Some(later) = trials.find(|other| state.by_id.get(&other.trial.id) > own) {
                    return Err(Refused::LaterTrial { later: later.trial.number });
                }
                candidate_free(state, trial.candidate, &trial.id)?;
            }
            station_free(state, trial.station, performance(state, &trial.id))
        }
        Some(_) => Ok(()),
        None => match state.second_sheets(&trial.id).next() {
            Some(second) => Err(Refused::ScoredTwice { rater: second.trial.rater.clone() }),
            None => Ok(()),
        },
    }
}

fn may_begin(
    state: &State,
    id: &TrialId,
    candidate: &str,
    method: &str,
    station: u16,
    rater: &str,
    scores: Option<&TrialId>,
) -> Result<(), Refused> {
    if id.0.trim().is_empty() || state.by_id.contains_key(id) {
        return Err(Refused::TrialNameTaken { trial: id.to_string() });
    }
    let who =
        state.roster.candidate(candidate).ok_or_else(|| Refused::NoSuchCandidate { number: candidate.to_owned() })?;
    let what = state.exam.method(method).ok_or_else(|| Refused::NoSuchMethod { method: method.to_owned() })?;
    station_exists(state, station)?;
    let rater = rater.trim();
    let raters = &state.exam.raters;
    if rater.is_empty() || !raters.is_empty() && !raters.iter().any(|known| known == rater) {
        let raters = if raters.is_empty() { "name one".to_owned() } else { raters.join(", ") };
        return Err(Refused::NoSuchRater { rater: rater.to_owned(), raters });
    }
    let Some(first_id) = scores else {
        candidate_free(state, who, id)?;
        may_try(state, who, what)?;
        return station_free(state, station, None);
    };
    let first = state.trial(first_id).ok_or_else(|| Refused::NoSuchTrial { trial: first_id.to_string() })?;
    if first.trial.scores.is_some() || !first.trial.counts() {
        return Err(Refused::NotTheFirstSheet);
    }
    if (first.trial.candidate, first.trial.method) != (who, what) {
        let who = named(state, first.trial.candidate);
        return Err(Refused::OtherPerformance { who, method: first.sheet.title.clone() });
    }
    let marks_it = |view: TrialView| view.trial.rater == rater;
    if marks_it(first) || state.second_sheets(first_id).any(marks_it) {
        return Err(Refused::SameRater { rater: rater.to_owned() });
    }
    station_free(state, station, Some(first_id))
}

/// Whether the candidate has a trial of the method left.
fn may_try(state: &State, candidate: usize, method: usize) -> Result<(), Refused> {
    let who = named(state, candidate);
    let title = || state.sheets[method].title.clone();
    match state.standing(candidate, method) {
        Standing::Due { .. } => Ok(()),
        Standing::Passed { number, .. } => Err(Refused::AlreadyPassed { who, method: title(), number }),
        Standing::ReExamination { trials } => {
            let trials = match trials {
                1 => "the one trial".to_owned(),
                2 => "both trials".to_owned(),
                n => format!("all {n} trials"),
            };
            Err(Refused::NoTrialLeft { who, trials, method: title() })
        }
        Standing::Undecided { number, trial } => {
            let what = state.trial(&trial).map(|view| view.outcome().undecided()).unwrap_or_default();
            Err(Refused::TrialOpen { who, number, what })
        }
        Standing::UnderWay { trial, .. } => {
            let station = state.trial(&trial).map_or(0, |view| view.trial.station);
            Err(Refused::CandidateBusy { who, station, method: title() })
        }
    }
}

fn named(state: &State, candidate: usize) -> String {
    state
        .roster
        .candidates
        .get(candidate)
        .map_or_else(String::new, |candidate| format!("{} {}", candidate.number, candidate.name))
}

fn station_exists(state: &State, station: u16) -> Result<(), Refused> {
    let stations = state.exam.stations;
    if (1..=stations).contains(&station) { Ok(()) } else { Err(Refused::NoSuchStation { station, stations }) }
}

/// The first rater's sheet of the performance a trial marks.
fn performance<'s>(state: &'s State, id: &'s TrialId) -> Option<&'s TrialId> {
    let trial = state.trial(id)?.trial;
    Some(trial.scores.map_or(&trial.id, |first| &state.trials[first].id))
}

/// Nobody else may be at the station; several sheets of one performance may.
fn station_free(state: &State, station: u16, own: Option<&TrialId>) -> Result<(), Refused> {
    let other = state.at_station(station).find(|view| performance(state, &view.trial.id) != own);
    match other {
        Some(other) => Err(Refused::StationTaken { station, who: named(state, other.trial.candidate) }),
        None => Ok(()),
    }
}

/// The candidate may be at one station at a time.
fn candidate_free(state: &State, candidate: usize, but: &TrialId) -> Result<(), Refused> {
    let busy = state.trials().find(|view| {
        let trial = view.trial;
        trial.is_open() && trial.candidate == candidate && trial.scores.is_none() && trial.id != *but
    });
    match busy {
        Some(view) => Err(Refused::CandidateBusy {
            who: named(state, candidate),
            station: view.trial.station,
            method: view.sheet.title.clone(),
        }),
        None => Ok(()),
    }
}

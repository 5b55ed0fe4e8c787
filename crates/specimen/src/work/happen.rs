//! What comes about by itself: something goes wrong, the person is called away, something is done wrongly on purpose.

use engine::{Phase, Run, Tick};
use procedure::{Step, StepId, Wants};
use quantity::Span;

use super::Specimen;
use crate::Happening;
use crate::chance::Chance;
use crate::ways::{Tell, Told};

/// Something that goes wrong while an act lasts does so after so many hundredths of its least time, at least.
const INCIDENT_FROM: u64 = 20;
/// And so many more at the most.
const INCIDENT_MORE: u64 = 60;
/// Else so many milliseconds after the step was opened, at the most.
const INCIDENT_WITHIN_MS: u64 = 1_500;

/// One opening of a step on which something is told.
struct Visit {
    opened: Tick,
    begun: Option<Tick>,
    done: Option<Tick>,
}

impl Specimen {
    pub(super) fn happening(&self, run: &Run, now: Tick) -> Option<Happening> {
        if run.phase() != Phase::AtStep {
            return None;
        }
        let here = self.scenario.way.tells.iter().filter(|tell| tell.attempt == run.attempt());
        let mut happenings = here.filter_map(|tell| {
            let (from, until) = self.when(run, tell)?;
            let is_now = from <= now && until.is_none_or(|until| now < until);
            if is_now { self.what(run, tell) } else { None }
        });
        happenings.next()
    }

    pub(super) fn next_happening(&self, run: &Run, now: Tick) -> Option<Tick> {
        if run.phase() != Phase::AtStep {
            return None;
        }
        let here = self.scenario.way.tells.iter().filter(|tell| tell.attempt == run.attempt());
        let moments = here.filter_map(|tell| self.when(run, tell)).flat_map(|(from, until)| [Some(from), until]);
        moments.flatten().filter(|moment| *moment > now).min()
    }

    /// From when until when a tell is to be seen, as far as the run has come; `None` if nothing is to be seen of it.
    fn when(&self, run: &Run, tell: &Tell) -> Option<(Tick, Option<Tick>)> {
        let visit = self.visit(run, tell.step, tell.visit)?;
        let step = self.edition.step(tell.step);
        match tell.told {
            Told::Incident { incident } => {
                let stage = self.edition.step(self.open_step(run)?).stage;
                let can_be_told = self.edition.incidents.get(usize::from(incident))?.during.contains(&stage);
                let due = self.incident_due(tell, step, &visit)?;
                can_be_told.then(|| (visit.done.map_or(due, |done| due.min(done)), None))
            }
            // What is done is over: the time has gone by.
            Told::Late { span } if visit.done.is_none() && visit.begun.is_none() => {
                let from = self.reading_before(run, tell, visit.opened)?;
                Some((from, Some(from.after(span))))
            }
            Told::Lasts { span } if visit.done.is_none() && is_wrong(step, span) => {
                // Until the wrong time is over: then it is too late to do it right.
                let until = visit.begun.map(|begun| begun.after(span));
                Some((visit.opened, until))
            }
            Told::Down { .. } if visit.done.is_none() => {
                let Wants::Hold { turns: Some(turns), .. } = &step.wants else { return None };
                let is_over = run.offer(run.last().tick).standing.longest_down > turns.down_at_most;
                (!is_over).then_some((visit.opened, None))
            }
            Told::Adds { n } if visit.done.is_none() && !self.is_seen_beyond(run, step) => {
                let add = step.add.as_ref()?;
                (run.tally(add.reading) < quantity::Exact::from_int(i64::from(n))).then_some((visit.opened, None))
            }
            _ => None,
        }
    }

    fn what(&self, run: &Run, tell: &Tell) -> Option<Happening> {
        let step = self.edition.step(tell.step);
        Some(match tell.told {
            Told::Incident { incident } => {
                let title = &self.edition.incidents.get(usize::from(incident))?.title;
                Happening::Incident { incident, says: run.say(title) }
            }
            Told::Late { span } => Happening::Away {
                span,
                says: format!("You are called away from the test. {span} are gone when you are back."),
            },
            Told::Lasts { span } => Happening::OnPurpose { says: wrong_time(step, span)? },
            Told::Down { span } => {
                let Wants::Hold { turns: Some(turns), .. } = &step.wants else { return None };
                let (down, most) = (&turns.down, turns.down_at_most);
                Happening::OnPurpose {
                    says: format!(
                        "On purpose, to see what follows: leave it {down} for {span} once. Right is {most} at most."
                    ),
                }
            }
            Told::Adds { n } => {
                Happening::OnPurpose { says: format!("On purpose, to see what follows: add {n} here, and count.") }
            }
            Told::Value { .. } => return None,
        })
    }

    /// When a step was open for this time in the present attempt.
    fn visit(&self, run: &Run, step: StepId, nth: u16) -> Option<Visit> {
        let passed = run.passed().iter().filter(|passed| passed.attempt == run.attempt() && passed.step == step);
        if let Some(passed) = passed.clone().nth(usize::from(nth)) {
            return Some(Visit { opened: passed.opened.tick, begun: passed.begun, done: Some(passed.done.tick) });
        }
        if self.open_step(run) != Some(step) || passed.count() != usize::from(nth) {
            return None;
        }
        let standing = run.offer(run.last().tick).standing;
        Some(Visit { opened: standing.opened.tick, begun: standing.begun, done: None })
    }

    fn incident_due(&self, tell: &Tell, step: &Step, visit: &Visit) -> Option<Tick> {
        let name = format!("incident/{}/{}/{}", tell.attempt, step.id, tell.visit);
        let mut chance = Chance::named(self.scenario.seed, &name);
        match &step.wants {
            Wants::Hold { at_least, .. } | Wants::Timed { at_least, .. } => {
                let hundredths = INCIDENT_FROM + chance.below(INCIDENT_MORE + 1);
                Some(visit.begun?.after(Span(at_least.0 / 100 * hundredths)))
            }
            _ => Some(visit.opened.after(Span(chance.below(INCIDENT_WITHIN_MS)))),
        }
    }

    /// When the reading before the told one was taken; the opening of the step for the first.
    fn reading_before(&self, run: &Run, tell: &Tell, opened: Tick) -> Option<Tick> {
        if !matches!(self.edition.step(tell.step).wants, Wants::Settle(_)) {
            return Some(opened);
        }
        let sets = run.sets_here();
        match usize::from(tell.nth).checked_sub(1) {
            None => sets.is_empty().then_some(opened),
            Some(before) if before + 1 == sets.len() => sets.get(before).map(|set| set.at),
            Some(_) => None,
        }
    }

    /// Whether the level lies beyond the scale, so that the person sees what has to be added.
    fn is_seen_beyond(&self, run: &Run, step: &Step) -> bool {
        let Wants::Settle(settle) = &step.wants else { return false };
        let place = self.place(run, settle.reading);
        place.is_some_and(|place| self.is_neck(settle.reading) && self.lies_beyond(run, &place, settle.reading))
    }
}

/// Whether so long is against the procedure.
fn is_wrong(step: &Step, span: Span) -> bool {
    match &step.wants {
        Wants::Timed { at_least, at_most, .. } => span < *at_least || span > *at_most,
        Wants::Hold { at_most: Some(at_most), .. } => span > *at_most,
        _ => false,
    }
}

fn wrong_time(step: &Step, span: Span) -> Option<String> {
    let right = match &step.wants {
        Wants::Timed { at_least, at_most, .. } => format!("{at_least} to {at_most}"),
        Wants::Hold { at_least, at_most: Some(at_most), .. } => format!("{at_least} to {at_most}"),
        _ => return None,
    };
    Some(format!("On purpose, to see what follows: let it last {span}. Right is {right}."))
}

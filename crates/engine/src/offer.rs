//! What may happen now, which clocks run, and when something changes by itself.
//!
//! Nothing here allocates: a screen may ask at every repaint, a sleeper before every sleep.

use procedure::expr::Datum;
use procedure::{Ending, ReadingId, Step, StepId, Wants};
use quantity::Span;

use crate::event::Event;
use crate::moment::{Moment, Tick};
use crate::refuse::Refused;
use crate::run::Run;
use crate::state::Phase;
use crate::transition::{gave_up, may_begin_again, next_reading};

/// What may happen now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer<'r> {
    /// Where the run stands.
    pub phase: Phase,
    /// The attempt, from 1.
    pub attempt: u16,
    /// The round of a repeated stage, from 1.
    pub round: u16,
    /// The open step, or the last one after the end.
    pub step: Option<(StepId, &'r Step)>,
    /// The next right thing: what one big key does.
    pub act: Act<'r>,
    /// What is under way in the open step.
    pub standing: Standing,
}

/// The next right thing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Act<'r> {
    /// Confirm that the act is done, the count given, the time over.
    Confirm,
    /// Begin what lasts.
    Begin,
    /// Take the other position.
    Turn {
        /// Into the limited one.
        to_down: bool,
    },
    /// It lasts still: nothing to press before this moment.
    Wait {
        /// The moment.
        until: Tick,
    },
    /// Give a reading or an observation.
    Answer(ReadingId),
    /// The time is over: acknowledge that the attempt ends.
    GiveUp(&'r Ending),
    /// Begin the next attempt.
    Again,
    /// Close the run.
    Close,
    /// The run is closed.
    Nothing,
}

/// What is under way in the open step.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// When the step was opened.
    pub opened: Moment,
    /// When its hold was begun.
    pub begun: Option<Tick>,
    /// How many strokes or taps have been counted.
    pub count: Option<u32>,
    /// Whether it is in the limited position.
    pub is_down: bool,
    /// Since when it is in its position.
    pub turned: Tick,
    /// How often the limited position was taken.
    pub n_turns: u32,
    /// The longest time in it so far.
    pub longest_down: Span,
    /// Whether a set of settling readings has been begun.
    pub in_set: bool,
}

/// A running clock.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Clock {
    /// What runs.
    pub of: ClockOf,
    /// Whether it must be reached or must not be passed.
    pub side: Side,
    /// When it was started.
    pub started: Tick,
    /// When it bites.
    pub due: Tick,
}

/// What a clock measures.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum ClockOf {
    /// The least time of the open hold.
    Hold,
    /// The most time of the open hold.
    HoldMost,
    /// The limited position.
    Down,
    /// The next prompt of the open step.
    Prompt,
    /// The next settling reading.
    NextReading,
    /// The time after which settling is given up.
    GiveUp,
    /// A limit across steps, by its index in the edition.
    Limit(u16),
}

/// Which side of a clock is allowed.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Side {
    /// It must be reached.
    AtLeast,
    /// It must not be passed.
    AtMost,
    /// It only reminds.
    Reminder,
}

/// How a step stands in the present attempt.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Status {
    /// Done in this attempt (in its present round, for a repeated stage).
    Done,
    /// Done in the attempt before, and carried over.
    Carried,
    /// Open.
    Now,
    /// Left out, because its condition does not hold or the moment it marks is known.
    LeftOut,
    /// To come.
    ToCome,
}

impl Run {
    /// What may happen at `now`.
    pub fn offer(&self, now: Tick) -> Offer<'_> {
        let cursor = &self.state.cursor;
        let step = self.edition.steps.get(cursor.step.0 as usize).map(|step| (cursor.step, step));
        let act = match cursor.phase {
            Phase::AtStep => step.map_or(Act::Nothing, |(_, step)| self.act(step, now)),
            Phase::Ended if may_begin_again(&self.edition, &self.state) => Act::Again,
            Phase::Ended | Phase::Finished => Act::Close,
            Phase::Closed { .. } => Act::Nothing,
        };
        Offer {
            phase: cursor.phase,
            attempt: cursor.attempt,
            round: cursor.round,
            step,
            act,
            standing: Standing {
                opened: cursor.opened,
                begun: cursor.begun,
                count: cursor.count,
                is_down: cursor.is_down,
                turned: cursor.turned,
                n_turns: cursor.n_turns,
                longest_down: cursor.longest_down,
                in_set: cursor.in_set,
            },
        }
    }

    fn act<'r>(&'r self, step: &'r Step, now: Tick) -> Act<'r> {
        let cursor = &self.state.cursor;
        match (&step.wants, cursor.begun) {
            (Wants::Act | Wants::Count { .. }, _) => Act::Confirm,
            (Wants::Hold { .. } | Wants::Timed { .. }, None) => Act::Begin,
            (Wants::Timed { .. }, Some(_)) => Act::Confirm,
            (Wants::Hold { at_least, turns, .. }, Some(begun)) => {
                let until = begun.after(*at_least);
                match turns {
                    Some(_) if cursor.is_down => Act::Turn { to_down: false },
                    Some(_) if now < until => Act::Turn { to_down: true },
                    None if now < until => Act::Wait { until },
                    _ => Act::Confirm,
                }
            }
            (Wants::Read(reading), _) => Act::Answer(*reading),
            (Wants::Settle(settle), _) => {
                if cursor.in_set {
                    return Act::Answer(settle.also.get(cursor.n_also as usize).copied().unwrap_or(settle.reading));
                }
                if gave_up(&self.state, settle, now) {
                    return Act::GiveUp(&settle.otherwise);
                }
                match next_reading(&self.state, settle) {
                    Some(until) if now < until => Act::Wait { until },
                    _ => Act::Answer(settle.reading),
                }
            }
        }
    }

    /// The event that does the next right thing, where one press is enough for it.
    pub fn press(&self, now: Tick) -> Option<Event> {
        let offer = self.offer(now);
        let (step, _) = offer.step?;
        Some(match offer.act {
            Act::Begin => Event::Begin { step },
            Act::Turn { .. } => Event::Turn { step },
            Act::Again => Event::Again,
            Act::Close => Event::Close,
            // A press while it lasts is answered with how much is left.
            Act::Confirm | Act::GiveUp(_) => Event::Done { step, despite: None },
            Act::Wait { .. } if matches!(self.edition.step(step).wants, Wants::Hold { .. }) => {
                Event::Done { step, despite: None }
            }
            Act::Wait { .. } | Act::Answer(_) | Act::Nothing => return None,
        })
    }

    /// Why `event` would be refused at `at`, without trying it on this run.
    pub fn would_refuse(&self, event: Event, at: Moment) -> Option<Refused> {
        self.clone().apply(event, at).err()
    }

    /// The running clocks, in no particular order.
    pub fn clocks(&self, now: Tick) -> impl Iterator<Item = Clock> + '_ {
        let cursor = &self.state.cursor;
        let at_step = cursor.phase == Phase::AtStep;
        let step = self.edition.steps.get(cursor.step.0 as usize).filter(|_| at_step);
        let mut own: [Option<Clock>; 4] = [None; 4];
        match (step.map(|step| &step.wants), cursor.begun) {
            (Some(Wants::Hold { at_least, at_most, turns, .. }), Some(begun)) => {
                own[0] =
                    Some(Clock { of: ClockOf::Hold, side: Side::AtLeast, started: begun, due: begun.after(*at_least) });
                own[1] = turns.as_ref().filter(|_| cursor.is_down).map(|turns| Clock {
                    of: ClockOf::Down,
                    side: Side::AtMost,
                    started: cursor.turned,
                    due: cursor.turned.after(turns.down_at_most),
                });
                own[2] = at_most.map(|at_most| Clock {
                    of: ClockOf::HoldMost,
                    side: Side::AtMost,
                    started: begun,
                    due: begun.after(at_most),
                });
            }
            (Some(Wants::Timed { at_least, at_most, .. }), Some(begun)) => {
                own[0] =
                    Some(Clock { of: ClockOf::Hold, side: Side::AtLeast, started: begun, due: begun.after(*at_least) });
                own[2] = Some(Clock {
                    of: ClockOf::HoldMost,
                    side: Side::AtMost,
                    started: begun,
                    due: begun.after(*at_most),
                });
            }
            (Some(Wants::Settle(settle)), _) if !cursor.in_set => {
                let opened = cursor.opened.tick;
                own[0] = Some(Clock {
                    of: ClockOf::GiveUp,
                    side: Side::AtMost,
                    started: opened,
                    due: opened.after(settle.give_up_after),
                });
                own[1] = self.state.sets_here().last().map(|set| Clock {
                    of: ClockOf::NextReading,
                    side: Side::AtLeast,
                    started: set.at,
                    due: set.at.after(settle.every),
                });
            }
            _ => {}
        }
        if let (Some(every), Some(begun)) = (step.and_then(|step| step.every.as_ref()), cursor.begun)
            && every.span.0 > 0
        {
            let past = now.since(begun).0 / every.span.0;
            let due = Tick(begun.0 + (past + 1) * every.span.0);
            own[3] = Some(Clock { of: ClockOf::Prompt, side: Side::Reminder, started: begun, due });
        }
        let limits = self.edition.limits.iter().enumerate().filter(move |_| at_step).filter_map(|(n, limit)| {
            let passed = self.state.passed_now();
            let (started, since) = match passed.iter().rposition(|passed| passed.step == limit.from) {
                Some(from) => (passed[from].done.tick, from),
                None => (self.known(self.edition.step(limit.from).moment?)?.tick, 0),
            };
            let is_over = passed[since..].iter().any(|passed| passed.step == limit.to);
            (!is_over).then(|| {
                let of = ClockOf::Limit(n as u16);
                Clock { of, side: Side::AtMost, started, due: started.after(limit.at_most) }
            })
        });
        own.into_iter().flatten().chain(limits)
    }

    /// The earliest moment after `now` at which anything changes by itself; `None` if nothing does.
    pub fn next_wake(&self, now: Tick) -> Option<Tick> {
        self.clocks(now).map(|clock| clock.due).filter(|due| *due > now).min()
    }

    /// How `step` stands in the present attempt.
    pub fn status(&self, step: StepId) -> Status {
        let cursor = &self.state.cursor;
        if step == cursor.step && cursor.phase == Phase::AtStep {
            return Status::Now;
        }
        let is_same_stage = self.edition.step(step).stage == self.edition.step(cursor.step).stage;
        let done = self
            .state
            .passed_now()
            .iter()
            .any(|passed| passed.step == step && (!is_same_stage || passed.round == cursor.round));
        let is_open = cursor.phase == Phase::AtStep;
        if done && (step < cursor.step || !is_open) {
            return Status::Done;
        }
        let from = self.state.starts.last().map_or(StepId(0), |start| start.from);
        let is_carried = step < from && step <= cursor.step;
        let was_done = || self.state.passed.iter().any(|passed| passed.step == step);
        let is_known = self.edition.step(step).moment.is_some_and(|moment| self.known(moment).is_some());
        if is_known && !(is_carried && was_done()) {
            return Status::LeftOut;
        }
        if step > cursor.step {
            return Status::ToCome;
        }
        if is_carried {
            return Status::Carried;
        }
        let when = self.edition.step(step).when.as_ref();
        match when.map(|when| when.eval(&self.view())) {
            Some(Datum::Truth(false)) => Status::LeftOut,
            _ if step < cursor.step => Status::Done,
            _ => Status::ToCome,
        }
    }
}

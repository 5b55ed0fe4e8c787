//! Whose turn it is: what keeps the hands, what must not be late, what waits.
//!
//! | rank | why a run is due |
//! |------|------------------|
//! | 1 | something lasts there, and the hands hold it |
//! | 2 | a time that must not be passed runs, the soonest first |
//! | 3 | a wait without hands is over |
//! | 4 | it is next in the order of the plan |
//! | 5 | a wait without hands lasts still, the soonest first |
//! | 6 | it waits for an act in another run |
//! | 7 | nothing is left to do but to close it |
//!
//! A time that has been passed hurries nobody any more: what can still be kept comes first.
//!
//! **Invariant:** every run that is not closed stands in the list once.

use engine::{Act, Clock, ClockOf, Phase, Run, Side, Tick};
use procedure::{Step, Wants};

use super::windows::{Repeat, WindowState, repeat, windows};
use super::{Seat, tell};

/// A run in the order in which the runs should be in hand.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Turn {
    /// Its place on the bench.
    pub run: usize,
    /// Why it stands here.
    pub why: Why,
}

/// Why a run is due.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// Something lasts, and the hands hold it.
    InHand,
    /// A time runs that must not be passed.
    Before {
        /// Until when, included.
        due: Tick,
    },
    /// A wait without hands is over.
    Ready {
        /// Since when.
        since: Tick,
    },
    /// It is next in the order of the plan.
    Next,
    /// A wait without hands lasts still.
    Until {
        /// Until when.
        until: Tick,
    },
    /// It waits for an act in another run.
    For {
        /// Which.
        run: usize,
    },
    /// Nothing is left to do but to close it.
    ToClose,
}

impl Why {
    fn rank(self) -> (u8, Tick) {
        match self {
            Why::InHand => (1, Tick(0)),
            Why::Before { due } => (2, due),
            Why::Ready { since } => (3, since),
            Why::Next => (4, Tick(0)),
            Why::Until { until } => (5, until),
            Why::For { .. } => (6, Tick(0)),
            Why::ToClose => (7, Tick(0)),
        }
    }
}

/// How a run stands, in the words of a line on the bench.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Stand {
    /// Nobody has begun it.
    NotBegun,
    /// A step is open and wants a person.
    Open,
    /// Something lasts, and the hands hold it.
    InHand,
    /// Something lasts without hands.
    HandsFree {
        /// Until when.
        until: Tick,
    },
    /// A wait without hands is over.
    Ready {
        /// Since when.
        since: Tick,
    },
    /// It waits for an act in another run.
    For {
        /// Which.
        run: usize,
    },
    /// The attempt has ended without a result.
    Ended,
    /// There is a result, and it is to be closed.
    Finished,
    /// It is closed.
    Closed {
        /// Whether with a result.
        with_result: bool,
    },
}

/// How run `n` stands at `now`.
pub fn stand(seats: &[Seat<'_>], n: usize, now: Tick) -> Stand {
    let Some(run) = seats.get(n).and_then(|seat| seat.run) else { return Stand::NotBegun };
    match run.phase() {
        Phase::AtStep => {}
        Phase::Ended => return Stand::Ended,
        Phase::Finished => return Stand::Finished,
        Phase::Closed { with_result } => return Stand::Closed { with_result },
    }
    if let Some(other) = tell::waits_for(seats, n) {
        return Stand::For { run: other };
    }
    let offer = run.offer(now);
    let Some((_, step)) = offer.step else { return Stand::Open };
    if let Some(until) = wait_without_hands(run, step, now) {
        return if now < until { Stand::HandsFree { until } } else { Stand::Ready { since: until } };
    }
    let is_held = match (&step.wants, &offer.act) {
        (Wants::Hold { .. } | Wants::Timed { .. }, _) => offer.standing.begun.is_some(),
        (Wants::Settle(_), Act::Wait { .. }) => true,
        _ => false,
    };
    if is_held { Stand::InHand } else { Stand::Open }
}

/// The end of what lasts in the open step without hands; it may lie behind.
fn wait_without_hands(run: &Run, step: &Step, now: Tick) -> Option<Tick> {
    if !step.hands_free {
        return None;
    }
    let of = |of: ClockOf| run.clocks(now).find(|clock| clock.of == of).map(|clock| clock.due);
    match &step.wants {
        Wants::Hold { turns: None, .. } => of(ClockOf::Hold),
        // A set that has been begun is completed, and one that is given up waits for nothing.
        Wants::Settle(_) if !matches!(run.offer(now).act, Act::GiveUp(_)) => of(ClockOf::NextReading),
        _ => None,
    }
}

/// The runs in the order in which they should be in hand. `order` is the order of the plan, by places on the bench; a run
/// that is not in it comes last.
pub fn due(seats: &[Seat<'_>], order: &[usize], now: Tick) -> Vec<Turn> {
    let place = |n: usize| order.iter().position(|at| *at == n).unwrap_or(usize::MAX);
    let mut turns: Vec<Turn> =
        (0..seats.len()).filter_map(|n| why(seats, n, now).map(|why| Turn { run: n, why })).collect();
    turns.sort_by_key(|turn| (turn.why.rank(), place(turn.run), turn.run));
    turns
}

fn why(seats: &[Seat<'_>], n: usize, now: Tick) -> Option<Why> {
    let soonest = soonest_limit(seats, n, now);
    let pressed = soonest.map_or(Why::Next, |due| Why::Before { due });
    Some(match stand(seats, n, now) {
        Stand::Closed { .. } => return None,
        Stand::InHand => Why::InHand,
        Stand::HandsFree { until } => Why::Until { until },
        Stand::Ready { since } => soonest.map_or(Why::Ready { since }, |due| Why::Before { due }),
        Stand::For { run } => Why::For { run },
        Stand::Finished => Why::ToClose,
        Stand::Ended => match repeat(seats, n, now) {
            Repeat::Allowed { until } => until.map_or(Why::Next, |due| Why::Before { due }),
            Repeat::NotAsked | Repeat::NewSample { .. } | Repeat::NoMore => Why::ToClose,
        },
        Stand::NotBegun | Stand::Open => pressed,
    })
}

/// The soonest time of a run that must not be passed and has not been.
fn soonest_limit(seats: &[Seat<'_>], n: usize, now: Tick) -> Option<Tick> {
    let is_ahead = |clock: &Clock| clock.side == Side::AtMost && clock.due >= now;
    match seats.get(n)?.run {
        Some(run) => run.clocks(now).filter(is_ahead).map(|clock| clock.due).min(),
        None => {
            let due = windows(seats, now).into_iter().filter(|window| window.run == n).filter_map(|window| {
                let WindowState::Running { due, .. } = window.state else { return None };
                Some(due)
            });
            due.min()
        }
    }
}

/// The clock of run `n` that bites first: a limit of the sample for a test nobody has begun, else what runs in it. A least
/// time that is reached and a reminder are left out.
pub fn soonest_clock(seats: &[Seat<'_>], n: usize, now: Tick) -> Option<Clock> {
    let is_news = |clock: &Clock| clock.side == Side::AtMost || (clock.side == Side::AtLeast && clock.due > now);
    match seats.get(n)?.run {
        Some(run) if run.phase() == Phase::AtStep => run.clocks(now).filter(is_news).min_by_key(|clock| clock.due),
        _ => windows(seats, now)
            .into_iter()
            .filter(|window| window.run == n)
            .filter_map(|window| {
                let (started, due) = match window.state {
                    WindowState::Running { started, due } => (started, due),
                    WindowState::Missed { due } => (Tick(due.0.saturating_sub(window.at_most.0)), due),
                    _ => return None,
                };
                Some(Clock { of: ClockOf::Limit(window.limit), side: Side::AtMost, started, due })
            })
            .min_by_key(|clock| clock.due),
    }
}

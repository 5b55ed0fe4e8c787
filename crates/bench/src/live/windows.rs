//! Every limit of every test on the sample, and how it stands: also of tests nobody has begun.
//!
//! **Invariant:** the limit itself still counts as kept; a limit is near for its last fifth, but for no more than a
//! minute.

use engine::{Act, ClockOf, Moment, Phase, Run, Tick};
use procedure::{Limit, StepId};
use quantity::Span;

use super::{Seat, tell};

/// The longest time before its end for which a limit is near.
const NEAR_AT_MOST: Span = Span::from_secs(60);

/// A limit of a test on this sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// Whose: the place of the test on the bench.
    pub run: usize,
    /// Its index in the edition's limits.
    pub limit: u16,
    /// Its id in the procedure.
    pub id: String,
    /// What it is.
    pub title: String,
    /// The longest time, included.
    pub at_most: Span,
    /// Whether it counts from a moment of the sample, and so from another run's act.
    pub from_sample: bool,
    /// How it stands.
    pub state: WindowState,
}

/// How a limit stands.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum WindowState {
    /// Nothing counts yet.
    NotStarted,
    /// It counts.
    Running {
        /// Since when.
        started: Tick,
        /// Until when, included.
        due: Tick,
    },
    /// What was to be done was done in time.
    Kept {
        /// How long it took.
        took: Span,
    },
    /// What was to be done was done too late.
    Late {
        /// By how much.
        by: Span,
    },
    /// The time is over, and what was to be done is not done.
    Missed {
        /// When it was over.
        due: Tick,
    },
}

impl Window {
    /// From when on it is near.
    pub fn near_from(&self) -> Option<Tick> {
        let WindowState::Running { due, .. } = self.state else { return None };
        Some(near_from(due, self.at_most))
    }

    /// Whether it is near at `now`.
    pub fn is_near(&self, now: Tick) -> bool {
        self.near_from().is_some_and(|near| near <= now)
    }

    /// The time left, if it counts.
    pub fn left(&self, now: Tick) -> Option<Span> {
        let WindowState::Running { due, .. } = self.state else { return None };
        Some(due.since(now))
    }
}

fn near_from(due: Tick, at_most: Span) -> Tick {
    let ahead = (at_most.0 / 5).min(NEAR_AT_MOST.0);
    Tick(due.0.saturating_sub(ahead))
}

/// Every limit of every test, in the order of the seats.
pub fn windows(seats: &[Seat<'_>], now: Tick) -> Vec<Window> {
    let mut all = Vec::new();
    for (n, seat) in seats.iter().enumerate() {
        for (at, limit) in (0u16..).zip(&seat.edition.limits) {
            all.push(Window {
                run: n,
                limit: at,
                id: limit.id.clone(),
                title: seat.say(&limit.title),
                at_most: limit.at_most,
                from_sample: seat.moment_of(limit.from).is_some(),
                state: state(seats, seat, at, limit, now),
            });
        }
    }
    all
}

fn state(seats: &[Seat<'_>], seat: &Seat<'_>, at: u16, limit: &Limit, now: Tick) -> WindowState {
    let from_sample = || seat.moment_of(limit.from).and_then(|moment| tell::marked(seats, moment)).map(|(_, at)| at);
    let running = |started: Tick| {
        let due = started.after(limit.at_most);
        if now > due { WindowState::Missed { due } } else { WindowState::Running { started, due } }
    };
    let Some(run) = seat.run else {
        return from_sample().map_or(WindowState::NotStarted, |from| running(from.tick));
    };
    if let Some(clock) = run.clocks(now).find(|clock| clock.of == ClockOf::Limit(at)) {
        return running(clock.started);
    }
    // A test whose attempt has ended may be repeated, and the sample does not wait for it.
    if run.phase() == Phase::Ended
        && run.offer(now).act == Act::Again
        && limit.to >= again_from(run, seat)
        && let Some(from) = from_sample()
    {
        return running(from.tick);
    }
    if let Some((from, to)) = done_between(run, seat, limit) {
        let took = to.since(from);
        return match took.0.checked_sub(limit.at_most.0) {
            Some(by) if by > 0 => WindowState::Late { by: Span(by) },
            _ => WindowState::Kept { took },
        };
    }
    WindowState::NotStarted
}

/// The step at which the next attempt would begin.
fn again_from(run: &Run, seat: &Seat<'_>) -> StepId {
    let again = run.endings().last().and_then(|ended| ended.again);
    again.and_then(|again| seat.edition.agains.get(again.0 as usize)).map_or(StepId(0), |again| again.from)
}

/// When a limit began and ended in the present attempt.
fn done_between(run: &Run, seat: &Seat<'_>, limit: &Limit) -> Option<(Tick, Tick)> {
    let passed = || run.passed().iter().filter(|passed| passed.attempt == run.attempt());
    let own = passed().rfind(|passed| passed.step == limit.from).map(|passed| passed.done);
    let moment = seat.edition.steps.get(limit.from.0 as usize)?.moment;
    let from = own.or_else(|| moment.and_then(|moment| moment_in(run, moment)))?;
    let to = passed().find(|passed| passed.step == limit.to && passed.done.tick >= from.tick)?;
    Some((from.tick, to.done.tick))
}

fn moment_in(run: &Run, moment: u16) -> Option<Moment> {
    run.marked(moment).or_else(|| run.known(moment))
}

/// Something to be said about a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct News {
    /// The limit, as it stands then.
    pub window: Window,
    /// What is new.
    pub kind: NewsKind,
    /// Since when.
    pub at: Tick,
}

/// What is new about a limit.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum NewsKind {
    /// It closes soon.
    Near,
    /// It is over, in a test whose own clocks do not say so: nobody has begun it, or its attempt has ended.
    Over,
}

/// What has become new about the limits after `before` and up to `now`, the earliest first.
pub fn news(seats: &[Seat<'_>], before: Tick, now: Tick) -> Vec<News> {
    let mut said: Vec<News> = windows(seats, before)
        .into_iter()
        .flat_map(|window| moments_of(seats, &window).map(move |(kind, at)| News { window: window.clone(), kind, at }))
        .filter(|news| before < news.at && news.at <= now)
        .collect();
    said.sort_by_key(|news| (news.at, news.window.run, news.window.limit));
    said
}

/// When there is news about a limit next, after `now`.
pub fn next_news(seats: &[Seat<'_>], now: Tick) -> Option<Tick> {
    let all = windows(seats, now);
    all.iter().flat_map(|window| moments_of(seats, window)).map(|(_, at)| at).filter(|at| *at > now).min()
}

fn moments_of(seats: &[Seat<'_>], window: &Window) -> impl Iterator<Item = (NewsKind, Tick)> + use<> {
    let due = match window.state {
        WindowState::Running { due, .. } => Some(due),
        _ => None,
    };
    let has_own_clock = seats.get(window.run).is_some_and(|seat| seat.at_step().is_some());
    let near = due.map(|due| (NewsKind::Near, near_from(due, window.at_most)));
    // One moment after the limit, which itself still counts as kept.
    let over = due.filter(|_| !has_own_clock).map(|due| (NewsKind::Over, Tick(due.0 + 1)));
    near.into_iter().chain(over)
}

/// Whether a discarded test may be repeated on this sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Repeat {
    /// No attempt has ended without a result.
    NotAsked,
    /// Yes.
    Allowed {
        /// Until when, if a limit of the sample runs.
        until: Option<Tick>,
    },
    /// No: a new sample is needed.
    NewSample {
        /// Why, in a sentence.
        because: String,
    },
    /// No: the procedure allows no further attempt.
    NoMore,
}

/// Whether run `n`, whose attempt has ended without a result, may be repeated on this sample: every limit that counts
/// from a moment of the sample, and that the next attempt would have to keep, must still be open.
pub fn repeat(seats: &[Seat<'_>], n: usize, now: Tick) -> Repeat {
    let Some((seat, run)) = seats.get(n).and_then(|seat| Some((seat, seat.run?))) else { return Repeat::NotAsked };
    if run.phase() != Phase::Ended {
        return Repeat::NotAsked;
    }
    if run.offer(now).act != Act::Again {
        return Repeat::NoMore;
    }
    let from = again_from(run, seat);
    let mut until: Option<Tick> = None;
    for limit in seat.edition.limits.iter().filter(|limit| limit.to >= from) {
        let Some(moment) = seat.moment_of(limit.from) else { continue };
        let Some((_, marked)) = tell::marked(seats, moment) else { continue };
        let due = marked.tick.after(limit.at_most);
        if now > due {
            let because = format!(
                "{} within {}, and that was over {} ago",
                seat.say(&limit.title),
                limit.at_most,
                Span(now.since(due).0 / 1_000 * 1_000)
            );
            return Repeat::NewSample { because };
        }
        until = Some(until.map_or(due, |until| until.min(due)));
    }
    Repeat::Allowed { until }
}

//! A run of the bench in one line of words, and a limit in one.
//!
//! Here: words only; the screen and the plain lines both use them. Not here: where they stand.
//!
//! **Invariant:** as everywhere, a time in words is never kinder than the time there is, and these change at most every
//! ten seconds.

use bench::live::{self, NewsKind, Repeat, Seat, Stand, Turn, Why, Window, WindowState};
use engine::{Act, Clock, ClockOf, Side, Tick};
use quantity::Span;

use crate::screen::face::{Coarse, coarse};

/// How pressing something is: words and sign say it before any colour.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// Nothing presses.
    Calm,
    /// The person is wanted, or a time closes soon.
    Soon,
    /// A time is over.
    Over,
}

/// A run of the bench in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LineWords {
    /// A sign for how it stands.
    pub sign: &'static str,
    /// How it stands, in a word or two; empty if the act says it.
    pub state: String,
    /// Its next act.
    pub act: String,
    /// Its soonest clock.
    pub clock: String,
    /// How pressing it is.
    pub urgency: Urgency,
    /// When any of this changes by itself.
    pub change: Option<Tick>,
}

/// Run `n` in words.
pub fn line_words(seats: &[Seat<'_>], n: usize, now: Tick) -> LineWords {
    let (sign, state) = state_words(seats, n, now);
    let clock = live::soonest_clock(seats, n, now);
    let (clock, mut urgency, change) = clock.map_or((String::new(), Urgency::Calm, None), |clock| {
        let (words, urgency, change) = clock_words(&clock, now);
        (words, urgency, change)
    });
    let stand = live::stand(seats, n, now);
    if matches!(stand, Stand::Ready { .. } | Stand::Ended) {
        urgency = urgency.max(Urgency::Soon);
    }
    LineWords { sign, state, act: act_words(seats, n, now), clock, urgency, change }
}

fn state_words(seats: &[Seat<'_>], n: usize, now: Tick) -> (&'static str, String) {
    let stand = live::stand(seats, n, now);
    let (sign, words) = match stand {
        Stand::NotBegun => ("·", "not begun"),
        Stand::Open => ("▶", ""),
        Stand::InHand => ("■", "in hand"),
        Stand::HandsFree { .. } => ("◷", "hands free"),
        Stand::Ready { .. } => ("▶", ready_words(seats, n, now)),
        Stand::For { run } => {
            let name = seats.get(run).map_or("", |seat| seat.name);
            return ("…", format!("waits for {name}"));
        }
        Stand::Ended => ("✗", "DISCARDED"),
        Stand::Finished => ("✓", "to be closed"),
        Stand::Closed { with_result: true } => ("✓", "closed"),
        Stand::Closed { with_result: false } => ("✗", "closed without a result"),
    };
    (sign, words.to_owned())
}

/// What is ready: a reading to be taken, or something that has lasted long enough.
fn ready_words(seats: &[Seat<'_>], n: usize, now: Tick) -> &'static str {
    let run = seats.get(n).and_then(|seat| seat.run);
    let is_read = run.is_some_and(|run| matches!(run.offer(now).act, Act::Answer(_)));
    if is_read { "READ NOW" } else { "LONG ENOUGH" }
}

/// The next act of a run, in few words.
fn act_words(seats: &[Seat<'_>], n: usize, now: Tick) -> String {
    let Some(seat) = seats.get(n) else { return String::new() };
    let Some(run) = seat.run else { return seat.edition.title.clone() };
    match live::stand(seats, n, now) {
        Stand::Finished | Stand::Closed { .. } => {
            let results: Vec<String> =
                run.results().iter().map(|outcome| format!("{} {}", outcome.id, outcome.reported)).collect();
            results.join(", ")
        }
        Stand::Ended => match live::repeat(seats, n, now) {
            Repeat::NewSample { because } => format!("new sample needed: {because}"),
            Repeat::NoMore => "no further attempt".to_owned(),
            Repeat::NotAsked | Repeat::Allowed { .. } => "again, on this sample".to_owned(),
        },
        _ => {
            let offer = run.offer(now);
            // The short spoken form is for the beginning: of what lasts already the sentence says more.
            let Some((_, step)) = offer.step else { return String::new() };
            let spoken = step.say.as_ref().filter(|_| offer.standing.begun.is_none());
            run.say(spoken.unwrap_or(&step.instruction))
        }
    }
}

/// A clock in a few signs, how pressing it is, and when that changes.
pub fn clock_words(clock: &Clock, now: Tick) -> (String, Urgency, Option<Tick>) {
    let (shown, change) = coarse(clock, now);
    let whole = clock.due.since(clock.started);
    let near = Tick(clock.due.0.saturating_sub((whole.0 / 5).min(60_000)));
    let is_most = clock.side == Side::AtMost;
    let text = |seconds| Span::from_secs(seconds).clock();
    let (words, urgency) = match shown {
        Coarse::AtMost(seconds) if is_most && now >= near => (format!("HURRY {}", text(seconds)), Urgency::Soon),
        Coarse::AtMost(seconds) if is_most => (format!("within {}", text(seconds)), Urgency::Calm),
        Coarse::AtMost(seconds) => (format!("in {}", text(seconds)), Urgency::Calm),
        Coarse::Due => ("NOW".to_owned(), Urgency::Soon),
        Coarse::Reached => ("READY".to_owned(), Urgency::Soon),
        Coarse::Over(0) => ("OVER".to_owned(), Urgency::Over),
        Coarse::Over(minutes) => (format!("OVER by {minutes} min"), Urgency::Over),
    };
    let near = Some(near).filter(|near| is_most && *near > now);
    (words, urgency, change.into_iter().chain(near).min())
}

/// Why a run is what is due, in a few words.
pub fn turn_words(seats: &[Seat<'_>], turn: &Turn, now: Tick) -> String {
    let name = seats.get(turn.run).map_or("", |seat| seat.name);
    match turn.why {
        Why::InHand => format!("{name}, in hand"),
        Why::Before { due } => {
            let left = due.since(now).0.div_ceil(10_000) * 10;
            format!("{name}, within {}", Span::from_secs(left).clock())
        }
        Why::Ready { .. } => format!("{name}, ready"),
        Why::Next => format!("{name}, next"),
        Why::Until { until } => {
            let left = until.since(now).0.div_ceil(10_000) * 10;
            format!("{name}, hands free for {}", Span::from_secs(left).clock())
        }
        Why::For { run } => format!("{name}, waits for {}", seats.get(run).map_or("", |seat| seat.name)),
        Why::ToClose => format!("{name}, to be closed"),
    }
}

/// The end of a sentence about a limit: how it stands.
pub fn window_words(window: &Window, now: Tick) -> String {
    match window.state {
        WindowState::NotStarted => "not started".to_owned(),
        WindowState::Running { started, due } => {
            let clock = Clock { of: ClockOf::Limit(window.limit), side: Side::AtMost, started, due };
            clock_words(&clock, now).0
        }
        WindowState::Kept { took } => format!("kept: {}", took.clock_up()),
        WindowState::Late { by } => format!("LATE by {}", by.clock_up()),
        WindowState::Missed { .. } => "OVER".to_owned(),
    }
}

/// What is new about limits in one moment, in a sentence; `all` are of one kind.
pub fn news_words(seats: &[Seat<'_>], all: &[live::News]) -> String {
    let name = |news: &live::News| seats.get(news.window.run).map_or("", |seat| seat.name);
    let Some(first) = all.first() else { return String::new() };
    let left = first.window.left(first.at).unwrap_or_default();
    if let [one] = all {
        let title = &one.window.title;
        return match one.kind {
            NewsKind::Near => format!("{}: {title}: closes in {left}", name(one)),
            NewsKind::Over => format!("{}: {title}: over ({})", name(one), one.window.at_most),
        };
    }
    let names: Vec<&str> = all.iter().map(name).collect();
    match first.kind {
        NewsKind::Near => format!("closes in {left}: {}", names.join(", ")),
        NewsKind::Over => format!("time over: {}", names.join(", ")),
    }
}

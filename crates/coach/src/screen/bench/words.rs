//! A run of the bench in one line of words, and a limit in one.
//!
//! Here: words only; the screen and the plain lines both use them. Not here: where they stand.
//!
//! **Invariant:** a time that must not be passed is never said longer than it is: what is left of it is rounded down, in
//! lines to the second, on the screen to ten, so that nothing there changes more often.

use bench::live::{self, Judged, NewsKind, Repeat, Seat, Stand, Turn, Why, Window, WindowState};
use engine::{Act, Clock, ClockOf, Side, Tick};
use quantity::Span;

use crate::screen::face::{Coarse, coarse};

/// The steps of the times left on the screen.
const STEP: Span = Span::from_secs(10);
/// The steps of the times left in lines, which do not change by themselves.
const SECOND: Span = Span::from_secs(1);

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

impl LineWords {
    /// The same with what stands beside its limit: once there are results, each with its verdict.
    #[must_use]
    pub fn with_verdicts<'j>(mut self, stand: Stand, judged: impl Iterator<Item = &'j Judged>) -> Self {
        let all: Vec<&Judged> = judged.collect();
        if matches!(stand, Stand::Finished | Stand::Closed { .. }) {
            if all.iter().any(|one| one.wants_check) {
                self.urgency = self.urgency.max(Urgency::Soon);
            }
            for one in all {
                let plain = format!("{} {}", one.result, one.reported);
                if let Some(at) = self.act.find(&plain) {
                    let with = format!("{} {}", one.result, one.words());
                    self.act.replace_range(at..at + plain.len(), &with);
                }
            }
        }
        self
    }
}

/// Run `n` in words, for the screen.
pub fn line_words(seats: &[Seat<'_>], n: usize, now: Tick) -> LineWords {
    line_words_by(seats, n, now, STEP)
}

/// Run `n` in words, with its time to the second.
pub fn exact_line_words(seats: &[Seat<'_>], n: usize, now: Tick) -> LineWords {
    line_words_by(seats, n, now, SECOND)
}

fn line_words_by(seats: &[Seat<'_>], n: usize, now: Tick, step: Span) -> LineWords {
    let (sign, state) = state_words(seats, n, now);
    let clock = live::soonest_clock(seats, n, now);
    let (clock, mut urgency, change) = clock.map_or((String::new(), Urgency::Calm, None), |clock| {
        let (words, urgency, change) = clock_words(&clock, now, step);
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

/// A clock in a few signs, how pressing it is, and when that changes. A longest time is rounded down to `step`, a least
/// time up.
fn clock_words(clock: &Clock, now: Tick, step: Span) -> (String, Urgency, Option<Tick>) {
    let (shown, change) = coarse(clock, now);
    let whole = clock.due.since(clock.started);
    let near = Tick(clock.due.0.saturating_sub((whole.0 / 5).min(60_000)));
    if clock.side == Side::AtMost && now < clock.due {
        let (left, change) = left_down(clock.due, now, step);
        let (word, urgency) = if now >= near { ("HURRY", Urgency::Soon) } else { ("within", Urgency::Calm) };
        let near = Some(near).filter(|near| *near > now);
        return (format!("{word} {left}"), urgency, near.into_iter().chain([change]).min());
    }
    let (words, urgency) = match shown {
        Coarse::AtMost(_) if step == SECOND => {
            let left = Span(clock.due.since(now).0.div_ceil(1_000) * 1_000);
            (format!("in {}", left.clock()), Urgency::Calm)
        }
        Coarse::AtMost(seconds) => (format!("in {}", Span::from_secs(seconds).clock()), Urgency::Calm),
        Coarse::Due => ("NOW".to_owned(), Urgency::Soon),
        Coarse::Reached => ("READY".to_owned(), Urgency::Soon),
        Coarse::Over(0) => ("OVER".to_owned(), Urgency::Over),
        Coarse::Over(minutes) => (format!("OVER by {minutes} min"), Urgency::Over),
    };
    (words, urgency, change)
}

/// The time left until `due`, rounded down, and when that changes.
fn left_down(due: Tick, now: Tick, step: Span) -> (String, Tick) {
    let steps = due.since(now).0 / step.0;
    if steps == 0 {
        return (format!("<{}", step.clock()), due);
    }
    (Span(steps * step.0).clock().to_string(), Tick(due.0 - steps * step.0 + 1))
}

/// Why a run is what is due, in a few words.
pub fn turn_words(seats: &[Seat<'_>], turn: &Turn, now: Tick) -> String {
    let name = seats.get(turn.run).map_or("", |seat| seat.name);
    match turn.why {
        Why::InHand => format!("{name}, in hand"),
        Why::Before { due } => {
            format!("{name}, within {}", left_down(due, now, STEP).0)
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

/// The end of a sentence about a limit: how it stands, for the screen.
pub fn window_words(window: &Window, now: Tick) -> String {
    window_words_by(window, now, STEP)
}

/// The same with the time left to the second.
pub fn exact_window_words(window: &Window, now: Tick) -> String {
    window_words_by(window, now, SECOND)
}

fn window_words_by(window: &Window, now: Tick, step: Span) -> String {
    match window.state {
        WindowState::NotStarted => "not started".to_owned(),
        WindowState::Running { started, due } => {
            let clock = Clock { of: ClockOf::Limit(window.limit), side: Side::AtMost, started, due };
            clock_words(&clock, now, step).0
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

//! The number that matters now, and how long it stays what it is.
//!
//! Here: for each kind of step the one number that is shown biggest, the other clocks in words, and the moment at
//! which each of them changes. Not here: how they are drawn.
//!
//! **Invariant:** time left is rounded up, time gone by is rounded down, and a time in words is never kinder than the
//! time there is. Only the biggest number ticks; the other clocks change at most every ten seconds.

use std::borrow::Cow;
use std::fmt::Write as _;

use engine::{Act, Clock, ClockOf, Phase, Run, Side, Tick};
use procedure::{Step, Text, Wants};
use quantity::Span;

use super::entry::Entry;
use super::model::Model;

/// The number that matters now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Face {
    /// What it is, in capitals above it.
    pub caption: Cow<'static, str>,
    /// The number; empty if nothing is counted or measured now.
    pub number: String,
    /// Its unit or what it is out of, small beside it.
    pub side: String,
    /// Something must be done at once.
    pub is_alarm: bool,
    /// What was asked for is reached.
    pub is_good: bool,
    /// The clock that is shown so, and needs no other line.
    pub clock: Option<ClockOf>,
    /// When it changes by itself.
    pub change: Option<Tick>,
}

/// Whole seconds left, rounded up, and when that changes; `None` once `due` is reached.
pub fn seconds_left(due: Tick, now: Tick) -> Option<(u64, Tick)> {
    let left = due.0.checked_sub(now.0).filter(|left| *left > 0)?.div_ceil(1_000);
    Some((left, Tick(due.0 - (left - 1) * 1_000)))
}

/// Whole seconds gone by, rounded down, and when that changes.
pub fn seconds_gone(from: Tick, now: Tick) -> (u64, Tick) {
    let gone = now.0.saturating_sub(from.0) / 1_000;
    (gone, Tick(from.0.saturating_add((gone + 1) * 1_000)))
}

/// Seconds as a clock shows them.
fn clock_text(seconds: u64) -> String {
    Span::from_secs(seconds).clock()
}

/// True once an upper limit has been passed; the limit itself still counts as kept.
pub fn is_over(clock: &Clock, now: Tick) -> bool {
    clock.side == Side::AtMost && now > clock.due
}

/// The longest question that stands above a number, in characters.
const CAPTION_AT_MOST: usize = 44;

impl Model {
    /// The number that matters now.
    pub fn face(&self, now: Tick) -> Face {
        let run = &self.run;
        let offer = run.offer(now);
        match offer.phase {
            Phase::AtStep => {}
            Phase::Ended => return Face::default(),
            Phase::Finished | Phase::Closed { .. } => return result_face(run),
        }
        let Some((_, step)) = offer.step else { return Face::default() };
        let standing = &offer.standing;
        match &step.wants {
            Wants::Count { of, at_least, at_most, .. } => {
                let typed = match &self.entry {
                    Entry::Count(field) if !field.text.is_empty() => Some(field.text.clone()),
                    _ => None,
                };
                let asked = range(*at_least, *at_most);
                let of_upper = of.to_uppercase();
                match typed.or_else(|| standing.count.map(|count| count.to_string())) {
                    Some(number) => Face {
                        caption: format!("{of_upper} GIVEN").into(),
                        number,
                        side: format!("of {asked}"),
                        ..Face::default()
                    },
                    None => Face {
                        caption: format!("{of_upper} TO GIVE").into(),
                        number: asked,
                        side: of.clone(),
                        ..Face::default()
                    },
                }
            }
            Wants::Hold { at_least, .. } if standing.begun.is_none() => Face {
                caption: "TO LAST AT LEAST".into(),
                number: at_least.clock_up(),
                side: "not begun".to_owned(),
                ..Face::default()
            },
            Wants::Hold { at_least, turns, .. } => {
                let begun = standing.begun.unwrap_or(now);
                if let Some(turns) = turns.as_ref().filter(|_| standing.is_down) {
                    return down_face(standing.turned, turns, now);
                }
                hold_face(begun, begun.after(*at_least), now, turns.as_ref().map(|turns| turns.up.as_str()))
            }
            Wants::Timed { at_least, at_most, .. } => {
                let side = format!("{at_least} to {at_most}");
                match standing.begun {
                    None => Face { caption: "TIME IT".into(), number: "0:00".to_owned(), side, ..Face::default() },
                    Some(begun) => timed_face(begun, *at_least, *at_most, side, now),
                }
            }
            Wants::Read(_) | Wants::Settle(_) => self.entry_face(step, &offer.act, now),
            Wants::Act => limit_face(run, now),
        }
    }

    fn entry_face(&self, step: &Step, act: &Act<'_>, now: Tick) -> Face {
        match (&self.entry, act) {
            (Entry::Number(number), _) if !number.text.is_empty() => Face {
                caption: self.reading_caption(now),
                number: number.text.trim_end().to_owned(),
                side: number.scale.unit.symbol(),
                ..Face::default()
            },
            (_, Act::Wait { until }) if matches!(step.wants, Wants::Settle(_)) => match seconds_left(*until, now) {
                Some((left, change)) => Face {
                    caption: "NEXT READING IN".into(),
                    number: clock_text(left),
                    clock: Some(ClockOf::NextReading),
                    change: Some(change),
                    ..Face::default()
                },
                None => Face::default(),
            },
            (_, Act::GiveUp(_)) => {
                let give_up = self.run.clocks(now).find(|clock| clock.of == ClockOf::GiveUp);
                let is_over = give_up.is_none_or(|clock| now > clock.due);
                let caption = if is_over { "THE TIME TO SETTLE IS OVER" } else { "NO TIME FOR ANOTHER READING" };
                Face {
                    caption: caption.into(),
                    is_alarm: true,
                    clock: Some(ClockOf::GiveUp),
                    // One moment after the limit, which itself still counts as kept.
                    change: give_up.filter(|_| !is_over).map(|clock| Tick(clock.due.0 + 1)),
                    ..Face::default()
                }
            }
            (Entry::Number(number), _) => {
                let dashes = match number.scale.places().min(4) as usize {
                    0 => "--".to_owned(),
                    places => format!("-.{:-<places$}", ""),
                };
                Face {
                    caption: self.reading_caption(now),
                    number: dashes,
                    side: number.scale.unit.symbol(),
                    ..Face::default()
                }
            }
            _ => limit_face(&self.run, now),
        }
    }

    fn reading_caption(&self, now: Tick) -> Cow<'static, str> {
        match self.reading_asked(now) {
            Some((_, reading, _)) => {
                let reading = self.run.edition().reading(reading);
                let ask = said(&self.run, &reading.ask);
                // A short question is the better name; a long one stands in the sentence anyway.
                let is_short = ask.chars().count() <= CAPTION_AT_MOST;
                let name = if is_short { ask } else { reading.id.replace('_', " ").into() };
                name.to_uppercase().into()
            }
            None => Cow::Borrowed(""),
        }
    }
}

fn range(at_least: u32, at_most: u32) -> String {
    if at_least == at_most { at_least.to_string() } else { format!("{at_least}-{at_most}") }
}

/// The inversion: its seconds counted down, then how long it lasts already.
fn down_face(turned: Tick, turns: &procedure::Turns, now: Tick) -> Face {
    let due = turned.after(turns.down_at_most);
    match seconds_left(due, now) {
        Some((left, change)) => Face {
            caption: turns.down.to_uppercase().into(),
            number: left.to_string(),
            side: "s left".to_owned(),
            clock: Some(ClockOf::Down),
            change: Some(change),
            ..Face::default()
        },
        None => {
            let (gone, change) = seconds_gone(turned, now);
            Face {
                caption: "TURN IT UP NOW".into(),
                number: gone.to_string(),
                side: format!("s {}", turns.down),
                is_alarm: true,
                clock: Some(ClockOf::Down),
                change: Some(change),
                ..Face::default()
            }
        }
    }
}

/// What the person times: how long it lasts already, and whether its end would be too soon, right or too late.
fn timed_face(begun: Tick, at_least: Span, at_most: Span, side: String, now: Tick) -> Face {
    let (gone, next_second) = seconds_gone(begun, now);
    let (least, most) = (begun.after(at_least), begun.after(at_most));
    let caption = match () {
        () if now < least => format!("NOT BEFORE {at_least}"),
        () if now <= most => format!("IN TIME — NOT AFTER {at_most}"),
        () => format!("OVER {at_most}"),
    };
    // The limit itself still counts as kept.
    let change = [least, Tick(most.0 + 1), next_second].into_iter().filter(|change| *change > now).min();
    Face {
        caption: caption.into(),
        number: clock_text(gone),
        side,
        is_alarm: now > most,
        is_good: now >= least && now <= most,
        clock: Some(ClockOf::HoldMost),
        change,
    }
}

/// How long something timed has lasted, in tenths of a second, never nearer to its limits than it was.
pub fn lasted(lasted: Span, at_least: Span) -> Span {
    let tenths = if lasted < at_least { lasted.0 / 100 } else { lasted.0.div_ceil(100) };
    Span(tenths * 100)
}

/// A hold: time left, then time gone by.
fn hold_face(begun: Tick, due: Tick, now: Tick, up: Option<&str>) -> Face {
    match seconds_left(due, now) {
        Some((left, change)) => Face {
            caption: match up {
                Some(up) => format!("{}, TIME LEFT", up.to_uppercase()).into(),
                None => "TIME LEFT".into(),
            },
            number: clock_text(left),
            clock: Some(ClockOf::Hold),
            change: Some(change),
            ..Face::default()
        },
        None => {
            let (gone, change) = seconds_gone(begun, now);
            Face {
                caption: "LONG ENOUGH".into(),
                number: clock_text(gone),
                is_good: true,
                clock: Some(ClockOf::Hold),
                change: Some(change),
                ..Face::default()
            }
        }
    }
}

/// The soonest limit across steps, if one runs.
fn limit_face(run: &Run, now: Tick) -> Face {
    let limits = run.clocks(now).filter(|clock| matches!(clock.of, ClockOf::Limit(_)));
    let Some(clock) = limits.min_by_key(|clock| clock.due) else { return Face::default() };
    let ClockOf::Limit(n) = clock.of else { return Face::default() };
    let limit = &run.edition().limits[n as usize];
    let title = format!("{} — WITHIN {}", said(run, &limit.title).to_uppercase(), limit.at_most);
    match seconds_left(clock.due, now) {
        Some((left, change)) => Face {
            caption: title.into(),
            number: clock_text(left),
            side: "left".to_owned(),
            clock: Some(clock.of),
            change: Some(change),
            ..Face::default()
        },
        None => {
            let (gone, change) = seconds_gone(clock.due, now);
            let is_over = is_over(&clock, now);
            Face {
                caption: title.into(),
                number: clock_text(gone),
                side: if is_over { "OVER" } else { "left" }.to_owned(),
                is_alarm: is_over,
                clock: Some(clock.of),
                change: Some(if is_over { change } else { Tick(clock.due.0 + 1) }),
                ..Face::default()
            }
        }
    }
}

fn result_face(run: &Run) -> Face {
    let results = run.results();
    let Some(outcome) = results.first() else { return Face::default() };
    let shown = outcome.reported.to_string();
    let (number, unit) = shown.split_once(' ').unwrap_or((&shown, ""));
    Face {
        caption: outcome.title.to_uppercase().into(),
        number: number.to_owned(),
        side: unit.to_owned(),
        is_good: true,
        ..Face::default()
    }
}

/// A text with its places filled in; nothing is copied if it has none.
pub fn said<'a>(run: &Run, text: &'a Text) -> Cow<'a, str> {
    text.as_plain().map_or_else(|| Cow::Owned(run.say(text)), Cow::Borrowed)
}

/// How a clock that is not the biggest number stands, in words that change seldom.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Coarse {
    /// At most so many seconds are left, in steps of ten, or of sixty above two minutes.
    AtMost(u64),
    /// Exactly due.
    Due,
    /// Reached, for a least time.
    Reached,
    /// Passed by at least so many whole minutes.
    Over(u64),
}

/// How a clock stands, and when that changes.
pub fn coarse(clock: &Clock, now: Tick) -> (Coarse, Option<Tick>) {
    if let Some(left) = clock.due.0.checked_sub(now.0).filter(|left| *left > 0) {
        let step = if left > 120_000 { 60_000 } else { 10_000 };
        let steps = left.div_ceil(step);
        // Never more than the whole time there is.
        let whole = clock.due.since(clock.started).0.div_ceil(1_000);
        return (Coarse::AtMost((steps * step / 1_000).min(whole)), Some(Tick(clock.due.0 - (steps - 1) * step)));
    }
    match clock.side {
        Side::AtLeast | Side::Reminder => (Coarse::Reached, None),
        Side::AtMost if now == clock.due => (Coarse::Due, Some(Tick(clock.due.0 + 1))),
        Side::AtMost => {
            let minutes = now.since(clock.due).0 / 60_000;
            (Coarse::Over(minutes), Some(Tick(clock.due.0 + (minutes + 1) * 60_000)))
        }
    }
}

/// The running clocks beside the biggest number, the soonest first, without reminders.
pub fn other_clocks(run: &Run, shown: Option<ClockOf>, now: Tick, out: &mut Vec<Clock>) {
    let is_given_up = matches!(run.offer(now).act, Act::GiveUp(_));
    out.clear();
    out.extend(run.clocks(now).filter(|clock| {
        // A reading that is due is asked for, and one that comes too late is not waited for.
        let is_idle = clock.of == ClockOf::NextReading && (clock.due <= now || is_given_up);
        Some(clock.of) != shown && clock.side != Side::Reminder && !is_idle
    }));
    out.sort_by_key(|clock| clock.due);
}

/// A clock in words: what it is, which side is allowed, how it stands.
pub fn clock_words(run: &Run, step: Option<&Step>, clock: &Clock, now: Tick, out: &mut String) {
    let whole = clock.due.since(clock.started);
    let wants = step.map(|step| &step.wants);
    let _ = match (clock.of, wants) {
        (ClockOf::Hold, _) => write!(out, "Lasts at least {whole}"),
        (ClockOf::HoldMost, _) => write!(out, "Lasts at most {whole}"),
        (ClockOf::Down, Some(Wants::Hold { turns: Some(turns), .. })) => {
            write!(out, "{} at most {whole}", capital(&turns.down))
        }
        (ClockOf::Down, _) => write!(out, "At most {whole}"),
        (ClockOf::NextReading, _) => write!(out, "Next reading after {whole}"),
        (ClockOf::GiveUp, _) => write!(out, "Settle within {whole}"),
        (ClockOf::Prompt, _) => write!(out, "Every {whole}"),
        (ClockOf::Limit(n), _) => {
            let title = said(run, &run.edition().limits[n as usize].title);
            write!(out, "{title} within {whole}")
        }
    };
    let word = if clock.side == Side::AtLeast { "to go" } else { "left" };
    let _ = match coarse(clock, now).0 {
        Coarse::AtMost(seconds) => write!(out, ": at most {} {word}", Span::from_secs(seconds)),
        Coarse::Due => out.write_str(": due NOW"),
        Coarse::Reached => out.write_str(": reached ✓"),
        Coarse::Over(0) => out.write_str(": OVER"),
        Coarse::Over(minutes) => write!(out, ": OVER by {minutes} min"),
    };
}

fn capital(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}

/// The prompt of the open step: its words, how often, and whether it is due now.
pub fn prompt(run: &Run, now: Tick) -> Option<(&Text, Span, bool)> {
    let offer = run.offer(now);
    let every = offer.step.filter(|_| offer.phase == Phase::AtStep)?.1.every.as_ref()?;
    let begun = offer.standing.begun?;
    let gone = now.since(begun).0;
    let is_now = every.span.0 > 0 && gone >= every.span.0 && gone % every.span.0 < PROMPT_STANDS.0;
    Some((&every.cue, every.span, is_now))
}

/// How long a prompt stands out after it was due.
pub(crate) const PROMPT_STANDS: Span = Span(3_000);

/// When the screen changes by itself: the earliest of what is shown.
pub(crate) fn next_shown_change(model: &Model, now: Tick) -> Option<Tick> {
    let face = model.face(now);
    let step = model.run.offer(now).step.filter(|_| model.run.phase() == Phase::AtStep);
    let others = model
        .run
        .clocks(now)
        .filter(|clock| Some(clock.of) != face.clock && clock.side != Side::Reminder)
        .filter_map(|clock| coarse(&clock, now).1);
    // A prompt stands out for a moment and steps back.
    let prompt = step.and_then(|(_, step)| step.every.as_ref()).zip(model.run.offer(now).standing.begun).and_then(
        |(every, begun)| {
            let gone = now.since(begun).0;
            let into = gone.checked_rem(every.span.0)?;
            (gone >= every.span.0 && into < PROMPT_STANDS.0).then(|| Tick(now.0 - into + PROMPT_STANDS.0))
        },
    );
    face.change.into_iter().chain(others).chain(prompt).filter(|at| *at > now).min()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_left_is_rounded_up_and_time_gone_by_is_rounded_down() {
        let due = Tick(10_000);
        for (now, left, change) in [(0, 10, 1_000), (1, 10, 1_000), (1_000, 9, 2_000), (9_001, 1, 10_000)] {
            assert_eq!(seconds_left(due, Tick(now)), Some((left, Tick(change))), "at {now}");
        }
        assert_eq!(seconds_left(due, due), None);
        for (now, gone, change) in [(500, 0, 1_500), (1_499, 0, 1_500), (1_500, 1, 2_500)] {
            assert_eq!(seconds_gone(Tick(500), Tick(now)), (gone, Tick(change)), "at {now}");
        }
    }

    #[test]
    fn a_clock_in_words_is_never_kinder_than_the_time_there_is() {
        let clock = Clock { of: ClockOf::GiveUp, side: Side::AtMost, started: Tick(0), due: Tick(360_000) };
        let mut now = Tick(0);
        let mut n_changes = 0;
        while now < Tick(600_000) {
            let (shown, change) = coarse(&clock, now);
            let left = clock.due.0.saturating_sub(now.0);
            match shown {
                Coarse::AtMost(seconds) => assert!(left <= seconds * 1_000, "{left} ms left, said at most {seconds} s"),
                Coarse::Due => assert_eq!(now, clock.due),
                Coarse::Over(minutes) => assert!(now.0 - clock.due.0 >= minutes * 60_000 && now > clock.due),
                Coarse::Reached => panic!("a limit is not reached but passed"),
            }
            let change = change.unwrap();
            assert!(change > now);
            assert_eq!(coarse(&clock, Tick(change.0 - 1)).0, shown, "nothing changes before it was said to");
            assert_ne!(coarse(&clock, change).0, shown, "and then it does");
            now = change;
            n_changes += 1;
        }
        assert!(n_changes < 30, "{n_changes} changes in ten minutes");
    }
}

//! Scripts: the line form with simulated time, as a test or a demonstration.
//!
//! Here: reading a script, and playing it against a run. Time comes from the script alone, to the millisecond, so the
//! same script gives the same lines, the same journal and the same report every time.
//! Not here: the words themselves; they are those of [`super::language`].
//!
//! **Invariant:** a script that is faulty anywhere is refused before its first line is played.

use std::io::{self, Write};

use chrono::DateTime;
use engine::{Moment, Tick, Wall};
use quantity::{Span, System, Ties};

use super::{Led, One, Record, Talk};
use procedure::nearest::nearest;

/// The longest a script may last: a slip of the key is no century.
const LASTS_AT_MOST: Span = Span::from_secs(7 * 24 * 3600);

/// A script, read and found sound.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Script {
    /// What stands at its head.
    pub head: Head,
    /// What follows.
    pub lines: Vec<Timed>,
}

/// The head of a script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Head {
    /// The wall clock when the run is opened.
    pub start: Wall,
    /// The procedure, if the script names it.
    pub method: Option<String>,
    /// The unit system, if the script names it.
    pub system: Option<System>,
    /// Where a half goes in rounding, if the script says.
    pub ties: Option<Ties>,
    /// What the script shows, in a line.
    pub title: Option<String>,
    /// For a sample: its tests.
    pub tests: Vec<String>,
    /// For a sample: its site file, seen from the script's own folder.
    pub site: Option<String>,
}

/// One line of a script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timed {
    /// Its number in the file, from 1.
    pub number: usize,
    /// When it is said.
    pub at: Tick,
    /// What it is.
    pub what: What,
}

/// What a line of a script does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// It is said to the run.
    Say(String),
    /// The last output must contain this.
    Expect(String),
    /// Time passes.
    Wait,
}

/// Why a script is refused or has failed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {number}: {what}")]
pub struct Faulty {
    /// The line in the file, from 1.
    pub number: usize,
    /// What is wrong, or was not as expected.
    pub what: String,
}

/// Why playing stopped.
#[derive(Debug, thiserror::Error)]
pub enum Stopped {
    /// Something was not as the script expects.
    #[error(transparent)]
    Faulty(#[from] Faulty),
    /// The lines could not be written out.
    #[error("the lines could not be written out")]
    Output(#[from] io::Error),
}

impl Script {
    /// Reads a script.
    ///
    /// # Errors
    ///
    /// [`Faulty`] for the first line that is not understood: a time that runs back, a head line after the first act,
    /// no `start`.
    pub fn read(text: &str) -> Result<Self, Faulty> {
        Self::read_from(text, None, Tick(0))
    }

    /// [`Script::read`] for a run that goes on: it was opened at `opened`, and the script's time begins at `now`.
    ///
    /// # Errors
    ///
    /// As there, but for `start`, which is known.
    pub fn read_on(text: &str, opened: Wall, now: Tick) -> Result<Self, Faulty> {
        Self::read_from(text, Some(opened), now)
    }

    fn read_from(text: &str, opened: Option<Wall>, mut now: Tick) -> Result<Self, Faulty> {
        let (mut start, mut method, mut system, mut ties, mut title) = (None, None, None, None, None);
        let (mut tests, mut site) = (Vec::new(), None);
        let begun = now;
        let mut lines: Vec<Timed> = Vec::new();
        for (n, raw) in text.lines().enumerate() {
            let number = n + 1;
            let faulty = |what: String| Faulty { number, what };
            let Some(line) = without_comment(raw) else { continue };
            let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            let rest = rest.trim();
            // Later these two may begin an answer.
            if lines.is_empty() && matches!(first, "tests" | "site") {
                if first == "site" {
                    site = Some(rest.to_owned());
                } else {
                    tests.extend(rest.split(',').map(|test| test.trim().to_owned()).filter(|test| !test.is_empty()));
                }
                continue;
            }
            if matches!(first, "start" | "method" | "system" | "ties" | "title") {
                if !lines.is_empty() {
                    return Err(faulty(format!("“{first}” belongs at the head, before the first act")));
                }
                match first {
                    "start" => {
                        start =
                            Some(wall(rest).ok_or_else(|| {
                                faulty(format!("“{rest}” is no moment: start 2026-05-14T07:30:00-05:00"))
                            })?)
                    }
                    "method" => method = Some(rest.to_owned()),
                    "system" => {
                        system = Some(
                            system_named(rest)
                                .ok_or_else(|| faulty(format!("“{rest}” is no unit system: inch-pound or SI")))?,
                        )
                    }
                    "ties" => ties = Some(rest.parse().map_err(|_| faulty(format!("“{rest}”: even or up")))?),
                    _ => title = Some(rest.to_owned()),
                }
                continue;
            }
            let (at, said) = when(line, now).map_err(faulty)?;
            now = at;
            let what = match said.split_once(char::is_whitespace).unwrap_or((said, "")) {
                ("expect", "") => {
                    return Err(faulty("expect what? The words that must be in the last output".to_owned()));
                }
                ("expect", words) => What::Expect(words.trim().to_owned()),
                ("wait", span) => {
                    let span = span_of(span).ok_or_else(|| faulty("wait how long? wait 45 s".to_owned()))?;
                    now = now.after(span);
                    What::Wait
                }
                (first, _)
                    if nearest(first, ["expect", "wait"]).is_some_and(|meant| meant != first)
                        && first.len() > 3
                        && super::language::WORDS.iter().all(|word| word.word != first)
                        && !first.contains('.') =>
                {
                    // A misspelt "expect" would pass for words of an answer, and the test would test nothing.
                    return Err(faulty(format!("“{first}”: is “expect” or “wait” meant? As an answer: answer {said}")));
                }
                _ if said.is_empty() => continue,
                _ => What::Say(said.to_owned()),
            };
            if now.since(begun) > LASTS_AT_MOST {
                return Err(faulty("a script lasts 7 days at most".to_owned()));
            }
            lines.push(Timed { number, at: now, what });
        }
        let start = opened.or(start).ok_or_else(|| Faulty {
            number: 1,
            what: "the script must say when it starts: start 2026-05-14T07:30:00-05:00".to_owned(),
        })?;
        Ok(Self { head: Head { start, method, system, ties, title, tests, site }, lines })
    }

    /// The moment of `tick` in this script.
    pub fn moment(&self, tick: Tick) -> Moment {
        moment(self.head.start, tick)
    }
}

/// The moment `tick` after `start`.
pub fn moment(start: Wall, tick: Tick) -> Moment {
    let unix_ms = start.unix_ms.saturating_add(i64::try_from(tick.0).unwrap_or(i64::MAX));
    Moment { tick, wall: Wall { unix_ms, ..start } }
}

/// Plays a script to its end; every cue goes to `out`, one a line.
///
/// # Errors
///
/// [`Stopped::Faulty`] with the line whose expectation was not met and what was there instead; [`Stopped::Output`].
pub fn play(script: &Script, talk: &mut Talk, record: &mut dyn Record, out: &mut dyn Write) -> Result<(), Stopped> {
    play_led(script, &mut One { talk, record }, out)
}

/// The same for whatever is led in lines.
pub(crate) fn play_led(script: &Script, led: &mut dyn Led, out: &mut dyn Write) -> Result<(), Stopped> {
    let mut last = led.opening(script.moment(led.last()));
    write(out, &last)?;
    for line in &script.lines {
        let now = script.moment(line.at);
        match &line.what {
            What::Say(said) => {
                if led.is_over() {
                    let what = "the run is over; nothing more can be said to it".to_owned();
                    return Err(Faulty { number: line.number, what }.into());
                }
                last = led.hear(said, now);
                write(out, &last)?;
            }
            What::Wait => {
                last = led.due(now.tick);
                write(out, &last)?;
            }
            What::Expect(words) => {
                let more = led.due(now.tick);
                write(out, &more)?;
                last.extend(more);
                if !last.iter().any(|line| line.contains(words.as_str())) {
                    let there = if last.is_empty() {
                        "nothing was said".to_owned()
                    } else {
                        format!("there was:\n  {}", last.join("\n  "))
                    };
                    let what = format!("expected “{words}”, but {there}");
                    return Err(Faulty { number: line.number, what }.into());
                }
            }
        }
    }
    out.flush()?;
    Ok(())
}

fn write(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    lines.iter().try_for_each(|line| writeln!(out, "{line}"))
}

/// A line without its comment; `None` if nothing is left.
fn without_comment(raw: &str) -> Option<&str> {
    let line = raw.trim();
    if line.starts_with('#') {
        return None;
    }
    let end = line
        .char_indices()
        .find(|(at, c)| {
            *c == '#' && line[..*at].ends_with(char::is_whitespace) && line[at + 1..].starts_with([' ', '\t'])
        })
        .map_or(line.len(), |(at, _)| at);
    let line = line[..end].trim();
    (!line.is_empty()).then_some(line)
}

/// The moment a line is said, and the rest of it.
fn when(line: &str, now: Tick) -> Result<(Tick, &str), String> {
    if let Some(rest) = line.strip_prefix('+') {
        let (span, rest) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
        let span = span_of(span).ok_or_else(|| format!("“+{span}” is no time: +2s, +1m30s"))?;
        return Ok((now.after(span), rest.trim()));
    }
    if let Some(rest) = line.strip_prefix("at ") {
        let (clock, rest) = rest.trim().split_once(char::is_whitespace).unwrap_or((rest.trim(), ""));
        let at = clock_of(clock).ok_or_else(|| format!("“at {clock}” is no time since the start: at 0:45"))?;
        if at < now {
            return Err(format!("“at {clock}” lies before the line above"));
        }
        return Ok((at, rest.trim()));
    }
    Ok((now, line))
}

/// `45 s`, `45s`, `1m30s`, `2 min`, `1h`, `500ms`.
pub fn span_of(text: &str) -> Option<Span> {
    let mut rest = text.trim();
    let mut total: u64 = 0;
    let mut last = u64::MAX;
    if rest.is_empty() {
        return None;
    }
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !c.is_ascii_digit())?;
        let number: u64 = rest[..digits].parse().ok()?;
        let after = rest[digits..].trim_start();
        let end = after.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(after.len());
        let unit = match &after[..end] {
            "h" => 3_600_000,
            "m" | "min" => 60_000,
            "s" => 1_000,
            "ms" => 1,
            _ => return None,
        };
        if unit >= last {
            return None;
        }
        last = unit;
        total = total.checked_add(number.checked_mul(unit)?)?;
        rest = after[end..].trim_start();
    }
    Some(Span(total))
}

/// `0:45`, `1:02:03`, `0:45.250`.
fn clock_of(text: &str) -> Option<Tick> {
    let (whole, millis) = text.split_once('.').unwrap_or((text, "0"));
    if millis.len() > 3 || !millis.chars().all(|c| c.is_ascii_digit()) {
        return None;
    }
    let millis: u64 = format!("{millis:0<3}").parse().ok()?;
    let parts: Vec<&str> = whole.split(':').collect();
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    let mut seconds: u64 = 0;
    for (n, part) in parts.iter().enumerate() {
        let is_plain = !part.is_empty() && part.len() <= 4 && part.chars().all(|c| c.is_ascii_digit());
        let value: u64 = if is_plain { part.parse().ok()? } else { return None };
        if n > 0 && (value > 59 || part.len() != 2) {
            return None;
        }
        seconds = seconds * 60 + value;
    }
    Some(Tick(seconds * 1_000 + millis))
}

/// An RFC 3339 moment as a wall clock with its offset.
pub fn wall(text: &str) -> Option<Wall> {
    let at = DateTime::parse_from_rfc3339(text).ok()?;
    let offset_min = i16::try_from(at.offset().local_minus_utc() / 60).ok()?;
    Some(Wall { unix_ms: at.timestamp_millis(), offset_min })
}

/// The unit system called `name`.
pub fn system_named(name: &str) -> Option<System> {
    [System::InchPound, System::Si].into_iter().find(|system| system.to_string().eq_ignore_ascii_case(name))
}

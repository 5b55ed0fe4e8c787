//! Keys, pedals and lines from a file, in time that is moved by hand, without a terminal.
//!
//! Here: reading such a file, and playing it on the screen's own model with a real record, so that a whole test led
//! hands-free can be kept, repeated and looked at. Not here: what a key does.
//!
//! | line | what it does |
//! |------|--------------|
//! | `start 2026-05-14T07:30:00-05:00` | date, time and offset when the run is opened; needed, first |
//! | `+0.400s key PageDown` | so much later a key is pressed, by its name |
//! | `+1.500s line two and a half` | so much later a line of words comes in |
//! | `+30s wait` | so much time passes |
//! | `+0s see` | the screen is printed as it stands, 80 × 24 |
//! | `# comment` | is ignored |
//!
//! **Invariant:** the same file gives the same record and the same transcript every time.

use std::fmt::Write as _;
use std::io::{self, Write};

use crossterm::event::KeyEvent;
use engine::{Moment, Tick, Wall};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use voice::Speech;

use super::clock;
use super::clock::Timepiece;
use super::terminal::{Answer, Serves, Wish};
use crate::screen::hands::keymap;
use crate::screen::{Deed, Effect, Focused, Hands, Line, Mouth, Sensed, Settings, Shown as _};

/// The screen that is printed.
const SCREEN: Rect = Rect { x: 0, y: 0, width: 80, height: 24 };

/// What happens at a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
enum What {
    Key(KeyEvent, String),
    Line(String),
    Wait,
    See,
}

/// A file of keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyScript {
    /// Date and time when the run is opened.
    pub start: Wall,
    steps: Vec<(u64, What)>,
}

/// Why a file is no such script.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {why}")]
pub struct Faulty {
    /// Which line, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub why: String,
}

impl KeyScript {
    /// Reads it.
    ///
    /// # Errors
    ///
    /// [`Faulty`] names the first line that is not as described.
    pub fn read(text: &str) -> Result<Self, Faulty> {
        let mut start = None;
        let mut steps = Vec::new();
        for (n, line) in text.lines().enumerate() {
            let faulty = |why: &str| Faulty { line: n + 1, why: why.to_owned() };
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            if let Some(when) = line.strip_prefix("start ") {
                start = Some(clock::read_rfc3339(when.trim()).ok_or_else(|| faulty("this is no date and time"))?);
                continue;
            }
            let (after, rest) =
                line.split_once(' ').ok_or_else(|| faulty("a time and what happens then are needed"))?;
            let after = millis(after).ok_or_else(|| faulty("a time is written like +1.500s"))?;
            let rest = rest.trim();
            let what = match rest.split_once(' ').unwrap_or((rest, "")) {
                ("key", name) => {
                    let key = keymap::key_named(name).ok_or_else(|| faulty("there is no such key"))?;
                    What::Key(key, name.to_owned())
                }
                ("line", words) => What::Line(words.to_owned()),
                ("wait", "") => What::Wait,
                ("see", "") => What::See,
                _ => return Err(faulty("what happens is key, line, wait or see")),
            };
            steps.push((after, what));
        }
        let start = start.ok_or_else(|| Faulty { line: 1, why: "“start” is missing".to_owned() })?;
        Ok(Self { start, steps })
    }

    /// Whether any line of words comes in.
    pub fn has_lines(&self) -> bool {
        self.steps.iter().any(|(_, what)| matches!(what, What::Line(_)))
    }

    /// The settings it is played with: everything that is said stands in the transcript.
    pub fn settings(&self, set: Settings) -> Settings {
        Settings { speaks: true, listens: set.listens || self.has_lines(), ..set }
    }
}

/// `+1.500s` in milliseconds.
fn millis(text: &str) -> Option<u64> {
    let text = text.strip_prefix('+')?.strip_suffix('s')?;
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let part = format!("{part:0<3}");
    if part.len() != 3 {
        return None;
    }
    Some(whole.parse::<u64>().ok()?.checked_mul(1_000)? + part.parse::<u64>().ok()?)
}

/// Plays it on what is shown, and prints what was done, said and recorded. The records are handed back.
///
/// # Errors
///
/// If the transcript cannot be written.
pub fn play<S: Focused, K: Serves<Deed, Answer>>(
    script: &KeyScript,
    shown: Hands<S>,
    timepiece: Timepiece,
    records: K,
    first: Vec<Answer>,
    out: &mut dyn Write,
) -> io::Result<K> {
    let mut player = Player { shown, timepiece, records, out, has_left: false };
    player.sense(Sensed::Mouth(Mouth::Speaks("a transcript".to_owned())))?;
    player.sense(Sensed::Wake)?;
    for answer in first {
        player.answer(answer)?;
    }
    let mut at = player.timepiece.tick();
    for (after, what) in &script.steps {
        if player.has_left {
            break;
        }
        at = Tick(at.0 + after);
        player.wait(at)?;
        match what {
            What::Wait => {}
            What::See => player.see()?,
            What::Key(key, name) => {
                player.tell("key", name)?;
                player.sense(Sensed::Key(*key))?;
            }
            What::Line(words) => {
                player.tell("line", words)?;
                let utterance = hearing::line::read(words.as_bytes());
                player.sense(Sensed::Line(Line { utterance, is_over_cue: false }))?;
            }
        }
    }
    Ok(player.records)
}

struct Player<'o, S, K> {
    shown: Hands<S>,
    timepiece: Timepiece,
    records: K,
    out: &'o mut dyn Write,
    has_left: bool,
}

impl<S: Focused, K: Serves<Deed, Answer>> Player<'_, S, K> {
    /// One line of the transcript: the time since the start, what it is, its words.
    fn tell(&mut self, what: &str, words: &str) -> io::Result<()> {
        let at = self.timepiece.tick().0;
        writeln!(self.out, "{:4}:{:02}.{:03}  {what:9}{words}", at / 60_000, at / 1_000 % 60, at % 1_000)
    }

    fn wait(&mut self, until: Tick) -> io::Result<()> {
        loop {
            let now = self.timepiece.tick();
            match self.shown.next_change(now).filter(|next| *next <= until) {
                Some(next) => {
                    // A moment that has come is passed, so that a mistake in it cannot hold everything up.
                    self.timepiece.put(if next > now { next } else { Tick(now.0 + 2) });
                    self.sense(Sensed::Wake)?;
                }
                None => break,
            }
        }
        self.timepiece.put(until);
        Ok(())
    }

    fn sense(&mut self, sensed: Sensed) -> io::Result<()> {
        let now = self.timepiece.now();
        let deeds = self.shown.sense(sensed, now);
        self.carry_out(deeds, now)
    }

    fn answer(&mut self, answer: Answer) -> io::Result<()> {
        let now = self.timepiece.now();
        let deeds = self.shown.hear(answer, now);
        self.carry_out(deeds, now)
    }

    fn carry_out(&mut self, deeds: Vec<Deed>, now: Moment) -> io::Result<()> {
        for deed in deeds {
            match &deed {
                Deed::Speak(Speech::Say(cue)) => {
                    let tone =
                        cue.tone.map_or_else(String::new, |tone| format!("[{}] ", format!("{tone:?}").to_lowercase()));
                    self.tell("says", &format!("{tone}{}", cue.text))?;
                }
                Deed::Of(run, Effect::Keep { event, .. }) => {
                    let kind = format!("{event:?}");
                    let kind = kind.split([' ', '{']).next().unwrap_or_default().to_lowercase();
                    self.tell("records", &format!("{kind} in run {}", run + 1))?;
                }
                _ => {}
            }
            let mut answers = Vec::new();
            if self.records.carry_out(deed, now, &mut answers) == Wish::Leave {
                self.has_left = true;
            }
            for answer in answers {
                self.answer(answer)?;
            }
        }
        Ok(())
    }

    fn see(&mut self) -> io::Result<()> {
        let mut buf = Buffer::empty(SCREEN);
        self.shown.draw(self.timepiece.tick(), &mut buf, SCREEN);
        let mut text = String::new();
        for y in 0..SCREEN.height {
            let mut row = String::new();
            for x in 0..SCREEN.width {
                row.push_str(buf[(x, y)].symbol());
            }
            // Writing to memory cannot fail.
            let _ = writeln!(text, "            | {}", row.trim_end());
        }
        self.out.write_all(text.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_read_to_the_millisecond_or_not_at_all() {
        for (text, read) in [
            ("+1.500s", Some(1_500)),
            ("+30s", Some(30_000)),
            ("+0.4s", Some(400)),
            ("+0.0005s", None),
            ("1s", None),
            ("+s", None),
            ("+1.x s", None),
        ] {
            assert_eq!(millis(text), read, "{text}");
        }
    }

    #[test]
    fn a_faulty_line_is_named() {
        let read = |text: &str| KeyScript::read(text).map_err(|why| why.to_string());
        assert_eq!(read("+1s wait"), Err("line 1: “start” is missing".to_owned()));
        let start = "start 2026-05-14T07:30:00-05:00\n";
        assert_eq!(read(&format!("{start}\n+1s key NoSuchKey")), Err("line 3: there is no such key".to_owned()));
        assert_eq!(
            read(&format!("{start}# a\n+1s jump")),
            Err("line 3: what happens is key, line, wait or see".to_owned())
        );
        assert!(read(&format!("{start}+0.1s line two and a half\n+1s see")).is_ok_and(|script| script.has_lines()));
    }
}

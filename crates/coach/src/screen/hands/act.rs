//! A choice becomes keys.
//!
//! Here: for each choice the keys a person would press for it. Not here: what they do; that is the screen's.
//!
//! **Invariant:** the only way to the run is a key.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Moment, Tick};
use procedure::Wants;

use super::choices::{self, Because, Ending, GROUPS, Level, Pick, REASONS, Wanted, ending_words};
use super::dial::{Dial, Given};
use super::lines::Value;
use super::talk::Said;
use super::{Hands, focus};
use crate::screen::entry::Entry;
use crate::screen::model::{Model, Overlay};
use crate::screen::shown::{Deed, Focused, Sensed};
use crate::screen::update::{WrongLine, wrong_lines};

/// By which way something was chosen.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Via {
    /// A pedal, a clicker, a switch.
    Press,
    /// A line of words; the moment its sound began, if it says so.
    Line(Option<Moment>),
}

impl<S: Focused> Hands<S> {
    pub(super) fn press(&mut self, code: KeyCode, with: KeyModifiers, now: Moment, out: &mut Vec<Deed>) {
        out.extend(self.inner.sense(Sensed::Key(KeyEvent::new(code, with)), now));
    }

    fn press_ctrl(&mut self, letter: char, now: Moment, out: &mut Vec<Deed>) {
        self.press(KeyCode::Char(letter), KeyModifiers::CONTROL, now, out);
    }

    fn type_text(&mut self, text: &str, now: Moment, out: &mut Vec<Deed>) {
        for sign in text.chars() {
            let with = if sign.is_uppercase() { KeyModifiers::SHIFT } else { KeyModifiers::NONE };
            self.press(KeyCode::Char(sign), with, now, out);
        }
    }

    fn enter(&mut self, now: Moment, out: &mut Vec<Deed>) {
        self.press(KeyCode::Enter, KeyModifiers::NONE, now, out);
    }

    fn times(&mut self, code: KeyCode, n: usize, now: Moment, out: &mut Vec<Deed>) {
        for _ in 0..n {
            self.press(code, KeyModifiers::NONE, now, out);
        }
    }

    /// Writes words into the question that a key opens. Where it does not open nothing is typed: letters would be commands.
    fn write(&mut self, opens: char, words: &str, now: Moment, out: &mut Vec<Deed>) {
        self.press_ctrl(opens, now, out);
        self.write_here(words, now, out);
    }

    /// Writes words into the question that is open, if one is.
    fn write_here(&mut self, words: &str, now: Moment, out: &mut Vec<Deed>) {
        if focus(self).is_some_and(|model| matches!(model.overlay, Some(Overlay::Ask { .. }))) {
            self.empty_question(now, out);
            self.type_text(words, now, out);
            self.enter(now, out);
        }
    }

    /// Takes out what was left in a question by somebody at the keyboard.
    fn empty_question(&mut self, now: Moment, out: &mut Vec<Deed>) {
        let n = match focus(self).and_then(|model| model.overlay.as_ref()) {
            Some(Overlay::Ask { field, .. }) => field.text.chars().count(),
            Some(Overlay::CorrectTo { entry: Entry::Number(number), .. }) => number.text.chars().count(),
            Some(Overlay::CorrectTo { entry: Entry::Words(words), .. }) => words.field.text.chars().count(),
            _ => 0,
        };
        self.times(KeyCode::Backspace, n, now, out);
    }

    /// Closes whatever somebody at the keyboard has left open.
    fn clear_the_way(&mut self, now: Moment, out: &mut Vec<Deed>) {
        for _ in 0..3 {
            if focus(self).is_some_and(|model| model.overlay.is_some()) {
                self.press(KeyCode::Esc, KeyModifiers::NONE, now, out);
            }
        }
    }

    /// The big key.
    pub(super) fn press_next(&mut self, now: Moment, out: &mut Vec<Deed>) {
        self.clear_the_way(now, out);
        self.enter(now, out);
    }

    /// Does what was chosen.
    pub(super) fn choose(&mut self, pick: Pick, via: Via, now: Moment, out: &mut Vec<Deed>) {
        match pick {
            Pick::Next => self.next(via, now, out),
            Pick::Undo => self.ctrl_at_main('u', now, out),
            Pick::Redo => self.ctrl_at_main('y', now, out),
            Pick::Add => {
                self.clear_the_way(now, out);
                self.press(KeyCode::Char('c'), KeyModifiers::NONE, now, out);
                self.go_to(Level::Main);
            }
            Pick::Again => self.say_again(now.tick, out),
            Pick::TimeLeft => self.say_time(now.tick, out),
            Pick::More => self.open(Level::More, now.tick, out),
            Pick::Back => {
                self.is_open = false;
                self.open(Level::Main, now.tick, out);
            }
            Pick::Piece(piece) => {
                let given = self.dial.as_mut().map(|dial| dial.give(&piece));
                if let Some(Given::Mark(mark)) = given {
                    if let Some(dial) = &mut self.dial {
                        dial.clear();
                    }
                    self.propose_number(mark, None, now, out);
                } else {
                    self.at = 0;
                    self.scan.begin_anew();
                    self.say_offered(now.tick, out);
                }
            }
            Pick::ClearDial => {
                if let Some(dial) = &mut self.dial {
                    dial.clear();
                }
                self.at = 0;
                self.say_offered(now.tick, out);
            }
            Pick::Answer(n) => self.propose_answer(n, now, out),
            Pick::Used(words) => self.propose_words(&words, now, out),
            Pick::Letters => self.open(Level::Letters, now.tick, out),
            Pick::Group(n) => self.open(Level::Group(n.min(GROUPS.len() - 1)), now.tick, out),
            Pick::Letter(letter) => {
                // As it is written in a name: a capital at the front of each word.
                let is_first = self.letters.is_empty() || self.letters.ends_with([' ', '-', '.']);
                self.letters.extend(if is_first { vec![letter] } else { letter.to_lowercase().collect() });
                self.open(Level::Letters, now.tick, out);
            }
            Pick::Erase => {
                self.letters.pop();
                self.open(Level::Letters, now.tick, out);
            }
            Pick::Written => {
                let words = self.letters.trim().to_owned();
                self.propose_words(&words, now, out);
            }
            Pick::Take => self.take(now, out),
            Pick::Deny => self.deny(now, out),
            Pick::Count => self.count_aloud(now.tick, out),
            Pick::Slower => self.count_slower(now.tick, out),
            Pick::Silence => self.stop_counting(),
            Pick::Due => self.bench_key(KeyCode::Tab, now, out),
            Pick::Run(n) => {
                // The bench has keys for nine.
                let key = KeyCode::F(u8::try_from(n + 1).unwrap_or(1));
                self.bench_key(key, now, out);
            }
            Pick::WrongList => self.open(Level::Wrong, now.tick, out),
            Pick::Wrong(n) => {
                let line = focus(self).and_then(|model| wrong_lines(model).get(n).copied());
                match line {
                    Some(WrongLine::Other) => self.open(Level::Reasons(Because::Discard(n)), now.tick, out),
                    Some(_) => self.open(Level::End(Ending::Wrong(n)), now.tick, out),
                    None => {}
                }
            }
            Pick::Anyway => self.open(Level::Reasons(Because::Anyway), now.tick, out),
            Pick::Reason(n) => {
                let reason = REASONS.get(n).copied().unwrap_or(REASONS[0]).to_owned();
                self.propose_reason(&reason, now, out);
            }
            Pick::CorrectList => self.open(Level::Correct, now.tick, out),
            Pick::Correct(n) => self.open_correct(n, now, out),
            Pick::End => {
                if let Level::End(ending) = self.level.clone() {
                    self.open(Level::EndForSure(ending), now.tick, out);
                }
            }
            Pick::EndForSure => {
                if let Level::EndForSure(ending) = self.level.clone() {
                    let reason = std::mem::take(&mut self.reason);
                    self.end(&ending, &reason, now, out);
                }
            }
            Pick::Far => {
                self.is_far = !self.is_far;
                self.go_to(Level::Main);
            }
        }
    }

    fn ctrl_at_main(&mut self, letter: char, now: Moment, out: &mut Vec<Deed>) {
        self.clear_the_way(now, out);
        self.press_ctrl(letter, now, out);
        self.is_open = false;
        self.go_to(Level::Main);
    }

    fn bench_key(&mut self, code: KeyCode, now: Moment, out: &mut Vec<Deed>) {
        self.clear_the_way(now, out);
        self.press(code, KeyModifiers::NONE, now, out);
        self.go_to(Level::Main);
    }

    /// Opens a list and says what it is about.
    pub(super) fn open(&mut self, level: Level, now: Tick, out: &mut Vec<Deed>) {
        self.go_to(level);
        let question = focus(self).and_then(|model| level_words(model, &self.level));
        match question {
            Some(question) => self.say(Said::prompt(&question), now, out),
            None => self.say_offered(now, out),
        }
    }

    /// The next right thing; what ends a test is asked first.
    fn next(&mut self, via: Via, now: Moment, out: &mut Vec<Deed>) {
        let Some(model) = focus(self) else { return };
        if let Some(ending) = choices::ends(model, now.tick) {
            return self.open(Level::End(ending), now.tick, out);
        }
        let what = timed_words(model, now.tick);
        let (before, was_undone) = (model.run.n_accepted(), model.run.can_redo());
        let step = model.run.offer(now.tick).step.map_or_else(String::new, |(_, step)| step.id.clone());
        let last = model.run.last();
        // Said at the moment the sound began, but never before what happened last.
        let at = match via {
            Via::Line(Some(began)) if what.is_some() && began.tick >= last.tick && began.tick < now.tick => began,
            _ => now,
        };
        let is_early = at != now;
        self.press_next(at, out);
        let is_done = focus(self).is_some_and(|model| model.run.n_accepted() > before);
        if let (Via::Line(_), Some(what), true) = (via, what, is_done) {
            if was_undone {
                self.marked = None;
            }
            self.remark_on_voice(what, &step, is_early, now, out);
        }
    }

    /// A moment that was marked by voice is called so on the record; of the turns of a hold the first.
    fn remark_on_voice(&mut self, what: &'static str, step: &str, is_early: bool, now: Moment, out: &mut Vec<Deed>) {
        if what == TURN {
            let begun = focus(self).and_then(|model| model.run.offer(now.tick).standing.begun);
            if begun.is_some() && self.marked == begun {
                return;
            }
            self.marked = begun;
        }
        let when = if is_early {
            "the moment its sound began"
        } else {
            "the moment the line came, some tenths of a second late"
        };
        let text = format!("{what} of “{step}” was marked by a spoken line: {when}.");
        self.keep_message();
        self.write('r', &text, now, out);
    }

    /// The end that was confirmed twice.
    fn end(&mut self, ending: &Ending, reason: &str, now: Moment, out: &mut Vec<Deed>) {
        self.clear_the_way(now, out);
        match ending {
            Ending::GiveUp | Ending::Close => self.enter(now, out),
            Ending::Wrong(n) => {
                self.press_ctrl('x', now, out);
                self.times(KeyCode::Down, *n, now, out);
                self.enter(now, out);
                if !reason.is_empty() {
                    self.write_here(reason, now, out);
                }
                if focus(self).is_some_and(|model| matches!(model.overlay, Some(Overlay::Confirm(_)))) {
                    self.press(KeyCode::Char('y'), KeyModifiers::NONE, now, out);
                }
                self.clear_the_way(now, out);
            }
        }
        self.go_to(Level::Main);
    }

    /// What was read back and confirmed is entered.
    pub(super) fn enter_value(&mut self, value: Value, heard: Moment, now: Moment, out: &mut Vec<Deed>) {
        self.clear_the_way(now, out);
        // Lateness is judged by when it was said, as it is by the first sign that is typed.
        let begun = if focus(self).is_some_and(|model| heard.tick >= model.run.last().tick) { heard } else { now };
        if focus(self).is_some_and(|model| model.entry.is_begun()) {
            self.press(KeyCode::Esc, KeyModifiers::NONE, now, out);
        }
        let wanted = focus(self).map(|model| choices::wanted(model, now.tick));
        match value {
            // Typed into nothing, letters would be commands.
            Value::Typed(_) if !matches!(wanted, Some(Wanted::Number(..) | Wanted::Words(_) | Wanted::Count)) => {}
            Value::Key(_) if !matches!(wanted, Some(Wanted::Answer(_))) => {}
            Value::Typed(text) => {
                self.type_text(&text, begun, out);
                self.enter(now, out);
            }
            Value::Key(key) => self.press(KeyCode::Char(key), KeyModifiers::NONE, now, out),
            Value::Remark(text) => {
                self.write('r', &text, now, out);
            }
            Value::Reason(Because::Anyway, reason) => {
                self.write('o', &reason, now, out);
                self.go_to(Level::Main);
            }
            Value::Reason(Because::Discard(n), reason) => {
                self.level = Level::Reasons(Because::Discard(n));
                self.reason = reason;
                self.open(Level::End(Ending::Wrong(n)), now.tick, out);
            }
            Value::Reason(Because::Correct(n, text), reason) => {
                self.press_ctrl('e', now, out);
                self.times(KeyCode::Down, n, now, out);
                self.enter(now, out);
                let is_open = |model: &Model| matches!(model.overlay, Some(Overlay::CorrectTo { .. }));
                if focus(self).is_some_and(is_open) {
                    self.empty_question(now, out);
                    self.type_text(&text, now, out);
                }
                // The key of an answer gives it at once; a number or words are taken.
                if focus(self).is_some_and(is_open) {
                    self.enter(now, out);
                }
                self.write_here(&reason, now, out);
                // A correction that was refused leaves its question open.
                self.clear_the_way(now, out);
                self.go_to(Level::Main);
            }
            Value::Corrected(n, text) => {
                self.correcting = None;
                self.open(Level::Reasons(Because::Correct(n, text)), now.tick, out);
            }
        }
    }

    fn open_correct(&mut self, n: usize, now: Moment, out: &mut Vec<Deed>) {
        let wanted = focus(self)
            .and_then(|model| model.correctable().nth(n).map(|taken| choices::of_kind(model, taken.reading)));
        if let Some(Wanted::Number(scale, usual)) = wanted {
            self.dial = Some(Dial::new(&scale, usual));
        }
        self.correcting = Some(n);
        self.open(Level::CorrectTo(n), now.tick, out);
    }
}

/// The turn of a hold, on the record.
const TURN: &str = "The turn";

/// What is marked by the next press, if its moment counts.
fn timed_words(model: &Model, now: Tick) -> Option<&'static str> {
    let offer = model.run.offer(now);
    match (&offer.act, offer.step.map(|(_, step)| &step.wants)) {
        (Act::Begin, _) => Some("The beginning"),
        (Act::Turn { .. }, _) => Some(TURN),
        (Act::Confirm | Act::Wait { .. }, Some(Wants::Hold { .. } | Wants::Timed { .. })) => Some("The end"),
        _ => None,
    }
}

/// What is said when a list opens; none if its first line says enough.
pub(super) fn level_words(model: &Model, level: &Level) -> Option<String> {
    Some(match level {
        Level::Wrong => "What went wrong?".to_owned(),
        Level::Reasons(_) => "For what reason? It stays on the record.".to_owned(),
        Level::End(ending) => format!(
            "{}? Say “{}”, or “{}”.",
            sentence(&ending_words(model, ending)),
            super::phrases::END,
            super::phrases::LEAVE_IT
        ),
        Level::EndForSure(ending) => format!(
            "{}, really? Say “{}”, or “{}”.",
            sentence(&ending_words(model, ending)),
            super::phrases::END_FOR_SURE,
            super::phrases::LEAVE_IT
        ),
        Level::Correct => "Which reading was wrong?".to_owned(),
        Level::CorrectTo(_) => "What should it have been?".to_owned(),
        Level::Main | Level::More | Level::Letters | Level::Group(_) => return None,
    })
}

fn sentence(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().into_iter().flat_map(char::to_uppercase).chain(signs).collect()
}

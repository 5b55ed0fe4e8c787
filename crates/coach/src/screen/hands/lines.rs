//! Lines of words, and the question before a value is entered.
//!
//! Here: when a line is heeded, what it means at this moment, read-back. Not here: how numbers are understood (`hearing`).
//!
//! **Invariant:** a line that is not understood for certain has no effect but a sound, a word on the screen and a count;
//! a value is entered only from a question that was read back and then confirmed.

use engine::{Moment, Tick, Wall};
use hearing::readback::Readback;
use hearing::vocabulary::{Entry as Phrase, Heard, PHRASES_AT_MOST, Vocabulary};
use hearing::{Asked, Source, Utterance};
use quantity::{Decimal, Scale, Unit};

use super::act::Via;
use super::choices::{self, Because, Level, Pick, Wanted};
use super::talk::Said;
use super::{Hands, focus, phrases};
use crate::screen::shown::{Deed, Focused, Line, Published};

/// Something to be entered, in the form in which it is typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Value {
    /// A number, a count or words.
    Typed(String),
    /// The key of an answer.
    Key(char),
    /// A remark.
    Remark(String),
    /// A reason for something.
    Reason(Because, String),
    /// The right value of a reading, by its place in the list, as it is typed.
    Corrected(usize, String),
}

/// A value that was read back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Question {
    value: Value,
    /// As it stands on the screen.
    pub(super) shown: String,
    /// As it is said.
    said: String,
    /// When it was said.
    heard: Moment,
    readback: Readback<()>,
}

/// How listening stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Ears {
    /// Until when the microphone is heeded.
    open_until: Option<Tick>,
    /// When it was opened last.
    opened: Option<Tick>,
    /// What is shown of the last line, and until when.
    pub(super) word: Option<(Word, Tick)>,
    /// When it was closed last.
    closed: Option<Tick>,
    /// Lines that were not understood.
    pub(super) n_not: u32,
    /// How many from a microphone were not understood one after another.
    n_running: u8,
    /// When it was last said that something was not understood.
    said: Option<Tick>,
}

/// What is shown of the last line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Word {
    /// It was understood.
    Heard(String),
    /// It was not.
    Not,
    /// It came while the microphone was not heeded.
    Closed,
}

/// What was said while the microphone was heeded may come so much later: a recogniser begins when it has all of it.
const RECOGNISED_WITHIN: u64 = 5_000;
/// How long a word of state stands.
const WORD_STANDS: u64 = 4_000;
/// Not more often than this is it said that something was not understood.
const SAID_AT_MOST_EVERY: u64 = 2_000;
/// So many from a microphone one after another.
const TOO_NOISY_AFTER: u8 = 3;
/// By the measurements in `demo/voice`.
const TOO_NOISY: &str =
    "Not understood. Voice less than 10 decibels above the noise: use the pedal. Numbers want 15 to 20.";
/// Phrases beside a number that a microphone is open to.
const BESIDE_A_NUMBER: usize = 6;
/// Strokes at most that can be said.
const COUNT_AT_MOST: i64 = 9_999;

impl<S: Focused> Hands<S> {
    // ------------------------------------------------------------------------------------------ the window

    /// Opens the microphone for a while.
    pub(super) fn open_window(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if !self.settings.listens {
            return;
        }
        self.ears.open_until = Some(Tick(now.0 + self.settings.listen_ms));
        self.ears.opened = Some(now);
        self.ears.word = None;
        out.push(Deed::Talk(true));
    }

    fn close_window(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if self.ears.open_until.take().is_some() {
            self.ears.closed = Some(now);
            out.push(Deed::Talk(false));
        }
    }

    pub(super) fn pass_window(&mut self, now: Tick, out: &mut Vec<Deed>) {
        if self.ears.open_until.is_some_and(|until| now >= until) {
            self.close_window(now, out);
        }
        if self.ears.word.as_ref().is_some_and(|(_, until)| now >= *until) {
            self.ears.word = None;
        }
    }

    pub(super) fn next_window(&self, now: Tick) -> Option<Tick> {
        let word = self.ears.word.as_ref().map(|(_, until)| *until);
        self.ears.open_until.into_iter().chain(word).filter(|at| *at > now).min()
    }

    /// Whether the microphone is heeded.
    pub(super) fn is_listening(&self, now: Tick) -> bool {
        self.settings.open_microphone || self.ears.open_until.is_some_and(|until| now < until)
    }

    /// Whether it was said while the microphone was heeded, by its own account.
    fn began_in_window(&self, utterance: &Utterance, now: Tick) -> bool {
        let (Some(ago), Some(opened)) = (utterance.ago_ms, self.ears.opened) else { return false };
        let closed = self.ears.closed.filter(|closed| *closed >= opened).map_or(now.0, |closed| closed.0);
        let began = now.0.saturating_sub(ago);
        (opened.0..=closed).contains(&began) && now.0 <= closed + RECOGNISED_WITHIN
    }

    // ------------------------------------------------------------------------------------------ a line

    pub(super) fn line(&mut self, line: &Line, now: Moment, out: &mut Vec<Deed>) {
        let utterance = match &line.utterance {
            Ok(utterance) => utterance,
            Err(_) => return self.not_understood(now.tick, out),
        };
        match utterance.words.as_str() {
            // A microphone does not open itself.
            _ if utterance.source == Source::Microphone => {}
            "talk on" => return self.open_window(now.tick, out),
            "talk off" => return self.close_window(now.tick, out),
            _ => {}
        }
        if utterance.source == Source::Microphone {
            // It would hear the program itself.
            if line.is_over_cue && !self.settings.headset {
                return;
            }
            if !self.is_listening(now.tick) && !self.began_in_window(utterance, now.tick) {
                self.ears.word = Some((Word::Closed, Tick(now.tick.0 + WORD_STANDS)));
                return;
            }
        }
        if utterance.confidence.is_some_and(|sure| sure < self.settings.confidence_at_least) {
            return self.misheard(utterance, now.tick, out);
        }
        let began = utterance.ago_ms.map(|ago| ago_of(now, ago));
        if self.free_words(utterance, now, out) {
            return self.understood(utterance, now.tick);
        }
        let is_spoken = utterance.source == Source::Microphone;
        match self.vocabulary(now.tick, is_spoken).hear(&utterance.words) {
            Heard::Phrase(pick) => {
                self.understood(utterance, now.tick);
                self.choose(pick, Via::Line(began), now, out);
            }
            Heard::Number(value) => {
                self.understood(utterance, now.tick);
                self.propose_number(value, began, now, out);
            }
            Heard::NotTaken(why) => {
                self.understood(utterance, now.tick);
                self.question = None;
                let text = format!("Heard “{}”: {why}.", utterance.words);
                self.say(Said::refused(&text), now.tick, out);
            }
            Heard::NotUnderstood => self.misheard(utterance, now.tick, out),
        }
    }

    fn understood(&mut self, utterance: &Utterance, now: Tick) {
        self.ears.n_running = 0;
        self.ears.word = Some((Word::Heard(utterance.verbatim.clone()), Tick(now.0 + WORD_STANDS)));
    }

    /// Words that could not be made out. Where that goes on, the noise is too loud for a voice, and it is said.
    fn misheard(&mut self, utterance: &Utterance, now: Tick, out: &mut Vec<Deed>) {
        if utterance.source == Source::Microphone {
            self.ears.n_running = self.ears.n_running.saturating_add(1);
            if self.ears.n_running >= TOO_NOISY_AFTER {
                self.ears.n_running = 0;
                self.ears.n_not = self.ears.n_not.saturating_add(1);
                self.ears.word = Some((Word::Not, Tick(now.0 + WORD_STANDS)));
                return self.say(Said::refused(TOO_NOISY), now, out);
            }
        }
        self.not_understood(now, out);
    }

    fn not_understood(&mut self, now: Tick, out: &mut Vec<Deed>) {
        self.ears.n_not = self.ears.n_not.saturating_add(1);
        self.ears.word = Some((Word::Not, Tick(now.0 + WORD_STANDS)));
        // A flood of them is said now and then, not in a flood.
        if self.ears.said.is_none_or(|last| now.since(last).0 >= SAID_AT_MOST_EVERY) {
            self.ears.said = Some(now);
            self.say(Said::refused("Not understood."), now, out);
        }
    }

    /// Names, remarks and reasons in words of one's own.
    fn free_words(&mut self, utterance: &Utterance, now: Moment, out: &mut Vec<Deed>) -> bool {
        let (first, rest) = utterance.verbatim.split_once(char::is_whitespace).unwrap_or(("", ""));
        let rest = rest.trim();
        if rest.is_empty() {
            return false;
        }
        let is = |word: &str| first.eq_ignore_ascii_case(word);
        let wants_words = focus(self).is_some_and(|model| {
            let wanted = match self.correcting {
                Some(n) => model.correctable().nth(n).map(|taken| choices::of_kind(model, taken.reading)),
                None => (self.level == Level::Main).then(|| choices::wanted(model, now.tick)),
            };
            matches!(wanted, Some(Wanted::Words(_)))
        });
        if is(phrases::WRITE) && wants_words {
            self.propose_words(rest, now, out);
        } else if is(phrases::REMARK) && focus(self).is_some() {
            self.propose(Value::Remark(rest.to_owned()), format!("remark: {rest}"), rest.to_owned(), None, now, out);
        } else if is(phrases::BECAUSE) && matches!(self.level, Level::Reasons(_)) {
            self.propose_reason(rest, now, out);
        } else {
            return false;
        }
        true
    }

    /// What can be said now. To a microphone less is open than to other lines: where a number is read back, noise would
    /// only be taken for another, and beside a number few phrases are told apart.
    pub(super) fn vocabulary(&self, now: Tick, is_spoken: bool) -> Vocabulary<Pick> {
        let Some(model) = focus(self) else { return Vocabulary { entries: Vec::new(), number: None } };
        let places = self.inner.places();
        let runs: Vec<(&str, bool)> = places.iter().map(|place| (place.name, place.is_focus)).collect();
        let mut list = choices::choices(model, &self.around(&self.level, &runs), now);
        if self.question.is_none() && self.level == Level::Main {
            list.extend(choices::choices(model, &self.around(&Level::More, &runs), now));
        }
        let number = self.number_asked(now).filter(|_| !is_spoken || self.question.is_none());
        let at_most = if is_spoken && number.is_some() { BESIDE_A_NUMBER } else { PHRASES_AT_MOST };
        list.sort_by_key(|choice| rank(&choice.pick));
        let mut entries: Vec<Phrase<Pick>> = Vec::new();
        let mut n_phrases = 0;
        for choice in list.into_iter().filter(|choice| !choice.phrases.is_empty()) {
            let is_numbered = matches!(
                choice.pick,
                Pick::Answer(_) | Pick::Used(_) | Pick::Run(_) | Pick::Wrong(_) | Pick::Reason(_) | Pick::Correct(_)
            );
            let is_main = self.level == Level::Main && self.question.is_none();
            if is_main && choice.pick == Pick::Back || entries.iter().any(|entry| entry.means == choice.pick) {
                continue;
            }
            let mut phrases = choice.phrases;
            if !is_numbered {
                // Each phrase more is one more to be mistaken for.
                phrases.truncate(if is_spoken { 1 } else { phrases.len() });
                if n_phrases + phrases.len() > at_most {
                    continue;
                }
                n_phrases += phrases.len();
            }
            entries.push(Phrase { means: choice.pick, phrases });
        }
        Vocabulary { entries, number }
    }

    /// The instrument whose marks can be said now.
    fn number_asked(&self, now: Tick) -> Option<Scale> {
        let model = focus(self)?;
        let wanted = match (&self.level, self.correcting) {
            (_, Some(n)) => choices::of_kind(model, model.correctable().nth(n)?.reading),
            (Level::Main, None) => choices::wanted(model, now),
            _ => Wanted::Nothing,
        };
        match wanted {
            Wanted::Number(scale, _) => Some(scale),
            Wanted::Count => {
                let stroke = Unit::parse("stroke").unwrap_or(Unit::NONE);
                Scale::new(Decimal::ONE, Decimal::ZERO, Decimal::from(COUNT_AT_MOST), stroke).ok()
            }
            _ => None,
        }
    }

    /// Publishes what can be said now, if that has changed.
    pub(super) fn publish(&mut self, now: Moment, out: &mut Vec<Deed>) {
        if !self.settings.listens {
            return;
        }
        let vocabulary = self.vocabulary(now.tick, true);
        let list = vocabulary.list();
        if list != self.published.list {
            self.published = Published { jsgf: vocabulary.jsgf(), list };
            out.push(Deed::Publish(self.published.clone()));
        }
    }

    // ------------------------------------------------------------------------------------------ questions

    fn propose(
        &mut self,
        value: Value,
        shown: String,
        said: String,
        heard: Option<Moment>,
        now: Moment,
        out: &mut Vec<Deed>,
    ) {
        self.at = 0;
        self.question =
            Some(Question { value, shown, said, heard: heard.unwrap_or(now), readback: Readback::new((), now.tick.0) });
        self.read_back(now.tick, out);
    }

    pub(super) fn read_back(&mut self, now: Tick, out: &mut Vec<Deed>) {
        let Some(question) = &self.question else { return };
        let how = match self.settings.led {
            _ if self.settings.is_terse => String::new(),
            super::Led::Keys if self.settings.listens => {
                format!("Say “{}”, or “{}”.", phrases::CONFIRM, phrases::DENY)
            }
            _ => "Press to take it.".to_owned(),
        };
        self.say(Said::read_back(&question.said, &how), now, out);
    }

    pub(super) fn pass_question(&mut self, now: Moment, out: &mut Vec<Deed>) {
        let Some(question) = &mut self.question else { return };
        match question.readback.pass(now.tick.0) {
            Some(Asked::Again(())) => self.read_back(now.tick, out),
            Some(Asked::Waits(())) => self.say(Said::prompt("It is not taken. I wait."), now.tick, out),
            None => {}
        }
    }

    pub(super) fn next_question(&self) -> Option<Tick> {
        self.question.as_ref().and_then(|question| question.readback.next()).map(Tick)
    }

    pub(super) fn propose_number(&mut self, value: Decimal, heard: Option<Moment>, now: Moment, out: &mut Vec<Deed>) {
        let Some(scale) = self.number_asked(now.tick) else { return };
        let mut value = value;
        value.rescale(scale.places());
        let typed = value.to_string();
        let (shown, said) = (scale.show(&value), voice::say::reading(&typed, scale.unit));
        let value = match self.correcting {
            Some(n) => Value::Corrected(n, typed),
            None => Value::Typed(typed),
        };
        self.propose(value, shown, said, heard, now, out);
    }

    pub(super) fn propose_answer(&mut self, n: usize, now: Moment, out: &mut Vec<Deed>) {
        let Some(model) = focus(self) else { return };
        let wanted = match self.correcting {
            Some(n) => {
                model.correctable().nth(n).map_or(Wanted::Nothing, |taken| choices::of_kind(model, taken.reading))
            }
            None => choices::wanted(model, now.tick),
        };
        let Wanted::Answer(answers) = wanted else { return };
        let Some(answer) = answers.get(n) else { return };
        let value = match self.correcting {
            Some(n) => Value::Corrected(n, answer.key.to_string()),
            None => Value::Key(answer.key),
        };
        self.propose(value, answer.label.clone(), answer.label.clone(), None, now, out);
    }

    pub(super) fn propose_words(&mut self, words: &str, now: Moment, out: &mut Vec<Deed>) {
        let words = words.trim();
        if words.is_empty() {
            return;
        }
        let value = match self.correcting {
            Some(n) => Value::Corrected(n, words.to_owned()),
            None => Value::Typed(words.to_owned()),
        };
        self.propose(value, format!("“{words}”"), words.to_owned(), None, now, out);
    }

    pub(super) fn propose_reason(&mut self, reason: &str, now: Moment, out: &mut Vec<Deed>) {
        let Level::Reasons(because) = self.level.clone() else { return };
        let value = Value::Reason(because, reason.to_owned());
        self.propose(value, format!("“{reason}”"), reason.to_owned(), None, now, out);
    }

    /// Confirmed.
    pub(super) fn take(&mut self, now: Moment, out: &mut Vec<Deed>) {
        let Some(question) = self.question.take() else { return };
        self.at = 0;
        question.readback.confirm();
        self.enter_value(question.value, question.heard, now, out);
    }

    /// Denied.
    pub(super) fn deny(&mut self, now: Moment, out: &mut Vec<Deed>) {
        self.question = None;
        self.at = 0;
        self.scan.begin_anew();
        self.say(Said::prompt("Not taken. Again, please."), now.tick, out);
    }
}

/// What is needed most comes first: beyond the number of phrases that are told apart there is no room.
fn rank(pick: &Pick) -> u8 {
    match pick {
        Pick::Next | Pick::Take | Pick::End | Pick::EndForSure => 0,
        Pick::Deny | Pick::Back => 1,
        Pick::Again => 2,
        Pick::Undo => 3,
        Pick::TimeLeft => 4,
        Pick::WrongList => 5,
        Pick::Due => 6,
        Pick::Add | Pick::Count | Pick::Silence | Pick::Slower => 7,
        Pick::Anyway => 8,
        Pick::Redo => 9,
        Pick::CorrectList => 10,
        Pick::More => 11,
        _ => 12,
    }
}

/// The moment so many milliseconds ago.
fn ago_of(now: Moment, ago_ms: u64) -> Moment {
    let ago = ago_ms.min(now.tick.0);
    let wall = Wall { unix_ms: now.wall.unix_ms.saturating_sub_unsigned(ago), ..now.wall };
    Moment { tick: Tick(now.tick.0 - ago), wall }
}

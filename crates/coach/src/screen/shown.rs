//! What a terminal shows: one run, a bench of several, a practice exam.
//!
//! Here: what the loop that serves the outside world needs to know of each. Not here: the loop.
//!
//! **Invariant:** as for one run: drawing changes nothing, and between two moments named by `next_change` the same picture
//! is drawn.

use crossterm::event::KeyEvent;
use engine::{Moment, Tick};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::model::{BigKey, Model};
use super::update::{Effect, Input, next_change, update};
use super::view::draw;

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// An effect of one run, by its place on the bench; a run alone has place 0.
    Of(usize, Effect),
    /// A test of the bench was begun: its journal is to be made. Answer with [`Input::Begun`] or
    /// [`Input::StoreFailed`].
    Begin {
        /// Its place on the bench.
        run: usize,
        /// When.
        at: Moment,
    },
    /// A check test was added to the bench, in the last place; it is to be put on record before it is begun.
    Add {
        /// The place of the test it checks.
        check_of: usize,
        /// What it is called.
        name: String,
        /// When.
        at: Moment,
    },
    /// Every test of the bench is closed.
    Finish {
        /// When.
        at: Moment,
    },
    /// Something is to be heard; its moments are ticks of what is shown.
    Speak(voice::Speech),
    /// The words valid now have changed.
    Publish(Published),
    /// The recogniser is asked to listen, or to stop.
    Talk(bool),
}

/// The words valid now, for any recogniser.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Published {
    /// One phrase a line.
    pub list: String,
    /// The same as a grammar (JSGF).
    pub jsgf: String,
}

/// What the terminal and the clock bring to whatever is shown.
#[derive(Clone, Debug)]
pub enum Sensed {
    /// A key.
    Key(KeyEvent),
    /// Pasted text.
    Paste(String),
    /// A moment named by [`Shown::next_change`] has come.
    Wake,
    /// The terminal has another size.
    Resize,
    /// A line of words came in.
    Line(Line),
    /// How sound stands now, in words: who speaks, who plays, what is missing.
    Mouth(Mouth),
    /// How a source of lines stands now.
    Ear(Ear),
}

/// A line of words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The line, or why it is none.
    pub utterance: Result<hearing::Utterance, hearing::line::NoLine>,
    /// A cue was sounding, or had just ended: a microphone would hear it.
    pub is_over_cue: bool,
}

/// How sound stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Mouth {
    /// Nothing is to be heard.
    #[default]
    Off,
    /// Words and tones: by which programs.
    Speaks(String),
    /// Tones without words, and why.
    Tones(String),
    /// The terminal's bell at most, and why.
    Bell(String),
}

/// How a source of lines stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ear {
    /// What it is, such as `FIFO /run/user/1000/words`.
    pub name: String,
    /// What is lost, in words; none if it listens.
    pub lost: Option<String>,
}

impl From<Sensed> for Input {
    fn from(sensed: Sensed) -> Self {
        match sensed {
            Sensed::Key(key) => Self::Key(key),
            Sensed::Paste(text) => Self::Paste(text),
            Sensed::Wake => Self::Wake,
            Sensed::Resize => Self::Resize,
            // Whoever shows a run alone does not listen.
            Sensed::Line(_) | Sensed::Mouth(_) | Sensed::Ear(_) => Self::Wake,
        }
    }
}

/// Something that takes what comes in and draws itself.
pub trait Shown {
    /// Something to be done outside.
    type Deed;
    /// What those who keep its record say to it.
    type Answer;
    /// Takes what the terminal or the clock brought at `now`.
    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<Self::Deed>;
    /// Takes what was answered about its record at `now`.
    fn hear(&mut self, answer: Self::Answer, now: Moment) -> Vec<Self::Deed>;
    /// When the picture changes by itself next.
    fn next_change(&self, now: Tick) -> Option<Tick>;
    /// Draws it.
    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect);
    /// How often a full repaint was asked for.
    fn repaints(&self) -> u32;
}

impl Shown for Model {
    type Deed = Deed;
    type Answer = (usize, Input);
    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<Deed> {
        of_one_run(update(self, sensed.into(), now))
    }
    fn hear(&mut self, (_, answer): (usize, Input), now: Moment) -> Vec<Deed> {
        of_one_run(update(self, answer, now))
    }
    fn next_change(&self, now: Tick) -> Option<Tick> {
        next_change(self, now)
    }
    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        draw(self, now, buf, area);
    }
    fn repaints(&self) -> u32 {
        Model::repaints(self)
    }
}

/// Something shown that has one run in focus, and perhaps others beside it.
pub trait Focused: Shown<Deed = Deed, Answer = (usize, Input)> {
    /// The run in focus.
    fn focus(&self) -> Option<&Model>;
    /// Every run, by its place; a test nobody has begun has no model. A run alone has one place.
    fn places(&self) -> Vec<Place<'_>>;
    /// Says at the foot of the run in focus what the big key does, where that is not what it does by itself.
    fn lead(&mut self, big_key: Option<BigKey>);
}

/// A run and its place.
#[derive(Debug)]
pub struct Place<'m> {
    /// What it is called.
    pub name: &'m str,
    /// Its run; none if nobody has begun it.
    pub model: Option<&'m Model>,
    /// Whether it is in focus.
    pub is_focus: bool,
}

impl Focused for Model {
    fn focus(&self) -> Option<&Model> {
        Some(self)
    }
    fn places(&self) -> Vec<Place<'_>> {
        vec![Place { name: &self.run.edition().id, model: Some(self), is_focus: true }]
    }
    fn lead(&mut self, big_key: Option<BigKey>) {
        self.big_key = big_key;
    }
}

fn of_one_run(effects: Vec<Effect>) -> Vec<Deed> {
    effects.into_iter().map(|effect| Deed::Of(0, effect)).collect()
}

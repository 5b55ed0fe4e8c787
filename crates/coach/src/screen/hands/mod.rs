//! Hands-free: whatever is shown, led by ear, by foot, by voice, by one switch.
//!
//! Here: one layer over a run or a bench. It turns pedals, lines and switches into the keys a person would have pressed,
//! and what the run says into what is heard. Not here: what an act does; loudspeakers and recognisers.
//!
//! | part | what it does |
//! |------|--------------|
//! | `choices` | what can be done now, as a list |
//! | `dial` | a number given piece by piece |
//! | `act` | a choice becomes keys |
//! | `press` | pedals, three keys, one switch |
//! | `lines` | lines of words |
//! | `talk` | what is said, and when |
//! | `pace` | strokes counted aloud |
//! | `panel` | what stands on the screen of all this |
//! | `far` | the screen for somebody three metres away |
//!
//! **Invariant:** nothing reaches the run that could not have been done with keys, and no spoken value is entered before
//! it was read back and confirmed.

mod act;
pub mod choices;
pub mod dial;
pub mod far;
pub mod keymap;
mod lines;
mod pace;
mod panel;
pub mod phrases;
mod press;
pub mod settings;
mod talk;
pub mod words;

use std::collections::BTreeMap;

use engine::{Moment, Phase, Tick};
use procedure::StepId;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use choices::{Around, Choice, Level, Wanted};
use dial::Dial;
use lines::{Ears, Question};
use pace::Pacing;
use press::Scan;
pub use settings::{Led, Pace, Settings};
use talk::Talk;

use super::entry::Asked;
use super::model::Model;
use super::shown::{Deed, Focused, Mouth, Published, Sensed, Shown};
use super::update::{Effect, Input};

/// Something shown, led hands-free.
#[derive(Debug)]
pub struct Hands<S> {
    /// What is shown.
    pub inner: S,
    /// How the hands are kept free.
    pub settings: Settings,
    /// What the lists and questions belong to; when it changes they begin anew.
    here: Option<Here>,
    level: Level,
    /// The line of the list that is offered.
    at: usize,
    dial: Option<Dial>,
    letters: String,
    /// The reason that was given for an end, until it is confirmed.
    reason: String,
    question: Option<Question>,
    /// The list is open at the keyboard.
    is_open: bool,
    scan: Scan,
    bounce: keymap::Bounce,
    /// When say-again was pressed last.
    again: Option<Tick>,
    /// A clicker has been used: its point is no decimal point.
    has_clicker: bool,
    ears: Ears,
    mouth: Mouth,
    /// Sources of lines that are lost, and why.
    lost: BTreeMap<String, String>,
    talk: Talk,
    pacing: Option<Pacing>,
    published: Published,
    /// The far view is shown.
    is_far: bool,
    /// Since when the turns are marked by voice, so that it is said once on the record.
    marked: Option<Tick>,
    /// The reading that is being corrected, by its place in the list.
    correcting: Option<usize>,
}

/// Where a run stands, as far as what is asked of the person goes.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
struct Here {
    place: usize,
    attempt: u16,
    step: Option<StepId>,
    round: u16,
    phase: Phase,
    asked: Option<Asked>,
}

impl<S: Focused> Hands<S> {
    /// The layer over what is shown.
    pub fn new(inner: S, settings: Settings) -> Self {
        let is_far = settings.far;
        Self {
            inner,
            settings,
            here: None,
            level: Level::Main,
            at: 0,
            dial: None,
            letters: String::new(),
            reason: String::new(),
            question: None,
            is_open: false,
            scan: Scan::default(),
            bounce: keymap::Bounce::default(),
            again: None,
            has_clicker: false,
            ears: Ears::default(),
            mouth: Mouth::Off,
            lost: BTreeMap::new(),
            talk: Talk::default(),
            pacing: None,
            published: Published::default(),
            is_far,
            marked: None,
            correcting: None,
        }
    }

    /// What can be chosen now; empty while no run is in focus.
    pub fn list(&self, now: Tick) -> Vec<Choice> {
        let Some(model) = self.inner.focus() else { return Vec::new() };
        let places = self.inner.places();
        let runs: Vec<(&str, bool)> = places.iter().map(|place| (place.name, place.is_focus)).collect();
        choices::choices(model, &self.around(&self.level, &runs), now)
    }

    fn around<'a>(&'a self, level: &'a Level, runs: &'a [(&'a str, bool)]) -> Around<'a> {
        Around {
            level,
            dial: self.dial.as_ref(),
            letters: &self.letters,
            asked: self.question.as_ref().map(|question| question.shown.as_str()),
            runs,
            is_counting: self.pacing.is_some(),
        }
    }

    /// What stands on the screen about what was said last, for pictures and transcripts.
    pub fn caption(&self) -> &str {
        self.talk.caption()
    }

    /// The line of the list that is offered now, if the list is open.
    pub fn offered(&self, now: Tick) -> Option<Choice> {
        if !self.is_list_on() { None } else { self.list(now).into_iter().nth(self.at) }
    }

    /// Whether the list is what pedals and switches choose from.
    fn is_list_on(&self) -> bool {
        self.settings.led != Led::Keys || self.is_open || self.question.is_some() || self.level != Level::Main
    }

    fn place(&self) -> usize {
        self.inner.places().iter().position(|place| place.is_focus).unwrap_or(0)
    }

    fn stands(&self, now: Tick) -> Option<Here> {
        let model = self.inner.focus()?;
        let offer = model.run.offer(now);
        Some(Here {
            place: self.place(),
            attempt: offer.attempt,
            step: offer.step.map(|(id, _)| id),
            round: offer.round,
            phase: offer.phase,
            asked: model.asked,
        })
    }

    /// Opens a list; its first line is offered.
    fn go_to(&mut self, level: Level) {
        if level == Level::Main {
            self.correcting = None;
        }
        self.level = level;
        self.at = 0;
        self.scan.begin_anew();
    }

    /// What follows from everything that came in: lists begin anew, what is due is done, what is new is said.
    fn follow(&mut self, now: Moment, out: &mut Vec<Deed>) {
        for _ in 0..FOLLOWS_AT_MOST {
            let here = self.stands(now.tick);
            let is_new = here != self.here;
            if is_new {
                self.here = here;
                self.begin_anew(now.tick);
            }
            if !self.pass(now, out) && !is_new {
                break;
            }
        }
        self.speak(now, out);
        self.publish(now, out);
        let big_key = self.big_key(now.tick);
        self.inner.lead(big_key);
        if self.is_heard() {
            // The bell would only ring into the words.
            out.retain(|deed| !matches!(deed, Deed::Of(_, Effect::Bell)));
        }
    }

    /// Whether tones at least are heard from a loudspeaker.
    fn is_heard(&self) -> bool {
        self.settings.speaks && matches!(self.mouth, Mouth::Speaks(_) | Mouth::Tones(_))
    }

    /// The step is another: nothing of what was half said belongs to it.
    fn begin_anew(&mut self, now: Tick) {
        self.letters.clear();
        self.is_open = false;
        self.pacing = None;
        self.question = None;
        self.go_to(Level::Main);
        self.dial = match self.inner.focus().map(|model| choices::wanted(model, now)) {
            Some(Wanted::Number(scale, usual)) => Some(Dial::new(&scale, usual)),
            _ => None,
        };
    }

    /// What the time brings by itself; true if anything was done.
    fn pass(&mut self, now: Moment, out: &mut Vec<Deed>) -> bool {
        self.pass_question(now, out);
        self.pass_window(now.tick, out);
        self.pass_pace(now.tick);
        self.pass_scan(now.tick, out);
        self.goes_on(now, out)
    }

    /// A wait that has ended leads on by itself, if the procedure and the person allow it.
    fn goes_on(&mut self, now: Moment, out: &mut Vec<Deed>) -> bool {
        if !self.settings.goes_on || self.level != Level::Main {
            return false;
        }
        let is_over = self.inner.focus().is_some_and(|model| {
            let offer = model.run.offer(now.tick);
            let may = offer.step.is_some_and(|(_, step)| words::goes_on(step));
            may && model.overlay.is_none() && offer.act == engine::Act::Confirm && offer.standing.begun.is_some()
        });
        if is_over {
            self.press_next(now, out);
        }
        is_over
    }
}

/// What follows from what follows ends after so many rounds: more would be a mistake in a procedure.
const FOLLOWS_AT_MOST: usize = 32;

impl<S: Focused> Shown for Hands<S> {
    type Deed = Deed;
    type Answer = (usize, Input);

    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<Deed> {
        let mut out = Vec::new();
        match sensed {
            Sensed::Key(event) => self.key(&event, now, &mut out),
            Sensed::Line(line) => self.line(&line, now, &mut out),
            Sensed::Mouth(mouth) => self.mouth = mouth,
            Sensed::Ear(ear) => {
                match ear.lost {
                    Some(why) => self.lost.insert(ear.name, why),
                    None => self.lost.remove(&ear.name),
                };
            }
            other => out.extend(self.inner.sense(other, now)),
        }
        self.follow(now, &mut out);
        out
    }

    fn hear(&mut self, answer: (usize, Input), now: Moment) -> Vec<Deed> {
        let mut out = self.inner.hear(answer, now);
        self.follow(now, &mut out);
        out
    }

    fn next_change(&self, now: Tick) -> Option<Tick> {
        let shown = match self.inner.focus().filter(|_| self.is_far) {
            // On a bench the others still have their moments.
            Some(model) => [far::next_change(model, now), self.inner.next_change(now)].into_iter().flatten().min(),
            None => self.inner.next_change(now),
        };
        let own =
            [self.next_question(), self.next_window(now), self.next_pace(now), self.next_scan(now), self.next_plan()];
        shown.into_iter().chain(own.into_iter().flatten()).min()
    }

    fn draw(&self, now: Tick, buf: &mut Buffer, area: Rect) {
        self.draw_all(now, buf, area);
    }

    fn repaints(&self) -> u32 {
        self.inner.repaints()
    }
}

/// The run in focus, for the parts of this layer.
fn focus<S: Focused>(hands: &Hands<S>) -> Option<&Model> {
    hands.inner.focus()
}

//! A room in which everything is written down in its order: what came in, what was said, what was kept.
//!
//! Whoever judges afterwards reads this alone, and looks at nothing inside of the layer.

use std::sync::{Arc, OnceLock};

use coach::rim::library;
use coach::screen::{Deed, Effect, Focused, Hands, Input, Line, Mouth, Published, Sensed, Settings, Shown as _};
use coach::screen::{Model, Options};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Event, Moment, Phase, Run, Tick};
use hearing::Utterance;
use procedure::Edition;
use quantity::{Span, System, Ties};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use specimen::Specimen;
use voice::Speech;

use super::person::{Means, Person, moment, specimen};

/// What happened in the room.
#[derive(Clone, Debug)]
pub enum Happened {
    /// A line came in, when, and whether it was over a cue.
    Came(Utterance, Tick, bool),
    /// A line came in that is none.
    Rubbish,
    /// A key of a pedal.
    Pressed,
    /// A key of the keyboard.
    Typed,
    /// Words were said.
    Said(String),
    /// Something was put on the record.
    Kept(Event, Moment),
    /// The microphone was asked to open or close, and when.
    Talk(bool, Tick),
    /// The words valid now.
    Published(Published),
    /// The program would have ended.
    Left,
}

/// The room.
pub struct Room<S> {
    pub hands: Hands<S>,
    pub now: Tick,
    pub specimen: Option<Specimen>,
    pub log: Vec<Happened>,
    n_kept: u64,
}

pub fn edition(method: &str, system: System) -> Option<Arc<Edition>> {
    library::find(method, false).unwrap().edition(system).map(Arc::new)
}

/// Every method that is shipped, in each of its unit systems.
pub fn editions() -> Vec<(String, System, Arc<Edition>)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.strip_suffix(".toml").map(str::to_owned))
        .collect();
    names.sort();
    let mut all = Vec::new();
    for name in names {
        for system in [System::InchPound, System::Si] {
            if let Some(edition) = edition(&name, system) {
                all.push((name.clone(), system, edition));
            }
        }
    }
    assert!(all.len() > 15, "{} editions", all.len());
    all
}

/// A run as it stood after each of its acts, with its specimen and the time.
#[derive(Clone)]
pub struct Stand {
    pub run: Run,
    pub specimen: Specimen,
    pub now: Tick,
}

/// Everywhere a good run of this edition stands, one after another, to its close.
pub fn stands(edition: &Arc<Edition>, seed: u64) -> Vec<Stand> {
    let mut run = Run::open(Arc::clone(edition), Ties::Even, moment(Tick(0)));
    let mut specimen = specimen(edition, seed);
    let mut now = Tick(0);
    let mut all = Vec::new();
    for _ in 0..3_000 {
        all.push(Stand { run: run.clone(), specimen: specimen.clone(), now });
        let offer = run.offer(now);
        let standing = offer.standing;
        let event = match offer.act.clone() {
            Act::Nothing => return all,
            Act::Wait { until } => {
                now = until;
                all.pop();
                continue;
            }
            Act::Answer(reading) => {
                let (step, _) = offer.step.unwrap();
                let mut right = specimen.right_answers(&run, reading, now);
                assert!(!right.is_empty(), "{}: nothing is right", edition.id);
                let entry = match right.swap_remove(0) {
                    engine::Entry::Words(_) => engine::Entry::Words("A1".to_owned()),
                    entry => entry,
                };
                now = now.after(Span(2_000));
                Event::Answer { step, reading, entry, seen: now, despite: None }
            }
            act => {
                if let Act::Turn { to_down } = act {
                    let least = if to_down { 1_500 } else { 5_500 };
                    now = standing.turned.after(Span(least)).max(now);
                }
                let wants = offer.step.map(|(_, step)| step.wants.clone());
                if let (Some(procedure::Wants::Timed { at_least, at_most, .. }), Some(begun)) = (wants, standing.begun)
                {
                    now = begun.after(Span(u64::midpoint(at_least.0, at_most.0))).max(now);
                }
                now = now.after(Span(500));
                match run.press(now) {
                    Some(event) => event,
                    None => panic!("{}: nothing to press", edition.id),
                }
            }
        };
        run.apply(event.clone(), moment(now)).unwrap_or_else(|refused| panic!("{}: {event:?}: {refused}", edition.id));
        specimen.hear(&run, &event, moment(now));
    }
    panic!("{} does not end", edition.id);
}

/// The stands of an edition, worked out once.
pub fn stands_of(method: &str, system: System) -> &'static [Stand] {
    type Kept = std::sync::Mutex<Vec<((String, System), &'static [Stand])>>;
    static KEPT: OnceLock<Kept> = OnceLock::new();
    let kept = KEPT.get_or_init(Kept::default);
    let key = (method.to_owned(), system);
    let found = kept.lock().unwrap().iter().find(|(of, _)| *of == key).map(|(_, stands)| *stands);
    found.unwrap_or_else(|| {
        let made: &'static [Stand] = Box::leak(stands(&edition(method, system).unwrap(), 7).into_boxed_slice());
        kept.lock().unwrap().push((key, made));
        made
    })
}

/// How a person with lines has it set.
pub fn with_lines() -> Settings {
    Means::Lines.settings()
}

impl Room<Model> {
    /// A room in which a run stands so.
    pub fn at(stand: &Stand, settings: Settings) -> Self {
        let model = Model::new(stand.run.clone(), moment(stand.now), Options::default());
        Self::new(model, stand.now, Some(stand.specimen.clone()), settings)
    }

    /// A room at the first stand of a method for which something is true.
    pub fn where_(method: &str, system: System, settings: Settings, is_it: impl Fn(&Stand) -> bool) -> Self {
        let stand = stands_of(method, system).iter().find(|stand| is_it(stand));
        Self::at(stand.unwrap_or_else(|| panic!("{method} never stands so")), settings)
    }

    /// A room at a step that asks this.
    pub fn asking(method: &str, reading: &str, settings: Settings) -> Self {
        Self::where_(method, System::InchPound, settings, |stand| {
            asked(&stand.run, stand.now).is_some_and(|id| stand.run.edition().reading(id).id == reading)
        })
    }
}

/// The reading that is asked.
pub fn asked(run: &Run, now: Tick) -> Option<procedure::ReadingId> {
    match run.offer(now).act {
        Act::Answer(reading) => Some(reading),
        _ => None,
    }
}

impl<S: Focused> Room<S> {
    pub fn new(inner: S, now: Tick, specimen: Option<Specimen>, settings: Settings) -> Self {
        let mut room = Self { hands: Hands::new(inner, settings), now, specimen, log: Vec::new(), n_kept: 0 };
        room.sense(Sensed::Mouth(Mouth::Speaks("a stand-in".to_owned())));
        room
    }

    fn do_all(&mut self, deeds: Vec<Deed>) {
        for deed in deeds {
            let happened = match deed {
                Deed::Of(run, Effect::Keep { event, at, .. }) => {
                    self.n_kept += 1;
                    if let (Some(model), Some(specimen)) = (self.hands.inner.focus(), &mut self.specimen) {
                        specimen.hear(&model.run, &event, at);
                    }
                    self.log.push(Happened::Kept(event, at));
                    let deeds = self.hands.hear((run, Input::Kept { entries: self.n_kept }), moment(self.now));
                    self.do_all(deeds);
                    continue;
                }
                Deed::Of(_, Effect::Leave) => Happened::Left,
                Deed::Speak(Speech::Say(cue)) if !cue.text.is_empty() => Happened::Said(cue.text),
                Deed::Talk(is_on) => Happened::Talk(is_on, self.now),
                Deed::Publish(published) => Happened::Published(published),
                _ => continue,
            };
            self.log.push(happened);
        }
    }

    pub fn sense(&mut self, sensed: Sensed) {
        match &sensed {
            Sensed::Key(_) => self.log.push(Happened::Pressed),
            Sensed::Line(Line { utterance: Ok(utterance), is_over_cue }) => {
                self.log.push(Happened::Came(utterance.clone(), self.now, *is_over_cue));
            }
            Sensed::Line(_) => self.log.push(Happened::Rubbish),
            _ => {}
        }
        let deeds = self.hands.sense(sensed, moment(self.now));
        self.do_all(deeds);
    }

    /// Lets time pass, as the loop would.
    pub fn wait(&mut self, ms: u64) {
        let until = self.now.after(Span(ms));
        let mut stuck = 0;
        while let Some(next) = self.hands.next_change(self.now).filter(|next| *next <= until) {
            stuck = if next <= self.now { stuck + 1 } else { 0 };
            assert!(stuck < 5, "it wants to be woken at {next:?}, which is now: {:?}", self.now);
            self.now = next.max(self.now);
            self.sense(Sensed::Wake);
        }
        self.now = until.max(self.now);
    }

    pub fn key(&mut self, code: KeyCode) {
        self.wait(400);
        self.press(code, KeyModifiers::NONE);
    }

    pub fn press(&mut self, code: KeyCode, with: KeyModifiers) {
        self.sense(Sensed::Key(KeyEvent::new(code, with)));
    }

    /// Somebody at the keyboard presses a key.
    pub fn typed(&mut self, code: KeyCode, with: KeyModifiers) {
        self.log.push(Happened::Typed);
        let deeds = self.hands.sense(Sensed::Key(KeyEvent::new(code, with)), moment(self.now));
        self.do_all(deeds);
    }

    /// A raw line, tags and all, after the time its words take.
    pub fn line(&mut self, raw: &str) -> &mut Self {
        self.wait(1_200);
        self.line_now(raw.as_bytes(), false)
    }

    pub fn line_now(&mut self, raw: &[u8], is_over_cue: bool) -> &mut Self {
        self.sense(Sensed::Line(Line { utterance: hearing::line::read(raw), is_over_cue }));
        self
    }

    pub fn run(&self) -> &Run {
        &self.hands.inner.focus().unwrap().run
    }

    pub fn phase(&self) -> Phase {
        self.run().phase()
    }

    /// What was said, from a place of the log on.
    pub fn said_since(&self, from: usize) -> Vec<String> {
        self.log[from..]
            .iter()
            .filter_map(|happened| match happened {
                Happened::Said(text) => Some(text.clone()),
                _ => None,
            })
            .collect()
    }

    /// What was put on the record, from a place of the log on.
    pub fn kept_since(&self, from: usize) -> Vec<Event> {
        self.log[from..]
            .iter()
            .filter_map(|happened| match happened {
                Happened::Kept(event, _) => Some(event.clone()),
                _ => None,
            })
            .collect()
    }

    /// The words published last.
    pub fn published(&self) -> Option<&Published> {
        self.log.iter().rev().find_map(|happened| match happened {
            Happened::Published(published) => Some(published),
            _ => None,
        })
    }

    pub fn has_left(&self) -> bool {
        self.log.iter().any(|happened| matches!(happened, Happened::Left))
    }

    /// The screen as text.
    pub fn screen(&self, width: u16, height: u16) -> String {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        self.hands.draw(self.now, &mut buffer, area);
        let mut text = String::new();
        for y in 0..height {
            for x in 0..width {
                text.push_str(buffer[(x, y)].symbol());
            }
            text.push('\n');
        }
        text
    }
}

/// A person of `person.rs` at a stand, who goes on from there.
pub fn person_at(stand: &Stand, means: Means) -> Person<Model> {
    let model = Model::new(stand.run.clone(), moment(stand.now), Options::default());
    let mut person = Person::new(model, means, vec![Some(stand.specimen.clone())]);
    person.now = stand.now;
    person
}

/// Numbers that look like chance and come again from the same seed (SplitMix64).
#[derive(Clone, Debug)]
pub struct Chance(pub u64);

impl Chance {
    /// The first seed of a test; printed, and `POURSIDE_SEED` replaces it.
    pub fn first_seed(usual: u64) -> u64 {
        let told = std::env::var("POURSIDE_SEED").ok().and_then(|seed| seed.parse().ok());
        let seed = told.unwrap_or(usual);
        println!("POURSIDE_SEED={seed}");
        seed
    }

    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.number() % end.max(1) as u64).unwrap()
    }

    /// True in so many of a hundred cases.
    pub fn is_in(&mut self, per_cent: usize) -> bool {
        self.below(100) < per_cent
    }

    pub fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }
}

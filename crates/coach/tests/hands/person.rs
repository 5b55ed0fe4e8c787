//! A person who leads a run with no ordinary key: by lines, by three clicker keys, by one switch.
//!
//! What is right at each moment comes from the virtual specimen; how it is given is up to the means. Everything that is
//! done is written down as a script, everything that is said as a transcript.

use std::sync::Arc;

use coach::screen::hands::choices::{Choice, Pick};
use coach::screen::hands::settings::Led;
use coach::screen::{BenchModel, Deed, Effect, Focused, Hands, Input, Line, Mouth, Sensed, Settings, Shown as _};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Entry, Moment, Phase, Run, Tick, Wall};
use procedure::{Edition, ReadingKind, Wants};
use quantity::{Decimal, Span};
use specimen::{Scenario, Specimen};
use voice::Speech;

/// By what a run is led.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Means {
    Lines,
    Clicker,
    Switch,
    /// Digits, point, Enter and the four signs.
    NumberPad,
}

impl Means {
    pub const ALL: [Means; 3] = [Means::Lines, Means::Clicker, Means::Switch];

    pub fn settings(self) -> Settings {
        let led = match self {
            Means::Lines | Means::NumberPad => Led::Keys,
            Means::Clicker => Led::Clicker,
            Means::Switch => Led::Switch,
        };
        Settings { led, speaks: true, listens: self == Means::Lines, ..Settings::default() }
    }
}

pub fn moment(tick: Tick) -> Moment {
    Moment { tick, wall: Wall { unix_ms: 1_795_600_000_000 + i64::try_from(tick.0).unwrap(), offset_min: -360 } }
}

pub struct Person<S> {
    pub hands: Hands<S>,
    pub means: Means,
    pub now: Tick,
    pub specimens: Vec<Option<Specimen>>,
    kept: Vec<u64>,
    /// What was done, as a script.
    pub script: Vec<String>,
    done_at: Tick,
    /// What was said and recorded.
    pub transcript: Vec<String>,
    pub has_left: bool,
    pub is_finished: bool,
    pub n_pressed: usize,
}

/// The specimen of an edition; its truth is the same for every means.
pub fn specimen(edition: &Arc<Edition>, seed: u64) -> Specimen {
    Specimen::new(Arc::clone(edition), Scenario::clean(edition, seed).unwrap())
}

impl<S: Focused> Person<S> {
    pub fn new(inner: S, means: Means, specimens: Vec<Option<Specimen>>) -> Self {
        let n = specimens.len();
        let mut person = Self {
            hands: Hands::new(inner, means.settings()),
            means,
            now: Tick(0),
            specimens,
            kept: vec![0; n],
            script: Vec::new(),
            done_at: Tick(0),
            transcript: Vec::new(),
            has_left: false,
            is_finished: false,
            n_pressed: 0,
        };
        person.sense(Sensed::Mouth(Mouth::Speaks("a stand-in".to_owned())));
        person
    }

    fn do_all(&mut self, deeds: Vec<Deed>) {
        for deed in deeds {
            let answer = match deed {
                Deed::Begin { run, .. } => {
                    self.kept[run] = 1;
                    (run, Input::Begun { run: format!("run-{run}") })
                }
                Deed::Of(run, Effect::Keep { event, at, .. }) => {
                    self.kept[run] += 1;
                    self.transcript.push(format!("{} recorded {run}: {event:?}", at.tick.0));
                    let places = self.hands.inner.places();
                    if let (Some(model), Some(specimen)) = (places[run].model, &mut self.specimens[run]) {
                        specimen.hear(&model.run, &event, at);
                    }
                    (run, Input::Kept { entries: self.kept[run] })
                }
                Deed::Of(_, Effect::Leave) => {
                    self.has_left = true;
                    continue;
                }
                Deed::Finish { .. } => {
                    self.is_finished = true;
                    continue;
                }
                Deed::Speak(Speech::Say(cue)) => {
                    self.transcript.push(format!("{} says {:?} {}", self.now.0, cue.class, cue.text));
                    continue;
                }
                _ => continue,
            };
            let deeds = self.hands.hear(answer, moment(self.now));
            self.do_all(deeds);
        }
    }

    pub fn sense(&mut self, sensed: Sensed) {
        let deeds = self.hands.sense(sensed, moment(self.now));
        self.do_all(deeds);
    }

    /// Lets time pass, as the loop would.
    pub fn wait(&mut self, until: Tick) {
        let mut stuck = 0;
        while let Some(next) = self.hands.next_change(self.now).filter(|next| *next <= until) {
            stuck = if next <= self.now { stuck + 1 } else { 0 };
            assert!(stuck < 5, "it wants to be woken at {next:?}, which is now: {:?}", self.now);
            self.now = next.max(self.now);
            self.sense(Sensed::Wake);
        }
        self.now = until.max(self.now);
    }

    fn note(&mut self, what: &str) {
        let since = self.now.since(self.done_at).0;
        self.done_at = self.now;
        self.script.push(format!("+{}.{:03}s {what}", since / 1_000, since % 1_000));
    }

    pub fn key(&mut self, code: KeyCode) {
        // A foot takes a while.
        self.wait(self.now.after(Span(400)));
        self.n_pressed += 1;
        let name = match code {
            KeyCode::PageDown => "PageDown".to_owned(),
            KeyCode::PageUp => "PageUp".to_owned(),
            KeyCode::Char(' ') => "Space".to_owned(),
            KeyCode::Char(sign) => sign.to_string(),
            other => format!("{other:?}"),
        };
        self.note(&format!("key {name}"));
        self.sense(Sensed::Key(KeyEvent::new(code, KeyModifiers::NONE)));
    }

    pub fn line(&mut self, words: &str) {
        // Words take a while.
        self.wait(self.now.after(Span(1_500)));
        self.note(&format!("line {words}"));
        let utterance = hearing::line::read(words.as_bytes());
        assert!(utterance.is_ok(), "{words}: {utterance:?}");
        self.sense(Sensed::Line(Line { utterance, is_over_cue: false }));
    }

    pub fn run(&self) -> &Run {
        &self.hands.inner.focus().unwrap().run
    }

    /// Chooses something from the list that is open now.
    pub fn choose(&mut self, wanted: impl Fn(&Choice) -> bool) {
        let list = self.hands.list(self.now);
        let at = list.iter().position(&wanted).unwrap_or_else(|| panic!("not in {list:#?}"));
        let pick = list[at].pick.clone();
        match self.means {
            Means::Lines => {
                let phrase = list[at].phrases.first().unwrap_or_else(|| panic!("{:?} has no phrase", list[at])).clone();
                self.line(&phrase);
            }
            Means::NumberPad => {
                if self.hands.offered(self.now).is_none() {
                    if pick == Pick::Next {
                        return self.key(KeyCode::Enter);
                    }
                    self.key(KeyCode::Char('*'));
                }
                for _ in 0..=list.len() {
                    let offered = self.hands.offered(self.now).expect("the list is open");
                    if offered.pick == pick {
                        return self.key(KeyCode::Enter);
                    }
                    self.key(KeyCode::Char('+'));
                }
                panic!("{pick:?} is never offered");
            }
            Means::Clicker => {
                for _ in 0..=list.len() {
                    let offered = self.hands.offered(self.now).expect("a clicker always has a list");
                    if offered.pick == pick {
                        return self.key(KeyCode::PageDown);
                    }
                    let list = self.hands.list(self.now);
                    let here = list.iter().position(|choice| choice.pick == offered.pick).unwrap();
                    let there = list.iter().position(|choice| choice.pick == pick).unwrap();
                    // The shorter way round.
                    let forward = (there + list.len() - here) % list.len();
                    self.key(if forward * 2 <= list.len() { KeyCode::Char('.') } else { KeyCode::PageUp });
                }
                panic!("{pick:?} is never offered");
            }
            Means::Switch => {
                for _ in 0..400 {
                    let is_it = self.hands.offered(self.now).is_some_and(|offered| offered.pick == pick);
                    if is_it && !self.hands.is_at_rest(self.now) {
                        // As soon as it is seen.
                        return self.key(KeyCode::Char(' '));
                    }
                    if self.hands.is_at_rest(self.now) {
                        self.key(KeyCode::Char(' '));
                        continue;
                    }
                    let next = self.hands.next_change(self.now).unwrap_or(self.now.after(Span(500)));
                    self.wait(next.max(self.now.after(Span(50))));
                }
                panic!("{pick:?} is never offered");
            }
        }
    }

    pub fn next(&mut self) {
        self.choose(|choice| choice.pick == Pick::Next);
    }

    pub fn confirm(&mut self) {
        self.choose(|choice| choice.pick == Pick::Take);
    }

    /// Gives a number.
    pub fn number(&mut self, value: Decimal, spoken: &str) {
        if self.means == Means::Lines {
            self.line(spoken);
            return self.confirm();
        }
        if self.means == Means::NumberPad {
            for sign in value.to_string().chars() {
                self.key(KeyCode::Char(sign));
            }
            return self.key(KeyCode::Enter);
        }
        while !self.hands.list(self.now).iter().any(|choice| choice.pick == Pick::Take) {
            let target = value;
            let list = self.hands.list(self.now);
            let places: Vec<&Choice> = list.iter().filter(|choice| matches!(choice.pick, Pick::Piece(_))).collect();
            let fits = |choice: &&&Choice| leads_to(&choice.label, target);
            let piece = places.iter().find(fits).unwrap_or_else(|| panic!("no way to {target} in {list:#?}"));
            let pick = piece.pick.clone();
            self.choose(|choice| choice.pick == pick);
        }
        self.confirm();
    }

    /// Gives an answer by its place.
    pub fn answer(&mut self, n: usize) {
        if self.means == Means::NumberPad && self.hands.offered(self.now).is_none() {
            return self.key(KeyCode::Char(char::from(b'1' + u8::try_from(n).unwrap())));
        }
        self.choose(|choice| choice.pick == Pick::Answer(n));
        self.confirm();
    }

    /// Gives words.
    pub fn words(&mut self, words: &str) {
        let used = Pick::Used(words.to_owned());
        if self.hands.list(self.now).iter().any(|choice| choice.pick == used) {
            self.choose(|choice| choice.pick == used);
            return self.confirm();
        }
        if self.means == Means::Lines {
            self.line(&format!("enter {words}"));
            return self.confirm();
        }
        self.choose(|choice| choice.pick == Pick::Letters);
        for sign in words.to_uppercase().chars() {
            if sign == ' ' {
                self.choose(|choice| choice.pick == Pick::Letter(' '));
                continue;
            }
            let groups = coach::screen::hands::choices::GROUPS;
            let group = groups.iter().position(|group| group.contains(sign)).unwrap();
            self.choose(|choice| choice.pick == Pick::Group(group));
            self.choose(|choice| choice.pick == Pick::Letter(sign));
        }
        self.choose(|choice| choice.pick == Pick::Written);
        self.confirm();
    }

    /// Closes the run: two different confirmations.
    pub fn close(&mut self) {
        self.next();
        if self.means == Means::NumberPad {
            // A keyboard closes with the big key, as ever.
            return;
        }
        self.choose(|choice| choice.pick == Pick::End);
        self.choose(|choice| choice.pick == Pick::EndForSure);
    }

    /// The next thing a good technician does at this run; false once there is nothing to do.
    pub fn go_on(&mut self) -> bool {
        let place = self.hands.inner.places().iter().position(|place| place.is_focus).unwrap();
        let offer = self.run().offer(self.now);
        let wants = offer.step.map(|(_, step)| step.wants.clone());
        let standing = offer.standing;
        match offer.act.clone() {
            Act::Nothing => return false,
            Act::Close => self.close(),
            Act::GiveUp(ending) => panic!("it went wrong: {}", ending.because.as_plain().unwrap_or("?")),
            Act::Again => panic!("the attempt has ended: {:?}", self.run().endings()),
            Act::Wait { until } => self.wait(until),
            Act::Turn { to_down } => {
                // Shaken for a while each way.
                let least = if to_down { 1_500 } else { 2_500 };
                self.wait(standing.turned.after(Span(least)).max(self.now));
                self.next();
            }
            Act::Confirm => {
                if let (Some(Wants::Timed { at_least, at_most, .. }), Some(begun)) = (wants, standing.begun) {
                    let middle = Span(u64::midpoint(at_least.0, at_most.0).saturating_sub(900));
                    self.wait(begun.after(middle).max(self.now));
                }
                self.next();
            }
            Act::Begin => self.next(),
            Act::Answer(reading) => {
                let kind = self.run().edition().reading(reading).kind.clone();
                let specimen = self.specimens[place].as_ref().unwrap();
                let right = specimen.right_answers(self.run(), reading, self.now);
                match (kind, right.first()) {
                    (ReadingKind::Number(scale), Some(Entry::Number(value))) => {
                        let mut value = *value;
                        value.rescale(scale.places());
                        let spoken = voice::say::reading(&value.to_string(), quantity::Unit::NONE);
                        // A read-back may repeat it digit by digit: the first form is what a person says.
                        let spoken = spoken.split(',').next().unwrap().to_owned();
                        self.number(value, &spoken);
                    }
                    (ReadingKind::Choice(_), Some(Entry::Choice(n))) => self.answer(*n as usize),
                    (ReadingKind::Words, _) => {
                        let words = if self.run().edition().reading(reading).id == "technician" { "Ada" } else { "A1" };
                        self.words(words);
                    }
                    (kind, right) => panic!("nothing to answer for {reading:?}: {kind:?}, {right:?}"),
                }
            }
        }
        true
    }

    /// The whole of a run, to its close.
    pub fn perform(&mut self) {
        for _ in 0..2_000 {
            if !self.go_on() {
                assert!(matches!(self.run().phase(), Phase::Closed { .. }));
                return;
            }
        }
        panic!("it does not end: {}", self.script[self.script.len() - 20..].join("\n"));
    }
}

impl Person<BenchModel> {
    /// A whole sample: every test to its close. Whatever can be done is done, in the order of the bench.
    pub fn perform_all(&mut self) {
        for _ in 0..4_000 {
            if self.hands.inner.are_all_closed() {
                return;
            }
            let before = self.hands.inner.focus();
            match self.run().offer(self.now).act {
                Act::Nothing | Act::Wait { .. } => {
                    let (ready, until) = self.ready();
                    if ready != before {
                        self.go_to(ready);
                    } else if let Some(until) = until {
                        self.wait(until);
                    }
                }
                _ => {
                    self.go_on();
                }
            }
        }
        panic!("it does not end: {}", self.script[self.script.len() - 20..].join("\n"));
    }

    /// The first run in which something can be done now, else the one whose wait is over first, with its moment.
    fn ready(&self) -> (usize, Option<Tick>) {
        let acts = self.hands.inner.members().iter().map(|member| member.run().map(|run| run.offer(self.now).act));
        let mut soonest: Option<(Tick, usize)> = None;
        for (n, act) in acts.enumerate() {
            match act {
                Some(Act::Nothing) => {}
                Some(Act::Wait { until }) => soonest = soonest.into_iter().chain([(until, n)]).min(),
                Some(_) | None => return (n, None),
            }
        }
        let (until, n) = soonest.expect("not every run is closed");
        (n, Some(until))
    }

    fn go_to(&mut self, n: usize) {
        if self.means != Means::Lines {
            self.choose(|choice| choice.pick == Pick::More);
        } else {
            return self.line(&coach::screen::hands::phrases::numbered("test", n));
        }
        self.choose(|choice| choice.pick == Pick::Run(n));
    }
}

/// Whether a label such as `4.7_` can become this number.
fn leads_to(label: &str, value: Decimal) -> bool {
    match label {
        "below zero" => return value.is_sign_negative() && !value.is_zero(),
        "zero or above" => return !value.is_sign_negative() || value.is_zero(),
        _ => {}
    }
    let digits = |text: &str| text.split_once('.').map(|(a, _)| a.trim_start_matches('-').len()).unwrap_or(text.len());
    let before = digits(label);
    let text = value.abs().to_string();
    let padded = format!("{}{text}", "0".repeat(before.saturating_sub(digits(&text))));
    let label = label.trim_start_matches('-');
    if !label.contains('_') {
        return label.parse::<Decimal>().is_ok_and(|mark| mark == value.abs());
    }
    label.len() == padded.len() && label.chars().zip(padded.chars()).all(|(a, b)| a == '_' || a == b)
}

//! What is planned to be heard, strokes counted aloud, waits that lead on, and what the screen says is lost.

use coach::screen::hands::phrases;
use coach::screen::hands::settings::Pace;
use coach::screen::{Deed, Ear, Effect, Hands, Input, Line, Model, Mouth, Options, Sensed, Settings, Shown as _};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Event, Tick};
use procedure::Wants;
use quantity::{Span, System};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use voice::{Class, Cue, Speech, Tone};

use crate::person::moment;
use crate::room::{Stand, stands_of};

/// A run with somebody who listens to it.
struct Heard {
    hands: Hands<Model>,
    now: Tick,
    plan: Vec<Cue>,
    is_hushed: bool,
    kept: Vec<Event>,
}

impl Heard {
    fn at(method: &str, settings: Settings, is_it: impl Fn(&Stand) -> bool) -> Self {
        let stand = stands_of(method, System::InchPound).iter().find(|stand| is_it(stand)).unwrap();
        let model = Model::new(stand.run.clone(), moment(stand.now), Options::default());
        let settings = Settings { listens: true, ..settings };
        let hands = Hands::new(model, settings);
        let mut heard = Self { hands, now: stand.now, plan: Vec::new(), is_hushed: false, kept: Vec::new() };
        heard.sense(Sensed::Mouth(Mouth::Speaks("a stand-in".to_owned())));
        heard
    }

    fn sense(&mut self, sensed: Sensed) {
        let deeds = self.hands.sense(sensed, moment(self.now));
        self.take(deeds);
    }

    fn take(&mut self, deeds: Vec<Deed>) {
        for deed in deeds {
            match deed {
                Deed::Speak(Speech::Plan(plan)) => self.plan = plan,
                Deed::Speak(Speech::Hush) => self.is_hushed = true,
                Deed::Of(run, Effect::Keep { event, .. }) => {
                    self.kept.push(event);
                    let answer = (run, Input::Kept { entries: 1 });
                    let deeds = self.hands.hear(answer, moment(self.now));
                    self.take(deeds);
                }
                _ => {}
            }
        }
    }

    fn wait(&mut self, ms: u64) {
        let until = self.now.after(Span(ms));
        while let Some(next) = self.hands.next_change(self.now).filter(|next| *next <= until) {
            self.now = next.max(self.now.after(Span(1)));
            self.sense(Sensed::Wake);
        }
        self.now = until.max(self.now);
    }

    fn line(&mut self, words: &str) {
        let utterance = hearing::line::read(words.as_bytes());
        self.sense(Sensed::Line(Line { utterance, is_over_cue: false }));
    }

    fn key(&mut self, code: KeyCode, with: KeyModifiers) {
        self.sense(Sensed::Key(KeyEvent::new(code, with)));
    }

    /// What is still to be heard, from now on.
    fn ahead(&self) -> Vec<&Cue> {
        self.plan.iter().filter(|cue| cue.due > self.now.0).collect()
    }

    fn screen(&self) -> String {
        let area = Rect::new(0, 0, 120, 30);
        let mut buf = Buffer::empty(area);
        self.hands.draw(self.now, &mut buf, area);
        (0..30).map(|y| (0..120).map(|x| buf[(x, y)].symbol()).collect::<String>() + "\n").collect()
    }
}

fn is_counting(stand: &Stand) -> bool {
    let offer = stand.run.offer(stand.now);
    matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Count { at_least: 25, .. }))
}

#[test]
fn strokes_are_ticked_or_counted_slower_on_request_and_not_at_all_on_another() {
    for (pace, words) in [(Pace::Tick, ""), (Pace::Count, "three")] {
        let mut heard = Heard::at("slump", Settings { pace, ..Settings::default() }, is_counting);
        heard.line(phrases::COUNT);
        let ahead = heard.ahead();
        let strokes: Vec<&&Cue> =
            ahead.iter().filter(|cue| cue.text.is_empty() || !cue.text.contains("left")).take(25).collect();
        assert_eq!(strokes.len(), 25);
        assert!(strokes[..24].iter().all(|cue| cue.tone == Some(Tone::Tick) && cue.class == Class::Hard));
        assert_eq!((strokes[24].tone, strokes[24].text.as_str()), (Some(Tone::Done), "twenty-five"));
        assert_eq!(strokes[2].text, words);
        let apart = strokes[1].due - strokes[0].due;
        assert_eq!(apart, 1_000, "the pace of the procedure");
        heard.wait(5_500);
        heard.line(phrases::SLOWER);
        let (next, after) = (heard.ahead()[0].due, heard.ahead()[1].due);
        assert_eq!(after - next, 1_200);
        assert_eq!(next - heard.now.0, 1_200, "the next stroke comes a slow stroke later");
        let left = heard.ahead().iter().filter(|cue| matches!(cue.tone, Some(Tone::Tick | Tone::Done))).count();
        assert!((20..=22).contains(&left), "those heard stay heard: {left} left");
        heard.line(phrases::SILENCE);
        assert!(heard.ahead().iter().all(|cue| cue.tone != Some(Tone::Tick)));
        assert!(heard.kept.is_empty(), "counting aloud is no act: {:?}", heard.kept);
    }
}

#[test]
fn the_last_seconds_of_a_wait_are_planned_and_forgotten_when_it_is_taken_back() {
    let mut heard = Heard::at("temperature", Settings::default(), |stand| {
        let offer = stand.run.offer(stand.now);
        offer.act == Act::Begin && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { .. }))
    });
    let countdown = |heard: &Heard| -> Vec<String> {
        let is_last = |cue: &&&Cue| matches!(cue.tone, Some(Tone::Tick | Tone::Done));
        heard.ahead().iter().filter(is_last).map(|cue| cue.text.clone()).collect()
    };
    assert!(countdown(&heard).is_empty(), "nothing runs yet");
    heard.key(KeyCode::Enter, KeyModifiers::NONE);
    let said = countdown(&heard);
    assert_eq!(said[..5], ["five", "four", "three", "two", "one"]);
    assert_eq!(said.len(), 6, "and the moment itself: {said:?}");
    heard.wait(3_000);
    heard.key(KeyCode::Char('u'), KeyModifiers::CONTROL);
    assert!(countdown(&heard).is_empty(), "what is taken back is not heard");
}

#[test]
fn an_inversion_is_ticked_and_its_limit_is_planned() {
    let mut heard = Heard::at("air-volumetric", Settings::default(), |stand| {
        let offer = stand.run.offer(stand.now);
        let turns = matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { turns: Some(_), .. }));
        turns && offer.act == Act::Begin
    });
    heard.key(KeyCode::Enter, KeyModifiers::NONE);
    let begun = heard.now.0;
    let at: Vec<u64> = heard.ahead().iter().map(|cue| cue.due - begun).take(5).collect();
    assert_eq!(at, [1_000, 2_000, 3_000, 4_000, 5_000]);
    let limit = heard.ahead()[4];
    assert!(limit.text.contains("upright"), "{limit:?}");
}

#[test]
fn muted_it_is_silent_at_once() {
    let mut heard = Heard::at("slump", Settings::default(), is_counting);
    heard.line(phrases::COUNT);
    heard.key(KeyCode::Char('t'), KeyModifiers::CONTROL);
    assert!(heard.is_hushed);
    heard.plan.clear();
    heard.wait(3_000);
    assert!(heard.plan.is_empty(), "and nothing is planned");
}

#[test]
fn a_wait_leads_on_by_itself_only_where_the_procedure_and_the_person_say_so() {
    for (goes_on, n) in [(false, 1), (true, 2)] {
        let mut heard = Heard::at("temperature", Settings { goes_on, ..Settings::default() }, |stand| {
            let offer = stand.run.offer(stand.now);
            offer.act == Act::Begin
                && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { goes_on: true, .. }))
        });
        heard.key(KeyCode::Enter, KeyModifiers::NONE);
        heard.wait(15 * 60_000);
        assert_eq!(heard.kept.len(), n, "{:?}", heard.kept);
    }
    // A person must look whether the concrete has come loose.
    let mut heard = Heard::at("air-volumetric", Settings { goes_on: true, ..Settings::default() }, |stand| {
        let offer = stand.run.offer(stand.now);
        offer.act == Act::Begin && matches!(offer.step, Some((_, step)) if matches!(step.wants, Wants::Hold { .. }))
    });
    heard.key(KeyCode::Enter, KeyModifiers::NONE);
    heard.wait(15 * 60_000);
    assert_eq!(heard.kept.len(), 1, "{:?}", heard.kept);
}

#[test]
fn what_is_lost_of_speaking_and_listening_stands_on_the_screen_until_it_is_back() {
    let mut heard = Heard::at("slump", Settings::default(), is_counting);
    assert!(!heard.screen().contains("sound-check"));
    heard.sense(Sensed::Mouth(Mouth::Tones("tones only: the speech program hangs".to_owned())));
    assert!(heard.screen().contains("tones only: “pourside sound-check” says why"));
    heard.sense(Sensed::Mouth(Mouth::Bell("bell only: the player ends with 1".to_owned())));
    assert!(heard.screen().contains("bell only"));
    let ear = |lost: Option<&str>| Ear { name: "program listen".to_owned(), lost: lost.map(str::to_owned) };
    heard.sense(Sensed::Ear(ear(Some("it has ended"))));
    assert!(heard.screen().contains("program listen: it has ended"));
    heard.sense(Sensed::Ear(ear(None)));
    heard.sense(Sensed::Mouth(Mouth::Speaks("again".to_owned())));
    let screen = heard.screen();
    assert!(!screen.contains("it has ended") && !screen.contains("bell only"), "{screen}");
    heard.key(KeyCode::Enter, KeyModifiers::NONE);
    assert_eq!(heard.kept.len(), 1, "and the run goes on");
}

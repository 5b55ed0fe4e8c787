//! The keys of pedals and clickers, in any order, wherever the screen stands: they never leave, end nothing, lose nothing.
//!
//! The keys are those of the measured devices: Page Up, Page Down, F5 and Esc of a clicker, "." and "b", Space and Enter.
//! Each test prints its seed; `POURSIDE_SEED` repeats it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

#[allow(dead_code, reason = "the desk serves other tests too")]
#[path = "bench/desk.rs"]
mod bench_desk;
#[allow(dead_code, reason = "the desk serves other tests too")]
#[path = "screen/desk.rs"]
mod desk;

use coach::screen::{BenchModel, Deed, Effect, Input, Model, update};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind};
use engine::{Event, Phase, Run, Tick};
use quantity::{System, Ties};

use desk::{Desk, moment};

/// Sequences that are tried, and the keys of each.
const SEQUENCES: u64 = 10_000;
const KEYS_EACH: u64 = 16;

const CLICKER: [KeyCode; 8] = [
    KeyCode::PageUp,
    KeyCode::PageDown,
    KeyCode::F(5),
    KeyCode::Esc,
    KeyCode::Char('.'),
    KeyCode::Char('b'),
    KeyCode::Enter,
    KeyCode::Char(' '),
];

/// Numbers that look like chance and can be repeated (xorshift).
struct Chance(u64);

impl Chance {
    fn new() -> Self {
        let told = std::env::var("POURSIDE_SEED").ok().and_then(|seed| seed.parse().ok());
        let seed = told.unwrap_or_else(|| u64::from(std::process::id()).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        println!("POURSIDE_SEED={seed}");
        Self(seed | 1)
    }

    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % n
    }

    fn key(&mut self) -> KeyEvent {
        let mut key = KeyEvent::from(CLICKER[self.below(CLICKER.len() as u64) as usize]);
        if self.below(12) == 0 {
            key.kind = KeyEventKind::Repeat;
        }
        key
    }

    /// Mostly as people press, sometimes a bounce, sometimes a long pause.
    fn pause(&mut self) -> u64 {
        match self.below(10) {
            0 => 40,
            1 => 70_000,
            _ => 200 + self.below(3_000),
        }
    }
}

fn at(step: &str) -> Desk {
    let mut desk = Desk::new();
    desk.go_to(step);
    desk
}

fn to_the_result(desk: &mut Desk) {
    for _ in 0..300 {
        if desk.model.run.phase() != Phase::AtStep {
            return;
        }
        desk.one_right_act();
    }
    panic!("no result");
}

/// The screen wherever a clicker may be pressed by mistake.
fn situations() -> Vec<(&'static str, Desk)> {
    let mut all = vec![("the first name", Desk::new())];
    let mut add = |name, desk: &mut Desk| {
        let kept = std::mem::replace(desk, Desk::new());
        all.push((name, kept));
    };
    add("a name half typed", Desk::new().keys("Mara L"));
    add("a number half typed", at("alcohol-amount").keys("3"));
    add("strokes half typed", at("strokes-1").keys("2"));
    add("an answer marked", at("pieces").press(KeyCode::Down));
    add("a hold running", at("roll").space());
    add("a reading half typed", at("settle").keys("5."));
    add("a second reading under way", at("settle").answer("5.5").answer("0.5"));
    for (name, key) in [("the help", '?'), ("the steps", 's'), ("what went wrong", 'x'), ("the readings", 'e')] {
        add(name, at("clamp").keys(&key.to_string()));
    }
    add("a remark half typed", at("clamp").keys("r").keys("wind from"));
    add("a discard half typed", at("clamp").keys("x").press(KeyCode::End).keys("9").keys("5"));
    let mut reason = at("clamp");
    reason.keys("x").press(KeyCode::PageDown).enter().keys("spilled");
    add("a reason for giving up half typed", &mut reason);
    let mut reason = at("clamp");
    reason.keys("x").press(KeyCode::PageDown).enter().keys("spilled").enter();
    add("giving up to be confirmed", &mut reason);
    add("an incident to be confirmed", at("clamp").keys("x").enter());
    add("a correction half typed", at("pieces").keys("e").enter().keys("4"));
    add("a folder half typed", at("clamp").keys("f").keys("/media"));
    add("leaving to be confirmed", at("alcohol-amount").keys("3q"));
    let mut refused = at("alcohol-amount");
    refused.answer("99");
    add("a refusal", &mut refused);
    let mut failing = at("clamp");
    failing.store_works = false;
    failing.space();
    add("nothing is recorded", &mut failing);
    failing = at("clamp");
    failing.store_works = false;
    failing.space().keys("q");
    add("leaving unrecorded to be confirmed", &mut failing);
    let mut ended = at("clamp");
    ended.keys("x").enter().keys("y");
    add("an attempt that has ended", &mut ended);
    let mut ended = at("clamp");
    ended.keys("x").enter().keys("y").keys("x").enter();
    add("closing without a result to be confirmed", &mut ended);
    let mut done = Desk::new();
    to_the_result(&mut done);
    add("a result", &mut done);
    let mut closed = Desk::new();
    to_the_result(&mut closed);
    closed.space();
    add("a closed run", &mut closed);
    all
}

/// What no key of a clicker may bring about: it takes `y`, and a clicker has none.
fn is_loss(event: &Event) -> bool {
    matches!(event, Event::Incident { .. } | Event::Discard { .. })
}

/// Presses a key and answers as a store that keeps everything; returns what was handed to it.
fn press(model: &mut Model, key: KeyEvent, now: Tick, why: &str) -> Vec<(Event, Tick)> {
    let mut kept = Vec::new();
    for effect in update(model, Input::Key(key), moment(now)) {
        match effect {
            Effect::Leave | Effect::Suspend => panic!("{why}: the program is left"),
            Effect::Keep { event, .. } => {
                assert!(!is_loss(&event), "{why}: {event:?}");
                kept.push((event, now));
            }
            _ => {}
        }
    }
    let entries = u64::from(model.run.n_accepted()) + 1;
    for _ in &kept {
        update(model, Input::Kept { entries }, moment(now));
    }
    kept
}

#[test]
fn ten_thousand_clicker_sequences_never_leave_and_never_lose_an_accepted_event() {
    let mut chance = Chance::new();
    let situations = situations();
    let mut n_kept = 0;
    for n in 0..SEQUENCES {
        let (name, desk) = &situations[(n % situations.len() as u64) as usize];
        let mut model = desk.model.clone();
        let mut again = model.run.clone();
        let mut now = desk.now;
        let was_without_result = again.phase() == Phase::Closed { with_result: false };
        for at in 0..KEYS_EACH {
            now = Tick(now.0 + chance.pause());
            let key = chance.key();
            let why = format!("sequence {n} ({name}), key {at}: {key:?}");
            let before = model.run.n_accepted();
            let kept = press(&mut model, key, now, &why);
            assert_eq!(before + kept.len() as u32, model.run.n_accepted(), "{why}: what is accepted is handed over");
            for (event, at) in kept {
                n_kept += 1;
                again.apply(event, moment(at)).unwrap_or_else(|refused| panic!("{why}: {refused}"));
            }
        }
        assert!(again.same_state(&model.run), "sequence {n} ({name}): what was handed over is the run");
        let is_without_result = model.run.phase() == Phase::Closed { with_result: false };
        assert_eq!(is_without_result, was_without_result, "sequence {n} ({name}) closed the run without its result");
    }
    assert!(n_kept > SEQUENCES, "the sequences do something: {n_kept} events");
}

/// The same over a bench: what it keeps for each of its runs is each run.
#[test]
fn clicker_sequences_over_a_bench_never_leave_and_never_lose_an_accepted_event() {
    let mut chance = Chance::new();
    let situations = bench_situations();
    let mut n_kept = 0;
    for n in 0..SEQUENCES {
        let (name, bench, start) = &situations[(n % situations.len() as u64) as usize];
        let mut bench: BenchModel = bench.clone();
        let mut now = *start;
        let mut again: Vec<Option<Run>> = bench.members().iter().map(|member| member.run().cloned()).collect();
        for at in 0..KEYS_EACH / 2 {
            now = Tick(now.0 + chance.pause());
            let key = chance.key();
            let why = format!("sequence {n} ({name}), key {at}: {key:?}");
            let mut waiting = vec![(None, Input::Key(key))];
            while let Some((run, input)) = waiting.pop() {
                let mut answers = Vec::new();
                for deed in bench.take(run, input, moment(now)) {
                    match deed {
                        Deed::Of(_, Effect::Leave | Effect::Suspend) => panic!("{why}: the program is left"),
                        Deed::Of(run, Effect::Keep { event, at, .. }) => {
                            assert!(!is_loss(&event), "{why}: {event:?}");
                            n_kept += 1;
                            let again = again[run].as_mut().unwrap();
                            again.apply(event, at).unwrap_or_else(|refused| panic!("{why}: {refused}"));
                            answers.push((Some(run), Input::Kept { entries: u64::from(again.n_accepted()) }));
                        }
                        Deed::Begin { run, at } => {
                            let edition = std::sync::Arc::clone(&bench.members()[run].edition);
                            again[run] = Some(Run::open(edition, Ties::Even, at));
                            answers.push((Some(run), Input::Begun { run: format!("run-{run}") }));
                        }
                        _ => {}
                    }
                }
                waiting.extend(answers.into_iter().rev());
            }
        }
        for (member, again) in bench.members().iter().zip(&again) {
            match (member.run(), again) {
                (Some(run), Some(again)) => assert!(again.same_state(run), "sequence {n} ({name}): {}", member.name),
                (run, again) => assert_eq!(run.is_some(), again.is_some(), "sequence {n} ({name}): {}", member.name),
            }
        }
    }
    assert!(n_kept > SEQUENCES, "the sequences do something: {n_kept} events");
}

fn bench_situations() -> Vec<(&'static str, BenchModel, Tick)> {
    use bench_desk::{CONE, Desk, PORTIONS, PROBE, SIX};
    const THREE: [(&str, &str); 3] = [("portions", PORTIONS), ("cone", CONE), ("probe", PROBE)];
    let mut all = Vec::new();
    let mut add = |name, desk: &Desk| all.push((name, desk.bench.clone(), desk.now));
    add("nothing begun", &Desk::new(&SIX));
    add("the sample is taken", &Desk::sampled(&SIX));
    add("a number half typed", Desk::sampled(&THREE).keys("2").go(2));
    let mut desk = Desk::sampled(&THREE);
    add("the overview", desk.press(KeyCode::BackTab));
    add("a remark half typed", desk.press(KeyCode::BackTab).go(2).keys("rwind"));
    add("leaving to be confirmed", Desk::sampled(&THREE).keys("2q"));
    let mut desk = Desk::sampled(&[("portions", PORTIONS), ("cone", CONE)]);
    desk.answer("2").space().space().space().space().space().answer("4").space();
    add("every test closed", &desk);
    all
}

// ---------------------------------------------------------------------------------------------- what Esc takes away

#[test]
fn escape_clears_what_is_typed_and_escape_again_brings_it_back() {
    for (step, typed) in [("technician", "Mara L"), ("alcohol-amount", "3.5"), ("strokes-1", "24"), ("settle", "7.75")]
    {
        let mut desk = Desk::new();
        desk.go_to(step).keys(typed);
        desk.sees(typed).press(KeyCode::Esc).sees("Cleared. Esc again brings it back.");
        let shown = desk.lines(120, 40)[..38].join(" ");
        assert!(!shown.contains(typed) || step == "strokes-1", "{step}: {shown}");
        desk.press(KeyCode::Esc).sees(typed).sees("It is back.");
        desk.press(KeyCode::Esc).press(KeyCode::Esc).sees(typed);
    }
}

#[test]
fn what_was_cleared_is_taken_as_if_it_had_stood_there_all_the_time() {
    let mut desk = at("alcohol-amount");
    desk.keys("3.5");
    let begun = desk.now;
    desk.wait(5_000);
    desk.press(KeyCode::Esc).press(KeyCode::Esc).take_effects();
    desk.enter();
    let seen = desk.take_effects().into_iter().find_map(|effect| match effect {
        Effect::Keep { event: Event::Answer { seen, .. }, .. } => Some(seen),
        _ => None,
    });
    assert_eq!(seen, Some(begun), "it was begun when it was first typed");
    // For the next question nothing comes back.
    desk.press(KeyCode::Esc);
    assert!(!desk.words().contains("It is back"));
}

#[test]
fn words_left_with_escape_stand_there_when_the_same_is_asked_again() {
    let mut desk = at("clamp");
    desk.keys("r").keys("wind from the river").press(KeyCode::Esc);
    desk.sees("What you typed is kept");
    assert!(desk.model.run.remarks().is_empty());
    // Another question has words of its own, and does not take these.
    desk.keys("f").keys("/media").press(KeyCode::Esc);
    desk.keys("r").sees("wind from the river").sees("your words from before").press(KeyCode::Esc);
    desk.keys("r").enter();
    assert_eq!(desk.model.run.remarks()[0].text, "wind from the river");
    desk.keys("r");
    assert!(!desk.words().contains("wind from the river_"), "said once");
    desk.press(KeyCode::Esc).keys("f");
    assert!(!desk.words().contains("/media"), "something was recorded since");
}

#[test]
fn a_reason_for_giving_up_outlives_the_question_whether_it_is_so() {
    for way_back in [KeyCode::Esc, KeyCode::Char('n')] {
        let mut desk = at("clamp");
        desk.keys("x").press(KeyCode::PageDown).enter().answer("the bowl leaks");
        desk.sees("“the bowl leaks”").press(way_back);
        desk.keys("x").press(KeyCode::PageDown).enter().sees("the bowl leaks").enter().keys("y");
        assert_eq!(desk.model.run.phase(), Phase::Ended);
        assert_eq!(desk.model.run.endings()[0].because, "the bowl leaks");
    }
}

#[test]
fn a_correction_left_with_escape_goes_on_where_it_was() {
    let mut desk = at("pieces");
    desk.keys("e").enter().keys("4").press(KeyCode::Esc);
    desk.sees("What you typed is kept").press(KeyCode::Esc).keys("e").enter();
    desk.keys(".0").sees("4.0");
}

#[test]
fn the_run_in_another_unit_system_is_left_by_no_pedal_either() {
    let mut desk = Desk::of(System::Si, coach::screen::Options::default());
    to_the_result(&mut desk);
    for code in CLICKER.into_iter().cycle().take(80) {
        desk.press(code);
    }
    let effects = desk.take_effects();
    assert!(!effects.contains(&Effect::Leave));
}

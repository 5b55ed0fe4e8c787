//! Pedals, three keys and one switch: every method to its end, presses in any order, what is offered is what happens.

use coach::screen::hands::choices::{Choice, Pick};
use coach::screen::hands::settings::Led;
use coach::screen::{Ear, Model, Mouth, Options, Sensed, Settings, Shown as _, ThemeChoice};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use engine::{Act, Entry, Event, Phase, Run, Tick};
use quantity::{System, Ties};

use super::person::{Means, Person, moment, specimen};
use super::room::{Chance, Happened, Room, Stand, editions, stands_of, with_lines};

const LEDS: [Led; 3] = [Led::Keys, Led::Clicker, Led::Switch];

const KEYS: [KeyCode; 8] = [
    KeyCode::PageUp,
    KeyCode::PageDown,
    KeyCode::Char('.'),
    KeyCode::Char('b'),
    KeyCode::F(5),
    KeyCode::Esc,
    KeyCode::Char(' '),
    KeyCode::Enter,
];

fn led(led: Led) -> Settings {
    Settings { led, speaks: true, ..Settings::default() }
}

// ---------------------------------------------------------------------------------------------- every method

#[test]
fn every_method_is_led_to_its_end_by_three_keys_and_by_one_switch_in_each_of_its_unit_systems() {
    let mut failed = Vec::new();
    let mut n_done = 0;
    for (method, system, edition) in editions() {
        for means in [Means::Clicker, Means::Switch] {
            let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                let run = Run::open(std::sync::Arc::clone(&edition), Ties::Even, moment(Tick(0)));
                let model = Model::new(run, moment(Tick(0)), Options::default());
                let mut person = Person::new(model, means, vec![Some(specimen(&edition, 7))]);
                person.perform();
                assert!(!person.has_left);
                assert_eq!(person.run().phase(), Phase::Closed { with_result: true });
                (person.n_pressed, person.now)
            }));
            match done {
                Ok((n, now)) => {
                    n_done += 1;
                    println!("{method} {system:?} {means:?}: {n} presses, {} min", now.0 / 60_000);
                }
                Err(why) => {
                    let text = why.downcast_ref::<String>().map_or("?", String::as_str);
                    failed
                        .push(format!("{method} {system:?} {means:?}: {}", text.chars().take(300).collect::<String>()));
                }
            }
        }
    }
    assert!(failed.is_empty(), "{n_done} done; {}", failed.join("\n"));
}

#[test]
fn every_number_reading_can_be_given_to_its_lowest_and_its_highest_mark_with_three_keys() {
    for (method, system, _) in editions() {
        let mut seen = std::collections::BTreeSet::new();
        for stand in stands_of(&method, system) {
            let Some(reading) = super::room::asked(&stand.run, stand.now) else { continue };
            let procedure::ReadingKind::Number(scale) = stand.run.edition().reading(reading).kind.clone() else {
                continue;
            };
            if !seen.insert(reading.0) {
                continue;
            }
            for value in [scale.min, scale.max] {
                let mut value = value;
                value.rescale(scale.places());
                let mut person = super::room::person_at(stand, Means::Clicker);
                person.number(value, "");
                let kept = person.run().taken().last().map(|taken| taken.entry.clone());
                // It may be refused by the procedure; then it says so.
                let is_kept = kept == Some(Entry::Number(value));
                let is_refused = person.transcript.iter().any(|line| line.contains("says Hard"));
                assert!(
                    is_kept || is_refused,
                    "{method} {system:?} {reading:?} {value}: {:?}",
                    person.transcript.last()
                );
            }
        }
    }
}

// ---------------------------------------------------------------------------------------------- bounce

#[test]
fn a_bounce_of_149_ms_is_no_press_and_one_of_150_ms_is() {
    for which in LEDS {
        for (gap, n) in [(149, 1), (150, 2)] {
            // Three positions follow one another by the same key.
            let mut room = Room::where_("slump", System::InchPound, led(which), |stand| {
                let acts = next_acts(stand, 2);
                acts.len() == 2 && acts.iter().all(|act| *act == Act::Confirm)
            });
            let from = room.log.len();
            room.key(KeyCode::PageDown);
            room.wait(gap);
            room.press(KeyCode::PageDown, KeyModifiers::NONE);
            assert_eq!(room.kept_since(from).len(), n, "{which:?} {gap} ms");
        }
    }
}

/// What is asked at a stand and after as many steps.
fn next_acts(stand: &Stand, n: usize) -> Vec<Act<'static>> {
    let stands = stands_of("slump", System::InchPound);
    let at = stands.iter().position(|other| other.run.n_accepted() == stand.run.n_accepted()).unwrap();
    let is_plain = |stand: &&Stand| {
        let offer = stand.run.offer(stand.now);
        matches!(offer.step, Some((_, step)) if matches!(step.wants, procedure::Wants::Act))
    };
    stands[at..].iter().take(n).filter(is_plain).map(|stand| stand.run.offer(stand.now).act.clone()).collect()
}

#[test]
fn a_held_key_and_a_release_are_no_presses() {
    for which in LEDS {
        let mut room = Room::where_("slump", System::InchPound, led(which), |stand| next_acts(stand, 2).len() == 2);
        let from = room.log.len();
        room.key(KeyCode::PageDown);
        for n in 0..40 {
            room.wait(40);
            let kind = if n % 2 == 0 { KeyEventKind::Repeat } else { KeyEventKind::Release };
            room.sense(Sensed::Key(KeyEvent::new_with_kind(KeyCode::PageDown, KeyModifiers::NONE, kind)));
        }
        assert_eq!(room.kept_since(from).len(), 1, "{which:?}");
    }
}

#[test]
fn no_answer_of_a_shipped_method_has_a_key_that_pedals_send() {
    for (method, system, edition) in editions() {
        for reading in &edition.readings {
            let procedure::ReadingKind::Choice(answers) = &reading.kind else { continue };
            let is_sent = |answer: &&procedure::Choice| matches!(answer.key, 'b' | '.' | ' ');
            let sent = answers.iter().find(is_sent);
            assert!(sent.is_none(), "{method} {system:?} {}: a blank key would answer {sent:?}", reading.id);
        }
    }
}

// ---------------------------------------------------------------------------------------------- any presses

/// Stands of every kind, with something open at the keyboard over some of them.
fn situations(chance: &mut Chance) -> Vec<Stand> {
    let mut all = Vec::new();
    for method in ["air-volumetric", "slump", "temperature", "density", "cylinders", "air-pressure"] {
        let stands = stands_of(method, System::InchPound);
        for _ in 0..8 {
            all.push(chance.of(stands).clone());
        }
        all.push(stands.last().unwrap().clone());
    }
    all
}

#[test]
fn ten_thousand_presses_in_any_order_never_leave_and_whatever_happened_can_be_taken_back() {
    const PRESSES: usize = 10_000;
    let mut chance = Chance(Chance::first_seed(77));
    let mut faults = Vec::new();
    for which in LEDS {
        let stands = situations(&mut chance);
        let each = PRESSES.div_ceil(stands.len());
        let (mut n_presses, mut n_kept, mut n_ended) = (0, 0, 0);
        for stand in &stands {
            let mut room = Room::at(stand, led(which));
            for _ in 0..each {
                let mut key = KeyEvent::from(*chance.of(&KEYS));
                if chance.is_in(8) {
                    key.kind = KeyEventKind::Repeat;
                }
                room.wait(match chance.below(10) {
                    0 => 40,
                    1 => 9_000,
                    _ => 200 + chance.below(2_500) as u64,
                });
                let from = room.log.len();
                let offered = room.hands.offered(room.now);
                let is_resting = room.hands.is_at_rest(room.now);
                room.sense(Sensed::Key(key));
                n_presses += 1;
                assert!(!room.has_left(), "{which:?}: it has left after {key:?}");
                let kept = room.kept_since(from);
                n_kept += kept.len();
                if let Err(fault) = judge(&kept, offered.as_ref(), is_resting, which) {
                    faults.push(fault);
                }
                n_ended += kept.iter().filter(|event| ends(event)).count();
            }
            let mut run = room.run().clone();
            // Until nothing is left that could be taken back, the run is whole.
            for _ in 0..20 {
                if !run.can_undo() {
                    break;
                }
                let before = run.clone();
                let now = moment(room.now);
                run.apply(Event::Undo, now).unwrap();
                let undone = run.clone();
                run.apply(Event::Redo, now).unwrap();
                assert!(run.same_state(&before), "what was taken back comes again");
                run = undone;
            }
        }
        println!("{which:?}: {n_presses} presses, {n_kept} events, {n_ended} of them ends");
        assert!(n_kept > 500, "{which:?}: only {n_kept} events");
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

fn ends(event: &Event) -> bool {
    matches!(event, Event::Incident { .. } | Event::Discard { .. } | Event::Close)
}

/// What was kept is what was offered at the press.
fn judge(kept: &[Event], offered: Option<&Choice>, is_resting: bool, which: Led) -> Result<(), String> {
    let Some(offered) = offered else { return Ok(()) };
    for event in kept {
        if is_resting && which == Led::Switch {
            return Err(format!("it was at rest, and {event:?} has happened"));
        }
        let is_it = match event {
            Event::Undo => offered.pick == Pick::Undo,
            Event::Redo => offered.pick == Pick::Redo,
            Event::Add { .. } => offered.pick == Pick::Add,
            // What was typed at the keyboard is taken as the next right thing.
            Event::Answer { .. } if offered.pick == Pick::Next => which == Led::Keys,
            Event::Answer { .. } | Event::Correct { .. } | Event::Remark { .. } => offered.pick == Pick::Take,
            Event::Count { .. } => matches!(offered.pick, Pick::Take | Pick::Next),
            Event::Incident { .. } | Event::Discard { .. } | Event::Close => offered.pick == Pick::EndForSure,
            Event::Begin { .. } | Event::Turn { .. } | Event::Again => offered.pick == Pick::Next,
            Event::Done { .. } => matches!(offered.pick, Pick::Next | Pick::Take | Pick::EndForSure),
            Event::Known { .. } => false,
        };
        if !is_it {
            return Err(format!("{which:?}: “{}” was offered, and {event:?} has happened", offered.label));
        }
    }
    Ok(())
}

#[test]
fn the_value_that_is_offered_at_the_press_is_the_value_that_is_kept() {
    let mut chance = Chance(Chance::first_seed(5));
    let mut n_kept = 0;
    for which in [Led::Clicker, Led::Switch] {
        for method in ["slump", "temperature", "air-volumetric", "density"] {
            for stand in stands_of(method, System::InchPound) {
                if super::room::asked(&stand.run, stand.now).is_none() || chance.is_in(30) {
                    continue;
                }
                let mut room = Room::at(stand, led(which));
                for _ in 0..60 {
                    room.wait(300 + chance.below(2_500) as u64);
                    let offered = room.hands.offered(room.now);
                    let is_resting = room.hands.is_at_rest(room.now);
                    let from = room.log.len();
                    room.press(
                        if chance.is_in(70) { KeyCode::PageDown } else { KeyCode::Char('.') },
                        KeyModifiers::NONE,
                    );
                    let kept = room.kept_since(from);
                    judge(&kept, offered.as_ref(), is_resting, which).unwrap();
                    let Some(Event::Answer { reading, entry, .. }) = kept.first() else { continue };
                    let shown = match (&room.run().edition().reading(*reading).kind, entry) {
                        (procedure::ReadingKind::Number(scale), Entry::Number(value)) => scale.show(value),
                        (procedure::ReadingKind::Choice(answers), Entry::Choice(n)) => {
                            answers[*n as usize].label.clone()
                        }
                        (_, Entry::Words(words)) => format!("“{words}”"),
                        (_, other) => panic!("{other:?}"),
                    };
                    assert_eq!(offered.unwrap().label, format!("take {shown}"));
                    n_kept += 1;
                    break;
                }
            }
        }
    }
    println!("{n_kept} values kept as offered");
    assert!(n_kept > 40, "only {n_kept}");
}

#[test]
fn a_press_at_the_moment_a_line_is_replaced_goes_to_the_line_that_stands_there() {
    // The list moves on at a moment the loop is woken for: a press at that very moment sees the next line.
    let mut room = Room::where_("slump", System::InchPound, led(Led::Switch), |stand| next_acts(stand, 2).len() == 2);
    for _ in 0..30 {
        let next = room.hands.next_change(room.now).unwrap();
        room.wait(next.0 - room.now.0);
        let offered = room.hands.offered(room.now);
        if room.hands.is_at_rest(room.now) {
            break;
        }
        if offered.as_ref().is_some_and(|offered| offered.pick == Pick::Undo) {
            let from = room.log.len();
            room.press(KeyCode::Char(' '), KeyModifiers::NONE);
            assert_eq!(room.kept_since(from), [Event::Undo]);
            return;
        }
    }
    panic!("undo is never offered");
}

#[test]
fn one_switch_rests_after_its_rounds_and_a_press_only_wakes_it() {
    let mut room = Room::where_("slump", System::InchPound, led(Led::Switch), |stand| next_acts(stand, 2).len() == 2);
    room.wait(120_000);
    assert!(room.hands.is_at_rest(room.now));
    let quiet = room.log.len();
    room.wait(3_600_000);
    assert!(room.said_since(quiet).is_empty(), "{:?}", room.said_since(quiet));
    room.key(KeyCode::Char(' '));
    assert!(room.kept_since(quiet).is_empty(), "a press at rest does nothing");
    room.key(KeyCode::Char(' '));
    assert_eq!(room.kept_since(quiet).len(), 1);
}

// ---------------------------------------------------------------------------------------------- what is drawn

/// Rooms with everything that this layer can show.
fn rooms(theme: ThemeChoice) -> Vec<(&'static str, Room<Model>)> {
    let mut all = Vec::new();
    let room = |stand: &Stand, settings: Settings| {
        let options = Options { theme, ..Options::default() };
        let model = Model::new(stand.run.clone(), moment(stand.now), options);
        Room::new(model, stand.now, Some(stand.specimen.clone()), settings)
    };
    let stands = stands_of("air-volumetric", System::InchPound);
    for (n, stand) in stands.iter().enumerate().step_by(13).chain([(0, stands.last().unwrap())]) {
        for which in LEDS {
            for far in [false, true] {
                let mut one = room(stand, Settings { far, listens: n % 2 == 0, ..led(which) });
                if n % 3 == 0 {
                    let lost = Ear { name: "FIFO words".to_owned(), lost: Some("it is gone: nobody reads".repeat(4)) };
                    one.sense(Sensed::Ear(lost));
                    one.sense(Sensed::Mouth(Mouth::Tones("no speech program is there".repeat(3))));
                }
                all.push((if far { "far" } else { "near" }, one));
            }
        }
        let mut question = room(stand, with_lines());
        question.line(&format!("remark {}", "a long remark with ünusual signs 水 ".repeat(5)));
        all.push(("question", question));
        let mut noise = room(stand, with_lines());
        noise.line("what did you say").line("talk on");
        all.push(("noise", noise));
    }
    all
}

#[test]
fn it_draws_at_every_size_without_a_panic_in_every_theme() {
    for theme in [ThemeChoice::Dark, ThemeChoice::Light, ThemeChoice::Mono] {
        for (what, room) in rooms(theme) {
            let sizes =
                (1..=120u16).step_by(7).flat_map(|width| (1..=50u16).step_by(7).map(move |height| (width, height)));
            let small = (1..=12u16).flat_map(|width| (1..=6u16).map(move |height| (width, height)));
            for (width, height) in sizes.chain(small).chain([(120, 50), (80, 24), (40, 10)]) {
                let text = room.screen(width, height);
                assert!(!text.is_empty(), "{what}");
            }
        }
    }
}

#[test]
fn what_is_offered_and_what_is_lost_stand_on_the_screen_without_colour() {
    for (what, room) in rooms(ThemeChoice::Mono) {
        let screen = room.screen(120, 30);
        if let Some(offered) = room.hands.offered(room.now).filter(|_| !room.hands.is_at_rest(room.now)) {
            let label: String = offered.label.chars().take(12).collect();
            // Seen from far away nothing else of the list is shown.
            let mark = if what == "far" { "NEXT  " } else { "▶ " };
            assert!(screen.contains(&format!("{mark}{label}")), "{what}: “{label}” in\n{screen}");
        }
        if what == "question" {
            assert!(screen.contains("READ BACK"), "{screen}");
        }
        if what == "noise" {
            assert!(screen.contains("LISTENING"), "{screen}");
        }
    }
    let stand = stands_of("slump", System::InchPound).first().unwrap();
    let mut room = Room::at(stand, with_lines());
    room.sense(Sensed::Ear(Ear { name: "FIFO words".to_owned(), lost: Some("gone".to_owned()) }));
    assert!(room.screen(100, 30).contains("FIFO words: gone"));
    room.sense(Sensed::Ear(Ear { name: "FIFO words".to_owned(), lost: None }));
    assert!(!room.screen(100, 30).contains("FIFO words: gone"));
    room.sense(Sensed::Mouth(Mouth::Bell("no player".to_owned())));
    assert!(room.screen(100, 30).contains("no player"));
}

#[test]
fn the_far_view_is_switched_by_each_means_and_back() {
    let stand = |stand: &Stand| next_acts(stand, 2).len() == 2;
    let far = |room: &Room<Model>| room.screen(80, 24);
    let mut room = Room::where_("slump", System::InchPound, with_lines(), stand);
    let near = far(&room);
    room.press(KeyCode::Char('v'), KeyModifiers::NONE);
    let wide = far(&room);
    assert_ne!(near, wide);
    room.press(KeyCode::Char('v'), KeyModifiers::NONE);
    assert_eq!(far(&room), near);
    for means in [Means::Clicker, Means::Switch] {
        let stands = stands_of("slump", System::InchPound);
        let mut person = super::room::person_at(stands.iter().find(|one| stand(one)).unwrap(), means);
        let before = person.run().n_accepted();
        person.choose(|choice| choice.pick == Pick::More);
        person.choose(|choice| choice.pick == Pick::Far);
        assert_eq!(person.run().n_accepted(), before);
        // And the next right thing is done from there.
        person.next();
        assert_eq!(person.run().n_accepted(), before + 1, "{means:?}");
    }
    let mut room = Room::where_("slump", System::InchPound, with_lines(), stand);
    room.press(KeyCode::Char('v'), KeyModifiers::NONE);
    let from = room.log.len();
    room.key(KeyCode::PageDown);
    assert!(room.log[from..].iter().any(|happened| matches!(happened, Happened::Kept(..))));
}

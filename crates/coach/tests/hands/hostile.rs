//! Lines that nobody means, and the words that are published: what they are, and that each of them does something.

use std::collections::BTreeSet;

use coach::screen::hands::choices::Pick;
use coach::screen::hands::phrases;
use coach::screen::{Model, Sensed, Settings};
use engine::Phase;
use hearing::Vocabulary;
use hearing::vocabulary::PHRASES_AT_MOST;
use procedure::ReadingKind;
use quantity::{Scale, System};

use super::room::{Chance, Room, Stand, asked, editions, stands_of, with_lines};

fn number_now(room: &Room<Model>) -> Option<Scale> {
    let reading = asked(room.run(), room.now)?;
    match &room.run().edition().reading(reading).kind {
        ReadingKind::Number(scale) => Some(scale.clone()),
        _ => None,
    }
}

/// The lists behind the first, each open: what went wrong, reasons, both questions before an end, corrections, a value
/// that is read back.
fn lists(stand: &Stand) -> Vec<(&'static str, Room<Model>)> {
    let ways: [(&str, &[&str]); 9] = [
        ("what else", &[phrases::MORE]),
        ("what went wrong", &[phrases::WRONG]),
        ("one that went wrong", &[phrases::WRONG, "reason one"]),
        ("an end", &[phrases::WRONG, "reason one", phrases::END]),
        ("reasons for an end", &[phrases::WRONG, "reason two"]),
        ("readings", &[phrases::CORRECT]),
        ("a right value", &[phrases::CORRECT, "reading one"]),
        ("another right value", &[phrases::CORRECT, "reading two"]),
        ("a remark", &["remark cold wind"]),
    ];
    let mut all = Vec::new();
    for (what, lines) in ways {
        let mut room = Room::at(stand, with_lines());
        for line in lines {
            room.line(line);
        }
        let is_open = room.hands.list(room.now).iter().any(|choice| matches!(choice.pick, Pick::Back | Pick::Take));
        let kept = room.kept_since(0);
        assert!(kept.is_empty(), "{what}: {kept:?}");
        if is_open {
            all.push((what, room));
        }
    }
    all
}

// ---------------------------------------------------------------------------------------------- hostile lines

/// Every kind of moment: a few of each method.
fn moments(chance: &mut Chance) -> Vec<Stand> {
    let mut all = Vec::new();
    for method in ["air-volumetric", "slump", "temperature", "density", "cylinders"] {
        let stands = stands_of(method, System::InchPound);
        let mut seen = BTreeSet::new();
        for stand in stands {
            let offer = stand.run.offer(stand.now);
            let act = format!("{:?}", offer.act).split(['(', ' ', '{']).next().unwrap().to_owned();
            let wants = offer.step.map(|(_, step)| format!("{:?}", step.wants));
            let wants = wants.unwrap_or_default().split(['(', ' ', '{']).next().unwrap().to_owned();
            if seen.insert((act, wants, format!("{:?}", stand.run.phase()))) || chance.is_in(5) {
                all.push(stand.clone());
            }
        }
    }
    all
}

/// What nobody means: the phrases of other moments and what is near them, numbers, long and strange texts.
fn hostile(chance: &mut Chance) -> Vec<u8> {
    const PHRASES: [&str; 24] = [
        phrases::DONE,
        phrases::BEGIN,
        phrases::TURN,
        phrases::STOP,
        phrases::ANOTHER,
        phrases::AGAIN,
        phrases::UNDO,
        phrases::REDO,
        phrases::CONFIRM,
        phrases::DENY,
        phrases::TIME,
        phrases::COUNT,
        phrases::ADD,
        phrases::WRONG,
        phrases::ANYWAY,
        phrases::CORRECT,
        phrases::FAR,
        phrases::LEAVE_IT,
        phrases::MORE,
        phrases::END,
        phrases::END_FOR_SURE,
        "reason one",
        "answer two",
        "reading three",
    ];
    let phrase = *chance.of(&PHRASES);
    match chance.below(16) {
        // One word too many, too few, twice, in another order, another word.
        0 => format!("{phrase} {phrase}").into_bytes(),
        1 => phrase.rsplit_once(' ').unwrap().0.as_bytes().to_vec(),
        2 => format!("the {phrase}").into_bytes(),
        3 => format!("{phrase} please").into_bytes(),
        4 => phrase.split(' ').rev().collect::<Vec<_>>().join(" ").into_bytes(),
        5 => format!("{phrase}s").into_bytes(),
        6 => phrase.replace(' ', "").into_bytes(),
        7 => format!("\x1b]0;{phrase}\x07").into_bytes(),
        8 => format!("{phrase}\x1b[2J\x1b[31m").into_bytes(),
        9 => vec![0xff; chance.below(300)],
        10 => (0..chance.below(700)).map(|_| 32 + u8::try_from(chance.below(95)).unwrap()).collect(),
        11 => (0..chance.below(60)).map(|_| u8::try_from(chance.below(256)).unwrap()).collect(),
        12 => format!("{phrase} {}", "very ".repeat(60)).into_bytes(),
        13 => format!("conf=9 {phrase}").into_bytes(),
        14 => format!("$(touch it); ../../{phrase} > it").into_bytes(),
        _ => format!("\u{202e}{phrase} \u{1f4a5}").into_bytes(),
    }
}

#[test]
fn ten_thousand_hostile_lines_do_nothing_at_any_kind_of_step() {
    const LINES: usize = 10_000;
    let mut chance = Chance(Chance::first_seed(4_000));
    let stands = moments(&mut chance);
    assert!(stands.len() > 40, "{} moments", stands.len());
    let each = LINES / stands.len();
    let (mut n_lines, mut n_moments) = (0, 0);
    let firsts = stands.iter().map(|stand| ("the first list", Room::at(stand, with_lines())));
    let behind = stands.iter().step_by(8).flat_map(lists);
    for (what, mut room) in firsts.chain(behind) {
        n_moments += 1;
        let before = room.run().clone();
        let n_not_before = n_lines;
        for _ in 0..each {
            let raw = hostile(&mut chance);
            let from = room.log.len();
            let is_over_cue = chance.is_in(10);
            room.line_now(&raw, is_over_cue);
            n_lines += 1;
            let words = String::from_utf8_lossy(&raw).into_owned();
            assert!(room.kept_since(from).is_empty(), "{words:?} has {:?}", room.kept_since(from));
            assert!(room.screen(80, 24).chars().all(|sign| !sign.is_control() || sign == '\n'), "{words:?}");
            if chance.is_in(10) {
                room.wait(50 + chance.below(400) as u64);
            }
        }
        assert!(!room.has_left());
        assert!(room.run().same_state(&before), "nothing has happened");
        // On the way to the other lists some lines may not have been understood.
        let n = n_lines - n_not_before;
        let screen = room.screen(120, 40);
        let counted = screen.split_once("NOT UNDERSTOOD (").and_then(|(_, rest)| rest.split_once(')'));
        let counted: usize = counted.unwrap().0.parse().unwrap();
        let on_the_way = counted.checked_sub(n);
        let is_right = if what == "the first list" { on_the_way == Some(0) } else { on_the_way.is_some_and(|n| n < 3) };
        assert!(is_right, "{what}: {n} lines, {counted} were counted");
    }
    println!("{n_lines} lines at {n_moments} moments");
    assert!(n_lines >= LINES);
}

#[test]
fn a_phrase_of_another_moment_and_a_number_where_none_is_asked_do_nothing() {
    let mut chance = Chance(Chance::first_seed(17));
    for stand in moments(&mut chance) {
        let mut room = Room::at(&stand, with_lines());
        let published = published_for(&mut room, false);
        let before = room.run().clone();
        for line in [
            phrases::END,
            phrases::END_FOR_SURE,
            phrases::CONFIRM,
            phrases::DENY,
            phrases::TURN,
            phrases::STOP,
            phrases::SILENCE,
            phrases::SLOWER,
            phrases::ANOTHER,
            "reason one",
            "reading one",
            "because it rains",
            "five and a quarter",
            "seventy two",
        ] {
            let is_number = published.contains("<number>") && line.contains("five and");
            let is_valid =
                published.lines().any(|phrase| phrase == line) || is_number || published.contains("<number>");
            if is_valid {
                continue;
            }
            let from = room.log.len();
            room.line(line);
            assert!(room.kept_since(from).is_empty(), "{line}: {:?}", room.kept_since(from));
        }
        assert!(room.run().same_state(&before));
    }
}

// ---------------------------------------------------------------------------------------------- the words published

/// The list published at this moment.
fn published_for(room: &mut Room<Model>, is_open: bool) -> String {
    if is_open {
        room.line_now(b"talk on", false);
    }
    room.sense(Sensed::Wake);
    room.published().map(|published| published.list.clone()).unwrap_or_default()
}

#[test]
fn the_words_published_are_few_told_apart_and_each_does_something_at_every_step_of_every_method() {
    let mut n_moments = 0;
    let mut n_phrases = 0;
    let mut faults = Vec::new();
    for (method, system, _) in editions() {
        let mut seen = BTreeSet::new();
        for stand in stands_of(&method, system) {
            let mut room = Room::at(stand, Settings { headset: true, ..with_lines() });
            let list = published_for(&mut room, false);
            // The same words at the same step need no second look.
            let step = stand.run.offer(stand.now).step.map(|(id, _)| id);
            if !seen.insert((step, list.clone())) {
                continue;
            }
            n_moments += 1;
            let closed = matches!(stand.run.phase(), Phase::Closed { .. });
            let jsgf = room.published().unwrap().jsgf.clone();
            let rules = jsgf.lines().filter(|line| line.contains('=')).count();
            if !(jsgf.starts_with("#JSGF") && rules > 0) {
                faults.push(format!("{method} {system:?} {step:?}: the grammar is empty: {jsgf}"));
            }
            let phrases: Vec<&str> = list.lines().filter(|line| !line.starts_with('<')).collect();
            let is_number = list.contains("<number>");
            let numbered = ["answer ", "entry ", "reason ", "reading ", "test "];
            let answers: Vec<String> = room
                .hands
                .list(room.now)
                .into_iter()
                .filter(|choice| matches!(choice.pick, Pick::Answer(_)))
                .flat_map(|choice| choice.phrases)
                .collect();
            let is_counted = |phrase: &&&str| {
                !numbered.iter().any(|noun| phrase.starts_with(noun)) && !answers.contains(&(**phrase).to_string())
            };
            let n = phrases.iter().filter(is_counted).count();
            let most = if is_number { 6 } else { PHRASES_AT_MOST };
            if n > most {
                faults.push(format!("{method} {system:?} {step:?}: {n} phrases, at most {most}: {phrases:?}"));
            }
            // The same looked at from the outside: no two alike, none a number, each long enough.
            let entries = phrases.iter().enumerate();
            let entries = entries
                .map(|(means, phrase)| hearing::vocabulary::Entry { means, phrases: vec![(*phrase).to_owned()] });
            let words = Vocabulary { entries: entries.collect(), number: number_now(&room) };
            if let Some(fault) = words.fault_but(|means| !is_counted(&&phrases[*means])) {
                faults.push(format!("{method} {system:?} {step:?}: {fault}"));
            }
            if closed {
                continue;
            }
            for phrase in &phrases {
                n_phrases += 1;
                let mut room = Room::at(stand, Settings { headset: true, ..with_lines() });
                room.line_now(b"talk on", false);
                let from = room.log.len();
                room.line_now(format!("src=mic {phrase}").as_bytes(), false);
                if room.said_since(from).iter().any(|text| text.starts_with("Not understood")) {
                    faults.push(format!("{method} {system:?} {step:?}: “{phrase}” is published and not understood"));
                }
            }
        }
    }
    println!("{n_moments} moments, {n_phrases} phrases said");
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn the_words_of_every_list_are_few_and_told_apart_too() {
    let ways_out = [phrases::LEAVE_IT, phrases::DENY];
    let mut chance = Chance(3);
    let mut faults = BTreeSet::new();
    let mut n_lists = 0;
    for stand in moments(&mut chance) {
        for (what, mut room) in lists(&stand) {
            n_lists += 1;
            room.sense(Sensed::Wake);
            let published = room.published().unwrap();
            let phrases: Vec<&str> = published.list.lines().filter(|line| !line.starts_with('<')).collect();
            let answers: Vec<String> = room
                .hands
                .list(room.now)
                .into_iter()
                .filter(|choice| matches!(choice.pick, Pick::Answer(_)))
                .flat_map(|choice| choice.phrases)
                .collect();
            let numbered = ["answer ", "entry ", "reason ", "reading ", "test "];
            let entries = phrases.iter().enumerate();
            let entries = entries
                .map(|(means, phrase)| hearing::vocabulary::Entry { means, phrases: vec![(*phrase).to_owned()] });
            let words = Vocabulary { entries: entries.collect(), number: None };
            let is_answer = |means: &usize| {
                numbered.iter().any(|noun| phrases[*means].starts_with(noun))
                    || answers.iter().any(|answer| answer == phrases[*means])
            };
            if let Some(fault) = words.fault_but(is_answer) {
                faults.insert(format!("{what}: {fault}"));
            }
            if !published.jsgf.contains('=') || phrases.is_empty() {
                faults.insert(format!("{what}: nothing can be said"));
            }
            let is_left = phrases.iter().any(|phrase| ways_out.contains(phrase));
            if !is_left {
                faults.insert(format!("{what}: it cannot be left: {phrases:?}"));
            }
        }
    }
    println!("{n_lists} lists");
    assert!(faults.is_empty(), "{faults:#?}");
}

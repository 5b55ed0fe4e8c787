//! What is asked of the shipped methods.
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::{deck, editions};
use practice::deck::Kind;
use practice::{Answer, Deck, Form, Help, Question, Slip, judge};

fn everything() -> Vec<Deck> {
    editions().iter().map(Deck::of).collect()
}

/// The places of the right choices.
fn right_places(question: &Question) -> Vec<usize> {
    (0..question.choices().len()).filter(|at| judge(question, &Answer::Choice(*at)).right).collect()
}

#[test]
fn every_item_of_every_method_makes_a_question_with_exactly_one_right_answer() {
    let mut n = 0;
    for deck in everything() {
        let keys: BTreeSet<&str> = deck.items().iter().map(|item| item.key.as_str()).collect();
        assert_eq!(keys.len(), deck.items().len(), "{}: each key once", deck.id);
        for item in deck.items() {
            for (help, is_told) in Help::ALL.into_iter().flat_map(|help| [(help, true), (help, false)]) {
                for seed in 0..4 {
                    let question = deck.question(item, help, is_told, seed);
                    assert!(!question.prompt.is_empty());
                    assert_eq!(question.stage.is_some(), help != Help::Nothing, "{}", item.key);
                    n += 1;
                    if let Form::Number(number) = &question.form {
                        let answer = judge(&question, &Answer::NotKnown).right_answer;
                        let typed = question.read(&answer).unwrap_or_else(|e| panic!("{} {answer}: {e}", item.key));
                        assert!(judge(&question, &typed).right, "{}: {answer}", item.key);
                        let about = question.about.clone().unwrap_or_default();
                        assert!(!about.contains(|c: char| c.is_ascii_digit()), "{}: {about}", item.key);
                        assert!(!number.unit.is_empty(), "{}", item.key);
                        continue;
                    }
                    let texts: BTreeSet<&str> = question.choices().iter().map(|choice| choice.text.as_str()).collect();
                    assert_eq!(texts.len(), question.choices().len(), "{}: no two alike", item.key);
                    assert_eq!(right_places(&question).len(), 1, "{}", item.key);
                    assert!(texts.len() >= 3, "{}: {texts:?}", item.key);
                    assert!(texts.iter().all(|text| !text.trim().is_empty()), "{}", item.key);
                }
            }
        }
    }
    assert!(n > 20_000, "{n}");
}

#[test]
fn right_answers_stand_anywhere_and_come_again_from_the_same_seed() {
    let deck = deck("slump");
    let lift = deck.find("slump/lift").expect("the lift");
    let mut places = BTreeMap::new();
    for seed in 0..400 {
        let question = deck.question(lift, Help::Nothing, true, seed);
        assert_eq!(question, deck.question(lift, Help::Nothing, true, seed));
        *places.entry(right_places(&question)[0]).or_insert(0) += 1;
    }
    assert_eq!(places.len(), 6);
    assert!(places.values().all(|n| (40..100).contains(n)), "{places:?}");
}

#[test]
fn steps_that_only_write_words_down_are_not_asked() {
    let deck = deck("slump");
    for key in ["slump/technician", "slump/job", "slump/sample", "slump/cone"] {
        assert!(deck.find(key).is_none(), "{key}");
    }
    assert!(deck.find("slump/cone-check").is_some());
}

#[test]
fn the_numbers_of_a_method_are_asked_by_their_keys() {
    let shown: BTreeMap<String, String> = ["slump", "air-volumetric", "air-pressure"]
        .into_iter()
        .flat_map(|id| {
            let deck = deck(id);
            let numbers: Vec<_> = deck.items().iter().filter(|item| item.kind == Kind::Number).cloned().collect();
            numbers
                .iter()
                .map(|item| {
                    let question = deck.question(item, Help::Nothing, true, 0);
                    (item.key.clone(), judge(&question, &Answer::NotKnown).right_answer)
                })
                .collect::<Vec<_>>()
        })
        .collect();
    for (key, answer) in [
        ("slump/strokes-1#count", "25 strokes"),
        ("slump/lift#least", "3 s"),
        ("slump/lift#most", "7 s"),
        ("slump/lift#limit:whole-test", "2 min 30 s"),
        ("slump/first-scoop#limit:start-of-test", "5 min"),
        ("slump/measure#graduation", "0.25 in"),
        ("air-volumetric/taps-1#least", "10 taps"),
        ("air-volumetric/taps-1#most", "15 taps"),
        ("air-volumetric/invert#least", "45 s"),
        ("air-volumetric/invert#down", "5 s"),
        ("air-volumetric/roll#every", "15 s"),
        ("air-volumetric/settle#settle-every", "2 min"),
        ("air-volumetric/settle#change", "0.25 %"),
        ("air-volumetric/settle#give-up", "6 min"),
    ] {
        assert_eq!(shown.get(key).map(String::as_str), Some(answer), "{key} in {shown:#?}");
    }
}

#[test]
fn a_wrong_act_is_named_and_explained_with_the_procedures_own_reason() {
    let deck = deck("air-pressure");
    let shut = deck.find("air-pressure/shut").expect("the petcocks");
    let mut seen = BTreeMap::new();
    for seed in 0..60 {
        let question = deck.question(shut, Help::Nothing, true, seed);
        for at in 0..question.choices().len() {
            let judged = judge(&question, &Answer::Choice(at));
            seen.insert(question.choices()[at].text.clone(), (judged.right, judged.slip, judged.because));
        }
    }
    let of = |id: &str| {
        let step = &deck.steps()[deck.step_named(id).expect("a step")];
        seen.get(&step.instruction).unwrap_or_else(|| panic!("{id} was never offered: {seen:#?}")).clone()
    };
    let slip = "The act most often left out: an open petcock lets the pressure go".to_owned();
    assert_eq!(of("shut"), (true, None, slip.clone()));
    let too_soon = "Both petcocks are closed before the main valve opens.".to_owned();
    assert_eq!(of("release"), (false, Some(Slip::Reversed), too_soon));
    assert_eq!(of("pump"), (false, Some(Slip::Repeated), slip));
    let question = deck.question(shut, Help::AfterTry, false, 1);
    assert_eq!(judge(&question, &Answer::NotKnown).slip, None);
    assert_eq!(question.after.len(), 2, "{:?}", question.after);
}

#[test]
fn the_act_after_the_one_due_is_always_among_the_choices_of_the_work() {
    // Who leaves an act out must be able to show it.
    let deck = deck("slump");
    let strokes = deck.find("slump/strokes-1").expect("the strokes");
    for seed in 0..40 {
        let question = deck.question(strokes, Help::StageOnly, false, seed);
        let skipped = question.choices().iter().position(|choice| choice.text.starts_with("Fill the second layer"));
        let at = skipped.unwrap_or_else(|| panic!("{question:#?}"));
        assert_eq!(judge(&question, &Answer::Choice(at)).slip, Some(Slip::Skipped));
    }
}

#[test]
fn what_may_follow_on_another_way_is_never_called_wrong() {
    // Rodded and vibrated concrete go on differently; a bowl that comes full from the scale has no slump to ask for; after
    // the taps of a layer that is not the last, the next layer follows.
    let deck = deck("air-pressure");
    let instruction = |id: &str| deck.steps()[deck.step_named(id).expect("a step")].instruction.clone();
    for (due, also) in [("strokes-first", "insertions"), ("slump", "begin"), ("proud", "layer")] {
        let item = deck.find(&format!("air-pressure/{due}")).expect("an act");
        for seed in 0..60 {
            let question = deck.question(item, Help::Nothing, true, seed);
            let texts: Vec<_> = question.choices().iter().map(|choice| choice.text.clone()).collect();
            assert!(!texts.contains(&instruction(also)), "{also} beside {due}: {texts:#?}");
        }
    }
}

#[test]
fn before_the_work_has_begun_a_neighbour_is_not_called_wrong() {
    let deck = deck("slump");
    let base = deck.find("slump/base").expect("the base");
    let wrong: BTreeSet<String> = (0..60)
        .flat_map(|seed| {
            let question = deck.question(base, Help::Nothing, true, seed);
            question.choices().iter().map(|choice| choice.text.clone()).collect::<Vec<_>>()
        })
        .collect();
    let pieces = &deck.steps()[deck.step_named("pieces").expect("a step")].instruction;
    assert!(!wrong.contains(pieces), "looking at the aggregate may well come before the base: {wrong:#?}");
}

#[test]
fn what_goes_wrong_is_asked_with_the_way_to_start_again() {
    let deck = deck("slump");
    let item = deck.find("slump/incident:moved").expect("the incident");
    let question = deck.question(item, Help::Nothing, true, 3);
    assert_eq!(question.about.as_deref(), Some("The mould moved, or concrete came out under it"));
    let judged = judge(&question, &Answer::NotKnown);
    assert_eq!(
        judged.right_answer,
        "Clean the mould and the base, take a fresh portion of the sample, and start again."
    );
    assert!(judged.because.starts_with("The mould did not stand still while it was filled"));
}

#[test]
fn what_a_person_is_asked_of_the_slump_reads_like_this() {
    let deck = deck("slump");
    let mut page = String::new();
    for (at, item) in deck.items().iter().enumerate() {
        let help = Help::ALL[1 + at % 3];
        let question = deck.question(item, help, true, 1);
        page += &format!("{} ({})\n", item.key, help.words());
        for (word, lines) in
            [("stage", question.stage.as_slice()), ("after", &question.after), ("given", &question.given)]
        {
            lines.iter().for_each(|line| page += &format!("  {word}: {line}\n"));
        }
        question.about.iter().for_each(|about| page += &format!("  {about}\n"));
        page += &format!("  {}\n", question.prompt);
        for at in 0..question.choices().len() {
            let judged = judge(&question, &Answer::Choice(at));
            let verdict = judged.slip.map_or("right", Slip::words);
            page += &format!("    - {} [{verdict}: {}]\n", question.choices()[at].text, judged.because);
        }
        if let Form::Number(number) = &question.form {
            let judged = judge(&question, &Answer::NotKnown);
            page += &format!("    ____ {} [{}: {}]\n", number.unit, judged.right_answer, judged.because);
        }
        page.push('\n');
    }
    insta::assert_snapshot!(page);
}

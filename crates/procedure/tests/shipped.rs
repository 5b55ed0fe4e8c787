//! The procedures in `procedures/` load without a fault, in every edition they state.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use procedure::{Consequence, Edition, Part, Procedure, ReadingKind, TermOf, Text, Wants, check, diagnose::render};
use quantity::{Exact, Span, System};

fn shipped() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");
    let mut found: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read_to_string(&path).unwrap()))
        .collect();
    found.sort();
    found
}

fn loaded(name: &str, text: &str) -> Procedure {
    let checked = check(name, text);
    assert!(checked.diagnostics.is_empty(), "\n{}", render(name, text, &checked.diagnostics, false));
    checked.procedure.unwrap()
}

fn air() -> Procedure {
    let all = shipped();
    let (name, text) = all.iter().find(|(name, _)| name == "air-volumetric.toml").unwrap();
    loaded(name, text)
}

fn exact(text: &str) -> Exact {
    text.parse().unwrap()
}

fn words(edition: &Edition, text: &Text) -> String {
    text.parts
        .iter()
        .map(|part| match part {
            Part::Plain(words) => words.clone(),
            Part::Reading(id) => format!("<{}>", edition.reading(*id).id),
            Part::Round => "<round>".to_owned(),
            Part::Was(id) => format!("<was {}>", edition.reading(*id).id),
            Part::Value(id) => format!("<{}>", edition.values[id.0 as usize].id),
        })
        .collect()
}

#[test]
fn every_shipped_procedure_loads_without_a_fault() {
    let all = shipped();
    assert!(!all.is_empty());
    for (name, text) in all {
        let procedure = loaded(&name, &text);
        assert_eq!(format!("{}.toml", procedure.id), name, "a file is named for its procedure");
        assert!(!procedure.editions.is_empty());
    }
}

#[test]
fn each_edition_states_its_own_values() {
    let air = air();
    let [inch_pound, si] = [System::InchPound, System::Si].map(|system| air.edition(system).unwrap());
    for (edition, volume, proud, last_row, unit) in
        [(inch_pound, "pt", "1/8 in", "5", "pt"), (si, "L", "3 mm", "2.4", "L")]
    {
        let alcohol = edition.reading(edition.reading_named("alcohol").unwrap());
        assert_eq!(alcohol.unit().symbol(), volume);
        let top = edition.step(edition.step_named("proud").unwrap());
        assert!(words(edition, &top.instruction).contains(proud), "{:?}", top.instruction);
        let table = &edition.tables[0];
        assert_eq!((table.input.symbol().as_str(), &table.rows.last().unwrap().0), (unit, &exact(last_row)));
    }
}

#[test]
fn figures_are_filled_in_and_readings_are_left_to_the_run() {
    let air = air();
    let edition = air.edition(System::InchPound).unwrap();
    let said = |step: &str| words(edition, &edition.step(edition.step_named(step).unwrap()).instruction);
    assert_eq!(said("strokes-1"), "Rod the first layer 25 times, through its depth, evenly over the area");
    assert_eq!(said("taps-1"), "Tap the sides smartly with the mallet, 10 to 15 times");
    assert_eq!(said("water-first"), "Pour in at least 1 pt of water through the funnel");
    assert_eq!(said("alcohol-in"), "Pour in the <alcohol> of alcohol");
    let again = edition.agains.iter().find(|again| again.id == "more-alcohol").unwrap();
    assert_eq!(
        words(edition, &again.change.as_ref().unwrap().because),
        "The attempt before was discarded with <was alcohol> of alcohol; this one needs more."
    );
}

#[test]
fn steps_take_their_limits_from_the_figures() {
    let air = air();
    let edition = air.edition(System::Si).unwrap();
    let wants = |step: &str| &edition.step(edition.step_named(step).unwrap()).wants;
    assert!(matches!(wants("strokes-1"), Wants::Count { at_least: 25, at_most: 25, pace: Some(Span(1000)), .. }));
    assert!(matches!(wants("taps-2"), Wants::Count { at_least: 10, at_most: 15, .. }));
    let Wants::Hold { at_least, at_most: None, turns: Some(turns), goes_on: false } = wants("invert") else {
        panic!("{:?}", wants("invert"))
    };
    assert_eq!((*at_least, turns.down_at_most), (Span::from_secs(45), Span::from_secs(5)));
    let Wants::Settle(settle) = wants("settle") else { panic!("{:?}", wants("settle")) };
    assert_eq!((settle.every, settle.give_up_after), (Span::from_secs(120), Span::from_secs(360)));
    assert_eq!(settle.change_at_most, exact("0.25"));
    let roll = edition.stages.iter().find(|stage| stage.id == "roll").unwrap();
    assert_eq!(roll.repeat.as_ref().map(|repeat| repeat.rounds_at_most()), Some(3));
    let Consequence::Back { to, at_most: 5, .. } = &edition.step(edition.step_named("heard").unwrap()).rules[0].then
    else {
        panic!("a way back")
    };
    assert_eq!(edition.step(*to).id, "invert");
}

#[test]
fn the_neck_keeps_its_decimals() {
    let air = air();
    let edition = air.edition(System::Si).unwrap();
    let ReadingKind::Number(neck) = &edition.reading(edition.reading_named("level").unwrap()).kind else {
        panic!("a number")
    };
    assert_eq!(
        (neck.min.to_string(), neck.max.to_string(), neck.step.to_string()),
        ("0.00".into(), "9.00".into(), "0.25".into())
    );
    assert_eq!(neck.read("3").unwrap().to_string(), "3.00");
}

#[test]
fn the_result_is_a_value_and_its_terms_are_named() {
    let air = air();
    for edition in &air.editions {
        let result = &edition.results[0];
        assert_eq!(edition.values[result.value.0 as usize].id, "air");
        assert_eq!(result.nearest, exact("0.25"));
        let signs: String = result.terms.iter().map(|term| term.sign).collect();
        assert_eq!(signs, "+-+");
        assert!(matches!(result.terms[0].what, TermOf::Reading(id) if edition.reading(id).id == "level"));
    }
}

#[test]
fn every_figure_can_be_followed_to_its_source() {
    for (name, text) in shipped() {
        for edition in loaded(&name, &text).editions {
            for figure in &edition.figures {
                assert!(!figure.cites.is_empty(), "{}", figure.id);
                assert!(figure.cites.iter().all(|cite| (cite.source as usize) < edition.sources.len()));
            }
        }
    }
}

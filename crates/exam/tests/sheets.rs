//! What is on a mark sheet, for every shipped method.
#![allow(clippy::unwrap_used, reason = "tests say what they expect by panicking")]

mod common;

use std::collections::BTreeSet;

use common::{Day, procedures, state};
use exam::Mark::{Done, Missed};
use exam::{MarkSheet, MethodRule, NoSheetWhy, PassRule, Told};
use quantity::{Span, System};

fn rule(id: &str, system: System) -> MethodRule {
    MethodRule {
        id: id.to_owned(),
        system,
        trials_at_most: 2,
        time_limit: None,
        pass: PassRule::EveryAct,
        told: Told::Nothing,
        critical: Vec::new(),
        leave_out: Vec::new(),
        ask_always: Vec::new(),
        mark_also: Vec::new(),
    }
}

#[test]
fn every_shipped_method_has_a_sheet_a_rater_can_read() {
    for procedure in procedures().values() {
        for edition in &procedure.editions {
            let sheet = MarkSheet::of(edition, &rule(&procedure.id, edition.system));
            let name = format!("{} {}", procedure.id, edition.system);
            assert!(sheet.items.len() >= 5, "{name}");
            let keys: BTreeSet<&str> = sheet.items.iter().map(|item| item.key.as_str()).collect();
            assert_eq!(keys.len(), sheet.items.len(), "{name}: a key is there once");
            for item in &sheet.items {
                assert!(!item.text.trim().is_empty() && !item.short.trim().is_empty(), "{name} {}", item.key);
                assert!(!item.text.contains('{'), "{name} {}: {}", item.key, item.text);
            }
            for window in &sheet.windows {
                assert!(window.from < window.to, "{name} {}", window.key);
            }
            let stages = sheet.stages();
            assert_eq!(stages.first().map(|stage| stage.1), Some(0));
            assert_eq!(stages.last().map(|stage| stage.2), Some(sheet.items.len()), "{name}");
            assert!(stages.windows(2).all(|pair| pair[0].2 == pair[1].1), "{name}: no act lies outside its stage");
        }
    }
}

#[test]
fn a_fixed_number_of_rounds_up_to_four_is_marked_round_by_round() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures/air-pressure.toml");
    let text = std::fs::read_to_string(path).unwrap();
    for (times, rounds) in [("3", Some(3)), ("layers", None), ("5", None)] {
        let written = text.replace("times = \"layers\", at_most = 3", &format!("times = \"{times}\", at_most = 6"));
        let checked = procedure::check("x", &written);
        let procedure = checked.procedure.unwrap_or_else(|| panic_with(&checked.diagnostics));
        let edition = procedure.edition(System::Si).unwrap();
        let sheet = MarkSheet::of(edition, &rule("air-pressure", System::Si));
        let layers: Vec<&str> =
            sheet.items.iter().filter(|item| item.step == "taps").map(|item| item.key.as_str()).collect();
        match rounds {
            Some(_) => assert_eq!(layers, ["taps", "taps@2", "taps@3"]),
            None => assert_eq!(layers, ["taps"], "{times}"),
        }
        let taps = &sheet.items[sheet.item("taps").unwrap()];
        assert_eq!(taps.repeats, rounds.is_none(), "{times}");
    }
}

#[expect(clippy::panic, reason = "the faults are what the reader of this test wants to see")]
fn panic_with(faults: &[procedure::Diagnostic]) -> ! {
    panic!("{faults:?}")
}

#[test]
fn what_can_be_timed_or_counted_says_how() {
    let edition = procedures()["air-volumetric"].edition(System::Si).unwrap();
    let sheet = MarkSheet::of(edition, &rule("air-volumetric", System::Si));
    let item = |key: &str| &sheet.items[sheet.item(key).unwrap()];
    let shake = item("invert").clock.as_ref().unwrap();
    assert_eq!((shake.at_least, shake.at_most), (Span::from_secs(45), None));
    assert_eq!((shake.down_at_most, shake.down.as_deref()), (Some(Span::from_secs(5)), Some("upside down")));
    let settle = item("settle").clock.as_ref().unwrap();
    assert!(settle.by_readings && settle.at_least == Span::from_secs(120));
    let strokes = item("strokes-1").count.as_ref().unwrap();
    assert_eq!((strokes.at_least, strokes.at_most, strokes.of.as_str()), (25, 25, "strokes"));
    assert!(item("roll").repeats && !item("invert").repeats);
}

#[test]
fn words_are_marked_only_if_the_exam_says_so() {
    let edition = procedures()["slump"].edition(System::Si).unwrap();
    let mut rule = rule("slump", System::Si);
    assert!(MarkSheet::of(edition, &rule).item("sample").is_none());
    rule.mark_also = vec!["sample".to_owned()];
    assert_eq!(MarkSheet::of(edition, &rule).item("sample"), Some(0));
    rule.leave_out = vec!["first-scoop".to_owned()];
    assert!(MarkSheet::of(edition, &rule).windows.is_empty(), "both windows hang on the first scoop");
}

#[test]
fn a_method_without_a_sheet_is_told() {
    let find = |id: &str| procedures().get(id);
    let exam = |lines: &str| {
        let text = format!("[exam]\ntitle = \"T\"\nsystem = \"inch-pound\"\n{lines}");
        exam::config::check("x", &text).exam.unwrap()
    };
    let faults = exam::sheets(&exam("[[method]]\nid = \"slmup\"\n[[method]]\nid = \"slump-en\"\n"), find).unwrap_err();
    assert_eq!(faults[0].why, NoSheetWhy::NoProcedure);
    assert_eq!(faults[1].why, NoSheetWhy::NoEdition(System::InchPound));
    let faults = exam::sheets(&exam("[[method]]\nid = \"slump\"\ncritical = [\"lfit\"]\n"), find).unwrap_err();
    assert_eq!(faults[0].to_string(), "slump: `critical` names `lfit`, and the procedure has no such step or limit");
}

#[test]
fn after_a_mark_the_next_act_without_one_is_offered() {
    let mut day = Day::new(state("", &[("sampling", "")], 1));
    let trial = day.begin("01", "sampling");
    let key = |day: &Day, after: Option<usize>| {
        let view = day.state.trial(&trial).unwrap();
        view.next_item(after).map(|at| view.sheet.items[at].key.clone())
    };
    let place = |day: &Day, key: &str| day.state.sheets()[0].item(key);
    assert_eq!(key(&day, None).as_deref(), Some("purpose"));
    day.mark(&trial, "mixer", Done).unwrap();
    let mixer = place(&day, "mixer");
    assert_eq!(key(&day, mixer).as_deref(), Some("specimens"), "one asked of some is offered in its turn");
    let weather = place(&day, "amount");
    assert_eq!(key(&day, weather).as_deref(), Some("purpose"), "from the top again");
    day.rest(&trial, Missed);
    assert_eq!(key(&day, weather), None, "acts asked of some only are not asked again from the top");
}

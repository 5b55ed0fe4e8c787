//! Undo, redo and corrections.

mod common;

use common::Technician;
use engine::{Event, FindingKind, Phase, Refused};

#[test]
fn undo_then_redo_is_the_identity_at_every_act_of_a_whole_run() {
    let mut tech = Technician::air();
    let mut n = 0;
    let mut agree = |tech: &mut Technician| {
        if tech.run.can_undo() {
            let before = tech.run.clone();
            tech.event(Event::Undo);
            assert!(!tech.run.same_state(&before), "undo takes something back");
            tech.event(Event::Redo);
            assert!(tech.run.same_state(&before), "undo then redo, act {n}");
            n += 1;
        }
    };
    while tech.run.phase() == Phase::AtStep {
        tech.as_it_should_be();
        agree(&mut tech);
    }
    assert!(n > 60, "a whole run has more acts than {n}");
}

#[test]
fn undo_all_the_way_leads_back_to_the_first_act() {
    let mut tech = Technician::air();
    let first = tech.run.clone();
    tech.settle(&["5.50", "5.25"], "0.50").settle(&["5.25", "5.25"], "0.25").finish();
    while tech.run.can_undo() {
        tech.event(Event::Undo);
    }
    assert!(tech.run.same_state(&first));
    assert_eq!(tech.try_event(Event::Undo), Err(Refused::NothingToUndo));
    while tech.run.can_redo() {
        tech.event(Event::Redo);
    }
    assert_eq!(tech.air_reported().1, "5.25 %");
}

#[test]
fn a_discard_by_mistake_can_be_taken_back() {
    let mut tech = Technician::air();
    tech.settle(&["5.25"], "0.00").event(Event::Discard { reason: "wrong key".into() });
    assert_eq!(tech.run.phase(), Phase::Ended);
    tech.event(Event::Undo);
    tech.wait(120).read("level", "5.25");
}

#[test]
fn a_correction_that_changes_no_way_only_changes_the_value_and_keeps_the_original() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.25"], "0.50").settle(&["5.25", "5.25"], "0.25").finish();
    let last =
        tech.run.taken().iter().rposition(|taken| tech.run.show(taken.reading, &taken.entry) == "5.25 %").unwrap();
    let seq = tech.run.taken()[last].seq;
    let (_, entry) = tech.entry("level", "5.50");
    tech.event(Event::Correct { seq, entry, reason: "read the upper edge of the meniscus".into() });
    assert_eq!(tech.run.phase(), Phase::Finished);
    assert_eq!(tech.air_reported().1, "5.50 %");
    let finding = tech.run.findings().last().unwrap();
    let FindingKind::Corrected { from, to, back_to, .. } = &finding.what else { unreachable!("{finding:?}") };
    assert_eq!((from.as_str(), to.as_str(), *back_to), ("5.25 %", "5.50 %", None));
    tech.event(Event::Undo);
    assert_eq!(tech.air_reported().1, "5.25 %");
    tech.event(Event::Redo);
    assert_eq!(tech.air_reported().1, "5.50 %");
}

#[test]
fn a_correction_that_leads_another_way_goes_back_to_the_fork_and_says_so() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.25"], "0.50").settle(&["5.25", "5.25"], "0.25").finish();
    let before = tech.run.clone();
    // The first round ends at 5.25; if its last reading was 4.00 the level had not stood still.
    let level = tech.run.edition().reading_named("level").unwrap();
    let seq = tech.run.taken().iter().filter(|taken| taken.reading == level).nth(1).unwrap().seq;
    let (_, entry) = tech.entry("level", "4.00");
    tech.event(Event::Correct { seq, entry, reason: "slip of the key".into() });
    assert_eq!((tech.run.phase(), tech.step_name().as_str()), (Phase::AtStep, "settle"));
    let FindingKind::Corrected { back_to, .. } = &tech.run.findings().last().unwrap().what else { unreachable!() };
    assert_eq!(*back_to, tech.run.edition().step_named("settle"));
    tech.event(Event::Undo);
    assert!(tech.run.same_state(&before), "a correction can be taken back whole");
}

#[test]
fn a_correction_that_opens_a_step_again_says_so_though_nothing_had_followed() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.50"], "0.00");
    assert_eq!(tech.step_name(), "cap-again");
    let level = tech.run.edition().reading_named("level").unwrap();
    let seq = tech.run.latest(level).unwrap().seq;
    let (_, entry) = tech.entry("level", "6.00");
    tech.event(Event::Correct { seq, entry, reason: "slip of the key".into() });
    assert_eq!(tech.step_name(), "settle");
    let FindingKind::Corrected { back_to, .. } = &tech.run.findings().last().unwrap().what else { unreachable!() };
    assert_eq!(*back_to, tech.run.edition().step_named("settle"));
}

#[test]
fn a_correction_needs_a_reason_a_mark_and_a_difference() {
    let mut tech = Technician::air();
    tech.settle(&["5.50"], "0.50");
    let seq = tech.run.taken().iter().rev().nth(1).unwrap().seq;
    let entry = |typed: &str| tech.entry("level", typed).1;
    let (same, off, other) = (entry("5.50"), entry("5.30"), entry("5.75"));
    let correct = |entry, reason: &str| Event::Correct { seq, entry, reason: reason.into() };
    assert_eq!(tech.try_event(correct(same, "why")), Err(Refused::SameValue));
    assert!(matches!(tech.try_event(correct(off, "why")), Err(Refused::NotAReading(_))));
    assert_eq!(tech.try_event(correct(other.clone(), "  ")), Err(Refused::NoReason));
    assert_eq!(
        tech.try_event(Event::Correct { seq: 9_999, entry: other, reason: "why".into() }),
        Err(Refused::NothingToCorrect)
    );
}

#[test]
fn a_correction_against_a_rule_is_refused_and_nothing_changes() {
    let mut tech = Technician::air();
    tech.up_to("alcohol-in");
    let before = tech.run.clone();
    let water = tech.run.edition().reading_named("water").unwrap();
    let seq = tech.run.latest(water).unwrap().seq;
    let (_, entry) = tech.entry("water", "0.50");
    let refused = tech.try_event(Event::Correct { seq, entry, reason: "misread".into() }).unwrap_err();
    assert_eq!(refused.to_string(), "At least 1 pt of water goes in before the alcohol.");
    assert!(tech.run.same_state(&before));
}

#[test]
fn two_corrections_and_what_followed_are_taken_back_one_by_one() {
    let mut tech = Technician::air();
    tech.up_to("alcohol-amount").read("alcohol", "2.50");
    let alcohol = tech.run.edition().reading_named("alcohol").unwrap();
    let seq = tech.run.latest(alcohol).unwrap().seq;
    let mut states = vec![tech.run.clone()];
    for amount in ["3.00", "3.50"] {
        let (_, entry) = tech.entry("alcohol", amount);
        tech.event(Event::Correct { seq, entry, reason: "poured again".into() });
        states.push(tech.run.clone());
        tech.wait(5);
        tech.as_it_should_be();
        states.push(tech.run.clone());
    }
    assert_eq!(tech.run.show(alcohol, &tech.run.latest(alcohol).unwrap().entry), "3.50 pt");
    for before in states.iter().rev().skip(1) {
        tech.event(Event::Undo);
        assert!(tech.run.same_state(before));
    }
    for after in states.iter().skip(1) {
        tech.event(Event::Redo);
        assert!(tech.run.same_state(after));
    }
}

#[test]
fn remarks_survive_a_correction_that_goes_back() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.25"], "0.50").event(Event::Remark { text: "Rain began".into() });
    let level = tech.run.edition().reading_named("level").unwrap();
    let seq = tech.run.taken().iter().find(|taken| taken.reading == level).unwrap().seq;
    let (_, entry) = tech.entry("level", "4.00");
    tech.event(Event::Correct { seq, entry, reason: "slip".into() });
    assert_eq!(tech.step_name(), "settle");
    assert_eq!(tech.run.remarks().len(), 1);
}

#[test]
fn time_never_runs_backwards() {
    let mut tech = Technician::air();
    tech.up_to("layer-1");
    tech.now_ms -= 2_000;
    assert!(matches!(
        tech.try_event(tech.run.press(engine::Tick(tech.now_ms)).unwrap()),
        Err(Refused::TimeRanBack { .. })
    ));
}

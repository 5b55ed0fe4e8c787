//! The volumetric air test from the first act to its end, and every way it can end otherwise.

mod common;

use common::{Technician, air};
use engine::{Act, ClockOf, Event, FindingKind, Phase, Refused, Status, Tick};
use procedure::EndingKind;
use quantity::{Span, System};

#[test]
fn a_plain_run_reports_the_final_reading_when_little_alcohol_was_used() {
    for system in [System::InchPound, System::Si] {
        let mut tech = Technician::new(air(system));
        tech.settle(&["5.50", "5.25"], "0.50").settle(&["5.25", "5.25"], "0.25").finish();
        assert_eq!(tech.run.phase(), Phase::Finished);
        // 1.50 pt (0.70 L) is below the threshold: A = 5.25 − 0 + 0.
        assert_eq!(tech.air_reported(), ("5.25".into(), "5.25 %".into()), "{system}");
        assert!(tech.run.findings().is_empty(), "{:?}", tech.run.findings());
    }
}

#[test]
fn cups_and_correction_enter_the_sum_once_and_it_is_rounded_once() {
    let mut tech = Technician::air();
    tech.up_to("alcohol-amount").read("alcohol", "2.50");
    tech.up_to("settle").add_cup().add_cup();
    tech.read("level", "8.50").read("foam", "0.00").wait(120).read("level", "8.25").read("foam", "0.00");
    tech.settle(&["8.25", "8.25"], "0.00").finish();
    // A = 8.25 − 0.15 + 2 × 1 = 10.10, to the nearest 0.25: 10.00.
    assert_eq!(tech.air_reported(), ("10.1".into(), "10.00 %".into()));
    let results = tech.run.results();
    let terms: Vec<_> = results[0].terms.iter().map(|term| (term.term.sign, term.value.show_exact())).collect();
    assert_eq!(terms, [('+', "8.25".into()), ('-', "0.15".into()), ('+', "2".into())]);
}

#[test]
fn the_third_roll_is_compared_with_the_second_and_not_with_the_first() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.50"], "0.00").settle(&["6.00", "6.00"], "0.00");
    assert_eq!(tech.run.offer(Tick(tech.now_ms)).round, 3);
    tech.settle(&["6.25", "6.25"], "0.00").finish();
    assert_eq!(tech.air_reported().1, "6.25 %");
}

#[test]
fn three_rolls_that_never_agree_discard_the_test_with_more_alcohol() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.50"], "0.00").settle(&["6.00", "6.00"], "0.00").settle(&["6.50", "6.50"], "0.00");
    assert_eq!(tech.run.phase(), Phase::Ended);
    let ended = &tech.run.endings()[0];
    assert_eq!(ended.kind, EndingKind::Discard);
    assert!(ended.because.contains("Three rollings"), "{}", ended.because);
}

#[test]
fn foam_over_two_points_discards_and_the_next_attempt_asks_for_more_alcohol() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.50"], "2.25");
    assert_eq!(tech.run.phase(), Phase::Ended);
    tech.wait(60).press();
    assert_eq!(tech.run.attempt(), 2);
    assert_eq!(tech.step_name(), "alcohol-amount");
    // What was read before the alcohol is carried over, the reading itself is not.
    assert_eq!(tech.run.status(tech.run.edition().step_named("job").unwrap()), Status::Carried);
    assert!(tech.run.latest(tech.run.edition().reading_named("alcohol").unwrap()).is_none());
    let refused = tech.try_read("alcohol", "1.50").unwrap_err();
    assert_eq!(refused.to_string(), "The attempt before was discarded with 1.50 pt of alcohol; this one needs more.");
    tech.read("alcohol", "2.00").settle(&["5.50", "5.50"], "2.00").settle(&["5.50", "5.50"], "0.00").finish();
    assert_eq!(tech.air_reported().1, "5.50 %");
    assert_eq!(tech.run.endings().len(), 1, "the discarded attempt keeps its record");
}

#[test]
fn foam_of_exactly_two_points_is_allowed() {
    let mut tech = Technician::air();
    tech.settle(&["5.50", "5.50"], "2.00");
    assert_eq!(tech.run.phase(), Phase::AtStep);
    assert_eq!(tech.step_name(), "cap-again");
}

#[test]
fn a_level_that_does_not_stand_still_within_six_minutes_is_given_up() {
    let mut tech = Technician::air();
    tech.settle(&["4.00", "4.50", "5.00", "5.50"], "0.00");
    // Readings at 0, 2, 4 and 6 minutes, each 0.50 from the one before.
    let due = tech.run.offer(Tick(tech.now_ms));
    assert!(matches!(due.act, Act::GiveUp(_)), "{:?}", due.act);
    assert!(matches!(tech.try_read("level", "5.50"), Err(Refused::TooLate { .. })));
    tech.press();
    assert_eq!(tech.run.endings()[0].because, "The level did not settle within 6 minutes");
}

#[test]
fn a_reading_begun_before_six_minutes_counts_though_it_was_typed_after() {
    let mut tech = Technician::air();
    tech.up_to("settle");
    let opened = tech.now_ms;
    tech.read("level", "4.00").read("foam", "0.00");
    tech.now_ms = opened + 363_000;
    let mut event = tech.answer_event("level", "4.25");
    let Event::Answer { seen, .. } = &mut event else { unreachable!("an answer") };
    *seen = Tick(opened + 359_000);
    tech.event(event).read("foam", "0.00");
    assert_eq!(tech.step_name(), "cap-again");
}

#[test]
fn readings_too_close_together_are_refused_with_what_is_left() {
    let mut tech = Technician::air();
    tech.settle(&["4.00"], "0.00").wait(102);
    let refused = tech.try_read("level", "4.00").unwrap_err();
    assert_eq!(refused.to_string(), "18 s to go: the time between two readings takes at least 2 min.");
    tech.wait(18).read("level", "4.00").read("foam", "0.00");
    assert_eq!(tech.step_name(), "cap-again");
}

#[test]
fn undisturbed_concrete_in_the_bowl_voids_the_test() {
    let mut tech = Technician::air();
    tech.settle(&["5.25", "5.25"], "0.00").settle(&["5.25", "5.25"], "0.00").up_to("inspect").read("packed", "yes");
    assert_eq!(tech.run.endings()[0].kind, EndingKind::Void);
    assert!(tech.run.results().is_empty());
    tech.press();
    assert_eq!((tech.run.attempt(), tech.step_name().as_str()), (2, "alcohol-amount"));
    // A fresh start asks for no change.
    tech.read("alcohol", "1.50");
}

#[test]
fn the_funnel_stays_in_until_the_liquid_shows() {
    let mut tech = Technician::air();
    tech.up_to("water-up");
    assert_eq!(
        tech.done_named("funnel-out").unwrap_err().to_string(),
        "The funnel stays in until the liquid shows in the neck."
    );
    let refused = tech.try_read("in_neck", "no").unwrap_err();
    assert!(refused.to_string().contains("Go on adding water"), "{refused}");
    tech.read("in_neck", "yes");
    assert_eq!(tech.step_name(), "funnel-out");
}

#[test]
fn less_than_the_least_water_is_refused_in_the_edition_s_own_units() {
    for (system, little, text) in [
        (System::InchPound, "0.75", "At least 1 pt of water goes in before the alcohol."),
        (System::Si, "0.4", "At least 0.5 L of water goes in before the alcohol."),
    ] {
        let mut tech = Technician::new(air(system));
        tech.up_to("water-first");
        assert_eq!(tech.try_read("water", little).unwrap_err().to_string(), text);
    }
}

#[test]
fn counts_must_be_as_asked() {
    let mut tech = Technician::air();
    tech.up_to("strokes-1");
    let step = tech.step();
    tech.event(Event::Count { step, n: 23 });
    let refused = tech.done_named("strokes-1").unwrap_err();
    assert_eq!(refused.to_string(), "23 strokes given, 25 asked: 2 to go.");
    tech.event(Event::Count { step, n: 26 });
    let refused = tech.done_named("strokes-1").unwrap_err();
    assert_eq!(refused.to_string(), "26 strokes given, 25 asked: too many cannot be taken out again.");
    assert!(refused.may_be_overruled());
    tech.event(Event::Done { step, despite: Some("one stroke only touched the rim".into()) });
    assert!(matches!(&tech.run.findings()[0].what, FindingKind::Overruled { reason, .. } if reason.contains("rim")));
    assert_eq!(tech.step_name(), "taps-1");
}

#[test]
fn inverting_must_last_and_end_upright_and_a_long_inversion_is_noted() {
    let mut tech = Technician::air();
    tech.up_to("invert").press();
    let step = tech.step();
    assert_eq!(
        tech.run
            .clocks(Tick(tech.now_ms))
            .find(|clock| clock.of == ClockOf::Down)
            .map(|clock| clock.due.0 - tech.now_ms),
        Some(5_000)
    );
    assert_eq!(tech.done_named("invert").unwrap_err().to_string(), "It is still upside down: bring it upright first.");
    tech.wait(5).press();
    assert!(tech.run.findings().is_empty(), "5 s exactly is allowed");
    assert_eq!(
        tech.done_named("invert").unwrap_err().to_string(),
        "40 s to go: free the concrete takes at least 45 s."
    );
    tech.wait(2).press().wait(6).press();
    assert!(matches!(&tech.run.findings()[0].what, FindingKind::DownTooLong { lasted: Span(6_000), text }
            if text == "The meter was upside down for more than 5 s at one time"));
    tech.wait(32);
    tech.event(Event::Done { step, despite: None });
    let passed = tech.run.passed().last().unwrap();
    assert_eq!((passed.n_turns, passed.longest_down), (2, Span(6_000)));
}

#[test]
fn concrete_that_is_not_free_is_inverted_again_but_not_for_ever() {
    let mut tech = Technician::air();
    for _ in 0..5 {
        tech.up_to("heard").read("heard", "no");
        assert_eq!(tech.step_name(), "invert");
    }
    tech.up_to("heard").read("heard", "no");
    assert_eq!(tech.run.endings()[0].because, "The concrete did not come free of the bowl");
}

#[test]
fn rolling_reminds_of_the_turn_of_the_base_and_cannot_end_early() {
    let mut tech = Technician::air();
    tech.up_to("roll").press();
    let begun = tech.now_ms;
    assert_eq!(tech.run.next_wake(Tick(begun)), Some(Tick(begun + 15_000)));
    tech.wait(42);
    assert_eq!(tech.run.next_wake(Tick(tech.now_ms)), Some(Tick(begun + 45_000)));
    let refused = tech.done_named("roll").unwrap_err();
    assert_eq!(refused.to_string(), "18 s to go: roll and settle takes at least 1 min.");
    tech.wait(18);
    tech.done_named("roll").unwrap();
}

#[test]
fn a_leak_ends_the_attempt_only_where_it_can_happen() {
    let mut tech = Technician::air();
    let leak = tech.run.edition().incidents.iter().position(|incident| incident.id == "leak").unwrap() as u16;
    assert_eq!(tech.try_event(Event::Incident { incident: leak }), Err(Refused::NoIncidentHere));
    tech.up_to("roll").event(Event::Incident { incident: leak });
    assert_eq!(tech.run.phase(), Phase::Ended);
}

#[test]
fn a_late_start_is_a_finding_and_the_test_goes_on() {
    let mut tech = Technician::air();
    tech.up_to("layer-1").wait(300).press();
    assert!(
        matches!(&tech.run.findings()[0].what, FindingKind::Late { took, .. } if took.0 > 300_000),
        "{:?}",
        tech.run.findings()
    );
    assert_eq!(tech.run.phase(), Phase::AtStep);
}

#[test]
fn a_cup_out_of_tolerance_and_a_small_bowl_are_refused_and_a_wrong_bottle_is_noted() {
    let mut tech = Technician::air();
    tech.up_to("bowl-volume");
    assert!(tech.try_read("bowl", "0.0749").unwrap_err().to_string().contains("at least 0.075 ft³"));
    tech.read("bowl", "0.0750").read("standardized", "no");
    assert!(matches!(&tech.run.findings()[0].what, FindingKind::Rule { text } if text.contains("overdue")));
    for cup in ["0.95", "1.05"] {
        assert!(tech.try_read("cup", cup).unwrap_err().to_string().contains("1.00 % ± 0.04 %"));
    }
    tech.read("cup", "1.04").read("strength", "91");
    assert_eq!(tech.run.findings().len(), 2);
}

#[test]
fn only_a_mark_of_the_instrument_is_a_reading() {
    let mut tech = Technician::air();
    tech.up_to("settle");
    assert!(tech.try_read("level", "5.3").unwrap_err().to_string().contains("5.25 or 5.50"));
    assert!(tech.try_read("level", "9.25").unwrap_err().to_string().contains("off the scale"));
    assert!(matches!(tech.try_read("foam", "0.50"), Err(Refused::WrongKind { .. })), "level comes first");
}

#[test]
fn more_alcohol_than_the_table_covers_is_refused() {
    let mut tech = Technician::air();
    tech.up_to("alcohol-amount");
    assert!(tech.try_read("alcohol", "5.05").unwrap_err().to_string().contains("off the scale"));
    tech.read("alcohol", "5.00");
}

#[test]
fn a_closed_run_takes_nothing_more() {
    let mut tech = Technician::air();
    tech.settle(&["5.25", "5.25"], "0.00").settle(&["5.25", "5.25"], "0.00").finish();
    tech.press();
    assert_eq!(tech.run.phase(), Phase::Closed { with_result: true });
    assert_eq!(tech.air_reported().1, "5.25 %", "the result stays readable");
    assert_eq!(tech.try_event(Event::Again), Err(Refused::RunClosed));
    assert_eq!(tech.run.next_wake(Tick(tech.now_ms)), None);
}

#[test]
fn the_terms_of_the_report_add_up_to_the_exact_value() {
    for (alcohol, n_cups, level) in [("1.50", 0, "5.25"), ("2.50", 1, "9.00"), ("3.35", 3, "0.25"), ("5.00", 0, "0.00")]
    {
        let mut tech = Technician::air();
        tech.up_to("alcohol-amount").read("alcohol", alcohol).up_to("settle");
        for _ in 0..n_cups {
            tech.add_cup();
        }
        tech.settle(&[level, level], "0.00").settle(&[level, level], "0.00").finish();
        let results = tech.run.results();
        let sum = results[0].terms.iter().fold(quantity::Exact::zero(), |sum, term| match term.term.sign {
            '-' => &sum - &term.value,
            _ => &sum + &term.value,
        });
        assert_eq!(sum, results[0].reported.exact, "{alcohol} pt, {n_cups} cups, {level} %");
    }
}

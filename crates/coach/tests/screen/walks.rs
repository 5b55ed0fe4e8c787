//! The whole method by keys alone, down every branch.

use coach::screen::Effect;
use crossterm::event::KeyCode;
use engine::{Event, FindingKind, Phase};

use crate::desk::Desk;

/// Right acts until the attempt is over; on every screen something can be done next.
fn to_the_end(desk: &mut Desk) {
    for _ in 0..300 {
        if desk.model.run.phase() != Phase::AtStep {
            return;
        }
        desk.one_right_act();
        let next = desk.lines(80, 24)[22].clone();
        assert!(next.trim().len() > 7, "the big key says what it does: {next:?}");
    }
    panic!("the attempt never ended");
}

fn result(desk: &Desk) -> (String, String) {
    let results = desk.model.run.results();
    let reported = &results.first().expect("there is a result").reported;
    (reported.exact.show_exact(), reported.to_string())
}

/// One settling at `level` with `foam`, steady at the second reading.
fn settle(desk: &mut Desk, level: &str, foam: &str) {
    assert_eq!(desk.step(), "settle");
    desk.answer(level).answer(foam);
    desk.wait(120_000);
    desk.answer(level).answer(foam);
}

#[test]
fn the_whole_method_by_keys_alone_gives_the_hand_calculation() {
    let mut desk = Desk::new();
    to_the_end(&mut desk);
    // 5.50 level, no cups; 3.5 pt of alcohol lie half-way between 3.0 (0.3) and 4.0 (0.6): 5.50 - 0.45 = 5.05.
    assert_eq!(result(&desk), ("5.05".to_owned(), "5.00 %".to_owned()));
    desk.sees("AIR CONTENT").sees("+ Final meter reading 5.50 %").sees("− Correction for the alcohol 0.45 %");
    desk.sees("= exactly 5.05 %").sees("5.00 %").sees("pourside report pier-4");
    assert!(desk.model.run.findings().is_empty(), "{:?}", desk.model.run.findings());
    desk.space();
    assert_eq!(desk.model.run.phase(), Phase::Closed { with_result: true });
    desk.take_effects();
    // A pedal goes on pressing the same key: it never leaves.
    desk.space().enter().press(KeyCode::PageDown);
    assert_eq!(desk.take_effects(), []);
    desk.sees("The run is closed: q leaves.").keys("q");
    assert_eq!(desk.take_effects(), [Effect::Leave]);
}

#[test]
fn the_edition_in_si_units_has_its_own_figures() {
    let mut desk = Desk::of(quantity::System::Si, coach::screen::Options::default());
    to_the_end(&mut desk);
    // 1.65 L of alcohol lie half-way between 1.4 (0.3) and 1.9 (0.6): 5.50 - 0.45.
    assert_eq!(result(&desk), ("5.05".to_owned(), "5.00 %".to_owned()));
    desk.sees("· SI ·");
}

#[test]
fn every_accepted_act_is_handed_to_the_store_once_and_replays_to_the_same_run() {
    let mut desk = Desk::new();
    to_the_end(&mut desk);
    let mut again = engine::Run::open(
        crate::desk::edition(quantity::System::InchPound),
        quantity::Ties::Even,
        crate::desk::moment(engine::Tick(0)),
    );
    for effect in desk.take_effects() {
        if let Effect::Keep { event, at, .. } = effect {
            again.apply(event, at).expect("what was kept was accepted");
        }
    }
    assert!(again.same_state(&desk.model.run));
    assert_eq!(again.n_accepted(), desk.model.run.n_accepted());
}

#[test]
fn foam_at_the_steady_level_discards_and_the_next_attempt_needs_more_alcohol() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    settle(&mut desk, "5.5", "2.25");
    assert_eq!(desk.model.run.phase(), Phase::Ended);
    desk.sees("DISCARDED")
        .sees("More than 2 full % divisions of foam")
        .sees("begin attempt 2")
        .sees("with more alcohol");
    desk.space();
    assert_eq!((desk.step().as_str(), desk.model.run.attempt()), ("alcohol-amount", 2));
    desk.answer("3.5");
    desk.sees("The attempt before was discarded with 3.50 pt of alcohol; this one needs more.");
    desk.answer("4");
    assert_eq!(desk.step(), "pieces");
    to_the_end(&mut desk);
    // 5.50 - 0.6.
    assert_eq!(result(&desk), ("4.9".to_owned(), "5.00 %".to_owned()));
    desk.sees("Attempt 1 discarded");
}

#[test]
fn cups_of_water_are_counted_and_added_back() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    desk.keys("cc");
    desk.sees("2 cups in all");
    for _ in 0..2 {
        assert_eq!(desk.step(), "settle");
        settle(&mut desk, "8.75", "0");
        if desk.step() == "cap-again" {
            desk.go_to("settle");
        }
    }
    to_the_end(&mut desk);
    // 8.75 - 0.45 + 2.
    assert_eq!(result(&desk), ("10.3".to_owned(), "10.25 %".to_owned()));
    desk.sees("+ Cups of water added 2.00 %");
}

#[test]
fn a_third_rolling_is_compared_with_the_second() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    settle(&mut desk, "5", "0");
    desk.sees("Now once more, to compare");
    desk.go_to("settle");
    settle(&mut desk, "5.75", "0");
    desk.sees("5.00, then 5.75: they differ by more than 0.25. Once more.");
    desk.go_to("settle");
    desk.sees("round 3 of at most 3").sees("round 1: 5.00, round 2: 5.75");
    settle(&mut desk, "5.5", "0");
    assert_eq!(desk.step(), "pour-off");
    to_the_end(&mut desk);
    assert_eq!(result(&desk).0, "5.05");
}

#[test]
fn packed_concrete_in_the_bowl_voids_the_attempt() {
    let mut desk = Desk::new();
    desk.go_to("inspect").keys("y");
    assert_eq!(desk.model.run.phase(), Phase::Ended);
    desk.sees("VOID").sees("Undisturbed concrete was left in the bowl").sees("begin attempt 2");
    // Taken back: it was a slip of the finger.
    desk.keys("u");
    assert_eq!(desk.step(), "inspect");
    desk.keys("y").space();
    assert_eq!(desk.model.run.attempt(), 2);
    to_the_end(&mut desk);
    assert_eq!(result(&desk).0, "5.05");
}

#[test]
fn a_level_that_never_settles_is_given_up_after_six_minutes() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    // The first look comes a moment late, so the fourth would come too late.
    desk.wait(500);
    for level in ["7", "6", "5"] {
        desk.answer(level).answer("0");
        desk.wait(120_000);
    }
    assert_eq!(desk.act(), "GiveUp");
    desk.sees("THE TIME TO SETTLE IS OVER").sees("The level did not settle within 6 minutes").sees("end this attempt");
    desk.space();
    assert_eq!(desk.model.run.phase(), Phase::Ended);
    desk.space();
    assert_eq!(desk.step(), "alcohol-amount");
}

#[test]
fn the_given_up_settling_may_be_overruled_with_a_reason() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    // The first look comes a moment late, so the fourth would come too late.
    desk.wait(500);
    for level in ["7", "6", "5"] {
        desk.answer(level).answer("0");
        desk.wait(120_000);
    }
    desk.keys("o").answer("foreman insists");
    assert_eq!(desk.step(), "cap-again");
    assert!(
        desk.model
            .run
            .findings()
            .iter()
            .any(|found| matches!(&found.what, FindingKind::Overruled { reason, .. } if reason == "foreman insists"))
    );
}

#[test]
fn wrong_moves_are_refused_in_words_and_nothing_is_lost() {
    let mut desk = Desk::new();
    desk.go_to("bowl-volume");
    desk.answer("0.06");
    desk.sees("The bowl must hold at least 0.075 ft³");
    desk.answer("0.0752");
    assert_eq!(desk.step(), "meter-check");
    desk.go_to("strokes-1").answer("24");
    desk.sees("24 strokes given, 25 asked: 1 to go.");
    desk.keys("+").space();
    assert_eq!(desk.step(), "taps-1");
    desk.go_to("water-first").answer("0.75");
    desk.sees("At least 1 pt of water goes in before the alcohol.");
    desk.answer("1.1");
    desk.sees("1.00 or 1.25?");
    desk.press(KeyCode::Right).enter();
    assert_eq!(desk.step(), "alcohol-in");
    desk.go_to("water-up").keys("n");
    desk.sees("the funnel stays in");
    desk.go_to("invert").space();
    desk.wait(6_000);
    desk.sees("TURN IT UP NOW");
    desk.space();
    desk.sees("upside down for more than 5 s");
    desk.go_to("roll").space();
    desk.wait(10_000);
    desk.space();
    desk.sees("50 s to go");
    desk.wait(50_000);
    desk.space();
    desk.go_to("settle").answer("9.25");
    desk.sees("off the scale");
    desk.answer("5.5").answer("0");
    desk.wait(60_000);
    desk.answer("5.5");
    desk.sees("1 min to go");
    desk.keys("o").answer("rain");
    assert!(desk.model.run.offer(desk.now).standing.in_set, "the reading was taken against the refusal");
}

#[test]
fn a_reason_never_lets_a_value_through_that_was_typed_over() {
    let mut desk = Desk::new();
    desk.go_to("settle").answer("5.5").answer("0");
    desk.wait(60_000);
    desk.answer("5.5").sees("1 min to go");
    desk.keys("6.25o");
    desk.sees("There is no refusal here that a reason could overrule.");
    desk.enter().keys("o").answer("rain");
    let level = desk.model.run.edition().reading_named("level").unwrap();
    assert_eq!(desk.model.run.show(level, &desk.model.run.latest(level).unwrap().entry), "6.25 %");
}

#[test]
fn trying_the_funnel_too_soon_gives_the_reason_of_the_procedure() {
    let mut desk = Desk::new();
    desk.go_to("water-first").keys("s");
    for _ in 0..3 {
        desk.press(KeyCode::Down);
    }
    desk.enter();
    desk.sees("The funnel stays in until the liquid shows in the neck.");
    desk.press(KeyCode::Esc);
    assert_eq!(desk.step(), "water-first");
}

#[test]
fn a_leak_ends_the_attempt_only_after_it_was_confirmed() {
    let mut desk = Desk::new();
    desk.go_to("roll").keys("x");
    desk.sees("Liquid leaks from the cap or the clamp");
    desk.enter();
    desk.sees("attempt 1 ends here");
    desk.press(KeyCode::Esc);
    assert_eq!(desk.model.run.phase(), Phase::AtStep);
    desk.keys("x1n");
    assert_eq!(desk.model.run.phase(), Phase::AtStep);
    desk.keys("x1y");
    assert_eq!(desk.model.run.phase(), Phase::Ended);
    desk.keys("u");
    assert_eq!(desk.step(), "roll");
}

#[test]
fn an_attempt_may_be_given_up_for_a_reason_of_ones_own() {
    let mut desk = Desk::new();
    desk.go_to("layer-1").keys("x");
    desk.press(KeyCode::Down).enter().enter();
    desk.sees("Say it in a few words");
    desk.answer("truck sent away").keys("y");
    assert_eq!(desk.model.run.phase(), Phase::Ended);
    desk.sees("truck sent away");
    desk.keys("x").enter().keys("y");
    assert_eq!(desk.model.run.phase(), Phase::Closed { with_result: false });
    desk.sees("closed without a result");
}

#[test]
fn a_correction_that_leads_another_way_goes_back_and_says_so() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    desk.answer("5.5").answer("0");
    desk.wait(120_000);
    desk.answer("5.5").answer("0");
    assert_eq!(desk.step(), "cap-again");
    desk.keys("e");
    // The latest first: foam, level.
    desk.press(KeyCode::Down).enter();
    desk.answer("6.5");
    desk.sees("The run will go back to");
    desk.answer("misread");
    assert_eq!(desk.step(), "settle");
    desk.sees("That leads another way: the run is back at");
    let corrected = desk.take_effects().into_iter().find_map(|effect| match effect {
        Effect::Keep { event: Event::Correct { .. }, corrected, .. } => Some(corrected),
        _ => None,
    });
    let level = desk.model.run.edition().reading_named("level");
    assert_eq!(corrected, Some(level), "the journal is told which reading was corrected");
}

#[test]
fn a_correction_that_changes_nothing_else_stays_where_it_is() {
    let mut desk = Desk::new();
    desk.go_to("layer-1").keys("e");
    for _ in 0..9 {
        desk.press(KeyCode::Down);
    }
    desk.enter().answer("Marek Ost");
    desk.sees("The run stays where it is");
    desk.answer("wrong name");
    assert_eq!(desk.step(), "layer-1");
    desk.sees("Corrected: Mara Lind → Marek Ost");
}

#[test]
fn undo_and_redo_are_one_key_each_and_a_clicker_has_both_ways() {
    let mut desk = Desk::new();
    desk.go_to("clamp");
    desk.press(KeyCode::PageDown);
    assert_eq!(desk.step(), "funnel-in");
    desk.press(KeyCode::PageUp);
    assert_eq!(desk.step(), "clamp");
    desk.keys("U");
    assert_eq!(desk.step(), "funnel-in");
    desk.keys("uu").keys("U");
    assert_eq!(desk.step(), "clamp");
}

//! Pictures of every distinct screen, at 80 × 24 and 120 × 40, whitespace and all.

use std::collections::BTreeMap;

use coach::screen::{Input, Options};
use crossterm::event::KeyCode;

use crate::desk::Desk;

#[track_caller]
fn shoot(name: &str, desk: &Desk) {
    let both = format!("{}\n{}", desk.picture(80, 24), desk.picture(120, 40));
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, both);
    });
}

fn at(step: &str) -> Desk {
    let mut desk = Desk::new();
    desk.go_to(step);
    desk
}

#[test]
fn words() {
    let mut desk = Desk::new();
    shoot("words_empty", &desk);
    let used = vec!["Mara Lind".to_owned(), "Marek Ost".to_owned(), "Otto Venn".to_owned()];
    desk.input(Input::Suggestions(BTreeMap::from([("technician".to_owned(), used)])));
    desk.keys("mar").press(KeyCode::Down);
    shoot("words_typing", &desk);
}

#[test]
fn numbers() {
    let mut desk = at("alcohol-amount");
    shoot("number_empty", &desk);
    desk.keys("3.5");
    shoot("number_typing", &desk);
    desk.press(KeyCode::Esc).keys("3.52");
    shoot("number_between_marks", &desk);
    desk.press(KeyCode::Esc).keys("35").enter();
    shoot("number_out_of_range", &desk);
}

#[test]
fn choices() {
    let mut desk = at("pieces");
    desk.press(KeyCode::Down).press(KeyCode::Down);
    shoot("choice", &desk);
}

#[test]
fn acts() {
    let mut desk = at("clamp");
    shoot("act", &desk);
    desk.keys("k");
    shoot("wrong_key", &desk);
    let mut desk = at("dampen");
    desk.wait(48_300);
    shoot("act_with_limit", &desk);
    desk.wait(280_000);
    shoot("act_limit_over", &desk);
}

#[test]
fn counts() {
    let mut desk = at("strokes-1");
    shoot("count", &desk);
    desk.keys("+++").keys("2");
    shoot("count_typing", &desk);
    desk.keys("4").enter();
    shoot("count_refused", &desk);
    let desk = at("taps-1");
    shoot("count_range", &desk);
}

#[test]
fn holds() {
    let mut desk = at("roll");
    shoot("hold_not_begun", &desk);
    desk.space();
    desk.wait(15_000);
    shoot("hold_running_prompt", &desk);
    desk.wait(6_500);
    desk.space();
    shoot("hold_too_early", &desk);
    desk.wait(45_200);
    shoot("hold_long_enough", &desk);
}

#[test]
fn inversions() {
    let mut desk = at("invert");
    desk.space();
    desk.wait(1_200);
    shoot("inversion_down", &desk);
    desk.wait(5_000);
    shoot("inversion_over", &desk);
    desk.space();
    desk.wait(900);
    shoot("inversion_up", &desk);
}

#[test]
fn settling() {
    let mut desk = at("settle");
    desk.wait(4_000);
    shoot("settle_first", &desk);
    desk.keys("5.7");
    shoot("settle_between_marks", &desk);
    desk.keys("5");
    shoot("settle_first_typed", &desk);
    desk.enter().keys("1.25");
    shoot("settle_foam", &desk);
    desk.enter();
    desk.wait(43_000);
    shoot("settle_waiting", &desk);
    desk.space();
    shoot("settle_pressed_too_soon", &desk);
    desk.wait(77_000);
    desk.keys("5.25");
    shoot("settle_second", &desk);
    desk.enter().answer("1").keys("c");
    shoot("settle_cup_added", &desk);
    desk.keys("u");
    desk.wait(120_000);
    desk.answer("4.75").answer("1");
    shoot("settle_gave_up", &desk);
}

#[test]
fn a_second_round() {
    let mut desk = at("cap-again");
    shoot("second_round_begins", &desk);
    desk.go_to("settle");
    desk.keys("5.5");
    shoot("second_round_reading", &desk);
}

#[test]
fn attempts_that_ended() {
    let mut desk = at("settle");
    desk.answer("5.5").answer("2.5");
    desk.wait(120_000);
    desk.answer("5.5").answer("2.5");
    shoot("ended_foam", &desk);
    desk.space().answer("3.5");
    shoot("more_alcohol_needed", &desk);
    let mut desk = at("inspect");
    desk.keys("y");
    shoot("ended_void", &desk);
}

#[test]
fn results() {
    let mut desk = at("settle");
    desk.answer("5.5").answer("2.5");
    desk.wait(120_000);
    desk.answer("5.5").answer("2.5").space().answer("4");
    desk.go_to("invert").space();
    desk.wait(7_000);
    desk.go_to("clean").space();
    shoot("result", &desk);
    desk.space();
    shoot("closed", &desk);
}

#[test]
fn overlays() {
    let mut desk = at("roll");
    desk.space();
    desk.wait(20_000);
    desk.keys("?");
    shoot("help", &desk);
    desk.press(KeyCode::Esc).keys("s");
    shoot("steps", &desk);
    desk.press(KeyCode::Down).press(KeyCode::Down).press(KeyCode::Down).enter();
    shoot("steps_tried_too_soon", &desk);
    desk.press(KeyCode::Esc).keys("x");
    shoot("went_wrong", &desk);
    desk.enter();
    shoot("went_wrong_confirm", &desk);
    desk.press(KeyCode::Esc).keys("x3").keys("rain in the bowl");
    shoot("discard_reason", &desk);
    desk.press(KeyCode::Esc).keys("r").keys("cold wind, 4 °C");
    shoot("remark", &desk);
    desk.press(KeyCode::Esc).space().keys("o");
    shoot("overrule_reason", &desk);
}

#[test]
fn corrections() {
    let mut desk = at("cap-again");
    desk.keys("e");
    shoot("correct_list", &desk);
    desk.press(KeyCode::Down).enter().keys("6.6");
    shoot("correct_value", &desk);
    desk.press(KeyCode::Left).enter().keys("misread the meniscus");
    shoot("correct_reason", &desk);
    desk.enter();
    shoot("went_back", &desk);
}

#[test]
fn the_store() {
    let mut desk = at("flange");
    desk.store_works = false;
    desk.space().space();
    shoot("store_failed", &desk);
    desk.keys("f").keys("/media/stick");
    shoot("move_store", &desk);
    desk.press(KeyCode::Esc).keys("q");
    shoot("leave_confirm", &desk);
}

#[test]
fn simulated_time_is_said_at_all_times() {
    let mut desk = Desk::with(Options {
        run_name: "rehearsal-1".to_owned(),
        simulated: Some("simulated time ×60".to_owned()),
        resumed: Some("Resumed after 3 min 12 s; the clocks went on.".to_owned()),
        ..Options::default()
    });
    shoot("simulated_resumed", &desk);
    desk.keys("?");
    desk.sees("SIMULATED TIME ×60");
}

//! What is said about the record: never more than the store has acknowledged.

use coach::screen::{Effect, Input};

use crate::desk::Desk;

#[test]
fn recorded_is_said_only_after_the_store_has_answered() {
    let mut desk = Desk::new();
    desk.go_to("clamp");
    let kept = desk.words();
    assert!(kept.contains("recorded ✓"));
    // The act is handed over, the answer is still to come.
    let at = crate::desk::moment(desk.now);
    let key = crossterm::event::KeyEvent::from(crossterm::event::KeyCode::Enter);
    let effects = coach::screen::update(&mut desk.model, Input::Key(key), at);
    assert!(effects.iter().any(|effect| matches!(effect, Effect::Keep { .. })));
    assert!(!desk.words().contains("recorded ✓"));
    assert!(!desk.model.is_recorded());
    desk.input(Input::Kept { entries: 99 });
    desk.sees("recorded ✓ 99");
}

#[test]
fn a_store_that_fails_is_said_loudly_and_the_run_goes_on_in_memory() {
    let mut desk = Desk::new();
    desk.go_to("flange");
    desk.store_works = false;
    desk.space().space();
    desk.sees("NOT RECORDED: 2 acts only in memory").sees("the disk is full");
    desk.sees("Press f to keep it in another folder");
    assert!(!desk.words().contains("recorded ✓"));
    desk.take_effects();
    desk.keys("q");
    assert_eq!(desk.take_effects(), [], "leaving would lose two acts");
    desk.sees("2 of your acts are not recorded and will be lost").keys("n");
    desk.keys("f").answer("/media/stick");
    assert!(desk.take_effects().contains(&Effect::MoveStore { folder: "/media/stick".to_owned() }));
    assert!(!desk.words().contains("recorded ✓"));
    let what = "there is no such folder".to_owned();
    desk.input(Input::StoreMoveFailed { what, hint: "Make it first.".to_owned() });
    desk.sees("there is no such folder. Make it first.").sees("NOT RECORDED: 2 acts only in memory");
    desk.input(Input::StoreMoved { folder: "/media/stick".to_owned() });
    desk.sees("Everything is recorded again, in /media/stick.");
    assert!(!desk.words().contains("NOT RECORDED"));
    desk.store_works = true;
    desk.space().sees("recorded ✓");
}

#[test]
fn a_reading_is_not_lost_when_the_store_fails_while_it_is_given() {
    let mut desk = Desk::new();
    desk.go_to("settle");
    desk.store_works = false;
    desk.answer("5.5").answer("0");
    desk.wait(120_000);
    desk.answer("5.5");
    desk.sees("NOT RECORDED: 3 acts only in memory");
    desk.sees("in memory").keys("0").enter();
    assert_eq!(desk.step(), "cap-again");
}

//! When the screen changes by itself, and what is heard then.

use coach::screen::{CueKind, Effect, Input, Options, next_change};
use engine::Tick;

use crate::desk::Desk;

fn cues(desk: &mut Desk) -> Vec<(CueKind, String, u64)> {
    let effects = desk.take_effects().into_iter();
    effects
        .filter_map(|effect| match effect {
            Effect::Cue(cue) => Some((cue.kind, cue.text, cue.at.0)),
            _ => None,
        })
        .collect()
}

#[test]
fn when_nothing_runs_the_program_sleeps_until_a_key() {
    for step in ["technician", "bowl-volume", "pieces", "strokes-1", "clamp", "invert", "roll", "pour-off"] {
        let mut desk = Desk::new();
        desk.go_to(step);
        desk.wait(1_000);
        assert_eq!(next_change(&desk.model, desk.now), None, "at {step}");
    }
}

#[test]
fn one_repaint_a_second_while_a_clock_runs() {
    let mut desk = Desk::new();
    desk.go_to("dampen");
    desk.wait(777);
    assert_eq!(desk.wait(60_000), 60);
    let mut desk = Desk::new();
    desk.go_to("roll").space();
    desk.bells();
    // Sixty seconds, and now and then a bell or the end of a prompt.
    let wakes = desk.wait(60_000);
    assert!((60..=68).contains(&wakes), "{wakes}");
}

#[test]
fn the_shown_second_changes_exactly_when_it_is_due_and_never_between() {
    for (step, keys) in [("dampen", ""), ("roll", " "), ("invert", " "), ("settle", ""), ("settle", "wait")] {
        let mut desk = Desk::new();
        desk.go_to(step);
        if keys == "wait" {
            desk.answer("5.5").answer("0");
        } else {
            desk.keys(keys);
        }
        let end = Tick(desk.now.0 + 125_000);
        while let Some(change) = next_change(&desk.model, desk.now).filter(|change| *change < end) {
            let shown = desk.picture(80, 24);
            desk.now = Tick(change.0 - 1);
            assert_eq!(desk.picture(80, 24), shown, "{step}: nothing changes before {change:?}");
            desk.now = change;
            desk.input(Input::Wake);
        }
    }
}

#[test]
fn every_crossing_is_heard_once() {
    let mut desk = Desk::new();
    desk.go_to("roll").space();
    let begun = desk.now.0;
    desk.take_effects();
    desk.wait(70_000);
    assert_eq!(
        cues(&mut desk),
        [
            (CueKind::Prompt, "Turn the base about a third".to_owned(), begun + 15_000),
            (CueKind::Prompt, "Turn the base about a third".to_owned(), begun + 30_000),
            (CueKind::Prompt, "Turn the base about a third".to_owned(), begun + 45_000),
            (CueKind::Done, "Long enough".to_owned(), begun + 60_000),
            (CueKind::Prompt, "Turn the base about a third".to_owned(), begun + 60_000),
        ]
    );
    // A lid that was closed for ten minutes: what was crossed meanwhile is said once.
    let mut desk = Desk::new();
    desk.go_to("settle").answer("5.5").answer("0");
    desk.take_effects();
    desk.now = Tick(desk.now.0 + 600_000);
    desk.input(Input::Wake);
    let heard: Vec<_> = cues(&mut desk).into_iter().map(|(_, text, _)| text).collect();
    assert_eq!(heard, ["The time to settle is over", "Read now"]);
    desk.input(Input::Wake);
    assert_eq!(cues(&mut desk), []);
}

#[test]
fn bells_tell_due_refused_and_done_apart() {
    let mut desk = Desk::new();
    desk.go_to("invert").space();
    desk.bells();
    desk.wait(4_999);
    assert_eq!(desk.bells(), 0);
    desk.wait(1_000);
    assert_eq!(desk.bells(), 2, "due: turn it up");
    desk.space();
    desk.wait(1_000);
    desk.bells();
    desk.go_to("roll").space();
    desk.wait(1_000);
    desk.bells();
    desk.space();
    desk.wait(1_000);
    assert_eq!(desk.bells(), 1, "refused: too early");
    desk.wait(13_500);
    assert_eq!(desk.bells(), 1, "a prompt");
    desk.wait(45_000);
    desk.bells();
    let mut desk = Desk::new();
    desk.go_to("settle").answer("5.5").answer("0");
    desk.wait(120_000);
    desk.bells();
    desk.answer("5.5").answer("0");
    desk.wait(1_000);
    assert_eq!(desk.bells(), 3, "done: steady");
}

#[test]
fn bells_of_a_pattern_are_180_ms_apart() {
    let mut desk = Desk::new();
    desk.go_to("invert").space();
    desk.wait(5_000);
    assert_eq!(desk.bells(), 1);
    assert_eq!(next_change(&desk.model, desk.now), Some(Tick(desk.now.0 + 180)));
    desk.wait(179);
    assert_eq!(desk.bells(), 0);
    desk.wait(1);
    assert_eq!(desk.bells(), 1);
}

#[test]
fn a_quiet_run_and_a_muted_one_ring_no_bell_but_still_say_it() {
    let mut quiet = Desk::with(Options { quiet: true, ..Options::default() });
    let mut muted = Desk::new();
    quiet.go_to("roll");
    muted.go_to("roll").keys("m");
    for desk in [&mut quiet, &mut muted] {
        desk.take_effects();
        desk.space().space();
        assert_eq!(cues(desk).len(), 1);
        assert_eq!(desk.bells(), 0);
        desk.wait(61_000);
        assert_eq!(desk.bells(), 0);
        desk.sees("LONG ENOUGH");
    }
}

#[test]
fn typing_costs_nobody_a_test() {
    // The first sign is typed in time; Enter comes after the six minutes.
    let mut desk = Desk::new();
    desk.go_to("settle");
    for level in ["7", "6"] {
        desk.answer(level).answer("0");
        desk.wait(120_000);
    }
    desk.answer("5.5").answer("0");
    desk.wait(119_000);
    desk.wait(900);
    desk.keys("5");
    let seen = desk.now;
    desk.wait(3_000);
    desk.keys(".5");
    assert_eq!(desk.act(), "GiveUp");
    desk.take_effects();
    desk.enter();
    let answered = desk.take_effects().into_iter().find_map(|effect| match effect {
        Effect::Keep { event: engine::Event::Answer { seen, .. }, .. } => Some(seen),
        _ => None,
    });
    assert_eq!(answered, Some(seen), "the moment of the first sign is kept");
    assert!(desk.model.run.offer(desk.now).standing.in_set);
}

#[test]
fn a_reached_time_takes_back_what_was_said_about_it() {
    let mut desk = Desk::new();
    desk.go_to("roll").space().space();
    desk.sees("1 min to go");
    desk.wait(60_000);
    assert!(!desk.words().contains("to go"));
    desk.sees("LONG ENOUGH");
}

//! What sounds when several clocks, a late speaker and a new plan meet.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test says what it expects by panicking")]

mod room;

use room::{Room, countdown, hard, prompt};
use voice::cue::Speech;
use voice::{Cue, Tone};

#[test]
fn end_that_has_been_told_is_not_stopped_by_a_new_plan() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![hard(Tone::Done, "enough", 3_000), hard(Tone::Tick, "five", 8_000)]));
    room.until(3_100);
    room.hear(Speech::Plan(Vec::new()));
    room.until(9_000);
    assert_eq!(room.transcript(), ["3000-4060 done enough"]);
}

#[test]
fn clock_taken_back_does_not_stop_the_word_of_another_though_its_own_was_next() {
    let mut room = Room::default();
    room.hear(Speech::Plan([countdown(6_000), countdown(6_450)].concat()));
    room.until(3_200);
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(3_900);
    assert_eq!(room.transcript(), ["3000-3520 tick three"]);
}

#[test]
fn plan_without_what_is_past_cuts_no_word_by_itself() {
    let mut room = Room::default();
    let mut plan = countdown(6_000);
    plan[0].text = "three of them to go".to_owned();
    room.hear(Speech::Plan(plan.clone()));
    room.until(3_999);
    room.now = 4_004;
    room.hear(Speech::Plan(plan.split_off(2)));
    assert_eq!(room.transcript(), ["3000-4004 tick three of them to go", "4004-4524 tick two"]);
    assert_eq!(room.entry("three of them to go").cut_by.as_deref(), Some("two"));
}

#[test]
fn undo_heard_just_after_a_word_was_due_keeps_it_from_being_said() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(2_990);
    room.now = 3_004;
    room.hear(Speech::Plan(Vec::new()));
    room.until(9_000);
    assert!(room.heard.is_empty());
    assert_eq!(room.entry("three").dropped.as_deref(), Some("a new plan came before it was begun"));
}

#[test]
fn ticks_too_near_for_two_tones_are_one() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![hard(Tone::Tick, "three", 1_000), hard(Tone::Tick, "five", 1_030)]));
    room.until(5_000);
    assert_eq!(room.transcript(), ["1030-1550 tick five"]);
    assert_eq!(room.entry("three").dropped.as_deref(), Some("it gave way to: five"));
}

#[test]
fn of_equals_due_at_one_moment_the_one_named_first_is_heard() {
    let two = || [hard(Tone::Tick, "three", 2_000), hard(Tone::Tick, "five", 2_000)];
    let mut planned = Room::default();
    planned.hear(Speech::Plan(two().to_vec()));
    let mut said = Room::default();
    two().into_iter().for_each(|cue| said.hear(Speech::Say(cue)));
    for mut room in [planned, said] {
        room.until(5_000);
        assert_eq!(room.transcript(), ["2000-2520 tick three"]);
        assert_eq!(room.entry("five").dropped.as_deref(), Some("it gave way to: three"));
    }
}

#[test]
fn of_two_late_words_the_truer_is_heard() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![hard(Tone::Tick, "five", 3_000), hard(Tone::Tick, "four", 3_100)]));
    room.sleep_until(3_200);
    assert_eq!(room.transcript(), ["3200-3720 tick four"]);
}

#[test]
fn prompt_that_was_cut_stays_older_than_those_said_since() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt("fill the first layer now", 0)));
    room.until(100);
    room.hear(Speech::Say(prompt("strike it", 1_000)));
    room.until(400);
    room.hear(Speech::Say(hard(Tone::Done, "enough of that now", 400)));
    room.until(9_000);
    assert_eq!(
        room.transcript(),
        ["0-400 fill the first layer now", "400-2660 done enough of that now", "2660-3460 strike it"]
    );
    assert_eq!(room.entry("fill the first layer now").dropped.as_deref(), Some("a newer prompt came"));
}

#[test]
fn no_room_is_left_for_a_cue_that_can_never_be_begun() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![Cue { until: Some(900), ..hard(Tone::Tick, "never", 1_000) }]));
    room.hear(Speech::Say(prompt("strike it off level", 0)));
    room.until(5_000);
    assert_eq!(room.transcript(), ["0-1600 strike it off level"]);
    assert_eq!(room.entry("never").dropped.as_deref(), Some("not true any more"));
}

#[test]
fn silence_wanted_just_after_a_word_was_due_has_its_line_and_no_echo() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.now = 3_004;
    room.hear(Speech::Hush);
    assert_eq!(room.entry("three").dropped.as_deref(), Some("silence was wanted"));
    room.now = 3_010;
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(3_900);
    assert!(room.heard.is_empty());
    assert_eq!(room.log.len(), 1);
}

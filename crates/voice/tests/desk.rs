//! What sounds when: the policy, heard in simulated time.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test says what it expects by panicking")]

mod room;

use room::{Room, countdown, hard, info, prompt};
use voice::cue::{HARD_STALE_AFTER, Speech};
use voice::{Class, Cue, Desk, Tone};

/// Eighteen words: 7.2 seconds.
const INSTRUCTION: &str = "fill the bowl in two equal layers and strike each of them all over with the long rod";

fn with_short(text: &str, short: &str, due: u64) -> Cue {
    Cue { short: Some(short.to_owned()), ..prompt(text, due) }
}

fn until(cue: Cue, until: u64) -> Cue {
    Cue { until: Some(until), ..cue }
}

fn drops(room: &Room) -> Vec<(String, String)> {
    let dropped = room.log.iter().filter(|entry| entry.begun.is_none());
    dropped.map(|entry| (entry.text.clone(), entry.dropped.clone().unwrap())).collect()
}

#[test]
fn countdown_in_the_middle_of_a_long_instruction_is_on_time() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt(INSTRUCTION, 0)));
    room.until(100);
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(20_000);
    assert_eq!(
        room.transcript(),
        [
            &format!("0-3000 {INSTRUCTION}"),
            "3000-3520 tick three",
            "4000-4520 tick two",
            "5000-5520 tick one",
            "6000-7060 done enough",
            &format!("7060-14260 {INSTRUCTION}"),
        ]
    );
    let entry = room.entry(INSTRUCTION);
    assert_eq!((entry.begun, entry.again, entry.ended), (Some(0), Some(7_060), Some(14_260)));
    assert_eq!(entry.cut_by.as_deref(), Some("three"));
    assert_eq!(room.log.len(), 5);
    room.check();
}

#[test]
fn prompt_that_would_run_into_a_countdown_is_said_in_its_short_form_or_waits() {
    // (how long until the countdown's first word, what is heard first)
    let cases = [
        (7_200 + 300, format!("0-7200 {INSTRUCTION}")),
        (7_200 + 299, "0-800 fill bowl".to_owned()),
        (800 + 300, "0-800 fill bowl".to_owned()),
        (800 + 299, "1099-1619 tick three".to_owned()),
    ];
    for (room_for_it, first) in cases {
        let mut room = Room::default();
        room.hear(Speech::Plan(countdown(room_for_it + 3_000)));
        room.hear(Speech::Say(with_short(INSTRUCTION, "fill bowl", 0)));
        room.until(60_000);
        assert_eq!(room.transcript()[0], first, "{room_for_it} ms");
        let entry = room.entry(INSTRUCTION);
        assert_eq!(entry.dropped.is_some(), first.ends_with("fill bowl"), "the log says which form it was");
        assert_eq!(entry.begun.is_some_and(|begun| begun > room_for_it), first.contains("tick"), "then it waits");
        room.check();
    }
}

#[test]
fn two_hundred_hard_cues_of_six_clocks_against_a_long_sentence_each_time() {
    let mut room = Room::default();
    let mut plan = Vec::new();
    for i in 0..200_u64 {
        // Six clocks, each with its own second and its own place in the second.
        let clock = i % 6;
        let tone = if i % 7 == 6 { Tone::Done } else { Tone::Tick };
        plan.push(hard(tone, &format!("cue{i}"), 2_000 + i * 700 + clock * 37));
    }
    for (i, cue) in plan.iter().enumerate() {
        room.until(cue.due - 500);
        // The plan comes anew each time, as it does when anything is done.
        room.hear(Speech::Plan(plan[i..].to_vec()));
        room.hear(Speech::Say(prompt(&format!("{INSTRUCTION} {i}"), room.now)));
    }
    room.until(300_000);
    let hard: Vec<_> = room.log.iter().filter(|entry| entry.class == Class::Hard).collect();
    assert_eq!(hard.len(), 200);
    assert!(hard.iter().all(|entry| entry.late_ms() == Some(0)), "{hard:#?}");
    assert_eq!(room.log.len(), 400);
    room.check();
}

#[test]
fn long_sentence_already_sounding_is_cut_by_each_of_two_hundred_hard_cues() {
    let mut room = Room::default();
    for i in 0..200_u64 {
        let due = 1_000 + i * 10_000;
        room.until(due - 1_000);
        room.hear(Speech::Say(prompt(&format!("{INSTRUCTION} {i}"), due - 1_000)));
        room.until(due);
        room.hear(Speech::Say(hard(Tone::Tick, &format!("cue{i}"), due)));
    }
    room.until(3_000_000);
    assert_eq!(
        room.heard.iter().filter(|heard| heard.cue.class == Class::Hard && heard.from == heard.cue.due).count(),
        200
    );
    room.check();
}

#[test]
fn undo_during_a_countdown_leaves_nothing_stale() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(3_200);
    room.hear(Speech::Plan(Vec::new()));
    room.until(10_000);
    assert_eq!(
        room.transcript(),
        ["3000-3200 tick three"],
        "the word that was sounding is stopped, the rest never comes"
    );
    assert_eq!(room.entry("three").cut_by.as_deref(), Some("a new plan"));
    assert_eq!(room.log.len(), 1, "what was never due has no line");
}

#[test]
fn undo_of_one_clock_leaves_the_countdown_of_another_alone() {
    let mut room = Room::default();
    let other = countdown(30_450);
    let both = countdown(6_000).into_iter().chain(other.clone());
    room.hear(Speech::Plan(both.collect()));
    room.until(3_200);
    room.hear(Speech::Plan(countdown(6_000).split_off(1)));
    room.until(10_000);
    assert_eq!(
        room.transcript(),
        ["3000-3520 tick three", "4000-4520 tick two", "5000-5520 tick one", "6000-7060 done enough"]
    );
}

#[test]
fn plan_that_goes_on_cuts_nothing_and_repeats_nothing() {
    let mut room = Room::default();
    let plan = countdown(6_000);
    for (moment, left) in [(0, &plan[..]), (3_000, &plan[..]), (3_100, &plan[1..]), (4_050, &plan[..]), (6_100, &[])] {
        room.until(moment);
        room.hear(Speech::Plan(left.to_vec()));
    }
    room.until(10_000);
    assert_eq!(
        room.transcript(),
        ["3000-3520 tick three", "4000-4520 tick two", "5000-5520 tick one", "6000-7060 done enough"],
        "the end is told to its end though the clock has stopped"
    );
    assert_eq!(room.log.len(), 4);
}

#[test]
fn plan_made_a_moment_after_a_cue_was_due_does_not_take_it_away() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(5_999);
    // The clock has ended and is planned no more, before the speaker has even woken.
    room.now = 6_004;
    room.hear(Speech::Plan(Vec::new()));
    room.until(10_000);
    assert_eq!(room.transcript().last().unwrap(), "6004-7064 done enough");
}

#[test]
fn planned_anew_for_a_later_end_counts_for_that_end_only() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(4_100);
    room.hear(Speech::Plan(countdown(16_300)));
    room.until(30_000);
    assert_eq!(
        room.transcript(),
        [
            "3000-3520 tick three",
            "4000-4100 tick two",
            "13300-13820 tick three",
            "14300-14820 tick two",
            "15300-15820 tick one",
            "16300-17360 done enough",
        ]
    );
}

#[test]
fn late_wakening_begins_the_true_word_and_drops_the_others() {
    for (woken, heard) in [
        (4_000 + HARD_STALE_AFTER, Some("4250-4770 tick two")),
        (4_001 + HARD_STALE_AFTER, None),
        (5_003, Some("5003-5523 tick one")),
    ] {
        let mut room = Room::default();
        room.hear(Speech::Plan(countdown(6_000)));
        room.sleep_until(woken);
        assert_eq!(room.transcript().first().map(String::as_str), heard, "woken at {woken}");
        room.until(9_000);
        assert_eq!(room.log.len(), 4, "woken at {woken}");
        assert_eq!(room.entry("three").dropped.as_deref(), Some("too late"));
        room.check();
    }
}

#[test]
fn hard_cue_past_its_truth_is_not_begun_however_little_late() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![until(hard(Tone::Tick, "three", 3_000), 3_050)]));
    room.sleep_until(3_051);
    assert_eq!(drops(&room), [("three".to_owned(), "not true any more".to_owned())]);
}

#[test]
fn of_two_clocks_the_one_whose_moment_is_now_is_heard() {
    let done = |due| hard(Tone::Done, "enough", due);
    let tick = |due| hard(Tone::Tick, "three", due);
    let cases: [(&str, [Cue; 2], &[&str]); 6] = [
        ("same moment", [tick(1_000), done(1_000)], &["1000-2060 done enough"]),
        ("tick before", [tick(1_000), done(1_399)], &["1000-1060 tick", "1399-2459 done enough"]),
        ("tick just before", [tick(1_000), done(1_050)], &["1050-2110 done enough"]),
        ("tick after", [done(1_000), tick(1_399)], &["1000-2060 done enough"]),
        ("tick well after", [done(1_000), tick(1_400)], &["1000-1400 done enough", "1400-1920 tick three"]),
        ("tick well before", [tick(1_000), done(1_400)], &["1000-1400 tick three", "1400-2460 done enough"]),
    ];
    for (name, plan, heard) in cases {
        let mut room = Room::default();
        room.hear(Speech::Plan(plan.to_vec()));
        room.until(5_000);
        assert_eq!(room.transcript(), heard, "{name}");
        assert_eq!(room.log.len(), 2, "{name}");
        let whole = room.entry("three").dropped.is_none();
        assert_eq!(whole, name.contains("well"), "{name}: the log says what became of the tick");
    }
}

#[test]
fn two_ends_at_nearly_one_moment_are_both_heard() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![hard(Tone::Done, "lift", 1_000), hard(Tone::Done, "enough", 1_250)]));
    room.until(5_000);
    assert_eq!(room.transcript(), ["1000-1250 done", "1250-2310 done enough"]);
    assert!(room.entry("lift").dropped.unwrap().starts_with("only its tone"));
    assert_eq!(room.entry("lift").cut_by.as_deref(), Some("enough"));
}

#[test]
fn quick_pace_is_ticked_without_words() {
    let mut room = Room::default();
    let strokes = (0..5).map(|i| hard(Tone::Tick, &format!("n{i}"), 1_000 + i * 330));
    room.hear(Speech::Plan(strokes.collect()));
    room.until(5_000);
    assert_eq!(
        room.transcript(),
        ["1000-1060 tick", "1330-1390 tick", "1660-1720 tick", "1990-2050 tick", "2320-2840 tick n4"]
    );
}

#[test]
fn refusal_cuts_a_countdown_word_and_the_countdown_goes_on() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(4_200);
    room.hear(Speech::Say(hard(Tone::Refused, "say again", 4_200)));
    room.until(9_000);
    assert_eq!(
        room.transcript(),
        [
            "3000-3520 tick three",
            "4000-4200 tick two",
            "4200-5000 refused say again",
            "5000-5520 tick one",
            "6000-7060 done enough",
        ]
    );
}

#[test]
fn hard_cue_without_its_words_is_its_tone() {
    let mut room = Room::default();
    let wordless = Cue { tone: None, ..hard(Tone::Tick, "[two]", 4_000) };
    room.hear(Speech::Plan(vec![hard(Tone::Tick, "[three]", 3_000), wordless]));
    room.until(9_000);
    assert_eq!(room.transcript(), ["3000-3060 tick"]);
    assert_eq!(room.entry("[three]").dropped.unwrap(), "only its tone: its words were not ready");
    assert_eq!(drops(&room), [("[two]".to_owned(), "its sound was not ready".to_owned())]);
}

#[test]
fn prompt_waits_for_its_words_and_costs_nothing_while_it_waits() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt("[fill the bowl]", 0)));
    assert_eq!(room.desk.next(), None, "whoever has made the words wakes the desk");
    room.now = 40;
    room.words_are_ready = true;
    room.turn();
    assert_eq!(room.transcript(), ["40-1240 [fill the bowl]"]);
}

#[test]
fn prompt_whose_words_never_come_is_dropped_when_it_is_no_longer_true() {
    let mut room = Room::default();
    room.hear(Speech::Say(until(prompt("[fill the bowl]", 0), 2_000)));
    assert_eq!(room.desk.next(), Some(2_001));
    room.until(3_000);
    assert_eq!(drops(&room), [("[fill the bowl]".to_owned(), "not true any more".to_owned())]);
    assert_eq!(room.desk.next(), None);
}

#[test]
fn only_the_newest_prompt_survives() {
    let mut room = Room::default();
    room.hear(Speech::Plan(vec![hard(Tone::Begin, "hold", 1_000)]));
    room.until(900);
    for text in ["first layer", "second layer", "third layer"] {
        room.hear(Speech::Say(prompt(text, 900)));
    }
    room.until(9_000);
    assert_eq!(room.transcript(), ["1000-1840 begin hold", "1840-2640 third layer"]);
    let newer = "a newer prompt came".to_owned();
    assert_eq!(drops(&room), [("first layer".to_owned(), newer.clone()), ("second layer".to_owned(), newer)]);
}

#[test]
fn prompt_of_the_step_before_is_stopped_even_if_the_new_one_has_to_wait() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt("fill the first layer now", 0)));
    room.until(500);
    room.hear(Speech::Say(prompt("[strike it]", 500)));
    assert_eq!(room.transcript(), ["0-500 fill the first layer now"]);
    assert_eq!(room.entry("fill the first layer now").cut_by.as_deref(), Some("[strike it]"));
    assert_eq!(room.desk.sounding_until(), None);
}

#[test]
fn prompt_cut_near_its_end_is_not_said_again() {
    // Four words, 1600 ms: with 400 ms or more to go it is said again.
    for (cut_at, is_again) in [(1_199, true), (1_200, true), (1_201, false)] {
        let mut room = Room::default();
        room.hear(Speech::Say(prompt("strike it off level", 0)));
        room.until(cut_at);
        room.hear(Speech::Say(hard(Tone::Refused, "", cut_at)));
        room.until(9_000);
        assert_eq!(room.heard.len() == 3, is_again, "cut at {cut_at}");
        let entry = room.entry("strike it off level");
        assert_eq!(entry.cut_by.as_deref(), Some("refused"));
        assert_eq!(entry.ended, Some(if is_again { cut_at + 320 + 1_600 } else { cut_at }));
    }
}

#[test]
fn prompt_that_was_cut_is_not_said_again_once_it_is_untrue_or_old() {
    let cut = |last: Option<Cue>| {
        let mut room = Room::default();
        room.hear(Speech::Say(until(prompt("strike it off level", 0), 500)));
        room.until(400);
        room.hear(Speech::Say(hard(Tone::Done, "", 400)));
        last.into_iter().for_each(|last| room.hear(Speech::Say(last)));
        room.until(9_000);
        assert_eq!(room.heard.iter().filter(|heard| heard.cue.text == "strike it off level").count(), 1);
        let entry = room.entry("strike it off level");
        assert_eq!((entry.begun, entry.again, entry.ended), (Some(0), None, Some(400)));
        entry.dropped.unwrap()
    };
    assert_eq!(cut(None), "not true any more");
    assert_eq!(cut(Some(prompt("now weigh it", 400))), "a newer prompt came");
}

#[test]
fn info_is_never_in_the_way() {
    let mut room = Room::default();
    room.hear(Speech::Say(info("eleven minutes left for the cylinders", 0)));
    room.until(300);
    room.hear(Speech::Say(prompt("strike it", 300)));
    room.hear(Speech::Say(info("saved", 300)));
    room.hear(Speech::Say(until(info("stale", 300), 800)));
    room.until(9_000);
    assert_eq!(
        room.transcript(),
        ["0-300 eleven minutes left for the cylinders", "300-1100 strike it", "1100-1500 saved"]
    );
    assert_eq!(room.entry("eleven minutes left for the cylinders").cut_by.as_deref(), Some("strike it"));
    assert_eq!(drops(&room), [("stale".to_owned(), "not true any more".to_owned())]);
}

#[test]
fn info_is_dropped_while_a_prompt_waits() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(3_500)));
    room.hear(Speech::Say(prompt("strike it", 0)));
    room.hear(Speech::Say(info("saved", 0)));
    assert_eq!(drops(&room), [("saved".to_owned(), "a prompt was waiting".to_owned())]);
}

#[test]
fn infos_do_not_pile_up() {
    let mut room = Room::default();
    room.hear(Speech::Say(hard(Tone::Done, "enough", 0)));
    for i in 0..100 {
        room.hear(Speech::Say(info(&format!("info{i}"), 0)));
    }
    room.until(100_000);
    assert_eq!(drops(&room).len(), 92);
    assert_eq!(room.log.len(), 101);
}

#[test]
fn player_that_cannot_begin_costs_that_cue_only() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(3_000);
    room.fail("no such program");
    room.until(9_000);
    assert_eq!(
        room.transcript(),
        ["4000-4520 tick two", "5000-5520 tick one", "6000-7060 done enough"],
        "the next one is on time"
    );
    let entry = room.entry("three");
    assert_eq!(entry.dropped.as_deref(), Some("it could not be played: no such program"));
    assert_eq!((entry.begun, entry.ended), (None, None));
}

#[test]
fn player_that_never_begins_is_not_asked_without_end() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt("strike it", 0)));
    room.fail("no such program");
    room.until(9_000);
    assert!(room.heard.is_empty());
    assert_eq!(room.desk.next(), None);
    assert!(room.desk.failed(9_000, "again").is_empty(), "nothing sounds, so nothing failed");
}

#[test]
fn hush_is_silence_at_once() {
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(3_100);
    room.hear(Speech::Say(prompt("strike it", 3_100)));
    room.hear(Speech::Say(hard(Tone::Elsewhere, "slump", 8_000)));
    room.hear(Speech::Hush);
    assert_eq!(room.desk.next(), None);
    room.until(20_000);
    assert_eq!(room.transcript(), ["3000-3100 tick three"]);
    assert_eq!(room.entry("three").cut_by.as_deref(), Some("silence"));
    let silent = "silence was wanted".to_owned();
    assert_eq!(drops(&room), [("slump".to_owned(), silent.clone()), ("strike it".to_owned(), silent)]);
}

#[test]
fn what_is_due_later_is_said_then() {
    let mut room = Room::default();
    room.hear(Speech::Say(prompt("strike it", 5_000)));
    room.hear(Speech::Say(hard(Tone::Begin, "go", 2_000)));
    assert_eq!(room.desk.next(), Some(2_000));
    room.until(9_000);
    assert_eq!(room.transcript(), ["2000-2840 begin go", "5000-5800 strike it"]);
}

#[test]
fn idle_desk_is_never_woken() {
    assert_eq!(Desk::default().next(), None);
    let mut room = Room::default();
    room.hear(Speech::Plan(countdown(6_000)));
    room.until(1_000_000);
    // The plan itself, each cue's moment, each sound's end.
    assert_eq!(room.n_turns, 1 + 4 + 4);
    assert_eq!(room.desk.next(), None);
}

#[test]
fn cue_with_nothing_in_it_is_only_noted() {
    let mut room = Room::default();
    for class in [Class::Hard, Class::Prompt, Class::Info] {
        room.hear(Speech::Say(Cue { class, ..prompt("", 0) }));
    }
    room.until(1_000);
    assert!(room.heard.is_empty());
    assert_eq!(room.log.len(), 3);
}

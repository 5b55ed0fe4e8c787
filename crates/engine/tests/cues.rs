//! What is to be heard of the running clocks, and when.
//!
//! One helper lists the cues of a run as `+milliseconds clock what`, counted from the moment asked about.

#![allow(clippy::expect_used, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

mod common;

use common::{Technician, edition_of};
use engine::{ClockOf, Event, Phase, Side, Tick, TimeCue, TimeSays};
use proptest::prelude::*;
use quantity::{Span, System};

const SLUMP: &str = include_str!("../../../procedures/slump.toml");

/// A procedure of one step, for clocks that no shipped one has.
fn one_step(step: &str) -> Technician {
    let text = format!(
        r#"
[procedure]
id = "made-up"
title = "Made up"
language = 1
version = "1"
systems = ["SI"]
basis = [{{ designation = "None" }}]
attempts_at_most = 3
attempts_source = "ours"

[source.ours]
title = "Chosen for this test"

[reading.level]
ask = "Level"
unit = "mm"
graduation = "1"
range = ["0", "300"]
source = "ours"

[result.depth]
title = "Depth"
is = "level"
unit = "mm"
report = {{ nearest = "5" }}
terms = [{{ sign = "+", name = "level", label = "Level" }}]
source = "ours"

[[stage]]
id = "work"
title = "Work"

  [[stage.step]]
  id = "it"
  do = "Do it"
  {step}
  source = "ours"

  [[stage.step]]
  id = "read"
  do = "Read it"
  read = "level"
"#
    );
    Technician::new(edition_of(&text, System::Si))
}

fn held(at_least: &str) -> Technician {
    let mut technician = one_step(&format!("hold = {{ at_least = \"{at_least}\" }}"));
    technician.press();
    technician
}

fn shown(cue: &TimeCue, from: Tick) -> String {
    let what = match cue.what {
        TimeSays::Halfway(left) => format!("halfway, {left} left"),
        TimeSays::Left(left) => format!("{left} left"),
        TimeSays::Countdown(n) => format!("{n}"),
        TimeSays::Tick(n) => format!("tick {n}"),
        TimeSays::Now => "now".to_owned(),
    };
    format!("{} {:?}: {what}", cue.at.0 - from.0, cue.of)
}

fn heard_within(technician: &Technician, ahead: Span) -> Vec<String> {
    let now = Tick(technician.now_ms);
    technician.run.cues(now, ahead).iter().map(|cue| shown(cue, now)).collect()
}

fn heard(technician: &Technician) -> Vec<String> {
    heard_within(technician, Span::from_secs(3_600))
}

#[track_caller]
fn hears(technician: &Technician, expected: &[&str]) {
    assert_eq!(heard(technician), expected);
}

#[test]
fn nothing_is_heard_where_no_clock_runs() {
    hears(&Technician::air(), &[]);
    hears(&one_step("hold = { at_least = \"45 s\" }"), &[]);
}

#[test]
fn the_last_five_seconds_of_every_wait_are_counted_down() {
    hears(
        &held("45 s"),
        &[
            "35000 Hold: 10 s left",
            "40000 Hold: 5",
            "41000 Hold: 4",
            "42000 Hold: 3",
            "43000 Hold: 2",
            "44000 Hold: 1",
            "45000 Hold: now",
        ],
    );
    hears(&held("3 s"), &["1000 Hold: 2", "2000 Hold: 1", "3000 Hold: now"]);
    hears(&held("1 s"), &["1000 Hold: now"]);
    hears(&held("500 ms"), &["500 Hold: now"]);
}

#[test]
fn what_is_left_is_told_where_it_says_something_new() {
    // Whole wait, what is told before the countdown.
    for (at_least, told) in [
        ("14 s", &[][..]),
        ("15 s", &["5000 10 s left"]),
        ("59 s", &["49000 10 s left"]),
        // Half a minute is the half of a minute, which is told already.
        ("1 min", &["30000 halfway, 30 s left", "50000 10 s left"]),
        ("65 s", &["5000 1 min left", "33000 halfway, 32 s left", "55000 10 s left"]),
        ("90 s", &["30000 1 min left", "45000 halfway, 45 s left", "60000 30 s left", "80000 10 s left"]),
        ("2 min", &["60000 halfway, 1 min left", "90000 30 s left", "110000 10 s left"]),
        ("5 min", &["150000 halfway, 2 min 30 s left", "240000 1 min left", "270000 30 s left", "290000 10 s left"]),
    ] {
        let all = heard(&held(at_least));
        let before: Vec<String> = all[..all.len() - 6].iter().map(|line| line.replace("Hold: ", "")).collect();
        assert_eq!(before, told, "a wait of {at_least}");
    }
}

#[test]
fn a_cue_is_strictly_after_the_moment_asked_about_and_within_what_was_asked() {
    let mut technician = held("45 s");
    technician.wait(40);
    assert_eq!(heard(&technician)[0], "1000 Hold: 4");
    assert_eq!(heard_within(&technician, Span(2_000)), ["1000 Hold: 4", "2000 Hold: 3"]);
    assert_eq!(heard_within(&technician, Span(1_999)), ["1000 Hold: 4"]);
    technician.wait(5);
    hears(&technician, &[]);
}

#[test]
fn the_most_of_a_hold_is_told_and_is_over_a_moment_after_it() {
    let mut technician = one_step("hold = { at_least = \"5 s\", at_most = \"2 min\" }");
    technician.press().wait(5);
    hears(
        &technician,
        &[
            "55000 HoldMost: 1 min left",
            "85000 HoldMost: 30 s left",
            "105000 HoldMost: 10 s left",
            "115001 HoldMost: now",
        ],
    );
}

#[test]
fn the_seconds_upside_down_are_ticked_and_at_the_limit_it_is_to_be_turned() {
    let mut technician = Technician::air();
    technician.up_to("invert").press();
    let down = ["1000 Down: tick 1", "2000 Down: tick 2", "3000 Down: tick 3", "4000 Down: tick 4", "5000 Down: now"];
    // Of the whole inverting only its end is told meanwhile.
    assert_eq!(heard(&technician), [&down[..], &["45000 Hold: now"]].concat());
    technician.wait(4).press();
    assert_eq!(heard(&technician)[0], "31000 Hold: 10 s left");
    assert_eq!(heard(&technician).len(), 7, "upright there is no limit, and the wait goes on");
    technician.wait(3).press();
    assert_eq!(heard(&technician)[..5], down);
}

#[test]
fn a_limited_position_that_may_last_long_is_told_like_a_wait() {
    let turns = "turns = { down = \"tilted\", up = \"level\", down_at_most = \"20 s\", finding = \"Too long\" }";
    let mut technician = one_step(&format!("hold = {{ at_least = \"45 s\" }}\n{turns}"));
    technician.press();
    assert_eq!(heard(&technician)[..2], ["10000 Down: 10 s left", "15000 Down: 5"]);
}

#[test]
fn a_lift_is_ticked_until_it_may_end_and_told_when_it_is_over() {
    let mut technician = Technician::new(edition_of(SLUMP, System::InchPound));
    technician
        .run
        .apply(
            Event::Known {
                moment: technician.run.edition().moment_named("last-portion").unwrap(),
                at: common::moment(0),
            },
            common::moment(0),
        )
        .unwrap();
    for _ in 0..60 {
        if technician.step_name() == "lift" {
            break;
        }
        usual(&mut technician);
    }
    technician.press();
    let lift: Vec<String> = heard_within(&technician, Span::from_secs(8));
    let lift: Vec<&String> = lift.iter().filter(|line| !line.contains("Limit")).collect();
    assert_eq!(
        lift,
        [
            "1000 HoldMost: tick 1",
            "2000 HoldMost: tick 2",
            "3000 Hold: now",
            "4000 HoldMost: tick 4",
            "5000 HoldMost: tick 5",
            "6000 HoldMost: tick 6",
            "7001 HoldMost: now",
        ]
    );
}

/// The next right act of a slump test.
fn usual(technician: &mut Technician) {
    match technician.run.offer(Tick(technician.now_ms)).act {
        engine::Act::Answer(id) => {
            let name = technician.run.edition().reading(id).id.clone();
            let typed = match name.as_str() {
                "cone_in_date" | "cone_sound" => "yes",
                "pieces" => "none",
                _ => "7",
            };
            technician.read(&name, typed);
        }
        _ => {
            technician.press();
        }
    }
}

#[test]
fn a_long_thing_to_time_is_told_from_its_end() {
    let mut technician =
        one_step("timed = { at_least = \"20 s\", at_most = \"1 min\", finding = \"Not within the time\" }");
    technician.press();
    hears(
        &technician,
        &["20000 Hold: now", "30000 HoldMost: 30 s left", "50000 HoldMost: 10 s left", "60001 HoldMost: now"],
    );
}

#[test]
fn a_prompt_comes_at_every_repetition_within_the_time_asked_for() {
    let mut technician = Technician::air();
    technician.up_to("roll").press();
    let prompts = |ahead: u64| -> Vec<u64> {
        let cues = technician.run.cues(Tick(technician.now_ms), Span::from_secs(ahead));
        let prompts = cues.iter().filter(|cue| cue.of == ClockOf::Prompt);
        prompts.map(|cue| (cue.at.0 - technician.now_ms) / 1_000).collect()
    };
    assert_eq!(prompts(14), [0; 0]);
    assert_eq!(prompts(50), [15, 30, 45]);
    assert_eq!(prompts(75), [15, 30, 45, 60, 75]);
    assert_eq!(prompts(3_600 * 24 * 365).len(), 1_000, "nobody looks further ahead at once");
}

#[test]
fn of_two_at_one_moment_the_one_that_asks_for_a_hand_is_first() {
    let mut technician = Technician::air();
    technician.up_to("roll").press();
    let all = heard_within(&technician, Span::from_secs(60));
    assert_eq!(all[all.len() - 2..], ["60000 Hold: now", "60000 Prompt: now"]);
}

#[test]
fn the_next_reading_is_counted_down_to_and_the_end_of_settling_is_told() {
    let mut technician = Technician::air();
    technician.up_to("settle");
    let six_minutes =
        ["300000 GiveUp: 1 min left", "330000 GiveUp: 30 s left", "350000 GiveUp: 10 s left", "360001 GiveUp: now"];
    hears(&technician, &six_minutes);
    technician.read("level", "5.25");
    hears(&technician, &[]);
    technician.read("foam", "0.50");
    assert_eq!(
        heard_within(&technician, Span::from_secs(120)),
        [
            "60000 NextReading: halfway, 1 min left",
            "90000 NextReading: 30 s left",
            "110000 NextReading: 10 s left",
            "115000 NextReading: 5",
            "116000 NextReading: 4",
            "117000 NextReading: 3",
            "118000 NextReading: 2",
            "119000 NextReading: 1",
            "120000 NextReading: now",
        ]
    );
}

#[test]
fn a_reading_that_would_come_after_the_limit_is_not_waited_for() {
    let mut technician = Technician::air();
    technician.up_to("settle").wait(300).read("level", "5.25").read("foam", "0.50");
    hears(&technician, &[]);
}

#[test]
fn a_limit_across_steps_is_told_a_minute_and_ten_seconds_before_it_and_when_it_is_over() {
    let mut technician = Technician::air();
    technician.up_to("sample-ready").press();
    hears(&technician, &["240000 Limit(0): 1 min left", "290000 Limit(0): 10 s left", "300001 Limit(0): now"]);
    let cues = technician.run.cues(Tick(technician.now_ms), Span::from_secs(600));
    assert!(cues.iter().all(|cue| cue.side == Side::AtMost));
}

#[test]
fn an_attempt_that_has_ended_is_silent() {
    let mut technician = Technician::air();
    technician.up_to("invert").press();
    technician.event(Event::Discard { reason: "Rain".into() });
    hears(&technician, &[]);
}

proptest! {
    /// Whatever is under way: what was foreseen comes true if nothing happens, in order, and nothing twice.
    #[test]
    fn what_was_foreseen_comes_true(
        step in prop::sample::select(vec!["sample-ready", "layer-1", "invert", "roll", "settle", "clean"]),
        acts in 0usize..4,
        first in 0u64..90_000,
        later in 0u64..400_000,
        ahead in 0u64..900_000,
    ) {
        let mut technician = Technician::air();
        technician.up_to(step);
        for _ in 0..acts {
            if technician.run.phase() == Phase::AtStep {
                technician.as_it_should_be();
            }
        }
        technician.now_ms += first;
        let (now, then) = (Tick(technician.now_ms), Tick(technician.now_ms + later));
        let cues = technician.run.cues(now, Span(ahead));
        prop_assert!(cues.iter().all(|cue| now < cue.at && cue.at.0 <= now.0 + ahead));
        prop_assert!(cues.windows(2).all(|two| two[0].at <= two[1].at));
        for (n, cue) in cues.iter().enumerate() {
            prop_assert!(!cues[..n].iter().any(|before| before.at == cue.at && before.of == cue.of), "twice {cue:?}");
        }
        let foreseen: Vec<TimeCue> = cues.iter().copied().filter(|cue| cue.at > then).collect();
        let come_true = technician.run.cues(then, Span(ahead.saturating_sub(later)));
        if later <= ahead {
            prop_assert_eq!(foreseen, come_true);
        } else {
            prop_assert!(foreseen.is_empty());
        }
    }

    /// Of a wait of any length: five things at most before the countdown, five seconds apart at least.
    #[test]
    fn nothing_is_said_of_one_wait_too_close_together(at_least_ms in 1u64..1_000_000) {
        let cues = held(&format!("{at_least_ms} ms")).run.cues(Tick(0), Span(2_000_000));
        let before: Vec<u64> = cues
            .iter()
            .filter(|cue| matches!(cue.what, TimeSays::Halfway(_) | TimeSays::Left(_)))
            .map(|cue| cue.at.0)
            .chain(cues.iter().filter(|cue| cue.what == TimeSays::Countdown(5)).map(|cue| cue.at.0))
            .collect();
        prop_assert!(before.windows(2).all(|two| two[0] + 5_000 <= two[1]), "{before:?}");
        prop_assert_eq!(cues.last().map(|cue| (cue.at.0, cue.what)), Some((at_least_ms, TimeSays::Now)));
    }
}

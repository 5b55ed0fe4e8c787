//! What the keys of the bench do, and what they leave to the run in focus.

use coach::screen::bench::{BENCH_BINDINGS, BenchCommand, bench_command};
use coach::screen::keys::{BINDINGS, Command, Key};
use coach::screen::{BenchOptions, Deed, Effect, Input, Shown};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use engine::{Event, Phase, Tick};

use super::desk::{CONE, Desk, PORTIONS, PROBE, SIX, WEIGH};

const FOUR: [(&str, &str); 4] = [("portions", PORTIONS), ("cone", CONE), ("probe", PROBE), ("weigh", WEIGH)];

#[test]
fn one_key_goes_to_what_is_due_next() {
    let mut desk = Desk::sampled(&FOUR);
    desk.tab();
    assert_eq!(desk.focus(), "cone", "its five minutes run, and it is the next in the plan");
    desk.tab().sees("What is due next is here.");
    assert_eq!(desk.focus(), "cone");
    desk.space().tab();
    assert_eq!(desk.focus(), "cone", "150 s close before five minutes do");
    desk.go(3).space().space();
    assert_eq!(desk.step("probe"), "wait", "the probe soaks without hands");
    desk.tab();
    assert_eq!(desk.focus(), "cone");
    desk.space().space().answer("4.25");
    assert_eq!(desk.run("cone").phase(), Phase::Finished);
    desk.tab();
    assert_eq!(desk.focus(), "weigh", "its five minutes run still");
}

#[test]
fn a_run_is_chosen_by_its_number_and_begun_by_that() {
    let mut desk = Desk::new(&FOUR);
    assert!(matches!(desk.take_deeds()[..], [Deed::Begin { run: 0, .. }]), "the first is begun at once");
    desk.go(3);
    assert_eq!(desk.focus(), "probe");
    desk.key(KeyCode::Char('4'), KeyModifiers::ALT);
    assert_eq!(desk.focus(), "weigh");
    let begun: Vec<usize> = desk
        .take_deeds()
        .into_iter()
        .filter_map(|deed| match deed {
            Deed::Begin { run, .. } => Some(run),
            _ => None,
        })
        .collect();
    assert_eq!(begun, [2, 3], "nobody has begun the second");
    desk.go(9).sees("There is no run 9 on this bench.");
    assert_eq!(desk.focus(), "weigh");
}

#[test]
fn no_key_of_the_bench_types_anything_or_does_anything_to_a_run() {
    let mut desk = Desk::sampled(&SIX);
    desk.go(1).keys("2");
    let before: Vec<u32> = ["portions"].iter().map(|name| desk.run(name).n_accepted()).collect();
    for (code, with) in [
        (KeyCode::Tab, KeyModifiers::NONE),
        (KeyCode::BackTab, KeyModifiers::SHIFT),
        (KeyCode::Esc, KeyModifiers::NONE),
        (KeyCode::Char('b'), KeyModifiers::CONTROL),
        (KeyCode::Char('b'), KeyModifiers::CONTROL),
        (KeyCode::F(1), KeyModifiers::NONE),
    ] {
        desk.key(code, with);
    }
    assert_eq!(desk.focus(), "portions");
    assert_eq!([desk.run("portions").n_accepted()], before[..]);
    desk.press(KeyCode::Enter);
    assert_eq!(desk.run("portions").phase(), Phase::Finished, "what was typed is still there, and taken");
}

#[test]
fn a_key_held_down_goes_to_one_run_only() {
    let mut desk = Desk::sampled(&FOUR);
    let mut event = KeyEvent::new(KeyCode::Tab, KeyModifiers::NONE);
    event.kind = KeyEventKind::Repeat;
    desk.input(None, Input::Key(event));
    assert_eq!(desk.focus(), "portions");
}

#[test]
fn the_keys_of_the_bench_and_of_a_run_do_not_meet() {
    for binding in BINDINGS {
        for key in binding.keys {
            let event = match key {
                Key::Char(sign) => KeyEvent::new(KeyCode::Char(*sign), KeyModifiers::NONE),
                Key::Ctrl(sign) => KeyEvent::new(KeyCode::Char(*sign), KeyModifiers::CONTROL),
                // On a bench the first leads to the first run, and the second to what is due.
                Key::F1 | Key::Tab => continue,
                Key::Enter => KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE),
                Key::Esc => KeyEvent::new(KeyCode::Esc, KeyModifiers::NONE),
                Key::Backspace => KeyEvent::new(KeyCode::Backspace, KeyModifiers::NONE),
                Key::Up => KeyEvent::new(KeyCode::Up, KeyModifiers::NONE),
                Key::Down => KeyEvent::new(KeyCode::Down, KeyModifiers::NONE),
                Key::Left => KeyEvent::new(KeyCode::Left, KeyModifiers::NONE),
                Key::Right => KeyEvent::new(KeyCode::Right, KeyModifiers::NONE),
                Key::PageUp => KeyEvent::new(KeyCode::PageUp, KeyModifiers::NONE),
                Key::PageDown => KeyEvent::new(KeyCode::PageDown, KeyModifiers::NONE),
            };
            assert_eq!(bench_command(&event), None, "{key:?}");
        }
    }
    let press = |code, with| bench_command(&KeyEvent::new(code, with));
    assert_eq!(press(KeyCode::Tab, KeyModifiers::NONE), Some(BenchCommand::Due));
    assert_eq!(press(KeyCode::F(2), KeyModifiers::NONE), Some(BenchCommand::Run(1)));
    assert_eq!(press(KeyCode::Char('2'), KeyModifiers::ALT), Some(BenchCommand::Run(1)));
    assert_eq!(press(KeyCode::Char('2'), KeyModifiers::NONE), None, "a digit is typed");
    assert!(BINDINGS.iter().any(|binding| binding.command == Command::Complete));
}

#[test]
fn the_help_lists_the_keys_of_the_bench_and_none_that_it_has_taken() {
    let mut desk = Desk::new(&FOUR);
    desk.go(3);
    desk.key(KeyCode::Char('g'), KeyModifiers::CONTROL);
    for (_, does) in BENCH_BINDINGS {
        desk.sees(does);
    }
    let help: Vec<String> = desk.lines(120, 40).into_iter().filter(|line| line.contains("this list")).collect();
    assert!(help.len() == 1 && !help[0].contains("F1"), "{help:?}");
    desk.sees("→ complete the words");
}

#[test]
fn the_right_arrow_completes_words_on_a_bench() {
    let mut desk = Desk::new(&FOUR);
    desk.go(2);
    let used = [("technician".to_owned(), vec!["Mara Lind".to_owned()])].into_iter().collect();
    desk.input(Some(1), Input::Suggestions(used));
    desk.keys("ma").press(KeyCode::Right).press(KeyCode::Enter);
    assert_eq!(desk.run("cone").taken().len(), 1);
    desk.sees("Mara Lind");
}

#[test]
fn a_moment_that_another_run_leads_up_to_is_not_confirmed_here() {
    let mut desk = Desk::new(&FOUR);
    desk.answer("Mara Lind").answer("T-17").go(2);
    assert_eq!(desk.step("cone"), "ready");
    desk.sees("This moment is marked in the run “portions”").sees("go to portions");
    let n = desk.run("cone").n_accepted();
    desk.space();
    assert_eq!((desk.focus(), desk.run("cone").n_accepted()), ("portions", n), "the big key goes where it is marked");
    desk.space().space();
    assert_eq!(desk.step("cone"), "scoop", "and then nobody presses a second time");
    desk.go(2).sees("CONE BEGUN AFTER THE SAMPLE");
}

#[test]
fn the_list_of_steps_does_not_get_around_it() {
    let mut desk = Desk::new(&FOUR);
    desk.answer("Mara Lind").answer("T-17").go(2);
    let n = desk.run("cone").n_accepted();
    desk.keys("s").press(KeyCode::Down).press(KeyCode::Enter).press(KeyCode::Esc);
    assert_eq!(desk.run("cone").n_accepted(), n);
}

#[test]
fn undo_takes_back_in_the_run_in_focus_only_and_asks_what_was_known() {
    let mut desk = Desk::new(&FOUR);
    desk.answer("Mara Lind").answer("T-17").go(2);
    desk.sees("Known on this bench: Mara Lind; T-17. Undo asks again.");
    let others = desk.run("portions").n_accepted();
    desk.keys("u");
    assert_eq!(desk.step("cone"), "sample");
    assert_eq!(desk.run("portions").n_accepted(), others);
    desk.answer("T-18");
    assert_eq!(desk.step("cone"), "ready");
}

#[test]
fn a_cue_names_the_run_it_is_for_and_is_seen_from_another() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(3).space().space();
    desk.go(2);
    desk.take_deeds();
    desk.wait(119_000);
    assert_eq!(desk.said(), [""; 0]);
    desk.wait(2_000);
    desk.sees("probe: Long enough").sees("LONG ENOUGH");
    assert_eq!(desk.said(), ["probe: Long enough"]);
    desk.wait(130_000);
    let said = desk.said();
    assert!(said.iter().any(|text| text == "closes in 1 min: cone, weigh"), "{said:?}");
}

#[test]
fn a_limit_of_a_test_nobody_has_begun_is_rung_before_and_after() {
    let mut desk = Desk::sampled(&[("portions", PORTIONS), ("cone", CONE)]);
    desk.take_deeds();
    desk.wait(239_000);
    assert_eq!(desk.bells(), 0);
    desk.wait(2_000);
    desk.sees("cone: Cone begun after the sample:").sees("closes in 1 min").sees("HURRY 0:50");
    assert_eq!(desk.bells(), 2);
    desk.wait(60_000);
    desk.sees("over (5 min)").sees("OVER");
    assert_eq!(desk.bells(), 2);
    desk.wait(600_000);
    assert_eq!(desk.bells(), 0, "once");
    desk.go(2).space();
    desk.sees("The cone was begun too late");
}

#[test]
fn with_nothing_running_nothing_wakes_and_with_clocks_one_number_ticks() {
    let mut desk = Desk::new(&SIX);
    desk.go(2).go(3).go(5).go(1);
    desk.wait(1_000);
    assert_eq!(desk.wait(3_600_000), 0, "no clock runs");
    let mut desk = Desk::sampled(&SIX);
    desk.go(3).space().space().go(5);
    for _ in 0..6 {
        desk.one_act();
    }
    desk.go(2);
    desk.wait(2_000);
    let wakes = desk.wait(60_000);
    assert!((60..=80).contains(&wakes), "{wakes} wakes in a minute with several clocks");
}

#[test]
fn what_is_said_by_the_bench_stands_until_the_next_act() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(3).space().space().go(2);
    desk.wait(121_000);
    desk.sees("probe: Long enough");
    desk.space();
    assert!(!desk.words().contains("probe: Long enough"));
}

#[test]
fn a_discarded_test_is_repeated_while_the_sample_allows_it_and_then_a_new_one_is_needed() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).space().keys("x1y");
    assert_eq!(desk.run("cone").phase(), Phase::Ended);
    assert!(!desk.words().contains("A NEW SAMPLE IS NEEDED"));
    desk.go(3).sees("again, on this sample");
    desk.sees("within 5:00");
    desk.wait(301_000);
    desk.sees("DISCARDED: new sample needed");
    desk.go(2).sees("A NEW SAMPLE IS NEEDED: Cone begun");
}

#[test]
fn a_store_that_fails_is_said_of_its_run_and_the_others_go_on() {
    let mut desk = Desk::new(&FOUR);
    desk.store_works[1] = false;
    desk.answer("Mara Lind").answer("T-17").go(2);
    desk.sees("NOT RECORDED");
    desk.go(1);
    assert!(!desk.words().contains("NOT RECORDED"));
    desk.keys("q");
    assert_eq!(desk.focus(), "cone", "what would be lost is asked about first");
    desk.sees("LEAVE?");
    assert!(!desk.take_deeds().contains(&Deed::Of(1, Effect::Leave)));
    desk.keys("y");
    assert!(desk.take_deeds().iter().any(|deed| matches!(deed, Deed::Of(_, Effect::Leave))));
}

#[test]
fn leaving_is_one_key_and_asks_only_if_something_is_lost() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).take_deeds();
    desk.keys("q");
    assert!(matches!(desk.take_deeds()[..], [Deed::Of(1, Effect::Leave)]));
    desk.go(1).keys("2").go(2).keys("q");
    assert_eq!(desk.focus(), "portions", "a number is typed and not taken there");
    desk.keys("n").sees("Count the portions");
    desk.key(KeyCode::Char('c'), KeyModifiers::CONTROL);
    assert!(desk.take_deeds().iter().any(|deed| matches!(deed, Deed::Of(_, Effect::Leave))), "at once, always");
}

#[test]
fn the_program_is_stopped_and_goes_on_as_with_one_run() {
    let mut desk = Desk::sampled(&FOUR);
    desk.take_deeds();
    desk.key(KeyCode::Char('z'), KeyModifiers::CONTROL);
    assert!(matches!(desk.take_deeds()[..], [Deed::Of(0, Effect::Suspend)]));
    desk.key(KeyCode::Char('l'), KeyModifiers::CONTROL);
    assert_eq!(desk.bench.repaints(), 1);
}

#[test]
fn the_last_close_ends_the_sample_and_the_big_key_leads_on_before() {
    let mut desk = Desk::sampled(&[("portions", PORTIONS), ("cone", CONE)]);
    desk.answer("2").space();
    assert!(matches!(desk.run("portions").phase(), Phase::Closed { .. }));
    desk.sees("go to what is due next").space();
    assert_eq!(desk.focus(), "cone");
    desk.take_deeds();
    desk.space().space().space().answer("4").space();
    let deeds = desk.take_deeds();
    assert_eq!(deeds.iter().filter(|deed| matches!(deed, Deed::Finish { .. })).count(), 1);
    desk.space();
    let leaves = |deeds: Vec<Deed>| deeds.iter().any(|deed| matches!(deed, Deed::Of(_, Effect::Leave)));
    assert!(!leaves(desk.take_deeds()), "a pedal sends that key too");
    desk.sees("All tests are closed: q leaves.").keys("q");
    assert!(leaves(desk.take_deeds()));
}

#[test]
fn nothing_is_shown_as_recorded_before_it_is() {
    let options = BenchOptions { sample: "Pier 4".into(), ..BenchOptions::default() };
    let mut desk = Desk::with(&FOUR, options);
    desk.store_works[1] = false;
    desk.go(2);
    assert!(!desk.lines(80, 24)[0].contains('✓'), "{}", desk.picture(80, 24));
    // Every event of every run was handed over once, in order.
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).space().keys("u").go(3).space();
    let mut kept = [0u32; 4];
    for deed in desk.take_deeds() {
        if let Deed::Of(run, Effect::Keep { .. }) = deed {
            kept[run] += 1;
        }
    }
    for (n, name) in ["portions", "cone", "probe"].into_iter().enumerate() {
        assert_eq!(kept[n], desk.run(name).n_accepted(), "{name}");
    }
}

#[test]
fn a_changed_moment_is_told_again_and_the_clocks_follow() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(2).go(1).keys("u");
    desk.wait(30_000);
    desk.space();
    let due = desk.run("cone").clocks(desk.now).map(|clock| clock.due).min().unwrap();
    assert_eq!(due, Tick(desk.now.0 + 300_000));
    let told = desk
        .take_deeds()
        .into_iter()
        .filter(|deed| matches!(deed, Deed::Of(1, Effect::Keep { event: Event::Known { .. }, .. })));
    assert_eq!(told.count(), 2, "both moments are in its journal");
}

#[test]
fn the_sound_is_switched_for_the_whole_bench() {
    let mut desk = Desk::sampled(&FOUR);
    desk.go(3).space().space().keys("m").go(2).take_deeds();
    desk.wait(400_000);
    assert_eq!(desk.bells(), 0);
    desk.keys("m").go(4);
    desk.keys("?").press(KeyCode::Esc);
    desk.take_deeds();
    desk.wait(300_000);
    assert!(desk.bells() > 0, "the probe must come out");
}

#[test]
fn a_paste_under_the_overview_types_nothing() {
    let mut desk = Desk::new(&FOUR);
    desk.press(KeyCode::BackTab);
    desk.input(None, Input::Paste("Mara Lind".into()));
    desk.press(KeyCode::Esc).press(KeyCode::Enter);
    assert_eq!(desk.run("portions").n_accepted(), 0);
}

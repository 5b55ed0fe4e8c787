//! Keys: one table for dispatch, footer and help; a wrong key never does harm.

use coach::screen::keys::{BINDINGS, Command, Key};
use coach::screen::view::help_lines;
use coach::screen::{Effect, Input};
use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use crate::desk::Desk;

fn event(key: Key) -> KeyEvent {
    let (code, modifiers) = match key {
        Key::Char(sign) => (KeyCode::Char(sign), KeyModifiers::NONE),
        Key::Ctrl(sign) => (KeyCode::Char(sign), KeyModifiers::CONTROL),
        Key::Enter => (KeyCode::Enter, KeyModifiers::NONE),
        Key::Esc => (KeyCode::Esc, KeyModifiers::NONE),
        Key::Tab => (KeyCode::Tab, KeyModifiers::NONE),
        Key::Backspace => (KeyCode::Backspace, KeyModifiers::NONE),
        Key::Up => (KeyCode::Up, KeyModifiers::NONE),
        Key::Down => (KeyCode::Down, KeyModifiers::NONE),
        Key::Left => (KeyCode::Left, KeyModifiers::NONE),
        Key::Right => (KeyCode::Right, KeyModifiers::NONE),
        Key::PageUp => (KeyCode::PageUp, KeyModifiers::NONE),
        Key::PageDown => (KeyCode::PageDown, KeyModifiers::NONE),
        Key::F1 => (KeyCode::F(1), KeyModifiers::NONE),
    };
    KeyEvent::new(code, modifiers)
}

#[test]
fn the_help_lists_exactly_the_keys_of_the_table() {
    let mut desk = Desk::new();
    desk.go_to("clamp").keys("?");
    let screen = desk.lines(120, 40);
    for binding in BINDINGS {
        let names: Vec<String> = binding.keys.iter().map(|key| key.name()).collect();
        let names = names.join("  ");
        let line = screen.iter().find(|line| line.contains(binding.long)).unwrap_or_else(|| panic!("{binding:?}"));
        assert!(line.trim_start().starts_with(&names), "{names} in {line}");
    }
    assert_eq!(help_lines().count(), BINDINGS.len());
    let title = screen.iter().position(|line| line.trim() == "KEYS").expect("the help has its title");
    let listed = screen.iter().skip(title + 2).take_while(|line| !line.trim().is_empty()).count();
    assert_eq!(listed, BINDINGS.len(), "nothing else is listed");
}

#[test]
fn every_key_of_the_table_is_the_command_it_says() {
    for binding in BINDINGS {
        for key in binding.keys {
            assert_eq!(Key::of(&event(*key)), Some(*key));
            let expect_leave = matches!(binding.command, Command::Leave | Command::LeaveNow);
            let mut desk = Desk::new();
            desk.go_to("clamp").take_effects();
            let before = format!("{:?}", (desk.words(), &desk.model));
            desk.input(Input::Key(event(*key)));
            let effects = desk.take_effects();
            assert_eq!(effects.contains(&Effect::Leave), expect_leave, "{key:?}");
            assert_eq!(effects.contains(&Effect::Suspend), binding.command == Command::Suspend, "{key:?}");
            let changed = before != format!("{:?}", (desk.words(), &desk.model));
            let says_nothing =
                matches!(binding.command, Command::Cancel | Command::Leave | Command::LeaveNow | Command::Suspend);
            assert!(changed || says_nothing, "{key:?} does nothing and says nothing");
        }
    }
}

#[test]
fn a_key_that_means_nothing_says_what_is_possible_and_does_no_harm() {
    let mut desk = Desk::new();
    desk.go_to("clamp");
    let n = desk.model.run.n_accepted();
    for sign in "abdfghijklnpvwyz0123456789.,!§ß€".chars() {
        desk.keys(&sign.to_string());
        if desk.words().contains("ANOTHER FOLDER") {
            desk.press(KeyCode::Esc);
        }
    }
    assert_eq!(desk.model.run.n_accepted(), n);
    desk.keys("k").sees("“k” does nothing here. Space: done. ?: all keys.");
    desk.space();
    assert!(!desk.words().contains("does nothing here"), "gone with the next act");
}

#[test]
fn a_key_held_down_does_not_race_through_the_steps() {
    let mut desk = Desk::new();
    desk.go_to("clamp");
    let mut held = event(Key::Char(' '));
    held.kind = KeyEventKind::Repeat;
    for _ in 0..20 {
        desk.input(Input::Key(held));
    }
    assert_eq!(desk.step(), "clamp");
    held.kind = KeyEventKind::Release;
    desk.input(Input::Key(held));
    assert_eq!(desk.step(), "clamp");
}

#[test]
fn while_words_are_typed_letters_are_text_and_ctrl_keys_work() {
    let mut desk = Desk::new();
    desk.keys("q?usx go on");
    desk.sees("q?usx go on");
    desk.ctrl('s').sees("STEPS");
    desk.press(KeyCode::Esc).ctrl('q');
    desk.sees("LEAVE?");
    desk.keys("n").sees("q?usx go on");
    desk.press(KeyCode::F(1)).sees("KEYS");
    desk.press(KeyCode::Esc).press(KeyCode::Esc);
    assert!(!desk.words().contains("q?usx"));
    desk.take_effects();
    desk.ctrl('q');
    assert_eq!(desk.take_effects(), [Effect::Leave]);
}

#[test]
fn fractions_are_typed_with_a_space_or_a_hyphen() {
    for (typed, taken) in
        [("2 3/4", "2.75 %"), ("2-3/4", "2.75 %"), ("2,5", "2.50 %"), (".5", "0.50 %"), ("5", "5.00 %")]
    {
        let mut desk = Desk::new();
        desk.go_to("settle").answer(typed);
        desk.sees(&format!("Taken: {taken}"));
    }
    // A space after whole digits begins a fraction; a second one takes the number.
    let mut desk = Desk::new();
    desk.go_to("settle").keys("5 ");
    assert!(!desk.model.run.offer(desk.now).standing.in_set);
    desk.space();
    assert!(desk.model.run.offer(desk.now).standing.in_set);
}

#[test]
fn a_pedal_and_a_clicker_reach_the_reading_without_a_digit() {
    let mut desk = Desk::new();
    desk.go_to("settle").keys("++-").space();
    desk.sees("Taken: 4.50 %");
    desk.keys("+").space();
    desk.sees("Taken: 0.00 %");
    desk.wait(120_000);
    desk.press(KeyCode::Up).press(KeyCode::Down).press(KeyCode::Down).press(KeyCode::PageDown);
    desk.sees("Taken: 4.25 %");
}

#[test]
fn words_used_before_are_one_key_away() {
    let mut desk = Desk::new();
    let used = [("technician".to_owned(), vec!["Mara Lind".to_owned(), "Otto Venn".to_owned()])];
    desk.input(Input::Suggestions(used.into_iter().collect()));
    desk.space().enter();
    assert_eq!(desk.step(), "job");
    desk.sees("Taken: Mara Lind");
    desk.keys("u").press(KeyCode::Down);
    assert_eq!(desk.step(), "job", "u is text here");
    desk.ctrl('u');
    desk.press(KeyCode::Down).press(KeyCode::Down).enter();
    desk.sees("Taken: Otto Venn");
}

#[test]
fn an_answer_without_a_marked_line_says_which_keys_there_are() {
    let mut desk = Desk::new();
    desk.go_to("pieces").enter();
    desk.sees("Press the key of the answer: “n” None; “s” There were: wet-sieved over 1 in.");
    desk.press(KeyCode::Down).press(KeyCode::Down).enter();
    desk.sees("Press when the last portion is in");
}

#[test]
fn a_paste_of_any_length_goes_into_the_text_and_nowhere_else() {
    let mut desk = Desk::new();
    desk.input(Input::Paste("wet\nconcrete\u{7}".repeat(100_000)));
    desk.enter();
    assert_eq!(desk.step(), "job");
    desk.go_to("clamp");
    let n = desk.model.run.n_accepted();
    desk.input(Input::Paste("yyyy\n\n".repeat(1_000)));
    assert_eq!((desk.step().as_str(), desk.model.run.n_accepted()), ("clamp", n));
    desk.go_to("settle");
    desk.input(Input::Paste(" 5.25 ".to_owned()));
    desk.enter().sees("Taken: 5.25 %");
}

#[test]
fn leaving_asks_only_if_something_would_be_lost() {
    let mut desk = Desk::new();
    desk.go_to("alcohol-amount").take_effects();
    desk.keys("q");
    assert_eq!(desk.take_effects(), [Effect::Leave]);
    desk.keys("3q");
    assert_eq!(desk.take_effects(), []);
    desk.sees("has not been taken").keys("y");
    assert_eq!(desk.take_effects(), [Effect::Leave]);
    desk.keys("q").ctrl('c');
    assert_eq!(desk.take_effects(), [Effect::Leave], "Ctrl-C leaves always");
}

#[test]
fn repainting_is_asked_for_and_counted() {
    let mut desk = Desk::new();
    let before = desk.model.repaints();
    desk.ctrl('l');
    assert_eq!(desk.model.repaints(), before + 1);
}

#[test]
fn a_remark_goes_on_the_record_with_its_words() {
    let mut desk = Desk::new();
    desk.go_to("roll").space();
    desk.keys("r").answer("wind from the river");
    desk.sees("The remark is on the record.");
    assert_eq!(desk.model.run.remarks()[0].text, "wind from the river");
    assert!(desk.model.run.offer(desk.now).standing.begun.is_some(), "the roll goes on");
}

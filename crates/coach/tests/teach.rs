//! The teach screen: keys in, pictures and deeds out.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use coach::screen::hands::keymap::{Role, key_named};
use coach::screen::teach::{TeachAnswer, TeachDeed, TeachModel, TeachOptions};
use coach::screen::{Colours, Sensed, Shown as _};
use crossterm::event::{KeyEvent, KeyEventKind};
use engine::{Moment, Tick, Wall};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

struct Desk {
    model: TeachModel,
    now: Tick,
    deeds: Vec<TeachDeed>,
}

impl Desk {
    fn new() -> Self {
        let options =
            TeachOptions { place: "/home/mara/.config/pourside/keys.toml".to_owned(), ..TeachOptions::default() };
        let model = TeachModel::new(coach::screen::hands::keymap::Keymap::default(), options);
        Self { model: model.with_colours(Colours::True), now: Tick(0), deeds: Vec::new() }
    }

    fn key(&mut self, key: KeyEvent, after_ms: u64) -> &mut Self {
        self.now = Tick(self.now.0 + after_ms);
        let at = Moment { tick: self.now, wall: Wall::default() };
        self.deeds.extend(self.model.sense(Sensed::Key(key), at));
        self
    }

    /// Presses keys by their names, slowly.
    fn press(&mut self, names: &str) -> &mut Self {
        for name in names.split(' ') {
            self.key(key_named(name).unwrap(), 800);
        }
        self
    }

    fn lines(&self, width: u16, height: u16) -> Vec<String> {
        let area = Rect::new(0, 0, width, height);
        let mut buf = Buffer::empty(area);
        self.model.draw(self.now, &mut buf, area);
        (0..height).map(|y| (0..width).map(|x| buf[(x, y)].symbol()).collect()).collect()
    }

    fn words(&self) -> String {
        self.lines(100, 40).join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[track_caller]
    fn sees(&mut self, words: &str) -> &mut Self {
        let all = self.words();
        assert!(all.contains(words), "{words:?} is not on the screen: {all}");
        self
    }

    fn taught(&self) -> Vec<(String, Role)> {
        let name = coach::screen::hands::keymap::name_of;
        self.model.keymap().taught.iter().map(|(key, role)| (name(key), *role)).collect()
    }
}

#[track_caller]
fn shoot(name: &str, desk: &Desk) {
    let picture: String = desk.lines(80, 24).iter().map(|line| format!("\"{line}\"\n")).collect();
    insta::with_settings!({ omit_expression => true }, {
        insta::assert_snapshot!(name, picture);
    });
}

#[test]
fn a_key_is_taught_by_two_presses_and_the_next_role_follows() {
    let mut desk = Desk::new();
    shoot("first", &desk);
    desk.press("F13").sees("F13 for NEXT: press it again.").sees("function key 13, nothing held");
    assert_eq!(desk.taught(), [], "one press teaches nothing");
    shoot("once", &desk);
    desk.press("F13").sees("NEXT is F13.").sees("you want for BACK");
    desk.press("F14 F14 F15 F15 F16 F16").sees("every press says what it stands for");
    let all = [("F13", Role::Next), ("F14", Role::Back), ("F15", Role::Again), ("F16", Role::Talk)];
    assert_eq!(desk.taught(), all.map(|(name, role)| (name.to_owned(), role)));
    desk.press("F15")
        .sees("F15 is AGAIN.")
        .press("PageDown")
        .sees("PageDown is NEXT.")
        .press("F9")
        .sees("F9 stands for no role.");
    shoot("through", &desk);
    assert_eq!(desk.deeds, [], "nothing is saved unasked");
    desk.press("Ctrl-s");
    assert!(matches!(&desk.deeds[..], [TeachDeed::Save(keymap)] if keymap.taught.len() == 4));
}

#[test]
fn what_works_without_being_taught_is_taken_and_not_written() {
    let mut desk = Desk::new();
    desk.press("PageDown PageDown").sees("NEXT is PageDown.").press("PageUp PageUp . .");
    assert_eq!((desk.taught(), desk.model.role()), (Vec::new(), Some(Role::Talk)));
}

#[test]
fn a_bounce_is_no_second_press_and_is_counted() {
    let mut desk = Desk::new();
    let pedal = key_named("F13").unwrap();
    desk.key(pedal, 500).key(pedal, 40).sees("A second press after 40 ms was ignored.").key(pedal, 149);
    desk.sees("after 149 ms was ignored (2 in all).");
    let held = KeyEvent { kind: KeyEventKind::Repeat, ..pedal };
    desk.key(held, 400).sees("A key held down is one press: its repeat was ignored (3 in all).");
    assert_eq!(desk.taught(), [], "a wet contact and a held key confirm nothing");
    shoot("bounced", &desk);
    desk.key(pedal, 150);
    assert_eq!(desk.taught().len(), 1);
}

#[test]
fn a_key_that_is_needed_or_bound_is_warned_of_and_taken_by_a_second_press() {
    for (name, why) in [
        ("x", "“x” is needed for typing"),
        ("5", "“5” is needed for typing"),
        ("PageUp", "PageUp is BACK without being taught"),
        ("Down", "Down is needed for readings and lists"),
        ("F3", "F3 goes to test 3 of a sample"),
        ("Ctrl-u", "Ctrl-u has a use: take the last act back."),
    ] {
        let mut desk = Desk::new();
        desk.press(name).sees(why);
        assert_eq!(desk.taught(), [], "{name}");
        desk.press(name);
        assert_eq!(desk.taught(), [(name.to_owned(), Role::Next)]);
    }
    let mut desk = Desk::new();
    desk.press("F13 F13 F13").sees("F13 stands for NEXT already");
    shoot("bound_twice", &desk);
    desk.press("F13");
    assert_eq!(desk.taught(), [("F13".to_owned(), Role::Back)], "one key has one role");
    let mut desk = Desk::new();
    desk.press("Ctrl-n Ctrl-n Space").sees("Space is NEXT without being taught");
}

#[test]
fn another_key_than_before_is_asked_for_again() {
    let mut desk = Desk::new();
    desk.press("F13 F14").sees("This time F14 came, before it was F13.");
    assert_eq!(desk.taught(), []);
    desk.press("F14");
    assert_eq!(desk.taught(), [("F14".to_owned(), Role::Next)]);
}

#[test]
fn no_key_of_a_clicker_leaves_the_screen() {
    let mut desk = Desk::new();
    for _ in 0..50 {
        desk.press("Esc F5 PageDown PageUp . b Enter Space Esc Esc");
    }
    assert_eq!(desk.deeds, []);
    let mut desk = Desk::new();
    desk.press("Esc").sees("It can stand for no role");
    assert_eq!((desk.deeds, desk.model.role()), (Vec::new(), Some(Role::Next)));
}

#[test]
fn q_twice_leaves_and_ctrl_c_at_once() {
    let mut desk = Desk::new();
    desk.press("F13 F13 q").sees("q once more leaves. Nothing of this is saved; Ctrl-S saves it.");
    desk.press("F14 q");
    assert_eq!(desk.deeds, [], "something else came between");
    desk.key(key_named("q").unwrap(), 20);
    assert_eq!(desk.deeds, [], "a key that is held bounces");
    desk.press("q");
    assert_eq!(desk.deeds, [TeachDeed::Leave]);
    let mut desk = Desk::new();
    desk.press("F13 Ctrl-c");
    assert_eq!(desk.deeds, [TeachDeed::Leave]);
    assert_eq!(desk.taught(), []);
}

#[test]
fn roles_are_skipped_gone_back_to_and_cleared() {
    let mut desk = Desk::new();
    desk.press("F13 F13 Ctrl-p")
        .sees("you want for NEXT")
        .press("Ctrl-d")
        .sees("The keys taught for NEXT are forgotten.");
    assert_eq!(desk.taught(), []);
    desk.press("Ctrl-d").sees("No key was taught for NEXT.");
    desk.press("Ctrl-n Ctrl-n Ctrl-n Ctrl-n Ctrl-n").sees("Try them all");
    desk.press("Ctrl-p Ctrl-p Ctrl-p Ctrl-p Ctrl-p Ctrl-p").sees("you want for NEXT");
    // Several keys for one role: two pedals that do the same.
    desk.press("F13 F13 Ctrl-p F14 F14").sees("taught: F13, F14");
}

#[test]
fn it_leaves_when_the_keys_are_saved_and_stays_when_they_are_not() {
    let mut desk = Desk::new();
    let what = "cannot write /x/keys.toml: read-only".to_owned();
    let failed = TeachAnswer::Failed { what, hint: "Choose another place.".to_owned() };
    assert_eq!(desk.model.hear(failed, Moment::default()), []);
    desk.sees("NOT SAVED: cannot write /x/keys.toml: read-only. Choose another place.");
    assert_eq!(desk.model.hear(TeachAnswer::Saved, Moment::default()), [TeachDeed::Leave]);
}

#[test]
fn on_every_size_of_screen_the_question_is_seen_and_nothing_panics() {
    let mut desk = Desk::new();
    desk.press("x");
    for width in 1..=90 {
        for height in 1..=30 {
            desk.lines(width, height);
        }
    }
    assert!(desk.lines(40, 10).join(" ").contains("“x” for NEXT: press it again."));
    assert!(desk.lines(20, 4)[0].contains("“x” for NEXT"));
    let last = desk.lines(60, 20)[19].clone();
    assert!(last.contains("Ctrl-S save") && last.contains("q q leave"), "{last}");
}

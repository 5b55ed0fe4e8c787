//! Any keys in any order: nothing panics, nothing is kept that did not happen.

use coach::screen::view::draw;
use coach::screen::{Effect, Input, next_change};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Run, Tick};
use quantity::{System, Ties};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::desk::{Desk, edition, moment};

/// Numbers that look random and are the same every time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

fn any_key(dice: &mut Dice) -> KeyEvent {
    let code = match dice.roll(24) {
        0..=4 => KeyCode::Char(' '),
        5..=6 => KeyCode::Enter,
        7 => KeyCode::Esc,
        8 => KeyCode::Up,
        9 => KeyCode::Down,
        10 => KeyCode::Left,
        11 => KeyCode::Right,
        12 => KeyCode::Tab,
        13 => KeyCode::Backspace,
        14 => KeyCode::PageDown,
        15..=17 => KeyCode::Char(char::from(b'0' + dice.roll(10) as u8)),
        _ => {
            let signs: Vec<char> = "nysxoecrufm?U+-./,abé½試🙂\u{301}".chars().collect();
            KeyCode::Char(signs[dice.roll(signs.len() as u64) as usize])
        }
    };
    let is_ctrl = dice.roll(20) == 0;
    KeyEvent::new(code, if is_ctrl { KeyModifiers::CONTROL } else { KeyModifiers::NONE })
}

#[test]
fn a_flood_of_any_keys_leaves_a_run_that_replays_and_a_screen_that_draws() {
    for (n, start) in ["technician", "alcohol-amount", "strokes-1", "invert", "settle", "inspect"].iter().enumerate() {
        let mut dice = Dice(n as u64 + 7);
        let mut desk = Desk::new();
        desk.go_to(start);
        for turn in 0..1_500 {
            desk.store_works = dice.roll(40) > 0;
            let key = any_key(&mut dice);
            desk.input(Input::Key(key));
            if dice.roll(4) == 0 {
                desk.now = Tick(desk.now.0 + dice.roll(40_000));
                desk.input(Input::Wake);
            }
            if let Some(change) = next_change(&desk.model, desk.now) {
                assert!(change > desk.now, "{start}, turn {turn}: the next change lies ahead");
            }
            if turn % 7 == 0 {
                let area = Rect::new(0, 0, 20 + dice.roll(110) as u16, 3 + dice.roll(40) as u16);
                let mut buf = Buffer::empty(area);
                draw(&desk.model, desk.now, &mut buf, area);
            }
        }
        let mut again = Run::open(edition(System::InchPound), Ties::Even, moment(Tick(0)));
        for effect in desk.take_effects() {
            if let Effect::Keep { event, at, .. } = effect {
                again.apply(event, at).expect("what was handed to the store had been accepted");
            }
        }
        assert!(again.same_state(&desk.model.run), "{start}: what was kept is what happened");
    }
}

//! Any size: nothing panics, and the essential is seen.

use coach::screen::view::draw;
use coach::screen::{Options, ThemeChoice};
use crossterm::event::KeyCode;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::desk::Desk;

/// Every kind of screen.
fn states() -> Vec<(&'static str, Desk)> {
    let mut states = Vec::new();
    let at = |step: &str| {
        let mut desk = Desk::new();
        desk.go_to(step);
        desk
    };
    for step in ["technician", "alcohol-amount", "pieces", "dampen", "strokes-1", "clamp", "roll"] {
        states.push(("step", at(step)));
    }
    let mut down = at("invert");
    down.space();
    down.wait(6_000);
    states.push(("inversion", down));
    let mut settle = at("settle");
    settle.answer("5.5").answer("1.25");
    settle.wait(130_000);
    settle.keys("5.7").enter();
    states.push(("settle", settle));
    let mut ended = at("inspect");
    ended.keys("y");
    states.push(("ended", ended));
    let mut result = at("clean");
    result.space();
    states.push(("result", result));
    for keys in ["?", "s", "x", "x1", "x3", "r", "e", "f"] {
        let mut desk = at("roll");
        desk.space();
        desk.keys(keys);
        states.push(("overlay", desk));
    }
    let mut correct = at("cap-again");
    correct.keys("e").press(KeyCode::Down).enter().keys("6");
    states.push(("correct", correct));
    let mut failed = at("flange");
    failed.store_works = false;
    failed.space();
    states.push(("failed", failed));
    states
}

#[test]
fn no_size_makes_any_screen_panic() {
    for (n, (name, desk)) in states().into_iter().enumerate() {
        for width in 1..=130u16 {
            for height in 1..=45u16 {
                // All small sizes and the edges between the layouts, and a net over the others, another for each.
                let is_small = width <= 12 && height <= 9;
                let is_edge = matches!(width, 59..=60 | 99..=100) && matches!(height, 15..=16 | 23..=24);
                let mesh = if name == "settle" { 3 } else { 53 };
                let is_in_net = (usize::from(width) + 3 * usize::from(height) + n).is_multiple_of(mesh);
                if !is_small && !is_edge && !is_in_net {
                    continue;
                }
                let area = Rect::new(0, 0, width, height);
                let mut buf = Buffer::empty(area);
                draw(&desk.model, desk.now, &mut buf, area);
                let is_drawn = buf.content().iter().any(|cell| cell.symbol() != " ");
                assert!(is_drawn, "{name} at {width} × {height} is empty");
            }
        }
    }
}

#[test]
fn the_essential_is_seen_where_there_is_little_room() {
    let mut desk = Desk::new();
    desk.go_to("roll").space();
    desk.wait(10_000);
    desk.space();
    let mut all = String::new();
    for (width, height) in [(59, 15), (40, 12), (30, 6), (20, 8), (12, 3), (5, 2), (1, 1)] {
        all.push_str(&format!("{width} x {height}\n{}\n", desk.picture(width, height)));
    }
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("little_room", all);
    });
    for (width, height) in [(59, 15), (40, 12), (30, 6), (60, 16)] {
        let words = desk.lines(width, height).join("\n");
        assert!(words.contains("Tilt to about 45°"), "the sentence at {width} × {height}:\n{words}");
        assert!(words.contains("to go"), "what is blocked at {width} × {height}:\n{words}");
    }
}

#[test]
fn sixty_by_sixteen_shows_the_whole_screen() {
    let mut all = String::new();
    let mut desk = Desk::new();
    desk.go_to("settle").answer("5.75").keys("0.5");
    all.push_str(&desk.picture(60, 16));
    let mut desk = Desk::new();
    desk.go_to("invert").space();
    desk.wait(2_000);
    all.push('\n');
    all.push_str(&desk.picture(60, 16));
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("sixty_by_sixteen", all);
    });
}

#[test]
fn without_colour_every_state_is_still_said() {
    let mut desk = Desk::with(Options { theme: ThemeChoice::Mono, ..Options::default() });
    desk.go_to("invert").space();
    desk.wait(6_000);
    desk.sees("TURN IT UP NOW").sees("✓ Water").sees("▶ Free the concrete").sees("· Roll");
}

//! What the person waits for: from the start to the first frame, and from a key to the next.
//!
//! Everything the program does itself is inside, the terminal is not: frames are drawn through the real writer into
//! memory. How long a terminal takes is measured from outside, see DEVELOPERS.md.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark stops at the first surprise")]

use std::sync::Arc;

use coach::rim::library;
use coach::rim::out::{Depth, Painter};
use coach::screen::{Input, Model, Options, ThemeChoice, next_change, update, view};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use engine::{Act, Moment, Run, Tick};
use quantity::{System, Ties};
use ratatui::Terminal;
use ratatui::layout::Size;

fn main() {
    divan::main();
}

fn at(ms: u64) -> Moment {
    Moment { tick: Tick(ms), ..Moment::default() }
}

fn options() -> Options {
    Options {
        quiet: true,
        theme: ThemeChoice::Dark,
        run_name: "2026-05-14-0730-air-volumetric-7f".into(),
        simulated: None,
        place: "runs".into(),
        resumed: None,
    }
}

fn start() -> Model {
    let found = library::find("air-volumetric", false).unwrap();
    let edition = found.edition(System::InchPound).unwrap();
    Model::new(Run::open(Arc::new(edition), Ties::Even, at(0)), at(0), options())
}

fn screen() -> Terminal<Painter> {
    Terminal::new(Painter::new(Size::new(120, 40), Depth::True)).unwrap()
}

fn press(model: &mut Model, code: KeyCode, now: Moment) {
    update(model, Input::Key(KeyEvent::new(code, KeyModifiers::NONE)), now);
}

/// Reading and checking the procedure, opening the run, laying the first frame out and turning it into bytes.
#[divan::bench]
fn start_to_first_frame() -> usize {
    let model = start();
    let mut screen = screen();
    screen.draw(|frame| view(&model, at(0), frame)).unwrap();
    screen.backend().bytes().len()
}

/// A model brought to the settling readings, where the screen is fullest.
fn at_the_neck() -> (Model, u64) {
    let mut model = start();
    let mut now = 0;
    while model.run.offer(Tick(now)).step.is_none_or(|(_, step)| step.id != "settle") {
        now += 4_000;
        let typed = match model.run.offer(Tick(now)).act {
            Act::Answer(id) => match model.run.edition().reading(id).id.as_str() {
                "bowl" => "0.0752",
                "cup" => "1.00",
                "strength" => "70",
                "water" => "1.25",
                "alcohol" => "2.50",
                "standardized" | "in_neck" | "heard" => "y",
                "pieces" => "n",
                _ => "a name",
            },
            Act::Wait { until } => {
                now = until.0;
                ""
            }
            _ => "",
        };
        for letter in typed.chars() {
            press(&mut model, KeyCode::Char(letter), at(now));
        }
        if !matches!(typed, "y" | "n") {
            press(&mut model, KeyCode::Enter, at(now));
        }
    }
    (model, now)
}

/// A digit typed at the neck of the meter: update, layout, drawing, bytes.
#[divan::bench]
fn key_to_frame(bencher: divan::Bencher) {
    let (mut model, now) = at_the_neck();
    let mut screen = screen();
    let mut is_typed = false;
    bencher.bench_local(|| {
        let code = if is_typed { KeyCode::Backspace } else { KeyCode::Char('5') };
        is_typed = !is_typed;
        press(&mut model, code, at(now));
        screen.draw(|frame| view(&model, at(now), frame)).unwrap();
        let n_bytes = screen.backend().bytes().len();
        screen.backend_mut().take();
        n_bytes
    });
}

/// A second going by while a clock runs: one wake-up, one frame.
#[divan::bench]
fn second_to_frame(bencher: divan::Bencher) {
    let (mut model, mut now) = at_the_neck();
    for typed in ["5.50", "0.50"] {
        for letter in typed.chars() {
            press(&mut model, KeyCode::Char(letter), at(now));
        }
        press(&mut model, KeyCode::Enter, at(now));
    }
    let mut screen = screen();
    screen.draw(|frame| view(&model, at(now), frame)).unwrap();
    let begin = now;
    bencher.bench_local(|| {
        now = next_change(&model, Tick(now)).map_or(begin, |next| next.0).min(begin + 90_000);
        update(&mut model, Input::Wake, at(now));
        screen.draw(|frame| view(&model, at(now), frame)).unwrap();
        let n_bytes = screen.backend().bytes().len();
        screen.backend_mut().take();
        n_bytes
    });
}

//! The far view against what can be measured: rows, contrast, moments, sizes.
//!
//! Here: every kind of step of two shipped methods, reached by keys through the engine. Measured is what is in the
//! buffer and what a terminal would be sent. Not here: that somebody really reads it from three metres.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

#[allow(dead_code, reason = "this desk serves other tests too")]
#[path = "screen/desk.rs"]
mod desk;

use std::path::Path;
use std::sync::Arc;

use coach::rim::out::{Depth, Painter};
use coach::screen::hands::far::{self, Asked, Beside};
use coach::screen::{Colours, Input, Model, Options, ThemeChoice, update};
use engine::{Run, Tick};
use quantity::{System, Ties};
use ratatui::Terminal;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Rect, Size};
use ratatui::style::{Color, Modifier};

use desk::{Desk, moment};

/// A desk at a moment of a test, and what is special about it.
struct Scene {
    name: &'static str,
    desk: Desk,
    heard: Option<&'static str>,
    /// Whether a number with digits stands there; where a reading is asked for there are only dashes yet.
    has_number: bool,
}

fn volumetric(step: &str) -> Desk {
    let mut desk = Desk::new();
    desk.go_to(step);
    desk
}

/// A slump test, brought to `step` by the shortest right way.
fn slump(step: &str) -> Desk {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures/slump.toml");
    let procedure = procedure::check("slump", &std::fs::read_to_string(path).unwrap()).procedure.unwrap();
    let edition = Arc::new(procedure.edition(System::InchPound).unwrap().clone());
    let run = Run::open(edition, Ties::Even, moment(Tick(0)));
    let options = Options { run_name: "slump-7".to_owned(), place: "/data".to_owned(), ..Options::default() };
    let mut desk = Desk::new();
    desk.model = Model::new(run, moment(Tick(0)), options).with_colours(Colours::True);
    for _ in 0..100 {
        let here = desk.step();
        if here == step {
            return desk;
        }
        desk.wait(500);
        match (here.as_str(), desk.act().as_str()) {
            ("technician" | "job" | "sample" | "cone", _) => desk.answer("Mara Lind"),
            ("cone-date" | "cone-check", _) => desk.keys("y"),
            ("pieces", _) => desk.keys("n"),
            ("shape", _) => desk.keys("w"),
            ("measure", _) => desk.answer("4.25"),
            ("lift", "Confirm") => {
                desk.wait(4_000);
                desk.space()
            }
            _ => desk.space(),
        };
    }
    panic!("{step} was not reached");
}

/// Every kind of step, in every state it can be in.
fn scenes() -> Vec<Scene> {
    let mut scenes = Vec::new();
    let mut add = |name, has_number, desk: Desk| scenes.push(Scene { name, desk, heard: None, has_number });
    let then = |mut desk: Desk, act: &dyn Fn(&mut Desk)| {
        act(&mut desk);
        desk
    };
    add("words", false, volumetric("technician"));
    add(
        "words typed",
        false,
        then(volumetric("technician"), &|desk| {
            desk.keys("Mara Li");
        }),
    );
    add("choice", false, volumetric("pieces"));
    add("number asked", false, volumetric("alcohol-amount"));
    add(
        "number typed",
        true,
        then(volumetric("alcohol-amount"), &|desk| {
            desk.keys("3.5");
        }),
    );
    add(
        "number between marks",
        true,
        then(volumetric("alcohol-amount"), &|desk| {
            desk.keys("3.52");
        }),
    );
    add("act", false, volumetric("clamp"));
    add(
        "act under a limit",
        true,
        then(volumetric("dampen"), &|desk| {
            desk.wait(48_300);
        }),
    );
    add(
        "act, limit over",
        true,
        then(volumetric("dampen"), &|desk| {
            desk.wait(328_300);
        }),
    );
    add("count", true, volumetric("strokes-1"));
    add(
        "count typed",
        true,
        then(volumetric("strokes-1"), &|desk| {
            desk.keys("12");
        }),
    );
    add(
        "count refused",
        true,
        then(volumetric("strokes-1"), &|desk| {
            desk.keys("24").enter();
        }),
    );
    add("count of a range", true, volumetric("taps-1"));
    add("hold before", true, volumetric("roll"));
    add(
        "hold during",
        true,
        then(volumetric("roll"), &|desk| {
            desk.space().wait(9_400);
        }),
    );
    add(
        "hold, prompt",
        true,
        then(volumetric("roll"), &|desk| {
            desk.space().wait(15_000);
        }),
    );
    add(
        "hold ended too early",
        true,
        then(volumetric("roll"), &|desk| {
            desk.space().wait(21_500);
            desk.space();
        }),
    );
    add(
        "hold long enough",
        true,
        then(volumetric("roll"), &|desk| {
            desk.space().wait(66_700);
        }),
    );
    add("inversion before", true, volumetric("invert"));
    add(
        "inversion down",
        true,
        then(volumetric("invert"), &|desk| {
            desk.space().wait(1_200);
        }),
    );
    add(
        "inversion over",
        true,
        then(volumetric("invert"), &|desk| {
            desk.space().wait(6_200);
        }),
    );
    add(
        "inversion up",
        true,
        then(volumetric("invert"), &|desk| {
            desk.space().wait(3_200);
            desk.space().wait(900);
        }),
    );
    add("settle first", false, volumetric("settle"));
    add(
        "settle foam",
        false,
        then(volumetric("settle"), &|desk| {
            desk.answer("5.75");
        }),
    );
    add(
        "settle wait",
        true,
        then(volumetric("settle"), &|desk| {
            desk.answer("5.75").answer("1.25").wait(43_000);
        }),
    );
    add(
        "settle given up",
        false,
        then(volumetric("settle"), &|desk| {
            desk.wait(4_000);
            desk.answer("5.75").answer("1").wait(120_000);
            desk.answer("5.25").answer("1").wait(120_000);
            desk.answer("4.75").answer("1");
        }),
    );
    add(
        "ended",
        false,
        then(volumetric("settle"), &|desk| {
            desk.answer("5.5").answer("2.5").wait(120_000);
            desk.answer("5.5").answer("2.5");
        }),
    );
    add(
        "void",
        false,
        then(volumetric("inspect"), &|desk| {
            desk.keys("y");
        }),
    );
    add(
        "result",
        true,
        then(volumetric("clean"), &|desk| {
            desk.space();
        }),
    );
    add(
        "closed",
        true,
        then(volumetric("clean"), &|desk| {
            desk.space().space();
        }),
    );
    add(
        "sure?",
        false,
        then(volumetric("clamp"), &|desk| {
            desk.keys("x").enter();
        }),
    );
    add(
        "help",
        false,
        then(volumetric("clamp"), &|desk| {
            desk.keys("?");
        }),
    );
    add(
        "not recorded",
        true,
        then(volumetric("roll"), &|desk| {
            desk.store_works = false;
            desk.space().wait(9_400);
        }),
    );
    add(
        "not recorded, act",
        false,
        then(volumetric("clamp"), &|desk| {
            desk.store_works = false;
            desk.space();
        }),
    );
    add("lift before", true, slump("lift"));
    add(
        "lift too short",
        true,
        then(slump("lift"), &|desk| {
            desk.space().wait(1_400);
        }),
    );
    add(
        "lift in time",
        true,
        then(slump("lift"), &|desk| {
            desk.space().wait(4_400);
        }),
    );
    add(
        "lift late",
        true,
        then(slump("lift"), &|desk| {
            desk.space().wait(8_400);
        }),
    );
    add(
        "slump limit over",
        true,
        then(slump("layer-3"), &|desk| {
            desk.wait(180_000);
        }),
    );
    add(
        "slump ended",
        false,
        then(slump("lift"), &|desk| {
            desk.space().wait(8_400);
            desk.space();
        }),
    );
    add("slump act under a limit", true, slump("layer-2"));
    add("slump stroke count", true, slump("strokes-1"));
    add(
        "slump measured",
        true,
        then(slump("measure"), &|desk| {
            desk.keys("4.25");
        }),
    );
    add(
        "slump result",
        true,
        then(slump("clean"), &|desk| {
            desk.space();
        }),
    );
    for (n, heard) in
        [(5, "LISTENING"), (14, "HEARD “go back”"), (23, "NOT UNDERSTOOD"), (32, "LISTENING"), (8, "MIC OFF")]
    {
        scenes[n].heard = Some(heard);
    }
    scenes
}

fn painted(scene: &Scene, width: u16, height: u16) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    far::draw(&scene.desk.model, scene.heard, scene.desk.now, &mut buf, area);
    buf
}

fn recoloured(mut scene: Scene, theme: ThemeChoice, colours: Colours) -> Scene {
    scene.desk.model.options.theme = theme;
    scene.desk.model = scene.desk.model.with_colours(colours);
    scene
}

fn text_of(buf: &Buffer) -> String {
    let line = |y| (0..buf.area.width).map(|x| buf[(x, y)].symbol()).collect::<String>();
    (0..buf.area.height).map(|y| line(y) + "\n").collect()
}

// ---------------------------------------------------------------------------------------------- how high the number is

/// The field of an alarm in the dark theme.
const FIELD: Color = Color::Rgb(0xff, 0xb0, 0x40);

/// The rows covered by large glyphs, band by band: a band ends where a row has none.
fn bands(buf: &Buffer) -> Vec<u16> {
    let is_ink = |x: u16, y: u16| {
        let cell = &buf[(x, y)];
        // The half row with which a field ends is no glyph.
        matches!(cell.symbol(), "█" | "▀" | "▄") && cell.fg != FIELD
    };
    let mut bands = vec![0];
    for y in 0..buf.area.height {
        let has_ink = (0..buf.area.width).any(|x| is_ink(x, y));
        match bands.last_mut() {
            Some(band) if has_ink => *band += 1,
            Some(0) => {}
            _ => bands.push(0),
        }
    }
    bands
}

/// The rows its digits cover: the first band is the state, the second the number, if it has a digit.
fn number_rows(scene: &Scene, width: u16, height: u16) -> Option<u16> {
    let face = scene.desk.model.face(scene.desk.now);
    let has_digits =
        face.number.contains(|sign: char| sign.is_ascii_digit()) && !matches!(scene.name, "sure?" | "help");
    has_digits.then(|| bands(&painted(scene, width, height))[1])
}

#[test]
fn the_number_is_at_least_five_rows_and_12_percent_high_at_every_kind_of_step() {
    let scenes = scenes();
    let (mut n_measured, mut n_wanted, mut lowest) = (0, 0, 100);
    for scene in &scenes {
        let has_number = number_rows(scene, 80, 24).is_some();
        assert_eq!(has_number, scene.has_number, "{}", scene.name);
        for height in (24..=60).chain([72, 100, 150, 200]) {
            for width in [80, 120, 200] {
                let Some(rows) = number_rows(scene, width, height) else { continue };
                let percent = u32::from(rows) * 100 / u32::from(height);
                let place =
                    || format!("{} at {width} × {height}:\n{}", scene.name, text_of(&painted(scene, width, height)));
                assert!(rows >= 5, "{rows} rows, {}", place());
                assert!(u32::from(rows) * 100 >= u32::from(height) * 12, "{rows} rows, {}", place());
                n_measured += 1;
                n_wanted += usize::from(rows * 5 >= height);
                lowest = lowest.min(percent);
            }
        }
    }
    println!("{n_measured} numbers, {n_wanted} of them a fifth or more, the lowest {lowest} %");
    assert!(n_measured > 3_000);
    assert!(n_wanted * 10 >= n_measured * 9, "a fifth is wanted: {n_wanted} of {n_measured}");
}

#[test]
fn a_long_number_becomes_slimmer_but_never_lower_than_it_may() {
    let desk = volumetric("alcohol-amount");
    for number in ["12.25-12.50", "100000.00", "1", "12:34:56", "-0.25", "2 3/4"] {
        for (width, height) in [(80, 24), (80, 60), (80, 40), (120, 60), (80, 100)] {
            let asked = Asked { number, side: "lb/ft³", line: "Say yes" };
            let mut buf = Buffer::empty(Rect::new(0, 0, width, height));
            far::draw_beside(
                &desk.model,
                &Beside { asked: Some(asked), ..Beside::default() },
                desk.now,
                &mut buf,
                Rect::new(0, 0, width, height),
            );
            let rows = bands(&buf)[1];
            assert!(rows >= 5 && rows * 25 >= height * 3, "{number} at {width} × {height}:\n{}", text_of(&buf));
            assert!(text_of(&buf).contains("lb/ft³"), "{number} at {width} × {height}:\n{}", text_of(&buf));
        }
    }
}

#[test]
fn where_no_number_matters_the_line_is_the_biggest_thing() {
    for scene in scenes().iter().filter(|scene| matches!(scene.name, "act" | "words" | "choice" | "not recorded, act"))
    {
        for (width, height) in [(80, 24), (120, 40), (200, 60)] {
            let bands = bands(&painted(scene, width, height));
            let (state, line) = (bands[0], bands[1]);
            assert!(line > state, "{} at {width} × {height}: {bands:?}", scene.name);
        }
    }
}

// ---------------------------------------------------------------------------------------------- contrast

/// What a colour looks like: any shade as it is, and the palette of 256 above its first sixteen by the formula that
/// terminals share (levels 0, 95, 135 … 255 of a cube, then greys from 8 in steps of 10; common practice, no source).
fn shade(color: Color) -> [u8; 3] {
    let level = |n: u8| if n == 0 { 0 } else { 55 + 40 * n };
    match color {
        Color::Rgb(r, g, b) => [r, g, b],
        Color::Indexed(n @ 232..) => [8 + 10 * (n - 232); 3],
        Color::Indexed(n @ 16..) => [level((n - 16) / 36), level((n - 16) / 6 % 6), level((n - 16) % 6)],
        other => panic!("nobody knows the shade of {other:?}"),
    }
}

/// Relative luminance of a colour in sRGB. Source: W3C, Web Content Accessibility Guidelines (WCAG) 2.2, definition of
/// "relative luminance" (with 0.04045; 0.03928 before May 2021).
#[allow(clippy::float_arithmetic, reason = "contrast of colours is no reading of an instrument")]
fn luminance(shade: [u8; 3]) -> f64 {
    let [r, g, b] = shade.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// Source: the same, definition of "contrast ratio"; at least 7 : 1 by success criterion 1.4.6, Contrast (Enhanced).
#[allow(clippy::float_arithmetic, reason = "contrast of colours is no reading of an instrument")]
fn contrast(a: Color, b: Color) -> f64 {
    let (a, b) = (luminance(shade(a)), luminance(shade(b)));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

const COLOURED: [(ThemeChoice, Colours, Depth); 4] = [
    (ThemeChoice::Dark, Colours::True, Depth::True),
    (ThemeChoice::Light, Colours::True, Depth::True),
    (ThemeChoice::Dark, Colours::TwoHundredFiftySix, Depth::Indexed),
    (ThemeChoice::Light, Colours::TwoHundredFiftySix, Depth::Indexed),
];

#[test]
fn the_formula_is_that_of_the_guidelines() {
    let white = Color::Rgb(255, 255, 255);
    assert_eq!(format!("{:.2}", contrast(white, Color::Rgb(0, 0, 0))), "21.00", "the greatest there is");
    assert_eq!(format!("{:.2}", contrast(white, white)), "1.00");
    // From memory: the grey that just passes 4.5 : 1 on white is #767676.
    assert_eq!(format!("{:.2}", contrast(white, Color::Rgb(0x76, 0x76, 0x76))), "4.54");
}

#[test]
fn every_cell_that_is_sent_has_a_contrast_of_at_least_7() {
    let mut least = f64::MAX;
    let mut n_seen = 0;
    for (theme, colours, depth) in COLOURED {
        for scene in scenes() {
            let scene = recoloured(scene, theme, colours);
            for (width, height) in [(80, 24), (120, 40), (40, 10)] {
                let buf = painted(&scene, width, height);
                let sent = shown_by_a_terminal(&buf, depth);
                for (x, y) in (0..height).flat_map(|y| (0..width).map(move |x| (x, y))) {
                    let cell = &buf[(x, y)];
                    let place = format!("{theme:?} {colours:?}, {}, {x} {y}: {:?}", scene.name, cell.symbol());
                    let (fg, bg) = sent(x, y);
                    assert_eq!(bg, cell.bg, "the ground is sent as it was drawn, {place}");
                    // The shade of the ground is known everywhere.
                    shade(bg);
                    let odd = Modifier::REVERSED | Modifier::DIM | Modifier::HIDDEN;
                    assert!(!cell.modifier.intersects(odd), "{place}");
                    if cell.symbol() == " " {
                        continue;
                    }
                    assert_eq!(fg, cell.fg, "the ink is sent as it was drawn, {place}");
                    let contrast = contrast(fg, bg);
                    assert!(contrast >= 7.0, "{contrast:.2}: {fg:?} on {bg:?}, {place}");
                    least = least.min(contrast);
                    n_seen += 1;
                }
            }
        }
    }
    println!("{n_seen} cells with ink, the least contrast {least:.2} : 1");
    assert!(n_seen > 100_000);
}

/// What a terminal that got the painter's bytes shows: ink and ground of each cell.
fn shown_by_a_terminal(buf: &Buffer, depth: Depth) -> impl Fn(u16, u16) -> (Color, Color) + use<> {
    let size = Size::new(buf.area.width, buf.area.height);
    let mut terminal = Terminal::new(Painter::new(size, depth)).unwrap();
    terminal.draw(|frame| frame.buffer_mut().merge(buf)).unwrap();
    let full = |n| std::num::NonZeroU16::new(n).unwrap();
    let mut parser = vt100::Parser::new(full(size.height), full(size.width), 0);
    parser.process(terminal.backend().bytes());
    let color = |color| match color {
        vt100::Color::Default => Color::Reset,
        vt100::Color::Idx(n) => Color::Indexed(n),
        vt100::Color::Rgb(r, g, b) => Color::Rgb(r, g, b),
    };
    move |x, y| {
        let cell = parser.screen().cell(y, x).unwrap();
        (color(cell.fgcolor()), color(cell.bgcolor()))
    }
}

#[test]
fn the_number_is_black_on_white_or_white_on_black() {
    for (theme, colours, _) in COLOURED {
        let scene = scenes().into_iter().find(|scene| scene.name == "hold during").unwrap();
        let buf = painted(&recoloured(scene, theme, colours), 80, 24);
        let block = buf.content.iter().rfind(|cell| cell.symbol() == "█").unwrap();
        assert_eq!(format!("{:.1}", contrast(block.fg, block.bg)), "21.0", "{theme:?} {colours:?}");
    }
}

#[test]
fn nothing_is_said_by_colour_alone_and_nothing_blinks() {
    let all = [Colours::True, Colours::TwoHundredFiftySix, Colours::Sixteen];
    for theme in [ThemeChoice::Dark, ThemeChoice::Light, ThemeChoice::Mono] {
        for colours in all {
            for scene in scenes() {
                let scene = recoloured(scene, theme, colours);
                let buf = painted(&scene, 80, 24);
                let blinks = Modifier::SLOW_BLINK | Modifier::RAPID_BLINK;
                assert!(buf.content.iter().all(|cell| !cell.modifier.intersects(blinks)), "{}", scene.name);
                let model = &scene.desk.model;
                let is_alarm = model.face(scene.desk.now).is_alarm;
                let word = far::word(model, scene.desk.now);
                assert!(!is_alarm || matches!(word, "LATE" | "TURN NOW" | "NO TIME"), "{}: {word}", scene.name);
                if theme == ThemeChoice::Mono {
                    let plain = |cell: &Cell| cell.fg == Color::Reset && cell.bg == Color::Reset;
                    assert!(buf.content.iter().all(plain), "{}", scene.name);
                    let n_reversed = buf.content.iter().filter(|cell| cell.modifier.contains(Modifier::REVERSED));
                    assert!(!is_alarm || n_reversed.count() > 60, "the alarm is a field, {}", scene.name);
                }
            }
        }
    }
}

// ---------------------------------------------------------------------------------------------- words

#[test]
fn every_kind_of_step_has_its_word() {
    let words: Vec<String> = scenes()
        .iter()
        .map(|scene| format!("{}: {}", scene.name, far::word(&scene.desk.model, scene.desk.now)))
        .collect();
    insta::assert_snapshot!("words", words.join("\n"));
}

#[test]
fn what_is_not_recorded_is_said_at_every_size() {
    for scene in scenes().iter().filter(|scene| scene.name.starts_with("not recorded")) {
        for height in (1..=30).chain([40, 60]) {
            for width in [12, 20, 40, 59, 60, 80, 120, 200] {
                let text = text_of(&painted(scene, width, height));
                assert!(text.contains("NOT RECORDED"), "{} at {width} × {height}:\n{text}", scene.name);
            }
        }
    }
}

#[test]
fn what_stands_beside_the_run_is_shown() {
    let desk = volumetric("strokes-1");
    let beside = Beside {
        heard: Some("LISTENING"),
        asked: Some(Asked { number: "25", side: "strokes", line: "Say that is right" }),
        other: Some(("density: begin now", true)),
        offered: Some("that is right"),
    };
    let area = Rect::new(0, 0, 80, 24);
    let mut buf = Buffer::empty(area);
    far::draw_beside(&desk.model, &beside, desk.now, &mut buf, area);
    for words in ["density: begin now", "that is right", "strokes"] {
        assert!(text_of(&buf).contains(words), "{words:?}:\n{}", text_of(&buf));
    }
    insta::assert_snapshot!("beside", text_of(&buf));
}

// ---------------------------------------------------------------------------------------------- moments and sizes

#[test]
fn the_picture_changes_exactly_when_it_said_it_would() {
    for mut scene in scenes() {
        let until = Tick(scene.desk.now.0 + 65_000);
        while let Some(change) = far::next_picture(&scene.desk.model, scene.desk.now).filter(|at| *at <= until) {
            assert!(change > scene.desk.now, "{}", scene.name);
            let before = painted(&scene, 80, 24);
            scene.desk.now = Tick(change.0 - 1);
            assert!(painted(&scene, 80, 24) == before, "{} changed before {change:?}", scene.name);
            scene.desk.now = change;
            assert!(painted(&scene, 80, 24) != before, "{} did not change at {change:?}", scene.name);
        }
        let before = painted(&scene, 80, 24);
        scene.desk.now = until;
        assert!(painted(&scene, 80, 24) == before, "{} changed and did not say so", scene.name);
    }
}

#[test]
fn it_wakes_no_more_often_than_the_ordinary_screen() {
    let wakes = |model: &Model, from: Tick, next: &dyn Fn(&Model, Tick) -> Option<Tick>| {
        let (mut model, mut now, mut n) = (model.clone(), from, 0);
        while let Some(change) = next(&model, now).filter(|at| at.0 <= from.0 + 120_000) {
            assert!(change > now);
            now = change;
            update(&mut model, Input::Wake, moment(now));
            n += 1;
        }
        n
    };
    for scene in scenes() {
        let far = wakes(&scene.desk.model, scene.desk.now, &far::next_change);
        let ordinary = wakes(&scene.desk.model, scene.desk.now, &coach::screen::next_change);
        assert!(far <= ordinary, "{}: {far} and {ordinary}", scene.name);
    }
}

#[test]
fn no_size_makes_it_panic_and_nothing_is_drawn_outside() {
    let scenes = scenes();
    // Numbers that only look random: the same at each run.
    let mut seed = 1_u32;
    let mut next = |below: u16| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 16) as u16 % below
    };
    for n in 0..1_500 {
        let scene = &scenes[n % scenes.len()];
        let (width, height) = match n % 4 {
            0 => (1 + next(12), 1 + next(12)),
            1 => (1 + next(90), 1 + next(30)),
            2 => (1 + next(260), 1 + next(130)),
            _ => (1 + next(260), 1 + next(6)),
        };
        let all = Rect::new(0, 0, width + next(4), height + next(4));
        let area = Rect::new(next(3), next(3), width, height);
        let mut buf = Buffer::empty(all);
        far::draw(&scene.desk.model, scene.heard, scene.desk.now, &mut buf, area);
        let inside = area.intersection(all);
        for y in 0..all.height {
            for x in 0..all.width {
                let is_inside = inside.contains(Position { x, y });
                assert!(is_inside || buf[(x, y)] == Cell::default(), "{} in {area:?} of {all:?}", scene.name);
            }
        }
    }
}

// ---------------------------------------------------------------------------------------------- pictures

#[test]
fn pictures() {
    let scenes = scenes();
    let shot = |name: &str, width, height| {
        let scene = scenes.iter().find(|scene| scene.name == name).unwrap();
        text_of(&painted(scene, width, height)).lines().map(|line| format!("{line:?}\n")).collect::<String>()
    };
    for name in [
        "act",
        "choice",
        "act, limit over",
        "count",
        "hold during",
        "inversion over",
        "settle wait",
        "ended",
        "result",
        "sure?",
        "not recorded",
        "lift in time",
        "number between marks",
    ] {
        insta::assert_snapshot!(
            name.replace([' ', ',', '?'], "_"),
            format!("{}\n{}", shot(name, 80, 24), shot(name, 120, 40))
        );
    }
    for name in ["hold during", "slump limit over"] {
        insta::assert_snapshot!(format!("{}_200x60", name.replace(' ', "_")), shot(name, 200, 60));
    }
    insta::assert_snapshot!("small", format!("{}\n{}", shot("hold during", 40, 12), shot("act, limit over", 30, 8)));
}

#[test]
fn without_colour_an_alarm_is_a_reversed_field() {
    let scene = scenes().into_iter().find(|scene| scene.name == "act, limit over").unwrap();
    let buf = painted(&recoloured(scene, ThemeChoice::Mono, Colours::True), 80, 24);
    // A reversed blank is shown as a shade.
    let sign = |cell: &Cell| match (cell.symbol(), cell.modifier.contains(Modifier::REVERSED)) {
        (" ", true) => "░".to_owned(),
        (symbol, _) => symbol.to_owned(),
    };
    let picture: String = buf.content.chunks(80).map(|row| row.iter().map(sign).collect::<String>() + "\n").collect();
    insta::assert_snapshot!("mono_act_limit_over", picture);
}

//! The painter against a terminal: whatever is drawn, the terminal shows it.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::num::NonZeroU16;

use coach::rim::out::{Depth, Painter};
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect, Size};
use ratatui::style::{Color, Modifier, Style};

const COLUMNS: u16 = 17;
const ROWS: u16 = 5;

fn full(n: u16) -> NonZeroU16 {
    NonZeroU16::new(n).unwrap()
}

/// A stroke of the brush: where, what, how.
#[derive(Clone, Debug)]
struct Stroke {
    x: u16,
    y: u16,
    text: String,
    style: Style,
}

fn colors() -> impl Strategy<Value = Color> {
    prop_oneof![
        3 => Just(Color::Reset),
        1 => (0..16_u8).prop_map(Color::Indexed),
        1 => Just(Color::Yellow),
        1 => Just(Color::LightBlue),
        1 => any::<u8>().prop_map(Color::Indexed),
        1 => any::<[u8; 3]>().prop_map(|[r, g, b]| Color::Rgb(r, g, b)),
    ]
}

fn modifiers() -> impl Strategy<Value = Modifier> {
    // Those that the model terminal knows.
    let known = Modifier::BOLD | Modifier::DIM | Modifier::ITALIC | Modifier::UNDERLINED | Modifier::REVERSED;
    any::<u16>().prop_map(move |bits| {
        let with = Modifier::from_bits_truncate(bits) & known;
        // It knows one weight at a time.
        if with.contains(Modifier::BOLD) { with - Modifier::DIM } else { with }
    })
}

fn strokes() -> impl Strategy<Value = Vec<Stroke>> {
    let text = prop_oneof![
        Just("0:45".to_owned()),
        Just("█▄ ▀█".to_owned()),
        Just("      ".to_owned()),
        Just("x".to_owned()),
        Just("½ % ± é".to_owned()),
        "[a-z ]{1,20}",
    ];
    let stroke = (0..COLUMNS, 0..ROWS, text, colors(), colors(), modifiers()).prop_map(|(x, y, text, fg, bg, with)| {
        Stroke { x, y, text, style: Style::new().fg(fg).bg(bg).add_modifier(with) }
    });
    proptest::collection::vec(stroke, 0..8)
}

fn paint(buffer: &mut Buffer, strokes: &[Stroke]) {
    for stroke in strokes {
        buffer.set_string(stroke.x, stroke.y, &stroke.text, Style::reset().patch(stroke.style));
    }
}

fn shown(color: Color) -> vt100::Color {
    let named = [
        Color::Black,
        Color::Red,
        Color::Green,
        Color::Yellow,
        Color::Blue,
        Color::Magenta,
        Color::Cyan,
        Color::Gray,
        Color::DarkGray,
        Color::LightRed,
        Color::LightGreen,
        Color::LightYellow,
        Color::LightBlue,
        Color::LightMagenta,
        Color::LightCyan,
        Color::White,
    ];
    match color {
        Color::Reset => vt100::Color::Default,
        Color::Indexed(n) => vt100::Color::Idx(n),
        Color::Rgb(r, g, b) => vt100::Color::Rgb(r, g, b),
        other => vt100::Color::Idx(named.iter().position(|known| *known == other).unwrap() as u8),
    }
}

fn assert_shows(parser: &vt100::Parser, buffer: &Buffer) {
    let screen = parser.screen();
    for y in 0..buffer.area.height {
        let mut covered = 0;
        for x in 0..buffer.area.width {
            let cell = &buffer[(x, y)];
            if covered > 0 {
                covered -= 1;
                continue;
            }
            let there = screen.cell(y, x).unwrap();
            let symbol = if there.contents().is_empty() { " " } else { there.contents() };
            assert_eq!(symbol, cell.symbol(), "column {x}, row {y}");
            covered = if there.is_wide() { 1 } else { 0 };
            assert_eq!(there.bgcolor(), shown(cell.bg), "ground at column {x}, row {y}");
            let with = cell.modifier;
            assert_eq!(there.underline(), with.contains(Modifier::UNDERLINED), "line under column {x}, row {y}");
            assert_eq!(there.inverse(), with.contains(Modifier::REVERSED), "reverse at column {x}, row {y}");
            // Of a blank cell, ink and weight are not seen, unless it is reversed or underlined.
            if cell.symbol() != " " || with.intersects(Modifier::UNDERLINED | Modifier::REVERSED) {
                assert_eq!(there.fgcolor(), shown(cell.fg), "ink at column {x}, row {y}");
                assert_eq!(there.bold(), with.contains(Modifier::BOLD), "weight at column {x}, row {y}");
                assert_eq!(there.dim(), with.contains(Modifier::DIM), "weight at column {x}, row {y}");
                assert_eq!(there.italic(), with.contains(Modifier::ITALIC), "slant at column {x}, row {y}");
            }
        }
    }
}

proptest! {
    #[test]
    fn a_terminal_shows_the_last_screen_whatever_came_before(
        frames in proptest::collection::vec((strokes(), proptest::option::of((0..COLUMNS, 0..ROWS))), 1..12),
    ) {
        let mut parser = vt100::Parser::new(full(ROWS), full(COLUMNS), 0);
        parser.process(b"\x1b[?25l");
        let mut terminal = Terminal::new(Painter::new(Size::new(COLUMNS, ROWS), Depth::True)).unwrap();
        for (strokes, cursor) in &frames {
            terminal
                .draw(|frame| {
                    paint(frame.buffer_mut(), strokes);
                    if let Some((x, y)) = cursor {
                        frame.set_cursor_position(Position { x: *x, y: *y });
                    }
                })
                .unwrap();
            parser.process(terminal.backend().bytes());
            terminal.backend_mut().take();
            let mut wanted = Buffer::empty(Rect::new(0, 0, COLUMNS, ROWS));
            paint(&mut wanted, strokes);
            assert_shows(&parser, &wanted);
            prop_assert_eq!(parser.screen().hide_cursor(), cursor.is_none());
            if let Some((x, y)) = cursor {
                prop_assert_eq!(parser.screen().cursor_position(), (*y, *x));
            }
        }
    }

    #[test]
    fn a_window_that_changes_its_size_shows_everything_again(
        sizes in proptest::collection::vec((1..30_u16, 1..12_u16, strokes()), 1..8),
    ) {
        let mut parser = vt100::Parser::new(full(ROWS), full(COLUMNS), 0);
        let mut terminal = Terminal::new(Painter::new(Size::new(COLUMNS, ROWS), Depth::True)).unwrap();
        for (columns, rows, strokes) in &sizes {
            let fits: Vec<Stroke> =
                strokes.iter().filter(|stroke| stroke.x < *columns && stroke.y < *rows).cloned().collect();
            parser.screen_mut().set_size(full(*rows), full(*columns));
            terminal.backend_mut().resize(Size::new(*columns, *rows));
            terminal.draw(|frame| paint(frame.buffer_mut(), &fits)).unwrap();
            parser.process(terminal.backend().bytes());
            terminal.backend_mut().take();
            let mut wanted = Buffer::empty(Rect::new(0, 0, *columns, *rows));
            paint(&mut wanted, &fits);
            assert_shows(&parser, &wanted);
        }
    }
}

#[test]
fn wide_letters_keep_what_follows_them_in_place() {
    let mut parser = vt100::Parser::new(full(ROWS), full(COLUMNS), 0);
    let mut terminal = Terminal::new(Painter::new(Size::new(COLUMNS, ROWS), Depth::True)).unwrap();
    for text in ["水泥 ready", "水 泥 5 %", "cement 5 %", "x水泥水泥水泥y", ""] {
        terminal.draw(|frame| frame.render_widget(text, frame.area())).unwrap();
        parser.process(terminal.backend().bytes());
        terminal.backend_mut().take();
        assert_eq!(parser.screen().contents().trim_end(), text);
    }
}

/// The bytes from one screen to the next.
fn step(from: &str, to: &str) -> String {
    let mut terminal = Terminal::new(Painter::new(Size::new(20, 3), Depth::True)).unwrap();
    terminal.draw(|frame| frame.render_widget(from, frame.area())).unwrap();
    terminal.backend_mut().take();
    terminal.draw(|frame| frame.render_widget(to, frame.area())).unwrap();
    String::from_utf8(terminal.backend().bytes().to_vec()).unwrap()
}

#[test]
fn a_clock_costs_its_digits_and_the_way_to_them() {
    assert_eq!(step("0:45 left", "0:45 left"), "", "nothing changed, nothing sent");
    assert_eq!(step("0:45 left", "0:44 left"), "\x1b[6D4", "the cursor stands after the last word");
    assert_eq!(step("0:45", "0:44"), "\x084");
    assert_eq!(step("12\n\n0:45", "12\n\n0:46"), "\x086");
}

#[test]
fn no_color_leaves_weight_and_reverse_only() {
    for (depth, bytes) in [
        (Depth::True, "\x1b[1;38;2;255;0;0mx"),
        (Depth::Indexed, "\x1b[1;38;5;196mx"),
        (Depth::Named, "\x1b[1;91mx"),
        (Depth::None, "\x1b[1mx"),
    ] {
        let mut terminal = Terminal::new(Painter::new(Size::new(3, 1), depth)).unwrap();
        let style = Style::new().fg(Color::Rgb(255, 0, 0)).add_modifier(Modifier::BOLD);
        terminal.draw(|frame| frame.buffer_mut().set_string(0, 0, "x", style)).unwrap();
        let sent = String::from_utf8(terminal.backend().bytes().to_vec()).unwrap();
        assert_eq!(sent, format!("\x1b[H{bytes}"), "{depth:?}");
    }
    for (no_color, colorterm, term, depth) in [
        (Some("1"), Some("truecolor"), Some("xterm-256color"), Depth::None),
        (Some(""), Some("truecolor"), Some("xterm-256color"), Depth::True),
        (None, Some("24bit"), None, Depth::True),
        (None, None, Some("screen-256color"), Depth::Indexed),
        (None, None, Some("linux"), Depth::Named),
        (None, None, Some("dumb"), Depth::None),
    ] {
        assert_eq!(Depth::announced(no_color, colorterm, term), depth);
    }
}

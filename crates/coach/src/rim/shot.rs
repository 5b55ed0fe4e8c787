//! A picture of the screen: the program's own buffer as SVG.
//!
//! Here: cells to shapes and text. Blocks and lines that fill a cell to its edge are drawn as shapes, so that the
//! picture has no seams whatever font shows it. Not here: what is on the screen.

use std::fmt::Write as _;

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};

use super::out::rgb;
use crate::screen::ThemeChoice;

/// The terminal's own colours.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Paper {
    ink: [u8; 3],
    ground: [u8; 3],
}

impl Paper {
    /// Those of a terminal that fits the theme.
    pub fn of(theme: ThemeChoice) -> Self {
        let (black, white) = ([18, 20, 24], [236, 238, 240]);
        match theme {
            ThemeChoice::Light => Self { ink: black, ground: [255, 255, 255] },
            ThemeChoice::Dark | ThemeChoice::Mono => Self { ink: white, ground: black },
        }
    }
}

/// A cell in hundredths of a picture unit, so that whole numbers do.
const WIDTH: u32 = 840;
const HEIGHT: u32 = 1_700;

/// The buffer as an SVG document.
pub fn svg(buffer: &Buffer, paper: Paper) -> String {
    let area = buffer.area;
    let (width, height) = (u32::from(area.width) * WIDTH, u32::from(area.height) * HEIGHT);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" \
         font-family=\"DejaVu Sans Mono,Menlo,Consolas,Liberation Mono,monospace\" font-size=\"14\" \
         xml:space=\"preserve\">\n<rect width=\"100%\" height=\"100%\" fill=\"{2}\"/>\n",
        unit(width),
        unit(height),
        hex(paper.ground)
    );
    for y in 0..area.height {
        row(&mut svg, buffer, y, paper);
    }
    svg.push_str("</svg>\n");
    svg
}

/// What a cell looks like: ink, ground, weight.
#[derive(Copy, Clone, PartialEq, Eq)]
struct Look {
    ink: [u8; 3],
    ground: [u8; 3],
    bold: bool,
    italic: bool,
    under: bool,
}

fn look(cell: &Cell, paper: Paper) -> Look {
    let (mut ink, mut ground) = (rgb(cell.fg, paper.ink), rgb(cell.bg, paper.ground));
    if cell.modifier.contains(Modifier::REVERSED) {
        std::mem::swap(&mut ink, &mut ground);
    }
    if cell.modifier.contains(Modifier::DIM) && cell.fg == Color::Reset {
        for (ink, ground) in ink.iter_mut().zip(ground) {
            *ink = ((u16::from(*ink) * 2 + u16::from(ground)) / 3) as u8;
        }
    }
    let is = |modifier| cell.modifier.contains(modifier);
    Look { ink, ground, bold: is(Modifier::BOLD), italic: is(Modifier::ITALIC), under: is(Modifier::UNDERLINED) }
}

fn row(svg: &mut String, buffer: &Buffer, y: u16, paper: Paper) {
    let area = buffer.area;
    let cell = |x: u16| &buffer[(area.x + x, area.y + y)];
    let top = u32::from(y) * HEIGHT;
    let mut x = 0;
    // Grounds first: what follows is drawn on them.
    while x < area.width {
        let ground = look(cell(x), paper).ground;
        let from = x;
        while x < area.width && look(cell(x), paper).ground == ground {
            x += 1;
        }
        if ground != paper.ground {
            rect(svg, u32::from(from) * WIDTH, top, u32::from(x - from) * WIDTH, HEIGHT, ground);
        }
    }
    x = 0;
    while x < area.width {
        let this = look(cell(x), paper);
        let symbol = cell(x).symbol();
        let from = u32::from(x) * WIDTH;
        if let Some(shapes) = block(symbol) {
            for &[left, above, width, height] in shapes {
                rect(
                    svg,
                    from + WIDTH * left / 8,
                    top + HEIGHT * above / 8,
                    WIDTH * width / 8,
                    HEIGHT * height / 8,
                    this.ink,
                );
            }
            x += 1;
            continue;
        }
        if symbol.trim().is_empty() && !this.under {
            x += 1;
            continue;
        }
        let start = x;
        let mut text = String::new();
        while x < area.width && look(cell(x), paper) == this && block(cell(x).symbol()).is_none() {
            escape(&mut text, cell(x).symbol());
            x += 1;
        }
        let text = text.trim_end();
        // Writing to memory cannot fail.
        let _ =
            write!(svg, "<text x=\"{}\" y=\"{}\" fill=\"{}\"", unit(from), unit(top + HEIGHT * 6 / 8), hex(this.ink));
        if this.bold {
            svg.push_str(" font-weight=\"bold\"");
        }
        if this.italic {
            svg.push_str(" font-style=\"italic\"");
        }
        if this.under {
            svg.push_str(" text-decoration=\"underline\"");
        }
        let n_cells = u32::from(x - start);
        let n_blank = buffer_blank_tail(buffer, y, start, x);
        let _ = writeln!(svg, " textLength=\"{}\">{text}</text>", unit((n_cells - n_blank) * WIDTH));
    }
}

fn buffer_blank_tail(buffer: &Buffer, y: u16, from: u16, to: u16) -> u32 {
    let area = buffer.area;
    (from..to).rev().take_while(|x| buffer[(area.x + x, area.y + y)].symbol().trim().is_empty()).count() as u32
}

/// The shapes of a block character in eighths of a cell: left, top, width, height.
fn block(symbol: &str) -> Option<&'static [[u32; 4]]> {
    Some(match symbol {
        "█" => &[[0, 0, 8, 8]],
        "▀" => &[[0, 0, 8, 4]],
        "▄" => &[[0, 4, 8, 4]],
        "▌" => &[[0, 0, 4, 8]],
        "▐" => &[[4, 0, 4, 8]],
        "▘" => &[[0, 0, 4, 4]],
        "▝" => &[[4, 0, 4, 4]],
        "▖" => &[[0, 4, 4, 4]],
        "▗" => &[[4, 4, 4, 4]],
        "▚" => &[[0, 0, 4, 4], [4, 4, 4, 4]],
        "▞" => &[[4, 0, 4, 4], [0, 4, 4, 4]],
        "▛" => &[[0, 0, 8, 4], [0, 4, 4, 4]],
        "▜" => &[[0, 0, 8, 4], [4, 4, 4, 4]],
        "▙" => &[[0, 0, 4, 4], [0, 4, 8, 4]],
        "▟" => &[[4, 0, 4, 4], [0, 4, 8, 4]],
        "▁" => &[[0, 7, 8, 1]],
        "▂" => &[[0, 6, 8, 2]],
        "▃" => &[[0, 5, 8, 3]],
        "▅" => &[[0, 3, 8, 5]],
        "▆" => &[[0, 2, 8, 6]],
        "▇" => &[[0, 1, 8, 7]],
        "▔" => &[[0, 0, 8, 1]],
        "▏" => &[[0, 0, 1, 8]],
        "▎" => &[[0, 0, 2, 8]],
        "▍" => &[[0, 0, 3, 8]],
        "▋" => &[[0, 0, 5, 8]],
        "▊" => &[[0, 0, 6, 8]],
        "▉" => &[[0, 0, 7, 8]],
        "▕" => &[[7, 0, 1, 8]],
        _ => return None,
    })
}

fn rect(svg: &mut String, x: u32, y: u32, width: u32, height: u32, fill: [u8; 3]) {
    // Writing to memory cannot fail.
    let _ = writeln!(
        svg,
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" shape-rendering=\"crispEdges\"/>",
        unit(x),
        unit(y),
        unit(width),
        unit(height),
        hex(fill)
    );
}

fn unit(hundredths: u32) -> String {
    match hundredths % 100 {
        0 => (hundredths / 100).to_string(),
        rest => format!("{}.{rest:02}", hundredths / 100),
    }
}

fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn escape(text: &mut String, symbol: &str) {
    match symbol {
        "" => {}
        "&" => text.push_str("&amp;"),
        "<" => text.push_str("&lt;"),
        ">" => text.push_str("&gt;"),
        other => text.push_str(other),
    }
}

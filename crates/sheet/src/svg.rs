//! The timeline as SVG: a picture alone, or inside the HTML.
//!
//! **Invariant:** nothing is loaded from anywhere and nothing runs: shapes, text and a description, no more.

#![expect(clippy::float_arithmetic, reason = "places on paper are binary floats; no reading or limit is among them")]

use std::fmt::Write as _;

use crate::chart::{self, Anchor, Chart, Shape};
use crate::markup::escape;
use crate::palette::Ink;
use crate::{Sheet, words};

/// The width of the picture in points.
const WIDTH: f32 = 540.0;

const TYPEFACES: &str = "Helvetica, Arial, 'Liberation Sans', sans-serif";

/// The timeline as a file of its own. An empty picture if nothing was timed.
pub fn render(sheet: &Sheet) -> String {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    match chart::draw(sheet, WIDTH, 1.0) {
        Some(chart) => out.push_str(&drawing(sheet, &chart, true)),
        None => out.push_str(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"540\" height=\"1\"><title>No timeline</title></svg>\n",
        ),
    }
    out
}

/// The timeline to stand inside an HTML page, its type multiplied by `scale`; `None` if nothing was timed.
pub(crate) fn inline(sheet: &Sheet, scale: f32) -> Option<String> {
    chart::draw(sheet, WIDTH, scale).map(|chart| drawing(sheet, &chart, false))
}

fn drawing(sheet: &Sheet, chart: &Chart, alone: bool) -> String {
    let height: f32 = chart.with_legend().map(|strip| strip.height).sum();
    let (width, height) = (number(WIDTH), number(height));
    let size = if alone { format!(" width=\"{width}pt\" height=\"{height}pt\"") } else { String::new() };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {width} {height}\" role=\"img\" \
         aria-labelledby=\"timeline-title timeline-description\" font-family=\"{TYPEFACES}\">\n"
    );
    let title = words::joined(" ", &["Timeline of sample", &sheet.head.sample]);
    let _ = writeln!(out, "<title id=\"timeline-title\">{}</title>", escape(&title));
    let _ = writeln!(out, "<desc id=\"timeline-description\">{}</desc>", escape(&described(sheet)));
    if alone {
        let _ = writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"{}\"/>", Ink::Paper.hex());
    }
    let mut top = 0.0;
    for strip in chart.with_legend() {
        let _ = writeln!(out, "<g transform=\"translate(0 {})\">", number(top));
        for shape in &strip.shapes {
            draw(&mut out, shape);
        }
        out.push_str("</g>\n");
        top += strip.height;
    }
    out.push_str("</svg>\n");
    out
}

/// What the picture shows, for somebody who cannot see it.
fn described(sheet: &Sheet) -> String {
    let rows = sheet.timeline.rows.iter().map(|row| {
        let from = row.blocks.iter().map(|block| block.from_s.min(block.to_s)).min();
        let to = row.blocks.iter().map(|block| block.from_s.max(block.to_s)).max();
        match from.zip(to) {
            Some((from, to)) => {
                format!("{} from {} to {}", row.name, minutes(from), minutes(to))
            }
            None => row.name.clone(),
        }
    });
    let rows: Vec<String> = rows.collect();
    format!("Minutes and seconds from the last portion. {}.", rows.join("; "))
}

fn minutes(second: i64) -> String {
    let sign = if second < 0 { "\u{2212}" } else { "" };
    let second = second.unsigned_abs();
    format!("{sign}{}:{:02}", second / 60, second % 60)
}

fn draw(out: &mut String, shape: &Shape) {
    let _ = match shape {
        Shape::Bar { x, y, width, height, fill, edge } => {
            let edge = edge.map(|ink| format!(" stroke=\"{}\" stroke-width=\"0.6\"", ink.hex())).unwrap_or_default();
            let (x, y, width, height) = (number(*x), number(*y), number(*width), number(*height));
            let fill = fill.hex();
            writeln!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{fill}\"{edge}/>")
        }
        Shape::Stroke { from, to, width, ink, dashed } => {
            let dashes = if *dashed { " stroke-dasharray=\"1.6 1.6\"" } else { "" };
            let [x1, y1, x2, y2] = [from.0, from.1, to.0, to.1].map(number);
            let (ink, width) = (ink.hex(), number(*width));
            writeln!(
                out,
                "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"{ink}\" stroke-width=\"{width}\"{dashes}/>"
            )
        }
        Shape::Filled { points, ink } => {
            let points: Vec<String> = points.iter().map(|(x, y)| format!("{},{}", number(*x), number(*y))).collect();
            writeln!(out, "<polygon points=\"{}\" fill=\"{}\"/>", points.join(" "), ink.hex())
        }
        Shape::Words { x, baseline, size, anchor, bold, ink, text } => {
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            let weight = if *bold { " font-weight=\"700\"" } else { "" };
            let (x, y, size) = (number(*x), number(*baseline), number(*size));
            let (ink, text) = (ink.hex(), escape(text));
            writeln!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{anchor}{weight} fill=\"{ink}\">{text}</text>")
        }
    };
}

/// A coordinate with two places at most.
fn number(value: f32) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

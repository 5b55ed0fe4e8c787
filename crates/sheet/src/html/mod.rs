//! The sheet as a page for a browser, made to be printed.
//!
//! **Invariant:** one file, no script, nothing loaded from anywhere; everything that was typed by somebody is escaped. Printed
//! on the paper of its unit system, or on the other one, it has the same parts as the PDF in the same order.

#![expect(clippy::float_arithmetic, reason = "the size of type is a binary float; no reading or limit is among them")]

mod parts;

use std::fmt::Write as _;

use crate::markup::escape;
use crate::{Sheet, System, pdf, svg, words};

const STYLE: &str = include_str!("style.css");

/// The type size of the print, as a part of the PDF's: typefaces of browsers run a little wider.
const NARROWER: f32 = 0.945;

/// The type size, in points, of a page that has room.
const FULL: f32 = 8.0;

/// The timeline is not drawn smaller than this, as it is read on a screen as well.
const LEAST: f32 = 0.85;

/// The sheet as HTML.
pub fn render(sheet: &Sheet) -> String {
    let head = &sheet.head;
    let title = words::joined(", ", &[&words::joined(" ", &["Sample", &head.sample]), &head.project]);
    let paper = match head.system {
        System::InchPound => "letter",
        System::Si => "A4",
    };
    // What fits on one page of the PDF, on either paper, fits at this size on one page of the print; what does not is printed
    // at full size.
    let scale = pdf::one_page_scale(sheet).unwrap_or(1.0);
    let size = FULL * NARROWER * scale;
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    let _ = writeln!(out, "<title>{}</title>", escape(&title));
    let generator = words::joined(" ", &[&head.tool, &head.version]);
    let _ = writeln!(out, "<meta name=\"generator\" content=\"{}\">", escape(&generator));
    let _ = writeln!(out, "<style>\n{STYLE}:root {{ --print: {size:.2}pt; }}");
    let _ = writeln!(out, "@page {{ size: {paper}; margin: 7mm 11mm 7mm; }}\n</style>\n</head>\n<body>\n<main>");
    parts::head(&mut out, sheet);
    parts::results(&mut out, sheet);
    if let Some(picture) = svg::inline(sheet, scale.clamp(LEAST, 1.0)) {
        let _ = writeln!(out, "<section class=\"timeline\">\n<h2>Timeline</h2>\n{picture}</section>");
    }
    parts::windows(&mut out, sheet);
    parts::happenings(&mut out, sheet);
    parts::around(&mut out, sheet);
    parts::tail(&mut out, sheet);
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

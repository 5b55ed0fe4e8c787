//! Shapes into the bytes of a PDF.
//!
//! **Invariant:** the same pages give the same bytes: no date, no random mark, no compression.

use pdf_writer::types::FontFlags;
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::flow::{Page, Paper};
use crate::chart::{Anchor, Shape};
use crate::helvetica::{self, Face};
use crate::palette::Ink;
use crate::{Sheet, words};

fn name(face: Face) -> Name<'static> {
    match face {
        Face::Regular => Name(b"R"),
        Face::Bold => Name(b"B"),
        Face::Symbol => Name(b"S"),
    }
}

/// What a file says of itself.
pub(super) struct About<'a> {
    pub(super) title: &'a str,
    pub(super) author: &'a str,
    pub(super) tool: &'a str,
}

/// The whole file of a sheet.
pub(super) fn sheet(sheet: &Sheet, paper: Paper, pages: &[Page]) -> Vec<u8> {
    let head = &sheet.head;
    let title = words::joined(", ", &[&words::joined(" ", &["Sample", &head.sample]), &head.project, &head.title]);
    let tool = words::joined(" ", &[&head.tool, &head.version]);
    document(&About { title: &title, author: &head.technician.name, tool: &tool }, paper, pages)
}

/// The whole file.
pub(super) fn document(said: &About<'_>, paper: Paper, pages: &[Page]) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let mut next = 1;
    let mut fresh = || {
        let id = Ref::new(next);
        next += 1;
        id
    };
    let (catalog, tree, info) = (fresh(), fresh(), fresh());
    let faces = [Face::Regular, Face::Bold, Face::Symbol].map(|face| (face, fresh(), fresh()));
    let ids: Vec<(Ref, Ref)> = pages.iter().map(|_| (fresh(), fresh())).collect();

    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.lang(TextStr("en"));
    root.viewer_preferences().display_doc_title(true);
    root.finish();
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    pdf.pages(tree).kids(ids.iter().map(|(page, _)| *page)).count(count);
    for (face, id, described) in faces {
        typeface(&mut pdf, face, id, described);
    }
    for ((page_id, content_id), shapes) in ids.iter().zip(pages) {
        let mut page = pdf.page(*page_id);
        page.parent(tree).media_box(Rect::new(0.0, 0.0, paper.width, paper.height)).contents(*content_id);
        let mut resources = page.resources();
        let mut fonts = resources.fonts();
        for (face, id, _) in faces {
            fonts.pair(name(face), id);
        }
        fonts.finish();
        resources.finish();
        page.finish();
        pdf.stream(*content_id, &content(shapes, paper));
    }
    let mut about = pdf.document_info(info);
    about.title(TextStr(said.title)).author(TextStr(said.author)).creator(TextStr(said.tool));
    about.finish();
    pdf.finish()
}

/// A typeface with its metrics, so that a reader that puts another one in its place spaces it the same. The figures are
/// those of the public AFM files.
fn typeface(pdf: &mut Pdf, face: Face, id: Ref, described: Ref) {
    let (base, bounds, stem) = match face {
        Face::Regular => ("Helvetica", Rect::new(-166.0, -225.0, 1000.0, 931.0), 88.0),
        Face::Bold => ("Helvetica-Bold", Rect::new(-170.0, -228.0, 1003.0, 962.0), 140.0),
        Face::Symbol => ("Symbol", Rect::new(-180.0, -293.0, 1090.0, 1010.0), 85.0),
    };
    let base = Name(base.as_bytes());
    let widths = helvetica::widths(face);
    let mut font = pdf.type1_font(id);
    font.base_font(base).first_char(32).last_char(255).font_descriptor(described);
    font.widths(widths.into_iter().map(f32::from));
    if face != Face::Symbol {
        font.encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    font.finish();
    let kind = if face == Face::Symbol { FontFlags::SYMBOLIC } else { FontFlags::NON_SYMBOLIC };
    let mut about = pdf.font_descriptor(described);
    about.name(base).flags(kind).bbox(bounds).italic_angle(0.0).ascent(718.0).descent(-207.0);
    about.cap_height(718.0).stem_v(stem);
}

fn content(shapes: &[Shape], paper: Paper) -> Vec<u8> {
    let mut out = Content::new();
    let up = |y: f32| paper.height - y;
    for shape in shapes {
        match shape {
            Shape::Bar { x, y, width, height, fill, edge } => {
                paint(&mut out, *fill);
                out.rect(*x, up(*y + *height), *width, *height);
                match edge {
                    Some(edge) => {
                        pen(&mut out, *edge, 0.6, false);
                        out.fill_nonzero_and_stroke();
                    }
                    None => {
                        out.fill_nonzero();
                    }
                }
            }
            Shape::Stroke { from, to, width, ink, dashed } => {
                pen(&mut out, *ink, *width, *dashed);
                out.move_to(from.0, up(from.1)).line_to(to.0, up(to.1)).stroke();
            }
            Shape::Filled { points, ink } => {
                paint(&mut out, *ink);
                for (n, (x, y)) in points.iter().enumerate() {
                    if n == 0 {
                        out.move_to(*x, up(*y))
                    } else {
                        out.line_to(*x, up(*y))
                    };
                }
                out.close_path().fill_nonzero();
            }
            Shape::Words { x, baseline, size, anchor, bold, ink, text } => {
                let text = helvetica::spell(text);
                let spread = super::cell::width(&text, *size, *bold);
                let start = match anchor {
                    Anchor::Start => *x,
                    Anchor::Middle => x - spread / 2.0,
                    Anchor::End => x - spread,
                };
                paint(&mut out, *ink);
                out.begin_text().next_line(start, up(*baseline));
                for (face, bytes) in helvetica::runs(&text, *bold) {
                    out.set_font(name(face), *size).show(Str(&bytes));
                }
                out.end_text();
            }
        }
    }
    out.finish().to_vec()
}

fn share(byte: u8) -> f32 {
    f32::from(byte) / 255.0
}

fn paint(out: &mut Content, ink: Ink) {
    let [red, green, blue] = ink.rgb().map(share);
    out.set_fill_rgb(red, green, blue);
}

fn pen(out: &mut Content, ink: Ink, width: f32, dashed: bool) {
    let [red, green, blue] = ink.rgb().map(share);
    out.set_stroke_rgb(red, green, blue).set_line_width(width);
    if dashed {
        out.set_dash_pattern([1.6, 1.6], 0.0);
    } else {
        out.set_dash_pattern([], 0.0);
    }
}

//! The parts of the page.

use std::fmt::Write as _;

use super::super::{Bar, Bars, Block, Entry, Figure, Holds, Mark, Matrix, Paper, Row, Sign, Table, Tone};
use crate::markup::escape;

/// More columns of a matrix than this go on under the first ones.
const ACROSS: usize = 12;

fn class(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Alarm => "alarm",
        Tone::Plain => "plain",
    }
}

pub(super) fn sign_class(sign: Sign) -> &'static str {
    match sign {
        Sign::Good => "good",
        Sign::Bad => "bad",
        Sign::Open => "open",
        Sign::Told => "told",
        Sign::None => "none",
    }
}

fn verdict(words: &str, tone: Tone) -> String {
    if words.is_empty() {
        return String::new();
    }
    format!("<span class=\"verdict {}\">{}</span>", class(tone), escape(words))
}

fn sign(mark: &Mark) -> String {
    format!("<span class=\"sign {}\">{}</span>", sign_class(mark.sign), escape(&mark.letters))
}

fn paragraph(out: &mut String, class: &str, text: &str) {
    if !text.is_empty() {
        let _ = writeln!(out, "<p class=\"{class}\">{}</p>", escape(text));
    }
}

pub(super) fn head(out: &mut String, paper: &Paper) {
    out.push_str("<header>\n");
    paragraph(out, "kind", &paper.kind);
    if !paper.title.is_empty() {
        let _ = writeln!(out, "<h1>{}</h1>", escape(&paper.title));
    }
    paragraph(out, "subtitle", &paper.subtitle);
    out.push_str("</header>\n");
    if !paper.facts.is_empty() {
        out.push_str("<dl class=\"facts\">\n");
        for (name, value) in &paper.facts {
            let _ = writeln!(out, "<div><dt>{}</dt><dd>{}</dd></div>", escape(name), escape(value));
        }
        out.push_str("</dl>\n");
    }
}

/// The blocks, each heading with what follows in a section of its own.
pub(super) fn blocks(out: &mut String, blocks: &[Block]) {
    let mut is_open = false;
    let mut breaks = false;
    for block in blocks {
        match block {
            Block::PageBreak => {
                breaks = true;
                continue;
            }
            Block::Heading(_) if is_open => {
                out.push_str("</section>\n");
                is_open = false;
            }
            _ => {}
        }
        if breaks && is_open {
            out.push_str("</section>\n");
            is_open = false;
        }
        if !is_open {
            let _ = writeln!(out, "<section{}>", if breaks { " class=\"new-page\"" } else { "" });
            is_open = true;
            breaks = false;
        }
        one(out, block);
    }
    if is_open {
        out.push_str("</section>\n");
    }
}

fn one(out: &mut String, block: &Block) {
    match block {
        Block::Heading(text) => {
            let _ = writeln!(out, "<h2>{}</h2>", escape(text));
        }
        Block::Subheading(text) => {
            let _ = writeln!(out, "<h3>{}</h3>", escape(text));
        }
        Block::Text(text) => paragraph(out, "text", text),
        Block::Note(text) => paragraph(out, "note", text),
        Block::Points(points) => {
            out.push_str("<ul class=\"points\">\n");
            for point in points {
                let _ = writeln!(out, "<li>{}</li>", escape(point));
            }
            out.push_str("</ul>\n");
        }
        Block::Figures(figures) => {
            out.push_str("<ul class=\"figures\">\n");
            for Figure { figure, words, tone } in figures {
                let (class, figure, words) = (class(*tone), escape(figure), escape(words));
                let _ = writeln!(out, "<li><span class=\"figure {class}\">{figure}</span> {words}</li>");
            }
            out.push_str("</ul>\n");
        }
        Block::Entry(entry) => self::entry(out, entry),
        Block::Table(table) => self::table(out, table),
        Block::Bars(bars) => self::bars(out, bars),
        Block::Matrix(matrix) => self::matrix(out, matrix),
        Block::PageBreak => {}
    }
}

fn entry(out: &mut String, entry: &Entry) {
    let beside = match entry.beside.as_str() {
        "" => String::new(),
        words => format!(" <span class=\"beside\">{}</span>", escape(words)),
    };
    let _ = writeln!(
        out,
        "<div class=\"entry\">\n<div class=\"mark\">{}</div>\n<div><p class=\"lead\">{}{beside}</p>",
        verdict(&entry.mark, entry.tone),
        escape(&entry.title)
    );
    let lines: Vec<_> = entry.lines.iter().filter(|(_, words)| !words.is_empty()).collect();
    if !lines.is_empty() {
        out.push_str("<dl class=\"told\">\n");
        for (name, words) in lines {
            let _ = writeln!(out, "<div><dt>{}</dt><dd>{}</dd></div>", escape(name), escape(words));
        }
        out.push_str("</dl>\n");
    }
    out.push_str("</div>\n</div>\n");
}

fn column_class(holds: Holds) -> &'static str {
    match holds {
        Holds::Lead => "lead",
        Holds::Words => "words",
        Holds::Small => "small",
        Holds::Number => "number",
        Holds::Verdict => "said",
    }
}

fn caption(out: &mut String, caption: &str) {
    if !caption.is_empty() {
        let _ = writeln!(out, "<caption>{}</caption>", escape(caption));
    }
}

fn table(out: &mut String, table: &Table) {
    if table.columns.is_empty() {
        paragraph(out, "note", &table.caption);
        for row in &table.rows {
            paragraph(out, "text", &table.cells(row).concat());
        }
        return;
    }
    out.push_str("<div class=\"wide\"><table>\n");
    caption(out, &table.caption);
    let all: u64 = table.columns.iter().map(|column| u64::from(column.share.max(1))).sum();
    out.push_str("<colgroup>");
    for column in &table.columns {
        let _ = write!(out, "<col style=\"width:{}%\">", u64::from(column.share.max(1)) * 100 / all.max(1));
    }
    out.push_str("</colgroup>\n");
    if table.columns.iter().any(|column| !column.title.is_empty()) {
        out.push_str("<thead><tr>");
        for column in &table.columns {
            let class = column_class(column.holds);
            let _ = write!(out, "<th scope=\"col\" class=\"{class}\">{}</th>", escape(&column.title));
        }
        out.push_str("</tr></thead>\n");
    }
    out.push_str("<tbody>\n");
    for row in &table.rows {
        self::row(out, table, row);
    }
    out.push_str("</tbody></table></div>\n");
}

fn row(out: &mut String, table: &Table, row: &Row) {
    out.push_str("<tr>");
    for (cell, column) in table.cells(row).iter().zip(&table.columns) {
        let words = if column.holds == Holds::Verdict { verdict(cell, row.tone) } else { escape(cell) };
        let _ = write!(out, "<td class=\"{}\">{words}</td>", column_class(column.holds));
    }
    out.push_str("</tr>\n");
}

/// Thousandths as a percentage for the style.
fn percent(per_mille: u16) -> String {
    let share = per_mille.min(1000);
    format!("{}.{}%", share / 10, share % 10)
}

fn bars(out: &mut String, bars: &Bars) {
    out.push_str("<div class=\"wide\"><table class=\"bars\">\n");
    caption(out, &bars.caption);
    out.push_str("<tbody>\n");
    for Bar { label, per_mille, between, words } in &bars.rows {
        let mut drawn = String::new();
        if let Some(share) = per_mille {
            let _ =
                write!(drawn, "<span class=\"track\"><span class=\"fill\" style=\"width:{}\"></span>", percent(*share));
            if let Some((low, high)) = between {
                let (low, high) = (low.min(high).min(&1000), low.max(high).min(&1000));
                let (left, width) = (percent(*low), percent(high - low));
                let _ = write!(drawn, "<span class=\"between\" style=\"left:{left};width:{width}\"></span>");
            }
            drawn.push_str("</span>");
        }
        let _ = writeln!(
            out,
            "<tr><td class=\"words\">{}</td><td class=\"drawn\" aria-hidden=\"true\">{drawn}</td><td class=\"small\">{}</td></tr>",
            escape(label),
            escape(words)
        );
    }
    out.push_str("</tbody></table></div>\n");
}

fn matrix(out: &mut String, matrix: &Matrix) {
    for part in matrix.parts(ACROSS) {
        out.push_str("<div class=\"wide\"><table class=\"matrix\">\n");
        caption(out, &matrix.part_words(&part));
        let _ = write!(out, "<thead><tr><th scope=\"col\">{}</th>", escape(&matrix.corner));
        for n in part.clone() {
            let _ = write!(out, "<th scope=\"col\">{}</th>", escape(&matrix.column(n)));
        }
        out.push_str("</tr></thead>\n<tbody>\n");
        for (name, marks) in &matrix.rows {
            let _ = write!(out, "<tr><th scope=\"row\">{}</th>", escape(name));
            for n in part.clone() {
                let _ = write!(out, "<td>{}</td>", marks.get(n).map(sign).unwrap_or_default());
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody></table></div>\n");
    }
    if !matrix.legend.is_empty() {
        out.push_str("<ul class=\"legend\">\n");
        for (mark, words) in &matrix.legend {
            let _ = writeln!(out, "<li>{} {}</li>", sign(mark), escape(words));
        }
        out.push_str("</ul>\n");
    }
}

pub(super) fn foot(out: &mut String, paper: &Paper) {
    if paper.foot.is_empty() {
        return;
    }
    out.push_str("<footer>\n");
    for line in &paper.foot {
        paragraph(out, "fine", line);
    }
    out.push_str("</footer>\n");
}

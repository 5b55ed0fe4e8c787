//! The paper as a page for a browser, made to be printed.
//!
//! **Invariant:** one file, no script, nothing loaded from anywhere; everything that was typed by somebody is escaped.

#![expect(clippy::float_arithmetic, reason = "the size of type is a binary float; no reading or limit is among them")]

mod parts;

use std::fmt::Write as _;

use super::{Paper, Size};
use crate::markup::escape;
use crate::palette::Ink;

/// The type size of the print, as a part of the PDF's: typefaces of browsers run a little wider, lines a little higher.
const NARROWER: f32 = 0.945;

const STYLE: &str = include_str!("style.css");

/// The colours of the page by the names the style uses.
const INKS: [(&str, Ink); 9] = [
    ("text", Ink::Text),
    ("quiet", Ink::Quiet),
    ("accent", Ink::Accent),
    ("good", Ink::Good),
    ("alarm", Ink::Alarm),
    ("rule", Ink::Rule),
    ("wash", Ink::Wash),
    ("pale", Ink::Pale),
    ("paper", Ink::Paper),
];

pub(super) fn render(paper: &Paper) -> String {
    let size = match paper.size {
        Size::Letter => "letter",
        Size::A4 => "A4",
    };
    let title = if paper.title.is_empty() { &paper.kind } else { &paper.title };
    let inks: String = INKS.iter().map(|(name, ink)| format!("--{name}: {}; ", ink.hex())).collect();
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    // Whatever else is done to the file, a browser will load nothing and run nothing from it.
    out.push_str(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n",
    );
    let _ = writeln!(out, "<title>{}</title>\n<style>\n:root {{ {inks}}}\n{STYLE}", escape(title));
    // What fits on one page of the PDF fits on one page of the print.
    let print = crate::pdf::paper_body_size(paper) * NARROWER;
    let _ = writeln!(out, ":root {{ --print: {print:.2}pt; }}");
    let _ = writeln!(out, "@page {{ size: {size}; }}\n</style>\n</head>\n<body>\n<main>");
    parts::head(&mut out, paper);
    parts::blocks(&mut out, &paper.blocks);
    parts::foot(&mut out, paper);
    out.push_str("</main>\n</body>\n</html>\n");
    out
}

#[cfg(test)]
mod tests {
    use super::super::invented;
    use super::*;
    use crate::palette::contrast;
    use crate::paper::{Block, Sign};
    use proptest::prelude::*;

    #[test]
    fn it_is_one_file_that_runs_and_loads_nothing() {
        let html = invented::candidate().html();
        for word in
            ["<script", "javascript:", "http:", "https:", "url(", "@import", "<link", "<img", " src=", " onload"]
        {
            assert!(!html.contains(word), "{word}");
        }
        assert!(html.contains("@media print") && html.contains("@page { size: A4; }"));
        assert!(html.contains("table-header-group"), "a table's head is repeated on each page of print");
        assert!(html.contains("counter(page)") && html.contains("counter(pages)"));
    }

    /// The colour variables a rule sets for `what`.
    fn set_to(rule: &str, what: &str) -> Option<Ink> {
        let value = rule.split(';').map(str::trim).find_map(|one| one.strip_prefix(what)?.strip_prefix(':'))?;
        let name = value.trim().strip_prefix("var(--")?.split(')').next()?;
        INKS.iter().find(|(known, _)| *known == name).map(|(_, ink)| *ink)
    }

    #[test]
    fn every_text_can_be_read_on_whatever_it_stands_on() {
        let mut n = 0;
        for rule in STYLE.split('}') {
            let Some((selector, body)) = rule.rsplit_once('{') else { continue };
            let Some(text) = set_to(body, "color") else { continue };
            // A rule that sets no ground stands on paper, on the wash of the figures or on the field of an open sign.
            let grounds = set_to(body, "background").map_or(vec![Ink::Paper, Ink::Wash], |ground| vec![ground]);
            for ground in grounds {
                let contrast = contrast(text, ground);
                assert!(contrast >= 4.5, "{}: {text:?} on {ground:?} is {contrast:.2}", selector.trim());
                n += 1;
            }
        }
        assert!(n > 12, "the rules were found: {n}");
        assert!(!STYLE.contains('#'), "no colour but those of the palette");
    }

    #[test]
    fn signs_and_tones_have_a_shape_of_their_own() {
        let html = invented::wide_matrix(5, 5).html();
        for sign in Sign::ALL {
            assert!(html.contains(&format!("sign {}", parts::sign_class(sign))), "{sign:?}");
            assert!(STYLE.contains(&format!(".sign.{}", parts::sign_class(sign))), "{sign:?}");
        }
    }

    #[test]
    fn a_wide_matrix_goes_on_under_itself() {
        let html = invented::wide_matrix(30, 3).html();
        assert!(html.contains("of 30)") && html.matches("<table").count() > 1);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn nothing_typed_becomes_a_tag(paper in invented::any(), typed in "<script>[a-z]{3,9}\"'&</script>") {
            let mut paper = paper;
            let plain = crate::paper::Paper::default().html();
            for place in [&mut paper.kind, &mut paper.title, &mut paper.subtitle] {
                place.push_str(&typed);
            }
            paper.facts.push((typed.clone(), typed.clone()));
            paper.foot.push(typed.clone());
            for block in [Block::Heading, Block::Text, Block::Note] {
                paper.blocks.push(block(typed.clone()));
            }
            let html = paper.html();
            prop_assert!(!html.contains("<script"));
            prop_assert!(html.matches(&escape(&typed)).count() >= 9);
            // Every tag is one of ours, and each that is opened is closed.
            let tags = |html: &str, name: &str| (html.matches(&format!("<{name}")).count(), html.matches(&format!("</{name}>")).count());
            for name in ["table", "tr", "td", "section", "ul", "ol", "span", "dl", "div", "p>", "h2", "footer"] {
                let (open, closed) = tags(&html, name.trim_end_matches('>'));
                if name != "p>" {
                    prop_assert_eq!(open, closed, "{}", name);
                }
            }
            prop_assert!(plain.len() < html.len());
        }
    }
}

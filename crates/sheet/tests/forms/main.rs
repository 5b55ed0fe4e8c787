//! Every form of the sheet, on invented sheets: what it says, what it must never do.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod calendar;
mod fixture;
mod paper;
mod schema;
mod tables;

use sheet::Sheet;

/// The free texts of a sheet that every printed form must show.
fn said(sheet: &Sheet) -> Vec<&str> {
    let head = &sheet.head;
    let mut all = vec![
        &head.title,
        &head.project,
        &head.location,
        &head.mixture,
        &head.sample,
        &head.truck,
        &head.ticket,
        &head.technician.name,
        &head.technician.certificate,
        &head.technician.words,
        &head.tool,
        &head.version,
        &sheet.weather.caution,
        &sheet.record.kept,
    ];
    all.extend(&head.simulated);
    all.extend(&head.notices);
    for result in &sheet.results {
        all.extend([&result.name, &result.basis, &result.note]);
        all.extend(&result.limit);
        all.extend(result.value.iter().flat_map(|value| [&value.value, &value.unit]));
        all.extend(result.terms.iter().map(|term| &term.name));
    }
    all.extend(sheet.windows.iter().flat_map(|window| [&window.name, &window.from, &window.to]));
    all.extend(sheet.findings.iter().flat_map(|found| [&found.test, &found.words]));
    all.extend(sheet.discarded.iter().flat_map(|gone| [&gone.test, &gone.why, &gone.again]));
    all.extend(sheet.corrections.iter().flat_map(|one| [&one.reading, &one.from, &one.to, &one.why]));
    all.extend(sheet.overruled.iter().flat_map(|one| [&one.refusal, &one.why]));
    all.extend(sheet.apparatus.iter().flat_map(|piece| [&piece.kind, &piece.id, &piece.words]));
    all.extend(sheet.delivery.facts.iter().flat_map(|fact| [&fact.name, &fact.words]));
    all.extend(sheet.delivery.judged.iter().flat_map(|judged| [&judged.name, &judged.limit_source]));
    let weather = &sheet.weather;
    let air = [&weather.air, &weather.humidity, &weather.wind, &weather.concrete, &weather.evaporation];
    all.extend(air.into_iter().flatten().map(|value| &value.value));
    all.extend(sheet.specimens.iter().flat_map(|set| [&set.size, &set.curing.range]));
    all.extend(sheet.appointments.iter().map(|appointment| &appointment.title));
    all.extend(sheet.record.runs.iter().flat_map(|run| [&run.name, &run.checksum]));
    all.into_iter().map(String::as_str).collect()
}

/// A text without its white space: where lines were broken does not matter.
fn black(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    for (name, sheet) in fixture::all() {
        assert_eq!(sheet::pdf(&sheet), sheet::pdf(&sheet.clone()), "{name}");
        assert_eq!(sheet::html(&sheet), sheet::html(&sheet.clone()), "{name}");
    }
}

#[test]
fn the_text_of_a_whole_day() {
    insta::assert_snapshot!("text", sheet::text(&fixture::harrow_bend()));
}

#[test]
fn the_text_of_a_day_with_trouble() {
    insta::assert_snapshot!("text-trouble", sheet::text(&fixture::trouble()));
}

#[test]
fn the_text_of_nothing() {
    insta::assert_snapshot!("text-empty", sheet::text(&Sheet::default()));
}

#[test]
fn the_picture_of_a_whole_day() {
    insta::assert_snapshot!("svg", sheet::svg(&fixture::harrow_bend()));
}

#[test]
fn text_keeps_to_its_columns_and_pages() {
    for (name, sheet) in fixture::all() {
        let text = sheet::text(&sheet);
        let lines: Vec<&str> = text.lines().collect();
        for line in &lines {
            // Letters of East Asia take two columns; the fixture has at most a dozen on a line.
            assert!(line.chars().count() <= sheet::WIDTH, "{name}: {line}");
            assert!(!line.contains(char::is_control), "{name}: {line:?}");
            assert_eq!(line.trim_end(), *line, "{name}");
        }
        let feet: Vec<usize> =
            (0..lines.len()).filter(|n| lines[*n].contains(" page ") && lines[*n].contains(" of ")).collect();
        let (last, before) = feet.split_last().unwrap();
        for (n, foot) in before.iter().enumerate() {
            assert_eq!(foot + 1, (n + 1) * sheet::PAGE_LINES, "{name}: page {} is full", n + 1);
        }
        assert_eq!(last + 1, lines.len(), "{name}");
        assert!(lines.len() <= feet.len() * sheet::PAGE_LINES, "{name}");
        if name != "extreme" {
            assert!(feet.len() <= 2, "{name}: {} pages", feet.len());
        }
    }
}

#[test]
fn text_and_html_leave_nothing_out() {
    for (name, sheet) in fixture::all() {
        let text = black(&sheet::text(&sheet));
        let html = sheet::html(&sheet);
        let html = black(&html.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'"));
        let html = html.replace("&amp;", "&");
        for words in said(&sheet) {
            // Where two columns are wrapped side by side a text is not in one piece any more, but its words are.
            for word in words.split_whitespace().filter(|word| word.len() < 12 && !word.contains('\u{1b}')) {
                assert!(text.contains(word), "{name}: the text lacks {word}");
            }
            // What cannot be printed is a replacement character in both.
            let words = black(words).replace('\u{1b}', "\u{fffd}");
            if name != "extreme" {
                assert!(text.contains(&words), "{name}: the text lacks {words}");
            }
            assert!(html.contains(&words), "{name}: the HTML lacks {words}");
        }
    }
}

/// A sheet with one result.
fn with_result(result: sheet::TestResult) -> [String; 2] {
    let sheet = Sheet { results: vec![result], ..Sheet::default() };
    [sheet::text(&sheet), sheet::html(&sheet)]
}

#[test]
fn the_step_of_rounding_is_named_where_the_places_of_the_value_do_not_show_it() {
    use sheet::{Measured, TestResult};
    for (value, rounding, is_named) in [
        ("4.25", "nearest 0.25 in", true),
        ("6.00", "to the nearest 0.25, a half to the even multiple", true),
        ("4.0", "nearest 0.5 in", true),
        ("142.0", "nearest 0.1 lb/ft³", false),
        ("0.99", "to the nearest 0.01", false),
        ("484", "nearest 1 lb/yd³", false),
        ("480", "nearest 10 lb/yd³", true),
        ("480", "as read", true),
    ] {
        let result =
            TestResult { value: Some(Measured::new(value, "in")), rounding: rounding.into(), ..TestResult::default() };
        for form in with_result(result) {
            assert_eq!(form.contains(rounding), is_named, "{value}, {rounding}");
        }
    }
}

#[test]
fn what_the_value_says_already_is_not_said_again() {
    use sheet::{Measured, Term, TestResult};
    let term = |value: &str| Term { name: "read in place".into(), value: Measured::new(value, "in") };
    let result = |value: &str, exact: &str, terms: Vec<Term>| TestResult {
        value: Some(Measured::new(value, "in")),
        exact: exact.into(),
        terms,
        ..TestResult::default()
    };
    // The one reading is the value, rounded or not; a rounded one is told beside the value.
    for form in with_result(result("4.250", "4.25 in", vec![term("4.25")])) {
        assert!(!form.contains("read in place"), "{form}");
    }
    for form in with_result(result("4.25", "4.2 in", vec![term("4.2")])) {
        assert!(!form.contains("read in place") && form.contains("4.2"), "{form}");
    }
    for form in with_result(result("4.25", "4.2 in", vec![term("4.3"), term("-0.1")])) {
        assert!(form.contains("read in place 4.3"), "{form}");
    }
    for form in with_result(result("4.25", "≈ 4.2333 in", vec![])) {
        assert!(form.contains("≈\u{a0}4.2333") || form.contains("≈ 4.2333"), "{form}");
    }
}

#[test]
fn html_runs_nothing_and_loads_nothing() {
    for (name, sheet) in fixture::all() {
        let html = sheet::html(&sheet);
        for forbidden in
            ["<script", "javascript:", "onload", "<link", "@import", "url(", "src=", "href=", "<img", "<iframe"]
        {
            assert!(!html.contains(forbidden), "{name}: {forbidden}");
        }
        let addresses = html.matches("http").count();
        assert_eq!(addresses, html.matches("http://www.w3.org/2000/svg").count(), "{name}: only the name of SVG");
        assert_eq!(html.matches("<table>").count(), html.matches("</table>").count(), "{name}");
        assert_eq!(html.matches("<section").count(), html.matches("</section>").count(), "{name}");
    }
    assert!(sheet::html(&fixture::extreme()).contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
}

#[test]
fn verdicts_are_words_in_every_form() {
    let sheet = fixture::trouble();
    for (form, words) in [("text", sheet::text(&sheet)), ("HTML", sheet::html(&sheet)), ("CSV", sheet::csv(&sheet))] {
        for verdict in ["within", "above", "not judged", "not for acceptance", "void", "not done", "late by"] {
            assert!(words.contains(verdict), "{form}: {verdict}");
        }
    }
    assert!(sheet::text(&sheet).contains("*** PRELIMINARY SAMPLE: ACCEPTS NOTHING ***"));
}

#[test]
fn a_sheet_never_says_that_it_is_signed() {
    for (name, sheet) in fixture::all() {
        assert!(black(&sheet::text(&sheet)).contains("Thispageisnotsigned"), "{name}");
        assert!(sheet::html(&sheet).contains("This page is not signed"), "{name}");
    }
}

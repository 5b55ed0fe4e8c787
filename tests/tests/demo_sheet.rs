//! The sheet beside the demonstrated day is what the program makes of it, in every form.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;

use acceptance::{Site, house};

/// The forms, and what their files end in.
const FORMS: [(&str, &str); 7] = [
    ("text", "txt"),
    ("json", "json"),
    ("csv", "csv"),
    ("html", "html"),
    ("pdf", "pdf"),
    ("svg", "svg"),
    ("ics", "ics"),
];

#[test]
fn the_sheets_beside_the_demonstrated_day_are_those_the_program_makes() {
    let site = Site::new();
    let done = site.day("kept");
    assert_eq!(done.code, Some(0), "{done:?}");
    let update = std::env::var_os("POURSIDE_UPDATE_DEMO").is_some();
    let made = site.path().join("made");
    fs::create_dir(&made).unwrap();
    for (form, ending) in FORMS {
        let output = made.join(format!("sheet.{ending}"));
        let done = site.run(&["report", "sample-script", "--format", form, "--output", output.to_str().unwrap()]);
        assert_eq!(done.code, Some(0), "{form}: {done:?}");
        let made = fs::read(&output).unwrap();
        let beside = house().join("demo/day").join(format!("sheet.{ending}"));
        if update {
            fs::write(&beside, &made).unwrap();
        }
        assert!(
            fs::read(&beside).unwrap_or_default() == made,
            "demo/day/sheet.{ending} is stale; make it anew: POURSIDE_UPDATE_DEMO=1 cargo test -p acceptance --test demo_sheet"
        );
    }
    let pdf = fs::read(house().join("demo/day/sheet.pdf")).unwrap();
    let pages = pdf.windows(11).filter(|part| *part == b"/Type /Page" || *part == b"/Type/Page\n").count();
    let trees = pdf.windows(12).filter(|part| *part == b"/Type /Pages").count();
    assert_eq!(pages - trees, 1, "the day is one page");
}

//! The plan of a day before the truck arrives, through the real program.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use acceptance::{Site, house};

fn plan(more: &[&str]) -> (Option<i32>, String) {
    let site = Site::new();
    let file = house().join("demo/site.toml");
    let args = [&["plan", "--site", file.to_str().unwrap()], more].concat();
    site.run(&args).into_code_and_text()
}

#[test]
fn one_practised_person_can_do_the_demonstrated_day_inside_every_window() {
    let (code, text) = plan(&[]);
    assert_eq!(code, Some(0), "{text}");
    for words in [
        "One pair of hands can do sampling, temperature, slump, density, air-volumetric and cylinders inside every window",
        "To be done before the last portion is in:",
        "Start of the slump after the sample: by +5:00",
        "Minutes from the last portion:",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert!(!text.contains("This window breaks"), "{text}");
}

#[test]
fn a_day_that_is_too_full_says_which_window_breaks_by_how_much_and_what_would_mend_it() {
    let (code, text) = plan(&["--pace", "slow"]);
    assert_eq!(code, Some(1), "{text}");
    for words in [
        "One pair of hands cannot do",
        "This window breaks by ",
        "A second pair of hands would mend it",
        "At the usual pace it can be done",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let (code, text) = plan(&["--pace", "slow", "--hands", "2"]);
    assert_eq!(code, Some(0), "what was said to mend it does\n{text}");
}

#[test]
fn a_plan_says_how_many_samples_the_specification_asks_for() {
    // 180 / 50 = 3.6: four, since a part counts as a whole; at least one a day asks for fewer.
    let (_, text) = plan(&["--volume", "180 yd³"]);
    assert!(text.contains("Samples for 180 yd³: 4 (every 50 yd³: 4; at least 1 a day: 1)."), "{text}");
    let (code, text) = plan(&["--volume", "140 m³"]);
    assert_eq!(code, Some(2), "nothing converts: {text}");
}

#[test]
fn a_plan_without_a_site_file_names_its_tests() {
    let site = Site::new();
    let done = site.run(&["plan", "--tests", "sampling,slump,temperature"]);
    assert_eq!(done.code, Some(0), "{done:?}");
    assert!(done.out.contains("sampling, slump and temperature inside every window"), "{done:?}");

    let done = site.run(&["plan", "--tests", "sampling,temperature"]);
    assert!(done.out.contains("hands free for"), "the probe soaks on: {done:?}");
    let done = site.run(&["plan"]);
    assert_eq!(done.code, Some(2), "{done:?}");
    assert!(done.err.contains("no tests are chosen"), "{done:?}");
    let done = site.run(&["plan", "--tests", "slumb"]);
    assert_eq!(done.code, Some(1), "{done:?}");
    assert!(done.err.contains("slump"), "{done:?}");
}

#[test]
fn a_site_file_is_checked_like_a_procedure_and_so_is_what_it_sets_in_one() {
    let site = Site::new();
    let demo = house().join("demo/site.toml");
    let done = site.run(&["check", demo.to_str().unwrap()]);
    assert_eq!(done.code, Some(0), "{done:?}");
    assert!(done.out.contains("fine (site file of Harrow Bend footbridge"), "{done:?}");
    let text = std::fs::read_to_string(&demo).unwrap();
    for (wrong, right, said) in [
        ("at_leest", "at_least", "did you mean `at_least`?"),
        ("start_wihtin", "start_within", "did you mean `start_within`?"),
    ] {
        let file = site.path().join("wrong.toml");
        std::fs::write(&file, text.replacen(right, wrong, 1)).unwrap();
        let done = site.run(&["check", file.to_str().unwrap()]);
        assert_eq!(done.code, Some(1), "{wrong}: {done:?}");
        assert!(done.out.contains(said), "{wrong}: {done:?}");
    }
}

//! Figures of a procedure set from outside: what changes in the file, what stays, and what is refused.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use procedure::diagnose::render;
use procedure::{Amended, Amendment, amend, check};
use quantity::System;

const STACK: &str = include_str!("procedures/stack.toml");
const AIR: &str = include_str!("../../../procedures/air-volumetric.toml");
const SITE: &str = r#"source = "site: the project's specification, 4.2""#;
const ADDED: &str = "\n[source.site]\ntitle = \"Set for this site, in place of the procedure's own figure\"\n";

fn set(figure: &str, is: impl Into<Amended>) -> Amendment {
    Amendment { figure: figure.to_owned(), is: is.into(), because: "the project's specification, 4.2".to_owned() }
}

fn each(each: &[(System, &str)]) -> Amended {
    Amended::Each(each.iter().map(|(system, is)| (*system, (*is).to_owned())).collect())
}

#[test]
fn a_figure_is_replaced_with_its_source_and_every_other_byte_stays() {
    let ours = r#"source = "ours""#;
    let (proud, sources) =
        (r#"is     = { inch-pound = "1/8 in", SI = "3 mm" }"#, r#"source = ["ours: by eye", "ours"]"#);
    let cases: &[(Amendment, [(&str, &str); 2])] = &[
        (set("soak", "90 s"), [(r#"is     = "1 min""#, r#"is     = "90 s""#), (ours, SITE)]),
        // The unit stands beside the number: it may be said again, or not.
        (set("strokes", "30"), [("is     = 25", r#"is     = "30""#), (ours, SITE)]),
        (set("strokes", "30 strokes"), [("is     = 25", r#"is     = "30""#), (ours, SITE)]),
        (
            set("proud", each(&[(System::Si, "5 mm"), (System::InchPound, "1/4 in")])),
            [(proud, r#"is     = { inch-pound = "1/4 in", SI = "5 mm" }"#), (sources, SITE)],
        ),
        (
            set("proud", each(&[(System::Si, "5 mm")])),
            [
                (proud, r#"is     = { inch-pound = "1/8 in", SI = "5 mm" }"#),
                (
                    sources,
                    r#"source = { inch-pound = ["ours: by eye", "ours"], SI = "site: the project's specification, 4.2" }"#,
                ),
            ],
        ),
        (
            set("soak", each(&[(System::InchPound, "2 min")])),
            [
                (r#"is     = "1 min""#, r#"is     = { inch-pound = "2 min", SI = "1 min" }"#),
                (ours, r#"source = { inch-pound = "site: the project's specification, 4.2", SI = "ours" }"#),
            ],
        ),
    ];
    for (amendment, lines) in cases {
        let amended = amend("stack.toml", STACK, std::slice::from_ref(amendment)).unwrap();
        let pairs = STACK.lines().zip(amended.lines());
        let differ: Vec<_> = pairs.filter(|(was, is)| was != is).collect();
        assert_eq!(differ, lines, "{amendment:?}");
        assert_eq!(amended.lines().count(), STACK.lines().count() + ADDED.lines().count());
        assert!(amended.ends_with(ADDED));
        let checked = check("stack.toml", &amended);
        assert_eq!(render("stack.toml", &amended, &checked.diagnostics, false), "", "{amendment:?}");
    }
}

#[test]
fn a_figure_that_is_set_is_what_the_run_uses_and_says_why() {
    let both = [set("strokes_per_layer", "30"), set("start_within", "10 min")];
    let amended = amend("air-volumetric.toml", AIR, &both).unwrap();
    let procedure = check("air-volumetric.toml", &amended).procedure.unwrap();
    for edition in &procedure.editions {
        let figure = |id: &str| edition.figures.iter().find(|figure| figure.id == id).unwrap();
        assert_eq!(figure("strokes_per_layer").is.to_string(), "30 stroke");
        assert_eq!(edition.limits[0].at_most.to_string(), "10 min");
        for id in ["strokes_per_layer", "start_within"] {
            let [cite] = figure(id).cites.as_slice() else { panic!("one source") };
            assert_eq!(edition.sources[cite.source as usize].id, "site");
            assert_eq!(cite.place.as_deref(), Some("the project's specification, 4.2"));
        }
    }
}

#[test]
fn nothing_to_set_leaves_the_file_as_it_is() {
    assert_eq!(amend("a.toml", STACK, &[]).unwrap(), STACK);
    assert_eq!(amend("a.toml", "no procedure at all", &[]).unwrap(), "no procedure at all");
}

#[test]
fn the_new_source_takes_no_name_another_source_has() {
    let text = format!("{STACK}\n[source.site]\ntitle = \"Its own\"\n\n[source.site-2]\ntitle = \"Another\"\n");
    let amended = amend("stack.toml", &text, &[set("soak", "90 s")]).unwrap();
    assert!(amended.contains("source = \"site-3: the project's specification, 4.2\""));
    assert!(amended.contains("\n[source.site-3]\n"));
    assert!(check("stack.toml", &amended).is_sound());
}

#[test]
fn words_from_outside_cannot_break_the_file() {
    for because in ["he said \"so\"", "a\\b", "two\nlines", "\u{1}", "'''", "{strokes}", "# no note"] {
        let amendment = Amendment { because: because.to_owned(), ..set("soak", "90 s") };
        let amended = amend("stack.toml", STACK, &[amendment]).unwrap();
        let checked = check("stack.toml", &amended);
        assert_eq!(render("stack.toml", &amended, &checked.diagnostics, false), "", "{because:?}");
    }
    let amended = amend("stack.toml", STACK, &[set("soak", "90 s\"\nis = \"1 s")]).unwrap();
    assert!(!check("stack.toml", &amended).is_sound(), "no time, and no second line either");
    assert_eq!(amended.lines().count(), STACK.lines().count() + ADDED.lines().count());
}

#[test]
fn windows_line_ends_and_a_missing_last_line_end_are_kept_in_order() {
    let windows = STACK.replace('\n', "\r\n");
    let amended = amend("stack.toml", &windows, &[set("soak", "90 s")]).unwrap();
    assert!(amended.ends_with("own figure\"\r\n") && !amended.replace("\r\n", "").contains('\n'));
    let amended = amend("stack.toml", STACK.trim_end(), &[set("soak", "90 s")]).unwrap();
    assert!(amended.ends_with(&format!("\"moulded\"\n{ADDED}")));
}

#[test]
fn a_figure_of_the_wrong_kind_is_a_fault_of_the_new_text() {
    let mut page = String::new();
    for amendment in [
        set("soak", "90 mm"),
        set("strokes", "30 taps"),
        set("strokes", "many"),
        set("proud", each(&[(System::Si, "1/4 in")])),
    ] {
        let amended = amend("stack.toml", STACK, &[amendment]).unwrap();
        let checked = check("stack.toml", &amended);
        assert!(!checked.is_sound());
        page.push_str(&render("stack.toml", &amended, &checked.diagnostics, false));
    }
    insta::assert_snapshot!(page);
}

#[test]
fn what_cannot_be_set_is_said() {
    let mut page = String::new();
    let cases: &[&[Amendment]] =
        &[&[set("stroke", "30"), set("humidity", "90 %")], &[set("soak", "90 s"), set("soak", "2 min")]];
    for amendments in cases {
        page.push_str(&render("stack.toml", STACK, &amend("stack.toml", STACK, amendments).unwrap_err(), false));
    }
    let si = STACK.replace("systems  = [\"inch-pound\", \"SI\"]", "systems  = [\"SI\"]");
    let faults = amend("stack.toml", &si, &[set("soak", each(&[(System::InchPound, "2 min")]))]).unwrap_err();
    page.push_str(&render("stack.toml", &si, &faults, false));
    let torn = "[figure.soak\n";
    page.push_str(&render("torn.toml", torn, &amend("torn.toml", torn, &[set("soak", "2 min")]).unwrap_err(), false));
    insta::assert_snapshot!(page);
}

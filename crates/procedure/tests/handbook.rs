//! The page that teaches the language: its complete example loads, and it leaves nothing out.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use procedure::{check, diagnose::render};
use quantity::Unit;

const PAGE: &str = include_str!("../../../procedures/README.md");

fn example() -> &'static str {
    let (_, after) = PAGE.split_once("```toml\n").unwrap();
    after.split_once("```").unwrap().0
}

#[test]
fn the_complete_example_loads_as_it_is_printed() {
    let checked = check("bucket.toml", example());
    assert!(checked.diagnostics.is_empty(), "\n{}", render("bucket.toml", example(), &checked.diagnostics, false));
    assert_eq!(checked.procedure.unwrap().id, "bucket");
}

#[test]
fn every_key_of_the_language_is_on_the_page() {
    // The checker lists the keys that fit wherever one does not: ask it everywhere.
    let probes = [
        ("[procedure]", "[procedure]\nqqqq = 1"),
        ("[source.ours]", "[source.ours]\nqqqq = 1"),
        ("[figure.strokes]", "[figure.strokes]\nqqqq = 1"),
        ("[reading.level]", "[reading.level]\nqqqq = 1"),
        ("[table.correction]", "[table.correction]\nqqqq = 1"),
        ("[result.content]", "[result.content]\nqqqq = 1"),
        ("[again.more-water]", "[again.more-water]\nqqqq = 1"),
        ("[[incident]]", "[[incident]]\nqqqq = 1"),
        ("[[limit]]", "[[limit]]\nqqqq = 1"),
        ("[[stage]]", "[[stage]]\nqqqq = 1"),
        ("[[stage.step]]", "[[stage.step]]\nqqqq = 1"),
        ("[[stage.step.rule]]", "[[stage.step.rule]]\nqqqq = 1"),
        ("{ of = \"strokes\"", "{ qqqq = 1, of = \"strokes\""),
        ("hold   = {", "hold   = { qqqq = 1,"),
        ("turns  = {", "turns  = { qqqq = 1,"),
        ("timed  = {", "timed  = { qqqq = 1,"),
        ("settle = {", "settle = { qqqq = 1,"),
        ("repeat = {", "repeat = { qqqq = 1,"),
        ("every  = {", "every  = { qqqq = 1,"),
        ("add    = {", "add    = { qqqq = 1,"),
        ("needs  = [{", "needs  = [{ qqqq = 1,"),
        ("back    = {", "back    = { qqqq = 1,"),
        ("report = {", "report = { qqqq = 1,"),
        ("terms  = [{", "terms  = [{ qqqq = 1,"),
    ];
    let of_a_sample = [("[[appointment]]", "[[appointment]]\nqqqq = 1"), ("repeat = {", "repeat = { qqqq = 1,")];
    let small = probes.map(|probe| (include_str!("procedures/small.toml"), probe));
    let stack = of_a_sample.map(|probe| (include_str!("procedures/stack.toml"), probe));
    for (sound, (from, to)) in small.into_iter().chain(stack) {
        assert!(sound.contains(from), "{from}");
        let checked = check("probe.toml", &sound.replacen(from, to, 1));
        let help = checked.diagnostics.iter().find(|fault| fault.code == "unknown-key").unwrap().help.join(" ");
        let keys: Vec<&str> = help.split('`').skip(1).step_by(2).collect();
        assert!(!keys.is_empty(), "{help}");
        for key in keys {
            let said =
                [format!("`{key}`"), format!("{key} "), format!("`{key} ="), format!("[{key}."), format!("[[{key}]]")];
            assert!(said.iter().any(|said| PAGE.contains(said)), "`{key}` (beside {from}) is not on the page");
        }
    }
}

#[test]
fn every_unit_and_reserved_word_is_on_the_page() {
    for unit in Unit::all_symbols() {
        assert!(PAGE.contains(&format!("`{unit}`")), "{unit}");
    }
    let taken = PAGE.split_once("These words are taken: `").unwrap().1.split_once('`').unwrap().0;
    let taken: Vec<&str> = taken.split_whitespace().collect();
    assert_eq!(taken, procedure::expr::RESERVED);
}

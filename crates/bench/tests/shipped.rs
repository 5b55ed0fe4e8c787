//! The site file and the shipped procedures go together: names, units, and answers that fit.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use std::fs;
use std::path::Path;

use bench::fact::Fact;
use bench::site::{Picked, check};
use procedure::diagnose::render;
use procedure::{Edition, Procedure, ReadingKind};
use quantity::{System, Unit};

const SITES: [(System, &str); 2] = [
    (System::InchPound, include_str!("../../../demo/site.toml")),
    (System::Si, include_str!("../../../demo/site-si.toml")),
];

fn shipped() -> Vec<Procedure> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    files.sort();
    let read = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(path).unwrap();
        let checked = procedure::check(&name, &text);
        checked.procedure.unwrap_or_else(|| panic!("{}", render(&name, &text, &checked.diagnostics, false)))
    };
    files.iter().map(read).collect()
}

fn editions() -> Vec<(System, Edition)> {
    shipped().into_iter().flat_map(|one| one.editions).map(|edition| (edition.system, edition)).collect()
}

fn file(system: System, rest: &str) -> String {
    format!("[site]\nproject = \"p\"\nsystem = \"{system}\"\n{rest}")
}

#[test]
fn every_shipped_method_may_be_named_in_the_systems_it_is_stated_in() {
    for one in shipped() {
        for system in [System::InchPound, System::Si] {
            let text = file(system, &format!("tests = [\"{}\"]\n", one.id));
            let stated = one.editions.iter().any(|edition| edition.system == system);
            let found = check("site.toml", &text).diagnostics;
            assert_eq!(found.is_empty(), stated, "{} in {system}: {found:?}", one.id);
        }
    }
}

#[test]
fn a_limit_for_a_result_of_a_shipped_method_is_written_in_the_unit_it_reports() {
    let mut reported = Vec::new();
    for (system, edition) in editions() {
        for result in &edition.results {
            let value = &edition.values[result.value.0 as usize];
            let unit = if value.unit == Unit::NONE { String::new() } else { format!(" {}", value.unit) };
            let text = file(system, &format!("[[limit]]\nresult = \"{}\"\nat_most = \"1{unit}\"\n", value.id));
            let checked = check("site.toml", &text);
            assert!(
                checked.diagnostics.is_empty(),
                "{} in {system}:\n{}",
                edition.id,
                render("site.toml", &text, &checked.diagnostics, false)
            );
            reported.push(format!("{} {}", edition.id, value.id));
        }
    }
    for known in ["slump slump", "temperature temperature", "air-volumetric air", "density density", "density yield"] {
        assert!(reported.iter().any(|reported| reported == known), "{known} is not among {reported:?}");
    }
}

#[test]
fn the_facts_of_the_example_sites_fit_the_readings_that_share_them() {
    let mut answered = 0;
    for (system, edition) in editions() {
        let text = SITES.iter().find(|(own, _)| *own == system).unwrap().1;
        let site = check("site.toml", text).site.unwrap();
        let facts = site.facts(system, &Picked::on("2026-05-14".parse().unwrap()));
        for reading in &edition.readings {
            let Some((name, fact)) = reading.shared.as_ref().and_then(|name| facts.get_key_value(name)) else {
                continue;
            };
            let fits = match (&reading.kind, fact) {
                (ReadingKind::Words, Fact::Words(_)) => true,
                // A rate for each volume of concrete is no amount for this load: it is asked.
                (ReadingKind::Number(_), Fact::Number { unit, .. }) if name == "delivery-water-most" => {
                    assert!(["gal", "gal/yd³", "L", "L/m³"].contains(&unit.as_str()), "{unit}");
                    continue;
                }
                (ReadingKind::Number(scale), Fact::Number { value, unit }) => {
                    Unit::parse(unit).unwrap() == scale.unit && scale.read(value).is_ok()
                }
                (ReadingKind::Choice(choices), Fact::Choice(id)) => choices.iter().any(|choice| choice.id == *id),
                _ => false,
            };
            assert!(fits, "{} ({system}): reading `{}` shares `{name}`, which is {fact:?}", edition.id, reading.id);
            answered += 1;
        }
    }
    assert!(answered >= 40, "{answered} readings were answered");
}

//! The page that teaches the site file: its example checks clean, it leaves no key out, and what it says of rounding is so.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use bench::site::check;
use bench::verdict::{Purpose, rounded_to_limit};
use procedure::diagnose::render;
use quantity::Ties;

const PAGE: &str = include_str!("../SITE.md");

fn example() -> &'static str {
    let (_, after) = PAGE.split_once("```toml\n").unwrap();
    after.split_once("```").unwrap().0
}

#[test]
fn the_complete_example_checks_clean_as_it_is_printed() {
    let checked = check("site.toml", example());
    assert!(checked.diagnostics.is_empty(), "\n{}", render("site.toml", example(), &checked.diagnostics, false));
    let site = checked.site.unwrap();
    assert_eq!((site.limits.len(), site.technicians.len(), site.apparatus.len(), site.figures.len()), (2, 1, 1, 1));
}

#[test]
fn every_key_of_the_file_is_on_the_page() {
    // The checker lists the keys that fit wherever one does not: ask it everywhere.
    let sound = include_str!("../../../demo/site.toml");
    let probes = [
        ("[site]", "[site]\nqqqq = 1"),
        ("[mixture]", "[mixture]\nqqqq = 1"),
        ("[mixture.batch]", "[mixture.batch]\nqqqq = 1"),
        ("[[limit]]", "[[limit]]\nqqqq = 1"),
        ("[sampling]", "[sampling]\nqqqq = 1"),
        ("[delivery]", "[delivery]\nqqqq = 1"),
        ("[[technician]]", "[[technician]]\nqqqq = 1"),
        ("[[apparatus]]", "[[apparatus]]\nqqqq = 1"),
        ("[specimens]", "[specimens]\nqqqq = 1"),
        ("[specimens]", "[figures.slump]\nx = { qqqq = 1, is = 1, because = \"y\" }\n[specimens]"),
        ("[site]", "[qqqq]\n[site]"),
    ];
    let mut n_keys = 0;
    for (from, to) in probes {
        assert!(sound.contains(from), "{from}");
        let checked = check("probe.toml", &sound.replacen(from, to, 1));
        let fault = checked.diagnostics.iter().find(|fault| fault.code == "unknown-key").unwrap();
        let help = fault.help.join(" ");
        let keys: Vec<&str> = match help.strip_prefix("headers that may stand here: ") {
            Some(headers) => headers.split(", ").collect(),
            None => help.split('`').skip(1).step_by(2).collect(),
        };
        assert!(!keys.is_empty(), "{help}");
        n_keys += keys.len();
        for key in keys {
            let said = [format!("`{key}`"), format!("`[mixture.{key}]`")];
            assert!(said.iter().any(|said| PAGE.contains(said)), "`{key}` (beside {from}) is not on the page");
        }
    }
    assert!(n_keys > 60, "{n_keys}");
    // Names that may be written as values.
    let unknown = sound.replacen("\"slump\",", "\"flow-table\",", 1).replacen("\"relative_yield\"", "\"flow\"", 1);
    let unknown = unknown.replacen("\"scale\"", "\"vibrator\"", 1);
    let checked = check("probe.toml", &unknown);
    assert_eq!(checked.diagnostics.len(), 3, "{:?}", checked.diagnostics);
    for help in checked.diagnostics.iter().flat_map(|fault| &fault.help) {
        for name in help.split('`').skip(1).step_by(2) {
            assert!(PAGE.contains(&format!("`{name}`")), "`{name}` is not on the page");
        }
    }
}

#[test]
fn the_table_of_rounding_is_what_the_program_does() {
    let rows: Vec<&str> = PAGE.lines().filter(|line| line.starts_with("| `\"4")).collect();
    assert_eq!(rows.len(), 4);
    let slump = "4.25".parse().unwrap();
    for (row, [even, up]) in rows.iter().zip([["4", "4"], ["4.2", "4.3"], ["4", "4.5"], ["4.25", "4.25"]]) {
        let written = row.split('"').nth(1).unwrap();
        let limit = written.parse().unwrap();
        assert_eq!(rounded_to_limit(&slump, &limit, Ties::Even).show_exact(), even, "{row}");
        assert_eq!(rounded_to_limit(&slump, &limit, Ties::Up).show_exact(), up, "{row}");
        let file = format!(
            "[site]\nproject = \"p\"\nsystem = \"inch-pound\"\n[[limit]]\nresult = \"slump\"\nat_most = \"{written}\"\n"
        );
        let site = check("site.toml", &file).site.unwrap();
        let exact = "4.25 in".parse().unwrap();
        let verdict = site.verdict("slump", "slump", &exact, Purpose::Acceptance).unwrap().unwrap();
        assert_eq!(verdict.conforms(), row.contains("keeps it"), "{row}");
    }
}

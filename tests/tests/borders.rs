//! The borders of the house: the pure rooms touch no clock, no disk, no terminal, no thread.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::{Path, PathBuf};

fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

const PURE: [&str; 12] = [
    "quantity",
    "procedure",
    "engine",
    "plan",
    "bench",
    "sheet",
    "statistics",
    "specimen",
    "practice",
    "exam",
    "voice",
    "hearing",
];

/// Where binary floats are at home: ink on paper, estimates about people, a model that teaches, how memory fades, waves of sound. No
/// reading, limit or result is among them.
const INEXACT: [(&str, &[&str]); 6] = [
    ("sheet", &["/chart/", "/pdf/", "/html/", "/svg.rs", "/palette.rs", "/helvetica/"]),
    ("statistics", &["/src/"]),
    ("specimen", &["/model"]),
    ("practice", &["/schedule"]),
    ("exam", &["/class"]),
    ("voice", &["/tone"]),
];

/// What no line of a pure room may name.
const WORLD: [&str; 17] = [
    "Instant::now",
    "SystemTime",
    "Utc::now",
    "Local::now",
    "std::fs",
    "std::io",
    "std::net",
    "std::env",
    "std::process",
    "std::thread",
    "thread::spawn",
    "crossterm",
    "ratatui",
    "rustix",
    "libc::",
    "println!",
    "eprintln!",
];

/// Binary floats, which no reading, limit or result may pass through.
const FLOATS: [&str; 2] = ["f64", "f32"];

fn words_of(line: &str) -> impl Iterator<Item = &str> {
    line.split(|c: char| !c.is_alphanumeric() && c != '_')
}

#[test]
fn the_pure_rooms_name_no_clock_no_disk_no_terminal_and_no_float() {
    let mut faults = Vec::new();
    let mut n_files = 0;
    for room in PURE {
        let mut files = Vec::new();
        sources(&house().join("crates").join(room).join("src"), &mut files);
        n_files += files.len();
        for file in files {
            for (n, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                let world = WORLD.iter().find(|word| code.contains(**word));
                let path = file.display().to_string();
                let may = |(of, parts): &(&str, &[&str])| *of == room && parts.iter().any(|part| path.contains(part));
                let is_inexact = INEXACT.iter().any(may);
                let float = FLOATS.iter().find(|float| !is_inexact && words_of(code).any(|word| word == **float));
                if let Some(word) = world.or(float) {
                    faults.push(format!("{}:{}: names {word}", file.display(), n + 1));
                }
            }
        }
    }
    assert!(n_files > 15, "the rooms were found");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_pure_rooms_depend_on_nothing_that_could_touch_the_world() {
    let allowed: [(&str, &[&str]); 12] = [
        (
            "quantity",
            &[
                "num-bigint",
                "num-integer",
                "num-rational",
                "num-traits",
                "rust_decimal",
                "serde",
                "strsim",
                "thiserror",
            ],
        ),
        ("procedure", &["annotate-snippets", "quantity", "serde", "serde_json", "strsim", "thiserror", "toml"]),
        ("engine", &["procedure", "quantity", "serde", "thiserror"]),
        ("plan", &["thiserror"]),
        // chrono without its clock would do; its clock is kept out by the words above.
        ("bench", &["chrono", "engine", "plan", "procedure", "quantity", "serde", "thiserror", "toml"]),
        ("sheet", &["csv", "pdf-writer", "serde", "serde_json", "thiserror"]),
        ("statistics", &["thiserror"]),
        ("specimen", &["engine", "procedure", "quantity", "thiserror"]),
        ("practice", &["engine", "procedure", "quantity", "serde", "specimen", "thiserror"]),
        ("exam", &["csv", "engine", "procedure", "quantity", "serde", "sheet", "statistics", "thiserror", "toml"]),
        ("voice", &["quantity", "serde", "serde_json", "thiserror"]),
        ("hearing", &["quantity", "thiserror"]),
    ];
    for (room, allowed) in allowed {
        let text = fs::read_to_string(house().join("crates").join(room).join("Cargo.toml")).unwrap();
        let manifest: toml::Table = text.parse().unwrap();
        for name in manifest["dependencies"].as_table().unwrap().keys() {
            assert!(allowed.contains(&name.as_str()), "{room} depends on {name}");
        }
    }
}

#[test]
fn the_journal_knows_no_procedure_and_no_terminal() {
    let text = fs::read_to_string(house().join("crates/journal/Cargo.toml")).unwrap();
    let manifest: toml::Table = text.parse().unwrap();
    for name in manifest["dependencies"].as_table().unwrap().keys() {
        assert!(["serde", "serde_json", "sha2", "thiserror"].contains(&name.as_str()), "journal depends on {name}");
    }
}

#[test]
fn every_room_says_at_its_top_what_it_holds() {
    for room in PURE.into_iter().chain(["journal", "coach"]) {
        let text = fs::read_to_string(house().join("crates").join(room).join("src/lib.rs")).unwrap();
        assert!(
            text.starts_with("//! ") && text.lines().take_while(|line| line.starts_with("//!")).count() >= 3,
            "{room}"
        );
    }
}

//! What the README promises somebody who has just cloned the project is so.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::fs;
use std::path::PathBuf;

use acceptance::{Site, Terminal, house};

fn read(file: &str) -> String {
    fs::read_to_string(house().join(file)).unwrap_or_else(|why| panic!("{file}: {why}"))
}

/// The commands in the fenced blocks of a page, block after block.
fn commands(page: &str) -> Vec<Vec<String>> {
    let mut blocks: Vec<Vec<String>> = Vec::new();
    let mut is_inside = false;
    for line in page.lines() {
        if line.trim_start().starts_with("```") {
            is_inside = !is_inside;
            if is_inside {
                blocks.push(Vec::new());
            }
        } else if is_inside && !line.trim().is_empty() && !line.trim_start().starts_with('#') {
            blocks.last_mut().unwrap().push(line.trim().to_owned());
        }
    }
    blocks
}

const FIRST: &str = "cargo run -- run air-volumetric";
const SECOND: &str = "cargo test --workspace";

#[test]
fn the_readme_begins_with_one_command_that_runs_the_job_and_one_that_passes_the_tests() {
    let first_two: Vec<String> = commands(&read("README.md")).concat().into_iter().take(2).collect();
    assert_eq!(first_two, [FIRST, SECOND]);
    assert!(read(".ci/run").contains(SECOND), "the gate runs the same tests");
    // What cargo runs with no more said is the program.
    assert!(read("Cargo.toml").contains(r#"default-members = ["crates/coach"]"#));
    assert!(read("crates/coach/Cargo.toml").contains(r#"default-run = "pourside""#));
}

#[test]
fn the_first_command_puts_the_volumetric_test_on_the_screen_ready_for_the_first_act() {
    let site = Site::new();
    let (_, args) = FIRST.split_once(" -- ").unwrap();
    let terminal = Terminal::sized(&site, 80, 24, &args.split(' ').collect::<Vec<_>>());
    terminal.wait_for("air-volumetric");
    terminal.wait_for("Who runs this test?");
    let mut n = 0;
    terminal.perform_all(&acceptance::acts::identify()[..1], &mut n);
    terminal.wait_for("Which job is it for?");
    terminal.leave();
}

/// The links of a page that lead to something in the project.
fn links(page: &str) -> Vec<String> {
    let mut links = Vec::new();
    for piece in page.split("](").skip(1) {
        let target = piece.split(')').next().unwrap().split('#').next().unwrap();
        if !target.is_empty() && !target.contains("://") && !target.starts_with("mailto:") {
            links.push(target.to_owned());
        }
    }
    for piece in page.split("src=\"").skip(1) {
        links.push(piece.split('"').next().unwrap().to_owned());
    }
    links
}

#[test]
fn every_page_leads_only_to_what_is_there() {
    let mut missing = Vec::new();
    for page in ["README.md", "DEVELOPERS.md", "procedures/README.md", "demo/README.md"] {
        let path = house().join(page);
        let folder: PathBuf = path.parent().unwrap().to_owned();
        for link in links(&read(page)) {
            if !folder.join(&link).exists() {
                missing.push(format!("{page}: {link}"));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}

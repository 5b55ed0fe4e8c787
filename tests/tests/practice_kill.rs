//! Practice with the real program in a terminal: what was tried survives a kill, and the next session goes on from it.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use acceptance::{Site, Terminal};
use serde_json::Value;

/// What the screen wants, by its heading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wants {
    Told,
    Choice,
    Number,
    Explained,
    Other,
}

fn wants(screen: &str) -> Wants {
    let has = |words: &str| screen.contains(words);
    if has(" LEARN IT ") {
        Wants::Told
    } else if has(" WHAT IS IT? ") {
        if has("ENTER") { Wants::Number } else { Wants::Choice }
    } else if has(" RIGHT ") || has(" NOT THIS ") {
        Wants::Explained
    } else {
        Wants::Other
    }
}

/// The entries of the diary, as they stand on the disk.
fn entries(site: &Site) -> Vec<Value> {
    let file = site.data().join("practice/mine.jsonl");
    let lines = std::fs::read_to_string(&file).unwrap_or_default();
    let payload =
        |line: &str| -> Option<Value> { serde_json::from_str::<Value>(line).ok().map(|line| line["e"].clone()) };
    lines.lines().filter_map(payload).filter(|line| line["line"] == "entry").map(|line| line["entry"].clone()).collect()
}

/// Goes through so many tries: whatever is told is read, of choices the first is taken, every number is twelve.
fn try_some(terminal: &Terminal, n: usize) -> usize {
    let mut tried = 0;
    while tried < n {
        let before = terminal.screen();
        match wants(&before) {
            Wants::Told | Wants::Explained => terminal.press(&["Space"]),
            Wants::Choice => {
                terminal.press(&["1"]);
                tried += 1;
            }
            Wants::Number => {
                terminal.press(&["1", "2", "Enter"]);
                tried += 1;
            }
            Wants::Other => break,
        }
        let is_answered = matches!(wants(&before), Wants::Choice | Wants::Number);
        terminal.wait_until("the next screen, with everything kept", |screen| {
            let has_gone_on = if is_answered { wants(screen) == Wants::Explained } else { screen != before };
            has_gone_on && screen.contains("kept ✓")
        });
    }
    tried
}

#[test]
fn what_was_tried_survives_a_kill_and_is_not_asked_as_new_again() {
    let site = Site::new();
    let args = ["practice", "--today", "--minutes", "30", "--seed", "11", "--quiet"];
    let terminal = Terminal::sized(&site, 80, 24, &args);
    terminal.wait_for("LEARN IT");
    let n = try_some(&terminal, 6);
    assert_eq!(n, 6, "{}", terminal.screen());
    terminal.kill();
    terminal.wait_end();
    let kept = entries(&site);
    let tried: Vec<&Value> = kept.iter().filter(|entry| entry["what"] == "tried").collect();
    assert_eq!(tried.len(), n, "every try the screen said was kept is on the disk: {kept:#?}");

    // The same day: what was answered is no longer new, what was missed is due.
    let missed = tried.iter().filter(|tried| tried["right"] == false).count();
    let overview = site.run(&["practice"]);
    assert!(missed > 0 && overview.out.contains("Due today"), "{}", overview.out);
    let terminal = Terminal::sized(&site, 80, 24, &args);
    terminal.wait_until("the session", |screen| wants(screen) != Wants::Other);
    assert_eq!(try_some(&terminal, 3), 3);
    terminal.press(&["q"]);
    terminal.wait_for("LEAVE?");
    terminal.press(&["y"]);
    let ended = terminal.wait_end();
    assert_eq!(ended.code, 0);
    let again = entries(&site);
    assert_eq!(again[..kept.len()], kept[..], "nothing before is changed");
    assert_eq!(again.iter().filter(|entry| entry["what"] == "tried").count(), n + 3);

    // The export holds the same tries, one line each.
    let csv = site.run(&["practice", "--export", "tries"]);
    assert_eq!(csv.out.lines().count(), 1 + n + 3, "{}", csv.out);
}

#[test]
fn a_second_program_does_not_write_in_the_same_diary() {
    let site = Site::new();
    let terminal = Terminal::sized(&site, 80, 24, &["practice", "slump", "--seed", "3", "--quiet"]);
    terminal.wait_for("Who runs this test?");
    let second = site.run(&["practice", "--today"]);
    let (code, said) = second.into_code_and_text();
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("diary"), "{said}");
    terminal.press(&["C-c"]);
    terminal.wait_end();
}

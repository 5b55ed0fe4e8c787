//! What the handbook and the demonstration say is so.
#![allow(clippy::expect_used, reason = "tests say what they expect by panicking")]

mod common;

use std::collections::BTreeMap;

use common::procedures;
use exam::{NotSeen, PassRule, Told, config, roster};
use quantity::{Exact, Span};

const PAGE: &str = include_str!("../EXAM.md");
const DEMO: &str = include_str!("../../../demo/class/exam.toml");
const ROSTER: &str = include_str!("../../../demo/class/roster.csv");

fn block(kind: &str) -> &'static str {
    let fence = format!("```{kind}\n");
    let from = PAGE.find(&fence).expect("the block is there") + fence.len();
    &PAGE[from..from + PAGE[from..].find("```").expect("it is closed")]
}

#[test]
fn the_complete_example_of_the_handbook_is_an_exam_and_the_demonstrations_own() {
    let procedures = procedures();
    let find = |id: &str| procedures.get(id);
    let checked = config::check_with("EXAM.md", block("toml"), find);
    assert_eq!(checked.diagnostics, []);
    let exam = checked.exam.unwrap();
    assert_eq!(config::check_with("exam.toml", DEMO, find).exam.as_ref(), Some(&exam));
    assert_eq!((exam.stations, exam.raters.len(), exam.methods.len()), (3, 2, 4));
    assert_eq!(exam.methods[0].told, Told::All, "sampling is told aloud");
    assert_eq!(exam.methods[1].told, Told::Nothing);
    assert_eq!(exam.methods[3].pass, PassRule::Share(Exact::ratio(9, 10).unwrap()));
    assert_eq!(exam.methods[2].time_limit, Some(Span::from_secs(600)));
    let sheets = exam::sheets(&exam, find).unwrap();
    assert!(sheets.iter().all(|sheet| sheet.items.len() > 8));
    assert!(sheets[0].items.iter().all(|item| item.tellable));
}

#[test]
fn the_roster_of_the_demonstration_has_twelve_candidates_at_three_stations() {
    let roster = roster::read(ROSTER).unwrap();
    assert_eq!(roster.candidates.len(), 12);
    let mut at: BTreeMap<u16, usize> = BTreeMap::new();
    for candidate in &roster.candidates {
        *at.entry(candidate.station.unwrap()).or_default() += 1;
    }
    assert_eq!(at, BTreeMap::from([(1, 4), (2, 4), (3, 4)]));
    assert_eq!(roster.beyond(3), []);
    assert!(roster::read(block("csv")).is_ok());
}

#[test]
fn what_the_file_leaves_out_is_the_common_practice_the_handbook_states() {
    let exam = config::check(
        "x",
        "[exam]\ntitle = \"T\"\nsystem = \"SI\"\n[[method]]\nid = \"sampling\"\n[[method]]\nid = \"slump\"\n",
    );
    let exam = exam.exam.unwrap();
    assert_eq!((exam.stations, exam.not_seen), (1, NotSeen::Open));
    for method in &exam.methods {
        assert_eq!((method.trials_at_most, &method.pass, method.time_limit), (2, &PassRule::EveryAct, None));
    }
    assert_eq!((&exam.methods[0].told, &exam.methods[1].told), (&Told::All, &Told::Nothing));
}

#[test]
fn every_key_of_the_handbook_is_read_and_every_key_that_is_read_stands_in_it() {
    for (header, keys) in [
        ("exam", "title language date place system trials_at_most pass told not_seen time_limit stations raters"),
        ("method", "id system time_limit trials_at_most pass told critical leave_out ask_always mark_also"),
    ] {
        for key in keys.split(' ') {
            assert!(PAGE.contains(&format!("`{key}`")), "{key} stands in the handbook");
            let doubled = if header == "exam" { "[exam]\n" } else { "[exam]\ntitle = \"T\"\n[[method]]\n" };
            let checked = config::check("x", &format!("{doubled}{key} = {{}}\n"));
            let unknown = checked.diagnostics.iter().any(|fault| fault.code == "unknown-key");
            assert!(!unknown, "{key} is read under {header}");
        }
    }
}

#[test]
fn faults_of_an_exam_file_say_where_and_what_to_do() {
    let procedures = procedures();
    let find = |id: &str| procedures.get(id);
    let good = "[exam]\ntitle = \"T\"\nsystem = \"SI\"\n[[method]]\nid = \"slump\"\n";
    assert!(config::check_with("x", good, find).exam.is_some());
    for (from, to, code, line, help) in [
        ("", "", "empty-text", 1, "begin with [exam]"),
        ("[exam]\n", "", "missing-key", 1, "write [exam]"),
        ("[exam]", "[exams]", "unknown-key", 1, "did you mean `exam`?"),
        ("title = \"T\"\n", "", "missing-key", 1, "add a line such as: title"),
        ("title", "titel", "unknown-key", 2, "did you mean `title`?"),
        ("system = \"SI\"\n", "", "missing-key", 4, "add under [exam]: system"),
        ("\"SI\"", "\"metric\"", "unknown-word", 3, "write system = \"inch-pound\""),
        ("\"slump\"", "\"slmup\"", "unknown-method", 5, "the list of procedures"),
        ("\"slump\"\n", "\"slump\"\n[[method]]\nid = \"slump\"\n", "duplicate", 7, "take one of the two away"),
        (
            "\"slump\"\n",
            "\"slump\"\ncritical = [\"lfit\"]\npass = \"80 %\"\n",
            "unknown-step",
            6,
            "did you mean \"lift\"?",
        ),
        (
            "\"slump\"\n",
            "\"slump\"\nleave_out = [\"limit:whole-tset\"]\n",
            "unknown-step",
            6,
            "did you mean \"limit:whole-test\"?",
        ),
        (
            "\"slump\"\n",
            "\"slump\"\ncritical = [\"lift\"]\nleave_out = [\"lift\"]\npass = \"80 %\"\n",
            "contradiction",
            6,
            "take it out",
        ),
        ("\"slump\"\n", "\"slump\"\ntime_limit = 20\n", "wrong-kind", 6, "time_limit = \"20 min\""),
        ("\"slump\"\n", "\"slump\"\ntime_limit = \"20 parsecs\"\n", "not-a-time", 6, "write time_limit"),
        ("\"slump\"\n", "\"slump\"\ntold = \"maybe\"\n", "unknown-word", 6, "write told = \"all\""),
        ("\"slump\"\n", "\"slump\"\npass = \"101 %\"\n", "unknown-word", 6, "write pass = "),
        ("\"slump\"\n", "\"slump\"\npass = \"every act\"\n", "unknown-word", 6, "did you mean \"every-act\"?"),
        ("\"slump\"\n", "\"slump\"\npass = 90\n", "wrong-kind", 6, "a share has its sign"),
        ("\"T\"\n", "\"T\"\nstations = 13\n", "not-a-count", 3, "stations = 2"),
        ("\"T\"\n", "\"T\"\ndate = \"15.05.2026\"\n", "not-a-date", 3, "write date = 2026-05-15"),
        ("\"T\"\n", "\"T\"\nraters = [\"A\", \"A\"]\n", "duplicate", 3, "take one"),
        ("\"T\"\n", "\"T\"\nlanguage = 2\n", "language-version", 3, "use a newer version"),
        ("\"T\"", "\"T", "not-toml", 2, ""),
        ("[[method]]\nid = \"slump\"\n", "", "missing-key", 1, "write [[method]]"),
    ] {
        let text = if from.is_empty() { String::new() } else { good.replacen(from, to, 1) };
        let checked = config::check_with("x", &text, find);
        assert_eq!(checked.exam, None, "{to}");
        let fault = &checked.diagnostics[0];
        let at = procedure::diagnose::line_and_column(&text, fault.place().start).0;
        assert_eq!((fault.code, at), (code, line), "{to}: {fault:?}");
        assert!(fault.help.iter().any(|said| said.contains(help)), "{to}: {:?}", fault.help);
    }
    let useless = good.to_owned() + "critical = [\"lift\"]\n";
    let checked = config::check_with("x", &useless, find);
    assert!(checked.exam.is_some(), "a warning leaves the exam usable");
    assert_eq!(checked.diagnostics[0].code, "no-effect");
}

//! A dead battery at any moment: the program is killed where it stands, and the run goes on afterwards.
//!
//! What was said to be recorded is on record, in the same words and at the same place, and the result is the same.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::thread;
use std::time::Duration;

use acceptance::acts::{choose_alcohol, identify, whole_run};
use acceptance::site::{acts_on_record, records};
use acceptance::{Act, Chance, Lines, PATIENCE, Site, Terminal};
use quantity::Exact;
use serde_json::Value;

/// Two hundred kills, spread over runs that go on until each has its result.
const KILLS: usize = 200;
/// How many runs are performed beside one another: most of their time is waiting.
const HANDS: usize = 4;
const SPEED: &str = "200";

/// What must stand on record for an act: the words it was given with, where it was given in words or numbers.
fn is_act(act: &Act, on_record: &Value) -> bool {
    match act.line.as_str() {
        "next" => ["begin", "turn", "done", "close"].iter().any(|what| on_record["what"] == *what),
        given => {
            let value = on_record["value"].as_str().unwrap_or_default();
            // Typed as 6.5, kept as 6.50.
            let is_same_number = || value.parse::<Exact>().is_ok_and(|value| given.parse() == Ok(value));
            on_record["what"] == "answer" && (value == given || is_same_number())
        }
    }
}

/// Performs one whole run, killed now and then; returns how often.
fn run_with_kills(chance: &mut Chance, kills_wanted: usize) -> usize {
    let (site, acts) = (Site::new(), whole_run());
    let mut kills = 0;
    let mut n_safe = 0;
    let mut before: Vec<Value> = Vec::new();
    loop {
        let on_record = on_record(&site);
        assert!(on_record.len() >= n_safe, "act {n_safe} had been recorded, and {} are there", on_record.len());
        assert!(on_record.starts_with(&before), "what stood on record stands there still");
        for (act, on_record) in acts.iter().zip(&on_record) {
            assert!(is_act(act, on_record), "“{}” became {on_record}", act.line);
        }
        if on_record.len() == acts.len() {
            // Killed after the last act: there is nothing to go on with.
            break;
        }
        let mut lines = Lines::start(if records(&site.data()).is_empty() {
            site.command(["run", "air-volumetric", "--system", "inch-pound", "--plain", "--simulate", SPEED])
        } else {
            site.command(["resume", "--plain"])
        });
        let mut n = on_record.len();
        before = on_record;
        let until_kill = if kills < kills_wanted { chance.below(14) } else { usize::MAX };
        let mut is_killed = false;
        for (since, act) in acts[n..].iter().enumerate() {
            lines.perform(act);
            if since == until_kill {
                // Somewhere between the act and its answer, or shortly after it.
                thread::sleep(Duration::from_micros(chance.below(2_500) as u64));
                is_killed = true;
                break;
            }
            n += 1;
            lines.expect_recorded(n);
        }
        if is_killed {
            n_safe = lines.kill().max(n);
            kills += 1;
        } else {
            let done = lines.end();
            assert_eq!(done.code, Some(0), "{done:?}");
            break;
        }
    }
    site.verify();
    // By hand: 6.25 − 0.3 = 5.95, to the nearest 0.25: 6.00 %.
    assert_eq!(site.result(), ("6.00 %".to_owned(), "5.95".to_owned()), "killed {kills} times");
    kills
}

/// What happened according to the record; what a kill tore off was never said to be recorded.
fn on_record(site: &Site) -> Vec<Value> {
    records(&site.data()).last().map_or_else(Vec::new, |record| acts_on_record(record))
}

#[test]
fn a_run_killed_two_hundred_times_loses_no_recorded_reading_and_comes_to_the_same_result() {
    let mut chance = Chance::new(0x00c1_7300);
    let seeds: Vec<u64> = (0..HANDS).map(|_| chance.number()).collect();
    let hands: Vec<_> = seeds
        .into_iter()
        .map(|seed| {
            thread::spawn(move || {
                let mut chance = Chance::stream(seed);
                let mut kills = 0;
                let mut runs = 0;
                while kills < KILLS / HANDS {
                    kills += run_with_kills(&mut chance, KILLS / HANDS - kills);
                    runs += 1;
                }
                (kills, runs)
            })
        })
        .collect();
    let done: Vec<(usize, usize)> = hands.into_iter().map(|hand| hand.join().unwrap()).collect();
    let (kills, runs) = done.iter().fold((0, 0), |sum, hand| (sum.0 + hand.0, sum.1 + hand.1));
    println!("{kills} kills in {runs} runs");
    assert_eq!(kills, KILLS);
}

#[test]
fn the_clocks_of_a_killed_run_are_judged_by_what_really_passed_until_it_goes_on() {
    let site = Site::new();
    let mut lines = Lines::start(site.command(["run", "air-volumetric", "--system", "inch-pound", "--plain"]));
    let acts = [identify(), choose_alcohol("3.0")].concat();
    for (n, act) in acts.iter().enumerate() {
        lines.perform(act);
        lines.expect_recorded(n + 1);
    }
    // The last portion of the sample is in: the 5 minutes run, with or without the program.
    lines.expect("CLOCK start-of-test most 5:00 left");
    lines.kill();
    let without = Duration::from_millis(2_200);
    thread::sleep(without);
    let mut lines = Lines::start(site.command(["resume", "--plain"]));
    lines.expect("RESUMED Resumed after");
    lines.say("clocks");
    let clock = lines.expect("CLOCK start-of-test most ");
    assert!(!clock.contains("5:00 left") && !clock.contains("4:59 left"), "{clock}");
    lines.say("next");
    lines.expect_recorded(acts.len() + 1);
    assert_eq!(lines.end().code, Some(0));
    let record = journal::read(&site.record()).unwrap();
    let resumed = record.entries.iter().map(|entry| serde_json::from_str::<Value>(entry.json()).unwrap());
    let resumed = resumed.filter(|line| line["line"] == "resumed").collect::<Vec<_>>();
    assert_eq!(resumed.len(), 1);
    assert!(resumed[0]["gap_ms"].as_u64().unwrap() >= without.as_millis() as u64, "{resumed:?}");
    site.verify();
}

#[test]
fn the_screen_killed_again_and_again_loses_no_recorded_reading_and_comes_to_the_same_result() {
    let (site, acts) = (Site::new(), whole_run());
    let mut chance = Chance::new(0x5c4ee9);
    let mut n = 0;
    let mut kills = 0;
    loop {
        let terminal = if n == 0 && kills == 0 {
            Terminal::open(&site, &["run", "air-volumetric", "--system", "inch-pound", "--simulate", "60"])
        } else {
            Terminal::open(&site, &["resume"])
        };
        if kills > 0 {
            terminal.wait_for("Resumed");
            let there = on_record(&site).len();
            assert!((n..=n + 1).contains(&there), "{n} were on record when it was killed, and {there} are there");
            n = there;
        }
        terminal.wait_for("SIMULATED TIME");
        terminal.wait_until("what is on record", |screen| screen.contains("recorded ✓"));
        let until_kill = n + 3 + chance.below(9);
        while n < acts.len() && n < until_kill {
            terminal.perform_all(&acts[n..=n], &mut n);
        }
        if n == acts.len() {
            terminal.press(&["q"]);
            assert_eq!(terminal.wait_end().code, 0, "{}", terminal.screen());
            break;
        }
        // The next act is under way.
        terminal.perform(&acts[n]);
        thread::sleep(Duration::from_micros(chance.below(8_000) as u64));
        terminal.kill();
        kills += 1;
    }
    assert!(kills >= 5, "killed {kills} times within {PATIENCE:?} for each wait");
    site.verify();
    assert_eq!(site.result(), ("6.00 %".to_owned(), "5.95".to_owned()));
}

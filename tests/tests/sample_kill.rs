//! A dead battery in the middle of a sample: all of its runs go on, with all of their clocks.
//!
//! What was said to be recorded is on record, at the same place and with the same moment, and the day comes to the same
//! results. The scripted days are led by the real program, in the time of the script, so that a killed day can be compared
//! act by act with one that was not.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use acceptance::site::{happened, payloads};
use acceptance::{Chance, Day, Lines, Site, house, recorded, words_of};
use serde_json::Value;

/// So many kills, spread over days that go on until each has its results.
const KILLS: usize = 1_000;
/// How many days are led beside one another: much of their time is waiting for the disk.
const HANDS: usize = 4;
const DAYS: [&str; 3] = ["kept", "slow-slump", "mended"];

// ---------------------------------------------------------------------------------------------- days that are killed

/// A day that was not killed: what every killed one is compared with.
struct Whole {
    day: Day,
    /// The acts of each run, with their moments.
    acts: BTreeMap<String, Vec<Value>>,
    /// For each act of the day, how many acts of its run are on record when it is.
    own: Vec<usize>,
    /// Results, findings and endings of each run.
    outcome: BTreeMap<String, Value>,
    windows: Value,
}

fn played(site: &Site, args: &[&str], script: &str) -> Lines {
    Lines::start(with_script(site, args, script))
}

fn with_script(site: &Site, args: &[&str], script: &str) -> Command {
    let file: PathBuf = site.path().join("day.lines");
    fs::write(&file, script).unwrap();
    let mut command = site.command(args);
    command.arg("--script").arg(file);
    command
}

fn acts(site: &Site) -> BTreeMap<String, Vec<Value>> {
    site.runs().into_iter().map(|(run, file)| (run, happened(&file))).collect()
}

fn outcome(site: &Site) -> BTreeMap<String, Value> {
    let of = |file: PathBuf| {
        let report = site.json(&["report", file.to_str().unwrap(), "--format", "json"]);
        let part = |name: &str| (name.to_owned(), report[name].clone());
        ["standing", "results", "findings", "corrections", "attempts"].into_iter().map(part).collect()
    };
    site.runs().into_iter().map(|(run, file)| (run, of(file))).collect()
}

fn windows(site: &Site) -> Value {
    let of = payloads(&site.runs()["sampling"])[0]["sample"]["name"].as_str().unwrap().to_owned();
    site.json(&["report", &of, "--format", "json"])["windows"].clone()
}

impl Whole {
    fn of(name: &str) -> Self {
        let (site, day) = (Site::new(), Day::read(name));
        let done = played(&site, &["sample"], &day.from(0)).end();
        assert_eq!(done.code, Some(0), "{name}: {done:?}");
        for word in ["REFUSED", "NOT-RECORDED", "ERROR"] {
            assert!(!done.out.contains(word), "{name}: every act of the day is taken: {}", done.out);
        }
        // An act of the person's is recorded without anything being told before it.
        let mut own: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        let mut is_told = BTreeSet::new();
        for line in done.out.lines() {
            let (run, words) = words_of(line);
            if words.starts_with("KNOWN ") {
                is_told.insert(run);
            } else if let Some((run, n)) = recorded(line)
                && !is_told.remove(run)
            {
                own.entry(run).or_default().push(n);
            }
        }
        let mut at: BTreeMap<&str, usize> = BTreeMap::new();
        let own_of_said = |said: &acceptance::day::Said| {
            let nth = at.entry(own.get_key_value(said.run.as_str()).unwrap().0).or_default();
            *nth += 1;
            own[said.run.as_str()][*nth - 1]
        };
        let own_in_order: Vec<usize> = day.said.iter().map(own_of_said).collect();
        assert_eq!(own_in_order.len(), own.values().map(Vec::len).sum::<usize>(), "{name}: one act for each line");
        Self { acts: acts(&site), own: own_in_order, outcome: outcome(&site), windows: windows(&site), day }
    }

    /// How many acts of the person's are on record; those before them are too.
    fn n_done(&self, on_record: &BTreeMap<String, Vec<Value>>) -> usize {
        let is_done = |n: usize| {
            let run = &self.day.said[n].run;
            on_record.get(run).is_some_and(|acts| acts.len() >= self.own[n])
        };
        let n_done = (0..self.own.len()).take_while(|n| is_done(*n)).count();
        assert!(
            (n_done..self.own.len()).all(|n| !is_done(n)),
            "{}: an act before act {n_done} was lost",
            self.day.name
        );
        n_done
    }
}

/// What a killed day was looked at for.
#[derive(Copy, Clone, Debug, Default)]
struct Looked {
    /// Kills of a program that was running.
    kills: usize,
    /// Kills before the first act of the day was recorded.
    early: usize,
    /// Days led to their end.
    days: usize,
    /// Acts that were said to be recorded, and are.
    acknowledged: usize,
}

/// Leads one day, killed again and again, to its end.
fn day_with_kills(whole: &Whole, chance: &mut Chance, kills_wanted: usize, looked: &mut Looked) {
    let site = Site::new();
    let name = &whole.day.name;
    let mut kills = 0;
    let mut safe: BTreeMap<String, usize> = BTreeMap::new();
    let mut before: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    loop {
        let now = acts(&site);
        for (run, acts) in &now {
            assert!(
                whole.acts[run].starts_with(acts),
                "{name}: {run} differs from the day that was not killed: {acts:#?}"
            );
        }
        for (run, n) in &safe {
            let there = now.get(run).map_or(0, Vec::len);
            assert!(there >= *n, "{name}: act {n} of {run} had been recorded, and {there} are there");
        }
        for (run, acts) in &before {
            assert!(
                now.get(run).is_some_and(|now| now.starts_with(acts)),
                "{name}: what stood on record stands there still"
            );
        }
        let n_done = whole.n_done(&now);
        before = now;
        if n_done == whole.day.said.len() {
            // Killed after the last act, or led to the end.
            break;
        }
        let mut lines = if site.sample().is_some() {
            played(&site, &["resume"], &whole.day.from(n_done))
        } else {
            assert!(before.is_empty(), "{name}: there are runs, and their sample is not there");
            played(&site, &["sample"], &whole.day.from(0))
        };
        if kills >= kills_wanted {
            let done = lines.end();
            assert_eq!(done.code, Some(0), "{name}: {done:?}");
            assert!(!done.out.contains("REFUSED") && !done.out.contains("ERROR"), "{name}: {done:?}");
            continue;
        }
        if chance.below(5) == 0 {
            // At any moment, while it opens or takes up what is there.
            thread::sleep(Duration::from_micros(chance.below(40_000) as u64));
        } else {
            let until_kill = chance.below(24);
            let _ = (0..=until_kill).all(|_| lines.hears("RECORDED "));
            thread::sleep(Duration::from_micros(chance.below(2_500) as u64));
        }
        let killed = lines.kill_and_hear();
        for (run, n) in killed.lines.iter().filter_map(|line| recorded(line)) {
            let most = safe.entry(run.to_owned()).or_default();
            looked.acknowledged += n.saturating_sub(*most);
            *most = n.max(*most);
        }
        kills += usize::from(killed.was_running);
        looked.early += usize::from(killed.was_running && safe.is_empty());
    }
    assert_eq!(before, whole.acts, "{name}: killed {kills} times");
    site.verify_sample();
    assert_eq!(outcome(&site), whole.outcome, "{name}: killed {kills} times");
    assert_eq!(windows(&site), whole.windows, "{name}: killed {kills} times");
    looked.kills += kills;
    looked.days += 1;
}

#[test]
fn days_killed_a_thousand_times_lose_nothing_recorded_and_come_to_the_same_results() {
    let wholes: Arc<Vec<Whole>> = Arc::new(DAYS.iter().map(|day| Whole::of(day)).collect());
    let mut chance = Chance::new(0x0b_e7c4);
    let seeds: Vec<u64> = (0..HANDS).map(|_| chance.number()).collect();
    let hands: Vec<_> = seeds
        .into_iter()
        .enumerate()
        .map(|(hand, seed)| {
            let wholes = Arc::clone(&wholes);
            thread::spawn(move || {
                let (mut chance, mut looked) = (Chance::stream(seed), Looked::default());
                while looked.kills < KILLS / HANDS {
                    let whole = &wholes[(hand + looked.days) % wholes.len()];
                    day_with_kills(whole, &mut chance, KILLS / HANDS - looked.kills, &mut looked);
                }
                looked
            })
        })
        .collect();
    let mut sum = Looked::default();
    for looked in hands.into_iter().map(|hand| hand.join().unwrap()) {
        sum.kills += looked.kills;
        sum.early += looked.early;
        sum.days += looked.days;
        sum.acknowledged += looked.acknowledged;
    }
    println!("{sum:?}");
    assert_eq!(sum.kills, KILLS);
    assert!(sum.days >= 2 * HANDS, "the kills are spread over days: {sum:?}");
    assert!(sum.acknowledged >= 1_000, "acts were acknowledged before the kills: {sum:?}");
    assert!(sum.early >= 1, "some kills come before there is anything to go on with: {sum:?}");
}

// ---------------------------------------------------------------------------------------------- six clocks

/// What leads to six tests on one sample, each with a clock that counts. Real time; a test has no patience for a soak.
const SIX_CLOCKS: &[&str] = &[
    "sampling: S-14",
    "sampling: 48-1107",
    "sampling: answer 12",
    "sampling: Pier 2, lift 2",
    "sampling: acceptance",
    "sampling: answer truck",
    "sampling: yes",
    "sampling: 2",
    "sampling: next",
    "sampling: next",
    "sampling: yes",
    "temperature: yes",
    "temperature: probe",
    "temperature: container",
    "temperature: next",
    "slump: yes",
    "slump: next",
    "slump: next",
    "slump: none",
    "density: agency",
    "density: yes",
    "density: 0.01",
    "density: yes",
    "density: next",
    "density: next",
    "density: 8.24",
    "air-pressure: P-2",
    "air-pressure: 0.2491",
    "air-pressure: yes",
    "air-pressure: 1.2 % below zero",
    "air-pressure: dense",
    "air-pressure: Harrow pit, 1 in and sand, 11 May",
    "air-pressure: none",
    "air-pressure: yes",
    "air-pressure: no",
    "air-pressure: next",
    "air-pressure: next",
    "air-volumetric: 1.01",
    "air-volumetric: 70",
    "air-volumetric: next",
    "air-volumetric: 3.0",
    "air-volumetric: none",
    "cylinders: Pier 2, lift 2",
    "cylinders: HB-14",
    "cylinders: standard",
    "cylinders: large",
    "cylinders: thin",
    "cylinders: 6",
    "cylinders: next",
    "cylinders: next",
    "cylinders: next",
    "sampling: 30",
    "sampling: next",
    "sampling: 70",
    "sampling: next",
    "sampling: next",
    "sampling: no",
    "sampling: next",
    "sampling: next",
    "temperature: next",
    "temperature: yes",
    "temperature: next",
    "temperature: next",
    "temperature: begin",
    "density: 4.00",
    "density: rod",
    "air-pressure: rod",
    "slump: next",
    "slump: next",
    "slump: next",
];

/// The tests with a clock, and their clocks then.
const CLOCKS: [(&str, &[&str]); 6] = [
    ("temperature", &["end-of-test most", "hold least", "in-the-concrete most"]),
    ("slump", &["whole-test most"]),
    ("density", &["start-of-test most"]),
    ("air-pressure", &["start-of-test most"]),
    ("air-volumetric", &["start-of-test most"]),
    ("cylinders", &["begin-moulding most"]),
];

/// `1:23 left` in seconds.
fn left_s(words: &str) -> u64 {
    let clock = words.split(' ').find(|word| word.contains(':')).unwrap_or_else(|| panic!("no time in “{words}”"));
    clock.split(':').fold(0, |sum, part| 60 * sum + part.parse::<u64>().unwrap())
}

/// All running clocks of the six tests: what is left on each, and between which two moments of this test that was said.
fn clocks(lines: &mut Lines) -> (BTreeMap<(String, String), u64>, [Instant; 2]) {
    let from = Instant::now();
    let mut left = BTreeMap::new();
    for (run, clocks) in CLOCKS {
        lines.say(&format!("{run}: clocks"));
        for _ in clocks {
            let line = lines.expect(&format!("[{run}] CLOCK "));
            let words: Vec<&str> = line.splitn(5, ' ').collect();
            left.insert((run.to_owned(), format!("{} {}", words[2], words[3])), left_s(words[4]));
        }
    }
    (left, [from, Instant::now()])
}

/// Every line that `word` is answered by, without its times.
fn looked(lines: &mut Lines, say: &str, word: &str, n: usize) -> Vec<String> {
    lines.say(say);
    let said = (0..n).map(|_| lines.expect(&format!("] {word} ")));
    said.map(|line| line.replace(|c: char| c.is_ascii_digit(), "#").replace("##", "#")).collect()
}

#[test]
fn six_clocks_go_on_when_the_program_is_killed_and_are_judged_by_what_really_passed() {
    const TESTS: usize = 7;
    let site = Site::new();
    let site_file = house().join("demo/site.toml");
    let mut lines = Lines::start(site.command([
        "sample",
        "--plain",
        "--site",
        site_file.to_str().unwrap(),
        "--tests",
        "sampling,temperature,slump,density,air-pressure,air-volumetric,cylinders",
    ]));
    let sample = lines.expect("SAMPLE ").split(' ').nth(1).unwrap().to_owned();
    for line in SIX_CLOCKS {
        lines.say(line);
        let answer = lines.answer();
        assert!(recorded(&answer).is_some(), "{line}: {answer}");
    }
    lines.say("due");
    let focus = lines.expect(" FOCUS");
    let (left, said) = clocks(&mut lines);
    let expected: BTreeSet<(String, String)> = CLOCKS
        .iter()
        .flat_map(|(run, clocks)| clocks.iter().map(|clock| ((*run).to_owned(), (*clock).to_owned())))
        .collect();
    assert_eq!(left.keys().cloned().collect::<BTreeSet<_>>(), expected);
    let n_limits = 11;
    let bench = looked(&mut lines, "bench", "BENCH", TESTS);
    let limits = looked(&mut lines, "windows", "WINDOW", n_limits);
    let on_record = acts(&site);
    assert_eq!(on_record.len(), TESTS);
    let killed = lines.kill_and_hear();
    assert!(killed.was_running);
    for line in &killed.lines {
        assert!(!["REFUSED", "NOT-RECORDED", "ERROR"].iter().any(|word| words_of(line).1.starts_with(word)), "{line}");
    }
    for (run, n) in killed.lines.iter().filter_map(|line| recorded(line)) {
        assert!(on_record[run].len() >= n, "{run}: act {n} was said to be recorded");
    }

    let without = Duration::from_millis(3_200);
    thread::sleep(without);
    let mut lines = Lines::start(site.command(["resume", &sample, "--plain"]));
    lines.expect("RESUMED Resumed after");
    assert_eq!(lines.expect(" FOCUS"), focus, "the same test is due next");
    let (left_now, said_now) = clocks(&mut lines);
    assert_eq!(left_now.keys().collect::<Vec<_>>(), left.keys().collect::<Vec<_>>(), "the same clocks run");
    // What is said is rounded to a second on either side.
    let second = Duration::from_secs(1);
    let least = (said_now[0] - said[1]) - second;
    let most = (said_now[1] - said[0]) + second;
    assert!(least > 2 * second);
    for (clock, before) in &left {
        let passed = Duration::from_secs(before - left_now[clock]);
        assert!(
            least <= passed && passed <= most,
            "{clock:?}: {passed:?} passed, and it must be {least:?} to {most:?}"
        );
    }
    assert_eq!(looked(&mut lines, "bench", "BENCH", TESTS), bench);
    assert_eq!(looked(&mut lines, "windows", "WINDOW", n_limits), limits);
    assert_eq!(acts(&site), on_record, "nothing was lost and nothing was added");

    // And they bite: what is done now is done so long after the last portion.
    lines.say("density: next");
    assert_eq!(lines.answer(), format!("[density] RECORDED {}", on_record["density"].len() + 1));
    lines.say("quit");
    let done = lines.end();
    assert_eq!(done.code, Some(0), "{done:?}");
    let at = |run: &str, step: &str| {
        let is_it = |act: &&Value| act["event"]["what"] == "done" && act["event"]["step"] == step;
        acts(&site)[run].iter().find(is_it).unwrap()["at"]["t"].as_u64().unwrap()
    };
    let took = at("density", "first-scoop") - at("sampling", "last-portion");
    assert!(took >= without.as_millis() as u64, "{took} ms");
    for (run, file) in site.runs() {
        let lines = payloads(&file);
        let resumed: Vec<&Value> = lines.iter().filter(|line| line["line"] == "resumed").collect();
        assert_eq!(resumed.len(), 1, "{run}");
        assert!(resumed[0]["gap_ms"].as_u64().unwrap() >= without.as_millis() as u64, "{run}: {resumed:?}");
    }
    site.verify_sample();
}

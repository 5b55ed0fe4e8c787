//! A whole day on one sample, as the scripts in `demo/day` lead it.
//!
//! Here: reading such a script into acts, each with its run and its moment, and writing scripts that hold a part of it.
//! Not here: what a script may say (`crates/coach/LINES.md`); only what those in `demo/day` use is read, anything else
//! stops the test.
//!
//! **Invariant:** every line kept is one act of one run; lines that only look or expect, and moves that are refused, are
//! left out.

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use crate::house;

/// One act of the day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// When, in milliseconds since the start of the script.
    pub at_ms: u64,
    /// The run it is for.
    pub run: String,
    /// The line.
    pub line: String,
}

/// A scripted day.
#[derive(Clone, Debug)]
pub struct Day {
    /// Its name, that of the file.
    pub name: String,
    /// The lines before the first act; the site file is named by its whole path.
    head: String,
    /// Its acts, in order.
    pub said: Vec<Said>,
}

/// The file of a day.
pub fn file(name: &str) -> PathBuf {
    house().join("demo/day").join(format!("{name}.lines"))
}

/// The acts of a day may be looked at, which is no act.
const LOOKS: [&str; 5] = ["bench", "windows", "where", "readings", "due"];

impl Day {
    /// Reads the day called `name`.
    pub fn read(name: &str) -> Self {
        let text = fs::read_to_string(file(name)).unwrap();
        let mut day = Self { name: name.to_owned(), head: String::new(), said: Vec::new() };
        let (mut now, mut focus) = (0, "sampling".to_owned());
        for raw in text.lines() {
            let line = raw.split(" # ").next().unwrap_or_default().trim();
            let (first, rest) = line.split_once(' ').unwrap_or((line, ""));
            match (first, rest.trim()) {
                ("" | "#", _) => {}
                _ if line.starts_with('#') => {}
                ("site", path) => {
                    let path = file(name).parent().unwrap().join(path);
                    writeln!(day.head, "site {}", path.display()).unwrap();
                }
                ("start" | "tests" | "title", _) => writeln!(day.head, "{line}").unwrap(),
                ("wait", span) => now += 1_000 * seconds(span),
                ("expect", words) => match crate::words_of(words) {
                    // “due” chose it.
                    (run, "FOCUS") => focus = run.to_owned(),
                    (_, words) if words.starts_with("REFUSED") => drop(day.said.pop()),
                    _ => {}
                },
                ("at", rest) => {
                    let (clock, line) = rest.split_once(' ').unwrap();
                    now = millis(clock);
                    day.add(now, &mut focus, line.trim());
                }
                _ if first.starts_with('+') => panic!("{name}: a day is written with times since its start: {line}"),
                _ => day.add(now, &mut focus, line),
            }
        }
        assert!(day.said.len() > 100, "{name}: {} acts", day.said.len());
        day
    }

    fn add(&mut self, at_ms: u64, focus: &mut String, line: &str) {
        if let Some(run) = line.strip_prefix("focus ") {
            run.clone_into(focus);
            return;
        }
        let is_name = |name: &str| name.chars().all(|c| c.is_ascii_lowercase() || c == '-');
        let (run, line) = match line.split_once(": ").filter(|(name, _)| is_name(name)) {
            Some((run, line)) => (run, line),
            None => (focus.as_str(), line),
        };
        if !LOOKS.contains(&line) {
            self.said.push(Said { at_ms, run: run.to_owned(), line: line.to_owned() });
        }
    }

    /// A script of everything from act `from` on; with the head if that is the first.
    pub fn from(&self, from: usize) -> String {
        let head = if from == 0 { self.head.as_str() } else { "" };
        written(head, &self.said[from..])
    }

    /// A script of everything up to `at_ms`, and a look at the bench then.
    pub fn until(&self, at_ms: u64) -> String {
        let n = self.said.iter().take_while(|said| said.at_ms <= at_ms).count();
        let mut script = written(&self.head, &self.said[..n]);
        writeln!(script, "at {} bench", clock(at_ms)).unwrap();
        script
    }
}

fn written(head: &str, said: &[Said]) -> String {
    let mut script = head.to_owned();
    for Said { at_ms, run, line } in said {
        writeln!(script, "at {} {run}: {line}", clock(*at_ms)).unwrap();
    }
    script
}

fn seconds(span: &str) -> u64 {
    span.strip_suffix(" s").and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{span}: waits are in s here"))
}

/// `33:47.999` in milliseconds.
pub fn millis(clock: &str) -> u64 {
    let (minutes, seconds) = clock.split_once(':').unwrap();
    let (seconds, millis) = seconds.split_once('.').unwrap_or((seconds, "0"));
    let number = |text: &str| text.parse::<u64>().unwrap_or_else(|_| panic!("{clock} is no time"));
    (number(minutes) * 60 + number(seconds)) * 1_000 + number(&format!("{millis:0<3}"))
}

fn clock(at_ms: u64) -> String {
    format!("{}:{:02}.{:03}", at_ms / 60_000, at_ms / 1_000 % 60, at_ms % 1_000)
}

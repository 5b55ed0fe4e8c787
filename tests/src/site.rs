//! A folder of its own for every test.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use portable_pty::CommandBuilder;
use serde_json::Value;
use tempfile::TempDir;

use crate::program;

/// An account of its own: home, data folder and environment of one test. Removed with everything in it at the end.
pub struct Site {
    folder: TempDir,
}

/// What a command said and how it ended.
#[derive(Clone, Debug)]
pub struct Done {
    /// The exit code; `None` if a signal ended it.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Done {
    /// The exit code, and everything it said.
    pub fn into_code_and_text(self) -> (Option<i32>, String) {
        (self.code, self.out + &self.err)
    }
}

impl Site {
    /// A fresh one.
    #[expect(clippy::new_without_default, reason = "making a folder is more than a default")]
    pub fn new() -> Self {
        let site = Self { folder: tempfile::tempdir().unwrap() };
        // Keys come as fast as the machine sends them: no second press is a bounce. Nothing is played.
        fs::write(site.settings(), "[hands]\nbounce_ms = 0\n[voice]\non = false\n").unwrap();
        site
    }

    /// The settings file.
    pub fn settings(&self) -> PathBuf {
        self.path().join("settings.toml")
    }

    /// The folder of everything.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The data folder.
    pub fn data(&self) -> PathBuf {
        self.path().join("data")
    }

    /// The environment: nothing of the person who runs the tests.
    fn environment(&self) -> Vec<(&'static str, PathBuf)> {
        let path = std::env::var_os("PATH").unwrap_or_default();
        vec![
            ("PATH", path.into()),
            ("HOME", self.path().join("home")),
            ("XDG_DATA_HOME", self.path().join("home/share")),
            ("POURSIDE_DATA", self.data()),
            ("POURSIDE_CONFIG", self.settings()),
            ("TERM", "xterm-256color".into()),
            ("LANG", "C.UTF-8".into()),
            ("TZ", "UTC".into()),
        ]
    }

    /// The program, to be started with pipes.
    pub fn command<S: AsRef<OsStr>>(&self, args: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new(program());
        command.args(args).env_clear().envs(self.environment()).current_dir(self.path());
        command
    }

    /// A shell script, to be started with pipes; what is added as arguments is its `"$@"`.
    pub fn shell(&self, script: &str) -> Command {
        let mut command = Command::new("/bin/sh");
        command.args(["-c", script, "sh"]).env_clear().envs(self.environment()).current_dir(self.path());
        command
    }

    /// A program to be started in a terminal.
    pub(crate) fn in_terminal(&self, program: &Path) -> CommandBuilder {
        let mut command = CommandBuilder::new(program);
        command.env_clear();
        for (name, value) in self.environment() {
            command.env(name, value);
        }
        command.cwd(self.path());
        command
    }

    /// Runs a command to its end.
    pub fn run(&self, args: &[&str]) -> Done {
        let output = self.command(args).stdin(Stdio::null()).output().unwrap();
        Done {
            code: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Plays a demonstration script to its end and returns the file of its record.
    pub fn demonstration(&self, name: &str) -> PathBuf {
        let script = crate::house().join("demo").join(format!("{name}.lines"));
        let done = self.run(&["run", "air-volumetric", "--script", script.to_str().unwrap()]);
        assert_eq!(done.code, Some(0), "{name}: {done:?}");
        self.record()
    }

    /// Plays a day of `demo/day` to its end: one sample, all of its tests.
    pub fn day(&self, name: &str) -> Done {
        let script = crate::day::file(name);
        self.run(&["sample", "--script", script.to_str().unwrap()])
    }

    /// The records of a sample's runs, by what each is called on the bench. There is but one sample here.
    pub fn runs(&self) -> BTreeMap<String, PathBuf> {
        // Which test it is stands in the first line.
        let of_sample = |path: PathBuf| {
            let mut first = String::new();
            BufReader::new(File::open(&path).ok()?).read_line(&mut first).ok()?;
            let first: Value = serde_json::from_str(&first).ok()?;
            Some((first["e"]["sample"]["test"].as_str()?.to_owned(), path))
        };
        records(&self.data()).into_iter().filter_map(of_sample).collect()
    }

    /// The sample's own file, if there is one.
    pub fn sample(&self) -> Option<PathBuf> {
        records_in(&self.data().join("samples")).pop()
    }

    /// Checks the sample's own file and the records of all of its runs.
    pub fn verify_sample(&self) {
        let (file, runs) = (self.sample().expect("there is a sample"), self.runs());
        let done = self.run(&["verify", file.to_str().unwrap()]);
        assert_eq!(done.code, Some(0), "{done:?}");
        for record in runs.values().chain([&file]) {
            let sound = format!("{}: sound", record.file_stem().unwrap().to_str().unwrap());
            assert!(done.out.contains(&sound), "{done:?}");
        }
    }

    /// What a command prints as JSON.
    pub fn json(&self, args: &[&str]) -> Value {
        let done = self.run(args);
        assert_eq!(done.code, Some(0), "{args:?}: {done:?}");
        serde_json::from_str(&done.out).unwrap_or_else(|why| panic!("{args:?}: {why}: {}", done.out))
    }

    /// The file of the newest run.
    pub fn record(&self) -> PathBuf {
        let mut records = records(&self.data());
        records.pop().expect("a run is on record")
    }

    /// The report of the newest run, as programs read it.
    pub fn report(&self) -> Value {
        let done = self.run(&["report", "--format", "json"]);
        assert_eq!(done.code, Some(0), "{done:?}");
        serde_json::from_str(&done.out).unwrap()
    }

    /// The reported result of the newest run, such as `6.00 %`, with its exact value.
    pub fn result(&self) -> (String, String) {
        let report = self.report();
        let result = &report["results"][0];
        let text = |name: &str| result[name].as_str().unwrap_or_else(|| panic!("no result in {report:#}")).to_owned();
        (format!("{} {}", text("value"), text("unit")), text("exact"))
    }

    /// Checks the record of the newest run: every sum, and that every act follows from those before it.
    pub fn verify(&self) {
        self.verify_file(&self.record());
    }

    /// The same for the record in a file.
    pub fn verify_file(&self, record: &Path) {
        let done = self.run(&["verify", record.to_str().unwrap()]);
        assert_eq!(done.code, Some(0), "{done:?}");
        assert!(done.out.contains("sound"), "{done:?}");
    }
}

/// The records in a data folder, oldest name first.
pub fn records(data: &Path) -> Vec<PathBuf> {
    records_in(&data.join("runs"))
}

fn records_in(folder: &Path) -> Vec<PathBuf> {
    let Ok(found) = fs::read_dir(folder) else { return Vec::new() };
    let paths = found.map(|entry| entry.unwrap().path());
    let mut records: Vec<_> = paths.filter(|path| path.extension().is_some_and(|end| end == "jsonl")).collect();
    records.sort();
    records
}

/// What happened according to a record: the payloads of its acts, in order.
pub fn acts_on_record(record: &Path) -> Vec<Value> {
    happened(record).iter().map(|payload| payload["event"].clone()).collect()
}

/// The same, each act with its moment.
pub fn happened(record: &Path) -> Vec<Value> {
    payloads(record).into_iter().filter(|payload| payload["line"] == "happened").collect()
}

/// The payloads of all entries of a record, in order; what was cut off at its end is none.
pub fn payloads(record: &Path) -> Vec<Value> {
    let read = journal::read(record).unwrap_or_else(|why| panic!("{}: {why}", record.display()));
    read.entries.iter().map(|entry| serde_json::from_str(entry.json()).unwrap()).collect()
}

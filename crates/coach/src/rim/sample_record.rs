//! What stands in the file of a sample, and how it is read back.
//!
//! Here: its lines, and finding the runs that belong to it. Not here: what happened in those runs; each has a journal of
//! its own, which stands alone as evidence. The file of the sample only ties them together.
//!
//! Samples are kept in the folder `samples` beside the folder `runs`, framed and summed like runs (the crate `journal`).
//!
//! **Invariant:** a run says itself which sample it belongs to, so a run whose line is missing here is found all the
//! same.

use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use engine::Moment;
use journal::{Recovered, Torn};
use quantity::{System, Ties};
use serde::{Deserialize, Serialize};

use super::ledger::{Entry, file_in};
use super::record::{LoadError, Resumed, Stamp, as_text};
use super::store::{self, Named, Trouble};

/// The version of the lines written here, and the highest that is read.
pub const SAMPLE: u32 = 1;

/// How a sample was opened: the first line of its file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SampleOpening {
    /// The version of the lines.
    pub sample_record: u32,
    /// The sample's name.
    pub sample: String,
    /// The tests chosen, in the order of the bench.
    pub tests: Vec<Test>,
    /// The unit system.
    #[serde(with = "as_text")]
    pub system: System,
    /// Where a half goes when a result is rounded.
    #[serde(with = "as_text")]
    pub ties: Ties,
    /// The program and its version.
    pub tool: String,
    /// Plain words if time was simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub simulated: Option<String>,
    /// How many times as fast as real time; 0 for a script.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed: Option<u32>,
    /// When; its count is 0.
    pub opened: Stamp,
    /// Which start of the machine, if the system tells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boot: Option<String>,
    /// What the steady clock of that start showed when the sample was opened, in milliseconds.
    pub steady_ms: i64,
    /// The site file, whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<SiteText>,
}

/// A site file as it was when the sample was opened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SiteText {
    /// Its name, for messages.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// A test that belongs to the sample.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Test {
    /// What it is called on the bench.
    pub name: String,
    /// The method: the id of a procedure that comes with the program, or the path of a procedure file.
    pub method: String,
    /// What it is for.
    pub purpose: Purpose,
}

/// What a test is for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// Its result decides whether the concrete is accepted.
    #[default]
    Acceptance,
    /// It is taken to adjust the mixture, and decides nothing.
    Preliminary,
    /// It checks the result of another test on the same sample.
    CheckOf(String),
}

impl std::fmt::Display for Purpose {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Acceptance => f.write_str("acceptance"),
            Self::Preliminary => f.write_str("preliminary"),
            Self::CheckOf(test) => write!(f, "check test of {test}"),
        }
    }
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "kebab-case")]
pub enum SampleLine {
    /// The first.
    Opened(Box<SampleOpening>),
    /// A test was begun; its journal is on the disk.
    Run {
        /// When.
        at: Stamp,
        /// Which test, by its name on the bench.
        test: String,
        /// The name of its run.
        run: String,
        /// The procedure's id.
        procedure: String,
        /// What it is for.
        purpose: Purpose,
    },
    /// A test was added to those chosen at first.
    Added {
        /// When.
        at: Stamp,
        /// Which.
        test: Test,
    },
    /// The program was started again on this sample.
    Resumed(Resumed),
    /// A remark about the sample as a whole.
    Remark {
        /// When.
        at: Stamp,
        /// Its words.
        text: String,
    },
    /// Every test begun was closed. A correction may follow all the same.
    Closed {
        /// When.
        at: Stamp,
    },
    /// The record goes on in another folder.
    Moved {
        /// When.
        at: Stamp,
        /// The folder before.
        from: String,
    },
}

impl Entry for SampleLine {
    const FOLDER: &'static str = "samples";
    const OF: &'static str = "sample";
    fn moved(at: Stamp, from: String) -> Self {
        Self::Moved { at, from }
    }
}

/// The moment of a line.
pub fn sample_stamp(line: &SampleLine) -> &Stamp {
    match line {
        SampleLine::Opened(opening) => &opening.opened,
        SampleLine::Run { at, .. }
        | SampleLine::Added { at, .. }
        | SampleLine::Remark { at, .. }
        | SampleLine::Closed { at }
        | SampleLine::Moved { at, .. } => at,
        SampleLine::Resumed(resumed) => &resumed.at,
    }
}

/// The file of a sample, read back.
#[derive(Clone, Debug)]
pub struct LoadedSample {
    /// How it was opened.
    pub opening: SampleOpening,
    /// All lines.
    pub lines: Vec<SampleLine>,
    /// A last entry that was cut off.
    pub torn: Option<Torn>,
}

impl LoadedSample {
    /// The tests of the sample: those chosen at first, then those added.
    pub fn tests(&self) -> Vec<Test> {
        let added = self.lines.iter().filter_map(|line| match line {
            SampleLine::Added { test, .. } => Some(test.clone()),
            _ => None,
        });
        self.opening.tests.iter().cloned().chain(added).collect()
    }

    /// The run of a test, if one was begun.
    pub fn run_of(&self, name: &str) -> Option<&str> {
        self.lines.iter().find_map(|line| match line {
            SampleLine::Run { test, run, .. } if test == name => Some(run.as_str()),
            _ => None,
        })
    }

    /// The last moment on record here.
    pub fn last(&self) -> Moment {
        self.lines.iter().rev().find_map(|line| sample_stamp(line).moment()).unwrap_or_default()
    }

    /// How the program was started on it last: which start of the machine, and what its steady clock showed at 0.
    pub fn anchor(&self) -> (Option<String>, i64) {
        let resumed = self.lines.iter().rev().find_map(|line| match line {
            SampleLine::Resumed(resumed) => Some((resumed.boot.clone(), resumed.steady_ms)),
            _ => None,
        });
        resumed.unwrap_or_else(|| (self.opening.boot.clone(), self.opening.steady_ms))
    }
}

/// Reads the lines of a sample's file.
///
/// # Errors
///
/// [`LoadError`] for a line that is none of a sample, or a file from a later version of the program.
pub fn read_sample(recovered: Recovered) -> Result<LoadedSample, LoadError> {
    let read = |(n, entry): (usize, &journal::Entry)| {
        entry.read_as::<SampleLine>().map_err(|why| LoadError::NoLine { line: n + 1, why: why.to_string() })
    };
    let lines = recovered.entries.iter().enumerate().map(read).collect::<Result<Vec<_>, _>>()?;
    match lines.first() {
        Some(SampleLine::Opened(opening)) if opening.sample_record > SAMPLE => {
            Err(LoadError::Newer { found: opening.sample_record })
        }
        Some(SampleLine::Opened(opening)) => {
            let opening = SampleOpening::clone(opening);
            Ok(LoadedSample { opening, lines, torn: recovered.torn })
        }
        _ => Err(LoadError::NoLine { line: 1, why: "a sample begins with how it was opened".to_owned() }),
    }
}

/// Reads a sample without changing anything.
///
/// # Errors
///
/// [`LoadError`].
pub fn load_sample(path: &Path) -> Result<LoadedSample, LoadError> {
    read_sample(journal::read(path)?)
}

/// The folder of the samples in a data folder.
pub fn samples_folder(data: &Path) -> PathBuf {
    data.join(SampleLine::FOLDER)
}

/// The file of a sample.
pub fn sample_file(data: &Path, name: &str) -> PathBuf {
    file_in::<SampleLine>(data, name)
}

/// All samples, newest first. A folder that is not there holds none.
///
/// # Errors
///
/// [`Trouble`] if the folder cannot be read.
pub fn samples(data: &Path) -> Result<Vec<Named>, Trouble> {
    store::journals_in(&samples_folder(data))
}

/// The runs that say they belong to the sample called `name`, newest first. Only the beginning of each file is looked at:
/// whoever goes on with a run reads it whole.
pub fn runs_that_belong(data: &Path, name: &str) -> Vec<Named> {
    let Ok(quoted) = serde_json::to_string(name) else { return Vec::new() };
    let words = format!("\"sample\":{{\"name\":{quoted},");
    let belongs = |path: &Path| {
        let mut head = Vec::new();
        // What cannot be read belongs nowhere; resuming it says why.
        let read = File::open(path).and_then(|file| file.take(HEAD_BYTES).read_to_end(&mut head));
        read.is_ok() && head.windows(words.len()).any(|part| part == words.as_bytes())
    };
    store::runs(data).unwrap_or_default().into_iter().filter(|named| belongs(&named.path)).collect()
}

/// How far into a run's file the sample's name is looked for: everything before the procedure's text.
const HEAD_BYTES: u64 = 4096;

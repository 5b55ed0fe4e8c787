//! What stands in a run's journal, and how a run is read back from it.
//!
//! Here: the lines, in the words of the procedure, and replay. Not here: files and folders (`store`), the frame of a
//! line and its sum (the crate `journal`).
//!
//! The first line holds the procedure's whole text, so that a record stands alone: years later it can be read, judged
//! and reported without the file it was made with.
//!
//! **Invariant:** replay is [`engine::Run::apply`], as in live use. A line that does not follow from those before it is
//! named and refused, never skipped.

use std::collections::HashMap;
use std::path::Path;
use std::sync::Arc;

use engine::wire::{self, Written};
use engine::{Moment, Run, Tick};
use journal::{Recovered, Torn};
use procedure::Edition;
use quantity::{System, Ties};
use serde::{Deserialize, Serialize};

use super::clock;
use super::library;

/// The version of the lines written here, and the highest that is read.
pub const RECORD: u32 = 1;

/// A moment as it is written down.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// Milliseconds since the run was opened; on a bench, since the sample was.
    pub t: u64,
    /// The wall clock: RFC 3339 with milliseconds and the offset from UTC.
    pub at: String,
}

impl Stamp {
    /// A moment, written down.
    pub fn of(moment: Moment) -> Self {
        Self { t: moment.tick.0, at: clock::rfc3339(moment.wall) }
    }

    /// The moment; `None` if the wall clock cannot be read.
    pub fn moment(&self) -> Option<Moment> {
        Some(Moment { tick: Tick(self.t), wall: clock::read_rfc3339(&self.at)? })
    }
}

/// How a run was opened: the first line of its journal.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Opening {
    /// The version of the lines.
    pub record: u32,
    /// The run's name.
    pub run: String,
    /// The procedure's id.
    pub procedure: String,
    /// The version its author gave it.
    pub procedure_version: String,
    /// SHA-256 of its text.
    pub procedure_sha256: String,
    /// The unit system.
    #[serde(with = "as_text")]
    pub system: System,
    /// Where a half goes when the result is rounded.
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
    /// The sample it belongs to, if it was opened on a bench. The run's time then counts from the opening of the sample.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<OfSample>,
    /// When.
    pub opened: Stamp,
    /// Which start of the machine, if the system tells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boot: Option<String>,
    /// What the steady clock of that start showed when the run's count was 0, in milliseconds.
    pub steady_ms: i64,
    /// The procedure's whole text.
    pub procedure_text: String,
}

/// Where a run belongs that was opened on a bench.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfSample {
    /// The sample's name.
    pub name: String,
    /// What the test is called on its bench.
    pub test: String,
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "kebab-case")]
pub enum Line {
    /// The first.
    Opened(Box<Opening>),
    /// A person did or saw something.
    Happened {
        /// When.
        at: Stamp,
        /// What.
        event: Written,
    },
    /// The program was started again on this run.
    Resumed(Resumed),
    /// The record goes on in another folder, because the one before did not take it any more.
    Moved {
        /// When.
        at: Stamp,
        /// The folder before.
        from: String,
    },
}

/// The program was started again on a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Resumed {
    /// When.
    pub at: Stamp,
    /// Which start of the machine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boot: Option<String>,
    /// What its steady clock would have shown when the run was opened, in milliseconds.
    pub steady_ms: i64,
    /// How much of the run's time passed since the line before, in milliseconds.
    pub gap_ms: u64,
    /// How that was found out.
    pub how: Gap,
    /// The program and its version.
    pub tool: String,
}

/// How the time between two lives of the program was found out.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gap {
    /// The machine was not restarted: its steady clock counted on.
    SameBoot,
    /// The machine was restarted, or does not tell: by the wall clock.
    WallClock,
    /// The wall clock stood before the last line: nothing is known, and the count went on where it was.
    Unknown,
    /// Simulated time stands still while the program does not run.
    Simulated,
}

pub(super) mod as_text {
    use std::fmt::Display;
    use std::str::FromStr;

    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    pub fn serialize<T: Display, S: Serializer>(value: &T, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(value)
    }

    pub fn deserialize<'de, T: FromStr<Err: Display>, D: Deserializer<'de>>(from: D) -> Result<T, D::Error> {
        String::deserialize(from)?.parse().map_err(D::Error::custom)
    }
}

/// A run read back from its journal.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// How it was opened.
    pub opening: Opening,
    /// The procedure it was made with.
    pub edition: Arc<Edition>,
    /// The run as it stands.
    pub run: Run,
    /// All lines.
    pub lines: Vec<Line>,
    /// A last entry that was cut off by a power cut, or damaged.
    pub torn: Option<Torn>,
    /// The sum of the last line, chained over all lines.
    pub last_sum: String,
    /// How often and how the program was started again.
    pub resumes: Vec<Resumed>,
}

impl Loaded {
    /// The last moment on record.
    pub fn last(&self) -> Moment {
        let last = self.lines.iter().rev().find_map(|line| stamp(line).moment());
        last.unwrap_or_else(|| self.run.last())
    }
}

/// The moment of a line.
pub fn stamp(line: &Line) -> &Stamp {
    match line {
        Line::Opened(opening) => &opening.opened,
        Line::Happened { at, .. } | Line::Moved { at, .. } => at,
        Line::Resumed(resumed) => &resumed.at,
    }
}

/// Why a run cannot be read back.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The file cannot be read or is damaged.
    #[error(transparent)]
    Journal(#[from] journal::OpenError),
    /// Written by a later version of the program.
    #[error("the record is in form {found}; this program knows forms up to {RECORD}")]
    Newer {
        /// The form found.
        found: u32,
    },
    /// A line that does not belong in such a record.
    #[error("line {line} does not belong in this record: {why}")]
    NoLine {
        /// The line, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// The procedure's text is not the one whose checksum stands beside it.
    #[error("the procedure in the record is not the one its checksum was made from")]
    OtherProcedure,
    /// The procedure's text can no longer be used.
    #[error("the procedure in the record cannot be used by this version of the program")]
    Procedure {
        /// All faults, shown at their places.
        shown: String,
    },
    /// The exam's own file or its roster can no longer be used.
    #[error("the exam in the record cannot be used by this version of the program")]
    Exam {
        /// All faults.
        shown: String,
    },
    /// The procedure is not stated in the unit system of the record.
    #[error("the procedure in the record has no {system} edition")]
    NoEdition {
        /// The unit system.
        system: System,
    },
    /// A line that cannot have happened after those before it.
    #[error("line {line} cannot have happened after the lines before it: {why}")]
    Refused {
        /// The line, from 1.
        line: usize,
        /// The engine's reason.
        why: String,
    },
}

impl LoadError {
    /// What to do next.
    pub fn hint(&self) -> String {
        match self {
            Self::Journal(why) => why.hint().to_owned(),
            Self::Newer { .. } => "Use the newer version of the program that wrote it.".to_owned(),
            Self::NoLine { .. } | Self::OtherProcedure => {
                "Keep the file: its sums are sound, so it was written like this. Another program may have made it."
                    .to_owned()
            }
            Self::Procedure { shown } | Self::Exam { shown } => {
                format!("Use the version of the program that wrote it.\n\n{shown}")
            }
            Self::NoEdition { .. } | Self::Refused { .. } => {
                "Keep the file, and use the version of the program that wrote it; “pourside show” prints its lines."
                    .to_owned()
            }
        }
    }
}

/// Procedures that were read from records, so that a thousand runs of one method are read with one check.
#[derive(Debug, Default)]
pub struct Known {
    editions: HashMap<(String, &'static str), Arc<Edition>>,
}

/// Reads a run without changing anything, and performs it again.
///
/// # Errors
///
/// [`LoadError`].
pub fn load(path: &Path) -> Result<Loaded, LoadError> {
    load_knowing(path, &mut Known::default())
}

/// [`load`] for many runs.
///
/// # Errors
///
/// [`LoadError`].
pub fn load_knowing(path: &Path, known: &mut Known) -> Result<Loaded, LoadError> {
    replay(journal::read(path)?, known)
}

/// The lines of a journal, without judging them.
///
/// # Errors
///
/// [`LoadError::NoLine`] or [`LoadError::Newer`].
pub fn lines(recovered: &Recovered) -> Result<Vec<Line>, LoadError> {
    let read = |(n, entry): (usize, &journal::Entry)| {
        entry.read_as::<Line>().map_err(|why| {
            let form = serde_json::from_str::<Form>(entry.json()).ok().and_then(|form| form.record);
            match form {
                Some(found) if n == 0 && found > RECORD => LoadError::Newer { found },
                _ => LoadError::NoLine { line: n + 1, why: why.to_string() },
            }
        })
    };
    let lines = recovered.entries.iter().enumerate().map(read).collect::<Result<Vec<_>, _>>()?;
    match lines.first() {
        Some(Line::Opened(opening)) if opening.record > RECORD => Err(LoadError::Newer { found: opening.record }),
        Some(Line::Opened(_)) => Ok(lines),
        _ => Err(LoadError::NoLine { line: 1, why: "a run begins with how it was opened".to_owned() }),
    }
}

#[derive(Deserialize)]
struct Form {
    record: Option<u32>,
}

/// Performs the lines of a journal again.
///
/// # Errors
///
/// [`LoadError`].
pub fn replay(recovered: Recovered, known: &mut Known) -> Result<Loaded, LoadError> {
    let lines = lines(&recovered)?;
    let Some(Line::Opened(opening)) = lines.first() else {
        return Err(LoadError::NoLine { line: 1, why: "a run begins with how it was opened".to_owned() });
    };
    let opening = Opening::clone(opening);
    let edition = known.edition(&opening)?;
    let no_time = |n: usize| LoadError::NoLine { line: n + 1, why: "its time cannot be read".to_owned() };
    let mut run = Run::open(Arc::clone(&edition), opening.ties, opening.opened.moment().ok_or_else(|| no_time(0))?);
    let mut resumes = Vec::new();
    for (n, line) in lines.iter().enumerate().skip(1) {
        match line {
            Line::Happened { at, event } => {
                let refused = |why: String| LoadError::Refused { line: n + 1, why };
                let event = wire::read(&edition, event).map_err(|why| refused(why.to_string()))?;
                let at = at.moment().ok_or_else(|| no_time(n))?;
                run.apply(event, at).map_err(|why| refused(why.to_string()))?;
            }
            Line::Resumed(resumed) => resumes.push(resumed.clone()),
            Line::Moved { .. } => {}
            Line::Opened(_) => {
                return Err(LoadError::NoLine { line: n + 1, why: "a run is opened once".to_owned() });
            }
        }
    }
    Ok(Loaded { opening, edition, run, lines, torn: recovered.torn, last_sum: recovered.last_sum, resumes })
}

impl Known {
    fn edition(&mut self, opening: &Opening) -> Result<Arc<Edition>, LoadError> {
        let Opening { procedure, procedure_text, procedure_sha256, system, .. } = opening;
        self.edition_of(procedure, procedure_text, procedure_sha256, *system)
    }

    /// The procedure whose whole text stands in a record, in one unit system.
    ///
    /// # Errors
    ///
    /// [`LoadError`] if the text is not that of the checksum, or can no longer be used.
    pub(super) fn edition_of(
        &mut self,
        id: &str,
        text: &str,
        sha256: &str,
        system: System,
    ) -> Result<Arc<Edition>, LoadError> {
        if library::sha256(text) != sha256 {
            return Err(LoadError::OtherProcedure);
        }
        let words = match system {
            System::InchPound => "inch-pound",
            System::Si => "SI",
        };
        let key = (sha256.to_owned(), words);
        if let Some(edition) = self.editions.get(&key) {
            return Ok(Arc::clone(edition));
        }
        let shipped = library::SHIPPED.iter().find(|shipped| shipped.sha256 == sha256);
        let edition = match shipped {
            Some(shipped) => shipped.edition(system),
            None => {
                let file = format!("{id}.toml");
                let checked = procedure::check(&file, text);
                let procedure = checked.procedure.ok_or_else(|| LoadError::Procedure {
                    shown: procedure::diagnose::render(&file, text, &checked.diagnostics, false),
                })?;
                procedure.editions.into_iter().find(|edition| edition.system == system)
            }
        };
        let edition = Arc::new(edition.ok_or(LoadError::NoEdition { system })?);
        self.editions.insert(key, Arc::clone(&edition));
        Ok(edition)
    }
}

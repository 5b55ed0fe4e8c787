//! What stands in the file of an exam, how it is read back, and how it is kept while marks are given.
//!
//! Here: its lines, and the [`ExamKeeper`]. Not here: what a mark means (the crate `exam`), the frame of a line (the crate
//! `journal`), what is held in memory while the disk takes nothing (`ledger`).
//!
//! Exams are kept in the folder `exams` beside the folder `runs`, framed and summed like runs. The first line holds the
//! instructor's file, the roster and the text of every procedure whole: a sheet can be written again years later, by what
//! was asked then.
//!
//! **Invariant:** a mark names its trial, and a trial names its candidate, so no line depends on those around it for whose
//! it is. Replay is the same function as live use.

use std::path::{Path, PathBuf};

use engine::Moment;
use exam::Event;
use journal::{Journal, Recovered, Torn};
use serde::{Deserialize, Serialize};

use super::clock::{self, Timepiece};
use super::lapse::{self, LastSeen};
use super::ledger::{Entry, Ledger, file_in};
use super::record::{LoadError, Resumed, Stamp};
use super::store::{self, Named, TOOL, Trouble, with_home};
use super::terminal::{Serves, Wish};
use crate::screen::exam::{ExamAnswer, ExamDeed};

/// The version of the lines written here, and the highest that is read.
pub const EXAM: u32 = 1;

/// A file as it was when the exam was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileText {
    /// Its name, for messages.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// A procedure as it was when the exam was made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProcedureText {
    /// Its id.
    pub id: String,
    /// SHA-256 of its text.
    pub sha256: String,
    /// Its whole text.
    pub text: String,
}

/// How an exam was made: the first line of its file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExamOpening {
    /// The version of the lines.
    pub exam_record: u32,
    /// The exam's name.
    pub exam: String,
    /// The program and its version.
    pub tool: String,
    /// Plain words if time was simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub simulated: Option<String>,
    /// How many times as fast as real time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed: Option<u32>,
    /// When; its count is 0.
    pub opened: Stamp,
    /// Which start of the machine, if the system tells.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boot: Option<String>,
    /// What the steady clock of that start showed when the exam was made, in milliseconds.
    pub steady_ms: i64,
    /// The instructor's file, whole.
    pub config: FileText,
    /// The roster, whole.
    pub roster: FileText,
    /// The procedures, whole.
    pub procedures: Vec<ProcedureText>,
}

/// One line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "kebab-case")]
pub enum ExamLine {
    /// The first.
    Opened(Box<ExamOpening>),
    /// A rater did something.
    Happened {
        /// When.
        at: Stamp,
        /// What.
        event: Event,
    },
    /// The program was started again on this exam.
    Resumed(Resumed),
    /// The record goes on in another folder.
    Moved {
        /// When.
        at: Stamp,
        /// The folder before.
        from: String,
    },
}

impl Entry for ExamLine {
    const FOLDER: &'static str = "exams";
    const OF: &'static str = "exam";
    fn moved(at: Stamp, from: String) -> Self {
        Self::Moved { at, from }
    }
}

fn stamp(line: &ExamLine) -> &Stamp {
    match line {
        ExamLine::Opened(opening) => &opening.opened,
        ExamLine::Happened { at, .. } | ExamLine::Moved { at, .. } => at,
        ExamLine::Resumed(resumed) => &resumed.at,
    }
}

/// The folder of the exams in a data folder.
pub fn exams_folder(data: &Path) -> PathBuf {
    data.join(ExamLine::FOLDER)
}

/// The file of an exam.
pub fn exam_file(data: &Path, name: &str) -> PathBuf {
    file_in::<ExamLine>(data, name)
}

/// All exams, those last worked on first. A folder that is not there holds none.
///
/// # Errors
///
/// [`Trouble`] if the folder cannot be read.
pub fn exams(data: &Path) -> Result<Vec<Named>, Trouble> {
    let mut all = store::journals_in(&exams_folder(data))?;
    // An instructor names exams as is liked, so the names do not tell which is the newest.
    all.sort_by_cached_key(|named| {
        std::cmp::Reverse(std::fs::metadata(&named.path).and_then(|file| file.modified()).ok())
    });
    Ok(all)
}

/// An exam's file, read back.
#[derive(Clone, Debug)]
pub struct LoadedExam {
    /// How it was made.
    pub opening: ExamOpening,
    /// All lines.
    pub lines: Vec<ExamLine>,
    /// What happened, in order.
    pub events: Vec<(Event, Moment)>,
    /// A last entry that was cut off.
    pub torn: Option<Torn>,
}

impl LoadedExam {
    /// The last moment on record.
    pub fn last(&self) -> Moment {
        self.lines.iter().rev().find_map(|line| stamp(line).moment()).unwrap_or_default()
    }

    /// The line of the event at a place, from 1.
    pub(super) fn line_of(&self, event: usize) -> usize {
        let happened = |(_, line): &(usize, &ExamLine)| matches!(line, ExamLine::Happened { .. });
        self.lines.iter().enumerate().filter(happened).nth(event).map_or(0, |(n, _)| n + 1)
    }

    fn last_seen(&self) -> LastSeen {
        let opening = &self.opening;
        let resumed = self.lines.iter().rev().find_map(|line| match line {
            ExamLine::Resumed(resumed) => Some((resumed.boot.clone(), resumed.steady_ms)),
            _ => None,
        });
        let (boot, steady_ms) = resumed.unwrap_or_else(|| (opening.boot.clone(), opening.steady_ms));
        LastSeen {
            last: self.last(),
            began: lapse::count_began(opening.opened.moment().unwrap_or_default()),
            boot,
            steady_ms,
            simulated: opening.simulated.as_ref().map(|_| opening.speed.unwrap_or(1)),
        }
    }
}

/// Reads the lines of an exam's file. Whether each mark may follow those before it, the exam itself judges.
///
/// # Errors
///
/// [`LoadError`] for a line that is none of an exam, or a file from a later version of the program.
pub fn read_exam(recovered: Recovered) -> Result<LoadedExam, LoadError> {
    let no_line = |n: usize, why: String| LoadError::NoLine { line: n + 1, why };
    let read =
        |(n, entry): (usize, &journal::Entry)| entry.read_as::<ExamLine>().map_err(|why| no_line(n, why.to_string()));
    let lines = recovered.entries.iter().enumerate().map(read).collect::<Result<Vec<_>, _>>()?;
    let opening = match lines.first() {
        Some(ExamLine::Opened(opening)) if opening.exam_record > EXAM => {
            return Err(LoadError::Newer { found: opening.exam_record });
        }
        Some(ExamLine::Opened(opening)) => ExamOpening::clone(opening),
        _ => return Err(no_line(0, "an exam begins with how it was made".to_owned())),
    };
    let mut events = Vec::new();
    for (n, line) in lines.iter().enumerate() {
        if let ExamLine::Happened { at, event } = line {
            let at = at.moment().ok_or_else(|| no_line(n, "its time cannot be read".to_owned()))?;
            events.push((event.clone(), at));
        }
    }
    Ok(LoadedExam { opening, lines, events, torn: recovered.torn })
}

/// Reads an exam without changing anything.
///
/// # Errors
///
/// [`LoadError`].
pub fn load_exam(path: &Path) -> Result<LoadedExam, LoadError> {
    read_exam(journal::read(path)?)
}

/// The record of an exam while marks are given.
#[derive(Debug)]
pub struct ExamKeeper {
    ledger: Ledger<ExamLine>,
}

/// An exam that goes on.
#[derive(Debug)]
pub struct ExamResumption {
    /// Its record; the line that says it goes on is on the disk after [`ExamKeeper::catch_up`].
    pub keeper: ExamKeeper,
    /// What was read back.
    pub loaded: LoadedExam,
    /// Its clocks.
    pub timepiece: Timepiece,
    /// What the rater is told.
    pub said: String,
}

impl ExamKeeper {
    /// Makes the file of a new exam.
    ///
    /// # Errors
    ///
    /// [`Trouble`] if it cannot be made: before there is an exam nothing is lost.
    pub fn create(data: &Path, opening: ExamOpening) -> Result<Self, Trouble> {
        let name = opening.exam.clone();
        let ledger = Ledger::create(data, &name, ExamLine::Opened(Box::new(opening)));
        match ledger.trouble() {
            None => Ok(Self { ledger }),
            Some(trouble) => Err(trouble.clone()),
        }
    }

    /// Goes on with an exam: takes its lock, so that nobody else marks in the same file, and reads it. `judge` performs
    /// its events again; nothing is written if it refuses one.
    ///
    /// # Errors
    ///
    /// [`LoadError`].
    pub fn resume<T>(
        path: &Path,
        judge: impl FnOnce(&LoadedExam) -> Result<T, LoadError>,
    ) -> Result<(ExamResumption, T), LoadError> {
        let (journal, recovered) = Journal::open(path)?;
        let loaded = read_exam(recovered)?;
        let judged = judge(&loaded)?;
        let (timepiece, gap_ms, how) =
            loaded.last_seen().timepiece(clock::steady_ms(), clock::wall_now(), clock::boot());
        let data = store::data_of(path);
        let mut ledger = Ledger::reopened(&data, &loaded.opening.exam, path, journal, loaded.lines.clone());
        ledger.push(ExamLine::Resumed(Resumed {
            at: Stamp::of(timepiece.now()),
            boot: clock::boot(),
            steady_ms: timepiece.origin_ms(),
            gap_ms,
            how,
            tool: TOOL.to_owned(),
        }));
        let mut said = if loaded.events.is_empty() { String::new() } else { lapse::said_of(gap_ms, how) };
        if let Some(torn) = &loaded.torn {
            said.push_str(if torn.complete_line {
                " The last entry was damaged and is set aside: look whether a mark is missing."
            } else {
                " A last entry that had not been recorded was cut off."
            });
        }
        Ok((ExamResumption { keeper: Self { ledger }, loaded, timepiece, said }, judged))
    }

    /// Puts on the disk that the exam goes on.
    pub fn catch_up(&mut self) {
        self.ledger.catch_up();
    }

    /// The exam's name.
    pub fn name(&self) -> &str {
        self.ledger.name()
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        self.ledger.data()
    }

    /// The file.
    pub fn path(&self) -> &Path {
        self.ledger.path()
    }

    /// What is not on the disk, and why.
    pub fn trouble(&self) -> Option<&Trouble> {
        self.ledger.trouble()
    }

    /// What is not on the disk, as it would be written.
    pub fn unkept(&self) -> Vec<String> {
        self.ledger.unkept()
    }

    /// How many acts of raters are on the disk for certain, and how many are only in memory.
    pub fn n_kept(&self) -> (u64, u64) {
        let n =
            |lines: &[ExamLine]| lines.iter().filter(|line| matches!(line, ExamLine::Happened { .. })).count() as u64;
        let (kept, unkept) = self.ledger.lines().split_at(self.ledger.n_kept());
        (n(kept), n(unkept))
    }

    /// Puts an act on the disk. After a failure the disk is looked at first, and what is missing there is added.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: the act is in memory and not on the disk.
    pub fn keep(&mut self, event: Event, at: Moment) -> Result<(), Trouble> {
        let line = ExamLine::Happened { at: Stamp::of(at), event };
        if self.ledger.trouble().is_some() {
            self.ledger.push(line);
            return self.ledger.retry();
        }
        self.ledger.add(line);
        self.ledger.trouble().cloned().map_or(Ok(()), Err)
    }

    /// Looks at what is really on the disk and adds what is missing.
    ///
    /// # Errors
    ///
    /// [`Trouble`].
    pub fn retry(&mut self) -> Result<(), Trouble> {
        self.ledger.retry()
    }

    /// Goes on with the whole in another data folder; the same one, or none named, is tried again.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: everything stays in memory.
    pub fn move_to(&mut self, folder: &str, at: Moment) -> Result<(), Trouble> {
        let data = with_home(folder.trim());
        if folder.trim().is_empty() || data == self.ledger.data() {
            return self.ledger.retry();
        }
        self.ledger.move_to(&data, at)
    }

    /// What the screen is told of the record as it stands.
    pub fn answer(&self) -> ExamAnswer {
        let (kept, in_memory) = self.n_kept();
        match self.trouble() {
            None => ExamAnswer::Kept { n: kept },
            Some(Trouble { what, hint }) => ExamAnswer::Failed { what: what.clone(), hint: hint.clone(), in_memory },
        }
    }
}

impl Serves<ExamDeed, ExamAnswer> for ExamKeeper {
    fn carry_out(&mut self, deed: ExamDeed, now: Moment, answers: &mut Vec<ExamAnswer>) -> Wish {
        match deed {
            ExamDeed::Keep { event, at } => {
                // What failed is remembered, and answered.
                let _ = self.keep(event, at);
                answers.push(self.answer());
            }
            ExamDeed::MoveStore { folder } => match self.move_to(&folder, now) {
                Ok(()) => {
                    answers.push(ExamAnswer::Moved { folder: self.data().display().to_string() });
                    answers.push(self.answer());
                }
                Err(Trouble { what, hint }) => answers.push(ExamAnswer::MoveFailed { what, hint }),
            },
            ExamDeed::Bell => return Wish::Bell,
            ExamDeed::Suspend => return Wish::Suspend,
            ExamDeed::Leave => return Wish::Leave,
        }
        Wish::Nothing
    }
}

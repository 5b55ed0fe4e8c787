//! What stands in the file of a person who practises, how it is read back, and how it is kept while practising.
//!
//! Here: its lines, and the [`Diary`]. Not here: what an entry means and what is due (the crate `practice`), the frame of a
//! line (the crate `journal`), what is held in memory while the disk takes nothing (`ledger`).
//!
//! Diaries are kept in the folder `practice` beside the folder `runs`, framed and summed like runs, one for each person who
//! uses the machine. Nothing in them leaves it.
//!
//! **Invariant:** everything said about a person's practice is worked out from the entries; nothing else is kept.

use std::path::{Path, PathBuf};

use engine::Moment;
use journal::{Journal, Recovered};
use practice::{Entry, History};
use serde::{Deserialize, Serialize};

use super::ledger::{self, Ledger, file_in};
use super::record::{LoadError, Stamp};
use super::store::{self, Named, TOOL, Trouble, with_home};

/// The version of the lines written here, and the highest that is read.
pub const PRACTICE: u32 = 1;

/// The name of the diary of whoever names none.
pub const MINE: &str = "mine";

/// How a diary was begun: the first line of its file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DiaryOpening {
    /// The version of the lines.
    pub practice_record: u32,
    /// Whose it is.
    pub learner: String,
    /// The program and its version.
    pub tool: String,
    /// When.
    pub opened: Stamp,
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "line", rename_all = "kebab-case")]
pub enum DiaryLine {
    /// The first.
    Opened(DiaryOpening),
    /// Something was tried, performed or taken back.
    Entry {
        /// What.
        entry: Entry,
    },
    /// The record goes on in another folder.
    Moved {
        /// When.
        at: Stamp,
        /// The folder before.
        from: String,
    },
}

impl ledger::Entry for DiaryLine {
    const FOLDER: &'static str = "practice";
    const OF: &'static str = "practice";
    fn moved(at: Stamp, from: String) -> Self {
        Self::Moved { at, from }
    }
}

/// The record of a person's practice.
#[derive(Debug)]
pub struct Diary {
    ledger: Ledger<DiaryLine>,
    history: History,
}

/// The diaries in a data folder.
///
/// # Errors
///
/// [`Trouble`] if the folder cannot be read.
pub fn diaries(data: &Path) -> Result<Vec<Named>, Trouble> {
    store::journals_in(&data.join(<DiaryLine as ledger::Entry>::FOLDER))
}

/// The file of a person's diary.
pub fn diary_file(data: &Path, learner: &str) -> PathBuf {
    file_in::<DiaryLine>(data, learner)
}

/// What a person has practised so far, without changing anything; nothing if there is no diary yet.
///
/// # Errors
///
/// [`LoadError`] for a file that is none.
pub fn history(data: &Path, learner: &str) -> Result<History, LoadError> {
    let path = diary_file(data, learner);
    if !path.exists() {
        return Ok(History::default());
    }
    Ok(history_of(&lines_of(&journal::read(&path)?)?))
}

fn lines_of(recovered: &Recovered) -> Result<Vec<DiaryLine>, LoadError> {
    let no_line = |n: usize, why: String| LoadError::NoLine { line: n + 1, why };
    let read =
        |(n, entry): (usize, &journal::Entry)| entry.read_as::<DiaryLine>().map_err(|why| no_line(n, why.to_string()));
    let lines = recovered.entries.iter().enumerate().map(read).collect::<Result<Vec<_>, _>>()?;
    match lines.first() {
        Some(DiaryLine::Opened(opening)) if opening.practice_record > PRACTICE => {
            Err(LoadError::Newer { found: opening.practice_record })
        }
        Some(DiaryLine::Opened(_)) => Ok(lines),
        _ => Err(no_line(0, "a diary begins with whose it is".to_owned())),
    }
}

fn history_of(lines: &[DiaryLine]) -> History {
    let entry = |line: &DiaryLine| match line {
        DiaryLine::Entry { entry } => Some(entry.clone()),
        DiaryLine::Opened(_) | DiaryLine::Moved { .. } => None,
    };
    History::of(lines.iter().filter_map(entry).collect())
}

impl Diary {
    /// Goes on with a person's diary, or begins it; [`trouble`](Self::trouble) says if it could not be made.
    ///
    /// # Errors
    ///
    /// [`LoadError`] if there is a file that is none, or another program writes in it.
    pub fn open(data: &Path, learner: &str, now: Moment) -> Result<Self, LoadError> {
        let path = diary_file(data, learner);
        if !path.exists() {
            let opening = DiaryOpening {
                practice_record: PRACTICE,
                learner: learner.to_owned(),
                tool: TOOL.to_owned(),
                opened: Stamp::of(now),
            };
            let ledger = Ledger::create(data, learner, DiaryLine::Opened(opening));
            return Ok(Self { ledger, history: History::default() });
        }
        let (journal, recovered) = Journal::open(&path)?;
        let lines = lines_of(&recovered)?;
        let history = history_of(&lines);
        Ok(Self { ledger: Ledger::reopened(data, learner, &path, journal, lines), history })
    }

    /// What was practised so far.
    pub fn history(&self) -> &History {
        &self.history
    }

    /// The file.
    pub fn path(&self) -> &Path {
        self.ledger.path()
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        self.ledger.data()
    }

    /// What is not on the disk, and why.
    pub fn trouble(&self) -> Option<&Trouble> {
        self.ledger.trouble()
    }

    /// What is not on the disk, as it would be written.
    pub fn unkept(&self) -> Vec<String> {
        self.ledger.unkept()
    }

    /// How many entries are on the disk for certain, and how many are only in memory.
    pub fn n_kept(&self) -> (u64, u64) {
        let n =
            |lines: &[DiaryLine]| lines.iter().filter(|line| matches!(line, DiaryLine::Entry { .. })).count() as u64;
        let (kept, unkept) = self.ledger.lines().split_at(self.ledger.n_kept());
        (n(kept), n(unkept))
    }

    /// Puts an entry on the disk. After a failure the disk is looked at first, and what is missing there is added.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: the entry is in memory and not on the disk.
    pub fn keep(&mut self, entry: Entry) -> Result<(), Trouble> {
        self.history.add(entry.clone());
        let line = DiaryLine::Entry { entry };
        if self.ledger.trouble().is_some() {
            self.ledger.push(line);
            return self.ledger.retry();
        }
        self.ledger.add(line);
        self.ledger.trouble().cloned().map_or(Ok(()), Err)
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
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]
mod tests {
    use super::*;
    use practice::Help;
    use practice::history::{Tried, When};

    fn tried(item: &str, right: bool) -> Entry {
        let at = When { unix_ms: 1_778_761_800_000, offset_min: -300 };
        Entry::Tried(Tried { at, item: item.to_owned(), help: Help::AfterTry, right, slip: None, took_ms: 4_000 })
    }

    #[test]
    fn what_was_tried_is_there_the_next_day() {
        let folder = tempfile::tempdir().unwrap();
        let mut diary = Diary::open(folder.path(), MINE, Moment::default()).unwrap();
        assert!(diary.trouble().is_none());
        diary.keep(tried("slump/lift", false)).unwrap();
        diary.keep(tried("slump/rod", true)).unwrap();
        assert_eq!(diary.n_kept(), (2, 0));
        drop(diary);
        let again = Diary::open(folder.path(), MINE, Moment::default()).unwrap();
        assert_eq!(again.history().entries(), [tried("slump/lift", false), tried("slump/rod", true)]);
        assert_eq!(history(folder.path(), MINE).unwrap().entries().len(), 2);
        assert_eq!(history(folder.path(), "somebody-else").unwrap().entries().len(), 0);
    }

    #[test]
    fn two_programs_never_write_in_one_diary() {
        let folder = tempfile::tempdir().unwrap();
        let _first = Diary::open(folder.path(), MINE, Moment::default()).unwrap();
        assert!(Diary::open(folder.path(), MINE, Moment::default()).is_err());
    }

    #[test]
    fn a_disk_that_takes_nothing_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let data = folder.path().join("no-folder");
        std::fs::write(&data, "a file stands in the way").unwrap();
        let mut diary = Diary::open(&data, MINE, Moment::default()).unwrap();
        assert!(diary.trouble().is_some());
        assert!(diary.keep(tried("slump/lift", true)).is_err());
        assert_eq!((diary.n_kept(), diary.unkept().len()), ((0, 1), 2));
        let other = folder.path().join("other");
        diary.move_to(&other.display().to_string(), Moment::default()).unwrap();
        assert_eq!(diary.n_kept(), (1, 0));
        drop(diary);
        assert_eq!(history(&other, MINE).unwrap().entries(), [tried("slump/lift", true)]);
    }
}

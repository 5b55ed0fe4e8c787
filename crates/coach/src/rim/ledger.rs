//! A file of lines beside the runs: the file of a sample, the file of an exam.
//!
//! Here: a journal whose lines are all held in memory too, so that nothing is lost while the disk takes nothing. Not here:
//! what a line means (`sample_record`, `exam_record`).
//!
//! **Invariant:** what is counted as kept is on the disk, in order, in one file. What failed stays in memory and is
//! remembered as trouble until a look at the disk has mended it.

use std::path::{Path, PathBuf};

use engine::Moment;
use journal::Journal;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::record::Stamp;
use super::store::{ENDING, RETRY, Trouble, identity, make_folder};

/// A line of such a file.
pub trait Entry: Serialize + DeserializeOwned + PartialEq {
    /// The folder of the files in a data folder.
    const FOLDER: &'static str;
    /// What the file is of, for messages.
    const OF: &'static str;
    /// The line that says that the record goes on in another folder.
    fn moved(at: Stamp, from: String) -> Self;
}

/// The file of lines called `name` in a data folder.
pub fn file_in<L: Entry>(data: &Path, name: &str) -> PathBuf {
    data.join(L::FOLDER).join(format!("{name}{ENDING}"))
}

/// Keeps a file of lines.
#[derive(Debug)]
pub struct Ledger<L> {
    name: String,
    data: PathBuf,
    path: PathBuf,
    lines: Vec<L>,
    n_kept: usize,
    journal: Option<Journal>,
    /// Which file the journal is, where the system tells.
    is_file: Option<(u64, u64)>,
    trouble: Option<Trouble>,
}

impl<L: Entry> Ledger<L> {
    /// Makes a new file; [`trouble`](Self::trouble) says if it could not be made.
    pub fn create(data: &Path, name: &str, first: L) -> Self {
        let mut ledger = Self {
            name: name.to_owned(),
            data: data.to_owned(),
            path: file_in::<L>(data, name),
            lines: vec![first],
            n_kept: 0,
            journal: None,
            is_file: None,
            trouble: None,
        };
        ledger.catch_up();
        ledger
    }

    /// Goes on with a file that was opened and read.
    pub fn reopened(data: &Path, name: &str, path: &Path, journal: Journal, lines: Vec<L>) -> Self {
        Self {
            name: name.to_owned(),
            data: data.to_owned(),
            path: path.to_owned(),
            n_kept: lines.len(),
            lines,
            journal: Some(journal),
            is_file: identity(path),
            trouble: None,
        }
    }

    /// The name of what the file is of.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What is not on the disk, and why.
    pub fn trouble(&self) -> Option<&Trouble> {
        self.trouble.as_ref()
    }

    /// The lines so far.
    pub fn lines(&self) -> &[L] {
        &self.lines
    }

    /// How many of them are on the disk for certain.
    pub fn n_kept(&self) -> usize {
        self.n_kept.min(self.lines.len())
    }

    /// Holds a line that [`catch_up`](Self::catch_up) puts on the disk.
    pub fn push(&mut self, line: L) {
        self.lines.push(line);
    }

    /// Adds a line. What fails stays in memory and is remembered.
    pub fn add(&mut self, line: L) {
        self.lines.push(line);
        if self.trouble.is_none() {
            self.catch_up();
        }
    }

    /// Puts on the disk what waits; what fails is remembered.
    pub fn catch_up(&mut self) {
        self.trouble = self.append_waiting().err();
    }

    /// Looks at what is really on the disk and adds what is missing.
    ///
    /// # Errors
    ///
    /// [`Trouble`]: everything stays in memory.
    pub fn retry(&mut self) -> Result<(), Trouble> {
        self.journal = None;
        self.catch_up();
        self.trouble.clone().map_or(Ok(()), Err)
    }

    /// Goes on in another data folder, with the whole of it. As before if that folder does not take it.
    ///
    /// # Errors
    ///
    /// [`Trouble`].
    pub fn move_to(&mut self, data: &Path, at: Moment) -> Result<(), Trouble> {
        let before = (self.data.clone(), self.path.clone(), self.n_kept, self.is_file, self.lines.len());
        let stopped = self.journal.take();
        if self.n_kept > 0 {
            self.lines.push(L::moved(Stamp::of(at), self.data.display().to_string()));
        }
        (self.data, self.path) = (data.to_owned(), file_in::<L>(data, &self.name));
        (self.n_kept, self.is_file) = (0, None);
        let outcome = self.append_waiting();
        match &outcome {
            Ok(()) => self.trouble = None,
            Err(_) => {
                let n_lines;
                (self.data, self.path, self.n_kept, self.is_file, n_lines) = before;
                self.lines.truncate(n_lines);
                self.journal = stopped;
            }
        }
        outcome
    }

    fn append_waiting(&mut self) -> Result<(), Trouble> {
        if self.journal.is_none() {
            make_folder(&self.data.join(L::FOLDER))?;
            self.open()?;
        }
        let Some(journal) = &mut self.journal else {
            return Err(Trouble { what: format!("the {} has no file", L::OF), hint: RETRY.to_owned() });
        };
        while let Some(line) = self.lines.get(self.n_kept) {
            journal.append(line).map_err(|why| Trouble::new(&why, why.hint()))?;
            self.n_kept += 1;
        }
        // A file that was removed takes bytes and flushes them all the same; nobody would ever find them.
        if self.is_file.is_some() && self.is_file != identity(&self.path) {
            (self.journal, self.n_kept, self.is_file) = (None, 0, None);
            return Err(Trouble {
                what: format!("{} has vanished", self.path.display()),
                hint: "Was the card or the folder removed? Put it back and try again, or choose another folder."
                    .to_owned(),
            });
        }
        Ok(())
    }

    /// Opens the file, or makes it. What is there must be the beginning of what is in memory.
    fn open(&mut self) -> Result<(), Trouble> {
        let Some(first) = self.lines.first() else { return Ok(()) };
        if !self.path.exists() {
            self.journal = Some(Journal::create(&self.path, first).map_err(|why| Trouble::new(&why, why.hint()))?);
            (self.n_kept, self.is_file) = (1, identity(&self.path));
            return Ok(());
        }
        let (journal, there) = Journal::open(&self.path).map_err(|why| Trouble::new(&why, why.hint()))?;
        let agrees = |(entry, line): (&journal::Entry, &L)| entry.read_as::<L>().is_ok_and(|read: L| read == *line);
        if there.entries.len() > self.lines.len() || !there.entries.iter().zip(&self.lines).all(agrees) {
            return Err(Trouble {
                what: format!("{} holds something else than this {}", self.path.display(), L::OF),
                hint: "Choose another folder; nothing there was changed.".to_owned(),
            });
        }
        (self.n_kept, self.is_file) = (there.entries.len(), identity(&self.path));
        self.journal = Some(journal);
        Ok(())
    }

    /// What is not on the disk, as it would be written.
    pub fn unkept(&self) -> Vec<String> {
        let unkept = &self.lines[self.n_kept()..];
        unkept.iter().filter_map(|line| serde_json::to_string(line).ok()).collect()
    }
}

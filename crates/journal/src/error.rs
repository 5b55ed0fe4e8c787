//! What can go wrong with a journal, in data and in plain words.
//!
//! Here: the errors and what to do about each. Not here: deciding which one applies.
//!
//! **Invariant:** a message says what failed, `source` why, `hint` what to do next.

use std::fmt;
use std::io;
use std::path::PathBuf;

use crate::VERSION;

/// A call on the disk, named so that a message can say which one failed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Looking whether the journal is there.
    Look,
    /// Making and locking the lock file.
    Lock,
    /// Removing what an earlier create left unfinished.
    ClearUnfinished,
    /// Making a new file.
    Make,
    /// Opening the journal for writing.
    Open,
    /// Reading the journal.
    Read,
    /// Writing into a file.
    Write,
    /// Making sure a file is on the disk.
    Sync,
    /// Giving the new journal its name.
    Name,
    /// Making sure a name is on the disk.
    SyncFolder,
    /// Cutting off a torn last entry.
    Cut,
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Look => "look for",
            Self::Lock => "lock",
            Self::ClearUnfinished => "clear away the unfinished",
            Self::Make => "make",
            Self::Open => "open",
            Self::Read => "read",
            Self::Write => "write to",
            Self::Sync => "save to the disk",
            Self::Name => "name",
            Self::SyncFolder => "save to the disk the folder of",
            Self::Cut => "cut the torn last entry off",
        })
    }
}

/// Why a payload cannot be an entry. Nothing was written; the journal goes on.
#[derive(Debug, thiserror::Error)]
pub enum PayloadError {
    /// The value has no form in JSON, such as a map keyed by something other than text.
    #[error("this entry cannot be written as JSON")]
    NotJson(#[source] serde_json::Error),
    /// A payload is a JSON object, so that fields can be added later.
    #[error("an entry must be a JSON object: {{...}}")]
    NotAnObject,
    /// Raw JSON text was handed over that is spread over several lines.
    #[error("an entry must be on one line")]
    LineBreak,
}

/// Why no journal was made.
///
/// No half-made journal is left under the journal's name: it gets its name only once its first entry is on the
/// disk. If the folder could not be synced after that, the file is removed again; should removing it fail as
/// well, a whole one-entry journal stays, which [`Journal::open`](crate::Journal::open) takes up.
#[derive(Debug, thiserror::Error)]
pub enum CreateError {
    /// A file of this name is there already. It is never overwritten.
    #[error("there is already a file {path}", path = path.display())]
    AlreadyThere {
        /// The journal.
        path: PathBuf,
    },
    /// Another program is making or writing this journal.
    #[error("the journal {path} is open in another program", path = path.display())]
    Locked {
        /// The journal.
        path: PathBuf,
    },
    /// The first entry is none.
    #[error(transparent)]
    Payload(#[from] PayloadError),
    /// A call on the disk failed.
    #[error("cannot {step} {path}", path = path.display())]
    Disk {
        /// What was being done.
        step: Step,
        /// To which file.
        path: PathBuf,
        /// Why it failed.
        source: io::Error,
    },
}

impl CreateError {
    /// What to do next, in plain words.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::AlreadyThere { .. } => "Resume that run, or choose another name.",
            Self::Locked { .. } => LOCKED,
            Self::Payload(_) => PAYLOAD,
            Self::Disk { step, source, .. } => disk_hint(*step, source),
        }
    }
}

/// Why an entry was not recorded.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// The payload is no JSON object on one line; nothing was written and the journal goes on.
    #[error(transparent)]
    Payload(#[from] PayloadError),
    /// The disk did not take the entry. The journal stops.
    #[error("entry {n} is NOT recorded: cannot {step} {path}", path = path.display())]
    Disk {
        /// The entry that is not recorded.
        n: u64,
        /// Whether writing or syncing failed.
        step: Step,
        /// The journal.
        path: PathBuf,
        /// Why it failed.
        source: io::Error,
    },
    /// An earlier write or sync failed, so nothing more is taken: a sync tried again can report success for
    /// bytes that never reached the disk.
    #[error("entry {n} is NOT recorded: {path} has stopped after an earlier failure", path = path.display())]
    Stopped {
        /// The entry that would have been next.
        n: u64,
        /// The journal.
        path: PathBuf,
    },
}

impl AppendError {
    /// What to do next, in plain words.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Payload(_) => PAYLOAD,
            Self::Disk { step, source, .. } => disk_hint(*step, source),
            Self::Stopped { .. } => "Open the journal again: that shows what is really on the disk.",
        }
    }
}

/// What is wrong with the bytes of a journal.
///
/// A torn last entry is *not* here: it is what a dead battery leaves; see [`Torn`](crate::Torn).
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Damaged {
    /// The file is empty, its only entry is torn or damaged, or it is no journal at all.
    #[error("no whole first entry in {bytes} bytes")]
    NoFirstEntry {
        /// Length of what was read.
        bytes: u64,
    },
    /// An entry that is not the last one, or more than one entry, was changed.
    #[error("entry {entry} (line {line}, byte {offset}) is damaged, with {after} good entries after it")]
    Inside {
        /// The number `n` the damaged entry should have.
        entry: u64,
        /// Its line, counted from 1.
        line: u64,
        /// Where it starts, in bytes from the start of the file.
        offset: u64,
        /// How many whole entries come after it. None means: more than one write's worth is bad.
        after: u64,
    },
    /// Written by a later version of the program.
    #[error("line {line} is in journal format {found}; this program knows formats up to {VERSION}")]
    NewerFormat {
        /// The version found.
        found: u64,
        /// Its line, counted from 1.
        line: u64,
    },
}

impl Damaged {
    /// What to do next, in plain words.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NoFirstEntry { .. } => "Nothing can be resumed from it. Start a new run; keep the file.",
            Self::Inside { .. } => "Keep the file. Export the entries before the damage, then start a new run.",
            Self::NewerFormat { .. } => "Use the newer version of the program that wrote it.",
        }
    }

    /// The same with the name of the file.
    pub(crate) fn in_file(self, path: PathBuf) -> OpenError {
        match self {
            Self::NoFirstEntry { bytes } => OpenError::NoFirstEntry { path, bytes },
            Self::Inside { entry, line, offset, after } => {
                OpenError::DamagedInside { path, entry, line, offset, after }
            }
            Self::NewerFormat { found, line } => OpenError::NewerFormat { path, found, line },
        }
    }
}

/// Why a journal cannot be continued, or read.
///
/// A torn last entry is *not* here: it is what a dead battery leaves, and opening repairs it.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// Another program writes this journal. It can still be read.
    #[error("the journal {path} is open in another program", path = path.display())]
    Locked {
        /// The journal.
        path: PathBuf,
    },
    /// The file is empty, its only entry is torn or damaged, or it is no journal at all.
    #[error("{path} has no whole first entry in its {bytes} bytes", path = path.display())]
    NoFirstEntry {
        /// The journal.
        path: PathBuf,
        /// Length of the file.
        bytes: u64,
    },
    /// An entry that is not the last one, or more than one entry, was changed. Nothing in the file was touched.
    #[error(
        "entry {entry} of {path} (line {line}, byte {offset}) is damaged, with {after} good entries after it",
        path = path.display()
    )]
    DamagedInside {
        /// The journal.
        path: PathBuf,
        /// The number `n` the damaged entry should have.
        entry: u64,
        /// Its line, counted from 1.
        line: u64,
        /// Where it starts, in bytes from the start of the file.
        offset: u64,
        /// How many whole entries come after it. None means: more than one write's worth is bad.
        after: u64,
    },
    /// Written by a later version of the program. Nothing in the file was touched.
    #[error(
        "line {line} of {path} is in journal format {found}; this program knows formats up to {VERSION}",
        path = path.display()
    )]
    NewerFormat {
        /// The journal.
        path: PathBuf,
        /// The version found.
        found: u64,
        /// Its line, counted from 1.
        line: u64,
    },
    /// A call on the disk failed.
    #[error("cannot {step} {path}", path = path.display())]
    Disk {
        /// What was being done.
        step: Step,
        /// To which file.
        path: PathBuf,
        /// Why it failed.
        source: io::Error,
    },
}

impl OpenError {
    /// What to do next, in plain words.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Locked { .. } => LOCKED,
            &Self::NoFirstEntry { bytes, .. } => Damaged::NoFirstEntry { bytes }.hint(),
            &Self::DamagedInside { entry, line, offset, after, .. } => {
                Damaged::Inside { entry, line, offset, after }.hint()
            }
            &Self::NewerFormat { found, line, .. } => Damaged::NewerFormat { found, line }.hint(),
            Self::Disk { step, source, .. } => disk_hint(*step, source),
        }
    }
}

const LOCKED: &str = "Close the run in the other window or program first; until then it can only be read.";
const PAYLOAD: &str = "This is a fault of the program, not of the disk. Nothing was written.";

/// What to do about a failed call on the disk.
fn disk_hint(step: Step, why: &io::Error) -> &'static str {
    use io::ErrorKind as Kind;
    match why.kind() {
        Kind::StorageFull => "The disk is full: free some space or choose another folder.",
        Kind::QuotaExceeded => "Your share of the disk is used up: free some space or choose another folder.",
        Kind::ReadOnlyFilesystem => {
            "The disk can only be read: unlock or remount it (a card may have a write-protect switch), or choose \
             another folder."
        }
        Kind::PermissionDenied => "You may not write here: choose a folder of your own, or ask for the permission.",
        Kind::NotFound => "It is not there: check the name, and that the folder or card has not been removed.",
        Kind::NotADirectory => "A part of that name is a file, not a folder: check the name.",
        Kind::IsADirectory => "That name is a folder: name a file in it.",
        Kind::FileTooLarge => "The file system allows no larger file: choose another folder.",
        _ if step == Step::Lock => {
            "This disk may not know locks (some network folders): choose a folder on a local disk."
        }
        _ => "The disk did not do it: check that it is still connected and sound, or choose another folder.",
    }
}

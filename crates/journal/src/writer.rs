//! Making, continuing and reading journal files.
//!
//! Here: the order of calls on the disk, and stopping when one fails. Not here: the bytes of a line (`line`), the
//! verdict on damage (`scan`).
//!
//! **Invariant:** `Ok` from [`Journal::append`] means the line is on the disk. After a failed write or sync nothing
//! more is acknowledged, and no sync is tried again.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::line::{self, Sum};
use crate::{AppendError, CreateError, Damaged, Disk, Entry, OpenError, Recovered, Step, Store, Torn};
use crate::{read_bytes, salvage_bytes};

/// A journal open for appending; the only writer of its file while it lives.
///
/// # Example
///
/// ```
/// use journal::Journal;
/// use serde_json::json;
///
/// let folder = tempfile::tempdir()?;
/// let mut journal = Journal::create(&folder.path().join("run.jsonl"), &json!({"began": "slump"}))?;
/// match journal.append(&json!({"reading": "100 mm"})) {
///     Ok(n) => println!("recorded as entry {n}"),
///     Err(why) => println!("{why}. {}", why.hint()), // never say "recorded" here
/// }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Journal<S: Store = Disk> {
    store: S,
    file: S::File,
    _lock: S::Lock,
    path: PathBuf,
    /// Where the next line goes, in bytes.
    end: u64,
    /// The number of the next entry.
    next: u64,
    last_sum: Sum,
    /// The line being written; kept so that an entry costs no new memory.
    line: Vec<u8>,
    stopped: bool,
}

impl Journal {
    /// Makes a new journal with its first entry, on the disk when this returns. Never overwrites a file.
    ///
    /// # Errors
    ///
    /// [`CreateError`]; no half-made journal is left that would block another try (see there).
    ///
    /// # Example
    ///
    /// ```
    /// use journal::{CreateError, Journal};
    ///
    /// let folder = tempfile::tempdir()?;
    /// let path = folder.path().join("run.jsonl");
    /// let first = serde_json::json!({"began": "slump"});
    /// drop(Journal::create(&path, &first)?);
    /// assert!(matches!(Journal::create(&path, &first), Err(CreateError::AlreadyThere { .. })));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn create<T: Serialize + ?Sized>(path: &Path, first: &T) -> Result<Self, CreateError> {
        Self::create_in(Disk, path, first)
    }

    /// Opens a journal to go on with it: takes the lock, reads everything, cuts off a torn last entry.
    ///
    /// The cut-off bytes are first saved in a side file, named in [`Torn::kept_in`].
    ///
    /// # Errors
    ///
    /// [`OpenError`]; the journal itself is then unchanged, or still holds every sound entry.
    ///
    /// # Example
    ///
    /// ```
    /// use journal::Journal;
    ///
    /// let folder = tempfile::tempdir()?;
    /// let path = folder.path().join("run.jsonl");
    /// drop(Journal::create(&path, &serde_json::json!({"began": "slump"}))?);
    /// // The battery dies in the middle of a write.
    /// std::fs::write(&path, [std::fs::read(&path)?, br#"{"v":1,"n":1,"e":{"rea"#.to_vec()].concat())?;
    ///
    /// let (journal, recovered) = Journal::open(&path)?;
    /// assert_eq!(journal.len(), 1);
    /// let torn = recovered.torn.ok_or("a torn entry")?;
    /// assert!(!torn.complete_line);
    /// assert_eq!(std::fs::read(torn.kept_in.ok_or("a side file")?)?, torn.bytes);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn open(path: &Path) -> Result<(Self, Recovered), OpenError> {
        Self::open_in(Disk, path)
    }
}

impl<S: Store> Journal<S> {
    /// [`Journal::create`] on a disk of the caller's own.
    ///
    /// # Errors
    /// As there.
    pub fn create_in<T: Serialize + ?Sized>(store: S, path: &Path, first: &T) -> Result<Self, CreateError> {
        let failed = |step, path: &Path| {
            let path = path.to_owned();
            move |source| CreateError::Disk { step, path, source }
        };
        let mut line = Vec::with_capacity(1024);
        let last_sum = line::encode(&mut line, 0, Sum::ZERO, first)?;

        let lock = store.lock(&beside(path, ".lock")).map_err(failed(Step::Lock, path))?;
        let lock = lock.ok_or_else(|| CreateError::Locked { path: path.to_owned() })?;
        // Under the lock, no other journal can take the name between looking and renaming.
        if store.exists(path).map_err(failed(Step::Look, path))? {
            return Err(CreateError::AlreadyThere { path: path.to_owned() });
        }
        // Made under another name, so that a crash leaves either no journal or one with its first entry.
        let unfinished = beside(path, ".new");
        match store.remove(&unfinished) {
            Err(why) if why.kind() != io::ErrorKind::NotFound => {
                return Err(failed(Step::ClearUnfinished, &unfinished)(why));
            }
            _ => {}
        }
        let file = store.create_new(&unfinished).map_err(failed(Step::Make, &unfinished))?;
        let named = write_all_at(&store, &file, 0, &line)
            .map_err(failed(Step::Write, &unfinished))
            .and_then(|()| store.sync(&file).map_err(failed(Step::Sync, &unfinished)))
            .and_then(|()| store.rename(&unfinished, path).map_err(failed(Step::Name, path)));
        if let Err(why) = named {
            // What failed is what is reported; a left-over is cleared by the next create.
            let _ = store.remove(&unfinished);
            return Err(why);
        }
        if let Err(why) = store.sync_dir(folder(path)) {
            let _ = store.remove(path);
            return Err(failed(Step::SyncFolder, path)(why));
        }
        let end = line.len() as u64;
        Ok(Self { store, file, _lock: lock, path: path.to_owned(), end, next: 1, last_sum, line, stopped: false })
    }

    /// [`Journal::open`] on a disk of the caller's own.
    ///
    /// # Errors
    /// As there.
    pub fn open_in(store: S, path: &Path) -> Result<(Self, Recovered), OpenError> {
        let failed = |step| move |source| OpenError::Disk { step, path: path.to_owned(), source };
        // Before locking, so that a misspelt name leaves no lock file behind.
        if !store.exists(path).map_err(failed(Step::Look))? {
            return Err(failed(Step::Open)(io::ErrorKind::NotFound.into()));
        }
        let lock = store.lock(&beside(path, ".lock")).map_err(failed(Step::Lock))?;
        let lock = lock.ok_or_else(|| OpenError::Locked { path: path.to_owned() })?;
        let file = store.open(path).map_err(failed(Step::Open))?;
        let bytes = store.read(path).map_err(failed(Step::Read))?;
        let mut recovered = read_bytes(&bytes).map_err(|damaged| damaged.in_file(path.to_owned()))?;

        let mut end = bytes.len() as u64;
        if let Some(torn) = &mut recovered.torn {
            torn.kept_in = Some(set_aside(&store, path, torn)?);
            end = torn.offset;
            store.truncate(&file, end).map_err(failed(Step::Cut))?;
        }
        // A sync that failed in an earlier life may have left the last line in memory only, marked as saved. So it
        // is written once more, over itself: then this sync really carries it to the disk. The same bytes go to
        // the same place, so a crash on the way changes nothing.
        let last = recovered.entries.last().map_or(0, |entry| entry.offset);
        let last_line = usize::try_from(last).ok().zip(usize::try_from(end).ok());
        let last_line = last_line.and_then(|(from, to)| bytes.get(from..to)).unwrap_or_default();
        write_all_at(&store, &file, last, last_line).map_err(failed(Step::Write))?;
        store.sync(&file).map_err(failed(Step::Sync))?;
        // Likewise the name: a create whose folder sync failed may have left it in memory only.
        store.sync_dir(folder(path)).map_err(failed(Step::SyncFolder))?;

        let journal = Self {
            store,
            file,
            _lock: lock,
            path: path.to_owned(),
            end,
            next: recovered.entries.len() as u64,
            last_sum: Sum::read(recovered.last_sum.as_bytes()).unwrap_or(Sum::ZERO),
            line: Vec::with_capacity(1024),
            stopped: false,
        };
        Ok((journal, recovered))
    }

    /// Records one entry and returns its number. `Ok` means: on the disk.
    ///
    /// One write and one sync. A write that takes only a part is continued; an interrupted one is begun again.
    ///
    /// # Errors
    ///
    /// * [`AppendError::Payload`]: no JSON object on one line. Nothing was written; the journal goes on.
    /// * [`AppendError::Disk`]: a full or failing disk, a card pulled out. The entry may or may not be there after a
    ///   restart; the journal stops.
    /// * [`AppendError::Stopped`]: it has stopped before. Drop it and call [`Journal::open`] again, which tells what
    ///   is really on the disk.
    pub fn append<T: Serialize + ?Sized>(&mut self, payload: &T) -> Result<u64, AppendError> {
        let n = self.next;
        if self.stopped {
            return Err(AppendError::Stopped { n, path: self.path.clone() });
        }
        let sum = line::encode(&mut self.line, n, self.last_sum, payload)?;
        let written = write_all_at(&self.store, &self.file, self.end, &self.line)
            .map_err(|why| (Step::Write, why))
            .and_then(|()| self.store.sync(&self.file).map_err(|why| (Step::Sync, why)));
        if let Err((step, source)) = written {
            self.stopped = true;
            return Err(AppendError::Disk { n, step, path: self.path.clone(), source });
        }
        self.end += self.line.len() as u64;
        self.next += 1;
        self.last_sum = sum;
        Ok(n)
    }

    /// Where the journal is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// How many entries are recorded; also the number the next one gets.
    #[must_use]
    pub fn len(&self) -> u64 {
        self.next
    }

    /// Always false: a journal is made with its first entry.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.next == 0
    }

    /// The sum of the last recorded entry, 32 hexadecimal digits. Written down elsewhere, it proves later that
    /// nothing up to here was changed or removed.
    #[must_use]
    pub fn last_sum(&self) -> &str {
        self.last_sum.as_str()
    }

    /// Whether a failed write or sync has stopped this journal.
    #[must_use]
    pub fn has_stopped(&self) -> bool {
        self.stopped
    }
}

/// Reads a journal without locking or repairing it; a folder that can only be read is enough.
///
/// While a writer is at work, a torn last entry may simply be the one being written.
///
/// # Errors
///
/// [`OpenError`], never [`OpenError::Locked`].
///
/// # Example
///
/// ```
/// let folder = tempfile::tempdir()?;
/// let path = folder.path().join("run.jsonl");
/// let writer = journal::Journal::create(&path, &serde_json::json!({"began": "slump"}))?;
/// assert_eq!(journal::read(&path)?.entries[0].json(), r#"{"began":"slump"}"#);
/// # drop(writer);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read(path: &Path) -> Result<Recovered, OpenError> {
    read_bytes(&read_file(path)?).map_err(|damaged| damaged.in_file(path.to_owned()))
}

/// The sound entries before the first damage in a file, and the damage, if any; changes nothing.
///
/// # Errors
///
/// [`OpenError::Disk`] if the file cannot be read.
///
/// # Example
///
/// ```
/// let folder = tempfile::tempdir()?;
/// let path = folder.path().join("run.jsonl");
/// drop(journal::Journal::create(&path, &serde_json::json!({"began": "slump"}))?);
/// let (entries, damaged) = journal::salvage(&path)?;
/// assert_eq!((entries.len(), damaged), (1, None));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn salvage(path: &Path) -> Result<(Vec<Entry>, Option<Damaged>), OpenError> {
    Ok(salvage_bytes(&read_file(path)?))
}

fn read_file(path: &Path) -> Result<Vec<u8>, OpenError> {
    fs::read(path).map_err(|source| OpenError::Disk { step: Step::Read, path: path.to_owned(), source })
}

/// Saves a torn piece in a side file of its own, on the disk when this returns.
fn set_aside<S: Store>(store: &S, path: &Path, torn: &Torn) -> Result<PathBuf, OpenError> {
    let n = torn.n;
    let mut copy = 1_u32;
    loop {
        let side = match copy {
            1 => beside(path, &format!(".torn-{n}")),
            _ => beside(path, &format!(".torn-{n}-{copy}")),
        };
        let failed = |step| {
            let path = side.clone();
            move |source| OpenError::Disk { step, path, source }
        };
        match store.create_new(&side) {
            Ok(file) => {
                write_all_at(store, &file, 0, &torn.bytes).map_err(failed(Step::Write))?;
                store.sync(&file).map_err(failed(Step::Sync))?;
                store.sync_dir(folder(path)).map_err(failed(Step::SyncFolder))?;
                return Ok(side);
            }
            // Somebody's torn bytes already; they are not ours to overwrite.
            Err(why) if why.kind() == io::ErrorKind::AlreadyExists && copy < MOST_SIDE_FILES => copy += 1,
            Err(why) => return Err(failed(Step::Make)(why)),
        }
    }
}

/// More side files than this for one entry mean that something else is wrong.
const MOST_SIDE_FILES: u32 = 10_000;

/// An interrupted write is begun again, but not for ever: a person is waiting.
const MOST_INTERRUPTIONS: u32 = 100;

/// Writes all bytes, in as many calls as the disk wants.
fn write_all_at<S: Store>(store: &S, file: &S::File, at: u64, bytes: &[u8]) -> io::Result<()> {
    let mut done = 0;
    let mut interruptions = 0;
    while done < bytes.len() {
        match store.write_at(file, at + done as u64, &bytes[done..]) {
            Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
            Ok(taken) => done += taken,
            Err(why) if why.kind() == io::ErrorKind::Interrupted && interruptions < MOST_INTERRUPTIONS => {
                interruptions += 1;
            }
            Err(why) => return Err(why),
        }
    }
    Ok(())
}

/// The file beside the journal that ends in `ending`.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(ending);
    name.into()
}

/// The folder a file is in.
fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

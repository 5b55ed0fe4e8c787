//! What a journal needs of a disk, and the real one.
//!
//! Here: single calls, each of which can fail. Not here: their order, and what a failure means.
//!
//! **Invariant:** one method is one promise to the writer, so that a test can break each of them alone.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io;
use std::path::Path;

/// What a journal needs of a disk. [`Disk`] is the real one; tests bring one that fails on demand.
///
/// # Example
///
/// ```
/// use journal::{Disk, Store};
///
/// let folder = tempfile::tempdir()?;
/// let path = folder.path().join("a");
/// let file = Disk.create_new(&path)?;
/// assert_eq!(Disk.write_at(&file, 0, b"abc")?, 3);
/// Disk.sync(&file)?;
/// assert_eq!(Disk.read(&path)?, b"abc");
/// # Ok::<(), std::io::Error>(())
/// ```
pub trait Store {
    /// An open file that can be written.
    type File;
    /// A held lock; dropping it releases it.
    type Lock;

    /// Whether anything has this name, be it a link that leads nowhere.
    ///
    /// # Errors
    /// If the folder cannot be looked into.
    fn exists(&self, path: &Path) -> io::Result<bool>;

    /// Takes the lock that `path` stands for, making the file if needed. `None` if somebody else holds it.
    ///
    /// # Errors
    /// If the file cannot be made, or the disk knows no locks.
    fn lock(&self, path: &Path) -> io::Result<Option<Self::Lock>>;

    /// Makes a file that must not be there yet.
    ///
    /// # Errors
    /// [`io::ErrorKind::AlreadyExists`] if it is; any reason for which it cannot be made.
    fn create_new(&self, path: &Path) -> io::Result<Self::File>;

    /// Opens a file that is there for writing.
    ///
    /// # Errors
    /// If it is not there or may not be written.
    fn open(&self, path: &Path) -> io::Result<Self::File>;

    /// Reads a whole file.
    ///
    /// # Errors
    /// If it cannot be read.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;

    /// Writes once, from byte `at`; returns how many bytes were taken, which may be fewer than given.
    ///
    /// # Errors
    /// If none were taken, or an unknown number.
    fn write_at(&self, file: &Self::File, at: u64, bytes: &[u8]) -> io::Result<usize>;

    /// Returns once the file's bytes and length are on the disk.
    ///
    /// # Errors
    /// If they may not be. Asking again proves nothing.
    fn sync(&self, file: &Self::File) -> io::Result<()>;

    /// Cuts the file to `len` bytes.
    ///
    /// # Errors
    /// If it cannot be cut.
    fn truncate(&self, file: &Self::File, len: u64) -> io::Result<()>;

    /// Gives a file another name in the same folder.
    ///
    /// # Errors
    /// If it cannot be renamed.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file.
    ///
    /// # Errors
    /// If it cannot be removed, or is not there.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Returns once the names in a folder are on the disk.
    ///
    /// # Errors
    /// If they may not be.
    fn sync_dir(&self, folder: &Path) -> io::Result<()>;
}

/// The real disk, through the standard library.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

/// A lock on the real disk, held until this is dropped or the process ends.
#[derive(Debug)]
pub struct DiskLock(File);

impl Drop for DiskLock {
    fn drop(&mut self) {
        // Closing the file is not enough: a child process just being started still has it open for a moment, and
        // the run could not be opened again at once. If unlocking fails, closing is what is left.
        let _ = self.0.unlock();
    }
}

impl Store for Disk {
    type File = File;
    type Lock = DiskLock;

    fn exists(&self, path: &Path) -> io::Result<bool> {
        match fs::symlink_metadata(path) {
            Ok(_) => Ok(true),
            Err(why) if why.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(why) => Err(why),
        }
    }

    fn lock(&self, path: &Path) -> io::Result<Option<DiskLock>> {
        // A file of its own: a locked journal could not be read by others on Windows. It is never removed,
        // since removing it would let two writers lock two files of one name.
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(path)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(DiskLock(file))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(why)) => Err(why),
        }
    }

    fn create_new(&self, path: &Path) -> io::Result<File> {
        OpenOptions::new().create_new(true).write(true).open(path)
    }

    fn open(&self, path: &Path) -> io::Result<File> {
        OpenOptions::new().write(true).open(path)
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        fs::read(path)
    }

    fn write_at(&self, file: &File, at: u64, bytes: &[u8]) -> io::Result<usize> {
        #[cfg(unix)]
        return std::os::unix::fs::FileExt::write_at(file, bytes, at);
        #[cfg(windows)]
        return std::os::windows::fs::FileExt::seek_write(file, bytes, at);
        #[cfg(not(any(unix, windows)))]
        {
            use std::io::{Seek as _, SeekFrom, Write as _};
            let mut file = file;
            file.seek(SeekFrom::Start(at))?;
            file.write(bytes)
        }
    }

    fn sync(&self, file: &File) -> io::Result<()> {
        // Data and length; the times of the file are nobody's record.
        file.sync_data()
    }

    fn truncate(&self, file: &File, len: u64) -> io::Result<()> {
        file.set_len(len)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    #[cfg(unix)]
    fn sync_dir(&self, folder: &Path) -> io::Result<()> {
        match File::open(folder)?.sync_all() {
            // Some file systems offer no sync of a folder; there is nothing more to ask of them.
            Err(why) if matches!(why.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
            done => done,
        }
    }

    /// The standard library opens no folders here; the file system's own log keeps names.
    #[cfg(not(unix))]
    fn sync_dir(&self, _folder: &Path) -> io::Result<()> {
        Ok(())
    }
}

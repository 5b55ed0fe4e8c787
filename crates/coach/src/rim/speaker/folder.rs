//! The private folder that sound files lie in while the program runs.
//!
//! Here: making it, removing it, and removing what a killed run left. Not here: what is in it.
//!
//! **Invariant:** only its owner can look into it, and nothing but folders of this name whose run is over is ever removed.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

const NAME: &str = "pourside-sound-";
/// Held as long as the run lives: how others know that it does.
const LOCK: &str = "lock";

/// A folder of this run alone.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    _lock: File,
}

impl Folder {
    /// Makes one, in memory where the system has a place for that.
    pub fn make() -> io::Result<Self> {
        let runtime = std::env::var_os("XDG_RUNTIME_DIR").map(PathBuf::from).filter(|at| at.is_absolute());
        let mut why = None;
        for place in runtime.into_iter().chain([std::env::temp_dir()]) {
            tidy(&place);
            match Self::make_in(&place) {
                Ok(folder) => return Ok(folder),
                Err(fault) => why = Some(fault),
            }
        }
        Err(why.unwrap_or_else(|| io::Error::other("no place for it")))
    }

    fn make_in(place: &Path) -> io::Result<Self> {
        #[cfg_attr(not(unix), allow(unused_mut, reason = "only unix has modes"))]
        let mut builder = DirBuilder::new();
        #[cfg(unix)]
        {
            use std::os::unix::fs::DirBuilderExt as _;
            builder.mode(0o700);
        }
        let mut n = 0;
        let path = loop {
            let path = place.join(format!("{NAME}{}-{n}", std::process::id()));
            match builder.create(&path) {
                Ok(()) => break path,
                // Left by a run that had the same number, or another speaker of this one. A link is never followed.
                Err(why) if why.kind() == io::ErrorKind::AlreadyExists && n < 1_000 => n += 1,
                Err(why) => return Err(why),
            }
        };
        let lock = File::create(path.join(LOCK))?;
        lock.try_lock()?;
        Ok(Self { path, _lock: lock })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.path);
    }
}

/// Removes what killed runs of the same person left.
fn tidy(place: &Path) {
    let Ok(entries) = fs::read_dir(place) else { return };
    for entry in entries.flatten() {
        let is_ours = entry.file_name().to_string_lossy().starts_with(NAME);
        if !is_ours || !entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            continue;
        }
        // Without a lock it is being made just now, or nobody's.
        let Ok(lock) = OpenOptions::new().write(true).open(entry.path().join(LOCK)) else { continue };
        if lock.try_lock().is_ok() {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_private_and_goes_with_its_run() {
        let place = tempfile::tempdir().unwrap();
        let folder = Folder::make_in(place.path()).unwrap();
        let another = Folder::make_in(place.path()).unwrap();
        assert_ne!(folder.path(), another.path());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            assert_eq!(folder.path().metadata().unwrap().permissions().mode() & 0o777, 0o700);
        }
        fs::write(folder.path().join("1.wav"), "x").unwrap();
        drop(folder);
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1, "the other one");
    }

    #[test]
    fn what_a_killed_run_left_is_removed_and_nothing_else() {
        let place = tempfile::tempdir().unwrap();
        let alive = Folder::make_in(place.path()).unwrap();
        for (name, has_lock) in [("pourside-sound-1-0", true), ("pourside-sound-2-0", false), ("other", true)] {
            fs::create_dir(place.path().join(name)).unwrap();
            if has_lock {
                fs::write(place.path().join(name).join(LOCK), "").unwrap();
            }
        }
        tidy(place.path());
        assert!(alive.path().exists(), "it lives");
        assert!(!place.path().join("pourside-sound-1-0").exists(), "its run is over");
        assert!(place.path().join("pourside-sound-2-0").exists(), "perhaps it is being made");
        assert!(place.path().join("other").exists(), "not ours");
    }
}

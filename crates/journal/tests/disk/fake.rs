//! An invented disk that fails on demand and can lose power.
//!
//! Written bytes reach the platter only with a sync; names only with a sync of their folder. A sync that fails
//! forgets what it should have saved and marks it as saved, as real systems do: later syncs succeed without it.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use journal::Store;

/// What a failing call does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    Full,
    Io,
    ReadOnly,
    Interrupted,
    /// A write takes only a part and says so; other calls are unharmed.
    Short,
    /// A write takes a part and then reports a full disk; other calls report a full disk.
    TornFull,
    /// The process is gone: the call has no effect.
    Dead,
}

impl Fault {
    fn error(self) -> io::Error {
        match self {
            Self::Full | Self::TornFull | Self::Short => io::ErrorKind::StorageFull.into(),
            Self::Io => io::Error::other("input/output error"),
            Self::ReadOnly => io::ErrorKind::ReadOnlyFilesystem.into(),
            Self::Interrupted => io::ErrorKind::Interrupted.into(),
            Self::Dead => io::Error::other("dead"),
        }
    }
}

/// When to fail: at call number `at`, and if `for_good` at every later one.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    pub at: usize,
    pub for_good: bool,
    pub fault: Fault,
}

#[derive(Clone, Debug)]
enum Change {
    Write { at: usize, bytes: Vec<u8> },
    Cut(usize),
}

impl Change {
    fn apply(&self, to: &mut Vec<u8>) {
        match self {
            Self::Write { at, bytes } => {
                to.resize(to.len().max(at + bytes.len()), 0);
                to[*at..at + bytes.len()].copy_from_slice(bytes);
            }
            Self::Cut(len) => to.resize(*len, 0),
        }
    }

    /// What a crash may leave of this change: all, nothing, or a first part.
    fn remains(&self) -> Vec<Option<Self>> {
        match self {
            Self::Cut(_) => vec![None, Some(self.clone())],
            Self::Write { at, bytes } => {
                let cuts = BTreeSet::from([0, 1, bytes.len() / 2, bytes.len() - 1, bytes.len()]);
                let part = |cut: usize| Self::Write { at: *at, bytes: bytes[..cut].to_vec() };
                cuts.into_iter().map(|cut| (cut > 0).then(|| part(cut))).collect()
            }
        }
    }
}

#[derive(Clone, Debug, Default)]
struct Inode {
    seen: Vec<u8>,
    platter: Vec<u8>,
    unsynced: Vec<Change>,
}

impl Inode {
    fn change(&mut self, change: Change) {
        change.apply(&mut self.seen);
        self.unsynced.push(change);
    }

    fn crash_states(&self) -> BTreeSet<Vec<u8>> {
        let mut states = BTreeSet::from([self.platter.clone()]);
        for change in &self.unsynced {
            states = states
                .iter()
                .flat_map(|before| {
                    change.remains().into_iter().map(|left| {
                        let mut after = before.clone();
                        if let Some(left) = left {
                            left.apply(&mut after);
                        }
                        after
                    })
                })
                .collect();
        }
        states
    }
}

type Names = BTreeMap<PathBuf, usize>;

#[derive(Debug, Default)]
struct State {
    inodes: Vec<Inode>,
    names: Names,
    /// Every state of the names since the folder was last synced, oldest first: a crash may leave any of them.
    names_left: Vec<Names>,
    locks: BTreeSet<PathBuf>,
    calls: Vec<&'static str>,
    plans: Vec<Plan>,
}

impl State {
    fn rename_with(&mut self, change: impl FnOnce(&mut Names)) {
        if self.names_left.is_empty() {
            self.names_left.push(self.names.clone());
        }
        change(&mut self.names);
        self.names_left.push(self.names.clone());
    }
}

/// The disk; clones are the same disk.
#[derive(Clone, Debug, Default)]
pub struct FakeDisk(Rc<RefCell<State>>);

/// Released when dropped, as by the system when a process ends.
#[derive(Debug)]
pub struct FakeLock(FakeDisk, PathBuf);

impl Drop for FakeLock {
    fn drop(&mut self) {
        self.0.0.borrow_mut().locks.remove(&self.1);
    }
}

impl FakeDisk {
    pub fn plan(&self, plans: &[Plan]) {
        self.0.borrow_mut().plans = plans.to_vec();
    }

    /// The names of the calls so far, in order.
    pub fn calls(&self) -> Vec<&'static str> {
        self.0.borrow().calls.clone()
    }

    pub fn file(&self, path: &Path) -> Option<Vec<u8>> {
        let state = self.0.borrow();
        state.names.get(path).map(|id| state.inodes[*id].seen.clone())
    }

    pub fn names(&self) -> Vec<PathBuf> {
        self.0.borrow().names.keys().cloned().collect()
    }

    /// Every disk that a loss of power at this moment may leave.
    pub fn crash_states(&self) -> Vec<Self> {
        let state = self.0.borrow();
        let mut names = state.names_left.clone();
        if names.is_empty() {
            names.push(state.names.clone());
        }
        let mut platters: Vec<Vec<Vec<u8>>> = vec![Vec::new()];
        for inode in &state.inodes {
            let states = inode.crash_states();
            platters = platters
                .iter()
                .flat_map(|before| states.iter().map(|s| [before.clone(), vec![s.clone()]].concat()))
                .collect();
        }
        let disk = |names: &Names, platter: &Vec<Vec<u8>>| {
            let inodes =
                platter.iter().map(|bytes| Inode { seen: bytes.clone(), platter: bytes.clone(), unsynced: Vec::new() });
            let state = State { inodes: inodes.collect(), names: names.clone(), ..State::default() };
            Self(Rc::new(RefCell::new(state)))
        };
        names.iter().flat_map(|names| platters.iter().map(|p| disk(names, p))).collect()
    }

    /// Counts a call, and gives the fault planned for it.
    fn enter(&self, call: &'static str) -> Option<Fault> {
        let mut state = self.0.borrow_mut();
        let now = state.calls.len();
        state.calls.push(call);
        let due = |plan: &&Plan| plan.at == now || (plan.for_good && plan.at < now);
        let fault = state.plans.iter().find(due).map(|plan| plan.fault);
        fault.filter(|fault| *fault != Fault::Short || call == "write")
    }

    fn call(&self, name: &'static str) -> io::Result<()> {
        self.enter(name).map_or(Ok(()), |fault| Err(fault.error()))
    }
}

impl Store for FakeDisk {
    type File = usize;
    type Lock = FakeLock;

    fn exists(&self, path: &Path) -> io::Result<bool> {
        self.call("exists")?;
        Ok(self.0.borrow().names.contains_key(path))
    }

    fn lock(&self, path: &Path) -> io::Result<Option<FakeLock>> {
        self.call("lock")?;
        let fresh = self.0.borrow_mut().locks.insert(path.to_owned());
        Ok(fresh.then(|| FakeLock(self.clone(), path.to_owned())))
    }

    fn create_new(&self, path: &Path) -> io::Result<usize> {
        self.call("create_new")?;
        let mut state = self.0.borrow_mut();
        if state.names.contains_key(path) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let id = state.inodes.len();
        state.inodes.push(Inode::default());
        state.rename_with(|names| _ = names.insert(path.to_owned(), id));
        Ok(id)
    }

    fn open(&self, path: &Path) -> io::Result<usize> {
        self.call("open")?;
        self.0.borrow().names.get(path).copied().ok_or(io::ErrorKind::NotFound.into())
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        self.call("read")?;
        self.file(path).ok_or(io::ErrorKind::NotFound.into())
    }

    fn write_at(&self, file: &usize, at: u64, bytes: &[u8]) -> io::Result<usize> {
        let fault = self.enter("write");
        let taken = match fault {
            None => bytes.len(),
            Some(Fault::Short) => bytes.len().div_ceil(2),
            Some(Fault::TornFull) => bytes.len() / 2,
            Some(fault) => return Err(fault.error()),
        };
        if taken > 0 {
            let change = Change::Write { at: at.try_into().unwrap(), bytes: bytes[..taken].to_vec() };
            self.0.borrow_mut().inodes[*file].change(change);
        }
        match fault {
            Some(Fault::TornFull) => Err(Fault::TornFull.error()),
            _ => Ok(taken),
        }
    }

    fn sync(&self, file: &usize) -> io::Result<()> {
        let done = self.enter("sync");
        let inode = &mut self.0.borrow_mut().inodes[*file];
        match done {
            None => {
                for change in std::mem::take(&mut inode.unsynced) {
                    change.apply(&mut inode.platter);
                }
                Ok(())
            }
            Some(Fault::Dead) => Err(Fault::Dead.error()),
            Some(fault) => {
                inode.unsynced.clear();
                Err(fault.error())
            }
        }
    }

    fn truncate(&self, file: &usize, len: u64) -> io::Result<()> {
        self.call("truncate")?;
        self.0.borrow_mut().inodes[*file].change(Change::Cut(len.try_into().unwrap()));
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.call("rename")?;
        let mut state = self.0.borrow_mut();
        let id = *state.names.get(from).ok_or(io::ErrorKind::NotFound)?;
        state.rename_with(|names| {
            names.remove(from);
            names.insert(to.to_owned(), id);
        });
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.call("remove")?;
        let mut state = self.0.borrow_mut();
        if !state.names.contains_key(path) {
            return Err(io::ErrorKind::NotFound.into());
        }
        state.rename_with(|names| _ = names.remove(path));
        Ok(())
    }

    fn sync_dir(&self, _folder: &Path) -> io::Result<()> {
        self.call("sync_dir")?;
        self.0.borrow_mut().names_left.clear();
        Ok(())
    }
}

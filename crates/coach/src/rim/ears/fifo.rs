//! A named pipe (FIFO).
//!
//! Here: making it, reading it, noticing that it is gone. Not here: lines.
//!
//! It is opened for reading and writing, so that writers may come and go without an end of the file.
//!
//! **Invariant:** only a FIFO of the owner's own is read, and only one that was made here is removed.

use std::io;
use std::os::fd::{AsFd as _, BorrowedFd, OwnedFd};
use std::path::{Path, PathBuf};
use std::time::Instant;

use rustix::fs::{FileType, FlockOperation, Mode, OFlags, flock, fstat, lstat, open};
use rustix::io::Errno;
use rustix::process::geteuid;

use super::stream::{Cutter, Dry, Gate, Standing, drain, forget};
use super::{EarEvent, Limits, Source, shown};
use crate::screen::Ear;

/// A FIFO that is read.
#[derive(Debug)]
pub struct Fifo {
    path: PathBuf,
    pipe: Result<Pipe, String>,
    /// Which FIFO was made here.
    made: Option<Identity>,
    next_look: Instant,
    limits: Limits,
    cutter: Cutter,
    gate: Gate,
    standing: Standing,
}

#[derive(Debug)]
struct Pipe {
    fd: OwnedFd,
    identity: Identity,
}

/// Which file it is, whatever its name.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    device: u64,
    inode: u64,
}

/// The file a path leads to; none if there is none.
pub fn identity(path: &Path) -> Option<Identity> {
    lstat(path).ok().as_ref().map(of)
}

#[expect(clippy::unnecessary_cast, reason = "the types of both differ from system to system")]
fn of(stat: &rustix::fs::Stat) -> Identity {
    Identity { device: stat.st_dev as u64, inode: stat.st_ino as u64 }
}

impl Fifo {
    /// Opens it; makes it if it is missing.
    pub fn open(path: PathBuf, limits: Limits, now: Instant) -> Self {
        let standing = Standing::new(format!("FIFO {}", shown(&path)));
        let mut fifo = Self {
            path,
            pipe: Err(String::new()),
            made: None,
            next_look: now + limits.look,
            limits,
            cutter: Cutter::default(),
            gate: Gate::new(limits),
            standing,
        };
        fifo.pipe = fifo.opened();
        fifo
    }

    fn opened(&mut self) -> Result<Pipe, String> {
        let is_made = match make(&self.path) {
            Ok(()) => true,
            Err(Errno::EXIST) => false,
            Err(why) => return Err(format!("it cannot be made: {}", said(why))),
        };
        if !is_made && lstat(&self.path).is_ok_and(|stat| !FileType::from_raw_mode(stat.st_mode).is_fifo()) {
            return Err("there is something of that name that is no FIFO: remove it, or name another path".into());
        }
        let flags = OFlags::RDWR | OFlags::NONBLOCK | OFlags::NOFOLLOW | OFlags::CLOEXEC | OFlags::NOCTTY;
        let fd = open(&self.path, flags, Mode::empty()).map_err(|why| format!("it cannot be opened: {}", said(why)))?;
        // Asked of what was opened, not of the name: that may lead elsewhere by now.
        let stat = fstat(&fd).map_err(|why| format!("it cannot be looked at: {}", said(why)))?;
        if !FileType::from_raw_mode(stat.st_mode).is_fifo() {
            return Err("there is something of that name that is no FIFO: remove it, or name another path".into());
        }
        if stat.st_uid != geteuid().as_raw() {
            return Err("it belongs to another user: name another path".into());
        }
        // Two readers would each hear a part. Systems that cannot lock a FIFO say something else.
        if flock(&fd, FlockOperation::NonBlockingLockExclusive) == Err(Errno::AGAIN) {
            return Err("another program listens to it: end that one, or name another path".into());
        }
        let identity = of(&stat);
        if is_made {
            self.made = Some(identity);
        }
        Ok(Pipe { fd, identity })
    }

    fn look(&mut self) {
        match &self.pipe {
            Ok(pipe) if identity(&self.path) == Some(pipe.identity) => {}
            Ok(_) => {
                self.pipe = Err("it is gone: removed or replaced; it is tried again".into());
                self.cutter = Cutter::default();
            }
            Err(_) => self.pipe = self.opened(),
        }
    }

    fn lost(&self) -> Option<String> {
        self.pipe.as_ref().err().cloned().or_else(|| self.gate.flood())
    }
}

impl Source for Fifo {
    fn fds<'a>(&'a self, now: Instant, fds: &mut Vec<BorrowedFd<'a>>) {
        if let Ok(pipe) = &self.pipe
            && self.gate.is_open(now)
        {
            fds.push(pipe.fd.as_fd());
        }
    }

    fn next(&self) -> Option<Instant> {
        self.gate.next().into_iter().chain([self.next_look]).min()
    }

    fn turn(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        self.gate.roll(now);
        if let Ok(pipe) = &self.pipe
            && self.gate.is_open(now)
            && drain(&pipe.fd, &mut self.cutter, &mut self.gate, now, each).0 == Dry::ForGood
        {
            self.pipe = Err("it cannot be read any more; it is tried again".into());
        }
        if now >= self.next_look {
            self.next_look = now + self.limits.look;
            self.look();
        }
    }

    fn forget(&mut self) {
        if let Ok(pipe) = &self.pipe {
            forget(&pipe.fd, &|| true, &mut self.cutter);
        }
    }

    fn news(&mut self) -> Option<Ear> {
        let lost = self.lost();
        self.standing.news(lost)
    }

    fn standing(&mut self) -> Ear {
        let lost = self.lost();
        self.standing.say(lost)
    }
}

impl Drop for Fifo {
    fn drop(&mut self) {
        if self.made.is_some() && identity(&self.path) == self.made {
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

/// Makes a FIFO of the owner's alone.
#[cfg(not(target_vendor = "apple"))]
fn make(path: &Path) -> Result<(), Errno> {
    rustix::fs::mkfifoat(rustix::fs::CWD, path, Mode::RUSR | Mode::WUSR)
}

/// There is no call for it here that needs no C; one that exists is read.
#[cfg(target_vendor = "apple")]
fn make(path: &Path) -> Result<(), Errno> {
    if identity(path).is_some() { Err(Errno::EXIST) } else { Err(Errno::NOSYS) }
}

/// An error of the system in words.
pub fn said(why: Errno) -> String {
    match why {
        Errno::NOSYS => "not on this system; make it with “mkfifo” first".into(),
        Errno::NOENT => "its folder is missing".into(),
        why => io::Error::from(why).to_string(),
    }
}

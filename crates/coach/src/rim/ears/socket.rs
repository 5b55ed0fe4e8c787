//! A unix socket of the owner's alone.
//!
//! Here: making it, taking connections, reading them. Not here: lines.
//!
//! **Invariant:** nobody but the owner is heard, and nothing but a socket nobody answers at is replaced.

use std::fs;
use std::io;
use std::os::fd::{AsFd as _, BorrowedFd, OwnedFd};
use std::os::unix::fs::{FileTypeExt as _, MetadataExt as _, PermissionsExt as _};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};
use std::time::Instant;

use rustix::net::{AddressFamily, SocketAddrUnix, SocketType, bind, connect, listen};
use rustix::process::geteuid;

use super::fifo::{Identity, identity, said};
use super::stream::{Cutter, Dry, Gate, Standing, drain, forget};
use super::{EarEvent, Limits, Source, shown};
use crate::screen::Ear;

/// More would be no pedals and recognisers any more.
const CONNECTIONS_AT_MOST: usize = 8;

/// A socket that is read.
#[derive(Debug)]
pub struct Socket {
    path: PathBuf,
    listener: Result<(UnixListener, Option<Identity>), String>,
    connections: Vec<Connection>,
    next_look: Instant,
    limits: Limits,
    gate: Gate,
    standing: Standing,
}

#[derive(Debug)]
struct Connection {
    stream: UnixStream,
    cutter: Cutter,
}

impl Socket {
    /// Makes it.
    pub fn open(path: PathBuf, limits: Limits, now: Instant) -> Self {
        let standing = Standing::new(format!("socket {}", shown(&path)));
        let listener = opened(&path);
        let (connections, gate) = (Vec::new(), Gate::new(limits));
        Self { path, listener, connections, next_look: now + limits.look, limits, gate, standing }
    }

    fn lost(&self) -> Option<String> {
        self.listener.as_ref().err().cloned().or_else(|| self.gate.flood())
    }

    /// Reads all connections; those that have ended make room.
    fn read(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        if self.gate.is_open(now) {
            let gate = &mut self.gate;
            self.connections
                .retain_mut(|Connection { stream, cutter }| drain(&*stream, cutter, gate, now, each).0 == Dry::ForNow);
        }
    }

    fn accept(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        // Whoever comes later is taken in the next turn.
        for _ in 0..2 * CONNECTIONS_AT_MOST {
            if self.connections.len() == CONNECTIONS_AT_MOST {
                self.read(now, each);
            }
            let (Ok((listener, _)), true) = (&self.listener, self.gate.is_open(now)) else { return };
            let Ok((stream, _)) = listener.accept() else { return };
            self.welcome(stream);
        }
    }

    /// Takes a connection, or closes it.
    fn welcome(&mut self, stream: UnixStream) {
        let is_welcome = self.connections.len() < CONNECTIONS_AT_MOST && is_ours(&stream);
        if is_welcome && stream.set_nonblocking(true).is_ok() {
            self.connections.push(Connection { stream, cutter: Cutter::default() });
        }
    }

    fn look(&mut self) {
        match &self.listener {
            Ok((_, made)) if made.is_some() && identity(&self.path) == *made => {}
            // Those who are connected stay so.
            Ok(_) => self.listener = Err("it is gone: removed or replaced; it is tried again".into()),
            Err(_) => self.listener = opened(&self.path),
        }
    }
}

/// Whether the other end is a program of the same user, as far as the system tells.
#[cfg(any(target_os = "linux", target_os = "android"))]
fn is_ours(stream: &UnixStream) -> bool {
    rustix::net::sockopt::socket_peercred(stream).is_ok_and(|peer| peer.uid == geteuid())
}

/// The mode of the socket lets nobody else in.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
fn is_ours(_stream: &UnixStream) -> bool {
    true
}

fn opened(path: &Path) -> Result<(UnixListener, Option<Identity>), String> {
    let address = SocketAddrUnix::new(path)
        .map_err(|_| "its path is too long for a socket, or empty: name a shorter one".to_owned())?;
    clear_the_way(path, &address)?;
    let cannot = |why| format!("it cannot be made: {}", said(why));
    let socket = nonblocking().map_err(cannot)?;
    bind(&socket, &address).map_err(cannot)?;
    // Nobody can connect before it listens: by then it is the owner's alone.
    let closed = fs::set_permissions(path, fs::Permissions::from_mode(0o600))
        .and_then(|()| listen(&socket, 8).map_err(io::Error::from));
    if let Err(why) = closed {
        let _ = fs::remove_file(path);
        return Err(format!("it cannot be made: {why}"));
    }
    Ok((UnixListener::from(socket), identity(path)))
}

/// Removes a socket that was left by a program which is no more.
fn clear_the_way(path: &Path, address: &SocketAddrUnix) -> Result<(), String> {
    let Ok(there) = fs::symlink_metadata(path) else { return Ok(()) };
    if !there.file_type().is_socket() {
        return Err("there is something of that name that is no socket: remove it, or name another path".into());
    }
    if there.uid() != geteuid().as_raw() {
        return Err("it belongs to another user: name another path".into());
    }
    let answer = nonblocking().and_then(|socket| connect(&socket, address));
    if answer != Err(rustix::io::Errno::CONNREFUSED) {
        return Err("another program listens to it: end that one, or name another path".into());
    }
    fs::remove_file(path).map_err(|why| format!("an old one cannot be removed: {why}"))
}

/// A socket that never waits and that no started program gets.
#[cfg(any(target_os = "linux", target_os = "android"))]
fn nonblocking() -> rustix::io::Result<OwnedFd> {
    use rustix::net::{SocketFlags, socket_with};
    let flags = SocketFlags::CLOEXEC | SocketFlags::NONBLOCK;
    socket_with(AddressFamily::UNIX, SocketType::STREAM, flags, None)
}

/// A socket that never waits and that no started program gets.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
fn nonblocking() -> rustix::io::Result<OwnedFd> {
    use rustix::io::{FdFlags, fcntl_setfd, ioctl_fionbio};
    let socket = rustix::net::socket(AddressFamily::UNIX, SocketType::STREAM, None)?;
    fcntl_setfd(&socket, FdFlags::CLOEXEC)?;
    ioctl_fionbio(&socket, true)?;
    Ok(socket)
}

impl Source for Socket {
    fn fds<'a>(&'a self, now: Instant, fds: &mut Vec<BorrowedFd<'a>>) {
        if self.gate.is_open(now) {
            fds.extend(self.listener.iter().map(|(listener, _)| listener.as_fd()));
            fds.extend(self.connections.iter().map(|connection| connection.stream.as_fd()));
        }
    }

    fn next(&self) -> Option<Instant> {
        self.gate.next().into_iter().chain([self.next_look]).min()
    }

    fn turn(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        self.gate.roll(now);
        self.read(now, each);
        self.accept(now, each);
        self.read(now, each);
        if now >= self.next_look {
            self.next_look = now + self.limits.look;
            self.look();
        }
    }

    fn forget(&mut self) {
        while self.connections.len() < CONNECTIONS_AT_MOST
            && let Ok((listener, _)) = &self.listener
            && let Ok((stream, _)) = listener.accept()
        {
            self.welcome(stream);
        }
        for Connection { stream, cutter } in &mut self.connections {
            forget(&*stream, &|| true, cutter);
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

impl Drop for Socket {
    fn drop(&mut self) {
        if let Ok((_, made)) = &self.listener
            && made.is_some()
            && identity(&self.path) == *made
        {
            let _ = fs::remove_file(&self.path);
        }
    }
}

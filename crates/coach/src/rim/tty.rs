//! The terminal itself: raw mode, the other screen, signals, reading and writing without ever being stuck.
//!
//! Here: taking a terminal over and giving it back as it was, on every way out. Not here: what is shown and what a
//! key means.
//!
//! The program opens the terminal a second time for itself, without blocking: a terminal that stops reading then
//! holds up neither keys nor the record, and the shell's own handle is not changed.
//!
//! **Invariant:** after [`restore`] the terminal is as it was before [`Tty::enter`], whoever calls it and how often.

use std::fs::{File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::os::fd::{AsFd as _, BorrowedFd};
use std::os::unix::fs::OpenOptionsExt as _;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

use ratatui::layout::Size;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::OFlags;
use rustix::termios::{OptionalActions, Termios, isatty, tcgetattr, tcgetwinsize, tcsetattr, ttyname};
use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};

use super::keys::Keys;
pub use super::keys::Sent;

/// The other screen, cleared, no cursor, pastes marked as such.
const ENTER: &[u8] = b"\x1b[?1049h\x1b[?25l\x1b[?2004h";
/// The opposite of [`ENTER`]. The byte before it breaks off a sequence that was sent by half.
const LEAVE: &[u8] = b"\x18\x1b[m\x1b[?2004l\x1b[?25h\x1b[?1049l";
/// How long a terminal that does not read may hold up the end of the program.
const LEAVE_AT_MOST: Duration = Duration::from_millis(300);

/// How much is read before the screen is drawn again.
const BYTES_A_TURN: usize = 64 * 1024;

/// What must be put back, for whoever ends the program.
static BEFORE: OnceLock<Before> = OnceLock::new();
/// Whether the terminal is ours at present.
static TAKEN: AtomicBool = AtomicBool::new(false);
/// Whether the terminal has taken a frame only by half.
static HALF_SENT: AtomicBool = AtomicBool::new(false);

struct Before {
    file: File,
    modes: Termios,
}

/// The signals that end the program.
const ENDING: [i32; 4] = [SIGTERM, SIGHUP, SIGINT, SIGQUIT];

/// What standard input must be.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Input {
    /// The terminal: else nobody sits there.
    Terminal,
    /// Anything, as lines are read from it; keys come from the terminal that standard output leads to.
    Any,
}

/// What woke the program.
#[derive(Copy, Clone, Debug, Default, PartialEq, Eq)]
pub struct Woken {
    /// The terminal may have something to read.
    pub input: bool,
    /// The terminal is gone.
    pub gone: bool,
    /// The signal that asks to end.
    pub end: Option<i32>,
    /// The window may have another size.
    pub resized: bool,
    /// The program was stopped and goes on.
    pub continued: bool,
    /// The program is asked to stop.
    pub stop: bool,
    /// Something else that was waited for has something to read.
    pub others: bool,
}

/// A terminal that was taken over.
pub struct Tty {
    file: File,
    modes: Termios,
    signals: UnixStream,
    ending: Vec<(i32, Arc<AtomicBool>)>,
    resized: Arc<AtomicBool>,
    continued: Arc<AtomicBool>,
    stop: Arc<AtomicBool>,
    keys: Keys,
    /// When something was last read.
    heard: Instant,
    /// What the terminal has not taken yet.
    unsent: Vec<u8>,
    sent: usize,
}

impl Tty {
    /// Takes the terminal over: raw mode, the other screen. `input` says what standard input must be.
    ///
    /// # Errors
    ///
    /// If standard input or output is no terminal, or it cannot be opened or set.
    pub fn enter(input: Input) -> io::Result<Self> {
        if (input == Input::Terminal && !isatty(io::stdin())) || !isatty(io::stdout()) {
            return Err(io::Error::other("this is no terminal"));
        }
        let file = open()?;
        let modes = tcgetattr(&file)?;
        let (signals, to_signals) = UnixStream::pair()?;
        signals.set_nonblocking(true)?;
        let watch = |signal: i32| -> io::Result<Arc<AtomicBool>> {
            let flag = Arc::new(AtomicBool::new(false));
            signal_hook::flag::register(signal, Arc::clone(&flag))?;
            signal_hook::low_level::pipe::register(signal, to_signals.try_clone()?)?;
            Ok(flag)
        };
        let ending = ENDING.into_iter().map(|signal| Ok((signal, watch(signal)?))).collect::<io::Result<_>>()?;
        let (resized, continued, stop) = (watch(SIGWINCH)?, watch(SIGCONT)?, watch(SIGTSTP)?);
        let _ = BEFORE.set(Before { file: file.try_clone()?, modes: modes.clone() });
        let (keys, heard, unsent) = (Keys::default(), Instant::now(), Vec::new());
        let mut tty = Self { file, modes, signals, ending, resized, continued, stop, keys, heard, unsent, sent: 0 };
        tty.take()?;
        Ok(tty)
    }

    /// Takes the terminal (again): raw mode, the other screen. Whatever had not been sent is forgotten.
    ///
    /// # Errors
    ///
    /// If the terminal is gone.
    pub fn take(&mut self) -> io::Result<()> {
        let mut raw = self.modes.clone();
        raw.make_raw();
        TAKEN.store(true, Ordering::SeqCst);
        tcsetattr(&self.file, OptionalActions::Now, &raw)?;
        self.unsent.clear();
        self.sent = 0;
        self.unsent.extend_from_slice(ENTER);
        Ok(())
    }

    /// The size of the window; 0 × 0 counts as 80 × 24.
    pub fn size(&self) -> Size {
        match tcgetwinsize(&self.file) {
            Ok(size) if size.ws_col > 0 && size.ws_row > 0 => Size::new(size.ws_col, size.ws_row),
            _ => Size::new(80, 24),
        }
    }

    /// Whether a new frame would not make a queue. What prepares the screen goes out with the first frame.
    pub fn is_ready(&self) -> bool {
        self.sent == self.unsent.len() || self.unsent == ENTER
    }

    /// Whether something waits to be sent.
    pub fn has_unsent(&self) -> bool {
        self.sent < self.unsent.len()
    }

    /// Sends bytes, as many as the terminal takes now; the rest goes out as it becomes ready.
    ///
    /// # Errors
    ///
    /// If the terminal is gone.
    pub fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        if !self.has_unsent() {
            self.unsent.clear();
            self.sent = 0;
        }
        self.unsent.extend_from_slice(bytes);
        self.push()
    }

    fn push(&mut self) -> io::Result<()> {
        let pushed = self.push_some();
        HALF_SENT.store(self.has_unsent(), Ordering::SeqCst);
        pushed
    }

    fn push_some(&mut self) -> io::Result<()> {
        while self.sent < self.unsent.len() {
            match self.file.write(&self.unsent[self.sent..]) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(n) => self.sent += n,
                Err(why) if why.kind() == io::ErrorKind::Interrupted => {}
                Err(why) if why.kind() == io::ErrorKind::WouldBlock => return Ok(()),
                Err(why) => return Err(why),
            }
        }
        Ok(())
    }

    /// Hands over what was typed and waits to be read, without waiting for more; so many bytes at most that the
    /// screen is drawn now and then even in a flood.
    ///
    /// # Errors
    ///
    /// If the terminal is gone.
    pub fn collect(&mut self, each: &mut impl FnMut(Sent)) -> io::Result<()> {
        let mut bytes = [0; 4096];
        let mut room = BYTES_A_TURN;
        while room > 0 {
            match self.file.read(&mut bytes) {
                Ok(0) => return Err(io::ErrorKind::UnexpectedEof.into()),
                Ok(n) => {
                    self.keys.feed(&bytes[..n], each);
                    self.heard = Instant::now();
                    room = room.saturating_sub(n);
                }
                Err(why) if why.kind() == io::ErrorKind::Interrupted => {}
                Err(why) if why.kind() == io::ErrorKind::WouldBlock => break,
                Err(why) => return Err(why),
            }
        }
        if self.keys.patience().is_some_and(|patience| self.heard.elapsed() >= patience) {
            self.keys.give_up(each);
        }
        Ok(())
    }

    /// Sleeps until there is input, also from `others`, a signal, room for what is unsent, or the time is over.
    pub fn sleep(&mut self, at_most: Option<Duration>, others: &[BorrowedFd<'_>]) -> Woken {
        let rest = self.keys.patience().map(|patience| patience.saturating_sub(self.heard.elapsed()));
        let at_most = [at_most, rest].into_iter().flatten().min();
        let mut wanted = PollFlags::IN;
        if self.has_unsent() {
            wanted |= PollFlags::OUT;
        }
        let timeout = at_most.map(|span| Timespec {
            tv_sec: span.as_secs().try_into().unwrap_or(i64::MAX),
            tv_nsec: span.subsec_nanos().into(),
        });
        let mut always = [PollFd::new(&self.file, wanted), PollFd::new(&self.signals, PollFlags::IN)];
        let mut all;
        let ready = if others.is_empty() {
            always.as_mut_slice()
        } else {
            all = always.to_vec();
            all.extend(others.iter().map(|other| PollFd::from_borrowed_fd(*other, PollFlags::IN)));
            all.as_mut_slice()
        };
        // Interrupted by a signal: its flag says which.
        let _ = poll(ready, timeout.as_ref());
        let [terminal, signals] = [ready[0].revents(), ready[1].revents()];
        let others = ready[2..].iter().any(|other| !other.revents().is_empty());
        let readable = terminal.contains(PollFlags::IN);
        // The rest of a key that does not come is news as well.
        let mut woken = Woken { input: readable || rest.is_some(), others, ..Woken::default() };
        woken.gone = terminal.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) && !readable;
        if terminal.contains(PollFlags::OUT) && self.push().is_err() {
            woken.gone = true;
        }
        if !signals.is_empty() {
            let mut drained = [0; 64];
            while matches!(self.signals.read(&mut drained), Ok(n) if n > 0) {}
            let seen = |flag: &AtomicBool| flag.swap(false, Ordering::SeqCst);
            woken.end = self.ending.iter().find(|(_, flag)| seen(flag)).map(|(signal, _)| *signal);
            woken.resized = seen(&self.resized);
            woken.continued = seen(&self.continued);
            woken.stop = seen(&self.stop);
        }
        woken
    }

    /// Gives the terminal back, stops the program as Ctrl-Z would, and takes the terminal again when it goes on.
    /// With no shell behind it that could bring the program back, nothing happens.
    ///
    /// # Errors
    ///
    /// If the terminal is gone afterwards.
    pub fn stop(&mut self, whole_job: bool) -> io::Result<()> {
        use rustix::process::{Signal, getpgrp, getpid, getsid, kill_current_process_group, kill_process};
        if getsid(None).is_ok_and(|session| session == getpgrp()) {
            return Ok(());
        }
        restore();
        if whole_job {
            // `cargo run` and the like wait in the same job.
            let _ = kill_current_process_group(Signal::TSTP);
        }
        let _ = kill_process(getpid(), Signal::STOP);
        self.stop.store(false, Ordering::SeqCst);
        self.continued.store(false, Ordering::SeqCst);
        self.take()
    }
}

impl Drop for Tty {
    fn drop(&mut self) {
        restore();
    }
}

fn open() -> io::Result<File> {
    let named = ttyname(io::stdout(), Vec::new()).ok().and_then(|name| name.into_string().ok()).map(PathBuf::from);
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
    let open =
        |path: PathBuf| OpenOptions::new().read(true).write(true).custom_flags(flags.bits().cast_signed()).open(path);
    named.map_or_else(|| Err(io::ErrorKind::NotFound.into()), open).or_else(|_| open("/dev/tty".into()))
}

/// Gives the terminal back as it was, if it is ours. May be called from anywhere, also in a panic.
pub fn restore() {
    let Some(before) = BEFORE.get().filter(|_| TAKEN.swap(false, Ordering::SeqCst)) else { return };
    let mut left = &LEAVE[usize::from(!HALF_SENT.load(Ordering::SeqCst))..];
    let since = Instant::now();
    while !left.is_empty() && since.elapsed() < LEAVE_AT_MOST {
        match (&before.file).write(left) {
            Ok(n) => left = &left[n..],
            Err(why) if why.kind() == io::ErrorKind::Interrupted => {}
            Err(why) if why.kind() == io::ErrorKind::WouldBlock => wait_for_room(before.file.as_fd()),
            Err(_) => break,
        }
    }
    let _ = tcsetattr(&before.file, OptionalActions::Now, &before.modes);
}

fn wait_for_room(file: BorrowedFd<'_>) {
    let _ =
        poll(&mut [PollFd::from_borrowed_fd(file, PollFlags::OUT)], Some(&Timespec { tv_sec: 0, tv_nsec: 50_000_000 }));
}

/// Makes a panic give the terminal back first, so that its message can be read, and then end the program with the
/// status a panic has, whichever way the build lets panics end.
pub fn restore_on_panic() {
    let then = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        restore();
        then(info);
        std::process::exit(101);
    }));
}

//! The program in a pseudo-terminal: its keys, its screen, its bytes, its signals.

use std::fmt::Write as _;
use std::io::{Read as _, Write};
use std::num::NonZeroU16;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use rustix::process::{Pid, Signal, kill_process};

use crate::{Act, PATIENCE, Site, When, program};

/// The program in a terminal of its own.
pub struct Terminal {
    master: Box<dyn MasterPty + Send>,
    /// Takes what is typed; a thread writes it, so that a program that does not read holds up no test.
    typed: std::sync::mpsc::Sender<Vec<u8>>,
    pid: Pid,
    shared: Arc<Shared>,
}

/// How a program ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ended {
    /// Its exit code.
    pub code: u32,
    /// The signal that ended it, in the system's words.
    pub signal: Option<String>,
}

struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

struct State {
    parser: vt100::Parser,
    bytes: Vec<u8>,
    /// When something came, and how much there was by then.
    came: Vec<(Instant, usize)>,
    is_held: bool,
    ended: Option<Ended>,
    is_silent: bool,
}

/// The bytes of a key by its name, such as `Enter`, `Space`, `Esc`, `Up`, `C-c`; anything else is typed as it stands.
pub fn keys(name: &str) -> Vec<u8> {
    let bytes: &[u8] = match name {
        "Enter" => b"\r",
        "Space" => b" ",
        "Esc" => b"\x1b",
        "Tab" => b"\t",
        "Backspace" => b"\x7f",
        "Up" => b"\x1b[A",
        "Down" => b"\x1b[B",
        "Right" => b"\x1b[C",
        "Left" => b"\x1b[D",
        "PageUp" => b"\x1b[5~",
        "PageDown" => b"\x1b[6~",
        _ => {
            return match name.strip_prefix("C-").map(str::as_bytes) {
                Some([letter]) => vec![letter & 0x1f],
                _ => name.as_bytes().to_vec(),
            };
        }
    };
    bytes.to_vec()
}

fn size(columns: u16, rows: u16) -> PtySize {
    PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }
}

fn cells(n: u16) -> NonZeroU16 {
    NonZeroU16::new(n).unwrap()
}

impl Terminal {
    /// The program in a terminal of 120 × 40.
    pub fn open(site: &Site, args: &[&str]) -> Self {
        Self::sized(site, 120, 40, args)
    }

    /// The program in a terminal of that size.
    pub fn sized(site: &Site, columns: u16, rows: u16, args: &[&str]) -> Self {
        let mut command = site.in_terminal(program());
        command.args(args);
        Self::spawn(command, columns, rows)
    }

    /// A shell script in a terminal, 120 × 40, with the program and its arguments as `"$@"`; variables are added to the
    /// environment. What is left behind in the terminal can be looked at by the script when the program has ended.
    pub fn shell(site: &Site, script: &str, args: &[&str], variables: &[(&str, &str)]) -> Self {
        let mut command = site.in_terminal(Path::new("/bin/sh"));
        command.args(["-c", script, "sh"]);
        command.arg(program());
        command.args(args);
        for (name, value) in variables {
            command.env(name, value);
        }
        Self::spawn(command, 120, 40)
    }

    fn spawn(command: CommandBuilder, columns: u16, rows: u16) -> Self {
        let pair = native_pty_system().openpty(size(columns, rows)).unwrap();
        let mut child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let pid = Pid::from_raw(i32::try_from(child.process_id().unwrap()).unwrap()).unwrap();
        let state = State {
            parser: vt100::Parser::new(cells(rows), cells(columns), 0),
            bytes: Vec::new(),
            came: Vec::new(),
            is_held: false,
            ended: None,
            is_silent: false,
        };
        let shared = Arc::new(Shared { state: Mutex::new(state), changed: Condvar::new() });
        let reader = pair.master.try_clone_reader().unwrap();
        let eye = Arc::clone(&shared);
        thread::spawn(move || watch(reader, &eye));
        let waiter = Arc::clone(&shared);
        thread::spawn(move || wait(child.as_mut(), &waiter));
        let mut writer = pair.master.take_writer().unwrap();
        let (typed, to_type) = std::sync::mpsc::channel::<Vec<u8>>();
        thread::spawn(move || {
            for bytes in to_type {
                if writer.write_all(&bytes).and_then(|()| writer.flush()).is_err() {
                    break;
                }
            }
        });
        Self { master: pair.master, typed, pid, shared }
    }

    /// The process that was started: the program, or the shell around it.
    pub fn pid(&self) -> Pid {
        self.pid
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.shared.state.lock().unwrap()
    }

    /// Types keys, by name.
    pub fn press<K: AsRef<str>>(&self, names: &[K]) {
        for name in names {
            self.send(&keys(name.as_ref()));
        }
    }

    /// Sends bytes as they are.
    pub fn send(&self, bytes: &[u8]) {
        // Nobody there any more is found out by what is not shown.
        let _ = self.typed.send(bytes.to_vec());
    }

    /// The screen, line by line.
    pub fn screen(&self) -> String {
        self.state().parser.screen().contents()
    }

    /// Everything the program has sent so far.
    pub fn bytes(&self) -> Vec<u8> {
        self.state().bytes.clone()
    }

    /// How many bytes there are so far.
    pub fn n_bytes(&self) -> usize {
        self.state().bytes.len()
    }

    /// Whether the other screen is shown, and whether the cursor is hidden.
    pub fn has_other_screen_and_no_cursor(&self) -> (bool, bool) {
        let state = self.state();
        let screen = state.parser.screen();
        (screen.alternate_screen(), screen.hide_cursor())
    }

    /// Waits until the screen holds these words (line breaks count as spaces).
    pub fn wait_for(&self, words: &str) {
        self.wait_until(&format!("“{words}” on the screen"), |screen| flat(screen).contains(words));
    }

    /// Waits until a line begins with this caption: what the big number is.
    pub fn wait_for_caption(&self, caption: &str) {
        self.wait_until(&format!("the caption “{caption}”"), |screen| {
            screen.lines().any(|line| line.trim_start().starts_with(caption))
        });
    }

    /// Waits until `is_so` of the screen.
    pub fn wait_until(&self, what: &str, is_so: impl Fn(&str) -> bool) {
        self.wait_state(what, |state| is_so(&state.parser.screen().contents()));
    }

    /// Waits until these bytes have been sent, and returns everything sent up to their end.
    pub fn wait_for_bytes(&self, bytes: &[u8]) -> Vec<u8> {
        let find = |all: &[u8]| all.windows(bytes.len()).position(|window| window == bytes);
        let what = format!("the bytes {:?}", String::from_utf8_lossy(bytes));
        self.wait_state(&what, |state| find(&state.bytes).is_some());
        let all = self.bytes();
        let end = find(&all).unwrap() + bytes.len();
        all[..end].to_vec()
    }

    fn wait_state(&self, what: &str, is_so: impl Fn(&State) -> bool) {
        let end = Instant::now() + PATIENCE;
        let mut state = self.state();
        loop {
            if is_so(&state) {
                return;
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() || state.is_silent {
                let seen = shown(&state);
                drop(state);
                panic!("waited in vain for {what}. The screen:\n{seen}");
            }
            state = self.shared.changed.wait_timeout(state, left).unwrap().0;
        }
    }

    /// Waits until exactly so many acts are said to be recorded.
    pub fn wait_recorded(&self, n: usize) {
        let words = format!("recorded ✓ {n}");
        self.wait_until(&format!("“{words}”"), |screen| {
            screen.lines().next().is_some_and(|line| line.trim_end().ends_with(&words))
        });
    }

    /// Does what a technician does, when it is time for it.
    pub fn perform(&self, act: &Act) {
        match act.when {
            When::Now => {}
            When::LongEnough => self.wait_for_caption("LONG ENOUGH"),
            When::ReadingDue => self.wait_for_caption("LEVEL"),
        }
        self.press(&act.keys);
    }

    /// Does all this, each act recorded before the next; `n` counts the recorded acts.
    pub fn perform_all(&self, acts: &[Act], n: &mut usize) {
        for act in acts {
            self.perform(act);
            *n += 1;
            self.wait_recorded(*n);
        }
    }

    /// Another size.
    pub fn resize(&self, columns: u16, rows: u16) {
        let mut state = self.state();
        // The picture first: what is drawn for the new size may come at once.
        let resized = catch_unwind(AssertUnwindSafe(|| {
            state.parser.screen_mut().set_size(cells(rows), cells(columns));
        }));
        if resized.is_err() {
            state.parser = vt100::Parser::new(cells(rows), cells(columns), 0);
        }
        drop(state);
        self.master.resize(size(columns, rows)).unwrap();
    }

    /// Stops looking at what the program sends, as a stalled terminal does, or goes on.
    pub fn hold(&self, is_held: bool) {
        self.state().is_held = is_held;
        self.shared.changed.notify_all();
    }

    /// Sends a signal to the process that was started.
    pub fn signal(&self, signal: Signal) {
        let _ = kill_process(self.pid, signal);
    }

    /// Kills the program where it stands.
    pub fn kill(&self) {
        self.signal(Signal::KILL);
        self.wait_end();
    }

    /// Whether the program has ended.
    pub fn has_ended(&self) -> bool {
        self.state().ended.is_some()
    }

    /// Waits for the end, everything it sent included.
    pub fn wait_end(&self) -> Ended {
        let end = Instant::now() + PATIENCE;
        let mut state = self.state();
        loop {
            if let (Some(ended), true) = (&state.ended, state.is_silent) {
                return ended.clone();
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                let seen = shown(&state);
                drop(state);
                panic!("the program does not end. The screen:\n{seen}");
            }
            state = self.shared.changed.wait_timeout(state, left).unwrap().0;
        }
    }

    /// Leaves by the key that always works, and checks that the program ended of its own accord.
    pub fn leave(&self) {
        self.press(&["C-c"]);
        let ended = self.wait_end();
        assert_eq!((ended.code, &ended.signal), (0, &None), "{}", self.screen());
    }

    /// When something came first since `from`; waits for it as long as `patience`.
    pub fn came_since(&self, from: Instant, patience: Duration) -> Option<Instant> {
        let end = Instant::now() + patience;
        let mut state = self.state();
        loop {
            let first = state.came.iter().rev().take_while(|(at, _)| *at >= from).last();
            if let Some((at, _)) = first {
                return Some(*at);
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() || state.is_silent {
                return None;
            }
            state = self.shared.changed.wait_timeout(state, left).unwrap().0;
        }
    }

    /// How many bursts of bytes come within a while, and how many bytes; bytes that follow one another closely are one
    /// burst.
    pub fn listen(&self, span: Duration) -> (usize, usize) {
        const ONE_BURST: Duration = Duration::from_millis(60);
        let (from, n_before) = (Instant::now(), self.n_bytes());
        thread::sleep(span);
        let state = self.state();
        let mut last: Option<Instant> = None;
        let mut n = 0;
        for (at, _) in state.came.iter().filter(|(at, _)| *at >= from) {
            n += usize::from(last.is_none_or(|last| *at - last > ONE_BURST));
            last = Some(*at);
        }
        (n, state.bytes.len() - n_before)
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        self.hold(false);
        if !self.has_ended() {
            self.signal(Signal::KILL);
        }
    }
}

fn flat(screen: &str) -> String {
    screen.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn shown(state: &State) -> String {
    let mut text = String::new();
    for line in state.parser.screen().contents().lines() {
        let _ = writeln!(text, "  |{line}");
    }
    if let Some(ended) = &state.ended {
        let _ = writeln!(text, "The program has ended: {ended:?}");
    }
    text
}

fn watch(mut reader: Box<dyn std::io::Read + Send>, shared: &Shared) {
    let mut bytes = [0; 8192];
    loop {
        let mut state = shared.state.lock().unwrap();
        while state.is_held {
            state = shared.changed.wait(state).unwrap();
        }
        drop(state);
        let n = reader.read(&mut bytes).unwrap_or(0);
        let mut state = shared.state.lock().unwrap();
        if n == 0 {
            state.is_silent = true;
            shared.changed.notify_all();
            return;
        }
        state.bytes.extend_from_slice(&bytes[..n]);
        let so_far = state.bytes.len();
        state.came.push((Instant::now(), so_far));
        // A screen model that cannot draw one column is no fault of the program: it begins anew.
        let drawn = catch_unwind(AssertUnwindSafe(|| state.parser.process(&bytes[..n])));
        if drawn.is_err() {
            let (rows, columns) = state.parser.screen().size();
            state.parser = vt100::Parser::new(rows, columns, 0);
        }
        shared.changed.notify_all();
    }
}

fn wait(child: &mut (dyn Child + Send + Sync), shared: &Shared) {
    let ended = child.wait().unwrap();
    let ended = Ended { code: ended.exit_code(), signal: ended.signal().map(str::to_owned) };
    shared.state.lock().unwrap().ended = Some(ended);
    shared.changed.notify_all();
}

//! A program that prints lines of words: a recogniser, a pedal daemon.
//!
//! Here: starting it, starting it again after a rest, telling it what it may want to know, ending it with all that it has
//! started. Not here: lines.
//!
//! It has a group of its own, so that a key meant for the run never reaches it and everything it started ends with it.
//! It is told `words PATH`, `talk on` and `talk off`, each a line on its standard input.
//!
//! **Invariant:** nothing here waits for the program: what it does not read is not told, but for the newest of each kind.

use std::io;
use std::os::fd::{AsFd, BorrowedFd};
use std::os::unix::process::{CommandExt as _, ExitStatusExt as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, ExitStatus, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
use rustix::io::{Errno, write};
use rustix::process::{Pid, Signal, WaitId, WaitIdOptions, kill_process_group, waitid};

use super::stream::{Cutter, Dry, Gate, Standing, drain, forget};
use super::{EarEvent, Limits, Source, shown};
use crate::screen::Ear;

/// How long a program may live on after it has closed its output.
const GRACE: Duration = Duration::from_millis(200);
/// How often one that is ending is looked at.
const BLINK: Duration = Duration::from_millis(5);
/// A program that was started again counts as back when it has said something, or has lived so long.
const IS_BACK_AFTER: Duration = Duration::from_secs(4);

/// A program that is listened to.
#[derive(Debug)]
pub struct Program {
    command: Vec<String>,
    state: State,
    /// How often in a row it has ended early.
    n_ends: u32,
    /// What is lost; none since it is back.
    lost: Option<String>,
    to_tell: ToTell,
    next_look: Instant,
    limits: Limits,
    gate: Gate,
    standing: Standing,
}

#[derive(Debug)]
enum State {
    Lives(Running),
    Rests { until: Instant },
}

/// What it is to know. Kept for a program that is started again.
#[derive(Debug, Default)]
struct ToTell {
    words: Option<PathBuf>,
    talk: bool,
    owes_words: bool,
    owes_talk: bool,
}

impl Program {
    /// Starts it. Without a name there is none.
    pub fn open(command: Vec<String>, limits: Limits, now: Instant) -> Option<Self> {
        let name = command.first()?;
        let standing = Standing::new(format!("program {}", shown(Path::new(name))));
        let mut program = Self {
            command,
            state: State::Rests { until: now },
            n_ends: 0,
            lost: None,
            to_tell: ToTell::default(),
            next_look: now + limits.look,
            limits,
            gate: Gate::new(limits),
            standing,
        };
        program.begin(now);
        Some(program)
    }

    /// It is to know where the words valid now are.
    pub fn tell_words(&mut self, path: &Path) {
        self.to_tell.words = Some(path.to_owned());
        self.to_tell.owes_words = true;
        self.tell();
    }

    /// It is to listen, or to stop.
    pub fn talk(&mut self, on: bool) {
        self.to_tell.talk = on;
        self.to_tell.owes_talk = true;
        self.tell();
    }

    fn tell(&mut self) {
        if let State::Lives(running) = &mut self.state {
            running.tell(&mut self.to_tell);
        }
    }

    fn begin(&mut self, now: Instant) {
        match Running::start(&self.command, now) {
            Ok(running) => {
                self.to_tell.owes_words = self.to_tell.words.is_some();
                self.to_tell.owes_talk = self.to_tell.talk;
                self.state = State::Lives(running);
                self.tell();
            }
            Err(why) if why.kind() == io::ErrorKind::NotFound => {
                self.rest("there is no such program: install it, or name another".into(), now);
            }
            Err(why) => self.rest(format!("it cannot be started: {why}"), now),
        }
    }

    fn rest(&mut self, lost: String, now: Instant) {
        let rest = self.limits.first_rest * 2_u32.saturating_pow(self.n_ends.min(16));
        self.n_ends = self.n_ends.saturating_add(1);
        self.state = State::Rests { until: now + rest.min(self.limits.last_rest) };
        self.lost = Some(lost);
    }

    fn ended(&mut self, how: &str, since: Instant, now: Instant) {
        if now.saturating_duration_since(since) >= self.limits.long_life {
            self.n_ends = 0;
        }
        self.rest(format!("it {how}; it is started again"), now);
    }

    fn lost(&self) -> Option<String> {
        let is_deaf = matches!(&self.state, State::Lives(running) if running.is_deaf);
        let deaf = is_deaf.then(|| "it does not read what it is told: its pipe is full".to_owned());
        self.lost.clone().or_else(|| self.gate.flood()).or(deaf)
    }
}

impl Source for Program {
    fn fds<'a>(&'a self, now: Instant, fds: &mut Vec<BorrowedFd<'a>>) {
        if let State::Lives(running) = &self.state
            && running.closed.is_none()
            && self.gate.is_open(now)
        {
            fds.push(running.stdout.as_fd());
        }
    }

    fn next(&self) -> Option<Instant> {
        let of_state = match &self.state {
            State::Lives(Running { closed: Some((_, next_look)), .. }) => *next_look,
            State::Lives(_) => self.next_look,
            State::Rests { until } => *until,
        };
        self.gate.next().into_iter().chain([of_state]).min()
    }

    fn turn(&mut self, now: Instant, each: &mut dyn FnMut(EarEvent)) {
        self.gate.roll(now);
        let must_look = now >= self.next_look;
        if must_look {
            self.next_look = now + self.limits.look;
        }
        match &mut self.state {
            State::Rests { until } if now >= *until => self.begin(now),
            State::Rests { .. } => {}
            State::Lives(running) => {
                let mut n_heard = 0;
                if running.closed.is_none() && self.gate.is_open(now) {
                    let (dry, n) = drain(&running.stdout, &mut running.cutter, &mut self.gate, now, each);
                    n_heard = n;
                    if dry == Dry::ForGood {
                        running.closed = Some((now, now));
                    }
                }
                running.tell(&mut self.to_tell);
                if n_heard > 0 || now.saturating_duration_since(running.since) >= IS_BACK_AFTER {
                    self.lost = None;
                }
                if let Some(how) = running.has_ended(now, must_look) {
                    let since = running.since;
                    self.ended(&how, since, now);
                }
            }
        }
    }

    fn forget(&mut self) {
        if let State::Lives(running) = &mut self.state
            && running.closed.is_none()
        {
            forget(&running.stdout, &|| true, &mut running.cutter);
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

/// A program that was started. Whoever drops it ends it with its group.
#[derive(Debug)]
struct Running {
    child: Child,
    stdin: Option<ChildStdin>,
    stdout: ChildStdout,
    cutter: Cutter,
    since: Instant,
    /// Since when it has closed its output, and when it is looked at next.
    closed: Option<(Instant, Instant)>,
    /// It did not take what it was told last.
    is_deaf: bool,
    /// The end of a line that it took by half. A line up to 512 bytes is taken whole or not at all (POSIX, `PIPE_BUF`).
    rest: Vec<u8>,
    /// It has ended, and its number may belong to another.
    is_over: bool,
}

impl Running {
    fn start(command: &[String], now: Instant) -> io::Result<Self> {
        let [program, args @ ..] = command else { return Err(io::ErrorKind::NotFound.into()) };
        let mut child = Command::new(program)
            .args(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .process_group(0)
            .spawn()?;
        let (stdin, Some(stdout)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(io::Error::other("it has no output"));
        };
        let running = Self {
            child,
            stdin,
            stdout,
            cutter: Cutter::default(),
            since: now,
            closed: None,
            is_deaf: false,
            rest: Vec::new(),
            is_over: false,
        };
        if let Some(stdin) = &running.stdin {
            set_nonblocking(stdin)?;
        }
        set_nonblocking(&running.stdout)?;
        Ok(running)
    }

    /// Tells it what it is owed, as far as it reads.
    fn tell(&mut self, to_tell: &mut ToTell) {
        if let Some(words) = to_tell.words.as_ref().filter(|_| to_tell.owes_words) {
            let mut line = b"words ".to_vec();
            line.extend_from_slice(words.as_os_str().as_encoded_bytes());
            line.push(b'\n');
            to_tell.owes_words = !self.put(&line);
        }
        if to_tell.owes_talk {
            to_tell.owes_talk = !self.put(if to_tell.talk { b"talk on\n" } else { b"talk off\n" });
        }
    }

    /// Whether it was told, or need not be any more.
    fn put(&mut self, line: &[u8]) -> bool {
        let Some(stdin) = &self.stdin else { return true };
        let send = |bytes: &[u8]| match write(stdin, bytes) {
            Err(Errno::AGAIN | Errno::INTR) => Ok(0),
            sent => sent,
        };
        if !self.rest.is_empty() {
            let sent = send(&self.rest);
            self.rest.drain(..sent.unwrap_or(0));
        }
        let sent = if self.rest.is_empty() { send(line) } else { Ok(0) };
        match sent {
            Ok(0) => self.is_deaf = true,
            Ok(n) => {
                self.is_deaf = false;
                self.rest.extend_from_slice(&line[n..]);
            }
            Err(_) => {
                // It does not want to be told anything.
                self.is_deaf = false;
                self.stdin = None;
            }
        }
        !self.is_deaf
    }

    fn pid(&self) -> Pid {
        Pid::from_child(&self.child)
    }

    /// Whether it has ended, without taking note of that: until then its number belongs to nobody else.
    fn is_dead(&self) -> bool {
        let options = WaitIdOptions::EXITED | WaitIdOptions::NOHANG | WaitIdOptions::NOWAIT;
        !matches!(waitid(WaitId::Pid(self.pid()), options), Ok(None) | Err(Errno::INTR))
    }

    /// How it has ended, if it has. One that has closed its output is given a moment to end by itself.
    fn has_ended(&mut self, now: Instant, must_look: bool) -> Option<String> {
        match &mut self.closed {
            None if !must_look => return None,
            None => {}
            Some((_, next_look)) => *next_look = now + BLINK,
        }
        if self.is_dead() {
            // What it has started and left behind ends with it.
            let _ = kill_process_group(self.pid(), Signal::KILL);
            self.is_over = true;
            return Some(self.child.try_wait().ok().flatten().map_or_else(|| "has ended".into(), in_words));
        }
        let is_over = self.closed.is_some_and(|(since, _)| now.saturating_duration_since(since) >= GRACE);
        is_over.then(|| "has closed its output".into())
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        if self.is_over {
            return;
        }
        self.stdin = None;
        if self.closed.is_none() {
            let _ = kill_process_group(self.pid(), Signal::TERM);
            let end = Instant::now() + GRACE;
            while !self.is_dead() && Instant::now() < end {
                sleep(BLINK);
            }
        }
        let _ = kill_process_group(self.pid(), Signal::KILL);
        let _ = self.child.wait();
    }
}

fn in_words(status: ExitStatus) -> String {
    match (status.code(), status.signal()) {
        (Some(code), _) => format!("has ended with exit code {code}"),
        (None, Some(signal)) => format!("was ended by signal {signal}"),
        (None, None) => "has ended".into(),
    }
}

fn set_nonblocking(end: impl AsFd) -> io::Result<()> {
    let flags = fcntl_getfl(&end)?;
    Ok(fcntl_setfl(end, flags | OFlags::NONBLOCK)?)
}

#[cfg(test)]
mod tests {
    use std::thread::yield_now;

    use super::*;

    /// Where real time is waited for: so long at most.
    const PATIENCE: Duration = Duration::from_secs(30);

    fn open(script: &str, now: Instant) -> Program {
        let command = ["/bin/sh", "-c", script].map(str::to_owned).to_vec();
        Program::open(command, Limits::default(), now).unwrap()
    }

    /// Lets it live, with the clock standing at `now`, until it has ended.
    fn until_it_rests(program: &mut Program, now: Instant) -> Instant {
        let begun = Instant::now();
        loop {
            program.turn(now, &mut |_| ());
            if let State::Rests { until } = program.state {
                return until;
            }
            assert!(begun.elapsed() < PATIENCE, "it lives on: {program:?}");
            yield_now();
        }
    }

    #[test]
    fn a_program_that_ends_at_once_rests_longer_each_time() {
        let mut now = Instant::now();
        let mut program = open("exit 3", now);
        for rest_s in [1, 2, 4, 8, 8, 8] {
            let until = until_it_rests(&mut program, now);
            assert_eq!(until, now + Duration::from_secs(rest_s));
            assert_eq!(program.lost().as_deref(), Some("it has ended with exit code 3; it is started again"));
            program.turn(until - Duration::from_millis(1), &mut |_| ());
            assert!(matches!(program.state, State::Rests { .. }), "not before its rest is over");
            program.turn(until, &mut |_| ());
            assert!(matches!(program.state, State::Lives(_)));
            now = until;
        }
    }

    #[test]
    fn after_a_long_life_the_rest_is_short_again() {
        let mut now = Instant::now();
        let mut program = open("exit 3", now);
        for _ in 0..3 {
            now = until_it_rests(&mut program, now);
            program.command = vec!["/bin/cat".to_owned()];
            program.turn(now, &mut |_| ());
            let State::Lives(running) = &mut program.state else { panic!("it was started") };
            running.stdin = None;
            now += Duration::from_secs(59);
        }
        assert_eq!(until_it_rests(&mut program, now), now + Duration::from_secs(8), "59 s are no long life");
        now += Duration::from_secs(8);
        program.turn(now, &mut |_| ());
        let State::Lives(running) = &mut program.state else { panic!("it was started") };
        running.stdin = None;
        now += Duration::from_secs(60);
        assert_eq!(until_it_rests(&mut program, now), now + Duration::from_secs(1));
    }

    #[test]
    fn a_program_that_closes_its_output_and_lives_on_is_ended_and_started_again() {
        let now = Instant::now();
        let mut program = open("exec >&-; trap '' TERM; exec sleep 1000", now);
        let State::Lives(running) = &program.state else { panic!("it was started") };
        let pid = running.pid();
        let begun = Instant::now();
        while !matches!(&program.state, State::Lives(Running { closed: Some(_), .. })) {
            program.turn(now, &mut |_| ());
            assert!(begun.elapsed() < PATIENCE, "it did not close its output");
            yield_now();
        }
        program.turn(now + GRACE, &mut |_| ());
        assert!(matches!(program.state, State::Rests { .. }));
        assert_eq!(program.lost().as_deref(), Some("it has closed its output; it is started again"));
        assert_eq!(kill_process_group(pid, Signal::KILL), Err(Errno::SRCH), "nothing of it is left");
    }

    #[test]
    fn it_is_back_when_it_says_something_or_has_lived_a_while() {
        let mut now = Instant::now();
        let mut program = open("exit 0", now);
        now = until_it_rests(&mut program, now);
        program.command = vec!["/bin/cat".to_owned()];
        program.turn(now, &mut |_| ());
        program.turn(now + IS_BACK_AFTER - Duration::from_millis(1), &mut |_| ());
        assert!(program.lost().is_some(), "nobody knows yet whether it stays");
        program.turn(now + IS_BACK_AFTER, &mut |_| ());
        assert_eq!(program.lost(), None);
    }
}

//! A program that was started, and may hang.
//!
//! Here: starting, killing, looking whether it is over. Not here: which program, and what for.
//!
//! **Invariant:** nothing waits for a program longer than it was told to, and no pipe leads to one: what it reads and
//! writes are files, so that none can fill up.

use std::fs::File;
use std::io;
use std::path::Path;
use std::process::{Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use super::super::clock;
use super::programs::{Fill, Program};

/// A started program. Dropped while it runs, it is killed.
#[derive(Debug)]
pub struct Child(std::process::Child);

impl Child {
    /// Starts it. Standard input and output are these files, or nothing.
    pub fn start(program: &Program, fill: Fill<'_>, input: Option<File>, output: Option<File>) -> io::Result<Self> {
        let stdio = |file: Option<File>| file.map_or_else(Stdio::null, Stdio::from);
        let mut command = Command::new(&program.path);
        command.args(program.arguments(fill)).stdin(stdio(input)).stdout(stdio(output)).stderr(Stdio::null());
        command.env("POURSIDE_SOUND", fill.file).env("POURSIDE_RATE", fill.rate.to_string());
        #[cfg(unix)]
        {
            // In a group of its own: what it starts is killed with it, and Ctrl-C at the terminal is not for it.
            use std::os::unix::process::CommandExt as _;
            command.process_group(0);
        }
        command.spawn().map(Self)
    }

    /// Kills it and what it has started.
    pub fn kill(&mut self) {
        // Its number is its own as long as nobody has asked how it ended.
        if !matches!(self.0.try_wait(), Ok(None)) {
            return;
        }
        #[cfg(unix)]
        if let Some(group) = self.0.id().try_into().ok().and_then(rustix::process::Pid::from_raw) {
            // It may have ended just now.
            let _ = rustix::process::kill_process_group(group, rustix::process::Signal::KILL);
        }
        let _ = self.0.kill();
    }

    /// How it ended, if it has. Whoever cannot be asked counts as failed.
    pub fn ended(&mut self) -> Option<Result<(), String>> {
        match self.0.try_wait() {
            Ok(None) => None,
            Ok(Some(status)) if status.success() => Some(Ok(())),
            Ok(Some(status)) => Some(Err(in_words(status))),
            Err(why) => Some(Err(why.to_string())),
        }
    }

    /// Waits for its end, so long at most, and kills it then, or once `too_much` says so, or `stop` is set.
    pub fn wait(&mut self, limit: Duration, stop: &AtomicBool, too_much: &dyn Fn() -> bool) -> Result<(), String> {
        let begun = clock::steady();
        let mut pause = Duration::from_millis(1);
        loop {
            if let Some(ended) = self.ended() {
                return ended;
            }
            let why = if clock::steady().saturating_sub(begun) >= limit {
                format!("no answer in {} s", limit.as_secs())
            } else if too_much() {
                "writes without end".to_owned()
            } else if stop.load(Ordering::Relaxed) {
                "stopped".to_owned()
            } else {
                std::thread::sleep(pause);
                pause = (pause * 2).min(Duration::from_millis(8));
                continue;
            };
            self.kill();
            // Gone in a moment; one that is stuck in the system is left to it.
            for _ in 0..20 {
                if self.ended().is_some() {
                    break;
                }
                std::thread::sleep(Duration::from_millis(1));
            }
            return Err(why);
        }
    }
}

impl Drop for Child {
    fn drop(&mut self) {
        self.kill();
        let _ = self.0.try_wait();
    }
}

fn in_words(status: ExitStatus) -> String {
    match status.code() {
        Some(code) => format!("ends with {code}"),
        None => "was ended by a signal".to_owned(),
    }
}

/// How many bytes a file has; none if there is no file.
pub fn size(file: &Path) -> u64 {
    file.metadata().map_or(0, |about| about.len())
}

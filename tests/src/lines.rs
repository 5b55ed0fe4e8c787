//! The program in the line form, through pipes.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::{Arc, Condvar, Mutex};
use std::thread;
use std::time::Instant;

use rustix::process::{Pid, Signal, kill_process};

use crate::{Act, Done, PATIENCE, When};

/// A run led in lines. What is said and heard is kept, and shown when something expected does not come.
pub struct Lines {
    child: Child,
    input: Option<ChildStdin>,
    heard: Arc<Heard>,
    errors: Option<thread::JoinHandle<String>>,
    /// What was looked at already.
    seen: usize,
}

/// What was heard of a program that was killed.
#[derive(Clone, Debug)]
pub struct Killed {
    /// All of its lines.
    pub lines: Vec<String>,
    /// Whether it was still there to be killed; else it had ended of its own accord before.
    pub was_running: bool,
}

/// A line about a run of a sample: the run's name, and what is said of it. Without a name it is about the sample, or
/// about the only run there is.
pub fn words_of(line: &str) -> (&str, &str) {
    line.strip_prefix('[').and_then(|rest| rest.split_once("] ")).unwrap_or(("", line))
}

/// Of which run a line says that its acts are recorded, and how many.
pub fn recorded(line: &str) -> Option<(&str, usize)> {
    let (run, words) = words_of(line);
    Some((run, words.strip_prefix("RECORDED ")?.parse().ok()?))
}

#[derive(Default)]
struct Heard {
    lines: Mutex<(Vec<String>, bool)>,
    more: Condvar,
}

impl Lines {
    /// Starts the program.
    pub fn start(mut command: Command) -> Self {
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let heard = Arc::new(Heard::default());
        let (out, ear) = (child.stdout.take().unwrap(), Arc::clone(&heard));
        thread::spawn(move || {
            for line in BufReader::new(out).lines() {
                // What is cut by a kill is no line.
                let Ok(line) = line else { break };
                ear.lines.lock().unwrap().0.push(line);
                ear.more.notify_all();
            }
            ear.lines.lock().unwrap().1 = true;
            ear.more.notify_all();
        });
        let mut err = child.stderr.take().unwrap();
        let errors = thread::spawn(move || {
            let mut text = String::new();
            let _ = err.read_to_string(&mut text);
            text
        });
        Self { input: child.stdin.take(), child, heard, errors: Some(errors), seen: 0 }
    }

    /// The program's process.
    pub fn pid(&self) -> Pid {
        Pid::from_child(&self.child)
    }

    /// Says a line. That nobody listens any more is found out by what is not heard.
    pub fn say(&mut self, line: &str) {
        if let Some(input) = &mut self.input {
            let _ = input.write_all(format!("{line}\n").as_bytes());
            let _ = input.flush();
        }
    }

    /// Waits for a line with `words` in it, after those looked at already, and returns it.
    pub fn expect(&mut self, words: &str) -> String {
        match self.wait(|line| line.contains(words)) {
            Some(line) => line,
            None => panic!("“{words}” was never said. {}", self.said_so_far()),
        }
    }

    /// Waits for a line with `words` in it, after those looked at already; `false` if the program ends without it.
    pub fn hears(&mut self, words: &str) -> bool {
        self.wait(|line| line.contains(words)).is_some()
    }

    /// Waits until act number `n` is said to be recorded.
    pub fn expect_recorded(&mut self, n: usize) {
        let answer = self.answer();
        assert_eq!(answer, format!("RECORDED {n}"), "{}", self.said_so_far());
    }

    /// Waits for the answer to an act: whether it was taken and recorded.
    pub fn answer(&mut self) -> String {
        let is_answer = |line: &str| {
            let word = words_of(line).1.split(' ').next().unwrap_or_default();
            ["RECORDED", "NOT-RECORDED", "REFUSED", "ERROR"].contains(&word)
        };
        self.wait(is_answer).unwrap_or_else(|| panic!("no answer. {}", self.said_so_far()))
    }

    /// Does what a technician does, when it is time for it.
    pub fn perform(&mut self, act: &Act) {
        match act.when {
            When::Now => {}
            When::LongEnough => drop(self.expect("DUE hold Long enough")),
            When::ReadingDue => drop(self.expect("DUE next-reading Read now")),
        }
        self.say(&act.line);
    }

    fn wait(&mut self, is_it: impl Fn(&str) -> bool) -> Option<String> {
        let end = Instant::now() + PATIENCE;
        let mut lines = self.heard.lines.lock().unwrap();
        loop {
            while let Some(line) = lines.0.get(self.seen) {
                self.seen += 1;
                if is_it(line) {
                    return Some(line.clone());
                }
            }
            let left = end.saturating_duration_since(Instant::now());
            if lines.1 || left.is_zero() {
                return None;
            }
            lines = self.heard.more.wait_timeout(lines, left).unwrap().0;
        }
    }

    /// Everything heard so far.
    pub fn lines(&self) -> Vec<String> {
        self.heard.lines.lock().unwrap().0.clone()
    }

    fn said_so_far(&self) -> String {
        let (lines, has_ended) = &*self.heard.lines.lock().unwrap();
        let end = if *has_ended { "\nThe program has ended." } else { "" };
        format!("What was heard:\n  {}{end}", lines.join("\n  "))
    }

    /// Kills the program where it stands, as a dead battery would, and returns the highest act it had said was recorded.
    pub fn kill(self) -> usize {
        let heard = self.kill_and_hear().lines;
        heard.iter().filter_map(|line| recorded(line)).map(|(_, n)| n).max().unwrap_or(0)
    }

    /// The same; returns everything that was heard.
    pub fn kill_and_hear(mut self) -> Killed {
        let _ = kill_process(self.pid(), Signal::KILL);
        let status = self.child.wait().unwrap();
        let errors = self.errors.take().and_then(|errors| errors.join().ok()).unwrap_or_default();
        self.wait(|_| false);
        let was_running = status.code().is_none();
        assert!(was_running || status.success(), "{errors}{}", self.said_so_far());
        Killed { lines: self.lines(), was_running }
    }

    /// Ends the input, waits for the end of the program, and returns what it said.
    pub fn end(mut self) -> Done {
        drop(self.input.take());
        self.wait(|_| false);
        assert!(self.heard.lines.lock().unwrap().1, "the program does not end. {}", self.said_so_far());
        let status = self.child.wait().unwrap();
        let err = self.errors.take().unwrap().join().unwrap();
        Done { code: status.code(), out: self.lines().join("\n"), err }
    }
}

impl Drop for Lines {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

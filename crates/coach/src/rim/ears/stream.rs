//! From bytes to lines, and how much of them is heard.
//!
//! Here: cutting at line ends, the limit of a second, what was last said about a source. Not here: where bytes come from.
//!
//! **Invariant:** a line is heard whole or not at all, and what is kept of a line that does not end is bounded.

use std::os::fd::AsFd;
use std::time::{Duration, Instant};

use hearing::line::{self, NoLine};
use rustix::io::{Errno, read};

use super::{EarEvent, Limits};
use crate::screen::Ear;

/// Longer lines are dropped up to their end. Words and tags of a good line are far below.
const LINE_AT_MOST: usize = 1024;
/// How many bytes are taken at once.
const CHUNK: usize = 1024;
/// How much is taken from a source before the others have their turn.
const BYTES_A_TURN: usize = 16 * 1024;
/// As many lines are heard of a source before the others have their turn, and at most a chunk more.
const LINES_A_TURN: usize = 32;
/// How long a source that floods is left alone between two turns.
const REST_IN_FLOOD: Duration = Duration::from_millis(20);
/// How much of what was said while nobody listened is dropped at once: more than a pipe holds as a rule (64 KiB).
const FORGOTTEN_AT_MOST: usize = 256 * 1024;
/// Over so much time lines are counted.
const SECOND: Duration = Duration::from_secs(1);

/// A line without its end, or why it is none.
type Cut<'l> = Result<&'l [u8], NoLine>;

/// Cuts bytes into lines.
#[derive(Debug, Default)]
pub struct Cutter {
    partial: Vec<u8>,
    /// The line was too long; its rest is skipped.
    is_skipping: bool,
}

impl Cutter {
    /// Takes bytes, and hands over the lines that end in them, without their ends. A line that is too long is handed
    /// over once, when that is known.
    pub fn feed(&mut self, mut bytes: &[u8], each: &mut dyn FnMut(Cut<'_>)) {
        while !bytes.is_empty() {
            let end = bytes.iter().position(|byte| *byte == b'\n');
            let (piece, rest) = match end {
                Some(end) => (&bytes[..end], &bytes[end + 1..]),
                None => (bytes, &bytes[bytes.len()..]),
            };
            bytes = rest;
            if !self.is_skipping && self.partial.len() + piece.len() > LINE_AT_MOST {
                self.is_skipping = true;
                self.partial.clear();
                each(Err(NoLine::TooLong));
            }
            if !self.is_skipping {
                self.partial.extend_from_slice(piece);
            }
            if end.is_some() {
                if !self.is_skipping {
                    let line = self.partial.strip_suffix(b"\r").unwrap_or(&self.partial);
                    each(Ok(line));
                }
                self.is_skipping = false;
                self.partial.clear();
            }
        }
    }
}

impl Cutter {
    /// What was begun is not heard, nor its rest.
    fn forget(&mut self) {
        self.is_skipping |= !self.partial.is_empty();
        self.partial.clear();
    }
}

/// Counts what a source sends, and says what is too much.
#[derive(Debug)]
pub struct Gate {
    limits: Limits,
    /// Since when is counted.
    since: Option<Instant>,
    n_lines: u32,
    n_bytes: usize,
    has_dropped: bool,
    is_flooding: bool,
    /// Not to be read before.
    rests_until: Option<Instant>,
}

impl Gate {
    /// Nothing was sent yet.
    pub fn new(limits: Limits) -> Self {
        Self { limits, since: None, n_lines: 0, n_bytes: 0, has_dropped: false, is_flooding: false, rests_until: None }
    }

    /// Begins another second if one is over. A second in which nothing had to be dropped ends a flood.
    pub fn roll(&mut self, now: Instant) {
        if self.since.is_some_and(|since| now.saturating_duration_since(since) >= SECOND) {
            self.is_flooding = self.has_dropped;
            self.since = self.is_flooding.then_some(now);
            (self.n_lines, self.n_bytes, self.has_dropped) = (0, 0, false);
        }
        if self.rests_until.is_some_and(|until| now >= until) {
            self.rests_until = None;
        }
    }

    /// Whether it may be read now.
    pub fn is_open(&self, now: Instant) -> bool {
        self.rests_until.is_none_or(|until| now >= until)
    }

    fn count(&mut self, n_bytes: usize, now: Instant) {
        self.since.get_or_insert(now);
        self.n_bytes += n_bytes;
    }

    fn admits(&mut self) -> bool {
        self.n_lines = self.n_lines.saturating_add(1);
        let is_too_much = self.n_lines > self.limits.lines_a_second || self.n_bytes > self.limits.bytes_a_second;
        if is_too_much {
            self.has_dropped = true;
            self.is_flooding = true;
        }
        !is_too_much
    }

    fn rest(&mut self, now: Instant) {
        // Bytes without a line end are too much as well.
        if self.n_bytes > self.limits.bytes_a_second {
            self.has_dropped = true;
            self.is_flooding = true;
        }
        if self.is_flooding {
            self.rests_until = Some(now + REST_IN_FLOOD);
        }
    }

    /// When it next has something to do by itself.
    pub fn next(&self) -> Option<Instant> {
        let over = self.since.filter(|_| self.is_flooding).map(|since| since + SECOND);
        self.rests_until.into_iter().chain(over).min()
    }

    /// What is said of a flood.
    pub fn flood(&self) -> Option<String> {
        let n = self.limits.lines_a_second;
        self.is_flooding.then(|| format!("it floods: of more than {n} lines a second the rest is dropped"))
    }
}

/// How reading came to its end.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Dry {
    /// Nothing waits, or the others have their turn.
    ForNow,
    /// Nothing will come any more.
    ForGood,
}

/// Reads what waits in `from`, which never blocks, and hands the lines over. Says how many were heard, too.
pub fn drain(
    from: impl AsFd,
    cutter: &mut Cutter,
    gate: &mut Gate,
    now: Instant,
    each: &mut dyn FnMut(EarEvent),
) -> (Dry, usize) {
    drain_while(from, &|| true, cutter, gate, now, each)
}

/// The same; before each piece `waits` says whether something is there.
pub fn drain_while(
    from: impl AsFd,
    waits: &dyn Fn() -> bool,
    cutter: &mut Cutter,
    gate: &mut Gate,
    now: Instant,
    each: &mut dyn FnMut(EarEvent),
) -> (Dry, usize) {
    let mut bytes = [0; CHUNK];
    let (mut n_bytes, mut n_heard) = (0, 0);
    let dry = loop {
        if n_bytes >= BYTES_A_TURN || n_heard >= LINES_A_TURN || !waits() {
            break Dry::ForNow;
        }
        match read(&from, &mut bytes) {
            Ok(0) => break Dry::ForGood,
            Ok(n) => {
                n_bytes += n;
                gate.count(n, now);
                cutter.feed(&bytes[..n], &mut |cut| {
                    if gate.admits() {
                        n_heard += 1;
                        each(EarEvent::Line(cut.and_then(line::read)));
                    }
                });
            }
            Err(Errno::INTR) => {}
            Err(Errno::AGAIN) => break Dry::ForNow,
            Err(_) => break Dry::ForGood,
        }
    };
    gate.rest(now);
    (dry, n_heard)
}

/// Reads what waits in `from` and drops it.
pub fn forget(from: impl AsFd, waits: &dyn Fn() -> bool, cutter: &mut Cutter) {
    let mut bytes = [0; CHUNK];
    for _ in 0..FORGOTTEN_AT_MOST / CHUNK {
        if !waits() {
            break;
        }
        match read(&from, &mut bytes) {
            Ok(n) if n > 0 => cutter.feed(&bytes[..n], &mut |_| ()),
            _ => break,
        }
    }
    cutter.forget();
}

/// What was last said about a source, so that nothing is said twice.
#[derive(Debug)]
pub struct Standing {
    name: String,
    lost: Option<String>,
}

impl Standing {
    /// It listens, as far as anybody knows.
    pub fn new(name: String) -> Self {
        Self { name, lost: None }
    }

    /// How it stands, if that is not what was said last.
    pub fn news(&mut self, lost: Option<String>) -> Option<Ear> {
        if self.lost == lost {
            return None;
        }
        Some(self.say(lost))
    }

    /// How it stands.
    pub fn say(&mut self, lost: Option<String>) -> Ear {
        self.lost = lost;
        Ear { name: self.name.clone(), lost: self.lost.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(pieces: &[&[u8]]) -> Vec<Result<Vec<u8>, NoLine>> {
        let (mut cutter, mut lines) = (Cutter::default(), Vec::new());
        for piece in pieces {
            cutter.feed(piece, &mut |line| lines.push(line.map(<[u8]>::to_vec)));
        }
        assert!(cutter.partial.len() <= LINE_AT_MOST);
        lines
    }

    #[test]
    fn lines_are_cut_wherever_the_pieces_end() {
        let text = b"next step\n\none four five\r\nsay again\nand a rest";
        let whole: Vec<_> =
            ["next step", "", "one four five", "say again"].iter().map(|line| Ok(line.as_bytes().to_vec())).collect();
        assert_eq!(cut(&[text]), whole);
        for at in 0..text.len() {
            assert_eq!(cut(&[&text[..at], &text[at..]]), whole, "cut at {at}");
        }
        let single: Vec<&[u8]> = text.chunks(1).collect();
        assert_eq!(cut(&single), whole);
    }

    #[test]
    fn a_line_that_is_too_long_counts_once_and_takes_nothing_with_it() {
        let long = vec![b'x'; 5 * LINE_AT_MOST];
        let lines = cut(&[&long, &long, b"\n", b"next step\n"]);
        assert_eq!(lines, [Err(NoLine::TooLong), Ok(b"next step".to_vec())]);
        let just = vec![b'x'; LINE_AT_MOST];
        assert_eq!(cut(&[&just, b"\n"]), [Ok(just.clone())]);
        assert_eq!(cut(&[&just, b"y\n"]), [Err(NoLine::TooLong)]);
    }

    #[test]
    fn a_line_that_was_begun_while_nobody_listened_is_not_heard() {
        let (mut cutter, mut lines) = (Cutter::default(), Vec::new());
        cutter.feed(b"say again\none four", &mut |_| ());
        cutter.forget();
        cutter.feed(b" five\nnext step\n", &mut |line| lines.push(line.map(<[u8]>::to_vec)));
        assert_eq!(lines, [Ok(b"next step".to_vec())]);
    }

    #[test]
    fn a_flood_ends_with_a_second_in_which_nothing_had_to_be_dropped() {
        let start = Instant::now();
        let at = |ms| start + Duration::from_millis(ms);
        let mut gate = Gate::new(Limits { lines_a_second: 3, ..Limits::default() });
        gate.count(10, at(0));
        let admitted: Vec<_> = (0..5).map(|_| gate.admits()).collect();
        assert_eq!(admitted, [true, true, true, false, false]);
        gate.rest(at(0));
        assert!(gate.flood().is_some() && !gate.is_open(at(19)) && gate.is_open(at(20)));
        gate.roll(at(999));
        assert!(!gate.admits());
        gate.roll(at(1_000));
        assert!(gate.flood().is_some() && gate.admits(), "another second has room, but nobody knows yet if it is over");
        assert_eq!(gate.next(), Some(at(2_000)));
        gate.roll(at(2_000));
        assert!(gate.flood().is_none() && gate.next().is_none());
    }

    #[test]
    fn bytes_without_a_line_end_are_a_flood_as_well() {
        let start = Instant::now();
        let mut gate = Gate::new(Limits::default());
        gate.count(Limits::default().bytes_a_second + 1, start);
        gate.rest(start);
        assert!(gate.flood().is_some() && !gate.admits());
    }
}

//! Lines live: an input stream read beside the clock.
//!
//! A thread reads the stream; the run waits for a line or for the next moment at which something is due, whichever
//! comes first. Nothing ticks.
//!
//! **Invariant:** what a line holds never costs more memory than [`BYTES_AT_MOST`]; the rest of an endless line is
//! read and forgotten.

use std::io::{self, BufRead, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::Duration;

use engine::{Moment, Tick};

use super::{Cue, Led, One, Record, Talk};

/// The most that is kept of one line, in bytes: four for each character that is read, and one more to see that it is
/// too long.
pub const BYTES_AT_MOST: usize = 4 * super::language::CHARS_AT_MOST + 4;

/// The clock a live run goes by.
pub trait Hours {
    /// Now.
    fn now(&self) -> Moment;
    /// How long to wait until `tick`.
    fn until(&self, tick: Tick) -> Duration;
}

/// Leads a run in lines until it is closed, the person leaves, or the input ends; the run can be resumed then.
///
/// # Errors
///
/// If the lines cannot be written out. What was recorded is on the disk all the same.
pub fn live(
    talk: &mut Talk,
    hours: &dyn Hours,
    record: &mut dyn Record,
    first: &[Cue],
    input: impl BufRead + Send + 'static,
    out: &mut dyn Write,
) -> io::Result<()> {
    let first: Vec<String> = first.iter().map(Cue::to_string).collect();
    live_led(&mut One { talk, record }, hours, &first, input, out)
}

/// The same for whatever is led in lines.
pub(crate) fn live_led(
    led: &mut dyn Led,
    hours: &dyn Hours,
    first: &[String],
    input: impl BufRead + Send + 'static,
    out: &mut dyn Write,
) -> io::Result<()> {
    let (tell, heard) = sync_channel(16);
    // The thread ends with the input, or with the program: a read that waits for a person cannot be called off.
    thread::spawn(move || read_lines(input, &tell));
    write_lines(out, first)?;
    write_lines(out, &led.opening(hours.now()))?;
    while !led.is_over() {
        match next_line(led, hours, &heard) {
            Some(Heard::Line(line)) => write_lines(out, &led.hear(&line, hours.now()))?,
            Some(Heard::End) => break,
            None => write_lines(out, &led.due(hours.now().tick))?,
        }
    }
    if !led.is_over() {
        write(out, &[Cue::new("LEFT", "The input has ended. The run can be resumed; its clocks go on.")])?;
    }
    Ok(())
}

/// What came of waiting.
enum Heard {
    Line(String),
    End,
}

/// The next line; `None` if something is due first.
fn next_line(led: &dyn Led, hours: &dyn Hours, heard: &Receiver<String>) -> Option<Heard> {
    let Some(due) = led.next_due() else {
        return Some(heard.recv().map_or(Heard::End, Heard::Line));
    };
    match heard.recv_timeout(hours.until(due)) {
        Ok(line) => Some(Heard::Line(line)),
        Err(RecvTimeoutError::Disconnected) => Some(Heard::End),
        Err(RecvTimeoutError::Timeout) => None,
    }
}

/// Reads lines until the input ends or nobody listens any more.
pub(crate) fn read_lines(mut input: impl BufRead, tell: &SyncSender<String>) {
    let mut line: Vec<u8> = Vec::new();
    loop {
        let Ok(piece) = input.fill_buf() else { return };
        if piece.is_empty() {
            if !line.is_empty() {
                let _ = tell.send(text(&line));
            }
            return;
        }
        let end = piece.iter().position(|byte| *byte == b'\n');
        let taken = end.unwrap_or(piece.len());
        let room = BYTES_AT_MOST.saturating_sub(line.len());
        line.extend_from_slice(&piece[..taken.min(room)]);
        input.consume(end.map_or(taken, |end| end + 1));
        if end.is_some() {
            if tell.send(text(&line)).is_err() {
                return;
            }
            line.clear();
        }
    }
}

/// A line as text; bytes that are none become the sign for that, and the line is refused for it.
fn text(line: &[u8]) -> String {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    String::from_utf8_lossy(line).into_owned()
}

/// Every cue at once, so that a listener never waits for half an answer.
pub(crate) fn write(out: &mut dyn Write, cues: &[Cue]) -> io::Result<()> {
    write_lines(out, &cues.iter().map(Cue::to_string).collect::<Vec<_>>())
}

/// Every line at once, for the same reason.
pub(crate) fn write_lines(out: &mut dyn Write, lines: &[String]) -> io::Result<()> {
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    out.write_all(text.as_bytes())?;
    out.flush()
}

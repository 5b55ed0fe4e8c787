//! The cue log on the disk.
//!
//! Here: adding lines to the file, on a thread of its own. Not here: what a line says (`voice::log`).
//!
//! **Invariant:** a file that cannot be written, or takes for ever, stops nobody; it is said once.

use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::PathBuf;
use std::sync::mpsc::{self, Receiver, Sender, SyncSender, TrySendError};
use std::time::Duration;

use serde::Serialize;
use voice::log::Entry;

use super::work::Message;

/// Lines that may wait for a slow disk.
const WAITING_AT_MOST: usize = 4_096;
/// How long the end waits for the last lines.
const LAST_LINES: Duration = Duration::from_millis(40);

/// A line: the entry, and when on the wall clock it was due.
#[derive(Serialize)]
struct Line<'a> {
    #[serde(flatten)]
    entry: &'a Entry,
    wall: String,
}

/// Where lines go.
pub struct LogFile {
    lines: Option<SyncSender<String>>,
    is_done: Receiver<()>,
    tell: Sender<Message>,
}

impl LogFile {
    /// Adds to this file.
    pub fn open(file: PathBuf, tell: Sender<Message>) -> Self {
        let (lines, coming) = mpsc::sync_channel::<String>(WAITING_AT_MOST);
        let (done, is_done) = mpsc::channel();
        let told = tell.clone();
        let work = move || {
            let fault = |why: std::io::Error| format!("the cue log {} cannot be written: {why}", file.display());
            let written = OpenOptions::new().append(true).create(true).open(&file).and_then(|mut file| {
                for line in coming {
                    // In one piece, so that two programs may add to one file.
                    file.write_all(line.as_bytes())?;
                }
                Ok(())
            });
            if let Err(why) = written {
                let _ = told.send(Message::LogLost(fault(why)));
            }
            let _ = done.send(());
        };
        let thread = std::thread::Builder::new().name("cue log".to_owned()).spawn(work);
        if let Err(why) = &thread {
            let _ = tell.send(Message::LogLost(format!("the cue log cannot be written: {why}")));
        }
        Self { lines: thread.is_ok().then_some(lines), is_done, tell }
    }

    /// Adds an entry. Never waits.
    pub fn add(&mut self, entry: &Entry, wall: String) {
        let Some(lines) = &self.lines else { return };
        let Ok(mut line) = serde_json::to_string(&Line { entry, wall }) else { return };
        line.push('\n');
        match lines.try_send(line) {
            Ok(()) => {}
            // Whoever has gone has said why.
            Err(TrySendError::Disconnected(_)) => self.lines = None,
            Err(TrySendError::Full(_)) => {
                self.lines = None;
                let _ = self.tell.send(Message::LogLost("the cue log is not taken by its disk".to_owned()));
            }
        }
    }
}

impl Drop for LogFile {
    fn drop(&mut self) {
        if self.lines.take().is_some() {
            let _ = self.is_done.recv_timeout(LAST_LINES);
        }
    }
}

//! A bench in lines, live or from a script: streams and exit codes.
//!
//! Not here: what a line means.

use std::fs;
use std::io::{self, BufReader};
use std::path::Path;
use std::process::ExitCode;

use engine::{Event, Moment, Tick};
use procedure::ReadingId;

use super::plain;
use super::sample::{BenchTalk, SampleRecord, Several};
use super::script::{Script, Stopped, play_led};
use super::{Cue, NotKept};
use crate::rim::cli::Failure;
use crate::rim::clock::Timepiece;
use crate::rim::sample::Shelf;

impl SampleRecord for Shelf {
    fn begin(&mut self, run: usize, at: Moment) -> Result<String, NotKept> {
        Ok(Shelf::begin(self, run, at)?)
    }
    fn add(&mut self, check_of: usize, name: &str, at: Moment) {
        self.add_check(check_of, name.to_owned(), at);
    }
    fn keep(&mut self, run: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Result<u64, NotKept> {
        Ok(Shelf::keep(self, run, event, at, corrected)?)
    }
    fn move_to(&mut self, folder: &str, at: Moment) -> Result<(String, u64), NotKept> {
        Shelf::move_to(self, folder, at)?;
        Ok((self.data().display().to_string(), 0))
    }
    fn retry(&mut self) -> Result<u64, NotKept> {
        Shelf::retry(self, 0)?;
        Ok(self.n_kept_in_all())
    }
    fn own_trouble(&mut self) -> Option<NotKept> {
        self.mend_ledger().map(NotKept::from)
    }
    fn finish(&mut self, at: Moment) {
        self.close(at);
    }
}

/// Leads a bench in lines from the standard input. `said` is what is said about a resume.
pub(crate) fn lead_sample(
    mut bench: BenchTalk,
    mut shelf: Shelf,
    timepiece: &Timepiece,
    said: Option<String>,
) -> Result<(ExitCode, Shelf), Failure> {
    let mut first: Vec<Cue> = Vec::new();
    first.extend(timepiece.said().map(|said| Cue::new("SIMULATED", said)));
    first.extend(said.map(|said| Cue::new("RESUMED", said)));
    let first: Vec<String> = first.iter().map(Cue::to_string).collect();
    let mut out = io::stdout().lock();
    let last = timepiece.tick();
    let mut led = Several { bench: &mut bench, record: &mut shelf, last };
    let outcome = plain::live_led(&mut led, timepiece, &first, BufReader::new(io::stdin()), &mut out);
    drop(out);
    match outcome {
        // Whoever reads the lines has gone: nothing more can be said to anybody, and everything is on the disk.
        Err(why) if why.kind() == io::ErrorKind::BrokenPipe => {}
        Err(why) => return Err(Failure::refused(format!("cannot write: {why}"), "The sample can be resumed.")),
        Ok(()) => {}
    }
    Ok((ExitCode::SUCCESS, shelf))
}

/// Plays a script against a bench.
pub(crate) fn play_sample(
    path: &Path,
    script: &Script,
    mut bench: BenchTalk,
    mut shelf: Shelf,
    last: Tick,
    said: Option<String>,
) -> Result<(ExitCode, Shelf), Failure> {
    let mut out = io::stdout().lock();
    let mut first = vec![Cue::new("SIMULATED", super::keep::SIMULATED)];
    first.extend(said.map(|said| Cue::new("RESUMED", said)));
    let outcome = plain::write(&mut out, &first).map_err(Stopped::from).and_then(|()| {
        let mut led = Several { bench: &mut bench, record: &mut shelf, last };
        play_led(script, &mut led, &mut out)
    });
    drop(out);
    match outcome {
        Ok(()) => Ok((ExitCode::SUCCESS, shelf)),
        Err(Stopped::Faulty(faulty)) => Err(Failure::refused(
            format!("{}, {faulty}", path.display()),
            "Mend the script, or find out what has changed.",
        )),
        Err(Stopped::Output(why)) if why.kind() == io::ErrorKind::BrokenPipe => Ok((ExitCode::SUCCESS, shelf)),
        Err(Stopped::Output(why)) => {
            Err(Failure::refused(format!("cannot write: {why}"), "The sample can be resumed."))
        }
    }
}

/// The text of a script.
pub(crate) fn script_text(path: &Path) -> Result<String, Failure> {
    fs::read_to_string(path).map_err(|why| {
        Failure::refused(
            format!("cannot read the script {}: {why}", path.display()),
            "Check the name of the file, that you may read it, and that it is UTF-8 text.",
        )
    })
}

//! The commands that speak in lines: `run` and `resume` with `--plain` or `--script`.
//!
//! Here: streams and exit codes. Not here: what a line means.

use std::fs;
use std::io::{self, BufReader};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use engine::{Run, Tick};
use quantity::{System, Ties};

use super::script::{Script, Stopped, play};
use super::{Cue, NotKept, Talk, plain};
use crate::rim::cli::Failure;
use crate::rim::clock::Timepiece;
use crate::rim::lapse::count_began;
use crate::rim::library::Found;
use crate::rim::store::Keeper;

impl From<NotKept> for Failure {
    fn from(why: NotKept) -> Self {
        Failure::store(why.what, why.hint)
    }
}

/// A new run from a script. The script says when it starts; `system` and `ties` hold where it says nothing.
///
/// # Errors
///
/// [`Failure`] if the script is faulty, came out otherwise than it expects, or its record cannot be kept.
pub fn run_script(
    path: &Path,
    found: &Found,
    system: Option<System>,
    ties: Ties,
    data: PathBuf,
) -> Result<ExitCode, Failure> {
    let script =
        Script::read(&text_of(path)?).map_err(|why| Failure::refused(format!("{}, {why}", path.display()), HINT))?;
    if let Some(method) = script.head.method.as_ref().filter(|method| **method != found.id()) {
        return Err(Failure::refused(
            format!("{} is a script for {method}", path.display()),
            format!("pourside run {method} --script {}", path.display()),
        ));
    }
    let (talk, keeper) = script.open(found, system, ties, data)?;
    played(path, &script, talk, keeper, &[])
}

/// A run in lines: live, or on from where it stands with a script. `said` is what is said about a resume.
///
/// # Errors
///
/// [`Failure`] if the script is faulty or came out otherwise than it expects, or something is not on the disk.
pub fn lead(
    mut keeper: Keeper,
    run: Run,
    timepiece: &Timepiece,
    script: Option<&Path>,
    said: Option<String>,
) -> Result<ExitCode, Failure> {
    if script.is_some() && !timepiece.is_simulated() {
        return Err(Failure::refused(
            "this run is in real time, and a script brings times of its own",
            "Go on with it live; a script only goes on with a run that a script or simulated time began.",
        ));
    }
    let now = timepiece.now();
    let mut first: Vec<Cue> = Vec::new();
    first.extend(timepiece.said().map(|said| Cue::new("SIMULATED", said)));
    first.extend(said.map(|said| Cue::new("RESUMED", said)));
    if let Some(trouble) = keeper.trouble() {
        first.push(Cue::new(
            "NOT-RECORDED",
            format!("{}. {} To try again: retry. In another folder: folder PATH", trouble.what, trouble.hint),
        ));
    }
    let mut talk = Talk::new(run, now);
    if let Some(path) = script {
        let text = text_of(path)?;
        let (opened, from) = (count_began(talk.run().opened()), Tick(now.tick.0));
        let script = Script::read_on(&text, opened, from)
            .map_err(|why| Failure::refused(format!("{}, {why}", path.display()), HINT))?;
        return played(path, &script, talk, keeper, &first);
    }
    let mut out = io::stdout().lock();
    let led = plain::live(&mut talk, timepiece, &mut keeper, &first, BufReader::new(io::stdin()), &mut out);
    drop(out);
    match led {
        // Whoever reads the lines has gone: nothing more can be said to anybody, and everything is on the disk.
        Err(why) if why.kind() == io::ErrorKind::BrokenPipe => {}
        Err(why) => return Err(Failure::refused(format!("cannot write: {why}"), "The run can be resumed.")),
        Ok(()) => {}
    }
    ended(keeper)
}

const HINT: &str = "The form of scripts is described in crates/coach/LINES.md.";

fn text_of(path: &Path) -> Result<String, Failure> {
    fs::read_to_string(path).map_err(|why| {
        Failure::refused(
            format!("cannot read the script {}: {why}", path.display()),
            "Check the name of the file, that you may read it, and that it is UTF-8 text.",
        )
    })
}

fn played(
    path: &Path,
    script: &Script,
    mut talk: Talk,
    mut keeper: Keeper,
    first: &[Cue],
) -> Result<ExitCode, Failure> {
    let mut out = io::stdout().lock();
    let outcome = plain::write(&mut out, first)
        .map_err(Stopped::from)
        .and_then(|()| play(script, &mut talk, &mut keeper, &mut out));
    drop(out);
    match outcome {
        Ok(()) => ended(keeper),
        Err(Stopped::Faulty(faulty)) => Err(Failure::refused(
            format!("{}, {faulty}", path.display()),
            "Mend the script, or find out what has changed.",
        )),
        Err(Stopped::Output(why)) if why.kind() == io::ErrorKind::BrokenPipe => ended(keeper),
        Err(Stopped::Output(why)) => Err(Failure::refused(format!("cannot write: {why}"), "The run can be resumed.")),
    }
}

/// What is not on the disk by now is tried once more; if it cannot be, the whole has failed and it is printed.
fn ended(mut keeper: Keeper) -> Result<ExitCode, Failure> {
    if keeper.trouble().is_some()
        && let Err(trouble) = keeper.retry()
    {
        return Err(Failure::on_no_disk(&keeper, &trouble));
    }
    Ok(ExitCode::SUCCESS)
}

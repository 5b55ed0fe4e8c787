//! The sheet of a sample, from its records.
//!
//! Here: reading the sample's file and the journals of its runs, and handing them to [`crate::report::sample`]. Not
//! here: what stands on the sheet and how it looks.
//!
//! **Invariant:** nothing on the disk is changed.

use std::fmt::Write as _;
use std::path::Path;

use bench::site;
use bench::verdict;
use sheet::Sheet;

use super::cli::{Failure, Format};
use super::clock;
use super::sample_command;
use super::sample_record::{Purpose, SampleLine, SampleOpening, Test, load_sample, runs_that_belong, sample_stamp};
use super::store::{self, Loaded, Named};
use crate::report::sample::{Member, Source};

/// The sheet in a form.
///
/// # Errors
///
/// [`Failure`] if nothing is due later, so that a calendar would be empty.
pub fn render(whole: &Whole, format: Format) -> Result<Vec<u8>, Failure> {
    let sheet = whole.sheet();
    Ok(match format {
        Format::Text => sheet::text(&sheet).into_bytes(),
        Format::Json => sheet::json(&sheet).into_bytes(),
        Format::Csv => sheet::csv(&sheet).into_bytes(),
        Format::Html => sheet::html(&sheet).into_bytes(),
        Format::Pdf => sheet::pdf(&sheet),
        Format::Svg => sheet::svg(&sheet).into_bytes(),
        Format::Ics => {
            let calendar = sheet::ics(&sheet, &whole.stamp())
                .map_err(|why| Failure::refused(format!("no calendar can be made: {why}"), ""))?;
            let none = || {
                Failure::refused(
                    "nothing is due later, so there is no calendar",
                    "Specimens bring their dates when they are moulded.",
                )
            };
            calendar.ok_or_else(none)?.into_bytes()
        }
    })
}

/// Whether a sample's own file and the journals of all its runs are sound, in words.
///
/// # Errors
///
/// [`Failure`] if the sample's file cannot be read; what is wrong with a run stands in the text.
pub fn verified(data: &Path, named: &Named) -> Result<(String, bool), Failure> {
    let sample = load_sample(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let mut text = format!("{}: sound.\n{} lines, each chained to the one before.\n", named.name, sample.lines.len());
    let mut is_sound = sample.torn.as_ref().is_none_or(|torn| !torn.complete_line);
    if !is_sound {
        text.push_str("A whole last line after them is damaged.\n");
    }
    for run in runs_that_belong(data, &sample.opening.sample).iter().rev() {
        let outcome = match store::load(&run.path) {
            Ok(loaded) if loaded.torn.as_ref().is_some_and(|torn| torn.complete_line) => {
                is_sound = false;
                "a whole last line is damaged".to_owned()
            }
            Ok(loaded) => format!("sound, {} lines, last sum {}", loaded.lines.len(), loaded.last_sum),
            Err(why) => {
                is_sound = false;
                format!("NOT sound: {why}")
            }
        };
        // Writing to memory cannot fail.
        let _ = writeln!(text, "  {}: {outcome}", run.name);
    }
    Ok((text, is_sound))
}

/// Every line of a sample's own file in words; what happened in its runs stands in their journals.
///
/// # Errors
///
/// [`Failure`] if it cannot be read.
pub fn shown(data: &Path, named: &Named) -> Result<String, Failure> {
    let sample = load_sample(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let mut text = format!("Sample {}\n", named.name);
    for line in &sample.lines {
        let words = match line {
            SampleLine::Opened(opening) => {
                let tests: Vec<&str> = opening.tests.iter().map(|test| test.name.as_str()).collect();
                let site = opening.site.as_ref().map_or(String::new(), |site| format!(", site file {}", site.file));
                format!("opened in {} units: {}{site}", opening.system, tests.join(", "))
            }
            SampleLine::Run { test, run, purpose, .. } => format!("{test} begun ({purpose}): {run}"),
            SampleLine::Added { test, .. } => format!("{} added ({})", test.name, test.purpose),
            SampleLine::Resumed(resumed) => format!("taken up again after {}", clock::lasted(resumed.gap_ms)),
            SampleLine::Remark { text, .. } => format!("remark: {text}"),
            SampleLine::Closed { .. } => "every test begun is closed".to_owned(),
            SampleLine::Moved { from, .. } => format!("recorded in another folder, before in {from}"),
        };
        let _ = writeln!(text, "{}  {words}", sample_stamp(line).at);
    }
    if let Some(torn) = &sample.torn {
        let _ = writeln!(text, "{} bytes after them were never a whole line.", torn.bytes.len());
    }
    let belonging = runs_that_belong(data, &sample.opening.sample);
    let _ =
        writeln!(text, "Runs: {}", belonging.iter().rev().map(|run| run.name.as_str()).collect::<Vec<_>>().join(", "));
    Ok(text)
}

fn unreadable(path: &Path, why: &store::LoadError) -> Failure {
    Failure::refused(format!("cannot read {}: {why}", path.display()), why.hint())
}

/// A sample read back with all its runs.
#[derive(Debug)]
pub struct Whole {
    opening: SampleOpening,
    site: Option<site::Site>,
    tests: Vec<(Test, std::sync::Arc<procedure::Edition>, Option<Loaded>)>,
}

impl Whole {
    /// Reads the sample called `named` in the data folder `data`.
    ///
    /// # Errors
    ///
    /// [`Failure`] if its file or one of its runs cannot be read: nothing is left out of a sheet silently.
    pub fn read(data: &Path, named: &Named) -> Result<Self, Failure> {
        let sample = load_sample(&named.path).map_err(|why| unreadable(&named.path, &why))?;
        let belonging = runs_that_belong(data, &sample.opening.sample);
        let site = sample.opening.site.as_ref().and_then(|site| site::check(&site.file, &site.text).site);
        let mut loaded_runs: Vec<Loaded> = Vec::new();
        for run in &belonging {
            loaded_runs.push(store::load(&run.path).map_err(|why| unreadable(&run.path, &why))?);
        }
        let mut tests = Vec::new();
        for test in sample.tests() {
            let of_test = |loaded: &Loaded| loaded.opening.sample.as_ref().is_some_and(|of| of.test == test.name);
            let loaded = loaded_runs.iter().position(of_test).map(|at| loaded_runs.swap_remove(at));
            let edition = match &loaded {
                Some(loaded) => std::sync::Arc::clone(&loaded.edition),
                None => sample_command::chosen(&sample.opening, &test)?.edition,
            };
            tests.push((test, edition, loaded));
        }
        Ok(Self { opening: sample.opening, site, tests })
    }

    /// A run that belongs to no sample, as a sample of one test.
    pub fn of_run(loaded: Loaded) -> Self {
        let run = &loaded.opening;
        let opening = SampleOpening {
            sample_record: super::sample_record::SAMPLE,
            sample: run.run.clone(),
            tests: Vec::new(),
            system: run.system,
            ties: run.ties,
            tool: run.tool.clone(),
            simulated: run.simulated.clone(),
            speed: run.speed,
            opened: run.opened.clone(),
            boot: run.boot.clone(),
            steady_ms: run.steady_ms,
            site: None,
        };
        let test = Test { name: run.procedure.clone(), method: run.procedure.clone(), purpose: Purpose::default() };
        let edition = std::sync::Arc::clone(&loaded.edition);
        Self { opening, site: None, tests: vec![(test, edition, Some(loaded))] }
    }

    /// Its sheet.
    pub fn sheet(&self) -> Sheet {
        let members: Vec<Member<'_>> = self
            .tests
            .iter()
            .map(|(test, edition, loaded)| Member {
                name: &test.name,
                purpose: match test.purpose {
                    Purpose::Preliminary => verdict::Purpose::Preliminary,
                    Purpose::Acceptance | Purpose::CheckOf(_) => verdict::Purpose::Acceptance,
                },
                check_of: match &test.purpose {
                    Purpose::CheckOf(name) => Some(name),
                    Purpose::Acceptance | Purpose::Preliminary => None,
                },
                edition,
                loaded: loaded.as_ref(),
            })
            .collect();
        let (tool, version) = self.opening.tool.split_once(' ').unwrap_or((&self.opening.tool, ""));
        crate::report::sample::sheet(&Source {
            sample: &self.opening.sample,
            system: self.opening.system,
            simulated: self.opening.simulated.as_deref(),
            opened: self.opening.opened.moment().unwrap_or_default(),
            site: self.site.as_ref(),
            members: &members,
            tool,
            version,
        })
    }

    /// The moment that stands in a calendar as that of its making: the last on record, so that the same record gives the
    /// same bytes.
    pub fn stamp(&self) -> String {
        let last = self.tests.iter().filter_map(|(_, _, loaded)| loaded.as_ref()).map(|loaded| loaded.last().wall);
        let opened = self.opening.opened.moment().unwrap_or_default().wall;
        clock::rfc3339(last.max_by_key(|wall| wall.unix_ms).unwrap_or(opened))
    }
}

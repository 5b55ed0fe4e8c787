//! The report of a run: what it says, in one place, and three forms of it.
//!
//! Here: [`Report`], computed from the journal of a run by replay; as text for a printed page ([`text`]), as JSON
//! ([`json`]) and as CSV ([`csv`]). Not here: reading files.
//!
//! **Invariant:** nothing in a report is typed in or guessed: every figure is a reading, a moment or a result of the
//! run, or stands in its procedure. What is missing is said to be missing.

mod attempts;
pub mod csv;
pub mod json;
mod log;
pub mod sample;
pub mod text;

use engine::{FindingKind, Moment, Phase, Run, Tick, Wall};
use procedure::{Between, Beyond};
use serde::Serialize;

use crate::line::{finding_text, rounding_text};
use crate::rim::clock;
use crate::rim::store::{Gap, Line, Loaded, Opening, Stamp};

pub use attempts::{Attempt, Counted, Ended, Lasted, Read, Round, SetRead};
pub use log::Act;

/// The version of the JSON form.
pub const SCHEMA: &str = "pourside-report/1";

/// What a report is computed from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The first line of the journal.
    pub opening: &'a Opening,
    /// The run, replayed.
    pub run: &'a Run,
    /// All lines of the journal.
    pub lines: &'a [Line],
    /// The checksum of the last one.
    pub last_sum: &'a str,
    /// What was cut off at the end of the file, in words.
    pub torn: Option<&'static str>,
}

impl<'a> From<&'a Loaded> for Source<'a> {
    fn from(loaded: &'a Loaded) -> Self {
        let torn = loaded.torn.as_ref().map(|torn| match torn.complete_line {
            true => "the last entry was damaged and is set aside",
            false => "an entry that had not been recorded was cut off at the end",
        });
        let Loaded { opening, run, lines, last_sum, .. } = loaded;
        Self { opening, run, lines, last_sum, torn }
    }
}

/// The report of a run on record, as a printed page.
pub fn as_text(loaded: &Loaded) -> String {
    text::render(&Report::new(&Source::from(loaded)))
}

/// The report of a run on record, for programs.
pub fn as_json(loaded: &Loaded) -> String {
    json::render(&Report::new(&Source::from(loaded)))
}

/// The report of a run on record, for a spreadsheet.
pub fn as_csv(loaded: &Loaded) -> String {
    csv::render(&Report::new(&Source::from(loaded)))
}

/// Everything a report says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Report {
    /// [`SCHEMA`].
    pub schema: &'static str,
    /// How far the run came.
    pub standing: Standing,
    /// The words for it if time was not real.
    pub simulated: Option<String>,
    /// The method.
    pub method: Method,
    /// When the run was opened.
    pub opened: Time,
    /// When the last act was taken.
    pub last_act: Time,
    /// What is reported.
    pub results: Vec<Outcome>,
    /// Tables of the standard, and what they give between and beyond their rows.
    pub tables: Vec<TableNote>,
    /// Attempt after attempt.
    pub attempts: Vec<Attempt>,
    /// What the rules say about what was done.
    pub findings: Vec<Noted>,
    /// Readings corrected afterwards.
    pub corrections: Vec<Correction>,
    /// Remarks.
    pub remarks: Vec<Noted>,
    /// How many acts were taken back.
    pub taken_back: usize,
    /// Figures of the procedure that are recalled and have not been compared with the standard.
    pub from_memory: Vec<String>,
    /// The record behind the report.
    pub record: Record,
    /// Everything that happened, act by act.
    pub acts: Vec<Act>,
}

/// How far a run came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// There is a result.
    Finished,
    /// Closed without a result.
    WithoutResult,
    /// Still going on, or left.
    NotFinished,
}

/// The method of a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Method {
    /// The procedure's id.
    pub procedure: String,
    /// In words.
    pub title: String,
    /// The version its author gave it.
    pub version: String,
    /// SHA-256 of the procedure's text.
    pub sha256: String,
    /// The unit system.
    pub system: String,
    /// The standards it follows.
    pub basis: Vec<Basis>,
    /// What comes before relying on it.
    pub notice: Option<String>,
}

/// A standard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Basis {
    /// Its designation.
    pub designation: String,
    /// Its edition, and what of it was seen.
    pub edition: Option<String>,
}

/// A moment.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Time {
    /// RFC 3339, with offset and milliseconds.
    pub at: String,
    /// Milliseconds since the run was opened, on the steady clock limits are judged by.
    pub run_ms: u64,
    #[serde(skip)]
    wall: Wall,
}

/// A result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Outcome {
    /// Its name in the procedure.
    pub id: String,
    /// In words.
    pub title: String,
    /// The value as reported.
    pub value: String,
    /// Its unit.
    pub unit: String,
    /// The sum before rounding, exact: a decimal, or a fraction where none ends.
    pub exact: String,
    /// The same as a person reads it.
    #[serde(skip)]
    exact_shown: String,
    /// What it was rounded to the nearest of.
    pub nearest: String,
    /// Where a half goes: `even` or `up`.
    pub ties: String,
    /// The rule in words.
    pub rounding: String,
    /// Its terms.
    pub terms: Vec<Term>,
}

/// A term of a result.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Term {
    /// `+` or `-`.
    pub sign: char,
    /// What it is.
    pub label: String,
    /// Its value, exact: a decimal, or a fraction where none ends.
    pub value: String,
    /// The same as a person reads it.
    #[serde(skip)]
    shown: String,
    /// Its unit.
    pub unit: String,
}

/// What a table gives outside its rows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TableNote {
    /// Its name in the procedure.
    pub id: String,
    /// What it gives.
    pub title: String,
    /// Between two rows.
    pub between: &'static str,
    /// Below the first.
    pub below: &'static str,
    /// Beyond the last.
    pub beyond: &'static str,
}

/// A finding or a remark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Noted {
    /// When.
    pub time: Time,
    /// In which attempt; none for a remark.
    pub attempt: Option<u16>,
    /// At which step.
    pub step: String,
    /// What kind: `rule`, `late`, `turned-too-long`, `too-long`, `overruled`, `remark`.
    pub kind: &'static str,
    /// In words.
    pub text: String,
}

/// A correction.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Correction {
    /// When.
    pub time: Time,
    /// The reading.
    pub reading: String,
    /// What was on record before.
    pub from: String,
    /// What is on record now.
    pub to: String,
    /// Why.
    pub because: String,
    /// The step the run went back to, if the corrected value leads another way.
    pub back_to: Option<String>,
}

/// The record behind a report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Record {
    /// The run's name.
    pub run: String,
    /// The program and its version.
    pub tool: String,
    /// Entries in the journal.
    pub entries: u64,
    /// The checksum of the last.
    pub last_sum: String,
    /// What was cut off at the end of the journal.
    pub torn: Option<String>,
    /// When the run was taken up again after it was left, or its record moved to another folder.
    pub resumed: Vec<String>,
}

impl Time {
    fn of(moment: Moment) -> Self {
        Self { at: clock::rfc3339(moment.wall), run_ms: moment.tick.0, wall: moment.wall }
    }

    /// The time of day: `07:44:10`.
    pub fn clock(&self) -> String {
        clock_time(self.wall)
    }
}

impl Report {
    /// Computes the report of a run.
    pub fn new(source: &Source<'_>) -> Self {
        let Source { opening, run, lines, .. } = *source;
        let edition = run.edition();
        let acts = log::acts(source);
        let findings = run.findings().iter().filter_map(|finding| {
            let kind = match &finding.what {
                FindingKind::Rule { .. } => "rule",
                FindingKind::Late { .. } => "late",
                FindingKind::DownTooLong { .. } => "turned-too-long",
                FindingKind::HeldTooLong { .. } => "too-long",
                FindingKind::Overruled { .. } => "overruled",
                FindingKind::Corrected { .. } => return None,
            };
            Some(Noted {
                time: Time::of(finding.at),
                attempt: Some(finding.attempt),
                step: edition.step(finding.step).id.clone(),
                kind,
                text: finding_text(run, finding),
            })
        });
        let corrections = run.findings().iter().filter_map(|finding| match &finding.what {
            FindingKind::Corrected { reading, from, to, reason, back_to, .. } => Some(Correction {
                time: Time::of(finding.at),
                reading: edition.reading(*reading).id.clone(),
                from: from.clone(),
                to: to.clone(),
                because: reason.clone(),
                back_to: back_to.map(|step| edition.step(step).id.clone()),
            }),
            _ => None,
        });
        Self {
            schema: SCHEMA,
            standing: match run.phase() {
                Phase::Finished | Phase::Closed { with_result: true } => Standing::Finished,
                Phase::Closed { with_result: false } => Standing::WithoutResult,
                Phase::AtStep | Phase::Ended => Standing::NotFinished,
            },
            simulated: opening.simulated.clone(),
            method: method(source),
            opened: Time::of(run.opened()),
            last_act: Time::of(run.last()),
            results: run.results().iter().map(outcome).collect(),
            tables: edition.tables.iter().map(table_note).collect(),
            attempts: attempts::attempts(run),
            findings: findings.collect(),
            corrections: corrections.collect(),
            remarks: run
                .remarks()
                .iter()
                .map(|remark| Noted {
                    time: Time::of(remark.at),
                    attempt: None,
                    step: edition.step(remark.step).id.clone(),
                    kind: "remark",
                    text: remark.text.clone(),
                })
                .collect(),
            taken_back: acts.iter().filter(|act| act.taken_back).count(),
            from_memory: from_memory(run),
            record: Record {
                run: opening.run.clone(),
                tool: opening.tool.clone(),
                entries: lines.len() as u64,
                last_sum: source.last_sum.to_owned(),
                torn: source.torn.map(str::to_owned),
                resumed: lines.iter().filter_map(resumed).collect(),
            },
            acts,
        }
    }
}

fn method(source: &Source<'_>) -> Method {
    let Source { opening, run, .. } = *source;
    let edition = run.edition();
    Method {
        procedure: edition.id.clone(),
        title: edition.title.clone(),
        version: edition.version.clone(),
        sha256: opening.procedure_sha256.clone(),
        system: edition.system.to_string(),
        basis: edition
            .basis
            .iter()
            .map(|basis| Basis { designation: basis.designation.clone(), edition: basis.edition.clone() })
            .collect(),
        notice: edition.notice.clone(),
    }
}

fn outcome(outcome: &engine::Outcome<'_>) -> Outcome {
    let reported = &outcome.reported;
    let unit = reported.unit.to_string();
    let places = reported.increment.decimal_places();
    Outcome {
        id: outcome.id.to_owned(),
        title: outcome.title.to_owned(),
        value: places.map_or_else(|| reported.rounded.show_exact(), |places| reported.rounded.show(places)),
        exact: reported.exact.show_exact(),
        exact_shown: reported.exact.show_short(),
        nearest: reported.increment.show_exact(),
        ties: reported.ties.to_string(),
        rounding: rounding_text(reported),
        terms: outcome
            .terms
            .iter()
            .map(|term| Term {
                sign: term.term.sign,
                label: term.term.label.clone(),
                value: term.value.show_exact(),
                shown: term.value.show_short(),
                unit: unit.clone(),
            })
            .collect(),
        unit,
    }
}

fn table_note(table: &procedure::Table) -> TableNote {
    let beyond = |beyond: Beyond| match beyond {
        Beyond::Hold => "as the outermost row",
        Beyond::Refuse => "nothing is stated",
    };
    TableNote {
        id: table.id.clone(),
        title: table.title.clone(),
        between: match table.between {
            Between::Interpolate => "on a straight line between two rows",
            Between::RowBelow => "as the row below",
            Between::RowAbove => "as the row above",
            Between::Refuse => "only the rows themselves",
        },
        below: beyond(table.below),
        beyond: beyond(table.beyond),
    }
}

/// The figures whose only source, or one of whose sources, is memory.
fn from_memory(run: &Run) -> Vec<String> {
    let edition = run.edition();
    let memory = edition.sources.iter().position(|source| source.id == "memory");
    edition
        .figures
        .iter()
        .filter(|figure| figure.cites.iter().any(|cite| Some(usize::from(cite.source)) == memory))
        .map(|figure| figure.id.replace('_', " "))
        .collect()
}

fn resumed(line: &Line) -> Option<String> {
    match line {
        Line::Resumed(resumed) => {
            let after = clock::lasted(resumed.gap_ms);
            let how = match resumed.how {
                Gap::SameBoot => format!("after {after}, by the steady clock"),
                Gap::WallClock => format!("after {after}, by the wall clock"),
                Gap::Unknown => "after an unknown time: the wall clock stood before the last entry".to_owned(),
                Gap::Simulated => "simulated time stood still".to_owned(),
            };
            Some(format!("resumed {}, {how}", resumed.at.at))
        }
        Line::Moved { at, from } => Some(format!("recorded in another folder since {}, before in {from}", at.at)),
        Line::Opened(_) | Line::Happened { .. } => None,
    }
}

/// The moment of a stamp.
fn moment(stamp: &Stamp) -> Moment {
    stamp.moment().unwrap_or(Moment { tick: Tick(stamp.t), ..Moment::default() })
}

/// The time of day in the clock's own offset: `07:44:10`.
pub(crate) fn clock_time(wall: Wall) -> String {
    let text = clock::rfc3339(wall);
    text.get(11..19).map_or(text.clone(), str::to_owned)
}

//! `plan`: whether the chosen tests fit inside their windows, before the truck arrives.
//!
//! Here: choosing the tests as `sample` does, this technician's own past times, and the plan in words and as a timeline.
//! Not here: the search (the crate `plan`), how a procedure is laid out (`bench::planning`).
//!
//! **Invariant:** nothing is written; the same files give the same plan.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use bench::calendar::Date;
use bench::fact::{Fact, Facts};
use bench::planning::{self, BlockKind, Chosen, Durations, Pace, Planner, Timeline};
use bench::site::{Picked, Placed, Sampling, Site};
use engine::Run;
use quantity::{Quantity, System};

use super::cli::{Failure, PlanArgs, PlanPace, SampleArgs, say};
use super::clock;
use super::sample_command;
use super::store;

/// Runs looked at for this technician's own times, at most; the newest first.
const PAST_RUNS: usize = 60;
/// Columns of a timeline in text.
const COLUMNS: usize = 72;

/// `plan`.
pub fn plan(data: Option<&Path>, args: PlanArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let sample = SampleArgs {
        site: args.site,
        tests: args.tests,
        system: args.system,
        ties: None,
        free: super::free::FreeArgs::default(),
        look: args.look,
        script: None,
        simulate: None,
        simulate_from: None,
    };
    let opening = sample_command::plan(&sample, None, &data)?;
    let site = opening.site.as_ref().map(|(_, site)| site);
    let tests = opening.tests.iter().map(|chosen| (chosen.test.name.clone(), std::sync::Arc::clone(&chosen.edition)));
    let durations = own_times(&data, site);
    let mut planner = planner(tests, &expected(site, opening.system), durations);
    planner.hands = usize::from(args.hands);
    planner.pace = match args.pace {
        PlanPace::Typical => Pace::Typical,
        PlanPace::Slow => Pace::Slow,
    };
    let planned = planner.plan().map_err(|fault| {
        Failure::refused(
            format!("no order of work keeps these methods: {fault}"),
            "Check the limits of your own procedures.",
        )
    })?;
    let mut text = planning::explain(&planned).join("\n");
    text.push('\n');
    if !planner.durations.is_empty() {
        // Writing to memory cannot fail.
        let _ = writeln!(text, "The times of {} steps are from your own past runs.", planner.durations.len());
    }
    text.push_str(&drawn(&planning::timeline(&planned), COLUMNS));
    if let Some(sampling) = site.and_then(|site| site.sampling.as_ref()) {
        text.push_str(&samples(sampling, args.volume.as_deref())?);
    }
    say(&text)?;
    Ok(ExitCode::from(u8::from(!planned.told.broken.is_empty())))
}

/// How many samples the specification asks for on a day.
fn samples(sampling: &Sampling, volume: Option<&str>) -> Result<String, Failure> {
    let Some(volume) = volume else {
        let every = sampling.every.as_ref().map(|every| format!("one for each {every} or part of it"));
        let daily = sampling.at_least_per_day.map(|daily| format!("at least {daily} a day"));
        let rules: Vec<String> = every.into_iter().chain(daily).collect();
        let source = sampling.source.as_ref().map_or(String::new(), |source| format!(" ({source})"));
        let rules = rules.join(", ");
        return Ok(if rules.is_empty() { String::new() } else { format!("\nSamples: {rules}{source}.\n") });
    };
    let placed = volume
        .parse::<Quantity>()
        .map_err(|_| Failure::usage(format!("“{volume}” is no volume"), "Write it like --volume \"180 yd³\"."))?;
    let due = sampling.due(&Placed { volume: Some(placed), area: None, days: 1 }).map_err(|why| {
        Failure::usage(
            format!("{volume} cannot be held against the site file: {why}"),
            "Give it in the site file's unit.",
        )
    })?;
    let rules: Vec<String> = due.rules.iter().map(|(rule, n)| format!("{rule}: {n}")).collect();
    let waived = if due.may_be_waived { " The specification lets them be waived for so little." } else { "" };
    Ok(format!("\nSamples for {volume}: {} ({}).{waived}\n", due.samples, rules.join("; ")))
}

/// The planner for the tests of a sample.
pub(super) fn planner(
    tests: impl Iterator<Item = (String, std::sync::Arc<procedure::Edition>)>,
    expected: &BTreeMap<String, String>,
    durations: Durations,
) -> Planner {
    let chosen = tests.map(|(name, edition)| Chosen { expected: expected.clone(), ..Chosen::new(name, edition) });
    let mut planner = Planner::new(chosen.collect());
    planner.durations = durations;
    planner
}

/// The answers that are expected, from what the site file states and proposes.
pub(super) fn expected(site: Option<&Site>, system: System) -> BTreeMap<String, String> {
    let (Some(site), Some(day)) = (site, Date::of(clock::wall_now())) else { return BTreeMap::new() };
    let mut facts: Facts = site.proposals(system);
    facts.extend(site.facts(system, &Picked::on(day)));
    let mut expected: BTreeMap<String, String> = facts
        .into_iter()
        .map(|(name, fact)| {
            let typed = match fact {
                Fact::Words(words) => words,
                Fact::Number { value, .. } => value,
                Fact::Choice(id) => id,
            };
            (name, typed)
        })
        .collect();
    // The slump that is designed is the one to expect.
    if let Some(slump) = expected.get("design-slump").cloned() {
        expected.entry("slump".to_owned()).or_insert(slump);
    }
    expected
}

/// What this technician's own runs took, where at least three of them tell. A run made beside others on a bench counts
/// the time at the others, and a simulated one counts nothing real: neither is looked at.
pub(super) fn own_times(data: &Path, site: Option<&Site>) -> Durations {
    let Some([technician]) = site.map(|site| site.technicians.as_slice()) else { return Durations::default() };
    let runs: Vec<Run> = store::runs(data)
        .unwrap_or_default()
        .iter()
        .take(PAST_RUNS)
        .filter_map(|named| store::load(&named.path).ok())
        .filter(|loaded| loaded.opening.simulated.is_none() && loaded.opening.sample.is_none())
        .filter(|loaded| is_by(&loaded.run, &technician.name))
        .map(|loaded| loaded.run)
        .collect();
    planning::learn(&runs.iter().collect::<Vec<_>>())
}

fn is_by(run: &Run, name: &str) -> bool {
    let edition = run.edition();
    let asked = edition.readings.iter().find(|reading| reading.shared.as_deref() == Some("technician"));
    let taken = asked.and_then(|reading| run.latest(edition.reading_named(&reading.id)?));
    taken.is_some_and(|taken| matches!(&taken.entry, engine::Entry::Words(words) if words == name))
}

/// A timeline in characters.
pub(super) fn drawn(timeline: &Timeline, columns: usize) -> String {
    let span = (timeline.to - timeline.from).max(1);
    let at = |time: i64| {
        let column = (time - timeline.from) * columns as i64 / span;
        usize::try_from(column).unwrap_or(0).min(columns.saturating_sub(1))
    };
    let width = timeline.rows.iter().map(|row| row.name.chars().count()).max().unwrap_or(0);
    let mut axis = vec![' '; columns + 8];
    let step = [60, 120, 300, 600, 1_200, 1_800, 3_600].into_iter().find(|step| span / step <= 9).unwrap_or(7_200);
    let mut tick = timeline.from.div_euclid(step) * step;
    while tick <= timeline.to {
        if tick >= timeline.from {
            let label = (tick / 60).to_string();
            for (n, sign) in label.chars().enumerate() {
                if let Some(cell) = axis.get_mut(at(tick) + n) {
                    *cell = sign;
                }
            }
        }
        tick += step;
    }
    let mut text = String::from("\nMinutes from the last portion:\n");
    let _ = writeln!(text, "{:width$}  {}", "", axis.into_iter().collect::<String>().trim_end());
    for row in &timeline.rows {
        let mut cells = vec![' '; columns];
        for block in &row.blocks {
            let sign = match block.kind {
                BlockKind::Attended => '#',
                BlockKind::Waiting => '-',
            };
            cells[at(block.from)..=at(block.to.max(block.from + 1) - 1).max(at(block.from))].fill(sign);
        }
        for (closes, is_kept) in &row.closes {
            cells[at(*closes)] = if *is_kept { ']' } else { '!' };
        }
        let _ = writeln!(text, "{:width$}  {}", row.name, cells.into_iter().collect::<String>().trim_end());
    }
    text.push_str("# hands on it   - waits without hands   ] window closes, kept   ! window closes, late\n");
    text
}

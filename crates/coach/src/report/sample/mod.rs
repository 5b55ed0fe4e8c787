//! The sheet of a sample: everything its runs and its site file say, filled into one [`sheet::Sheet`].
//!
//! Here: which fact of which run stands where on the sheet, the verdicts, the windows, the labels. What was done when is
//! in `timeline`, what the runs share in `pool`, what a check test means in `check`. Not here: how the sheet looks (the
//! crate `sheet`), reading files.
//!
//! A method is never known by its name here: what belongs on the sheet is found by the names its procedure shares
//! ([`names`]).
//!
//! **Invariant:** nothing on the sheet is typed in or guessed: it is a reading, a moment or a result of a run, or stands
//! in a procedure or in the site file. What is not known stays empty.

mod check;
mod pool;
mod timeline;

use bench::calendar::Date;
use bench::labels;
use bench::papers::{self, Paper, Used};
use bench::site::Site;
use bench::verdict::{self, Purpose};
use engine::{FindingKind, Moment, Phase, Run, Tick};
use procedure::{Edition, EndingKind, StepId};
use quantity::{Exact, Quantity, Reported, Span, System, Ties, Unit};
use sheet::{Kept, Measured, Sheet, Status};

use crate::line::{finding_text, with_unit};
use crate::rim::clock;
use crate::rim::store::Loaded;
use pool::Pool;

/// The names under which procedures share what has a place of its own on the sheet.
pub mod names {
    /// Who tests.
    pub const TECHNICIAN: &str = "technician";
    /// The job.
    pub const JOB: &str = "job";
    /// The sample.
    pub const SAMPLE: &str = "sample";
    /// The truck.
    pub const TRUCK: &str = "truck";
    /// The delivery ticket.
    pub const TICKET: &str = "ticket";
    /// What the sample is for; the answer `preliminary` means that nothing is accepted by it.
    pub const PURPOSE: &str = "sample-purpose";
    /// Water added on the site.
    pub const WATER_ADDED: &str = "water-added";
    /// Held against each other: what it is, the value, the limit.
    pub const DELIVERY: [(&str, &str, &str); 2] = [
        ("Minutes since batching", "delivery-minutes", "delivery-minutes-most"),
        ("Revolutions of the drum", "delivery-revolutions", "delivery-revolutions-most"),
    ];
    /// The weather in words.
    pub const WEATHER: &str = "weather";
    /// The temperature of the air.
    pub const AIR_TEMPERATURE: &str = "air-temperature";
    /// The relative humidity.
    pub const HUMIDITY: &str = "humidity";
    /// The wind.
    pub const WIND: &str = "wind";
    /// The temperature of the concrete.
    pub const CONCRETE_TEMPERATURE: &str = "concrete-temperature";
    /// How fast the surface dries.
    pub const EVAPORATION: &str = "evaporation";
    /// How many specimens were made.
    pub const SPECIMENS: &str = "specimens";
    /// What their labels begin with.
    pub const SET_LABEL: &str = "set-label";
    /// Their size.
    pub const SPECIMEN_SIZE: &str = "specimen-size";
    /// The lower end of the range of the first curing.
    pub const CURING_LOW: &str = "curing-low";
    /// Its upper end.
    pub const CURING_HIGH: &str = "curing-high";
    /// The appointment at which the first curing is over at the latest.
    pub const CURING_ENDS: &str = "first-curing-ends";
    /// The appointment before which specimens do not travel.
    pub const TRANSPORT: &str = "transport";
    /// The moment of the sample that everything is counted from.
    pub const LAST_PORTION: &str = "last-portion";
    /// The moment its sampling began.
    pub const FIRST_PORTION: &str = "first-portion";
    /// The moment the last specimen was finished.
    pub const MOULDED: &str = "moulded";
    /// What stands behind the shared name of an apparatus for the answer whether it is in date.
    pub const IN_DATE: &str = "-in-date";
}

/// A test of the sample.
#[derive(Clone, Copy, Debug)]
pub struct Member<'a> {
    /// What it is called on the bench.
    pub name: &'a str,
    /// Whether its result decides about the concrete.
    pub purpose: Purpose,
    /// The test whose result it checks.
    pub check_of: Option<&'a str>,
    /// Its procedure.
    pub edition: &'a Edition,
    /// Its record, if it was begun.
    pub loaded: Option<&'a Loaded>,
}

impl<'a> Member<'a> {
    fn run(&self) -> Option<&'a Run> {
        self.loaded.map(|loaded| &loaded.run)
    }
}

/// What a sheet is made from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The sample's name on record.
    pub sample: &'a str,
    /// The unit system it was opened in.
    pub system: System,
    /// The words for it if time was not real.
    pub simulated: Option<&'a str>,
    /// When it was opened.
    pub opened: Moment,
    /// The site file, if there is one.
    pub site: Option<&'a Site>,
    /// The tests, in the order of the bench.
    pub members: &'a [Member<'a>],
    /// The program.
    pub tool: &'a str,
    /// Its version.
    pub version: &'a str,
}

/// Fills in the sheet of a sample.
pub fn sheet(source: &Source<'_>) -> Sheet {
    let runs: Vec<(&str, &Run)> =
        source.members.iter().filter_map(|member| Some((member.name, member.run()?))).collect();
    let pool = Pool::of(&runs);
    let day = Date::of(source.opened.wall);
    let purpose = purpose(source, &pool);
    let papers = used_papers(source, &pool, day);
    let said = |name| pool.words(name).unwrap_or_default();
    let site = source.site;
    Sheet {
        head: sheet::Head {
            title: "Fresh concrete: one sample".to_owned(),
            project: site.map_or_else(|| said(names::JOB), |site| site.project.clone()),
            location: site.and_then(|site| site.location.clone()).unwrap_or_default(),
            mixture: site.and_then(|site| site.mixture.as_ref()?.name.clone()).unwrap_or_default(),
            sample: pool.words(names::SAMPLE).unwrap_or_else(|| source.sample.to_owned()),
            purpose: if source.simulated.is_some() && purpose == Purpose::Acceptance {
                sheet::Purpose::Practice
            } else {
                sheet_purpose(purpose)
            },
            truck: said(names::TRUCK),
            ticket: said(names::TICKET),
            technician: technician(source, &pool, &papers),
            date: clock::day(source.opened.wall),
            offset: offset(source.opened),
            system: match source.system {
                System::InchPound => sheet::System::InchPound,
                System::Si => sheet::System::Si,
            },
            simulated: source.simulated.map(str::to_owned),
            tool: source.tool.to_owned(),
            version: source.version.to_owned(),
            notices: vec![
                "Local codes, the project specification and licensed practice come first. Each record names the source of \
                 every figure; what is marked memory there has not been compared with the standard."
                    .to_owned(),
                match runs.first().map_or(Ties::Even, |(_, run)| run.ties()) {
                    Ties::Even => {
                        "Each result is rounded once, to its last place unless another step is named; a half goes to the \
                         even multiple."
                    }
                    Ties::Up => "Each result is rounded once, to its last place unless another step is named; a half goes up.",
                }
                .to_owned(),
            ],
        },
        results: source.members.iter().flat_map(|member| results(source, member, purpose)).collect(),
        windows: source.members.iter().flat_map(windows).collect(),
        findings: by_time(source, findings),
        discarded: by_time(source, discarded),
        corrections: by_time(source, corrections),
        overruled: by_time(source, overruled),
        apparatus: apparatus(&pool, &papers),
        delivery: delivery(source, &pool),
        weather: weather(source, &pool),
        specimens: source.members.iter().filter_map(|member| specimens(member.run()?)).collect(),
        appointments: appointments(source),
        timeline: timeline::timeline(source),
        record: sheet::Record {
            runs: source
                .members
                .iter()
                .filter_map(|member| member.loaded)
                .map(|loaded| sheet::RunRecord {
                    name: loaded.opening.run.clone(),
                    checksum: loaded.last_sum.clone(),
                })
                .collect(),
            kept: "One journal for each run, every act a line, chained by checksums.".to_owned(),
        },
    }
}

fn sheet_purpose(purpose: Purpose) -> sheet::Purpose {
    match purpose {
        Purpose::Acceptance => sheet::Purpose::Acceptance,
        Purpose::Preliminary => sheet::Purpose::Preliminary,
    }
}

fn purpose(source: &Source<'_>, pool: &Pool<'_>) -> Purpose {
    let is_preliminary = match pool.choice(names::PURPOSE) {
        Some(answer) => answer == "preliminary",
        None => source.site.is_some_and(|site| site.purpose == Some(Purpose::Preliminary)),
    };
    if is_preliminary { Purpose::Preliminary } else { Purpose::Acceptance }
}

fn offset(at: Moment) -> String {
    clock::rfc3339(at.wall).chars().rev().take(6).collect::<Vec<_>>().into_iter().rev().collect()
}

pub(super) fn stamp(at: Moment) -> String {
    clock::rfc3339(at.wall)
}

/// Seconds with as many places as are needed for the milliseconds.
fn seconds(span: Span) -> Measured {
    let ms = i64::try_from(span.0).unwrap_or(i64::MAX);
    let exact = Exact::ratio(ms, 1_000).unwrap_or_else(Exact::zero);
    Measured::new(exact.show_exact(), "s")
}

/// An exact value with its unit, as text: a decimal, or with `≈` a shortened one.
fn exact_text(value: &Exact, unit: Unit) -> String {
    with_unit(&value.show_short(), unit)
}

fn measured(value: &Exact, unit: Unit) -> Measured {
    // Shortened only for a quotient that does not end.
    Measured::new(value.show_short().trim_start_matches("≈ "), unit.to_string())
}

/// A whole number of things.
fn whole(value: &Exact) -> Option<u32> {
    value.show_exact().parse().ok()
}

// ------------------------------------------------------------------------------------------------ results

fn results(source: &Source<'_>, member: &Member<'_>, purpose: Purpose) -> Vec<sheet::TestResult> {
    let edition = member.edition;
    let base = sheet::TestResult {
        run: member.loaded.map(|loaded| loaded.opening.run.clone()).unwrap_or_default(),
        test: edition.title.clone(),
        basis: edition.basis.iter().map(|basis| basis.designation.as_str()).collect::<Vec<_>>().join(", "),
        attempts: member.run().map_or(0, |run| u32::from(run.attempt())),
        ..sheet::TestResult::default()
    };
    let Some(run) = member.run() else {
        let name = first_result(edition);
        return vec![sheet::TestResult { name, status: Status::NotDone, note: "not begun".to_owned(), ..base }];
    };
    let outcomes = run.results();
    if outcomes.is_empty() {
        let (status, note) = without_result(run);
        return vec![sheet::TestResult { name: first_result(edition), status, note, ..base }];
    }
    let purpose = if member.purpose == Purpose::Preliminary { Purpose::Preliminary } else { purpose };
    // What has a place of its own on the sheet does not stand among the results as well.
    let has_own_place = |outcome: &&engine::Outcome<'_>| {
        let shared = outcome.spec.shared.as_deref();
        shared.is_some_and(|shared| [names::CURING_LOW, names::CURING_HIGH].contains(&shared))
    };
    // What a procedure shares is what the sample is known by; its other results, where there are any, are workings.
    let is_shared = |outcome: &engine::Outcome<'_>| outcome.spec.shared.is_some();
    let all_stand = !outcomes.iter().any(is_shared);
    let (main, workings): (Vec<_>, Vec<_>) =
        outcomes.iter().filter(|outcome| !has_own_place(outcome)).partition(|outcome| all_stand || is_shared(outcome));
    let with_check = |outcome: &engine::Outcome<'_>| {
        check::rows(source, member.name, outcome.id, result(source, member, purpose, outcome, &base))
    };
    let mut rows: Vec<_> = main.into_iter().flat_map(with_check).collect();
    if let Some(row) = rows.first_mut() {
        row.terms.extend(workings.into_iter().map(|outcome| sheet::Term {
            name: outcome.title.to_owned(),
            value: Measured::new(rounded_text(&outcome.reported), outcome.reported.unit.to_string()),
        }));
    }
    rows
}

/// The reported value with the places of its increment.
fn rounded_text(reported: &Reported) -> String {
    let places = reported.increment.decimal_places();
    places.map_or_else(|| reported.rounded.show_exact(), |places| reported.rounded.show(places))
}

fn first_result(edition: &Edition) -> String {
    let first = edition.results.first().map(|spec| edition.values[usize::from(spec.value.0)].title.clone());
    first.unwrap_or_default()
}

/// How a run without a result stands, and why.
fn without_result(run: &Run) -> (Status, String) {
    match (run.phase(), run.endings().last()) {
        (Phase::AtStep, _) => (Status::NotDone, "not finished".to_owned()),
        (Phase::Finished | Phase::Closed { with_result: true }, _) => (Status::Result, "done".to_owned()),
        (_, Some(ended)) => {
            let status = match ended.kind {
                // Void with no way to start again: the method has nothing to say about this concrete.
                EndingKind::Void if ended.again.is_none() && !ended.own => Status::NotApplicable,
                EndingKind::Void => Status::Void,
                EndingKind::Discard => Status::Discarded,
            };
            (status, ended.because.clone())
        }
        (_, None) => (Status::NotDone, "closed without a result".to_owned()),
    }
}

fn result(
    source: &Source<'_>,
    member: &Member<'_>,
    purpose: Purpose,
    outcome: &engine::Outcome<'_>,
    base: &sheet::TestResult,
) -> sheet::TestResult {
    let reported = &outcome.reported;
    let exact = Quantity::new(reported.exact.clone(), reported.unit);
    let limit = source.site.and_then(|site| Some((site, site.limit(&member.edition.id, outcome.id)?)));
    let judged = limit.map(|(site, limit)| verdict::judge(&exact, limit, site.conformance, site.ties, purpose));
    let (verdict, note) = match judged {
        None => (sheet::Verdict::NotJudged, String::new()),
        Some(Err(why)) => (sheet::Verdict::NotJudged, why.to_string()),
        Some(Ok(verdict)) => {
            let standing = match (purpose, verdict.standing) {
                (Purpose::Preliminary, _) => sheet::Verdict::NotAcceptance,
                (_, verdict::Standing::Within) => sheet::Verdict::Within,
                (_, verdict::Standing::Below) => sheet::Verdict::Below,
                (_, verdict::Standing::Above) => sheet::Verdict::Above,
            };
            // Only where the limit's own places make another number of it than the one reported.
            let is_as_reported = verdict.compared == reported.rounded;
            let note = if is_as_reported { String::new() } else { format!("compared as {}", verdict.compared_text()) };
            (standing, note)
        }
    };
    sheet::TestResult {
        name: outcome.title.to_owned(),
        status: Status::Result,
        value: Some(Measured::new(rounded_text(reported), reported.unit.to_string())),
        exact: exact_text(&reported.exact, reported.unit),
        rounding: format!("nearest {}", with_unit(&reported.increment.show_exact(), reported.unit)),
        limit: limit.map(|(_, limit)| limit.as_written.clone()),
        limit_source: limit.and_then(|(_, limit)| limit.source.clone()).unwrap_or_default(),
        verdict,
        terms: outcome.terms.iter().map(|term| self::term(member.edition, term)).collect(),
        note,
        ..base.clone()
    }
}

fn term(edition: &Edition, term: &engine::TermValue<'_>) -> sheet::Term {
    let unit = match term.term.what {
        procedure::TermOf::Reading(id) => edition.reading(id).unit(),
        procedure::TermOf::Value(id) => edition.values[usize::from(id.0)].unit,
    };
    let mut value = measured(&term.value, unit);
    if term.term.sign == '-' && term.value != Exact::zero() {
        value.value = measured(&-&term.value, unit).value;
    }
    sheet::Term { name: term.term.label.clone(), value }
}

// ------------------------------------------------------------------------------------------------ windows

/// When a limit of a run's present attempt began to count and when it stopped.
pub(super) fn limit_times(run: &Run, limit: &procedure::Limit) -> Option<(Moment, Option<Moment>)> {
    let passed = || run.passed().iter().filter(|passed| passed.attempt == run.attempt());
    let own = passed().rfind(|passed| passed.step == limit.from).map(|passed| passed.done);
    let moment = run.edition().step(limit.from).moment;
    let from = own.or_else(|| moment.and_then(|moment| run.marked(moment).or_else(|| run.known(moment))))?;
    let to = passed().find(|passed| passed.step == limit.to && passed.done.tick >= from.tick);
    Some((from, to.map(|passed| passed.done)))
}

/// The name of a moment or a step is short; its sentence stands in the record.
pub(super) fn point(edition: &Edition, id: StepId) -> String {
    let step = edition.step(id);
    let moment = step.moment.and_then(|moment| edition.moments.get(usize::from(moment)));
    moment.unwrap_or(&step.id).replace('-', " ")
}

fn windows(member: &Member<'_>) -> Vec<sheet::Window> {
    let Some(run) = member.run() else { return Vec::new() };
    let edition = run.edition();
    let one = |limit: &procedure::Limit| {
        let (from, to) = limit_times(run, limit)?;
        let took = to.map(|to| to.tick.since(from.tick));
        Some(sheet::Window {
            test: member.name.to_owned(),
            name: run.say(&limit.title),
            from: point(edition, limit.from),
            to: point(edition, limit.to),
            allowed: seconds(limit.at_most),
            took: took.map(seconds),
            verdict: match took {
                None => Kept::Open,
                Some(took) if took > limit.at_most => Kept::Late { by: seconds(Span(took.0 - limit.at_most.0)) },
                Some(_) => Kept::Kept,
            },
            started: stamp(from),
            ended: to.map(stamp),
        })
    };
    edition.limits.iter().filter_map(one).collect()
}

// ------------------------------------------------------------------------------------------------ what else happened

/// What every run says, in the order of time.
fn by_time<T>(source: &Source<'_>, of: fn(&str, &Run) -> Vec<(Tick, T)>) -> Vec<T> {
    let mut all: Vec<(Tick, T)> =
        source.members.iter().filter_map(|member| Some(of(member.name, member.run()?))).flatten().collect();
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, what)| what).collect()
}

fn findings(name: &str, run: &Run) -> Vec<(Tick, sheet::Finding)> {
    let is_elsewhere =
        |what: &FindingKind| matches!(what, FindingKind::Overruled { .. } | FindingKind::Corrected { .. });
    run.findings()
        .iter()
        .filter(|finding| !is_elsewhere(&finding.what))
        .map(|finding| {
            // The test and the moment stand beside it; which step it was says the record.
            let words = finding_text(run, finding);
            let step = format!("{}: ", run.edition().step(finding.step).id);
            let words = words.strip_prefix(&step).unwrap_or(&words).to_owned();
            (finding.at.tick, sheet::Finding { at: stamp(finding.at), test: name.to_owned(), words })
        })
        .collect()
}

fn overruled(name: &str, run: &Run) -> Vec<(Tick, sheet::Overruled)> {
    run.findings()
        .iter()
        .filter_map(|finding| {
            let FindingKind::Overruled { refusal, reason } = &finding.what else { return None };
            let (refusal, why) = (refusal.clone(), reason.clone());
            Some((finding.at.tick, sheet::Overruled { at: stamp(finding.at), test: name.to_owned(), refusal, why }))
        })
        .collect()
}

fn corrections(name: &str, run: &Run) -> Vec<(Tick, sheet::Correction)> {
    run.findings()
        .iter()
        .filter_map(|finding| {
            let FindingKind::Corrected { reading, from, to, reason, .. } = &finding.what else { return None };
            let reading = run.say(&run.edition().reading(*reading).ask);
            let (from, to, why) = (from.clone(), to.clone(), reason.clone());
            let test = name.to_owned();
            Some((finding.at.tick, sheet::Correction { at: stamp(finding.at), test, reading, from, to, why }))
        })
        .collect()
}

fn discarded(name: &str, run: &Run) -> Vec<(Tick, sheet::Discarded)> {
    let next = |attempt: u16| run.starts().get(usize::from(attempt));
    run.endings()
        .iter()
        .map(|ended| {
            let again = next(ended.attempt).map(|start| match start.again {
                Some(again) => run.say(&run.edition().agains[usize::from(again.0)].say),
                None => "Started again.".to_owned(),
            });
            let discarded = sheet::Discarded {
                at: stamp(ended.at),
                test: name.to_owned(),
                attempt: u32::from(ended.attempt),
                why: ended.because.clone(),
                again: again.unwrap_or_default(),
            };
            (ended.at.tick, discarded)
        })
        .collect()
}

// ------------------------------------------------------------------------------------------------ people and apparatus

fn used_papers(source: &Source<'_>, pool: &Pool<'_>, day: Option<Date>) -> Vec<Paper> {
    let used = Used { technicians: pool.words(names::TECHNICIAN).into_iter().collect(), apparatus: pool.apparatus() };
    if let (Some(site), Some(day)) = (source.site, day) {
        return papers::papers_of(site, &used, day);
    }
    let unknown = |of| Paper { of, last: None, record: None, standing: papers::Standing::Unknown };
    let people = used.technicians.into_iter().map(|name| papers::Of::Technician { name });
    let apparatus = used.apparatus.into_iter().map(|(kind, id)| papers::Of::Apparatus { kind, id });
    people.chain(apparatus).map(unknown).collect()
}

fn standing(paper: &Paper) -> sheet::Standing {
    match paper.standing {
        papers::Standing::Unknown => sheet::Standing::NotTold,
        papers::Standing::Overdue { .. } => sheet::Standing::Overdue,
        standing if standing.is_near() => sheet::Standing::DueSoon,
        papers::Standing::Valid { .. } | papers::Standing::DueToday => sheet::Standing::InDate,
    }
}

/// `31 Mar 2029`.
fn day_words(date: Date) -> String {
    const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let iso = date.to_string();
    let mut parts = iso.splitn(3, '-');
    let (year, month, day) = (parts.next(), parts.next(), parts.next());
    let month = month.and_then(|month| month.parse::<usize>().ok()?.checked_sub(1)).and_then(|n| MONTHS.get(n));
    match (year, month, day) {
        (Some(year), Some(month), Some(day)) => format!("{} {month} {year}", day.trim_start_matches('0')),
        _ => iso,
    }
}

fn paper_words(paper: &Paper) -> String {
    match (paper.standing, paper.last.map(day_words)) {
        (papers::Standing::Unknown, _) | (_, None) => "date not told".to_owned(),
        (papers::Standing::Overdue { days }, Some(last)) => format!("overdue since {last}, {days} days"),
        (papers::Standing::DueToday, Some(last)) => format!("in date, today {last} is the last day"),
        (standing @ papers::Standing::Valid { days_left }, Some(last)) if standing.is_near() => {
            format!("in date until {last}, {days_left} days left")
        }
        (papers::Standing::Valid { .. }, Some(last)) => format!("in date until {last}"),
    }
}

fn technician(source: &Source<'_>, pool: &Pool<'_>, papers: &[Paper]) -> sheet::Technician {
    let name = pool.words(names::TECHNICIAN).unwrap_or_default();
    let paper = papers.iter().find(|paper| matches!(paper.of, papers::Of::Technician { .. }));
    let known = source.site.and_then(|site| site.technician(&name));
    sheet::Technician {
        certificate: known.and_then(|known| known.certificate.clone()).unwrap_or_default(),
        expires: known.and_then(|known| known.expires).map(|date| date.to_string()),
        standing: paper.map(standing).unwrap_or_default(),
        words: paper.map(paper_words).unwrap_or_default(),
        name,
    }
}

fn apparatus(pool: &Pool<'_>, papers: &[Paper]) -> Vec<sheet::Apparatus> {
    papers
        .iter()
        .filter_map(|paper| {
            let papers::Of::Apparatus { kind, id } = &paper.of else { return None };
            let answered = pool.choice(&format!("{kind}{}", names::IN_DATE));
            let (mut standing, mut words) = (standing(paper), paper_words(paper));
            // Without a site file, what the technician said of the date stands.
            if paper.standing == papers::Standing::Unknown {
                (standing, words) = match answered {
                    Some("yes") => (sheet::Standing::InDate, "in date, as the technician says".to_owned()),
                    Some("no") => (sheet::Standing::Overdue, "overdue or not known, as the technician says".to_owned()),
                    _ => (standing, words),
                };
            }
            let name = kind.replace('-', " ");
            let mut letters = name.chars();
            let kind = letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
            Some(sheet::Apparatus {
                kind,
                id: id.clone(),
                due: paper.last.map(|last| last.to_string()),
                standing,
                words,
            })
        })
        .collect()
}

// ------------------------------------------------------------------------------------------------ ticket and weather

fn delivery(source: &Source<'_>, pool: &Pool<'_>) -> sheet::Delivery {
    let limit_source = source.site.and_then(|site| site.delivery.as_ref()?.source.clone()).unwrap_or_default();
    let judged = names::DELIVERY.iter().filter_map(|(name, value, limit)| {
        let (value, unit) = pool.number(value)?;
        let limit = pool.number(limit).filter(|(_, limit_unit)| *limit_unit == unit);
        Some(sheet::Judged {
            name: (*name).to_owned(),
            value: measured(&value, unit),
            limit: limit.as_ref().map(|(limit, unit)| format!("at most {}", exact_text(limit, *unit))),
            limit_source: limit_source.clone(),
            verdict: match &limit {
                None => sheet::Verdict::NotJudged,
                Some((limit, _)) if value <= *limit => sheet::Verdict::Within,
                Some(_) => sheet::Verdict::Above,
            },
        })
    });
    // Truck and ticket stand in the head of the sheet.
    let facts = [("Weather", names::WEATHER)];
    let facts = facts
        .into_iter()
        .filter_map(|(name, shared)| Some(sheet::Fact { name: name.to_owned(), words: pool.words(shared)? }));
    sheet::Delivery {
        facts: facts.collect(),
        water_added: pool.number(names::WATER_ADDED).map(|(value, unit)| measured(&value, unit)),
        judged: judged.collect(),
    }
}

fn weather(source: &Source<'_>, pool: &Pool<'_>) -> sheet::Weather {
    let number = |name| pool.number(name).map(|(value, unit)| measured(&value, unit));
    let evaporation = source.members.iter().filter_map(Member::run).find_map(|run| {
        let mut results = run.results().into_iter();
        let outcome = results.find(|outcome| outcome.spec.shared.as_deref() == Some(names::EVAPORATION))?;
        let caution = run.findings().iter().filter_map(|finding| match &finding.what {
            FindingKind::Rule { text } => Some(text.clone()),
            _ => None,
        });
        let reported = &outcome.reported;
        let places = reported.increment.decimal_places().unwrap_or(2);
        let value = Measured::new(reported.rounded.show(places), reported.unit.to_string());
        Some((value, caution.collect::<Vec<_>>().join(" ")))
    });
    let (evaporation, caution) = evaporation.map_or((None, String::new()), |(value, caution)| (Some(value), caution));
    sheet::Weather {
        air: number(names::AIR_TEMPERATURE),
        humidity: number(names::HUMIDITY),
        wind: number(names::WIND),
        concrete: number(names::CONCRETE_TEMPERATURE),
        evaporation,
        caution,
    }
}

// ------------------------------------------------------------------------------------------------ what outlives the day

/// How many specimens a run made, and their labels.
fn made(run: &Run) -> Option<Vec<String>> {
    let runs = [("", run)];
    let pool = Pool::of(&runs);
    let (count, _) = pool.number(names::SPECIMENS)?;
    let count = whole(&count)?;
    let set = pool.words(names::SET_LABEL).unwrap_or_default();
    Some(labels::labels("", &set, count, false))
}

fn specimens(run: &Run) -> Option<sheet::SpecimenSet> {
    let labels = made(run)?;
    let runs = [("", run)];
    let pool = Pool::of(&runs);
    let edition = run.edition();
    let moulded = edition.moments.iter().position(|name| name == names::MOULDED);
    let moulded = moulded.and_then(|at| run.marked(u16::try_from(at).ok()?))?;
    let due = |id: &str| {
        let dues = run.appointments();
        dues.iter().find(|due| due.spec.id == id).map(|due| stamp(due.at))
    };
    let range = match (pool.number(names::CURING_LOW), pool.number(names::CURING_HIGH)) {
        (Some((low, unit)), Some((high, _))) => format!("{} to {}", exact_text(&low, unit), exact_text(&high, unit)),
        _ => String::new(),
    };
    Some(sheet::SpecimenSet {
        labels,
        size: pool.words(names::SPECIMEN_SIZE).unwrap_or_default(),
        moulded: stamp(moulded),
        curing: sheet::Curing { range, until: due(names::CURING_ENDS) },
        transport_from: due(names::TRANSPORT),
    })
}

fn appointments(source: &Source<'_>) -> Vec<sheet::Appointment> {
    let mut all = Vec::new();
    for run in source.members.iter().filter_map(Member::run) {
        let mut labels = made(run).unwrap_or_default().into_iter();
        for due in run.appointments() {
            let count = due.count.as_ref().and_then(whole);
            // Specimens are shared out in the order of the procedure's appointments.
            let labels = labels.by_ref().take(count.unwrap_or(0) as usize).collect();
            let appointment = sheet::Appointment {
                id: due.spec.id.clone(),
                title: run.say(&due.spec.title),
                at: stamp(due.at),
                give_or_take: due.spec.give_or_take.map(minutes),
                count,
                labels,
            };
            all.push((due.at.tick, appointment));
        }
    }
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, appointment)| appointment).collect()
}

/// Whole hours if it is some, else minutes.
fn minutes(span: Span) -> Measured {
    let minutes = span.0 / 60_000;
    if minutes.is_multiple_of(60) {
        Measured::new((minutes / 60).to_string(), "h")
    } else {
        Measured::new(minutes.to_string(), "min")
    }
}

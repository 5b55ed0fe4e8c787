//! `sample`, and what `resume` and `list` do with samples.
//!
//! Here: choosing the tests, opening or going on with a sample on the screen, in lines or from a script. Not here: what
//! happens on the bench.
//!
//! **Invariant:** nothing is begun before every test chosen was found and can be run.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use bench::calendar::Date;
use bench::fact::{Fact, Facts};
use bench::live::Role;
use bench::site::{self, Picked, Site};
use engine::{Event, Moment, Phase, Run, Tick};
use procedure::ReadingId;
use quantity::{System, Ties};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::cli::{Failure, Look, ResumeArgs, SampleArgs, is_colourful, no_color, say};
use super::clock::{self, Timepiece};
use super::commands::{colour_depth, not_by_keys, with_earlier_words};
use super::free::Free;
use super::keys_script::{self, KeyScript};
use super::library::{self, NotFound};
use super::plan_command;
use super::sample::{Chosen, NewSample, SampleResumption, Shelf, names_of};
use super::sample_record::{
    LoadedSample, Purpose, SampleOpening, SiteText, Test, load_sample, sample_file, samples, samples_folder,
};
use super::store::{self, Named, Trouble};
use super::terminal::{self, Answer, Ended, Live, Records, kept};
use crate::line::sample::{BenchTalk, Place};
use crate::line::script::Script;
use crate::line::{lead_sample, play_sample, script_text};
use crate::screen::{BenchModel, BenchOptions, Colours, Hands, Input, Member, Shown, ThemeChoice};

// ---------------------------------------------------------------------------------------------- a new sample

/// What a sample is opened from: the command line, the head of a script, the site file, in this order.
pub(super) struct Plan {
    pub(super) tests: Vec<Chosen>,
    pub(super) system: System,
    ties: Ties,
    pub(super) site: Option<(SiteText, Site)>,
}

/// `sample`.
pub fn sample(data: Option<&Path>, args: SampleArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let script = match &args.script {
        Some(path) => Some((path.clone(), read_script(path)?)),
        None => None,
    };
    let plan = plan(&args, script.as_ref(), &data)?;
    let keys = args.free.key_script()?;
    let timepiece = match (&script, &keys) {
        (Some((_, script)), _) => Timepiece::by_hand(script.head.start, Tick(0)),
        (None, Some(keys)) => Timepiece::by_hand(keys.start, Tick(0)),
        (None, None) => timepiece(&args)?,
    };
    let opened = Moment { tick: Tick(0), wall: timepiece.now().wall };
    let facts = facts_of(plan.site.as_ref().map(|(_, site)| site), plan.system, opened);
    let (ties, tests) = (plan.ties, plan.tests.clone());
    let site = plan.site.as_ref().map(|(_, site)| site.clone());
    let new = NewSample {
        data: data.clone(),
        tests: plan.tests,
        system: plan.system,
        ties,
        site: plan.site.map(|(text, _)| text),
        timepiece: timepiece.clone(),
        opened,
        is_script: script.is_some() || keys.is_some(),
    };
    if let Some((path, script)) = script {
        let shelf = Shelf::create(new);
        let bench = bench_talk(&shelf, Vec::new(), ties, 0, facts, opened).on_site(site, Date::of(opened.wall));
        let (code, shelf) = play_sample(&path, &script, bench, shelf, Tick(0), None)?;
        return ended(shelf, code);
    }
    if args.look.plain {
        let shelf = Shelf::create(new);
        let bench = bench_talk(&shelf, Vec::new(), ties, 0, facts, opened).on_site(site, Date::of(opened.wall));
        let (code, shelf) = lead_sample(bench, shelf, &timepiece, None)?;
        return ended(shelf, code);
    }
    let free = args.free.free(&args.look, &timepiece);
    let mut options = bench_options(&args.look, &free, &timepiece, &data, facts);
    (options.site, options.day) = (site.clone(), Date::of(opened.wall));
    options.resumed.clone_from(&free.faults);
    let bench = BenchModel::new(members(&tests, ties), Vec::new(), 0, opened, options);
    let shown = OnScreen { bench, is_open: Vec::new(), site, free, keys };
    on_screen(shown, timepiece, &args.look, Box::new(move || Shelf::create(new)))
}

fn read_script(path: &Path) -> Result<Script, Failure> {
    Script::read(&script_text(path)?).map_err(|why| {
        Failure::refused(
            format!("{}, {why}", path.display()),
            "The form of scripts is described in crates/coach/LINES.md.",
        )
    })
}

pub(super) fn plan(args: &SampleArgs, script: Option<&(PathBuf, Script)>, data: &Path) -> Result<Plan, Failure> {
    let head = script.map(|(_, script)| &script.head);
    let beside = |name: &String| {
        let folder = script.and_then(|(path, _)| path.parent());
        folder.map_or_else(|| PathBuf::from(name), |folder| folder.join(name))
    };
    let site_path = args.site.clone().or_else(|| head?.site.as_ref().map(beside));
    let site = site_path.map(|path| read_site(&path)).transpose()?;
    let of_site = site.as_ref().map(|(_, site)| site);
    let mut methods = args.tests.clone();
    if methods.is_empty() {
        methods = head.map(|head| head.tests.clone()).unwrap_or_default();
    }
    if methods.is_empty() {
        methods = of_site.map(|site| site.tests.clone()).unwrap_or_default();
    }
    if methods.is_empty() {
        return Err(Failure::usage(
            "no tests are chosen for this sample",
            "Name them with --tests slump,temperature,air-volumetric, or in the site file. “pourside methods” lists them.",
        ));
    }
    let usual = || store::last_system(data).unwrap_or(System::InchPound);
    let stated = args.system.or(head.and_then(|head| head.system)).or(of_site.and_then(|site| site.system));
    let system = stated.unwrap_or_else(usual);
    let ties = args.ties.or(head.and_then(|head| head.ties)).or(of_site.map(|site| site.ties)).unwrap_or_default();
    let purpose = match of_site.and_then(|site| site.purpose) {
        Some(bench::verdict::Purpose::Preliminary) => Purpose::Preliminary,
        _ => Purpose::Acceptance,
    };
    let found = methods.iter().map(|method| found(method)).collect::<Result<Vec<_>, NotFound>>()?;
    let names = names_of(found.iter().map(|(found, _)| found.id()));
    let mut tests = Vec::new();
    for ((found, method), name) in found.into_iter().zip(names) {
        let found = amended(found, of_site)?;
        tests.push(Chosen::of(&found, Test { name, method, purpose: purpose.clone() }, system)?);
    }
    Ok(Plan { tests, system, ties, site })
}

/// A procedure, and the name by which it is found again: its id, or the whole path of its file.
fn found(method: &str) -> Result<(library::Found, String), NotFound> {
    let found = library::find(method, is_colourful())?;
    let is_shipped = library::SHIPPED.iter().any(|shipped| shipped.sha256 == found.sha256);
    let again = if is_shipped {
        found.id().to_owned()
    } else {
        std::path::absolute(method).map_or_else(|_| method.to_owned(), |path| path.display().to_string())
    };
    Ok((found, again))
}

/// The procedure with the figures the job sets otherwise: what is run is what the record holds.
fn amended(found: library::Found, site: Option<&Site>) -> Result<library::Found, Failure> {
    let amendments = site.map(|site| site.amendments(found.id())).unwrap_or_default();
    if amendments.is_empty() {
        return Ok(found);
    }
    let faulty = |diagnostics: &[procedure::Diagnostic]| {
        Failure::refused(
            format!("what the site file sets in {} cannot be set there", found.id()),
            procedure::diagnose::render(&found.file, &found.text, diagnostics, is_colourful()),
        )
    };
    let text = procedure::amend(&found.file, &found.text, &amendments).map_err(|faults| faulty(&faults))?;
    Ok(library::check(&found.file, text.into(), is_colourful())?)
}

/// What a site file sets in a shipped procedure and cannot be set there.
pub(super) fn cannot_be_set(site: &Site) -> Option<Failure> {
    let mut methods: Vec<&str> = site.figures.iter().map(|figure| figure.method.as_str()).collect();
    methods.dedup();
    methods.into_iter().find_map(|method| {
        // A method of the laboratory's own is checked when its file is at hand.
        let found = library::find(method, false).ok()?;
        amended(found, Some(site)).err()
    })
}

fn read_site(path: &Path) -> Result<(SiteText, Site), Failure> {
    let file = path.display().to_string();
    let text = std::fs::read_to_string(path).map_err(|why| {
        Failure::refused(
            format!("cannot read the site file {file}: {why}"),
            "Check the name of the file, that you may read it, and that it is UTF-8 text.",
        )
    })?;
    let checked = site::check(&file, &text);
    match checked.site {
        Some(site) => Ok((SiteText { file, text }, site)),
        None => {
            let shown = procedure::diagnose::render(&file, &text, &checked.diagnostics, is_colourful());
            Err(Failure::refused(format!("{file} is no site file this program can use"), shown))
        }
    }
}

/// What the site file answers before anybody asks.
fn facts_of(site: Option<&Site>, system: System, opened: Moment) -> Facts {
    let day = Date::of(opened.wall);
    site.zip(day).map(|(site, day)| site.facts(system, &Picked::on(day))).unwrap_or_default()
}

fn timepiece(args: &SampleArgs) -> Result<Timepiece, Failure> {
    let from = match &args.simulate_from {
        None => None,
        Some(text) => Some(clock::read_rfc3339(text).ok_or_else(|| {
            Failure::usage(
                format!("“{text}” is no date and time with an offset"),
                "Write it like 2026-11-25T07:30:00-06:00.",
            )
        })?),
    };
    Ok(match (args.simulate, from) {
        (None, None) => Timepiece::live(Tick(0)),
        (speed, from) => Timepiece::simulated(speed.unwrap_or(1), from.unwrap_or_else(clock::wall_now), Tick(0)),
    })
}

fn bench_options(look: &Look, free: &Free, timepiece: &Timepiece, data: &Path, facts: Facts) -> BenchOptions {
    let job = match facts.get("job") {
        Some(Fact::Words(job)) => job.clone(),
        _ => "the sample".to_owned(),
    };
    BenchOptions {
        sample: job,
        quiet: look.quiet,
        theme: free.theme,
        simulated: timepiece.said(),
        place: data.display().to_string(),
        resumed: None,
        facts,
        site: None,
        day: None,
        order: Vec::new(),
    }
}

fn members(tests: &[Chosen], ties: Ties) -> Vec<Member> {
    let member = |chosen: &Chosen| {
        let mut member = Member::new(chosen.test.name.clone(), std::sync::Arc::clone(&chosen.edition), ties);
        member.role = role_of(&chosen.test);
        member.purpose = match &chosen.test.purpose {
            Purpose::Acceptance => None,
            other => Some(other.to_string()),
        };
        member
    };
    tests.iter().map(member).collect()
}

fn role_of(test: &Test) -> Role {
    let check_of = match &test.purpose {
        Purpose::CheckOf(name) => Some(name.clone()),
        Purpose::Acceptance | Purpose::Preliminary => None,
    };
    Role { is_preliminary: test.purpose == Purpose::Preliminary, check_of }
}

fn bench_talk(shelf: &Shelf, runs: Vec<Option<Run>>, ties: Ties, focus: usize, facts: Facts, now: Moment) -> BenchTalk {
    let mut runs = runs.into_iter();
    let place = |chosen: &Chosen| {
        let run = runs.next().flatten();
        Place::new(chosen.test.name.clone(), std::sync::Arc::clone(&chosen.edition), ties, run, now)
            .with_role(role_of(&chosen.test))
    };
    let places = shelf.tests().iter().map(place).collect();
    BenchTalk::new(shelf.name().to_owned(), places, focus, Vec::new(), facts, now)
}

// ---------------------------------------------------------------------------------------------- on the screen

impl Records for Shelf {
    fn begin(&mut self, run: usize, at: Moment) -> Vec<Answer> {
        let outcome = Shelf::begin(self, run, at);
        let mut answers = vec![match outcome {
            Ok(name) => (run, Input::Begun { run: name }),
            Err(trouble) => (run, failed(&trouble)),
        }];
        answers.extend(self.mend_ledger().map(|trouble| (run, failed(&trouble))));
        answers.extend(self.words_for(run));
        answers
    }

    fn add(&mut self, check_of: usize, name: String, at: Moment) -> Vec<Answer> {
        self.add_check(check_of, name, at);
        self.mend_ledger().map(|trouble| (check_of, failed(&trouble))).into_iter().collect()
    }

    fn keep(&mut self, run: usize, event: &Event, at: Moment, corrected: Option<ReadingId>) -> Vec<Answer> {
        let mut answers = vec![(run, kept(Shelf::keep(self, run, event, at, corrected)))];
        // Behind the answer about the act: the act itself is kept.
        answers.extend(self.mend_ledger().map(|trouble| (run, failed(&trouble))));
        answers
    }

    fn move_to(&mut self, run: usize, folder: &str, at: Moment) -> Vec<Answer> {
        match Shelf::move_to(self, folder, at) {
            Ok(()) => {
                let folder = self.data().display().to_string();
                let mut answers = vec![(run, Input::StoreMoved { folder })];
                let begun = (0..self.tests().len()).filter(|n| self.keeper(*n).is_some());
                answers.extend(begun.map(|n| (n, Input::Kept { entries: self.n_kept(n) })));
                answers
            }
            Err(trouble) => vec![(run, Input::StoreMoveFailed { what: trouble.what, hint: trouble.hint })],
        }
    }

    fn finish(&mut self, at: Moment) {
        self.close(at);
    }
}

impl Shelf {
    /// Words used before in the readings of a run.
    fn words_for(&self, run: usize) -> Option<Answer> {
        let keeper = self.keeper(run)?;
        let words = with_earlier_words(BTreeMap::new(), keeper.data(), keeper.edition(), keeper.name());
        (!words.is_empty()).then_some((run, Input::Suggestions(words)))
    }

    /// What the screen is told first of runs that go on.
    fn first_answers(&self) -> Vec<Answer> {
        let mut answers = Vec::new();
        for n in 0..self.tests().len() {
            let Some(keeper) = self.keeper(n) else { continue };
            answers.push(match keeper.trouble() {
                None => (n, Input::Kept { entries: keeper.n_events_kept() }),
                Some(trouble) => (n, failed(trouble)),
            });
            answers.extend(self.words_for(n));
        }
        answers
    }
}

fn failed(trouble: &Trouble) -> Input {
    Input::StoreFailed { what: trouble.what.clone(), hint: trouble.hint.clone() }
}

/// What makes the plans of a bench: its tests, what the site file expects, this technician's own times.
pub(super) fn planner_of(shelf: &Shelf, site: Option<&Site>) -> bench::planning::Planner {
    let system = shelf.tests().first().map_or(System::InchPound, |chosen| chosen.edition.system);
    let tests = shelf.tests().iter();
    let tests = tests.map(|chosen| (chosen.test.name.clone(), std::sync::Arc::clone(&chosen.edition)));
    let (expected, own) = (plan_command::expected(site, system), plan_command::own_times(shelf.data(), site));
    let mut planner = plan_command::planner(tests, &expected, own);
    planner.pace = bench::planning::Pace::Typical;
    planner.hands = site.map_or(1, |site| site.people as usize).max(1);
    planner
}

/// What a sample on the screen starts from.
struct OnScreen {
    bench: BenchModel,
    is_open: Vec<bool>,
    site: Option<Site>,
    free: Free,
    keys: Option<KeyScript>,
}

fn on_screen(
    shown: OnScreen,
    timepiece: Timepiece,
    look: &Look,
    shelf: Box<dyn FnOnce() -> Shelf>,
) -> Result<ExitCode, Failure> {
    let OnScreen { bench, is_open, site, free, keys } = shown;
    let depth = colour_depth(look.theme, no_color());
    let bench = bench.with_colours(terminal::colours(depth), timepiece.now());
    let records = move || {
        let mut shelf = shelf();
        if !is_open.is_empty() {
            shelf.catch_up(&is_open);
        }
        let mut first = shelf.first_answers();
        // After the first screen: past runs are read for it.
        first.push((0, Input::Planner(Box::new(planner_of(&shelf, site.as_ref())))));
        (shelf, first)
    };
    let (how, shelf) = if let Some(script) = keys {
        let (shelf, first) = records();
        let shown = Hands::new(bench, script.settings(free.settings));
        let shelf = keys_script::play(&script, shown, timepiece, shelf, first, &mut std::io::stdout().lock())
            .map_err(|why| Failure::refused(format!("cannot write: {why}"), ""))?;
        (Ended::Left, shelf)
    } else {
        let rim = free.rim(&timepiece);
        let shown = Hands::new(bench, free.settings);
        let live = Live { shown, timepiece, records: Box::new(records), depth, rim };
        terminal::perform(live).map_err(|why| {
            Failure::refused(
                format!("cannot use this terminal: {why}"),
                "“--plain” works without one: lines in, lines out.",
            )
        })?
    };
    match how {
        Ended::Left => {
            let mut text = format!("The sample is kept in {}\n", shelf.path().display());
            // Writing to memory cannot fail.
            let _ = writeln!(text, "  pourside resume {}", shelf.name());
            let _ = writeln!(text, "  pourside report {} --format pdf --output sheet.pdf", shelf.name());
            text.push_str("Each of its runs has a record and a report of its own:\n");
            for n in 0..shelf.tests().len() {
                if let Some(keeper) = shelf.keeper(n) {
                    let _ = writeln!(text, "  pourside report {}", keeper.name());
                }
            }
            let code = ended(shelf, ExitCode::SUCCESS)?;
            say(&text)?;
            Ok(code)
        }
        Ended::Signal(signal) => ended(shelf, ExitCode::from(128_u8.wrapping_add(signal as u8))),
        Ended::Gone => ended(shelf, ExitCode::from(129)),
    }
}

/// What is not on the disk by now is tried once more, and printed if need be.
fn ended(mut shelf: Shelf, code: ExitCode) -> Result<ExitCode, Failure> {
    if shelf.trouble().is_some()
        && let Err(trouble) = shelf.retry(0)
    {
        return Err(Failure::lines_on_no_disk(&shelf.unkept(), &trouble));
    }
    Ok(code)
}

// ---------------------------------------------------------------------------------------------- going on

/// The sample called `name`: its whole name, the only one that begins or ends so; `None` if there is none.
pub fn find_sample(data: &Path, name: &str) -> Option<Named> {
    let path = Path::new(name);
    let is_in_samples = path.parent().and_then(Path::file_name).is_some_and(|folder| folder == "samples");
    if name.ends_with(store::ENDING) && is_in_samples && path.is_file() {
        let stem = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        return Some(Named { name: stem, path: path.to_owned() });
    }
    let all = samples(data).unwrap_or_default();
    if let Some(exact) = all.iter().find(|named| named.name == name) {
        return Some(exact.clone());
    }
    let mut fits = all.into_iter().filter(|named| named.name.starts_with(name) || named.name.ends_with(name));
    let one = fits.next().filter(|_| !name.is_empty())?;
    fits.next().is_none().then_some(one)
}

/// The sample a run belongs to, and what the run is called there; `None` if it stands alone or its sample is not here.
pub fn sample_of_run(data: &Path, run: &Named) -> Option<(Named, String)> {
    let recovered = journal::read(&run.path).ok()?;
    let store::Line::Opened(opening) = recovered.entries.first()?.read_as().ok()? else { return None };
    let of = opening.sample?;
    let path = sample_file(data, &of.name);
    path.is_file().then_some((Named { name: of.name, path }, of.test))
}

/// The newest sample of which a run is open, or of which none has been begun.
pub fn newest_open_sample(data: &Path) -> Option<Named> {
    samples(data).ok()?.into_iter().find(|named| {
        load_sample(&named.path)
            .is_ok_and(|loaded| standing(data, &loaded).is_some_and(|(begun, open)| open > 0 || begun == 0))
    })
}

/// How many runs of a sample were begun, and how many of them are open.
fn standing(data: &Path, loaded: &LoadedSample) -> Option<(usize, usize)> {
    let folder = store::runs_folder(data);
    let runs: Vec<PathBuf> = loaded
        .tests()
        .iter()
        .filter_map(|test| Some(folder.join(format!("{}{}", loaded.run_of(&test.name)?, store::ENDING))))
        .collect();
    let open = runs.iter().filter(|path| !store::seems_closed(path)).count();
    Some((runs.len(), open))
}

/// `resume`, for a sample: all of its runs go on, with `focus` in focus.
pub fn resume(named: &Named, focus: Option<&str>, args: &ResumeArgs) -> Result<ExitCode, Failure> {
    let (look, script) = (&args.look, args.script.as_deref());
    let resumed = Shelf::resume(&named.path, chosen).map_err(|why| {
        Failure::refused(format!("cannot read the sample in {}: {why}", named.path.display()), why.hint())
    })?;
    let SampleResumption { mut shelf, opening, runs, timepiece, said } = resumed;
    if shelf.tests().is_empty() {
        return Err(Failure::refused(
            format!("nothing of the sample {} can be read back", named.name),
            "“pourside show RUN” prints what is left of a run.",
        ));
    }
    let now = timepiece.now();
    let site = site_of(&opening);
    let opened = opening.opened.moment().unwrap_or(now);
    let facts = facts_of(site.as_ref(), opening.system, opened);
    let is_open: Vec<bool> =
        runs.iter().map(|run| run.as_ref().is_some_and(|run| !matches!(run.phase(), Phase::Closed { .. }))).collect();
    let named_focus = focus.and_then(|name| shelf.tests().iter().position(|chosen| chosen.test.name == name));
    let focus = named_focus.or_else(|| first_due(shelf.tests(), &runs, now.tick)).unwrap_or(0);
    if let Some(path) = script {
        if opening.speed != Some(0) {
            return Err(Failure::refused(
                "this sample is not in the time of a script, and a script brings times of its own",
                "Go on with it live; a script only goes on with a sample that a script began.",
            ));
        }
        shelf.catch_up(&is_open);
        let began = super::lapse::count_began(opened);
        let script = Script::read_on(&script_text(path)?, began, now.tick)
            .map_err(|why| Failure::refused(format!("{}, {why}", path.display()), ""))?;
        let bench = bench_talk(&shelf, runs, opening.ties, focus, facts, now).on_site(site, Date::of(opened.wall));
        let (code, shelf) = play_sample(path, &script, bench, shelf, now.tick, Some(said))?;
        return ended(shelf, code);
    }
    if look.plain {
        shelf.catch_up(&is_open);
        let bench = bench_talk(&shelf, runs, opening.ties, focus, facts, now).on_site(site, Date::of(opened.wall));
        let (code, shelf) = lead_sample(bench, shelf, &timepiece, Some(said))?;
        return ended(shelf, code);
    }
    let keys = args.free.key_script()?;
    if keys.is_some() && timepiece.speed() != 0 {
        return Err(not_by_keys());
    }
    let free = args.free.free(look, &timepiece);
    let mut options = bench_options(look, &free, &timepiece, shelf.data(), facts);
    (options.site, options.day) = (site.clone(), Date::of(opened.wall));
    options.sample = shelf.name().to_owned();
    options.resumed = Some(said).into_iter().chain(free.faults.clone()).reduce(|a, b| format!("{a} {b}"));
    let bench = BenchModel::new(members(shelf.tests(), opening.ties), runs, focus, now, options);
    let shown = OnScreen { bench, is_open, site, free, keys };
    on_screen(shown, timepiece, look, Box::new(move || shelf))
}

/// A test of a sample that is on record, with its procedure as the site file sets it.
pub(super) fn chosen(opening: &SampleOpening, test: &Test) -> Result<Chosen, Trouble> {
    let found = library::find(&test.method, false).map_err(|why| Trouble {
        what: why.to_string(),
        hint: "Put the procedure file back where it was.".to_owned(),
    })?;
    let found = amended(found, site_of(opening).as_ref()).map_err(|why| Trouble { what: why.what, hint: why.hint })?;
    Chosen::of(&found, test.clone(), opening.system)
}

/// The site file as it was when the sample was opened.
fn site_of(opening: &SampleOpening) -> Option<Site> {
    opening.site.as_ref().and_then(|site| site::check(&site.file, &site.text).site)
}

/// The run that is due first.
fn first_due(tests: &[Chosen], runs: &[Option<Run>], now: Tick) -> Option<usize> {
    let seats: Vec<bench::live::Seat<'_>> = tests
        .iter()
        .zip(runs)
        .map(|(chosen, run)| bench::live::Seat { name: &chosen.test.name, edition: &chosen.edition, run: run.as_ref() })
        .collect();
    bench::live::due(&seats, &[], now).first().map(|turn| turn.run)
}

/// A sample as it stands on the screen, so many seconds after the last act on record. Nothing is changed on the disk.
pub fn picture(
    data: &Path,
    named: &Named,
    (columns, rows): (u16, u16),
    theme: ThemeChoice,
    after_s: u32,
) -> Result<Buffer, Failure> {
    let unreadable = |path: &Path, why: &store::LoadError| {
        Failure::refused(format!("cannot read {}: {why}", path.display()), why.hint())
    };
    let loaded = load_sample(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let opening = &loaded.opening;
    let site = site_of(opening);
    let (mut tests, mut runs, mut last) = (Vec::new(), Vec::new(), loaded.last());
    for test in loaded.tests() {
        let Some(run) = loaded.run_of(&test.name) else {
            let found = amended(library::find(&test.method, false)?, site.as_ref())?;
            tests.push(Chosen::of(&found, test, opening.system)?);
            runs.push(None);
            continue;
        };
        let path = store::runs_folder(data).join(format!("{run}{}", store::ENDING));
        let run = store::load(&path).map_err(|why| unreadable(&path, &why))?;
        if run.last().tick > last.tick {
            last = run.last();
        }
        tests.push(Chosen {
            test,
            edition: std::sync::Arc::clone(&run.edition),
            text: run.opening.procedure_text.clone().into(),
            sha256: run.opening.procedure_sha256.clone().into(),
        });
        runs.push(Some(run.run));
    }
    let ms = u64::from(after_s) * 1_000;
    let now = Moment {
        tick: Tick(last.tick.0 + ms),
        wall: engine::Wall { unix_ms: last.wall.unix_ms.saturating_add_unsigned(ms), ..last.wall },
    };
    let facts = facts_of(site.as_ref(), opening.system, opening.opened.moment().unwrap_or(now));
    let focus = first_due(&tests, &runs, now.tick).unwrap_or(0);
    let options = BenchOptions {
        sample: opening.sample.clone(),
        quiet: true,
        theme,
        simulated: opening.simulated.clone(),
        place: data.display().to_string(),
        facts,
        site,
        day: opening.opened.moment().and_then(|opened| Date::of(opened.wall)),
        ..BenchOptions::default()
    };
    let bench = BenchModel::new(members(&tests, opening.ties), runs, focus, now, options);
    let bench = bench.with_colours(Colours::True, now);
    let area = Rect::new(0, 0, columns, rows);
    let mut buffer = Buffer::empty(area);
    bench.draw(now.tick, &mut buffer, area);
    Ok(buffer)
}

/// The samples, for the list.
pub fn listed(data: &Path) -> Result<String, Failure> {
    let all = samples(data)?;
    let mut text = String::new();
    let width = all.iter().map(|named| named.name.chars().count()).max().unwrap_or_default();
    for named in &all {
        // Writing to memory cannot fail.
        let _ = match load_sample(&named.path) {
            Ok(loaded) => {
                let (begun, open) = standing(data, &loaded).unwrap_or_default();
                let opened = loaded.opening.opened.moment().map(|at| clock::shown(at.wall)).unwrap_or_default();
                let simulated = if loaded.opening.simulated.is_some() { "  (simulated time)" } else { "" };
                let n = loaded.tests().len();
                writeln!(text, "{:width$}  {opened:16}  {begun} of {n} tests begun, {open} open{simulated}", named.name)
            }
            Err(why) => writeln!(text, "{:width$}  {:16}  cannot be read: {why}", named.name, ""),
        };
    }
    if !text.is_empty() {
        text.insert_str(0, &format!("Samples in {}\n", samples_folder(data).display()));
    }
    Ok(text)
}

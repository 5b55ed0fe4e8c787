//! What each command does, one function each.
//!
//! **Invariant:** a command that only reads changes nothing on the disk.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::{self, OpenOptions};
use std::io::{IsTerminal as _, Write as _};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use engine::{Moment, Run, Tick};
use quantity::System;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::cli::{
    CheckFormat, DemoArgs, Failure, Format, Look, ResumeArgs, RunArgs, ShotArgs, is_colourful, no_color, say,
};
use super::clock::{self, Timepiece};
use super::free::FreeArgs;
use super::keys_script::{self, KeyScript};
use super::library::{self, Found, NotFound};
use super::out::Depth;
use super::sample_command;
use super::sample_report::{self, Whole};
use super::store::{self, Keeper, Known, LoadError, Named, Resumption, Trouble};
use super::terminal::{self, Ended, Live};
use super::{exam_command, exam_record};
use super::{shot as picture, show as words};
use crate::screen::{Colours, Hands, Input, Model, Options, view};

impl From<Trouble> for Failure {
    fn from(trouble: Trouble) -> Self {
        Self::store(trouble.what, trouble.hint)
    }
}

impl From<NotFound> for Failure {
    fn from(why: NotFound) -> Self {
        let hint = why.hint();
        let source = std::error::Error::source(&why).map_or_else(String::new, |source| format!(": {source}"));
        Self::refused(format!("{why}{source}"), hint)
    }
}

fn unreadable(path: &Path, why: &LoadError) -> Failure {
    let mut what = format!("cannot read the run in {}: {why}", path.display());
    let mut source = std::error::Error::source(why);
    while let Some(deeper) = source {
        // Writing to memory cannot fail.
        let _ = write!(what, ": {deeper}");
        source = deeper.source();
    }
    Failure::refused(what, why.hint())
}

/// No command: what to type, and what is open.
pub fn overview(data: Option<&Path>) -> Result<ExitCode, Failure> {
    let mut text = String::from(
        "Pourside coaches standard tests on fresh concrete, keeps the record and computes the result.\n\n\
         \x20 pourside run air-volumetric    perform the volumetric air test\n\
         \x20 pourside sample --site FILE    every test on one sample, with all of its clocks\n\
         \x20 pourside practice              recall and rehearse on a virtual specimen\n\
         \x20 pourside exam                  mark a mock practical exam\n\
         \x20 pourside demo                  watch an invented run in fast time\n\
         \x20 pourside list                  the runs on record\n\
         \x20 pourside --help                everything else\n",
    );
    let mut known = Known::default();
    let data = store::data_folder(data)?;
    let runs = store::runs(&data).unwrap_or_default();
    let open: Vec<_> = runs.iter().map(|named| store::listed(named, &mut known)).filter(|run| run.is_open).collect();
    // Writing to memory cannot fail.
    let _ = match open.as_slice() {
        [] => Ok(()),
        [one] => writeln!(text, "\nOne run is open: {}. Go on with “pourside resume”.", one.name),
        [newest, ..] => {
            writeln!(
                text,
                "\n{} runs are open; “pourside resume” goes on with the newest, {}.",
                open.len(),
                newest.name
            )
        }
    };
    say(&text)
}

/// `run`.
pub fn run(data: Option<&Path>, args: RunArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let found = library::find(&args.method, is_colourful())?;
    if let Some(script) = &args.script {
        return crate::line::command::run_script(script, &found, args.system, args.ties, data);
    }
    let edition = choose_edition(&found, args.system, &data)?;
    let keys = args.free.key_script()?;
    let timepiece = match &keys {
        Some(script) => Timepiece::by_hand(script.start, Tick(0)),
        None => timepiece(&args)?,
    };
    let opened = Moment { tick: Tick(0), wall: timepiece.now().wall };
    let run = Run::open(Arc::clone(&edition), args.ties, opened);
    let suggestions = suggested(&args.set)?;
    let name = store::free_name(&data, opened.wall, &edition.id);
    let (ties, text, sha256) = (args.ties, found.text, found.sha256);
    let clocks = timepiece.clone();
    let (run_name, folder) = (name.clone(), data.clone());
    let keeper = move || {
        let mut opening = store::opening(&edition, &text, &sha256, ties, opened, &clocks);
        opening.run = run_name;
        Keeper::create(folder, edition, opening)
    };
    if args.look.plain {
        return plain(keeper(), run, timepiece, &args.look, None, None);
    }
    let shown = Shown { run, name, resumed: None, suggestions };
    on_screen(Box::new(keeper), shown, timepiece, &args.look, &args.free, keys.as_ref(), &data)
}

/// The edition of the unit system that was asked for, else the usual one.
fn choose_edition(found: &Found, asked: Option<System>, data: &Path) -> Result<Arc<procedure::Edition>, Failure> {
    let stated = found.systems();
    let usual = || {
        let usual = store::last_system(data).unwrap_or(System::InchPound);
        if stated.contains(&usual) { Some(usual) } else { stated.first().copied() }
    };
    asked.or_else(usual).and_then(|system| found.edition(system)).map(Arc::new).ok_or_else(|| {
        let stated: Vec<_> = stated.iter().map(System::to_string).collect();
        let asked = asked.map_or_else(|| "any unit system".to_owned(), |system| system.to_string());
        Failure::refused(
            format!("{} is not stated in {asked}", found.id()),
            format!("It is stated in {}.", stated.join(" and ")),
        )
    })
}

fn timepiece(args: &RunArgs) -> Result<Timepiece, Failure> {
    let from = match &args.simulate_from {
        None => None,
        Some(text) => Some(clock::read_rfc3339(text).ok_or_else(|| {
            Failure::usage(
                format!("“{text}” is no date and time with an offset"),
                "Write it like 2026-11-25T07:30:00-06:00.",
            )
        })?),
    };
    let from = || from.unwrap_or_else(clock::wall_now);
    Ok(match (args.simulate, &args.script) {
        (Some(speed), None) => Timepiece::simulated(speed, from(), Tick(0)),
        (_, Some(_)) => Timepiece::by_hand(from(), Tick(0)),
        (None, None) if args.simulate_from.is_some() => Timepiece::simulated(1, from(), Tick(0)),
        (None, None) => Timepiece::live(Tick(0)),
    })
}

fn suggested(set: &[String]) -> Result<BTreeMap<String, Vec<String>>, Failure> {
    let mut suggestions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for pair in set {
        let Some((reading, words)) = pair.split_once('=') else {
            return Err(Failure::usage(
                format!("--set {pair} names no words"),
                "Write it like --set technician=\"R. Example\".",
            ));
        };
        suggestions.entry(reading.trim().to_owned()).or_default().push(words.trim().to_owned());
    }
    Ok(suggestions)
}

/// `resume`.
pub fn resume(data: Option<&Path>, args: ResumeArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let sample = match &args.run {
        Some(name) => sample_command::find_sample(&data, name),
        None => sample_command::newest_open_sample(&data),
    };
    let named = match (&args.run, sample) {
        (Some(_), Some(sample)) => return sample_command::resume(&sample, None, &args),
        (Some(run), None) => find(&data, run)?,
        (None, sample) => match (newest_open(&data), sample) {
            // Names begin with day and minute. A run of a sample leads to the sample, with what is due in focus.
            (Ok(run), Some(sample))
                if run.name > sample.name && sample_command::sample_of_run(&data, &run).is_none() =>
            {
                run
            }
            (_, Some(sample)) => return sample_command::resume(&sample, None, &args),
            (run, None) => run?,
        },
    };
    if let Some((sample, test)) = sample_command::sample_of_run(&data, &named) {
        return sample_command::resume(&sample, Some(&test), &args);
    }
    let resumed = Keeper::resume(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let Resumption { keeper, loaded, timepiece, said } = resumed;
    if args.look.plain || args.script.is_some() {
        let mut keeper = keeper;
        keeper.catch_up();
        return plain(keeper, loaded.run, timepiece, &args.look, args.script.as_deref(), Some(said));
    }
    let data = keeper.data().to_owned();
    let caught_up = move || {
        let mut keeper = keeper;
        keeper.catch_up();
        keeper
    };
    let keys = args.free.key_script()?;
    if keys.is_some() && timepiece.speed() != 0 {
        return Err(not_by_keys());
    }
    let shown = Shown { run: loaded.run, name: named.name, resumed: Some(said), suggestions: BTreeMap::new() };
    on_screen(Box::new(caught_up), shown, timepiece, &args.look, &args.free, keys.as_ref(), &data)
}

fn newest_open(data: &Path) -> Result<Named, Failure> {
    store::runs(data)?.into_iter().find(|named| !store::seems_closed(&named.path)).ok_or_else(|| {
        Failure::refused(
            format!("no run is open in {}", store::runs_folder(data).display()),
            "“pourside run METHOD” begins one; “pourside resume RUN” opens a closed one to correct a reading.",
        )
    })
}

fn find(data: &Path, run: &str) -> Result<Named, Failure> {
    store::find_run(data, run).map_err(|trouble| Failure::refused(trouble.what, trouble.hint))
}

/// Keys from a file bring times of their own.
pub(super) fn not_by_keys() -> Failure {
    Failure::refused(
        "this is not in the time of a file of keys, and such a file brings times of its own",
        "Go on with it live; a file of keys only goes on with what one began.",
    )
}

/// What a run on the screen starts from.
struct Shown {
    run: Run,
    name: String,
    resumed: Option<String>,
    suggestions: BTreeMap<String, Vec<String>>,
}

fn on_screen(
    keeper: Box<dyn FnOnce() -> Keeper>,
    shown: Shown,
    timepiece: Timepiece,
    look: &Look,
    free: &FreeArgs,
    keys: Option<&KeyScript>,
    data: &Path,
) -> Result<ExitCode, Failure> {
    let Shown { run, name, resumed, suggestions } = shown;
    let free = free.free(look, &timepiece);
    let options = Options {
        quiet: look.quiet,
        theme: free.theme,
        run_name: name,
        simulated: timepiece.said(),
        place: data.display().to_string(),
        resumed: [resumed, free.faults.clone()].into_iter().flatten().reduce(|a, b| format!("{a} {b}")),
    };
    let depth = colour_depth(look.theme, no_color());
    let model = Model::new(run, timepiece.now(), options).with_colours(terminal::colours(depth));
    let records = move || {
        let keeper = keeper();
        let first = match keeper.trouble() {
            None => Input::Kept { entries: keeper.n_events_kept() },
            Some(trouble) => Input::StoreFailed { what: trouble.what.clone(), hint: trouble.hint.clone() },
        };
        let words = with_earlier_words(suggestions, keeper.data(), keeper.edition(), keeper.name());
        let words = (!words.is_empty()).then_some((0, Input::Suggestions(words)));
        (keeper, std::iter::once((0, first)).chain(words).collect())
    };
    if let Some(script) = keys {
        let (keeper, first) = records();
        let shown = Hands::new(model, script.settings(free.settings));
        let keeper = keys_script::play(script, shown, timepiece, keeper, first, &mut std::io::stdout().lock())
            .map_err(|why| Failure::refused(format!("cannot write: {why}"), ""))?;
        return take_leave(Ended::Left, keeper);
    }
    let rim = free.rim(&timepiece);
    let live = Live { shown: Hands::new(model, free.settings), timepiece, records: Box::new(records), depth, rim };
    let (ended, keeper) = terminal::perform(live).map_err(|why| {
        Failure::refused(
            format!("cannot use this terminal: {why}"),
            "“--plain” works without one: lines in, lines out.",
        )
    })?;
    take_leave(ended, keeper)
}

/// How many colours the terminal says it has.
pub(super) fn colour_depth(theme: super::cli::Theme, no_color: bool) -> Depth {
    let var = |name| std::env::var(name).ok();
    let no_color = (no_color && theme == super::cli::Theme::Auto).then_some("1");
    Depth::announced(no_color, var("COLORTERM").as_deref(), var("TERM").as_deref())
}

/// Words to offer first, before those of earlier runs.
pub(super) fn with_earlier_words(
    mut first: BTreeMap<String, Vec<String>>,
    data: &Path,
    edition: &procedure::Edition,
    but_not: &str,
) -> BTreeMap<String, Vec<String>> {
    for (reading, words) in store::suggestions(data, edition, but_not) {
        let offered = first.entry(reading).or_default();
        let new: Vec<_> = words.into_iter().filter(|word| !offered.contains(word)).collect();
        offered.extend(new);
    }
    first
}

/// What is said when the screen is gone. What is not on the disk by now is tried once more, and printed if need be.
fn take_leave(ended: Ended, mut keeper: Keeper) -> Result<ExitCode, Failure> {
    if keeper.trouble().is_some()
        && let Err(trouble) = keeper.retry()
    {
        return Err(Failure::on_no_disk(&keeper, &trouble));
    }
    match ended {
        Ended::Left => {
            let path = keeper.path().display().to_string();
            // In another folder than the usual one a name alone would not be found.
            let is_usual = store::data_folder(None).is_ok_and(|usual| usual == keeper.data());
            let run = if is_usual { keeper.name() } else { &path };
            let is_closed = keeper.load().is_ok_and(|loaded| !store::is_open(&loaded.run));
            let resume = if is_closed { String::new() } else { format!("  pourside resume {run}\n") };
            say(&format!("The run is kept in {path}\n{resume}  pourside report {run}\n"))
        }
        Ended::Signal(signal) => Ok(ExitCode::from(128_u8.wrapping_add(signal as u8))),
        // As a hang-up.
        Ended::Gone => Ok(ExitCode::from(129)),
    }
}

/// `list`.
pub fn list(data: Option<&Path>) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let mut known = Known::default();
    let runs: Vec<_> = store::runs(&data)?.iter().map(|named| store::listed(named, &mut known)).collect();
    let samples = sample_command::listed(&data)?;
    if runs.is_empty() && !samples.is_empty() {
        return say(&samples);
    }
    if runs.is_empty() {
        return say(&format!("No runs in {}.\n", store::runs_folder(&data).display()));
    }
    let width = runs.iter().map(|run| run.name.chars().count()).max().unwrap_or_default();
    let mut text = samples;
    if !text.is_empty() {
        text.push_str("\nRuns\n");
    }
    for run in runs {
        let simulated = if run.simulated { "  (simulated time)" } else { "" };
        let results = if run.results.is_empty() { String::new() } else { format!("  {}", run.results.join(", ")) };
        // Writing to memory cannot fail.
        let _ = writeln!(text, "{:width$}  {:16}  {}{results}{simulated}", run.name, run.opened, run.state);
    }
    say(&text)
}

/// `show`.
pub fn show(data: Option<&Path>, run: Option<&str>) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    if let Some(sample) = run.and_then(|name| sample_command::find_sample(&data, name)) {
        return say(&sample_report::shown(&data, &sample)?);
    }
    let named = find_or_newest(&data, run)?;
    let (text, failure) = words::record(&named.path)?;
    say(&text)?;
    failure.map_or(Ok(ExitCode::SUCCESS), Err)
}

/// `verify`.
pub fn verify(data: Option<&Path>, run: Option<&str>) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    if let Some(sample) = run.and_then(|name| sample_command::find_sample(&data, name)) {
        let (text, is_sound) = sample_report::verified(&data, &sample)?;
        say(&text)?;
        return Ok(ExitCode::from(u8::from(!is_sound)));
    }
    if let Some(name) = run.filter(|name| exam_record::exam_file(&data, name).exists()) {
        return say(&exam_command::verified(&data, name)?);
    }
    let named = find_or_newest(&data, run)?;
    let loaded = store::load(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let mut text = format!(
        "{}: sound.\n{} lines, each chained to the one before; performed again, every one follows.\n\
         Last sum: {}\nProcedure: {} version {}, SHA-256 {}\n",
        named.name,
        loaded.lines.len(),
        loaded.last_sum,
        loaded.opening.procedure,
        loaded.opening.procedure_version,
        loaded.opening.procedure_sha256,
    );
    if let Some(torn) = &loaded.torn {
        let what = if torn.complete_line {
            "A whole last line after them is damaged: it may have been recorded. Resuming sets it aside in a file of its own."
        } else {
            "After them stands a line that was never finished, so never recorded. Resuming sets it aside in a file of its own."
        };
        // Writing to memory cannot fail.
        let _ = writeln!(text, "{what} ({} bytes at byte {})", torn.bytes.len(), torn.offset);
        say(&text)?;
        return Ok(ExitCode::from(u8::from(torn.complete_line)));
    }
    say(&text)
}

/// `report`.
pub fn report(
    data: Option<&Path>,
    run: Option<&str>,
    format: Format,
    output: Option<&Path>,
) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    if let Some(sample) = run.and_then(|name| sample_command::find_sample(&data, name)) {
        return put(&sample_report::render(&Whole::read(&data, &sample)?, format)?, output);
    }
    let named = find_or_newest(&data, run)?;
    if run.is_none()
        && let Some((sample, _)) = sample_command::sample_of_run(&data, &named)
    {
        return put(&sample_report::render(&Whole::read(&data, &sample)?, format)?, output);
    }
    let loaded = store::load(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    let report = match format {
        Format::Text => crate::report::as_text(&loaded).into_bytes(),
        Format::Json => crate::report::as_json(&loaded).into_bytes(),
        Format::Csv => crate::report::as_csv(&loaded).into_bytes(),
        Format::Html | Format::Pdf | Format::Svg | Format::Ics => {
            sample_report::render(&Whole::of_run(loaded), format)?
        }
    };
    put(&report, output)
}

fn find_or_newest(data: &Path, run: Option<&str>) -> Result<Named, Failure> {
    match run {
        Some(run) => find(data, run),
        None => store::runs(data)?.into_iter().next().ok_or_else(|| {
            Failure::refused(
                format!("no runs in {}", store::runs_folder(data).display()),
                "“pourside run METHOD” begins one.",
            )
        }),
    }
}

/// Prints, or writes a new file.
pub(super) fn put(report: &[u8], output: Option<&Path>) -> Result<ExitCode, Failure> {
    let Some(path) = output else { return print(report) };
    let failed = |why: std::io::Error| {
        let hint = match why.kind() {
            std::io::ErrorKind::AlreadyExists => "Choose another name: nothing is written over.",
            _ => "Check the folder and that you may write there.",
        };
        Failure::store(format!("cannot write {}: {why}", path.display()), hint)
    };
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(failed)?;
    file.write_all(report).and_then(|()| file.sync_all()).map_err(failed)?;
    Ok(ExitCode::SUCCESS)
}

fn print(report: &[u8]) -> Result<ExitCode, Failure> {
    match std::str::from_utf8(report) {
        Ok(text) => say(text),
        Err(_) if std::io::stdout().is_terminal() => {
            Err(Failure::usage("this form is not text", "Name a file for it with --output FILE."))
        }
        Err(_) => match std::io::stdout().lock().write_all(report) {
            Err(why) if why.kind() != std::io::ErrorKind::BrokenPipe => {
                Err(Failure::refused(format!("cannot write: {why}"), "Is the disk full, or the file closed?"))
            }
            _ => Ok(ExitCode::SUCCESS),
        },
    }
}

/// Whether a text is meant to be a site file: it opens `[site]` and no `[procedure]`.
fn is_site_file(source: &str) -> bool {
    let opens = |header: &str| source.lines().any(|line| line.trim_start().starts_with(header));
    opens("[site]") && !opens("[procedure]")
}

/// `check`.
pub fn check(files: &[std::path::PathBuf], format: CheckFormat) -> Result<ExitCode, Failure> {
    let mut text = String::new();
    let mut is_fine = true;
    let mut faults = Vec::new();
    for file in files {
        let name = file.display().to_string();
        let read = fs::read(file).map_err(|why| {
            Failure::refused(
                format!("cannot read {name}: {why}"),
                "Check the name of the file and that you may read it.",
            )
        })?;
        let source = String::from_utf8(read).map_err(|why| {
            Failure::refused(
                format!("{name} is not UTF-8 text: byte {} is none", why.utf8_error().valid_up_to()),
                "Save it as UTF-8.",
            )
        })?;
        let (diagnostics, outcome) = if is_site_file(&source) {
            let checked = bench::site::check(&name, &source);
            let outcome = checked.site.map(|site| match sample_command::cannot_be_set(&site) {
                None => Ok(format!("site file of {}, {} limits", site.project, site.limits.len())),
                Some(why) => Err(why),
            });
            (checked.diagnostics, outcome)
        } else {
            let checked = procedure::check(&name, &source);
            let outcome = checked.procedure.map(|found| {
                let systems: Vec<_> = found.editions.iter().map(|edition| edition.system.to_string()).collect();
                let n_steps = found.editions.first().map_or(0, |edition| edition.steps.len());
                Ok(format!("{}, {n_steps} steps, {}", found.id, systems.join(" and ")))
            });
            (checked.diagnostics, outcome)
        };
        is_fine &= matches!(outcome, Some(Ok(_)));
        match format {
            CheckFormat::Json => {
                let json = procedure::diagnose::to_json(&name, &source, &diagnostics);
                // It is a list, as written there.
                faults.extend(serde_json::from_str::<Vec<serde_json::Value>>(&json).unwrap_or_default());
                if let Some(Err(why)) = outcome {
                    faults.push(serde_json::json!({ "file": name, "title": why.what, "help": why.hint }));
                }
            }
            CheckFormat::Text => {
                text.push_str(&procedure::diagnose::render(&name, &source, &diagnostics, is_colourful()));
                // Writing to memory cannot fail.
                let _ = match outcome {
                    Some(Ok(what)) => writeln!(text, "{name}: fine ({what})"),
                    Some(Err(why)) => writeln!(text, "{name}: {}\n{}", why.what, why.hint),
                    None => Ok(()),
                };
            }
        }
    }
    if format == CheckFormat::Json {
        // One list for all files, so that whoever reads it reads one document.
        let _ = writeln!(text, "{:#}", serde_json::Value::from(faults));
    }
    say(&text)?;
    Ok(ExitCode::from(u8::from(!is_fine)))
}

/// `methods`.
pub fn methods() -> Result<ExitCode, Failure> {
    let mut text = String::new();
    for shipped in library::SHIPPED {
        let systems: Vec<_> = shipped.systems().map(|system| system.to_string()).collect();
        let Some(edition) = shipped.systems().next().and_then(|system| shipped.edition(system)) else { continue };
        let basis: Vec<_> = edition.basis.iter().map(|basis| basis.designation.as_str()).collect();
        // Writing to memory cannot fail.
        let _ = writeln!(
            text,
            "{}\n  {}\n  {}; {}; procedure version {}",
            shipped.id,
            edition.title,
            basis.join(", "),
            systems.join(" or "),
            edition.version
        );
    }
    say(&text)
}

/// `shot`.
pub fn shot(data: Option<&Path>, args: ShotArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    if let Some(sample) = sample_command::find_sample(&data, &args.what) {
        let theme = args.theme.choice();
        let buffer = sample_command::picture(&data, &sample, args.size, theme, args.after)?;
        return put(picture::svg(&buffer, picture::Paper::of(theme)).as_bytes(), args.output.as_deref());
    }
    let (run, name, simulated) = match store::find_run(&data, &args.what) {
        Ok(named) => {
            let loaded = store::load(&named.path).map_err(|why| unreadable(&named.path, &why))?;
            (loaded.run, named.name, loaded.opening.simulated)
        }
        Err(_) => {
            let found = library::find(&args.what, false)?;
            let edition = choose_edition(&found, None, &data)?;
            let opened = Moment { tick: Tick(0), wall: clock::wall_now() };
            let name = store::run_name(opened.wall, &edition.id, 0);
            (Run::open(edition, quantity::Ties::Even, opened), name, None)
        }
    };
    let mut now = run.last();
    now.tick.0 += u64::from(args.after) * 1_000;
    now.wall.unix_ms += i64::from(args.after) * 1_000;
    let theme = args.theme.choice();
    let place = data.display().to_string();
    let options = Options { quiet: true, theme, run_name: name, simulated, place, resumed: None };
    let model = Model::new(run, now, options).with_colours(Colours::True);
    let (columns, rows) = args.size;
    let mut terminal = Terminal::new(TestBackend::new(columns, rows))
        .map_err(|why| Failure::refused(why.to_string(), "Choose another size."))?;
    let drawn = terminal.draw(|frame| view(&model, now, frame));
    let buffer = drawn.map_err(|why| Failure::refused(why.to_string(), "Choose another size."))?.buffer;
    put(picture::svg(buffer, picture::Paper::of(theme)).as_bytes(), args.output.as_deref())
}

fn plain(
    keeper: Keeper,
    run: Run,
    timepiece: Timepiece,
    _look: &Look,
    script: Option<&Path>,
    said: Option<String>,
) -> Result<ExitCode, Failure> {
    crate::line::command::lead(keeper, run, &timepiece, script, said)
}

/// `demo`.
pub fn demo(data: Option<&Path>, args: DemoArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let look = &args.look;
    let depth = colour_depth(look.theme, no_color());
    let options = Options { quiet: look.quiet, theme: look.theme.choice(), ..Options::default() };
    crate::demo::command(args.name.as_deref(), data, options, depth, look.plain)
}

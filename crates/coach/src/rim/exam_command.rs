//! `exam`: practice exams, from the two files an instructor writes to the sheets that are handed out.
//!
//! Here: reading those files, opening the marking screen, writing sheets. Not here: what a mark means (the crate `exam`),
//! what a key does (`screen::exam`), what a line of the record means (`exam_record`).
//!
//! **Invariant:** what is asked in an exam is what stands in its record, never what the files say by now.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use engine::{Tick, Wall};
use exam::{Exam, MarkSheet, Names, Roster, State, config, roster};
use procedure::Procedure;
use quantity::System;

use super::cli::{ExamArgs, ExamCommand, ExamSheetArgs, Failure, PaperFormat, is_colourful, no_color, say};
use super::clock::{self, Timepiece};
use super::commands::{colour_depth, put};
use super::exam_record::{
    EXAM, ExamKeeper, ExamOpening, ExamResumption, FileText, LoadedExam, ProcedureText, exam_file, exams, exams_folder,
    load_exam,
};
use super::library::{self, Found};
use super::record::{Known, LoadError, Stamp};
use super::store::{self, Named, TOOL};
use super::terminal::{self, Ended, Live};
use crate::screen::exam::{ExamModel, ExamOptions};

/// `exam`.
pub fn exam(data: Option<&Path>, args: ExamArgs) -> Result<ExitCode, Failure> {
    match args.command {
        // Neither touches what is kept.
        Some(ExamCommand::Check { files }) => return check(&files),
        Some(ExamCommand::Sample { output }) => return sample(&output),
        _ => {}
    }
    let data = store::data_folder(data)?;
    match args.command {
        None => mark(&data, args.name.as_deref(), args.rater, args.quiet, args.theme),
        Some(ExamCommand::New { exam, roster, name, simulate }) => {
            new(&data, &exam, &roster, name.as_deref(), simulate)
        }
        Some(ExamCommand::List) => list(&data),
        Some(ExamCommand::Sheets { sheets, candidate }) => write_sheets(&data, &sheets, candidate.as_deref()),
        Some(ExamCommand::Class(sheets)) => class(&data, &sheets),
        Some(ExamCommand::Export { name, output, anonymous }) => {
            let (_, state) = read(&data, name.as_deref())?;
            put(super::exam_export::csv(&state, names(anonymous)).as_bytes(), output.as_deref())
        }
        Some(ExamCommand::Check { .. } | ExamCommand::Sample { .. }) => Ok(ExitCode::SUCCESS),
    }
}

fn names(anonymous: bool) -> Names {
    if anonymous { Names::LeftOut } else { Names::Shown }
}

// ---------------------------------------------------------------------------------------------- the two files

/// The file an instructor starts from.
const SAMPLE_EXAM: &str = include_str!("exam_sample/exam.toml");
/// The roster an instructor starts from: invented names.
const SAMPLE_ROSTER: &str = include_str!("exam_sample/roster.csv");

fn sample(output: &Path) -> Result<ExitCode, Failure> {
    fs::create_dir_all(output).map_err(|why| {
        Failure::store(format!("cannot make the folder {}: {why}", output.display()), "Choose another folder.")
    })?;
    let (exam, roster) = (output.join("exam.toml"), output.join("roster.csv"));
    nothing_written_over(&[exam.clone(), roster.clone()])?;
    put(SAMPLE_EXAM.as_bytes(), Some(&exam))?;
    put(SAMPLE_ROSTER.as_bytes(), Some(&roster))?;
    say(&format!(
        "Written: {} and {}.\nChange both as you like, look at them with “pourside exam check”, then\n  \
         pourside exam new --exam {} --roster {} NAME\n",
        exam.display(),
        roster.display(),
        exam.display(),
        roster.display(),
    ))
}

/// Refuses before anything is written, so that no half of a set of files is left.
fn nothing_written_over(paths: &[PathBuf]) -> Result<(), Failure> {
    match paths.iter().find(|path| path.exists()) {
        Some(there) => Err(Failure::store(
            format!("{} is there already", there.display()),
            "Nothing was written: choose another folder, or move it away first.",
        )),
        None => Ok(()),
    }
}

fn text_of(path: &Path, what: &str) -> Result<FileText, Failure> {
    let file = path.display().to_string();
    let text = fs::read_to_string(path).map_err(|why| {
        Failure::refused(
            format!("cannot read the {what} {file}: {why}"),
            "Check the name of the file, that you may read it, and that it is UTF-8 text.",
        )
    })?;
    Ok(FileText { file, text })
}

/// The procedures an exam may name: those that come with the program, else a file of that name beside the exam's.
#[derive(Default)]
struct Procedures {
    found: Vec<(String, Found, Procedure)>,
}

impl Procedures {
    /// Reads the procedures with these ids; one that is not found is left to the checks to be named.
    fn read<'i>(ids: impl Iterator<Item = &'i str>, beside: Option<&Path>) -> Result<Self, Failure> {
        let mut procedures = Self::default();
        for id in ids {
            if procedures.of(id).is_some() {
                continue;
            }
            let own = beside.map(|folder| folder.join(format!("{id}.toml"))).filter(|path| path.is_file());
            let found = match own {
                Some(path) => library::find(&path.display().to_string(), is_colourful())?,
                None => match library::SHIPPED.iter().find(|shipped| shipped.id == id) {
                    Some(shipped) => library::find(shipped.id, is_colourful())?,
                    None => continue,
                },
            };
            if found.id() != id {
                continue;
            }
            let editions = found.systems().into_iter().filter_map(|system| found.edition(system)).collect();
            let procedure = whole(id, editions);
            procedures.found.push((id.to_owned(), found, procedure));
        }
        Ok(procedures)
    }

    fn of(&self, id: &str) -> Option<&Procedure> {
        self.found.iter().find(|(known, ..)| known == id).map(|(_, _, procedure)| procedure)
    }
}

fn whole(id: &str, editions: Vec<procedure::Edition>) -> Procedure {
    let first = editions.first();
    let title = first.map_or_else(|| id.to_owned(), |edition| edition.title.clone());
    let version = first.map_or_else(String::new, |edition| edition.version.clone());
    Procedure { id: id.to_owned(), title, version, editions }
}

/// The ids that stand in an exam's file, however faulty the rest of it is.
fn ids_in(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter_map(|line| {
        let value = line.trim_start().strip_prefix("id")?.trim_start().strip_prefix('=')?.trim_start();
        let quote = value.chars().next().filter(|sign| matches!(sign, '"' | '\''))?;
        value[1..].split(quote).next().filter(|id| !id.is_empty() && !id.contains(['/', '\\']))
    })
}

/// What an exam's file says, with the procedures it names.
fn read_config(config: &FileText, path: &Path) -> Result<(Exam, Procedures, Vec<MarkSheet>), Failure> {
    let procedures = Procedures::read(ids_in(&config.text), path.parent())?;
    let checked = config::check_with(&config.file, &config.text, |id| procedures.of(id));
    let Some(exam) = checked.exam else {
        let shown = procedure::diagnose::render(&config.file, &config.text, &checked.diagnostics, is_colourful());
        return Err(Failure::refused(format!("{} is no exam this program can hold", config.file), shown));
    };
    let sheets = exam::sheets(&exam, |id| procedures.of(id)).map_err(|faults| {
        let faults: Vec<String> = faults.iter().map(|fault| format!("  {fault}")).collect();
        Failure::refused(format!("{} cannot be held:\n{}", config.file, faults.join("\n")), METHODS_HINT)
    })?;
    Ok((exam, procedures, sheets))
}

const METHODS_HINT: &str = "“pourside methods” lists the methods; a procedure of your own stands beside the exam's file, \
                            named by its id.";

fn read_roster(text: &FileText, exam: Option<&Exam>) -> Result<Roster, Failure> {
    let roster = roster::read(&text.text);
    let faults = match (&roster, exam) {
        (Err(faults), _) => faults.clone(),
        (Ok(roster), Some(exam)) => roster.beyond(exam.stations),
        (Ok(_), None) => Vec::new(),
    };
    let faults: Vec<String> = faults.iter().map(|fault| format!("  {fault}")).collect();
    match roster {
        Ok(roster) if faults.is_empty() => Ok(roster),
        _ => Err(Failure::refused(
            format!(
                "{} is no roster: {} {}\n{}",
                text.file,
                faults.len(),
                if faults.len() == 1 { "fault" } else { "faults" },
                faults.join("\n")
            ),
            "Its columns are number,name,station,note; the last two may be missing. “pourside exam sample” writes one.",
        )),
    }
}

fn is_roster(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"))
}

fn check(files: &[PathBuf]) -> Result<ExitCode, Failure> {
    let mut is_fine = true;
    let mut text = String::new();
    let mut said = |outcome: Result<String, Failure>| {
        // Writing to memory cannot fail.
        let _ = match outcome {
            Ok(words) => writeln!(text, "{words}"),
            Err(why) => {
                is_fine = false;
                writeln!(text, "{}\n{}", why.what, why.hint)
            }
        };
    };
    let mut held = None;
    for path in files.iter().filter(|path| !is_roster(path)) {
        let outcome = text_of(path, "exam").and_then(|config| {
            let (exam, _, sheets) = read_config(&config, path)?;
            let words = format!("{}: fine ({})", config.file, exam_words(&exam, &sheets));
            held = Some(exam);
            Ok(words)
        });
        said(outcome);
    }
    for path in files.iter().filter(|path| is_roster(path)) {
        let outcome = text_of(path, "roster").and_then(|file| {
            let roster = read_roster(&file, held.as_ref())?;
            Ok(format!("{}: fine ({} candidates)", file.file, roster.candidates.len()))
        });
        said(outcome);
    }
    say(&text)?;
    Ok(ExitCode::from(u8::from(!is_fine)))
}

fn exam_words(exam: &Exam, sheets: &[MarkSheet]) -> String {
    let methods: Vec<String> =
        sheets.iter().map(|sheet| format!("{} with {} acts", sheet.method, sheet.items.len())).collect();
    let stations = if exam.stations == 1 { "1 station".to_owned() } else { format!("{} stations", exam.stations) };
    format!("{}; {stations}; {}", exam.title, methods.join(", "))
}

// ---------------------------------------------------------------------------------------------- a new exam

fn new(
    data: &Path,
    config_path: &Path,
    roster_path: &Path,
    name: Option<&str>,
    simulate: Option<u32>,
) -> Result<ExitCode, Failure> {
    let config = text_of(config_path, "exam")?;
    let (exam, procedures, sheets) = read_config(&config, config_path)?;
    let roster_text = text_of(roster_path, "roster")?;
    let roster = read_roster(&roster_text, Some(&exam))?;
    let timepiece = match simulate {
        Some(speed) => Timepiece::simulated(speed, clock::wall_now(), Tick(0)),
        None => Timepiece::live(Tick(0)),
    };
    let opened = timepiece.now();
    let name = match name {
        Some(name) => name.to_owned(),
        None => free_name(data, &exam.title, opened.wall),
    };
    if name.is_empty()
        || name.starts_with('.')
        || name.contains(|sign: char| "/\\:*?\"<>|".contains(sign) || sign.is_control())
    {
        return Err(Failure::usage(
            format!("“{name}” can be no name of an exam"),
            "Letters, figures and hyphens are fine.",
        ));
    }
    let opening = ExamOpening {
        exam_record: EXAM,
        exam: name.clone(),
        tool: TOOL.to_owned(),
        simulated: timepiece.said(),
        speed: timepiece.is_simulated().then(|| timepiece.speed()),
        opened: Stamp::of(opened),
        boot: clock::boot(),
        steady_ms: timepiece.origin_ms(),
        config,
        roster: roster_text,
        procedures: procedures
            .found
            .iter()
            .map(|(id, found, _)| ProcedureText {
                id: id.clone(),
                sha256: found.sha256.clone().into_owned(),
                text: found.text.clone().into_owned(),
            })
            .collect(),
    };
    if exam_file(data, &name).exists() {
        return Err(Failure::store(
            format!("there is an exam called “{name}” already"),
            format!("Choose another name; “pourside exam {name}” goes on with that one."),
        ));
    }
    let keeper = ExamKeeper::create(data, opening)?;
    let n = roster.candidates.len();
    say(&format!(
        "Made: {}\n{}; {n} candidates.\nMark it with\n  pourside exam {name}\n",
        keeper.path().display(),
        exam_words(&exam, &sheets),
    ))
}

fn free_name(data: &Path, title: &str, opened: Wall) -> String {
    let mut slug = String::new();
    for sign in title.to_lowercase().chars() {
        match sign {
            sign if sign.is_ascii_alphanumeric() => slug.push(sign),
            _ if slug.ends_with('-') || slug.is_empty() => {}
            _ => slug.push('-'),
        }
    }
    slug.truncate(40);
    let base = format!("{}-{}", clock::day(opened), slug.trim_matches('-'));
    let base = base.trim_end_matches('-').to_owned();
    let numbered = (2..1_000).map(|n| format!("{base}-{n}"));
    std::iter::once(base.clone()).chain(numbered).find(|name| !exam_file(data, name).exists()).unwrap_or(base)
}

// ---------------------------------------------------------------------------------------------- what is kept

fn find(data: &Path, name: Option<&str>) -> Result<Named, Failure> {
    let all = exams(data)?;
    let Some(name) = name else {
        return all.into_iter().next().ok_or_else(|| {
            Failure::refused(
                format!("there is no exam in {}", exams_folder(data).display()),
                "“pourside exam sample --output FOLDER” writes the two files an exam is made of;\n\
                 “pourside exam new --exam FILE --roster FILE” makes one.",
            )
        });
    };
    let path = Path::new(name);
    if name.ends_with(store::ENDING) && path.is_file() {
        let stem = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
        return Ok(Named { name: stem, path: path.to_owned() });
    }
    if let Some(exact) = all.iter().find(|named| named.name == name) {
        return Ok(exact.clone());
    }
    let fits: Vec<&Named> =
        all.iter().filter(|named| named.name.starts_with(name) || named.name.ends_with(name)).collect();
    match fits.as_slice() {
        [one] => Ok(Named::clone(one)),
        several => {
            let names = if several.is_empty() { all.iter().collect() } else { several.to_vec() };
            let names: Vec<String> = names.iter().take(8).map(|named| format!("  {}", named.name)).collect();
            let hint = if names.is_empty() {
                "“pourside exam new” makes one.".to_owned()
            } else {
                format!("There are:\n{}", names.join("\n"))
            };
            let what = if several.is_empty() { "there is no exam called" } else { "more than one exam fits" };
            Err(Failure::refused(format!("{what} “{name}”"), hint))
        }
    }
}

/// The exam as its record tells it: what was asked, and everything that happened.
fn state_of(loaded: &LoadedExam) -> Result<State, LoadError> {
    let opening = &loaded.opening;
    let mut known = Known::default();
    let config = &opening.config;
    let mut procedures: Vec<Procedure> = Vec::new();
    for ProcedureText { id, sha256, text } in &opening.procedures {
        let mut editions = Vec::new();
        for system in [System::InchPound, System::Si] {
            match known.edition_of(id, text, sha256, system) {
                Ok(edition) => editions.push(edition.as_ref().clone()),
                Err(LoadError::NoEdition { .. }) => {}
                Err(why) => return Err(why),
            }
        }
        procedures.push(whole(id, editions));
    }
    let of = |id: &str| procedures.iter().find(|procedure| procedure.id == id);
    let checked = config::check_with(&config.file, &config.text, of);
    let exam = checked.exam.ok_or_else(|| LoadError::Exam {
        shown: procedure::diagnose::render(&config.file, &config.text, &checked.diagnostics, false),
    })?;
    let lines = |lines: Vec<String>| LoadError::Exam { shown: lines.join("\n") };
    let roster =
        roster::read(&opening.roster.text).map_err(|faults| lines(faults.iter().map(ToString::to_string).collect()))?;
    let sheets = exam::sheets(&exam, of).map_err(|faults| lines(faults.iter().map(ToString::to_string).collect()))?;
    let mut state = State::open(exam, roster, sheets);
    for (n, (event, at)) in loaded.events.iter().enumerate() {
        state
            .apply(event.clone(), *at)
            .map_err(|why| LoadError::Refused { line: loaded.line_of(n), why: why.to_string() })?;
    }
    Ok(state)
}

fn unreadable(path: &Path, why: &LoadError) -> Failure {
    let mut what = format!("cannot read the exam in {}: {why}", path.display());
    let mut source = std::error::Error::source(why);
    while let Some(deeper) = source {
        // Writing to memory cannot fail.
        let _ = write!(what, ": {deeper}");
        source = deeper.source();
    }
    Failure::refused(what, why.hint())
}

fn read(data: &Path, name: Option<&str>) -> Result<(Named, State), Failure> {
    let named = find(data, name)?;
    let read = load_exam(&named.path).and_then(|loaded| state_of(&loaded));
    let state = read.map_err(|why| unreadable(&named.path, &why))?;
    Ok((named, state))
}

/// What there is to say of an exam's record, read whole and performed again.
///
/// # Errors
///
/// [`Failure`] for a damaged file, or a line that does not follow from those before it.
pub fn verified(data: &Path, name: &str) -> Result<String, Failure> {
    let named = find(data, Some(name))?;
    let loaded = load_exam(&named.path).map_err(|why| unreadable(&named.path, &why))?;
    state_of(&loaded).map_err(|why| unreadable(&named.path, &why))?;
    let mut text = format!(
        "{}: sound.\n{} lines, each chained to the one before; performed again, every one of {} acts follows.\n",
        named.name,
        loaded.lines.len(),
        loaded.events.len()
    );
    if loaded.torn.is_some() {
        text.push_str("After them stands a line that was never finished, so never recorded. It is set aside when marking goes on.\n");
    }
    Ok(text)
}

fn list(data: &Path) -> Result<ExitCode, Failure> {
    let all = exams(data)?;
    if all.is_empty() {
        return say(&format!("No exams in {}.\n", exams_folder(data).display()));
    }
    let width = all.iter().map(|named| named.name.chars().count()).max().unwrap_or_default();
    let mut text = String::new();
    for named in all {
        let loaded = load_exam(&named.path).and_then(|loaded| Ok((state_of(&loaded)?, loaded)));
        // Writing to memory cannot fail.
        let _ = match loaded {
            Ok((state, loaded)) => {
                let opened = loaded.opening.opened.moment().map(|at| clock::shown(at.wall)).unwrap_or_default();
                let first = |view: &exam::TrialView<'_>| view.trial.scores.is_none();
                let n = state.trials().filter(first).filter(|view| view.trial.counts()).count();
                let open = state.trials().filter(first).filter(|view| view.trial.is_open()).count();
                let trials = if n == 1 { "trial" } else { "trials" };
                let open = if open > 0 { format!(", {open} under way") } else { String::new() };
                let simulated = if loaded.opening.simulated.is_some() { "  (simulated time)" } else { "" };
                writeln!(
                    text,
                    "{:width$}  {opened:16}  {}: {} candidates, {n} {trials}{open}{simulated}",
                    named.name,
                    state.exam().title,
                    state.roster().candidates.len(),
                )
            }
            Err(why) => writeln!(text, "{:width$}  {:16}  cannot be read: {why}", named.name, ""),
        };
    }
    say(&text)
}

// ---------------------------------------------------------------------------------------------- marking

fn mark(
    data: &Path,
    name: Option<&str>,
    rater: Option<String>,
    quiet: bool,
    theme: super::cli::Theme,
) -> Result<ExitCode, Failure> {
    let named = find(data, name)?;
    let resumed = ExamKeeper::resume(&named.path, state_of).map_err(|why| unreadable(&named.path, &why))?;
    let (ExamResumption { keeper, loaded, timepiece, said }, state) = resumed;
    let rater = settled_rater(rater, state.exam())?;
    let options = ExamOptions {
        rater,
        quiet,
        theme: theme.choice(),
        simulated: timepiece.said(),
        place: keeper.data().display().to_string(),
        resumed: (!loaded.events.is_empty()).then_some(said),
    };
    let depth = colour_depth(theme, no_color());
    let shown = ExamModel::new(state, options).with_colours(terminal::colours(depth));
    let records = Box::new(move || {
        let mut keeper = keeper;
        keeper.catch_up();
        let first = keeper.answer();
        (keeper, vec![first])
    });
    let (ended, keeper) = terminal::perform(Live { shown, timepiece, records, depth, rim: None }).map_err(|why| {
        Failure::refused(format!("cannot use this terminal: {why}"), "An exam is marked on a screen with keys.")
    })?;
    take_leave(ended, keeper)
}

/// Who marks: who was named, or the only one the exam names; else it is asked.
fn settled_rater(told: Option<String>, exam: &Exam) -> Result<Option<String>, Failure> {
    let Some(told) = told.map(|told| told.trim().to_owned()).filter(|told| !told.is_empty()) else {
        return Ok(match exam.raters.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        });
    };
    if exam.raters.is_empty() {
        return Ok(Some(told));
    }
    exam.raters.iter().find(|rater| rater.eq_ignore_ascii_case(&told)).cloned().map(Some).ok_or_else(|| {
        Failure::refused(
            format!("{told} is not among the raters of this exam"),
            format!("They are: {}.", exam.raters.join(", ")),
        )
    })
}

/// What is said when the screen is gone. What is not on the disk by now is tried once more, and printed if need be.
fn take_leave(ended: Ended, mut keeper: ExamKeeper) -> Result<ExitCode, Failure> {
    if keeper.trouble().is_some()
        && let Err(trouble) = keeper.retry()
    {
        return Err(Failure::lines_on_no_disk(&keeper.unkept(), &trouble));
    }
    match ended {
        Ended::Left => {
            let is_usual = store::data_folder(None).is_ok_and(|usual| usual == keeper.data());
            let path = keeper.path().display().to_string();
            let name = if is_usual { keeper.name() } else { &path };
            say(&format!(
                "The exam is kept in {path}\n\
                 \x20 pourside exam {name}\n\
                 \x20 pourside exam sheets {name} --format pdf --output sheets\n\
                 \x20 pourside exam class {name} --format pdf --output class.pdf\n"
            ))
        }
        Ended::Signal(signal) => Ok(ExitCode::from(128_u8.wrapping_add(signal as u8))),
        // As a hang-up.
        Ended::Gone => Ok(ExitCode::from(129)),
    }
}

// ---------------------------------------------------------------------------------------------- sheets

fn bytes_of(paper: &sheet::paper::Paper, format: PaperFormat) -> Vec<u8> {
    match format {
        PaperFormat::Text => paper.text(TEXT_COLUMNS).into_bytes(),
        PaperFormat::Html => paper.html().into_bytes(),
        PaperFormat::Pdf => paper.pdf(),
    }
}

/// Columns of a sheet in plain text.
const TEXT_COLUMNS: usize = 96;

fn write_sheets(data: &Path, args: &ExamSheetArgs, candidate: Option<&str>) -> Result<ExitCode, Failure> {
    let (_, state) = read(data, args.name.as_deref())?;
    let candidates: Vec<usize> = match candidate {
        None => (0..state.roster().candidates.len()).collect(),
        Some(number) => vec![candidate_place(&state, number)?],
    };
    let names = names(args.anonymous);
    let papers: Vec<(usize, Vec<u8>)> = candidates
        .into_iter()
        .filter_map(|at| Some((at, bytes_of(&exam::papers::candidate(&state, at, names)?, args.format))))
        .collect();
    let Some(folder) = &args.output else {
        if args.format == PaperFormat::Text {
            let text: Vec<String> =
                papers.into_iter().map(|(_, bytes)| String::from_utf8_lossy(&bytes).into_owned()).collect();
            return say(&text.join("\n\n"));
        }
        return Err(Failure::usage(
            "a sheet for each candidate needs a folder",
            "Name one with --output FOLDER; only --format text is printed without.",
        ));
    };
    fs::create_dir_all(folder).map_err(|why| {
        Failure::store(format!("cannot make the folder {}: {why}", folder.display()), "Choose another folder.")
    })?;
    let ending = args.format.ending();
    let paths: Vec<PathBuf> = papers
        .iter()
        .map(|(at, _)| folder.join(format!("{}.{ending}", exam::papers::file_stem(&state, *at))))
        .collect();
    nothing_written_over(&paths)?;
    for ((_, bytes), path) in papers.iter().zip(&paths) {
        put(bytes, Some(path))?;
    }
    let n = paths.len();
    say(&format!("{n} {} written to {}\n", if n == 1 { "sheet" } else { "sheets" }, folder.display()))
}

fn candidate_place(state: &State, number: &str) -> Result<usize, Failure> {
    let bare = |text: &str| text.trim_start_matches('0').to_owned();
    let candidates = &state.roster().candidates;
    let exact = candidates.iter().position(|one| one.number == number);
    let alike = || candidates.iter().position(|one| bare(&one.number) == bare(number));
    exact.or_else(alike).ok_or_else(|| {
        let numbers: Vec<&str> = candidates.iter().map(|one| one.number.as_str()).collect();
        Failure::refused(
            format!("nobody on the roster has the number {number}"),
            format!("The numbers are {}.", numbers.join(", ")),
        )
    })
}

/// What a candidate missed, for their practice.
pub struct MissedIn {
    /// The exam, in its own words.
    pub exam: String,
    /// Method and step, each once.
    pub steps: Vec<(String, String)>,
}

/// What the candidate with this number missed in an exam.
///
/// # Errors
///
/// [`Failure`] if there is no such exam or nobody of that number on its roster.
pub fn missed(data: &Path, name: Option<&str>, number: &str) -> Result<MissedIn, Failure> {
    let (named, state) = read(data, name)?;
    let place = candidate_place(&state, number)?;
    Ok(MissedIn { exam: named.name, steps: exam::practice_seed(&state, place) })
}

fn class(data: &Path, args: &ExamSheetArgs) -> Result<ExitCode, Failure> {
    let (_, state) = read(data, args.name.as_deref())?;
    put(&bytes_of(&exam::papers::class(&state, names(args.anonymous)), args.format), args.output.as_deref())
}

//! `practice`: what is due, how far somebody has come, and the way into a session.
//!
//! Here: finding the decks and the diary, and everything that is said in text. Not here: what is due and why (the crate
//! `practice`), the session on the screen (`practice_session`).
//!
//! **Invariant:** nothing is said of a person that does not follow from the diary.

use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use clap::{Args, ValueEnum};
use engine::Moment;
use practice::history::{MissedInExam, When, show_day};
use practice::progress::{MethodProgress, progress};
use practice::queue::{Limits, queue};
use practice::readiness::{Rule, readiness};
use practice::schedule::Schedule;
use practice::{Deck, Entry, History, Standings};
use procedure::Edition;
use quantity::System;

use super::cli::{Failure, Look, say};
use super::practice_record::{self, Diary, MINE};
use super::record::LoadError;
use super::{clock, commands, exam_command, library, practice_session, store};

/// `practice`.
#[derive(Debug, Args)]
pub struct PracticeArgs {
    /// The method: its name, the beginning of it, or the path of a procedure file. Without one: what is due.
    pub method: Option<String>,
    /// What is due today over all methods, without a specimen.
    #[arg(long, conflicts_with = "method")]
    pub today: bool,
    /// How many minutes of what is due.
    #[arg(long, default_value_t = 15, value_name = "MINUTES", value_parser = clap::value_parser!(u32).range(1..=240))]
    pub minutes: u32,
    /// Only the timed run without help.
    #[arg(long, requires = "method")]
    pub trial: bool,
    /// Without the timed run at the end.
    #[arg(long, requires = "method", conflicts_with = "trial")]
    pub no_trial: bool,
    /// The unit system: inch-pound or SI. Else that of the newest run.
    #[arg(long, value_name = "SYSTEM")]
    pub system: Option<System>,
    /// The same specimen and the same questions again.
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
    /// What is to come about, such as a discard; see --branches.
    #[arg(long, value_name = "NAME", requires = "method")]
    pub branch: Option<String>,
    /// List what can come about in a method, and leave.
    #[arg(long, requires = "method")]
    pub branches: bool,
    /// For rehearsal: waiting is made so many times shorter. 1 is the time of the exam.
    #[arg(long, default_value_t = 1, value_name = "TIMES", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub speed: u32,
    /// How far you have come: per step, stage and method. On a terminal with charts, else as text.
    #[arg(long)]
    pub progress: bool,
    /// Write what was practised as CSV.
    #[arg(long, value_enum, value_name = "WHAT")]
    pub export: Option<Export>,
    /// Into a file instead of to the screen; never over another file.
    #[arg(long, value_name = "FILE", requires = "export")]
    pub output: Option<PathBuf>,
    /// Put what a candidate missed in a mock exam into the queue; the newest exam if none is named.
    #[arg(long, value_name = "EXAM", num_args = 0..=1, default_missing_value = "", requires = "candidate")]
    pub from_exam: Option<String>,
    /// The candidate's number on the roster.
    #[arg(long, value_name = "NUMBER", requires = "from_exam")]
    pub candidate: Option<String>,
    /// Who practises, where several use this machine.
    #[arg(long, default_value = MINE, value_name = "NAME")]
    pub learner: String,
    /// How the screen looks.
    #[command(flatten)]
    pub look: Look,
}

/// What is exported.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum Export {
    /// Every try.
    Tries,
    /// How each step stands.
    Progress,
    /// The timed runs.
    Trials,
}

/// A method that can be practised.
#[derive(Clone, Debug)]
pub struct Method {
    /// The procedure in one unit system.
    pub edition: Arc<Edition>,
    /// What can be asked of it.
    pub deck: Deck,
}

impl Method {
    fn of(edition: Edition) -> Self {
        Self { deck: Deck::of(&edition), edition: Arc::new(edition) }
    }
}

/// Carries out `practice`.
///
/// # Errors
///
/// [`Failure`]: a wrong name, a diary that cannot be read, a file that is there already.
pub fn practice(data: Option<&Path>, args: &PracticeArgs) -> Result<ExitCode, Failure> {
    let data = store::data_folder(data)?;
    let learner = learner_of(&args.learner)?;
    let system = args.system.or_else(|| store::last_system(&data));
    if let Some(name) = args.method.as_deref().filter(|_| args.branches) {
        return branches(name, system);
    }
    if let (Some(exam), Some(candidate)) = (&args.from_exam, &args.candidate) {
        return from_exam(&data, &learner, exam, candidate);
    }
    let history = practice_record::history(&data, &learner).map_err(|why| unreadable(&data, &learner, &why))?;
    if let Some(what) = args.export {
        return export(what, &methods_for(args, system)?, &history, args.output.as_deref());
    }
    if args.progress {
        let methods = methods_for(args, system)?;
        if !args.look.plain && std::io::stdout().is_terminal() && std::io::stdin().is_terminal() {
            return practice_session::look_at_progress(&methods, &history, args);
        }
        return say(&progress_text(&methods, &history, today()));
    }
    if args.today || args.method.is_some() {
        let methods = methods_for(args, system)?;
        return practice_session::practise(&data, &learner, methods, args);
    }
    say(&overview(&methods_for(args, system)?, &history, today(), args))
}

pub(super) fn today() -> i64 {
    let wall = clock::wall_now();
    When { unix_ms: wall.unix_ms, offset_min: wall.offset_min }.day()
}

/// A name that can be the name of a file everywhere.
fn learner_of(name: &str) -> Result<String, Failure> {
    let is_fine = |letter: char| letter.is_alphanumeric() || letter == '-' || letter == '_';
    let tidy = name.trim().replace(' ', "-");
    if tidy.is_empty() || tidy.chars().count() > 40 || !tidy.chars().all(is_fine) {
        return Err(Failure::usage(
            format!("“{name}” cannot be the name of a diary"),
            "Take letters, digits, - and _, at most 40 of them, such as --learner dale.",
        ));
    }
    Ok(tidy)
}

fn unreadable(data: &Path, learner: &str, why: &LoadError) -> Failure {
    let path = practice_record::diary_file(data, learner);
    Failure::refused(format!("cannot read the diary {}: {why}", path.display()), why.hint())
}

/// The methods that are asked of: the one that was named, or all that come with the program.
fn methods_for(args: &PracticeArgs, system: Option<System>) -> Result<Vec<Method>, Failure> {
    let Some(name) = &args.method else {
        let edition = |shipped: &library::Shipped| {
            let first = shipped.systems().next();
            system
                .and_then(|system| shipped.edition(system))
                .or_else(|| first.and_then(|system| shipped.edition(system)))
        };
        return Ok(library::SHIPPED.iter().filter_map(edition).map(Method::of).collect());
    };
    Ok(vec![Method::of(method_named(name, system)?)])
}

/// The method called so, in `system` if it is stated in it.
fn method_named(name: &str, system: Option<System>) -> Result<Edition, Failure> {
    let found = library::find(name, super::cli::is_colourful())?;
    let systems = found.systems();
    let system = system.filter(|system| systems.contains(system)).or_else(|| systems.first().copied());
    system.and_then(|system| found.edition(system)).ok_or_else(|| {
        Failure::refused(format!("{} is stated in no unit system", found.id()), "Check it with “pourside check”.")
    })
}

fn branches(name: &str, system: Option<System>) -> Result<ExitCode, Failure> {
    let edition = method_named(name, system)?;
    let mut text = format!("What can come about in {} ({}):\n\n", edition.id, edition.system);
    let all = specimen::ways::branches(&edition);
    let width = all.iter().map(|branch| branch.id.chars().count()).max().unwrap_or(0).min(40);
    for branch in &all {
        // Writing to memory cannot fail.
        let _ = writeln!(text, "  {:width$}  {}", branch.id, branch.title);
    }
    let _ = writeln!(text, "\nPractise one of them with “pourside practice {} --branch NAME”.", edition.id);
    say(&text)
}

pub(super) fn standings_of(history: &History) -> Standings {
    Standings::of(history, Schedule::default())
}

fn progress_of(methods: &[Method], history: &History) -> Vec<MethodProgress> {
    let standings = standings_of(history);
    methods.iter().map(|method| progress(&method.deck, history, &standings)).collect()
}

fn export(what: Export, methods: &[Method], history: &History, output: Option<&Path>) -> Result<ExitCode, Failure> {
    let text = match what {
        Export::Tries => practice::csv::tries(history),
        Export::Trials => practice::csv::trials(history),
        Export::Progress => practice::csv::progress(&progress_of(methods, history)),
    };
    commands::put(text.as_bytes(), output)
}

/// Puts what a candidate missed in an exam into the queue. What stands there from the same exam already is not put twice.
fn from_exam(data: &Path, learner: &str, exam: &str, candidate: &str) -> Result<ExitCode, Failure> {
    let missed = exam_command::missed(data, Some(exam).filter(|exam| !exam.is_empty()), candidate)?;
    let wall = clock::wall_now();
    let now = Moment { wall, ..Moment::default() };
    let mut diary = Diary::open(data, learner, now).map_err(|why| unreadable(data, learner, &why))?;
    let at = When { unix_ms: wall.unix_ms, offset_min: wall.offset_min };
    let mut n = 0;
    for (method, step) in &missed.steps {
        let item = format!("{method}/{step}");
        let is_there = diary.history().entries().iter().any(
            |entry| matches!(entry, Entry::MissedInExam(there) if there.item == item && there.exam == missed.exam),
        );
        if !is_there {
            n += 1;
            let entry = Entry::MissedInExam(MissedInExam { at, item, exam: missed.exam.clone() });
            diary.keep(entry).map_err(Failure::from)?;
        }
    }
    if let Some(trouble) = diary.trouble() {
        return Err(Failure::store(trouble.what.clone(), trouble.hint.clone()));
    }
    say(&format!(
        "{n} of the {} acts missed in {} are put into the queue of {learner}.\nBegin: pourside practice --today\n",
        missed.steps.len(),
        missed.exam
    ))
}

/// What is due, and how each method stands.
fn overview(methods: &[Method], history: &History, today: i64, args: &PracticeArgs) -> String {
    let standings = standings_of(history);
    let decks: Vec<Deck> = methods.iter().map(|method| method.deck.clone()).collect();
    let due = queue(&decks, &standings, today, args.minutes, &Limits::default());
    let mut text = String::new();
    let minutes = due.ms.div_ceil(60_000);
    // Writing to memory cannot fail.
    let _ = match (due.items.len(), due.left_over) {
        (0, _) => writeln!(text, "Nothing is due today."),
        (n, 0) => writeln!(text, "Due today: {n} questions, about {minutes} min. Begin: pourside practice --today"),
        (n, left) => writeln!(
            text,
            "Due today: {n} questions in {minutes} min, and {left} more than fit. Begin: pourside practice --today"
        ),
    };
    for method in methods {
        let (begun, _) = begun(&method.deck, &standings);
        if begun == 0 && args.method.is_none() {
            continue;
        }
        let here = due.items.iter().filter(|item| decks[item.deck].id == method.deck.id).count();
        let ready = readiness(&method.deck, history, &standings, today, &Rule::default());
        let _ = writeln!(text, "\n{}: {here} due today\n  {}", method.deck.id, ready.words());
    }
    let fresh: Vec<&str> = methods
        .iter()
        .filter(|method| begun(&method.deck, &standings).0 == 0)
        .map(|method| method.deck.id.as_str())
        .collect();
    if !fresh.is_empty() {
        let _ = writeln!(text, "\nNot begun yet: {}.", fresh.join(", "));
    }
    let _ = writeln!(
        text,
        "\n  pourside practice METHOD            step by step on a virtual specimen, then a timed run\n\
         \x20 pourside practice METHOD --trial    the timed run alone\n\
         \x20 pourside practice --progress        how far you have come"
    );
    text
}

/// Items tried, of all.
fn begun(deck: &Deck, standings: &Standings) -> (usize, usize) {
    let tried = deck.items().iter().filter(|item| standings.get(&item.key).is_some()).count();
    (tried, deck.items().len())
}

/// How far somebody has come, as text.
pub fn progress_text(methods: &[Method], history: &History, today: i64) -> String {
    let standings = standings_of(history);
    let mut text = String::new();
    for (method, progress) in methods.iter().zip(progress_of(methods, history)) {
        let (begun, all) = begun(&method.deck, &standings);
        if begun == 0 && methods.len() > 1 {
            continue;
        }
        let ready = readiness(&method.deck, history, &standings, today, &Rule::default());
        let tally = &progress.tally;
        // Writing to memory cannot fail.
        let _ = writeln!(text, "{} ({})", progress.title, progress.id);
        let _ = writeln!(text, "  {}", ready.words());
        let _ = writeln!(
            text,
            "  asked so far {begun} of {all}; right {}; without help {}; trend: {}",
            tally.all.words(),
            tally.unhinted.words(),
            tally.trend().words()
        );
        let _ = writeln!(
            text,
            "  done on the specimen without a fault {}; instruments read right {}",
            progress.performed.words(),
            progress.readings.words()
        );
        if let Some(last) = progress.trials.last() {
            let _ = writeln!(
                text,
                "  timed runs {}; the last on {}: acts {}, readings {}, {}",
                progress.trials.len(),
                show_day(last.at.day()),
                last.acts.words(),
                last.readings.words(),
                clock::lasted(last.took_ms)
            );
        }
        for (n, stage) in progress.stages.iter().enumerate() {
            let _ = writeln!(text, "  {}: {}", stage.title, stage.tally.all.words());
            for step in progress.steps.iter().filter(|step| step.stage == n) {
                let due = step.due.map_or_else(|| "not asked yet".to_owned(), |day| format!("due {}", show_day(day)));
                let time = step.tally.median_ms.map_or_else(String::new, |ms| format!(", {} s", ms.div_ceil(1000)));
                let _ = writeln!(
                    text,
                    "    {} — {}; {}{time}; {due}",
                    step.instruction,
                    step.level.words(),
                    step.tally.all.words()
                );
            }
        }
        text.push('\n');
    }
    if text.is_empty() {
        text.push_str("Nothing has been practised yet. Begin: pourside practice slump\n");
    }
    text
}

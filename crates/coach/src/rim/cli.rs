//! The command line: what may be typed, and which part of the house answers.
//!
//! Here: arguments, the environment, exit codes, and how an error is said. Not here: what the commands do
//! (`commands`).
//!
//! | exit code | meaning |
//! |-----------|---------|
//! | 0 | done |
//! | 1 | refused or invalid: a faulty procedure, a damaged record, no such run or method |
//! | 2 | the command line itself was wrong |
//! | 3 | the record could not be kept on the disk |
//! | 128 + n | ended by signal n; the terminal is as it was and the run can be resumed |

use std::io::{self, IsTerminal as _, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, CommandFactory as _, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use quantity::{System, Ties};

use super::commands;
use super::free::FreeArgs;
use super::store::{Keeper, Trouble};
use crate::screen::ThemeChoice;

/// Coaches standard tests on fresh concrete, keeps the record, computes the result.
#[derive(Debug, Parser)]
#[command(name = "pourside", version, about, max_term_width = 100, disable_help_subcommand = true)]
#[command(args_override_self = true)]
#[command(after_help = "Local codes, the project's specification and licensed practice come first; keep the current \
                        edition of the standard at hand.\n\nExit codes: 0 done, 1 refused or invalid, 2 wrong command \
                        line, 3 the record could not be kept, 128+n ended by signal n.")]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// The folder the runs are kept in (else POURSIDE_DATA, else the platform's data folder).
    #[arg(long, global = true, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Perform a test, coached and timed.
    Run(RunArgs),
    /// Perform several tests on one sample, with all of their clocks.
    Sample(SampleArgs),
    /// Say whether the tests of a sample fit inside their windows, and in which order.
    Plan(PlanArgs),
    /// Practise: recall the acts, do them on a virtual specimen, and see what is due.
    Practice(super::practice_command::PracticeArgs),
    /// Mark a practice exam, and write its sheets.
    Exam(ExamArgs),
    /// Go on with a run or a sample that was left, killed or cut off.
    Resume(ResumeArgs),
    /// List the samples and the runs, newest first.
    List,
    /// Print every line of a run's record in words.
    Show {
        /// The run: its name, the beginning or the end of it, or its file; the newest if none is named.
        run: Option<String>,
    },
    /// Check a run's record: its chain of sums, and that every line follows from those before it.
    Verify {
        /// The run; the newest if none is named.
        run: Option<String>,
    },
    /// Write the report of a run.
    Report {
        /// The run or the sample; the newest if none is named. A sample's report is one sheet with all of its tests.
        run: Option<String>,
        /// In which form.
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        /// Into a file instead of to the screen; never over another file.
        #[arg(long, value_name = "FILE")]
        output: Option<PathBuf>,
    },
    /// Check procedure files and site files, and explain their faults.
    Check {
        /// The files.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// In which form.
        #[arg(long, value_enum, default_value_t = CheckFormat::Text)]
        format: CheckFormat,
    },
    /// Play an invented run in fast time and leave its report.
    Demo(DemoArgs),
    /// List the methods that come with the program.
    Methods,
    /// Say where the settings are and what is different in them; write the file with every setting and its default.
    Config(super::config_command::ConfigArgs),
    /// Teach the program the keys of a pedal, a clicker or a switch.
    Keys(super::keys_command::KeysArgs),
    /// Play every tone, words and a countdown; say what speaks and plays, what is missing and how to get it.
    SoundCheck(super::sound_check::SoundCheckArgs),
    /// Print a completion script for a shell.
    Completions {
        /// The shell.
        shell: Shell,
    },
    /// Write a picture (SVG) of the screen, made from the program's own buffer.
    Shot(ShotArgs),
}

/// How the screen looks.
#[derive(Debug, Clone, Args)]
pub struct Look {
    /// Colours for a dark or a light terminal, or none.
    #[arg(long, value_enum, default_value_t = Theme::Auto)]
    pub theme: Theme,
    /// No bell.
    #[arg(long)]
    pub quiet: bool,
    /// Plain lines instead of a screen: for screen readers, scripts and other front ends.
    #[arg(long)]
    pub plain: bool,
}

/// `run`.
#[derive(Debug, Args)]
pub struct RunArgs {
    /// The method: its name, the beginning of it, or the path of a procedure file.
    pub method: String,
    /// The unit system, for the whole run: inch-pound or SI. Else that of the newest run.
    #[arg(long, value_name = "SYSTEM")]
    pub system: Option<System>,
    /// Where a half goes when the result is rounded: even (ASTM E29) or up (some agencies).
    #[arg(long, value_name = "RULE", default_value = "even")]
    pub ties: Ties,
    /// How the screen looks.
    #[command(flatten)]
    pub look: Look,
    /// How the hands are kept free.
    #[command(flatten)]
    pub free: FreeArgs,
    /// Take the input from a file, in simulated time (for tests and demonstrations; implies --plain).
    #[arg(long, value_name = "FILE")]
    pub script: Option<PathBuf>,
    /// Words to offer first when a name is asked, such as --set technician="R. Example".
    #[arg(long = "set", value_name = "READING=WORDS")]
    pub set: Vec<String>,
    /// For tests and rehearsals only: time runs so many times as fast. It is stamped into the record.
    #[arg(long, value_name = "TIMES", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub simulate: Option<u32>,
    /// For tests and rehearsals only: the date and time at which simulated time begins (RFC 3339).
    #[arg(long, value_name = "WHEN", hide_short_help = true)]
    pub simulate_from: Option<String>,
}

/// `sample`.
#[derive(Debug, Args)]
pub struct SampleArgs {
    /// The site file of the job.
    #[arg(long, value_name = "FILE")]
    pub site: Option<PathBuf>,
    /// The tests, in the order in which they should be done: names of methods or paths of procedure files. Else those of
    /// the site file.
    #[arg(long, value_name = "METHODS", value_delimiter = ',')]
    pub tests: Vec<String>,
    /// The unit system, for the whole sample: inch-pound or SI. Else that of the site file, or of the newest run.
    #[arg(long, value_name = "SYSTEM")]
    pub system: Option<System>,
    /// Where a half goes when a result is rounded: even (ASTM E29) or up (some agencies). Else as the site file says.
    #[arg(long, value_name = "RULE")]
    pub ties: Option<Ties>,
    /// How the screen looks.
    #[command(flatten)]
    pub look: Look,
    /// How the hands are kept free.
    #[command(flatten)]
    pub free: FreeArgs,
    /// Take the input from a file, in simulated time (for tests and demonstrations; implies --plain).
    #[arg(long, value_name = "FILE")]
    pub script: Option<PathBuf>,
    /// For tests and rehearsals only: time runs so many times as fast. It is stamped into the record.
    #[arg(long, value_name = "TIMES", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub simulate: Option<u32>,
    /// For tests and rehearsals only: the date and time at which simulated time begins (RFC 3339).
    #[arg(long, value_name = "WHEN", hide_short_help = true)]
    pub simulate_from: Option<String>,
}

/// `plan`.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The site file of the job.
    #[arg(long, value_name = "FILE")]
    pub site: Option<PathBuf>,
    /// The tests: names of methods or paths of procedure files. Else those of the site file.
    #[arg(long, value_name = "METHODS", value_delimiter = ',')]
    pub tests: Vec<String>,
    /// The unit system: inch-pound or SI. Else that of the site file, or of the newest run.
    #[arg(long, value_name = "SYSTEM")]
    pub system: Option<System>,
    /// What is to be placed on the day, such as "180 yd³": says how many samples the specification asks for.
    #[arg(long, value_name = "VOLUME")]
    pub volume: Option<String>,
    /// How many people test.
    #[arg(long, default_value_t = 1, value_name = "PEOPLE", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub hands: u8,
    /// How quickly the work is assumed to go.
    #[arg(long, value_enum, default_value_t = PlanPace::Typical)]
    pub pace: PlanPace,
    /// How it looks.
    #[command(flatten)]
    pub look: Look,
}

/// `exam`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct ExamArgs {
    /// What to do instead of marking.
    #[command(subcommand)]
    pub command: Option<ExamCommand>,
    /// The exam to mark: its name, the beginning of it, or its file; that worked on last if none is named.
    pub name: Option<String>,
    /// Who marks; else the exam's only rater, else it is asked at the first trial.
    #[arg(long, value_name = "NAME")]
    pub rater: Option<String>,
    /// Colours for a dark or a light terminal, or none.
    #[arg(long, value_enum, default_value_t = Theme::Auto)]
    pub theme: Theme,
    /// No bell.
    #[arg(long)]
    pub quiet: bool,
}

/// What there is to do with an exam besides marking.
#[derive(Debug, Subcommand)]
pub enum ExamCommand {
    /// Write the two files an exam is made of, to be changed: exam.toml and roster.csv.
    Sample {
        /// The folder they go to.
        #[arg(long, value_name = "FOLDER", default_value = ".")]
        output: PathBuf,
    },
    /// Check exam files and rosters (*.csv), and explain their faults.
    Check {
        /// The files.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
    },
    /// Make an exam of its file and a roster; both are kept in it whole.
    New {
        /// What is asked: methods, rules, stations.
        #[arg(long, value_name = "FILE")]
        exam: PathBuf,
        /// Who takes part.
        #[arg(long, value_name = "FILE")]
        roster: PathBuf,
        /// What the exam is called; else the day and its title.
        name: Option<String>,
        /// For tests and rehearsals only: time runs so many times as fast. It is stamped into the record.
        #[arg(long, value_name = "TIMES", value_parser = clap::value_parser!(u32).range(1..=10_000), hide_short_help = true)]
        simulate: Option<u32>,
    },
    /// List the exams, those worked on last first.
    List,
    /// Write a sheet for each candidate: what was missed, why it matters, what to practise.
    Sheets {
        /// Which exam, and how.
        #[command(flatten)]
        sheets: ExamSheetArgs,
        /// Only the candidate with this number.
        #[arg(long, value_name = "NUMBER")]
        candidate: Option<String>,
    },
    /// Write the sheet of the class: results, what is missed most, reliability, agreement of raters.
    Class(ExamSheetArgs),
    /// Write every mark of every trial, for a spreadsheet (CSV).
    Export {
        /// The exam; that worked on last if none is named.
        name: Option<String>,
        /// Into a file instead of to the screen; never over another file.
        #[arg(long, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Without names, notes and reasons.
        #[arg(long)]
        anonymous: bool,
    },
}

/// Which sheets are written, and how.
#[derive(Debug, Args)]
pub struct ExamSheetArgs {
    /// The exam; that worked on last if none is named.
    pub name: Option<String>,
    /// In which form.
    #[arg(long, value_enum, default_value_t = PaperFormat::Text)]
    pub format: PaperFormat,
    /// The folder for a sheet of each candidate; the file for the sheet of the class. Never over another file.
    #[arg(long, value_name = "PLACE")]
    pub output: Option<PathBuf>,
    /// Without names, notes and reasons.
    #[arg(long)]
    pub anonymous: bool,
}

/// Forms of a sheet.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum PaperFormat {
    /// A printed page.
    Text,
    /// For a browser and for paper.
    Html,
    /// As PDF.
    Pdf,
}

impl PaperFormat {
    /// What a file of this form ends in.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Text => "txt",
            Self::Html => "html",
            Self::Pdf => "pdf",
        }
    }
}

/// How quickly work is assumed to go.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum PlanPace {
    /// As a practised person works, or as this one does half of the time.
    Typical,
    /// As a slow one works, or as this one does at nine times out of ten.
    Slow,
}

/// `resume`.
#[derive(Debug, Args)]
pub struct ResumeArgs {
    /// The run or the sample; the newest open one if none is named. All runs of a sample go on together.
    pub run: Option<String>,
    /// How the screen looks.
    #[command(flatten)]
    pub look: Look,
    /// How the hands are kept free.
    #[command(flatten)]
    pub free: FreeArgs,
    /// Take the input from a file (for runs that were opened by one; implies --plain).
    #[arg(long, value_name = "FILE")]
    pub script: Option<PathBuf>,
}

/// `demo`.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Which; they are listed if there is none of that name.
    pub name: Option<String>,
    /// How the screen looks.
    #[command(flatten)]
    pub look: Look,
}

/// `shot`.
#[derive(Debug, Args)]
pub struct ShotArgs {
    /// A run or a sample, shown where it stands, or a method, shown at its first act.
    pub what: String,
    /// Columns and rows.
    #[arg(long, default_value = "120x40", value_parser = size)]
    pub size: (u16, u16),
    /// Colours.
    #[arg(long, value_enum, default_value_t = Theme::Dark)]
    pub theme: Theme,
    /// So many seconds after the last act.
    #[arg(long, default_value_t = 0, value_name = "SECONDS")]
    pub after: u32,
    /// Into a file instead of to the screen.
    #[arg(long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// Colours.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum Theme {
    /// From the environment: NO_COLOR, then COLORFGBG, else dark.
    Auto,
    /// For a dark terminal.
    Dark,
    /// For a light terminal.
    Light,
    /// Bold and reverse only.
    Mono,
}

impl Theme {
    /// The theme to draw with.
    pub fn choice(self) -> ThemeChoice {
        match self {
            Self::Dark => ThemeChoice::Dark,
            Self::Light => ThemeChoice::Light,
            Self::Mono => ThemeChoice::Mono,
            Self::Auto if no_color() => ThemeChoice::Mono,
            Self::Auto => {
                match std::env::var("COLORFGBG").ok().and_then(|v| v.rsplit(';').next()?.parse::<u8>().ok()) {
                    Some(7 | 9..=15) => ThemeChoice::Light,
                    _ => ThemeChoice::Dark,
                }
            }
        }
    }
}

/// Whether `NO_COLOR` asks for no colours.
pub fn no_color() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// Forms of a report.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// A printed page.
    Text,
    /// For programs.
    Json,
    /// For a spreadsheet.
    Csv,
    /// One page for a browser and for paper.
    Html,
    /// One page as PDF.
    Pdf,
    /// The timeline alone, as a picture.
    Svg,
    /// What is due later, as a calendar (RFC 5545).
    Ics,
}

/// Forms of a check.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum CheckFormat {
    /// To be read.
    Text,
    /// For editors and automatic checks.
    Json,
}

fn size(text: &str) -> Result<(u16, u16), String> {
    let read = |part: &str| part.trim().parse::<u16>().ok().filter(|n| (1..=500).contains(n));
    let size = text.split_once(['x', '×']).and_then(|(columns, rows)| Some((read(columns)?, read(rows)?)));
    size.ok_or_else(|| "columns and rows, such as 120x40".to_owned())
}

/// What went wrong, said to a person.
#[derive(Debug)]
pub struct Failure {
    /// What, and why.
    pub what: String,
    /// What to do.
    pub hint: String,
    /// The exit code.
    pub code: u8,
}

impl Failure {
    /// Refused or invalid.
    pub fn refused(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { what: what.into(), hint: hint.into(), code: 1 }
    }

    /// The record could not be kept.
    pub fn store(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { what: what.into(), hint: hint.into(), code: 3 }
    }

    /// The program ends with something on no disk: it is printed, as the last resort.
    pub fn on_no_disk(keeper: &Keeper, trouble: &Trouble) -> Self {
        Self::lines_on_no_disk(&keeper.unkept(), trouble)
    }

    /// The same for these lines.
    pub fn lines_on_no_disk(lines: &[String], trouble: &Trouble) -> Self {
        let lines = lines.join("\n");
        Self::store(
            format!("NOT recorded: {}", trouble.what),
            format!("{}\nThese lines are on no disk; copy them:\n{lines}", trouble.hint),
        )
    }

    /// The command line is wrong.
    pub fn usage(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { what: what.into(), hint: hint.into(), code: 2 }
    }
}

/// Runs the command line of this program.
pub fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(why) => {
            // A closed pipe is nobody's fault.
            let _ = why.print();
            return ExitCode::from(u8::try_from(why.exit_code()).unwrap_or(2));
        }
    };
    match dispatch(cli) {
        Ok(code) => code,
        Err(failure) => {
            let mut said = format!("pourside: {}\n", failure.what);
            if !failure.hint.is_empty() {
                said.push_str(&failure.hint);
                said.push('\n');
            }
            let _ = io::stderr().write_all(said.as_bytes());
            ExitCode::from(failure.code)
        }
    }
}

fn dispatch(cli: Cli) -> Result<ExitCode, Failure> {
    let data = cli.data.as_deref();
    match cli.command {
        None => commands::overview(data),
        Some(Command::Run(args)) => commands::run(data, args),
        Some(Command::Sample(args)) => super::sample_command::sample(data, args),
        Some(Command::Plan(args)) => super::plan_command::plan(data, args),
        Some(Command::Practice(args)) => super::practice_command::practice(data, &args),
        Some(Command::Exam(args)) => super::exam_command::exam(data, args),
        Some(Command::Resume(args)) => commands::resume(data, args),
        Some(Command::List) => commands::list(data),
        Some(Command::Show { run }) => commands::show(data, run.as_deref()),
        Some(Command::Verify { run }) => commands::verify(data, run.as_deref()),
        Some(Command::Report { run, format, output }) => {
            commands::report(data, run.as_deref(), format, output.as_deref())
        }
        Some(Command::Check { files, format }) => commands::check(&files, format),
        Some(Command::Demo(args)) => commands::demo(data, args),
        Some(Command::Methods) => commands::methods(),
        Some(Command::Config(args)) => super::config_command::config(&args),
        Some(Command::Keys(args)) => super::keys_command::keys(&args),
        Some(Command::SoundCheck(args)) => super::sound_check::sound_check(args),
        Some(Command::Completions { shell }) => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "pourside", &mut script);
            say(&String::from_utf8_lossy(&script))
        }
        Some(Command::Shot(args)) => commands::shot(data, args),
    }
}

/// Prints to standard output. Whoever closes the pipe has seen enough: that is a quiet end.
///
/// # Errors
///
/// [`Failure`] if it cannot be written for another reason.
pub fn say(text: &str) -> Result<ExitCode, Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(why) if why.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::refused(format!("cannot write: {why}"), "Is the disk full, or the file closed?"))
        }
        _ => Ok(ExitCode::SUCCESS),
    }
}

/// Whether standard output shows colours.
pub fn is_colourful() -> bool {
    io::stdout().is_terminal() && !no_color()
}

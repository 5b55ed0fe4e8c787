//! A session of practice on the screen, and how far somebody has come as charts.
//!
//! Here: opening the diary, making the specimen, and what is said afterwards. Not here: what is asked, and how it looks.
//!
//! **Invariant:** what was tried is in the diary before the screen says that it is kept.

use std::io::{self, BufRead as _, Write as _};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use engine::{Moment, Tick};
use practice::progress::progress;
use practice::readiness::{Rule, readiness};
use practice::{Deck, Entry, History, Mode, Session};
use specimen::ways::{Branch, NoWay};
use specimen::{Chance, Scenario};

use super::cli::{Failure, no_color, say};
use super::clock::Timepiece;
use super::commands::colour_depth;
use super::practice_command::{Method, PracticeArgs, standings_of, today};
use super::practice_record::Diary;
use super::store::Trouble;
use super::terminal::{self, Ended, Live, Serves, Wish};
use crate::screen::Shown as _;
use crate::screen::practice::{
    Bench, PracticeAnswer, PracticeDeed, PracticeModel, PracticeOptions, ProgressCard, ProgressModel,
};
use crate::screen::practice::{PLAIN_HELP, hear_end, hear_line, plain_lines};

impl Diary {
    /// What the screen is told of the diary as it stands.
    pub fn answer(&self) -> PracticeAnswer {
        let (n, in_memory) = self.n_kept();
        match self.trouble() {
            None => PracticeAnswer::Kept { n },
            Some(Trouble { what, hint }) => {
                PracticeAnswer::Failed { what: what.clone(), hint: hint.clone(), in_memory }
            }
        }
    }
}

impl Serves<PracticeDeed, PracticeAnswer> for Diary {
    fn carry_out(&mut self, deed: PracticeDeed, now: Moment, answers: &mut Vec<PracticeAnswer>) -> Wish {
        match deed {
            PracticeDeed::Keep(entry) => {
                // What failed is remembered, and answered.
                let _ = self.keep(entry);
                answers.push(self.answer());
            }
            PracticeDeed::MoveStore { folder } => match self.move_to(&folder, now) {
                Ok(()) => {
                    answers.push(PracticeAnswer::Moved { folder: self.data().display().to_string() });
                    answers.push(self.answer());
                }
                Err(Trouble { what, hint }) => answers.push(PracticeAnswer::MoveFailed { what, hint }),
            },
            PracticeDeed::Bell => return Wish::Bell,
            PracticeDeed::Suspend => return Wish::Suspend,
            PracticeDeed::Leave => return Wish::Leave,
        }
        Wish::Nothing
    }
}

/// Practises on the screen.
///
/// # Errors
///
/// [`Failure`]: nothing is due, a branch that is not there, no terminal, a diary another program has open.
pub fn practise(data: &Path, learner: &str, methods: Vec<Method>, args: &PracticeArgs) -> Result<ExitCode, Failure> {
    let timepiece = Timepiece::live(Tick(0));
    let now = timepiece.now();
    let seed = args.seed.unwrap_or_else(|| Chance::new(now.wall.unix_ms.unsigned_abs()).below(1_000_000));
    let diary = Diary::open(data, learner, now)
        .map_err(|why| Failure::refused(format!("cannot open the diary of {learner}: {why}"), why.hint()))?;
    let mode = match &args.method {
        None => Mode::Today { minutes: args.minutes },
        Some(_) if args.trial => Mode::Trial { method: methods[0].deck.id.clone() },
        Some(_) => Mode::Method { method: methods[0].deck.id.clone(), trial: !args.no_trial },
    };
    let (bench, branch) = match (&args.method, methods.first()) {
        (Some(_), Some(method)) => {
            let is_first = args.seed.is_none() && !is_known(&method.deck.id, diary.history());
            let (walk, branch) = scenario_for(method, args.branch.as_deref(), seed, is_first)?;
            // An examiner takes ordinary concrete, unless something else was asked for.
            let trial = match &branch {
                Some(_) if args.trial => walk.clone(),
                _ => Scenario::clean(&method.edition, seed.wrapping_add(1)).map_err(|why| no_way(&why))?,
            };
            (Some(Bench { edition: Arc::clone(&method.edition), walk, trial }), branch)
        }
        _ => (None, None),
    };
    let decks: Vec<Deck> = methods.into_iter().map(|method| method.deck).collect();
    let session = Session::new(decks, diary.history().clone(), mode, seed, now)
        .map_err(|why| Failure::refused(why.to_string(), "“pourside practice” says what there is to practise."))?;
    let options = PracticeOptions {
        quiet: args.look.quiet,
        theme: args.look.theme.choice(),
        learner: learner.to_owned(),
        seed,
        speed: args.speed,
        place: data.display().to_string(),
        branch: branch.map(|branch| branch.title),
        today: today(),
    };
    let depth = colour_depth(args.look.theme, no_color());
    let shown = PracticeModel::new(session, bench, now, options).with_colours(terminal::colours(depth));
    let n_before = diary.history().entries().len();
    if args.look.plain {
        let (ended, diary) = in_lines(shown, diary, &timepiece);
        return take_leave(ended, diary, n_before);
    }
    let records = Box::new(move || {
        let first = diary.answer();
        (diary, vec![first])
    });
    let live = Live { shown, timepiece, records, depth, rim: None };
    let (ended, diary) = terminal::perform(live).map_err(|why| {
        Failure::refused(
            format!("cannot use this terminal: {why}"),
            "“--plain” works without one: lines in, lines out.",
        )
    })?;
    take_leave(ended, diary, n_before)
}

fn no_way(why: &NoWay) -> Failure {
    Failure::refused(why.to_string(), "“pourside practice METHOD --branches” lists what can come about.")
}

/// Whether a method was practised before.
fn is_known(method: &str, history: &History) -> bool {
    history.entries().iter().any(|entry| match entry {
        Entry::Tried(tried) => tried.method() == method,
        Entry::Trial(trial) => trial.method == method,
        _ => false,
    })
}

/// What the specimen is like: the first time an ordinary one, then by the seed.
fn scenario_for(
    method: &Method,
    branch: Option<&str>,
    seed: u64,
    is_first: bool,
) -> Result<(Scenario, Option<Branch>), Failure> {
    let Some(name) = branch else {
        if is_first {
            return Ok((Scenario::clean(&method.edition, seed).map_err(|why| no_way(&why))?, None));
        }
        return Ok((Scenario::by_seed(&method.edition, seed).map_err(|why| no_way(&why))?, None));
    };
    let all = specimen::ways::branches(&method.edition);
    let mut found = all.iter().filter(|branch| branch.id == name).chain(all.iter().filter(|b| b.id.starts_with(name)));
    let Some(branch) = found.next() else {
        return Err(Failure::refused(
            format!("nothing called “{name}” can come about in {}", method.edition.id),
            "“pourside practice METHOD --branches” lists what can.",
        ));
    };
    let scenario = Scenario::toward(&method.edition, branch, seed).map_err(|why| no_way(&why))?;
    Ok((scenario, Some(branch.clone())))
}

/// Nothing is kept while somebody only looks.
struct Looking;

impl Serves<PracticeDeed, PracticeAnswer> for Looking {
    fn carry_out(&mut self, deed: PracticeDeed, _now: Moment, _answers: &mut Vec<PracticeAnswer>) -> Wish {
        match deed {
            PracticeDeed::Leave => Wish::Leave,
            PracticeDeed::Suspend => Wish::Suspend,
            PracticeDeed::Bell => Wish::Bell,
            PracticeDeed::Keep(_) | PracticeDeed::MoveStore { .. } => Wish::Nothing,
        }
    }
}

/// Shows how far somebody has come, as charts.
///
/// # Errors
///
/// [`Failure`] if there is no terminal that can be set.
pub fn look_at_progress(methods: &[Method], history: &History, args: &PracticeArgs) -> Result<ExitCode, Failure> {
    let standings = standings_of(history);
    let today = today();
    let card = |method: &Method| ProgressCard {
        progress: progress(&method.deck, history, &standings),
        ready: readiness(&method.deck, history, &standings, today, &Rule::default()),
    };
    let depth = colour_depth(args.look.theme, no_color());
    let shown = ProgressModel::new(methods.iter().map(card).collect(), today, args.look.theme.choice())
        .with_colours(terminal::colours(depth));
    let timepiece = Timepiece::live(Tick(0));
    let live = Live { shown, timepiece, records: Box::new(|| (Looking, Vec::new())), depth, rim: None };
    let (ended, Looking) = terminal::perform(live).map_err(|why| {
        Failure::refused(format!("cannot use this terminal: {why}"), "“--plain” gives the same as text.")
    })?;
    match ended {
        Ended::Left => Ok(ExitCode::SUCCESS),
        Ended::Signal(signal) => Ok(ExitCode::from(128_u8.saturating_add(u8::try_from(signal).unwrap_or(0)))),
        Ended::Gone => Ok(ExitCode::from(129)),
    }
}

/// Practises in lines: what is said goes out, what is typed comes in.
fn in_lines(mut shown: PracticeModel, mut diary: Diary, timepiece: &Timepiece) -> (Ended, Diary) {
    let first = diary.answer();
    shown.hear(first, timepiece.now());
    let mut out = io::stdout().lock();
    let mut said = Vec::new();
    let mut lines = io::stdin().lock().lines();
    if writeln!(out, "{PLAIN_HELP}").is_err() {
        return (Ended::Gone, diary);
    }
    loop {
        let now = plain_lines(&shown, timepiece.tick());
        if now != said {
            let text: String = now.iter().map(|line| format!("{line}\n")).collect();
            if out.write_all(text.as_bytes()).and_then(|()| out.flush()).is_err() {
                return (Ended::Gone, diary);
            }
            said = now;
        }
        // The end of the input is a way to leave, too.
        let typed = lines.next().and_then(Result::ok);
        if typed.as_deref().is_some_and(|typed| typed.trim() == "again") {
            said.clear();
        }
        let now = timepiece.now();
        let mut answers = Vec::new();
        let deeds = match typed {
            Some(typed) => hear_line(&mut shown, &typed, now),
            None => hear_end(&mut shown, now),
        };
        for deed in deeds {
            if diary.carry_out(deed, now, &mut answers) == Wish::Leave {
                return (Ended::Left, diary);
            }
        }
        for answer in answers {
            shown.hear(answer, now);
        }
    }
}

/// What is said when the screen is gone.
fn take_leave(ended: Ended, mut diary: Diary, n_before: usize) -> Result<ExitCode, Failure> {
    if diary.trouble().is_some()
        && let Err(trouble) = diary.move_to("", Moment::default())
    {
        return Err(Failure::lines_on_no_disk(&diary.unkept(), &trouble));
    }
    match ended {
        Ended::Left => {
            let n = diary.history().entries().len().saturating_sub(n_before);
            say(&format!(
                "{n} {} kept in {}\n  pourside practice              what is due next\n  pourside practice --progress   how far you have come\n",
                if n == 1 { "entry is" } else { "entries are" },
                diary.path().display()
            ))
        }
        Ended::Signal(signal) => Ok(ExitCode::from(128_u8.saturating_add(u8::try_from(signal).unwrap_or(0)))),
        Ended::Gone => Ok(ExitCode::from(129)),
    }
}

//! The bench on the screen: one run in focus, every other a line.
//!
//! Here: the state ([`BenchModel`]) and what it is made of. What comes in is taken in `update`, drawn in `view`, said in
//! `words`; the keys are in `keys`; what a result means and what it calls for is in `verdicts`. Not here: what one run
//! shows; that is the screen of a run, and the run in focus is drawn by it.
//!
//! **Invariant:** every act of every run goes through that run's own screen model. What the bench knows besides (a limit,
//! a paper, another run's act) is said as a message there, and changes nothing in the run.

mod keys;
mod live_plan;
mod update;
mod verdicts;
mod view;
mod words;

use std::sync::Arc;

use bench::calendar::Date;
use bench::fact::Facts;
use bench::live::{Role, Seat, Watch, Window, windows};
use bench::site::Site;
use engine::{Moment, Run, Tick};
use procedure::Edition;
use quantity::Ties;

use super::cue::Bells;
use super::model::{Model, Options};
use super::shown::Deed;
use super::theme::{Colours, Theme, ThemeChoice};

pub use keys::{BENCH_BINDINGS, BenchCommand, bench_command};
pub use words::{
    LineWords, Urgency, exact_line_words, exact_window_words, line_words, news_words, turn_words, window_words,
};

/// What a bench is opened with.
#[derive(Clone, Debug, Default)]
pub struct BenchOptions {
    /// What the sample is called.
    pub sample: String,
    /// No bells.
    pub quiet: bool,
    /// The colours.
    pub theme: ThemeChoice,
    /// Said at all times when the time is not real.
    pub simulated: Option<String>,
    /// The folder the records are kept in.
    pub place: String,
    /// Said once after the sample was taken up again.
    pub resumed: Option<String>,
    /// What is known of the sample from outside, such as the site file.
    pub facts: Facts,
    /// The site file, for limits and papers.
    pub site: Option<Site>,
    /// The day of the sample.
    pub day: Option<Date>,
    /// The order of the plan, by places on the bench; that of the tests if it is empty.
    pub order: Vec<usize>,
}

/// A test of the sample.
#[derive(Clone, Debug)]
pub struct Member {
    /// What it is called on the bench.
    pub name: String,
    /// The procedure it follows.
    pub edition: Arc<Edition>,
    /// The rounding rule.
    pub ties: Ties,
    /// What it is for, where that is to be said: `preliminary`, `check test of slump`.
    pub purpose: Option<String>,
    /// What it is for, where that matters for its verdicts.
    pub role: Role,
    /// The screen of its run; none as long as nobody has begun it.
    pub(crate) model: Option<Model>,
}

impl Member {
    /// A test nobody has begun.
    pub fn new(name: String, edition: Arc<Edition>, ties: Ties) -> Self {
        Self { name, edition, ties, purpose: None, role: Role::default(), model: None }
    }

    /// Its run.
    pub fn run(&self) -> Option<&Run> {
        self.model.as_ref().map(|model| &model.run)
    }

    /// The screen of its run.
    pub fn model(&self) -> Option<&Model> {
        self.model.as_ref()
    }
}

/// Something said about a run that is not in focus, or about the sample.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Notice {
    /// Whose; none if it is about the sample.
    pub run: Option<usize>,
    /// Its words, with the name of the run.
    pub text: String,
}

/// The whole state of the bench.
#[derive(Clone, Debug)]
pub struct BenchModel {
    pub(crate) members: Vec<Member>,
    pub(crate) focus: usize,
    pub(crate) options: BenchOptions,
    colours: Colours,
    pub(crate) theme: Theme,
    /// The moment of the last update.
    seen: Tick,
    /// The line chosen in the overview, while it is open.
    pub(crate) overview: Option<usize>,
    pub(crate) notice: Option<Notice>,
    /// Verdicts, papers, and what no longer stands.
    pub(crate) watch: Watch,
    /// What was refused for the sample's sake, and a reason could overrule.
    refused: Option<verdicts::NotOnThisSample>,
    bells: Bells,
    /// What is to be done outside and could not be said yet.
    pending: Vec<Deed>,
    /// Whether it has been said that every run is closed.
    is_finished: bool,
    /// Runs whose loss the person has agreed to while leaving.
    leaving: Vec<usize>,
    /// The plan that is followed, if there is one.
    plan: Option<live_plan::LivePlan>,
}

impl BenchModel {
    /// A bench of tests at `now`, new or taken up again: `runs` are those that have been begun. The one in focus is begun
    /// if nobody has.
    pub fn new(members: Vec<Member>, runs: Vec<Option<Run>>, focus: usize, now: Moment, options: BenchOptions) -> Self {
        let theme = Theme::new(options.theme, Colours::default());
        let n = members.len();
        let mut bench = Self {
            members,
            focus: focus.min(n.saturating_sub(1)),
            options,
            colours: Colours::default(),
            theme,
            seen: now.tick,
            overview: None,
            notice: None,
            watch: Watch::default(),
            refused: None,
            bells: Bells::default(),
            pending: Vec::new(),
            is_finished: false,
            leaving: Vec::new(),
            plan: None,
        };
        if bench.options.order.is_empty() {
            bench.options.order = (0..n).collect();
        }
        for (n, run) in runs.into_iter().enumerate().take(n) {
            if let Some(run) = run {
                bench.members[n].model = Some(bench.model_of(n, run, now));
            }
        }
        if let Some(text) = bench.options.resumed.clone() {
            bench.notice = Some(Notice { run: None, text });
        }
        bench.is_finished = bench.are_all_closed();
        bench.watch = Watch::new(bench.options.site.clone(), bench.options.day);
        bench.take_up();
        bench
    }

    /// The same in as many colours as the terminal has, with the run in focus begun.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours, now: Moment) -> Self {
        self.colours = colours;
        self.theme = Theme::new(self.options.theme, colours);
        for member in &mut self.members {
            member.model = member.model.take().map(|model| model.with_colours(colours));
        }
        let mut deeds = Vec::new();
        let notice = self.notice.take();
        self.go_to(self.focus, now, &mut deeds);
        self.notice = notice;
        self.say_papers(now, &mut deeds);
        self.settle(now, &mut deeds);
        self.pending = deeds;
        self
    }

    fn model_of(&self, n: usize, run: Run, now: Moment) -> Model {
        let name = self.members[n].name.clone();
        let options = Options {
            quiet: self.options.quiet,
            theme: self.options.theme,
            run_name: name.clone(),
            simulated: self.options.simulated.clone(),
            place: self.options.place.clone(),
            resumed: None,
        };
        let mut model = Model::new(run, now, options).with_colours(self.colours);
        model.on_bench = Some(match &self.members[n].purpose {
            Some(purpose) => format!("{name} ({purpose})"),
            None => name,
        });
        model
    }

    /// The tests, in the order of the bench.
    pub fn members(&self) -> &[Member] {
        &self.members
    }

    /// The place of the run in focus.
    pub fn focus(&self) -> usize {
        self.focus
    }

    /// The runs as they stand beside one another.
    pub fn seats(&self) -> Vec<Seat<'_>> {
        self.members
            .iter()
            .map(|member| Seat { name: &member.name, edition: &member.edition, run: member.run() })
            .collect()
    }

    /// What each test is for, in the order of the bench.
    pub fn roles(&self) -> Vec<Role> {
        self.members.iter().map(|member| member.role.clone()).collect()
    }

    /// Every limit of every test.
    pub fn windows(&self, now: Tick) -> Vec<Window> {
        windows(&self.seats(), now)
    }

    /// Whether every test is closed.
    pub fn are_all_closed(&self) -> bool {
        let is_closed = |run: &Run| matches!(run.phase(), engine::Phase::Closed { .. });
        self.members.iter().all(|member| member.run().is_some_and(is_closed))
    }

    /// What was said last about a run that is not in focus, or about the sample.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_ref().map(|notice| notice.text.as_str())
    }

    /// Adds a test, such as a check test.
    pub fn add(&mut self, member: Member) {
        self.options.order.push(self.members.len());
        self.members.push(member);
    }
}

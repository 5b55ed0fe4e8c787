//! How far somebody has come: per step, per stage, per method.
//!
//! Tries at different levels of help are never added up into one figure of skill: beside all tries stand those without
//! any help, and acts on a run and readings of instruments are counted by themselves.
//!
//! **Invariant:** every figure is a count of entries that count; the method's is the sum of its steps' and incidents'.

use std::collections::BTreeMap;

use crate::deck::Deck;
use crate::help::Help;
use crate::history::{Entry, History, Performed, Share, Trial, Tried};
use crate::standing::{Standings, median};

/// Tries, how they went, and how long they took.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Tally {
    /// All tries.
    pub all: Share,
    /// Those without any help.
    pub unhinted: Share,
    /// Right tries by the day, all levels, for a chart.
    pub by_day: BTreeMap<i64, Share>,
    /// The middle time of a right try at which the act was not shown, in milliseconds.
    pub median_ms: Option<u64>,
    times: Vec<u64>,
}

impl Tally {
    fn count(&mut self, tried: &Tried) {
        self.all.count(tried.right);
        if tried.help == Help::Nothing {
            self.unhinted.count(tried.right);
        }
        self.by_day.entry(tried.at.day()).or_default().count(tried.right);
        if tried.right && tried.help != Help::Shown {
            self.times.push(tried.took_ms);
        }
    }
    fn close(&mut self) {
        self.median_ms = median(&self.times);
    }

    /// Where it is going: the last seven days with tries beside the days before them.
    pub fn trend(&self) -> Trend {
        let n_recent = self.by_day.len().min(7);
        let mut trend = Trend::default();
        for (at, share) in self.by_day.values().enumerate() {
            let side = if at + n_recent < self.by_day.len() { &mut trend.before } else { &mut trend.recent };
            side.right += share.right;
            side.of += share.of;
        }
        trend
    }
}

/// The last days with tries beside the days before them.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub struct Trend {
    /// Before.
    pub before: Share,
    /// The last seven days with tries.
    pub recent: Share,
}

impl Trend {
    /// Fewer tries than this on one side say nothing about where it is going. Chosen.
    const LEAST: u32 = 10;

    /// `better`, `worse`, `steady` within five points, or that there are too few tries to say.
    pub fn words(self) -> &'static str {
        match (self.before.per_mille(), self.recent.per_mille()) {
            (Some(before), Some(recent)) if self.before.of.min(self.recent.of) >= Self::LEAST => {
                if recent > before + 50 {
                    "better"
                } else if before > recent + 50 {
                    "worse"
                } else {
                    "steady"
                }
            }
            _ => "too few tries to say",
        }
    }
}

/// How far a step has come: its act, its numbers and its usual slip together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StepProgress {
    /// The key of the act, `METHOD/STEP`.
    pub item: String,
    /// The sentence to do.
    pub instruction: String,
    /// The stage, by its place in the deck.
    pub stage: usize,
    /// The help of the act's next try.
    pub level: Help,
    /// The first day on which one of its items is due; `None` if none was tried.
    pub due: Option<i64>,
    /// Its tries.
    pub tally: Tally,
    /// Acts on a run: those without a refusal and without a finding.
    pub performed: Share,
    /// Instruments read.
    pub readings: Share,
}

/// How far a stage has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StageProgress {
    /// Its title.
    pub title: String,
    /// The tries of all its steps.
    pub tally: Tally,
}

/// How far a method has come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MethodProgress {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Each step that is asked, in order.
    pub steps: Vec<StepProgress>,
    /// Each stage, in order.
    pub stages: Vec<StageProgress>,
    /// All tries, incidents included.
    pub tally: Tally,
    /// Items tried at least once, of all there are.
    pub begun: Share,
    /// How many acts stand at each level of help, in the order of [`Help::ALL`].
    pub levels: [u32; 4],
    /// Acts on a run: those without a refusal and without a finding.
    pub performed: Share,
    /// Instruments read.
    pub readings: Share,
    /// The timed runs, the oldest first.
    pub trials: Vec<Trial>,
}

/// How far somebody has come with a method.
pub fn progress(deck: &Deck, history: &History, standings: &Standings) -> MethodProgress {
    let counting = history.counting();
    let tries: Vec<&Tried> = counting
        .iter()
        .filter_map(|entry| match entry {
            Entry::Tried(tried) if tried.method() == deck.id => Some(tried),
            _ => None,
        })
        .collect();
    let performed: Vec<&Performed> = counting
        .iter()
        .filter_map(|entry| match entry {
            Entry::Performed(performed) => Some(performed),
            _ => None,
        })
        .collect();
    let mut stages: Vec<StageProgress> =
        deck.stages.iter().map(|title| StageProgress { title: title.clone(), tally: Tally::default() }).collect();
    let mut whole = Tally::default();
    let mut steps = Vec::new();
    let (mut all_performed, mut all_readings) = (Share::default(), Share::default());
    let mut levels = [0; 4];
    for (at, step) in deck.steps().iter().enumerate().filter(|(_, step)| step.is_asked) {
        let mut tally = Tally::default();
        for tried in tries.iter().filter(|tried| step_of(&tried.item) == step.key) {
            tally.count(tried);
            whole.count(tried);
            if let Some(stage) = stages.get_mut(step.stage) {
                stage.tally.count(tried);
            }
        }
        tally.close();
        let (mut done, mut read) = (Share::default(), Share::default());
        for performed in performed.iter().filter(|performed| performed.item == step.key) {
            done.count(performed.refusals.is_empty() && performed.findings.is_empty());
            performed.readings.iter().for_each(|reading| read.count(reading.right()));
        }
        add(&mut all_performed, done);
        add(&mut all_readings, read);
        let level = standings.level(&step.key);
        if let Some(n) = levels.get_mut(level as usize) {
            *n += 1;
        }
        let due = deck.items_of(at).filter_map(|item| standings.get(&item.key)).map(|standing| standing.due).min();
        steps.push(StepProgress {
            item: step.key.clone(),
            instruction: step.instruction.clone(),
            stage: step.stage,
            level,
            due,
            tally,
            performed: done,
            readings: read,
        });
    }
    let incident = format!("{}/incident:", deck.id);
    tries.iter().filter(|tried| tried.item.starts_with(&incident)).for_each(|tried| whole.count(tried));
    stages.iter_mut().for_each(|stage| stage.tally.close());
    whole.close();
    let mut begun = Share::default();
    deck.items().iter().for_each(|item| begun.count(standings.get(&item.key).is_some()));
    MethodProgress {
        id: deck.id.clone(),
        title: deck.title.clone(),
        steps,
        stages,
        tally: whole,
        begun,
        levels,
        performed: all_performed,
        readings: all_readings,
        trials: history.trials(&deck.id).cloned().collect(),
    }
}

/// The key of the step an item belongs to.
pub(crate) fn step_of(item: &str) -> &str {
    item.split_once('#').map_or(item, |(step, _)| step)
}

fn add(all: &mut Share, more: Share) {
    all.right += more.right;
    all.of += more.of;
}

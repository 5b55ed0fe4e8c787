//! What a class as a whole shows: who passed what, which acts are missed, whether the raters agree.
//!
//! Here: choosing the marks that go into each figure and saying how many were left out. Not here: any formula (crate
//! `statistics`), any paper.
//!
//! Acts are analysed on **first trials** only: a second trial is done by those who failed the first, and has been taught
//! by it. A trial that was broken off has no marks for what was never reached, and is left out.
//!
//! **Invariant:** every figure carries the number of people behind it, or the reason why there is none. Nothing depends
//! on the order of the roster.

mod agreement;

use engine::measured::to_the_tenth;
use quantity::Span;
use statistics::{DIndex, Estimate, ItemAnalysis, Undefined};

use crate::config::NotSeen;
use crate::event::{How, Mark};
use crate::outcome::{Standing, Verdict};
use crate::state::{State, TrialView};

pub use agreement::{Agreement, TwoRaters};

/// Below this many candidates a figure is printed with its interval and without any verdict.
pub const LEAST_FOR_VERDICTS: usize = 20;

/// What a class shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Statistics {
    /// One row for each candidate in the order of the roster, one cell for each method.
    pub matrix: Vec<Vec<Cell>>,
    /// One for each method.
    pub methods: Vec<MethodFigures>,
    /// What was missed most often at first trials, over all methods; acts nobody missed are not here.
    pub most_missed: Vec<MostMissed>,
    /// How the raters agree.
    pub agreement: Agreement,
}

/// How one candidate stands in one method.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// How.
    pub standing: Standing,
    /// How many trials count.
    pub trials: u32,
}

/// Figures of one method.
#[derive(Clone, Debug, PartialEq)]
pub struct MethodFigures {
    /// The method's place in the exam.
    pub method: usize,
    /// Candidates whose first trial was finished.
    pub first_trials: usize,
    /// First trials that were broken off, and are not in the figures of the acts.
    pub broken_off: usize,
    /// The share that passed at the first trial; n is the first trials that are decided, broken off included.
    pub passed_first: Result<Estimate, Undefined>,
    /// First trials with a mark for every act that is asked of everybody: those behind discrimination and reliability.
    pub complete: usize,
    /// KR-20 (alpha of right and wrong) of the acts that are asked of everybody; n is `complete`.
    pub reliability: Result<Estimate, Undefined>,
    /// One for each act of the sheet, in order.
    pub items: Vec<ItemFigures>,
    /// One for each window of the sheet, in order.
    pub windows: Vec<WindowFigures>,
    /// How long first trials took.
    pub times: Times,
}

/// Figures of one act, from first trials.
#[derive(Clone, Debug, PartialEq)]
pub struct ItemFigures {
    /// Its place on the sheet.
    pub item: usize,
    /// Trials with a mark for it.
    pub n: usize,
    /// How often it was missed.
    pub missed: usize,
    /// How often it was told aloud.
    pub told: usize,
    /// How often nobody saw it.
    pub not_seen: usize,
    /// The share right, told included; n is the trials with a mark.
    pub difficulty: Result<Estimate, Undefined>,
    /// The correlation with the rest of the acts, over complete trials.
    pub discrimination: Result<Estimate, WhyNot>,
    /// D by 27 % groups, a second view.
    pub d: Result<DIndex, WhyNot>,
}

/// Why an act has no discrimination.
#[derive(Copy, Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WhyNot {
    /// The figure does not exist for these marks.
    #[error(transparent)]
    Undefined(#[from] Undefined),
    /// It is asked in some performances only, so it has no place in a total everybody could reach.
    #[error("asked in some performances only")]
    AskedOfSome,
}

/// Figures of one window, from first trials.
#[derive(Clone, Debug, PartialEq)]
pub struct WindowFigures {
    /// Its place on the sheet.
    pub window: usize,
    /// Trials in which it was judged.
    pub n: usize,
    /// How often it was not kept.
    pub late: usize,
    /// The share kept.
    pub kept: Result<Estimate, Undefined>,
}

/// How long trials took.
#[derive(Clone, Debug, PartialEq)]
pub struct Times {
    /// How many.
    pub n: usize,
    /// The median.
    pub median: Option<Span>,
    /// The 95 % interval of the median, or why there is none.
    pub interval: Result<(Span, Span), Undefined>,
    /// The shortest and the longest.
    pub range: Option<(Span, Span)>,
}

/// An act that was missed.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct MostMissed {
    /// The method's place in the exam.
    pub method: usize,
    /// The act's place on the sheet.
    pub item: usize,
    /// How often.
    pub missed: usize,
    /// Of how many trials with a mark for it.
    pub n: usize,
}

impl Statistics {
    /// Works out everything from the marks as they stand now.
    pub fn of(state: &State) -> Self {
        let n_methods = state.sheets().len();
        let matrix = (0..state.roster().candidates.len())
            .map(|candidate| {
                let cell = |method| Cell {
                    standing: state.standing(candidate, method),
                    trials: state.trials_of(candidate, method).count() as u32,
                };
                (0..n_methods).map(cell).collect()
            })
            .collect();
        let methods: Vec<MethodFigures> = (0..n_methods).map(|method| MethodFigures::of(state, method)).collect();
        let most_missed = most_missed(&methods);
        Self { matrix, methods, most_missed, agreement: Agreement::of(state) }
    }
}

/// By share, then by number, then in the order of the exam.
fn most_missed(methods: &[MethodFigures]) -> Vec<MostMissed> {
    let all = methods.iter().flat_map(|figures| {
        figures.items.iter().map(|item| MostMissed {
            method: figures.method,
            item: item.item,
            missed: item.missed,
            n: item.n,
        })
    });
    let mut missed: Vec<MostMissed> = all.filter(|act| act.missed > 0).collect();
    missed.sort_by(|a, b| {
        let share = (b.missed * a.n).cmp(&(a.missed * b.n));
        share.then(b.missed.cmp(&a.missed)).then((a.method, a.item).cmp(&(b.method, b.item)))
    });
    missed
}

impl MethodFigures {
    fn of(state: &State, method: usize) -> Self {
        let sheet = &state.sheets()[method];
        let candidates = 0..state.roster().candidates.len();
        let firsts = candidates.filter_map(|candidate| state.trials_of(candidate, method).next());
        let (finished, others): (Vec<TrialView>, Vec<TrialView>) =
            firsts.partition(|view| matches!(view.ended(), Some((How::Finished, _))));
        let broken_off = others.iter().filter(|view| view.ended().is_some()).count();
        let verdicts: Vec<Verdict> = finished.iter().map(|view| view.outcome().verdict).collect();
        let decided = verdicts.iter().filter(|verdict| **verdict != Verdict::Open).count() + broken_off;
        let passed = verdicts.iter().filter(|verdict| **verdict == Verdict::Passed).count();

        // Marks of every finished first trial, act by act.
        let marks: Vec<Vec<Option<Mark>>> =
            finished.iter().map(|view| view.items().map(|status| status.mark).collect()).collect();
        let asked: Vec<usize> = (0..sheet.items.len()).filter(|at| !sheet.items[*at].conditional).collect();
        let rows: Vec<Vec<bool>> = marks.iter().filter_map(|row| complete_row(row, &asked, sheet.not_seen)).collect();
        let analysis = ItemAnalysis::of(&rows);
        let items = (0..sheet.items.len())
            .map(|item| {
                let column = asked.iter().position(|at| *at == item).ok_or(WhyNot::AskedOfSome);
                let analysed = column.and_then(|column| match &analysis {
                    Ok(analysis) => analysis.items.get(column).ok_or(WhyNot::AskedOfSome),
                    Err(why) => Err(WhyNot::Undefined(*why)),
                });
                let count = |wanted: Mark| marks.iter().filter(|row| row[item] == Some(wanted)).count();
                let unmarked = marks.iter().filter(|row| row[item].is_none()).count();
                let (done, told, missed) = (count(Mark::Done), count(Mark::Told), count(Mark::Missed));
                let unasked = sheet.items[item].conditional;
                let not_seen = count(Mark::NotSeen) + if unasked { 0 } else { unmarked };
                let n = done + told + missed;
                ItemFigures {
                    item,
                    n,
                    missed,
                    told,
                    not_seen,
                    difficulty: statistics::proportion(done + told, n),
                    discrimination: analysed.and_then(|figures| Ok(figures.rest?)),
                    d: analysed.and_then(|figures| Ok(figures.d?)),
                }
            })
            .collect();
        let windows = (0..sheet.windows.len())
            .map(|window| {
                let marks: Vec<Mark> = finished.iter().filter_map(|view| view.window(window).mark).collect();
                let late = marks.iter().filter(|mark| **mark == Mark::Missed).count();
                let kept = statistics::proportion(marks.len() - late, marks.len());
                WindowFigures { window, n: marks.len(), late, kept }
            })
            .collect();
        Self {
            method,
            first_trials: finished.len(),
            broken_off,
            passed_first: statistics::proportion(passed, decided),
            complete: rows.len(),
            reliability: analysis.and_then(|analysis| analysis.reliability),
            items,
            windows,
            times: Times::of(finished.iter().filter_map(|view| view.outcome().took).collect()),
        }
    }

    /// Whether there are enough candidates for a verdict beside the figures of the acts.
    pub fn may_judge(&self) -> bool {
        self.complete >= LEAST_FOR_VERDICTS
    }
}

/// Right or wrong for every act that is asked of everybody; `None` if nobody saw one of them and it is not counted as
/// missed.
fn complete_row(marks: &[Option<Mark>], asked: &[usize], not_seen: NotSeen) -> Option<Vec<bool>> {
    let right = |at: &usize| match marks[*at] {
        Some(Mark::Done | Mark::Told) => Some(true),
        Some(Mark::Missed) => Some(false),
        Some(Mark::NotSeen) | None => (not_seen == NotSeen::Missed).then_some(false),
    };
    asked.iter().map(right).collect()
}

impl Times {
    fn of(mut took: Vec<Span>) -> Self {
        took.sort_unstable();
        let n = took.len();
        let ms: Vec<f64> = took.iter().map(|span| span.0 as f64).collect();
        let interval = statistics::median(&ms).and_then(|median| median.interval);
        let whole = |ms: f64| to_the_tenth(Span(ms.max(0.0) as u64), false);
        Self {
            n,
            median: (n > 0).then(|| Span(took[(n - 1) / 2].0.midpoint(took[n / 2].0))),
            interval: interval.map(|interval| (whole(interval.low), whole(interval.high))),
            range: took.first().copied().zip(took.last().copied()),
        }
    }
}

/// What the textbooks say of a discrimination index D, for large classes only: `None` below
/// [`LEAST_FOR_VERDICTS`] people. The bands are Ebel's, as several pages give them.
pub fn words_for_d(d: &DIndex, people: usize) -> Option<&'static str> {
    if people < LEAST_FOR_VERDICTS {
        return None;
    }
    let bands = [(0.40, "very good"), (0.30, "good"), (0.20, "marginal")];
    Some(bands.iter().find(|(from, _)| d.d.value >= *from).map_or("poor", |(_, word)| word))
}

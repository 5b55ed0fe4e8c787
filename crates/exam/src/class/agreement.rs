//! Whether two raters of the same performance agree.
//!
//! Here: pairing the marks of two sheets. Not here: kappa (crate `statistics`).
//!
//! **Invariant:** only acts that both raters judged are compared; what one of them did not see is counted apart, never as
//! a difference. Compared is what each rater (or their clock) said, not what was overruled afterwards.

use statistics::{Estimate, Table, Undefined, Weights, cohen_kappa, percent_agreement};

use crate::event::{Mark, TrialId};
use crate::state::{ItemStatus, State, TrialView};

/// The marks that are judgements: done, missed, told.
const CATEGORIES: usize = 3;

/// How two raters agree on one performance.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoRaters {
    /// The first rater's sheet.
    pub first: TrialId,
    /// The other's.
    pub second: TrialId,
    /// Acts both judged.
    pub n: usize,
    /// Acts only one of them saw.
    pub one_sided: usize,
    /// The acts they judged differently: place, the first rater's mark, the other's.
    pub differ: Vec<(usize, Mark, Mark)>,
    /// The share judged alike.
    pub alike: Result<Estimate, Undefined>,
    /// Cohen's kappa.
    pub kappa: Result<Estimate, Undefined>,
}

/// How the raters of a class agree.
#[derive(Clone, Debug, PartialEq)]
pub struct Agreement {
    /// One for each second sheet.
    pub trials: Vec<TwoRaters>,
    /// Acts both judged, over all of them.
    pub n: usize,
    /// The share judged alike, over all of them.
    pub alike: Result<Estimate, Undefined>,
    /// Cohen's kappa over all of them. Acts of one performance are not independent, so its interval is rather too short.
    pub kappa: Result<Estimate, Undefined>,
}

impl Agreement {
    pub(super) fn of(state: &State) -> Self {
        let mut all = Table::new(CATEGORIES);
        let mut trials = Vec::new();
        for second in state.trials().filter(|view| view.trial.counts()) {
            let Some(first) = second.trial.scores.map(|first| state.view(first)) else { continue };
            // A sheet that is still being filled in compares nothing yet.
            if first.ended().is_none() || second.ended().is_none() {
                continue;
            }
            let (two, table) = compare(&first, &second);
            if let Ok(table) = table {
                // Both have the same categories, so adding cannot fail.
                let added = all.add(&table);
                debug_assert!(added.is_ok());
            }
            trials.push(two);
        }
        if trials.is_empty() {
            return Self { trials, n: 0, alike: Err(Undefined::NoPairs), kappa: Err(Undefined::NoPairs) };
        }
        Self { trials, n: all.pairs(), alike: percent_agreement(&all), kappa: cohen_kappa(&all, Weights::None) }
    }
}

fn compare(first: &TrialView, second: &TrialView) -> (TwoRaters, Result<Table, Undefined>) {
    let (mut firsts, mut seconds) = (Vec::new(), Vec::new());
    let mut one_sided = 0;
    let mut differ = Vec::new();
    for (a, b) in first.items().zip(second.items()) {
        match (category(&a), category(&b)) {
            (Some((a_mark, a_at)), Some((b_mark, b_at))) => {
                firsts.push(a_at);
                seconds.push(b_at);
                if a_at != b_at {
                    differ.push((a.at, a_mark, b_mark));
                }
            }
            (None, None) => {}
            _ => one_sided += 1,
        }
    }
    let table = Table::of(CATEGORIES, &firsts, &seconds);
    let two = TwoRaters {
        first: first.trial.id.clone(),
        second: second.trial.id.clone(),
        n: firsts.len(),
        one_sided,
        differ,
        alike: table.as_ref().map_err(|why| *why).and_then(percent_agreement),
        kappa: table.as_ref().map_err(|why| *why).and_then(|table| cohen_kappa(table, Weights::None)),
    };
    (two, table)
}

/// The rater's own judgement and its category.
fn category(status: &ItemStatus) -> Option<(Mark, usize)> {
    let own = status.own_mark()?;
    match own {
        Mark::Done => Some((own, 0)),
        Mark::Missed => Some((own, 1)),
        Mark::Told => Some((own, 2)),
        Mark::NotSeen => None,
    }
}

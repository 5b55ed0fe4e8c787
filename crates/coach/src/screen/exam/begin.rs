//! Who begins, and with which method.
//!
//! Here: the list that is typed into, and what may be chosen. Not here: whether a trial may begin; the exam says that.
//!
//! **Invariant:** nothing begins before Enter is pressed on a candidate and on a method, both in whole words on the screen.

use crossterm::event::{KeyCode, KeyEvent};
use engine::Moment;
use exam::Standing;

use super::model::ExamModel;
use super::update::{moved, typed};
use crate::screen::entry::Field;

use super::model::ExamDeed;

/// What has been chosen so far.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Begin {
    /// What was typed: a number, or part of a name.
    pub field: Field,
    /// The line chosen.
    pub chosen: usize,
    /// The place of the candidate, once that is settled.
    pub candidate: Option<usize>,
}

/// A candidate in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct BeginRow {
    /// The place on the roster.
    pub candidate: usize,
    /// Number and name.
    pub who: String,
    /// What is done and what is due.
    pub stand: String,
    /// Whether a trial may begin now.
    pub is_free: bool,
}

/// A method in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct MethodRow {
    /// The place in the exam.
    pub method: usize,
    /// Its title.
    pub title: String,
    /// How the candidate stands.
    pub stand: String,
    /// Whether a trial may begin now.
    pub is_free: bool,
}

/// The name of a station's key.
pub(super) fn station_key(n: usize) -> String {
    format!("F{}", n + 1)
}

impl ExamModel {
    /// The candidates that fit what was typed: those planned for this station first, those with nothing left to do last.
    pub(super) fn begin_rows(&self, typed: &str) -> Vec<BeginRow> {
        let typed = typed.trim().to_lowercase();
        let here = self.station_number();
        let candidates = &self.state.roster().candidates;
        let fits = |number: &str, name: &str| {
            let is_number = typed.chars().all(|sign| sign.is_ascii_digit());
            let bare = |text: &str| text.trim_start_matches('0').to_owned();
            typed.is_empty()
                || number.to_lowercase().starts_with(&typed)
                || is_number && bare(number).starts_with(&bare(&typed))
                || !is_number && name.to_lowercase().contains(&typed)
        };
        let mut rows: Vec<(u8, BeginRow)> = Vec::new();
        for (at, candidate) in candidates.iter().enumerate().filter(|(_, one)| fits(&one.number, &one.name)) {
            let may = self.state.may_begin(at);
            let busy = self.state.trials().find(|view| view.trial.is_open() && view.trial.candidate == at);
            let stand = match busy {
                Some(view) => format!("at station {} now", view.trial.station),
                None => self.stand_words(at),
            };
            let is_exact = !typed.is_empty() && candidate.number.to_lowercase() == typed;
            let rank = match (is_exact, may.is_empty(), candidate.station == Some(here)) {
                (true, ..) => 0,
                (_, false, true) => 1,
                (_, false, false) => 2,
                (_, true, _) => 3,
            };
            let who = format!("{} {}", candidate.number, candidate.name);
            rows.push((rank, BeginRow { candidate: at, who, stand, is_free: !may.is_empty() }));
        }
        rows.sort_by_key(|(rank, _)| *rank);
        rows.into_iter().map(|(_, row)| row).collect()
    }

    /// What a candidate has done and what is due, method by method.
    fn stand_words(&self, candidate: usize) -> String {
        let methods = self.state.sheets().iter().enumerate().filter_map(|(n, sheet)| {
            Some(match self.state.standing(candidate, n) {
                Standing::Due { number: 1 } => return None,
                Standing::Due { number } => format!("{}: trial {number} due", sheet.method),
                Standing::Passed { .. } => format!("{} ✓", sheet.method),
                Standing::ReExamination { .. } => format!("{}: re-examination", sheet.method),
                Standing::Undecided { .. } => format!("{}: open", sheet.method),
                Standing::UnderWay { .. } => format!("{}: under way", sheet.method),
            })
        });
        methods.collect::<Vec<_>>().join(", ")
    }

    /// The methods, with how the candidate stands in each.
    pub(super) fn method_rows(&self, candidate: usize) -> Vec<MethodRow> {
        let may = self.state.may_begin(candidate);
        let rows = self.state.sheets().iter().enumerate().map(|(n, sheet)| MethodRow {
            method: n,
            title: sheet.title.clone(),
            stand: self.state.standing(candidate, n).words(),
            is_free: may.contains(&n),
        });
        rows.collect()
    }

    /// The method offered first: that of this station if it is due, else the first that is.
    fn method_first(&self, candidate: usize) -> usize {
        let may = self.state.may_begin(candidate);
        let here = self.methods[self.station].filter(|method| may.contains(method));
        here.or(may.first().copied()).unwrap_or(0)
    }

    pub(super) fn begin_key(
        &mut self,
        mut begin: Begin,
        event: &KeyEvent,
        now: Moment,
        deeds: &mut Vec<ExamDeed>,
    ) -> Option<Begin> {
        let Some(candidate) = begin.candidate else {
            let rows = self.begin_rows(&begin.field.text);
            if event.code != KeyCode::Enter {
                begin.chosen = moved(begin.chosen, rows.len(), event);
                let before = begin.field.clone();
                typed(&mut begin.field, event);
                if begin.field != before {
                    begin.chosen = 0;
                }
                return Some(begin);
            }
            let Some(row) = rows.get(begin.chosen) else {
                self.refuse("Nobody on the roster fits what was typed.", now.tick, deeds);
                return Some(begin);
            };
            let (candidate, chosen) = (row.candidate, self.method_first(row.candidate));
            return Some(Begin { field: Field::default(), chosen, candidate: Some(candidate) });
        };
        let n = self.state.sheets().len();
        let digit = match event.code {
            KeyCode::Char(digit @ '1'..='9') => Some(digit as usize - '1' as usize).filter(|at| *at < n),
            _ => None,
        };
        if let Some(chosen) = digit {
            return Some(Begin { chosen, ..begin });
        }
        if event.code != KeyCode::Enter {
            begin.chosen = moved(begin.chosen, n, event);
            return Some(begin);
        }
        let number = self.state.roster().candidates.get(candidate).map(|one| one.number.clone()).unwrap_or_default();
        if self.begin(&number, begin.chosen, now, deeds) { None } else { Some(begin) }
    }
}

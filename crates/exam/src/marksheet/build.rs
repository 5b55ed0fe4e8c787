//! Making a sheet of a procedure by the exam's rules.

use std::cell::Cell;

use procedure::expr::{Datum, Expr, Facts};
use procedure::{Edition, Part, Procedure, ReadingId, ReadingKind, Repeat, Step, TableId, Text, ValueId, Wants};
use quantity::{Exact, System};

use super::{ClockSpec, CountSpec, Item, MarkSheet, Window};
use crate::config::{Exam, MethodRule, Told};

/// Rounds of a fixed number up to this are marked each for itself.
const ROUNDS_AT_MOST: u64 = 4;

/// Why a method has no sheet.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{method}: {why}")]
pub struct NoSheet {
    /// The method.
    pub method: String,
    /// Why.
    pub why: NoSheetWhy,
}

/// Why a method has no sheet.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoSheetWhy {
    /// There is no such procedure.
    #[error("there is no such procedure. Check its id, or put its file where procedures are read from")]
    NoProcedure,
    /// It is not stated in this unit system.
    #[error("its procedure is not stated in {0} units")]
    NoEdition(System),
    /// Nothing is left to mark.
    #[error("nothing is left to mark: leave out fewer acts")]
    NoItems,
    /// A name that is not on the sheet.
    #[error("`{key}` names `{name}`, and the procedure has no such step or limit")]
    NoSuchStep {
        /// The key of the exam file.
        key: &'static str,
        /// The name.
        name: String,
    },
}

/// The sheets of all methods of an exam, in its order.
///
/// # Errors
///
/// [`NoSheet`] for every method that has none, or whose rule names a step that is not there.
pub fn sheets<'p>(
    exam: &Exam,
    procedures: impl Fn(&str) -> Option<&'p Procedure>,
) -> Result<Vec<MarkSheet>, Vec<NoSheet>> {
    let mut found = Vec::new();
    let mut faults = Vec::new();
    for rule in &exam.methods {
        let no = |why| NoSheet { method: rule.id.clone(), why };
        let Some(procedure) = procedures(&rule.id) else {
            faults.push(no(NoSheetWhy::NoProcedure));
            continue;
        };
        let Some(edition) = procedure.edition(rule.system) else {
            faults.push(no(NoSheetWhy::NoEdition(rule.system)));
            continue;
        };
        let wrong = rule.unknown_names(edition);
        faults.extend(wrong.into_iter().map(|(key, name)| no(NoSheetWhy::NoSuchStep { key, name: name.to_owned() })));
        let mut sheet = MarkSheet::of(edition, rule);
        sheet.not_seen = exam.not_seen;
        if sheet.items.is_empty() {
            faults.push(no(NoSheetWhy::NoItems));
        }
        found.push(sheet);
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}

impl MarkSheet {
    /// The sheet of one method by its rule.
    ///
    /// Steps that only write down words (names, numbers, places) are left out unless the rule says `mark_also`.
    pub fn of(edition: &Edition, rule: &MethodRule) -> MarkSheet {
        let mut items: Vec<Item> = Vec::new();
        for stage in &edition.stages {
            let fixed = match &stage.repeat {
                Some(Repeat::Times(times)) => fixed_number(edition, &times.times).filter(|n| *n <= ROUNDS_AT_MOST),
                _ => None,
            };
            let steps = &edition.steps[usize::from(stage.first.0)..usize::from(stage.end.0)];
            for round in 1..=fixed.unwrap_or(1) {
                for step in steps.iter().filter(|step| is_marked(edition, step, rule)) {
                    let repeats = stage.repeat.is_some() && fixed.is_none();
                    items.push(item(step, &stage.title, round, repeats, rule));
                }
            }
        }
        let place = |step: procedure::StepId, last: bool| {
            let id = &edition.step(step).id;
            let mut found = items.iter().enumerate().filter(|(_, item)| item.step == *id).map(|(at, _)| at);
            if last { found.next_back() } else { found.next() }
        };
        let windows = edition.limits.iter().filter_map(|limit| {
            let key = format!("limit:{}", limit.id);
            if rule.leave_out.contains(&key) {
                return None;
            }
            let critical = rule.critical.contains(&key);
            let (from, to) = (place(limit.from, false)?, place(limit.to, true)?);
            Some(Window { key, text: said(&limit.title), from, to, at_most: limit.at_most, critical })
        });
        let windows = windows.collect();
        MarkSheet {
            method: edition.id.clone(),
            title: edition.title.clone(),
            system: edition.system,
            items,
            windows,
            trials_at_most: rule.trials_at_most,
            time_limit: rule.time_limit,
            pass: rule.pass.clone(),
            not_seen: crate::NotSeen::default(),
        }
    }
}

impl MethodRule {
    /// Names in the rule that the procedure does not have: the key they stand under, and the name.
    pub fn unknown_names(&self, edition: &Edition) -> Vec<(&'static str, &str)> {
        let told = match &self.told {
            Told::Only(steps) => steps.as_slice(),
            Told::All | Told::Nothing => &[],
        };
        let lists = [
            ("told", told, false),
            ("critical", &self.critical[..], true),
            ("leave_out", &self.leave_out[..], true),
            ("ask_always", &self.ask_always[..], false),
            ("mark_also", &self.mark_also[..], false),
        ];
        let mut wrong = Vec::new();
        for (key, names, limits) in lists {
            for name in names {
                let is_limit = name
                    .strip_prefix("limit:")
                    .is_some_and(|id| limits && edition.limits.iter().any(|limit| limit.id == id));
                if !is_limit && edition.step_named(name).is_none() {
                    wrong.push((key, name.as_str()));
                }
            }
        }
        wrong
    }
}

fn is_marked(edition: &Edition, step: &Step, rule: &MethodRule) -> bool {
    if rule.leave_out.contains(&step.id) {
        return false;
    }
    let words = match &step.wants {
        Wants::Read(reading) => edition.reading(*reading).kind == ReadingKind::Words,
        _ => false,
    };
    !words || rule.mark_also.contains(&step.id)
}

fn item(step: &Step, stage: &str, round: u64, repeats: bool, rule: &MethodRule) -> Item {
    let short = said(step.say.as_ref().unwrap_or(&step.instruction));
    let text = step.mark.as_ref().map_or_else(|| short.clone(), said);
    let clock = match &step.wants {
        Wants::Hold { at_least, at_most, turns, .. } => Some(ClockSpec {
            at_least: *at_least,
            at_most: *at_most,
            down_at_most: turns.as_ref().map(|turns| turns.down_at_most),
            down: turns.as_ref().map(|turns| turns.down.clone()),
            up: turns.as_ref().map(|turns| turns.up.clone()),
            by_readings: false,
        }),
        Wants::Timed { at_least, at_most, .. } => Some(ClockSpec {
            at_least: *at_least,
            at_most: Some(*at_most),
            down_at_most: None,
            down: None,
            up: None,
            by_readings: false,
        }),
        Wants::Settle(settle) => Some(ClockSpec {
            at_least: settle.every,
            at_most: None,
            down_at_most: None,
            down: None,
            up: None,
            by_readings: true,
        }),
        Wants::Act | Wants::Count { .. } | Wants::Read(_) => None,
    };
    let count = match &step.wants {
        Wants::Count { of, at_least, at_most, .. } => {
            Some(CountSpec { of: of.clone(), at_least: *at_least, at_most: *at_most })
        }
        _ => None,
    };
    Item {
        key: if round > 1 { format!("{}@{round}", step.id) } else { step.id.clone() },
        step: step.id.clone(),
        stage: stage.to_owned(),
        text,
        short,
        why: step.why.as_ref().map(said),
        slip: step.slip.as_ref().map(said),
        tellable: match &rule.told {
            Told::All => true,
            Told::Nothing => false,
            Told::Only(steps) => steps.contains(&step.id),
        },
        critical: rule.critical.contains(&step.id),
        // What is critical is asked, whatever else it hangs on.
        conditional: step.when.is_some() && !rule.ask_always.contains(&step.id) && !rule.critical.contains(&step.id),
        repeats,
        clock,
        count,
    }
}

/// A text for a sheet of paper: what would be filled in during a run is left as dots.
fn said(text: &Text) -> String {
    let mut said = String::new();
    for part in &text.parts {
        match part {
            Part::Plain(text) => said.push_str(text),
            // A mark sheet is printed before anything is read.
            Part::Reading(_) | Part::Was(_) | Part::Value(_) | Part::Round => said.push('…'),
        }
    }
    said
}

/// The value of an expression that rests on nothing read, chosen or counted.
fn fixed_number(edition: &Edition, expr: &Expr) -> Option<u64> {
    /// Knows nothing, and notes that it was asked: "unknown" may still lead an `if` somewhere.
    struct Nothing<'e> {
        edition: &'e Edition,
        asked: Cell<bool>,
    }
    impl Nothing<'_> {
        fn asked<T>(&self, answer: T) -> T {
            self.asked.set(true);
            answer
        }
    }
    impl Facts for Nothing<'_> {
        fn reading(&self, _: ReadingId) -> Datum {
            self.asked(Datum::Unknown)
        }
        fn was(&self, _: ReadingId) -> Datum {
            self.asked(Datum::Unknown)
        }
        fn sum(&self, _: ReadingId) -> Exact {
            self.asked(Exact::zero())
        }
        fn round(&self) -> u32 {
            self.asked(1)
        }
        fn attempt(&self) -> u32 {
            self.asked(1)
        }
        fn formula(&self, id: ValueId) -> &Expr {
            &self.edition.values[usize::from(id.0)].is
        }
        fn table(&self, id: TableId, at: &Exact) -> Option<Exact> {
            self.edition.tables[usize::from(id.0)].at(at)
        }
    }
    let nothing = Nothing { edition, asked: Cell::new(false) };
    let number = expr.eval(&nothing).number()?.to_u64().filter(|n| *n > 0);
    number.filter(|_| !nothing.asked.get())
}

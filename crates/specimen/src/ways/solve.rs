//! Values that make conditions so.
//!
//! One condition after the other is mended by changing one reading it rests on, the one that spoils the least; where
//! none does it alone, the reading that brings it nearest, and then two at once. Numbers are tried at the marks where
//! something changes, and between them where a comparison turns over.
//!
//! **Invariant:** it ends, and changes nothing but what is free.

use std::collections::BTreeSet;

use engine::Entry;
use procedure::expr::{Datum, Expr, Op};
use procedure::{ReadingId, ReadingKind};
use quantity::{Exact, Scale, Ties};

use super::field::{Claim, Field, GOAL, Guess, Var, Vars, Want, entry, is_comparison, off_usual, parts};
use crate::chance::Chance;

/// Conditions mended before it is left as it is.
const MENDS_AT_MOST: usize = 80;
/// Values of one reading tried in a pair.
const PAIRED_AT_MOST: usize = 12;
/// Pairs tried for one condition.
const PAIRS_AT_MOST: usize = 600;

/// What may be changed, and what is better changed than another.
pub(super) struct Freedom {
    pub vars: Vars,
    /// The reading of the step the goal is about.
    pub own: Option<ReadingId>,
}

impl<'e> Field<'e> {
    /// Changes `guess` until `goals` and the claims of a clean way hold, as far as that can be. True if the goals hold.
    pub(super) fn solve<'f>(&'f self, guess: &mut Guess<'f>, goals: &[Claim<'f>], freedom: &Freedom) -> bool
    where
        'f: 'e,
    {
        let all: Vec<&Claim<'_>> = goals.iter().chain(&self.claims).collect();
        let n_goals = goals.len();
        let mut given_up = BTreeSet::new();
        for _ in 0..MENDS_AT_MOST {
            let open = (0..all.len()).filter(|at| !given_up.contains(at) && !guess.keeps(all[*at]));
            let Some(at) = open.max_by_key(|at| (all[*at].weight, std::cmp::Reverse(*at))) else { break };
            let related = |var: Var| -> Vec<&Claim<'_>> {
                let of_claims = self.claims_of.get(&var).into_iter().flatten().map(|claim| all[n_goals + claim]);
                all[..n_goals].iter().copied().filter(|goal| goal.needs.contains(&var)).chain(of_claims).collect()
            };
            let is_mended = self.mend(guess, all[at], &related, freedom);
            if !is_mended {
                given_up.insert(at);
            }
        }
        goals.iter().all(|goal| guess.keeps(goal))
    }

    /// Makes one claim hold, or brings it nearer. False if nothing was changed for the better.
    fn mend<'a, 'f>(
        &'f self,
        guess: &mut Guess<'f>,
        claim: &Claim<'_>,
        related: &dyn Fn(Var) -> Vec<&'a Claim<'a>>,
        freedom: &Freedom,
    ) -> bool {
        let is_goal = claim.weight == GOAL;
        let free: Vec<Var> = claim.needs.intersection(&freedom.vars).copied().collect();
        let score = |guess: &Guess<'_>, claims: &[&Claim<'_>]| -> u64 {
            claims.iter().filter(|claim| !guess.keeps(claim)).map(|claim| u64::from(claim.weight)).sum()
        };
        let mut best: Option<((u64, bool, Exact), Var, Entry)> = None;
        let mut nearest: Option<(Exact, Var, Entry)> = None;
        let distance = |guess: &Guess<'_>| claim_distance(guess, claim);
        let far = distance(guess);
        for var in &free {
            let related = related(*var);
            let before = score(guess, &related);
            for value in self.values(guess, *var, claim, is_goal) {
                let mut tried = guess.clone();
                tried.set(*var, value.clone());
                let off = self.off(*var, &value);
                if !tried.keeps(claim) {
                    let left = distance(&tried);
                    if left < far && nearest.as_ref().is_none_or(|(so_far, ..)| left < *so_far) {
                        nearest = Some((left, *var, value));
                    }
                    continue;
                }
                let after = score(&tried, &related);
                // What was 50 before and is 30 after is better than what was 10 and is still 10.
                let change = (after + u64::from(u32::MAX)).saturating_sub(before);
                let is_own = matches!((var, freedom.own), (Var::Reading(id), Some(own)) if *id == own);
                let key = (change, !is_own, off);
                if best.as_ref().is_none_or(|(so_far, ..)| key < *so_far) {
                    best = Some((key, *var, value));
                }
            }
        }
        if let Some(((change, ..), var, value)) = best
            && (is_goal || change < u64::from(u32::MAX))
        {
            guess.set(var, value);
            return true;
        }
        if let Some((_, var, value)) = nearest
            && is_goal
        {
            guess.set(var, value);
            return true;
        }
        is_goal && self.mend_by_two(guess, claim, &free)
    }

    fn mend_by_two<'f>(&'f self, guess: &mut Guess<'f>, claim: &Claim<'_>, free: &[Var]) -> bool {
        let mut n_tried = 0;
        for (at, first) in free.iter().enumerate() {
            for value in self.values(guess, *first, claim, false).into_iter().take(PAIRED_AT_MOST) {
                let mut with = guess.clone();
                with.set(*first, value);
                for second in &free[at + 1..] {
                    for value in self.values(&with, *second, claim, false).into_iter().take(PAIRED_AT_MOST) {
                        let mut tried = with.clone();
                        tried.set(*second, value);
                        if tried.keeps(claim) {
                            *guess = tried;
                            return true;
                        }
                        n_tried += 1;
                        if n_tried >= PAIRS_AT_MOST {
                            return false;
                        }
                    }
                }
            }
        }
        false
    }

    fn off(&self, var: Var, value: &Entry) -> Exact {
        match var {
            Var::Reading(id) | Var::Was(id) => off_usual(self.edition.reading(id), value),
            Var::Round | Var::Attempt => Exact::zero(),
        }
    }

    /// Values of `var` worth trying for a claim, those that are usual first.
    fn values<'f>(&'f self, guess: &Guess<'f>, var: Var, claim: &Claim<'_>, is_goal: bool) -> Vec<Entry> {
        let (Var::Reading(id) | Var::Was(id)) = var else { return Vec::new() };
        let reading = self.edition.reading(id);
        match &reading.kind {
            ReadingKind::Choice(choices) => (0..choices.len()).map(|at| Entry::Choice(at as u16)).collect(),
            ReadingKind::Number(scale) => {
                let mut marks: BTreeSet<Exact> = self.marks[usize::from(id.0)].iter().cloned().collect();
                let has_any = || {
                    marks.iter().any(|mark| {
                        let mut tried = guess.clone();
                        entry(scale, mark).is_some_and(|entry| {
                            tried.set(var, entry);
                            tried.keeps(claim)
                        })
                    })
                };
                if is_goal || !has_any() {
                    marks.extend(self.turns(guess, var, scale, &claim.expr));
                }
                let mut all: Vec<Entry> = marks.iter().filter_map(|mark| entry(scale, mark)).collect();
                all.sort_by_cached_key(|value| off_usual(reading, value));
                all
            }
            ReadingKind::Words | ReadingKind::Tally { .. } => Vec::new(),
        }
    }

    /// Marks at which a comparison in `expr`, or in a value it uses, turns over when `var` is changed alone.
    fn turns<'f>(&'f self, guess: &Guess<'f>, var: Var, scale: &Scale, expr: &Expr) -> Vec<Exact> {
        let mut differences = Vec::new();
        let mut open = vec![expr];
        let mut seen = BTreeSet::new();
        while let Some(expr) = open.pop() {
            match expr {
                Expr::Two(op, a, b) if is_comparison(*op) => {
                    differences.push(Expr::Two(Op::Subtract, a.clone(), b.clone()));
                }
                Expr::Abs(x) => differences.push((**x).clone()),
                Expr::Value(id) if seen.insert(*id) => open.push(&self.edition.values[usize::from(id.0)].is),
                _ => {}
            }
            open.extend(parts(expr));
        }
        let marks = match var {
            Var::Reading(id) | Var::Was(id) => &self.marks[usize::from(id.0)],
            _ => return Vec::new(),
        };
        let mut found = Vec::new();
        for difference in differences.iter().filter(|difference| self.directly(difference).contains(&var)) {
            let at = |mark: &Exact| -> Option<Exact> {
                let mut tried = guess.clone();
                tried.set(var, entry(scale, mark)?);
                match difference.eval(&tried) {
                    Datum::Number(value) => Some(value),
                    _ => None,
                }
            };
            let known: Vec<(&Exact, Exact)> = marks.iter().filter_map(|mark| Some((mark, at(mark)?))).collect();
            for pair in known.windows(2) {
                let [(low, below), (high, above)] = pair else { continue };
                if below.is_negative() != above.is_negative() || below.is_zero() != above.is_zero() {
                    found.extend(between(scale, low, high, below.is_negative(), &at));
                }
            }
        }
        found
    }
}

/// The marks around the one at which `at` turns over between `low` and `high`.
fn between(
    scale: &Scale,
    low: &Exact,
    high: &Exact,
    is_negative: bool,
    at: &dyn Fn(&Exact) -> Option<Exact>,
) -> Vec<Exact> {
    let step = Exact::from(scale.step);
    let (mut low, mut high) = (low.clone(), high.clone());
    for _ in 0..64 {
        let half = (&low + &high).checked_div(&Exact::from_int(2)).unwrap_or_else(|| low.clone());
        let middle = half.rounded_to(&step, Ties::Even);
        if middle <= low || middle >= high {
            break;
        }
        match at(&middle) {
            Some(value) if value.is_negative() == is_negative && !value.is_zero() => low = middle,
            Some(_) => high = middle,
            None => break,
        }
    }
    let beyond = [&low - &step, low.clone(), high.clone(), &high + &step];
    beyond.into_iter().collect()
}

fn claim_distance(guess: &Guess<'_>, claim: &Claim<'_>) -> Exact {
    match claim.want {
        Want::True | Want::NotFalse => guess.distance(&claim.expr, true),
        Want::False | Want::NotTrue => guess.distance(&claim.expr, false),
    }
}

/// Gives some choices another answer, where nothing speaks against it: an ordinary day is not always the same.
pub(super) fn vary<'f>(
    field: &'f Field<'f>,
    guess: &mut Guess<'f>,
    goals: &[Claim<'f>],
    free: &Vars,
    chance: &mut Chance,
) {
    let score = |guess: &Guess<'_>| -> u64 {
        let all = goals.iter().chain(&field.claims);
        all.filter(|claim| !guess.keeps(claim)).map(|claim| u64::from(claim.weight)).sum()
    };
    for var in free {
        let Var::Reading(id) = var else { continue };
        let ReadingKind::Choice(choices) = &field.edition.reading(*id).kind else { continue };
        let at = chance.below(choices.len() as u64);
        // Drawn whether it is used or not, so that one procedure's choices are not moved by another rule.
        if chance.below(4) != 0 || goals.iter().any(|goal| goal.needs.contains(var)) {
            continue;
        }
        let mut tried = guess.clone();
        tried.set(*var, Entry::Choice(u16::try_from(at).unwrap_or(0)));
        if score(&tried) <= score(guess) {
            *guess = tried;
        }
    }
}

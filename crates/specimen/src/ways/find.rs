//! Finding a way: what must be so for a branch, tried on the engine.
//!
//! Here: from a branch to what has to hold and what has to go wrong ([`Plan`]), and runs performed until one meets it.
//! Not here: which values make a condition hold (`solve`), and how a run is performed (`perform`).
//!
//! **Invariant:** what is given was performed, met its branch and came to an end, and nothing was refused on it but what
//! the branch is about.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::sync::Arc;

use engine::{Entry, Phase, Run};
use procedure::expr::{Datum, Expr, Op};
use procedure::{AgainId, Consequence, Edition, Ending, ReadingId, ReadingKind, Repeat, StepId, Wants};
use quantity::{Exact, Span};

use super::field::{Claim, Field, GOAL, Guess, HARD, Var, Vars, Want, entry, reads};
use super::list::branches;
use super::meet::fits;
use super::perform::{Refusal, Scene, Technician, Teller, ordinary};
use super::solve::{Freedom, vary};
use super::{Branch, BranchKind, NoWay, Told, Way};
use crate::chance::Chance;

/// Runs performed for one branch before it is said that there is no way.
const RUNS_AT_MOST: u32 = 60;
/// Attempts a way goes through.
const ATTEMPTS_AT_MOST: u16 = 3;
/// Steps tried for something that may come about at any of them.
const PLACES_AT_MOST: usize = 12;
/// Ends of the attempt before tried for what depends on it, by each way to begin again.
const ENDS_AT_MOST: usize = 8;
/// Rounds looked into for a condition on the round.
const ROUNDS_AT_MOST: u32 = 6;

/// The ways through one edition. Finding several, it is quicker than asking for each alone.
pub struct Ways<'e> {
    edition: &'e Arc<Edition>,
    field: Field<'e>,
}

/// What is to be so in the attempts of a run, first to last.
#[derive(Clone, Default)]
struct Plan<'f> {
    parts: Vec<Part<'f>>,
}

/// What is to be so in one attempt.
#[derive(Clone, Default)]
struct Part<'f> {
    goals: Vec<Claim<'f>>,
    twist: Option<Twist>,
    /// The reading of the step it is about.
    own: Option<ReadingId>,
    /// The round a condition is looked at in; 0 for any.
    round: u32,
}

/// What goes otherwise than it should.
#[derive(Clone, Debug)]
enum Twist {
    Tell(StepId, Told),
    NeverSettles(StepId),
    NeverAgree(u16),
}

/// How a plan is tried.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Manner {
    /// Usual values, here and there another answer.
    Varied,
    /// Usual values.
    Usual,
    /// Any values that matter.
    Wild,
}

impl<'e> Ways<'e> {
    /// The ways through `edition`.
    pub fn of(edition: &'e Arc<Edition>) -> Self {
        Self { edition, field: Field::of(edition) }
    }

    /// See [`clean`](super::clean).
    ///
    /// # Errors
    ///
    /// [`NoWay`] as there.
    pub fn clean(&self, seed: u64) -> Result<Way, NoWay> {
        let branch = branches(self.edition).into_iter().find(|branch| branch.kind == BranchKind::Clean);
        let ordinary =
            || Branch { id: "clean".to_owned(), title: "An ordinary run".to_owned(), kind: BranchKind::Clean };
        self.to(&branch.unwrap_or_else(ordinary), seed)
    }

    /// See [`way_to`](super::way_to).
    ///
    /// # Errors
    ///
    /// [`NoWay`] as there.
    pub fn to(&self, branch: &Branch, seed: u64) -> Result<Way, NoWay> {
        let mut chance = Chance::named(seed, &branch.id);
        let plans = self.plans(branch.kind, &mut chance);
        let mut n_tried = 0;
        let mut last = "nothing was found to try".to_owned();
        let wild = std::iter::repeat_n(Manner::Wild, 4);
        for (turn, manner) in [Manner::Varied, Manner::Usual].into_iter().chain(wild).enumerate() {
            for plan in &plans {
                if n_tried >= RUNS_AT_MOST {
                    return Err(NoWay { branch: branch.clone(), n_tried, last });
                }
                n_tried += 1;
                match self.attempt(branch, plan, manner, seed, turn as u64) {
                    Ok(way) => return Ok(way),
                    Err(because) => last = because,
                }
            }
        }
        Err(NoWay { branch: branch.clone(), n_tried, last })
    }

    /// Performs one run by `plan`; the way if it met the branch, else how it came out.
    fn attempt(&self, branch: &Branch, plan: &Plan<'_>, manner: Manner, seed: u64, turn: u64) -> Result<Way, String> {
        let search = Search {
            field: &self.field,
            plan,
            manner,
            chance: Chance::named(seed.wrapping_add(turn), "values"),
            guess: None,
            sequence: None,
        };
        let done = Technician::new(self.edition, branch.clone(), search).work();
        let said = |text: &str| self.may_be_refused(branch, text);
        if done.met_at.is_none() {
            return Err(came_out(&done.run, &done.refused));
        }
        if !matches!(done.run.phase(), Phase::Closed { .. }) {
            return Err("the run did not come to an end".to_owned());
        }
        if done.refused.len() > 1 {
            return Err(format!("refused again: {}", done.refused[1].because));
        }
        if let Some(other) = done.refused.iter().find(|refusal| !said(&refusal.because)) {
            return Err(format!("refused: {}", other.because));
        }
        Ok(Way { branch: branch.clone(), tells: done.tells })
    }

    /// Whether a refusal is what the branch is about.
    fn may_be_refused(&self, branch: &Branch, said: &str) -> bool {
        match branch.kind {
            BranchKind::Rule { step, rule } => {
                let rule = self.edition.step(step).rules.get(usize::from(rule));
                rule.is_some_and(|rule| matches!(&rule.then, Consequence::Refuse(text) if fits(text, said)))
            }
            BranchKind::NoChange { again } => {
                let change = self.edition.agains[usize::from(again)].change.as_ref();
                change.is_some_and(|change| fits(&change.because, said))
            }
            BranchKind::Need { step, need } => {
                let need = self.edition.step(step).needs.get(usize::from(need));
                need.is_some_and(|need| fits(&need.because, said))
            }
            _ => false,
        }
    }

    // ------------------------------------------------------------------ from a branch to what must be so

    fn plans(&self, kind: BranchKind, chance: &mut Chance) -> Vec<Plan<'_>> {
        let edition: &Edition = self.edition;
        let tell = |step: StepId, told: Told| Twist::Tell(step, told);
        match kind {
            BranchKind::Clean => vec![Plan { parts: vec![Part::default()] }],
            BranchKind::Rule { step, rule } | BranchKind::BackTooOften { step, rule } => {
                let Some(rule) = edition.step(step).rules.get(usize::from(rule)) else { return Vec::new() };
                self.of_goals(vec![self.goal(&rule.when, Want::True)], Some(step))
            }
            BranchKind::Need { step, need } => {
                let Some(need) = edition.step(step).needs.get(usize::from(need)) else { return Vec::new() };
                self.of_goals(vec![self.goal(&need.that, Want::NotTrue)], Some(step))
            }
            BranchKind::Condition { step, is_done } => {
                let Some(when) = &edition.step(step).when else { return Vec::new() };
                if is_done {
                    self.of_goals(Vec::new(), Some(step))
                } else {
                    self.of_goals(vec![self.goal(when, Want::False)], None)
                }
            }
            BranchKind::Timed { step, too_slow } => {
                let Wants::Timed { at_least, at_most, .. } = &edition.step(step).wants else { return Vec::new() };
                let span = if too_slow { over(*at_most, chance) } else { Span(at_least.0 / 2) };
                self.twisted(step, tell(step, Told::Lasts { span }))
            }
            BranchKind::HoldTooLong { step } => {
                let Wants::Hold { at_most: Some(at_most), .. } = &edition.step(step).wants else { return Vec::new() };
                self.twisted(step, tell(step, Told::Lasts { span: over(*at_most, chance) }))
            }
            BranchKind::DownTooLong { step } => {
                let Wants::Hold { turns: Some(turns), .. } = &edition.step(step).wants else { return Vec::new() };
                self.twisted(step, tell(step, Told::Down { span: over(turns.down_at_most, chance) }))
            }
            BranchKind::Added { step } => {
                let n = 1 + u32::try_from(chance.below(2)).unwrap_or(0);
                self.twisted(step, tell(step, Told::Adds { n }))
            }
            BranchKind::GiveUp { step } => self.twisted(step, Twist::NeverSettles(step)),
            BranchKind::RoundsDisagree { stage } => {
                vec![Plan { parts: vec![Part { twist: Some(Twist::NeverAgree(stage)), ..Part::default() }] }]
            }
            BranchKind::Limit { limit } => self.late(limit, chance),
            BranchKind::Incident { incident } => self.going_wrong(incident, chance),
            BranchKind::Again { again } => self.ends_with(AgainId(again), chance),
            BranchKind::NoChange { again } => {
                let Some(change) = &edition.agains[usize::from(again)].change else { return Vec::new() };
                let goals = vec![self.goal(&change.require, Want::NotTrue)];
                let second = Part { goals, twist: None, own: Some(change.reading), round: 0 };
                let mut plans = self.ends_with(AgainId(again), chance);
                for plan in &mut plans {
                    plan.parts.push(second.clone());
                }
                plans
            }
            BranchKind::ResultRule { result, rule } => {
                let spec = &edition.results[usize::from(result)];
                let Some(rule) = spec.rules.get(usize::from(rule)) else { return Vec::new() };
                let mut goals = vec![self.goal(&rule.when, Want::True)];
                goals.extend(spec.when.as_ref().map(|when| self.goal(when, Want::True)));
                self.of_goals(goals, None)
            }
            BranchKind::Result { result, is_reported } => {
                let Some(when) = &edition.results[usize::from(result)].when else { return Vec::new() };
                let want = if is_reported { Want::True } else { Want::NotTrue };
                self.of_goals(vec![self.goal(when, want)], None)
            }
        }
    }

    fn goal<'f>(&'f self, expr: &'f Expr, want: Want) -> Claim<'f> {
        self.field.claim(Cow::Borrowed(expr), want, None, GOAL)
    }

    /// The step is to be done.
    fn is_done(&self, step: StepId) -> Option<Claim<'_>> {
        self.edition.step(step).when.as_ref().map(|when| self.goal(when, Want::NotFalse))
    }

    fn twisted(&self, step: StepId, twist: Twist) -> Vec<Plan<'_>> {
        let mut plans = self.of_goals(Vec::new(), Some(step));
        for part in plans.iter_mut().filter_map(|plan| plan.parts.last_mut()) {
            part.twist = Some(twist.clone());
        }
        plans
    }

    /// Plans for goals that are asked at `step`, which must then be done: by rounds where they depend on the round, and
    /// in the second attempt where they depend on the one before.
    fn of_goals<'f>(&'f self, mut goals: Vec<Claim<'f>>, step: Option<StepId>) -> Vec<Plan<'f>> {
        goals.extend(step.and_then(|step| self.is_done(step)));
        let needs: Vars = goals.iter().flat_map(|goal| goal.needs.iter().copied()).collect();
        let own = step.and_then(|step| reads(&self.edition.step(step).wants).first().copied());
        let part = |goals: Vec<Claim<'f>>, round: u32| Part { goals, twist: None, own, round };
        let mut parts = Vec::new();
        if needs.contains(&Var::Round) {
            for round in 1..=ROUNDS_AT_MOST {
                let mut goals = goals.clone();
                // So many rounds there must be.
                for stage in &self.edition.stages {
                    let is_here = step.is_none_or(|step| stage.first <= step && step < stage.end);
                    let Some(Repeat::Times(times)) = stage.repeat.as_ref().filter(|_| is_here) else { continue };
                    let number = Box::new(Expr::Number(Exact::from_int(i64::from(round))));
                    let enough = Expr::Two(Op::AtLeast, Box::new(times.times.clone()), number);
                    goals.push(self.field.claim(Cow::Owned(enough), Want::True, None, GOAL));
                }
                parts.push(part(goals, round));
            }
        } else {
            parts.push(part(goals, 0));
        }
        let alone = |part: &Part<'f>| Plan { parts: vec![part.clone()] };
        let is_later = needs.iter().any(|var| matches!(var, Var::Was(_) | Var::Attempt));
        if !is_later {
            return parts.iter().map(alone).collect();
        }
        let mut plans: Vec<Plan<'f>> = parts.iter().flat_map(|part| self.after_an_attempt(part)).collect();
        plans.extend(parts.iter().map(alone));
        plans
    }

    /// Plans in which the attempt before comes out so that the goals of `part` can hold in the second.
    fn after_an_attempt<'f>(&'f self, part: &Part<'f>) -> Vec<Plan<'f>> {
        let mut chance = Chance::new(0);
        let mut guess = Guess::usual(&self.field, &mut chance, false);
        guess.attempt = 2;
        guess.round = part.round.max(1);
        let readings = (0..self.edition.readings.len()).map(|at| ReadingId(at as u16));
        let needs: Vars = part.goals.iter().flat_map(|goal| goal.needs.iter().copied()).collect();
        let mut vars: Vars = readings.map(Var::Reading).collect();
        vars.extend(needs.iter().copied());
        // The attempt before was as usual as can be, too.
        guess.was = guess.values.iter().cloned().map(Some).collect();
        self.field.solve(&mut guess, &part.goals, &Freedom { vars, own: part.own });
        let mut before = Vec::new();
        let mut latest = StepId(0);
        for var in needs {
            let (Var::Was(id), Some(entry)) = (var, guess.get(var)) else { continue };
            before.extend(self.is_read_as(id, entry));
            latest = latest.max(self.field.read_at[usize::from(id.0)].last().copied().unwrap_or(StepId(0)));
        }
        let first = |twist: Option<Twist>| Part { goals: before.clone(), twist, own: None, round: 0 };
        // The reading itself may end the attempt; else something goes wrong after it.
        let mut firsts = vec![first(None)];
        for (incident, spec) in (0..).zip(&self.edition.incidents).filter(|(_, spec)| spec.ending.again.is_some()) {
            let steps = self.steps_during(&spec.during).into_iter().filter(|step| *step > latest).take(2);
            firsts.extend(steps.map(|step| first(Some(Twist::Tell(step, Told::Incident { incident })))));
        }
        // Else any other end after which there is a new attempt.
        for again in 0..self.edition.agains.len() {
            let ends = self.ends_with(AgainId(again as u16), &mut chance).into_iter().take(ENDS_AT_MOST);
            firsts.extend(ends.filter(|plan| plan.parts.len() == 1).flat_map(|plan| plan.parts).map(|mut end| {
                end.goals.extend(before.iter().cloned());
                end
            }));
        }
        firsts.into_iter().map(|first| Plan { parts: vec![first, part.clone()] }).collect()
    }

    /// A reading has this value.
    fn is_read_as(&self, id: ReadingId, entry: &Entry) -> Option<Claim<'_>> {
        let value = match entry {
            Entry::Number(value) => Expr::Number(Exact::from(*value)),
            Entry::Choice(at) => Expr::Choice(*at),
            Entry::Words(_) | Entry::One => return None,
        };
        let equal = Expr::Two(Op::Equal, Box::new(Expr::Reading(id)), Box::new(value));
        Some(self.field.claim(Cow::Owned(equal), Want::True, None, GOAL))
    }

    /// Steps between the ends of a limit at which time can be lost; first those that lie in the fewest other limits.
    fn late(&self, limit: u16, chance: &mut Chance) -> Vec<Plan<'_>> {
        let spec = &self.edition.limits[usize::from(limit)];
        let span = over(spec.at_most, chance);
        let mut steps: Vec<StepId> = (spec.from.0 + 1..=spec.to.0).map(StepId).collect();
        let others = |step: StepId| {
            let limits = self.edition.limits.iter().filter(|other| *other != spec && other.at_most <= span);
            let is_waiting = matches!(self.edition.step(step).wants, Wants::Settle(_));
            limits.filter(|other| other.from < step && step <= other.to).count() + usize::from(is_waiting)
        };
        let is_sure = |step: StepId| self.edition.step(step).when.is_none();
        // A pause comes where nothing is in the hands: before what is read and listened to rather than in an act.
        chance.shuffle(&mut steps);
        steps.sort_by_key(|step| (others(*step), !is_sure(*step)));
        let ends: Vec<Claim<'_>> = [spec.from, spec.to].into_iter().filter_map(|step| self.is_done(step)).collect();
        let plan = |step: StepId| {
            let mut plans = self.of_goals(ends.clone(), Some(step));
            for part in plans.iter_mut().filter_map(|plan| plan.parts.last_mut()) {
                part.twist = Some(Twist::Tell(step, Told::Late { span }));
            }
            plans
        };
        steps.into_iter().take(PLACES_AT_MOST).flat_map(plan).collect()
    }

    fn steps_during(&self, stages: &[u16]) -> Vec<StepId> {
        let steps = (0..).map(StepId).zip(&self.edition.steps);
        steps.filter(|(_, step)| stages.contains(&step.stage)).map(|(id, _)| id).collect()
    }

    fn going_wrong(&self, incident: u16, chance: &mut Chance) -> Vec<Plan<'_>> {
        let spec = &self.edition.incidents[usize::from(incident)];
        let mut steps = self.steps_during(&spec.during);
        chance.shuffle(&mut steps);
        steps.sort_by_key(|step| self.edition.step(*step).when.is_some());
        let plan = |step: StepId| self.twisted(step, Twist::Tell(step, Told::Incident { incident }));
        steps.into_iter().take(PLACES_AT_MOST).flat_map(plan).collect()
    }

    /// Plans of every branch that ends an attempt so that the next is begun by `again`.
    fn ends_with(&self, again: AgainId, chance: &mut Chance) -> Vec<Plan<'_>> {
        let is_it = |ending: &Ending| ending.again == Some(again);
        let ends = |then: &Consequence| match then {
            Consequence::End(ending) => is_it(ending),
            Consequence::Back { otherwise, .. } => is_it(otherwise),
            Consequence::Refuse(_) | Consequence::Finding(_) => false,
        };
        let edition: &Edition = self.edition;
        let leads = |kind: BranchKind| match kind {
            BranchKind::Rule { step, rule } => {
                let then = &edition.step(step).rules[usize::from(rule)].then;
                matches!(then, Consequence::End(_)) && ends(then)
            }
            BranchKind::BackTooOften { step, rule } => ends(&edition.step(step).rules[usize::from(rule)].then),
            BranchKind::Timed { step, .. } => {
                matches!(&edition.step(step).wants, Wants::Timed { otherwise, .. } if ends(otherwise))
            }
            BranchKind::GiveUp { step } => {
                matches!(&edition.step(step).wants, Wants::Settle(settle) if is_it(&settle.otherwise))
            }
            BranchKind::RoundsDisagree { stage } => {
                let repeat = edition.stages[usize::from(stage)].repeat.as_ref();
                repeat.and_then(Repeat::until_agree).is_some_and(|agree| is_it(&agree.otherwise))
            }
            BranchKind::Limit { limit } => ends(&edition.limits[usize::from(limit)].otherwise),
            BranchKind::Incident { incident } => is_it(&edition.incidents[usize::from(incident)].ending),
            _ => false,
        };
        let mut kinds: Vec<BranchKind> =
            branches(edition).into_iter().map(|branch| branch.kind).filter(|kind| leads(*kind)).collect();
        chance.shuffle(&mut kinds);
        kinds.into_iter().flat_map(|kind| self.plans(kind, chance)).collect()
    }
}

/// A little longer than allowed: enough that it is no matter of a second.
fn over(at_most: Span, chance: &mut Chance) -> Span {
    let hundredths = 20 + chance.below(31);
    let more = (at_most.0 / 100).saturating_mul(hundredths).max(2_000);
    // Whole seconds: nobody is told of milliseconds.
    Span(at_most.0.saturating_add(more).div_ceil(1_000).saturating_mul(1_000))
}

/// How a run came out, in a sentence.
fn came_out(run: &Run, refused: &[Refusal]) -> String {
    if let Some(refusal) = refused.last() {
        return format!("refused: {}", refusal.because);
    }
    match run.endings().last() {
        Some(ended) => format!("an attempt ended: {}", ended.because),
        None => "the run went another way".to_owned(),
    }
}

// ---------------------------------------------------------------------- telling while a run is under way

/// What is supposed while a run is performed; worked out anew whenever the run knows more.
struct Search<'f> {
    field: &'f Field<'f>,
    plan: &'f Plan<'f>,
    manner: Manner,
    chance: Chance,
    guess: Option<Supposed<'f>>,
    sequence: Option<Sequence>,
}

struct Supposed<'f> {
    guess: Guess<'f>,
    /// The attempt it was worked out for, and whether the branch was met by then.
    of: (u16, bool),
}

/// Values that follow each other and never agree.
struct Sequence {
    reading: ReadingId,
    attempt: u16,
    /// By visit in these steps; else by the reading of one visit.
    by_visit: Option<(StepId, StepId)>,
    at: StepId,
    values: Vec<Entry>,
}

impl<'f> Search<'f> {
    fn part(&self, attempt: u16) -> Option<&'f Part<'f>> {
        self.plan.parts.get(usize::from(attempt).checked_sub(1)?)
    }

    fn suppose(&mut self, scene: &Scene<'_>, is_refused: bool) {
        let of = (scene.place.attempt, scene.is_met);
        if !is_refused && self.guess.as_ref().is_some_and(|supposed| supposed.of == of) {
            return;
        }
        let field = self.field;
        // What was supposed for the run so far stays, so that nothing jumps without a reason; a new attempt is new.
        let mut guess = match &self.guess {
            Some(supposed) if supposed.of.0 == of.0 => supposed.guess.clone(),
            _ => Guess::usual(field, &mut self.chance, self.manner == Manner::Wild),
        };
        let last_part = self.plan.parts.len() <= usize::from(of.0);
        let part = self.part(of.0).filter(|_| !(last_part && of.1));
        guess.learn(scene.run);
        guess.round = part.map_or(1, |part| part.round.max(1));
        guess.adds = part.map_or(0, |part| match &part.twist {
            Some(Twist::Tell(_, Told::Adds { n })) => *n,
            _ => 0,
        });
        let mut goals: Vec<Claim<'f>> = part.map(|part| part.goals.clone()).unwrap_or_default();
        let again = scene.run.starts().last().and_then(|start| start.again);
        if let Some(change) = again.and_then(|again| field.edition.agains.get(usize::from(again.0))?.change.as_ref()) {
            // Unless it is just that which is to be seen.
            if !goals.iter().any(|goal| *goal.expr == change.require) {
                goals.push(field.claim(Cow::Borrowed(&change.require), Want::True, None, GOAL));
            }
        }
        if is_refused {
            // What the step itself asks comes before all else now.
            let here = field.claims.iter().filter(|claim| claim.at == Some(scene.place.step) && claim.weight == HARD);
            goals.extend(here.map(|claim| Claim { weight: GOAL, ..claim.clone() }));
        }
        let vars: Vars = (0..field.edition.readings.len())
            .filter(|at| field.read_at[*at].iter().any(|step| *step >= scene.place.step))
            .map(|at| Var::Reading(ReadingId(at as u16)))
            .collect();
        guess.settle();
        let freedom = Freedom { vars, own: part.and_then(|part| part.own) };
        field.solve(&mut guess, &goals, &freedom);
        if self.manner == Manner::Varied && !is_refused && !of.1 {
            vary(field, &mut guess, &goals, &freedom.vars, &mut self.chance);
        }
        if let Some(part) = part
            && !of.1
        {
            self.sequence = part.twist.as_ref().and_then(|twist| sequence(field, &guess, twist, of.0));
        }
        self.guess = Some(Supposed { guess, of });
    }
}

impl Teller for Search<'_> {
    fn entry(&mut self, scene: &Scene<'_>, reading: ReadingId, nth: u16) -> Entry {
        let is_settle = matches!(self.field.edition.step(scene.place.step).wants, Wants::Settle(_));
        self.suppose(scene, nth > 0 && !is_settle);
        let followed = self.sequence.as_ref().filter(|_| !scene.is_met).and_then(|it| it.entry(scene, reading, nth));
        let supposed = || self.guess.as_ref()?.guess.get(Var::Reading(reading)).cloned();
        followed.or_else(supposed).unwrap_or_else(|| ordinary(self.field.edition, reading))
    }

    fn told(&mut self, scene: &Scene<'_>) -> Vec<Told> {
        match self.part(scene.place.attempt).and_then(|part| part.twist.as_ref()) {
            Some(Twist::Tell(step, told)) if *step == scene.place.step && scene.place.visit == 0 => vec![told.clone()],
            _ => Vec::new(),
        }
    }

    fn goes_on(&mut self, run: &Run, is_met: bool) -> bool {
        let is_planned = usize::from(run.attempt()) < self.plan.parts.len();
        let is_followed = self.part(run.attempt() + 1).is_some();
        is_followed || (run.attempt() < ATTEMPTS_AT_MOST && (is_met || is_planned || run.attempt() == 1))
    }
}

impl Sequence {
    fn entry(&self, scene: &Scene<'_>, reading: ReadingId, nth: u16) -> Option<Entry> {
        if reading != self.reading || scene.place.attempt != self.attempt {
            return None;
        }
        let n = match self.by_visit {
            Some((first, end)) if first <= scene.place.step && scene.place.step < end => scene.place.visit,
            None if scene.place.step == self.at => nth,
            _ => return None,
        };
        self.values.get(usize::from(n) % self.values.len().max(1)).cloned()
    }
}

/// Values that follow each other so that two never agree.
fn sequence(field: &Field<'_>, guess: &Guess<'_>, twist: &Twist, attempt: u16) -> Option<Sequence> {
    let edition = field.edition;
    match twist {
        Twist::Tell(..) => None,
        Twist::NeverSettles(step) => {
            let Wants::Settle(settle) = &edition.step(*step).wants else { return None };
            let n = settle.give_up_after.0.checked_div(settle.every.0.max(1)).unwrap_or(0).min(60) + 2;
            let read = reads(&edition.step(*step).wants);
            read.iter().find_map(|reading| {
                let value = match settle.value {
                    Some(value) => Expr::Value(value),
                    None if *reading == settle.reading => Expr::Reading(*reading),
                    None => return None,
                };
                // A level that has not come to rest goes on sinking.
                let values = apart(field, guess, *reading, &value, &settle.change_at_most, n, -1)?;
                Some(Sequence { reading: *reading, attempt, by_visit: None, at: *step, values })
            })
        }
        Twist::NeverAgree(stage) => {
            let stage = &edition.stages[usize::from(*stage)];
            let agree = stage.repeat.as_ref()?.until_agree()?;
            let steps: Vec<StepId> = (stage.first.0..stage.end.0).map(StepId).collect();
            let read: BTreeSet<ReadingId> = steps.iter().flat_map(|step| reads(&edition.step(*step).wants)).collect();
            read.into_iter().find_map(|reading| {
                // More work brings more out.
                let value = Expr::Value(agree.value);
                let n = u64::from(agree.rounds_at_most);
                let values = apart(field, guess, reading, &value, &agree.within, n, 1)?;
                let by_visit = Some((stage.first, stage.end));
                Some(Sequence { reading, attempt, by_visit, at: stage.first, values })
            })
        }
    }
}

/// `n` values of a reading, in one direction if the scale is long enough, so that `value` changes by more than `within`
/// from each to the next.
fn apart(
    field: &Field<'_>,
    guess: &Guess<'_>,
    reading: ReadingId,
    value: &Expr,
    within: &Exact,
    n: u64,
    direction: i64,
) -> Option<Vec<Entry>> {
    match &field.edition.reading(reading).kind {
        ReadingKind::Number(scale) => {
            let Some(Entry::Number(start)) = guess.get(Var::Reading(reading)) else { return None };
            let (start, step) = (Exact::from(*start), Exact::from(scale.step));
            let of = |mark: &Exact| {
                let mut with = guess.clone();
                with.set(Var::Reading(reading), entry(scale, mark)?);
                match value.eval(&with) {
                    Datum::Number(value) => Some(value),
                    _ => None,
                }
            };
            let here = of(&start)?;
            let steps = (0..40).map(|power| 1_i64 << power);
            let stride = steps.map(|marks| &step * &Exact::from_int(marks)).find(|stride| {
                let sides = [&start + stride, &start - stride];
                sides.iter().filter_map(of).any(|there| (&there - &here).abs() > *within)
            })?;
            let ladder = |from: &Exact, direction: i64| -> Vec<Exact> {
                let n = i64::try_from(n).unwrap_or(0);
                (0..n).map(|k| from + &(&stride * &Exact::from_int(direction * k))).collect()
            };
            let far = &stride * &Exact::from_int(direction * i64::try_from(n).ok()?);
            let sways = || {
                let sides = [&start - &stride, &start + &stride];
                let other = sides.into_iter().find(|side| entry(scale, side).is_some());
                other.map(|other| vec![start.clone(), other]).unwrap_or_default()
            };
            let marks = [ladder(&start, direction), ladder(&(&start - &far), direction), sways()];
            marks.into_iter().find_map(|marks| {
                let values: Option<Vec<Exact>> = marks.iter().map(of).collect();
                let differ = |pair: &[Exact]| (&pair[0] - &pair[1]).abs() > *within;
                let entries: Option<Vec<Entry>> = marks.iter().map(|mark| entry(scale, mark)).collect();
                let values = values.filter(|values| values.len() > 1 && values.windows(2).all(differ));
                entries.filter(|_| values.is_some())
            })
        }
        _ => None,
    }
}

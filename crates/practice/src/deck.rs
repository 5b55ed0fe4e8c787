//! What can be asked of one method, from the procedure alone.
//!
//! Here: the items with their keys, right answers, plausible wrong ones and reasons, and the question an item makes at a
//! level of help. All wording of acts, slips and reasons is the procedure's own. Not here: when an item is asked.
//!
//! | key | what is asked |
//! | --- | --- |
//! | `slump/lift` | the act: what comes next |
//! | `slump/strokes-1#count` | how many, where it is one number |
//! | `…#least`, `…#most` | the least and the most: of a count, a hold, a timed act |
//! | `…#down` | how long in the limited position |
//! | `…#every` | how often the prompt of the step comes back |
//! | `…#settle-every`, `…#change`, `…#give-up` | readings until one stands still: how far apart, how alike, how long |
//! | `…#limit:ID` | a limit, with the step that ends it |
//! | `…#graduation` | to what a drawn instrument is read |
//! | `…#slip` | the usual slip at this act |
//! | `slump/incident:moved` | what follows when this goes wrong |
//!
//! Not asked: steps that only write words down, and the range of a reading (it is often only wide enough, chosen by the
//! author of the file). The slip texts are not mixed among the acts as wrong ones: many are advice ("Do not strike the
//! bottom hard"), and who chose good advice must not be told that it is wrong.
//!
//! Before the work has begun (the steps of the first stage before a moment is marked or anything counted, held or timed)
//! the order is mostly the file's and not the method's: there a neighbour is never offered as a wrong answer.
//!
//! **Invariant:** every key is there once, and no wrong answer could be right: an act that may follow what was just done,
//! on any way through the procedure, is never offered as a wrong one.

use std::collections::BTreeSet;

use procedure::expr::{Expr, Op};
use procedure::{Consequence, Edition, Reading, ReadingKind, Step, StepId, Text, Wants};
use quantity::{Exact, Span};
use specimen::Chance;

use crate::help::Help;
use crate::question::{Choice, Figure, Form, Number, Question, Slip, Wrong};
use crate::text::{open, sources, without_numbers};

/// Everything that can be asked of a method in one unit system.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deck {
    /// The method, by its id.
    pub id: String,
    /// The method in words.
    pub title: String,
    /// The unit system, as it is written.
    pub system: String,
    /// The stages in words, in order.
    pub stages: Vec<String>,
    steps: Vec<Act>,
    items: Vec<Item>,
}

/// Something that can be asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its key, the same in every version of the file and in both unit systems.
    pub key: String,
    /// What kind of question it makes.
    pub kind: Kind,
    /// The step it belongs to, by its place in the deck; none for an incident.
    pub step: Option<usize>,
    /// The stage it belongs to, by its place in [`Deck::stages`].
    pub stage: usize,
    body: Body,
}

/// What kind of question an item makes.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Which act comes next.
    Act,
    /// A count, a time, a tolerance.
    Number,
    /// The usual slip at an act.
    Slip,
    /// What follows when something goes wrong.
    Incident,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Body {
    Act,
    Number { about: String, short: String, prompt: String, figure: Figure, because: String, sources: Vec<String> },
    Slip,
    Incident { title: String, right: String, whole: String, wrong: Vec<String>, sources: Vec<String> },
}

/// A step of the method, as it is practised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Act {
    /// Its name in the procedure.
    pub id: String,
    /// The key of its act, `METHOD/STEP`, whether it is asked or not.
    pub key: String,
    /// Its stage, by its place in [`Deck::stages`].
    pub stage: usize,
    /// The sentence to do, with what only a run knows left open.
    pub instruction: String,
    /// Whether the act is asked: not where only words are written down.
    pub is_asked: bool,
    /// More about it: why it matters.
    pub why: Option<String>,
    /// The usual slip.
    pub slip: Option<String>,
    /// The caution that belongs to it.
    pub caution: Option<String>,
    /// What an examiner must see.
    pub mark: Option<String>,
    too_soon: Option<String>,
    /// The sentence as it stands among answers: where its numbers are asked for themselves they are left open, since an
    /// answer to one question must not tell the next.
    asked_as: String,
    /// The acts just before it, the nearest last.
    after: Vec<usize>,
    given: Vec<String>,
    /// What may follow the act before it.
    could_follow: Vec<usize>,
    is_free: bool,
    sources: Vec<String>,
}

impl Act {
    /// The procedure's own reason for it: why it matters, else the usual slip, else what an examiner must see.
    fn reason(&self) -> Option<&str> {
        self.why.as_deref().or(self.slip.as_deref()).or(self.mark.as_deref())
    }
}

impl Deck {
    /// The deck of an edition.
    pub fn of(edition: &Edition) -> Self {
        let begun = begun(edition);
        let steps: Vec<Act> = (0..edition.steps.len()).map(|at| act(edition, at, begun)).collect();
        let mut deck = Self {
            id: edition.id.clone(),
            title: edition.title.clone(),
            system: edition.system.to_string(),
            stages: edition.stages.iter().map(|stage| stage.title.clone()).collect(),
            steps,
            items: Vec::new(),
        };
        deck.tell_apart();
        deck.items = items(edition, &deck);
        deck
    }

    /// All items, in the order of the procedure.
    pub fn items(&self) -> &[Item] {
        &self.items
    }
    /// All steps, in order.
    pub fn steps(&self) -> &[Act] {
        &self.steps
    }
    /// The item of this key.
    pub fn find(&self, key: &str) -> Option<&Item> {
        self.items.iter().find(|item| item.key == key)
    }
    /// The step of this name, by its place.
    pub fn step_named(&self, id: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.id == id)
    }
    /// The items that belong to a step.
    pub fn items_of(&self, step: usize) -> impl Iterator<Item = &Item> {
        self.items.iter().filter(move |item| item.step == Some(step))
    }

    /// Two acts after which the same two stand (the taps after each layer) are told apart by one act more, where it helps.
    fn tell_apart(&mut self) {
        let chain = |steps: &[Act], at: usize, longest: usize| {
            let mut chain = Vec::new();
            let mut here = at;
            while chain.len() < longest
                && let Some(before) = steps[here].after.last().copied()
            {
                chain.insert(0, before);
                here = before;
            }
            chain
        };
        let words =
            |steps: &[Act], chain: &[usize]| chain.iter().map(|at| steps[*at].asked_as.clone()).collect::<Vec<_>>();
        let chosen: Vec<Vec<usize>> = (0..self.steps.len())
            .map(|at| {
                let is_told_apart = |longest: &usize| {
                    let own = words(&self.steps, &chain(&self.steps, at, *longest));
                    (0..self.steps.len())
                        .filter(|other| *other != at && self.steps[*other].asked_as != self.steps[at].asked_as)
                        .all(|other| words(&self.steps, &chain(&self.steps, other, *longest)) != own)
                };
                let longest = (2..=4).find(is_told_apart).unwrap_or(2);
                chain(&self.steps, at, longest)
            })
            .collect();
        for (step, after) in self.steps.iter_mut().zip(chosen) {
            step.after = after;
        }
    }

    /// The question an item makes at a level of help.
    ///
    /// `is_told` says whether the acts just done are named: always in a recall without a run, since a question for the
    /// next act means nothing without them; while a run is performed only at the first levels, since the person has
    /// just done them. `seed` settles which wrong answers are there, and in which order they stand.
    pub fn question(&self, item: &Item, help: Help, is_told: bool, seed: u64) -> Question {
        let mut chance = Chance::named(seed, &item.key);
        let n_choices = if help == Help::Nothing { 6 } else { 4 };
        let mut question = Question {
            item: item.key.clone(),
            method: self.title.clone(),
            help,
            stage: (help <= Help::StageOnly).then(|| self.stages.get(item.stage).cloned()).flatten(),
            after: Vec::new(),
            given: Vec::new(),
            about: None,
            prompt: String::new(),
            form: Form::Choices(Vec::new()),
            right_answer: String::new(),
            because: String::new(),
            sources: Vec::new(),
        };
        let step = item.step.and_then(|at| self.steps.get(at).map(|step| (at, step)));
        match (&item.body, step) {
            (Body::Act, Some((at, step))) => {
                if is_told || help <= Help::AfterTry {
                    question.after = step.after.iter().map(|at| self.steps[*at].asked_as.clone()).collect();
                    question.given.clone_from(&step.given);
                }
                question.prompt = match (step.after.is_empty(), question.after.is_empty()) {
                    (true, _) => "What comes first?",
                    (false, true) => "What do you do now?",
                    (false, false) => "What comes next?",
                }
                .to_owned();
                question.form = choices(&step.asked_as, self.wrong_acts(at, n_choices - 1, &mut chance), &mut chance);
                question.right_answer.clone_from(&step.instruction);
                question.because = step.reason().unwrap_or_default().to_owned();
                question.sources.clone_from(&step.sources);
            }
            (Body::Slip, Some((at, step))) => {
                question.about = Some(step.asked_as.clone());
                question.prompt = "What is the usual slip here?".to_owned();
                let right = step.slip.clone().unwrap_or_default();
                question.form = choices(&right, self.wrong_slips(at, n_choices - 1, &mut chance), &mut chance);
                question.right_answer = right;
                question.because = step.why.clone().or_else(|| step.mark.clone()).unwrap_or_default();
                question.sources.clone_from(&step.sources);
            }
            (Body::Number { about, short, prompt, figure, because, sources }, _) => {
                question.about = Some(if help <= Help::AfterTry { about.clone() } else { short.clone() });
                question.prompt.clone_from(prompt);
                question.form = Form::Number(Number::of(figure.clone()));
                question.right_answer = figure.show();
                question.because.clone_from(because);
                question.sources.clone_from(sources);
            }
            (Body::Incident { title, right, whole, wrong, sources }, _) => {
                question.about = Some(title.clone());
                question.prompt = "What follows?".to_owned();
                let mut wrong = wrong.clone();
                chance.shuffle(&mut wrong);
                wrong.truncate(n_choices - 1);
                let wrong = wrong.into_iter().map(|text| (text, Slip::OtherAct, whole.clone())).collect();
                question.form = choices(right, wrong, &mut chance);
                question.right_answer.clone_from(right);
                question.because.clone_from(whole);
                question.sources.clone_from(sources);
            }
            (Body::Act | Body::Slip, None) => {}
        }
        question
    }

    /// What kind of slip it is to do `chosen` where `due` is due.
    fn slip(&self, due: usize, chosen: usize) -> Slip {
        let (at, other) = (&self.steps[due], &self.steps[chosen]);
        if chosen < due {
            return Slip::Repeated;
        }
        if other.too_soon.is_some() {
            return Slip::Reversed;
        }
        let first_of_next = self.steps.iter().position(|step| step.stage == at.stage + 1);
        if other.stage == at.stage || first_of_next == Some(chosen) { Slip::Skipped } else { Slip::OtherAct }
    }

    /// Acts that are wrong where `due` is due, the most plausible first.
    fn wrong_acts(&self, due: usize, n: usize, chance: &mut Chance) -> Vec<(String, Slip, String)> {
        let step = &self.steps[due];
        let mut taken: BTreeSet<&str> = step.could_follow.iter().map(|at| self.steps[*at].asked_as.as_str()).collect();
        taken.insert(&step.asked_as);
        let is_offered = |at: &usize| {
            let other = &self.steps[*at];
            let in_free_order = step.is_free && (other.is_free && !step.after.contains(at));
            other.is_asked && *at != due && !in_free_order
        };
        let offered: Vec<usize> = (0..self.steps.len()).filter(is_offered).collect();
        let (mut before, after): (Vec<usize>, Vec<usize>) = offered.iter().copied().partition(|at| *at < due);
        before.reverse();
        let mut order: Vec<usize> = Vec::new();
        // The act after it: what somebody does who leaves this one out.
        order.extend(after.iter().find(|at| !taken.contains(self.steps[**at].asked_as.as_str())));
        // One the procedure itself warns of doing too soon.
        order.extend(after.iter().find(|at| self.steps[**at].too_soon.is_some() && !order.contains(at)).copied());
        // One of those done just before, again.
        before.truncate(4);
        order.extend(chance.one_of(&before));
        let (mut near, mut far): (Vec<usize>, Vec<usize>) = offered.iter().partition(|at| at.abs_diff(due) <= 6);
        chance.shuffle(&mut near);
        chance.shuffle(&mut far);
        order.extend(near);
        order.extend(far);
        let mut wrong = Vec::new();
        for at in order {
            let other = &self.steps[at];
            if wrong.len() < n && taken.insert(&other.asked_as) {
                let warned = other.too_soon.as_deref().filter(|_| at > due);
                let because = match (warned, step.reason()) {
                    (Some(warned), _) => warned.to_owned(),
                    (None, Some(reason)) => reason.to_owned(),
                    (None, None) => format!("“{}” stands here in the procedure.", step.instruction),
                };
                wrong.push((other.asked_as.clone(), self.slip(due, at), because));
            }
        }
        wrong
    }

    /// Slips of other acts, none of them near enough to be true here as well.
    fn wrong_slips(&self, due: usize, n: usize, chance: &mut Chance) -> Vec<(String, Slip, String)> {
        let step = &self.steps[due];
        let mut far: Vec<usize> = self.strangers(due).collect();
        chance.shuffle(&mut far);
        let mut taken: BTreeSet<&str> = step.slip.as_deref().into_iter().collect();
        let because = step.why.clone().or_else(|| step.mark.clone()).unwrap_or_default();
        let mut wrong = Vec::new();
        for slip in far.iter().filter_map(|at| self.steps[*at].slip.as_deref()) {
            if wrong.len() < n && taken.insert(slip) {
                wrong.push((slip.to_owned(), Slip::UsualSlip, because.clone()));
            }
        }
        wrong
    }

    /// Steps with a slip of their own that are neither near nor the same act.
    fn strangers(&self, due: usize) -> impl Iterator<Item = usize> {
        let step = &self.steps[due];
        (0..self.steps.len()).filter(move |at| {
            let other = &self.steps[*at];
            let is_alike = other.instruction == step.instruction || other.slip == step.slip;
            other.is_asked && other.slip.is_some() && at.abs_diff(due) > 2 && !is_alike
        })
    }
}

fn choices(right: &str, wrong: Vec<(String, Slip, String)>, chance: &mut Chance) -> Form {
    let mut choices = vec![Choice { text: right.to_owned(), wrong: None }];
    for (text, slip, because) in wrong {
        choices.push(Choice { text, wrong: Some(Wrong { slip, because }) });
    }
    chance.shuffle(&mut choices);
    Form::Choices(choices)
}

/// The first step of the work itself: it marks a moment, starts a limit, or is counted, held or timed; at the latest the
/// first one of the second stage.
fn begun(edition: &Edition) -> usize {
    let is_work = |at: usize, step: &Step| {
        let lasts = !matches!(step.wants, Wants::Act | Wants::Read(_));
        lasts || step.moment.is_some() || edition.limits.iter().any(|limit| usize::from(limit.from.0) == at)
    };
    let first_stage = edition.stages.first().map_or(0, |stage| usize::from(stage.end.0));
    edition.steps.iter().take(first_stage).enumerate().position(|(at, step)| is_work(at, step)).unwrap_or(first_stage)
}

fn act(edition: &Edition, at: usize, begun: usize) -> Act {
    let step = &edition.steps[at];
    let said = |text: &Option<Text>| text.as_ref().map(open);
    let before = before(edition, at);
    let is_words = matches!(&step.wants, Wants::Read(reading)
        if matches!(edition.reading(*reading).kind, ReadingKind::Words));
    let mut act = Act {
        id: step.id.clone(),
        key: format!("{}/{}", edition.id, step.id),
        stage: usize::from(step.stage),
        instruction: open(&step.instruction),
        is_asked: !is_words,
        why: said(&step.why),
        slip: said(&step.slip),
        caution: said(&step.caution),
        mark: said(&step.mark),
        too_soon: said(&step.too_soon),
        asked_as: open(&step.instruction),
        after: before.into_iter().collect(),
        given: given(edition, step),
        could_follow: before.map_or_else(Vec::new, |before| could_follow(edition, before)),
        is_free: at < begun,
        sources: sources(edition, &step.cites),
    };
    if !numbers(edition, at, &act).is_empty() {
        act.asked_as = without_numbers(&act.instruction, None);
    }
    act
}

/// The nearest earlier step that can be done in the same run as this one.
fn before(edition: &Edition, at: usize) -> Option<usize> {
    (0..at).rev().find(|other| !contradict(&conditions(&edition.steps[*other]), &conditions(&edition.steps[at])))
}

/// A condition of a step that can be read off: this choice has, or has not, this answer.
#[derive(Copy, Clone, PartialEq, Eq)]
struct Chosen {
    reading: procedure::ReadingId,
    answer: u16,
    is: bool,
}

fn conditions(step: &Step) -> Vec<Chosen> {
    fn walk(expr: &Expr, found: &mut Vec<Chosen>) {
        if let Expr::Two(op, left, right) = expr {
            match (op, left.as_ref(), right.as_ref()) {
                (Op::And, left, right) => {
                    walk(left, found);
                    walk(right, found);
                }
                (Op::Equal | Op::NotEqual, Expr::Reading(reading), Expr::Choice(answer))
                | (Op::Equal | Op::NotEqual, Expr::Choice(answer), Expr::Reading(reading)) => {
                    found.push(Chosen { reading: *reading, answer: *answer, is: *op == Op::Equal });
                }
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    if let Some(when) = &step.when {
        walk(when, &mut found);
    }
    found
}

fn contradict(one: &[Chosen], other: &[Chosen]) -> bool {
    one.iter().any(|a| {
        other.iter().any(|b| {
            a.reading == b.reading && ((a.is && b.is && a.answer != b.answer) || (a.answer == b.answer && a.is != b.is))
        })
    })
}

/// What the step rests on, in the words of the question it was answered to.
fn given(edition: &Edition, step: &Step) -> Vec<String> {
    let say = |chosen: Chosen| {
        let reading = edition.reading(chosen.reading);
        let ReadingKind::Choice(choices) = &reading.kind else { return None };
        let label = &choices.get(usize::from(chosen.answer))?.label;
        chosen.is.then(|| format!("{} {label}", open(&reading.ask)))
    };
    conditions(step).into_iter().filter_map(say).collect()
}

/// The steps that may follow `at` on some way through the procedure.
fn could_follow(edition: &Edition, at: usize) -> Vec<usize> {
    let mut found = Vec::new();
    let is_certain = |step: &Step| step.when.is_none() && step.moment.is_none();
    let stage = &edition.stages[usize::from(edition.steps[at].stage)];
    let first_certain = |from: usize, end: usize, found: &mut Vec<usize>| {
        for step in from..end {
            found.push(step);
            if is_certain(&edition.steps[step]) {
                return true;
            }
        }
        false
    };
    let end = usize::from(stage.end.0);
    if !first_certain(at + 1, end, &mut found) {
        first_certain(end, edition.steps.len(), &mut found);
        if stage.repeat.is_some() {
            first_certain(usize::from(stage.first.0), at, &mut found);
        }
    }
    for rule in &edition.steps[at].rules {
        if let Consequence::Back { to, .. } = &rule.then {
            found.push(usize::from(to.0));
        }
    }
    found
}

fn items(edition: &Edition, deck: &Deck) -> Vec<Item> {
    let mut items = Vec::new();
    for (at, step) in deck.steps.iter().enumerate() {
        if !step.is_asked {
            continue;
        }
        let item = |suffix: &str, kind: Kind, body: Body| Item {
            key: if suffix.is_empty() { step.key.clone() } else { format!("{}#{suffix}", step.key) },
            kind,
            step: Some(at),
            stage: step.stage,
            body,
        };
        if !deck.wrong_acts(at, 1, &mut Chance::new(0)).is_empty() {
            items.push(item("", Kind::Act, Body::Act));
        }
        for (suffix, body) in numbers(edition, at, step) {
            items.push(item(&suffix, Kind::Number, body));
        }
        let strange: BTreeSet<_> = deck.strangers(at).map(|at| &deck.steps[at].slip).collect();
        if step.slip.is_some() && strange.len() >= 3 {
            items.push(item("slip", Kind::Slip, Body::Slip));
        }
    }
    items.extend(incidents(edition, deck));
    items
}

/// The numbers a step has, each with the end of its key.
fn numbers(edition: &Edition, at: usize, act: &Act) -> Vec<(String, Body)> {
    let step = &edition.steps[at];
    let say = step.say.as_ref().map_or_else(|| act.instruction.clone(), open);
    let reason = act.mark.clone().or_else(|| act.slip.clone()).or_else(|| act.why.clone()).unwrap_or_default();
    let mut found: Vec<(String, Body)> = Vec::new();
    let mut add =
        |suffix: &str, about: &str, prompt: String, figure: Figure, because: &str, cites: &[procedure::Cite]| {
            if figure.whole() == Some(0) {
                return;
            }
            let hide = |text: &str| without_numbers(text, figure.whole());
            let short = if about == act.instruction { hide(&say) } else { hide(about) };
            let body = Body::Number {
                about: hide(about),
                short,
                prompt,
                because: because.to_owned(),
                sources: sources(edition, cites),
                figure,
            };
            found.push((suffix.to_owned(), body));
        };
    let about = act.instruction.as_str();
    let span = |span: Span| Figure::Time(span);
    match &step.wants {
        Wants::Count { of, at_least, at_most, .. } => {
            let count = |n: u32| Figure::Count { n, of: of.clone() };
            if at_least == at_most {
                add("count", about, format!("How many {of}?"), count(*at_least), &reason, &step.cites);
            } else {
                add("least", about, format!("How many {of}, at least?"), count(*at_least), &reason, &step.cites);
                add("most", about, format!("How many {of}, at most?"), count(*at_most), &reason, &step.cites);
            }
        }
        Wants::Hold { at_least, at_most, turns, .. } => {
            add("least", about, "How long, at least?".to_owned(), span(*at_least), &reason, &step.cites);
            if let Some(at_most) = at_most {
                add("most", about, "How long, at most?".to_owned(), span(*at_most), &reason, &step.cites);
            }
            if let Some(turns) = turns {
                let prompt = format!("How long {} at one time, at most?", turns.down);
                add("down", about, prompt, span(turns.down_at_most), &open(&turns.finding), &step.cites);
            }
        }
        Wants::Timed { at_least, at_most, otherwise } => {
            let because = consequence(otherwise).unwrap_or_else(|| reason.clone());
            add("least", about, "How long, at least?".to_owned(), span(*at_least), &because, &step.cites);
            add("most", about, "How long, at most?".to_owned(), span(*at_most), &because, &step.cites);
        }
        Wants::Settle(settle) => {
            let because = open(&settle.otherwise.because);
            let prompt = "From one reading to the next, how long at least?".to_owned();
            add("settle-every", about, prompt, span(settle.every), &reason, &step.cites);
            let unit = match settle.value {
                Some(value) => edition.values[usize::from(value.0)].unit,
                None => edition.reading(settle.reading).unit(),
            };
            let change = Figure::Amount { value: settle.change_at_most.clone(), unit };
            let prompt = "Which change, at most, counts as standing still?".to_owned();
            add("change", about, prompt, change, &because, &step.cites);
            let prompt = "After how long is it given up?".to_owned();
            add("give-up", about, prompt, span(settle.give_up_after), &because, &step.cites);
        }
        Wants::Act | Wants::Read(_) => {}
    }
    if let Some(every) = &step.every {
        add("every", &open(&every.cue), "How often?".to_owned(), span(every.span), &reason, &every.cites);
    }
    for reading in reads(edition, step) {
        // A display has digits and no marks; and the same instrument is asked for once, not at each of its readings.
        let is_marked = reading.instrument.as_deref().is_some_and(|instrument| instrument != "balance");
        let is_first = !edition.steps[..at].iter().any(|step| reads(edition, step).any(|other| other.id == reading.id));
        if let (ReadingKind::Number(scale), true) = (&reading.kind, is_marked && is_first) {
            let figure = Figure::Amount { value: Exact::from(scale.step), unit: scale.unit };
            let prompt = "To how much is it read, from mark to mark?".to_owned();
            add("graduation", &open(&reading.ask), prompt, figure, &reason, &reading.cites);
        }
    }
    for limit in edition.limits.iter().filter(|limit| limit.to == StepId(at as u16)) {
        let because = consequence(&limit.otherwise).unwrap_or_default();
        let prompt = "How long, at most?".to_owned();
        let suffix = format!("limit:{}", limit.id);
        add(&suffix, &open(&limit.title), prompt, span(limit.at_most), &because, &limit.cites);
    }
    found
}

/// What a step reads, if it reads.
fn reads<'e>(edition: &'e Edition, step: &Step) -> impl Iterator<Item = &'e Reading> {
    let reading = match &step.wants {
        Wants::Read(reading) => Some(*reading),
        Wants::Settle(settle) => Some(settle.reading),
        _ => None,
    };
    reading.map(|reading| edition.reading(reading)).into_iter()
}

/// What is said when something follows.
fn consequence(consequence: &Consequence) -> Option<String> {
    match consequence {
        Consequence::Refuse(text) | Consequence::Finding(text) => Some(open(text)),
        Consequence::End(ending) | Consequence::Back { otherwise: ending, .. } => Some(open(&ending.because)),
    }
}

/// What follows when something goes wrong: the way to start again, among other ways to and acts that would go on as if
/// nothing had been.
fn incidents(edition: &Edition, deck: &Deck) -> Vec<Item> {
    let mut items = Vec::new();
    for incident in &edition.incidents {
        let because = open(&incident.ending.because);
        let again = incident.ending.again.map(|again| &edition.agains[usize::from(again.0)]);
        let right = again.map_or_else(|| because.clone(), |again| open(&again.say));
        let whole = if again.is_some() { format!("{because}. {right}") } else { because };
        // Starting again may itself begin with one of these acts.
        let begins: Vec<usize> = again.map_or_else(Vec::new, |again| {
            let from = usize::from(again.from.0);
            (from..edition.steps.len()).take(3).collect()
        });
        let mut texts = BTreeSet::from([right.clone()]);
        let is_during = |step: &Act| incident.during.iter().any(|stage| usize::from(*stage) == step.stage);
        let goes_on =
            deck.steps.iter().enumerate().filter(|(at, step)| step.is_asked && is_during(step) && !begins.contains(at));
        let others = edition.agains.iter().map(|again| open(&again.say));
        let wrong: Vec<String> = others
            .chain(goes_on.map(|(_, step)| step.asked_as.clone()))
            .filter(|text| texts.insert(text.clone()))
            .collect();
        if wrong.len() < 2 {
            continue;
        }
        items.push(Item {
            key: format!("{}/incident:{}", edition.id, incident.id),
            kind: Kind::Incident,
            step: None,
            stage: incident.during.first().map_or(0, |stage| usize::from(*stage)),
            body: Body::Incident {
                title: open(&incident.title),
                right,
                whole,
                wrong,
                sources: sources(edition, &incident.cites),
            },
        });
    }
    items
}

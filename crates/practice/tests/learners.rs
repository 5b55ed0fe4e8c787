//! Three simulated learners, thirty days, fifteen minutes a day, over three shipped methods.
//!
//! **The model of a learner** is a test double, no claim about people. Each item has a strength *s* in days. The chance of
//! recall *t* days after it was last seen is `exp(−t/s)`, a plain exponential: on purpose another curve than the one the
//! schedule assumes, so that the schedule is not tested against itself. A right answer on a later day multiplies *s* by a
//! growth factor; a wrong one (followed by the explanation) halves it, never below its start. What is not recalled is
//! guessed among the choices.
//!
//! | learner | start of *s* | growth | slip |
//! | --- | --- | --- | --- |
//! | good | 6 d | 2.5 | – |
//! | forgetful | 1.5 d | 1.6 | – |
//! | always the same slip | 6 d | 2.5 | leaves the taps after the first layer out until corrected on five days |
//!
//! An answer takes 9 s, one after a moment of doubt (a chance of recall under a half) 20 s; being told takes 6 s, an
//! explanation 4 s. Every draw comes from a seed, so that the figures asserted here come out again.
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]
#![allow(clippy::float_arithmetic, reason = "a model of forgetting is real numbers")]

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::{FIRST_DAY, deck, moment};
use practice::history::{Entry, History};
use practice::schedule::Schedule;
use practice::{Answer, Deck, Due, Form, Help, Mode, Question, Session, Slip, Standings, judge};
use specimen::Chance;

const METHODS: [&str; 3] = ["air-volumetric", "slump", "temperature"];
/// What the third learner leaves out. The file itself says that it is forgotten most often.
const TAPS: &str = "air-volumetric/taps-1";
const DAYS: i64 = 30;
const MINUTES: u32 = 15;

struct Learner {
    start: f64,
    growth: f64,
    strength: BTreeMap<String, (f64, i64)>,
    /// The days on which the slip was explained; `None` for who makes none.
    corrected: Option<BTreeSet<i64>>,
    today: i64,
    chance: Chance,
}

impl Learner {
    fn new(start: f64, growth: f64, has_slip: bool, seed: u64) -> Self {
        let corrected = has_slip.then(BTreeSet::new);
        Self { start, growth, strength: BTreeMap::new(), corrected, today: 0, chance: Chance::new(seed) }
    }
    fn recall(&self, item: &str, day: i64) -> f64 {
        self.strength.get(item).map_or(0.0, |(strength, seen)| (-((day - seen) as f64) / strength).exp())
    }
    fn slips(&self, item: &str) -> bool {
        item == TAPS && self.corrected.as_ref().is_some_and(|days| days.range(..self.today).count() < 5)
    }
    /// The answer, and how long it takes.
    fn answer(&mut self, question: &Question, day: i64) -> (Answer, u64) {
        if self.slips(&question.item) {
            let skipped = |at: &usize| judge(question, &Answer::Choice(*at)).slip == Some(Slip::Skipped);
            let at = (0..question.choices().len()).find(skipped).expect("who leaves it out can show it");
            return (Answer::Choice(at), 9_000);
        }
        let recall = self.recall(&question.item, day);
        let is_known = (self.chance.below(1_000_000) as f64) < recall * 1_000_000.0;
        let took_ms = if recall < 0.5 { 20_000 } else { 9_000 };
        let answer = match (&question.form, is_known) {
            (Form::Choices(choices), true) => {
                let at = (0..choices.len()).find(|at| judge(question, &Answer::Choice(*at)).right);
                Answer::Choice(at.expect("one is right"))
            }
            (Form::Choices(choices), false) => Answer::Choice(self.chance.below(choices.len() as u64) as usize),
            (Form::Number(_), true) => {
                question.read(&judge(question, &Answer::NotKnown).right_answer).expect("a number")
            }
            (Form::Number(_), false) => question.read("13").expect("a number"),
        };
        (answer, took_ms)
    }
    fn learns(&mut self, item: &str, right: bool, day: i64) {
        if self.slips(item) {
            if let Some(days) = &mut self.corrected {
                days.insert(day);
            }
            return;
        }
        let (strength, seen) = self.strength.get(item).copied().unwrap_or((self.start, day));
        let next = match right {
            // Again on the same day it grows no stronger.
            true if seen == day => strength,
            true => strength * self.growth,
            false => (strength / 2.0).max(self.start),
        };
        self.strength.insert(item.to_owned(), (next, day));
    }
    fn is_told(&mut self, item: &str, day: i64) {
        let strength = self.strength.get(item).map_or(self.start, |(strength, _)| *strength);
        self.strength.insert(item.to_owned(), (strength, day));
    }
}

/// The share of all items the learner would know on `day` without any help, in per cent: an examination nobody sits, read
/// off the learner's own strengths.
fn known(learner: &Learner, decks: &[Deck], day: i64) -> u32 {
    let keys: Vec<&str> = decks.iter().flat_map(|deck| deck.items()).map(|item| item.key.as_str()).collect();
    let sum: f64 = keys.iter().filter(|key| !learner.slips(key)).map(|key| learner.recall(key, day)).sum();
    (sum * 100.0 / keys.len() as f64) as u32
}

/// One day: what was asked, in order, and how much time it took.
#[derive(Default)]
struct Day {
    asked: Vec<(String, Help, bool, Option<Slip>)>,
    new: usize,
    minutes: u64,
    /// The first tries of the day at what was met on an earlier day: right ones, and all.
    later: (usize, usize),
    /// What the learner would know the next morning, of all items, in per cent.
    known: u32,
}

impl Day {
    fn right(&self) -> usize {
        self.asked.iter().filter(|(_, _, right, _)| *right).count()
    }
}

fn thirty_days(learner: &mut Learner) -> (Vec<Day>, History, Vec<Deck>) {
    let decks: Vec<Deck> = METHODS.iter().map(|id| deck(id)).collect();
    let mut history = History::default();
    let mut days = Vec::new();
    for day in FIRST_DAY..FIRST_DAY + DAYS {
        let mut ms = 0;
        learner.today = day;
        let mut seen = Day::default();
        let mode = Mode::Today { minutes: MINUTES };
        let Ok(mut session) = Session::new(decks.clone(), history.clone(), mode, day as u64, moment(day, 0)) else {
            days.push(seen);
            continue;
        };
        loop {
            let mut at = |later: u64| {
                ms += later;
                moment(day, ms)
            };
            let kept = match session.due().clone() {
                Due::Tell(tell) => {
                    seen.new += usize::from(tell.because == Some(practice::queue::Why::New));
                    // What is told is the step's items of that text.
                    for deck in &decks {
                        for item in deck.items() {
                            let is_it = item.step.is_some_and(|step| deck.steps()[step].instruction == tell.text);
                            if is_it && deck.title == tell.method {
                                learner.is_told(&item.key, day);
                            }
                        }
                    }
                    session.go_on(at(6_000))
                }
                Due::Explain(_) => session.go_on(at(4_000)),
                Due::Ask(question) => {
                    let (answer, took_ms) = learner.answer(&question, day);
                    let judged = judge(&question, &answer);
                    let is_first = !seen.asked.iter().any(|(item, ..)| *item == question.item);
                    if is_first && session.standings().get(&question.item).is_some() {
                        seen.later.0 += usize::from(judged.right);
                        seen.later.1 += 1;
                    }
                    learner.learns(&question.item, judged.right, day);
                    seen.asked.push((question.item.clone(), question.help, judged.right, judged.slip));
                    session.answer(&answer, at(took_ms))
                }
                Due::Perform(_) | Due::TrialAhead(_) => panic!("today has no run"),
                Due::Finished(_) => break,
            };
            kept.expect("the call fits").into_iter().for_each(|entry| history.add(entry));
        }
        seen.minutes = ms / 60_000;
        seen.known = known(learner, &decks, day + 1);
        days.push(seen);
    }
    (days, history, decks)
}

/// Of the first tries at what was met on an earlier day, how many were right, in per cent.
fn share(days: &[Day]) -> usize {
    let of: usize = days.iter().map(|day| day.later.1).sum();
    days.iter().map(|day| day.later.0).sum::<usize>() * 100 / of.max(1)
}

fn print(name: &str, days: &[Day]) {
    println!("{name}");
    println!("  asked   {:?}", days.iter().map(|day| day.asked.len()).collect::<Vec<_>>());
    println!("  new     {:?}", days.iter().map(|day| day.new).collect::<Vec<_>>());
    println!("  minutes {:?}", days.iter().map(|day| day.minutes).collect::<Vec<_>>());
    println!("  known % {:?}", days.iter().map(|day| day.known).collect::<Vec<_>>());
    println!("  later % {} {} {}", share(&days[..10]), share(&days[10..20]), share(&days[20..]));
    println!("  right % {:?}", days.iter().map(|day| day.right() * 100 / day.asked.len().max(1)).collect::<Vec<_>>());
}

#[test]
fn the_good_learners_work_grows_less_day_by_day() {
    let mut learner = Learner::new(6.0, 2.5, false, 1);
    let (days, history, decks) = thirty_days(&mut learner);
    print("good", &days);
    let load = |range: std::ops::Range<usize>| days[range].iter().map(|day| day.minutes).sum::<u64>();
    let (first, middle, last) = (load(0..10), load(10..20), load(20..30));
    println!("  minutes in days 1-10, 11-20, 21-30: {first} {middle} {last}");
    assert!(middle * 3 < first * 2 && last * 2 < middle, "a third less, then half: {first}, {middle}, {last}");
    assert!(days.iter().all(|day| day.minutes <= 17), "fifteen minutes, and a little for what comes back");
    let standings = Standings::of(&history, Schedule::default());
    let n_items: usize = decks.iter().map(|deck| deck.items().len()).sum();
    let n_tried = standings.iter().count();
    println!("  {n_tried} of {n_items} items tried, the last new one on day {}", last_new(&days));
    assert_eq!(n_tried, n_items, "everything was asked");
    assert!(last_new(&days) <= 12);
    assert!(share(&days[20..]) >= 90, "at what the schedule is made for: {} %", share(&days[20..]));
    assert!(days[29].known >= 85, "{}", days[29].known);
    assert!(days.iter().all(|day| day.new <= 20), "at most twenty new ones a day");
}

fn last_new(days: &[Day]) -> usize {
    days.iter().rposition(|day| day.new > 0).map_or(0, |day| day + 1)
}

#[test]
fn the_forgetful_learner_gets_better() {
    // Ten of them, so that the figures are of the schedule and not of one learner's luck.
    let all: Vec<Vec<Day>> = (1..=10).map(|seed| thirty_days(&mut Learner::new(1.5, 1.6, false, seed)).0).collect();
    print("forgetful, the first of ten", &all[0]);
    let tens = [0..10, 10..20, 20..30].map(|range| {
        let (right, of) = all
            .iter()
            .flat_map(|days| &days[range.clone()])
            .fold((0, 0), |sum, day| (sum.0 + day.later.0, sum.1 + day.later.1));
        right * 1000 / of
    });
    let known = [9, 19, 29].map(|day: usize| all.iter().map(|days| days[day].known).sum::<u32>() / 10);
    println!("  all ten: right per mille in days 1-10, 11-20, 21-30 {tens:?}; known % on days 10, 20, 30 {known:?}");
    assert!(tens[0] < tens[1] && tens[1] < tens[2], "more right from ten days to ten days: {tens:?}");
    assert!(tens[2] >= tens[0] + 50, "five in a hundred more in the end: {tens:?}");
    assert!(known[0] + 5 < known[1] && known[1] + 5 < known[2], "and more of everything is known: {known:?}");
    let days = || all.iter().flatten();
    assert!(days().all(|day| day.minutes <= 20), "a quarter more than fifteen minutes at the most");
    assert!(all.iter().all(|days| days[1..].iter().all(|day| day.minutes >= 11)), "there is always enough to do");
}

#[test]
fn the_same_slip_is_brought_back_until_it_is_gone() {
    let mut learner = Learner::new(6.0, 2.5, true, 1);
    let (days, history, _) = thirty_days(&mut learner);
    print("always the same slip", &days);
    let mut standings = Standings::of(&History::default(), Schedule::default());
    // Day from 1, right, interval that follows, level that follows.
    let mut tries = Vec::new();
    for entry in history.counting() {
        standings.take(entry);
        if let Entry::Tried(tried) = entry
            && tried.item == TAPS
        {
            let standing = standings.get(TAPS).expect("it was tried");
            let day = tried.at.day() - FIRST_DAY + 1;
            println!(
                "  day {day:2} {:17} {:5} next in {} d, then {}",
                tried.help.words(),
                if tried.right { "right" } else { "wrong" },
                standing.interval,
                standing.level.words()
            );
            assert_eq!(tried.slip, (!tried.right).then_some(Slip::Skipped), "the slip is named");
            tries.push((day, tried.right, standing.interval, standing.level));
        }
    }
    let wrong_on: Vec<i64> = tries.iter().filter(|(_, right, ..)| !right).map(|(day, ..)| *day).collect();
    let by_day: BTreeMap<i64, usize> = wrong_on.iter().fold(BTreeMap::new(), |mut by_day, day| {
        *by_day.entry(*day).or_default() += 1;
        by_day
    });
    println!("  brought back: {by_day:?}");
    assert_eq!(by_day.keys().copied().collect::<Vec<_>>(), [1, 2, 3, 4, 5], "every day until it is learnt");
    assert!(by_day.values().all(|n| (2..=4).contains(n)), "and again within the session: {by_day:?}");
    let learnt: Vec<_> = tries.iter().filter(|(_, right, ..)| *right).collect();
    assert_eq!(learnt[0].0, 6, "right for the first time on the sixth day");
    assert!(wrong_on.iter().all(|day| *day < 6), "gone, and it stays gone");
    let intervals: Vec<i64> = learnt.iter().map(|(_, _, interval, _)| *interval).collect();
    println!("  intervals once it is learnt: {intervals:?}");
    assert!(intervals.is_sorted() && intervals[0] == 1, "{intervals:?}");
    assert!(*intervals.last().expect("some") >= 5, "it grows: {intervals:?}");
    assert!(learnt.len() <= 12, "it is not drilled for ever: {}", learnt.len());
    assert_eq!(learnt.last().expect("some").3, Help::Nothing, "in the end without help");
    let returns_are_spaced = days.iter().all(|day| {
        let places: Vec<usize> =
            day.asked.iter().enumerate().filter(|(_, (item, ..))| item == TAPS).map(|(at, _)| at).collect();
        places.windows(2).all(|pair| pair[1] - pair[0] > 3)
    });
    assert!(returns_are_spaced, "never before three others");
}

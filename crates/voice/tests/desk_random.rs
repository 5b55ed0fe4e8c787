//! Whatever is said, and however badly the machine wakes: what must hold for the desk holds.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test says what it expects by panicking")]

mod room;

use std::collections::BTreeMap;

use proptest::prelude::*;
use room::{Room, length};
use voice::cue::Speech;
use voice::{Class, Cue, Tone};

/// A cue still to be named and placed.
#[derive(Clone, Debug)]
struct Sketch {
    class: Class,
    tone: Option<Tone>,
    n_words: usize,
    is_ready: bool,
    has_short: bool,
    due_in: i64,
    true_for: Option<u64>,
}

#[derive(Clone, Debug)]
enum Step {
    Say(Sketch),
    Plan(Vec<Sketch>),
    /// The plan again without some of it, as after an act; past cues are left out or not.
    PlanAnew {
        leave_out: u64,
        keeps_past: bool,
    },
    Hush,
    Pass(u64),
    Oversleep(u64),
    WordsReady(bool),
    Fail,
}

fn sketch(class: impl Strategy<Value = Class>) -> impl Strategy<Value = Sketch> {
    let tone = proptest::option::of(proptest::sample::select(Tone::ALL.to_vec()));
    // A coarse raster, so that moments meet.
    let due_in = (-8_i64..60).prop_map(|n| n * 50);
    let true_for = proptest::option::of((0_u64..40).prop_map(|n| n * 100));
    (class, tone, 0_usize..12, prop::bool::weighted(0.8), any::<bool>(), due_in, true_for).prop_map(
        |(class, tone, n_words, is_ready, has_short, due_in, true_for)| Sketch {
            class,
            tone,
            n_words,
            is_ready,
            has_short,
            due_in,
            true_for,
        },
    )
}

fn step() -> impl Strategy<Value = Step> {
    let class = || proptest::sample::select(vec![Class::Hard, Class::Prompt, Class::Info]);
    prop_oneof![
        6 => sketch(class()).prop_map(Step::Say),
        2 => prop::collection::vec(sketch(Just(Class::Hard)), 0..8).prop_map(Step::Plan),
        2 => (any::<u64>(), any::<bool>()).prop_map(|(leave_out, keeps_past)| Step::PlanAnew { leave_out, keeps_past }),
        1 => Just(Step::Hush),
        8 => (0_u64..40).prop_map(|n| Step::Pass(n * 50)),
        2 => (0_u64..1_500).prop_map(Step::Oversleep),
        1 => any::<bool>().prop_map(Step::WordsReady),
        1 => Just(Step::Fail),
    ]
}

#[derive(Default)]
struct Play {
    room: Room,
    n_cues: usize,
    plan: Vec<Cue>,
    /// Hard cues that were said and are in nobody's plan.
    said: Vec<Cue>,
    /// How many entries each cue must have, where that is certain.
    owed: BTreeMap<String, usize>,
    /// The hard cues known, since when.
    known: Vec<(u64, Vec<Cue>)>,
}

impl Play {
    fn cue(&mut self, sketch: &Sketch) -> Cue {
        self.n_cues += 1;
        let bracket = if sketch.is_ready { "" } else { "[" };
        let text = format!("{bracket}cue{}{}", self.n_cues, " word".repeat(sketch.n_words));
        let due = self.room.now.saturating_add_signed(sketch.due_in);
        let short = sketch.has_short.then(|| format!("short{}", self.n_cues));
        Cue {
            class: sketch.class,
            tone: sketch.tone,
            text,
            short,
            due,
            until: sketch.true_for.map(|true_for| due + true_for),
        }
    }

    /// What is planned and was due has, or will have, an entry.
    fn settle_plan(&mut self) {
        for cue in &self.plan {
            let is_due = cue.due <= self.room.now;
            let owed = self.owed.entry(cue.text.clone()).or_default();
            *owed = (*owed).max(usize::from(is_due));
        }
    }

    fn replan(&mut self, plan: Vec<Cue>) {
        self.settle_plan();
        self.plan.clone_from(&plan);
        self.note_what_is_known();
        self.room.hear(Speech::Plan(plan));
    }

    fn note_what_is_known(&mut self) {
        let hard = self.plan.iter().chain(&self.said).filter(|cue| cue.is_true_at(cue.due));
        self.known.push((self.room.now, hard.cloned().collect()));
    }

    fn step(&mut self, step: &Step, hears_soft: bool) {
        match step {
            Step::Say(sketch) => {
                let cue = self.cue(sketch);
                if cue.class == Class::Hard {
                    self.said.push(cue.clone());
                    self.note_what_is_known();
                } else if !hears_soft {
                    return;
                }
                self.owed.insert(cue.text.clone(), 1);
                self.room.hear(Speech::Say(cue));
            }
            Step::Plan(sketches) => {
                let plan = sketches.iter().map(|sketch| self.cue(sketch)).collect();
                self.replan(plan);
            }
            Step::PlanAnew { leave_out, keeps_past } => {
                let now = self.room.now;
                let plan = self.plan.iter().enumerate().filter(|(i, cue)| {
                    (*keeps_past || cue.due > now) && leave_out.checked_shr(*i as u32).unwrap_or(0) & 3 != 3
                });
                let plan = plan.map(|(_, cue)| cue.clone()).collect();
                self.replan(plan);
            }
            Step::Hush => {
                self.settle_plan();
                self.plan.clear();
                self.said.clear();
                self.note_what_is_known();
                self.room.hear(Speech::Hush);
            }
            Step::Pass(ms) => self.room.until(self.room.now + ms),
            Step::Oversleep(ms) => self.room.sleep_until(self.room.now + ms),
            Step::WordsReady(are_ready) => {
                self.room.words_are_ready = *are_ready;
                self.room.turn();
            }
            Step::Fail if hears_soft => {
                self.room.fail("broken");
                self.room.turn();
            }
            Step::Fail => {}
        }
    }

    fn perform(steps: &[Step], hears_soft: bool) -> Self {
        let mut play = Self { room: Room { now: 10_000, ..Room::default() }, ..Self::default() };
        play.known.push((0, Vec::new()));
        for step in steps {
            play.step(step, hears_soft);
        }
        play.room.until(play.room.now + 200_000);
        // What waits for words that never come is let go.
        play.step(&Step::Hush, hears_soft);
        play
    }

    fn hard(&self) -> Vec<String> {
        let hard = self.room.heard.iter().filter(|heard| heard.cue.class == Class::Hard);
        hard.map(|heard| format!("{}-{} {:?} {}", heard.from, heard.until, heard.cue.tone, heard.cue.text)).collect()
    }

    /// Whether a soft sound begun at `from` left room for a hard cue known then.
    fn left_room(&self, from: u64, cue: &Cue) -> bool {
        let at_once = self.known.iter().filter(|(since, _)| *since == from);
        let before = self.known.iter().rfind(|(since, _)| *since < from);
        at_once.chain(before).any(|(_, known)| {
            let next = known.iter().map(|cue| cue.due).filter(|due| *due > from).min();
            next.is_none_or(|due| from + length(cue) + 300 <= due)
        })
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_said_every_promise_is_kept(steps in prop::collection::vec(step(), 1..40)) {
        let play = Play::perform(&steps, true);
        play.room.check();
        for heard in play.room.heard.iter().filter(|heard| heard.cue.class != Class::Hard) {
            prop_assert!(play.left_room(heard.from, &heard.cue), "{heard:?} in the way of a hard cue: {:?}", play.known);
        }
        let mut n_entries: BTreeMap<&str, usize> = BTreeMap::new();
        for entry in &play.room.log {
            *n_entries.entry(&entry.text).or_default() += 1;
            if let (Some(begun), Some(ended)) = (entry.begun, entry.ended) {
                prop_assert!(begun <= ended && entry.again.is_none_or(|again| begun <= again && again <= ended), "{entry:?}");
            }
            prop_assert!(entry.begun.is_some() || entry.dropped.is_some(), "nothing became of it: {entry:?}");
            prop_assert_eq!(entry.begun.is_some(), entry.ended.is_some(), "{:?}", entry);
        }
        for (text, owed) in &play.owed {
            prop_assert_eq!(n_entries.remove(text.as_str()).unwrap_or(0), *owed, "entries about {}: {:#?}", text, play.room.log);
        }
        prop_assert!(n_entries.is_empty(), "entries about what nobody said: {n_entries:?}");
        // Due, end, end of truth, and as often again after a cut: more turns would be a busy loop.
        prop_assert!(play.room.n_turns <= 2 * steps.len() + 6 * play.n_cues + 10, "{} turns", play.room.n_turns);
    }

    #[test]
    fn hard_cues_sound_as_if_nothing_softer_had_ever_been_said(steps in prop::collection::vec(step(), 1..40)) {
        let steps: Vec<Step> = steps.into_iter().filter(|step| !matches!(step, Step::Fail)).collect();
        prop_assert_eq!(Play::perform(&steps, true).hard(), Play::perform(&steps, false).hard());
    }
}

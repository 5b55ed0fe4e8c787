//! How long a mark, a result and a class's figures take.
//!
//! Goals: with 40 candidates × 7 methods × 3 trials a mark and a result stay instant (far below the 16 ms of a screen's
//! frame); the figures of 1,000 candidates × 7 methods come in under 1 s.
//!
//! Measured once on two shared cores (medians): a mark and its undo 1.1 µs, a result 2.2 µs, all standings of
//! 40 × 7 × 3 1.7 ms, replay of those 840 trials 35 ms, the figures of 1,000 × 7 first trials 82 ms.

#![allow(clippy::expect_used, reason = "a bench that cannot set its exam up says why and stops")]

use std::collections::BTreeMap;

use engine::{Moment, Tick, Wall};
use exam::class::Statistics;
use exam::{Event, How, Mark, State, TrialId, config, roster};
use procedure::Procedure;

fn main() {
    divan::main();
}

const METHODS: [&str; 7] =
    ["sampling", "temperature", "slump", "density", "air-pressure", "air-volumetric", "cylinders"];

fn at(ms: u64) -> Moment {
    Moment { tick: Tick(ms), wall: Wall::default() }
}

/// An exam in which every candidate has had `trials` of every method; who misses what follows from a fixed pattern.
fn held(candidates: usize, trials: u32) -> State {
    let mut procedures: BTreeMap<&str, Procedure> = BTreeMap::new();
    let mut text = format!("[exam]\ntitle = \"T\"\nsystem = \"SI\"\nstations = 12\ntrials_at_most = {}\n", trials + 1);
    for id in METHODS {
        let path = format!("{}/../../procedures/{id}.toml", env!("CARGO_MANIFEST_DIR"));
        let file = std::fs::read_to_string(path).expect("the procedure is there");
        procedures.insert(id, procedure::check(id, &file).procedure.expect("it is sound"));
        text += &format!("[[method]]\nid = \"{id}\"\n");
    }
    let find = |id: &str| procedures.get(id);
    let exam = config::check_with("exam.toml", &text, find).exam.expect("it is sound");
    let sheets = exam::sheets(&exam, find).expect("they are there");
    let mut list = "number,name\n".to_owned();
    for n in 1..=candidates {
        list += &format!("{n:04},Candidate {n}\n");
    }
    let mut state = State::open(exam, roster::read(&list).expect("it is sound"), sheets.clone());
    let mut now = 0;
    for candidate in 1..=candidates {
        for (method, sheet) in METHODS.iter().zip(&sheets) {
            for _ in 0..trials {
                let number = format!("{candidate:04}");
                let trial = state.new_trial(&number, method, None);
                let mut take = |event: Event| {
                    now += 1_000;
                    state.apply(event, at(now)).expect("it is allowed");
                };
                take(Event::Began {
                    trial: trial.clone(),
                    candidate: number,
                    method: (*method).to_owned(),
                    station: 1,
                    rater: "A".to_owned(),
                    scores: None,
                });
                for (place, item) in sheet.items.iter().enumerate().filter(|(_, item)| !item.conditional) {
                    // The first act is always missed, so that the next trial may begin.
                    let missed = place == 0 || (candidate * 7 + place * 13).is_multiple_of(11);
                    let mark = if missed { Mark::Missed } else { Mark::Done };
                    take(Event::Marked { trial: trial.clone(), item: item.key.clone(), mark });
                }
                take(Event::Ended { trial, how: How::Finished });
            }
        }
    }
    state
}

#[divan::bench(sample_count = 20)]
fn a_mark_and_its_undo_among_840_trials(bencher: divan::Bencher) {
    let mut state = held(40, 3);
    let trial = state.new_trial("0007", "slump", None);
    let now = state.last().map_or(0, |last| last.tick.0) + 1;
    let began = Event::Began {
        trial: trial.clone(),
        candidate: "0007".to_owned(),
        method: "slump".to_owned(),
        station: 1,
        rater: "A".to_owned(),
        scores: None,
    };
    state.apply(began, at(now)).expect("a fourth trial is allowed");
    let mark = Event::Marked { trial: trial.clone(), item: "base".to_owned(), mark: Mark::Done };
    let undo = Event::Undone { trial };
    bencher.bench_local(|| {
        state.apply(mark.clone(), at(now)).expect("it is open");
        state.apply(undo.clone(), at(now)).expect("there is one")
    });
}

#[divan::bench(sample_count = 20)]
fn the_result_of_a_trial(bencher: divan::Bencher) {
    let state = held(40, 3);
    let trial = TrialId("0007/cylinders/2".to_owned());
    bencher.bench_local(|| state.trial(&trial).expect("it is there").outcome());
}

#[divan::bench(sample_count = 20)]
fn every_standing_of_40_candidates_in_7_methods_with_3_trials(bencher: divan::Bencher) {
    let state = held(40, 3);
    bencher.bench_local(|| {
        (0..40)
            .flat_map(|one| (0..7).map(move |method| (one, method)))
            .map(|(one, method)| state.standing(one, method))
            .collect::<Vec<_>>()
    });
}

#[divan::bench(sample_count = 5)]
fn replay_of_840_trials(bencher: divan::Bencher) {
    bencher.bench_local(|| held(40, 3));
}

#[divan::bench(sample_count = 10)]
fn class_statistics_of_1000_candidates_in_7_methods(bencher: divan::Bencher) {
    let state = held(1_000, 1);
    bencher.bench_local(|| Statistics::of(&state));
}

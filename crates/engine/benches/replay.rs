//! Replay: how many recorded events a run takes up in a second, and what a question to it costs.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark stops at the first surprise")]

use std::sync::Arc;

use divan::counter::ItemsCount;
use engine::{Act, Entry, Event, Moment, Phase, Run, Tick};
use procedure::{Edition, ReadingKind};
use quantity::{Decimal, System, Ties};

fn main() {
    divan::main();
}

fn edition() -> Arc<Edition> {
    let checked = procedure::check("air", include_str!("../../../procedures/air-volumetric.toml"));
    Arc::new(checked.procedure.unwrap().edition(System::InchPound).unwrap().clone())
}

fn at(ms: u64) -> Moment {
    Moment { tick: Tick(ms), ..Moment::default() }
}

/// A whole run as a technician makes it: strokes and taps counted one by one, two rounds of settling.
fn whole_run(edition: &Arc<Edition>) -> Vec<(Event, Moment)> {
    let mut run = Run::open(edition.clone(), Ties::Even, at(0));
    let mut events = Vec::new();
    let mut now = 0;
    let mut give = |run: &mut Run, event: Event, now: u64| {
        run.apply(event.clone(), at(now)).unwrap();
        events.push((event, at(now)));
    };
    while run.phase() == Phase::AtStep {
        now += 4_000;
        let offer = run.offer(Tick(now));
        let (step, wants) = offer.step.map(|(id, step)| (id, step.wants.clone())).unwrap();
        match (offer.act, wants) {
            (Act::Answer(reading), _) => {
                let typed = match run.edition().reading(reading).id.as_str() {
                    "bowl" => "0.0752",
                    "cup" => "1.00",
                    "strength" => "70",
                    "water" => "1.25",
                    "alcohol" => "2.50",
                    "level" => "5.25",
                    _ => "0.50",
                };
                let entry = match &run.edition().reading(reading).kind {
                    ReadingKind::Number(_) => Entry::Number(Decimal::from_str_exact(typed).unwrap()),
                    ReadingKind::Choice(choices) => {
                        let good = choices.iter().position(|choice| matches!(choice.id.as_str(), "yes" | "none"));
                        let is_inspection = run.edition().reading(reading).id == "packed";
                        Entry::Choice(if is_inspection { 0 } else { good.unwrap_or(0) as u16 })
                    }
                    _ => Entry::Words("a name".into()),
                };
                let event = Event::Answer { step, reading, entry, seen: Tick(now), despite: None };
                give(&mut run, event, now);
            }
            (Act::Wait { until }, _) => now = until.0,
            (_, procedure::Wants::Count { at_least, .. }) if offer.standing.count.is_none() => {
                for n in 1..=at_least {
                    now += 1_000;
                    give(&mut run, Event::Count { step, n }, now);
                }
            }
            _ => {
                let event = run.press(Tick(now)).unwrap();
                give(&mut run, event, now);
            }
        }
    }
    assert_eq!(run.phase(), Phase::Finished);
    events
}

/// One core, one whole run after the other.
#[divan::bench]
fn replay_whole_runs(bencher: divan::Bencher) {
    let edition = edition();
    let events = whole_run(&edition);
    bencher.counter(ItemsCount::new(events.len())).bench_local(|| {
        let mut run = Run::open(edition.clone(), Ties::Even, at(0));
        for (event, at) in &events {
            run.apply(event.clone(), *at).unwrap();
        }
        run
    });
}

/// A long run with everything taken back and put back again.
#[divan::bench]
fn undo_and_redo_a_whole_run(bencher: divan::Bencher) {
    let edition = edition();
    let events = whole_run(&edition);
    let mut run = Run::open(edition, Ties::Even, at(0));
    for (event, at) in &events {
        run.apply(event.clone(), *at).unwrap();
    }
    let last = run.last();
    bencher.counter(ItemsCount::new(2 * events.len())).bench_local(|| {
        let mut run = run.clone();
        while run.can_undo() {
            run.apply(Event::Undo, last).unwrap();
        }
        while run.can_redo() {
            run.apply(Event::Redo, last).unwrap();
        }
        run
    });
}

/// What a sleeping program asks before it sleeps, in the middle of a settling wait.
#[divan::bench]
fn when_do_you_want_to_be_asked(bencher: divan::Bencher) {
    let edition = edition();
    let events = whole_run(&edition);
    let mut run = Run::open(edition, Ties::Even, at(0));
    for (event, at) in &events {
        let is_settle = matches!(event, Event::Answer { reading, .. } if run.edition().reading(*reading).id == "level");
        run.apply(event.clone(), *at).unwrap();
        if is_settle {
            break;
        }
    }
    let now = run.last().tick;
    bencher.bench_local(|| run.next_wake(divan::black_box(now)));
}

//! What holds for any run, however it is performed: random events, sensible and senseless.

#![allow(clippy::expect_used, reason = "a test says what it expects by panicking")]

mod common;

use std::sync::{Arc, OnceLock};

use common::{Technician, air, moment};
use engine::{Act, Entry, Event, Moment, Phase, Run, Tick, wire};
use procedure::{Edition, ReadingId, ReadingKind, StepId};
use proptest::prelude::*;
use quantity::{Decimal, System, Ties};

fn edition() -> Arc<Edition> {
    static AIR: OnceLock<Arc<Edition>> = OnceLock::new();
    AIR.get_or_init(|| air(System::InchPound)).clone()
}

/// A move of a hand that may or may not make sense.
#[derive(Clone, Debug)]
enum Move {
    /// The next right thing, after so many milliseconds.
    Right(u64, u8),
    /// Anything at all.
    Wild(u64, Event),
}

fn any_event() -> impl Strategy<Value = Event> {
    let step = (0u16..45).prop_map(StepId);
    let reading = (0u16..20).prop_map(ReadingId);
    let entry = prop_oneof![
        (-5i64..4_000, 0u32..4).prop_map(|(n, scale)| Entry::Number(Decimal::new(n, scale))),
        (0u16..4).prop_map(Entry::Choice),
        "[a-z ]{0,12}".prop_map(Entry::Words),
        Just(Entry::One),
    ];
    let despite = prop_oneof![3 => Just(None), 1 => "[a-z ]{0,8}".prop_map(Some)];
    prop_oneof![
        step.clone().prop_map(|step| Event::Begin { step }),
        (step.clone(), 0u32..40).prop_map(|(step, n)| Event::Count { step, n }),
        step.clone().prop_map(|step| Event::Turn { step }),
        (step.clone(), despite.clone()).prop_map(|(step, despite)| Event::Done { step, despite }),
        (step.clone(), reading.clone(), entry.clone(), 0u64..4_000_000, despite).prop_map(
            |(step, reading, entry, seen, despite)| Event::Answer { step, reading, entry, seen: Tick(seen), despite }
        ),
        (step, reading).prop_map(|(step, reading)| Event::Add { step, reading }),
        (0u16..4).prop_map(|incident| Event::Incident { incident }),
        "[a-z ]{0,8}".prop_map(|reason| Event::Discard { reason }),
        Just(Event::Again),
        Just(Event::Close),
        Just(Event::Undo),
        Just(Event::Redo),
        (0u32..120, entry, "[a-z]{0,5}").prop_map(|(seq, entry, reason)| Event::Correct { seq, entry, reason }),
        "[a-z ]{0,8}".prop_map(|text| Event::Remark { text }),
        (0u16..3, 0u64..400_000).prop_map(|(moment, at)| Event::Known { moment, at: self::moment(at) }),
    ]
}

fn moves(most: usize) -> impl Strategy<Value = Vec<Move>> {
    let right = (prop_oneof![Just(0), 1u64..9_000, Just(61_000), Just(120_000)], any::<u8>());
    let one = prop_oneof![
        6 => right.prop_map(|(wait, pick)| Move::Right(wait, pick)),
        2 => (0u64..200_000, any_event()).prop_map(|(wait, event)| Move::Wild(wait, event)),
    ];
    prop::collection::vec(one, 1..most)
}

/// An answer picked by `pick` among sensible ones.
fn sensible(edition: &Edition, reading: ReadingId, pick: u8) -> Entry {
    let reading = edition.reading(reading);
    match &reading.kind {
        ReadingKind::Number(scale) => {
            let typed = match (reading.id.as_str(), pick % 4) {
                ("bowl", _) => "0.0752",
                ("cup", _) => "1.00",
                ("strength", _) => "70",
                ("alcohol", n) => ["1.50", "2.50", "3.00", "5.00"][n as usize],
                ("water", _) => "1.25",
                ("level", n) => ["5.25", "5.50", "6.00", "5.50"][n as usize],
                ("foam", n) => ["0.00", "0.50", "2.00", "2.50"][n as usize],
                _ => return Entry::Number(scale.min),
            };
            Entry::Number(Decimal::from_str_exact(typed).expect("a number"))
        }
        ReadingKind::Choice(choices) => Entry::Choice(u16::from(pick) % choices.len() as u16),
        ReadingKind::Words => Entry::Words("words".into()),
        ReadingKind::Tally { .. } => Entry::One,
    }
}

fn right_event(run: &Run, now: Tick, pick: u8) -> Option<Event> {
    let offer = run.offer(now);
    let step = offer.step?.0;
    match offer.act {
        Act::Answer(reading) => {
            let entry = sensible(run.edition(), reading, pick);
            Some(Event::Answer { step, reading, entry, seen: now, despite: None })
        }
        _ => run.press(now),
    }
}

/// Performs moves; returns the run and the accepted events.
fn perform(moves: &[Move]) -> (Run, Vec<(Event, Moment)>) {
    let mut run = Run::open(edition(), Ties::Even, moment(0));
    let mut accepted = Vec::new();
    let mut now_ms = 0;
    for a_move in moves {
        let (wait, event) = match a_move {
            Move::Right(wait, pick) => (*wait, right_event(&run, Tick(now_ms + wait), *pick)),
            Move::Wild(wait, event) => (*wait, Some(event.clone())),
        };
        now_ms += wait;
        let Some(event) = event else { continue };
        let before = run.clone();
        match run.apply(event.clone(), moment(now_ms)) {
            Ok(_) => accepted.push((event, moment(now_ms))),
            Err(_) => {
                assert!(run.same_state(&before), "refused {event:?} changed the state");
                assert_eq!((run.can_undo(), run.can_redo()), (before.can_undo(), before.can_redo()));
                assert_eq!((run.n_accepted(), run.last()), (before.n_accepted(), before.last()));
            }
        }
    }
    (run, accepted)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_refused_event_changes_nothing_and_replay_gives_the_identical_state(moves in moves(160)) {
        let (run, accepted) = perform(&moves);
        let mut replayed = Run::open(edition(), Ties::Even, moment(0));
        for (event, at) in &accepted {
            prop_assert!(replayed.apply(event.clone(), *at).is_ok(), "replay refuses {event:?}");
        }
        prop_assert!(replayed.same_state(&run));
        prop_assert_eq!(replayed.n_accepted(), run.n_accepted());
    }

    #[test]
    fn what_is_written_down_reads_back_as_the_same_event(moves in moves(80)) {
        let (run, accepted) = perform(&moves);
        let mut replayed = Run::open(edition(), Ties::Even, moment(0));
        let edition = run.edition();
        for (event, at) in accepted {
            let corrected = match &event {
                Event::Correct { seq, .. } => {
                    replayed.taken().iter().find(|taken| taken.seq == *seq).map(|taken| taken.reading)
                }
                _ => None,
            };
            let written = wire::write(edition, &event, corrected);
            let text = serde_json::to_string(&written).expect("it can be written");
            let back: wire::Written = serde_json::from_str(&text).expect("it can be read");
            prop_assert_eq!(&wire::read(edition, &back).expect("it fits the procedure"), &event, "{}", text);
            prop_assert!(replayed.apply(event, at).is_ok());
        }
    }

    #[test]
    fn undo_then_redo_is_the_identity(moves in moves(120)) {
        let (mut run, accepted) = perform(&moves);
        if run.can_undo() {
            let before = run.clone();
            let at = run.last();
            run.apply(Event::Undo, at).expect("there is something to take back");
            prop_assert_eq!(run.known(0), before.known(0), "what was told is no act, and stays");
            let redone = run.apply(Event::Redo, at);
            prop_assert_eq!(run.known(0), before.known(0));
            // What was told after an act can make its step one that is left out.
            if !accepted.iter().any(|(event, _)| matches!(event, Event::Known { .. })) {
                redone.expect("there is something to put back");
                prop_assert!(run.same_state(&before));
            }
        }
    }

    #[test]
    fn time_never_runs_backwards(moves in moves(60), back in 1u64..5_000_000) {
        let (mut run, _) = perform(&moves);
        let last = run.last().tick;
        if last.0 >= back && let Some(event) = right_event(&run, last, 0) {
            let before = run.clone();
            prop_assert!(run.apply(event, moment(last.0 - back)).is_err());
            prop_assert!(run.same_state(&before));
        }
    }

    #[test]
    fn every_run_comes_to_an_end_by_doing_the_next_right_thing(
        moves in moves(80),
        picks in prop::collection::vec(any::<u8>(), 400),
    ) {
        let (mut run, _) = perform(&moves);
        let mut now = run.last().tick.0;
        let mut n_acts = 0;
        for pick in picks {
            if run.phase() != Phase::AtStep {
                break;
            }
            now += 4_000;
            if let Act::Wait { until } = run.offer(Tick(now)).act {
                now = until.0;
            }
            // What is refused is tried in every other way; what cannot be answered at all, such as
            // still more alcohol than the most there is, is given up.
            let ways = [pick, 0, 1, 2, 3].into_iter().filter_map(|pick| right_event(&run, Tick(now), pick));
            let ways: Vec<_> = ways.chain([Event::Discard { reason: "no way on".into() }]).collect();
            let taken = ways.into_iter().any(|event| run.apply(event, moment(now)).is_ok());
            prop_assert!(taken, "an attempt can always be discarded");
            n_acts += 1;
        }
        prop_assert!(run.phase() != Phase::AtStep, "still going after {} acts", n_acts);
    }

    #[test]
    fn there_is_always_a_next_act_and_waiting_alone_changes_it_only_when_told(moves in moves(120), wait in 0u64..900_000) {
        let (run, _) = perform(&moves);
        let now = run.last().tick;
        let act = run.offer(now).act;
        if matches!(run.phase(), Phase::Closed { .. }) {
            prop_assert_eq!(act, Act::Nothing);
            return Ok(());
        }
        prop_assert!(act != Act::Nothing);
        // Until the next wake-up the offer stays the same.
        let wake = run.next_wake(now);
        let later = Tick(now.0 + wait);
        if wake.is_none_or(|wake| later < wake) {
            let offer = run.offer(later);
            prop_assert_eq!(offer.act, act);
        }
    }

    #[test]
    fn every_clock_lies_after_its_start_and_wakes_once(moves in moves(120)) {
        let (run, _) = perform(&moves);
        let mut now = run.last().tick;
        for clock in run.clocks(now) {
            prop_assert!(clock.started <= now && clock.due >= clock.started);
        }
        // Waking leads forward, so a sleeper can never spin.
        for _ in 0..50 {
            let Some(wake) = run.next_wake(now) else { break };
            prop_assert!(wake > now);
            now = wake;
        }
    }
}

#[test]
fn a_run_can_be_sent_to_another_thread() {
    fn is_send<T: Send>() {}
    is_send::<Run>();
    is_send::<Technician>();
}

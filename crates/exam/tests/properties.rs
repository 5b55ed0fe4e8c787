//! Whatever happens at the stations, in whatever order: marks stay where they belong.

mod common;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use common::{at, state};
use engine::Moment;
use exam::{Event, How, Mark, State, TrialId};
use proptest::prelude::*;

/// What a hand at a station may do. Numbers are places among what there is.
#[derive(Clone, Debug)]
enum Deed {
    Begin { candidate: usize, method: usize, station: u16, rater: usize },
    Second { trial: usize, rater: usize },
    Mark { trial: usize, item: usize, mark: usize },
    Clock { trial: usize, item: usize, what: usize },
    Count { trial: usize, item: usize, n: u32 },
    Note { trial: usize, item: usize },
    Overrule { trial: usize, item: usize, mark: usize },
    End { trial: usize, how: usize },
    Undo { trial: usize },
    Move { trial: usize, station: u16 },
}

const MARKS: [Mark; 4] = [Mark::Done, Mark::Missed, Mark::Told, Mark::NotSeen];
const RATERS: [&str; 3] = ["S. Vantongeren", "L. Achterberg", ""];

fn deed() -> impl Strategy<Value = Deed> {
    let (trial, item) = (0_usize..12, 0_usize..40);
    prop_oneof![
        3 => (0_usize..5, 0_usize..2, 0_u16..5, 0_usize..3)
            .prop_map(|(candidate, method, station, rater)| Deed::Begin { candidate, method, station, rater }),
        1 => (trial.clone(), 0_usize..3).prop_map(|(trial, rater)| Deed::Second { trial, rater }),
        10 => (trial.clone(), item.clone(), 0_usize..4).prop_map(|(trial, item, mark)| Deed::Mark { trial, item, mark }),
        6 => (trial.clone(), 25_usize..33, 0_usize..3).prop_map(|(trial, item, what)| Deed::Clock { trial, item, what }),
        2 => (trial.clone(), item.clone(), 0_u32..30).prop_map(|(trial, item, n)| Deed::Count { trial, item, n }),
        1 => (trial.clone(), item.clone()).prop_map(|(trial, item)| Deed::Note { trial, item }),
        2 => (trial.clone(), item, 0_usize..4).prop_map(|(trial, item, mark)| Deed::Overrule { trial, item, mark }),
        2 => (trial.clone(), 0_usize..3).prop_map(|(trial, how)| Deed::End { trial, how }),
        4 => trial.clone().prop_map(|trial| Deed::Undo { trial }),
        1 => (trial, 0_u16..5).prop_map(|(trial, station)| Deed::Move { trial, station }),
    ]
}

fn fresh() -> State {
    static FRESH: OnceLock<State> = OnceLock::new();
    let make = || {
        let lines = "told = [\"apparatus\"]\ntime_limit = \"30 min\"";
        state("", &[("slump", lines), ("air-volumetric", "pass = \"80 %\"")], 5)
    };
    FRESH.get_or_init(make).clone()
}

/// The event of a deed; trials and acts that are not there are asked for too.
fn event(state: &State, deed: &Deed) -> Event {
    let name =
        |trial: usize| state.trials().nth(trial).map_or(TrialId("nobody's".to_owned()), |view| view.trial.id.clone());
    let key = |trial: usize, item: usize| {
        let keys = state.trials().nth(trial).map(|view| view.sheet.items.iter().map(|item| item.key.clone()).collect());
        let keys: Vec<String> = keys.unwrap_or_default();
        keys.get(item).cloned().unwrap_or_else(|| "no such act".to_owned())
    };
    match *deed {
        Deed::Begin { candidate, method, station, rater } => {
            let candidate = format!("{:02}", candidate + 1);
            let method = state.exam().methods[method].id.clone();
            let trial = state.new_trial(&candidate, &method, None);
            Event::Began { trial, candidate, method, station, rater: RATERS[rater].to_owned(), scores: None }
        }
        Deed::Second { trial, rater } => {
            let first = name(trial);
            let view = state.trial(&first);
            Event::Began {
                trial: state.new_trial("", "", Some(&first)),
                candidate: view.map_or("01".to_owned(), |view| view.candidate().number.clone()),
                method: view.map_or("slump".to_owned(), |view| view.sheet.method.clone()),
                station: view.map_or(1, |view| view.trial.station),
                rater: RATERS[rater].to_owned(),
                scores: Some(first),
            }
        }
        Deed::Mark { trial, item, mark } => {
            Event::Marked { trial: name(trial), item: key(trial, item), mark: MARKS[mark] }
        }
        Deed::Clock { trial, item, what } => {
            let (trial, item) = (name(trial), key(trial, item));
            match what {
                0 => Event::ClockStarted { trial, item },
                1 => Event::Turned { trial, item },
                _ => Event::ClockStopped { trial, item },
            }
        }
        Deed::Count { trial, item, n } => Event::Counted { trial: name(trial), item: key(trial, item), n },
        Deed::Note { trial, item } => {
            let item = (item < 20).then(|| key(trial, item));
            Event::Noted { trial: name(trial), item, text: "steady hands".to_owned() }
        }
        Deed::Overrule { trial, item, mark } => {
            let item = match item {
                38 => "time".to_owned(),
                39 => "limit:whole-test".to_owned(),
                _ => key(trial, item),
            };
            Event::Overruled { trial: name(trial), item, mark: MARKS[mark], reason: "seen twice".to_owned() }
        }
        Deed::End { trial, how } => {
            let how = match how {
                0 => How::Finished,
                1 => How::Stopped { reason: "gave up".to_owned() },
                _ => How::Void { reason: "the meter broke".to_owned() },
            };
            Event::Ended { trial: name(trial), how }
        }
        Deed::Undo { trial } => Event::Undone { trial: name(trial) },
        Deed::Move { trial, station } => Event::Moved { trial: name(trial), station },
    }
}

/// What can be seen of a trial, by its name.
fn seen(state: &State) -> BTreeMap<String, String> {
    let of = |view: exam::TrialView| {
        let marks: Vec<_> = view.items().map(|status| (status.mark, status.because, status.count)).collect();
        let told = format!("{marks:?} {:?} {:?} {:?}", view.outcome(), view.trial.station, view.trial.acts());
        (view.trial.id.to_string(), told)
    };
    state.trials().map(of).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn an_event_changes_its_own_trial_alone_and_a_refused_one_nothing(
        deeds in prop::collection::vec((deed(), 0_u64..40_000), 1..120)
    ) {
        let mut state = fresh();
        let mut log: Vec<(Event, Moment)> = Vec::new();
        let mut now = 0;
        for (deed, wait) in &deeds {
            now += wait;
            let event = event(&state, deed);
            let (before, looked) = (state.clone(), seen(&state));
            let foretold = state.would_refuse(&event, at(now));
            match state.apply(event.clone(), at(now)) {
                Ok(applied) => {
                    prop_assert_eq!(foretold, None);
                    prop_assert_eq!(&applied.trial, event.trial());
                    let mut after = seen(&state);
                    let mut before = looked;
                    after.remove(&event.trial().0);
                    before.remove(&event.trial().0);
                    prop_assert_eq!(before, after, "{:?} touched another trial", event);
                    log.push((event, at(now)));
                }
                Err(refused) => {
                    prop_assert_eq!(foretold.as_ref(), Some(&refused));
                    prop_assert_eq!(&state, &before, "refused with {}, and yet changed", refused);
                }
            }
        }
        // Written down and read back, the accepted events lead to the same state.
        let mut replayed = fresh();
        for (event, at) in log {
            let line = serde_json::to_string(&event).unwrap();
            let read: Event = serde_json::from_str(&line).unwrap();
            prop_assert_eq!(&read, &event, "{}", line);
            prop_assert!(replayed.apply(read, at).is_ok());
        }
        prop_assert_eq!(&replayed, &state);
        // One performance at a station, one station for a candidate.
        for station in 1..=12 {
            let at: Vec<_> = state.at_station(station).filter(|view| view.trial.scores.is_none()).collect();
            prop_assert!(at.len() <= 1);
        }
        for candidate in 0..5 {
            let open = |view: &exam::TrialView| {
                view.trial.is_open() && view.trial.scores.is_none() && view.trial.candidate == candidate
            };
            prop_assert!(state.trials().filter(open).count() <= 1);
            for method in 0..2 {
                let numbers: Vec<u32> = state.trials_of(candidate, method).map(|view| view.trial.number).collect();
                prop_assert_eq!(&numbers, &(1..=numbers.len() as u32).collect::<Vec<_>>());
            }
        }
    }

    #[test]
    fn undo_is_as_if_the_act_had_never_been(
        deeds in prop::collection::vec((deed(), 0_u64..40_000), 1..60),
        last in deed(),
    ) {
        let mut state = fresh();
        let mut now = 0;
        for (deed, wait) in &deeds {
            now += wait;
            let event = event(&state, deed);
            let _ = state.apply(event, at(now));
        }
        let event = event(&state, &last);
        let before = seen(&state);
        let is_act = !matches!(event, Event::Began { .. } | Event::Undone { .. } | Event::Moved { .. });
        if is_act && state.apply(event.clone(), at(now + 5)).is_ok() {
            let undone = state.apply(Event::Undone { trial: event.trial().clone() }, at(now + 9));
            // Only an end on which something rests stays, and nothing has happened since.
            prop_assert!(undone.is_ok(), "{:?}", undone);
            prop_assert_eq!(undone.unwrap().undone, Some(Some(event)));
            prop_assert_eq!(seen(&state), before);
        }
    }
}

#[test]
fn events_are_written_with_names() {
    let trial = TrialId("07/slump/1".to_owned());
    let marked = Event::Marked { trial: trial.clone(), item: "lift".to_owned(), mark: Mark::NotSeen };
    let ended = Event::Ended { trial, how: How::Stopped { reason: "gave up".to_owned() } };
    for (event, line) in [
        (marked, r#"{"what":"marked","trial":"07/slump/1","item":"lift","mark":"not-seen"}"#),
        (ended, r#"{"what":"ended","trial":"07/slump/1","how":{"end":"stopped","reason":"gave up"}}"#),
    ] {
        assert_eq!(serde_json::to_string(&event).unwrap(), line);
        assert_eq!(serde_json::from_str::<Event>(line).unwrap(), event);
    }
    // A record may add a moment beside the event; an event without its trial is none.
    assert!(serde_json::from_str::<Event>(r#"{"what":"undone","trial":"a","at":1}"#).is_ok());
    assert!(serde_json::from_str::<Event>(r#"{"what":"undone"}"#).is_err());
}

//! Whatever a person does, a session comes to its end, keeps what it goes by, and loses nothing.
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]

mod common;

use common::{FIRST_DAY, deck, moment};
use practice::history::{Entry, History, ReadingJudged};
use practice::schedule::Schedule;
use practice::{Answer, Deck, Due, Mode, Onward, Performance, Session, Standings};
use proptest::prelude::*;
use std::sync::OnceLock;

fn decks() -> &'static [Deck] {
    static DECKS: OnceLock<Vec<Deck>> = OnceLock::new();
    DECKS.get_or_init(|| ["slump", "temperature"].iter().map(|id| deck(id)).collect())
}

/// Drives a session by a row of numbers, over and over, until it ends.
fn drive(mode: Mode, history: History, day: i64, whims: &[u8]) -> History {
    let mut kept = history.clone();
    let mut whim = whims.iter().cycle().copied();
    let mut ms = 0;
    let Ok(mut session) = Session::new(decks().to_vec(), history, mode, 5, moment(day, 0)) else { return kept };
    for n in 0..1_500 {
        ms += 3_000;
        let at = moment(day, ms);
        let of_it = whim.next().unwrap_or(0);
        // Now and then a call that does not fit: it must change nothing.
        let before = session.due().clone();
        let refused = match &before {
            Due::Ask(_) => session.go_on(at).is_err() && session.take_back(at).is_err(),
            Due::Perform(_) => session.answer(&Answer::Choice(0), at).is_err() && session.go_on(at).is_err(),
            _ => session.answer(&Answer::NotKnown, at).is_err(),
        };
        assert!(refused, "{before:?}");
        assert_eq!(session.due(), &before);
        let (done, of) = session.place();
        assert!(done <= of, "{done} of {of}");
        let entries = match before {
            Due::Finished(_) => {
                assert_eq!(session.history(), &kept);
                assert_eq!(session.standings(), &Standings::of(&kept, Schedule::default()));
                return kept;
            }
            Due::Ask(question) => {
                let number = question.read(&of_it.to_string());
                let answer = if of_it % 7 == 0 {
                    Answer::NotKnown
                } else {
                    number.unwrap_or(Answer::Choice(usize::from(of_it % 6)))
                };
                session.answer(&answer, at).expect("it fits")
            }
            Due::Explain(_) if of_it % 11 == 0 && n < 500 => session.take_back(at).expect("it fits"),
            Due::Perform(perform) => {
                let mut performance = Performance { took_ms: u64::from(of_it) * 500, ..Performance::default() };
                if of_it % 5 == 0 {
                    performance.refusals.push("too early".to_owned());
                }
                if of_it % 9 == 0 {
                    let given = of_it.to_string();
                    performance.readings.push(ReadingJudged { given, right_answers: vec!["9".to_owned()] });
                }
                let onward = match of_it {
                    250.. => Onward::GivenUp("given up".to_owned()),
                    245.. => Onward::Over,
                    230.. if n < 500 => Onward::To(perform.step.clone()),
                    _ => Onward::InOrder,
                };
                session.performed(&perform.step, performance, onward, at).expect("it fits")
            }
            _ => session.go_on(at).expect("it fits"),
        };
        for entry in entries {
            let line = serde_json::to_string(&entry).expect("a line");
            assert_eq!(serde_json::from_str::<Entry>(&line).expect("an entry"), entry);
            kept.add(entry);
        }
    }
    panic!("the session does not end");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn any_session_ends_and_keeps_what_it_goes_by(whims in proptest::collection::vec(any::<u8>(), 1..200)) {
        let method = |trial| Mode::Method { method: "slump".to_owned(), trial };
        let mut history = drive(method(true), History::default(), FIRST_DAY, &whims);
        history = drive(Mode::Today { minutes: 5 }, history, FIRST_DAY + 1, &whims);
        history = drive(Mode::Trial { method: "temperature".to_owned() }, history, FIRST_DAY + 2, &whims);
        history = drive(method(false), history, FIRST_DAY + 3, &whims);
        prop_assert!(!history.entries().is_empty());
    }
}

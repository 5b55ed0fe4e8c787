//! What passes, what fails, what stays open: the rules of an exam, case by case.
#![allow(clippy::unwrap_used, reason = "tests say what they expect by panicking")]

mod common;

use common::{Day, at, state};
use engine::{Side, Tick};
use exam::Mark::{Done, Missed, NotSeen, Told};
use exam::{How, Mark, Refused, RunningOf, Standing, Verdict, WindowState, practice_seed};

/// A slump trial with these marks, every other act done.
fn slump(head: &str, lines: &str, marks: &[(&str, Mark)]) -> (Verdict, String) {
    let mut day = Day::new(state(head, &[("slump", lines)], 1));
    let trial = day.begin("01", "slump");
    for (item, mark) in marks {
        day.mark(&trial, item, *mark).unwrap();
    }
    day.rest(&trial, Done);
    let outcome = day.end(&trial);
    (outcome.verdict, outcome.reasons.join("; "))
}

#[test]
fn the_rule_decides() {
    // Without these three the slump sheet has 20 acts.
    let lines = "leave_out = [\"pieces\", \"limit:start-of-test\", \"limit:whole-test\"]\n";
    let share = |share: &str, more: &str| format!("{lines}pass = \"{share}\"\n{more}");
    let told = format!("{lines}told = [\"apparatus\", \"clean\"]\n");
    let critical = "critical = [\"measure\"]\n";
    for (head, lines, marks, verdict, why) in [
        ("", lines.to_owned(), vec![], Verdict::Passed, "20 of 20 acts"),
        ("", lines.to_owned(), vec![("base", Missed)], Verdict::Failed, "1 act missed; every act must be done"),
        ("", lines.to_owned(), vec![("base", NotSeen)], Verdict::Open, "1 act was seen by nobody"),
        ("", lines.to_owned(), vec![("base", NotSeen), ("clean", Missed)], Verdict::Failed, "1 act missed"),
        ("not_seen = \"missed\"", lines.to_owned(), vec![("base", NotSeen)], Verdict::Failed, "1 act missed"),
        (
            "",
            told.clone(),
            vec![("apparatus", Told), ("clean", Told)],
            Verdict::Passed,
            "20 of 20 acts, 2 of them told",
        ),
        // 18 of 20 is exactly 90 %.
        ("", share("90 %", ""), vec![("base", Missed), ("clean", Missed)], Verdict::Passed, "18 of 20 acts"),
        (
            "",
            share("90.1 %", ""),
            vec![("base", Missed), ("clean", Missed)],
            Verdict::Failed,
            "18 of 20 acts; at least 90.1 %",
        ),
        (
            "",
            share("90 %", ""),
            vec![("base", Missed), ("clean", Missed), ("shape", Missed)],
            Verdict::Failed,
            "17 of 20",
        ),
        // One act nobody saw could turn 17 into 18, or 18 into 19.
        (
            "",
            share("90 %", ""),
            vec![("base", Missed), ("clean", Missed), ("shape", NotSeen)],
            Verdict::Open,
            "hangs on it",
        ),
        (
            "",
            share("85 %", ""),
            vec![("base", Missed), ("clean", Missed), ("shape", NotSeen)],
            Verdict::Passed,
            "17 of 20",
        ),
        // A critical act is not bought back by nineteen others.
        (
            "",
            share("50 %", critical),
            vec![("measure", Missed)],
            Verdict::Failed,
            "1 act missed that nothing makes up for",
        ),
        ("", share("50 %", critical), vec![("base", Missed)], Verdict::Passed, "19 of 20"),
        ("", share("50 %", critical), vec![("measure", NotSeen)], Verdict::Open, "1 act was seen by nobody"),
        (
            "",
            share("50 %", critical),
            vec![("measure", NotSeen), ("base", Missed)],
            Verdict::Open,
            "1 act was seen by nobody",
        ),
    ] {
        let (found, said) = slump(head, &lines, &marks);
        assert_eq!(found, verdict, "{head} {lines} {marks:?}: {said}");
        assert!(said.contains(why), "{lines} {marks:?}: {said}");
    }
}

#[test]
fn telling_counts_where_it_is_allowed_and_is_refused_elsewhere() {
    let mut day = Day::new(state("", &[("sampling", ""), ("slump", "told = [\"apparatus\"]")], 2));
    let aloud = day.begin("01", "sampling");
    day.mark(&aloud, "carry", Told).unwrap();
    day.rest(&aloud, Told);
    assert_eq!(day.end(&aloud).verdict, Verdict::Passed);
    let hands = day.begin("01", "slump");
    day.mark(&hands, "apparatus", Told).unwrap();
    let before = day.state.clone();
    assert_eq!(day.mark(&hands, "dampen", Told), Err(Refused::NotTellable));
    assert_eq!(day.overrule(&hands, "dampen", Told, "said it well"), Err(Refused::NotTellable));
    assert_eq!(day.state, before);
}

#[test]
fn a_clock_judges_what_it_can_judge() {
    // 38 s of 45 s is too short; 45 s is enough; upside down at most 5 s at a time, and the clock starts upside down.
    for (turns, stop, mark, because) in [
        (vec![4_000], 38_000, Missed, "only 38 s; at least 45 s"),
        (vec![4_000], 44_999, Missed, "only 44.9 s; at least 45 s"),
        (vec![4_000], 45_000, Done, "it took 45 s"),
        (vec![5_001], 46_000, Missed, "upside down 5.1 s at a time; at most 5 s"),
        (vec![5_000, 20_000, 25_000], 46_000, Done, "it took 46 s"),
        (vec![5_000, 20_000, 26_000], 46_000, Missed, "upside down 6 s at a time; at most 5 s"),
        // Never turned upright: upside down all the time.
        (vec![], 46_000, Missed, "upside down 46 s at a time; at most 5 s"),
    ] {
        let mut day = Day::new(state("", &[("air-volumetric", "")], 1));
        let trial = day.begin("01", "air-volumetric");
        day.wait(100_000);
        day.start(&trial, "invert").unwrap();
        for turn in &turns {
            day.now = 100_000 + turn;
            day.turn(&trial, "invert").unwrap();
        }
        day.now = 100_000 + stop;
        let applied = day.stop(&trial, "invert").unwrap();
        assert_eq!((applied.mark, applied.because.as_deref()), (Some(mark), Some(because)), "{turns:?} {stop}");
    }
}

#[test]
fn what_the_clock_says_is_taken_back_only_with_a_reason() {
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    day.start(&trial, "lift").unwrap();
    assert_eq!(day.start(&trial, "lift"), Err(Refused::ClockRuns));
    day.wait(8_000);
    let applied = day.stop(&trial, "lift").unwrap();
    assert_eq!((applied.mark, applied.because.as_deref()), (Some(Missed), Some("it took 8 s; at most 7 s")));
    let no = day.mark(&trial, "lift", Done).unwrap_err();
    assert_eq!(no, Refused::ClockSaysNo { because: "it took 8 s; at most 7 s".to_owned() });
    assert_eq!(day.overrule(&trial, "lift", Done, "  "), Err(Refused::NoReason));
    let applied = day.overrule(&trial, "lift", Done, "pressed late").unwrap();
    assert_eq!((applied.mark, applied.because.as_deref()), (Some(Done), Some("pressed late")));
    assert_eq!(day.mark(&trial, "lift", Missed), Err(Refused::IsOverruled { reason: "pressed late".to_owned() }));
    // The other way round needs none: a rater may see what no clock sees.
    day.undo(&trial).unwrap();
    day.undo(&trial).unwrap();
    day.undo(&trial).unwrap();
    day.start(&trial, "lift").unwrap();
    day.wait(5_000);
    assert_eq!(day.stop(&trial, "lift").unwrap().mark, Some(Done));
    assert_eq!(day.mark(&trial, "lift", Missed).unwrap().mark, Some(Missed));
}

#[test]
fn a_mark_stops_the_clock_and_a_second_try_replaces_the_first() {
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    day.start(&trial, "lift").unwrap();
    day.wait(2_000);
    let applied = day.mark(&trial, "lift", Done).unwrap();
    assert_eq!((applied.mark, applied.because.as_deref()), (Some(Missed), Some("only 2 s; at least 3 s")));
    assert_eq!(day.stop(&trial, "lift"), Err(Refused::ClockStands));
    day.start(&trial, "lift").unwrap();
    day.wait(5_000);
    assert_eq!(day.stop(&trial, "lift").unwrap().mark, Some(Done));
    assert_eq!(day.turn(&trial, "lift"), Err(Refused::NoTurns));
    assert_eq!(day.start(&trial, "base"), Err(Refused::NoClock));
}

#[test]
fn in_rounds_every_time_must_be_right() {
    let mut day = Day::new(state("", &[("air-volumetric", "")], 1));
    let trial = day.begin("01", "air-volumetric");
    for (ms, mark) in [(61_000, Done), (50_000, Missed), (70_000, Missed)] {
        day.start(&trial, "roll").unwrap();
        day.wait(ms);
        assert_eq!(day.stop(&trial, "roll").unwrap().mark, Some(mark), "{ms}");
    }
    let view = day.state.trial(&trial).unwrap();
    let roll = view.item(view.sheet.item("roll").unwrap());
    assert_eq!(roll.because.as_deref(), Some("round 2: only 50 s; at least 1 min"));
}

#[test]
fn readings_that_settle_are_far_enough_apart() {
    for (gaps, mark) in [(vec![120_000], Done), (vec![119_000], Missed), (vec![125_000, 90_000], Missed)] {
        let mut day = Day::new(state("", &[("air-volumetric", "")], 1));
        let trial = day.begin("01", "air-volumetric");
        day.start(&trial, "settle").unwrap();
        for (n, gap) in gaps.iter().enumerate() {
            day.wait(*gap);
            if n + 1 < gaps.len() {
                day.turn(&trial, "settle").unwrap();
            }
        }
        assert_eq!(day.stop(&trial, "settle").unwrap().mark, Some(mark), "{gaps:?}");
    }
}

#[test]
fn a_count_is_judged_once_it_cannot_grow() {
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    for n in 1..=24 {
        assert_eq!(day.count(&trial, "strokes-1", n).unwrap().mark, None, "{n} and going on");
    }
    day.mark(&trial, "layer-2", Done).unwrap();
    let view = day.state.trial(&trial).unwrap();
    let strokes = view.item(view.sheet.item("strokes-1").unwrap());
    assert_eq!((strokes.mark, strokes.because.as_deref()), (Some(Missed), Some("24 strokes counted, 1 too few")));
    assert_eq!(day.count(&trial, "strokes-1", 25).unwrap().mark, Some(Done));
    let over = day.count(&trial, "strokes-1", 26).unwrap();
    assert_eq!((over.mark, over.because.as_deref()), (Some(Missed), Some("26 strokes counted, 1 too many")));
    assert_eq!(day.undo(&trial).unwrap().mark, Some(Done), "the slip of the key is taken back");
    assert_eq!(day.count(&trial, "base", 3), Err(Refused::NoCount));
    assert_eq!(day.count(&trial, "strokes-1", 10_000), Err(Refused::CountTooHigh { n: 10_000 }));
}

#[test]
fn a_window_runs_from_one_act_to_another_and_can_be_overruled() {
    for (took, verdict) in [(150_000, Verdict::Passed), (150_001, Verdict::Failed)] {
        let mut day = Day::new(state("", &[("slump", "")], 1));
        let trial = day.begin("01", "slump");
        day.mark(&trial, "sample-ready", Done).unwrap();
        day.wait(1_000);
        day.mark(&trial, "first-scoop", Done).unwrap();
        let window = day.state.trial(&trial).unwrap().window(1);
        assert_eq!(window.state, WindowState::Running { from: Tick(1_000), due: Tick(151_000) });
        assert_eq!(day.state.next_wake(Tick(2_000)), Some(Tick(151_000)));
        day.now += took - 5_000;
        day.start(&trial, "lift").unwrap();
        let kinds: Vec<(RunningOf, Side)> = day.state.clocks().map(|clock| (clock.of, clock.side)).collect();
        let lift = day.state.sheets()[0].item("lift").unwrap();
        let (least, most) = ((RunningOf::Least(lift), Side::AtLeast), (RunningOf::Most(lift), Side::AtMost));
        assert_eq!(kinds, [least, most, (RunningOf::Window(1), Side::AtMost)]);
        day.wait(5_000);
        day.stop(&trial, "lift").unwrap();
        day.rest(&trial, Done);
        // Marking the first scoop again later moves no window.
        day.wait(60_000);
        day.mark(&trial, "first-scoop", Done).unwrap();
        let outcome = day.end(&trial);
        assert_eq!(outcome.verdict, verdict, "{took} ms: {:?}", outcome.reasons);
        if verdict == Verdict::Failed {
            assert_eq!(day.missed(&trial), ["limit:whole-test"]);
            assert_eq!(outcome.missed[0].because.as_deref(), Some("it took 2 min 30.1 s; at most 2 min 30 s"));
            assert_eq!(day.overrule(&trial, "limit:whole-test", Told, "x"), Err(Refused::TimeIsKeptOrNot));
            let applied = day.overrule(&trial, "limit:whole-test", Done, "my key came late").unwrap();
            assert_eq!(applied.outcome.unwrap().verdict, Verdict::Passed);
        }
    }
}

#[test]
fn a_window_is_not_judged_when_one_of_its_acts_was_not_done_at_a_known_moment() {
    let mut day = Day::new(state("", &[("slump", "told = [\"first-scoop\"]\npass = \"50 %\"")], 1));
    let trial = day.begin("01", "slump");
    day.mark(&trial, "sample-ready", Done).unwrap();
    day.mark(&trial, "first-scoop", Told).unwrap();
    day.wait(3_600_000);
    day.mark(&trial, "lift", Done).unwrap();
    let view = day.state.trial(&trial).unwrap();
    assert!(view.windows().all(|window| window.state == WindowState::Unknown && window.mark.is_none()));
}

#[test]
fn a_trial_over_its_time_fails_and_can_be_overruled() {
    for (took, verdict) in [(600_000, Verdict::Passed), (600_001, Verdict::Failed)] {
        let mut day = Day::new(state("time_limit = \"10 min\"", &[("slump", "")], 1));
        let trial = day.begin("01", "slump");
        day.rest(&trial, Done);
        assert_eq!(day.state.next_wake(Tick(0)), Some(Tick(600_000)));
        day.wait(took);
        let outcome = day.end(&trial);
        assert_eq!(outcome.verdict, verdict, "{took}");
        if verdict == Verdict::Failed {
            assert_eq!(outcome.reasons, ["0.1 s over the time limit of 10 min"]);
            let applied = day.overrule(&trial, "time", Done, "the meter was passed on late").unwrap();
            assert_eq!(applied.outcome.unwrap().verdict, Verdict::Passed);
        } else {
            let applied = day.overrule(&trial, "time", Missed, "the watch stood still").unwrap();
            assert_eq!(applied.outcome.unwrap().verdict, Verdict::Failed);
        }
    }
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    assert_eq!(day.overrule(&trial, "time", Done, "x"), Err(Refused::NoTimeLimit));
}

#[test]
fn a_second_trial_follows_a_failed_one_and_a_re_examination_the_last() {
    let mut day = Day::new(state("", &[("slump", "")], 2));
    assert_eq!(day.state.standing(0, 0), Standing::Due { number: 1 });
    let first = day.begin("01", "slump");
    assert_eq!(day.state.may_begin(0), Vec::<usize>::new());
    assert!(matches!(day.try_begin("01", "slump", 2), Err(Refused::CandidateBusy { station: 1, .. })));
    assert!(matches!(day.try_begin("02", "slump", 1), Err(Refused::StationTaken { station: 1, .. })));
    day.mark(&first, "base", Missed).unwrap();
    day.rest(&first, Done);
    assert_eq!(day.end(&first).verdict, Verdict::Failed);
    assert_eq!(day.state.standing(0, 0).words(), "second trial due");
    let second = day.begin("01", "slump");
    assert_eq!(second.0, "01/slump/2");
    assert_eq!(day.undo(&first), Err(Refused::LaterTrial { later: 2 }));
    day.finish(&second, How::Stopped { reason: "gave up".to_owned() });
    assert_eq!(day.state.standing(0, 0), Standing::ReExamination { trials: 2 });
    let no = day.try_begin("01", "slump", 1).unwrap_err();
    assert_eq!(
        no.to_string(),
        "01 Candidate No 1 has had both trials of Slump of fresh concrete: a re-examination is due."
    );
    assert_eq!(practice_seed(&day.state, 0), [("slump".to_owned(), "base".to_owned())]);
    // A mark of the first trial that was wrong still turns it.
    day.overrule(&first, "base", Done, "it lay level: seen on the picture").unwrap();
    assert_eq!(day.state.standing(0, 0), Standing::Passed { trial: first, number: 1 });
    assert!(matches!(day.try_begin("01", "slump", 1), Err(Refused::AlreadyPassed { number: 1, .. })));
}

#[test]
fn an_open_result_is_settled_before_the_next_trial() {
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    day.mark(&trial, "base", NotSeen).unwrap();
    day.rest(&trial, Done);
    assert_eq!(day.end(&trial).verdict, Verdict::Open);
    let no = day.try_begin("01", "slump", 1).unwrap_err();
    assert!(matches!(&no, Refused::TrialOpen { number: 1, what, .. } if what == "1 act was seen by nobody"), "{no}");
    day.overrule(&trial, "base", Missed, "the second rater saw it").unwrap();
    assert_eq!(day.state.standing(0, 0), Standing::Due { number: 2 });
}

#[test]
fn a_trial_broken_off_counts_unless_nobody_is_to_blame() {
    let mut day = Day::new(state("trials_at_most = 1", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    let reason = "the base was knocked over by a passer-by".to_owned();
    assert_eq!(day.finish(&trial, How::Void { reason }).verdict, Verdict::Void);
    assert_eq!(day.state.standing(0, 0), Standing::Due { number: 1 });
    let again = day.begin("01", "slump");
    assert_eq!(again.0, "01/slump/1~2", "a name is given once");
    // The broken-off trial cannot be brought back beside the new one.
    assert!(matches!(day.undo(&trial), Err(Refused::LaterTrial { .. })));
    let outcome = day.finish(&again, How::Stopped { reason: "unsafe".to_owned() });
    assert_eq!((outcome.verdict, outcome.reasons[0].as_str()), (Verdict::Failed, "broken off: unsafe"));
    assert_eq!(day.state.standing(0, 0), Standing::ReExamination { trials: 1 });
}

#[test]
fn after_the_end_only_an_overrule_with_a_reason_changes_a_mark() {
    let mut day = Day::new(state("", &[("slump", "")], 1));
    let trial = day.begin("01", "slump");
    day.rest(&trial, Done);
    day.end(&trial);
    assert_eq!(day.mark(&trial, "base", Missed), Err(Refused::TrialEnded));
    assert_eq!(day.start(&trial, "lift"), Err(Refused::TrialEnded));
    day.overrule(&trial, "base", Missed, "seen afterwards").unwrap();
    assert_eq!(day.missed(&trial), ["base"]);
    day.undo(&trial).unwrap();
    assert_eq!(day.missed(&trial), Vec::<String>::new());
    day.undo(&trial).unwrap();
    day.mark(&trial, "base", Missed).unwrap();
}

#[test]
fn a_second_rater_has_a_sheet_of_their_own_and_the_first_decides() {
    let mut day = Day::new(state("", &[("slump", ""), ("temperature", "")], 2));
    let first = day.begin("01", "slump");
    assert!(matches!(day.second(&first, "S. Vantongeren"), Err(Refused::SameRater { .. })));
    let second = day.second(&first, "L. Achterberg").unwrap();
    assert_eq!(second.0, "01/slump/1/b");
    assert!(matches!(day.second(&second, "X"), Err(Refused::NotTheFirstSheet)));
    assert_eq!(day.state.at_station(1).count(), 2);
    assert_eq!(day.undo(&first), Err(Refused::ScoredTwice { rater: "L. Achterberg".to_owned() }));
    day.mark(&second, "base", Missed).unwrap();
    day.rest(&second, Done);
    assert_eq!(day.state.trial(&first).unwrap().progress().0, 0, "a mark stays on its sheet");
    day.rest(&first, Done);
    assert_eq!(day.end(&first).verdict, Verdict::Passed);
    assert_eq!(day.end(&second).verdict, Verdict::Failed);
    assert!(matches!(day.state.standing(0, 0), Standing::Passed { number: 1, .. }));
    assert_eq!(day.state.trials_of(0, 0).count(), 1);
}

#[test]
fn what_is_asked_of_some_only_counts_when_it_is_marked_or_the_exam_asks_it() {
    let lines = "ask_always = [\"portion-1\"]\ncritical = [\"portion-2\"]\npass = \"50 %\"";
    let day = Day::new(state("", &[("sampling", lines)], 1));
    let sheet = &day.state.sheets()[0];
    let conditional = |key: &str| sheet.items[sheet.item(key).unwrap()].conditional;
    assert!(conditional("portion-3") && !conditional("portion-1") && !conditional("portion-2"));
    assert!(sheet.item("ticket").is_none(), "a number written down is no act to mark");
    let mut day = Day::new(state("", &[("sampling", "")], 1));
    let trial = day.begin("01", "sampling");
    day.rest(&trial, Done);
    let asked = day.state.trial(&trial).unwrap().progress().1;
    day.mark(&trial, "wet-sieve", Missed).unwrap();
    assert_eq!(day.state.trial(&trial).unwrap().progress().1, asked + 1);
    assert_eq!(day.end(&trial).verdict, Verdict::Failed);
}

#[test]
fn a_beginning_by_mistake_is_taken_back_whole() {
    let mut day = Day::new(state("", &[("slump", "")], 2));
    let wrong = day.begin("01", "slump");
    day.undo(&wrong).unwrap();
    assert!(matches!(day.mark(&wrong, "base", Done), Err(Refused::NoSuchTrial { .. })));
    assert_eq!(day.state.at_station(1).count(), 0);
    assert_eq!(day.begin("02", "slump").0, "02/slump/1");
    assert_eq!(day.state.standing(0, 0), Standing::Due { number: 1 });
}

#[test]
fn a_move_takes_the_trial_along_and_is_no_act_to_undo() {
    let mut day = Day::new(state("", &[("slump", "")], 2));
    let one = day.begin("01", "slump");
    day.mark(&one, "base", Done).unwrap();
    let two = day.try_begin("02", "slump", 2).unwrap();
    let to = |trial: &exam::TrialId, station| exam::Event::Moved { trial: trial.clone(), station };
    assert!(matches!(day.take(to(&one, 2)), Err(Refused::StationTaken { .. })));
    assert!(matches!(day.take(to(&one, 13)), Err(Refused::NoSuchStation { station: 13, stations: 12 })));
    day.take(to(&one, 3)).unwrap();
    assert!(day.state.at_station(3).map(|view| &view.trial.id).eq([&one]));
    day.undo(&one).unwrap();
    assert_eq!(day.state.trial(&one).unwrap().trial.station, 3);
    assert_eq!(day.state.trial(&one).unwrap().progress().0, 0);
    assert_eq!(day.state.trial(&two).unwrap().trial.station, 2);
}

#[test]
fn what_is_not_there_is_refused_in_words() {
    let mut day = Day::new(state("raters = [\"S. Vantongeren\"]", &[("slump", "")], 1));
    let began = |candidate: &str, method: &str, station, rater: &str| exam::Event::Began {
        trial: exam::TrialId("t".to_owned()),
        candidate: candidate.to_owned(),
        method: method.to_owned(),
        station,
        rater: rater.to_owned(),
        scores: None,
    };
    for (event, said) in [
        (
            began("99", "slump", 1, "S. Vantongeren"),
            "Nobody on the roster has the number 99. Pick the candidate from the list.",
        ),
        (began("01", "air", 1, "S. Vantongeren"), "air is no method of this exam."),
        (began("01", "slump", 0, "S. Vantongeren"), "There is no station 0: the exam has 12."),
        (began("01", "slump", 1, "Nobody"), "Nobody is not among the raters of this exam: S. Vantongeren."),
    ] {
        assert_eq!(day.take(event).unwrap_err().to_string(), said);
    }
    let trial = day.begin("01", "slump");
    let no = day.mark(&trial, "bsae", Done).unwrap_err();
    assert_eq!(no.to_string(), "The sheet of Slump of fresh concrete has no act bsae.");
    let note = exam::Event::Noted { trial: trial.clone(), item: None, text: " ".to_owned() };
    assert_eq!(day.take(note), Err(Refused::NoWords));
    day.wait(10);
    day.mark(&trial, "base", Done).unwrap();
    let event = exam::Event::Undone { trial };
    let back = day.state.clone().apply(event, at(3)).unwrap_err();
    assert_eq!(
        back.to_string(),
        "The clock ran back by 0.007 s. The exam's time never does: check the clock and try again."
    );
}

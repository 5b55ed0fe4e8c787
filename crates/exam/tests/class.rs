//! What a class shows: figures worked out by hand, undefined where they are, on first trials only.
#![allow(clippy::unwrap_used, reason = "tests say what they expect by panicking")]

mod common;

use common::{Day, state};
use exam::Mark::{Done, Missed, NotSeen};
use exam::class::{LEAST_FOR_VERDICTS, Statistics, WhyNot, words_for_d};
use exam::{How, Names, Standing};
use quantity::Span;
use statistics::Undefined;

/// A sheet of four acts.
const FOUR: &str = "leave_out = [\"limit:start-of-test\", \"limit:whole-test\", \"cone-date\", \"cone-check\", \"apparatus\", \
    \"base\", \"pieces\", \"sample-ready\", \"dampen\", \"hold-down\", \"first-scoop\", \"layer-1\", \"strokes-1\", \"layer-2\", \
    \"strokes-2\", \"layer-3\", \"strokes-3\"]";

/// Five candidates with these marks at their first trial; true is done.
fn five(rows: &[[bool; 4]]) -> Day {
    let mut day = Day::new(state("", &[("slump", &format!("{FOUR}\npass = \"75 %\""))], rows.len()));
    for (n, row) in rows.iter().enumerate() {
        let trial = day.begin(&format!("{:02}", n + 1), "slump");
        let keys: Vec<String> = day.state.sheets()[0].items.iter().take(4).map(|item| item.key.clone()).collect();
        for (key, done) in keys.iter().zip(row) {
            day.mark(&trial, key, if *done { Done } else { Missed }).unwrap();
        }
        day.rest(&trial, Done);
        day.wait(60_000 * (n as u64 + 1));
        day.end(&trial);
    }
    day
}

#[test]
fn the_figures_of_a_small_class_are_those_worked_out_by_hand() {
    // Difficulties 5/5, 3/5, 2/5, 3/5; two more acts (measure, clean) are done by everybody.
    let day = five(&[
        [true, true, true, true],
        [true, true, false, true],
        [true, false, false, true],
        [true, false, false, false],
        [true, true, true, false],
    ]);
    let statistics = Statistics::of(&day.state);
    let method = &statistics.methods[0];
    assert_eq!((method.first_trials, method.complete, method.broken_off), (5, 5, 0));
    let shown: Vec<String> = method.items.iter().map(|item| format!("{:.1}", item.difficulty.unwrap().value)).collect();
    assert_eq!(shown, ["1.0", "0.6", "0.4", "0.6", "1.0", "1.0"]);
    assert_eq!(method.items[1].n, 5);
    assert!(method.items[1].difficulty.unwrap().interval.is_ok(), "a share has its interval");
    assert_eq!(method.items[0].discrimination, Err(WhyNot::Undefined(Undefined::NoVariance)), "everybody did it");
    // KR-20 of six items: 6/5 · (1 − (0.24 + 0.24 + 0.24) / 1.04), by hand: totals 6, 5, 4, 3, 5.
    let kr20 = method.reliability.unwrap();
    assert_eq!(format!("{:.4} {}", kr20.value, kr20.n), "0.3692 5");
    // Act 3 (done by 1 and 5) with the rest (5, 5, 4, 3, 4): r = 0.6 / √(1.2 · 2.8) by hand.
    assert_eq!(format!("{:.4}", method.items[2].discrimination.unwrap().value), "0.3273");
    let passed = method.passed_first.unwrap();
    assert_eq!((format!("{:.1}", passed.value), passed.n), ("0.6".to_owned(), 5), "5, 5 and 6 of 6 are 75 % or more");
    assert_eq!(method.times.median, Some(Span::from_secs(180)));
    assert_eq!(method.times.range, Some((Span::from_secs(60), Span::from_secs(300))));
    let most: Vec<(usize, usize, usize)> =
        statistics.most_missed.iter().map(|act| (act.item, act.missed, act.n)).collect();
    assert_eq!(most, [(2, 3, 5), (1, 2, 5), (3, 2, 5)]);
    assert_eq!(statistics.agreement.kappa, Err(Undefined::NoPairs));
}

#[test]
fn a_class_under_twenty_gets_no_verdict() {
    let day = five(&[[true, true, true, true], [false, false, true, false], [true, false, false, true]]);
    let statistics = Statistics::of(&day.state);
    let method = &statistics.methods[0];
    assert!(!method.may_judge());
    let d = method.items[1].d.unwrap();
    assert_eq!(words_for_d(&d, LEAST_FOR_VERDICTS - 1), None);
    assert!(words_for_d(&d, LEAST_FOR_VERDICTS).is_some());
}

#[test]
fn figures_come_from_first_trials_and_from_those_that_were_finished() {
    let mut day = five(&[[true, true, false, true], [false, false, true, false], [true, false, false, true]]);
    let before = Statistics::of(&day.state);
    let again = day.begin("02", "slump");
    day.rest(&again, Done);
    day.end(&again);
    let after = Statistics::of(&day.state);
    assert_eq!(after.methods, before.methods, "a second trial changes no figure of an act");
    assert!(matches!(after.matrix[1][0].standing, Standing::Passed { number: 2, .. }));
    assert_eq!(after.matrix[1][0].trials, 2);

    let mut day = Day::new(state("", &[("slump", FOUR)], 2));
    let off = day.begin("01", "slump");
    day.finish(&off, How::Stopped { reason: "gave up".to_owned() });
    let open = day.begin("02", "slump");
    let keys: Vec<String> = day.state.sheets()[0].items.iter().map(|item| item.key.clone()).collect();
    day.mark(&open, &keys[0], NotSeen).unwrap();
    day.rest(&open, Done);
    day.end(&open);
    let figures = &Statistics::of(&day.state).methods[0];
    assert_eq!((figures.first_trials, figures.broken_off, figures.complete), (1, 1, 0));
    assert_eq!((figures.items[0].n, figures.items[0].not_seen), (0, 1));
    assert_eq!(figures.items[0].difficulty, Err(Undefined::NoRatings));
    assert_eq!(figures.reliability, Err(Undefined::NoRatings), "no row is complete");
    assert_eq!(figures.passed_first.unwrap().n, 1, "broken off is decided, not seen is not");
}

#[test]
fn nobody_yet_is_said_and_nothing_is_made_up() {
    let day = Day::new(state("", &[("slump", ""), ("sampling", "")], 3));
    let statistics = Statistics::of(&day.state);
    assert!(statistics.matrix.iter().flatten().all(|cell| cell.standing == Standing::Due { number: 1 }));
    for method in &statistics.methods {
        assert_eq!(method.reliability, Err(Undefined::NoRatings));
        assert_eq!((method.times.median, method.times.range), (None, None));
        assert!(method.items.iter().all(|item| item.difficulty == Err(Undefined::NoRatings)));
    }
    let sampling = &statistics.methods[1];
    let portion = day.state.sheets()[1].item("portion-2").unwrap();
    assert_eq!(sampling.items[portion].discrimination, Err(WhyNot::AskedOfSome));
    assert!(statistics.most_missed.is_empty());
}

#[test]
fn two_raters_are_compared_act_by_act() {
    let mut day = Day::new(state("", &[("slump", FOUR)], 1));
    let first = day.begin("01", "slump");
    let second = day.second(&first, "L. Achterberg").unwrap();
    let keys: Vec<String> = day.state.sheets()[0].items.iter().map(|item| item.key.clone()).collect();
    // Six acts: both done 2, both missed 1, first done and second missed 1, one not seen by the second, one by both.
    let marks = [(Done, Done), (Done, Done), (Missed, Missed), (Done, Missed), (Done, NotSeen), (NotSeen, NotSeen)];
    for (key, (a, b)) in keys.iter().zip(marks) {
        day.mark(&first, key, a).unwrap();
        day.mark(&second, key, b).unwrap();
    }
    day.end(&first);
    assert_eq!(Statistics::of(&day.state).agreement.trials, [], "the second sheet is still being filled in");
    day.end(&second);
    // An overrule afterwards is no agreement.
    day.overrule(&first, &keys[3], Missed, "talked over").unwrap();
    let agreement = Statistics::of(&day.state).agreement;
    let two = &agreement.trials[0];
    assert_eq!((two.n, two.one_sided, two.differ.as_slice()), (4, 1, &[(3, Done, Missed)][..]));
    assert_eq!(format!("{:.2}", two.alike.unwrap().value), "0.75");
    // po = 3/4, pe = (3·2 + 1·2)/16 = 1/2: kappa 0.5 by hand.
    assert_eq!(format!("{:.4}", two.kappa.unwrap().value), "0.5000");
    assert_eq!(agreement.kappa.unwrap().n, 4);
}

#[test]
fn raters_who_both_mark_everything_done_have_no_kappa() {
    let mut day = Day::new(state("", &[("slump", FOUR)], 1));
    let first = day.begin("01", "slump");
    let second = day.second(&first, "L. Achterberg").unwrap();
    for trial in [&first, &second] {
        day.rest(trial, Done);
        day.end(trial);
    }
    let two = Statistics::of(&day.state).agreement.trials[0].clone();
    assert_eq!((two.n, two.kappa), (6, Err(Undefined::OneCategory)));
    assert_eq!(format!("{:.2}", two.alike.unwrap().value), "1.00");
}

#[test]
fn the_order_of_the_roster_changes_no_figure() {
    let rows = [
        [true, true, true, true],
        [true, true, false, true],
        [false, false, false, true],
        [true, false, false, false],
        [false, true, true, false],
        [true, false, true, true],
    ];
    let mut turned = rows;
    turned.reverse();
    let (a, b) = (Statistics::of(&five(&rows).state), Statistics::of(&five(&turned).state));
    assert_eq!(a.methods[0].reliability, b.methods[0].reliability);
    assert_eq!(a.most_missed, b.most_missed);
    for (a, b) in a.methods[0].items.iter().zip(&b.methods[0].items) {
        assert_eq!((a.difficulty, a.missed, a.d), (b.difficulty, b.missed, b.d));
    }
}

#[test]
fn with_names_left_out_nobody_is_named() {
    let mut day = Day::new(state("", &[("slump", FOUR)], 7));
    let first = day.begin("07", "slump");
    day.second(&first, "L. Achterberg").unwrap();
    let candidate = &day.state.roster().candidates[6];
    assert_eq!(Names::Shown.of(candidate), "07 Candidate No 7");
    assert_eq!(Names::LeftOut.of(candidate), "Candidate 07");
    assert_eq!(Names::LeftOut.of_rater(&day.state, "L. Achterberg"), "Rater 2");
    assert_eq!(Names::LeftOut.words("Tom was nervous"), "(words left out with the names)");
}

//! The memory model against the published algorithm.
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]
#![allow(clippy::float_arithmetic, reason = "a memory model is real numbers")]

use practice::schedule::{Memory, Rating, Schedule};

/// Made by `reference/make_fsrs.py`; the package and its version stand in the first line.
const REFERENCE: &str = include_str!("../reference/fsrs-6.3.2.txt");

fn rating(grade: char) -> Rating {
    match grade {
        '1' => Rating::Again,
        '2' => Rating::Hard,
        '3' => Rating::Good,
        '4' => Rating::Easy,
        other => panic!("{other} is no rating"),
    }
}

fn after(schedule: &Schedule, ratings: &str, days: &[i64]) -> Memory {
    assert_eq!(ratings.len(), days.len());
    let mut tries = ratings.chars().zip(days);
    let first = schedule.first(rating(tries.next().expect("a first try").0));
    tries.fold(first, |memory, (grade, days)| schedule.next(&memory, rating(grade), *days))
}

#[test]
fn three_thousand_random_histories_come_out_as_the_reference_package_has_them() {
    let mut schedule = Schedule { longest_days: 36_500, ..Schedule::default() };
    let mut n = 0;
    let mut worst = 0.0_f64;
    let mut long = 0;
    for line in REFERENCE.lines().filter(|line| !line.starts_with('#')) {
        let fields: Vec<&str> = line.split(" | ").collect();
        let [ratings, days, stability, difficulty, interval, later, recall] = fields.as_slice() else {
            panic!("seven fields: {line}")
        };
        let days: Vec<i64> = days.split(',').map(|days| days.parse().expect("days")).collect();
        let memory = after(&schedule, ratings, &days);
        let real = |text: &str| text.parse::<f64>().expect("a number");
        for (own, reference) in [
            (memory.stability, real(stability)),
            (memory.difficulty, real(difficulty)),
            (schedule.recall(&memory, later.parse().expect("days")), real(recall)),
        ] {
            let off = (own - reference).abs() / reference.abs().max(1.0);
            worst = worst.max(off);
            assert!(off < 1e-9, "{line}: {own} instead of {reference}");
        }
        let interval: i64 = interval.parse().expect("days");
        assert_eq!(schedule.interval_days(&memory), interval, "{line}");
        long += usize::from(interval > 365);
        n += 1;
    }
    println!("{n} histories, worst difference {worst:e}, {long} with intervals over a year");
    assert_eq!(n, 3000);
    assert!(long > 50, "long intervals are among them");
    schedule.longest_days = 365;
    let memory = Memory { stability: 5000.0, difficulty: 1.0 };
    assert_eq!(schedule.interval_days(&memory), 365, "here nothing is put off for more than a year");
}

#[test]
fn the_published_test_of_the_reference_package_comes_out_the_same() {
    // fsrs6-memory-state: py-fsrs 6.3.2, tests/test_basic.py.
    let memory = after(&Schedule::default(), "133333", &[0, 0, 1, 3, 8, 21]);
    assert!((memory.stability - 53.62691).abs() < 1e-4, "{memory:?}");
    assert!((memory.difficulty - 6.357_486_7).abs() < 1e-4, "{memory:?}");
}

#[test]
fn the_forgetting_curve_is_the_published_one() {
    // fsrs6-forgetting-curve, derived from the published formula.
    let schedule = Schedule::default();
    let memory = Memory { stability: 10.0, difficulty: 5.0 };
    for (days, recall) in [(0, 1.0), (1, 0.9857), (5, 0.9403), (10, 0.9), (20, 0.8459), (100, 0.6928)] {
        assert!((schedule.recall(&memory, days) - recall).abs() < 5e-5, "after {days} days");
    }
    assert_eq!(schedule.recall_per_mille(&memory, 10), 900);
}

#[test]
fn no_history_however_bad_leaves_the_bounds() {
    let schedule = Schedule::default();
    for days in [0, 1, 30, 40_000] {
        for ratings in ["1", "111111111111111111111111", "444444444444444444444444", "141414141414141414141414"] {
            let memory = after(&schedule, ratings, &vec![days; ratings.len()]);
            assert!(memory.stability >= 0.001 && memory.stability.is_finite(), "{ratings} {days}: {memory:?}");
            assert!((1.0..=10.0).contains(&memory.difficulty), "{ratings} {days}: {memory:?}");
            assert!((1..=365).contains(&schedule.interval_days(&memory)), "{ratings} {days}: {memory:?}");
        }
    }
}

//! Days beside the truck, small enough to work out by hand.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod common;

use plan::{
    Done, Effort, Fault, Link, Mend, Now, Plan, Point, Problem, Proof, Segment, Test, TestId, Time, UnderWay, Window,
    WindowOf, explain, replan, solve, solve_granting,
};

fn minutes(n: Time) -> Time {
    n * 60
}

/// Begun within `most` of the last portion.
fn begin_within(day: &mut Problem, name: &str, parts: Vec<Segment>, most: Time) -> TestId {
    let test = day.add(Test::new(name, parts));
    day.window(Window::new(format!("start of {name}"), Point::Fixed(0), Point::Start(test.segment(0))).at_most(most));
    test
}

fn best(day: &Problem) -> Plan {
    let plan = solve(day, Effort::default()).unwrap();
    common::checked(day, &plan).unwrap();
    assert_eq!(plan.proof, Proof::Optimal);
    plan
}

fn order(day: &Problem, plan: &Plan) -> Vec<String> {
    plan.work.iter().map(|work| day.segment(work.at).unwrap().name.clone()).collect()
}

#[test]
fn the_probe_soaks_while_the_slump_is_done() {
    let mut day = Problem::new(1);
    begin_within(&mut day, "slump", vec![Segment::new("cone", 130)], minutes(5));
    let parts = vec![Segment::new("probe in", 20).then_wait(120, Some(300)), Segment::new("read", 10)];
    begin_within(&mut day, "temperature", parts, minutes(5));
    let plan = best(&day);
    assert_eq!(order(&day, &plan), ["probe in", "cone", "read"]);
    assert_eq!((plan.lateness, plan.ends), (0, 160));
    // Slack of each: slump begun at 20 of 300, probe at 0 of 300, soaked 130 of 300.
    assert_eq!(plan.windows.iter().map(|hold| hold.slack).collect::<Vec<_>>(), [280, 300, 170]);
    assert!(plan.free(0).is_empty());
}

#[test]
fn the_hands_are_free_when_only_the_probe_is_left() {
    let mut day = Problem::new(1);
    let parts = vec![Segment::new("probe in", 20).then_wait(120, None), Segment::new("read", 10)];
    begin_within(&mut day, "temperature", parts, minutes(5));
    assert_eq!(best(&day).free(0), [(20, 140)]);
}

#[test]
fn who_takes_the_long_test_first_is_late_and_the_plan_does_not() {
    let mut day = Problem::new(1);
    begin_within(&mut day, "air", vec![Segment::new("air", 400)], minutes(5));
    begin_within(&mut day, "slump", vec![Segment::new("slump", 140)], minutes(5));
    let plan = best(&day);
    assert_eq!(order(&day, &plan), ["slump", "air"]);
    assert_eq!(plan.lateness, 0);
}

#[test]
fn the_density_waits_for_the_slump_it_needs() {
    let mut day = Problem::new(1);
    let density = begin_within(&mut day, "density", vec![Segment::new("density", 200)], minutes(5));
    let slump = begin_within(&mut day, "slump", vec![Segment::new("slump", 140)], minutes(15));
    let from = Point::End(slump.segment(0));
    day.window(Window::new("density after slump", from, Point::Start(density.segment(0))).at_least(0));
    assert_eq!(order(&day, &best(&day)), ["slump", "density"]);
}

/// Three tests of 200 s, each to be begun within 5 min: the third cannot be begun before 400 s.
fn too_much() -> Problem {
    let mut day = Problem::new(1);
    for name in ["slump", "air", "density"] {
        begin_within(&mut day, name, vec![Segment::new(name, 200)], minutes(5));
    }
    day
}

#[test]
fn a_day_too_full_says_which_window_breaks_by_how_much_and_what_mends_it() {
    let day = too_much();
    let mut quick = day.clone();
    quick.tests.iter_mut().for_each(|test| test.segments[0].lasts = 150);
    let told = explain(&day, Some(&quick), Effort::default()).unwrap();
    assert_eq!(told.plan.lateness, 100);
    let broken: Vec<(WindowOf, Time, Time)> = told.broken.iter().map(|it| (it.of, it.by, it.alone)).collect();
    assert_eq!(broken, [(WindowOf::Stated(2), 100, 0)]);
    let trials: Vec<(Mend, Time)> = told.trials.iter().map(|trial| (trial.mend, trial.lateness)).collect();
    let leave_out = |test: usize| (Mend::LeaveOut(TestId(test)), 0);
    assert_eq!(
        trials,
        [(Mend::MoreHands, 0), leave_out(0), leave_out(1), leave_out(2), (Mend::TypicalPace, 0)],
        "any one left out, a second pair of hands, or 150 s for each (300 s for the third) mends it"
    );
    assert_eq!(told.mends().count(), 5);
}

#[test]
fn a_test_too_slow_for_its_own_window_is_late_however_many_hands_and_does_not_excuse_the_others() {
    let mut day = Problem::new(1);
    let slump = begin_within(&mut day, "slump", vec![Segment::new("fill", 150), Segment::new("lift", 20)], minutes(5));
    let whole = Window::new("whole slump", Point::Start(slump.segment(0)), Point::End(slump.segment(1)));
    day.window(whole.at_most(150));
    begin_within(&mut day, "air", vec![Segment::new("air", 100)], 155);
    // Without a grant, 20 s late is the best there is, and then the air test may be late as well.
    assert_eq!(solve(&day, Effort::default()).unwrap().lateness, 20);
    let plan = solve_granting(&day, Effort::default()).unwrap();
    assert_eq!((plan.lateness, plan.worst()), (0, 20));
    let told = explain(&day, None, Effort::default()).unwrap();
    assert_eq!(
        told.broken.iter().map(|it| (it.of, it.by, it.alone)).collect::<Vec<_>>(),
        [(WindowOf::Stated(1), 20, 20)]
    );
    let mends: Vec<Mend> = told.mends().map(|trial| trial.mend).collect();
    assert_eq!(mends, [Mend::LeaveOut(slump)], "more hands do not lift the cone sooner");
}

#[test]
fn one_window_that_is_lost_to_the_others_does_not_excuse_them() {
    // Three long tests, each to be begun within 5 min, and a short one within 6. The probe before the third makes that
    // one begin at 480 s, 180 s late; the probe after it would be 330 s late. Nothing else need be late, although
    // 180 s would be allowed to all.
    let mut day = too_much();
    day.tests.iter_mut().for_each(|test| test.segments[0].lasts = 230);
    begin_within(&mut day, "probe", vec![Segment::new("probe", 20)], minutes(6));
    assert_eq!(best(&day).lateness, 180);
    let plan = solve_granting(&day, Effort::default()).unwrap();
    assert_eq!((plan.lateness, plan.proof), (180, Proof::Optimal));
    let late: Vec<(WindowOf, Time)> = plan.late().into_iter().map(|hold| (hold.of, -hold.slack)).collect();
    assert_eq!(late.iter().map(|(_, by)| *by).collect::<Vec<_>>(), [180], "{late:?}");
}

#[test]
fn statements_of_one_test_that_contradict_each_other_are_named() {
    let mut day = Problem::new(1);
    let test = day.add(Test::new(
        "air",
        vec![
            Segment::new("roll", 60).then_wait(120, None),
            Segment::new("read", 10).then_wait(120, None),
            Segment::new("read again", 10),
        ],
    ));
    day.window(Window::new("both readings", Point::End(test.segment(0)), Point::Start(test.segment(2))).at_most(200));
    let fault = solve(&day, Effort::default()).unwrap_err();
    let Fault::Contradiction { cycle, names, over } = &fault else { panic!("{fault}") };
    assert_eq!(*over, 40); // two waits of 120 s in 200 s
    assert_eq!(cycle.len(), 3);
    assert!(cycle.contains(&Link::Window(0)) && cycle.contains(&Link::Wait(test.segment(1))));
    assert!(names.contains(&"both readings".to_owned()), "{fault}");
}

#[test]
fn an_order_that_bites_its_own_tail_is_named() {
    let mut day = Problem::new(1);
    let one = day.add(Test::new("one", vec![Segment::new("one", 10)])).segment(0);
    let two = day.add(Test::new("two", vec![Segment::new("two", 10)])).segment(0);
    day.window(Window::new("two after one", Point::End(one), Point::Start(two)).at_least(0));
    day.window(Window::new("one after two", Point::End(two), Point::Start(one)).at_least(0));
    let fault = solve(&day, Effort::default()).unwrap_err();
    assert!(matches!(&fault, Fault::Contradiction { names, .. } if names.len() == 2), "{fault}");
}

#[test]
fn faults_of_a_problem() {
    let with = |test: Test| {
        let mut day = Problem::new(1);
        day.add(test);
        day
    };
    let good = with(Test::new("slump", vec![Segment::new("cone", 10)]));
    let elsewhere = Window::new("lost", Point::Fixed(0), Point::Start(TestId(3).segment(0))).at_most(1);
    let backwards = Window::new("short", Point::Fixed(0), Point::Start(TestId(0).segment(0))).at_least(9).at_most(8);
    let late = Window::new("before it can be", Point::Start(TestId(0).segment(0)), Point::Fixed(-5)).at_least(0);
    let windowed = |window: Window| Problem { windows: vec![window], ..good.clone() };
    let cases = [
        (Problem { hands: 0, ..good.clone() }, "there is no pair of hands"),
        (with(Test::new("nothing", Vec::new())), "the test nothing has no work"),
        (with(Test::new("slump", vec![Segment::new("cone", -1)])), "slump, cone has a time below zero"),
        (with(Test::new("slump", vec![Segment::new("cone", 1).then_wait(5, Some(4))])), "longest time shorter"),
        (with(Test::new("slump", vec![Segment::new("cone", 1 << 30)])), "too much"),
        (with(Test::new("slump", vec![Segment::new("cone", 1); 121])), "too much"),
        (windowed(elsewhere), "lost speaks of a segment that is not there"),
        (windowed(backwards), "short has a time below zero"),
        (windowed(late), "these cannot all be kept"),
    ];
    for (day, says) in cases {
        let fault = solve(&day, Effort::default()).unwrap_err();
        assert!(fault.to_string().contains(says), "{fault}: should say {says}");
    }
}

#[test]
fn a_fixed_last_moment_that_leaves_no_order_is_told() {
    let mut day = Problem::new(1);
    for name in ["one", "two"] {
        let test = day.add(Test::new(name, vec![Segment::new(name, 10)]));
        day.window(Window::new("by then", Point::Start(test.segment(0)), Point::Fixed(5)).at_least(0));
    }
    assert_eq!(solve(&day, Effort::default()), Err(Fault::NoOrder));
    assert!(solve(&Problem { hands: 2, ..day }, Effort::default()).is_ok());
}

#[test]
fn a_day_without_tests_is_over_at_once() {
    let plan = solve(&Problem::new(1), Effort::default()).unwrap();
    assert_eq!((plan.work.len(), plan.lateness, plan.ends), (0, 0, 0));
}

#[test]
fn planning_again_keeps_what_happened_and_counts_only_what_is_to_come() {
    let mut day = too_much();
    let soak = vec![Segment::new("probe in", 20).then_wait(120, Some(300)), Segment::new("read", 10)];
    let warmth = begin_within(&mut day, "temperature", soak, minutes(5));
    // At 250 s: the slump was begun at 30 and done at 190, the probe is in since 210, the air test is under way.
    let now = Now {
        at: 250,
        done: vec![
            Done { segment: TestId(0).segment(0), start: 30, end: 190 },
            Done { segment: warmth.segment(0), start: 195, end: 210 },
        ],
        under_way: vec![UnderWay { segment: TestId(1).segment(0), since: 215 }],
    };
    let plan = replan(&day, &now, Effort::default()).unwrap();
    assert_eq!(plan.proof, Proof::Optimal);
    let start = |test: TestId, index: usize| plan.at(test.segment(index)).map(|work| (work.start, work.end)).unwrap();
    assert_eq!(start(TestId(0), 0), (30, 190));
    assert_eq!(start(TestId(1), 0), (215, 415), "under way: its length from its beginning");
    assert_eq!(start(TestId(2), 0), (415, 615), "the density must be late, so it goes first");
    assert_eq!(start(warmth, 1), (615, 625), "then the probe is late by 105: not less, once the density goes first");
}

#[test]
fn a_segment_that_lasts_longer_than_it_should_lasts_until_now_at_least() {
    let day = too_much();
    let under_way = vec![UnderWay { segment: TestId(0).segment(0), since: 0 }];
    let plan = replan(&day, &Now { at: 260, under_way, ..Now::default() }, Effort::default()).unwrap();
    assert_eq!(plan.at(TestId(0).segment(0)).unwrap().end, 260);
    assert_eq!(plan.at(TestId(1).segment(0)).unwrap().start, 260);
    assert_eq!(plan.lateness, 160, "the third is begun at 460 of 300");
}

#[test]
fn two_pairs_of_hands_that_are_free_at_the_same_moment_both_go_on() {
    let mut day = Problem::new(2);
    for name in ["slump", "air", "density", "temperature"] {
        day.add(Test::new(name, vec![Segment::new(name, 100)]));
    }
    let under_way = vec![
        UnderWay { segment: TestId(0).segment(0), since: 0 },
        UnderWay { segment: TestId(1).segment(0), since: 0 },
    ];
    let plan = replan(&day, &Now { at: 50, under_way, ..Now::default() }, Effort::default()).unwrap();
    assert_eq!((plan.ends, plan.proof), (200, Proof::Optimal));
}

#[test]
fn a_window_may_end_within_a_segment() {
    let mut day = Problem::new(1);
    let slump = day.add(Test::new("slump", vec![Segment::new("slump", 200)])).segment(0);
    day.add(Test::new("air", vec![Segment::new("air", 50)]));
    // The cone is filled from 10 s on and lifted at 130 s: 120 s between. The air test must not come first.
    day.window(Window::new("whole slump", Point::Into(slump, 10), Point::Into(slump, 130)).at_most(150));
    day.window(Window::new("start of filling", Point::Fixed(0), Point::Into(slump, 10)).at_most(30));
    let plan = solve(&day, Effort::default()).unwrap();
    assert_eq!(order(&day, &plan), ["slump", "air"]);
    assert_eq!(plan.windows.iter().map(|hold| hold.slack).collect::<Vec<_>>(), [30, 20]);
    day.window(Window::new("beyond", Point::Fixed(0), Point::Into(slump, 201)).at_most(30));
    assert!(matches!(solve(&day, Effort::default()), Err(Fault::BadSpan { .. })));
}

#[test]
fn what_is_told_as_done_is_checked() {
    let day = too_much();
    let done = |segment, start, end| Now { at: 10, done: vec![Done { segment, start, end }], ..Now::default() };
    let ahead = vec![UnderWay { segment: TestId(0).segment(0), since: 20 }];
    for now in [
        done(TestId(9).segment(0), 0, 1),
        done(TestId(0).segment(0), 5, 4),
        done(TestId(0).segment(0), 0, 1 << 40),
        Now { at: 10, under_way: ahead, ..Now::default() },
    ] {
        assert!(replan(&day, &now, Effort::default()).is_err(), "{now:?}");
    }
}

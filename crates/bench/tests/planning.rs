//! Planning a sample: what procedures become, which order one person takes, what is said about it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

use std::sync::Arc;

use bench::planning::{
    BlockKind, Chosen, DayPlan, Durations, Measured, Pace, Planner, Seated, clock, explain, learn, timeline,
};
use engine::{Act, Entry, Event, Moment, Run, Tick};
use plan::{Mend, Proof, Time, WindowOf};
use procedure::{Edition, ReadingKind};
use quantity::{Decimal, Span, System, Ties};

const CONE: &str = include_str!("planning_data/cone.toml");
const PROBE: &str = include_str!("planning_data/probe.toml");
const NECK: &str = include_str!("planning_data/neck.toml");

fn edition(text: &str) -> Arc<Edition> {
    let checked = procedure::check("test.toml", text);
    let found = procedure::diagnose::render("test.toml", text, &checked.diagnostics, false);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("{found}"));
    Arc::new(procedure.edition(System::Si).unwrap().clone())
}

fn chosen(name: &str, text: &str, expected: &[(&str, &str)]) -> Chosen {
    let mut chosen = Chosen::new(name, edition(text));
    chosen.expected = expected.iter().map(|(name, typed)| ((*name).to_owned(), (*typed).to_owned())).collect();
    chosen
}

fn typical(chosen: Vec<Chosen>) -> Planner {
    Planner { pace: Pace::Typical, ..Planner::new(chosen) }
}

fn plan(planner: &Planner) -> DayPlan {
    let planned = planner.plan().unwrap();
    assert_eq!(planned.told.plan.proof, Proof::Optimal);
    planned
}

/// Every segment of a test with its length, and the waits between.
fn segments(planned: &DayPlan, test: usize) -> Vec<(Time, Time, Option<Time>)> {
    let segments = &planned.day.problem.tests[test].segments;
    segments.iter().map(|segment| (segment.lasts, segment.wait.at_least, segment.wait.at_most)).collect()
}

fn starts(planned: &DayPlan, test: usize) -> Vec<Time> {
    let work = planned.told.plan.work.iter().filter(|work| work.at.test.0 == test);
    work.map(|work| work.start).collect()
}

// ---------------------------------------------------------------------------- from procedures to segments

#[test]
fn what_comes_before_the_last_portion_is_preparation_and_the_rest_is_one_stretch_of_work() {
    let planned = plan(&typical(vec![chosen("cone", CONE, &[])]));
    let cone = &planned.day.tests[0];
    assert_eq!((cone.preparation, &cone.guessed_from), (61, &None));
    // 10 + 80 + (5 + the middle of 3 to 7 s) + 20 s.
    assert_eq!(segments(&planned, 0), [(120, 0, None)]);
    let slow = plan(&Planner::new(vec![chosen("cone", CONE, &[])]));
    assert_eq!((slow.day.tests[0].preparation, segments(&slow, 0)), (131, vec![(185, 0, None)]));
}

#[test]
fn limits_become_windows_that_end_when_their_step_is_done() {
    let planned = plan(&typical(vec![chosen("cone", CONE, &[])]));
    let windows: Vec<(String, Time, Time)> = planned
        .told
        .plan
        .windows
        .iter()
        .map(|hold| (planned.day.problem.name_of(hold.of), hold.reached - hold.opens, hold.slack))
        .collect();
    let expected = [("cone: Begun after the sample", 10, 290), ("cone: From the first scoop to the lift", 90, 60)];
    assert_eq!(windows, expected.map(|(name, took, slack)| (name.to_owned(), took, slack)));
}

#[test]
fn a_wait_without_hands_parts_the_work_and_the_answers_expected_decide_which_wait() {
    let small = plan(&typical(vec![chosen("probe", PROBE, &[("aggregate-size", "small")])]));
    assert_eq!(segments(&small, 0), [(22, 120, Some(300)), (8, 0, None)]);
    assert_eq!(small.told.plan.free(0), [(22, 142)]);
    let big = plan(&typical(vec![chosen("probe", PROBE, &[("size", "big")])]));
    assert_eq!(segments(&big, 0), [(22, 1200, None), (8, 0, None)]);
}

#[test]
fn layers_are_counted_and_settling_waits_without_hands_between_two_readings() {
    let planned = plan(&typical(vec![chosen("neck", NECK, &[("layers", "3")])]));
    // Scoop, three layers, the first reading; the second reading and cleaning.
    assert_eq!(segments(&planned, 0), [(2 + 3 * 30 + 10, 120, None), (10 + 40, 0, None)]);
    let of = |at| planned.day.problem.name_of(WindowOf::Stated(at));
    assert_eq!(of(0), "neck: standing still before it is given up");
    let four = plan(&typical(vec![chosen("neck", NECK, &[("layers", "4")])]));
    assert_eq!(segments(&four, 0)[0].0, 2 + 4 * 30 + 10);
}

#[test]
fn who_asks_for_the_slump_comes_after_the_slump() {
    let tests = vec![chosen("neck", NECK, &[("layers", "1")]), chosen("cone", CONE, &[])];
    let planned = plan(&typical(tests));
    assert_eq!(planned.order(), [1, 0]);
    assert!(planned.told.broken.is_empty());
}

#[test]
fn a_test_may_be_held_back() {
    let mut late = chosen("cone", CONE, &[]);
    late.ready = 120;
    let planned = plan(&typical(vec![late]));
    assert_eq!(starts(&planned, 0), [120]);
}

#[test]
fn the_cone_is_done_while_the_probe_soaks() {
    let planned = plan(&typical(vec![chosen("cone", CONE, &[]), chosen("probe", PROBE, &[])]));
    assert_eq!((starts(&planned, 0), starts(&planned, 1)), (vec![22], vec![0, 142]));
    let shown = timeline(&planned);
    let probe: Vec<(Time, Time, BlockKind)> =
        shown.rows[1].blocks.iter().map(|block| (block.from, block.to, block.kind)).collect();
    assert_eq!(probe, [(0, 22, BlockKind::Attended), (22, 142, BlockKind::Waiting), (142, 150, BlockKind::Attended)]);
    assert_eq!(shown.rows[0].closes, [(300, true), (182, true)]);
    assert_eq!((shown.from, shown.to), (0, 322));
}

// ---------------------------------------------------------------------------- words

#[test]
fn a_plan_in_words() {
    let planned = plan(&typical(vec![chosen("cone", CONE, &[]), chosen("probe", PROBE, &[])]));
    insta::assert_snapshot!(explain(&planned).join("\n"));
}

#[test]
fn a_day_too_full_in_words() {
    let tests = vec![
        chosen("cone", CONE, &[]),
        chosen("probe", PROBE, &[]),
        chosen("neck", NECK, &[("layers", "4")]),
        chosen("second neck", NECK, &[("layers", "4")]),
    ];
    let planned = plan(&Planner::new(tests));
    assert!(!planned.told.broken.is_empty());
    let mends: Vec<Mend> = planned.told.mends().map(|trial| trial.mend).collect();
    assert!(mends.contains(&Mend::TypicalPace), "{mends:?}");
    insta::assert_snapshot!(explain(&planned).join("\n"));
}

#[test]
fn another_method_in_place_of_one_may_mend_a_day() {
    let many = |name| chosen(name, NECK, &[("layers", "4")]);
    let planner = Planner::new(vec![chosen("cone", CONE, &[]), many("neck"), many("second neck")]);
    assert!(!plan(&planner).told.broken.is_empty());
    let other = planner.instead(2, chosen("probe", PROBE, &[("size", "small")]));
    assert!(plan(&other).told.broken.is_empty());
}

#[test]
fn moments_are_told_from_the_last_portion() {
    assert_eq!([clock(0), clock(150), clock(3_723), clock(-20)], ["+0:00", "+2:30", "+1:02:03", "-0:20"]);
}

// ---------------------------------------------------------------------------- lengths learned

fn at(ms: u64) -> Moment {
    Moment { tick: Tick(ms), ..Moment::default() }
}

/// Runs a procedure with `pace_ms` for every act and the given answers, until `until` is open or the run ends.
fn run(edition: &Arc<Edition>, pace_ms: u64, answers: &[(&str, &str)], until: &str) -> (Run, u64) {
    let mut run = Run::open(edition.clone(), Ties::Even, at(0));
    let mut now = 0;
    for _ in 0..200 {
        let offer = run.offer(Tick(now));
        let Some((step, spec)) = offer.step else { break };
        if spec.id == until || matches!(offer.act, Act::Close | Act::Nothing) {
            break;
        }
        let event = match offer.act {
            Act::Wait { until } => {
                now = until.0;
                run.press(Tick(now))
            }
            Act::Answer(reading) => {
                now += pace_ms;
                let spec = run.edition().reading(reading);
                let typed = answers.iter().find(|(name, _)| *name == spec.id).map_or("0", |(_, typed)| *typed);
                let entry = match &spec.kind {
                    ReadingKind::Choice(choices) => {
                        Entry::Choice(choices.iter().position(|choice| choice.id == typed).unwrap_or(0) as u16)
                    }
                    ReadingKind::Words => Entry::Words("T. Example".to_owned()),
                    ReadingKind::Number(_) | ReadingKind::Tally { .. } => {
                        Entry::Number(Decimal::from_str_exact(typed).unwrap())
                    }
                };
                Some(Event::Answer { step, reading, entry, seen: Tick(now), despite: None })
            }
            _ => {
                now += pace_ms;
                run.press(Tick(now))
            }
        };
        if let Some(event) = event {
            run.apply(event, at(now)).unwrap();
        }
    }
    (run, now)
}

#[test]
fn lengths_are_learned_from_three_runs_on_and_not_from_two() {
    let cone = edition(CONE);
    let runs: Vec<Run> = [4_000, 4_500, 6_000].map(|pace| run(&cone, pace, &[("drop", "75")], "").0).to_vec();
    let two: Vec<&Run> = runs.iter().take(2).collect();
    assert!(learn(&two).is_empty());
    let three: Vec<&Run> = runs.iter().collect();
    let durations = learn(&three);
    let measured = Measured { typical: Span(4_500), slow: Span(6_000), runs: 3 };
    assert_eq!(durations.of("cone", "fill"), Some(measured));
    // Of the lift, only what goes before it: the lift itself lasts as the method says.
    assert_eq!(durations.of("cone", "lift"), Some(measured));
    assert_eq!(durations.of("probe", "place"), None);
}

#[test]
fn the_wait_of_a_hold_is_not_learned() {
    let probe = edition(PROBE);
    let runs: Vec<Run> =
        [3_000; 4].map(|pace| run(&probe, pace, &[("size", "small"), ("shown", "21.0")], "").0).to_vec();
    let durations = learn(&runs.iter().collect::<Vec<_>>());
    assert_eq!(durations.of("probe", "wait"), Some(Measured { typical: Span(3_000), slow: Span(3_000), runs: 4 }));
}

#[test]
fn the_median_of_an_even_number_lies_between_and_nine_of_ten_are_no_slower_than_slow() {
    let cone = edition(CONE);
    let runs: Vec<Run> = (1..=10).map(|pace| run(&cone, pace * 1_000, &[("drop", "75")], "").0).collect();
    let measured = learn(&runs.iter().collect::<Vec<_>>()).of("cone", "fill").unwrap();
    assert_eq!((measured.typical, measured.slow, measured.runs), (Span(5_500), Span(9_000), 10));
}

#[test]
fn a_measured_length_comes_before_the_stated_one() {
    let mut durations = Durations::default();
    durations.set("cone", "fill", Measured { typical: Span(99_500), slow: Span(140_000), runs: 5 });
    let planned = plan(&Planner { durations, ..typical(vec![chosen("cone", CONE, &[])]) });
    assert_eq!(segments(&planned, 0), [(140, 0, None)], "10 + 100 + 5 + 5 + 20: a part of a second counts as one");
}

// ---------------------------------------------------------------------------- while the tests are done

#[test]
fn the_plan_is_made_again_with_what_is_done_and_what_is_under_way() {
    let planner = typical(vec![chosen("cone", CONE, &[]), chosen("probe", PROBE, &[])]);
    // The probe is in: its preparation took 3 acts of 10 s, the last portion came with the third.
    let (mut probe, now) = run(&planner.chosen[1].edition, 10_000, &[("size", "small")], "wait");
    assert_eq!(now, 50_000);
    probe.apply(probe.press(Tick(52_000)).unwrap(), at(52_000)).unwrap();
    let seats = [Seated { run: None, last_portion_ms: 30_000 }, Seated { run: Some(&probe), last_portion_ms: 30_000 }];
    // A minute later nobody has begun the cone.
    let planned = planner.replan(&seats, 82).unwrap();
    assert_eq!(starts(&planned, 1), [0, 202], "the wait was begun at 22 and the hands are at the cone until 202");
    assert_eq!(starts(&planned, 0), [82]);
    assert!(planned.told.broken.is_empty());
    assert_eq!(
        (planned.order_from(82), planned.order_from(202), planned.order_from(210)),
        (vec![0, 1], vec![1], vec![])
    );
    // The cone was not begun at 5 minutes either, and must be late by 30 s at least. The probe may stay in for 2 s more:
    // it is read first, because that costs the cone 8 s, and the cone first would cost the probe 2 minutes.
    let planned = planner.replan(&seats, 320).unwrap();
    assert_eq!((starts(&planned, 0), starts(&planned, 1)), (vec![328], vec![0, 320]));
    let late: Vec<(String, Time, Time)> =
        planned.told.broken.iter().map(|it| (planned.day.problem.name_of(it.of), it.by, it.alone)).collect();
    assert_eq!(late, [("cone: Begun after the sample".to_owned(), 38, 30)]);
}

#[test]
fn an_answer_given_changes_the_steps_to_come() {
    let planner = typical(vec![chosen("probe", PROBE, &[("size", "small")])]);
    let (probe, _) = run(&planner.chosen[0].edition, 10_000, &[("size", "big")], "place");
    let seats = [Seated { run: Some(&probe), last_portion_ms: 30_000 }];
    let planned = planner.replan(&seats, 11).unwrap();
    assert_eq!(segments(&planned, 0)[0].1, 1200, "the aggregate is big after all");
}

#[test]
fn a_test_that_is_over_is_not_planned_again() {
    let planner = typical(vec![chosen("cone", CONE, &[]), chosen("probe", PROBE, &[])]);
    let (cone, now) = run(&planner.chosen[0].edition, 10_000, &[("drop", "75")], "");
    let at = i64::try_from(now).unwrap() / 1_000;
    let seats = [Seated { run: Some(&cone), last_portion_ms: 0 }, Seated { run: None, last_portion_ms: 0 }];
    let planned = planner.replan(&seats, at).unwrap();
    assert!(starts(&planned, 0)[0] < at);
    assert_eq!(starts(&planned, 1), [at, at + 142]);
}

// ---------------------------------------------------------------------------- the shipped methods

#[test]
fn every_shipped_method_can_be_planned_in_each_of_its_unit_systems() {
    let folder = format!("{}/../../procedures", env!("CARGO_MANIFEST_DIR"));
    let mut planned = 0;
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let checked = procedure::check(&path.display().to_string(), &text);
        let procedure = checked.procedure.unwrap_or_else(|| panic!("{}: does not load", path.display()));
        for edition in &procedure.editions {
            let day = typical(vec![Chosen::new(&procedure.id, Arc::new(edition.clone()))]).plan().unwrap();
            let work: Time = day.told.plan.work.iter().map(|work| work.end - work.start).sum();
            assert!(work > 0 && day.told.plan.proof == Proof::Optimal, "{} has no work", procedure.id);
            assert!(
                day.day.tests[0].without_length.is_empty(),
                "{}: {:?}",
                procedure.id,
                day.day.tests[0].without_length
            );
            planned += 1;
        }
    }
    assert!(planned >= 2, "only {planned} editions");
}

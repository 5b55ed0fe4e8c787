//! How long the best plan of a day of twelve tests takes to find and to prove.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark stops at the first surprise")]

use plan::{Effort, Point, Problem, Proof, Segment, Test, TestId, Time, Window};

fn main() {
    divan::main();
}

/// Twelve tests on one sample by one pair of hands: 31 segments, each test with a window from the last portion,
/// five waits that need no hands, the density after the slump. `stretch` in percent of the work's length.
fn twelve(stretch: Time) -> Problem {
    let mut day = Problem::new(1);
    let mut add = |name: &str, parts: &[(Time, Time, Option<Time>)], within: Time| {
        let part = |(lasts, least, most): &(Time, Time, Option<Time>)| {
            Segment::new(name, lasts * stretch / 100).then_wait(*least, *most)
        };
        let test = day.add(Test::new(name, parts.iter().map(part).collect()));
        day.window(
            Window::new(format!("start of {name}"), Point::Fixed(0), Point::Start(TestId(test.0).segment(0)))
                .at_most(within),
        );
        test
    };
    let slump = add("slump", &[(75, 0, None), (8, 0, None), (25, 0, None)], 300);
    add("temperature", &[(15, 120, Some(300)), (10, 0, None)], 300);
    add("second thermometer", &[(15, 120, Some(300)), (10, 0, None)], 300);
    add("air, pressure", &[(40, 0, None), (35, 10, None), (25, 0, None)], 300);
    add("air, volumetric", &[(45, 0, None), (30, 120, Some(360)), (12, 120, Some(360)), (12, 0, None)], 300);
    let density = add("density", &[(50, 0, None), (40, 0, None)], 600);
    add("cylinders 1 and 2", &[(60, 0, None), (60, 0, None), (30, 0, None)], 900);
    add("cylinders 3 and 4", &[(60, 0, None), (60, 0, None), (30, 0, None)], 900);
    add("cylinders 5 and 6", &[(60, 0, None), (60, 0, None), (30, 0, None)], 900);
    add("beam", &[(70, 0, None), (40, 0, None)], 900);
    add("bleeding", &[(30, 240, Some(600)), (20, 0, None)], 900);
    add("water by drying", &[(40, 300, None), (30, 0, None)], 900);
    day.window(
        Window::new("density after slump", Point::End(slump.segment(2)), Point::Start(density.segment(0))).at_least(0),
    );
    day.window(
        Window::new("whole slump", Point::Start(slump.segment(0)), Point::End(slump.segment(2)))
            .at_most(150 * stretch.max(100) / 100),
    );
    day
}

/// The pace in percent: all windows kept with room, just kept, and not to be kept.
#[divan::bench(args = [70, 100, 110, 130, 160])]
fn twelve_tests(bencher: divan::Bencher, stretch: Time) {
    let day = twelve(stretch);
    assert_eq!(day.segments().count(), 31);
    let plan = plan::solve(&day, Effort::default()).unwrap();
    assert_eq!(plan.proof, Proof::Optimal);
    bencher.bench(|| plan::solve(divan::black_box(&day), Effort::default()).unwrap());
}

//! Pictures of the bench.

use crossterm::event::KeyCode;

use super::desk::{Desk, SIX};

/// The probe soaks, the cone is being filled, nobody has begun the weighing and the meters; two minutes later.
fn in_the_middle() -> Desk {
    let mut desk = Desk::sampled(&SIX);
    desk.go(3).space().space().go(2).space();
    desk.wait(121_000);
    desk
}

#[test]
fn one_run_in_focus_and_every_other_a_line() {
    insta::assert_snapshot!(in_the_middle().picture(80, 24), @r#"
    " cone · inch-pound · A cone, an example                            recorded ✓ 4 "
    " ✓ Prepare  ▶ Fill and lift                                                     "
    "── step 5 of 7 · attempt 1 ─────────────────────────────────────────────────────"
    " STROKES TO GIVE                                    CLOCKS                      "
    " ▀▀█ █▀▀                                            ◷ From the first scoop to   "
    " █▀▀ ▀▀█                                              the lift within 2 min     "
    " ▀▀▀ ▀▀▀  strokes                                     30 s: at most 30 s left   "
    " + counts one, or type how many; Space: all given                               "
    "                                                                                "
    " ▌ Rod it 25 times                                                              "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "   SPACE   all strokes given                                                    "
    " + count one  u undo  ? help  x went wrong  s steps  e correct  q leave         "
    "── cone: From the first scoop to the lift: closes in 30 s ──────────────────────"
    " F1 ▶ portions  Count the portions                                              "
    " F3 ▶ probe     LONG ENOUGH: Leave it in                          ! within 7:50 "
    " F4 · weigh     not begun: A weighing, an example                 ◷ within 2:50 "
    " F5 · air       not begun: Air content of fresh concrete, volum…  ◷ within 2:50 "
    " F6 · air-2     not begun: Air content of fresh concrete, volum…  ◷ within 2:50 "
    "#);
}

#[test]
fn on_a_wide_screen_the_bench_stands_beside_the_run() {
    insta::assert_snapshot!(in_the_middle().picture(120, 40), @r#"
    " cone · inch-pound · A cone, an example                           recorded ✓ 4 │ Pier 4                                 "
    " ✓ Prepare  ▶ Fill and lift                                                    │ cone: From the first scoop to the      "
    "── step 5 of 7 · attempt 1 ────────────────────────────────────────────────────│ lift: closes in 30 s                   "
    " STROKES TO GIVE                                   CLOCKS                      │                                        "
    " █████████  █████████                              ◷ From the first scoop to   │ F1 ▶ portions                          "
    "       ███  ███                                      the lift within 2 min     │      Count the portions                "
    "       ███  ███                                      30 s: at most 30 s left   │ F2 ▶ cone                 ! HURRY 0:20 "
    " █████████  █████████                                                          │      Rod it 25 times                   "
    " ███              ███                                                          │ F3 ▶ probe               ! within 7:50 "
    " ███              ███                                                          │      LONG ENOUGH: Leave it in          "
    " █████████  █████████  strokes                                                 │ F4 · weigh               ◷ within 2:50 "
    " + counts one, or type how many; Space: all given                              │      not begun: A weighing, an example "
    "                                                                               │ F5 · air                 ◷ within 2:50 "
    "                                                                               │      not begun: Air content of fresh … "
    " ▌ Rod it 25 times                                                             │ F6 · air-2               ◷ within 2:50 "
    "                                                                               │      not begun: Air content of fresh … "
    "                                                                               │                                        "
    "                                                                               │ LIMITS THAT CLOSE                      "
    "                                                                               │ cone                      ! HURRY 0:20 "
    "                                                                               │      From the first scoop to the lift  "
    "                                                                               │ weigh                    ◷ within 2:50 "
    "                                                                               │      Weighing begun after the sample   "
    "                                                                               │ air                      ◷ within 2:50 "
    "                                                                               │      Start of the test after the samp… "
    "                                                                               │ air-2                    ◷ within 2:50 "
    "                                                                               │      Start of the test after the samp… "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "                                                                               │                                        "
    "   SPACE   all strokes given                                                   │                                        "
    " + count one  u undo  ? help  x went wrong  s steps  e correct  q leave        │                                        "
    "#);
}

#[test]
fn the_overview_shows_every_limit() {
    let mut desk = in_the_middle();
    desk.press(KeyCode::BackTab);
    insta::assert_snapshot!(desk.picture(80, 24), @r#"
    "  THE BENCH  Pier 4                                                             "
    "   F1 ▶ portions  Count the portions                                            "
    " ▶ F2 ▶ cone      Rod it 25 times                                  ! HURRY 0:20 "
    "   F3 ▶ probe     LONG ENOUGH: Leave it in                        ! within 7:50 "
    "   F4 · weigh     not begun: A weighing, an example               ◷ within 2:50 "
    "   F5 · air       not begun: Air content of fresh concrete, vol…  ◷ within 2:50 "
    "   F6 · air-2     not begun: Air content of fresh concrete, vol…  ◷ within 2:50 "
    "                                                                                "
    " portions: From the first portion to the last                      ✓ kept: 0:55 "
    " cone: Cone begun after the sample                                 ✓ kept: 0:00 "
    " cone: From the first scoop to the lift                            ! HURRY 0:20 "
    " probe: Probe placed after the sample                              ✓ kept: 0:00 "
    " weigh: Weighing begun after the sample                           ◷ within 2:50 "
    " …                                                                              "
    " Tab                  go to what is due next on this sample                     "
    " F1 … F9  Alt-1 … 9   go to the run with this number                            "
    " Shift-Tab  Ctrl-B    all runs of the sample, and every limit                   "
    " ↑ ↓ choose   Enter go there   Esc back                                         "
    "── cone: From the first scoop to the lift: closes in 30 s ──────────────────────"
    " F1 ▶ portions  Count the portions                                              "
    " F3 ▶ probe     LONG ENOUGH: Leave it in                          ! within 7:50 "
    " F4 · weigh     not begun: A weighing, an example                 ◷ within 2:50 "
    " F5 · air       not begun: Air content of fresh concrete, volum…  ◷ within 2:50 "
    " F6 · air-2     not begun: Air content of fresh concrete, volum…  ◷ within 2:50 "
    "#);
}

#[test]
fn with_little_room_one_row_says_what_is_due() {
    let mut desk = Desk::sampled(&SIX);
    desk.go(2);
    insta::assert_snapshot!(desk.picture(50, 12), @r#"
    "CONE BEGUN AFTER THE SAMPLE — WITHIN 5 min        "
    "█▀▀ ▄ █▀█ █▀█                                     "
    "▀▀█ ▄ █ █ █ █                                     "
    "▀▀▀   ▀▀▀ ▀▀▀  left                               "
    "Fill the cone                                     "
    "✓ Known on this bench: Mara Lind; T-17. Undo asks "
    "  again.                                          "
    "                                                  "
    "                                                  "
    "                                                  "
    "Space: done                                       "
    "due next: here                                    "
    "#);
    desk.go(1);
    insta::assert_snapshot!(desk.picture(50, 12), @r#"
    "HOW MANY PORTIONS?                                "
    "                                                  "
    "▀▀▀ ▀▀▀                                           "
    "         piece                                    "
    "Count the portions                                "
    "                                                  "
    "                                                  "
    "                                                  "
    "                                                  "
    "                                                  "
    "Space: takes the reading, once it is typed        "
    "Tab: cone, within 5:00                            "
    "#);
}

#[test]
fn late_is_said_in_words_where_it_happens_and_on_the_line() {
    let mut desk = in_the_middle();
    desk.wait(200_000);
    insta::assert_snapshot!(desk.picture(80, 24), @r#"
    " cone · inch-pound · A cone, an example                            recorded ✓ 4 "
    " ✓ Prepare  ▶ Fill and lift                                                     "
    "── step 5 of 7 · attempt 1 ─────────────────────────────────────────────────────"
    " STROKES TO GIVE                                    CLOCKS                      "
    " ▀▀█ █▀▀                                            ◷ From the first scoop to   "
    " █▀▀ ▀▀█                                              the lift within 2 min     "
    " ▀▀▀ ▀▀▀  strokes                                     30 s: OVER by 2 min       "
    " + counts one, or type how many; Space: all given                               "
    "                                                                                "
    " ▌ Rod it 25 times                                                              "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "                                                                                "
    "   SPACE   all strokes given                                                    "
    " + count one  u undo  ? help  x went wrong  s steps  e correct  q leave         "
    "── time over: weigh, air, air-2 ────────────────────────────────────────────────"
    " F1 ▶ portions  Count the portions                                              "
    " F3 ▶ probe     LONG ENOUGH: Leave it in                          ! within 4:30 "
    " F4 · weigh     not begun: A weighing, an example                        ✗ OVER "
    " F5 · air       not begun: Air content of fresh concrete, volumetric m…  ✗ OVER "
    " F6 · air-2     not begun: Air content of fresh concrete, volumetric m…  ✗ OVER "
    "#);
}

#[test]
fn a_discarded_test_too_late_to_repeat_asks_for_a_new_sample() {
    let mut desk = in_the_middle();
    desk.keys("x1y");
    desk.wait(200_000);
    insta::assert_snapshot!(desk.picture(80, 24), @r#"
    " cone · inch-pound · A cone, an example                            recorded ✓ 5 "
    " ✓ Prepare  ✗ Fill and lift                                                     "
    "── attempt 1 has ended ─────────────────────────────────────────────────────────"
    "  DISCARDED                                                                     "
    "                                                                                "
    " ▌ Attempt 1 has no result: It sheared off.                                     "
    "                                                                                "
    " It ended at “Rod it 25 times”.                                                 "
    " Its readings stay on the record.                                               "
    "                                                                                "
    " NEXT                                                                           "
    " ▌ Clean the cone and fill it with another part of the sample.                  "
    "                                                                                "
    " What was read before “Fill the cone” is carried over.                          "
    "                                                                                "
    "                                                                                "
    "   SPACE   begin attempt 2                                                      "
    " u undo  ? help  x went wrong  s steps  e correct  q leave  r remark            "
    "── A NEW SAMPLE IS NEEDED: Cone begun after the sample within 5 min, and that ──"
    " F1 ▶ portions  Count the portions                                              "
    " F3 ▶ probe     LONG ENOUGH: Leave it in                          ! within 4:30 "
    " F4 · weigh     not begun: A weighing, an example                        ✗ OVER "
    " F5 · air       not begun: Air content of fresh concrete, volumetric m…  ✗ OVER "
    " F6 · air-2     not begun: Air content of fresh concrete, volumetric m…  ✗ OVER "
    "#);
}

#[test]
fn no_size_makes_it_panic_and_the_focus_keeps_its_room() {
    let mut desk = Desk::sampled(&SIX);
    desk.go(3).space().space().go(2).space();
    desk.wait(121_000);
    for overview in [false, true] {
        if overview {
            desk.press(KeyCode::BackTab);
        }
        for width in [1, 2, 3, 5, 20, 59, 60, 61, 79, 80, 100, 115, 116, 117, 120, 200] {
            for height in [1, 2, 3, 7, 8, 9, 15, 16, 17, 18, 19, 22, 24, 40, 60] {
                let lines = desk.lines(width, height);
                if !overview && width >= 60 && height >= 17 {
                    assert!(lines[0].contains("cone"), "{width} × {height}: {}", desk.picture(width, height));
                    assert!(lines.iter().any(|line| line.contains("SPACE")), "{width} × {height}");
                }
            }
        }
    }
}

#[test]
fn more_runs_than_rows_leave_the_pressing_ones() {
    let names: Vec<String> = (1..=20).map(|n| format!("air-{n}")).collect();
    let mut tests: Vec<(&str, &str)> = SIX.to_vec();
    tests.extend(names.iter().map(|name| (name.as_str(), SIX[4].1)));
    let mut desk = Desk::sampled(&tests);
    desk.go(3).space().space().go(2);
    desk.wait(121_000);
    let lines = desk.lines(80, 24);
    assert!(lines.iter().any(|line| line.contains("LONG ENOUGH")), "{}", desk.picture(80, 24));
    assert!(lines.iter().any(|line| line.contains("SPACE")));
}

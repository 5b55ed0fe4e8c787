//! The drawn instruments are read back by a reader that sees nothing but the cells.
//!
//! The reader is in `reader`; it knows no scale and no value.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

mod reader;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use coach::screen::instrument::{draw, least};
use coach::screen::theme::{Colours, Theme, ThemeChoice};
use procedure::ReadingKind;
use proptest::prelude::*;
use quantity::{Decimal, Scale, Unit};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use reader::{Cells, cells, read_foam, read_gauge, read_rule, read_tube};
use specimen::{Shape, Shown};

const SMALL: (u16, u16) = (34, 17);
const LARGE: (u16, u16) = (60, 30);

fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn scale(step: &str, min: &str, max: &str, unit: &str) -> Scale {
    Scale::new(decimal(step), decimal(min), decimal(max), Unit::parse(unit).unwrap()).unwrap()
}

fn dark() -> Theme {
    Theme::new(ThemeChoice::Dark, Colours::True)
}

fn drawn(shown: &Shown, (width, height): (u16, u16)) -> Cells {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    assert!(draw(shown, &mut buf, area, &dark()), "there is room for {shown:?} in {width} x {height}");
    cells(&buf)
}

fn picture(shown: &Shown, size: (u16, u16)) -> String {
    drawn(shown, size).iter().map(|row| format!("{:?}\n", row.iter().collect::<String>())).collect()
}

fn read(shown: &Shown, size: (u16, u16)) -> Decimal {
    let cells = drawn(shown, size);
    match shown {
        Shown::Neck { .. } | Shown::Thermometer { .. } => read_tube(&cells),
        Shown::Rule { .. } => read_rule(&cells),
        Shown::Gauge { .. } => read_gauge(&cells),
        other => panic!("{other:?} is not read"),
    }
}

// ---- what is read

/// Every scale of the shipped procedures that has a drawn instrument, and some made by hand.
fn scales() -> Vec<(&'static str, Scale)> {
    let mut found = vec![
        ("neck", scale("0.25", "0", "9", "%")),
        ("gauge", scale("0.1", "0", "10", "%")),
        ("gauge", scale("1", "0", "100", "%")),
        ("thermometer", scale("1", "0", "130", "°F")),
        ("thermometer", scale("0.5", "-5", "60", "°C")),
        ("cone", scale("0.25", "0", "12", "in")),
        ("cone", scale("5", "0", "300", "mm")),
        ("cone", scale("10", "0", "300", "mm")),
    ];
    let procedures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut shipped = BTreeMap::new();
    for entry in fs::read_dir(procedures).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "toml") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let procedure = procedure::check(&name, &text).procedure.unwrap_or_else(|| panic!("{name} is sound"));
        for edition in &procedure.editions {
            for reading in &edition.readings {
                let ReadingKind::Number(scale) = &reading.kind else { continue };
                for kind in ["neck", "gauge", "thermometer", "cone"] {
                    if reading.instrument.as_deref() == Some(kind) {
                        shipped.insert(format!("{kind} {scale:?}"), (kind, scale.clone()));
                    }
                }
            }
        }
    }
    for kind in ["neck", "gauge", "thermometer", "cone"] {
        assert!(shipped.values().any(|(own, _)| *own == kind), "a shipped procedure has a {kind}");
    }
    found.extend(shipped.into_values());
    found
}

fn shown(kind: &str, scale: &Scale, at: Decimal, n: u64) -> Shown {
    let scale = scale.clone();
    match kind {
        "neck" => Shown::Neck { scale, level: at, foam: Decimal::new((n % 9) as i64 * 25, 2) },
        "gauge" => Shown::Gauge { scale, at },
        "thermometer" => Shown::Thermometer { scale, at },
        _ => {
            let shape = [Shape::True, Shape::Sheared, Shape::Collapsed][(n % 3) as usize];
            Shown::Rule { scale, slump: at, shape }
        }
    }
}

/// Values all over a scale, none like the other in its place between two marks, and both ends.
fn values(scale: &Scale, many: u64) -> Vec<Decimal> {
    let span = scale.max - scale.min;
    let mut values: Vec<Decimal> = (0..many)
        .map(|n| scale.min + (span * Decimal::from(n * 7919 % 10_007) / Decimal::from(10_007)).round_dp(5))
        .collect();
    values.extend([scale.min, scale.max, scale.min + scale.step, scale.max - scale.step]);
    values
}

#[test]
fn every_instrument_is_read_to_its_graduation_in_both_sizes() {
    for (kind, scale) in scales() {
        for size in [SMALL, LARGE] {
            let (mut off, mut worst) = (0, Decimal::ZERO);
            let values = values(&scale, 250);
            for (n, at) in values.iter().enumerate() {
                let read = read(&shown(kind, &scale, *at, n as u64), size);
                let by = (read - *at).abs() / scale.step;
                worst = worst.max(by);
                let nearest = |value: Decimal| (value / scale.step + Decimal::new(5, 1)).floor();
                if nearest(read) != nearest(*at) {
                    // Only a pointer half-way between two marks may be taken for either.
                    let into = (*at / scale.step - (*at / scale.step).floor() - Decimal::new(5, 1)).abs();
                    assert!(into <= Decimal::new(8, 2), "{kind} {scale:?} in {size:?}: {at} was read as {read}");
                    off += 1;
                }
            }
            assert!(worst <= Decimal::new(15, 2), "{kind} {scale:?} in {size:?}: off by {worst} graduations");
            assert!(off * 8 <= values.len(), "{kind} {scale:?} in {size:?}: {off} of {} taken wrong", values.len());
        }
    }
}

#[test]
fn a_pointer_on_a_mark_is_read_as_that_mark() {
    for (kind, scale) in scales() {
        let marks = ((scale.max - scale.min) / scale.step).floor().mantissa() as u64;
        for n in 0..=marks.min(150) {
            let at = scale.min + scale.step * Decimal::from(if marks > 150 { n * marks / 150 } else { n });
            for size in [SMALL, LARGE] {
                let read = read(&shown(kind, &scale, at, n), size);
                let by = (read - at).abs() / scale.step;
                assert!(by < Decimal::new(1, 3), "{kind} {scale:?} in {size:?}: {at} was read as {read}");
            }
        }
    }
}

#[test]
fn foam_is_read_to_a_graduation_of_the_neck() {
    let neck = scale("0.25", "0", "9", "%");
    for n in 0..300_i64 {
        let level = Decimal::new(150 + n * 37 % 750, 2);
        let foam = Decimal::new(n * 53 % 300, 2).min(level);
        for size in [SMALL, LARGE] {
            let shown = Shown::Neck { scale: neck.clone(), level, foam };
            // More foam than the close-up holds is read off the small picture.
            if size == SMALL && foam > Decimal::new(250, 2) {
                continue;
            }
            let read = read_foam(&drawn(&shown, size));
            let by = (read - foam).abs() / neck.step;
            // A thin film hides behind the meniscus.
            let thin = foam < neck.step;
            assert!(thin || by <= Decimal::new(3, 1), "{foam} above {level} in {size:?} was read as {read}");
        }
    }
}

#[test]
fn a_pointer_beyond_the_scale_is_seen_beyond_the_last_mark() {
    for (kind, scale) in scales() {
        for size in [SMALL, LARGE] {
            let beyond = read(&shown(kind, &scale, scale.max + scale.step * Decimal::TWO, 0), size);
            assert!(beyond > scale.max + scale.step / Decimal::TWO, "{kind} {scale:?} in {size:?}: {beyond}");
        }
    }
}

/// Every word of a picture that could be a number.
fn numbers(cells: &Cells) -> Vec<Decimal> {
    let text: String = cells.iter().map(|row| row.iter().collect::<String>() + "\n").collect();
    text.split(|sign: char| !(sign.is_ascii_digit() || matches!(sign, '.' | '-')))
        .filter_map(|word| word.parse().ok())
        .collect()
}

#[test]
fn the_value_is_never_written() {
    for (kind, scale) in scales() {
        // A quarter past a mark: no mark carries this number.
        let at = scale.min + scale.step * Decimal::new(1725, 2);
        for size in [SMALL, LARGE] {
            let numbers = numbers(&drawn(&shown(kind, &scale, at, 1), size));
            assert!(numbers.len() >= 2, "{kind}: marks carry numbers");
            for number in numbers {
                assert!((number % scale.step).is_zero(), "{kind} {scale:?}: {number} is no mark");
                assert_ne!(number, at);
            }
        }
    }
}

fn one_of_each() -> Vec<Shown> {
    let lines = ["Mix 4A, truck 12", "Batched 9:40", "Isopropyl alcohol 70 % by volume"].map(str::to_owned).to_vec();
    let mut each: Vec<Shown> = scales()
        .iter()
        .enumerate()
        .map(|(n, (kind, scale))| shown(kind, scale, values(scale, 3)[2], n as u64))
        .collect();
    each.push(Shown::Balance { scale: scale("0.005", "0", "50", "kg"), at: decimal("20.365") });
    each.push(Shown::Paper { title: "Delivery ticket".to_owned(), lines });
    each.push(Shown::Sight { says: "Water runs from the petcock without bubbles.".to_owned() });
    each
}

#[test]
fn no_theme_changes_a_shape() {
    let area = Rect::new(0, 0, SMALL.0, SMALL.1);
    for shown in one_of_each() {
        let plain = drawn(&shown, SMALL);
        for choice in [ThemeChoice::Dark, ThemeChoice::Light, ThemeChoice::Mono] {
            for colours in [Colours::Sixteen, Colours::TwoHundredFiftySix, Colours::True] {
                let mut buf = Buffer::empty(area);
                assert!(draw(&shown, &mut buf, area, &Theme::new(choice, colours)));
                assert_eq!(cells(&buf), plain, "{choice:?} {colours:?}");
            }
        }
    }
}

#[test]
fn the_three_shapes_of_a_cone_differ() {
    let rule = scale("0.25", "0", "12", "in");
    for slump in ["2", "4.5", "7", "9"] {
        for size in [SMALL, LARGE] {
            let shapes = [Shape::True, Shape::Sheared, Shape::Collapsed];
            let [a, b, c] = shapes
                .map(|shape| drawn(&Shown::Rule { scale: rule.clone(), slump: decimal(slump), shape }, size).concat());
            let differ = |a: &[char], b: &[char]| a.iter().zip(b).filter(|(a, b)| a != b).count();
            for (one, other) in [(&a, &b), (&b, &c), (&a, &c)] {
                assert!(differ(one, other) >= 12, "{slump} in {size:?}: two shapes look alike");
            }
        }
    }
}

static EACH: std::sync::OnceLock<Vec<Shown>> = std::sync::OnceLock::new();

proptest! {
    #[test]
    fn it_is_drawn_inside_its_area_or_not_at_all(
        which in 0_usize..64, x in 0_u16..6, y in 0_u16..6, width in 0_u16..90, height in 0_u16..45,
    ) {
        let each = EACH.get_or_init(one_of_each);
        let shown = &each[which % each.len()];
        let whole = Rect::new(0, 0, 100, 50);
        let mut buf = Buffer::empty(whole);
        let area = Rect::new(x, y, width, height);
        let is_drawn = draw(shown, &mut buf, area, &dark());
        let (least_width, least_height) = least(shown);
        prop_assert_eq!(is_drawn, width >= least_width && height >= least_height);
        for y in 0..whole.height {
            for x in 0..whole.width {
                let is_inside = is_drawn && area.contains((x, y).into());
                let cell = &buf[(x, y)];
                prop_assert!(is_inside || *cell == ratatui::buffer::Cell::EMPTY, "{} at {}, {}", cell.symbol(), x, y);
            }
        }
        // An area that reaches beyond the screen.
        let mut small = Buffer::empty(Rect::new(0, 0, 20, 10));
        draw(shown, &mut small, area, &dark());
    }
}

#[test]
fn the_smallest_screen_has_room_for_every_instrument() {
    for shown in one_of_each() {
        let (width, height) = least(&shown);
        assert!(width <= SMALL.0 && height <= SMALL.1, "{width} x {height}: {shown:?}");
        let mut buf = Buffer::empty(Rect::new(0, 0, 1, 1));
        assert!(!draw(&shown, &mut buf, Rect::new(0, 0, 1, 1), &dark()));
    }
}

#[test]
fn pictures() {
    let neck = scale("0.25", "0", "9", "%");
    let inches = scale("0.25", "0", "12", "in");
    let rule = |slump: &str, shape| Shown::Rule { scale: inches.clone(), slump: decimal(slump), shape };
    let lines =
        ["Mix: 4A, 30 MPa", "Batched: 9:40", "Water held back: 38 L of 165 L a cubic metre, none added on the way"];
    for (name, shown) in [
        ("neck", Shown::Neck { scale: neck.clone(), level: decimal("5.62"), foam: decimal("0.80") }),
        ("neck-clear", Shown::Neck { scale: neck.clone(), level: decimal("0.5"), foam: Decimal::ZERO }),
        ("neck-foam", Shown::Neck { scale: neck.clone(), level: decimal("6.3"), foam: decimal("2.5") }),
        ("neck-beyond", Shown::Neck { scale: neck, level: decimal("11"), foam: decimal("0.5") }),
        ("gauge", Shown::Gauge { scale: scale("0.1", "0", "10", "%"), at: decimal("4.47") }),
        ("gauge-zero", Shown::Gauge { scale: scale("0.1", "0", "10", "%"), at: decimal("0.02") }),
        ("gauge-hundred", Shown::Gauge { scale: scale("1", "0", "100", "%"), at: decimal("63.3") }),
        ("thermometer", Shown::Thermometer { scale: scale("1", "0", "130", "°F"), at: decimal("72.4") }),
        ("thermometer-si", Shown::Thermometer { scale: scale("0.5", "-5", "60", "°C"), at: decimal("23.35") }),
        ("rule", rule("4.3", Shape::True)),
        ("rule-sheared", rule("4.3", Shape::Sheared)),
        ("rule-collapsed", rule("9.1", Shape::Collapsed)),
        ("rule-si", Shown::Rule { scale: scale("10", "0", "300", "mm"), slump: decimal("148"), shape: Shape::True }),
        ("balance", Shown::Balance { scale: scale("0.005", "0", "50", "kg"), at: decimal("20.36") }),
        ("paper", Shown::Paper { title: "Delivery ticket 4711".to_owned(), lines: lines.map(str::to_owned).to_vec() }),
        ("sight", Shown::Sight { says: "Water runs from the petcock without bubbles.".to_owned() }),
    ] {
        insta::assert_snapshot!(format!("{name}-small"), picture(&shown, SMALL));
        insta::assert_snapshot!(format!("{name}-large"), picture(&shown, LARGE));
    }
}

//! Examples other people worked out, run through the comparison with a limit and the counting of samples.
//!
//! `tests/data/examples.toml` says for each where it is from. What is compared here is the rounding itself, and what a
//! limit written so or so makes of it.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use bench::site::{self, CheckTest, Limit, Sampling};
use bench::verdict::{Conformance, Purpose, Standing, judge, rounded_to_limit};
use bench::written::Written;
use quantity::{Exact, Quantity, Ties};

const EXAMPLES: &str = include_str!("../../../tests/data/examples.toml");

fn examples() -> Vec<toml::Table> {
    let all: toml::Table = EXAMPLES.parse().unwrap();
    all["example"].as_array().unwrap().iter().map(|one| one.as_table().unwrap().clone()).collect()
}

fn example(id: &str) -> toml::Table {
    examples().into_iter().find(|one| one["id"].as_str() == Some(id)).unwrap_or_else(|| panic!("no example {id}"))
}

fn text<'e>(example: &'e toml::Table, part: &str, key: &str) -> &'e str {
    example[part][key].as_str().unwrap()
}

#[test]
fn values_are_rounded_to_the_last_place_of_a_limit_as_the_agencies_print_it() {
    let mut seen = Vec::new();
    for one in examples() {
        let ties = match one.get("method").and_then(toml::Value::as_str) {
            Some("rounding.half_even") => Ties::Even,
            Some("rounding.half_up") => Ties::Up,
            _ => continue,
        };
        let id = one["id"].as_str().unwrap().to_owned();
        let exact: Exact = text(&one, "inputs", "value").parse().unwrap();
        let rounded = text(&one, "expected", "rounded");
        // A limit written like the printed answer is written to the place the example rounds to.
        let limit: Written = format!("{rounded} in").parse().unwrap();
        assert_eq!(limit.place, text(&one, "inputs", "to_nearest").parse().unwrap(), "{id}");
        assert_eq!(rounded_to_limit(&exact, &limit, ties), rounded.parse().unwrap(), "{id}");
        if one["notes"].as_str().unwrap().contains("DISCRIMINATING") {
            assert_ne!(rounded_to_limit(&exact, &limit, Ties::Up), rounded.parse().unwrap(), "{id}: half up differs");
        }
        seen.push(id);
    }
    let of = |source: &str| seen.iter().filter(|id| id.starts_with(source)).count();
    assert_eq!((of("round-att70-"), of("round-fstm-"), of("round-iowa-")), (23, 7, 1), "{seen:?}");
}

#[test]
fn a_slump_of_four_and_a_quarter_meets_four_inches_and_fails_four_point_nought() {
    for id in ["round-iowa-02", "round-iowa-03"] {
        let one = example(id);
        let slump: Exact = text(&one, "inputs", "measured_slump_in").parse().unwrap();
        let most: Written = format!("{} in", text(&one, "inputs", "limit_text")).parse().unwrap();
        assert_eq!(text(&one, "inputs", "limit_kind"), "maximum");
        assert_eq!(most.place, text(&one, "inputs", "resolution_from_limit").parse().unwrap(), "{id}");
        let conforms = one["expected"]["conforms"].as_bool().unwrap();
        let exact = Quantity::new(slump, most.amount.unit);
        let limit = Limit {
            result: "slump".to_owned(),
            method: None,
            at_least: None,
            at_most: Some(most.clone()),
            as_written: format!("at most {most}"),
            source: None,
            check_test: CheckTest::NotStated,
        };
        // The agency rounds a half up; with halves to even the answer is the same here.
        for ties in [Ties::Up, Ties::Even] {
            let verdict = judge(&exact, &limit, Conformance::Rounding, ties, Purpose::Acceptance).unwrap();
            assert_eq!(verdict.conforms(), conforms, "{id} {ties}");
            assert_eq!(verdict.standing == Standing::Above, !conforms, "{id} {ties}");
            if let Some(rounded) = one["expected"].get("rounded").and_then(toml::Value::as_str) {
                assert_eq!(verdict.compared, rounded.parse().unwrap(), "{id} {ties}");
            }
        }
        let by = |ties| rounded_to_limit(&exact.value, &most, ties).show_exact();
        if id == "round-iowa-03" {
            assert_eq!((by(Ties::Up).as_str(), by(Ties::Even).as_str()), ("4.3", "4.2"), "as the example's note says");
        }
    }
}

#[test]
fn the_rule_by_area_governs_slabs_thinner_than_volume_over_area() {
    let one = example("accept-frequency-thickness");
    let whole = |part: &str, key: &str| one[part][key].as_integer().unwrap();
    let sampling = |volume: String, area: String| Sampling {
        every: Some(volume.parse().unwrap()),
        every_area: Some(area.parse().unwrap()),
        ..Sampling::default()
    };
    let (volume, area) = (whole("inputs", "volume_per_test_m3"), whole("inputs", "area_per_test_m2"));
    let thickness = sampling(format!("{volume} m³"), format!("{area} m²")).governing_thickness().unwrap();
    assert_eq!(thickness.unit.symbol(), "m");
    let millimetres = thickness.value * Exact::from_int(1000);
    assert_eq!(millimetres.rounded_to(&"0.1".parse().unwrap(), Ties::Even).show_exact(), "239.1");
    // The page prints the thickness to the nearest 10 mm.
    let printed = Exact::from_int(whole("expected", "governing_thickness_mm"));
    assert_eq!(millimetres.rounded_to(&Exact::from_int(10), Ties::Even), printed);
    // 150 yd³ over 5000 ft²: 27 ft³ to the yd³, 12 in to the ft.
    let thickness = sampling("150 yd³".to_owned(), "5000 ft²".to_owned()).governing_thickness().unwrap();
    assert_eq!(thickness.unit.symbol(), "yd³/ft²");
    assert_eq!((thickness.value * Exact::from_int(27 * 12)).show_exact(), "9.72");
}

#[test]
fn the_solids_and_water_of_the_navy_mixture_fill_what_its_air_leaves() {
    // The masses are printed one by one; the relative density of the sand is not, so the sand is left out and the volume
    // it has to fill is what the printed ones leave of the 25.65 ft³ without air.
    let loop_ = example("theoretical-tpub-derived");
    let printed = |id: &str| {
        let one = example(id);
        (text(&one, "inputs", "mass_lb").to_owned(), text(&one, "inputs", "relative_density").to_owned())
    };
    let (cement, water, coarse) =
        (printed("absvol-tpub-cement"), printed("absvol-tpub-water"), printed("absvol-tpub-coarse"));
    let file = format!(
        "[site]\nproject = \"a textbook\"\nsystem = \"inch-pound\"\n\n[mixture.batch]\ncement = \"{} lb\"\nwater = \"{} lb\"\n\
         coarse = \"{} lb\"\n\n[mixture.relative_density]\ncement = \"{}\"\nwater = \"{}\"\ncoarse = \"{}\"\n",
        cement.0, water.0, coarse.0, cement.1, water.1, coarse.1
    );
    let checked = site::check("textbook.toml", &file);
    assert!(checked.diagnostics.is_empty(), "{:?}", checked.diagnostics);
    let mixture = checked.site.unwrap().mixture.unwrap();
    let unit_water: Quantity = "62.4 lb/ft³".parse().unwrap();
    let volume = mixture.air_free_volume(&unit_water).unwrap();
    assert_eq!(volume.unit.symbol(), "ft³");
    // Printed to 0.01 each, 3.10 + 4.89 + 10.69 is 18.68; rounded once, at the end, the sum is 18.69.
    let hundredth: Exact = "0.01".parse().unwrap();
    assert_eq!(volume.value.rounded_to(&hundredth, Ties::Even).show_exact(), "18.69");
    let expected: Exact = ["absvol-tpub-cement", "absvol-tpub-water", "absvol-tpub-coarse"]
        .iter()
        .map(|id| text(&example(id), "expected", "volume_ft3").parse::<Exact>().unwrap())
        .fold(Exact::zero(), |sum, volume| sum + volume);
    assert!((volume.value - expected).abs() < "0.015".parse().unwrap(), "the printed parts add up");
    let masses = loop_["inputs"]["masses_lb"].as_array().unwrap();
    let three: Exact = masses[..3]
        .iter()
        .map(|mass| mass.as_str().unwrap().parse::<Exact>().unwrap())
        .fold(Exact::zero(), |a, b| a + b);
    assert_eq!(mixture.total_mass().unwrap().value, three);
}

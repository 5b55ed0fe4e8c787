//! The worked examples of the checks of apparatus and of the weather, each run through the real engine with the shipped
//! procedure; and the limits of moulding, of these checks and of a delivery, each on its last allowed and its first
//! forbidden value.
//!
//! Every example names its source in `data/examples.toml`; so does every failure here.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "in a test a panic is the report")]

use std::fs;
use std::path::Path;
use std::sync::Arc;

use acceptance::technician::{Technician, exact, reported, result, shipped};
use engine::{FindingKind, Phase, Refused, Run};
use procedure::{Amended, Amendment, Edition};
use quantity::{Exact, System, Ties};

const SYSTEMS: [System; 2] = [System::InchPound, System::Si];

// ------------------------------------------------------------------------------------------------ the published examples

/// One example of the data file.
struct Example<'a> {
    table: &'a toml::Table,
    name: String,
}

impl<'a> Example<'a> {
    fn value(&self, part: &str, key: &str) -> &'a toml::Value {
        self.table[part].get(key).unwrap_or_else(|| panic!("{}: {part}.{key}", self.name))
    }

    fn text(&self, part: &str, key: &str) -> &'a str {
        self.value(part, key).as_str().unwrap_or_else(|| panic!("{}: {part}.{key} is no text", self.name))
    }

    /// A number written without quotes, with the digits the file has.
    fn digits(&self, part: &str, key: &str) -> String {
        self.value(part, key).to_string()
    }
}

#[test]
fn every_worked_example_of_the_checks_and_of_the_weather_comes_out_of_a_real_run() {
    const KINDS: [&str; 4] =
        ["pressure.calibration", "density.water_density", "evaporation.rate", "evaporation.formula_conversion"];
    let text = fs::read_to_string(beside("data/examples.toml")).unwrap();
    let data: toml::Table = text.parse().unwrap();
    // Counted in the bare text, so that an example the loop below passes over is missed.
    let is_ours = |line: &str| KINDS.iter().any(|kind| line.trim_start_matches("method = ").trim_matches('"') == *kind);
    let n_present = text.lines().filter(|line| line.starts_with("method = ") && is_ours(line)).count();
    let mut n_run = 0;
    for table in data["example"].as_array().unwrap().iter().filter_map(toml::Value::as_table) {
        let method = table.get("method").and_then(toml::Value::as_str).unwrap_or_default();
        let name = format!("{} ({})", table["id"].as_str().unwrap(), table["source"].as_str().unwrap());
        let example = Example { table, name };
        match method {
            "pressure.calibration" => canister(&example),
            "density.water_density" => water_density(&example),
            "evaporation.rate" => chart(&example),
            "evaporation.formula_conversion" => exact_coefficients(&example),
            _ => continue,
        }
        n_run += 1;
    }
    assert_eq!(n_run, n_present, "every example that is present is run");
    assert!(n_run >= 5, "the data file holds at least the five examples known when this was written");
}

/// One and two canisters in a bowl. The source rounds oddly, one canister to 0.05 % and two to 0.1 %, both from the
/// unrounded share; so does the procedure.
fn canister(example: &Example<'_>) {
    let name = &example.name;
    let (canister, bowl) = (example.text("inputs", "canister_ft3"), example.text("inputs", "bowl_ft3"));
    let run = air_meter(System::InchPound, bowl, canister, "5.1", "10.2").work();
    let share = over(exact("100") * exact(canister), exact(bowl));
    for (id, key, expected) in [
        ("expected_one", "one_canister_pct", share.clone()),
        ("expected_two", "two_canisters_pct", exact("2") * share.clone()),
    ] {
        assert_eq!(result(&run, id).reported.exact, expected, "{name}: {id} before rounding");
        assert_eq!(reported(&run, id), format!("{} %", example.text("expected", key)), "{name}: {id} as printed");
    }
    assert_eq!(result(&run, "error").reported.exact, exact("5.1") - share, "{name}: the gauge against the share");
}

/// Water of 20 °C, which is 68 °F. The source's density in SI units is ours to its last digit. Its other one was made with
/// the short factor 0.0624: ours is what the full factor gives, and 0.03 lb/ft³ away from the printed one.
fn water_density(example: &Example<'_>) {
    let name = &example.name;
    let printed_si = exact(example.text("inputs", "kg_m3"));
    let run = bowl(System::Si, "3.000", "10.000", "20.0").work();
    assert_eq!(to(&run, "water_density", "0.1"), printed_si, "{name}: in SI units");

    let printed = exact(example.text("expected", "lb_ft3"));
    let by_short_factor = &printed_si * &exact(example.text("inputs", "factor"));
    assert_eq!(nearest(by_short_factor, "0.01"), printed, "{name}: how the source came to its figure");
    let run = bowl(System::InchPound, "7.000", "22.000", "68.0").work();
    let by_full_factor = &printed_si * &exact("0.0624279606");
    assert_eq!(to(&run, "water_density", "0.01"), nearest(by_full_factor, "0.01"), "{name}: with the full factor");
    assert_eq!(to(&run, "water_density", "0.01") - printed, exact("0.03"), "{name}: what the short factor costs");
}

/// The source read its figure off a chart, about 0.25; the formula gives 0.24, which is within a hundredth of it.
fn chart(example: &Example<'_>) {
    let name = &example.name;
    let inputs = ["concrete_F", "air_F", "rh_percent", "wind_mph"].map(|key| example.digits("inputs", key));
    let run = weather(System::InchPound, &inputs[0], &inputs[1], &inputs[2], &inputs[3]).work();
    assert_eq!(reported(&run, "evaporation"), "0.24 lb/ft²/h", "{name}");
    let worked_out = exact(&example.digits("computed", "uno_lb_ft2_h"));
    assert_eq!(to(&run, "evaporation", "0.0001"), worked_out, "{name}: the formula to its last printed digit");
    let off_the_chart = exact(&example.digits("expected", "rate_lb_ft2_h"));
    let apart = to(&run, "evaporation", "0.01") - off_the_chart;
    assert!(apart.abs() <= exact("0.01"), "{name}: as near as a chart is read");
    assert!(findings(&run).iter().any(|text| text.contains("caution from 0.20 lb/ft²/h on")), "{name}");
}

/// The SI form with the source's unrounded coefficients is the inch-pound form converted, within 1 in 100 000; with the
/// rounded ones that are shipped it reads a little lower. The coefficients are figures a site can set, and are set so here.
///
/// The instruments get finer marks for this, since 80 °F and 12 mi/h are on no mark of theirs in SI units.
fn exact_coefficients(example: &Example<'_>) {
    let name = &example.name;
    let number = |key: &str| example.digits("inputs", key);
    let set = |figure: &str, is: String| Amendment {
        figure: figure.to_owned(),
        is: Amended::Each(vec![(System::Si, is)]),
        because: "the note's own coefficients".to_owned(),
    };
    let millionth = exact(&number("coefficient")) * exact("0.000001");
    let amendments = [
        set("coefficient", format!("{millionth} kg/m²/h")),
        set("offset", format!("{} °C", number("temperature_offset_C"))),
        set("wind_base", number("wind_offset_km_h")),
    ];
    let fine = fs::read_to_string(beside("../procedures/delivery.toml"))
        .unwrap()
        .replace("SI = \"0.5\" }", "SI = \"0.00000001\" }")
        .replace(
            "graduation = { inch-pound = \"1\", SI = \"1\" }",
            "graduation = { inch-pound = \"1\", SI = \"0.00000001\" }",
        );
    let amended = procedure::amend("delivery.toml", &fine, &amendments).expect("the figures are there");
    let lb_ft2_in_kg_m2 = over(exact("0.45359237"), exact("0.3048") * exact("0.3048"));
    let mut n_lower = 0;
    for (concrete, air, humidity, wind) in
        [("87", "80", "50", "12"), ("70", "40", "30", "20"), ("95", "100", "20", "0"), ("60", "32", "90", "35")]
    {
        let celsius = |fahrenheit: &str| over(exact(fahrenheit) - exact("32"), exact("1.8"));
        let given = [celsius(concrete), celsius(air), exact(wind) * exact("1.609344")];
        let [concrete_c, air_c, wind_km] = given.map(|number| nearest(number, "0.00000001").to_string());
        let here = format!("{name}: {concrete} °F, air {air} °F, {humidity} %, {wind} mi/h");
        let run = weather(System::InchPound, concrete, air, humidity, wind).work();
        let converted = &result(&run, "evaporation").reported.exact * &lb_ft2_in_kg_m2;
        let in_si = |text: &str| {
            let run = weather_with(edition(text, System::Si), &concrete_c, &air_c, humidity, &wind_km).work();
            result(&run, "evaporation").reported.exact.clone()
        };
        let off = over(in_si(&amended) - &converted, converted.clone());
        assert!(off.abs() < exact("0.00001"), "{here}: {off} off with the unrounded coefficients");
        let off = over(in_si(&fine) - &converted, converted.clone());
        if converted > exact("0.2") {
            assert!((exact("-0.051")..exact("-0.007")).contains(&off), "{here}: {off} off with the rounded ones");
            n_lower += 1;
        }
    }
    assert!(n_lower >= 3, "{name}: most of these are days of strong drying");
}

/// Second-hand notes on the WSDOT FOP for AASHTO T 121: 15.53 lb of water at 73.4 °F fill 0.2494 ft³. Both masses with
/// the plate are ours; only their difference is printed.
#[test]
fn the_printed_volume_of_a_measure_comes_out_of_a_real_run() {
    let run = bowl(System::InchPound, "7.950", "23.480", "73.4").work();
    assert_eq!(reported(&run, "volume"), "0.2494 ft³");
    assert_eq!(reported(&run, "water_density"), "62.274 lb/ft³");
    assert_eq!(result(&run, "volume").reported.exact, over(exact("15.53"), exact("62.274")));
}

// ------------------------------------------------------------------------------------------------ apparatus

#[test]
fn water_is_read_between_the_rows_of_its_table_and_never_beyond_them() {
    for (system, rows) in [
        (System::InchPound, [("60.0", "62.366"), ("62.5", "62.351"), ("74.2", "62.268"), ("85.0", "62.166")]),
        (System::Si, [("15.6", "999.01"), ("22.0", "997.77"), ("23.0", "997.54"), ("29.4", "995.83")]),
    ] {
        for (temperature, density) in rows {
            let run = bowl(system, "5.000", "12.000", temperature).work();
            let unit = if system == System::Si { "kg/m³" } else { "lb/ft³" };
            assert_eq!(reported(&run, "water_density"), format!("{density} {unit}"), "{temperature}");
        }
    }
    for (system, beyond) in [(System::InchPound, ["59.9", "85.1"]), (System::Si, ["15.5", "29.5"])] {
        let edition = shipped("bowl-volume", system);
        let reading = edition.reading(edition.reading_named("temperature").unwrap());
        let procedure::ReadingKind::Number(scale) = &reading.kind else { panic!("a number") };
        for temperature in beyond {
            assert!(scale.read(temperature).is_err(), "{temperature} has no row and is not taken");
        }
    }
}

#[test]
fn a_litre_is_a_thousandth_of_a_cubic_metre() {
    let run = bowl(System::Si, "3.606", "10.652", "23.0").work();
    assert_eq!(result(&run, "volume").reported.exact, over(exact("7.046"), exact("997.54")) * exact("1000"));
    assert_eq!(reported(&run, "volume"), "7.063 L");
}

#[test]
fn a_thermometer_may_be_out_by_its_tolerance_and_no_more() {
    for (system, cool, warm, shown, n_findings) in [
        (System::InchPound, ["50.0", "51.0"], ["85.0", "84.0"], ["1.0 °F", "-1.0 °F"], 0),
        (System::InchPound, ["50.0", "51.1"], ["85.0", "83.9"], ["1.1 °F", "-1.1 °F"], 2),
        (System::Si, ["10.0", "10.5"], ["30.0", "29.5"], ["0.5 °C", "-0.5 °C"], 0),
        (System::Si, ["10.0", "10.6"], ["30.0", "30.0"], ["0.6 °C", "0.0 °C"], 1),
    ] {
        let run = thermometer(system, cool, warm).work();
        assert_eq!([reported(&run, "error_low"), reported(&run, "error_high")], shown);
        assert_eq!(findings(&run).len(), n_findings, "{shown:?}: {:?}", findings(&run));
    }
}

#[test]
fn two_baths_too_near_each_other_are_refused() {
    for (system, cool, near, apart) in
        [(System::InchPound, "50.0", "79.9", "80.0"), (System::Si, "10.0", "24.9", "25.0")]
    {
        let (_, refused) = thermometer(system, [cool, cool], [near, near]).until_refused();
        assert!(refused.is_some_and(|why| said(&why).contains("must be at least")), "{near} after {cool}");
        assert_eq!(thermometer(system, [cool, cool], [apart, apart]).work().phase(), Phase::Finished, "{apart}");
    }
}

#[test]
fn a_bath_that_drifts_is_read_again_and_given_up_in_the_end() {
    let run = Planned::of("thermometer-check", System::InchPound)
        .reads("cool_begin", "50.0")
        .reads("cool_reference", "50.6")
        .reads("cool_reference", "50.5")
        .reads("cool_read", "50.5")
        .reads("warm_begin", "85.0")
        .reads("warm_reference", "85.0")
        .reads("warm_read", "85.0")
        .work();
    assert_eq!(run.phase(), Phase::Finished, "0.6 °F once, then 0.5 °F");
    let soaks = run.edition().step_named("cool-soak").unwrap();
    assert_eq!(run.passed().iter().filter(|passed| passed.step == soaks).count(), 2, "it soaked twice");
    let run = Planned::of("thermometer-check", System::InchPound)
        .reads("cool_begin", "50.0")
        .reads("cool_reference", "51.0")
        .reads("cool_read", "50.0")
        .work();
    assert_eq!(run.phase(), Phase::Ended, "it never holds its temperature");
    assert!(run.endings()[0].because.contains("did not stay within 0.5 °F"));
}

#[test]
fn a_chamber_may_lose_half_a_mark_and_no_more() {
    for (lost, is_tight) in [("0.5", true), ("0.75", false)] {
        let run = air_meter(System::InchPound, "0.2450", "0.0125", "5.1", "10.2").but("lost", lost).work();
        assert_eq!(run.phase() == Phase::Finished, is_tight, "{lost} marks");
    }
}

#[test]
fn a_gauge_may_be_out_by_its_tolerance_and_the_second_amount_is_optional() {
    // 100 x 0.353 / 7.06 is exactly 5 %.
    for (first, second, n_findings) in [("5.1", "9.9", 0), ("5.2", "9.9", 1), ("4.8", "10.2", 2)] {
        let run = air_meter(System::Si, "7.060", "0.353", first, second).work();
        assert_eq!(findings(&run).len(), n_findings, "{first} and {second}: {:?}", findings(&run));
        assert!(run.results().iter().any(|outcome| outcome.id == "error_two"));
    }
    let run = air_meter(System::Si, "7.060", "0.353", "5.0", "10.0").but("points", "one").work();
    let ids: Vec<_> = run.results().iter().map(|outcome| outcome.id.to_owned()).collect();
    assert_eq!(ids, ["expected_one", "expected_two", "error"], "nothing is said of an amount that was not tried");
}

// ------------------------------------------------------------------------------------------------ delivery

#[test]
fn weather_that_is_not_measured_leaves_the_rate_out() {
    for system in SYSTEMS {
        let run = delivery(Planned::of("delivery", system)).reads("weather", "left_out").work();
        assert_eq!(run.phase(), Phase::Finished);
        assert!(run.results().is_empty(), "no rate is made up");
    }
}

#[test]
fn the_caution_of_evaporation_is_given_from_its_figure_on() {
    // Dry air without wind, so that the rate hangs on the concrete alone.
    for (system, lower, upper) in [(System::InchPound, "67", "68"), (System::Si, "34.5", "35.0")] {
        let (wind, air) = if system == System::Si { ("6", "0.0") } else { ("11", "0") };
        for (concrete, is_warned) in [(lower, false), (upper, true)] {
            let run = weather(system, concrete, air, "0", wind).work();
            let most = exact(if system == System::Si { "1.0" } else { "0.2" });
            let rate = result(&run, "evaporation").reported.exact.clone();
            assert_eq!(rate >= most, is_warned, "{concrete}: {rate} lies where this test thinks it does");
            assert_eq!(!findings(&run).is_empty(), is_warned, "{concrete}: {:?}", findings(&run));
        }
    }
}

#[test]
fn time_turns_and_water_are_allowed_up_to_their_limit() {
    let load = |minutes: &str, turns: &str, water: &str| {
        Planned::of("delivery", System::InchPound)
            .reads("minutes", minutes)
            .reads("minutes_most", "90")
            .reads("turns_stated", "yes")
            .reads("turns_most", "300")
            .reads("turns", turns)
            .reads("water", "yes")
            .reads("water_allowed", "6")
            .reads("water_added", water)
            .reads("additions", "1")
            .reads("turns_mixed", "30")
            .reads("weather", "left_out")
    };
    assert_eq!(findings(&load("90", "300", "6").work()), [""; 0], "equal passes");
    let over = findings(&load("91", "301", "6.5").work());
    assert_eq!(over.len(), 3, "{over:?}");
    for (said, expected) in over.iter().zip(["91 minutes ago", "turned 301 times", "6.5 gal of water"]) {
        assert!(said.contains(expected), "{said}");
    }
    let run = delivery(Planned::of("delivery", System::InchPound)).reads("weather", "left_out").work();
    let told = run.edition().step_named("discharge-by").unwrap();
    assert_eq!(
        run.say(&run.edition().step(told).instruction),
        "Tell the crew: 50 minutes are left to discharge it all"
    );
}

// ------------------------------------------------------------------------------------------------ moulding

#[test]
fn moulding_begins_and_cylinders_are_stored_within_their_times() {
    for (step, seconds, late) in [
        // Five acts of a second each stand between the remixed sample and the first scoop: slump, rod or vibrator, the
        // rod, wet tools, and the scoop itself.
        ("wet-tools", 15 * 60 - 4, 0),
        ("wet-tools", 15 * 60 - 3, 1),
        // Lids, marks, the answer where they were made, and the press that they stand.
        ("lids", 15 * 60 - 3, 0),
        ("lids", 15 * 60 - 2, 1),
    ] {
        let run = cylinders(System::InchPound, "small", "rod", "4.00").takes(step, seconds).work();
        let n_late = run.findings().iter().filter(|finding| matches!(finding.what, FindingKind::Late { .. })).count();
        assert_eq!(n_late, late, "{step} {seconds} s: {:?}", findings(&run));
    }
}

#[test]
fn layers_follow_the_mould_and_the_way_it_is_compacted() {
    for (size, way, slump, layers, acts) in [
        ("small", "rod", "1.00", 2, &["strokes-bottom", "strokes"][..]),
        ("large", "rod", "4.00", 3, &["strokes-bottom", "strokes", "strokes"]),
        ("small", "vibrate", "0.75", 2, &["insert-small", "insert-small"]),
        ("large", "vibrate", "2.00", 2, &["insert-large", "insert-large"]),
    ] {
        let run = cylinders(System::InchPound, size, way, slump).work();
        let done = |prefix: &str| -> Vec<String> {
            let ids = run.passed().iter().map(|passed| run.edition().step(passed.step).id.clone());
            ids.filter(|id| id.starts_with(prefix) && !id.starts_with("strike")).collect()
        };
        assert_eq!(done("fill").len(), layers, "{size}, {way}");
        assert_eq!(done("fill").last().unwrap(), "fill-last", "{size}, {way}");
        assert_eq!(done("taps").len(), layers, "{size}, {way}: each layer is tapped");
        let compacted = if way == "rod" { done("strokes") } else { done("insert") };
        assert_eq!(compacted, acts, "{size}, {way}");
    }
    for (shape, layers) in [("cube_100", 2), ("cube_150", 2), ("cylinder_100", 2), ("cylinder_150", 3)] {
        let run = specimens_en(shape).work();
        let fill = run.edition().step_named("fill").unwrap();
        assert_eq!(run.passed().iter().filter(|passed| passed.step == fill).count(), layers, "{shape}");
    }
}

#[test]
fn a_stiff_mixture_is_vibrated_and_a_coarse_one_needs_the_wide_mould() {
    for (system, slump, is_rodded) in [
        (System::InchPound, "0.75", false),
        (System::InchPound, "1.00", true),
        (System::Si, "20", false),
        (System::Si, "25", true),
    ] {
        let (run, refused) = cylinders(system, "large", "rod", slump).until_refused();
        assert_eq!(refused.is_none(), is_rodded, "{slump}: {:?}", findings(&run));
        if let Some(refused) = refused {
            assert!(said(&refused).contains("vibrate"), "{}", said(&refused));
        }
    }
    for (aggregate, fits) in [("1.000", true), ("1.125", false)] {
        let (_, refused) =
            cylinders(System::InchPound, "small", "rod", "4.00").but("aggregate", aggregate).until_refused();
        assert_eq!(refused.is_none(), fits, "aggregate of {aggregate} in");
    }
    for (aggregate, is_sieved) in [("2.000", false), ("2.125", true)] {
        let run = cylinders(System::InchPound, "large", "rod", "4.00").but("aggregate", aggregate).work();
        let sieve = run.edition().step_named("sieve").unwrap();
        assert_eq!(run.passed().iter().any(|passed| passed.step == sieve), is_sieved, "aggregate of {aggregate} in");
    }
}

#[test]
fn high_strength_narrows_the_range_of_the_first_curing() {
    for (system, strength, temperature, is_noted) in [
        (System::InchPound, "5950", "80", false),
        (System::InchPound, "5950", "81", true),
        (System::InchPound, "5950", "60", false),
        (System::InchPound, "5950", "59", true),
        (System::InchPound, "6000", "78", false),
        (System::InchPound, "6000", "79", true),
        (System::InchPound, "6000", "68", false),
        (System::InchPound, "6000", "67", true),
        (System::Si, "39", "27.0", false),
        (System::Si, "39", "27.5", true),
        (System::Si, "40", "26.0", false),
        (System::Si, "40", "26.5", true),
        (System::Si, "40", "20.0", false),
        (System::Si, "40", "19.5", true),
    ] {
        let slump = if system == System::Si { "100" } else { "4.00" };
        let run = cylinders(system, "large", "rod", slump)
            .but("strength", strength)
            .but("storage_temperature", temperature)
            .work();
        let noted = findings(&run).iter().any(|text| text.contains("the first curing needs"));
        assert_eq!(noted, is_noted, "{strength}, {temperature}: {:?}", findings(&run));
    }
}

#[test]
fn every_cylinder_has_one_use_and_its_day() {
    let run = cylinders(System::InchPound, "small", "rod", "4.00").work();
    assert_eq!(reported(&run, "specimens"), "6");
    let moulded = run.edition().step_named("moulded").unwrap();
    let moulded = run.passed().iter().find(|passed| passed.step == moulded).unwrap().done.wall.unix_ms;
    let hour = 3_600_000;
    let due: Vec<_> = run
        .appointments()
        .iter()
        .map(|due| {
            let hours = (due.at.wall.unix_ms - moulded) / hour;
            let within = due.spec.give_or_take.map(|span| span.0 / 3_600_000);
            (due.spec.id.clone(), hours, within, due.count.as_ref().map(ToString::to_string))
        })
        .collect();
    let expected = [
        ("transport", 8, None, None),
        ("first-curing-ends", 48, None, None),
        ("break-3", 3 * 24, Some(2), Some("1")),
        ("break-7", 7 * 24, Some(6), Some("1")),
        ("break-28", 28 * 24, Some(20), Some("3")),
    ];
    let expected = expected.map(|(id, hours, within, count)| (id.to_owned(), hours, within, count.map(str::to_owned)));
    assert_eq!(due, expected);
    let title = run.appointments().last().map(|due| run.say(&due.spec.title)).unwrap();
    assert_eq!(title, "HB-14: break 3 at 28 days");

    for (reading, wrong, why) in [
        ("n_7", "7", "There are only 6."),
        ("n_28", "6", "1 are for 7 days, and there are only 6."),
        ("n_other", "3", "1 are for 7 days and 3 for 28 days, and there are only 6."),
        ("n_reserve", "0", "It does not add up: 1 left of 6."),
        ("n_reserve", "2", "It does not add up: 1 left of 6."),
    ] {
        let (_, refused) = cylinders(System::InchPound, "small", "rod", "4.00").but(reading, wrong).until_refused();
        let said = refused.map(|refused| said(&refused)).unwrap_or_default();
        assert!(said.contains(why), "{reading} {wrong}: {said:?}");
    }
}

#[test]
fn too_few_cylinders_for_a_strength_test_are_noted() {
    for (size, n_28, reserve, is_noted) in
        [("small", "3", "1", false), ("small", "2", "2", true), ("large", "2", "2", false), ("large", "1", "3", true)]
    {
        let run = cylinders(System::InchPound, size, "rod", "4.00").but("n_28", n_28).but("n_reserve", reserve).work();
        let noted = findings(&run).iter().any(|text| text.contains("make a strength test"));
        assert_eq!(noted, is_noted, "{size}, {n_28} for 28 days: {:?}", findings(&run));
    }
}

#[test]
fn european_specimens_stay_in_the_mould_for_their_time() {
    let run = specimens_en("cube_150").work();
    let moulded = run.edition().step_named("moulded").unwrap();
    let moulded = run.passed().iter().find(|passed| passed.step == moulded).unwrap().done.wall.unix_ms;
    let due: Vec<_> = run
        .appointments()
        .iter()
        .map(|due| (due.spec.id.clone(), (due.at.wall.unix_ms - moulded) / 3_600_000))
        .collect();
    let expected = [("demould-earliest", 16), ("demould-latest", 72), ("break-7", 168), ("break-28", 672)];
    assert_eq!(due, expected.map(|(id, hours)| (id.to_owned(), hours)));
    let run = specimens_en("cube_150").but("storage_temperature", "25.5").work();
    assert!(findings(&run).iter().any(|text| text.contains("15 °C to 25 °C")), "{:?}", findings(&run));
    let (_, refused) = specimens_en("cube_100").but("aggregate", "29.0").until_refused();
    assert!(refused.is_some(), "3.5 times 29 mm is more than 100 mm");
}

// ------------------------------------------------------------------------------------------------ the hands

/// What a technician will answer in a run; a test changes one answer and leaves the rest.
struct Planned {
    edition: Arc<Edition>,
    answers: Vec<(String, String)>,
    pace: Option<(String, u64)>,
}

impl Planned {
    fn of(method: &str, system: System) -> Self {
        Self { edition: shipped(method, system), answers: Vec::new(), pace: None }
    }

    /// One more answer to a reading: the next one, if it is asked again.
    fn reads(mut self, reading: &str, typed: &str) -> Self {
        self.answers.push((reading.to_owned(), typed.to_owned()));
        self
    }

    /// This answer in place of all there were to the reading.
    fn but(mut self, reading: &str, typed: &str) -> Self {
        self.answers.retain(|answer| answer.0 != reading);
        self.reads(reading, typed)
    }

    fn takes(mut self, step: &str, seconds: u64) -> Self {
        self.pace = Some((step.to_owned(), seconds));
        self
    }

    fn technician(self) -> Technician {
        let mut technician = Technician::with(self.edition, Ties::Even);
        for (reading, typed) in &self.answers {
            technician = technician.reads(reading, typed);
        }
        match &self.pace {
            Some((step, seconds)) => technician.takes(step, *seconds),
            None => technician,
        }
    }

    fn work(self) -> Run {
        self.technician().work()
    }

    fn until_refused(self) -> (Run, Option<Refused>) {
        self.technician().until_refused()
    }
}

/// A load in time, without water; the weather is for the test to say.
fn delivery(planned: Planned) -> Planned {
    planned.reads("minutes", "70").reads("minutes_most", "120")
}

/// The weather over concrete of a load without faults.
fn weather(system: System, concrete: &str, air: &str, humidity: &str, wind: &str) -> Planned {
    weather_of(Planned::of("delivery", system), concrete, air, humidity, wind)
}

/// The same with any edition of the procedure.
fn weather_with(edition: Arc<Edition>, concrete: &str, air: &str, humidity: &str, wind: &str) -> Planned {
    weather_of(Planned { edition, answers: Vec::new(), pace: None }, concrete, air, humidity, wind)
}

fn weather_of(planned: Planned, concrete: &str, air: &str, humidity: &str, wind: &str) -> Planned {
    delivery(planned)
        .reads("air_temperature", air)
        .reads("humidity", humidity)
        .reads("wind", wind)
        .reads("concrete", concrete)
}

/// A measure weighed empty and full.
fn bowl(system: System, empty: &str, full: &str, temperature: &str) -> Planned {
    Planned::of("bowl-volume", system)
        .reads("scale_mark", "0.005")
        .reads("empty", empty)
        .reads("full", full)
        .reads("temperature", temperature)
}

/// A tight meter, checked with one and two canisters.
fn air_meter(system: System, bowl: &str, canister: &str, first: &str, second: &str) -> Planned {
    Planned::of("air-meter-check", system)
        .reads("bowl", bowl)
        .reads("canister", canister)
        .reads("points", "two")
        .reads("lost", "0")
        .reads("zero", "0.0")
        .reads("first", first)
        .reads("second", second)
}

/// Two steady baths: the reference, then the thermometer that is checked.
fn thermometer(system: System, cool: [&str; 2], warm: [&str; 2]) -> Planned {
    Planned::of("thermometer-check", system)
        .reads("cool_begin", cool[0])
        .reads("cool_reference", cool[0])
        .reads("cool_read", cool[1])
        .reads("warm_begin", warm[0])
        .reads("warm_reference", warm[0])
        .reads("warm_read", warm[1])
}

/// Six cylinders: one for 3 days, one for 7, three for 28, one in reserve.
fn cylinders(system: System, size: &str, way: &str, slump: &str) -> Planned {
    let (strength, aggregate, temperature) =
        if system == System::Si { ("30", "20", "23.0") } else { ("4000", "0.75", "72") };
    Planned::of("cylinders", system)
        .reads("set_label", "HB-14")
        .reads("strength", strength)
        .reads("aggregate", aggregate)
        .reads("size", size)
        .reads("moulds", "6")
        .reads("slump", slump)
        .reads("consolidation", way)
        .reads("storage_temperature", temperature)
        .reads("sound", "6")
        .reads("n_7", "1")
        .reads("n_28", "3")
        .reads("other_age", "d3")
        .reads("n_other", "1")
        .reads("n_reserve", "1")
}

/// Six European specimens: two for 7 days, three for 28, one in reserve.
fn specimens_en(shape: &str) -> Planned {
    Planned::of("specimens-en", System::Si)
        .reads("aggregate", "20")
        .reads("shape", shape)
        .reads("moulds", "6")
        .reads("storage_temperature", "22.0")
        .reads("sound", "6")
        .reads("n_7", "2")
        .reads("n_28", "3")
        .reads("other_age", "none")
        .reads("n_reserve", "1")
}

// ------------------------------------------------------------------------------------------------ words and numbers

fn beside(path: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// An edition of a text that is not shipped.
fn edition(text: &str, system: System) -> Arc<Edition> {
    let checked = procedure::check("delivery.toml", text);
    let procedure = checked.procedure.unwrap_or_else(|| panic!("it is sound: {:?}", checked.diagnostics));
    Arc::new(procedure.edition(system).unwrap().clone())
}

/// A number to the nearest multiple, a half to the even one.
fn nearest(number: Exact, increment: &str) -> Exact {
    number.rounded_to(&exact(increment), Ties::Even)
}

/// One number divided by another that is not 0.
fn over(number: Exact, by: Exact) -> Exact {
    number.checked_div(&by).expect("not 0")
}

/// A result to another multiple than the one it is reported to.
fn to(run: &Run, id: &str, increment: &str) -> Exact {
    nearest(result(run, id).reported.exact.clone(), increment)
}

/// The findings of a run, in words.
fn findings(run: &Run) -> Vec<String> {
    let said = run.findings().iter().map(|finding| match &finding.what {
        FindingKind::Rule { text } | FindingKind::Late { text, .. } => text.clone(),
        other => format!("{other:?}"),
    });
    said.collect()
}

/// Why an act was refused.
fn said(refused: &Refused) -> String {
    refused.to_string()
}

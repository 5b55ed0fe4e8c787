//! The example site files, what follows from them, and the full text a person sees for every kind of slip in one.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use bench::calendar::Date;
use bench::fact::Fact;
use bench::papers::{Standing, Used, Weight, before_the_first_act, papers, papers_of};
use bench::site::{CheckTest, Picked, Placed, Site, check};
use bench::verdict::{Conformance, Purpose, judge};
use procedure::Severity;
use procedure::diagnose::{render, to_json};
use proptest::prelude::*;
use quantity::{Exact, System, Ties};

const INCH_POUND: &str = include_str!("../../../demo/site.toml");
const SI: &str = include_str!("../../../demo/site-si.toml");

fn sound(text: &str) -> Site {
    let checked = check("site.toml", text);
    assert_eq!(render("site.toml", text, &checked.diagnostics, false), "");
    checked.site.unwrap()
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn number(value: &str, unit: &str) -> Fact {
    Fact::Number { value: value.to_owned(), unit: unit.to_owned() }
}

#[test]
fn the_inch_pound_site_says_what_its_file_says() {
    let site = sound(INCH_POUND);
    assert_eq!(site.job(), "Harrow Bend footbridge, pier 2");
    assert_eq!((site.system, site.ties, site.people), (Some(System::InchPound), Ties::Even, 1));
    assert_eq!(site.tests.len(), 6);
    let slump = site.limit("slump", "slump").unwrap();
    assert_eq!((slump.as_written.as_str(), slump.check_test), ("3 in to 5 in", CheckTest::Decides));
    let air = site.limit("air-volumetric", "air").unwrap();
    assert_eq!(air.as_written, "6.0 % ± 1.5 %");
    assert_eq!(
        (air.at_least.as_ref().unwrap().text.as_str(), air.at_most.as_ref().unwrap().text.as_str()),
        ("4.5 %", "7.5 %")
    );
    assert_eq!(site.limit("density", "density"), None);
    let specimens = site.specimens.as_ref().unwrap();
    assert_eq!(specimens.breaks.iter().map(|age| age.count).sum::<u32>() + specimens.reserve, 6);
    let mixture = site.mixture.as_ref().unwrap();
    assert_eq!(mixture.total_mass().unwrap().to_string(), "3794 lb");
}

#[test]
fn the_mixture_of_each_example_fills_its_design_volume_with_its_design_air() {
    // What the ingredients fill without air, and the design air beside it, make the design volume within 1 %.
    for (text, water, design) in [(INCH_POUND, "62.4 lb/ft³", "27"), (SI, "1000 kg/m³", "1")] {
        let volume = sound(text).mixture.unwrap().air_free_volume(&water.parse().unwrap()).unwrap();
        let share = volume.value.checked_div(&design.parse().unwrap()).unwrap();
        let exact = |text: &str| text.parse::<Exact>().unwrap();
        assert!((share - exact("0.94")).abs() < exact("0.01"), "{volume} of {design}");
    }
}

#[test]
fn the_si_site_has_values_of_its_own() {
    let site = sound(SI);
    assert_eq!((site.system, site.ties), (Some(System::Si), Ties::Up));
    let slump = site.limit("slump", "slump").unwrap();
    assert_eq!(
        (slump.at_least.as_ref().unwrap().text.as_str(), slump.at_most.as_ref().unwrap().text.as_str()),
        ("80 mm", "130 mm")
    );
    assert_eq!(site.limit("air-pressure", "air").unwrap().check_test, CheckTest::Averages);
    let amendments = site.amendments("slump");
    assert_eq!(amendments.len(), 1);
    let text = include_str!("../../../procedures/slump.toml");
    let amended = procedure::amend("slump.toml", text, &amendments).unwrap();
    assert!(amended.contains("\"4 min\"") && amended.contains("clause 5.2"));
    assert!(procedure::check("slump.toml", &amended).is_sound());
    assert!(site.amendments("temperature").is_empty());
}

#[test]
fn a_site_answers_the_readings_that_share_its_facts() {
    let site = sound(INCH_POUND);
    let facts = site.facts(System::InchPound, &Picked::on(day("2026-05-14")));
    for (name, fact) in [
        ("job", Fact::Words("Harrow Bend footbridge, pier 2".to_owned())),
        ("technician", Fact::Words("R. Okafor-Lind".to_owned())),
        ("volumetric-meter", Fact::Words("V-7".to_owned())),
        ("volumetric-meter-volume", number("0.0752", "ft³")),
        ("volumetric-meter-cup", number("1.01", "%")),
        ("volumetric-meter-in-date", Fact::Choice("yes".to_owned())),
        ("measure-volume", number("0.2494", "ft³")),
        ("cone-in-date", Fact::Choice("yes".to_owned())),
        ("aggregate-size", number("0.75", "in")),
        ("aggregate-correction", number("0.3", "%")),
        ("specified-strength", number("4000", "psi")),
        ("relative-density-cement", number("3.15", "")),
        ("delivery-minutes-most", number("90", "")),
        ("delivery-minutes-stated", Fact::Choice("yes".to_owned())),
        ("delivery-revolutions-most", number("300", "")),
        ("delivery-water-most", number("1.5", "gal/yd³")),
    ] {
        assert_eq!(facts.get(name), Some(&fact), "{name}");
    }
    assert!(!facts.keys().any(|name| name.starts_with("batch-")), "the ticket says what is in the load");
    assert!(!facts.contains_key("sample-purpose"), "the file leaves it to each sample");
    let proposals = site.proposals(System::InchPound);
    assert_eq!(proposals["batch-cement"], number("480", "lb"));
    assert_eq!((&proposals["specimens-28-d"], &proposals["specimens-reserve"]), (&number("3", ""), &number("1", "")));
    let later = site.facts(System::InchPound, &Picked::on(day("2026-06-03")));
    assert_eq!(later["measure-in-date"], Fact::Choice("no".to_owned()));
}

#[test]
fn nothing_is_converted_for_a_run_in_the_other_system() {
    let site = sound(INCH_POUND);
    let facts = site.facts(System::Si, &Picked::on(day("2026-05-14")));
    assert_eq!(facts["technician"], Fact::Words("R. Okafor-Lind".to_owned()));
    assert_eq!(facts["aggregate-correction"], number("0.3", "%"), "per cent belong to both");
    for name in ["aggregate-size", "volumetric-meter-volume", "specified-strength", "design-slump"] {
        assert_eq!(facts.get(name), None, "{name}");
    }
    assert!(!site.proposals(System::Si).keys().any(|name| name.starts_with("batch-")));
}

#[test]
fn what_could_be_one_of_two_is_asked_until_somebody_picks() {
    let two = format!(
        "{INCH_POUND}\n[[technician]]\nname = \"T. Abernathy-Ruiz\"\n\n[[apparatus]]\nkind = \"cone\"\nid = \"C-9\"\n"
    );
    let site = sound(&two);
    let on = day("2026-05-14");
    let facts = site.facts(System::InchPound, &Picked::on(on));
    assert!(!facts.contains_key("technician") && !facts.contains_key("cone"));
    let mut picked = Picked { technician: Some("t. abernathy-ruiz"), ..Picked::on(on) };
    picked.apparatus.insert("cone", "c-9");
    let facts = site.facts(System::InchPound, &picked);
    assert_eq!(facts["technician"], Fact::Words("T. Abernathy-Ruiz".to_owned()));
    assert_eq!(facts["cone"], Fact::Words("C-9".to_owned()));
    assert!(!facts.contains_key("cone-in-date"), "no date, no answer");
    assert_eq!(
        site.apparatus_facts(System::InchPound, "cone", "C-4", on)["cone-in-date"],
        Fact::Choice("yes".to_owned())
    );
    assert!(site.apparatus_facts(System::InchPound, "cone", "C-77", on).is_empty());
}

#[test]
fn papers_that_are_over_are_said_before_the_first_act() {
    let site = sound(SI);
    assert!(papers(&site, day("2026-05-14")).iter().all(|paper| paper.standing.holds() == Some(true)));
    let said = before_the_first_act(&papers(&site, day("2026-06-11")));
    assert_eq!(
        said[0],
        (Weight::Finding, "M. Quillfeather: the certification expired on 2026-06-10, 1 day ago".to_owned())
    );
    assert!(said[1..].iter().all(|(weight, _)| *weight == Weight::Remark));
    let used =
        Used { technicians: vec!["N. Nobody".to_owned()], apparatus: vec![("cone".to_owned(), "c-5".to_owned())] };
    let found = papers_of(&site, &used, day("2026-06-11"));
    assert_eq!((found[0].standing, found[1].standing.holds()), (Standing::Unknown, Some(true)));
}

#[test]
fn samples_are_due_by_what_was_placed() {
    let site = sound(SI);
    let placed = Placed { volume: "95 m³".parse().ok(), area: "1300 m²".parse().ok(), days: 1 };
    let due = site.sampling.unwrap().due(&placed).unwrap();
    assert_eq!(due.samples, 4, "{:?}", due.rules);
}

#[test]
fn to_nearest_says_otherwise_than_the_text() {
    let file = "[site]\nproject = \"p\"\nsystem = \"SI\"\n[[limit]]\nresult = \"slump\"\nat_most = \"130 mm\"\nto_nearest = \"10 mm\"\n";
    let site = sound(file);
    let limit = site.limit("slump", "slump").unwrap();
    assert_eq!(limit.as_written, "at most 130 mm, compared to the nearest 10 mm");
    let judged =
        |slump: &str| judge(&slump.parse().unwrap(), limit, Conformance::Rounding, Ties::Even, Purpose::Acceptance);
    assert!(judged("134 mm").unwrap().conforms());
    assert!(!judged("136 mm").unwrap().conforms());
}

#[test]
fn a_limit_of_one_method_goes_before_one_of_any() {
    let file = "[site]\nproject = \"p\"\n[[limit]]\nresult = \"air\"\nat_most = \"8 %\"\n[[limit]]\nresult = \"air\"\nmethod = \"air-pressure\"\nat_most = \"7 %\"\n";
    let site = sound(file);
    let most = |method: &str| site.limit(method, "air").unwrap().at_most.as_ref().unwrap().text.clone();
    assert_eq!((most("air-pressure").as_str(), most("air-volumetric").as_str()), ("7 %", "8 %"));
}

#[test]
fn every_result_of_the_page_may_have_a_limit() {
    for (system, result, most) in [
        ("inch-pound", "evaporation", "0.20 lb/ft²/h"),
        ("SI", "evaporation", "1.0 kg/m²/h"),
        ("SI", "cement_content", "330 kg/m³"),
        ("SI", "water_cement", "0.45"),
        ("SI", "flow", "550 mm"),
        ("SI", "segregation", "10"),
    ] {
        let file = format!(
            "[site]\nproject = \"p\"\nsystem = \"{system}\"\n[[limit]]\nresult = \"{result}\"\nat_most = \"{most}\"\n"
        );
        let checked = check("site.toml", &file);
        let site =
            checked.site.unwrap_or_else(|| panic!("{}", render("site.toml", &file, &checked.diagnostics, false)));
        assert_eq!(site.limits[0].as_written, format!("at most {most}"));
    }
}

/// A name, and the slips made in the inch-pound site: text to replace, and what stands there instead. `""` adds at the end.
type Case = (&'static str, &'static [(&'static str, &'static str)]);

const CASES: &[Case] = &[
    ("key_misspelt", &[("location =", "locaton =")]),
    ("header_misspelt", &[("[delivery]", "[delivry]")]),
    ("header_unknown", &[("[sampling]", "[weather]")]),
    ("key_under_no_header", &[("[site]\n", "")]),
    ("project_missing", &[("project  = \"Harrow Bend footbridge\"\n", "")]),
    ("system_missing", &[("system   = \"inch-pound\"\n", "")]),
    ("system_misspelt", &[("\"inch-pound\"", "\"inch-punds\"")]),
    ("method_misspelt", &[("\"air-volumetric\"", "\"air-volumteric\"")]),
    ("method_unknown", &[("\"air-volumetric\"", "\"flow-table\"")]),
    ("method_of_the_other_system", &[("\"slump\",", "\"slump-en\",")]),
    ("method_twice", &[("\"density\"", "\"slump\"")]),
    ("limit_in_the_other_system", &[("at_most    = \"5 in\"", "at_most    = \"125 mm\"")]),
    ("limit_in_an_unlike_unit", &[("at_most    = \"5 in\"", "at_most    = \"5 lb\"")]),
    ("limit_without_a_unit", &[("\"5 in\"", "\"5\"")]),
    ("limit_as_a_bare_number", &[("\"5 in\"", "5.0")]),
    ("limit_in_an_unknown_unit", &[("\"5 in\"", "\"5 inches\"")]),
    ("limit_that_is_no_number", &[("\"5 in\"", "\"five in\"")]),
    ("limit_backwards", &[("at_least   = \"3 in\"", "at_least   = \"6 in\"")]),
    ("limit_without_bounds", &[("at_least   = \"0.98\"\nat_most    = \"1.02\"\n", "")]),
    (
        "limit_twice",
        &[
            ("result     = \"temperature\"", "result     = \"air\""),
            ("at_least   = \"50 °F\"\nat_most    = \"90 °F\"", "at_most    = \"8 %\""),
        ],
    ),
    (
        "limit_with_bounds_and_a_target",
        &[("tolerance  = \"± 1.5 %\"", "tolerance  = \"± 1.5 %\"\nat_most    = \"7.5 %\"")],
    ),
    ("result_misspelt", &[("result     = \"slump\"", "result     = \"slmup\"")]),
    ("result_by_another_word", &[("result     = \"temperature\"", "result     = \"concrete-temperature\"")]),
    ("result_unknown", &[("result     = \"relative_yield\"", "result     = \"flow\"")]),
    ("tolerance_without_signs", &[("\"± 1.5 %\"", "\"1.5 %\"")]),
    ("tolerance_missing", &[("tolerance  = \"± 1.5 %\"\n", "")]),
    (
        "tolerance_between_two_places",
        &[("target     = \"6.0 %\"\ntolerance  = \"± 1.5 %\"", "target     = \"6 1/4 %\"\ntolerance  = \"± 0.1 %\"")],
    ),
    ("check_test_misspelt", &[("check_test = false", "check_test = \"avarage\"")]),
    ("date_that_does_not_exist", &[("2026-08-14", "2026-06-31")]),
    ("date_in_another_form", &[("2029-03-31", "\"03/31/2029\"")]),
    ("date_of_one_digit", &[("2026-12-01", "2026-12-1")]),
    ("date_with_slashes", &[("2026-12-01", "12/01/2026")]),
    ("date_with_a_time", &[("2026-12-01", "2026-12-01T08:00:00")]),
    ("apparatus_twice", &[("", "\n[[apparatus]]\nkind = \"volumetric-meter\"\nid = \"v-7\"\n")]),
    ("apparatus_of_a_misspelt_kind", &[("\"thermometer\"", "\"termometer\"")]),
    ("apparatus_of_no_known_kind", &[("kind = \"cone\"", "kind = \"vibrator\"")]),
    ("apparatus_without_a_mark", &[("id   = \"B-2\"\n", "")]),
    ("volume_of_a_cone", &[("id   = \"C-4\"", "id   = \"C-4\"\nvolume = \"0.2 ft³\"")]),
    ("technician_twice", &[("", "\n[[technician]]\nname = \"R. Okafor-Lind\"\n")]),
    ("single_brackets_where_double_are_needed", &[("[[technician]]", "[technician]")]),
    ("time_without_a_unit", &[("\"90 min\"", "90")]),
    ("time_unreadable", &[("\"90 min\"", "\"an hour and a half\"")]),
    ("count_that_is_none", &[("revolutions_at_most     = 300", "revolutions_at_most     = \"many\"")]),
    ("mass_below_nothing", &[("\"264 lb\"", "\"-264 lb\"")]),
    ("relative_density_of_nothing", &[("\"3.15\"", "\"0\"")]),
    ("every_nothing", &[("\"50 yd³\"", "\"0 yd³\"")]),
    ("age_unreadable", &[("\"7 d ± 6 h: 2\"", "\"7 days 2\"")]),
    ("age_twice", &[("\"7 d ± 6 h: 2\"", "\"28 d: 1\"")]),
    ("figure_without_a_reason", &[("", "\n[figures.slump]\nstart_within = { is = \"4 min\" }\n")]),
    ("figure_of_a_misspelt_method", &[("", "\n[figures.slupm]\nstart_within = { is = \"4 min\", because = \"x\" }\n")]),
    ("text_empty", &[("\"pier 2\"", "\"\"")]),
    ("language_of_the_future", &[("project  =", "language = 2\nproject  =")]),
    ("toml_quote_missing", &[("\"pier 2\"", "\"pier 2")]),
    ("toml_key_twice", &[("ties     = \"even\"", "ties     = \"even\"\nties     = \"up\"")]),
    ("a_procedure", &[("[site]", "[procedure]")]),
    (
        "several_at_once",
        &[
            ("project  =", "projekt  ="),
            ("\"3 in\"", "\"3\""),
            ("2026-06-02", "2026-02-30"),
            ("\"cone\"", "\"cones\""),
            ("[specimens]", "[specimen]"),
        ],
    ),
];

fn slipped(slips: &[(&str, &str)]) -> String {
    let mut text = INCH_POUND.to_owned();
    for (from, to) in slips {
        if from.is_empty() {
            text.push_str(to);
        } else {
            assert!(text.contains(from), "the sound file has no {from:?}");
            text = text.replacen(from, to, 1);
        }
    }
    text
}

/// Checks a text: either a site or an error, every fault with a place in the text and a way to mend it.
fn told(text: &str) -> String {
    let checked = check("site.toml", text);
    let errors = checked.diagnostics.iter().any(|fault| fault.severity == Severity::Error);
    assert_eq!(checked.site.is_none(), errors, "a site comes out unless there is an error: {:?}", checked.diagnostics);
    for fault in &checked.diagnostics {
        assert!(fault.labels.iter().any(|label| label.primary), "no place: {fault:?}");
        assert!(!fault.help.is_empty(), "nothing says how to mend it: {fault:?}");
        for label in &fault.labels {
            assert!(label.at.end <= text.len() && text.is_char_boundary(label.at.start), "{fault:?}");
        }
    }
    render("site.toml", text, &checked.diagnostics, false)
}

#[test]
fn every_slip_is_explained_where_it_is() {
    for (name, slips) in CASES {
        let shown = told(&slipped(slips));
        assert!(!shown.is_empty(), "nothing wrong was found: {name}");
        insta::assert_snapshot!(*name, shown);
    }
}

#[test]
fn one_slip_is_one_fault() {
    for (name, slips) in CASES {
        let found = check("site.toml", &slipped(slips)).diagnostics.len();
        let expected = if *name == "several_at_once" { 5 } else { 1 };
        assert_eq!(found, expected, "{name}\n{}", told(&slipped(slips)));
    }
}

#[test]
fn the_faults_have_a_form_for_editors() {
    let text = slipped(&[("\"5 in\"", "\"125 mm\"")]);
    insta::assert_snapshot!("as_json", to_json("site.toml", &text, &check("site.toml", &text).diagnostics));
}

#[test]
fn an_empty_file_and_one_of_another_kind_are_told_apart() {
    for (text, title) in [
        ("", "this file is empty"),
        ("\u{feff}  \n", "this file is empty"),
        ("# nothing yet\n", "there is no [site] header"),
        ("{\"site\": 1}", "this line cannot be read"),
    ] {
        let found = check("site.toml", text).diagnostics;
        assert!(found.iter().any(|fault| fault.title == title), "{text:?}: {found:?}");
    }
    let long = "#".repeat(bench::site::LONGEST_FILE + 1);
    assert_eq!(check("site.toml", &long).diagnostics[0].code, "too-large");
}

/// Pieces of site files that are more likely to upset a reader than others.
fn piece() -> impl Strategy<Value = String> {
    let words = [
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "\"",
        "'",
        "=",
        ",",
        ".",
        "#",
        "\n",
        "\r\n",
        "\u{feff}",
        "½",
        "±",
        "°F",
        "1e999",
        "-",
        "[site]\n",
        "project = \"p\"\n",
        "system = \"SI\"\n",
        "[[limit]]\n",
        "result = \"slump\"\n",
        "at_most = \"4 in\"\n",
        "target = \"4 1/4 in\"\n",
        "tolerance = \"± \"\n",
        "[specimens]\n",
        "break = [\"7 d: 2\"]\n",
        "[figures.slump]\n",
        "x = { is = 1, because = \"y\" }\n",
        "due = 2026-02-30\n",
        "[mixture.batch]\n",
        "cement = \"9 lb\"\n",
        "[[apparatus]]\n",
    ];
    prop_oneof![
        6 => proptest::sample::select(words.to_vec()).prop_map(str::to_owned),
        1 => any::<char>().prop_map(String::from),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_the_text_reading_it_ends_and_can_be_shown(pieces in proptest::collection::vec(piece(), 0..40)) {
        told(&pieces.concat());
    }

    #[test]
    fn a_sound_file_with_a_part_taken_out_is_read_to_its_end(from in 0_usize..4000, length in 0_usize..200) {
        let inside = |at: usize| (0..=at.min(INCH_POUND.len())).rev().find(|at| INCH_POUND.is_char_boundary(*at)).unwrap();
        let (from, to) = (inside(from), inside(from + length));
        told(&format!("{}{}", &INCH_POUND[..from], &INCH_POUND[to.max(from)..]));
    }
}

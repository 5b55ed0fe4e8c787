//! Faulty procedure files and the full text a person sees for each.
//!
//! Every case is one sound procedure with a slip of the kind people make; the text is a snapshot in
//! `tests/snapshots/`, to be read as the person who has to mend the file reads it.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use procedure::diagnose::{render, to_json};
use procedure::{Severity, check};

const SMALL: &str = include_str!("procedures/small.toml");
const STACK: &str = include_str!("procedures/stack.toml");
const AIR: &str = include_str!("../../../procedures/air-volumetric.toml");

/// A name, and the slips made: text to replace, and what stands there instead. `""` for the former adds at the end.
type Case = (&'static str, &'static [(&'static str, &'static str)]);

fn slipped(sound: &str, slips: &[(&str, &str)]) -> String {
    let mut text = sound.to_owned();
    for (from, to) in slips {
        if from.is_empty() {
            text.push_str(to);
        } else {
            assert!(text.contains(from), "the sound procedure has no {from:?}");
            text = text.replacen(from, to, 1);
        }
    }
    text
}

fn told(file_name: &str, text: &str) -> String {
    let checked = check(file_name, text);
    assert!(!checked.diagnostics.is_empty(), "nothing wrong was found");
    let errors = checked.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error);
    assert_eq!(checked.procedure.is_none(), errors, "a procedure comes out unless there is an error");
    for diagnostic in &checked.diagnostics {
        assert!(diagnostic.labels.iter().any(|label| label.primary), "no place: {diagnostic:?}");
        assert!(!diagnostic.help.is_empty(), "nothing says how to mend it: {diagnostic:?}");
    }
    render(file_name, text, &checked.diagnostics, false)
}

#[test]
fn the_sound_procedures_have_no_fault() {
    for text in [SMALL, STACK, AIR] {
        let checked = check("sound.toml", text);
        assert_eq!(render("sound.toml", text, &checked.diagnostics, false), "");
        assert!(checked.is_sound());
    }
}

#[test]
fn every_slip_is_explained_where_it_is() {
    let mut names = Vec::new();
    for (sound, cases) in [(SMALL, SMALL_CASES), (STACK, STACK_CASES), (AIR, AIR_CASES)] {
        for (name, slips) in cases {
            assert!(!names.contains(name), "two cases are called {name}");
            names.push(name);
            let text = slipped(sound, slips);
            insta::assert_snapshot!(*name, told("slip.toml", &text));
        }
    }
    assert!(names.len() >= 45, "{} cases", names.len());
}

/// What a sample with several tests needs.
const STACK_CASES: &[Case] = &[
    // Rounds that are counted.
    ("times_without_a_most", &[("repeat = { times = \"layers\", at_most = 4,", "repeat = { times = \"layers\",")]),
    ("times_in_inches", &[("repeat = { times = \"layers\"", "repeat = { times = \"width\"")]),
    ("times_of_a_choice", &[("repeat = { times = \"layers\"", "repeat = { times = \"size\"")]),
    ("times_without_end", &[("at_most = 4,", "at_most = 4000,")]),
    (
        "times_and_agreement_at_once",
        &[("at_most = 4,", "rounds_at_most = 4, value = \"slope\", within = 1, discard = \"No\",")],
    ),
    ("times_read_only_sometimes", &[("  read = \"layers\"\n", "  read = \"layers\"\n  when = \"size == large\"\n")]),
    ("times_read_too_late", &[("repeat = { times = \"layers\"", "repeat = { times = \"n_7 / 1 piece\"")]),
    // Moments and shared facts.
    (
        "times_read_where_a_moment_is_marked",
        &[("read = \"layers\"\n", "read = \"layers\"\n  moment = \"first-portion\"\n")],
    ),
    ("moment_in_capitals", &[("moment = \"last-portion\"", "moment = \"Last portion\"")]),
    ("moment_misspelt", &[("moment = \"last-portion\"", "moment = \"last-porton\"")]),
    ("shared_twice", &[("shared = \"slope\"", "shared = \"height\"")]),
    ("shared_with_underscore", &[("shared = \"slope\"", "shared = \"the_slope\"")]),
    ("shared_tally", &[("at_most = 30\n", "at_most = 30\nshared  = \"taps\"\n")]),
    // Optional results.
    ("result_on_a_number", &[("when   = \"size == large\"\nshared", "when   = \"height\"\nshared")]),
    ("result_no_longer_optional", &[("when   = \"size == large\"\nshared", "shared")]),
    ("root_of_a_length", &[("sqrt(height / width)", "sqrt(height)")]),
    ("attempt_with_brackets", &[("when = \"attempt > 1\"", "when = \"attempt(2)\"")]),
    // Appointments.
    ("appointment_without_a_time", &[("after        = \"7 d\"\n", "")]),
    ("appointment_from_no_step", &[("from         = \"finish\"", "from         = \"finished\"")]),
    ("appointment_counts_words", &[("count        = \"n_7\"", "count        = \"technician\"")]),
    ("appointment_twice", &[("id     = \"move\"", "id     = \"break-7\"")]),
    ("appointment_in_weeks", &[("after        = \"7 d\"", "after        = \"1 week\"")]),
    // Durations.
    ("durations_without_source", &[("lasts_source     = \"ours: estimate\"\n", "")]),
    ("durations_backwards", &[("lasts  = [\"25 s\", \"40 s\"]", "lasts  = [\"40 s\", \"25 s\"]")]),
    ("duration_alone", &[("lasts  = [\"25 s\", \"40 s\"]", "lasts  = [\"25 s\"]")]),
    ("hands_free_in_an_act", &[("moment = \"moulded\"", "moment = \"moulded\"\n  hands  = \"free\"")]),
    (
        "hands_free_while_turning",
        &[("hold   = { at_least = \"5 s\" }\n", "hold   = { at_least = \"5 s\" }\n  hands  = \"free\"\n")],
    ),
    // A wait that leads on by itself.
    (
        "goes_on_while_turning",
        &[("hold   = { at_least = \"5 s\" }", "hold   = { at_least = \"5 s\", goes_on = true }")],
    ),
    (
        "goes_on_with_busy_hands",
        &[(
            "hold   = { at_least = \"soak\" }\n  hands  = \"free\"",
            "hold   = { at_least = \"soak\", goes_on = true }",
        )],
    ),
    (
        "goes_on_in_words",
        &[("hold   = { at_least = \"soak\" }", "hold   = { at_least = \"soak\", goes_on = \"yes\" }")],
    ),
    (
        "goes_on_while_something_comes_back",
        &[(
            "hold   = { at_least = \"soak\" }",
            "hold   = { at_least = \"soak\", goes_on = true }\n  every  = { span = \"15 s\", cue = \"Stir\", source = \"ours\" }",
        )],
    ),
    // What is spoken.
    (
        "step_long_to_say",
        &[(
            "  hold   = { at_least = \"soak\" }",
            "  slip   = \"None\"\n  say    = \"Leave it there until it has soaked through to the middle, and see that nobody stirs it or takes it out\"\n  hold   = { at_least = \"soak\" }",
        )],
    ),
    (
        "limit_long_to_say",
        &[(
            "From the last portion",
            "From the moment at which the very last portion came out of the truck that brought it",
        )],
    ),
    ("hands_neither", &[("hands  = \"free\"", "hands  = \"busy\"")]),
];

const SMALL_CASES: &[Case] = &[
    // Keys.
    ("key_misspelt", &[("graduation = \"0.25\"", "gradaution = \"0.25\"")]),
    ("key_unknown", &[("is     = 25", "is     = 25\ncolour = \"red\"")]),
    ("key_missing_in_reading", &[("ask        = \"Level in the neck\"\n", "")]),
    ("key_missing_in_procedure", &[("version  = \"1\"\n", "")]),
    ("key_of_another_kind", &[("kind    = \"tally\"\n", "")]),
    ("header_unknown", &[("[source.ours]", "[sources.ours]")]),
    ("header_without_name", &[("[figure.strokes]", "[figure]")]),
    ("single_brackets_where_double_are_needed", &[("[[limit]]", "[limit]")]),
    ("no_procedure_header", &[("[procedure]\n", "")]),
    ("wrong_kind_of_value", &[("title = \"Level with the cups added back\"", "title = 5")]),
    ("unknown_word", &[("between = \"interpolate\"", "between = \"interpolated\"")]),
    // Names.
    ("reading_misspelt_in_step", &[("read = \"water\"", "read = \"watter\"")]),
    ("figure_misspelt", &[("exactly = \"strokes\"", "exactly = \"stroke\"")]),
    ("step_misspelt", &[("to      = \"shake\"", "to      = \"shaek\"")]),
    ("stage_unknown", &[("during  = [\"work\"]", "during  = [\"wrok\", \"nowhere\"]")]),
    (
        "again_unknown",
        &[(
            "again   = \"more-water\"\nsource  = \"ours\"\n\n[[limit]]",
            "again   = \"more_watr\"\nsource  = \"ours\"\n\n[[limit]]",
        )],
    ),
    (
        "source_unknown",
        &[(
            "[figure.most_change]\nis     = \"0.25 %\"\nsource = \"ours\"",
            "[figure.most_change]\nis     = \"0.25 %\"\nsource = \"manual: step 3\"",
        )],
    ),
    ("name_in_formula_misspelt", &[("is    = \"level + sum(cups)", "is    = \"levle + sum(cups)")]),
    ("name_given_twice", &[("[reading.clear]", "[reading.strokes]"), ("read = \"clear\"", "read = \"strokes\"")]),
    ("header_twice", &[("[figure.shake_least]", "[figure.strokes]")]),
    ("key_twice", &[("is     = 25", "is     = 25\nis     = 26")]),
    ("step_twice", &[("id     = \"rod\"", "id     = \"pour\"")]),
    (
        "answer_twice",
        &[("{ id = \"no\",  label = \"No\",  key = \"n\" }", "{ id = \"yes\",  label = \"No\",  key = \"Y\" }")],
    ),
    ("name_with_capitals", &[("[figure.most_change]", "[figure.Most-Change]")]),
    ("name_that_is_a_word_of_formulas", &[("[reading.clear]", "[reading.known]")]),
    ("step_id_with_underscore", &[("id     = \"rod\"", "id     = \"rod_it\"")]),
    ("reading_where_a_figure_belongs", &[("exactly = \"strokes\"", "exactly = \"level\"")]),
    // Numbers, units, times.
    ("unit_unknown", &[("unit    = \"cup\"", "unit    = \"cupp\"")]),
    (
        "unit_of_the_other_system",
        &[(
            "unit       = { inch-pound = \"pt\", SI = \"L\" }\ngraduation = \"0.5\"",
            "unit       = \"pt\"\ngraduation = \"0.5\"",
        )],
    ),
    ("unit_missing", &[("is     = 25\nunit   = \"stroke\"", "is     = 25")]),
    ("unit_twice", &[("is     = 25\n", "is     = \"25 strokes\"\n")]),
    ("units_unlike_in_formula", &[("level + sum(cups) * 1 %/cup", "level + sum(cups)")]),
    ("unit_unlike_in_settle", &[("change_at_most = \"most_change\"", "change_at_most = \"least_water\"")]),
    (
        "value_missing_for_a_system",
        &[("is     = { inch-pound = \"1 pt\", SI = \"0.5 L\" }", "is     = { inch-pound = \"1 pt\" }")],
    ),
    (
        "system_misspelt",
        &[("is     = { inch-pound = \"1 pt\", SI = \"0.5 L\" }", "is     = { inch_pound = \"1 pt\", SI = \"0.5 L\" }")],
    ),
    ("time_without_unit", &[("at_most = \"5 min\"", "at_most = 5")]),
    ("time_unreadable", &[("at_most = \"5 min\"", "at_most = \"5 minutes\"")]),
    ("time_where_a_figure_is_none", &[("hold   = { at_least = \"shake_least\"", "hold   = { at_least = \"strokes\"")]),
    ("number_unreadable", &[("is     = \"0.25 %\"", "is     = \"a quarter %\"")]),
    ("count_of_half_a_stroke", &[("is     = 25", "is     = 25.5")]),
    ("range_ends_between_marks", &[("range      = [\"0.00\", \"9.00\"]", "range      = [\"0.00\", \"9.10\"]")]),
    ("range_backwards", &[("range      = [\"0.00\", \"9.00\"]", "range      = [9, 0]")]),
    ("range_with_three_ends", &[("range      = [\"0.00\", \"9.00\"]", "range      = [0, 5, 9]")]),
    (
        "typical_between_marks",
        &[(
            "range      = [\"0.00\", \"9.00\"]",
            "range      = [\"0.00\", \"9.00\"]\ntypical    = [\"5.00\", \"6.10\"]",
        )],
    ),
    (
        "typical_beyond_the_range",
        &[(
            "range      = [\"0.00\", \"9.00\"]",
            "range      = [\"0.00\", \"9.00\"]\ntypical    = [\"5.00\", \"9.25\"]",
        )],
    ),
    (
        "typical_backwards",
        &[(
            "range      = [\"0.00\", \"9.00\"]",
            "range      = [\"0.00\", \"9.00\"]\ntypical    = [\"6.00\", \"5.00\"]",
        )],
    ),
    ("graduation_zero", &[("graduation = \"0.25\"", "graduation = 0")]),
    // Sources.
    (
        "figure_without_source",
        &[("is     = 25\nunit   = \"stroke\"\nsource = \"ours\"", "is     = 25\nunit   = \"stroke\"")],
    ),
    ("step_without_source", &[("pace = \"1 s\" }\n  source = \"ours\"", "pace = \"1 s\" }")]),
    (
        "rule_without_source",
        &[(
            "refuse = \"At least {least_water}, and this is {water}.\"\n    source = \"ours\"",
            "refuse = \"At least {least_water}, and this is {water}.\"",
        )],
    ),
    (
        "nobody_uses_it",
        &[
            ("", "\n[source.manual]\ntitle = \"A manual\"\n\n[figure.spare]\nis = \"3 mm\"\nsource = \"ours\"\n"),
            ("systems  = [\"inch-pound\", \"SI\"]", "systems  = [\"SI\"]"),
            ("{ inch-pound = \"1 pt\", SI = \"0.5 L\" }", "\"0.5 L\""),
            ("{ inch-pound = \"pt\", SI = \"L\" }", "\"L\""),
            ("{ inch-pound = \"pt\", SI = \"L\" }", "\"L\""),
        ],
    ),
    // Tables, values, results.
    (
        "rows_do_not_rise",
        &[(
            "rows    = [[\"0.0\", \"0.0\"], [\"4.0\", \"0.8\"]]",
            "rows    = [[\"0.0\", \"0.0\"], [\"4.0\", \"0.8\"], [\"3.0\", \"0.6\"]]",
        )],
    ),
    ("row_with_three_columns", &[("[\"4.0\", \"0.8\"]", "[\"4.0\", \"0.8\", \"1.0\"]")]),
    (
        "one_row_to_interpolate",
        &[("rows    = [[\"0.0\", \"0.0\"], [\"4.0\", \"0.8\"]]", "rows    = [[\"0.0\", \"0.0\"]]")],
    ),
    ("table_shorter_than_the_range", &[("[\"4.0\", \"0.8\"]]", "[\"3.0\", \"0.6\"]]")]),
    ("table_asked_between_rows", &[("between = \"interpolate\"", "between = \"refuse\"")]),
    ("table_asked_with_a_sum", &[("correction(water)", "correction(water + water)")]),
    (
        "value_used_before_it_is_defined",
        &[("is    = \"level + sum(cups) * 1 %/cup\"", "is    = \"content + sum(cups) * 1 %/cup\"")],
    ),
    ("value_of_itself", &[("is    = \"level + sum(cups) * 1 %/cup\"", "is    = \"raised + 1 %\"")]),
    ("reading_left_out_by_when", &[("read = \"water\"\n", "read = \"water\"\n  when = \"round > 0\"\n")]),
    ("reading_never_read", &[("read = \"clear\"", "mark = \"Looks\"")]),
    ("term_in_another_unit", &[("name = \"raised\"", "name = \"water\"")]),
    ("rounded_to_nothing", &[("report = { nearest = \"0.25\" }", "report = { nearest = 0 }")]),
    // Steps.
    (
        "two_wants",
        &[(
            "read = \"clear\"",
            "read = \"clear\"\n  count = { of = \"taps\", at_least = 10, at_most = 15 }\n  source = \"ours\"",
        )],
    ),
    ("turns_without_hold", &[("hold   = { at_least = \"shake_least\", at_most = \"2 min\" }\n", "")]),
    ("most_less_than_least", &[("at_most = \"2 min\"", "at_most = \"30 s\"")]),
    ("count_without_a_number", &[("exactly = \"strokes\", ", "")]),
    ("given_up_before_the_second_reading", &[("give_up_after = \"6 min\"", "give_up_after = \"1 min\"")]),
    ("back_to_a_later_step", &[("back    = { to = \"shake\"", "back    = { to = \"settle\"")]),
    ("back_to_another_stage", &[("back    = { to = \"shake\"", "back    = { to = \"rod\"")]),
    ("limit_backwards", &[("from    = \"pour\"\nto      = \"shake\"", "from    = \"shake\"\nto      = \"pour\"")]),
    (
        "refuse_where_nothing_is_read",
        &[(
            "every  = { span = \"15 s\", cue = \"Turn the base\", source = \"ours\" }\n  source = \"ours\"\n",
            "every  = { span = \"15 s\", cue = \"Turn the base\", source = \"ours\" }\n  source = \"ours\"\n\n    [[stage.step.rule]]\n    if     = \"round > 2\"\n    refuse = \"Not again.\"\n    source = \"ours\"\n",
        )],
    ),
    (
        "two_consequences",
        &[("refuse = \"At least {least_water}", "finding = \"Too little\"\n    refuse = \"At least {least_water}")],
    ),
    ("no_consequence", &[("    refuse = \"At least {least_water}, and this is {water}.\"\n", "")]),
    ("back_without_an_end", &[("    discard = \"It never became clear\"\n    again   = \"more-water\"\n", "")]),
    (
        "again_with_a_finding",
        &[("finding = \"More than 5 minutes\"", "finding = \"More than 5 minutes\"\nagain   = \"more-water\"")],
    ),
    ("choice_with_one_answer", &[("  { id = \"no\",  label = \"No\",  key = \"n\" },\n", "")]),
    ("answer_that_is_none", &[("if      = \"clear == no\"", "if      = \"clear == maybe\"")]),
    ("add_to_what_is_no_tally", &[("add    = { reading = \"cups\"", "add    = { reading = \"water\"")]),
    ("stage_without_steps", &[("", "\n[[stage]]\nid = \"end\"\ntitle = \"End\"\n")]),
    // Texts.
    ("placeholder_misspelt", &[("do     = \"Rod it {strokes} times\"", "do     = \"Rod it {stroks} times\"")]),
    ("placeholder_never_closed", &[("do     = \"Rod it {strokes} times\"", "do     = \"Rod it {strokes times\"")]),
    ("was_of_a_figure", &[("{was:water}", "{was:strokes}")]),
    ("reading_in_a_title", &[("title = \"Begin\"", "title = \"Begin with {water}\"")]),
    ("text_empty", &[("do   = \"Look at the water\"", "do   = \"\"")]),
    (
        "language_unknown",
        &[("do   = \"Look at the water\"", "do   = { en = \"Look at the water\", espanol = \"Mira el agua\" }")],
    ),
    (
        "fault_in_one_language_alone",
        &[("do   = \"Look at the water\"", "do   = { en = \"Look at the water\", es = \"Mira el {agua}\" }")],
    ),
    (
        "fault_in_one_system_alone",
        &[(
            "do   = \"Look at the water\"",
            "do   = { inch-pound = \"Look at the {watr}\", SI = \"Look at the water\" }",
        )],
    ),
    ("formula_with_escapes", &[("if     = \"water < least_water\"", "if     = \"\\u0077ater < leest_water\"")]),
    (
        "place_after_letters_that_are_not_ascii",
        &[("title   = \"It leaks\"", "title   = \"Es läuft aus – über {strocks} ½\"")],
    ),
    (
        "text_over_several_lines",
        &[("do   = \"Look at the water\"", "do   = \"\"\"\nLook at the water,\nthen at the {lvel}\n\"\"\"")],
    ),
    // The file.
    ("language_of_the_future", &[("language = 1", "language = 2\nmood = \"new\"")]),
    ("attempts_without_a_bound", &[("attempts_at_most = 3\n", "")]),
    (
        "several_faults_at_once",
        &[
            ("is     = 25", "is     = \"twenty\""),
            ("graduation = \"0.25\"", "gradation = \"0.25\""),
            ("read = \"clear\"", "read = \"cleer\""),
            ("at_most = \"5 min\"", "at_most = 5"),
            ("\"raised - correction(water)\"", "\"raised - corection(water) + 5\""),
        ],
    ),
];

const AIR_CASES: &[Case] = &[
    (
        "air_more_alcohol_than_the_table_knows",
        &[(
            "range      = { inch-pound = [\"0.00\", \"5.00\"], SI = [\"0.00\", \"2.40\"] }",
            "range      = { inch-pound = [\"0.00\", \"6.00\"], SI = [\"0.00\", \"2.40\"] }",
        )],
    ),
    (
        "air_correction_without_its_condition",
        &[(
            "is     = \"if alcohol >= correction_from then alcohol_correction(alcohol) else 0 %\"",
            "is     = \"alcohol_correction(alcohol)\"",
        )],
    ),
    ("air_inch_pound_row_in_both", &[("input   = { inch-pound = \"pt\", SI = \"L\" }", "input   = \"pt\"")]),
    (
        "air_pints_compared_with_litres",
        &[(
            "is     = { inch-pound = \"1 pt\", SI = \"0.5 L\" }",
            "is     = { inch-pound = \"1 pt\", SI = \"500 mL\" }",
        )],
    ),
    (
        "air_foam_in_points",
        &[("is     = \"2 %\"\nsource = [\"manual: step 14\"", "is     = 2\nsource = [\"manual: step 14\"")],
    ),
];

#[test]
fn slips_of_toml_itself_are_explained_too() {
    let cases: &[Case] = &[
        ("toml_text_never_closed", &[("do   = \"Look at the water\"", "do   = \"Look at the water")]),
        ("toml_text_without_quotes", &[("do   = \"Look at the water\"", "do   = Look at the water")]),
        ("toml_equals_sign_missing", &[("is     = 25", "is     25")]),
        ("toml_value_missing", &[("is     = 25", "is     =")]),
        ("toml_comma_missing", &[("of = \"strokes\", exactly", "of = \"strokes\" exactly")]),
        ("toml_list_never_closed", &[("range      = [\"0.00\", \"9.00\"]", "range      = [\"0.00\", \"9.00\"")]),
        ("toml_curly_bracket_never_closed", &[("pace = \"1 s\" }", "pace = \"1 s\"")]),
        ("toml_header_never_closed", &[("[figure.strokes]", "[figure.strokes")]),
        ("toml_quote_inside_a_text", &[("\"Lift it in one pull\"", "\"Lift it in \"one\" pull\"")]),
        ("toml_typographic_quotes", &[("do   = \"Look at the water\"", "do   = “Look at the water”")]),
        ("toml_backslash", &[("do   = \"Look at the water\"", "do   = \"Look \\at the water\"")]),
        ("toml_decimal_comma", &[("range      = [\"0.00\", \"9.00\"]", "range      = [0,00, 9,00]")]),
        ("toml_leading_zero", &[("is     = 25", "is     = 025")]),
        (
            "toml_two_slips",
            &[("is     = 25", "is     25"), ("do   = \"Look at the water\"", "do   = \"Look at the water")],
        ),
    ];
    for (name, slips) in cases {
        insta::assert_snapshot!(*name, told("slip.toml", &slipped(SMALL, slips)));
    }
}

#[test]
fn strange_files_are_told_from_procedures() {
    insta::assert_snapshot!("file_empty", told("empty.toml", ""));
    insta::assert_snapshot!("file_blank", told("blank.toml", "\u{feff}\n\n  \n"));
    insta::assert_snapshot!("file_of_comments", told("notes.toml", "# nothing yet\n"));
    insta::assert_snapshot!(
        "file_of_another_kind",
        told("Cargo.toml", "[package]\nname = \"procedure\"\nversion = \"0.1.0\"\n")
    );
    insta::assert_snapshot!("file_too_large", told("large.toml", &"# all work and no play\n".repeat(60_000)));
    insta::assert_snapshot!("file_nested_too_deeply", told("deep.toml", &format!("a = {}", "[".repeat(5_000))));
    insta::assert_snapshot!("file_dotted_too_deeply", told("dots.toml", &format!("{}a = 1", "a.".repeat(5_000))));
}

#[test]
fn a_procedure_of_more_than_500_steps_is_refused() {
    let steps: String =
        (0..500).map(|step| format!("  [[stage.step]]\n  id = \"s{step}\"\n  do = \"Go on\"\n")).collect();
    insta::assert_snapshot!("too_many_steps", told("long.toml", &format!("{SMALL}\n{steps}")));
    let figures: String = (0..1_100).map(|at| format!("[figure.f{at}]\nis = \"1 %\"\nsource = \"ours\"\n")).collect();
    insta::assert_snapshot!("too_many_figures", told("wide.toml", &format!("{SMALL}\n{figures}")));
}

#[test]
fn formulas_that_grow_without_bound_are_refused() {
    let chain: String = (1..40)
        .map(|at| format!("[value.v{at}]\ntitle = \"v\"\nis = \"v{0} * v{0} / v{0}\"\nunit = \"%\"\n", at - 1))
        .collect();
    let chain = format!("[value.v0]\ntitle = \"v\"\nis = \"level\"\nunit = \"%\"\n{chain}");
    let checked = check("chain.toml", &format!("{SMALL}\n{chain}"));
    assert!(checked.diagnostics.iter().any(|diagnostic| diagnostic.code == "too-large"));
}

#[test]
fn the_place_is_right_with_a_byte_order_mark_and_with_windows_line_endings() {
    let slip = slipped(SMALL, &[("read = \"clear\"", "read = \"cleer\"")]);
    let plain = check("slip.toml", &slip);
    let line = |text: &str, at: usize| text[..at].matches('\n').count();
    for (name, text) in [
        ("byte_order_mark", format!("\u{feff}{slip}")),
        ("windows_line_endings", slip.replace('\n', "\r\n")),
        ("byte_order_mark_on_the_line", "\u{feff}[proceduer]\nid = \"x\"\n".to_owned()),
    ] {
        let checked = check("slip.toml", &text);
        if name != "byte_order_mark_on_the_line" {
            let at = checked.diagnostics[0].place();
            assert_eq!(&text[at.clone()], "\"cleer\"");
            assert_eq!(line(&text, at.start), line(&slip, plain.diagnostics[0].place().start));
        }
        insta::assert_snapshot!(name, told("slip.toml", &text));
    }
}

#[test]
fn faults_can_be_handed_to_an_editor() {
    let text = slipped(
        SMALL,
        &[("title   = \"It leaks\"", "title   = \"Läuft {strocks}\""), ("id     = \"rod\"", "id     = \"pour\"")],
    );
    let checked = check("slip.toml", &text);
    let json = to_json("slip.toml", &text, &checked.diagnostics);
    let parsed: serde_json::Value = serde_json::from_str(&json).unwrap();
    for (entry, diagnostic) in parsed.as_array().unwrap().iter().zip(&checked.diagnostics) {
        let bytes = entry["byte_start"].as_u64().unwrap() as usize..entry["byte_end"].as_u64().unwrap() as usize;
        assert_eq!(bytes, diagnostic.place());
    }
    insta::assert_snapshot!("json", json);
}

#[test]
fn colour_is_only_there_when_it_is_wanted() {
    let text = slipped(SMALL, &[("is     = 25", "is     = \"twenty\"")]);
    let checked = check("slip.toml", &text);
    assert!(!render("slip.toml", &text, &checked.diagnostics, false).contains('\u{1b}'));
    assert!(render("slip.toml", &text, &checked.diagnostics, true).contains('\u{1b}'));
}

//! Rounding and conformance against the examples agencies print, and the rounding of the canister check.
//!
//! Every example of these methods in the shared file is run; a new one joins by itself, and one that is not
//! understood fails here instead of being passed over.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test's helpers say what they expect by panicking, too")]

use quantity::{Exact, Ties};
use toml::Table;

const EXAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/data/examples.toml");

struct Example {
    method: String,
    /// "id (source)", for the message of a failure.
    named: String,
    inputs: Table,
    expected: Table,
}

impl Example {
    fn text<'a>(&self, from: &'a Table, key: &str) -> &'a str {
        let value = from.get(key).unwrap_or_else(|| panic!("{}: no {key}", self.named));
        value.as_str().unwrap_or_else(|| panic!("{}: {key} must be a text, so that it is read exactly", self.named))
    }

    fn number(&self, from: &Table, key: &str) -> Exact {
        self.text(from, key).parse().unwrap_or_else(|error| panic!("{}: {key}: {error}", self.named))
    }

    fn input(&self, key: &str) -> Exact {
        self.number(&self.inputs, key)
    }

    fn expected(&self, key: &str) -> Exact {
        self.number(&self.expected, key)
    }

    fn knows_only(&self, known: &[&str]) {
        for key in self.expected.keys() {
            assert!(known.contains(&key.as_str()), "{}: expected {key} is not checked", self.named);
        }
    }
}

/// The examples whose method starts so, and how many such lines the file has as plain text.
fn examples(method_prefix: &str) -> (Vec<Example>, usize) {
    let text = std::fs::read_to_string(EXAMPLES).unwrap_or_else(|error| panic!("{EXAMPLES}: {error}"));
    let file: Table = text.parse().unwrap_or_else(|error| panic!("{EXAMPLES}: {error}"));
    let of_interest = |row: &&Table| {
        row.get("method").and_then(|method| method.as_str()).is_some_and(|method| method.starts_with(method_prefix))
    };
    let rows = file["example"].as_array().unwrap().iter().map(|row| row.as_table().unwrap());
    let examples = rows
        .filter(of_interest)
        .map(|row| Example {
            method: row["method"].as_str().unwrap().to_owned(),
            named: format!("{} ({})", row["id"].as_str().unwrap(), row["source"].as_str().unwrap()),
            inputs: row["inputs"].as_table().unwrap().clone(),
            expected: row["expected"].as_table().unwrap().clone(),
        })
        .collect();
    // Counted without the TOML reader, so that a row lost on the way through it is missed.
    let line_start = format!("method = \"{method_prefix}");
    (examples, text.lines().filter(|line| line.starts_with(&line_start)).count())
}

fn check_rounding(example: &Example, ties: Ties) {
    example.knows_only(&["rounded"]);
    let rounded = example.input("value").rounded_to(&example.input("to_nearest"), ties);
    assert_eq!(rounded, example.expected("rounded"), "{}", example.named);
}

/// The measured value is rounded to the last digit of the limit as it is written, then compared.
/// The agency that prints these rounds a half up.
fn check_conformance(example: &Example) {
    example.knows_only(&["rounded", "conforms"]);
    let limit_text = example.text(&example.inputs, "limit_text");
    let limit = example.input("limit_text");
    let resolution = example.input("resolution_from_limit");
    let decimals = limit_text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let last_digit = Exact::ratio(1, 10_i64.pow(decimals.try_into().unwrap())).unwrap();
    assert_eq!(last_digit, resolution, "{}: the resolution is the last digit of the limit", example.named);
    let kind = example.text(&example.inputs, "limit_kind");
    let rounded = example.input("measured_slump_in").rounded_to(&resolution, Ties::Up);
    let conforms = match kind {
        "maximum" => rounded <= limit,
        "minimum" => rounded >= limit,
        _ => panic!("{}: a limit of kind {kind} is not understood", example.named),
    };
    let expected = example.expected.get("conforms").and_then(|conforms| conforms.as_bool());
    assert_eq!(Some(conforms), expected, "{}", example.named);
    if example.expected.contains_key("rounded") {
        assert_eq!(rounded, example.expected("rounded"), "{}", example.named);
    }
}

#[test]
fn every_printed_rounding_comes_out_as_printed() {
    let (examples, n_in_file) = examples("rounding.");
    let mut n_run = 0;
    for example in &examples {
        match example.method.as_str() {
            "rounding.half_even" => check_rounding(example, Ties::Even),
            "rounding.half_up" => check_rounding(example, Ties::Up),
            "rounding.conformance" => check_conformance(example),
            other => panic!("{}: no way to run {other}", example.named),
        }
        n_run += 1;
    }
    assert_eq!(n_run, n_in_file, "examples run, and examples in the file");
    assert!(n_run > 0, "the file has no rounding examples");
}

/// The agency's table rounds one canister to 0.05 and two canisters to 0.1, each from the unrounded value.
#[test]
fn canister_percentages_round_as_the_agency_prints_them() {
    let (examples, n_in_file) = examples("pressure.calibration");
    let [half_tenth, tenth]: [Exact; 2] = ["0.05", "0.1"].map(|text| text.parse().unwrap());
    let mut n_run = 0;
    for example in &examples {
        example.knows_only(&["one_canister_pct", "two_canisters_pct"]);
        let share = example.input("canister_ft3").checked_div(&example.input("bowl_ft3")).unwrap();
        let one_canister_pct = share * Exact::from_int(100);
        let two_canisters_pct = &one_canister_pct + &one_canister_pct;
        for ties in [Ties::Even, Ties::Up] {
            let one = one_canister_pct.rounded_to(&half_tenth, ties);
            assert_eq!(one, example.expected("one_canister_pct"), "{}", example.named);
            let two = two_canisters_pct.rounded_to(&tenth, ties);
            assert_eq!(two, example.expected("two_canisters_pct"), "{}", example.named);
        }
        n_run += 1;
    }
    assert_eq!(n_run, n_in_file, "examples run, and examples in the file");
    assert!(n_run > 0, "the file has no canister examples");
}

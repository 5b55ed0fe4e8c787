//! Whatever a file holds, reading it ends, and what is said about it can be shown.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests say what they expect by panicking")]

use procedure::diagnose::{render, to_json};
use procedure::{Severity, check, load::check_in};
use proptest::prelude::*;

const AIR: &str = include_str!("../../../procedures/air-volumetric.toml");
const SMALL: &str = include_str!("procedures/small.toml");

/// Reads a text and shows every fault: nothing panics, every place lies in the text and cuts no character.
fn survives(text: &str) {
    let checked = check("any.toml", text);
    let errors = checked.diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error);
    assert_eq!(checked.procedure.is_none(), errors, "either a procedure or an error: {:?}", checked.diagnostics);
    for diagnostic in &checked.diagnostics {
        assert!(diagnostic.labels.iter().any(|label| label.primary), "{diagnostic:?}");
        for label in &diagnostic.labels {
            assert!(label.at.start <= label.at.end && label.at.end <= text.len(), "{diagnostic:?}");
            assert!(text.is_char_boundary(label.at.start) && text.is_char_boundary(label.at.end), "{diagnostic:?}");
        }
    }
    for colour in [false, true] {
        let shown = render("any.toml", text, &checked.diagnostics, colour);
        assert_eq!(shown.is_empty(), checked.diagnostics.is_empty());
    }
    let json: serde_json::Value = serde_json::from_str(&to_json("any.toml", text, &checked.diagnostics)).unwrap();
    assert_eq!(json.as_array().unwrap().len(), checked.diagnostics.len());
}

/// Bytes and words that are more likely to upset a reader than others.
fn piece() -> impl Strategy<Value = Vec<u8>> {
    let words: &[&str] = &[
        "[",
        "]",
        "{",
        "}",
        "\"",
        "'",
        "\"\"\"",
        "=",
        ",",
        ".",
        "#",
        "\n",
        "\r",
        "\r\n",
        "\\",
        "\u{feff}",
        "½",
        "°",
        "0",
        "-",
        "_",
        "[[stage]]\n",
        "[procedure]\n",
        "if ",
        "then ",
        "(",
        ")",
        "known(",
        "{alcohol}",
        "SI",
        "1e999",
        "inf",
    ];
    prop_oneof![
        4 => proptest::sample::select(words).prop_map(|word| word.as_bytes().to_vec()),
        1 => any::<u8>().prop_map(|byte| vec![byte]),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        survives(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn no_heap_of_signs_panics(pieces in proptest::collection::vec(piece(), 0..120)) {
        survives(&String::from_utf8_lossy(&pieces.concat()));
    }

    #[test]
    fn slips_of_the_finger_are_survived(
        slips in proptest::collection::vec((any::<proptest::sample::Index>(), piece(), 0_usize..3), 1..6),
        air in any::<bool>(),
    ) {
        let mut bytes = if air { AIR } else { SMALL }.as_bytes().to_vec();
        for (at, piece, dropped) in slips {
            let at = at.index(bytes.len());
            let end = (at + dropped).min(bytes.len());
            bytes.splice(at..end, piece);
        }
        survives(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn trees_that_are_toml_and_no_procedure_are_survived(
        changes in proptest::collection::vec((any::<proptest::sample::Index>(), 0_u8..8), 1..6),
        air in any::<bool>(),
    ) {
        let mut tree: toml::Value = toml::from_str(if air { AIR } else { SMALL }).unwrap();
        for (at, change) in changes {
            let n_nodes = count(&tree);
            let mut at = at.index(n_nodes);
            alter(&mut tree, &mut at, change);
        }
        survives(&toml::to_string(&tree).unwrap_or_default());
    }

    #[test]
    fn any_language_may_be_asked_for(language in "\\PC{0,8}") {
        prop_assert!(check_in("small.toml", SMALL, &language).is_sound());
    }
}

fn count(value: &toml::Value) -> usize {
    1 + match value {
        toml::Value::Array(items) => items.iter().map(count).sum::<usize>(),
        toml::Value::Table(table) => table.iter().map(|(_, value)| count(value)).sum(),
        _ => 0,
    }
}

/// Changes the node with the given number, counted from the root.
fn alter(value: &mut toml::Value, at: &mut usize, change: u8) -> bool {
    if *at == 0 {
        mutate(value, change);
        return true;
    }
    *at -= 1;
    match value {
        toml::Value::Array(items) => items.iter_mut().any(|item| alter(item, at, change)),
        toml::Value::Table(table) => table.iter_mut().any(|(_, value)| alter(value, at, change)),
        _ => false,
    }
}

fn mutate(value: &mut toml::Value, change: u8) {
    use toml::Value;
    match (change, &mut *value) {
        (0, Value::Table(table)) => {
            if let Some(key) = table.keys().nth(table.len() / 2).cloned() {
                table.remove(&key);
            }
        }
        (0, Value::Array(items)) => drop(items.pop()),
        (1, Value::Table(table)) => {
            if let Some((key, value)) = table.iter().next().map(|(key, value)| (key.clone(), value.clone())) {
                table.insert(format!("{key}x"), value);
            }
        }
        (1, Value::Array(items)) => {
            if let Some(first) = items.first().cloned() {
                items.push(first);
            }
        }
        (2, Value::Array(items)) => items.reverse(),
        (2, Value::Table(table)) => {
            let keys: Vec<String> = table.keys().cloned().collect();
            let mut values: Vec<Value> = keys.iter().filter_map(|key| table.remove(key)).collect();
            values.reverse();
            table.extend(keys.into_iter().zip(values));
        }
        (3, _) => *value = Value::Integer(-7),
        (4, _) => *value = Value::String("level".to_owned()),
        (5, _) => *value = Value::Array(vec![Value::Boolean(true)]),
        (6, _) => *value = Value::Table([("SI".to_owned(), Value::Float(0.5))].into_iter().collect()),
        (_, _) => *value = Value::String(String::new()),
    }
}

#[test]
fn the_largest_files_are_read_or_refused() {
    for text in [
        "a".repeat((1 << 20) + 1),
        "[[stage]]\n".repeat(90_000),
        "[".repeat(1 << 20),
        "x = [\n".repeat(100_000),
        "a = 1\n".repeat(150_000),
        "[a.b]\n".repeat(150_000),
        "is     25\n".repeat(100_000),
        format!("{SMALL}\n[value.deep]\ntitle = \"deep\"\nunit = \"%\"\nis = \"{}\"\n", "(".repeat(500_000)),
        format!("{SMALL}\n[value.long]\ntitle = \"{}\"\n", "{water}".repeat(100_000)),
    ] {
        survives(&text);
    }
}

//! The JSON against its published schema: every key of one is a key of the other.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use sheet::Sheet;

use crate::fixture;

fn schema() -> Value {
    serde_json::from_str(include_str!("../../sheet.schema.json")).unwrap()
}

/// Follows `$ref`, also inside `allOf` and the one part of `anyOf` that is not null.
fn resolved<'a>(root: &'a Value, node: &'a Value) -> Vec<&'a Value> {
    if let Some(name) = node.get("$ref").and_then(Value::as_str) {
        let name = name.strip_prefix("#/$defs/").unwrap();
        return resolved(root, root["$defs"].get(name).unwrap_or_else(|| panic!("no definition {name}")));
    }
    for kind in ["anyOf", "oneOf", "allOf"] {
        if let Some(parts) = node.get(kind).and_then(Value::as_array) {
            return parts.iter().flat_map(|part| resolved(root, part)).collect();
        }
    }
    vec![node]
}

/// Checks a value by hand against the parts of JSON Schema the file uses, and notes which keys were met.
fn check(root: &Value, node: &Value, value: &Value, path: &str, met: &mut BTreeMap<String, BTreeSet<String>>) {
    let nodes = resolved(root, node);
    match value {
        Value::Object(keys) => {
            let fits = nodes.iter().find(|node| {
                let properties = node.get("properties").and_then(Value::as_object);
                properties.is_some_and(|properties| keys.keys().all(|key| properties.contains_key(key)))
                    && node["required"]
                        .as_array()
                        .is_some_and(|required| required.iter().all(|key| keys.contains_key(key.as_str().unwrap())))
            });
            let fits = fits.unwrap_or_else(|| panic!("{path}: no part of the schema has the keys {:?}", keys.keys()));
            for (key, value) in keys {
                met.entry(path.to_owned()).or_default().insert(key.clone());
                check(root, &fits["properties"][key], value, &format!("{path}.{key}"), met);
            }
        }
        Value::Array(items) => {
            let array = nodes.iter().find(|node| node["type"] == "array").unwrap_or_else(|| panic!("{path}: no list"));
            for item in items {
                check(root, &array["items"], item, &format!("{path}[]"), met);
            }
        }
        Value::String(text) => {
            let allowed = nodes.iter().any(|node| {
                let is_type = node["type"] == "string"
                    || node["type"].as_array().is_some_and(|types| types.contains(&Value::from("string")));
                let is_listed = node["enum"].as_array().is_some_and(|all| all.contains(value));
                is_type || is_listed || node["const"] == *value
            });
            assert!(allowed, "{path}: {text} is not allowed");
            if nodes.iter().any(|node| node.get("pattern").is_some()) {
                let unsigned = text.strip_prefix('-').unwrap_or(text);
                let (whole, part) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
                let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
                assert!(digits(whole) && digits(part), "{path}: {text} is no exact decimal");
            }
        }
        Value::Null | Value::Number(_) | Value::Bool(_) => {
            let kind = match value {
                Value::Null => "null",
                Value::Bool(_) => "boolean",
                _ => "integer",
            };
            let allowed = nodes.iter().any(|node| {
                node["type"] == kind || node["type"].as_array().is_some_and(|types| types.contains(&Value::from(kind)))
            });
            assert!(allowed, "{path}: {kind} is not allowed");
        }
    }
}

#[test]
fn every_key_of_the_json_is_in_the_schema() {
    let root = schema();
    for (name, sheet) in fixture::all() {
        let value: Value = serde_json::from_str(&sheet::json(&sheet)).unwrap();
        check(&root, &root, &value, name, &mut BTreeMap::new());
    }
}

#[test]
fn every_key_of_the_schema_is_in_the_json() {
    let root = schema();
    let mut met = BTreeMap::new();
    let mut sheet = fixture::trouble();
    sheet.findings.truncate(1);
    let value: Value = serde_json::from_str(&sheet::json(&sheet)).unwrap();
    check(&root, &root, &value, "$", &mut met);
    let met: BTreeSet<String> = met.into_values().flatten().collect();
    let mut named: Vec<&Value> = vec![&root["properties"]];
    for definition in root["$defs"].as_object().unwrap().values() {
        named.extend(definition.get("properties"));
        named.extend(definition["oneOf"].as_array().into_iter().flatten().filter_map(|part| part.get("properties")));
    }
    for properties in named {
        for key in properties.as_object().unwrap().keys() {
            assert!(met.contains(key), "the schema names {key}, which no sheet has");
        }
    }
}

#[test]
fn every_key_the_schema_names_is_required() {
    let root = schema();
    for (name, definition) in root["$defs"].as_object().unwrap() {
        if definition["additionalProperties"] == Value::Bool(false) {
            let required: BTreeSet<&str> =
                definition["required"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
            let named: BTreeSet<&str> =
                definition["properties"].as_object().unwrap().keys().map(String::as_str).collect();
            assert_eq!(required, named, "{name}");
        }
    }
}

#[test]
fn json_is_read_back_without_loss() {
    for (name, sheet) in fixture::all() {
        assert_eq!(sheet::from_json(&sheet::json(&sheet)).unwrap(), sheet, "{name}");
    }
}

#[test]
fn what_is_no_sheet_is_refused_in_words() {
    let good = sheet::json(&Sheet::default());
    for (text, says) in [
        (good.replace("pourside.sheet/1", "pourside.sheet/9"), "this sheet follows the schema “pourside.sheet/9”"),
        (good.replace("\"mixture\"", "\"mix\""), "unknown field `mix`"),
        (good.replace("\"acceptance\"", "\"perhaps\""), "unknown variant `perhaps`"),
        ("{}".to_owned(), "follows the schema “”"),
        ("air 6.0".to_owned(), "this is not a sheet"),
    ] {
        let error = sheet::from_json(&text).unwrap_err().to_string();
        assert!(error.contains(says), "{error}");
    }
}

#[test]
fn the_json_of_a_whole_day() {
    insta::assert_snapshot!("json", sheet::json(&fixture::harrow_bend()));
}

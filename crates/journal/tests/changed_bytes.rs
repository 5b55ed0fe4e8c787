//! Cut and changed files: what is read is what was written, or it is refused, or its loss is reported.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

use journal::{Damaged, Entry, read_bytes, salvage_bytes};
use proptest::prelude::*;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// A line as `FORMAT.md` says, written without any help of the crate.
fn line(previous: &str, n: usize, payload: &str) -> (String, String) {
    let summed = format!(r#"{{"v":1,"n":{n},"e":{payload}"#);
    let digest = Sha256::digest(format!("{previous}{summed}").as_bytes());
    let sum: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    (format!("{summed},\"sum\":\"{sum}\"}}\n"), sum)
}

fn file_of(payloads: &[String]) -> String {
    let mut sum = "0".repeat(32);
    let mut file = String::new();
    for (n, payload) in payloads.iter().enumerate() {
        let (text, next) = line(&sum, n, payload);
        file += &text;
        sum = next;
    }
    file
}

/// A journal such as a run leaves, with nested objects, text of several scripts and what looks like a line.
fn sample(n: usize) -> String {
    let payload = |k: usize| match k % 5 {
        0 => json!({"began": "air-volumetric", "system": "SI"}),
        1 => json!({"reading": format!("{k}.25"), "unit": "%", "by": {"name": "Zoë 工", "steps": [k, [], {}]}}),
        2 => json!({"note": "line\nbreak \"quoted\" \\ \u{1f9ea}"}),
        3 => json!({"like a line": {"v": 1, "n": 1 + k, "e": {}, "sum": "0".repeat(32)}}),
        _ => json!({}),
    };
    file_of(&(0..n).map(|k| payload(k).to_string()).collect::<Vec<_>>())
}

fn read(bytes: &[u8]) -> Vec<Entry> {
    read_bytes(bytes).unwrap().entries
}

fn starts_of_lines(file: &str) -> Vec<usize> {
    std::iter::once(0).chain(file.match_indices('\n').map(|(at, _)| at + 1)).collect()
}

#[test]
fn power_cut_at_any_byte_loses_at_most_the_entry_being_written() {
    let file = sample(40);
    let entries = read(file.as_bytes());
    assert_eq!(entries.len(), 40);
    let starts = starts_of_lines(&file);
    for cut in 0..=file.len() {
        let left = &file.as_bytes()[..cut];
        let whole = starts.iter().filter(|start| **start > 0 && **start <= cut).count();
        if whole == 0 {
            assert_eq!(read_bytes(left), Err(Damaged::NoFirstEntry { bytes: cut as u64 }), "cut at byte {cut}");
            continue;
        }
        let recovered = read_bytes(left).unwrap();
        assert_eq!(recovered.entries, entries[..whole], "cut at byte {cut}");
        assert_eq!(recovered.last_sum, entries[whole - 1].sum);
        match recovered.torn {
            None => assert_eq!(starts[whole], cut, "a cut inside a line is reported"),
            Some(torn) => {
                assert_ne!(starts[whole], cut, "a whole file is not called torn");
                assert_eq!((torn.n, torn.offset), (whole as u64, starts[whole] as u64));
                assert_eq!(torn.bytes, left[starts[whole]..]);
                assert!(!torn.complete_line, "cut at byte {cut}: an unfinished line was never acknowledged");
            }
        }
    }
}

/// Whatever the change: either it is refused, or the entries before the last are unchanged and the last one's loss is
/// reported. Returns whether it was refused.
fn noticed(entries: &[Entry], changed: &[u8], case: &str) -> bool {
    let last = entries.len() - 1;
    match read_bytes(changed) {
        Ok(recovered) => {
            assert_eq!(recovered.entries, entries[..last], "{case}");
            let torn = recovered.torn.unwrap_or_else(|| panic!("{case}: accepted"));
            assert_eq!(torn.n, last as u64, "{case}");
            assert!(torn.complete_line, "{case}: a changed last entry may have been acknowledged");
            assert_eq!(torn.bytes, changed[usize::try_from(entries[last].offset).unwrap()..], "{case}");
            false
        }
        Err(_) => {
            let (sound, damaged) = salvage_bytes(changed);
            assert!(damaged.is_some());
            assert!(entries.starts_with(&sound) && sound.len() < entries.len(), "{case}");
            true
        }
    }
}

#[test]
fn any_flipped_bit_is_refused_or_costs_only_the_last_entry_and_says_so() {
    let file = sample(12).into_bytes();
    let starts = starts_of_lines(std::str::from_utf8(&file).unwrap());
    let entries = read(&file);
    let last = starts[11];
    for at in 0..file.len() {
        for bit in 0..8 {
            let mut changed = file.clone();
            changed[at] ^= 1 << bit;
            let case = format!("byte {at} bit {bit}");
            let refused = noticed(&entries, &changed, &case);
            if at < last {
                assert!(refused, "{case}: a change before the last entry is never a torn write");
                let line = starts.iter().rposition(|start| *start <= at).unwrap() as u64;
                let Err(Damaged::Inside { entry, line: line_no, offset, after }) = read_bytes(&changed) else {
                    panic!("{case}: {:?}", read_bytes(&changed));
                };
                // The newline belongs to the line it ends, so the line that is named is the one that was changed.
                assert_eq!((entry, line_no), (line, line + 1), "{case}");
                assert_eq!(offset, starts[usize::try_from(line).unwrap()] as u64, "{case}");
                // A changed newline may hide the entry glued on, or the one after if the sum can no longer be told.
                assert!((1..=11 - line).contains(&after), "{case}: {after} good entries after line {line}");
            }
        }
    }
}

#[test]
fn a_changed_newline_between_the_last_two_entries_is_not_taken_for_a_torn_write() {
    let file = sample(3);
    let starts = starts_of_lines(&file);
    let mut changed = file.clone().into_bytes();
    changed[starts[2] - 1] = b' ';
    let expected = Damaged::Inside { entry: 1, line: 2, offset: starts[1] as u64, after: 1 };
    assert_eq!(read_bytes(&changed), Err(expected));
    // The same with the last entry torn as well: entry 1 was acknowledged, so it may not be cut off.
    for cut in starts[2] + 1..file.len() {
        let expected = Damaged::Inside { entry: 1, line: 2, offset: starts[1] as u64, after: 0 };
        assert_eq!(read_bytes(&changed[..cut]), Err(expected), "cut at {cut}");
    }
}

#[test]
fn the_verdict_on_every_kind_of_bad_piece() {
    let file = sample(4);
    let starts = starts_of_lines(&file);
    let lines: Vec<&str> = file.lines().collect();
    let join = |pieces: &[&str]| pieces.concat();
    let bad = |k: usize| lines[k].replacen("\"e\"", "\"f\"", 1) + "\n";
    let good = |k: usize| lines[k].to_owned() + "\n";
    let inside = |entry: usize, after: u64| {
        Err(Damaged::Inside { entry: entry as u64, line: entry as u64 + 1, offset: starts[entry] as u64, after })
    };
    // The outcome of an accepted file: entries, and whether a last piece was cut off and looked complete.
    let kept = |entries: usize, torn: Option<bool>| Ok((entries, torn));
    let rows = vec![
        ("all good", file.clone(), kept(4, None)),
        ("last piece unfinished", file[..file.len() - 20].to_owned(), kept(3, Some(false))),
        ("last newline missing", file[..file.len() - 1].to_owned(), kept(3, Some(false))),
        ("last newline changed", join(&[&file[..file.len() - 1], "x"]), kept(3, Some(true))),
        ("last line changed", join(&[&file[..starts[3]], &bad(3)]), kept(3, Some(true))),
        ("zeros after the last line", join(&[&file, "\0\0\0\0"]), kept(4, Some(false))),
        ("empty line at the end", join(&[&file, "\n"]), kept(4, Some(true))),
        ("line 2 changed", join(&[&good(0), &bad(1), &good(2), &good(3)]), inside(1, 2)),
        ("line 1 changed", join(&[&bad(0), &good(1), &good(2), &good(3)]), inside(0, 3)),
        ("line 2 missing", join(&[&good(0), &good(2), &good(3)]), inside(1, 1)),
        ("line 2 twice", join(&[&good(0), &good(1), &good(1), &good(2), &good(3)]), inside(2, 1)),
        ("lines 2 and 3 swapped", join(&[&good(0), &good(2), &good(1), &good(3)]), inside(1, 0)),
        ("last two changed", join(&[&good(0), &good(1), &bad(2), &bad(3)]), inside(2, 0)),
        ("line 3 changed, line 4 torn", join(&[&good(0), &good(1), &bad(2), &lines[3][..9]]), inside(2, 0)),
        (
            "carriage returns added",
            file.replace('\n', "\r\n"),
            Err(Damaged::NoFirstEntry { bytes: file.len() as u64 + 4 }),
        ),
        ("empty", String::new(), Err(Damaged::NoFirstEntry { bytes: 0 })),
        ("first entry torn", file[..30].to_owned(), Err(Damaged::NoFirstEntry { bytes: 30 })),
        ("only entry changed", bad(0), Err(Damaged::NoFirstEntry { bytes: starts[1] as u64 })),
        ("another kind of file", "a,b\n1,2\n".to_owned(), Err(Damaged::NoFirstEntry { bytes: 8 })),
        ("a newer format", file.replace("{\"v\":1,", "{\"v\":2,"), Err(Damaged::NewerFormat { found: 2, line: 1 })),
        ("one version digit", file.replacen("{\"v\":1,", "{\"v\":2,", 1), inside(0, 3)),
    ];
    for (name, bytes, expected) in rows {
        let found = read_bytes(bytes.as_bytes()).map(|r| (r.entries.len(), r.torn.map(|torn| torn.complete_line)));
        assert_eq!(found, expected, "{name}");
    }
}

#[test]
fn a_number_skipped_or_repeated_is_damage_even_where_every_sum_is_right() {
    for (numbers, bad) in [([0, 2, 3, 4], 1), ([0, 0, 1, 2], 1), ([0, 1, 1, 2], 2), ([1, 2, 3, 4], 0)] {
        let mut sum = "0".repeat(32);
        let mut file = String::new();
        for n in numbers {
            let (text, next) = line(&sum, n, "{}");
            file += &text;
            sum = next;
        }
        let found = read_bytes(file.as_bytes());
        assert!(matches!(found, Err(Damaged::Inside { entry, .. }) if entry == bad), "{numbers:?}: {found:?}");
    }
}

#[test]
fn an_entry_of_a_newer_format_at_the_end_is_not_cut_off_as_damage() {
    let mut sum = "0".repeat(32);
    let (first, next) = line(&sum, 0, "{}");
    sum = next;
    let summed = r#"{"v":3,"n":1,"e":{},"more":1"#;
    let digest = Sha256::digest(format!("{sum}{summed}").as_bytes());
    let sum: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    let file = format!("{first}{summed},\"sum\":\"{sum}\"}}\n");
    assert_eq!(read_bytes(file.as_bytes()), Err(Damaged::NewerFormat { found: 3, line: 2 }));
}

#[test]
fn an_entry_rewritten_with_its_own_sum_put_right_shows_at_the_next_entry() {
    let payloads: Vec<String> = (0..8).map(|k| json!({"reading": format!("{k}.25")}).to_string()).collect();
    let file = file_of(&payloads);
    let lines: Vec<&str> = file.split_inclusive('\n').collect();
    for k in 0..7 {
        let previous = if k == 0 { "0".repeat(32) } else { read(file.as_bytes())[k - 1].sum.clone() };
        let (forged, _) = line(&previous, k, &json!({"reading": "9.99"}).to_string());
        let forged = [&lines[..k], &[forged.as_str()], &lines[k + 1..]].concat().concat();
        match read_bytes(forged.as_bytes()) {
            Err(Damaged::Inside { entry, after, .. }) => {
                assert_eq!((entry, after), (k as u64 + 1, 6 - k as u64));
            }
            // With a single entry after it, which of the two was changed cannot be told; it is still reported.
            Ok(recovered) => {
                assert_eq!(k, 6);
                let torn = recovered.torn.unwrap();
                assert!(torn.n == 7 && torn.complete_line);
            }
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_payload_that_holds_whole_lines_is_read_and_torn_like_any_other() {
    let inner = sample(3).replace('\n', "");
    let nested = format!(r#"{{"lines":[{}]}}"#, inner.replace("}{", "},{"));
    let file = file_of(&[json!({}).to_string(), nested.clone()]);
    assert_eq!(read(file.as_bytes())[1].json(), nested);
    for cut in file.find('\n').unwrap() + 2..file.len() {
        let recovered = read_bytes(&file.as_bytes()[..cut]).unwrap();
        assert!(recovered.entries.len() == 1 && !recovered.torn.unwrap().complete_line, "cut at {cut}");
    }
}

/// No clock: without a bound on the search this test would not end.
#[test]
fn a_file_made_to_be_slow_to_judge_is_refused_or_torn_like_any_other() {
    let nested = r#"{"v":1,"n":9,"e":"#.repeat(60_000);
    let sums = r#","sum":""#.repeat(200_000);
    let first = line(&"0".repeat(32), 0, "{}").0;
    let rows = [
        (nested.clone(), Ok(false)),
        (format!(r#"{{"v":1,"n":1,{sums}"#), Ok(false)),
        (
            format!(
                r#"{{"v":1,"n":1,{sums}
"#
            )
            .replace("\\n", "\n"),
            Ok(true),
        ),
        // Too many places to look for a hidden entry: the safe answer is to cut nothing off.
        (format!("{nested}{{}},\"sum\":\"{}\"}}\n", "0".repeat(32)), Err(0)),
    ];
    for (tail, expected) in rows {
        let found = match read_bytes((first.clone() + &tail).as_bytes()) {
            Ok(recovered) => Ok(recovered.torn.unwrap().complete_line),
            Err(Damaged::Inside { entry: 1, after, .. }) => Err(after),
            Err(other) => panic!("{other:?}"),
        };
        assert_eq!(found, expected);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn two_changed_bytes_are_refused_or_cost_only_what_is_reported(
        first in any::<prop::sample::Index>(), second in any::<prop::sample::Index>(),
        change in 1_u8.., other in 1_u8..,
    ) {
        let file = sample(12).into_bytes();
        let (first, second) = (first.index(file.len()), second.index(file.len()));
        prop_assume!(first != second);
        let mut changed = file.clone();
        changed[first] ^= change;
        changed[second] ^= other;
        // `noticed` wants a whole line; with its newline changed too, the last entry may look unfinished.
        match read_bytes(&changed) {
            Ok(recovered) => {
                prop_assert_eq!(&recovered.entries[..], &read(&file)[..11]);
                prop_assert!(recovered.torn.is_some());
            }
            Err(_) => { noticed(&read(&file), &changed, "two changes"); }
        }
    }

    #[test]
    fn removed_and_inserted_stretches_never_change_a_value(
        at in any::<prop::sample::Index>(), len in 0_usize..200, put in proptest::collection::vec(any::<u8>(), 0..50),
    ) {
        let file = sample(12).into_bytes();
        let at = at.index(file.len());
        let mut changed = file.clone();
        changed.splice(at..(at + len).min(file.len()), put);
        let (sound, _) = salvage_bytes(&changed);
        let entries = read(&file);
        prop_assert!(entries.starts_with(&sound));
        if let Ok(recovered) = read_bytes(&changed) {
            // Lines gone from the end leave a sound, shorter journal; anything else is reported.
            prop_assert!(recovered.torn.is_some() || file.starts_with(&changed));
        }
    }

    #[test]
    fn arbitrary_bytes_are_never_more_than_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(read_bytes(&bytes).is_err());
    }

    #[test]
    fn bytes_made_of_pieces_of_lines_never_panic(pieces in proptest::collection::vec(prop_oneof![
        Just(r#"{"v":1,"n":"#), Just(r#"{"v":2,"n":"#), Just("0"), Just("1"), Just(r#","e":"#), Just("{"), Just("}"),
        Just(r#","sum":""#), Just("00000000000000000000000000000000"), Just("\"}"), Just("\n"), Just("\u{e9}"),
        Just("{\"v\":1,\"n\":0,\"e\":{\"a\":1},\"sum\":\"SUM0\"}\n"),
    ], 0..40)) {
        let _ = salvage_bytes(pieces.concat().as_bytes());
        let first = line(&"0".repeat(32), 0, "{}").0;
        let after = first.clone() + &pieces.concat();
        let (sound, _) = salvage_bytes(after.as_bytes());
        prop_assert_eq!(sound[0].json(), "{}");
    }

    #[test]
    fn any_payload_comes_back_byte_for_byte(texts in proptest::collection::vec(any::<String>(), 1..6), n in any::<i64>()) {
        let payloads: Vec<String> =
            texts.iter().map(|text| json!({ text.as_str(): [n, text], "e": {"v": 1} }).to_string()).collect();
        let entries = read(file_of(&payloads).as_bytes());
        prop_assert_eq!(entries.iter().map(Entry::json).collect::<Vec<_>>(), payloads);
        let _: Value = entries[0].read_as().unwrap();
    }
}

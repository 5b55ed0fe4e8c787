//! The cue log's lines.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use proptest::prelude::*;
use voice::log::Entry;
use voice::{Class, Tone};

fn whole() -> Entry {
    Entry {
        text: "three".to_owned(),
        class: Class::Prompt,
        tone: Some(Tone::Tick),
        due: 3_000,
        begun: Some(3_001),
        again: Some(4_000),
        ended: Some(4_520),
        cut_by: Some("two".to_owned()),
        dropped: Some("only its tone".to_owned()),
    }
}

#[test]
fn fields_always_stand_in_one_order_and_empty_ones_are_left_out() {
    assert_eq!(
        whole().line().unwrap(),
        r#"{"text":"three","class":"prompt","tone":"tick","due":3000,"begun":3001,"again":4000,"ended":4520,"cut_by":"two","dropped":"only its tone"}"#
    );
    let bare = Entry { tone: None, begun: None, again: None, ended: None, cut_by: None, dropped: None, ..whole() };
    assert_eq!(bare.line().unwrap(), r#"{"text":"three","class":"prompt","due":3000}"#);
}

#[test]
fn newer_log_and_other_order_are_read_and_half_a_line_is_not() {
    let line = r#"{"due":3000,"class":"hard","mood":"calm","text":"three","begun":3001}"#;
    let read = Entry::read(line).unwrap();
    assert_eq!((read.due, read.late_ms(), read.class), (3_000, Some(1), Class::Hard));
    for cut in 0..line.len() {
        assert_eq!(Entry::read(&line[..cut]).unwrap_err().to_string(), "this is no line of a cue log");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_words_are_one_line_and_come_back(text in any::<String>(), due in any::<u64>(), cut_by in any::<Option<String>>()) {
        let entry = Entry { text: format!("{text}\n\u{1b}[2J\u{0}"), due, cut_by, ..whole() };
        let line = entry.line().unwrap();
        let breaks_out = line.contains(char::is_control);
        prop_assert!(!breaks_out, "{line}");
        prop_assert_eq!(Entry::read(&line).unwrap(), entry);
    }
}

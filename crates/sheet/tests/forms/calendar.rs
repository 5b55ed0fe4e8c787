//! The calendar, read back the way RFC 5545 says.

use crate::fixture;

const STAMP: &str = "2026-05-14T08:30:00-05:00";

fn calendar(sheet: &sheet::Sheet) -> String {
    sheet::ics(sheet, STAMP).unwrap().unwrap()
}

/// Lines unfolded, as name and value.
fn properties(text: &str) -> Vec<(String, String)> {
    text.replace("\r\n ", "")
        .split("\r\n")
        .filter(|line| !line.is_empty())
        .map(|line| line.split_once(':').map(|(name, value)| (name.to_owned(), value.to_owned())).unwrap())
        .collect()
}

fn values<'a>(all: &'a [(String, String)], name: &str) -> Vec<&'a str> {
    all.iter().filter(|(found, _)| found == name).map(|(_, value)| value.as_str()).collect()
}

#[test]
fn the_calendar_of_a_whole_day() {
    insta::assert_snapshot!("ics", calendar(&fixture::harrow_bend()).replace("\r\n", "\n"));
}

#[test]
fn lines_end_as_they_must_and_none_is_too_long() {
    for (name, sheet) in fixture::all() {
        let Some(text) = sheet::ics(&sheet, STAMP).unwrap() else { continue };
        assert!(text.ends_with("END:VCALENDAR\r\n"), "{name}");
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count(), "{name}: a bare line feed");
        assert_eq!(text.matches('\r').count(), text.matches("\r\n").count(), "{name}: a bare return");
        for line in text.split("\r\n") {
            assert!(line.len() <= 75, "{name}: {} octets: {line}", line.len());
        }
    }
}

#[test]
fn breaks_are_due_to_the_second_in_universal_time() {
    let all = properties(&calendar(&fixture::harrow_bend()));
    let due = ["20260516T130012Z", "20260521T130012Z", "20260611T130012Z", "20260709T130012Z"];
    assert_eq!(values(&all, "DTSTART"), due);
    assert!(values(&all, "DTSTAMP").iter().all(|stamp| *stamp == "20260514T133000Z"));
    assert_eq!(values(&all, "TRIGGER")[2..4], ["-P1D", "-PT21600S"], "6 h before, when it may first be done");
    assert_eq!(values(&all, "BEGIN").len(), values(&all, "END").len());
}

#[test]
fn the_name_of_an_entry_outlives_a_change_of_its_date() {
    let before = fixture::harrow_bend();
    let mut after = before.clone();
    after.appointments[1].at = "2026-05-21T12:00:00-05:00".to_owned();
    after.appointments[1].title = "Break two".to_owned();
    let names = |sheet: &sheet::Sheet| {
        properties(&calendar(sheet)).into_iter().filter(|(name, _)| name == "UID").collect::<Vec<_>>()
    };
    assert_eq!(names(&before), names(&after));
    after.head.sample = "HB-P2-08".to_owned();
    assert_ne!(names(&before), names(&after));
}

#[test]
fn letters_of_every_tongue_and_every_sign_come_through() {
    let sheet = fixture::extreme();
    let all = properties(&calendar(&sheet));
    let summary = values(&all, "SUMMARY").last().copied().unwrap().to_owned();
    assert!(summary.starts_with(r#"破壊試験 28 日\, вторник\; "x""#), "{summary}");
    assert!(values(&all, "DESCRIPTION").iter().any(|words| words.contains(r"S/7\; first\, of\\many 橋")));
}

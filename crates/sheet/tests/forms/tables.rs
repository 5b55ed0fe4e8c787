//! The CSV.

use crate::fixture;

fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes()).records().map(Result::unwrap).collect()
}

#[test]
fn the_table_of_a_whole_day() {
    insta::assert_snapshot!("csv", sheet::csv(&fixture::harrow_bend()));
}

#[test]
fn every_line_has_every_column_and_a_kind_the_page_describes() {
    let page = include_str!("../../SHEET.md");
    assert!(page.contains(&sheet::COLUMNS.join(",")), "the page names the columns");
    for (name, sheet) in fixture::all() {
        for row in rows(&sheet::csv(&sheet)) {
            assert_eq!(row.len(), sheet::COLUMNS.len(), "{name}");
            assert!(page.contains(&format!("| `{}` |", &row[0])), "{name}: {} is not described", &row[0]);
        }
    }
}

#[test]
fn a_number_stands_alone_in_its_cell() {
    for (name, sheet) in fixture::all() {
        for row in rows(&sheet::csv(&sheet)).iter().filter(|row| !row[3].is_empty()) {
            let digits = row[3].trim_start_matches('-').replacen('.', "", 1);
            assert!(digits.bytes().all(|byte| byte.is_ascii_digit()), "{name}: {}", &row[3]);
        }
    }
    let day = sheet::csv(&fixture::harrow_bend());
    assert!(day.contains(",alcohol,-0.3,%,"), "a negative number stays a number");
}

#[test]
fn nothing_typed_becomes_a_formula() {
    for row in rows(&sheet::csv(&fixture::extreme())) {
        for cell in row.iter() {
            let number =
                cell.strip_prefix('-').is_some_and(|rest| rest.bytes().all(|b| b.is_ascii_digit() || b == b'.'));
            assert!(number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell}");
        }
    }
    assert!(sheet::csv(&fixture::extreme()).contains("'=cmd()"));
}

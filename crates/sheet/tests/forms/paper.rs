//! The PDF, read with a reader just large enough for what is written.

use std::collections::BTreeMap;

use sheet::Sheet;

use crate::{black, fixture, said};

/// The bytes of every content stream, in order of the file.
fn streams(pdf: &[u8]) -> Vec<&[u8]> {
    let mut all = Vec::new();
    let mut rest = pdf;
    while let Some(start) = find(rest, b"stream\n") {
        rest = &rest[start + 7..];
        let end = find(rest, b"\nendstream").unwrap();
        all.push(&rest[..end]);
        rest = &rest[end + 10..];
    }
    all
}

fn find(bytes: &[u8], what: &[u8]) -> Option<usize> {
    bytes.windows(what.len()).position(|window| window == what)
}

/// The texts of a content stream as they were before they were encoded.
fn texts(stream: &[u8]) -> String {
    let mut out = String::new();
    let mut face = b'R';
    let mut n = 0;
    while n < stream.len() {
        match stream[n] {
            b'/' => {
                face = stream[n + 1];
                n += 2;
            }
            b'(' => {
                let mut bytes = Vec::new();
                n += 1;
                let mut depth = 1;
                loop {
                    match stream[n] {
                        b'\\' => {
                            n += 1;
                            match stream[n] {
                                b'0'..=b'7' => {
                                    let octal = std::str::from_utf8(&stream[n..n + 3]).unwrap();
                                    bytes.push(u8::from_str_radix(octal, 8).unwrap());
                                    n += 2;
                                }
                                byte => bytes.push(byte),
                            }
                        }
                        b'(' => {
                            depth += 1;
                            bytes.push(b'(');
                        }
                        b')' => {
                            depth -= 1;
                            if depth == 0 {
                                break;
                            }
                            bytes.push(b')');
                        }
                        byte => bytes.push(byte),
                    }
                    n += 1;
                }
                n += 1;
                out.extend(bytes.into_iter().map(|byte| letter(face, byte)));
            }
            b'<' => {
                let end = n + stream[n..].iter().position(|byte| *byte == b'>').unwrap();
                let digits = std::str::from_utf8(&stream[n + 1..end]).unwrap();
                for k in (0..digits.len()).step_by(2) {
                    out.push(letter(face, u8::from_str_radix(&digits[k..k + 2], 16).unwrap()));
                }
                n = end + 1;
            }
            _ => n += 1,
        }
    }
    out
}

fn letter(face: u8, byte: u8) -> char {
    match (face, byte) {
        (b'S', 0x2D) => '−',
        (b'S', 0xA3) => '≤',
        (b'S', 0xBB) => '≈',
        (b'S', 0xAE) => '→',
        (_, 0x91) => '‘',
        (_, 0x92) => '’',
        (_, 0x93) => '“',
        (_, 0x94) => '”',
        (_, 0x96) => '–',
        (_, 0x97) => '—',
        (_, byte) => char::from(byte),
    }
}

fn pages(pdf: &[u8]) -> usize {
    let text = String::from_utf8_lossy(pdf);
    text.matches("/Type /Page\n").count()
}

#[test]
fn a_day_fits_on_one_page_of_its_paper() {
    for (name, sheet, paper) in [
        ("harrow-bend", fixture::harrow_bend(), "[0 0 612 792]"),
        ("harrow-bend-si", fixture::harrow_bend_si(), "[0 0 595.276 841.89]"),
        ("trouble", fixture::trouble(), "[0 0 612 792]"),
        ("empty", Sheet::default(), "[0 0 612 792]"),
    ] {
        let pdf = sheet::pdf(&sheet);
        assert_eq!(pages(&pdf), 1, "{name}");
        assert!(String::from_utf8_lossy(&pdf).contains(&format!("/MediaBox {paper}")), "{name}");
    }
}

#[test]
fn what_does_not_fit_goes_on_and_nothing_is_lost() {
    for (name, sheet) in fixture::all().into_iter().filter(|(name, _)| *name != "extreme") {
        let pdf = sheet::pdf(&sheet);
        let all: String = streams(&pdf).into_iter().map(texts).collect();
        let all = black(&all);
        for words in said(&sheet) {
            assert!(all.contains(&black(words)), "{name}: the PDF lacks {words}");
        }
    }
    let pdf = sheet::pdf(&fixture::extreme());
    let count = pages(&pdf);
    assert!(count > 2);
    let all: String = streams(&pdf).into_iter().map(texts).collect();
    for n in 0..20 {
        assert!(all.contains(&format!("Finding {n}:")), "finding {n}");
    }
    for n in 1..=count {
        assert!(all.contains(&format!("page {n} of {count}")), "page {n}");
    }
    for spelled in ["[U+6A4B]", "Opora No. 2", "<script>alert(1)</script>", "CO2 3/8"] {
        assert!(black(&all).contains(&black(spelled)), "{spelled}");
    }
}

#[test]
fn the_table_of_objects_points_at_the_objects() {
    let pdf = sheet::pdf(&fixture::harrow_bend());
    assert!(pdf.starts_with(b"%PDF-1."));
    assert!(pdf.ends_with(b"%%EOF"));
    // One letter for each byte, so that places can be counted.
    let text: String = pdf.iter().map(|byte| if byte.is_ascii() { char::from(*byte) } else { '?' }).collect();
    let table = text.rfind("\nxref\n").unwrap() + 1;
    let start = text.rfind("startxref\n").unwrap();
    assert_eq!(text[start + 10..].lines().next().unwrap(), table.to_string());
    let mut found = BTreeMap::new();
    for (n, line) in text[table..].lines().skip(2).take_while(|line| !line.starts_with("trailer")).enumerate().skip(1) {
        let at: usize = line[..10].parse().unwrap();
        assert!(text[at..].starts_with(&format!("{n} 0 obj")), "object {n}");
        found.insert(n, at);
    }
    assert!(found.len() > 5);
}

#[test]
fn the_file_names_the_sample_in_its_title() {
    let pdf = sheet::pdf(&fixture::harrow_bend());
    let text = String::from_utf8_lossy(&pdf);
    assert!(text.contains("Sample HB-P2-07, Harrow Bend footbridge"), "in the title of the file");
    assert!(!text.contains("CreationDate"), "the same sheet gives the same bytes");
}

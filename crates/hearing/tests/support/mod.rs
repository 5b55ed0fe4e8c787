//! The instruments and lists of phrasings in `tests/data`.

#![allow(dead_code, reason = "each test takes what it needs")]

use quantity::{Decimal, Scale, Unit};

fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines().filter(|line| !line.starts_with('#')).map(|line| line.split('\t').collect())
}

/// The instruments by their names.
pub fn scales() -> Vec<(String, Scale)> {
    let decimal = |text: &str| text.parse::<Decimal>().unwrap();
    rows(include_str!("../data/scales.tsv"))
        .map(|row| {
            let [name, step, low, high, unit] = row[..] else { panic!("five columns: {row:?}") };
            let unit = Unit::parse(unit).unwrap();
            (name.to_owned(), Scale::new(decimal(step), decimal(low), decimal(high), unit).unwrap())
        })
        .collect()
}

/// An instrument by its name.
pub fn scale(name: &str) -> Scale {
    scales().into_iter().find(|(known, _)| known == name).unwrap_or_else(|| panic!("no instrument {name}")).1
}

/// A line of a list: the instrument, what is said, what is right.
pub struct Phrasing {
    pub scale: Scale,
    pub name: String,
    pub said: String,
    pub right: String,
}

/// A list.
pub fn phrasings(text: &str) -> Vec<Phrasing> {
    let scales = scales();
    rows(text)
        .map(|row| {
            let [name, said, right] = row[..] else { panic!("three columns: {row:?}") };
            let (_, scale) = scales.iter().find(|(known, _)| known == name).unwrap_or_else(|| panic!("{name}"));
            Phrasing { scale: scale.clone(), name: name.to_owned(), said: said.to_owned(), right: right.to_owned() }
        })
        .collect()
}

//! The shipped procedures as decks, and moments.
#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::panic, clippy::expect_used, reason = "a test says what it expects by panicking")]

use std::path::{Path, PathBuf};

use engine::{Moment, Tick, Wall};
use practice::Deck;
use procedure::Edition;

/// 2026-05-14, an invented first day of practice, seven in the evening, five hours west of Greenwich.
pub const FIRST_DAY: i64 = 20_587;

pub fn moment(day: i64, ms_of_day: u64) -> Moment {
    let evening = 19 * 3_600_000;
    let offset_min = -300;
    let unix_ms = day * 86_400_000 + evening + ms_of_day as i64 - i64::from(offset_min) * 60_000;
    Moment { tick: Tick(day as u64 * 86_400_000 + ms_of_day), wall: Wall { unix_ms, offset_min } }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures")
}

fn load(path: &Path) -> Vec<Edition> {
    let name = path.file_name().expect("a name").to_string_lossy().into_owned();
    let text = std::fs::read_to_string(path).expect("a text");
    let checked = procedure::check(&name, &text);
    let found = checked.diagnostics;
    checked.procedure.unwrap_or_else(|| panic!("{name} does not load: {found:?}")).editions
}

/// Every edition of every shipped procedure.
pub fn editions() -> Vec<Edition> {
    let mut files: Vec<_> = std::fs::read_dir(folder())
        .expect("the procedures")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "toml"))
        .collect();
    files.sort();
    files.iter().flat_map(|path| load(path)).collect()
}

/// The deck of one shipped method, in the first unit system it is stated in.
pub fn deck(id: &str) -> Deck {
    Deck::of(load(&folder().join(format!("{id}.toml"))).first().expect("an edition"))
}

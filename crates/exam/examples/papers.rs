//! Writes the papers of an invented class into a folder, to be looked at: `cargo run -p exam --example papers FOLDER`.

use std::path::Path;

#[allow(dead_code, clippy::panic, reason = "the tests use all of it, and say what they expect by panicking")]
#[path = "../src/papers/invented.rs"]
mod invented;

// The invented class takes its types from the module above it.
use exam::papers;
pub(crate) use exam::{Event, How, Mark, Names, State, TrialId, config, roster, sheets};
use sheet::paper::Paper;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("say which folder to write into")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    let put = |name: &str, paper: &Paper| -> std::io::Result<()> {
        std::fs::write(folder.join(format!("{name}.txt")), paper.text(96))?;
        std::fs::write(folder.join(format!("{name}.html")), paper.html())?;
        std::fs::write(folder.join(format!("{name}.pdf")), paper.pdf())
    };
    let state = invented::class(12);
    for n in 0..12 {
        if let Some(paper) = papers::candidate(&state, n, Names::Shown) {
            put(&papers::file_stem(&state, n), &paper)?;
        }
    }
    if let Some(paper) = papers::candidate(&state, 4, Names::LeftOut) {
        put("left-out", &paper)?;
    }
    put("class", &papers::class(&state, Names::Shown))?;
    put("class-of-24", &papers::class(&invented::class(24), Names::LeftOut))?;
    Ok(())
}

//! Writes the three forms of an invented paper into a folder, to be looked at: `cargo run -p sheet --example paper FOLDER`.

use std::path::Path;

#[allow(dead_code, reason = "the tests use all of it")]
#[path = "../src/paper/invented.rs"]
mod invented;

// The invented papers take the types of a paper from the module above them.
pub(crate) use sheet::paper::{
    Bar, Bars, Block, Column, Entry, Figure, Holds, Mark, Matrix, Paper, Row, Sign, Size, Table, Tone,
};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("say which folder to write into")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    let all = [
        ("person", invented::candidate()),
        ("matrix", invented::wide_matrix(18, 60)),
        ("table", invented::long_table(80)),
    ];
    for (name, paper) in all {
        let put = |end: &str, bytes: &[u8]| std::fs::write(folder.join(format!("{name}.{end}")), bytes);
        put("txt", paper.text(80).as_bytes())?;
        put("html", paper.html().as_bytes())?;
        put("pdf", &paper.pdf())?;
    }
    Ok(())
}

//! Writes every form of the invented sheets into a folder, to be looked at: `cargo run -p sheet --example draw FOLDER`.

use std::path::Path;

#[path = "../tests/forms/fixture.rs"]
mod fixture;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("say which folder to write into")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    for (name, sheet) in fixture::all() {
        let put = |end: &str, bytes: &[u8]| std::fs::write(folder.join(format!("{name}.{end}")), bytes);
        put("txt", sheet::text(&sheet).as_bytes())?;
        put("json", sheet::json(&sheet).as_bytes())?;
        put("csv", sheet::csv(&sheet).as_bytes())?;
        put("html", sheet::html(&sheet).as_bytes())?;
        put("svg", sheet::svg(&sheet).as_bytes())?;
        put("pdf", &sheet::pdf(&sheet))?;
        if let Some(calendar) = sheet::ics(&sheet, "2026-05-14T13:30:00Z")? {
            put("ics", calendar.as_bytes())?;
        }
    }
    Ok(())
}

//! Checks the shipped procedures while the program is built, and puts them in it checked.
//!
//! Reading and checking a procedure file takes a few milliseconds and a megabyte; a technician who starts the program
//! beside a truck should wait for neither. A shipped file with a fault does not build.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a build stops at the first fault")]

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs};

use sha2::{Digest as _, Sha256};

fn main() {
    // Asked when it runs, not when it is compiled: a target folder may serve a clone that has moved.
    let folder = Path::new(&env::var("CARGO_MANIFEST_DIR").unwrap()).join("../../procedures").canonicalize().unwrap();
    println!("cargo::rerun-if-changed={}", folder.display());
    println!("cargo::rerun-if-changed=build.rs");
    let out = env::var("OUT_DIR").unwrap();
    let mut files: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    files.sort();
    let mut table = String::from("/// All of them, by id.\npub const SHIPPED: &[Shipped] = &[\n");
    for path in files {
        let file = path.file_name().unwrap().to_str().unwrap();
        let text = fs::read_to_string(&path).unwrap();
        let checked = procedure::check(file, &text);
        let Some(procedure) = checked.procedure.filter(|_| checked.diagnostics.is_empty()) else {
            let shown = procedure::diagnose::render(file, &text, &checked.diagnostics, false);
            panic!("a shipped procedure has faults:\n\n{shown}");
        };
        let id = &procedure.id;
        assert_eq!(format!("{id}.toml"), file, "a shipped procedure is found by its file's name");
        let editions = procedure.editions.iter().enumerate().map(|(n, edition)| {
            let bytes = Path::new(&out).join(format!("{id}.{n}.checked"));
            fs::write(&bytes, postcard::to_stdvec(edition).unwrap()).unwrap();
            format!("(System::{:?}, include_bytes!({bytes:?}))", edition.system)
        });
        let editions = editions.collect::<Vec<_>>().join(", ");
        let sha256 = Sha256::digest(text.as_bytes()).iter().fold(String::new(), |mut hex, byte| {
            write!(hex, "{byte:02x}").unwrap();
            hex
        });
        writeln!(
            table,
            "    Shipped {{ id: {id:?}, file: {file:?}, text: include_str!({path:?}), sha256: {sha256:?}, \
             editions: &[{editions}] }},"
        )
        .unwrap();
    }
    table.push_str("];\n");
    fs::write(Path::new(&out).join("shipped.rs"), table).unwrap();
}

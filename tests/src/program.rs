//! The release binary.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// The folder of the workspace.
pub fn house() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// The release binary of `pourside`: the file named by `POURSIDE_BIN`, else built once, in the folder the running test
/// was built in.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| match std::env::var_os("POURSIDE_BIN") {
        Some(named) => named.into(),
        None => build(),
    })
}

fn build() -> PathBuf {
    // This test is <target>/<profile>/deps/<name>.
    let test = std::env::current_exe().unwrap();
    let target = test.ancestors().nth(3).unwrap();
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| env!("CARGO").into());
    let built = Command::new(cargo)
        .args(["build", "--release", "--locked", "--package", "coach", "--bin", "pourside"])
        .current_dir(house())
        .env("CARGO_TARGET_DIR", target)
        .output()
        .unwrap();
    assert!(built.status.success(), "the program does not build:\n{}", String::from_utf8_lossy(&built.stderr));
    target.join("release").join(format!("pourside{}", std::env::consts::EXE_SUFFIX))
}

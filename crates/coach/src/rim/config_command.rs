//! `config`: where the settings are, what is different from how the program comes, what cannot be read.
//!
//! Here: what is said of the settings in text. Not here: reading them (`config`).
//!
//! **Invariant:** a settings file is never written over.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;

use clap::Args;

use super::cli::{Failure, say};
use super::config::{self, Config, SETTINGS};
use super::keys_command::taught_lines;

/// `config`.
#[derive(Debug, Args)]
pub struct ConfigArgs {
    /// Write the file with every setting, each with its default and what is possible; never over another file.
    #[arg(long)]
    pub write: bool,
    /// Only look for faults.
    #[arg(long, conflicts_with = "write")]
    pub check: bool,
}

/// Carries out `config`.
///
/// # Errors
///
/// [`Failure`]: no folder for settings, a file that is there already or cannot be written, faults where they were asked for.
pub fn config(args: &ConfigArgs) -> Result<ExitCode, Failure> {
    let path = config::place().ok_or_else(no_place)?;
    if args.write {
        config::write_new(&path)?;
        return say(&format!("Written: {}\nTake the # before a line away to change it.\n", path.display()));
    }
    let config = config::load_from(&path);
    if args.check {
        return match config.faults.as_slice() {
            [] => say(&format!("{}: no faults.\n", path.display())),
            faults => Err(Failure::refused("the settings have faults", faults.join("\n"))),
        };
    }
    say(&told(&path, &config))
}

/// There is no folder for settings.
pub(super) fn no_place() -> Failure {
    Failure::refused(
        "this account has no folder for settings",
        "Name a file in the environment variable POURSIDE_CONFIG.",
    )
}

/// Everything `config` says.
fn told(path: &Path, config: &Config) -> String {
    let keys = config::keys_place(path);
    let there = |path: &Path| if path.exists() { "" } else { " (there is none)" };
    let mut out = format!("Settings:    {}{}\n", path.display(), there(path));
    let _ = writeln!(out, "Taught keys: {}{}", keys.display(), there(&keys));
    let as_it_comes = Config::default();
    let mut section = "";
    for setting in SETTINGS {
        let (is, was) = ((setting.show)(config), (setting.show)(&as_it_comes));
        let Some(is) = is.filter(|is| Some(is) != was.as_ref()) else { continue };
        if section.is_empty() {
            out.push_str("\nDifferent from how it comes:\n");
        }
        if section != setting.section {
            section = setting.section;
            let _ = writeln!(out, "  [{section}]");
        }
        let was = was.unwrap_or_else(|| "not set".to_owned());
        let _ = writeln!(out, "  {} = {is}   (else {was})", setting.key);
    }
    if section.is_empty() {
        out.push_str("\nEverything is set as it comes.\n");
    }
    let taught = taught_lines(&config.hands.keymap);
    if !taught.is_empty() {
        let _ = write!(out, "\nKeys that were taught:\n{taught}");
    }
    if !config.faults.is_empty() {
        out.push_str("\nFaults; what is wrong counts as not written:\n");
        config.faults.iter().for_each(|fault| {
            let _ = writeln!(out, "  {fault}");
        });
    }
    if !path.exists() {
        out.push_str(
            "\n“pourside config --write” writes the file with every setting, its default, and what is possible.\n",
        );
    }
    out
}

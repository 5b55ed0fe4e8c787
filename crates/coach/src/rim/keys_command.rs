//! `keys`: teaching the keys of pedals, clickers and switches.
//!
//! Here: the file of taught keys behind the teach screen, and what is said of it in text. Not here: the screen
//! (`screen::teach`).
//!
//! **Invariant:** the file holds what the screen said was saved, and nothing is saved unasked.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;
use crossterm::event::KeyEvent;
use engine::{Moment, Tick};

use super::cli::{Failure, Theme, no_color, say};
use super::clock::Timepiece;
use super::commands::colour_depth;
use super::config;
use super::config_command::no_place;
use super::terminal::{self, Ended, Live, Serves, Wish};
use crate::screen::hands::keymap::{Keymap, Role, spoken_name};
use crate::screen::teach::{TeachAnswer, TeachDeed, TeachModel, TeachOptions};

/// `keys`.
#[derive(Debug, Args)]
pub struct KeysArgs {
    /// Only say which keys stand for what.
    #[arg(long)]
    pub list: bool,
    /// Forget every key that was taught.
    #[arg(long, conflicts_with = "list")]
    pub forget: bool,
    /// Colours for a dark or a light terminal, or none.
    #[arg(long, value_enum, default_value_t = Theme::Auto)]
    pub theme: Theme,
}

/// Carries out `keys`.
///
/// # Errors
///
/// [`Failure`]: no folder for settings, no terminal, a file that cannot be written or removed.
pub fn keys(args: &KeysArgs) -> Result<ExitCode, Failure> {
    let settings = config::place().ok_or_else(no_place)?;
    let path = config::keys_place(&settings);
    if args.forget {
        return match config::forget(&path)? {
            true => {
                say(&format!("Forgotten: {} is removed. What works without being taught still does.\n", path.display()))
            }
            false => say("No keys were taught.\n"),
        };
    }
    let loaded = config::load_from(&settings);
    // Faults of the settings file are another command's; those of the keys would be lost by saving.
    let of_keys = path.display().to_string();
    let faults: Vec<String> = loaded.faults.into_iter().filter(|fault| fault.starts_with(&of_keys)).collect();
    let keymap = loaded.hands.keymap;
    if args.list {
        return say(&listed(&keymap, &faults));
    }
    let theme = if args.theme == Theme::Auto { loaded.theme.unwrap_or(Theme::Auto) } else { args.theme };
    let options = TeachOptions {
        theme: theme.choice(),
        place: path.display().to_string(),
        said: (!faults.is_empty()).then(|| format!("{} Saving writes the file anew.", faults.join(" "))),
    };
    let depth = colour_depth(theme, no_color());
    let shown = TeachModel::new(keymap, options).with_colours(terminal::colours(depth));
    let file = KeysFile { path, saved: None };
    let live = Live {
        shown,
        timepiece: Timepiece::live(Tick(0)),
        records: Box::new(move || (file, Vec::new())),
        depth,
        rim: None,
    };
    let (ended, file) = terminal::perform(live).map_err(|why| {
        Failure::refused(
            format!("cannot use this terminal: {why}"),
            "Keys are taught by pressing them on a terminal. “pourside keys --list” says what is taught.",
        )
    })?;
    match (ended, file.saved) {
        (Ended::Signal(signal), _) => Ok(ExitCode::from(128_u8.saturating_add(u8::try_from(signal).unwrap_or(0)))),
        (_, Some(keymap)) => say(&format!("Saved: {}\n{}", file.path.display(), listed(&keymap, &[]))),
        (_, None) => say("Nothing was saved.\n"),
    }
}

/// The file of taught keys, behind the screen.
struct KeysFile {
    path: PathBuf,
    saved: Option<Keymap>,
}

impl Serves<TeachDeed, TeachAnswer> for KeysFile {
    fn carry_out(&mut self, deed: TeachDeed, _now: Moment, answers: &mut Vec<TeachAnswer>) -> Wish {
        match deed {
            TeachDeed::Save(keymap) => answers.push(match config::save(&self.path, &keymap) {
                Ok(()) => {
                    self.saved = Some(keymap);
                    TeachAnswer::Saved
                }
                Err(trouble) => TeachAnswer::Failed { what: trouble.what, hint: trouble.hint },
            }),
            TeachDeed::Suspend => return Wish::Suspend,
            TeachDeed::Leave => return Wish::Leave,
        }
        Wish::Nothing
    }
}

/// The keys that were taught, a role in a line; nothing if there are none.
pub(super) fn taught_lines(keymap: &Keymap) -> String {
    let mut out = String::new();
    for role in Role::ALL {
        let names: Vec<String> = keymap.taught_for(role).map(spoken_name).collect();
        if !names.is_empty() {
            let _ = writeln!(out, "  {:<6} {}", role.title(), names.join(", "));
        }
    }
    out
}

/// Every role with all of its keys.
fn listed(keymap: &Keymap, faults: &[String]) -> String {
    let mut out = String::new();
    for role in Role::ALL {
        let taught = keymap.taught_for(role).map(|key| format!("{} (taught)", spoken_name(key)));
        let comes = role.as_it_comes().iter().map(|code| KeyEvent::from(*code));
        let comes = comes.filter(|key| keymap.taught_role(key).is_none()).map(|key| spoken_name(&key));
        let names: Vec<String> = taught.chain(comes).collect();
        let names = if names.is_empty() { "no key".to_owned() } else { names.join(", ") };
        let _ = writeln!(out, "{:<6} {names}: {}", role.title(), role.does());
    }
    faults.iter().for_each(|fault| {
        let _ = writeln!(out, "{fault}");
    });
    out
}

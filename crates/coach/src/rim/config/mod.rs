//! The settings file.
//!
//! Here: where it is, what is read from it and from the file of taught keys beside it, its faults in words. What may stand in
//! it is in `table`, taking it apart in `read`, the taught keys in `taught`. Not here: what the settings do.
//!
//! **Invariant:** a faulty file is named with its line and never keeps a test from being run: what is wrong counts as not
//! written.

mod read;
mod table;
mod taught;

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

pub use read::read;
pub(super) use table::of_decimal;
pub use table::{SETTINGS, Setting, as_it_comes};
pub use taught::{forget, read_keys, save, show_keys};

use super::cli::Theme;
use super::speaker::Sound;
use super::store::Trouble;
use crate::screen::Settings;

/// Whoever writes more than this has named the wrong file.
const LONGEST_FILE: u64 = 256 * 1024;
/// Further faults help nobody.
pub(super) const MOST_FAULTS: usize = 20;

/// What is listened to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listening {
    /// A named pipe that lines are read from; made if it is missing.
    pub fifo: Option<PathBuf>,
    /// A unix socket of the owner's alone.
    pub socket: Option<PathBuf>,
    /// A program and its arguments, started and restarted.
    pub command: Option<Vec<String>>,
    /// Standard input, when it is no terminal.
    pub stdin: bool,
    /// Where the words valid now are written: this file, and beside it the grammar with the ending `.jsgf`.
    pub words_out: Option<PathBuf>,
}

impl Listening {
    /// Whether there is any source of lines.
    pub fn is_any(&self) -> bool {
        self.fifo.is_some() || self.socket.is_some() || self.command.is_some() || self.stdin
    }
}

/// Everything that can be set.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Config {
    /// How the hands are kept free.
    pub hands: Settings,
    /// What speaks and plays.
    pub sound: Sound,
    /// What is listened to.
    pub listening: Listening,
    /// The colours, where the command line leaves them to the environment.
    pub theme: Option<Theme>,
    /// Faults of the file, in words.
    pub faults: Vec<String>,
}

/// Where the settings file is; `None` if this account has no folder for settings.
pub fn place() -> Option<PathBuf> {
    match std::env::var_os("POURSIDE_CONFIG").filter(|file| !file.is_empty()) {
        Some(file) => Some(std::path::absolute(&file).unwrap_or_else(|_| file.into())),
        None => Some(directories::ProjectDirs::from("", "", "pourside")?.config_dir().join("config.toml")),
    }
}

/// Where the taught keys are: beside the settings file.
pub fn keys_place(settings: &Path) -> PathBuf {
    settings.with_file_name("keys.toml")
}

/// Reads the settings file and the taught keys; without them, everything is as it comes.
pub fn load() -> Config {
    place().map_or_else(Config::default, |path| load_from(&path))
}

/// Reads this settings file, and the taught keys beside it.
pub fn load_from(path: &Path) -> Config {
    let mut config = match text_of(path) {
        Ok(None) => Config::default(),
        Ok(Some(text)) => {
            let mut config = read(&text);
            config.faults.iter_mut().for_each(|fault| *fault = format!("{}, {fault}", path.display()));
            config
        }
        Err(fault) => Config { faults: vec![fault], ..Config::default() },
    };
    let path = keys_place(path);
    match text_of(&path) {
        Ok(None) => {}
        Ok(Some(text)) => {
            let (keymap, faults) = read_keys(&text);
            config.hands.keymap = keymap;
            config.faults.extend(faults.into_iter().map(|fault| format!("{}, {fault}", path.display())));
        }
        Err(fault) => config.faults.push(fault),
    }
    config
}

/// The text of a file, if there is one. A missing one costs nothing but the attempt to open it.
fn text_of(path: &Path) -> Result<Option<String>, String> {
    let cannot = |why: &dyn std::fmt::Display| format!("{} cannot be read: {why}. It counts as empty.", path.display());
    let file = match File::open(path) {
        Ok(file) => file,
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(why) => return Err(cannot(&why)),
    };
    let mut text = String::new();
    file.take(LONGEST_FILE + 1).read_to_string(&mut text).map_err(|why| cannot(&why))?;
    if text.len() as u64 > LONGEST_FILE {
        return Err(cannot(&"it is far too long for a file of this kind"));
    }
    Ok(Some(text))
}

/// The file that shows every setting with its default, each behind a `#`.
///
/// # Errors
///
/// [`Trouble`] if there is one already, or it cannot be written.
pub fn write_new(path: &Path) -> Result<(), Trouble> {
    make_folder_of(path)?;
    let mut file = private(OpenOptions::new().write(true).create_new(true)).open(path).map_err(|why| {
        if why.kind() == io::ErrorKind::AlreadyExists {
            let what = format!("there is a settings file already: {}", path.display());
            return Trouble {
                what,
                hint: "Nothing is written over. Change that one, or move it away first.".to_owned(),
            };
        }
        not_written(path, &why)
    })?;
    let written = file.write_all(as_it_comes().as_bytes()).and_then(|()| file.sync_all());
    written.map_err(|why| {
        // Half a file would stand in the way of the next attempt.
        let _ = fs::remove_file(path);
        not_written(path, &why)
    })
}

/// Writes a file whole or not at all: whoever reads it meanwhile finds the one before.
fn write_whole(path: &Path, text: &str) -> Result<(), Trouble> {
    make_folder_of(path)?;
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}", std::process::id()));
    let beside = path.with_file_name(name);
    let written = private(OpenOptions::new().write(true).create(true).truncate(true))
        .open(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&beside, path));
    written.map_err(|why| {
        let _ = fs::remove_file(&beside);
        not_written(path, &why)
    })?;
    // The name is on the disk too, where folders can be flushed.
    if let Some(folder) = path.parent().and_then(|folder| File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// Only the owner reads and writes what is made.
fn private(options: &mut OpenOptions) -> &mut OpenOptions {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options
}

fn make_folder_of(path: &Path) -> Result<(), Trouble> {
    let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) else { return Ok(()) };
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|why| not_written(path, &why))
}

fn not_written(path: &Path, why: &io::Error) -> Trouble {
    Trouble {
        what: format!("cannot write {}: {why}", path.display()),
        hint: "Make its folder writable, or name a file elsewhere in the environment variable POURSIDE_CONFIG."
            .to_owned(),
    }
}

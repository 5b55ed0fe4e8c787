//! The file with the words valid now.
//!
//! Here: writing it whole or not at all. Not here: which words these are.
//!
//! **Invariant:** whoever reads the file sees one list from beginning to end, never a part; and only an ordinary file is
//! ever replaced.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::os::unix::fs::OpenOptionsExt as _;
use std::path::{Path, PathBuf};

use super::shown;
use super::stream::Standing;
use crate::screen::{Ear, Published};

/// Where the words are written.
#[derive(Debug)]
pub struct Words {
    path: PathBuf,
    /// Whether a line can hold the path.
    is_one_line: bool,
    /// What is written there.
    written: Option<Published>,
    lost: Option<String>,
    standing: Standing,
}

impl Words {
    /// Nothing is written yet.
    pub fn new(path: PathBuf) -> Self {
        let standing = Standing::new(format!("words file {}", shown(&path)));
        let path = std::path::absolute(&path).unwrap_or(path);
        let is_one_line = !path.as_os_str().as_encoded_bytes().iter().any(u8::is_ascii_control);
        let lost = (!is_one_line).then(|| "its path has a sign no line can hold: name another".to_owned());
        Self { path, is_one_line, written: None, lost, standing }
    }

    /// Its whole path.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes them, if they are not what is written already. Whether they were.
    pub fn publish(&mut self, words: &Published) -> bool {
        if !self.is_one_line || self.written.as_ref() == Some(words) {
            return false;
        }
        let mut grammar = self.path.clone().into_os_string();
        grammar.push(".jsgf");
        let outcome = replace(&self.path, &words.list).and_then(|()| replace(Path::new(&grammar), &words.jsgf));
        match outcome {
            Ok(()) => {
                self.lost = None;
                self.written = Some(words.clone());
                true
            }
            Err(why) => {
                self.lost = Some(format!("the words cannot be published: {why}"));
                self.written = None;
                false
            }
        }
    }

    /// How it stands, if that is not what was said last.
    pub fn news(&mut self) -> Option<Ear> {
        let lost = self.lost.clone();
        self.standing.news(lost)
    }
}

/// Puts a file in the place of another in one step. Not flushed: words are worth nothing after a power cut.
fn replace(path: &Path, text: &str) -> io::Result<()> {
    if fs::symlink_metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(io::Error::other("there is something of that name that is no ordinary file"));
    }
    let name = path.file_name().ok_or_else(|| io::Error::other("the path names no file"))?;
    let mut aside = OsString::from(".");
    aside.push(name);
    aside.push(format!(".{}", std::process::id()));
    let aside = path.with_file_name(aside);
    let written = fresh(&aside).and_then(|mut file| file.write_all(text.as_bytes()));
    let replaced = written.and_then(|()| fs::rename(&aside, path));
    if replaced.is_err() {
        let _ = fs::remove_file(&aside);
    }
    replaced
}

fn fresh(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true).mode(0o600);
    options.open(path).or_else(|why| {
        if why.kind() != io::ErrorKind::AlreadyExists {
            return Err(why);
        }
        // Left by a program of the same number that was cut off.
        fs::remove_file(path)?;
        options.open(path)
    })
}

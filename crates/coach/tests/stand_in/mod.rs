//! Programs that stand in for speech programs and players: shell scripts, so that the tests need no sound on the machine.
//!
//! They are called as `/bin/sh SCRIPT …`: a script that was just written cannot always be started by itself while
//! another thread starts programs.

#![allow(dead_code, reason = "the tests use some of it, the benchmark some")]

use std::fs;
use std::path::{Path, PathBuf};

use coach::rim::speaker::{Play, Speak};

/// Writes a WAV file `$1`, 30 ms long for each letter of `$2`: 22,050 samples a second, 16 bits.
const SPEAKS: &str = r#"
printf 'RIFF\044\360\377\177WAVEfmt \020\0\0\0\001\0\001\0\042\126\0\0\104\254\0\0\002\0\020\0data\0\360\377\177' > "$1"
head -c $((${#2} * 1323)) /dev/zero | tr '\000' 'A' >> "$1"
"#;
/// Lasts as long as the file `$1` sounds.
const PLAYS: &str = r#"
ms=$((($(wc -c < "$1") - 44) * 10 / 441))
exec sleep "$((ms / 1000)).$(printf %03d $((ms % 1000)))"
"#;
const HANGS: &str = "exec sleep 1000";
const FAILS: &str = "exit 1";
const RUBBISH: &str = r#"
head -c 30000 /dev/urandom | tee "$1"
"#;

/// How a program behaves.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Does {
    /// As it should.
    Behaves,
    /// It never ends.
    Hangs,
    /// It ends with 1 at once.
    Fails,
    /// It writes what is no sound.
    Rubbish,
    /// There is no such program.
    IsMissing,
}

/// A folder of scripts.
pub struct StandIns {
    /// Where they are.
    pub folder: PathBuf,
    _temporary: tempfile::TempDir,
}

impl StandIns {
    /// A new one.
    pub fn new() -> Self {
        let temporary = tempfile::tempdir().unwrap();
        Self { folder: temporary.path().to_owned(), _temporary: temporary }
    }

    /// A script, and how it is called.
    pub fn script(&self, name: &str, text: &str, arguments: &[&str]) -> Vec<String> {
        let path = self.folder.join(name);
        fs::write(&path, text).unwrap();
        let command = ["/bin/sh".to_owned(), path.display().to_string()];
        command.into_iter().chain(arguments.iter().map(|argument| (*argument).to_owned())).collect()
    }

    /// A speech program.
    pub fn voice(&self, does: Does) -> Speak {
        self.voice_that("", does)
    }

    /// A speech program that does something first.
    pub fn voice_that(&self, first: &str, does: Does) -> Speak {
        let text = match does {
            Does::Behaves => SPEAKS,
            Does::Hangs => HANGS,
            Does::Fails => FAILS,
            Does::Rubbish => RUBBISH,
            Does::IsMissing => return Speak::Command(vec!["no-such-voice".to_owned(), "{text}".to_owned()]),
        };
        let name = format!("voice-{does:?}.sh");
        Speak::Command(self.script(&name, &format!("{first}\n{text}"), &["{file}", "{text}"]))
    }

    /// A player.
    pub fn player(&self, does: Does) -> Play {
        self.player_that("", does)
    }

    /// A player that does something first.
    pub fn player_that(&self, first: &str, does: Does) -> Play {
        let text = match does {
            Does::Behaves => PLAYS,
            Does::Hangs => HANGS,
            Does::Fails | Does::Rubbish => FAILS,
            Does::IsMissing => return Play::Command(vec!["no-such-player".to_owned(), "{file}".to_owned()]),
        };
        let name = format!("player-{does:?}.sh");
        Play::Command(self.script(&name, &format!("{first}\n{text}"), &["{file}"]))
    }

    /// A file in the folder.
    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

/// The whole lines of a cue log.
pub fn log(file: &Path) -> Vec<voice::log::Entry> {
    let text = fs::read_to_string(file).unwrap_or_default();
    let whole = text.rfind('\n').map_or("", |end| &text[..end]);
    whole.lines().map(|line| voice::log::Entry::read(line).unwrap()).collect()
}

//! Which programs speak and play, how they are found and called.
//!
//! Here: the lists for each system, the search path, arguments, what to install. Not here: running them (`child`).
//!
//! | system | speaks | plays | tried |
//! |--------|--------|-------|-------|
//! | Linux | espeak-ng, espeak, flite | pw-play, paplay, aplay, play (sox) | espeak-ng, flite, paplay, aplay, play |
//! | macOS | say | afplay | no, written from memory of their manuals |
//! | Windows | PowerShell with System.Speech | PowerShell with SoundPlayer | no, from memory; each sound waits for PowerShell to start |
//! | other | as on Linux | as on Linux | no |
//!
//! `spd-say` is not among them: it gives no sound file, so nobody can say how long it speaks, and a countdown could not
//! cut it reliably.
//!
//! **Invariant:** no shell ever sees a text, and a text can never become an option.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// Longer texts are cut: nobody listens to more, and no argument grows without end.
const TEXT_AT_MOST: usize = 1_000;

/// A program and how it is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Program {
    /// What it is called in words.
    pub name: String,
    /// Where it is.
    pub path: PathBuf,
    /// Its arguments, with `{text}`, `{file}` and `{rate}`.
    pub args: Vec<String>,
    /// What keeps a text from being taken for an option: whether `--` or the like stands before `{text}` already.
    is_guarded: bool,
}

/// What stands for the placeholders of a program's arguments.
#[derive(Copy, Clone, Debug)]
pub struct Fill<'a> {
    /// The words.
    pub text: &'a str,
    /// The sound file.
    pub file: &'a Path,
    /// Words a minute.
    pub rate: u16,
}

impl Program {
    fn new(name: &str, path: PathBuf, args: &[&str]) -> Self {
        let args: Vec<String> = args.iter().map(|arg| (*arg).to_owned()).collect();
        let is_guarded = args.windows(2).any(|two| matches!(two[0].as_str(), "--" | "-t") && two[1] == "{text}");
        Self { name: name.to_owned(), path, args, is_guarded }
    }

    /// A program a person has named, if it is there.
    pub fn own(command: &[String]) -> Option<Self> {
        let (name, args) = command.split_first()?;
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        Some(Self { is_guarded: false, ..Self::new(name, find(name)?, &args) })
    }

    /// Whether the words are an argument; else they come on standard input.
    pub fn takes_text(&self) -> bool {
        self.args.iter().any(|arg| arg.contains("{text}"))
    }

    /// Whether the sound file is an argument; else it is standard output, or standard input of what plays.
    pub fn takes_file(&self) -> bool {
        self.args.iter().any(|arg| arg.contains("{file}")) || cfg!(windows)
    }

    /// Its arguments. What is filled in is not looked at again, so that a text may speak of `{file}`.
    pub fn arguments(&self, fill: Fill<'_>) -> Vec<OsString> {
        self.args.iter().map(|arg| self.argument(arg, fill)).collect()
    }

    fn argument(&self, arg: &str, fill: Fill<'_>) -> OsString {
        let mut made = OsString::new();
        let mut rest = arg;
        while let Some(at) = rest.find('{') {
            let (before, from) = rest.split_at(at);
            made.push(before);
            let filled = ["{text}", "{file}", "{rate}"].into_iter().find(|name| from.starts_with(name));
            match filled {
                Some("{text}") => {
                    if made.is_empty() && !self.is_guarded && fill.text.starts_with(['-', '+', '/', '@']) {
                        // No program takes a blank for the beginning of an option.
                        made.push(" ");
                    }
                    made.push(fill.text);
                }
                Some("{file}") => made.push(fill.file),
                Some(_) => made.push(fill.rate.to_string()),
                None => made.push("{"),
            }
            rest = from.get(filled.map_or(1, str::len)..).unwrap_or_default();
        }
        made.push(rest);
        made
    }
}

/// Words as a program is given them: one line, no control characters, not without end.
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(TEXT_AT_MOST).collect()
}

/// Programs that speak, best first: how each is called at `rate` words a minute.
pub fn voices(rate: u16) -> Vec<Program> {
    // Flite is told how much longer everything lasts. Its own paces, measured with a sentence of 29 words against espeak-ng:
    // the voice slt speaks like espeak-ng at 185 words a minute, the one it has by itself like 205.
    let stretch = |own: u32| {
        let hundredths = own * 100 / u32::from(rate.max(1));
        format!("duration_stretch={}.{:02}", hundredths / 100, hundredths % 100)
    };
    let (slt, plain) = (stretch(185), stretch(205));
    let espeak = ["-v", "en-us", "-s", "{rate}", "-w", "{file}", "--", "{text}"];
    let list: Vec<(&str, Vec<&str>)> = if cfg!(target_os = "macos") {
        vec![("say", vec!["-r", "{rate}", "-o", "{file}", "--file-format=WAVE", "--data-format=LEI16@22050"])]
    } else if cfg!(windows) {
        vec![("powershell", vec!["-NoProfile", "-NonInteractive", "-Command", SAPI])]
    } else {
        vec![
            ("espeak-ng", espeak.to_vec()),
            ("espeak", espeak.to_vec()),
            ("flite", vec!["-voice", "slt", "--setf", &slt, "-o", "{file}", "-t", "{text}"]),
            ("flite", vec!["--setf", &plain, "-o", "{file}", "-t", "{text}"]),
        ]
    };
    found(&list)
}

/// Programs that play a sound file, best first.
pub fn players() -> Vec<Program> {
    let list: Vec<(&str, Vec<&str>)> = if cfg!(target_os = "macos") {
        vec![("afplay", vec!["{file}"])]
    } else if cfg!(windows) {
        vec![("powershell", vec!["-NoProfile", "-NonInteractive", "-Command", SOUND_PLAYER])]
    } else {
        vec![
            ("pw-play", vec!["{file}"]),
            ("paplay", vec!["{file}"]),
            ("aplay", vec!["-q", "{file}"]),
            ("play", vec!["-q", "{file}"]),
        ]
    };
    found(&list)
}

/// The words come on standard input and the file in `POURSIDE_SOUND`, so that nothing is ever part of a script.
const SAPI: &str = "Add-Type -AssemblyName System.Speech; \
    $s = New-Object System.Speech.Synthesis.SpeechSynthesizer; \
    $s.Rate = [Math]::Max(-10, [Math]::Min(10, ([int]$env:POURSIDE_RATE - 180) / 15)); \
    $s.SetOutputToWaveFile($env:POURSIDE_SOUND); $s.Speak([Console]::In.ReadToEnd()); $s.Dispose()";
const SOUND_PLAYER: &str = "(New-Object System.Media.SoundPlayer $env:POURSIDE_SOUND).PlaySync()";

fn found(list: &[(&str, Vec<&str>)]) -> Vec<Program> {
    list.iter().filter_map(|(name, args)| Some(Program::new(name, find(name)?, args))).collect()
}

/// How to get a program that speaks.
pub fn get_voice() -> &'static str {
    if cfg!(target_os = "macos") {
        "“say” comes with macOS"
    } else if cfg!(windows) {
        "PowerShell and System.Speech come with Windows"
    } else {
        "Debian, Ubuntu: apt install espeak-ng; Fedora: dnf install espeak-ng; Arch: pacman -S espeak-ng"
    }
}

/// How to get a program that plays.
pub fn get_player() -> &'static str {
    if cfg!(target_os = "macos") {
        "“afplay” comes with macOS"
    } else if cfg!(windows) {
        "PowerShell comes with Windows"
    } else {
        "Debian, Ubuntu: apt install pulseaudio-utils, or alsa-utils; Fedora: dnf install pulseaudio-utils; Arch: pacman \
         -S libpulse, or alsa-utils"
    }
}

/// Looks a program up on the search path, without a shell. A name with a folder is taken as it is.
pub fn find(name: &str) -> Option<PathBuf> {
    let named = Path::new(name);
    if named.components().count() > 1 {
        return is_program(named).then(|| named.to_owned());
    }
    let path = std::env::var_os("PATH")?;
    // The folder one happens to be in is no place for programs, whatever the search path says.
    let folders = std::env::split_paths(&path).filter(|folder| folder.is_absolute());
    let names = if cfg!(windows) { vec![format!("{name}.exe"), name.to_owned()] } else { vec![name.to_owned()] };
    folders
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)).collect::<Vec<_>>())
        .find(|at| is_program(at))
}

#[cfg(unix)]
fn is_program(at: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt as _;
    at.metadata().is_ok_and(|about| about.is_file() && about.permissions().mode() & 0o111 != 0)
}

#[cfg(not(unix))]
fn is_program(at: &Path) -> bool {
    at.is_file()
}

/// A command as it is typed: words between blanks, quotation marks around words with blanks. Nothing else has a
/// meaning: no variables, no wildcards, no shell.
///
/// # Errors
///
/// What is wrong with it, in words.
pub fn words_of(command: &str) -> Result<Vec<String>, String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for c in command.chars() {
        match (quote, c) {
            (Some(mark), c) if c == mark => quote = None,
            (Some(_), c) => word.get_or_insert_default().push(c),
            (None, '"' | '\'') => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            (None, c) if c.is_whitespace() => words.extend(word.take()),
            (None, c) => word.get_or_insert_default().push(c),
        }
    }
    if quote.is_some() {
        return Err("a quotation mark is not closed".to_owned());
    }
    words.extend(word);
    if words.first().is_none_or(String::is_empty) {
        return Err("no program is named".to_owned());
    }
    Ok(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn called(args: &[&str], text: &str) -> Vec<String> {
        let program = Program::new("p", PathBuf::from("/p"), args);
        let fill = Fill { text, file: Path::new("/f.wav"), rate: 160 };
        program.arguments(fill).into_iter().map(|arg| arg.into_string().unwrap()).collect()
    }

    #[test]
    fn a_text_is_one_argument_and_never_an_option() {
        let espeak = ["-s", "{rate}", "-w", "{file}", "--", "{text}"];
        assert_eq!(called(&espeak, "-v; $(x)"), ["-s", "160", "-w", "/f.wav", "--", "-v; $(x)"]);
        assert_eq!(called(&["{text}"], "--help"), [" --help"]);
        assert_eq!(called(&["--say={text}"], "--help"), ["--say=--help"]);
    }

    #[test]
    fn what_is_filled_in_is_not_looked_at_again() {
        assert_eq!(called(&["--", "{text}"], "{file} {rate} {"), ["--", "{file} {rate} {"]);
        assert_eq!(called(&["{x}{rate}{", "{file}.{file}"], ""), ["{x}160{", "/f.wav./f.wav"]);
    }

    #[test]
    fn words_have_no_line_ends_and_an_end() {
        assert_eq!(plain("one\ntwo\u{0}\u{1b}[m"), "one two  [m");
        assert_eq!(plain(&"é".repeat(5_000)).chars().count(), TEXT_AT_MOST);
    }

    #[test]
    fn a_command_is_words_and_quotation_marks() {
        for (typed, words) in [
            ("say -r 150 {text}", vec!["say", "-r", "150", "{text}"]),
            ("  '/my programs/voice' \"a 'b\" '' ", vec!["/my programs/voice", "a 'b", ""]),
            ("voice $(x) ; y | z *", vec!["voice", "$(x)", ";", "y", "|", "z", "*"]),
        ] {
            assert_eq!(words_of(typed).unwrap(), words);
        }
        for (typed, fault) in [("say 'x", "not closed"), ("  ", "no program"), ("'' x", "no program")] {
            assert!(words_of(typed).unwrap_err().contains(fault), "{typed}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn programs_are_found_on_the_path_and_by_their_place() {
        assert!(find("sh").is_some_and(|at| at.is_absolute()));
        assert!(find("/bin/sh").is_some());
        assert_eq!(find("no-such-program-anywhere"), None);
        assert_eq!(find("/etc/passwd"), None, "it cannot be run");
        assert_eq!(find("/bin"), None, "a folder");
        assert_eq!(Program::own(&[]), None);
    }
}

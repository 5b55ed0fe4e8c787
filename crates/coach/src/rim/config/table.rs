//! Everything that can be set: one table from which the file is read, written and told.
//!
//! Here: each key with its section, its default, what is possible, and how it is said. Not here: taking a file apart.
//!
//! **Invariant:** what the written file shows as a default is the default, for both are asked of the same data.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use toml::de::DeValue;

use super::Config;
use crate::rim::cli::Theme;
use crate::rim::speaker::{Play, Speak};
use crate::screen::hands::settings::{Led, Pace};

/// One key of the settings file.
#[derive(Debug)]
pub struct Setting {
    /// The header it stands under.
    pub section: &'static str,
    /// Its name.
    pub key: &'static str,
    /// What it does, in lines.
    pub about: &'static [&'static str],
    /// What is possible.
    pub range: &'static str,
    /// What the written file shows where nothing is set.
    pub example: &'static str,
    /// Takes a value; false if it is not possible.
    pub set: fn(&mut Config, &DeValue<'_>) -> bool,
    /// What is set, as it would be written; `None` if nothing is.
    pub show: fn(&Config) -> Option<String>,
}

/// The sections with what they are about.
const SECTIONS: &[(&str, &str)] = &[
    ("hands", "With what the program is led while the hands are not free."),
    ("pace", "Strokes of the rod and taps of the mallet, counted aloud."),
    ("voice", "What is to be heard."),
    ("listen", "Where spoken or sent lines come from."),
    ("view", "How it looks."),
];

/// Takes a value where it is one of its kind, and says whether it was.
fn put<T>(place: &mut T, value: Option<T>) -> bool {
    value.map(|value| *place = value).is_some()
}

/// Every key there is, in the order of the written file.
pub const SETTINGS: &[Setting] = &[
    Setting {
        section: "hands",
        key: "led",
        about: &["keys: a keyboard, with a pedal or a clicker beside it.", "clicker: three keys. switch: one."],
        range: "“keys”, “clicker” or “switch”",
        example: "",
        set: |config, value| put(&mut config.hands.led, one_of(value, LED)),
        show: |config| Some(word_of(&config.hands.led, LED)),
    },
    Setting {
        section: "hands",
        key: "scan_seconds",
        about: &["How long one thing is offered to one switch before the next."],
        range: "0.5 to 5",
        example: "",
        set: |config, value| put(&mut config.hands.scan_ms, thousandths(value, 500, 5_000)),
        show: |config| Some(in_thousandths(config.hands.scan_ms)),
    },
    Setting {
        section: "hands",
        key: "scan_loops",
        about: &["How often everything is offered before it rests."],
        range: "1 to 20",
        example: "",
        set: |config, value| put(&mut config.hands.scan_loops, whole(value, 1, 20)),
        show: |config| Some(config.hands.scan_loops.to_string()),
    },
    Setting {
        section: "hands",
        key: "bounce_ms",
        about: &["The same key of a pedal sooner than this is a bounce of its wet contact, in milliseconds."],
        range: "0 to 500",
        example: "",
        set: |config, value| put(&mut config.hands.bounce_ms, whole(value, 0, 500)),
        show: |config| Some(config.hands.bounce_ms.to_string()),
    },
    Setting {
        section: "hands",
        key: "go_on",
        about: &["A wait that has ended leads on by itself, where the procedure allows it."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.goes_on, value.as_bool()),
        show: |config| Some(config.hands.goes_on.to_string()),
    },
    Setting {
        section: "pace",
        key: "strokes",
        about: &["off: silence. tick: a tick for each. count: a number for each."],
        range: "“off”, “tick” or “count”",
        example: "",
        set: |config, value| put(&mut config.hands.pace, one_of(value, PACE)),
        show: |config| Some(word_of(&config.hands.pace, PACE)),
    },
    Setting {
        section: "pace",
        key: "a_minute",
        about: &["Strokes a minute. Not written: the pace of the procedure."],
        range: "10 to 120",
        example: "40",
        set: |config, value| put(&mut config.hands.strokes_a_minute, whole(value, 10, 120).map(Some)),
        show: |config| config.hands.strokes_a_minute.map(|n| n.to_string()),
    },
    Setting {
        section: "voice",
        key: "on",
        about: &["Whether the program speaks and sounds at all; the bell of the terminal is apart from it."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.speaks, value.as_bool()),
        show: |config| Some(config.hands.speaks.to_string()),
    },
    Setting {
        section: "voice",
        key: "speak",
        about: &[
            "What turns words into sound. auto: what the machine has. off: tones only.",
            "Or a program with its arguments; {text} stands for the words, {file} for the sound file to be written:",
            "speak = [\"espeak-ng\", \"-w\", \"{file}\", \"{text}\"]",
        ],
        range: "“auto”, “off”, or a list with a program and its arguments",
        example: "",
        set: |config, value| {
            let spoken = match value.as_str() {
                Some("auto") => Some(Speak::Auto),
                Some("off") => Some(Speak::Off),
                _ => command(value).map(Speak::Command),
            };
            put(&mut config.sound.speak, spoken)
        },
        show: |config| {
            Some(match &config.sound.speak {
                Speak::Auto => quoted("auto"),
                Speak::Off => quoted("off"),
                Speak::Command(command) => list(command),
            })
        },
    },
    Setting {
        section: "voice",
        key: "play",
        about: &[
            "What plays sound. auto: what the machine has. bell: the bell of the terminal. off: nothing.",
            "Or a program with its arguments; {file} stands for the sound file:",
            "play = [\"aplay\", \"-q\", \"{file}\"]",
        ],
        range: "“auto”, “bell”, “off”, or a list with a program and its arguments",
        example: "",
        set: |config, value| {
            let played = match value.as_str() {
                Some("auto") => Some(Play::Auto),
                Some("bell") => Some(Play::Bell),
                Some("off") => Some(Play::Off),
                _ => command(value).map(Play::Command),
            };
            put(&mut config.sound.play, played)
        },
        show: |config| {
            Some(match &config.sound.play {
                Play::Auto => quoted("auto"),
                Play::Bell => quoted("bell"),
                Play::Off => quoted("off"),
                Play::Command(command) => list(command),
            })
        },
    },
    Setting {
        section: "voice",
        key: "rate",
        about: &["Words a minute."],
        range: "80 to 260",
        example: "",
        set: |config, value| put(&mut config.sound.rate_wpm, whole(value, 80, 260)),
        show: |config| Some(config.sound.rate_wpm.to_string()),
    },
    Setting {
        section: "voice",
        key: "lead_ms",
        about: &["How many milliseconds earlier a sound is begun, for loudspeakers that are late."],
        range: "0 to 500",
        example: "",
        set: |config, value| put(&mut config.sound.lead_ms, whole(value, 0, 500)),
        show: |config| Some(config.sound.lead_ms.to_string()),
    },
    Setting {
        section: "voice",
        key: "terse",
        about: &["Only the short form of a step is spoken."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.is_terse, value.as_bool()),
        show: |config| Some(config.hands.is_terse.to_string()),
    },
    Setting {
        section: "voice",
        key: "log",
        about: &["A file to which every cue is added, with its times. Not written: none."],
        range: WHOLE_PATH,
        example: "\"~/pourside-cues.jsonl\"",
        set: |config, value| put(&mut config.sound.log, path(value).map(Some)),
        show: |config| shown(config.sound.log.as_deref()),
    },
    Setting {
        section: "listen",
        key: "fifo",
        about: &["A named pipe that lines are read from; made if it is missing. Not written: none."],
        range: WHOLE_PATH,
        example: "\"~/pourside-words\"",
        set: |config, value| put(&mut config.listening.fifo, path(value).map(Some)),
        show: |config| shown(config.listening.fifo.as_deref()),
    },
    Setting {
        section: "listen",
        key: "socket",
        about: &["A socket of yours alone that lines are read from. Not written: none."],
        range: WHOLE_PATH,
        example: "\"~/pourside-socket\"",
        set: |config, value| put(&mut config.listening.socket, path(value).map(Some)),
        show: |config| shown(config.listening.socket.as_deref()),
    },
    Setting {
        section: "listen",
        key: "command",
        about: &["A recogniser: a program with its arguments, started and restarted. Not written: none."],
        range: "a list with a program and its arguments",
        example: "[\"my-recogniser\", \"--lines\"]",
        set: |config, value| put(&mut config.listening.command, command(value).map(Some)),
        show: |config| config.listening.command.as_deref().map(list),
    },
    Setting {
        section: "listen",
        key: "words_out",
        about: &[
            "A file that holds the words valid now, one phrase a line, and beside it the grammar with the ending .jsgf.",
            "Not written: none.",
        ],
        range: WHOLE_PATH,
        example: "\"~/pourside-valid.txt\"",
        set: |config, value| put(&mut config.listening.words_out, path(value).map(Some)),
        show: |config| shown(config.listening.words_out.as_deref()),
    },
    Setting {
        section: "listen",
        key: "headset",
        about: &["A headset: the microphone does not hear what the program says."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.headset, value.as_bool()),
        show: |config| Some(config.hands.headset.to_string()),
    },
    Setting {
        section: "listen",
        key: "open_microphone",
        about: &["Listen always instead of after a tap. Not advised: ordinary talk is taken for commands."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.open_microphone, value.as_bool()),
        show: |config| Some(config.hands.open_microphone.to_string()),
    },
    Setting {
        section: "listen",
        key: "listen_seconds",
        about: &["How long a tap of the talk key opens the microphone."],
        range: "1 to 30",
        example: "",
        set: |config, value| put(&mut config.hands.listen_ms, thousandths(value, 1_000, 30_000)),
        show: |config| Some(in_thousandths(config.hands.listen_ms)),
    },
    Setting {
        section: "listen",
        key: "confidence",
        about: &["What a recogniser is less sure of than this counts as not understood."],
        range: "0 to 1, in hundredths",
        example: "",
        set: |config, value| {
            let per_cent = thousandths(value, 0, 1_000).filter(|n| n % 10 == 0).map(|n| (n / 10) as u8);
            put(&mut config.hands.confidence_at_least, per_cent)
        },
        show: |config| Some(in_thousandths(u64::from(config.hands.confidence_at_least) * 10)),
    },
    Setting {
        section: "view",
        key: "far",
        about: &["The view for somebody three metres away from the start."],
        range: "true or false",
        example: "",
        set: |config, value| put(&mut config.hands.far, value.as_bool()),
        show: |config| Some(config.hands.far.to_string()),
    },
    Setting {
        section: "view",
        key: "theme",
        about: &["Colours for a dark or a light terminal, or none; auto: as the terminal says."],
        range: "“auto”, “dark”, “light” or “mono”",
        example: "",
        set: |config, value| {
            put(&mut config.theme, one_of(value, THEME).map(|theme| (theme != Theme::Auto).then_some(theme)))
        },
        show: |config| Some(word_of(&config.theme.unwrap_or(Theme::Auto), THEME)),
    },
];

const LED: &[(&str, Led)] = &[("keys", Led::Keys), ("clicker", Led::Clicker), ("switch", Led::Switch)];
const PACE: &[(&str, Pace)] = &[("off", Pace::Off), ("tick", Pace::Tick), ("count", Pace::Count)];
const THEME: &[(&str, Theme)] =
    &[("auto", Theme::Auto), ("dark", Theme::Dark), ("light", Theme::Light), ("mono", Theme::Mono)];
const WHOLE_PATH: &str = "a whole path in quotes, from the root or from ~/";

/// The file with every setting at its default, each behind a `#`.
pub fn as_it_comes() -> String {
    let mut out = String::from(
        "# Settings of pourside. Every line behind a # shows what holds without it: take the # away to change it.\n\
         # “pourside config” says what is different, and what cannot be read. The command line goes before this file.\n",
    );
    let config = Config::default();
    for (section, about) in SECTIONS {
        let _ = write!(out, "\n[{section}]\n# {about}\n");
        for setting in SETTINGS.iter().filter(|setting| setting.section == *section) {
            out.push('\n');
            for line in setting.about {
                let _ = writeln!(out, "# {line}");
            }
            let value = (setting.show)(&config).unwrap_or_else(|| setting.example.to_owned());
            let _ = writeln!(out, "# Possible: {}.\n#{} = {value}", setting.range, setting.key);
        }
    }
    out
}

// ---------------------------------------------------------------------------------------------- values

fn one_of<T: Copy>(value: &DeValue<'_>, words: &[(&str, T)]) -> Option<T> {
    let word = value.as_str()?;
    words.iter().find(|(known, _)| *known == word).map(|(_, meant)| *meant)
}

fn word_of<T: PartialEq>(meant: &T, words: &[(&str, T)]) -> String {
    quoted(words.iter().find(|(_, known)| known == meant).map_or("", |(word, _)| word))
}

fn whole<T: TryFrom<u64>>(value: &DeValue<'_>, least: u64, most: u64) -> Option<T> {
    let number = value.as_integer().filter(|number| number.radix() == 10)?;
    let number = number.as_str().parse::<u64>().ok().filter(|n| (least..=most).contains(n))?;
    T::try_from(number).ok()
}

/// A number with up to three places, times a thousand: no binary fraction lies between the file and what holds.
fn thousandths(value: &DeValue<'_>, least: u64, most: u64) -> Option<u64> {
    let text = match value {
        DeValue::Integer(number) if number.radix() == 10 => number.as_str(),
        DeValue::Float(number) => number.as_str(),
        _ => return None,
    };
    of_decimal(text).filter(|n| (least..=most).contains(n))
}

/// A plain decimal of at most three places, times a thousand.
pub(in crate::rim) fn of_decimal(text: &str) -> Option<u64> {
    let (whole, places) = text.split_once('.').unwrap_or((text, ""));
    let is_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let places = places.trim_end_matches('0');
    if whole.is_empty() || whole.len() > 9 || places.len() > 3 || !is_digits(whole) || !is_digits(places) {
        return None;
    }
    format!("{whole}{places:0<3}").parse().ok()
}

fn in_thousandths(n: u64) -> String {
    let text = format!("{}.{:03}", n / 1_000, n % 1_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn command(value: &DeValue<'_>) -> Option<Vec<String>> {
    let words: Option<Vec<String>> =
        value.as_array()?.iter().map(|word| word.get_ref().as_str().map(str::to_owned)).collect();
    words.filter(|words| words.first().is_some_and(|program| !program.trim().is_empty()))
}

fn path(value: &DeValue<'_>) -> Option<PathBuf> {
    let text = value.as_str()?;
    let path = match text.strip_prefix("~/") {
        Some(rest) => directories::BaseDirs::new()?.home_dir().join(rest),
        None => PathBuf::from(text),
    };
    (path.is_absolute() && path.file_name().is_some()).then_some(path)
}

fn shown(path: Option<&Path>) -> Option<String> {
    path.map(|path| quoted(&path.display().to_string()))
}

/// A text as TOML writes it.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for sign in text.chars() {
        match sign {
            '"' | '\\' => out.extend(['\\', sign]),
            sign if sign.is_control() => {
                let _ = write!(out, "\\u{:04X}", sign as u32);
            }
            sign => out.push(sign),
        }
    }
    out.push('"');
    out
}

/// A list of texts as TOML writes it.
pub(super) fn list(words: &[String]) -> String {
    let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
    format!("[{}]", words.join(", "))
}

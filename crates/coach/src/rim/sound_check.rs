//! `pourside sound-check`: what is to be heard, played once, and what is missing.
//!
//! Here: looking for programs one after another, playing everything, saying how long it takes; the arguments about sound
//! that other commands share. Not here: what plays during a run (`speaker`).
//!
//! Unlike a run it waits for programs: whoever checks wants to know how each one ends.
//!
//! **Invariant:** it says only what it has tried, and needs no terminal.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use clap::Args;
use voice::{Tone, wav};

use super::cli::{self, Failure};
use super::clock;
use super::speaker::child::Child;
use super::speaker::folder::Folder;
use super::speaker::programs::{self, Fill, Program};
use super::speaker::words::{self, Choice};
use super::speaker::work;
use super::speaker::{LEAD_AT_MOST, Play, RATES, Sound, Speak};

/// How sound is made: whatever is not said stays as it is set.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "Sound")]
pub struct SoundArgs {
    /// What speaks: auto, off, or a program with its arguments. {text} stands for the words and {file} for the WAV file to
    /// be written; without them the words come on its standard input and the sound is its standard output. No shell is
    /// involved.
    #[arg(long, value_name = "auto|off|COMMAND")]
    pub speak: Option<Speak>,
    /// What plays: auto, bell, off, or a program with its arguments. {file} stands for the WAV file; without it the file is
    /// its standard input.
    #[arg(long, value_name = "auto|bell|off|COMMAND")]
    pub play: Option<Play>,
    /// Words a minute, 80 to 260; above 180 fewer of them are understood.
    #[arg(long, value_name = "WORDS", value_parser = clap::value_parser!(u16).range(i64::from(*RATES.start())..=i64::from(*RATES.end())))]
    pub speech_rate: Option<u16>,
    /// Begin each sound so many milliseconds earlier, for loudspeakers that are late (0 to 500).
    #[arg(long, value_name = "MS", value_parser = clap::value_parser!(u16).range(..=i64::from(LEAD_AT_MOST)))]
    pub audio_lead: Option<u16>,
    /// Add a line of JSON to this file for each cue: when it was due, begun, ended or cut, in milliseconds since the
    /// sound was started.
    #[arg(long, value_name = "FILE")]
    pub cue_log: Option<PathBuf>,
}

impl SoundArgs {
    /// What is set, with what was said here over it.
    pub fn over(self, set: Sound) -> Sound {
        Sound {
            speak: self.speak.unwrap_or(set.speak),
            play: self.play.unwrap_or(set.play),
            rate_wpm: self.speech_rate.unwrap_or(set.rate_wpm),
            lead_ms: self.audio_lead.unwrap_or(set.lead_ms),
            log: self.cue_log.or(set.log),
        }
    }

    /// Whether anything was said.
    pub fn is_empty(&self) -> bool {
        self.speak.is_none()
            && self.play.is_none()
            && self.speech_rate.is_none()
            && self.audio_lead.is_none()
            && self.cue_log.is_none()
    }
}

/// `sound-check`.
#[derive(Debug, Args)]
pub struct SoundCheckArgs {
    /// What speaks: auto, off, or a program with its arguments, as for `run`.
    #[arg(long, value_name = "auto|off|COMMAND")]
    pub speak: Option<Speak>,
    /// What plays: auto, or a program with its arguments, as for `run`.
    #[arg(long, value_name = "auto|COMMAND")]
    pub play: Option<Play>,
    /// Words a minute, 80 to 260; above 180 fewer of them are understood.
    #[arg(long, value_name = "WORDS", value_parser = clap::value_parser!(u16).range(i64::from(*RATES.start())..=i64::from(*RATES.end())))]
    pub speech_rate: Option<u16>,
}

const SENTENCE: &str = "Fill the bowl to about one third of its height, and rod it twenty five times.";
/// A player may need so long after its sound.
const GRACE: Duration = Duration::from_secs(5);

/// Looks for programs, plays everything, and says what was found.
///
/// # Errors
///
/// [`Failure`] if nothing can be printed, or there is no folder for sound files.
pub fn sound_check(args: SoundCheckArgs) -> Result<ExitCode, Failure> {
    let SoundCheckArgs { speak, play, speech_rate } = args;
    let said = SoundArgs { speak, play, speech_rate, ..SoundArgs::default() };
    let sound = said.over(super::config::load().sound);
    let folder = Folder::make().map_err(|why| {
        Failure::refused(format!("no folder for sound files: {why}"), "Is the disk full? TMPDIR names another place.")
    })?;
    let check = Check { folder, rate: sound.rate_wpm, never: AtomicBool::new(false) };
    if let Some(note) = sound.note() {
        cli::say(&format!("{note}\n"))?;
    }
    let player = check.player(&sound.play)?;
    let voice = check.voice(&sound.speak)?;
    let Some(player) = player else {
        cli::say("\nNothing can be heard but the terminal's bell.\n")?;
        return Ok(ExitCode::from(1));
    };
    cli::say("\nThe six tones, and what each stands for:\n")?;
    let mut n_faults = 0;
    for tone in Tone::ALL {
        let (name, what) = about(tone);
        n_faults += check.play(&player, voice.as_ref(), Some(tone), name, &format!("  {name:<10} {what}"))?;
    }
    if voice.is_some() {
        n_faults += check.play(&player, voice.as_ref(), None, SENTENCE, &format!("\nA sentence: {SENTENCE}"))?;
    }
    n_faults += check.countdown(&player, voice.as_ref())?;
    let is_heard = n_faults == 0 && voice.is_some();
    cli::say(match (n_faults, is_heard) {
        (0, true) => "\nWords and tones can be played. Whether they are heard, your ears say.\n",
        (0, false) => "\nTones can be played, words cannot.\n",
        _ => "\nNot everything could be played, see above.\n",
    })?;
    Ok(if is_heard { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// What a tone is called, and what it stands for.
fn about(tone: Tone) -> (&'static str, &'static str) {
    match tone {
        Tone::Begin => ("begin", "something timed begins"),
        Tone::Halfway => ("halfway", "half of it is over"),
        Tone::Tick => ("tick", "one of the last seconds, or one stroke of a pace"),
        Tone::Done => ("done", "long enough, enough, or a limit is reached"),
        Tone::Refused => ("refused", "refused, or not understood"),
        Tone::Elsewhere => ("elsewhere", "another test needs you"),
    }
}

struct Check {
    folder: Folder,
    rate: u16,
    /// Nobody stops it but the person.
    never: AtomicBool,
}

impl Check {
    /// The first player that plays a short silence to its end.
    fn player(&self, play: &Play) -> Result<Option<Program>, Failure> {
        let (programs, none) = match play {
            Play::Auto => (programs::players(), format!("none found\n  {}", programs::get_player())),
            Play::Command(command) => {
                let name = command.first().map(String::as_str).unwrap_or_default();
                (Program::own(command).into_iter().collect(), format!("“{name}” is not found, or is no program"))
            }
            Play::Bell => (Vec::new(), "the bell only, as it is set".to_owned()),
            Play::Off => (Vec::new(), "off, as it is set".to_owned()),
        };
        if programs.is_empty() {
            cli::say(&format!("player: {none}\n"))?;
            return Ok(None);
        }
        let silence = wav::Sound { rate: words::RATE, samples: vec![0; 1_000] };
        for program in programs {
            match self.sounded(&program, &silence) {
                Ok(took) => {
                    let (name, path, ms) = (&program.name, program.path.display(), took.as_millis());
                    cli::say(&format!(
                        "player: {name} ({path}), started in {} ms; 45 ms of silence played in {ms} ms\n",
                        self.start_time(&program).as_millis()
                    ))?;
                    return Ok(Some(program));
                }
                Err(why) => cli::say(&format!("player: {} does not play: {why}\n", program.name))?,
            };
        }
        cli::say(&format!("player: none works\n  {}\n", programs::get_player()))?;
        Ok(None)
    }

    /// The first program that gives a sound for a word.
    fn voice(&self, speak: &Speak) -> Result<Option<Program>, Failure> {
        let programs = match work::voices(speak, self.rate) {
            Choice::Among(programs) => programs,
            Choice::None(why) => {
                cli::say(&format!("voice:  {why}\n"))?;
                return Ok(None);
            }
        };
        for program in programs {
            let begun = clock::steady();
            match self.rendered(&program, "ready") {
                Ok(sound) => {
                    let took = clock::steady().saturating_sub(begun).as_millis();
                    let (name, path, ms) = (&program.name, program.path.display(), sound.millis());
                    let rate = self.rate;
                    cli::say(&format!(
                        "voice:  {name} ({path}), {rate} words a minute; a word of {ms} ms made in {took} ms\n"
                    ))?;
                    return Ok(Some(program));
                }
                Err(why) => cli::say(&format!("voice:  {} does not speak: {why}\n", program.name))?,
            };
        }
        cli::say(&format!("voice:  none works\n  {}\n", programs::get_voice()))?;
        Ok(None)
    }

    /// Plays a tone and words; 1 if something went wrong, which is said.
    fn play(
        &self,
        player: &Program,
        voice: Option<&Program>,
        tone: Option<Tone>,
        text: &str,
        shown: &str,
    ) -> Result<u32, Failure> {
        cli::say(&format!("{shown}\n"))?;
        let words = match voice.map(|voice| self.rendered(voice, text)).transpose() {
            Ok(words) => words,
            Err(why) => {
                cli::say(&format!("    no words: {why}\n"))?;
                return Ok(1);
            }
        };
        let whole = wav::tone_then(tone, words.as_ref(), words::RATE);
        match self.sounded(player, &whole) {
            Ok(_) => Ok(0),
            Err(why) => {
                cli::say(&format!("    not played: {why}\n"))?;
                Ok(1)
            }
        }
    }

    /// Three, two, one, done: each second on its own player, as in a run.
    fn countdown(&self, player: &Program, voice: Option<&Program>) -> Result<u32, Failure> {
        cli::say("\nA countdown: three, two, one, done\n")?;
        let mut files = Vec::new();
        for (n, (tone, text)) in [(Tone::Tick, "three"), (Tone::Tick, "two"), (Tone::Tick, "one"), (Tone::Done, "done")]
            .into_iter()
            .enumerate()
        {
            let words = voice.and_then(|voice| self.rendered(voice, text).ok());
            let sound = wav::tone_then(Some(tone), words.as_ref(), words::RATE);
            let file = self.folder.path().join(format!("count-{n}.wav"));
            if let Err(why) = fs::write(&file, wav::write(&sound)) {
                cli::say(&format!("    not played: {why}\n"))?;
                return Ok(1);
            }
            files.push(file);
        }
        let begun = clock::steady();
        let mut children = Vec::new();
        let mut latest = Duration::ZERO;
        for (n, file) in (0..).zip(&files) {
            let due = begun.saturating_add(Duration::from_secs(n));
            std::thread::sleep(due.saturating_sub(clock::steady()));
            match start(player, file) {
                Ok(child) => children.push(child),
                Err(why) => {
                    cli::say(&format!("    not played: {why}\n"))?;
                    return Ok(1);
                }
            }
            latest = latest.max(clock::steady().saturating_sub(due));
        }
        let mut n_faults = 0;
        for mut child in children {
            if let Err(why) = child.wait(GRACE, &self.never, &|| false) {
                cli::say(&format!("    not played: {why}\n"))?;
                n_faults = 1;
            }
        }
        cli::say(&format!("    the latest of its players was started {} ms after its second\n", latest.as_millis()))?;
        Ok(n_faults)
    }

    fn rendered(&self, program: &Program, text: &str) -> Result<wav::Sound, String> {
        words::render(program, text, self.rate, self.folder.path(), &self.never)
    }

    /// Plays a sound to its end, and says how long that took.
    fn sounded(&self, player: &Program, sound: &wav::Sound) -> Result<Duration, String> {
        let file = self.folder.path().join("check.wav");
        fs::write(&file, wav::write(sound)).map_err(|why| format!("the sound file cannot be written: {why}"))?;
        let begun = clock::steady();
        let limit = Duration::from_millis(sound.millis()).saturating_add(GRACE);
        start(player, &file)?.wait(limit, &self.never, &|| false)?;
        Ok(clock::steady().saturating_sub(begun))
    }

    /// How long it takes until the player is started: that much later it can play at the earliest.
    fn start_time(&self, player: &Program) -> Duration {
        let begun = clock::steady();
        let child = start(player, &self.folder.path().join("check.wav"));
        let took = clock::steady().saturating_sub(begun);
        if let Ok(mut child) = child {
            let _ = child.wait(GRACE, &self.never, &|| false);
        }
        took
    }
}

fn start(player: &Program, file: &Path) -> Result<Child, String> {
    let cannot = |why: std::io::Error| format!("cannot be started: {why}");
    let input = if player.takes_file() { None } else { Some(fs::File::open(file).map_err(cannot)?) };
    Child::start(player, Fill { text: "", file, rate: 0 }, input, None).map_err(cannot)
}

//! Hands-free, as told on the command line and set in the settings file: put together once for a run, a sample, and going on.
//!
//! Here: which of them speaks and listens at all. Not here: what the settings do.
//!
//! **Invariant:** a machine that has nothing to speak with, told nothing, has no thread for it.

use std::path::PathBuf;

use clap::Args;

use super::cli::{Failure, Look, Theme};
use super::clock::Timepiece;
use super::config::{self, Listening};
use super::config_args::HandsArgs;
use super::ears::args::ListenArgs;
use super::keys_script::KeyScript;
use super::sound_check::SoundArgs;
use super::speaker::{Play, Sound, programs};
use super::terminal::RimToBe;
use crate::screen::{Settings, ThemeChoice};

/// Everything the command line says about keeping the hands free.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "Hands-free")]
pub struct FreeArgs {
    /// With what the program is led.
    #[command(flatten)]
    pub hands: HandsArgs,
    /// How sound is made.
    #[command(flatten)]
    pub sound: SoundArgs,
    /// What is listened to.
    #[command(flatten)]
    pub listen: ListenArgs,
    /// Take keys and lines from a file, in simulated time and without a terminal, and print what is said and recorded (for
    /// tests and demonstrations).
    #[arg(long, value_name = "FILE", hide_short_help = true)]
    pub keys: Option<PathBuf>,
}

/// How the hands are kept free in what is to be shown.
#[derive(Clone, Debug)]
pub struct Free {
    /// The settings of the layer over the screen.
    pub settings: Settings,
    /// The colours.
    pub theme: ThemeChoice,
    /// What is wrong with the settings file, in a sentence.
    pub faults: Option<String>,
    sound: Option<Sound>,
    listening: Listening,
}

impl FreeArgs {
    /// The settings file with the command line over it.
    pub fn free(&self, look: &Look, timepiece: &Timepiece) -> Free {
        let config = config::load();
        let is_told = !self.sound.is_empty() || config.sound != Sound::default();
        let sound = self.sound.clone().over(config.sound);
        let listening = self.listen.clone().over(config.listening);
        // Made-up time runs too fast for words, unless somebody asks for them.
        let is_wished = !look.quiet && config.hands.speaks;
        let is_wanted = is_wished && (is_told || timepiece.speed() == 1 && can_be_heard(&sound));
        let mut settings = self.hands.over(config.hands);
        settings.speaks = is_wanted;
        settings.listens = listening.is_any();
        let theme = match (look.theme, config.theme) {
            (Theme::Auto, Some(theme)) => theme.choice(),
            (theme, _) => theme.choice(),
        };
        let faults = match config.faults.as_slice() {
            [] => None,
            [one] => Some(format!("Settings: {one}")),
            [one, rest @ ..] => Some(format!("Settings: {one}, and {} more: “pourside config --check”.", rest.len())),
        };
        Free { settings, theme, faults, sound: is_wanted.then_some(sound), listening }
    }

    /// The file of keys, if one was named.
    ///
    /// # Errors
    ///
    /// [`Failure`] if it cannot be read or is faulty.
    pub fn key_script(&self) -> Result<Option<KeyScript>, Failure> {
        let Some(path) = &self.keys else { return Ok(None) };
        let file = path.display();
        let text = std::fs::read_to_string(path)
            .map_err(|why| Failure::refused(format!("cannot read {file}: {why}"), "Check the name of the file."))?;
        let script = KeyScript::read(&text).map_err(|why| {
            Failure::refused(format!("{file}, {why}"), "Keys are written like “+0.400s key PageDown”.")
        })?;
        Ok(Some(script))
    }
}

impl Free {
    /// Mouth and ears for the loop; none if nobody speaks or listens.
    pub fn rim(&self, clock: &Timepiece) -> Option<RimToBe> {
        RimToBe::of(self.sound.clone(), self.listening.clone(), clock)
    }
}

/// Whether there is a program that plays anything.
fn can_be_heard(sound: &Sound) -> bool {
    match sound.play {
        Play::Auto => !programs::players().is_empty(),
        Play::Command(_) => true,
        Play::Bell | Play::Off => false,
    }
}

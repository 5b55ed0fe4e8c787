//! What the command line says about keeping the hands free.
//!
//! Here: the arguments, and how they go before the settings file. Not here: what the settings do.
//!
//! **Invariant:** what is not said on the command line is as the settings file says.

use clap::{Args, ValueEnum};

use super::config::of_decimal;
use crate::screen::Settings;
use crate::screen::hands::settings::{Led, Pace};

/// How the hands are kept free.
#[derive(Debug, Clone, Default, Args)]
pub struct HandsArgs {
    /// With what the program is led: a keyboard with a pedal beside it, three clicker keys, or one switch.
    #[arg(long, value_enum, value_name = "WITH")]
    pub hands: Option<LedBy>,
    /// How long one thing is offered to one switch: 0.5 to 5.
    #[arg(long, value_name = "SECONDS", value_parser = scan_ms)]
    pub scan_seconds: Option<u64>,
    /// The view for somebody three metres away, from the start.
    #[arg(long)]
    pub far: bool,
    /// Strokes: in silence, a tick for each, or counted aloud.
    #[arg(long, value_enum, value_name = "HOW")]
    pub pace: Option<StrokePace>,
    /// A headset is worn: the microphone does not hear what the program says.
    #[arg(long)]
    pub headset: bool,
    /// A wait that has ended leads on by itself, where the procedure allows it.
    #[arg(long)]
    pub go_on: bool,
}

/// With what the program is led.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum LedBy {
    /// A keyboard, with a pedal or a clicker beside it.
    Keys,
    /// Three keys: forward, back, take.
    Clicker,
    /// One switch: what can be done is offered in turn.
    Switch,
}

/// How strokes are counted.
#[derive(Debug, Copy, Clone, PartialEq, Eq, ValueEnum)]
pub enum StrokePace {
    /// In silence.
    Off,
    /// A tick for each.
    Tick,
    /// A number for each.
    Count,
}

impl HandsArgs {
    /// The settings with what is said here.
    #[must_use]
    pub fn over(&self, settings: Settings) -> Settings {
        Settings {
            led: self.hands.map_or(settings.led, |led| match led {
                LedBy::Keys => Led::Keys,
                LedBy::Clicker => Led::Clicker,
                LedBy::Switch => Led::Switch,
            }),
            scan_ms: self.scan_seconds.unwrap_or(settings.scan_ms),
            far: self.far || settings.far,
            pace: self.pace.map_or(settings.pace, |pace| match pace {
                StrokePace::Off => Pace::Off,
                StrokePace::Tick => Pace::Tick,
                StrokePace::Count => Pace::Count,
            }),
            headset: self.headset || settings.headset,
            goes_on: self.go_on || settings.goes_on,
            ..settings
        }
    }
}

fn scan_ms(text: &str) -> Result<u64, String> {
    of_decimal(text)
        .filter(|ms| (500..=5_000).contains(ms))
        .ok_or_else(|| "seconds from 0.5 to 5, such as 1.5".to_owned())
}

//! Whoever speaks: a thread that plays what is due, with the programs the machine has.
//!
//! Here: how sound is set, and the handle of the thread. Its parts: `programs` (which there are), `child` (running one),
//! `words` (rendering ahead), `player` (playing), `folder` and `log_file` (the disk), `times` and `work` (the thread). Not here: what may
//! sound when (`voice::desk`). How it all goes together, and the cue log: `CUES.md`.
//!
//! | who | waits for |
//! |-----|-----------|
//! | the run | nobody: what it tells goes into a queue |
//! | the speaker's thread | the next moment, or a message; never for a program or a disk |
//! | the words' thread | one speech program at a time, two seconds at most |
//! | the cue log's thread | its disk |
//!
//! **Invariant:** whatever the programs do, hang or die, the run goes on and the next cue is on time.

pub(in crate::rim) mod child;
pub(in crate::rim) mod folder;
mod log_file;
mod player;
pub(in crate::rim) mod programs;
mod times;
pub(in crate::rim) mod words;
pub(in crate::rim) mod work;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use engine::Tick;
use voice::Speech;

use super::clock::Timepiece;
use crate::screen::Mouth;
use times::Times;
use work::{Message, Work};

/// What turns words into sound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Speak {
    /// What the machine has.
    #[default]
    Auto,
    /// Nothing: tones only.
    Off,
    /// A program and its arguments; `{text}` and `{file}` stand for the words and the sound file to be written. Without
    /// them the words come on standard input, and the sound goes to standard output.
    Command(Vec<String>),
}

/// What plays sound.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Play {
    /// What the machine has.
    #[default]
    Auto,
    /// The terminal's bell.
    Bell,
    /// Nothing.
    Off,
    /// A program and its arguments; `{file}` stands for the sound file. Without it the file is standard input.
    Command(Vec<String>),
}

impl std::str::FromStr for Speak {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Ok(match text.trim() {
            "auto" => Self::Auto,
            "off" => Self::Off,
            command => Self::Command(programs::words_of(command)?),
        })
    }
}

impl std::str::FromStr for Play {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        Ok(match text.trim() {
            "auto" => Self::Auto,
            "bell" => Self::Bell,
            "off" => Self::Off,
            command => Self::Command(programs::words_of(command)?),
        })
    }
}

/// How many words a minute can be asked for.
pub const RATES: std::ops::RangeInclusive<u16> = 80..=260;
/// Above this, measured on noisy speech, words are lost.
pub const RATE_UNDERSTOOD: u16 = 180;
/// The longest lead, in milliseconds.
pub const LEAD_AT_MOST: u16 = 500;

/// How sound is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sound {
    /// What turns words into sound.
    pub speak: Speak,
    /// What plays it.
    pub play: Play,
    /// Words a minute, within [`RATES`].
    pub rate_wpm: u16,
    /// How much earlier a sound is begun, for loudspeakers that are late.
    pub lead_ms: u16,
    /// The cue log, added to.
    pub log: Option<PathBuf>,
}

impl Default for Sound {
    fn default() -> Self {
        Self { speak: Speak::Auto, play: Play::Auto, rate_wpm: 160, lead_ms: 0, log: None }
    }
}

impl Sound {
    /// What a person should know about how it is set.
    pub fn note(&self) -> Option<String> {
        (self.rate_wpm > RATE_UNDERSTOOD).then(|| {
            format!(
                "{} words a minute: above {RATE_UNDERSTOOD}, and in noise, fewer words are understood.",
                self.rate_wpm
            )
        })
    }
}

/// What the thread and its handle share.
#[derive(Debug, Default)]
pub(in crate::rim) struct Shared {
    news: Mutex<Option<Mouth>>,
    /// On the desk's clock; 0 if nothing has sounded.
    sounding_until: AtomicU64,
    #[cfg(unix)]
    bell: Option<std::os::unix::net::UnixStream>,
}

impl Shared {
    fn news(&self) -> MutexGuard<'_, Option<Mouth>> {
        self.news.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn tell(&self, mouth: Mouth) {
        *self.news() = Some(mouth);
        #[cfg(unix)]
        if let Some(mut bell) = self.bell.as_ref() {
            use std::io::Write as _;
            // A full one has rung already.
            let _ = bell.write(&[1]);
        }
    }
}

/// Whoever speaks. When it is dropped there is silence: what it started is killed, its files are removed.
#[derive(Debug)]
pub struct Speaker {
    tell: Sender<Message>,
    is_over: Receiver<()>,
    shared: Arc<Shared>,
    times: Times,
    #[cfg(unix)]
    bell: Option<std::os::unix::net::UnixStream>,
}

/// How long the end waits for the thread.
const LAST_WAIT: Duration = Duration::from_millis(100);

impl Speaker {
    /// Looks for programs and begins to listen to what it is told. Nothing here waits for a program.
    pub fn start(sound: &Sound, clock: Timepiece) -> Self {
        #[cfg(unix)]
        let (bell, theirs) = match pair() {
            Ok((ours, theirs)) => (Some(ours), Some(theirs)),
            // Without it news are only heard of when somebody asks.
            Err(_) => (None, None),
        };
        let shared = Arc::new(Shared {
            #[cfg(unix)]
            bell: theirs,
            ..Shared::default()
        });
        let times = Times::new(&clock);
        let (tell, messages) = mpsc::channel();
        let (over, is_over) = mpsc::channel();
        let thread = {
            let (sound, times, tell, shared) = (sound.clone(), times.clone(), tell.clone(), Arc::clone(&shared));
            let work = move || {
                let told = Arc::clone(&shared);
                // Only where panics unwind: a release build ends at any of them, which is why nothing here may panic.
                let ended = catch_unwind(AssertUnwindSafe(|| Work::new(&sound, times, &tell, shared).go(&messages)));
                if ended.is_err() {
                    told.tell(Mouth::Bell("bell only: what plays the sounds has failed".to_owned()));
                }
                let _ = over.send(());
            };
            std::thread::Builder::new().name("speaker".to_owned()).spawn(work)
        };
        if let Err(why) = thread {
            shared.tell(Mouth::Bell(format!("bell only: no thread can be started: {why}")));
        }
        Self {
            tell,
            is_over,
            shared,
            times,
            #[cfg(unix)]
            bell,
        }
    }

    /// Tells it something; its moments are ticks of the clock it was started with. Never waits.
    pub fn tell(&self, speech: Speech) {
        // A thread that has ended has said so.
        let _ = self.tell.send(Message::Speech(speech));
    }

    /// Until when a cue sounds, or did sound last: the end is told by its length, or when it was cut. None if none has
    /// sounded yet.
    pub fn sounding_until(&self) -> Option<Tick> {
        let until = self.shared.sounding_until.load(Ordering::Relaxed);
        (until > 0).then(|| self.times.tick(until))
    }

    /// How sound stands, if that has changed since it was asked last.
    pub fn news(&mut self) -> Option<Mouth> {
        #[cfg(unix)]
        if let Some(bell) = &mut self.bell {
            use std::io::Read as _;
            let mut drained = [0; 16];
            while matches!(bell.read(&mut drained), Ok(n) if n > 0) {}
        }
        self.shared.news().take()
    }

    /// Readable when there are news.
    #[cfg(unix)]
    pub fn fd(&self) -> Option<std::os::fd::BorrowedFd<'_>> {
        use std::os::fd::AsFd as _;
        self.bell.as_ref().map(|bell| bell.as_fd())
    }
}

impl Drop for Speaker {
    fn drop(&mut self) {
        if self.tell.send(Message::End).is_ok() {
            let _ = self.is_over.recv_timeout(LAST_WAIT);
        }
    }
}

#[cfg(unix)]
fn pair() -> std::io::Result<(std::os::unix::net::UnixStream, std::os::unix::net::UnixStream)> {
    let (ours, theirs) = std::os::unix::net::UnixStream::pair()?;
    ours.set_nonblocking(true)?;
    theirs.set_nonblocking(true)?;
    Ok((ours, theirs))
}

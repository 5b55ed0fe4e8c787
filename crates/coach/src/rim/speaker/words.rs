//! Words made into sound files ahead of time, on a thread of their own.
//!
//! Here: finding a program that really speaks, rendering each text once, giving a lost voice up and trying it again. Not
//! here: when anything is played.
//!
//! **Invariant:** whoever asks for words never waits for them; what is due first is made first, and a program that hangs
//! costs this thread [`RENDER_LIMIT`], nobody else anything.

use std::collections::HashMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

use voice::{Tone, wav};

use super::super::clock;
use super::child::{self, Child};
use super::programs::{self, Fill, Program};
use super::work::Message;

/// A text that is not a sound by then counts as one that cannot be made.
pub const RENDER_LIMIT: Duration = Duration::from_secs(2);
/// So many texts in a row that cannot be made: the voice is lost.
pub const LOST_AFTER: u8 = 3;
/// After this a lost voice is tried again.
pub const TRY_AGAIN: Duration = Duration::from_secs(30);
/// Samples a second of a tone alone, and what voices mostly have.
pub const RATE: u32 = 22_050;
/// What a program is tried with.
const TRIED_WITH: &str = "ready";
/// More than a minute of sound in any form that is read.
const BYTES_AT_MOST: u64 = 16 << 20;
/// Kept sounds of texts, so that the same words behind another tone are not made again.
const KEPT_AT_MOST: usize = 400;
const KEPT_BYTES_AT_MOST: usize = 20 << 20;
/// Wanted texts; the oldest are forgotten beyond it.
const WANTED_AT_MOST: usize = 500;

/// What a sound file holds: a tone, words, or both.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    /// The tone.
    pub tone: Option<Tone>,
    /// The words; empty for none.
    pub text: String,
}

/// A sound file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Where it is.
    pub file: PathBuf,
    /// How long it sounds.
    pub millis: u64,
    /// How large it is.
    pub bytes: u64,
}

/// What this thread tells.
#[derive(Debug)]
pub enum Told {
    /// A sound is ready, or why there will be none.
    Sound(Key, Result<Made, String>),
    /// Which program speaks, or why none does. With a program, what could not be made before is worth asking again.
    Voice(Result<String, String>),
}

/// How a program that speaks is chosen.
#[derive(Clone, Debug)]
pub enum Choice {
    /// These, in turn.
    Among(Vec<Program>),
    /// None, and why.
    None(String),
}

struct Want {
    due: u64,
    key: Key,
    is_planned: bool,
}

#[derive(Default)]
struct Shared {
    wants: Mutex<Vec<Want>>,
    bell: Condvar,
    stop: AtomicBool,
}

impl Shared {
    fn wants(&self) -> MutexGuard<'_, Vec<Want>> {
        self.wants.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Whoever makes words into sound files.
pub struct Words {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

impl Words {
    /// Begins: the tones first, then a voice is looked for.
    pub fn start(choice: Choice, rate_wpm: u16, folder: PathBuf, tell: Sender<Message>) -> std::io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let theirs = Arc::clone(&shared);
        let work = move || {
            let told = tell.clone();
            let mut maker =
                Maker { rate_wpm, folder, tell, n_files: 0, kept: Kept::default(), n_failed: 0, shared: theirs };
            let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| maker.work(choice)));
            if made.is_err() {
                // Tones go on; nobody hears of a thread that has ended.
                let _ = told.send(Message::Words(Told::Voice(Err("what makes the words has failed".to_owned()))));
            }
        };
        let thread = std::thread::Builder::new().name("words".to_owned()).spawn(work)?;
        Ok(Self { shared, thread: Some(thread) })
    }

    /// These are needed at these moments; they replace what was planned before.
    pub fn plan(&self, wanted: Vec<(u64, Key)>) {
        let mut wants = self.shared.wants();
        wants.retain(|want| !want.is_planned);
        wants.extend(wanted.into_iter().map(|(due, key)| Want { due, key, is_planned: true }));
        self.told(wants);
    }

    /// This is needed too.
    pub fn want(&self, due: u64, key: Key) {
        let mut wants = self.shared.wants();
        wants.push(Want { due, key, is_planned: false });
        self.told(wants);
    }

    /// Nothing of what was asked is needed any more.
    pub fn forget(&self) {
        self.shared.wants().clear();
    }

    fn told(&self, mut wants: MutexGuard<'_, Vec<Want>>) {
        let n_too_many = wants.len().saturating_sub(WANTED_AT_MOST);
        if n_too_many > 0 {
            // What is due last can wait for another day.
            wants.sort_by_key(|want| want.due);
            wants.truncate(WANTED_AT_MOST);
        }
        drop(wants);
        self.shared.bell.notify_one();
    }
}

impl Drop for Words {
    fn drop(&mut self) {
        self.shared.stop.store(true, Ordering::Relaxed);
        // Taken once, so that the thread cannot fall asleep between looking and waiting.
        drop(self.shared.wants());
        self.shared.bell.notify_one();
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

struct Maker {
    rate_wpm: u16,
    folder: PathBuf,
    tell: Sender<Message>,
    n_files: u64,
    kept: Kept,
    n_failed: u8,
    shared: Arc<Shared>,
}

/// Whether a voice speaks, and what is done about it otherwise.
enum Voice {
    Speaks(Program),
    Lost { why: String, again_at: Option<Duration> },
}

impl Maker {
    fn work(&mut self, choice: Choice) {
        for tone in Tone::ALL {
            let key = Key { tone: Some(tone), text: String::new() };
            let made = self.write(&wav::tone_then(Some(tone), None, RATE));
            self.tell(Told::Sound(key, made));
        }
        let mut programs = match choice {
            Choice::Among(programs) => programs,
            Choice::None(why) => {
                self.tell(Told::Voice(Err(why.clone())));
                self.serve_without(&why);
                return;
            }
        };
        let mut voice = self.look_for(&mut programs, 0);
        while !self.is_over() {
            match voice {
                Voice::Speaks(program) => voice = self.serve(program, &mut programs),
                Voice::Lost { why, again_at } => {
                    self.answer_all(&why);
                    voice = if again_at.is_some_and(|at| clock::steady() >= at) {
                        self.look_for(&mut programs, 0)
                    } else {
                        let pause = again_at.map(|at| at.saturating_sub(clock::steady()));
                        self.sleep(pause);
                        Voice::Lost { why, again_at }
                    };
                }
            }
        }
    }

    /// The first of the programs that gives a sound back, from number `from` on. Tells which it is, or why none.
    fn look_for(&mut self, programs: &mut [Program], from: usize) -> Voice {
        let mut whys = Vec::new();
        for (n, program) in programs.iter().enumerate().skip(from) {
            match self.render(program, TRIED_WITH) {
                Ok(_) => {
                    let program = program.clone();
                    // Next time the others are asked first.
                    programs.rotate_left(n);
                    self.n_failed = 0;
                    self.tell(Told::Voice(Ok(program.name.clone())));
                    return Voice::Speaks(program);
                }
                Err(_) if self.is_over() => break,
                Err(why) => whys.push(format!("{}: {why}", program.name)),
            }
        }
        whys.dedup();
        let why = whys.join("; ");
        self.tell(Told::Voice(Err(why.clone())));
        Voice::Lost { why, again_at: Some(clock::steady().saturating_add(TRY_AGAIN)) }
    }

    /// Makes one wanted text after another, until the voice is lost.
    fn serve(&mut self, program: Program, programs: &mut [Program]) -> Voice {
        while let Some(key) = self.next() {
            let made = self.make(&program, &key);
            let why = made.as_ref().err().cloned();
            self.tell(Told::Sound(key, made));
            if let Some(why) = why.filter(|_| self.n_failed >= LOST_AFTER) {
                self.n_failed = 0;
                if programs.len() > 1 && !self.is_over() {
                    return self.look_for(programs, 1);
                }
                let why = format!("{}: {why}", program.name);
                self.tell(Told::Voice(Err(why.clone())));
                return Voice::Lost { why, again_at: Some(clock::steady().saturating_add(TRY_AGAIN)) };
            }
        }
        Voice::Speaks(program)
    }

    fn serve_without(&self, why: &str) {
        while !self.is_over() {
            self.answer_all(why);
            self.sleep(None);
        }
    }

    fn answer_all(&self, why: &str) {
        let wants = std::mem::take(&mut *self.shared.wants());
        for want in wants {
            self.tell(Told::Sound(want.key, Err(why.to_owned())));
        }
    }

    /// Sleeps until something is wanted, or so long.
    fn sleep(&self, pause: Option<Duration>) {
        let wants = self.shared.wants();
        if !wants.is_empty() || self.is_over() {
            return;
        }
        match pause {
            Some(pause) => drop(self.shared.bell.wait_timeout(wants, pause)),
            None => drop(self.shared.bell.wait(wants)),
        }
    }

    /// What is due first; sleeps until there is something. None at the end.
    fn next(&self) -> Option<Key> {
        let mut wants = self.shared.wants();
        loop {
            if self.is_over() {
                return None;
            }
            let first = wants.iter().enumerate().min_by_key(|(_, want)| want.due).map(|(n, _)| n);
            if let Some(n) = first {
                return Some(wants.remove(n).key);
            }
            wants = self.shared.bell.wait(wants).unwrap_or_else(PoisonError::into_inner);
        }
    }

    fn make(&mut self, program: &Program, key: &Key) -> Result<Made, String> {
        let kept = self.kept.take(&key.text);
        let words = match kept {
            Some(words) => words,
            None => match self.render(program, &key.text) {
                Ok(words) => {
                    self.n_failed = 0;
                    words
                }
                Err(why) => {
                    self.n_failed = self.n_failed.saturating_add(1);
                    return Err(why);
                }
            },
        };
        let whole = wav::tone_then(key.tone, Some(&words), RATE);
        self.kept.keep(&key.text, words);
        self.write(&whole)
    }

    fn render(&self, program: &Program, text: &str) -> Result<wav::Sound, String> {
        render(program, text, self.rate_wpm, &self.folder, &self.shared.stop)
    }

    fn write(&mut self, sound: &wav::Sound) -> Result<Made, String> {
        self.n_files += 1;
        let file = self.folder.join(format!("{}.wav", self.n_files));
        let bytes = wav::write(sound);
        fs::write(&file, &bytes).map_err(|why| format!("the sound file cannot be written: {why}"))?;
        Ok(Made { file, millis: sound.millis(), bytes: bytes.len() as u64 })
    }

    fn tell(&self, told: Told) {
        // Nobody listens any more: the end is near.
        let _ = self.tell.send(Message::Words(told));
    }

    fn is_over(&self) -> bool {
        self.shared.stop.load(Ordering::Relaxed)
    }
}

/// Has a program make a text into a sound, without the silence around it.
///
/// # Errors
///
/// What is wrong with the program or with what it gave, in words.
pub fn render(
    program: &Program,
    text: &str,
    rate_wpm: u16,
    folder: &Path,
    stop: &AtomicBool,
) -> Result<wav::Sound, String> {
    let (said, sound) = (folder.join("words.txt"), folder.join("words.wav"));
    // What lies there is of the text before.
    let _ = fs::remove_file(&sound);
    let text = programs::plain(text);
    let cannot = |why: std::io::Error| format!("cannot be started: {why}");
    let input = if program.takes_text() {
        None
    } else {
        fs::write(&said, &text).map_err(cannot)?;
        Some(File::open(&said).map_err(cannot)?)
    };
    let output = if program.takes_file() { None } else { Some(File::create(&sound).map_err(cannot)?) };
    let fill = Fill { text: &text, file: &sound, rate: rate_wpm };
    let mut child = Child::start(program, fill, input, output).map_err(cannot)?;
    let ended = child.wait(RENDER_LIMIT, stop, &|| child::size(&sound) > BYTES_AT_MOST);
    let bytes = match ended {
        Ok(()) if child::size(&sound) > BYTES_AT_MOST => Err("gives far too much".to_owned()),
        Ok(()) => fs::read(&sound).map_err(|_| "gives no sound".to_owned()),
        Err(why) => Err(why),
    };
    let _ = fs::remove_file(&sound);
    let read = wav::read(&bytes?).map_err(|why| format!("gives no sound that can be read: {why}"))?;
    let heard = trim_end(wav::trim_silence(read));
    if heard.samples.is_empty() { Err("gives silence".to_owned()) } else { Ok(heard) }
}

/// The silence behind the words is no part of them: what follows may begin.
fn trim_end(mut sound: wav::Sound) -> wav::Sound {
    const KEPT_MS: usize = 40;
    let loudest = sound.samples.iter().map(|sample| sample.unsigned_abs()).max().unwrap_or(0);
    let last = sound.samples.iter().rposition(|sample| sample.unsigned_abs() > loudest / 100);
    let kept = usize::try_from(sound.rate).unwrap_or(usize::MAX).saturating_mul(KEPT_MS) / 1_000;
    sound.samples.truncate(last.map_or(0, |last| last.saturating_add(1).saturating_add(kept)));
    sound
}

/// Sounds of texts, the oldest forgotten first.
#[derive(Default)]
struct Kept {
    sounds: HashMap<String, (u64, wav::Sound)>,
    n_kept: u64,
    bytes: usize,
}

impl Kept {
    fn take(&mut self, text: &str) -> Option<wav::Sound> {
        let (_, sound) = self.sounds.remove(text)?;
        self.bytes -= sound.samples.len() * 2;
        Some(sound)
    }

    fn keep(&mut self, text: &str, sound: wav::Sound) {
        self.take(text);
        self.n_kept += 1;
        self.bytes += sound.samples.len() * 2;
        self.sounds.insert(text.to_owned(), (self.n_kept, sound));
        while self.sounds.len() > KEPT_AT_MOST || self.bytes > KEPT_BYTES_AT_MOST {
            let oldest = self.sounds.iter().min_by_key(|(_, (n, _))| *n).map(|(text, _)| text.clone());
            let Some(oldest) = oldest else { break };
            self.take(&oldest);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kept_sounds_stay_within_their_bounds_and_the_oldest_goes_first() {
        let mut kept = Kept::default();
        let mib = |n: usize| wav::Sound { rate: RATE, samples: vec![1; n << 19] };
        for n in 0..30 {
            kept.keep(&n.to_string(), mib(1));
        }
        assert_eq!((kept.bytes, kept.sounds.len()), (20 << 20, 20));
        assert!(kept.take("9").is_none() && kept.take("10").is_some());
        kept.keep("29", mib(2));
        assert_eq!((kept.bytes, kept.sounds.len()), (20 << 20, 19), "twice the same is kept once");
        for n in 0..1_000 {
            kept.keep(&n.to_string(), wav::Sound { rate: RATE, samples: vec![1] });
        }
        assert!(kept.sounds.len() <= KEPT_AT_MOST && kept.take("999").is_some());
    }

    #[test]
    fn the_silence_behind_words_goes() {
        let mut samples = vec![10_000; 1_000];
        samples.resize(23_050, 20);
        let trimmed = trim_end(wav::Sound { rate: 1_000, samples });
        assert_eq!(trimmed.samples.len(), 1_040);
        assert!(trim_end(wav::Sound { rate: 1_000, samples: vec![0; 50] }).samples.is_empty());
    }
}

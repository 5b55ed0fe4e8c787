//! The speaker's own thread.
//!
//! Here: sleeping until the desk has something to do, doing what it orders, and saying how sound stands. Not here: what may
//! sound when (`voice::desk`), words made into sound (`words`), players (`player`).
//!
//! The desk's clock counts real milliseconds; a run's ticks are mapped to it once and for all, so that the same moment
//! told twice is the same moment.
//!
//! **Invariant:** nothing here waits for a program, a disk or whoever told it something.

use std::collections::{HashMap, VecDeque};
use std::fs;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};
use std::time::Duration;

use engine::Wall;
use voice::log::Entry;
use voice::{Class, Cue, Desk, Order, Speech, Tone, wav};

use super::super::clock;
use super::folder::Folder;
use super::log_file::LogFile;
use super::player::{self, Players, Stand};
use super::programs::{self, Program};
use super::times::{HEAD, Times};
use super::words::{self, Choice, Key, Made, Told, Words};
use super::{Play, Shared, Sound, Speak};
use crate::screen::Mouth;

/// What the thread is told.
#[derive(Debug)]
pub enum Message {
    /// By the run.
    Speech(Speech),
    /// By whoever makes the words.
    Words(Told),
    /// By the cue log, once.
    LogLost(String),
    /// That it is over.
    End,
}

/// Sound files kept.
const FILES_AT_MOST: usize = 400;
const BYTES_AT_MOST: u64 = 40 << 20;
/// Texts remembered that are wanted, or that cannot be made.
const NAMES_AT_MOST: usize = 2_000;
/// A text that could not be made is asked for again after this.
const ASK_AGAIN_MS: u64 = 30_000;
/// Words that come in every countdown, made before anybody asks.
const ALWAYS: [&str; 5] = ["five", "four", "three", "two", "one"];
/// A thread that finds nothing to do when it is woken sleeps at least so long: a mistake must not burn a battery.
const LEAST_SLEEP: Duration = Duration::from_millis(2);

/// Whether a sound file is there.
enum File {
    Wanted,
    Ready {
        made: Made,
        used: u64,
    },
    /// Why, and when that was.
    Not(String, u64),
}

/// How the programs were chosen.
struct Chosen {
    programs: Vec<Program>,
    none: String,
}

fn players(play: &Play) -> Chosen {
    match play {
        Play::Auto => {
            Chosen { programs: programs::players(), none: format!("no player found ({})", programs::get_player()) }
        }
        Play::Command(command) => {
            Chosen { programs: Program::own(command).into_iter().collect(), none: not_found("player", command) }
        }
        Play::Bell => Chosen { programs: Vec::new(), none: "so it is set".to_owned() },
        Play::Off => Chosen { programs: Vec::new(), none: "sound is switched off".to_owned() },
    }
}

/// The programs that can make words, or why there are none.
pub fn voices(speak: &Speak, rate_wpm: u16) -> Choice {
    match speak {
        Speak::Off => Choice::None("words are switched off".to_owned()),
        Speak::Auto => match programs::voices(rate_wpm) {
            found if found.is_empty() => Choice::None(format!("no speech program found ({})", programs::get_voice())),
            found => Choice::Among(found),
        },
        Speak::Command(command) => match Program::own(command) {
            Some(program) => Choice::Among(vec![program]),
            None => Choice::None(not_found("speech program", command)),
        },
    }
}

fn not_found(what: &str, command: &[String]) -> String {
    match command.first() {
        Some(name) => format!("the {what} “{name}” is not found, or is no program"),
        None => format!("no {what} is named"),
    }
}

/// The thread's belongings. The order is that in which they go at the end.
pub struct Work {
    players: Players,
    words: Option<Words>,
    log: Option<LogFile>,
    /// Last: the others write into it.
    _folder: Option<Folder>,
    times: Times,
    lead_ms: u64,
    play: Play,
    desk: Desk,
    files: HashMap<Key, File>,
    /// By how much each planned cue is begun earlier. It must not change while it is planned.
    leads: HashMap<(u64, String), u64>,
    /// Moments at which the desk said that a sound begins, and at which its player was really started.
    begun: VecDeque<(u64, u64)>,
    /// Sounds of which only the tone was played, and why.
    in_part: VecDeque<(u64, String)>,
    voice: Option<Result<String, String>>,
    log_lost: Option<String>,
    said: Option<Mouth>,
    /// Until when something sounds or sounded, as others have been told.
    until: u64,
    shared: Arc<Shared>,
}

impl Work {
    /// Sets everything up, and starts looking for programs.
    pub fn new(sound: &Sound, times: Times, tell: &Sender<Message>, shared: Arc<Shared>) -> Self {
        let now = times.now();
        let log = sound.log.clone().map(|file| LogFile::open(file, tell.clone()));
        let mut chosen = players(&sound.play);
        let folder = match Folder::make() {
            Ok(folder) => Some(folder),
            Err(why) => {
                chosen = Chosen { programs: Vec::new(), none: format!("no folder for sound files: {why}") };
                None
            }
        };
        let silence = folder.as_ref().map(|folder| folder.path().join("silence.wav")).unwrap_or_default();
        if folder.is_some()
            && !chosen.programs.is_empty()
            && let Err(why) = fs::write(&silence, wav::write(&short_silence()))
        {
            chosen = Chosen { programs: Vec::new(), none: format!("no sound file can be written: {why}") };
        }
        let words = folder.as_ref().filter(|_| !chosen.programs.is_empty()).and_then(|folder| {
            let choice = voices(&sound.speak, sound.rate_wpm);
            Words::start(choice, sound.rate_wpm, folder.path().to_owned(), tell.clone()).ok()
        });
        let voice = words.is_none().then(|| Err("nothing makes words".to_owned()));
        let mut work = Self {
            players: Players::new(chosen.programs, &chosen.none, silence, now),
            words,
            log,
            _folder: folder,
            times,
            lead_ms: u64::from(sound.lead_ms),
            play: sound.play.clone(),
            desk: Desk::default(),
            files: HashMap::new(),
            leads: HashMap::new(),
            begun: VecDeque::new(),
            in_part: VecDeque::new(),
            voice,
            log_lost: None,
            said: None,
            until: 0,
            shared,
        };
        for (n, text) in (0..).zip(ALWAYS) {
            work.want(n, Some(Tone::Tick), text);
        }
        work
    }

    /// Works until it is told that it is over.
    pub fn go(&mut self, messages: &Receiver<Message>) {
        let mut due_before = None;
        loop {
            self.round();
            let now = self.times.now();
            let due = [self.desk.next(), self.players.next(now)].into_iter().flatten().min();
            let message = match due {
                None => messages.recv().map_err(|_| RecvTimeoutError::Disconnected),
                Some(due) => {
                    let pause = self.times.until(due);
                    let is_stuck = due <= now && due_before == Some(due);
                    messages.recv_timeout(if is_stuck { pause.max(LEAST_SLEEP) } else { pause })
                }
            };
            due_before = due;
            match message {
                Ok(Message::End) | Err(RecvTimeoutError::Disconnected) => break,
                Ok(message) => {
                    self.take(message);
                    // What came together is heard together: of ten plans only the last is worth a turn.
                    while let Ok(message) = messages.try_recv() {
                        if matches!(message, Message::End) {
                            self.end();
                            return;
                        }
                        self.take(message);
                    }
                }
                Err(RecvTimeoutError::Timeout) => {}
            }
        }
        self.end();
    }

    fn end(&mut self) {
        self.desk.hear(Speech::Hush, self.times.now());
        self.round();
    }

    fn take(&mut self, message: Message) {
        match message {
            Message::Speech(speech) => self.hear(speech),
            Message::Words(Told::Sound(key, Ok(made))) => {
                let used = self.times.now();
                if let Some(File::Ready { .. }) = self.files.get(&key) {
                    // Asked for twice.
                    let _ = fs::remove_file(&made.file);
                } else {
                    self.files.insert(key, File::Ready { made, used });
                    self.forget_old();
                }
            }
            Message::Words(Told::Sound(key, Err(why))) => {
                self.files.insert(key, File::Not(why, self.times.now()));
            }
            Message::Words(Told::Voice(voice)) => {
                if voice.is_ok() {
                    self.files.retain(|_, file| !matches!(file, File::Not(..)));
                }
                self.voice = Some(voice);
            }
            Message::LogLost(why) => self.log_lost = Some(why),
            Message::End => {}
        }
    }

    fn hear(&mut self, speech: Speech) {
        let now = self.times.now();
        let speech = match speech {
            Speech::Plan(cues) => {
                let before = std::mem::take(&mut self.leads);
                let mut planned = Vec::new();
                let mut wanted = Vec::new();
                for mut cue in cues {
                    let at = (cue.due, cue.text.clone());
                    let lead = before.get(&at).copied();
                    let lead = self.place(&mut cue, lead, now);
                    self.leads.insert(at, lead);
                    wanted.extend(self.missing(&cue));
                    planned.push(cue);
                }
                if let Some(words) = &self.words {
                    words.plan(wanted);
                }
                Speech::Plan(planned)
            }
            Speech::Say(mut cue) => {
                self.place(&mut cue, None, now);
                for (due, key) in self.missing(&cue) {
                    self.ask(due, key);
                }
                Speech::Say(cue)
            }
            Speech::Hush => {
                self.leads.clear();
                if let Some(words) = &self.words {
                    words.forget();
                }
                self.files.retain(|_, file| !matches!(file, File::Wanted));
                Speech::Hush
            }
        };
        self.desk.hear(speech, now);
    }

    /// Puts a cue on the desk's clock, earlier by the lead as far as there is time for it.
    fn place(&self, cue: &mut Cue, lead: Option<u64>, now: u64) -> u64 {
        let due = self.times.of(cue.due);
        let lead = lead.unwrap_or_else(|| self.lead_ms.min(due.saturating_sub(now)));
        cue.due = due.saturating_sub(lead);
        cue.until = cue.until.map(|until| self.times.of(until).saturating_sub(lead));
        lead
    }

    /// The sounds of a cue that are not there yet.
    fn missing(&mut self, cue: &Cue) -> Vec<(u64, Key)> {
        let texts = [Some(&cue.text), cue.short.as_ref()].into_iter().flatten().filter(|text| !text.is_empty());
        let now = self.times.now();
        let mut missing = Vec::new();
        for text in texts {
            let key = Key { tone: cue.tone, text: text.clone() };
            match self.files.get_mut(&key) {
                Some(File::Ready { used, .. }) => *used = now,
                // A machine that was too busy may not be so now.
                Some(File::Not(_, at)) if now < at.saturating_add(ASK_AGAIN_MS) => {}
                // Asked again: a plan that is replaced forgets what it asked for.
                Some(File::Wanted | File::Not(..)) | None => {
                    self.files.insert(key.clone(), File::Wanted);
                    missing.push((cue.due, key));
                }
            }
        }
        missing
    }

    fn want(&mut self, due: u64, tone: Option<Tone>, text: &str) {
        let key = Key { tone, text: text.to_owned() };
        self.files.insert(key.clone(), File::Wanted);
        self.ask(due, key);
    }

    fn ask(&mut self, due: u64, key: Key) {
        match &self.words {
            Some(words) => words.want(due, key),
            None => {
                self.files.insert(key, File::Not("nothing makes words".to_owned(), u64::MAX));
            }
        }
    }

    /// Does what is to be done now, and says how sound stands if that has changed.
    fn round(&mut self) {
        let now = self.times.now();
        // A turn after each message too: words that were not ready may be so now. Some turns at most.
        for _ in 0..8 {
            let mut orders = VecDeque::from(self.desk.turn(now, &|cue: &Cue| length(&self.files, cue)));
            let is_idle = orders.is_empty();
            // Sounds first: they have their moment, the log has time.
            let mut notes = Vec::new();
            while let Some(order) = orders.pop_front() {
                match order {
                    Order::Stop => self.players.stop(now),
                    Order::Note(entry) => notes.push(entry),
                    Order::Play(cue) => {
                        if let Err(why) = self.begin(&cue, now) {
                            orders.extend(self.desk.failed(now, &why));
                        }
                    }
                }
            }
            notes.into_iter().for_each(|entry| self.note(entry));
            if is_idle || self.desk.next().is_none_or(|next| next > now) {
                break;
            }
        }
        self.players.look(now);
        self.say_until_when(now);
        self.say_how_it_stands();
    }

    fn begin(&mut self, cue: &Cue, now: u64) -> Result<(), String> {
        self.players.stop(now);
        let whole = Key { tone: cue.tone, text: cue.text.clone() };
        let (key, part) = match self.files.get(&whole) {
            Some(File::Not(why, _)) => (Key { tone: cue.tone, text: String::new() }, Some(why.clone())),
            _ => (whole, None),
        };
        if key.tone.is_none() && key.text.is_empty() {
            return Err(part.unwrap_or_else(|| "there is nothing to play".to_owned()));
        }
        let Some(File::Ready { made, used }) = self.files.get_mut(&key) else {
            return Err(match self.players.stand() {
                Stand::None(why) => why.clone(),
                _ => "its sound is not ready".to_owned(),
            });
        };
        *used = now;
        self.players.play(&made.file, made.millis, now)?;
        remember(&mut self.begun, (now, self.times.now()));
        if let Some(why) = part {
            remember(&mut self.in_part, (now, format!("its tone alone: {why}")));
        }
        Ok(())
    }

    /// Adds an entry to the log: when its player was really started, and counted from the speaker's start.
    fn note(&mut self, mut entry: Entry) {
        let Some(log) = &mut self.log else { return };
        let last = entry.again.or(entry.begun);
        if entry.dropped.is_none() {
            entry.dropped = self.in_part.iter().find(|(at, _)| Some(*at) == last).map(|(_, why)| why.clone());
        }
        let really = |at: u64| self.begun.iter().find(|(said, _)| *said == at).map_or(at, |(_, really)| *really);
        if let (Some(last), None, Some(ended)) = (last, &entry.cut_by, entry.ended) {
            entry.ended = Some(ended.saturating_add(really(last).saturating_sub(last)));
        }
        entry.begun = entry.begun.map(really);
        entry.again = entry.again.map(really);
        let (now, wall) = (self.times.now(), clock::wall_now());
        let ago = i64::try_from(now).unwrap_or(i64::MAX) - i64::try_from(entry.due).unwrap_or(i64::MAX);
        let wall = Wall { unix_ms: wall.unix_ms.saturating_sub(ago), ..wall };
        entry.due = entry.due.saturating_sub(HEAD);
        for at in [&mut entry.begun, &mut entry.again, &mut entry.ended] {
            *at = at.map(|at| at.saturating_sub(HEAD));
        }
        log.add(&entry, clock::rfc3339(wall));
    }

    fn say_until_when(&mut self, now: u64) {
        let heard_later = now.saturating_add(self.lead_ms);
        let until = match self.desk.sounding_until() {
            Some(until) => until.saturating_add(self.lead_ms),
            None => self.until.min(heard_later),
        };
        if until != self.until {
            self.until = until;
            self.shared.sounding_until.store(until, Ordering::Relaxed);
        }
    }

    fn say_how_it_stands(&mut self) {
        let Some(stands) = self.stands() else { return };
        if self.said.as_ref() != Some(&stands) {
            self.said = Some(stands.clone());
            self.shared.tell(stands);
        }
    }

    /// How sound stands; none while that is not known yet.
    fn stands(&self) -> Option<Mouth> {
        let and_log = |words: String| match &self.log_lost {
            Some(why) => format!("{words}; {why}"),
            None => words,
        };
        if self.play == Play::Off {
            return Some(Mouth::Off);
        }
        match (self.players.stand(), &self.voice) {
            (Stand::Trying, _) | (Stand::Plays(_), None) => None,
            (Stand::None(why), _) => Some(Mouth::Bell(and_log(format!("bell only: {why}")))),
            (Stand::Plays(player), Some(Ok(voice))) => {
                Some(Mouth::Speaks(and_log(format!("{voice} speaks, {player} plays"))))
            }
            (Stand::Plays(_), Some(Err(why))) => Some(Mouth::Tones(and_log(format!("tones only: {why}")))),
        }
    }

    /// Sound files have their bounds; the one not used for the longest time goes first.
    fn forget_old(&mut self) {
        if self.files.len() > NAMES_AT_MOST {
            self.files.retain(|_, file| matches!(file, File::Ready { .. }));
        }
        loop {
            let ready = self.files.iter().filter_map(|(key, file)| match file {
                File::Ready { made, used } => Some((key, made, *used)),
                _ => None,
            });
            let (n, bytes) = ready.clone().fold((0, 0), |(n, bytes), (_, made, _)| (n + 1, bytes + made.bytes));
            if n <= FILES_AT_MOST && bytes <= BYTES_AT_MOST {
                return;
            }
            let spare = ready.filter(|(key, made, _)| !key.text.is_empty() && !self.players.uses(&made.file));
            let Some((oldest, made, _)) = spare.min_by_key(|(_, _, used)| *used) else { return };
            let _ = fs::remove_file(&made.file);
            let oldest = oldest.clone();
            self.files.remove(&oldest);
        }
    }
}

/// How long a cue sounds, if it is ready. What can never be said is its tone alone; without a tone it is given a moment,
/// so that the desk is told that it cannot be played and need not wait for it.
fn length(files: &HashMap<Key, File>, cue: &Cue) -> Option<u64> {
    let tone = || match files.get(&Key { tone: cue.tone, text: String::new() }) {
        Some(File::Ready { made, .. }) => Some(made.millis),
        _ => cue.tone.map(voice::tone::millis),
    };
    match files.get(&Key { tone: cue.tone, text: cue.text.clone() }) {
        Some(File::Ready { made, .. }) => Some(made.millis),
        Some(File::Not(..)) if cue.class != Class::Hard => tone().or(Some(1)),
        // Without a player nothing is ever made: the desk goes through its cues all the same, for the log.
        None if cue.text.is_empty() => tone(),
        _ => None,
    }
}

fn remember<T>(list: &mut VecDeque<T>, new: T) {
    if list.len() >= 256 {
        list.pop_front();
    }
    list.push_back(new);
}

fn short_silence() -> wav::Sound {
    let n_samples = u64::from(words::RATE) * player::SILENCE_MS / 1_000;
    wav::Sound { rate: words::RATE, samples: vec![0; usize::try_from(n_samples).unwrap_or_default()] }
}

//! Sound files played by a program.
//!
//! Here: choosing the player, starting it, stopping it, looking how players ended. Not here: what is played when.
//!
//! **Invariant:** nothing waits for a player. One that does not end is killed [`GRACE_MS`] after its sound, and no more than
//! [`AT_MOST`] live at once.

use std::fs::File;
use std::path::{Path, PathBuf};

use super::child::Child;
use super::programs::{Fill, Program};

/// A player may need so long after its sound to empty its buffers.
pub const GRACE_MS: u64 = 5_000;
/// Players alive at once.
pub const AT_MOST: usize = 32;
/// So many in a row that fail: the player is lost.
const LOST_AFTER: u8 = 3;
/// A player that still plays a short silence after this is taken to work, until it turns out that it never ends.
const BELIEVED_AFTER_MS: u64 = 400;
const TRY_AGAIN_MS: u64 = 30_000;
/// When a player on trial is looked at, after its start.
const LOOKS_MS: [u64; 6] = [10, 25, 60, 150, BELIEVED_AFTER_MS, 1_000];

/// How playing stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stand {
    /// One is being tried.
    Trying,
    /// This one plays.
    Plays(String),
    /// None does, and why.
    None(String),
}

struct Playing {
    child: Child,
    file: PathBuf,
    started: u64,
    ends: u64,
    is_trial: bool,
    /// When it was killed: how it ends says nothing then.
    killed: Option<u64>,
}

impl Playing {
    fn kill(&mut self, now: u64) {
        self.child.kill();
        self.killed.get_or_insert(now);
    }
}

/// All players.
pub struct Players {
    programs: Vec<Program>,
    /// Which of them plays, or is on trial; beyond the last: none.
    at: usize,
    stand: Stand,
    playing: Vec<Playing>,
    /// A short silence that a player is tried with.
    silence: PathBuf,
    n_failed: u8,
    whys: Vec<String>,
    again_at: Option<u64>,
    /// A player that was lost must really end its trial.
    is_doubted: bool,
}

impl Players {
    /// Tries these, in turn. `none` is why there is none if there is none.
    pub fn new(programs: Vec<Program>, none: &str, silence: PathBuf, now: u64) -> Self {
        let stand = if programs.is_empty() { Stand::None(none.to_owned()) } else { Stand::Trying };
        let mut players = Self {
            programs,
            at: 0,
            stand,
            playing: Vec::new(),
            silence,
            n_failed: 0,
            whys: Vec::new(),
            again_at: None,
            is_doubted: false,
        };
        players.try_on(now);
        players
    }

    /// How playing stands.
    pub fn stand(&self) -> &Stand {
        &self.stand
    }

    /// Whether this file is in use.
    pub fn uses(&self, file: &Path) -> bool {
        self.playing.iter().any(|playing| playing.file == file)
    }

    /// Starts a sound.
    ///
    /// # Errors
    ///
    /// Why it cannot be played.
    pub fn play(&mut self, file: &Path, millis: u64, now: u64) -> Result<(), String> {
        let Some(program) = self.programs.get(self.at).filter(|_| !matches!(self.stand, Stand::None(_))) else {
            return Err(match &self.stand {
                Stand::None(why) => why.clone(),
                _ => "no player".to_owned(),
            });
        };
        if self.playing.len() >= 2 * AT_MOST {
            return Err("players that were killed do not end".to_owned());
        }
        match start(program, file) {
            Ok(child) => {
                let (file, ends) = (file.to_owned(), now.saturating_add(millis));
                self.playing.push(Playing { child, file, started: now, ends, is_trial: false, killed: None });
                self.kill_oldest(now);
                Ok(())
            }
            Err(why) => {
                self.failed(why.clone(), now);
                Err(why)
            }
        }
    }

    /// Silence: what sounds is stopped. Those that only empty their buffers are left to it.
    pub fn stop(&mut self, now: u64) {
        for playing in self.playing.iter_mut().filter(|playing| !playing.is_trial && playing.ends > now) {
            playing.kill(now);
        }
    }

    /// Looks how players ended, kills those that do not end, and tries the next one if one is lost.
    pub fn look(&mut self, now: u64) {
        let mut endings = Vec::new();
        self.playing.retain_mut(|playing| {
            let ended = playing.child.ended();
            if ended.is_none() && playing.killed.is_none() && now >= playing.ends.saturating_add(GRACE_MS) {
                playing.kill(now);
                endings.push((playing.is_trial, Err("it does not end".to_owned())));
            }
            let has_ended = ended.is_some();
            if let Some(ended) = ended.filter(|_| playing.killed.is_none()) {
                endings.push((playing.is_trial, ended));
            }
            !has_ended
        });
        for (is_trial, ended) in endings {
            match (is_trial, ended) {
                (true, Ok(())) => self.believe(),
                (true, Err(why)) => self.next_one(why, now),
                (false, Ok(())) => self.n_failed = 0,
                (false, Err(why)) => self.failed(why, now),
            }
        }
        let is_believed = |playing: &Playing| playing.is_trial && now >= playing.started + BELIEVED_AFTER_MS;
        if self.stand == Stand::Trying && !self.is_doubted && self.playing.iter().any(is_believed) {
            self.believe();
        }
        if self.again_at.is_some_and(|at| now >= at) {
            self.again_at = None;
            self.at = 0;
            self.whys.clear();
            self.is_doubted = true;
            self.try_on(now);
        }
    }

    /// When there is something to look at.
    pub fn next(&self, now: u64) -> Option<u64> {
        let of = |playing: &Playing| {
            let looks = LOOKS_MS.iter().map(|ms| playing.started + ms).find(|at| *at > now && playing.is_trial);
            // A killed one is gone in a moment, or stuck in the system.
            let end = match playing.killed {
                Some(at) if now < at.saturating_add(20) => at.saturating_add(20),
                Some(_) => now.saturating_add(1_000),
                None => playing.ends.saturating_add(GRACE_MS),
            };
            looks.map_or(end, |look| look.min(end))
        };
        self.playing.iter().map(of).chain(self.again_at).min()
    }

    fn believe(&mut self) {
        if let Some(program) = self.programs.get(self.at) {
            self.stand = Stand::Plays(program.name.clone());
            self.n_failed = 0;
        }
    }

    fn failed(&mut self, why: String, now: u64) {
        self.n_failed = self.n_failed.saturating_add(1);
        if self.n_failed >= LOST_AFTER {
            self.next_one(why, now);
        }
    }

    /// This one is no player.
    fn next_one(&mut self, why: String, now: u64) {
        let Some(program) = self.programs.get(self.at) else { return };
        self.whys.push(format!("{}: {why}", program.name));
        self.n_failed = 0;
        self.at += 1;
        self.stand = Stand::Trying;
        self.try_on(now);
    }

    fn try_on(&mut self, now: u64) {
        // Whatever the one before still does is nobody's ending any more.
        self.playing.iter_mut().for_each(|playing| playing.kill(now));
        while let Some(program) = self.programs.get(self.at) {
            match start(program, &self.silence) {
                Ok(child) => {
                    let file = self.silence.clone();
                    let ends = now.saturating_add(SILENCE_MS);
                    self.playing.push(Playing { child, file, started: now, ends, is_trial: true, killed: None });
                    return;
                }
                Err(why) => self.whys.push(format!("{}: {why}", program.name)),
            }
            self.at += 1;
        }
        if !self.programs.is_empty() {
            self.stand = Stand::None(self.whys.join("; "));
            self.again_at = Some(now.saturating_add(TRY_AGAIN_MS));
        }
    }

    fn kill_oldest(&mut self, now: u64) {
        let alive = |playing: &&mut Playing| playing.killed.is_none() && !playing.is_trial;
        if self.playing.iter_mut().filter(alive).count() > AT_MOST
            && let Some(oldest) = self.playing.iter_mut().find(alive)
        {
            oldest.kill(now);
        }
    }
}

impl Drop for Players {
    fn drop(&mut self) {
        self.playing.iter_mut().for_each(|playing| playing.child.kill());
        for _ in 0..10 {
            self.playing.retain_mut(|playing| playing.child.ended().is_none());
            if self.playing.is_empty() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(1));
        }
    }
}

/// How long the silence is that a player is tried with.
pub const SILENCE_MS: u64 = 50;

fn start(program: &Program, file: &Path) -> Result<Child, String> {
    let cannot = |why: std::io::Error| format!("cannot be started: {why}");
    let input = if program.takes_file() { None } else { Some(File::open(file).map_err(cannot)?) };
    Child::start(program, Fill { text: "", file, rate: 0 }, input, None).map_err(cannot)
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use std::time::Duration;

    use super::*;

    fn program(command: &[&str]) -> Program {
        let command: Vec<String> = command.iter().map(|word| (*word).to_owned()).collect();
        Program::own(&command).unwrap()
    }

    /// Looks at `now` until it stands so; programs take their time, the clock here does not.
    fn until(players: &mut Players, now: u64, stands: impl Fn(&Stand) -> bool) {
        for _ in 0..3_000 {
            players.look(now);
            if stands(players.stand()) {
                return;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("it stands {:?}", players.stand());
    }

    fn silence(folder: &tempfile::TempDir) -> PathBuf {
        let file = folder.path().join("silence.wav");
        std::fs::write(&file, "x").unwrap();
        file
    }

    #[test]
    fn one_that_fails_makes_room_for_the_next() {
        let folder = tempfile::tempdir().unwrap();
        let both = vec![program(&["false", "{file}"]), program(&["true", "{file}"])];
        let mut players = Players::new(both, "", silence(&folder), 0);
        until(&mut players, 1, |stand| *stand == Stand::Plays("true".to_owned()));
    }

    #[test]
    fn a_lost_player_is_tried_again_after_half_a_minute_and_must_end_its_trial() {
        let folder = tempfile::tempdir().unwrap();
        let file = silence(&folder);
        let works = folder.path().join("works");
        let script = format!("test -e '{}'", works.display());
        let mut players = Players::new(vec![program(&["sh", "-c", &script])], "", file.clone(), 0);
        until(&mut players, 1, |stand| *stand == Stand::None("sh: ends with 1".to_owned()));
        assert!(players.play(&file, 100, 2).is_err());
        std::fs::write(works, "").unwrap();
        players.look(TRY_AGAIN_MS);
        assert!(matches!(players.stand(), Stand::None(_)), "half a minute after it was lost");
        until(&mut players, TRY_AGAIN_MS + 1, |stand| matches!(stand, Stand::Plays(_)));
        assert!(players.play(&file, 100, TRY_AGAIN_MS + 2).is_ok());
    }

    #[test]
    fn players_that_hang_are_killed_and_do_not_pile_up() {
        let folder = tempfile::tempdir().unwrap();
        let file = silence(&folder);
        let mut players = Players::new(vec![program(&["sleep", "1000"])], "", file.clone(), 0);
        players.look(BELIEVED_AFTER_MS);
        assert_eq!(*players.stand(), Stand::Plays("sleep".to_owned()), "so far nothing speaks against it");
        for n in 0..50 {
            // The list is only cleared by looking: whoever plays does so each time.
            players.play(&file, 100, 500 + n).unwrap();
            players.look(500 + n);
            let n_alive = players.playing.iter().filter(|playing| playing.killed.is_none()).count();
            assert!(n_alive <= AT_MOST + 1, "{n_alive} and the one on trial");
        }
        until(&mut players, SILENCE_MS + GRACE_MS, |stand| *stand == Stand::None("sleep: it does not end".to_owned()));
        until(&mut players, SILENCE_MS + GRACE_MS, |_| true);
        assert!(players.playing.iter().all(|playing| playing.killed.is_some()));
    }
}

//! How late hard cues are, whatever becomes of the programs that speak and play: read from the cue log.
//!
//! Six clocks run. Each hard cue becomes known while a long sentence is being said and is due 120 ms later, so that it has to
//! cut it; the next sentence begins right behind it. All rows run at the same time, so that the machine is busy. Programs that
//! behave are this one, called by another name; the others are shell scripts. A row with the real espeak-ng is there if the
//! machine has it. The first row is a loop of the bench's own that sleeps until a moment and starts a program that ends at once: what
//! the machine adds by itself, at that time, under that load. It is not judged.
//!
//! `cargo bench -p coach --bench cues` takes about three minutes; `-- --quick` has fewer cues and judges the same.
//!
//! | column | what |
//! |--------|------|
//! | begun, words | hard cues whose player was started; those of them with their words |
//! | unheard | hard cues that were not begun; the log says why |
//! | cut | sentences that a hard cue cut |
//! | median, p99, worst | from due to the player's start, in milliseconds |
//! | stale | begun more than 250 ms after their moment |
//! | tell | how long whoever runs the test was held up by telling something, p99, in milliseconds |
//!
//! A row passes if each cue has one line, p99 is at most 50 ms and the worst at most 100 ms late, none is stale, and telling
//! took no longer than 10 ms (p99); where both programs behave, every cue must be begun, all but the odd one with words,
//! and nine of ten sentences must have been cut. From the reference of this project, section 5.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a benchmark stops at the first surprise")]
#![allow(clippy::float_arithmetic, reason = "milliseconds for a table")]

#[cfg(unix)]
#[path = "../tests/stand_in/mod.rs"]
mod stand_in;

#[cfg(not(unix))]
fn main() {
    println!("the stand-ins are shell scripts: nothing is measured here");
}

#[cfg(unix)]
fn main() -> std::process::ExitCode {
    measure::main()
}

#[cfg(unix)]
mod measure {
    use std::os::unix::process::CommandExt as _;
    use std::process::ExitCode;
    use std::time::{Duration, Instant};

    use coach::rim::clock::Timepiece;
    use coach::rim::speaker::{Play, Sound, Speak, Speaker};
    use engine::Tick;
    use voice::log::Entry;
    use voice::{Class, Cue, Speech, Tone};

    use super::stand_in::{Does, StandIns, log};

    const N_CUES: u64 = 200;
    const N_QUICK: u64 = 16;
    /// A hard cue is known so long before its moment.
    const KNOWN_MS: u64 = 120;
    const STALE_MS: u64 = 250;
    const SENTENCE: &str = "Rod the second layer twenty five times over its whole depth, then tap the sides of the bowl \
                            ten to fifteen times, and go on with the third layer.";
    /// What the six clocks say last.
    const WORDS: [(Tone, &str); 6] = [
        (Tone::Tick, "three"),
        (Tone::Tick, "two"),
        (Tone::Tick, "one"),
        (Tone::Done, "time"),
        (Tone::Halfway, "halfway"),
        (Tone::Tick, "five"),
    ];

    struct Row {
        name: &'static str,
        speak: Speak,
        play: Play,
        does: (Does, Does),
        /// The longest word of a countdown.
        word_ms: u64,
    }

    struct Measured {
        entries: Vec<Entry>,
        /// How long each telling took, sorted.
        tells: Vec<Duration>,
    }

    pub fn main() -> ExitCode {
        let arguments: Vec<String> = std::env::args().collect();
        match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
            [_, "as-voice", file, text] => return as_voice(file, text),
            [_, "as-player", file] => return as_player(file),
            _ => {}
        }
        let is_quick = std::env::args().any(|argument| argument == "--quick");
        let n_cues = if is_quick { N_QUICK } else { N_CUES };
        let here = StandIns::new();
        let rows = rows(&here);
        println!("{n_cues} hard cues for each row, six clocks; milliseconds; load before: {}", load());
        println!(
            "{:<34} {:>6} {:>6} {:>7} {:>5} {:>7} {:>6} {:>6} {:>6} {:>6}",
            "", "begun", "words", "unheard", "cut", "median", "p99", "worst", "stale", "tell"
        );
        let (alone, measured) = std::thread::scope(|scope| {
            let alone = scope.spawn(move || alone(n_cues));
            let threads: Vec<_> = rows
                .iter()
                .enumerate()
                .map(|(n, row)| {
                    let log = here.file(&format!("{n}.log"));
                    scope.spawn(move || measure(row, n_cues, log))
                })
                .collect();
            let measured: Vec<Measured> = threads.into_iter().map(|thread| thread.join().unwrap()).collect();
            (alone.join().unwrap(), measured)
        });
        println!(
            "{:<34} {:>6} {:>6} {:>7} {:>5} {:>7} {:>6} {:>6}",
            "the machine alone",
            alone.len(),
            "",
            "",
            "",
            shown(at(&alone, 50)),
            shown(at(&alone, 99)),
            shown(alone.last().copied())
        );
        let mut all_pass = true;
        for (row, measured) in rows.iter().zip(&measured) {
            all_pass &= print(row, measured, n_cues);
        }
        println!("load after: {}", load());
        if all_pass { ExitCode::SUCCESS } else { ExitCode::FAILURE }
    }

    fn rows(here: &StandIns) -> Vec<Row> {
        let me = std::env::current_exe().unwrap().display().to_string();
        let own = |arguments: &[&str]| [&[me.as_str()], arguments].concat().into_iter().map(str::to_owned).collect();
        let speak = |does: Does| match does {
            Does::Behaves => Speak::Command(own(&["as-voice", "{file}", "{text}"])),
            does => here.voice(does),
        };
        let play = |does: Does| match does {
            Does::Behaves => Play::Command(own(&["as-player", "{file}"])),
            does => here.player(does),
        };
        let row = |name, voice: Does, player: Does| Row {
            name,
            speak: speak(voice),
            play: play(player),
            does: (voice, player),
            word_ms: 220,
        };
        let mut rows = vec![
            row("speech and player behave", Does::Behaves, Does::Behaves),
            row("speech hangs", Does::Hangs, Does::Behaves),
            row("speech exits 1", Does::Fails, Does::Behaves),
            row("speech prints rubbish", Does::Rubbish, Does::Behaves),
            row("no speech program", Does::IsMissing, Does::Behaves),
            row("player hangs", Does::Behaves, Does::Hangs),
            row("player exits 1", Does::Behaves, Does::Fails),
            row("no player", Does::Behaves, Does::IsMissing),
        ];
        let real = Speak::Command(["espeak-ng", "-s", "160", "-w", "{file}", "{text}"].map(str::to_owned).to_vec());
        if std::process::Command::new("espeak-ng").arg("--version").output().is_ok() {
            let play = play(Does::Behaves);
            rows.insert(
                1,
                Row {
                    name: "espeak-ng, player behaves",
                    speak: real,
                    play,
                    does: (Does::Behaves, Does::Behaves),
                    word_ms: 550,
                },
            );
        } else {
            println!("espeak-ng is not on this machine: its row is left out");
        }
        rows
    }

    fn measure(row: &Row, n_cues: u64, file: std::path::PathBuf) -> Measured {
        let clock = Timepiece::live(Tick(0));
        let sound =
            Sound { speak: row.speak.clone(), play: row.play.clone(), log: Some(file.clone()), ..Sound::default() };
        let speaker = Speaker::start(&sound, clock.clone());
        let mut tells = Vec::new();
        let mut tell = |speech: Speech| {
            let begun = Instant::now();
            speaker.tell(speech);
            tells.push(begun.elapsed());
        };
        let sentence = |due: u64| {
            let text = SENTENCE.to_owned();
            Speech::Say(Cue { class: Class::Prompt, tone: None, text, short: None, due, until: None })
        };
        // A plan far ahead, as in a run: there is time to make its words, for a voice that answers at all.
        let first = clock.tick().0 + 3_000;
        tell(Speech::Plan(plan(0, first + 3_600_000)));
        tell(sentence(clock.tick().0));
        let mut due = first;
        for n in 0..n_cues {
            std::thread::sleep(clock.until(Tick(due - KNOWN_MS)));
            tell(Speech::Plan(plan(n, due)));
            std::thread::sleep(clock.until(Tick(due + 50)));
            tell(sentence(due + 50));
            // The cue itself, some of the sentence, and the next one is known.
            due +=
                voice::tone::millis(of_clock(n).0) + u64::from(voice::wav::TONE_GAP_MS) + row.word_ms + 150 + KNOWN_MS;
        }
        std::thread::sleep(clock.until(Tick(due)));
        drop(speaker);
        tells.sort_unstable();
        Measured { entries: log(&file), tells }
    }

    fn of_clock(n: u64) -> (Tone, &'static str) {
        WORDS[usize::try_from(n % 6).unwrap()]
    }

    /// Of sorted values, the one that so many per cent do not exceed.
    fn at<T: Copy>(sorted: &[T], per_cent: usize) -> Option<T> {
        sorted.get((sorted.len() * per_cent).div_ceil(100).saturating_sub(1)).copied()
    }

    fn shown(ms: Option<u64>) -> String {
        ms.map_or_else(|| "-".to_owned(), |ms| ms.to_string())
    }

    /// How busy the machine is, where it says so.
    fn load() -> String {
        let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
        text.split(' ').next().filter(|load| !load.is_empty()).unwrap_or("unknown").to_owned()
    }

    /// Sleeps until a moment and starts a program that ends at once: how late that is.
    fn alone(n_cues: u64) -> Vec<u64> {
        let me = std::env::current_exe().unwrap();
        let begun = Instant::now();
        let mut late: Vec<u64> = (1..=n_cues)
            .map(|n| {
                let due = Duration::from_millis(3_000 + n * 640);
                std::thread::sleep(due.saturating_sub(begun.elapsed()));
                let mut child = std::process::Command::new(&me)
                    .args(["as-player", "no-such-file"])
                    .process_group(0)
                    .spawn()
                    .unwrap();
                let late = begun.elapsed().saturating_sub(due);
                child.wait().unwrap();
                u64::try_from(late.as_millis()).unwrap()
            })
            .collect();
        late.sort_unstable();
        late
    }

    /// A speech program: 30 ms of sound for each letter.
    fn as_voice(file: &str, text: &str) -> ExitCode {
        let rate = 22_050;
        let samples = vec![16_000; text.chars().count() * 30 * rate / 1_000];
        let sound = voice::wav::Sound { rate: u32::try_from(rate).unwrap(), samples };
        std::fs::write(file, voice::wav::write(&sound)).unwrap();
        ExitCode::SUCCESS
    }

    /// A player: it lasts as long as the sound.
    fn as_player(file: &str) -> ExitCode {
        if let Ok(sound) = voice::wav::read(&std::fs::read(file).unwrap_or_default()) {
            std::thread::sleep(Duration::from_millis(sound.millis()));
        }
        ExitCode::SUCCESS
    }

    /// What is to come: the cue of clock `n`, and those of the five others, far ahead.
    fn plan(n: u64, due: u64) -> Vec<Cue> {
        let cue = |clock: u64, due: u64| {
            let (tone, text) = of_clock(clock);
            Cue {
                class: Class::Hard,
                tone: Some(tone),
                text: text.into(),
                short: None,
                due,
                until: Some(due + STALE_MS),
            }
        };
        (0..6).map(|ahead| cue(n + ahead, due + ahead * 600_000)).collect()
    }

    fn print(row: &Row, measured: &Measured, n_cues: u64) -> bool {
        let (hard, soft): (Vec<&Entry>, Vec<&Entry>) =
            measured.entries.iter().partition(|entry| entry.class == Class::Hard);
        let mut late: Vec<u64> = hard.iter().filter_map(|entry| entry.late_ms()).collect();
        late.sort_unstable();
        let n_begun = late.len();
        let n_whole = hard.iter().filter(|entry| entry.begun.is_some() && entry.dropped.is_none()).count();
        let n_cut = soft.iter().filter(|entry| entry.cut_by.is_some()).count();
        let n_stale = late.iter().filter(|late| **late > STALE_MS).count();
        let n_early = hard.iter().filter(|entry| entry.begun.is_some_and(|begun| begun < entry.due)).count();
        let (median, p99, worst) = (at(&late, 50), at(&late, 99), late.last().copied());
        let tell_ms = at(&measured.tells, 99).unwrap_or_default().as_secs_f64() * 1_000.0;

        let all = usize::try_from(n_cues).unwrap();
        let mut faults = Vec::new();
        let mut must = |is: bool, fault: String| {
            if !is {
                faults.push(fault);
            }
        };
        must(hard.len() == all, format!("{} lines", hard.len()));
        must(
            hard.iter().all(|entry| entry.begun.is_some() || entry.dropped.is_some()),
            "a cue without a reason".into(),
        );
        must(n_stale == 0, "stale cues".into());
        must(n_early == 0, format!("{n_early} too early"));
        must(p99.is_none_or(|p99| p99 <= 50), "p99 over 50".into());
        must(worst.is_none_or(|worst| worst <= 100), "worst over 100".into());
        must(tell_ms <= 10.0, "held up".into());
        let is = |does| (row.does.0 == does, row.does.1 == does);
        if is(Does::Behaves).1 {
            must(n_begun == all, "cues not begun".into());
        }
        if is(Does::Behaves) == (true, true) {
            must(n_whole * 100 >= all * 98, "cues without words".into());
            must(n_cut * 10 >= all * 9, "sentences were not sounding".into());
        }
        println!(
            "{:<34} {n_begun:>6} {n_whole:>6} {:>7} {n_cut:>5} {:>7} {:>6} {:>6} {n_stale:>6} {tell_ms:>6.2}  {}",
            row.name,
            hard.len() - n_begun,
            shown(median),
            shown(p99),
            shown(worst),
            if faults.is_empty() { "PASS".to_owned() } else { format!("FAIL: {}", faults.join(", ")) }
        );
        faults.is_empty()
    }
}

//! The speaker's thread, with programs that behave, hang, fail, write rubbish and are missing.
//!
//! Nothing here is timed: how late cues are is measured by `cargo bench --bench cues`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]
#![cfg(unix)]

mod stand_in;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use coach::rim::clock::Timepiece;
use coach::rim::sound_check::SoundArgs;
use coach::rim::speaker::{Play, Sound, Speak, Speaker};
use coach::screen::Mouth;
use engine::{Tick, Wall};
use stand_in::{Does, StandIns, log};
use voice::{Class, Cue, Speech, Tone};

/// Far more than anything here takes.
const PATIENCE: Duration = Duration::from_secs(90);

fn wait_for<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let begun = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(begun.elapsed() < PATIENCE, "waited in vain: {what}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

fn mouth_that(speaker: &mut Speaker, is: impl Fn(&Mouth) -> bool) -> Mouth {
    wait_for("news of the speaker", || speaker.news().filter(&is))
}

fn cue(class: Class, tone: Option<Tone>, text: &str, due: Tick) -> Cue {
    Cue { class, tone, text: text.into(), short: None, due: due.0, until: None }
}

fn prompt(text: &str, due: Tick) -> Speech {
    Speech::Say(cue(Class::Prompt, None, text, due))
}

fn start(speak: Speak, play: Play, log: &Path) -> (Speaker, Timepiece) {
    let clock = Timepiece::live(Tick(0));
    let sound = Sound { speak, play, log: Some(log.to_owned()), ..Sound::default() };
    (Speaker::start(&sound, clock.clone()), clock)
}

#[test]
fn words_are_rendered_and_the_player_is_given_one_file() {
    let here = StandIns::new();
    let (calls, told) = (here.file("calls"), here.file("log"));
    let notes = format!("printf '%s %s\\n' \"$#\" \"$1\" >> '{}'", calls.display());
    let (mut speaker, clock) = start(here.voice(Does::Behaves), here.player_that(&notes, Does::Behaves), &told);
    let mouth = mouth_that(&mut speaker, |_| true);
    assert_eq!(mouth, Mouth::Speaks("/bin/sh speaks, /bin/sh plays".into()));

    speaker.tell(prompt("Fill the bowl", clock.tick()));
    let entry = wait_for("its line", || log(&told).first().cloned());
    assert_eq!((entry.text.as_str(), entry.dropped), ("Fill the bowl", None));
    // 13 letters of 30 ms, and 40 ms of the silence that would be behind them are kept at most.
    let lasted = entry.ended.unwrap() - entry.begun.unwrap();
    assert!((389..=431).contains(&lasted), "{lasted} ms");
    assert!(speaker.sounding_until().is_some_and(|until| until <= clock.tick()), "it has ended");

    let calls = fs::read_to_string(calls).unwrap();
    let files: Vec<&str> = calls.lines().map(|line| line.strip_prefix("1 ").unwrap()).collect();
    assert_eq!(files.len(), 2, "a silence to try the player with, and the words: {files:?}");
    let folder = Path::new(files[1]).parent().unwrap();
    assert!(folder.is_dir());
    drop(speaker);
    assert!(!folder.exists(), "its files are removed");
}

#[test]
fn a_hostile_text_is_one_argument_and_nothing_else() {
    let here = StandIns::new();
    let (given, told, pwned) = (here.file("given"), here.file("log"), here.file("pwned"));
    let notes = format!("printf '%s\\n' \"$#: $2\" >> '{}'", given.display());
    let (speaker, clock) = start(here.voice_that(&notes, Does::Behaves), here.player(Does::Behaves), &told);
    let pwned_path = pwned.display();
    let hostile = [
        (format!("; touch {pwned_path}"), format!("; touch {pwned_path}")),
        (format!("$(touch {pwned_path}) `touch {pwned_path}`"), format!("$(touch {pwned_path}) `touch {pwned_path}`")),
        (format!("\" ' \\ && touch {pwned_path} | > < * ?"), format!("\" ' \\ && touch {pwned_path} | > < * ?")),
        // A blank in front: no program takes it for an option then.
        ("-w /etc/passwd".into(), " -w /etc/passwd".into()),
        ("--help".into(), " --help".into()),
        ("one\ntwo\u{0}three\u{1b}[2J".into(), "one two three [2J".into()),
        ("{file} {rate}".into(), "{file} {rate}".into()),
    ];
    for (text, as_given) in hostile {
        speaker.tell(prompt(&text, clock.tick()));
        wait_for(&as_given, || {
            fs::read_to_string(&given).ok()?.lines().any(|line| line == format!("2: {as_given}")).then_some(())
        });
    }
    assert!(!pwned.exists());
}

#[test]
fn a_program_without_placeholders_reads_words_and_gives_sound() {
    let here = StandIns::new();
    let (given, played, told) = (here.file("given"), here.file("played"), here.file("log"));
    let file = here.file("sound.wav");
    let Speak::Command(speak) = here.voice(Does::Behaves) else { panic!() };
    let voice = format!(
        "text=$(cat); printf '%s\\n' \"$text\" >> '{}'; {} {} '{3}' \"$text\"; cat '{3}'",
        given.display(),
        speak[0],
        speak[1],
        file.display()
    );
    let voice = Speak::Command(here.script("stdin-voice.sh", &voice, &[]));
    let player = Play::Command(here.script("stdin-player.sh", &format!("wc -c >> '{}'", played.display()), &[]));
    let (speaker, clock) = start(voice, player, &told);
    speaker.tell(prompt("-v; $(x)", clock.tick()));
    let entry = wait_for("its line", || log(&told).first().cloned());
    assert_eq!(entry.dropped, None);
    assert!(fs::read_to_string(given).unwrap().lines().any(|line| line == "-v; $(x)"));
    // 8 letters of 1323 bytes, and the head of the file.
    let sizes = wait_for("what was played", || {
        Some(fs::read_to_string(&played).ok()?).filter(|text| text.lines().count() == 2)
    });
    assert_eq!(sizes.lines().nth(1).unwrap().trim(), (8 * 1323 + 44).to_string());
}

#[test]
fn whatever_becomes_of_the_voice_tones_go_on_and_every_cue_has_its_line() {
    for (does, why) in [
        (Does::Hangs, "no answer in 2 s"),
        (Does::Fails, "ends with 1"),
        (Does::Rubbish, "gives no sound that can be read"),
        (Does::IsMissing, "“no-such-voice” is not found"),
    ] {
        let here = StandIns::new();
        let told = here.file("log");
        let (mut speaker, clock) = start(here.voice(does), here.player(Does::Behaves), &told);
        // The tones are made first of all.
        let now = clock.tick().0 + 1_500;
        let plan: Vec<Cue> =
            (0..6).map(|n| cue(Class::Hard, Some(Tone::Tick), &format!("count {n}"), Tick(now + 500 * n))).collect();
        for _ in 0..50 {
            speaker.tell(Speech::Plan(plan.clone()));
        }
        speaker.tell(prompt("Strike off", clock.tick()));
        let entries = wait_for("a line for each cue", || Some(log(&told)).filter(|entries| entries.len() >= 7));
        let Mouth::Tones(said) = mouth_that(&mut speaker, |_| true) else { panic!("{does:?}") };
        assert!(said.starts_with("tones only: ") && said.contains(why), "{does:?}: {said}");
        assert_eq!(entries.len(), 7, "{entries:#?}");
        // On a machine that stands still for a quarter of a second one may be too late to be begun; not all of them.
        let hard: Vec<_> = entries.iter().filter(|entry| entry.class == Class::Hard).collect();
        assert!(hard.iter().any(|entry| entry.begun.is_some()), "tones: {entries:#?}");
        assert!(hard.iter().all(|entry| entry.dropped.is_some()), "no words: {entries:#?}");
        let strike = entries.iter().find(|entry| entry.class == Class::Prompt).unwrap();
        assert!(
            strike.begun.is_none() && strike.dropped.as_ref().is_some_and(|why| why.contains("could not be played"))
        );
    }
}

#[test]
fn a_voice_that_dies_later_is_said_to_be_lost() {
    let here = StandIns::new();
    let (told, dead) = (here.file("log"), here.file("dead"));
    let first = format!("[ -e '{}' ] && exit 3", dead.display());
    let (mut speaker, clock) = start(here.voice_that(&first, Does::Behaves), here.player(Does::Behaves), &told);
    mouth_that(&mut speaker, |mouth| matches!(mouth, Mouth::Speaks(_)));
    fs::write(dead, "").unwrap();
    for n in 0..3 {
        speaker.tell(prompt(&format!("Layer {n}"), clock.tick()));
    }
    let lost = mouth_that(&mut speaker, |_| true);
    assert_eq!(lost, Mouth::Tones("tones only: /bin/sh: ends with 3".into()));
}

#[test]
fn whatever_becomes_of_the_player_the_bell_is_left_and_every_cue_has_its_line() {
    for (does, why) in [
        (Does::Hangs, "it does not end"),
        (Does::Fails, "ends with 1"),
        (Does::IsMissing, "“no-such-player” is not found"),
    ] {
        let here = StandIns::new();
        let told = here.file("log");
        let (mut speaker, clock) = start(here.voice(Does::Behaves), here.player(does), &told);
        let Mouth::Bell(said) = mouth_that(&mut speaker, |mouth| matches!(mouth, Mouth::Bell(_))) else { panic!() };
        assert!(said.starts_with("bell only: ") && said.contains(why), "{does:?}: {said}");
        let now = clock.tick().0 + 100;
        let plan = (0..5).map(|n| cue(Class::Hard, Some(Tone::Tick), "three", Tick(now + 500 * n))).collect();
        speaker.tell(Speech::Plan(plan));
        let entries = wait_for("a line for each cue", || Some(log(&told)).filter(|entries| entries.len() >= 5));
        for entry in entries {
            assert!(entry.begun.is_none() && entry.dropped.is_some(), "nobody heard it: {entry:?}");
        }
    }
}

#[test]
fn what_is_set_is_what_is_said() {
    for (play, mouth) in [(Play::Off, Mouth::Off), (Play::Bell, Mouth::Bell("bell only: so it is set".into()))] {
        let sound = Sound { play, ..Sound::default() };
        let mut speaker = Speaker::start(&sound, Timepiece::live(Tick(0)));
        assert_eq!(mouth_that(&mut speaker, |_| true), mouth);
    }
    let here = StandIns::new();
    let sound = Sound { speak: Speak::Off, play: here.player(Does::Behaves), ..Sound::default() };
    let mut speaker = Speaker::start(&sound, Timepiece::live(Tick(0)));
    assert_eq!(mouth_that(&mut speaker, |_| true), Mouth::Tones("tones only: words are switched off".into()));
}

#[test]
fn news_wake_whoever_waits_for_them() {
    let sound = Sound { play: Play::Off, ..Sound::default() };
    let mut speaker = Speaker::start(&sound, Timepiece::live(Tick(0)));
    wait_for("something to read", || {
        let mut ready = [rustix::event::PollFd::from_borrowed_fd(speaker.fd().unwrap(), rustix::event::PollFlags::IN)];
        rustix::event::poll(&mut ready, None).unwrap();
        (!ready[0].revents().is_empty()).then_some(())
    });
    assert_eq!(speaker.news(), Some(Mouth::Off));
    assert_eq!(speaker.news(), None);
    let mut ready = [rustix::event::PollFd::from_borrowed_fd(speaker.fd().unwrap(), rustix::event::PollFlags::IN)];
    let now = rustix::event::Timespec { tv_sec: 0, tv_nsec: 0 };
    assert_eq!(rustix::event::poll(&mut ready, Some(&now)).unwrap(), 0, "it has been read");
}

#[test]
fn at_the_end_nothing_is_left_running() {
    let here = StandIns::new();
    let (pids, told) = (here.file("pids"), here.file("log"));
    let note = format!("echo $$ >> '{}'", pids.display());
    let (speaker, _) = start(here.voice_that(&note, Does::Hangs), here.player_that(&note, Does::Hangs), &told);
    let pids =
        wait_for("both to hang", || Some(fs::read_to_string(&pids).ok()?).filter(|text| text.lines().count() == 2));
    drop(speaker);
    for pid in pids.lines() {
        wait_for("its end", || {
            let output = Command::new("ps").args(["-o", "stat=", "-p", pid]).output().unwrap();
            let stands = String::from_utf8_lossy(&output.stdout).trim().to_owned();
            (stands.is_empty() || stands.starts_with('Z')).then_some(())
        });
    }
}

#[test]
fn a_cue_log_that_cannot_be_written_is_said_and_stops_nothing() {
    let here = StandIns::new();
    let calls = here.file("calls");
    let note = format!("echo x >> '{}'", calls.display());
    let (mut speaker, clock) = start(here.voice(Does::Behaves), here.player_that(&note, Does::Behaves), &here.folder);
    let said = |mouth: &Mouth| matches!(mouth, Mouth::Speaks(words) if words.contains("the cue log") && words.contains("plays"));
    mouth_that(&mut speaker, said);
    speaker.tell(prompt("Fill the bowl", clock.tick()));
    wait_for("its sound", || (fs::read_to_string(&calls).ok()?.lines().count() >= 2).then_some(()));
}

#[test]
fn simulated_time_counts_too() {
    let here = StandIns::new();
    let told = here.file("log");
    let clock = Timepiece::simulated(60, Wall { unix_ms: 0, offset_min: 0 }, Tick(500_000));
    let sound =
        Sound { speak: Speak::Off, play: here.player(Does::Behaves), log: Some(told.clone()), ..Sound::default() };
    let due = Tick(clock.tick().0 + 60_000);
    let speaker = Speaker::start(&sound, clock);
    speaker.tell(Speech::Plan(vec![cue(Class::Hard, Some(Tone::Done), "", due)]));
    let entry = wait_for("its line", || log(&told).first().cloned());
    assert!(entry.due <= 1_000, "a minute of the run is a second: {entry:?}");
}

fn sound_check(speak: &str, play: &str) -> (i32, String) {
    let data = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourside"));
    command.args(["sound-check", "--speak", speak, "--play", play]).env("POURSIDE_DATA", data.path());
    command.env("XDG_CONFIG_HOME", data.path()).env("HOME", data.path());
    let output = command.stdin(Stdio::null()).output().unwrap();
    (output.status.code().unwrap(), String::from_utf8(output.stdout).unwrap())
}

#[test]
fn the_sound_check_plays_everything_and_says_what_is_missing() {
    let here = StandIns::new();
    let calls = here.file("calls");
    let Speak::Command(speak) = here.voice(Does::Behaves) else { panic!() };
    let quick = here.script("quick.sh", &format!("echo x >> '{}'", calls.display()), &["{file}"]);
    let (speak, quick) = (speak.join(" "), quick.join(" "));

    let (code, said) = sound_check(&speak, &quick);
    assert_eq!(code, 0, "{said}");
    for words in ["elsewhere", "another test needs you", "A countdown", "Words and tones can be played"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // Two silences, six tones, a sentence, a countdown of four.
    assert_eq!(fs::read_to_string(&calls).unwrap().lines().count(), 13);

    let (code, said) = sound_check("off", &quick);
    assert!(code == 1 && said.contains("Tones can be played, words cannot"), "{said}");
    let (code, said) = sound_check(&speak, "no-such-player {file}");
    assert!(code == 1 && said.contains("“no-such-player” is not found"), "{said}");
    let (code, said) = sound_check(&speak, "/bin/false");
    assert!(code == 1 && said.contains("does not play: ends with 1"), "{said}");
}

#[test]
fn what_is_said_on_the_command_line_goes_before_what_is_set() {
    #[derive(Debug, clap::Parser)]
    struct Line {
        #[command(flatten)]
        sound: SoundArgs,
    }
    let read = |arguments: &[&str]| {
        let all = ["x"].iter().chain(arguments);
        <Line as clap::Parser>::try_parse_from(all).map(|line| line.sound)
    };
    let set = Sound { rate_wpm: 150, log: Some("set.log".into()), ..Sound::default() };
    assert!(read(&[]).unwrap().is_empty());
    assert_eq!(read(&[]).unwrap().over(set.clone()), set);
    let sound = read(&["--speak", "say -r 150 '{text} .'", "--play", "bell", "--audio-lead", "120"]).unwrap().over(set);
    let words = ["say", "-r", "150", "{text} ."].map(str::to_owned).to_vec();
    assert_eq!((sound.speak, sound.play, sound.rate_wpm, sound.lead_ms), (Speak::Command(words), Play::Bell, 150, 120));
    for wrong in [["--speech-rate", "79"], ["--speech-rate", "261"], ["--audio-lead", "501"], ["--speak", "'x"]] {
        assert!(read(&wrong).is_err(), "{wrong:?}");
    }
    assert!(Sound { rate_wpm: 181, ..Sound::default() }.note().is_some() && Sound::default().note().is_none());
}

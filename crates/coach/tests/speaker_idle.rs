//! With nothing to be heard, the speaker's threads sleep. Alone in its file: it looks at all threads of its process.

#![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]
#![cfg(target_os = "linux")]

mod stand_in;

use std::collections::BTreeMap;
use std::fs;
use std::time::{Duration, Instant};

use coach::rim::clock::Timepiece;
use coach::rim::speaker::{Sound, Speaker};
use coach::screen::Mouth;
use engine::Tick;
use stand_in::{Does, StandIns};
use voice::{Class, Cue, Speech, Tone};

/// How often each of the speaker's threads has gone to sleep so far.
fn sleeps() -> BTreeMap<String, u64> {
    let mut found = BTreeMap::new();
    for task in fs::read_dir("/proc/self/task").unwrap() {
        let at = task.unwrap().path();
        let name = fs::read_to_string(at.join("comm")).unwrap_or_default().trim().to_owned();
        let status = fs::read_to_string(at.join("status")).unwrap_or_default();
        let count = status.lines().find_map(|line| line.strip_prefix("voluntary_ctxt_switches:")?.trim().parse().ok());
        if ["speaker", "words", "cue log"].contains(&name.as_str()) {
            found.insert(name, count.unwrap());
        }
    }
    found
}

#[test]
fn with_nothing_due_nothing_ticks() {
    let here = StandIns::new();
    let clock = Timepiece::live(Tick(0));
    let sound = Sound {
        speak: here.voice(Does::Behaves),
        play: here.player(Does::Behaves),
        log: Some(here.file("log")),
        ..Sound::default()
    };
    let mut speaker = Speaker::start(&sound, clock.clone());
    let begun = Instant::now();
    while !matches!(speaker.news(), Some(Mouth::Speaks(_))) {
        assert!(begun.elapsed() < Duration::from_secs(90));
        std::thread::sleep(Duration::from_millis(10));
    }
    // A plan for later costs nothing until then.
    let due = clock.tick().0 + 3_600_000;
    let cue = Cue { class: Class::Hard, tone: Some(Tone::Done), text: "time".into(), short: None, due, until: None };
    speaker.tell(Speech::Plan(vec![cue]));

    // All words are made, the player's trial is over: from then on two looks must be the same.
    let mut before = sleeps();
    loop {
        std::thread::sleep(Duration::from_secs(2));
        let now = sleeps();
        if now == before {
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(90), "it ticks: {before:?}, then {now:?}");
        before = now;
    }
    assert_eq!(before.len(), 3, "{before:?}");
}

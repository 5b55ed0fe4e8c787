//! A program that is listened to: missing, dying, deaf, and what it leaves behind.

use std::fs;
use std::thread::yield_now;
use std::time::{Duration, Instant};

use coach::rim::config::Listening;
use coach::rim::ears::Limits;
use coach::screen::Published;

use super::{Listener, PATIENCE, QUICK, folder, in_time, script};

#[test]
fn a_missing_program_is_news_once_and_is_tried_again() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("recogniser");
        let command = Some(vec![path.to_str().unwrap().to_owned()]);
        let mut listener = Listener::new(&Listening { command, ..Listening::default() }, QUICK);
        assert!(listener.news[0].lost.as_ref().unwrap().contains("there is no such program"));
        for _ in 0..20 {
            listener.turn();
        }
        assert_eq!(listener.news.len(), 1);
        let aside = folder.path().join("aside");
        fs::write(&aside, "#!/bin/sh\necho next step\nexec sleep 1000\n").unwrap();
        fs::set_permissions(&aside, std::os::unix::fs::PermissionsExt::from_mode(0o700)).unwrap();
        fs::rename(&aside, &path).unwrap();
        listener.until_heard("next step");
        listener.until_back();
    });
}

#[test]
fn a_program_that_dies_five_times_is_started_again_and_heard() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("lives");
        let text =
            format!("echo x >>{0}; [ $(wc -l <{0}) -gt 5 ] || exit 7; echo next step; exec sleep 1000", path.display());
        let mut listener = Listener::new(&script(&text), QUICK);
        listener.until_lost("it has ended with exit code 7");
        listener.until_heard("next step");
        listener.until_back();
        assert_eq!(fs::read_to_string(&path).unwrap().lines().count(), 6);
        assert_eq!(listener.news.len(), 3, "started, lost, back: {:?}", listener.news);
    });
}

#[test]
fn a_program_that_is_killed_is_said_to_be() {
    in_time(|| {
        let mut listener = Listener::new(&script("echo going; kill -9 $$"), Limits { first_rest: PATIENCE, ..QUICK });
        listener.until_lost("it was ended by signal 9");
        assert_eq!(listener.heard().collect::<Vec<_>>(), ["going"]);
    });
}

#[test]
fn a_program_is_told_what_it_may_want_to_know_and_again_when_it_was_started_again() {
    in_time(|| {
        let folder = folder();
        let words = folder.path().join("words");
        // What it is told comes back as lines.
        let mut listening = script("echo begin; for n in 1 2 3; do read -r line; echo $line; done; exit 0");
        listening.words_out = Some(words.clone());
        let mut listener = Listener::new(&listening, QUICK);
        listener.until_heard("begin");
        let list = |list: &str| Published { list: list.to_owned(), jsgf: "#JSGF V1.0;\n".to_owned() };
        assert_eq!(listener.ears.publish(&list("next step\n")), None);
        assert_eq!(listener.ears.publish(&list("next step\n")), None);
        listener.ears.talk(false);
        listener.ears.talk(true);
        let at = format!("words {}", words.display());
        let told = ["begin", &at, "talk off", "talk on"].map(str::to_owned);
        listener.until("what it was told", |listener| listener.lines.len() >= 4);
        assert_eq!(listener.heard().take(4).collect::<Vec<_>>(), told);
        // It ends then, and its next life begins with what is true now.
        listener.until("another life", |listener| listener.lines.len() >= 7);
        assert_eq!(listener.heard().skip(4).take(3).collect::<Vec<_>>(), ["begin", at.as_str(), "talk on"]);
    });
}

#[test]
fn a_program_that_never_reads_holds_up_nothing_and_is_told_the_newest_when_it_does() {
    in_time(|| {
        let folder = folder();
        let (words, go) = (folder.path().join("words"), folder.path().join("go"));
        let text = format!("while [ ! -e {} ]; do sleep 0.05; done; exec cat", go.display());
        let mut listening = script(&text);
        listening.words_out = Some(words.clone());
        let mut listener = Listener::new(&listening, QUICK);
        for n in 0..10_000 {
            let published = Published { list: format!("phrase {n}\n"), jsgf: String::new() };
            assert_eq!(listener.ears.publish(&published), None);
            listener.ears.talk(n % 2 == 0);
        }
        assert_eq!(fs::read_to_string(&words).unwrap(), "phrase 9999\n");
        listener.turn();
        listener.until_lost("it does not read");
        fs::write(&go, "").unwrap();
        listener.until_back();
        listener.until("its last line", |listener| listener.lines.len() > 100);
        let end = Instant::now() + Duration::from_millis(300);
        while Instant::now() < end {
            listener.turn();
        }
        let heard: Vec<_> = listener.heard().collect();
        let last = |start: &str| heard.iter().rfind(|line| line.starts_with(start)).copied();
        assert_eq!(last("talk"), Some("talk off"), "the newest");
        assert!(heard.iter().all(|line| line.starts_with("words /") || line.starts_with("talk o")), "no line was cut");
    });
}

#[test]
fn a_program_that_wants_to_be_told_nothing_is_heard_all_the_same() {
    in_time(|| {
        let mut listener =
            Listener::new(&script("exec <&-; echo begin; sleep 0.1; echo next step; exec sleep 1000"), QUICK);
        listener.until_heard("begin");
        for n in 0..100 {
            listener.ears.talk(n % 2 == 0);
        }
        listener.until_heard("next step");
        assert_eq!(listener.news.len(), 1, "{:?}", listener.news);
    });
}

/// Whether a process is there; one that has ended and that nobody has asked after is not.
#[cfg(target_os = "linux")]
fn lives(pid: &str) -> bool {
    let state = |stat: String| stat.rsplit(')').next().is_some_and(|rest| !rest.trim_start().starts_with(['Z', 'X']));
    fs::read_to_string(format!("/proc/{pid}/stat")).is_ok_and(state)
}

#[test]
#[cfg(target_os = "linux")]
fn everything_a_program_has_started_ends_with_the_run_even_if_it_will_not() {
    in_time(|| {
        for stubborn in ["", "trap '' TERM;"] {
            let text = format!("{stubborn} sleep 1000 & echo $! $$; wait; sleep 1000");
            let mut listener = Listener::new(&script(&text), QUICK);
            listener.until("their numbers", |listener| !listener.lines.is_empty());
            let said = listener.heard().next().unwrap().to_owned();
            let pids: Vec<_> = said.split(' ').collect();
            assert!(pids.len() == 2 && pids.iter().all(|pid| lives(pid)), "{said}");
            drop(listener);
            let end = Instant::now() + PATIENCE;
            while pids.iter().any(|pid| lives(pid)) {
                assert!(Instant::now() < end, "{stubborn} {said} live on");
                yield_now();
            }
        }
    });
}

#[test]
#[cfg(target_os = "linux")]
fn what_a_dead_program_has_left_behind_ends_before_it_is_started_again() {
    in_time(|| {
        let limits = Limits { first_rest: PATIENCE, ..QUICK };
        let mut listener = Listener::new(&script("sleep 1000 & echo $!; exit 0"), limits);
        listener.until_lost("it has ended with exit code 0");
        let pid = listener.heard().next().unwrap().to_owned();
        let end = Instant::now() + PATIENCE;
        while lives(&pid) {
            assert!(Instant::now() < end, "{pid} lives on");
            yield_now();
        }
    });
}

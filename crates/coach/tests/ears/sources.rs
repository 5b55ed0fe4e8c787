//! Each source: opened or refused with the reason, read, lost, back, given up.

use std::fs;
use std::io::{Read as _, Write as _};
use std::os::unix::fs::symlink;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;

use coach::rim::config::Listening;
use coach::rim::ears::Limits;

use super::{Listener, QUICK, fifo, folder, in_time, mode, names_in, script, socket, writer};

/// In a child of this very test: what it reads is its standard input.
const INSIDE: &str = "POURSIDE_TEST_EARS_INSIDE";

#[test]
fn writers_of_a_fifo_come_and_go_and_every_line_arrives() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let mut listener = Listener::new(&fifo(&path), Limits::default());
        assert_eq!(listener.news[0].lost, None);
        let to = path.clone();
        let writers = thread::spawn(move || {
            for n in 0..100 {
                writer(&to).write_all(format!("line {n}\n").as_bytes()).unwrap();
            }
        });
        listener.until("100 lines", |listener| listener.lines.len() == 100);
        writers.join().unwrap();
        let expected: Vec<_> = (0..100).map(|n| format!("line {n}")).collect();
        assert_eq!(listener.heard().collect::<Vec<_>>(), expected);
        assert_eq!(listener.news.len(), 1, "nothing was lost: {:?}", listener.news);
    });
}

#[test]
fn a_line_in_pieces_is_one_line() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let mut listener = Listener::new(&fifo(&path), QUICK);
        let mut to = writer(&path);
        for piece in ["conf=0.83 one fo", "rty ", "five\r", "\nsay again\n"] {
            to.write_all(piece.as_bytes()).unwrap();
            listener.turn();
        }
        listener.until_heard("say again");
        let first = listener.lines[0].clone().unwrap();
        assert_eq!((first.verbatim.as_str(), first.confidence), ("one forty five", Some(83)));
        assert_eq!(listener.lines.len(), 2);
    });
}

#[test]
fn a_fifo_is_the_owners_alone_and_goes_with_whoever_made_it() {
    let folder = folder();
    let path = folder.path().join("words");
    let listener = Listener::new(&fifo(&path), QUICK);
    assert_eq!(mode(&path), 0o600);
    let second = Listener::new(&fifo(&path), QUICK);
    assert!(second.news[0].lost.as_ref().unwrap().contains("another program listens"), "{:?}", second.news);
    drop(second);
    drop(listener);
    assert!(!path.exists(), "it was made by the program");
    rustix::fs::mkfifoat(rustix::fs::CWD, &path, rustix::fs::Mode::RWXU).unwrap();
    let listener = Listener::new(&fifo(&path), QUICK);
    assert_eq!(listener.news[0].lost, None);
    drop(listener);
    assert!(path.exists(), "it was there before");
}

#[test]
fn what_is_no_fifo_of_ours_is_not_touched() {
    let folder = folder();
    let (file, link) = (folder.path().join("notes"), folder.path().join("link"));
    fs::write(&file, "mine").unwrap();
    symlink(&file, &link).unwrap();
    let refusal = |path: &Path| Listener::new(&fifo(path), QUICK).news[0].lost.clone().unwrap();
    for path in [file.as_path(), &link, folder.path()] {
        assert!(refusal(path).contains("is no FIFO"), "{}", refusal(path));
    }
    assert!(refusal(&folder.path().join("missing/words")).contains("its folder is missing"));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    let path = folder.path().join("theirs");
    rustix::fs::mkfifoat(rustix::fs::CWD, &path, rustix::fs::Mode::RWXU).unwrap();
    if rustix::process::geteuid().is_root() {
        std::os::unix::fs::chown(&path, Some(1), None).unwrap();
        assert!(refusal(&path).contains("belongs to another user"), "{}", refusal(&path));
    } else {
        println!("skipped: only the superuser can give a FIFO to another user");
    }
}

#[test]
fn a_fifo_that_is_replaced_or_removed_is_lost_and_comes_back() {
    in_time(|| {
        let outer = folder();
        let folder = outer.path().join("run");
        let path = folder.join("words");
        fs::create_dir(&folder).unwrap();
        let mut listener = Listener::new(&fifo(&path), QUICK);
        fs::remove_file(&path).unwrap();
        fs::write(&path, "a file").unwrap();
        listener.until_lost("it is gone");
        listener.until_lost("is no FIFO");
        fs::remove_file(&path).unwrap();
        listener.until_back();
        writer(&path).write_all(b"next step\n").unwrap();
        listener.until_heard("next step");
        fs::remove_dir_all(&folder).unwrap();
        listener.until_lost("its folder is missing");
        fs::create_dir(&folder).unwrap();
        listener.until_back();
        writer(&path).write_all(b"say again\n").unwrap();
        listener.until_heard("say again");
        drop(listener);
        assert!(names_in(&folder).is_empty());
    });
}

#[test]
fn a_socket_is_the_owners_alone_and_every_connection_is_heard() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words.sock");
        let mut listener = Listener::new(&socket(&path), Limits::default());
        assert_eq!((mode(&path), &listener.news[0].lost), (0o600, &None));
        let to = path.clone();
        let callers = thread::spawn(move || {
            for n in 0..100 {
                UnixStream::connect(&to).unwrap().write_all(format!("line {n}\n").as_bytes()).unwrap();
            }
        });
        listener.until("100 lines", |listener| listener.lines.len() == 100);
        callers.join().unwrap();
        let mut heard: Vec<_> = listener.heard().map(str::to_owned).collect();
        let mut expected: Vec<_> = (0..100).map(|n| format!("line {n}")).collect();
        heard.sort();
        expected.sort();
        assert_eq!(heard, expected);
        drop(listener);
        assert!(!path.exists());
    });
}

#[test]
fn a_ninth_connection_is_closed_and_the_eight_are_heard() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words.sock");
        let mut listener = Listener::new(&socket(&path), QUICK);
        let mut callers: Vec<_> = (0..8)
            .map(|_| {
                let caller = UnixStream::connect(&path).unwrap();
                listener.turn();
                caller
            })
            .collect();
        let mut ninth = UnixStream::connect(&path).unwrap();
        listener.turn();
        assert_eq!(ninth.read(&mut [0; 8]).unwrap(), 0, "it is closed at once");
        for (n, caller) in callers.iter_mut().enumerate() {
            caller.write_all(format!("caller {n}\n").as_bytes()).unwrap();
            listener.until_heard(&format!("caller {n}"));
        }
        callers.pop();
        listener.until("room for another", |listener| listener.ears.fds().len() == 1 + 7);
        let mut another = UnixStream::connect(&path).unwrap();
        another.write_all(b"next step\n").unwrap();
        listener.until_heard("next step");
    });
}

#[test]
fn a_connection_that_ends_inside_a_line_says_nothing() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words.sock");
        let mut listener = Listener::new(&socket(&path), QUICK);
        UnixStream::connect(&path).unwrap().write_all(b"one forty").unwrap();
        listener.turn();
        UnixStream::connect(&path).unwrap().write_all(b"five\n").unwrap();
        listener.until_heard("five");
        assert_eq!(listener.lines.len(), 1);
    });
}

#[test]
fn an_old_socket_is_replaced_and_one_that_answers_is_not() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words.sock");
        drop(UnixListener::bind(&path).unwrap());
        assert!(path.exists(), "left by a program that is no more");
        let mut listener = Listener::new(&socket(&path), QUICK);
        UnixStream::connect(&path).unwrap().write_all(b"next step\n").unwrap();
        listener.until_heard("next step");
        let second = Listener::new(&socket(&path), QUICK);
        assert!(second.news[0].lost.as_ref().unwrap().contains("another program listens"), "{:?}", second.news);
        drop(second);
        assert!(path.exists(), "whoever was refused removes nothing");
        let file = folder.path().join("notes");
        fs::write(&file, "mine").unwrap();
        let refused = Listener::new(&socket(&file), QUICK);
        assert!(refused.news[0].lost.as_ref().unwrap().contains("is no socket"));
        let long = folder.path().join("x".repeat(120));
        let refused = Listener::new(&socket(&long), QUICK);
        assert!(refused.news[0].lost.as_ref().unwrap().contains("too long"));
        fs::remove_file(&path).unwrap();
        listener.until_lost("it is gone");
        listener.until_back();
        UnixStream::connect(&path).unwrap().write_all(b"say again\n").unwrap();
        listener.until_heard("say again");
    });
}

#[test]
fn all_sources_are_heard_at_once() {
    in_time(|| {
        let folder = folder();
        let [fifo, socket] = ["words", "words.sock"].map(|name| folder.path().join(name));
        let command = script("echo from the program; exec sleep 1000").command;
        let listening =
            Listening { fifo: Some(fifo.clone()), socket: Some(socket.clone()), command, ..Listening::default() };
        let mut listener = Listener::new(&listening, QUICK);
        let names: Vec<_> = listener.news.iter().map(|ear| ear.name.split(' ').next().unwrap()).collect();
        assert_eq!(names, ["FIFO", "socket", "program"]);
        assert!(listener.news.iter().all(|ear| ear.lost.is_none()), "{:?}", listener.news);
        writer(&fifo).write_all(b"from the fifo\n").unwrap();
        UnixStream::connect(&socket).unwrap().write_all(b"from the socket\n").unwrap();
        for words in ["from the program", "from the fifo", "from the socket"] {
            listener.until_heard(words);
        }
    });
}

#[test]
fn what_was_said_while_the_program_stood_still_is_not_heard() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let mut listener = Listener::new(&fifo(&path), QUICK);
        let mut to = writer(&path);
        to.write_all(b"end the test\n".repeat(3_000).as_slice()).unwrap();
        to.write_all(b"scratch").unwrap();
        listener.ears.forget();
        to.write_all(b" that\nnext step\n").unwrap();
        listener.until_heard("next step");
        assert_eq!(listener.lines.len(), 1, "{:?}", listener.lines);
    });
}

#[test]
fn standard_input_is_heard_to_its_end_and_the_run_goes_on() {
    if std::env::var_os(INSIDE).is_some() {
        return;
    }
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "--nocapture", "sources::inside_standard_input"])
        .env(INSIDE, "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    to.write_all(b"next step\nsay a").unwrap();
    to.write_all(b"gain\nhalf a li").unwrap();
    drop(to);
    let output = child.wait_with_output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{text}");
    assert!(text.contains("heard: next step, say again; lost: it has ended"), "{text}");
}

/// The inner part of the test above.
#[test]
fn inside_standard_input() {
    if std::env::var_os(INSIDE).is_none() {
        return;
    }
    in_time(|| {
        let mut listener = Listener::new(&Listening { stdin: true, ..Listening::default() }, QUICK);
        assert_eq!(listener.news[0].lost, None);
        listener.until_lost("it has ended");
        for _ in 0..3 {
            listener.turn();
        }
        assert!(listener.ears.fds().is_empty(), "nothing is waited for any more");
        let heard: Vec<_> = listener.heard().collect();
        println!("heard: {}; lost: {}", heard.join(", "), listener.news[1].lost.as_ref().unwrap());
    });
}

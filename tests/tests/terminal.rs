//! A terminal of any size, a flood, a paste, a stalled line, a signal, a panic: the run lives, and the terminal is given
//! back as it was.

#![allow(clippy::panic, clippy::unwrap_used, reason = "a test says what it expects by panicking")]

use std::time::{Duration, Instant};

use acceptance::acts::{choose_alcohol, identify};
use acceptance::site::acts_on_record;
use acceptance::{Chance, PATIENCE, Site, Terminal};
use rustix::process::Signal;

const RUN: [&str; 4] = ["run", "air-volumetric", "--system", "inch-pound"];

/// What leaves the other screen, shows the cursor, and ends marked pastes.
const GIVEN_BACK: [&[u8]; 3] = [b"\x1b[?1049l", b"\x1b[?25h", b"\x1b[?2004l"];

fn last(bytes: &[u8], piece: &[u8]) -> Option<usize> {
    bytes.windows(piece.len()).rposition(|window| window == piece)
}

/// Whether the last word to the terminal was that it is given back.
fn is_given_back(bytes: &[u8]) -> bool {
    let taken: [&[u8]; 3] = [b"\x1b[?1049h", b"\x1b[?25l", b"\x1b[?2004h"];
    GIVEN_BACK
        .iter()
        .zip(taken)
        .all(|(back, taken)| last(bytes, taken).is_some() && last(bytes, back) > last(bytes, taken))
}

/// Waits until `is_so`, for what is seen on no screen.
fn wait(what: &str, is_so: impl Fn() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !is_so() {
        assert!(Instant::now() < end, "waited in vain for {what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}

fn opened(site: &Site) -> Terminal {
    let terminal = Terminal::open(site, &RUN);
    terminal.wait_for("Who runs this test?");
    terminal.wait_until("an empty record", |screen| screen.contains("recorded ✓"));
    terminal
}

#[test]
fn at_every_size_the_run_lives_and_its_keys_work() {
    for (columns, rows) in [(80, 24), (120, 40), (60, 16), (20, 5), (2, 1), (1, 1)] {
        let site = Site::new();
        let terminal = Terminal::sized(&site, columns, rows, &RUN);
        wait("the first record", || site.data().join("runs").is_dir());
        for act in &identify()[..4] {
            terminal.perform(act);
        }
        wait(&format!("four acts on record at {columns} × {rows}"), || {
            !acceptance::site::records(&site.data()).is_empty() && acts_on_record(&site.record()).len() == 4
        });
        if columns >= 60 {
            terminal.wait_for("Read the bowl's calibrated volume");
            terminal.wait_recorded(4);
        }
        // Large again, everything is there.
        terminal.resize(120, 40);
        terminal.wait_for("Read the bowl's calibrated volume from its record");
        terminal.wait_recorded(4);
        terminal.leave();
        site.verify();
    }
}

#[test]
fn two_hundred_changes_of_size_strand_nothing() {
    let site = Site::new();
    let terminal = opened(&site);
    let mut chance = Chance::new(200);
    let (mut n, acts) = (0, identify());
    for round in 0..200 {
        let (columns, rows) = (1 + chance.below(160), 1 + chance.below(60));
        terminal.resize(u16::try_from(columns).unwrap(), u16::try_from(rows).unwrap());
        if round % 50 == 25 {
            terminal.perform(&acts[n]);
            n += 1;
        }
    }
    terminal.resize(120, 40);
    terminal.wait_recorded(n);
    terminal.perform_all(&acts[n..], &mut n);
    terminal.leave();
    site.verify();
}

#[test]
fn a_window_that_is_smaller_for_a_blink_is_painted_whole_again() {
    let site = Site::new();
    let terminal = opened(&site);
    for _ in 0..30 {
        // Smaller and back at once: the program may see only the size it knows already.
        terminal.resize(40, 10);
        terminal.resize(120, 40);
        terminal.wait_for("Who runs this test?");
        terminal.wait_until("the last line", |screen| screen.lines().count() == 40);
        terminal.wait_until("the first line", |screen| screen.starts_with(' ') && screen.contains("recorded ✓"));
    }
    terminal.leave();
}

#[test]
fn a_flood_of_any_bytes_never_breaks_the_program_or_its_record() {
    let site = Site::new();
    let terminal = opened(&site);
    let mut chance = Chance::new(5_000);
    // All but the keys that leave: a flood that leaves would show nothing.
    let mut bytes = Vec::new();
    while bytes.len() < 5_000 {
        let byte = u8::try_from(chance.below(256)).unwrap();
        if ![b'q', b'Q', keys("C-q"), keys("C-c")].contains(&byte) {
            bytes.push(byte);
        }
    }
    terminal.send(&bytes);
    // The end of a paste that may have been begun; then the key that always leaves, after everything else was read.
    terminal.send(b"\x1b[201~");
    terminal.press(&["C-c"]);
    // It may as well have closed the run in a lawful way, and been left then.
    let ended = terminal.wait_end();
    assert_eq!((ended.code, &ended.signal), (0, &None), "{}", terminal.screen());
    assert!(is_given_back(&terminal.bytes()));
    site.verify();
}

fn keys(name: &str) -> u8 {
    acceptance::keys(name)[0]
}

#[test]
fn a_megabyte_pasted_by_mistake_is_no_act_and_costs_nothing() {
    let site = Site::new();
    let terminal = opened(&site);
    let mut paste = b"\x1b[200~".to_vec();
    while paste.len() < 1 << 20 {
        paste.extend_from_slice(b"a shopping list, \r\n1.25\r\n y \x1b[A");
    }
    paste.extend_from_slice(b"\x1b[201~");
    terminal.send(&paste);
    terminal.wait_for("shopping list");
    // It all came in as words of one field; what is typed now comes after it.
    terminal.press(&["Esc"]);
    terminal.wait_until("an empty field", |screen| !screen.contains("shopping"));
    let mut n = 0;
    terminal.perform_all(&identify()[..1], &mut n);
    let on_record = acts_on_record(&site.record());
    assert_eq!(on_record.len(), 1);
    assert_eq!(on_record[0]["value"], "R. Okafor-Lind");
    terminal.leave();
}

#[test]
fn a_terminal_that_stops_reading_holds_up_neither_keys_nor_record() {
    let site = Site::new();
    let terminal = opened(&site);
    let (mut n, acts) = (0, identify());
    terminal.perform_all(&acts[..1], &mut n);
    terminal.hold(true);
    // Far more is drawn than a terminal holds back.
    for round in 0..60 {
        terminal.resize(100 + round % 2, 40);
        terminal.press(&["C-l"]);
    }
    for act in &acts[1..] {
        terminal.perform(act);
    }
    wait("all acts on record", || acts_on_record(&site.record()).len() == acts.len());
    terminal.hold(false);
    terminal.resize(120, 40);
    terminal.wait_recorded(acts.len());
    terminal.leave();
    assert!(is_given_back(&terminal.bytes()));
}

/// Runs the program in a shell that looks at the terminal before and after it.
fn looked_after(site: &Site, variables: &[(&str, &str)]) -> Terminal {
    let script = r#"printf '<before %s>\n' "$(stty -g)"
        sh -c 'printf "<pid %s>\n" $$; exec "$@"' sh "$@"
        printf '<exit %s>\n' "$?"
        printf '<after %s>\n<end>\n' "$(stty -g)"
        read -r line"#;
    Terminal::shell(site, script, &RUN, variables)
}

/// What stands between these words in what was sent.
fn between(bytes: &[u8], from: &str, to: &str) -> String {
    let text = String::from_utf8_lossy(bytes);
    let rest = text.split(from).nth(1).unwrap_or_else(|| panic!("no {from:?} in {text:?}"));
    rest.split(to).next().unwrap().to_owned()
}

fn pid_of_program(terminal: &Terminal) -> rustix::process::Pid {
    let bytes = terminal.wait_for_bytes(b"\x1b[?1049h");
    rustix::process::Pid::from_raw(between(&bytes, "<pid ", ">").parse().unwrap()).unwrap()
}

/// Looks at what was left behind: the bytes that give the terminal back, and its modes.
fn is_restored(terminal: &Terminal, what: &str, exit: &str) {
    terminal.wait_for_bytes(b"<end>");
    let bytes = terminal.bytes();
    assert_eq!(between(&bytes, "<exit ", ">"), exit, "{what}");
    let sent = &bytes[..last(&bytes, b"<exit ").unwrap()];
    assert!(is_given_back(sent), "{what}: the screen is not given back");
    assert_eq!(between(&bytes, "<before ", ">"), between(&bytes, "<after ", ">"), "{what}: modes");
    assert_eq!(terminal.has_other_screen_and_no_cursor(), (false, false), "{what}");
}

#[test]
fn on_every_way_out_the_terminal_is_as_it_was() {
    let ways: [(&str, Option<Signal>, &str); 6] = [
        ("left with q", None, "0"),
        ("left at once", None, "0"),
        ("TERM", Some(Signal::TERM), "143"),
        ("HUP", Some(Signal::HUP), "129"),
        ("INT", Some(Signal::INT), "130"),
        ("QUIT", Some(Signal::QUIT), "131"),
    ];
    for (what, signal, exit) in ways {
        let site = Site::new();
        let terminal = looked_after(&site, &[]);
        let pid = pid_of_program(&terminal);
        terminal.wait_for("Who runs this test?");
        let mut n = 0;
        terminal.perform_all(&identify()[..1], &mut n);
        match signal {
            Some(signal) => rustix::process::kill_process(pid, signal).unwrap(),
            None => terminal.press(&[if what == "left with q" { "C-q" } else { "C-c" }]),
        }
        is_restored(&terminal, what, exit);
        assert_eq!(acts_on_record(&site.record()).len(), 1, "{what}: the run is kept");
    }
}

#[test]
fn after_a_panic_the_terminal_is_as_it_was_and_the_message_can_be_read() {
    let site = Site::new();
    let terminal = looked_after(&site, &[("POURSIDE_TEST_PANIC", "1")]);
    is_restored(&terminal, "a panic", "101");
    assert!(terminal.screen().contains("asked for by POURSIDE_TEST_PANIC"), "{}", terminal.screen());
}

#[test]
fn stopped_and_called_back_the_terminal_was_given_back_meanwhile_and_the_screen_is_painted_again() {
    // A shell with job control, as a person has one.
    let script = r#"set -m
        printf '<before %s>\n' "$(stty -g)"
        sh -c 'printf "<pid %s>\n" $$; exec "$@"' sh "$@"
        printf '<stopped %s>\n' "$(stty -g)"
        read -r line
        fg
        printf '<exit %s>\n' "$?"
        printf '<after %s>\n<end>\n' "$(stty -g)"
        read -r line"#;
    for by_key in [true, false] {
        let site = Site::new();
        let terminal = Terminal::shell(&site, script, &RUN, &[]);
        let pid = pid_of_program(&terminal);
        terminal.wait_for("Who runs this test?");
        let (mut n, acts) = (0, identify());
        terminal.perform_all(&acts[..1], &mut n);
        if by_key {
            terminal.press(&["C-z"]);
        } else {
            rustix::process::kill_process(pid, Signal::TSTP).unwrap();
        }
        let bytes = terminal.wait_for_bytes(b"<stopped ");
        assert!(is_given_back(&bytes), "given back before the shell goes on");
        wait("the shell's words", || {
            last(&terminal.bytes(), b"<stopped ").is_some_and(|at| terminal.bytes()[at..].contains(&b'>'))
        });
        let bytes = terminal.bytes();
        assert_eq!(between(&bytes, "<before ", ">"), between(&bytes, "<stopped ", ">"), "modes, by key: {by_key}");
        assert_eq!(terminal.has_other_screen_and_no_cursor(), (false, false));
        let n_before = terminal.n_bytes();

        terminal.press(&["Enter"]);
        wait("the other screen again", || last(&terminal.bytes(), b"\x1b[?1049h").is_some_and(|at| at >= n_before));
        terminal.wait_for("Which job is it for?");
        terminal.wait_recorded(1);
        // Raw again: the keys arrive one by one.
        terminal.perform_all(&acts[1..2], &mut n);
        terminal.press(&["C-c"]);
        is_restored(&terminal, "called back", "0");
        assert_eq!(acts_on_record(&site.record()).len(), 2);
    }
}

#[test]
fn with_nothing_running_the_program_says_nothing() {
    let site = Site::new();
    let terminal = opened(&site);
    // The last of the first screen may still be under way.
    wait("silence", || terminal.listen(Duration::from_millis(300)).1 == 0);
    assert_eq!(terminal.listen(Duration::from_secs(3)), (0, 0));
    terminal.leave();
}

#[test]
fn with_a_clock_running_the_screen_changes_once_a_second_and_little_is_sent() {
    let site = Site::new();
    let terminal = opened(&site);
    let mut n = 0;
    terminal.perform_all(&[identify(), choose_alcohol("3.0")].concat(), &mut n);
    terminal.wait_for("START OF THE TEST AFTER THE SAMPLE");
    let (n_repaints, n_bytes) = terminal.listen(Duration::from_secs(3));
    assert!((1..=4).contains(&n_repaints), "{n_repaints} repaints in three seconds, {n_bytes} bytes");
    assert!(n_bytes < 4 * 600, "{n_bytes} bytes for {n_repaints} changed digits");
    terminal.leave();
}

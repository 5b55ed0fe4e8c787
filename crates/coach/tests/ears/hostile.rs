//! Lines no recogniser should send, and far too many of them.

use std::fmt::Write as _;
use std::io::Write as _;
use std::thread;

use coach::rim::ears::Limits;
use hearing::line::{NoLine, WORDS_AT_MOST};

use super::{Listener, QUICK, fifo, folder, in_time, script, writer};

/// Numbers that look random and come again from the same seed (SplitMix64).
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((z ^ (z >> 31)) % end as u64).unwrap()
    }

    fn of<'t, T>(&mut self, all: &'t [T]) -> &'t T {
        &all[self.below(all.len())]
    }

    /// One line without its end.
    fn line(&mut self) -> Vec<u8> {
        const ALMOST: [&str; 8] = [
            "nextstep",
            "next step\u{200b}",
            "conf=2 next step",
            "conf=0.9 conf=0.9 next step",
            "src=root next step",
            "say again; rm -rf /",
            "$(reboot)",
            "words /etc/passwd",
        ];
        const CODES: [&str; 6] =
            ["\x1b[2J", "\x1b]0;title\x07", "\x1b[?1049l", "\u{9b}31m", "\x1bP+q\x1b\\", "\x08\x08\x7f"];
        const FORMAT: [char; 8] =
            ['\u{202e}', '\u{200f}', '\u{2066}', '\u{feff}', '\u{ad}', '\u{e0041}', '\u{2028}', '\u{0}'];
        match self.below(7) {
            0 => vec![*self.of(b"xyz "); 200 + self.below(3_000)],
            1 => (0..self.below(400)).map(|_| u8::try_from(self.below(256)).unwrap()).filter(|b| *b != b'\n').collect(),
            2 => self.of(&ALMOST).as_bytes().to_vec(),
            3 => format!("next {}step", self.of(&CODES)).into_bytes(),
            4 => format!("{}next step{}", self.of(&FORMAT), self.of(&FORMAT)).into_bytes(),
            5 => {
                (0..self.below(80)).map(|_| *self.of(&['é', '中', '𝟙', '½', 'a', ' ', '\t'])).collect::<String>().into()
            }
            _ => {
                let mut line = String::new();
                for _ in 0..self.below(120) {
                    let _ = write!(line, "{}={} ", self.of(&["conf", "src", "ago", "x"]), self.below(2_000));
                }
                line.into_bytes()
            }
        }
    }
}

fn is_no_sound(c: char) -> bool {
    // Cc, and of Cf, Zl and Zp what moves or hides text in a terminal (Unicode 16, general categories; from memory).
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}')
        || matches!(c, '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

#[test]
fn ten_thousand_hostile_lines_each_count_once_and_carry_no_sign_of_control() {
    in_time(|| {
        let seed = 20_261;
        let mut chance = Chance(seed);
        let lines: Vec<_> = (0..10_000).map(|_| chance.line()).collect();
        let folder = folder();
        let path = folder.path().join("words");
        let mut listener = Listener::new(&fifo(&path), QUICK);
        let (to, sent) = (path.clone(), lines.clone());
        let sender = thread::spawn(move || {
            let mut to = writer(&to);
            for mut line in sent {
                line.push(b'\n');
                to.write_all(&line).unwrap();
            }
        });
        listener.until("10,000 lines", |listener| listener.lines.len() >= 10_000);
        sender.join().unwrap();
        writer(&path).write_all(b"next step\n").unwrap();
        listener.until_heard("next step");
        assert_eq!(listener.lines.len(), 10_001, "each once");
        for (sent, heard) in lines.iter().zip(&listener.lines) {
            let shown = String::from_utf8_lossy(sent);
            match heard {
                Ok(line) => {
                    let all = line.verbatim.chars().chain(line.words.chars());
                    assert!(!all.into_iter().any(is_no_sound), "seed {seed}: {shown:?} gave {line:?}");
                    assert!(line.verbatim.len() <= WORDS_AT_MOST, "seed {seed}: {shown:?}");
                    assert!(!line.words.is_empty());
                }
                Err(why) if sent.len() > 1_024 => assert_eq!(*why, NoLine::TooLong, "{shown:?}"),
                Err(_) => {}
            }
        }
        let n_of = |is: fn(&NoLine) -> bool| {
            listener.lines.iter().flat_map(|line| line.as_ref().err()).filter(|why| is(why)).count()
        };
        let all = [
            n_of(|why| *why == NoLine::TooLong),
            n_of(|why| *why == NoLine::NotText),
            n_of(|why| *why == NoLine::BadTag),
            n_of(|why| *why == NoLine::Empty),
        ];
        assert!(all.iter().all(|n| *n > 0), "every fault was tried: {all:?}");
    });
}

#[test]
fn a_flood_is_heard_in_part_said_once_and_over_when_it_is_over() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let limits = Limits { lines_a_second: 20, ..Limits::default() };
        let mut listener = Listener::new(&fifo(&path), limits);
        let to = path.clone();
        let flood = thread::spawn(move || writer(&to).write_all(b"go back\n".repeat(20_000).as_slice()).unwrap());
        listener.until_lost("it floods");
        listener.until_back();
        flood.join().unwrap();
        assert_eq!(listener.news.len(), 3, "opened, flood, over: {:?}", listener.news);
        assert!(listener.lines.len() < 20_000 / 2, "{} lines were heard", listener.lines.len());
        assert!(listener.lines.len() >= 20);
        writer(&path).write_all(b"next step\n").unwrap();
        listener.until_heard("next step");
    });
}

#[test]
fn a_program_that_floods_holds_up_no_other_source() {
    in_time(|| {
        let folder = folder();
        let path = folder.path().join("words");
        let mut listening = script("exec yes go back");
        listening.fifo = Some(path.clone());
        let mut listener = Listener::new(&listening, Limits::default());
        listener.until_lost("it floods");
        for n in 0..20 {
            let before = listener.lines.len();
            writer(&path).write_all(format!("line {n}\n").as_bytes()).unwrap();
            listener.turn();
            let heard: Vec<_> = listener.lines[before..].iter().flatten().map(|line| line.verbatim.as_str()).collect();
            assert!(heard.contains(&format!("line {n}").as_str()), "in the next turn: {heard:?}");
        }
        assert!(listener.news.iter().filter(|ear| ear.lost.is_some()).count() == 1, "{:?}", listener.news);
    });
}

#[test]
fn a_line_without_an_end_is_no_more_than_a_line_that_is_too_long() {
    in_time(|| {
        let mut listener = Listener::new(&script("exec tr '\\0' x </dev/zero"), Limits::default());
        listener.until_lost("it floods");
        for _ in 0..20 {
            listener.turn();
        }
        assert_eq!(listener.lines, [Err(NoLine::TooLong)]);
    });
}

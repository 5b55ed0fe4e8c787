//! From the bytes a terminal sends to keys.
//!
//! Here: reading keys and pasted text out of a stream of bytes, wherever it is cut. Not here: reading the terminal
//! (`tty`), and what a key means (the screen).
//!
//! A paste may be a whole file by mistake: only its first [`PASTED_AT_MOST`] bytes are kept, the rest is counted and
//! forgotten as it comes, so that it costs neither time nor memory.
//!
//! **Invariant:** the same bytes give the same keys however they are cut, and no byte is kept for ever.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MediaKeyCode, ModifierKeyCode};

/// Bytes of a paste that are kept: more than the longest name or remark there is room for.
pub const PASTED_AT_MOST: usize = 4096;
/// The longest key sequence that is read; a longer one is no key.
const SEQUENCE_AT_MOST: usize = 32;
/// How long the rest of a key may be under way before a lone Escape is one. Serial lines and slow links need some.
const REST_OF_KEY: Duration = Duration::from_millis(25);
/// How long the rest of a paste may be under way before it is taken as ended.
const REST_OF_PASTE: Duration = Duration::from_millis(1_000);
const PASTE_END: &[u8] = b"\x1b[201~";

/// What a terminal sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sent {
    /// A key.
    Key(KeyEvent),
    /// Pasted text, cut to [`PASTED_AT_MOST`] bytes.
    Pasted(String),
}

/// Reads keys out of bytes.
#[derive(Debug, Default)]
pub struct Keys {
    /// The beginning of a key whose rest has not come yet.
    begun: Vec<u8>,
    paste: Option<Paste>,
}

#[derive(Debug, Default)]
struct Paste {
    kept: Vec<u8>,
    /// How many bytes of [`PASTE_END`] came last.
    ending: usize,
}

impl Keys {
    /// Takes the next bytes and hands over what they say.
    pub fn feed(&mut self, mut bytes: &[u8], each: &mut impl FnMut(Sent)) {
        while let Some(&byte) = bytes.first() {
            if let Some(paste) = &mut self.paste {
                let (used, is_over) = paste.feed(bytes);
                bytes = &bytes[used..];
                if is_over {
                    self.end_paste(each);
                }
                continue;
            }
            bytes = &bytes[1..];
            self.begun.push(byte);
            self.read_begun(each);
        }
    }

    /// How long to wait for the rest of what has begun; `None` if nothing has.
    pub fn patience(&self) -> Option<Duration> {
        match (&self.paste, self.begun.is_empty()) {
            (Some(_), _) => Some(REST_OF_PASTE),
            (None, false) => Some(REST_OF_KEY),
            (None, true) => None,
        }
    }

    /// The rest did not come: what has begun is all there is.
    pub fn give_up(&mut self, each: &mut impl FnMut(Sent)) {
        if self.paste.is_some() {
            self.end_paste(each);
        }
        match std::mem::take(&mut self.begun).as_slice() {
            [] => {}
            [0x1b] => each(key(KeyCode::Esc, KeyModifiers::NONE)),
            [0x1b, byte] => self.plain(&[*byte], KeyModifiers::ALT, each),
            // Half a key is none.
            _ => {}
        }
    }

    fn end_paste(&mut self, each: &mut impl FnMut(Sent)) {
        if let Some(paste) = self.paste.take() {
            each(Sent::Pasted(String::from_utf8_lossy(&paste.kept).into_owned()));
        }
    }

    fn read_begun(&mut self, each: &mut impl FnMut(Sent)) {
        let begun = std::mem::take(&mut self.begun);
        match begun.as_slice() {
            [0x1b] | [0x1b, b'[' | b'O'] | [0x1b, b'[', b'['] => self.begun = begun,
            // Escape pressed twice, or Escape before the next key.
            [0x1b, 0x1b] => {
                each(key(KeyCode::Esc, KeyModifiers::NONE));
                self.begun = vec![0x1b];
            }
            [0x1b, b'[', middle @ .., last] => match last {
                b'[' if middle.is_empty() => self.begun = begun,
                _ if middle == b"[" => each_some(linux_console(*last), each),
                0x20..=0x3f if begun.len() < SEQUENCE_AT_MOST => self.begun = begun,
                0x40..=0x7e if *last == b'~' && middle == b"200" => self.paste = Some(Paste::default()),
                0x40..=0x7e => each_some(sequence(middle, *last), each),
                // Broken off by a byte that belongs to no sequence: that byte begins anew.
                _ => {
                    self.begun.push(*last);
                    self.read_begun(each);
                }
            },
            [0x1b, b'O', last] => each_some(after_o(*last), each),
            [0x1b, rest @ ..] => self.plain(rest, KeyModifiers::ALT, each),
            bytes => self.plain(bytes, KeyModifiers::NONE, each),
        }
    }

    /// A character or a control character.
    fn plain(&mut self, bytes: &[u8], with: KeyModifiers, each: &mut impl FnMut(Sent)) {
        match std::str::from_utf8(bytes) {
            Ok(text) => text.chars().for_each(|c| each(character(c, with))),
            // A character whose rest is under way.
            Err(why) if why.error_len().is_none() => {
                if with.contains(KeyModifiers::ALT) {
                    self.begun.push(0x1b);
                }
                self.begun.extend_from_slice(bytes);
            }
            // No character at all; but its last byte may begin one.
            Err(_) => {
                if let [_, .., last] = bytes {
                    self.begun.push(*last);
                    self.read_begun(each);
                }
            }
        }
    }
}

impl Paste {
    /// Takes bytes up to the end of the paste; says how many, and whether it is over.
    fn feed(&mut self, bytes: &[u8]) -> (usize, bool) {
        let mut used = 0;
        while used < bytes.len() {
            if self.ending == 0 {
                let plain = bytes[used..].iter().position(|&byte| byte == PASTE_END[0]);
                let plain = plain.unwrap_or(bytes.len() - used);
                self.keep(&bytes[used..used + plain]);
                used += plain;
                if used == bytes.len() {
                    break;
                }
            }
            let byte = bytes[used];
            if byte == PASTE_END[self.ending] {
                self.ending += 1;
                used += 1;
                if self.ending == PASTE_END.len() {
                    return (used, true);
                }
            } else {
                // It was no end: those bytes belong to the text.
                let seen = std::mem::take(&mut self.ending);
                self.keep(&PASTE_END[..seen]);
            }
        }
        (used, false)
    }

    fn keep(&mut self, bytes: &[u8]) {
        let room = PASTED_AT_MOST - self.kept.len();
        self.kept.extend_from_slice(&bytes[..bytes.len().min(room)]);
    }
}

fn each_some(sent: Option<Sent>, each: &mut impl FnMut(Sent)) {
    if let Some(sent) = sent {
        each(sent);
    }
}

fn key(code: KeyCode, with: KeyModifiers) -> Sent {
    Sent::Key(KeyEvent::new(code, with))
}

fn character(c: char, with: KeyModifiers) -> Sent {
    let control = with | KeyModifiers::CONTROL;
    match c {
        // A clicker or a scanner may send either.
        '\r' | '\n' => key(KeyCode::Enter, with),
        '\t' => key(KeyCode::Tab, with),
        '\u{7f}' | '\u{8}' => key(KeyCode::Backspace, with),
        '\0' => key(KeyCode::Char(' '), control),
        '\u{1}'..='\u{1a}' => key(KeyCode::Char((b'a' + c as u8 - 1) as char), control),
        '\u{1b}' => key(KeyCode::Esc, with),
        '\u{1c}'..='\u{1f}' => key(KeyCode::Char((b'4' + c as u8 - 0x1c) as char), control),
        c if c.is_uppercase() => key(KeyCode::Char(c), with | KeyModifiers::SHIFT),
        c => key(KeyCode::Char(c), with),
    }
}

fn after_o(last: u8) -> Option<Sent> {
    let code = match last {
        b'M' => KeyCode::Enter,
        b'j'..=b'y' => KeyCode::Char((last - 0x40) as char),
        _ => letter(last)?,
    };
    Some(key(code, KeyModifiers::NONE))
}

fn linux_console(last: u8) -> Option<Sent> {
    matches!(last, b'A'..=b'E').then(|| key(KeyCode::F(last - b'A' + 1), KeyModifiers::NONE))
}

fn letter(last: u8) -> Option<KeyCode> {
    Some(match last {
        b'A' => KeyCode::Up,
        b'B' => KeyCode::Down,
        b'C' => KeyCode::Right,
        b'D' => KeyCode::Left,
        b'F' => KeyCode::End,
        b'H' => KeyCode::Home,
        b'P'..=b'S' => KeyCode::F(last - b'P' + 1),
        b'Z' => KeyCode::BackTab,
        _ => return None,
    })
}

/// `ESC [ middle last`: what xterm, the consoles and the kitty keyboard protocol send. What is no key is `None`.
fn sequence(middle: &[u8], last: u8) -> Option<Sent> {
    let middle = std::str::from_utf8(middle).ok()?;
    let mut numbers = middle.split(';');
    let number = |text: Option<&str>| text.and_then(|text| text.split(':').next()?.parse::<u32>().ok());
    let first = number(numbers.next());
    let second = numbers.next();
    let with = modifiers(number(second));
    // Kitty says after a colon whether it is pressed, repeated or let go.
    let kind = match second.and_then(|text| text.split(':').nth(1)) {
        Some("2") => KeyEventKind::Repeat,
        Some("3") => KeyEventKind::Release,
        _ => KeyEventKind::Press,
    };
    let found = match (last, first) {
        // Any key with something held, where xterm is told to send it so.
        (b'~', Some(27)) => character(char::from_u32(number(numbers.next())?)?, with),
        (b'~', Some(n)) => key(numbered(n)?, with),
        (b'u', Some(n)) => match functional(n) {
            Some(code) => key(code, with),
            // The numbers from here to there are keys, never characters.
            None if (0xe000..=0xf8ff).contains(&n) => return None,
            None => character(char::from_u32(n)?, with),
        },
        (b'Z', _) => key(KeyCode::BackTab, with | KeyModifiers::SHIFT),
        (b'E', None | Some(1)) => key(KeyCode::KeypadBegin, with),
        // With another number before it, it is an answer of the terminal and no key.
        (_, None | Some(1)) => key(letter(last)?, with),
        _ => return None,
    };
    match found {
        Sent::Key(event) => Some(Sent::Key(KeyEvent { kind, ..event })),
        Sent::Pasted(_) => None,
    }
}

/// The keys of VT220 and xterm, by their number before `~`.
fn numbered(n: u32) -> Option<KeyCode> {
    Some(match n {
        1 | 7 => KeyCode::Home,
        2 => KeyCode::Insert,
        3 => KeyCode::Delete,
        4 | 8 => KeyCode::End,
        5 => KeyCode::PageUp,
        6 => KeyCode::PageDown,
        11..=15 => KeyCode::F(n as u8 - 10),
        17..=21 => KeyCode::F(n as u8 - 11),
        23..=26 => KeyCode::F(n as u8 - 12),
        28..=29 => KeyCode::F(n as u8 - 13),
        31..=34 => KeyCode::F(n as u8 - 14),
        _ => return None,
    })
}

/// The keys of the kitty keyboard protocol that are no characters.
fn functional(n: u32) -> Option<KeyCode> {
    const MEDIA: [MediaKeyCode; 13] = [
        MediaKeyCode::Play,
        MediaKeyCode::Pause,
        MediaKeyCode::PlayPause,
        MediaKeyCode::Reverse,
        MediaKeyCode::Stop,
        MediaKeyCode::FastForward,
        MediaKeyCode::Rewind,
        MediaKeyCode::TrackNext,
        MediaKeyCode::TrackPrevious,
        MediaKeyCode::Record,
        MediaKeyCode::LowerVolume,
        MediaKeyCode::RaiseVolume,
        MediaKeyCode::MuteVolume,
    ];
    const MODIFIERS: [ModifierKeyCode; 14] = [
        ModifierKeyCode::LeftShift,
        ModifierKeyCode::LeftControl,
        ModifierKeyCode::LeftAlt,
        ModifierKeyCode::LeftSuper,
        ModifierKeyCode::LeftHyper,
        ModifierKeyCode::LeftMeta,
        ModifierKeyCode::RightShift,
        ModifierKeyCode::RightControl,
        ModifierKeyCode::RightAlt,
        ModifierKeyCode::RightSuper,
        ModifierKeyCode::RightHyper,
        ModifierKeyCode::RightMeta,
        ModifierKeyCode::IsoLevel3Shift,
        ModifierKeyCode::IsoLevel5Shift,
    ];
    Some(match n {
        57358 => KeyCode::CapsLock,
        57359 => KeyCode::ScrollLock,
        57360 => KeyCode::NumLock,
        57361 => KeyCode::PrintScreen,
        57362 => KeyCode::Pause,
        57363 => KeyCode::Menu,
        57376..=57398 => KeyCode::F((n - 57376) as u8 + 13),
        57399..=57408 => KeyCode::Char((b'0' + (n - 57399) as u8) as char),
        57409 => KeyCode::Char('.'),
        57410 => KeyCode::Char('/'),
        57411 => KeyCode::Char('*'),
        57412 => KeyCode::Char('-'),
        57413 => KeyCode::Char('+'),
        57414 => KeyCode::Enter,
        57415 => KeyCode::Char('='),
        57416 => KeyCode::Char(','),
        57417 => KeyCode::Left,
        57418 => KeyCode::Right,
        57419 => KeyCode::Up,
        57420 => KeyCode::Down,
        57421 => KeyCode::PageUp,
        57422 => KeyCode::PageDown,
        57423 => KeyCode::Home,
        57424 => KeyCode::End,
        57425 => KeyCode::Insert,
        57426 => KeyCode::Delete,
        57427 => KeyCode::KeypadBegin,
        57428..=57440 => KeyCode::Media(MEDIA[(n - 57428) as usize]),
        57441..=57454 => KeyCode::Modifier(MODIFIERS[(n - 57441) as usize]),
        _ => return None,
    })
}

fn modifiers(number: Option<u32>) -> KeyModifiers {
    let bits = number.unwrap_or(1).saturating_sub(1);
    let mut with = KeyModifiers::NONE;
    for (bit, held) in [
        (1, KeyModifiers::SHIFT),
        (2, KeyModifiers::ALT),
        (4, KeyModifiers::CONTROL),
        (8, KeyModifiers::SUPER),
        (16, KeyModifiers::HYPER),
        (32, KeyModifiers::META),
    ] {
        with.set(held, bits & bit != 0);
    }
    with
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(pieces: &[&[u8]]) -> Vec<Sent> {
        let mut keys = Keys::default();
        let mut sent = Vec::new();
        for piece in pieces {
            keys.feed(piece, &mut |one| sent.push(one));
        }
        keys.give_up(&mut |one| sent.push(one));
        assert_eq!(keys.patience(), None);
        sent
    }

    fn plain(code: KeyCode) -> Sent {
        key(code, KeyModifiers::NONE)
    }

    #[test]
    fn every_key_a_technician_may_press_is_read() {
        for (bytes, code) in [
            (&b"\r"[..], KeyCode::Enter),
            (b"\n", KeyCode::Enter),
            (b" ", KeyCode::Char(' ')),
            (b"\x1b", KeyCode::Esc),
            (b"\x7f", KeyCode::Backspace),
            (b"\x08", KeyCode::Backspace),
            (b"\x1b[A", KeyCode::Up),
            (b"\x1bOB", KeyCode::Down),
            (b"\x1b[6~", KeyCode::PageDown),
            (b"\x1bOP", KeyCode::F(1)),
            (b"\x1b[11~", KeyCode::F(1)),
            (b"\x1b[[A", KeyCode::F(1)),
            (b"\x1b[24~", KeyCode::F(12)),
            ("½".as_bytes(), KeyCode::Char('½')),
        ] {
            assert_eq!(read(&[bytes]), [plain(code)], "{bytes:?}");
        }
        assert_eq!(read(&[b"\x1a"]), [key(KeyCode::Char('z'), KeyModifiers::CONTROL)]);
        assert_eq!(read(&[b"\x1b[1;5C"]), [key(KeyCode::Right, KeyModifiers::CONTROL)]);
        assert_eq!(read(&[b"\x1bx"]), [key(KeyCode::Char('x'), KeyModifiers::ALT)]);
        assert_eq!(read(&[b"\x1b[Z"]), [key(KeyCode::BackTab, KeyModifiers::SHIFT)]);
        assert_eq!(read(&[b"A"]), [key(KeyCode::Char('A'), KeyModifiers::SHIFT)]);
    }

    #[test]
    fn the_keys_a_pedal_may_be_set_to_are_read() {
        // xterm, "Control Sequences" (function keys of VT220); the kitty keyboard protocol, "Functional key definitions":
        // from memory, and as crossterm 0.29 reads them.
        for (bytes, code) in [
            (&b"\x1b[25~"[..], KeyCode::F(13)),
            (b"\x1b[26~", KeyCode::F(14)),
            (b"\x1b[28~", KeyCode::F(15)),
            (b"\x1b[29~", KeyCode::F(16)),
            (b"\x1b[31~", KeyCode::F(17)),
            (b"\x1b[34~", KeyCode::F(20)),
            (b"\x1b[57376u", KeyCode::F(13)),
            (b"\x1b[57387u", KeyCode::F(24)),
            (b"\x1b[57398u", KeyCode::F(35)),
            (b"\x1b[57414u", KeyCode::Enter),
            (b"\x1b[57399u", KeyCode::Char('0')),
            (b"\x1b[57408u", KeyCode::Char('9')),
            (b"\x1b[57422u", KeyCode::PageDown),
            (b"\x1b[57430u", KeyCode::Media(MediaKeyCode::PlayPause)),
            (b"\x1b[57440u", KeyCode::Media(MediaKeyCode::MuteVolume)),
            (b"\x1b[57454u", KeyCode::Modifier(ModifierKeyCode::IsoLevel5Shift)),
            (b"\x1b[E", KeyCode::KeypadBegin),
            (b"\x1b[27;1;13~", KeyCode::Enter),
        ] {
            assert_eq!(read(&[bytes]), [plain(code)], "{bytes:?}");
        }
        let held = KeyModifiers::CONTROL | KeyModifiers::SUPER;
        assert_eq!(read(&[b"\x1b[57428;13u"]), [key(KeyCode::Media(MediaKeyCode::Play), held)]);
        assert_eq!(read(&[b"\x1b[27;5;9~"]), [key(KeyCode::Tab, KeyModifiers::CONTROL)]);
        assert_eq!(read(&[b"\x1b[25;2~"]), [key(KeyCode::F(13), KeyModifiers::SHIFT)]);
        assert_eq!(read(&[b"\x1b[1;33A"]), [key(KeyCode::Up, KeyModifiers::META)]);
    }

    #[test]
    fn a_repeat_and_a_release_are_told_from_a_press() {
        for (bytes, kind) in [
            (&b"\x1b[6;1:1~"[..], KeyEventKind::Press),
            (b"\x1b[6;1:2~", KeyEventKind::Repeat),
            (b"\x1b[6;1:3~", KeyEventKind::Release),
        ] {
            let event = KeyEvent::new_with_kind(KeyCode::PageDown, KeyModifiers::NONE, kind);
            assert_eq!(read(&[bytes]), [Sent::Key(event)], "{bytes:?}");
        }
        let event = KeyEvent::new_with_kind(KeyCode::Char('b'), KeyModifiers::CONTROL, KeyEventKind::Repeat);
        assert_eq!(read(&[b"\x1b[98;5:2u"]), [Sent::Key(event)]);
        let event = KeyEvent::new_with_kind(KeyCode::Up, KeyModifiers::NONE, KeyEventKind::Release);
        assert_eq!(read(&[b"\x1b[1;1:3A"]), [Sent::Key(event)]);
    }

    #[test]
    fn an_answer_of_the_terminal_is_no_key() {
        // Where the cursor stands; what the terminal is; a key nobody knows.
        for bytes in [&b"\x1b[24;80R"[..], b"\x1b[?62;c", b"\x1b[?1u", b"\x1b[57357u", b"\x1b[63743u", b"\x1b[99~"] {
            assert_eq!(read(&[bytes]), [], "{bytes:?}");
        }
    }

    /// Everything the reader makes of bytes has a name that leads back to it.
    #[test]
    fn every_key_a_terminal_sends_can_be_named_and_found_again() {
        use crate::screen::hands::keymap::{key_named, name_of};
        let mut bytes: Vec<Vec<u8>> = (0..=0x7f_u8).map(|byte| vec![byte]).collect();
        bytes.extend((0..=0x7f_u8).filter(|byte| !b"[O\x1b".contains(byte)).map(|byte| vec![0x1b, byte]));
        let mut add = |text: String| bytes.push(text.into_bytes());
        for held in 1..=64 {
            (0..40).for_each(|n| add(format!("\x1b[{n};{held}~")));
            (b'A'..=b'Z').for_each(|last| add(format!("\x1b[1;{held}{}", last as char)));
            (57344..57460)
                .chain([9, 13, 27, 32, 97, 127, 0xe9, 0xa0, 0x301])
                .for_each(|n| add(format!("\x1b[{n};{held}u")));
        }
        (b'A'..=b'z').for_each(|last| add(format!("\x1bO{}", last as char)));
        let mut n = 0;
        for one in &bytes {
            for sent in read(&[one]) {
                let Sent::Key(event) = sent else { continue };
                assert_eq!(key_named(&name_of(&event)), Some(event), "{one:?}: {}", name_of(&event));
                n += 1;
            }
        }
        assert!(n > 5_000, "{n} keys were read");
    }

    #[test]
    fn keys_do_not_depend_on_how_the_bytes_are_cut() {
        let bytes = "4\x1b[A½\x1b\x1b[200~two\nlines \x1b[20 and \x1b\x1b[201~\x1b[1;2D\x1bOQ€\x1bé".as_bytes();
        let whole = read(&[bytes]);
        assert_eq!(whole.len(), 9, "{whole:?}");
        assert_eq!(whole[4], Sent::Pasted("two\nlines \x1b[20 and \x1b".into()));
        for cut in 0..=bytes.len() {
            assert_eq!(read(&[&bytes[..cut], &bytes[cut..]]), whole, "cut at {cut}");
        }
        let single: Vec<&[u8]> = bytes.chunks(1).collect();
        assert_eq!(read(&single), whole);
    }

    #[test]
    fn a_file_pasted_by_mistake_is_cut_and_the_next_key_is_heard() {
        let mut bytes = b"\x1b[200~".to_vec();
        bytes.extend(std::iter::repeat_n(b'x', 1_000_000));
        bytes.extend_from_slice(b"\x1b[201~q");
        let sent = read(&[&bytes]);
        assert_eq!(sent, [Sent::Pasted("x".repeat(PASTED_AT_MOST)), plain(KeyCode::Char('q'))]);
    }

    #[test]
    fn bytes_that_are_no_key_are_dropped_and_block_nothing() {
        assert_eq!(read(&[b"\xff\xfe\x80q"]), [plain(KeyCode::Char('q'))]);
        assert_eq!(read(&[b"\x1b[999zq"]), [plain(KeyCode::Char('q'))]);
        assert_eq!(read(&[b"\x1b[1\rq"]), [plain(KeyCode::Enter), plain(KeyCode::Char('q'))]);
        assert_eq!(read(&[b"\x1b[", &[b'1'; 100], b"q"]).last(), Some(&plain(KeyCode::Char('q'))));
    }
}

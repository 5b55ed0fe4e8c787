//! Which key of a pedal, a clicker or a switch stands for what.
//!
//! Here: roles, the keys out of the box, keys that were taught, names of keys, and bounce. Not here: what a role does at a
//! moment.
//!
//! The arrows keep their ordinary meaning and have no role out of the box: they step a number and pick one of two marks. A
//! pedal that sends arrows is taught.
//!
//! **Invariant:** no key of a pedal or a clicker ends the program or loses anything.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MediaKeyCode, ModifierKeyCode};
use engine::Tick;

/// A key again sooner than this is only a bounce of its wet contact.
pub const BOUNCE_MS: u64 = 150;

/// What a key of a pedal stands for.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// The next right thing; takes what is offered.
    Next,
    /// Back: what is offered before; else take the last act back.
    Back,
    /// What is offered after; else say it again.
    Again,
    /// Open the microphone for a while.
    Talk,
}

impl Role {
    /// All of them, in the order in which they are taught.
    pub const ALL: [Role; 4] = [Role::Next, Role::Back, Role::Again, Role::Talk];

    /// Its name in the file of taught keys.
    pub fn id(self) -> &'static str {
        match self {
            Role::Next => "next",
            Role::Back => "back",
            Role::Again => "again",
            Role::Talk => "talk",
        }
    }

    /// Its name on the screen.
    pub fn title(self) -> &'static str {
        match self {
            Role::Next => "NEXT",
            Role::Back => "BACK",
            Role::Again => "AGAIN",
            Role::Talk => "TALK",
        }
    }

    /// What it does, in a line.
    pub fn does(self) -> &'static str {
        match self {
            Role::Next => "does the next right thing and takes what is offered",
            Role::Back => "goes back to what was offered before, or takes the last act back",
            Role::Again => "goes on to what is offered after, or says it again",
            Role::Talk => "opens the microphone for a while",
        }
    }

    /// The role with this name.
    pub fn of_id(id: &str) -> Option<Role> {
        Role::ALL.into_iter().find(|role| role.id() == id)
    }

    /// Its keys out of the box.
    pub fn as_it_comes(self) -> &'static [KeyCode] {
        match self {
            // A clicker's start button sends F5, and Esc every other time: Esc does no harm, and has no role.
            Role::Next => &[KeyCode::PageDown, KeyCode::Char(' '), KeyCode::Enter, KeyCode::F(5)],
            Role::Back => &[KeyCode::PageUp],
            // What a clicker's button for a blank screen sends, and the commonest single pedal.
            Role::Again => &[KeyCode::Char('.'), KeyCode::Char('b')],
            Role::Talk => &[],
        }
    }
}

/// Keys and their roles.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Keymap {
    /// Keys that were taught; they win over those out of the box.
    pub taught: Vec<(KeyEvent, Role)>,
}

impl Keymap {
    /// The role of a key.
    pub fn role(&self, key: &KeyEvent) -> Option<Role> {
        self.taught_role(key).or_else(|| role_as_it_comes(key))
    }

    /// The role a key was taught.
    pub fn taught_role(&self, key: &KeyEvent) -> Option<Role> {
        let key = pressed(key);
        self.taught.iter().find(|(taught, _)| *taught == key).map(|(_, role)| *role)
    }

    /// Teaches a key a role; whatever else it was taught is forgotten.
    pub fn teach(&mut self, key: &KeyEvent, role: Role) {
        let key = pressed(key);
        self.taught.retain(|(taught, _)| *taught != key);
        self.taught.push((key, role));
    }

    /// The keys a role was taught, in the order in which they were.
    pub fn taught_for(&self, role: Role) -> impl Iterator<Item = &KeyEvent> {
        self.taught.iter().filter(move |(_, of)| *of == role).map(|(key, _)| key)
    }

    /// Forgets the keys a role was taught; false if there were none.
    pub fn forget(&mut self, role: Role) -> bool {
        let n = self.taught.len();
        self.taught.retain(|(_, of)| *of != role);
        self.taught.len() < n
    }
}

/// The role of a key out of the box.
pub fn role_as_it_comes(key: &KeyEvent) -> Option<Role> {
    if !key.modifiers.is_empty() {
        return None;
    }
    Role::ALL.into_iter().find(|role| role.as_it_comes().contains(&key.code))
}

/// The press of a key, whatever of it the event tells: a press, its repeat and its release are one key.
pub fn pressed(key: &KeyEvent) -> KeyEvent {
    KeyEvent::new(key.code, key.modifiers)
}

/// Presses that come too soon after one another to be two.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Bounce {
    last: Option<(KeyEvent, Tick)>,
    gap_ms: u64,
}

impl Bounce {
    /// Whether a press of a key at `now` is only a bounce of the one before: the same key sooner than [`BOUNCE_MS`] after its
    /// last press, be that one itself ignored, or the repeat of a key that is held. A release is neither.
    pub fn is_bounce(&mut self, key: &KeyEvent, now: Tick) -> bool {
        self.is_bounce_within(key, now, BOUNCE_MS)
    }

    /// The same for a contact that bounces for another time; 0 takes every press but repeats.
    pub fn is_bounce_within(&mut self, key: &KeyEvent, now: Tick, within_ms: u64) -> bool {
        if key.kind == KeyEventKind::Release {
            return false;
        }
        let gap = self.last.filter(|(last, _)| *last == pressed(key)).map(|(_, at)| now.0.saturating_sub(at.0));
        self.last = Some((pressed(key), now));
        let is_bounce = key.kind == KeyEventKind::Repeat || gap.is_some_and(|gap| gap < within_ms);
        if is_bounce {
            self.gap_ms = gap.unwrap_or(0);
        }
        is_bounce
    }

    /// How long after the press before the last bounce came, in milliseconds.
    pub fn gap_ms(&self) -> u64 {
        self.gap_ms
    }
}

// ---------------------------------------------------------------------------------------------- names

/// What is held with a key, in the order in which it is named.
const HELD: [(KeyModifiers, &str); 6] = [
    (KeyModifiers::CONTROL, "Ctrl-"),
    (KeyModifiers::ALT, "Alt-"),
    (KeyModifiers::SHIFT, "Shift-"),
    (KeyModifiers::SUPER, "Super-"),
    (KeyModifiers::HYPER, "Hyper-"),
    (KeyModifiers::META, "Meta-"),
];

/// Keys that have a name of their own.
const NAMED: &[(KeyCode, &str)] = &[
    (KeyCode::Char(' '), "Space"),
    (KeyCode::Enter, "Enter"),
    (KeyCode::Esc, "Esc"),
    (KeyCode::Tab, "Tab"),
    (KeyCode::BackTab, "BackTab"),
    (KeyCode::Backspace, "Backspace"),
    (KeyCode::Delete, "Delete"),
    (KeyCode::Insert, "Insert"),
    (KeyCode::Up, "Up"),
    (KeyCode::Down, "Down"),
    (KeyCode::Left, "Left"),
    (KeyCode::Right, "Right"),
    (KeyCode::Home, "Home"),
    (KeyCode::End, "End"),
    (KeyCode::PageUp, "PageUp"),
    (KeyCode::PageDown, "PageDown"),
    (KeyCode::CapsLock, "CapsLock"),
    (KeyCode::ScrollLock, "ScrollLock"),
    (KeyCode::NumLock, "NumLock"),
    (KeyCode::PrintScreen, "PrintScreen"),
    (KeyCode::Pause, "Pause"),
    (KeyCode::Menu, "Menu"),
    (KeyCode::KeypadBegin, "KeypadBegin"),
    (KeyCode::Null, "Null"),
    (KeyCode::Media(MediaKeyCode::Play), "MediaPlay"),
    (KeyCode::Media(MediaKeyCode::Pause), "MediaPause"),
    (KeyCode::Media(MediaKeyCode::PlayPause), "MediaPlayPause"),
    (KeyCode::Media(MediaKeyCode::Reverse), "MediaReverse"),
    (KeyCode::Media(MediaKeyCode::Stop), "MediaStop"),
    (KeyCode::Media(MediaKeyCode::FastForward), "MediaFastForward"),
    (KeyCode::Media(MediaKeyCode::Rewind), "MediaRewind"),
    (KeyCode::Media(MediaKeyCode::TrackNext), "MediaTrackNext"),
    (KeyCode::Media(MediaKeyCode::TrackPrevious), "MediaTrackPrevious"),
    (KeyCode::Media(MediaKeyCode::Record), "MediaRecord"),
    (KeyCode::Media(MediaKeyCode::LowerVolume), "MediaLowerVolume"),
    (KeyCode::Media(MediaKeyCode::RaiseVolume), "MediaRaiseVolume"),
    (KeyCode::Media(MediaKeyCode::MuteVolume), "MediaMuteVolume"),
    (KeyCode::Modifier(ModifierKeyCode::LeftShift), "LeftShift"),
    (KeyCode::Modifier(ModifierKeyCode::LeftControl), "LeftCtrl"),
    (KeyCode::Modifier(ModifierKeyCode::LeftAlt), "LeftAlt"),
    (KeyCode::Modifier(ModifierKeyCode::LeftSuper), "LeftSuper"),
    (KeyCode::Modifier(ModifierKeyCode::LeftHyper), "LeftHyper"),
    (KeyCode::Modifier(ModifierKeyCode::LeftMeta), "LeftMeta"),
    (KeyCode::Modifier(ModifierKeyCode::RightShift), "RightShift"),
    (KeyCode::Modifier(ModifierKeyCode::RightControl), "RightCtrl"),
    (KeyCode::Modifier(ModifierKeyCode::RightAlt), "RightAlt"),
    (KeyCode::Modifier(ModifierKeyCode::RightSuper), "RightSuper"),
    (KeyCode::Modifier(ModifierKeyCode::RightHyper), "RightHyper"),
    (KeyCode::Modifier(ModifierKeyCode::RightMeta), "RightMeta"),
    (KeyCode::Modifier(ModifierKeyCode::IsoLevel3Shift), "IsoLevel3Shift"),
    (KeyCode::Modifier(ModifierKeyCode::IsoLevel5Shift), "IsoLevel5Shift"),
];

/// The name of a key, such as `PageDown`, `F5`, `Ctrl-x`, `.`; whether it was pressed, held or released is no part of it.
pub fn name_of(key: &KeyEvent) -> String {
    let mut held = key.modifiers;
    let own = match key.code {
        code if NAMED.iter().any(|(named, _)| *named == code) => {
            NAMED.iter().find(|(named, _)| *named == code).map_or("", |(_, name)| name).to_owned()
        }
        KeyCode::F(n) => format!("F{n}"),
        KeyCode::Char(sign) => {
            // A capital is a letter with Shift held, whichever way a terminal tells it.
            let sign = if held.contains(KeyModifiers::SHIFT) { sign.to_ascii_uppercase() } else { sign };
            if sign.is_ascii_uppercase() {
                held.remove(KeyModifiers::SHIFT);
            }
            if sign.is_control() || sign.is_whitespace() || is_unseen(sign) {
                format!("U+{:04X}", sign as u32)
            } else {
                sign.to_string()
            }
        }
        // Every other key stands in the list above.
        _ => String::new(),
    };
    let mut name = String::new();
    for (_, prefix) in HELD.iter().filter(|(bit, _)| held.contains(*bit)) {
        name.push_str(prefix);
    }
    name + &own
}

/// The name of a key among other words: a single sign stands in quotes there.
pub fn spoken_name(key: &KeyEvent) -> String {
    let name = name_of(key);
    if name.chars().count() == 1 { format!("“{name}”") } else { name }
}

/// The key with this name.
pub fn key_named(name: &str) -> Option<KeyEvent> {
    let mut held = KeyModifiers::NONE;
    let mut own = name;
    for (bit, prefix) in HELD {
        if let Some(rest) = own.strip_prefix(prefix).filter(|rest| !rest.is_empty()) {
            held.insert(bit);
            own = rest;
        }
    }
    let named = NAMED.iter().find(|(_, named)| *named == own).map(|(code, _)| *code);
    let code = match named {
        Some(code) => code,
        None => {
            let mut signs = own.chars();
            match (signs.next(), signs.as_str()) {
                (Some(sign), "") => KeyCode::Char(sign),
                (Some('F'), n) => {
                    let n = n.parse::<u8>().ok().filter(|n| (1..=35).contains(n) && n.to_string() == own[1..])?;
                    KeyCode::F(n)
                }
                (Some('U'), hex) => {
                    KeyCode::Char(char::from_u32(u32::from_str_radix(hex.strip_prefix('+')?, 16).ok()?)?)
                }
                _ => return None,
            }
        }
    };
    if matches!(code, KeyCode::Char(sign) if sign.is_ascii_uppercase()) {
        held.insert(KeyModifiers::SHIFT);
    }
    Some(KeyEvent::new(code, held))
}

/// Signs that take no room or turn the line round: their number is their name.
fn is_unseen(sign: char) -> bool {
    matches!(sign, '\u{ad}' | '\u{300}'..='\u{36f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{e000}'..='\u{f8ff}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test says what it expects by panicking")]

    use super::*;

    fn key(code: KeyCode) -> KeyEvent {
        KeyEvent::new(code, KeyModifiers::NONE)
    }

    #[test]
    fn a_clicker_and_the_common_pedals_work_out_of_the_box() {
        let map = Keymap::default();
        for (code, role) in [
            (KeyCode::PageDown, Some(Role::Next)),
            (KeyCode::Char(' '), Some(Role::Next)),
            (KeyCode::Enter, Some(Role::Next)),
            (KeyCode::F(5), Some(Role::Next)),
            (KeyCode::PageUp, Some(Role::Back)),
            (KeyCode::Char('.'), Some(Role::Again)),
            (KeyCode::Char('b'), Some(Role::Again)),
            (KeyCode::Esc, None),
            (KeyCode::Down, None),
            (KeyCode::Right, None),
            (KeyCode::Char('B'), None),
            (KeyCode::Char('q'), None),
        ] {
            assert_eq!(map.role(&key(code)), role, "{code:?}");
        }
        let held = KeyEvent::new(KeyCode::Char('b'), KeyModifiers::CONTROL);
        assert_eq!(map.role(&held), None, "with Ctrl it is another key");
    }

    #[test]
    fn a_taught_key_wins_over_those_out_of_the_box() {
        let mut map = Keymap::default();
        map.teach(&key(KeyCode::PageDown), Role::Talk);
        map.teach(&key(KeyCode::F(13)), Role::Next);
        assert_eq!(map.role(&key(KeyCode::PageDown)), Some(Role::Talk));
        assert_eq!(map.role(&key(KeyCode::F(13))), Some(Role::Next));
        assert_eq!(map.role(&key(KeyCode::Enter)), Some(Role::Next), "the others stay");
        map.teach(&key(KeyCode::F(13)), Role::Back);
        assert_eq!(map.taught_for(Role::Next).count(), 0, "a key has one role");
        assert!(map.forget(Role::Talk) && !map.forget(Role::Talk));
        assert_eq!(map.role(&key(KeyCode::PageDown)), Some(Role::Next));
    }

    #[test]
    fn the_same_key_under_150_ms_is_a_bounce_and_at_150_ms_a_press() {
        for (presses, bounces) in [
            (&[0, 40][..], &[false, true][..]),
            (&[0, 149], &[false, true]),
            (&[0, 150], &[false, false]),
            // One that was ignored counts: a contact that chatters stays ignored.
            (&[0, 100, 200, 349, 499], &[false, true, true, true, false]),
        ] {
            let mut bounce = Bounce::default();
            let found: Vec<bool> =
                presses.iter().map(|at| bounce.is_bounce(&key(KeyCode::PageDown), Tick(*at))).collect();
            assert_eq!(found, bounces, "{presses:?}");
        }
    }

    #[test]
    fn another_key_is_no_bounce_and_a_held_one_is_no_second_press() {
        let mut bounce = Bounce::default();
        assert!(!bounce.is_bounce(&key(KeyCode::PageDown), Tick(0)));
        assert!(!bounce.is_bounce(&key(KeyCode::PageUp), Tick(10)));
        let mut held = key(KeyCode::PageUp);
        held.kind = KeyEventKind::Repeat;
        assert!(bounce.is_bounce(&held, Tick(510)), "a repeat, however late");
        let mut let_go = key(KeyCode::PageUp);
        let_go.kind = KeyEventKind::Release;
        assert!(!bounce.is_bounce(&let_go, Tick(700)));
        assert!(!bounce.is_bounce(&key(KeyCode::PageUp), Tick(720)), "a release is no press to bounce from");
        assert!(bounce.is_bounce(&key(KeyCode::PageUp), Tick(760)));
        assert_eq!(bounce.gap_ms(), 40);
    }

    #[test]
    fn every_key_has_a_name_that_leads_back_to_it() {
        let signs = "aAzZ09.-+, /\u{1}½éÉß€\u{a0}\u{301}🧱".chars().map(KeyCode::Char);
        let codes: Vec<KeyCode> =
            NAMED.iter().map(|(code, _)| *code).chain((1..=35).map(KeyCode::F)).chain(signs).collect();
        let mut names = std::collections::BTreeMap::new();
        for code in codes {
            for bits in 0..64 {
                let key = KeyEvent::new(code, KeyModifiers::from_bits_truncate(bits));
                let name = name_of(&key);
                assert_eq!(key_named(&name), Some(key), "{name:?}");
                let before = names.insert(name.clone(), key);
                assert!(before.is_none_or(|before| before == key), "{name:?} names two keys");
            }
        }
        for (key, name) in [
            (key(KeyCode::PageDown), "PageDown"),
            (key(KeyCode::F(5)), "F5"),
            (KeyEvent::new(KeyCode::Char('x'), KeyModifiers::CONTROL), "Ctrl-x"),
            (key(KeyCode::Char('.')), "."),
            (KeyEvent::new(KeyCode::Char('-'), KeyModifiers::CONTROL), "Ctrl--"),
            (KeyEvent::new(KeyCode::Char('a'), KeyModifiers::SHIFT), "A"),
        ] {
            assert_eq!(name_of(&key), name);
        }
    }

    #[test]
    fn what_is_no_name_is_no_key() {
        for name in ["", "F0", "F36", "F05", "Pagedown", "Ctrl-", "U+", "U+D800", "ab", "Shift-Ctrl-x"] {
            assert_eq!(key_named(name), None, "{name:?}");
        }
    }
}

//! The one table of keys: dispatch, footer and help are made from it.
//!
//! Here: which key stands for which command, when, and in which words. Not here: what a command does.
//!
//! **Invariant:** a key does nothing that the help does not list.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// A key as a person names it.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Key {
    /// A character.
    Char(char),
    /// A character with Ctrl held.
    Ctrl(char),
    /// Enter.
    Enter,
    /// Escape.
    Esc,
    /// Tab.
    Tab,
    /// Backspace.
    Backspace,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// Page up: the back key of a clicker.
    PageUp,
    /// Page down: the forward key of a clicker.
    PageDown,
    /// The first function key.
    F1,
}

impl Key {
    /// The key behind an event; `None` for releases and for keys that mean nothing here.
    pub fn of(event: &KeyEvent) -> Option<Key> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
        Some(match event.code {
            KeyCode::Char(sign) if ctrl => Key::Ctrl(sign.to_ascii_lowercase()),
            KeyCode::Char(_) if event.modifiers.intersects(KeyModifiers::ALT | KeyModifiers::SUPER) => return None,
            KeyCode::Char(sign) => Key::Char(sign),
            KeyCode::Enter => Key::Enter,
            KeyCode::Esc => Key::Esc,
            KeyCode::Tab | KeyCode::BackTab => Key::Tab,
            KeyCode::Backspace | KeyCode::Delete => Key::Backspace,
            KeyCode::Up => Key::Up,
            KeyCode::Down => Key::Down,
            KeyCode::Left => Key::Left,
            KeyCode::Right => Key::Right,
            KeyCode::PageUp => Key::PageUp,
            KeyCode::PageDown => Key::PageDown,
            KeyCode::F(1) => Key::F1,
            _ => return None,
        })
    }

    /// Its name on the screen.
    pub fn name(self) -> String {
        match self {
            Key::Char(' ') => "Space".to_owned(),
            Key::Char(sign) => sign.to_string(),
            Key::Ctrl(sign) => format!("Ctrl-{}", sign.to_ascii_uppercase()),
            Key::Enter => "Enter".to_owned(),
            Key::Esc => "Esc".to_owned(),
            Key::Tab => "Tab".to_owned(),
            Key::Backspace => "Backspace".to_owned(),
            Key::Up => "↑".to_owned(),
            Key::Down => "↓".to_owned(),
            Key::Left => "←".to_owned(),
            Key::Right => "→".to_owned(),
            Key::PageUp => "PgUp".to_owned(),
            Key::PageDown => "PgDn".to_owned(),
            Key::F1 => "F1".to_owned(),
        }
    }
}

/// What a key stands for.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub enum Command {
    /// The next right thing.
    Next,
    /// Take the last act back.
    Undo,
    /// Let it happen after all.
    Redo,
    /// One graduation, mark or stroke more.
    More,
    /// One graduation less.
    Less,
    /// The line above, or one graduation more.
    Up,
    /// The line below, or one graduation less.
    Down,
    /// The mark below.
    Left,
    /// The mark above.
    Right,
    /// Complete the words, or the mark above.
    Complete,
    /// Take the last sign back.
    Erase,
    /// One more on the tally.
    AddOne,
    /// Something went wrong.
    Wrong,
    /// Go on although the procedure says no.
    Overrule,
    /// Correct an earlier reading.
    Correct,
    /// A remark for the record.
    Remark,
    /// All steps.
    Steps,
    /// Another folder for the record.
    Folder,
    /// Sound on or off.
    Sound,
    /// The help.
    Help,
    /// Close what lies over the screen, or clear what was typed.
    Cancel,
    /// Leave; the run is kept.
    Leave,
    /// Leave at once.
    LeaveNow,
    /// Paint everything again.
    Repaint,
    /// Stop the program for a while.
    Suspend,
}

/// One row of the table.
#[derive(Copy, Clone, Debug)]
pub struct Binding {
    /// What it does.
    pub command: Command,
    /// The keys for it; those with Ctrl and the named ones work while words are typed.
    pub keys: &'static [Key],
    /// One or two words, for the footer.
    pub short: &'static str,
    /// A line, for the help.
    pub long: &'static str,
}

/// Every key there is, in the order of the help.
pub const BINDINGS: &[Binding] = &[
    row(
        Command::Next,
        &[Key::Char(' '), Key::Enter, Key::PageDown],
        "next",
        "do the next right thing (a pedal sends this)",
    ),
    row(Command::Undo, &[Key::Char('u'), Key::PageUp, Key::Ctrl('u')], "undo", "take the last act back"),
    row(Command::Redo, &[Key::Char('U'), Key::Ctrl('y')], "redo", "let it happen after all"),
    row(Command::More, &[Key::Char('+'), Key::Char('=')], "one more", "one graduation up, or one stroke more"),
    row(Command::Less, &[Key::Char('-')], "one less", "one graduation down; after whole digits, a fraction"),
    row(Command::Up, &[Key::Up], "up", "one graduation up, or the line above"),
    row(Command::Down, &[Key::Down], "down", "one graduation down, or the line below"),
    row(Command::Left, &[Key::Left], "mark below", "between two marks: take the lower"),
    row(Command::Right, &[Key::Right], "mark above", "between two marks: take the upper"),
    row(Command::Complete, &[Key::Tab], "complete", "complete the words; between two marks: take the upper"),
    row(Command::Erase, &[Key::Backspace], "erase", "take the last sign back"),
    row(Command::AddOne, &[Key::Char('c')], "cup", "one more on the tally of this step"),
    row(Command::Wrong, &[Key::Char('x'), Key::Ctrl('x')], "went wrong", "something went wrong: end this attempt"),
    row(Command::Overrule, &[Key::Char('o'), Key::Ctrl('o')], "go on anyway", "go on against a refusal, with a reason"),
    row(Command::Correct, &[Key::Char('e'), Key::Ctrl('e')], "correct", "correct an earlier reading"),
    row(Command::Remark, &[Key::Char('r'), Key::Ctrl('r')], "remark", "write a remark for the record"),
    row(Command::Steps, &[Key::Char('s'), Key::Ctrl('s')], "steps", "all steps, what each must show, and why"),
    row(Command::Folder, &[Key::Char('f'), Key::Ctrl('f')], "folder", "keep the record in another folder"),
    row(Command::Sound, &[Key::Char('m'), Key::Ctrl('t')], "sound", "sound off and on"),
    row(Command::Help, &[Key::Char('?'), Key::F1, Key::Ctrl('g')], "help", "this list"),
    row(Command::Cancel, &[Key::Esc], "back", "close what lies over the screen, or clear what was typed"),
    row(Command::Leave, &[Key::Char('q'), Key::Ctrl('q')], "leave", "leave; the run is kept and can be resumed"),
    row(Command::LeaveNow, &[Key::Ctrl('c')], "leave at once", "leave at once, always"),
    row(Command::Repaint, &[Key::Ctrl('l')], "repaint", "paint the screen again"),
    row(Command::Suspend, &[Key::Ctrl('z')], "suspend", "stop for a while; the clocks go on"),
];

const fn row(command: Command, keys: &'static [Key], short: &'static str, long: &'static str) -> Binding {
    Binding { command, keys, short, long }
}

/// The command of a key.
pub fn command(key: Key) -> Option<Command> {
    BINDINGS.iter().find(|binding| binding.keys.contains(&key)).map(|binding| binding.command)
}

/// The row of a command.
pub fn binding(command: Command) -> &'static Binding {
    BINDINGS.iter().find(|binding| binding.command == command).unwrap_or(&BINDINGS[0])
}

/// The first key of a command that works now: while words are typed, letters are text.
pub fn key_for(command: Command, letters_are_text: bool) -> Option<Key> {
    binding(command).keys.iter().copied().find(|key| !(letters_are_text && matches!(key, Key::Char(_))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_stands_for_two_things() {
        for (n, one) in BINDINGS.iter().enumerate() {
            for other in &BINDINGS[n + 1..] {
                assert_ne!(one.command, other.command);
                assert!(one.keys.iter().all(|key| !other.keys.contains(key)), "{one:?} and {other:?}");
            }
        }
    }

    #[test]
    fn every_command_but_the_letters_of_entry_works_while_words_are_typed() {
        for binding in BINDINGS {
            let works = key_for(binding.command, true).is_some();
            let is_entry = matches!(binding.command, Command::More | Command::Less | Command::AddOne);
            assert_eq!(works, !is_entry, "{:?}", binding.command);
        }
    }

    #[test]
    fn a_release_and_a_foreign_key_are_no_press() {
        let mut event = KeyEvent::new(KeyCode::Char('u'), KeyModifiers::NONE);
        assert_eq!(Key::of(&event), Some(Key::Char('u')));
        event.kind = KeyEventKind::Release;
        assert_eq!(Key::of(&event), None);
        assert_eq!(Key::of(&KeyEvent::new(KeyCode::F(9), KeyModifiers::NONE)), None);
        assert_eq!(Key::of(&KeyEvent::new(KeyCode::Char('C'), KeyModifiers::CONTROL)), Some(Key::Ctrl('c')));
    }
}

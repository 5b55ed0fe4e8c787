//! Teaching keys: the key or pedal for each role is pressed, and pressed again.
//!
//! Here: the state ([`TeachModel`]), what comes in, and what is said of a key. Not here: how it looks (`view`), where the keys
//! are kept.
//!
//! The screen is served with keys no pedal sends: any key but these may be the one that is taught.
//!
//! **Invariant:** nothing is taught by one press, and no key of a clicker leaves the screen: it takes `q` twice, or Ctrl-C.

mod view;

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use engine::{Moment, Tick};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::hands::keymap::{Bounce, Keymap, Role, pressed, role_as_it_comes, spoken_name};
use super::keys::{self, Command, Key};
use super::shown::{Sensed, Shown};
use super::theme::{Colours, Theme, ThemeChoice};

/// What the screen is opened with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TeachOptions {
    /// The colours.
    pub theme: ThemeChoice,
    /// The file the keys are kept in.
    pub place: String,
    /// Something to be said at first, such as what could not be read of that file.
    pub said: Option<String>,
}

/// Something to be done outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TeachDeed {
    /// Write the keys; answer with [`TeachAnswer`].
    Save(Keymap),
    /// Stop until the person calls the program back.
    Suspend,
    /// End the program.
    Leave,
}

/// What is said about the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TeachAnswer {
    /// It is on the disk.
    Saved,
    /// It is not.
    Failed {
        /// What failed.
        what: String,
        /// What to do about it.
        hint: String,
    },
}

/// A key that was pressed once and is to be pressed again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Candidate {
    pub key: KeyEvent,
    /// Why it may not be the one that is meant.
    pub warning: Option<String>,
}

/// How something said is marked.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(crate) enum Mark {
    Good,
    Warn,
    Plain,
}

/// The whole state of the screen.
#[derive(Clone, Debug)]
pub struct TeachModel {
    pub(crate) options: TeachOptions,
    pub(crate) theme: Theme,
    pub(crate) keymap: Keymap,
    /// The role being taught, by its place; all of them are through at the end.
    pub(crate) at: usize,
    pub(crate) candidate: Option<Candidate>,
    /// The key that came last.
    pub(crate) heard: Option<KeyEvent>,
    pub(crate) said: Option<(Mark, String)>,
    /// Presses that were ignored, and how soon the last came after the one before.
    pub(crate) n_bounces: u32,
    pub(crate) last_gap_ms: u64,
    bounce: Bounce,
    /// Whether the key before was a `q`.
    is_leaving: bool,
    is_changed: bool,
    repaints: u32,
}

impl TeachModel {
    /// The screen with the keys taught so far.
    pub fn new(keymap: Keymap, options: TeachOptions) -> Self {
        let said = options.said.clone().map(|text| (Mark::Warn, text));
        Self {
            theme: Theme::new(options.theme, Colours::default()),
            options,
            keymap,
            at: 0,
            candidate: None,
            heard: None,
            said,
            n_bounces: 0,
            last_gap_ms: 0,
            bounce: Bounce::default(),
            is_leaving: false,
            is_changed: false,
            repaints: 0,
        }
    }

    /// The same screen in as many colours as the terminal has.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours) -> Self {
        self.theme = Theme::new(self.options.theme, colours);
        self
    }

    /// The keys as they are taught now.
    pub fn keymap(&self) -> &Keymap {
        &self.keymap
    }

    /// The role that is being taught; none once all are through.
    pub fn role(&self) -> Option<Role> {
        Role::ALL.get(self.at).copied()
    }

    fn say(&mut self, mark: Mark, text: impl Into<String>) {
        self.said = Some((mark, text.into()));
    }

    fn key(&mut self, event: &KeyEvent, now: Tick) -> Vec<TeachDeed> {
        if event.kind == KeyEventKind::Release {
            return Vec::new();
        }
        let key = pressed(event);
        // What always works comes before anything else, however fast it comes.
        match Key::of(event).and_then(keys::command) {
            Some(Command::LeaveNow) => return vec![TeachDeed::Leave],
            Some(Command::Repaint) => {
                self.repaints += 1;
                return Vec::new();
            }
            Some(Command::Suspend) => return vec![TeachDeed::Suspend],
            _ => {}
        }
        if self.bounce.is_bounce(event, now) {
            self.n_bounces = self.n_bounces.saturating_add(1);
            self.last_gap_ms = self.bounce.gap_ms();
            return Vec::new();
        }
        let was_leaving = std::mem::take(&mut self.is_leaving);
        let ctrl = |sign: char| key == KeyEvent::new(KeyCode::Char(sign), KeyModifiers::CONTROL);
        if key == KeyEvent::from(KeyCode::Char('q')) || ctrl('q') {
            if was_leaving {
                return vec![TeachDeed::Leave];
            }
            self.is_leaving = true;
            let lost = if self.is_changed { " Nothing of this is saved; Ctrl-S saves it." } else { "" };
            self.say(Mark::Plain, format!("q once more leaves.{lost}"));
            return Vec::new();
        }
        if ctrl('s') {
            self.say(Mark::Plain, "Saving …");
            return vec![TeachDeed::Save(self.keymap.clone())];
        }
        if ctrl('n') {
            self.skip();
        } else if ctrl('p') {
            self.candidate = None;
            self.at = self.at.saturating_sub(1);
            self.said = None;
        } else if ctrl('d') {
            self.clear();
        } else {
            self.heard = Some(key);
            self.hear_key(key);
        }
        Vec::new()
    }

    /// On to the next role, with nothing changed.
    fn skip(&mut self) {
        self.candidate = None;
        self.said = None;
        self.at = (self.at + 1).min(Role::ALL.len());
    }

    /// Forgets what the role was taught; at the end, everything.
    fn clear(&mut self) {
        self.candidate = None;
        let (had_one, what) = match self.role() {
            Some(role) => (self.keymap.forget(role), role.title()),
            None => (Role::ALL.into_iter().fold(false, |had, role| self.keymap.forget(role) | had), "every role"),
        };
        self.is_changed |= had_one;
        let text = if had_one { "The keys taught for {} are forgotten." } else { "No key was taught for {}." };
        self.say(Mark::Plain, text.replace("{}", what));
    }

    /// A key that may be the pedal.
    fn hear_key(&mut self, key: KeyEvent) {
        let name = spoken_name(&key);
        let Some(role) = self.role() else {
            // All are through: every press says what it stands for.
            return match self.keymap.role(&key) {
                Some(role) => self.say(Mark::Good, format!("{name} is {}.", role.title())),
                None => self.say(Mark::Plain, format!("{name} stands for no role.")),
            };
        };
        if let Some(why) = never(&key) {
            return self.say(Mark::Warn, why);
        }
        match self.candidate.take() {
            Some(candidate) if candidate.key == key => {
                // What stands for it out of the box need not be taught; a second name for it would be in the way.
                let is_known = self.keymap.role(&key) == Some(role);
                if !is_known {
                    self.keymap.teach(&key, role);
                    self.is_changed = true;
                }
                self.skip();
                self.say(Mark::Good, format!("{} is {name}.", role.title()));
            }
            before => {
                let warning = self.warning(&key, role);
                let text = match before {
                    Some(before) => {
                        format!(
                            "This time {name} came, before it was {}. Press {name} again to take it.",
                            spoken_name(&before.key)
                        )
                    }
                    None if warning.is_some() => format!("Press {name} once more to take it all the same."),
                    None => format!("{name} came. Press it again to confirm."),
                };
                self.say(if warning.is_some() { Mark::Warn } else { Mark::Plain }, text);
                self.candidate = Some(Candidate { key, warning });
            }
        }
    }

    /// Why a key may not be the one that is meant for a role.
    fn warning(&self, key: &KeyEvent, role: Role) -> Option<String> {
        let name = spoken_name(key);
        if let Some(taught) = self.keymap.taught_role(key) {
            return (taught != role).then(|| {
                format!(
                    "{name} stands for {} already; one key has one role, so it would be taken from it.",
                    taught.title()
                )
            });
        }
        match role_as_it_comes(key) {
            Some(known) if known == role => return None,
            Some(known) => {
                return Some(format!("{name} is {} without being taught; it would be taken from it.", known.title()));
            }
            None => {}
        }
        match key.code {
            KeyCode::Char(_) if (key.modifiers - KeyModifiers::SHIFT).is_empty() => {
                Some(format!("{name} is needed for typing. That is right only for a switch that sends nothing else."))
            }
            KeyCode::Backspace
            | KeyCode::Tab
            | KeyCode::BackTab
            | KeyCode::Up
            | KeyCode::Down
            | KeyCode::Left
            | KeyCode::Right => Some(format!("{name} is needed for readings and lists.")),
            KeyCode::F(n @ 1..=9) => {
                Some(format!("{name} goes to test {n} of a sample; as {} it would do so no longer.", role.title()))
            }
            _ => {
                let command = Key::of(key).and_then(keys::command)?;
                Some(format!("{name} has a use: {}.", keys::binding(command).long))
            }
        }
    }
}

/// Why a key can stand for no role at all.
fn never(key: &KeyEvent) -> Option<&'static str> {
    match key.code {
        KeyCode::Esc => Some(
            "Esc came. It can stand for no role: the start button of a clicker sends it every other time, so it never does \
             any harm. F5, which that button sends between, is NEXT.",
        ),
        KeyCode::Modifier(_) | KeyCode::CapsLock | KeyCode::NumLock | KeyCode::ScrollLock => {
            Some("That is a key to be held with others; it can stand for no role.")
        }
        _ => None,
    }
}

impl Shown for TeachModel {
    type Deed = TeachDeed;
    type Answer = TeachAnswer;

    fn sense(&mut self, sensed: Sensed, now: Moment) -> Vec<TeachDeed> {
        match sensed {
            Sensed::Key(key) => self.key(&key, now.tick),
            Sensed::Paste(_) => {
                self.say(Mark::Plain, "Text was pasted; a key is wanted.");
                Vec::new()
            }
            // Nothing here waits for time, lines or sound.
            _ => Vec::new(),
        }
    }

    fn hear(&mut self, answer: TeachAnswer, _now: Moment) -> Vec<TeachDeed> {
        match answer {
            TeachAnswer::Saved => vec![TeachDeed::Leave],
            TeachAnswer::Failed { what, hint } => {
                self.say(Mark::Warn, format!("NOT SAVED: {what}. {hint}"));
                Vec::new()
            }
        }
    }

    fn next_change(&self, _now: Tick) -> Option<Tick> {
        None
    }

    fn draw(&self, _now: Tick, buf: &mut Buffer, area: Rect) {
        view::draw(self, buf, area);
    }

    fn repaints(&self) -> u32 {
        self.repaints
    }
}

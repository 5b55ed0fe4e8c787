//! The keys of the bench: they go to a run, and do nothing to it.
//!
//! None of them ever types anything: the tabulator completes words in a run alone, and on a bench the right arrow does. All
//! other keys belong to the run in focus.
//!
//! **Invariant:** a key of the bench changes no run; pressed by mistake it is taken back by going back. A check test is
//! added only where a result calls for one.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What a key of the bench does.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum BenchCommand {
    /// Go to what is due next.
    Due,
    /// Go to the run with this number, from 0.
    Run(usize),
    /// Show all runs and limits, or close that again.
    Overview,
    /// Add the check test that a result calls for.
    CheckTest,
}

/// The key that makes the check test.
pub(super) const CHECK_KEY: &str = "Ctrl-K";

/// The keys with what they do, for the help.
pub const BENCH_BINDINGS: &[(&str, &str)] = &[
    ("Tab", "go to what is due next on this sample"),
    ("F1 … F9  Alt-1 … 9", "go to the run with this number"),
    ("Shift-Tab  Ctrl-B", "all runs of the sample, and every limit"),
    (CHECK_KEY, "make the check test that a result calls for"),
];

/// The command of the bench behind a key; `None` if the key belongs to the run.
pub fn bench_command(event: &KeyEvent) -> Option<BenchCommand> {
    if event.kind != KeyEventKind::Press {
        return None;
    }
    let alt = event.modifiers.contains(KeyModifiers::ALT);
    let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    match event.code {
        KeyCode::Tab if event.modifiers.contains(KeyModifiers::SHIFT) => Some(BenchCommand::Overview),
        KeyCode::BackTab => Some(BenchCommand::Overview),
        KeyCode::Tab => Some(BenchCommand::Due),
        KeyCode::Char('b' | 'B') if ctrl => Some(BenchCommand::Overview),
        KeyCode::Char('k' | 'K') if ctrl => Some(BenchCommand::CheckTest),
        KeyCode::F(n @ 1..=9) => Some(BenchCommand::Run(usize::from(n) - 1)),
        KeyCode::Char(digit @ '1'..='9') if alt => Some(BenchCommand::Run(digit as usize - '1' as usize)),
        _ => None,
    }
}

/// Whether a key belongs to the bench although it is none of its commands: a repeat of one that is held down.
pub(super) fn is_bench_key(event: &KeyEvent) -> bool {
    let press = KeyEvent { kind: KeyEventKind::Press, ..*event };
    bench_command(&press).is_some()
}

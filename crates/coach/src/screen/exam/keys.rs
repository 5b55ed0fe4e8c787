//! The keys of the marking screen: one table for what they do, for the rows below and for the help.
//!
//! Here: which key stands for what. Not here: what it does. The keys are the same whatever act, method or station is in
//! focus: a hand finds them without the eye.
//!
//! **Invariant:** a key does nothing that the help does not list, and no key stands for two things.

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What a key of the marking screen stands for.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum ExamCommand {
    /// The act was done.
    Done,
    /// The act was missed.
    Missed,
    /// The act was told aloud instead of done.
    Told,
    /// The rater did not see whether it was done.
    NotSeen,
    /// Starts or stops the clock of the act, or counts.
    Clock,
    /// Counts one, or a turn while a clock runs that has turns.
    Count,
    /// Takes the last act of the trial in focus back.
    Undo,
    /// The act before.
    Up,
    /// The act after.
    Down,
    /// The stage before.
    StageBefore,
    /// The stage after.
    StageAfter,
    /// The station with this number, from 0; again: the other sheet at that station.
    Station(usize),
    /// The next station.
    NextStation,
    /// The station before.
    StationBefore,
    /// Begins the next trial at this station.
    Begin,
    /// Ends the trial.
    End,
    /// Gives an act another mark than a clock or a rater gave it, with a reason.
    Overrule,
    /// Writes a note on the act.
    Note,
    /// Scores the trial in focus again, as the second rater.
    SecondRater,
    /// Moves the trial to another station.
    MoveStation,
    /// Results of everybody.
    Results,
    /// Help.
    Help,
    /// Keeps the record in another folder.
    Folder,
    /// Sound off and on.
    Sound,
    /// Leaves.
    Leave,
    /// Leaves at once.
    LeaveNow,
    /// Paints everything again.
    Repaint,
    /// Stops for a while.
    Suspend,
}

/// A row of the table.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct ExamBinding {
    /// What it stands for.
    pub command: ExamCommand,
    /// Its names.
    pub keys: &'static str,
    /// What it does, in a word or two.
    pub short: &'static str,
    /// What it does.
    pub long: &'static str,
}

const fn row(command: ExamCommand, keys: &'static str, short: &'static str, long: &'static str) -> ExamBinding {
    ExamBinding { command, keys, short, long }
}

/// The table.
pub const EXAM_BINDINGS: &[ExamBinding] = &[
    row(ExamCommand::Done, "d  1", "done", "this act was done; on to the next (one bell)"),
    row(ExamCommand::Missed, "m  2", "missed", "this act was missed; on to the next (two bells)"),
    row(ExamCommand::Told, "t  3", "told", "this act was told aloud where that is allowed (three bells)"),
    row(ExamCommand::NotSeen, "n  4", "not seen", "you did not see it: it stays open (two bells, far apart)"),
    row(ExamCommand::Clock, "Space", "clock", "start and stop the clock of this act, or count one"),
    row(ExamCommand::Count, "+  5", "count", "count one; while a clock with turns runs: turned over"),
    row(ExamCommand::Undo, "u  0", "undo", "take back the last act of THIS trial, however often"),
    row(ExamCommand::Down, "↓  ↑", "act", "the act after, the act before"),
    row(ExamCommand::StageAfter, "→  ←", "stage", "the stage after, the stage before"),
    row(
        ExamCommand::Station(0),
        "F1 … F12",
        "station",
        "go to that station (or Alt-1 … 9); again: its other open sheet",
    ),
    row(ExamCommand::NextStation, "Tab", "station", "the next station; Shift-Tab: the one before"),
    row(ExamCommand::Begin, "b", "begin", "begin the next trial at this station"),
    row(ExamCommand::End, "e", "end", "end this trial: its result at once, by the rule"),
    row(ExamCommand::Overrule, "o", "overrule", "give this act another mark than its clock did, with a reason"),
    row(ExamCommand::Note, "/", "note", "write a note on this act"),
    row(
        ExamCommand::SecondRater,
        "s",
        "second rater",
        "score this trial again as another rater, on a sheet of its own",
    ),
    row(ExamCommand::MoveStation, "g", "move", "move this trial to another station"),
    row(ExamCommand::Results, "r", "results", "everybody's results, what is missed most, agreement of raters"),
    row(ExamCommand::Help, "?", "help", "this list"),
    row(ExamCommand::Folder, "f", "folder", "keep the record in another folder, or try this one again"),
    row(ExamCommand::Sound, "Ctrl-T", "sound", "sound off and on"),
    row(ExamCommand::Leave, "q", "leave", "leave; everything is kept, and clocks that run go on"),
    row(ExamCommand::LeaveNow, "Ctrl-C", "leave at once", "leave at once, always"),
    row(ExamCommand::Repaint, "Ctrl-L", "repaint", "paint the screen again"),
    row(ExamCommand::Suspend, "Ctrl-Z", "suspend", "stop for a while; the clocks go on"),
];

/// The command behind a key; `None` if it means nothing here.
///
/// A key that is held down repeats only where that takes nothing but a look: the arrows.
pub fn exam_command(event: &KeyEvent) -> Option<ExamCommand> {
    use ExamCommand as To;
    let moves = matches!(event.code, KeyCode::Up | KeyCode::Down | KeyCode::Left | KeyCode::Right);
    if event.kind != KeyEventKind::Press && !(moves && event.kind == KeyEventKind::Repeat) {
        return None;
    }
    let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    let alt = event.modifiers.intersects(KeyModifiers::ALT | KeyModifiers::SUPER);
    Some(match event.code {
        KeyCode::Char(sign) if ctrl => match sign.to_ascii_lowercase() {
            'c' => To::LeaveNow,
            'l' => To::Repaint,
            't' => To::Sound,
            'z' => To::Suspend,
            'q' => To::Leave,
            _ => return None,
        },
        KeyCode::Char(digit @ '1'..='9') if alt => To::Station(digit as usize - '1' as usize),
        KeyCode::Char(_) if alt => return None,
        KeyCode::Char(sign) => match sign.to_ascii_lowercase() {
            'd' | '1' => To::Done,
            'm' | '2' => To::Missed,
            't' | '3' => To::Told,
            'n' | '4' => To::NotSeen,
            ' ' => To::Clock,
            '+' | '=' | '5' => To::Count,
            'u' | '0' => To::Undo,
            'b' => To::Begin,
            'e' => To::End,
            'o' => To::Overrule,
            '/' => To::Note,
            's' => To::SecondRater,
            'g' => To::MoveStation,
            'r' => To::Results,
            '?' => To::Help,
            'f' => To::Folder,
            'q' => To::Leave,
            _ => return None,
        },
        KeyCode::Up => To::Up,
        KeyCode::Down => To::Down,
        KeyCode::Left => To::StageBefore,
        KeyCode::Right => To::StageAfter,
        KeyCode::BackTab => To::StationBefore,
        KeyCode::Tab if event.modifiers.contains(KeyModifiers::SHIFT) => To::StationBefore,
        KeyCode::Tab => To::NextStation,
        KeyCode::F(n @ 1..=12) => To::Station(usize::from(n) - 1),
        _ => return None,
    })
}

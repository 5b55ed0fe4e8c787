//! Drawing: the model at one moment, on a buffer of any size.
//!
//! Here: where everything stands, and the lines that are always there: run, stages, place, keys. Not here: what the
//! keys do. The middle of the screen is in `body`, endings and results in `ended`, what lies over it in `over`.
//!
//! **Invariant:** drawing reads the model and the moment it is given, nothing else, and no size makes it panic.

mod body;
mod ended;
mod over;
pub(crate) mod paint;

use std::borrow::Cow;
use std::fmt::Write as _;

use engine::{Act, Phase, Tick};
use procedure::{StepId, Wants};
use ratatui::Frame;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Color;

use super::entry::{Entry, Typed};
use super::keys::{self, Command};
use super::model::{Model, Overlay};
use super::theme::Theme;
use paint::{Column, line, line_right};

pub use over::{bench_help_lines, help_lines};

/// Below this only the essential is shown.
pub(crate) const FULL_WIDTH: u16 = 60;
pub(crate) const FULL_HEIGHT: u16 = 16;

/// Draws the screen as it is at `now`.
pub fn view(model: &Model, now: engine::Moment, frame: &mut Frame<'_>) {
    let area = frame.area();
    draw(model, now.tick, frame.buffer_mut(), area);
}

/// The same on a buffer of one's own, for pictures of the screen.
pub fn draw(model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
    if area.is_empty() {
        return;
    }
    ground(&model.theme, buf, area);
    if area.width < FULL_WIDTH || area.height < FULL_HEIGHT {
        return body::essential(model, now, buf, area);
    }
    let row = |y: u16| Rect { x: area.x + 1, y: area.y + y, width: area.width - 2, height: 1 };
    header(model, buf, row(0));
    stages(model, now, buf, row(1));
    place(model, now, buf, Rect { x: area.x, width: area.width, ..row(2) });
    let mut middle = Rect { y: area.y + 3, height: area.height - 5, ..row(0) };
    middle = banner(model, buf, middle);
    match &model.overlay {
        Some(overlay) => over::draw(model, overlay, now, buf, middle),
        None if model.run.phase() == Phase::AtStep => body::draw(model, now, buf, middle),
        None => ended::draw(model, buf, middle),
    }
    footer(model, now, buf, row(area.height - 2), row(area.height - 1));
}

/// Lays the ground of the theme.
pub(crate) fn ground(theme: &Theme, buf: &mut Buffer, area: Rect) {
    if let (Some(ink), Some(ground)) = (theme.plain.fg, theme.plain.bg)
        && ground != Color::Reset
    {
        let area = area.intersection(buf.area);
        for y in area.top()..area.bottom() {
            let row = buf.index_of(area.x, y);
            for cell in buf.content.iter_mut().skip(row).take(area.width as usize) {
                cell.fg = ink;
                cell.bg = ground;
            }
        }
    }
}

/// The run, its units, and whether it is on disk.
fn header(model: &Model, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let recorded = recorded_words(model);
    let style = if model.is_recorded() || model.store.in_memory == 0 && model.store.failed.is_none() {
        theme.good
    } else {
        theme.alarm
    };
    let end = line_right(buf, area, &recorded, style);
    let left = Rect { width: end.saturating_sub(area.x + 2), ..area };
    let edition = model.run.edition();
    let name = model.on_bench.as_ref().unwrap_or(&model.options.run_name);
    let x = line(buf, left, name, theme.strong);
    let rest = Rect { x, width: left.right().saturating_sub(x), ..left };
    let mut text = String::with_capacity(96);
    let _ = write!(text, " · {} · ", edition.system);
    let room = (rest.width as usize).saturating_sub(text.chars().count());
    paint::push_cut(&mut text, &edition.title, room);
    line(buf, rest, &text, theme.quiet);
}

/// Whether what was done is on disk, in words.
pub(crate) fn recorded_words(model: &Model) -> Cow<'static, str> {
    let store = &model.store;
    if store.in_memory > 0 {
        let acts = if store.in_memory == 1 { "act" } else { "acts" };
        return format!(" NOT RECORDED: {} {acts} only in memory ", store.in_memory).into();
    }
    if store.failed.is_some() {
        return " NOT RECORDED ".into();
    }
    match (store.awaited, store.entries) {
        _ if !store.is_begun => "recording …".into(),
        (0, 0) => "recorded ✓".into(),
        (0, entries) => format!("recorded ✓ {entries}").into(),
        _ => "recording …".into(),
    }
}

/// The first word of a title: enough once a stage is known or not yet open.
fn first_word(title: &str) -> &str {
    title.split(' ').next().unwrap_or(title)
}

/// The stages as one line of words, told apart by their signs.
fn stages(model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    let run = &model.run;
    let stages = &run.edition().stages;
    let phase = run.phase();
    let here = match phase {
        Phase::Finished | Phase::Closed { with_result: true } => stages.len(),
        _ => run.offer(now).step.map_or(0, |(_, step)| step.stage as usize),
    };
    // As many whole titles as there is room for: the open one first, then all.
    let whole: usize = stages.iter().map(|stage| stage.title.chars().count() + 4).sum();
    let is_whole = whole <= area.width as usize;
    let title = |n: usize| {
        let title = stages[n].title.as_str();
        if n == here || is_whole { title } else { first_word(title) }
    };
    let width = |n: usize| title(n).chars().count() + 4;
    // Too many even so: begin later, so that the open one is seen.
    let mut first = 0;
    while first < here && (first..=here.min(stages.len() - 1)).map(width).sum::<usize>() > area.width as usize {
        first += 1;
    }
    let mut x = area.x;
    for n in first..stages.len() {
        let (sign, style) = match n.cmp(&here) {
            std::cmp::Ordering::Less => ("✓ ", theme.good),
            std::cmp::Ordering::Equal if phase == Phase::AtStep => ("▶ ", theme.strong),
            std::cmp::Ordering::Equal => ("✗ ", theme.warn),
            std::cmp::Ordering::Greater => ("· ", theme.quiet),
        };
        let room = |x: u16| Rect { x, width: area.right().saturating_sub(x), ..area };
        if x + width(n) as u16 > area.right() + 2 {
            line(buf, room(x), "…", theme.quiet);
            return;
        }
        x = line(buf, room(x), sign, style);
        x = line(buf, room(x), title(n), style) + 2;
    }
}

/// A rule with the step, the attempt, the round; and what kind of time runs.
fn place(model: &Model, now: Tick, buf: &mut Buffer, area: Rect) {
    let theme = &model.theme;
    for x in area.left()..area.right() {
        buf[(x, area.y)].set_symbol("─").set_style(theme.quiet);
    }
    let offer = model.run.offer(now);
    let mut text = String::with_capacity(64);
    if let (Phase::AtStep, Some((id, step))) = (offer.phase, offer.step) {
        let _ = write!(text, " step {} of {} ", id.0 + 1, model.run.edition().steps.len());
        if let Some(repeat) = &model.run.edition().stages[step.stage as usize].repeat {
            let _ = match model.run.rounds_wanted() {
                Some(wanted) => write!(text, "· round {} of {wanted} ", offer.round),
                None => write!(text, "· round {} of at most {} ", offer.round, repeat.rounds_at_most()),
            };
        }
    }
    let _ = match offer.phase {
        Phase::AtStep => write!(text, "· attempt {} ", offer.attempt),
        Phase::Ended => write!(text, " attempt {} has ended ", offer.attempt),
        Phase::Finished => write!(text, " result of attempt {} ", offer.attempt),
        Phase::Closed { .. } => write!(text, " the run is closed "),
    };
    let inner = Rect { x: area.x + 2, width: area.width.saturating_sub(4), ..area };
    line(buf, inner, &text, theme.plain);
    if model.overlay.is_some() {
        // What lies over the screen hides the number, not the time.
        let face = model.face(now);
        if face.change.is_some() {
            let style = if face.is_alarm { theme.alarm } else { theme.strong };
            let text = format!(" {} {} {} ", face.caption, face.number, face.side);
            line_right(buf, inner, &text, style);
            return;
        }
    }
    if let Some(simulated) = &model.options.simulated {
        line_right(buf, inner, &format!(" {} ", simulated.to_uppercase()), theme.alarm);
    }
}

/// What is not on disk, said loudly; returns what is left of the area.
fn banner(model: &Model, buf: &mut Buffer, area: Rect) -> Rect {
    let Some((what, hint)) = &model.store.failed else { return area };
    let theme = &model.theme;
    let text = format!("NOT RECORDED: {what}. {hint}");
    let mut column = Column::new(buf, Rect { height: area.height.min(3), ..area });
    column.block("✗ ", theme.warn, &text, theme.warn);
    let folder = keys::key_for(Command::Folder, model.letters_are_text()).map_or_else(String::new, keys::Key::name);
    column.line(&format!("  The run goes on in memory. Press {folder} to keep it in another folder."), theme.plain);
    let y = column.area.y.min(area.bottom());
    Rect { y, height: area.bottom() - y, ..area }
}

/// What the big key does now.
pub(crate) fn next_words(model: &Model, now: Tick) -> Cow<'static, str> {
    let offer = model.run.offer(now);
    let wants = offer.step.map(|(_, step)| &step.wants);
    if let Some(waits) = &model.waits {
        return format!("go to {}", waits.run).into();
    }
    if model.on_bench.is_some() && offer.act == Act::Nothing {
        return "go to what is due next".into();
    }
    match (&offer.act, wants) {
        (Act::Confirm, Some(Wants::Count { of, .. })) => match &model.entry {
            Entry::Count(field) if !field.text.is_empty() => format!("{} {of} given", field.text).into(),
            _ => match offer.standing.count {
                Some(count) => format!("{count} {of} given").into(),
                None => format!("all {of} given").into(),
            },
        },
        (Act::Confirm, Some(Wants::Hold { .. })) => "it is over".into(),
        (Act::Confirm, Some(Wants::Timed { .. })) => "stop".into(),
        (Act::Confirm, _) => "done".into(),
        (Act::Begin, _) => "begin".into(),
        (Act::Turn { to_down }, Some(Wants::Hold { turns: Some(turns), .. })) => {
            format!("turned {}", if *to_down { &turns.down } else { &turns.up }).into()
        }
        (Act::Turn { .. }, _) => "turned".into(),
        (Act::Wait { .. } | Act::Answer(_) | Act::GiveUp(_), Some(Wants::Read(_) | Wants::Settle(_))) => {
            answer_words(model, &offer.act)
        }
        (Act::Wait { .. }, _) => "ends it, once it has lasted long enough".into(),
        (Act::Answer(_), _) => "take it".into(),
        (Act::GiveUp(_), _) => "end this attempt".into(),
        (Act::Again, _) => format!("begin attempt {}", offer.attempt + 1).into(),
        (Act::Close, _) => "close the run".into(),
        (Act::Nothing, _) => "nothing more; q leaves".into(),
    }
}

/// The big key with what it does now; at the end the one that leaves, which no pedal sends.
pub(crate) fn big_key(model: &Model, now: Tick) -> String {
    if is_over(model, now) { "q: leave".to_owned() } else { format!("Space: {}", next_words(model, now)) }
}

/// Whether there is nothing left to be done but to leave.
fn is_over(model: &Model, now: Tick) -> bool {
    model.on_bench.is_none() && model.run.offer(now).act == Act::Nothing
}

fn answer_words(model: &Model, act: &Act<'_>) -> Cow<'static, str> {
    match (&model.entry, act) {
        (Entry::Number(number), _) if !number.text.is_empty() => match number.typed() {
            Typed::Mark(_) if number.space_begins_fraction() => "a fraction; Enter takes it".into(),
            Typed::Mark(mark) => format!("take {}", number.scale.show(&mark)).into(),
            _ => "take it".into(),
        },
        (_, Act::GiveUp(_)) => "end this attempt".into(),
        (_, Act::Wait { .. }) => "waits for the next reading".into(),
        (Entry::Number(_), _) => "takes the reading, once it is typed".into(),
        (Entry::Words(words), _) if words.field.text.is_empty() => {
            if takes_used_words(model) {
                "take the words used last".into()
            } else {
                "takes it, once it is written".into()
            }
        }
        (Entry::Words(_), _) => "take it".into(),
        (Entry::Choice(Some(_)), _) => "take the marked answer".into(),
        (Entry::Choice(None), _) => "press the key of the answer".into(),
        _ => "take it".into(),
    }
}

/// Whether a space before the first letter takes words used before.
fn takes_used_words(model: &Model) -> bool {
    match (&model.entry, model.asked.and_then(|asked| asked.reading)) {
        (Entry::Words(words), Some(reading)) => {
            words.field.text.is_empty() && !model.used_words(reading).is_empty() && words.marked.is_none()
        }
        _ => false,
    }
}

/// The big key, and the few others that do something now.
fn footer(model: &Model, now: Tick, buf: &mut Buffer, upper: Rect, lower: Rect) {
    let theme = &model.theme;
    let mut x = upper.x;
    let put = |x: u16, row: Rect, text: &str, style, buf: &mut Buffer| {
        line(buf, Rect { x, width: row.right().saturating_sub(x), ..row }, text, style)
    };
    let is_text = model.letters_are_text();
    if let Some(overlay) = &model.overlay {
        for (key, words) in over::keys_now(overlay) {
            x = put(x, upper, &format!(" {key} "), theme.key, buf);
            x = put(x, upper, &format!(" {words}   "), theme.plain, buf);
        }
    } else if let Some(big) = &model.big_key {
        x = put(x, upper, &format!("  {}  ", big.key), theme.key, buf);
        let others: usize = big.others.iter().map(|(key, does)| key.len() + does.len() + 5).sum();
        let mut does = String::new();
        let room = (upper.right().saturating_sub(x) as usize).saturating_sub(others + 4);
        paint::push_cut(&mut does, &big.does, room);
        x = put(x + 1, upper, &does, theme.strong, buf) + 3;
        for (key, does) in big.others {
            x = put(x, upper, &format!(" {key} "), theme.key, buf);
            x = put(x + 1, upper, does, theme.plain, buf) + 2;
        }
    } else {
        let is_enter = matches!(model.entry, Entry::Words(_)) && !takes_used_words(model);
        let is_over = is_over(model, now);
        let key = if is_over {
            "    Q    "
        } else if is_enter {
            "  ENTER  "
        } else {
            "  SPACE  "
        };
        x = put(x, upper, key, theme.key, buf);
        let words = if is_over { "leave; the run is closed".into() } else { next_words(model, now) };
        put(x + 1, upper, &words, theme.strong, buf);
    }
    if let Some(hint) = &model.hint {
        put(lower.x, lower, hint, theme.warn, buf);
        return;
    }
    let mut x = lower.x;
    for command in commands_now(model, now) {
        let Some(key) = keys::key_for(command, is_text) else { continue };
        // On a bench the tabulator and the function keys go to another run.
        let key = match key {
            keys::Key::Tab if model.on_bench.is_some() => keys::Key::Right,
            keys::Key::F1 if model.on_bench.is_some() => keys::Key::Ctrl('g'),
            key => key,
        };
        let name = key.name();
        let short = match command {
            Command::Sound if model.is_muted || model.options.quiet => "sound on",
            Command::Sound => "sound off",
            Command::More | Command::Less if matches!(model.entry, Entry::Count(_)) => "count one",
            _ => keys::binding(command).short,
        };
        let room = (name.chars().count() + short.chars().count() + 4) as u16;
        if x + room > lower.right() + 2 {
            break;
        }
        x = put(x, lower, &name, theme.strong, buf);
        x = put(x + 1, lower, short, theme.quiet, buf) + 2;
    }
}

/// The commands that do something now, the most needed first.
pub(crate) fn commands_now(model: &Model, now: Tick) -> impl Iterator<Item = Command> {
    let run = &model.run;
    let offer = run.offer(now);
    let at_step = offer.phase == Phase::AtStep;
    let is_number = matches!(model.entry, Entry::Number(_));
    let is_counting = matches!(model.entry, Entry::Count(_));
    let adds = at_step && offer.step.is_some_and(|(_, step)| step.add.is_some());
    let is_free = model.overlay.is_none();
    [
        (Command::Overrule, model.overrulable(now).is_some()),
        (Command::Folder, model.store.failed.is_some()),
        (Command::Complete, matches!(&model.entry, Entry::Words(_)) && !model.suggestions.is_empty()),
        (Command::More, is_number || is_counting),
        (Command::Less, is_number),
        (Command::AddOne, adds),
        (Command::Undo, run.can_undo()),
        (Command::Redo, run.can_redo()),
        (Command::Help, true),
        (Command::Wrong, at_step || offer.phase == Phase::Ended),
        (Command::Steps, true),
        (Command::Correct, model.correctable().next().is_some()),
        (Command::Leave, true),
        (Command::Remark, true),
        (Command::Sound, true),
    ]
    .into_iter()
    .filter(move |(_, works)| *works && is_free)
    .map(|(command, _)| command)
}

/// The step a finding or an ending belongs to, in its own words.
pub(crate) fn step_words(model: &Model, step: StepId) -> Cow<'_, str> {
    super::face::said(&model.run, &model.run.edition().step(step).instruction)
}

/// Draws what lies over the screen of a run, for a screen that is made of more than the run.
pub(crate) fn draw_overlay(model: &Model, overlay: &Overlay, now: Tick, buf: &mut Buffer, area: Rect) {
    over::draw(model, overlay, now, buf, area);
}

/// Whether the overlay needs the whole middle.
pub(crate) fn overlay_title(overlay: &Overlay) -> &'static str {
    over::title(overlay)
}

/// The keys of an overlay and what they do.
pub(crate) fn overlay_keys(overlay: &Overlay) -> &'static [(&'static str, &'static str)] {
    over::keys_now(overlay)
}

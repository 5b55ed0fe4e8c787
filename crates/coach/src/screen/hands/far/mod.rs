//! The screen for somebody three metres away.
//!
//! Here: the one number, one line in large letters, one word of state, and below them in plain text what is for somebody
//! who steps nearer. Not here: when it is shown; the words are in `words`.
//!
//! **Invariant:** at 24 rows and 80 columns and more the number is at least 5 rows and 12 % of the rows high, every ink has
//! a contrast of at least 7 : 1 on its ground in the colours that are sent (where there are more than sixteen; of those
//! nobody knows the shades), and nothing is said by a colour alone. Nothing blinks.

mod words;

use std::borrow::Cow;

use engine::{ClockOf, Phase, Side, Tick};
use procedure::{ReadingKind, Wants};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::screen::digits::big::{self, Big};
use crate::screen::digits::{self, Size};
use crate::screen::entry::Entry;
use crate::screen::face::{self, Face, said};
use crate::screen::model::{MessageKind, Model};
use crate::screen::theme::Theme;
use crate::screen::view::paint::{self, Column, line, line_right};
use crate::screen::view::{draw_overlay, ground, next_words, overlay_keys, recorded_words};
use words::{Mood, is_not_recorded};

/// What is shown beside the run.
#[derive(Copy, Clone, Debug, Default)]
pub struct Beside<'a> {
    /// A word of state from listening, such as `LISTENING`.
    pub heard: Option<&'a str>,
    /// What waits to be confirmed: it takes the place of the number and of the line.
    pub asked: Option<Asked<'a>>,
    /// The most urgent moment of the other tests, in words, and whether it is over.
    pub other: Option<(&'a str, bool)>,
    /// What a press would choose now, for one switch or three keys.
    pub offered: Option<&'a str>,
}

/// A value that was read back and waits to be confirmed.
#[derive(Copy, Clone, Debug)]
pub struct Asked<'a> {
    /// The value, such as `145.2`.
    pub number: &'a str,
    /// Its unit.
    pub side: &'a str,
    /// What is to be said or pressed, in a few words.
    pub line: &'a str,
}

/// Draws the far view of a run. `heard` is a word of state from listening, such as `LISTENING`, which stands beside that
/// of the run.
pub fn draw(model: &Model, heard: Option<&str>, now: Tick, buf: &mut Buffer, area: Rect) {
    draw_beside(model, &Beside { heard, ..Beside::default() }, now, buf, area);
}

/// The same with more beside the run.
pub fn draw_beside(model: &Model, beside: &Beside<'_>, now: Tick, buf: &mut Buffer, area: Rect) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    let theme = model.theme.far();
    ground(&theme, buf, area);
    let far = Far::new(model, beside, &theme, now, area.height);
    if area.width < WIDTH || area.height < HEIGHT { far.draw_small(buf, area) } else { far.draw_large(buf, area) }
}

/// The word of state that stands at the top: what a person three metres away goes by.
pub fn word(model: &Model, now: Tick) -> &'static str {
    words::state(model, &model.face(now), now).0
}

/// When what is drawn changes by itself next; nothing else that a run wakes for is in it.
pub fn next_picture(model: &Model, now: Tick) -> Option<Tick> {
    let face = model.face(now);
    let clock = soonest(model, &face, now).and_then(|clock| face::coarse(&clock, now).1);
    [face.change, clock, prompt_change(model, now)].into_iter().flatten().filter(|at| *at > now).min()
}

/// When a run must be woken next while the far view is shown: for its picture, or because something is due.
pub fn next_change(model: &Model, now: Tick) -> Option<Tick> {
    [model.run.next_wake(now), model.bells.next(), next_picture(model, now)].into_iter().flatten().min()
}

/// When the prompt of the open step stands out next, or steps back.
fn prompt_change(model: &Model, now: Tick) -> Option<Tick> {
    let (_, span, is_now) = face::prompt(&model.run, now)?;
    let begun = model.run.offer(now).standing.begun?;
    let into = now.since(begun).0.checked_rem(span.0)?;
    Some(Tick(now.0 - into + if is_now { face::PROMPT_STANDS.0 } else { span.0 }))
}

/// The limit that bites first, or else the clock that does, among those that are not the number.
fn soonest(model: &Model, face: &Face, now: Tick) -> Option<engine::Clock> {
    let mut clocks = Vec::new();
    face::other_clocks(&model.run, face.clock, now, &mut clocks);
    let step = model.run.offer(now).step.map(|(_, step)| step);
    if step.is_some_and(|step| matches!(step.wants, Wants::Timed { .. })) {
        // Its own least time stands in the caption.
        clocks.retain(|clock| clock.of != ClockOf::Hold);
    }
    let limit = clocks.iter().position(|clock| clock.side == Side::AtMost).unwrap_or(0);
    clocks.get(limit).copied()
}

/// Below this everything is closer together.
const WIDTH: u16 = 60;
const HEIGHT: u16 = 18;

/// The least rows of the number: five, and 12 % of all. What that is on a screen three metres away: 17.5 mm of a laptop of
/// 14 inches are 10.1 % of its height, on a phone held upright 12.5 %.
fn least_rows(rows: u16) -> u16 {
    (u32::from(rows) * 12).div_ceil(100).max(5) as u16
}

/// The rows wanted for it: a fifth.
fn wanted_rows(rows: u16) -> u16 {
    (u32::from(rows)).div_ceil(5).max(5) as u16
}

/// What is to be shown.
struct Far<'a> {
    model: &'a Model,
    beside: &'a Beside<'a>,
    theme: &'a Theme,
    now: Tick,
    /// The rows of the whole picture.
    rows: u16,
    face: Face,
    state: (&'static str, Mood),
    line: String,
    /// Whether that line is all there is to say.
    is_all: bool,
    /// What is said in plain text, each with its mark.
    notes: Vec<Note>,
}

/// A paragraph in plain text.
struct Note {
    mark: &'static str,
    text: String,
    style: Style,
}

impl<'a> Far<'a> {
    fn new(model: &'a Model, beside: &'a Beside<'a>, theme: &'a Theme, now: Tick, rows: u16) -> Self {
        let mut face = model.face(now);
        let mut state = words::state(model, &face, now);
        let (mut line, mut is_all) = words::line(model, &face, now);
        if let Some(asked) = &beside.asked {
            face = Face {
                number: asked.number.to_owned(),
                side: asked.side.to_owned(),
                change: face.change,
                ..Face::default()
            };
            state = ("RIGHT?", Mood::Plain);
            line = asked.line.to_owned();
            is_all = true;
        }
        let mut far = Self { model, beside, theme, now, rows, face, state, line, is_all, notes: Vec::new() };
        far.note();
        far
    }

    /// What is said in plain text, the most needed first.
    fn note(&mut self) {
        let (model, theme, now) = (self.model, self.theme, self.now);
        let is_all = self.is_all;
        let mut note = |mark, text: Cow<'_, str>, style| {
            self.notes.push(Note { mark, text: text.into_owned(), style });
        };
        if let Some((cue, span, true)) = face::prompt(&model.run, now) {
            note(" » ", format!("{}, every {span} ", said(&model.run, cue)).into(), theme.alarm);
        }
        if model.overlay.is_some() {
            return;
        }
        let offer = model.run.offer(now);
        if let Some((_, step)) = offer.step.filter(|_| offer.phase == Phase::AtStep && !is_all) {
            note("", said(&model.run, &step.instruction), theme.strong);
        }
        if let Some(why) = words::not_a_reading(model) {
            note("✗ ", why, theme.warn);
        }
        if let Some(message) = &model.message {
            let (mark, style) = match message.kind {
                MessageKind::Refused => ("✗ ", theme.warn),
                MessageKind::Finding | MessageKind::Warned => ("! ", theme.warn),
                MessageKind::Back => ("↶ ", theme.warn),
                MessageKind::Note => ("✓ ", theme.good),
            };
            note(mark, Cow::Borrowed(&message.text), style);
        }
        if let Some(waits) = &model.waits {
            note("■ ", Cow::Borrowed(&waits.text), theme.strong);
        }
        if let Some((what, hint)) = &model.store.failed {
            note("✗ ", format!("Not recorded: {what}. {hint}").into(), theme.warn);
        }
        match offer.phase {
            Phase::AtStep => {
                if let Some(caution) = offer.step.and_then(|(_, step)| step.caution.as_ref()) {
                    note("CAUTION ", said(&model.run, caution), theme.warn);
                }
            }
            Phase::Ended => {
                let again = model.run.endings().last().and_then(|end| end.again);
                if let Some(again) = again.and_then(|again| model.run.edition().agains.get(again.0 as usize)) {
                    note("", said(&model.run, &again.say), theme.strong);
                }
            }
            Phase::Finished | Phase::Closed { .. } => {
                for outcome in model.run.results().iter().skip(1) {
                    note("", format!("{}: {}", outcome.title, outcome.reported).into(), theme.strong);
                }
            }
        }
    }

    fn mood(&self, mood: Mood) -> Style {
        match mood {
            Mood::Plain => self.theme.number,
            Mood::Good => self.theme.good,
            Mood::Alarm => self.theme.alarm,
        }
    }

    // ------------------------------------------------------------------------------------------ large

    fn draw_large(&self, buf: &mut Buffer, area: Rect) {
        let side = if area.width >= 100 { 2 } else { 1 };
        let mut middle = Rect { x: area.x + side, width: area.width - 2 * side, ..area };
        self.header(buf, Rect { height: 1, ..middle });
        let below = self.footer(buf, middle);
        middle = Rect { y: middle.y + 1, height: middle.height - 1 - below, ..middle };
        if area.height >= 32 {
            middle = Rect { y: middle.y + 1, height: middle.height - 2, ..middle };
        }
        let band = self.band_rows(middle.width);
        self.band(buf, Rect { height: band, ..middle });
        let mut column = Column::new(buf, middle);
        column.skip(band + 1);
        if self.model.overlay.is_some() && self.beside.asked.is_none() {
            return self.overlay(&mut column);
        }
        self.middle(&mut column);
    }

    /// The number, the line and the notes share what the band of state has left.
    fn middle(&self, column: &mut Column<'_>) {
        let rows = self.rows;
        let width = column.area.width;
        let has_number = !self.face.number.is_empty();
        let choices = self.choices();
        let least = if has_number { least_rows(rows) } else { 0 };
        let caption = u16::from(has_number || !self.face.caption.is_empty());
        let all = column.area.height;
        // Notes keep a part of the room; the number and one line of letters keep theirs first.
        let room = all.saturating_sub(least + caption + 5).min(all / 3).max(1);
        let notes = self.note_rows(width).saturating_add(self.choice_rows(&choices, width)).min(room);
        // On a large screen what belongs together stands closer than what does not.
        let apart = rows / 30;
        let left = all.saturating_sub(caption + notes + u16::from(notes > 0) + 2 * apart);
        let letters = self.lettered(width, left);
        // What the large letters leave out stands in plain ones, if it is not the instruction, which is among the notes.
        let is_plain = self.is_all && letters.as_ref().is_none_or(|(.., is_whole)| !is_whole);
        let plain = if is_plain { paint::lines(&self.line, width).take(3).collect() } else { Vec::new() };
        let line_rows = plain.len() as u16
            + letters.as_ref().map_or(0, |(lines, size, _)| size.height_of(lines.len()) + u16::from(is_plain));
        // Without large letters below it the number is the bigger.
        let share = if letters.is_some() { rows * 2 / 5 } else { rows * 11 / 20 };
        let most = left.saturating_sub(line_rows + u16::from(line_rows > 0)).min(share);
        let number = self.number_size(width, most.max(least));
        let number_rows = match (&number, has_number) {
            (Some(number), _) => {
                number.size.height() + u16::from(number.is_below) + u16::from(number.is_below && self.face.is_alarm)
            }
            (None, true) => 1,
            (None, false) => 0,
        };
        // What is left over becomes air.
        let used = caption + number_rows + line_rows + notes + 2;
        let air = all.saturating_sub(used);
        let gap = (air / 4).clamp(apart, 3.max(apart));
        column.skip(gap.saturating_sub(apart));
        let field = number.as_ref().and_then(|number| number.size.width(&self.face.number)).unwrap_or(0) + 4;
        self.caption(column, field);
        if has_number {
            self.number(column, number.as_ref());
            column.skip(1 + gap);
        }
        if let Some((lines, size, _)) = &letters {
            self.letters(column, lines, *size);
            column.skip(u16::from(is_plain));
        }
        for piece in plain {
            column.line(piece, self.theme.strong);
        }
        column.skip(u16::from(line_rows > 0) + gap);
        self.answers(column, &choices);
        self.draw_notes(column);
    }

    /// The line, or the first part of it, in the biggest letters there is room for beside the number.
    fn lettered(&self, width: u16, left: u16) -> Option<(Vec<String>, Big, bool)> {
        let rows = self.rows;
        let fitting = |line: &str| {
            if self.face.number.is_empty() {
                // Where no number matters the line is the biggest thing.
                return big::lettering(line, width, left, 4, rows / 4);
            }
            let biggest = (rows / 8).max(3);
            [wanted_rows(rows), least_rows(rows)].into_iter().find_map(|number| {
                let height = left.checked_sub(number + 1)?;
                big::lettering(line, width, height, if rows >= 36 { 3 } else { 2 }, biggest)
            })
        };
        let whole = fitting(&self.line).map(|(lines, size)| (lines, size, true));
        // Else a part of it, with a sign that there is more: all of it stands below.
        whole.or_else(|| {
            let part = |text: &str| fitting(&format!("{text}…"));
            let short = words::shortened(&self.line);
            let found = if short.len() < self.line.len() { part(short) } else { None };
            found.or_else(|| part(words::first_act(short)?)).map(|(lines, size)| (lines, size, false))
        })
    }

    fn letters(&self, column: &mut Column<'_>, lines: &[String], size: Big) {
        for (n, words) in lines.iter().enumerate() {
            column.skip(if n > 0 { size.leading() } else { 0 });
            big::draw(column.buf, column.area, words, size, self.theme.number);
            column.skip(size.height());
        }
    }

    /// How big the number can be, and where its unit stands.
    fn number_size(&self, width: u16, most: u16) -> Option<Number> {
        let text = &self.face.number;
        if text.is_empty() {
            return None;
        }
        let (least, wanted) = (least_rows(self.rows), wanted_rows(self.rows));
        let margin = if self.face.is_alarm { 4 } else { 0 };
        let width = width.saturating_sub(margin);
        let beside = self.side_width();
        let with = Big::fitting(text, width.saturating_sub(beside), most, least);
        let alone = Big::fitting(text, width, most.saturating_sub(1), least);
        match (with, alone) {
            // Its unit may stand below if that makes the number as big as is wanted.
            (Some(with), Some(alone)) if with.height() < wanted.min(alone.height()) => {
                Some(Number { size: alone, is_below: true })
            }
            (Some(size), _) => Some(Number { size, is_below: false }),
            (None, Some(size)) => Some(Number { size, is_below: true }),
            (None, None) => Big::fitting(text, width, most, 3).map(|size| Number { size, is_below: true }),
        }
    }

    /// Columns for what stands beside the number, with its gap.
    fn side_width(&self) -> u16 {
        let side = &self.face.side;
        if side.is_empty() {
            return 0;
        }
        match self.side_size() {
            Some(size) => size.width(&side.to_uppercase()).unwrap_or(0) + 3,
            None => side.chars().count() as u16 + 2,
        }
    }

    /// Words beside the number are in large letters too, where they are no unit.
    fn side_size(&self) -> Option<Big> {
        let side = self.face.side.to_uppercase();
        let is_large = words::is_words(&self.face.side);
        Big::fitting(&side, 40, (self.rows / 10).max(3), 3).filter(|_| is_large)
    }

    fn number(&self, column: &mut Column<'_>, number: Option<&Number>) {
        let theme = self.theme;
        let face = &self.face;
        let style = match (face.is_alarm, face.is_good) {
            (true, _) => theme.alarm,
            (false, true) => theme.good,
            (false, false) => theme.number,
        };
        let Some(number) = number else {
            let text = format!(" {} {} ", face.number, face.side);
            return column.line(&text, if face.is_alarm { theme.alarm } else { theme.strong });
        };
        let size = number.size;
        let area = column.area;
        let width = size.width(&face.number).unwrap_or(0);
        let margin = if face.is_alarm { 2 } else { 0 };
        let field = Rect { width: width + 2 * margin, height: size.height(), ..area }.intersection(area);
        if face.is_alarm {
            // A field, not only an ink; the caption is its upper edge, and below it goes on for half a row.
            fill(column.buf, field, style);
            half_field(column.buf, Rect { y: field.bottom(), height: 1, ..field }.intersection(area), theme);
        }
        let at = Rect { x: area.x + margin, width: area.width.saturating_sub(margin), ..area };
        big::draw(column.buf, at, &face.number, size, style);
        column.skip(size.height());
        if number.is_below {
            column.skip(margin.min(1));
            return column.line(&face.side, theme.strong);
        }
        let x = area.x + width + 2 * margin + 2;
        let bottom = Rect { x, width: area.right().saturating_sub(x), ..area };
        let row = |height: u16| Rect { y: area.y + size.height() - height, height, ..bottom };
        let lettering = self.side_size().filter(|side| side.height() < size.height());
        let is_drawn = lettering.is_some_and(|side| {
            let at = Rect { x: x + 1, width: bottom.width.saturating_sub(1), ..row(side.height()) };
            big::draw(column.buf, at, &face.side.to_uppercase(), side, theme.strong)
        });
        if !is_drawn {
            line(column.buf, row(1), &face.side, theme.strong);
        }
    }

    /// What the number is; an alarm in a field, and without a number it is the line that says it.
    fn caption(&self, column: &mut Column<'_>, field: u16) {
        let (theme, caption) = (self.theme, &self.face.caption);
        if self.face.number.is_empty() {
            return;
        }
        let width = column.area.width as usize;
        let mut text = String::with_capacity(64);
        if self.face.is_alarm {
            text.push_str("  ");
            paint::push_cut(&mut text, caption, width.saturating_sub(4));
            text.push_str("  ");
            let row = Rect { width: column.area.width.min(field), height: column.area.height.min(1), ..column.area };
            fill(column.buf, row, theme.alarm);
            column.line(&text, theme.alarm);
        } else {
            paint::push_cut(&mut text, caption, width);
            column.line(&text, if self.face.is_good { theme.good } else { theme.strong });
        }
    }

    // ------------------------------------------------------------------------------------------ state

    /// Words of state, the most needed first: not recorded is said whatever else is.
    fn states(&self) -> Vec<(String, Style)> {
        let mut states = vec![(self.state.0.to_owned(), self.mood(self.state.1))];
        if is_not_recorded(self.model) {
            states.push(("NOT RECORDED".to_owned(), self.theme.alarm));
        }
        if let Some(heard) = self.beside.heard {
            states.push((heard.to_uppercase(), self.theme.quiet));
        }
        states
    }

    /// How high the band of state is: every second row more is a half above and a half below the letters.
    fn band_rows(&self, width: u16) -> u16 {
        let states = self.states();
        let fields = 4 * states.iter().filter(|state| state.1 == self.theme.alarm).count() as u16;
        let text = states.into_iter().map(|(word, _)| word).collect::<Vec<_>>().join("  ");
        let most = (self.rows / 9).max(3);
        match Big::fitting(&text, width.saturating_sub(fields), most, 3).map(Big::height) {
            Some(rows) if rows > 3 => rows + 1,
            _ => 3,
        }
    }

    /// Words of state in large letters, the first at the left and what is heard at the right; what has no room in
    /// plain letters at the right.
    fn band(&self, buf: &mut Buffer, area: Rect) {
        let (mut left, mut right) = (area.x, area.right());
        let most = if area.height > 3 { area.height - 1 } else { 3 };
        let mut small = Vec::new();
        for (word, style) in self.states() {
            let is_field = style == self.theme.alarm;
            let is_heard = style == self.theme.quiet;
            let margin = if is_field { 2 } else { 0 };
            let room = right.saturating_sub(left).saturating_sub(2 * margin);
            let Some(size) = Big::fitting(&word, room, most, 3).filter(|_| small.is_empty()) else {
                small.push((word, if is_field { style } else { self.theme.key }));
                continue;
            };
            let width = size.width(&word).unwrap_or(0) + 2 * margin;
            let x = if is_heard { right - width } else { left };
            let field = Rect { x, width, ..area };
            if is_field {
                fill(buf, field, style);
                if area.height == 3 {
                    half_field(buf, Rect { y: area.bottom(), height: 1, ..field }, self.theme);
                }
            }
            // In the middle, to the half row.
            let halves = area.height * 2 - if size.height() == 3 { 5 } else { size.height() * 2 };
            let at = Rect { x: x + margin, width: width - margin, ..area };
            big::draw_lower(buf, at, &word, size, halves.div_ceil(2), style);
            if is_heard { right = x.saturating_sub(2) } else { left = (x + width + 2).min(right) }
        }
        for (n, (word, style)) in (0u16..).zip(small) {
            let row = Rect { x: left, y: area.y + 2 * n, width: right.saturating_sub(left), height: 1 };
            if row.y < area.bottom() {
                line_right(buf, row, &format!(" {word} "), style);
            }
        }
    }

    // ------------------------------------------------------------------------------------------ plain text

    /// What the run is called, which step is open, what kind of time runs.
    fn header(&self, buf: &mut Buffer, area: Rect) {
        let (model, theme) = (self.model, self.theme);
        let mut left = area;
        if let Some(simulated) = &model.options.simulated {
            let x = line_right(buf, area, &format!(" {} ", simulated.to_uppercase()), theme.alarm);
            left.width = x.saturating_sub(area.x + 1);
        }
        let edition = model.run.edition();
        let offer = model.run.offer(self.now);
        let name = model.on_bench.as_ref().unwrap_or(&model.options.run_name);
        let x = line(buf, left, name, theme.strong);
        let mut text = format!(" · {}", edition.title);
        if let (Phase::AtStep, Some((id, _))) = (offer.phase, offer.step) {
            text = format!(" · step {} of {}{text}", id.0 + 1, edition.steps.len());
        }
        let rest = Rect { x, width: left.right().saturating_sub(x), ..left };
        let mut cut = String::with_capacity(text.len());
        paint::push_cut(&mut cut, &text, rest.width as usize);
        line(buf, rest, &cut, theme.quiet);
    }

    /// What a press does, whether it is recorded, the soonest limit, the other tests; returns the rows they take.
    fn footer(&self, buf: &mut Buffer, area: Rect) -> u16 {
        let (model, theme, now) = (self.model, self.theme, self.now);
        let mut bottom = area.bottom() - 1;
        let row = |y: u16| Rect { y, height: 1, ..area };
        let recorded = recorded_words(model);
        let style = if is_not_recorded(model) { theme.alarm } else { theme.good };
        let end = line_right(buf, row(bottom), &recorded, style);
        let left = Rect { width: end.saturating_sub(area.x + 2), ..row(bottom) };
        let mut key = |x: u16, name: &str, does: &str| {
            let rest = |x: u16| Rect { x, width: left.right().saturating_sub(x), ..left };
            let x = line(buf, rest(x), &format!(" {name} "), theme.key);
            line(buf, rest(x + 1), does, theme.strong) + 2
        };
        match (self.beside.offered, &model.overlay) {
            (Some(offered), _) => {
                key(left.x, "NEXT", offered);
            }
            (None, Some(overlay)) => {
                let mut x = left.x;
                for (name, does) in overlay_keys(overlay) {
                    x = key(x, name, does);
                }
            }
            (None, None) => {
                key(left.x, "NEXT", &next_words(model, now));
            }
        }
        let mut cut = String::new();
        let mut above = |text: &str, is_over: bool| {
            bottom -= 1;
            cut.clear();
            if is_over {
                cut.push(' ');
            }
            // How it stands is at the end: rather the name is cut.
            let room = area.width.saturating_sub(2) as usize;
            let (name, stands) = text.rsplit_once(": ").unwrap_or((text, ""));
            let tail = if stands.is_empty() { 0 } else { stands.chars().count() + 2 };
            paint::push_cut(&mut cut, name, room.saturating_sub(tail));
            if tail > 0 {
                cut.push_str(": ");
                cut.push_str(stands);
            }
            if is_over {
                cut.push(' ');
            }
            line(buf, row(bottom), &cut, if is_over { theme.alarm } else { theme.strong });
        };
        if let Some((text, is_over)) = self.beside.other {
            above(text, is_over);
        }
        if let Some((text, is_over)) = self.limit_words() {
            above(&text, is_over);
        }
        area.bottom() - bottom
    }

    /// The soonest limit in words, and whether it is over.
    fn limit_words(&self) -> Option<(String, bool)> {
        let (model, now) = (self.model, self.now);
        let clock = soonest(model, &model.face(now), now)?;
        let mut text = "◷ ".to_owned();
        face::clock_words(&model.run, model.run.offer(now).step.map(|(_, step)| step), &clock, now, &mut text);
        Some((text, face::is_over(&clock, now)))
    }

    fn note_rows(&self, width: u16) -> u16 {
        let rows = self.notes.iter().map(|note| {
            let indent = note.mark.chars().count() as u16;
            paint::lines(&note.text, width.saturating_sub(indent)).count() as u16
        });
        rows.fold(0, u16::saturating_add)
    }

    fn draw_notes(&self, column: &mut Column<'_>) {
        for note in &self.notes {
            column.block(note.mark, note.style, &note.text, note.style);
        }
    }

    /// The answers to a question, with their keys.
    fn choices(&self) -> Vec<(char, &str, bool)> {
        let (Entry::Choice(marked), None) = (&self.model.entry, &self.beside.asked) else { return Vec::new() };
        let Some((_, reading, _)) = self.model.reading_asked(self.now) else { return Vec::new() };
        let ReadingKind::Choice(choices) = &self.model.run.edition().reading(reading).kind else { return Vec::new() };
        let is_marked = |n| *marked == Some(n);
        choices.iter().enumerate().map(|(n, choice)| (choice.key, choice.label.as_str(), is_marked(n))).collect()
    }

    /// Rows for the answers: large ones where all of them have room for that.
    fn choice_rows(&self, choices: &[(char, &str, bool)], width: u16) -> u16 {
        let fits = |label: &str| Big::fitting(&label.to_uppercase(), width.saturating_sub(15), 3, 3).is_some();
        let each = if choices.iter().all(|(_, label, _)| fits(label)) { 4 } else { 1 };
        let all = choices.len() as u16 * each;
        // The question needs more than half.
        if all > self.rows / 3 { choices.len() as u16 } else { all }
    }

    /// What is being typed in words, or the answers there are: large where all of them have room.
    fn answers(&self, column: &mut Column<'_>, choices: &[(char, &str, bool)]) {
        let theme = self.theme;
        if let (Entry::Words(words), None) = (&self.model.entry, &self.beside.asked) {
            let mut text = format!("▏{}▂", words.field.text);
            let room = column.area.width as usize;
            let n = text.chars().count();
            if n > room {
                // The end is what is being typed.
                text = text.chars().skip(n - room).collect();
            }
            column.line(&text, theme.strong);
            column.skip(1);
        }
        let below = self.note_rows(column.area.width);
        let height = column.area.height.saturating_sub(below + 1) / (choices.len().max(1) as u16);
        let size = (3..=height.saturating_sub(1).min(self.rows / 10)).rev().find_map(|rows| {
            let longest = choices.iter().max_by_key(|(_, label, _)| label.chars().count())?;
            let size = Big::fitting(&longest.1.to_uppercase(), column.area.width.saturating_sub(5 * rows), rows, 3)?;
            let is_all = choices.iter().all(|(_, label, _)| size.width(&label.to_uppercase()).is_some());
            is_all.then_some(size)
        });
        for (key, label, is_marked) in choices {
            let row = Rect { height: column.area.height.min(1), ..column.area };
            let style = if *is_marked { theme.chosen } else { theme.strong };
            match size {
                Some(size) => {
                    let name = key.to_uppercase().to_string();
                    let wide = size.width(&name).unwrap_or(0) + 4;
                    fill(column.buf, Rect { width: wide, height: size.height(), ..column.area }, theme.key);
                    let at = |x: u16| Rect { x, width: column.area.right().saturating_sub(x), ..column.area };
                    big::draw(column.buf, at(column.area.x + 2), &name, size, theme.key);
                    big::draw(column.buf, at(column.area.x + wide + 2), &label.to_uppercase(), size, style);
                    column.skip(size.height() + 1);
                }
                None => {
                    let x = line(column.buf, row, &format!(" {} ", key.to_uppercase()), theme.key);
                    let rest = Rect { x: x + 1, width: row.right().saturating_sub(x + 1), ..row };
                    line(column.buf, rest, label, style);
                    column.skip(1);
                }
            }
        }
    }

    /// What lies over the screen, in the inks of the far view.
    fn overlay(&self, column: &mut Column<'_>) {
        let Some(overlay) = &self.model.overlay else { return };
        if let Some((lines, size)) = big::lettering(&self.line, column.area.width, column.area.height / 3, 2, 5) {
            self.letters(column, &lines, size);
            column.skip(1);
        }
        self.draw_notes(column);
        let area = column.area;
        draw_overlay(self.model, overlay, self.now, column.buf, area);
        reink(column.buf, area, &self.model.theme, self.theme);
    }

    // ------------------------------------------------------------------------------------------ small

    /// The same close together, for a screen with little room.
    fn draw_small(&self, buf: &mut Buffer, area: Rect) {
        let (model, theme) = (self.model, self.theme);
        let mut column = Column::new(buf, area);
        if is_not_recorded(model) {
            column.line("NOT RECORDED", theme.alarm);
        }
        let row = Rect { height: column.area.height.min(1), ..column.area };
        let style = if self.state.1 == Mood::Plain { theme.key } else { self.mood(self.state.1) };
        let x = line(column.buf, row, &format!(" {} ", self.state.0), style);
        if let Some(heard) = self.beside.heard.filter(|_| x < row.right()) {
            line(column.buf, Rect { x: x + 1, width: row.right() - x - 1, ..row }, heard, theme.strong);
        }
        column.skip(1);
        if let Some(overlay) = model.overlay.as_ref().filter(|_| self.beside.asked.is_none()) {
            let rest = column.area;
            draw_overlay(model, overlay, self.now, column.buf, rest);
            return reink(column.buf, rest, &model.theme, theme);
        }
        // Two rows below are kept for the line.
        let most = column.area.height.saturating_sub(2);
        let face = &self.face;
        if !face.number.is_empty() {
            let width = column.area.width.saturating_sub(if face.is_alarm { 4 } else { 0 });
            let fitting = |least| Big::fitting(&face.number, width, most, least);
            let size = fitting(5).or_else(|| fitting(3));
            let number = size.map(|size| Number {
                size,
                is_below: size.width(&face.number).unwrap_or(0) + self.side_width() > width,
            });
            self.number(&mut column, number.as_ref());
        }
        if let Some((lines, size)) =
            digits::sentence(&self.line, column.area.width, column.area.height.saturating_sub(3))
                .filter(|_| column.area.height > 6)
        {
            for words in lines {
                digits::draw(column.buf, column.area, &words, size, theme.number);
                column.skip(Size::height(size) + 1);
            }
        } else {
            column.block("", theme.strong, &self.line, theme.strong);
        }
        self.answers(&mut column, &self.choices());
        if let Some((text, is_over)) = self.limit_words() {
            column.block("", theme.strong, &text, if is_over { theme.alarm } else { theme.strong });
        }
        self.draw_notes(&mut column);
    }
}

/// How the number is drawn.
struct Number {
    size: Big,
    /// Its unit stands below it.
    is_below: bool,
}

/// Lays a field.
fn fill(buf: &mut Buffer, area: Rect, style: Style) {
    let area = area.intersection(buf.area);
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            buf[(x, y)].set_symbol(" ").set_style(style);
        }
    }
}

/// Lets a field go on for half a row.
fn half_field(buf: &mut Buffer, area: Rect, theme: &Theme) {
    let area = area.intersection(buf.area);
    let style = match theme.alarm.bg {
        Some(field) => theme.plain.fg(field),
        // Reversed, it is the terminal's own ink.
        None => theme.plain,
    };
    for x in area.left()..area.right() {
        buf[(x, area.y)].set_symbol("▀").set_style(style);
    }
}

/// What was drawn in the inks of one theme in those of another.
fn reink(buf: &mut Buffer, area: Rect, from: &Theme, to: &Theme) {
    let all = |theme: &Theme| {
        [
            theme.plain,
            theme.quiet,
            theme.number,
            theme.good,
            theme.warn,
            theme.alarm,
            theme.key,
            theme.chosen,
            theme.liquid,
            theme.foam,
            theme.strong,
        ]
    };
    let (from, to) = (all(from), all(to));
    let area = area.intersection(buf.area);
    for y in area.top()..area.bottom() {
        for x in area.left()..area.right() {
            let cell = &mut buf[(x, y)];
            let is_it = |style: &Style| style.fg == Some(cell.fg) && style.bg == Some(cell.bg);
            if let Some(style) = from.iter().position(is_it).and_then(|n| to.get(n)) {
                (cell.fg, cell.bg) = (style.fg.unwrap_or(cell.fg), style.bg.unwrap_or(cell.bg));
            }
        }
    }
}

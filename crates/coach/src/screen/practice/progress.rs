//! How far somebody has come, as charts: accuracy over the days, each stage, each step, and whether they are ready.
//!
//! Here: the picture and its keys. Not here: the figures (the crate `practice`); every one drawn here is also in the text
//! of `practice --progress --plain`.
//!
//! **Invariant:** drawing changes nothing, and no chart stands without its figures in words.

use engine::{Moment, Tick};
use practice::Help;
use practice::history::{Share, show_day};
use practice::progress::{MethodProgress, StepProgress};
use practice::readiness::Readiness;
use quantity::Span;
use ratatui::buffer::Buffer;
use ratatui::layout::{Direction, Rect};
use ratatui::symbols::Marker;
use ratatui::text::Line;
use ratatui::widgets::{Axis, Bar, BarChart, BarGroup, Chart, Dataset, GraphType, Sparkline, Widget as _};

use super::{PracticeAnswer, PracticeDeed};
use crate::screen::keys::{self, Command, Key};
use crate::screen::shown::{Sensed, Shown};
use crate::screen::theme::{Colours, Theme, ThemeChoice};
use crate::screen::view::ground;
use crate::screen::view::paint::{Column, line, line_right, push_cut};

/// From this size on the charts are drawn.
const FULL: (u16, u16) = (60, 16);
/// Rows of the charts, at least and at most.
const CHART_ROWS: (u16, u16) = (8, 14);
/// How many days the charts look back.
const DAYS: u16 = 30;

/// How far somebody has come with a method, and whether they are ready.
#[derive(Clone, Debug)]
pub struct ProgressCard {
    /// The figures.
    pub progress: MethodProgress,
    /// The verdict.
    pub ready: Readiness,
}

/// The state of the progress screen.
#[derive(Clone, Debug)]
pub struct ProgressModel {
    cards: Vec<ProgressCard>,
    at: usize,
    /// The first step shown.
    from: usize,
    today: i64,
    choice: ThemeChoice,
    theme: Theme,
    repaints: u32,
}

impl ProgressModel {
    /// The screen over these methods, at the first of them that was begun.
    pub fn new(cards: Vec<ProgressCard>, today: i64, choice: ThemeChoice) -> Self {
        let at = cards.iter().position(|card| card.progress.begun.right > 0).unwrap_or(0);
        let theme = Theme::new(choice, Colours::default());
        Self { cards, at, from: 0, today, choice, theme, repaints: 0 }
    }

    /// The same in as many colours as the terminal has.
    #[must_use]
    pub fn with_colours(mut self, colours: Colours) -> Self {
        self.theme = Theme::new(self.choice, colours);
        self
    }

    fn n_steps(&self) -> usize {
        self.cards.get(self.at).map_or(0, |card| card.progress.steps.len())
    }
}

impl Shown for ProgressModel {
    type Deed = PracticeDeed;
    type Answer = PracticeAnswer;

    fn sense(&mut self, sensed: Sensed, _now: Moment) -> Vec<PracticeDeed> {
        let Sensed::Key(event) = sensed else { return Vec::new() };
        let Some(key) = Key::of(&event) else { return Vec::new() };
        let last = self.n_steps().saturating_sub(1);
        match (key, keys::command(key)) {
            (Key::Esc | Key::Enter, _) | (_, Some(Command::Leave | Command::LeaveNow)) => {
                return vec![PracticeDeed::Leave];
            }
            (_, Some(Command::Suspend)) => return vec![PracticeDeed::Suspend],
            (_, Some(Command::Repaint)) => self.repaints += 1,
            (Key::Right | Key::Tab, _) if self.at + 1 < self.cards.len() => (self.at, self.from) = (self.at + 1, 0),
            (Key::Left, _) if self.at > 0 => (self.at, self.from) = (self.at - 1, 0),
            (Key::Down, _) => self.from = (self.from + 1).min(last),
            (Key::Up, _) => self.from = self.from.saturating_sub(1),
            (Key::PageDown | Key::Char(' '), _) => self.from = (self.from + 8).min(last),
            (Key::PageUp, _) => self.from = self.from.saturating_sub(8),
            _ => {}
        }
        Vec::new()
    }

    fn hear(&mut self, _answer: PracticeAnswer, _now: Moment) -> Vec<PracticeDeed> {
        Vec::new()
    }

    fn next_change(&self, _now: Tick) -> Option<Tick> {
        None
    }

    fn draw(&self, _now: Tick, buf: &mut Buffer, area: Rect) {
        if area.is_empty() {
            return;
        }
        ground(&self.theme, buf, area);
        let Some(card) = self.cards.get(self.at) else { return };
        let inner = Rect { x: area.x + u16::from(area.width > 2), width: area.width.saturating_sub(2).max(1), ..area };
        self.draw_card(card, buf, inner, area.width >= FULL.0 && area.height >= FULL.1);
    }

    fn repaints(&self) -> u32 {
        self.repaints
    }
}

impl ProgressModel {
    fn draw_card(&self, card: &ProgressCard, buf: &mut Buffer, area: Rect, is_full: bool) {
        let theme = &self.theme;
        let progress = &card.progress;
        let row = Rect { height: 1, ..area };
        let end = line_right(buf, row, &format!("method {} of {}", self.at + 1, self.cards.len()), theme.quiet);
        let left = Rect { width: end.saturating_sub(row.x + 2), ..row };
        let x = line(buf, left, "Progress", theme.strong);
        let room = left.right().saturating_sub(x);
        let mut title = String::new();
        push_cut(&mut title, &format!(" · {}", progress.title), usize::from(room));
        line(buf, Rect { x, width: room, ..left }, &title, theme.quiet);

        let mut column = Column::new(buf, Rect { y: area.y + 1, height: area.height.saturating_sub(2), ..area });
        let (mark, style) = if card.ready.is_ready() { ("✓ ", theme.good) } else { ("✗ ", theme.warn) };
        column.block(mark, style, &card.ready.words(), style);
        column.block("", theme.plain, &words(progress), theme.plain);
        if let Some(last) = progress.trials.last() {
            let (mark, style) = if last.passed() { ("✓ ", theme.good) } else { ("✗ ", theme.warn) };
            let text = format!(
                "Last timed run, {}: acts {}, instruments {}, {}",
                show_day(last.at.day()),
                last.acts.words(),
                last.readings.words(),
                Span(last.took_ms / 1_000 * 1_000).clock()
            );
            column.block(mark, style, &text, theme.plain);
        }
        let mut rest = column.area;
        if is_full && progress.tally.all.of > 0 {
            let height = (rest.height / 2).clamp(CHART_ROWS.0, CHART_ROWS.1).min(rest.height);
            let charts = Rect { height, ..rest };
            self.draw_charts(progress, buf, charts);
            rest = Rect { y: rest.y + height, height: rest.height - height, ..rest };
        }
        self.draw_steps(progress, buf, rest);
        let last = Rect { y: area.bottom().saturating_sub(1), height: 1, ..area };
        let mut x = last.x;
        for (key, does) in [("← →", "method"), ("↑ ↓", "steps"), ("q", "leave")] {
            x = line(buf, Rect { x, width: last.right().saturating_sub(x), ..last }, key, theme.strong) + 1;
            x = line(buf, Rect { x, width: last.right().saturating_sub(x), ..last }, does, theme.quiet) + 2;
        }
    }

    fn draw_charts(&self, progress: &MethodProgress, buf: &mut Buffer, area: Rect) {
        let theme = &self.theme;
        let half = area.width / 2;
        let left = Rect { width: half.saturating_sub(1), ..area };
        let right = Rect { x: area.x + half + 1, width: area.width.saturating_sub(half + 1), ..area };

        // ---- accuracy over the days
        line(buf, Rect { height: 1, ..left }, "Right answers in %, by the day", theme.quiet);
        let ago = |day: i64| i32::try_from(day - self.today).ok().filter(|ago| *ago > -i32::from(DAYS));
        let points: Vec<(f64, f64)> = progress
            .tally
            .by_day
            .iter()
            .filter_map(|(day, share)| Some((f64::from(ago(*day)?), f64::from(share.per_mille()? / 10))))
            .collect();
        let dataset = Dataset::default()
            .marker(Marker::Braille)
            .graph_type(if points.len() > 1 { GraphType::Line } else { GraphType::Scatter })
            .style(theme.number)
            .data(&points);
        let x_axis = Axis::default()
            .bounds([f64::from(-i32::from(DAYS)), 0.0])
            .labels([format!("{DAYS} days ago"), "today".to_owned()])
            .style(theme.quiet);
        let y_axis = Axis::default().bounds([0.0, 100.0]).labels(["0", "50", "100"]).style(theme.quiet);
        let chart = Rect { y: left.y + 1, height: left.height.saturating_sub(3), ..left };
        Chart::new(vec![dataset]).style(theme.plain).x_axis(x_axis).y_axis(y_axis).render(chart, buf);

        // ---- how much was done
        let tries: Vec<u64> = (0..i64::from(DAYS))
            .map(|n| progress.tally.by_day.get(&(self.today - i64::from(DAYS) + 1 + n)).map_or(0, |day| day.of.into()))
            .collect();
        let row = Rect { y: left.bottom().saturating_sub(1), height: 1, ..left };
        let x = line(buf, row, "tries ", theme.quiet);
        let room = row.right().saturating_sub(x).min(DAYS);
        let skipped = tries.len().saturating_sub(usize::from(room));
        Sparkline::default().data(&tries[skipped..]).style(theme.number).render(Rect { x, width: room, ..row }, buf);

        // ---- stage by stage
        line(buf, Rect { height: 1, ..right }, "Right in % of the tries, by stage", theme.quiet);
        let wide = usize::from(right.width / 2);
        let bars: Vec<Bar<'_>> = progress
            .stages
            .iter()
            .map(|stage| {
                let mut label = String::new();
                push_cut(&mut label, &stage.title, wide);
                let all = stage.tally.all;
                Bar::default()
                    .value(u64::from(all.per_mille().unwrap_or(0) / 10))
                    .label(Line::from(format!("{label:<wide$}")))
                    .text_value(if all.of == 0 {
                        "–".to_owned()
                    } else {
                        (all.per_mille().unwrap_or(0) / 10).to_string()
                    })
            })
            .collect();
        let chart = Rect { y: right.y + 1, height: right.height.saturating_sub(1), ..right };
        BarChart::default()
            .direction(Direction::Horizontal)
            .bar_width(1)
            .bar_gap(0)
            .max(100)
            .bar_style(theme.number)
            .value_style(theme.chosen)
            .label_style(theme.plain)
            .data(BarGroup::default().bars(&bars))
            .render(chart, buf);
    }

    fn draw_steps(&self, progress: &MethodProgress, buf: &mut Buffer, area: Rect) {
        let theme = &self.theme;
        if area.height < 2 {
            return;
        }
        let wide = usize::from(area.width).saturating_sub(FIGURES_WIDE);
        let head = format!("{:<wide$}{:>9}{:>8}{:>7}{:>8}{:>8}", "Step", "by heart", "right", "time", "trend", "due");
        line(buf, Rect { height: 1, ..area }, &head, theme.quiet);
        let rows = usize::from(area.height - 1);
        let from = self.from.min(progress.steps.len().saturating_sub(rows));
        for (y, step) in (area.y + 1..area.bottom()).zip(progress.steps.iter().skip(from)) {
            let row = Rect { y, height: 1, ..area };
            let mut text = String::new();
            push_cut(&mut text, &step.instruction, wide.saturating_sub(1));
            let is_missed = step.tally.all.right < step.tally.all.of;
            let style = if step.tally.all.of == 0 { theme.quiet } else { theme.plain };
            line(buf, row, &text, style);
            let figures =
                Rect { x: row.right().saturating_sub(FIGURES_WIDE as u16), width: FIGURES_WIDE as u16, ..row };
            let style = if is_missed { theme.warn } else { style };
            line(buf, figures, &self.figures(step), style);
        }
        let hidden = progress.steps.len().saturating_sub(from + rows);
        if hidden > 0 {
            let last = Rect { y: area.bottom() - 1, height: 1, ..area };
            let text = format!("↓ {} more", hidden + 1);
            line(buf, last, &format!("{text:<width$}", width = usize::from(area.width)), theme.quiet);
        }
    }

    fn figures(&self, step: &StepProgress) -> String {
        let Share { right, of } = step.tally.all;
        let time = step.tally.median_ms.map_or_else(|| "–".to_owned(), |ms| format!("{} s", ms.div_ceil(1_000)));
        let due = match step.due.map(|day| day - self.today) {
            None => "new".to_owned(),
            Some(..=0) => "today".to_owned(),
            Some(1) => "1 day".to_owned(),
            Some(days) => format!("{days} days"),
        };
        let trend = match step.tally.trend().words() {
            known @ ("better" | "worse" | "steady") => known,
            _ => "–",
        };
        let right = if of == 0 { "–".to_owned() } else { format!("{right}/{of}") };
        format!("{:>9}{right:>8}{time:>7}{trend:>8}{due:>8}", level(step.level))
    }
}

/// Columns of the figures of a step.
const FIGURES_WIDE: usize = 40;

/// How much is known by heart, as a little bar.
fn level(help: Help) -> &'static str {
    match help {
        Help::Shown => "□□□",
        Help::AfterTry => "■□□",
        Help::StageOnly => "■■□",
        Help::Nothing => "■■■",
    }
}

/// The figures of a method in a line.
fn words(progress: &MethodProgress) -> String {
    let tally = &progress.tally;
    if tally.all.of == 0 {
        return format!("Nothing tried yet. Begin: pourside practice {}", progress.id);
    }
    format!(
        "Met {} of {} · right {} · without help {} · {}",
        progress.begun.right,
        progress.begun.of,
        tally.all.words(),
        tally.unhinted.words(),
        tally.trend().words()
    )
}

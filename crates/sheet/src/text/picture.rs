//! The timeline in characters: `#` hands on it, `-` waiting, `x` discarded, `+` a moment, `]` a time limit that was kept,
//! `!` one that was not, `)` one that is open.

use super::page::Page;
use crate::wrap::{columns as width_of, printable, wrap};
use crate::{BlockKind, Sheet, Timeline, words};

/// Columns of the names.
const NAMES: usize = 22;

/// Columns of the plot.
const PLOT: usize = 74;

pub(super) fn draw(page: &mut Page, sheet: &Sheet) {
    let timeline = &sheet.timeline;
    if timeline.rows.is_empty() {
        return;
    }
    let scale = Scale::of(timeline);
    let zero = timeline.zero.as_ref().map(|zero| format!(" {}", words::at(sheet, zero))).unwrap_or_default();
    page.heading(&format!("TIMELINE, minutes from the last portion{zero}"));
    let mut lines = scale.axis();
    for row in &timeline.rows {
        let mut cells = vec![' '; PLOT];
        if let Some(cell) = cells.get_mut(scale.column(0)) {
            *cell = '.';
        }
        for block in &row.blocks {
            let c = match block.kind {
                BlockKind::Attended => '#',
                BlockKind::Waiting => '-',
                BlockKind::Discarded => 'x',
            };
            let (from, to) = (block.from_s.min(block.to_s), block.from_s.max(block.to_s));
            // A block ends where the next begins: its last column is its own only if nothing follows there.
            let (from, to) = (scale.column(from), scale.column(to));
            for cell in cells.iter_mut().take(to.max(from + 1)).skip(from) {
                *cell = c;
            }
        }
        for mark in &row.marks {
            put(&mut cells, scale.column(mark.at_s), '+');
        }
        for end in &row.windows {
            let c = match end.kept {
                Some(true) => ']',
                Some(false) => '!',
                None => ')',
            };
            put(&mut cells, scale.column(end.closes_at_s), c);
        }
        let names = wrap(&printable(&row.name), &NAMES, width_of);
        let plot: String = cells.into_iter().collect();
        for n in 0..names.len().max(1) {
            let name = names.get(n).map(String::as_str).unwrap_or_default();
            let plot = if n == 0 { plot.as_str() } else { "" };
            let space = " ".repeat(NAMES.saturating_sub(width_of(name)) + 2);
            lines.push(format!("{name}{space}{plot}"));
        }
    }
    lines.push(format!(
        "{}# hands on it   - waiting   x discarded   + moment   limit closes: ] kept  ! late  ) open",
        " ".repeat(2)
    ));
    page.lines(lines);
}

fn put(cells: &mut [char], column: usize, c: char) {
    if let Some(cell) = cells.get_mut(column) {
        *cell = c;
    }
}

struct Scale {
    from_s: i128,
    to_s: i128,
}

impl Scale {
    fn of(timeline: &Timeline) -> Self {
        let blocks = timeline.rows.iter().flat_map(|row| &row.blocks).flat_map(|block| [block.from_s, block.to_s]);
        let marks = timeline.rows.iter().flat_map(|row| &row.marks).map(|mark| mark.at_s);
        let done: Vec<i128> = blocks.chain(marks).chain(timeline.first_portion_s).chain([0]).map(i128::from).collect();
        let from_s = done.iter().copied().min().unwrap_or_default();
        let to_s = done.iter().copied().max().unwrap_or_default();
        Self { from_s, to_s: to_s.max(from_s + 60) }
    }

    /// The column of a second; beyond the ends it is the end.
    fn column(&self, second: i64) -> usize {
        let second = i128::from(second).clamp(self.from_s, self.to_s);
        usize::try_from((second - self.from_s) * (PLOT as i128 - 1) / (self.to_s - self.from_s)).unwrap_or_default()
    }

    /// Minutes over a line of ticks.
    fn axis(&self) -> Vec<String> {
        let minutes = (self.to_s - self.from_s) / 60 + 1;
        let step = [1, 2, 5, 10, 15, 30, 60, 120, 240, 720, 1440, 10_080]
            .into_iter()
            .find(|step| minutes / step <= 10)
            .unwrap_or(minutes / 10);
        let mut labels = vec![' '; PLOT + 8];
        let mut ticks = vec!['-'; PLOT];
        let first = (self.from_s).div_euclid(60 * step) + i128::from(self.from_s.rem_euclid(60 * step) != 0);
        for n in first..=self.to_s.div_euclid(60 * step) {
            let second = i64::try_from(n * step * 60).unwrap_or_default();
            let column = self.column(second);
            put(&mut ticks, column, '|');
            let label = words::minus(&(n * step).to_string());
            let label: Vec<char> = label.chars().collect();
            let start = if label[0] == '\u{2212}' { column.saturating_sub(1) } else { column };
            for (k, c) in label.into_iter().enumerate() {
                put(&mut labels, start + k, c);
            }
        }
        let space = " ".repeat(NAMES + 2);
        let labels: String = labels.into_iter().take(PLOT + 2).collect();
        let ticks: String = ticks.into_iter().collect();
        vec![format!("{space}{}", labels.trim_end()), format!("{space}{ticks}")]
    }
}

//! Lines, tables and pages of plain text.

use super::{PAGE_LINES, WIDTH};
use crate::wrap::{TIE, columns as width_of, printable, wrap};

/// Where words stand in their column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Right,
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    pub(super) width: usize,
    pub(super) align: Align,
}

impl Column {
    pub(super) const fn left(width: usize) -> Self {
        Self { width, align: Align::Left }
    }

    pub(super) const fn right(width: usize) -> Self {
        Self { width, align: Align::Right }
    }
}

/// Lines that stay together on a page if they fit on one.
type Group = Vec<String>;

/// A page, or several, as they fill.
#[derive(Debug, Default)]
pub(super) struct Page {
    groups: Vec<Group>,
    /// Lines are collected into one group until [`Page::keep_end`].
    open: Option<Group>,
    /// A heading waits for the first group under it.
    heading: Group,
    /// The names of columns wait as well.
    names: Group,
}

impl Page {
    fn push(&mut self, lines: Vec<String>) {
        if lines.is_empty() {
            return;
        }
        let lines: Group = std::mem::take(&mut self.heading)
            .into_iter()
            .chain(std::mem::take(&mut self.names))
            .chain(lines)
            .map(|line| line.trim_end().replace(TIE, " "))
            .collect();
        match &mut self.open {
            Some(group) => group.extend(lines),
            None => self.groups.push(lines),
        }
    }

    pub(super) fn keep_start(&mut self) {
        self.keep_end();
        self.open = Some(Group::new());
    }

    pub(super) fn keep_end(&mut self) {
        if let Some(group) = self.open.take().filter(|group| !group.is_empty()) {
            self.groups.push(group);
        }
    }

    /// A blank line, unless the page begins with it.
    pub(super) fn gap(&mut self) {
        self.push(vec![String::new()]);
    }

    pub(super) fn rule(&mut self, c: char) {
        self.push(vec![c.to_string().repeat(WIDTH)]);
    }

    pub(super) fn heading(&mut self, text: &str) {
        let line = format!("{text} {}", "-".repeat(WIDTH.saturating_sub(width_of(text) + 1)));
        self.heading = vec![String::new(), line];
    }

    /// The names over the columns of a table.
    pub(super) fn names(&mut self, columns: &[Column], names: &[&str]) {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        self.names = set(columns, &names, &[]);
    }

    pub(super) fn paragraph(&mut self, text: &str) {
        self.push(wrap(&printable(text), &WIDTH, width_of));
    }

    pub(super) fn indented(&mut self, by: usize, text: &str) {
        let lines = wrap(&printable(text), &(WIDTH - by), width_of);
        self.push(lines.into_iter().map(|line| format!("{}{line}", " ".repeat(by))).collect());
    }

    pub(super) fn labelled(&mut self, name: &str, value: &str) {
        self.push(set(&[Column::left(28), Column::left(70)], &[name.to_owned(), value.to_owned()], &[]));
    }

    /// A text at each end of a line; under each other if they do not fit.
    pub(super) fn ends(&mut self, left: &str, right: &str) {
        let (left, right) = (printable(left), printable(right));
        let (left_width, right_width) = (width_of(&left), width_of(&right));
        if left_width + right_width + 2 <= WIDTH {
            self.push(vec![format!("{left}{}{right}", " ".repeat(WIDTH - left_width - right_width))]);
        } else {
            self.paragraph(&left);
            self.paragraph(&right);
        }
    }

    /// A row of a table, its columns two spaces apart.
    pub(super) fn table(&mut self, columns: &[Column], cells: &[String]) {
        self.push(set(columns, cells, &[]));
    }

    /// A row in which the column `after` is only one space from the next one.
    pub(super) fn table_close(&mut self, columns: &[Column], cells: &[String], after: usize) {
        self.push(set(columns, cells, &[after]));
    }

    /// Lines that are already set.
    pub(super) fn lines(&mut self, lines: Vec<String>) {
        self.push(lines);
    }

    /// The whole, in pages with a line at the foot of each. White lines between the parts give way where that saves a
    /// page.
    pub(super) fn finished(mut self, footer: &str) -> String {
        self.keep_end();
        let airy = parted(&self.groups, true);
        let tight = parted(&self.groups, false);
        let pages = if tight.len() < airy.len() { tight } else { airy };
        let count = pages.len();
        let mut out = String::new();
        for (n, page) in pages.iter().enumerate() {
            for line in page {
                out.push_str(line);
                out.push('\n');
            }
            // Only a page that another follows is filled up to its full length.
            let blank = if n + 1 < count { PAGE_LINES - 1 - page.len() } else { 1 };
            out.push_str(&"\n".repeat(blank));
            let number = format!("page {} of {count}", n + 1);
            let footer = wrap(footer, &(WIDTH - number.len() - 2), width_of).into_iter().next().unwrap_or_default();
            let space = WIDTH.saturating_sub(width_of(&footer) + number.len());
            out.push_str(&format!("{footer}{}{number}\n", " ".repeat(space)));
        }
        out
    }
}

/// Groups of lines on pages, with or without the white lines before headings.
fn parted(groups: &[Group], airy: bool) -> Vec<Group> {
    let room = PAGE_LINES - 2;
    let mut pages: Vec<Group> = vec![Group::new()];
    for group in groups {
        let is_headed = group.len() > 1 && group.first().is_some_and(String::is_empty);
        let group = if is_headed && !airy { group.get(1..).unwrap_or_default() } else { group.as_slice() };
        let left = room - pages.last().map_or(0, Vec::len).min(room);
        if group.len() > left && group.len() <= room {
            pages.push(Group::new());
        }
        for line in group {
            if pages.last().is_some_and(|page| page.len() >= room) {
                pages.push(Group::new());
            }
            if let Some(page) = pages.last_mut().filter(|page| !(page.is_empty() && line.is_empty())) {
                page.push(line.clone());
            }
        }
    }
    pages
}

/// Sets cells into columns, each wrapped in its own. The columns named in `close` are one space from the next instead
/// of two.
fn set(columns: &[Column], cells: &[String], close: &[usize]) -> Vec<String> {
    let wrapped: Vec<Vec<String>> = columns
        .iter()
        .zip(cells)
        .enumerate()
        .map(|(n, (column, cell))| {
            let extra = usize::from(close.contains(&n.wrapping_sub(1)));
            wrap(&printable(cell), &(column.width + extra), width_of)
        })
        .collect();
    let height = wrapped.iter().map(Vec::len).max().unwrap_or_default();
    (0..height)
        .map(|n| {
            let mut line = String::new();
            for (k, (column, cell)) in columns.iter().zip(&wrapped).enumerate() {
                let extra = usize::from(close.contains(&k.wrapping_sub(1)));
                let words = cell.get(n).map(String::as_str).unwrap_or_default();
                let space = " ".repeat((column.width + extra).saturating_sub(width_of(words)));
                match column.align {
                    Align::Left => line.push_str(&format!("{words}{space}")),
                    Align::Right => line.push_str(&format!("{space}{words}")),
                }
                line.push_str(if close.contains(&k) { " " } else { "  " });
            }
            line.trim_end().to_owned()
        })
        .collect()
}

//! The paper in characters.
//!
//! **Invariant:** no line is wider than asked. A table that would be too narrow to read in columns stands as names and
//! values under each other.

use super::{Bar, Bars, Block, Entry, Figure, Holds, Mark, Matrix, Paper, Row, Table, Tone};
use crate::wrap::{TIE, columns as width_of, printable, words, wrap};

/// Columns between two columns.
const GAP: usize = 2;

/// A column of a table is not made narrower than this unless all it holds is.
const LEAST: usize = 9;

pub(super) fn render(paper: &Paper, width: usize) -> String {
    let mut page = Page { width, lines: Vec::new(), headed: 0 };
    page.paragraph(&paper.kind);
    page.paragraph(&paper.title);
    page.paragraph(&paper.subtitle);
    page.rule('=');
    let names = paper.facts.iter().map(|(name, _)| width_of(name)).max().unwrap_or_default();
    for (name, value) in &paper.facts {
        page.labelled(0, names, name, value);
    }
    for block in &paper.blocks {
        page.block(block);
    }
    if !paper.foot.is_empty() {
        page.gap();
        page.rule('-');
        for line in &paper.foot {
            page.paragraph(line);
        }
    }
    let mut out = String::new();
    for line in page.lines {
        out.push_str(line.replace(TIE, " ").trim_end());
        out.push('\n');
    }
    out
}

fn toned(words: &str, tone: Tone) -> String {
    let shape = match tone {
        Tone::Good => "+",
        Tone::Alarm => "!",
        Tone::Plain => "·",
    };
    if words.is_empty() { String::new() } else { format!("{shape}{TIE}{words}") }
}

fn signed(mark: &Mark) -> String {
    let (before, after) = mark.sign.around();
    format!("{before}{}{after}", mark.letters)
}

struct Page {
    width: usize,
    lines: Vec<String>,
    /// How many lines there were when the last heading was set.
    headed: usize,
}

impl Page {
    /// A white line, unless there is one or a heading stands above.
    fn gap(&mut self) {
        if self.lines.len() != self.headed && self.lines.last().is_some_and(|line| !line.is_empty()) {
            self.lines.push(String::new());
        }
    }

    fn rule(&mut self, c: char) {
        self.lines.push(c.to_string().repeat(self.width));
    }

    fn paragraph(&mut self, text: &str) {
        self.hanging(0, "", text);
    }

    /// A text with `first` before its first line and as much space before the others.
    fn hanging(&mut self, by: usize, first: &str, text: &str) {
        let indent = by + width_of(first);
        let room = self.width.saturating_sub(indent).max(2);
        for (n, line) in wrap(&printable(text), &room, width_of).into_iter().enumerate() {
            let before = if n == 0 { format!("{}{first}", " ".repeat(by)) } else { " ".repeat(indent) };
            self.lines.push(format!("{before}{line}"));
        }
    }

    /// A name and what it is the name of, in two columns if there is room.
    fn labelled(&mut self, by: usize, names: usize, name: &str, value: &str) {
        let names = names.min(24);
        if by + names + GAP + 16 > self.width || width_of(&printable(name)) > names {
            let text = if name.is_empty() { value.to_owned() } else { format!("{name}: {value}") };
            return self.hanging(by, "", &text);
        }
        let name = printable(name);
        let first = format!("{name}{}", " ".repeat(names - width_of(&name) + GAP));
        self.hanging(by, &first, value);
    }

    fn caption(&mut self, caption: &str) {
        self.gap();
        self.paragraph(caption);
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => {
                self.gap();
                let lines = wrap(&printable(text), &self.width, width_of);
                let left = self.width.saturating_sub(lines.last().map_or(0, |line| width_of(line)) + 1);
                self.lines.extend(lines);
                if let Some(last) = self.lines.last_mut().filter(|_| left > 1) {
                    last.push(' ');
                    last.push_str(&"-".repeat(left));
                }
                self.headed = self.lines.len();
            }
            Block::Subheading(text) => {
                self.gap();
                self.paragraph(text);
                self.headed = self.lines.len();
            }
            Block::Text(text) | Block::Note(text) => {
                self.gap();
                self.paragraph(text);
            }
            Block::Points(points) => points.iter().for_each(|point| self.hanging(0, "- ", point)),
            Block::Figures(figures) => {
                self.gap();
                for Figure { figure, words, tone } in figures {
                    self.hanging(0, "", &toned(&format!("{figure} {words}"), *tone));
                }
            }
            Block::Entry(entry) => self.entry(entry),
            Block::Table(table) => self.table(table),
            Block::Bars(bars) => self.bars(bars),
            Block::Matrix(matrix) => self.matrix(matrix),
            Block::PageBreak => {
                self.gap();
                self.rule('=');
            }
        }
    }

    fn entry(&mut self, entry: &Entry) {
        self.gap();
        let title = match (entry.mark.is_empty(), entry.title.is_empty()) {
            (false, false) => format!("{}: {}", toned(&entry.mark, entry.tone), entry.title),
            (false, true) => toned(&entry.mark, entry.tone),
            (true, _) => entry.title.clone(),
        };
        let beside = if entry.beside.is_empty() { String::new() } else { format!(" ({})", entry.beside) };
        self.hanging(0, "", &format!("{title}{beside}"));
        let names = entry.lines.iter().map(|(name, _)| width_of(name)).max().unwrap_or_default();
        for (name, value) in entry.lines.iter().filter(|(_, value)| !value.is_empty()) {
            self.labelled(2, names, name, value);
        }
    }

    fn table(&mut self, table: &Table) {
        self.caption(&table.caption);
        let shown = |row: &Row| -> Vec<String> {
            let cells = table.cells(row).into_iter().zip(&table.columns);
            cells
                .map(|(cell, column)| if column.holds == Holds::Verdict { toned(&cell, row.tone) } else { cell })
                .map(|cell| printable(&cell))
                .collect()
        };
        let titles: Vec<String> = table.columns.iter().map(|column| printable(&column.title)).collect();
        let rows: Vec<Vec<String>> = table.rows.iter().map(shown).collect();
        let shares: Vec<usize> =
            table.columns.iter().map(|column| usize::try_from(column.share.max(1)).unwrap_or(1)).collect();
        let right: Vec<bool> = table.columns.iter().map(|column| column.holds == Holds::Number).collect();
        match widths(self.width, &titles, &rows, &shares) {
            Some(widths) => {
                if titles.iter().any(|title| !title.is_empty()) {
                    self.set(&widths, &titles, &right);
                    let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
                    self.set(&widths, &rules, &right);
                }
                for row in &rows {
                    self.set(&widths, row, &right);
                }
            }
            None => {
                for row in &rows {
                    for (n, (title, cell)) in titles.iter().zip(row).enumerate() {
                        if !cell.is_empty() {
                            let text =
                                if n == 0 || title.is_empty() { cell.clone() } else { format!("{title}: {cell}") };
                            self.hanging(if n == 0 { 0 } else { 2 }, "", &text);
                        }
                    }
                }
            }
        }
    }

    /// Cells side by side, each wrapped in its own column.
    fn set(&mut self, widths: &[usize], cells: &[String], right: &[bool]) {
        let wrapped: Vec<Vec<String>> =
            widths.iter().zip(cells).map(|(width, cell)| wrap(cell, width, width_of)).collect();
        for n in 0..wrapped.iter().map(Vec::len).max().unwrap_or_default() {
            let mut line = String::new();
            for (k, (width, cell)) in widths.iter().zip(&wrapped).enumerate() {
                let words = cell.get(n).map(String::as_str).unwrap_or_default();
                let space = " ".repeat(width.saturating_sub(width_of(words)));
                let is_right = right.get(k).copied().unwrap_or_default();
                let (before, after) = if is_right { (space.as_str(), "") } else { ("", space.as_str()) };
                if k > 0 {
                    line.push_str(&" ".repeat(GAP));
                }
                line.push_str(&format!("{before}{words}{after}"));
            }
            self.lines.push(line.trim_end().to_owned());
        }
    }

    fn bars(&mut self, bars: &Bars) {
        self.caption(&bars.caption);
        let longest = |of: &dyn Fn(&Bar) -> usize| bars.rows.iter().map(of).max().unwrap_or_default();
        let names = longest(&|bar| width_of(&printable(&bar.label))).min(self.width * 2 / 5);
        let said = longest(&|bar| width_of(&printable(&bar.words))).min(self.width / 3);
        let plot = self.width.saturating_sub(names + said + 2 * GAP).min(40);
        if plot < 8 {
            for Bar { label, words, .. } in &bars.rows {
                self.hanging(0, "", &format!("{label}: {words}"));
            }
            return;
        }
        let widths = [names, plot, said];
        for bar in &bars.rows {
            let cells = [printable(&bar.label), drawn(bar, plot), printable(&bar.words)];
            self.set(&widths, &cells, &[false; 3]);
        }
        let means = if bars.rows.iter().any(|bar| bar.between.is_some()) {
            "# the share  - the rest  ( ) between which it may well lie"
        } else {
            "# the share  - the rest"
        };
        self.hanging(0, "", means);
    }

    fn matrix(&mut self, matrix: &Matrix) {
        let names: Vec<String> = matrix.rows.iter().map(|(name, _)| printable(name)).collect();
        let widest = names.iter().map(|name| width_of(name)).chain([width_of(&printable(&matrix.corner))]).max();
        let first = widest.unwrap_or_default().clamp(2, (self.width / 3).max(8));
        let breadth = matrix.breadth();
        let marks = matrix.rows.iter().flat_map(|(_, marks)| marks).map(|mark| width_of(&printable(&signed(mark))));
        let heads: Vec<String> = (0..breadth).map(|n| printable(&matrix.column(n))).collect();
        let word = heads.iter().flat_map(|head| words(head)).map(width_of).max().unwrap_or_default();
        let room = self.width.saturating_sub(first + GAP);
        let each = marks.max().unwrap_or_default().max(word.min(12)).clamp(2, room.max(2));
        let most = ((room + GAP) / (each + GAP)).max(1);
        for part in matrix.parts(most) {
            self.caption(&matrix.part_words(&part));
            let widths: Vec<usize> = std::iter::once(first).chain(part.clone().map(|_| each)).collect();
            let row = |name: &str, cells: &dyn Fn(usize) -> String| -> Vec<String> {
                std::iter::once(name.to_owned()).chain(part.clone().map(cells)).collect()
            };
            let left = vec![false; widths.len()];
            self.set(&widths, &row(&printable(&matrix.corner), &|n| heads[n].clone()), &left);
            let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
            self.set(&widths, &rules, &left);
            for (name, (_, marks)) in names.iter().zip(&matrix.rows) {
                let cell = |n: usize| marks.get(n).map(|mark| printable(&signed(mark))).unwrap_or_default();
                self.set(&widths, &row(name, &cell), &left);
            }
        }
        let legend: Vec<String> = matrix
            .legend
            .iter()
            .map(|(mark, words)| format!("{}{TIE}{}", signed(mark), words.replace(' ', &TIE.to_string())))
            .collect();
        if !legend.is_empty() {
            self.gap();
        }
        self.hanging(0, "", &legend.join("   "));
    }
}

/// A bar of `#` and `-` with round brackets where the interval ends.
fn drawn(bar: &Bar, plot: usize) -> String {
    let Some(share) = bar.per_mille else { return String::new() };
    let at = |share: u16, cells: usize| (usize::from(share.min(1000)) * cells + 500) / 1000;
    let filled = at(share, plot);
    let mut cells: Vec<char> = (0..plot).map(|n| if n < filled { '#' } else { '-' }).collect();
    if let Some((low, high)) = bar.between {
        for (share, c) in [(low, '('), (high, ')')] {
            if let Some(cell) = cells.get_mut(at(share, plot - 1)) {
                *cell = c;
            }
        }
    }
    cells.into_iter().collect()
}

/// The width of each column; `None` if they would be too narrow to read.
fn widths(width: usize, titles: &[String], rows: &[Vec<String>], shares: &[usize]) -> Option<Vec<usize>> {
    let n = titles.len();
    if n == 0 {
        return None;
    }
    let room = width.checked_sub(GAP * (n - 1))?;
    let column = |k: usize| titles.get(k).into_iter().chain(rows.iter().filter_map(move |row| row.get(k)));
    let natural: Vec<usize> = (0..n).map(|k| column(k).map(|text| width_of(text)).max().unwrap_or(1).max(1)).collect();
    if natural.iter().sum::<usize>() <= room {
        return Some(natural);
    }
    let longest = |k: usize| column(k).flat_map(|text| words(text)).map(width_of).max().unwrap_or(1);
    let least: Vec<usize> = (0..n).map(|k| longest(k).max(LEAST).min(natural[k]).min(room / 3).max(2)).collect();
    let mut left = room.checked_sub(least.iter().sum())?;
    // What is left goes to the columns that want more, by their shares.
    let mut widths = least;
    while left > 0 {
        let wanting: Vec<usize> = (0..n).filter(|k| widths[*k] < natural[*k]).collect();
        let all: usize = wanting.iter().map(|k| shares[*k]).sum();
        if all == 0 {
            break;
        }
        let before = left;
        for k in &wanting {
            let more = (before * shares[*k] / all).max(1).min(natural[*k] - widths[*k]).min(left);
            widths[*k] += more;
            left -= more;
        }
    }
    Some(widths)
}

#[cfg(test)]
mod tests {
    use super::super::invented;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_text_says_it_in_words_and_signs() {
        insta::assert_snapshot!("paper-text", invented::candidate().text(78));
    }

    #[test]
    fn a_narrow_text_turns_tables_into_names_and_values() {
        let text = invented::candidate().text(30);
        assert!(text.lines().all(|line| width_of(line) <= 30), "{text}");
        assert!(text.contains("Result: ! second trial due"), "{text}");
    }

    #[test]
    fn a_wide_matrix_goes_on_under_itself() {
        let text = invented::wide_matrix(30, 3).text(60);
        assert!(text.contains("columns 1 to ") && text.contains(" to 30 of 30)"), "{text}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn no_line_is_wider_than_asked_and_every_word_is_there(
            paper in invented::any(),
            width in 0_usize..140,
        ) {
            let text = paper.text(width);
            for line in text.lines() {
                prop_assert!(width_of(line) <= width.max(Paper::NARROWEST), "{line:?} at {width}");
            }
            let black = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            prop_assert!(black(&text).contains(&black(&printable(&paper.title))));
        }
    }
}

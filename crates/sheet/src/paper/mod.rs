//! A paper of a few pages to be handed out: headings, texts, tables, bars, a matrix of signs.
//!
//! Here: what a paper says ([`Paper`]) and the three forms it is given in: [`Paper::text`], [`Paper::html`],
//! [`Paper::pdf`]. Whoever fills a paper has decided what it says; nothing here computes with a result.
//!
//! Not here: the sheet of a sample, which has its own places for everything ([`crate::Sheet`]); files.
//!
//! **Invariant:** the three forms say the same words. Nothing is cut off to make it fit, nothing rests on colour alone:
//! a [`Tone`] has a shape beside its words, a [`Sign`] a letter and a shape. The same paper gives the same bytes.

mod html;
mod text;

#[cfg(test)]
pub(crate) mod invented;

pub use crate::words::Tone;

/// What a paper says, from its head to its foot.
///
/// ```
/// use sheet::paper::{Block, Paper, Size};
///
/// let paper = Paper {
///     title: "Candidate 07".into(),
///     facts: vec![("Exam".into(), "Spring round".into())],
///     blocks: vec![Block::Heading("What to practise".into()), Block::Points(vec!["Fill in two layers.".into()])],
///     size: Size::A4,
///     ..Paper::default()
/// };
/// assert!(paper.text(60).contains("Fill in two layers."));
/// assert!(paper.html().starts_with("<!DOCTYPE html>"));
/// assert!(paper.pdf().starts_with(b"%PDF"));
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Paper {
    /// What sort of paper it is, in small letters over the title.
    pub kind: String,
    /// Who or what it is about. In print it stands at the foot of every page as well.
    pub title: String,
    /// A line under the title.
    pub subtitle: String,
    /// Name and value of what is good to know first.
    pub facts: Vec<(String, String)>,
    /// What it says, from top to bottom.
    pub blocks: Vec<Block>,
    /// What is said once at the end, in small letters.
    pub foot: Vec<String>,
    /// The paper it is printed on.
    pub size: Size,
}

/// The size of the paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Size {
    /// 8.5 × 11 in.
    Letter,
    /// 210 × 297 mm.
    #[default]
    A4,
}

/// A part of a paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// Over what follows; never the last on its page.
    Heading(String),
    /// Under a heading, over what follows; never the last on its page.
    Subheading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph in small letters: how something is to be read.
    Note(String),
    /// Points of a list, with a dot before each.
    Points(Vec<String>),
    /// A few large figures side by side, for who reads nothing else.
    Figures(Vec<Figure>),
    /// Something that is told at some length, under a mark and a title of its own.
    Entry(Entry),
    /// Rows under named columns.
    Table(Table),
    /// Shares of a whole, drawn.
    Bars(Bars),
    /// Signs in rows and columns.
    Matrix(Matrix),
    /// What follows begins on a new page.
    PageBreak,
}

/// A large figure with words under it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// A few characters: “5 of 7”.
    pub figure: String,
    /// What it counts.
    pub words: String,
    /// Whether it is as it should be.
    pub tone: Tone,
}

/// Something told at some length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// A word or two for the mark before it: “missed”.
    pub mark: String,
    /// Whether it is as it should be.
    pub tone: Tone,
    /// What it is about.
    pub title: String,
    /// Small words beside the title.
    pub beside: String,
    /// Name and words of what is told, in order; empty words are left out.
    pub lines: Vec<(String, String)>,
}

/// Rows under named columns.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// What the table shows, in a line over it; may be empty.
    pub caption: String,
    /// The columns from left to right.
    pub columns: Vec<Column>,
    /// The rows from top to bottom. Cells beyond the columns are an error of whoever fills the table; they go into the
    /// last column rather than being lost.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What stands over it.
    pub title: String,
    /// What stands in it.
    pub holds: Holds,
    /// How wide it is in relation to the others. Zero is taken as one.
    pub share: u32,
}

impl Column {
    /// A column.
    pub fn new(title: &str, holds: Holds, share: u32) -> Self {
        Self { title: title.to_owned(), holds, share }
    }
}

/// What a column holds, which says how it is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// What the row is about, in strong letters.
    Lead,
    /// Words.
    Words,
    /// Small words.
    Small,
    /// A number, at the right.
    Number,
    /// Words of a verdict, shown with the tone of the row.
    Verdict,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// One text for each column.
    pub cells: Vec<String>,
    /// The tone of the verdict in it.
    pub tone: Tone,
}

/// Shares of a whole.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bars {
    /// What the bars show, in a line over them; may be empty.
    pub caption: String,
    /// From top to bottom.
    pub rows: Vec<Bar>,
}

/// A share of a whole.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bar {
    /// What it is a share of.
    pub label: String,
    /// The share in thousandths; more than 1,000 is drawn as 1,000. `None` draws no bar: there is nothing to draw.
    pub per_mille: Option<u16>,
    /// Between which thousandths it may well lie, drawn as a line with ends.
    pub between: Option<(u16, u16)>,
    /// The share in words, which is what holds: “7 of 12”.
    pub words: String,
}

/// Signs in rows and columns. Too many columns for a page go on in further parts under each other.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Matrix {
    /// What the matrix shows, in a line over it; may be empty.
    pub caption: String,
    /// What stands over the names of the rows.
    pub corner: String,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Name and signs of each row.
    pub rows: Vec<(String, Vec<Mark>)>,
    /// What the signs mean, in words.
    pub legend: Vec<(Mark, String)>,
}

/// A sign in a matrix: a shape by its [`Sign`] and letters beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// The shape.
    pub sign: Sign,
    /// One to three letters or digits.
    pub letters: String,
}

impl Mark {
    /// A sign with letters of its own.
    pub fn new(sign: Sign, letters: &str) -> Self {
        Self { sign, letters: letters.to_owned() }
    }
}

impl From<Sign> for Mark {
    fn from(sign: Sign) -> Self {
        Self::new(sign, sign.letter())
    }
}

/// How a thing in a matrix stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// As it should be: a tick.
    Good,
    /// Not as it should be: a filled field.
    Bad,
    /// Not decided: an empty field.
    Open,
    /// As it should be, but in another way: a dot.
    Told,
    /// Nothing to say: a dash.
    None,
}

impl Sign {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Good, Self::Bad, Self::Open, Self::Told, Self::None];

    /// The letter it has if it is given no other.
    pub fn letter(self) -> &'static str {
        match self {
            Self::Good => "P",
            Self::Bad => "F",
            Self::Open => "O",
            Self::Told => "T",
            Self::None => "–",
        }
    }

    /// The shape as a character, for plain text: before and after the letters.
    pub(crate) fn around(self) -> (&'static str, &'static str) {
        match self {
            Self::Good => ("+", ""),
            Self::Bad => ("[", "]"),
            Self::Open => ("(", ")"),
            Self::Told => ("·", ""),
            Self::None => ("", ""),
        }
    }
}

impl Paper {
    /// The paper as plain text, no line wider than `width` columns. Less than [`Paper::NARROWEST`] is taken as that.
    pub fn text(&self, width: usize) -> String {
        text::render(self, width.max(Self::NARROWEST))
    }

    /// The paper as one page of HTML: no script, nothing loaded from anywhere, everything escaped, made to be printed.
    pub fn html(&self) -> String {
        html::render(self)
    }

    /// The paper as PDF: one page if it fits at a size that is good to read, as many as it takes otherwise.
    pub fn pdf(&self) -> Vec<u8> {
        crate::pdf::render_paper(self)
    }

    /// The least width of the plain text in columns.
    pub const NARROWEST: usize = 24;
}

impl Table {
    /// The cells of a row, one for each column.
    pub(crate) fn cells(&self, row: &Row) -> Vec<String> {
        let columns = self.columns.len().max(1);
        let mut cells: Vec<String> = row.cells.iter().take(columns).cloned().collect();
        cells.resize(columns, String::new());
        if let (Some(last), Some(beyond)) = (cells.last_mut(), row.cells.get(columns..)) {
            for cell in beyond.iter().filter(|cell| !cell.is_empty()) {
                if !last.is_empty() {
                    last.push_str("; ");
                }
                last.push_str(cell);
            }
        }
        cells
    }
}

impl Matrix {
    /// How many columns there are to draw.
    pub(crate) fn breadth(&self) -> usize {
        self.rows.iter().map(|(_, marks)| marks.len()).chain([self.columns.len()]).max().unwrap_or_default()
    }

    /// The columns in parts of about equal size, each of at most `most`.
    pub(crate) fn parts(&self, most: usize) -> Vec<std::ops::Range<usize>> {
        let (breadth, most) = (self.breadth(), most.max(1));
        let parts = breadth.div_ceil(most).max(1);
        let each = breadth.div_ceil(parts).max(1);
        (0..parts).map(|n| n * each..((n + 1) * each).min(breadth)).filter(|part| !part.is_empty()).collect()
    }

    /// The name of a column; one that was not named has its number.
    pub(crate) fn column(&self, n: usize) -> String {
        self.columns.get(n).cloned().unwrap_or_else(|| (n + 1).to_string())
    }

    /// What stands over a part of it.
    pub(crate) fn part_words(&self, part: &std::ops::Range<usize>) -> String {
        let breadth = self.breadth();
        if part.len() == breadth {
            return self.caption.clone();
        }
        let which = format!("columns {} to {} of {breadth}", part.start + 1, part.end);
        if self.caption.is_empty() { which } else { format!("{} ({which})", self.caption) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_row_of_signs_is_parted_evenly_and_none_is_lost() {
        for (n, most, parts) in [(0, 5, vec![]), (5, 5, vec![5]), (6, 5, vec![3, 3]), (23, 10, vec![8, 8, 7])] {
            let matrix = Matrix { columns: vec![String::new(); n], ..Matrix::default() };
            let got: Vec<usize> = matrix.parts(most).into_iter().map(|part| part.len()).collect();
            assert_eq!(got, parts, "{n} columns, at most {most}");
        }
    }

    #[test]
    fn every_sign_differs_by_letter_and_by_shape() {
        for one in Sign::ALL {
            for other in Sign::ALL.into_iter().filter(|other| *other != one) {
                assert_ne!(one.letter(), other.letter());
                assert_ne!(one.around(), other.around(), "{one:?} and {other:?}");
            }
        }
    }

    #[test]
    fn a_cell_too_many_is_not_lost() {
        let table = Table { columns: vec![Column::new("A", Holds::Words, 1)], ..Table::default() };
        let row = Row { cells: vec!["one".into(), "two".into()], tone: Tone::Plain };
        assert_eq!(table.cells(&row), ["one; two"]);
    }
}

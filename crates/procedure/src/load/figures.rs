//! Figures, readings and tables: everything a procedure states before anything is done.
//!
//! **Invariant:** a figure keeps the words it was written in; an instrument's range ends on its marks; the rows of a
//! table rise.

use std::ops::Range;

use quantity::{BadScale, Decimal, Exact, Quantity, Scale, Span, Unit};

use super::fields::{Fields, Reader, shown};
use super::measures::{only_counts, split_unit};
use super::scope::{FigureText, Given, What};
use super::tree::{Entry, Kind, Node};
use crate::diagnose::Diagnostic;
use crate::model::{Between, Beyond, Choice, Figure, Reading, ReadingKind, Table};

const READING_KEYS: &[&str] = &[
    "kind",
    "ask",
    "say",
    "unit",
    "graduation",
    "range",
    "typical",
    "choices",
    "at_most",
    "instrument",
    "shared",
    "source",
];

#[derive(Copy, Clone, PartialEq, Eq)]
enum Asked {
    Number,
    Choice,
    Words,
    Tally,
}

impl Reader<'_> {
    /// Gives a name for use in expressions to something; a name is given once.
    pub fn give(&mut self, entry: &Entry, kind: &str, what: What) {
        let sound = self.snake(&entry.key, entry.key_at.clone(), kind);
        if let Some(first) = self.scope.names.iter().find(|given| given.id == entry.key) {
            let fault = Diagnostic::error("duplicate", format!("the name `{}` is given twice", shown(&entry.key)))
                .at(entry.key_at.clone(), "second time")
                .also(first.at.clone(), "first time here")
                .help("figures, readings, tables, values and results share their names: rename one of the two");
            self.push(fault);
        }
        // A badly formed name was reported; it is known from now on by the one that was proposed.
        let name = if sound { entry.key.clone() } else { super::fields::mended(&entry.key, '_') };
        self.scope.names.push(Given::new(name, entry.key_at.clone(), what));
    }

    /// All `[figure.*]`.
    pub fn figures(&mut self, root: &Fields) {
        for entry in self.named_tables(root, "figure") {
            let id = self.scope.figures.len() as u16;
            self.give(entry, "a figure", What::Figure(id));
            let figure = self.figure(entry);
            self.scope.figures.push(figure);
        }
    }

    fn figure(&mut self, entry: &Entry) -> Option<FigureText> {
        let fields = self.fields(&entry.value, format!("figure `{}`", shown(&entry.key)), &["is", "unit", "source"])?;
        let cites = self.need_cites(&fields, "source");
        let node = fields.need(self, "is", "is = \"0.25 %\"")?;
        let (is, span, text) = self.stated(&fields, node)?;
        Some(FigureText { figure: Figure { id: entry.key.clone(), is, span, cites }, text })
    }

    /// The value of a figure, whether it is a time, and the words it is shown in.
    fn stated(&mut self, fields: &Fields, node: &Node) -> Option<(Quantity, bool, String)> {
        let node = self.pick(node)?;
        let (written, at) = match &node.kind {
            Kind::Text(text) => (text.trim(), node.at.clone()),
            Kind::Number(number) => (number.as_str(), node.at.clone()),
            _ => {
                return self.wrong_kind(
                    node,
                    "is",
                    "a number or a text such as \"0.25 %\"",
                    "write is = \"0.25 %\", or is = 25 with unit = \"stroke\" below",
                );
            }
        };
        if let Ok(span) = written.parse::<Span>() {
            self.unit_twice(fields, written);
            // A span counts at most 2^64 ms; one too long for the whole seconds of an i64 was refused when it was read.
            let millis = i64::try_from(span.as_millis()).ok()?;
            let seconds = Exact::ratio(millis, 1000)?;
            return Some((Quantity::new(seconds, Unit::parse("s").ok()?), true, written.to_owned()));
        }
        let (number, unit) = split_unit(written);
        let beside = match fields.get("unit") {
            Some(_) if !unit.is_empty() && !number.is_empty() => {
                self.unit_twice(fields, written);
                None
            }
            Some(node) => Some(self.unit(node, "unit")?),
            None => None,
        };
        let is = self.quantity(written, at, beside)?;
        let text = if only_counts(is.unit) {
            number.to_owned()
        } else if unit.is_empty() && is.unit != Unit::NONE {
            format!("{number} {}", is.unit)
        } else {
            written.to_owned()
        };
        Some((is, false, text))
    }

    fn unit_twice(&mut self, fields: &Fields, written: &str) {
        if let Some(entry) = fields.entry("unit") {
            self.push(
                Diagnostic::error("unit-twice", format!("{} has its unit twice", fields.what))
                    .at(entry.key_at.clone(), format!("\"{}\" names its unit already", shown(written)))
                    .help("take this line away, or write the number alone"),
            );
        }
    }

    /// All `[reading.*]`.
    pub fn readings(&mut self, root: &Fields) {
        let entries = self.named_tables(root, "reading");
        let entries = entries.as_slice();
        // Questions may mention other readings, so every name is given before the first is read.
        for (id, entry) in entries.iter().enumerate() {
            self.give(entry, "a reading", What::Reading(id as u16));
            self.scope.readings.push(None);
        }
        for (id, entry) in entries.iter().enumerate() {
            self.scope.readings[id] = self.reading(entry);
        }
    }

    fn reading(&mut self, entry: &Entry) -> Option<Reading> {
        let fields = self.fields(&entry.value, format!("reading `{}`", shown(&entry.key)), READING_KEYS)?;
        const KINDS: &[(&str, Asked)] =
            &[("number", Asked::Number), ("choice", Asked::Choice), ("text", Asked::Words), ("tally", Asked::Tally)];
        let asked = match fields.get("kind") {
            Some(node) => self.word(node, "kind", KINDS)?,
            None => self.implied(&fields),
        };
        let (word, belong): (&str, &[&str]) = match asked {
            Asked::Number => ("number", &["unit", "graduation", "range", "typical"]),
            Asked::Choice => ("choice", &["choices"]),
            Asked::Words => ("text", &[]),
            Asked::Tally => ("tally", &["unit", "at_most"]),
        };
        for key in ["unit", "graduation", "range", "typical", "choices", "at_most"] {
            if let Some(entry) = fields.entry(key).filter(|_| !belong.contains(&key)) {
                let fault = Diagnostic::error("unknown-key", format!("a reading of kind \"{word}\" has no `{key}`"))
                    .at(entry.key_at.clone(), format!("means nothing for a {word}"))
                    .help("take the line away, or change `kind`");
                self.push(fault);
            }
        }
        let ask = self.need_text(&fields, "ask", "ask = \"Level in the neck\"");
        let say = self.spoken(&fields, "ask", ask.as_ref());
        let instrument = fields.get("instrument").and_then(|node| self.verbatim_of(node, "instrument"));
        let kind = match asked {
            Asked::Number => self.scale(&fields).map(ReadingKind::Number),
            Asked::Choice => self.choices(&fields).map(ReadingKind::Choice),
            Asked::Words => Some(ReadingKind::Words),
            Asked::Tally => self.tally(&fields),
        };
        let typical = match (&kind, fields.get("typical")) {
            (Some(ReadingKind::Number(scale)), Some(node)) => self.typical(node, scale),
            _ => None,
        };
        let shared = self.shared(&fields);
        if let Some(entry) = fields.entry("shared").filter(|_| asked == Asked::Tally) {
            let fault = Diagnostic::error("unknown-key", "a reading of kind \"tally\" has no `shared`")
                .at(entry.key_at.clone(), "a tally grows one by one: it cannot be answered at once")
                .help("take the line away, or share a number");
            self.push(fault);
        }
        let cites = if matches!(asked, Asked::Number | Asked::Tally) {
            self.need_cites(&fields, "source")
        } else {
            self.cites(&fields, "source")
        };
        let id = entry.key.clone();
        Some(Reading { id, ask: ask.unwrap_or_default(), say, kind: kind?, typical, instrument, shared, cites })
    }

    /// The name under which the runs of one sample share a reading or a result. A procedure uses each name once.
    pub fn shared(&mut self, fields: &Fields) -> Option<String> {
        let (name, at) = self.string(fields.get("shared")?, "shared")?;
        self.kebab(name, at.clone(), "a shared fact");
        if let Some(first) = self.scope.shared.iter().find(|given| given.id == name) {
            let fault = Diagnostic::error("duplicate", format!("`{}` is shared twice", shown(name)))
                .at(at.clone(), "second time")
                .also(first.at.clone(), "first time here")
                .help("a shared fact is one reading or one result of a procedure: take one of the two lines away");
            self.push(fault);
        }
        self.scope.shared.push(Given::new(name, at, ()));
        Some(name.to_owned())
    }

    /// What kind of reading its keys speak of when it does not say.
    fn implied(&mut self, fields: &Fields) -> Asked {
        let has = |key| fields.entry(key);
        let (entry, word, asked) = match (has("choices"), has("at_most").filter(|_| has("range").is_none())) {
            (Some(entry), _) => (entry, "choice", Asked::Choice),
            (None, Some(entry)) => (entry, "tally", Asked::Tally),
            (None, None) => return Asked::Number,
        };
        self.push(
            Diagnostic::error("missing-key", format!("{} has no `kind`, so it is taken for a number", fields.what))
                .at(fields.at.clone(), "`kind` is missing here")
                .also(entry.key_at.clone(), format!("this belongs to a {word}"))
                .help(format!("add a line: kind = \"{word}\"")),
        );
        asked
    }

    fn scale(&mut self, fields: &Fields) -> Option<Scale> {
        let unit = fields.need(self, "unit", "unit = \"%\"").and_then(|node| self.unit(node, "unit"));
        let graduation = fields.need(self, "graduation", "graduation = \"0.25\"");
        let step = graduation.and_then(|node| self.decimal(node, "graduation"));
        let range = fields.need(self, "range", "range = [\"0.00\", \"9.00\"]");
        let range = range.and_then(|node| self.range(node, "range"));
        let (unit, step, (min, max, range_at)) = (unit?, step?, range?);
        let step_at = graduation.and_then(|node| self.pick(node)).map_or(range_at.clone(), |node| node.at.clone());
        match Scale::new(step, min, max, unit) {
            Ok(scale) => Some(scale),
            Err(bad) => {
                let fault = Diagnostic::error("bad-scale", bad.to_string());
                self.push(match bad {
                    BadScale::StepNotAboveZero { .. } => fault
                        .at(step_at, "the distance between two marks")
                        .help("write the smallest division that is read, such as \"0.25\""),
                    BadScale::Backwards { .. } => fault
                        .at(range_at, "expected the low end first")
                        .help(format!("write range = [\"{max}\", \"{min}\"]")),
                    BadScale::EndBetweenMarks { end, step } => {
                        let fault = fault.at(range_at, format!("{end} is not a mark")).also(step_at, "the graduation");
                        match neighbours(end, step) {
                            Some((below, above)) => {
                                fault.help(format!("the marks nearest to it are {below} and {above}"))
                            }
                            None => fault.help("let both ends of the range stand on marks"),
                        }
                    }
                });
                None
            }
        }
    }

    fn range(&mut self, node: &Node, key: &str) -> Option<(Decimal, Decimal, Range<usize>)> {
        const EXAMPLE: &str = "[\"0.00\", \"9.00\"]";
        let (items, at) = self.list(node, key, EXAMPLE)?;
        let [low, high] = items else {
            self.push(
                Diagnostic::error("bad-scale", format!("`{key}` has two ends, and this has {}", items.len()))
                    .at(at, "expected the lowest and the highest reading")
                    .help(format!("write {key} = {EXAMPLE}")),
            );
            return None;
        };
        let (low, high) = (self.decimal(low, key), self.decimal(high, key));
        Some((low?, high?, at))
    }

    /// What is usual on an ordinary job: two marks of the instrument, the lower one first.
    fn typical(&mut self, node: &Node, scale: &Scale) -> Option<(Decimal, Decimal)> {
        let (low, high, at) = self.range(node, "typical")?;
        for end in [low, high] {
            if let Err(fault) = scale.check(&end.into()) {
                self.push(
                    Diagnostic::error("bad-typical", format!("{end} cannot be read on this instrument: {fault}"))
                        .at(at, "expected two marks of the instrument within its range")
                        .help("`typical` says what is usual; every reading must be possible on the instrument"),
                );
                return None;
            }
        }
        if low > high {
            self.push(
                Diagnostic::error("bad-typical", "the lower end comes first")
                    .at(at, "expected the low end first")
                    .help(format!("write typical = [\"{high}\", \"{low}\"]")),
            );
            return None;
        }
        Some((low, high))
    }

    fn tally(&mut self, fields: &Fields) -> Option<ReadingKind> {
        let unit = fields.need(self, "unit", "unit = \"cup\"").and_then(|node| self.unit(node, "unit"));
        let most = fields.need(self, "at_most", "at_most = 12").and_then(|node| self.whole(node, "at_most"));
        Some(ReadingKind::Tally { unit: unit?, at_most: most? })
    }

    fn choices(&mut self, fields: &Fields) -> Option<Vec<Choice>> {
        const EXAMPLE: &str =
            "[{ id = \"yes\", label = \"Yes\", key = \"y\" }, { id = \"no\", label = \"No\", key = \"n\" }]";
        let node = fields.need(self, "choices", &format!("choices = {EXAMPLE}"))?;
        let (items, at) = self.list(node, "choices", EXAMPLE)?;
        if items.len() < 2 {
            self.push(
                Diagnostic::error("bad-choice", "a choice needs at least two answers")
                    .at(at, if items.is_empty() { "no answer here" } else { "only one answer here" })
                    .help(format!("write choices = {EXAMPLE}")),
            );
            return None;
        }
        let mut choices = Vec::new();
        let mut sound = true;
        let mut ids: Vec<(String, Range<usize>)> = Vec::new();
        let mut keys: Vec<(char, Range<usize>)> = Vec::new();
        for item in items {
            let Some(fields) = self.fields(item, "an answer in `choices`", &["id", "label", "key"]) else { continue };
            let id = fields.need(self, "id", "id = \"yes\"").and_then(|node| self.string(node, "id"));
            let label = self.need_plain(&fields, "label", "label = \"Yes, it shows\"");
            let key = fields.need(self, "key", "key = \"y\"").and_then(|node| self.string(node, "key"));
            if let Some((id, at)) = &id {
                self.snake(id, at.clone(), "an answer");
                if let Some((_, first)) = ids.iter().find(|(other, _)| other == id) {
                    sound = false;
                    let fault = Diagnostic::error("duplicate", format!("two answers are called `{}`", shown(id)))
                        .at(at.clone(), "second time")
                        .also(first.clone(), "first time here")
                        .help("every answer has a name of its own");
                    self.push(fault);
                }
                ids.push(((*id).to_owned(), at.clone()));
            }
            let key = key.and_then(|(text, at)| {
                let mut letters = text.chars();
                match (letters.next(), letters.next()) {
                    (Some(key), None) if key.is_ascii_alphanumeric() => Some((key.to_ascii_lowercase(), at)),
                    _ => {
                        self.push(
                            Diagnostic::error("bad-choice", "the key of an answer is one letter or digit")
                                .at(at, format!("\"{}\" is not", shown(text)))
                                .help("choose a key that reminds of the answer, such as key = \"y\""),
                        );
                        None
                    }
                }
            });
            if let Some((key, at)) = &key {
                if let Some((_, first)) = keys.iter().find(|(other, _)| other == key) {
                    sound = false;
                    let fault = Diagnostic::error("duplicate", format!("two answers have the key \"{key}\""))
                        .at(at.clone(), "second time")
                        .also(first.clone(), "first time here")
                        .help("one press must mean one answer: give this answer another key");
                    self.push(fault);
                }
                keys.push((*key, at.clone()));
            }
            if let (Some((id, _)), Some(label), Some((key, _))) = (id, label, key) {
                choices.push(Choice { id: id.to_owned(), label, key });
            }
        }
        (sound && choices.len() == items.len()).then_some(choices)
    }

    /// All `[table.*]`.
    pub fn tables(&mut self, root: &Fields) {
        for entry in self.named_tables(root, "table") {
            let id = self.scope.tables.len() as u16;
            self.give(entry, "a table", What::Table(id));
            let table = self.table(entry);
            self.scope.tables.push(table);
        }
    }

    fn table(&mut self, entry: &Entry) -> Option<Table> {
        const KEYS: &[&str] = &["title", "input", "output", "rows", "between", "below", "beyond", "source"];
        const BETWEEN: &[(&str, Between)] = &[
            ("interpolate", Between::Interpolate),
            ("row-below", Between::RowBelow),
            ("row-above", Between::RowAbove),
            ("refuse", Between::Refuse),
        ];
        const OUTSIDE: &[(&str, Beyond)] = &[("hold", Beyond::Hold), ("refuse", Beyond::Refuse)];
        let fields = self.fields(&entry.value, format!("table `{}`", shown(&entry.key)), KEYS)?;
        let title = self.need_plain(&fields, "title", "title = \"Correction for the alcohol\"");
        let input = fields.need(self, "input", "input = \"pt\"").and_then(|node| self.unit(node, "input"));
        let output = fields.need(self, "output", "output = \"%\"").and_then(|node| self.unit(node, "output"));
        let between =
            fields.need(self, "between", "between = \"interpolate\", or \"row-below\", \"row-above\", \"refuse\"");
        let between_word = between.and_then(|node| self.word(node, "between", BETWEEN));
        let below = fields.need(self, "below", "below = \"refuse\", or \"hold\" for the first row");
        let below = below.and_then(|node| self.word(node, "below", OUTSIDE));
        let beyond = fields.need(self, "beyond", "beyond = \"refuse\", or \"hold\" for the last row");
        let beyond = beyond.and_then(|node| self.word(node, "beyond", OUTSIDE));
        let rows = fields.need(self, "rows", "rows = [[\"2.0\", \"0.0\"], [\"3.0\", \"0.3\"]]");
        let rows_at = rows.map_or(fields.at.clone(), |node| node.at.clone());
        let rows = rows.and_then(|node| self.rows(node));
        let cites = self.need_cites(&fields, "source");
        if between_word == Some(Between::Interpolate) && rows.as_ref().is_some_and(|rows| rows.len() == 1) {
            self.push(
                Diagnostic::error("bad-table", "a table with one row has nothing between its rows")
                    .at(rows_at, "one row")
                    .help("\"interpolate\" needs at least two rows: add a row, or write between = \"refuse\""),
            );
            return None;
        }
        Some(Table {
            id: entry.key.clone(),
            title: title.unwrap_or_default(),
            input: input?,
            output: output?,
            rows: rows?,
            between: between_word?,
            below: below?,
            beyond: beyond?,
            cites,
        })
    }

    fn rows(&mut self, node: &Node) -> Option<Vec<(Exact, Exact)>> {
        const EXAMPLE: &str = "[[\"2.0\", \"0.0\"], [\"3.0\", \"0.3\"]]";
        let (items, at) = self.list(node, "rows", EXAMPLE)?;
        if items.is_empty() {
            self.push(
                Diagnostic::error("bad-table", "this table has no rows")
                    .at(at, "expected at least one row")
                    .help(format!("write rows = {EXAMPLE}")),
            );
            return None;
        }
        let mut rows: Vec<(Exact, Exact)> = Vec::new();
        let mut last_at: Option<Range<usize>> = None;
        let mut sound = true;
        for item in items {
            let Some((columns, at)) = self.list(item, "a row", "[\"2.0\", \"0.0\"]") else {
                sound = false;
                continue;
            };
            let [argument, value] = columns else {
                self.push(
                    Diagnostic::error("bad-table", format!("a row has two columns, and this has {}", columns.len()))
                        .at(at, "expected what is looked up, and what it gives")
                        .help("write a row as [\"2.0\", \"0.0\"]"),
                );
                sound = false;
                continue;
            };
            let argument = self.decimal(argument, "rows").map(Exact::from);
            let value = self.decimal(value, "rows").map(Exact::from);
            let (Some(argument), Some(value)) = (argument, value) else {
                sound = false;
                continue;
            };
            if let Some((last, _)) = rows.last()
                && argument <= *last
            {
                let fault = Diagnostic::error("bad-table", "the rows of a table must rise")
                    .at(at, format!("{argument} does not come after {last}"));
                let fault = match last_at {
                    Some(last_at) => fault.also(last_at, "the row before"),
                    None => fault,
                };
                self.push(fault.help("put the rows in order, the smallest first column on top, each once"));
                sound = false;
                last_at = None;
                continue;
            }
            last_at = Some(at);
            rows.push((argument, value));
        }
        sound.then_some(rows)
    }

    /// What a person is told before relying on the procedure.
    pub fn notice(&mut self, fields: &Fields) -> Option<String> {
        fields.get("notice").and_then(|node| self.plain_of(node, "notice"))
    }
}

/// The marks on both sides of a place between two marks.
fn neighbours(end: Decimal, step: Decimal) -> Option<(Decimal, Decimal)> {
    let marks = end.checked_div(step)?.floor();
    let below = marks.checked_mul(step)?;
    Some((below, below.checked_add(step)?))
}

//! The roster: who takes part.
//!
//! Here: reading a CSV file with a header (`number,name,station,note`), and every fault of it with its line. Not here: the
//! disk, and whether an exam has so many stations ([`Roster::beyond`] asks that).
//!
//! **Invariant:** a number stands for one person. `7` and `07` are the same number, so only one of them can be there.

use procedure::nearest::nearest;

/// Columns of a roster.
const COLUMNS: [&str; 4] = ["number", "name", "station", "note"];
/// Stations are counted up to this.
pub(crate) const STATIONS_AT_MOST: u16 = 12;
/// More people than this nobody examines.
const CANDIDATES_AT_MOST: usize = 2_000;
/// A number is short enough to be called out.
const LONGEST_NUMBER: usize = 12;
/// A name or a note has a line to stand on.
const LONGEST_TEXT: usize = 120;

/// A candidate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The number, such as `07`.
    pub number: String,
    /// The name.
    pub name: String,
    /// The station to begin at, if the roster says.
    pub station: Option<u16>,
    /// A note of the instructor.
    pub note: Option<String>,
    /// The line of the file.
    pub line: usize,
}

/// Everybody who takes part, in the order of the file.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Roster {
    /// The candidates.
    pub candidates: Vec<Candidate>,
}

impl Roster {
    /// The place of the candidate with this number, as it stands on the roster.
    pub fn candidate(&self, number: &str) -> Option<usize> {
        self.candidates.iter().position(|candidate| candidate.number == number)
    }

    /// The faults of a roster beside an exam with so many stations.
    pub fn beyond(&self, stations: u16) -> Vec<RosterFault> {
        let too_far = self.candidates.iter().filter_map(|candidate| {
            let station = candidate.station.filter(|station| *station > stations)?;
            Some(RosterFault {
                line: candidate.line,
                column: Some("station".to_owned()),
                what: format!("{} begins at station {station}, and the exam has {stations}", candidate.name),
                hint: format!("write a station from 1 to {stations}, or raise `stations` in the exam file"),
            })
        });
        too_far.collect()
    }
}

/// A fault of a roster.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}{}: {what}; {hint}", .column.as_ref().map(|column| format!(", {column}")).unwrap_or_default())]
pub struct RosterFault {
    /// The line, from 1.
    pub line: usize,
    /// The column by its name, if it is in one.
    pub column: Option<String>,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub hint: String,
}

impl RosterFault {
    fn at(line: usize, column: Option<&str>, what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { line, column: column.map(str::to_owned), what: what.into(), hint: hint.into() }
    }
}

/// Reads a roster: a header line naming the columns in any order, then a line for each candidate.
///
/// `number` and `name` must be there; `station` and `note` may. Cells are parted by commas or semicolons, whichever the
/// header uses; a cell with one inside stands in quotes. Empty lines are skipped.
///
/// # Errors
///
/// Every fault, in the order of the file.
///
/// ```
/// let roster = exam::roster::read("number,name\n01,Ines Marlowe\n02,Tom Abara\n").unwrap();
/// assert_eq!(roster.candidates[1].name, "Tom Abara");
///
/// let faults = exam::roster::read("number;name\n01;Ines Marlowe\n1;Tom Abara\n").unwrap_err();
/// assert_eq!((faults[0].line, faults[0].what.as_str()), (3, "the number 1 is there twice: line 2 has 01"));
/// ```
pub fn read(text: &str) -> Result<Roster, Vec<RosterFault>> {
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let signs = |sign: char| first.chars().filter(|found| *found == sign).count();
    let delimiter = if signs(';') > signs(',') { ';' } else { ',' };
    let mut faults = Vec::new();
    let rows = rows(text, delimiter, &mut faults);
    let mut rows = rows.into_iter();
    let Some((line, header)) = rows.next() else {
        if faults.is_empty() {
            let hint = "write a first line: number,name,station,note; then a line for each candidate";
            faults.push(RosterFault::at(1, None, "the roster is empty", hint));
        }
        return Err(faults);
    };
    let Some(columns) = columns(line, &header, &mut faults) else { return Err(faults) };
    let mut roster = Roster::default();
    for (line, cells) in rows {
        if cells.len() > columns.len() {
            let what = format!("{} cells stand here, and the header names {}", cells.len(), columns.len());
            let hint = format!("a cell with a {delimiter:?} in it stands in quotes: \"Marlowe{delimiter} Ines\"");
            faults.push(RosterFault::at(line, None, what, hint));
            continue;
        }
        candidate(line, &cells, &columns, &mut roster, &mut faults);
    }
    if roster.candidates.is_empty() && faults.is_empty() {
        faults.push(RosterFault::at(
            line,
            None,
            "nobody stands below the header",
            "write a line such as 01,Ines Marlowe",
        ));
    }
    if roster.candidates.len() > CANDIDATES_AT_MOST {
        let what =
            format!("{} candidates are more than the {CANDIDATES_AT_MOST} an exam takes", roster.candidates.len());
        faults.push(RosterFault::at(line, None, what, "split the roster"));
    }
    faults.sort_by_key(|fault| fault.line);
    if faults.is_empty() { Ok(roster) } else { Err(faults) }
}

/// Which column of [`COLUMNS`] each cell is; `None` for the whole if a candidate cannot be read without.
fn columns(line: usize, header: &[String], faults: &mut Vec<RosterFault>) -> Option<Vec<Option<usize>>> {
    let mut columns: Vec<Option<usize>> = Vec::new();
    for cell in header {
        let name = cell.to_lowercase();
        let known = COLUMNS.iter().position(|column| *column == name);
        if let Some(known) = known
            && columns.contains(&Some(known))
        {
            let what = format!("the column {name} is there twice");
            faults.push(RosterFault::at(line, Some(&name), what, "take one of the two away"));
        } else if known.is_none() {
            let what =
                if cell.is_empty() { "a column has no name".to_owned() } else { format!("there is no column {cell}") };
            let hint = match nearest(&name, COLUMNS) {
                Some(near) => format!("did you mean {near}?"),
                None => format!("columns are {}", COLUMNS.join(", ")),
            };
            faults.push(RosterFault::at(
                line,
                Some(cell).filter(|cell| !cell.is_empty()).map(String::as_str),
                what,
                hint,
            ));
        }
        columns.push(known);
    }
    let missing: Vec<&str> = (0..2).filter(|need| !columns.contains(&Some(*need))).map(|need| COLUMNS[need]).collect();
    if missing.is_empty() {
        return Some(columns);
    }
    let what = format!("the header has no column {}", missing.join(" and no column "));
    faults.push(RosterFault::at(line, None, what, "the first line names the columns: number,name,station,note"));
    None
}

fn candidate(
    line: usize,
    cells: &[String],
    columns: &[Option<usize>],
    roster: &mut Roster,
    faults: &mut Vec<RosterFault>,
) {
    let before = faults.len();
    let cell = |which: usize| {
        let at = columns.iter().position(|column| *column == Some(which))?;
        cells.get(at).map(String::as_str).filter(|cell| !cell.is_empty())
    };
    let number = cell(0).unwrap_or_default().to_owned();
    let fits = |sign: char| sign.is_ascii_alphanumeric() || sign == '-';
    if number.is_empty() {
        faults.push(RosterFault::at(line, Some("number"), "there is no number", "give everybody a number, such as 07"));
    } else if !number.chars().all(fits) || number.len() > LONGEST_NUMBER {
        let what = format!("\"{}\" is no number for a candidate", number.chars().take(20).collect::<String>());
        let hint = format!("up to {LONGEST_NUMBER} digits and plain letters, such as 07 or B-12");
        faults.push(RosterFault::at(line, Some("number"), what, hint));
    } else if let Some(other) = roster.candidates.iter().find(|other| same(&other.number, &number)) {
        let what = format!("the number {number} is there twice: line {} has {}", other.line, other.number);
        faults.push(RosterFault::at(line, Some("number"), what, "give everybody a number of their own"));
    }
    let mut words = |which: usize| {
        let text = cell(which)?;
        let trouble = if text.chars().any(char::is_control) {
            "has a line break or a tabulator in it"
        } else if text.chars().count() > LONGEST_TEXT {
            "is too long"
        } else {
            return Some(text.to_owned());
        };
        let column = COLUMNS[which];
        faults.push(RosterFault::at(
            line,
            Some(column),
            format!("the {column} {trouble}"),
            "write it short, on one line",
        ));
        None
    };
    let name = words(1);
    let note = words(3);
    if cell(1).is_none() {
        faults.push(RosterFault::at(line, Some("name"), "there is no name", "write the candidate's name"));
    }
    let station = cell(2).and_then(|text| {
        let found = text.parse::<u16>().ok().filter(|station| (1..=STATIONS_AT_MOST).contains(station));
        if found.is_none() {
            let what = format!("\"{}\" is no station", text.chars().take(20).collect::<String>());
            let hint = format!("write a number from 1 to {STATIONS_AT_MOST}, or leave the cell empty");
            faults.push(RosterFault::at(line, Some("station"), what, hint));
        }
        found
    });
    // A line with a fault still holds its number, so that a second one like it is found in the same reading.
    if faults.len() == before
        || !number.is_empty() && faults[before..].iter().all(|fault| fault.column.as_deref() != Some("number"))
    {
        roster.candidates.push(Candidate { number, name: name.unwrap_or_default(), station, note, line });
    }
}

/// Whether two numbers would be taken for the same when called out.
fn same(one: &str, other: &str) -> bool {
    let bare = |number: &str| {
        let bare = number.trim_start_matches('0');
        if bare.is_empty() { "0".to_owned() } else { bare.to_lowercase() }
    };
    bare(one) == bare(other)
}

/// Rows that are not empty, each with the line it begins on; cells without the blanks around them.
fn rows(text: &str, delimiter: char, faults: &mut Vec<RosterFault>) -> Vec<(usize, Vec<String>)> {
    let mut rows = Vec::new();
    let mut cells: Vec<String> = Vec::new();
    let mut cell = String::new();
    let (mut line, mut began) = (1, 1);
    let (mut in_quotes, mut was_quoted) = (false, false);
    let mut signs = text.chars().peekable();
    let mut end = |cells: &mut Vec<String>, cell: &mut String, began: usize| {
        cells.push(std::mem::take(cell).trim().to_owned());
        if cells.iter().any(|cell| !cell.is_empty()) {
            rows.push((began, std::mem::take(cells)));
        } else {
            cells.clear();
        }
    };
    let mut quote_line = 1;
    while let Some(sign) = signs.next() {
        match sign {
            '"' if in_quotes && signs.peek() == Some(&'"') => {
                signs.next();
                cell.push('"');
            }
            '"' if in_quotes => in_quotes = false,
            '"' if cell.trim().is_empty() && !was_quoted => {
                cell.clear();
                (in_quotes, was_quoted, quote_line) = (true, true, line);
            }
            '\r' if signs.peek() == Some(&'\n') => {}
            '\n' | '\r' => {
                line += 1;
                if in_quotes {
                    cell.push('\n');
                } else {
                    end(&mut cells, &mut cell, began);
                    (began, was_quoted) = (line, false);
                }
            }
            sign if sign == delimiter && !in_quotes => {
                cells.push(std::mem::take(&mut cell).trim().to_owned());
                was_quoted = false;
            }
            sign => cell.push(sign),
        }
    }
    if in_quotes {
        let what = "a quote is opened here and never closed";
        faults.push(RosterFault::at(quote_line, None, what, "close it with another \", or take it away"));
        // What follows it is one long cell: nothing to read.
        return rows;
    }
    end(&mut cells, &mut cell, began);
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_roster_is_read_however_a_spreadsheet_saves_it() {
        for text in [
            "number,name,station,note\n01,Ines Marlowe,2,\n02,\"Abara, Tom\",,left-handed\n",
            "\u{feff}number;name;station;note\r\n01;Ines Marlowe;2;\r\n\r\n02;\"Abara, Tom\";;left-handed",
            "Name , Number,NOTE,station\n\nInes Marlowe, 01 ,,2\n \"Abara, Tom\" ,02,left-handed\n",
        ] {
            let roster = read(text).unwrap();
            let told: Vec<_> = roster
                .candidates
                .iter()
                .map(|one| (one.number.as_str(), one.name.as_str(), one.station, one.note.as_deref()))
                .collect();
            let tom = ("02", "Abara, Tom", None, Some("left-handed"));
            assert_eq!(told, [("01", "Ines Marlowe", Some(2), None), tom], "{text:?}");
        }
        let quoted = read("number,name\n1,\"The \"\"Rod\"\" Quill\"\n").unwrap();
        assert_eq!(quoted.candidates[0].name, "The \"Rod\" Quill");
    }

    #[test]
    fn every_fault_is_told_at_once_with_its_line() {
        let text =
            "number,nmae,station,note,name\n01,,9,,Ines\n1,,,,Tom\n\n,,,,Ada\n4 a,,,,Bea\n05,,13,,\n06,,,,Cy,more\n";
        let faults = read(text).unwrap_err();
        let told: Vec<String> = faults.iter().map(RosterFault::to_string).collect();
        let told: Vec<&str> = told.iter().map(String::as_str).collect();
        assert_eq!(
            told,
            [
                "line 1, nmae: there is no column nmae; did you mean name?",
                "line 3, number: the number 1 is there twice: line 2 has 01; give everybody a number of their own",
                "line 5, number: there is no number; give everybody a number, such as 07",
                "line 6, number: \"4 a\" is no number for a candidate; up to 12 digits and plain letters, such as 07 or B-12",
                "line 7, name: there is no name; write the candidate's name",
                "line 7, station: \"13\" is no station; write a number from 1 to 12, or leave the cell empty",
                "line 8: 6 cells stand here, and the header names 5; a cell with a ',' in it stands in quotes: \"Marlowe, Ines\"",
            ]
        );
    }

    #[test]
    fn what_is_no_roster_says_what_one_is() {
        for (text, line, what) in [
            ("", 1, "the roster is empty"),
            (" \n\n", 1, "the roster is empty"),
            ("\n01,Ines\n", 2, "there is no column 01"),
            ("number,name\n", 1, "nobody stands below the header"),
            ("number\n01\n", 1, "the header has no column name"),
            ("number,name\n01,\"Ines\n02,Tom\n", 2, "a quote is opened here and never closed"),
            ("number,name,name\n01,Ines,Marlowe\n", 1, "the column name is there twice"),
        ] {
            let faults = read(text).unwrap_err();
            assert_eq!((faults[0].line, faults[0].what.as_str()), (line, what), "{text:?}");
            assert!(faults.iter().all(|fault| !fault.hint.is_empty()));
        }
    }

    #[test]
    fn a_station_the_exam_has_not_is_a_fault_beside_it() {
        let roster = read("number,name,station\n1,Ines,3\n2,Tom,4\n").unwrap();
        let faults = roster.beyond(3);
        assert_eq!(faults.len(), 1);
        assert_eq!((faults[0].line, faults[0].what.as_str()), (3, "Tom begins at station 4, and the exam has 3"));
    }
}

//! From the bytes of a journal to its entries, and the verdict on whatever is not one.
//!
//! Here: pure reading and judging. Not here: files, repair.
//!
//! **Invariant:** the entries returned are exactly the lines before the first byte that is not as it was written.
//! The rest is returned as [`Torn`] or refused as [`Damaged`]; nothing is skipped, nothing is guessed.

use std::path::PathBuf;

use serde::Deserialize;
use serde_json::value::RawValue;

use crate::line::{self, Sum};
use crate::{Damaged, VERSION};

/// One entry, as it stands in the file.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its number, counted from 0.
    pub n: u64,
    /// Its payload, byte for byte as written.
    pub payload: Box<RawValue>,
    /// Its sum, 32 hexadecimal digits, chained to the entry before.
    pub sum: String,
    /// Where its line starts, in bytes from the start of the file.
    pub offset: u64,
}

impl Entry {
    /// The payload's JSON text, byte for byte as written.
    #[must_use]
    pub fn json(&self) -> &str {
        self.payload.get()
    }

    /// The payload as a value of the caller's own.
    ///
    /// # Errors
    /// If the payload is of another shape.
    ///
    /// # Example
    ///
    /// ```
    /// # let folder = tempfile::tempdir()?;
    /// # let path = folder.path().join("run.jsonl");
    /// # journal::Journal::create(&path, &serde_json::json!({"reading": "4.25"}))?;
    /// #[derive(serde::Deserialize)]
    /// struct Reading { reading: String }
    ///
    /// let recovered = journal::read(&path)?;
    /// let first: Reading = recovered.entries[0].read_as()?;
    /// assert_eq!(first.reading, "4.25");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn read_as<'a, T: Deserialize<'a>>(&'a self) -> serde_json::Result<T> {
        serde_json::from_str(self.json())
    }
}

impl PartialEq for Entry {
    fn eq(&self, other: &Self) -> bool {
        (self.n, self.offset, &self.sum, self.json()) == (other.n, other.offset, &other.sum, other.json())
    }
}

impl Eq for Entry {}

/// What a journal holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recovered {
    /// The sound entries, in order; at least one.
    pub entries: Vec<Entry>,
    /// A last entry that could not be kept. Tell the person: it may have been shown as recorded
    /// if [`Torn::complete_line`] is set.
    pub torn: Option<Torn>,
    /// The sum of the last sound entry, which the next one is chained to.
    pub last_sum: String,
}

/// A last piece of the file that is no entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Torn {
    /// The number the entry would have had.
    pub n: u64,
    /// Where the piece starts, in bytes from the start of the file.
    pub offset: u64,
    /// The piece itself.
    pub bytes: Vec<u8>,
    /// False: a write that never finished, so never acknowledged; what a dead battery leaves.
    /// True: the line is as long as a finished one, so it may have been acknowledged and then changed (or the
    /// entry before it was rewritten). Say plainly that the last entry was damaged, and where it is kept.
    pub complete_line: bool,
    /// The side file that holds the piece, once [`Journal::open`](crate::Journal::open) has cut it off.
    pub kept_in: Option<PathBuf>,
}

/// Reads the bytes of a journal. Pure: the same bytes give the same answer, and nothing is repaired.
///
/// The first piece that is not the expected entry decides:
///
/// | piece                         | after it           | verdict                    | how it comes about                     |
/// |-------------------------------|--------------------|----------------------------|----------------------------------------|
/// | good                          | any                | keep                       | the normal case                        |
/// | bad, no newline               | nothing            | torn                       | power lost while writing               |
/// | good, but newline is another byte | nothing        | torn, `complete_line`      | last entry changed afterwards          |
/// | bad, with newline             | nothing            | torn, `complete_line`      | last entry changed afterwards          |
/// | bad                           | good entries       | refused: [`Damaged::Inside`] | edited or decayed; never a torn write |
/// | bad                           | more, none good    | refused: [`Damaged::Inside`] | more than one line is bad; never a torn write |
/// | bad, holds a good entry       | any                | refused: [`Damaged::Inside`] | the newline between two was changed  |
/// | bad, entry 0                  | no good entries    | refused: [`Damaged::NoFirstEntry`] | nothing to resume              |
/// | of a higher version           | any                | refused: [`Damaged::NewerFormat`] | a newer program wrote it        |
///
/// # Errors
///
/// [`Damaged`], as in the table. [`salvage_bytes`] gives the entries before the damage.
///
/// # Example
///
/// ```
/// use journal::{read_bytes, Damaged};
///
/// let bytes = br#"{"v":1,"n":0,"e":{"a":1},"sum":"8109f51d"#; // the battery died here
/// assert_eq!(read_bytes(bytes), Err(Damaged::NoFirstEntry { bytes: 40 }));
/// ```
pub fn read_bytes(bytes: &[u8]) -> Result<Recovered, Damaged> {
    let Scan { entries, last_sum, rest } = scan(bytes);
    match rest {
        Rest::Nothing => Ok(Recovered { entries, torn: None, last_sum: last_sum.as_str().to_owned() }),
        Rest::Torn(torn) => Ok(Recovered { entries, torn: Some(torn), last_sum: last_sum.as_str().to_owned() }),
        Rest::Damaged(damaged) => Err(damaged),
    }
}

/// The sound entries before the first damage, and the damage, if any. For exporting what is left of a journal
/// that [`read_bytes`] refuses; a torn last entry is no damage.
///
/// # Example
///
/// ```
/// let (entries, damaged) = journal::salvage_bytes(b"not a journal");
/// assert!(entries.is_empty() && damaged.is_some());
/// ```
#[must_use]
pub fn salvage_bytes(bytes: &[u8]) -> (Vec<Entry>, Option<Damaged>) {
    let Scan { entries, rest, .. } = scan(bytes);
    match rest {
        Rest::Damaged(damaged) => (entries, Some(damaged)),
        Rest::Nothing | Rest::Torn(_) => (entries, None),
    }
}

struct Scan {
    entries: Vec<Entry>,
    last_sum: Sum,
    rest: Rest,
}

/// What comes after the last sound entry.
enum Rest {
    Nothing,
    Torn(Torn),
    Damaged(Damaged),
}

fn scan(bytes: &[u8]) -> Scan {
    let mut entries = Vec::new();
    let mut last_sum = Sum::ZERO;
    let mut at = 0;
    let mut n = 0;
    while let Some(len) = bytes[at..].iter().position(|b| *b == b'\n') {
        let Some(frame) = line::parse(&bytes[at..at + len]).filter(|f| f.n == n && f.follows(last_sum)) else { break };
        last_sum = frame.sum;
        entries.push(Entry {
            n,
            payload: frame.payload.to_owned(),
            sum: last_sum.as_str().to_owned(),
            offset: at as u64,
        });
        at += len + 1;
        n += 1;
    }
    let rest = match &bytes[at..] {
        [] if n > 0 => Rest::Nothing,
        tail => judge(tail, Place { n, offset: at as u64, previous: last_sum }),
    };
    Scan { entries, last_sum, rest }
}

/// Where the first bad piece stands, and what it should have been.
#[derive(Clone, Copy)]
struct Place {
    n: u64,
    offset: u64,
    previous: Sum,
}

/// The verdict on everything from the first bad piece on; the table is at [`read_bytes`].
fn judge(tail: &[u8], place: Place) -> Rest {
    let Place { n, offset, previous } = place;
    let newline = tail.iter().position(|b| *b == b'\n');
    let (first, later) = match newline {
        Some(len) => (&tail[..len], &tail[len + 1..]),
        None => (tail, &tail[tail.len()..]),
    };
    if let Some(found) = newer_version(first, later, place) {
        return Rest::Damaged(Damaged::NewerFormat { found, line: n + 1 });
    }

    let hidden = if newline.is_some() { entry_glued_into(first, n) } else { Hidden::None };
    let after = good_entries(first, &hidden, later, place);
    // An entry that is whole but for its newline: whatever else follows in the same piece was written later.
    let whole = line::whole_at_start(first, previous);
    let glued_on = whole.map_or(0, |len| tail.len() - len);
    if after == 0 && n == 0 {
        return Rest::Damaged(Damaged::NoFirstEntry { bytes: offset + tail.len() as u64 });
    }
    if after > 0 || !later.is_empty() || glued_on > 1 || matches!(hidden, Hidden::CannotTell) {
        return Rest::Damaged(Damaged::Inside { entry: n, line: n + 1, offset, after });
    }
    let complete_line = newline.is_some() || glued_on == 1;
    Rest::Torn(Torn { n, offset, bytes: tail.to_vec(), complete_line, kept_in: None })
}

/// The version of the first bad piece, if a newer program wrote it.
///
/// A changed digit of a line of our own version must not pass for one: its sum would not fit. A newer format may
/// sum differently, but then it does so from the first line of the file on.
fn newer_version(first: &[u8], later: &[u8], place: Place) -> Option<u64> {
    let found = line::version(first).filter(|v| *v > VERSION)?;
    let sum_fits = line::split_sum(first).is_some_and(|(summed, sum)| Sum::of(place.previous, summed) == sum);
    let all_newer = place.n == 0 && !later.split(|b| *b == b'\n').any(|l| l.starts_with(line::START));
    (sum_fits || all_newer).then_some(found)
}

/// How many whole entries come after the start of the first bad piece.
///
/// An entry counts if its frame is complete, its number is beyond the ones before, and its sum fits the line before
/// it, as far as that can still be told.
fn good_entries(first: &[u8], hidden: &Hidden, later: &[u8], place: Place) -> u64 {
    let mut count = 0;
    let mut highest = place.n;
    // What the next line may be chained to: the sum the bad line carries, or the one its bytes give.
    let mut chained_to: Vec<Sum> = Vec::new();
    if let Some((summed, sum)) = line::split_sum(first) {
        chained_to = vec![sum, Sum::of(place.previous, summed)];
    }
    if let Hidden::Entry(found) = *hidden {
        count += 1;
        highest = found;
    }
    for piece in later.split_inclusive(|b| *b == b'\n') {
        let Some(piece) = piece.strip_suffix(b"\n") else { break };
        let frame = line::parse(piece)
            .filter(|f| f.n > highest && (chained_to.is_empty() || chained_to.iter().any(|sum| f.follows(*sum))));
        if let Some(frame) = frame {
            count += 1;
            highest = frame.n;
        }
        chained_to = line::split_sum(piece).map(|(_, sum)| sum).into_iter().collect();
    }
    count
}

/// Whether a bad line hides a later entry at its end.
enum Hidden {
    None,
    /// The entry of this number.
    Entry(u64),
    /// A file made to be slow to judge.
    CannotTell,
}

/// How many bytes are read at most in search of a hidden entry. A hostile line could make each of many starts cost a
/// reading of all that follows.
const MOST_SEARCHED: usize = 16 << 20;

/// Looks for an entry beyond `n` at the end of a bad line: it stands there if the newline before it was changed.
///
/// A payload that holds what looks like a line is not taken for one: it is closed once more than a line is.
fn entry_glued_into(piece: &[u8], n: u64) -> Hidden {
    let mut searched = 0;
    let mut from = 1;
    while let Some(step) = piece.get(from..).and_then(|rest| line::find(rest, line::START)) {
        let start = from + step;
        if let Some(frame) = line::parse(&piece[start..]).filter(|f| f.n > n) {
            return Hidden::Entry(frame.n);
        }
        searched += piece.len() - start;
        if searched > MOST_SEARCHED {
            return Hidden::CannotTell;
        }
        from = start + line::START.len();
    }
    Hidden::None
}

//! The site file: what a job's specification asks for, and what it is tested with.
//!
//! Holds reading the file ([`check`]) with the same diagnostics as procedures have (several faults at once, each with
//! line, column, the place underlined, what was expected and the nearest known name); what it means once checked
//! ([`Site`]); and what follows from it without any test: shared facts ([`Site::facts`]), samples due
//! ([`Sampling::due`]), limits of delivery ([`Delivery::broken_by`]). The handbook of the file is `crates/bench/SITE.md`.
//!
//! Knows no disk and no clock: text comes in; the day is told.
//!
//! **Invariant:** whatever the text, this returns. Either there is a site, or there is at least one error; and every
//! amount in a site is exact and keeps the text it was written with.

mod delivery;
mod facts;
mod known;
mod limits;
mod model;
mod reader;
mod sampling;
mod sections;

use std::borrow::Cow;

use procedure::diagnose::{Diagnostic, within};
use procedure::nearest::nearest;
use procedure::reading::{self, Part, in_order, said, unreadable};
use toml::de::{DeTable, DeValue};

pub use delivery::{Broken, Load};
pub use facts::Picked;
pub use model::*;
pub use sampling::{Due, Placed};

use crate::calendar::Date;
use reader::{Reader, not_a_date};

/// The version of the site file this program reads.
pub const LANGUAGE: u32 = 1;
/// The longest file, in bytes.
pub const LONGEST_FILE: usize = 1 << 18;

const ROOT_KEYS: &[&str] =
    &["site", "mixture", "limit", "sampling", "apparatus", "technician", "delivery", "figures", "specimens"];

/// What came of reading a site file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// The site, unless there is an error.
    pub site: Option<Site>,
    /// Every fault, in the order of the file; shown by `procedure::diagnose`.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads and checks the text of a site file. `file_name` is not opened; nothing here touches a disk.
///
/// ```
/// let checked = bench::site::check("site.toml", "[site]\nproject = \"Harrow Bend footbridge\"\n");
/// assert_eq!(checked.site.unwrap().project, "Harrow Bend footbridge");
///
/// let checked = bench::site::check("site.toml", "[site]\nprojet = \"Harrow Bend footbridge\"\n");
/// assert!(checked.site.is_none());
/// assert_eq!(checked.diagnostics[0].help[0], "did you mean `project`?");
/// ```
pub fn check(_file_name: &str, text: &str) -> Checked {
    let (site, mut diagnostics) = read(text);
    let sound = in_order(text, &mut diagnostics);
    Checked { site: site.filter(|_| sound), diagnostics }
}

fn read(text: &str) -> (Option<Site>, Vec<Diagnostic>) {
    let begin = "begin with [site], and below it the project: project = \"Harrow Bend footbridge\"";
    if let Some(fault) = unreadable(text, LONGEST_FILE, "a site file", begin) {
        return (None, vec![fault]);
    }
    let mut faults = Vec::new();
    let mut readable = Cow::Borrowed(text);
    loop {
        let (found, whole) = not_toml(&readable);
        if whole {
            faults.extend(found);
            break;
        }
        // A date nobody can keep is no reason to leave the rest of the file unread.
        let (dates, others): (Vec<_>, Vec<_>) =
            found.into_iter().partition(|fault| date_at(&readable, fault).is_some());
        if dates.is_empty() || !others.iter().all(|fault| fault.code == "duplicate") {
            faults.extend(others.into_iter().chain(dates.iter().filter_map(|fault| date_at(&readable, fault))));
            return (None, faults);
        }
        let told: Vec<_> = dates.iter().filter_map(|fault| date_at(&readable, fault)).collect();
        faults.extend(told);
        for fault in dates {
            let at = fault.place();
            let line = text[..at.start].rfind('\n').map_or(0, |newline| newline + 1)
                ..text[at.end..].find('\n').map_or(text.len(), |newline| at.end + newline);
            let blank = " ".repeat(line.len());
            readable.to_mut().replace_range(line, &blank);
        }
    }
    let (root, _) = DeTable::parse_recoverable(&readable);
    let mut reader = Reader::new(text, faults);
    let site = site(&mut reader, root.get_ref());
    (site, reader.file.faults)
}

/// The faults of TOML itself, and whether the file is whole enough to be read further.
///
/// A missing quote is explained in the same words as in a procedure.
fn not_toml(text: &str) -> (Vec<Diagnostic>, bool) {
    let mut faults = reading::not_toml(text);
    let whole = faults.iter().all(|fault| fault.code == "duplicate");
    for fault in &mut faults {
        if fault.code == "too-large" {
            fault.help = vec!["no site file needs so much: look for brackets that are never closed".to_owned()];
        }
    }
    (faults, whole)
}

/// A fault of TOML that is really one of a date without quotes, said as such.
fn date_at(text: &str, fault: &Diagnostic) -> Option<Diagnostic> {
    if fault.code != "not-toml" {
        return None;
    }
    let place = within(text, &fault.place());
    let start = text[..place.start].rfind(|sign: char| "= \t\n".contains(sign)).map_or(0, |before| before + 1);
    let line = text[start..].split('\n').next().unwrap_or_default();
    let written = line.split(|sign: char| sign.is_whitespace() || ",}#".contains(sign)).next().unwrap_or_default();
    let parts: Vec<&str> = written.split(['-', '/', '.']).collect();
    let numbers = parts.iter().all(|part| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit()));
    // "1.2.3" may be the mark of a meter that lacks its quotes.
    let year = parts.iter().any(|part| part.len() == 4);
    let why = written.parse::<Date>().err().filter(|_| parts.len() == 3 && numbers && year)?;
    Some(not_a_date(why, written, start..start + written.len()))
}

fn site<'t>(reader: &mut Reader<'t>, table: &'t DeTable<'t>) -> Option<Site> {
    if table.iter().any(|(key, _)| key.get_ref() == "procedure") {
        reader.file.faults.clear();
        reader.file.push(
            Diagnostic::error("unknown-key", "this is a procedure and no site file")
                .at(
                    reader.file.text.find("[procedure").map_or(0..0, |at| at..at + "[procedure".len()),
                    "the header of a procedure",
                )
                .help("a site file begins with [site]"),
        );
        return None;
    }
    let mut known = ROOT_KEYS.to_vec();
    // Headers with a name of their own are explained as headers, not as keys.
    known.extend(table.iter().map(|(key, _)| key.get_ref().as_ref()).filter(|key| !ROOT_KEYS.contains(key)));
    let mut root = reader.file.table(table, "a site file", 0..0, &known);
    unknown_headers(reader, &mut root, table);
    let head = reader.head(&root)?;
    let mixture = reader.mixture(&root);
    let limits = reader.limits(&root);
    let sampling = reader.sampling(&root);
    let apparatus = reader.apparatus(&root);
    let technicians = reader.technicians(&root);
    let delivery = reader.delivery(&root);
    let figures = reader.figures(&root);
    let specimens = reader.specimens(&root);
    Some(Site {
        project: head.project?,
        location: head.location,
        system: reader.system,
        ties: head.ties,
        conformance: head.conformance,
        purpose: head.purpose,
        people: head.people,
        tests: head.tests,
        mixture,
        limits,
        sampling,
        apparatus,
        technicians,
        delivery,
        figures,
        specimens,
    })
}

fn unknown_headers<'t>(reader: &mut Reader<'t>, root: &mut Part<'t>, table: &'t DeTable<'t>) {
    let there = |name: &str| table.iter().any(|(key, _)| key.get_ref() == name);
    for key in root.keys_mut() {
        let name = key.name.as_str();
        // Without a [site] header its keys stand under none; that is said once, where the header is missed.
        if ROOT_KEYS.contains(&name) || !there("site") && sections::SITE_KEYS.contains(&name) {
            continue;
        }
        let (is_header, is_list) = match key.value.get_ref() {
            DeValue::Table(_) => (true, false),
            DeValue::Array(items) => (items.iter().any(|item| item.get_ref().is_table()), true),
            _ => (false, false),
        };
        let bracketed = |name: &str| if is_list { format!("[[{name}]]") } else { format!("[{name}]") };
        let name = said(&key.name);
        let fault = if is_header {
            Diagnostic::error("unknown-key", format!("a site file has no header {}", bracketed(&name)))
                .at(key.at.clone(), "not a header that means anything")
        } else {
            Diagnostic::error("unknown-key", format!("`{name}` stands under no header"))
                .at(key.at.clone(), "not a key that means anything here")
        };
        let near = nearest(&key.name, ROOT_KEYS.iter().copied());
        let fault = match near {
            Some(near) => fault.help(format!("did you mean {}?", bracketed(near))),
            None if is_header => fault,
            None => fault.help("write the header it belongs to above it, such as [site]"),
        };
        let headers = "[site], [mixture], [[limit]], [sampling], [[apparatus]], [[technician]], [delivery], [figures.METHOD], [specimens]";
        reader.file.push(fault.help(format!("headers that may stand here: {headers}")));
        if let Some(near) = near.filter(|near| !there(near)) {
            key.name = near.to_owned();
        }
    }
}

//! Taking a settings file apart, key by key, and saying what is wrong with it.
//!
//! Here: sections, unknown keys, values that are not possible, faults of TOML itself. Not here: what may stand in it
//! (`table`).
//!
//! **Invariant:** nothing stops at the first fault. Whatever cannot be read is named once, with its line, and left out.

use std::ops::Range;

use procedure::nearest::nearest;
use toml::de::{DeTable, DeValue};

use super::table::SETTINGS;
use super::{Config, MOST_FAULTS};

/// Values are quoted back at most so long.
const LONGEST_QUOTE: usize = 40;

/// Reads the text of a settings file.
pub fn read(text: &str) -> Config {
    let mut config = Config::default();
    let (mended, mut faults) = mended(text);
    let table = table_of(&mended);
    for (section, part) in table.get_ref().iter() {
        let name: &str = section.get_ref();
        let of_section = || SETTINGS.iter().filter(|setting| setting.section == name);
        if of_section().next().is_none() {
            let found = match SETTINGS.iter().find(|setting| setting.key == name) {
                Some(setting) => {
                    format!("{name} belongs under the header [{}]; here it counts as not written.", setting.section)
                }
                None => {
                    let sections = SETTINGS.iter().map(|setting| setting.section);
                    format!("there is no section [{}]{}", quoted_back(name), not_written(name, sections))
                }
            };
            faults.push((section.span(), found));
            continue;
        }
        let DeValue::Table(keys) = part.get_ref() else {
            let found = format!("[{name}] is a section: its keys stand in lines of their own below that header.");
            faults.push((section.span(), found));
            continue;
        };
        for (key, value) in keys.iter() {
            let Some(setting) = of_section().find(|setting| setting.key == &**key.get_ref()) else {
                let near = not_written(key.get_ref(), of_section().map(|setting| setting.key));
                let found = format!("[{name}] has no key “{}”{near}", quoted_back(key.get_ref()));
                faults.push((key.span(), found));
                continue;
            };
            if !(setting.set)(&mut config, value.get_ref()) {
                let range = setting.range;
                let is = quoted_back(text.get(value.span()).unwrap_or(""));
                let found =
                    format!("[{name}] {} = {is} is not possible; {range}. It counts as not written.", setting.key);
                faults.push((key.span(), found));
            }
        }
    }
    config.hands.listens = config.listening.is_any();
    config.faults = in_lines(text, faults);
    config
}

/// What is wrong at a place of the text.
pub(super) type Faults = Vec<(Range<usize>, String)>;

/// The text without the lines that are not written as a settings file is; everything else stays in its place.
///
/// The parser drops whatever follows some slips, so each faulty line is blanked and the rest read anew.
pub(super) fn mended(text: &str) -> (String, Faults) {
    let mut rest = text.to_owned();
    let mut faults = Faults::new();
    for _ in 0..=MOST_FAULTS {
        // The first slip from above: what is found wrong further down may only follow from it.
        let errors = DeTable::parse_recoverable(&rest).1;
        let first = errors.iter().min_by_key(|error| error.span().map_or(0, |span| span.start));
        let Some(error) = first else { return (rest, faults) };
        // At the end of the text, it is the last line.
        let at = error.span().map_or(0, |span| span.start).min(rest.len().saturating_sub(1));
        let message = error.message().lines().next().unwrap_or("not understood").to_owned();
        // A list that is never closed is found out lines later: what is wrong is where it opens.
        let at = if message.contains("array") { opens_list(&rest, at).unwrap_or(at) } else { at };
        let from = rest.as_bytes()[..at].iter().rposition(|byte| *byte == b'\n').map_or(0, |newline| newline + 1);
        let to = rest.as_bytes()[from..].iter().position(|byte| *byte == b'\n').map_or(rest.len(), |line| from + line);
        faults.push((from..to, format!("this is not written as a settings file is: {message}.")));
        if from == to {
            break;
        }
        rest.replace_range(from..to, &" ".repeat(to - from));
    }
    // Something else than settings.
    (String::new(), faults)
}

/// Where the list opens that is still open at a place: the nearest line from there up that begins one and does not end it.
fn opens_list(text: &str, at: usize) -> Option<usize> {
    let mut found = None;
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let is_key = line.split_once('=').is_some_and(|(_, value)| value.trim_start().starts_with('['));
        if is_key && !line.contains(']') && start <= at {
            found = Some(start);
        }
        start += line.len();
    }
    found
}

/// The table of a text that was mended.
pub(super) fn table_of(mended: &str) -> toml::Spanned<DeTable<'_>> {
    DeTable::parse_recoverable(mended).0
}

/// Faults as sentences with their lines, from top to bottom, each line once for faults of the writing.
pub(super) fn in_lines(text: &str, mut faults: Faults) -> Vec<String> {
    faults.sort_by_key(|(at, _)| at.start);
    let line = |at: usize| text.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
    let mut said: Vec<String> = faults.iter().map(|(at, what)| format!("line {}: {what}", line(at.start))).collect();
    said.dedup();
    if said.len() > MOST_FAULTS {
        let more = said.len() - MOST_FAULTS;
        said.truncate(MOST_FAULTS);
        said.push(format!("and {more} more faults"));
    }
    said
}

/// What becomes of an unknown name, and which was perhaps meant.
pub(super) fn not_written<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> String {
    let near = nearest(name, known).map_or_else(String::new, |near| format!(" Did you mean “{near}”?"));
    format!(": it counts as not written.{near}")
}

/// What stands in the file, short and in one line.
pub(super) fn quoted_back(text: &str) -> String {
    let mut out: String =
        text.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).take(LONGEST_QUOTE).collect();
    if text.chars().nth(LONGEST_QUOTE).is_some() {
        out.push('…');
    }
    out
}

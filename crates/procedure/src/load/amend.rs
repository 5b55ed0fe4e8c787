//! Figures set from outside: the text of a procedure with some of its figures replaced.
//!
//! Here: finding the figures and writing the new text. Not here: whether the new text is right; that is for
//! [`check`](super::check), as for any other.
//!
//! **Invariant:** but for the amended figures, their sources and one source entry at the end, every byte of the file
//! stays as it was; so what is kept with a run is what was really used, and reads like what its author wrote.

use std::ops::Range;

use quantity::{System, Unit};

use super::fields::{listed, shown};
use super::measures::split_unit;
use super::tree::{self, Entry, Kind, Node};
use crate::diagnose::{Diagnostic, Severity};
use crate::nearest::nearest;

/// A figure that is set from outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amendment {
    /// The figure's name in the procedure.
    pub figure: String,
    /// What it is to be.
    pub is: Amended,
    /// Why, or by whose word: it stands as the figure's source.
    pub because: String,
}

/// What a figure is to be, written as in a procedure: `0.25 %`, `45 s`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Amended {
    /// The same in every unit system.
    All(String),
    /// For the unit systems named; in the others it stays.
    Each(Vec<(System, String)>),
}

impl From<&str> for Amended {
    fn from(is: &str) -> Self {
        Self::All(is.to_owned())
    }
}

impl Amended {
    fn in_system(&self, system: System) -> Option<&str> {
        match self {
            Self::All(is) => Some(is),
            Self::Each(each) => each.iter().find(|(of, _)| *of == system).map(|(_, is)| is.as_str()),
        }
    }
}

/// Bytes of the file, and what stands there afterwards.
type Change = (Range<usize>, String);

/// The same procedure file with figures replaced, each naming a new source that says why.
///
/// The new text is not checked: a figure that is set to the wrong kind of thing is a fault of the text that comes
/// back, and [`check`](super::check) shows it there. Nothing to amend gives the text unchanged.
///
/// # Errors
///
/// The faults of a text that is no TOML; or one fault for every amendment whose figure the procedure does not have,
/// has in none of the unit systems named, or is amended twice.
///
/// ```
/// use procedure::{Amendment, amend};
///
/// let text = "[figure.wait]\nis = \"30 s\" # a moment\nsource = \"ours\"\n";
/// let longer = Amendment { figure: "wait".into(), is: "45 s".into(), because: "cold weather".into() };
/// let amended = amend("a.toml", text, &[longer]).unwrap();
/// assert!(amended.starts_with("[figure.wait]\nis = \"45 s\" # a moment\nsource = \"site: cold weather\"\n"));
/// ```
pub fn amend(_file_name: &str, text: &str, amendments: &[Amendment]) -> Result<String, Vec<Diagnostic>> {
    if amendments.is_empty() {
        return Ok(text.to_owned());
    }
    let (root, mut faults) = tree::read(text);
    faults.retain(|fault| fault.severity == Severity::Error);
    let root = match root {
        Some(root) if faults.is_empty() => root,
        _ => return Err(faults),
    };
    let systems = systems(&root);
    let figures = root.entry("figure").and_then(Node::entries).unwrap_or_default();
    let source = free_name(&root);
    let mut changes = Vec::new();
    let mut amended: Vec<&str> = Vec::new();
    for amendment in amendments {
        let fault = match figures.iter().find(|entry| entry.key == amendment.figure) {
            None => no_such(figures, &amendment.figure),
            Some(entry) if amended.contains(&amendment.figure.as_str()) => {
                Diagnostic::error("duplicate", format!("the figure `{}` is set twice", shown(&amendment.figure)))
                    .at(entry.key_at.clone(), "two different words about this one")
                    .help("set it once")
            }
            Some(entry) => {
                amended.push(&amendment.figure);
                match figure(text, entry, amendment, &systems, &source) {
                    Ok(of_figure) => {
                        changes.extend(of_figure);
                        continue;
                    }
                    Err(fault) => fault,
                }
            }
        };
        faults.push(fault);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    changes.sort_by_key(|(at, _)| at.start);
    let mut new = String::with_capacity(text.len() + 400);
    let mut kept = 0;
    for (at, put) in changes {
        new.push_str(&text[kept..at.start]);
        new.push_str(&put);
        kept = at.end;
    }
    new.push_str(&text[kept..]);
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    if !new.ends_with('\n') {
        new.push_str(end);
    }
    let title = "title = \"Set for this site, in place of the procedure's own figure\"";
    new.push_str(&format!("{end}[source.{source}]{end}{title}{end}"));
    Ok(new)
}

/// What changes in the file when one figure does.
fn figure(
    text: &str,
    entry: &Entry,
    amendment: &Amendment,
    systems: &[System],
    source: &str,
) -> Result<Vec<Change>, Diagnostic> {
    let part = |key: &str| {
        entry.value.entry(key).ok_or_else(|| {
            Diagnostic::error("missing-key", format!("the figure `{}` has no `{key}`", shown(&entry.key)))
                .at(entry.key_at.clone(), "it cannot be set before it is complete")
                .help("mend the procedure first")
        })
    };
    let (is, cites) = (part("is")?, part("source")?);
    if !systems.iter().any(|system| amendment.is.in_system(*system).is_some()) {
        return Err(Diagnostic::error(
            "unit-system",
            format!("the figure `{}` is set for a unit system this procedure is not stated in", shown(&entry.key)),
        )
        .at(entry.key_at.clone(), "the figure is here")
        .help("set it in the units of the procedure"));
    }
    let unit = entry.value.entry("unit");
    let is_put = |is: &str, system| quoted(without_unit(is, unit, system));
    let site = quoted(&format!("{source}: {}", amendment.because.trim()));
    let mut changes = set(text, is, systems, &|system| amendment.is.in_system(system).map(|is| is_put(is, system)));
    changes.extend(set(text, cites, systems, &|system| amendment.is.in_system(system).map(|_| site.clone())));
    Ok(changes)
}

/// Replaces a value, as a whole or for some unit systems.
fn set(text: &str, node: &Node, systems: &[System], put: &dyn Fn(System) -> Option<String>) -> Vec<Change> {
    let branches = node.entries().unwrap_or_default();
    let by_system = branches.iter().filter_map(|branch| Some((branch, branch.key.parse::<System>().ok()?)));
    let mut changes: Vec<Change> =
        by_system.filter_map(|(branch, system)| Some((branch.value.at.clone(), put(system)?))).collect();
    if !branches.is_empty() {
        return changes;
    }
    let puts: Vec<(System, Option<String>)> = systems.iter().map(|system| (*system, put(*system))).collect();
    let new = match puts.as_slice() {
        [(_, Some(first)), rest @ ..] if rest.iter().all(|(_, put)| put.as_ref() == Some(first)) => first.clone(),
        _ => {
            let was = &text[node.at.clone()];
            let branches = puts.iter().map(|(system, put)| format!("{system} = {}", put.as_deref().unwrap_or(was)));
            format!("{{ {} }}", branches.collect::<Vec<_>>().join(", "))
        }
    };
    changes.push((node.at.clone(), new));
    changes
}

/// A figure without its unit, where the file states the same unit beside it.
fn without_unit<'a>(is: &'a str, beside: Option<&Node>, system: System) -> &'a str {
    let (number, unit) = split_unit(is);
    let beside = beside.and_then(|node| match &node.kind {
        Kind::Text(text) => Some(text),
        Kind::Table(branches) => {
            let branch = branches.iter().find(|branch| branch.key.parse() == Ok(system))?;
            if let Kind::Text(text) = &branch.value.kind { Some(text) } else { None }
        }
        _ => None,
    });
    let is_same = |beside: &String| Unit::parse(beside).is_ok_and(|beside| Unit::parse(unit) == Ok(beside));
    if !unit.is_empty() && beside.is_some_and(is_same) { number } else { is.trim() }
}

fn no_such(figures: &[Entry], name: &str) -> Diagnostic {
    let known = || figures.iter().map(|entry| entry.key.as_str());
    let at = figures.first().map_or(0..0, |entry| entry.key_at.clone());
    let fault = Diagnostic::error("unknown-name", format!("there is no figure called `{}`", shown(name)))
        .at(at, "the figures of this procedure begin here");
    match nearest(name, known()) {
        Some(near) => fault.help(format!("did you mean `{near}`?")),
        None if figures.is_empty() => fault.help("this file defines no figure at all"),
        None => fault.help(format!("there are: {}", listed(known(), 8))),
    }
}

/// The unit systems of the file, as far as they can be read.
fn systems(root: &Node) -> Vec<System> {
    let systems = root.entry("procedure").and_then(|procedure| procedure.entry("systems"));
    let named = match systems.map(|node| &node.kind) {
        Some(Kind::List(items)) => items.as_slice(),
        _ => &[],
    };
    let systems: Vec<System> = named.iter().filter_map(|item| super::texts::as_text(item)?.parse().ok()).collect();
    if systems.is_empty() { vec![System::InchPound, System::Si] } else { systems }
}

/// A name for the new source that no other source has.
fn free_name(root: &Node) -> String {
    let sources = root.entry("source").and_then(Node::entries).unwrap_or_default();
    let is_free = |name: &String| !sources.iter().any(|entry| entry.key == *name);
    let numbered = (2..).map(|n| format!("site-{n}"));
    std::iter::once("site".to_owned()).chain(numbered).find(is_free).unwrap_or_default()
}

/// A text in quotes, as TOML writes it.
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for sign in text.chars() {
        match sign {
            '"' | '\\' => out.extend(['\\', sign]),
            sign if sign.is_control() => out.push(' '),
            sign => out.push(sign),
        }
    }
    out.push('"');
    out
}

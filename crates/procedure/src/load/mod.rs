//! Reading a procedure file: text in, a checked procedure or a list of faults out.
//!
//! The way through: the text becomes a tree of keys and values with their places (`tree`, its faults in `syntax`);
//! the tree is read once for each unit system, by hand and to the end (`fields`, `measures`, `texts`, `sources`,
//! then `figures`, `values`, `consequences`, `steps`, `appointments`); names live in `scope`; what can be shown without running the
//! procedure is shown in `reach`. Beside that way: figures set from outside (`amend`).
//!
//! Not here: expressions ([`crate::expr`]), how faults are shown ([`crate::diagnose`]), files on a disk.
//!
//! **Invariant:** whatever the text, this returns. Either there is a procedure, or there is at least one error.

mod amend;
mod appointments;
mod consequences;
mod fields;
mod figures;
mod measures;
mod reach;
mod scope;
mod sources;
mod steps;
mod syntax;
mod texts;
mod tree;
mod values;

use std::ops::Range;

use quantity::System;

use crate::diagnose::{Diagnostic, Severity};
use crate::expr::Expr;
use crate::model::{Cite, Edition, Procedure, ReadingId, Repeat, Step, TermOf};
use crate::reading::{MOST_FAULTS, in_order, unreadable};
use fields::{Fields, Reader};
use scope::{Scope, What};
use tree::{Kind, Node};

pub use amend::{Amended, Amendment, amend};

/// The version of the procedure language this program reads.
pub const LANGUAGE: u32 = 1;
/// The longest file, in bytes.
pub const LONGEST_FILE: usize = 1 << 20;

/// What came of reading a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// The procedure, unless there is an error.
    pub procedure: Option<Procedure>,
    /// Every fault, in the order of the file.
    pub diagnostics: Vec<Diagnostic>,
}

impl Checked {
    /// Whether the procedure can be used.
    pub fn is_sound(&self) -> bool {
        self.procedure.is_some()
    }
}

/// Reads and checks the text of a procedure file, with its texts in English where there are several languages.
///
/// `file_name` is not opened; nothing here touches a disk.
///
/// ```
/// let checked = procedure::check("empty.toml", "");
/// assert!(checked.procedure.is_none());
/// assert_eq!(checked.diagnostics[0].title, "this file is empty");
/// ```
pub fn check(file_name: &str, text: &str) -> Checked {
    check_in(file_name, text, "en")
}

/// Reads and checks the text of a procedure file, with its texts in `language` where it has them; otherwise in
/// English, otherwise in the first language given.
pub fn check_in(_file_name: &str, text: &str, language: &str) -> Checked {
    let (procedure, mut diagnostics) = read(text, language);
    let sound = in_order(text, &mut diagnostics);
    Checked { procedure: procedure.filter(|_| sound), diagnostics }
}

fn read(text: &str, language: &str) -> (Option<Procedure>, Vec<Diagnostic>) {
    let begin = "begin with a [procedure] header and its id, title, language, version, systems and basis";
    if let Some(fault) = unreadable(text, LONGEST_FILE, "a procedure", begin) {
        return (None, vec![fault]);
    }
    let (root, mut faults) = tree::read(text);
    let Some(root) = root else { return (None, faults) };
    let Some(systems) = head(text, &root, language, &mut faults) else { return (None, faults) };
    let mut editions = Vec::new();
    let mut heads = None;
    let mut found: Vec<(System, Vec<Diagnostic>, Vec<Range<usize>>)> = Vec::new();
    for system in &systems {
        let mut reader = Reader {
            text,
            systems: &systems,
            system: *system,
            language,
            faults: Vec::new(),
            branches: Vec::new(),
            scope: Scope::default(),
        };
        if let Some(edition) = edition(&mut reader, &root) {
            heads.get_or_insert_with(|| (edition.id.clone(), edition.title.clone(), edition.version.clone()));
            editions.push(edition);
        }
        found.push((*system, reader.faults, reader.branches));
    }
    faults.extend(merged(found));
    let procedure = heads.filter(|_| editions.len() == systems.len()).map(|(id, title, version)| Procedure {
        id,
        title,
        version,
        editions,
    });
    (procedure, faults)
}

/// The faults of a text that is no TOML, or has a key or header twice.
pub(crate) fn not_toml(text: &str) -> Vec<Diagnostic> {
    tree::read(text).1
}

const ROOT_KEYS: &[&str] = &[
    "procedure",
    "source",
    "figure",
    "reading",
    "table",
    "value",
    "result",
    "again",
    "incident",
    "limit",
    "stage",
    "appointment",
];

/// The language version and the unit systems, which decide how all the rest is read.
fn head(text: &str, root: &Node, language: &str, faults: &mut Vec<Diagnostic>) -> Option<Vec<System>> {
    let both = [System::InchPound, System::Si];
    let mut reader = Reader {
        text,
        systems: &both,
        system: System::InchPound,
        language,
        faults: Vec::new(),
        branches: Vec::new(),
        scope: Scope::default(),
    };
    let systems = head_of(&mut reader, root);
    faults.append(&mut reader.faults);
    systems
}

fn head_of(reader: &mut Reader, root: &Node) -> Option<Vec<System>> {
    let entries = root.entries()?;
    let near = || entries.iter().find(|entry| crate::nearest::nearest(&entry.key, ["procedure"]).is_some());
    let Some(procedure) = entries.iter().find(|entry| entry.key == "procedure").or_else(near) else {
        reader.push(
            Diagnostic::error("missing-key", "there is no [procedure] header")
                .at(0..0, "expected [procedure] at the top of the file")
                .help("write [procedure], and below it id, title, language, version, systems and basis"),
        );
        return None;
    };
    let systems = head_keys(reader, &procedure.value);
    if systems.is_none() && procedure.key != "procedure" {
        reader.push(
            Diagnostic::error(
                "unknown-key",
                format!("a procedure file has no header [{}]", fields::shown(&procedure.key)),
            )
            .at(procedure.key_at.clone(), "not a header that means anything")
            .help("did you mean [procedure]?"),
        );
    }
    systems
}

fn head_keys(reader: &mut Reader, procedure: &Node) -> Option<Vec<System>> {
    let fields = reader.fields(procedure, "the procedure", PROCEDURE_KEYS)?;
    let language = fields.need(reader, "language", &format!("language = {LANGUAGE}"));
    let language = language.and_then(|node| reader.whole(node, "language").map(|version| (version, node)));
    if let Some((version, node)) = &language
        && *version > LANGUAGE
    {
        reader.push(
            Diagnostic::error(
                "language-version",
                format!("this file is written in version {version} of the procedure language"),
            )
            .at(node.at.clone(), format!("this program reads version {LANGUAGE}"))
            .help("use a newer version of the program; the file itself may be right"),
        );
        // Everything else may mean something else there.
        reader.faults.retain(|fault| fault.code == "language-version");
        return None;
    }
    const EXAMPLE: &str = "[\"inch-pound\", \"SI\"]";
    let node = fields.need(reader, "systems", &format!("systems = {EXAMPLE}"))?;
    let (items, at) = match &node.kind {
        Kind::List(items) => (items, node.at.clone()),
        _ => {
            return reader.wrong_kind(
                node,
                "systems",
                "a list in square brackets",
                format!("write systems = {EXAMPLE}"),
            );
        }
    };
    if items.is_empty() {
        reader.push(
            Diagnostic::error("missing-key", "the procedure is stated in no unit system")
                .at(at, "this list is empty")
                .help(format!("write systems = {EXAMPLE}, or one of the two")),
        );
        return None;
    }
    let mut systems: Vec<System> = Vec::new();
    for item in items {
        let words = [("inch-pound", System::InchPound), ("SI", System::Si)];
        let system = reader.word(item, "systems", &words)?;
        if systems.contains(&system) {
            reader.push(
                Diagnostic::error("duplicate", format!("{system} is named twice"))
                    .at(item.at.clone(), "second time")
                    .help("name each unit system once"),
            );
            return None;
        }
        systems.push(system);
    }
    Some(systems)
}

const PROCEDURE_KEYS: &[&str] = &[
    "id",
    "title",
    "language",
    "version",
    "systems",
    "basis",
    "notice",
    "attempts_at_most",
    "attempts_source",
    "lasts_source",
];

/// One edition, or nothing if anything in it has a fault.
fn edition(reader: &mut Reader, root: &Node) -> Option<Edition> {
    let root = reader.fields(root, "a procedure file", ROOT_KEYS)?;
    // The head was checked before; its faults are not repeated.
    let n_faults = reader.faults.len();
    let procedure = reader.fields(root.get("procedure")?, "the procedure", PROCEDURE_KEYS);
    reader.faults.truncate(n_faults);
    let procedure = procedure?;
    reader.sources(&root);
    let basis = reader.basis(&procedure);
    reader.figures(&root);
    let id = procedure.need(reader, "id", "id = \"air-volumetric\"").and_then(|node| reader.string(node, "id"));
    if let Some((id, at)) = &id {
        reader.kebab(id, at.clone(), "a procedure");
    }
    let title = reader.need_plain(&procedure, "title", "title = \"Air content of fresh concrete\"");
    let version = procedure.need(reader, "version", "version = \"1\"").and_then(|node| reader.string(node, "version"));
    let notice = reader.notice(&procedure);
    let attempts = attempts(reader, &root, &procedure);
    reader.readings(&root);
    reader.tables(&root);
    let (values, results) = reader.values_and_results(&root);
    reader.step_names(&root)?;
    reader.again_names(&root);
    let agains = reader.agains(&root);
    let incidents = reader.incidents(&root);
    let limits = reader.limits(&root);
    let (stages, steps) = reader.stages(&root);
    let appointments = reader.appointments(&root);
    let lasts_cites = lasts_cites(reader, &procedure, &steps);
    let sound = reader.faults.iter().all(|fault| fault.severity != Severity::Error);
    // Beside errors, what nobody uses is mostly what a fault kept from being used.
    if sound {
        unused(reader);
    }
    let scope = &reader.scope;
    let edition = Edition {
        id: id?.0.to_owned(),
        title: title?,
        version: version?.0.to_owned(),
        system: reader.system,
        basis,
        notice,
        attempts_at_most: attempts?,
        lasts_cites,
        sources: scope.sources.iter().map(|source| source.what.clone()).collect(),
        figures: scope.figures.iter().flatten().map(|figure| figure.figure.clone()).collect(),
        readings: scope.readings.iter().flatten().cloned().collect(),
        tables: scope.tables.iter().flatten().cloned().collect(),
        values: values.into_iter().flatten().collect(),
        stages,
        steps: steps.into_iter().flatten().collect(),
        moments: scope::ids(&scope.moments),
        limits: limits.into_iter().flatten().collect(),
        incidents: incidents.into_iter().flatten().collect(),
        agains: agains.into_iter().flatten().collect(),
        results: results.into_iter().flatten().collect(),
        appointments: appointments.into_iter().flatten().collect(),
    };
    if !sound {
        return None;
    }
    let asked = asked(&edition);
    reader.never_read(&edition, &asked);
    Some(edition)
}

/// How many attempts a run may have: stated where there is a way to start again, otherwise one.
fn attempts(reader: &mut Reader, root: &Fields, procedure: &Fields) -> Option<u32> {
    match procedure.get("attempts_at_most") {
        Some(node) => {
            let most = reader.whole(node, "attempts_at_most");
            reader.need_cites(procedure, "attempts_source");
            most
        }
        None if root.get("again").is_some() => {
            procedure.need(reader, "attempts_at_most", "attempts_at_most = 9, with attempts_source beside it");
            None
        }
        None => Some(1),
    }
}

/// Where the durations of the steps come from: stated once a step has one.
fn lasts_cites(reader: &mut Reader, procedure: &Fields, steps: &[Option<Step>]) -> Vec<Cite> {
    let has_durations = steps.iter().flatten().any(|step| step.lasts.is_some());
    if has_durations && procedure.get("lasts_source").is_none() {
        reader.push(
            Diagnostic::error("no-source", "the procedure does not say where the durations of its steps come from")
                .at(procedure.at.clone(), "`lasts_source` is missing here")
                .help("add a line such as: lasts_source = \"ours: estimate of a practised person and of a slow one\""),
        );
    }
    reader.cites(procedure, "lasts_source")
}

/// Names and sources nobody uses.
fn unused(reader: &mut Reader) {
    let mut faults = Vec::new();
    for given in reader.scope.names.iter().filter(|given| !given.used.get()) {
        let kind = match given.what {
            What::Figure(_) => "figure",
            What::Reading(_) => "reading",
            What::Table(_) => "table",
            What::Value(_) => "value",
        };
        faults.push((kind, given.id.clone(), given.at.clone()));
    }
    let agains = reader.scope.agains.iter().filter(|given| !given.used.get());
    faults.extend(agains.map(|given| ("way to start again", given.id.clone(), given.at.clone())));
    let sources = reader.scope.sources.iter().filter(|given| !given.used.get());
    faults.extend(sources.map(|given| ("source", given.id.clone(), given.at.clone())));
    for (kind, id, at) in faults {
        reader.push(
            Diagnostic::warning("unused", format!("nobody uses the {kind} `{id}`"))
                .at(at, "defined here, and named nowhere else")
                .help("use it, or take it away"),
        );
    }
}

/// Every reading whose latest value is asked for anywhere.
fn asked(edition: &Edition) -> Vec<ReadingId> {
    let mut found = Vec::new();
    for value in &edition.values {
        collect(&value.is, &mut found);
    }
    for step in &edition.steps {
        step.when.iter().for_each(|when| collect(when, &mut found));
        step.needs.iter().for_each(|need| collect(&need.that, &mut found));
        step.rules.iter().for_each(|rule| collect(&rule.when, &mut found));
    }
    for stage in &edition.stages {
        if let Some(Repeat::Times(times)) = &stage.repeat {
            collect(&times.times, &mut found);
        }
    }
    for appointment in &edition.appointments {
        appointment.when.iter().for_each(|when| collect(when, &mut found));
        if let Some(TermOf::Reading(id)) = appointment.count {
            found.push(id);
        }
    }
    for result in &edition.results {
        result.when.iter().for_each(|when| collect(when, &mut found));
        result.rules.iter().for_each(|rule| collect(&rule.when, &mut found));
    }
    for change in edition.agains.iter().filter_map(|again| again.change.as_ref()) {
        collect(&change.require, &mut found);
        found.push(change.reading);
    }
    found.sort_unstable();
    found.dedup();
    found
}

fn collect(expr: &Expr, found: &mut Vec<ReadingId>) {
    match expr {
        Expr::Reading(id) | Expr::Was(id) | Expr::Sum(id) | Expr::Known(id) => found.push(*id),
        Expr::Table(_, inner) | Expr::Negative(inner) | Expr::Not(inner) | Expr::Abs(inner) | Expr::Sqrt(inner) => {
            collect(inner, found);
        }
        Expr::Two(_, left, right) => {
            collect(left, found);
            collect(right, found);
        }
        Expr::If(condition, then, otherwise) => {
            collect(condition, found);
            collect(then, found);
            collect(otherwise, found);
        }
        _ => {}
    }
}

/// The faults of all editions, each once. One that only some editions have says which.
fn merged(editions: Vec<(System, Vec<Diagnostic>, Vec<Range<usize>>)>) -> Vec<Diagnostic> {
    let n_editions = editions.len();
    let mut all: Vec<(Diagnostic, Vec<System>, bool)> = Vec::new();
    for (system, faults, branches) in editions {
        for fault in faults {
            let place = fault.place();
            let inside = branches.iter().any(|branch| branch.start <= place.start && place.end <= branch.end);
            let same = all.iter_mut().find(|(other, systems, _)| {
                !systems.contains(&system) && other.code == fault.code && other.place() == place
            });
            match same {
                Some((_, systems, _)) => systems.push(system),
                None => all.push((fault, vec![system], inside)),
            }
        }
    }
    all.into_iter()
        // What one edition uses is used.
        .filter(|(fault, systems, _)| fault.code != "unused" || systems.len() == n_editions)
        .map(|(fault, systems, inside)| match systems.as_slice() {
            [only] if n_editions > 1 && !inside && !fault.title.contains(&format!("{only} edition")) => {
                fault.help(format!("only the {only} edition has this fault"))
            }
            _ => fault,
        })
        .collect()
}

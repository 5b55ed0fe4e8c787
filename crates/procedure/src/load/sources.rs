//! Where figures come from: the sources of a procedure, and the references to them.
//!
//! **Invariant:** whatever carries a figure names at least one source that is defined; whoever reads the file can
//! follow every number to where it was taken from.

use super::fields::{Fields, Reader, shown};
use super::scope::{Given, ids};
use super::texts::as_text;
use super::tree::{Kind, Node};
use crate::diagnose::Diagnostic;
use crate::model::{Basis, Cite, Source};

impl Reader<'_> {
    /// All `[source.*]`.
    pub fn sources(&mut self, root: &Fields) {
        for entry in self.named_tables(root, "source") {
            self.kebab(&entry.key, entry.key_at.clone(), "a source");
            let fields =
                self.fields(&entry.value, format!("source `{}`", shown(&entry.key)), &["title", "edition", "note"]);
            let mut source = Source { id: entry.key.clone(), title: String::new(), edition: None, note: None };
            if let Some(fields) = fields {
                source.title = self.verbatim(&fields, "title", "title = \"Name of the document\"").unwrap_or_default();
                source.edition = fields.get("edition").and_then(|node| self.verbatim_of(node, "edition"));
                source.note = fields.get("note").and_then(|node| self.verbatim_of(node, "note"));
            }
            self.scope.sources.push(Given::new(entry.key.clone(), entry.key_at.clone(), source));
        }
    }

    /// The standards a procedure follows.
    pub fn basis(&mut self, fields: &Fields) -> Vec<Basis> {
        const EXAMPLE: &str = "[{ designation = \"ASTM C173/C173M\", edition = \"2016\" }]";
        let Some(node) = fields.need(self, "basis", &format!("basis = {EXAMPLE}")) else { return Vec::new() };
        let Some((items, at)) = self.list(node, "basis", EXAMPLE) else { return Vec::new() };
        if items.is_empty() {
            self.push(
                Diagnostic::error("missing-key", "the procedure names no standard it follows")
                    .at(at, "this list is empty")
                    .help(format!("write basis = {EXAMPLE}; a method of your own has your own designation")),
            );
        }
        let mut basis = Vec::new();
        for item in items {
            let Some(fields) = self.fields(item, "a standard in `basis`", &["designation", "edition"]) else {
                continue;
            };
            let designation = self.verbatim(&fields, "designation", "designation = \"ASTM C173/C173M\"");
            let edition = fields.get("edition").and_then(|node| self.verbatim_of(node, "edition"));
            basis.extend(designation.map(|designation| Basis { designation, edition }));
        }
        basis
    }

    /// The sources of something that carries a figure.
    pub fn need_cites(&mut self, fields: &Fields, key: &str) -> Vec<Cite> {
        if fields.get(key).is_none() {
            let known: Vec<&str> = self.scope.sources.iter().map(|source| source.id.as_str()).collect();
            let example = known.first().unwrap_or(&"ours");
            let comes = if fields.what.starts_with("step") { "its figures come" } else { "it comes" };
            let mut fault = Diagnostic::error("no-source", format!("{} does not say where {comes} from", fields.what))
                .at(fields.at.clone(), format!("`{key}` is missing here"))
                .help(format!("add a line such as: {key} = \"{example}: section and step\""));
            fault = if known.is_empty() {
                fault.help("define the source first: [source.ours] with title = \"Chosen for this procedure\"")
            } else {
                fault.help(format!(
                    "the word before the colon is a source of this file: {}",
                    super::fields::listed(known, 8)
                ))
            };
            self.push(fault);
        }
        self.cites(fields, key)
    }

    /// The sources of something, if it names any.
    pub fn cites(&mut self, fields: &Fields, key: &str) -> Vec<Cite> {
        let Some(node) = fields.get(key).and_then(|node| self.pick(node)) else { return Vec::new() };
        match &node.kind {
            Kind::Text(_) => self.cite(node).into_iter().collect(),
            Kind::List(items) if !items.is_empty() => items.iter().filter_map(|item| self.cite(item)).collect(),
            _ => {
                self.push(
                    Diagnostic::error("wrong-kind", format!("`{key}` must be a text, or a list of texts"))
                        .at(
                            node.at.clone(),
                            if matches!(node.kind, Kind::List(_)) { "this list is empty" } else { node.described() },
                        )
                        .help(format!(
                            "write {key} = \"manual: step 16\", or several: {key} = [\"manual: step 16\", \"ours: …\"]"
                        )),
                );
                Vec::new()
            }
        }
    }

    fn cite(&mut self, node: &Node) -> Option<Cite> {
        let Some(text) = as_text(node) else {
            return self.wrong_kind(node, "source", "text in quotes", "write \"manual: step 16\"");
        };
        let (id, place) = match text.split_once(':') {
            Some((id, place)) => (id.trim(), Some(place.trim()).filter(|place| !place.is_empty())),
            None => (text.trim(), None),
        };
        let Some(found) = self.scope.sources.iter().position(|source| source.id == id) else {
            let known = ids(&self.scope.sources);
            // Without any source every reference would be a fault: the first one says it for all.
            if known.is_empty()
                && self.faults.iter().any(|fault| fault.code == "unknown-name" && fault.title.contains("no source"))
            {
                return None;
            }
            self.unknown("source", id, node.at.clone(), &known);
            return None;
        };
        self.scope.sources[found].used.set(true);
        Some(Cite { source: found as u16, place: place.map(str::to_owned) })
    }
}

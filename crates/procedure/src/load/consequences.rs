//! What follows: refusals, findings, discards, ways back, ways to start again; limits and incidents.
//!
//! **Invariant:** every rule has exactly one consequence, and every way back or again leads somewhere.

use quantity::Unit;

use super::fields::{Fields, Reader, shown};
use super::scope::{Given, What, ids};
use super::tree::{Entry, Node};
use crate::diagnose::Diagnostic;
use crate::expr::Want;
use crate::model::{
    Again, Change, Consequence, Ending, EndingKind, Incident, Limit, ReadingId, ReadingKind, Rule, StepId,
};

/// The keys of a rule.
pub(super) const RULE_KEYS: &[&str] = &["if", "refuse", "finding", "back", "discard", "void", "again", "source"];

/// Where a consequence stands, which decides what it may be.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// A rule of a step; `reads` if something is read in it that can be refused.
    Step { id: StepId, reads: bool },
    /// A rule of a result.
    Result,
    /// A limit across steps, or a measured duration.
    Time,
    /// Where only the end of the attempt makes sense.
    Ending,
}

impl Place {
    fn allows(self, key: &str) -> bool {
        match (self, key) {
            (Place::Step { reads, .. }, "refuse") => reads,
            (Place::Step { .. }, _) => true,
            (Place::Result, key) => key == "finding",
            (Place::Time, key) => matches!(key, "finding" | "discard" | "void"),
            (Place::Ending, key) => matches!(key, "discard" | "void"),
        }
    }

    fn choices(self) -> &'static str {
        match self {
            Place::Step { reads: true, .. } => {
                "refuse = \"…\" (read again), finding = \"…\" (note it, go on), discard = \"…\" or void = \"…\" (end the attempt)"
            }
            Place::Step { reads: false, .. } | Place::Time => {
                "finding = \"…\" (note it, go on), discard = \"…\" or void = \"…\" (end the attempt)"
            }
            Place::Result => "finding = \"…\" (note it in the report)",
            Place::Ending => "discard = \"…\" (stopped on the way) or void = \"…\" (found worthless afterwards)",
        }
    }
}

impl Reader<'_> {
    /// A rule of a step or a result.
    pub fn rule(&mut self, fields: &Fields, place: Place) -> Option<Rule> {
        let when = fields.need(self, "if", "if = \"level > 9 %\"");
        let n_values = self.scope.values.len();
        let when = when.and_then(|node| self.expression(node, "if", Want::Truth, n_values));
        let then = self.consequence(fields, place);
        let cites = self.need_cites(fields, "source");
        Some(Rule { when: when?.expr, then: then?, cites })
    }

    /// What follows; exactly one thing does.
    pub fn consequence(&mut self, fields: &Fields, place: Place) -> Option<Consequence> {
        let mut found: Vec<&Entry> =
            ["refuse", "finding", "discard", "void"].iter().filter_map(|key| fields.entry(key)).collect();
        found.sort_by_key(|entry| entry.key_at.start);
        let back = fields.entry("back");
        let again = fields.entry("again");
        let mut sound = true;
        for entry in found.iter().copied().chain(back).filter(|entry| !place.allows(&entry.key)) {
            sound = false;
            self.push(misplaced(entry, place));
        }
        if let [first, second, ..] = found[..] {
            self.push(
                Diagnostic::error(
                    "bad-consequence",
                    format!("only one thing can follow, and {} says two", fields.what),
                )
                .at(second.key_at.clone(), format!("`{}` as well", second.key))
                .also(first.key_at.clone(), format!("`{}` here", first.key))
                .help("keep one of the two; two things that follow are two rules"),
            );
            return None;
        }
        let Some(entry) = found.first().copied() else {
            let fault = Diagnostic::error("bad-consequence", format!("{} does not say what follows", fields.what));
            self.push(match (back, again) {
                (Some(back), _) => fault
                    .at(back.key_at.clone(), "going back has an end, and then the attempt ends")
                    .help("add what follows when it was gone back often enough: discard = \"…\""),
                (None, Some(again)) => fault
                    .at(again.key_at.clone(), "starting again comes after discard or void")
                    .help("add: discard = \"…\""),
                (None, None) => fault
                    .at(fields.at.clone(), "nothing follows from this")
                    .help(format!("add one of: {}", place.choices())),
            });
            return None;
        };
        let text = self.text_of(&entry.value, &entry.key);
        if !sound {
            return None;
        }
        let kind = match entry.key.as_str() {
            "discard" => Some(EndingKind::Discard),
            "void" => Some(EndingKind::Void),
            _ => None,
        };
        let Some(kind) = kind else {
            for extra in again.into_iter().chain(back) {
                sound = false;
                self.push(
                    Diagnostic::error("bad-consequence", format!("`{}` only goes with `discard` or `void`", extra.key))
                        .at(extra.key_at.clone(), "the attempt does not end here")
                        .also(entry.key_at.clone(), format!("because of this `{}`", entry.key))
                        .help(format!(
                            "take `{}` away, or write discard = \"…\" instead of `{}`",
                            extra.key, entry.key
                        )),
                );
            }
            let text = text.filter(|_| sound)?;
            return Some(if entry.key == "refuse" { Consequence::Refuse(text) } else { Consequence::Finding(text) });
        };
        let again = again.map(|entry| self.again_named(&entry.value));
        let back = back.map(|entry| self.back(&entry.value, place));
        let ending = Ending { kind, because: text?, again: again.flatten() };
        Some(match back {
            None => Consequence::End(ending),
            Some(back) => {
                let (to, at_most) = back?;
                Consequence::Back { to, at_most, otherwise: ending }
            }
        })
    }

    /// The end of an attempt, where nothing else can follow.
    pub fn ending(&mut self, fields: &Fields) -> Option<Ending> {
        match self.consequence(fields, Place::Ending)? {
            Consequence::End(ending) => Some(ending),
            _ => None,
        }
    }

    fn again_named(&mut self, node: &Node) -> Option<crate::model::AgainId> {
        let (name, at) = self.string(node, "again")?;
        let found = self.scope.again(name);
        if found.is_none() {
            let known = ids(&self.scope.agains);
            self.unknown("way to start again", name, at, &known);
        }
        found
    }

    fn back(&mut self, node: &Node, place: Place) -> Option<(StepId, u32)> {
        let Place::Step { id: here, .. } = place else { return None };
        let fields = self.fields(node, "`back`", &["to", "at_most"])?;
        let at_most = fields.need(self, "at_most", "at_most = 5, so that every attempt ends");
        let at_most = at_most.and_then(|node| self.count(node, "at_most", None));
        let to = fields.need(self, "to", "to = \"invert\"")?;
        let (id, at) = self.step_named(to, "to")?;
        let stage = self.scope.steps.get(here.0 as usize).map(|step| step.what.stage);
        let same_stage = self.scope.steps.get(id.0 as usize).map(|step| step.what.stage) == stage;
        if id >= here || !same_stage {
            let label = if !same_stage {
                "this step is in another stage"
            } else if id == here {
                "this is the step itself"
            } else {
                "this step comes later"
            };
            let earlier: Vec<String> = self.scope.steps[..here.0 as usize]
                .iter()
                .filter(|step| Some(step.what.stage) == stage)
                .map(|step| step.id.clone())
                .collect();
            let fault =
                Diagnostic::error("wrong-order", "`back` leads to an earlier step of the same stage").at(at, label);
            let fault = match self.scope.steps.get(id.0 as usize) {
                Some(step) if id != here => fault.also(step.at.clone(), "the step is here"),
                _ => fault,
            };
            self.push(if earlier.is_empty() {
                fault.help("this is the first step of its stage: nothing can be gone back to")
            } else {
                fault.help(format!("steps before it: {}", super::fields::listed(earlier.iter().map(String::as_str), 8)))
            });
            return None;
        }
        Some((id, at_most?))
    }

    /// The step a value names.
    pub fn step_named(&mut self, node: &Node, key: &str) -> Option<(StepId, std::ops::Range<usize>)> {
        let (name, at) = self.string(node, key)?;
        match self.scope.step(name) {
            Some(id) => Some((id, at)),
            None => {
                let known = ids(&self.scope.steps);
                self.unknown("step", name, at, &known);
                None
            }
        }
    }

    /// The reading a value names.
    pub fn reading_named(&mut self, node: &Node, key: &str) -> Option<(ReadingId, std::ops::Range<usize>)> {
        let (name, at) = self.string(node, key)?;
        match self.scope.name(name) {
            Some(What::Reading(id)) => Some((ReadingId(id), at)),
            _ => {
                self.no_such("reading", name, at, |what| matches!(what, What::Reading(_)));
                None
            }
        }
    }

    /// The names of all `[again.*]`, before they are read.
    pub fn again_names(&mut self, root: &Fields) {
        for entry in self.named_tables(root, "again") {
            self.kebab(&entry.key, entry.key_at.clone(), "a way to start again");
            self.scope.agains.push(Given::new(entry.key.clone(), entry.key_at.clone(), ()));
        }
    }

    /// All `[again.*]`.
    pub fn agains(&mut self, root: &Fields) -> Vec<Option<Again>> {
        let entries = root.get("again").and_then(Node::entries).unwrap_or_default();
        entries.iter().map(|entry| self.again(entry)).collect()
    }

    fn again(&mut self, entry: &Entry) -> Option<Again> {
        const KEYS: &[&str] = &["from", "say", "reading", "require", "because", "source"];
        let fields = self.fields(&entry.value, format!("again `{}`", shown(&entry.key)), KEYS)?;
        let from = fields.need(self, "from", "from = \"fill\", the step the next attempt starts at");
        let from = from.and_then(|node| self.step_named(node, "from"));
        let say = self.need_text(&fields, "say", "say = \"Take a fresh portion and start again.\"");
        let cites = self.cites(&fields, "source");
        let change = self.change(&fields);
        Some(Again { id: entry.key.clone(), from: from?.0, say: say?, change: change?, cites })
    }

    /// What must be different in the next attempt. The outer `None` is a fault.
    fn change(&mut self, fields: &Fields) -> Option<Option<Change>> {
        let keys = ["reading", "require", "because"];
        let Some(first) = keys.iter().find_map(|key| fields.entry(key)) else { return Some(None) };
        if let Some(missing) = keys.iter().find(|key| fields.get(key).is_none()) {
            self.push(
                Diagnostic::error("missing-key", format!("{} has no `{missing}`", fields.what))
                    .at(first.key_at.clone(), "what must change is said by `reading`, `require` and `because` together")
                    .help(match *missing {
                        "reading" => "add what must change: reading = \"alcohol\"",
                        "require" => "add what must hold: require = \"alcohol > was(alcohol)\"",
                        _ => "add what is said when it does not: because = \"The attempt before had {was:alcohol}; this one needs more.\"",
                    }),
            );
            return None;
        }
        let reading = self.reading_named(fields.get("reading")?, "reading");
        let n_values = self.scope.values.len();
        let require = self.expression(fields.get("require")?, "require", Want::Truth, n_values);
        let because = self.text_of(fields.get("because")?, "because");
        Some(Some(Change { reading: reading?.0, require: require?.expr, because: because? }))
    }

    /// All `[[limit]]`.
    pub fn limits(&mut self, root: &Fields) -> Vec<Option<Limit>> {
        let mut ids = Vec::new();
        self.listed_tables(root, "limit", "limit").iter().map(|node| self.limit(node, &mut ids)).collect()
    }

    fn limit(&mut self, node: &Node, ids: &mut Vec<Given<()>>) -> Option<Limit> {
        const KEYS: &[&str] = &[
            "id", "title", "say", "from", "to", "at_most", "finding", "discard", "void", "again", "!refuse", "!back",
            "source",
        ];
        let fields = self.fields(node, "a limit", KEYS)?;
        let (id, fields) = self.identified(fields, "limit", ids);
        let title = self.need_text(&fields, "title", "title = \"From sampling to the start of the test\"");
        let say = self.spoken(&fields, "title", title.as_ref());
        let at_most = fields.need(self, "at_most", "at_most = \"5 min\"");
        let at_most = at_most.and_then(|node| self.span(node, "at_most"));
        let from = fields.need(self, "from", "from = \"sample-ready\"").and_then(|node| self.step_named(node, "from"));
        let to = fields.need(self, "to", "to = \"fill\"").and_then(|node| self.step_named(node, "to"));
        if let (Some((from, from_at)), Some((to, to_at))) = (&from, &to)
            && from >= to
        {
            let fault = Diagnostic::error("wrong-order", format!("{} ends before it starts", fields.what))
                .at(
                    to_at.clone(),
                    if from == to { "this is the same step" } else { "this step comes before the one it starts at" },
                )
                .also(from_at.clone(), "it starts here")
                .help("`from` is the earlier step and `to` the later one");
            self.push(fault);
        }
        let otherwise = self.consequence(&fields, Place::Time);
        let cites = self.need_cites(&fields, "source");
        Some(Limit {
            id: id?,
            title: title?,
            say,
            from: from?.0,
            to: to?.0,
            at_most: at_most?,
            otherwise: otherwise?,
            cites,
        })
    }

    /// All `[[incident]]`.
    pub fn incidents(&mut self, root: &Fields) -> Vec<Option<Incident>> {
        let mut ids = Vec::new();
        self.listed_tables(root, "incident", "incident").iter().map(|node| self.incident(node, &mut ids)).collect()
    }

    fn incident(&mut self, node: &Node, given: &mut Vec<Given<()>>) -> Option<Incident> {
        const KEYS: &[&str] =
            &["id", "title", "during", "discard", "void", "again", "!finding", "!refuse", "!back", "source"];
        let fields = self.fields(node, "an incident", KEYS)?;
        let (id, fields) = self.identified(fields, "incident", given);
        let title = self.need_text(&fields, "title", "title = \"Liquid leaks from the clamp\"");
        let during = fields.need(self, "during", "during = [\"fill\"], the stages it can happen in");
        let during = during.and_then(|node| self.list(node, "during", "[\"fill\"]"));
        let mut stages = Vec::new();
        if let Some((items, at)) = during {
            if items.is_empty() {
                self.push(
                    Diagnostic::error("missing-key", format!("{} can happen in no stage", fields.what))
                        .at(at, "this list is empty")
                        .help("name the stages it can happen in: during = [\"fill\"]"),
                );
            }
            for item in items {
                let Some((name, at)) = self.string(item, "during") else { continue };
                match self.scope.stages.iter().position(|stage| stage.id == name) {
                    Some(stage) => stages.push(stage as u16),
                    None => {
                        let known = ids(&self.scope.stages);
                        self.unknown("stage", name, at, &known);
                    }
                }
            }
        }
        let ending = self.ending(&fields);
        let cites = self.need_cites(&fields, "source");
        Some(Incident { id: id?, title: title?, during: stages, ending: ending?, cites })
    }

    /// The id of one of several tables: there, well formed, given once. Names the table by it from now on.
    pub fn identified<'n>(
        &mut self,
        mut fields: Fields<'n>,
        what: &str,
        ids: &mut Vec<Given<()>>,
    ) -> (Option<String>, Fields<'n>) {
        let found =
            fields.need(self, "id", &format!("id = \"name-of-the-{what}\"")).and_then(|node| self.string(node, "id"));
        let Some((id, at)) = found else { return (None, fields) };
        self.kebab(id, at.clone(), &format!("a {what}").replace("a i", "an i").replace("a a", "an a"));
        if let Some(first) = ids.iter().find(|given| given.id == id) {
            let fault = Diagnostic::error("duplicate", format!("two {what}s are called `{}`", shown(id)))
                .at(at.clone(), "second time")
                .also(first.at.clone(), "first time here")
                .help(format!("every {what} has a name of its own: write id = \"{}-2\", or better words", shown(id)));
            self.push(fault);
        }
        ids.push(Given::new(id, at, ()));
        fields.what = format!("{what} `{}`", shown(id));
        (Some(id.to_owned()), fields)
    }

    /// The unit of a reading or value, by its kind, for comparisons.
    pub fn number_reading(&mut self, id: ReadingId, at: std::ops::Range<usize>, wanted: &str) -> Option<Unit> {
        let reading = self.scope.reading(id)?;
        match &reading.kind {
            ReadingKind::Number(scale) => Some(scale.unit),
            _ => {
                let name = reading.id.clone();
                let fault = Diagnostic::error("wrong-kind", format!("`{name}` is not a number, so it cannot {wanted}"))
                    .at(at, "expected a reading of kind \"number\"");
                let fault = self.pointing_at(fault, &name, "the reading is defined here");
                self.push(fault.help("name a reading that has a unit, a graduation and a range"));
                None
            }
        }
    }
}

fn misplaced(entry: &Entry, place: Place) -> Diagnostic {
    let key = &entry.key;
    let fault = match place {
        Place::Step { .. } => Diagnostic::error("bad-consequence", "`refuse` only works where something is read")
            .at(entry.key_at.clone(), "this step reads nothing that could be given again"),
        Place::Result => Diagnostic::error("bad-consequence", format!("a rule of a result cannot have `{key}`"))
            .at(entry.key_at.clone(), "everything has been done by then: it can only be noted"),
        Place::Time => Diagnostic::error("bad-consequence", format!("`{key}` cannot follow when a time was exceeded"))
            .at(entry.key_at.clone(), "the time is gone: nothing can be given or done again"),
        Place::Ending => Diagnostic::error("bad-consequence", format!("`{key}` cannot follow here"))
            .at(entry.key_at.clone(), "here the attempt ends"),
    };
    fault.help(format!("use one of: {}", place.choices()))
}

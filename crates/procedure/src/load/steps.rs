//! Stages and their steps.
//!
//! **Invariant:** a step wants exactly one thing; its least is never more than its most; every figure it carries has
//! a source.

use quantity::{Exact, Span, Unit};

use super::consequences::{Place, RULE_KEYS};
use super::fields::{Fields, Reader, shown};
use super::scope::{Given, StepName, What};
use super::texts::as_text;
use super::tree::{Kind, Node};
use crate::diagnose::Diagnostic;
use crate::expr::{Type, Want};
use crate::model::{
    Add, Every, Lasts, Need, ReadingKind, Repeat, Settle, Stage, Step, StepId, Times, Turns, UntilAgree, ValueId, Wants,
};
use crate::nearest::nearest;

const STEP_KEYS: &[&str] = &[
    "id", "do", "read", "count", "hold", "turns", "settle", "timed", "when", "needs", "rule", "every", "add", "moment",
    "lasts", "hands", "too_soon", "why", "slip", "caution", "mark", "say", "source",
];
const WANTS: [&str; 5] = ["read", "count", "hold", "settle", "timed"];
const MOST_STEPS: usize = 500;
const MOST_ROUNDS: u32 = 1_000;
/// In a wait no longer than this nobody begins anything else, so that the hands need not be said to be free.
const SHORT_WAIT: Span = Span::from_secs(30);
/// Moments of a sample that procedures share; others are as good, if more than one procedure marks them.
const MOMENTS: [&str; 4] = ["first-portion", "last-portion", "composite", "moulded"];

impl Reader<'_> {
    /// The names of all stages and steps, before they are read. `None` if there are too many.
    pub fn step_names(&mut self, root: &Fields) -> Option<()> {
        let stages = match root.get("stage").map(|node| &node.kind) {
            Some(Kind::List(stages)) => stages.as_slice(),
            _ => &[],
        };
        for (stage, node) in stages.iter().enumerate() {
            let id_of = |node: &Node| {
                let id = node.entries()?.iter().find(|entry| entry.key == "id")?;
                Some((as_text(&id.value)?.to_owned(), id.value.at.clone()))
            };
            let (id, at) = id_of(node).unwrap_or((String::new(), node.at.clone()));
            self.scope.stages.push(Given::new(id, at, ()));
            let steps = node.entries().and_then(|entries| entries.iter().find(|entry| entry.key == "step"));
            let Some(Kind::List(steps)) = steps.map(|entry| &entry.value.kind) else { continue };
            for node in steps {
                let (id, at) = id_of(node).unwrap_or((String::new(), node.at.clone()));
                self.scope.steps.push(Given::new(id, at, StepName { stage: stage as u16 }));
                if self.scope.steps.len() > MOST_STEPS {
                    self.push(
                        Diagnostic::error("too-large", format!("a procedure has at most {MOST_STEPS} steps"))
                            .at(node.at.clone(), "one step too many")
                            .help("split the method into several procedures"),
                    );
                    return None;
                }
            }
        }
        Some(())
    }

    /// All `[[stage]]` with their steps.
    pub fn stages(&mut self, root: &Fields) -> (Vec<Stage>, Vec<Option<Step>>) {
        const HOW: &str = "write [[stage]] with id and title, then [[stage.step]] for each thing to do";
        let nodes = self.listed_tables(root, "stage", "stage");
        if nodes.is_empty() && root.entry("stage").is_none() {
            self.push(
                Diagnostic::error("missing-key", "the procedure has no stage, so there is nothing to do")
                    .at(root.at.clone(), "no [[stage]] in this file")
                    .help(HOW),
            );
        }
        let mut stages = Vec::new();
        let mut steps = Vec::new();
        let (mut stage_ids, mut step_ids) = (Vec::new(), Vec::new());
        for (idx, node) in nodes.iter().enumerate() {
            let first = StepId(steps.len() as u16);
            let Some(fields) = self.fields(node, "a stage", &["id", "title", "repeat", "step"]) else { continue };
            let (id, fields) = self.identified(fields, "stage", &mut stage_ids);
            let title = self.need_plain(&fields, "title", "title = \"Fill the bowl\"");
            let repeat = fields.get("repeat").and_then(|node| self.repeat(node));
            let step_nodes = self.listed_tables(&fields, "step", "stage.step");
            if fields.entry("step").is_none() {
                self.push(
                    Diagnostic::error("missing-key", format!("{} has no steps", fields.what))
                        .at(fields.at.clone(), "no [[stage.step]] below")
                        .help(HOW),
                );
            }
            for node in step_nodes {
                let step = StepId(steps.len() as u16);
                let step = self.step(node, idx as u16, step, &mut step_ids);
                steps.push(step);
            }
            let end = StepId(steps.len() as u16);
            stages.push(Stage { id: id.unwrap_or_default(), title: title.unwrap_or_default(), first, end, repeat });
        }
        (stages, steps)
    }

    fn repeat(&mut self, node: &Node) -> Option<Repeat> {
        const KEYS: &[&str] = &[
            "value",
            "within",
            "rounds_at_most",
            "times",
            "at_most",
            "discard",
            "void",
            "again",
            "!finding",
            "!refuse",
            "!back",
            "source",
        ];
        let fields = self.fields(node, "`repeat`", KEYS)?;
        let until_agree = ["value", "within", "rounds_at_most", "discard", "void", "again"];
        let first = until_agree.iter().find_map(|key| fields.entry(key));
        match (fields.entry("times").or_else(|| fields.entry("at_most")), first) {
            (Some(times), Some(agree)) => {
                self.push(
                    Diagnostic::error("two-wants", "`repeat` ends in two ways at once")
                        .at(agree.key_at.clone(), format!("`{}` is for rounds that must agree", agree.key))
                        .also(times.key_at.clone(), format!("`{}` is for a number of rounds that is known", times.key))
                        .help("write { times = \"layers\", at_most = 4, source = \"…\" }")
                        .help("or { value = \"settled\", within = \"0.25 %\", rounds_at_most = 3, discard = \"…\", source = \"…\" }"),
                );
                return None;
            }
            (Some(_), None) => return self.times(&fields).map(Repeat::Times),
            (None, _) => {}
        }
        self.until_agree(&fields).map(Repeat::UntilAgree)
    }

    /// Rounds whose number is read or chosen.
    fn times(&mut self, fields: &Fields) -> Option<Times> {
        let n_values = self.scope.values.len();
        let node = fields.need(self, "times", "times = \"layers\"");
        let times = node.and_then(|node| self.expression(node, "times", Want::Any, n_values));
        if let (Some(times), Some(node)) = (&times, node) {
            let counts = |unit: Unit| unit == Unit::NONE || super::measures::only_counts(unit);
            let found = match times.kind {
                Type::Number(unit) if counts(unit) => None,
                Type::Number(unit) => Some(format!("its unit is {unit}")),
                Type::Truth => Some("this is true or false".to_owned()),
                Type::Choice(_) => Some("this is a choice".to_owned()),
            };
            if let Some(found) = found {
                self.push(
                    Diagnostic::error(
                        "unlike-units",
                        "`times` says how many rounds there are, which is a whole number",
                    )
                    .at(node.at.clone(), found)
                    .help("expected a bare number, or one in a counted unit such as layer")
                    .help("an answer becomes a number with: times = \"if size == small then 2 else 3\""),
                );
                return None;
            }
        }
        let at_most = fields.need(self, "at_most", "at_most = 4");
        let at_most_node = at_most;
        let at_most = at_most.and_then(|node| self.count(node, "at_most", None));
        if let (Some(count), Some(node)) = (at_most, at_most_node)
            && count > MOST_ROUNDS
        {
            self.push(
                Diagnostic::error("not-a-count", format!("a stage is done at most {MOST_ROUNDS} times"))
                    .at(node.at.clone(), "more rounds than that")
                    .help("write the most that is ever wanted, such as at_most = 4"),
            );
            return None;
        }
        let cites = self.need_cites(fields, "source");
        Some(Times { times: times?.expr, at_most: at_most?, cites })
    }

    /// Rounds that end when two agree.
    fn until_agree(&mut self, fields: &Fields) -> Option<UntilAgree> {
        let value = fields.need(self, "value", "value = \"settled\"").and_then(|node| self.value_named(node, "value"));
        let unit = value.and_then(|value| self.scope.values.get(value.0 as usize)?.unit);
        let within = fields.need(self, "within", "within = \"0.25 %\"");
        let within = within.and_then(|node| self.amount(node, "within", unit?));
        let rounds = fields.need(self, "rounds_at_most", "rounds_at_most = 3");
        let rounds_node = rounds;
        let rounds = rounds.and_then(|node| self.count(node, "rounds_at_most", None));
        if let (Some(1), Some(node)) = (rounds, rounds_node) {
            self.push(
                Diagnostic::error("not-a-count", "one round cannot be compared with another")
                    .at(node.at.clone(), "expected at least 2")
                    .help("write rounds_at_most = 2 or more, or take `repeat` away"),
            );
        }
        self.not_negative(&within, fields.get("within"), "within");
        let otherwise = self.ending(fields);
        let cites = self.need_cites(fields, "source");
        Some(UntilAgree { value: value?, within: within?, rounds_at_most: rounds?, otherwise: otherwise?, cites })
    }

    /// The derived value or result a value names.
    fn value_named(&mut self, node: &Node, key: &str) -> Option<ValueId> {
        let (name, at) = self.string(node, key)?;
        match self.scope.name(name) {
            Some(What::Value(id)) => Some(ValueId(id)),
            _ => {
                self.no_such("derived value", name, at, |what| matches!(what, What::Value(_)));
                None
            }
        }
    }

    fn step(&mut self, node: &Node, stage: u16, id: StepId, ids: &mut Vec<Given<()>>) -> Option<Step> {
        let fields = self.fields(node, "a step", STEP_KEYS)?;
        let (name, fields) = self.identified(fields, "step", ids);
        let instruction = self.need_text(&fields, "do", "do = \"Strike off until the surface is flush\"");
        let wants = self.wants(&fields);
        let n_values = self.scope.values.len();
        let when = fields.get("when").map(|node| self.expression(node, "when", Want::Truth, n_values));
        let needs = self.needs(&fields);
        let moment = fields.get("moment").map(|node| self.moment(node));
        let lasts = fields.get("lasts").map(|node| self.lasts(node));
        let hands_free = self.hands_free(&fields);
        let reads = fields.get("read").is_some();
        let mut rules = Vec::new();
        for node in self.listed_tables(&fields, "rule", "stage.step.rule") {
            if let Some(rule) = self.fields(node, "a rule", RULE_KEYS) {
                rules.extend(self.rule(&rule, Place::Step { id, reads }));
            }
        }
        let every = fields.get("every").map(|node| self.every(node));
        let add = fields.get("add").map(|node| self.add(node));
        let carries_figure = ["count", "hold", "turns", "settle", "timed"].iter().any(|key| fields.get(key).is_some());
        let cites = if carries_figure { self.need_cites(&fields, "source") } else { self.cites(&fields, "source") };
        let [too_soon, why, slip, caution, mark] =
            ["too_soon", "why", "slip", "caution", "mark"].map(|key| self.may_text(&fields, key));
        let say = self.spoken(&fields, "do", instruction.as_ref());
        Some(Step {
            id: name?,
            stage,
            instruction: instruction?,
            wants: wants?,
            when: match when {
                Some(compiled) => Some(compiled?.expr),
                None => None,
            },
            moment: match moment {
                Some(moment) => Some(moment?),
                None => None,
            },
            lasts: match lasts {
                Some(lasts) => Some(lasts?),
                None => None,
            },
            hands_free,
            needs,
            rules,
            every: match every {
                Some(every) => Some(every?),
                None => None,
            },
            add: match add {
                Some(add) => Some(add?),
                None => None,
            },
            too_soon,
            why,
            slip,
            caution,
            mark,
            say,
            cites,
        })
    }

    /// The moment of the sample a step marks.
    fn moment(&mut self, node: &Node) -> Option<u16> {
        let (name, at) = self.string(node, "moment")?;
        let sound = self.kebab(name, at.clone(), "a moment of the sample");
        if let Some(near) = nearest(name, MOMENTS).filter(|_| sound && !MOMENTS.contains(&name)) {
            self.push(
                Diagnostic::warning("near-name", format!("`{}` is nearly a moment other procedures mark", shown(name)))
                    .at(at.clone(), "a moment of its own, which no other test knows")
                    .help(format!("did you mean \"{near}\"?")),
            );
        }
        let known = self.scope.moments.iter().position(|moment| moment.id == name);
        let place = known.unwrap_or_else(|| {
            self.scope.moments.push(Given::new(name, at, ()));
            self.scope.moments.len() - 1
        });
        Some(place as u16)
    }

    /// How long a step keeps the hands: a practised person, and a slow one.
    fn lasts(&mut self, node: &Node) -> Option<Lasts> {
        const EXAMPLE: &str = "[\"20 s\", \"40 s\"]";
        let (items, at) = self.list(node, "lasts", EXAMPLE)?;
        let [typical_node, slow_node] = items else {
            self.push(
                Diagnostic::error("not-a-time", format!("`lasts` has two times, and this has {}", items.len()))
                    .at(at, "expected the time of a practised person, then that of a slow one")
                    .help(format!("write lasts = {EXAMPLE}")),
            );
            return None;
        };
        let (typical, slow) = (self.span(typical_node, "lasts"), self.span(slow_node, "lasts"));
        let (typical, slow) = (typical?, slow?);
        if slow < typical {
            self.push(
                Diagnostic::error("wrong-limits", "a slow person is not quicker than a practised one")
                    .at(slow_node.at.clone(), format!("{slow} is less than {typical}"))
                    .help(format!("the practised person stands first: lasts = [\"{slow}\", \"{typical}\"]")),
            );
            return None;
        }
        Some(Lasts { typical, slow })
    }

    /// Whether the wait of a step leaves the hands free.
    fn hands_free(&mut self, fields: &Fields) -> bool {
        let Some(entry) = fields.entry("hands") else { return false };
        if self.word(&entry.value, "hands", &[("free", ())]).is_none() {
            return false;
        }
        let why = if fields.get("turns").is_some() {
            "the hands turn it all the time"
        } else if fields.get("hold").is_none() && fields.get("settle").is_none() {
            "nothing is waited for in this step"
        } else {
            return true;
        };
        self.push(
            Diagnostic::error("bad-wait", "the hands are only free while something stands by itself")
                .at(entry.key_at.clone(), why)
                .help("`hands = \"free\"` goes with `hold` without `turns`, and with `settle`: take it away here"),
        );
        false
    }

    fn wants(&mut self, fields: &Fields) -> Option<Wants> {
        let mut found: Vec<_> = WANTS.iter().filter_map(|key| fields.entry(key)).collect();
        found.sort_by_key(|entry| entry.key_at.start);
        if let [first, second, ..] = found[..] {
            self.push(
                Diagnostic::error("two-wants", format!("{} wants two things at once", fields.what))
                    .at(second.key_at.clone(), format!("`{}` as well", second.key))
                    .also(first.key_at.clone(), format!("`{}` here", first.key))
                    .help("a step is one thing to do: make two steps of it"),
            );
            return None;
        }
        if let Some(turns) = fields.entry("turns").filter(|_| fields.get("hold").is_none()) {
            self.push(
                Diagnostic::error("two-wants", "`turns` only goes with `hold`")
                    .at(turns.key_at.clone(), "nothing is held in this step")
                    .help("say how long the turning goes on at least: hold = { at_least = \"45 s\" }"),
            );
            return None;
        }
        let Some(entry) = found.first() else { return Some(Wants::Act) };
        match entry.key.as_str() {
            "read" => self.reading_named(&entry.value, "read").map(|(reading, _)| Wants::Read(reading)),
            "count" => self.counted(&entry.value),
            "hold" => self.held(&entry.value, fields),
            "settle" => self.settle(&entry.value).map(Wants::Settle),
            _ => self.timed(&entry.value),
        }
    }

    fn counted(&mut self, node: &Node) -> Option<Wants> {
        let fields = self.fields(node, "`count`", &["of", "exactly", "at_least", "at_most", "pace"])?;
        let of = self.need_plain(&fields, "of", "of = \"strokes\"");
        let unit = of.as_deref().and_then(|of| Unit::parse(of).ok());
        let pace = fields.get("pace").map(|node| self.span(node, "pace"));
        let (least, most) = if let Some(exactly) = fields.entry("exactly") {
            for key in ["at_least", "at_most"] {
                if let Some(entry) = fields.entry(key) {
                    self.push(
                        Diagnostic::error("wrong-limits", format!("`exactly` and `{key}` contradict each other"))
                            .at(entry.key_at.clone(), format!("`{key}` as well"))
                            .also(exactly.key_at.clone(), "`exactly` here")
                            .help("write exactly = 25, or at_least = 10 with at_most = 15"),
                    );
                }
            }
            let count = self.count(&exactly.value, "exactly", unit);
            (count, count)
        } else {
            let neither = fields.get("at_least").is_none() && fields.get("at_most").is_none();
            if neither {
                self.push(
                    Diagnostic::error("missing-key", "`count` does not say how many")
                        .at(fields.at.clone(), "expected `exactly`, or `at_least` and `at_most`")
                        .help("write { of = \"strokes\", exactly = 25 } or { of = \"taps\", at_least = 10, at_most = 15 }"),
                );
                return None;
            }
            let least = fields.need(self, "at_least", "at_least = 10");
            let most = fields.need(self, "at_most", "at_most = 15");
            let counts = (
                least.and_then(|node| self.count(node, "at_least", unit)),
                most.and_then(|node| self.count(node, "at_most", unit)),
            );
            self.in_order(&counts.0, least, &counts.1, most)?;
            counts
        };
        let pace = match pace {
            Some(pace) => Some(pace?),
            None => None,
        };
        Some(Wants::Count { of: of?, at_least: least?, at_most: most?, pace })
    }

    fn held(&mut self, node: &Node, step: &Fields) -> Option<Wants> {
        let turns = step.get("turns").map(|node| self.turns(node));
        let fields = self.fields(node, "`hold`", &["at_least", "at_most", "goes_on"])?;
        let least_node = fields.need(self, "at_least", "at_least = \"45 s\"");
        let least = least_node.and_then(|node| self.span(node, "at_least"));
        let most_node = fields.get("at_most");
        let most = most_node.map(|node| self.span(node, "at_most"));
        self.in_order(&least, least_node, &most.flatten(), most_node)?;
        let most = match most {
            Some(most) => Some(most?),
            None => None,
        };
        let turns = match turns {
            Some(turns) => Some(turns?),
            None => None,
        };
        let least = least?;
        let goes_on = self.goes_on(&fields, step, least)?;
        Some(Wants::Hold { at_least: least, at_most: most, turns, goes_on })
    }

    /// Whether a hold leads on by itself: only where nobody has to look or act while it lasts or at its end.
    fn goes_on(&mut self, hold: &Fields, step: &Fields, least: Span) -> Option<bool> {
        let Some(entry) = hold.entry("goes_on") else { return Some(false) };
        let goes_on = self.truth(&entry.value, "goes_on")?;
        let busy = [
            ("turns", "the hands turn it, and its end is a turn"),
            ("every", "something has to be done while it lasts"),
            ("add", "something is counted while it lasts"),
        ];
        let why = match busy.into_iter().find_map(|(key, why)| Some((step.entry(key)?, why))) {
            Some((entry, why)) => Some((entry.key_at.clone(), why)),
            None if step.entry("hands").is_none() && least > SHORT_WAIT => {
                Some((entry.key_at.clone(), "the hands are not said to be free"))
            }
            None => None,
        };
        if let Some((at, why)) = why.filter(|_| goes_on) {
            let mut fault = Diagnostic::error("bad-wait", "only a wait that stands by itself leads on by itself");
            fault = if at == entry.key_at {
                fault.at(at, why)
            } else {
                fault.at(entry.key_at.clone(), "somebody has to confirm that this is over").also(at, why)
            };
            self.push(
                fault
                    .help("`goes_on = true` goes with a `hold` without `turns`, `every` and `add`")
                    .help(format!("in a wait of more than {SHORT_WAIT} also write hands = \"free\"")),
            );
            return None;
        }
        Some(goes_on)
    }

    fn turns(&mut self, node: &Node) -> Option<Turns> {
        let fields = self.fields(node, "`turns`", &["down", "up", "down_at_most", "finding"])?;
        let down = self.need_plain(&fields, "down", "down = \"upside down\"");
        let up = self.need_plain(&fields, "up", "up = \"upright\"");
        let most = fields.need(self, "down_at_most", "down_at_most = \"5 s\"");
        let most = most.and_then(|node| self.span(node, "down_at_most"));
        let finding = self.need_text(&fields, "finding", "finding = \"It was upside down for too long\"");
        Some(Turns { down: down?, up: up?, down_at_most: most?, finding: finding? })
    }

    fn timed(&mut self, node: &Node) -> Option<Wants> {
        const KEYS: &[&str] = &["at_least", "at_most", "finding", "discard", "void", "again", "!refuse", "!back"];
        let fields = self.fields(node, "`timed`", KEYS)?;
        let least_node = fields.need(self, "at_least", "at_least = \"3 s\"");
        let least = least_node.and_then(|node| self.span(node, "at_least"));
        let most_node = fields.need(self, "at_most", "at_most = \"7 s\"");
        let most = most_node.and_then(|node| self.span(node, "at_most"));
        self.in_order(&least, least_node, &most, most_node)?;
        let otherwise = self.consequence(&fields, Place::Time);
        Some(Wants::Timed { at_least: least?, at_most: most?, otherwise: otherwise? })
    }

    /// The least is not more than the most.
    fn in_order<T: PartialOrd>(
        &mut self,
        least: &Option<T>,
        least_node: Option<&Node>,
        most: &Option<T>,
        most_node: Option<&Node>,
    ) -> Option<()> {
        if let (Some(least), Some(most), Some(least_node), Some(most_node)) = (least, most, least_node, most_node)
            && least > most
        {
            self.push(
                Diagnostic::error("wrong-limits", "`at_most` is less than `at_least`: nobody can do that")
                    .at(most_node.at.clone(), "the most")
                    .also(least_node.at.clone(), "the least, which is more")
                    .help("the two may have been swapped"),
            );
            return None;
        }
        Some(())
    }

    fn settle(&mut self, node: &Node) -> Option<Settle> {
        const KEYS: &[&str] = &[
            "reading",
            "also",
            "value",
            "every",
            "change_at_most",
            "give_up_after",
            "discard",
            "void",
            "again",
            "!finding",
            "!refuse",
            "!back",
        ];
        let fields = self.fields(node, "`settle`", KEYS)?;
        let reading = fields.need(self, "reading", "reading = \"level\"");
        let reading = reading.and_then(|node| self.reading_named(node, "reading"));
        let own_unit = reading.as_ref().and_then(|(id, at)| self.number_reading(*id, at.clone(), "settle"));
        let value = fields.get("value").map(|node| self.value_named(node, "value"));
        let unit = match value {
            Some(value) => value.and_then(|value| self.scope.values.get(value.0 as usize)?.unit),
            None => own_unit,
        };
        let mut also = Vec::new();
        let list = fields.get("also").and_then(|node| self.list(node, "also", "[\"foam\"]"));
        for item in list.map_or(&[][..], |(items, _)| items) {
            let Some((id, at)) = self.reading_named(item, "also") else { continue };
            if also.contains(&id) || reading.as_ref().is_some_and(|(reading, _)| *reading == id) {
                self.push(
                    Diagnostic::error("duplicate", "this reading is read already each time")
                        .at(at, "second time")
                        .help("take it out of `also`"),
                );
            }
            also.push(id);
        }
        let every_node = fields.need(self, "every", "every = \"2 min\"");
        let every = every_node.and_then(|node| self.span(node, "every"));
        let change = fields.need(self, "change_at_most", "change_at_most = \"0.25 %\"");
        let change_node = change;
        let change = change.and_then(|node| self.amount(node, "change_at_most", unit?));
        self.not_negative(&change, change_node, "change_at_most");
        let give_up_node = fields.need(self, "give_up_after", "give_up_after = \"6 min\"");
        let give_up = give_up_node.and_then(|node| self.span(node, "give_up_after"));
        if let (Some(every), Some(give_up), Some(every_node), Some(give_up_node)) =
            (every, give_up, every_node, give_up_node)
            && give_up < every
        {
            self.push(
                Diagnostic::error("wrong-limits", "it is given up before the second reading is due")
                    .at(give_up_node.at.clone(), "given up after this")
                    .also(every_node.at.clone(), "a reading is due each time this is over")
                    .help("`give_up_after` must be at least as long as `every`"),
            );
        }
        let otherwise = self.ending(&fields);
        let value = match value {
            Some(value) => Some(value?),
            None => None,
        };
        Some(Settle {
            reading: reading?.0,
            also,
            value,
            every: every?,
            change_at_most: change?,
            give_up_after: give_up?,
            otherwise: otherwise?,
        })
    }

    fn not_negative(&mut self, amount: &Option<Exact>, node: Option<&Node>, key: &str) {
        if let (Some(amount), Some(node)) = (amount, node)
            && amount.is_negative()
        {
            self.push(
                Diagnostic::error("wrong-limits", format!("`{key}` is a difference, which is never below zero"))
                    .at(node.at.clone(), "below zero")
                    .help("write it without the minus sign"),
            );
        }
    }

    fn needs(&mut self, fields: &Fields) -> Vec<Need> {
        const EXAMPLE: &str = "[{ that = \"known(level)\", because = \"Read the level first.\" }]";
        let Some(node) = fields.get("needs") else { return Vec::new() };
        let Some((items, _)) = self.list(node, "needs", EXAMPLE) else { return Vec::new() };
        let n_values = self.scope.values.len();
        let mut needs = Vec::new();
        for item in items {
            let Some(fields) = self.fields(item, "a condition in `needs`", &["that", "because"]) else { continue };
            let that = fields.need(self, "that", "that = \"known(level)\"");
            let that = that.and_then(|node| self.expression(node, "that", Want::Truth, n_values));
            let because = self.need_text(&fields, "because", "because = \"Read the level first.\"");
            if let (Some(that), Some(because)) = (that, because) {
                needs.push(Need { that: that.expr, because });
            }
        }
        needs
    }

    fn every(&mut self, node: &Node) -> Option<Every> {
        let fields = self.fields(node, "`every`", &["span", "cue", "source"])?;
        let span = fields.need(self, "span", "span = \"15 s\"").and_then(|node| self.span(node, "span"));
        let cue = self.need_text(&fields, "cue", "cue = \"Turn the base about a third\"");
        let cites = self.need_cites(&fields, "source");
        Some(Every { span: span?, cue: cue?, cites })
    }

    fn add(&mut self, node: &Node) -> Option<Add> {
        let fields = self.fields(node, "`add`", &["reading", "ask", "source"])?;
        let reading = fields.need(self, "reading", "reading = \"cups\"");
        let reading = reading.and_then(|node| self.reading_named(node, "reading"));
        let ask = self.need_text(&fields, "ask", "ask = \"Level beyond the scale: add one cup, and count it\"");
        let cites = self.need_cites(&fields, "source");
        let (id, at) = reading?;
        let found = self.scope.reading(id)?;
        if !matches!(found.kind, ReadingKind::Tally { .. }) {
            let name = found.id.clone();
            let fault = Diagnostic::error("wrong-kind", format!("`{name}` does not count one by one"))
                .at(at, "expected a reading of kind \"tally\"")
                .help(format!("write kind = \"tally\" under [reading.{name}]"));
            let fault = self.pointing_at(fault, &name, "the reading is defined here");
            self.push(fault);
            return None;
        }
        Some(Add { reading: id, ask: ask?, cites })
    }
}

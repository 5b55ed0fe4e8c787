//! Names, units and kinds.
//!
//! Turns an expression as written into one that can be asked. A part with a fault is of no kind, and whatever rests on
//! it is passed over, so that one slip is reported once.
//!
//! **Invariant:** what is returned without a fault names only what exists, and every `+`, comparison and branch in it
//! joins two numbers of one unit, two truths, or a choice and one of its answers.

use super::lexer::short;
use super::parser::{Node, Tree};
use super::{Compiled, Datum, Expr, Facts, Fault, Named, Names, Op, Type, Use, Want, unit_words};
use crate::model::{ReadingId, TableId, ValueId};
use crate::nearest::nearest;
use quantity::{Exact, Unit};
use std::ops::Range;

const FUNCTIONS: &[&str] = &["abs", "known", "max", "min", "sqrt", "sum", "was"];

pub(super) fn is_function(name: &str) -> bool {
    FUNCTIONS.contains(&name)
}

/// Checks `tree`; what is returned means something only if `faults` stays empty.
pub(super) fn check<'s>(
    src: &'s str,
    tree: &Tree<'s>,
    names: &dyn Names,
    want: Want,
    faults: &mut Vec<Fault>,
) -> Compiled {
    let mut checker = Checker { src, names, faults, uses: Vec::new(), strangers: Vec::new() };
    let whole = checker.of(tree);
    let kind = checker.wanted(tree, &whole, want);
    Compiled { expr: whole.expr, kind, uses: checker.uses }
}

/// What a part gives, as far as it can be said.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
enum Kind {
    Number(Unit),
    Truth,
    Choice(ReadingId),
    /// Faulted already.
    Faulty,
}

struct Part {
    expr: Expr,
    kind: Kind,
    /// The same in every run.
    constant: bool,
}

impl Part {
    fn faulty() -> Self {
        Self { expr: Expr::Truth(false), kind: Kind::Faulty, constant: false }
    }

    fn asked(expr: Expr, kind: Kind) -> Self {
        Self { expr, kind, constant: false }
    }

    fn constant(expr: Expr, kind: Kind) -> Self {
        Self { expr, kind, constant: true }
    }
}

struct Checker<'s, 'f> {
    src: &'s str,
    names: &'f dyn Names,
    faults: &'f mut Vec<Fault>,
    uses: Vec<Use>,
    /// Unknown names that were reported: each is reported once.
    strangers: Vec<String>,
}

impl<'s> Checker<'s, '_> {
    fn source(&self, at: &Range<usize>) -> &'s str {
        self.src.get(at.clone()).unwrap_or_default()
    }

    /// The place in words of the file, if they are few, otherwise `otherwise`.
    fn said(&self, at: &Range<usize>, otherwise: &str) -> String {
        let text = self.source(at);
        if text.chars().count() <= 32 && !text.contains('\n') { format!("`{text}`") } else { otherwise.to_owned() }
    }

    fn fault(&mut self, fault: Fault) -> Part {
        self.faults.push(fault);
        Part::faulty()
    }

    fn uses(&mut self, what: Use) {
        if !self.uses.contains(&what) {
            self.uses.push(what);
        }
    }

    fn wanted(&mut self, tree: &Tree<'s>, part: &Part, want: Want) -> Type {
        let at = tree.at.clone();
        match (want, part.kind) {
            (_, Kind::Faulty) => {}
            (Want::Any, _) | (Want::Truth, Kind::Truth) => {}
            (Want::Number(unit), Kind::Number(found)) if unit == found => {}
            (Want::Truth, _) => {
                let said = self.said(&at, "it");
                let (found, help) = self.instead_of_truth(tree, part.kind);
                self.faults.push(
                    Fault::new(
                        at,
                        "wrong-kind",
                        format!("true or false is wanted here, and {said} is {found}"),
                        "neither true nor false",
                    )
                    .help(help),
                );
            }
            (Want::Number(unit), Kind::Number(found)) => {
                let title = format!("the result is wanted in {}, and this gives {}", of(unit), unit_words(found));
                let fault = Fault::new(at, "unlike-units", title, unit_words(found));
                let fault = match bare_literal(tree) {
                    Some(_) => fault.help(format!("write `{} {unit}`", self.source(&tree.at))),
                    None => fault.help(one_unit_help(unit, found)),
                };
                self.faults.push(fault);
            }
            (Want::Number(unit), kind) => {
                let said = self.said(&at, "it");
                let title = format!("{} is wanted here, and {said} is {}", a_number(unit), self.in_words(kind));
                let help = self.instead_of_number(tree, kind);
                self.faults.push(Fault::new(at, "wrong-kind", title, "not a number").help(help));
            }
        }
        match part.kind {
            Kind::Number(unit) => Type::Number(unit),
            Kind::Choice(id) => Type::Choice(id),
            Kind::Truth | Kind::Faulty => Type::Truth,
        }
    }

    fn of(&mut self, tree: &Tree<'s>) -> Part {
        match &tree.what {
            Node::Number { value, unit, written } => {
                if !self.divides_by_a_name(tree, written) {
                    return Part::faulty();
                }
                Part::constant(Expr::Number(value.clone()), Kind::Number(*unit))
            }
            Node::Truth(truth) => Part::constant(Expr::Truth(*truth), Kind::Truth),
            Node::Name(name) => self.name(tree, name),
            Node::Call { name, name_at, given } => self.call(tree, name, name_at, given),
            Node::Negative(inside) => {
                let part = self.of(inside);
                match self.number(inside, &part, "-") {
                    Some(unit) => Part {
                        expr: Expr::Negative(Box::new(part.expr)),
                        kind: Kind::Number(unit),
                        constant: part.constant,
                    },
                    None => Part::faulty(),
                }
            }
            Node::Not(inside) => {
                let part = self.of(inside);
                if !self.truth(inside, &part, "not", None) {
                    return Part::faulty();
                }
                Part { expr: Expr::Not(Box::new(part.expr)), kind: Kind::Truth, constant: part.constant }
            }
            Node::Two { op, op_at, left, right } => self.two(tree, *op, op_at, left, right),
            Node::If(parts) => self.choice(parts),
            Node::Faulty(parts) => {
                for part in parts {
                    self.of(part);
                }
                Part::faulty()
            }
        }
    }

    /// `10 %/cup` is a unit. Where `cup` is also a name somebody may have meant a division, and both give `%/cup`.
    fn divides_by_a_name(&mut self, tree: &Tree<'s>, written: &str) -> bool {
        let Some(name) = written.split('/').skip(1).find(|name| self.names.named(name).is_some()) else {
            return true;
        };
        let text = self.source(&tree.at);
        let spaced = text.replace('/', " / ");
        self.fault(
            Fault::new(
                tree.at.clone(),
                "unit-or-name",
                format!("`/{name}` may be part of a unit or a division by `{name}`"),
                "can be read in two ways",
            )
            .help(format!("to divide, write `{spaced}`; to mean the unit, make the number a figure with its own name")),
        );
        false
    }

    fn name(&mut self, tree: &Tree<'s>, name: &str) -> Part {
        if name == "round" {
            self.uses(Use::Round);
            return Part::asked(Expr::Round, Kind::Number(Unit::NONE));
        }
        if name == "attempt" {
            self.uses(Use::Attempt);
            return Part::asked(Expr::Attempt, Kind::Number(Unit::NONE));
        }
        if is_function(name) {
            // The reader may have missed the bracket already.
            if self.faults.iter().any(|fault| fault.at == tree.at && fault.code == "bracket") {
                return Part::faulty();
            }
            let inside = match name {
                "min" | "max" => "a, b",
                "abs" | "sqrt" => "x",
                _ => "reading",
            };
            return self.fault(
                Fault::new(tree.at.clone(), "bracket", format!("`{name}` needs brackets"), "no `(` behind it")
                    .help(format!("write `{name}({inside})`")),
            );
        }
        match self.names.named(name) {
            Some(Named::Figure(figure)) => Part::constant(Expr::Number(figure.value), Kind::Number(figure.unit)),
            Some(Named::Number { id, unit } | Named::Tally { id, unit }) => {
                self.uses(Use::Reading(id));
                Part::asked(Expr::Reading(id), Kind::Number(unit))
            }
            Some(Named::Choice { id, .. }) => {
                self.uses(Use::Reading(id));
                Part::asked(Expr::Reading(id), Kind::Choice(id))
            }
            Some(Named::Value { id, unit }) => {
                self.uses(Use::Value(id));
                Part::asked(Expr::Value(id), Kind::Number(unit))
            }
            Some(Named::Words { .. }) => self.fault(
                Fault::new(
                    tree.at.clone(),
                    "wrong-kind",
                    format!("`{name}` is free words, and nothing can be worked out from words"),
                    "words",
                )
                .help(format!("all that can be asked is whether it was given: `known({name})`")),
            ),
            Some(Named::Table { input, .. }) => self.fault(
                Fault::new(
                    tree.at.clone(),
                    "bracket",
                    format!("`{name}` is a table, and nothing is looked up in it"),
                    "no `(` behind it",
                )
                .help(format!("write `{name}(x)`, where x is {}", a_number(input))),
            ),
            None => {
                self.stranger(&tree.at, name, false);
                Part::faulty()
            }
        }
    }

    /// A name nobody gave; `called` if a bracket follows it.
    fn stranger(&mut self, at: &Range<usize>, name: &str, called: bool) {
        if self.strangers.iter().any(|reported| reported == name) {
            return;
        }
        self.strangers.push(name.to_owned());
        let all = self.names.all();
        let known = all.iter().map(String::as_str);
        let is_table = |name: &&str| matches!(self.names.named(name), Some(Named::Table { .. }));
        let near = if called {
            nearest(name, known.filter(is_table).chain(FUNCTIONS.iter().copied()))
        } else {
            nearest(name, known.chain(["round", "attempt", "true", "false"]))
        };
        let shown = short(name);
        let fault = match called {
            true => Fault::new(
                at.clone(),
                "unknown-function",
                format!("there is no table or function called `{shown}`"),
                "not known",
            ),
            false => Fault::new(at.clone(), "unknown-name", format!("nothing is called `{shown}`"), "not known"),
        };
        let fault = match near {
            Some(near) => fault.help(format!("did you mean `{near}`?")),
            None if called => fault.help(format!("the functions are {}", listed(FUNCTIONS))),
            None => fault.help("an expression can use the figures, readings and values of this file"),
        };
        self.faults.push(fault);
    }

    fn two(&mut self, tree: &Tree<'s>, op: Op, op_at: &Range<usize>, left: &Tree<'s>, right: &Tree<'s>) -> Part {
        if matches!(op, Op::Equal | Op::NotEqual)
            && let Some(part) = self.answer(op, left, right)
        {
            return part;
        }
        let ordering = matches!(op, Op::Less | Op::AtMost | Op::More | Op::AtLeast);
        if ordering && let Some(choice) = [left, right].into_iter().find(|side| self.answers_of(side).is_some()) {
            let said = self.said(&choice.at, "this");
            let title = format!("answers have no order, and {said} is a choice");
            return self.fault(
                Fault::new(op_at.clone(), "wrong-kind", title, "compares numbers only")
                    .help("ask whether it is an answer with `==`, or is not with `!=`"),
            );
        }
        let a = self.of(left);
        let b = self.of(right);
        let sign = self.source(op_at);
        let kind = match op {
            Op::And | Op::Or => {
                let (left_is, right_is) = (self.truth(left, &a, sign, None), self.truth(right, &b, sign, Some(left)));
                if left_is && right_is { Some(Kind::Truth) } else { None }
            }
            Op::Equal | Op::NotEqual => self.same_kind(tree, op, (left, &a), (right, &b)),
            _ => {
                let (unit_a, unit_b) = (self.number(left, &a, sign), self.number(right, &b, sign));
                match (unit_a, unit_b) {
                    (Some(unit_a), Some(unit_b)) => {
                        self.units(tree, op, (left, unit_a), (right, unit_b), &b).map(|unit| match op {
                            Op::Less | Op::AtMost | Op::More | Op::AtLeast => Kind::Truth,
                            _ => Kind::Number(unit),
                        })
                    }
                    _ => None,
                }
            }
        };
        let Some(kind) = kind else { return Part::faulty() };
        Part { expr: Expr::Two(op, Box::new(a.expr), Box::new(b.expr)), kind, constant: a.constant && b.constant }
    }

    /// A choice compared with one of its answers; `None` if neither side is a choice or the other is one too.
    fn answer(&mut self, op: Op, left: &Tree<'s>, right: &Tree<'s>) -> Option<Part> {
        let left_answers = self.answers_of(left);
        let right_answers = self.answers_of(right);
        let (choice, answers, other, choice_first) = match (left_answers, right_answers) {
            (Some(answers), None) => (left, answers, right, true),
            (None, Some(answers)) => (right, answers, left, false),
            _ => return None,
        };
        // An answer may hold a hyphen, so it is compared as it is written.
        let written = match other.what {
            Node::Name(name) => name,
            _ => self.source(&other.at),
        };
        let asked = self.of(choice);
        let Some(place) = answers.iter().position(|answer| answer == written) else {
            let said = self.said(&choice.at, "this choice");
            let title = match &other.what {
                Node::Name(_) | Node::Truth(_) => format!("{said} has no answer `{}`", short(written)),
                _ => format!("{said} is a choice, and it can only be compared with one of its answers"),
            };
            let near = nearest(written, answers.iter().map(String::as_str));
            let listed = listed(&answers);
            let help = match near {
                Some(near) => format!("did you mean `{near}`? its answers are {listed}"),
                None => format!("its answers are {listed}"),
            };
            let fault = Fault::new(other.at.clone(), "unknown-answer", title, "not one of its answers").help(help);
            return Some(self.fault(fault));
        };
        let answer = Expr::Choice(u16::try_from(place).unwrap_or(u16::MAX));
        let (a, b) = if choice_first { (asked.expr, answer) } else { (answer, asked.expr) };
        Some(Part::asked(Expr::Two(op, Box::new(a), Box::new(b)), Kind::Truth))
    }

    /// The answers, if this is a choice, or what one was in the attempt before.
    fn answers_of(&self, tree: &Tree<'s>) -> Option<Vec<String>> {
        let name = match &tree.what {
            Node::Name(name) => *name,
            Node::Call { name: "was", given, .. } => match given.as_slice() {
                [Tree { what: Node::Name(name), .. }] => *name,
                _ => return None,
            },
            _ => return None,
        };
        match self.names.named(name) {
            Some(Named::Choice { answers, .. }) => Some(answers),
            _ => None,
        }
    }

    /// Both sides of `==`: two numbers of one unit, two truths, or one choice at two moments.
    fn same_kind(
        &mut self,
        tree: &Tree<'s>,
        op: Op,
        (left, a): (&Tree<'s>, &Part),
        (right, b): (&Tree<'s>, &Part),
    ) -> Option<Kind> {
        match (a.kind, b.kind) {
            (Kind::Faulty, _) | (_, Kind::Faulty) => None,
            (Kind::Number(unit_a), Kind::Number(unit_b)) => {
                self.units(tree, op, (left, unit_a), (right, unit_b), b).map(|_| Kind::Truth)
            }
            (Kind::Truth, Kind::Truth) => Some(Kind::Truth),
            (Kind::Choice(id_a), Kind::Choice(id_b)) if id_a == id_b => Some(Kind::Truth),
            (Kind::Choice(_), Kind::Choice(_)) => {
                let title = "two different choices have no answers in common";
                self.faults.push(
                    Fault::new(tree.at.clone(), "wrong-kind", title, "two choices")
                        .help("compare each with one of its own answers, and join them with `and`"),
                );
                None
            }
            (kind_a, kind_b) => {
                let (said_a, said_b) = (self.said(&left.at, "the left side"), self.said(&right.at, "the right side"));
                let (in_a, in_b) = (self.in_words(kind_a), self.in_words(kind_b));
                let title = format!("{in_a} cannot be compared with {in_b}");
                let label = format!("{said_a} is {in_a}, {said_b} is {in_b}");
                let fault = Fault::new(tree.at.clone(), "wrong-kind", title, label);
                self.faults.push(match (kind_a, kind_b) {
                    (Kind::Truth, _) | (_, Kind::Truth) => fault.help("a truth is asked as it is: `c` or `not c`"),
                    _ => fault,
                });
                None
            }
        }
    }

    /// The unit two numbers give together.
    fn units(
        &mut self,
        tree: &Tree<'s>,
        op: Op,
        (left, a): (&Tree<'s>, Unit),
        (right, b): (&Tree<'s>, Unit),
        divisor: &Part,
    ) -> Option<Unit> {
        let joined = match op {
            Op::Multiply => a.times(b),
            Op::Divide => {
                if divisor.constant && divisor.expr.eval(&Nothing) == Datum::Number(Exact::from(0)) {
                    let said = self.said(&right.at, "the divisor");
                    let literal = matches!(right.what, Node::Number { .. });
                    let label = if literal { "zero".to_owned() } else { format!("{said} is always zero") };
                    self.faults.push(
                        Fault::new(right.at.clone(), "division-by-zero", "this divides by zero", label)
                            .help("nothing can be divided by zero: divide by something that is not"),
                    );
                    return None;
                }
                a.per(b)
            }
            _ if a == b => return Some(a),
            _ => {
                let title = match op {
                    Op::Add => format!("adds {} to {}", unit_words(b), unit_words(a)),
                    Op::Subtract => format!("takes {} from {}", unit_words(b), unit_words(a)),
                    Op::Min => format!("looks for the smaller of {} and {}", unit_words(a), unit_words(b)),
                    Op::Max => format!("looks for the larger of {} and {}", unit_words(a), unit_words(b)),
                    _ => format!("compares {} with {}", unit_words(a), unit_words(b)),
                };
                let fault = self.unlike(tree.at.clone(), title, (left, a), (right, b));
                self.faults.push(fault);
                return None;
            }
        };
        if joined.is_none() {
            let title = "this gives a unit with more factors than any reading or result has";
            let label = format!("{} and {}", unit_words(a), unit_words(b));
            self.faults.push(Fault::new(tree.at.clone(), "too-many-factors", title, label));
        }
        joined
    }

    /// Two numbers that should be in one unit and are not.
    fn unlike(&self, at: Range<usize>, title: String, left: (&Tree<'s>, Unit), right: (&Tree<'s>, Unit)) -> Fault {
        for ((tree, _), (_, unit)) in [(left, right), (right, left)] {
            if bare_literal(tree).is_some() && unit != Unit::NONE {
                let help = format!("write `{} {unit}`", self.source(&tree.at));
                let label = format!("a bare number, where {unit} is wanted");
                return Fault::new(tree.at.clone(), "unlike-units", title, label).help(help);
            }
            if let Some(decimal) = common_fraction(tree, unit) {
                let label = format!("divides by a number in {unit}");
                let help = format!("write the fraction as a decimal: `{decimal} {unit}`");
                return Fault::new(tree.at.clone(), "unlike-units", title, label).help(help);
            }
        }
        let (said_a, said_b) = (self.said(&left.0.at, "the first"), self.said(&right.0.at, "the second"));
        let label = format!("{said_a} is {}, {said_b} is {}", in_unit(left.1), in_unit(right.1));
        Fault::new(at, "unlike-units", title, label).help(one_unit_help(left.1, right.1))
    }

    fn choice(&mut self, parts: &[Tree<'s>; 3]) -> Part {
        let [condition, then, otherwise] = parts;
        let (c, a, b) = (self.of(condition), self.of(then), self.of(otherwise));
        let asks = self.truth(condition, &c, "if", None);
        let kind = match (a.kind, b.kind) {
            (Kind::Faulty, _) | (_, Kind::Faulty) => None,
            (kind_a, kind_b) if kind_a == kind_b => Some(kind_a),
            (Kind::Number(unit_a), Kind::Number(unit_b)) => {
                let title = format!("gives {} in one case and {} in the other", unit_words(unit_a), unit_words(unit_b));
                let at = then.at.start..otherwise.at.end;
                let fault = self.unlike(at, title, (then, unit_a), (otherwise, unit_b));
                self.faults.push(fault);
                None
            }
            (kind_a, kind_b) => {
                let title =
                    format!("gives {} in one case and {} in the other", self.in_words(kind_a), self.in_words(kind_b));
                let label = format!("{}, where the other is {}", self.in_words(kind_b), self.in_words(kind_a));
                self.faults.push(
                    Fault::new(otherwise.at.clone(), "wrong-kind", title, label)
                        .help("both cases must give the same kind, in one unit"),
                );
                None
            }
        };
        let (true, Some(kind)) = (asks, kind) else { return Part::faulty() };
        let constant = c.constant && a.constant && b.constant;
        Part { expr: Expr::If(Box::new(c.expr), Box::new(a.expr), Box::new(b.expr)), kind, constant }
    }

    fn call(&mut self, tree: &Tree<'s>, name: &str, name_at: &Range<usize>, given: &[Tree<'s>]) -> Part {
        match name {
            "abs" => {
                let Some([x]) = self.given(tree, name, given, "x") else { return Part::faulty() };
                let part = self.of(x);
                match self.number(x, &part, name) {
                    Some(unit) => {
                        Part { expr: Expr::Abs(Box::new(part.expr)), kind: Kind::Number(unit), constant: part.constant }
                    }
                    None => Part::faulty(),
                }
            }
            "sqrt" => {
                let Some([x]) = self.given(tree, name, given, "x") else { return Part::faulty() };
                let part = self.of(x);
                match self.number(x, &part, name) {
                    Some(Unit::NONE) => Part {
                        expr: Expr::Sqrt(Box::new(part.expr)),
                        kind: Kind::Number(Unit::NONE),
                        constant: part.constant,
                    },
                    Some(unit) => {
                        let title = format!("`sqrt` takes the root of a bare number, and this is in {unit}");
                        let fault = Fault::new(x.at.clone(), "unlike-units", title, unit_words(unit));
                        self.fault(fault.help(format!("divide by one of its unit first, as in `sqrt(x / 1 {unit})`")))
                    }
                    None => Part::faulty(),
                }
            }
            "min" | "max" => {
                let Some([left, right]) = self.given(tree, name, given, "a, b") else { return Part::faulty() };
                let op = if name == "min" { Op::Min } else { Op::Max };
                self.two(tree, op, name_at, left, right)
            }
            "sum" | "was" | "known" => {
                let Some([reading]) = self.given(tree, name, given, "reading") else { return Part::faulty() };
                self.of_reading(name, reading)
            }
            _ => {
                match self.names.named(name) {
                    Some(Named::Table { id, input, output }) => self.look_up(tree, name, given, id, input, output),
                    Some(_) => {
                        let fault = Fault::new(
                            name_at.clone(),
                            "unknown-function",
                            format!("`{name}` is not a table, and nothing can be looked up in it"),
                            "a bracket follows it",
                        );
                        self.fault(fault.help(format!("to multiply, write `{name} * (…)`")));
                        self.each(given)
                    }
                    None if name == "attempt" => {
                        let fault = Fault::new(
                            name_at.clone(),
                            "unknown-function",
                            "`attempt` is the number of the attempt, and takes nothing in brackets",
                            "a bracket follows it",
                        );
                        self.fault(fault.help("write `attempt` alone, as in `attempt > 1`"));
                        self.each(given)
                    }
                    None if name == "round" => {
                        let fault = Fault::new(
                            name_at.clone(),
                            "unknown-function",
                            "nothing is rounded in an expression",
                            "a bracket follows it",
                        );
                        self.fault(fault.help(
                            "a result is rounded once, by its `report`; `round` alone is the number of the round",
                        ));
                        self.each(given)
                    }
                    None => {
                        self.stranger(name_at, name, true);
                        self.each(given)
                    }
                }
            }
        }
    }

    /// Looks at each part of something that was faulted already.
    fn each(&mut self, given: &[Tree<'s>]) -> Part {
        for part in given {
            self.of(part);
        }
        Part::faulty()
    }

    /// What stands in the brackets, if it is as much as belongs there.
    fn given<'t, const N: usize>(
        &mut self,
        tree: &Tree<'s>,
        name: &str,
        given: &'t [Tree<'s>],
        right: &str,
    ) -> Option<&'t [Tree<'s>; N]> {
        if let Ok(given) = given.try_into() {
            return Some(given);
        }
        let wants = if N == 1 { "one value".to_owned() } else { "two values".to_owned() };
        let has = match given.len() {
            0 => "none".to_owned(),
            1 => "one".to_owned(),
            more => more.to_string(),
        };
        let help = if N == 2 && given.len() > 2 {
            format!("put one inside the other: `{name}(a, {name}(b, c))`")
        } else {
            format!("write `{name}({right})`")
        };
        let title = format!("`{name}` takes {wants}, and here it has {has}");
        self.faults.push(Fault::new(tree.at.clone(), "wrong-count", title, format!("has {has}")).help(help));
        self.each(given);
        None
    }

    fn look_up(
        &mut self,
        tree: &Tree<'s>,
        name: &str,
        given: &[Tree<'s>],
        id: TableId,
        input: Unit,
        output: Unit,
    ) -> Part {
        let Some([at]) = self.given(tree, name, given, "x") else { return Part::faulty() };
        let part = self.of(at);
        let Some(unit) = self.number(at, &part, name) else { return Part::faulty() };
        if unit != input {
            let title = format!("table `{name}` is looked up in {}, and this gives {}", of(input), unit_words(unit));
            let fault = Fault::new(at.at.clone(), "unlike-units", title, unit_words(unit));
            let fault = match bare_literal(at) {
                Some(_) => fault.help(format!("write `{} {input}`", self.source(&at.at))),
                None => fault.help(one_unit_help(input, unit)),
            };
            return self.fault(fault);
        }
        self.uses(Use::Table(id, part.expr.clone()));
        Part::asked(Expr::Table(id, Box::new(part.expr)), Kind::Number(output))
    }

    fn of_reading(&mut self, function: &str, tree: &Tree<'s>) -> Part {
        let Node::Name(name) = &tree.what else {
            if !matches!(tree.what, Node::Faulty(_)) {
                let title = format!("`{function}` takes the name of a reading");
                let fault = Fault::new(tree.at.clone(), "not-a-reading", title, "not the name of a reading");
                self.fault(
                    fault
                        .help(format!("write `{function}(reading)`, and work with what it gives outside the brackets")),
                );
            }
            return self.each(std::slice::from_ref(tree));
        };
        let what = match self.names.named(name) {
            None if matches!(*name, "round" | "attempt") || is_function(name) => "no reading",
            None => {
                self.stranger(&tree.at, name, false);
                return Part::faulty();
            }
            Some(Named::Number { id, unit } | Named::Tally { id, unit }) => match function {
                "sum" => {
                    self.uses(Use::Sum(id));
                    return Part::asked(Expr::Sum(id), Kind::Number(unit));
                }
                "was" => {
                    self.uses(Use::Was(id));
                    return Part::asked(Expr::Was(id), Kind::Number(unit));
                }
                _ => return self.known(id),
            },
            Some(Named::Choice { id, .. }) => match function {
                "was" => {
                    self.uses(Use::Was(id));
                    return Part::asked(Expr::Was(id), Kind::Choice(id));
                }
                "known" => return self.known(id),
                _ => "a choice, and its answers do not add up",
            },
            Some(Named::Words { id }) => match function {
                "known" => return self.known(id),
                _ => "free words, and nothing can be worked out from words",
            },
            Some(Named::Figure(_)) => "a figure, the same in every run",
            Some(Named::Value { .. }) => "a derived value, not a reading",
            Some(Named::Table { .. }) => "a table, not a reading",
        };
        let title = format!("`{function}` takes a reading, and `{name}` is {what}");
        let fault = Fault::new(tree.at.clone(), "not-a-reading", title, "not a reading it can take");
        self.fault(match self.names.named(name) {
            Some(Named::Words { .. }) => {
                fault.help(format!("all that can be asked is whether it was given: `known({name})`"))
            }
            Some(Named::Figure(_) | Named::Value { .. }) => {
                fault.help(format!("use `{name}` as it is, or name the reading it comes from"))
            }
            Some(Named::Choice { .. }) => fault.help(format!("compare it with an answer, as in `{name} == …`")),
            _ => fault,
        })
    }

    fn known(&mut self, id: ReadingId) -> Part {
        self.uses(Use::Known(id));
        Part::asked(Expr::Known(id), Kind::Truth)
    }

    /// The unit of a part that must be a number; `None` after saying that it is none.
    fn number(&mut self, tree: &Tree<'s>, part: &Part, sign: &str) -> Option<Unit> {
        match part.kind {
            Kind::Number(unit) => Some(unit),
            Kind::Faulty => None,
            kind => {
                let said = self.said(&tree.at, "this");
                let title = format!("`{sign}` works on numbers, and {said} is {}", self.in_words(kind));
                let help = self.instead_of_number(tree, kind);
                self.faults.push(Fault::new(tree.at.clone(), "wrong-kind", title, "not a number").help(help));
                None
            }
        }
    }

    /// Whether a part that must be a truth is one; `after` is what stands on the other side of an `and` or `or`.
    fn truth(&mut self, tree: &Tree<'s>, part: &Part, word: &str, after: Option<&Tree<'s>>) -> bool {
        match part.kind {
            Kind::Truth => true,
            Kind::Faulty => false,
            kind => {
                let said = self.said(&tree.at, "this");
                let (found, mut help) = self.instead_of_truth(tree, kind);
                // `level < 1 % or 2 %` says half of the second comparison.
                if let Some(Tree { what: Node::Two { op, op_at, left, .. }, .. }) = after
                    && matches!(op, Op::Less | Op::AtMost | Op::More | Op::AtLeast | Op::Equal | Op::NotEqual)
                    && matches!(kind, Kind::Number(_))
                {
                    let (compared, sign) = (self.source(&left.at), self.source(op_at));
                    help =
                        format!("say both comparisons in full: `{} {sign} {}`", short(compared), self.source(&tree.at));
                }
                let title = format!("`{word}` asks for true or false, and {said} is {found}");
                self.faults.push(Fault::new(tree.at.clone(), "wrong-kind", title, "neither true nor false").help(help));
                false
            }
        }
    }

    /// What was found where a truth belongs, and how to make a truth of it.
    fn instead_of_truth(&self, tree: &Tree<'s>, kind: Kind) -> (String, String) {
        let text = short(self.source(&tree.at));
        let help = match kind {
            Kind::Number(unit) => {
                let zero = if unit == Unit::NONE { "0".to_owned() } else { format!("0 {unit}") };
                match tree.what {
                    Node::Number { .. } => "compare it with a reading, as in `a > b`".to_owned(),
                    _ => format!("compare it with something, such as `{text} > {zero}`"),
                }
            }
            _ => match self.answers_of(tree).and_then(|answers| answers.into_iter().next()) {
                Some(answer) => format!("compare it with an answer, such as `{text} == {answer}`"),
                None => "compare it with an answer".to_owned(),
            },
        };
        (self.in_words(kind), help)
    }

    fn instead_of_number(&self, tree: &Tree<'s>, kind: Kind) -> String {
        let text = short(self.source(&tree.at));
        match kind {
            Kind::Choice(_) => {
                let answer = self.answers_of(tree).and_then(|answers| answers.into_iter().next());
                let answer = answer.unwrap_or_else(|| "…".to_owned());
                format!("give each answer its number: `if {text} == {answer} then … else …`")
            }
            _ => "a truth becomes a number with `if … then … else …`".to_owned(),
        }
    }

    fn in_words(&self, kind: Kind) -> String {
        match kind {
            Kind::Number(unit) => a_number(unit),
            Kind::Truth => "true or false".to_owned(),
            Kind::Choice(_) => "a choice".to_owned(),
            Kind::Faulty => "a fault".to_owned(),
        }
    }
}

/// The number of a literal without a unit, its sign aside.
fn bare_literal<'t>(tree: &'t Tree<'_>) -> Option<&'t Exact> {
    match &tree.what {
        Node::Number { value, unit: Unit::NONE, .. } => Some(value),
        Node::Negative(inside) => bare_literal(inside),
        _ => None,
    }
}

/// The decimal meant by `1/8 in`, which reads as 1 divided by 8 in.
fn common_fraction(tree: &Tree<'_>, unit: Unit) -> Option<Exact> {
    let Node::Two { op: Op::Divide, left, right, .. } = &tree.what else { return None };
    let Node::Number { value: bottom, unit: behind, written } = &right.what else { return None };
    let meant = *behind == unit && unit != Unit::NONE && Unit::parse(written) == Ok(unit);
    let decimal = bare_literal(left)?.checked_div(bottom)?;
    (meant && decimal.decimal_places().is_some()).then_some(decimal)
}

fn a_number(unit: Unit) -> String {
    if unit == Unit::NONE { "a bare number".to_owned() } else { format!("a number in {unit}") }
}

fn of(unit: Unit) -> String {
    if unit == Unit::NONE { "bare numbers".to_owned() } else { unit.symbol() }
}

fn in_unit(unit: Unit) -> String {
    if unit == Unit::NONE { "a bare number".to_owned() } else { format!("in {unit}") }
}

/// How numbers of two units can come into one.
fn one_unit_help(wanted: Unit, found: Unit) -> String {
    // A count is worth something in the other unit: a cup is worth 1 %.
    let counts = ["cup", "stroke", "tap", "layer", "turn", "piece"];
    let is_count = |unit: Unit| counts.contains(&unit.symbol().as_str());
    for (count, other) in [(found, wanted), (wanted, found)] {
        if is_count(count)
            && !is_count(other)
            && other != Unit::NONE
            && let Some(worth) = other.per(count)
        {
            return format!("multiply the {count}s by what one is worth: a figure in {worth}");
        }
    }
    if wanted == Unit::NONE || found == Unit::NONE {
        return "a bare number does not take on a unit: write the unit behind it, or divide by the unit first"
            .to_owned();
    }
    "nothing converts by itself: bring both into one unit".to_owned()
}

/// `a`, `b` and `c`
fn listed(names: &[impl AsRef<str>]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{}`", name.as_ref())).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// No run at all: enough to work out what is the same in every run.
struct Nothing;

impl Facts for Nothing {
    fn reading(&self, _: ReadingId) -> Datum {
        Datum::Unknown
    }
    fn was(&self, _: ReadingId) -> Datum {
        Datum::Unknown
    }
    fn sum(&self, _: ReadingId) -> Exact {
        Exact::from(0)
    }
    fn round(&self) -> u32 {
        0
    }
    fn attempt(&self) -> u32 {
        0
    }
    fn formula(&self, _: ValueId) -> &Expr {
        &Expr::Truth(false)
    }
    fn table(&self, _: TableId, _: &Exact) -> Option<Exact> {
        None
    }
}

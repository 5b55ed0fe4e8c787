//! The order of operations.
//!
//! From loosest to closest: `or`, `and`, `not`, comparison, `+ -`, `* /`, the sign before a number. Reading stops
//! at the first place where the order is lost, with one fault that says what belongs there; what was read so far is still
//! looked at, so that its names and units are reported in the same go.
//!
//! **Invariant:** no tree is deeper than [`DEEPEST`] and reading one never goes deeper than that either.

use super::lexer::{Token, Word, short};
use super::{DEEPEST, Fault, Op};
use quantity::{Exact, Unit};
use std::ops::Range;

/// An expression as written.
#[derive(Debug)]
pub(super) struct Tree<'s> {
    pub at: Range<usize>,
    pub what: Node<'s>,
    deep: usize,
}

#[derive(Debug)]
pub(super) enum Node<'s> {
    Number {
        value: Exact,
        unit: Unit,
        written: &'s str,
    },
    Truth(bool),
    Name(&'s str),
    Call {
        name: &'s str,
        name_at: Range<usize>,
        given: Vec<Tree<'s>>,
    },
    Negative(Box<Tree<'s>>),
    Not(Box<Tree<'s>>),
    Two {
        op: Op,
        op_at: Range<usize>,
        left: Box<Tree<'s>>,
        right: Box<Tree<'s>>,
    },
    If(Box<[Tree<'s>; 3]>),
    /// Faulted already. What is inside is still worth a look; what it gives is not.
    Faulty(Vec<Tree<'s>>),
}

impl<'s> Tree<'s> {
    fn new(at: Range<usize>, what: Node<'s>) -> Self {
        let deep = 1 + match &what {
            Node::Number { .. } | Node::Truth(_) | Node::Name(_) => 0,
            Node::Negative(inside) | Node::Not(inside) => inside.deep,
            Node::Two { left, right, .. } => left.deep.max(right.deep),
            Node::If(parts) => parts.iter().map(|part| part.deep).max().unwrap_or(0),
            Node::Call { given: parts, .. } | Node::Faulty(parts) => {
                parts.iter().map(|part| part.deep).max().unwrap_or(0)
            }
        };
        Self { at, what, deep }
    }

    fn faulty(at: Range<usize>, parts: Vec<Tree<'s>>) -> Self {
        Self::new(at, Node::Faulty(parts))
    }
}

/// Reads the whole expression; `tokens` may be empty when all of it was faulted.
pub(super) fn parse<'s>(src: &'s str, tokens: &[Token<'s>], faults: &mut Vec<Fault>) -> Tree<'s> {
    let mut parser = Parser { src, tokens, next: 0, deep: 0, stopped: false, faults };
    let tree = parser.expression(OR);
    if let Some(token) = parser.peek() {
        let token = token.clone();
        parser.unexpected(&token);
    }
    if parser.stopped { Tree::faulty(tree.at.clone(), vec![tree]) } else { tree }
}

/// How closely an operation binds.
type Closeness = u8;
const OR: Closeness = 1;
const AND: Closeness = 2;
const COMPARE: Closeness = 4;
const ADD: Closeness = 5;
const MULTIPLY: Closeness = 6;
const SIGN: Closeness = 7;

fn closeness(op: Op) -> Closeness {
    match op {
        Op::Or => OR,
        Op::And => AND,
        Op::Less | Op::AtMost | Op::More | Op::AtLeast | Op::Equal | Op::NotEqual => COMPARE,
        Op::Add | Op::Subtract => ADD,
        Op::Multiply | Op::Divide | Op::Min | Op::Max => MULTIPLY,
    }
}

struct Parser<'s, 't, 'f> {
    src: &'s str,
    tokens: &'t [Token<'s>],
    next: usize,
    deep: usize,
    /// The order is lost: no more is read, and no more is faulted.
    stopped: bool,
    faults: &'f mut Vec<Fault>,
}

impl<'s, 't> Parser<'s, 't, '_> {
    fn peek(&self) -> Option<&'t Token<'s>> {
        if self.stopped { None } else { self.tokens.get(self.next) }
    }

    fn take(&mut self, what: &Word<'s>) -> bool {
        let is_next = self.peek().is_some_and(|token| token.what == *what);
        self.next += usize::from(is_next);
        is_next
    }

    /// The place of the token before the next.
    fn before(&self) -> Range<usize> {
        self.next.checked_sub(1).and_then(|at| self.tokens.get(at)).map_or(0..0, |token| token.at.clone())
    }

    fn source(&self, at: &Range<usize>) -> &'s str {
        self.src.get(at.clone()).unwrap_or_default()
    }

    fn stop(&mut self, fault: Fault) {
        if !self.stopped {
            self.faults.push(fault);
            self.stopped = true;
        }
    }

    fn nothing(&self) -> Tree<'s> {
        let end = self.before().end;
        Tree::faulty(end..end, Vec::new())
    }

    fn expression(&mut self, least: Closeness) -> Tree<'s> {
        if self.deep >= DEEPEST {
            let at = self.peek().map_or(self.before(), |token| token.at.clone());
            self.too_deep(at);
            return self.nothing();
        }
        self.deep += 1;
        let mut left = self.operand();
        let mut compared: Option<(Op, Range<usize>, Range<usize>)> = None;
        while let Some(Token { what: Word::Sign(op), at }) = self.peek() {
            let close = closeness(*op);
            if close < least {
                break;
            }
            self.next += 1;
            let right = self.expression(close + 1);
            let whole = left.at.start..right.at.end.max(at.end);
            if close == COMPARE
                && let Some((_, first_at, middle)) = &compared
                && !self.stopped
            {
                self.chained(&whole, first_at.clone(), middle.clone(), at, &right.at);
                left = Tree::faulty(whole, vec![left, right]);
                // One fault for the whole chain.
                compared = None;
                continue;
            }
            compared = (close == COMPARE).then(|| (*op, at.clone(), right.at.clone()));
            left = Tree::new(
                whole,
                Node::Two { op: *op, op_at: at.clone(), left: Box::new(left), right: Box::new(right) },
            );
            if left.deep > DEEPEST {
                self.too_deep(at.clone());
                left = self.nothing();
            }
        }
        self.deep -= 1;
        left
    }

    fn too_deep(&mut self, at: Range<usize>) {
        self.stop(
            Fault::new(
                at,
                "too-deep",
                format!("the expression is nested more than {DEEPEST} deep"),
                "here it goes too deep",
            )
            .help("give a part of it a name of its own, as a derived value"),
        );
    }

    fn chained(
        &mut self,
        whole: &Range<usize>,
        first_at: Range<usize>,
        middle: Range<usize>,
        second_at: &Range<usize>,
        last: &Range<usize>,
    ) {
        let first = self.source(&(whole.start..first_at.start)).trim();
        let middle = self.source(&middle);
        let parts = [first, self.source(&first_at), middle, middle, self.source(second_at), self.source(last)];
        let help = if parts.iter().map(|part| part.len()).sum::<usize>() <= 80 {
            let [a, first_sign, b, again, second_sign, c] = parts;
            format!("write `{a} {first_sign} {b} and {again} {second_sign} {c}`")
        } else {
            "write `a < b and b < c`".to_owned()
        };
        self.faults.push(
            Fault::new(second_at.clone(), "chained-comparison", "comparisons do not chain", "a second comparison")
                .help(help),
        );
    }

    fn operand(&mut self) -> Tree<'s> {
        let Some(token) = self.peek() else {
            if !self.stopped {
                self.ends_early();
            }
            return self.nothing();
        };
        let at = token.at.clone();
        let tree = match &token.what {
            Word::Number { value, unit, written } => {
                self.next += 1;
                Tree::new(at, Node::Number { value: value.clone(), unit: *unit, written })
            }
            Word::True | Word::False => {
                self.next += 1;
                Tree::new(at, Node::Truth(token.what == Word::True))
            }
            Word::Name(name) => {
                self.next += 1;
                if self.peek().is_some_and(|next| next.what == Word::Open) {
                    self.call(name, at)
                } else {
                    Tree::new(at, Node::Name(name))
                }
            }
            Word::Sign(Op::Subtract) => {
                self.next += 1;
                let inside = self.expression(SIGN);
                Tree::new(at.start..inside.at.end.max(at.end), Node::Negative(Box::new(inside)))
            }
            Word::Not => {
                self.next += 1;
                let inside = self.expression(COMPARE);
                Tree::new(at.start..inside.at.end.max(at.end), Node::Not(Box::new(inside)))
            }
            Word::Open => {
                self.next += 1;
                let inside = self.expression(OR);
                let end = self.close(&at);
                Tree { at: at.start..end, ..inside }
            }
            Word::If => {
                self.next += 1;
                self.choice(at)
            }
            Word::Then | Word::Else | Word::Close | Word::Comma | Word::Sign(_) | Word::Bad => {
                self.no_operand(token);
                self.nothing()
            }
        };
        if tree.deep > DEEPEST {
            self.too_deep(tree.at.start..tree.at.start);
            return self.nothing();
        }
        tree
    }

    fn ends_early(&mut self) {
        let at = self.before();
        let last = self.source(&at).to_owned();
        self.stop(
            Fault::new(
                at,
                "ends-early",
                "the expression ends too early",
                format!("nothing follows `{}`", short(&last)),
            )
            .help("a number, a name or a bracket must follow"),
        );
    }

    fn no_operand(&mut self, token: &Token<'s>) {
        if token.what == Word::Bad {
            self.stopped = true;
            return;
        }
        let written = self.source(&token.at);
        let (code, expected) = ("value-missing", "expected a number, a name or a bracket");
        let fault = match &token.what {
            Word::Sign(Op::Add) => Fault::new(token.at.clone(), code, "a `+` stands only between two values", expected)
                .help("leave it out"),
            Word::Sign(_) if self.before().end > 0 => {
                let last = self.source(&self.before());
                let title = format!("a value is missing between `{last}` and `{written}`");
                Fault::new(token.at.clone(), code, title, expected)
            }
            _ => Fault::new(token.at.clone(), code, format!("a value is missing before `{written}`"), expected),
        };
        self.stop(fault);
    }

    /// What stands where the expression should have ended or gone on with a sign.
    fn unexpected(&mut self, token: &Token<'s>) {
        let written = self.source(&token.at).to_owned();
        let before_at = self.before();
        let before = self.source(&before_at).to_owned();
        let at = token.at.clone();
        let fault = match &token.what {
            Word::Bad => {
                self.stopped = true;
                return;
            }
            Word::Close => Fault::new(at, "bracket", "this bracket closes nothing", "no `(` belongs to it")
                .help("take it out, or open a bracket before"),
            Word::Comma => {
                let after = self.tokens.get(self.next + 1).map(|next| self.source(&next.at)).unwrap_or_default();
                let fault = Fault::new(
                    at,
                    "comma",
                    "a comma stands only between the values of `min` and `max`",
                    "not expected here",
                );
                let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
                let number = after.split([' ', '%']).next().unwrap_or_default();
                if digits(&before) && digits(number) {
                    fault.help(format!("a decimal has a point: `{before}.{after}`"))
                } else {
                    fault
                }
            }
            Word::Then | Word::Else => {
                Fault::new(at, "if-parts", format!("`{written}` without `if`"), "no `if` belongs to it")
                    .help("a choice between two is written `if c then a else b`")
            }
            _ if super::check::is_function(&before) => {
                Fault::new(before_at, "bracket", format!("`{before}` needs brackets"), "no `(` behind it")
                    .help(format!("write `{before}({})`", short(&written)))
            }
            what => {
                let title = format!("a sign is missing between `{}` and `{}`", short(&before), short(&written));
                let fault = Fault::new(at, "sign-missing", title, "expected `+`, `<`, `and` or another sign before it");
                match what {
                    Word::Name("is" | "equals") => fault.help("write `==`"),
                    Word::Name("mod" | "div") => fault.help("there is no remainder; `/` divides exactly"),
                    Word::Number { .. } if before.bytes().all(|byte| byte.is_ascii_digit()) => {
                        fault.help("write a mixed number as a decimal, such as `2.75`")
                    }
                    Word::Open => fault.help("to multiply, put `*` before the bracket"),
                    _ => fault,
                }
            }
        };
        self.stop(fault);
    }

    /// The end of a bracket opened at `open`.
    fn close(&mut self, open: &Range<usize>) -> usize {
        if !self.take(&Word::Close) {
            match self.peek() {
                Some(token) => self.unexpected(token),
                None => self.stop(
                    Fault::new(open.clone(), "bracket", "this bracket is never closed", "opened here")
                        .help("put a `)` where it ends"),
                ),
            }
        }
        self.before().end.max(open.end)
    }

    fn call(&mut self, name: &'s str, name_at: Range<usize>) -> Tree<'s> {
        let open = self.peek().map_or(name_at.clone(), |token| token.at.clone());
        self.next += 1;
        let mut given = Vec::new();
        if self.take(&Word::Close) {
            let end = self.before().end;
            return Tree::new(name_at.start..end, Node::Call { name, name_at, given });
        }
        loop {
            given.push(self.expression(OR));
            if !self.take(&Word::Comma) {
                break;
            }
        }
        let end = self.close(&open);
        if self.stopped {
            // How much belongs in these brackets can't be counted.
            return Tree::faulty(name_at.start..end, given);
        }
        Tree::new(name_at.start..end, Node::Call { name, name_at, given })
    }

    fn choice(&mut self, if_at: Range<usize>) -> Tree<'s> {
        let condition = self.expression(OR);
        if !self.part(&Word::Then, "then", &if_at) {
            return Tree::faulty(if_at.start..condition.at.end.max(if_at.end), vec![condition]);
        }
        let then = self.expression(OR);
        if !self.part(&Word::Else, "else", &if_at) {
            return Tree::faulty(if_at.start..then.at.end.max(if_at.end), vec![condition, then]);
        }
        let otherwise = self.expression(OR);
        let end = otherwise.at.end.max(self.before().end);
        Tree::new(if_at.start..end, Node::If(Box::new([condition, then, otherwise])))
    }

    fn part(&mut self, word: &Word<'s>, written: &str, if_at: &Range<usize>) -> bool {
        if self.take(word) {
            return true;
        }
        match self.peek() {
            Some(token) if !matches!(token.what, Word::Then | Word::Else | Word::Close | Word::Comma) => {
                self.unexpected(token);
            }
            _ => self.stop(
                Fault::new(
                    if_at.clone(),
                    "if-parts",
                    format!("this `if` has no `{written}`"),
                    format!("no `{written}` belongs to it"),
                )
                .help("write both ways: `if c then a else b`"),
            ),
        }
        false
    }
}

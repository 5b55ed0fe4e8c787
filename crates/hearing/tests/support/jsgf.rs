//! As much of the Java Speech Grammar Format as is published: rules, words, `|`, `( )`, `[ ]`.
//!
//! Source: JSpeech Grammar Format, W3C Note of 5 June 2000, sections 4 and 5 (from memory).

use std::collections::{BTreeMap, BTreeSet};

#[derive(Debug)]
enum Node {
    Word(String),
    Rule(String),
    Sequence(Vec<Node>),
    OneOf(Vec<Node>),
    Perhaps(Box<Node>),
}

pub struct Grammar {
    rules: BTreeMap<String, Node>,
}

impl Grammar {
    pub fn read(text: &str) -> Self {
        let mut statements = text.split(';').map(str::trim);
        assert_eq!(statements.next(), Some("#JSGF V1.0"));
        assert!(statements.next().unwrap().starts_with("grammar "));
        let mut rules = BTreeMap::new();
        for statement in statements.filter(|statement| !statement.is_empty()) {
            let (name, body) = statement.split_once(" = ").unwrap();
            let name = name.trim_start_matches("public ").trim_start_matches('<').trim_end_matches('>');
            let spaced: String = body
                .chars()
                .flat_map(|sign| if "()[]|".contains(sign) { vec![' ', sign, ' '] } else { vec![sign] })
                .collect();
            let mut tokens = spaced.split_whitespace().rev().collect();
            let node = one_of(&mut tokens);
            assert!(tokens.is_empty(), "a bracket too many in <{name}>");
            assert!(rules.insert(name.to_owned(), node).is_none(), "<{name}> twice");
        }
        let grammar = Self { rules };
        grammar.rules.values().for_each(|node| grammar.all_rules_exist(node));
        grammar
    }

    fn all_rules_exist(&self, node: &Node) {
        match node {
            Node::Word(_) => {}
            Node::Rule(name) => assert!(name == "VOID" || self.rules.contains_key(name), "<{name}> is missing"),
            Node::Sequence(nodes) | Node::OneOf(nodes) => nodes.iter().for_each(|node| self.all_rules_exist(node)),
            Node::Perhaps(node) => self.all_rules_exist(node),
        }
    }

    /// Sentences taken at random, always the same ones.
    pub fn sentences(&self, rule: &str, n: usize) -> BTreeSet<String> {
        let mut chance = 88_172_645_463_325_252_u64;
        (0..n)
            .map(|_| {
                let mut words = Vec::new();
                self.speak(&self.rules[rule], &mut chance, &mut words);
                words.join(" ")
            })
            .collect()
    }

    fn speak(&self, node: &Node, chance: &mut u64, words: &mut Vec<String>) {
        let mut pick = |n: usize| {
            // Marsaglia's xorshift: enough to wander through a grammar.
            *chance ^= *chance << 13;
            *chance ^= *chance >> 7;
            *chance ^= *chance << 17;
            usize::try_from(*chance % n as u64).unwrap()
        };
        match node {
            Node::Word(word) => words.push(word.clone()),
            Node::Rule(name) => self.speak(&self.rules[name], chance, words),
            Node::Sequence(nodes) => nodes.iter().for_each(|node| self.speak(node, chance, words)),
            Node::OneOf(nodes) => {
                let at = pick(nodes.len());
                self.speak(&nodes[at], chance, words);
            }
            Node::Perhaps(node) => {
                if pick(2) == 0 {
                    self.speak(node, chance, words);
                }
            }
        }
    }

    /// Whether the words are a sentence of a rule.
    pub fn matches(&self, rule: &str, words: &str) -> bool {
        let words: Vec<&str> = words.split(' ').collect();
        self.ends(&self.rules[rule], &words, 0).contains(&words.len())
    }

    /// Where a sentence of the node that begins at `from` can end.
    fn ends(&self, node: &Node, words: &[&str], from: usize) -> BTreeSet<usize> {
        match node {
            Node::Word(word) => (words.get(from) == Some(&word.as_str())).then_some(from + 1).into_iter().collect(),
            Node::Rule(name) => self.ends(&self.rules[name], words, from),
            Node::Sequence(nodes) => nodes.iter().fold(BTreeSet::from([from]), |froms, node| {
                froms.into_iter().flat_map(|from| self.ends(node, words, from)).collect()
            }),
            Node::OneOf(nodes) => nodes.iter().flat_map(|node| self.ends(node, words, from)).collect(),
            Node::Perhaps(node) => {
                let mut ends = self.ends(node, words, from);
                ends.insert(from);
                ends
            }
        }
    }
}

fn one_of(tokens: &mut Vec<&str>) -> Node {
    let mut nodes = vec![sequence(tokens)];
    while tokens.last() == Some(&"|") {
        tokens.pop();
        nodes.push(sequence(tokens));
    }
    Node::OneOf(nodes)
}

fn sequence(tokens: &mut Vec<&str>) -> Node {
    let mut nodes = Vec::new();
    while let Some(token) = tokens.last().copied().filter(|token| ![")", "]", "|"].contains(token)) {
        tokens.pop();
        nodes.push(match token {
            "(" | "[" => {
                let inner = one_of(tokens);
                assert_eq!(tokens.pop(), Some(if token == "(" { ")" } else { "]" }));
                if token == "(" { inner } else { Node::Perhaps(Box::new(inner)) }
            }
            _ => match token.strip_prefix('<') {
                Some(name) => Node::Rule(name.trim_end_matches('>').to_owned()),
                None => Node::Word(token.to_owned()),
            },
        });
    }
    assert!(!nodes.is_empty(), "an empty alternative");
    Node::Sequence(nodes)
}

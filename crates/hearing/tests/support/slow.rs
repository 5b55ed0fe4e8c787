//! A second reading of spoken numbers, made the other way round: every number below 61 000 is put into words, and the
//! words are looked up. Slow, and it shares nothing with the parser but the trade's ways to say a number.

#![allow(dead_code, reason = "each test takes what it needs")]

use std::collections::{BTreeSet, HashMap};

use quantity::{Exact, Scale};

const HIGHEST: u64 = 61_000;

const SMALL: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

pub struct Slow {
    cardinals: HashMap<String, u64>,
    runs: HashMap<String, u64>,
    fractions: HashMap<String, (i64, i64)>,
}

fn small(n: u64) -> String {
    match usize::try_from(n).unwrap() {
        n @ ..20 => SMALL[n].to_owned(),
        n if n % 10 == 0 => TENS[n / 10].to_owned(),
        n => format!("{} {}", TENS[n / 10], SMALL[n % 10]),
    }
}

/// "three hundred", "three hundred and five", "three hundred five"
fn hundreds(count: &str, rest: u64) -> Vec<String> {
    match rest {
        0 => vec![format!("{count} hundred")],
        rest => ["and ", ""].map(|and| format!("{count} hundred {and}{}", small(rest))).to_vec(),
    }
}

fn cardinals(n: u64) -> Vec<String> {
    if n < 100 {
        return vec![small(n)];
    }
    let below_1000 = |n: u64| if n < 100 { vec![small(n)] } else { hundreds(&small(n / 100), n % 100) };
    let mut said = Vec::new();
    if n < 1000 {
        said = below_1000(n);
    } else {
        for count in below_1000(n / 1000) {
            said.extend(match n % 1000 {
                0 => vec![format!("{count} thousand")],
                rest @ ..100 => ["and ", ""].map(|and| format!("{count} thousand {and}{}", small(rest))).to_vec(),
                rest => below_1000(rest).iter().map(|rest| format!("{count} thousand {rest}")).collect(),
            });
        }
    }
    if (1100..10_000).contains(&n) && !(n / 100).is_multiple_of(10) {
        said.extend(hundreds(&small(n / 100), n % 100));
    }
    said
}

fn run(n: u64) -> Option<String> {
    let (first, last) = (n / 100, n % 100);
    let is_said_again = first == last || (first > 9 && first.is_multiple_of(10) && first / 10 == last / 10);
    match (first, last) {
        (1..10, 10..) => Some(format!("{} {}", small(first), small(last))),
        (10..100, 10..) if !is_said_again => Some(format!("{} {}", small(first), small(last))),
        (10..100, 1..10) => Some(format!("{} zero {}", small(first), small(last))),
        _ => None,
    }
}

impl Slow {
    pub fn new() -> Self {
        let mut slow = Self { cardinals: HashMap::new(), runs: HashMap::new(), fractions: HashMap::new() };
        for n in 0..HIGHEST {
            for said in cardinals(n) {
                assert!(slow.cardinals.insert(said, n).is_none_or(|other| other == n), "two meanings of {n}");
            }
            if let Some(said) = run(n) {
                slow.runs.insert(said, n);
            }
        }
        let names = [
            (2, "half"),
            (3, "third"),
            (4, "quarter"),
            (4, "fourth"),
            (5, "fifth"),
            (8, "eighth"),
            (10, "tenth"),
            (16, "sixteenth"),
            (100, "hundredth"),
            (1000, "thousandth"),
        ];
        for (of, name) in names {
            for article in ["a", "an", "one"] {
                slow.fractions.insert(format!("{article} {name}"), (1, of));
            }
            for above in 2..of {
                for said in cardinals(above.try_into().unwrap()) {
                    slow.fractions.insert(format!("{said} {name}s"), (above, of));
                    let is_lowest = (2..=above).all(|by| above % by != 0 || of % by != 0);
                    if is_lowest {
                        slow.fractions.insert(format!("{said} {name}"), (above, of));
                    }
                }
            }
        }
        slow.fractions.insert("half".to_owned(), (1, 2));
        slow
    }

    /// Every value that the words can have on an instrument, with or without a minus, and without a unit.
    pub fn values(&self, words: &str, scale: &Scale) -> BTreeSet<Exact> {
        // "oh" alone is a sigh.
        if words.split(' ').all(|word| ["oh", "a", "an", "and", "minus"].contains(&word)) {
            return BTreeSet::new();
        }
        let words = words.replace("niner", "nine");
        let words: Vec<&str> = words.split(' ').map(|word| if word == "oh" { "zero" } else { word }).collect();
        match words.split_first() {
            Some((&("minus" | "negative"), rest)) => {
                self.unsigned(rest, scale).into_iter().map(|value| -value).collect()
            }
            _ => self.unsigned(&words, scale),
        }
    }

    /// Those of them that are marks.
    pub fn marks(&self, words: &str, scale: &Scale) -> Vec<Exact> {
        let is_mark = |value: &Exact| {
            *value >= Exact::from(scale.min)
                && *value <= Exact::from(scale.max)
                && value.checked_div(&Exact::from(scale.step)).is_some_and(|marks| marks.decimal_places() == Some(0))
        };
        self.values(words, scale).into_iter().filter(is_mark).collect()
    }

    fn unsigned(&self, words: &[&str], scale: &Scale) -> BTreeSet<Exact> {
        let mut found = BTreeSet::new();
        let exact = |text: String| text.parse::<Exact>().unwrap();
        found.extend(self.wholes(words).into_iter().map(exact));
        found.extend(self.fraction(words));
        for at in 0..words.len() {
            let (before, after) = (&words[..at], &words[at + 1..]);
            if words[at] == "point"
                && let Some(decimals) = decimals(after)
            {
                let wholes = if before.is_empty() { vec!["0".to_owned()] } else { self.wholes(before) };
                found.extend(wholes.into_iter().map(|whole| exact(format!("{whole}.{decimals}"))));
            }
            if words[at] == "and"
                && let Some(fraction) = self.fraction(after)
            {
                let run = self.runs.get(&before.join(" ")).filter(|run| **run < 1000);
                found.extend(
                    self.cardinal(before)
                        .or(run.copied())
                        .filter(|whole| *whole > 0)
                        .map(|whole| whole_value(whole) + &fraction),
                );
            }
            if at == 0 {
                continue;
            }
            let after = &words[at..];
            let ends_in_unit_or_teen = SMALL[1..].contains(&before[at - 1]);
            let is_simple = matches!(after, [one, part]
                if (SMALL[1..10].contains(one)
                    && ["half", "halve", "third", "quarter", "fourth", "eighth", "sixteenth"].contains(&part.trim_end_matches('s')))
                || (SMALL[10..].contains(one) && part.trim_end_matches('s') == "sixteenth"));
            if let (true, true, Some(whole), Some(fraction)) =
                (ends_in_unit_or_teen, is_simple, self.cardinal(before), self.fraction(after))
            {
                found.insert(whole_value(whole) + fraction);
            }
            if let (2, Some(whole @ 1..100), Some(hundredths @ 10..100)) =
                (scale.step.normalize().scale(), self.cardinal(before), self.cardinal(after))
                && !(whole > 9 && run(whole * 100 + hundredths).is_none())
            {
                found.insert(exact(format!("{whole}.{hundredths}")));
            }
        }
        found
    }

    fn cardinal(&self, words: &[&str]) -> Option<u64> {
        self.cardinals.get(&with_one(words)).copied()
    }

    fn fraction(&self, words: &[&str]) -> Option<Exact> {
        let (above, of) = self.fractions.get(&words.join(" ")).or_else(|| self.fractions.get(&with_one(words)))?;
        Exact::ratio(*above, *of)
    }

    fn wholes(&self, words: &[&str]) -> Vec<String> {
        let mut found: BTreeSet<String> = BTreeSet::new();
        found.extend(self.cardinal(words).map(|n| n.to_string()));
        found.extend(self.runs.get(&words.join(" ")).map(|n| n.to_string()));
        found.extend(digits(words).filter(|digits| (2..=7).contains(&digits.len()) && !digits.starts_with('0')));
        found.into_iter().collect()
    }
}

/// "a hundred", "a thousand and five"; but never "two thousand a hundred".
fn with_one(words: &[&str]) -> String {
    match words {
        ["a" | "an", count @ ("hundred" | "thousand"), rest @ ..] => [&["one", count][..], rest].concat().join(" "),
        _ => words.join(" "),
    }
}

fn whole_value(n: u64) -> Exact {
    Exact::from_int(n.try_into().unwrap())
}

fn digits(words: &[&str]) -> Option<String> {
    words.iter().map(|word| SMALL[..10].iter().position(|digit| digit == word).map(|digit| digit.to_string())).collect()
}

fn decimals(words: &[&str]) -> Option<String> {
    let pair = |words: &[&str]| (10..100).find(|n| small(*n) == words.join(" ")).map(|n| n.to_string());
    let all = digits(words).or_else(|| {
        (0..words.len()).find_map(|at| {
            let (before, last) = (&words[..at], pair(&words[at..])?);
            if let Some(first) = digits(before) {
                return Some(first + &last);
            }
            let first = pair(before)?;
            let number: u64 = format!("{first}{last}").parse().unwrap();
            run(number).map(|_| first + &last)
        })
    })?;
    (1..=7).contains(&all.len()).then_some(all)
}

//! What holds for any text and for any arithmetic.

use super::*;
use num_bigint::BigInt;
use num_rational::BigRational;
use proptest::prelude::*;

/// Arithmetic as it is meant, beside the text it is written in.
#[derive(Clone, Debug)]
enum Sum {
    Decimal { digits: u32, places: u32 },
    Negative(Box<Sum>),
    Abs(Box<Sum>),
    Two(&'static str, Box<Sum>, Box<Sum>),
    Larger(Box<Sum>, Box<Sum>),
    IfLess([Box<Sum>; 4]),
}

impl Sum {
    /// Every operation in its own brackets.
    fn written(&self) -> String {
        match self {
            Sum::Decimal { digits, places: 0 } => digits.to_string(),
            Sum::Decimal { digits, places } => {
                let power = 10_u32.pow(*places);
                format!("{}.{:0width$}", digits / power, digits % power, width = *places as usize)
            }
            Sum::Negative(x) => format!("(-{})", x.written()),
            Sum::Abs(x) => format!("abs({})", x.written()),
            Sum::Two(sign, a, b) => format!("({} {sign} {})", a.written(), b.written()),
            Sum::Larger(a, b) => format!("max({}, {})", a.written(), b.written()),
            Sum::IfLess([a, b, then, otherwise]) => {
                format!("(if {} < {} then {} else {})", a.written(), b.written(), then.written(), otherwise.written())
            }
        }
    }

    /// The result, worked out without any of this crate; `None` where it divides by zero.
    fn result(&self) -> Option<BigRational> {
        let whole = |value: i64| BigRational::from_integer(BigInt::from(value));
        Some(match self {
            Sum::Decimal { digits, places } => whole(i64::from(*digits)) / whole(10_i64.pow(*places)),
            Sum::Negative(x) => -x.result()?,
            Sum::Abs(x) => {
                let x = x.result()?;
                if x < whole(0) { -x } else { x }
            }
            Sum::Two(sign, a, b) => {
                let (a, b) = (a.result()?, b.result()?);
                match *sign {
                    "+" => a + b,
                    "-" => a - b,
                    "*" => a * b,
                    _ if b == whole(0) => return None,
                    _ => a / b,
                }
            }
            Sum::Larger(a, b) => a.result()?.max(b.result()?),
            Sum::IfLess([a, b, then, otherwise]) => {
                if a.result()? < b.result()? {
                    then.result()?
                } else {
                    otherwise.result()?
                }
            }
        })
    }
}

fn sums() -> impl Strategy<Value = Sum> {
    let leaf = (0..100_000_u32, 0..4_u32).prop_map(|(digits, places)| Sum::Decimal { digits, places });
    leaf.prop_recursive(5, 40, 4, |inner| {
        let inner = inner.prop_map(Box::new).boxed();
        let two = (inner.clone(), inner.clone());
        prop_oneof![
            inner.clone().prop_map(Sum::Negative),
            inner.clone().prop_map(Sum::Abs),
            (prop::sample::select(vec!["+", "-", "*", "/"]), two.clone())
                .prop_map(|(sign, (a, b))| Sum::Two(sign, a, b)),
            two.prop_map(|(a, b)| Sum::Larger(a, b)),
            [inner.clone(), inner.clone(), inner.clone(), inner].prop_map(Sum::IfLess),
        ]
    })
}

const RIGHT: [&str; 8] = [
    "level + sum(cups) * cup_worth",
    "if alcohol >= 2.5 pt then alcohol_correction(alcohol) else 0 %",
    "abs(cup - 1.00 %) > 0.04 % and not (foam > 2 %)",
    "heard == no or pieces != wet-sieved",
    "settle_every <= 2 min",
    "62.4 lb/ft³ * 0.075 ft³ - 4 fl oz / 1 fl oz * 1 lb",
    "min(level, was(level)) < max(foam, 1 %)",
    "known(technician) == (round > 1)",
];

/// Compiles and evaluates; whatever is faulted lies inside the text and says something.
fn survives(src: &str) -> Result<(), TestCaseError> {
    for want in [Want::Any, Want::Truth, Want::Number(unit("%"))] {
        match compile(src, &Meter, want) {
            Ok(compiled) => {
                let values = vec![Expr::Number(exact("5.25"))];
                compiled.expr.eval(&Known { values, ..Known::default() }.number(0, "5.25"));
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                for fault in faults {
                    prop_assert!(src.get(fault.at.clone()).is_some(), "{fault:?} lies outside");
                    prop_assert!(!fault.title.is_empty() && !fault.label.is_empty());
                }
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_text_is_compiled_or_faulted(src in any::<String>()) {
        survives(&src)?;
    }

    #[test]
    fn any_row_of_words_and_signs_is_compiled_or_faulted(
        words in prop::collection::vec(
            prop::sample::select(vec![
                "level", "heard", "no", "sum", "was", "known", "abs", "min", "alcohol_correction", "technician", "round",
                "if", "then", "else", "and", "or", "not", "true", "2", "0", "2.5 pt", "1 %", "9 %/cup", "4 fl oz", "fl",
                "(", ")", ",", "+", "-", "*", "/", "<", "<=", "==", "!=", "=", "&&", "!", "≤", "%", "\"", "½", ".", "°",
            ]),
            0..60,
        ),
        space in prop::sample::select(vec!["", " "]),
    ) {
        survives(&words.join(space))?;
    }

    #[test]
    fn a_right_expression_with_some_letters_changed_is_compiled_or_faulted(
        which in 0..RIGHT.len(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0..3, any::<char>()), 1..6),
    ) {
        let mut letters: Vec<char> = RIGHT[which].chars().collect();
        for (place, how, letter) in changes {
            let at = place.index(letters.len().max(1));
            match how {
                0 if at < letters.len() => drop(letters.remove(at)),
                1 if at < letters.len() => letters[at] = letter,
                _ => letters.insert(at.min(letters.len()), letter),
            }
        }
        survives(&letters.into_iter().collect::<String>())?;
    }

    #[test]
    fn arithmetic_is_what_a_plain_reckoning_gives(sum in sums()) {
        let src = sum.written();
        prop_assume!(src.len() <= crate::expr::LONGEST);
        match compile(&src, &Meter, Want::Number(Unit::NONE)) {
            Ok(compiled) => {
                let given = compiled.expr.eval(&Known::default());
                match (given, sum.result()) {
                    (Datum::Number(value), Some(result)) => {
                        // Fractions in lowest terms have one form, so the texts of numerator and denominator decide.
                        let (top, bottom) = (exact_from(result.numer()), exact_from(result.denom()));
                        prop_assert_eq!(&value * &bottom, top, "{}", src);
                    }
                    (given, result) => prop_assert!(false, "{src}: {given:?}, and {result:?} by hand"),
                }
            }
            Err(faults) => {
                // Only a division by zero is wrong with it, in a branch taken or not.
                prop_assert!(faults.iter().all(|fault| fault.code == "division-by-zero"), "{}", explained(&src, &faults));
            }
        }
    }
}

/// A whole number of any length, nine digits at a time.
fn exact_from(value: &BigInt) -> Exact {
    let digits = value.magnitude().to_string();
    let size = digits.as_bytes().chunks(9).fold(Exact::from(0), |size, chunk| {
        let part = std::str::from_utf8(chunk).unwrap();
        let shift = Exact::from(10_i64.pow(u32::try_from(chunk.len()).unwrap()));
        &(&size * &shift) + &exact(part)
    });
    if *value < BigInt::from(0) { -&size } else { size }
}

#[test]
fn the_expressions_that_are_mutated_are_right() {
    for src in RIGHT {
        compiled(src);
    }
}

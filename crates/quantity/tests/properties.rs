//! Laws that hold for every number: rounding, what people type, and arithmetic against an independent rational.

#![allow(clippy::unwrap_used, reason = "a test's helpers say what they expect by panicking, too")]

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::Zero;
use proptest::prelude::*;
use quantity::{Decimal, Exact, Quantity, Scale, Span, Ties, Unit, parse_typed};

/// A number and the same number as an independent rational, small and large alike.
fn any_number() -> impl Strategy<Value = (Exact, BigRational)> {
    let edge = prop_oneof![any::<i64>(), -1000_i64..1000, Just(i64::MIN), Just(i64::MIN + 1), Just(i64::MAX), Just(0),];
    let fraction = (edge.clone(), edge).prop_filter("a denominator", |(_, den)| *den != 0).prop_map(|(num, den)| {
        (Exact::ratio(num, den).unwrap(), BigRational::new(BigInt::from(num), BigInt::from(den)))
    });
    let decimal = (any::<i128>(), 0_u32..=28).prop_map(|(digits, scale)| {
        let digits = digits >> 32;
        let decimal = Decimal::from_i128_with_scale(digits, scale);
        (Exact::from(decimal), BigRational::new(BigInt::from(digits), BigInt::from(10).pow(scale)))
    });
    prop_oneof![fraction, decimal]
}

/// Whether both are the same number, seen through the exact text.
fn same(exact: &Exact, rational: &BigRational) -> bool {
    let text = exact.show_exact();
    match exact.decimal_places() {
        None => text == rational.to_string(),
        Some(places) => {
            let digits: BigInt = text.replace('.', "").parse().unwrap();
            BigRational::new(digits, BigInt::from(10).pow(places)) == *rational
        }
    }
}

/// Readings and increments of the size methods use, in thousandths.
fn thousandths(range: std::ops::Range<i64>) -> impl Strategy<Value = Exact> {
    range.prop_map(|count| Exact::ratio(count, 1000).unwrap())
}

proptest! {
    #[test]
    fn arithmetic_equals_that_of_an_independent_rational((a, big_a) in any_number(), (b, big_b) in any_number()) {
        prop_assert!(same(&a, &big_a), "{a} is not {big_a}");
        prop_assert!(same(&(&a + &b), &(&big_a + &big_b)));
        prop_assert!(same(&(&a - &b), &(&big_a - &big_b)));
        prop_assert!(same(&(&a * &b), &(&big_a * &big_b)));
        prop_assert!(same(&-&a, &-&big_a));
        match a.checked_div(&b) {
            Some(quotient) => prop_assert!(same(&quotient, &(&big_a / &big_b))),
            None => prop_assert!(big_b.is_zero()),
        }
        prop_assert_eq!(a.cmp(&b), big_a.cmp(&big_b));
        prop_assert_eq!(a == b, big_a == big_b);
    }

    #[test]
    fn a_value_is_the_same_however_it_was_reached((a, _) in any_number(), (b, _) in any_number()) {
        use std::hash::{BuildHasher, RandomState};
        let hasher = RandomState::new();
        let back = &(&a + &b) - &b;
        prop_assert_eq!(&back, &a);
        prop_assert_eq!(hasher.hash_one(&back), hasher.hash_one(&a));
        if let Some(inverse) = Exact::one().checked_div(&b) {
            prop_assert_eq!(&(&a * &b) * &inverse, a);
        }
    }

    #[test]
    fn a_decimal_comes_back_as_it_was((a, _) in any_number()) {
        if let Some(decimal) = a.to_decimal() {
            prop_assert_eq!(Exact::from(&decimal), a.clone());
            prop_assert_eq!(decimal.normalize().to_string().parse::<Exact>().unwrap(), a);
        }
    }

    #[test]
    fn rounding_takes_the_nearest_multiple((value, _) in any_number(), (increment, _) in any_number()) {
        for ties in [Ties::Even, Ties::Up] {
            let rounded = value.rounded_to(&increment, ties);
            if increment <= Exact::zero() {
                prop_assert_eq!(&rounded, &value);
                continue;
            }
            let off = (&rounded - &value).abs();
            prop_assert!(rounded.is_multiple_of(&increment));
            prop_assert!(&off + &off <= increment);
            prop_assert_eq!(rounded.rounded_to(&increment, ties), rounded);
        }
    }

    #[test]
    fn a_half_goes_to_the_even_multiple_or_away_from_zero(count in -10_000_i64..10_000, increment in thousandths(1..100_000)) {
        let half = Exact::ratio(1, 2).unwrap();
        let value = (Exact::from_int(count) + half) * &increment;
        let even = value.rounded_to(&increment, Ties::Even);
        prop_assert!(even.is_multiple_of(&(&increment * &Exact::from_int(2))));
        let up = value.rounded_to(&increment, Ties::Up);
        prop_assert!(up.abs() > value.abs());
    }

    #[test]
    fn both_rules_agree_away_from_halves(value in thousandths(-100_000..100_000), increment in thousandths(1..10_000)) {
        let even = value.rounded_to(&increment, Ties::Even);
        let up = value.rounded_to(&increment, Ties::Up);
        let off = (&even - &value).abs();
        prop_assert!(&off + &off == increment || even == up);
        prop_assert_eq!((-&value).rounded_to(&increment, Ties::Up), -up, "the same on both sides of zero");
    }

    #[test]
    fn a_shown_number_is_marked_exactly_when_it_was_rounded(value in thousandths(-100_000..100_000), places in 0_u32..5) {
        let shown = value.show(places);
        let number: Exact = shown.trim_start_matches("≈ ").parse().unwrap();
        prop_assert_eq!(shown.starts_with('≈'), number != value);
        let decimals = shown.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        prop_assert_eq!(decimals, places as usize);
    }

    #[test]
    fn no_text_makes_a_reader_panic(text in any::<String>()) {
        let _ = parse_typed(&text);
        let _ = text.parse::<Exact>();
        let _ = text.parse::<Quantity>();
        let _ = text.parse::<Span>();
        let _ = Unit::parse(&text);
    }

    #[test]
    fn no_near_miss_makes_a_reader_panic(text in r"[-+−]{0,2}[0-9 ]{0,5}[-.,/⁄ ½⅛⅓]{0,3}[0-9]{0,5}[a-zµ°%/³⁻ .]{0,6}") {
        if let Err(error) = parse_typed(&text) {
            prop_assert!(error.to_string().contains(": expected "));
        }
        let _ = text.parse::<Exact>();
        let _ = text.parse::<Quantity>();
        let _ = text.parse::<Span>();
        let _ = Unit::parse(&text);
    }

    #[test]
    fn every_mark_reads_back_however_it_is_typed(
        (step_digits, step_scale) in prop_oneof![
            Just((25_i64, 2_u32)), Just((1, 1)), Just((5, 1)), Just((5, 0)), Just((125, 3)), Just((5, 3)), Just((1, 0)),
        ],
        below in 0_i64..50,
        above in 0_i64..150,
        pick in any::<prop::sample::Index>(),
    ) {
        let step = Decimal::new(step_digits, step_scale);
        let mark = |count: i64| step * Decimal::from(count);
        let scale = Scale::new(step, mark(-below), mark(above), Unit::parse("%").unwrap()).unwrap();
        let count = -below + pick.index((below + above + 1) as usize) as i64;
        let value = mark(count);
        let decimal = Ok(value);

        let text = value.to_string();
        prop_assert_eq!(scale.read(&text), decimal.clone(), "{}", text);
        prop_assert_eq!(scale.read(&text.replace('.', ",")), decimal.clone(), "{}", text);
        prop_assert_eq!(scale.check(&Exact::from(value)), decimal.clone());

        // The same mark as a person reads it off a rule: a whole number and thousandths over a thousand.
        let thousandths = (value * Decimal::ONE_THOUSAND).normalize().mantissa().unsigned_abs();
        let sign = if count < 0 { "-" } else { "" };
        let (whole, rest) = (thousandths / 1000, thousandths % 1000);
        for text in [format!("{sign}{whole} {rest}/1000"), format!("{sign}{whole}-{rest}/1000")] {
            prop_assert_eq!(scale.read(&text), decimal.clone(), "{}", text);
        }
        prop_assert_eq!(scale.read(&text).unwrap().scale(), scale.places());

        prop_assert_eq!(scale.up(&value), mark((count + 1).min(above)));
        prop_assert_eq!(scale.down(&value), mark((count - 1).max(-below)));
    }

    #[test]
    fn a_span_reads_back_from_its_text(millis in prop_oneof![any::<u64>(), 0_u64..10_000_000]) {
        prop_assert_eq!(Span(millis).to_string().parse(), Ok(Span(millis)));
    }

    #[test]
    fn a_unit_reads_back_from_its_symbol(parts in prop::collection::vec((prop::sample::select(Unit::all_symbols()), 1_u8..=4, any::<bool>()), 0..5)) {
        let mut unit = Unit::NONE;
        for (symbol, exponent, divides) in parts {
            let part = Unit::parse(&format!("{symbol}{exponent}")).unwrap();
            let Some(next) = (if divides { unit.per(part) } else { unit.times(part) }) else { break };
            unit = next;
        }
        prop_assert_eq!(Unit::parse(&unit.symbol()), Ok(unit), "{}", unit);
    }
}

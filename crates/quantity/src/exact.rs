//! Exact rational numbers.
//!
//! Here: the number itself, its arithmetic, and its texts. Not here: units, and what people type.
//!
//! **Invariant:** a value has one form. The fraction is in lowest terms with a positive denominator, and it is kept
//! in two machine words whenever it fits, so equal values compare, hash and print alike however they were reached.

use std::cmp::Ordering;
use std::fmt;
use std::hash::Hash;
use std::ops::{Add, Mul, Neg, Sub};
use std::str::FromStr;

use num_bigint::{BigInt, Sign};
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};
use rust_decimal::Decimal;

use crate::rounding::Ties;
use crate::typed::Unreadable;

/// More decimals than anybody reads; [`Exact::show`] stops here so that a slip cannot ask for a gigabyte of zeros.
const MOST_PLACES: u32 = 100;

/// How many decimals a root has that is not exact.
const ROOT_PLACES: u32 = 30;

/// The longest plain decimal [`Exact::from_str`] reads, in characters.
const LONGEST_TEXT: usize = 100;

/// An exact rational number: whole numbers, decimals and thirds alike, never rounded by arithmetic.
///
/// Readings are decimals, but a formula that divides leaves them: ⅓ · 4.5 is 1.5 here, and a decimal of any length
/// would make it a little less and round it to 1 instead of 2.
///
/// ```
/// use quantity::{Exact, Ties};
///
/// let third = Exact::ratio(1, 3).unwrap();
/// let change: Exact = "4.5".parse().unwrap();
/// let product = third * change;
/// assert_eq!(product.show_exact(), "1.5");
/// assert_eq!(product.rounded_to(&Exact::one(), Ties::Even), Exact::from_int(2));
/// ```
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Exact(Repr);

/// `Big` only holds what does not fit `Small`; equality and hashing rest on that.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Repr {
    Small { num: i64, den: i64 },
    Big(Box<BigRational>),
}

impl Exact {
    /// A whole number.
    pub fn from_int(value: i64) -> Self {
        Self(Repr::Small { num: value, den: 1 })
    }

    /// `num / den`, or `None` when `den` is zero.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!(Exact::ratio(-6, -8), Exact::ratio(3, 4));
    /// assert_eq!(Exact::ratio(1, 0), None);
    /// ```
    pub fn ratio(num: i64, den: i64) -> Option<Self> {
        (den != 0).then(|| Self::reduced(i128::from(num), i128::from(den)))
    }

    /// 0.
    pub fn zero() -> Self {
        Self::from_int(0)
    }

    /// 1.
    pub fn one() -> Self {
        Self::from_int(1)
    }

    /// Whether this is 0.
    pub fn is_zero(&self) -> bool {
        matches!(self.0, Repr::Small { num: 0, .. })
    }

    /// Whether this is below 0.
    pub fn is_negative(&self) -> bool {
        match &self.0 {
            Repr::Small { num, .. } => *num < 0,
            Repr::Big(big) => big.is_negative(),
        }
    }

    /// The distance from 0.
    pub fn abs(&self) -> Self {
        if self.is_negative() { -self } else { self.clone() }
    }

    /// `self / other`, or `None` when `other` is zero.
    pub fn checked_div(&self, other: &Self) -> Option<Self> {
        if other.is_zero() {
            return None;
        }
        Some(match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                Self::reduced(i128::from(*a) * i128::from(*d), i128::from(*b) * i128::from(*c))
            }
            _ => Self::from_big(self.to_big() / other.to_big()),
        })
    }

    /// The square root: exact where it is rational, otherwise cut off after 30 decimals; `None` below zero.
    ///
    /// Cut off, not rounded: the root given is never more than the true one.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!(Exact::ratio(9, 4).unwrap().sqrt(), Exact::ratio(3, 2));
    /// assert_eq!(Exact::from_int(2).sqrt().unwrap().show(30), "1.414213562373095048801688724209");
    /// assert_eq!(Exact::from_int(-1).sqrt(), None);
    /// ```
    pub fn sqrt(&self) -> Option<Self> {
        if self.is_negative() {
            return None;
        }
        let big = self.to_big();
        // In lowest terms a fraction has a rational root exactly when both its parts are squares.
        let (num, den) = (big.numer().sqrt(), big.denom().sqrt());
        if &num * &num == *big.numer() && &den * &den == *big.denom() {
            return Some(Self::from_big(BigRational::new(num, den)));
        }
        let scale = BigInt::from(10).pow(ROOT_PLACES);
        let root = (big.numer() * &scale * &scale / big.denom()).sqrt();
        Some(Self::from_big(BigRational::new(root, scale)))
    }

    /// The same number as a decimal: `Some` only if it terminates and fits 28 decimals and 96 bits. Never rounded.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!(Exact::ratio(21, 4).unwrap().to_decimal().unwrap().to_string(), "5.25");
    /// assert_eq!(Exact::ratio(1, 3).unwrap().to_decimal(), None);
    /// ```
    pub fn to_decimal(&self) -> Option<Decimal> {
        let places = self.decimal_places().filter(|places| *places <= Decimal::MAX_SCALE)?;
        let digits = self.times_power_of_ten(places).to_i128()?;
        Decimal::try_from_i128_with_scale(digits, places).ok()
    }

    /// How many decimals it takes to write this exactly; `None` if no number of decimals does.
    ///
    /// For a rounding increment these are the decimals of the reported value: 0.25 gives 2, and 5 or 10 give 0.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!("0.250".parse::<Exact>().unwrap().decimal_places(), Some(2));
    /// assert_eq!(Exact::from_int(10).decimal_places(), Some(0));
    /// assert_eq!(Exact::ratio(1, 3).unwrap().decimal_places(), None);
    /// ```
    pub fn decimal_places(&self) -> Option<u32> {
        // In lowest terms a fraction terminates exactly when its denominator has no prime but 2 and 5,
        // and then it needs as many decimals as the larger of the two exponents.
        let (twos, fives) = match &self.0 {
            Repr::Small { den, .. } => {
                let (rest, twos) = divide_out(*den, 2);
                let (rest, fives) = divide_out(rest, 5);
                (rest == 1).then_some((twos, fives))?
            }
            Repr::Big(big) => {
                let (rest, twos) = divide_out_big(big.denom().clone(), 2);
                let (rest, fives) = divide_out_big(rest, 5);
                rest.is_one().then_some((twos, fives))?
            }
        };
        Some(twos.max(fives))
    }

    /// The nearest multiple of `increment`; a value half-way between two goes where `ties` says.
    ///
    /// An increment of zero or below is no increment: the value comes back unchanged.
    ///
    /// ```
    /// use quantity::{Exact, Ties};
    ///
    /// let x = |text: &str| text.parse::<Exact>().unwrap();
    /// assert_eq!(x("5.35").rounded_to(&x("0.25"), Ties::Even), x("5.25"));
    /// assert_eq!(x("50.5").rounded_to(&x("1"), Ties::Even), x("50"));
    /// assert_eq!(x("50.5").rounded_to(&x("1"), Ties::Up), x("51"));
    /// ```
    pub fn rounded_to(&self, increment: &Exact, ties: Ties) -> Exact {
        match self.checked_div(increment) {
            Some(count) if !increment.is_negative() => &count.whole(ties) * increment,
            _ => self.clone(),
        }
    }

    /// Whether this is a whole number of `step`s, counted from zero. The sign of `step` does not matter;
    /// the only multiple of a zero step is zero.
    pub fn is_multiple_of(&self, step: &Exact) -> bool {
        match self.checked_div(step) {
            Some(count) => count.is_whole(),
            None => self.is_zero(),
        }
    }

    /// Plain digits with exactly `places` decimals, for reading, never for further arithmetic.
    ///
    /// If that many decimals cannot hold the value it is rounded half to even and marked with a leading "≈ ".
    /// `places` above 100 counts as 100.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!(Exact::ratio(21, 4).unwrap().show(2), "5.25");
    /// assert_eq!(Exact::ratio(21, 4).unwrap().show(3), "5.250");
    /// assert_eq!(Exact::ratio(1, 3).unwrap().show(2), "≈ 0.33");
    /// ```
    pub fn show(&self, places: u32) -> String {
        let places = places.min(MOST_PLACES);
        let scaled = self * &power_of_ten(places);
        let whole = scaled.whole(Ties::Even);
        let mark = if whole == scaled { "" } else { "≈ " };
        format!("{mark}{}", with_point(&whole.floor_big(), places))
    }

    /// The shortest exact text: a decimal ("5.35") if it terminates, otherwise a fraction in lowest terms ("1/3").
    pub fn show_exact(&self) -> String {
        match self.decimal_places() {
            Some(places) => with_point(&self.times_power_of_ten(places), places),
            None => match &self.0 {
                Repr::Small { num, den } => format!("{num}/{den}"),
                Repr::Big(big) => big.to_string(),
            },
        }
    }

    /// A text for a person: exact where six decimals are enough, otherwise five significant digits with their mark.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!("5.35".parse::<Exact>().unwrap().show_short(), "5.35");
    /// assert_eq!(Exact::ratio(64_766, 5_625).unwrap().show_short(), "≈ 11.514");
    /// assert_eq!(Exact::ratio(9_242_500, 4_001).unwrap().show_short(), "≈ 2310.0");
    /// assert_eq!(Exact::ratio(1, 3_000).unwrap().show_short(), "≈ 0.00033333");
    /// ```
    pub fn show_short(&self) -> String {
        const DIGITS: u32 = 5;
        if self.decimal_places().is_some_and(|places| places <= 6) {
            return self.show_exact();
        }
        let mut size = self.abs();
        let mut places = DIGITS;
        while size >= Self::one() && places > 0 {
            size = size.checked_div(&Self::from_int(10)).unwrap_or_else(Self::zero);
            places -= 1;
        }
        while size < Self::ratio(1, 10).unwrap_or_else(Self::one) && places < 4 * DIGITS {
            size = &size * &Self::from_int(10);
            places += 1;
        }
        self.show(places)
    }

    /// The largest whole number not above this.
    pub(crate) fn floor(&self) -> Exact {
        match &self.0 {
            Repr::Small { num, den } => Self::from_int(num.div_floor(den)),
            Repr::Big(big) => Self::from_big(big.floor()),
        }
    }

    /// The smallest whole number not below this.
    pub(crate) fn ceil(&self) -> Exact {
        -(-self).floor()
    }

    pub(crate) fn is_whole(&self) -> bool {
        match &self.0 {
            Repr::Small { den, .. } => *den == 1,
            Repr::Big(big) => big.denom().is_one(),
        }
    }

    /// The value as a whole number; `None` for a part of one, below zero, and beyond 64 bits.
    ///
    /// ```
    /// use quantity::Exact;
    ///
    /// assert_eq!(Exact::from_int(3).to_u64(), Some(3));
    /// assert_eq!(Exact::ratio(5, 2).unwrap().to_u64(), None);
    /// ```
    pub fn to_u64(&self) -> Option<u64> {
        if !self.is_whole() {
            return None;
        }
        self.floor_big().to_u64()
    }

    /// A decimal from its digits. Both texts hold ASCII digits only; an empty one counts as zero.
    pub(crate) fn from_digits(whole: &str, decimals: &str) -> Exact {
        // Eighteen digits always fit an i64; beyond that the slow road reads any length.
        if whole.len() + decimals.len() <= 18 {
            let mut num: i64 = 0;
            let mut den: i64 = 1;
            for digit in whole.bytes() {
                num = num * 10 + i64::from(digit - b'0');
            }
            for digit in decimals.bytes() {
                num = num * 10 + i64::from(digit - b'0');
                den *= 10;
            }
            return Self::reduced(i128::from(num), i128::from(den));
        }
        let digits: Vec<u8> = whole.bytes().chain(decimals.bytes()).map(|digit| digit - b'0').collect();
        let num = BigInt::from_radix_be(Sign::Plus, &digits, 10).unwrap_or_default();
        let places = decimals.len();
        Self::from_big(BigRational::new(num, num_traits::pow(BigInt::from(10), places)))
    }

    /// The nearest whole number.
    fn whole(&self, ties: Ties) -> Exact {
        let below = self.floor();
        let rest = self - &below;
        let above = || &below + &Exact::one();
        match (&rest + &rest).cmp(&Exact::one()) {
            Ordering::Less => below,
            Ordering::Greater => above(),
            Ordering::Equal => {
                let take_below = match ties {
                    Ties::Even => below.floor_big().is_even(),
                    // Away from zero: below zero the mark below is the one farther out.
                    Ties::Up => self.is_negative(),
                };
                if take_below { below } else { above() }
            }
        }
    }

    fn floor_big(&self) -> BigInt {
        match &self.0 {
            Repr::Small { num, den } => BigInt::from(num.div_floor(den)),
            Repr::Big(big) => big.floor().to_integer(),
        }
    }

    /// `self · 10^places`, for as many places as the value has.
    fn times_power_of_ten(&self, places: u32) -> BigInt {
        (self * &power_of_ten(places)).floor_big()
    }

    /// Any fraction with a non-zero denominator whose parts stay above `i128::MIN`.
    fn reduced(num: i128, den: i128) -> Self {
        let shared = match (u64::try_from(num.unsigned_abs()), u64::try_from(den.unsigned_abs())) {
            (Ok(a), Ok(b)) => i128::from(a.gcd(&b)),
            _ => num.gcd(&den),
        };
        let sign = if den < 0 { -1 } else { 1 };
        let (num, den) = (num / shared * sign, den / shared * sign);
        match (i64::try_from(num), i64::try_from(den)) {
            (Ok(num), Ok(den)) => Self(Repr::Small { num, den }),
            _ => Self(Repr::Big(Box::new(BigRational::new_raw(BigInt::from(num), BigInt::from(den))))),
        }
    }

    fn from_big(big: BigRational) -> Self {
        match (big.numer().to_i64(), big.denom().to_i64()) {
            (Some(num), Some(den)) => Self(Repr::Small { num, den }),
            _ => Self(Repr::Big(Box::new(big))),
        }
    }

    fn to_big(&self) -> BigRational {
        match &self.0 {
            Repr::Small { num, den } => BigRational::new_raw(BigInt::from(*num), BigInt::from(*den)),
            Repr::Big(big) => (**big).clone(),
        }
    }
}

fn divide_out(mut value: i64, prime: i64) -> (i64, u32) {
    let mut times = 0;
    while value % prime == 0 {
        value /= prime;
        times += 1;
    }
    (value, times)
}

fn divide_out_big(mut value: BigInt, prime: u32) -> (BigInt, u32) {
    let mut times = 0;
    while (&value % prime).is_zero() {
        value /= prime;
        times += 1;
    }
    (value, times)
}

fn power_of_ten(exponent: u32) -> Exact {
    match 10_i64.checked_pow(exponent) {
        Some(power) => Exact::from_int(power),
        None => Exact::from_big(BigRational::from_integer(BigInt::from(10).pow(exponent))),
    }
}

/// The digits of a whole number with a decimal point `places` from the right. Zero has no sign.
fn with_point(digits: &BigInt, places: u32) -> String {
    let sign = if digits.is_negative() { "-" } else { "" };
    let places = places as usize;
    let magnitude = format!("{:0>width$}", digits.magnitude().to_string(), width = places + 1);
    let (whole, decimals) = magnitude.split_at(magnitude.len() - places);
    if decimals.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{decimals}") }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Exact({})", self.show_exact())
    }
}

impl fmt::Display for Exact {
    /// The text of [`Exact::show_exact`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.show_exact())
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                (i128::from(*a) * i128::from(*d)).cmp(&(i128::from(*c) * i128::from(*b)))
            }
            _ => self.to_big().cmp(&other.to_big()),
        }
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

// Two words times two words fit four words, and so does the sum of two such products: below, `i128` never overflows.

impl Add<&Exact> for &Exact {
    type Output = Exact;
    fn add(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                let [a, b, c, d] = [*a, *b, *c, *d].map(i128::from);
                Exact::reduced(a * d + c * b, b * d)
            }
            _ => Exact::from_big(self.to_big() + other.to_big()),
        }
    }
}

impl Sub<&Exact> for &Exact {
    type Output = Exact;
    fn sub(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                let [a, b, c, d] = [*a, *b, *c, *d].map(i128::from);
                Exact::reduced(a * d - c * b, b * d)
            }
            _ => Exact::from_big(self.to_big() - other.to_big()),
        }
    }
}

impl Mul<&Exact> for &Exact {
    type Output = Exact;
    fn mul(self, other: &Exact) -> Exact {
        match (&self.0, &other.0) {
            (Repr::Small { num: a, den: b }, Repr::Small { num: c, den: d }) => {
                let [a, b, c, d] = [*a, *b, *c, *d].map(i128::from);
                Exact::reduced(a * c, b * d)
            }
            _ => Exact::from_big(self.to_big() * other.to_big()),
        }
    }
}

impl Neg for &Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        match &self.0 {
            Repr::Small { num, den } => Exact::reduced(-i128::from(*num), i128::from(*den)),
            Repr::Big(big) => Exact::from_big(-(**big).clone()),
        }
    }
}

impl Neg for Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        -&self
    }
}

macro_rules! also_by_value {
    ($($operator:ident::$method:ident),*) => {$(
        impl $operator<Exact> for Exact {
            type Output = Exact;
            fn $method(self, other: Exact) -> Exact {
                (&self).$method(&other)
            }
        }
        impl $operator<&Exact> for Exact {
            type Output = Exact;
            fn $method(self, other: &Exact) -> Exact {
                (&self).$method(other)
            }
        }
        impl $operator<Exact> for &Exact {
            type Output = Exact;
            fn $method(self, other: Exact) -> Exact {
                self.$method(&other)
            }
        }
    )*};
}
also_by_value!(Add::add, Sub::sub, Mul::mul);

impl From<i64> for Exact {
    fn from(value: i64) -> Self {
        Self::from_int(value)
    }
}

impl From<&Decimal> for Exact {
    fn from(value: &Decimal) -> Self {
        // A decimal holds 96 bits and at most 28 decimals, so both parts fit.
        Self::reduced(value.mantissa(), 10_i128.pow(value.scale()))
    }
}

impl From<Decimal> for Exact {
    fn from(value: Decimal) -> Self {
        Self::from(&value)
    }
}

impl FromStr for Exact {
    type Err = Unreadable;

    /// Reads a plain decimal as a file writes it: "2.50", "-3". No exponent, no spaces, no comma;
    /// what people type goes through [`crate::parse_typed`].
    ///
    /// # Errors
    ///
    /// [`Unreadable`] for anything else, and for more than 100 characters.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let unreadable = || Unreadable::new(text, "a plain decimal such as 2.50 or -3");
        if text.len() > LONGEST_TEXT {
            return Err(unreadable());
        }
        let (negative, body) = match text.strip_prefix('-') {
            Some(body) => (true, body),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, decimals) = match body.split_once('.') {
            Some((_, "")) => return Err(unreadable()),
            Some(parts) => parts,
            None => (body, ""),
        };
        let digits_only = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || !digits_only(whole) || !digits_only(decimals) {
            return Err(unreadable());
        }
        let value = Self::from_digits(whole, decimals);
        Ok(if negative { -value } else { value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn x(text: &str) -> Exact {
        text.parse().unwrap()
    }

    #[test]
    fn a_change_as_large_as_the_tolerance_is_within_it() {
        // In binary floats 0.55 - 0.30 is more than 0.25, and 0.4 - 0.3 is more than 0.1.
        assert!((x("0.30") - x("0.55")).abs() <= x("0.25"));
        assert!(x("0.4") - x("0.3") <= x("0.1"));
        assert!(x("4.2") - x("4.1") <= x("0.1"));
        assert_eq!(x("0.1") + x("0.2"), x("0.3"));
    }

    #[test]
    fn a_third_is_not_lost_on_the_way_to_a_half() {
        // With decimals a third of 4.5 falls short of 1.5, and rounds to 1.
        let third = Exact::one().checked_div(&Exact::from_int(3)).unwrap();
        assert_eq!((third * x("4.5")).rounded_to(&Exact::one(), Ties::Even), Exact::from_int(2));
    }

    #[test]
    fn plain_decimals_are_read_exactly_and_nothing_else_is() {
        for (text, shown) in [
            ("2.50", "2.5"),
            ("-3", "-3"),
            ("+3", "3"),
            ("0.00", "0"),
            ("-0", "0"),
            ("007", "7"),
            ("0.000000000000000000000000000001", "0.000000000000000000000000000001"),
            ("-123456789012345678901234567890.5", "-123456789012345678901234567890.5"),
        ] {
            assert_eq!(x(text).show_exact(), shown, "written {text:?}");
        }
        for text in
            ["", "-", ".", "5.", ".5", "--1", "1e5", "1,5", " 5", "5 ", "1/2", "½", "٣", "1.2.3", &"1".repeat(101)]
        {
            assert!(text.parse::<Exact>().is_err(), "written {text:?}");
        }
    }

    #[test]
    fn a_shown_number_says_when_it_is_not_the_whole_truth() {
        for (value, places, shown) in [
            (x("5.25"), 2, "5.25"),
            (x("5.25"), 4, "5.2500"),
            (x("5.25"), 1, "≈ 5.2"),
            (x("5.35"), 1, "≈ 5.4"),
            (x("-5.25"), 1, "≈ -5.2"),
            (x("-0.04"), 1, "≈ 0.0"),
            (x("0.05"), 2, "0.05"),
            (x("-0.05"), 2, "-0.05"),
            (x("3850"), 0, "3850"),
            (Exact::ratio(2, 3).unwrap(), 3, "≈ 0.667"),
            (Exact::zero(), 2, "0.00"),
            (x("12345678901234567890.5"), 1, "12345678901234567890.5"),
        ] {
            assert_eq!(value.show(places), shown, "{value} to {places} places");
        }
        assert_eq!(x("1").show(u32::MAX).len(), 102, "a slip in the places asks for no gigabyte");
    }

    #[test]
    fn the_shortest_exact_text_is_a_decimal_or_else_a_fraction() {
        for (value, shown, places) in [
            (x("5.350"), "5.35", Some(2)),
            (x("100"), "100", Some(0)),
            (Exact::ratio(1, 3).unwrap(), "1/3", None),
            (Exact::ratio(-22, 7).unwrap(), "-22/7", None),
            (Exact::ratio(1, 8).unwrap(), "0.125", Some(3)),
            (Exact::ratio(1, 80).unwrap(), "0.0125", Some(4)),
            (Exact::ratio(i64::MIN, 1).unwrap(), "-9223372036854775808", Some(0)),
            (Exact::ratio(1, i64::MIN).unwrap() * Exact::ratio(1, 3).unwrap(), "-1/27670116110564327424", None),
        ] {
            assert_eq!((value.show_exact().as_str(), value.decimal_places()), (shown, places));
        }
    }

    #[test]
    fn a_decimal_is_given_only_for_a_value_it_holds_exactly() {
        assert_eq!(x("5.350").to_decimal(), Some(Decimal::new(535, 2)));
        assert_eq!(Exact::ratio(1, 3).unwrap().to_decimal(), None);
        assert_eq!(x("0.00000000000000000000000000001").to_decimal(), None, "29 decimals");
        assert_eq!(x("100000000000000000000000000000").to_decimal(), None, "more than 96 bits");
        for decimal in [Decimal::MAX, Decimal::MIN, Decimal::new(1, 28), Decimal::ZERO] {
            assert_eq!(Exact::from(decimal).to_decimal(), Some(decimal));
        }
    }

    #[test]
    fn halves_go_to_the_even_multiple_or_away_from_zero() {
        for (value, increment, even, up) in [
            ("0.5", "1", "0", "1"),
            ("1.5", "1", "2", "2"),
            ("2.5", "1", "2", "3"),
            ("-0.5", "1", "0", "-1"),
            ("-1.5", "1", "-2", "-2"),
            ("-2.5", "1", "-2", "-3"),
            ("5.125", "0.25", "5", "5.25"),
            ("5.375", "0.25", "5.5", "5.5"),
            ("2.5", "5", "0", "5"),
            ("7.5", "5", "10", "10"),
            ("5.35", "0.25", "5.25", "5.25"),
            ("-5.35", "0.25", "-5.25", "-5.25"),
            ("98765432109876543210.5", "1", "98765432109876543210", "98765432109876543211"),
            ("-98765432109876543210.5", "1", "-98765432109876543210", "-98765432109876543211"),
        ] {
            assert_eq!(x(value).rounded_to(&x(increment), Ties::Even), x(even), "{value} to {increment}, even");
            assert_eq!(x(value).rounded_to(&x(increment), Ties::Up), x(up), "{value} to {increment}, up");
        }
        for no_increment in ["0", "-1"] {
            assert_eq!(x("5.35").rounded_to(&x(no_increment), Ties::Even), x("5.35"));
        }
    }

    #[test]
    fn multiples_are_counted_from_zero() {
        for (value, step, is_multiple) in [
            ("5.25", "0.25", true),
            ("-5.25", "0.25", true),
            ("5.3", "0.25", false),
            ("0", "0.25", true),
            ("0.3", "0.1", true),
            ("3", "-1", true),
            ("0", "0", true),
            ("1", "0", false),
        ] {
            assert_eq!(x(value).is_multiple_of(&x(step)), is_multiple, "{value} in steps of {step}");
        }
    }

    #[test]
    fn a_root_is_exact_where_there_is_an_exact_one_and_otherwise_never_too_large() {
        for (square, root) in [
            ("0", "0"),
            ("1", "1"),
            ("6.25", "2.5"),
            ("0.0081", "0.09"),
            ("15241578753238836750495351562536198787501905199875019052100", "123456789012345678901234567890"),
        ] {
            assert_eq!(x(square).sqrt(), Some(x(root)), "the root of {square}");
        }
        assert_eq!(Exact::ratio(4, 9).unwrap().sqrt(), Exact::ratio(2, 3), "a root that is no decimal is exact too");
        let step = Exact::one().checked_div(&power_of_ten(ROOT_PLACES)).unwrap();
        for number in ["2", "3", "0.1", "0.000001234", "98765432109876543210.5"] {
            let root = x(number).sqrt().unwrap();
            let next = &root + &step;
            assert!(&root * &root < x(number) && x(number) < &next * &next, "the root of {number} is {root}");
        }
        assert_eq!(x("-0.01").sqrt(), None);
        assert_eq!(x("-98765432109876543210.5").sqrt(), None);
    }

    #[test]
    fn nothing_is_divided_by_zero() {
        assert_eq!(Exact::one().checked_div(&Exact::zero()), None);
        assert_eq!(x("98765432109876543210").checked_div(&Exact::zero()), None);
        assert_eq!(Exact::ratio(3, 0), None);
    }

    #[test]
    fn the_smallest_machine_word_does_not_overflow() {
        let least = Exact::from_int(i64::MIN);
        assert_eq!((-&least).show_exact(), "9223372036854775808");
        assert_eq!(least.abs(), -&least);
        assert_eq!(-(-&least), least);
        assert_eq!((&least * &least).show_exact(), "85070591730234615865843651857942052864");
        assert_eq!((&least + &least).show_exact(), "-18446744073709551616");
        assert_eq!(Exact::ratio(i64::MIN, i64::MIN), Some(Exact::one()));
        assert_eq!(Exact::ratio(i64::MIN, -1), Some(-&least));
        assert_eq!(least.checked_div(&least), Some(Exact::one()));
        assert_eq!(Exact::ratio(1, i64::MIN).unwrap().checked_div(&least).unwrap() * &least * least, Exact::one());
        assert!(Exact::ratio(1, i64::MIN).unwrap().is_negative());
    }
}

//! A number given piece by piece, where only a few things can be pressed.
//!
//! Here: which digits can follow, so that every way ends on a mark of the instrument. Not here: how they are offered.
//!
//! **Invariant:** what is complete is a mark of the instrument; a piece that leads to none is never offered.

use quantity::{Decimal, Scale};

/// So many marks at most are offered whole.
const WHOLE_AT_MOST: i64 = 12;

/// A number being given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dial {
    scale: Scale,
    /// What is usual here, or was read last: offered first.
    usual: Decimal,
    is_negative: Option<bool>,
    /// The digits so far, from the first place of the instrument's highest mark.
    digits: Vec<u8>,
}

/// A piece that can follow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Above or below zero.
    Sign(bool),
    /// One digit.
    Digit(u8),
    /// A whole mark, where there are few.
    Mark(Decimal),
}

/// What is there after a piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Given {
    /// More is to come.
    Part,
    /// A mark.
    Mark(Decimal),
}

impl Dial {
    /// Nothing given yet; `usual` is offered first, as far as it is on the scale.
    pub fn new(scale: &Scale, usual: Option<Decimal>) -> Self {
        let middle = (scale.min + scale.max) / Decimal::TWO;
        let usual = usual.unwrap_or(middle).clamp(scale.min, scale.max);
        let mut dial = Self { scale: scale.clone(), usual, is_negative: None, digits: Vec::new() };
        dial.take_what_is_certain();
        dial
    }

    /// Digits before and behind the point.
    fn places(&self) -> (u32, u32) {
        let highest = self.scale.max.abs().max(self.scale.min.abs()).trunc();
        let before = highest.normalize().to_string().len();
        (u32::try_from(before).unwrap_or(1), self.scale.places())
    }

    fn n_digits(&self) -> usize {
        let (before, behind) = self.places();
        (before + behind) as usize
    }

    /// A number of the instrument's smallest decimals, as whole steps of them.
    fn units(&self, value: Decimal) -> i64 {
        let mut value = value;
        value.rescale(self.scale.places());
        i64::try_from(value.mantissa()).unwrap_or(0)
    }

    fn value(&self, units: i64) -> Decimal {
        Decimal::new(units, self.scale.places())
    }

    /// Whether a mark lies from `low` to `high`, in units.
    fn has_mark(&self, low: i64, high: i64) -> bool {
        let step = self.units(self.scale.step).max(1);
        let low = low.max(self.units(self.scale.min));
        let high = high.min(self.units(self.scale.max));
        low <= high && low.div_euclid(step) * step + if low.rem_euclid(step) == 0 { 0 } else { step } <= high
    }

    /// The lowest and highest number that begin with these digits.
    fn span(&self, is_negative: bool, digits: &[u8]) -> (i64, i64) {
        let left = u32::try_from(self.n_digits() - digits.len()).unwrap_or(0);
        let begun = digits.iter().fold(0i64, |sum, digit| sum * 10 + i64::from(*digit));
        let width = 10i64.pow(left);
        let (low, high) = (begun * width, begun * width + width - 1);
        if is_negative { (-high, (-low).min(-1)) } else { (low, high) }
    }

    fn leads_to_a_mark(&self, is_negative: bool, digits: &[u8]) -> bool {
        let (low, high) = self.span(is_negative, digits);
        self.has_mark(low, high)
    }

    /// What can follow, what is usual first.
    pub fn pieces(&self) -> Vec<Piece> {
        let step = self.units(self.scale.step).max(1);
        let n_marks = (self.units(self.scale.max) - self.units(self.scale.min)) / step + 1;
        if self.digits.is_empty() && n_marks <= WHOLE_AT_MOST {
            let first = self.units(self.scale.min);
            let marks: Vec<Decimal> = (0..n_marks).map(|n| self.value(first + n * step)).collect();
            let start = marks.iter().rposition(|mark| *mark <= self.usual).unwrap_or(0);
            return turned(marks, start).into_iter().map(Piece::Mark).collect();
        }
        let Some(is_negative) = self.is_negative else {
            let usual = self.usual < Decimal::ZERO;
            return vec![Piece::Sign(usual), Piece::Sign(!usual)];
        };
        let follow: Vec<u8> = (0..=9u8)
            .filter(|digit| {
                let mut digits = self.digits.clone();
                digits.push(*digit);
                self.leads_to_a_mark(is_negative, &digits)
            })
            .collect();
        let usual = self.usual_digit(is_negative);
        let start = usual.and_then(|usual| follow.iter().position(|digit| *digit >= usual)).unwrap_or(0);
        turned(follow, start).into_iter().map(Piece::Digit).collect()
    }

    /// The digit of what is usual at this place, as long as all before it are its own.
    fn usual_digit(&self, is_negative: bool) -> Option<u8> {
        if is_negative != (self.usual < Decimal::ZERO) {
            return None;
        }
        let text = format!("{:0width$}", self.units(self.usual).unsigned_abs(), width = self.n_digits());
        let digits = text.as_bytes();
        let is_its_own = self.digits.iter().zip(digits).all(|(given, usual)| *given == usual - b'0');
        digits.get(self.digits.len()).filter(|_| is_its_own).map(|digit| digit - b'0')
    }

    /// Gives a piece.
    pub fn give(&mut self, piece: &Piece) -> Given {
        match piece {
            Piece::Mark(mark) => return Given::Mark(*mark),
            Piece::Sign(is_negative) => self.is_negative = Some(*is_negative),
            Piece::Digit(digit) => self.digits.push(*digit),
        }
        self.take_what_is_certain()
    }

    /// Where only one piece can follow it need not be asked.
    fn take_what_is_certain(&mut self) -> Given {
        if self.is_negative.is_none() {
            let can = |is_negative| self.leads_to_a_mark(is_negative, &[]);
            match (can(true), can(false)) {
                (true, true) => {}
                (is_negative, _) => self.is_negative = Some(is_negative),
            }
        }
        while self.digits.len() < self.n_digits() {
            match self.pieces().as_slice() {
                [Piece::Digit(only)] => {
                    let only = *only;
                    self.digits.push(only);
                }
                _ => return Given::Part,
            }
        }
        let (low, _) = self.span(false, &self.digits);
        Given::Mark(self.value(if self.is_negative == Some(true) { -low } else { low }))
    }

    /// Nothing given any more; false if nothing was.
    pub fn clear(&mut self) -> bool {
        let fresh = Self::new(&self.scale, Some(self.usual));
        let had = *self != fresh;
        *self = fresh;
        had
    }

    /// What is given so far, with a low line for each digit to come: `4_.__`.
    pub fn shown(&self) -> String {
        let (before, _) = self.places();
        let mut out = String::new();
        if self.is_negative == Some(true) {
            out.push('-');
        }
        for n in 0..self.n_digits() {
            if n == before as usize {
                out.push('.');
            }
            out.push(self.digits.get(n).map_or('_', |digit| char::from(b'0' + digit)));
        }
        out
    }

    /// What `piece` would make of it, as far as it is known: `4.2_`.
    pub fn label(&self, piece: &Piece) -> String {
        match piece {
            Piece::Mark(mark) => return mark.to_string(),
            Piece::Sign(true) => return "below zero".to_owned(),
            Piece::Sign(false) => return "zero or above".to_owned(),
            Piece::Digit(_) => {}
        }
        let mut next = self.clone();
        match next.give(piece) {
            Given::Mark(mark) => mark.to_string(),
            Given::Part => next.shown(),
        }
    }
}

/// The same list, beginning at `start`.
fn turned<T>(mut list: Vec<T>, start: usize) -> Vec<T> {
    let start = start.min(list.len());
    list.rotate_left(start);
    list
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

    use super::*;
    use quantity::Unit;

    fn scale(step: &str, min: &str, max: &str) -> Scale {
        Scale::new(step.parse().unwrap(), min.parse().unwrap(), max.parse().unwrap(), Unit::NONE).unwrap()
    }

    /// Every mark that can be reached, with how many pieces were given.
    fn reach(dial: &Dial, given: usize, out: &mut Vec<(Decimal, usize)>) {
        for piece in dial.pieces() {
            let mut next = dial.clone();
            match next.give(&piece) {
                Given::Mark(mark) => out.push((mark, given + 1)),
                Given::Part => reach(&next, given + 1, out),
            }
        }
    }

    #[test]
    fn every_mark_of_an_instrument_can_be_given_and_nothing_else() {
        for (step, min, max) in [
            ("0.25", "0.00", "9.00"),
            ("0.25", "0.00", "12.00"),
            ("5", "0", "300"),
            ("0.5", "-10.0", "50.0"),
            ("1", "20", "120"),
            ("0.1", "0.0", "99.9"),
            ("0.05", "0.10", "3.00"),
            ("1", "1", "5"),
            ("2", "-4", "4"),
        ] {
            let scale = scale(step, min, max);
            let mut marks = Vec::new();
            let mut mark = scale.min;
            while mark <= scale.max {
                marks.push(mark);
                mark += scale.step;
            }
            let mut reached = Vec::new();
            reach(&Dial::new(&scale, None), 0, &mut reached);
            let mut found: Vec<Decimal> = reached.iter().map(|(mark, _)| *mark).collect();
            found.sort();
            assert_eq!(found, marks, "{step} from {min} to {max}");
            assert!(reached.iter().all(|(_, pieces)| *pieces <= 5));
        }
    }

    #[test]
    fn what_is_usual_is_offered_first_all_the_way() {
        let scale = scale("0.25", "0.00", "12.00");
        let usual: Decimal = "4.75".parse().unwrap();
        let mut dial = Dial::new(&scale, Some(usual));
        let mut n_pieces = 0;
        loop {
            let first = dial.pieces()[0].clone();
            n_pieces += 1;
            if let Given::Mark(mark) = dial.give(&first) {
                assert_eq!(mark, usual);
                break;
            }
        }
        assert_eq!(n_pieces, 3, "0, 4, and 7 with its 5");
        assert!(dial.clear());
        assert_eq!(dial.shown(), "__.__");
    }

    #[test]
    fn what_is_given_is_shown_with_what_is_to_come() {
        let mut dial = Dial::new(&scale("0.25", "0.00", "9.00"), None);
        assert_eq!(dial.shown(), "_.__");
        assert_eq!(dial.label(&Piece::Digit(5)), "5.__");
        assert_eq!(dial.give(&Piece::Digit(5)), Given::Part);
        assert_eq!(dial.label(&Piece::Digit(7)), "5.75", "only a 5 can follow");
        assert_eq!(dial.give(&Piece::Digit(7)), Given::Mark("5.75".parse().unwrap()));
        let mut cold = Dial::new(&scale("0.5", "-10.0", "50.0"), None);
        assert_eq!(cold.label(&Piece::Sign(true)), "below zero");
        cold.give(&Piece::Sign(true));
        assert_eq!(cold.shown(), "-__._");
        let mut nine = Dial::new(&scale("0.25", "0.00", "9.00"), None);
        assert_eq!(nine.give(&Piece::Digit(9)), Given::Mark("9.00".parse().unwrap()), "nothing else can follow");
    }
}

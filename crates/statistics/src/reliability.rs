//! Whether the items of a sheet pull together: KR-20 and Cronbach's alpha.
//!
//! Here: the coefficient for the whole sheet and without one item. Not here: single items ([`crate::ItemAnalysis`]).
//!
//! **Invariant:** one kind of variance throughout. KR-20's p q is the population variance of an item, so the scores'
//! variance beside it has n in the denominator too: with n − 1 the same ten students move from 0.696 to 0.738.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::describe::about;
use crate::estimate::{Estimate, Undefined, as_f64, even_rows, is_rounding, largest_to_square};
use crate::special::f_quantile;

/// Cronbach's alpha of marks (row: a person, column: an item); n is the people.
///
/// k / (k − 1) · (1 − Σ item variances / variance of the totals). It is high when the items measure one thing *and*
/// when there are many of them; it can be negative.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NotANumber`], [`Undefined::OnePerson`],
/// [`Undefined::OneItem`]; [`Undefined::NoVariance`] if all totals are the same. The interval is
/// [`Undefined::NoScatter`] where alpha is 1.
///
/// Source: Cronbach 1951; interval of Feldt 1965 (from memory, equal to pingouin `cronbach_alpha`).
pub fn cronbach_alpha(marks: &[Vec<f64>]) -> Result<Estimate, Undefined> {
    let items = even_rows(marks)?;
    let most = largest_to_square(marks.iter().flatten().copied())?;
    let squares_of = |at: usize| about(&marks.iter().map(|row| row[at]).collect::<Vec<_>>()).squares;
    enough(marks.len(), items)?;
    let of_items: f64 = (0..items).map(squares_of).sum();
    let totals: Vec<f64> = marks.iter().map(|row| row.iter().sum()).collect();
    let of_totals = about(&totals).squares;
    if is_rounding(of_totals, marks.len(), most * as_f64(items)) {
        return Err(Undefined::NoVariance);
    }
    with_feldt(of_items / of_totals, marks.len(), items)
}

/// KR-20, Kuder and Richardson's formula for marks that are right or wrong (row: a person, column: an item); n is
/// the people.
///
/// k / (k − 1) · (1 − Σ p q / population variance of the totals); the same figure as [`cronbach_alpha`] of 0 and 1.
/// All sums are whole numbers until the last division.
///
/// # Errors
///
/// As [`cronbach_alpha`].
///
/// ```
/// use statistics::{Undefined, kr20};
///
/// let (t, f) = (true, false);
/// let sheet = [vec![t, t, t], vec![t, t, f], vec![t, f, f], vec![f, f, f], vec![t, t, t]];
/// assert_eq!(kr20(&sheet)?.to_string(), "0.79 (95 % −0.04 to 0.98, n = 5)");
/// assert_eq!(kr20(&[vec![t, t], vec![t, t]]), Err(Undefined::NoVariance));
/// # Ok::<(), Undefined>(())
/// ```
///
/// Source: Kuder and Richardson 1937, formula 20; interval of Feldt 1965 (from memory).
pub fn kr20(right: &[Vec<bool>]) -> Result<Estimate, Undefined> {
    let items = even_rows(right)?;
    enough(right.len(), items)?;
    let totals: Vec<usize> = right.iter().map(|row| row.iter().filter(|mark| **mark).count()).collect();
    let in_item: Vec<usize> = (0..items).map(|at| right.iter().filter(|row| row[at]).count()).collect();
    kr20_of_sums(&totals, &in_item)
}

/// KR-20 from each person's total and the number right in each item.
pub(crate) fn kr20_of_sums(totals: &[usize], in_item: &[usize]) -> Result<Estimate, Undefined> {
    let n = totals.len();
    enough(n, in_item.len())?;
    // n² times the variances: Σ p q and the variance of the totals, both whole.
    let of_items: usize = in_item.iter().map(|right| right * (n - right)).sum();
    let sum: usize = totals.iter().sum();
    let of_totals = n * totals.iter().map(|total| total * total).sum::<usize>() - sum * sum;
    if of_totals == 0 {
        return Err(Undefined::NoVariance);
    }
    with_feldt(as_f64(of_items) / as_f64(of_totals), n, in_item.len())
}

/// Cronbach's alpha of the sheet with one item (from 0) left out: an item that makes it rise pulls another way.
///
/// # Errors
///
/// As [`cronbach_alpha`], and [`Undefined::NoSuchItem`].
pub fn alpha_without(marks: &[Vec<f64>], item: usize) -> Result<Estimate, Undefined> {
    let items = even_rows(marks)?;
    if item >= items {
        return Err(Undefined::NoSuchItem { item, items });
    }
    let rest = |row: &Vec<f64>| [&row[..item], &row[item + 1..]].concat();
    cronbach_alpha(&marks.iter().map(rest).collect::<Vec<_>>())
}

fn enough(people: usize, items: usize) -> Result<(), Undefined> {
    match (people, items) {
        (0, _) | (_, 0) => Err(Undefined::NoRatings),
        (1, _) => Err(Undefined::OnePerson),
        (_, 1) => Err(Undefined::OneItem),
        _ => Ok(()),
    }
}

/// Alpha from the ratio of variances, with Feldt's interval.
fn with_feldt(ratio: f64, people: usize, items: usize) -> Result<Estimate, Undefined> {
    const HOW: &str = "F interval of Feldt (1965)";
    let (n, k) = (as_f64(people), as_f64(items));
    let alpha = k / (k - 1.0) * (1.0 - ratio);
    let error = 1.0 - alpha;
    let ends = if error <= 1e-12 {
        Err(Undefined::NoScatter)
    } else {
        let (people, both) = (n - 1.0, (n - 1.0) * (k - 1.0));
        Ok((1.0 - error * f_quantile(0.975, people, both), 1.0 - error * f_quantile(0.025, people, both)))
    };
    Estimate::checked(alpha, people, HOW, ends)
}

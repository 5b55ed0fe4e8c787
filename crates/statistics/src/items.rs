//! Single acts of a mark sheet: how many did them, and whether those who did them did the rest.
//!
//! Here: difficulty, item-rest and item-total correlation, D by 27 % groups, and all of them for a whole class in one
//! go. Not here: verdicts. Ebel's guide values for D (0.40, 0.30, 0.20) suit hundreds of people; in a class of twelve
//! the interval covers them all, so the interval is what there is.
//!
//! **Invariant:** the order of the roster changes nothing, also where people are tied at the edge of a group.

#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use crate::describe::about;
use crate::estimate::{Estimate, Undefined, as_f64, even_rows, is_rounding, largest_to_square};
use crate::proportion::{NEWCOMBE, newcombe, proportion};
use crate::reliability::kr20_of_sums;
use crate::special::Z_95;
use crate::trend::products;

/// The share of people in each of the two groups compared by D, in hundredths (Kelley 1939, memory).
const GROUP_PER_CENT: usize = 27;

/// How many did an act (p, the share right); n is the people.
///
/// # Errors
///
/// [`Undefined::NoRatings`] if there is nobody.
pub fn difficulty(right: &[bool]) -> Result<Estimate, Undefined> {
    proportion(right.iter().filter(|mark| **mark).count(), right.len())
}

/// The correlation of two lists (Pearson's r) with Fisher's interval; n is the pairs.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NotANumber`]; [`Undefined::TooFew`] below three,
/// since two points always lie on a line; [`Undefined::NoVariance`] if one list is all the same. The interval takes
/// four pairs ([`Undefined::TooFew`]) that do not lie on a line ([`Undefined::NoScatter`]).
///
/// Source: z = artanh r with standard error 1 / √(n − 3), Fisher 1921 (from memory, equal to SciPy `pearsonr`).
pub fn correlation(xs: &[f64], ys: &[f64]) -> Result<Estimate, Undefined> {
    if xs.len() != ys.len() {
        return Err(Undefined::Ragged { row: 2, has: ys.len(), expected: xs.len() });
    }
    if xs.is_empty() {
        return Err(Undefined::NoRatings);
    }
    let (most_x, most_y) = (largest_to_square(xs.iter().copied())?, largest_to_square(ys.iter().copied())?);
    let n = xs.len();
    if n < 3 {
        return Err(Undefined::TooFew { have: n, need: 3 });
    }
    let (x, y) = (about(xs), about(ys));
    if is_rounding(x.squares, n, most_x) || is_rounding(y.squares, n, most_y) {
        return Err(Undefined::NoVariance);
    }
    with_fisher(products(xs, &x, ys, &y) / (x.squares.sqrt() * y.squares.sqrt()), n)
}

/// r kept within −1 to 1, with Fisher's interval.
fn with_fisher(r: f64, n: usize) -> Result<Estimate, Undefined> {
    const HOW: &str = "Fisher's z (1921)";
    const FEWEST: usize = 4;
    let r = r.clamp(-1.0, 1.0);
    let ends = if n < FEWEST {
        Err(Undefined::TooFew { have: n, need: FEWEST })
    } else if 1.0 - r.abs() <= 1e-12 {
        Err(Undefined::NoScatter)
    } else {
        let (z, reach) = (r.atanh(), Z_95 / (as_f64(n) - 3.0).sqrt());
        Ok(((z - reach).tanh(), (z + reach).tanh()))
    };
    Estimate::checked(r, n, HOW, ends)
}

/// The correlation of an item (from 0) with the score on all *other* items; n is the people (rows).
///
/// This is the one to report: an item inside its own total always correlates with it, if only with itself.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NoSuchItem`], [`Undefined::OneItem`], and as
/// [`correlation`].
pub fn item_rest(right: &[Vec<bool>], item: usize) -> Result<Estimate, Undefined> {
    Sums::of(right)?.item_rest(right, item)
}

/// The correlation of an item (from 0) with the total it is part of; n is the people (rows).
///
/// Only to compare with other people's reports: see [`item_rest`].
///
/// # Errors
///
/// As [`item_rest`].
pub fn item_total(right: &[Vec<bool>], item: usize) -> Result<Estimate, Undefined> {
    Sums::of(right)?.item_total(right, item)
}

/// The discrimination index of an item (from 0): share right in the upper 27 % by total score less that in the lower.
///
/// # Errors
///
/// [`Undefined::NoRatings`], [`Undefined::Ragged`], [`Undefined::NoSuchItem`], [`Undefined::OneItem`], and as
/// [`Groups::of`].
pub fn d_index(right: &[Vec<bool>], item: usize) -> Result<DIndex, Undefined> {
    let sums = Sums::of(right)?;
    sums.item_exists(item)?;
    Groups::of(&sums.totals)?.d(right.iter().map(|row| row[item]))
}

/// Who shares the places at the edge of a group.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Tie {
    /// People with the score at the edge.
    pub people: usize,
    /// Places of the group left for them. Fewer than `people` means that the group could not be formed without a rule.
    pub places: usize,
}

impl Tie {
    /// Whether the group could not be formed without a rule for ties.
    pub const fn is_arbitrary(self) -> bool {
        self.people > self.places
    }
}

/// D with what must be known to believe it.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct DIndex {
    /// D, from −1 to 1; n is the people of both groups together.
    pub d: Estimate,
    /// People in each group.
    pub group: usize,
    /// Ties at the edge of the upper group.
    pub upper: Tie,
    /// Ties at the edge of the lower group.
    pub lower: Tie,
}

/// The upper and lower 27 % of a class by total score.
///
/// A group has 27 % of the people, rounded to the nearest (a half up), at least one. Where people are tied at its edge
/// they **share** the places left: of five tied for two places each counts two fifths. So nobody is in or out by their
/// place in the roster; the outcome is the mean over all ways of drawing lots. [`Tie`] says how many shared.
#[derive(Clone, Debug)]
pub struct Groups {
    /// People in each.
    group: usize,
    /// The lowest score of the upper group; those who have it share its last places.
    upper_edge: usize,
    /// The highest score of the lower group.
    lower_edge: usize,
    upper: Tie,
    lower: Tie,
    /// Each person's score, in the order of the roster.
    totals: Vec<usize>,
}

impl Groups {
    /// Forms the groups from the total scores.
    ///
    /// # Errors
    ///
    /// [`Undefined::NoRatings`], [`Undefined::OnePerson`]; [`Undefined::NoVariance`] if all totals are the same, so
    /// that nobody is upper or lower.
    pub fn of(totals: &[usize]) -> Result<Self, Undefined> {
        match totals {
            [] => return Err(Undefined::NoRatings),
            [_] => return Err(Undefined::OnePerson),
            [first, rest @ ..] if rest.iter().all(|total| total == first) => return Err(Undefined::NoVariance),
            _ => {}
        }
        let n = totals.len();
        let group = ((GROUP_PER_CENT * n + 50) / 100).max(1);
        let mut sorted = totals.to_vec();
        sorted.sort_unstable();
        let (lower_edge, upper_edge) = (sorted[group - 1], sorted[n - group]);
        let tied = |edge: usize| sorted.iter().filter(|total| **total == edge).count();
        let below = sorted.iter().filter(|total| **total < lower_edge).count();
        let above = sorted.iter().filter(|total| **total > upper_edge).count();
        Ok(Self {
            group,
            upper_edge,
            lower_edge,
            upper: Tie { people: tied(upper_edge), places: group - above },
            lower: Tie { people: tied(lower_edge), places: group - below },
            totals: totals.to_vec(),
        })
    }

    /// D of one item, its marks in the order of the totals.
    ///
    /// The interval is Newcombe's for a difference of two shares. It takes the groups as if drawn for themselves, so
    /// it is a rough one, and rougher where ties are shared.
    ///
    /// # Errors
    ///
    /// [`Undefined::Ragged`] if there are more or fewer marks than totals.
    ///
    /// Source: D = 2 (H − L) / N, N the two groups together; Newcombe 1998, method 10 (from memory, equal to
    /// statsmodels `confint_proportions_2indep`).
    pub fn d(&self, item: impl IntoIterator<Item = bool>) -> Result<DIndex, Undefined> {
        let (mut upper, mut lower, mut upper_tied, mut lower_tied, mut marks) = (0, 0, 0, 0, 0);
        for (at, right) in item.into_iter().enumerate() {
            marks += 1;
            let Some(total) = self.totals.get(at).copied().filter(|_| right) else { continue };
            upper += usize::from(total > self.upper_edge);
            upper_tied += usize::from(total == self.upper_edge);
            lower += usize::from(total < self.lower_edge);
            lower_tied += usize::from(total == self.lower_edge);
        }
        if marks != self.totals.len() {
            return Err(Undefined::Ragged { row: 2, has: marks, expected: self.totals.len() });
        }
        let shared = |tied: usize, tie: Tie| as_f64(tied * tie.places) / as_f64(tie.people);
        let size = as_f64(self.group);
        let high = (as_f64(upper) + shared(upper_tied, self.upper)) / size;
        let low = (as_f64(lower) + shared(lower_tied, self.lower)) / size;
        let d = Estimate::checked(high - low, 2 * self.group, NEWCOMBE, Ok(newcombe(high, low, size)))?;
        Ok(DIndex { d, group: self.group, upper: self.upper, lower: self.lower })
    }
}

/// Everything a class sheet says of one act.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct ItemFigures {
    /// The share who did it.
    pub difficulty: Result<Estimate, Undefined>,
    /// Its correlation with all other acts.
    pub rest: Result<Estimate, Undefined>,
    /// Its correlation with the total it is part of; for comparison only.
    pub total: Result<Estimate, Undefined>,
    /// D by 27 % groups, a second view.
    pub d: Result<DIndex, Undefined>,
    /// KR-20 of the sheet without it.
    pub reliability_without: Result<Estimate, Undefined>,
}

/// Everything a class sheet says of one method's mark sheet.
///
/// ```
/// use statistics::{ItemAnalysis, Undefined};
///
/// let (t, f) = (true, false);
/// // Row: a candidate; column: an act; true: done.
/// let class = [vec![t, t, t, t], vec![t, t, f, t], vec![t, f, f, t], vec![t, f, f, f], vec![t, t, t, f]];
/// let sheet = ItemAnalysis::of(&class)?;
/// assert_eq!(sheet.items[1].difficulty?.to_string(), "0.60 (95 % 0.23 to 0.88, n = 5)");
/// assert_eq!(sheet.items[0].rest, Err(Undefined::NoVariance)); // everybody did the first act
/// assert_eq!(format!("{:.4}", sheet.reliability?.value), "0.4103");
/// # Ok::<(), Undefined>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct ItemAnalysis {
    /// People.
    pub n: usize,
    /// One entry for each act, in the order of the columns.
    pub items: Vec<ItemFigures>,
    /// KR-20 of the whole sheet.
    pub reliability: Result<Estimate, Undefined>,
}

impl ItemAnalysis {
    /// Works out everything from complete rows: row a person, column an act, true if it was done.
    ///
    /// # Errors
    ///
    /// [`Undefined::NoRatings`] and [`Undefined::Ragged`]. What is undefined for one act only is said there.
    pub fn of(right: &[Vec<bool>]) -> Result<Self, Undefined> {
        let sums = Sums::of(right)?;
        let groups = Groups::of(&sums.totals);
        let figures = |item: usize| ItemFigures {
            difficulty: proportion(sums.in_item[item], right.len()),
            rest: sums.item_rest(right, item),
            total: sums.item_total(right, item),
            d: sums
                .more_than_one()
                .and(groups.as_ref().map_err(|why| *why))
                .and_then(|groups| groups.d(right.iter().map(|row| row[item]))),
            reliability_without: sums.without(right, item).and_then(|rest| kr20_of_sums(&rest.totals, &rest.in_item)),
        };
        Ok(Self {
            n: right.len(),
            items: (0..sums.in_item.len()).map(figures).collect(),
            reliability: kr20_of_sums(&sums.totals, &sums.in_item),
        })
    }
}

/// Whole-number sums of a sheet: everything here follows from them.
struct Sums {
    /// Each person's number right.
    totals: Vec<usize>,
    /// Each item's number right.
    in_item: Vec<usize>,
}

impl Sums {
    fn of(right: &[Vec<bool>]) -> Result<Self, Undefined> {
        let items = even_rows(right)?;
        if right.is_empty() || items == 0 {
            return Err(Undefined::NoRatings);
        }
        let mut in_item = vec![0_usize; items];
        for row in right {
            for (sum, mark) in in_item.iter_mut().zip(row) {
                *sum += usize::from(*mark);
            }
        }
        let totals = right.iter().map(|row| row.iter().filter(|mark| **mark).count()).collect();
        Ok(Self { totals, in_item })
    }

    fn item_exists(&self, item: usize) -> Result<(), Undefined> {
        let items = self.in_item.len();
        if item < items { self.more_than_one() } else { Err(Undefined::NoSuchItem { item, items }) }
    }

    fn more_than_one(&self) -> Result<(), Undefined> {
        if self.in_item.len() == 1 { Err(Undefined::OneItem) } else { Ok(()) }
    }

    /// The sums with one item left out.
    fn without(&self, right: &[Vec<bool>], item: usize) -> Result<Self, Undefined> {
        self.item_exists(item)?;
        let totals = self.totals.iter().zip(right).map(|(total, row)| total - usize::from(row[item])).collect();
        let in_item = [&self.in_item[..item], &self.in_item[item + 1..]].concat();
        Ok(Self { totals, in_item })
    }

    fn item_rest(&self, right: &[Vec<bool>], item: usize) -> Result<Estimate, Undefined> {
        point_biserial(right, item, &self.without(right, item)?.totals)
    }

    fn item_total(&self, right: &[Vec<bool>], item: usize) -> Result<Estimate, Undefined> {
        self.item_exists(item)?;
        point_biserial(right, item, &self.totals)
    }
}

/// Pearson's r of a mark (0 or 1) with whole scores, from whole-number sums.
fn point_biserial(right: &[Vec<bool>], item: usize, scores: &[usize]) -> Result<Estimate, Undefined> {
    let n = scores.len();
    if n < 3 {
        return Err(Undefined::TooFew { have: n, need: 3 });
    }
    let (mut marked, mut sum, mut squares, mut both) = (0_usize, 0_usize, 0_usize, 0_usize);
    for (row, score) in right.iter().zip(scores) {
        sum += score;
        squares += score * score;
        if row[item] {
            marked += 1;
            both += score;
        }
    }
    let (of_item, of_scores) = (marked * (n - marked), n * squares - sum * sum);
    if of_item == 0 || of_scores == 0 {
        return Err(Undefined::NoVariance);
    }
    let together = as_f64(n * both) - as_f64(marked * sum);
    with_fisher(together / (as_f64(of_item).sqrt() * as_f64(of_scores).sqrt()), n)
}

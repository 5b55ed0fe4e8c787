//! What is undefined is said to be undefined, with the reason; never a number.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]
use statistics::{
    Estimate, Groups, IccForm, ItemAnalysis, Level, Table, Undefined, Weights, alpha_without, cohen_kappa, correlation,
    cronbach_alpha, d_index, difficulty, fleiss_kappa, icc, item_rest, item_total, kr20, krippendorff_alpha, mean,
    median, percent_agreement, proportion, quantile, range, spread, trend,
};

const SINGLE: IccForm = IccForm::TwoWayRandomSingle;
const NAN: f64 = f64::NAN;

fn kappa(categories: usize, pairs: &[(usize, usize)]) -> Result<Estimate, Undefined> {
    let (first, second): (Vec<usize>, Vec<usize>) = pairs.iter().copied().unzip();
    cohen_kappa(&Table::of(categories, &first, &second)?, Weights::Linear)
}

fn value<T>(_: T) {}

/// The listed cases: what was marked, what came of it, why.
#[test]
fn every_listed_case_is_undefined_for_its_reason() {
    use Undefined::*;
    let (t, f) = (true, false);
    let some = |row: &[f64]| row.iter().copied().map(Some).collect::<Vec<_>>();
    let cases: Vec<(&str, Result<(), Undefined>, Undefined)> = vec![
        ("share of nobody", proportion(0, 0).map(value), NoRatings),
        ("nine of eight", proportion(9, 8).map(value), NotAShare { part: 9, whole: 8 }),
        ("difficulty without people", difficulty(&[]).map(value), NoRatings),
        ("agreement on nothing", percent_agreement(&Table::new(2)).map(value), NoRatings),
        ("kappa of nothing", kappa(2, &[]).map(value), NoRatings),
        ("kappa, no category declared", kappa(0, &[]).map(value), NoRatings),
        ("kappa, one category declared", kappa(1, &[(0, 0), (0, 0)]).map(value), OneCategory),
        ("kappa, all done", kappa(2, &[(0, 0), (0, 0), (0, 0)]).map(value), OneCategory),
        ("kappa, all missed", kappa(3, &[(2, 2), (2, 2)]).map(value), OneCategory),
        ("kappa of one pair that agrees", kappa(2, &[(1, 1)]).map(value), OneCategory),
        ("kappa of one pair that differs", kappa(2, &[(0, 1)]).map(value), OneItem),
        ("a mark nobody declared", kappa(2, &[(0, 2)]).map(value), UnknownCategory { category: 2, declared: 2 }),
        ("one rater marked more", Table::of(2, &[0, 1], &[0]).map(value), Ragged { row: 2, has: 1, expected: 2 }),
        (
            "a table that is not square",
            Table::from_counts(vec![vec![1, 2, 3], vec![1, 2, 3]]).map(value),
            Ragged { row: 1, has: 3, expected: 2 },
        ),
        ("tables of unlike scales", Table::new(2).add(&Table::new(3)), Ragged { row: 1, has: 3, expected: 2 }),
        ("Fleiss, nothing", fleiss_kappa(&[]).map(value), NoRatings),
        ("Fleiss, nobody marked", fleiss_kappa(&[vec![0, 0], vec![0, 0]]).map(value), NoRatings),
        ("Fleiss, one rater", fleiss_kappa(&[vec![1, 0], vec![0, 1]]).map(value), OneRater),
        ("Fleiss, one category used", fleiss_kappa(&[vec![3, 0], vec![3, 0]]).map(value), OneCategory),
        ("Fleiss, one performance", fleiss_kappa(&[vec![2, 1]]).map(value), OneItem),
        (
            "Fleiss, a rater missing",
            fleiss_kappa(&[vec![2, 1], vec![2, 0]]).map(value),
            Ragged { row: 2, has: 2, expected: 3 },
        ),
        ("Krippendorff, nothing", krippendorff_alpha(&[], Level::Nominal).map(value), NoRatings),
        ("Krippendorff, all gaps", krippendorff_alpha(&[vec![None], vec![None]], Level::Nominal).map(value), NoRatings),
        ("Krippendorff, one rater", krippendorff_alpha(&[some(&[1.0, 2.0])], Level::Ordinal).map(value), OneRater),
        (
            "Krippendorff, nobody saw the same",
            krippendorff_alpha(&[vec![Some(1.0), None], vec![None, Some(2.0)]], Level::Nominal).map(value),
            NoPairs,
        ),
        (
            "Krippendorff, all alike where two saw it",
            krippendorff_alpha(
                &[vec![Some(1.0), Some(1.0), Some(5.0)], vec![Some(1.0), Some(1.0), None]],
                Level::Interval,
            )
            .map(value),
            OneCategory,
        ),
        (
            "Krippendorff, one performance",
            krippendorff_alpha(&[some(&[1.0]), some(&[2.0])], Level::Interval).map(value),
            OneItem,
        ),
        (
            "Krippendorff, not a number",
            krippendorff_alpha(&[some(&[1.0, NAN]), some(&[2.0, 1.0])], Level::Interval).map(value),
            NotANumber,
        ),
        ("ICC, nothing", icc(&[], SINGLE).map(value), NoRatings),
        ("ICC, one person", icc(&[vec![1.0, 2.0]], SINGLE).map(value), OnePerson),
        ("ICC, one rater", icc(&[vec![1.0], vec![2.0]], SINGLE).map(value), OneRater),
        ("ICC, all scores equal", icc(&[vec![7.1, 7.1], vec![7.1, 7.1]], SINGLE).map(value), NoVariance),
        (
            "ICC of the mean, people alike",
            icc(&[vec![1.0, 3.0], vec![3.0, 1.0]], IccForm::TwoWayMixedAverage).map(value),
            NoVariance,
        ),
        (
            "ICC of the mean, raters contradict",
            icc(&[vec![1.0, 9.0], vec![9.0, 1.5]], IccForm::TwoWayRandomAverage).map(value),
            VarianceNotPositive,
        ),
        (
            "ICC, a score missing",
            icc(&[vec![1.0, 2.0], vec![1.0]], SINGLE).map(value),
            Ragged { row: 2, has: 1, expected: 2 },
        ),
        ("ICC, infinite score", icc(&[vec![1.0, f64::INFINITY], vec![1.0, 2.0]], SINGLE).map(value), NotANumber),
        ("KR-20, nobody", kr20(&[]).map(value), NoRatings),
        ("KR-20, no items", kr20(&[vec![], vec![]]).map(value), NoRatings),
        ("KR-20, one item", kr20(&[vec![t], vec![f]]).map(value), OneItem),
        ("KR-20, one person", kr20(&[vec![t, f]]).map(value), OnePerson),
        ("KR-20, all right", kr20(&[vec![t, t], vec![t, t]]).map(value), NoVariance),
        ("KR-20, equal totals", kr20(&[vec![t, f], vec![f, t]]).map(value), NoVariance),
        ("KR-20, a mark missing", kr20(&[vec![t, f], vec![f]]).map(value), Ragged { row: 2, has: 1, expected: 2 }),
        (
            "alpha, totals equal but for rounding",
            cronbach_alpha(&[vec![0.1, 0.2, 0.3], vec![0.3, 0.2, 0.1]]).map(value),
            NoVariance,
        ),
        ("alpha, not a number", cronbach_alpha(&[vec![NAN, 1.0], vec![1.0, 0.0]]).map(value), NotANumber),
        ("alpha, too large", cronbach_alpha(&[vec![1e300, 0.0], vec![0.0, 1.0]]).map(value), OutOfReach),
        ("alpha without the only other", alpha_without(&[vec![1.0, 0.0], vec![0.0, 1.0]], 0).map(value), OneItem),
        (
            "alpha without an item there is not",
            alpha_without(&[vec![1.0, 0.0]], 2).map(value),
            NoSuchItem { item: 2, items: 2 },
        ),
        ("item-rest, nobody", item_rest(&[], 0).map(value), NoRatings),
        ("item-rest, one item", item_rest(&[vec![t], vec![f], vec![t]], 0).map(value), OneItem),
        ("item-rest, two people", item_rest(&[vec![t, f], vec![f, t]], 0).map(value), TooFew { have: 2, need: 3 }),
        ("item-rest, all did it", item_rest(&[vec![t, f], vec![t, t], vec![t, f]], 0).map(value), NoVariance),
        ("item-rest, the rest is equal", item_rest(&[vec![t, f], vec![f, f], vec![t, f]], 0).map(value), NoVariance),
        ("item-total, equal totals", item_total(&[vec![t, f], vec![f, t], vec![t, f]], 0).map(value), NoVariance),
        ("correlation, lists unlike", correlation(&[1.0], &[]).map(value), Ragged { row: 2, has: 0, expected: 1 }),
        ("D, one person", d_index(&[vec![t, f]], 0).map(value), OnePerson),
        ("D, equal totals", d_index(&[vec![t, f], vec![f, t], vec![t, f]], 1).map(value), NoVariance),
        ("D of an item there is not", d_index(&[vec![t, f]], 5).map(value), NoSuchItem { item: 5, items: 2 }),
        (
            "D, marks missing",
            Groups::of(&[1, 2, 3]).unwrap().d([t, f]).map(value),
            Ragged { row: 2, has: 2, expected: 3 },
        ),
        ("items of nobody", ItemAnalysis::of(&[]).map(value), NoRatings),
        ("mean of nothing", mean(&[]).map(value), NoRatings),
        ("mean with a gap", mean(&[1.0, NAN]).map(value), NotANumber),
        ("median of nothing", median(&[]).map(value), NoRatings),
        ("quantile beyond all", quantile(&[1.0], 1.5).map(value), NoSuchQuantile),
        ("quantile of no number", quantile(&[1.0], NAN).map(value), NoSuchQuantile),
        ("range of nothing", range(&[]).map(value), NoRatings),
        ("scatter of one", spread(&[1.0]).map(value), TooFew { have: 1, need: 2 }),
        ("mean of what is too small to square", mean(&[1e-200, 2e-200]).map(value), OutOfReach),
        ("scatter too large", spread(&[1e200, -1e200]).map(value), OutOfReach),
        ("trend of one trial", trend(&[(1.0, 1.0)]).map(value), TooFew { have: 1, need: 2 }),
        ("trend within one day", trend(&[(3.0, 1.0), (3.0, 2.0)]).map(value), NoVariance),
    ];
    assert!(cases.len() >= 20);
    for (what, found, why) in cases {
        assert_eq!(found, Err(why), "{what}");
        assert!(why.to_string().len() > 10, "{what}");
    }
}

#[test]
fn a_figure_can_stand_without_an_interval_and_says_why() {
    use Undefined::*;
    let (t, f) = (true, false);
    let some = |row: &[f64]| row.iter().copied().map(Some).collect::<Vec<_>>();
    let cases = [
        ("kappa after full agreement", kappa(2, &[(0, 0), (1, 1), (1, 1)]), NoScatter),
        ("kappa, one rater gave one mark throughout", kappa(2, &[(0, 0), (0, 1), (0, 0)]), NoScatter),
        ("Fleiss, two performances", fleiss_kappa(&[vec![2, 1], vec![1, 2]]), TooFew { have: 2, need: 3 }),
        ("Fleiss, one dissent in one", fleiss_kappa(&[vec![3, 0], vec![3, 0], vec![2, 1]]), RestsOnOne),
        ("Fleiss after full agreement", fleiss_kappa(&[vec![3, 0], vec![0, 3], vec![3, 0], vec![0, 3]]), NoScatter),
        (
            "Krippendorff, two performances",
            krippendorff_alpha(&[some(&[1.0, 2.0]), some(&[2.0, 1.0])], Level::Interval),
            TooFew { have: 2, need: 3 },
        ),
        ("ICC, raters alike", icc(&[vec![1.0, 1.0], vec![2.0, 2.0], vec![4.0, 4.0]], SINGLE), NoScatter),
        ("KR-20 of 1", kr20(&[vec![t, t], vec![f, f], vec![t, t]]), NoScatter),
        ("correlation of three", correlation(&[1.0, 2.0, 4.0], &[1.0, 3.0, 2.0]), TooFew { have: 3, need: 4 }),
        ("correlation on a line", correlation(&[1.0, 2.0, 4.0, 5.0], &[2.0, 4.0, 8.0, 10.0]), NoScatter),
        ("mean of one", mean(&[3.0]), TooFew { have: 1, need: 2 }),
        ("mean of equals", mean(&[0.1; 7]), NoScatter),
        ("median of five", median(&[1.0, 2.0, 3.0, 4.0, 5.0]), TooFew { have: 5, need: 6 }),
        ("trend of two trials", trend(&[(1.0, 4.0), (2.0, 5.0)]).map(|line| line.slope), TooFew { have: 2, need: 3 }),
        (
            "trials on a line",
            trend(&[(1.0, 0.1), (2.0, 0.2), (3.0, 0.3), (4.0, 0.4)]).map(|line| line.slope),
            NoScatter,
        ),
    ];
    for (what, found, why) in cases {
        let found = found.unwrap_or_else(|error| panic!("{what}: {error}"));
        assert_eq!(found.interval, Err(why), "{what}");
        assert!(found.value.is_finite() && found.to_string().contains("no interval"), "{what}: {found}");
    }
}

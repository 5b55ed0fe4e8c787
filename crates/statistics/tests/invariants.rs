//! What holds for every table: the order of raters and people does not matter, bounds are kept, nothing is infinite.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]
#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use proptest::prelude::*;
use statistics::{
    Estimate, IccForm, ItemAnalysis, Level, Table, Undefined, Weights, cohen_kappa, correlation, cronbach_alpha,
    fleiss_kappa, icc, kr20, krippendorff_alpha, mean, median, percent_agreement, spread, trend,
};

/// The same figure, or undefined for the same reason.
fn same(a: &Result<Estimate, Undefined>, b: &Result<Estimate, Undefined>) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(1.0);
    match (a, b) {
        (Ok(a), Ok(b)) => {
            near(a.value, b.value)
                && match (a.interval, b.interval) {
                    (Ok(a), Ok(b)) => near(a.low, b.low) && near(a.high, b.high),
                    (Err(a), Err(b)) => a == b,
                    _ => false,
                }
        }
        (Err(a), Err(b)) => a == b,
        _ => false,
    }
}

/// Undefined, or finite, within its own interval, within bounds.
fn sound(found: &Result<Estimate, Undefined>, least: f64, most: f64) -> bool {
    let Ok(Estimate { value, interval, .. }) = *found else { return true };
    let within = |end: f64| end.is_finite() && end <= most + 1e-9;
    let ends =
        interval.map_or(true, |ends| within(ends.low) && within(ends.high) && ends.low <= value && value <= ends.high);
    within(value) && value >= least - 1e-9 && ends
}

const WEIGHTS: [Weights; 3] = [Weights::None, Weights::Linear, Weights::Quadratic];
const LEVELS: [Level; 3] = [Level::Nominal, Level::Ordinal, Level::Interval];

fn pairs() -> impl Strategy<Value = (usize, Vec<(usize, usize)>)> {
    (1_usize..6)
        .prop_flat_map(|categories| (Just(categories), prop::collection::vec((0..categories, 0..categories), 0..30)))
}

fn table(categories: usize, pairs: &[(usize, usize)]) -> Table {
    let (first, second): (Vec<usize>, Vec<usize>) = pairs.iter().copied().unzip();
    Table::of(categories, &first, &second).unwrap()
}

fn sheet() -> impl Strategy<Value = Vec<Vec<bool>>> {
    (1_usize..7).prop_flat_map(|items| prop::collection::vec(prop::collection::vec(any::<bool>(), items), 1..25))
}

fn scores() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (1_usize..5).prop_flat_map(|raters| {
        prop::collection::vec(prop::collection::vec((0_u8..20).prop_map(f64::from), raters), 1..12)
    })
}

fn gapped() -> impl Strategy<Value = Vec<Vec<Option<f64>>>> {
    (1_usize..8).prop_flat_map(|units| {
        prop::collection::vec(prop::collection::vec(prop::option::of((0_u8..5).prop_map(f64::from)), units), 1..5)
    })
}

proptest! {
    #[test]
    fn kappa_does_not_know_which_rater_is_first((categories, pairs) in pairs()) {
        let swapped: Vec<_> = pairs.iter().map(|(a, b)| (*b, *a)).collect();
        let upside_down: Vec<_> = pairs.iter().map(|(a, b)| (categories - 1 - a, categories - 1 - b)).collect();
        let (one, other, turned) =
            (table(categories, &pairs), table(categories, &swapped), table(categories, &upside_down));
        prop_assert!(same(&percent_agreement(&one), &percent_agreement(&other)));
        prop_assert!(sound(&percent_agreement(&one), 0.0, 1.0));
        for weights in WEIGHTS {
            let found = cohen_kappa(&one, weights);
            prop_assert!(same(&found, &cohen_kappa(&other, weights)));
            prop_assert!(same(&found, &cohen_kappa(&turned, weights)));
            prop_assert!(sound(&found, -1.0, 1.0), "{found:?}");
        }
    }

    #[test]
    fn two_trials_counted_together_are_one_long_trial((categories, pairs) in pairs(), at in 0_usize..30) {
        let at = at.min(pairs.len());
        let mut both = table(categories, &pairs[..at]);
        both.add(&table(categories, &pairs[at..])).unwrap();
        prop_assert_eq!(both, table(categories, &pairs));
    }

    #[test]
    fn weights_mean_nothing_between_two_categories(pairs in prop::collection::vec((0_usize..2, 0_usize..2), 0..30)) {
        let table = table(2, &pairs);
        let plain = cohen_kappa(&table, Weights::None);
        prop_assert!(same(&plain, &cohen_kappa(&table, Weights::Linear)));
        prop_assert!(same(&plain, &cohen_kappa(&table, Weights::Quadratic)));
    }

    #[test]
    fn fleiss_kappa_does_not_know_the_order(
        mut rows in prop::collection::vec(prop::collection::vec(0_usize..3, 4), 0..12)
    ) {
        let count = |rows: &[Vec<usize>]| rows.iter().map(|marks| {
            (0..3).map(|at| u32::try_from(marks.iter().filter(|mark| **mark == at).count()).unwrap()).collect()
        }).collect::<Vec<Vec<u32>>>();
        let found = fleiss_kappa(&count(&rows));
        rows.reverse();
        prop_assert!(same(&found, &fleiss_kappa(&count(&rows))));
        prop_assert!(sound(&found, -1.0, 1.0), "{found:?}");
    }

    #[test]
    fn krippendorffs_alpha_does_not_know_the_order_and_interval_marks_have_no_origin(mut marks in gapped()) {
        for level in LEVELS {
            let found = krippendorff_alpha(&marks, level);
            prop_assert!(sound(&found, -1.0, 1.0), "{found:?}");
            let moved: Vec<Vec<Option<f64>>> =
                marks.iter().map(|row| row.iter().map(|mark| mark.map(|m| 7.0 - 2.0 * m)).collect()).collect();
            prop_assert!(same(&found, &krippendorff_alpha(&moved, level)));
        }
        let before = LEVELS.map(|level| krippendorff_alpha(&marks, level));
        marks.reverse();
        marks.iter_mut().for_each(|row| row.reverse());
        for (level, before) in LEVELS.into_iter().zip(before) {
            prop_assert!(same(&before, &krippendorff_alpha(&marks, level)));
        }
    }

    #[test]
    fn an_icc_knows_neither_order_nor_origin_nor_unit(mut scores in scores()) {
        let moved: Vec<Vec<f64>> = scores.iter().map(|row| row.iter().map(|s| 100.0 + 3.0 * s).collect()).collect();
        let before = IccForm::ALL.map(|form| icc(&scores, form));
        for (form, before) in IccForm::ALL.into_iter().zip(&before) {
            prop_assert!(same(before, &icc(&moved, form)), "{form}: {before:?} {:?}", icc(&moved, form));
            prop_assert!(sound(before, f64::NEG_INFINITY, 1.0), "{form}: {before:?}");
        }
        scores.reverse();
        scores.iter_mut().for_each(|row| row.reverse());
        for (form, before) in IccForm::ALL.into_iter().zip(&before) {
            prop_assert!(same(before, &icc(&scores, form)));
        }
    }

    #[test]
    fn consistency_of_the_mean_is_alpha_over_raters(scores in scores()) {
        if let (Ok(one), Ok(other)) = (icc(&scores, IccForm::TwoWayMixedAverage), cronbach_alpha(&scores)) {
            prop_assert!((one.value - other.value).abs() <= 1e-9 * one.value.abs().max(1.0), "{one} {other}");
        }
    }

    #[test]
    fn the_order_of_people_and_items_changes_no_item_figure(mut people in sheet(), turn in 0_usize..25) {
        let before = ItemAnalysis::of(&people).unwrap();
        let turn = turn % people.len();
        people.rotate_left(turn);
        prop_assert_eq!(&ItemAnalysis::of(&people).unwrap(), &before);
        people.iter_mut().for_each(|row| row.reverse());
        let mut turned = ItemAnalysis::of(&people).unwrap();
        turned.items.reverse();
        prop_assert_eq!(&turned, &before);
        for figures in &before.items {
            prop_assert!(sound(&figures.difficulty, 0.0, 1.0));
            prop_assert!(sound(&figures.rest, -1.0, 1.0));
            prop_assert!(sound(&figures.total, -1.0, 1.0));
            prop_assert!(sound(&figures.d.map(|found| found.d), -1.0, 1.0));
            if let (Ok(rest), Ok(total)) = (figures.rest, figures.total) {
                prop_assert!(total.value >= rest.value - 1e-12, "{} {}", total.value, rest.value);
            }
        }
        prop_assert!(sound(&before.reliability, f64::NEG_INFINITY, 1.0));
    }

    #[test]
    fn kr20_is_alpha_of_right_and_wrong(people in sheet()) {
        let marks: Vec<Vec<f64>> =
            people.iter().map(|row| row.iter().map(|mark| f64::from(u8::from(*mark))).collect()).collect();
        prop_assert!(same(&kr20(&people), &cronbach_alpha(&marks)));
    }

    #[test]
    fn whatever_numbers_come_no_infinity_leaves(
        points in prop::collection::vec((any::<f64>(), any::<f64>()), 0..12)
    ) {
        let (xs, ys): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let rows: Vec<Vec<f64>> = points.iter().map(|(x, y)| vec![*x, *y]).collect();
        let marks = [xs.iter().copied().map(Some).collect(), ys.iter().copied().map(Some).collect()];
        let mut found = vec![mean(&xs), median(&xs), correlation(&xs, &ys), cronbach_alpha(&rows)];
        found.push(trend(&points).map(|line| line.slope));
        found.extend(LEVELS.map(|level| krippendorff_alpha(&marks, level)));
        found.extend(IccForm::ALL.map(|form| icc(&rows, form)));
        for found in found {
            prop_assert!(sound(&found, f64::NEG_INFINITY, f64::INFINITY), "{found:?}");
        }
        if let Ok(scatter) = spread(&xs) {
            prop_assert!(scatter.sd.is_finite() && scatter.mean.is_finite());
        }
    }

    #[test]
    fn a_longer_list_shortens_the_interval_of_a_steady_share(right in 1_usize..9) {
        let width = |times: usize| {
            let ends = statistics::proportion(right * times, 10 * times).unwrap().interval.unwrap();
            ends.high - ends.low
        };
        prop_assert!(width(10) < width(1) && width(100) < width(10));
    }
}

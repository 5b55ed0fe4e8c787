//! Traps others fell into, each with the figures that show it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]
#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use statistics::{
    Groups, IccForm, ItemAnalysis, Table, Undefined, Weights, cohen_kappa, d_index, icc, item_rest, item_total, kr20,
    percent_agreement, proportion, spread,
};

mod data;

use data::{ANXIETY, SHROUT_FLEISS, WUENSCH, numbers, right};

#[track_caller]
fn close(ours: f64, printed: f64, within: f64) {
    assert!((ours - printed).abs() <= within, "ours {ours}, printed {printed}");
}

/// Both raters marked every act "done": full agreement, and nothing to tell it from chance.
#[test]
fn kappa_is_undefined_where_only_one_category_was_used() {
    let table = Table::of(2, &[0; 20], &[0; 20]).unwrap();
    assert_eq!(percent_agreement(&table).unwrap().value, 1.0);
    for weights in [Weights::None, Weights::Linear, Weights::Quadratic] {
        let why = cohen_kappa(&table, weights).unwrap_err();
        assert_eq!(why, Undefined::OneCategory);
        assert_eq!(why.to_string(), "all marks fall in one category: agreement cannot be told from chance");
    }
}

/// The R package irr drops a level nobody used and takes ranks for distances: 0.1459 and 0.2520 on these ratings. On the
/// scale as declared scikit-learn 1.9.1 gives 0.1262 and 0.2298.
#[test]
fn a_level_nobody_used_keeps_its_place() {
    let (first, second): (Vec<usize>, Vec<usize>) = ANXIETY.iter().map(|(a, b)| (a - 1, b - 1)).unzip();
    assert!(!first.contains(&4) && !second.contains(&4), "level 5 is the one nobody used");
    let table = Table::of(6, &first, &second).unwrap();
    let linear = cohen_kappa(&table, Weights::Linear).unwrap().value;
    let quadratic = cohen_kappa(&table, Weights::Quadratic).unwrap().value;
    close(linear, 0.126_213_592_233_009_74, 1e-12);
    close(quadratic, 0.229_797_979_797_979_78, 1e-12);
    assert!((linear - 0.1459).abs() > 0.01 && (quadratic - 0.2520).abs() > 0.01);
    // Levels declared above and below the used ones change no distance.
    let moved = |levels: &[usize]| levels.iter().map(|level| level + 2).collect::<Vec<_>>();
    let wider = Table::of(11, &moved(&first), &moved(&second)).unwrap();
    close(cohen_kappa(&wider, Weights::Linear).unwrap().value, linear, 1e-12);
}

/// p q is a population variance. Beside the sample variance of the totals the same ten students would get 0.738.
#[test]
fn kr20_does_not_mix_two_kinds_of_variance() {
    let found = kr20(&right(&WUENSCH)).unwrap().value;
    close(found, 0.696, 5e-4);
    let totals: Vec<f64> = numbers(&WUENSCH).iter().map(|row| row.iter().sum()).collect();
    let mixed = 10.0 / 9.0 * (1.0 - 2.18 / spread(&totals).unwrap().sample_variance);
    close(mixed, 0.738, 5e-4);
    assert!((found - mixed).abs() > 0.04);
}

#[test]
fn an_item_inside_its_own_total_looks_three_times_better() {
    let people = data::lsat();
    close(item_total(&people, 0).unwrap().value, 0.36, 0.005);
    close(item_rest(&people, 0).unwrap().value, 0.11, 0.005);
}

/// LSAT: 298 of 1,000 share the top score, and the upper group has 270 places.
#[test]
fn tied_people_share_the_places_of_a_group_and_the_order_of_the_roster_changes_nothing() {
    let people = data::lsat();
    let found = d_index(&people, 0).unwrap();
    assert_eq!(found.group, 270);
    assert_eq!((found.upper.people, found.upper.places), (298, 270));
    assert!(found.upper.is_arbitrary());
    assert!(found.lower.is_arbitrary());

    // With the 27 % cut straight through a sorted roster, D depends on who happened to stand first.
    let cut = |rows: &[Vec<bool>], item: usize| {
        let mut sorted = rows.to_vec();
        sorted.sort_by_key(|row| row.iter().filter(|mark| **mark).count());
        let share = |group: &[Vec<bool>]| group.iter().filter(|row| row[item]).count() as f64 / 270.0;
        share(&sorted[730..]) - share(&sorted[..270])
    };
    let mut backwards = people.clone();
    backwards.reverse();
    let (one_way, other_way) = (cut(&people, 0), cut(&backwards, 0));
    assert!((one_way - other_way).abs() > 0.05, "{one_way} or {other_way}");
    assert_eq!(d_index(&backwards, 0).unwrap(), found);
    let (least, most) = (one_way.min(other_way), one_way.max(other_way));
    assert!(least < found.d.value && found.d.value < most, "{least} < {} < {most}", found.d.value);
}

/// Five people, one place in the lower group for two with the lowest score: each counts a half.
#[test]
fn a_shared_place_counts_in_part() {
    let groups = Groups::of(&[9, 7, 6, 3, 3]).unwrap();
    let found = groups.d([true, true, false, true, false]).unwrap();
    assert_eq!((found.group, found.lower.people, found.lower.places), (1, 2, 1));
    close(found.d.value, 0.5, 1e-15);
}

#[test]
fn an_intraclass_correlation_is_named_in_full_because_the_six_forms_differ() {
    let scores = numbers(&SHROUT_FLEISS);
    let found = IccForm::ALL.map(|form| icc(&scores, form).unwrap().value);
    let (least, most) = (found.iter().copied().fold(1.0, f64::min), found.iter().copied().fold(0.0, f64::max));
    close(least, 0.17, 0.005);
    close(most, 0.91, 0.005);
    for (at, form) in IccForm::ALL.into_iter().enumerate() {
        let name = form.to_string();
        let (model, unit) = [(1, '1'), (2, '1'), (3, '1'), (1, 'k'), (2, 'k'), (3, 'k')][at];
        assert!(name.starts_with(&format!("ICC({model},{unit}), ")), "{name}");
        assert!(name.contains("effects") && name.contains("rater"), "{name}");
    }
}

/// The usual bands of kappa are arbitrary, and Ebel's of D are for hundreds: no text that leaves here holds a verdict.
#[test]
fn no_verdict_is_offered_in_words() {
    let kappa = |counts: [[u32; 2]; 2]| {
        let table = Table::from_counts(counts.map(Vec::from).to_vec()).unwrap();
        cohen_kappa(&table, Weights::None).unwrap().to_string()
    };
    let texts = [kappa([[9, 1], [1, 9]]), kappa([[5, 5], [5, 5]]), kappa([[1, 9], [9, 1]]), kappa([[10, 0], [0, 10]])];
    assert_eq!(texts[0], "0.80 (95 % 0.54 to 1.00, n = 20)");
    assert_eq!(texts[2], "−0.80 (95 % −1.00 to −0.54, n = 20)");
    for text in texts {
        for verdict in
            ["poor", "slight", "fair", "moderate", "substantial", "perfect", "good", "bad", "excellent", "marginal"]
        {
            assert!(!text.contains(verdict), "{text}");
        }
    }
}

/// From eight candidates one more moves the pass rate by 12.5 points: n and the interval are in the text.
#[test]
fn a_small_class_shows_its_interval() {
    let (six, seven) = (proportion(6, 8).unwrap(), proportion(7, 8).unwrap());
    close(seven.value - six.value, 0.125, 1e-15);
    assert_eq!(six.to_string(), "0.75 (95 % 0.41 to 0.93, n = 8)");
    assert!(six.high().unwrap() - six.low().unwrap() > 0.5);

    let sheet = ItemAnalysis::of(&right(&WUENSCH)[..8]).unwrap();
    let reliability = sheet.reliability.unwrap();
    assert!(reliability.high().unwrap() - reliability.low().unwrap() > 0.4, "{reliability}");
    for figures in sheet.items {
        let text = figures.difficulty.unwrap().to_string();
        assert!(text.contains("95 %") && text.contains("n = 8"), "{text}");
    }
}

/// Agreement on everything says how far it holds only by Wilson's interval; kappa's standard error of zero is no interval.
#[test]
fn no_interval_without_width_is_printed() {
    let table = Table::from_counts(vec![vec![6, 0], vec![0, 6]]).unwrap();
    let kappa = cohen_kappa(&table, Weights::None).unwrap();
    assert_eq!((kappa.value, kappa.interval), (1.0, Err(Undefined::NoScatter)));
    assert_eq!(
        kappa.to_string(),
        "1.00 (n = 12; no interval: the sample shows no scatter to estimate an interval from)"
    );
    assert_eq!(percent_agreement(&table).unwrap().to_string(), "1.00 (95 % 0.76 to 1.00, n = 12)");
}

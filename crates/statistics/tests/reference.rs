//! 10,000 random tables (and 1,000 special functions) against general-purpose libraries, to 1e-9.
//!
//! `reference/generate.py` made the values and names each library's version at the top of the data. A table is drawn
//! again here from its seed, by the same splitmix64; `-` is a value that must be undefined.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]
#![expect(clippy::float_arithmetic, reason = "estimates about people are binary floats")]

use std::collections::BTreeMap;

use statistics::{
    Estimate, IccForm, ItemAnalysis, Level, Table, Undefined, Weights, cohen_kappa, cronbach_alpha, d_index,
    difficulty, fleiss_kappa, icc, item_rest, item_total, kr20, krippendorff_alpha, mean, median, percent_agreement,
    quantile, range, special, spread, trend,
};

const DATA: &str = include_str!("data/reference.txt");

/// splitmix64, as in `reference/generate.py`.
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, bound: usize) -> usize {
        usize::try_from(self.next() % bound as u64).unwrap()
    }

    fn between(&mut self, low: usize, high: usize) -> usize {
        low + self.below(high - low + 1)
    }
}

/// Value, low, high; none where undefined.
type Figures = Vec<Option<f64>>;

fn three(estimate: Result<Estimate, Undefined>) -> Figures {
    match estimate {
        Ok(found) => vec![Some(found.value), found.low(), found.high()],
        Err(_) => vec![None; 3],
    }
}

fn kappa(draw: &mut Draw) -> Figures {
    let (categories, pairs, agree) = (draw.between(2, 6), draw.between(1, 60), draw.below(101));
    let used = draw.between(1, categories);
    let mut table = Table::new(categories);
    for _ in 0..pairs {
        let first = draw.below(used);
        let second = if draw.below(100) < agree { first } else { draw.below(used) };
        table.count(first, second).unwrap();
    }
    let mut figures = three(percent_agreement(&table));
    for weights in [Weights::None, Weights::Linear, Weights::Quadratic] {
        figures.extend(three(cohen_kappa(&table, weights)));
    }
    figures
}

fn fleiss(draw: &mut Draw) -> Figures {
    let (categories, raters, rows) = (draw.between(2, 5), draw.between(1, 6), draw.between(1, 20));
    let (used, agree) = (draw.between(1, categories), draw.below(101));
    let counts: Vec<Vec<u32>> = (0..rows)
        .map(|_| {
            let (truth, mut row) = (draw.below(used), vec![0; categories]);
            for _ in 0..raters {
                row[if draw.below(100) < agree { truth } else { draw.below(used) }] += 1;
            }
            row
        })
        .collect();
    three(fleiss_kappa(&counts))
}

fn krippendorff(draw: &mut Draw) -> Figures {
    let (raters, units, used) = (draw.between(1, 5), draw.between(1, 12), draw.between(1, 5));
    let (agree, gaps) = (draw.below(101), draw.below(60));
    let mut marks = vec![vec![None; units]; raters];
    for unit in 0..units {
        let truth = draw.below(used);
        for row in &mut marks {
            let mark = if draw.below(100) < agree { truth } else { draw.below(used) };
            if draw.below(100) >= gaps {
                row[unit] = Some((mark * mark) as f64);
            }
        }
    }
    let levels = [Level::Nominal, Level::Ordinal, Level::Interval];
    levels.into_iter().flat_map(|level| three(krippendorff_alpha(&marks, level))).collect()
}

fn iccs(draw: &mut Draw) -> Figures {
    let (mut people, raters, able) = (draw.between(2, 12), draw.between(2, 5), draw.below(12));
    let (severe, error) = (draw.below(6), draw.below(8));
    if people * raters < 5 {
        people = 3;
    }
    let severity: Vec<usize> = (0..raters).map(|_| draw.between(0, severe)).collect();
    let scores: Vec<Vec<f64>> = (0..people)
        .map(|_| {
            let own = draw.between(0, able);
            severity.iter().map(|severe| (own * 4 + severe * 2 + draw.between(0, error)) as f64 / 4.0).collect()
        })
        .collect();
    IccForm::ALL.into_iter().flat_map(|form| three(icc(&scores, form))).collect()
}

fn alpha(draw: &mut Draw) -> Figures {
    let (people, items) = (draw.between(1, 15), draw.between(1, 8));
    let (able, most) = (draw.below(10), draw.between(1, 5));
    let marks: Vec<Vec<usize>> = (0..people)
        .map(|_| {
            let own = draw.between(0, able);
            (0..items).map(|_| most.min((own + draw.below(10)) * (most + 1) / 20)).collect()
        })
        .collect();
    let numbers: Vec<Vec<f64>> = marks.iter().map(|row| row.iter().map(|mark| *mark as f64).collect()).collect();
    let figures = three(cronbach_alpha(&numbers));
    if most == 1 {
        // Right or wrong: KR-20 is the same figure, reached by whole numbers.
        let right: Vec<Vec<bool>> = marks.iter().map(|row| row.iter().map(|mark| *mark == 1).collect()).collect();
        for (ours, other) in three(kr20(&right)).into_iter().zip(&figures) {
            assert_same("KR-20 and alpha", ours, *other);
        }
    }
    figures
}

fn items(draw: &mut Draw) -> Figures {
    let (people, items, able) = (draw.between(1, 40), draw.between(1, 8), draw.below(60));
    let right: Vec<Vec<bool>> = (0..people)
        .map(|_| {
            let own = draw.between(0, able);
            (0..items).map(|at| draw.below(100) < 30 + own + at).collect()
        })
        .collect();
    let first: Vec<bool> = right.iter().map(|row| row[0]).collect();
    let parts =
        [difficulty(&first), item_rest(&right, 0), item_total(&right, 0), d_index(&right, 0).map(|found| found.d)];
    let whole = ItemAnalysis::of(&right).unwrap().items[0];
    assert_eq!(parts, [whole.difficulty, whole.rest, whole.total, whole.d.map(|found| found.d)]);
    parts.into_iter().flat_map(three).collect()
}

fn describe(draw: &mut Draw) -> Figures {
    let (n, wide) = (draw.between(1, 40), draw.between(1, 1000));
    let places = [1.0, 10.0, 100.0, 1000.0][draw.below(4)];
    let offset = draw.below(1000);
    let values: Vec<f64> = (0..n).map(|_| (offset + draw.below(wide)) as f64 / places).collect();
    let mut figures = three(mean(&values));
    let scatter = spread(&values).ok();
    figures.extend([scatter.map(|found| found.sample_variance), scatter.map(|found| found.population_variance)]);
    figures.extend(three(median(&values)));
    figures.extend([quantile(&values, 0.25).ok(), quantile(&values, 0.9).ok()]);
    let (low, high) = range(&values).unwrap();
    figures.extend([Some(low), Some(high)]);
    figures
}

fn trends(draw: &mut Draw) -> Figures {
    let (n, rise, noise) = (draw.between(1, 20), draw.below(21) as f64 - 10.0, draw.below(30));
    let points: Vec<(f64, f64)> = (0..n)
        .map(|_| {
            let place = draw.below(n) as f64;
            (place / 2.0, (rise * place + draw.between(0, noise) as f64) / 8.0)
        })
        .collect();
    let found = trend(&points);
    let mut figures = three(found.map(|line| line.slope));
    figures.push(found.ok().map(|line| line.at(0.0)));
    figures
}

fn specials(draw: &mut Draw) -> Figures {
    let size = 10_usize.pow(u32::try_from(draw.between(0, 4)).unwrap());
    let numerator = draw.between(4, 40 * size) as f64 / 8.0;
    let denominator = draw.between(4, 40 * size) as f64 / 8.0;
    let p = draw.between(1, 999) as f64 / 1000.0;
    let figures = [
        special::f_quantile(p, numerator, denominator),
        special::t_95(numerator),
        special::incomplete_beta(numerator, denominator, p),
        special::ln_gamma(numerator),
        special::Z_95,
    ];
    figures.map(Some).to_vec()
}

fn assert_same(what: &str, ours: Option<f64>, theirs: Option<f64>) {
    match (ours, theirs) {
        (None, None) => {}
        (Some(ours), Some(theirs)) => {
            let apart = (ours - theirs).abs();
            assert!(apart <= 1e-9 * theirs.abs().max(1.0), "{what}: ours {ours}, reference {theirs}");
        }
        _ => panic!("{what}: ours {ours:?}, reference {theirs:?}"),
    }
}

/// Compares every table of one kind; the number of tables, and of undefined figures among them.
fn compare(kind: &str, figures_of: impl Fn(&mut Draw) -> Figures) -> (usize, usize) {
    let (mut tables, mut undefined) = (0, 0);
    for line in DATA.lines().filter(|line| line.split(' ').next() == Some(kind)) {
        let mut fields = line.split(' ').skip(1);
        let seed: u64 = fields.next().unwrap().parse().unwrap();
        let theirs: Figures = fields.map(|text| (text != "-").then(|| text.parse().unwrap())).collect();
        let ours = figures_of(&mut Draw(seed));
        assert_eq!(ours.len(), theirs.len(), "{kind} {seed}");
        for (at, (ours, theirs)) in ours.iter().zip(&theirs).enumerate() {
            assert_same(&format!("{kind} {seed}, figure {at}"), *ours, *theirs);
        }
        tables += 1;
        undefined += theirs.iter().filter(|figure| figure.is_none()).count();
    }
    (tables, undefined)
}

#[test]
fn kappa_and_percent_agreement_are_those_of_scikit_learn_and_statsmodels() {
    let (tables, undefined) = compare("kappa", kappa);
    assert_eq!(tables, 2000);
    assert!(undefined > 1000, "{undefined}");
}

#[test]
fn fleiss_kappa_is_that_of_statsmodels() {
    let (tables, undefined) = compare("fleiss", fleiss);
    assert_eq!(tables, 1500);
    assert!(undefined > 500, "{undefined}");
}

#[test]
fn krippendorffs_alpha_is_that_of_its_python_package() {
    let (tables, undefined) = compare("krippendorff", krippendorff);
    assert_eq!(tables, 1500);
    assert!(undefined > 500, "{undefined}");
}

#[test]
fn the_six_intraclass_correlations_are_those_of_pingouin() {
    let (tables, undefined) = compare("icc", iccs);
    assert_eq!(tables, 1000);
    assert!(undefined > 100, "{undefined}");
}

#[test]
fn alpha_and_kr20_are_those_of_pingouin() {
    let (tables, undefined) = compare("alpha", alpha);
    assert_eq!(tables, 1000);
    assert!(undefined > 100, "{undefined}");
}

#[test]
fn difficulty_correlations_and_d_are_those_of_scipy_and_statsmodels() {
    let (tables, undefined) = compare("items", items);
    assert_eq!(tables, 1500);
    assert!(undefined > 100, "{undefined}");
}

#[test]
fn means_medians_and_quantiles_are_those_of_numpy_and_scipy() {
    let (tables, undefined) = compare("describe", describe);
    assert_eq!(tables, 1000);
    assert!(undefined > 100, "{undefined}");
}

#[test]
fn slopes_are_those_of_scipy() {
    let (tables, undefined) = compare("trend", trends);
    assert_eq!(tables, 500);
    assert!(undefined > 50, "{undefined}");
}

#[test]
fn special_functions_are_those_of_scipy() {
    assert_eq!(compare("special", specials), (1000, 0));
}

#[test]
fn the_data_name_their_libraries_and_hold_ten_thousand_tables() {
    let head: Vec<&str> = DATA.lines().take_while(|line| line.starts_with('#')).collect();
    for library in ["python", "numpy", "scipy", "scikit-learn", "statsmodels", "pingouin", "krippendorff"] {
        assert!(head.iter().any(|line| line.starts_with(&format!("# {library} "))), "{library}");
    }
    let mut kinds = BTreeMap::new();
    for line in DATA.lines().skip(head.len()) {
        *kinds.entry(line.split(' ').next().unwrap()).or_insert(0) += 1;
    }
    kinds.remove("special");
    assert_eq!(kinds.values().sum::<i32>(), 10_000, "{kinds:?}");
}

//! How long a class sheet's figures take: 1,000 candidates, 30 acts.

#![allow(clippy::unwrap_used, clippy::float_arithmetic, reason = "a benchmark stops at the first surprise")]

use divan::{Bencher, black_box};
use statistics::{
    IccForm, ItemAnalysis, Level, Table, Weights, cohen_kappa, cronbach_alpha, fleiss_kappa, icc, krippendorff_alpha,
    mean, median, percent_agreement, range, trend,
};

const PEOPLE: usize = 1_000;
const ACTS: usize = 30;

fn main() {
    divan::main();
}

/// Repeatable numbers: splitmix64.
struct Draw(u64);

impl Draw {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % bound
    }
}

/// Invented marks: people differ, acts differ, the rest is chance.
fn class() -> Vec<Vec<bool>> {
    let mut draw = Draw(30);
    (0..PEOPLE)
        .map(|_| {
            let able = draw.below(40);
            (0..ACTS as u64).map(|act| draw.below(100) < 50 + able + act / 3).collect()
        })
        .collect()
}

/// Three raters who differ in every tenth mark.
fn raters(class: &[Vec<bool>]) -> Vec<Vec<Vec<bool>>> {
    let mut draw = Draw(3);
    (0..3)
        .map(|_| class.iter().map(|row| row.iter().map(|mark| *mark ^ (draw.below(10) == 0)).collect()).collect())
        .collect()
}

/// Difficulty, item-rest, item-total, D and reliability without it for 30 acts, and KR-20.
#[divan::bench]
fn items(bencher: Bencher) {
    let class = class();
    bencher.bench(|| ItemAnalysis::of(black_box(&class)).unwrap());
}

/// Everything: the items, alpha, two raters' kappa in every trial and over all, three raters' Fleiss' kappa,
/// Krippendorff's alpha and six ICCs over the totals, and the times of every act.
#[divan::bench]
fn everything(bencher: Bencher) {
    let class = class();
    let raters = raters(&class);
    let mut draw = Draw(7);
    let times: Vec<Vec<f64>> =
        (0..ACTS).map(|_| (0..PEOPLE).map(|_| draw.below(600) as f64 / 10.0).collect()).collect();
    bencher.bench(|| {
        let sheet = ItemAnalysis::of(black_box(&class)).unwrap();
        let numbers: Vec<Vec<f64>> =
            class.iter().map(|row| row.iter().map(|m| f64::from(u8::from(*m))).collect()).collect();
        let alpha = cronbach_alpha(&numbers).unwrap();

        let mut all = Table::new(2);
        let mut kappas = Vec::with_capacity(PEOPLE);
        for (first, second) in raters[0].iter().zip(&raters[1]) {
            let marks = |row: &[bool]| row.iter().map(|mark| usize::from(!mark)).collect::<Vec<_>>();
            let trial = Table::of(2, &marks(first), &marks(second)).unwrap();
            kappas.push((percent_agreement(&trial), cohen_kappa(&trial, Weights::None)));
            all.add(&trial).unwrap();
        }
        let over_all = cohen_kappa(&all, Weights::None).unwrap();

        let marks = |act: usize, person: usize| raters.iter().map(move |rater| rater[person][act]);
        let counts: Vec<Vec<u32>> = (0..PEOPLE)
            .map(|person| {
                let done = marks(0, person).filter(|mark| *mark).count() as u32;
                vec![done, 3 - done]
            })
            .collect();
        let fleiss = fleiss_kappa(&counts).unwrap();
        let totals: Vec<Vec<f64>> = (0..PEOPLE)
            .map(|person| {
                raters.iter().map(|rater| rater[person].iter().filter(|mark| **mark).count() as f64).collect()
            })
            .collect();
        let forms: Vec<_> = IccForm::ALL.into_iter().map(|form| icc(&totals, form)).collect();
        let by_rater: Vec<Vec<Option<f64>>> =
            (0..3).map(|rater| totals.iter().map(|row| Some(row[rater])).collect()).collect();
        let krippendorff = krippendorff_alpha(&by_rater, Level::Interval).unwrap();

        let of_times: Vec<_> = times.iter().map(|list| (mean(list), median(list), range(list))).collect();
        let line: Vec<(f64, f64)> = times[0].iter().enumerate().map(|(at, time)| (at as f64, *time)).collect();
        (sheet, alpha, kappas, over_all, fleiss, forms, krippendorff, of_times, trend(&line))
    });
}

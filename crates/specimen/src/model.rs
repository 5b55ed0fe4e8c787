//! The teaching model and its constants: how concrete and instruments answer good work and poor work.
//!
//! Here: what an instrument shows, given what the scenario tells and how the acts were done. Not here: whose turn it is
//! and which reading is asked ([`crate::Specimen`]).
//!
//! It is a teaching model, made so that good work and poor work look different. No constant is measured. The direction
//! of an effect follows the trade where a source is named; its size is chosen.
//!
//! | constant | value | meaning | direction from |
//! |---|---|---|---|
//! | `FREES` | 6.5 | share of concrete still undisturbed after the least time of turning over: e^-6.5 | ASTM C173/C173M by a maker's manual of 01/2019, step 10: at least 45 s, until the concrete is free |
//! | `RELEASES` | 6.5 | share of air still held after the least time of rolling: e^-6.5 | the same, step 11; trade: rolled too briefly reads low |
//! | `STUCK_FROM` | 0.02 | from this share on, undisturbed concrete is seen and the aggregate is not heard | teaching value, chosen, no source |
//! | `DRIFT_GOOD` | 0.10 | divisions the level has still to go when it is first looked at | the same, step 13: the level settles |
//! | `DRIFT_SHORT` | 2.5 | divisions more of it for a specimen with no alcohol at all | teaching value, chosen, no source |
//! | `LEVEL_SETTLES_S` | 75 | seconds in which that falls to 1/e | teaching value, chosen, no source |
//! | `FOAM_FIRST` | 0.15 | divisions of foam that fade at once | teaching value, chosen, no source |
//! | `FOAM_FADES_S` | 20 | seconds in which they fall to 1/e | teaching value, chosen, no source |
//! | `FOAM_SHORT` | 24 | divisions of foam more for a specimen with no alcohol at all | ASTM C173/C173M-01e1, scope, and the manual, step 14: too much foam asks for more alcohol |
//! | `FOAM_STANDS_S` | 300 | seconds in which that falls to 1/e | teaching value, chosen, no source |
//! | `MOVES_IN` | 0.8 | share of the time between two readings in which what is told to change has changed | teaching value, chosen, no source |
//! | `HANG_LEAST` | 1.0 | marks a needle that was not tapped hangs off, at least | makers' and agencies' sheets: tap the gauge, or the needle sticks |
//! | `HANG_MORE` | 1.5 | marks more at the most | teaching value, chosen, no source |
//! | `HANG_FADES_S` | 1.6 | seconds in which it falls to 1/e while the gauge is being tapped | teaching value, chosen, no source |
//! | `TAP_LEAVES` | 0.25 | share of it that one more tap leaves | teaching value, chosen, no source |
//! | `COOLING` | 6.0 | marks too high after a wait of no length | maker's manual and WSDOT T 152: let it cool, or the line is set low |
//! | `COOLS` | 6.0 | share of that left after the least wait: e^-6 | teaching value, chosen, no source |
//! | `SOAKS` | 9.0 | share of the difference to the air left after the least soak: e^-9 | ASTM C1064 by an agency's sheet of 2014: 2 min at least, until it stands still |
//! | `APART_LEAST_C` | 6.0 | degrees Celsius between air and concrete, at least | teaching value, chosen, no source |
//! | `APART_MORE_C` | 8.0 | degrees Celsius more at the most | teaching value, chosen, no source |
//! | `QUICK_SINKS` | 0.30 | share by which a lift of no length adds to the slump | trade: a jerk shakes it down |
//! | `SLOW_HOLDS` | 0.25 | share by which a lift of twice the longest time takes from it | trade: a slow lift drags it up |
//! | `QUICK_SHEARS` | 600 | of 1,000 specimens that shear after a lift of no length | trade: a jerky or mistimed lift is a usual slip |
//! | `SLOW_SHEARS` | 250 | of 1,000 that shear after a lift of twice the longest time | teaching value, chosen, no source |
//! | `REST_LOW` | -15 | hundredths of a division the truth lies off its mark, at least | teaching value, chosen, no source |
//! | `REST_HIGH` | 30 | hundredths at the most | teaching value, chosen, no source |
//!
//! **Invariant:** with the least times of the procedure kept and the usual time of each step taken, what is shown lies
//! within half a division of what the scenario tells; and everything that leaves is a decimal, rounded two places finer
//! than the marks, so that platforms whose last bits differ show the same.

#![expect(
    clippy::float_arithmetic,
    reason = "a teaching model, no result of record: what leaves it is a rounded decimal"
)]

use quantity::{Decimal, Scale, Span, Unit};

use crate::chance::Chance;

/// Time constants of freeing in the least time of turning over.
pub const FREES: f64 = 6.5;
/// Time constants of releasing in the least time of rolling.
pub const RELEASES: f64 = 6.5;
/// The share of undisturbed concrete from which it is noticed.
pub const STUCK_FROM: f64 = 0.02;
/// What the level has still to go, in divisions, after good work.
pub const DRIFT_GOOD: f64 = 0.10;
/// What it has to go more without any alcohol, in divisions.
pub const DRIFT_SHORT: f64 = 2.5;
/// Seconds of its settling.
pub const LEVEL_SETTLES_S: f64 = 75.0;
/// Foam that fades at once, in divisions.
pub const FOAM_FIRST: f64 = 0.15;
/// Seconds of its fading.
pub const FOAM_FADES_S: f64 = 20.0;
/// Foam more without any alcohol, in divisions.
pub const FOAM_SHORT: f64 = 24.0;
/// Seconds of its fading.
pub const FOAM_STANDS_S: f64 = 300.0;
/// The share of the time between two readings in which a told change comes about.
pub const MOVES_IN: f64 = 0.8;
/// Marks a needle hangs off, at least.
pub const HANG_LEAST: f64 = 1.0;
/// Marks more, at the most.
pub const HANG_MORE: f64 = 1.5;
/// Seconds of its coming to rest.
pub const HANG_FADES_S: f64 = 1.6;
/// What one tap leaves of it.
pub const TAP_LEAVES: f64 = 0.25;
/// Marks too high without any wait for the air to cool.
pub const COOLING: f64 = 6.0;
/// Time constants of cooling in the least wait.
pub const COOLS: f64 = 6.0;
/// Time constants of a thermometer in the least soak.
pub const SOAKS: f64 = 9.0;
/// Degrees Celsius between air and concrete, at least.
pub const APART_LEAST_C: f64 = 6.0;
/// Degrees Celsius more, at the most.
pub const APART_MORE_C: f64 = 8.0;
/// Share of the slump a lift of no length adds.
pub const QUICK_SINKS: f64 = 0.30;
/// Share of the slump a lift of twice the longest time takes away.
pub const SLOW_HOLDS: f64 = 0.25;
/// Of 1,000 that shear after a lift of no length.
pub const QUICK_SHEARS: f64 = 600.0;
/// Of 1,000 that shear after a lift of twice the longest time.
pub const SLOW_SHEARS: f64 = 250.0;
/// Hundredths of a division the truth lies off its mark, at least.
pub const REST_LOW: i64 = -15;
/// Hundredths of a division it lies off, at the most.
pub const REST_HIGH: i64 = 30;

/// An act that lasted, beside the least time it is asked to last.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Held {
    /// How long it lasted.
    pub lasted: Span,
    /// The least time; nothing is judged by one of no length.
    pub least: Span,
}

/// How the concrete in a meter was worked on so far.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Agitation {
    /// Turning over and shaking, if the method has it.
    pub turned: Option<Vec<Held>>,
    /// Rolling, if the method has it.
    pub rolled: Option<Vec<Held>>,
}

/// A value that is told to change from one reading to the next.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// What it was at the reading before.
    pub from: Decimal,
    /// What it is told to be.
    pub to: Decimal,
    /// The time since the reading before.
    pub since: Span,
    /// The least time from reading to reading.
    pub every: Span,
}

impl Told {
    /// A value that does not change.
    pub fn still(at: Decimal) -> Self {
        Self { from: at, to: at, since: Span(0), every: Span(0) }
    }

    fn now(self) -> f64 {
        let all = seconds(self.every) * MOVES_IN;
        let share = if all > 0.0 { (seconds(self.since) / all).min(1.0) } else { 1.0 };
        number(self.from) + (number(self.to) - number(self.from)) * share
    }
}

/// How much of the alcohol the specimen needs was used.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Alcohol {
    /// What was poured in.
    pub used: Decimal,
    /// What the scenario tells.
    pub told: Decimal,
}

impl Alcohol {
    /// The share that is missing, 0 to 1.
    fn missing(self) -> f64 {
        let told = number(self.told);
        if told > 0.0 { (1.0 - number(self.used) / told).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// By how much more than enough thins the foam, 0 to 1.
    fn thins(self) -> f64 {
        let (used, told) = (number(self.used), number(self.told));
        if used > told && used > 0.0 { told / used } else { 1.0 }
    }
}

/// The share of the concrete nobody has loosened from the bowl, in ten thousandths.
pub fn undisturbed(agitation: &Agitation) -> u32 {
    (share_left(agitation.turned.as_deref(), FREES) * 10_000.0).round() as u32
}

/// Whether so much is undisturbed that it is seen in the bowl, and the aggregate is not heard to move.
pub fn is_stuck(agitation: &Agitation) -> bool {
    f64::from(undisturbed(agitation)) >= STUCK_FROM * 10_000.0
}

/// The level in the neck.
///
/// * `told`: the level when all air is out; `beyond`: what lies beyond the scale for want of cups, in its unit.
/// * `settling`: the time since the meter was set upright.
pub fn level(
    scale: &Scale,
    told: Told,
    beyond: Decimal,
    agitation: &Agitation,
    alcohol: Option<Alcohol>,
    settling: Span,
    rest: i64,
) -> Decimal {
    let step = number(scale.step);
    let free = 1.0 - share_left(agitation.turned.as_deref(), FREES);
    let released = 1.0 - share_left(agitation.rolled.as_deref(), RELEASES);
    let short = alcohol.map_or(0.0, Alcohol::missing);
    let to_go = (DRIFT_GOOD + DRIFT_SHORT * short) * step * fading(settling, LEVEL_SETTLES_S);
    let air = told.now() + number(beyond);
    within(scale, air * free * released - to_go + off_mark(rest) * step, number(beyond) > 0.0)
}

/// The foam above the level, in the unit of the neck.
pub fn foam(scale: &Scale, told: Told, alcohol: Option<Alcohol>, settling: Span, rest: i64) -> Decimal {
    let step = number(scale.step);
    let short = alcohol.map_or(0.0, Alcohol::missing);
    let more = FOAM_SHORT * short * fading(settling, FOAM_STANDS_S) + FOAM_FIRST * fading(settling, FOAM_FADES_S);
    let thins = alcohol.map_or(1.0, Alcohol::thins);
    within(scale, told.now() * thins + (more + off_mark(rest)) * step, false)
}

/// Where a needle stands.
///
/// * `cooled`: waits for the pumped air to cool, before; `tapping`: how long the gauge has been looked at and tapped,
///   nothing of it if the taps were left out; `taps`: how often it was tapped besides.
pub fn needle(
    scale: &Scale,
    told: Told,
    cooled: &[Held],
    tapping: Span,
    taps: u32,
    chance: &mut Chance,
    rest: i64,
) -> Decimal {
    let step = number(scale.step);
    let size = HANG_LEAST + HANG_MORE * per_mille(chance);
    let side = if chance.below(2) == 0 { 1.0 } else { -1.0 };
    let taps = i32::try_from(taps.min(50)).unwrap_or(50);
    let hangs = side * size * fading(tapping, HANG_FADES_S) * TAP_LEAVES.powi(taps);
    let warm = if cooled.is_empty() { 0.0 } else { COOLING * share_left(Some(cooled), COOLS) };
    within(scale, told.now() + (hangs + warm + off_mark(rest)) * step, false)
}

/// The top of a thermometer's column, or its display before it is rounded to a mark.
///
/// `soaking`: how long it has been in what it measures, beside the least soak; `None` where it hung there long before.
pub fn temperature(scale: &Scale, told: Told, soaking: Option<Held>, chance: &mut Chance, rest: i64) -> Decimal {
    let size = (APART_LEAST_C + APART_MORE_C * per_mille(chance)) * degree(scale.unit);
    let side = if chance.below(2) == 0 { 1.0 } else { -1.0 };
    let apart = soaking.map_or(0.0, |held| side * size * share_left(Some(&[held]), SOAKS));
    within(scale, told.now() + apart + off_mark(rest) * number(scale.step), false)
}

/// A lift beside its allowed times.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Lift {
    /// How long it took.
    pub lasted: Span,
    /// The least time.
    pub least: Span,
    /// The longest time.
    pub most: Span,
}

impl Lift {
    /// By how much it was too quick, as a share of the least time.
    fn too_quick(self) -> f64 {
        let least = seconds(self.least);
        if least > 0.0 { (1.0 - seconds(self.lasted) / least).max(0.0) } else { 0.0 }
    }

    /// By how much it was too slow, as a share of the longest time; 1 at the most.
    fn too_slow(self) -> f64 {
        let most = seconds(self.most);
        if most > 0.0 { (seconds(self.lasted) / most - 1.0).clamp(0.0, 1.0) } else { 0.0 }
    }
}

/// How far the top sank.
pub fn slump(scale: &Scale, told: Decimal, lift: Option<Lift>, rest: i64) -> Decimal {
    let changed = lift.map_or(0.0, |lift| QUICK_SINKS * lift.too_quick() - SLOW_HOLDS * lift.too_slow());
    within(scale, number(told) * (1.0 + changed) + off_mark(rest) * number(scale.step), false)
}

/// Of 1,000 specimens told to stand, so many shear after this lift.
pub fn shears_per_mille(lift: Lift) -> u64 {
    (QUICK_SHEARS * lift.too_quick() + SLOW_SHEARS * lift.too_slow()).round() as u64
}

/// How far off its mark the truth lies, in hundredths of a division.
pub fn rest(chance: &mut Chance) -> i64 {
    let wide = u64::try_from(REST_HIGH - REST_LOW + 1).unwrap_or(1);
    REST_LOW + i64::try_from(chance.below(wide)).unwrap_or(0)
}

/// The marks next to what is shown: the nearest, or both where it stands half way; none beyond the scale.
pub fn nearest_marks(scale: &Scale, at: Decimal) -> Vec<Decimal> {
    let half = scale.step / Decimal::TWO;
    if at > scale.max + half || at < scale.min - half {
        return Vec::new();
    }
    let at = at.clamp(scale.min, scale.max);
    let over = at % scale.step;
    let over = if over < Decimal::ZERO { over + scale.step } else { over };
    let below = at - over;
    match over.cmp(&half) {
        std::cmp::Ordering::Less => vec![below],
        std::cmp::Ordering::Equal => vec![below, below + scale.step],
        std::cmp::Ordering::Greater => vec![below + scale.step],
    }
}

// ------------------------------------------------------------------------------------------------ small things

/// e^-(constants × time held / least time), all holds together; 1 if there were none, 0 if the method has no such act.
fn share_left(held: Option<&[Held]>, constants: f64) -> f64 {
    let Some(held) = held else { return 0.0 };
    let all: f64 =
        held.iter().filter(|held| held.least.0 > 0).map(|held| seconds(held.lasted) / seconds(held.least)).sum();
    (-constants * all).exp()
}

fn fading(since: Span, constant_s: f64) -> f64 {
    (-seconds(since) / constant_s).exp()
}

fn per_mille(chance: &mut Chance) -> f64 {
    chance.below(1_001) as f64 / 1_000.0
}

fn off_mark(hundredths: i64) -> f64 {
    hundredths as f64 / 100.0
}

/// Degrees of this unit in a difference of one degree Celsius.
fn degree(unit: Unit) -> f64 {
    if unit.symbol() == "°F" { 1.8 } else { 1.0 }
}

/// Rounded, and kept on the scale unless it may lie beyond it.
fn within(scale: &Scale, value: f64, beyond: bool) -> Decimal {
    let shown = rounded(value, scale.places() + 2);
    if beyond { shown.max(scale.min) } else { shown.clamp(scale.min, scale.max) }
}

/// Rounded to so many decimals.
fn rounded(value: f64, places: u32) -> Decimal {
    let places = places.min(12);
    let shifted = (value * 10_f64.powi(places as i32)).round();
    // A cast of floats keeps to the ends of the integers, so nothing wraps.
    Decimal::new(shifted as i64, places)
}

fn number(value: Decimal) -> f64 {
    f64::try_from(value).unwrap_or(0.0)
}

fn seconds(span: Span) -> f64 {
    span.0 as f64 / 1_000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn neck() -> Scale {
        Scale::new(d("0.25"), d("0"), d("9"), Unit::parse("%").unwrap()).unwrap()
    }

    fn held(lasted: u64, least: u64) -> Held {
        Held { lasted: Span::from_secs(lasted), least: Span::from_secs(least) }
    }

    fn agitated(turned: u64, rolled: u64) -> Agitation {
        Agitation { turned: Some(vec![held(turned, 45)]), rolled: Some(vec![held(rolled, 60)]) }
    }

    #[test]
    fn the_constants_are_those_of_the_table() {
        let text = include_str!("model.rs");
        let table = text.lines().filter_map(|line| line.strip_prefix("//! | `")).collect::<Vec<_>>();
        for row in &table {
            let mut cells = row.split('|').map(str::trim);
            let name = cells.next().unwrap().trim_end_matches('`');
            let value: f64 = cells.next().unwrap().parse().unwrap();
            let code = text.lines().find_map(|line| line.strip_prefix(&format!("pub const {name}: "))).unwrap();
            let code: f64 = code.split_once("= ").unwrap().1.trim_end_matches(';').replace('_', "").parse().unwrap();
            assert_eq!(value, code, "{name}");
        }
        let constants = text.lines().filter(|line| line.starts_with("pub const ")).count();
        assert_eq!(table.len(), constants, "every constant is in the table");
    }

    #[test]
    fn poor_agitation_reads_low_by_this_much() {
        // (turned over for s, rolled for s, level shown of 6.00 %, concrete left in the bowl)
        let table = [
            (45, 60, "5.9820", false),
            (90, 120, "6.0000", false),
            (45, 30, "5.7587", false),
            (45, 15, "4.8113", false),
            (30, 60, "5.9124", false),
            (25, 60, "5.8291", true),
            (20, 60, "5.6577", true),
            (10, 60, "4.5778", true),
            (10, 15, "3.6819", true),
            (0, 60, "0.0000", true),
        ];
        let shown = table.map(|(turned, rolled, _, _)| {
            let agitation = agitated(turned, rolled);
            let still = Span::from_secs(3_600);
            let level = level(&neck(), Told::still(d("6")), Decimal::ZERO, &agitation, None, still, 0);
            (turned, rolled, level.to_string(), is_stuck(&agitation))
        });
        let expected = table.map(|(turned, rolled, level, stuck)| (turned, rolled, level.to_owned(), stuck));
        assert_eq!(shown, expected);
    }

    #[test]
    fn more_rolling_approaches_the_limit_and_never_passes_it() {
        let mut before = Decimal::MIN;
        for rolled in (0..=240).step_by(5) {
            let still = Span::from_secs(3_600);
            let now = level(&neck(), Told::still(d("6")), Decimal::ZERO, &agitated(90, rolled), None, still, 0);
            assert!(now >= before && now <= d("6"), "{rolled} s: {now} after {before}");
            before = now;
        }
        assert_eq!(before, d("6.0000"));
    }

    #[test]
    fn too_little_alcohol_foams_and_the_foam_fades() {
        // (alcohol used of 2.0 needed, minutes upright, foam shown where 0.50 is told)
        let table = [
            ("2.0", 0, "0.5375"),
            ("2.0", 2, "0.5001"),
            ("2.5", 2, "0.4001"),
            ("1.5", 0, "2.0375"),
            ("1.5", 2, "1.5056"),
            ("1.5", 4, "1.1740"),
            ("1.0", 0, "3.5375"),
            ("1.0", 2, "2.5111"),
            ("1.0", 6, "1.4036"),
        ];
        let shown = table.map(|(used, minutes, _)| {
            let alcohol = Alcohol { used: d(used), told: d("2.0") };
            let foam = foam(&neck(), Told::still(d("0.50")), Some(alcohol), Span::from_secs(minutes * 60), 0);
            (used, minutes, foam.to_string())
        });
        assert_eq!(shown, table.map(|(used, minutes, foam)| (used, minutes, foam.to_owned())));
    }

    #[test]
    fn with_too_little_alcohol_the_level_drifts_until_it_settles() {
        // (alcohol used of 2.0 needed, seconds upright, level shown where 6.00 is told)
        let table = [
            ("2.0", 0, "5.9570"),
            ("2.0", 120, "5.9769"),
            ("1.0", 0, "5.6445"),
            ("1.0", 120, "5.9138"),
            ("1.0", 360, "5.9792"),
        ];
        let shown = table.map(|(used, seconds, _)| {
            let alcohol = Some(Alcohol { used: d(used), told: d("2.0") });
            let told = Told::still(d("6"));
            let level = level(&neck(), told, Decimal::ZERO, &agitated(45, 60), alcohol, Span::from_secs(seconds), 0);
            (used, seconds, level.to_string())
        });
        assert_eq!(shown, table.map(|(used, seconds, level)| (used, seconds, level.to_owned())));
    }

    #[test]
    fn a_thermometer_read_early_lies_between_air_and_concrete() {
        let scale = Scale::new(d("0.1"), d("0"), d("150"), Unit::parse("°F").unwrap()).unwrap();
        let mut apart = Vec::new();
        for soaked in [0, 15, 30, 60, 90, 120] {
            let off = (0..200).map(|seed| {
                let mut chance = Chance::new(seed);
                let at = temperature(&scale, Told::still(d("75")), Some(held(soaked, 120)), &mut chance, 0);
                (at - d("75")).abs()
            });
            apart.push((soaked, off.clone().min().unwrap().to_string(), off.max().unwrap().to_string()));
        }
        let expected = [
            (0, "10.930", "25.171"),
            (15, "3.548", "8.172"),
            (30, "1.152", "2.653"),
            (60, "0.121", "0.280"),
            (90, "0.013", "0.029"),
            (120, "0.001", "0.003"),
        ];
        assert_eq!(apart, expected.map(|(soaked, low, high)| (soaked, low.to_owned(), high.to_owned())));
    }

    #[test]
    fn an_untapped_needle_hangs_and_taps_free_it() {
        let scale = Scale::new(d("0.1"), d("0"), d("25"), Unit::parse("%").unwrap()).unwrap();
        let off = |tapping: u64, taps: u32, cooled: u64| {
            let all = (0..200).map(|seed| {
                let mut chance = Chance::new(seed);
                let cooled = [held(cooled, 5)];
                let tapping = Span::from_secs(tapping);
                let at = needle(&scale, Told::still(d("6")), &cooled, tapping, taps, &mut chance, 0);
                (at - d("6")).abs()
            });
            (all.clone().min().unwrap().to_string(), all.max().unwrap().to_string())
        };
        let table = [
            ((0, 0, 5), ("0.100", "0.249")),
            ((0, 1, 5), ("0.024", "0.063")),
            ((0, 3, 5), ("0.000", "0.005")),
            ((2, 0, 5), ("0.028", "0.072")),
            ((8, 0, 5), ("0.000", "0.003")),
            ((8, 0, 1), ("0.179", "0.182")),
        ];
        let shown = table.map(|((tapping, taps, cooled), _)| ((tapping, taps, cooled), off(tapping, taps, cooled)));
        assert_eq!(shown, table.map(|(given, (low, high))| (given, (low.to_owned(), high.to_owned()))));
    }

    #[test]
    fn a_lift_out_of_time_changes_the_slump_and_shears_more_often() {
        let scale = Scale::new(d("5"), d("0"), d("300"), Unit::parse("mm").unwrap()).unwrap();
        // (lift in ms, slump shown of 100 mm, of 1,000 seeds so many shear)
        let table = [
            (0, "130.00", 611),
            (1_000, "120.00", 396),
            (2_000, "110.00", 184),
            (3_000, "100.00", 0),
            (5_000, "100.00", 0),
            (7_000, "100.00", 0),
            (10_000, "89.29", 105),
            (14_000, "75.00", 241),
        ];
        let shown = table.map(|(lasted, _, _)| {
            let lift = Lift { lasted: Span(lasted), least: Span(3_000), most: Span(7_000) };
            let slump = slump(&scale, d("100"), Some(lift), 0).to_string();
            let sheared =
                (0..1_000).filter(|seed| Chance::named(*seed, "shear/1").below(1_000) < shears_per_mille(lift));
            (lasted, slump, sheared.count())
        });
        assert_eq!(shown, table.map(|(lasted, slump, sheared)| (lasted, slump.to_owned(), sheared)));
    }

    #[test]
    fn with_the_least_times_kept_the_nearest_mark_is_what_is_told() {
        let marks = |scale: &Scale| {
            let n = u64::try_from((scale.max - scale.min) / scale.step).unwrap();
            let at = |n: u64| scale.min + Decimal::from(n) * scale.step;
            (0..=n).map(at).collect::<Vec<_>>()
        };
        let gauge = Scale::new(d("0.1"), d("0"), d("15"), Unit::parse("%").unwrap()).unwrap();
        let glass = Scale::new(d("0.5"), d("-10"), d("50"), Unit::parse("°C").unwrap()).unwrap();
        for rest in REST_LOW..=REST_HIGH {
            let enough = Some(Alcohol { used: d("1.0"), told: d("1.0") });
            for told in marks(&neck()) {
                let still = Told::still(told);
                let level = level(&neck(), still, Decimal::ZERO, &agitated(45, 60), enough, Span(0), rest);
                assert_eq!(nearest_marks(&neck(), level), [told], "level {level}");
                let foam = foam(&neck(), still, enough, Span(0), rest);
                assert_eq!(nearest_marks(&neck(), foam), [told], "foam {foam}");
            }
            for (seed, told) in (0..).zip(marks(&gauge)) {
                let tapped = Span::from_secs(6);
                let at = needle(&gauge, Told::still(told), &[held(5, 5)], tapped, 0, &mut Chance::new(seed), rest);
                assert_eq!(nearest_marks(&gauge, at), [told], "gauge {at}");
            }
            for (seed, told) in (0..).zip(marks(&glass)) {
                let soaked = Some(held(120, 120));
                let at = temperature(&glass, Told::still(told), soaked, &mut Chance::new(seed), rest);
                assert_eq!(nearest_marks(&glass, at), [told], "thermometer {at}");
            }
        }
    }

    #[test]
    fn half_way_between_two_marks_both_are_right() {
        let table: [(&str, &[&str]); 8] = [
            ("5.3749", &["5.25"]),
            ("5.3750", &["5.25", "5.50"]),
            ("5.3751", &["5.50"]),
            ("5.25", &["5.25"]),
            ("0", &["0"]),
            ("9.1", &["9"]),
            ("9.1250", &["9"]),
            ("9.13", &[]),
        ];
        for (at, marks) in table {
            let expected: Vec<Decimal> = marks.iter().map(|mark| d(mark)).collect();
            assert_eq!(nearest_marks(&neck(), d(at)), expected, "{at}");
        }
        let below_zero = Scale::new(d("0.5"), d("-10"), d("50"), Unit::parse("°C").unwrap()).unwrap();
        assert_eq!(nearest_marks(&below_zero, d("-3.2")), [d("-3.0")]);
        assert_eq!(nearest_marks(&below_zero, d("-3.25")), [d("-3.5"), d("-3.0")]);
    }
}

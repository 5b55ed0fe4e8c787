//! A result against the limit it has to keep.
//!
//! Here: rounding to the limit's own last place, the verdict with every number it rests on, and what a result outside
//! the limit leads to. Not here: how a limit is written ([`crate::written`]), who states it ([`crate::site`]).
//!
//! The rounding method of ASTM E29, as agency manuals restate it (its own text was not seen): the **unrounded** result,
//! not the reported one, is rounded **once**, to the last place of the limit as written, and then compared; equal
//! passes. A slump of 4 1/4 in is 4 in against "4 in" and conforms; it is 4.2 in (half to even) or 4.3 in (half up)
//! against "4.0 in" and does not (Iowa DOT Materials IM 202). Where a half goes is the site's rule. E29's other way, the
//! absolute method, compares without rounding; a site file may name it.
//!
//! **Invariant:** a verdict keeps the exact result, the limit as written and the rounded value it was judged by.

use std::cmp::Ordering;
use std::fmt;

use quantity::{Exact, Quantity, Ties, Unit};

use crate::site::{CheckTest, Limit, Site};
use crate::written::{Written, shown};

/// What a sample was taken for.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Purpose {
    /// To accept or reject the concrete.
    #[default]
    Acceptance,
    /// From the start of the discharge, to adjust the load. Its results accept and reject nothing.
    Preliminary,
}

impl Purpose {
    /// Its word in files and records: `acceptance`, `preliminary`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Acceptance => "acceptance",
            Self::Preliminary => "preliminary",
        }
    }
}

/// How a result is compared with a limit.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Default)]
pub enum Conformance {
    /// Rounded to the last place of the limit as written.
    #[default]
    Rounding,
    /// As it is.
    Absolute,
}

/// Where a result stands.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It keeps the limit.
    Within,
    /// It is lower than the lowest that conforms.
    Below,
    /// It is higher than the highest that conforms.
    Above,
}

/// A result judged by a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Where it stands.
    pub standing: Standing,
    /// The result as computed, unrounded.
    pub exact: Quantity,
    /// The bound that decided, or the nearer one of two that are kept.
    pub bound: Written,
    /// The result as it was compared with that bound: rounded to its last place, or exact by the absolute method.
    pub compared: Exact,
    /// The limit in the words of the site file.
    pub limit: String,
    /// How it was compared.
    pub conformance: Conformance,
    /// Where a half went.
    pub ties: Ties,
    /// What the sample was taken for.
    pub purpose: Purpose,
}

/// Why a result cannot be compared with a limit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Incomparable {
    /// The result is in one unit and the limit in another, and nothing converts: the site file is written for the
    /// other unit system, or for another method.
    #[error("the unit of the result is {}, that of the limit {}: nothing converts, so state the limit in the unit of the result",
        words(*.result),
        words(*.limit)
    )]
    Units {
        /// The unit of the result.
        result: Unit,
        /// The unit of the limit.
        limit: Unit,
    },
    /// The limit has neither a lower nor an upper bound.
    #[error("the limit has no bound")]
    NoBound,
}

fn words(unit: Unit) -> String {
    if unit == Unit::NONE { "a bare number".to_owned() } else { unit.symbol() }
}

/// Rounds to the last place a bound is written to, once.
///
/// ```
/// use bench::verdict::rounded_to_limit;
/// use quantity::Ties;
///
/// let slump = "4.25".parse().unwrap();
/// assert_eq!(rounded_to_limit(&slump, &"4 in".parse().unwrap(), Ties::Even).to_string(), "4");
/// assert_eq!(rounded_to_limit(&slump, &"4.0 in".parse().unwrap(), Ties::Even).to_string(), "4.2");
/// ```
pub fn rounded_to_limit(exact: &Exact, bound: &Written, ties: Ties) -> Exact {
    exact.rounded_to(&bound.place, ties)
}

/// Judges a result by a limit. `exact` is the result before any rounding for the report.
///
/// # Errors
///
/// [`Incomparable`] if they are in different units.
pub fn judge(
    exact: &Quantity,
    limit: &Limit,
    conformance: Conformance,
    ties: Ties,
    purpose: Purpose,
) -> Result<Verdict, Incomparable> {
    let beside = |bound: &Written| match conformance {
        Conformance::Rounding => rounded_to_limit(&exact.value, bound, ties),
        Conformance::Absolute => exact.value.clone(),
    };
    let mut nearest: Option<(Exact, &Written, Exact)> = None;
    let bounds =
        [(&limit.at_least, Ordering::Less, Standing::Below), (&limit.at_most, Ordering::Greater, Standing::Above)];
    let verdict = |standing, bound: &Written, compared| Verdict {
        standing,
        exact: exact.clone(),
        bound: bound.clone(),
        compared,
        limit: limit.as_written.clone(),
        conformance,
        ties,
        purpose,
    };
    for (bound, outside, standing) in bounds {
        let Some(bound) = bound else { continue };
        if bound.amount.unit != exact.unit {
            return Err(Incomparable::Units { result: exact.unit, limit: bound.amount.unit });
        }
        let compared = beside(bound);
        if compared.cmp(&bound.amount.value) == outside {
            return Ok(verdict(standing, bound, compared));
        }
        let distance = (&exact.value - &bound.amount.value).abs();
        if nearest.as_ref().is_none_or(|(nearest, ..)| distance < *nearest) {
            nearest = Some((distance, bound, compared));
        }
    }
    let (_, bound, compared) = nearest.ok_or(Incomparable::NoBound)?;
    Ok(verdict(Standing::Within, bound, compared))
}

impl Site {
    /// A result of a method by this site's limit and its rule for a half; `None` where the site states no limit.
    ///
    /// # Errors
    ///
    /// As [`judge`].
    pub fn verdict(
        &self,
        method: &str,
        result: &str,
        exact: &Quantity,
        purpose: Purpose,
    ) -> Option<Result<Verdict, Incomparable>> {
        let limit = self.limit(method, result)?;
        Some(judge(exact, limit, self.conformance, self.ties, purpose))
    }

    /// What follows from the results of a method on one sample; `None` where the site states no limit.
    ///
    /// # Errors
    ///
    /// As [`after_failure`].
    pub fn retest(
        &self,
        method: &str,
        result: &str,
        purpose: Purpose,
        results: &[Quantity],
    ) -> Option<Result<Retest, Incomparable>> {
        let limit = self.limit(method, result)?;
        Some(after_failure(limit, purpose, self.conformance, self.ties, results))
    }
}

impl Verdict {
    /// Whether the limit is kept.
    pub fn conforms(&self) -> bool {
        self.standing == Standing::Within
    }

    /// The result as it was compared, with its unit: "4.2 in".
    pub fn compared_text(&self) -> String {
        match self.conformance {
            Conformance::Rounding => shown(&self.compared, &self.bound.place, self.exact.unit),
            Conformance::Absolute => self.exact.to_string(),
        }
    }

    /// How it was rounded for the comparison, in words.
    pub fn rounding_text(&self) -> String {
        match self.conformance {
            Conformance::Absolute => "compared as it is, not rounded (absolute method)".to_owned(),
            Conformance::Rounding => format!(
                "{} rounded once to the nearest {}, the last place of \"{}\"; a half goes {}",
                self.exact,
                shown(&self.bound.place, &self.bound.place, self.exact.unit),
                self.bound,
                match self.ties {
                    Ties::Even => "to the even digit",
                    Ties::Up => "up",
                }
            ),
        }
    }
}

impl fmt::Display for Verdict {
    /// One sentence: "4.25 in is above the limit 3.0 in to 4.0 in: 4.2 in against 4.0 in".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { exact, limit, bound, purpose, .. } = self;
        let compared = self.compared_text();
        match self.standing {
            Standing::Within => write!(f, "{exact} keeps the limit {limit}: {compared} beside {bound}")?,
            Standing::Below => write!(f, "{exact} is below the limit {limit}: {compared} against {bound}")?,
            Standing::Above => write!(f, "{exact} is above the limit {limit}: {compared} against {bound}")?,
        }
        match purpose {
            Purpose::Acceptance => Ok(()),
            Purpose::Preliminary => f.write_str(" (preliminary sample: for adjusting, not acceptance)"),
        }
    }
}

/// What follows from the results of one test on one sample, by what the specification says about check tests.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Retest {
    /// Nothing was measured yet.
    NothingYet,
    /// The result keeps the limit, and that is that.
    NotNeeded(Verdict),
    /// Outside: the specification allows a check test on another portion of the same sample.
    Offer(Verdict),
    /// Outside: the specification asks for a second test and averages the two.
    OfferToAverage(Verdict),
    /// Outside, and the specification allows no check test.
    NotAllowed(Verdict),
    /// Outside, and the site file does not say what the specification allows: ask before the concrete is rejected.
    NotStated(Verdict),
    /// Outside, on a sample for adjusting: the load may be adjusted, and nothing is rejected by it.
    Adjust(Verdict),
    /// The check test keeps the limit: it decides.
    CheckTestKeeps(Verdict),
    /// The check test is outside as well: the concrete fails.
    CheckTestFails(Verdict),
    /// The average of the two decides.
    Averaged {
        /// The two results, unrounded, in the order they were made.
        of: [Quantity; 2],
        /// Their average by the limit.
        verdict: Verdict,
    },
}

/// What follows from the results of a test, the earlier ones first; every one unrounded and on the same sample.
///
/// | purpose     | check test in the site file | first result | second result | follows             |
/// |-------------|-----------------------------|--------------|---------------|---------------------|
/// | any         | any                         | none         |               | `NothingYet`        |
/// | any         | any                         | within       |               | `NotNeeded`         |
/// | preliminary | any                         | outside      |               | `Adjust`            |
/// | acceptance  | `false`                     | outside      |               | `NotAllowed`        |
/// | acceptance  | nothing said                | outside      |               | `NotStated`         |
/// | acceptance  | `true`                      | outside      | none          | `Offer`             |
/// | acceptance  | `true`                      | outside      | within        | `CheckTestKeeps`    |
/// | acceptance  | `true`                      | outside      | outside       | `CheckTestFails`    |
/// | acceptance  | `"average"`                 | outside      | none          | `OfferToAverage`    |
/// | acceptance  | `"average"`                 | outside      | any           | `Averaged`          |
///
/// One check test, not more: results after the second change nothing. On a preliminary sample the last result counts,
/// since the load is adjusted between them. Where nothing is said and a second result is there all the same, it is
/// treated as `true` would: the person overruled, and the record says both.
///
/// A check test on the same sample before rejection: ASTM C94 as trade articles and its 2021 revision item describe it;
/// averaging two: UFGS 03300A. Neither text was seen whole, so neither is a default here.
///
/// # Errors
///
/// [`Incomparable`] if a result and the limit are in different units.
pub fn after_failure(
    limit: &Limit,
    purpose: Purpose,
    conformance: Conformance,
    ties: Ties,
    results: &[Quantity],
) -> Result<Retest, Incomparable> {
    let judged = |exact: &Quantity| judge(exact, limit, conformance, ties, purpose);
    let Some(first) = results.first() else { return Ok(Retest::NothingYet) };
    if purpose == Purpose::Preliminary {
        let verdict = judged(results.last().unwrap_or(first))?;
        return Ok(if verdict.conforms() { Retest::NotNeeded(verdict) } else { Retest::Adjust(verdict) });
    }
    let verdict = judged(first)?;
    if verdict.conforms() {
        return Ok(Retest::NotNeeded(verdict));
    }
    let Some(second) = results.get(1) else {
        return Ok(match limit.check_test {
            CheckTest::Decides => Retest::Offer(verdict),
            CheckTest::Averages => Retest::OfferToAverage(verdict),
            CheckTest::None => Retest::NotAllowed(verdict),
            CheckTest::NotStated => Retest::NotStated(verdict),
        });
    };
    Ok(match limit.check_test {
        CheckTest::None => Retest::NotAllowed(verdict),
        CheckTest::Averages => {
            let sum = &first.value + &second.value;
            let half = sum.checked_div(&Exact::from_int(2)).unwrap_or(sum);
            let verdict = judged(&Quantity::new(half, second.unit))?;
            Retest::Averaged { of: [first.clone(), second.clone()], verdict }
        }
        CheckTest::Decides | CheckTest::NotStated => {
            let verdict = judged(second)?;
            if verdict.conforms() { Retest::CheckTestKeeps(verdict) } else { Retest::CheckTestFails(verdict) }
        }
    })
}

impl Retest {
    /// The verdict that stands now.
    pub fn verdict(&self) -> Option<&Verdict> {
        match self {
            Self::NothingYet => None,
            Self::NotNeeded(verdict)
            | Self::Offer(verdict)
            | Self::OfferToAverage(verdict)
            | Self::NotAllowed(verdict)
            | Self::NotStated(verdict)
            | Self::Adjust(verdict)
            | Self::CheckTestKeeps(verdict)
            | Self::CheckTestFails(verdict)
            | Self::Averaged { verdict, .. } => Some(verdict),
        }
    }

    /// Whether the bench should offer another test on the same sample.
    pub fn offers_another(&self) -> bool {
        matches!(self, Self::Offer(_) | Self::OfferToAverage(_))
    }

    /// What to do now, in one sentence; `None` where there is nothing to do.
    pub fn advice(&self) -> Option<&'static str> {
        Some(match self {
            Self::NothingYet | Self::NotNeeded(_) => return None,
            Self::Offer(_) => "Make a check test at once, on another portion of the same sample; its result decides.",
            Self::OfferToAverage(_) => "Make a second test on the same sample; the average of the two decides.",
            Self::NotAllowed(_) => "The specification allows no check test: say so to whoever decides about the load.",
            Self::NotStated(_) => {
                "The site file does not say whether a check test is allowed: ask before the load is rejected."
            }
            Self::Adjust(_) => "A preliminary sample: adjust the load, then sample again for acceptance.",
            Self::CheckTestKeeps(_) => "The check test keeps the limit, and it decides.",
            Self::CheckTestFails(_) => "The check test is outside as well: the concrete fails this limit.",
            Self::Averaged { verdict, .. } if verdict.conforms() => "The average of the two keeps the limit.",
            Self::Averaged { .. } => "The average of the two is outside: the concrete fails this limit.",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(at_least: Option<&str>, at_most: Option<&str>, check_test: CheckTest) -> Limit {
        let written = |text: Option<&str>| text.map(|text| text.parse::<Written>().unwrap());
        Limit {
            result: "slump".to_owned(),
            method: None,
            at_least: written(at_least),
            at_most: written(at_most),
            as_written: [at_least, at_most].into_iter().flatten().collect::<Vec<_>>().join(" to "),
            source: None,
            check_test,
        }
    }

    fn inches(text: &str) -> Quantity {
        format!("{text} in").parse().unwrap()
    }

    fn verdict(exact: &str, at_least: Option<&str>, at_most: Option<&str>, ties: Ties) -> Verdict {
        let limit = bounds(at_least, at_most, CheckTest::NotStated);
        judge(&inches(exact), &limit, Conformance::Rounding, ties, Purpose::Acceptance).unwrap()
    }

    #[test]
    fn a_result_is_rounded_to_the_last_place_of_the_limit_as_written() {
        use Standing::{Above, Below, Within};
        for (exact, least, most, ties, standing, compared) in [
            ("4.25", None, Some("4 in"), Ties::Even, Within, "4 in"),
            ("4.25", None, Some("4.0 in"), Ties::Even, Above, "4.2 in"),
            ("4.25", None, Some("4.0 in"), Ties::Up, Above, "4.3 in"),
            ("4.5", None, Some("4 in"), Ties::Even, Within, "4 in"),
            ("4.5", None, Some("4 in"), Ties::Up, Above, "5 in"),
            ("4.75", None, Some("4 1/2 in"), Ties::Even, Above, "5.0 in"),
            ("4.625", None, Some("4 1/2 in"), Ties::Even, Within, "4.5 in"),
            ("4.25", None, Some("4 1/4 in"), Ties::Even, Within, "4.25 in"),
            ("4.5", None, Some("4 1/4 in"), Ties::Even, Above, "4.50 in"),
            ("2.5", Some("3 in"), Some("5 in"), Ties::Even, Below, "2 in"),
            ("2.5", Some("3 in"), Some("5 in"), Ties::Up, Within, "3 in"),
            ("2.75", Some("3 in"), Some("5 in"), Ties::Even, Within, "3 in"),
            ("2.75", Some("3.0 in"), Some("5 in"), Ties::Even, Below, "2.8 in"),
            ("3", Some("3 in"), Some("5 in"), Ties::Even, Within, "3 in"),
            ("5", Some("3 in"), Some("5.0 in"), Ties::Even, Within, "5.0 in"),
        ] {
            let found = verdict(exact, least, most, ties);
            assert_eq!(found.standing, standing, "{exact} by {least:?} {most:?} {ties}");
            assert_eq!(found.compared_text(), compared, "{exact} by {least:?} {most:?} {ties}");
            assert_eq!(found.exact, inches(exact), "the exact result is kept");
        }
    }

    #[test]
    fn the_unrounded_result_is_compared_and_never_the_reported_one() {
        // Reported to the nearest 0.25 %, 6.1 % is 6.00 %; against "6 %" and "6.0 %" it is 6 and 6.1.
        let air: Quantity = "6.1 %".parse().unwrap();
        let limit = |most| bounds(None, Some(most), CheckTest::NotStated);
        let judged = |most| judge(&air, &limit(most), Conformance::Rounding, Ties::Even, Purpose::Acceptance).unwrap();
        assert!(judged("6 %").conforms());
        assert!(!judged("6.0 %").conforms());
        // Rounded twice, 5.46 would become 5.5 and then 6.
        assert!(verdict("5.46", None, Some("5 in"), Ties::Up).conforms());
    }

    #[test]
    fn the_absolute_method_rounds_nothing() {
        let limit = bounds(None, Some("4 in"), CheckTest::NotStated);
        let judged = |exact| judge(&inches(exact), &limit, Conformance::Absolute, Ties::Even, Purpose::Acceptance);
        assert!(judged("4").unwrap().conforms());
        let above = judged("4.25").unwrap();
        assert_eq!(above.to_string(), "4.25 in is above the limit 4 in: 4.25 in against 4 in");
        assert_eq!(above.rounding_text(), "compared as it is, not rounded (absolute method)");
    }

    #[test]
    fn a_verdict_says_both_numbers_and_the_limit() {
        let above = verdict("4.25", Some("3.0 in"), Some("4.0 in"), Ties::Even);
        assert_eq!(above.to_string(), "4.25 in is above the limit 3.0 in to 4.0 in: 4.2 in against 4.0 in");
        assert_eq!(
            above.rounding_text(),
            "4.25 in rounded once to the nearest 0.1 in, the last place of \"4.0 in\"; a half goes to the even digit"
        );
        let within = verdict("3.25", Some("3 in"), Some("5 in"), Ties::Up);
        assert_eq!(within.to_string(), "3.25 in keeps the limit 3 in to 5 in: 3 in beside 3 in");
        let limit = bounds(Some("3 in"), None, CheckTest::Decides);
        let low = judge(&inches("2"), &limit, Conformance::Rounding, Ties::Even, Purpose::Preliminary).unwrap();
        assert_eq!(
            low.to_string(),
            "2 in is below the limit 3 in: 2 in against 3 in (preliminary sample: for adjusting, not acceptance)"
        );
    }

    #[test]
    fn nothing_converts() {
        let limit = bounds(None, Some("100 mm"), CheckTest::NotStated);
        let refused = judge(&inches("4"), &limit, Conformance::Rounding, Ties::Even, Purpose::Acceptance).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "the unit of the result is in, that of the limit mm: nothing converts, so state the limit in the unit of the result"
        );
    }

    #[test]
    fn what_follows_a_result_outside_the_limit_is_what_the_specification_says() {
        let name = |retest: &Retest| {
            let shown = format!("{retest:?}");
            shown.split(['(', ' ', '{']).next().unwrap().to_owned()
        };
        use CheckTest::{Averages, Decides, NotStated};
        use Purpose::{Acceptance, Preliminary};
        let rows: [(Purpose, CheckTest, &[&str], &str, bool); 16] = [
            (Acceptance, Decides, &[], "NothingYet", false),
            (Acceptance, Decides, &["4"], "NotNeeded", true),
            (Acceptance, Decides, &["6"], "Offer", false),
            (Acceptance, Decides, &["6", "5"], "CheckTestKeeps", true),
            (Acceptance, Decides, &["6", "7"], "CheckTestFails", false),
            (Acceptance, Decides, &["6", "7", "4"], "CheckTestFails", false),
            (Acceptance, Averages, &["6"], "OfferToAverage", false),
            (Acceptance, Averages, &["6", "4"], "Averaged", true),
            (Acceptance, Averages, &["7", "4"], "Averaged", false),
            (Acceptance, CheckTest::None, &["6"], "NotAllowed", false),
            (Acceptance, CheckTest::None, &["6", "4"], "NotAllowed", false),
            (Acceptance, NotStated, &["6"], "NotStated", false),
            (Acceptance, NotStated, &["6", "4"], "CheckTestKeeps", true),
            (Preliminary, Decides, &["6"], "Adjust", false),
            (Preliminary, Decides, &["6", "4"], "NotNeeded", true),
            (Preliminary, Averages, &["2", "7"], "Adjust", false),
        ];
        for (purpose, check_test, results, follows, conforms) in rows {
            let limit = bounds(Some("3 in"), Some("5.0 in"), check_test);
            let exact: Vec<Quantity> = results.iter().map(|text| inches(text)).collect();
            let retest = after_failure(&limit, purpose, Conformance::Rounding, Ties::Even, &exact).unwrap();
            assert_eq!(name(&retest), follows, "{purpose:?} {check_test:?} {results:?}");
            assert_eq!(
                retest.verdict().is_some_and(Verdict::conforms),
                conforms,
                "{purpose:?} {check_test:?} {results:?}"
            );
            assert_eq!(retest.offers_another(), follows.starts_with("Offer"));
            let quiet = matches!(follows, "NothingYet" | "NotNeeded");
            assert_eq!(retest.advice().is_none(), quiet, "{follows}");
        }
    }

    #[test]
    fn an_average_is_exact_before_it_is_compared() {
        // (6 + 4 1/4) / 2 = 5.125: within "5 in", above "5.0 in".
        let results = [inches("6"), inches("4.25")];
        for (most, conforms) in [("5 in", true), ("5.0 in", false)] {
            let limit = bounds(None, Some(most), CheckTest::Averages);
            let retest =
                after_failure(&limit, Purpose::Acceptance, Conformance::Rounding, Ties::Even, &results).unwrap();
            let Retest::Averaged { verdict, of } = retest else { panic!("{retest:?}") };
            assert_eq!(verdict.exact, inches("5.125"));
            assert_eq!(verdict.conforms(), conforms);
            assert_eq!(of[0], inches("6"));
        }
    }
}

//! What the results on the bench mean for the job: each beside its limit, and the check test a failure calls for.
//!
//! Here: which results are compared, which two belong together, the words. Not here: how a result is compared
//! ([`crate::verdict`]).
//!
//! **Invariant:** a result, its limit and the verdict are said together, and the words carry the verdict alone, without
//! any colour.

use std::fmt::Write as _;

use engine::Tick;
use procedure::Edition;
use quantity::Quantity;

use super::{Seat, WindowState, pool, windows};
use crate::fact::{Fact, Facts};
use crate::site::Site;
use crate::verdict::{Incomparable, Purpose, Retest, Standing, Verdict};

/// The name under which procedures share what a sample is for.
const SAMPLE_PURPOSE: &str = "sample-purpose";

/// What a test is for on its bench.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Role {
    /// Its results are for adjusting the load, and accept nothing.
    pub is_preliminary: bool,
    /// It checks the result of the test with this name.
    pub check_of: Option<String>,
}

/// A result beside its limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Judged {
    /// Whose: the place of the test on the bench.
    pub run: usize,
    /// The id of the result.
    pub result: String,
    /// What the result is called.
    pub title: String,
    /// The result as reported, with its unit.
    pub reported: String,
    /// The limit in the words of the site file.
    pub limit: String,
    /// The result by the limit, or why the two cannot be compared.
    pub verdict: Result<Verdict, Incomparable>,
    /// What follows; of a check test, from it and the test it checks together.
    pub retest: Option<Retest>,
    /// Whether it is a check test.
    pub is_check: bool,
    /// Whether a check test is called for, and there is none on the bench yet.
    pub wants_check: bool,
}

impl Judged {
    /// Where it stands, in one word: `within`, `above`, `below`, `not-compared`.
    pub fn word(&self) -> &'static str {
        match self.verdict.as_ref().map(|verdict| verdict.standing) {
            Ok(Standing::Within) => "within",
            Ok(Standing::Above) => "above",
            Ok(Standing::Below) => "below",
            Err(_) => "not-compared",
        }
    }

    /// Whether it keeps its limit.
    pub fn conforms(&self) -> bool {
        self.verdict.as_ref().is_ok_and(Verdict::conforms)
    }

    /// Result, verdict and limit: "4.25 in within 3 in to 5 in, compared as 4 in".
    pub fn words(&self) -> String {
        let Self { reported, limit, .. } = self;
        match &self.verdict {
            Ok(verdict) => compared(reported, verdict, limit),
            Err(why) => format!("{reported} NOT COMPARED with {limit}: {why}"),
        }
    }

    /// What follows, in a sentence or two; `None` where nothing does.
    pub fn follows(&self) -> Option<String> {
        let retest = self.retest.as_ref()?;
        let advice = retest.advice()?;
        Some(match retest {
            Retest::Averaged { of: [first, second], verdict } => {
                let average = compared(&verdict.exact.to_string(), verdict, &self.limit);
                format!("Average of {first} and {second}: {average}. {advice}")
            }
            _ => advice.to_owned(),
        })
    }
}

fn compared(value: &str, verdict: &Verdict, limit: &str) -> String {
    let standing = match verdict.standing {
        Standing::Within => "within",
        Standing::Above => "ABOVE",
        Standing::Below => "BELOW",
    };
    let mut words = format!("{value} {standing} {limit}");
    let compared = verdict.compared_text();
    if compared != value {
        // Writing to memory cannot fail.
        let _ = write!(words, ", compared as {compared}");
    }
    if verdict.purpose == Purpose::Preliminary {
        words.push_str(" (for adjusting, not acceptance)");
    }
    words
}

/// Every result there is beside the limit the site states for it, in the order of the seats. `roles` are those of the
/// seats; a seat without one decides about the concrete.
pub fn judged(seats: &[Seat<'_>], roles: &[Role], site: &Site, facts: &Facts) -> Vec<Judged> {
    let is_preliminary = match pool(seats, facts, None).get(SAMPLE_PURPOSE) {
        Some(Fact::Choice(answer)) => answer == Purpose::Preliminary.word(),
        _ => site.purpose == Some(Purpose::Preliminary),
    };
    let checked = |n: usize| {
        let name = roles.get(n)?.check_of.as_deref()?;
        seats.iter().position(|seat| seat.name == name)
    };
    let mut all = Vec::new();
    for (n, seat) in seats.iter().enumerate() {
        let Some(run) = seat.run else { continue };
        let is_preliminary = is_preliminary || roles.get(n).is_some_and(|role| role.is_preliminary);
        let purpose = if is_preliminary { Purpose::Preliminary } else { Purpose::Acceptance };
        for outcome in run.standing_results() {
            let method = seat.edition.id.as_str();
            let Some(limit) = site.limit(method, outcome.id) else { continue };
            let exact = Quantity::new(outcome.reported.exact.clone(), outcome.reported.unit);
            let Some(verdict) = site.verdict(method, outcome.id, &exact, purpose) else { continue };
            let of = checked(n);
            let first = of.and_then(|of| exact_result(seats, of, outcome.id));
            let results: Vec<Quantity> = first.into_iter().chain([exact]).collect();
            let retest = site.retest(method, outcome.id, purpose, &results).and_then(Result::ok);
            let has_check = || (0..seats.len()).any(|other| checked(other) == Some(n));
            all.push(Judged {
                run: n,
                result: outcome.id.to_owned(),
                title: outcome.title.to_owned(),
                reported: outcome.reported.to_string(),
                limit: limit.as_written.clone(),
                verdict,
                wants_check: of.is_none() && retest.as_ref().is_some_and(Retest::offers_another) && !has_check(),
                retest,
                is_check: of.is_some(),
            });
        }
    }
    all
}

fn exact_result(seats: &[Seat<'_>], n: usize, result: &str) -> Option<Quantity> {
    let outcomes = seats.get(n)?.run?.standing_results();
    let outcome = outcomes.into_iter().find(|outcome| outcome.id == result)?;
    Some(Quantity::new(outcome.reported.exact.clone(), outcome.reported.unit))
}

/// Whether a check test of run `n` can be added.
///
/// # Errors
///
/// Why not, in a sentence: what its results lead to instead.
pub fn may_check(all: &[Judged], seats: &[Seat<'_>], roles: &[Role], n: usize) -> Result<(), String> {
    let name = seats.get(n).map_or("", |seat| seat.name);
    if let Some(other) = roles.iter().position(|role| role.check_of.as_deref() == Some(name)) {
        let check = seats.get(other).map_or("", |seat| seat.name);
        return Err(format!("“{check}” is the check test of {name} already; one is made, not more."));
    }
    if let Some(of) = roles.get(n).and_then(|role| role.check_of.as_deref()) {
        return Err(format!("“{name}” is itself the check test of {of}."));
    }
    let own = || all.iter().filter(|judged| judged.run == n);
    // Where the site file is silent the person has asked, and was told that it is allowed.
    let allows = |judged: &Judged| matches!(judged.retest, Some(Retest::NotStated(_))) || judged.wants_check;
    if own().any(allows) {
        return Ok(());
    }
    let failed = own().find(|judged| !judged.conforms());
    Err(match (failed, own().next()) {
        (Some(failed), _) => failed.follows().unwrap_or_else(|| failed.words()),
        (None, Some(kept)) => format!("{name} keeps its limit, so no check test is called for: {}.", kept.words()),
        (None, None) => format!("{name} has no result with a limit, so no check test is called for."),
    })
}

/// What a check test of the test called `of` is called: its name with the first number that is free.
pub fn check_name<'n>(of: &str, taken: impl Iterator<Item = &'n str> + Clone) -> String {
    let digits = |end: &str| !end.is_empty() && end.bytes().all(|byte| byte.is_ascii_digit());
    let stem = of.rsplit_once('-').filter(|(_, end)| digits(end)).map_or(of, |(stem, _)| stem);
    let numbered = (2_u32..).map(|n| format!("{stem}-{n}"));
    let is_free = |name: &String| taken.clone().all(|taken| taken != name);
    numbered.into_iter().find(is_free).unwrap_or_else(|| of.to_owned())
}

/// Why a test by `edition` can no longer be begun on this sample: a limit that counts from a moment of the sample is
/// over. `None` as long as every one is open.
pub fn too_late_for(seats: &[Seat<'_>], edition: &Edition, now: Tick) -> Option<String> {
    let mut with: Vec<Seat<'_>> = seats.to_vec();
    with.push(Seat { name: "", edition, run: None });
    let new = with.len() - 1;
    windows(&with, now).into_iter().find_map(|window| match window.state {
        WindowState::Missed { due } if window.run == new && window.from_sample => Some(format!(
            "{} within {}, and that was over {} ago",
            window.title,
            window.at_most,
            quantity::Span(now.since(due).0 / 1_000 * 1_000)
        )),
        _ => None,
    })
}

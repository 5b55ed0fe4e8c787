//! A check test on the sheet: whose it is, what the two results together mean, and their average where it decides.
//!
//! Not here: comparing anything; the bench said the same at the moment of the result.
//!
//! **Invariant:** both results stand on the sheet, each with its own verdict, whichever decides.

use bench::fact::Facts;
use bench::live::{Judged, Role, Seat, judged};
use bench::verdict::{Purpose, Retest, Standing, Verdict};
use sheet::Measured;

use super::{Source, exact_text};

/// The row of a result with what its check test means; behind it their average, where the specification averages.
pub(super) fn rows(source: &Source<'_>, member: &str, result: &str, row: sheet::TestResult) -> Vec<sheet::TestResult> {
    let Some(own) = judged_of(source, member, result) else { return vec![row] };
    let check_of = source.members.iter().find(|other| other.name == member).and_then(|member| member.check_of);
    let Some(of) = check_of else {
        let note = if own.wants_check { joined(&row.note, "no check test was made") } else { row.note };
        return vec![sheet::TestResult { note, ..row }];
    };
    let average = match &own.retest {
        Some(Retest::Averaged { of: [first, second], verdict }) => Some(sheet::TestResult {
            name: format!("{}, average of two", row.name),
            value: Some(Measured::new(
                verdict.compared.show_short().trim_start_matches("≈ "),
                verdict.exact.unit.to_string(),
            )),
            exact: exact_text(&verdict.exact.value, verdict.exact.unit),
            rounding: String::new(),
            verdict: standing(verdict),
            terms: Vec::new(),
            note: format!("average of {first} and {second}, compared as {}; it decides", verdict.compared_text()),
            ..row.clone()
        }),
        _ => None,
    };
    let mut note = joined(&row.note, &format!("check test of {of}"));
    if let (None, Some(follows)) = (&average, own.follows()) {
        note = format!("{note}. {}", follows.trim_end_matches('.'));
    }
    std::iter::once(sheet::TestResult { note, ..row }).chain(average).collect()
}

fn joined(before: &str, more: &str) -> String {
    if before.is_empty() { more.to_owned() } else { format!("{before}; {more}") }
}

fn standing(verdict: &Verdict) -> sheet::Verdict {
    match (verdict.purpose, verdict.standing) {
        (Purpose::Preliminary, _) => sheet::Verdict::NotAcceptance,
        (_, Standing::Within) => sheet::Verdict::Within,
        (_, Standing::Below) => sheet::Verdict::Below,
        (_, Standing::Above) => sheet::Verdict::Above,
    }
}

fn judged_of(source: &Source<'_>, member: &str, result: &str) -> Option<Judged> {
    let site = source.site?;
    let seats: Vec<Seat<'_>> = source
        .members
        .iter()
        .map(|member| Seat { name: member.name, edition: member.edition, run: member.run() })
        .collect();
    let roles: Vec<Role> = source
        .members
        .iter()
        .map(|member| Role {
            is_preliminary: member.purpose == Purpose::Preliminary,
            check_of: member.check_of.map(str::to_owned),
        })
        .collect();
    let all = judged(&seats, &roles, site, &Facts::new());
    all.into_iter().find(|judged| seats[judged.run].name == member && judged.result == result)
}

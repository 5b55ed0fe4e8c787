//! Certifications and calibrations on a day: what still holds, what is over, what nobody has written down.
//!
//! Here: the standing of a paper on a date, and the sentence that is said before the first act. Not here: which day it
//! is, and who tests with what; both are told.
//!
//! **Invariant:** a paper holds through its last day. One without a date is unknown, never valid.

use crate::calendar::Date;
use crate::site::{Apparatus, Site, Technician};

/// So many days before its end a paper is said to be near it. Ours: time enough to send a meter away; no source.
pub const NEAR_DAYS: i64 = 30;

/// Where a paper stands on a day.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It holds; so many days are left after this one.
    Valid {
        /// At least 1.
        days_left: i64,
    },
    /// This is its last day.
    DueToday,
    /// It is over.
    Overdue {
        /// Since so many days, at least 1.
        days: i64,
    },
    /// The site file gives no date, or does not know the person or the apparatus.
    Unknown,
}

impl Standing {
    /// The standing on a day of a paper whose last day is `last`.
    pub fn on(day: Date, last: Option<Date>) -> Self {
        match last.map(|last| day.days_until(last)) {
            None => Self::Unknown,
            Some(0) => Self::DueToday,
            Some(days_left @ 1..) => Self::Valid { days_left },
            Some(days) => Self::Overdue { days: days.saturating_neg() },
        }
    }

    /// Whether it holds on that day; `None` if nobody knows.
    pub fn holds(self) -> Option<bool> {
        match self {
            Self::Valid { .. } | Self::DueToday => Some(true),
            Self::Overdue { .. } => Some(false),
            Self::Unknown => None,
        }
    }

    /// Whether it holds and its end is near.
    pub fn is_near(self) -> bool {
        match self {
            Self::Valid { days_left } => days_left <= NEAR_DAYS,
            Self::DueToday => true,
            Self::Overdue { .. } | Self::Unknown => false,
        }
    }
}

/// What a paper is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Of {
    /// A person's certification.
    Technician {
        /// The person.
        name: String,
    },
    /// The calibration of a piece of apparatus.
    Apparatus {
        /// Its kind, such as `volumetric-meter`.
        kind: String,
        /// Its number or mark.
        id: String,
    },
}

/// A certification or a calibration on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paper {
    /// Whose or what's.
    pub of: Of,
    /// Its last day.
    pub last: Option<Date>,
    /// The certificate or calibration record.
    pub record: Option<String>,
    /// Where it stands.
    pub standing: Standing,
}

/// How grave a sentence is.
#[derive(Copy, Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// A finding: said before the first act, and kept on the report.
    Finding,
    /// A remark.
    Remark,
}

impl Paper {
    /// A person's certification.
    pub fn of_technician(technician: &Technician, day: Date) -> Self {
        Self {
            of: Of::Technician { name: technician.name.clone() },
            last: technician.expires,
            record: technician.certificate.clone(),
            standing: Standing::on(day, technician.expires),
        }
    }

    /// The calibration of a piece of apparatus.
    pub fn of_apparatus(apparatus: &Apparatus, day: Date) -> Self {
        Self {
            of: Of::Apparatus { kind: apparatus.kind.clone(), id: apparatus.id.clone() },
            last: apparatus.due,
            record: apparatus.record.clone(),
            standing: Standing::on(day, apparatus.due),
        }
    }

    /// What has to be said about it, and how gravely; `None` if it holds and its end is not near.
    pub fn said(&self) -> Option<(Weight, String)> {
        let (whose, thing) = match &self.of {
            Of::Technician { name } => (name.clone(), "certification"),
            Of::Apparatus { kind, id } => (format!("{} {id}", kind.replace('-', " ")), "calibration"),
        };
        let last = self.last.map(|last| last.to_string()).unwrap_or_default();
        Some(match self.standing {
            Standing::Overdue { days } => {
                let ended = match self.of {
                    Of::Technician { .. } => "expired",
                    Of::Apparatus { .. } => "was due",
                };
                (Weight::Finding, format!("{whose}: the {thing} {ended} on {last}, {} ago", counted(days)))
            }
            Standing::DueToday => (Weight::Remark, format!("{whose}: today, {last}, is the last day of the {thing}")),
            Standing::Valid { days_left } if days_left <= NEAR_DAYS => {
                (Weight::Remark, format!("{whose}: the {thing} holds until {last}, {} more", counted(days_left)))
            }
            Standing::Valid { .. } => return None,
            Standing::Unknown => (
                Weight::Remark,
                format!("{whose}: the site file gives no date for the {thing}, so nobody knows whether it holds"),
            ),
        })
    }
}

fn counted(days: i64) -> String {
    if days == 1 { "1 day".to_owned() } else { format!("{days} days") }
}

/// Everybody and everything that works on a sample, by name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Used {
    /// The technicians.
    pub technicians: Vec<String>,
    /// Kind and mark of every piece of apparatus.
    pub apparatus: Vec<(String, String)>,
}

/// The papers of everybody and everything used, on a day. Whoever the site file does not name has an unknown paper.
pub fn papers_of(site: &Site, used: &Used, day: Date) -> Vec<Paper> {
    let unknown = |of| Paper { of, last: None, record: None, standing: Standing::Unknown };
    let technicians = used.technicians.iter().map(|name| match site.technician(name) {
        Some(technician) => Paper::of_technician(technician, day),
        None => unknown(Of::Technician { name: name.clone() }),
    });
    let apparatus = used.apparatus.iter().map(|(kind, id)| match site.apparatus(kind, id) {
        Some(apparatus) => Paper::of_apparatus(apparatus, day),
        None => unknown(Of::Apparatus { kind: kind.clone(), id: id.clone() }),
    });
    technicians.chain(apparatus).collect()
}

/// The papers of everybody and everything the site file names, on a day.
pub fn papers(site: &Site, day: Date) -> Vec<Paper> {
    let technicians = site.technicians.iter().map(|technician| Paper::of_technician(technician, day));
    technicians.chain(site.apparatus.iter().map(|apparatus| Paper::of_apparatus(apparatus, day))).collect()
}

/// What is said before the first act: findings first, each group in the order given.
pub fn before_the_first_act(papers: &[Paper]) -> Vec<(Weight, String)> {
    let mut said: Vec<_> = papers.iter().filter_map(Paper::said).collect();
    said.sort_by_key(|(weight, _)| *weight);
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn a_paper_holds_through_its_last_day_and_not_a_day_longer() {
        let last = Some(date("2026-05-14"));
        for (day, standing, holds, near) in [
            ("2026-04-13", Standing::Valid { days_left: 31 }, Some(true), false),
            ("2026-04-14", Standing::Valid { days_left: 30 }, Some(true), true),
            ("2026-05-13", Standing::Valid { days_left: 1 }, Some(true), true),
            ("2026-05-14", Standing::DueToday, Some(true), true),
            ("2026-05-15", Standing::Overdue { days: 1 }, Some(false), false),
            ("2027-05-14", Standing::Overdue { days: 365 }, Some(false), false),
        ] {
            let found = Standing::on(date(day), last);
            assert_eq!((found, found.holds(), found.is_near()), (standing, holds, near), "{day}");
        }
        let unknown = Standing::on(date("2026-05-14"), None);
        assert_eq!((unknown, unknown.holds(), unknown.is_near()), (Standing::Unknown, None, false));
    }

    #[test]
    fn what_is_over_is_said_first_and_as_a_finding() {
        let meter = |id: &str, due: Option<&str>| Apparatus {
            kind: "volumetric-meter".to_owned(),
            id: id.to_owned(),
            due: due.map(date),
            volume: None,
            cup: None,
            record: None,
        };
        let person = Technician {
            name: "R. Okafor-Lind".to_owned(),
            certificate: Some("FT-2214".to_owned()),
            expires: Some(date("2026-05-13")),
        };
        let day = date("2026-05-14");
        let papers: Vec<Paper> =
            [meter("V-1", Some("2026-05-30")), meter("V-2", None), meter("V-3", Some("2027-01-01"))]
                .iter()
                .map(|meter| Paper::of_apparatus(meter, day))
                .chain([
                    Paper::of_technician(&person, day),
                    Paper::of_apparatus(&meter("V-4", Some("2026-05-14")), day),
                ])
                .collect();
        let said: Vec<String> =
            before_the_first_act(&papers).into_iter().map(|(weight, text)| format!("{weight:?} {text}")).collect();
        assert_eq!(
            said,
            [
                "Finding R. Okafor-Lind: the certification expired on 2026-05-13, 1 day ago",
                "Remark volumetric meter V-1: the calibration holds until 2026-05-30, 16 days more",
                "Remark volumetric meter V-2: the site file gives no date for the calibration, so nobody knows whether it holds",
                "Remark volumetric meter V-4: today, 2026-05-14, is the last day of the calibration",
            ]
        );
    }
}

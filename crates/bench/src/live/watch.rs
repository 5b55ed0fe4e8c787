//! What is said once when it becomes true: a verdict, a paper that does not hold, something told that no longer stands.
//!
//! Here: noticing it by looking at the runs after every act. Not here: the words of a verdict (`results`), of a paper
//! ([`crate::papers`]); where it is said.
//!
//! **Invariant:** looking changes no run. What stood already when the bench was taken up again is not said again, but for
//! the papers, which are said before the first act.

use std::collections::{BTreeMap, BTreeSet};

use engine::{Run, Tick};

use super::results::{Judged, Role, judged};
use super::{Seat, marked, tell};
use crate::calendar::Date;
use crate::fact::{Fact, Facts};
use crate::papers::{self, Standing, Used, Weight, papers_of};
use crate::site::Site;

/// The name under which procedures share who tests.
const TECHNICIAN: &str = "technician";
/// What stands behind the shared name of an apparatus for the answer whether it is in date.
const IN_DATE: &str = "-in-date";

/// Something new about a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Said {
    /// A result beside its limit.
    Verdict(Box<Judged>),
    /// The paper of somebody or something named in a run.
    Paper {
        /// The place of the run on the bench.
        run: usize,
        /// How grave.
        weight: Weight,
        /// In words.
        text: String,
    },
    /// A run was told something that no longer stands where it came from.
    Stale {
        /// The place of the run that was told.
        run: usize,
        /// In words.
        text: String,
    },
}

impl Said {
    /// The place of the run it is about.
    pub fn run(&self) -> usize {
        match self {
            Self::Verdict(judged) => judged.run,
            Self::Paper { run, .. } | Self::Stale { run, .. } => *run,
        }
    }
}

/// Looks at a bench and says what is new.
#[derive(Clone, Debug, Default)]
pub struct Watch {
    site: Option<Site>,
    day: Option<Date>,
    judged: Vec<Judged>,
    /// By run and result, what was said.
    verdicts: BTreeMap<(usize, String), String>,
    named: BTreeSet<(usize, String, String)>,
    /// What each run has stated, and since when; what was taken back stays until it is stated anew.
    stated: Vec<BTreeMap<String, (Fact, Tick)>>,
    /// Moments that runs count from and nobody marks any more.
    unmarked: BTreeSet<(usize, u16)>,
}

impl Watch {
    /// A watch over a bench with this site file, on this day.
    pub fn new(site: Option<Site>, day: Option<Date>) -> Self {
        Self { site, day, ..Self::default() }
    }

    /// Every result beside its limit, as at the last look.
    pub fn judged(&self) -> &[Judged] {
        &self.judged
    }

    /// Those of one run.
    pub fn judged_of(&self, run: usize) -> impl Iterator<Item = &Judged> {
        self.judged.iter().filter(move |judged| judged.run == run)
    }

    /// The papers of the site's technicians, and of the apparatus the tests on the bench ask for: said before the first
    /// act, findings first.
    pub fn papers(&self, seats: &[Seat<'_>]) -> Vec<(Weight, String)> {
        let (Some(site), Some(day)) = (&self.site, self.day) else { return Vec::new() };
        let is_asked = |kind: &str| {
            seats.iter().any(|seat| seat.edition.readings.iter().any(|reading| reading.shared.as_deref() == Some(kind)))
        };
        let of_site = papers::papers(site, day).into_iter().filter(|paper| match &paper.of {
            papers::Of::Technician { .. } => true,
            papers::Of::Apparatus { kind, .. } => is_asked(kind),
        });
        papers::before_the_first_act(&of_site.collect::<Vec<_>>())
    }

    /// Takes note of all that stands, without saying it.
    pub fn take_up(&mut self, seats: &[Seat<'_>], roles: &[Role], facts: &Facts) {
        let _ = self.look(seats, roles, facts);
    }

    /// What is new since the last look.
    pub fn look(&mut self, seats: &[Seat<'_>], roles: &[Role], facts: &Facts) -> Vec<Said> {
        let mut said = Vec::new();
        self.stale_facts(seats, &mut said);
        self.stale_moments(seats, &mut said);
        self.named_papers(seats, &mut said);
        self.new_verdicts(seats, roles, facts, &mut said);
        said
    }

    fn new_verdicts(&mut self, seats: &[Seat<'_>], roles: &[Role], facts: &Facts, said: &mut Vec<Said>) {
        let Some(site) = &self.site else { return };
        self.judged = judged(seats, roles, site, facts);
        let mut verdicts = BTreeMap::new();
        for judged in &self.judged {
            let mut words = judged.words();
            if judged.is_check {
                words.extend(judged.follows());
            }
            let key = (judged.run, judged.result.clone());
            if self.verdicts.get(&key) != Some(&words) {
                said.push(Said::Verdict(Box::new(judged.clone())));
            }
            verdicts.insert(key, words);
        }
        self.verdicts = verdicts;
    }

    fn named_papers(&mut self, seats: &[Seat<'_>], said: &mut Vec<Said>) {
        let (Some(site), Some(day)) = (&self.site, self.day) else { return };
        for (n, seat) in seats.iter().enumerate() {
            let Some(run) = seat.run else { continue };
            for (kind, id) in named_in(run, site) {
                let is_elsewhere = self.named.iter().any(|(_, other, mark)| (other, mark) == (&kind, &id));
                if !self.named.insert((n, kind.clone(), id.clone())) {
                    continue;
                }
                let mut used = Used::default();
                if kind == TECHNICIAN {
                    used.technicians.push(id);
                } else {
                    used.apparatus.push((kind, id));
                }
                for paper in papers_of(site, &used, day) {
                    let Some((weight, text)) = paper.said() else { continue };
                    // What nobody knows is said once; that something is over, in every run that names it.
                    let is_new = paper.standing == Standing::Unknown && !is_elsewhere;
                    if weight == Weight::Finding || is_new {
                        said.push(Said::Paper { run: n, weight, text });
                    }
                }
            }
        }
    }

    fn stale_facts(&mut self, seats: &[Seat<'_>], said: &mut Vec<Said>) {
        self.stated.resize_with(seats.len(), BTreeMap::new);
        let now: Vec<BTreeMap<String, (Fact, Tick)>> =
            seats.iter().map(|seat| seat.run.map(tell::stated).unwrap_or_default()).collect();
        let mut told: BTreeSet<(usize, String)> = BTreeSet::new();
        for (n, stated) in now.iter().enumerate() {
            for (name, (fact, _)) in stated {
                let Some((before, since)) = self.stated[n].get(name).filter(|(before, _)| before != fact) else {
                    continue;
                };
                for (other, theirs) in now.iter().enumerate().filter(|(other, _)| *other != n) {
                    let has_it = theirs.get(name).is_some_and(|(theirs, at)| theirs == before && at >= since);
                    let is_own = seats[other].edition.results.iter().any(|spec| spec.shared.as_ref() == Some(name));
                    if has_it && !is_own && told.insert((other, name.clone())) {
                        let text = format!(
                            "the {} was corrected from {before} to {fact} in {}; this run was told {before}: correct it \
                             here too",
                            name.replace('-', " "),
                            seats[n].name,
                        );
                        said.push(Said::Stale { run: other, text });
                    }
                }
            }
        }
        for (n, stated) in now.into_iter().enumerate() {
            for (name, (fact, at)) in stated {
                let since = match self.stated[n].get(&name) {
                    Some((before, since)) if *before == fact => *since,
                    _ => at,
                };
                self.stated[n].insert(name, (fact, since));
            }
        }
    }

    fn stale_moments(&mut self, seats: &[Seat<'_>], said: &mut Vec<Said>) {
        let mut unmarked = BTreeSet::new();
        for (n, seat) in seats.iter().enumerate() {
            let Some(run) = seat.run else { continue };
            for (moment, name) in (0_u16..).zip(&seat.edition.moments) {
                let Some(at) = run.known(moment) else { continue };
                if run.marked(moment).is_some() || marked(seats, name).is_some() {
                    continue;
                }
                if !self.unmarked.contains(&(n, moment)) {
                    let text = format!(
                        "the {} was taken back; this run still counts from {} until it is marked again",
                        name.replace('-', " "),
                        time_of_day(at)
                    );
                    said.push(Said::Stale { run: n, text });
                }
                unmarked.insert((n, moment));
            }
        }
        self.unmarked = unmarked;
    }
}

/// Who and what is named in a run: kind and mark; the person under [`TECHNICIAN`].
fn named_in(run: &Run, site: &Site) -> Vec<(String, String)> {
    let is_kind = |name: &str| {
        let in_date = format!("{name}{IN_DATE}");
        name == TECHNICIAN
            || site.apparatus.iter().any(|one| one.kind == name)
            || run.edition().readings.iter().any(|reading| reading.shared.as_deref() == Some(in_date.as_str()))
    };
    let stated = tell::stated(run).into_iter().filter(|(name, _)| is_kind(name));
    stated
        .filter_map(|(name, (fact, _))| if let Fact::Words(words) = fact { Some((name, words)) } else { None })
        .collect()
}

/// The time of day of a moment where it was, to the second.
fn time_of_day(at: engine::Moment) -> String {
    let local = at.wall.unix_ms.saturating_add(i64::from(at.wall.offset_min) * 60_000);
    let s = local.div_euclid(1_000).rem_euclid(86_400);
    format!("{:02}:{:02}:{:02}", s / 3_600, s / 60 % 60, s % 60)
}

//! What the runs of a sample share, by the names their procedures give it.
//!
//! **Invariant:** of two runs that share the same name the earlier on the bench goes before, and a result before a
//! reading: it is what was found, not what was told.

use engine::{Entry, Run, Taken};
use procedure::{Edition, Reading, ReadingKind};
use quantity::{Exact, Unit};

use super::names;

/// The runs of a sample, asked by shared names.
pub(super) struct Pool<'a> {
    runs: &'a [(&'a str, &'a Run)],
}

impl<'a> Pool<'a> {
    pub(super) fn of(runs: &'a [(&'a str, &'a Run)]) -> Self {
        Self { runs }
    }

    fn readings<'s>(&'s self, name: &'s str) -> impl Iterator<Item = (&'a Run, &'a Reading, &'a Taken)> + 's {
        self.runs.iter().flat_map(move |(_, run)| {
            let edition: &'a Edition = run.edition();
            let shared = edition.readings.iter().filter(move |reading| reading.shared.as_deref() == Some(name));
            shared.filter_map(move |reading| {
                let id = edition.reading_named(&reading.id)?;
                Some((*run, reading, run.latest(id)?))
            })
        })
    }

    /// A number: a result of that name, unrounded as reported, else a reading.
    pub(super) fn number(&self, name: &str) -> Option<(Exact, Unit)> {
        let result = self.runs.iter().find_map(|(_, run)| {
            let mut results = run.results().into_iter();
            let outcome = results.find(|outcome| outcome.spec.shared.as_deref() == Some(name))?;
            Some((outcome.reported.rounded.clone(), outcome.reported.unit))
        });
        result.or_else(|| {
            self.readings(name).find_map(|(_, reading, taken)| match &taken.entry {
                Entry::Number(value) => Some((Exact::from(*value), reading.unit())),
                _ => None,
            })
        })
    }

    /// Words, or what an answer or a number looks like.
    pub(super) fn words(&self, name: &str) -> Option<String> {
        self.readings(name).next().map(|(run, reading, taken)| {
            let id = run.edition().reading_named(&reading.id);
            id.map_or_else(String::new, |id| run.show(id, &taken.entry))
        })
    }

    /// The id of an answer.
    pub(super) fn choice(&self, name: &str) -> Option<&'a str> {
        self.readings(name).find_map(|(_, reading, taken)| match (&taken.entry, &reading.kind) {
            (Entry::Choice(at), ReadingKind::Choice(choices)) => Some(choices.get(usize::from(*at))?.id.as_str()),
            _ => None,
        })
    }

    /// Kind and mark of every piece of apparatus that was named. It is known by its companion: of `cone` it is asked
    /// whether the `cone-in-date` holds.
    pub(super) fn apparatus(&self) -> Vec<(String, String)> {
        let mut found: Vec<(String, String)> = Vec::new();
        for (_, run) in self.runs {
            let shared = |reading: &'a Reading| reading.shared.as_deref();
            for kind in
                run.edition().readings.iter().filter_map(shared).filter_map(|name| name.strip_suffix(names::IN_DATE))
            {
                let own = Pool { runs: &[("", run)] }.words(kind);
                if let Some(id) = own.filter(|id| !found.iter().any(|(k, known)| k == kind && known == id)) {
                    found.push((kind.to_owned(), id));
                }
            }
        }
        found
    }
}

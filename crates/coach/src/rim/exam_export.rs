//! Everything that was marked in an exam, for a spreadsheet.
//!
//! Here: a row for each act of each trial. Not here: any figure computed from them.
//!
//! **Invariant:** with names left out no name and no free words leave the machine.

use engine::Moment;
use exam::{How, Names, State, TrialPhase, Verdict};

use super::clock;

/// The columns.
const HEAD: [&str; 20] = [
    "exam",
    "trial",
    "candidate",
    "name",
    "method",
    "number",
    "scores",
    "rater",
    "station",
    "began",
    "ended",
    "how",
    "verdict",
    "stage",
    "item",
    "act",
    "mark",
    "by",
    "because",
    "at",
];

/// One row for each act and each limit that was judged.
pub fn csv(state: &State, names: Names) -> String {
    let mut out = csv::Writer::from_writer(Vec::new());
    let when = |at: Moment| clock::rfc3339(at.wall);
    // Writing to memory cannot fail.
    let _ = out.write_record(HEAD);
    for view in state.trials().filter(|view| view.trial.phase != TrialPhase::Withdrawn) {
        let trial = view.trial;
        let candidate = view.candidate();
        let name = match names {
            Names::Shown => candidate.name.clone(),
            Names::LeftOut => String::new(),
        };
        let ended = view.ended();
        let how = match ended.map(|(how, _)| how) {
            None => "open".to_owned(),
            Some(How::Finished) => "finished".to_owned(),
            Some(How::Stopped { reason }) => format!("stopped: {}", names.words(reason)),
            Some(How::Void { reason }) => format!("void: {}", names.words(reason)),
        };
        let verdict = match view.outcome().verdict {
            Verdict::Passed => "passed",
            Verdict::Failed => "not passed",
            Verdict::Open => "open",
            Verdict::Void => "void",
        };
        let scores = trial.scores.and_then(|first| state.trials().nth(first)).map(|first| first.trial.id.to_string());
        let of_trial = [
            state.exam().title.clone(),
            trial.id.to_string(),
            candidate.number.clone(),
            name,
            view.sheet.method.clone(),
            trial.number.to_string(),
            scores.unwrap_or_default(),
            names.of_rater(state, &trial.rater),
            trial.station.to_string(),
            when(trial.began),
            ended.map(|(_, at)| when(at)).unwrap_or_default(),
            how,
            verdict.to_owned(),
        ];
        let mut row = |act: [String; 7]| {
            let _ = out.write_record(of_trial.iter().chain(&act).map(|words| harmless(words).into_owned()));
        };
        for status in view.items() {
            let (by, because) = match (status.overruled, &status.judged) {
                (Some(overrule), _) => ("overruled", names.words(&overrule.reason).to_owned()),
                (None, Some((mark, because))) if status.given.is_none() || *mark != status.given.unwrap_or(*mark) => {
                    ("clock or count", because.clone())
                }
                (None, Some((_, because))) => ("rater", because.clone()),
                (None, None) if status.given.is_some() => ("rater", String::new()),
                (None, None) => ("", String::new()),
            };
            row([
                status.item.stage.clone(),
                status.item.key.clone(),
                status.item.text.clone(),
                status.mark.map(|mark| mark.word().to_owned()).unwrap_or_default(),
                by.to_owned(),
                because,
                status.touched.map(when).unwrap_or_default(),
            ]);
        }
        for status in view.windows().filter(|status| status.mark.is_some()) {
            let (by, because) = match status.overruled {
                Some(overrule) => ("overruled", names.words(&overrule.reason).to_owned()),
                None => ("clock or count", status.because.clone().unwrap_or_default()),
            };
            row([
                String::new(),
                status.window.key.clone(),
                status.window.text.clone(),
                status.mark.map(|mark| mark.word().to_owned()).unwrap_or_default(),
                by.to_owned(),
                because,
                String::new(),
            ]);
        }
    }
    String::from_utf8(out.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// Words a spreadsheet would take for a formula are led by an apostrophe: names and reasons are typed by anybody.
fn harmless(words: &str) -> std::borrow::Cow<'_, str> {
    if words.starts_with(['=', '+', '-', '@', '\t']) { format!("'{words}").into() } else { words.into() }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn a_name_is_no_formula() {
        assert_eq!(harmless("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(harmless("-1+2"), "'-1+2");
        assert_eq!(harmless("Ines Marlowe"), "Ines Marlowe");
    }
}

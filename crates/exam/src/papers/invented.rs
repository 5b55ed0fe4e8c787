//! An invented class, for tests and to be looked at: nobody on it exists, and no mark was ever given.

use std::collections::BTreeMap;

use engine::{Moment, Tick, Wall};
use procedure::Procedure;

use super::{Event, How, Mark, State, TrialId, config, roster, sheets};

/// What no paper with names left out may hold.
pub(crate) const NAMES: [&str; 24] = [
    "Wren Ashdown",
    "Ivo Brackley",
    "Tamsin Coldwell",
    "Piers Dunmore",
    "Odalys Eastwick",
    "Bram Fenwright",
    "Calla Greywood",
    "Jarek Holloway",
    "Maren Inglethorpe",
    "Silas Juniper",
    "Thea Kestrel",
    "Corin Larkspur",
    "Edda Marchbank",
    "Rufus Nightjar",
    "Ottilie Oakhanger",
    "Blaise Pennycook",
    "Senna Quillfeather",
    "Alban Rookhope",
    "Isolde Saltmarsh",
    "Hollis Thornapple",
    "Ulla Underhill",
    "Percy Valehouse",
    "Greta Winterbourne",
    "Xan Yarrow",
];

/// Who marks.
pub(crate) const RATERS: [&str; 2] = ["Dorothea Hexham", "Lucian Wharfe"];

const EXAM: &str = r#"
[exam]
title = "Spring mock exam"
language = 1
system = "inch-pound"
date = "2026-05-14"
place = "Test yard, bay 2"
stations = 3
raters = ["Dorothea Hexham", "Lucian Wharfe"]

[[method]]
id = "sampling"
told = "all"

[[method]]
id = "temperature"

[[method]]
id = "slump"
time_limit = "20 min"

[[method]]
id = "density"

[[method]]
id = "air-pressure"
time_limit = "45 min"
"#;

const PROCEDURES: [(&str, &str); 5] = [
    ("sampling", include_str!("../../../../procedures/sampling.toml")),
    ("temperature", include_str!("../../../../procedures/temperature.toml")),
    ("slump", include_str!("../../../../procedures/slump.toml")),
    ("density", include_str!("../../../../procedures/density.toml")),
    ("air-pressure", include_str!("../../../../procedures/air-pressure.toml")),
];

/// Numbers that only look like chance.
struct Chance(u64);

impl Chance {
    /// 0 to 999.
    fn per_mille(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % 1000
    }
}

/// The exam as it is opened, with the first `people` of the roster.
pub(crate) fn opened(people: usize) -> State {
    let procedures: BTreeMap<&str, Procedure> = PROCEDURES
        .iter()
        .map(|(id, text)| {
            let checked = procedure::check(&format!("{id}.toml"), text);
            (*id, checked.procedure.unwrap_or_else(|| panic!("{id} is sound: {:?}", checked.diagnostics)))
        })
        .collect();
    let checked = config::check("exam.toml", EXAM);
    let exam = checked.exam.unwrap_or_else(|| panic!("the exam is sound: {:?}", checked.diagnostics));
    let mut text = "number,name,station,note\n".to_owned();
    for n in 0..people {
        let name = NAMES.get(n).map_or_else(|| format!("Invented Person {n}"), |name| (*name).to_owned());
        text.push_str(&format!("{:02},{name},,\n", n + 1));
    }
    let roster = roster::read(&text).unwrap_or_else(|faults| panic!("the roster is sound: {faults:?}"));
    let sheets = sheets(&exam, |id| procedures.get(id)).unwrap_or_else(|faults| panic!("sheets: {faults:?}"));
    State::open(exam, roster, sheets)
}

/// A class that has been through most of its exam.
pub(crate) fn class(people: usize) -> State {
    let mut state = opened(people);
    let mut room = Room { now: 0, chance: Chance(20_260_514) };
    for candidate in 0..people {
        for method in 0..state.sheets().len() {
            // The last of the class has two methods before them.
            if candidate + 1 == people && method > 2 {
                continue;
            }
            let first = room.trial(&mut state, candidate, method, None, 1);
            if method == 2 && candidate % 2 == 0 {
                room.trial(&mut state, candidate, method, Some(&first), 1);
            }
            if state.may_begin(candidate).contains(&method) && candidate % 5 != 4 {
                room.trial(&mut state, candidate, method, None, 2);
            }
        }
    }
    state
}

struct Room {
    now: u64,
    chance: Chance,
}

impl Room {
    fn at(&mut self, seconds: u64) -> Moment {
        self.now += seconds * 1000;
        Moment { tick: Tick(self.now), wall: Wall { unix_ms: 1_778_760_000_000 + self.now as i64, offset_min: -300 } }
    }

    fn act(&mut self, state: &mut State, event: Event) {
        let pause = 2 + self.chance.per_mille() % 9;
        let at = self.at(pause);
        let shown = format!("{event:?}");
        state.apply(event, at).unwrap_or_else(|why| panic!("{shown}: {why}"));
    }

    fn trial(
        &mut self,
        state: &mut State,
        candidate: usize,
        method: usize,
        scores: Option<&TrialId>,
        number: u64,
    ) -> TrialId {
        let person = state.roster().candidates[candidate].number.clone();
        let sheet = state.sheets()[method].clone();
        let trial = state.new_trial(&person, &sheet.method, scores);
        let rater = RATERS[usize::from(scores.is_some())].to_owned();
        let station = (candidate % 3) as u16 + 1;
        let began = Event::Began {
            trial: trial.clone(),
            candidate: person,
            method: sheet.method.clone(),
            station,
            rater,
            scores: scores.cloned(),
        };
        self.act(state, began);
        // Some are surer than others, some acts are missed more often than others.
        let unsure = 6 + (candidate as u64 * 7) % 46;
        for (n, item) in sheet.items.iter().enumerate() {
            if item.conditional {
                continue;
            }
            let hard = if n % 7 == 3 { 5 } else { 1 };
            let missed = self.chance.per_mille() < unsure * hard / number;
            let key = item.key.clone();
            let marked = |mark| Event::Marked { trial: trial.clone(), item: key.clone(), mark };
            match (&item.clock, &item.count) {
                (Some(clock), _) if !clock.by_readings && clock.down_at_most.is_none() && clock.at_most.is_none() => {
                    self.act(state, Event::ClockStarted { trial: trial.clone(), item: key.clone() });
                    let span = clock.at_least.0 / 1000;
                    let _ = self.at(if missed { span * 2 / 3 } else { span });
                    self.act(state, Event::ClockStopped { trial: trial.clone(), item: key.clone() });
                }
                (_, Some(count)) if !missed => {
                    self.act(state, Event::Counted { trial: trial.clone(), item: key.clone(), n: count.at_least });
                }
                (_, Some(count)) => {
                    let n = count.at_least.saturating_sub(4);
                    self.act(state, Event::Counted { trial: trial.clone(), item: key.clone(), n });
                }
                _ => {
                    let told = sheet.method == "sampling" && item.tellable;
                    let mark = if missed {
                        Mark::Missed
                    } else if told {
                        Mark::Told
                    } else {
                        Mark::Done
                    };
                    self.act(state, marked(mark));
                }
            }
            if state.trial(&trial).and_then(|view| view.item(n).mark).is_none() {
                self.act(state, marked(if missed { Mark::Missed } else { Mark::Done }));
            }
            if missed && self.chance.per_mille() < 120 {
                let text = format!("{} looked away; watch this one.", NAMES[candidate % NAMES.len()]);
                self.act(state, Event::Noted { trial: trial.clone(), item: Some(key.clone()), text });
            } else if missed && self.chance.per_mille() < 150 {
                let reason = "seen from the side by the other instructor".to_owned();
                let overruled = Event::Overruled { trial: trial.clone(), item: key.clone(), mark: Mark::Done, reason };
                self.act(state, overruled);
            }
        }
        self.act(state, Event::Ended { trial: trial.clone(), how: How::Finished });
        trial
    }
}

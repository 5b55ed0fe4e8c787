//! What a technician does in the volumetric air test, act by act, each as keys and as a line.
//!
//! Every act here is one entry in the record, so that act number n is entry number n whichever way it was given.
//!
//! **Invariant:** an act says when it may be done by what it waits for, never by a pause.

/// When an act is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// At once.
    Now,
    /// When what lasts has lasted long enough.
    LongEnough,
    /// When the next reading is due.
    ReadingDue,
}

/// One act.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Act {
    /// When it is done.
    pub when: When,
    /// Its keys, by name; see [`keys`](crate::keys).
    pub keys: Vec<String>,
    /// The same as a line.
    pub line: String,
}

impl Act {
    /// Something to be confirmed, begun or turned: the big key.
    pub fn press() -> Self {
        Self { when: When::Now, keys: vec!["Space".to_owned()], line: "next".to_owned() }
    }

    /// A number or words, typed and taken.
    pub fn typed(text: &str) -> Self {
        Self { when: When::Now, keys: vec![text.to_owned(), "Enter".to_owned()], line: text.to_owned() }
    }

    /// An answer that has a key of its own.
    pub fn answer(key: &str, line: &str) -> Self {
        Self { when: When::Now, keys: vec![key.to_owned()], line: line.to_owned() }
    }

    /// The same act, later.
    #[must_use]
    pub fn when(mut self, when: When) -> Self {
        self.when = when;
        self
    }
}

fn presses(n: usize) -> Vec<Act> {
    vec![Act::press(); n]
}

/// Who, for which job, of which sample, with which meter and alcohol; in inch-pound units.
pub fn identify() -> Vec<Act> {
    vec![
        Act::typed("R. Okafor-Lind"),
        Act::typed("Harrow Bend footbridge"),
        Act::typed("Truck 12"),
        Act::typed("V-7"),
        Act::typed("0.0752"),
        Act::answer("y", "yes"),
        Act::typed("1.01"),
        Act::typed("70"),
        Act::press(), // everything lies ready
    ]
}

/// How much alcohol, what aggregate; the last portion of the sample is in.
pub fn choose_alcohol(pints: &str) -> Vec<Act> {
    vec![Act::typed(pints), Act::answer("n", "none"), Act::press()]
}

/// Two layers with 25 strokes and 10 to 15 taps each, struck off, flange wiped; the meter closed, the funnel in.
pub fn fill_and_close() -> Vec<Act> {
    presses(10 + 3)
}

/// Water, alcohol, water up to the neck; the funnel out, the level at zero, the cap tight.
pub fn charge() -> Vec<Act> {
    let mut acts = vec![Act::typed("1"), Act::press(), Act::answer("y", "yes")];
    acts.extend(presses(3));
    acts
}

/// Inverted and shaken until 45 s are over; the aggregate is heard moving.
pub fn free() -> Vec<Act> {
    vec![
        Act::press(), // it begins, upside down
        Act::press(), // upright
        Act::press().when(When::LongEnough),
        Act::answer("y", "yes"),
    ]
}

/// One rolling of at least a minute, then level and foam, two minutes apart, as often as given.
pub fn roll(round: usize, readings: &[(&str, &str)]) -> Vec<Act> {
    let mut acts = presses(usize::from(round > 1)); // cap on again
    acts.extend([Act::press(), Act::press().when(When::LongEnough), Act::press()]);
    for (n, (level, foam)) in readings.iter().enumerate() {
        let when = if n == 0 { When::Now } else { When::ReadingDue };
        acts.extend([Act::typed(level).when(when), Act::typed(foam)]);
    }
    acts
}

/// Liquid poured off, opened, looked into, washed; the run is closed.
pub fn empty_and_close() -> Vec<Act> {
    let mut acts = presses(2);
    acts.push(Act::answer("n", "no"));
    acts.extend(presses(2));
    acts
}

/// The test from the first act to the closed run, with the readings of two rollings that agree.
///
/// By hand: 6.25 % at last, 3.0 pt of alcohol take off 0.3 %, no cups: 5.95 %, reported as 6.00 %.
pub fn whole_run() -> Vec<Act> {
    let rounds = [[("6.5", "0.5"), ("6.25", "0.25")], [("6.25", "0.25"), ("6.25", "0.25")]];
    let parts = [
        identify(),
        choose_alcohol("3.0"),
        fill_and_close(),
        charge(),
        free(),
        roll(1, &rounds[0]),
        roll(2, &rounds[1]),
        empty_and_close(),
    ];
    parts.concat()
}

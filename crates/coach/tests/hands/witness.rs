//! The witness: whether everything that was kept was read back and confirmed before.
//!
//! It knows what came in, what was said and what was kept, in its order, and the run as the engine alone makes it of the
//! events. It looks at nothing inside of the layer.

use coach::screen::hands::phrases;
use engine::{Entry, Event, Tick};
use hearing::{Source, Utterance};
use procedure::{Edition, ReadingId, ReadingKind, Wants};
use quantity::{Scale, Unit};

use super::room::Happened;

/// How a mark by voice is called on the record.
const MARKED: &str = "was marked by a spoken line";
/// Stands for the line where a key gave the value that was read back.
const TYPED: &str = "typed";

/// What the witness has seen.
#[derive(Debug, Default)]
pub struct Seen {
    pub n_values: usize,
    pub n_corrections: usize,
    pub n_remarks: usize,
    pub n_ends: usize,
    pub n_marks: usize,
    pub n_undone: usize,
    /// Marks by voice that are not called so on the record.
    pub unremarked: Vec<String>,
}

struct Witness<'a> {
    edition: &'a Edition,
    /// What the events make of the run, performed by the engine alone.
    run: engine::Run,
    /// When the microphone was opened and closed last.
    opened: Option<Tick>,
    closed: Option<Tick>,
    /// What was read back last and neither confirmed nor denied.
    read_back: Option<String>,
    /// The line that gave it.
    gave: String,
    /// What the last input has confirmed.
    confirmed: Option<String>,
    /// The line that gave that.
    confirmed_gave: String,
    /// All that was confirmed, with its lines.
    history: Vec<(String, String)>,
    /// The words of the last line that counts; none if the last input was none.
    last: Option<String>,
    /// The last input was a key of the keyboard: whoever types reads what stands on the screen.
    is_typed: bool,
    /// Something may stand typed in the entry: it needs no read-back.
    has_typed: bool,
    /// The first of the two questions before an end was answered.
    is_armed: bool,
    /// A mark by voice that has no remark yet.
    owes_remark: Option<(Tick, &'static str)>,
    /// When the last thing that is timed was begun.
    begun: Tick,
    seen: Seen,
}

impl Witness<'_> {
    fn is_heeded(&self, utterance: &Utterance, now: Tick, is_over_cue: bool) -> bool {
        let is_mic = utterance.source == Source::Microphone;
        // Said in the window and recognised a little later is said in the window.
        let began = utterance.ago_ms.map(|ago| Tick(now.0.saturating_sub(ago)));
        let is_open = match (self.opened, self.closed) {
            (Some(_), None) => true,
            (Some(opened), Some(closed)) => {
                began.is_some_and(|began| opened <= began && began <= closed) && now.0 <= closed.0 + 5_000
            }
            (None, _) => false,
        };
        let is_heard = !is_mic || is_open && !is_over_cue;
        is_heard && utterance.confidence.is_none_or(|sure| sure >= 50)
    }

    fn came(&mut self, utterance: &Utterance, now: Tick, is_over_cue: bool) -> Result<(), String> {
        self.input()?;
        if !self.is_heeded(utterance, now, is_over_cue) {
            return Ok(());
        }
        self.last = Some(utterance.words.clone());
        match utterance.words.as_str() {
            phrases::CONFIRM => self.confirm(),
            phrases::DENY | phrases::AGAIN => {}
            phrases::END => self.is_armed = true,
            phrases::LEAVE_IT => self.is_armed = false,
            _ => {}
        }
        Ok(())
    }

    fn confirm(&mut self) {
        self.confirmed = self.read_back.take();
        self.confirmed_gave = std::mem::take(&mut self.gave);
        if let Some(confirmed) = &self.confirmed {
            self.history.push((confirmed.clone(), self.confirmed_gave.clone()));
        }
    }

    /// Something came in: what was owed had its time.
    fn input(&mut self) -> Result<(), String> {
        self.is_typed = false;
        self.last = None;
        self.confirmed = None;
        let Some((since, what)) = self.owes_remark.take() else { return Ok(()) };
        // For turns once is enough, as long as it has not been taken back.
        let is_it = |remark: &engine::Remark| {
            remark.at.tick >= since && remark.text.starts_with(what) && remark.text.contains(MARKED)
        };
        if !self.run.remarks().iter().any(is_it) {
            self.seen.unremarked.push(format!("{what} at {} by voice has no remark", since.0));
        }
        Ok(())
    }

    fn said(&mut self, text: &str) -> Result<(), String> {
        match read_back(text) {
            Some(value) if self.read_back.as_deref() != Some(value) => {
                let Some(last) = self.last.clone() else {
                    return Err(format!("“{value}” is asked, and no line gave it"));
                };
                self.read_back = Some(value.to_owned());
                self.gave = last;
            }
            None if text.starts_with("Not taken") => self.read_back = None,
            _ => {}
        }
        Ok(())
    }

    /// Whether a value is what a read-back names and the line that gave it says.
    fn names(&self, read_back: &str, gave: &str, reading: Option<ReadingId>, entry: &Entry) -> bool {
        match (reading.map(|reading| &self.edition.reading(reading).kind), entry) {
            (Some(ReadingKind::Number(scale)), Entry::Number(value)) => {
                is_number(read_back, scale, value) && (gave == TYPED || is_number(gave, scale, value))
            }
            (Some(ReadingKind::Choice(answers)), Entry::Choice(n)) => {
                sentence(&answers[*n as usize].label) == read_back
            }
            (_, Entry::Words(words)) => sentence(words) == read_back,
            _ => false,
        }
    }

    fn is_confirmed(&self, reading: Option<ReadingId>, entry: &Entry) -> bool {
        let confirmed = self.confirmed.as_deref();
        confirmed.is_some_and(|back| self.names(back, &self.confirmed_gave, reading, entry))
    }

    /// Whether it was confirmed at some time before, and the reason now.
    fn is_confirmed_for(&self, reading: Option<ReadingId>, entry: &Entry, reason: &str) -> bool {
        let is_reason = self.is_confirmed(None, &Entry::Words(reason.to_owned()));
        is_reason && self.history.iter().any(|(back, gave)| self.names(back, gave, reading, entry))
    }

    fn is_one_of(&self, phrases: &[&str]) -> bool {
        self.last.as_deref().is_some_and(|last| phrases.contains(&last))
    }

    fn kept(&mut self, event: &Event, at: engine::Moment) -> Result<(), String> {
        self.run.apply(event.clone(), at).map_err(|refused| format!("{event:?}: {refused}"))?;
        let is_value = matches!(event, Event::Answer { .. } | Event::Count { .. });
        let is_typed_value = is_value && std::mem::take(&mut self.has_typed);
        if self.is_typed {
            return Ok(());
        }
        let next = [phrases::DONE, phrases::BEGIN, phrases::TURN, phrases::STOP, phrases::ANOTHER];
        let is_it = match event {
            Event::Answer { reading, entry, despite, .. } => {
                self.seen.n_values += 1;
                match despite {
                    None => self.is_confirmed(Some(*reading), entry),
                    Some(reason) if is_typed_value => self.is_confirmed(None, &Entry::Words(reason.clone())),
                    Some(reason) => self.is_confirmed_for(Some(*reading), entry, reason),
                }
            }
            Event::Count { n, .. } => {
                self.seen.n_values += 1;
                let strokes = Scale::new(1.into(), 0.into(), 9_999.into(), Unit::parse("stroke").unwrap()).unwrap();
                let n = (*n).into();
                let (back, gave) = (self.confirmed.clone().unwrap_or_default(), self.confirmed_gave.clone());
                is_number(&back, &strokes, &n) && is_number(&gave, &strokes, &n)
            }
            Event::Correct { entry, reason, .. } => {
                self.seen.n_corrections += 1;
                // Which reading it was is not in the event: any number that was confirmed and is this one.
                let is_it = |(back, gave): &(String, String)| {
                    let numbers = self.edition.readings.iter().filter_map(|reading| match (&reading.kind, entry) {
                        (ReadingKind::Number(scale), Entry::Number(value)) => {
                            Some(is_number(back, scale, value) && is_number(gave, scale, value))
                        }
                        (ReadingKind::Choice(answers), Entry::Choice(n)) => {
                            Some(answers.get(*n as usize).is_some_and(|answer| sentence(&answer.label) == *back))
                        }
                        _ => None,
                    });
                    let mut numbers = numbers;
                    numbers.any(|is_it| is_it) || self.names(back, gave, None, entry)
                };
                self.is_confirmed(None, &Entry::Words(reason.clone())) && self.history.iter().any(is_it)
            }
            Event::Remark { text } if text.contains(MARKED) => {
                self.owes_remark.is_some_and(|(_, what)| text.starts_with(what))
            }
            Event::Remark { text } => {
                self.seen.n_remarks += 1;
                self.is_confirmed(None, &Entry::Words(text.clone()))
            }
            Event::Incident { .. } | Event::Discard { .. } | Event::Close => {
                self.seen.n_ends += 1;
                let is_it = self.is_armed && self.is_one_of(&[phrases::END_FOR_SURE]);
                self.is_armed = false;
                is_it
            }
            Event::Begin { .. } | Event::Turn { .. } => {
                let what = if matches!(event, Event::Begin { .. }) { "The beginning" } else { "The turn" };
                if what == "The beginning" {
                    self.begun = at.tick;
                }
                self.marks(self.begun, what);
                self.is_one_of(&next)
            }
            Event::Done { step, despite } => {
                if self.last.as_deref() != Some(phrases::END_FOR_SURE)
                    && matches!(self.edition.step(*step).wants, Wants::Hold { .. } | Wants::Timed { .. })
                {
                    self.marks(at.tick, "The end");
                }
                match despite {
                    Some(reason) => {
                        self.owes_remark = None;
                        self.is_confirmed(None, &Entry::Words(reason.clone()))
                    }
                    // Given up as the rule says: an end.
                    None if self.is_one_of(&[phrases::END_FOR_SURE]) => {
                        self.owes_remark = None;
                        std::mem::take(&mut self.is_armed)
                    }
                    // After a count that was confirmed the step is done too.
                    None => self.is_one_of(&next) || self.confirmed.is_some(),
                }
            }
            Event::Undo => {
                self.seen.n_undone += 1;
                self.is_one_of(&[phrases::UNDO])
            }
            Event::Redo => self.is_one_of(&[phrases::REDO]),
            Event::Add { .. } => self.is_one_of(&[phrases::ADD]),
            Event::Again => self.is_one_of(&next),
            Event::Known { .. } => false,
        };
        if is_it || is_typed_value && self.is_one_of(&next) {
            return Ok(());
        }
        Err(format!("{event:?} after {:?}, confirmed {:?} of “{}”", self.last, self.confirmed, self.confirmed_gave))
    }

    fn marks(&mut self, since: Tick, what: &'static str) {
        self.seen.n_marks += 1;
        if self.last.is_some() {
            self.owes_remark = Some((since, what));
        }
    }
}

/// Whether words say this number and no other, on this instrument.
fn is_number(words: &str, scale: &Scale, value: &quantity::Decimal) -> bool {
    // A read-back may say it once more, digit by digit: each way of saying it must be this number.
    let parts: Vec<&str> = words.split(',').collect();
    let reads = |part: &str| hearing::number::number(&hearing::words::alike(part), scale);
    match parts.as_slice() {
        [one] => reads(one).as_ref() == Ok(value),
        [first, .., last] => reads(first).as_ref() == Ok(value) && reads(last).as_ref() == Ok(value),
        [] => false,
    }
}

/// Whether everything in a log was read back and confirmed; else where it was not, and why.
pub fn witness(log: &[Happened], start: &engine::Run) -> Result<Seen, (usize, String)> {
    let mut witness = Witness {
        edition: start.edition(),
        run: start.clone(),
        opened: None,
        closed: None,
        read_back: None,
        gave: String::new(),
        confirmed: None,
        confirmed_gave: String::new(),
        history: Vec::new(),
        last: None,
        is_typed: false,
        has_typed: false,
        is_armed: false,
        owes_remark: None,
        begun: Tick(0),
        seen: Seen::default(),
    };
    for (n, happened) in log.iter().enumerate() {
        let fine = match happened {
            Happened::Came(utterance, now, is_over_cue) => witness.came(utterance, *now, *is_over_cue),
            Happened::Rubbish => witness.input(),
            Happened::Pressed => {
                let fine = witness.input();
                witness.confirm();
                fine
            }
            Happened::Typed => {
                let fine = witness.input();
                witness.is_typed = true;
                witness.has_typed = true;
                // A key may confirm, too.
                let asked = witness.read_back.clone().map(|asked| (asked, witness.gave.clone()));
                witness.history.extend(asked);
                fine
            }
            // What follows a key is shown, and may be read back: no line gave it.
            Happened::Said(text) if witness.is_typed => {
                // The first question before an end can be answered by a key.
                witness.is_armed |= text.contains(phrases::END_FOR_SURE);
                if let Some(value) = read_back(text) {
                    witness.read_back = Some(value.to_owned());
                    witness.gave = TYPED.to_owned();
                }
                Ok(())
            }
            Happened::Said(text) => witness.said(text),
            Happened::Kept(event, at) => witness.kept(event, *at),
            Happened::Talk(true, now) => {
                (witness.opened, witness.closed) = (Some(*now), None);
                Ok(())
            }
            Happened::Talk(false, now) => {
                witness.closed = Some(*now);
                Ok(())
            }
            Happened::Published(_) => Ok(()),
            Happened::Left => Err("it has left".to_owned()),
        };
        fine.map_err(|why| (n, why))?;
    }
    Ok(witness.seen)
}

/// A text as it is said, without its full stop.
pub fn sentence(text: &str) -> String {
    voice::say::sentence(&format!("{text}.")).trim_end_matches('.').to_owned()
}

/// The value in what was said, if it is a read-back.
pub fn read_back(text: &str) -> Option<&str> {
    let confirm = text.find(phrases::CONFIRM)?;
    text[confirm..].find(phrases::DENY)?;
    let how = text[..confirm].rfind("Say")?;
    Some(text[..how].trim().trim_end_matches('.'))
}

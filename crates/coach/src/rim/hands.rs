//! Mouth and ears beside the records: what is shown may speak, publish its words, and is told what was heard.
//!
//! Here: which deeds go to the speaker and the sources of lines, and what of them goes back to what is shown. Not here:
//! how sound is made (`speaker`), where lines come from (`ears`), what they mean (`screen::hands`).
//!
//! **Invariant:** with neither, nothing is made, opened or waited for; and neither is made before the first screen is
//! painted.

use std::os::fd::BorrowedFd;
use std::thread::sleep;
use std::time::{Duration, Instant};

use engine::{Moment, Tick};
use hearing::Utterance;
use voice::Speech;

use super::clock::Timepiece;
use super::config::Listening;
use super::ears::{EarEvent, Ears};
use super::speaker::{Sound, Speaker};
use super::terminal::{Serves, Wish};
use crate::screen::exam::ExamDeed;
use crate::screen::practice::PracticeDeed;
use crate::screen::teach::TeachDeed;
use crate::screen::{Deed, Ear, Line, Published, Sensed};

/// So long after a cue a microphone may still hear it.
const ECHO_MS: u64 = 300;
/// How long the program waits at most, before it stops, for its last sound to end.
const HUSH_AT_MOST: Duration = Duration::from_millis(50);

/// What speaks and what listens.
#[derive(Debug, Default)]
pub struct Rim {
    /// Who speaks.
    pub speaker: Option<Speaker>,
    /// Where lines come from.
    pub ears: Option<Ears>,
    /// What what is shown has not been told yet.
    news: Vec<Ear>,
    /// What is to be heard if nothing else happens, as it was told last.
    plan: Option<Speech>,
}

impl Rim {
    /// Starts a speaker, if one is wanted, and opens the sources of lines, if there are any.
    pub fn start(sound: Option<&Sound>, listening: &Listening, clock: &Timepiece) -> Self {
        let speaker = sound.map(|sound| Speaker::start(sound, clock.clone()));
        let (ears, news) = if *listening == Listening::default() {
            (None, Vec::new())
        } else {
            let (ears, news) = Ears::open(listening);
            (Some(ears), news)
        };
        Self { speaker, ears, news, plan: None }
    }

    /// What is to be waited for.
    pub fn fds(&self) -> Vec<BorrowedFd<'_>> {
        let mut fds = self.ears.as_ref().map_or_else(Vec::new, Ears::fds);
        fds.extend(self.speaker.as_ref().and_then(Speaker::fd));
        fds
    }

    /// How long until it has something to do by itself.
    pub fn pause(&self) -> Option<Duration> {
        if !self.news.is_empty() {
            return Some(Duration::ZERO);
        }
        self.ears.as_ref().and_then(Ears::pause)
    }

    /// Hands over what has come.
    pub fn collect(&mut self, clock: &Timepiece, each: &mut dyn FnMut(Sensed)) {
        self.news.drain(..).for_each(|ear| each(Sensed::Ear(ear)));
        if let Some(mouth) = self.speaker.as_mut().and_then(Speaker::news) {
            each(Sensed::Mouth(mouth));
        }
        let Some(ears) = &mut self.ears else { return };
        let sounds_until = self.speaker.as_ref().and_then(Speaker::sounding_until);
        let (now, speed) = (clock.tick(), u64::from(clock.speed()));
        ears.collect(&mut |event| {
            each(match event {
                EarEvent::Line(utterance) => {
                    let ago_ms = utterance.as_ref().ok().and_then(|utterance| utterance.ago_ms).unwrap_or(0);
                    let is_over_cue = is_over_cue(now, ago_ms, speed, sounds_until);
                    // In ticks from here on, as every moment is.
                    let utterance = utterance.map(|utterance| Utterance {
                        ago_ms: utterance.ago_ms.map(|ago| ago.saturating_mul(speed.max(1))),
                        ..utterance
                    });
                    Sensed::Line(Line { utterance, is_over_cue })
                }
                EarEvent::News(ear) => Sensed::Ear(ear),
            });
        });
    }

    fn serve(&mut self, wanted: Wanted) {
        match wanted {
            Wanted::Speak(speech) => {
                if let Some(speaker) = &self.speaker {
                    match &speech {
                        Speech::Plan(_) => self.plan = Some(speech.clone()),
                        Speech::Hush => self.plan = None,
                        Speech::Say(_) => {}
                    }
                    speaker.tell(speech);
                }
            }
            Wanted::Publish(words) => self.news.extend(self.ears.as_mut().and_then(|ears| ears.publish(&words))),
            Wanted::Talk(on) => {
                if let Some(ears) = &mut self.ears {
                    ears.talk(on);
                }
            }
        }
    }

    /// The program is about to be stopped: what sounds is cut off.
    pub fn hush(&self, clock: &Timepiece) {
        let Some(speaker) = &self.speaker else { return };
        speaker.tell(Speech::Hush);
        let end = Instant::now() + HUSH_AT_MOST;
        while speaker.sounding_until().is_some_and(|until| until > clock.tick()) && Instant::now() < end {
            sleep(Duration::from_millis(2));
        }
    }

    /// The program was stopped and goes on: what was said meanwhile was said to nobody, and what was planned is planned
    /// again.
    pub fn go_on(&mut self) {
        if let (Some(speaker), Some(plan)) = (&self.speaker, &self.plan) {
            speaker.tell(plan.clone());
        }
        if let Some(ears) = &mut self.ears {
            ears.forget();
        }
    }
}

/// Whether a microphone would have heard a cue in a line that came at `now` and whose sound began `ago_ms` before. Cues
/// end in ticks, of which `speed` pass in a real millisecond.
fn is_over_cue(now: Tick, ago_ms: u64, speed: u64, sounds_until: Option<Tick>) -> bool {
    let began = now.0.saturating_sub(ago_ms.saturating_mul(speed));
    sounds_until.is_some_and(|until| began < until.0.saturating_add(ECHO_MS * speed.max(1)))
}

/// What may be wanted of the rim.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// Something is to be heard.
    Speak(Speech),
    /// The words valid now.
    Publish(Published),
    /// The recogniser is to listen, or to stop.
    Talk(bool),
}

/// A deed, some of which may be for mouth and ears.
pub trait ForRim: Sized {
    /// What of it is for mouth and ears.
    ///
    /// # Errors
    ///
    /// The deed itself, if nothing of it is.
    fn for_rim(self) -> Result<Wanted, Self> {
        Err(self)
    }
}

impl ForRim for Deed {
    fn for_rim(self) -> Result<Wanted, Self> {
        match self {
            Self::Speak(speech) => Ok(Wanted::Speak(speech)),
            Self::Publish(words) => Ok(Wanted::Publish(words)),
            Self::Talk(on) => Ok(Wanted::Talk(on)),
            other => Err(other),
        }
    }
}

impl ForRim for ExamDeed {}

impl ForRim for PracticeDeed {}

impl ForRim for TeachDeed {}

/// Records with mouth and ears before them.
#[derive(Debug)]
pub struct WithRim<R> {
    /// The records.
    pub records: R,
    /// Mouth and ears.
    pub rim: Option<Rim>,
}

impl<D: ForRim, A, R: Serves<D, A>> Serves<D, A> for WithRim<R> {
    fn carry_out(&mut self, deed: D, now: Moment, answers: &mut Vec<A>) -> Wish {
        match deed.for_rim() {
            Ok(wanted) => {
                if let Some(rim) = &mut self.rim {
                    rim.serve(wanted);
                }
                Wish::Nothing
            }
            Err(deed) => self.records.carry_out(deed, now, answers),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_over_a_cue_while_it_sounds_and_shortly_after() {
        let over = |now, ago_ms, speed, until: u64| is_over_cue(Tick(now), ago_ms, speed, Some(Tick(until)));
        assert!(!is_over_cue(Tick(0), 0, 1, None), "nothing ever sounded");
        assert!(over(1_000, 0, 1, 2_000), "it sounds");
        assert!(over(2_299, 0, 1, 2_000) && !over(2_300, 0, 1, 2_000), "its echo");
        assert!(over(2_700, 500, 1, 2_000), "the words were said during it, and took their time");
        assert!(!over(2_900, 500, 1, 2_000));
        assert!(over(2_000 + 2_999, 0, 10, 2_000) && !over(2_000 + 3_000, 0, 10, 2_000), "ten times as fast");
    }
}

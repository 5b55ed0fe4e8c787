//! What results mean on the bench, and what they call for: verdicts, the check test, papers, what no longer stands.
//!
//! Here: saying it, adding the check test, and refusing what this sample is too old for unless a reason is given. Not
//! here: how any of it is found out; that is the crate `bench`.
//!
//! **Invariant:** what is overruled is done only with a reason, and the reason is on the record of a run before it.

use bench::live::{self, Repeat, Role, Said, stand};
use bench::papers::Weight;
use crossterm::event::KeyEvent;
use engine::{Act, Event, Moment, Tick};

use super::words::{LineWords, line_words};
use super::{BenchModel, Member, Notice};
use crate::screen::cue::{Cue, CueKind};
use crate::screen::keys::Key;
use crate::screen::model::{Ask, MessageKind, Overlay};
use crate::screen::shown::Deed;
use crate::screen::update::{Effect, asking, happen, say};

/// Something this sample is too old for.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub(super) enum NotOnThisSample {
    /// Another attempt of this run.
    Again(usize),
    /// The check test of this run.
    Check(usize),
}

impl NotOnThisSample {
    fn run(self) -> usize {
        match self {
            Self::Again(n) | Self::Check(n) => n,
        }
    }
}

impl BenchModel {
    /// Takes note of what stands already, without saying it.
    pub(super) fn take_up(&mut self) {
        let mut watch = std::mem::take(&mut self.watch);
        watch.take_up(&self.seats(), &self.roles(), &self.options.facts);
        self.watch = watch;
    }

    /// A run in words, with its verdicts.
    pub(super) fn line_words(&self, seats: &[live::Seat<'_>], n: usize, now: Tick) -> LineWords {
        line_words(seats, n, now).with_verdicts(stand(seats, n, now), self.watch.judged_of(n))
    }

    /// Papers that do not hold are said before the first act.
    pub(super) fn say_papers(&mut self, now: Moment, deeds: &mut Vec<Deed>) {
        let findings: Vec<String> = self
            .watch
            .papers(&self.seats())
            .into_iter()
            .filter(|(weight, _)| *weight == Weight::Finding)
            .map(|(_, text)| text)
            .collect();
        if findings.is_empty() {
            return;
        }
        let text = format!("PAPERS: {}. It stays on the report.", findings.join("; "));
        if let Some(model) = &mut self.members[self.focus].model {
            say(model, MessageKind::Warned, text.clone());
        }
        let before = self.notice.take().map(|notice| format!("{} ", notice.text)).unwrap_or_default();
        self.announce(None, text.clone(), CueKind::Due, now.tick, deeds);
        self.notice = Some(Notice { run: None, text: format!("{before}{text}") });
    }

    /// Says what is new about verdicts, papers and what was told.
    pub(super) fn say_news(&mut self, now: Moment, deeds: &mut Vec<Deed>) {
        let mut watch = std::mem::take(&mut self.watch);
        let news = watch.look(&self.seats(), &self.roles(), &self.options.facts);
        self.watch = watch;
        for said in news {
            let n = said.run();
            let (kind, cue, text) = match said {
                Said::Verdict(judged) => {
                    let mut text = format!("{}: {}.", judged.title, judged.words());
                    if let Some(follows) = judged.follows() {
                        text.push(' ');
                        text.push_str(&follows);
                    }
                    if judged.wants_check {
                        match live::too_late_for(&self.seats(), &self.members[n].edition, now.tick) {
                            None => text.push_str(" Ctrl-K begins it."),
                            Some(because) => {
                                text.push_str(&format!(" It needs a new sample: {because}."));
                            }
                        }
                    }
                    let is_good = judged.conforms();
                    let kind = if is_good { MessageKind::Note } else { MessageKind::Warned };
                    (kind, if is_good { CueKind::Result } else { CueKind::Due }, text)
                }
                Said::Paper { text, .. } => (MessageKind::Warned, CueKind::Due, format!("{text}.")),
                Said::Stale { text, .. } => (MessageKind::Warned, CueKind::Due, format!("{text}.")),
            };
            if let Some(model) = &mut self.members[n].model {
                let is_to_stay = |kind| matches!(kind, MessageKind::Finding | MessageKind::Warned);
                let before = model.message.take().filter(|message| is_to_stay(message.kind));
                let (kind, text) = match before {
                    Some(before) => (MessageKind::Warned, format!("{} {text}", before.text)),
                    None => (kind, text.clone()),
                };
                say(model, kind, text);
            }
            let text = format!("{}: {text}", self.members[n].name);
            if cue == CueKind::Result {
                // The result itself has rung.
                deeds.push(Deed::Of(
                    n,
                    Effect::Cue(Cue { kind: cue, text: text.clone(), at: now.tick, is_clock: false }),
                ));
                if n != self.focus {
                    self.notice = Some(Notice { run: Some(n), text });
                }
                continue;
            }
            let before = self.notice.clone();
            self.announce(Some(n), text, cue, now.tick, deeds);
            if n == self.focus {
                // It stands in the run itself.
                self.notice = before;
            }
        }
    }

    // ------------------------------------------------------------------------------------------ check tests

    /// Adds the check test that is called for: of the run in focus, or of the only one.
    pub(super) fn check_test(&mut self, wanted: Option<usize>, now: Moment, deeds: &mut Vec<Deed>) {
        let (seats, roles) = (self.seats(), self.roles());
        let allowed = |n: usize| live::may_check(self.watch.judged(), &seats, &roles, n);
        let n = wanted.unwrap_or_else(|| {
            let calls = |n: &usize| self.watch.judged_of(*n).any(|judged| judged.wants_check);
            let other = (0..self.members.len()).find(|n| allowed(*n).is_ok() && calls(n));
            if allowed(self.focus).is_ok() { self.focus } else { other.unwrap_or(self.focus) }
        });
        if let Err(why) = allowed(n) {
            self.notice = Some(Notice { run: None, text: why });
            return;
        }
        if let Some(because) = live::too_late_for(&seats, &self.members[n].edition, now.tick) {
            self.overview = None;
            self.go_to(n, now, deeds);
            self.refuse(NotOnThisSample::Check(n), &because, now, deeds);
            return;
        }
        self.add_check(n, now, deeds);
    }

    fn add_check(&mut self, n: usize, now: Moment, deeds: &mut Vec<Deed>) {
        let checked = &self.members[n];
        let name = live::check_name(&checked.name, self.members.iter().map(|member| member.name.as_str()));
        let mut member = Member::new(name.clone(), std::sync::Arc::clone(&checked.edition), checked.ties);
        member.role = Role { check_of: Some(checked.name.clone()), ..checked.role.clone() };
        member.purpose = Some(format!("check test of {}", checked.name));
        self.add(member);
        deeds.push(Deed::Add { check_of: n, name, at: now });
        self.go_to(self.members.len() - 1, now, deeds);
    }

    // ------------------------------------------------------------------------------------------ too late

    fn refuse(&mut self, what: NotOnThisSample, because: &str, now: Moment, deeds: &mut Vec<Deed>) {
        let n = what.run();
        let text = format!("A new sample is needed: {because}. On this one all the same: o, with a reason.");
        if let Some(model) = &mut self.members[n].model {
            say(model, MessageKind::Refused, text.clone());
        }
        let cue = Cue {
            kind: CueKind::Refused,
            text: format!("{}: {text}", self.members[n].name),
            at: now.tick,
            is_clock: false,
        };
        deeds.push(Deed::Of(n, Effect::Cue(cue)));
        self.refused = Some(what);
    }

    /// The big key where it would begin another attempt that this sample is too old for.
    pub(super) fn next_is_too_late(&mut self, now: Moment, deeds: &mut Vec<Deed>) -> bool {
        let n = self.focus;
        let Some(model) = self.members[n].model.as_ref().filter(|model| model.overlay.is_none()) else { return false };
        if model.run.offer(now.tick).act != Act::Again {
            return false;
        }
        let Repeat::NewSample { because } = live::repeat(&self.seats(), n, now.tick) else { return false };
        self.refuse(NotOnThisSample::Again(n), &because, now, deeds);
        true
    }

    /// The key that goes on against a refusal, where the bench has refused: asks for the reason.
    pub(super) fn overrules(&mut self) -> bool {
        let Some(what) = self.refused.filter(|what| what.run() == self.focus) else { return false };
        let Some(model) = self.members[what.run()].model.as_mut().filter(|model| model.overlay.is_none()) else {
            return false;
        };
        let what = Ask::OverruleReason(Box::new(Event::Again));
        model.overlay = Some(asking(model, what));
        true
    }

    /// The reason is given: it is recorded, and then what was refused is done.
    pub(super) fn gives_reason(&mut self, event: &KeyEvent, now: Moment, deeds: &mut Vec<Deed>) -> bool {
        if Key::of(event) != Some(Key::Enter) {
            return false;
        }
        let Some(what) = self.refused.filter(|what| what.run() == self.focus) else { return false };
        let Some(model) = self.members[what.run()].model.as_mut() else { return false };
        let reason = match &model.overlay {
            Some(Overlay::Ask { what: Ask::OverruleReason(event), field })
                if **event == Event::Again && !field.is_blank() =>
            {
                field.text.trim().to_owned()
            }
            _ => return false,
        };
        model.overlay = None;
        self.refused = None;
        let of = match what {
            NotOnThisSample::Again(_) => "Repeated",
            NotOnThisSample::Check(_) => "Check test made",
        };
        let mut effects = Vec::new();
        let text = format!("{of} on this sample although its time was over: {reason}");
        let is_on_record = happen(model, Event::Remark { text }, now, &mut effects);
        if is_on_record && matches!(what, NotOnThisSample::Again(_)) {
            happen(model, Event::Again, now, &mut effects);
        }
        self.hand_on(what.run(), effects, deeds);
        if let (true, NotOnThisSample::Check(n)) = (is_on_record, what) {
            self.add_check(n, now, deeds);
        }
        true
    }

    /// What was refused is forgotten with the next act.
    pub(super) fn forget_refusal(&mut self) {
        self.refused = None;
    }
}

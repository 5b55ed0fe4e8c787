//! Marks that a clock or a counter gives by itself.
//!
//! Here: what the clock runs and counts of one act come to, in words. Not here: the rule for one span or one count, which
//! is `engine::measured`, the same for a run and for a mark.

use engine::measured::{Counted, Lasted, is_over, judge_count, to_the_tenth};

use super::trial::{ClockRun, Record};
use crate::event::Mark;
use crate::marksheet::{ClockSpec, CountSpec, Item};

/// A mark with what the clock or the counter says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Judged {
    pub mark: Mark,
    pub because: String,
}

/// What clock and counter say of an act; `None` as long as they say nothing.
///
/// `counting` says that nothing else was touched since the last count, so that it may still grow.
pub(crate) fn judge(item: &Item, record: &Record, counting: bool) -> Option<Judged> {
    let clock = item.clock.as_ref().and_then(|spec| by_clock(spec, record, item.repeats));
    let count = item.count.as_ref().and_then(|spec| by_count(spec, record, item.repeats, counting));
    match (clock, count) {
        (Some(clock), Some(count)) if clock.mark == Mark::Done => Some(count),
        (clock, count) => clock.or(count),
    }
}

fn by_clock(spec: &ClockSpec, record: &Record, repeats: bool) -> Option<Judged> {
    let all = record.runs.len();
    let from = if repeats { 0 } else { all.saturating_sub(1) };
    let mut kept = None;
    for (round, run) in record.runs.iter().enumerate().skip(from) {
        let judged = run_judged(spec, run);
        match judged {
            Some(Err(because)) => {
                let because = if repeats && all > 1 { format!("round {}: {because}", round + 1) } else { because };
                return Some(Judged { mark: Mark::Missed, because });
            }
            Some(Ok(because)) => kept = Some(Judged { mark: Mark::Done, because }),
            None => kept = None,
        }
    }
    kept
}

/// `Ok` if all bounds were kept, `Err` if not, with what is said; `None` while it runs.
fn run_judged(spec: &ClockSpec, run: &ClockRun) -> Option<Result<String, String>> {
    let stopped = run.stopped?;
    let mut moments = vec![run.started.tick];
    moments.extend(run.turns.iter().map(|turn| turn.tick));
    moments.push(stopped.tick);
    let spans = moments.windows(2).map(|pair| pair[1].since(pair[0]));
    if spec.by_readings {
        let shortest = spans.min()?;
        let judged = spec.bounds().judge(shortest);
        return Some(if judged.is_kept() {
            Ok(format!("readings {judged} apart or more"))
        } else {
            Err(format!("readings only {judged} from one to the next"))
        });
    }
    let whole = spec.bounds().judge(stopped.tick.since(run.started.tick));
    if !whole.is_kept() {
        let verb = if matches!(whole, Lasted::TooShort { .. }) { "only" } else { "it took" };
        return Some(Err(format!("{verb} {whole}")));
    }
    if let Some(at_most) = spec.down_at_most {
        let longest = spans.step_by(2).max().unwrap_or_default();
        if is_over(at_most, longest) {
            let down = spec.down.as_deref().unwrap_or("in the limited position");
            return Some(Err(format!("{down} {} at a time; at most {at_most}", to_the_tenth(longest, true))));
        }
    }
    Some(Ok(format!("it took {whole}")))
}

fn by_count(spec: &CountSpec, record: &Record, repeats: bool, counting: bool) -> Option<Judged> {
    let all = record.counts.len();
    let from = if repeats { 0 } else { all.saturating_sub(1) };
    let mut kept = None;
    for (round, n) in record.counts.iter().enumerate().skip(from) {
        let of = &spec.of;
        let off = match judge_count(spec.at_least, spec.at_most, *n) {
            Counted::Right => {
                kept = Some(Judged { mark: Mark::Done, because: format!("{n} {of} counted") });
                continue;
            }
            Counted::TooFew { .. } if counting && round + 1 == all => {
                kept = None;
                continue;
            }
            Counted::TooFew { missing } => format!("{n} {of} counted, {missing} too few"),
            Counted::TooMany { over } => format!("{n} {of} counted, {over} too many"),
        };
        let because = if repeats && all > 1 { format!("round {}: {off}", round + 1) } else { off };
        return Some(Judged { mark: Mark::Missed, because });
    }
    kept
}

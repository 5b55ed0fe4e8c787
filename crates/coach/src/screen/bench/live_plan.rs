//! The plan of a bench while it is under way: made at the opening, made again when something has happened.
//!
//! Here: when a plan is made, the order the bench follows by it, its rows on the screen. Not here: the search
//! (`bench::planning`).
//!
//! **Invariant:** the plan only proposes. It refuses nothing, and what the person does first is planned around.

use bench::live;
use bench::planning::{self, BlockKind, Chosen, DayPlan, Planner, Seated};
use engine::{Moment, Tick};
use quantity::Span;

use super::{BenchModel, Notice};

/// A plan is not made again sooner than this, unless the last portion has just been taken.
const AGAIN_AFTER: Span = Span::from_secs(5);
/// Nodes of the search: a plan for six tests takes some hundreds, and a key must not wait for more.
const NODES: u64 = 20_000;
/// The moment the plan counts from.
const LAST_PORTION: &str = "last-portion";

/// The plan of a bench.
#[derive(Clone, Debug)]
pub(crate) struct LivePlan {
    planner: Planner,
    planned: Option<DayPlan>,
    /// When the last portion was in, as the plan knew it.
    zero: Option<Tick>,
    /// How many acts there had been.
    n_acts: u32,
    made: Tick,
}

impl BenchModel {
    /// Follows the plans of `planner` from now on.
    pub(super) fn follow(&mut self, mut planner: Planner, now: Moment) {
        planner.is_neat = false;
        planner.effort.nodes = NODES;
        self.plan = Some(LivePlan { planner, planned: None, zero: None, n_acts: 0, made: Tick(0) });
        self.replan(now);
    }

    /// Makes the plan again if something has happened since, and says so if a window is to break that was to be kept.
    pub(super) fn replan(&mut self, now: Moment) {
        let n_acts = self.members.iter().filter_map(|member| member.run()).map(engine::Run::n_accepted).sum();
        let zero = live::marked(&self.seats(), LAST_PORTION).map(|(_, at)| at.tick);
        let Some(mut plan) = self.plan.take() else { return };
        let is_new = plan.planned.is_none() || plan.zero != zero;
        if is_new || (plan.n_acts != n_acts && now.tick.since(plan.made) >= AGAIN_AFTER) {
            for member in self.members.iter().skip(plan.planner.chosen.len()) {
                plan.planner.chosen.push(Chosen::new(member.name.clone(), std::sync::Arc::clone(&member.edition)));
            }
            let planned = match zero {
                None => plan.planner.plan(),
                Some(zero) => {
                    let last_portion_ms = i64::try_from(zero.0).unwrap_or(i64::MAX);
                    let members = self.members.iter();
                    let seats: Vec<_> = members.map(|member| Seated { run: member.run(), last_portion_ms }).collect();
                    plan.planner.replan(&seats, seconds(now.tick, zero))
                }
            };
            if let Ok(planned) = planned {
                self.say_what_breaks(plan.planned.as_ref(), &planned);
                self.options.order =
                    order(&planned, zero.map_or(0, |zero| seconds(now.tick, zero)), self.members.len());
                plan.planned = Some(planned);
            }
            (plan.zero, plan.n_acts, plan.made) = (zero, n_acts, now.tick);
        }
        self.plan = Some(plan);
    }

    fn say_what_breaks(&mut self, before: Option<&DayPlan>, planned: &DayPlan) {
        let was_broken = |of| before.is_some_and(|before| before.told.broken.iter().any(|broken| broken.of == of));
        let Some(broken) = planned.told.broken.iter().find(|broken| !was_broken(broken.of)) else { return };
        let window = planned.day.problem.name_of(broken.of);
        let by = Span::from_secs(broken.by.unsigned_abs());
        let text = format!("As things stand a window will break by {by}: {window}.");
        self.notice = Some(Notice { run: None, text });
    }

    /// The plan as rows of signs, `columns` wide: name and bar. Empty if there is no plan.
    pub(super) fn plan_rows(&self, now: Tick, columns: usize) -> Vec<(String, String)> {
        let Some(plan) = &self.plan else { return Vec::new() };
        let Some(planned) = &plan.planned else { return Vec::new() };
        let timeline = planning::timeline(planned);
        let span = (timeline.to - timeline.from).max(1);
        let columns = columns.max(1);
        let at = |time: i64| {
            let column = (time - timeline.from) * i64::try_from(columns).unwrap_or(1) / span;
            usize::try_from(column).unwrap_or(0).min(columns - 1)
        };
        let passed = plan.zero.map(|zero| seconds(now, zero));
        let rows = timeline.rows.iter().map(|row| {
            let mut cells = vec![' '; columns];
            for block in &row.blocks {
                let sign = match block.kind {
                    BlockKind::Waiting => '·',
                    BlockKind::Attended if passed.is_some_and(|passed| block.to <= passed) => '=',
                    BlockKind::Attended => '#',
                };
                let (from, to) = (at(block.from), at((block.to - 1).max(block.from)));
                cells[from..=to].fill(sign);
            }
            for (closes, is_kept) in &row.closes {
                cells[at(*closes)] = if *is_kept { ']' } else { '!' };
            }
            if let Some(passed) = passed.filter(|passed| (timeline.from..timeline.to).contains(passed)) {
                cells[at(passed)] = '│';
            }
            (row.name.clone(), cells.into_iter().collect())
        });
        let mut rows: Vec<(String, String)> = rows.collect();
        let minutes = (timeline.to / 60).to_string();
        let room = columns.saturating_sub(1 + minutes.len());
        rows.push(("minutes".to_owned(), format!("0{:room$}{minutes}", "")));
        rows
    }
}

/// Whole seconds from `zero` to `tick`, before it negative.
fn seconds(tick: Tick, zero: Tick) -> i64 {
    let ms = |tick: Tick| i64::try_from(tick.0).unwrap_or(i64::MAX);
    (ms(tick) - ms(zero)).div_euclid(1_000)
}

/// The order of a plan from a moment on; tests it has nothing more for come last, in their own order.
fn order(planned: &DayPlan, at: i64, n: usize) -> Vec<usize> {
    let mut order = planned.order_from(at);
    order.retain(|test| *test < n);
    let rest: Vec<usize> = (0..n).filter(|test| !order.contains(test)).collect();
    order.extend(rest);
    order
}

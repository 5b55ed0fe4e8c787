//! What is due today, over all methods.
//!
//! Here: which items are asked in so many minutes, in which order, and why each of them. Not here: what happens in the
//! session ([`crate::session`]).
//!
//! First what was missed, then what is due, the most forgotten first, then new items, so many a day. What was chosen is
//! then put in order: one method after the other in turn, and within a method first the numbers, then the acts, then what
//! usually goes wrong, each as the procedure goes; so the explanation of one question does not tell the next.
//!
//! **Invariant:** the same decks, standings, day and minutes give the same queue, and it never takes longer than the
//! minutes by its own estimate, except that it holds at least one item if any is due.

use std::cmp::Reverse;

use crate::deck::{Deck, Item, Kind};
use crate::help::Help;
use crate::standing::{Miss, Standings, median};

/// What the queue goes by.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// New items a day, over all methods. Chosen, no source: what is new today comes back tomorrow and in some days.
    pub new_per_day: usize,
    /// How long an item is thought to take before the person's own times are known, in milliseconds. Chosen.
    pub item_ms: u64,
    /// How long it takes to read an act that is shown, in milliseconds. Chosen.
    pub tell_ms: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { new_per_day: 20, item_ms: 12_000, tell_ms: 6_000 }
    }
}

/// Why an item is asked today.
#[derive(Copy, Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// It was missed the last time.
    Missed {
        /// On this day.
        day: i64,
        /// At a question, on a timed run, or in an exam.
        place: Miss,
    },
    /// It is due.
    Due {
        /// Since this day.
        since: i64,
    },
    /// It was never asked.
    New,
}

impl Why {
    /// The reason for a person, on `today`: `missed yesterday`, `due 3 days ago`, `new`.
    pub fn words(self, today: i64) -> String {
        let ago = |day: i64| match today - day {
            ..=0 => "today".to_owned(),
            1 => "yesterday".to_owned(),
            days => format!("{days} days ago"),
        };
        match self {
            Why::Missed { day, place: Miss::InPractice } => format!("missed {}", ago(day)),
            Why::Missed { day, place: Miss::OnRun } => format!("missed on a timed run {}", ago(day)),
            Why::Missed { day, place: Miss::InExam } => format!("missed in an exam {}", ago(day)),
            Why::Due { since } if since >= today => "due today".to_owned(),
            Why::Due { since } => format!("due {}", ago(since)),
            Why::New => "new".to_owned(),
        }
    }
}

/// An item in the queue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Queued {
    /// Its deck, by its place among those given.
    pub deck: usize,
    /// Its key.
    pub item: String,
    /// How long it is thought to take, in milliseconds.
    pub ms: u64,
    /// Why it is asked.
    pub why: Why,
}

/// What is asked today.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Queue {
    /// The items, in the order they are asked.
    pub items: Vec<Queued>,
    /// How long they are thought to take, in milliseconds.
    pub ms: u64,
    /// Missed or due, but there was no time for them.
    pub left_over: usize,
}

/// The order of new items: methods that were begun first, otherwise one method after the other; acts and numbers before
/// what usually goes wrong; as the procedure goes.
type NewOrder = (bool, usize, bool, usize, usize);

/// What is due on `today` over all `decks`, as much of it as `minutes` hold.
pub fn queue(decks: &[Deck], standings: &Standings, today: i64, minutes: u32, limits: &Limits) -> Queue {
    let mut asked: Vec<(Queued, u32)> = Vec::new();
    let mut new: Vec<(NewOrder, Queued)> = Vec::new();
    let mut n_new_today = 0;
    for (at, deck) in decks.iter().enumerate() {
        let is_begun = deck.items().iter().any(|item| standings.get(&item.key).is_some());
        for (place, item) in deck.items().iter().enumerate() {
            let ms = estimate(deck, item, standings, limits);
            let queued = |why: Why| Queued { deck: at, item: item.key.clone(), ms, why };
            match standings.get(&item.key) {
                Some(standing) => {
                    n_new_today += usize::from(standing.first == today);
                    if standing.due <= today {
                        let recall = standings.recall_per_mille(&item.key, today).unwrap_or(0);
                        let why = match standing.missed {
                            Some(place) => Why::Missed { day: standing.last, place },
                            None => Why::Due { since: standing.due },
                        };
                        asked.push((queued(why), recall));
                    }
                }
                None => {
                    // A method that was begun is brought to its end before the next one is begun.
                    let deck_order = if is_begun { 0 } else { at };
                    let is_aside = matches!(item.kind, Kind::Slip | Kind::Incident);
                    new.push(((!is_begun, deck_order, is_aside, place, at), queued(Why::New)));
                }
            }
        }
    }
    asked.sort_by_key(|(queued, recall)| (Reverse(matches!(queued.why, Why::Missed { .. })), *recall));
    new.sort_by_key(|(order, _)| *order);
    let n_new = limits.new_per_day.saturating_sub(n_new_today);
    let n_due = asked.len();

    let budget = u64::from(minutes) * 60_000;
    let mut queue = Queue::default();
    let candidates = asked.into_iter().map(|(queued, _)| queued).chain(new.into_iter().map(|(_, new)| new).take(n_new));
    for queued in candidates {
        let is_first = queue.items.is_empty() && minutes > 0;
        if queue.ms + queued.ms > budget && !is_first {
            break;
        }
        queue.ms += queued.ms;
        queue.items.push(queued);
    }
    queue.left_over = n_due - queue.items.iter().filter(|queued| queued.why != Why::New).count();
    queue.items = in_turn(decks, queue.items);
    queue
}

/// How long an item is thought to take: the middle of the person's own times for it, else of the same kind of item in
/// its method.
fn estimate(deck: &Deck, item: &Item, standings: &Standings, limits: &Limits) -> u64 {
    let own = standings.get(&item.key).and_then(|standing| median(&standing.took_ms));
    let alike = || {
        let same = deck.items().iter().filter(|other| other.kind == item.kind);
        let times: Vec<u64> =
            same.filter_map(|other| standings.get(&other.key).and_then(|standing| median(&standing.took_ms))).collect();
        median(&times)
    };
    let asking = own.or_else(alike).unwrap_or(limits.item_ms);
    asking + if standings.level(&item.key) == Help::Shown { limits.tell_ms } else { 0 }
}

/// One method after the other in turn, each in the order of its procedure; what would tell a later question comes after it.
fn in_turn(decks: &[Deck], items: Vec<Queued>) -> Vec<Queued> {
    let mut by_deck: Vec<Vec<((u8, usize), Queued)>> = vec![Vec::new(); decks.len()];
    for queued in items {
        let items = decks[queued.deck].items();
        let place = items.iter().position(|item| item.key == queued.item).unwrap_or(0);
        let kind = match items.get(place).map(|item| item.kind) {
            Some(Kind::Number) => 0,
            Some(Kind::Act) => 1,
            Some(Kind::Slip | Kind::Incident) | None => 2,
        };
        by_deck[queued.deck].push(((kind, place), queued));
    }
    let mut turns: Vec<_> = by_deck
        .into_iter()
        .map(|mut items| {
            items.sort_by_key(|(place, _)| *place);
            items.into_iter().map(|(_, queued)| queued)
        })
        .collect();
    let mut ordered = Vec::new();
    loop {
        let before = ordered.len();
        ordered.extend(turns.iter_mut().filter_map(Iterator::next));
        if ordered.len() == before {
            return ordered;
        }
    }
}

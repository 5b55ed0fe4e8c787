//! Asking a run what is due costs no memory: a sleeping program may ask at every tick.

#![allow(unsafe_code, reason = "counting allocations takes an allocator of its own")]

mod common;

use std::alloc::{GlobalAlloc, Layout, System as Heap};
use std::cell::Cell;

use common::Technician;
use engine::{Event, Phase, Tick};

struct Counting;

thread_local! {
    static N_ALLOCATIONS: Cell<u64> = const { Cell::new(0) };
}

// SAFETY: every call is handed on to the system's allocator unchanged.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        // A thread that is ending has no count any more; it is not asked for one.
        let _ = N_ALLOCATIONS.try_with(|n| n.set(n.get() + 1));
        // SAFETY: as above.
        unsafe { Heap.alloc(layout) }
    }
    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: as above.
        unsafe { Heap.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

fn allocations(what: impl FnOnce()) -> u64 {
    let before = N_ALLOCATIONS.get();
    what();
    N_ALLOCATIONS.get() - before
}

#[test]
fn what_is_due_is_answered_without_allocating_at_every_step() {
    assert!(allocations(|| drop(std::hint::black_box(vec![1_u8]))) > 0, "allocations are seen");
    let mut tech = Technician::air();
    // A limit that counts from a moment told from outside is asked too.
    let at = tech.now();
    tech.event(Event::Known { moment: 0, at });
    let mut n_steps = 0;
    while tech.run.phase() == Phase::AtStep {
        for later in [0, 700, 4_000, 61_000] {
            let now = Tick(tech.now_ms + later);
            let n = allocations(|| {
                std::hint::black_box(tech.run.next_wake(now));
                std::hint::black_box(tech.run.clocks(now).count());
                std::hint::black_box(tech.run.offer(now).act == engine::Act::Nothing);
                std::hint::black_box(tech.run.press(now).is_some());
            });
            assert_eq!(n, 0, "at {} and {later} ms later", tech.step_name());
        }
        tech.as_it_should_be();
        n_steps += 1;
    }
    assert!(n_steps > 60, "a whole run was asked");
}

#!/usr/bin/env python3
"""Makes the reference instances of the planner and their proven optima.

An independent solver (CP-SAT of OR-tools) solves every instance twice: first for the least possible largest
lateness, then, with that lateness held, for the earliest end of the last attended work. Only answers it has
proven optimal are written. Nothing is shared with the planner's own search but the meaning of an instance,
which README.md beside this file states.

Usage: generate.py OUT.json
"""

import datetime
import json
import random
import sys

import ortools
from ortools.sat.python import cp_model

SEED = 20240917
SECONDS = 120.0  # for one solve; an instance that is not proven in this time stops the run

FIXED, START, END = 0, 1, 2


# ---------------------------------------------------------------------------------------------- instances


class Day:
    """One instance while it is made."""

    def __init__(self, name, hands=1):
        self.name, self.hands, self.tests, self.windows = name, hands, [], []

    def test(self, segments, ready=0):
        """segments: (lasts, least wait after it, longest wait after it or None)"""
        self.tests.append((ready, segments))
        return len(self.tests) - 1

    def window(self, start, to, least=None, most=None):
        self.windows.append((start, to, least, most))


def sample_day(rng, name, count, hands=1, tight=1.0, moulded=True, results=True):
    """A day beside the truck: tests to be begun within minutes of the sample, waits that need no hands."""
    day = Day(name, hands)
    kinds = ["slump", "temperature", "air", "density", "mould", "water", "volumetric", "flow"]
    firsts = kinds[:5] if count >= 5 else kinds[:count]
    chosen = firsts + [rng.choice(kinds[1:]) for _ in range(count - len(firsts))]
    rng.shuffle(chosen)
    start = int(300 * tight)
    slumps = []
    for index, kind in enumerate(chosen):
        at = (FIXED, rng.choice([0, 0, 0, 30]), 0)
        if kind == "slump":
            test = day.test([(rng.randint(70, 110), 0, None), (rng.randint(15, 30), 0, None)])
            day.window(at, (START, test, 0), most=start)
            day.window((START, test, 0), (END, test, 1), most=150)
            slumps.append(test)
        elif kind == "temperature":
            test = day.test([(rng.randint(10, 25), 120, rng.choice([None, 300])), (rng.randint(8, 20), 0, None)])
            day.window(at, (START, test, 0), most=start)
        elif kind == "air":
            test = day.test([(rng.randint(150, 260), 0, None), (rng.randint(20, 60), rng.choice([0, 5]), None), (rng.randint(20, 40), 0, None)])
            day.window(at, (START, test, 0), most=start)
        elif kind == "density":
            test = day.test([(rng.randint(120, 200), 0, None), (rng.randint(30, 60), 0, None)])
            if results and slumps:
                day.window((END, slumps[0], 1), (START, test, 0), least=0)
        elif kind == "mould":
            layers = rng.randint(2, 3)
            test = day.test([(rng.randint(60, 120), 0, None) for _ in range(layers)])
            if moulded:
                day.window(at, (START, test, 0), most=int(900 * tight))
        elif kind == "volumetric":
            test = day.test([
                (rng.randint(180, 260), 0, None),
                (rng.randint(60, 90), 120, 360),
                (rng.randint(8, 20), 120, 360),
                (rng.randint(8, 20), 0, None),
            ])
            day.window(at, (START, test, 0), most=int(600 * tight))
        elif kind == "water":
            test = day.test([(rng.randint(20, 40), 240, 600), (rng.randint(20, 40), 0, None)])
        else:
            test = day.test([(rng.randint(40, 80), 15, 60), (rng.randint(15, 30), 0, None)], ready=rng.choice([0, 60, 200]))
    return day


def random_day(rng, name, count, hands=1, span=(1, 30), waits=(0, 40), segments=(1, 3), tight=0.8, least=True,
               ties=False, zero_waits=False, zero_work=False, ready=(0, 40)):
    """No trade in it: anything the model can say."""
    day = Day(name, hands)
    for _ in range(count):
        work = []
        for _ in range(rng.randint(*segments)):
            lasts = 10 if ties else rng.randint(*span)
            if zero_work and rng.random() < 0.2:
                lasts = 0
            wait, longest = 0, None
            if zero_waits and rng.random() < 0.5:
                longest = 0
            elif rng.random() < 0.5:
                wait = (20 if ties else rng.randint(*waits))
                longest = rng.choice([None, wait, wait + rng.randint(0, 30)])
            work.append((lasts, wait, longest))
        day.test(work, 0 if ties else rng.choice([0, rng.randint(*ready)]))
    total = sum(lasts for _, work in day.tests for lasts, _, _ in work)
    for test, (first, work) in enumerate(day.tests):
        if rng.random() < 0.7:
            day.window((FIXED, rng.randint(0, 5), 0), (rng.choice([START, END]), test, rng.randrange(len(work))),
                       most=int(first + tight * total * rng.uniform(0.3, 1.2) / hands))
        if len(work) > 1 and rng.random() < 0.4:
            alone = sum(lasts + wait for lasts, wait, _ in work)
            day.window((START, test, 0), (END, test, len(work) - 1), most=int(alone * rng.uniform(1.0, 1.6)))
    if least and count > 1:
        # From an earlier test to a later one, so that no order bites its own tail.
        for _ in range(rng.randint(1, max(1, count // 2))):
            one, other = sorted(rng.sample(range(count), 2))
            a, b = rng.randrange(len(day.tests[one][1])), rng.randrange(len(day.tests[other][1]))
            longest = rng.choice([None, None, rng.randint(50, 150)])
            day.window((rng.choice([START, END]), one, a), (START, other, b), least=rng.randint(0, 30), most=longest)
    return day


def instances():
    rng = random.Random(SEED)
    made = []

    def add(day):
        made.append(day)

    for count in range(1, 13):
        for turn in range(5):
            add(sample_day(rng, f"day of {count}, {turn}", count, tight=[1.0, 1.6, 2.5, 4.0, 0.6][turn]))
    for count in (3, 4, 5, 5, 6, 6):
        for turn in range(3):
            add(sample_day(rng, f"two pairs, day of {count}, {len(made)}", count, hands=2, tight=[1.0, 0.6, 1.6][turn]))
    for turn in range(10):
        add(sample_day(rng, f"twelve with room, {turn}", 12, tight=6.0 + turn))
    for turn in range(40):
        add(random_day(rng, f"random, {turn}", rng.randint(1, 6), tight=rng.choice([0.5, 0.8, 1.2])))
    for turn in range(20):
        add(random_day(rng, f"ties, {turn}", rng.randint(2, 6), ties=True))
    for turn in range(20):
        add(random_day(rng, f"no waiting, {turn}", rng.randint(2, 6), zero_waits=True))
    for turn in range(30):
        add(random_day(rng, f"two pairs, {turn}", rng.randint(2, 6), hands=2))
    for turn in range(5):
        add(random_day(rng, f"three pairs, {turn}", rng.randint(3, 6), hands=3))
    for turn in range(15):
        add(random_day(rng, f"work that takes no time, {turn}", rng.randint(2, 5), hands=1 + turn % 2, zero_work=True))
    for turn in range(10):
        add(random_day(rng, f"before the sample, {turn}", rng.randint(2, 5), ready=(-60, 20)))
    for turn in range(12):
        add(random_day(rng, f"random of 8, {turn}", 8, segments=(1, 2), tight=rng.choice([0.6, 1.0, 1.5])))
    return made


# ---------------------------------------------------------------------------------------------- the reference


def solve(day):
    """The least largest lateness, then the earliest end: both proven."""
    weights = [abs(ready) for ready, _ in day.tests]
    weights += [lasts + wait for _, work in day.tests for lasts, wait, _ in work]
    weights += [abs(least or 0) + abs(most or 0) for _, _, least, most in day.windows]
    horizon = sum(weights) + 1000
    model = cp_model.CpModel()
    late = model.new_int_var(0, 2 * horizon, "late")
    end = model.new_int_var(-horizon, horizon, "end")
    starts, held = {}, []
    for test, (ready, work) in enumerate(day.tests):
        for at, (lasts, _, _) in enumerate(work):
            start = model.new_int_var(ready, horizon, f"s{test}_{at}")
            starts[test, at] = start
            if lasts > 0:
                held.append(model.new_fixed_size_interval_var(start, lasts, f"i{test}_{at}"))
            model.add(end >= start + lasts)
        for at in range(len(work) - 1):
            lasts, wait, longest = work[at]
            model.add(starts[test, at + 1] >= starts[test, at] + lasts + wait)
            if longest is not None:
                model.add(starts[test, at + 1] <= starts[test, at] + lasts + longest + late)

    def moment(point):
        kind, a, b = point
        if kind == FIXED:
            return a
        return starts[a, b] + (day.tests[a][1][b][0] if kind == END else 0)

    for start, to, least, most in day.windows:
        if least is not None:
            model.add(moment(to) - moment(start) >= least)
        if most is not None:
            model.add(moment(to) - moment(start) <= most + late)
    if day.hands == 1:
        model.add_no_overlap(held)
    else:
        model.add_cumulative(held, [1] * len(held), day.hands)

    def best(of):
        model.minimize(of)
        solver = cp_model.CpSolver()
        solver.parameters.random_seed = 1
        solver.parameters.num_workers = 4
        solver.parameters.max_time_in_seconds = SECONDS
        status = solver.solve(model)
        if status != cp_model.OPTIMAL:
            raise SystemExit(f"{day.name}: {solver.status_name(status)}, nothing written")
        return round(solver.objective_value)

    lateness = best(late)
    model.add(late == lateness)
    return lateness, best(end)


def main():
    rows = []
    for day in instances():
        lateness, ends = solve(day)
        rows.append({
            "name": day.name,
            "hands": day.hands,
            "tests": [[ready, [list(segment) for segment in work]] for ready, work in day.tests],
            "windows": [[list(start), list(to), least, most] for start, to, least, most in day.windows],
            "lateness": lateness,
            "ends": ends,
        })
        print(f"{day.name}: {len(day.tests)} tests, lateness {lateness}, ends {ends}", file=sys.stderr)
    head = {
        "generator": "crates/plan/reference/generate.py",
        "reference": f"OR-tools {ortools.__version__}, CP-SAT",
        "seed": SEED,
        "date": datetime.date.today().isoformat(),
    }
    lines = ",\n".join(json.dumps(row, separators=(",", ":")) for row in rows)
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        out.write(json.dumps(head)[:-1] + ', "instances": [\n' + lines + "\n]}\n")
    print(f"{len(rows)} instances", file=sys.stderr)


if __name__ == "__main__":
    main()

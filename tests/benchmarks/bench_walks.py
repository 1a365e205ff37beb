"""Simulated comebacks walked in the bay: found, minutes, steps, handed over; by cause and in all.

  python tests/benchmarks/bench_walks.py --each 3 --seed 1        # three cars per cause
  python tests/benchmarks/bench_walks.py --cause duct-loose --show
  COMEBACK_KNOWLEDGE=folder python tests/benchmarks/bench_walks.py

A car has one true cause and answers as in engine/rehearsal/simulation.py; the complaint is one that its
symptoms bear out. Minutes are the planner's: checks with their set-ups, repairs with parts and
proof; repair and proof of the last candidate are always paid. `comeback rehearse` draws cars as
they come instead, with several causes and wrong answers, and compares ways to work.
This measures the chooser against its own knowledge, not the knowledge against the world.
"""

import argparse
import os
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: each core walks a car of its own

import numpy as np

from comeback.engine.rehearsal.rehearsal import HANDED_OVER, RIGHT_SPECIALIST, guided_end
from comeback.engine.rehearsal.simulated_walk import ENDS, MOST_STEPS, Gone, respond
from comeback.engine.rehearsal.simulation import Car, Chance, Person, complaints_shown, culprits
from comeback.engine.walk import steps
from comeback.engine.walk.walk import begin_walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import FEATURES, Audience

KNOWLEDGE = load_knowledge(*(Path(folder) for folder in os.environ.get("COMEBACK_KNOWLEDGE", "").split() if folder))
MOST_CARS = 300


def car_with(cause: str, service: str, seed: int) -> tuple[Car, str] | None:
    """A car with this cause, built so that it can have it, and a complaint; None if nobody would notice anything."""
    for attempt in range(MOST_CARS):
        chance = Chance(seed * MOST_CARS + attempt)
        build = {
            feature: (possible := KNOWLEDGE.causes[cause].only_if.get(feature, values))[
                int(chance.of("build", feature) * len(possible))
            ]
            for feature, values in FEATURES.items()
        }
        car = Car(KNOWLEDGE, chance, {cause}, build)
        fitting = complaints_shown(car, service)
        if fitting:
            return car, fitting[int(chance.of("complaint") * len(fitting))]
    return None


def walk_car(cause: str, seed: int, show: bool = False) -> dict:
    """Walk one car with this cause to the end of its case."""
    service = KNOWLEDGE.causes[cause].service or next(iter(KNOWLEDGE.services))
    found = car_with(cause, service, seed)
    if found is None:
        return {"cause": cause, "end": "not noticed", "minutes": 0.0, "steps": 0, "slowest": 0.0}
    car, complaint = found
    behind, person = culprits(car, complaint), Person(car, "bay")
    walk = begin_walk(KNOWLEDGE, service, complaint, Audience.BAY)
    minutes, slowest, count = 0.0, 0.0, 0
    while True:
        start = time.perf_counter()
        step = walk.step
        slowest = max(slowest, time.perf_counter() - start)
        if show:
            print(f"  {minutes:6.1f}  {step}")
        if isinstance(step, ENDS) or count == MOST_STEPS:
            break
        count += 1
        spent, walk = respond(walk, step, person)
        minutes += spent
    end = guided_end(Gone(walk, step, minutes, count), car, behind)
    if end in (HANDED_OVER, RIGHT_SPECIALIST) and not (isinstance(step, steps.HandOver) and step.repair):
        minutes += KNOWLEDGE.settings.hand_over_minutes
    return {
        "cause": cause, "complaint": complaint, "end": end, "minutes": minutes, "steps": count, "slowest": slowest,
    }  # fmt: skip


def main() -> None:
    """Walk the cars on all cores and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", type=int, default=2, help="cars per cause")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cause", help="only this cause")
    parser.add_argument("--show", action="store_true", help="print every step")
    given = parser.parse_args()
    causes = [given.cause] if given.cause else list(KNOWLEDGE.causes)
    jobs = [(cause, given.seed * 1000 + n) for cause in causes for n in range(given.each)]
    if given.show:
        rows = [walk_car(cause, seed, show=True) for cause, seed in jobs]
    else:
        with ProcessPoolExecutor() as pool:
            rows = list(pool.map(walk_car, *zip(*jobs, strict=True)))
    report(rows)


def report(rows: list[dict]) -> None:
    """By cause, then weighted by how often each cause brings a car back."""
    print("| cause | cars | ends | minutes | steps |\n|---|--:|---|--:|--:|")
    for cause in dict.fromkeys(row["cause"] for row in rows):
        mine = [row for row in rows if row["cause"] == cause]
        ends = ", ".join(f"{e} {sum(r['end'] == e for r in mine)}" for e in sorted({r["end"] for r in mine}))
        mean = np.mean([row["minutes"] for row in mine])
        print(f"| {cause} | {len(mine)} | {ends} | {mean:.0f} | {np.mean([row['steps'] for row in mine]):.0f} |")
    seen = [row for row in rows if row["end"] != "not noticed"]
    weight = np.array([KNOWLEDGE.causes[row["cause"]].frequency for row in seen])
    weight = weight / weight.sum()
    for end in sorted({row["end"] for row in seen}):
        share = float(weight @ np.array([row["end"] == end for row in seen]))
        print(f"{end}: {100 * share:.1f} % weighted, {sum(r['end'] == end for r in seen)} of {len(seen)} cars")
    print(f"minutes weighted: {float(weight @ np.array([row['minutes'] for row in seen])):.1f}")
    print(f"slowest step: {1000 * max(row['slowest'] for row in seen):.0f} ms")


if __name__ == "__main__":
    main()

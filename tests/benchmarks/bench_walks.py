"""Simulated comebacks walked in the bay: found, minutes, steps, handed over; by cause and in all.

  python tests/benchmarks/bench_walks.py --each 3 --seed 1        # three cars per cause
  python tests/benchmarks/bench_walks.py --cause duct-loose --show
  COMEBACK_KNOWLEDGE=folder python tests/benchmarks/bench_walks.py

A car has one true cause (and, with --second, another one now and then); every check's result is
drawn from the knowledge's own chances, leak included, and stays until a repair changes the car. The
complaint is one that the car's symptoms bear out. Minutes are the planner's: checks with their
set-ups, repairs with parts and proof; repair and proof of the last candidate are always paid.
This measures the chooser against its own knowledge, not the knowledge against the world.
"""

import argparse
import os
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: each core walks a car of its own

import numpy as np

from comeback.engine import case as events
from comeback.engine import steps
from comeback.engine.planning import set_up_minutes
from comeback.engine.walk import Walk, open_walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

KNOWLEDGE = load_knowledge(*(Path(folder) for folder in os.environ.get("COMEBACK_KNOWLEDGE", "").split() if folder))
MOST_STEPS = 60


@dataclass
class Car:
    """The simulated car: what is wrong, and the results that its checks give."""

    rng: np.random.Generator
    present: set[str]
    drawn: dict[str, str] = field(default_factory=dict)

    def result(self, check: str) -> str:
        """The check's result now: the largest that any present cause or the leak gives."""
        if check not in self.drawn:
            names = KNOWLEDGE.checks[check].names
            shows = [c for c in sorted(self.present) if check in KNOWLEDGE.causes[c].shows]
            ways = [KNOWLEDGE.leak(check), *(KNOWLEDGE.chances(c, check) for c in shows)]
            self.drawn[check] = names[max(int(self.rng.choice(len(names), p=np.array(w) / sum(w))) for w in ways)]
        return self.drawn[check]

    def repair(self, repair: str) -> None:
        """Remove what the repair removes; results that a removed cause showed in are drawn anew."""
        for cause, chance in KNOWLEDGE.repairs[repair].removes.items():
            if cause in self.present and self.rng.random() < chance:
                self.present.discard(cause)
                for check in KNOWLEDGE.causes[cause].shows:
                    if not KNOWLEDGE.checks[check].lasting:
                        self.drawn.pop(check, None)


def complaint_of(car: Car, service: str) -> str | None:
    """A complaint that the car's symptoms bear out, drawn evenly; None if the customer would notice nothing."""
    fitting = [
        complaint.id
        for complaint in KNOWLEDGE.complaints.values()
        if all(car.result(check) == result for check, result in complaint.reports.items())
    ]
    return str(car.rng.choice(fitting)) if fitting else None


def walk_car(cause: str, seed: int, show: bool = False) -> dict:
    """Walk one car with this cause to the end of its case."""
    rng = np.random.default_rng(seed)
    entry = KNOWLEDGE.causes[cause]
    service = entry.service or next(iter(KNOWLEDGE.services))
    for _ in range(300):
        car = Car(rng, {cause})
        complaint = complaint_of(car, service)
        if complaint:
            break
    else:
        return {"cause": cause, "end": "not noticed", "minutes": 0.0, "steps": 0, "slowest": 0.0}
    walk = open_walk(KNOWLEDGE, Audience.BAY)
    walk = walk.imagine(walk.draft(events.SERVICE, "", "", service=service))
    walk = walk.imagine(walk.draft(events.COMPLAINT, "", "", complaint=complaint, words=""))
    minutes, slowest, repairs, count = 0.0, 0.0, 0, 0
    while count < MOST_STEPS:
        start = time.perf_counter()
        step = walk.step
        slowest = max(slowest, time.perf_counter() - start)
        if show:
            print(f"  {minutes:6.1f}  {step}")
        if isinstance(step, steps.CloseCase | steps.HandOver | steps.Finished):
            break
        count += 1
        spent, walk = respond(walk, car)
        minutes += spent
        repairs += isinstance(step, steps.DoRepair)
    if isinstance(step, steps.HandOver) and step.repair and cause in KNOWLEDGE.repairs[step.repair].removes:
        end = "right specialist"
    elif isinstance(step, steps.HandOver):
        end = "handed over"
        minutes += KNOWLEDGE.settings.hand_over_minutes
    elif isinstance(step, steps.CloseCase):
        end = "fixed" if cause not in car.present else "closed wrongly"
    else:
        end = "not ended"
    return {
        "cause": cause, "complaint": complaint, "end": end, "minutes": minutes, "steps": count, "repairs": repairs,
        "slowest": slowest,
    }  # fmt: skip


def respond(walk: Walk, car: Car) -> tuple[float, Walk]:
    """Answer the step as the car would; minutes that it took, and the walk afterwards."""
    step = walk.step
    match step:
        case steps.DangerScreen(checks):
            return 1.0, walk.imagine(walk.answers({check: car.result(check) for check in checks}, "", ""))
        case steps.ReadPanel(checks=checks):
            return step.minutes, walk.imagine(walk.answers({check: car.result(check) for check in checks}, "", ""))
        case steps.MakeCheck(check=check):
            return step.minutes, walk.imagine(walk.answers({check: car.result(check)}, "", ""))
        case steps.ProveRepair(check=check):
            known = KNOWLEDGE.checks[check]
            spent = known.minutes + set_up_minutes(KNOWLEDGE, known.set_up, walk.situation.standing_set_ups())
            return spent, walk.imagine(walk.answers({check: car.result(check)}, "", ""))
        case steps.ChooseCondition(feature, values):
            fits = [v for v in values if all(v in KNOWLEDGE.causes[c].only_if.get(feature, (v,)) for c in car.present)]
            return 0.1, walk.imagine(walk.draft(events.CONDITION, "", "", feature=feature, value=fits[0]))
        case steps.DoRepair(repair=repair):
            entry = KNOWLEDGE.repairs[repair]
            car.repair(repair)
            parts = entry.parts / KNOWLEDGE.settings.rate_per_hour * 60
            spent = entry.minutes + parts + set_up_minutes(KNOWLEDGE, entry.set_up, walk.situation.standing_set_ups())
            return spent, walk.imagine(walk.draft(events.REPAIRED, "", "", repair=repair))
    raise AssertionError(step)


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

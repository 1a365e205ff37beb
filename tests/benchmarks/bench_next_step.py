"""Time of `policy.next_step`, whole: belief, sets, predictions, plan, choice.

  python tests/benchmarks/bench_next_step.py                      # shipped knowledge, then invented ones
  python tests/benchmarks/bench_next_step.py --only shipped --states 4
  python tests/benchmarks/bench_next_step.py --only invented --sizes 100 500 2000

Processor time, best of three. The cached network is made before the clock starts, as in a walk after its
first step; how long that takes is printed for the invented ones. Aims, not assertions: 100 ms for each step
on the shipped knowledge, 300 ms at 2,000 causes x 5,000 checks.

Invented knowledge has realistic sparsity: a cause shows in 6 to 10 checks, 10 to 25 causes share
each of the checks that complaints report, results come in twos and threes, five set-ups. Each car
shows what the most probable cause would show; the program itself chooses what is looked at.
"""

import argparse
import os
import time
from collections.abc import Iterator

from comeback.engine.case import facts
from comeback.engine.walk.walk import begin_walk

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy

import numpy as np
from invented import invented_knowledge

from comeback.engine.walk import steps
from comeback.engine.walk.case_view import CaseView
from comeback.engine.walk.known_so_far import belief_of, sets_of
from comeback.engine.walk.policy import next_step
from comeback.engine.walk.walk import Walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

REPEATS = 3
"""Each step is chosen so often; the least processor time counts, so that other work on the machine does not."""
COMPLAINTS = 12
"""Complaints walked, spread evenly over the list."""


def shows(walk: Walk, check: str, rng: np.random.Generator) -> str:
    """A result drawn from what the belief so far leads one to expect, by the most probable cause."""
    knowledge, belief = walk.knowledge, walk.view.belief
    leading = knowledge.causes[belief.network.causes[int(np.argmax(belief.present))]]
    entry = knowledge.checks[check]
    way = knowledge.chances(leading.id, check) if check in leading.shows else knowledge.leak(check)
    return entry.names[int(rng.choice(len(way), p=np.array(way) / sum(way)))]


def answered(walk: Walk, step: steps.Step, rng: np.random.Generator) -> Walk | None:
    """The walk after one more response; None where it ends."""
    match step:
        case steps.DangerScreen(checks):
            return walk.imagine(walk.answers({c: walk.knowledge.checks[c].expected for c in checks}, "", ""))
        case steps.ReadPanel(checks=checks):
            return walk.imagine(walk.answers({c: shows(walk, c, rng) for c in checks}, "", ""))
        case steps.MakeCheck(check=check):
            return walk.imagine(walk.answers({check: shows(walk, check, rng)}, "", ""))
        case steps.ProveRepair(check=check):
            return walk.imagine(walk.answers({check: shows(walk, check, rng)}, "", ""))
        case steps.ChooseCondition(feature, _):
            return walk.imagine(facts.ConditionNamed(feature=feature, value=None))
        case steps.DoRepair(repair=repair):
            return walk.imagine(facts.Repaired(repair=repair))
    return None


def timed(walk: Walk, responses: int, rng: np.random.Generator) -> Iterator[tuple[int, float, str]]:
    """(responses so far, seconds, kind of step) of each step from here."""
    next_step(CaseView(walk.knowledge, walk.case, walk.audience))  # makes the cached network, outside the clock
    for count in range(responses + 1):
        taken = []
        for _ in range(REPEATS):
            belief_of.cache_clear(), sets_of.cache_clear()
            start = time.process_time()
            step = next_step(CaseView(walk.knowledge, walk.case, walk.audience))
            taken.append(time.process_time() - start)
        yield count, min(taken), type(step).__name__
        after = answered(walk, step, rng)
        if after is None:
            return
        walk = after


def line(name: str, seconds: list[float]) -> str:
    """A row of the table."""
    ms = 1000 * np.array(seconds)
    return f"| {name} | {ms.size} | {ms.mean():.0f} | {np.percentile(ms, 95):.0f} | {ms.max():.0f} |"


def shipped(responses: int, seed: int) -> None:
    """Steps on the shipped knowledge: every few complaints, both audiences."""
    knowledge, rng = load_knowledge(), np.random.default_rng(seed)
    print(f"shipped knowledge: {len(knowledge.causes)} causes, {len(knowledge.checks)} checks; seed {seed}; ms")
    print("| steps | number | mean | p95 | worst |\n|---|--:|--:|--:|--:|")
    names = list(knowledge.complaints)[:: max(1, len(knowledge.complaints) // COMPLAINTS)]
    for audience in Audience:
        rows = []
        for k, name in enumerate(names):
            services = knowledge.complaints[name].services or tuple(knowledge.services)
            begun = [begin_walk(knowledge, service, name, audience) for service in services]
            explained = [walk for walk in begun if walk.view.belief.live] or begun
            rows += [(name, *row) for row in timed(explained[k % len(explained)], responses, rng)]
        choosing = [row for row in rows if row[3] != "DangerScreen"]
        print(line(audience.value, [row[2] for row in choosing]))
        worst = max(choosing, key=lambda row: row[2])
        print(f"  slowest: {worst[0]}, after {worst[1]} responses, {worst[3]}")


def invented(sizes: list[int], seed: int) -> None:
    """Steps on invented knowledge, in the bay: after the complaint, and after five responses."""
    print(f"\ninvented knowledge; seed {seed}; ms\n| causes x checks, state | number | mean | p95 | worst |")
    print("|---|--:|--:|--:|--:|")
    for causes in sizes:
        rng = np.random.default_rng((seed, causes))
        knowledge = invented_knowledge(causes, causes * 5 // 2, seed)
        start = time.process_time()
        begin_walk(knowledge, "service", "k0", Audience.BAY).view.network.links  # noqa: B018
        made, first, rest = time.process_time() - start, [], []
        for complaint in list(knowledge.complaints)[:6]:
            for count, seconds, _ in timed(begin_walk(knowledge, "service", complaint, Audience.BAY), 6, rng):
                (first if count <= 1 else rest).append(seconds)
        size = f"{causes:,} x {len(knowledge.checks):,}"
        print(line(f"{size}, after the complaint", first))
        print(line(f"{size}, 1 to 5 findings", rest))
        print(line(f"{size}, network made", [made]), flush=True)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", choices=("shipped", "invented"))
    parser.add_argument("--states", type=int, default=8, help="responses given in each walk on the shipped knowledge")
    parser.add_argument("--sizes", type=int, nargs="+", default=[100, 500, 2000])
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    if given.only != "invented":
        shipped(given.states, given.seed)
    if given.only != "shipped":
        invented(given.sizes, given.seed)


if __name__ == "__main__":
    main()

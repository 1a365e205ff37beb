"""Does the range of questions left, as shown on each screen, hold the number that is asked in the end?

  python tests/benchmarks/bench_questions_left.py --walks 150 --seed 1

Simulated cars as in bench_walks.py, one true cause each, drawn by the square root of its frequency
(so that rare ones come too); one answer in twenty is "don't know". A walk in the bay ends at its
first repair or hand-over, a call at its advice. Aim: 90 % or more of all screens, and of first ones.
"""

import argparse
from collections import defaultdict

import bench_walks
import numpy as np

from comeback.cli.screens.heading import EDGES, entropy, questions_left
from comeback.engine.rehearsal.simulated_walk import respond
from comeback.engine.rehearsal.simulation import Person, Slack
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.vocabulary import Audience

KNOWLEDGE = bench_walks.KNOWLEDGE
ASKING = steps.DangerScreen | steps.MakeCheck | steps.ReadPanel | steps.ChooseCondition
SLACK = Slack(unknown=0.05)
Screen = tuple[float, tuple[int, int, int], int]
"""Entropy in bits, (fewest, middle, most) shown, and how many questions there were from here on."""


def begun(audience: Audience, seed: int) -> tuple[Walk, Person] | None:
    """A walk past service and complaint, and who answers it; None if nobody would notice anything."""
    rng = np.random.default_rng(seed)
    names = list(KNOWLEDGE.causes)
    weights = np.sqrt([KNOWLEDGE.causes[name].frequency for name in names])
    cause = KNOWLEDGE.causes[str(rng.choice(names, p=weights / weights.sum()))]
    service = cause.service or str(rng.choice(list(KNOWLEDGE.services)))
    found = bench_walks.car_with(cause.id, service, seed)
    if found is None:
        return None
    car, complaint = found
    return begin_walk(KNOWLEDGE, service, complaint, audience), Person(car, audience.value, SLACK)


def screens_of(audience: Audience, seed: int) -> list[Screen]:
    """Every screen of one simulated walk with what it promised and what came."""
    found = begun(audience, seed)
    if found is None:
        return []
    walk, person = found
    shown = []
    while isinstance(walk.step, ASKING) and len(shown) < 60:
        left = questions_left(walk)
        if left is None:
            break
        shown.append((entropy(walk), left))
        _, walk = respond(walk, walk.step, person)
    return [(bits, left, len(shown) - i) for i, (bits, left) in enumerate(shown)]


def held(screens: list[Screen]) -> float:
    """Share of screens whose range held."""
    return float(np.mean([few <= came <= most for _, (few, _, most), came in screens]))


def report(audience: Audience, walks: list[list[Screen]]) -> None:
    """The table of one audience, with what the table of the program would be on these cars."""
    every = [screen for walk in walks for screen in walk]
    first = [walk[0] for walk in walks if walk]
    print(f"{audience.value}: {len(first)} walks, {len(every)} screens; held {100 * held(every):.1f} % of all,")
    print(f"{100 * held(first):.1f} % of first screens; off the middle by "
          f"{np.mean([abs(left[1] - came) for _, left, came in every]):.1f} on average")  # fmt: skip
    rows = defaultdict(list)
    for screen in every:
        rows[int(np.digitize(screen[0], EDGES))].append(screen)
    print("| from bits | screens | held | seen: 3 % | middle | 93.5 % |\n|--:|--:|--:|--:|--:|--:|")
    for number, screens in sorted(rows.items()):
        came = np.array([c for _, _, c in screens])
        low, middle, high = np.floor(np.quantile(came, 0.03)), np.median(came), np.ceil(np.quantile(came, 0.935))
        edge = 0.0 if number == 0 else EDGES[number - 1]
        print(f"| {edge} | {len(screens)} | {100 * held(screens):.0f} % | {low:.0f} | {middle:.0f} | {high:.0f} |")


def main() -> None:
    """Walk and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walks", type=int, default=150, help="for each audience")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    for audience in Audience:
        report(audience, [screens_of(audience, 10_000 * given.seed + n) for n in range(given.walks)])


if __name__ == "__main__":
    main()

"""How far plans are from the best possible, and what they save: gaps in percent.

  python tests/benchmarks/bench_plans.py sequencing --seeds 11 12 --each 20
  python tests/benchmarks/bench_plans.py decisions --complaints 10

sequencing: random test-sequencing problems, greedy and rollout against exact search. Convention there:
elimination, ending is free once one state is left.
decisions: the bay's own problem on the shipped knowledge, reduced until exact search can end. Convention:
confirm-all, the last candidate is repaired and proven too, so repair and proof are always paid.
The program against plain ways of working on simulated cars: `comeback rehearse`.
"""

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy

import numpy as np
from plan_policies import situations

from comeback.engine.choosing.lookahead import Budget, Decision, Node, by_saving, follow, node_of
from comeback.engine.choosing.next_check import WORTH_ASKING

sys.path.insert(0, str(Path(__file__).parent.parent))
from support.exact_search import by_information, follow_rollout, optimal
from support.small_problem import guided_minutes, in_order, small_node

UNRESOLVED = 1e6
"""Minutes of ending before one state is left: not allowed."""
MOST_BELIEFS = 12_000
FAMILIES: dict[str, dict] = {
    "10x12 unit cost": {},
    "10x12 random cost": {"cost": True},
    "random cost, skewed p": {"cost": True, "skewed": True},
    "random cost, 70 % nothing wrong": {"cost": True, "nothing": 0.7},
    "random cost, density 0.2": {"cost": True, "density": 0.2},
}


def instance(rng: np.random.Generator, cost=False, skewed=False, nothing=0.0, density=0.5) -> Node:
    """A random problem of 10 states and 12 yes/no checks in which all states can be told apart."""
    while True:
        signs = rng.random((10, 12)) < density
        if nothing:
            signs[0] = False  # the state with nothing wrong shows nothing
        if len({row.tobytes() for row in signs}) == 10:
            break
    weights = rng.dirichlet(np.full(10, 0.3)) + 1e-4 if skewed else rng.uniform(0.05, 1.0, 10)
    if nothing:
        weights[0] = nothing / (1 - nothing) * weights[1:].sum()
    prices = rng.uniform(1, 10, 12) if cost else np.ones(12)
    columns = signs.astype(float)
    problem = Decision(
        np.stack((1 - columns, columns), axis=2).reshape(10, 24),
        tuple(slice(2 * k, 2 * k + 2) for k in range(12)),
        lambda check, _: float(prices[check]),
        lambda _, standing: standing,
        lambda rows: np.where(rows.max(axis=1) > 1 - 1e-9, 0.0, UNRESOLVED),
    )
    return node_of(problem, weights / weights.sum(), tuple(range(12)), frozenset(), UNRESOLVED)


def _all() -> Budget:
    """No limit, and no result is too rare to look into."""
    return Budget(10**7, rare=0.0)


def percent(gaps: list[float]) -> str:
    """Mean, 95th percentile and worst."""
    values = 100 * np.array(gaps)
    return f"{values.mean():.2f} / {np.percentile(values, 95):.1f} / {values.max():.1f}"


def sequencing(seeds: list[int], each: int) -> None:
    """Greedy and rollout over information per cost against exact search."""
    print(f"\nrandom problems, seeds {seeds}, {each} of each; excess over the optimum, %; ends by elimination")
    print("| family | number | greedy mean / p95 / worst | rollout mean / p95 / worst | rollout worse than greedy |")
    print("|---|--:|--:|--:|--:|")
    for number, (name, how) in enumerate(FAMILIES.items()):
        greedy, rolled, worse = [], [], 0
        for seed in seeds:
            rng = np.random.default_rng((seed, number))
            for _ in range(each):
                node = instance(rng, **how)
                best = optimal(node)
                assert best is not None, "exact search of 10 states ended"
                base, over = follow(node, by_information, _all()), follow_rollout(node, by_information)
                greedy.append(base / best - 1)
                rolled.append(over / best - 1)
                worse += over > base + 1e-9
        count = len(greedy)
        print(f"| {name} | {count} | {percent(greedy)} | {percent(rolled)} | {worse} of {count} |", flush=True)


def decisions(complaints: int, seed: int) -> None:
    """Policies against exact search on reduced real decisions."""
    plans: dict[str, Callable[..., float]] = {
        "repairs only, no check": lambda valuation, node: node.end,
        "a list that is always the same": lambda _, node: follow(node, in_order(node), _all()),
        "best saving per minute, followed": lambda _, node: follow(node, by_saving(WORTH_ASKING), _all()),
        "the program's choice, hazard tiers put aside": lambda valuation, node: guided_minutes(
            valuation, node, tiers=False
        ),
        "the program's choice": lambda valuation, node: guided_minutes(valuation, node),
    }
    gaps: dict[str, list[float]] = {name: [] for name in plans}
    sizes, above = [], []
    for valuation in situations(complaints, seed):
        node = small_node(valuation, 6_000)
        best, minutes = optimal(node, MOST_BELIEFS), {name: plan(valuation, node) for name, plan in plans.items()}
        sizes.append((node.weights.size, len(node.open)))
        if best is None:
            above.append(minutes["the program's choice"] / valuation.bound - 1)
            continue
        for name, value in minutes.items():
            gaps[name].append(value / best - 1)
    sets, checks = np.mean(sizes, axis=0)
    print(f"\nreduced decisions on the shipped knowledge, seed {seed}: {len(sizes)}, on average {sets:.0f} sets of")
    print(f"causes and {checks:.1f} checks; exact search ended on {len(sizes) - len(above)}; confirm-all")
    print("| plan | mean / p95 / worst over the optimum, % |\n|---|--:|")
    for name, values in gaps.items():
        print(f"| {name} | {percent(values)} |")
    if above:
        print(f"no answer by exact search: {len(above)}; the program's choice over the lower bound {percent(above)} %")


def main() -> None:
    """Print the wanted tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", nargs="*", default=["sequencing", "decisions"])
    parser.add_argument("--seeds", type=int, nargs="+", default=[101, 102])
    parser.add_argument("--each", type=int, default=20)
    parser.add_argument("--complaints", type=int, default=10)
    parser.add_argument("--seed", type=int, default=7, help="for decisions")
    given = parser.parse_args()
    if "sequencing" in given.what:
        sequencing(given.seeds, given.each)
    if "decisions" in given.what:
        decisions(given.complaints, given.seed)


if __name__ == "__main__":
    main()

"""Posterior of every cause: time and peak memory, beside general libraries where they import.

    python tests/benchmarks/bench_belief.py
    python tests/benchmarks/bench_belief.py --causes 50,200 --abnormal 8,10 --parents 15
    python tests/benchmarks/bench_belief.py --crossover

Prints a Markdown table. Every case runs in its own process with a limit on time and memory (isolated.py).
The time is the best of several answers of one built network, where one is quick; the peak includes the
interpreter and its libraries. A library that gave no answer is not asked larger cases. `--crossover`: the
tree of unions beside the sweep, by abnormal findings; where they meet is `belief.FEW`.
"""

import argparse
import time
import warnings

import numpy as np
from engines import ENGINES, available
from isolated import Outcome, limit_memory, report, run_isolated
from planted import planted_evidence, planted_network

from comeback.engine.belief import exact_posterior as belief

REPEATS = 5
QUICK = 1.0
"""Seconds; a slower answer is not repeated."""


def numbers(text: str) -> list[int]:
    """'20,50' -> [20, 50]."""
    return [int(word) for word in text.split(",")]


def main() -> None:
    """Read the arguments; measure one case, or print the table of all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--causes", type=numbers, default=[20, 50, 100, 200])
    parser.add_argument("--abnormal", type=numbers, default=[4, 8, 10, 12, 14, 18])
    parser.add_argument("--parents", type=int, default=6, help="causes per finding")
    parser.add_argument("--one", nargs=4, metavar="WORD", help="engine, causes, parents, abnormal: one case")
    parser.add_argument("--crossover", action="store_true", help="tree against sweep instead")
    chosen = parser.parse_args()
    if chosen.crossover:
        print_crossover(chosen.causes, chosen.parents)
    elif chosen.one:
        engine, *sizes = chosen.one
        measure(engine, *map(int, sizes))
    else:
        print_table(chosen.causes, chosen.abnormal, chosen.parents)


def measure(engine: str, causes: int, parents: int, abnormal: int) -> None:
    """Time one case in this process and report it."""
    limit_memory()
    warnings.simplefilter("ignore")
    answer = ENGINES[engine](planted_network(causes, parents), planted_evidence(abnormal))
    seconds = []
    while len(seconds) < REPEATS and sum(seconds) < QUICK:
        start = time.perf_counter()
        present = answer()
        seconds.append(time.perf_counter() - start)
    report(seconds=min(seconds), present=present.tolist())


def print_crossover(causes: list[int], parents: int) -> None:
    """Processor milliseconds of a posterior either way."""
    print(f"{parents} causes per finding\n\n| causes | abnormal | tree, ms | sweep, ms |\n|--:|--:|--:|--:|")
    for count in causes:
        network = planted_network(count, parents)
        for seen in range(1, 10):
            cells = []
            for belief.FEW in (99, -1):
                belief.posterior(network, planted_evidence(seen))
                start = time.process_time()
                for _ in range(REPEATS):
                    belief.posterior(network, planted_evidence(seen))
                cells.append(f"{1000 * (time.process_time() - start) / REPEATS:.2f}")
            print(f"| {count} | {seen} | {' | '.join(cells)} |", flush=True)


def print_table(causes: list[int], abnormal: list[int], parents: int) -> None:
    """One row per case, one pair of columns per engine, and how far the peers are from this engine."""
    engines = available()
    titles = [f"{name}: ms | MB" for name in engines]
    print(f"{parents} causes per finding; engines: {', '.join(engines)}\n")
    print(f"| causes | abnormal | {' | '.join(titles)} | largest difference |")
    print(f"|{'--:|' * (3 + 2 * len(engines))}", flush=True)
    stopped: dict[str, list[tuple[int, int]]] = {name: [] for name in engines}
    for count in causes:
        for seen in abnormal:
            outcomes = {}
            for name in engines:
                if any(count >= n and seen >= k for n, k in stopped[name]):
                    outcomes[name] = Outcome(None, "not asked")
                    continue
                outcomes[name] = run_isolated(__file__, "--one", name, count, parents, seen)
                if outcomes[name].answer is None:
                    stopped[name].append((count, seen))
            cells = " | ".join(cell(outcome) for outcome in outcomes.values())
            print(f"| {count} | {seen} | {cells} | {difference(outcomes)} |", flush=True)


def cell(outcome: Outcome) -> str:
    """Milliseconds and megabytes, or why there is no answer."""
    if outcome.answer is None:
        return f"{outcome.reason} | "
    return f"{outcome.answer['seconds'] * 1000:.1f} | {outcome.answer['peak_mb']:.0f}"


def difference(outcomes: dict[str, Outcome]) -> str:
    """Largest difference of any posterior from this engine's, over the peers that answered."""
    answers = {name: o.answer["present"] for name, o in outcomes.items() if o.answer}
    ours = answers.pop("comeback", None)
    if ours is None or not answers:
        return ""
    return f"{max(np.abs(np.subtract(ours, theirs)).max() for theirs in answers.values()):.0e}"


if __name__ == "__main__":
    main()

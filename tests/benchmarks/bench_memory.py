"""Peak memory and time of one posterior near the limit of abnormal findings held open at once.

    python tests/benchmarks/bench_memory.py

Prints a Markdown table. Every case runs in its own process with a limit on time and memory (isolated.py);
the peak includes the interpreter and its libraries, given in the first line.
"""

import argparse
import time
from functools import partial

from bench_belief import numbers
from isolated import limit_memory, report, run_isolated
from planted import planted_evidence, planted_network

from comeback.engine.belief.exact_posterior import posterior


def main() -> None:
    """Read the arguments; measure one case, or print the table of all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--causes", type=numbers, default=[20, 50, 100, 200])
    parser.add_argument("--abnormal", type=numbers, default=[18, 20, 22])
    parser.add_argument("--parents", type=numbers, default=[6, 15], help="causes per finding")
    parser.add_argument("--one", nargs=3, type=int, metavar="N", help="causes, parents, abnormal: one case")
    chosen = parser.parse_args()
    if chosen.one:
        measure(*chosen.one)
        return
    ask = partial(run_isolated, __file__, "--one")
    idle = ask(20, 6, 0).answer
    print(f"Peak without abnormal findings: {idle['peak_mb']:.0f} MB\n")
    print("| causes | causes per finding | abnormal | live causes | seconds | peak MB |")
    print("|--:|--:|--:|--:|--:|--:|", flush=True)
    for parents in chosen.parents:
        for causes in chosen.causes:
            for abnormal in chosen.abnormal:
                found = ask(causes, parents, abnormal)
                cells = [causes, parents, abnormal]
                if found.answer:
                    answer = found.answer
                    cells += [answer["live"], f"{answer['seconds']:.2f}", f"{answer['peak_mb']:.0f}"]
                else:
                    cells += ["", found.reason, ""]
                print(f"| {' | '.join(map(str, cells))} |", flush=True)


def measure(causes: int, parents: int, abnormal: int) -> None:
    """Answer one case in this process and report it."""
    limit_memory()
    network, evidence = planted_network(causes, parents), planted_evidence(abnormal)
    start = time.perf_counter()
    belief = posterior(network, evidence)
    report(seconds=time.perf_counter() - start, live=len(belief.live))


if __name__ == "__main__":
    main()

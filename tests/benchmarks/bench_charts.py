"""Ladder charts of all services: pages, cars that end right, with nothing unneeded, minutes, seconds a chart.

python tests/benchmarks/bench_charts.py [SERVICE ...]
"""

import os
import sys
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy

from comeback.cli.parallel import available_cores, spread
from comeback.cli.reports.charting import complaints_of
from comeback.diagrams.printing import PAPERS, fitted
from comeback.diagrams.words import sheet_of
from comeback.engine.charts.planner import ladder_of
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

COMMON = ("no-start-cranks", "hesitation", "rough-idle", "engine-light", "fluid-leak", "oil-leak", "coolant-leak")


def figures(knowledge, asked):
    """Pages on letter, seconds to choose and to draw, and the figures of one chart."""
    service, complaint, audience = asked
    begun = time.perf_counter()
    ladder = ladder_of(knowledge, service, complaint, Audience(audience))
    chosen = time.perf_counter()
    _, pages = fitted(sheet_of(ladder, knowledge), PAPERS["letter"])
    return pages, chosen - begun, time.perf_counter() - chosen, ladder.figures


def main():
    knowledge = load_knowledge()
    for audience in ("bay", "phone"):
        print(f"\n{audience}: mean (worst) of all complaints; then the common ones, ends right")
        print("service          charts  pages       right        clean  minutes  s a chart   s in all")
        for service in sys.argv[1:] or knowledge.services:
            names = complaints_of(knowledge, service)
            begun = time.perf_counter()
            found = list(
                spread(load_knowledge, figures, [(service, name, audience) for name in names], available_cores())
            )
            whole = time.perf_counter() - begun
            pages = [one[0] for one in found]
            seconds = [one[1] + one[2] for one in found]
            right, clean, minutes = ([getattr(one[3], name) for one in found] for name in ("right", "clean", "minutes"))
            count = len(names)
            print(
                f"{service:16} {count:6}  {sum(pages) / count:.1f} ({max(pages)})  {100 * sum(right) / count:5.1f} "
                f"({100 * min(right):.0f})  {100 * sum(clean) / count:6.1f}  {sum(minutes) / count:7.0f}  "
                f"{sum(seconds) / count:.2f} ({max(seconds):.2f})  {whole:6.1f}"
            )
            if audience == "bay":
                print("   ", *(f"{name} {100 * right[names.index(name)]:.0f}," for name in COMMON if name in names))
                over = [f"{name} {page}" for name, page in zip(names, pages, strict=True) if page > 4]
                print("    more than 4 pages:", ", ".join(over) or "none")


if __name__ == "__main__":
    main()

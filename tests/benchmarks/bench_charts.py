"""Ladder charts of all services: pages, cars that end right, with nothing unneeded, minutes, seconds a chart.

Beside the minutes of the common charts those of the guided walk, on a few cars drawn for each, hand-over not counted.

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
from comeback.engine.rehearsal.simulated_walk import Memory, go_on
from comeback.engine.rehearsal.simulation import CAREFUL, Person, car_of, draw_comeback
from comeback.engine.walk.walk import begin_walk
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience

COMMON = ("no-start-cranks", "hesitation", "rough-idle", "engine-light", "fluid-leak", "oil-leak", "coolant-leak")
CARS = 3


def figures(knowledge, asked):
    """Pages on letter, seconds to choose and to draw, and the figures of one chart."""
    service, complaint, audience = asked
    begun = time.perf_counter()
    ladder = ladder_of(knowledge, service, complaint, Audience(audience))
    chosen = time.perf_counter()
    _, pages = fitted(sheet_of(ladder, knowledge), PAPERS["letter"])
    return pages, chosen - begun, time.perf_counter() - chosen, ladder.figures


def walked(knowledge, asked):
    """Minutes of the guided walk in the bay with one car; None if no car has the complaint after the service."""
    service, complaint, seed = asked
    comeback = draw_comeback(knowledge, seed, service, complaint)
    if comeback is None:
        return None
    person = Person(car_of(knowledge, comeback), "bay", CAREFUL)
    return go_on(begin_walk(knowledge, service, complaint, Audience.BAY), person, Memory()).minutes


def beside_the_walk(knowledge, service, names, minutes):
    """A line: mean minutes of the common charts, and of the walk on CARS cars of each."""
    common = [name for name in COMMON if name in names]
    jobs = [(service, name, seed) for name in common for seed in range(CARS)]
    spent = [one for one in spread(load_knowledge, walked, jobs, available_cores()) if one is not None]
    mine = [minutes[names.index(name)] for name in common]
    return f"    common, minutes: chart {sum(mine) / len(mine):.0f}, guided walk {sum(spent) / len(spent):.0f}"


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
                print(beside_the_walk(knowledge, service, names, minutes))
                over = [f"{name} {page}" for name, page in zip(names, pages, strict=True) if page > 4]
                print("    more than 4 pages:", ", ".join(over) or "none")


if __name__ == "__main__":
    main()

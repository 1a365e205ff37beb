"""How long the whole booklet takes, and how much its charts carry: a table, no assertion.

python tests/benchmarks/bench_booklet.py [SERVICE] [bay|phone]
"""

import sys
import time
from collections import Counter

from comeback.diagrams.booklet import booklet_data
from comeback.diagrams.chart import make_chart
from comeback.diagrams.fitting import PAGES, fitted_graph
from comeback.diagrams.measure import PAPERS
from comeback.diagrams.typesetting import typeset
from comeback.engine.decision_graph import Growth, Limits, start
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience


def main(service: str = "intake-cleaning", who: str = "bay") -> None:
    """Make every chart, then the PDF."""
    knowledge, paper, spent, charts = load_knowledge(), PAPERS["letter"], Counter(), []
    print(f"{'complaint':26} {'steps':>5} {'boxes':>5} {'pages':>5} {'cards':>5} {'right':>6} {'repaired':>8} {'s':>5}")
    for complaint in knowledge.complaints.values():
        if complaint.services and service not in complaint.services:
            continue
        began = time.perf_counter()
        growth = Growth(start(knowledge, service, complaint.id, Audience(who)), Limits())
        graph = fitted_graph(growth, paper)
        chart = make_chart(graph, knowledge, (), "2026-01-31", paper)
        took = time.perf_counter() - began
        spent["compile and lay out"] += took
        charts.append(chart)
        asked = sum(1 for box in graph.boxes if box.exits)
        cards = sum(len(page.cards) for page in chart.cards)
        numbers = f"{asked:5} {len(graph.boxes):5} {len(chart.sheets):5} {cards:5}"
        print(f"{complaint.id:26} {numbers} {graph.carried:6.1%} {graph.repaired:8.1%} {took:5.1f}", flush=True)
    began = time.perf_counter()
    data = booklet_data(charts, knowledge, service, paper, "2026-01-31")
    spent["draw"] = time.perf_counter() - began
    began = time.perf_counter()
    made = typeset(data)
    spent["typeset"] = time.perf_counter() - began
    good = sum(chart.heading.carried >= 0.9 and len(chart.sheets) <= PAGES for chart in charts)
    sheets = sum(len(chart.sheets) for chart in charts)
    print(f"\n{len(charts)} charts, {sheets} pages; {good} carry 90 % or more in {PAGES} pages or fewer")
    for part, seconds in spent.items():
        print(f"{part:20} {seconds:6.1f} s")
    print(f"{'whole booklet':20} {sum(spent.values()):6.1f} s, {len(made) / 1e6:.1f} MB")


if __name__ == "__main__":
    main(*sys.argv[1:])

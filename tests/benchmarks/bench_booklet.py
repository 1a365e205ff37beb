"""How long the whole booklet takes, and how much its charts carry: a table, no assertion.

python tests/benchmarks/bench_booklet.py [SERVICE] [bay|phone|both]; COMEBACK_CORES=1 for one core.
"""

import argparse
import sys
import time
from collections import Counter

from comeback.cli import parallel
from comeback.cli.reports import charting
from comeback.diagrams.booklet import booklet_data
from comeback.diagrams.fitting import PAGES
from comeback.diagrams.typesetting import typeset
from comeback.kb import load_knowledge
from comeback.kb.vocabulary import Audience


def main(service: str = "intake-cleaning", who: str = "bay") -> None:
    """Make every chart, then the PDF."""
    knowledge, spent, charts = load_knowledge(), Counter(), []
    given = argparse.Namespace(paper="letter", size="normal", pages=PAGES, date="2026-01-31", worksheet=False)
    audiences = tuple(Audience) if who == "both" else (Audience(who),)
    asked = charting.wanted(given, service, charting.complaints_of(knowledge, service), audiences, draw=True)
    print(f"{'complaint':26} {'for':5} {'steps':>5} {'pages':>5} {'cards':>5} {'right':>6} {'clean':>8}")
    began = time.perf_counter()
    for one, chart in zip(asked, charting.charts_of(asked, knowledge), strict=True):
        charts.append(chart)
        cards = sum(len(page.cards) for page in chart.cards)
        shares = f"{chart.heading.carried:6.1%} {chart.heading.clean:8.1%}"
        print(
            f"{one.complaint:26} {one.audience:5} {chart.asked:5} {len(chart.sheets):5} {cards:5} {shares}", flush=True
        )
    spent[f"charts, drawn, on {parallel.available_cores()} cores"] = time.perf_counter() - began
    began = time.perf_counter()
    made = typeset(booklet_data(charts, knowledge, service, asked[0].paper, "2026-01-31"))
    spent["typeset"] = time.perf_counter() - began
    good = sum(chart.heading.carried >= 0.9 and len(chart.sheets) <= PAGES for chart in charts)
    sheets = sum(len(chart.sheets) for chart in charts)
    steps = sum(chart.asked for chart in charts) / len(charts)
    print(f"\n{len(charts)} charts, {sheets} pages, {steps:.1f} steps each; {good} carry 90 % or more in {PAGES} pages")
    for part, seconds in spent.items():
        print(f"{part:28} {seconds:6.1f} s")
    print(f"{'whole booklet':28} {sum(spent.values()):6.1f} s, {len(made) / 1e6:.1f} MB")


if __name__ == "__main__":
    main(*sys.argv[1:])

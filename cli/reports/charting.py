"""What the commands that print charts share: paper, service, and the making of charts that fit their pages."""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from comeback.cli.completers import completed_by, entry_ids
from comeback.cli.parallel import available_cores, show_progress, spread
from comeback.cli.words.entries import service_named

if TYPE_CHECKING:
    from comeback.diagrams.chart import Chart
    from comeback.diagrams.paper.measure import Paper
    from comeback.engine.belief.network import Vehicle
    from comeback.kb.schema import KnowledgeBase
    from comeback.kb.vocabulary import Audience

MOST_PAGES = 200


def add_paper(parser: argparse.ArgumentParser) -> None:
    """Service, paper, size, pages, date."""
    service = parser.add_argument("--service", metavar="SERVICE", help="the service that was done")
    completed_by(service, entry_ids("services"))
    parser.add_argument("--paper", choices=("letter", "a4"), default="letter", help="paper size (default: letter)")
    parser.add_argument(
        "--size",
        choices=("normal", "wall"),
        default="normal",
        help="wall: 14 pt type on paper twice as large, tabloid or A3",
    )
    parser.add_argument("--pages", metavar="N", type=int, default=6, help="most pages of a chart (default: 6)")
    parser.add_argument("--date", metavar="DATE", help="date printed on every page (default: today)")


def check_pages(given: argparse.Namespace) -> None:
    """Raises UsageError if there is no page to print on."""
    from comeback.cli.errors import UsageError

    if not 1 <= given.pages <= MOST_PAGES:
        shown = str(given.pages)[:12]
        raise UsageError(f"--pages {shown} is no number of pages. Give 1 to {MOST_PAGES}; 6 is usual.")


def paper_of(given: argparse.Namespace) -> "Paper":
    """The paper asked for."""
    from comeback.diagrams.paper.measure import PAPERS, WALL_PAPERS

    paper = (WALL_PAPERS if given.size == "wall" else PAPERS)[given.paper]
    return replace(paper, worksheet=getattr(given, "worksheet", False))


def service_of(asked: str | None, knowledge: "KnowledgeBase") -> str:
    """The service asked for, or the only one. Raises UsageError."""
    from comeback.cli.errors import UsageError

    if asked is None:
        if len(knowledge.services) != 1:
            raise UsageError(f"Which service was done? Add --service with one of: {', '.join(knowledge.services)}.")
        return next(iter(knowledge.services))
    return service_named(knowledge, asked)


def complaints_of(knowledge: "KnowledgeBase", service: str) -> list[str]:
    """Complaints that may follow the service."""
    return [c.id for c in knowledge.complaints.values() if not c.services or service in c.services]


@dataclass(frozen=True)
class Wanted:
    """A chart to be made: of which complaint, for whom, on which paper, in how many pages; `draw`: its sheets too."""

    service: str
    complaint: str
    audience: "Audience"
    vehicle: "Vehicle"
    paper: "Paper"
    pages: int
    date: str
    draw: bool = False


def wanted(
    given: argparse.Namespace,
    service: str,
    complaints: Sequence[str],
    audiences: Sequence["Audience"],
    vehicle: "Vehicle" = (),
    draw: bool = False,
) -> list[Wanted]:
    """The charts asked for, complaint by complaint."""
    from comeback.cli import places

    paper, date = paper_of(given), given.date or places.now()[:10]
    return [
        Wanted(service, name, who, vehicle, paper, given.pages, date, draw) for name in complaints for who in audiences
    ]


def charts_of(asked: Sequence[Wanted], knowledge: "KnowledgeBase") -> Iterator["Chart"]:
    """The charts in the order asked for, made on all cores; a terminal is told how far the work is."""
    charts = spread(partial(_itself, knowledge), _made, asked, available_cores())
    try:
        for number, one in enumerate(asked, 1):
            show_progress(f"Chart {number} of {len(asked)}: {one.complaint}, {one.audience.value}")
            yield next(charts)
    finally:
        show_progress()


def _itself(knowledge: "KnowledgeBase") -> "KnowledgeBase":
    return knowledge


def _made(knowledge: "KnowledgeBase", asked: Wanted) -> "Chart":
    return make(asked, knowledge)


def make(asked: Wanted, knowledge: "KnowledgeBase") -> "Chart":
    """A chart that fits its pages. Raises DrawingError if it is to be drawn and cannot be."""
    from comeback.diagrams.chart import make_chart
    from comeback.diagrams.fitting import fitted_graph
    from comeback.engine.charts.decision_graph import Growth, Limits, start

    begun = start(knowledge, asked.service, asked.complaint, asked.audience, asked.vehicle)
    graph = fitted_graph(Growth(begun, Limits()), asked.paper, asked.pages)
    chart = make_chart(graph, knowledge, asked.vehicle, asked.date, asked.paper)
    return chart.with_sheets() if asked.draw else chart


def told(chart: "Chart") -> str:
    """A line that says how large a chart is and how much it carries."""
    from comeback.kb.vocabulary import Audience

    pages = f"{len(chart.sheets)} page{'s' if len(chart.sheets) > 1 else ''}"
    cars = "calls" if chart.heading.audience is Audience.PHONE else "cars"
    steps = f"{chart.asked} step{'s' if chart.asked != 1 else ''}"
    share, clean = round(100 * chart.heading.carried), round(100 * chart.heading.clean)
    in_vain = "" if cars == "calls" else f", {min(share, clean)} with nothing done in vain"
    return f"{pages}, {steps}; {share} of 100 such {cars} end right{in_vain}."

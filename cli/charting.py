"""What the commands that print charts share: paper, service, and the making of one chart that fits its pages."""

import argparse
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.diagrams.chart import Chart
    from comeback.diagrams.measure import Paper
    from comeback.engine.network import Vehicle
    from comeback.kb.schema import KnowledgeBase


def add_paper(parser: argparse.ArgumentParser) -> None:
    """Service, paper, size, pages, date."""
    parser.add_argument("--service", metavar="ID", help="the service that was done (default: the only one there is)")
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
    from comeback.cli.command_line import UsageError

    if given.pages < 1:
        raise UsageError(f"--pages {given.pages} is no number of pages. Give 1 or more; 6 is usual.")


def paper_of(given: argparse.Namespace) -> "Paper":
    """The paper asked for."""
    from comeback.diagrams.measure import PAPERS, WALL_PAPERS

    paper = (WALL_PAPERS if given.size == "wall" else PAPERS)[given.paper]
    return replace(paper, worksheet=getattr(given, "worksheet", False))


def service_of(asked: str | None, knowledge: "KnowledgeBase") -> str:
    """The service asked for, or the only one. Raises UsageError."""
    from comeback.cli.command_line import UsageError

    if asked is None:
        if len(knowledge.services) != 1:
            raise UsageError(f"Which service was done? Add --service with one of: {', '.join(knowledge.services)}.")
        return next(iter(knowledge.services))
    known(asked, knowledge.services, "service")
    return asked


def complaints_of(knowledge: "KnowledgeBase", service: str) -> list[str]:
    """Complaints that may follow the service."""
    return [c.id for c in knowledge.complaints.values() if not c.services or service in c.services]


def known(asked: str, entries: Collection[str], kind: str) -> None:
    """Raises UsageError if there is no such entry."""
    from comeback.cli.command_line import UsageError
    from comeback.kb.wording import suggest

    if asked not in entries:
        hint = suggest(asked, entries) or (" `comeback chart` lists them." if kind == "complaint" else "")
        raise UsageError(f"There is no {kind} '{asked}'.{hint}")


def chart_of(
    given: argparse.Namespace,
    knowledge: "KnowledgeBase",
    service: str,
    complaint: str,
    audience: str,
    vehicle: "Vehicle" = (),
) -> tuple["Chart", str]:
    """A chart that fits its pages, and a line that tells how large it is and how much it carries."""
    from comeback.cli import places
    from comeback.diagrams.chart import make_chart
    from comeback.diagrams.fitting import fitted_graph
    from comeback.engine.decision_graph import Growth, Limits, start
    from comeback.kb.vocabulary import Audience

    paper = paper_of(given)
    growth = Growth(start(knowledge, service, complaint, Audience(audience), vehicle), Limits())
    graph = fitted_graph(growth, paper, given.pages)
    chart = make_chart(graph, knowledge, vehicle, given.date or places.now()[:10], paper)
    pages = f"{len(chart.sheets)} page{'s' if len(chart.sheets) > 1 else ''}"
    asked = sum(1 for box in graph.boxes if box.exits)
    cars = "calls" if graph.audience is Audience.PHONE else "cars"
    told = f"{pages}, {asked} steps; {round(100 * graph.carried)} of 100 such {cars} end right."
    return chart, told

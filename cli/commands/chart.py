"""Print the flowchart of a complaint, page by page, with a text version.

The same chooser as the guided walk makes it, so paper and screen agree. Without
a complaint, all complaints are listed. Files are written to the current folder;
older ones of the same name are replaced. Exit code 5 if there is no program to
draw with; the text version is written even then.
"""

import argparse
import sys
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.engine.network import Vehicle
    from comeback.kb.schema import KnowledgeBase

FORMATS = "svg,png,text"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback chart`."""
    from comeback.cli import options

    parser.add_argument("complaint", nargs="?", metavar="COMPLAINT", help="id of a complaint; without, all are listed")
    parser.add_argument("--service", metavar="ID", help="the service that was done (default: the only one there is)")
    parser.add_argument("--for", dest="audience", choices=("bay", "phone"), default="bay", help="reader (default: bay)")
    parser.add_argument(
        "--with", dest="vehicle", metavar="NAME=VALUE", nargs="+", action="extend", help="the car: injection=port"
    )
    parser.add_argument("--out", metavar="DIR", default=".", help="folder to write to (- prints the text version)")
    parser.add_argument("--format", metavar="LIST", default=FORMATS, help=f"svg, png, dot, text (default: {FORMATS})")
    parser.add_argument("--paper", choices=("letter", "a4"), default="letter", help="paper size (default: letter)")
    parser.add_argument("--rare", metavar="PERCENT", type=float, default=2.0, help="branches rarer than this end early")
    parser.add_argument("--date", metavar="DATE", help="date printed on every page (default: today)")
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Compile, lay out and write the chart, or list the complaints."""
    from comeback.cli.options import knowledge_of

    formats = _formats(given)
    knowledge = knowledge_of(given)
    if given.complaint is None:
        for complaint in knowledge.complaints.values():
            print(f"{complaint.id:18} {complaint.name}")
        return 0
    return _chart(given, knowledge, formats)


def _chart(given: argparse.Namespace, knowledge: "KnowledgeBase", formats: list[str]) -> int:
    from comeback.cli import exit_codes, places
    from comeback.diagrams.chart import make_chart, write_chart
    from comeback.diagrams.measure import PAPERS
    from comeback.diagrams.program import DrawingError
    from comeback.engine.decision_graph import Limits, compile_decision_graph
    from comeback.kb.vocabulary import Audience

    service = _service(given.service, knowledge)
    _known(given.complaint, knowledge.complaints, "complaint")
    vehicle = _vehicle(given.vehicle or [])
    limits = Limits(rare=given.rare / 100)
    if sys.stderr.isatty():
        print("Working out every answer; this can take a minute ...", file=sys.stderr, flush=True)
    graph = compile_decision_graph(knowledge, service, given.complaint, Audience(given.audience), vehicle, limits)
    chart = make_chart(graph, knowledge, vehicle, given.date or places.now()[:10], PAPERS[given.paper])
    if given.out == "-":
        sys.stdout.write(chart.text)
        return exit_codes.DONE
    try:
        for place in write_chart(chart, Path(given.out), formats):
            print(f"written {place}")
    except DrawingError as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES
    pages = f"{len(chart.pages)} page{'s' if len(chart.pages) > 1 else ''}"
    print(f"{pages}, {len(graph.boxes)} steps; settles {round(100 * graph.carried)} of 100 such cars on paper.")
    return exit_codes.DONE


def _formats(given: argparse.Namespace) -> list[str]:
    """The formats asked for; the text twin always comes with them, and comes first."""
    from comeback.cli.command_line import UsageError

    asked = [name.strip() for name in given.format.split(",") if name.strip()]
    for name in asked:
        if name not in ("svg", "png", "dot", "text"):
            raise UsageError(f"There is no format '{name}'. Use some of: svg, png, dot, text.")
    if given.out == "-" and asked != ["text"]:
        raise UsageError("Only the text version can go to standard output: add --format text.")
    if not 0 < given.rare < 100:
        raise UsageError(f"--rare {given.rare:g} is no share of cases. Give a percentage between 0 and 100.")
    return ["text", *(name for name in asked if name != "text")]


def _service(asked: str | None, knowledge: "KnowledgeBase") -> str:
    from comeback.cli.command_line import UsageError

    if asked is None:
        if len(knowledge.services) != 1:
            raise UsageError(f"Which service was done? Add --service with one of: {', '.join(knowledge.services)}.")
        return next(iter(knowledge.services))
    _known(asked, knowledge.services, "service")
    return asked


def _known(asked: str, known: Collection[str], kind: str) -> None:
    from comeback.cli.command_line import UsageError
    from comeback.kb.wording import suggest

    if asked not in known:
        hint = suggest(asked, known) or (" `comeback chart` lists them." if kind == "complaint" else "")
        raise UsageError(f"There is no {kind} '{asked}'.{hint}")


def _vehicle(pairs: list[str]) -> "Vehicle":
    from comeback.cli.command_line import UsageError
    from comeback.kb.vocabulary import FEATURES

    found = {}
    for pair in pairs:
        feature, _, value = pair.partition("=")
        _known(feature, FEATURES, "vehicle condition")
        if value not in FEATURES[feature]:
            raise UsageError(f"'{value}' is no {feature}. Use one of: {', '.join(FEATURES[feature])}.")
        found[feature] = value
    return tuple(sorted(found.items()))

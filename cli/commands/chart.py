"""Print the flowchart of a complaint, page by page, with a text version.

The same chooser as the guided walk makes it, so paper and screen agree. Without
a complaint, all complaints are listed; `all` makes a chart of each. Files are
written to the current folder; older ones of the same name are replaced. Exit
code 5 if there is no program to draw with; the text version is written even then.
"""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.diagrams.chart import Chart
    from comeback.kb.schema import KnowledgeBase

FORMATS = "svg,png,text"
KNOWN = ("svg", "png", "pdf", "dot", "text")
ALL = "all"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback chart`."""
    from comeback.cli import options
    from comeback.cli.completers import completed_by, entry_ids
    from comeback.cli.reports import charting

    what = parser.add_argument(
        "complaint", nargs="?", metavar="COMPLAINT", help="a complaint, or `all`; without, all are listed"
    )
    completed_by(what, entry_ids("complaints"))
    parser.add_argument("--poster", action="store_true", help="an overview of what the service may disturb instead")
    parser.add_argument("--for", dest="audience", choices=("bay", "phone"), default="bay", help="reader (default: bay)")
    parser.add_argument(
        "--with", dest="vehicle", metavar="NAME=VALUE", nargs="+", action="extend", help="the car: injection=port"
    )
    parser.add_argument(
        "-o", "--output", metavar="DIR", default=".", help="folder to write to (- prints the text version)"
    )
    parser.add_argument("--format", metavar="LIST", default=FORMATS, help=f"{', '.join(KNOWN)} (default: {FORMATS})")
    parser.add_argument("--worksheet", action="store_true", help="fields for a tick, reading, time, initials")
    charting.add_paper(parser)
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Compile, lay out and write the charts or the poster, or list the complaints."""
    from comeback.cli import exit_codes
    from comeback.cli.options import knowledge_of
    from comeback.cli.reports import charting
    from comeback.diagrams.drawing.program import DrawingError
    from comeback.diagrams.typesetting import TypesettingError

    formats = _formats(given)
    charting.check_pages(given)
    knowledge = knowledge_of(given)
    if given.complaint is None and not given.poster:
        for complaint in knowledge.complaints.values():
            print(f"{complaint.id:18} {complaint.name}")
        return exit_codes.DONE
    try:
        return _poster(given, knowledge, formats) if given.poster else _charts(given, knowledge, formats)
    except (DrawingError, TypesettingError) as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES


def _charts(given: argparse.Namespace, knowledge: "KnowledgeBase", formats: list[str]) -> int:
    from comeback.cli import exit_codes
    from comeback.cli.options import vehicle_of
    from comeback.cli.reports import charting
    from comeback.cli.words.entries import complaint_named
    from comeback.kb.vocabulary import Audience

    service = charting.service_of(given.service, knowledge)
    vehicle = vehicle_of(given.vehicle)
    if given.complaint == ALL:
        complaints = charting.complaints_of(knowledge, service)
    else:
        complaints = [complaint_named(knowledge, given.complaint)]
    asked = charting.wanted(given, service, complaints, [Audience(given.audience)], vehicle)
    for chart in charting.charts_of(asked, knowledge):
        if given.output == "-":
            sys.stdout.write(chart.text)
            continue
        _write(chart, Path(given.output), formats)
        print(charting.told(chart))
    return exit_codes.DONE


def _write(chart: "Chart", folder: Path, formats: list[str]) -> None:
    from comeback.diagrams.booklet import chart_data
    from comeback.diagrams.chart import write_chart
    from comeback.diagrams.typesetting import typeset

    for place in write_chart(chart, folder, [kind for kind in formats if kind != "pdf"]):
        print(f"written {place}")
    if "pdf" in formats:
        place = folder / f"{chart.name}.pdf"
        place.write_bytes(typeset(chart_data([chart], chart.paper, chart.heading.title)))
        print(f"written {place}")


def _poster(given: argparse.Namespace, knowledge: "KnowledgeBase", formats: list[str]) -> int:
    from comeback.cli import exit_codes, places
    from comeback.cli.reports import charting
    from comeback.diagrams.drawing.program import draw
    from comeback.diagrams.drawing.svg import lettered, size_of
    from comeback.diagrams.poster import poster_text

    service = charting.service_of(given.service, knowledge)
    text = poster_text(knowledge, service, given.date or places.now()[:10])
    folder = Path(given.output)
    folder.mkdir(parents=True, exist_ok=True)
    made = {
        "dot": lambda: text.encode(),
        "svg": lambda: lettered(draw(text, "svg").decode()).encode(),
        "png": lambda: draw(text, "png"),
    }
    for kind in formats:
        if kind in made:
            place = folder / f"poster-{service}.{kind}"
            place.write_bytes(made[kind]())
            print(f"written {place}")
    if given.size != "normal" and ("svg" in formats or "png" in formats):
        wide, high = (side / 72 for side in size_of(draw(text, "svg").decode()))
        print(
            f"The poster is {wide:.0f} by {high:.0f} inches, 14 pt type; --size, --paper and --pages do not change it."
        )
    return exit_codes.DONE


def _formats(given: argparse.Namespace) -> list[str]:
    """The formats asked for; the text twin always comes with them, and comes first."""
    from comeback.cli.errors import UsageError

    asked = [name.strip() for name in given.format.split(",") if name.strip()]
    for name in asked:
        if name not in KNOWN:
            raise UsageError(f"There is no format '{name}'. Use some of: {', '.join(KNOWN)}.")
    if given.output == "-" and (asked != ["text"] or given.poster):
        raise UsageError("Only the text version of a chart can go to standard output: add --format text.")
    return ["text", *(name for name in asked if name != "text")]

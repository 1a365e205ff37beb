"""Print the chart of a complaint: what to look at, what to do about it, step by step.

One way down while everything is OK; to the right what was found, what to do, and
when it is fixed. A text version with the same numbers comes with it. Without a
complaint, all complaints are listed; `all` makes a chart of each. Files are written
to the current folder; older ones of the same name are replaced. Exit code 5 if a
picture cannot be drawn; the text version is written even then.
"""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError

if TYPE_CHECKING:
    from comeback.cli.reports.charting import Made
    from comeback.diagrams.printing import Paper
    from comeback.kb.schema import KnowledgeBase

FORMATS = "pdf,text"
KNOWN = ("pdf", "svg", "png", "text")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback chart`."""
    from comeback.cli.reports import charting

    what = parser.add_argument(
        "complaint", nargs="?", metavar="COMPLAINT", help="a complaint, or `all`; without, all are listed"
    )
    options.completed_by(what, options.entry_ids("complaints"))
    parser.add_argument("--for", dest="audience", choices=("bay", "phone"), default="bay", help="reader (default: bay)")
    options.add_vehicle(parser, "injection=port")
    parser.add_argument(
        "-o", "--output", metavar="DIR", default=".", help="folder to write to (- prints the text version)"
    )
    parser.add_argument("--format", metavar="LIST", default=FORMATS, help=f"{', '.join(KNOWN)} (default: {FORMATS})")
    parser.add_argument("--flowchart", action="store_true", help="one page for the wall instead: the way as a drawing")
    charting.add_paper(parser)
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Make and write the charts, or list the complaints."""
    from comeback.cli.reports import charting
    from comeback.cli.words.entries import complaint_named
    from comeback.diagrams.drawing import DrawingError
    from comeback.diagrams.printing import TypesettingError
    from comeback.kb.vocabulary import Audience

    formats = _formats(given)
    knowledge = options.knowledge_of(given)
    if given.complaint is None:
        for complaint in knowledge.complaints.values():
            print(f"{complaint.id:18} {complaint.name}")
        return exit_codes.DONE
    service = charting.service_of(given.service, knowledge)
    every = given.complaint == "all"
    names = charting.complaints_of(knowledge, service) if every else [complaint_named(knowledge, given.complaint)]
    vehicle = options.vehicle_of(given.vehicle, knowledge)
    asked = [charting.Wanted(service, name, Audience(given.audience), vehicle) for name in names]
    try:
        for made in charting.charts_of(asked, knowledge):
            _put(made, given, knowledge, formats)
    except (DrawingError, TypesettingError) as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES
    return exit_codes.DONE


def _put(made: "Made", given: argparse.Namespace, knowledge: "KnowledgeBase", formats: list[str]) -> None:
    """Write one chart, the text first, since it never fails."""
    from comeback.cli.reports import charting
    from comeback.diagrams.text import text_of

    foot = f"Printed {charting.date_of(given)}. Knowledge {knowledge.version[:12]}."
    text = text_of(made.sheet, foot)
    if given.output == "-":
        sys.stdout.write(text)
        return
    folder = Path(given.output)
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{made.sheet.name}{'-flowchart' if given.flowchart else ''}"
    _write(folder / f"{name}.txt", text.encode())
    for ending, content in _drawn(made, charting.paper_of(given), foot, given.flowchart, formats):
        _write(folder / f"{name}{ending}", content)
    print(made.sheet.figures)


def _write(place: Path, content: bytes) -> None:
    place.write_bytes(content)
    print(f"written {place}")


def _drawn(made: "Made", paper: "Paper", foot: str, flowchart: bool, formats: list[str]) -> Iterator[tuple[str, bytes]]:
    """Ends of names, and contents. Raises TypesettingError, DrawingError."""
    from comeback.diagrams.flowchart import flowchart_data
    from comeback.diagrams.printing import data_of, typeset

    for kind in formats:
        if flowchart:
            pages = typeset(flowchart_data(made.ladder, made.sheet, paper, foot), kind, "flowchart.typ")
        else:
            pages = typeset(data_of([made.sheet], paper, f"{made.sheet.title}, {made.sheet.after}", foot), kind)
        for number, page in enumerate(pages, 1):
            yield (f".{kind}" if kind == "pdf" or flowchart else f"-{number}.{kind}"), page


def _formats(given: argparse.Namespace) -> list[str]:
    """The formats asked for beside the text version, which always comes."""
    asked = [name.strip() for name in given.format.split(",") if name.strip()]
    for name in asked:
        if name not in KNOWN:
            raise UsageError(f"There is no format '{name}'. Use some of: {', '.join(KNOWN)}.")
    if given.output == "-" and asked not in (["text"], FORMATS.split(",")):
        raise UsageError("Only the text version of a chart can go to standard output: leave --format out.")
    return [name for name in asked if name != "text"]

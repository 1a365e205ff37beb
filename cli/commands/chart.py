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
from itertools import chain
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.reports import charting
from comeback.cli.words.search_services import complaint_named
from comeback.diagrams.flowchart import flowchart_data
from comeback.diagrams.printing import Paper, data_of, typeset
from comeback.diagrams.text import text_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

FORMATS = "pdf,text"
KNOWN = ("pdf", "svg", "png", "text")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback chart`."""
    told, completer = "a complaint, or `all`; without, all are listed", options.entry_ids("complaints")
    options.add(parser, "complaint", nargs="?", metavar="COMPLAINT", completer=completer, help=told)
    parser.add_argument("--for", dest="audience", choices=("bay", "phone"), default="bay", help="reader (default: bay)")
    parser.add_argument(
        "-o", "--output", metavar="DIR", default=".", help="folder to write to (- prints the text version)"
    )
    parser.add_argument("--format", metavar="LIST", default=FORMATS, help=f"{', '.join(KNOWN)} (default: {FORMATS})")
    parser.add_argument("--flowchart", action="store_true", help="one page for the wall instead: the way as a drawing")
    options.add(parser, "--with", *options.PAPER, *options.KNOWLEDGE)


def run(given: argparse.Namespace) -> int:
    """Make and write the charts, or list the complaints."""
    formats = _formats(given)
    knowledge = options.knowledge_of(given)
    if given.complaint is None:
        options.print_names(knowledge.complaints)
        return exit_codes.DONE
    service = charting.service_of(given.service, knowledge)
    every = given.complaint == "all"
    names = charting.complaints_of(knowledge, service) if every else [complaint_named(knowledge, given.complaint)]
    vehicle = options.vehicle_of(given.vehicle, knowledge)
    paper = charting.paper_of(given) if formats and not given.flowchart else None
    asked = [charting.Wanted(service, name, Audience(given.audience), vehicle, paper) for name in names]
    for made in charting.charts_of(asked, knowledge):
        _put(made, given, knowledge, formats)
    return exit_codes.DONE


def _put(made: charting.Made, given: argparse.Namespace, knowledge: KnowledgeBase, formats: list[str]) -> None:
    """Write one chart, the text first, since it never fails."""
    foot = f"Printed {charting.date_of(given)}. Knowledge {knowledge.version[:12]}."
    text = text_of(made.sheet, foot)
    if given.output == "-":
        sys.stdout.write(text)
        return
    folder, name = Path(given.output), f"{made.sheet.name}{'-flowchart' if given.flowchart else ''}"
    formats = [] if given.flowchart and not made.ladder.stations else formats  # there is no way to draw
    drawn = _drawn(made, charting.paper_of(given), foot, given.flowchart, formats)
    for ending, content in chain([(".txt", text.encode())], drawn):
        charting.write_file(folder / f"{name}{ending}", content)
    print(made.sheet.figures)


def _drawn(
    made: charting.Made, paper: Paper, foot: str, flowchart: bool, formats: list[str]
) -> Iterator[tuple[str, bytes]]:
    """Ends of names, and contents. Raises TypesettingError, DrawingError."""
    for kind in formats:
        if flowchart:
            pages = typeset(flowchart_data(made.sheet, paper, foot), kind, "flowchart.typ")
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

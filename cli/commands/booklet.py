"""Print the charts of a service as one PDF: what it can cause, the likeliest first.

Contents, how to read a chart, the charts, codes, cautions, sources; 40 pages at
most. The same input gives the same bytes.
"""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from comeback.kb.schema import KnowledgeBase


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback booklet`."""
    from comeback.cli import options
    from comeback.cli.reports import charting

    parser.add_argument("--complaint", metavar="ID", action="append", help="only this complaint; may be repeated")
    parser.add_argument(
        "--for", dest="audience", choices=("bay", "phone", "both"), default="bay", help="readers (default: bay)"
    )
    parser.add_argument("-o", "--output", metavar="FILE", help="file to write (default: SERVICE.pdf)")
    charting.add_paper(parser)
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Make the charts, then the PDF."""
    from comeback.cli import exit_codes, places
    from comeback.cli.options import knowledge_of, knowledge_read
    from comeback.cli.private_files import refuse_to_harm
    from comeback.cli.reports import charting
    from comeback.diagrams.printing import TypesettingError

    if given.output:
        refuse_to_harm(Path(given.output), places.log_place(None), knowledge_read(given))
    knowledge = knowledge_of(given)
    service = charting.service_of(given.service, knowledge)
    try:
        return _booklet(given, knowledge, service)
    except TypesettingError as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES


def _booklet(given: argparse.Namespace, knowledge: "KnowledgeBase", service: str) -> int:
    from comeback.cli import exit_codes
    from comeback.cli.reports import charting
    from comeback.cli.words.entries import complaint_named
    from comeback.diagrams.booklet import booklet_data, fitting, likeliest
    from comeback.diagrams.printing import typeset
    from comeback.kb.vocabulary import Audience

    named = [complaint_named(knowledge, complaint) for complaint in given.complaint or ()]
    complaints = named or likeliest(knowledge, service, charting.complaints_of(knowledge, service))
    audiences = tuple(Audience) if given.audience == "both" else (Audience(given.audience),)
    paper = charting.paper_of(given)
    asked = [charting.Wanted(service, name, who, (), paper) for name in complaints for who in audiences]
    charts = list(charting.charts_of(asked, knowledge))
    kept = charts if named else charts[: fitting([one.pages for one in charts])]
    sheets, ladders = [one.sheet for one in kept], [one.ladder for one in kept]
    data = booklet_data(sheets, ladders, knowledge, service, paper, charting.date_of(given))
    place = Path(given.output or f"{service}.pdf")
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(typeset(data)[0])
    print(f"written {place}")
    left = len(charts) - len(kept)
    rest = f"; {left} less likely ones left out, see `comeback chart`" if left else ""
    print(f"{len(kept)} chart{'s' if len(kept) != 1 else ''}{rest}.")
    return exit_codes.DONE

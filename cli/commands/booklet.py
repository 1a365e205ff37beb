"""Print all charts of a service as one PDF, with contents, repairs and codes.

Cover, contents, one chart for each complaint, the repairs in full, trouble
codes, cautions, sources. Each chart begins on an odd page. Needs the extra
`booklet`; without it, exit code 5. The same input gives the same bytes.
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
    from comeback.cli.words.entries import complaint_named
    from comeback.diagrams.drawing.program import DrawingError, find_program
    from comeback.diagrams.typesetting import TypesettingError, find_library

    charting.check_pages(given)
    if given.output:
        refuse_to_harm(Path(given.output), places.log_place(None), knowledge_read(given))
    knowledge = knowledge_of(given)
    service = charting.service_of(given.service, knowledge)
    given.complaint = [complaint_named(knowledge, complaint) for complaint in given.complaint or ()]
    try:
        find_library()  # before minutes of work
        find_program()
        return _booklet(given, knowledge, service)
    except (DrawingError, TypesettingError) as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES


def _booklet(given: argparse.Namespace, knowledge: "KnowledgeBase", service: str) -> int:
    from comeback.cli import exit_codes, places
    from comeback.cli.reports import charting
    from comeback.diagrams.booklet import booklet_data
    from comeback.diagrams.typesetting import typeset
    from comeback.kb.vocabulary import Audience

    complaints = given.complaint or charting.complaints_of(knowledge, service)
    audiences = tuple(Audience) if given.audience == "both" else (Audience(given.audience),)
    asked = charting.wanted(given, service, complaints, audiences, draw=True)
    charts = list(charting.charts_of(asked, knowledge))
    date = given.date or places.now()[:10]
    made = typeset(booklet_data(charts, knowledge, service, charting.paper_of(given), date))
    place = Path(given.output or f"{service}.pdf")
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(made)
    print(f"written {place}")
    shares = sorted(round(100 * chart.heading.carried) for chart in charts)
    count = f"{len(charts)} chart{'s' if len(charts) > 1 else ''}"
    middle = shares[len(shares) // 2]
    print(f"{count}; in the middle one {middle} of 100 cars or calls end right ({shares[0]} to {shares[-1]}).")
    return exit_codes.DONE

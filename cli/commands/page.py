"""Write the charts of a service as one HTML file to tap through, at the car and at the phone.

The same steps with the same numbers as on paper. The file needs no network and no
other file. What was tapped becomes a note that `comeback triage --answers` and
`comeback call --answers` take. The same input gives the same bytes.
"""

import argparse
from pathlib import Path

from comeback.cli import exit_codes, options, places


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback page`."""
    service = parser.add_argument("service", nargs="?", metavar="SERVICE", help="the service that was done")
    options.completed_by(service, options.entry_ids("services"))
    parser.add_argument("--complaint", metavar="ID", action="append", help="only this complaint; may be repeated")
    parser.add_argument("-o", "--output", metavar="FILE", help="file to write (default: SERVICE.html)")
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Make the charts for both readers, then the file."""
    from comeback.cli.private_files import refuse_to_harm
    from comeback.cli.reports import charting
    from comeback.cli.words.entries import complaint_named
    from comeback.diagrams.booklet import likeliest
    from comeback.diagrams.page.data import page_data
    from comeback.diagrams.page.html import page_of
    from comeback.kb.vocabulary import Audience

    if given.output:
        refuse_to_harm(Path(given.output), places.log_place(None), options.knowledge_read(given))
    knowledge = options.knowledge_of(given)
    service = charting.service_of(given.service, knowledge)
    named = [complaint_named(knowledge, complaint) for complaint in given.complaint or ()]
    complaints = named or charting.complaints_of(knowledge, service)
    asked = [charting.Wanted(service, name, who) for who in Audience for name in complaints]
    charts = [(made.ladder, made.sheet) for made in charting.charts_of(asked, knowledge)]
    page = page_of(page_data(charts, knowledge, likeliest(knowledge, service, complaints)))
    place = Path(given.output or f"{service}.html")
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(page, encoding="utf-8", newline="\n")
    print(f"written {place}")
    return exit_codes.DONE

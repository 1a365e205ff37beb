"""Write the charts of a service as one HTML file to tap through, at the car and at the phone.

The same steps with the same numbers as on paper. The file needs no network and no
other file. What was tapped becomes a note that `comeback triage --answers` and
`comeback call --answers` take. The same input gives the same bytes.
"""

import argparse
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.reports import charting
from comeback.diagrams.booklet import likeliest
from comeback.diagrams.page.data import page_data
from comeback.diagrams.page.html import page_of
from comeback.kb.vocabulary import Audience


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback page`."""
    options.add(parser, "service", *options.KNOWLEDGE)
    charting.add_file_of_charts(parser, ".html")


def run(given: argparse.Namespace) -> int:
    """Make the charts for both readers, then the file."""
    knowledge, service, named = charting.asked_of(given)
    complaints = named or charting.complaints_of(knowledge, service)
    asked = [charting.Wanted(service, name, who) for who in Audience for name in complaints]
    charts = [(made.ladder, made.sheet) for made in charting.charts_of(asked, knowledge)]
    page = page_of(page_data(charts, knowledge, likeliest(knowledge, service, complaints)))
    charting.write_file(Path(given.output or f"{service}.html"), page.encode())
    return exit_codes.DONE

"""Draw one page of a service: its steps, the slips of each, the complaints they bring.

For the trainer: read from left to right. What is too rare for the page is counted
below it. The file's ending says what it is: .svg, .png or .pdf. The same input
gives the same bytes.
"""

import argparse
from functools import partial

from comeback.cli import options
from comeback.cli.reports import charting
from comeback.cli.reports.charting import write_drawing
from comeback.engine.analysis.relations import service_map


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback map`."""
    parser.add_argument("-o", "--output", metavar="FILE", help="file to write (default: SERVICE-map.pdf)")
    options.add(parser, "service", "--paper", "--size", *options.KNOWLEDGE)


def run(given: argparse.Namespace) -> int:
    """Draw the map and write it."""
    knowledge = options.knowledge_of(given)
    service = charting.service_of(given.service, knowledge)
    given.output = given.output or f"{service}-map.pdf"
    title = f"{knowledge.services[service].name}: what can go wrong"
    return write_drawing(given, knowledge, title, partial(service_map, knowledge, service), charting.paper_of(given))

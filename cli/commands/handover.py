"""Print the checks to make before the keys go back.

The checks are those that prevent the most loss in the minutes you have: how often
something is left wrong, times what it costs if the car comes back with it, danger
most of all. What goes away by itself is told to the customer, not checked. The card
says what state the car is assumed to be in, and names the dangers it leaves out.
`-o card.pdf` makes one page to tick off. Without a service, all services are listed.
"""

import argparse
import sys

from comeback.cli import exit_codes, options, places
from comeback.cli.errors import UsageError
from comeback.cli.look import look_of, show
from comeback.cli.reports import charting
from comeback.cli.reports.card_text import lines
from comeback.cli.words.search_services import service_named
from comeback.diagrams.handover import page_of
from comeback.diagrams.printing import PAPERS, data_of
from comeback.engine.handover.card import handover_card


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback handover`."""
    parser.add_argument("service", nargs="?", metavar="SERVICE", help="id of the service; without, all are listed")
    parser.add_argument("--minutes", metavar="N", type=float, default=10.0, help="time for the checks (default: 10)")
    parser.add_argument("-o", "--output", metavar="FILE", help="one page to tick off: .pdf, .svg or .png")
    options.add(parser, "--with", "--plain", "--json", "--paper", *options.KNOWLEDGE)


def run(given: argparse.Namespace) -> int:
    """Choose the checks and print the card."""
    if not 1 <= given.minutes <= 240:
        raise UsageError(f"--minutes {given.minutes:g} is not a valid time. Give 1 to 240.")
    knowledge = options.knowledge_of(given)
    if given.service is None:
        options.print_names(knowledge.services)
        return exit_codes.DONE
    vehicle = options.vehicle_of(given.vehicle, knowledge)
    card = handover_card(knowledge, service_named(knowledge, given.service), given.minutes, vehicle)
    if given.json:
        return options.print_json(card)
    if given.output:
        foot = f"Printed {places.now()[:10]}. Knowledge {knowledge.version[:12]}."
        page = data_of([], PAPERS[given.paper], "Before the keys go back", foot) | {"card": page_of(card, knowledge)}
        return charting.write_page(given, lambda: page, "ladder.typ")
    look = look_of(sys.stdout, given.plain)
    show(lines(knowledge, card, look), look)
    return exit_codes.DONE

"""The customer is on the phone: may the car be driven, what to say, what to write down.

Ends in one of five dispositions, from "drive as usual and watch" to "stop, get clear".
Everything is saved at once under a short case id, which the bay picks up.

comeback call --case K7RT continues a call. If it has ended: they call again, they
refuse, the advice once more, a note. A license plate finds the case too.
"""

import argparse

from comeback.cli import options
from comeback.cli.prompt.start import run_walk


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback call`."""
    parser.add_argument("--case", metavar="ID", help="continue a paused or finished call; a license plate works too")
    options.add(parser, *options.WALK)


def run(given: argparse.Namespace) -> int:
    """Run the call."""
    return run_walk(given, "phone", given.case)

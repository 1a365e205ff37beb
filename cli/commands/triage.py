"""The car is in the bay: which check comes next, what fixes it, how to prove it.

Give the case id of a call to take it over; nothing that is known is asked again.
Ends with a proven repair and a closed case, or with handing the car over.
"""

import argparse

from comeback.cli import options
from comeback.cli.prompt.start import run_walk


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback triage`."""
    told = "case id of a call or of a paused walk; or license plate, or car"
    options.add(parser, "case", nargs="*", metavar="CASE", completer=options.case_ids, help=told)
    options.add(parser, *options.WALK)


def run(given: argparse.Namespace) -> int:
    """Run the walk in the bay."""
    return run_walk(given, "bay", " ".join(given.case) or None)

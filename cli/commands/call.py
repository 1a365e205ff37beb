"""The customer is on the phone: may the car be driven, what to say, what to write down.

Ends in one of five dispositions, from "drive as usual and watch" to "stop, get clear".
Everything is saved at once under a short case id, with which the bay goes on.
"""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback call`."""
    from comeback.cli import options

    parser.add_argument("--case", metavar="ID", help="go on with a call that was paused")
    options.add_walk(parser)


def run(given: argparse.Namespace) -> int:
    """Run the call."""
    from comeback.cli.options import run_walk

    return run_walk(given, "phone", given.case)

"""Print the charts of a service as one PDF: what it can cause, the likeliest first.

Contents, how to read a chart, the hand-over card, the charts, codes, cautions,
sources; 40 pages at most. The same input gives the same bytes.
"""

import argparse
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.numbers import counted
from comeback.cli.reports import charting
from comeback.diagrams.booklet import booklet_data, fitting, likeliest
from comeback.diagrams.printing import typeset
from comeback.engine.handover.card import handover_card
from comeback.kb.vocabulary import Audience

MINUTES = 10.0
"""Time for the checks of the hand-over card."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback booklet`."""
    parser.add_argument(
        "--for", dest="audience", choices=("bay", "phone", "both"), default="bay", help="readers (default: bay)"
    )
    charting.add_file_of_charts(parser, ".pdf")
    options.add(parser, *options.PAPER, *options.KNOWLEDGE)


def run(given: argparse.Namespace) -> int:
    """Make the charts, then the PDF."""
    knowledge, service, named = charting.asked_of(given)
    complaints = named or likeliest(knowledge, service, charting.complaints_of(knowledge, service))
    audiences = tuple(Audience) if given.audience == "both" else (Audience(given.audience),)
    paper = charting.paper_of(given)
    asked = [charting.Wanted(service, name, who, (), paper) for name in complaints for who in audiences]
    charts = list(charting.charts_of(asked, knowledge))
    kept = charts if named else charts[: fitting([one.pages for one in charts])]
    sheets, ladders = [one.sheet for one in kept], [one.ladder for one in kept]
    pdf = typeset(
        booklet_data(
            sheets, ladders, knowledge, handover_card(knowledge, service, MINUTES), paper, charting.date_of(given)
        )
    )[0]
    charting.write_file(Path(given.output or f"{service}.pdf"), pdf)
    left = len(charts) - len(kept)
    rest = f"; {left} less likely ones left out, see `comeback chart`" if left else ""
    print(f"{counted(len(kept), 'chart')}{rest}.")
    return exit_codes.DONE

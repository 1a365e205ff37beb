"""Drawings of what leads to what, written to the file that was asked for."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from comeback.cli import exit_codes, options, places
from comeback.cli.errors import UsageError
from comeback.cli.private_files import refuse_to_harm
from comeback.cli.reports.charting import write_file

if TYPE_CHECKING:
    from comeback.diagrams.printing import Paper
    from comeback.engine.analysis.relations import Graph
    from comeback.kb.schema import KnowledgeBase

KINDS = ("svg", "png", "pdf")


def write_drawing(
    given: argparse.Namespace,
    knowledge: "KnowledgeBase",
    title: str,
    graph_of: "Callable[[int], Graph]",
    paper: "Paper",
) -> int:
    """Draw the graph and write it to `given.output`; the exit code. Raises UsageError, OSError."""
    from comeback.diagrams.drawing import DrawingError
    from comeback.diagrams.printing import TypesettingError, typeset
    from comeback.diagrams.relations import page_of

    place = Path(given.output)
    kind = place.suffix.removeprefix(".").lower()
    if kind not in KINDS:
        raise UsageError(f"{place}: what kind of file? Let its name end in one of: .{', .'.join(KINDS)}.")
    refuse_to_harm(place, places.log_place(None), options.knowledge_read(given))
    try:
        page = page_of(title, graph_of, paper, f"Knowledge {knowledge.version[:12]}.")
        (content,) = typeset(page, kind, "relations.typ")
    except (DrawingError, TypesettingError) as error:
        print(f"comeback: {error}", file=sys.stderr)
        return exit_codes.FILES
    write_file(place, content)
    return exit_codes.DONE

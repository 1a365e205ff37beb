"""What the commands that print charts share: paper, service, and the making of charts on all cores."""

import argparse
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.cli import exit_codes, places
from comeback.cli.errors import UsageError
from comeback.cli.files import refuse_to_harm
from comeback.cli.options import knowledge_of, knowledge_read
from comeback.cli.parallel import available_cores, show_progress, spread
from comeback.cli.words.search_services import complaint_named, service_named
from comeback.diagrams.printing import PAPERS, WALL_PAPERS, Paper, fitted, typeset
from comeback.diagrams.relations import page_of
from comeback.diagrams.sheet import Sheet
from comeback.diagrams.words import sheet_of
from comeback.engine.belief.network import Vehicle
from comeback.engine.charts.ladder import Ladder
from comeback.engine.charts.planner import ladder_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    from comeback.engine.analysis.relations import Graph

KINDS = ("svg", "png", "pdf")
"""Kinds of file that a drawing can be."""


def paper_of(given: argparse.Namespace) -> Paper:
    """The paper asked for."""
    paper = (WALL_PAPERS if given.size == "wall" else PAPERS)[given.paper]
    return replace(paper, worksheet=getattr(given, "worksheet", False))


def date_of(given: argparse.Namespace) -> str:
    """The date printed on every page."""
    return str(given.date or places.now()[:10])


def add_file_of_charts(parser: argparse.ArgumentParser, ending: str) -> None:
    """Which complaints of a service go into one file, and its name."""
    parser.add_argument("--complaint", metavar="ID", action="append", help="only this complaint; may be repeated")
    parser.add_argument("-o", "--output", metavar="FILE", help=f"file to write (default: SERVICE{ending})")


def asked_of(given: argparse.Namespace) -> tuple[KnowledgeBase, str, list[str]]:
    """The knowledge, the service, and the complaints that were named. Raises UsageError."""
    if given.output:
        refuse_to_harm(Path(given.output), places.log_place(None), knowledge_read(given))
    knowledge = knowledge_of(given)
    named = [complaint_named(knowledge, complaint) for complaint in given.complaint or ()]
    return knowledge, service_of(given.service, knowledge), named


def write_file(place: Path, data: bytes) -> None:
    """Write the file that was asked for, its folder too, and say where it is."""
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(data)
    print(f"written {place}")


def service_of(asked: str | None, knowledge: KnowledgeBase) -> str:
    """The service asked for, or the only one. Raises UsageError."""
    if asked is None:
        if len(knowledge.services) != 1:
            raise UsageError(f"Which service was done? Add --service with one of: {', '.join(knowledge.services)}.")
        return next(iter(knowledge.services))
    return service_named(knowledge, asked)


def complaints_of(knowledge: KnowledgeBase, service: str) -> list[str]:
    """Complaints that may follow the service."""
    return [c.id for c in knowledge.complaints.values() if c.after((service,))]


@dataclass(frozen=True)
class Wanted:
    """A chart to be made; `pages`, if given, is the paper on which its pages are counted."""

    service: str
    complaint: str
    audience: Audience
    vehicle: Vehicle = ()
    pages: Paper | None = None


@dataclass(frozen=True)
class Made:
    """A chart as data and in words, and how many pages it takes (0: not counted)."""

    ladder: Ladder
    sheet: Sheet
    pages: int = 0


def charts_of(asked: Sequence[Wanted], knowledge: KnowledgeBase) -> Iterator[Made]:
    """The charts in the order asked for, made on all cores; progress shows on a terminal."""
    charts = spread(partial(_itself, knowledge), made, asked, available_cores())
    try:
        for number, one in enumerate(asked, 1):
            show_progress(f"Chart {number} of {len(asked)}: {one.complaint}, {one.audience.value}")
            yield next(charts)
    finally:
        show_progress()


def _itself(knowledge: KnowledgeBase) -> KnowledgeBase:
    return knowledge


def made(knowledge: KnowledgeBase, asked: Wanted) -> Made:
    """One chart. Raises TypesettingError if its pages are to be counted and cannot be."""
    ladder = ladder_of(knowledge, asked.service, asked.complaint, asked.audience, asked.vehicle)
    sheet = sheet_of(ladder, knowledge)
    return Made(ladder, *(fitted(sheet, asked.pages) if asked.pages else (sheet, 0)))


def write_drawing(
    given: argparse.Namespace, knowledge: KnowledgeBase, title: str, graph_of: "Callable[[int], Graph]", paper: Paper
) -> int:
    """Draw the graph and write it to `given.output`; the exit code. Raises UsageError, OSError."""
    return write_page(
        given, partial(page_of, title, graph_of, paper, f"Knowledge {knowledge.version[:12]}."), "relations.typ"
    )


def write_page(given: argparse.Namespace, made: Callable[[], dict[str, Any]], template: str) -> int:
    """Write one page to `given.output`, whose ending says what it is; the exit code. Raises UsageError, OSError."""
    place = Path(given.output)
    kind = place.suffix.removeprefix(".").lower()
    if kind not in KINDS:
        raise UsageError(f"{place}: what kind of file? Let its name end in one of: .{', .'.join(KINDS)}.")
    refuse_to_harm(place, places.log_place(None), knowledge_read(given))
    (content,) = typeset(made(), kind, template)
    write_file(place, content)
    return exit_codes.DONE

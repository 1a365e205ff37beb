"""The answers of a screen of many checks as a table beside its box: what is seen, and what to do then.

A danger screen or a list of trouble codes has many answers. In a table each has a line of its own, and there
is room for an end of its own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.exits import Connector, Way
from comeback.diagrams.paper.lettering import fitted
from comeback.diagrams.paper.measure import BOLD_LINE, CELL, RANK_GAP, TABLE_EDGE, TYPE, Columns, text_height

SPARE = 4.0
"""Left free in a line, so that all tables are as wide."""


@dataclass(frozen=True)
class Line:
    """A line of the table: the answer, then what it leads to: in bold, then plain; a connector is shaded."""

    answer: tuple[str, ...]
    lead: tuple[str, ...]
    rest: tuple[str, ...] = ()
    connector: Connector | None = None
    head: bool = False

    @property
    def height(self) -> float:
        """Height of its cells."""
        then = BOLD_LINE * (len(self.lead) + len(self.rest))
        return max(text_height(len(self.answer)), then) + 2 * CELL + 1.0


def table_lines(ways: Sequence[Way], columns: Columns) -> Iterator[Line]:
    """The lines of the table for these exits, in their order; a head if some of them name repairs at once."""
    room = [width - SPARE for width in columns.table]
    if any(way.ending and way.ending.titled_by_repairs for way in ways):
        heads = zip(phrases.HEADS, room, strict=True)
        seen, then = (tuple(fitted(text, width, TYPE, bold=True)) for text, width in heads)
        yield Line(seen, then, head=True)
    for way in ways:
        answer = tuple(line for part in way.parts or [""] for line in fitted(part, room[0], TYPE))
        if way.ending:
            title = fitted(way.ending.title, room[1], TYPE, bold=True)
            details = (line for text in way.ending.details for line in fitted(text, room[1], TYPE))
            yield Line(answer, tuple(title), tuple(details))
        elif way.connector:
            yield Line(answer, tuple(fitted(way.connector.text, room[1], TYPE, bold=True)), (), way.connector)


def table_height(ways: Sequence[Way], columns: Columns) -> float:
    """Height of the table with the gap below it."""
    return sum(line.height for line in table_lines(ways, columns)) + 2 * TABLE_EDGE + RANK_GAP

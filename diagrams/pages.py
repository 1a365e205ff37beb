"""Pages of a chart as data: rows of boxes with connectors, each page usable by itself; nothing is drawn here."""

from dataclasses import dataclass

from comeback.diagrams import phrases
from comeback.diagrams.captions import Caption, wrapped
from comeback.diagrams.hazards import Hazard, hazards_height
from comeback.diagrams.measure import (
    FOOT,
    HEAD,
    KEY,
    NORMAL,
    PAGE_LINE,
    TARGET_LINE,
    WRITE_ON,
    Columns,
    box_height,
    rank_heights,
    text_height,
)


@dataclass(frozen=True)
class Connector:
    """One end of a jump. `letter` and `page` are empty on the same page; `steps` are at the other end."""

    text: str
    letter: str = ""
    page: int = 0
    steps: tuple[int, ...] = ()


@dataclass(frozen=True)
class Way:
    """An exit as drawn: its answer, and a copied end or a connector; neither if it flows to the next row."""

    answer: str
    target: int
    ending: Caption | None = None
    connector: Connector | None = None
    line: int = NORMAL.lines[1]

    @property
    def lines(self) -> list[str]:
        """The answer, wrapped."""
        parts = self.answer.splitlines()
        if len(parts) > 1:
            parts = [f"{phrases.BULLET}{part}" for part in parts]
        return [line for part in parts for line in wrapped(part, self.line)] or [""]


@dataclass(frozen=True)
class Row:
    """A stop with all that is drawn around it."""

    number: int
    caption: Caption
    arrivals: tuple[Connector, ...]
    down: Way | None
    sides: tuple[Way, ...]
    flows: bool
    write_on: bool = False

    @property
    def boxes(self) -> int:
        """Boxes drawn for this row, connectors not counted."""
        ways = (*self.sides, *([self.down] if self.down else []))
        return 1 + sum(1 for way in ways if way.ending)


@dataclass(frozen=True)
class Page:
    """A page of the chart. `hazards` stand at its top, `notes` are read aloud at its ends.

    `key`: the key and the list of pages stand on it.
    """

    number: int
    rows: tuple[Row, ...]
    hazards: tuple[Hazard, ...] = ()
    notes: tuple[str, ...] = ()
    columns: Columns = NORMAL
    key: bool = False

    @property
    def boxes(self) -> int:
        """Boxes on the page, each warning counted as one."""
        return sum(row.boxes for row in self.rows) + len(self.hazards)


def page_height(page: Page) -> float:
    """Height of all that is drawn on a page, in points."""
    notes = text_height(sum(len(wrapped(note, PAGE_LINE)) for note in page.notes))
    rows = sum(map(row_height, page.rows))
    return HEAD + FOOT + (KEY if page.key else 0.0) + hazards_height(page.hazards) + rows + notes


def row_height(row: Row) -> float:
    """Height of a row on paper."""
    sides = [max(_way_height(way), text_height(len(way.lines))) for way in row.sides]
    own = box_height(row.caption) + (WRITE_ON if row.write_on else 0.0)
    first = max(own, sides[0] if sides else 0.0)
    above = [text_height(len(row.arrivals)) + 8.0] if row.arrivals else []
    below = [text_height(len(row.down.lines)) + 3.0] if row.down and row.down.answer else []
    if row.down and not row.flows:
        below.append(_way_height(row.down))
    return rank_heights([*above, first, *sides[1:], *below])


def _way_height(way: Way) -> float:
    if way.ending:
        return box_height(way.ending)
    return text_height(len(wrapped(way.connector.text, TARGET_LINE)) if way.connector else 1) + 10.0

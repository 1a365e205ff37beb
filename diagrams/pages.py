"""Pages of a chart as data: rows of boxes with connectors, each page usable by itself; nothing is drawn here."""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.diagrams import phrases
from comeback.diagrams.captions import Caption, wrapped
from comeback.diagrams.hazards import Hazard, hazards_height
from comeback.diagrams.lettering import fitted
from comeback.diagrams.measure import (
    FOOT,
    HEAD,
    KEY,
    LEAST_SLACK,
    MANY_SLACK,
    MANY_WAYS,
    NORMAL,
    NOTES,
    PAGE_WIDTH,
    ROW_SLACK,
    TARGET_LINE,
    TYPE,
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
        if sum(1 for part in parts if not part.startswith(phrases.HOW)) > 1:
            parts = [part if part.startswith(phrases.HOW) else f"{phrases.BULLET}{part}" for part in parts]
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
    def ways(self) -> tuple[Way, ...]:
        """All exits, the one that leads down last."""
        return (*self.sides, *([self.down] if self.down else []))

    @property
    def boxes(self) -> int:
        """Boxes drawn for this row, connectors not counted."""
        return 1 + sum(1 for way in self.ways if way.ending)


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
    rows = sum(map(row_height, page.rows))
    return HEAD + FOOT + (KEY if page.key else 0.0) + hazards_height(page.hazards) + rows + notes_height(page.notes)


def notes_height(notes: Sequence[str]) -> float:
    """Height of what is told at the foot of a page."""
    return text_height(sum(len(fitted(note, PAGE_WIDTH, TYPE)) for note in notes)) + (NOTES if notes else 0.0)


def row_height(row: Row) -> float:
    """Height of a row on paper."""
    sides = [max(_way_height(way), text_height(len(way.lines))) for way in row.sides]
    own = box_height(row.caption) + (WRITE_ON if row.write_on else 0.0)
    first = max(own, sides[0] if sides else 0.0)
    arrivals = sum(len(wrapped(arrival.text, row.caption.line)) for arrival in row.arrivals)
    above = [text_height(arrivals) + 8.0] if arrivals else []
    below = [text_height(len(row.down.lines)) + 3.0] if row.down and row.down.answer else []
    if row.down and not row.flows:
        below.append(_way_height(row.down))
    slack = max(LEAST_SLACK, ROW_SLACK - len(row.sides)) + (MANY_SLACK if len(row.sides) >= MANY_WAYS else 0.0)
    return rank_heights([*above, first, *sides[1:], *below]) + slack


def _way_height(way: Way) -> float:
    if way.ending:
        return box_height(way.ending)
    return text_height(len(wrapped(way.connector.text, TARGET_LINE)) if way.connector else 1) + 10.0

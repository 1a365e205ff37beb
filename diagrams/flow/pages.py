"""Pages of a chart as data: rows of boxes with connectors, each page usable by itself; nothing is drawn here."""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.diagrams.paper.captions import Caption, wrapped
from comeback.diagrams.paper.exits import Connector, Way
from comeback.diagrams.paper.hazards import Hazard, hazards_height
from comeback.diagrams.paper.lettering import fitted
from comeback.diagrams.paper.measure import (
    FOOT,
    HEAD,
    KEY,
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
from comeback.diagrams.paper.tables import table_height


@dataclass(frozen=True)
class Row:
    """A stop with all that is drawn around it: the table of its answers in the columns of the page, what leads down."""

    number: int
    caption: Caption
    arrivals: tuple[Connector, ...]
    down: Way | None
    sides: tuple[Way, ...]
    flows: bool
    write_on: bool = False
    columns: Columns = NORMAL

    @property
    def ways(self) -> tuple[Way, ...]:
        """All exits, the one that leads down last."""
        return (*self.sides, *([self.down] if self.down else []))

    @property
    def boxes(self) -> int:
        """Boxes drawn for this row, connectors not counted, a table as one."""
        return 1 + bool(self.sides) + bool(self.down and self.down.ending)


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
    own = box_height(row.caption) + (WRITE_ON if row.write_on else 0.0)
    beside = table_height(row.sides, row.columns) if row.sides else 0.0
    arrivals = sum(len(wrapped(arrival.text, row.caption.line)) for arrival in row.arrivals)
    above = [text_height(arrivals) + 8.0] if arrivals else []
    below = [text_height(len(row.down.lines)) + 3.0] if row.down and row.down.answer else []
    if row.down and not row.flows:
        below.append(_below(row.down))
    return rank_heights([*above, max(own, beside), *below]) + ROW_SLACK


def _below(way: Way) -> float:
    """Height of what the answer that leads down comes to."""
    if way.ending:
        return box_height(way.ending)
    return text_height(len(wrapped(way.connector.text, TARGET_LINE)) if way.connector else 1) + 10.0

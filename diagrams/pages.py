"""Pages of a chart as data: rows of boxes with connectors, each page usable by itself; nothing is drawn here."""

from dataclasses import dataclass

from comeback.diagrams.captions import LINE, Caption, Kind, wrapped
from comeback.diagrams.measure import (
    ANSWER_LINE,
    TARGET_LINE,
    box_height,
    rank_heights,
    text_height,
    warning_heights,
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

    @property
    def lines(self) -> list[str]:
        """The answer, wrapped."""
        return wrapped(self.answer, ANSWER_LINE)


@dataclass(frozen=True)
class Row:
    """A stop with all that is drawn around it."""

    number: int
    caption: Caption
    arrivals: tuple[Connector, ...]
    warnings: tuple[Caption, ...]
    down: Way | None
    sides: tuple[Way, ...]
    flows: bool

    @property
    def boxes(self) -> int:
        """Boxes drawn for this row, connectors not counted."""
        ways = (*self.sides, *([self.down] if self.down else []))
        full = sum(1 for warning in self.warnings if warning.kind is Kind.WARNING)
        return 1 + full + sum(1 for way in ways if way.ending)


@dataclass(frozen=True)
class Page:
    """A page of the chart. `notes` are read aloud at its ends."""

    number: int
    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()

    @property
    def boxes(self) -> int:
        """Boxes on the page."""
        return sum(row.boxes for row in self.rows)


def row_height(row: Row) -> float:
    """Height of a row on paper."""
    sides = [max(_way_height(way), text_height(len(way.lines))) for way in row.sides]
    first = max(box_height(row.caption), sides[0] if sides else 0.0)
    above = [text_height(len(row.arrivals)) + 8.0] if row.arrivals else []
    below = [text_height(len(wrapped(row.down.answer, LINE)))] if row.down else []
    if row.down and not row.flows:
        below.append(_way_height(row.down))
    return rank_heights([*above, *warning_heights(row.warnings), first, *sides[1:], *below])


def _way_height(way: Way) -> float:
    if way.ending:
        return box_height(way.ending)
    return text_height(len(wrapped(way.connector.text, TARGET_LINE)) if way.connector else 1) + 10.0

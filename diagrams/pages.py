"""Pages of a chart: rows of boxes with connectors, each page usable by itself; nothing is drawn here."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count

from comeback.diagrams.answers import short_label
from comeback.diagrams.captions import Caption, Captions, wrapped
from comeback.diagrams.cutting import cut
from comeback.diagrams.measure import ANSWER_LINE, FOOT, HEAD, KEY, TARGET_LINE, Paper, box_height, rank_heights, text_height
from comeback.diagrams.stops import Stop, stops, warnings
from comeback.engine.decision_graph import Box, DecisionGraph, Exit


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
        return 1 + len(self.warnings) + sum(1 for way in ways if way.ending)


@dataclass(frozen=True)
class Page:
    """A page of the chart."""

    number: int
    rows: tuple[Row, ...]

    @property
    def boxes(self) -> int:
        """Boxes on the page."""
        return sum(row.boxes for row in self.rows)


def paginate(graph: DecisionGraph, captions: Captions, paper: Paper) -> tuple[Page, ...]:
    """The whole chart as pages, first the red flags, all steps in the order of their numbers."""
    line = stops(graph, captions)
    whole = _Layout(graph, captions, line)

    def extent(start: int, end: int) -> tuple[int, float]:
        rows = whole.rows(start, end, {})
        return sum(row.boxes for row in rows), sum(map(row_height, rows))

    def room(start: int) -> float:
        return paper.usable[1] - HEAD - FOOT - (KEY if start == 0 else 0)

    ranges = cut(line, extent, room)
    page_of = {stop.number: page for page, (i, j) in enumerate(ranges, 1) for stop in line[i:j]}
    return tuple(Page(page, whole.rows(i, j, page_of)) for page, (i, j) in enumerate(ranges, 1))


def row_height(row: Row) -> float:
    """Height of a row on paper."""
    sides = [max(_way_height(way), text_height(len(wrapped(way.answer, ANSWER_LINE)))) for way in row.sides]
    first = max(box_height(row.caption), sides[0] if sides else 0.0)
    above = [text_height(len(row.arrivals)) + 8.0] if row.arrivals else []
    below = [text_height(len(wrapped(row.down.answer, TARGET_LINE)))] if row.down else []
    if row.down and not row.flows:
        below.append(_way_height(row.down))
    return rank_heights([*above, *map(box_height, row.warnings), first, *sides[1:], *below])


def _way_height(way: Way) -> float:
    if way.ending:
        return box_height(way.ending)
    return text_height(len(wrapped(way.connector.text, TARGET_LINE)) if way.connector else 1) + 10.0


class _Layout:
    """Rows of any run of stops; without `page_of`, other pages are not known yet and are called 0."""

    def __init__(self, graph: DecisionGraph, captions: Captions, line: Sequence[Stop]) -> None:
        self.captions, self.line = captions, line
        self.boxes = {box.number: box for box in graph.boxes}
        self.own = {stop.number for stop in line}
        self.sources: dict[int, list[int]] = {}
        for box in graph.boxes:
            for way in box.exits:
                self.sources.setdefault(way.target, []).append(box.number)

    def rows(self, start: int, end: int, page_of: dict[int, int]) -> tuple[Row, ...]:
        run, seen, rows = self.line[start:end], dict[str, int](), list[Row]()
        numbers = {stop.number for stop in run}
        letters = _letters(self.sources, page_of)
        for stop, following in zip(run, [*run[1:], None], strict=True):
            flows = bool(stop.down and following and stop.down.target == following.number)
            before = rows[-1].number if rows and rows[-1].flows else None
            arrivals = self._arrivals(stop.number, before, numbers, page_of, letters)
            warned = warnings(self.captions, stop.cautions, seen, stop.number)
            down = self._way(stop.box, stop.down, numbers, page_of, letters, flows) if stop.down else None
            sides = tuple(self._way(stop.box, way, numbers, page_of, letters) for way in stop.sides)
            rows.append(Row(stop.number, stop.caption, arrivals, warned, down, sides, flows))
        return tuple(rows)

    def _way(
        self, box: Box, way: Exit, here: set[int], page_of: dict[int, int], letters: dict[int, str], flows: bool = False
    ) -> Way:
        answer = short_label(self.captions.knowledge, self.captions.audience, box, way)
        target = way.target
        if flows:
            return Way(answer, target)
        if target not in self.own:
            return Way(answer, target, self.captions.of(self.boxes[target]))
        if target in here:
            return Way(answer, target, None, Connector(f"go to {target}", steps=(target,)))
        letter, page = letters.get(target, "A"), page_of.get(target, 0)
        text = f"{letter}: to page {page}, step {target}"
        return Way(answer, target, None, Connector(text, letter, page, (target,)))

    def _arrivals(
        self, number: int, before: int | None, here: set[int], page_of: dict[int, int], letters: dict[int, str]
    ) -> tuple[Connector, ...]:
        """Where the reader may come from, other than from the row above; one connector for each page."""
        by_page: dict[int, list[int]] = {}
        for source in self.sources.get(number, []):
            if source != before:
                by_page.setdefault(0 if source in here else page_of.get(source, 99), []).append(source)
        return tuple(_arrival(letters.get(number, "A"), page, steps) for page, steps in sorted(by_page.items()))


def _arrival(letter: str, page: int, sources: list[int]) -> Connector:
    numbers = ", ".join(map(str, sources))
    if page == 0:
        return Connector(f"from {numbers}", steps=tuple(sources))
    plural = "s" if len(sources) > 1 else ""
    return Connector(f"{letter}: from page {page}, step{plural} {numbers}", letter, page, tuple(sources))


def _letters(sources: dict[int, list[int]], page_of: dict[int, int]) -> dict[int, str]:
    """A letter for every step that is reached from another page, in the order of their numbers."""
    reached = (t for t in sorted(sources) if t in page_of and any(page_of[s] != page_of[t] for s in sources[t]))
    return {target: _letter(i) for target, i in zip(reached, count(), strict=False)}


def _letter(i: int) -> str:
    return (_letter(i // 26 - 1) if i >= 26 else "") + "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[i % 26]

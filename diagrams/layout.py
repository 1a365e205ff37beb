"""From a decision graph to pages: which stops go on which page, and how the jumps between them are named."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from comeback.diagrams.answers import short_label
from comeback.diagrams.captions import Captions, wrapped
from comeback.diagrams.cutting import cut
from comeback.diagrams.hazards import warnings
from comeback.diagrams.measure import FOOT, HEAD, KEY, PAGE_LINE, Paper, text_height
from comeback.diagrams.pages import Connector, Page, Row, Way, row_height
from comeback.diagrams.stops import Stop, stops
from comeback.engine.decision_graph import Box, DecisionGraph, Exit

STOPS = 3
"""Stops that a page has at least, as a rule; before the cuts are known, jumps are counted as from such pages."""


def paginate(graph: DecisionGraph, captions: Captions, paper: Paper) -> tuple[Page, ...]:
    """The whole chart as pages, first the red flags, all steps in the order of their numbers."""
    line = stops(graph, captions)
    whole = _Layout(graph, captions, line)

    likely = {stop.number: i // STOPS for i, stop in enumerate(line, STOPS)}

    def extent(start: int, end: int) -> tuple[int, float]:
        rows = whole.rows(start, end, likely)
        notes = text_height(sum(len(wrapped(note, PAGE_LINE)) for note in whole.notes(rows)))
        return sum(row.boxes for row in rows), sum(map(row_height, rows)) + notes

    def room(start: int) -> float:
        return paper.usable[1] - HEAD - FOOT - (KEY if start == 0 else 0)

    ranges = cut(line, extent, room)
    page_of = {stop.number: page for page, (i, j) in enumerate(ranges, 1) for stop in line[i:j]}
    made = (whole.rows(i, j, page_of) for i, j in ranges)
    return tuple(Page(page, rows, whole.notes(rows)) for page, rows in enumerate(made, 1))


class _Layout:
    """Rows of any run of stops. `page_of` says which page a step is on."""

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
        told: set[int] = set()
        for stop, following in zip(run, [*run[1:], None], strict=True):
            flows = bool(stop.down and following and stop.down.target == following.number)
            before = rows[-1].number if rows and rows[-1].flows else None
            arrivals = self._arrivals(stop.number, before, numbers, page_of, letters)
            warned = warnings(self.captions, stop.cautions, seen, stop.number)
            down = self._way(stop.box, stop.down, numbers, page_of, letters, flows) if stop.down else None
            sides = tuple(self._way(stop.box, way, numbers, page_of, letters) for way in stop.sides)
            sides, down = tuple(_once(way, told) for way in sides), _once(down, told) if down else None
            rows.append(Row(stop.number, stop.caption, arrivals, warned, down, sides, flows))
        return tuple(rows)

    def notes(self, rows: Sequence[Row]) -> tuple[str, ...]:
        """What is read aloud at the ends among these rows, each once."""
        ways = (way for row in rows for way in (*row.sides, *([row.down] if row.down else [])) if way.ending)
        texts = (self.captions.aloud(self.boxes[way.target].step) for way in ways)
        return tuple(dict.fromkeys(text for text in texts if text))

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


def _once(way: Way, told: set[int]) -> Way:
    """An end has its details only the first time on a page."""
    if way.ending is None or way.target not in told:
        told.add(way.target)
        return way
    return replace(way, ending=replace(way.ending, details=()))


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

"""From a decision graph to pages: which stops go on which page, and how the jumps between them are named."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count

from comeback.diagrams.cards.card_pages import CardPage, CardRoom, card_pages
from comeback.diagrams.cards.cards import Card, cards_room
from comeback.diagrams.flow.cutting import cut
from comeback.diagrams.flow.flow_steps import Stop, stops
from comeback.diagrams.flow.pages import Page, Row, notes_height, page_height, row_height
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.answers import short_label
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.exits import Connector, Way
from comeback.diagrams.paper.hazards import Hazard, hazards_height, hazards_of
from comeback.diagrams.paper.measure import (
    CODES,
    FOOT,
    HEAD,
    KEY,
    NORMAL,
    SIGNS,
    WIDEST,
    WRITE_ON,
    Columns,
    Paper,
)
from comeback.engine.charts.dangers import kept_off
from comeback.engine.charts.decision_graph import SEVERAL, Box, DecisionGraph, Exit
from comeback.engine.charts.growth import PaperStep
from comeback.engine.walk.steps import DangerScreen, DoRepair, ReadPanel
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, EngineOff

CROWDED = (99, 9e9)
"""Boxes and height of what may not stand on one page."""
TALL = 330.0
"""Height in points from which a stop has a page of its own."""
HEADED = 3
"""From so many answers on, a table has a head that says what to do with the repairs; else each end says it."""
STOPS = 3
"""Stops that a page has at least, as a rule; before the cuts are known, jumps are counted as from such pages."""


def paginate(graph: DecisionGraph, captions: Captions, paper: Paper) -> tuple[Page, ...]:
    """The whole chart as pages, first the red flags, all steps in the order of their numbers.

    Ends have numbers; where a page has room left, they name their first repairs too.
    """
    line = stops(graph, captions)
    worded = [replace(captions, worded=most) for most in range(captions.worded, -1, -1)]
    layouts = [_Layout(graph, said, stops(graph, said), paper.worksheet) for said in worded]
    whole = layouts[-1]

    likely = {stop.number: i // STOPS for i, stop in enumerate(line, STOPS)}
    alone = _alone(whole, line, likely)

    def columns_of(first: int) -> Columns:
        if first not in alone:
            return NORMAL
        step = line[first].box.step
        if isinstance(step, ReadPanel):
            return CODES
        return SIGNS if captions.audience is Audience.BAY and isinstance(step, DangerScreen) else WIDEST

    def extent(start: int, end: int) -> tuple[int, float]:
        screens = all(isinstance(stop.box.step, DangerScreen) for stop in line[start:end])
        if end - start > 1 and not screens and not alone.isdisjoint(range(start, end)):
            return CROWDED
        rows = whole.rows(start, end, likely, columns_of(start))
        notes = notes_height(whole.notes(rows))
        warned = whole.hazards(start, end)
        boxes = sum(row.boxes for row in rows) + len(warned)
        return boxes, sum(map(row_height, rows)) + hazards_height(warned) + notes

    whole_room = paper.usable[1] - HEAD - FOOT
    holding = (i for i in range(min(2, len(line))) if extent(i, i + 1)[1] + KEY <= whole_room)
    key_at = next(holding, len(line))  # after the last stop: with the cards, or nowhere

    def room(start: int) -> float:
        return whole_room - (KEY if start == key_at else 0)

    ranges = cut(line, extent, room)
    page_of = {stop.number: page for page, (i, j) in enumerate(ranges, 1) for stop in line[i:j]}
    pages = []
    for number, (i, j) in enumerate(ranges, 1):
        columns = columns_of(i)
        options = [_page(layout, number, (i, j), page_of, columns, i == key_at) for layout in layouts]
        pages.append(next((page for page in options if page_height(page) <= paper.usable[1]), options[-1]))
    return tuple(pages)


def _page(
    layout: "_Layout", number: int, run: tuple[int, int], page_of: dict[int, int], columns: Columns, key: bool
) -> Page:
    rows = layout.rows(*run, page_of, columns)
    return Page(number, rows, layout.hazards(*run), layout.notes(rows), columns, key)


def paginate_cards(
    made: Sequence[Card], knowledge: KnowledgeBase, paper: Paper, pages: Sequence[Page]
) -> tuple[CardPage, ...]:
    """The repair cards that the chart's ends name, on pages that follow those of the chart.

    If none of those had room for the key, the first page of cards has it.
    """
    key = 0.0 if any(page.key for page in pages) else KEY
    fields = WRITE_ON if paper.worksheet else 0.0
    told = {hazard.caution for page in pages for hazard in page.hazards}
    return card_pages(made, knowledge, CardRoom(cards_room(paper), fields, key, told), len(pages) + 1)


def _alone(whole: "_Layout", line: Sequence[Stop], likely: dict[int, int]) -> set[int]:
    """Stops that have a page of their own, with more room for answers: danger signs, screens of many answers."""
    tall = {i for i in range(len(line)) if row_height(whole.rows(i, i + 1, likely, NORMAL)[0]) > TALL}
    screens = {i for i, stop in enumerate(line) if isinstance(stop.box.step, DangerScreen)}
    return screens | (tall if len(line) > 1 else set())


class _Layout:
    """Rows of any run of stops. `page_of` says which page a step is on."""

    def __init__(self, graph: DecisionGraph, captions: Captions, line: Sequence[Stop], write_on: bool) -> None:
        self.captions, self.line, self.write_on = captions, line, write_on
        self.boxes = {box.number: box for box in graph.boxes}
        self.own = {stop.number for stop in line}
        self.reported = captions.knowledge.complaints[graph.complaint].reports
        self.sources: dict[int, list[int]] = {}
        for box in graph.boxes:
            for way in box.exits:
                self.sources.setdefault(way.target, []).append(box.number)

    def rows(self, start: int, end: int, page_of: dict[int, int], columns: Columns) -> tuple[Row, ...]:
        run, rows = self.line[start:end], list[Row]()
        numbers = {stop.number for stop in run}
        letters = _letters(self.sources, page_of)
        told: set[int] = set()
        for stop, following in zip(run, [*run[1:], None], strict=True):
            flows = bool(stop.down and following and stop.down.target == following.number)
            before = rows[-1].number if rows and rows[-1].flows else None
            arrivals = self._arrivals(stop.number, before, numbers, page_of, letters)
            down = self._way(stop.box, stop.down, numbers, page_of, letters, flows) if stop.down else None
            headed = len(stop.sides) >= HEADED
            sides = tuple(self._way(stop.box, way, numbers, page_of, letters, headed=headed) for way in stop.sides)
            if self.captions.audience is Audience.PHONE:  # in the bay the details are the cards
                sides, down = tuple(_once(way, told) for way in sides), _once(down, told) if down else None
            sides = tuple(sorted(self._with_how(stop.box, stop.sides, sides), key=_other_last))
            down = _fitted(down, columns) if down else None
            caption = replace(stop.caption, line=columns.lines[0])
            rows.append(Row(stop.number, caption, arrivals, down, sides, flows, self.write_on, columns))
        return tuple(rows)

    def hazards(self, start: int, end: int) -> tuple[Hazard, ...]:
        """The warnings that these stops need."""
        needed = {str(stop.number): stop.cautions for stop in self.line[start:end]}
        return hazards_of(self.captions.knowledge, needed)

    def notes(self, rows: Sequence[Row]) -> tuple[str, ...]:
        """What is read aloud at the ends among these rows, each once."""
        ways = (way for row in rows for way in (*row.sides, *([row.down] if row.down else [])) if way.ending)
        numbers = (*(row.number for row in rows), *(way.target for way in ways))
        texts = (self.captions.aloud(number, self.boxes[number].step) for number in numbers)
        kept_off = (
            text for row in rows for text in keep_off(self.captions, self.reported, self.boxes[row.number].step)
        )
        return tuple(dict.fromkeys(text for text in (*texts, *kept_off) if text))

    def _with_how(self, box: Box, exits: Sequence[Exit], ways: Sequence[Way]) -> tuple[Way, ...]:
        """Danger signs in the bay with how each is looked for, at its first answer."""
        if self.captions.audience is not Audience.BAY or not isinstance(box.step, DangerScreen):
            return tuple(ways)
        told, out = set[str](), list[Way]()
        for way, drawn in zip(exits, ways, strict=True):
            parts = list[str]()
            for answer, said in zip(way.answers, drawn.answer.splitlines(), strict=True):
                name = answer.partition(":")[0]
                how = self.captions.knowledge.checks[name].do if ":" in answer and name not in told else None
                told.add(name)
                parts += [said, f"{phrases.HOW}{how}"] if how else [said]
            out.append(replace(drawn, answer="\n".join(parts)))
        return tuple(out)

    def _way(
        self,
        box: Box,
        way: Exit,
        here: set[int],
        page_of: dict[int, int],
        letters: dict[int, str],
        flows: bool = False,
        headed: bool = False,
    ) -> Way:
        answer = short_label(self.captions.knowledge, self.captions.audience, box, way)
        target = way.target
        if isinstance(box.step, DoRepair):
            answer = ""
        stop = stops_first(self.captions, box, way, self.boxes)
        lead = f"{phrases.SIGN} {phrases.STOP_FIRST} " if stop else ""
        if flows:
            return Way(answer, target)
        if target not in self.own:
            end = self.boxes[target]
            return Way(answer, target, self.captions.in_table(end) if headed else self.captions.of(end))
        if target in here:
            return Way(answer, target, None, Connector(f"{lead}go to {target}", steps=(target,)))
        letter, page = letters.get(target, "A"), page_of.get(target, 0)
        text = f"{lead}{letter}: to page {page}, step {target}"
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


def stops_first(captions: Captions, box: Box, way: Exit, boxes: Mapping[int, Box]) -> bool:
    """True for a danger sign in the bay that does not end the chart: people are kept away before it goes on."""
    if captions.audience is not Audience.BAY or not isinstance(box.step, DangerScreen):
        return False
    return bool(boxes[way.target].exits) and any(is_danger(captions.knowledge, answer) for answer in way.answers)


def is_danger(knowledge: KnowledgeBase, answer: str) -> bool:
    """True if an answer of a danger screen is a danger sign, not an abnormal result without one."""
    check, _, result = answer.partition(":")
    return answer == SEVERAL or bool(result and result in knowledge.checks[check].red_flag)


def keep_off(captions: Captions, reported: Mapping[str, str], step: PaperStep) -> Iterator[str]:
    """With which danger signs of a screen, or of the complaint itself, the engine stays off, and until when."""
    if captions.audience is not Audience.BAY:
        return
    checks = captions.knowledge.checks
    until: dict[EngineOff, list[str]] = {}
    for name in step.checks if isinstance(step, DangerScreen) else ():
        for off in dict.fromkeys(kept_off(checks[name], result) for result in checks[name].engine_off):
            until.setdefault(off, []).append(checks[name].name)
    for name, result in reported.items():
        if result in checks[name].engine_off:
            until.setdefault(kept_off(checks[name], result), []).insert(0, checks[name].name)
    for off, names in sorted(until.items(), reverse=True):
        yield phrases.KEEP_OFF[off].format(sign=phrases.SIGN, signs=", ".join(names))


def _other_last(way: Way) -> int:
    """Any other answer stands below those that are named, and above several at once."""
    several = phrases.ANSWERS[SEVERAL] in way.answer
    return 2 if several else int(way.answer in (phrases.ANY_OTHER, phrases.NONE_OR_OTHER))


def _fitted(way: Way, columns: Columns) -> Way:
    """The exit that leads down, with its lines as long as the columns of the page allow."""
    ending = replace(way.ending, line=min(columns.lines)) if way.ending else None
    return replace(way, ending=ending, line=columns.lines[0])


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

"""A decision graph as files: pages drawn, and one text twin that needs no layout program."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from comeback.diagrams.cards.card_pages import CardPage
from comeback.diagrams.cards.cards import cards_of
from comeback.diagrams.drawing.dot_text import cards_text, page_text
from comeback.diagrams.drawing.heading import Heading, heading
from comeback.diagrams.drawing.program import draw
from comeback.diagrams.drawing.svg import on_paper, viewport
from comeback.diagrams.flow.layout import paginate, paginate_cards
from comeback.diagrams.flow.pages import Page
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.measure import Paper
from comeback.diagrams.twin import twin
from comeback.engine.belief.network import Vehicle
from comeback.engine.charts.decision_graph import DecisionGraph
from comeback.engine.charts.looks import Looks
from comeback.kb.schema import KnowledgeBase

FORMATS = ("svg", "png", "dot", "text")
"""What can be written; text once, the others once a page."""


@dataclass(frozen=True)
class Chart:
    """A chart laid out on paper. `name` begins the names of all its files; `asked`: questions and repairs in it.

    `drawn`: its sheets as SVG, if they were drawn already.
    """

    name: str
    paper: Paper
    heading: Heading
    pages: tuple[Page, ...]
    cards: tuple[CardPage, ...]
    text: str
    asked: int = 0
    drawn: tuple[str, ...] = ()

    @property
    def sheets(self) -> tuple[Page | CardPage, ...]:
        """All pages, first those of the flowchart, then those of the repair cards."""
        return (*self.pages, *self.cards)

    def dot(self, page: Page | CardPage) -> str:
        """DOT text of a page."""
        if isinstance(page, CardPage):
            return cards_text(page, self.heading, self.pages, self.cards, self.name, self.paper.worksheet)
        return page_text(page, self.heading, self.pages, self.cards, self.name)

    def sheet(self, page: Page | CardPage) -> str:
        """A page as SVG on paper. Raises DrawingError."""
        if self.drawn:
            return self.drawn[page.number - 1]
        title = f"{self.heading.title}, page {page.number} of {len(self.sheets)}"
        return on_paper(draw(self.dot(page), "svg").decode(), self.paper, title, self.described(page))

    def with_sheets(self) -> "Chart":
        """The chart with all its sheets drawn. Raises DrawingError."""
        return replace(self, drawn=tuple(self.sheet(page) for page in self.sheets))

    def described(self, page: Page | CardPage) -> str:
        """What a page shows, for those who cannot see it."""
        if isinstance(page, CardPage):
            names = [card.name for card in page.cards]
            what = f"Repair cards {names[0]} to {names[-1]}." if names else phrases.ALL_CAUTIONS
            return f"{what} Text version: {self.name}.txt"
        return f"Flowchart, steps {page.rows[0].number} to {page.rows[-1].number}. Text version: {self.name}.txt"

    def files(self, formats: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Names and contents, the text twin first, since it never fails. Raises DrawingError."""
        if "text" in formats:
            yield f"{self.name}.txt", self.text.encode()
        for page in self.sheets:
            for kind in formats:
                if kind != "text":
                    yield f"{self.name}-{page.number}.{kind}", self._drawn(page, kind)

    def _drawn(self, page: Page | CardPage, kind: str) -> bytes:
        if kind == "dot":
            return self.dot(page).encode()
        if kind == "png":
            text = self.dot(page)
            return draw(text, kind, viewport=viewport(draw(text, "svg").decode(), self.paper))
        return self.sheet(page).encode()


def make_chart(graph: DecisionGraph, knowledge: KnowledgeBase, vehicle: Vehicle, date: str, paper: Paper) -> Chart:
    """The chart of a decision graph. `date` is printed on every page."""
    named = cards_of(graph, Looks(knowledge, graph.service, graph.complaint))
    captions = Captions(knowledge, graph.audience, {repair: card.name for repair, card in named.items()})
    head = heading(graph, knowledge, vehicle, date)
    pages = paginate(graph, captions, paper)
    only = len(knowledge.services) == 1
    parts = (graph.complaint, *(() if only else (graph.service,)), graph.audience.value)
    repairs = paginate_cards(tuple(named.values()), knowledge, paper, pages)
    asked = sum(1 for box in graph.boxes if box.exits)
    return Chart("-".join(parts), paper, head, pages, repairs, twin(graph, captions, head, pages, named), asked)


def write_chart(chart: Chart, folder: Path, formats: Sequence[str]) -> Iterator[Path]:
    """Write the files one after the other and give the path of each. Raises DrawingError, OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in chart.files(formats):
        place = folder / name
        place.write_bytes(content)
        yield place

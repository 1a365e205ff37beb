"""A decision graph as files: pages drawn, and one text twin that needs no layout program."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from comeback.diagrams.captions import Captions
from comeback.diagrams.dot_text import page_text
from comeback.diagrams.heading import Heading, heading
from comeback.diagrams.layout import paginate
from comeback.diagrams.measure import Paper
from comeback.diagrams.pages import Page
from comeback.diagrams.program import draw
from comeback.diagrams.svg import on_paper
from comeback.diagrams.twin import twin
from comeback.engine.decision_graph import DecisionGraph
from comeback.engine.network import Vehicle
from comeback.kb.schema import KnowledgeBase

FORMATS = ("svg", "png", "dot", "text")
"""What can be written; text once, the others once a page."""


@dataclass(frozen=True)
class Chart:
    """A chart laid out on paper. `name` begins the names of all its files."""

    name: str
    paper: Paper
    heading: Heading
    pages: tuple[Page, ...]
    text: str

    def dot(self, page: Page) -> str:
        """DOT text of a page."""
        return page_text(page, self.heading, self.pages, self.name)

    def files(self, formats: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Names and contents, the text twin first, since it never fails. Raises DrawingError."""
        if "text" in formats:
            yield f"{self.name}.txt", self.text.encode()
        for page in self.pages:
            for kind in formats:
                if kind != "text":
                    yield f"{self.name}-{page.number}.{kind}", self._drawn(page, kind)

    def _drawn(self, page: Page, kind: str) -> bytes:
        text = self.dot(page)
        if kind == "dot":
            return text.encode()
        if kind == "png":
            return draw(text, kind)
        title = f"{self.heading.title}, page {page.number} of {len(self.pages)}"
        described = f"Flowchart, steps {page.rows[0].number} to {page.rows[-1].number}. Text version: {self.name}.txt"
        return on_paper(draw(text, "svg").decode(), self.paper, title, described).encode()


def make_chart(graph: DecisionGraph, knowledge: KnowledgeBase, vehicle: Vehicle, date: str, paper: Paper) -> Chart:
    """The chart of a decision graph. `date` is printed on every page."""
    captions = Captions(knowledge, graph.audience)
    head = heading(graph, knowledge, vehicle, date)
    pages = paginate(graph, captions, paper)
    only = len(knowledge.services) == 1
    parts = (graph.complaint, *(() if only else (graph.service,)), graph.audience.value)
    return Chart("-".join(parts), paper, head, pages, twin(graph, captions, head, pages))


def write_chart(chart: Chart, folder: Path, formats: Sequence[str]) -> Iterator[Path]:
    """Write the files one after the other and give the path of each. Raises DrawingError, OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in chart.files(formats):
        place = folder / name
        place.write_bytes(content)
        yield place

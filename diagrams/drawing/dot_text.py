"""A page as text of the DOT language: a column of steps, their exits to the right, nothing crossing.

Columns: steps (with arrivals and downward answers), and beside each a table of its other answers with what
they lead to. Warnings and the foot stand across the page; ports on them keep the column of steps straight.
"""

from collections.abc import Sequence
from dataclasses import replace

import graphviz  # type: ignore[import-untyped]

from comeback.diagrams.cards.card_pages import CardPage
from comeback.diagrams.drawing.heading import ANCHOR, Heading, foot_label, head_label
from comeback.diagrams.drawing.markup import (
    SHADE,
    answers_label,
    caption_label,
    card_label,
    plain_label,
    warnings_label,
)
from comeback.diagrams.drawing.program import FONT
from comeback.diagrams.flow.pages import Page, Row
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Caption, Kind, wrapped
from comeback.diagrams.paper.exits import Connector, Way
from comeback.diagrams.paper.measure import (
    COLUMN_GAP,
    NORMAL,
    RANK_GAP,
    TARGET_LINE,
    TYPE,
)

INCH = 72.0

SHAPES = {
    Kind.QUESTION: {"shape": "box", "style": "rounded"},
    Kind.ACTION: {"shape": "box"},
    Kind.ENDING: {"shape": "plain"},  # its label has the double border
}

TAG = {"shape": "box", "style": "rounded,filled", "fillcolor": SHADE, "margin": "0.08,0.04"}
"""A connector."""


def page_text(page: Page, head: Heading, pages: Sequence[Page], cards: Sequence[CardPage], name: str) -> str:
    """DOT text of a page; the same page always gives the same text. `name` is the files' common beginning."""
    return _Drawing(name).page(page, head, pages, cards)


def cards_text(
    page: CardPage, head: Heading, pages: Sequence[Page], cards: Sequence[CardPage], name: str, write_on: bool
) -> str:
    """DOT text of a page of repair cards."""
    drawing = _Drawing(name)
    drawing.attributes()
    title = phrases.CARDS_HEAD.format(title=head.title)
    drawing.body.attr(label=head_label(replace(head, title=title), page.number, len(pages) + len(cards)))
    drawing.body.node("cards", card_label(page, write_on), shape="plain")
    drawing.body.node("foot", foot_label(head, pages, page, cards), shape="plain")
    drawing.body.edge("cards", "foot", style="invis")
    return str(drawing.body.source)


class _Drawing:
    """Builds one page; `last` is the lowest part of each column so far."""

    def __init__(self, name: str) -> None:
        self.name, self.columns = name, NORMAL
        self.last: dict[str, str] = {}
        self.body = graphviz.Digraph(name)

    def page(self, page: Page, head: Heading, pages: Sequence[Page], cards: Sequence[CardPage]) -> str:
        self.columns = page.columns
        self.attributes()
        self.body.attr(label=head_label(head, page.number, len(pages) + len(cards)))
        if page.hazards:  # across the page, so the columns begin below it
            self.body.node("hazards", warnings_label(page.hazards, page.columns.steps), shape="plain")
            self.last["steps"] = "hazards:below"
        for row, above in zip(page.rows, (None, *page.rows[:-1]), strict=True):
            self._row(row, above)
        self.body.node("foot", foot_label(head, pages, page, cards), shape="plain")
        self.body.edge(f"{self.last['steps']}:s", f"foot:{ANCHOR}:n", style="invis", weight="100")
        if "lowest" in self.last:
            self.body.edge(self.last["lowest"], "foot", style="invis", weight="0")
        return str(self.body.source)

    def attributes(self) -> None:
        self.body.attr(rankdir="TB", splines="line", labelloc="t", pad="0.02", fontname=FONT, fontsize=f"{TYPE:g}")
        self.body.attr(nodesep=_inches(COLUMN_GAP), ranksep=_inches(RANK_GAP))
        self.body.attr("node", shape="box", fontname=FONT, fontsize=f"{TYPE:g}", margin="0", height="0", width="0")
        self.body.attr("edge", fontname=FONT, arrowsize="0.7", penwidth="1")

    def _row(self, row: Row, above: Row | None) -> None:
        n, joined = row.number, bool(above and above.flows)
        if row.arrivals:
            label = plain_label(
                [line for a in row.arrivals for line in wrapped(a.text, self.columns.lines[0])], bold=True
            )
            self._step(f"from{n}", joined, label=label, **TAG, **self._link(row.arrivals[0]))
            joined = True
        self._box(f"step{n}", row.caption, self.columns.widths[0], row.write_on)
        self._link_step(f"step{n}", joined)
        if row.sides:
            self._answers(n, answers_label(row.sides, row.columns, self.name))
        if row.down:
            self._down(n, row.down)

    def _box(self, node: str, caption: Caption, room: float, write_on: bool = False, **more: str) -> None:
        self.body.node(node, caption_label(caption, room, write_on), **{**SHAPES[caption.kind], **more})

    def _step(self, node: str, joined: bool, **attributes: str) -> None:
        self.body.node(node, **attributes)
        self._link_step(node, joined)

    def _link_step(self, node: str, joined: bool, head: bool = True) -> None:
        """Put the node below the last of the column of steps, with a line if the flow goes there."""
        self.body.node(node, group="steps")
        if "steps" in self.last:
            style = {"arrowhead": "normal" if head else "none"} if joined else {"style": "invis"}
            self.body.edge(f"{self.last['steps']}:s", f"{node}:n", weight="100", **style)
        if "lowest" in self.last:
            self.body.edge(self.last.pop("lowest"), node, style="invis", weight="0")
        self.last["steps"] = node

    def _answers(self, n: int, label: str) -> None:
        """A table of answers to the right of a step."""
        to = f"table{n}"
        self.body.node(to, label, shape="plain", group="targets")
        with self.body.subgraph() as rank:
            rank.attr(rank="same")
            rank.node(f"step{n}")
            rank.node(to)
        self.body.edge(f"step{n}:e", f"{to}:w", weight="10")
        if "targets" in self.last:
            self.body.edge(self.last["targets"], to, style="invis", weight="20")
        self.last["targets"] = self.last["lowest"] = to

    def _down(self, n: int, way: Way) -> None:
        if way.answer:
            label = plain_label(way.lines)
            self.body.node(f"down{n}", label, shape="plaintext", margin="0.03,0.03")
            self._link_step(f"down{n}", True, head=False)
        if way.ending or way.connector:
            self._target(f"below{n}", way, min(self.columns.widths))
            self._link_step(f"below{n}", True)

    def _target(self, node: str, way: Way, room: float) -> None:
        """What the answer that leads down comes to."""
        if way.ending:
            self._box(node, way.ending, room)
        elif way.connector:
            label = plain_label(wrapped(way.connector.text, TARGET_LINE), bold=True)
            self.body.node(node, label, **TAG, width="0", **self._link(way.connector))

    def _link(self, connector: Connector) -> dict[str, str]:
        return {"URL": f"{self.name}-{connector.page}.svg", "tooltip": connector.text} if connector.page else {}


def _inches(points: float) -> str:
    return f"{points / INCH:.3f}"

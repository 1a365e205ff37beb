"""Head and foot of a page, so that each page can be used, dated and withdrawn by itself."""

from collections.abc import Sequence
from dataclasses import dataclass

from comeback.diagrams.cards.card_pages import CardPage
from comeback.diagrams.drawing.markup import SHADE, anchor, cell, lines, table
from comeback.diagrams.flow.pages import Page
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.captions import Kind, wrapped
from comeback.diagrams.paper.lettering import fitted, width_of
from comeback.diagrams.paper.measure import NORMAL, PAGE_LINE, PAGE_WIDTH, TYPE
from comeback.engine.belief.network import Vehicle
from comeback.engine.charts.decision_graph import DecisionGraph
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

TITLE = 16.0
ANCHOR = "steps"
"""Port of the foot that stands below the middle of the column of steps."""


@dataclass(frozen=True)
class Heading:
    """What every page of a chart says about itself. `date` is an argument, as ISO 8601."""

    title: str
    service: str
    audience: Audience
    car: str
    knowledge: str
    date: str
    carried: float
    clean: float = 0.0

    @property
    def lines(self) -> list[str]:
        """The lines below the title."""
        car = f"Car: {self.car}. " if self.car else ""
        share, clean = round(100 * self.carried), round(100 * self.clean)
        return [
            f"After: {self.service}. For: {phrases.AUDIENCES[self.audience]}. {car}{phrases.UNCONTROLLED}",
            f"Knowledge {self.knowledge}, printed {self.date}. "
            + phrases.CARRIED[self.audience].format(share=share, clean=min(share, clean)),
        ]

    @property
    def foot_lines(self) -> list[str]:
        """Where to stop, whom to call, what to do without an answer, and the limits of all this."""
        stop = phrases.STOP_PHONE if self.audience is Audience.PHONE else phrases.STOP_BAY
        aloud = [phrases.READ_ALOUD] if self.audience is Audience.PHONE else []
        return [stop, phrases.CALL + phrases.DONT_KNOW[self.audience], *aloud, phrases.LIMITS]


def heading(graph: DecisionGraph, knowledge: KnowledgeBase, vehicle: Vehicle, date: str) -> Heading:
    """The heading of a chart."""
    complaint, service = knowledge.complaints[graph.complaint], knowledge.services[graph.service]
    car = ", ".join(f"{feature} {value}" for feature, value in vehicle)
    return Heading(
        complaint.name, service.plain, graph.audience, car, graph.knowledge, date, graph.carried, graph.clean
    )


def head_label(head: Heading, number: int, pages: int) -> str:
    """The head of a page as a label."""
    room = PAGE_WIDTH - 98
    size = min(TITLE, TITLE * room / width_of(head.title, TITLE, bold=True))  # a long title is set smaller
    title = lines([head.title], max(size, TYPE), bold=True)
    place = lines([f"Page {number} of {pages}"], 14, bold=True)
    below = [line for text in head.lines for line in wrapped(text, PAGE_LINE)]
    body = cell(lines(below), PAGE_WIDTH, colspan="2")
    return f"<{table([[cell(title, PAGE_WIDTH - 90), cell(place, 90, 'RIGHT')], [body]], 1)}>"


def foot_label(head: Heading, pages: Sequence[Page], page: Page | CardPage, cards: Sequence[CardPage]) -> str:
    """The foot of a page as a label; one page has the key and the list of pages."""
    stop, *rest = [line for text in head.foot_lines for line in fitted(text, PAGE_WIDTH, TYPE)]
    rows = [[cell(lines([stop], bold=True), PAGE_WIDTH, border="1", sides="T")], [cell(lines(rest), PAGE_WIDTH)]]
    if page.key:
        about = _contents(head, pages, cards)
        rows = [[cell(_key(pages), PAGE_WIDTH)], [cell(lines(about), PAGE_WIDTH)], *rows]
    if isinstance(page, Page) and page.notes:
        rows = [
            [cell(lines([line for text in page.notes for line in fitted(text, PAGE_WIDTH, TYPE)]), PAGE_WIDTH)],
            *rows,
        ]
    column = page.columns.steps if isinstance(page, Page) else NORMAL.steps
    return f"<{table([[anchor(ANCHOR, column)], *rows], 2)}>"


def _key(pages: Sequence[Page]) -> str:
    """One of each shape that occurs, with what it means."""
    rows = [row for page in pages for row in page.rows]
    kinds = {caption.kind for row in rows for caption in (row.caption, *(way.ending for way in row.ways if way.ending))}
    framed = '<TABLE BORDER="1" CELLBORDER="1" CELLSPACING="2" CELLPADDING="2">'
    double = f"{framed}<TR><TD>{phrases.KEY_ENDING}</TD></TR></TABLE>"
    rounded = f'<TABLE BORDER="1" STYLE="ROUNDED" CELLBORDER="0"><TR><TD>{phrases.KEY_QUESTION}</TD></TR></TABLE>'
    shapes = {
        Kind.QUESTION: f"<TD>{rounded}</TD>",
        Kind.ACTION: f'<TD BORDER="1">{phrases.KEY_ACTION}</TD>',
        Kind.ENDING: f"<TD>{double}</TD>",
    }
    parts = [f"<TD><B>{phrases.KEY}</B></TD>", *(shape for kind, shape in shapes.items() if kind in kinds)]
    if any(way.connector for row in rows for way in row.ways):
        parts.append(f'<TD BORDER="1" STYLE="ROUNDED" BGCOLOR="{SHADE}">{phrases.KEY_GO}</TD>')
    if any(page.hazards for page in pages):
        parts.append(f'<TD BORDER="3">{phrases.KEY_WARNING}</TD>')
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="5" CELLPADDING="3"><TR>{"".join(parts)}</TR></TABLE>'


def _contents(head: Heading, pages: Sequence[Page], cards: Sequence[CardPage]) -> list[str]:
    """How to read the chart, which page has what, and what its share means."""
    where = [phrases.KEY_FLOW[head.audience], *page_list(pages, cards)]
    return [*fitted(" ".join(where), PAGE_WIDTH, TYPE), *fitted(phrases.CARRIED_MEANS[head.audience], PAGE_WIDTH, TYPE)]


def page_list(pages: Sequence[Page], cards: Sequence[CardPage]) -> list[str]:
    """A sentence for each page: its steps, or its repairs."""
    out = []
    for page in pages:
        last = max(number for row in page.rows for number in (row.number, *(w.target for w in row.ways if w.ending)))
        out.append(_sentence(phrases.ON_PAGE, phrases.ON_PAGE_ONE, page.number, str(page.rows[0].number), str(last)))
    out += [phrases.CAUTIONS_ON_PAGE.format(page=sheet.number) for sheet in cards if not sheet.cards]
    for sheet in (sheet for sheet in cards if sheet.cards):
        first, last_card = sheet.cards[0].name, sheet.cards[-1].name
        out.append(_sentence(phrases.CARDS_ON_PAGE, phrases.CARD_ON_PAGE, sheet.number, first, last_card))
    return out


def _sentence(many: str, one: str, page: int, first: str, last: str) -> str:
    return (one if first == last else many).format(page=page, first=first, last=last)

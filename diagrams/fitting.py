"""How far a chart is grown, and which repairs its ends may name, so that it fits on a number of pages."""

from comeback.diagrams.captions import Captions
from comeback.diagrams.cards import Card, cards_of, numbered
from comeback.diagrams.hazards import hazards_height, hazards_of
from comeback.diagrams.layout import paginate, paginate_cards
from comeback.diagrams.looks import Looks
from comeback.diagrams.measure import CARD_HEAD, FOOT, HEAD, WRITE_ON, Paper
from comeback.diagrams.pages import page_height
from comeback.engine.chart_merging import worth_naming
from comeback.engine.decision_graph import DecisionGraph, Growth, graph_of

PAGES = 6
"""Most pages of a chart, as a rule."""
OVERFLOW = 99
"""Pages that an overflowing page counts for."""
GROWN = 3
"""Questions by which a chart grows before it is laid out again."""
WORTH_OF_A_QUESTION = 0.004
"""Share of cases that one more question is worth: it shortens the lists of repairs to try."""
SHARED = 0.4
"""Share of the height of a caution that a card is charged if another card has it too: pages repeat it."""


def fitted_graph(growth: Growth, paper: Paper, pages: int = PAGES) -> DecisionGraph:
    """The decision graph that carries most cases among those that fit on so many pages.

    It is grown step by step; the fewer pages its questions need, the more repairs its ends may name. If
    not even the smallest fits, the smallest is taken.
    """
    return _Fitter(growth, paper, pages).best()


class _Fitter:
    def __init__(self, growth: Growth, paper: Paper, pages: int) -> None:
        case = growth.root.walk.case
        self.growth, self.paper, self.pages = growth, paper, pages
        self.knowledge = growth.root.walk.knowledge
        self.looks = Looks(self.knowledge, case.service or "", case.complaint or "")
        self.room = paper.usable[1] - HEAD - FOOT - CARD_HEAD

    def best(self) -> DecisionGraph:
        """The best graph of growing sizes; after two that do not fit no larger one is tried."""
        more, failed = self.growth.grow(1), 0
        best, best_used = self._with_repairs()
        while more and failed < 2:
            more = self.growth.grow(self.growth.made + (GROWN if self.growth.made >= GROWN else 1))
            graph, used = self._with_repairs()
            failed = 0 if used <= self.pages else failed + 1
            if used <= self.pages and (best_used > self.pages or _worth(graph) > _worth(best)):
                best, best_used = graph, used
        return best

    def _with_repairs(self) -> tuple[DecisionGraph, int]:
        """The graph with as many repairs as fit, and the pages that it needs."""
        graph = graph_of(self.growth)
        flow, used = self.used(graph)
        if used <= self.pages or flow >= self.pages:
            return graph, used
        for spare in (1.0, 0.85, 0.7):
            graph = graph_of(self.growth, self._shortlist((self.pages - flow) * self.room * spare))
            flow, used = self.used(graph)
            if used <= self.pages:
                break
        return graph, used

    def used(self, graph: DecisionGraph) -> tuple[int, int]:
        """Pages of the flowchart, and pages in all; too many of both if one of them overflows."""
        named = cards_of(graph, self.looks)
        names = {repair: card.name for repair, card in named.items()}
        flow = paginate(graph, Captions(self.knowledge, graph.audience, names), self.paper)
        if any(page_height(page) > self.paper.usable[1] for page in flow):
            return OVERFLOW, OVERFLOW
        cards = paginate_cards(tuple(named.values()), self.knowledge, self.paper, flow)
        return len(flow), len(flow) + len(cards)

    def _shortlist(self, room: float) -> frozenset[str]:
        """The repairs that settle most cars for the height that they and their cautions take, up to `room`."""
        worth = worth_naming(self.growth.root)
        made = {card.repair.id: card for card in numbered(sorted(worth), self.looks)}
        chosen: dict[str, Card] = {}
        while len(chosen) < len(made):
            there = {caution for card in chosen.values() for caution in card.cautions}
            heights = {name: self._height(card, there) for name, card in made.items() if name not in chosen}
            name = max(heights, key=lambda name: (worth[name] / heights[name], name))
            room -= heights[name]
            if room < 0:
                break
            chosen[name] = made[name]
        return frozenset(chosen)

    def _height(self, card: Card, there: set[str]) -> float:
        """Height of a card with its cautions; those that another card brings are charged in part."""
        fields = WRITE_ON if self.paper.worksheet else 0.0
        height = card.height + fields
        for caution in card.cautions:
            whole = hazards_height(hazards_of(self.knowledge, {card.name: (caution,)})) / 2
            height += whole * (SHARED if caution in there else 1.0)
        return height


def _worth(graph: DecisionGraph) -> float:
    return graph.carried + WORTH_OF_A_QUESTION * sum(1 for box in graph.boxes if box.exits)

"""How far a chart is grown, and which repairs its ends may name, so that it fits on a number of pages."""

from collections.abc import Collection, Sequence
from dataclasses import replace

from comeback.diagrams.cards.cards import card_names, card_of, cards_of, cards_room, piece_of
from comeback.diagrams.cards.packing import Frames, choose
from comeback.diagrams.flow.layout import paginate, paginate_cards
from comeback.diagrams.flow.pages import Page, page_height
from comeback.diagrams.paper.captions import Captions
from comeback.diagrams.paper.measure import CARD_LEAD, KEY, Paper
from comeback.engine.charts.decision_graph import DecisionGraph, Growth, graph_of
from comeback.engine.charts.merging import Ends, worth_naming
from comeback.engine.walk.steps import DangerScreen, ReadPanel
from comeback.kb.vocabulary import Audience

PAGES = 6
"""Most pages of a chart, as a rule."""
OVERFLOW = 99
"""Pages that an overflowing page counts for."""
STEPS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 21, 24)
"""Sizes that are laid out, in questions."""
PATIENCE = 4
"""Sizes without a better chart after which no larger one is tried."""
TIGHTER = (1.0, 0.97, 0.94, 0.91, 0.88, 0.85)
"""Room for cards that is tried, as the order on paper may need a little more than planned."""
FEWEST, FEWEST_SIGNS, TRIES = 2, 2, 24
"""Different ends that a question keeps at least, and danger signs; how often they are made fewer until all fits."""
MORE = 10
"""More ends of a panel that are tried once it is known which repairs have cards."""
AN_END = 100.0
"""Points that an end of a panel takes up at most, so that not too many are given up at once."""
GOAL, GOAL_COUNTS = 0.9, 3.0
"""Share of cases that a chart is to carry, and how many times as much what is missing to it counts (judged)."""
WORTH_OF_A_QUESTION = {Audience.BAY: 0.012, Audience.PHONE: 0.004}
"""Share of cases that one more question is worth: in the bay a chart teaches more than a pile of cards, and a caller's
advice is then meant for fewer cars."""


def fitted_graph(growth: Growth, paper: Paper, pages: int = PAGES) -> DecisionGraph:
    """The decision graph that is worth most among those that fit: cases carried, time taken, questions asked.

    It is grown step by step; the fewer pages its questions need, the more repairs have a card. If none fits,
    the smallest.
    """
    return _Fitter(growth, paper, pages).best()


class _Fitter:
    def __init__(self, growth: Growth, paper: Paper, pages: int) -> None:
        self.growth, self.paper, self.pages = growth, paper, pages
        self.knowledge, self.looks = growth.root.walk.knowledge, growth.looks

    def best(self) -> DecisionGraph:
        """The best graph of growing sizes; after some that are no better no larger one is tried."""
        best: DecisionGraph | None = None
        best_used, failed, made = OVERFLOW, 0, 0
        for size in STEPS:
            more = self.growth.grow(size)
            if self.growth.made == made and more:
                continue
            made = self.growth.made
            graph, used = self._with_repairs()
            best = graph if best is None else best
            better = used <= self.pages and (best_used > self.pages or self._worth(graph) > self._worth(best))
            if better:
                best, best_used = graph, used
            failed = 0 if better else failed + 1
            if failed == PATIENCE or not more:
                break
        return best or graph_of(self.growth)

    def _with_repairs(self) -> tuple[DecisionGraph, int]:
        """The graph with as many repairs as fit, and the pages that it needs."""
        graph, ends, flow = self._laid_out(None, Ends())
        if not flow or len(flow) >= self.pages or not graph.cards:
            return graph, len(flow) if flow and not graph.cards else OVERFLOW
        return self._with_cards(flow, ends)

    def _with_cards(self, flow: Sequence[Page], ends: Ends) -> tuple[DecisionGraph, int]:
        """The graph with the cards that fit beside these pages of flowchart, and the pages that it needs."""
        ends = replace(ends, panel=ends.panel + MORE)  # with fewer repairs more answers end alike
        for share in TIGHTER:
            graph, ends, _ = self._laid_out(self._shortlist(flow, share), ends)
            used = self.used(graph)
            if used <= self.pages:
                break
        return graph, used

    def _laid_out(self, among: Collection[str] | None, ends: Ends) -> tuple[DecisionGraph, Ends, Sequence[Page]]:
        """The graph with as many different ends as its pages hold, and those; none if one overflows even so."""
        names = card_names(self.knowledge, self.looks.service)
        for _ in range(TRIES):
            graph = graph_of(self.growth, among, ends)
            pages = paginate(graph, Captions(self.knowledge, graph.audience, names), self.paper)
            fewer = self._fewer(ends, graph, pages)
            if fewer == ends:
                break
            ends = fewer
        return graph, ends, () if any(map(self._overflows, pages)) else pages

    def used(self, graph: DecisionGraph) -> int:
        """Pages of a graph in all; too many if one of them overflows."""
        named = cards_of(graph, self.looks)
        captions = Captions(self.knowledge, graph.audience, {repair: card.name for repair, card in named.items()})
        flow = paginate(graph, captions, self.paper)
        cards = paginate_cards(tuple(named.values()), self.knowledge, self.paper, flow)
        return OVERFLOW if any(map(self._overflows, flow)) else len(flow) + len(cards)

    def _fewer(self, ends: Ends, graph: DecisionGraph, pages: Sequence[Page]) -> Ends:
        """Fewer ends for the kind of question that makes a page too high; the more, the higher it is."""
        for page in filter(self._overflows, pages):
            less = 1 + int((page_height(page) - self.paper.usable[1]) / AN_END)
            match graph.boxes[page.rows[0].number - 1].step:
                case DangerScreen():
                    ends = replace(ends, danger=max(FEWEST_SIGNS, ends.danger - 1))
                case ReadPanel():
                    ends = replace(ends, panel=max(FEWEST, ends.panel - less))
                case _:
                    ends = replace(ends, check=max(FEWEST, ends.check - 1))
        return ends

    def _overflows(self, page: Page) -> bool:
        return page_height(page) > self.paper.usable[1]

    def _shortlist(self, flow: Sequence[Page], share: float) -> frozenset[str]:
        """The repairs that settle most cars on the pages for cards that these of the flowchart leave."""
        worth = worth_naming(self.growth.root)
        names = card_names(self.knowledge, self.looks.service)
        pieces = [piece_of(card_of(name, self.looks), self.paper, worth[name]) for name in names if name in worth]
        rooms = [cards_room(self.paper) * share] * (self.pages - len(flow))
        rooms[0] -= CARD_LEAD + (0.0 if any(page.key for page in flow) else KEY)
        frames = Frames(self.knowledge, frozenset(hazard.caution for page in flow for hazard in page.hazards))
        return frozenset(piece.name for piece in choose(pieces, rooms, frames))

    def _worth(self, graph: DecisionGraph) -> float:
        """The share of cases that it carries, up to the goal above all, less its time in hand-overs; its questions."""
        asked = sum(1 for box in graph.boxes if box.exits)
        time = graph.minutes / self.knowledge.settings.hand_over_minutes
        carried = graph.carried + GOAL_COUNTS * min(graph.carried, GOAL)
        return carried - time + WORTH_OF_A_QUESTION[graph.audience] * asked

"""How far a chart is grown, and which repairs its ends may name, so that it fits on a number of pages."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from comeback.diagrams.captions import Captions
from comeback.diagrams.cards import card_of, cards_of, cards_room, piece_of
from comeback.diagrams.layout import paginate, paginate_cards
from comeback.diagrams.measure import KEY, Paper
from comeback.diagrams.packing import Pages, choose, frame_of
from comeback.diagrams.pages import Page, page_height
from comeback.engine.chart_merging import Ends, worth_naming
from comeback.engine.decision_graph import DecisionGraph, Growth, graph_of
from comeback.engine.paper_ends import NAMED_AT_MOST
from comeback.kb.vocabulary import Audience

PAGES = 6
"""Most pages of a chart, as a rule."""
OVERFLOW = 99
"""Pages that an overflowing page counts for."""
STEPS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 21, 24)
"""Sizes that are laid out, in questions."""
PATIENCE = 4
"""Sizes without a better chart after which no larger one is tried."""
WANTED = 0.9
"""Share of cases that a chart shall carry; beyond it, what counts is how soon."""
TIGHTER = (1.0, 0.93, 0.85)
"""Room for cards that is tried, as the order on paper may need a little more than planned."""
FEWER_ENDS = (Ends(), Ends(4, 5, 7), Ends(3, 4, 6), Ends(3, 3, 5), Ends(2, 2, 4))
"""Tried one after the other until no page overflows."""
WORTH_OF_A_QUESTION = 0.004
"""Share of calls that one more question to a caller is worth: the advice is meant for fewer cars."""
LESS_BY_ASKING = 0.06
"""Share of the minutes that one more question in the bay may cost: it spares work without a sign of need."""


def fitted_graph(growth: Growth, paper: Paper, pages: int = PAGES) -> DecisionGraph:
    """The decision graph that costs an average case the fewest minutes among those that fit and carry enough.

    It is grown step by step; the fewer pages its questions need, the more repairs have a card. If none
    carries enough, looks that rarely miss are tried instead of quick ones, and the one that carries most
    is taken; if none fits, the smallest.
    """
    best, _ = _Fitter(growth, paper, pages).best()
    if best.carried >= WANTED or best.audience is Audience.PHONE:
        return best
    other, used = _Fitter(Growth(growth.root.walk, growth.limits, sensitive=True), paper, pages).best()
    return min(best, other, key=_price) if used <= pages else best


class _Fitter:
    def __init__(self, growth: Growth, paper: Paper, pages: int) -> None:
        self.growth, self.paper, self.pages = growth, paper, pages
        self.knowledge, self.looks = growth.root.walk.knowledge, growth.looks

    def best(self) -> tuple[DecisionGraph, int]:
        """The best graph of growing sizes and its pages; after some that are no better no larger one is tried."""
        best: DecisionGraph | None = None
        best_used, failed, made = OVERFLOW, 0, 0
        for size in STEPS:
            more = self.growth.grow(size)
            if self.growth.made == made and more:
                continue
            made = self.growth.made
            graph, used = self._with_repairs()
            best = graph if best is None else best
            better = used <= self.pages and (best_used > self.pages or _price(graph) < _price(best))
            if better:
                best, best_used = graph, used
            failed = 0 if better else failed + 1
            if failed == PATIENCE or not more:
                break
        return best or graph_of(self.growth), best_used

    def _with_repairs(self) -> tuple[DecisionGraph, int]:
        """The graph with as many repairs as fit, and the pages that it needs."""
        for ends in FEWER_ENDS:
            graph = graph_of(self.growth, None, ends)
            flow = len(self._flow(graph, {name: f"R{i}" for i, name in enumerate(graph.cards, 10)}))
            if flow:
                break
        if not graph.cards and flow:
            return graph, flow
        if not flow or flow >= self.pages:
            return graph, OVERFLOW
        graph, used = self._with_cards(flow, ends)
        if graph.carried < WANTED and self.growth.root.walk.audience is Audience.BAY:
            longer, pages = self._with_cards(flow, replace(ends, named=NAMED_AT_MOST))
            return (longer, pages) if pages <= self.pages and longer.carried >= WANTED else (graph, used)
        return graph, used

    def _with_cards(self, flow: int, ends: Ends) -> tuple[DecisionGraph, int]:
        """The graph with the cards that fit beside so many pages of flowchart, and the pages that it needs."""
        for share in TIGHTER:
            graph = graph_of(self.growth, self._shortlist(self.pages - flow, share), ends)
            used = self.used(graph)
            if used <= self.pages:
                break
        return graph, used

    def used(self, graph: DecisionGraph) -> int:
        """Pages of a graph in all; too many if one of them overflows."""
        named = cards_of(graph, self.looks, self.paper)
        flow = self._flow(graph, {repair: card.name for repair, card in named.items()})
        cards = paginate_cards(tuple(named.values()), self.knowledge, self.paper, flow)
        return len(flow) + len(cards) if flow else OVERFLOW

    def _flow(self, graph: DecisionGraph, names: Mapping[str, str]) -> Sequence[Page]:
        """The pages of the flowchart; none if one of them overflows."""
        flow = paginate(graph, Captions(self.knowledge, graph.audience, names), self.paper)
        return () if any(page_height(page) > self.paper.usable[1] for page in flow) else flow

    def _shortlist(self, pages: int, share: float) -> frozenset[str]:
        """The repairs that settle most cars on so many pages of cards."""
        worth = worth_naming(self.growth.root)
        pieces = [piece_of(card_of(name, self.looks), self.paper, worth[name]) for name in sorted(worth)]
        rooms = [cards_room(self.paper) * share] * pages
        rooms[0] -= KEY if pages == self.pages - 1 else 0.0
        filled = choose(pieces, Pages(rooms, frame_of(self.knowledge)))
        return frozenset(piece.name for page in filled.cards for piece in page)


def _price(graph: DecisionGraph) -> tuple[float, float]:
    """What is missing to the share wanted; then what it costs an average case.

    Of two charts that cost nearly alike, the one that asks more is better.
    """
    asked = sum(1 for box in graph.boxes if box.exits)
    if graph.audience is Audience.PHONE:
        return 0.0, -graph.carried - WORTH_OF_A_QUESTION * asked
    return max(0.0, WANTED - graph.carried), graph.minutes * (1 - LESS_BY_ASKING) ** asked

"""A walk compiled for every answer: the chart's content, made by the same chooser as the live walk.

Boxes are steps, exits are answers. Equal continuations are merged (decision graph: Oliver 1993, from
memory). Where paper stops, an end names the repairs to try in order, and the graph says what share of
cases it carries to an end that is right for them.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from comeback.engine.belief.network import Vehicle
from comeback.engine.case.events import Kind
from comeback.engine.charts.ends import TryInOrder
from comeback.engine.charts.growth import (
    CUT,
    DANGER,
    DONE,
    FULL,
    NONE_OF_THESE,
    OFF,
    ROWS,
    SEVERAL,
    UNKNOWN,
    Growth,
    Limits,
    PaperStep,
    responses,
)
from comeback.engine.charts.merging import ENDS_OF_PAPER, Ends, Tree, is_end_of_paper, merged
from comeback.engine.walk.steps import HandOver
from comeback.engine.walk.walk import Walk, open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

if TYPE_CHECKING:
    import networkx as nx

__all__ = [
    "CUT", "DANGER", "DONE", "ENDS_OF_PAPER", "FULL", "NONE_OF_THESE", "OFF", "ROWS", "SEVERAL", "UNKNOWN",
    "Box", "DecisionGraph", "Ends", "Exit", "Growth", "Limits", "TryInOrder", "compile_decision_graph", "graph_of",
    "is_end_of_paper", "responses", "start",
]  # fmt: skip


@dataclass(frozen=True)
class Exit:
    """An answer of a box: result ids that lead on alike, the chance of them, and the next box."""

    answers: tuple[str, ...]
    chance: float
    target: int


@dataclass(frozen=True)
class Box:
    """A step with its number (from 1, in reading order), the share of cases that reach it, its exits."""

    number: int
    step: PaperStep
    reach: float
    exits: tuple[Exit, ...]


@dataclass(frozen=True)
class DecisionGraph:
    """Boxes in reading order.

    `carried`: share of cases that reach an end which is right for them: a repair of every cause that
    their findings need is named or shown by the look of another card; or the advice is not too mild; or
    the program too would hand over. `repaired`: the part of it that is not a hand-over; `clean`: the part
    in which no look shows the sign of a repair that is not needed. `minutes` of an average case that follows
    the chart, by the planner's prices. `cards`: the repairs that the chart describes: all that its ends name,
    and others to look at after those.
    """

    complaint: str
    service: str
    audience: Audience
    knowledge: str
    boxes: tuple[Box, ...]
    carried: float
    repaired: float = 0.0
    minutes: float = 0.0
    cards: tuple[str, ...] = ()
    clean: float = 0.0

    def graph(self) -> "nx.DiGraph[int]":
        """The boxes' numbers and exits as a networkx graph."""
        import networkx as nx  # slow to load, and only tests and other programs ask for it so far

        out: nx.DiGraph[int] = nx.DiGraph()
        out.add_nodes_from(box.number for box in self.boxes)
        out.add_edges_from((box.number, e.target) for box in self.boxes for e in box.exits)
        return out


def start(knowledge: KnowledgeBase, service: str, complaint: str, audience: Audience, vehicle: Vehicle = ()) -> Walk:
    """The walk that a chart begins with."""
    walk = open_walk(knowledge, audience)
    walk = walk.imagine(walk.draft(Kind.SERVICE, "", "", service=service))
    walk = walk.imagine(walk.draft(Kind.COMPLAINT, "", "", complaint=complaint, words=""))
    for feature, value in vehicle:
        walk = walk.imagine(walk.draft(Kind.CONDITION, "", "", feature=feature, value=value))
    return walk


def compile_decision_graph(
    knowledge: KnowledgeBase,
    service: str,
    complaint: str,
    audience: Audience,
    vehicle: Vehicle = (),
    limits: Limits | None = None,
) -> DecisionGraph:
    """The decision graph of one complaint after one service, for one audience and vehicle."""
    limits = limits or Limits()
    growth = Growth(start(knowledge, service, complaint, audience, vehicle), limits)
    growth.grow(limits.boxes)
    return graph_of(growth)


def graph_of(growth: Growth, among: Collection[str] | None = None, ends: Ends | None = None) -> DecisionGraph:
    """The decision graph of a tree as far as it has grown.

    `among`: the repairs that have a card; no other is named. Without, those that the ends name have one.
    `ends`: most different ends of a question.
    """
    walk = growth.root.walk
    tree = merged(growth.root, among, ends, _signs(growth, among or ()))
    cards = tree.cards() | frozenset(among or ())
    settled = [(end.reach, end.settled(cards)) for end in tree.ends()]
    repaired = sum(reach * there.repaired for reach, there in settled)
    handed = sum(reach * there.handed for reach, there in settled)
    return DecisionGraph(
        walk.case.complaint or "",
        walk.case.service or "",
        walk.audience,
        walk.knowledge.version,
        _numbered(tree),
        min(1.0, repaired + handed),
        min(1.0, repaired),
        tree.minutes(cards),
        tuple(sorted(cards)),
        min(1.0, sum(reach * there.clean for reach, there in settled)),
    )


def _signs(growth: Growth, among: Collection[str]) -> dict[str, tuple[str, ...]]:
    """Repairs among the given ones by the answers that are the sign on their card."""
    out: dict[str, tuple[str, ...]] = {}
    for repair in sorted(among):
        look = growth.looks.before(repair)
        if look is not None:
            check, results = look
            for answer in (f"{check.id}:{result}" for result in results):
                out[answer] = (*out.get(answer, ()), repair)
    return out


def _numbered(tree: Tree) -> tuple[Box, ...]:
    """Add up how often each is reached, number in reading order: a step, the ends beside it, what follows.

    What follows goes on with the expected answer.
    """
    order: dict[int, Tree] = {}
    reach: dict[int, float] = {}
    _visit(tree, order)
    _add_up(tree, reach)
    number = {key: i for i, key in enumerate(order, 1)}
    return tuple(Box(number[key], first.step, reach[key], _exits(first, number)) for key, first in order.items())


def _visit(tree: Tree, order: dict[int, Tree]) -> None:
    if tree.key in order:
        return
    order[tree.key] = tree
    below = [child for _, _, child in tree.exits]
    for child in (*below[1:], *below[:1]):
        if _stands_beside(child):
            order.setdefault(child.key, child)
    for child in below:
        _visit(child, order)


def _stands_beside(tree: Tree) -> bool:
    """True for an end; a specialist's repair has cautions of its own and is a step."""
    return not tree.exits and not (isinstance(tree.step, HandOver) and tree.step.repair)


def _add_up(tree: Tree, reach: dict[int, float]) -> None:
    reach[tree.key] = reach.get(tree.key, 0.0) + tree.reach
    for _, _, child in tree.exits:
        _add_up(child, reach)


def _exits(tree: Tree, number: Mapping[int, int]) -> tuple[Exit, ...]:
    grouped: dict[int, list[tuple[str, float]]] = {}
    for label, chance, child in tree.exits:
        grouped.setdefault(number[child.key], []).append((label, chance))
    return tuple(
        Exit(tuple(label for label, _ in pairs), sum(chance for _, chance in pairs), target)
        for target, pairs in grouped.items()
    )

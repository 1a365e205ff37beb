"""A walk compiled for every answer: the chart's content, made by the same chooser as the live walk.

Boxes are steps, exits are answers. Equal continuations are merged, and only if their steps, exits
and everything after them are the same (decision graph: Oliver 1993, from memory). Branches rarer
than a limit end in a hand-over, and the graph says what share of cases it carries to an end.
"""

import heapq
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import count

import networkx as nx

from comeback.engine import case as events
from comeback.engine.hypotheses import explanations
from comeback.engine.network import Vehicle
from comeback.engine.predictions import predict
from comeback.engine.steps import (
    Advise,
    ChooseCondition,
    CloseCase,
    DangerScreen,
    DoRepair,
    HandOver,
    MakeCheck,
    ProveRepair,
    ReadPanel,
    Step,
)
from comeback.engine.walk import Walk, open_walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

DONE, NONE_OF_THESE, UNKNOWN = "done", "none", "unknown"


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
    step: Step
    reach: float
    exits: tuple[Exit, ...]


@dataclass(frozen=True)
class DecisionGraph:
    """Boxes in reading order. `carried`: share of cases that reach an end other than a cut branch."""

    complaint: str
    service: str
    audience: Audience
    knowledge: str
    boxes: tuple[Box, ...]
    carried: float

    def graph(self) -> "nx.DiGraph[int]":
        """The boxes' numbers and exits as a networkx graph."""
        out: nx.DiGraph[int] = nx.DiGraph()
        out.add_nodes_from(box.number for box in self.boxes)
        out.add_edges_from((box.number, e.target) for box in self.boxes for e in box.exits)
        return out


@dataclass(frozen=True)
class Limits:
    """Where compiling stops: branches rarer than `rare` (share of cases), deeper than `deep`, or more boxes."""

    rare: float = 0.02
    deep: int = 24
    boxes: int = 400


CUT = HandOver("rare from here: hand over")
FULL = HandOver("more from here: go on with the program")
DANGER = HandOver("danger sign: stop, keep people away, then go on with the program")
ENDS_OF_PAPER = (CUT, FULL, DANGER)
"""Ends at which the chart stops but the program would go on."""


@dataclass
class _Tree:
    """A step with its children before merging."""

    step: Step
    reach: float
    exits: list[tuple[str, float, "_Tree"]]
    key: int = 0
    cut: Step = CUT


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
    walk = open_walk(knowledge, audience)
    walk = walk.imagine(walk.draft(events.SERVICE, "", "", service=service))
    walk = walk.imagine(walk.draft(events.COMPLAINT, "", "", complaint=complaint, words=""))
    for feature, value in vehicle:
        walk = walk.imagine(walk.draft(events.CONDITION, "", "", feature=feature, value=value))
    grower = _Grower(limits)
    tree = grower.grow(walk)
    boxes = _numbered(tree)
    lost = sum(box.reach for box in boxes if box.step in ENDS_OF_PAPER)
    return DecisionGraph(complaint, service, audience, knowledge.version, boxes, max(0.0, 1 - lost))


def responses(walk: Walk) -> Iterator[tuple[str, float, Walk]]:
    """Each way a chart lets the current step be answered: label, chance, the walk after it."""
    step = walk.step
    match step:
        case DangerScreen(checks) | ReadPanel(checks=checks):
            yield from _one_at_most(walk, checks)
        case MakeCheck(check=check) | ProveRepair(check=check):
            for result, chance in answer_chances(walk, check)[check].items():
                yield result, chance, walk.imagine(walk.answers({check: result}, "", ""))
        case ChooseCondition(feature, values):
            for value in values:
                after = walk.imagine(walk.draft(events.CONDITION, "", "", feature=feature, value=value))
                yield value, 1 / (len(values) + 1), after
            after = walk.imagine(walk.draft(events.CONDITION, "", "", feature=feature, value=None))
            yield UNKNOWN, 1 / (len(values) + 1), after
        case DoRepair(repair=repair):
            yield DONE, 1.0, walk.imagine(walk.draft(events.REPAIRED, "", "", repair=repair))


def answer_chances(walk: Walk, *checks: str) -> dict[str, dict[str, float]]:
    """Predicted distribution of the results of each check, made now."""
    situation = walk.situation
    sets = explanations(situation.network, situation.evidence)
    predictions = predict(situation.network, sets, checks)
    chances = {check: (sets.weights @ predictions.of(check)).tolist() for check in checks}
    return {check: dict(zip(walk.knowledge.checks[check].names, chances[check], strict=True)) for check in checks}


def _one_at_most(walk: Walk, checks: tuple[str, ...]) -> Iterator[tuple[str, float, Walk]]:
    """Of several checks on one screen: nothing abnormal, or one abnormal result; two at once ask the program."""
    expected: dict[str, str | None] = {check: walk.knowledge.checks[check].expected for check in checks}
    chances = answer_chances(walk, *checks)
    none = 1.0
    for check in checks:
        none *= chances[check][str(expected[check])]
    single = {(c, r): p for c in checks for r, p in chances[c].items() if r != expected[c]}
    total = sum(single.values()) or 1.0
    yield NONE_OF_THESE, none, walk.imagine(walk.answers(expected, "", ""))
    for (check, result), chance in single.items():
        after = walk.imagine(walk.answers({**expected, check: result}, "", ""))
        yield f"{check}:{result}", (1 - none) * chance / total, after


class _Grower:
    """Grows the branch that most cases reach first, so that a given number of steps carries most cases."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.keys: dict[tuple[object, ...], int] = {}

    def grow(self, walk: Walk) -> _Tree:
        """The tree, with its branches cut where they are rare, deep, or where the steps are used up."""
        root, made, order = _Tree(CUT, 1.0, []), 0, count()
        waiting = [(-1.0, next(order), 0, walk, root)]
        while waiting:
            _, _, depth, here, tree = heapq.heappop(waiting)
            if made >= self.limits.boxes or depth > self.limits.deep:
                tree.step = FULL if tree.step == CUT else tree.step
            elif tree.reach >= self.limits.rare or depth <= 1:
                made += 1
                tree.step = here.step
                for label, chance, after in responses(here) if not isinstance(here.step, HandOver | CloseCase) else ():
                    danger = isinstance(here.step, DangerScreen) and label != NONE_OF_THESE
                    end = DANGER if danger else CUT
                    child = _Tree(end, tree.reach * chance, [], cut=end)
                    tree.exits.append((label, chance, child))
                    heapq.heappush(waiting, (-child.reach, next(order), depth + 1, after, child))
        root.exits = [(label, chance, self.settled(child)) for label, chance, child in root.exits]
        return self.keyed(root)

    def settled(self, tree: _Tree) -> _Tree:
        """Keys from the leaves up; a question of which every answer is cut is not worth asking, so it is cut too."""
        tree.exits = [(label, chance, self.settled(child)) for label, chance, child in tree.exits]
        if tree.exits and all(child.step in ENDS_OF_PAPER for _, _, child in tree.exits):
            tree = _Tree(tree.cut, tree.reach, [])
        return self.keyed(tree)

    def keyed(self, tree: _Tree) -> _Tree:
        """Equal steps with equal continuations get the same key."""
        content = (_signature(tree.step), *((label, child.key) for label, _, child in tree.exits))
        tree.key = self.keys.setdefault(content, len(self.keys))
        return tree


def _signature(step: Step) -> tuple[object, ...]:
    """What a reader sees of a step; predicted numbers do not keep equal continuations apart."""
    match step:
        case MakeCheck(check=check, set_up=set_up):
            return ("check", check, set_up)
        case DoRepair(repair=repair):
            return ("repair", repair)
        case ReadPanel(panel=panel, checks=checks, set_up=set_up):
            return ("panel", panel, checks, set_up)
        case Advise(disposition=disposition):
            return ("advise", disposition)
        case CloseCase(causes=causes, repairs=repairs, proven=proven):
            return ("close", causes, repairs, proven)
        case _:
            return (
                type(step).__name__,
                step if isinstance(step, HandOver | ProveRepair | DangerScreen) else str(step),
            )


def _numbered(tree: _Tree) -> tuple[Box, ...]:
    """Merge equal trees, add up how often each is reached, number in reading order (expected answer first)."""
    order: list[int] = []
    first: dict[int, _Tree] = {}
    reach: dict[int, float] = {}
    _visit(tree, order, first, reach)
    number = {key: i for i, key in enumerate(order, 1)}
    return tuple(Box(number[key], first[key].step, reach[key], _exits(first[key], number)) for key in order)


def _visit(tree: _Tree, order: list[int], first: dict[int, _Tree], reach: dict[int, float]) -> None:
    reach[tree.key] = reach.get(tree.key, 0.0) + tree.reach
    if tree.key not in first:
        first[tree.key] = tree
        order.append(tree.key)
    for _, _, child in tree.exits:
        _visit(child, order, first, reach)


def _exits(tree: _Tree, number: Mapping[int, int]) -> tuple[Exit, ...]:
    grouped: dict[int, list[tuple[str, float]]] = {}
    for label, chance, child in tree.exits:
        grouped.setdefault(number[child.key], []).append((label, chance))
    return tuple(
        Exit(tuple(label for label, _ in pairs), sum(chance for _, chance in pairs), target)
        for target, pairs in grouped.items()
    )

"""The repairs that a chart's ends name: each with its number, what to look for first, its cautions, its proof.

An end says "R3, R1"; the card says what that is. A repair has the same number on all charts of a service.
"""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache

from comeback.diagrams.cards.packing import Piece
from comeback.diagrams.paper import phrases
from comeback.diagrams.paper.hazards import gravest_first, of_check, of_repair
from comeback.diagrams.paper.lettering import fitted
from comeback.diagrams.paper.measure import (
    CARD_HEAD,
    CARD_PAD,
    CARD_WIDTHS,
    FOOT,
    HEAD,
    RULE,
    TYPE,
    WRITE_ON,
    Paper,
    text_height,
)
from comeback.engine.belief.network import build_network
from comeback.engine.charts.decision_graph import DecisionGraph, TryInOrder
from comeback.engine.charts.looks import Looks
from comeback.kb.schema import Check, KnowledgeBase, Repair

MARKS = 9
"""Most letters of cautions in a line."""


@dataclass(frozen=True)
class Card:
    """A repair of the chart. `look`: check that shows best whether it is needed, and the results that say so.

    `letters`: those of the chart's cautions, if its cards bear letters.
    """

    name: str
    repair: Repair
    look: tuple[Check, tuple[str, ...]] | None
    cautions: tuple[str, ...]
    proof: str
    letters: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def marks(self) -> list[str]:
        """Lines with the letters of its cautions, to stand below its number."""
        letters = [self.letters[caution] for caution in self.cautions if caution in self.letters]
        return textwrap.wrap("".join(letters), MARKS) if letters else []

    @cached_property
    def columns(self) -> tuple[list[str], list[str], list[str]]:
        """Lines of text: look first, then do this, then prove it."""
        look = f"{self.look[0].name}: {seen(*self.look)}" if self.look else phrases.NO_LOOK
        room = [width - 2 * CARD_PAD for width in CARD_WIDTHS]
        repair = fitted(self.repair.name, room[1], TYPE, bold=True)
        return fitted(look, room[0], TYPE), repair, fitted(self.proof, room[2], TYPE)

    @cached_property
    def height(self) -> float:
        """Height of its row in points."""
        return text_height(max(1 + len(self.marks), *map(len, self.columns))) + RULE


def seen(check: Check, results: Sequence[str]) -> str:
    """Results in words, any of which calls for the repair."""
    first, *more = [check.results[result] for result in results]
    return "; or: ".join((first, *more))


def cards_of(graph: DecisionGraph, looks: Looks) -> dict[str, Card]:
    """Card by repair id for every repair that has one on this chart, in the order of their numbers."""
    named = {r for box in graph.boxes if isinstance(box.step, TryInOrder) for r in box.step.every}
    names = card_names(looks.knowledge, graph.service)
    here = [repair for repair in names if repair in named | set(graph.cards)]
    return {repair: replace(card_of(repair, looks), name=names[repair]) for repair in here}


def card_names(knowledge: KnowledgeBase, service: str) -> dict[str, str]:
    """R1, R2 ... by repair id: one number for all charts of a service, so that two prints agree.

    Repairs with like cautions follow each other, so that a page of cards has few of them.
    """
    return _names(service, _Shared(knowledge))


class _Shared:
    """The knowledge, the same if its version is; so that the numbers are worked out once."""

    def __init__(self, knowledge: KnowledgeBase) -> None:
        self.knowledge = knowledge

    def __hash__(self) -> int:
        return hash(self.knowledge.version)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Shared) and other.knowledge.version == self.knowledge.version


@lru_cache(8)
def _names(service: str, shared: _Shared) -> dict[str, str]:
    knowledge = shared.knowledge
    causes = set(build_network(knowledge, (service,)).causes)
    fitting = [repair.id for repair in knowledge.repairs.values() if not causes.isdisjoint(repair.removes)]
    ordered = sorted(fitting, key=lambda name: (_cautions(knowledge, name, None), name))
    return {name: f"R{number}" for number, name in enumerate(ordered, 1)}


def card_of(name: str, looks: Looks) -> Card:
    """The card of a repair, without a number yet."""
    knowledge, look = looks.knowledge, looks.before(name)
    return Card("R?", knowledge.repairs[name], look, _cautions(knowledge, name, look), _proof(knowledge, name, look))


def piece_of(card: Card, paper: Paper, worth: float = 1.0) -> Piece:
    """The card as something to be placed on a page of this paper."""
    marked = replace(card, letters=dict.fromkeys(card.cautions, "n"))
    height = marked.height + (WRITE_ON if paper.worksheet else 0.0)
    return Piece(card.repair.id, height, frozenset(card.cautions), worth)


def cards_room(paper: Paper) -> float:
    """Height on a page for cards and their cautions; the first also says how they are used."""
    return paper.usable[1] - HEAD - FOOT - CARD_HEAD


def _proof(knowledge: KnowledgeBase, name: str, look: tuple[Check, tuple[str, ...]] | None) -> str:
    proof = knowledge.repairs[name].proof
    result = knowledge.checks[proof.check].results[proof.result]
    if look is not None and look[0].id == proof.check:
        return phrases.NOW.format(result=result)
    return f"{knowledge.checks[proof.check].name}: {result}"


def _cautions(knowledge: KnowledgeBase, name: str, look: tuple[Check, tuple[str, ...]] | None) -> tuple[str, ...]:
    """Cautions of the repair, of its look and its proof, gravest first."""
    checks = [knowledge.checks[knowledge.repairs[name].proof.check], *([look[0]] if look else [])]
    of_checks = [caution for check in checks for caution in of_check(knowledge, check.id, check.set_up)]
    return gravest_first(knowledge, [*of_repair(knowledge, name), *of_checks])

"""The repairs that a chart's ends name: numbered R1, R2 ..., each with what to look for first, its cautions, its proof.

An end says "R3, then R1"; the card says what that is. Cards with like cautions stand together, so that
a page has few of them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from comeback.diagrams import phrases
from comeback.diagrams.captions import wrapped
from comeback.diagrams.hazards import Hazard, gravest_first, hazards_height, hazards_of, of_check, of_repair
from comeback.diagrams.looks import Looks
from comeback.diagrams.measure import CARD_LINES, RULE, text_height
from comeback.engine.decision_graph import DecisionGraph, TryInOrder
from comeback.kb.schema import Check, KnowledgeBase, Repair


@dataclass(frozen=True)
class Card:
    """A repair of the chart. `look`: check that shows best whether it is needed, and the result that says so."""

    name: str
    repair: Repair
    look: tuple[Check, str] | None
    cautions: tuple[str, ...]
    proof: str

    @cached_property
    def columns(self) -> tuple[list[str], list[str], list[str]]:
        """Lines of text: look first, then do this, then prove it."""
        look = f"{self.look[0].name}: {self.look[0].results[self.look[1]]}" if self.look else phrases.NO_LOOK
        texts = (look, self.repair.name, self.proof)
        left, middle, right = (wrapped(text, line) for text, line in zip(texts, CARD_LINES, strict=True))
        return left, middle, right

    @cached_property
    def height(self) -> float:
        """Height of its row in points."""
        return text_height(max(map(len, self.columns))) + RULE


@dataclass(frozen=True)
class CardPage:
    """Cards of one page with all their cautions before them."""

    number: int
    hazards: tuple[Hazard, ...]
    cards: tuple[Card, ...]
    key: bool = False


def cards_of(graph: DecisionGraph, looks: Looks) -> dict[str, Card]:
    """Card by repair id for every repair that an end of the graph names, in the order of their numbers."""
    named = {r: None for box in graph.boxes if isinstance(box.step, TryInOrder) for r in box.step.repairs}
    return {card.repair.id: card for card in numbered(named, looks)}


def numbered(repairs: Iterable[str], looks: Looks) -> tuple[Card, ...]:
    """Cards of some repairs, numbered so that those with like cautions follow each other."""
    knowledge = looks.knowledge
    needed = {name: _cautions(knowledge, name, looks.before(name)) for name in repairs}
    return tuple(
        Card(f"R{i}", knowledge.repairs[name], looks.before(name), needed[name], _proof(knowledge, name))
        for i, name in enumerate(_alike_together(needed), 1)
    )


def _alike_together(needed: dict[str, tuple[str, ...]]) -> list[str]:
    """An order in which each card adds as few cautions as possible to those just before it."""
    left = sorted(needed, key=lambda name: (-len(needed[name]), needed[name], name))
    out: list[str] = []
    while left:
        before = {c for name in out[-4:] for c in needed[name]}
        best = min(left, key=lambda name: (len(set(needed[name]) - before), -len(set(needed[name]) & before)))
        left.remove(best)
        out.append(best)
    return out[::-1]


def _proof(knowledge: KnowledgeBase, name: str) -> str:
    proof = knowledge.repairs[name].proof
    return f"{knowledge.checks[proof.check].name}: {knowledge.checks[proof.check].results[proof.result]}"


def _cautions(knowledge: KnowledgeBase, name: str, look: tuple[Check, str] | None) -> tuple[str, ...]:
    """Cautions of the repair, of its look and its proof, gravest first."""
    checks = [knowledge.checks[knowledge.repairs[name].proof.check], *([look[0]] if look else [])]
    of_checks = [caution for check in checks for caution in of_check(knowledge, check.id, check.set_up)]
    return gravest_first(knowledge, [*of_repair(knowledge, name), *of_checks])


def card_pages(
    made: Sequence[Card], knowledge: KnowledgeBase, room: float, first: int, fields: float = 0.0, key: float = 0.0
) -> tuple[CardPage, ...]:
    """Cut the cards into pages numbered from `first`.

    `room` is the height of a page, `fields` what each card adds, `key` what the key takes on the first page.
    """
    pages: list[CardPage] = []
    waiting = list(made)
    while waiting:
        count = len(waiting)
        with_key = bool(key) and not pages
        left = room - (key if with_key else 0.0)
        while count > 1 and _height(waiting[:count], knowledge) + count * fields > left:
            count -= 1
        here = tuple(waiting[:count])
        pages.append(CardPage(first + len(pages), _hazards(here, knowledge), here, with_key))
        waiting = waiting[count:]
    return tuple(pages)


def _height(made: Sequence[Card], knowledge: KnowledgeBase) -> float:
    return sum(card.height for card in made) + hazards_height(_hazards(made, knowledge))


def _hazards(made: Sequence[Card], knowledge: KnowledgeBase) -> tuple[Hazard, ...]:
    return hazards_of(knowledge, {card.name: card.cautions for card in made})

"""The repairs that a chart's ends name: numbered R1, R2 ..., each with what to look for first, its cautions, its proof.

An end says "R3, then R1"; the card says what that is. Cards with like cautions stand together, so that
a page has few of them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from comeback.diagrams import phrases
from comeback.diagrams.hazards import Hazard, gravest_first, hazards_height, hazards_of, of_check, of_repair
from comeback.diagrams.lettering import fitted
from comeback.diagrams.measure import (
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
from comeback.diagrams.packing import Piece, frame_of, pack
from comeback.engine.card_looks import Looks
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
        room = [width - 2 * CARD_PAD for width in CARD_WIDTHS]
        repair = fitted(self.repair.name, room[1], TYPE, bold=True)
        return fitted(look, room[0], TYPE), repair, fitted(self.proof, room[2], TYPE)

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


def cards_of(graph: DecisionGraph, looks: Looks, paper: Paper) -> dict[str, Card]:
    """Card by repair id for every repair that has one on this chart, in the order of their numbers."""
    named = {r for box in graph.boxes if isinstance(box.step, TryInOrder) for r in box.step.repairs}
    return {card.repair.id: card for card in numbered(sorted(named | set(graph.cards)), looks, paper)}


def numbered(repairs: Iterable[str], looks: Looks, paper: Paper) -> tuple[Card, ...]:
    """Cards of some repairs, numbered so that those which share a page with few cautions follow each other."""
    made = {name: card_of(name, looks) for name in repairs}
    pieces = [piece_of(card, paper) for card in made.values()]
    pages = pack(pieces, cards_room(paper), frame_of(looks.knowledge))
    order = [made[piece.name] for page in pages for piece in sorted(page, key=_likeness)]
    return tuple(replace(card, name=f"R{i}") for i, card in enumerate(order, 1))


def card_of(name: str, looks: Looks) -> Card:
    """The card of a repair, without a number yet."""
    knowledge, look = looks.knowledge, looks.before(name)
    return Card("R?", knowledge.repairs[name], look, _cautions(knowledge, name, look), _proof(knowledge, name, look))


def piece_of(card: Card, paper: Paper, worth: float = 1.0) -> Piece:
    """The card as something to be placed on a page of this paper."""
    height = card.height + (WRITE_ON if paper.worksheet else 0.0)
    return Piece(card.repair.id, height, frozenset(card.cautions), worth)


def cards_room(paper: Paper) -> float:
    """Height on a page for cards and their cautions."""
    return paper.usable[1] - HEAD - FOOT - CARD_HEAD


def _likeness(piece: Piece) -> tuple[int, list[str], str]:
    return len(piece.cautions), sorted(piece.cautions), piece.name


def _proof(knowledge: KnowledgeBase, name: str, look: tuple[Check, str] | None) -> str:
    proof = knowledge.repairs[name].proof
    result = knowledge.checks[proof.check].results[proof.result]
    if look is not None and look[0].id == proof.check:
        return phrases.NOW.format(result=result)
    return f"{knowledge.checks[proof.check].name}: {result}"


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

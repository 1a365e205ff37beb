"""Which cards stand on the pages of a chart: in the order of their numbers; each page repeats all their cautions.

Nothing here hangs on chance.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

from comeback.diagrams.hazards import hazards_height, hazards_of
from comeback.kb.schema import KnowledgeBase


@dataclass(frozen=True)
class Piece:
    """A card to be placed: its height with fields, its cautions, what it is worth."""

    name: str
    height: float
    cautions: frozenset[str]
    worth: float = 1.0


Frame = Callable[[frozenset[str]], float]
"""Height of the frame of some cautions."""


def height_of(cards: Sequence[Piece], frame: Frame) -> float:
    """Height of a page with these cards."""
    return sum(card.height for card in cards) + frame(frozenset[str]().union(*(card.cautions for card in cards)))


def frame_of(knowledge: KnowledgeBase) -> Frame:
    """The height of the frame of some cautions, remembered."""
    known = _frames(knowledge.version)

    def frame(cautions: frozenset[str]) -> float:
        if cautions not in known:
            named = hazards_of(knowledge, {"R10": sorted(cautions), "R11": (), "R13": sorted(cautions)})
            known[cautions] = hazards_height(named)
        return known[cautions]

    return frame


@cache
def _frames(version: str) -> dict[frozenset[str], float]:
    """Heights worked out so far with the knowledge of this version."""
    return {}


def in_order(pieces: Sequence[Piece], rooms: Sequence[float], frame: Frame) -> list[list[Piece]] | None:
    """The pieces in their order, each page filled as far as it goes; None if the pages do not hold them."""
    pages: list[list[Piece]] = []
    waiting = list(pieces)
    for room in rooms:
        here: list[Piece] = []
        while waiting and height_of([*here, waiting[0]], frame) <= room:
            here.append(waiting.pop(0))
        pages.append(here)
    return None if waiting else [page for page in pages if page]


def choose(pieces: Sequence[Piece], rooms: Sequence[float], frame: Frame) -> list[list[Piece]]:
    """Pages with the pieces that are worth most for their height; pieces and pages keep their order."""
    place = {piece.name: number for number, piece in enumerate(pieces)}
    chosen: list[Piece] = []
    for piece in sorted(pieces, key=lambda one: (-one.worth / max(one.height, 1.0), one.name)):
        longer = sorted([*chosen, piece], key=lambda one: place[one.name])
        if in_order(longer, rooms, frame) is not None:
            chosen = longer
    return in_order(chosen, rooms, frame) or []

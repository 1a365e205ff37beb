"""Which cards stand on the pages of a chart: in the order of their numbers, as many as are worth their room.

What is worked out here says how many cards fit, quickly; `card_pages` then sets them. Nothing here hangs
on chance.
"""

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

from comeback.diagrams.cards.reminders import all_hazards, lettered, reminder
from comeback.diagrams.paper.hazards import WORDS, hazards_height, signal, warning_height
from comeback.diagrams.paper.lettering import width_of
from comeback.diagrams.paper.measure import CARD_LINE, FRAME, SIGNAL_TYPE, TYPE, WARNING_WIDTH
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import SignalWord

RAGGED = 0.95
"""Share of a line that is filled with words."""


@dataclass(frozen=True)
class Piece:
    """A card to be placed: its height with fields, its cautions, what it is worth."""

    name: str
    height: float
    cautions: frozenset[str]
    worth: float = 1.0


@dataclass(frozen=True)
class Frames:
    """Heights of the frames of warnings on pages of cards.

    `told`: cautions that the pages before tell in full; `known` and `short`: what was worked out before.
    """

    knowledge: KnowledgeBase
    told: frozenset[str] = frozenset()
    known: dict[frozenset[str], float] = field(default_factory=dict)
    short: dict[frozenset[str], float] = field(default_factory=dict)

    def full(self, pieces: Sequence[Piece]) -> float:
        """All cautions of these cards in full, each once."""
        return self._full(frozenset[str]().union(*(piece.cautions for piece in pieces)))

    def untold(self, pieces: Sequence[Piece]) -> float:
        """The same without those that the pages before tell."""
        return self._full(frozenset[str]().union(*(piece.cautions for piece in pieces)) - self.told)

    def _full(self, every: frozenset[str]) -> float:
        if every not in self.known:
            letters = lettered(self.knowledge, every)
            self.known[every] = hazards_height(all_hazards(self.knowledge, letters)) + CARD_LINE if every else 0.0
        return self.known[every]

    def reminders(self, pieces: Sequence[Piece]) -> float:
        """The same in a few words, with letters; a little high."""
        every = frozenset[str]().union(*(piece.cautions for piece in pieces))
        if every not in self.short:
            lines = [self._lines(every, word) for word in WORDS]
            self.short[every] = sum(warning_height(count) for count in lines if count) + (FRAME if every else 0.0)
        return self.short[every]

    def _lines(self, cautions: Collection[str], word: SignalWord) -> int:
        told = [self.knowledge.cautions[name] for name in cautions if self.knowledge.cautions[name].word is word]
        if not told:
            return 0
        width = sum(width_of(f"{reminder(caution, 'mm')} ", TYPE) for caution in told)
        width += width_of(f"{signal(word)}  ", SIGNAL_TYPE, bold=True)
        return math.ceil(width / (WARNING_WIDTH[0] * RAGGED))


def in_order(pieces: Sequence[Piece], rooms: Sequence[float], frames: Frames) -> list[list[Piece]] | None:
    """The pieces in their order, each page filled as far as it goes; None if the pages do not hold them.

    Each page has the cautions of its own cards in full; where that needs too many pages, those of all come
    first, on as many pages as they need, and each page with cards has its reminders.
    """
    own = _filled(pieces, rooms, frames.full, 0.0)
    return own if own is not None else _filled(pieces, rooms, frames.reminders, frames.untold(pieces))


def _filled(
    pieces: Sequence[Piece], rooms: Sequence[float], frame: Callable[[Sequence[Piece]], float], first: float
) -> list[list[Piece]] | None:
    """The same with this frame before the cards of a page, and so much before all of them."""
    pages: list[list[Piece]] = []
    waiting = list(pieces)
    for room in rooms:
        told = min(first, room)
        first -= told
        here: list[Piece] = []
        while waiting and not first and _taken([*here, waiting[0]], frame) <= room - told:
            here.append(waiting.pop(0))
        pages.append(here)
    return None if waiting else pages


def _taken(pieces: Sequence[Piece], frame: Callable[[Sequence[Piece]], float]) -> float:
    return sum(piece.height for piece in pieces) + frame(pieces)


def choose(pieces: Sequence[Piece], rooms: Sequence[float], frames: Frames) -> list[Piece]:
    """The pieces that are worth most for their height, in their order."""
    place = {piece.name: number for number, piece in enumerate(pieces)}
    chosen: list[Piece] = []
    for piece in sorted(pieces, key=lambda one: (-one.worth / max(one.height, 1.0), one.name)):
        longer = sorted([*chosen, piece], key=lambda one: place[one.name])
        if in_order(longer, rooms, frames) is not None:
            chosen = longer
    return chosen

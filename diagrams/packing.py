"""Which cards share a page: it repeats every caution of its cards in full, so those with like cautions belong together.

Cards are put, one after the other, on the page where they add least; then single cards are moved and
pairs exchanged while that makes the fullest pages lower. Nothing here hangs on chance.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from comeback.diagrams.hazards import hazards_height, hazards_of
from comeback.kb.schema import KnowledgeBase

MOST_ROUNDS = 25
"""Moves and exchanges that are made at most."""

OVERFULL = 50.0
"""Points that a page counts for only because it is too full: a hair's breadth is too much as well."""


@dataclass(frozen=True)
class Piece:
    """A card to be placed: its height with fields, its cautions, what it is worth."""

    name: str
    height: float
    cautions: frozenset[str]
    worth: float = 1.0


@dataclass
class Pages:
    """Pages being filled. `rooms`: height of each; `frame`: height of the frame of some cautions."""

    rooms: Sequence[float]
    frame: Callable[[frozenset[str]], float]
    cards: list[list[Piece]] = field(default_factory=list)
    known: dict[frozenset[str], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cards = self.cards or [[] for _ in self.rooms]

    def height(self, cards: Sequence[Piece]) -> float:
        """Height of a page with these cards."""
        key = frozenset(card.name for card in cards)
        found = self.known.get(key)
        if found is None:
            found = sum(card.height for card in cards) + self.frame(
                frozenset[str]().union(*(c.cautions for c in cards))
            )
            self.known[key] = found
        return found

    def over(self, page: int, cards: Sequence[Piece]) -> float:
        """Points by which these cards are too high for the page."""
        return max(0.0, self.height(cards) - self.rooms[page])

    def added(self, page: int, card: Piece) -> float:
        """What a card adds to the height of a page."""
        return self.height([*self.cards[page], card]) - self.height(self.cards[page])

    def fits(self, page: int, card: Piece) -> bool:
        """True if there is room for the card on the page."""
        return self.over(page, [*self.cards[page], card]) == 0.0


def frame_of(knowledge: KnowledgeBase) -> Callable[[frozenset[str]], float]:
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


def choose(pieces: Sequence[Piece], pages: Pages) -> Pages:
    """Pages filled with the pieces that are worth most for the height they add."""
    left = list(pieces)
    while left:
        placed = [
            (card.worth / max(pages.added(page, card), 1.0), card.name, page, card)
            for card in left
            for page in range(len(pages.rooms))
            if pages.fits(page, card)
        ]
        if not placed:
            break
        *_, page, card = max(placed, key=lambda one: one[:2])
        pages.cards[page].append(card)
        left.remove(card)
    return pages


def pack(pieces: Sequence[Piece], room: float, frame: Callable[[frozenset[str]], float]) -> list[list[Piece]]:
    """All pieces on as few pages of one height as are found; a piece higher than a page has its own."""
    for count in range(1, len(pieces) + 1):
        pages = Pages([room] * count, frame)
        if sum(piece.height for piece in pieces) > room * count:
            continue
        for card in sorted(pieces, key=lambda card: (-len(card.cautions), sorted(card.cautions), card.name)):
            page = min(range(count), key=lambda page: (_price(pages, page, card), page))
            pages.cards[page].append(card)
        if _improved(pages):
            return [cards for cards in pages.cards if cards]
    return [[piece] for piece in pieces]


def _price(pages: Pages, page: int, card: Piece) -> float:
    return pages.added(page, card) + 10 * pages.over(page, [*pages.cards[page], card])


def _improved(pages: Pages) -> bool:
    """Move and exchange cards until every page fits; False if that is not found."""
    for _ in range(MOST_ROUNDS):
        if not any(pages.over(page, cards) for page, cards in enumerate(pages.cards)):
            return True
        best = min(_steps(pages), key=lambda step: step[0], default=None)
        if best is None or best[0] >= -1e-9:
            return False
        for page, cards in best[1].items():
            pages.cards[page] = cards
    return False


def _steps(pages: Pages) -> Iterator[tuple[float, Mapping[int, list[Piece]]]]:
    """Each move of a card off the page that is highest above its room, and each exchange, with the change in excess."""
    page = max(range(len(pages.cards)), key=lambda page: pages.over(page, pages.cards[page]))
    cards = pages.cards[page]
    for card in cards:
        without = [other for other in cards if other is not card]
        for there, others in enumerate(pages.cards):
            if there == page:
                continue
            before = _excess(pages, page, cards) + _excess(pages, there, others)
            for one in (None, *others):
                here = [*without, one] if one else without
                other = [*(o for o in others if o is not one), card]
                yield _excess(pages, page, here) + _excess(pages, there, other) - before, {page: here, there: other}


def _excess(pages: Pages, page: int, cards: Sequence[Piece]) -> float:
    """What is too high, and a little of the height itself, so that room is made where it may be used later."""
    over = pages.over(page, cards)
    return over + (OVERFULL if over else 0.0) + 0.05 * pages.height(cards)

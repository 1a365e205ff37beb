"""Pages of repair cards: every card once, in the order of the numbers, behind its cautions.

Few cards stand below their cautions in full. More have letters: the cautions of all come first, and each page
with cards repeats its own in a few words, since whole warnings on every page would leave no room for repairs.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from comeback.diagrams.cards.cards import Card
from comeback.diagrams.cards.reminders import all_hazards, lettered, reminders_height, reminders_of
from comeback.diagrams.paper.hazards import Hazard, hazards_height, hazards_of
from comeback.diagrams.paper.measure import CARD_HEAD, CARD_LEAD, CARD_LINE
from comeback.kb.schema import KnowledgeBase


@dataclass(frozen=True)
class CardPage:
    """Cards of one page with all their cautions before them.

    `hazards` are told in full: those of its cards, or, if several pages have cards, on the first those of all,
    which may leave it no room for cards. Then cautions have letters, the same on all pages: each card bears
    those of its own, and `reminders` repeat in a few words what the cards of the page need. `lead`: it says
    how cards are used.
    """

    number: int
    hazards: tuple[Hazard, ...]
    cards: tuple[Card, ...]
    key: bool = False
    lead: bool = True
    reminders: tuple[Hazard, ...] = ()
    letters: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class CardRoom:
    """What there is for cards: height of a `page`, what the fields of a card take, and the key on the first page.

    `told`: cautions that the flowchart told in full on the pages before.
    """

    page: float
    fields: float = 0.0
    key: float = 0.0
    told: Collection[str] = ()

    def left(self, first: bool) -> float:
        """Height for cards and cautions; the first page says how the cards are used."""
        return self.page - (self.key + CARD_LEAD if first else 0.0)

    def height(self, cards: Sequence[Card]) -> float:
        """Height that the cards take."""
        return sum(card.height + self.fields for card in cards)


def card_pages(made: Sequence[Card], knowledge: KnowledgeBase, room: CardRoom, first: int) -> tuple[CardPage, ...]:
    """Cut the cards into pages numbered from `first`: as few as may be, in full rather than with letters."""
    own = _own_pages(made, knowledge, room)
    pages = min(own, _lettered_pages(made, knowledge, room), key=len) if len(own) > 1 else own
    return tuple(replace(page, number=first + k, key=bool(room.key) and not k) for k, page in enumerate(pages))


def _own_pages(made: Sequence[Card], knowledge: KnowledgeBase, room: CardRoom) -> list[CardPage]:
    """Pages that each tell the cautions of their own cards in full."""
    pages: list[CardPage] = []
    waiting = list(made)
    while waiting:
        here = _cards_for(waiting, knowledge, room, room.left(not pages))
        pages.append(CardPage(0, _hazards(here, knowledge), here, lead=not pages))
        waiting = waiting[len(here) :]
    return pages


def _cards_for(cards: Sequence[Card], knowledge: KnowledgeBase, room: CardRoom, left: float) -> tuple[Card, ...]:
    """As many of the cards as the page holds with their cautions in full."""

    def fits(count: int) -> bool:
        return room.height(cards[:count]) + hazards_height(_hazards(cards[:count], knowledge)) <= left

    return tuple(cards[: _as_many(len(cards), fits)])


def _hazards(cards: Sequence[Card], knowledge: KnowledgeBase) -> tuple[Hazard, ...]:
    return hazards_of(knowledge, {card.name: card.cautions for card in cards})


def _lettered_pages(made: Sequence[Card], knowledge: KnowledgeBase, room: CardRoom) -> list[CardPage]:
    """First the cautions of all cards with letters, but those told before; then the cards with their letters."""
    letters = lettered(knowledge, {caution for card in made for caution in card.cautions})
    untold = {name: letter for name, letter in letters.items() if name not in room.told}
    warnings, cards = list(all_hazards(knowledge, untold)), [replace(card, letters=letters) for card in made]
    pages: list[CardPage] = []
    while warnings or cards:
        left = room.left(not pages) - (CARD_LINE if warnings else 0.0)
        here = _warnings_for(warnings, left)
        if len(here) < len(warnings):  # no cards on this page, so no heads of their columns
            here = _warnings_for(warnings, left + CARD_HEAD)
        page = CardPage(0, here, (), lead=not pages, letters=letters)
        warnings = warnings[len(here) :]
        if not warnings:
            page = _with_cards(page, cards, knowledge, room, left - hazards_height(here))
            cards = cards[len(page.cards) :]
        pages.append(page)
    return pages


def _warnings_for(warnings: Sequence[Hazard], left: float) -> tuple[Hazard, ...]:
    """As many of the warnings as the page holds."""
    return tuple(warnings[: _as_many(len(warnings), lambda n: hazards_height(warnings[:n]) <= left)])


def _with_cards(
    page: CardPage, cards: Sequence[Card], knowledge: KnowledgeBase, room: CardRoom, left: float
) -> CardPage:
    """The page with as many cards as it holds, their reminders before them; one at least if it has nothing else."""

    def reminders(count: int) -> tuple[Hazard, ...]:
        needed = {caution for card in cards[:count] for caution in card.cautions}
        return reminders_of(knowledge, {name: letter for name, letter in page.letters.items() if name in needed})

    def fits(count: int) -> bool:
        return room.height(cards[:count]) + reminders_height(reminders(count)) <= left

    count = _as_many(len(cards), fits, least=0 if page.hazards else 1)
    return replace(page, cards=tuple(cards[:count]), reminders=reminders(count))


def _as_many(count: int, fits: Callable[[int], bool], least: int = 1) -> int:
    """The most, up to `count`, that fit; `least`, if there are as many, even if they do not."""
    least = min(least, count)
    return next((n for n in range(count, least, -1) if fits(n)), least)

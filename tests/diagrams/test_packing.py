"""Cards on pages in the order of their numbers: beside listing every way to cut them."""

import random
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.diagrams.cards.packing import Piece, choose, in_order

ROOM = 100.0


class Prices:
    """Own prices of warnings: in full 12 points for each two, a reminder 3 points each; none was told before."""

    def full(self, pieces):
        return 12.0 * ((len(warned(pieces)) + 1) // 2)

    untold = full

    def reminders(self, pieces):
        return 3.0 * len(warned(pieces))


FRAMES = Prices()


def warned(pieces):
    return frozenset().union(*(piece.cautions for piece in pieces))


def high(page, frame):
    return sum(card.height for card in page) + frame(page)


def pieces_of(seed, count):
    chance = random.Random(seed)
    return [
        Piece(f"R{k}", chance.uniform(10, 45), frozenset(chance.sample("abcdef", chance.randint(0, 4))))
        for k in range(count)
    ]


def cuts(items):
    """Every way to cut a list into runs."""
    for count in range(len(items)):
        for places in combinations(range(1, len(items)), count):
            yield [items[a:b] for a, b in pairwise([0, *places, len(items)])]


def fewest_pages(pieces):
    """Fewest pages over all cuts: each with its own warnings in full, or all of them first and then reminders."""
    own = [runs for runs in cuts(pieces) if all(high(run, FRAMES.full) <= ROOM for run in runs)]
    first = FRAMES.untold(pieces)
    rest = [runs for runs in cuts(pieces) if all(high(run, FRAMES.reminders) <= ROOM for run in runs)]
    beside = [len(runs) for runs in rest if high(runs[0], FRAMES.reminders) + first <= ROOM]
    return min([*map(len, own), *beside, *(1 + len(runs) for runs in rest)])


@pytest.mark.parametrize("seed", range(30))
def test_as_few_pages_as_any_cut_needs(seed):
    """Oracle: all 64 ways to cut seven cards. A frame only grows with more cards, so filling up is best."""
    pieces = pieces_of(seed, 7)
    fewest = fewest_pages(pieces)
    assert in_order(pieces, [ROOM] * (fewest - 1), FRAMES) is None
    found = in_order(pieces, [ROOM] * fewest, FRAMES)
    assert [card for page in found for card in page] == pieces


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 14))
def test_what_is_chosen_keeps_its_order_and_no_page_overflows(seed, count):
    pieces = pieces_of(seed, count)
    found = choose(pieces, [ROOM] * 3, FRAMES)
    assert found == [piece for piece in pieces if piece in found]
    pages = in_order(found, [ROOM] * 3, FRAMES)
    assert len(pages) <= 3
    assert all(high(page, FRAMES.reminders) <= ROOM for page in pages)


def test_what_is_chosen_is_worth_its_height():
    good, dear = Piece("R1", 20.0, frozenset(), 0.5), Piece("R2", 90.0, frozenset("ab"), 0.4)
    assert choose([good, dear], [ROOM], FRAMES) == [good]

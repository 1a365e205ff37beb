"""Cards on pages in the order of their numbers: beside listing every way to cut them."""

import random
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from comeback.diagrams.packing import Piece, choose, in_order

ROOM = 100.0


def frame(cautions):
    """Own price of warnings: 12 points each, two beside each other share a line."""
    return 12.0 * ((len(cautions) + 1) // 2)


def high(page):
    return sum(card.height for card in page) + frame(frozenset().union(*(card.cautions for card in page)))


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


@pytest.mark.parametrize("seed", range(30))
def test_as_few_pages_as_any_cut_needs(seed):
    """Oracle: all 64 ways to cut seven cards. A frame only grows with more cards, so filling up is best."""
    pieces = pieces_of(seed, 7)
    fewest = min(len(runs) for runs in cuts(pieces) if all(high(run) <= ROOM for run in runs))
    assert in_order(pieces, [ROOM] * (fewest - 1), frame) is None
    found = in_order(pieces, [ROOM] * fewest, frame)
    assert [card for page in found for card in page] == pieces


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 14))
def test_what_is_chosen_keeps_its_order_and_no_page_overflows(seed, count):
    pieces = pieces_of(seed, count)
    found = choose(pieces, [ROOM] * 3, frame)
    names = [card.name for page in found for card in page]
    assert names == [piece.name for piece in pieces if piece.name in names]
    assert len(found) <= 3
    assert all(high(page) <= ROOM for page in found)


def test_what_is_chosen_is_worth_its_height():
    good, dear = Piece("R1", 20.0, frozenset(), 0.5), Piece("R2", 90.0, frozenset("ab"), 0.4)
    assert choose([good, dear], [ROOM], frame) == [[good]]

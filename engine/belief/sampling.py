"""Whole sets of causes drawn exactly from the belief, for what no list of likely sets can hold.

Ancestral drawing along the eliminations: the backward messages give the exact chance of each choice given
the state, so every draw is an independent sample of the posterior. Chance is an argument.

    N  number of draws      s  (N,) the state of each draw: explained findings as bits
"""

import numpy as np

from comeback.engine.belief.elimination_order import Elimination, elimination_order
from comeback.engine.belief.messages import Move, close_places_transposed, open_places_transposed, push_transposed
from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Indices, Presences

ABSENT = -1
"""Stands for "not there" where the number of a presence would be."""
WIDEST = 15
"""Findings open at once up to which sets are drawn; all backward messages are kept meanwhile."""


def draw_sets(presences: Presences, count: int, chance: np.random.Generator) -> Indices | None:
    """`count` sets, shape (N, live): the number of each live cause's presence, ABSENT if it is not there.

    Columns follow the live causes in index order. None if the findings hang together too widely.
    """
    order = elimination_order(presences)
    if order.width > WIDEST:
        return None
    aheads = _aheads(order.eliminations)
    column = {cause: k for k, cause in enumerate(presences.live.tolist())}
    out = np.full((count, len(column)), ABSENT, np.intp)
    state = np.zeros(count, np.intp)
    for elimination, ahead in zip(order.eliminations, aheads, strict=True):
        state = _choose_opens(state, elimination, _behind(elimination, ahead), chance)
        chosen = _choose_presence(state, elimination, ahead, chance)
        out[:, column[elimination.index]] = chosen
        for number, (_, moves) in enumerate(elimination.ways):
            mine = chosen == number
            if mine.any():
                state[mine] = _choose_bits(state[mine], moves, ahead, chance)
        for place in elimination.closes:
            state = ((state >> (place + 1)) << place) | (state & ((1 << place) - 1))
    return out


def _aheads(eliminations: tuple[Elimination, ...]) -> list[Vector]:
    """Backward message of each step, over the state before its findings close."""
    out, ahead = [], np.ones(1)
    for elimination in reversed(eliminations):
        ahead = close_places_transposed(ahead, elimination.closes)
        out.append(ahead)
        behind = _behind(elimination, ahead)
        ahead = open_places_transposed(behind / behind.max(), elimination.opens)
    return out[::-1]


def _behind(elimination: Elimination, ahead: Vector) -> Vector:
    """Backward message over the state after the step's findings opened."""
    out: Vector = elimination.absent * ahead
    for weight, moves in elimination.ways:
        out += push_transposed(ahead, weight, moves)
    return out


def _choose_opens(state: Indices, elimination: Elimination, behind: Vector, chance: np.random.Generator) -> Indices:
    """Does the leak explain each new finding? One bit after the other, lowest place first."""
    after = [behind]
    for leak in reversed(elimination.opens):
        after.append(open_places_transposed(after[-1], (leak,)))
    for (lesser, exactly), wide in zip(elimination.opens, reversed(after[:-1]), strict=True):
        half = wide.size // 2
        state = _flip(state, half, lesser * wide[state], exactly * wide[state + half], chance)
    return state


def _choose_presence(state: Indices, elimination: Elimination, ahead: Vector, chance: np.random.Generator) -> Indices:
    """The presence of the step's cause for each draw, ABSENT (-1) if it is not there."""
    weights = [elimination.absent * ahead[state]]
    for weight, moves in elimination.ways:
        weights.append(push_transposed(ahead, weight, moves)[state])
    edges = np.cumsum(weights, axis=0)
    return np.asarray((chance.random(state.size) * edges[-1] >= edges).sum(axis=0) - 1, np.intp)


def _choose_bits(state: Indices, moves: tuple[Move, ...], ahead: Vector, chance: np.random.Generator) -> Indices:
    """Which open findings the present cause explains: undo the moves from the last to the first."""
    pulled = [ahead]
    for move in moves:
        pulled.append(push_transposed(pulled[-1], 1.0, (move,)))
    for (place, lesser, exactly), inner in zip(reversed(moves), reversed(pulled[:-1]), strict=True):
        bit = 1 << place
        open_yet = (state & bit) == 0
        state[open_yet] = _flip(
            state[open_yet], bit, lesser * inner[state[open_yet]], exactly * inner[state[open_yet] + bit], chance
        )
    return state


def _flip(state: Indices, bit: int, stay: Vector, go: Vector, chance: np.random.Generator) -> Indices:
    """Sets `bit` in each state with chance go / (stay + go)."""
    total = np.maximum(stay + go, 1e-300)
    return np.asarray(state + bit * (chance.random(state.size) * total < go), np.intp)

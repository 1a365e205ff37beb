"""Forward and backward pass over the causes: exact, for any number of findings of which few are open at once.

Causes are summed out one by one (`elimination_order`). The state is the subset of abnormal findings already
explained (`messages`): with two findings open it is a vector of four chances, neither explained, the first, the second,
both. Every term is a probability, nothing is subtracted.
"""

import math

import numpy as np

from comeback.engine.belief.elimination_order import EliminationOrder
from comeback.engine.belief.messages import (
    close_places,
    close_places_transposed,
    open_places,
    open_places_transposed,
    push,
    push_transposed,
)
from comeback.engine.belief.network import Vector


def forward(order: EliminationOrder, kept: list[Vector]) -> float:
    """Log chance of the abnormal findings; the message before each elimination is put into `kept` for `backward`."""
    state, total = np.ones(1), order.constant
    for elimination in order.eliminations:
        kept.append(state)
        state = open_places(state, elimination.opens)
        after = elimination.absent * state  # the cause is absent, or there in one of its presences
        for weight, moves in elimination.ways:
            after += push(state, weight, moves)
        state = close_places(after, elimination.closes)
        mass = float(state.sum())
        if mass <= 0:
            return -math.inf
        state, total = state / mass, total + math.log(mass)
    return total


def backward(order: EliminationOrder, kept: list[Vector], shares: Vector) -> None:
    """Fill in the chance of each presence, last cause first; `kept`: the messages of the forward pass.

    Chance of a presence = forward message x its move x backward message, over the sum of all that can be.
    """
    ahead = np.ones(1)
    for elimination, state in zip(reversed(order.eliminations), reversed(kept), strict=True):
        before = open_places(state, elimination.opens)
        ahead = close_places_transposed(ahead, elimination.closes)
        absent, weights = elimination.absent * float(before @ ahead), []
        behind = elimination.absent * ahead
        for weight, moves in elimination.ways:
            pulled = push_transposed(ahead, weight, moves)
            weights.append(float(before @ pulled))
            behind += pulled
        first = elimination.first
        shares[first : first + len(weights)] = np.array(weights) / (absent + sum(weights))
        ahead = open_places_transposed(behind / behind.max(), elimination.opens)

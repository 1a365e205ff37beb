"""Forward and backward pass over the causes: exact, for any number of findings of which few are open at once.

Causes are summed out one by one (`elimination_order`). The state is the subset of abnormal findings already
explained (`messages`). Every term is a probability, nothing is subtracted.
"""

import math
from itertools import pairwise

import numpy as np

from comeback.engine.belief.elimination_order import Elimination, EliminationOrder
from comeback.engine.belief.messages import (
    close_places,
    close_places_transposed,
    open_places,
    open_places_transposed,
    push,
    push_transposed,
)
from comeback.engine.belief.network import Vector

ROOMY = 16
"""Findings open at once from which only every so many forward messages are kept, to bound memory."""


def forward(order: EliminationOrder, kept: list[Vector]) -> float:
    """Log chance of the abnormal findings; the messages to keep for `backward` are put into `kept`."""
    state, total, stride = np.ones(1), order.constant, _stride(order)
    for k, elimination in enumerate(order.eliminations):
        if k % stride == 0:
            kept.append(state)
        state = close_places(_switch_in(open_places(state, elimination.opens), elimination), elimination.closes)
        mass = float(state.sum())
        if mass <= 0:
            return -math.inf
        state, total = state / mass, total + math.log(mass)
    return total


def backward(order: EliminationOrder, kept: list[Vector], shares: Vector) -> None:
    """Backward pass: fills in the chance of each presence; forward messages between the kept ones are made again."""
    ahead, stride = np.ones(1), _stride(order)
    while kept:
        first = stride * (len(kept) - 1)
        ahead = _backward_segment(order.eliminations[first : first + stride], kept.pop(), ahead, shares)


def _stride(order: EliminationOrder) -> int:
    """Every so many forward messages are kept: all would take gigabytes where many findings are open."""
    return 1 if order.width < ROOMY else math.isqrt(len(order.eliminations))


def _switch_in(state: Vector, elimination: Elimination) -> Vector:
    """The cause is absent, or there in one of its presences and explains what it explains."""
    out: Vector = elimination.cause.absent * state
    for presence, moves in zip(elimination.cause.presences, elimination.moves, strict=True):
        out += push(state, presence.weight, moves)
    return out


def _befores(eliminations: tuple[Elimination, ...], state: Vector) -> list[Vector]:
    """Forward messages at each step, with the findings that it opens."""
    out = [open_places(state, eliminations[0].opens)]
    for last, elimination in pairwise(eliminations):
        state = close_places(_switch_in(out[-1], last), last.closes)
        out.append(open_places(state / state.sum(), elimination.opens))
    return out


def _backward_segment(eliminations: tuple[Elimination, ...], state: Vector, ahead: Vector, shares: Vector) -> Vector:
    """Fill in the chances of these causes, last first; `state`: forward message before, `ahead`: backward one after.

    Chance of a presence = forward message x its move x backward message, over the sum of all that can be.
    """
    befores = _befores(eliminations, state)
    for elimination in reversed(eliminations):
        before = befores.pop()
        ahead = close_places_transposed(ahead, elimination.closes)
        absent, weights = elimination.cause.absent * float(before @ ahead), []
        behind = elimination.cause.absent * ahead
        for presence, moves in zip(elimination.cause.presences, elimination.moves, strict=True):
            pulled = push_transposed(ahead, presence.weight, moves)
            weights.append(float(before @ pulled))
            behind += pulled
        first = elimination.cause.first
        shares[first : first + len(weights)] = np.array(weights) / (absent + sum(weights))
        ahead = open_places_transposed(behind / behind.max(), elimination.opens)
    return ahead

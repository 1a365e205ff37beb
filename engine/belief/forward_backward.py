"""The sweep over causes: exact, for any number of findings of which not too many are open at once.

Causes are switched in one by one (`turns`). The state is the subset of abnormal findings already
explained (`messages`). Every term is a probability, nothing is subtracted.
"""

import math
from itertools import pairwise

import numpy as np

from comeback.engine.belief.elimination_order import Turn, Turns
from comeback.engine.belief.messages import close_places, open_places, pull, push, reopen, unopen
from comeback.engine.belief.network import Vector

ROOMY = 16
"""Findings open at once from which only every so many forward messages are kept, to bound memory."""


def sweep(turns: Turns, kept: list[Vector]) -> float:
    """Log chance of the abnormal findings; the messages to keep for `settle` are put into `kept`."""
    state, total, stride = np.ones(1), turns.constant, _stride(turns)
    for k, turn in enumerate(turns.turns):
        if k % stride == 0:
            kept.append(state)
        state = close_places(_switch_in(open_places(state, turn.opens), turn), turn.closes)
        mass = float(state.sum())
        if mass <= 0:
            return -math.inf
        state, total = state / mass, total + math.log(mass)
    return total


def settle(turns: Turns, kept: list[Vector], shares: Vector) -> None:
    """Backward pass: fills in the chance of each way; forward messages between the kept ones are made again."""
    ahead, stride = np.ones(1), _stride(turns)
    while kept:
        first = stride * (len(kept) - 1)
        ahead = _backward(turns.turns[first : first + stride], kept.pop(), ahead, shares)


def _stride(turns: Turns) -> int:
    """Every so many forward messages are kept: all would take gigabytes where many findings are open."""
    return 1 if turns.width < ROOMY else math.isqrt(len(turns.turns))


def _switch_in(state: Vector, turn: Turn) -> Vector:
    """The cause is absent, or present in one of its modes and explains what it explains."""
    out: Vector = turn.cause.absent * state
    for mode, moves in zip(turn.cause.modes, turn.moves, strict=True):
        out += push(state, mode.weight, moves)
    return out


def _befores(turns: tuple[Turn, ...], state: Vector) -> list[Vector]:
    """Forward messages at each turn, with the findings that it opens."""
    out = [open_places(state, turns[0].opens)]
    for last, turn in pairwise(turns):
        state = close_places(_switch_in(out[-1], last), last.closes)
        out.append(open_places(state / state.sum(), turn.opens))
    return out


def _backward(turns: tuple[Turn, ...], state: Vector, ahead: Vector, shares: Vector) -> Vector:
    """Settle the causes of `turns`, last first; `state`: forward message before them, `ahead`: after."""
    befores = _befores(turns, state)
    for turn in reversed(turns):
        before = befores.pop()
        ahead = reopen(ahead, turn.closes)
        absent, weights = turn.cause.absent * float(before @ ahead), []
        behind = turn.cause.absent * ahead
        for mode, moves in zip(turn.cause.modes, turn.moves, strict=True):
            pulled = pull(ahead, mode.weight, moves)
            weights.append(float(before @ pulled))
            behind += pulled
        first = turn.cause.first
        shares[first : first + len(weights)] = np.array(weights) / (absent + sum(weights))
        ahead = unopen(behind / behind.max(), turn.opens)
    return ahead

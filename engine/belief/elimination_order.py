"""In which order causes are eliminated, and when each abnormal finding enters and leaves the state.

A finding is open from the first cause that bears on it to the last, so the work is exponential
only in how many are open at once (the width), not in how many there are.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from comeback.engine.belief.messages import Leak, Move
from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Presences
from comeback.engine.errors import TooManyFindings

MAX_OPEN = 18
"""Abnormal findings that may be open at once: 2**18 states are 2 MB a message, and there is one for each cause."""
FEW = 12
"""Up to so many findings any order will do: all of them open is 4096 states. Measured, not judged."""


@dataclass(frozen=True)
class Elimination:
    """Sums out one live cause, by index: its weight when `absent`, and its presences, numbered from `first` on.

    `ways`: weight and moves of each presence; `opens`: leaks of the findings that enter the state with it; `closes`:
    places of those that leave, the highest first.
    """

    index: int
    first: int
    absent: float
    ways: tuple[tuple[float, tuple[Move, ...]], ...]
    opens: tuple[Leak, ...]
    closes: tuple[int, ...]


@dataclass(frozen=True)
class EliminationOrder:
    """All steps in order; `width`: findings open at once; `constant`: log chance of findings no cause bears on."""

    eliminations: tuple[Elimination, ...]
    width: int
    constant: float


def elimination_order(presences: Presences) -> EliminationOrder:
    """The live causes in order of elimination. Raises TooManyFindings above MAX_OPEN open findings."""
    leaks: list[Leak] = [(lesser, exactly) for lesser, exactly in presences.leaks.tolist()]
    edges = (np.searchsorted(presences.cause, presences.live, side).tolist() for side in ("left", "right"))
    rows = [range(first, end) for first, end in zip(*edges, strict=True)]
    absent = presences.absent[presences.alive].tolist()
    bits = [np.flatnonzero(presences.bears[own.start : own.stop].any(axis=0)).tolist() for own in rows]
    order = _ordered(bits, len(leaks))
    last = {bit: turn for turn, k in enumerate(order) for bit in bits[k]}
    lone = [leak[1] for bit, leak in enumerate(leaks) if bit not in last]
    constant = math.fsum(math.log(chance) if chance > 0 else -math.inf for chance in lone)
    places: list[int] = []  # the finding at each place of the state
    opened: set[int] = set()
    eliminations, width = [], 0
    for turn, k in enumerate(order):
        new = [bit for bit in bits[k] if bit not in opened]
        opened.update(new)
        places += new
        width = max(width, len(places))
        if width > MAX_OPEN:
            raise TooManyFindings(width, MAX_OPEN)
        ways = tuple((float(presences.there[i]), _moves(presences, i, bits[k], places)) for i in rows[k])
        done = sorted((places.index(bit) for bit in bits[k] if last[bit] == turn), reverse=True)
        opens, index = tuple(leaks[bit] for bit in new), int(presences.live[k])
        eliminations.append(Elimination(index, rows[k].start, absent[k], ways, opens, tuple(done)))
        for place in done:
            del places[place]
    return EliminationOrder(tuple(eliminations), width, constant)


def reweighed(order: EliminationOrder, there: Vector) -> EliminationOrder:
    """The same order with other weights of the presences, shape (I,)."""
    weights = there.tolist()
    steps = (
        replace(step, ways=tuple((weights[step.first + k], moves) for k, (_, moves) in enumerate(step.ways)))
        for step in order.eliminations
    )
    return replace(order, eliminations=tuple(steps))


def _moves(presences: Presences, row: int, bits: list[int], places: list[int]) -> tuple[Move, ...]:
    """What a presence does to the state, for each finding that it bears on."""
    chances = ((bit, float(presences.lesser[row, bit]), float(presences.exactly[row, bit])) for bit in bits)
    return tuple((places.index(bit), low, at) for bit, low, at in chances if presences.bears[row, bit])


def _ordered(bits: list[list[int]], findings: int) -> list[int]:
    """Order of the causes by the findings they bear on; many findings: next the cause that opens fewest."""
    if findings <= FEW:
        return sorted(range(len(bits)), key=lambda k: (bits[k], k))
    left, out, opened = {k: frozenset(own) for k, own in enumerate(bits)}, [], frozenset[int]()
    while left:
        best = min(left, key=lambda k: (len(left[k] - opened), -len(left[k]), k))
        opened |= left.pop(best)
        out.append(best)
    return out

"""In which order causes are eliminated, and when each abnormal finding enters and leaves the state.

A finding is open from the first cause that bears on it to the last, so the work is exponential
only in how many are open at once (the width), not in how many there are.
"""

import math
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.messages import Leak, Move
from comeback.engine.belief.presence import Presences
from comeback.engine.errors import TooManyFindings

MAX_OPEN = 18
"""Abnormal findings that may be open at once: 2**18 states are 2 MB a message, and there is one for each cause."""
FEW = 12
"""Up to so many findings any order will do: all of them open is 4096 states. Measured, not judged."""


@dataclass(frozen=True)
class Presence:
    """One way a cause can be present, with its `weight`; `bits` maps the number of an abnormal finding to
    (chance of a lesser result, chance of exactly this result)."""

    weight: float
    bits: tuple[tuple[int, float, float], ...]


@dataclass(frozen=True)
class CausePresences:
    """A live cause by index, its weight when absent, and its presences, numbered from `first` on."""

    index: int
    first: int
    absent: float
    presences: tuple[Presence, ...]


@dataclass(frozen=True)
class Elimination:
    """Sums out one cause: leaks of the findings it opens, each presence's moves, places closed (highest first)."""

    cause: CausePresences
    opens: tuple[Leak, ...]
    moves: tuple[tuple[Move, ...], ...]
    closes: tuple[int, ...]


@dataclass(frozen=True)
class EliminationOrder:
    """All steps in order; `width`: findings open at once; `constant`: log chance of findings no cause bears on."""

    eliminations: tuple[Elimination, ...]
    width: int
    constant: float


def live_presences(presences: Presences) -> list[CausePresences]:
    """The presences of the causes that can explain something, by cause in index order."""
    ways = [
        Presence(weight, tuple((int(f), float(lesser[f]), float(exactly[f])) for f in np.flatnonzero(bears)))
        for weight, bears, lesser, exactly in zip(
            presences.there.tolist(), presences.bears, presences.lesser, presences.exactly, strict=True
        )
    ]
    out = []
    for index, absent in zip(presences.live.tolist(), presences.absent[presences.alive].tolist(), strict=True):
        first, end = np.searchsorted(presences.cause, (index, index + 1)).tolist()
        out.append(CausePresences(index, first, absent, tuple(ways[first:end])))
    return out


def elimination_order(presences: Presences) -> EliminationOrder:
    """The live causes in order of elimination. Raises TooManyFindings above MAX_OPEN open findings."""
    leaks: list[Leak] = [(lesser, exactly) for lesser, exactly in presences.leaks.tolist()]
    live = _ordered(live_presences(presences), len(leaks))
    spans = _spans(live)
    lone = [leak[1] for bit, leak in enumerate(leaks) if bit not in spans]
    constant = math.fsum(math.log(chance) if chance > 0 else -math.inf for chance in lone)
    places: list[int] = []
    eliminations, width = [], 0
    for turn, cause in enumerate(live):
        new = [bit for bit in _bits(cause) if spans[bit][0] == turn]
        places += new
        width = max(width, len(places))
        if width > MAX_OPEN:
            raise TooManyFindings(width, MAX_OPEN)
        moves = tuple(tuple((places.index(b), lo, at) for b, lo, at in presence.bits) for presence in cause.presences)
        done = sorted((places.index(bit) for bit in _bits(cause) if spans[bit][1] == turn), reverse=True)
        eliminations.append(Elimination(cause, tuple(leaks[bit] for bit in new), moves, tuple(done)))
        for place in done:
            del places[place]
    return EliminationOrder(tuple(eliminations), width, constant)


def _bits(cause: CausePresences) -> list[int]:
    """Numbers of the abnormal findings that the cause bears on in any presence."""
    return sorted({bit for presence in cause.presences for bit, _, _ in presence.bits})


def _spans(live: list[CausePresences]) -> dict[int, tuple[int, int]]:
    """Finding -> first and last step that touches it."""
    spans: dict[int, tuple[int, int]] = {}
    for turn, cause in enumerate(live):
        for bit in _bits(cause):
            spans[bit] = (spans.get(bit, (turn, turn))[0], turn)
    return spans


def _ordered(live: list[CausePresences], findings: int) -> list[CausePresences]:
    """Many findings: next the cause that opens fewest, to keep the state narrow."""
    if findings <= FEW:
        return sorted(live, key=lambda cause: (_bits(cause), cause.index))
    left = {cause.index: (cause, frozenset(_bits(cause))) for cause in live}
    out: list[CausePresences] = []
    opened: frozenset[int] = frozenset()
    while left:
        index = min(left, key=lambda i: (len(left[i][1] - opened), -len(left[i][1]), i))
        cause, bits = left.pop(index)
        out.append(cause)
        opened |= bits
    return out

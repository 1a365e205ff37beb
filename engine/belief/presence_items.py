"""Items, the presences of live causes in logarithms: what lists of sets are made of.

I items (presences of live causes)    F abnormal findings
"""

from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Flags, Indices, Presences

_NEVER = -1e4  # log of zero, kept finite so that sums stay defined


@dataclass(frozen=True)
class Items:
    """Presences of live causes in index order, as arrays by item; `lesser`, `at_most` (I, F), leak rows (F,)."""

    cause: Indices
    still: Flags
    odds: Vector
    lesser: Vector
    at_most: Vector
    leak_lesser: Vector
    leak_at_most: Vector
    offset: float

    def log_chance(self, lesser: Vector, at_most: Vector) -> Vector:
        """Log chance of exactly the results seen, for sums of shape (..., F)."""
        gap = np.minimum(lesser - at_most, -1e-300)
        with np.errstate(divide="ignore"):
            return np.asarray(np.sum(at_most + np.log(-np.expm1(gap)), axis=-1))


def items_of(presences: Presences) -> Items:
    """The items of all live causes; `offset` is the log weight of what does not depend on the set."""
    own = presences.alive[presences.owner]
    absent = np.maximum(presences.absent, 1e-12)  # a certain cause: its absence weighs next to nothing
    idle = (presences.absent + presences.mass(presences.there))[~presences.alive]
    lesser, exactly = presences.lesser[own], presences.exactly[own]
    low, high = presences.leaks[:, 0], presences.leaks.sum(axis=1)
    return Items(
        presences.cause[own], presences.still[own], _log(presences.there[own]) - np.log(absent)[presences.owner[own]],
        _log(lesser), _log(lesser + exactly), _log(low), _log(high),
        float(_log(idle).sum() + np.log(absent[presences.alive]).sum()) + max(presences.expected, _NEVER),
    )  # fmt: skip


def _log(values: Vector) -> Vector:
    """Natural logarithm with a finite floor, so that impossible items can be added up and drop out."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(np.log(values), _NEVER))

"""Items, the presences of live causes: what lists of sets are made of.

I items (presences of live causes)    F abnormal findings
"""

from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Flags, Indices, Presences

_NEVER = -1e4  # log of zero, kept finite so that sums stay defined


@dataclass(frozen=True)
class Items:
    """Presences of live causes in index order, as arrays by item.

    `odds`: natural logarithm of there against absent; `lesser`, `at_most` (I, F): chance that the item gives less than,
    no more than what was seen; of the leak (F,). `offset`: log weight of what does not depend on the set.
    """

    cause: Indices
    still: Flags
    odds: Vector
    lesser: Vector
    at_most: Vector
    leak_lesser: Vector
    leak_at_most: Vector
    offset: float

    def chance(self, rows: Indices) -> Vector:
        """(S,): chance of exactly the results seen in sets of item numbers, padded with -1."""
        lesser, at_most = (np.vstack((chances, np.ones(chances.shape[1]))) for chances in (self.lesser, self.at_most))
        most, less = (chances[rows].prod(axis=1) for chances in (at_most, lesser))
        return np.asarray((self.leak_at_most * most - self.leak_lesser * less).prod(axis=1))


def items_of(presences: Presences) -> Items:
    """The items of all live causes."""
    own = presences.alive[presences.owner]
    absent = np.maximum(presences.absent, 1e-12)  # a certain cause: its absence weighs next to nothing
    idle = (presences.absent + presences.mass(presences.there))[~presences.alive]
    lesser, exactly = presences.lesser[own], presences.exactly[own]
    return Items(
        presences.cause[own], presences.still[own], _log(presences.there[own]) - np.log(absent)[presences.owner[own]],
        lesser, lesser + exactly, presences.leaks[:, 0], presences.leaks.sum(axis=1),
        float(_log(idle).sum() + np.log(absent[presences.alive]).sum()) + max(presences.expected, _NEVER),
    )  # fmt: skip


def _log(values: Vector) -> Vector:
    """Natural logarithm with a finite floor, so that impossible items can be added up and drop out."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(np.log(values), _NEVER))

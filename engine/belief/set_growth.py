"""Items (presences of live causes), and growing sets of them by size, the likeliest first.

S sets, I items (presences of live causes), F abnormal findings
"""

import math
from dataclasses import dataclass
from functools import cached_property

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
        return self._exactly(*(chances[:, rows.T].prod(axis=1) for chances in self._with_none))

    def without_each(self, rows: Indices) -> Vector:
        """(S, size): chance of exactly the results seen without each item of the sets."""
        less, most = (chances[:, rows.T] for chances in self._with_none)  # finding, item of the set, set
        out = np.empty(rows.shape)
        for k in range(rows.shape[1]):
            kept = less[:, k].copy(), most[:, k].copy()
            less[:, k] = most[:, k] = 1.0
            out[:, k] = self._exactly(less.prod(axis=1), most.prod(axis=1))
            less[:, k], most[:, k] = kept
        return out

    @cached_property
    def _with_none(self) -> tuple[Vector, Vector]:
        """(F, I + 1) `lesser` and `at_most`, the last column for no item."""
        none = np.ones((self.leak_lesser.size, 1))
        return np.concatenate((self.lesser.T, none), axis=1), np.concatenate((self.at_most.T, none), axis=1)

    def _exactly(self, less: Vector, most: Vector) -> Vector:
        """(S,): from (F, S) chances that the items give less than, and no more than, what was seen."""
        at_most, lesser = self.leak_at_most[:, None] * most, self.leak_lesser[:, None] * less
        return np.asarray((at_most - lesser).prod(axis=0))


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


def _log(values: Vector, least: float = _NEVER) -> Vector:
    """Natural logarithm, `least` at the least; what rounding took below zero counts as zero.

    The finite floor lets impossible items be added up and drop out.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(np.log(np.maximum(values, 0.0)), least))


def grow(items: Items, log_mass: float, negligible: float, most: int) -> tuple[Indices, Vector]:
    """Sets that could hold more than `negligible`: (S, size) item numbers padded with -1, log weights.

    Sets grow by one item at a time: from {} to {a}, {b}, then {a, b}. Of each size only the `most` heaviest grow
    further. A set is dropped, with all sets that contain it, if its prior odds alone are negligible: adding a cause
    lowers the odds (odds above 1 are allowed for). The caller sees from the mass how much was left out.
    """
    order = np.argsort(-items.odds, kind="stable")  # the likeliest first; sets hold places in this order
    cause, own, count = items.cause[order], items.odds[order], items.odds.size
    least = log_mass + math.log(negligible) - float(np.maximum(items.odds, 0.0).sum())
    # By finding and set, and by finding and item: chance of less than, and of no more than, what was seen. The empty
    # set has the leaks alone.
    bounds = np.stack((items.leak_lesser, items.leak_at_most))[:, :, None]
    grows = np.stack((items.lesser[order].T, items.at_most[order].T))
    rows, odds = np.empty((1, 0), np.intp), np.zeros(1)
    kept, logs = [rows], [_log(np.prod(bounds[1] - bounds[0], axis=0), -np.inf)]
    once = np.unique(cause).size == count
    for _ in range(count):
        last = rows[:, -1] if rows.shape[1] else np.full(1, -1)
        old, new = _pairs(last + 1, np.searchsorted(-own, odds - least))  # likely enough: the first of the order
        if not once:  # a cause is there in one way
            apart = (cause[rows[old]] != cause[new][:, None]).all(axis=1)
            old, new = old[apart], new[apart]
        if not old.size:
            break
        chance = np.ones(old.size)  # of exactly the results seen, finding by finding, so that no large table is made
        for (low, high), (own_low, own_high) in zip(bounds.swapaxes(0, 1), grows.swapaxes(0, 1), strict=True):
            chance *= high[old] * own_high[new] - low[old] * own_low[new]
        weight = odds[old] + own[new] + _log(chance, -np.inf)
        if old.size > most:
            best = np.sort(np.argpartition(-weight, most)[:most])
            old, new, weight = old[best], new[best], weight[best]
        bounds = bounds[:, :, old] * grows[:, :, new]
        rows, odds = np.column_stack((rows[old], new)), odds[old] + own[new]
        kept.append(order[rows])
        logs.append(weight)
    width = max(row.shape[1] for row in kept)
    padded = [np.pad(row, ((0, 0), (0, width - row.shape[1])), constant_values=-1) for row in kept]
    return np.concatenate(padded), np.concatenate(logs)


def _pairs(first: Indices, end: Indices) -> tuple[Indices, Indices]:
    """Row and number of each number from `first` up to, but not, `end` of each row."""
    counts = np.maximum(end - first, 0)
    begins = np.cumsum(counts) - counts
    return np.repeat(np.arange(counts.size), counts), np.arange(counts.sum()) + np.repeat(first - begins, counts)

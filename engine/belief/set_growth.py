"""Growing sets of causes by size, the likeliest items first, by plain products instead of logarithms.

S sets, I items (presences of live causes), F abnormal findings
"""

import math
from dataclasses import dataclass

import numpy as np

from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Indices
from comeback.engine.belief.presence_items import Items


def grow(items: Items, log_mass: float, negligible: float, most: int) -> tuple[Indices, Vector]:
    """Sets that could hold more than `negligible`: (S, size) item numbers padded with -1, log weights.

    Grown by size, the `most` heaviest of a size further; a set whose odds alone are negligible is dropped
    with everything above it, which is safe as long as adding a cause does not raise the odds (odds above 1
    are allowed for). What that leaves out, the caller sees from the mass.
    """
    count = items.odds.size
    spare = float(np.maximum(items.odds, 0.0).sum())
    least = log_mass + math.log(negligible)
    best_first, chances = _BestFirst.of(items), Chances.of(items)
    rows, odds = np.empty((1, 0), np.intp), np.zeros(1)
    kept, logs = [rows], [odds + chances.log()]
    for _ in range(count):
        old, new = best_first.pairs(rows, odds, least - spare)
        if not old.size:
            break
        weight = odds[old] + items.odds[new] + chances.log_grown(old, new)
        if old.size > most:
            best = np.sort(np.argpartition(-weight, most)[:most])
            old, new, weight = old[best], new[best], weight[best]
        chances = chances.grown(old, new)
        rows, odds = np.column_stack((rows[old], new)), odds[old] + items.odds[new]
        kept.append(rows)
        logs.append(weight)
    width = max(row.shape[1] for row in kept)
    padded = [np.pad(row, ((0, 0), (0, width - row.shape[1])), constant_values=-1) for row in kept]
    return np.concatenate(padded), np.concatenate(logs)


@dataclass(frozen=True)
class _BestFirst:
    """Items by falling odds: those that can grow a set stand in one run of the order, so no other is looked at.

    `order`: item numbers; `place`: where each item stands in it; `falling`: minus the odds in that order;
    `single`: no cause has two items, so that a set cannot hold one twice.
    """

    cause: Indices
    order: Indices
    place: Indices
    falling: Vector
    single: bool

    @classmethod
    def of(cls, items: Items) -> "_BestFirst":
        """The order of these items; equal odds by number."""
        order = np.argsort(-items.odds, kind="stable")
        single = np.unique(items.cause).size == items.cause.size
        return cls(items.cause, order, np.argsort(order), -items.odds[order], single)

    def pairs(self, rows: Indices, odds: Vector, least: float) -> tuple[Indices, Indices]:
        """(set, item) pairs that grow a set by an item after its last one and keep its odds above `least`."""
        first = self.place[rows[:, -1]] + 1 if rows.shape[1] else np.zeros(len(rows), np.intp)
        end = np.searchsorted(self.falling, odds - least, side="left")
        count = np.maximum(end - first, 0)
        old = np.repeat(np.arange(len(rows)), count)
        ahead = np.arange(old.size) - np.repeat(np.cumsum(count) - count, count)
        new = self.order[first[old] + ahead]
        if self.single or not rows.shape[1]:
            return old, new
        apart = (self.cause[rows[old]] != self.cause[new][:, None]).all(axis=1)
        return old[apart], new[apart]


@dataclass(frozen=True)
class Chances:
    """Chances of the findings for many sets, to grow them by one item each: plain products, no logarithms.

    `lesser`, `at_most`: (F, S) chance of less than each result seen, and of no more; of items: (F, I).
    """

    lesser: Vector
    at_most: Vector
    item_lesser: Vector
    item_at_most: Vector

    @classmethod
    def of(cls, items: Items) -> "Chances":
        """Chances in the empty set, in which only the leaks cause a result."""
        leaks = (np.exp(leak)[:, None] for leak in (items.leak_lesser, items.leak_at_most))
        own = (np.ascontiguousarray(np.exp(of_item).T) for of_item in (items.lesser, items.at_most))
        return cls(*leaks, *own)

    def grown(self, old: Indices, new: Indices) -> "Chances":
        """Chances in the sets `old`, each grown by the item `new`."""
        lesser = self.lesser[:, old] * self.item_lesser[:, new]
        return Chances(lesser, self.at_most[:, old] * self.item_at_most[:, new], self.item_lesser, self.item_at_most)

    def log(self) -> Vector:
        """(S,): log chance of exactly the results seen."""
        return _log_of(np.prod(self.at_most - self.lesser, axis=0))

    def log_grown(self, old: Indices, new: Indices) -> Vector:
        """(S,): log chance of exactly the results seen in the sets `old`, each grown by the item `new`.

        Worked out finding by finding, so that no large table is made.
        """
        chance = np.ones(old.size)
        for low, high, own_low, own_high in zip(
            self.lesser, self.at_most, self.item_lesser, self.item_at_most, strict=True
        ):
            chance *= high[old] * own_high[new] - low[old] * own_low[new]
        return _log_of(chance)


def _log_of(chance: Vector) -> Vector:
    """Natural logarithm; a chance that rounding took below zero counts as zero."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.maximum(chance, 0.0)))

"""Expected cost of repair: which repair first, which next, and when to hand the car over.

Repairs go in order of probability over cost (Kadane & Simon 1977; Heckerman, Breese & Rommelse
1995; both cited from memory). A repair is followed by its proof; if the complaint persists the
next one follows; handing over ends every sequence. Convention for every figure from here: the last
candidate is repaired and proven too, so repair and proof are always paid (confirm-all).

    E evidence rows   H sets of causes   A repairs   L live causes
"""

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from comeback.engine.network import Vector

Flags = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Action:
    """A repair as planning sees it: total `minutes` with proof, parts and set-up; `cures`, shape (L,),
    the chance that each live cause is gone afterwards."""

    id: str
    minutes: float
    cures: Vector


@dataclass(frozen=True)
class RepairPlan:
    """Best sequence of repairs for one belief: ids in order, then hand over."""

    order: tuple[str, ...]
    expected_minutes: float


class RepairCosts:
    """Expected cost of repair for many beliefs over the same sets at once.

    A set is fixed at the last of the first repairs meant for its causes; `never` stands for causes that
    no repair is meant for, and for the set with nothing modelled in it.
    """

    def __init__(self, now: Flags, actions: Sequence[Action], hand_over: float) -> None:
        """`now`: shape (S, L), causes present in each set. `hand_over`: minutes."""
        self.actions = tuple(actions)
        self.hand_over = hand_over
        self.minutes = np.array([action.minutes for action in actions])
        cures = np.array([action.cures for action in actions]).reshape(len(actions), now.shape[1])
        self.credit = _credit(now, cures)  # (A, S)
        self.meant = _padded([np.flatnonzero(column >= 0.5) for column in cures.T], len(actions))  # (L, ...)
        best = cures.max(axis=0, initial=0.0)
        fails = 1 - np.prod(np.where(now, best, 1.0), axis=1)  # all tried and still there
        self.late = fails * hand_over
        self.members = _members(now)

    def evaluate(self, weights: Vector) -> "Costed":
        """The best sequence for each row of weights, shape (E, S), rows summing to 1."""
        rows, count = weights.shape[0], len(self.actions)
        if not count:
            return Costed(np.full(rows, self.hand_over), np.zeros((rows, 0), np.intp), np.zeros(rows, np.intp))
        order = np.argsort(-(weights @ self.credit.T) / self.minutes, axis=1, kind="stable")
        spent = np.cumsum(self.minutes[order], axis=1)
        rank = np.argsort(order, axis=1)
        minutes, cut = self._best_cut(weights, self._fixed_at(rank), spent)
        return Costed(minutes, order, cut)

    def plan(self, weights: Vector) -> RepairPlan:
        """The best sequence for one belief, shape (S,)."""
        costed = self.evaluate(weights[None])
        order = tuple(self.actions[a].id for a in costed.order[0, : costed.cut[0]])
        return RepairPlan(order, float(costed.minutes[0]))

    def narrowed(self, sets: Indices) -> "RepairCosts":
        """The same for some of the sets only."""
        out = copy(self)
        out.credit, out.members, out.late = self.credit[:, sets], self.members[sets], self.late[sets]
        return out

    def bound(self, weights: Vector) -> float:
        """Expected minutes if the causes were known for free: less is impossible."""
        if not self.actions:
            return self.hand_over
        cheapest = np.append(self.minutes, np.inf)[self.meant].min(axis=1, initial=np.inf)
        per_set = np.append(cheapest, (np.inf, 0.0))[self.members].max(axis=1)
        return float(weights @ np.minimum(per_set + self.late, self.hand_over))

    def _fixed_at(self, rank: Indices) -> Indices:
        """(E, S): place in the sequence of the repair that fixes the set; the number of repairs if none does."""
        rows, count = rank.shape
        places = np.concatenate((rank, np.full((rows, 1), count, np.intp)), axis=1)
        per_cause = places[:, self.meant].min(axis=2, initial=count)
        ends = np.broadcast_to(np.array([count, -1], np.intp), (rows, 2))  # nothing modelled; padding
        latest = np.concatenate((per_cause, ends), axis=1)
        out = latest[:, self.members[:, 0]]
        for column in self.members.T[1:]:
            np.maximum(out, latest[:, column], out=out)
        return out

    def _best_cut(self, weights: Vector, fixed_at: Indices, spent: Vector) -> tuple[Vector, Indices]:
        """Minutes and number of repairs before handing over, the best of all lengths."""
        rows, count = spent.shape
        flat = (np.arange(rows)[:, None] * (count + 1) + fixed_at).ravel()
        size = rows * (count + 1)
        done = np.bincount(flat, weights=weights.ravel(), minlength=size).reshape(rows, -1)[:, :count]
        late = np.bincount(flat, weights=(weights * self.late).ravel(), minlength=size).reshape(rows, -1)[:, :count]
        fixed, paid = np.cumsum(done, axis=1), np.cumsum(done * spent + late, axis=1)
        total = weights.sum(axis=1)
        after = paid + np.maximum(total[:, None] - fixed, 0.0) * (spent + self.hand_over)
        costs = np.concatenate(((total * self.hand_over)[:, None], after), axis=1)
        cut = np.argmin(np.round(costs, 9), axis=1)
        return costs[np.arange(rows), cut], cut


def _padded(lists: Sequence[Sequence[int] | Indices], fill: int) -> Indices:
    """Index lists as a table, filled up with `fill`."""
    out = np.full((len(lists), max([1, *(len(one) for one in lists)])), fill, np.intp)
    for row, one in enumerate(lists):
        out[row, : len(one)] = one
    return out


def _members(now: Flags) -> Indices:
    """(S, ...) numbers of the causes of each set; L for a set of none, filled up with L + 1."""
    sets, causes = np.nonzero(now)
    size = now.sum(axis=1)
    out = np.full((now.shape[0], max(1, int(size.max(initial=0)))), now.shape[1] + 1, np.intp)
    out[size == 0, 0] = now.shape[1]
    out[sets, np.arange(sets.size) - np.repeat(np.cumsum(size) - size, size)] = causes
    return out


@dataclass(frozen=True)
class Costed:
    """For E beliefs: expected `minutes` (E,), `order` of repairs (E, A), how many to do first, `cut` (E,)."""

    minutes: Vector
    order: Indices
    cut: Indices


def _credit(now: Flags, cures: Vector) -> Vector:
    """(A, H): share of each set's causes that a repair removes; half credit if it leaves some."""
    there = now.astype(np.float64)
    size = np.maximum(there.sum(axis=1), 1.0)
    part = (cures @ there.T) / size
    whole = (cures >= 0.5) @ there.T == there.sum(axis=1)
    return np.asarray(np.where(whole, part, part / 2))

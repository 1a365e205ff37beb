"""Expected cost of repair: which repair first, which next, and when to hand the car over.

Repairs go in order of probability over cost (Kadane & Simon 1977; Heckerman, Breese & Rommelse
1995; both cited from memory). A repair is followed by its proof; if the complaint persists the
next one follows; handing over ends every sequence. Convention for every figure from here: the last
candidate is repaired and proven too, so repair and proof are always paid (confirm-all).

    E evidence rows   H sets of causes   A repairs   L live causes
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from comeback.engine.network import Vector

LONGEST = 30
"""Repairs looked at in one sequence."""


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
    """Expected cost of repair for many beliefs over the same sets at once."""

    def __init__(self, now: npt.NDArray[np.bool_], actions: Sequence[Action], hand_over: float) -> None:
        """`now`: shape (H, L), causes present in each set. `hand_over`: minutes."""
        self.actions = tuple(actions)
        self.hand_over = hand_over
        self.minutes = np.array([action.minutes for action in actions])
        live = now.shape[1]
        cures = np.array([action.cures for action in actions]).reshape(len(actions), live)
        self.credit = _credit(now, cures)  # (A, H)
        self.able = cures >= 0.5  # (A, L): this repair is meant for that cause
        best = cures.max(axis=0, initial=0.0)
        self.fails = 1 - np.prod(np.where(now, best, 1.0), axis=1)  # (H,) all tried and still there
        size = max(1, int(now.sum(axis=1).max(initial=0)))
        self.members = np.full((now.shape[0], size), live + 1)  # padded with a column that costs nothing
        for h, row in enumerate(now):
            present = np.flatnonzero(row)
            self.members[h, : present.size] = present
            if not present.size:
                self.members[h, 0] = live  # nothing modelled: no repair ends it

    def evaluate(self, weights: Vector) -> "Costed":
        """The best sequence for each row of weights, shape (E, H), rows summing to 1."""
        rows = weights.shape[0]
        if not self.actions:
            return Costed(np.full(rows, self.hand_over), np.zeros((rows, 0), np.intp), np.zeros(rows, np.intp))
        order = np.argsort(-(weights @ self.credit.T) / self.minutes, axis=1, kind="stable")
        spent = np.cumsum(self.minutes[order], axis=1)
        reached = np.empty_like(spent)
        np.put_along_axis(reached, order, spent, axis=1)
        minutes, cut = self._best_cut(weights, self._minutes_until_fixed(reached), spent)
        return Costed(minutes, order, cut)

    def plan(self, weights: Vector) -> RepairPlan:
        """The best sequence for one belief, shape (H,)."""
        costed = self.evaluate(weights[None])
        order = tuple(self.actions[a].id for a in costed.order[0, : costed.cut[0]])
        return RepairPlan(order, float(costed.minutes[0]))

    def _minutes_until_fixed(self, reached: Vector) -> Vector:
        """(E, H): minutes spent when the last cause of the set has had its repair."""
        per_cause = np.where(self.able[None], reached[:, :, None], np.inf).min(axis=1)
        ends = np.broadcast_to([np.inf, 0.0], (reached.shape[0], 2))
        return np.asarray(np.concatenate((per_cause, ends), axis=1)[:, self.members].max(axis=2))

    def _best_cut(self, weights: Vector, need: Vector, spent: Vector) -> tuple[Vector, npt.NDArray[np.intp]]:
        """Minutes and number of repairs before handing over, the best of all lengths."""
        best = np.full(weights.shape[0], self.hand_over) * weights.sum(axis=1)
        cut = np.zeros(weights.shape[0], np.intp)
        late = self.fails * self.hand_over
        for k in range(min(spent.shape[1], LONGEST)):
            bound = spent[:, k : k + 1]
            cost = np.where(need <= bound + 1e-9, need + late, bound + self.hand_over)
            total = np.einsum("eh,eh->e", weights, cost)
            better = total < best - 1e-9
            best[better], cut[better] = total[better], k + 1
        return best, cut


@dataclass(frozen=True)
class Costed:
    """For E beliefs: expected `minutes` (E,), `order` of repairs (E, A), how many to do first, `cut` (E,)."""

    minutes: Vector
    order: npt.NDArray[np.intp]
    cut: npt.NDArray[np.intp]


def _credit(now: npt.NDArray[np.bool_], cures: Vector) -> Vector:
    """(A, H): share of each set's causes that a repair removes; half credit if it leaves some."""
    size = np.maximum(now.sum(axis=1), 1)
    part = (cures @ now.T) / size
    whole = np.array([(cure[None] >= 0.5) >= now for cure in cures]).all(axis=2) if len(cures) else part
    return np.asarray(np.where(whole, part, part / 2))

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

from comeback.engine.belief.cause_sets import members_of
from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Flags, Indices
from comeback.kb.schema import MEANT


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
    """Expected cost of repair in minutes for many beliefs over one list of sets.

    A set is fixed at the last of the first repairs meant for its causes; `never` stands for causes that
    no repair is meant for, and for the set with nothing modelled in it.

    Worked by hand: a worn spark plug (chance 0.6, 20 min with proof) or a loose connector (0.4, 5 min), handing over
    60 min. Chance per minute: 0.6 / 20 = 0.03 and 0.4 / 5 = 0.08, so the connector first: 5 + 0.6 * 20 = 17 min
    (the other way round 20 + 0.4 * 5 = 22).

    >>> repairs = [Action("plug", 20.0, np.array([1.0, 0.0])), Action("connector", 5.0, np.array([0.0, 1.0]))]
    >>> RepairCosts(np.eye(2, dtype=bool), repairs, hand_over=60.0).plan(np.array([0.6, 0.4]))
    RepairPlan(order=('connector', 'plug'), expected_minutes=17.0)
    """

    def __init__(self, now: Flags, actions: Sequence[Action], hand_over: float, each: float = 0.0) -> None:
        """`now`: shape (S, L), causes present in each set. `hand_over`: minutes; `each`: those of any repair beside
        its work."""
        self.actions = tuple(actions)
        self.hand_over = hand_over
        self.minutes = np.array([action.minutes + each for action in actions])
        cures = np.array([action.cures for action in actions]).reshape(len(actions), now.shape[1])
        listed = np.flatnonzero(now.any(axis=0))
        now, cures = now[:, listed], cures[:, listed]  # causes in no set play no part
        self.rates = credit(now, cures) / self.minutes[:, None]  # (A, S)
        self.meant = members_of(cures.T >= MEANT, len(actions), least=1)  # (L, ...)
        best = cures.max(axis=0, initial=0.0)
        fails = 1 - np.prod(np.where(now, best, 1.0), axis=1)  # all tried and still there
        self.late = fails * hand_over
        self.members = members_of(now, now.shape[1] + 1, least=1)  # L: nothing modelled, L + 1: padding
        self.members[~now.any(axis=1), 0] = now.shape[1]

    def evaluate(self, weights: Vector) -> "Costed":
        """The best sequence for each row of weights, shape (E, S), rows summing to 1."""
        order, costs = self._costs(weights)
        cut = np.argmin(np.round(costs, 9), axis=0)
        return Costed(costs[cut, np.arange(len(weights))], order, cut)

    def least(self, weights: Vector) -> Vector:
        """Minutes of the best sequence alone, shape (E,)."""
        return np.asarray(self._costs(weights)[1].min(axis=0))

    def plan(self, weights: Vector) -> RepairPlan:
        """The best sequence for one belief, shape (S,)."""
        costed = self.evaluate(weights[None])
        order = tuple(self.actions[a].id for a in costed.order[0, : costed.cut[0]])
        return RepairPlan(order, float(costed.minutes[0]))

    def restricted(self, sets: Indices) -> "RepairCosts":
        """Repair costs over some of the sets only, without the repairs and causes that play no part in them."""
        out, rates, members = copy(self), self.rates[:, sets], self.members[sets]
        useful = np.flatnonzero(rates.any(axis=1))
        count, causes = len(self.actions), len(self.meant)
        listed = np.unique(members[members < causes])
        action, cause = np.full(count + 1, useful.size), np.zeros(causes + 2, np.intp)
        action[useful], cause[listed] = np.arange(useful.size), np.arange(listed.size)
        cause[causes:] = listed.size, listed.size + 1
        out.actions = tuple(self.actions[a] for a in useful)
        out.minutes, out.rates = self.minutes[useful], rates[useful]
        out.meant, out.members, out.late = action[self.meant[listed]], cause[members], self.late[sets]
        return out

    def bound(self, weights: Vector) -> float:
        """Expected minutes if the causes were known for free: less is impossible."""
        if not self.actions:
            return self.hand_over
        cheapest = np.append(self.minutes, np.inf)[self.meant].min(axis=1, initial=np.inf)
        per_set = np.append(cheapest, (np.inf, 0.0))[self.members].max(axis=1)
        return float(weights @ np.minimum(per_set + self.late, self.hand_over))

    def _costs(self, weights: Vector) -> tuple[Indices, Vector]:
        """Order of the repairs, shape (E, A), and minutes when the first 0, 1, ... A of them are done, (A + 1, E)."""
        rows, count = weights.shape[0], len(self.actions)
        beliefs = weights.T.copy()
        order = np.argsort(-(weights @ self.rates.T), axis=1, kind="stable")
        spent = np.cumsum(self.minutes[order], axis=1).T
        place = np.full((count + 1, rows), count, np.intp)  # the last row: never
        place[order, np.arange(rows)[:, None]] = np.arange(count)
        flat, total = self._fixed_at(place).ravel(), beliefs.sum(axis=0)
        done = np.bincount(flat, beliefs.ravel(), (count + 1) * rows).reshape(-1, rows)[:count]
        beliefs *= self.late[:, None]
        late = np.bincount(flat, beliefs.ravel(), (count + 1) * rows).reshape(-1, rows)[:count]
        costs = np.empty((count + 1, rows))
        costs[0] = total * self.hand_over
        left = np.maximum(total - np.cumsum(done, axis=0), 0.0)
        costs[1:] = np.cumsum(done * spent + late, axis=0) + left * (spent + self.hand_over)
        return order, costs

    def _fixed_at(self, place: Indices) -> Indices:
        """(S, E): place in the sequence of the repair that fixes the set, the number of repairs if none does, as
        positions in a table of shape (repairs + 1, E)."""
        causes, count, rows = len(self.meant), len(self.actions), place.shape[1]
        latest = np.empty((causes + 2, place.shape[1]), np.intp)
        latest[:causes] = place[self.meant[:, 0]]
        for column in self.meant.T[1:]:
            np.minimum(latest[:causes], place[column], out=latest[:causes])
        latest[causes], latest[causes + 1] = count, -1  # nothing modelled; padding
        latest *= rows
        latest += np.arange(rows)
        out = latest[self.members[:, 0]]
        for column in self.members.T[1:]:
            np.maximum(out, latest[column], out=out)
        return out


@dataclass(frozen=True)
class Costed:
    """For E beliefs: expected `minutes` (E,), `order` of repairs (E, A), how many to do first, `cut` (E,)."""

    minutes: Vector
    order: Indices
    cut: Indices


def credit(now: Flags, cures: Vector) -> Vector:
    """(A, H): share of each set's causes that a repair removes; half credit if it leaves some."""
    members, size = members_of(now, now.shape[1], least=1).T, np.maximum(now.sum(axis=1), 1)
    removes = np.pad(cures, ((0, 0), (0, 1)))  # the last column: no cause
    means = removes >= MEANT
    share = sum(removes[:, one] for one in members) / size
    whole = sum(means[:, one].astype(np.intp) for one in members) == size
    return np.asarray(np.where(whole, share, share / 2))

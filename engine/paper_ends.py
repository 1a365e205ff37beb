"""What paper says where a chart stops though the program would go on: which repairs to try, in which order.

A chart cannot hold every branch. Where it stops, the causes that are still likely have repairs, and
naming those settles most of the cars that come there. The order is the chooser's own, chance of the
cause over minutes (`repair_sequence`); which ones are named is chosen to cover most cars.

    S sets of causes    A repairs    L live causes
"""

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from comeback.engine.errors import ImpossibleFindings, TooManyFindings
from comeback.engine.hypotheses import Hypotheses
from comeback.engine.items import Flags
from comeback.engine.network import Vector
from comeback.engine.planning import repair_action
from comeback.engine.repair_sequence import Action, RepairCosts
from comeback.engine.walk import Walk
from comeback.kb.vocabulary import Level

NAMED = 10
"""Most repairs that an end names."""
WORTH_NAMING = 0.01
"""Share of the cars at this end that a further repair must settle."""
PARTLY = 0.02
"""What a repair counts, relatively, for a set of several causes of which it removes only some."""
MEANT = 0.5
"""A repair is meant for a cause that it removes at least this often (as in `repair_sequence`)."""


@dataclass(frozen=True)
class TryInOrder:
    """An end of paper: do these repairs one after the other, each with its proof, then hand over.

    `danger`: a danger sign led here, so first stop and keep people away.
    """

    repairs: tuple[str, ...]
    danger: bool = False


@dataclass(frozen=True)
class Settled:
    """Shares of the cars at a place: `repaired`, and `handed`: rightly handed over, no known repair cures them."""

    repaired: float
    handed: float

    @property
    def share(self) -> float:
        """Both together."""
        return min(1.0, self.repaired + self.handed)


NOTHING = Settled(0.0, 0.0)


@dataclass(frozen=True)
class Outcomes:
    """What could be done at one place of a walk, and for which cars it would be right.

    `meant`: shape (A, L), which causes each repair is meant for; `minutes` lost on average by handing
    out a list instead of asking on, at most.
    """

    sets: Hypotheses
    actions: tuple[Action, ...]
    meant: Flags
    specialist: frozenset[str]
    costs: RepairCosts

    @cached_property
    def _left(self) -> Vector:
        """(S, L): causes of each set, as numbers."""
        return self.sets.now.astype(np.float32)

    @cached_property
    def _repairable(self) -> Flags:
        """(S,): sets with at least one cause, each of which some repair is meant for."""
        return np.asarray(self.sets.now.any(axis=1) & self._covered(np.ones(len(self.actions), bool)))

    def _covered(self, chosen: Flags) -> Flags:
        """(S,): sets of which every cause has one of the chosen repairs (A,) meant for it."""
        return np.asarray(~(self.sets.now & ~self.meant[chosen].any(axis=0)).any(axis=1))

    def settled(self, repairs: Collection[str]) -> Settled:
        """For whom naming these repairs is right: every cause that the findings need has one among them."""
        chosen = np.array([action.id in repairs for action in self.actions], bool)
        weights = self.sets.weights
        repaired = float(weights[self._covered(chosen) & self._repairable].sum())
        return Settled(repaired, float(weights[~self._repairable].sum()))

    def named(self, most: int = NAMED, among: Collection[str] | None = None) -> dict[str, float]:
        """At most `most` repairs that settle the most cars, in the chooser's order, a specialist's last.

        With the share of the cars here that each adds. `among`: only these may be named.
        """
        chosen: dict[int, float] = {}
        weights, left, meant = self.sets.weights, self._left, self.meant.T.astype(np.float32)
        barred = np.array([among is not None and action.id not in among for action in self.actions], bool)
        size = np.maximum(left.sum(axis=1), 1)
        for _ in range(min(most, len(self.actions))):
            removed = left @ meant  # (S, A)
            whole = (removed >= left.sum(axis=1)[:, None]) & (left.sum(axis=1) > 0)[:, None]
            gains = (weights * self._repairable) @ (whole + PARTLY * removed / size[:, None])
            gains[[*chosen]] = 0.0
            gains[barred] = 0.0
            best = int(np.argmax(gains))
            if gains[best] < WORTH_NAMING:
                break
            chosen[best] = float(gains[best])
            left = left * ~self.meant[best]
        order = self.costs.evaluate(weights[None]).order[0].tolist() if self.actions else []
        ordered = sorted((k for k in order if k in chosen), key=lambda k: self.actions[k].id in self.specialist)
        return {self.actions[k].id: chosen[k] for k in ordered}

    def given(self, likelihood: Vector) -> "Outcomes":
        """The same after something seen with this chance for each set (S,)."""
        weights = self.sets.weights * likelihood
        return replace(self, sets=replace(self.sets, weights=weights / max(float(weights.sum()), 1e-300)))

    def regret(self) -> float:
        """Minutes that knowing the causes would save at most, against repairing in order."""
        weights = self.sets.weights
        return max(0.0, float(self.costs.evaluate(weights[None]).minutes[0]) - self.costs.bound(weights))


def outcomes(walk: Walk) -> Outcomes | None:
    """What could be done at this place of the walk; None if the findings exclude each other."""
    situation, knowledge = walk.situation, walk.knowledge
    try:
        sets = situation.sets
    except (ImpossibleFindings, TooManyFindings):
        return None
    repairs = [knowledge.repairs[name] for name in situation.repairs()]
    standing = situation.standing_set_ups()
    every = (repair_action(knowledge, sets, repair, standing) for repair in repairs)
    actions = tuple(action for action in every if (action.cures >= MEANT).any())
    meant = np.array([action.cures >= MEANT for action in actions]).reshape(len(actions), sets.now.shape[1])
    specialist = frozenset(repair.id for repair in repairs if repair.level is Level.SPECIALIST)
    costs = RepairCosts(sets.now, actions, knowledge.settings.hand_over_minutes)
    return Outcomes(sets, actions, meant, specialist, costs)

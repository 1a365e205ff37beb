"""What paper says where a chart stops though the program would go on: which repairs to try, in which order.

A chart cannot hold every branch. Where it stops, the causes that are still likely have repairs, and
naming those settles most of the cars that come there. The order is the chooser's own, chance of the
cause over minutes (`repair_sequence`); which ones are named is chosen to cover most cars.

Each repair has a card that tells what to look for first. Paper is followed in rounds: look at each in
the order given and repair what is seen; then look at the other cards of the chart alike; then repair in
the order given without a sign; then hand over.

    S sets of causes    A repairs    L live causes
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from comeback.engine.belief.cause_sets import CauseSets
from comeback.engine.belief.network import Vector
from comeback.engine.belief.presence import Flags
from comeback.engine.choosing.repair_sequence import Action, RepairCosts
from comeback.kb.vocabulary import EngineOff

NAMED, NAMED_OF_MANY = 9, 4
"""Most repairs that an end names, and one of the many ends after a danger screen."""
WORTH_NAMING = 0.01
"""Share of the cars at this end that a further repair must settle."""
PARTLY = 0.02
"""What a repair counts, relatively, for a set of several causes of which it removes only some."""
LISTED = 0.985
"""Share of the belief that is looked into to choose and price repairs; what they settle is counted over all of it."""


@dataclass(frozen=True)
class TryInOrder:
    """An end of paper: these repairs first, in the rounds told above; then hand over.

    `danger`: a danger sign led here, so first stop and keep people away. `engine_off`: a sign keeps the engine
    off. Then neither the look nor the work of `repairs` runs it; `then`, those that do, as short as may be;
    no other card is looked at.
    """

    repairs: tuple[str, ...]
    danger: bool = False
    then: tuple[str, ...] = ()
    engine_off: EngineOff | None = None

    @property
    def every(self) -> tuple[str, ...]:
        """All repairs that it names, in order."""
        return self.repairs + self.then

    def others(self, cards: Collection[str]) -> Collection[str]:
        """Cards of the chart that are looked at after the ones that this end names."""
        return () if self.engine_off or self.danger else cards


@dataclass(frozen=True)
class Settled:
    """Shares of the cars at a place: `repaired`, and `handed`: rightly handed over, no known repair cures them.

    `clean`: those of both that get no repair in vain on the way.
    """

    repaired: float
    handed: float
    clean: float = 0.0

    @property
    def share(self) -> float:
        """Both together."""
        return min(1.0, self.repaired + self.handed)


NOTHING = Settled(0.0, 0.0)


@dataclass(frozen=True)
class Outcomes:
    """What could be done at one place of a walk, and for which cars it would be right.

    `meant`: shape (A, L), which causes each repair is meant for. `seen`: shape (S, A), chance that the
    look of its card shows the sign; `looking`: shape (A,), minutes of the look; `running`: shape (A,),
    whether its look or its work runs the engine; `grave`: shape (L,), causes with which no car is driven.
    """

    sets: CauseSets
    actions: tuple[Action, ...]
    meant: Flags
    specialist: frozenset[str]
    costs: RepairCosts
    seen: Vector
    looking: Vector
    running: Flags
    grave: Flags

    @cached_property
    def _repairable(self) -> Flags:
        """(S,): sets with at least one cause, each of which some repair is meant for."""
        return np.asarray(self.sets.now.any(axis=1) & self._covered(np.ones(len(self.actions), bool)))

    def _covered(self, chosen: Flags) -> Flags:
        """(S,): sets of which every cause has one of the chosen repairs (A,) meant for it."""
        return np.asarray(~(self.sets.now & ~self.meant[chosen].any(axis=0)).any(axis=1))

    def _chosen(self, repairs: Collection[str]) -> Flags:
        return np.array([action.id in repairs for action in self.actions], bool)

    def settled(self, repairs: Sequence[str], others: Collection[str] = ()) -> Settled:
        """For whom this end is right: every cause that the findings need has a repair among those named.

        Or the look of one of the `others` shows it: they count by the chance of that. A repair in vain on the
        way costs time and trust, but its proof says so, and paper goes on.
        """
        asked = (tuple(repairs), frozenset(others))
        if asked not in self._known:
            self._known[asked] = self._settled(*asked)
        return self._known[asked]

    @cached_property
    def _known(self) -> dict[tuple[tuple[str, ...], frozenset[str]], Settled]:
        """What was worked out before: ends are compared many times until a chart fits its pages."""
        return {}

    def _settled(self, repairs: Sequence[str], others: Collection[str]) -> Settled:
        weights, listed = self.sets.weights, self._numbers(repairs)
        chosen = self._at(listed)
        named = (self._fixed_at(listed, len(weights)) < len(listed)) & self._repairable
        found = np.where(named, 1.0, self._found_later(chosen, self._chosen(others)) * self._repairable)
        clean = float(weights @ self._clean(listed, others))
        return Settled(float(weights @ found), float(weights @ ~self._repairable), clean)

    def by_rows(
        self, rows: Mapping[str, Sequence[str]], shown: Mapping[str, Vector], others: Collection[str] = ()
    ) -> Settled:
        """Shares of the cars with several answers at once, when the repairs of each answer's row are tried.

        `rows`: repairs by answer, as check:result; `shown`: chance of each answer for each set (S,). Answers of
        different checks are taken as independent of each other.
        """
        tried = self._tried(rows, shown)
        found = np.ones(len(tried))
        for k in np.flatnonzero(self.sets.now.any(axis=0)):
            best = tried[:, self.meant[:, k]].max(axis=1, initial=0.0)
            found *= np.where(self.sets.now[:, k], best, 1.0)
        found = np.maximum(found, self._found_later(self._at(()), self._chosen(others))) * self._repairable
        weights = self.sets.weights
        clean = float(weights @ np.minimum(self._clean([], others), np.where(self._repairable, found, 1.0)))
        return Settled(float(weights @ found), float(weights @ ~self._repairable), clean)

    def _tried(self, rows: Mapping[str, Sequence[str]], shown: Mapping[str, Vector]) -> Vector:
        """(S, A): chance that a row is shown that names the repair."""
        by_check: dict[str, Vector] = {}
        for answer, repairs in rows.items():
            here = by_check.setdefault(answer.partition(":")[0], np.zeros_like(self.seen))
            here[:, self._numbers(repairs)] += shown[answer][:, None]
        none = np.ones_like(self.seen)
        for chance in by_check.values():
            none *= 1 - np.minimum(chance, 1.0)
        return 1 - none

    def _clean(self, listed: Sequence[int], others: Collection[str]) -> Vector:
        """(S,): chance that paper brings a set to its repairs, or to handing over if none helps, and none is in vain.

        The looks are taken as independent given the set; a blind repair in the third round is not counted as wrong.
        """
        if not self.actions:
            return np.ones(len(self.sets.weights))
        chosen = self._at(listed)
        after = self._chosen(others) & ~chosen
        clean = 1 - self.seen * ~self._useful  # (S, A)
        fixed, rows = self._fixed_at(listed, len(clean)), np.arange(len(clean))
        until = np.concatenate((np.ones((len(clean), 1)), np.cumprod(clean[:, listed], axis=1)), axis=1)
        whole, rest = until[:, -1], clean[:, after].prod(axis=1)
        found = fixed < len(listed)
        last = np.asarray([*listed, 0], np.intp)[fixed]
        sign = self.seen[rows, last] * found
        named = sign * until[rows, fixed] + (1 - sign) * whole * rest
        later = self._found_later(chosen, after) * whole * np.sqrt(rest)
        return np.asarray(np.where(self._repairable, np.where(found, named, later), whole * rest))

    @cached_property
    def _useful(self) -> Flags:
        """(S, A): the repair removes a cause of the set."""
        return np.asarray(self.sets.now.astype(np.float32) @ self.meant.T.astype(np.float32) > 0)

    def _numbers(self, repairs: Sequence[str]) -> list[int]:
        place = {action.id: k for k, action in enumerate(self.actions)}
        return [place[name] for name in repairs if name in place]

    def share(self, repairs: Sequence[str], causes: Flags) -> list[float]:
        """For each of the repairs the share of the cars here with one of the causes (L,) that it is meant for."""
        hit = self.sets.now & causes
        return [float(self.sets.weights @ (hit & self.meant[k]).any(axis=1)) for k in self._numbers(repairs)]

    def _found_later(self, listed: Flags, others: Flags) -> Vector:
        """(S,): chance that after the listed repairs one of the others that cures the rest is shown by its look."""
        others = others & ~listed
        if not others.any():
            return np.zeros(len(self.sets.weights))
        rest = (self.sets.now & ~self.meant[listed].any(axis=0)).astype(np.float32)
        whole = rest @ self.meant[others].T.astype(np.float32) >= rest.sum(axis=1)[:, None]
        return np.asarray((whole * self.seen[:, others]).max(axis=1))

    def later(self, repairs: Collection[str]) -> dict[str, float]:
        """What a card of each other repair adds: share of the cars here that it cures, found by its look."""
        listed = self._chosen(repairs)
        rest = (self.sets.now & ~self.meant[listed].any(axis=0)).astype(np.float32)[: self._few]
        size = rest.sum(axis=1)[:, None]
        whole = (rest @ self.meant.T.astype(np.float32) >= size) & (size > 0)
        gains = (self.sets.weights * self._repairable)[: self._few] @ (whole * self.seen[: self._few])
        return {action.id: float(gain) for action, gain in zip(self.actions, gains, strict=True) if gain > 0}

    @cached_property
    def _few(self) -> int:
        """How many of the sets, most probable first, hold LISTED of the belief."""
        return int(np.searchsorted(np.cumsum(self.sets.weights), LISTED * self.sets.weights.sum())) + 1

    def named(
        self, most: int = NAMED, among: Collection[str] | None = None, given: Collection[str] = ()
    ) -> dict[str, float]:
        """At most `most` repairs that settle the most cars, in the chooser's order, a specialist's last.

        With the share of the cars here that each adds. `among`: only these may be named; `given`: named already.
        """
        chosen: dict[int, float] = {}
        weights = (self.sets.weights * self._repairable)[: self._few]
        left = (self.sets.now[: self._few] & ~self.meant[self._chosen(given)].any(axis=0)).astype(np.float32)
        meant = self.meant.T.astype(np.float32)
        barred = np.array([among is not None and action.id not in among for action in self.actions], bool)
        size = np.maximum(left.sum(axis=1), 1)[:, None]
        for _ in range(min(most, len(self.actions))):
            removed, rest = left @ meant, left.sum(axis=1)[:, None]  # (S, A), (S, 1)
            gains = weights @ (((removed >= rest) & (rest > 0)) + PARTLY * removed / size)
            gains[[*chosen]] = 0.0
            gains[barred] = 0.0
            best = int(np.argmax(gains))
            if gains[best] < WORTH_NAMING:
                break
            chosen[best] = float(gains[best])
            left = left * ~self.meant[best]
        return {self.actions[k].id: chosen[k] for k in self._ordered(chosen)}

    def _ordered(self, chosen: Collection[int]) -> list[int]:
        if not self.actions:
            return []
        order = self.costs.evaluate(self.sets.weights[None, : self._costed]).order[0].tolist()
        return sorted((k for k in order if k in chosen), key=lambda k: self.actions[k].id in self.specialist)

    @property
    def _costed(self) -> int:
        return int(self.costs.members.shape[0])

    def given(self, likelihood: Vector) -> "Outcomes":
        """The outcomes after a result was seen that has this chance in each set, shape (S,)."""
        weights = self.sets.weights * likelihood
        return replace(self, sets=replace(self.sets, weights=weights / max(float(weights.sum()), 1e-300)))

    def minutes(self, repairs: Sequence[str], others: Collection[str] = ()) -> float:
        """Expected minutes from here on if paper is followed: looks, repairs with their proofs, handing over.

        By the planner's prices, confirm-all; a set of several causes counts as found at its last repair.
        """
        if not self.actions:
            return self.costs.hand_over
        listed = self._numbers(repairs)
        rest = [k for k, action in enumerate(self.actions) if action.id in others and k not in listed]
        few, all_ = self._few, len(listed)
        weights, seen = self.sets.weights[:few], self.seen[:few]
        look, repair = self.looking, self.costs.minutes
        fixed = self._fixed_at(listed, few)
        first = look[listed] + seen[:, listed] * repair[listed]  # (S, k): round 1
        blind = (1 - seen[:, listed]) * repair[listed]  # round 2
        sums = np.concatenate((np.zeros((few, 1)), np.cumsum(first, axis=1)), axis=1)
        blinds = np.concatenate((np.zeros((few, 1)), np.cumsum(blind, axis=1)), axis=1)
        rows, at = np.arange(few), np.minimum(fixed, max(all_ - 1, 0))
        here = np.asarray(listed or [0], np.intp)[at]
        sign = seen[rows, here]
        found = self._found_later(self._at(listed), self._at(rest))[:few]
        price = float(repair[rest].mean()) if rest else 0.0
        looks = float(look[rest].sum())
        at_once = sums[rows, at] + look[here] + repair[here]
        later = sums[:, -1] - sign * repair[here] + looks + blinds[rows, at] + repair[here]
        known = sign * at_once + (1 - sign) * later
        missed = sums[:, -1] + looks + blinds[:, -1] + self.costs.hand_over
        unknown = found * (sums[:, -1] + looks / 2 + price) + (1 - found) * missed
        return float(weights @ np.where(fixed < all_, known, unknown) / weights.sum())

    def _at(self, numbers: Sequence[int]) -> Flags:
        flags = np.zeros(len(self.actions), bool)
        flags[list(numbers)] = True
        return flags

    def _fixed_at(self, listed: Sequence[int], few: int) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
        """(S,): place in the list of the repair with which a set is cured; the length of the list if it is not."""
        left = self.sets.now[:few].copy()
        fixed = np.full(few, len(listed), np.intp)
        for k, number in enumerate(listed):
            had = left.any(axis=1)
            left &= ~self.meant[number]
            fixed[had & ~left.any(axis=1)] = k
        return fixed

    def bound(self) -> float:
        """Minutes that even knowing the causes could not spare."""
        weights = self.sets.weights[: self._costed]
        return self.costs.bound(weights / max(float(weights.sum()), 1e-300))

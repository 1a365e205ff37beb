"""What a trainee's step was worth beside the program's, in minutes still to go by what was known then.

Both steps are valued alike: what the step takes, then the car put right by the saving rule of the
look-ahead (confirm-all, as everywhere). Being another step than the program's says nothing by itself;
only the minutes do. The estimate looks at a few beliefs only, so small differences are none.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from comeback.engine.choosing.lookahead import Budget, by_saving, try_first
from comeback.engine.choosing.next_check import WORTH_ASKING, lookahead_candidates
from comeback.engine.choosing.valuation import BESIDE_WORK, repair_minutes, value_options
from comeback.engine.choosing.value_of_information import value_of_information
from comeback.engine.errors import EngineError
from comeback.engine.rehearsal.simulated_walk import check_minutes
from comeback.engine.walk import steps
from comeback.engine.walk.phone_step import advice_utility
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import MEANT
from comeback.kb.vocabulary import Audience

ALIKE, ALIKE_SHARE = 1.5, 0.05
"""Steps are as good as each other within so many minutes, or this share of the minutes to go; judged, no source."""
STILL_OPEN, ESTABLISHED = 0.20, 0.80
"""A repair is too soon while a cause that it leaves is at least so likely, unless what it removes is
ESTABLISHED: two causes may both be there. Judged, no source."""
NONE_LEFT = 1e-9
"""Chance below which nothing is left to repair."""
BELIEFS = 16
"""Beliefs looked into for one step."""
CHECKS = (steps.MakeCheck, steps.ReadPanel, steps.LookRound)


class Verdict(StrEnum):
    """A step beside the program's."""

    SAME = "same"
    BETTER = "better"
    AS_GOOD = "as good"
    COSTLIER = "costlier"


@dataclass(frozen=True)
class Worth:
    """Expected minutes to the proven repair from before a step: with it (`yours`), with the program's `instead`.

    `idle`: the step could tell or change nothing, however short it was.
    """

    yours: float
    programs: float
    instead: steps.Step
    same: bool
    idle: bool = False

    @property
    def lost(self) -> float:
        """Minutes that the step costs beyond the program's on average; below 0 it saves."""
        return self.yours - self.programs

    @property
    def verdict(self) -> Verdict:
        """Whether it was the same, better, as good, or cost more."""
        alike = max(ALIKE, ALIKE_SHARE * self.programs)
        if self.same:
            return Verdict.SAME
        if self.idle or self.lost > alike:
            return Verdict.COSTLIER
        return Verdict.BETTER if self.lost < -alike else Verdict.AS_GOOD


def is_step(kind: str, name: str, checks: tuple[str, ...], step: steps.Step) -> bool:
    """True if this check or repair is the step."""
    if isinstance(step, steps.DoRepair):
        return kind == "repair" and name == step.repair
    return kind == "check" and isinstance(step, CHECKS) and bool(set(steps.checks_of(step)) & set(checks))


def still_open(walk: Walk, causes: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    """(cause, chance) of those at least STILL_OPEN that a repair of `causes` leaves; none if one is ESTABLISHED."""
    try:
        present = dict(walk.view.repair_candidates(0.0))
    except EngineError:  # findings that exclude each other
        return ()
    if any(present.get(cause, 0.0) >= ESTABLISHED for cause in causes):
        return ()
    return tuple((c, p) for c, p in present.items() if p >= STILL_OPEN and c not in causes)


def worth(walk: Walk, kind: str, name: str, checks: tuple[str, ...]) -> Worth | None:
    """What a check or repair was worth on this walk; None if that cannot be said."""
    try:
        step = walk.step
        asked = steps.checks_of(step) if isinstance(step, CHECKS) else ()
        values = _Values(walk, asked, checks)
        found = values.of_repair(step.repair) if isinstance(step, steps.DoRepair) else values.of_check(asked)
        programs = values.node.end if found is None else found
        if is_step(kind, name, checks, step):
            return Worth(programs, programs, step, True)
        own = values.of_check(checks) if kind == "check" else values.of_repair(name)
    except EngineError:
        return None
    yours = own if own is not None else check_minutes(walk, checks) + programs
    return Worth(yours, programs, step, False, own is None)


class _Values:
    """Expected minutes of what could be done now, on a node that holds the checks asked for and what may follow."""

    def __init__(self, walk: Walk, *asked: tuple[str, ...]) -> None:
        view = walk.view
        self.walk = walk
        self.valuation = value_options(
            walk.knowledge, view.network, view.evidence, view.askable(), view.repairs(),
            view.standing_set_ups, view.sets,
        )  # fmt: skip
        wanted = [group for checks in asked if (group := self._group(checks))]
        others = (option.checks for option in lookahead_candidates(self.valuation))
        self.groups = list(dict.fromkeys([*wanted, *others]))
        self.node = self.valuation.restricted(self.groups) if self.groups else self.valuation.node

    def _group(self, checks: Sequence[str]) -> tuple[str, ...] | None:
        return next((names for names in self.valuation.numbers if set(names) & set(checks)), None)

    def of_check(self, checks: tuple[str, ...]) -> float | None:
        """Minutes if the check comes next; None if it tells nothing.

        A question on the phone is worth what it saves in the bay, and what it improves the advice on driving.
        """
        group = self._group(checks)
        if group is None:
            return None
        if self.walk.audience is not Audience.PHONE:
            return try_first(self.node, self.groups.index(group), by_saving(WORTH_ASKING), Budget(BELIEFS))
        node, number = self.valuation.node, self.valuation.numbers[group]
        table = node.decision.tables[:, node.decision.slices[number]]
        utility = advice_utility(self.walk.knowledge, self.valuation.sets)
        gain = max(0.0, node.saving(number)) + value_of_information(self.valuation.sets.weights, table, utility)
        return self.node.end + node.decision.price(number, node.standing) - gain

    def of_repair(self, repair: str) -> float:
        """Minutes if the repair comes next: its own, and what is left to repair where it does not help.

        As in `repair_sequence` what a repair is meant for counts as fixed, less the share that it fails. No check
        is counted after it, as none is where the look-ahead ends by repair: else the two would not compare.
        """
        node = self.node
        action = next((a for a in self.valuation.actions if a.id == repair), None)
        if action is None:
            known, standing = self.walk.knowledge, self.walk.view.standing_set_ups
            return repair_minutes(known, known.repairs[repair], standing) + node.end
        weights = node.weights
        now = self.valuation.sets.now[: weights.size]
        fixed = now.any(axis=1) & ~(now & ~(action.cures >= MEANT)).any(axis=1)
        tried = action.minutes + BESIDE_WORK + float(weights[fixed] @ self.valuation.costs.late[: weights.size][fixed])
        left = np.where(fixed, 0.0, weights)
        chance = float(left.sum())
        return tried if chance < NONE_LEFT else tried + chance * float(node.decision.ends((left / chance)[None])[0])

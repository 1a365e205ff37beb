"""Before the keys go back: the checks that prevent most comebacks in so many minutes.

A slip or after-effect of the service is caught by a set of checks with the chance that any of them
shows an abnormal result, and what is caught does not drive off. The knowledge's chances are those of
a car that came back; what the driver notices, and what the car stores, shows before the keys go back
only where the trouble begins at once, so those chances are lowered by that share.

    K options (a check, or a panel read at one go)    C causes    budget in minutes
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from comeback.engine.best_subset import Choice, Chosen, Option
from comeback.engine.errors import UnknownEntry
from comeback.engine.network import Vector, Vehicle, fits
from comeback.engine.planning import HANDLING
from comeback.kb.schema import Cause, Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition, Sense, Tier

ONSET, AT_ONCE = "onset", "at-once"
"""The check that says since when the complaint is there, and its result "from the first start on"."""
DANGEROUS = Disposition.TOW
"""A cause that needs this or more is a red-flag cause: the checks that catch one come first."""
TELLING = 0.25
"""A check is named for a cause that it catches with at least this chance."""


@dataclass(frozen=True)
class Line:
    """One line of the card: the checks made together, their minutes without set-ups, and new set-ups.

    `catches`: causes and the chance to catch each, by comebacks prevented; `prevents` per 1000 services,
    beside the lines before it; `dangerous`: it catches a red-flag cause.
    """

    checks: tuple[str, ...]
    panel: str | None
    minutes: float
    set_ups: tuple[str, ...]
    catches: tuple[tuple[str, float], ...]
    prevents: float
    dangerous: bool


@dataclass(frozen=True)
class Way:
    """A set of checks under a name: how many, its minutes, comebacks prevented and false alarms per 1000 services."""

    name: str
    checks: int
    minutes: float
    prevented: float
    alarms: float

    @property
    def rate(self) -> float:
        """Comebacks prevented per 1000 services and minute spent on each of them."""
        return self.prevented / self.minutes if self.minutes else 0.0


@dataclass(frozen=True)
class Card:
    """The hand-over of one service: `expected` comebacks per 1000 services from its slips and after-effects,
    `chosen` with its proof, the lines in the order to do them, and other ways beside it, the best first."""

    service: str
    budget: float
    expected: float
    causes: int
    chosen: Chosen
    lines: tuple[Line, ...]
    ways: tuple[Way, ...]


def hand_over(knowledge: KnowledgeBase, service: str, budget: float, vehicle: Vehicle = ()) -> Card:
    """The card for this service and budget; with `vehicle` only what such a car has.

    Raises UnknownEntry if there is no such service.
    """
    if service not in knowledge.services:
        raise UnknownEntry("service", service)
    table = _Table(knowledge, service, vehicle)
    chosen = table.choice.best(budget)
    own = table.own_list()
    ways = (
        table.way("best", chosen.options),
        table.way("file order", table.choice.in_order(range(len(table.groups)), budget)),
        table.way("service's list", table.choice.in_order(own, budget)),
        table.way("service's list, all of it", own),
    )
    expected = float(table.choice.frequency.sum())
    return Card(service, budget, expected, len(table.causes), chosen, table.lines(chosen.options), ways)


class _Table:
    """Everything that can be checked after this service, and what it catches."""

    def __init__(self, knowledge: KnowledgeBase, service: str, vehicle: Vehicle) -> None:
        self.knowledge, self.service = knowledge, service
        causes = (c for c in knowledge.causes.values() if c.kind.needs_service and c.service == service)
        self.causes = [cause for cause in causes if fits(cause.only_if, vehicle)]
        self.groups = [g for g in _groups(knowledge, vehicle) if self._catches(g).max(initial=0.0) > 0]
        frequency = np.array([cause.frequency for cause in self.causes])
        minutes = {name: set_up.minutes for name, set_up in knowledge.set_ups.items()}
        self.choice = Choice(tuple(self._option(g) for g in self.groups), frequency, minutes)

    def _option(self, group: tuple[str, ...]) -> Option:
        checks = [self.knowledge.checks[name] for name in group]
        panel = checks[0].panel
        own = self.knowledge.panels[panel].minutes if panel else checks[0].minutes
        set_ups = frozenset(name for check in checks for name in check.set_up)
        return Option(HANDLING + own, set_ups, self._catches(group))

    def _catches(self, group: tuple[str, ...]) -> Vector:
        """(C,) chance that any check of the group shows the cause now."""
        out = np.zeros(len(self.causes))
        for k, cause in enumerate(self.causes):
            missed = 1.0
            for name in group:
                if name in cause.shows:
                    missed *= 1 - seen_now(self.knowledge, cause, self.knowledge.checks[name])
            out[k] = 1 - missed
        return out

    def own_list(self) -> tuple[int, ...]:
        """Positions of the service's own hand-over checks, in its order; what catches nothing here is left out."""
        place = {name: k for k, group in enumerate(self.groups) for name in group}
        named = (place[check] for check in self.knowledge.services[self.service].handover if check in place)
        return tuple(dict.fromkeys(named))

    def way(self, name: str, chosen: Sequence[int]) -> Way:
        calm = 1.0
        for check in (check for k in chosen for check in self.groups[k]):
            calm *= self.knowledge.leak(check)[0]
        minutes, prevented = self.choice.minutes(chosen), self.choice.prevented(chosen)
        return Way(name, len(chosen), minutes, prevented, 1000 * (1 - calm))

    def lines(self, chosen: Sequence[int]) -> tuple[Line, ...]:
        """Lines in the order to do them, each with what it prevents beside those before it."""
        out: list[Line] = []
        standing: set[str] = set()
        missed = np.ones(len(self.causes))
        for k in self._ordered(chosen):
            option = self.choice.options[k]
            part = option.catches * missed * self.choice.frequency
            missed = missed * (1 - option.catches)
            new = tuple(sorted(option.set_ups - standing))
            standing |= option.set_ups
            top = sorted(range(len(self.causes)), key=lambda c: -option.catches[c] * self.choice.frequency[c])
            caught = tuple((self.causes[c].id, float(option.catches[c])) for c in top if option.catches[c] > 0)
            panel = self.knowledge.checks[self.groups[k][0]].panel
            out.append(Line(self.groups[k], panel, option.minutes, new, caught, float(part.sum()), self._dangerous(k)))
        return tuple(out)

    def _dangerous(self, k: int) -> bool:
        catches = self.choice.options[k].catches
        return any(cause.drive >= DANGEROUS and catches[c] >= TELLING for c, cause in enumerate(self.causes))

    def _ordered(self, chosen: Sequence[int]) -> list[int]:
        """What a set-up would end comes before it; then red-flag causes, then what needs the same set-ups, by rate."""
        used = {name for k in chosen for name in self.choice.options[k].set_ups}
        ranks = _phases(self.knowledge, used)

        def key(k: int) -> tuple[int, bool, list[str], float, int]:
            option = self.choice.options[k]
            phase = max((ranks[name] for name in option.set_ups), default=0)
            rate = float(option.catches @ self.choice.frequency) / option.minutes
            return phase, not self._dangerous(k), sorted(option.set_ups), -rate, k

        return sorted(chosen, key=key)


def _phases(knowledge: KnowledgeBase, used: set[str]) -> dict[str, int]:
    """0 for set-ups that end no other one in use; those that end another come after it, the dearest of a pair first."""
    ranks = dict.fromkeys(used, 0)
    for name in sorted(used, key=lambda n: -knowledge.set_ups[n].minutes):
        for ended in knowledge.set_ups[name].ends:
            mutual = ended in used and name in knowledge.set_ups[ended].ends
            if ended in used and not (mutual and knowledge.set_ups[name].minutes > knowledge.set_ups[ended].minutes):
                ranks[name] = max(ranks[name], ranks[ended] + 1)
    return ranks


def _groups(knowledge: KnowledgeBase, vehicle: Vehicle) -> list[tuple[str, ...]]:
    """Checks that can be made before the keys go back, by panel, in file order.

    Not: what only a customer can remember, what takes something apart again, what destroys evidence.
    """
    groups: dict[str, list[str]] = {}
    for check in knowledge.checks.values():
        possible = Audience.BAY in check.audience and check.tier < Tier.STRIP and not check.erases_evidence
        fitting = possible and fits(check.only_if, vehicle)
        if fitting and check.sense is not Sense.REMEMBER:
            groups.setdefault(f"panel {check.panel}" if check.panel else check.id, []).append(check.id)
    return [tuple(group) for group in groups.values()]


def seen_now(knowledge: KnowledgeBase, cause: Cause, check: Check) -> float:
    """Chance that the check shows the cause before the keys go back."""
    abnormal = 1 - knowledge.chances(cause.id, check.id)[0]
    waits = check.sense is not None or bool(check.codes)
    return abnormal * (_at_once(knowledge, cause) if waits else 1.0)


def _at_once(knowledge: KnowledgeBase, cause: Cause) -> float:
    """Share of such cars whose trouble begins at once; all of them if the knowledge does not say."""
    onset = knowledge.checks.get(ONSET)
    if onset is None or ONSET not in cause.shows or AT_ONCE not in onset.results:
        return 1.0
    return knowledge.chances(cause.id, ONSET)[onset.names.index(AT_ONCE)]

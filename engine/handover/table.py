"""What can be checked after a service, what it catches, and what a comeback costs.

The knowledge's chances are those of a car that came back; what the driver notices, and what the car
stores, shows before the keys go back only where the trouble begins at once, so those chances are
lowered by that share. An after-effect that passes by itself is nothing that a check prevents: it is
told to the customer, and a result that mostly comes from it is normal on that day.

    K options (a check, or a panel read at one go)    C causes that a check can prevent
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from comeback.engine.belief.network import Vector, Vehicle, fits
from comeback.engine.choosing.valuation import HANDLING
from comeback.engine.handover.greedy_choice import Choice, Option
from comeback.engine.handover.same_day import START, possible, runs, seen_now, vague
from comeback.kb.rules.bearing import chance_of
from comeback.kb.schema import Cause, Check, KnowledgeBase
from comeback.kb.vocabulary import CauseKind, Disposition, Level, Tier

ASSUMED = ("engine-warm",)
"""Set-ups that the car is in after the service; they cost no minutes."""
FINDING = 50.0
"""Minutes to find out what a sign comes from: in rehearsals a guided walk takes so much more than the repair alone."""
DANGEROUS = Disposition.TOW
"""A cause that needs this or more hurts people or destroys the engine."""
TELLING = 0.25
"""A check is named for a cause that it catches with at least this chance; judged."""
LEFT_BEHIND = 0.9
"""What begins on the day of the service at least this often is left behind by whoever opened the hood; judged."""
LIKELY = 0.5
"""A cause that is caught with less than this chance was not looked at."""


class Table:
    """Everything that can be checked after this service, and what it catches; each part worked out once.

    `causes`: what a check can prevent. `told`: what passes by itself, so that the customer is told.
    """

    def __init__(self, knowledge: KnowledgeBase, service: str, vehicle: Vehicle) -> None:
        self.knowledge, self.service = knowledge, service
        own = (c for c in knowledge.causes.values() if c.service == service or left_behind(knowledge, c))
        after = [cause for cause in own if fits(cause.only_if, vehicle)]
        self.causes = [cause for cause in after if not passes(cause)]
        self.told = [cause for cause in after if passes(cause)]
        self._possible = possible(knowledge, vehicle)

    @cached_property
    def frequency(self) -> Vector:
        """(C,) cars of 1000 with each cause."""
        return np.array([cause.frequency for cause in self.causes])

    @cached_property
    def normal(self) -> dict[str, frozenset[str]]:
        """Check -> results that are no reason to keep the car: more cars show them from what passes by itself.

        Only signs: what a look or a reading finds is put right. Never a danger sign, nor what a dangerous
        cause shows.
        """
        checks = [self.knowledge.checks[name] for group in self._possible for name in group]
        return {
            check.id: frozenset(name for name in check.names[1:] if vague(check) and self._is_normal(check, name))
            for check in checks
        }

    @cached_property
    def groups(self) -> list[tuple[str, ...]]:
        """Checks of each option: those that catch something, and those that these need."""
        names = (name for group in self._possible for check in group for name in self.knowledge.checks[check].needs)
        needed = {START, *names}
        return [g for g in self._possible if needed.intersection(g) or self._catches(g).max(initial=0.0) > 0]

    @cached_property
    def place(self) -> dict[str, int]:
        """Check -> position of its option."""
        return {name: k for k, group in enumerate(self.groups) for name in group}

    @cached_property
    def signs(self) -> list[str]:
        """Danger signs that are looked for before the engine runs."""
        return [check.id for check in self._warning() if not runs(check)]

    @cached_property
    def stops(self) -> list[str]:
        """Danger signs right after the start, with which the engine is shut off."""
        warning = self._warning()
        return [check.id for check in warning if runs(check) and check.engine_off and check.tier <= Tier.CAR]

    @cached_property
    def choice(self) -> Choice:
        """The options with their minutes, and the worth of each cause in minutes per 1000 services.

        For a danger one check must do: two weak signs of one leak, a smell and a drip, are not independent.
        """
        minutes = {n: 0.0 if n in ASSUMED else float(set_up.minutes) for n, set_up in self.knowledge.set_ups.items()}
        worth = self.frequency * [price(self.knowledge, cause) for cause in self.causes]
        grave = np.array([cause.drive >= DANGEROUS for cause in self.causes], bool)
        return Choice(tuple(map(self._option, self.groups)), worth, minutes, grave)

    def _option(self, group: tuple[str, ...]) -> Option:
        checks = [self.knowledge.checks[name] for name in group]
        panel = checks[0].panel
        own = self.knowledge.panels[panel].minutes if panel else checks[0].minutes
        set_ups = frozenset(name for check in checks for name in check.set_up)
        needs, expense = frozenset(self._needs(group)), 0.0
        if any(vague(check) for check in checks):
            expense = FINDING * (1000 - self.calm(group, [*self.causes, *self.told]))
        return Option(HANDLING + own, set_ups, self._catches(group), needs, expense)

    def _needs(self, group: Sequence[str]) -> set[int]:
        """Positions of all options that must come before the group: what its checks need, danger signs, the start."""
        out: set[int] = set()
        waiting = list(group)
        while waiting:
            check = self.knowledge.checks[waiting.pop()]
            first = [*self.signs, START] if runs(check) else []
            if runs(check) and check.id != START and check.id not in self.stops:
                first += self.stops
            for name in [*check.needs, *first]:
                if name in self.place and self.place[name] not in out and name not in group:
                    out.add(self.place[name])
                    waiting.append(name)
        return out

    def _warning(self) -> list[Check]:
        """Danger signs that a dangerous cause of this service shows, more likely than not."""
        checks = [self.knowledge.checks[name] for name in self.place]
        return [check for check in checks if any(self._warns(check, cause) >= LIKELY for cause in self.causes)]

    def _warns(self, check: Check, cause: Cause) -> float:
        """Chance that a dangerous cause gives a result with which the engine stays off or the car is not driven."""
        if cause.drive < DANGEROUS:
            return 0.0
        off = {*check.engine_off, *(result for result, move in check.red_flag.items() if move >= DANGEROUS)}
        return chance_of(self.knowledge, cause.id, check.id, off)

    def _catches(self, group: Sequence[str]) -> Vector:
        """(C,) what `shown` gives for each cause."""
        return np.array([self.shown(group, cause) for cause in self.causes])

    def shown(self, group: Sequence[str], cause: Cause) -> float:
        """Chance that any check of the group shows this cause now, by a result that is not normal."""
        missed = 1.0
        for name in group:
            if name in cause.shows:
                missed *= 1 - seen_now(self.knowledge, cause, self.knowledge.checks[name], self.normal[name])
        return 1 - missed

    def _is_normal(self, check: Check, result: str) -> bool:
        def chance(cause: Cause) -> float:
            return chance_of(self.knowledge, cause.id, check.id, [result])

        if check.red_flag.get(result, Disposition.WATCH) >= DANGEROUS:
            return False
        if any(cause.drive >= DANGEROUS and chance(cause) >= TELLING for cause in self.causes):
            return False
        passing = sum(cause.frequency * chance(cause) for cause in self.told)
        found = sum(cause.frequency * chance(cause) for cause in self.causes)
        return passing > found and any(chance(cause) >= TELLING for cause in self.told)

    def dangers(self) -> list[int]:
        """Positions of the dangerous causes."""
        return [c for c, cause in enumerate(self.causes) if cause.drive >= DANGEROUS]

    def own_list(self) -> tuple[int, ...]:
        """Positions of the service's own hand-over checks, in its order; what catches nothing here is left out."""
        named = (self.place[c] for c in self.knowledge.services[self.service].handover if c in self.place)
        return tuple(dict.fromkeys(named))

    def calm(self, checks: Sequence[str], causes: Sequence[Cause]) -> float:
        """Cars of 1000 in which no check shows anything that would keep them, if only these causes can be there."""
        calm = 1000.0
        for name in checks:
            results = list(zip(self.knowledge.checks[name].names, self.knowledge.leak(name), strict=True))[1:]
            calm *= 1 - sum(p for result, p in results if result not in self.normal[name])
        for cause in causes:
            calm *= 1 - cause.frequency / 1000 * self.shown(checks, cause)
        return calm

    def alarms(self, chosen: Sequence[int]) -> float:
        """Cars of 1000 with nothing to be found that some option keeps all the same."""
        return 1000 - self.calm([name for k in chosen for name in self.groups[k]], self.told)


def left_behind(knowledge: KnowledgeBase, cause: Cause) -> bool:
    """True for a slip that any service can leave, such as a hood that is not latched."""
    unrelated = cause.kind is CauseKind.UNRELATED
    return unrelated and chance_of(knowledge, cause.id, "onset", ["at-once"]) >= LEFT_BEHIND


def passes(cause: Cause) -> bool:
    """True for an after-effect with which the car drives on as usual until it is over."""
    return cause.kind is CauseKind.AFTER_EFFECT and cause.drive is Disposition.WATCH


def price(knowledge: KnowledgeBase, cause: Cause) -> float:
    """What it costs, in minutes, if a car with this cause is driven as usual and comes back.

    The harm of having been told nothing, the way back at least as bad as being told to come in, and
    the hand-over to a specialist where only one can repair it. Judgement, from the knowledge's own losses.
    """
    advice = knowledge.dispositions
    back = max(advice[cause.drive].burden, advice[Disposition.COME_IN].burden)
    levels = {repair.level for repair in knowledge.repairs.values() if cause.id in repair.removes}
    special = knowledge.settings.hand_over_minutes if levels == {Level.SPECIALIST} else 0.0
    return advice[cause.drive].harm + back + special

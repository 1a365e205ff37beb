"""A case seen through the knowledge: what is known of it, and what may still be asked and done."""

import math
from collections import Counter
from collections.abc import Iterable
from functools import cached_property

from comeback.engine.belief.network import fits
from comeback.engine.case.case import Answer
from comeback.engine.walk.driving import Driving
from comeback.kb.schema import Check, Complaint, Service
from comeback.kb.vocabulary import Audience, Disposition, Sense, Tier


class CaseView(Driving):
    """A case with its belief, danger signs and advice, and what this audience could ask, look at or repair now."""

    @cached_property
    def openings(self) -> tuple[str, ...]:
        """Looks made first: of the complaint, of what else is seen of other complaints, and of the services done.

        What may hurt people comes first. None once one has found something (codes only say where to look), or after a
        repair.
        """
        known = self.knowledge
        seen = (c for c in known.complaints.values() if c.reports and c.reports.items() <= self.results.items())
        services = (known.services[name] for name in self.case.services if name in known.services)
        entries: list[Complaint | Service] = [*self.complaints, *seen, *services]
        looks = tuple(dict.fromkeys(look for entry in entries for look in entry.opening))
        found = any(self._found(known.checks[look]) for look in looks if look in known.checks)
        if found or self.case.repairs:
            return ()
        return tuple(sorted(looks, key=lambda look: look not in known.checks or known.checks[look].tier > Tier.PEOPLE))

    def askable(self, retry: bool = False) -> list[str]:
        """Checks that this audience could make now and whose result is not known yet.

        With `retry` also those to which it has said "don't know" once.
        """
        checks, most = self.knowledge.checks, 1 if retry else 0
        return [name for name in self.network.linked if self._open(checks[name], most)]

    def unknown(self, check: str) -> int:
        """How often this audience has said "don't know" to the check."""
        mine = (a for a in self._answers.get(check, ()) if a.audience is self.audience)
        return sum(a.result is None for a in mine)

    def _open(self, check: Check, unknown: int) -> bool:
        """True if the check may be asked now; `unknown`: how often "don't know" may have been said to it."""
        if self.audience not in check.audience or not self.makes_sense(check):
            return False
        if not self._may_be_driven(check):
            return False
        if check.id in self._met and self.audience is Audience.BAY:
            return False
        answers = self._answers.get(check.id, ())
        if answers and self.unknown(check.id) > unknown:
            return False
        known = [a.epoch for a in answers if a.result is not None]
        if check.id in self.stated:
            known.append(0)
        return not known or (max(known) < self.case.epoch and self._changed(check))

    def can_look_again(self, answer: Answer) -> bool:
        """True if making the check again now shows whether the answer was right."""
        check = self.knowledge.checks[answer.check]
        same = answer.epoch == self.case.epoch or not self._changed(check)
        return same and self.can_make(check)

    def can_make(self, check: Check) -> bool:
        """True if this audience could make the check on this car, and it would tell something."""
        here = self.audience in check.audience and check.id in self.network.linked and self.makes_sense(check)
        return here and self._may_be_driven(check)

    def _may_be_driven(self, check: Check) -> bool:
        """False for a drive while a sign says that nobody drives; what the customer noticed is tried after a repair.

        The customer is not asked how a car drives now that came on a tow truck, or whose engine is to stay off.
        """
        in_use = check.asks_customer and check.runs_engine
        if in_use and not self.case.repairs:
            last = self.case.last_told
            towed = last is not None and Disposition.of(last.disposition) >= Disposition.TOW
            return not (towed or self.engine_off or self.not_driven)
        return not ((check.drives or in_use) and self.not_driven)

    def makes_sense(self, check: Check) -> bool:
        """False if a known result rules the check out, as idling questions for an engine that does not start."""
        if not check.needs:
            return True
        of_people = self.audience is Audience.PHONE or check.asks_customer or check.sense is Sense.REMEMBER
        for needed, allowed in check.needs.items():
            # nobody is asked why the engine is dead, or when the oil light came on, before anyone said that it is so
            unknown = self.knowledge.checks[needed].expected if of_people else None
            known = self.results.get(needed) or unknown
            if known is not None and known not in allowed:
                return False
        return all(self._met[needed] & {*allowed} for needed, allowed in check.needs.items() if needed in self._met)

    def can_tell(self, check: Check) -> bool:
        """False for what is seen or heard with the engine running, if it does not start."""
        return not (self.dead and check.runs_engine and not check.needs)

    @cached_property
    def _met(self) -> dict[str, set[str]]:
        """What must be so because a check that needs it was made here with the engine running, or was complained of.

        An engine that shakes at idle, or was just listened to, starts.
        """
        checks, out = self.knowledge.checks, dict[str, set[str]]()
        seen = {check: checks[check] for check in self.stated}
        here = (a.check for a in self.case.answers if a.result is not None and a.audience is Audience.BAY)
        seen |= {check: checks[check] for check in here if checks[check].runs_engine}
        for check in seen.values():
            for needed, allowed in check.needs.items():
                if needed in self.stated:  # an engine that died on the road, and now does not start
                    continue
                out[needed] = out.get(needed, {*allowed}) & {*allowed}
        return out

    def _changed(self, check: Check) -> bool:
        """True if the last repair may have changed the result: it was abnormal, and what shows in it was removed."""
        if check.lasting or not self.case.repairs or self.results.get(check.id) == check.expected:
            return False
        removed = self.knowledge.repairs[self.case.repairs[-1].repair].removes
        return any(check.id in self.knowledge.causes[cause].shows for cause in removed)

    def repairs(self) -> list[str]:
        """Repairs that could be done: they fit the car, were not skipped, and remove a live cause.

        One that was done can be done once more if what it was to remove is more likely there than not.
        """
        done = {name for name, times in self._times_done().items() if times > 1 or not self._still_there(name)}
        done |= self.case.skipped
        live = {self.network.causes[index] for index in self.belief.live}
        return [
            repair.id
            for repair in self.knowledge.repairs.values()
            if repair.id not in done
            and not live.isdisjoint(repair.removes)
            and fits(repair.only_if, self.case.vehicle)
            and not (repair.drives and self.not_driven)
        ]

    def _times_done(self) -> Counter[str]:
        """How often each repair was done."""
        return Counter(done.repair for done in self.case.repairs)

    def _still_there(self, repair: str) -> bool:
        """True if what the repair was to remove is more likely there than not: the work may have failed."""
        removes = self.knowledge.repairs[repair].removes
        absent = [1 - self.belief.probability(cause) for cause in removes if cause in self.network.places]
        return 1 - math.prod(absent) > 0.5

    def missing(self, needed: Iterable[str]) -> tuple[str, ...]:
        """The set-ups among those needed that do not stand yet."""
        standing = self.standing_set_ups
        return tuple(name for name in dict.fromkeys(needed) if name not in standing)

    @cached_property
    def standing_set_ups(self) -> frozenset[str]:
        """Set-ups that the checks and repairs so far have left standing."""
        standing: frozenset[str] = frozenset()
        for _, needed in sorted(self._set_up_history()):
            standing = self.knowledge.set_ups_after(standing, needed)
        return standing

    def _set_up_history(self) -> list[tuple[int, tuple[str, ...]]]:
        """(event number, set-ups needed) of every check and repair made in the bay, in any order."""
        made = [
            (a.number, self.knowledge.checks[a.check].set_up)
            for a in self.case.answers
            if a.audience is Audience.BAY and a.result is not None
        ]
        return made + [(done.number, self.knowledge.repairs[done.repair].set_up) for done in self.case.repairs]

"""A case seen through the knowledge: its network, its evidence, and what may still be done."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from comeback.engine.belief.cause_sets import CauseSets, explanations
from comeback.engine.belief.evidence import Evidence, Sighting
from comeback.engine.belief.exact_posterior import Belief, posterior
from comeback.engine.belief.network import Network, build_network, fits
from comeback.engine.case.case import Answer, Case
from comeback.engine.walk.disposition import Ruling, floor_alone, ruling_for
from comeback.kb.schema import Check, Complaint, KnowledgeBase, NotCovered, Service
from comeback.kb.vocabulary import Audience, Disposition, EngineOff, Sense, Tier


@dataclass(frozen=True)
class CaseView:
    """Knowledge and case together; everything here is computed, nothing is kept."""

    knowledge: KnowledgeBase
    case: Case
    audience: Audience

    @cached_property
    def network(self) -> Network:
        """Causes and checks that exist for this service and this car."""
        unknown = not self.case.services and bool(self.case.service_unknown)
        services = tuple(self.knowledge.services) if unknown else self.case.services
        return build_network(self.knowledge, services, self.case.vehicle, one_of=unknown)

    @cached_property
    def complaints(self) -> tuple[Complaint, ...]:
        """All that the customer complains of, the main complaint first; none until one is chosen."""
        known = self.knowledge.complaints
        return tuple(known[name] for name in self.case.complaints if name in known)

    @cached_property
    def stated(self) -> dict[str, str]:
        """Check -> result that the complaints say; of two for one check the one that dominates."""
        out: dict[str, str] = {}
        for complaint in self.complaints:
            for check, result in complaint.reports.items():
                out[check] = max(out.get(check, result), result, key=self.knowledge.checks[check].names.index)
        return out

    @cached_property
    def evidence(self) -> Evidence:
        """The complaint and all answers as sightings; "don't know" is no sighting."""
        results: dict[str, dict[int, str | None]] = {check: {0: result} for check, result in self.stated.items()}
        for answer in self.case.answers:
            seen = results.setdefault(answer.check, {})
            if answer.again and answer.result is not None and answer.result not in seen.values():
                seen.clear()  # what was found before was a slip
            if answer.result is not None or answer.epoch not in seen:
                seen[answer.epoch] = answer.result
        sightings = (
            Sighting(check, number, epoch)
            for check, seen in results.items()
            if check in self.network.observables
            for epoch, number in self._telling(check, seen)
        )
        # in one order, so that it does not matter in which order the findings were made
        ordered = tuple(sorted(sightings, key=lambda seen: (seen.check, seen.epoch)))
        return Evidence(ordered, self._removals())

    def _telling(self, check: str, seen: Mapping[int, str | None]) -> list[tuple[int, int]]:
        """(epoch, result number) of the answers that tell something each.

        What a present cause shows it goes on showing. So an abnormal result that a repair did not
        change counts once, as the later one: what explains it is still there. An expected result
        counts once, as the earlier one: a repair does not make a car worse.
        """
        names = self.knowledge.checks[check].names
        out: list[tuple[int, int]] = []
        for epoch, result in sorted(seen.items()):
            if result not in names:  # "don't know", or a result that the knowledge no longer has
                continue
            number = names.index(result)
            if out and out[-1][1] == number:
                out[-1] = (epoch, number) if number else out[-1]
            else:
                out.append((epoch, number))
        return out

    def _removals(self) -> dict[str, tuple[tuple[int, float], ...]]:
        """Cause -> (epoch, chance that it is gone) of each repair tried on it, in order."""
        removals: dict[str, tuple[tuple[int, float], ...]] = {}
        for done in self.case.repairs:
            for cause, chance in self.knowledge.repairs[done.repair].removes.items():
                removals[cause] = (*removals.get(cause, ()), (done.epoch, chance))
        return removals

    @cached_property
    def belief(self) -> Belief:
        """Exact posterior of every cause."""
        return posterior(self.network, self.evidence)

    @cached_property
    def sets(self) -> CauseSets:
        """The sets of causes that the findings need, most probable first."""
        return explanations(self.network, self.evidence, belief=self.belief)

    @cached_property
    def ruling(self) -> Ruling:
        """Advice on driving; by the danger signs alone once it has passed, or on a car that is not covered."""
        if self.not_covered:
            return floor_alone(self.knowledge, self.here, Disposition.COME_IN)
        if self.gone:
            look = any(complaint.once_gone for complaint in self.complaints)
            return floor_alone(self.knowledge, self.here, Disposition.BOOK if look else Disposition.WATCH)
        ruling = ruling_for(self.knowledge, self.network, self.evidence, self.results, self.belief, self.stated)
        unsure = "drive" in self.case.unknown_conditions and ruling.advice < Disposition.BOOK
        return replace(ruling, advice=Disposition.BOOK) if unsure else ruling

    @cached_property
    def not_covered(self) -> NotCovered | None:
        """The kind of car that the knowledge says nothing about, if it is one."""
        return self.knowledge.not_covered.get(dict(self.case.vehicle).get("drive", ""))

    @cached_property
    def gone(self) -> bool:
        """True if the trouble has passed by itself, and nothing wrong was found here.

        It counts for what was named before, until the customer calls again.
        """
        case, checks = self.case, self.knowledge.checks
        since = max(case.named, case.again)
        new = {answer.check for answer in case.answers if answer.number > since and checks[answer.check].passed}
        passed = {name for name in new if self.results[name] in checks[name].passed}
        here = (answer.check for answer in case.answers if answer.audience is Audience.BAY)
        found = any(name not in passed and self._found(checks[name]) for name in here)
        return bool(passed) and not found and not case.repairs

    @cached_property
    def passed(self) -> bool:
        """True if the trouble has passed by itself, and none of it was a danger with which nobody drives."""
        return self.gone and all(self.raised.get(name, Disposition.WATCH) < Disposition.TOW for name in self.here)

    @property
    def lit(self) -> bool:
        """True if a light is part of the complaint: it runs fine with it, so only "the light is out" ends that."""
        return any(self.knowledge.checks[name].sense is Sense.LAMP for name in self.stated)

    @cached_property
    def here(self) -> dict[str, str | None]:
        """What is known of the car as it is now: of trouble that has passed only the dangers to people and car."""
        checks = self.knowledge.checks
        told = {name for name in self.stated if self.gone and checks[name].tier > Tier.CAR}
        return {name: result for name, result in self.results.items() if name not in told}

    @cached_property
    def results(self) -> dict[str, str | None]:
        """Latest answer by check, the complaint's own included."""
        known: dict[str, str | None] = dict(self.stated)
        for answer in self.case.answers:
            known[answer.check] = answer.result
        return known

    @cached_property
    def signs(self) -> tuple[str, ...]:
        """Danger signs to ask: those of the complaints, and on the phone those that a seen one leads to."""
        listed = [sign for complaint in self.complaints for sign in complaint.red_flags]
        further = self.knowledge.follow_ups(self.results) if self.audience is Audience.PHONE else ()
        return tuple(dict.fromkeys((*listed, *further)))

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

    def _found(self, check: Check) -> bool:
        return self.results.get(check.id) not in (None, check.expected)

    @cached_property
    def before_driving(self) -> tuple[str, ...]:
        """What the caller does first if the car may be driven, by the results seen; read aloud."""
        checks = self.knowledge.checks
        lines = (checks[check].before_driving.get(result or "", ()) for check, result in self.results.items())
        return tuple(dict.fromkeys(line for told in lines for line in told))

    @cached_property
    def raised(self) -> dict[str, Disposition]:
        """Danger signs that were seen, by check, with the least advice that each allows."""
        checks = self.knowledge.checks
        flags = ((name, checks[name].red_flag.get(result or "")) for name, result in self.results.items())
        return {name: floor for name, floor in flags if floor is not None}

    @cached_property
    def engine_off(self) -> dict[str, EngineOff]:
        """Danger signs that stand and with which the engine stays off, and until when.

        One is lifted by a repair, done after it was seen, of something that shows in it.
        """
        out: dict[str, EngineOff] = {}
        for check, result in self.results.items():
            until = self.knowledge.checks[check].engine_off.get(result or "")
            if until is not None and not self._lifted(check):
                out[check] = until
        return out

    @cached_property
    def burning(self) -> bool:
        """True if a sign of fuel or fire stands: nothing is switched on before something that shows in it is fixed."""
        checks = self.knowledge.checks
        return any(result in checks[name].fire and not self._lifted(name) for name, result in self.results.items())

    @cached_property
    def not_driven(self) -> tuple[str, ...]:
        """Danger signs to people that stand and with which the car is not driven, as a hard brake pedal.

        One is lifted by a repair of something that shows in it, as above.
        """
        if self.audience is not Audience.BAY:
            return ()
        standing = (name for name, floor in self.raised.items() if floor >= Disposition.TOW and not self._lifted(name))
        return tuple(name for name in standing if self.knowledge.checks[name].tier is Tier.PEOPLE)

    def _lifted(self, check: str) -> bool:
        """True if something that shows in the check was repaired after it was last seen."""
        seen = max((answer.epoch for answer in self._answers.get(check, ()) if answer.result is not None), default=0)
        later = (done.repair for done in self.case.repairs if done.epoch > seen)
        causes = self.knowledge.causes
        return any(check in causes[cause].shows for repair in later for cause in self.knowledge.repairs[repair].removes)

    def runs_engine(self, repair: str) -> bool:
        """True if the repair runs the engine before what the danger signs point at is repaired.

        What follows its own steps runs it too, but by then a repair of what shows in a sign is done.
        """
        entry, known = self.knowledge.repairs[repair], self.knowledge
        if entry.runs_engine or not any(known.procedures[name].runs_engine for name in entry.procedures):
            return entry.runs_engine
        return all(self.engine_off.keys().isdisjoint(known.causes[cause].shows) for cause in entry.removes)

    def tells_of(self, repair: str, check: Check, result: str) -> float:
        """How many times as often what the repair removes gives this result as a car without it; 0 if it never does."""
        known, number = self.knowledge, check.names.index(result)
        causes = (c for c in known.repairs[repair].removes if c in self.network.places)
        ways = [known.chances(c, check.id)[number] for c in causes if check.id in known.causes[c].shows]
        return max(ways, default=0.0) / max(known.leak(check.id)[number], 1e-6)

    def despite(self, runs_engine: bool) -> tuple[str, ...]:
        """The signs against which something is done that runs the engine, if it does."""
        return tuple(self.engine_off) if runs_engine and self.audience is Audience.BAY else ()

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

    @cached_property
    def _answers(self) -> dict[str, list[Answer]]:
        """All answers by check."""
        out: dict[str, list[Answer]] = {}
        for answer in self.case.answers:
            out.setdefault(answer.check, []).append(answer)
        return out

    def _open(self, check: Check, unknown: int) -> bool:
        """True if the check may be asked now; `unknown`: how often "don't know" may have been said to it."""
        if self.audience not in check.audience or not self.makes_sense(check):
            return False
        if check.drives and self.not_driven:
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
        return here and not (check.drives and self.not_driven)

    def makes_sense(self, check: Check) -> bool:
        """False if a known result rules the check out, as idling questions for an engine that does not start."""
        for needed, allowed in check.needs.items():
            # a caller is not asked why the engine is dead before anyone said that it is
            unknown = self.knowledge.checks[needed].expected if self.audience is Audience.PHONE else None
            known = self.results.get(needed) or unknown
            if known is not None and known not in allowed:
                return False
        return all(self._met[needed] & {*allowed} for needed, allowed in check.needs.items() if needed in self._met)

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
        absent = [1 - self.belief.probability(cause) for cause in removes if cause in self.network.causes]
        return 1 - math.prod(absent) > 0.5

    def missing(self, needed: Iterable[str]) -> tuple[str, ...]:
        """The set-ups among those needed that do not stand yet."""
        standing = self.standing_set_ups()
        return tuple(name for name in dict.fromkeys(needed) if name not in standing)

    def standing_set_ups(self) -> frozenset[str]:
        """Set-ups that the checks and repairs so far have left standing."""
        standing: set[str] = set()
        for _, needed in sorted(self._set_up_history()):
            for name in needed:
                standing -= set(self.knowledge.set_ups[name].ends)
                standing.add(name)
        return frozenset(standing)

    def _set_up_history(self) -> list[tuple[int, tuple[str, ...]]]:
        """(event number, set-ups needed) of every check and repair made in the bay, in any order."""
        made = [
            (a.number, self.knowledge.checks[a.check].set_up)
            for a in self.case.answers
            if a.audience is Audience.BAY and a.result is not None
        ]
        return made + [(done.number, self.knowledge.repairs[done.repair].set_up) for done in self.case.repairs]

    def repair_candidates(self, least: float = 0.02) -> list[tuple[str, float]]:
        """Causes present now with at least this chance, most probable first."""
        present = self.belief.present
        pairs = [(self.network.causes[i], float(present[i])) for i in self.belief.live if present[i] >= least]
        return sorted(pairs, key=lambda pair: (-pair[1], pair[0]))

"""Two ways to work without a chooser, on the same simulated cars: repairs in order of p over c, and a check-list.

Both start from the service, the complaint and the danger signs, and prove every repair. They are
what the guided walk is measured against, so they are given what they can know beforehand: the
repairs' order is the planner's own, and the check-list is sorted by what it catches per minute.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from comeback.engine.belief.network import fits
from comeback.engine.choosing.valuation import handling, set_up_minutes, value_options
from comeback.engine.errors import EngineError
from comeback.engine.rehearsal.simulated_walk import answered, check_minutes, proof_minutes, repaired
from comeback.engine.rehearsal.simulation import Person
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience, Level

SPECIALIST = "specialist"
GAVE_UP = "gave up"
GONE = "gone"


@dataclass
class Lists:
    """Orders worked out before, by what they were worked out for."""

    known: dict[tuple[object, ...], tuple[str, ...]] = field(default_factory=dict)

    def get(self, kind: str, walk: Walk, make: Callable[[Walk], tuple[str, ...]]) -> tuple[str, ...]:
        """The list for this walk, made when it is first asked for."""
        answers = tuple((a.check, a.result) for a in walk.case.answers)
        key = (kind, walk.case.service, walk.case.complaint, answers)
        if key not in self.known:
            try:
                self.known[key] = make(walk)
            except EngineError:
                self.known[key] = ()
        return self.known[key]


@dataclass
class Work:
    """Somebody at work: the walk so far, minutes and steps; `how` it ended and the last repair thought of."""

    walk: Walk
    person: Person
    minutes: float = 0.0
    steps: int = 0
    how: str = GAVE_UP
    last: str | None = None

    def check(self, check: str) -> str | None:
        """The answer to a check; one that was made before, or read with its panel, costs nothing more."""
        known = self.walk.knowledge.checks
        if self.walk.case.answer(check) is None:
            panel = known[check].panel
            group = tuple(c for c, entry in known.items() if panel and entry.panel == panel) or (check,)
            self.minutes += check_minutes(self.walk, group)
            self.steps += 1
            self.walk = answered(self.walk, self.person, group)
        return self._answer(check)

    def _answer(self, check: str) -> str | None:
        answer = self.walk.case.answer(check)
        return answer.result if answer else None

    def _prove(self, check: str) -> str | None:
        """What the check shows after a repair; who cannot tell is asked once more, as in the guided walk."""
        for again in (False, True):
            if again:
                self.person.try_again(check)
            self.minutes, self.steps = self.minutes + proof_minutes(self.walk, (check,)), self.steps + 1
            self.walk = answered(self.walk, self.person, (check,))
            if self._answer(check) is not None:
                break
        return self._answer(check)

    def repair(self, repair: str) -> bool:
        """Do a repair and prove it; True if the work ends here, because the complaint is gone or a specialist must."""
        known = self.walk.knowledge
        entry, self.last = known.repairs[repair], repair
        if entry.level is Level.SPECIALIST:
            self.how = SPECIALIST
            return True
        spent, self.walk = repaired(self.walk, self.person, repair)
        self.minutes, self.steps = self.minutes + spent, self.steps + 1
        complaint = known.complaints[self.walk.case.complaint or ""]
        wanted = {entry.proof.check: entry.proof.result}
        wanted |= {check: known.checks[check].expected for check in complaint.reports}
        told = {check: self._prove(check) for check in wanted}
        gone = all(told[check] in (None, wanted[check]) for check in wanted) and set(told.values()) != {None}
        if gone:
            self.how = GONE
        return gone


def by_repair_order(walk: Walk, person: Person, lists: Lists) -> Work:
    """Repair after repair in order of probability over cost, without a check, until the complaint is gone."""
    work = Work(walk, person)
    for repair in lists.get("repairs", walk, _repair_order):
        if _fits(person, walk.knowledge.repairs[repair].only_if) and work.repair(repair):
            break
    return work


def by_check_list(walk: Walk, person: Person, lists: Lists) -> Work:
    """A list of checks, always in the same order; an abnormal result is followed by the repair that it points at."""
    work, known = Work(walk, person), walk.knowledge
    done: set[str] = set()
    for check in lists.get("checks", walk, _check_order):
        entry = known.checks[check]
        if not _fits(person, entry.only_if) or not work.walk.view.makes_sense(entry):
            continue
        result = work.check(check)
        if result is None or result == entry.expected:
            continue
        pointed = _pointed_at(walk, check, result, person, done, lists)
        if pointed is not None:
            done.add(pointed)
            if work.repair(pointed):
                break
    return work


def _fits(person: Person, only_if: object) -> bool:
    return fits(only_if, tuple(person.car.vehicle.items()))  # type: ignore[arg-type]


def _repair_order(walk: Walk) -> tuple[str, ...]:
    """The planner's sequence with no check to make."""
    view = walk.view
    return value_options(walk.knowledge, view.network, view.evidence, (), view.repairs(), (), view.sets).plan.order


def _check_order(walk: Walk) -> tuple[str, ...]:
    """Bay checks, the lowest hazard tier first, then what shows something for most such cars per minute."""
    known, view = walk.knowledge, walk.view
    chances = dict(view.repair_candidates(0.001))
    rates: dict[str, float] = {}
    for check in known.checks.values():
        shown = ((c, p) for c, p in chances.items() if check.id in known.causes[c].shows)
        caught = sum(p * (1 - known.chances(c, check.id)[0]) for c, p in shown)
        if caught > 0.005 and Audience.BAY in check.audience and check.id not in view.results:
            rates[check.id] = caught / (handling(check) + check.minutes + set_up_minutes(known, check.set_up, ()))
    return tuple(sorted(rates, key=lambda name: (known.checks[name].tier, -rates[name], name)))


def _pointed_at(walk: Walk, check: str, result: str, person: Person, done: Iterable[str], lists: Lists) -> str | None:
    """The repair not yet done of the cause that, after complaint and danger signs, is most behind this result."""
    known = walk.knowledge
    order = lists.get(f"causes of {check} {result}", walk, lambda w: _blamed(w, check, result))
    for cause in order:
        fitting = [one for one in known.repairs.values() if one.meant_for(cause) and _fits(person, one.only_if)]
        if fitting:
            best = min(fitting, key=lambda repair: (repair.minutes, repair.id)).id
            return None if best in done else best
    return None


def _blamed(walk: Walk, check: str, result: str) -> tuple[str, ...]:
    """Causes by chance of being there and giving this result, the two most probable."""
    known = walk.knowledge
    number = known.checks[check].names.index(result)
    shares = {
        cause: p * known.chances(cause, check)[number]
        for cause, p in walk.view.repair_candidates(0.001)
        if check in known.causes[cause].shows
    }
    top = sorted((c for c in shares if shares[c] > 0), key=lambda c: (-shares[c], c))
    return tuple(top[:2])

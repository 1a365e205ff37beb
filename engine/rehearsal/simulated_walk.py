"""A walk answered by a simulated person: what each step costs, and what the walk is afterwards.

Minutes are the planner's: checks with handling and the set-ups they still need, repairs with parts
at the shop's rate, proofs; repair and proof of the last candidate are always paid (confirm-all).
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from comeback.engine.case import facts
from comeback.engine.case.case import Case
from comeback.engine.choosing.valuation import IN_BAY, own_minutes, set_up_minutes
from comeback.engine.rehearsal.simulation import Person
from comeback.engine.walk import steps
from comeback.engine.walk.remedies import solution
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import Audience

MOST_STEPS = 80
"""Steps after which a simulated walk is given up; none comes near it."""
SIGN_MINUTES = 0.2
"""Reading out or looking for one danger sign; five are a minute; judged."""
CONDITION_MINUTES = 0.1
"""Minutes to see how the car is built; judged."""

Chosen = TypeVar("Chosen", bound=steps.Step | None)
ENDS = (steps.CloseCase, steps.HandOver, steps.Finished)


@dataclass
class Memory:
    """Steps chosen before, by what they were chosen for: walks of one service and complaint begin alike.

    `asked` and `met` count the steps wanted and those already there. Only one service's and complaint's
    steps are kept at a time, `most` at the most.
    """

    most: int = 50_000
    asked: int = 0
    met: int = 0
    _steps: dict[tuple[Any, ...], Any] = field(default_factory=dict)
    _of: tuple[str | None, str | None] = (None, None)

    def step(self, walk: Walk) -> steps.Step:
        """The walk's next step; what hangs on event numbers is never remembered."""
        return self._known(walk, "", lambda: walk.step)

    def asked_after_advice(self, walk: Walk) -> steps.MakeCheck | None:
        """What only the customer knows and is asked at the end of the call, if anything is."""
        return self._known(walk, "after the advice", lambda: walk.asked_after_advice)

    def _known(self, walk: Walk, kind: str, choose: Callable[[], Chosen]) -> Chosen:
        """What was chosen for such a walk before, or is now."""
        if self._of != (walk.case.service, walk.case.complaint):
            self._of = (walk.case.service, walk.case.complaint)
            self._steps.clear()
        key = (kind, *_key(walk.case, walk.audience))
        self.asked += 1
        if key in self._steps:
            self.met += 1
            known: Chosen = self._steps[key]
            return known
        step = choose()
        if not isinstance(step, steps.TakeOneBack) and len(self._steps) < self.most:
            self._steps[key] = step
        return step


def _key(case: Case, audience: Audience) -> tuple[Any, ...]:
    return (
        audience, case.service, case.complaints, case.vehicle, case.unknown_conditions, case.skipped,
        tuple((a.check, a.result, a.epoch, a.audience, a.again) for a in case.answers),
        tuple(done.repair for done in case.repairs), case.disposition, case.handed_over, case.closed is None,
    )  # fmt: skip


@dataclass(frozen=True)
class Gone:
    """A walk gone to its end: `step` is the last one, which was not answered; minutes and steps on the way."""

    walk: Walk
    step: steps.Step
    minutes: float
    steps: int


def take_over(walk: Walk) -> Walk:
    """The bay's walk over what the phone found."""
    taken = Walk(walk.knowledge, walk.events, Audience.BAY)
    return taken.imagine(facts.TakenOver())


def go_on(
    walk: Walk, person: Person, memory: Memory, watch: Callable[[Walk, steps.Step, float], None] | None = None
) -> Gone:
    """Answer step after step until the case can be closed, is handed over, or the caller has been advised.

    `watch` is called with each walk, its step, and the minutes it took. Ends after MOST_STEPS at most.
    """
    minutes, step = 0.0, memory.step(walk)
    for count in range(MOST_STEPS):
        if isinstance(step, ENDS):
            return Gone(walk, step, minutes, count)
        spent, after = respond(walk, step, person)
        if watch is not None:
            watch(walk, step, spent)
        walk, minutes = after, minutes + spent
        step = memory.step(walk)
    return Gone(walk, step, minutes, MOST_STEPS)


def asked_after_advice(gone: Gone, person: Person, memory: Memory) -> Gone:
    """The call with what only the customer knows asked at its end."""
    step = memory.asked_after_advice(gone.walk)
    while step is not None:
        spent, walk = respond(gone.walk, step, person)
        gone = Gone(walk, gone.step, gone.minutes + spent, gone.steps + 1)
        step = memory.asked_after_advice(walk)
    return gone


def respond(walk: Walk, step: steps.Step, person: Person) -> tuple[float, Walk]:
    """Minutes that the step takes, and the walk after the person's answer."""
    match step:
        case steps.DangerScreen(checks, retry):
            for check in checks if retry else ():
                person.try_again(check)
            return SIGN_MINUTES * len(checks), answered(walk, person, checks)
        case steps.ReadPanel(checks=checks):
            return step.minutes, answered(walk, person, checks)
        case steps.LookRound(checks):
            seen = _looked_at(walk, person, checks)
            unseen = sum(walk.knowledge.checks[name].minutes for name in checks[len(seen) :])
            return step.minutes - unseen, answered(walk, person, seen)
        case steps.MakeCheck(check=check, again=again, retry=retry):
            if again is not None:
                person.look_again(check)
            if retry:
                person.try_again(check)
            return step.minutes, answered(walk, person, (check,), again is not None)
        case steps.ProofRound(checks=checks):
            return proof_minutes(walk, checks), answered(walk, person, checks)
        case steps.ProveRepair(check=check, retry=retry):
            if retry:
                person.try_again(check)
            return proof_minutes(walk, (check,)), answered(walk, person, (check,))
        case steps.ChooseCondition(feature, values):
            value = person.car.vehicle.get(feature, values[0])
            return CONDITION_MINUTES, walk.imagine(facts.ConditionNamed(feature, value))
        case steps.DoRepair(sees=str(check)) if person.car.result(check) == walk.knowledge.checks[check].expected:
            person.look_again(check)  # the part is in hand: it is as it should be after all
            return check_minutes(walk, (check,)), answered(walk, person, (check,), True)
        case steps.DoRepair(repair=repair):
            return repaired(walk, person, repair)
        case steps.Advise(disposition=disposition, solved=str(solved)) if solved:
            told = solution(walk.view, solved, disposition)
            person.car.repair(told.repair)
            return 0.0, walk.imagine(told)
        case steps.Advise(disposition=disposition):
            return 0.0, walk.imagine(facts.Advised(disposition.word))
        case steps.TakeOneBack():
            return _look_again(walk, step, person)
    raise TypeError(f"a simulated person has no answer for {type(step).__name__}")


def _looked_at(walk: Walk, person: Person, checks: tuple[str, ...]) -> tuple[str, ...]:
    """The looks of a round down to the first that is not right, as the person sees it."""
    for count, check in enumerate(checks, 1):
        if person.answer(check, walk.case.epoch) not in (None, walk.knowledge.checks[check].expected):
            return checks[:count]
    return checks


def answered(walk: Walk, person: Person, checks: tuple[str, ...], again: bool = False) -> Walk:
    """The walk after the person answered these checks, for the second time if `again`."""
    results = {check: person.answer(check, walk.case.epoch) for check in checks}
    return walk.imagine(walk.answers(results, again=again))


def repaired(walk: Walk, person: Person, repair: str) -> tuple[float, Walk]:
    """Minutes of the repair without its proof, and the walk after it; the car is repaired."""
    minutes = work_minutes(walk, repair)
    person.car.repair(repair)
    return minutes, walk.imagine(facts.Repaired(repair))


def _look_again(walk: Walk, step: steps.TakeOneBack, person: Person) -> tuple[float, Walk]:
    """Of two findings that exclude each other the misread one is made again; the later one if both were right."""
    wrong = [k for k in (0, 1) if step.results[k] != person.car.result(step.checks[k]) and step.numbers[k]]
    which = wrong[-1] if wrong else (1 if step.numbers[1] else 0)
    if not step.numbers[which]:
        return 0.0, walk.imagine(facts.HandedOver("findings that exclude each other"))
    person.look_again(step.checks[which])
    return IN_BAY, walk.imagine(facts.TakenBack(step.numbers[which]))


def check_minutes(walk: Walk, checks: tuple[str, ...]) -> float:
    """Minutes of one check, or of one panel's checks read at one go, with handling and set-ups."""
    known = walk.knowledge
    needed = {name for check in checks for name in known.checks[check].set_up}
    return own_minutes(known, checks) + set_up_minutes(known, needed, walk.view.standing_set_ups)


def proof_minutes(walk: Walk, proofs: tuple[str, ...]) -> float:
    """Minutes of the checks that prove a repair: part of the repair, so without handling."""
    checks = [walk.knowledge.checks[name] for name in proofs]
    needed = {name for check in checks for name in check.set_up}
    minutes = sum(check.minutes for check in checks)
    return minutes + set_up_minutes(walk.knowledge, needed, walk.view.standing_set_ups)


def work_minutes(walk: Walk, repair: str) -> float:
    """Minutes of the work, its parts at the shop's rate, and its set-ups."""
    known = walk.knowledge
    entry = known.repairs[repair]
    return entry.minutes + known.parts_minutes(entry) + set_up_minutes(known, entry.set_up, walk.view.standing_set_ups)

"""Simulated comebacks walked from the phone to the closed case, beside other ways to work on the same cars.

What is measured is the chooser against its own knowledge, with people who answer wrongly or do not
know; not the knowledge against the world. Unsafe advice is looked for on every call, by rules of
its own rather than by the code that gives the advice.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from comeback.engine.belief.network import fits
from comeback.engine.choosing.valuation import repair_minutes
from comeback.engine.rehearsal import fixed_orders
from comeback.engine.rehearsal.simulated_walk import Gone, Memory, asked_after_advice, go_on, take_over
from comeback.engine.rehearsal.simulation import CAREFUL, Car, Comeback, Person, Slack, car_of, culprits
from comeback.engine.walk import steps
from comeback.engine.walk.disposition import red_flag_floor
from comeback.engine.walk.known_so_far import START, STARTING
from comeback.engine.walk.walk import Walk, begin_walk
from comeback.kb.schema import KnowledgeBase, Repair
from comeback.kb.vocabulary import Audience, Disposition, Level, Sureness

GUIDED, ORDER, CHECKLIST = "guided walk", "repairs only, no checks", "fixed check-list"
WAYS = (GUIDED, ORDER, CHECKLIST)
FIXED, SOLVED, WRONGLY, RIGHT_SPECIALIST, HANDED_OVER, UNFINISHED = (
    "fixed",
    "solved on the phone",
    "closed wrongly",
    "right specialist",
    "handed over",
    "not ended",
)
"""Fixed: closed and no cause behind the complaint is left. Solved on the phone: the caller alone left none of them, so
that the car stays away. Right specialist: handed over for what removes one."""
ENDS = (FIXED, SOLVED, RIGHT_SPECIALIST, HANDED_OVER, WRONGLY, UNFINISHED)


@dataclass(frozen=True)
class WorkOutcome:
    """One way to work on one car, from the danger signs to the end: `needless` repairs removed no present cause.

    `call_backs`: times the bay asked for what only the customer knows; `again`: times it was asked to look again.
    """

    way: str
    end: str
    minutes: float
    steps: int
    repairs: int
    needless: int
    call_backs: int = 0
    again: int = 0


@dataclass(frozen=True)
class Call:
    """The phone's part: minutes, questions, the advice, anything unsafe about it (should be empty), the repair that
    what the caller did alone stood in for, if the call ended with that, whether the car starts, and the least advice
    that the danger signs allow which the car has and the caller was asked for."""

    minutes: float
    questions: int
    advice: Disposition | None
    unsafe: tuple[str, ...]
    solved: str = ""
    starts: bool = True
    signs_allow: Disposition = Disposition.WATCH


@dataclass(frozen=True)
class Rehearsed:
    """One comeback: how the call went, and each way to work; `known`: minutes if the causes were known beforehand."""

    comeback: Comeback
    call: Call
    outcomes: tuple[WorkOutcome, ...]
    known: float


@dataclass
class Rehearsal:
    """Knowledge, how people answer on the phone and in the bay, and what was worked out on the way."""

    knowledge: KnowledgeBase
    caller: Slack = CAREFUL
    bay: Slack = CAREFUL
    memory: Memory = field(default_factory=Memory)
    lists: fixed_orders.Lists = field(default_factory=fixed_orders.Lists)

    def run(self, comeback: Comeback) -> Rehearsed:
        """The comeback, called in and then worked on in every way."""
        call, after_call, after_signs = self._call(comeback)
        known = known_minutes(car_of(self.knowledge, comeback), comeback.complaint)
        ways = (
            self._guided(comeback, after_call),
            self._other(comeback, after_signs, ORDER, fixed_orders.by_repair_order),
            self._other(comeback, after_signs, CHECKLIST, fixed_orders.by_check_list),
        )
        return Rehearsed(comeback, call, ways, known)

    def _person(self, comeback: Comeback, name: str, slack: Slack) -> Person:
        """Who answers for this car, slipping as often as set."""
        return Person(car_of(self.knowledge, comeback), name, slack)

    def _call(self, comeback: Comeback) -> tuple[Call, Walk, Walk]:
        """The call, the bay's walk after it, and the bay's walk with nothing but the danger signs."""
        known, car = self.knowledge, car_of(self.knowledge, comeback)
        walk = begin_walk(known, comeback.service, comeback.complaint, Audience.PHONE)
        seen: list[Walk] = []
        gone = go_on(walk, self._person(comeback, "caller", self.caller), self.memory, lambda w, s, m: seen.append(w))
        gone = asked_after_advice(gone, self._person(comeback, "caller", self.caller), self.memory)
        signs = next((w for w in seen if not isinstance(self.memory.step(w), steps.DangerScreen)), gone.walk)
        case = gone.walk.case
        advice = Disposition.of(case.disposition) if case.disposition else None
        unsafe = unsafe_advice(gone.walk, comeback, advice)
        starts = START not in known.checks or car.result(START) in STARTING
        asked = {check: car.result(check) for check in gone.walk.view.results if known.checks[check].red_flag}
        allow, _ = red_flag_floor(known, asked)
        solved = case.solved.repair if case.solved else ""
        return Call(gone.minutes, gone.steps, advice, unsafe, solved, starts, allow), gone.walk, take_over(signs)

    def _guided(self, comeback: Comeback, walk: Walk) -> WorkOutcome:
        """The walk of the program, phone call first, and how it ended."""
        person = self._person(comeback, "bay", self.bay)
        target = culprits(person.car, comeback.complaint)
        solved = walk.case.solved
        if solved is not None:
            person.car.repair(solved.repair)
            if not target & person.car.present:
                return WorkOutcome(
                    GUIDED, SOLVED, 0.0, 0, 1, needless_repairs(self.knowledge, comeback, [solved.repair])
                )
        walk = take_over(walk)
        made: list[steps.MakeCheck] = []
        gone = go_on(
            walk, person, self.memory, lambda w, s, m: made.extend([s] if isinstance(s, steps.MakeCheck) else [])
        )
        end, minutes = guided_end(gone, person.car, target), gone.minutes
        if end in (RIGHT_SPECIALIST, HANDED_OVER):
            minutes += self.knowledge.settings.hand_over_minutes
        done = [d.repair for d in gone.walk.case.repairs]
        needless = needless_repairs(self.knowledge, comeback, done)
        asked = sum(self.knowledge.checks[step.check].asks_customer for step in made)
        again = sum(step.again is not None for step in made)
        return WorkOutcome(GUIDED, end, minutes, gone.steps, len(done), needless, asked, again)

    def _other(
        self, comeback: Comeback, walk: Walk, way: str, work_by: Callable[..., fixed_orders.Work]
    ) -> WorkOutcome:
        """One of the fixed orders on the same car."""
        person = self._person(comeback, "bay", self.bay)
        target = culprits(person.car, comeback.complaint)
        work: fixed_orders.Work = work_by(walk, person, self.lists)
        minutes, end = work.minutes, HANDED_OVER
        if work.how == fixed_orders.GONE:
            end = WRONGLY if target & person.car.present else FIXED
        else:
            minutes += self.knowledge.settings.hand_over_minutes
            removes = self.knowledge.repairs[work.last].removes if work.last else {}
            if work.how == fixed_orders.SPECIALIST and target & set(removes):
                end = RIGHT_SPECIALIST
        done = [d.repair for d in work.walk.case.repairs]
        return WorkOutcome(way, end, minutes, work.steps, len(done), needless_repairs(self.knowledge, comeback, done))


def without_openings(knowledge: KnowledgeBase) -> KnowledgeBase:
    """The knowledge without its opening looks, so that the chooser is free from the first look on."""
    services = {name: entry.model_copy(update={"opening": ()}) for name, entry in knowledge.services.items()}
    complaints = {name: entry.model_copy(update={"opening": ()}) for name, entry in knowledge.complaints.items()}
    return knowledge.model_copy(update={"services": services, "complaints": complaints})


def guided_end(gone: Gone, car: Car, target: frozenset[str]) -> str:
    """How a guided walk ended, for a complaint that the causes in `target` were behind."""
    match gone.step:
        case steps.CloseCase():
            return WRONGLY if target & car.present else FIXED
        case steps.HandOver(repair=str(repair)) if target & set(car.knowledge.repairs[repair].removes):
            return RIGHT_SPECIALIST
        case steps.HandOver() | steps.Finished():
            return HANDED_OVER
    return UNFINISHED


def needless_repairs(knowledge: KnowledgeBase, comeback: Comeback, done: list[str]) -> int:
    """How many of the repairs done could remove nothing that the car had when it drove in."""
    return sum(not set(comeback.causes) & set(knowledge.repairs[repair].removes) for repair in done)


def unsafe_advice(walk: Walk, comeback: Comeback, advice: Disposition | None) -> tuple[str, ...]:
    """What is unsafe about the advice: nothing, below a danger sign's floor, or below a flagged cause's need.

    The floor is taken straight from the answers: a raised sign's own, the worst of its kind for a
    "don't know", unless nobody who found another sign as it should be could miss it. A present cause whose
    danger sign was answered with a result that it gives must not be driven otherwise than the cause allows.
    """
    known, out = walk.knowledge, []
    given = Disposition.WATCH if advice is None else advice
    floor = Disposition.WATCH
    raised: set[tuple[str, str]] = set()
    cured = known.checks[walk.case.solved.check].remedy if walk.case.solved else None
    found = walk.view.results
    looked = any(known.checks[check].red_flag and found[check] == known.checks[check].expected for check in found)
    for check, result in found.items():
        if cured is not None and check in cured.despite:
            continue  # a car that starts now
        flags = known.checks[check].red_flag
        if result is None and flags and not (looked and known.checks[check].sureness is Sureness.UNMISTAKABLE):
            floor = max(floor, min(Disposition.TOW, max(flags.values())))
        elif result is not None and result in flags:
            floor = max(floor, flags[result])
            raised.add((check, result))
    if advice is None:
        out.append("no advice was given")
    if given < floor:
        out.append(f"advised {given.word}, the danger signs' floor is {floor.word}")
    for cause in comeback.causes:
        entry = known.causes[cause]
        shown = [(check, result) for check, result in sorted(raised) if check in entry.shows]
        hits = [check for check, result in shown if _gives(known, cause, check, result)]
        if hits and given < entry.drive:
            out.append(f"advised {given.word}, {cause} needs {entry.drive.word} and showed in {hits[0]}")
    return tuple(out)


def _gives(knowledge: KnowledgeBase, cause: str, check: str, result: str) -> bool:
    return knowledge.chances(cause, check)[knowledge.checks[check].names.index(result)] > 0


def known_minutes(car: Car, complaint: str) -> float:
    """Minutes if the causes behind the complaint were known beforehand: their cheapest repairs with proof."""
    return sum(_cheapest(car, cause) for cause in culprits(car, complaint))


def _cheapest(car: Car, cause: str) -> float:
    known, build = car.knowledge, tuple(car.vehicle.items())
    hand_over = known.settings.hand_over_minutes
    fitting = [r for r in known.repairs.values() if r.meant_for(cause) and fits(r.only_if, build)]
    return min((_price(known, repair) for repair in fitting), default=hand_over)


def _price(knowledge: KnowledgeBase, repair: Repair) -> float:
    if repair.level is Level.SPECIALIST:
        return knowledge.settings.hand_over_minutes
    return repair_minutes(knowledge, repair, ())

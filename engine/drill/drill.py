"""A drill: a hidden cause, a trainee who works in his own order, and the program's own path on the same car.

The car answers by named draws, so one seed is one car for a whole class, whatever anybody checks.
What ends a drill at once is a safety miss: danger signs not looked at first, cautions confirmed
without reading, driving advice below the floor, the engine run against a danger sign. Everything else
is scored at the end.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import ClassVar

from comeback.engine.belief.network import fits
from comeback.engine.drill import hints as drill_hints
from comeback.engine.drill.hidden_car import HiddenCar, Played
from comeback.engine.drill.measures import bits, still_open
from comeback.engine.drill.miss import Hazard, Miss, engine_kept_off
from comeback.engine.drill.worth import Worth, worth
from comeback.engine.rehearsal.fixed_orders import GONE as REMOVED
from comeback.engine.rehearsal.fixed_orders import SPECIALIST, Work
from comeback.engine.rehearsal.simulated_walk import SIGN_MINUTES, answered, check_minutes
from comeback.engine.rehearsal.simulation import Person, car_of
from comeback.engine.walk import steps
from comeback.engine.walk.disposition import rule
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

TELLS_NOTHING = 0.01
"""Bits below which a check was redundant."""
MOST_SUSPECTS = 3
STOPPED = "stopped for safety"
GONE = "complaint gone"


class Mode(StrEnum):
    """How much is done for the trainee, from a worked example to none; at the phone; for marks."""

    WATCH = "watch"
    COMPLETE = "complete"
    GUIDED = "guided"
    FREE = "free"
    PHONE = "phone"
    EXAM = "exam"

    @property
    def hints(self) -> bool:
        """True if hints are given, and counted."""
        return self in (Mode.COMPLETE, Mode.GUIDED, Mode.PHONE)


@dataclass(frozen=True)
class Conclusion:
    """A repair done, or a cause named: `causes` it means, `open` those still probable that it leaves out.

    `programs`: the program would have done the same repair then, for it weighs minutes.
    """

    kind: str
    name: str
    causes: tuple[str, ...]
    open: tuple[tuple[str, float], ...]
    after_turn: int
    programs: bool = False

    @property
    def unwarranted(self) -> bool:
        """True if something else was still probable."""
        return bool(self.open)


@dataclass(frozen=True)
class Turn:
    """A check, panel or repair of the trainee: `bits` it could tell, `best_bits` the most that any check could.

    `suspects`: causes named before it, the leading one first; `sure`: how sure of it, 0 to 1; `expects`:
    the result that was expected; `walk`: what was known then.
    """

    kind: str
    name: str
    checks: tuple[str, ...]
    results: Mapping[str, str | None]
    minutes: float
    bits: float
    best_bits: float
    suspects: tuple[str, ...]
    walk: Walk
    sure: float | None = None
    expects: str | None = None

    @property
    def redundant(self) -> bool:
        """True for a check that could tell nothing more."""
        return self.kind == "check" and self.bits < TELLS_NOTHING

    @cached_property
    def worth(self) -> Worth | None:
        """What it was worth beside the program's step, by what was known then; None if that cannot be told."""
        return worth(self.walk, self.kind, self.name, self.checks, self.minutes)


@dataclass
class Drill:
    """A drill under way, at the car. `ended` is empty while it goes on."""

    knowledge: KnowledgeBase
    car: HiddenCar
    mode: Mode
    work: Work = field(init=False)
    turns: list[Turn] = field(default_factory=list)
    conclusions: list[Conclusion] = field(default_factory=list)
    hints: list[str] = field(default_factory=list)
    misses: list[Miss] = field(default_factory=list)
    read: set[str] = field(default_factory=set)
    suspects: tuple[str, ...] = ()
    sure: float | None = None
    expects: str | None = None
    signs_seen: bool = False
    played: int = 0
    advice: Disposition | None = None
    right: Disposition | None = None
    least: Disposition | None = None
    ended: str = ""

    audience: ClassVar[Audience] = Audience.BAY

    def __post_init__(self) -> None:
        self.work = Work(self.start, self._person())

    def _person(self) -> Person:
        return Person(car_of(self.knowledge, self.car.comeback), "bay")

    @property
    def start(self) -> Walk:
        """What was known at the beginning."""
        return self.car.start

    @property
    def program(self) -> tuple[Played, ...]:
        """The program's own path on this car."""
        return self.car.path

    @property
    def walk(self) -> Walk:
        """What is known now."""
        return self.work.walk

    @property
    def vehicle(self) -> tuple[tuple[str, str], ...]:
        """How the car is built, as far as it is known."""
        return self.car.comeback.vehicle

    def danger_checks(self) -> tuple[str, ...]:
        """The danger signs of the complaint on this car."""
        flags = self.knowledge.complaints[self.car.comeback.complaint].red_flags
        return tuple(
            flag
            for flag in flags
            if flag in self.walk.situation.network.observables
            and flag not in self.start.situation.results
            and self.audience in self.knowledge.checks[flag].audience
        )

    def play(self) -> tuple[Played, ...]:
        """Let the program begin: two thirds of its path, but no repair. What it did."""
        path = self.car.path
        repair = next((k for k, p in enumerate(path) if isinstance(p.step, steps.DoRepair)), len(path))
        self.played = min(repair, -(-2 * len(path) // 3))
        done = path[: self.played]
        if done:
            self.work.walk = path[self.played].walk
            self.work.minutes = sum(p.minutes for p in done)
            self.signs_seen = True
            self.advice, self.least = self.best_advice(), self.floor()
        return done

    def look_at_signs(self) -> Mapping[str, str | None]:
        """Look at all danger signs; their results."""
        if not self.signs_seen:
            self.signs_seen = True
            known, signs = self.knowledge.checks, self.danger_checks()
            self._look(tuple(sign for sign in signs if not known[sign].runs_engine or not self._in_the_bay))
            if not self.walk.situation.engine_off:  # what is looked for with the engine running waits for that
                self._look(tuple(sign for sign in signs if known[sign].runs_engine and self._in_the_bay))
        return {check: self.walk.situation.results.get(check) for check in self.danger_checks()}

    @property
    def _in_the_bay(self) -> bool:
        return self.audience is Audience.BAY

    def _look(self, signs: tuple[str, ...]) -> None:
        self.work.walk = answered(self.walk, self.work.person, signs) if signs else self.walk
        self.work.minutes += SIGN_MINUTES * len(signs)

    @property
    def safety(self) -> list[str]:
        """The safety misses in words."""
        return [miss.text for miss in self.misses]

    def floor(self) -> Disposition:
        """The least that the customer may be told about driving."""
        return self._ruling()[0]

    def best_advice(self) -> Disposition:
        """What the program would tell the customer now."""
        return self._ruling()[1]

    def _ruling(self) -> tuple[Disposition, Disposition]:
        """(floor, advice) of the danger signs and what is known."""
        situation = self.walk.situation
        ruling = rule(self.knowledge, situation.network, situation.evidence, situation.results)
        return ruling.floor, ruling.advice

    def tell(self, advice: Disposition) -> None:
        """What the customer is told about driving; below the floor the drill stops."""
        self.advice, self.right, self.least = advice, self.best_advice(), self.floor()
        if advice < self.least:
            words = self.knowledge.dispositions
            told, least = words[advice].name, words[self.least].name
            text = f"advice below the danger signs: told was '{told}', the least is '{least}'"
            self.stop(text, Hazard.ADVICE, signs=self.walk.advice().flags)

    def stop(
        self, text: str, hazard: Hazard = Hazard.OTHER, cautions: tuple[str, ...] = (), signs: tuple[str, ...] = ()
    ) -> None:
        """A safety miss: the drill is over."""
        self.misses.append(Miss(hazard, text, cautions, signs))
        self.ended = STOPPED

    def group(self, check: str) -> tuple[str, ...]:
        """The check with those that are read at one go with it."""
        checks = self.knowledge.checks
        panel = checks[check].panel
        there = self.walk.situation.network.observables
        return tuple(c for c in there if panel and checks[c].panel == panel) or (check,)

    def makes_sense(self, check: str) -> bool:
        """False if the check is not possible on this car as it is known to be."""
        entry = self.knowledge.checks[check]
        return fits(entry.only_if, self.vehicle) and self.walk.situation.makes_sense(entry)

    def suspect(self, causes: tuple[str, ...], sure: float | None = None) -> None:
        """Name suspects before the next check, the leading one first; `sure` of it, 0 to 1."""
        self.suspects, self.sure = causes[:MOST_SUSPECTS], sure

    def check(self, name: str) -> Turn | None:
        """Make a check, with its panel; None if that was a safety miss."""
        if not self._signs_first():
            return None
        group, before = self.group(name), self.walk
        if not self._engine_may_run("check", name, group):
            return None
        minutes = check_minutes(before, group)
        told, best = bits(before, group)
        seen = before.case.answer(name, before.case.epoch)
        again = seen is not None and seen.result is not None
        if again:  # whoever looks a second time looks carefully
            self.work.person.look_again(name)
        self.work.walk = answered(before, self.work.person, group, again)
        self.work.minutes, self.work.steps = self.work.minutes + minutes, self.work.steps + 1
        results = {check: self.work.walk.situation.results[check] for check in group}
        return self._turn("check", name, group, results, minutes, told, best, before)

    def repair(self, name: str) -> Turn | None:
        """Do a repair, prove it and look whether the complaint is gone; None if that was a safety miss."""
        if not self._signs_first() or not self._engine_may_run("repair", name, ()):
            return None
        before, spent = self.walk, self.work.minutes
        self._conclude("repair", name, tuple(self.knowledge.repairs[name].removes))
        over = self.work.repair(name)
        epoch = self.walk.case.epoch
        results = {
            a.check: a.result for a in self.walk.case.answers if a.epoch == epoch and a not in before.case.answers
        }
        turn = self._turn("repair", name, (), results, self.work.minutes - spent, 0.0, 0.0, before)
        if over and self.work.how == REMOVED:
            self.ended = GONE
        elif over and self.work.how == SPECIALIST:
            self.ended = "handed over"
        return turn

    def name_cause(self, cause: str) -> Conclusion:
        """Say what it is; the drill goes on."""
        return self._conclude("cause", cause, (cause,))

    def hand_over(self) -> None:
        """Give the car on to somebody else."""
        self.ended = "handed over"

    def hint(self) -> str:
        """The next, clearer hint at what the program would do now: area, kind, the step itself."""
        level = min(3, 1 + sum(hint.partition(":")[0] == self._stage() for hint in self.hints))
        self.hints.append(f"{self._stage()}:{level}")
        return self._hint(level)

    def _stage(self) -> str:
        """What a hint is about: until this changes, the next hint is clearer."""
        return f"{len(self.turns)}" if self.signs_seen else "signs"

    def _hint(self, level: int) -> str:
        if not self.signs_seen:
            return drill_hints.SIGNS_FIRST[level - 1]
        return drill_hints.hint(self.walk, level)

    def _signs_first(self) -> bool:
        if not self.signs_seen and self.danger_checks():
            self.stop("danger signs were not looked at first", Hazard.SIGNS, signs=self.danger_checks())
        return not self.ended

    def _engine_may_run(self, kind: str, name: str, group: tuple[str, ...]) -> bool:
        """False, and the drill is over, if this runs the engine although a danger sign keeps it off."""
        signs = engine_kept_off(self.walk, kind, name, group) if self._in_the_bay else ()
        if signs:
            named = (self.knowledge.checks if kind == "check" else self.knowledge.repairs)[name].name
            text = f"'{named}' runs the engine although a danger sign that keeps it off was seen"
            self.stop(text, Hazard.ENGINE, signs=signs)
        return not signs

    def _turn(
        self, kind: str, name: str, checks: tuple[str, ...], results: Mapping[str, str | None], minutes: float,
        told: float, best: float, before: Walk,
    ) -> Turn:  # fmt: skip
        turn = Turn(
            kind, name, checks, results, minutes, told, best, self.suspects, before, self.sure, self.expects
        )  # fmt: skip
        self.turns.append(turn)
        self.suspects, self.sure, self.expects = (), None, None
        return turn

    def _conclude(self, kind: str, name: str, causes: tuple[str, ...]) -> Conclusion:
        left = still_open(self.walk, causes)
        step = self.walk.step if left and kind == "repair" else None
        programs = isinstance(step, steps.DoRepair) and step.repair == name
        made = Conclusion(kind, name, causes, left, len(self.turns), programs)
        self.conclusions.append(made)
        return made

"""A drill at the car: a hidden cause, a learner who works in their own order, the program's own path on the same car.

The car answers by named draws, so one seed is one car for a whole class, whatever anybody checks.
A safety miss ends a drill at once: danger signs not looked at first, cautions confirmed without
reading, driving advice below the floor, the engine run against a danger sign. Everything else
is scored at the end.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import ClassVar

from comeback.engine.belief.network import fits
from comeback.engine.choosing.valuation import repair_minutes
from comeback.engine.drill.hidden_car import HiddenCar, Played
from comeback.engine.drill.safety import Miss, MissKind, engine_kept_off
from comeback.engine.drill.worth import Worth, still_open, worth
from comeback.engine.rehearsal import fixed_orders
from comeback.engine.rehearsal.fixed_orders import Work
from comeback.engine.rehearsal.simulated_walk import SIGN_MINUTES, answered, check_minutes
from comeback.engine.rehearsal.simulation import Person, car_of
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience, Disposition

STOPPED, GONE, HANDED_OVER = "stopped for safety", "complaint gone", "handed over"
"""How a drill at the car ends."""


class Mode(StrEnum):
    """How much is done for the learner: a worked example, a drill with hints, a call with hints, an exam for marks."""

    WATCH = "watch"
    GUIDED = "guided"
    PHONE = "phone"
    EXAM = "exam"

    @property
    def hints(self) -> bool:
        """True if hints are given, and counted."""
        return self in (Mode.GUIDED, Mode.PHONE)


@dataclass(frozen=True)
class Turn:
    """A check (with its panel) or a repair of the learner; `kind` is "check" or "repair", `name` its id.

    `minutes` as the planner counts them; `walk`: what was known before it; `open`: (cause, chance) of what was
    still likely then and a repair leaves.
    """

    kind: str
    name: str
    checks: tuple[str, ...]
    results: Mapping[str, str | None]
    minutes: float
    walk: Walk
    open: tuple[tuple[str, float], ...] = ()

    @cached_property
    def worth(self) -> Worth | None:
        """What it was worth beside the program's step, by what was known then; None if that cannot be said."""
        return worth(self.walk, self.kind, self.name, self.checks)

    @property
    def redundant(self) -> bool:
        """True for a check that could show nothing new."""
        return self.kind == "check" and self.worth is not None and self.worth.idle

    @property
    def too_soon(self) -> bool:
        """True for a repair made while another cause was still likely, unless the program would have made it too."""
        return bool(self.open) and not (self.worth is not None and self.worth.same)


@dataclass
class Drill:
    """A drill under way. `ended` is empty while it goes on; `read` holds the cautions that were read.

    `advice` is what the customer was told about driving; `right` and `least` what the program would have told
    them then, and what the danger signs asked for.
    """

    knowledge: KnowledgeBase
    car: HiddenCar
    mode: Mode
    work: Work = field(init=False)
    turns: list[Turn] = field(default_factory=list)
    hints: int = 0
    misses: list[Miss] = field(default_factory=list)
    read: set[str] = field(default_factory=set)
    signs_seen: bool = False
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

    def danger_checks(self) -> tuple[str, ...]:
        """The danger signs asked first on this car, and on the phone those that a seen one leads to."""
        there, told = self.walk.view.network.observables, self.start.view.results
        new = (
            sign
            for sign in dict.fromkeys((*self.start.view.listed_signs, *self.walk.view.signs))
            if sign in there and sign not in told
        )
        return tuple(sign for sign in new if self.audience in self.knowledge.checks[sign].audience)

    def look_at_signs(self) -> Mapping[str, str | None]:
        """Look at all danger signs; their results. Those that need the engine wait until no other keeps it off."""
        signs, known = self.danger_checks(), self.knowledge.checks
        if not self.signs_seen:
            self.signs_seen = True
            running = tuple(s for s in signs if known[s].runs_engine and self.audience is Audience.BAY)
            self._look(tuple(sign for sign in signs if sign not in running))
            if not self.walk.view.engine_off:
                self._look(running)
        signs, answered_now = self.danger_checks(), {answer.check for answer in self.walk.case.answers}
        if self.audience is Audience.PHONE:  # what a seen sign leads to
            self._look(tuple(sign for sign in signs if sign not in answered_now))
        return {sign: self.walk.view.results.get(sign) for sign in signs}

    def _look(self, signs: tuple[str, ...]) -> None:
        self.work.walk = answered(self.walk, self.work.person, signs) if signs else self.walk
        self.work.minutes += SIGN_MINUTES * len(signs)

    def floor(self) -> Disposition:
        """The least that the customer may be told about driving."""
        return self.walk.advice().floor

    def best_advice(self) -> Disposition:
        """What the program would tell the customer now."""
        return self.walk.advice().disposition

    def tell(self, advice: Disposition) -> None:
        """Tell the customer about driving; below the floor the drill stops."""
        self.advice, self.right, self.least = advice, self.best_advice(), self.floor()
        if advice < self.least:
            told, least = (self.knowledge.dispositions[one].name for one in (advice, self.least))
            text = f"the advice was '{told}'; the danger signs ask for at least '{least}'"
            self.stop(text, MissKind.ADVICE, signs=self.walk.advice().flags)

    def stop(self, text: str, hazard: MissKind, cautions: tuple[str, ...] = (), signs: tuple[str, ...] = ()) -> None:
        """A safety miss: the drill is over."""
        self.misses.append(Miss(hazard, text, cautions, signs))
        self.ended = STOPPED

    def group(self, check: str) -> tuple[str, ...]:
        """The check with those that are read at one go with it."""
        checks = self.knowledge.checks
        panel, there = checks[check].panel, self.walk.view.network.observables
        return tuple(c for c in there if panel and checks[c].panel == panel) or (check,)

    def makes_sense(self, check: str) -> bool:
        """False if the check is not possible on this car as it is known to be."""
        entry = self.knowledge.checks[check]
        return fits(entry.only_if, self.walk.case.vehicle) and self.walk.view.makes_sense(entry)

    def runs_engine(self, kind: str, name: str) -> bool:
        """True if the check (with its panel) or the repair runs the engine."""
        if kind == "repair":
            return self.walk.view.runs_engine(name)
        return any(self.knowledge.checks[check].runs_engine for check in self.group(name))

    def as_step(self, kind: str, name: str) -> steps.DoRepair | steps.ReadPanel | steps.MakeCheck:
        """The check or repair as a step of the walk, so that its screen, cautions and "why" are the walk's own."""
        known, standing = self.knowledge, self.walk.view.standing_set_ups
        if kind == "repair":
            entry = known.repairs[name]
            new = tuple(one for one in entry.set_up if one not in standing)
            return steps.DoRepair(name, repair_minutes(known, entry, standing), 0.0, 0.0, (), set_up=new)
        group = self.group(name)
        minutes, panel = check_minutes(self.walk, group), known.checks[name].panel
        return steps.ReadPanel(panel, group, minutes, 0.0) if panel else steps.MakeCheck(name, minutes, 0.0, ())

    def check(self, name: str) -> Turn | None:
        """Make a check, with its panel; None if that was a safety miss."""
        group, before = self.group(name), self.walk
        if not self._signs_first() or not self._engine_may_run("check", name, group):
            return None
        minutes = check_minutes(before, group)
        seen = before.case.answer(name, before.case.epoch)
        again = seen is not None and seen.result is not None
        if again:  # a second look is a careful one
            self.work.person.look_again(name)
        self.work.walk = answered(before, self.work.person, group, again)
        self.work.minutes, self.work.steps = self.work.minutes + minutes, self.work.steps + 1
        results = {check: self.walk.view.results[check] for check in group}
        self.turns.append(Turn("check", name, group, results, minutes, before))
        return self.turns[-1]

    def repair(self, name: str) -> Turn | None:
        """Do a repair, prove it and look whether the complaint is gone; None if that was a safety miss."""
        if not self._signs_first() or not self._engine_may_run("repair", name, ()):
            return None
        before, spent = self.walk, self.work.minutes
        left = still_open(before, tuple(self.knowledge.repairs[name].removes))
        if self.work.repair(name):
            self.ended = {fixed_orders.GONE: GONE, fixed_orders.SPECIALIST: HANDED_OVER}.get(self.work.how, "")
        case, earlier = self.walk.case, before.case.answers
        results = {a.check: a.result for a in case.answers if a.epoch == case.epoch and a not in earlier}
        self.turns.append(Turn("repair", name, (), results, self.work.minutes - spent, before, left))
        return self.turns[-1]

    def hand_over(self) -> None:
        """Give the car to somebody else."""
        self.ended = HANDED_OVER

    def hint(self) -> str:
        """What the script asks for now, counted as a hint; empty if it is the walk's own next step."""
        self.hints += 1
        return self.due()

    def due(self) -> str:
        """What the script asks for now; empty if it is the walk's own next step."""
        return "" if self.signs_seen else "Look at the danger signs."

    def _signs_first(self) -> bool:
        if not self.signs_seen and self.danger_checks():
            self.stop("danger signs were not looked at first", MissKind.SIGNS, signs=self.danger_checks())
        return not self.ended

    def _engine_may_run(self, kind: str, name: str, group: tuple[str, ...]) -> bool:
        """False, and the drill is over, if this runs the engine although a danger sign keeps it off."""
        signs = engine_kept_off(self.walk, kind, name, group) if self.audience is Audience.BAY else ()
        if signs:
            named = (self.knowledge.checks if kind == "check" else self.knowledge.repairs)[name].name
            text = f"'{named}' runs the engine although a danger sign that keeps it off was seen"
            self.stop(text, MissKind.ENGINE, signs=signs)
        return not signs

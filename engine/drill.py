"""A drill: a hidden cause, a trainee who works in his own order, and the program's own path on the same car.

The car answers by named draws, so one seed is one car for a whole class, whatever anybody checks.
What ends a drill at once is a safety miss: danger signs not looked at first, cautions confirmed
without reading, driving advice below the floor. Everything else is scored at the end.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from comeback.engine import steps
from comeback.engine.disposition import rule
from comeback.engine.errors import EngineError
from comeback.engine.fixed_orders import GONE, SPECIALIST, Work
from comeback.engine.hidden_car import HiddenCar, Played
from comeback.engine.network import fits
from comeback.engine.planning import look_ahead
from comeback.engine.simulated_walk import DANGER_MINUTES, answered, check_minutes
from comeback.engine.simulation import Person, car_of
from comeback.engine.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Disposition

STILL_OPEN = 0.20
"""A conclusion is unwarranted while a cause that it leaves out is at least this probable ..."""
ESTABLISHED = 0.80
"""... unless what it names is itself at least this probable: two causes may both be there."""
TELLS_NOTHING = 0.01
"""Bits below which a check was redundant."""


class Mode(StrEnum):
    """How much is done for the trainee, from a worked example to none."""

    WATCH = "watch"
    COMPLETE = "complete"
    GUIDED = "guided"
    FREE = "free"


@dataclass(frozen=True)
class Conclusion:
    """A repair done, or a cause named: `causes` it means, `open` those still probable that it leaves out."""

    kind: str
    name: str
    causes: tuple[str, ...]
    open: tuple[tuple[str, float], ...]
    after_turn: int

    @property
    def unwarranted(self) -> bool:
        """True if something else was still probable."""
        return bool(self.open)


@dataclass(frozen=True)
class Turn:
    """A check, panel or repair of the trainee: `bits` it could tell, `best_bits` the most that any check could.

    `suspects`: causes named before it; `walk`: what was known then.
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

    @property
    def redundant(self) -> bool:
        """True for a check that could tell nothing more."""
        return self.kind == "check" and self.bits < TELLS_NOTHING


@dataclass
class Drill:
    """A drill under way. `ended` is empty while it goes on."""

    knowledge: KnowledgeBase
    car: HiddenCar
    mode: Mode
    work: Work = field(init=False)
    turns: list[Turn] = field(default_factory=list)
    conclusions: list[Conclusion] = field(default_factory=list)
    hints: list[str] = field(default_factory=list)
    safety: list[str] = field(default_factory=list)
    suspects: tuple[str, ...] = ()
    signs_seen: bool = False
    played: int = 0
    advice: Disposition | None = None
    ended: str = ""

    def __post_init__(self) -> None:
        person = Person(car_of(self.knowledge, self.car.comeback), "bay")
        self.work = Work(self.car.start, person)

    @property
    def walk(self) -> Walk:
        """What is known now."""
        return self.work.walk

    @property
    def vehicle(self) -> tuple[tuple[str, str], ...]:
        """How the car is built."""
        return self.car.comeback.vehicle

    def danger_checks(self) -> tuple[str, ...]:
        """The danger signs of the complaint on this car."""
        flags = self.knowledge.complaints[self.car.comeback.complaint].red_flags
        return tuple(
            flag
            for flag in flags
            if flag in self.walk.situation.network.observables and flag not in self.car.start.situation.results
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
            self.advice = self.best_advice()
        return done

    def look_at_signs(self) -> Mapping[str, str | None]:
        """Look at all danger signs; their results."""
        if not self.signs_seen:
            self.work.walk = answered(self.walk, self.work.person, self.danger_checks())
            self.work.minutes += DANGER_MINUTES
            self.signs_seen = True
        return {check: self.walk.situation.results.get(check) for check in self.danger_checks()}

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
        self.advice = advice
        floor = self.floor()
        if advice < floor:
            words = self.knowledge.dispositions
            told, least = words[advice].name, words[floor].name
            self.stop(f"advice below the danger signs: told was '{told}', the least is '{least}'")

    def stop(self, miss: str) -> None:
        """A safety miss: the drill is over."""
        self.safety.append(miss)
        self.ended = "stopped for safety"

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

    def check(self, name: str) -> Turn | None:
        """Make a check, with its panel; None if that was a safety miss."""
        if not self._signs_first():
            return None
        group, before = self.group(name), self.walk
        minutes = check_minutes(before, group)
        bits, best = _bits(before, group)
        self.work.walk = answered(before, self.work.person, group)
        self.work.minutes, self.work.steps = self.work.minutes + minutes, self.work.steps + 1
        results = {check: self.work.walk.situation.results[check] for check in group}
        return self._turn(Turn("check", name, group, results, minutes, bits, best, self.suspects, before))

    def repair(self, name: str) -> Turn | None:
        """Do a repair, prove it and look whether the complaint is gone; None if that was a safety miss."""
        if not self._signs_first():
            return None
        before, spent = self.walk, self.work.minutes
        self._conclude("repair", name, tuple(self.knowledge.repairs[name].removes))
        over = self.work.repair(name)
        epoch = self.walk.case.epoch
        results = {
            a.check: a.result for a in self.walk.case.answers if a.epoch == epoch and a not in before.case.answers
        }
        turn = Turn("repair", name, (), results, self.work.minutes - spent, 0.0, 0.0, self.suspects, before)
        self._turn(turn)
        if over and self.work.how == GONE:
            self.ended = "complaint gone"
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
        level = 1 + sum(hint.startswith(f"{len(self.turns)}:") for hint in self.hints)
        level = min(level, 3)
        self.hints.append(f"{len(self.turns)}:{level}")
        return self._hint(level)

    def _hint(self, level: int) -> str:
        step, known = self.walk.step, self.knowledge
        match step:
            case steps.MakeCheck(check=check):
                entry = known.checks[check]
                area, kind, name = entry.point or entry.condition or "what one sees at the car", entry.tool, entry.name
                texts = (f"Where: {area}", f"With: {kind or 'eyes, ears and hands'}", f"Check: {name}")
            case steps.ReadPanel(panel=panel):
                texts = ("Where: engine computer", "With: a scan tool", f"Check: {known.panels[panel].name}")
            case steps.DoRepair(repair=repair):
                texts = ("No check pays any more.", "It is time for a repair.", f"Repair: {known.repairs[repair].name}")
            case _:
                texts = ("Danger to people comes first.",) * 3
        return texts[level - 1]

    def _signs_first(self) -> bool:
        if not self.signs_seen and self.danger_checks():
            self.stop("danger signs were not looked at first")
        return not self.ended

    def _turn(self, turn: Turn) -> Turn:
        self.turns.append(turn)
        self.suspects = ()
        return turn

    def _conclude(self, kind: str, name: str, causes: tuple[str, ...]) -> Conclusion:
        made = Conclusion(kind, name, causes, still_open(self.walk, causes), len(self.turns))
        self.conclusions.append(made)
        return made


def still_open(walk: Walk, causes: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    """Causes at least STILL_OPEN probable that a conclusion on `causes` leaves out, unless it is ESTABLISHED."""
    try:
        present = dict(walk.situation.repair_candidates(0.0))
    except EngineError:
        return ()
    if max((present.get(cause, 0.0) for cause in causes), default=0.0) >= ESTABLISHED:
        return ()
    return tuple((c, p) for c, p in present.items() if p >= STILL_OPEN and c not in causes)


def _bits(walk: Walk, group: tuple[str, ...]) -> tuple[float, float]:
    """Bits that these checks can tell about what is wrong, and the most that any possible check can."""
    situation = walk.situation
    askable = situation.askable()
    fresh = [check for check in group if check in askable]
    try:
        outlook = look_ahead(
            walk.knowledge, situation.network, situation.evidence, askable, situation.repairs(),
            situation.standing_set_ups(),
        )  # fmt: skip
    except EngineError:
        return 0.0, 0.0
    told = {checks: outlook.node.information(number) for checks, number in outlook.numbers.items()}
    own = max((bits for checks, bits in told.items() if set(checks) & set(fresh)), default=0.0)
    return max(0.0, own), max([0.0, *told.values()])

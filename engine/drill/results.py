"""Results of drills over time: marks, the pass rule, what to train next, cars that come back, ids without names.

Parts stay apart: a better efficiency never makes up for a safety miss or a hasty conclusion. Days are
whole numbers (days since any fixed day).
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

PASS_OVER = 10
"""Drills that the pass rule looks at, the latest ones."""
LEAST_RIGHT = 0.90
"""Share of right advice, and of causes found, to pass; judged, no source. The second, because giving every car away
would pass otherwise."""
MOST_UNWARRANTED = 0.10
MOST_CHECKS = 1.5
"""Checks against the program's on the same cars; only those that were worked to their end count."""
RETURNS = (1, 3, 7, 21)
"""Days after which a missed car is due again, one step further each time it went well (our choice, after spacing)."""
PHONE, EXAM = "phone", "exam"


@dataclass(frozen=True)
class Result:
    """One finished drill. `car`: what draws this very car. What there is only at the car, or on the phone, is None."""

    id: str
    by: str
    at: str
    day: int
    mode: str
    car: tuple[int, str | None, str | None, str]
    complaint: str
    ended: str
    safety: tuple[str, ...]
    advice: bool | None
    found: bool | None
    checks: int
    program_checks: int
    minutes: float
    program_minutes: float
    conclusions: int
    unwarranted: int
    named: int
    named_true: int
    named_leading: int
    sure: tuple[tuple[float, bool], ...]
    hints: int
    promised: tuple[str, ...] = ()
    read_back: bool | None = None
    exam: str | None = None

    @property
    def missed(self) -> bool:
        """True if the car should come back: a safety miss, wrong advice, or the cause not found."""
        return bool(self.safety) or self.advice is False or self.found is False

    @property
    def to_the_end(self) -> bool:
        """True if no safety miss broke it off and, at the car, the cause was found: then the checks say something."""
        return not self.safety and self.found is not False


def result_of(id: str, by: str, at: str, day: int, data: Mapping[str, Any]) -> Result:
    """The result that was recorded when the drill ended. Raises KeyError, TypeError, ValueError if it is none."""
    asked, call, named, exam = data["asked"], data["call"] or {}, data["suspects"], data["exam"]
    efficiency, conclusions = data["efficiency"], data["conclusions"]
    at_the_car = data["mode"] != PHONE
    return Result(
        id, by, at, day, str(data["mode"]),
        (int(data["seed"]), asked["service"], asked["complaint"], str(data["knowledge"])),
        str(data["complaint"]), str(data["ended"]), tuple(data["safety"]["misses"]),
        data["advice"]["correct"], bool(conclusions["found"]) if at_the_car else None,
        int(efficiency["checks"]), int(efficiency["program_checks"]),
        float(efficiency["minutes"]), float(efficiency["program_minutes"]),
        int(conclusions["made"]), sum(not made["programs"] for made in conclusions["unwarranted"]),
        int(named["named"]), int(named["with_a_true_cause"]), int(named["leading"]),
        tuple((float(sure), bool(true)) for sure, true in named["sure"]),
        len(data["hints"]), tuple(call.get("promised", ())), call.get("read_back"),
        (exam["id"] or id) if exam else None,
    )  # fmt: skip


@dataclass(frozen=True)
class Marks:
    """What some drills amount to; every figure by itself. `counted` drills were worked to their end: their checks."""

    drills: int
    safety: int
    advised: int
    right: int
    at_the_car: int
    found: int
    conclusions: int
    unwarranted: int
    counted: int
    checks: int
    program_checks: int
    hints: int
    calls: int
    promised: int
    read_back: int

    @property
    def rules(self) -> tuple[tuple[str, bool | None], ...]:
        """Each part of the pass rule with whether it is met; None: nothing of the kind was tried."""
        return (
            ("safety", not self.safety),
            ("advice", self.right >= LEAST_RIGHT * self.advised if self.advised else None),
            ("found", self.found >= LEAST_RIGHT * self.at_the_car if self.at_the_car else None),
            ("conclusions", self.unwarranted <= MOST_UNWARRANTED * self.conclusions if self.conclusions else None),
            ("checks", self._few_checks),
        )

    @property
    def _few_checks(self) -> bool | None:
        """Few enough, and some: whoever makes none where the program made some has not shown how he chooses."""
        if not self.counted:
            return None
        return self.checks <= MOST_CHECKS * self.program_checks and bool(self.checks or not self.program_checks)

    @property
    def passed(self) -> bool:
        """True if no part of the rule is missed, and something was worked to its end."""
        return bool(self.counted) and all(met is not False for _, met in self.rules)


def marks(results: Iterable[Result]) -> Marks:
    """The marks of these drills together. Checks count where the work was done to its end."""
    all_of = list(results)
    car = [r for r in all_of if r.found is not None]
    calls = [r for r in all_of if r.mode == PHONE]
    whole = [r for r in all_of if r.to_the_end]
    return Marks(
        drills=len(all_of), safety=sum(len(r.safety) for r in all_of),
        advised=sum(r.advice is not None for r in all_of), right=sum(bool(r.advice) for r in all_of),
        at_the_car=len(car), found=sum(bool(r.found) for r in car),
        conclusions=sum(r.conclusions for r in all_of), unwarranted=sum(r.unwarranted for r in all_of),
        counted=len(whole), checks=sum(r.checks for r in whole),
        program_checks=sum(r.program_checks for r in whole),
        hints=sum(r.hints for r in all_of), calls=len(calls), promised=sum(bool(r.promised) for r in calls),
        read_back=sum(bool(r.read_back) for r in calls),
    )  # fmt: skip


def latest(results: Sequence[Result]) -> list[Result]:
    """The drills that the pass rule looks at: the latest PASS_OVER, in order of time."""
    return sorted(results, key=lambda r: (r.at, r.id))[-PASS_OVER:]


def calibration(results: Sequence[Result]) -> tuple[float, int] | None:
    """(Brier score, suspicions) of how sure the first suspects were; None before PASS_OVER drills, or if none said.

    Mean of (stated chance - 1 if it was true else 0) squared (Brier 1950): 0 is best, 0.25 is what "50 %" gives.
    """
    said = [pair for result in results for pair in result.sure]
    if len(results) < PASS_OVER or not said:
        return None
    return sum((sure - true) ** 2 for sure, true in said) / len(said), len(said)


@dataclass(frozen=True)
class TrainNext:
    """What to train: a part of the rule, "promises", "due" or "" (nothing stands out); the complaint missed most."""

    what: str
    complaint: str | None


def train_next(results: Sequence[Result], due_now: int) -> TrainNext:
    """The first thing that the latest drills miss, safety before all else."""
    recent = latest(results)
    got = marks(recent)
    missed = Counter(r.complaint for r in recent if r.missed)
    often = min(missed, key=lambda name: (-missed[name], name), default=None)
    for part, met in got.rules:
        if met is False:
            return TrainNext(part, often)
    if got.promised or got.read_back < got.calls:
        return TrainNext("promises", often)
    return TrainNext("due" if due_now else "", often)


@dataclass(frozen=True)
class DueCar:
    """A car that was missed: `due` is the day from which it comes back, `step` how often it went well since."""

    by: str
    mode: str
    car: tuple[int, str | None, str | None, str]
    complaint: str
    due: int
    step: int


def due_cars(results: Iterable[Result]) -> list[DueCar]:
    """Missed cars that are not yet settled, the longest due first."""
    waiting: dict[tuple[Any, ...], DueCar] = {}
    for result in sorted(results, key=lambda r: (r.at, r.id)):
        mode = PHONE if result.mode == PHONE else "free"
        key = (result.by, mode, result.car)
        known = waiting.get(key)
        if result.missed:
            step = 0
        elif known is None or result.day < known.due:
            continue
        else:
            step = (known.step if known else 0) + 1
        waiting.pop(key, None)
        if step < len(RETURNS):
            due = result.day + RETURNS[step]
            waiting[key] = DueCar(result.by, mode, result.car, result.complaint, due, step)
    return sorted(waiting.values(), key=lambda car: (car.due, car.by, car.car[0]))


def learner_id(name: str, log: str) -> str:
    """A learner without the name: the same in one log, another one in every other (`log`: what marks it)."""
    return "L" + hashlib.sha256(f"{log}\x1f{name}".encode("utf-8", "replace")).hexdigest()[:5].upper()

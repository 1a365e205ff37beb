"""What drills showed, in parts that are never added up: safety, advice, minutes, repairs too soon, hints.

Efficiency improves with practice while conclusions may not (Brooke, Cooke & Duncan 1983, from
memory), so one number for both would hide what to train next. A better efficiency never makes up
for a safety miss or a hasty repair.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any

from comeback.engine.drill.drill import GONE, Drill, Turn
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.worth import ALIKE, CHECKS, Verdict

PASS_OVER = 10
"""Drills that the pass rule looks at, the latest ones."""
LEAST_RIGHT = 0.90
"""Share of right advice, and of causes found, to pass; judged, no source. The second, because giving every car away
would pass otherwise."""
MOST_TOO_SOON = 0.10
"""Share of repairs made too soon up to which drills pass; judged, no source."""
MOST_CHECKS = 1.5
"""Checks against the program's on the same cars; only those that were worked to their end count."""


@dataclass(frozen=True)
class Score:
    """Figures of one drill beside the program's on the same car, as they are kept when it ends.

    Minutes are the planner's. `told`, `right`: the advice on driving, words of Disposition; None where none was given,
    and `right`, being of the key, while the drill goes on. `found`: a repair removed a cause behind the complaint; None
    of a call. `promised`, `read_back`: of a call, None at the car.
    """

    mode: str
    seed: int
    service: str
    complaint: str
    ended: str
    safety: tuple[str, ...]
    told: str | None
    right: str | None
    found: bool | None
    checks: int
    program_checks: int
    redundant: int
    minutes: float
    program_minutes: float
    repairs: int
    too_soon: int
    hints: int
    promised: tuple[str, ...] = ()
    read_back: bool | None = None

    @property
    def advice(self) -> bool | None:
        """True if the right advice was given; None if none was."""
        return None if self.told is None else self.told == self.right

    @property
    def missed(self) -> str:
        """What went wrong: a safety miss, wrong advice, or a cause not found; else empty."""
        if self.safety:
            return "SAFETY MISS"
        return "advice wrong" if self.advice is False else "not found" if self.found is False else ""

    @property
    def warranted(self) -> bool:
        """True if the complaint is gone and no repair came too soon."""
        return self.ended == GONE and not self.too_soon

    @property
    def shorter(self) -> bool:
        """True if the car was fixed in fewer minutes than the program took, and not by luck alone."""
        return self.warranted and self.minutes < self.program_minutes - ALIKE


def score(drill: Drill) -> Score:
    """The score of a drill, ended or left."""
    checks = [turn for turn in drill.turns if turn.kind == "check"]
    repairs = [turn for turn in drill.turns if turn.kind == "repair"]
    call = drill if isinstance(drill, PhoneDrill) else None
    car, removes = drill.car, drill.knowledge.repairs
    told, right = (None if level is None else level.word for level in (drill.advice, drill.right))
    return Score(
        drill.mode.value, car.seed, car.comeback.service, car.comeback.complaint, drill.ended or "left",
        tuple(miss.text for miss in drill.misses), told, right if drill.ended else None,
        found=None if call else any(car.behind & set(removes[turn.name].removes) for turn in repairs),
        checks=len(checks), program_checks=sum(isinstance(played.step, CHECKS) for played in drill.program),
        redundant=sum(turn.redundant for turn in checks), minutes=round(drill.work.minutes, 2),
        program_minutes=round(sum(played.minutes for played in drill.program), 2),
        repairs=len(repairs), too_soon=sum(turn.too_soon for turn in repairs),
        hints=drill.hints, promised=call.promised if call else (), read_back=call.read_back if call else None,
    )  # fmt: skip


def read_score(data: Mapping[str, Any]) -> Score:
    """The score that was kept. Raises KeyError, TypeError or ValueError if it is none."""
    values = {one.name: data[one.name] for one in fields(Score)}
    return Score(**values | {name: tuple(values[name]) for name in ("safety", "promised")})


def costliest(drill: Drill) -> tuple[int, Turn] | None:
    """(number from 1, turn) that cost most minutes beyond the program's step, by what was known then.

    None if every one was as good, or all together were quicker than the program.
    """
    worths = [(turn.worth, number) for number, turn in enumerate(drill.turns, 1)]
    lost = [(found.lost, -number) for found, number in worths if found and found.verdict is Verdict.COSTLIER]
    if not lost or score(drill).shorter:
        return None
    number = -max(lost)[1]
    return number, drill.turns[number - 1]


Share = tuple[int, int]
"""How many of how many."""


@dataclass(frozen=True)
class Marks:
    """Several drills together, every figure by itself.

    `advice`: right of those given; `found`: causes found of cars; `too_soon`: of repairs; `checks`: beside the
    program's in the `counted` drills, which were worked to their end.
    """

    drills: int
    safety: int
    advice: Share
    found: Share
    too_soon: Share
    counted: int
    checks: Share

    @property
    def rules(self) -> dict[str, bool | None]:
        """Each part of the pass rule with whether it is met; None: nothing of the kind was tried."""
        (right, advised), (found, cars), (hasty, repairs) = self.advice, self.found, self.too_soon
        return {
            "safety": not self.safety,
            "advice": right >= LEAST_RIGHT * advised if advised else None,
            "found": found >= LEAST_RIGHT * cars if cars else None,
            "too soon": hasty <= MOST_TOO_SOON * repairs if repairs else None,
            "checks": self.checks[0] <= MOST_CHECKS * self.checks[1] and not self.blind if self.counted else None,
        }

    @property
    def blind(self) -> bool:
        """True if no check was made where the program made some: nothing was shown of how they are chosen."""
        return bool(self.counted and self.checks[1] and not self.checks[0])

    @property
    def passed(self) -> bool:
        """True if no part of the rule is missed, and something was worked to its end."""
        return bool(self.counted) and all(met is not False for met in self.rules.values())


def marks(scores: Iterable[Score]) -> Marks:
    """The marks of these drills together."""
    every = list(scores)
    # Checks say something where no safety miss broke the work off and, at the car, the cause was found.
    whole = [one for one in every if not one.safety and one.found is not False]
    advice, found = (
        [given for one in every if (given := getattr(one, key)) is not None] for key in ("advice", "found")
    )
    return Marks(
        len(every), sum(len(one.safety) for one in every), (sum(advice), len(advice)), (sum(found), len(found)),
        (sum(one.too_soon for one in every), sum(one.repairs for one in every)),
        len(whole), (sum(one.checks for one in whole), sum(one.program_checks for one in whole)),
    )  # fmt: skip

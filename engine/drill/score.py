"""What a drill showed, in parts that are never added up: safety, advice, minutes, repairs too soon, hints.

Efficiency improves with practice while conclusions may not (Brooke, Cooke & Duncan 1983, from
memory), so one number for both would hide what to train next.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from comeback.engine.drill.drill import GONE, Drill, Turn
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.worth import ALIKE, Verdict
from comeback.engine.walk import steps

CHECKS = (steps.MakeCheck, steps.ReadPanel)


@dataclass(frozen=True)
class Score:
    """Figures of one drill beside the program's on the same car, as they are kept when it ends.

    Minutes are the planner's. `told`, `right`, `least`: the advice on driving, words of Disposition; None where none
    was given. `found`: a repair removed a cause behind the complaint; None of a call. `too_soon`: repairs made while
    another cause was still likely, without those that the program would have made too. `hints`: their levels, 1 to
    3. `promised`, `read_back`: of a call, None at the car. While the drill goes on, the key is left out: `behind`,
    `right` and `least` are None. `exam`: which exam it belongs to, as `exam.beginning` has it.
    """

    mode: str
    seed: int
    service: str
    complaint: str
    behind: tuple[str, ...] | None
    exam: Mapping[str, Any] | None
    ended: str
    safety: tuple[str, ...]
    told: str | None
    right: str | None
    least: str | None
    found: bool | None
    checks: int
    program_checks: int
    redundant: int
    minutes: float
    program_minutes: float
    repairs: int
    too_soon: int
    hints: tuple[int, ...]
    promised: tuple[str, ...] = ()
    read_back: bool | None = None

    @property
    def advice(self) -> bool | None:
        """True if the right advice was given; None if none was."""
        return None if self.told is None else self.told == self.right

    @property
    def missed(self) -> bool:
        """True for a safety miss, wrong advice, or a cause that was not found."""
        return bool(self.safety) or self.advice is False or self.found is False

    @property
    def to_the_end(self) -> bool:
        """True if no safety miss broke it off and, at the car, the cause was found: then the checks say something."""
        return not self.safety and self.found is not False

    @property
    def warranted(self) -> bool:
        """True if the complaint is gone and no repair came too soon."""
        return self.ended == GONE and not self.too_soon

    @property
    def shorter(self) -> bool:
        """True if the car was fixed in fewer minutes than the program took, and not by luck alone."""
        return self.warranted and self.minutes < self.program_minutes - ALIKE


def score(drill: Drill, exam: Mapping[str, Any] | None = None) -> Score:
    """The score of a drill, ended or left."""
    checks = [turn for turn in drill.turns if turn.kind == "check"]
    repairs = [turn for turn in drill.turns if turn.kind == "repair"]
    call = drill if isinstance(drill, PhoneDrill) else None
    car, over, removes = drill.car, bool(drill.ended), drill.knowledge.repairs
    told, right, least = (None if level is None else level.word for level in (drill.advice, drill.right, drill.least))
    return Score(
        drill.mode.value, car.seed, car.comeback.service, car.comeback.complaint,
        tuple(sorted(car.behind)) if over else None, exam, drill.ended or "left",
        tuple(miss.text for miss in drill.misses), told, right if over else None, least if over else None,
        found=None if call else any(car.behind & set(removes[turn.name].removes) for turn in repairs),
        checks=len(checks), program_checks=sum(isinstance(played.step, CHECKS) for played in drill.program),
        redundant=sum(turn.redundant for turn in checks), minutes=round(drill.work.minutes, 2),
        program_minutes=round(sum(played.minutes for played in drill.program), 2),
        repairs=len(repairs), too_soon=sum(turn.too_soon and not turn.programs for turn in repairs),
        hints=tuple(level for _, level in drill.hints),
        promised=call.promised if call else (), read_back=call.read_back if call else None,
    )  # fmt: skip


def read_score(data: Mapping[str, Any]) -> Score:
    """The score that was kept. Raises KeyError, TypeError or ValueError if it is none."""
    values = {one.name: data[one.name] for one in fields(Score)}
    values |= {name: tuple(values[name]) for name in ("safety", "hints", "promised")}
    return Score(**values)


def costliest(drill: Drill) -> tuple[int, Turn] | None:
    """(number from 1, turn) that cost most minutes beyond the program's step, by what was known then.

    None if every one was as good, or all together were quicker than the program.
    """
    lost = [
        (number, turn)
        for number, turn in enumerate(drill.turns, 1)
        if turn.worth is not None and turn.worth.verdict is Verdict.COSTLIER
    ]
    if not lost or score(drill).shorter:
        return None
    return max(lost, key=lambda one: (one[1].worth.lost if one[1].worth else 0.0, -one[0]))

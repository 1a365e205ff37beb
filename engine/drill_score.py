"""What a drill showed, in parts that are never added up: safety, efficiency, conclusions, hints.

Efficiency improves with practice while conclusions may not (Brooke, Cooke & Duncan 1983, from
memory), so one number for both would hide what to train next.
"""

from dataclasses import dataclass

from comeback.engine import steps
from comeback.engine.drill import Conclusion, Drill, Turn, still_open
from comeback.engine.errors import EngineError
from comeback.engine.hidden_car import Played

CHECKS = (steps.MakeCheck, steps.ReadPanel)


@dataclass(frozen=True)
class Divergence:
    """The first turn at which the trainee did something else than the program would have, by number from 1."""

    number: int
    turn: Turn
    instead: steps.Step


@dataclass(frozen=True)
class Score:
    """Figures of one drill beside the program's on the same car; minutes are the planner's.

    `found`: a cause behind the complaint was removed by a repair, or named. `bits`, `best_bits`: mean per
    check. `program_unwarranted`: the program's own repairs by the same rule, for it weighs minutes.
    `named_right`, `named`: turns with suspects named, and of these with a true one among them.
    """

    ended: str
    safety: tuple[str, ...]
    found: bool
    checks: int
    program_checks: int
    repairs: int
    minutes: float
    program_minutes: float
    bits: float
    best_bits: float
    redundant: int
    unwarranted: tuple[Conclusion, ...]
    conclusions: int
    program_unwarranted: int
    named: int
    named_right: int
    hint_levels: tuple[int, ...]
    divergence: Divergence | None


def score(drill: Drill) -> Score:
    """The score of a drill, ended or left."""
    checks = [turn for turn in drill.turns if turn.kind == "check"]
    named = [turn for turn in drill.turns if turn.suspects]
    behind = drill.car.behind
    return Score(
        ended=drill.ended or "left",
        safety=tuple(drill.safety),
        found=any(behind & set(made.causes) for made in drill.conclusions),
        checks=len(checks),
        program_checks=sum(isinstance(p.step, CHECKS) for p in drill.car.path[drill.played :]),
        repairs=sum(turn.kind == "repair" for turn in drill.turns),
        minutes=drill.work.minutes,
        program_minutes=drill.car.minutes,
        bits=_mean([turn.bits for turn in checks]),
        best_bits=_mean([turn.best_bits for turn in checks]),
        redundant=sum(turn.redundant for turn in checks),
        unwarranted=tuple(made for made in drill.conclusions if made.unwarranted),
        conclusions=len(drill.conclusions),
        program_unwarranted=sum(_too_soon(played) for played in drill.car.path),
        named=len(named),
        named_right=sum(bool(behind & set(turn.suspects)) for turn in named),
        hint_levels=tuple(int(hint.partition(":")[2]) for hint in drill.hints),
        divergence=divergence(drill),
    )


def _mean(values: list[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _too_soon(played: Played) -> bool:
    """True for a repair of the program while a cause that it leaves out was still probable."""
    if not isinstance(played.step, steps.DoRepair):
        return False
    return bool(still_open(played.walk, tuple(played.walk.knowledge.repairs[played.step.repair].removes)))


def divergence(drill: Drill) -> Divergence | None:
    """The first turn that is not what the program would have done at that point; None if there is none."""
    for number, turn in enumerate(drill.turns, 1):
        try:
            step = turn.walk.step
        except EngineError:
            return None
        if not same(turn, step):
            return Divergence(number, turn, step)
    return None


def same(turn: Turn, step: steps.Step) -> bool:
    """True if the trainee's turn is the program's step."""
    match step:
        case steps.MakeCheck(check=check):
            return turn.kind == "check" and check in turn.checks
        case steps.ReadPanel(checks=checks):
            return turn.kind == "check" and bool(set(checks) & set(turn.checks))
        case steps.DoRepair(repair=repair):
            return turn.kind == "repair" and turn.name == repair
    return False

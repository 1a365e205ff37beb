"""What a drill showed, in parts that are never added up: safety, advice, efficiency, conclusions, hints.

Efficiency improves with practice while conclusions may not (Brooke, Cooke & Duncan 1983, from
memory), so one number for both would hide what to train next.
"""

from dataclasses import dataclass, replace

from comeback.engine.drill.drill import GONE, Conclusion, Drill, Turn
from comeback.engine.drill.hidden_car import Played
from comeback.engine.drill.measures import leading, still_open
from comeback.engine.drill.phone import PhoneDrill
from comeback.engine.drill.worth import ALIKE, Verdict, Worth, is_step
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Disposition

CHECKS = (steps.MakeCheck, steps.ReadPanel)
WELL = (Verdict.BETTER, Verdict.AS_GOOD)


@dataclass(frozen=True)
class Divergence:
    """The turn that cost most minutes beyond the program's step, by what was known then; by number from 1."""

    number: int
    turn: Turn
    worth: Worth

    @property
    def instead(self) -> steps.Step:
        """What the program would have done then."""
        return self.worth.instead


@dataclass(frozen=True)
class Suspicion:
    """Suspects named before a turn: was a true cause among them, were they well founded, how sure of the first.

    `leading`: one of them was among the most probable then. `true_first`: the first one was a true cause.
    """

    number: int
    true: bool
    leading: bool
    true_first: bool
    sure: float | None


@dataclass(frozen=True)
class Advice:
    """What the customer was told about driving, what was right, the least allowed; None where nothing was told."""

    told: Disposition | None
    right: Disposition | None
    least: Disposition | None

    @property
    def correct(self) -> bool | None:
        """None if the trainee was not asked for it."""
        return None if self.right is None else self.told == self.right


@dataclass(frozen=True)
class Score:
    """Figures of one drill beside the program's on the same car; minutes are the planner's.

    `good`: turns, by number from 1, that were not the program's step and still as good or better by what was
    known then. `found`: a cause behind the complaint was removed by a repair, or named. `bits`, `best_bits`: mean per
    check. `program_unwarranted`: the program's own repairs by the same rule, for it weighs minutes.
    `expected`, `met`: turns before which a result was expected, and how often it came.
    """

    ended: str
    safety: tuple[str, ...]
    advice: Advice
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
    suspicions: tuple[Suspicion, ...]
    expected: int
    met: int
    hint_levels: tuple[int, ...]
    divergence: Divergence | None
    good: tuple[int, ...] = ()
    promised: tuple[str, ...] = ()
    read_back: bool | None = None

    @property
    def named(self) -> int:
        """Turns before which suspects were named."""
        return len(self.suspicions)

    @property
    def named_right(self) -> int:
        """Of these, those with a true cause among the suspects."""
        return sum(one.true for one in self.suspicions)

    @property
    def warranted(self) -> bool:
        """True if the complaint is gone and no conclusion was drawn too soon but such as the program draws too."""
        return self.ended == GONE and all(made.programs for made in self.unwarranted)

    @property
    def shorter(self) -> bool:
        """True if the car was put right in fewer minutes than the program took, and not by luck alone."""
        return self.warranted and self.minutes < self.program_minutes - ALIKE


def score(drill: Drill) -> Score:
    """The score of a drill, ended or left."""
    checks = [turn for turn in drill.turns if turn.kind == "check"]
    expecting = [turn for turn in drill.turns if turn.expects is not None]
    behind, call = drill.car.behind, drill if isinstance(drill, PhoneDrill) else None
    made = Score(
        ended=drill.ended or "left",
        safety=tuple(drill.safety),
        advice=Advice(drill.advice, drill.right, drill.least),
        found=any(behind & set(made.causes) for made in drill.conclusions),
        checks=len(checks),
        program_checks=sum(isinstance(p.step, CHECKS) for p in drill.program[drill.played :]),
        repairs=sum(turn.kind == "repair" for turn in drill.turns),
        minutes=drill.work.minutes,
        program_minutes=sum(p.minutes for p in drill.program),
        bits=_mean([turn.bits for turn in checks]),
        best_bits=_mean([turn.best_bits for turn in checks]),
        redundant=sum(turn.redundant for turn in checks),
        unwarranted=tuple(made for made in drill.conclusions if made.unwarranted),
        conclusions=len(drill.conclusions),
        program_unwarranted=sum(_too_soon(played) for played in drill.program),
        suspicions=tuple(_suspicion(drill, n, turn) for n, turn in enumerate(drill.turns, 1) if turn.suspects),
        expected=len(expecting),
        met=sum(turn.results.get(turn.name) == turn.expects for turn in expecting),
        hint_levels=tuple(int(hint.partition(":")[2]) for hint in drill.hints),
        divergence=divergence(drill),
        good=tuple(n for n, turn in enumerate(drill.turns, 1) if turn.worth and turn.worth.verdict in WELL),
        promised=call.promised if call else (),
        read_back=call.read_back if call else None,
    )
    return replace(made, divergence=None) if made.shorter else made


def _mean(values: list[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _suspicion(drill: Drill, number: int, turn: Turn) -> Suspicion:
    named, behind = set(turn.suspects), drill.car.behind
    founded = bool(named & set(leading(turn.walk)))
    return Suspicion(number, bool(behind & named), founded, turn.suspects[0] in behind, turn.sure)


def _too_soon(played: Played) -> bool:
    """True for a repair of the program while a cause that it leaves out was still probable."""
    if not isinstance(played.step, steps.DoRepair):
        return False
    return bool(still_open(played.walk, tuple(played.walk.knowledge.repairs[played.step.repair].removes)))


def divergence(drill: Drill) -> Divergence | None:
    """The turn that cost most beyond the program's step; None if every one was as good by what was known then."""
    lost = [
        Divergence(number, turn, turn.worth)
        for number, turn in enumerate(drill.turns, 1)
        if turn.worth is not None and turn.worth.verdict is Verdict.COSTLIER
    ]
    return max(lost, key=lambda one: (one.worth.lost, -one.number), default=None)


def same(turn: Turn, step: steps.Step) -> bool:
    """True if the trainee's turn is the program's step."""
    return is_step(turn.kind, turn.name, turn.checks, step)

"""What ends a drill for safety: which hazard it was, the cautions that tell of it, the danger signs that stood."""

from dataclasses import dataclass
from enum import StrEnum

from comeback.engine.drill.worth import is_step
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import EngineOff


class MissKind(StrEnum):
    """Kinds of safety miss."""

    SIGNS = "signs not looked at"
    UNREAD = "cautions not read"
    ADVICE = "advice too mild"
    ENGINE = "engine run"
    DRIVING = "driver not asked"
    TALKED = "driver kept talking"
    SILENT = "no advice"
    TRIP = "short trip promised"


@dataclass(frozen=True)
class Miss:
    """One safety miss: what it was in words, `cautions` (ids) that belong to it, `signs` (checks) that stood."""

    hazard: MissKind
    text: str
    cautions: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


def engine_kept_off(walk: Walk, kind: str, name: str, checks: tuple[str, ...]) -> tuple[str, ...]:
    """Danger signs against which this check or repair would run the engine, where it may not yet; mostly none.

    With a sign of UNTIL-REPAIRED it may not before what shows in the sign is repaired; with one of
    UNTIL-LOOKED not while a check with the engine off still pays. What the program itself would do is no miss.
    """
    signs = walk.view.engine_off
    if not signs or not _runs(walk, kind, name, checks, tuple(signs)):
        return ()
    step = walk.step
    if is_step(kind, name, checks, step):
        return ()
    if EngineOff.REPAIRED in signs.values():
        return tuple(sign for sign, until in signs.items() if until is EngineOff.REPAIRED)
    return tuple(signs) if isinstance(step, steps.MakeCheck | steps.ReadPanel) and not _step_runs(walk, step) else ()


def _runs(walk: Walk, kind: str, name: str, checks: tuple[str, ...], signs: tuple[str, ...]) -> bool:
    known = walk.knowledge
    if kind == "check":
        return any(known.checks[check].runs_engine for check in checks)
    repair = known.repairs[name]
    if walk.view.runs_engine(name):
        return True
    lifted = {sign for sign in signs for cause in repair.removes if sign in known.causes[cause].shows}
    return known.checks[repair.proof.check].runs_engine and bool(set(signs) - lifted)


def _step_runs(walk: Walk, step: steps.MakeCheck | steps.ReadPanel) -> bool:
    checks = step.checks if isinstance(step, steps.ReadPanel) else (step.check,)
    return any(walk.knowledge.checks[check].runs_engine for check in checks)

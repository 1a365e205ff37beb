"""What ends a drill for safety: which hazard it was, the cautions about it, the danger signs that were there."""

from dataclasses import dataclass
from enum import StrEnum

from comeback.engine.drill.worth import CHECKS, is_step
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
    """One safety miss: what it was in words, the `cautions` (ids) about it, the `signs` (checks) it went against."""

    hazard: MissKind
    text: str
    cautions: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()


def engine_kept_off(walk: Walk, kind: str, name: str, checks: tuple[str, ...]) -> tuple[str, ...]:
    """Danger signs against which this check or repair would run the engine too early; mostly none.

    With a sign of UNTIL-REPAIRED the engine stays off until what shows in the sign is repaired; with one of
    UNTIL-LOOKED while a check with the engine off still pays. What the program itself would do is no miss.
    """
    signs, step = walk.view.engine_off, walk.step
    if not signs or not _runs(walk, kind, name, checks, set(signs)) or is_step(kind, name, checks, step):
        return ()
    if EngineOff.REPAIRED in signs.values():
        return tuple(sign for sign, until in signs.items() if until is EngineOff.REPAIRED)
    looks = isinstance(step, CHECKS) and not any(
        walk.knowledge.checks[one].runs_engine for one in steps.checks_of(step)
    )
    return tuple(signs) if looks else ()


def _runs(walk: Walk, kind: str, name: str, checks: tuple[str, ...], signs: set[str]) -> bool:
    """True if it runs the engine; a repair whose proof does, only while it leaves a sign."""
    known = walk.knowledge
    if kind == "check":
        return any(known.checks[check].runs_engine for check in checks)
    repair = known.repairs[name]
    left = signs - {sign for cause in repair.removes for sign in known.causes[cause].shows}
    return walk.view.runs_engine(name) or bool(left and known.checks[repair.proof.check].runs_engine)

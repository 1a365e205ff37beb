"""What a closed case teaches: its causes, what the checks showed, what had been predicted.

Only proven cases count: the repair was done, its proof held and the complaint is gone. Findings count
before the first repair, and only if one repair removed one cause, so that nothing else had a hand in
them. The complaint's own results are no findings: they are why the car is here at all.
What a caller did alone is a weaker proof: it counts how often a cause is there, and nothing else, until the
customer calls again or the car comes in.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Event
from comeback.engine.errors import EngineError
from comeback.engine.walk.case_view import CaseView
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

BINS = 10
"""Classes of predicted chance in the calibration report: 0 to 10 %, ..., 90 to 100 %."""
LEAST_PREDICTED = 0.02
"""Causes given a smaller chance are no prediction worth keeping."""


@dataclass(frozen=True)
class Outcome:
    """`findings` check -> result, empty unless one cause was removed by one repair; `predicted` 0 to 1.

    `by_phone`: the caller did it alone, so that no prediction is compared with it.
    """

    shop: str
    service: str
    causes: tuple[str, ...]
    findings: Mapping[str, str]
    predicted: Mapping[str, float]
    by_phone: bool = False


def outcome_of(events: Sequence[Event], shop: str = "") -> Outcome | None:
    """What the case teaches; None if it is not closed with a proven repair, or cannot be read.

    `shop` is for cases that do not name theirs in their first event.
    """
    try:
        case = read_case(events)
        ended = case.closed or case.solved
        if ended is None or not case.service or case.also:
            return None  # nor of several services at once: a cause could not be counted for one of them
        listed = ended.causes if isinstance(ended.causes, tuple) else ()
        named = [c for c in listed if isinstance(c, str) and len(c) <= 40]
        causes = tuple(sorted({*named}))
        whose = str(events[0].payload.get("shop") or shop)[:80]
        closed = case.closed
        if closed is None:
            return Outcome(whose, case.service[:40], (named[0],), {}, {}, True) if named else None
        if closed.proven is not True:
            return None
        predicted = _chances(closed.predicted)
        findings = {a.check: a.result for a in case.answers if a.epoch == 0 and a.result is not None}
        lone = len(causes) == 1 and len(case.repairs) == 1
        kept = {c: r for c, r in findings.items() if len(c) <= 40 and len(r) <= 40} if lone else {}
        return Outcome(whose, case.service[:40], causes, kept, predicted) if causes else None
    except (KeyError, TypeError, AttributeError, ValueError):  # not written by this program
        return None


def _chances(raw: Any) -> dict[str, float]:
    pairs = raw.items() if isinstance(raw, Mapping) else ()
    good = ((str(c)[:40], p) for c, p in pairs if isinstance(p, int | float) and not isinstance(p, bool))
    return {cause: float(p) for cause, p in good if 0 <= p <= 1}


def predicted_causes(knowledge: KnowledgeBase, events: Sequence[Event]) -> dict[str, float]:
    """Chance of each cause as it stood just before the first repair, for those of 2 % or more."""
    try:
        case = read_case(events)
        case = replace(case, repairs=(), answers=tuple(a for a in case.answers if a.epoch == 0))
        view = CaseView(knowledge, case, Audience.BAY)
        present, causes = view.belief.present, view.network.causes
    except (EngineError, KeyError, ValueError, TypeError):  # findings that today's knowledge does not know
        return {}
    return {causes[i]: round(float(p), 4) for i, p in enumerate(present) if p >= LEAST_PREDICTED}

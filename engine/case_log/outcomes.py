"""What closed cases teach: their causes, and what the checks showed.

Only proven cases count: the repair was done, its proof held and the complaint is gone. Findings count before the first
repair, and only if one repair removed one cause, so that nothing else had a hand in them. The complaint's own results
are no findings: they are why the car is here at all. What a caller did alone is a weaker proof: it counts how often a
cause is there, and nothing else, until the customer calls again or the car comes in.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import sqlalchemy as sa

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Event
from comeback.engine.case_log.tables import CAUSE, FINDING, OUTCOMES
from comeback.engine.errors import EngineError
from comeback.engine.walk.case_view import CaseView
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import Audience

LEAST_PREDICTED = 0.02
"""Causes given a smaller chance are no prediction worth keeping."""


@dataclass(frozen=True)
class Outcome:
    """What a case teaches. `findings` check -> result, empty unless one cause was removed by one repair."""

    shop: str
    service: str
    causes: tuple[str, ...]
    findings: Mapping[str, str]


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
        if case.closed is None:
            return Outcome(whose, case.service[:40], (named[0],), {}) if named else None
        if case.closed.proven is not True or not causes:
            return None
        lone = len(causes) == 1 and len(case.repairs) == 1
        findings = {a.check: a.result for a in case.answers if lone and a.epoch == 0 and a.result is not None}
        kept = {c: r for c, r in findings.items() if len(c) <= 40 and len(r) <= 40}
        return Outcome(whose, case.service[:40], causes, kept)
    except (KeyError, TypeError, AttributeError, ValueError):  # not written by this program
        return None


def outcome_rows(events: Sequence[Event], shop: str = "") -> dict[sa.Table, list[dict[str, str]]]:
    """What the case teaches as rows of the outcome tables; none if it teaches nothing."""
    outcome = outcome_of(events, shop)
    if outcome is None:
        return {table: [] for table in OUTCOMES}
    one = {"shop": outcome.shop, "case_id": events[0].case}
    lone = {**one, "cause": outcome.causes[0]}
    return {
        CAUSE: [{**one, "service": outcome.service, "cause": cause} for cause in outcome.causes],
        FINDING: [{**lone, "check_id": check, "result": result} for check, result in outcome.findings.items()],
    }


def write_outcome(connection: sa.Connection, events: Sequence[Event], shop: str = "") -> None:
    """Write what a case teaches, in place of what was written before."""
    forget_outcome(connection, events[0].case)
    for table, rows in outcome_rows(events, shop).items():
        if rows:
            connection.execute(table.insert(), rows)


def forget_outcome(connection: sa.Connection, case: str) -> None:
    """Take back what learning counts of this case."""
    for table in OUTCOMES:
        connection.execute(table.delete().where(table.c.case_id == case))


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

"""What learning needs from a case log, added up by the database; rows come in portions."""

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from comeback.engine.case.events import Kind
from comeback.engine.case_log.integrity import STREAM
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.case_log.tables import CAUSE, EVENTS, FINDING


def cause_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, int]]:
    """(shop, service, cause, closed and proven cases)."""
    yield from _counted(log, CAUSE)


def finding_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, str, int]]:
    """(shop, cause, check, result, cases) of cases with that cause alone, before any repair."""
    yield from _counted(log, FINDING)


def latest_proven(log: SqlCaseLog, most: int) -> list[str]:
    """The latest closed and proven cases, at most so many."""
    proven = EVENTS.c.case_id.in_(sa.select(CAUSE.c.case_id)) & (EVENTS.c.kind == Kind.CLOSED)
    query = sa.select(EVENTS.c.case_id).where(proven).group_by(EVENTS.c.case_id)
    query = query.order_by(sa.func.max(EVENTS.c.at).desc(), EVENTS.c.case_id).limit(most)
    with log.reading() as connection:
        return list(connection.execute(query).scalars())


def _counted(log: SqlCaseLog, table: sa.Table) -> Iterator[Any]:
    """Cases by all columns but the case itself, in the order of the table's key."""
    keys = [column for column in table.columns if column.name != "case_id"]
    query = sa.select(*keys, sa.func.count()).group_by(*keys).order_by(*keys)
    with log.reading() as connection, connection.execution_options(**STREAM).execute(query) as rows:
        yield from rows

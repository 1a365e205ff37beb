"""What learning needs from a case log, added up in the database as cases close; rows come in portions."""

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from comeback.engine.case_log.integrity import STREAM
from comeback.engine.case_log.outcomes import BINS
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.case_log.tables import COUNT_CAUSE, COUNT_FINDING, COUNT_PREDICTION, UNPREDICTED
from comeback.engine.learning.calibration import Bin


def cause_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, int]]:
    """(shop, service, cause, closed and proven cases)."""
    yield from _rows(log, COUNT_CAUSE.select().where(COUNT_CAUSE.c.cases > 0))


def finding_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, str, int]]:
    """(shop, cause, check, result, cases) of cases with that cause alone, before any repair."""
    yield from _rows(log, COUNT_FINDING.select().where(COUNT_FINDING.c.cases > 0))


def calibration_bins(log: SqlCaseLog) -> list[Bin]:
    """Predictions by class of chance: how many, their sum, how many were found."""
    query = COUNT_PREDICTION.select().where(COUNT_PREDICTION.c.cases > 0).order_by(COUNT_PREDICTION.c.bin)
    return [Bin(i / BINS, (i + 1) / BINS, int(n), float(p), int(hit)) for i, n, p, hit in _rows(log, query)]


def unpredicted(log: SqlCaseLog, most: int) -> list[str]:
    """The latest closed and proven cases for which no prediction was recorded, at most so many."""
    query = sa.select(UNPREDICTED.c.case_id).order_by(UNPREDICTED.c.at.desc(), UNPREDICTED.c.case_id).limit(most)
    return [name for (name,) in _rows(log, query)]


def _rows(log: SqlCaseLog, query: Any) -> Iterator[Any]:
    with log.reading() as connection, connection.execution_options(**STREAM).execute(query) as rows:
        yield from rows

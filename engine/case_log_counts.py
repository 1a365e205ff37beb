"""What learning needs from a case log, added up inside the database; rows come in portions."""

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from comeback.engine.case_log_care import STREAM
from comeback.engine.case_log_sql import SqlCaseLog
from comeback.engine.case_log_tables import CAUSE, FINDING, PREDICTION, UNPREDICTED
from comeback.engine.learn_calibration import Bin
from comeback.engine.learn_outcome import BINS


def cause_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, int]]:
    """(shop, service, cause, closed and proven cases)."""
    by = (CAUSE.c.shop, CAUSE.c.service, CAUSE.c.cause)
    yield from _rows(log, sa.select(*by, sa.func.count()).group_by(*by))


def finding_counts(log: SqlCaseLog) -> Iterator[tuple[str, str, str, str, int]]:
    """(shop, cause, check, result, cases) of cases with that cause alone, before any repair."""
    by = (FINDING.c.shop, FINDING.c.cause, FINDING.c.check_id, FINDING.c.result)
    yield from _rows(log, sa.select(*by, sa.func.count()).group_by(*by))


def calibration_bins(log: SqlCaseLog) -> list[Bin]:
    """Predictions by class of chance: how many, their sum, how many were found."""
    count, total, found = sa.func.count(), sa.func.sum(PREDICTION.c.chance), sa.func.sum(PREDICTION.c.found)
    query = sa.select(PREDICTION.c.bin, count, total, found).group_by(PREDICTION.c.bin).order_by(PREDICTION.c.bin)
    return [Bin(i / BINS, (i + 1) / BINS, int(n), float(p), int(hit)) for i, n, p, hit in _rows(log, query)]


def unpredicted(log: SqlCaseLog, most: int) -> list[str]:
    """The latest closed and proven cases for which no prediction was recorded, at most so many."""
    query = sa.select(UNPREDICTED.c.case_id).order_by(UNPREDICTED.c.at.desc(), UNPREDICTED.c.case_id).limit(most)
    return [name for (name,) in _rows(log, query)]


def _rows(log: SqlCaseLog, query: Any) -> Iterator[Any]:
    with log.reading() as connection, connection.execution_options(**STREAM).execute(query) as rows:
        yield from rows

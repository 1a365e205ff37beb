"""Results of drills as they are kept in the case log."""

from collections.abc import Iterable
from datetime import date

from comeback.engine.case_log.drills import DrillLine
from comeback.engine.drill.results import Result, result_of


def day_of(at: str) -> int:
    """Days since a fixed day. Raises ValueError if `at` does not begin with a date."""
    return date.fromisoformat(at[:10]).toordinal()


def read(lines: Iterable[DrillLine]) -> tuple[list[Result], int]:
    """The results of the finished ones, and how many could not be read."""
    found, bad = [], 0
    for line in lines:
        if not line.finished:
            continue
        try:
            last = line.last
            found.append(result_of(line.id, line.opened.by, last.at, day_of(last.at), last.payload))
        except (KeyError, TypeError, ValueError, AttributeError):
            bad += 1
    return found, bad

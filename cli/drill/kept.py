"""Results of drills as they are kept: in the case log; and, from earlier versions, as files in the data folder.

The files stay where they are and as they are. They are read along, not imported.
"""

import json
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from comeback.engine.case_log.drills import DrillLine
from comeback.engine.drill.results import Result, result_of

LARGEST = 2_000_000


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


def read_files(folder: Path, by: str | None = None) -> tuple[list[Result], int]:
    """Results that earlier versions kept as files, but not drills that were left; and how many could not be read."""
    found, bad = [], 0
    for file in sorted(folder.glob("*.json")):
        try:
            if file.stat().st_size > LARGEST:
                raise ValueError("too large")
            kept = json.loads(file.read_text(encoding="utf-8"))
            result = result_of(file.stem, str(kept["by"]), str(kept["at"]), day_of(kept["at"]), kept)
        except (KeyError, TypeError, ValueError, AttributeError, RecursionError, OSError):
            bad += 1
            continue
        if result.ended != "left" and by in (None, result.by):
            found.append(result)
    return found, bad

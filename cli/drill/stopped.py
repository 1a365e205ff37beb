"""Which drill to go on with: the one that was stopped last, or the exam whose next car is due."""

import shlex

from comeback.cli.drill.exam import following
from comeback.cli.errors import UsageError
from comeback.engine.case_log.drills import DrillLine, drill_lines
from comeback.engine.case_log.store import SqlCaseLog

MOST_NAMED = 5


def last_stopped(log: SqlCaseLog, by: str) -> str:
    """The id of the drill that `by` touched last and that is not over. Raises UsageError if there is none."""
    mine = [line for line in stopped(log) if line.opened.by == by]
    if mine:
        return mine[0].id
    raise UsageError(f"{by} has stopped no drill in {log.name}. {_others(stopped(log))}")


def stopped(log: SqlCaseLog) -> list[DrillLine]:
    """Everybody's drills that can go on, the latest first."""
    lines = sorted(drill_lines(log), key=lambda line: (line.last.at, line.opened.at), reverse=True)
    return [line for line in lines if not line.finished or following(log, line.opened) is not None]


def command(line: DrillLine) -> str:
    """What to type to go on with this drill as the one who began it."""
    return f"comeback drill --resume {line.id} --by {shlex.quote(line.opened.by)}"


def _others(lines: list[DrillLine]) -> str:
    """The stopped drills of others, and how to go on with one."""
    if not lines:
        return "Begin one: comeback drill"
    named = [f"{x.id} ({x.opened.by}, {x.last.at[5:16].replace('T', ' ')})" for x in lines[:MOST_NAMED]]
    more = f" and {len(lines) - MOST_NAMED} more" if len(lines) > MOST_NAMED else ""
    return f"Stopped are: {', '.join(named)}{more}. Go on with one: {command(lines[0])}"

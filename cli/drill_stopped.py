"""Which drill to go on with: the one that was stopped last, or the exam whose next car is due."""

from comeback.cli.command_line import UsageError
from comeback.cli.drill_exam import following
from comeback.engine.case_log_drills import drill_lines
from comeback.engine.case_log_sql import SqlCaseLog


def last_stopped(log: SqlCaseLog, by: str) -> str:
    """The id of the drill that `by` touched last and that is not over. Raises UsageError if there is none."""
    lines = sorted(drill_lines(log, by), key=lambda line: (line.last.at, line.opened.at), reverse=True)
    for line in lines:
        if not line.finished or following(log, line.opened) is not None:
            return line.id
    raise UsageError(f"{by} has stopped no drill in {log.name}. Begin one: comeback drill")

"""Deleting drills: one by its id, or all of a person."""

import argparse

from comeback.cli import exit_codes, places
from comeback.cli.errors import UsageError
from comeback.cli.look import tell
from comeback.cli.numbers import counted
from comeback.cli.records.upkeep import left_after_deleting
from comeback.engine.case_log.drills import drill_lines, no_such_drill
from comeback.engine.case_log.store import SqlCaseLog
from comeback.engine.case_log.upkeep import delete_drill
from comeback.kb.wording import suggest


def delete(given: argparse.Namespace, log: SqlCaseLog, by: str) -> int:
    """Delete drills for good; without --yes only say which."""
    drill, name = (given.delete or "").upper(), given.of
    lines = [line for line in drill_lines(log, None if drill else name) if not drill or line.id == drill]
    if not lines and drill:
        raise no_such_drill(log, drill)
    if not lines:
        names = {line.opened.by for line in drill_lines(log)}
        raise UsageError(f"There is no drill of '{name}' in {log.name}.{suggest(name, names)}")
    if not given.yes:
        print(f"To be deleted for good: {counted(len(lines), 'drill')}, with name and answers")
        for line in lines:
            mode = line.opened.payload.get("mode", "")
            tell(f"  {line.id}  {line.opened.at[:16].replace('T', ' ')}  {line.opened.by}  {mode}".rstrip())
        print("Nothing was deleted. To do it, add --yes.")
        return exit_codes.DONE
    for line in lines:
        count = delete_drill(log, line.id, places.now(), by)
        print(f"Drill {line.id} deleted with its {counted(count, 'event')}; the log keeps only its id.")
    print(left_after_deleting(log))
    return exit_codes.DONE

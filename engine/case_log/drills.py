"""Drills in the case log: append-only, each turn written before its result shows, chained by hash within a drill.
The journal of the log holds them too.

A drill is a list of events, as a case is, with its id in the place of the case's.
"""

from collections.abc import Callable

from sqlalchemy.exc import IntegrityError

from comeback.engine.case.events import DRILL_FINISHED, Draft, Event, Kind, first_broken_link
from comeback.engine.case_log.fields import name_to_keep
from comeback.engine.case_log.protocol import CaseLine, CaseLogError, NoSuchCase
from comeback.engine.case_log.store import SqlCaseLog, events_of, first_and_last
from comeback.engine.case_log.tables import DRILL_EVENTS


class DrillMovedOn(CaseLogError):
    """This drill has gone on in another window meanwhile."""


class NoSuchDrill(NoSuchCase):
    """No drill has this id."""


class DrillLine(CaseLine):
    """One drill: its first event, and its last one, which is DRILL_FINISHED or the latest turn."""

    @property
    def finished(self) -> bool:
        """True if it came to its end."""
        return self.last.kind == DRILL_FINISHED


def open_drill(log: SqlCaseLog, draft: Draft, knowledge: str, choose: Callable[[str], str]) -> Event:
    """Record that a drill begins, under a new id; `choose` picks a sign of LETTERS."""
    return log.with_new_id(choose, lambda drill: log.insert(drill, 0, [draft], knowledge, DRILL_EVENTS)[0])


def add_turn(log: SqlCaseLog, last: Event, draft: Draft) -> Event:
    """Record what was done after `last`.

    Raises DrillMovedOn if something was recorded after it already, NoSuchDrill if the drill was deleted meanwhile.
    """
    try:
        return log.insert(last.case, last.number, [draft], last.knowledge, DRILL_EVENTS)[0]
    except NoSuchCase:
        raise no_such_drill(log, last.case) from None
    except IntegrityError:
        raise DrillMovedOn(
            f"Drill {last.case} continued in another window. Continue there, or: comeback drill --resume {last.case}"
        ) from None


def drill_events(log: SqlCaseLog, drill: str) -> tuple[Event, ...]:
    """All events of a drill in order. Raises NoSuchDrill; CaseLogError if they are not as they were written."""
    with log.reading() as connection:
        found = events_of(connection, drill, DRILL_EVENTS)
    if not found:
        raise no_such_drill(log, drill)
    broken = first_broken_link(found)
    if broken is not None:
        raise CaseLogError(
            f"{log.name}: drill {drill} was changed at line {broken} by something else. Begin a new one."
        )
    return found


def no_such_drill(log: SqlCaseLog, drill: str) -> NoSuchDrill:
    """The error that says so."""
    return NoSuchDrill(f"There is no drill '{drill}' in {log.name}. List them: comeback drill --results")


def drill_lines(log: SqlCaseLog, by: str | None = None) -> tuple[DrillLine, ...]:
    """First and last event of every drill that `by` began (None: of everybody's), in the order of beginning."""
    with log.reading() as connection:
        pairs = first_and_last(connection, DRILL_EVENTS)
    lines = [DrillLine(name, pair[0], pair[-1]) for name, pair in pairs.items() if pair[0].kind == Kind.OPENED]
    wanted = None if by is None else name_to_keep("by", by)
    chosen = [line for line in lines if wanted in (None, line.opened.by)]
    return tuple(sorted(chosen, key=lambda line: (line.opened.at, line.id)))

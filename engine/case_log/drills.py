"""Drills in the case log: append-only, each turn written before its result shows, chained by hash within a drill.
The journal of the log holds them too.

A drill is a list of events, as a case is; the id stands where the case's id stands in an `Event`.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from comeback.engine.case.events import DRILL_FINISHED, Draft, Event, Kind, chain, first_broken_link
from comeback.engine.case_log.fields import name_to_keep
from comeback.engine.case_log.protocol import CaseLogError, NoSuchCase, new_id
from comeback.engine.case_log.rows import event_of, row_of
from comeback.engine.case_log.store import SqlCaseLog, gone
from comeback.engine.case_log.tables import DRILL, DRILL_EVENTS, note_in_journal

_C = DRILL_EVENTS.c


class DrillMovedOn(CaseLogError):
    """This drill has gone on in another window meanwhile."""


class NoSuchDrill(NoSuchCase):
    """No drill has this id."""


@dataclass(frozen=True)
class DrillLine:
    """One drill: its first event, and its last one, which is DRILL_FINISHED or the latest turn."""

    id: str
    opened: Event
    last: Event

    @property
    def finished(self) -> bool:
        """True if it came to its end."""
        return self.last.kind == DRILL_FINISHED


def open_drill(log: SqlCaseLog, draft: Draft, knowledge: str, choose: Callable[[str], str]) -> Event:
    """Record that a drill begins, under a new id; `choose` picks a sign of LETTERS."""
    for _ in range(50):
        try:
            return _insert(log, chain(new_id(choose), 1, _clean(draft), knowledge, ""))
        except IntegrityError:  # the id is taken: draw another
            continue
    raise CaseLogError(f"{log.name}: no free id was found for a drill. Start a new log with --log.")


def add_turn(log: SqlCaseLog, last: Event, draft: Draft) -> Event:
    """Record what was done after `last`.

    Raises DrillMovedOn if something was recorded after it already, NoSuchDrill if the drill was deleted meanwhile.
    """
    try:
        return _insert(log, chain(last.case, last.number + 1, _clean(draft), last.knowledge, last.hash))
    except IntegrityError:
        raise DrillMovedOn(
            f"Drill {last.case} continued in another window. Continue there, or: comeback drill --resume {last.case}"
        ) from None


def drill_events(log: SqlCaseLog, drill: str) -> tuple[Event, ...]:
    """All events of a drill in order. Raises NoSuchDrill; CaseLogError if they are not as they were written."""
    with log.reading() as connection:
        query = _rows().where(_C.drill_id == drill).order_by(_C.number)
        found = tuple(event_of(row) for row in connection.execute(query))
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


def check_drills(connection: sa.Connection) -> Iterator[tuple[str, int | None]]:
    """Every drill with the number of its first event that does not fit its chain, None if all do."""
    rows = connection.execute(_rows().order_by(_C.drill_id, _C.number))
    for name, events in groupby(map(event_of, rows), key=lambda event: event.case):
        yield name, first_broken_link(events)


def drill_lines(log: SqlCaseLog, by: str | None = None) -> tuple[DrillLine, ...]:
    """First and last event of every drill that `by` began (None: of everybody's), in the order of beginning."""
    ends = sa.select(_C.drill_id, sa.func.max(_C.number).label("last")).group_by(_C.drill_id).subquery()
    query = _rows().join(ends, _C.drill_id == ends.c.drill_id)
    query = query.where(sa.or_(_C.number == 1, _C.number == ends.c.last)).order_by(_C.number)
    with log.reading() as connection:
        return _paired((event_of(row) for row in connection.execute(query)), by)


def _paired(events: Iterable[Event], by: str | None) -> tuple[DrillLine, ...]:
    lines: dict[str, DrillLine] = {}
    for event in events:
        if event.kind == Kind.OPENED and event.number == 1:
            lines[event.case] = DrillLine(event.case, event, event)
        elif event.case in lines:
            lines[event.case] = DrillLine(event.case, lines[event.case].opened, event)
    chosen = [line for line in lines.values() if by is None or line.opened.by == _name(by)]
    return tuple(sorted(chosen, key=lambda line: (line.opened.at, line.id)))


def _rows() -> sa.Select[Any]:
    """The table as events are read: the drill's id where a case's stands."""
    others = [column for column in _C if column.name != "drill_id"]
    return sa.select(_C.drill_id.label("case_id"), *others)


def _insert(log: SqlCaseLog, event: Event) -> Event:
    row = row_of(event)
    row["drill_id"] = row.pop("case_id")
    name = DRILL + event.case
    with log.transaction() as connection:
        if event.number == 1 and gone(connection, name):
            raise IntegrityError("the id belonged to a deleted drill", None, ValueError(event.case))
        if event.number > 1 and not connection.execute(sa.select(_C.hash).where(_C.hash == event.previous)).first():
            raise no_such_drill(log, event.case)
        connection.execute(DRILL_EVENTS.insert().values(**row))
        note_in_journal(connection, [(name, event.number, event.hash)])
    return event


def _clean(draft: Draft) -> Draft:
    """The draft with a name that every database takes; all else in it are ids."""
    return Draft(draft.kind, draft.at, _name(draft.by), draft.payload)


def _name(by: str) -> str:
    return name_to_keep("by", by)

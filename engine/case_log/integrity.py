"""What may be wrong with a case log, part by part: its journal, events against it, what learning counts."""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

import sqlalchemy as sa

from comeback.engine.case.events import Event
from comeback.engine.case_log.outcomes import outcome_of
from comeback.engine.case_log.sums import sums_that_differ
from comeback.engine.case_log.tables import (
    CAUSE,
    DELETED,
    DRILL,
    DRILL_EVENTS,
    EVENTS,
    FINDING,
    JOURNAL,
    JOURNAL_END,
    PREDICTION,
    SOURCE,
    journal_hash,
    rows_of,
)

STREAM = {"stream_results": True, "yield_per": 2000}
"""Rows come in portions, so that memory does not grow with the log."""
PORTION = 500
RECOUNT = "To recount from the events: comeback cases recount"


def head_of(seq: int, journal: str) -> str:
    """How the end of the journal is named for people: its length and the beginning of its hash."""
    return f"{seq}:{journal[:16]}"


def read_journal(connection: sa.Connection, heads: Sequence[str]) -> tuple[str, list[str]]:
    """The head and what is wrong; every one of `heads`, noted before, must be in it."""
    troubles, previous, seq, missing = [], "", 0, set(heads) - {"", head_of(0, "")}
    with connection.execution_options(**STREAM).execute(sa.select(JOURNAL).order_by(JOURNAL.c.seq)) as rows:
        for row in rows:
            seq += 1
            if row.seq != seq or row.hash != journal_hash(previous, row.case_id, row.number, row.event_hash):
                troubles.append(f"journal: line {row.seq} was changed, or one before it is missing")
                break
            previous = row.hash
            missing.discard(head_of(seq, previous))
    if not troubles:
        end = connection.execute(sa.select(JOURNAL_END)).first()
        if (end.seq, end.hash) != (seq, previous) if end else seq:
            count = f"{end.seq - seq} of {end.seq} lines" if end and end.seq > seq else "lines"
            troubles.append(f"journal: {count} at its end were cut off, with what they stood for")
        for head in sorted(missing):
            troubles.append(f"journal: the head {head} is not in it; something after it, or it itself, was cut off")
    return head_of(seq, previous), troubles


def compare(connection: sa.Connection) -> Iterator[str]:
    """What stands in the journal but not among the events, and the other way round."""
    gone = {row.case_id: row for row in connection.execute(sa.select(DELETED))}
    buried, missing, extra = set(), [], []
    for row in (row for query in _lost() for row in connection.execute(query)):
        tombstone = gone.get(row.case_id)
        if row.number == 0:
            buried.add(row.case_id)
            if tombstone is None or tombstone.hash != row.event_hash or tombstone_hash(tombstone) != row.event_hash:
                yield f"{_whose(row.case_id)}: its deletion was changed or removed"
        elif tombstone is None:
            missing.append((row.case_id, row.number))
    for name in sorted(set(gone) - buried):
        yield f"{_whose(name)}: it is listed as deleted, but no deletion was recorded"
    yield from _named(missing, "is missing or is not the one that was written", "are missing or not as written")
    for prefix, whose, table, both in _KINDS:
        query = sa.select(whose, table.c.number).outerjoin(JOURNAL, both).where(JOURNAL.c.seq.is_(None))
        extra += [(prefix + row[0], row.number) for row in connection.execute(query)]
    yield from _named(extra, "was not written by this program", "were not")


def _in_journal(whose: sa.Column[str], table: sa.Table, name: sa.ColumnElement[str]) -> sa.ColumnElement[bool]:
    """True where a line of the journal is that of a row."""
    return sa.and_(whose == name, table.c.number == JOURNAL.c.number)


_OF_DRILL = JOURNAL.c.case_id.like(f"{DRILL}%")
_DRILL_ID = sa.func.substr(JOURNAL.c.case_id, len(DRILL) + 1)
_KINDS = (
    ("", EVENTS.c.case_id, EVENTS, _in_journal(EVENTS.c.case_id, EVENTS, JOURNAL.c.case_id)),
    (DRILL, DRILL_EVENTS.c.drill_id, DRILL_EVENTS,
     sa.and_(_OF_DRILL, _in_journal(DRILL_EVENTS.c.drill_id, DRILL_EVENTS, _DRILL_ID))),
)  # fmt: skip
"""Cases and drills: what stands before the id in the journal, the column of the id, the table, how they join."""


def _lost() -> Iterator[sa.Select[Any]]:
    """Lines of the journal whose event is not there or is another one."""
    for (_, _, table, both), mine in zip(_KINDS, (~_OF_DRILL, _OF_DRILL), strict=True):
        differs = sa.or_(table.c.hash.is_(None), table.c.hash != JOURNAL.c.event_hash)
        yield sa.select(JOURNAL).outerjoin(table, both).where(mine, differs).order_by(JOURNAL.c.seq)


def _named(places: Iterable[tuple[str, int]], one: str, more: str) -> Iterator[str]:
    """One line a case or drill, however many of its events are meant."""
    for name, group in groupby(sorted(places), key=lambda place: place[0]):
        numbers = [number for _, number in group]
        if len(numbers) == 1:
            yield f"{_whose(name)}: event {numbers[0]} {one}"
        else:
            yield f"{_whose(name)}: {len(numbers)} events, {numbers[0]} to {numbers[-1]}, {more}"


def _whose(name: str) -> str:
    return name if name.startswith(DRILL) else f"case {name}"


def tombstone_hash(row: sa.Row[Any]) -> str:
    """Hash of what is kept of a deleted case."""
    parts = (row.case_id, row.at, row.by, row.reason, row.events, row.identity)
    return hashlib.sha256("\x1f".join(map(str, parts)).encode()).hexdigest()


class OutcomeCheck:
    """Holds what learning counts against what the events of each case amount to, in portions of cases."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection = connection
        self.sources = {row.case_id: row.shop for row in connection.execute(sa.select(SOURCE))}
        self.findings = 0
        self._cases: dict[str, dict[str, list[dict[str, object]]]] = {}

    def add(self, events: Sequence[Event]) -> Iterator[str]:
        """Take one case; troubles come when a portion is full."""
        name = events[0].case
        outcome = outcome_of(events, self.sources.get(name, ""))
        rows = {table.name: made for table, made in rows_of(name, outcome)} if outcome is not None else {}
        self._cases[name] = rows
        if len(self._cases) >= PORTION:
            yield from self.flush()

    def flush(self) -> Iterator[str]:
        """Compare the cases taken so far."""
        cases, self._cases = self._cases, {}
        wrong = set()
        for table in (CAUSE, PREDICTION):
            query = table.select().where(table.c.case_id.in_(cases))
            there = {_key(row._mapping) for row in self.connection.execute(query)}
            real = {_key(row): str(row["case_id"]) for rows in cases.values() for row in rows.get(table.name, ())}
            wrong |= {case for key, case in real.items() if key not in there}
            wrong |= {str(dict(key)["case_id"]) for key in there if key not in real}
        wrong |= self._findings([row for rows in cases.values() for row in rows.get(FINDING.name, ())])
        yield from (f"case {name}: learning counts what its events do not say. {RECOUNT}" for name in sorted(wrong))

    def _findings(self, rows: Sequence[dict[str, object]]) -> set[str]:
        """Cases of which a finding is not there; what is too many shows in the total."""
        self.findings += len(rows)
        wrong, keys = set(), [column.name for column in FINDING.primary_key]
        for start in range(0, len(rows), PORTION):
            part = {tuple(row[key] for key in keys) for row in rows[start : start + PORTION]}
            query = FINDING.select().where(sa.tuple_(*FINDING.primary_key).in_(part))
            there = {tuple(row) for row in self.connection.execute(query)}
            wrong |= {str(key[-1]) for key in part - there}
        return wrong

    def rest(self) -> Iterator[str]:
        """Rows of no case, and sums that do not follow from the rows."""
        gone, known = sa.select(DELETED.c.case_id), sa.select(EVENTS.c.case_id).where(EVENTS.c.number == 1)
        for table in (CAUSE, PREDICTION):
            names = sa.select(table.c.case_id).where(table.c.case_id.not_in(gone), table.c.case_id.not_in(known))
            for name in self.connection.execute(names.distinct()).scalars():
                yield f"case {name}: learning counts it, but there is no such case. {RECOUNT}"
        count = sa.select(sa.func.count()).select_from(FINDING).where(FINDING.c.case_id.not_in(gone))
        extra = (self.connection.execute(count).scalar() or 0) - self.findings
        if extra > 0:
            yield f"learning counts {extra} findings that no case has. {RECOUNT}"
        for name in sums_that_differ(self.connection):
            yield f"{name}: the sums that learning reads do not follow from the cases. {RECOUNT}"


def _key(row: Any) -> tuple[tuple[str, object], ...]:
    return tuple(sorted((k, round(v, 9) if isinstance(v, float) else v) for k, v in row.items()))

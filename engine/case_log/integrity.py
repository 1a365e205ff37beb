"""What may be wrong with a case log, part by part: its chains, its journal, events against it, what learning counts."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice
from typing import Any

import sqlalchemy as sa

from comeback.engine.case.events import Event, first_broken_link
from comeback.engine.case_log.outcomes import outcome_rows
from comeback.engine.case_log.rows import event_of
from comeback.engine.case_log.tables import (
    DELETED,
    DRILL,
    DRILL_EVENTS,
    EVENTS,
    JOURNAL,
    JOURNAL_END,
    OUTCOMES,
    SOURCE,
    journal_hash,
)

STREAM = {"stream_results": True, "yield_per": 2000}
"""Rows come in portions, so that memory does not grow with the log."""
PORTION = 500
RECOUNT = "To recount from the events: comeback cases recount"


def head_of(seq: int, journal: str) -> str:
    """How the end of the journal is named for people: its length and the beginning of its hash."""
    return f"{seq}:{journal[:16]}"


def chains(connection: sa.Connection, table: sa.Table) -> Iterator[tuple[tuple[Event, ...], str]]:
    """The events of every case or drill, with what is wrong with their chain; empty if it is whole."""
    query = sa.select(table).order_by(table.c.case_id, table.c.number)
    prefix = DRILL if table is DRILL_EVENTS else ""
    with connection.execution_options(**STREAM).execute(query) as rows:
        for name, group in groupby(map(event_of, rows), key=lambda event: event.case):
            found = tuple(group)
            broken = first_broken_link(found)
            trouble = f"{_whose(prefix + name)}: event {broken} was changed, or one before it is missing"
            yield found, "" if broken is None else trouble


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
    """What is in the journal but not among the events of cases and drills, and the other way round."""
    of_drill = sa.literal(DRILL).concat(DRILL_EVENTS.c.case_id).label("case_id")
    stored = sa.union_all(
        sa.select(EVENTS.c.case_id, EVENTS.c.number, EVENTS.c.hash),
        sa.select(of_drill, DRILL_EVENTS.c.number, DRILL_EVENTS.c.hash),
    ).subquery()
    line, event = JOURNAL.c, stored.c
    noted = sa.select(line.case_id, line.number, line.event_hash)
    gone = {row["case_id"]: row for row in connection.execute(sa.select(DELETED)).mappings()}
    buried = {row.case_id: row.event_hash for row in connection.execute(noted.where(line.number == 0))}
    for name, digest in buried.items():
        if name not in gone or {gone[name]["hash"], tombstone_hash(gone[name])} != {digest}:
            yield f"{_whose(name)}: its deletion was changed or removed"
    for name in sorted(gone.keys() - buried):
        yield f"{_whose(name)}: it is listed as deleted, but no deletion was recorded"
    lost = connection.execute(noted.where(line.number > 0).except_(sa.select(stored)))
    missing = [(row.case_id, row.number) for row in lost if row.case_id not in gone]
    yield from _named(missing, "is missing or is not the one that was written", "are missing or not as written")
    extra = sa.select(event.case_id, event.number).except_(sa.select(line.case_id, line.number))
    yield from _named(map(tuple, connection.execute(extra)), "was not written by this program", "were not")


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


def tombstone_hash(row: Mapping[Any, Any]) -> str:
    """Hash of what is kept of a deleted case."""
    parts = (str(row[key]) for key in ("case_id", "at", "by", "reason", "events", "identity"))
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()


def miscounted(connection: sa.Connection, cases: Iterable[Sequence[Event]]) -> Iterator[str]:
    """What learning counts beside what the events of all cases say, in portions of cases."""
    sources = {row.case_id: row.shop for row in connection.execute(sa.select(SOURCE))}
    cases = iter(cases)
    while portion := list(islice(cases, PORTION)):
        names, wrong = [events[0].case for events in portion], set()
        made = [outcome_rows(events, sources.get(name, "")) for name, events in zip(names, portion, strict=True)]
        for table in OUTCOMES:
            query = table.select().where(table.c.case_id.in_(names))
            there = {tuple(row) for row in connection.execute(query)}
            expected = {tuple(row[c.name] for c in table.columns) for rows in made for row in rows[table]}
            wrong |= {row[-1] for row in there ^ expected}  # the case is the last column of both tables
        yield from (f"case {name}: learning counts what its events do not say. {RECOUNT}" for name in sorted(wrong))
    stray = set()
    for table in OUTCOMES:
        known = sa.select(EVENTS.c.case_id).where(EVENTS.c.number == 1).union(sa.select(DELETED.c.case_id))
        others = sa.select(table.c.case_id).where(table.c.case_id.not_in(known)).distinct()
        stray |= set(connection.execute(others).scalars())
    yield from (f"case {name}: learning counts it, but there is no such case. {RECOUNT}" for name in sorted(stray))

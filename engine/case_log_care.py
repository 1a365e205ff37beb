"""Looking after a case log: is it as it was written, deleting cases, a copy in another place."""

import hashlib
import os
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

import sqlalchemy as sa

from comeback.engine.case import first_broken_link
from comeback.engine.case_log import CaseLogError, NoSuchCase
from comeback.engine.case_log_database import clear_error
from comeback.engine.case_log_rows import event_of
from comeback.engine.case_log_sql import SqlCaseLog, events_of, hash_at
from comeback.engine.case_log_tables import (
    DELETED,
    EVENTS,
    JOURNAL,
    SOURCE,
    forget_outcome,
    journal_hash,
    note_in_journal,
)

STREAM = {"stream_results": True, "yield_per": 2000}
"""Rows come in portions, so that memory does not grow with the log."""


@dataclass(frozen=True)
class Verified:
    """`troubles`: one line each, empty if the log is as it was written. `head`: end of the journal."""

    cases: int
    events: int
    deleted: int
    head: str
    troubles: tuple[str, ...]


def verify(log: SqlCaseLog, head: str = "") -> Verified:
    """Check every chain, the journal, and each against the other.

    The end of the journal cannot vouch for itself: give the `head` that an earlier run printed, and
    what was cut off since then shows too.
    """
    troubles: list[str] = []
    cases = events = 0
    with log.reading() as connection:
        rows = connection.execution_options(**STREAM).execute(
            sa.select(EVENTS).order_by(EVENTS.c.case_id, EVENTS.c.number)
        )
        for name, group in groupby(map(event_of, rows), key=lambda event: event.case):
            found = list(group)
            cases, events = cases + 1, events + len(found)
            broken = first_broken_link(found)
            if broken is not None:
                troubles.append(f"case {name}: event {broken} was changed, or one before it is missing")
        last, journal_troubles = _read_journal(connection, head)
        troubles += journal_troubles
        troubles += _compare(connection)
        gone = connection.execute(sa.select(sa.func.count()).select_from(DELETED)).scalar() or 0
    return Verified(cases, events, gone, last, tuple(troubles))


def _read_journal(connection: sa.Connection, head: str) -> tuple[str, list[str]]:
    troubles, previous, seq, seen = [], "", 0, not head
    with connection.execution_options(**STREAM).execute(sa.select(JOURNAL).order_by(JOURNAL.c.seq)) as rows:
        for row in rows:
            seq += 1
            if row.seq != seq or row.hash != journal_hash(previous, row.case_id, row.number, row.event_hash):
                troubles.append(f"journal: line {row.seq} was changed, or one before it is missing")
                break
            previous = row.hash
            seen = seen or head == _head(seq, previous)
    if not seen and not troubles:
        troubles.append(f"journal: the head {head} is not in it; something after it, or it itself, was cut off")
    return _head(seq, previous), troubles


def _head(seq: int, journal: str) -> str:
    return f"{seq}:{journal[:16]}"


def _compare(connection: sa.Connection) -> Iterator[str]:
    """What stands in the journal but not among the events, and the other way round."""
    gone = {row.case_id: row for row in connection.execute(sa.select(DELETED))}
    both = sa.and_(EVENTS.c.case_id == JOURNAL.c.case_id, EVENTS.c.number == JOURNAL.c.number)
    lost = sa.select(JOURNAL).outerjoin(EVENTS, both)
    lost = lost.where(sa.or_(EVENTS.c.hash.is_(None), EVENTS.c.hash != JOURNAL.c.event_hash))
    buried = set()
    for row in connection.execute(lost.order_by(JOURNAL.c.seq)):
        tombstone = gone.get(row.case_id)
        if row.number == 0:
            buried.add(row.case_id)
            if tombstone is None or tombstone.hash != row.event_hash or _tombstone_hash(tombstone) != row.event_hash:
                yield f"case {row.case_id}: its deletion was changed or removed"
        elif tombstone is None:
            yield f"case {row.case_id}: event {row.number} is missing or is not the one that was written"
    for name in sorted(set(gone) - buried):
        yield f"case {name}: it is listed as deleted, but no deletion was recorded"
    extra = sa.select(EVENTS.c.case_id, EVENTS.c.number).outerjoin(JOURNAL, both).where(JOURNAL.c.seq.is_(None))
    for row in connection.execute(extra.order_by(EVENTS.c.case_id, EVENTS.c.number)):
        yield f"case {row.case_id}: event {row.number} was not written by this program"


def _tombstone_hash(row: sa.Row[tuple[object, ...]]) -> str:
    parts = (row.case_id, row.at, row.by, row.reason, row.events, row.identity)
    return hashlib.sha256("\x1f".join(map(str, parts)).encode()).hexdigest()


def delete_case(log: SqlCaseLog, case: str, at: str, by: str, reason: str, statistics: bool = False) -> int:
    """Remove a case for good and leave a tombstone; returns how many events went.

    What it taught (service, cause, results of checks; no person, no car, no words) stays unless
    `statistics` is true. Raises NoSuchCase.
    """
    log.events(case)  # raises NoSuchCase with its reason
    with log.transaction() as connection:
        events = events_of(connection, case)
        if not events:
            raise NoSuchCase(f"There is no case '{case}' in {log.name}. List them: comeback cases.")
        values = {"case_id": case, "at": at, "by": by[:80], "reason": reason[:400], "events": len(events),
                  "identity": identity_of(connection, case), "hash": ""}  # fmt: skip
        connection.execute(DELETED.insert().values(**values))
        row = connection.execute(sa.select(DELETED).where(DELETED.c.case_id == case)).one()
        tombstone = _tombstone_hash(row)
        connection.execute(DELETED.update().where(DELETED.c.case_id == case).values(hash=tombstone))
        note_in_journal(connection, [(case, 0, tombstone)])
        for table in (EVENTS, SOURCE):
            connection.execute(table.delete().where(table.c.case_id == case))
        if statistics:
            forget_outcome(connection, case)
    _empty_write_ahead(log)
    return len(events)


def identity_of(connection: sa.Connection, case: str) -> str:
    """What a case is known by in every log it is copied to: the hash of its first event where it was opened."""
    kept = connection.execute(sa.select(SOURCE.c.identity).where(SOURCE.c.case_id == case)).scalar()
    return str(kept or hash_at(connection, case, 1) or "")


def _empty_write_ahead(log: SqlCaseLog) -> None:
    """SQLite keeps deleted pages in its write-ahead file until it is emptied."""
    if log.engine.dialect.name == "sqlite":
        raw = log.engine.raw_connection()
        try:
            raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            raw.close()


def untouched_since(log: SqlCaseLog, day: str) -> tuple[str, ...]:
    """Cases whose last event was before `day` (ISO 8601 date)."""
    return tuple(sorted(line.id for line in log.cases() if line.last.at[:10] < day))


def backup(log: SqlCaseLog, to: Path) -> None:
    """A whole copy of an SQLite log, made while others write. Raises CaseLogError; never overwrites."""
    if log.engine.dialect.name != "sqlite":
        raise CaseLogError(f"{log.name}: copy this database with its own tools, or use: comeback cases export FILE")
    if to.exists():
        raise CaseLogError(f"{to}: there is already such a file. Choose another name.")
    part = to.with_name(to.name + ".part")
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except OSError as error:
        raise CaseLogError(f"{part}: {error.strerror}. Choose another place.") from None
    try:
        _copy(log, part)
        os.replace(part, to)
    except (sqlite3.Error, OSError) as error:
        raise clear_error(str(to), error) from None
    finally:
        part.unlink(missing_ok=True)


def _copy(log: SqlCaseLog, part: Path) -> None:
    raw, copy = log.engine.raw_connection(), sqlite3.connect(part)
    try:
        source = raw.driver_connection
        assert isinstance(source, sqlite3.Connection)
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        answer = copy.execute("PRAGMA integrity_check").fetchone()[0]
        if answer != "ok":
            raise sqlite3.DatabaseError(answer)
    finally:
        copy.close()
        raw.close()

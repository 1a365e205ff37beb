"""Looking after a case log: is it as it was written, deleting cases and drills, a copy in another place."""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from comeback.engine.case.events import TEACHING, Event
from comeback.engine.case_log.database import clear_error
from comeback.engine.case_log.drills import no_such_drill
from comeback.engine.case_log.fields import name_to_keep
from comeback.engine.case_log.integrity import chains, compare, miscounted, read_journal, tombstone_hash
from comeback.engine.case_log.outcomes import forget_outcome, write_outcome
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.store import SqlCaseLog, events_of, hash_at
from comeback.engine.case_log.tables import (
    DELETED,
    DRILL,
    DRILL_EVENTS,
    EVENTS,
    JOURNAL,
    OUTCOMES,
    SOURCE,
    note_in_journal,
)

LONGEST_REASON = 400
WAIT_FOR_READERS = 2000
"""Milliseconds for a list or a record that is being printed somewhere else."""


@dataclass(frozen=True)
class Verified:
    """`troubles`: one line each, empty if the log is as it was written.

    `head`: end of the journal.
    """

    cases: int
    events: int
    drills: int
    deleted: int
    head: str
    troubles: tuple[str, ...]


def verify(log: SqlCaseLog, *heads: str) -> Verified:
    """Check every chain of cases and drills, the journal, each against the other, and what learning counts.

    A person who knows how the journal is made can cut off its end and forge a new one. To detect that, give the
    `heads` that earlier runs printed.
    """
    counts = {"cases": 0, "events": 0}
    troubles: list[str] = []

    def counted() -> Iterator[Sequence[Event]]:
        for events, trouble in chains(connection, EVENTS):
            counts["cases"], counts["events"] = counts["cases"] + 1, counts["events"] + len(events)
            troubles.extend([trouble] if trouble else [])
            yield events

    with log.reading() as connection:
        learned = list(miscounted(connection, counted()))
        drills = [trouble for _, trouble in chains(connection, DRILL_EVENTS)]
        head, journal_troubles = read_journal(connection, heads)
        troubles += [*filter(None, drills), *journal_troubles, *compare(connection)]
        gone = connection.execute(sa.select(sa.func.count()).select_from(DELETED)).scalar() or 0
    # What learning counts would only say again that the cases were changed.
    return Verified(**counts, drills=len(drills), deleted=gone, head=head, troubles=tuple(troubles or learned))


def first_line(log: SqlCaseLog) -> str:
    """Hash of the journal's first line, by which a log is known again wherever it lies; empty if it has none."""
    with log.reading() as connection:
        return str(connection.execute(sa.select(JOURNAL.c.hash).where(JOURNAL.c.seq == 1)).scalar() or "")


def recount(log: SqlCaseLog) -> int:
    """Count anew what learning reads, from the events; deleted cases keep what they taught. Returns the cases."""
    with log.transaction() as connection:
        known = sa.select(EVENTS.c.case_id).where(EVENTS.c.number == 1)
        gone = sa.select(DELETED.c.case_id)
        for table in OUTCOMES:
            stray = table.c.case_id.in_(known) | table.c.case_id.not_in(gone)
            connection.execute(table.delete().where(stray))
        closed = sa.select(EVENTS.c.case_id).where(EVENTS.c.kind.in_(TEACHING)).distinct()
        names = connection.execute(closed).scalars().all()
        for name in names:
            shop = connection.execute(sa.select(SOURCE.c.shop).where(SOURCE.c.case_id == name)).scalar() or ""
            write_outcome(connection, events_of(connection, name), shop)
    return len(names)


def delete_case(log: SqlCaseLog, case: str, at: str, by: str, reason: str, statistics: bool = False) -> int:
    """Remove a case for good and leave a tombstone; returns how many events went. `wiped` says if all is gone.

    What it taught (service, cause, results of checks; no person, no car, no words) stays unless
    `statistics` is true. Raises NoSuchCase, NotStorable.
    """
    with log.transaction() as connection:
        events = log.as_they_are(connection, case)
        _bury(connection, case, len(events), identity_of(connection, case), at, by, reason)
        for table in (EVENTS, SOURCE):
            connection.execute(table.delete().where(table.c.case_id == case))
        if statistics:
            forget_outcome(connection, case)
    wiped(log, wait=0)
    return len(events)


def delete_drill(log: SqlCaseLog, drill: str, at: str, by: str) -> int:
    """Remove a drill for good, the trainee's name and answers with it; returns how many events went.

    The tombstone says when and by whom, nothing of the drill. `wiped` says if all is gone.
    Raises NoSuchDrill, NotStorable.
    """
    with log.transaction() as connection:
        count = len(events_of(connection, drill, DRILL_EVENTS))
        if not count:
            raise no_such_drill(log, drill)
        _bury(connection, DRILL + drill, count, "", at, by, "")
        connection.execute(DRILL_EVENTS.delete().where(DRILL_EVENTS.c.case_id == drill))
    wiped(log, wait=0)
    return count


def _bury(connection: sa.Connection, name: str, events: int, identity: str, at: str, by: str, reason: str) -> None:
    """Leave a tombstone, and note it in the journal. Raises NotStorable."""
    by, reason = name_to_keep("by", by), name_to_keep("reason", reason, LONGEST_REASON)
    values = {"case_id": name, "at": at, "by": by, "reason": reason, "events": events, "identity": identity}
    tombstone = tombstone_hash(values)
    connection.execute(DELETED.insert().values(**values, hash=tombstone))
    note_in_journal(connection, [(name, 0, tombstone)])


def identity_of(connection: sa.Connection, case: str) -> str:
    """What a case is known by in every log it is copied to: the hash of its first event where it was opened."""
    kept = connection.execute(sa.select(SOURCE.c.identity).where(SOURCE.c.case_id == case)).scalar()
    return str(kept or hash_at(connection, case, 1) or "")


def wiped(log: SqlCaseLog, wait: int = WAIT_FOR_READERS) -> bool:
    """Empty the write-ahead file, in which SQLite keeps what was deleted; True if nothing of it is left.

    `wait`: milliseconds to wait for readers. False while someone still reads an older state, and always on
    PostgreSQL, which keeps old row versions until its vacuum and longer in its own write-ahead log.
    """
    if log.engine.dialect.name != "sqlite":
        return False
    raw = log.engine.raw_connection()
    try:
        cursor = raw.cursor()
        cursor.execute(f"PRAGMA busy_timeout={wait}")
        busy = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]  # SQLite: PRAGMA wal_checkpoint
        return not busy
    finally:
        raw.invalidate()  # its short timeout must not be reused
        raw.close()


def backup(log: SqlCaseLog, to: Path) -> None:
    """A whole copy of an SQLite log, made while others write. Raises CaseLogError; never overwrites."""
    if log.engine.dialect.name != "sqlite":
        raise CaseLogError(f"{log.name}: copy this database with its own tools, or use: comeback cases export FILE")
    if to.exists():
        raise CaseLogError(f"{to}: this file already exists. Choose another name.")
    part = to.with_name(to.name + ".part")
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except OSError as error:
        raise CaseLogError(f"{part}: {error.strerror}. Choose another place.") from None
    raw = log.engine.raw_connection()
    try:
        raw.cursor().execute("VACUUM INTO ?", (str(part),))  # SQLite: takes an empty file, and keeps no writer waiting
        os.replace(part, to)
    except (sqlite3.Error, OSError) as error:
        raise clear_error(str(to), error) from None
    finally:
        raw.close()
        part.unlink(missing_ok=True)

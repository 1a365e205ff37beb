"""Tables of the case log, how they are made and migrated, and its journal; by SQLAlchemy Core.

event            the record: append-only, hash-chained within a case
drill_event      drills of trainees: the same, the drill's id in the place of the case's
journal          the hashes of both in the order of writing, chained through the whole log; a drill is in it
                 under its id with DRILL before it
journal_end      its length and last hash, so that an end that was cut off shows
deleted          tombstones: a case, or a drill with DRILL before its id, was here and is gone
case_source      cases that came from another log
outcome_cause    causes of proven cases, in the order in which learning counts them
outcome_finding  what checks showed in proven cases with one cause
"""

import hashlib
from collections.abc import Callable
from typing import Any

import sqlalchemy as sa

from comeback.engine.case_log.database import TAMPERED
from comeback.engine.case_log.protocol import CaseLogError

TABLES = sa.MetaData()
_LENGTHS = {
    "case_id": 16, "kind": 16, "at": 40, "by": 80, "shop": 80, "reason": 400, "service": 40, "cause": 40,
    "check_id": 40, "result": 40, "knowledge": 64, "identity": 64, "previous": 64, "hash": 64, "event_hash": 64,
}  # fmt: skip
"""Characters of the columns of text; `payload` is of any length, all others are integers."""


def _table(name: str, keys: str, others: str = "", *more: sa.schema.SchemaItem, rowid: bool = True) -> sa.Table:
    """A table of columns by their names: first those of the key."""

    def column(of: str) -> sa.Column[Any]:
        kind: Any = sa.String(_LENGTHS[of]) if of in _LENGTHS else sa.Text if of == "payload" else sa.Integer
        return sa.Column(of, kind, primary_key=of in keys.split(), nullable=False, autoincrement=False)

    columns = map(column, f"{keys} {others}".split())
    return sa.Table(name, TABLES, *columns, *more, sqlite_with_rowid=rowid)


_CHAINED = ("case_id number", "kind at by payload knowledge previous hash")
VERSION = _table("log_version", "number")
EVENTS = _table("event", *_CHAINED, sa.UniqueConstraint("hash"))
DRILL_EVENTS = _table("drill_event", *_CHAINED, sa.UniqueConstraint("hash"))
JOURNAL = _table("journal", "seq", "case_id number event_hash hash")
JOURNAL_END = _table("journal_end", "one", "seq hash")
DELETED = _table("deleted", "case_id", "at by reason events identity hash")
SOURCE = _table("case_source", "case_id", "shop identity", sa.Index("case_source_identity", "identity"))
OUTCOMES = CAUSE, FINDING = [
    _table(name, keys, "", sa.Index(f"{name}_case", "case_id"), rowid=False)
    for name, keys in (
        ("outcome_cause", "shop service cause case_id"),
        ("outcome_finding", "shop cause check_id result case_id"),
    )
]
DRILL = "drill "
"""Stands before the id of a drill where cases and drills are listed together; no case id has a blank."""

MIGRATIONS: tuple[Callable[[sa.Connection], None], ...] = ()
"""Steps from version 1 of the tables to today's, in order; a new log is made as of today. Never edit a step that
has shipped."""


def migrate(connection: sa.Connection) -> None:
    """Make the tables, or bring them up to date; safe when several programs start at once. Raises CaseLogError."""
    take_turns(connection)
    VERSION.create(connection, checkfirst=True)
    done = _version(connection)
    if done > latest():
        raise CaseLogError("The case log was written by a newer version of this program. Update the program.")
    if not done:
        others = [table for table in TABLES.sorted_tables if table is not VERSION]
        TABLES.create_all(connection, others, checkfirst=False)
        connection.execute(VERSION.insert().values(number=latest()))
        return
    for number, step in enumerate(MIGRATIONS[done - 1 :], done + 1):
        step(connection)
        connection.execute(VERSION.insert().values(number=number))


def latest() -> int:
    """The version of today's tables."""
    return 1 + len(MIGRATIONS)


def up_to_date(connection: sa.Connection) -> bool:
    """True if there is nothing to migrate; only reads."""
    return connection.dialect.has_table(connection, VERSION.name) and _version(connection) == latest()


def begin_writing(connection: sa.Connection, name: str) -> None:
    """Wait for one's turn, and refuse to write if another program migrated the tables since this one opened the log.

    Nobody else writes or migrates until this transaction ends. Raises CaseLogError.
    """
    take_turns(connection)
    found = _version(connection)
    if found > latest():
        raise CaseLogError(
            f"{name}: a newer version of this program has changed the case log meanwhile. Nothing was written. "
            "Everything recorded so far is kept: close this program and start the newer one."
        )
    if found < latest():
        raise CaseLogError(f"{name}: log_version says {found}, not {latest()}. Nothing was written. {TAMPERED}")


def _version(connection: sa.Connection) -> int:
    return connection.execute(sa.select(sa.func.max(VERSION.c.number))).scalar() or 0


def take_turns(connection: sa.Connection) -> None:
    """Wait until no other program writes; SQLite's transactions do that by themselves."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(730212)")


def journal_hash(previous: str, case: str, number: int, event_hash: str) -> str:
    """Hash of a journal line, chained to the line before (empty for the first)."""
    return hashlib.sha256(f"{previous} {case} {number} {event_hash}".encode()).hexdigest()


def note_in_journal(connection: sa.Connection, lines: list[tuple[str, int, str]]) -> None:
    """Add (case, number, hash) lines at the end.

    The new end is noted only if the old one agrees: an end that was cut off stays to be seen.
    """
    if not lines:
        return
    end = connection.execute(sa.select(JOURNAL.c.seq, JOURNAL.c.hash).order_by(JOURNAL.c.seq.desc()).limit(1)).first()
    seq, before = (end.seq, end.hash) if end else (0, "")
    last, rows = before, []
    for case, number, event_hash in lines:
        seq, last = seq + 1, journal_hash(last, case, number, event_hash)
        rows.append({"seq": seq, "case_id": case, "number": number, "event_hash": event_hash, "hash": last})
    connection.execute(JOURNAL.insert(), rows)
    if not before:
        text = "INSERT INTO journal_end (one, seq, hash) VALUES (1, :seq, :hash) ON CONFLICT (one) DO NOTHING"
        connection.execute(sa.text(text), {"seq": seq, "hash": last})
    connection.execute(JOURNAL_END.update().where(JOURNAL_END.c.hash == before).values(seq=seq, hash=last))

"""The case log in a database (SQLite file by default), by SQLAlchemy Core.

The only module of the engine that touches a file. A commit is on the disk before `append` returns
(synchronous=FULL), so a killed program loses nothing that it was told is recorded.
"""

import json
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import DatabaseError, IntegrityError

from comeback.engine.case import Draft, Event, chain
from comeback.engine.case_log import CaseLine, CaseLogError, CaseMovedOn, NoSuchCase, new_id

_TABLES = sa.MetaData()
_EVENTS = sa.Table(
    "event",
    _TABLES,
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("kind", sa.String(16), nullable=False),
    sa.Column("at", sa.String(40), nullable=False),
    sa.Column("by", sa.String(80), nullable=False),
    sa.Column("payload", sa.Text, nullable=False),
    sa.Column("knowledge", sa.String(64), nullable=False),
    sa.Column("previous", sa.String(64), nullable=False),
    sa.Column("hash", sa.String(64), nullable=False, unique=True),
)
_VERSION = sa.Table("log_version", _TABLES, sa.Column("number", sa.Integer, primary_key=True))
MIGRATIONS: tuple[Callable[[sa.Connection], None], ...] = (lambda connection: _EVENTS.create(connection),)
"""Numbered steps from an empty database to today's tables; never edit one that has shipped."""


class SqlCaseLog:
    """A `CaseLog` over any database that SQLAlchemy reaches; SQLite and PostgreSQL are meant."""

    def __init__(self, engine: sa.Engine, name: str) -> None:
        self.engine, self.name = engine, name
        with self._transaction() as connection:
            _migrate(connection)

    @contextmanager
    def _transaction(self) -> Iterator[sa.Connection]:
        try:
            with self.engine.begin() as connection:
                yield connection
        except IntegrityError:
            raise
        except DatabaseError as error:
            reason = str(error.orig or error).splitlines()[0]
            raise CaseLogError(f"{self.name}: the case log cannot be used: {reason}. {_remedy(reason)}") from None

    def open_case(self, draft: Draft, knowledge: str, choose: Callable[[str], str]) -> Event:
        """Record the first event of a new case under a new id."""
        for _ in range(50):
            try:
                return self._insert(new_id(choose), 0, [draft], knowledge)[0]
            except IntegrityError:  # the id is taken: draw another
                continue
        raise CaseLogError(f"{self.name}: no free case id was found. Start a new log with --log.")

    def append(self, case: str, after: int, drafts: Sequence[Draft], knowledge: str) -> tuple[Event, ...]:
        """Record events after number `after`, all or none."""
        try:
            return self._insert(case, after, drafts, knowledge)
        except IntegrityError:
            raise CaseMovedOn(
                f"Somebody else has recorded something in case {case} meanwhile. Open it again to go on."
            ) from None

    def _insert(self, case: str, after: int, drafts: Sequence[Draft], knowledge: str) -> tuple[Event, ...]:
        with self._transaction() as connection:
            previous = _hash_at(connection, case, after) if after else ""
            if after and previous is None:
                raise NoSuchCase(f"{self.name}: case {case} has no event {after}. List them: comeback cases.")
            made: list[Event] = []
            for number, draft in enumerate(drafts, after + 1):
                event = chain(case, number, draft, knowledge, previous or "")
                connection.execute(_EVENTS.insert().values(**_row(event)))
                made.append(event)
                previous = event.hash
            return tuple(made)

    def events(self, case: str) -> tuple[Event, ...]:
        """All events of a case in order."""
        query = sa.select(_EVENTS).where(_EVENTS.c.case_id == case).order_by(_EVENTS.c.number)
        with self._transaction() as connection:
            found = tuple(_event(row) for row in connection.execute(query))
        if not found:
            raise NoSuchCase(f"There is no case '{case}' in {self.name}. List them: comeback cases.")
        return found

    def cases(self) -> tuple[CaseLine, ...]:
        """All cases, the latest touched first."""
        last = sa.select(_EVENTS.c.case_id, sa.func.max(_EVENTS.c.number).label("last"))
        ends = last.group_by(_EVENTS.c.case_id).subquery()
        query = sa.select(_EVENTS).join(ends, _EVENTS.c.case_id == ends.c.case_id)
        query = query.where(sa.or_(_EVENTS.c.number == 1, _EVENTS.c.number == ends.c.last))
        pairs: dict[str, list[Event]] = {}
        with self._transaction() as connection:
            for row in connection.execute(query.order_by(_EVENTS.c.number)):
                pairs.setdefault(row.case_id, []).append(_event(row))
        lines = [CaseLine(name, events[0], events[-1]) for name, events in pairs.items()]
        return tuple(sorted(lines, key=lambda line: line.last.at, reverse=True))


def open_log(place: str | Path) -> SqlCaseLog:
    """The log at a file path (made if missing, private to its owner) or a database URL.

    Raises CaseLogError if it cannot be opened.
    """
    text = str(place)
    if "://" in text:
        return SqlCaseLog(_engine(text), text.split("@")[-1])
    path = Path(place)
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise CaseLogError(f"{path}: {error.strerror}. Choose another place with --log FILE.") from None
    return SqlCaseLog(_engine(f"sqlite:///{path}"), text)


def _engine(url: str) -> sa.Engine:
    try:
        engine = sa.create_engine(url)
    except (sa.exc.ArgumentError, ImportError) as error:
        raise CaseLogError(f"{url}: this is no database the program can open ({error}). Check --log.") from None
    if engine.dialect.name == "sqlite":
        sa.event.listen(engine, "connect", _prepare_sqlite)
        sa.event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    return engine


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # we begin transactions ourselves, or every statement would commit alone
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=10000"):
        connection.execute(f"PRAGMA {pragma}")


def _migrate(connection: sa.Connection) -> None:
    """Bring the tables up to date; safe when several programs start at once."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(730211)")
    _VERSION.create(connection, checkfirst=True)
    done = connection.execute(sa.select(sa.func.max(_VERSION.c.number))).scalar() or 0
    if done > len(MIGRATIONS):
        raise CaseLogError("The case log was written by a newer version of this program. Update the program.")
    for number, step in enumerate(MIGRATIONS[done:], done + 1):
        step(connection)
        connection.execute(_VERSION.insert().values(number=number))


def _hash_at(connection: sa.Connection, case: str, number: int) -> str | None:
    query = sa.select(_EVENTS.c.hash).where(_EVENTS.c.case_id == case, _EVENTS.c.number == number)
    found: str | None = connection.execute(query).scalar()
    return found


def _row(event: Event) -> dict[str, Any]:
    payload = json.dumps(event.payload, ensure_ascii=False)
    return {
        "case_id": event.case, "number": event.number, "kind": event.kind, "at": event.at, "by": event.by,
        "payload": payload, "knowledge": event.knowledge, "previous": event.previous, "hash": event.hash,
    }  # fmt: skip


def _event(row: Any) -> Event:
    payload = json.loads(row.payload)
    return Event(row.case_id, row.number, row.kind, row.at, row.by, payload, row.knowledge, row.previous, row.hash)


def _remedy(reason: str) -> str:
    if "not a database" in reason or "malformed" in reason:
        return "Keep the file as it is and start a new one with --log FILE."
    if "readonly" in reason or "unable to open" in reason:
        return "Check that you may write there, or choose another place with --log FILE."
    if "locked" in reason:
        return "Another program holds it. Try again."
    if "disk" in reason or "full" in reason:
        return "Free some space; everything recorded so far is kept."
    return "Everything recorded so far is kept."

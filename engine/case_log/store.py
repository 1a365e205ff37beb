"""The case log in a database (SQLite file by default, PostgreSQL for many shops), by SQLAlchemy Core.

A commit is on the disk before `append` returns (synchronous=FULL), so a killed program loses nothing
that it was told is recorded. The same code serves both databases.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from comeback.engine.case.events import TEACHING, Draft, Event, chain, first_broken_link
from comeback.engine.case_log.address import is_database, shown
from comeback.engine.case_log.database import first_transaction, open_database, open_file, transaction
from comeback.engine.case_log.fields import storable
from comeback.engine.case_log.import_checks import Bad, check_events
from comeback.engine.case_log.outcomes import write_outcome
from comeback.engine.case_log.protocol import (
    CaseLine,
    CaseLogError,
    CaseMovedOn,
    DamagedCase,
    NoSuchCase,
    new_id,
)
from comeback.engine.case_log.rows import event_of, row_of
from comeback.engine.case_log.tables import (
    DELETED,
    DRILL,
    EVENTS,
    SOURCE,
    begin_writing,
    migrate,
    note_in_journal,
    up_to_date,
)

TRIES = 20
"""Times an entry is put at the end of a case anew, because another writer came before it."""


class SqlCaseLog:
    """A case log over any database that SQLAlchemy reaches; SQLite and PostgreSQL are meant.

    `shop` is written into the first event of every new case, so that many shops can share a log.
    """

    def __init__(self, engine: sa.Engine, name: str, shop: str = "") -> None:
        self.engine, self.name, self.shop = engine, name, shop
        try:
            first_transaction(engine, name).close()
            with self.reading() as connection:
                done = up_to_date(connection)
            if not done:
                with transaction(engine, name) as connection:
                    migrate(connection)
        except BaseException:
            engine.dispose()
            raise

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def transaction(self) -> Iterator[sa.Connection]:
        """All or nothing. Raises CaseLogError with a remedy, also if the tables are those of a newer program by now.

        IntegrityError is left to the caller.
        """
        with transaction(self.engine, self.name) as connection:
            begin_writing(connection, self.name)
            yield connection

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A consistent view that keeps no writer waiting. Raises CaseLogError."""
        with transaction(self.engine, self.name, reads=True) as connection:
            yield connection

    def open_case(self, draft: Draft, knowledge: str, choose: Callable[[str], str]) -> Event:
        """Record the first event of a new case under a new id. Raises NotStorable."""
        if self.shop:
            draft = replace(draft, payload={**draft.payload, "shop": self.shop})
        return self.with_new_id(choose, lambda case: self.insert(case, 0, [draft], knowledge)[0])

    def with_new_id(self, choose: Callable[[str], str], insert: Callable[[str], Event]) -> Event:
        """What `insert` records under a free id; it raises IntegrityError for one that is taken."""
        for _ in range(50):
            with suppress(IntegrityError):
                return insert(new_id(choose))
        raise CaseLogError(f"{self.name}: no free id was found. Start a new log with --log.")

    def append(self, case: str, after: int, drafts: Sequence[Draft], knowledge: str) -> tuple[Event, ...]:
        """Record events after number `after`, all or none. Raises CaseMovedOn, NoSuchCase, NotStorable."""
        try:
            return self.insert(case, after, drafts, knowledge)
        except IntegrityError:
            raise CaseMovedOn(
                f"Someone else has added to case {case} in the meantime. Open it again to continue."
            ) from None

    def insert(
        self, name: str, after: int, drafts: Sequence[Draft], knowledge: str, table: sa.Table = EVENTS
    ) -> tuple[Event, ...]:
        """Record events of a case, or with DRILL_EVENTS of a drill, after number `after` (0: its first ones).

        Raises IntegrityError if there are such already, NoSuchCase if it has no event `after`, NotStorable.
        """
        with self.transaction() as connection:
            previous = hash_at(connection, name, after, table) if after else ""
            if previous is None:
                raise NoSuchCase(f"{self.name}: case {name} has no event {after}. List them: comeback cases.")
            if not after and gone(connection, name if table is EVENTS else DRILL + name):
                raise IntegrityError("the id belonged to a deleted case", None, ValueError(name))
            made = chained(name, [(storable(draft), knowledge) for draft in drafts], previous, after)
            add_events(connection, made, table=table)
            return tuple(made)

    def append_at_end(self, case: str, draft: Draft) -> Event:
        """Record what harms no other entry, as a note, at the end of a case that others may be writing in.

        Raises NoSuchCase, LogUnreachable; CaseMovedOn only if they never stop.
        """
        for _ in range(TRIES):
            last = self.events(case)[-1]
            with suppress(CaseMovedOn):
                return self.append(case, last.number, [draft], last.knowledge)[0]
        raise CaseMovedOn(f"Case {case} keeps changing. Try again.")

    def events(self, case: str) -> tuple[Event, ...]:
        """All events of a case in order. Raises NoSuchCase, DamagedCase."""
        with self.reading() as connection:
            found = self.as_they_are(connection, case)
        broken = first_broken_link(found)
        if broken is not None:
            try:
                check_events(found)
            except Bad as bad:
                text = f"{self.name}: {bad}. Event {broken} is not as it was written. See: comeback cases verify"
                raise DamagedCase(text) from None
        return found

    def as_they_are(self, connection: sa.Connection, case: str) -> tuple[Event, ...]:
        """All events of a case in order, whatever is in them. Raises NoSuchCase."""
        found = events_of(connection, case)
        if found:
            return found
        tombstone = connection.execute(sa.select(DELETED).where(DELETED.c.case_id == case)).first()
        if tombstone:
            text = f"Case '{case}' was deleted from {self.name} on {tombstone.at[:10]} by {tombstone.by}"
            raise NoSuchCase(f"{text}: {tombstone.reason}.")
        raise NoSuchCase(f"There is no case '{case}' in {self.name}. List them: comeback cases.")

    def events_of_kinds(self, kinds: Sequence[str]) -> dict[str, list[Event]]:
        """The events of these kinds by case, in order, unchecked: to search by, not to build on."""
        query = sa.select(EVENTS).where(EVENTS.c.kind.in_(kinds)).order_by(EVENTS.c.case_id, EVENTS.c.number)
        found: dict[str, list[Event]] = {}
        with self.reading() as connection:
            for row in connection.execute(query):
                found.setdefault(row.case_id, []).append(event_of(row))
        return found

    def cases(self) -> tuple[CaseLine, ...]:
        """All cases, the latest touched first."""
        with self.reading() as connection:
            lines = [CaseLine(name, pair[0], pair[-1]) for name, pair in first_and_last(connection, EVENTS).items()]
        return tuple(sorted(lines, key=lambda line: line.last.at, reverse=True))


def open_log(place: str | Path, shop: str = "") -> SqlCaseLog:
    """The log at a file path (made if missing, private to its owner) or a database URL.

    `shop` names the shop whose cases are opened. Raises CaseLogError if the log cannot be opened.
    """
    text = str(place)
    if is_database(text):
        return SqlCaseLog(open_database(text), shown(text), shop)
    return SqlCaseLog(open_file(Path(place)), text, shop)


def chained(case: str, drafts: Iterable[tuple[Draft, str]], previous: str, after: int) -> list[Event]:
    """The events that record drafts, each with the version of the knowledge, after number `after` of the case."""
    made: list[Event] = []
    for number, (draft, knowledge) in enumerate(drafts, after + 1):
        made.append(chain(case, number, draft, knowledge, previous))
        previous = made[-1].hash
    return made


def add_events(connection: sa.Connection, made: Sequence[Event], shop: str = "", table: sa.Table = EVENTS) -> None:
    """Write chained events of one case or drill, their lines in the journal, and what a closed case teaches."""
    if not made:
        return
    case, prefix = made[0].case, "" if table is EVENTS else DRILL
    connection.execute(table.insert(), [row_of(event) for event in made])
    note_in_journal(connection, [(prefix + case, event.number, event.hash) for event in made])
    closed = sa.select(EVENTS.c.number).where(EVENTS.c.case_id == case, EVENTS.c.kind.in_(TEACHING))
    if table is EVENTS and connection.execute(closed.limit(1)).first():
        source = connection.execute(sa.select(SOURCE.c.shop).where(SOURCE.c.case_id == case)).scalar()
        write_outcome(connection, events_of(connection, case), source or shop)


def events_of(connection: sa.Connection, case: str, table: sa.Table = EVENTS) -> tuple[Event, ...]:
    """All events of a case (with DRILL_EVENTS: of a drill) in order, none if there is no such case."""
    query = sa.select(table).where(table.c.case_id == case).order_by(table.c.number)
    return tuple(event_of(row) for row in connection.execute(query))


def first_and_last(connection: sa.Connection, table: sa.Table) -> dict[str, list[Event]]:
    """The first and the last event of every case or drill (the same one, if there is only one), by id."""
    ends = sa.select(table.c.case_id, sa.func.max(table.c.number).label("last")).group_by(table.c.case_id).subquery()
    query = sa.select(table).join(ends, table.c.case_id == ends.c.case_id)
    query = query.where(sa.or_(table.c.number == 1, table.c.number == ends.c.last))
    pairs: dict[str, list[Event]] = {}
    for row in connection.execute(query.order_by(table.c.number)):
        pairs.setdefault(row.case_id, []).append(event_of(row))
    return pairs


def hash_at(connection: sa.Connection, case: str, number: int, table: sa.Table = EVENTS) -> str | None:
    """Hash of event `number` of the case (or drill), None if there is no such event."""
    query = sa.select(table.c.hash).where(table.c.case_id == case, table.c.number == number)
    found: str | None = connection.execute(query).scalar()
    return found


def gone(connection: sa.Connection, case: str) -> bool:
    """True if a case of this id was here and was deleted."""
    return connection.execute(sa.select(DELETED.c.case_id).where(DELETED.c.case_id == case)).first() is not None

"""Tables of the case log and the numbered migrations that make them, by SQLAlchemy Core.

event                the record: append-only, hash-chained within a case
journal              the same hashes in the order of writing, chained through the whole log; a drill stands in it
                     under its id with DRILL before it
journal_end          its length and last hash, so that an end that was cut off shows
outcome_cause        what proven cases amount to, ordered as learning counts it
outcome_finding      (shop, cause, check, result, case); only cases with one cause
outcome_prediction   chance that was given to a cause, and whether it was found
deleted              tombstones: a case, or a drill with DRILL before its id, was here and is gone
case_source          cases that came from another log
count_...            sums of the outcomes, see case_log_summary
drill_event          drills of trainees: append-only, hash-chained within a drill
"""

import hashlib
from collections.abc import Callable, Iterator

import sqlalchemy as sa

from comeback.engine.case.events import Event, Kind
from comeback.engine.case_log.database import TAMPERED
from comeback.engine.case_log.outcomes import BINS, Outcome, outcome_of
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.rows import event_of
from comeback.engine.case_log.sums import count_in, make_sums

TABLES = sa.MetaData()


def _chained(name: str, whose: str) -> sa.Table:
    """A table of chained events; `whose` is the column of what they belong to."""
    return sa.Table(
        name,
        TABLES,
        sa.Column(whose, sa.String(16), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("knowledge", sa.String(64), nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
    )


EVENTS = _chained("event", "case_id")
VERSION = sa.Table("log_version", TABLES, sa.Column("number", sa.Integer, primary_key=True))
JOURNAL = sa.Table(
    "journal",
    TABLES,
    sa.Column("seq", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("case_id", sa.String(16), nullable=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("event_hash", sa.String(64), nullable=False),
    sa.Column("hash", sa.String(64), nullable=False),
)
JOURNAL_END = sa.Table(
    "journal_end",
    TABLES,
    sa.Column("one", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("seq", sa.Integer, nullable=False),
    sa.Column("hash", sa.String(64), nullable=False),
)
DELETED = sa.Table(
    "deleted",
    TABLES,
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Column("at", sa.String(40), nullable=False),
    sa.Column("by", sa.String(80), nullable=False),
    sa.Column("reason", sa.String(400), nullable=False),
    sa.Column("events", sa.Integer, nullable=False),
    sa.Column("identity", sa.String(64), nullable=False),
    sa.Column("hash", sa.String(64), nullable=False),
)
SOURCE = sa.Table(
    "case_source",
    TABLES,
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Column("shop", sa.String(80), nullable=False),
    sa.Column("identity", sa.String(64), nullable=False, index=True),
)
_SHOP = sa.String(80)
CAUSE = sa.Table(
    "outcome_cause",
    TABLES,
    sa.Column("shop", _SHOP, primary_key=True),
    sa.Column("service", sa.String(40), primary_key=True),
    sa.Column("cause", sa.String(40), primary_key=True),
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Index("outcome_cause_case", "case_id"),
    sqlite_with_rowid=False,
)
FINDING = sa.Table(
    "outcome_finding",
    TABLES,
    sa.Column("shop", _SHOP, primary_key=True),
    sa.Column("cause", sa.String(40), primary_key=True),
    sa.Column("check_id", sa.String(40), primary_key=True),
    sa.Column("result", sa.String(40), primary_key=True),
    sa.Column("case_id", sa.String(16), primary_key=True),
    sqlite_with_rowid=False,
)
PREDICTION = sa.Table(
    "outcome_prediction",
    TABLES,
    sa.Column("bin", sa.Integer, primary_key=True),
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Column("cause", sa.String(40), primary_key=True),
    sa.Column("chance", sa.Float, nullable=False),
    sa.Column("found", sa.Integer, nullable=False),
    sa.Index("outcome_prediction_case", "case_id"),
    sqlite_with_rowid=False,
)
UNPREDICTED = sa.Table(
    "outcome_unpredicted",
    TABLES,
    sa.Column("case_id", sa.String(16), primary_key=True),
    sa.Column("at", sa.String(40), nullable=False),
)

DRILL_EVENTS = _chained("drill_event", "drill_id")
DRILL = "drill "
"""Stands before the id of a drill where cases and drills are listed together; no case id has a blank."""


_LAST_LINE = sa.select(JOURNAL.c.seq, JOURNAL.c.hash).order_by(JOURNAL.c.seq.desc()).limit(1)


def migrate(connection: sa.Connection) -> None:
    """Bring the tables up to date; safe when several programs start at once. Raises CaseLogError."""
    take_turns(connection)
    VERSION.create(connection, checkfirst=True)
    done = _version(connection)
    if done > len(MIGRATIONS):
        raise CaseLogError("The case log was written by a newer version of this program. Update the program.")
    for number, step in enumerate(MIGRATIONS[done:], done + 1):
        step(connection)
        connection.execute(VERSION.insert().values(number=number))


def up_to_date(connection: sa.Connection) -> bool:
    """True if there is nothing to migrate; only reads."""
    return connection.dialect.has_table(connection, VERSION.name) and _version(connection) == len(MIGRATIONS)


def begin_writing(connection: sa.Connection, name: str) -> None:
    """Wait for one's turn, and refuse to write if another program migrated the tables since this one opened the log.

    Nobody else writes or migrates until this transaction ends. Raises CaseLogError.
    """
    take_turns(connection)
    found = _version(connection)
    if found > len(MIGRATIONS):
        raise CaseLogError(
            f"{name}: a newer version of this program has changed the case log meanwhile. Nothing was written. "
            "Everything recorded so far is kept: close this program and start the newer one."
        )
    if found < len(MIGRATIONS):
        raise CaseLogError(f"{name}: log_version says {found}, not {len(MIGRATIONS)}. Nothing was written. {TAMPERED}")


def _version(connection: sa.Connection) -> int:
    return connection.execute(sa.select(sa.func.max(VERSION.c.number))).scalar() or 0


def _events(connection: sa.Connection) -> None:
    EVENTS.create(connection)


def _journal(connection: sa.Connection) -> None:
    """The journal of a log that had none begins with what was there, in order of case and number."""
    for table in (JOURNAL, DELETED, SOURCE):
        table.create(connection)
    seq, last = 0, ""
    query = sa.select(EVENTS.c.case_id, EVENTS.c.number, EVENTS.c.hash).order_by(EVENTS.c.case_id, EVENTS.c.number)
    for row in connection.execute(query).all():
        seq, last = seq + 1, journal_hash(last, row.case_id, row.number, row.hash)
        values = {"seq": seq, "case_id": row.case_id, "number": row.number, "event_hash": row.hash, "hash": last}
        connection.execute(JOURNAL.insert().values(**values))


def _outcomes(connection: sa.Connection) -> None:
    for table in (CAUSE, FINDING, PREDICTION):
        table.create(connection)


def _unpredicted(connection: sa.Connection) -> None:
    """The table of cases without a prediction; what learning counts is written anew from all that were closed."""
    UNPREDICTED.create(connection)
    closed = sa.select(EVENTS.c.case_id).where(EVENTS.c.kind == Kind.CLOSED).distinct()
    for name in connection.execute(closed).scalars().all():
        query = sa.select(EVENTS).where(EVENTS.c.case_id == name).order_by(EVENTS.c.number)
        shop = connection.execute(sa.select(SOURCE.c.shop).where(SOURCE.c.case_id == name)).scalar() or ""
        write_outcome(connection, name, [event_of(row) for row in connection.execute(query)], shop, sums=False)


def _drills(connection: sa.Connection) -> None:
    DRILL_EVENTS.create(connection)


def _journal_end(connection: sa.Connection) -> None:
    JOURNAL_END.create(connection)
    end = connection.execute(_LAST_LINE).first()
    if end:
        connection.execute(JOURNAL_END.insert().values(one=1, seq=end.seq, hash=end.hash))


def _drill_journal(connection: sa.Connection) -> None:
    """Drills that were recorded before the journal knew of them, in order of drill and number."""
    c = DRILL_EVENTS.c
    rows = connection.execute(sa.select(c.drill_id, c.number, c.hash).order_by(c.drill_id, c.number)).all()
    note_in_journal(connection, [(DRILL + row.drill_id, row.number, row.hash) for row in rows])


MIGRATIONS: tuple[Callable[[sa.Connection], None], ...] = (
    _events, _journal, _outcomes, _unpredicted, _drills, make_sums, _journal_end, _drill_journal,
)  # fmt: skip
"""Numbered steps from an empty database to today's tables; never edit one that has shipped."""


def journal_hash(previous: str, case: str, number: int, event_hash: str) -> str:
    """Hash of a journal line, chained to the line before (empty for the first)."""
    return hashlib.sha256(f"{previous} {case} {number} {event_hash}".encode()).hexdigest()


def take_turns(connection: sa.Connection) -> None:
    """Wait until no other program writes; SQLite's transactions do that by themselves."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(730212)")


def note_in_journal(connection: sa.Connection, lines: list[tuple[str, int, str]]) -> None:
    """Add (case, number, hash) lines at the end."""
    end = connection.execute(_LAST_LINE).first()
    seq, last = (end.seq, end.hash) if end else (0, "")
    rows = []
    for case, number, event_hash in lines:
        seq, last = seq + 1, journal_hash(last, case, number, event_hash)
        rows.append({"seq": seq, "case_id": case, "number": number, "event_hash": event_hash, "hash": last})
    if rows:
        connection.execute(JOURNAL.insert(), rows)
        _move_end(connection, end.hash if end else "", seq, last)


def _move_end(connection: sa.Connection, before: str, seq: int, last: str) -> None:
    """Note the new end, but only if the old one agrees: an end that was cut off stays to be seen."""
    if not before:
        text = "INSERT INTO journal_end (one, seq, hash) VALUES (1, :seq, :hash) ON CONFLICT (one) DO NOTHING"
        connection.execute(sa.text(text), {"seq": seq, "hash": last})
    agrees = JOURNAL_END.c.hash == before
    connection.execute(JOURNAL_END.update().where(agrees).values(seq=seq, hash=last))


def forget_outcome(connection: sa.Connection, case: str, sums: bool = True) -> None:
    """Take back what learning counts of this case; `sums` is false as long as their tables are not made."""
    shop_cause = sa.select(CAUSE.c.shop, CAUSE.c.cause).where(CAUSE.c.case_id == case)
    for shop, cause in connection.execute(shop_cause).all():
        of_case = sa.and_(FINDING.c.shop == shop, FINDING.c.cause == cause, FINDING.c.case_id == case)
        _forget(connection, FINDING, of_case, sums)
    for table in (CAUSE, PREDICTION, UNPREDICTED):
        _forget(connection, table, table.c.case_id == case, sums)


def _forget(connection: sa.Connection, table: sa.Table, which: sa.ColumnElement[bool], sums: bool) -> None:
    rows = [dict(row) for row in connection.execute(table.select().where(which)).mappings()]
    if rows:
        connection.execute(table.delete().where(which))
        if sums:
            count_in(connection, table.name, rows, -1)


def write_outcome(connection: sa.Connection, case: str, events: list[Event], shop: str = "", sums: bool = True) -> None:
    """Write what a closed and proven case amounts to, in place of what was written before."""
    forget_outcome(connection, case, sums)
    outcome = outcome_of(events, shop)
    if outcome is None:
        return
    for table, rows in rows_of(case, outcome):
        if rows:
            connection.execute(table.insert(), rows)
            if sums:
                count_in(connection, table.name, rows)
    if not outcome.predicted:
        connection.execute(UNPREDICTED.insert().values(case_id=case, at=events[-1].at))


def rows_of(case: str, outcome: Outcome) -> Iterator[tuple[sa.Table, list[dict[str, object]]]]:
    """What the outcome is in the outcome tables."""
    one = {"shop": outcome.shop, "case_id": case}
    yield CAUSE, [{**one, "service": outcome.service, "cause": cause} for cause in outcome.causes]
    yield (
        FINDING,
        [
            {**one, "cause": outcome.causes[0], "check_id": check, "result": result}
            for check, result in outcome.findings.items()
        ],
    )
    yield PREDICTION, [
        {"bin": min(int(chance * BINS), BINS - 1), "case_id": case, "cause": cause, "chance": chance,
         "found": int(cause in outcome.causes)}
        for cause, chance in outcome.predicted.items()
    ]  # fmt: skip

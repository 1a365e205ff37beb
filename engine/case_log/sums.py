"""What a closed case amounts to, in rows, and sums over the rows, kept in step as cases close.

count_cause        (shop, service, cause) -> cases
count_finding      (shop, cause, check, result) -> cases with that cause alone
count_prediction   class of chance -> predictions, the sum of their chances, how many were found
"""

from collections.abc import Iterator, Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from comeback.engine.case.events import Event
from comeback.engine.case_log.outcomes import BINS, Outcome, outcome_of
from comeback.engine.case_log.tables import (
    CAUSE,
    COUNT_CAUSE,
    COUNT_FINDING,
    COUNT_PREDICTION,
    FINDING,
    OUTCOMES,
    PREDICTION,
    UNPREDICTED,
)

_SUMS = {CAUSE: COUNT_CAUSE, FINDING: COUNT_FINDING, PREDICTION: COUNT_PREDICTION}
_NEAR = 1e-6
"""Sums of chances agree within so much of themselves: adding and taking away leaves crumbs."""


def write_outcome(connection: sa.Connection, case: str, events: Sequence[Event], shop: str = "") -> None:
    """Write what a closed and proven case amounts to, in place of what was written before."""
    forget_outcome(connection, case)
    outcome = outcome_of(events, shop)
    if outcome is None:
        return
    for table, rows in rows_of(case, outcome).items():
        if rows:
            connection.execute(table.insert(), rows)
            _count_in(connection, table, rows)
    if not outcome.predicted and not outcome.by_phone:
        connection.execute(UNPREDICTED.insert().values(case_id=case, at=events[-1].at))


def forget_outcome(connection: sa.Connection, case: str) -> None:
    """Take back what learning counts of this case."""
    for table in (*OUTCOMES, UNPREDICTED):
        which = table.c.case_id == case
        rows = [dict(row) for row in connection.execute(table.select().where(which)).mappings()]
        connection.execute(table.delete().where(which))
        if rows and table in _SUMS:
            _count_in(connection, table, rows, -1)


def rows_of(case: str, outcome: Outcome) -> dict[sa.Table, list[dict[str, object]]]:
    """What the outcome is in the outcome tables."""
    one = {"shop": outcome.shop, "case_id": case}
    lone = {**one, "cause": outcome.causes[0]}
    return {
        CAUSE: [{**one, "service": outcome.service, "cause": cause} for cause in outcome.causes],
        FINDING: [{**lone, "check_id": check, "result": result} for check, result in outcome.findings.items()],
        PREDICTION: [
            {"bin": min(int(chance * BINS), BINS - 1), "case_id": case, "cause": cause, "chance": chance,
             "found": int(cause in outcome.causes)}
            for cause, chance in outcome.predicted.items()
        ],
    }  # fmt: skip


def count_anew(connection: sa.Connection) -> None:
    """Add everything up once more from the outcome tables, inside the database."""
    for source, table in _SUMS.items():
        connection.execute(table.delete())
        names = ", ".join(column.name for column in table.columns)
        connection.execute(sa.text(f"INSERT INTO {table.name} ({names}) {_grouped(source)}"))


def _count_in(connection: sa.Connection, source: sa.Table, rows: Sequence[Mapping[str, object]], sign: int = 1) -> None:
    """Add rows of an outcome table to its sums; with sign -1 take them away."""
    table = _SUMS[source]
    keys, sums = _columns(table)
    insert = (postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert)(table)
    more = {name: table.c[name] + insert.excluded[name] for name in sums}
    upsert = insert.on_conflict_do_update(index_elements=keys, set_=more)
    ones = ({"cases": 1, **row} for row in rows)
    made = [{**{key: one[key] for key in keys}, **{name: sign * one[name] for name in sums}} for one in ones]  # type: ignore[operator]
    # In one order everywhere, so that two writers never wait for each other.
    connection.execute(upsert, sorted(made, key=lambda one: [str(one[key]) for key in keys]))


def _grouped(source: sa.Table) -> str:
    """The query that adds the outcome table up into the columns of its sums."""
    keys, sums = _columns(_SUMS[source])
    made = ["COUNT(*)" if name == "cases" else f"SUM({name})" for name in sums]
    return f"SELECT {', '.join([*keys, *made])} FROM {source.name} GROUP BY {', '.join(keys)}"


def _columns(table: sa.Table) -> tuple[list[str], list[str]]:
    """Names of the keys and of the sums."""
    keys = [column.name for column in table.primary_key]
    return keys, [column.name for column in table.columns if column.name not in keys]


def sums_that_differ(connection: sa.Connection) -> Iterator[str]:
    """Names of the tables of sums that do not follow from the cases."""
    for source, table in _SUMS.items():
        keys, _ = _columns(table)
        kept, there = (
            {tuple(row[: len(keys)]): tuple(row[len(keys) :]) for row in connection.execute(query)}
            for query in (table.select().where(table.c.cases != 0), sa.text(_grouped(source)))
        )
        if kept.keys() != there.keys() or not all(
            abs(one - other) <= _NEAR * (1 + other) * (table is COUNT_PREDICTION)
            for key in kept
            for one, other in zip(kept[key], there[key], strict=True)
        ):
            yield table.name

"""Sums over closed cases, kept in step as cases close: learning reads these, however many cases there are.

count_cause        (shop, service, cause) -> cases
count_finding      (shop, cause, check, result) -> cases with that cause alone
count_prediction   class of chance -> predictions, the sum of their chances, how many were found

They follow from the outcome tables, row by row, and `sums_that_differ` says if they still do.
"""

from collections.abc import Iterator, Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

SUMS = sa.MetaData()
COUNT_CAUSE = sa.Table(
    "count_cause",
    SUMS,
    sa.Column("shop", sa.String(80), primary_key=True),
    sa.Column("service", sa.String(40), primary_key=True),
    sa.Column("cause", sa.String(40), primary_key=True),
    sa.Column("cases", sa.Integer, nullable=False),
    sqlite_with_rowid=False,
)
COUNT_FINDING = sa.Table(
    "count_finding",
    SUMS,
    sa.Column("shop", sa.String(80), primary_key=True),
    sa.Column("cause", sa.String(40), primary_key=True),
    sa.Column("check_id", sa.String(40), primary_key=True),
    sa.Column("result", sa.String(40), primary_key=True),
    sa.Column("cases", sa.Integer, nullable=False),
    sqlite_with_rowid=False,
)
COUNT_PREDICTION = sa.Table(
    "count_prediction",
    SUMS,
    sa.Column("bin", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("cases", sa.Integer, nullable=False),
    sa.Column("chance", sa.Float, nullable=False),
    sa.Column("found", sa.Integer, nullable=False),
)
_OF = {"outcome_cause": COUNT_CAUSE, "outcome_finding": COUNT_FINDING, "outcome_prediction": COUNT_PREDICTION}
_NEAR = 1e-6
"""Sums of chances agree within so much of themselves: adding and taking away leaves crumbs."""


def make_sums(connection: sa.Connection) -> None:
    """Make the tables and add up what is there."""
    SUMS.create_all(connection)
    count_anew(connection)


def count_anew(connection: sa.Connection) -> None:
    """Add everything up once more from the outcome tables, inside the database."""
    for source, table in _OF.items():
        connection.execute(table.delete())
        names = ", ".join(name for part in _columns(table) for name in part)
        connection.execute(sa.text(f"INSERT INTO {table.name} ({names}) {_grouped(source, table)}"))


def count_in(connection: sa.Connection, source: str, rows: Sequence[Mapping[str, object]], sign: int = 1) -> None:
    """Add rows of an outcome table to its sums; with sign -1 take them away."""
    table = _OF.get(source)
    if table is None or not rows:
        return
    keys, sums = _columns(table)
    insert = (postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert)(table)
    more = {name: table.c[name] + insert.excluded[name] for name in sums}
    # In one order everywhere, so that two writers never wait for each other.
    made = [{**{key: row[key] for key in keys}, **_one(row, sums, sign)} for row in rows]
    upsert = insert.on_conflict_do_update(index_elements=keys, set_=more)
    connection.execute(upsert, sorted(made, key=lambda one: [str(one[key]) for key in keys]))


def _one(row: Mapping[str, object], sums: Sequence[str], sign: int) -> dict[str, object]:
    return {name: sign if name == "cases" else sign * row[name] for name in sums}  # type: ignore[operator]


def _grouped(source: str, table: sa.Table) -> str:
    """The query that adds the outcome table up into the columns of its sums."""
    keys, sums = _columns(table)
    made = ["COUNT(*)" if name == "cases" else f"SUM({name})" for name in sums]
    return f"SELECT {', '.join([*keys, *made])} FROM {source} GROUP BY {', '.join(keys)}"


def _columns(table: sa.Table) -> tuple[list[str], list[str]]:
    """Names of the keys and of the sums."""
    every = [(column.name, column.primary_key) for column in table.columns]
    return [name for name, key in every if key], [name for name, key in every if not key]


def sums_that_differ(connection: sa.Connection) -> Iterator[str]:
    """Names of the tables of sums that do not follow from the cases."""
    for source, table in _OF.items():
        if table is COUNT_PREDICTION:
            kept = {row.bin: row[1:] for row in connection.execute(table.select().where(table.c.cases > 0))}
            there = {row.bin: row[1:] for row in connection.execute(sa.text(_grouped(source, table)))}
            same = kept.keys() == there.keys() and all(
                kept[k][0] == there[k][0] and kept[k][2] == there[k][2]
                and abs(kept[k][1] - there[k][1]) <= _NEAR * (1 + there[k][1])
                for k in kept
            )  # fmt: skip
        else:
            mine, real = f"SELECT * FROM {table.name} WHERE cases <> 0", _grouped(source, table)
            same = not any(
                connection.execute(sa.text(f"{one} EXCEPT {other}")).first()
                for one, other in ((mine, real), (real, mine))
            )
        if not same:
            yield table.name

"""An answer is on the disk before it is acknowledged: each connection that writes waits for it.

Sources: SQLite, "PRAGMA Statements": synchronous 2 is FULL; "Write-Ahead Logging": with FULL the log file is
synced at each commit, with NORMAL and OFF it is not. From memory.
"""

import random

import pytest
import sqlalchemy as sa

from comeback.engine.case.events import Draft
from comeback.engine.case_log.drills import add_turn, open_drill
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.upkeep import delete_case, recount
from support import case_logs

AT, closed_case = case_logs.AT, case_logs.closed_case
FULL = (2, "wal")


@pytest.fixture
def log(tmp_path):
    made = open_log(tmp_path / "cases.db")
    yield made
    made.close()


def durability(connection):
    """(synchronous, journal mode) of a connection of the driver."""
    return tuple(connection.execute(f"PRAGMA {name}").fetchone()[0] for name in ("synchronous", "journal_mode"))


def test_every_connection_of_the_pool_waits_for_the_disk(log):
    connections = [log.engine.raw_connection() for _ in range(12)]
    assert len({id(one.driver_connection) for one in connections}) == 12
    assert {durability(one.driver_connection) for one in connections} == {FULL}
    for one in connections:
        one.close()
    assert durability(log.engine.raw_connection().driver_connection) == FULL


def test_every_connection_that_writes_waits_for_the_disk_when_it_commits(log):
    seen = []
    sa.event.listen(log.engine, "commit", lambda one: seen.append(durability(one.connection.driver_connection)))
    name = closed_case(log)
    add_turn(log, open_drill(log, Draft("opened", AT, "Ben"), "k1", random.Random(1).choice), Draft("signs", AT, "Ben"))
    delete_case(log, name, AT, "Ida", "asked for")
    recount(log)
    assert len(seen) >= 6
    assert set(seen) == {FULL}

"""Two versions of the program on one log: the older one stops writing, and says what to do."""

import json
import random

import pytest
import sqlalchemy as sa

from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.drills import open_drill
from comeback.engine.case_log.exchange import import_lines
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.rows import plain_event
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.tables import TABLES, begin_writing, latest
from comeback.engine.case_log.upkeep import delete_case, recount
from support import case_logs

AT, closed_case = case_logs.AT, case_logs.closed_case


@pytest.fixture(params=["sqlite", "postgres"])
def place(request, tmp_path):
    return case_logs.fresh_postgres() if request.param == "postgres" else tmp_path / "cases.db"


@pytest.fixture
def log(place):
    made = open_log(place)
    yield made
    made.close()


FIRST = chain("K7RT", 1, Draft("opened", AT, "Ida"), "k1", "")
LINES = [
    json.dumps({"format": "comeback-cases", "version": 1}),
    json.dumps({"case": "K7RT", "identity": FIRST.hash, "shop": "", "events": [plain_event(FIRST)]}),
]
WRITES = {
    "a new case": lambda log, case: closed_case(log, 2),
    "an answer": lambda log, case: log.append(case, 7, [Draft("noted", AT, "Ida", {"text": "late"})], "k1"),
    "a drill": lambda log, case: open_drill(log, Draft("opened", AT, "Ida"), "k1", random.Random(3).choice),
    "a deletion": lambda log, case: delete_case(log, case, AT, "Ida", "asked for"),
    "a count": lambda log, case: recount(log),
    "an import": lambda log, case: import_lines(log, LINES, "x.jsonl", random.Random(4).choice),
}


def rows_of_all(engine):
    """Everything in the log."""
    with engine.connect() as connection:
        return {table.name: connection.execute(table.select()).all() for table in TABLES.sorted_tables}


@pytest.mark.parametrize("what", WRITES)
def test_log_that_a_newer_program_migrates_while_it_is_open_is_not_written_any_more(place, what):
    log, newer = open_log(place), open_log(place)
    name = closed_case(log)
    with newer.engine.begin() as connection:
        connection.execute(sa.text(f"INSERT INTO log_version VALUES ({latest() + 1})"))
    before = rows_of_all(newer.engine)
    with pytest.raises(CaseLogError, match=r"newer version .* Nothing was written.* start the newer one") as refused:
        WRITES[what](log, name)
    assert "\n" not in str(refused.value)
    assert rows_of_all(newer.engine) == before
    log.close()
    newer.close()


@pytest.mark.parametrize("what", WRITES)
def test_the_same_writes_go_through_while_nobody_migrates(log, what):
    name = closed_case(log)
    before = rows_of_all(log.engine)
    WRITES[what](log, name)
    assert what == "a count" or rows_of_all(log.engine) != before


def test_nobody_migrates_a_server_between_a_look_at_the_version_and_the_write():
    log = open_log(case_logs.fresh_postgres())
    free = sa.text("SELECT pg_try_advisory_xact_lock(730212)")
    with log.engine.begin() as writer, log.engine.connect() as newer:
        begin_writing(writer, log.name)
        assert newer.execute(free).scalar() is False
    with log.engine.connect() as newer:
        assert newer.execute(free).scalar() is True
    log.close()


def test_version_taken_away_by_hand_says_what_to_do(place):
    log = open_log(place)
    with log.engine.begin() as connection:
        connection.execute(sa.text("DELETE FROM log_version"))
    for write in (lambda: closed_case(log), lambda: open_log(place)):
        with pytest.raises(CaseLogError, match=r"log_version was changed .* backup .* --log FILE") as refused:
            write()
        assert "\n" not in str(refused.value)
    log.close()

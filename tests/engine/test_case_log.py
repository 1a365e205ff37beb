"""The log: chained, append-only, private, and clear when something is in its way."""

import os
import random
import stat

import pytest
import sqlalchemy as sa

from comeback.engine.case import Draft, first_broken_link, read_case
from comeback.engine.case_log import CaseLogError, CaseMovedOn, NoSuchCase
from comeback.engine.case_log_sql import open_log

AT = "2026-03-02T08:15:00+01:00"


@pytest.fixture
def log(tmp_path):
    made = open_log(tmp_path / "data" / "cases.db")
    yield made
    made.engine.dispose()


def opened(log, seed=1):
    return log.open_case(Draft("opened", AT, "Ida", {"car": "green hatchback"}), "k1", random.Random(seed).choice)


def test_what_was_appended_is_read_back(log):
    first = opened(log)
    log.append(first.case, 1, [Draft("service", AT, "Ida", {"service": "intake-cleaning"})], "k1")
    case = read_case(log.events(first.case))
    assert (case.car, case.service, case.last) == ("green hatchback", "intake-cleaning", 2)


def test_chain_shows_any_change(log):
    first = opened(log)
    log.append(first.case, 1, [Draft("noted", AT, "Ida", {"text": "drips under the engine"})], "k1")
    assert first_broken_link(log.events(first.case)) is None
    with log.engine.begin() as connection:
        connection.execute(sa.text('UPDATE event SET payload = \'{"text": "dry"}\' WHERE number = 2'))
    assert first_broken_link(log.events(first.case)) == 2


def test_second_writer_is_told_that_the_case_moved_on(log):
    first = opened(log)
    log.append(first.case, 1, [Draft("noted", AT, "Ida", {"text": "a"})], "k1")
    with pytest.raises(CaseMovedOn, match="Open it again"):
        log.append(first.case, 1, [Draft("noted", AT, "Ben", {"text": "b"})], "k1")
    assert len(log.events(first.case)) == 2


def test_taken_id_is_drawn_again(log):
    one, two = opened(log, seed=3), opened(log, seed=3)
    assert one.case != two.case
    assert {line.id for line in log.cases()} == {one.case, two.case}


def test_unknown_case_is_named(log):
    with pytest.raises(NoSuchCase, match="There is no case 'ZZZZ'"):
        log.events("ZZZZ")


def test_file_is_private(log, tmp_path):
    assert stat.S_IMODE(os.stat(tmp_path / "data" / "cases.db").st_mode) == 0o600
    assert stat.S_IMODE(os.stat(tmp_path / "data").st_mode) == 0o700


@pytest.mark.parametrize("content", [b"this is no database, only some words about one" * 40])
def test_file_of_another_kind_is_refused_and_kept(tmp_path, content):
    path = tmp_path / "cases.db"
    path.write_bytes(content)
    with pytest.raises(CaseLogError, match="Keep the file as it is"):
        open_log(path)
    assert path.read_bytes() == content


def test_folder_in_place_of_the_file(tmp_path):
    with pytest.raises(CaseLogError, match="Choose another place"):
        open_log(tmp_path)

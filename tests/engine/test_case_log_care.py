"""Tampering shows, deleting leaves a tombstone, copies are whole, cases travel without duplicates."""

import json
import random
import stat

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.exchange import Grown, export_lines, import_lines
from comeback.engine.case_log.protocol import CaseLogError, NoSuchCase
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.upkeep import backup, delete_case, recount, verify
from comeback.engine.learning.counts import cause_counts
from support import case_logs

AT, closed_case = case_logs.AT, case_logs.closed_case


@pytest.fixture(params=["sqlite", "postgres"])
def log(request, tmp_path):
    made = open_log(case_logs.fresh_postgres() if request.param == "postgres" else tmp_path / "here.db")
    yield made
    made.engine.dispose()


@pytest.fixture
def other(tmp_path):
    made = open_log(tmp_path / "other.db", "dale")
    yield made
    made.engine.dispose()


def take(log, lines, shop=""):
    return import_lines(log, lines, "x.jsonl", random.Random(5).choice, shop)


TAMPERING = {
    "an answer changed": "UPDATE event SET payload = '{}' WHERE number = 4",
    "a name changed": "UPDATE event SET \"by\" = 'Zoe' WHERE number = 2",
    "an event in the middle removed": "DELETE FROM event WHERE number = 3",
    "two events in each other's place": "UPDATE event SET number = number + 93 WHERE number IN (3, 4);"
    "UPDATE event SET number = 100 - number WHERE number > 90",
    "the last event of a case removed": "DELETE FROM event WHERE number = 7",
    "an end cut off, journal and all": "DELETE FROM event WHERE number = 7; DELETE FROM journal WHERE number = 7",
    "everything removed": "DELETE FROM event; DELETE FROM journal",
    "a cause that learning counts changed": "UPDATE outcome_cause SET cause = 'fuse-out'",
    "a finding that learning counts changed": "UPDATE outcome_finding SET result = 'tight'",
    "a finding that learning counts added": "INSERT INTO outcome_finding "
    "SELECT shop, cause, 'volts', 'low', case_id FROM outcome_cause",
    "a case that learning counts invented": "INSERT INTO outcome_cause VALUES ('', 'a', 'b', 'ZZZZ')",
    "another shop for a case": "INSERT INTO case_source SELECT case_id, 'dale', hash FROM event WHERE number = 1",
    "a whole case removed": "DELETE FROM event",
    "a whole case removed with its journal": "DELETE FROM event; DELETE FROM journal WHERE seq > 1",
    "an event moved to another case": "UPDATE event SET case_id = 'ZZZZ' WHERE number = 7",
    "the journal changed": "UPDATE journal SET event_hash = hash WHERE seq = 2",
    "a line of the journal removed": "DELETE FROM journal WHERE seq = 3",
    "half a sign in a payload": 'UPDATE event SET payload = \'{"car": "\\udcff"}\' WHERE number = 1',
    "payload nested deeply": f"UPDATE event SET payload = '{'[' * 9000}' WHERE number = 4",
    "payload that is no JSON": "UPDATE event SET payload = 'rubbish' WHERE number = 4",
}


@pytest.mark.parametrize("how", TAMPERING)
def test_tampering_shows(log, how):
    closed_case(log)
    assert verify(log).troubles == ()
    with log.engine.begin() as connection:
        for statement in TAMPERING[how].split(";"):
            connection.execute(sa.text(statement))
    assert verify(log).troubles


def test_an_end_that_was_cut_off_shows_against_a_head_noted_before(log):
    closed_case(log, 1)
    head = verify(log).head
    with log.engine.begin() as connection:
        for table in ("event", "journal"):
            connection.execute(sa.text(f"DELETE FROM {table} WHERE number = 7"))
        connection.execute(sa.text("UPDATE journal_end SET seq = 6, hash = (SELECT hash FROM journal WHERE seq = 6)"))
        for table in ("cause", "finding"):
            connection.execute(sa.text(f"DELETE FROM outcome_{table}"))
    assert verify(log).troubles == ()
    assert "cut off" in verify(log, head).troubles[0]


def test_an_end_that_was_cut_off_stays_to_be_seen_when_the_log_goes_on(log):
    name = closed_case(log, 1)
    with log.engine.begin() as connection:
        for table in ("event", "journal"):
            connection.execute(sa.text(f"DELETE FROM {table} WHERE number = 7"))
    log.append(name, 6, [Draft("noted", AT, "Zoe", {"text": "nothing happened"})], "k1")
    assert "cut off" in " ".join(verify(log).troubles)


def test_missing_case_is_one_line_however_many_events_it_had(log):
    name = closed_case(log, 1)
    closed_case(log, 2)
    with log.engine.begin() as connection:
        connection.execute(sa.text(f"DELETE FROM event WHERE case_id = '{name}'"))
    assert verify(log).troubles == (f"case {name}: 7 events, 1 to 7, are missing or not as written",)


def test_what_learning_counts_can_be_counted_anew_from_the_events(log):
    closed_case(log, 1, shop="mill")
    gone = closed_case(log, 2)
    delete_case(log, gone, AT, "Ida", "asked for")
    before = sorted(cause_counts(log))
    with log.engine.begin() as connection:
        connection.execute(sa.text("UPDATE outcome_cause SET cause = 'fuse-out' WHERE shop = 'mill'"))
        connection.execute(sa.text("DELETE FROM outcome_finding WHERE shop = 'mill'"))
    assert "comeback cases recount" in verify(log).troubles[0]
    assert recount(log) == 1
    assert verify(log).troubles == ()
    assert sorted(cause_counts(log)) == before


def test_head_noted_before_is_still_in_a_log_that_went_on(log):
    closed_case(log, 1)
    head = verify(log).head
    closed_case(log, 2)
    assert verify(log, head).troubles == ()


def test_deleted_case_leaves_a_tombstone_and_what_it_taught(log):
    name = closed_case(log, 1)
    closed_case(log, 2)
    assert delete_case(log, name, AT, "Ida", "the customer asked for it") == 7
    with pytest.raises(NoSuchCase, match=r"deleted from .* on 2026-03-02 by Ida: the customer asked for it"):
        log.events(name)
    done = verify(log)
    assert (done.cases, done.deleted, done.troubles) == (1, 1, ())
    assert list(cause_counts(log)) == [("", "lamp-change", "lamp-loose", 2)]
    assert log.open_case(Draft("opened", AT, "Ida"), "k1", random.Random(1).choice).case != name


def test_statistics_can_be_deleted_too(log):
    delete_case(log, closed_case(log), AT, "Ida", "x", statistics=True)
    assert list(cause_counts(log)) == []


@pytest.mark.parametrize("statement", ["DELETE FROM deleted", "UPDATE deleted SET reason = 'none'"])
def test_changed_tombstone_shows(log, statement):
    delete_case(log, closed_case(log), AT, "Ida", "asked for")
    with log.engine.begin() as connection:
        connection.execute(sa.text(statement))
    assert any("deletion" in trouble or "missing" in trouble for trouble in verify(log).troubles)


def test_nothing_of_a_deleted_case_stays_in_the_file(tmp_path):
    log = open_log(tmp_path / "a.db")
    first = log.open_case(Draft("opened", AT, "Ida", {"car": "SECRETCAR"}), "k1", random.choice)
    delete_case(log, first.case, AT, "Ida", "asked for")
    log.engine.dispose()
    assert not [path for path in tmp_path.iterdir() if b"SECRETCAR" in path.read_bytes()]


def test_backup_is_whole_private_and_never_over_another_file(tmp_path):
    log = open_log(tmp_path / "a.db")
    closed_case(log)
    backup(log, tmp_path / "copy.db")
    assert stat.S_IMODE((tmp_path / "copy.db").stat().st_mode) == 0o600
    copy = open_log(tmp_path / "copy.db")
    assert verify(copy) == verify(log)
    with pytest.raises(CaseLogError, match="already exists"):
        backup(log, tmp_path / "copy.db")
    with pytest.raises(CaseLogError, match="Choose another place"):
        backup(log, tmp_path / "nowhere" / "copy.db")
    for each in (log, copy):
        each.engine.dispose()


def test_cases_travel_once_and_grow(log, other):
    name = closed_case(other, 1)
    assert take(log, export_lines(other)).new == [name]
    assert take(log, export_lines(other)).known == 1
    assert take(other, export_lines(log)).known == 1
    other.append(name, 7, [Draft("noted", AT, "Ben", {"text": "customer is happy"})], "k1")
    assert take(log, export_lines(other)).grown == [Grown(name, 1, ("Ben",))]
    assert [(e.kind, e.hash) for e in log.events(name)] == [(e.kind, e.hash) for e in other.events(name)]
    assert verify(log).troubles == ()
    assert list(cause_counts(log)) == [("dale", "lamp-change", "lamp-loose", 1)]


def test_case_whose_id_is_taken_comes_in_under_another_and_is_known_again(log, other):
    taken, name = closed_case(log, 1, cause="fuse-out"), closed_case(other, 1)
    assert taken == name
    (new,) = take(log, export_lines(other)).new
    assert new != name
    assert log.events(name)[-1].payload["causes"] == ["fuse-out"]
    assert log.events(new)[-1].payload["causes"] == ["lamp-loose"]
    assert verify(log).troubles == ()
    assert take(log, export_lines(other)).known == 1
    back = take(other, export_lines(log))
    assert (len(back.new), back.known) == (1, 1)  # its own is known, the other one is new there


def test_case_that_went_on_differently_on_both_sides_is_refused(log, other):
    name = closed_case(other)
    take(log, export_lines(other))
    log.append(name, 7, [Draft("noted", AT, "Ida", {"text": "a"})], "k1")
    other.append(name, 7, [Draft("noted", AT, "Ben", {"text": "b"})], "k1")
    assert "went on differently here from event 8 on; ours is kept" in take(log, export_lines(other)).refused[0]
    assert len(log.events(name)) == 8


def test_deleted_case_does_not_come_back(log, other):
    name = closed_case(other)
    take(log, export_lines(other))
    delete_case(log, name, AT, "Ida", "asked for")
    assert "was deleted here and stays deleted" in take(log, export_lines(other)).refused[0]


def test_changed_case_is_refused_and_the_others_are_taken(log, other):
    closed_case(other, 1)
    closed_case(other, 2)
    lines = list(export_lines(other))
    lines[1] = lines[1].replace("green hatchback", "red hatchback")
    done = take(log, lines)
    assert len(done.new) == 1
    assert "x.jsonl:2: case" in done.refused[0]
    assert "event 1 was changed" in done.refused[0]


@pytest.mark.parametrize("head", ["", "{}", "rubbish", "[" * 10_000, '{"format": "comeback-cases", "version": 2}'])
def test_file_of_another_kind_is_refused_as_a_whole(other, head):
    with pytest.raises(CaseLogError, match=r"x\.jsonl:1: "):
        take(other, [head])


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_hostile_lines_are_refused_one_by_one(other, data):
    """Any part of a case replaced by anything: refused with a reason, or a case that can be read and verified."""
    if not other.cases():
        closed_case(other)
    record = json.loads(list(export_lines(other))[1])
    anything = st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
        max_leaves=4,
    )
    event = data.draw(st.sampled_from(record["events"]))
    holder = data.draw(st.sampled_from([record, event, event["payload"] or event]))
    holder[data.draw(st.sampled_from(sorted(holder)))] = data.draw(anything)
    if data.draw(st.booleans()):
        chain_anew(record)
    head = '{"format": "comeback-cases", "version": 1}'
    done = take(other, [head, json.dumps(record)])
    assert len(done.refused) + done.known + len(done.new) == 1
    assert verify(other).troubles == ()
    for name in done.new:
        read_case(other.events(name))
        delete_case(other, name, AT, "Ida", "only a test")


def chain_anew(record):
    """Give changed events the hashes that a forger would give them, and another identity."""
    previous = ""
    try:
        for event in record["events"]:
            draft = Draft(event["kind"], event["at"], event["by"], event["payload"])
            made = chain(event["case"], event["number"], draft, event["knowledge"], previous)
            event["previous"], event["hash"] = previous, made.hash
            previous = made.hash
    except (TypeError, ValueError, KeyError):  # too broken to forge
        return
    record["identity"] = previous

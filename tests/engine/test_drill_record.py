"""Drills as they are recorded: made anew from seed and turns, append-only, in either database."""

import random

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.drills import (
    DrillMovedOn,
    NoSuchDrill,
    add_turn,
    drill_events,
    drill_lines,
    open_drill,
)
from comeback.engine.case_log.fields import NotStorable
from comeback.engine.case_log.protocol import CaseLogError
from comeback.engine.case_log.store import open_log
from comeback.engine.case_log.tables import TABLES
from comeback.engine.case_log.upkeep import delete_drill, verify
from comeback.engine.drill import record
from comeback.engine.drill.drill import Mode
from comeback.engine.drill.hidden_car import hide_car
from comeback.engine.drill.score import score
from support import case_logs

AT = "2026-03-02T08:15:00+01:00"


@pytest.fixture(params=["sqlite", "postgres"])
def log(request, tmp_path):
    place = case_logs.fresh_postgres() if request.param == "postgres" else tmp_path / "data" / "cases.db"
    made = open_log(place)
    yield made
    made.close()


OPENING = {"mode": "guided", "seed": 1, "service": None, "complaint": None, "exam": None}
ACTS = st.sampled_from(
    [
        ("signs", {}),
        ("told", {"advice": "get-clear"}),
        ("read", {"cautions": ["hot-lamp"]}),
        ("checked", {"check": "lamp-turns"}),
        ("checked", {"check": "volts"}),
        ("repaired", {"repair": "replace-fuse"}),
        ("hinted", {}),
        ("driving", {}),
        ("to-stop", {}),
        ("asked", {}),
        ("replied", {"want": "cost", "reply": "surely"}),
        ("read-back", {}),
    ]
)


def events_of(knowledge, opening, acts):
    events = [chain("K7RT", 1, Draft("opened", AT, "Ben", opening), knowledge.version, "")]
    for kind, data in acts:
        last = events[-1]
        events.append(chain("K7RT", last.number + 1, Draft(kind, AT, "Ben", data), knowledge.version, last.hash))
    return events


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(mode=st.sampled_from([Mode.GUIDED, Mode.PHONE, Mode.EXAM]), acts=st.lists(ACTS, max_size=10))
def test_a_drill_made_anew_is_the_drill_that_was_left(small, mode, acts):
    drill = record.new_drill(small, hide_car(small, 1), mode)
    done = []
    for kind, data in acts:
        if drill.ended:
            break
        try:
            record.act(drill, kind, data)
        except ValueError:  # what is done on the phone is not done at the car
            assert mode is not Mode.PHONE
            continue
        done.append((kind, data))
    again = record.rebuild(small, events_of(small, {**OPENING, "mode": mode.value}, done))
    assert score(again) == score(drill)
    assert again.read == drill.read


@pytest.mark.parametrize(
    ("kind", "data"),
    [("checked", {}), ("checked", {"check": "no-such"}), ("told", {"advice": "perhaps"}), ("soap", {}),
     ("driving", {}), ("read", {"cautions": None})],
)  # fmt: skip
def test_a_record_that_cannot_be_read_says_so(small, kind, data):
    acts = [("signs", {}), (kind, data)]
    with pytest.raises(record.DrillChanged, match="cannot be read"):
        record.rebuild(small, events_of(small, OPENING, acts))


def test_a_drill_of_other_knowledge_is_refused(small, knowledge):
    with pytest.raises(record.DrillChanged, match="the car would be another one"):
        record.rebuild(knowledge, events_of(small, OPENING, []))


def begun(log, by="Ben", seed=1):
    return open_drill(log, Draft("opened", AT, by, OPENING), "k1", random.Random(seed).choice)


def test_what_was_recorded_of_a_drill_is_read_back_in_order(log):
    first = begun(log)
    second = add_turn(log, first, Draft("signs", AT, "Ben", {}))
    third = add_turn(log, second, Draft("checked", AT, "Ben", {"check": "volts"}))
    assert drill_events(log, first.case) == (first, second, third)
    (line,) = drill_lines(log)
    assert (line.opened, line.last, line.finished) == (first, third, False)


def test_lines_are_each_person_s_own(log):
    begun(log, "Ben", 1)
    ends = add_turn(log, begun(log, "Ida", 2), Draft("finished", AT, "Ida", {}))
    assert [line.last for line in drill_lines(log, "Ida")] == [ends]
    assert len(drill_lines(log)) == 2


def test_two_windows_do_not_both_go_on_with_one_drill(log):
    first = begun(log)
    add_turn(log, first, Draft("signs", AT, "Ben", {}))
    with pytest.raises(DrillMovedOn, match="another window"):
        add_turn(log, first, Draft("signs", AT, "Ben", {}))


def test_a_name_with_odd_signs_is_kept_and_one_too_long_is_refused(log):
    begun(log, "Be\x00n\udc80")
    (line,) = drill_lines(log, "Be\x00n\udc80")
    assert line.opened.by == "Be\ufffdn\\x80"
    with pytest.raises(NotStorable, match="`by` is 81 characters long"):
        begun(log, "n" * 81)


def test_a_changed_line_is_found_when_the_drill_is_read(log):
    first = begun(log)
    with log.transaction() as connection:
        connection.execute(sa.text("UPDATE drill_event SET at = '2020-01-01T00:00:00+00:00'"))
    with pytest.raises(CaseLogError, match="was changed at line 1"):
        drill_events(log, first.case)


def test_drills_are_no_cases(log):
    begun(log)
    assert log.cases() == ()
    done = verify(log)
    assert (done.cases, done.events, done.drills, done.troubles) == (0, 0, 1, ())


def drilled(log, by="Ben", seed=1):
    """A drill of four events that came to its end; its id."""
    last = begun(log, by, seed)
    for kind, data in (("signs", {}), ("checked", {"check": "volts"}), ("finished", {"found": False})):
        last = add_turn(log, last, Draft(kind, AT, by, data))
    return last.case


TAMPERING = {
    "a name changed": ("UPDATE drill_event SET \"by\" = 'Bo' WHERE number = 2", "drill {}: event 2 was changed"),
    "an answer changed": ("UPDATE drill_event SET payload = '{}' WHERE number = 3", "drill {}: event 3 was changed"),
    "an event in the middle removed": ("DELETE FROM drill_event WHERE number = 2", "drill {}: event 3 was changed"),
    "the end removed": ("DELETE FROM drill_event WHERE number = 4", "drill {}: event 4 is missing"),
    "a whole drill removed": ("DELETE FROM drill_event", "drill {}: 4 events, 1 to 4, are missing"),
    "an event added": ("INSERT INTO drill_event SELECT case_id, 5, kind, at, \"by\", payload, knowledge, hash, "
                       "case_id FROM drill_event WHERE number = 4", "drill {}: event 5 was not written by"),
}  # fmt: skip


@pytest.mark.parametrize("how", TAMPERING)
def test_a_drill_that_was_changed_shows_in_verify(log, how):
    name, other = drilled(log), drilled(log, "Ida", 2)
    assert verify(log).troubles == ()
    statement, found = TAMPERING[how]
    with log.engine.begin() as connection:
        connection.execute(sa.text(statement))
    said = " ".join(verify(log).troubles)
    assert found.format(name) in said
    assert found.format(other) in said


def test_a_deleted_drill_leaves_a_tombstone_without_name_or_answers(log):
    name, kept = drilled(log, "Benedikta"), drilled(log, "Ida", 2)
    assert delete_drill(log, name, AT, "Zoe") == 4
    assert [line.id for line in drill_lines(log)] == [kept]
    with pytest.raises(NoSuchDrill, match="There is no drill"):
        drill_events(log, name)
    done = verify(log)
    assert (done.drills, done.deleted, done.troubles) == (1, 1, ())
    with log.engine.connect() as connection:
        everything = repr([connection.execute(table.select()).all() for table in TABLES.sorted_tables])
    assert "Benedikta" not in everything
    assert everything.count("volts") == 1
    with pytest.raises(NoSuchDrill):
        delete_drill(log, name, AT, "Zoe")


def test_a_deletion_of_a_drill_that_is_taken_away_shows(log):
    name = drilled(log)
    delete_drill(log, name, AT, "Zoe")
    with log.engine.begin() as connection:
        connection.execute(sa.text("DELETE FROM deleted"))
    assert f"drill {name}: its deletion was changed or removed" in verify(log).troubles


def test_a_drill_deleted_meanwhile_does_not_go_on_and_its_id_is_not_given_again(log):
    first = begun(log)
    delete_drill(log, first.case, AT, "Zoe")
    with pytest.raises(NoSuchDrill):
        add_turn(log, first, Draft("signs", AT, "Ben", {}))
    assert begun(log).case != first.case
    assert verify(log).troubles == ()


def test_nothing_of_a_deleted_drill_stays_in_the_file(tmp_path):
    log = open_log(tmp_path / "cases.db")
    name = drilled(log, "Benedikta")
    delete_drill(log, name, AT, "Zoe")
    assert not any(b"Benedikta" in file.read_bytes() for file in tmp_path.iterdir())
    log.close()

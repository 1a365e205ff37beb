"""What is recorded is harmless and of a sensible length; what comes from elsewhere is refused if it is not."""

import json
import random
from datetime import datetime, timezone

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.exchange import export_lines, import_lines
from comeback.engine.case_log.fields import LONGEST_NAME, LONGEST_SHORT, LONGEST_TEXT, NotStorable, midnight
from comeback.engine.case_log.store import add_events, open_log
from comeback.engine.case_log.upkeep import delete_case, verify
from comeback.engine.safe_text import SIGN
from support import case_logs

AT, closed_case = case_logs.AT, case_logs.closed_case
DIRTY = "red\x1b[1;3r\x1b[H \u202e"
CLEAN = f"red{SIGN}[1;3r{SIGN}[H {SIGN}"


@pytest.fixture
def log(tmp_path):
    made = open_log(tmp_path / "here.db")
    yield made
    made.close()


@pytest.fixture
def other(tmp_path):
    made = open_log(tmp_path / "other.db")
    yield made
    made.close()


def take(log, lines):
    return import_lines(log, lines, "x.jsonl", random.Random(5).choice)


def recorded(log, drafts, name="AAAA"):
    """A case of these events."""
    made, previous = [], ""
    for number, draft in enumerate(drafts, 1):
        made.append(chain(name, number, draft, "k1", previous))
        previous = made[-1].hash
    with log.transaction() as connection:
        add_events(connection, made)
    return made


def test_every_text_of_an_event_is_harmless_before_it_is_recorded(log):
    first = log.open_case(Draft("opened", AT, f"{DIRTY}", {"car": DIRTY, "shop": DIRTY}), "k1", random.choice)
    payloads = [{"words": DIRTY}, {"text": f"{DIRTY}\r\nnext line"}, {"readings": {DIRTY: DIRTY}, "codes": [DIRTY]}]
    kinds = ("said", "noted", "answered")
    drafts = [Draft(kind, AT, "Ida", payload) for kind, payload in zip(kinds, payloads, strict=True)]
    log.append(first.case, 1, drafts, "k1")
    events = log.events(first.case)
    assert (events[0].by, events[0].payload) == (CLEAN, {"car": CLEAN, "shop": CLEAN})
    assert events[1].payload == {"words": CLEAN}
    assert events[2].payload == {"text": f"{CLEAN}\nnext line"}
    assert events[3].payload == {"readings": {CLEAN: CLEAN}, "codes": [CLEAN]}
    assert verify(log).troubles == ()


@pytest.mark.parametrize(
    ("by", "payload", "field"),
    [
        ("x" * (LONGEST_NAME + 1), {}, "by"),
        ("Ida", {"car": "x" * (LONGEST_SHORT + 1)}, "car"),
        ("Ida", {"words": "x" * (LONGEST_TEXT + 1)}, "words"),
        ("Ida", {"shop": "x" * (LONGEST_NAME + 1)}, "shop"),
        ("Ida", {"labor_rate": float("inf")}, "labor_rate"),
        ("Ida", {"chance": {"a": float("nan")}}, "chance"),
    ],
)
def test_what_is_too_long_or_no_number_is_said_and_nothing_is_cut(log, by, payload, field):
    with pytest.raises(NotStorable, match=f"`{field}`"):
        log.open_case(Draft("opened", AT, by, payload), "k1", random.choice)
    assert log.cases() == ()


def test_name_and_reason_of_a_deletion_are_asked_too(log):
    name = closed_case(log)
    with pytest.raises(NotStorable, match="`reason`"):
        delete_case(log, name, AT, "Ida", "x" * 401)
    delete_case(log, name, AT, "I\x1bda", "asked\x1b for")
    with pytest.raises(Exception, match=f"by I{SIGN}da: asked{SIGN} for"):
        log.events(name)
    assert verify(log).troubles == ()


def test_a_case_without_such_signs_is_exported_as_it_was_written(log):
    closed_case(log)
    record = json.loads(list(export_lines(log))[1])
    assert [event["hash"] for event in record["events"]] == [event.hash for event in log.events(record["case"])]


def chained(drafts, name="AAAA"):
    previous, events = "", []
    for number, (kind, at, by, payload) in enumerate(drafts, 1):
        made = chain(name, number, Draft(kind, at, by, payload), "k1", previous)
        events.append(vars(made) | {"payload": dict(made.payload)})
        previous = made.hash
    return ['{"format": "comeback-cases", "version": 1}', json.dumps({"case": name, "events": events})]


OPENED = ("opened", AT, "Ida", {"car": "red"})
ABSURD = {
    "no day of the calendar": [("opened", "9999-99-99T99:99:99+99:99", "Ida", {})],
    "no 30 February": [("opened", "2026-02-30T10:00:00+01:00", "Ida", {})],
    "no offset": [("opened", "2026-02-20T10:00:00", "Ida", {})],
    "`labor_rate`": [("opened", AT, "Ida", {"labor_rate": float("inf")})],
    "`proven`": [OPENED, ("closed", AT, "Ida", {"proven": "x"})],
    "`since`": [OPENED, ("answered", AT, "Ida", {"results": {}, "since": {"a": ["x", "y"]}})],
    "`frame` is nan": [OPENED, ("evidence", AT, "Ida", {"frame": {"rpm": float("nan")}})],
    "event 1: `car` is longer": [("opened", AT, "Ida", {"car": "x" * 4_000_000})],
    "event 2: `text` holds U+001B": [OPENED, ("noted", AT, "Ida", {"text": "a\x1b[2J"})],
    "event 2: `by` holds U+202E": [OPENED, ("noted", AT, "I\u202eda", {"text": "a"})],
    "event 1: `shop` holds a line end": [("opened", AT, "Ida", {"shop": "a\nb: c"})],
    "event 2: `results` holds U+0007": [OPENED, ("answered", AT, "Ida", {"results": {"a\x07": None}})],
    "event 2: `codes`": [OPENED, ("evidence", AT, "Ida", {"codes": {"stored": "P0171"}})],
}


@pytest.mark.parametrize("reason", ABSURD)
def test_absurd_values_are_refused_with_line_and_field(other, reason):
    done = take(other, chained(ABSURD[reason]))
    assert (done.new, len(done.refused)) == ([], 1)
    assert done.refused[0].startswith("x.jsonl:2: ")
    assert (reason.strip() if "`" in reason else "is no time") in done.refused[0]
    assert len(done.refused[0]) < 300


@given(st.datetimes(timezones=st.timezones()), st.sampled_from(["auto", "seconds", "minutes"]))
def test_every_time_that_python_writes_is_a_time(when, precision):
    """Oracle: the datetime of the standard library."""
    offset = when.utcoffset()
    assume(offset is not None and not offset.seconds % 60)
    text = when.isoformat(timespec=precision)
    day = when.replace(hour=0, minute=0, second=0, microsecond=0, tzinfo=timezone(offset))
    assert midnight(text) == day.isoformat()


@given(st.from_regex(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d", fullmatch=True, alphabet="0123456789-:T+"))
def test_no_other_time_is_one(text):
    assume(text[11:13] != "24")  # later Pythons read it as the next midnight; this program never writes it
    try:
        datetime.fromisoformat(text)
    except ValueError:
        assert midnight(text) == ""
    else:
        assert midnight(text)


def test_a_case_with_a_readout_travels(log, other):
    drafts = [
        Draft("opened", AT, "Ida", {"car": "red"}),
        Draft("evidence", AT, "Ida", {"codes": {"stored": ["P0171"], "pending": []}, "raw": ["43 01 71"]}),
        Draft("codes-cleared", AT, "Ida", {"codes": ["P0171"], "accepted": True}),
    ]
    recorded(log, drafts)
    assert take(other, export_lines(log)).new == ["AAAA"]


def test_numbers_that_json_lacks_do_not_get_into_a_file_of_cases(log, other):
    recorded(log, [Draft("opened", AT, "Ida", {"car": "red", "labor_rate": 120})])
    with log.engine.begin() as connection:
        event = chain("AAAA", 1, Draft("opened", AT, "Ida", {"labor_rate": float("inf")}), "k1", "")
        values = (json.dumps(dict(event.payload)), event.hash)
        connection.exec_driver_sql("UPDATE event SET payload = ?, hash = ?", values)
    lines = list(export_lines(log))
    assert not {"Infinity", "NaN"} & set("".join(lines).replace(":", " ").replace("}", " ").split())
    (refused,) = take(other, lines).refused
    assert "event 1 was changed" in refused


def test_several_complaints_and_trouble_that_has_passed_go_from_log_to_log(log, other):
    named = {"complaint": "high-idle", "also": ["hiss"], "words": "fast"}
    drafts = [
        Draft("opened", AT, "Ida", {"car": "red"}),
        Draft("complaint", AT, "Ida", named),
        Draft("complaint", AT, "Ida", {"complaint": "stalls", "words": "dies", "further": True}),
        Draft("answered", AT, "Ida", {"results": {"still-there": "gone"}, "readings": {}, "audience": "phone"}),
    ]
    recorded(log, drafts)
    (name,) = take(other, export_lines(log)).new
    case = read_case(other.events(name))
    assert case.complaints == ("high-idle", "hiss", "stalls")
    assert case.answer("still-there").result == "gone"
    _, *nameless = json.loads(list(export_lines(log, nameless=True))[1])["events"]
    assert nameless[0]["payload"]["also"] == ["hiss"]
    assert nameless[1]["payload"]["further"] is True
    drafts[2] = Draft("complaint", AT, "Ida", {"complaint": "stalls", "words": "dies", "further": "yes"})
    recorded(log, drafts, "BBBB")
    assert "`further`" in take(other, export_lines(log)).refused[0]

"""The log out of reach in the middle of a walk: nothing typed is lost, and nobody is left without a way on."""

import os
import re
import sqlite3
import subprocess
import tempfile
from contextlib import closing
from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run as run_command
from comeback.cli.prompt import outage
from comeback.cli.signals import Stopped
from comeback.engine.case.events import Draft, first_broken_link
from comeback.engine.case_log.database import clear_error
from comeback.engine.case_log.protocol import LogUnreachable
from comeback.engine.case_log.store import SqlCaseLog, open_log
from comeback.engine.case_log.upkeep import verify
from support.places import SMALL_FOLDER as SMALL

SERVER = Path(__file__).parent.parent.parent / ".ci" / "postgres"
AWAY = "connection refused"


class Typed:
    """A keyboard: lines in order; something to call is called between two of them."""

    interactive, scripted = True, False

    def __init__(self, *lines):
        self.lines = list(lines)

    def ask(self, walk):
        while self.lines and callable(self.lines[0]):
            self.lines.pop(0)()
        if not self.lines:
            raise EOFError
        return self.lines.pop(0)


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    """Nobody waits between the tries."""
    monkeypatch.setattr(outage, "PAUSES", (0.0, 0.0))


@pytest.fixture
def failing(monkeypatch):
    """failing(times, then=False): from now on so many attempts to record fail; `then`: after recording all the same."""
    left = {"times": 0, "then": False}

    def wrapped(method):
        def attempt(self, *given):
            if left["times"] <= 0:
                return method(self, *given)
            left["times"] -= 1
            if left["then"]:
                method(self, *given)
            raise LogUnreachable(f"{self.name}: the case log cannot be used: {AWAY}. Check that the database runs.")

        return attempt

    for name in ("append", "open_case"):
        monkeypatch.setattr(SqlCaseLog, name, wrapped(getattr(SqlCaseLog, name)))

    def fail(times, then=False):
        left.update(times=times, then=then)

    return fail


@pytest.fixture
def sit(tmp_path, monkeypatch, capsys):
    """sit("call" or "triage ID", *typed) -> (exit code, output, errors), on a log of the test's own."""
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    for kind in ("CONFIG", "DATA", "CACHE"):
        monkeypatch.setenv(f"XDG_{kind}_HOME", str(tmp_path))

    def run(command, *typed):
        monkeypatch.setattr("comeback.cli.readers.choose_reader", lambda *_: Typed(*typed))
        monkeypatch.setattr("comeback.cli.signals.leave_in_order", lambda: None)
        try:
            code = run_command([*command.split(), "--by", "Ida", "--knowledge", SMALL])
        except Stopped as stopped:
            code = stopped.status
        return code, *capsys.readouterr()

    return run


def recorded(tmp_path):
    """Events of the only case, the chains of the log being whole."""
    with closing(open_log(os.environ.get("COMEBACK_LOG") or tmp_path / "cases.db")) as log:
        assert verify(log).troubles == ()
        (line,) = log.cases()
        events = log.events(line.id)
    assert first_broken_link(events) is None
    return events


SITTINGS = {  # command -> what is typed up to the answer, the answer, the kind of event, its name
    "call": (["n", "1"], "no light", "complaint", "no light"),
    "triage": (["1"], "no light", "complaint", "no light"),
}


@pytest.mark.parametrize("command", SITTINGS)
@pytest.mark.parametrize("enters", [0, 1, 3])
def test_an_answer_is_kept_until_the_log_takes_it(tmp_path, sit, failing, command, enters):
    before, answer, kind, _ = SITTINGS[command]
    times = len(outage.PAUSES) + enters
    lines = [*before, answer, lambda: failing(times), "1", *[""] * enters, "q"]
    code, out, _ = sit(command, *lines)
    assert code == exit_codes.PAUSED
    kinds = [event.kind for event in recorded(tmp_path)]
    assert kinds.count(kind) == 1, kinds
    assert out.index("NOT SAVED YET: ") < out.index("Saved: ")
    assert AWAY in out
    assert out.count("Enter tries again") == enters
    assert "New since then" not in out


@pytest.mark.parametrize("command", SITTINGS)
@pytest.mark.parametrize("leaves", ["q", "quit", "eof"])
def test_who_leaves_is_told_what_is_not_recorded_and_how_to_go_on(tmp_path, sit, failing, command, leaves):
    before, answer, kind, _ = SITTINGS[command]
    lines = [*before, answer, lambda: failing(99), "1", "", "what now?", *([leaves] if leaves != "eof" else [])]
    code, out, err = sit(command, *lines)
    assert code == exit_codes.FILES
    events = recorded(tmp_path)
    assert kind not in [event.kind for event in events]
    way = "call --case" if command == "call" else command
    assert f"Go on with: comeback {way} {events[0].case}" in err.splitlines()
    assert re.search(r"Not saved: .*no light", err)
    assert f"q leaves (write it down); later: comeback {way} {events[0].case}" in out
    assert "Traceback" not in out + err
    failing(0)
    code, out, _ = sit(f"{way} {events[0].case}", "n" if command == "call" else "no light", "no light", "q")
    assert code == exit_codes.PAUSED
    assert "What does the customer report" in out or "What is the car doing now" in out


def test_the_very_first_answer_is_kept_too(tmp_path, sit, failing):
    code, _, _ = sit("call", lambda: failing(3), "n", "", "q")
    assert code == exit_codes.PAUSED
    assert [event.kind for event in recorded(tmp_path)] == ["opened", "driving"]


def test_who_leaves_before_a_case_was_opened_is_not_sent_to_one(sit, failing):
    code, out, err = sit("call", lambda: failing(99), "n", "q")
    assert code == exit_codes.FILES
    assert "Not saved: driving: no." in err
    assert "No case was opened" in err
    assert "later: comeback" not in out
    assert "Go on with" not in err


def test_a_file_of_answers_waits_a_little_and_then_says_how_to_go_on(tmp_path, monkeypatch, failing, capsys):
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    (tmp_path / "answers.yaml").write_text("service: lamp-change\ncomplaint: dark\n")
    command = ["call", "--answers", str(tmp_path / "answers.yaml"), "--knowledge", SMALL]
    failing(2)
    assert run_command(command) == exit_codes.DONE
    capsys.readouterr()
    failing(99)
    assert run_command(command) == exit_codes.FILES
    err = capsys.readouterr().err
    assert "Not saved: " in err


def test_what_was_recorded_before_the_connection_broke_is_not_recorded_twice(tmp_path, sit, failing):
    code, out, _ = sit("triage", "1", lambda: failing(1, then=True), "note the lamp flickers", "q")
    assert code == exit_codes.PAUSED
    assert [event.kind for event in recorded(tmp_path)].count("noted") == 1
    assert "New since then" not in out
    assert "not saved yet: check" not in out


def test_a_request_to_end_names_what_is_not_recorded(tmp_path, sit, failing):
    def stop():
        raise Stopped(15)

    code, out, _ = sit("triage", "1", lambda: failing(99), "note the lamp flickers", stop)
    assert code == exit_codes.TERMINATED
    assert "Not saved: noted: the lamp flickers" in out
    assert f"Go on with: comeback triage {recorded(tmp_path)[0].case}" in out


def test_what_is_only_looked_up_does_not_end_the_walk(tmp_path, sit, monkeypatch):
    def away(*_):
        raise LogUnreachable("the case log cannot be used")

    monkeypatch.setattr("comeback.cli.prompt.resume.earlier_cases", away)
    code, out, _ = sit("triage", "1", "plate AB12 CDE", "plate AB12 CDE", "note the lamp flickers", "q")
    assert code == exit_codes.PAUSED
    assert "the case log cannot be used" in out
    assert [event.kind for event in recorded(tmp_path)][-1] == "noted"


def test_sqlite_file_that_another_program_holds(tmp_path, sit, monkeypatch):
    monkeypatch.setattr("comeback.engine.case_log.database.BUSY_MS", 50)
    other = sqlite3.connect(tmp_path / "cases.db", isolation_level=None)
    hold, release = (lambda: other.execute("BEGIN IMMEDIATE")), (lambda: other.execute("ROLLBACK"))
    code, out, _ = sit("triage", "1", hold, "note the lamp flickers", release, "", "q")
    assert code == exit_codes.PAUSED
    assert "database is locked" in out
    assert [event.kind for event in recorded(tmp_path)].count("noted") == 1
    other.close()


def test_sqlite_file_without_room(tmp_path, sit, monkeypatch):
    pages = {"most": 2_000_000_000}
    raw = SqlCaseLog.append

    def append(self, *given):
        with self.engine.connect() as connection:  # the pool hands this same connection on
            connection.exec_driver_sql(f"PRAGMA max_page_count={pages['most']}")
        return raw(self, *given)

    monkeypatch.setattr(SqlCaseLog, "append", append)
    monkeypatch.setattr("comeback.cli.prompt.loop.LONGEST_LINE", 20_000)  # more than the file has room for
    long = f"note {'the lamp flickers ' * 500}"
    code, out, _ = sit(
        "triage", "1", lambda: pages.update(most=1), long, lambda: pages.update(most=2_000_000_000), "", "q"
    )
    assert code == exit_codes.PAUSED
    assert "full" in out
    assert [event.kind for event in recorded(tmp_path)].count("noted") == 1


@pytest.fixture
def server(monkeypatch):
    """A PostgreSQL of the test's own, that can be stopped and started: (its URL, halt, go)."""
    if not os.environ.get("COMEBACK_TEST_POSTGRES"):
        pytest.skip("no PostgreSQL: .ci/run starts one if its binaries are there (apt-get install postgresql)")
    pytest.importorskip("psycopg", reason="pip install '.[postgres]'")
    folder = Path(tempfile.mkdtemp()) / "server"
    folder.parent.chmod(0o755)  # the server's own user goes through it

    def do(action):
        return subprocess.run([SERVER, action, folder], capture_output=True, text=True, check=True).stdout.strip()

    yield do("start"), lambda: do("halt"), lambda: do("go")
    do("stop")
    folder.parent.rmdir()


@pytest.mark.parametrize("command", SITTINGS)
def test_a_real_server_stops_and_starts_in_the_middle_of_a_walk(sit, server, monkeypatch, command):
    url, halt, go = server
    monkeypatch.setenv("COMEBACK_LOG", url)
    before, answer, kind, _ = SITTINGS[command]
    code, out, _ = sit(command, *before, halt, answer, "1", "", go, "", "q")
    assert code == exit_codes.PAUSED
    assert out.count("Enter tries again") == 2
    assert [event.kind for event in recorded(None)].count(kind) == 1
    assert f"cannot be used: {'connection'}" in " ".join(out.split())


def test_a_real_server_that_stays_away_ends_the_call_with_the_way_on(sit, server, monkeypatch):
    url, halt, go = server
    monkeypatch.setenv("COMEBACK_LOG", url)
    code, _, err = sit("call", "n", "1", halt, "no light", "1", "q")
    assert code == exit_codes.FILES
    go()
    assert f"Go on with: comeback call --case {recorded(None)[0].case}" in err.splitlines()


@pytest.mark.parametrize(
    ("reason", "passes"),
    [
        ("database is locked", True),
        ("database or disk is full", True),
        ("disk I/O error", True),
        ("unable to open database file", True),
        ("no such column: payload", False),
        ("database disk image is malformed", False),
        ("table event already exists", False),
    ],
)
def test_only_what_may_pass_is_tried_again(reason, passes):
    error = clear_error("cases.db", sqlite3.OperationalError(reason))
    assert isinstance(error, LogUnreachable) is passes
    assert not isinstance(clear_error("cases.db", sqlite3.DatabaseError("file is not a database")), LogUnreachable)


def test_a_note_finds_its_place_while_others_write_in_the_case(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("COMEBACK_LOG", str(tmp_path / "cases.db"))
    at = "2026-03-02T08:15:00+01:00"
    with closing(open_log(tmp_path / "cases.db")) as other:
        case = other.open_case(
            Draft("opened", at, "Ben", {"car": "x", "audience": "bay"}), "k1", lambda signs: signs[0]
        ).case
        left, read = [3], SqlCaseLog.events

        def events(self, name):
            found = read(self, name)
            if left[0]:
                left[0] -= 1
                other.append(name, found[-1].number, [Draft("noted", at, "Ben", {"text": f"no. {left[0]}"})], "k1")
            return found

        monkeypatch.setattr(SqlCaseLog, "events", events)
        assert run_command(["cases", "note", case, "customer called", "--by", "Ida"]) == exit_codes.DONE
        assert "Noted as event 5" in capsys.readouterr().out
        assert [event.by for event in read(other, case)] == ["Ben"] * 4 + ["Ida"]
        left[0] = 10**6
        assert run_command(["cases", "note", case, "customer called", "--by", "Ida"]) == exit_codes.FILES
        assert "keeps changing" in capsys.readouterr().err

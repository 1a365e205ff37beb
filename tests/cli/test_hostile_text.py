"""Text that people type or send: it steers no screen, no spreadsheet, no file, wherever it comes in or goes out.

All cases are invented.
"""

import io
import json
import os
import re
import sqlite3
import subprocess
import sys

import pytest

from comeback.cli import exit_codes
from comeback.cli.prompt.loop import LONGEST_LINE
from comeback.cli.screens import wording
from comeback.engine.case.events import Draft, chain
from comeback.engine.case_log.fields import LONGEST_SHORT
from comeback.engine.case_log.store import add_events, open_log
from comeback.engine.safe_text import SIGN
from support.places import SMALL_FOLDER as SMALL

AT = "2026-03-02T08:15:00+01:00"
WIPE = "red\x1b[1;3r\x1b[H\x07\x9b2J\u202e\u2028"
"""Sets the scroll region, homes the cursor, rings, clears by C1, turns the reading order, ends a line."""
UNSAFE = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2066-\u2069]")


@pytest.fixture
def dirty(tmp_path, comeback):
    """A case as versions before the cleaning recorded it: control signs in every text."""
    drafts = [
        Draft("opened", AT, WIPE, {"car": WIPE, "audience": "phone", "shop": WIPE}),
        Draft("service", AT, WIPE, {"service": "lamp-change"}),
        Draft("complaint", AT, WIPE, {"complaint": "dark", "words": WIPE}),
        Draft("registered", AT, WIPE, {"registration": WIPE, "read_back": False}),
        Draft("contact", AT, WIPE, {"phone": WIPE, "place": WIPE}),
        Draft("noted", AT, WIPE, {"text": f"{WIPE}\n{WIPE}"}),
        Draft("answered", AT, WIPE, {"results": {"lamp-turns": "turns"}, "readings": {"lamp-turns": WIPE}}),
        Draft("overridden", AT, WIPE, {"ruled": "come-in", "to": "tow", "reason": WIPE, "second": WIPE}),
        Draft("refused", AT, WIPE, {"disposition": "tow", "ruled": "tow", "words": WIPE, "read_back": WIPE}),
        Draft("handed-over", AT, WIPE, {"reason": WIPE}),
    ]
    made, previous = [], ""
    for number, draft in enumerate(drafts, 1):
        made.append(chain("AAAA", number, draft, "k1", previous))
        previous = made[-1].hash
    log = open_log(tmp_path / "cases.db")
    with log.transaction() as connection:
        add_events(connection, made)
    log.close()


SHOWING = [
    ("cases",), ("cases", "--json"), ("cases", "show", "AAAA"), ("cases", "show", "AAAA", "--json"),
    ("cases", "list", WIPE), ("cases", "show", WIPE), ("cases", "verify"), ("cases", "export", "-"),
    *(("record", "AAAA", "--format", kind) for kind in ("text", "html", "json")),
    ("triage", "AAAA"), ("learn",), ("check", "--overlay", WIPE), ("cases", "import", WIPE), ("record", WIPE),
]  # fmt: skip


@pytest.mark.parametrize("arguments", SHOWING, ids=repr)
def test_what_is_in_the_log_already_steers_no_screen(comeback, dirty, monkeypatch, arguments):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b""), encoding="utf-8"))
    if arguments[0] != "check" and arguments[1:2] not in (("verify",), ("export",), ("import",)):
        arguments = (*arguments, "--knowledge", SMALL)
    _, out, err = comeback(*arguments)
    assert out + err
    assert not UNSAFE.findall(out + err)


def test_a_record_of_such_a_case_keeps_every_fact(comeback, dirty):
    data = json.loads(comeback("record", "AAAA", "--format", "json", "--knowledge", SMALL)[1])
    assert data["car"] == WIPE  # JSON can say it exactly, and harmlessly
    assert data["chain_intact"] is True
    text = comeback("record", "AAAA", "--knowledge", SMALL)[1]
    assert f"red{SIGN}[1;3r{SIGN}[H{SIGN}{SIGN}2J{SIGN}" in text


def test_what_is_typed_is_recorded_harmless(press, small):
    pasted = f"\x1b[200~no light {WIPE[:-1]}\x1b[201~\r"  # as a terminal wraps what is pasted
    _, screen, walk = press("phone", f"n\r1\r{pasted}1\rn\rnote it \u202egrinds\rq\r", known=small)
    texts = json.dumps([dict(event.payload) for event in walk.events], ensure_ascii=False)
    assert "grinds" in texts
    assert not UNSAFE.findall(texts)
    assert not UNSAFE.findall(screen)


def test_a_name_of_a_car_and_a_note_from_the_command_line_are_harmless(comeback, tmp_path):
    (tmp_path / "a.yaml").write_text("service: lamp-change\ncomplaint: dark\notherwise: d\n")
    common = ("--knowledge", SMALL, "--answers", "a.yaml")
    _, out, err = comeback("call", "--car", WIPE, "--by", WIPE, *common)
    assert not UNSAFE.findall(out + err)
    case = json.loads(comeback("cases", "--json", "--knowledge", SMALL)[1])[0]
    assert comeback("cases", "note", case["case"], WIPE, "--by", WIPE)[0] == exit_codes.DONE
    comeback("cases", "delete", case["case"], "--reason", WIPE, "--by", WIPE, "--yes")
    connection = sqlite3.connect(tmp_path / "cases.db")
    stored = "".join(str(row) for row in connection.execute('SELECT "by", reason FROM deleted'))
    connection.close()
    assert case["car"].startswith(f"red{SIGN}[1;3r")
    assert "\\x1b" not in stored


def test_a_text_too_long_is_said_before_the_first_question(comeback, tmp_path):
    (tmp_path / "a.yaml").write_text("service: lamp-change\n")
    for option in ("--car", "--by"):
        code, out, err = comeback("call", option, "x" * (LONGEST_SHORT + 1), "--answers", "a.yaml")
        assert (code, out) == (exit_codes.USAGE, "")
        assert f"`{option[2:]}` is 401 characters long" in err
    assert comeback("cases", "--knowledge", SMALL)[1].startswith("No cases yet")


def test_a_line_too_long_is_said_and_asked_again(press, small):
    _, screen, walk = press("phone", f"n\r{'x' * (LONGEST_LINE + 1)}\r1\rno light\rq\r", known=small)
    told = wording.TOO_LONG.format(length=LONGEST_LINE + 1, limit=LONGEST_LINE)
    assert told in " ".join(screen.split())
    assert walk.case.service == "lamp-change"


def test_a_field_too_long_is_said_and_the_call_goes_on(press, small):
    long = "y" * (LONGEST_SHORT + 1)
    _, screen, walk = press("phone", f"n\r1\rno light\r1\rplace {long}\rn\rq\r", known=small)
    assert "`place` is 401 characters long; at most 400 can be kept" in " ".join(screen.split())
    assert [event.kind for event in walk.events][-1] == "answered"
    assert long not in repr(walk.events)


def locale_c(*arguments, tmp_path):
    environment = {"PATH": os.environ["PATH"], "LC_ALL": "C", "PYTHONUTF8": "0", "HOME": str(tmp_path),
                   "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)}  # fmt: skip
    command = [sys.executable, "-m", "comeback.cli", *arguments, "--log", "cases.db", "--knowledge", SMALL]
    return subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, timeout=120)


def test_a_locale_without_its_letters_loses_nothing_that_was_typed(tmp_path, comeback):
    (tmp_path / "a.yaml").write_text("service: lamp-change\ncomplaint: dark\notherwise: d\n")
    done = locale_c("call", "--car", "café☃", "--answers", "a.yaml", tmp_path=tmp_path)
    assert b"Traceback" not in done.stderr
    assert json.loads(comeback("cases", "--json", "--knowledge", SMALL)[1])[0]["car"] == "café☃"
    assert b"Case" in locale_c("cases", "show", "café☃", tmp_path=tmp_path).stdout

"""The commands as a user runs them, each in a process of its own, with its exit code."""

import json
import os
import re
import signal
import subprocess
import sys
import time

import pytest

from comeback.cli import exit_codes
from comeback.cli.records.case_list import age
from support.places import SMALL

CALL = "service: lamp-change\ncomplaint: dark\n"
NEW_CASE = ("--service", "lamp-change", "--complaint", "dark")
BAY = """\
lamp-turns: turns
screw-in-lamp: done
lamp-turns@1: tight
light@1: lit
"""


def run(*arguments, cwd, stdin="", environment=None):
    """Run `comeback` with its own data folder; (exit code, standard output, standard error)."""
    done = subprocess.run(
        [sys.executable, "-m", "comeback.cli", *map(str, arguments)],
        input=stdin, capture_output=True, text=True, cwd=cwd, timeout=60,
        env={**os.environ, "XDG_DATA_HOME": str(cwd), "COMEBACK_LOG": "", "COMEBACK_BY": "Ida", **(environment or {})},
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout, done.stderr


@pytest.fixture
def call(tmp_path):
    """A finished call on the small knowledge; the id of its case."""
    (tmp_path / "call.yaml").write_text(CALL)
    code, out, err = run("call", "--knowledge", SMALL, "--answers", "call.yaml", "--json", cwd=tmp_path)
    assert code == exit_codes.DONE, err
    return json.loads(out)["case"]


def test_call_from_a_file_ends_in_a_disposition(tmp_path, call):
    code, out, _ = run("cases", "show", call, "--json", "--knowledge", SMALL, cwd=tmp_path)
    data = json.loads(out)
    assert code == exit_codes.DONE
    assert data["disposition"] == "tow"
    assert data["chain_intact"]
    assert [event["kind"] for event in data["events"]] == ["opened", "service", "complaint", "answered", "advised"]


def test_bay_takes_the_call_over_and_closes_the_case(tmp_path, call):
    (tmp_path / "bay.yaml").write_text(BAY)
    code, out, err = run("triage", call, "--knowledge", SMALL, "--answers", "bay.yaml", "--json", cwd=tmp_path)
    assert code == exit_codes.DONE, err
    closed = json.loads(out)["closed"]
    assert closed["causes"] == ["lamp-loose"]
    assert closed["repairs"] == ["screw-in-lamp"]
    assert closed["proven"] is True
    code, out, _ = run("cases", cwd=tmp_path)
    assert re.search(rf"{call}\s.*closed", out)


def test_closed_case_is_shown_again_but_takes_nothing_more(tmp_path, call):
    (tmp_path / "bay.yaml").write_text(BAY)
    run("triage", call, "--knowledge", SMALL, "--answers", "bay.yaml", cwd=tmp_path)
    before = run("cases", "show", call, "--json", "--knowledge", SMALL, cwd=tmp_path)[1]
    code, out, _ = run("triage", call, "--knowledge", SMALL, cwd=tmp_path)
    assert code == exit_codes.DONE
    assert "closed" in out
    assert run("cases", "show", call, "--json", "--knowledge", SMALL, cwd=tmp_path)[1] == before


def test_missing_answer_is_named(tmp_path):
    (tmp_path / "call.yaml").write_text("service: lamp-change\n")
    code, _, err = run("call", "--knowledge", SMALL, "--answers", "call.yaml", cwd=tmp_path)
    assert code == exit_codes.USAGE
    assert "call.yaml: no answer for 'complaint'" in err


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["call", "--answers", "nowhere.yaml"], exit_codes.FILES, "nowhere.yaml"),
        (["triage", "ZZZZ"], exit_codes.FILES, "There is no case 'ZZZZ'"),
        (["cases", "show"], exit_codes.USAGE, "Which case?"),
        (["cases", "show", "ZZZZ"], exit_codes.FILES, "There is no case 'ZZZZ'"),
        (["check", "nowhere"], exit_codes.FILES, "nowhere"),
        (["call", "--knowledge", "nowhere"], exit_codes.FILES, "nowhere"),
        (["call", "--log", "/proc/none/x.db", "--answers", "a.yaml"], exit_codes.FILES, "--log"),
        (["cases", "--log", "nosuch://x"], exit_codes.FILES, "--log"),
        (["frobnicate"], exit_codes.USAGE, "frobnicate"),
        ([], exit_codes.USAGE, ""),
    ],
)
def test_bad_use_gets_one_clear_line_and_its_code(tmp_path, arguments, code, words):
    (tmp_path / "a.yaml").write_text(CALL)
    if "--knowledge" not in arguments and arguments[:1] in (["call"], ["triage"]):
        arguments = [*arguments, "--knowledge", SMALL]
    got, out, err = run(*arguments, cwd=tmp_path)
    assert got == code, (out, err)
    assert words in err + out


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (b"service: lamp-change\ncomplaint: d\xe4rk\n", exit_codes.USAGE, "a.yaml:2: this is not UTF-8 text"),
        (b"\xef\xbb\xbf" + CALL.encode(), exit_codes.DONE, ""),  # a byte order mark, as some editors write it
        (b"", exit_codes.USAGE, "no answer for 'service'"),
    ],
)
def test_text_file_of_the_user_is_read_or_refused_in_one_line(tmp_path, content, code, words):
    (tmp_path / "a.yaml").write_bytes(content)
    got, out, err = run("call", "--knowledge", SMALL, "--answers", "a.yaml", cwd=tmp_path)
    assert (got, words in err) == (code, True), (out, err)


@pytest.mark.parametrize(
    "arguments",
    [
        ["record", "K7RT", "--output=--"], ["record", "K7RT", "-o--"], ["learn", "--services-done=--"],
        ["chart", "dark", "--with=--"], ["booklet", "--complaint=--"],
    ],
)  # fmt: skip
def test_two_dashes_are_no_value_of_an_option(tmp_path, arguments):
    code, _, err = run(*arguments, cwd=tmp_path)
    assert code == exit_codes.USAGE
    assert "'--' is not a value" in err


@pytest.mark.parametrize("then", ["2026-02-31T08:15:00+01:00", "2026-03-02T08:15:00"])
def test_time_that_another_shop_wrote_oddly_is_shown_as_its_day(then):
    assert age(then, "2026-03-02T09:15:00+01:00") == then[:10]


@pytest.mark.parametrize("command", [["call", "--answers", "a.yaml"], ["readout", "P0171", *NEW_CASE]])
def test_shop_of_the_configuration_stands_in_every_case_however_it_was_opened(tmp_path, command):
    (tmp_path / "a.yaml").write_text(CALL)
    (tmp_path / "comeback").mkdir()
    (tmp_path / "comeback" / "config.toml").write_text('shop = "Millrace Garage"\n')
    own = {"XDG_CONFIG_HOME": str(tmp_path)}
    code, out, err = run(*command, "--knowledge", SMALL, cwd=tmp_path, environment=own)
    assert code == exit_codes.DONE, (out, err)
    exported = run("cases", "export", "-", cwd=tmp_path)[1].splitlines()[1]
    assert json.loads(exported)["shop"] == "Millrace Garage"


def test_two_dashes_after_two_dashes_are_text(tmp_path):
    code, _, err = run("cases", "note", "--", "ZZZZ", "--x=--", cwd=tmp_path)
    assert code == exit_codes.FILES
    assert "There is no case 'ZZZZ'" in err


def test_terminal_of_another_encoding_is_typed_at_and_read(tmp_path):
    """Latin-1 bytes typed into a UTF-8 program, and a screen that has ASCII only."""
    done = subprocess.run(
        [sys.executable, "-m", "comeback.cli", "call", "--knowledge", str(SMALL)],
        input=b"n\n1\nl\xe4mpchen dunkel\n1\n", capture_output=True, cwd=tmp_path, timeout=60,
        env={**os.environ, "XDG_DATA_HOME": str(tmp_path), "COMEBACK_LOG": "", "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.returncode == exit_codes.PAUSED, done.stderr
    assert b"Saved as case" in done.stdout


def test_check_names_file_line_and_column(tmp_path):
    (tmp_path / "x.yaml").write_text("causes:\n  broken: {nme: x}\n")
    code, out, _ = run("check", SMALL, "x.yaml", cwd=tmp_path)
    assert code == exit_codes.KNOWLEDGE
    assert "x.yaml:2:17: Unknown field 'nme'. Did you mean 'name'?" in out


def test_end_of_input_pauses_and_keeps_what_was_answered(tmp_path):
    code, out, _ = run("call", "--knowledge", SMALL, cwd=tmp_path, stdin="n\n1\nno light\n1\n")
    assert code == exit_codes.PAUSED
    case = re.search(r"Saved as case (\w+)", out)[1]
    shown = json.loads(run("cases", "show", case, "--json", "--knowledge", SMALL, cwd=tmp_path)[1])
    assert shown["complaint"] == "dark"
    code, out, _ = run("call", "--case", case, "--knowledge", SMALL, cwd=tmp_path, stdin="n\n")
    assert "Which service" not in out


def test_changed_knowledge_is_noticed_when_a_case_is_resumed(tmp_path, call):
    changed = tmp_path / "changed"
    changed.mkdir()
    text = (SMALL / "base.yaml").read_text().replace("frequency: 8", "frequency: 9")
    (changed / "base.yaml").write_text(text)
    _, out, _ = run("triage", call, "--knowledge", changed, cwd=tmp_path)
    assert "The knowledge files changed" in out


def test_version_loads_nothing_slow():
    code = "import sys; from comeback.cli import main; main(['--version']); print(sorted(sys.modules))"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    for slow in ("numpy", "pydantic", "prompt_toolkit", "sqlalchemy", "networkx", "yaml", "argparse"):
        assert f"'{slow}'" not in out


def test_help_loads_nothing_slow():
    code = (
        "import sys\nfrom comeback.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\nprint(sorted(sys.modules))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    for slow in ("numpy", "pydantic", "prompt_toolkit", "sqlalchemy", "networkx", "yaml"):
        assert f"'{slow}'" not in out


def test_charts_and_reports_load_the_graph_library_only_when_they_use_it():
    modules = "comeback.engine.charts.planner, comeback.engine.analysis.mimics, comeback.engine.walk.policy"
    code = f"import sys, {modules}; print('networkx' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


@pytest.mark.terminal
@pytest.mark.parametrize("answered", [1, 2, 3])
def test_killed_program_loses_nothing_that_was_answered(tmp_path, answered):
    """kill -9 after each answer on a real pseudo-terminal; then the case goes on where it stood."""
    pexpect = pytest.importorskip("pexpect")
    environment = {**os.environ, "XDG_DATA_HOME": str(tmp_path), "COMEBACK_LOG": "", "COMEBACK_BY": "Ida"}
    child = pexpect.spawn(
        sys.executable, ["-m", "comeback.cli", "call", "--knowledge", str(SMALL)],
        env=environment, dimensions=(24, 80), encoding="utf-8", timeout=30,
    )  # fmt: skip
    keys = [
        ("Are you driving", "n"),
        ("Which service", "1"),
        ("What is the car doing", "no light"),
        ("Which of these", "1"),
        ("Do you see sparks", "n"),
    ]
    for question, key in keys[: answered + 2]:
        child.expect(question)
        time.sleep(0.6)  # the prompt is ready a moment after its question
        child.sendline(key)
    child.expect({1: "Which of these", 2: "Do you see sparks", 3: "Read aloud"}[answered])
    child.kill(signal.SIGKILL)
    child.wait()
    case = json.loads(run("cases", "--json", cwd=tmp_path)[1])[0]["case"]
    data = json.loads(run("cases", "show", case, "--json", "--knowledge", SMALL, cwd=tmp_path)[1])
    assert data["service"] == "lamp-change"
    assert data["complaint"] == ("dark" if answered >= 2 else None)
    assert len(data["answers"]) == (1 if answered == 3 else 0)
    assert data["chain_intact"]

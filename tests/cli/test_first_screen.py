"""A call's first question is there before anything is loaded, once, and as its own step would show it."""

import subprocess
import sys
import threading

import pytest

from comeback.cli import main
from comeback.cli.look import Look
from comeback.cli.prompt import start
from comeback.cli.prompt.session import PromptSession, ScreenState
from comeback.cli.prompt.step_screen import show_screen
from comeback.cli.readers import Idle, ReadAhead, in_background
from comeback.cli.records.case_list import Offer, offer_note
from comeback.cli.screens import wording
from comeback.engine.walk.walk import open_walk
from comeback.kb.vocabulary import Audience

SLOW = ("numpy", "pydantic", "sqlalchemy", "yaml", "networkx", "comeback.kb", "comeback.engine.walk")
BROKEN = "complaints:\n  rough-idle: {}\n"


class Typed:
    interactive, scripted = True, False

    def __init__(self, *lines):
        self.lines = list(lines)

    def ask(self, walk):
        if not self.lines:
            raise EOFError
        line = self.lines.pop(0)
        if isinstance(line, BaseException):
            raise line
        return line


@pytest.fixture
def sit(tmp_path, monkeypatch, capsys):
    """sit(arguments, *typed) -> (exit code, output, errors) of a call at a keyboard, in folders of the test's own."""
    monkeypatch.delenv("COMEBACK_LOG", raising=False)
    monkeypatch.setenv("COMEBACK_BY", "Ida")
    for kind in ("CONFIG", "DATA", "CACHE"):
        monkeypatch.setenv(f"XDG_{kind}_HOME", str(tmp_path))
    monkeypatch.setattr("comeback.cli.signals.leave_in_order", lambda: None)

    def run(arguments, *typed):
        monkeypatch.setattr("comeback.cli.readers.choose_reader", lambda *_: Typed(*typed))
        code = main(["call", *arguments])
        return code, *capsys.readouterr()

    return run


def test_nothing_slow_is_loaded_for_the_first_question():
    """In a process of its own: what is imported when the question is shown."""
    code = f"""
import sys
from comeback.cli import look
from comeback.cli.command_line import run
def stop(make):
    print([name for name in {SLOW!r} if name in sys.modules])
    raise SystemExit(0)
from comeback.cli.prompt import start
start.in_background = stop
class Keyboard: interactive, scripted = True, False
start.readers.choose_reader = lambda *_: Keyboard()
run(["call"])
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert wording.DRIVING in told
    assert told.splitlines()[-1] == "[]"


def test_it_looks_as_its_own_step_shows_it(small, log, capsys):
    walk, look = open_walk(small, Audience.PHONE), Look()
    show_screen(PromptSession(Typed(), look, log, "Ida"), ScreenState(walk))
    early = look.paint([*start.question_lines(look), *start.feet_lines(look)])
    assert capsys.readouterr().out == early + "\n"


def test_it_is_asked_once_without_a_log_and_with_one(sit):
    code, out, _ = sit([], "n", "q")
    assert (code, out.count(wording.DRIVING), out.count("Unfinished comebacks: 1.")) == (3, 1, 0)
    assert out.index(wording.DRIVING_HINT) < out.index("Which service was done?")
    code, out, _ = sit([], "n", "q")
    assert (code, out.count(wording.DRIVING), out.count("Unfinished comebacks: 1.")) == (3, 1, 1)
    assert out.index("Unfinished") > out.index(wording.KEYS[:20])  # nothing between question and keys


@pytest.mark.parametrize("first", [EOFError(), KeyboardInterrupt(), Idle()])
def test_whatever_happens_at_it_is_what_it_would_be_later(sit, first):
    code, out, _ = sit([], first)
    assert code == 3
    assert wording.NOT_OPENED in out
    assert (wording.AGAIN in out) is isinstance(first, KeyboardInterrupt)
    assert (wording.RECAP in out) is isinstance(first, Idle)


def test_an_error_of_loading_comes_out_in_its_own_lines_and_with_its_own_code(sit, tmp_path):
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "own.yaml").write_text(BROKEN)
    code, out, err = sit(["--overlay", str(tmp_path / "shop")], "n")
    assert code == 4
    assert wording.DRIVING in out
    assert "own.yaml:" in err
    assert "in the knowledge files to fix first." in err
    (tmp_path / "comeback").mkdir(exist_ok=True)
    (tmp_path / "comeback" / "config.toml").write_text("level = 3")
    code, out, err = sit([], "n")
    assert code == 2
    assert "level = 3 is not valid" in err


def test_work_in_the_background_hands_on_its_result_or_its_error():
    gate = threading.Event()
    work = in_background(lambda: gate.wait(60))
    gate.set()
    assert work.result() is True
    with pytest.raises(ZeroDivisionError):
        in_background(lambda: 1 / 0).result()


def test_reading_ahead_gives_the_first_line_once():
    reader = ReadAhead(Typed("n", "2"))
    assert [reader.ask(None), reader.ask(None)] == ["n", "2"]
    with pytest.raises(EOFError):
        reader.ask(None)


def test_unfinished_comebacks_take_one_line_but_those_that_still_must_be_told_their_advice():
    plain = Offer("KJLT", "blue wagon", "Ida", "3 min ago", "rough idle")
    due = Offer("RXCM", "red van", "Ida", "3 min ago", "gas smell", due="tow: NOT TOLD")
    assert offer_note([], Look()) == []
    assert len(offer_note([plain, plain], Look())) == 1
    first, last = offer_note([due, plain], Look())
    assert "RXCM" in first[1]
    assert last[1].startswith("Unfinished comebacks: 2.")
    assert "resume 1" in offer_note([due], Look())[-1][1]

"""Numbers at every prompt that takes one: leading zeros, many digits, digits of other scripts.

All cases are invented.
"""

import io

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.cli.numbers import number_in
from comeback.cli.records.case_list import unfinished
from comeback.cli.screens import wording
from comeback.engine.walk import steps
from comeback.kb.vocabulary import Audience

CALL = "n\r1\rno light\r1\r"
BAY = "1\rno light\r1\rn\r"
LEAVE = "q\r"
FAR = ["00000199", "0" * 5000 + "199", "9" * 5000, "0", "000", "²", "٠"]
"""What is no place in a list of few; beyond 4,300 digits Python refuses `int` (its documented limit)."""
FIRST = ["1", "01", "00000001", "0" * 5000 + "1", "١"]


@pytest.mark.parametrize("text", FAR)
def test_what_is_no_place_in_the_list_is_no_number(text):
    assert number_in(text, 9) is None


@pytest.mark.parametrize("text", FIRST)
def test_leading_zeros_and_other_digits_are_the_same_number(text):
    assert number_in(text, 9) == 1
    assert number_in(text.replace("1", "12").replace("١", "١٢"), 12) == 12


@pytest.mark.parametrize("text", ["", " 1", "1 2", "-1", "1.0", "one", "1_0", "\x00"])
def test_anything_but_digits_is_no_number(text):
    assert number_in(text, 99) is None


@pytest.mark.parametrize("number", ["00000199", "9" * 4000, "0", "²", "٩٩"])
@pytest.mark.parametrize("command", ["edit", "open"])
def test_a_number_out_of_the_list_behind_a_command_is_told_so(press, small, command, number):
    code, _, walk = press("phone", f"{CALL}d\rd\rtold\r{command} {number}\r{LEAVE}", known=small)
    assert code == exit_codes.PAUSED
    assert isinstance(walk.step, steps.Advise)


@pytest.mark.parametrize(("number", "gone_on"), [("00000199", False), ("9" * 4000, False), ("0001", True)])
def test_resume_takes_a_number_of_the_unfinished_walks_only(press, small, log, number, gone_on):
    press("phone", CALL + LEAVE, known=small)

    def offers():
        return unfinished(log(), small, Audience.PHONE, "Ida", "2026-01-01T00:00:00+00:00")

    _, screen, _ = press("phone", f"resume {number}\r{LEAVE}", known=small, offers=offers)
    assert ("Continuing this case" in screen) is gone_on


@pytest.mark.parametrize("number", ["00000199", "9" * 4000, "000"])
def test_a_number_out_of_the_checks_listed_for_what_was_seen_is_no_answer(press, knowledge, number):
    code, screen, walk = press("bay", f"8\rit shakes at idle\r1\rn\rn\rsaw hose\r{number}\r{LEAVE}")
    assert code == exit_codes.PAUSED
    assert wording.SAW_WHICH in screen
    assert len(walk.events) == 5


@pytest.mark.parametrize(
    ("typed", "closed"), [("000199", False), ("9" * 4000, False), ("0001", True), ("01, 01", True)]
)
def test_the_cause_is_named_by_a_number_of_the_list_only(press, small, typed, closed):
    keys = BAY + "2\rdone\ry\r"
    _, screen, walk = press("bay", f"{keys}{typed}\r" + ("" if closed else LEAVE), known=small)
    assert (walk.case.closed is not None) is closed
    assert wording.WHICH_CAUSE in screen


@pytest.mark.parametrize("number", ["0011999", "9" * 300, "000"])
def test_an_advice_out_of_the_list_of_a_drill_is_asked_again(tmp_path, monkeypatch, capsys, number):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("COMEBACK_LOG", raising=False)
    for mode, lines in (("exam", ["signs"]), ("phone", ["driving", "open", "signs", "advice"])):
        typed = "".join(f"{line}\n" for line in (*lines, number, "q"))
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        assert run(["drill", "--mode", mode, "--seed", "5", "--by", "Ben"]) == exit_codes.PAUSED
        assert "Type a number from 1 to 5" in capsys.readouterr().out


def test_a_promise_out_of_the_list_is_not_taken(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("COMEBACK_LOG", raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO("driving\nopen\nsigns\nadvice\n5\n0011999\nq\n"))
    assert run(["drill", "--mode", "phone", "--seed", "5", "--by", "Ben"]) == exit_codes.PAUSED
    assert "The caller waits for an answer" in capsys.readouterr().out

"""`comeback check`: problems with their places, the report, and advice under shaken numbers."""

import json
from pathlib import Path

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run

SMALL = str(Path(__file__).parent.parent / "kb" / "small")
BROKEN = str(Path(__file__).parent.parent / "kb" / "rules" / "double_negative.yaml")


def checked(capsys, *arguments):
    code = run(["check", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_no_problem_is_said_with_what_was_read(capsys):
    code, out, err = checked(capsys, SMALL)
    assert (code, err) == (exit_codes.DONE, "")
    assert "No problems. 1 services, 1 complaints, 2 causes" in out


def test_each_problem_is_one_line_with_its_place(capsys):
    code, out, err = checked(capsys, SMALL, BROKEN)
    assert code == exit_codes.KNOWLEDGE
    assert f"{BROKEN}:3:24: Two negatives in one." in out
    assert err.endswith("problems.\n")
    code, out, _ = checked(capsys, SMALL, BROKEN, "--json")
    rules = {row["rule"] for row in json.loads(out)}
    assert "double-negative" in rules


def test_the_report_counts_and_states_its_denominators(capsys):
    code, out, _ = checked(capsys, SMALL, "--report")
    assert code == exit_codes.DONE
    assert all(len(line) < 80 for line in out.splitlines())
    assert "% of all causes, by frequency" in " ".join(out.split())
    row = next(line for line in out.splitlines() if line.startswith("lamp-change"))
    assert row.split()[1:] == ["1", "1", "2", "4", "2", "1", "1"]


def test_the_report_is_plain_data_too(capsys):
    _, out, _ = checked(capsys, SMALL, "--report", "--json")
    report = json.loads(out)["report"]
    assert report["services"][0]["causes"] == 2
    by_bay = next(row for row in report["testability"] if row["with"] == "bay")
    assert by_bay["detected"] == pytest.approx(1.0)
    assert by_bay["alone"] == pytest.approx(1.0)  # lamp seat and voltage part the two causes
    assert [row["complaint"] for row in report["reading"]] == ["dark"]


def test_problems_do_not_keep_the_report_back_but_are_counted(capsys):
    code, out, err = checked(capsys, SMALL, BROKEN, "--report")
    assert code == exit_codes.DONE
    assert "Told apart" in out
    assert "problems: comeback check lists them" in err


def test_sensitivity_says_what_was_shaken_and_what_stayed(capsys):
    code, out, err = checked(capsys, SMALL, "--sensitivity", "--runs", "3")
    assert (code, err) == (exit_codes.DONE, "")  # no progress unless on a terminal
    assert "14 frequencies and chances shaken 3 times" in out
    assert "of first steps in the bay unchanged" in out
    again = checked(capsys, SMALL, "--sensitivity", "--runs", "3")[1]
    assert again == out


def test_sensitivity_without_noise_leaves_all_advice(capsys):
    _, out, _ = checked(capsys, SMALL, "--sensitivity", "--runs", "2", "--noise", "0", "--json")
    found = json.loads(out)["sensitivity"]
    assert (found["step_unchanged"], found["disposition_unchanged"], found["disposition_lower"]) == (1, 1, 0)


@pytest.mark.parametrize(
    "arguments", [["--runs", "0"], ["--noise", "-1"], ["--noise", "nan"], ["--service", "lamp-chnge"], ["--seed", "-1"]]
)
def test_what_cannot_be_done_is_a_usage_error(capsys, arguments):
    code, _, err = checked(capsys, SMALL, "--sensitivity", *arguments)
    assert code == exit_codes.USAGE
    assert err.startswith("comeback: ")

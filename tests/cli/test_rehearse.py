"""`comeback rehearse` as a user runs it: the same seed, the same report, on however many cores."""

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.engine.rehearsal.rehearsal import WAYS
from support.places import SMALL_FOLDER as SMALL


def rehearsed(capsys, *arguments):
    assert run(["rehearse", "--knowledge", SMALL, *arguments]) == exit_codes.DONE
    return capsys.readouterr().out


def test_the_same_seed_gives_the_same_report_on_one_process_or_two(capsys, monkeypatch):
    reports = []
    for cores in ("1", "2"):
        monkeypatch.setenv("COMEBACK_CORES", cores)
        reports.append(rehearsed(capsys, "--walks", "24"))
    assert reports[0] == reports[1]
    assert reports[0].startswith("24 simulated comebacks")
    assert "Unsafe advice on the phone: 0 of 24 calls" in reports[0]
    rows = [line for line in reports[0].splitlines() if line.startswith(WAYS)]
    assert [line[:26].strip() for line in rows] == [*WAYS, *WAYS]


def test_another_seed_gives_other_cars(capsys):
    """Everything but the seed is the same in what is said of the settings."""
    reports = [rehearsed(capsys, "--walks", "8", "--seed", seed).replace(f"seed {seed}", "") for seed in ("1", "2")]
    assert reports[0] != reports[1]


def test_the_report_fits_one_screen_and_names_unsafe_advice_first(capsys):
    assert run(["rehearse", "--walks", "6", "--seed", "3"]) == exit_codes.DONE
    captured = capsys.readouterr()
    lines = captured.out.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert any(line == "Unsafe advice on the phone: 0 of 6 calls" for line in lines[:5])
    assert captured.err == ""  # no progress where nobody watches


@pytest.mark.parametrize(
    "arguments",
    [
        ["--walks", "0"],
        ["--seed", "-1"],
        ["--wrong", "95"],
        ["--wrong", "nan"],
        ["--service", "soap"],
        ["--complaint", "sparkles"],
    ],
)
def test_what_makes_no_sense_is_one_clear_line(capsys, arguments):
    assert run(["rehearse", "--knowledge", SMALL, *arguments]) == exit_codes.USAGE
    assert capsys.readouterr().err.count("\n") == 1

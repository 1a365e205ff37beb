"""`comeback rehearse` as a user runs it: the same seed, the same report, on however many cores."""

import json
import subprocess
import sys
from xml.etree import ElementTree

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run
from comeback.diagrams.plots.rehearsal_plot import rehearsal_plot
from comeback.engine.rehearsal.figures import figures
from comeback.engine.rehearsal.rehearsal import WAYS, Rehearsal
from comeback.engine.rehearsal.simulation import Slack, draw_comeback
from support.places import SMALL_FOLDER as SMALL


def test_the_same_seed_gives_the_same_report_on_one_process_or_two(capsys):
    reports = []
    for jobs in ("1", "2"):
        assert run(["rehearse", "--walks", "24", "--knowledge", SMALL, "--jobs", jobs, "--json"]) == exit_codes.DONE
        reports.append(capsys.readouterr().out)
    assert reports[0] == reports[1]
    data = json.loads(reports[0])
    assert data["figures"]["walks"] == 24
    assert data["figures"]["unsafe"] == []
    assert [way["way"] for way in data["figures"]["ways"]] == list(WAYS)


def test_another_seed_gives_other_cars(capsys):
    reports = []
    for seed in ("1", "2"):
        run(["rehearse", "--walks", "8", "--knowledge", SMALL, "--seed", seed, "--json"])
        reports.append(json.loads(capsys.readouterr().out)["figures"])
    assert reports[0] != reports[1]


def test_the_report_fits_one_screen_and_names_unsafe_advice_first(capsys):
    assert run(["rehearse", "--walks", "6", "--seed", "3"]) == exit_codes.DONE
    captured = capsys.readouterr()
    lines = captured.out.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert any(line == "Unsafe advice on the phone: 0 of 6 calls" for line in lines[:5])
    assert captured.err == ""  # no progress where nobody watches


def test_the_plot_is_a_picture_with_a_title_and_a_curve_for_each_way(tmp_path, capsys):
    place = tmp_path / "plot.svg"
    assert run(["rehearse", "--walks", "6", "--knowledge", SMALL, "--plot", str(place)]) == exit_codes.DONE
    root = ElementTree.parse(place).getroot()
    space = "{http://www.w3.org/2000/svg}"
    assert root.tag == f"{space}svg"
    assert root.find(f"{space}title").text
    assert "%" in root.find(f"{space}desc").text
    assert len(root.findall(f"{space}polyline")) == len(WAYS)


def test_curves_stay_inside_the_picture_and_rise(small):
    rehearsal = Rehearsal(small, Slack(), Slack())
    found = figures(small, [rehearsal.run(draw_comeback(small, seed)) for seed in range(12)])
    root = ElementTree.fromstring(rehearsal_plot(found, "a <title> & more", "note"))
    for curve in root.findall("{http://www.w3.org/2000/svg}polyline"):
        points = [tuple(map(float, point.split(","))) for point in curve.get("points").split()]
        assert all(0 <= x <= 640 and 0 <= y <= 400 for x, y in points)
        heights = [y for _, y in points]
        assert heights == sorted(heights, reverse=True)


@pytest.mark.parametrize(
    "arguments",
    [
        ["--walks", "0"],
        ["--jobs", "0"],
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


def test_a_plot_that_cannot_be_written_is_a_file_problem(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "comeback.cli", "rehearse", "--walks", "2", "--knowledge", SMALL,
         "--plot", str(tmp_path / "no" / "plot.svg")],
        capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == exit_codes.FILES
    assert "Traceback" not in done.stderr

"""`comeback chart` as a user runs it, on the small invented knowledge."""

import re
import sys

import pypdf
import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run as run_command
from support.places import SMALL_FOLDER as SMALL


@pytest.fixture
def chart(tmp_path, monkeypatch, capsys):
    """chart(*arguments) -> (exit code, standard output, standard error); files go to the folder `tmp_path`."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        code = run_command(["chart", *arguments, "--knowledge", SMALL])
        return (code, *capsys.readouterr())

    return run


def test_without_a_complaint_all_are_listed(chart):
    code, out, _ = chart()
    assert code == 0
    assert "dark" in out
    assert "It is dark" in out


def test_the_names_of_the_list_stand_below_each_other_however_long_the_id(capsys):
    """Ids longer than 18 letters once pushed their names out of line."""
    assert run_command(["chart"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len({re.match(r"\S+ +", line).end() for line in lines}) == 1
    assert any(line.startswith("hard-start-after-filling  Hard to start") for line in lines)


def test_text_goes_to_standard_output(chart, tmp_path):
    code, out, err = chart("dark", "-o", "-", "--date", "2026-01-31")
    assert (code, err) == (0, "")
    assert out.startswith("IT IS DARK, after a lamp service (bay)\n")
    assert "Printed 2026-01-31." in re.sub(r"\s+", " ", out)
    assert not list(tmp_path.iterdir())


def test_files_are_written_and_named(chart, tmp_path):
    code, out, _ = chart("dark", "--for", "phone", "--with", "key=keyless", "--paper", "a4", "--format", "pdf,svg,png")
    assert code == 0
    lines = out.splitlines()
    assert lines[0] == "written dark-phone.txt"
    assert {f"written {place.name}" for place in tmp_path.iterdir()} == set(lines[:-1])
    assert {place.suffix for place in tmp_path.iterdir()} == {".txt", ".svg", ".png", ".pdf"}
    assert lines[-1].startswith("Of 100 such callers ")
    assert (tmp_path / "dark-phone-1.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "dark-phone.pdf").read_bytes().startswith(b"%PDF")
    assert chart("dark", "--for", "phone")[0] == 0  # written again over the old ones


def test_all_complaints_at_once_as_worksheets_of_wall_size(chart, tmp_path):
    code, out, _ = chart("all", "--worksheet", "--size", "wall", "--format", "svg", "-o", "new/folder")
    assert code == 0
    assert "dark-bay-1.svg" in out
    sheet = (tmp_path / "new" / "folder" / "dark-bay-1.svg").read_text()
    assert 'width="792pt" height="1224pt"' in sheet


@pytest.mark.dot
def test_the_flowchart_is_one_page_with_yes_and_no(chart, tmp_path):
    code, out, _ = chart("dark", "--flowchart", "--size", "wall")
    assert code == 0
    assert "written dark-bay-flowchart.pdf" in out
    read = pypdf.PdfReader(tmp_path / "dark-bay-flowchart.pdf")
    assert len(read.pages) == 1
    text = re.sub(r"\s+", " ", read.pages[0].extract_text())
    for told in ("STOP", "yes", "no", "Screw the lamp in", "go on with the sheet"):
        assert told in text


def test_a_chart_without_a_step_makes_no_flowchart(tmp_path, monkeypatch, capsys):
    """It once made a page with one box on it."""
    monkeypatch.chdir(tmp_path)
    assert run_command(["chart", "something-else", "--service", "battery", "--flowchart"]) == 0
    assert [place.suffix for place in tmp_path.iterdir()] == [".txt"]
    assert "Nothing here finds it on paper" in capsys.readouterr().out


def test_a_flowchart_without_a_layout_program_leaves_the_text_and_tells_the_remedy(chart, tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    code, out, err = chart("dark", "--flowchart")
    assert code == exit_codes.FILES
    assert "written dark-bay-flowchart.txt" in out
    assert "pip install graphviz-pure" in err
    assert (tmp_path / "dark-bay-flowchart.txt").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["soap"], "There is no complaint 'soap'. Type one of: dark."),
        (["dark", "--service", "soap"], "There is no service 'soap'. Type one of: lamp-change."),
        (["dark", "--format", "gif"], "There is no format 'gif'. Use some of: pdf, svg, png, text."),
        (["dark", "-o", "-", "--format", "png"], "Only the text version of a chart can go to standard output"),
        (["dark", "--with", "injection=portt"], "'portt' is not a value of injection. Use one of: port, direct, both."),
        (["dark", "--with", "injektion=port"], "There is no vehicle condition 'injektion'. Did you mean 'injection'?"),
    ],
)
def test_a_mistake_is_told_with_the_remedy(chart, arguments, told, tmp_path):
    code, out, err = chart(*arguments)
    assert (code, out) == (exit_codes.USAGE, "")
    assert told in err
    assert not list(tmp_path.iterdir())


def test_no_chart_and_no_card_for_a_car_that_is_not_covered(comeback):
    for words in (("chart", "rough-idle", "--service", "oil-service"), ("handover", "oil-service")):
        code, _, error = comeback(*words, "--with", "drive=diesel")
        assert code == exit_codes.USAGE
        assert "Not covered: diesel engine" in error

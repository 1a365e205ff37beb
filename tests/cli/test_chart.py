"""`comeback chart` as a user runs it, on the small invented knowledge."""

import re
import sys

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


def test_text_goes_to_standard_output(chart, tmp_path):
    code, out, err = chart("dark", "--format", "text", "-o", "-", "--date", "2026-01-31")
    assert (code, err) == (0, "")
    assert out.startswith("IT IS DARK\n")
    assert "printed 2026-01-31" in re.sub(r"\s+", " ", out)
    assert not list(tmp_path.iterdir())


@pytest.mark.dot
def test_files_are_written_and_named(chart, tmp_path):
    code, out, _ = chart("dark", "--for", "phone", "--with", "key=keyless", "--paper", "a4")
    assert code == 0
    lines = out.splitlines()
    assert lines[0] == "written dark-phone.txt"
    assert {f"written {place.name}" for place in tmp_path.iterdir()} == set(lines[:-1])
    assert {place.suffix for place in tmp_path.iterdir()} == {".txt", ".svg", ".png"}
    assert "page" in lines[-1]
    assert "of 100 such calls end right" in lines[-1]
    assert (tmp_path / "dark-phone-1.png").read_bytes().startswith(b"\x89PNG")
    assert "Car: key keyless." in (tmp_path / "dark-phone.txt").read_text()
    assert chart("dark", "--for", "phone")[0] == 0  # written again over the old ones


def test_dot_and_text_into_a_new_folder(chart, tmp_path):
    code, _, _ = chart("dark", "--format", "dot", "-o", "new/folder")
    assert code == 0
    assert {place.suffix for place in (tmp_path / "new" / "folder").iterdir()} == {".dot", ".txt"}


@pytest.mark.dot
def test_all_complaints_at_once_as_worksheets_of_wall_size(chart, tmp_path):
    code, out, _ = chart("all", "--worksheet", "--size", "wall", "--format", "svg")
    assert code == 0
    assert "written dark-bay-1.svg" in out
    sheet = (tmp_path / "dark-bay-1.svg").read_text()
    assert 'width="792pt" height="1224pt"' in sheet
    assert "Reading _____" in sheet or "Time ____" in sheet


@pytest.mark.dot
def test_a_pdf_beside_the_text(chart, tmp_path):
    pytest.importorskip("typst")
    code, out, _ = chart("dark", "--format", "pdf")
    assert code == 0
    assert "written dark-bay.pdf" in out
    assert (tmp_path / "dark-bay.pdf").read_bytes().startswith(b"%PDF")


def test_a_pdf_without_the_library_leaves_the_text_and_tells_the_remedy(chart, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    code, _, err = chart("dark", "--format", "pdf")
    assert code == exit_codes.FILES
    assert "comeback-bay[booklet]" in err
    assert (tmp_path / "dark-bay.txt").exists()


@pytest.mark.dot
def test_the_poster_of_a_service(chart, tmp_path):
    code, out, _ = chart("--poster", "--format", "svg,dot")
    assert code == 0
    assert out == "written poster-lamp-change.svg\nwritten poster-lamp-change.dot\n"
    assert "Lamp not screwed in" in (tmp_path / "poster-lamp-change.svg").read_text()


def test_without_a_layout_program_the_text_is_there_and_the_remedy_told(chart, tmp_path, monkeypatch):
    monkeypatch.delenv("COMEBACK_DOT", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    code, out, err = chart("dark")
    assert code == exit_codes.FILES
    assert "written dark-bay.txt" in out
    assert "pip install graphviz-pure" in err
    assert (tmp_path / "dark-bay.txt").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["soap"], "There is no complaint 'soap'. Type one of: dark."),
        (["dark", "--service", "soap"], "There is no service 'soap'. Type one of: lamp-change."),
        (["dark", "--format", "gif"], "There is no format 'gif'. Use some of: svg, png, pdf, dot, text."),
        (["dark", "-o", "-"], "Only the text version of a chart can go to standard output"),
        (["dark", "--with", "injection=portt"], "'portt' is no injection. Use one of: port, direct, both."),
        (["dark", "--with", "injektion=port"], "There is no vehicle condition 'injektion'. Did you mean 'injection'?"),
        (["dark", "--pages", "0"], "--pages 0 is no number of pages"),
    ],
)
def test_a_mistake_is_told_with_the_remedy(chart, arguments, told, tmp_path):
    code, out, err = chart(*arguments)
    assert (code, out) == (exit_codes.USAGE, "")
    assert told in err
    assert not list(tmp_path.iterdir())

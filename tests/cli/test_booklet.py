"""`comeback booklet` as a user runs it, on the small invented knowledge."""

import sys

import pytest

from comeback.cli import exit_codes
from comeback.cli.command_line import run as run_command
from support.places import SMALL_FOLDER as SMALL


@pytest.fixture
def booklet(tmp_path, monkeypatch, capsys):
    """booklet(*arguments) -> (exit code, standard output, standard error); files go to the folder `tmp_path`."""
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        code = run_command(["booklet", *arguments, "--knowledge", SMALL])
        return (code, *capsys.readouterr())

    return run


@pytest.mark.dot
def test_one_command_prints_the_whole_set(booklet, tmp_path):
    pytest.importorskip("typst")
    code, out, err = booklet("--for", "both", "--date", "2026-01-31")
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == "written lamp-change.pdf"
    assert out.splitlines()[1].startswith("2 charts; in ")
    first = (tmp_path / "lamp-change.pdf").read_bytes()
    assert first.startswith(b"%PDF")
    booklet("--for", "both", "--date", "2026-01-31", "-o", "again/x.pdf")
    assert (tmp_path / "again" / "x.pdf").read_bytes() == first


def test_without_the_library_a_clear_line(booklet, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    code, out, err = booklet()
    assert (code, out) == (exit_codes.FILES, "")
    assert len(err.splitlines()) == 1
    assert "pip install 'comeback-bay[booklet]'" in err
    assert not list(tmp_path.iterdir())


def test_without_a_layout_program_a_clear_line(booklet, tmp_path, monkeypatch):
    pytest.importorskip("typst")
    monkeypatch.delenv("COMEBACK_DOT", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    code, out, err = booklet()
    assert (code, out) == (exit_codes.FILES, "")
    assert "pip install graphviz-pure" in err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--service", "soap"], "There is no service 'soap'. Type one of: lamp-change."),
        (["--complaint", "soap"], "There is no complaint 'soap'. Type one of: dark."),
        (["--pages", "0"], "--pages 0 is no number of pages"),
        (["--pages", "9" * 400], "is no number of pages"),
    ],
)
def test_a_mistake_is_told_with_the_remedy(booklet, arguments, told):
    code, out, err = booklet(*arguments)
    assert (code, out) == (exit_codes.USAGE, "")
    assert told in err


@pytest.mark.dot
def test_the_number_of_cores_changes_no_byte(booklet, tmp_path, monkeypatch):
    pytest.importorskip("typst")
    made = []
    for cores in ("1", "2"):
        monkeypatch.setenv("COMEBACK_CORES", cores)
        booklet("--for", "both", "--date", "2026-01-31", "-o", f"{cores}.pdf")
        made.append((tmp_path / f"{cores}.pdf").read_bytes())
    assert made[0] == made[1]

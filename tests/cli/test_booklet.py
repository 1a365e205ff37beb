"""`comeback booklet` as a user runs it, on the small invented knowledge."""

import re

import pypdf
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


def test_one_command_prints_the_whole_set(booklet, tmp_path):
    code, out, err = booklet("--for", "both", "--date", "2026-01-31")
    assert (code, err) == (0, "")
    assert out.splitlines() == ["written lamp-change.pdf", "2 charts."]
    first = (tmp_path / "lamp-change.pdf").read_bytes()
    assert first.startswith(b"%PDF")
    booklet("--for", "both", "--date", "2026-01-31", "-o", "again/x.pdf")
    assert (tmp_path / "again" / "x.pdf").read_bytes() == first


def test_contents_lead_to_every_part(booklet, tmp_path):
    booklet("--for", "both")
    read = pypdf.PdfReader(tmp_path / "lamp-change.pdf")
    titles = [entry.title for entry in read.outline if not isinstance(entry, list)]
    parts = ["Codes", "Cautions in full", "Sources"]
    charts = ["It is dark (phone)", "It is dark (bay)"]
    assert titles == ["How to read a chart", "Before the keys go back: Lamp changed", *charts, *parts]
    contents = read.pages[0].extract_text()
    for entry in (entry for entry in read.outline if not isinstance(entry, list)):
        number = read.get_destination_page_number(entry) + 1
        assert re.search(rf"{re.escape(entry.title)}[ .\u2026]*{number}\b", contents)
        assert re.search(rf"\b{number}\b", read.pages[number - 1].extract_text())
    text = " ".join(page.extract_text() for page in read.pages)
    for told in ("Begin at step 1", "Invented for tests"):
        assert told in re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--service", "soap"], "There is no service 'soap'. Type one of: lamp-change."),
        (["--complaint", "soap"], "There is no complaint 'soap'. Type one of: dark."),
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

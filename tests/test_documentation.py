"""What the documents promise is there: the index's functions and tests, every command, the README's examples."""

import importlib
import re
from pathlib import Path

import pytest

from comeback.cli.command_line import command_names

TOP = Path(__file__).parent.parent
PACKAGES = ("engine", "kb", "cli", "diagrams", "tests")


def _index():
    """(folder, what it holds, where to start, test) of every row, by package and room."""
    package = ""
    for line in (TOP / "DEVELOPERS.md").read_text().splitlines():
        package = line.removeprefix("### ") if line.startswith("### ") else package
        if line.startswith("|") and not line.startswith(("| room", "|---")):
            room, holds, start, test, _ = (cell.strip() for cell in line.split("|")[1:-1])
            yield TOP / package / room, holds, start, TOP / "tests" / test


ROWS = list(_index())


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[1])
def test_every_row_of_the_index_names_what_exists_and_a_test_that_uses_it(row):
    folder, _, start, test = row
    tested, used = test.read_text(), []
    for part in start.split("; "):
        names, file = part.rsplit(" in ", 1)
        source = (TOP / file if file.startswith(PACKAGES) else folder / file).read_text()
        for name in re.findall(r"`([\w.]+)`", names):
            outer, _, inner = name.partition(".")
            assert re.search(rf"^(?:(?:def|class) )?{outer}\b", source, re.M), f"{outer} is not in {file}"
            assert not inner or re.search(rf"^    (?:def )?{inner}\b", source, re.M), f"{name} is not in {file}"
            used.append(inner or outer)
    assert used
    assert any(re.search(rf"\b{name}\b", tested) for name in used), f"{test} uses none of {start}"


@pytest.mark.parametrize("package", ["engine", "kb", "cli"])
def test_every_room_has_a_row(package):
    rooms = {file.parent for file in (TOP / package).rglob("*.py") if file.name != "__init__.py"}
    assert rooms <= {folder.resolve() for folder, *_ in ROWS} | {TOP / package}


@pytest.mark.parametrize("name", command_names())
def test_every_command_has_help_and_is_in_the_readme(name):
    module = importlib.import_module(f"comeback.cli.commands.{name}")
    assert module.__doc__
    assert module.__doc__.splitlines()[0].endswith(".")
    assert f"comeback {name}" in (TOP / "README.md").read_text()

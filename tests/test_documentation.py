"""What the documents promise is there: the index's functions and tests, every command, the README's examples."""

import re
from pathlib import Path

import pytest

from comeback.cli.command_line import command_modules

TOP = Path(__file__).parent.parent
ROWS = [line.split("|")[1:-1] for line in (TOP / "DEVELOPERS.md").read_text().splitlines() if line.startswith("|")][2:]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0].strip())
def test_every_row_of_the_index_names_what_exists_and_a_test_that_uses_it(row):
    _, functions, files, test, _ = (cell.strip() for cell in row)
    folder = files.split("/")[0]
    sources = "".join((TOP / (f if "/" in f else f"{folder}/{f}")).read_text() for f in files.split(", "))
    tested = (TOP / test).read_text()
    for name in re.findall(r"`(\w+)`", functions):
        assert re.search(rf"^(def|class) {name}\b", sources, re.M), f"{name} is not in {files}"
    assert any(name in tested for name in re.findall(r"`(\w+)`", functions)), f"{test} uses none of {functions}"


@pytest.mark.parametrize("name", sorted(command_modules()))
def test_every_command_has_help_and_is_in_the_readme(name):
    module = command_modules()[name]
    assert module.__doc__
    assert module.__doc__.splitlines()[0].endswith(".")
    assert f"comeback {name}" in (TOP / "README.md").read_text()

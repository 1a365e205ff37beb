"""The project's parts are all packaged, and only agreed things stand at the top."""

import subprocess
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
AGREED = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", ".gitignore", ".ci", "kb", "engine", "diagrams",
    "cli", "tests", "typings",
}  # fmt: skip


def test_every_package_folder_is_listed():
    setup = tomllib.loads((TOP / "pyproject.toml").read_text())["tool"]["setuptools"]
    found = {
        "comeback." + ".".join(path.parent.relative_to(TOP).parts)
        for folder in ("kb", "engine", "diagrams", "cli")
        for path in (TOP / folder).rglob("__init__.py")
    }
    assert set(setup["packages"]) == found
    assert setup["package-dir"] == {f"comeback.{top}": top for top in ("kb", "engine", "diagrams", "cli")}


def test_only_agreed_things_stand_at_the_top():
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    assert {line.split("/")[0] for line in listed.stdout.splitlines()} <= AGREED

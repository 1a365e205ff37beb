"""Imports run one way, kb <- engine <- diagrams <- cli, and each outside library has one home."""

import ast
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
MAY_IMPORT = {
    "kb": {"kb"},
    "engine": {"kb", "engine"},
    "diagrams": {"kb", "engine", "diagrams"},
    "cli": {"kb", "engine", "diagrams", "cli"},
}
HOME = {  # library -> the folder (or file) that alone may import it
    "pydantic": ("kb/", "cli/config.py"),
    "platformdirs": "cli/places.py",
    "yaml": "kb/yaml/reader.py",
    "networkx": ("engine/charts/decision_graph.py", "engine/analysis/testability.py"),
    "sqlalchemy": ("engine/case_log/", "engine/learning/counts.py"),
    "graphviz": "diagrams/",
    "typst": "diagrams/typesetting.py",
    "serial": "cli/readout/adapter.py",
    "prompt_toolkit": "cli/",
}
ENGINE_MAY_NOT = {"random", "time", "datetime", "secrets", "subprocess", "socket"}
FILES = sorted(path for folder in MAY_IMPORT for path in (TOP / folder).rglob("*.py"))


def imported(path):
    """Every module imported anywhere in the file, inside functions too."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import. Write comeback.x."
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(TOP)))
def test_imports_run_one_way(path):
    folder = path.relative_to(TOP).parts[0]
    for name in imported(path):
        parts = name.split(".")
        assert parts[0] not in MAY_IMPORT, f"{path}: `{name}` makes a second copy. Write comeback.{name}."
        if parts[0] == "comeback" and len(parts) > 1:
            assert parts[1] in MAY_IMPORT[folder], f"{path}: {folder} may not import {name}."


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(TOP)))
def test_each_library_has_one_home(path):
    where = str(path.relative_to(TOP))
    for name in imported(path):
        home = HOME.get(name.split(".")[0])
        assert home is None or where.startswith(home), f"{where}: {name} belongs in {home} only."


@pytest.mark.parametrize("path", sorted((TOP / "engine").rglob("*.py")), ids=lambda path: path.name)
def test_engine_takes_time_and_chance_as_arguments(path):
    used = {name.split(".")[0] for name in imported(path)}
    calls = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not used & ENGINE_MAY_NOT
    assert not calls & {"print", "input"}
    if path.parent.name != "case_log":
        assert "open" not in calls

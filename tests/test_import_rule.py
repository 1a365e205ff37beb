"""Imports run one way: between the four parts, between the rooms of each part, and never in a loop.

Imports inside functions and behind TYPE_CHECKING count: they tie two modules together just as well.
"""

import ast
from functools import cache
from pathlib import Path

import networkx

TOP = Path(__file__).parent.parent
PARTS = ("kb", "engine", "diagrams", "cli")
"""Each may import itself and the parts before it."""
ENGINE_ROOMS = (
    "belief", "choosing", "case", "walk", "case_log", "rehearsal", "learning", "handover", "analysis",
    "readout.protocol", "readout.text", "readout.findings", "drill", "charts",
)  # fmt: skip
"""Each may import itself and the rooms before it; errors, readings and safe_text stand before all."""
CLI_ROOMS = (
    "words", "screens", "records", "prompt", ("readout", "drill", "reports"), "commands", "command_line", "__main__",
)  # fmt: skip
"""The same for cli; the modules beside the rooms stand before all. Rooms of one rank do not import each other."""
HOME = {  # library -> the places that alone may import it
    "pydantic": ("kb/", "cli/config.py"),
    "rapidfuzz": ("kb/nearest.py", "cli/words/misspellings.py"),
    "platformdirs": ("cli/places.py",),
    "argcomplete": ("cli/command_line.py", "cli/commands/completion.py"),
    "yaml": ("kb/yaml/reader.py",),
    "networkx": ("engine/analysis/",),
    "sqlalchemy": ("engine/case_log/", "engine/learning/counts.py"),
    "graphviz": ("diagrams/",),
    "typst": ("diagrams/printing.py",),
    "serial": ("cli/readout/adapter.py",),
    "prompt_toolkit": ("cli/",),
}
ENGINE_MAY_NOT = {"random", "time", "datetime", "secrets", "subprocess", "socket"}
MOST_MODULES = 21
"""In one folder: what can be taken in at a glance, and one for `__init__`."""
FILES = sorted(path for part in PARTS for path in (TOP / part).rglob("*.py"))


@cache
def imported(path):
    """Names of all modules, and names in modules, that the file imports anywhere; with the line."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import. Write comeback.x."
            found += [(f"{node.module}.{alias.name}", node.lineno) for alias in node.names]
    return found


def module_of(path):
    return ".".join(path.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__")


MODULES = {module_of(path): path for path in FILES}


def own_imports():
    """(file, line, module, imported module) for every import of a module of ours."""
    for module, path in MODULES.items():
        for name, line in imported(path):
            if name.startswith("comeback."):
                name = name.removeprefix("comeback.")
                target = name if name in MODULES else name.rpartition(".")[0]
                if target in MODULES and target != module:
                    yield path.relative_to(TOP), line, module, target


def test_parts_import_one_way():
    wrong = [
        f"{path}:{line}: {module.split('.')[0]} may not import {target}."
        for path, line, module, target in own_imports()
        if PARTS.index(target.split(".")[0]) > PARTS.index(module.split(".")[0])
    ]
    second_copies = [
        f"{path}:{line}: `{name}` makes a second copy of the module. Write comeback.{name}."
        for path in FILES
        for name, line in imported(path)
        if name.split(".")[0] in PARTS
    ]
    assert not wrong + second_copies


def test_rooms_of_the_engine_import_one_way():
    rank = {f"engine.{room}": number for number, room in enumerate(ENGINE_ROOMS)}

    def room(module):
        return next((rank[r] for r in rank if module == r or module.startswith(f"{r}.")), -1)

    assert not [
        f"{path}:{line}: {module} may not import {target}: its room comes later."
        for path, line, module, target in own_imports()
        if module.startswith("engine.") and target.startswith("engine.") and room(target) > room(module)
    ]
    assert {module for module in MODULES if module.startswith("engine.") and room(module) < 0} == {
        "engine.errors", "engine.readings", "engine.readout", "engine.safe_text",
    }  # fmt: skip


def test_rooms_of_cli_import_one_way():
    rank = {
        f"cli.{one}": n for n, rooms in enumerate(CLI_ROOMS) for one in ((rooms,) if isinstance(rooms, str) else rooms)
    }

    def room(module):
        return ".".join(module.split(".")[:2])

    assert not [
        f"{path}:{line}: {module} may not import {target}: its room is no earlier one."
        for path, line, module, target in own_imports()
        if module.startswith("cli.") and target.startswith("cli.") and room(module) != room(target)
        and rank.get(room(target), -1) >= rank.get(room(module), 0)
    ]  # fmt: skip


def loops(edges):
    return [sorted(loop) for loop in networkx.strongly_connected_components(networkx.DiGraph(edges)) if len(loop) > 1]


def test_no_modules_import_each_other_in_a_loop():
    assert not loops((module, target) for _, _, module, target in own_imports())


def test_no_rooms_import_each_other_in_a_loop():
    """A module beside the rooms counts as a room of its own."""

    def room(module):
        return module if module.count(".") < 2 else module.rpartition(".")[0]

    assert not loops(
        (room(module), room(target)) for _, _, module, target in own_imports() if room(module) != room(target)
    )


def test_each_library_has_one_home():
    assert not [
        f"{path.relative_to(TOP)}:{line}: {name} belongs in {HOME[library]} only."
        for path in FILES
        for name, line in imported(path)
        if (library := name.split(".")[0]) in HOME and not str(path.relative_to(TOP)).startswith(HOME[library])
    ]


def test_engine_takes_time_and_chance_as_arguments():
    for path in FILES:
        if not str(path.relative_to(TOP)).startswith("engine/"):
            continue
        assert not {name.split(".")[0] for name, _ in imported(path)} & ENGINE_MAY_NOT, path
        calls = {
            node.func.id
            for node in ast.walk(ast.parse(path.read_text()))
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        }
        assert not calls & ({"print", "input"} if path.parent.name == "case_log" else {"print", "input", "open"}), path


def test_a_folder_can_be_taken_in_at_a_glance():
    folders = {path.parent for path in FILES}
    sizes = {str(folder.relative_to(TOP)): len(list(folder.glob("*.py"))) for folder in folders}
    assert {folder: size for folder, size in sizes.items() if size > MOST_MODULES} == {}

"""Strict YAML: plain data in which every key and value remembers its line and column.

YAML 1.2 core words (yes, no, on, off stay text), no tags, no anchors, no
aliases, no key twice, bounded size and depth: a hand-edited file means what it
looks like, and a hostile one cannot run code or fill the memory.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import yaml

from comeback.kb.problems import KnowledgeError, Problem
from comeback.kb.yaml.slips import plain_slip

Path = tuple[str | int, ...]
Place = tuple[int, int]

MAX_CHARACTERS = 5_000_000
"""Characters of a file, at most: far above any real one, below what stalls the program."""
MAX_DEPTH = 40
"""Levels of nesting, at most; a real file has six or seven."""
MAX_PARTS = 200_000
"""Keys, values, beginnings and ends of a file; the largest shipped one has some 6000."""
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_INTEGER = re.compile(r"[-+]?[0-9]+\Z")
_DECIMAL = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")
_CONSTANTS = {"true": True, "false": False, "null": None, "~": None, "": None}


@dataclass(frozen=True)
class Document:
    """A file's plain data with the place of each value and of each key, by path.

    `revised`: parts that an overlay revised, as ("causes", "duct-loose", "drive"), with its file and place;
    problems of those are reported there.
    """

    file: str
    data: Any
    values: dict[Path, Place]
    keys: dict[Path, Place]
    revised: Mapping[Path, tuple[str, Place]] = field(default_factory=dict)

    def place(self, path: Path) -> Place:
        """Line and column of the longest part of `path` that is in the file; a validator adds parts that are not."""
        known: Path = ()
        for part in path:
            if (*known, part) in self.values:
                known = (*known, part)
        if path and path[-1] == "[key]" and known in self.keys:
            return self.keys[known]
        return self.values.get(known, (1, 1))

    def problem(self, path: Path, rule: str, message: str) -> Problem:
        """A `Problem` at the place of `path`, or where an overlay revised it."""
        file, place = self._revision(path) or (self.file, self.place(path))
        return Problem(file, *place, rule, message)

    def key_problem(self, path: Path, rule: str, message: str) -> Problem:
        """A `Problem` at the key (not the value) of `path`, or where an overlay revised it."""
        file, place = self._revision(path) or (self.file, self.keys.get(path, self.place(path)))
        return Problem(file, *place, rule, message)

    def revised_at(self, path: Path, file: str, place: Place) -> "Document":
        """The document with one more part revised."""
        return replace(self, revised={**self.revised, path: (file, place)})

    def _revision(self, path: Path) -> tuple[str, Place] | None:
        fits = (at for part, at in self.revised.items() if part[: len(path)] == path or path[: len(part)] == part)
        return next(fits, None)


def read_yaml(text: str, file: str) -> Document:
    """Read `text`; `file` is only a name for messages. Raises KnowledgeError with one problem."""
    _refuse_tricks(text, file)
    root = yaml.compose(text, Loader=_LOADER)
    builder = _Builder(file)
    data = builder.build(root, ()) if root is not None else None
    return Document(file, data, builder.values, builder.keys)


def _stop(file: str, mark: Any, message: str) -> KnowledgeError:
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    return KnowledgeError([Problem(file, line, column, "yaml", message)])


def _refuse_tricks(text: str, file: str) -> None:
    """Stream over the events: stops at the first bad thing, before anything is built."""
    if len(text) > MAX_CHARACTERS:
        raise _stop(file, None, f"The file is longer than {MAX_CHARACTERS} characters. Split it.")
    depth = 0
    try:
        for count, event in enumerate(yaml.parse(text, Loader=_LOADER)):
            mark, tag = event.start_mark, getattr(event, "tag", None)
            depth += isinstance(event, yaml.CollectionStartEvent) - isinstance(event, yaml.CollectionEndEvent)
            if count > MAX_PARTS:
                raise _stop(file, mark, f"The file holds more than {MAX_PARTS} keys and values. Split it.")
            if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                raise _stop(file, mark, "Anchors and aliases (& and *) are not allowed. Write the value out.")
            if depth > MAX_DEPTH:
                raise _stop(file, mark, f"Nested deeper than {MAX_DEPTH} levels. Flatten it.")
            if tag and tag != "!":
                raise _stop(file, mark, f"Tags ({tag}) are not allowed. Delete the tag.")
    except yaml.MarkedYAMLError as error:
        near, began = ((mark.line, mark.column) if mark else None for mark in (error.problem_mark, error.context_mark))
        (line, column), message = plain_slip(text, str(error.problem or error), near, began)
        raise KnowledgeError([Problem(file, line + 1, column + 1, "yaml", message)]) from None
    except yaml.reader.ReaderError as error:
        raise _stop(file, None, f"This is not readable text: {error.reason}.") from None


class _Builder:
    """Turns composed nodes into plain data and notes where each was."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.values: dict[Path, Place] = {}
        self.keys: dict[Path, Place] = {}

    def build(self, node: Any, path: Path) -> Any:
        self.values[path] = (node.start_mark.line + 1, node.start_mark.column + 1)
        if node.id == "scalar":
            return _scalar(node)
        if node.id == "sequence":
            return [self.build(child, (*path, i)) for i, child in enumerate(node.value)]
        _refuse_comma_numbers(node, self.file)
        out: dict[str, Any] = {}
        for key_node, value_node in node.value:
            mark, key = key_node.start_mark, key_node.value
            if key_node.id != "scalar":
                raise _stop(self.file, mark, "A key must be plain text.")
            where = (*path, key)
            if key in out:
                first = self.keys[where][0]
                raise _stop(self.file, mark, f"Key '{key}' appears twice (first on line {first}). Keep one.")
            self.keys[where] = (mark.line + 1, mark.column + 1)
            out[key] = self.build(value_node, where)
        return out


def _refuse_comma_numbers(node: Any, file: str) -> None:
    """`{value: 4,5}` is a 4 and a name 5 without a value: a comma was typed where a point belongs."""
    for (_, before), (key, value) in pairwise(node.value):
        whole, tenths = str(before.value), str(key.value)
        if value.start_mark.index == value.end_mark.index and _INTEGER.match(whole) and tenths.isdigit():
            raise _stop(file, before.start_mark, f"A comma ends a number here. Write a point: {whole}.{tenths}")


def _scalar(node: Any) -> Any:
    text = node.value
    if node.style:  # quoted or block text is always text
        return text
    if text.lower() in _CONSTANTS:
        return _CONSTANTS[text.lower()]
    if _INTEGER.match(text):
        return int(text) if len(text) < 20 else text
    if _DECIMAL.match(text):
        return float(text)
    return text

"""Which files of a folder are knowledge, what to do with those that are not, and reading them.

Only regular files are read: a pipe would be waited for without end, a device read until the memory is full.
"""

import stat
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

from comeback.kb.problems import Problem

SUFFIXES = (".yaml", ".yml")
_LEFT_ALONE = (".md", ".bak", ".orig", ".swp", "~")
"""Endings of notes and of what editors leave behind."""


@dataclass(frozen=True)
class ReadFolder:
    """One folder (or file) that was read, and how many files it gave."""

    folder: FilePath
    files: int
    overlay: bool = False


def knowledge_files(folders: Iterable[FilePath]) -> Iterator[FilePath]:
    """All `.yaml` and `.yml` files below the folders (or the files themselves), in stable order.

    A pipe or broken link with such a name is among them: reading it says so. Raises FileNotFoundError for a folder
    that is not there.
    """
    for folder in folders:
        if folder.is_dir():
            yield from filter(_readable, _seen(folder))
        elif folder.exists():
            yield folder
        else:
            raise FileNotFoundError(f"{folder}: there is no such folder. Check the spelling.")


def read_folders_of(folders: Sequence[FilePath], overlays: Sequence[FilePath]) -> tuple[ReadFolder, ...]:
    """What was read, overlays last."""
    return tuple(
        ReadFolder(folder, len(list(knowledge_files([folder]))), i >= len(folders))
        for i, folder in enumerate([*folders, *overlays])
    )


def files_left_out(folders: Iterable[FilePath]) -> Iterator[Problem]:
    """A problem for every file that may be meant as knowledge but is not read."""
    for folder in folders:
        for file in _seen(folder):
            if file.is_file() and not _readable(file) and not file.name.lower().endswith(_LEFT_ALONE):
                name = file.name.removesuffix(file.suffix)
                better = name if name.endswith(SUFFIXES) else f"{name}.yaml"
                message = f"This file is not read: knowledge is in files ending in .yaml. Rename it to {better}, or "
                yield Problem(str(file), 1, 1, "not-read", message + "move it out of the folder.")


def _readable(file: FilePath) -> bool:
    return file.suffix.lower() in SUFFIXES and not file.is_dir()


def _seen(folder: FilePath) -> list[FilePath]:
    """Everything below a folder that is not hidden."""
    every = folder.rglob("*") if folder.is_dir() else ()
    return sorted(file for file in every if not any(part.startswith(".") for part in file.relative_to(folder).parts))


_KINDS = ((stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"), (stat.S_ISDIR, "a folder"))


def read_regular(file: FilePath, most: int) -> bytes:
    """The content of a regular file (a link to one will do) of up to `most` bytes.

    Raises OSError with a remedy if it is something else or larger; FileNotFoundError, PermissionError.
    """
    status = file.stat()
    if not stat.S_ISREG(status.st_mode):
        kind = next((name for is_one, name in _KINDS if is_one(status.st_mode)), "a device")
        raise OSError(f"{file}: this is {kind}, not a file, and is not read. Put a file there, or take it away.")
    with file.open("rb") as stream:
        data = stream.read(most + 1) if status.st_size <= most else b""
    if status.st_size > most or len(data) > most:
        raise OSError(f"{file}: this is larger than {most / 1e6:g} MB, and is not read. Split it.")
    return data

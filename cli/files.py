"""Files that a user names: text that is read, and files written for the owner only, never over another file."""

import os
import sys
from collections.abc import Iterable
from pathlib import Path

from comeback.cli import places
from comeback.cli.errors import UsageError
from comeback.engine.case_log.address import is_database

SQLITE = b"SQLite format 3\0"
BESIDE = ("-wal", "-shm", "-journal")
"""Endings of what SQLite keeps beside its file."""
MOST_BYTES = 50_000_000


def write_new(path: Path, lines: Iterable[str], force: bool = False) -> int:
    """Write the lines to a new file with mode 0600, and count them; `force`: replace an existing file in one step.

    Raises OSError; a half-written file is removed.
    """
    count = 0
    part = path.with_name(f".{path.name}.{os.getpid()}.part") if force else path
    try:
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        link = "" if path.exists() else " as a broken link"
        raise FileExistsError(f"{path} already exists{link}. Choose another name.") from None
    except ValueError:
        raise OSError(f"{str(path)!r}: this is not a file name.") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            for count, line in enumerate(lines, 1):  # noqa: B007  it is returned
                stream.write(f"{line}\n")
            stream.flush()
            os.fsync(stream.fileno())
        if force:
            part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return count


def refuse_to_harm(file: Path, log_place: str, read: Iterable[Path] = ()) -> None:
    """Raise FileExistsError if writing to `file` would destroy what nobody can make again, also through a link.

    That is the case log at `log_place` with what SQLite keeps beside it, every other SQLite database, the
    configuration, and the files that were `read` as knowledge.
    """
    log = [] if is_database(log_place) else [Path(log_place + ending) for ending in ("", *BESIDE)]
    config = places.config_file()
    for others, what in (
        (log, "it belongs to the case log in use"),
        ([config] if config is not None else [], "it is the configuration"),
        (read, "it is read as knowledge"),
    ):
        if any(_same(file, other) for other in others):
            raise FileExistsError(f"{file}: {what}, and is never overwritten. Choose another name.")
    ending = next((ending for ending in BESIDE if file.name.endswith(ending)), "")
    if _is_sqlite(file) or (ending and _is_sqlite(file.with_name(file.name.removesuffix(ending)))):
        raise FileExistsError(f"{file}: it belongs to a database, and is never overwritten. Choose another name.")


def _same(file: Path, other: Path) -> bool:
    try:
        return os.path.realpath(file) == os.path.realpath(other) or os.path.samefile(file, other)
    except (OSError, ValueError):  # one of them is not there
        return False


def _is_sqlite(file: Path) -> bool:
    """True for a regular file that begins as an SQLite database does (SQLite: Database File Format, 1.3)."""
    try:
        if not file.is_file():
            return False
        with file.open("rb") as stream:
            return stream.read(len(SQLITE)) == SQLITE
    except (OSError, ValueError):
        return False


def read_text(place: str, lenient: bool = False) -> str:
    """The text of a UTF-8 file (a byte order mark is left out), or of standard input for `-`.

    `lenient`: bytes that are no UTF-8 become question marks, as for what a machine wrote. Raises OSError;
    UsageError if it is no text, is too large, or the name cannot be one.
    """
    try:
        if place == "-":
            data = sys.stdin.read(MOST_BYTES + 1).encode("utf-8", "surrogateescape")
        else:
            with Path(place).open("rb") as stream:
                data = stream.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            raise UsageError(f"{place}: this is larger than {MOST_BYTES // 1_000_000} MB. Give a smaller file.")
        return data.decode("utf-8-sig", "replace" if lenient else "strict")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise UsageError(f"{place}:{line}: this is not UTF-8 text. Save the file as UTF-8.") from None
    except ValueError:
        raise UsageError(f"{place!r}: this is not a file name.") from None

"""Reading files that stand in a folder: only regular ones, and their size is looked at before.

A pipe would be waited for without end, a device read until the memory is full.
"""

import stat
from pathlib import Path

_KINDS = ((stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"), (stat.S_ISDIR, "a folder"))


def read_regular(file: Path, most: int) -> bytes:
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

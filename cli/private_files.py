"""Files that a command writes for its user: readable by the owner only, and never over another file."""

import os
from collections.abc import Iterable
from pathlib import Path


def write_new(place: str, lines: Iterable[str]) -> None:
    """Write the lines to a new file with mode 0600. Raises OSError; a file half written is taken away."""
    path = Path(place)
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        raise FileExistsError(f"{path}: there is already such a file. Choose another name.") from None
    except ValueError:
        raise OSError(f"{place!r}: this is no file name.") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.writelines(f"{line}\n" for line in lines)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        path.unlink(missing_ok=True)
        raise

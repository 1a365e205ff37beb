"""Text that the user gives in a file or on standard input: one place that says what is wrong with it."""

import sys
from pathlib import Path

from comeback.cli.errors import UsageError

MOST_BYTES = 50_000_000


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

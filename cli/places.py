"""Where things are kept (XDG Base Directory 0.8), who is at the keyboard, and what time it is."""

import getpass
import os
from datetime import datetime
from pathlib import Path


def data_folder() -> Path:
    """Cases are the user's data: `$XDG_DATA_HOME/comeback`; relative values are invalid by the standard."""
    given = os.environ.get("XDG_DATA_HOME", "")
    base = Path(given) if os.path.isabs(given) else Path.home() / ".local" / "share"
    return base / "comeback"


def cache_folder() -> Path:
    """What can be made again: `$XDG_CACHE_HOME/comeback`."""
    given = os.environ.get("XDG_CACHE_HOME", "")
    base = Path(given) if os.path.isabs(given) else Path.home() / ".cache"
    return base / "comeback"


def log_place(option: str | None) -> str:
    """`--log`, else COMEBACK_LOG, else the file in the data folder."""
    return option or os.environ.get("COMEBACK_LOG") or str(data_folder() / "cases.db")


def who(option: str | None) -> str:
    """`--by`, else COMEBACK_BY, else the login name."""
    given = option or os.environ.get("COMEBACK_BY")
    if given:
        return given
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no entry for this user on the machine
        return "unknown"


def now() -> str:
    """The time as ISO 8601 with the offset of the local zone, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")

"""Where things are kept (on Linux by the XDG Base Directory Specification), who is at the keyboard, what time it is.

`platformdirs` knows the folders of each system. Nothing else asks for the home folder, so that a machine without
one (a container, a service account) gets its message in one place.
"""

import getpass
import os
from datetime import datetime
from pathlib import Path

NO_HOME = "This user has no home folder to keep cases in. Name a file: --log FILE or COMEBACK_LOG; or set HOME."


def folder(kind: str) -> Path | None:
    """The user's "data" (cases), "config" or "cache" (what can be made again); None if they have no home folder."""
    from platformdirs import PlatformDirs

    try:
        return Path(getattr(PlatformDirs("comeback", appauthor=False), f"user_{kind}_dir"))
    except RuntimeError:
        return None


def config_file() -> Path | None:
    """Where the configuration is looked for: `$XDG_CONFIG_HOME/comeback/config.toml`; None without a home folder."""
    place = folder("config")
    return place / "config.toml" if place else None


def log_place(option: str | None) -> str:
    """`--log`, else COMEBACK_LOG, else the file in the data folder. Raises OSError if there is none of these."""
    given = option or os.environ.get("COMEBACK_LOG")
    if given:
        return given
    place = folder("data")
    if place is None:
        raise OSError(NO_HOME)
    return str(place / "cases.db")


def login_name() -> str:
    """The login name; `unknown` if the machine has no entry for this user."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


def now() -> str:
    """The time as ISO 8601 with the offset of the local zone, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")

"""Ends of journals that `comeback cases verify` has seen, kept outside the log: changing the log leaves them."""

import json
import os
from pathlib import Path
from typing import Any

from comeback.cli import places
from comeback.engine.case_log.address import is_database

MOST = 1000
"""Logs remembered; the ones that were not looked at for longest are forgotten first."""


def _file() -> Path:
    """Raises OSError if this user has no home folder."""
    folder = places.data_folder()
    if folder is None:
        raise OSError(places.NO_HOME)
    return folder / "heads.json"


def seen(place: str, first: str) -> str:
    """The head that was printed last for the log at this place whose journal begins with the hash `first`.

    Empty if there was none. The place alone would take a log begun anew for the old one; the hash alone
    one that began with the same imported case.
    """
    return _read().get(_key(place, first), "")


def remember(place: str, first: str, head: str) -> bool:
    """Keep the head for the next time, readable by the owner only; False if it cannot be written."""
    heads = _read()
    heads.pop(_key(place, first), None)
    heads[_key(place, first)] = head
    try:
        file = _file()
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        part = file.with_name(f"{file.name}.{os.getpid()}.part")
        try:
            with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
                json.dump(dict(list(heads.items())[-MOST:]), out, indent=0)
            os.replace(part, file)
        finally:
            part.unlink(missing_ok=True)
        return True
    except OSError:
        return False


def _key(place: str, first: str) -> str:
    return f"{place if is_database(place) else os.path.abspath(place)} {first[:16]}"


def _read() -> dict[str, str]:
    try:
        data: Any = json.loads(_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    pairs = data.items() if isinstance(data, dict) else ()
    return {first: head for first, head in pairs if isinstance(head, str)}

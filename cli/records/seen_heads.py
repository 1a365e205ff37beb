"""Ends of journals that `comeback cases verify` has seen, kept outside the log: changing the log leaves them."""

import json
import os
from typing import Any

from comeback.cli import places
from comeback.cli.files import write_new
from comeback.engine.case_log.address import is_database

FILE, MOST = "heads.json", 1000
"""The most logs remembered; the ones that were not looked at for longest are forgotten first."""


def seen(place: str, first: str) -> str:
    """The head that was printed last for the log at this place whose journal begins with the hash `first`.

    Empty if there was none. The place alone would take a log begun anew for the old one; the hash alone
    one that began with the same imported case.
    """
    return _read().get(_key(place, first), "")


def remember(place: str, first: str, head: str) -> bool:
    """Keep the head for the next time, readable by the owner only; False if it cannot be written."""
    key, folder, heads = _key(place, first), places.folder("data"), _read()
    heads.pop(key, None)
    heads[key] = head
    if folder is None:
        return False
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_new(folder / FILE, [json.dumps(dict(list(heads.items())[-MOST:]), indent=0)], force=True)
        return True
    except OSError:
        return False


def _key(place: str, first: str) -> str:
    """A log by its place and the hash of its first entry."""
    return f"{place if is_database(place) else os.path.abspath(place)} {first[:16]}"


def _read() -> dict[str, str]:
    folder = places.folder("data")
    try:
        data: Any = json.loads((folder / FILE).read_text(encoding="utf-8")) if folder else {}
    except (OSError, ValueError, RecursionError):
        return {}
    return {key: head for key, head in data.items() if isinstance(head, str)} if isinstance(data, dict) else {}

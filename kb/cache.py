"""Plain data of files that had no problem, kept so that the next start need not parse YAML again.

An entry is named by the content of the knowledge files and by the code that reads them, so neither a changed file nor
another version of the program meets an old entry. Its first line is a hash of its name and data: a damaged entry is
made again. The folder must belong to this user alone; whoever can write as this user could as well change the program.
JSON, never pickle: nothing in the cache can run. Losing it costs a quarter of a second.
"""

import hashlib
import json
import os
import stat
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

KEPT = "knowledge-*.json"
MOST_KEPT = 8
"""Entries kept, the latest; judged: a shop works with one set of files, a trainer with a few."""


def read_cache(folder: Path, version: str) -> list[dict[str, Any]] | None:
    """The plain data of each file of this version, None if it is not there or not as it was kept."""
    name = _name(version)
    try:
        digest, _, data = (folder / name).read_bytes().partition(b"\n") if _ours_alone(folder) else (b"", b"", b"")
        kept = json.loads(data) if digest == _digest(name, data) else None
    except (OSError, ValueError, RecursionError):
        return None
    return kept if isinstance(kept, list) and all(isinstance(data, dict) for data in kept) else None


def write_cache(folder: Path, version: str, files: list[Any]) -> None:
    """Keep the data; a cache that cannot be written is no problem of the user's."""
    name, data = _name(version), json.dumps(files, ensure_ascii=False).encode()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not _ours_alone(folder):
            return
        handle, part = tempfile.mkstemp(dir=folder, prefix="knowledge-", suffix=".json")
        with os.fdopen(handle, "wb") as stream:
            stream.write(_digest(name, data) + b"\n" + data)
        os.replace(part, folder / name)
        kept = sorted(folder.glob(KEPT), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in kept[MOST_KEPT:]:  # parts that a killed program left go with them
            path.unlink(missing_ok=True)
    except OSError:
        return


@cache
def reading_code(folder: Path = Path(__file__).parent) -> str:
    """Hash of the code that makes knowledge of files; 12 hex digits."""
    digest = hashlib.sha256()
    for file in sorted(folder.rglob("*.py")):
        digest.update(str(file.relative_to(folder)).encode() + b"\0" + hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()[:12]


def _name(version: str) -> str:
    return f"knowledge-{version}-{reading_code()}.json"


def _digest(name: str, data: bytes) -> bytes:
    return hashlib.sha256(name.encode() + b"\n" + data).hexdigest().encode()


def _ours_alone(folder: Path) -> bool:
    """True if only this user can put files there; Windows keeps users' folders apart by itself."""
    if not hasattr(os, "getuid"):
        return True
    found = folder.stat()
    return found.st_uid == os.getuid() and not stat.S_IMODE(found.st_mode) & 0o077

"""Plain data of files that had no problem, kept so that the next start need not parse YAML again.

Keyed by the content hash, so a changed file never meets an old entry; types are validated again on
reading. JSON, never pickle: nothing in the cache can run. Losing the cache costs a third of a second.
"""

import json
import os
import tempfile
from pathlib import Path
from typing import Any

FORMAT = 1


def recall(folder: Path, version: str) -> list[dict[str, Any]] | None:
    """The plain data of each file of this version, None if it is not there or not readable."""
    try:
        kept = json.loads((folder / _name(version)).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    good = isinstance(kept, list) and all(isinstance(data, dict) for data in kept)
    return kept if good else None


def keep(folder: Path, version: str, files: list[Any]) -> None:
    """Keep the data; a cache that cannot be written is no problem of the user's."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, name = tempfile.mkstemp(dir=folder)
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            json.dump(files, stream, ensure_ascii=False)
        os.replace(name, folder / _name(version))
        _forget_old(folder)
    except OSError:
        return


def _name(version: str) -> str:
    return f"knowledge-{FORMAT}-{version}.json"


def _forget_old(folder: Path, most: int = 8) -> None:
    """Keep only the latest few."""
    files = sorted(folder.glob("knowledge-*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in files[most:]:
        path.unlink(missing_ok=True)

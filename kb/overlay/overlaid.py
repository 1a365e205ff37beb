"""A document some parts of which an overlay revised: problems of those are reported at the overlay's own line."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from comeback.kb.problems import Problem
from comeback.kb.yaml.reader import Document, Path, Place

Revised = Mapping[Path, tuple[str, Place]]
"""Path of a part, as ("causes", "duct-loose", "drive") -> file and place of what revised it."""


@dataclass(frozen=True)
class OverlaidDocument(Document):
    """A document some of whose parts stand elsewhere."""

    revised: Revised = field(default_factory=dict)

    def problem(self, path: Path, rule: str, message: str) -> Problem:
        """A `Problem` at the revision of `path`, else in the entry's own file."""
        return self._told(path, rule, message) or super().problem(path, rule, message)

    def key_problem(self, path: Path, rule: str, message: str) -> Problem:
        """Like `problem`, at the key."""
        return self._told(path, rule, message) or super().key_problem(path, rule, message)

    def _told(self, path: Path, rule: str, message: str) -> Problem | None:
        for part, (file, place) in self.revised.items():
            if part[: len(path)] == path or path[: len(part)] == part:
                return Problem(file, *place, rule, message)
        return None


def overlaid(document: Document, revised: Revised) -> OverlaidDocument:
    """The document with more parts revised."""
    known = document.revised if isinstance(document, OverlaidDocument) else {}
    return OverlaidDocument(document.file, document.data, document.values, document.keys, {**known, **revised})

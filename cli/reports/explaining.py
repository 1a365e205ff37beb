"""What is known about one entry, as text."""

import re
import textwrap
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from comeback.cli.look import Look, Styled
from comeback.cli.reports import explain_entries as entries
from comeback.cli.reports.explain_fields import Field, own, revised
from comeback.cli.words.search import rank
from comeback.kb.nearest import nearest as spelled_like
from comeback.kb.schema import KnowledgeBase

LABEL = 14
KINDS: Mapping[str, tuple[str, Callable[[KnowledgeBase, Any], Iterable[Field]]]] = {
    "cause": ("causes", entries.cause),
    "check": ("checks", entries.check),
    "code": ("codes", entries.code),
    "repair": ("repairs", entries.repair),
    "complaint": ("complaints", entries.complaint),
    "service": ("services", entries.service),
    "caution": ("cautions", entries.caution),
    "procedure": ("procedures", entries.procedure),
    "panel": ("panels", entries.panel),
    "set-up": ("set_ups", entries.set_up),
    "source": ("sources", entries.source),
}
"""What can be explained -> its section, and the fields of an entry of it."""


@dataclass(frozen=True)
class Page:
    """All that is known about one entry."""

    kind: str
    id: str
    name: str
    fields: tuple[Field, ...]

    def lines(self, look: Look) -> list[Styled]:
        """Text for the terminal; a label is beside the first of its lines."""
        head = f"{self.kind} {self.id}" + (f": {self.name}" if self.name else "")
        out: list[Styled] = [("title", line) for line in _wrapped(head[0].upper() + head[1:], look, "", 2)]
        for field in self.fields:
            for i, text in enumerate(field.lines):
                label = f"  {field.label}" if i == 0 else ""
                start = re.match(r" *[\d.]+( %| in 1000:|\.) ", text)
                hang = LABEL + (len(start[0]) if start else 0)
                out += [("plain", line) for line in _wrapped(text, look, label.ljust(LABEL), hang)]
        return out


def _wrapped(text: str, look: Look, first: str, hang: int) -> list[str]:
    """Wrapped to the width without breaking an id at its hyphens."""
    room, pad = max(40, look.width - 1), " " * hang
    return textwrap.wrap(text, room, initial_indent=first, subsequent_indent=pad, break_on_hyphens=False)


def pages(knowledge: KnowledgeBase, asked: str, kind: str | None = None) -> list[Page]:
    """A page for every entry of that id; a check and a complaint may share one. Case does not matter."""
    wanted = asked.strip().lower()
    found = []
    for name, (section, fields) in KINDS.items():
        known = getattr(knowledge, section)
        entry = next((entry for key, entry in known.items() if key.lower() == wanted), None)
        if entry is not None and kind in (None, name):
            sources = own(knowledge, entry, source="Sources") if hasattr(entry, "source") else ()
            every = [*fields(knowledge, entry), *sources, revised(knowledge, section, entry.id)]
            shown = tuple(field for field in every if field.lines)
            found.append(Page(name, entry.id, _name(entry), shown))
    return found


def _name(entry: Any) -> str:
    return str(getattr(entry, "name", "") or getattr(entry, "meaning", "") or getattr(entry, "title", ""))


def ids(knowledge: KnowledgeBase, kind: str) -> dict[str, str]:
    """Id -> name of all entries of a kind."""
    return {key: _name(entry) for key, entry in getattr(knowledge, KINDS[kind][0]).items()}


def nearest(knowledge: KnowledgeBase, asked: str, most: int = 3) -> list[str]:
    """Ids that may have been meant: by spelling first, else by the words of the names."""
    names = {key: [name, key.replace("-", " ")] for kind in KINDS for key, name in ids(knowledge, kind).items()}
    wanted = asked.strip().lower().replace(" ", "-").replace("_", "-")
    by_spelling = {key.lower(): key for key in names}
    near = [by_spelling[key] for key in spelled_like(wanted, by_spelling, most, likeness=0.7)]
    return near or [key for key in rank(asked, {**names, "": [asked]})[: most + 1] if key][:most]

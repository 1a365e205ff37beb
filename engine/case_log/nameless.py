"""A case without anything that names a person: enough of it for learning, nothing that a customer or employee said.

What stays is listed here, so that a field that is new one day is left out until somebody puts it on the list.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from comeback.engine.case.case import INSTEAD_OF, OPENED, Event
from comeback.engine.case_log.fields import midnight

MARK = "without_names"
"""Key in the payload of the first event of such a case."""
LEFT_OUT = "left out"
"""Stands for names and words, so that nobody takes them for never said."""
_KEPT: Mapping[str, tuple[str, ...]] = {
    "opened": ("audience", "shop", MARK),
    "service": ("service", "also", "unknown_to"),
    "complaint": ("complaint",),
    "condition": ("feature", "value"),
    "answered": ("results", "audience", "again", "codes"),
    "taken-back": ("number", "kind"),
    "driving": ("driving",),
    "advised": ("disposition", "ruled", "floor", "flags", "agreed"),
    "read-back": ("disposition", "ruled", "floor", "flags", "agreed"),
    "refused": ("disposition", "ruled", "floor", "flags"),
    "warned": ("stop", "word", "flags", "signs", "cautions"),
    "overridden": ("ruled", "to"),
    "repaired": ("repair",),
    "skipped": ("repair",),
    "handed-over": ("repair",),
    "taken-over": ("audience",),
    "registered": ("read_back",),
    "closed": ("complaint", "causes", "repairs", "in_vain", "proven", "predicted", "cause_named"),
}
_WORDS: Mapping[str, tuple[str, ...]] = {
    "opened": ("car",), "renamed": ("car",), "complaint": ("words",), "closed": ("words", "cause_words"),
    "noted": ("text",), "said": ("words",), "refused": ("words",), "given": ("to",), "handed-over": ("reason",),
    "overridden": ("reason", "second"), "contact": ("phone", "place"), "registered": ("registration",),
}  # fmt: skip
_EMPTIED = ("car", "registration", "phone", "place")
"""Fields by which cases are searched: empty, or every such case would be found as the same car."""


def without_names(event: Event) -> Event:
    """The event as it may be passed on: who did it left out, only the day of its time, of its payload what is listed.

    Its number stays, its hash is no longer right.
    """
    kept = {key: event.payload[key] for key in (*_KEPT.get(event.kind, ()), INSTEAD_OF) if key in event.payload}
    for key in _WORDS.get(event.kind, ()):
        if key in event.payload:
            kept[key] = LEFT_OUT if event.payload[key] and key not in _EMPTIED else ""
    marked: dict[str, Any] = {MARK: True} if event.kind == OPENED else {}
    return replace(event, at=midnight(event.at), by=LEFT_OUT, payload=kept | marked)

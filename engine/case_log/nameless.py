"""A case without anything that names a person: enough of it for learning, nothing that a customer or employee said.

What stays is listed here, so that a field that is new one day is left out until somebody puts it on the list.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from comeback.engine.case.events import INSTEAD_OF, Event, Kind
from comeback.engine.case_log.fields import midnight

MARK = "without_names"
"""Key in the payload of the first event of such a case."""
LEFT_OUT = "left out"
"""Stands for names and words, so that nobody takes them for never said."""
_KEPT: Mapping[str, tuple[str, ...]] = {
    Kind.OPENED: ("audience", "shop", MARK),
    Kind.SERVICE: ("service", "also", "unknown_to"),
    Kind.COMPLAINT: ("complaint", "also", "further"),
    Kind.CONDITION: ("feature", "value"),
    Kind.ANSWERED: ("results", "audience", "again", "codes"),
    Kind.TAKEN_BACK: ("number", "kind"),
    Kind.DRIVING: ("driving",),
    Kind.ADVISED: ("disposition", "ruled", "floor", "flags", "agreed"),
    Kind.READ_BACK: ("disposition", "ruled", "floor", "flags", "agreed"),
    Kind.REFUSED: ("disposition", "ruled", "floor", "flags"),
    Kind.WARNED: ("stop", "word", "flags", "signs", "cautions"),
    Kind.OVERRIDDEN: ("ruled", "to"),
    Kind.REPAIRED: ("repair",),
    Kind.SKIPPED: ("repair",),
    Kind.HANDED_OVER: ("repair",),
    Kind.TAKEN_OVER: ("audience",),
    Kind.REGISTERED: ("read_back",),
    Kind.SOLVED: ("disposition", "check", "repair", "causes", "ruled", "floor", "flags"),
    Kind.CLOSED: ("complaint", "causes", "repairs", "in_vain", "proven", "cause_named"),
}
_WORDS: Mapping[str, tuple[str, ...]] = {
    Kind.OPENED: ("car",), Kind.RENAMED: ("car",), Kind.COMPLAINT: ("words",), Kind.CLOSED: ("words", "cause_words"),
    Kind.NOTED: ("text",), Kind.SAID: ("words",), Kind.REFUSED: ("words",), Kind.GIVEN: ("to",),
    Kind.HANDED_OVER: ("reason",), Kind.OVERRIDDEN: ("reason", "second"), Kind.CONTACT: ("phone", "place"),
    Kind.REGISTERED: ("registration",),
}  # fmt: skip
_EMPTIED = ("car", "registration", "phone", "place")
"""Fields by which cases are searched: empty, or every such case would be found as the same car."""


def without_names(event: Event) -> Event:
    """The event as it may be passed on: who did it left out, only the day of its time, of its payload what is listed.

    Its number stays, its hash is no longer right.
    """
    kept: dict[str, Any] = {}
    for key, value in event.payload.items():
        if key in (*_KEPT.get(event.kind, ()), INSTEAD_OF):
            kept[key] = value
        elif key in _WORDS.get(event.kind, ()):
            kept[key] = LEFT_OUT if value and key not in _EMPTIED else ""
    marked = {MARK: True} if event.kind == Kind.OPENED else {}
    return replace(event, at=midnight(event.at), by=LEFT_OUT, payload=kept | marked)

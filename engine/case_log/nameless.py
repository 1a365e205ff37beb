"""A case without anything that names a person: enough of it for learning, nothing that a customer or employee said.

The types of `facts` say which fields stay, so that a field that is new one day is left out until its type says so.
"""

from dataclasses import replace
from typing import Any, get_args

from comeback.engine.case.events import Event
from comeback.engine.case.facts import Name, Opened, hints_of, says_no_words
from comeback.engine.case_log.fields import midnight

MARK = "without_names"
"""Field of the first event of such a case."""
LEFT_OUT = "left out"
"""In the place of names and words, to show that there were some."""


def without_names(event: Event) -> Event:
    """The event without its author, its time of day, and all names and words in it.

    A `Name` becomes empty instead of LEFT_OUT: cases are searched by it, and all would look like the same car. The
    event keeps its number; its hash has to be made again.
    """
    kept: dict[str, Any] = {MARK: True} if event.kind == Opened.kind else {}
    for name, hint in hints_of(event.kind).items():
        value: Any = event.payload.get(name)
        if name in event.payload and says_no_words(hint):
            kept[name] = value
        elif name in event.payload and (hint is str or Name in (hint, *get_args(hint))):
            kept[name] = LEFT_OUT if value and hint is str else ""
    return replace(event, at=midnight(event.at), by=LEFT_OUT, payload=kept)

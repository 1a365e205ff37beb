"""What a field of an event may hold: enforced before anything is stored, and asked of cases from elsewhere."""

import math
import re
from calendar import monthrange
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from comeback.engine.case.events import Draft, Event, Kind
from comeback.engine.errors import EngineError
from comeback.engine.safe_text import harmless, unsafe_sign

LONGEST_NAME, LONGEST_SHORT, LONGEST_TEXT = 80, 400, 20_000
"""Signs of a person's or shop's name; of what names a car, a place or an entry; of any other text."""
_TIME = re.compile(
    r"(\d{4})-(0[1-9]|1[0-2])-(\d\d)T(?:[01]\d|2[0-3]):[0-5]\d(?::[0-5]\d(?:\.\d{1,6})?)?"
    r"([+-](?:[01]\d|2[0-3]):[0-5]\d|Z)\Z",
    re.ASCII,
)
_NAMES = ("by", "shop")
_LIMITS = dict.fromkeys(_NAMES, LONGEST_NAME) | dict.fromkeys(
    ("car", "registration", "phone", "place", "to", "second"), LONGEST_SHORT
)
_TOO_LONG = "`{field}` is {length:,} characters long; at most {limit:,} can be kept. Shorten it."


class NotStorable(EngineError):
    """A text is too long for its field, or a number is none; the message names the field. Nothing was recorded."""


def storable(draft: Draft) -> Draft:
    """The draft as it is recorded: its text harmless, nothing cut. Raises NotStorable."""
    clean = replace(draft, by=harmless(draft.by), payload=_clean(draft.payload, draft.kind == Kind.NOTED))
    for field, value in _leaves(clean):
        if isinstance(value, float):
            raise NotStorable(f"`{field}` is {value}, which is not a number that can be saved. Correct it.")
        _measured(field, value, _LIMITS.get(field, LONGEST_TEXT))
    return clean


def name_to_keep(field: str, text: str, limit: int = LONGEST_NAME) -> str:
    """A name, shop or reason beside the events, harmless. Raises NotStorable if it is too long."""
    return _measured(field, harmless(text), limit)


def _measured(field: str, text: str, limit: int) -> str:
    if len(text) > limit:
        raise NotStorable(_TOO_LONG.format(field=field, length=len(text), limit=limit))
    return text


def flaw(event: Event) -> str:
    """What an event from elsewhere may not hold, naming the field; empty if there is nothing."""
    for field, value in _leaves(event):
        if isinstance(value, float):
            return f"`{field}` is {value}, which is not a number"
        sign = unsafe_sign(value) or ("a line end" if field in _NAMES and harmless(value) != value else "")
        if sign:
            return f"`{field}` holds {sign}, which can steer a screen and is in no export of this program"
        if len(value) > (limit := _LIMITS.get(field, LONGEST_TEXT)):
            return f"`{field}` is longer than {limit:,} characters"
    return ""


def midnight(at: str) -> str:
    """Midnight of the day of a time with its offset (ISO 8601); empty if the text is none that the calendar has."""
    found = _TIME.match(at)
    if found is None or int(found[1]) == 0 or not 0 < int(found[3]) <= monthrange(int(found[1]), int(found[2]))[1]:
        return ""
    return f"{at[:10]}T00:00:00{found[4]}"


def _leaves(event: Draft | Event) -> Iterator[tuple[str, Any]]:
    """Every text with the name of the field that it is in (names of fields too, as another program may choose
    them), and every number that is none: NaN and Infinity."""
    yield from (("kind", event.kind), ("by", event.by))
    yield from _within("payload", event.payload)


def _within(field: str, value: Any) -> Iterator[tuple[str, Any]]:
    """The same of a value and all that is in it."""
    if isinstance(value, str) or (isinstance(value, float) and not math.isfinite(value)):
        yield field, value
    elif isinstance(value, Mapping):
        for key, part in value.items():
            yield field, key
            yield from _within(key if field == "payload" else field, part)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _within(field, part)


def _clean(value: Any, note: bool = False) -> Any:
    """The value with harmless text; `note`: line ends of its text stay."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, Mapping):
        return {
            harmless(key): harmless(part, True) if note and key == "text" and isinstance(part, str) else _clean(part)
            for key, part in value.items()
        }
    return [_clean(part) for part in value] if isinstance(value, list | tuple) else value

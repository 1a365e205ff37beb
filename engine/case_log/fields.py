"""What a field of an event may hold: made so at the door before anything is stored, and asked of cases from elsewhere.

Events that are in a log already stay as they are, or their chain would break; what is shown is made harmless there.
"""

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
_SHORT = ("car", "registration", "phone", "place", "to", "second")
_FIRST = "`{field}` is {length:,} characters long; at most {limit:,} can be kept. Shorten it."


class NotStorable(EngineError):
    """A text is too long for its field, or a number is none; the message names the field. Nothing was recorded."""


def storable(draft: Draft) -> Draft:
    """The draft as it is recorded: its text harmless, nothing cut. Raises NotStorable."""
    clean = cleaned(draft)
    for field, text in _fields(draft.kind, clean.by, clean.payload):
        _measure(field, text)
    for field, number in _numbers(draft.payload):
        raise NotStorable(f"`{field}` is {number}, which is not a number that can be saved. Correct it.")
    return clean


def name_to_keep(field: str, text: str, limit: int = LONGEST_NAME) -> str:
    """A name, shop or reason beside the events, harmless. Raises NotStorable if it is too long."""
    clean = harmless(text)
    if len(clean) > limit:
        raise NotStorable(_FIRST.format(field=field, length=len(clean), limit=limit))
    return clean


def cleaned(draft: Draft) -> Draft:
    """The draft with harmless text, and without numbers that are none."""
    return Draft(draft.kind, draft.at, harmless(draft.by), _clean(dict(draft.payload), draft.kind == Kind.NOTED))


def cleaned_event(event: Event) -> Event:
    """The event with harmless text: equal to it, or it needs another hash."""
    draft = cleaned(Draft(event.kind, event.at, event.by, event.payload))
    return replace(event, by=draft.by, payload=draft.payload)


def flaw(event: Event) -> str:
    """What an event from elsewhere may not hold, naming the field; empty if there is nothing."""
    for field, text in _fields(event.kind, event.by, event.payload):
        sign = unsafe_sign(text) or ("a line end" if field in _NAMES and harmless(text) != text else "")
        if sign:
            return f"`{field}` holds {sign}, which can steer a screen. Export the case again with this version"
        if len(text) > limit_of(field):
            return f"`{field}` is longer than {limit_of(field):,} characters"
    return next((f"`{field}` is {value}, which is not a number" for field, value in _numbers(event.payload)), "")


def midnight(at: str) -> str:
    """Midnight of the day of a time with its offset (ISO 8601); empty if the text is none that the calendar has."""
    found = _TIME.match(at)
    if found is None or int(found[1]) == 0 or not 0 < int(found[3]) <= monthrange(int(found[1]), int(found[2]))[1]:
        return ""
    return f"{at[:10]}T00:00:00{found[4]}"


def limit_of(field: str) -> int:
    """Most signs of a field's text."""
    return LONGEST_NAME if field in _NAMES else LONGEST_SHORT if field in _SHORT else LONGEST_TEXT


def _measure(field: str, text: str) -> None:
    if len(text) > limit_of(field):
        raise NotStorable(_FIRST.format(field=field, length=len(text), limit=limit_of(field)))


def _fields(kind: str, by: str, payload: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Every text with the name of the field it stands in; the names too, as another program may choose them."""
    yield from (("kind", kind), ("by", by))
    yield from _texts("payload", payload)


def _texts(field: str, value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield field, value
    elif isinstance(value, Mapping):
        for key, part in value.items():
            yield field, key
            yield from _texts(key if field == "payload" else field, part)
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _texts(field, part)


def _numbers(payload: Any, field: str = "payload") -> Iterator[tuple[str, float]]:
    """Numbers that are none: NaN and Infinity, with their field."""
    if isinstance(payload, float) and not math.isfinite(payload):
        yield field, payload
    elif isinstance(payload, Mapping):
        for key, part in payload.items():
            yield from _numbers(part, key if field == "payload" else field)
    elif isinstance(payload, list | tuple):
        for part in payload:
            yield from _numbers(part, field)


def _clean(value: Any, note: bool = False) -> Any:
    """`note`: line ends of its text stay."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, Mapping):
        return {
            harmless(key): harmless(part, True) if note and key == "text" and isinstance(part, str) else _clean(part)
            for key, part in value.items()
            if not _none(part)
        }
    if isinstance(value, list | tuple):
        return [_clean(part) for part in value if not _none(part)]
    return value


def _none(value: Any) -> bool:
    return isinstance(value, float) and not math.isfinite(value)

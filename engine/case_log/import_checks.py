"""A case that comes from elsewhere, checked before it is believed: form, chain, and whether it can be read."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from comeback.engine.case.case import TOLD, Event, first_broken_link, read_case
from comeback.engine.case_log.rows import event_from_plain
from comeback.kb.vocabulary import Disposition

LONGEST_LINE = 5_000_000
_CASE = re.compile(r"[A-Z0-9]{1,16}\Z")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?([+-]\d\d:\d\d|Z)?\Z")
_HASH = re.compile(r"[0-9a-f]{64}\Z")
_UNFIT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_TEXTS = (
    "car", "audience", "service", "complaint", "words", "feature", "text", "repair", "reason", "disposition",
    "registration", "phone", "place", "ruled", "to", "second",
)  # fmt: skip
_DISPOSITIONS = {
    "advised": ("disposition",), "refused": ("disposition",), "overridden": ("ruled", "to"),
    "read-back": ("disposition", "ruled"), "warned": ("stop",),
}  # fmt: skip
"""Fields of these events that are dispositions."""
_MAY_BE_NONE = ("repair", "service")
_LISTS = ("also", "causes", "repairs", "codes", "flags", "cautions")


class Bad(Exception):
    """The case cannot be taken in; the message says why."""


@dataclass(frozen=True)
class Parcel:
    """A case as it was sent: its id there, what it is known by everywhere, its shop, its events."""

    case: str
    identity: str
    shop: str
    events: tuple[Event, ...]


def read_parcel(line: str) -> Parcel:
    """The case of a line. Raises Bad with the reason."""
    if len(line) > LONGEST_LINE:
        raise Bad(f"the line is longer than {LONGEST_LINE} signs")
    try:
        data: Any = json.loads(line)
    except (ValueError, RecursionError):
        raise Bad("this is not valid JSON") from None
    if not isinstance(data, dict) or not isinstance(data.get("events"), list) or not data["events"]:
        raise Bad("this is no case: it has no `events`")
    try:
        events = tuple(event_from_plain(_mapping(event)) for event in data["events"])
    except ValueError as error:
        raise Bad(f"an event is not complete: {error}") from None
    check_events(events)
    name = events[0].case
    broken = next((e.number for e in events if e.case != name), None) or first_broken_link(events)
    if broken is not None:
        raise Bad(f"case {name}: event {broken} was changed after it was written; nothing of the case is taken")
    identity = data.get("identity", events[0].hash)
    if not isinstance(identity, str) or not _HASH.match(identity):
        raise Bad(f"case {name}: its identity is no hash")
    shop = data.get("shop") or ""
    if not isinstance(shop, str) or not _clean(shop):
        raise Bad(f"case {name}: its shop is no text")
    return Parcel(name, identity, shop, events)


def _mapping(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise ValueError("it is no mapping")
    return value


def _clean(text: str) -> bool:
    """False for signs that a database cannot take, or that would steer a terminal."""
    return not _UNFIT.search(text)


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, part in value.items():
            yield key
            yield from _strings(part)
    elif isinstance(value, list):
        for part in value:
            yield from _strings(part)


def _check_event(event: Event) -> None:
    good = (
        _CASE.match(event.case) and _TIME.match(event.at) and _HASH.match(event.hash)
        and 0 < len(event.kind) <= 16 and len(event.by) <= 80 and len(event.knowledge) <= 64
        and 0 < event.number < 2**31 and _clean(event.by + event.kind + event.knowledge)
    )  # fmt: skip
    if not good:
        raise Bad("an event has an id, time, name or hash that this program does not write")
    if not all(map(_clean, _strings(event.payload))):
        raise Bad(f"case {event.case}: event {event.number} holds signs that are no text")


def check_events(events: Sequence[Event]) -> None:
    """The events must amount to a case, or every list of cases would stumble over it. Raises Bad."""
    for event in events:
        _check_event(event)
    name = events[0].case
    if events[0].kind != "opened":
        raise Bad(f"case {name}: its first event does not open it")
    for event in events:
        data = event.payload
        fields = [
            key for key in _TEXTS if not isinstance(data.get(key, ""), str | None if key in _MAY_BE_NONE else str)
        ]
        fields += [key for key in _LISTS if not _texts(data.get(key, []))]
        fields += [key for key in ("results", "readings") if not _answers(data.get(key, {}))]
        fields += [key for key in _DISPOSITIONS.get(event.kind, ()) if not _disposition(event, key)]
        if fields:
            raise Bad(f"case {name}: event {event.number}: `{fields[0]}` is not what this program writes")
    try:
        read_case(events)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise Bad(f"case {name}: its events do not make a case ({type(error).__name__}: {error})") from None


def _disposition(event: Event, key: str) -> bool:
    value = event.payload.get(key)
    if event.kind == "warned" and event.payload.get("word") != TOLD:
        return True
    return isinstance(value, str) and value in {member.word for member in Disposition}


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(part, str) for part in value)


def _answers(value: Any) -> bool:
    return isinstance(value, dict) and all(part is None or isinstance(part, str) for part in value.values())

"""A case that comes from elsewhere, checked before it is believed: form, chain, and whether it can be read."""

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from comeback.engine.case.case import read_case
from comeback.engine.case.events import TOLD, Event, Kind, first_broken_link
from comeback.engine.case_log.fields import LONGEST_NAME, flaw, midnight
from comeback.engine.case_log.rows import event_from_plain
from comeback.engine.safe_text import harmless, unsafe_sign
from comeback.kb.vocabulary import Disposition

LONGEST_LINE = 5_000_000
_CASE = re.compile(r"[A-Z0-9]{1,16}\Z")
_HASH = re.compile(r"[0-9a-f]{64}\Z")


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
        raise Bad(f"the line is longer than {LONGEST_LINE} characters")
    try:
        data: Any = json.loads(line)
    except (ValueError, RecursionError):
        raise Bad("this is not valid JSON") from None
    if not isinstance(data, dict) or not isinstance(data.get("events"), list) or not data["events"]:
        raise Bad("this is not a case: it has no `events`")
    try:
        events = tuple(map(event_from_plain, data["events"]))
    except ValueError as error:
        raise Bad(f"an event is not complete: {error}") from None
    check_events(events)
    name = events[0].case
    for event in events:
        if found := flaw(event):
            raise Bad(f"case {name}: event {event.number}: {found}")
    broken = next((e.number for e in events if e.case != name), None) or first_broken_link(events)
    if broken is not None:
        raise Bad(f"case {name}: event {broken} was changed after it was written; nothing of the case is taken")
    identity = data.get("identity", events[0].hash)
    if not isinstance(identity, str) or not _HASH.match(identity):
        raise Bad(f"case {name}: its identity is no hash")
    shop = data.get("shop") or ""
    if not isinstance(shop, str) or shop != harmless(shop) or len(shop) > LONGEST_NAME:
        raise Bad(f"case {name}: `shop` must be a name of at most {LONGEST_NAME} characters")
    return Parcel(name, identity, shop, events)


def _check_event(event: Event) -> None:
    if not midnight(event.at):
        raise Bad(f"an event has {event.at[:40]!r} as its time, which is no time with its offset from UTC")
    good = (
        _CASE.match(event.case) and _HASH.match(event.hash) and 0 < len(event.kind) <= 16
        and len(event.by) <= LONGEST_NAME and len(event.knowledge) <= 64 and 0 < event.number < 2**31
        and not unsafe_sign(event.knowledge)
    )  # fmt: skip
    if not good:
        raise Bad("an event has an id, name, number or hash that this program does not write")


def check_events(events: Sequence[Event]) -> None:
    """The events must make a case, or every list of cases would stumble over it. Raises Bad."""
    for event in events:
        _check_event(event)
    name = events[0].case
    if events[0].kind != Kind.OPENED:
        raise Bad(f"case {name}: its first event does not open it")
    for event in events:
        data = event.payload
        told = event.kind != Kind.WARNED or data.get("word") == TOLD
        wrong = [key for key in _DISPOSITIONS.get(event.kind, ()) if told and not _disposition(data.get(key))]
        wrong += [key for key, fits in _FITS.items() if key in data and not fits(data[key])]
        codes = data.get("codes") or ()
        if event.kind == Kind.EVIDENCE and isinstance(codes, dict):  # those of each service of the car that told some
            wrong += [] if all(map(_texts, codes.values())) else ["codes"]
        elif codes and (event.kind == Kind.EVIDENCE or not _texts(codes)):
            wrong.append("codes")
        if wrong:
            raise Bad(f"case {name}: event {event.number}: `{wrong[0]}` is not what this program writes")
    try:
        read_case(events)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise Bad(f"case {name}: its events do not make a case ({type(error).__name__}: {error})") from None


def _disposition(value: Any) -> bool:
    return isinstance(value, str) and value in {member.word for member in Disposition}


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(part, str) for part in value)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e15


def _since(value: Any) -> bool:
    """When and by whom a check was answered first: check -> [time, name]."""
    return isinstance(value, dict) and all(
        _texts(part) and len(part) == 2 and midnight(part[0]) and len(part[1]) <= LONGEST_NAME
        for part in value.values()
    )


_FIELDS: Mapping[Callable[[Any], bool], str] = {
    lambda value: isinstance(value, str):
        "car audience complaint words feature text reason disposition registration phone place ruled to second",
    lambda value: value is None or isinstance(value, str): "repair service",
    lambda value: value is None or isinstance(value, bool): "agreed driving proven again further",
    lambda value: value is None or (_number(value) and value > 0): "labor_rate",
    lambda value: isinstance(value, dict) and all(x is None or isinstance(x, str) for x in value.values()):
        "results readings",
    _texts: "also causes repairs flags cautions",
    _since: "since",
}  # fmt: skip
_FITS = {key: fits for fits, keys in _FIELDS.items() for key in keys.split()}
"""What the values of these fields must be, where an event has them."""
_DISPOSITIONS: Mapping[str, tuple[str, ...]] = {
    Kind.ADVISED: ("disposition",), Kind.SOLVED: ("disposition",), Kind.REFUSED: ("disposition",),
    Kind.OVERRIDDEN: ("ruled", "to"),
    Kind.READ_BACK: ("disposition", "ruled"), Kind.WARNED: ("stop",),
}  # fmt: skip
"""Fields of these events that are dispositions."""

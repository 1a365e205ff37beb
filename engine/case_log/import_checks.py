"""A case that comes from elsewhere, checked before it is believed: form, chain, and whether it can be read."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from comeback.engine.case.case import read_case
from comeback.engine.case.events import Event, Kind, first_broken_link
from comeback.engine.case.facts import NOT_WRITTEN, Answered, fact_of
from comeback.engine.case_log.fields import LONGEST_NAME, flaw, midnight
from comeback.engine.case_log.rows import event_from_plain
from comeback.engine.safe_text import harmless, unsafe_sign

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
        try:
            fact = fact_of(event)
            since = fact.since.values() if isinstance(fact, Answered) else ()
            if not all(midnight(at) and len(by) <= LONGEST_NAME for at, by in since):
                raise ValueError(NOT_WRITTEN.format("since"))
        except (TypeError, ValueError) as error:
            raise Bad(f"case {name}: event {event.number}: {error}") from None
    try:
        read_case(events)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise Bad(f"case {name}: its events do not make a case ({type(error).__name__}: {error})") from None

"""The events of a case: what kinds there are, how one is drafted and recorded, and the hash chain through them."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """What happened; the value is the word that is stored."""

    OPENED = "opened"
    SERVICE = "service"
    COMPLAINT = "complaint"
    CONDITION = "condition"
    ANSWERED = "answered"
    TAKEN_BACK = "taken-back"
    NOTED = "noted"
    ADVISED = "advised"
    SOLVED = "solved"
    WARNED = "warned"
    REPAIRED = "repaired"
    SKIPPED = "skipped"
    HANDED_OVER = "handed-over"
    TAKEN_OVER = "taken-over"
    CLOSED = "closed"
    DRIVING = "driving"
    READ_BACK = "read-back"
    OVERRIDDEN = "overridden"
    REGISTERED = "registered"
    RENAMED = "renamed"
    GIVEN = "given"
    CALLED_AGAIN = "called-again"
    SAID = "said"
    REFUSED = "refused"
    CONTACT = "contact"
    EVIDENCE = "evidence"


CAN_BE_TAKEN_BACK = frozenset(
    {
        Kind.SERVICE, Kind.COMPLAINT, Kind.CONDITION, Kind.ANSWERED, Kind.ADVISED, Kind.SOLVED, Kind.REPAIRED,
        Kind.SKIPPED, Kind.DRIVING, Kind.OVERRIDDEN, Kind.HANDED_OVER, Kind.CLOSED, Kind.CALLED_AGAIN, Kind.REFUSED,
    }
)  # fmt: skip
TEACHING = (Kind.CLOSED, Kind.SOLVED)
"""Events with which a case may say what was wrong, so that it is counted."""
TOLD = "told"
"""The word that passes the stop screen of an advice: all of it was read out."""
DRILL_FINISHED = "finished"
"""Kind of the last event of a drill; its first is OPENED, between them stand its turns."""
INSTEAD_OF = "instead_of"
"""Key of a payload: number of the earlier event that this one corrects, and whose place it takes."""


@dataclass(frozen=True)
class Draft:
    """An event that has not been recorded yet: what happened, by whom, when (ISO 8601 with offset)."""

    kind: str
    at: str
    by: str
    payload: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Event:
    """A recorded event. `hash` chains it to the one before, so that any change shows."""

    case: str
    number: int
    kind: str
    at: str
    by: str
    payload: Mapping[str, Any]
    knowledge: str
    previous: str
    hash: str


def chain(case: str, number: int, draft: Draft, knowledge: str, previous: str) -> Event:
    """The event that records `draft` after the event whose hash is `previous` (empty for the first)."""
    payload = dict(draft.payload)
    parts = [case, number, draft.kind, draft.at, draft.by, payload, knowledge, previous]
    text = json.dumps(parts, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Event(case, number, draft.kind, draft.at, draft.by, payload, knowledge, previous, digest)


def first_broken_link(events: Iterable[Event]) -> int | None:
    """Number of the first event that does not fit the chain; None if all do."""
    previous, expected = "", 1
    for event in events:
        draft = Draft(event.kind, event.at, event.by, event.payload)
        if event != chain(event.case, expected, draft, event.knowledge, previous):
            return event.number
        previous, expected = event.hash, expected + 1
    return None

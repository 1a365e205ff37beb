"""Events as rows of a table and as lines of a file; no database needed."""

import json
from collections.abc import Mapping
from typing import Any

from comeback.engine.case.events import Event


def row_of(event: Event) -> dict[str, Any]:
    """The event as columns."""
    payload = json.dumps(event.payload, ensure_ascii=False, allow_nan=False)
    return {
        "case_id": event.case, "number": event.number, "kind": event.kind, "at": event.at, "by": event.by,
        "payload": payload, "knowledge": event.knowledge, "previous": event.previous, "hash": event.hash,
    }  # fmt: skip


def event_of(row: Any) -> Event:
    """The event that a row holds. A payload that is no JSON comes back as it stands, for the chain to show."""
    try:
        payload = json.loads(row.payload)
        if "\\ud" in row.payload.lower():  # half a sign, which no file and no hash can hold
            json.dumps(payload, ensure_ascii=False).encode()
    except (ValueError, RecursionError):
        payload = {"unreadable": row.payload}
    if not isinstance(payload, dict):
        payload = {"unreadable": payload}
    return Event(row.case_id, row.number, row.kind, row.at, row.by, payload, row.knowledge, row.previous, row.hash)


def plain_event(event: Event) -> dict[str, Any]:
    """The event as plain data for a line of JSON."""
    return {
        "case": event.case, "number": event.number, "kind": event.kind, "at": event.at, "by": event.by,
        "payload": dict(event.payload), "knowledge": event.knowledge, "previous": event.previous, "hash": event.hash,
    }  # fmt: skip


def event_from_plain(data: Mapping[str, Any]) -> Event:
    """The other way round. Raises ValueError naming the field that is missing or of the wrong kind."""
    kinds = {"case": str, "number": int, "kind": str, "at": str, "by": str, "payload": dict,
             "knowledge": str, "previous": str, "hash": str}  # fmt: skip
    for name, kind in kinds.items():
        if not isinstance(data.get(name), kind) or isinstance(data.get(name), bool):
            raise ValueError(f"the field '{name}' is missing or not {kind.__name__}")
    return Event(**{name: data[name] for name in kinds})

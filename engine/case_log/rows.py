"""Events as rows of a table and as lines of a file; no database needed."""

import json
from dataclasses import fields
from typing import Any

from comeback.engine.case.events import Event


def plain_event(event: Event) -> dict[str, Any]:
    """The event as plain data for a line of JSON."""
    return {**vars(event), "payload": dict(event.payload)}


def row_of(event: Event) -> dict[str, Any]:
    """The event as columns."""
    row = plain_event(event)
    payload = json.dumps(event.payload, ensure_ascii=False, allow_nan=False)
    return {"case_id": row.pop("case"), **row, "payload": payload}


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


def event_from_plain(data: Any) -> Event:
    """The other way round. Raises ValueError naming the field that is missing or of the wrong kind."""
    if not isinstance(data, dict):
        raise ValueError("it is no mapping")
    for name in (one.name for one in fields(Event)):
        kind = {"number": int, "payload": dict}.get(name, str)
        if not isinstance(data.get(name), kind) or isinstance(data.get(name), bool):
            raise ValueError(f"the field '{name}' is missing or not {kind.__name__}")
    return Event(**{one.name: data[one.name] for one in fields(Event)})

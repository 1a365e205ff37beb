"""The record as plain data, for other programs. Times are ISO 8601 with offset."""

from dataclasses import asdict
from typing import Any

from comeback.cli.records.record import NOT_ASKED, Record
from comeback.cli.screens import wording
from comeback.cli.version import VERSION
from comeback.engine.case.events import Kind
from comeback.kb.vocabulary import Disposition

ASKED = ("shop", "registration", "phone", "place", "words", "advice")
"""What reads NOT_ASKED while it is empty."""


def record_data(record: Record) -> dict[str, Any]:
    """Everything recorded, as the case has it, beside what follows from it; ids, those of causes with their names."""
    case, groups = asdict(record.case), record.standing
    case |= {key: sorted(value) for key, value in case.items() if isinstance(value, frozenset)}
    plates = [event.payload for event in record.events if event.kind == Kind.REGISTERED]
    kinds = (Kind.ADVISED, Kind.SOLVED, Kind.READ_BACK)
    read = [text for event in record.events if event.kind in kinds and (text := event.payload.get("read_back"))]
    data = {
        "case": case.pop("id"),
        "status": record.status,
        "state": record.state,
        "shop": record.shop,
        "people": list(map(asdict, record.people)),
        **case,
        "registration_read_back": any(plate.get("read_back") for plate in plates),
        "notes": [{"at": at, "by": by, "text": text} for at, by, text in record.case.notes],
        "said": [{"at": at, "by": by, "words": words} for at, by, words in record.case.said],
        "vehicle": dict(case["vehicle"]),
        "caller_driving": record.driving,
        "danger_signs": [
            {"check": s.check, "name": s.name, "answer": s.answer, "raised": "yes" if s.raised else "no"}
            for s in record.signs
        ],
        "not_done": [{"at": event.at, "by": event.by, **event.payload} for event in record.skipped],
        "due": record.now.due.word if record.now.due is not None else "nothing",
        "due_since": record.now.due_at or "nothing",
        "advice": _advice(record),
        "read_back": {
            "text": read[-1] if read else NOT_ASKED,
            "caller_agreed": {None: NOT_ASKED, True: "yes", False: "no"}[record.case.read_back],
        },
        "changes": [
            {"at": e.at, "by": e.by, "event": e.payload["number"], "why": why, "old": old}
            for e, old, why in record.changes
        ],
        "causes": {
            group: [
                {"cause": c, "name": record.name("causes", c), "chance": round(p, 4)}
                for c, p in getattr(groups, group).items()
            ]
            for group in ("likely", "possible", "less_likely", "ruled_out")
        } | {"never_in_question": list(groups.never_in_question)},
        "checks": {key: list(getattr(groups, key)) for key in ("answered", "not_known", "not_asked", "not_needed")},
        "stop_screens": [{"at": e.at, "by": e.by, **e.payload} for e in record.events if e.kind == Kind.WARNED],
        "knowledge": record.versions,
        "chain_intact": record.intact,
        "program": VERSION,
        "limits": wording.LIMITS,
        "events": [{**vars(event), "payload": dict(event.payload)} for event in record.events],
    }  # fmt: skip
    return data | {key: data[key] or NOT_ASKED for key in ASKED}


def _advice(record: Record) -> dict[str, Any] | None:
    """The advice with which the latest call ended, in the words that were read out."""
    last = record.case.last_told
    if last is None:
        return None
    advice, said = record.knowledge.dispositions[Disposition.of(last.disposition)], record.said_aloud(last)
    worse = [text for text in advice.worse if text in said]
    return {
        "name": advice.name, "within": advice.within, "how": last.how, "words": last.words,
        "said": [text for text in said if text not in worse], "worse": worse,
    }  # fmt: skip

"""The record as plain data, for other programs. An empty answer reads "not asked"; times are ISO 8601 with offset."""

from typing import Any

from comeback.cli.records.record import NOT_ASKED, Record
from comeback.cli.screens import wording
from comeback.cli.version import VERSION
from comeback.engine.case.events import Event, Kind
from comeback.kb.vocabulary import Audience, Disposition


def record_data(record: Record) -> dict[str, Any]:
    """Everything recorded; ids with their present names beside them."""
    case, now, standing = record.case, record.now, record.standing
    return {
        "case": case.id,
        "status": record.status,
        "state": record.state,
        "shop": record.shop or NOT_ASKED,
        "people": [{"name": p.name, "role": p.role.value, "from": p.first, "to": p.last} for p in record.people],
        "car": case.car,
        "registration": case.registration or NOT_ASKED,
        "registration_read_back": any(
            e.kind == Kind.REGISTERED and e.payload.get("read_back") for e in record.events
        ),
        "registration_not_confirmed": list(case.unconfirmed),
        "phone": case.phone or NOT_ASKED,
        "place": case.place or NOT_ASKED,
        "opened_at": case.opened_at,
        "service": case.service,
        "also": list(case.also),
        "complaint": case.complaint,
        "words": case.words,
        "said_later": [{"at": at, "by": by, "words": words} for at, by, words in case.said],
        "vehicle": dict(case.vehicle),
        "caller_driving": record.driving,
        "answers": [
            {
                "check": a.check, "name": record.name("checks", a.check), "result": a.result, "reading": a.reading,
                "after_repairs": a.epoch, "at": a.at, "by": a.by, "audience": a.audience.value,
            }
            for a in case.answers
        ],
        "questions": [_question(record, answer.check, answer.audience) for answer in case.answers],
        "danger_signs": [
            {"check": s.check, "name": s.name, "answer": s.answer, "raised": "yes" if s.raised else "no"}
            for s in record.signs
        ],
        "repairs": [
            {"repair": d.repair, "name": record.name("repairs", d.repair), "at": d.at, "by": d.by}
            for d in case.repairs
        ],
        "skipped": [_skipped(record, event) for event in record.skipped],
        "notes": [{"at": at, "by": by, "text": text} for at, by, text in case.notes],
        "disposition": case.disposition,
        "told": [vars(told) for told in case.told],
        "due": now.due.word if now.due is not None else "nothing",
        "due_since": now.due_at or "nothing",
        "advice": _advice(record),
        "read_back": _read_back(record),
        "overrides": [vars(override) for override in case.overrides],
        "changes": [
            {"at": e.at, "by": e.by, "event": e.payload["number"], "why": why, "old": old}
            for e, old, why in record.changes
        ],
        "handed_over": case.handed_over,
        "closed": record.closing,
        "causes": {
            group: [
                {"cause": c, "name": record.name("causes", c), "chance": round(p, 4)}
                for c, p in getattr(standing, group).items()
            ]
            for group in ("likely", "possible", "less_likely", "ruled_out")
        } | {"never_in_question": list(standing.never_in_question)},
        "checks": {
            group: list(getattr(standing, group)) for group in ("answered", "not_known", "not_asked", "not_needed")
        },
        "stop_screens": [{"at": e.at, "by": e.by, **e.payload} for e in record.events if e.kind == Kind.WARNED],
        "knowledge": record.versions,
        "chain_intact": record.intact,
        "program": VERSION,
        "limits": wording.LIMITS,
        "events": [
            {"number": e.number, "kind": e.kind, "at": e.at, "by": e.by, "payload": dict(e.payload), "hash": e.hash}
            for e in record.events
        ],
    }  # fmt: skip


def _question(record: Record, check: str, audience: Audience) -> dict[str, str]:
    """The words by which the check was asked, in the knowledge's present version."""
    entry = record.knowledge.checks.get(check)
    text = (entry.say if audience is Audience.PHONE else entry.do) if entry else None
    return {"check": check, "audience": audience.value, "text": str(text or record.name("checks", check))}


def _skipped(record: Record, event: Event) -> dict[str, str]:
    repair = event.payload["repair"]
    return {"repair": repair, "name": record.name("repairs", repair), "at": event.at, "by": event.by}


def _advice(record: Record) -> dict[str, Any] | str:
    """The advice with which the latest call ended, in the words that were read out."""
    last = record.case.last_told
    if last is None:
        return NOT_ASKED
    advice, said = record.knowledge.dispositions[Disposition.of(last.disposition)], record.said_aloud(last)
    worse = [text for text in advice.worse if text in said]
    return {
        "name": advice.name, "within": advice.within, "how": last.how, "words": last.words,
        "said": [text for text in said if text not in worse], "worse": worse,
    }  # fmt: skip


def _read_back(record: Record) -> dict[str, str]:
    agreed = record.case.read_back
    kinds = (Kind.ADVISED, Kind.READ_BACK)
    texts = [str(e.payload["read_back"]) for e in record.events if e.kind in kinds and e.payload.get("read_back")]
    return {
        "text": texts[-1] if texts else NOT_ASKED,
        "caller_agreed": NOT_ASKED if agreed is None else "yes" if agreed else "no",
    }

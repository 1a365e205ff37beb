"""The record as plain data, for other programs. An empty answer reads "not asked"; times are ISO 8601 with offset."""

from typing import Any

from comeback.cli.records.record import NOT_ASKED, Record
from comeback.cli.screens import wording
from comeback.cli.version import VERSION
from comeback.engine.case.case import Answer
from comeback.engine.case.events import Kind
from comeback.kb.vocabulary import Audience, Disposition


def record_data(record: Record) -> dict[str, Any]:
    """Everything recorded; ids with their present names beside them."""
    case, now, groups = record.case, record.now, record.standing
    plates = (event.payload for event in record.events if event.kind == Kind.REGISTERED)
    readings_back = [str(e.payload["read_back"]) for e in record.events
                     if e.kind in (Kind.ADVISED, Kind.READ_BACK) and e.payload.get("read_back")]  # fmt: skip
    return {
        "case": case.id,
        "status": record.status,
        "state": record.state,
        "shop": record.shop or NOT_ASKED,
        "people": [vars(person) for person in record.people],
        "car": case.car,
        "registration": case.registration or NOT_ASKED,
        "registration_read_back": any(plate.get("read_back") for plate in plates),
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
            {**vars(a), "name": record.name("checks", a.check), "asked": _asked(record, a)} for a in case.answers
        ],
        "danger_signs": [
            {"check": s.check, "name": s.name, "answer": s.answer, "raised": "yes" if s.raised else "no"}
            for s in record.signs
        ],
        "repairs": [{**vars(done), "name": record.name("repairs", done.repair)} for done in case.repairs],
        "skipped": [
            {"at": e.at, "by": e.by, **e.payload, "name": record.name("repairs", e.payload["repair"])}
            for e in record.skipped
        ],
        "notes": [{"at": at, "by": by, "text": text} for at, by, text in case.notes],
        "disposition": case.disposition,
        "told": [vars(told) for told in case.told],
        "due": now.due.word if now.due is not None else "nothing",
        "due_since": now.due_at or "nothing",
        "advice": _advice(record),
        "read_back": {
            "text": readings_back[-1] if readings_back else NOT_ASKED,
            "caller_agreed": NOT_ASKED if case.read_back is None else "yes" if case.read_back else "no",
        },
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


def _asked(record: Record, answer: Answer) -> str:
    """The words by which the check was asked, in the knowledge's present version."""
    entry = record.knowledge.checks.get(answer.check)
    text = (entry.say if answer.audience is Audience.PHONE else entry.do) if entry else None
    return str(text or record.name("checks", answer.check))


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

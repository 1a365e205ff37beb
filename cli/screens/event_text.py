"""A recorded event in a few words: for the line that says what was taken back or kept, and for the record."""

from typing import Any

from comeback.engine.case.case import Case
from comeback.engine.case.events import Event, Kind
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES

MOST_ANSWERS = 2


def event_text(knowledge: KnowledgeBase, event: Event, most: int = MOST_ANSWERS) -> str:
    """The event in words; of many answers at once only the first `most`. Ids that are gone stand as they are."""
    data = event.payload
    match event.kind:
        case Kind.ANSWERED:
            readings = data.get("readings", {})
            texts = [
                f"{_name(knowledge.checks, check)}: {answer_text(knowledge, check, result, readings.get(check, ''))}"
                for check, result in data["results"].items()
            ]
            return "; ".join(texts[:most]) + (f"; and {len(texts) - most} more" if len(texts) > most else "")
        case Kind.REPAIRED | Kind.SKIPPED:
            return f"{event.kind}: {_name(knowledge.repairs, data['repair'])}"
        case Kind.SERVICE:
            done = [name for name in (data["service"], *data.get("also", ())) if name]
            return " + ".join(_name(knowledge.services, name) for name in done) or "not known"
        case Kind.COMPLAINT:
            words = f" ({data['words']})" if data.get("words") else ""
            return f"{_name(knowledge.complaints, data['complaint'])}{words}"
        case Kind.CONDITION:
            value = FEATURE_VALUES.get(data["value"] or "", "not known")
            return f"{FEATURE_NAMES.get(data['feature'], data['feature'])} {value}"
        case Kind.DRIVING:
            return f"driving: {driving_text(data['driving'])}"
        case Kind.CALLED_AGAIN:
            return "the call about the same car"
    return _told(event)


def _told(event: Event) -> str:
    """Events about the advice, and any other."""
    data = event.payload
    match event.kind:
        case Kind.OVERRIDDEN:
            second = f", agreed by {data['second']}" if data.get("second") else ""
            return f"{data['ruled']} to {data['to']}: {data['reason']}{second}"
        case Kind.ADVISED:
            agreed = ", caller agreed" if data.get("agreed") else ""
            return f"advised: {data['disposition']}{agreed}"
        case Kind.REFUSED:
            return f"{data['disposition']} refused: {data['words']}"
    return str(data.get("reason") or event.kind)


def answer_text(knowledge: KnowledgeBase, check: str, result: str | None, reading: str) -> str:
    """`52 kPa: above 45 kPa`, or the result's words, or "don't know"."""
    if result is None:
        return "don't know"
    known = knowledge.checks.get(check)
    label = known.results.get(result, result) if known else result
    return f"{reading}: {label}" if reading else label


def plate_text(case: Case) -> str:
    """The registration; one that was typed only once says so."""
    if case.registration:
        return case.registration
    return f"{', '.join(case.unconfirmed)} (not confirmed: typed once)" if case.unconfirmed else ""


def driving_text(driving: bool | None) -> str:
    """`yes`, `no`, or that the caller's answer did not tell."""
    return "don't know" if driving is None else "yes" if driving else "no"


def _name(entries: Any, name: str) -> str:
    return str(entries[name].name) if name in entries else name

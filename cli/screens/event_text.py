"""A recorded event in a few words: for the line that says what was taken back or kept, and for the record."""

from collections.abc import Sequence
from typing import Any

from comeback.engine.case import facts
from comeback.engine.case.case import Case
from comeback.engine.case.events import Event
from comeback.engine.case.facts import fact_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES

MOST_ANSWERS = 2


def event_text(knowledge: KnowledgeBase, event: Event, most: int = MOST_ANSWERS) -> str:
    """The event in words; of many answers at once only the first `most`. Ids that are gone stand as they are."""
    match fact_of(event):
        case facts.Answered(results, readings):
            texts = [
                f"{name_of(knowledge.checks, check)}: {answer_text(knowledge, check, result, readings.get(check, ''))}"
                for check, result in results.items()
            ]
            return first_of(texts, most)
        case facts.Repaired(repair) | facts.Skipped(repair):
            return f"{event.kind}: {name_of(knowledge.repairs, repair)}"
        case facts.ServiceNamed() as named:
            return " + ".join(name_of(knowledge.services, name) for name in named.all) or "not known"
        case facts.ComplaintNamed(complaint, words):
            return f"{name_of(knowledge.complaints, complaint)}{f' ({words})' if words else ''}"
        case facts.ConditionNamed(feature, value):
            return f"{FEATURE_NAMES.get(feature, feature)} {FEATURE_VALUES.get(value or '', 'not known')}"
        case facts.Driving(driving):
            return f"driving: {driving_text(driving)}"
        case facts.CalledAgain():
            return "the call about the same car"
        case facts.Overridden(ruled, to, reason, second):
            return f"{ruled} to {to}: {reason}{f', agreed by {second}' if second else ''}"
        case facts.Advised(disposition, agreed):
            return f"advised: {disposition}{', caller agreed' if agreed else ''}"
        case facts.Refused(disposition, words):
            return f"{disposition} refused: {words}"
        case facts.HandedOver(reason) if reason:
            return reason
    return str(event.kind)


def answer_text(knowledge: KnowledgeBase, check: str, result: str | None, reading: str) -> str:
    """`52 kPa: above 45 kPa`, or the result's words, or "don't know"."""
    if result is None:
        return "don't know"
    known = knowledge.checks.get(check)
    label = known.results.get(result, result) if known else result
    return f"{reading}: {label}" if reading else label


def plate_text(case: Case) -> str:
    """The license plate; one that was typed only once says so."""
    if case.registration:
        return case.registration
    return f"{', '.join(case.unconfirmed)} (not confirmed: typed once)" if case.unconfirmed else ""


def driving_text(driving: bool | None) -> str:
    """`yes`, `no`, or that the caller's answer did not tell."""
    return "don't know" if driving is None else "yes" if driving else "no"


def name_of(entries: Any, name: str) -> str:
    """The name of the entry with this id; the id if the knowledge no longer has it."""
    return str(entries[name].name) if name in entries else name


def first_of(texts: Sequence[str], most: int) -> str:
    """The first `most` texts, and how many more there are."""
    rest = f"; and {len(texts) - most} more" if len(texts) > most else ""
    return "; ".join(texts[:most]) + rest

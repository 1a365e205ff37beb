"""What was recorded in a few words: an event, an answer, the answers of a screen in one line."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from comeback.engine.case import facts
from comeback.engine.case.case import Answer, Case
from comeback.engine.case.events import Event
from comeback.engine.case.facts import fact_of
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_LABELS, FEATURE_VALUES

MOST_ANSWERS = 2
MANY = 4
"""Answers of one screen that are as they should be: more than these stand in one line."""


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
        case facts.ComplaintNamed(words=words) as named:
            return f"{complaints_text(knowledge, named.all)}{f' ({words})' if words else ''}"
        case facts.ConditionNamed(feature, value):
            return f"{FEATURE_LABELS.get(feature, feature)}: {FEATURE_VALUES.get(value or '', 'not known')}"
        case facts.Driving(driving):
            return f"driving: {driving_text(driving)}"
        case facts.CalledAgain():
            return "the call about the same car"
        case facts.Overridden(ruled, to, reason, second):
            return f"{ruled} to {to}: {reason}{f', agreed by {second}' if second else ''}"
        case facts.Advised(disposition, agreed):
            return f"advised: {disposition}{', caller agreed' if agreed else ''}"
        case facts.Solved(check=check):
            return f"solved on the phone: {name_of(knowledge.checks, check)}"
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


def complaints_text(knowledge: KnowledgeBase, complaints: Iterable[str], apart: str = " + ") -> str:
    """The names of the complaints, the main one first."""
    return apart.join(name_of(knowledge.complaints, name) for name in complaints)


def solved_text(knowledge: KnowledgeBase, case: Case) -> str:
    """What settled a complaint on the phone: the check that stands for it, with its result."""
    check = case.solved.check if case.solved else ""
    answer = case.answer(check)
    result = f": {answer_text(knowledge, check, answer.result, '')}" if answer and answer.result else ""
    return f"{name_of(knowledge.checks, check)}{result}"


def name_of(entries: Any, name: str) -> str:
    """The name of the entry with this id; the id if the knowledge no longer has it."""
    return str(entries[name].name) if name in entries else name


def first_of(texts: Sequence[str], most: int, apart: str = "; ") -> str:
    """The first `most` texts, and how many more there are."""
    rest = f"{apart.rstrip(', ')} and {len(texts) - most} more" if len(texts) > most else ""
    return apart.join(texts[:most]) + rest


def panel_of(knowledge: KnowledgeBase, results: Mapping[str, str | None]) -> str | None:
    """The panel that all these checks are read with, if there are several; None if there is none."""
    panels = {knowledge.checks[check].panel if check in knowledge.checks else None for check in results}
    return panels.pop() if len(panels) == 1 and len(results) > 1 else None


def panel_text(knowledge: KnowledgeBase, panel: str, results: Mapping[str, str | None], codes: Sequence[str]) -> str:
    """The panel with its typed codes, the families that were found, and how many were not."""
    checks = knowledge.checks
    found = {c: r for c, r in results.items() if r is not None and r != checks[c].expected}
    unknown = sum(1 for result in results.values() if result is None)
    clean = len(results) - len(found) - unknown
    name = knowledge.panels[panel].name if panel in knowledge.panels else panel
    told = [f"{checks[check].name}: {checks[check].results.get(str(r), str(r))}" for check, r in found.items()]
    parts = [", ".join(codes)] if codes else []
    parts += told
    if clean:
        parts.append(f"none in {clean} {'other ' if found else ''}{'family' if clean == 1 else 'families'}")
    if unknown:
        parts.append(f"{unknown} not known")
    return f"{name}: {'; '.join(parts)}"


def codes_typed(events: Iterable[Event]) -> dict[int, Sequence[str]]:
    """Number of the event -> codes typed with it."""
    told = ((event.number, fact_of(event)) for event in events)
    return {number: fact.codes for number, fact in told if isinstance(fact, facts.Answered) and fact.codes}


def findings(
    knowledge: KnowledgeBase, answers: Sequence[Answer], codes: Mapping[int, Sequence[str]]
) -> Iterator[tuple[Sequence[Answer], str]]:
    """(answers of one screen in a line, its text), in order; `codes` are the trouble codes typed, by event."""
    for number, group in groupby(answers, key=lambda answer: answer.number):
        same, typed = list(group), codes.get(number, ())
        results = {answer.check: answer.result for answer in same}
        panel = panel_of(knowledge, results)
        if panel is not None:
            yield same, panel_text(knowledge, panel, results, typed)
            continue
        known = [(answer, knowledge.checks.get(answer.check)) for answer in same]
        clean = [a for a, entry in known if entry and a.result == entry.expected and not (a.reading or a.again)]
        if len(clean) > MANY:
            yield clean, f"OK: {', '.join(knowledge.checks[answer.check].name for answer in clean)}"
        for answer in same:
            if len(clean) <= MANY or answer not in clean:
                name = knowledge.checks[answer.check].name if answer.check in knowledge.checks else answer.check
                text = answer_text(knowledge, answer.check, answer.result, answer.reading)
                text += f"; codes {', '.join(typed)}" if typed else ""
                yield [answer], f"{name}: {'second look: ' * answer.again}{text}"

"""An earlier answer corrected or caught up on: the step that asks for it again, and the drafts that record it."""

from collections.abc import Iterable
from dataclasses import replace

from comeback.cli.screens.earlier_answers import EarlierAnswer, earlier_answers
from comeback.engine.case.case import joined_words
from comeback.engine.case.events import Draft, Event
from comeback.engine.case.facts import (
    Answered,
    ComplaintNamed,
    ConditionNamed,
    Fact,
    ServiceNamed,
    TakenBack,
    fact_of,
)
from comeback.engine.walk import steps
from comeback.engine.walk.opening import fitting_complaints
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import FEATURES


def step_again(walk: Walk, item: EarlierAnswer) -> steps.Step:
    """The step that asks for this item, as it would be asked now."""
    knowledge = walk.knowledge
    if item.check is not None:
        return steps.MakeCheck(item.check, knowledge.checks[item.check].minutes, 0.0, ())
    match fact_of(item.event):
        case ConditionNamed(feature):
            return steps.ChooseCondition(feature, FEATURES[feature])
        case ComplaintNamed():
            return steps.ChooseComplaint(fitting_complaints(knowledge, walk.case))
    return steps.ChooseService(tuple(knowledge.services))


def corrected(walk: Walk, item: EarlierAnswer, fact: Fact, at: str, by: str) -> list[Draft]:
    """Two drafts: the earlier answer taken back, and the new one in its place; what shared its screen is kept."""
    number, before = item.event.number, fact_of(item.event)
    if isinstance(fact, Answered) and isinstance(before, Answered):
        anew = fact.results
        readings = {check: text for check, text in before.readings.items() if check not in anew}
        since = _since(item.event, before, [check for check in before.results if check not in anew])
        results = {**before.results, **anew}
        fact = replace(before, results=results, readings=readings | {**fact.readings}, since=since)
    if isinstance(fact, ComplaintNamed) and isinstance(before, ComplaintNamed):
        fact = replace(fact, further=fact.further or before.further)
    gone = walk.draft(TakenBack(number, "corrected"), at, by)
    return [gone, walk.draft(replace(fact, instead_of=number), at, by)]


def _since(event: Event, before: Answered, kept: Iterable[str]) -> dict[str, tuple[str, str]]:
    """When and by whom the answers that are kept were given."""
    return {check: before.since.get(check, (event.at, event.by)) for check in kept}


def all_words(walk: Walk, words: str = "") -> str:
    """All that the customer ever said of the complaint, also what was taken back, and `words`."""
    said = (fact.words for fact in map(fact_of, walk.events) if isinstance(fact, ComplaintNamed))
    return joined_words(*said, words)


def no_longer_known(walk: Walk) -> list[EarlierAnswer]:
    """Answers that this version of the knowledge does not have any more: their check or result is gone."""
    knowledge = walk.knowledge

    def known(item: EarlierAnswer) -> bool:
        match fact_of(item.event):
            case Answered():
                entry = knowledge.checks.get(str(item.check))
                return entry is not None and (item.result is None or item.result in entry.results)
            case ConditionNamed(feature, value):
                return value is None or value in FEATURES[feature]
            case ComplaintNamed(complaint):
                return complaint in knowledge.complaints
            case ServiceNamed() as named:
                return all(service in knowledge.services for service in named.all)
        return True

    return [item for item in earlier_answers(walk) if not known(item)]


def taken_out(walk: Walk, stale: list[EarlierAnswer], at: str, by: str) -> list[Draft]:
    """Drafts that take the stale answers out and leave the others of their events as they were."""
    drafts = []
    for event in {item.event.number: item.event for item in stale}.values():
        gone = {item.check for item in stale if item.event.number == event.number}
        why = "the knowledge no longer has it"
        drafts.append(walk.draft(TakenBack(event.number, why), at, by))
        before = fact_of(event)
        if isinstance(before, Answered) and (left := {c: r for c, r in before.results.items() if c not in gone}):
            kept = replace(before, results=left, since=_since(event, before, left), instead_of=event.number)
            drafts.append(walk.draft(kept, at, by))
    return drafts

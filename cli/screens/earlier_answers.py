"""What was answered so far, by number; what is open; and the answer that was taken back by going back."""

from dataclasses import dataclass

from comeback.cli.screens.event_text import answer_text, complaints_text, event_text, name_of
from comeback.engine.case import facts
from comeback.engine.case.case import standing
from comeback.engine.case.events import Event, Kind
from comeback.engine.case.facts import fact_of
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.vocabulary import FEATURE_LABELS, FEATURE_VALUES


@dataclass(frozen=True)
class EarlierAnswer:
    """One earlier answer: what was asked, what was said, its event; of a check also its id and result."""

    asked: str
    said: str
    event: Event
    check: str | None = None
    result: str | None = None
    open: bool = False


def earlier_answers(walk: Walk) -> list[EarlierAnswer]:
    """All answers that stand, in order, numbered from 1; not a "don't know" to a check that was asked again later."""
    knowledge, found = walk.knowledge, list[EarlierAnswer]()
    for event in standing(walk.events):
        match fact_of(event):
            case facts.ServiceNamed():
                found.append(EarlierAnswer("Service", event_text(knowledge, event), event))
            case facts.ComplaintNamed() as named:
                found.append(EarlierAnswer("Complaint", complaints_text(knowledge, named.all), event))
            case facts.ConditionNamed(feature, value):
                said = FEATURE_VALUES.get(value or "", "don't know")
                found.append(EarlierAnswer(FEATURE_LABELS[feature], said, event, open=value is None))
            case facts.Answered(results, readings):
                for check, result in results.items():
                    said = answer_text(knowledge, check, result, readings.get(check, ""))
                    asked = name_of(knowledge.checks, check)
                    found.append(EarlierAnswer(asked, said, event, check, result, result is None))
    last = {item.check: item for item in found if item.check in knowledge.checks}
    return [item for item in found if not item.open or last.get(item.check, item) is item]


def open_answers(walk: Walk) -> list[EarlierAnswer]:
    """Answers "don't know" that nothing later has answered."""
    known = {answer.check for answer in walk.case.answers if answer.result is not None}
    features = dict(walk.case.vehicle)
    return [
        item
        for item in earlier_answers(walk)
        if item.open and item.check not in known and getattr(fact_of(item.event), "feature", None) not in features
    ]


def answer_before(walk: Walk) -> Event | None:
    """The latest answer to the present step that was taken back by going back, to be shown and kept on request."""
    gone = [fact.number for fact in map(fact_of, walk.events) if isinstance(fact, facts.TakenBack) and not fact.why]
    for event in reversed(walk.events):
        if event.kind in (Kind.TAKEN_OVER, Kind.REPAIRED):  # what was found before a repair proves nothing after it
            return None
        if event.number in gone and _answers(walk.step, event):
            return event
    return None


def _answers(step: steps.Step, event: Event) -> bool:
    match step, fact_of(event):
        case steps.ChooseService(), facts.ServiceNamed(service):
            return service is None or service in step.services
        case steps.ChooseComplaint(), facts.ComplaintNamed(complaint):
            return complaint in step.complaints
        case steps.ChooseCondition(), facts.ConditionNamed(feature):
            return feature == step.feature
        case ((steps.DangerScreen() | steps.ReadPanel()), facts.Answered(results)):
            return set(results) == set(step.checks)
        case ((steps.LookRound() | steps.ProofRound()) as asked, facts.Answered(results)):
            return set(results) <= set(asked.checks)
        case ((steps.MakeCheck() | steps.ProveRepair()), facts.Answered(results)):
            return set(results) == {step.check}
    return False

"""What was answered so far, by number; what is open; and the answer that was taken back by going back."""

from dataclasses import dataclass

from comeback.cli.screens.event_text import answer_text
from comeback.engine.case.case import standing
from comeback.engine.case.events import Event, Kind
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES


@dataclass(frozen=True)
class EarlierAnswer:
    """One earlier answer: what was asked, what was said, the event that recorded it; `check` if it was a check."""

    asked: str
    said: str
    event: Event
    check: str | None = None
    open: bool = False


def earlier_answers(walk: Walk) -> list[EarlierAnswer]:
    """All answers that stand, in order; one item for each check. Their numbers count from 1."""
    found: list[EarlierAnswer] = []
    for event in standing(walk.events):
        found += _answers_of(walk.knowledge, event)
    return found


def _answers_of(knowledge: KnowledgeBase, event: Event) -> list[EarlierAnswer]:
    data = event.payload
    match event.kind:
        case Kind.SERVICE:
            done = [name for name in (data["service"], *data.get("also", ())) if name]
            said = " + ".join(knowledge.services[s].name if s in knowledge.services else s for s in done)
            return [EarlierAnswer("Service", said or "not known", event)]
        case Kind.COMPLAINT:
            entry = knowledge.complaints.get(data["complaint"])
            return [EarlierAnswer("Complaint", entry.name if entry else data["complaint"], event)]
        case Kind.CONDITION:
            said = FEATURE_VALUES.get(data["value"] or "", "don't know")
            return [EarlierAnswer(FEATURE_NAMES[data["feature"]], said, event, open=data["value"] is None)]
        case Kind.ANSWERED:
            return [_check_answer(knowledge, event, check, result) for check, result in data["results"].items()]
    return []


def _check_answer(knowledge: KnowledgeBase, event: Event, check: str, result: str | None) -> EarlierAnswer:
    known = knowledge.checks.get(check)
    said = answer_text(knowledge, check, result, event.payload.get("readings", {}).get(check, ""))
    return EarlierAnswer(known.name if known else check, said, event, check, result is None)


def open_answers(walk: Walk) -> list[EarlierAnswer]:
    """Answers "don't know" that nothing later has answered."""
    known = {answer.check for answer in walk.case.answers if answer.result is not None}
    features = dict(walk.case.vehicle)
    return [
        item
        for item in earlier_answers(walk)
        if item.open and item.check not in known and item.event.payload.get("feature") not in features
    ]


def answer_before(walk: Walk) -> Event | None:
    """The latest answer to the present step that was taken back by going back, to be shown and kept on request."""
    gone = [e.payload["number"] for e in walk.events if e.kind == Kind.TAKEN_BACK and "why" not in e.payload]
    for event in reversed(walk.events):
        if event.kind == Kind.TAKEN_OVER:
            return None
        if event.number in gone and _answers(walk.step, event):
            return event
    return None


def _answers(step: steps.Step, event: Event) -> bool:
    data = event.payload
    match step, event.kind:
        case steps.ChooseService(), Kind.SERVICE:
            return data["service"] is None or data["service"] in step.services
        case steps.ChooseComplaint(), Kind.COMPLAINT:
            return data["complaint"] in step.complaints
        case steps.ChooseCondition(), Kind.CONDITION:
            return bool(data["feature"] == step.feature)
        case ((steps.DangerScreen() | steps.ReadPanel()), Kind.ANSWERED):
            return set(data["results"]) == set(step.checks)
        case ((steps.MakeCheck() | steps.ProveRepair()), Kind.ANSWERED):
            return set(data["results"]) == {step.check}
    return False

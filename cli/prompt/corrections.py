"""Which answers can be corrected or caught up on, and the step that asks for each of them again."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from comeback.cli.screens.event_text import answer_text
from comeback.engine.case.case import standing
from comeback.engine.case.events import INSTEAD_OF, Draft, Event, Kind
from comeback.engine.walk import steps
from comeback.engine.walk.policy import fitting_complaints
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURE_NAMES, FEATURE_VALUES, FEATURES

WORDS_APART = " / "


@dataclass(frozen=True)
class Item:
    """One earlier answer: what was asked, what was said, the event that recorded it; `check` if it was a check."""

    asked: str
    said: str
    event: Event
    check: str | None = None
    open: bool = False


def items(walk: Walk) -> list[Item]:
    """All answers that stand, in order; one item for each check. Their numbers count from 1."""
    found: list[Item] = []
    for event in standing(walk.events):
        found += _items_of(walk.knowledge, event)
    return found


def _items_of(knowledge: KnowledgeBase, event: Event) -> list[Item]:
    data = event.payload
    match event.kind:
        case Kind.SERVICE:
            done = [name for name in (data["service"], *data.get("also", ())) if name]
            said = " + ".join(knowledge.services[s].name if s in knowledge.services else s for s in done)
            return [Item("Service", said or "not known", event)]
        case Kind.COMPLAINT:
            entry = knowledge.complaints.get(data["complaint"])
            return [Item("Complaint", entry.name if entry else data["complaint"], event)]
        case Kind.CONDITION:
            said = FEATURE_VALUES.get(data["value"] or "", "don't know")
            return [Item(FEATURE_NAMES[data["feature"]], said, event, open=data["value"] is None)]
        case Kind.ANSWERED:
            readings = data.get("readings", {})
            return [
                Item(_check_name(knowledge, check), answer_text(knowledge, check, result, readings.get(check, "")),
                     event, check, result is None)
                for check, result in data["results"].items()
            ]  # fmt: skip
    return []


def _check_name(knowledge: KnowledgeBase, check: str) -> str:
    known = knowledge.checks.get(check)
    return known.name if known else check


def open_items(walk: Walk) -> list[Item]:
    """Answers "don't know" that nothing later has answered."""
    known = {answer.check for answer in walk.case.answers if answer.result is not None}
    features = dict(walk.case.vehicle)
    return [
        item
        for item in items(walk)
        if item.open and item.check not in known and item.event.payload.get("feature") not in features
    ]


def step_again(walk: Walk, item: Item) -> steps.Step:
    """The step that asks for this item, as it would be asked now."""
    knowledge, data = walk.knowledge, item.event.payload
    if item.check is not None:
        entry = knowledge.checks[item.check]
        return steps.MakeCheck(item.check, entry.minutes, 0.0, ())
    if item.event.kind == Kind.CONDITION:
        return steps.ChooseCondition(data["feature"], FEATURES[data["feature"]])
    if item.event.kind == Kind.COMPLAINT:
        return steps.ChooseComplaint(fitting_complaints(knowledge, walk.case))
    return steps.ChooseService(tuple(knowledge.services))


def corrected(walk: Walk, item: Item, kind: str, payload: Mapping[str, Any], at: str, by: str) -> list[Draft]:
    """Two drafts: the earlier answer taken back, and the new one in its place; what shared its screen is kept."""
    number, fresh = item.event.number, dict(payload)
    if kind == Kind.ANSWERED and item.event.kind == Kind.ANSWERED:
        fresh = {key: value for key, value in item.event.payload.items() if key != INSTEAD_OF} | {
            "results": {**item.event.payload["results"], **fresh["results"]},
            "readings": _readings(item, fresh),
            "since": _since(item, fresh),
        }
    gone = walk.draft(Kind.TAKEN_BACK, at, by, number=number, kind=item.event.kind, why="corrected")
    return [gone, walk.draft(kind, at, by, **fresh, **{INSTEAD_OF: number})]


def _readings(item: Item, fresh: Mapping[str, Any]) -> dict[str, str]:
    before = {k: v for k, v in item.event.payload.get("readings", {}).items() if k not in fresh["results"]}
    return before | dict(fresh.get("readings", {}))


def _since(item: Item, fresh: Mapping[str, Any]) -> dict[str, list[str]]:
    """When and by whom the answers that are kept were given."""
    event = item.event
    before = event.payload.get("since", {})
    kept = (check for check in event.payload["results"] if check not in fresh["results"])
    return {check: before.get(check, [event.at, event.by]) for check in kept}


def joined_words(*texts: str) -> str:
    """The customer's own words, each of them once, in order."""
    parts = (part for text in texts for part in text.split(WORDS_APART))
    return WORDS_APART.join(dict.fromkeys(part for part in parts if part))


def all_words(walk: Walk, words: str = "") -> str:
    """All that the customer ever said of the complaint, also what was taken back, and `words`."""
    said = (str(e.payload.get("words") or "") for e in walk.events if e.kind == Kind.COMPLAINT)
    return joined_words(*said, words)


def no_longer_known(walk: Walk) -> list[Item]:
    """Answers that this version of the knowledge does not have any more: their check or result is gone."""
    knowledge = walk.knowledge
    out = []
    for item in items(walk):
        data = item.event.payload
        if item.check is not None:
            entry, result = knowledge.checks.get(item.check), data["results"][item.check]
            good = entry is not None and (result is None or result in entry.results)
        elif item.event.kind == Kind.CONDITION:
            good = data["value"] is None or data["value"] in FEATURES[data["feature"]]
        else:
            good = _still_named(knowledge, item.event)
        if not good:
            out.append(item)
    return out


def _still_named(knowledge: KnowledgeBase, event: Event) -> bool:
    if event.kind == Kind.COMPLAINT:
        return event.payload["complaint"] in knowledge.complaints
    done = (event.payload["service"], *event.payload.get("also", ()))
    return all(name is None or name in knowledge.services for name in done)


def taken_out(walk: Walk, stale: list[Item], at: str, by: str) -> list[Draft]:
    """Drafts that take the stale answers out and leave the others of their events as they were."""
    drafts = []
    for event in {item.event.number: item.event for item in stale}.values():
        gone = {item.check for item in stale if item.event.number == event.number}
        why = "the knowledge no longer has it"
        drafts.append(walk.draft(Kind.TAKEN_BACK, at, by, number=event.number, kind=event.kind, why=why))
        left = {check: result for check, result in event.payload.get("results", {}).items() if check not in gone}
        if left:
            since = {check: event.payload.get("since", {}).get(check, [event.at, event.by]) for check in left}
            kept = {**event.payload, "results": left, "since": since, INSTEAD_OF: event.number}
            drafts.append(walk.draft(Kind.ANSWERED, at, by, **kept))
    return drafts


def earlier_answer(walk: Walk) -> Event | None:
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

"""An earlier answer corrected or caught up on: the step that asks for it again, and the drafts that record it."""

from collections.abc import Mapping
from typing import Any

from comeback.cli.screens.earlier_answers import EarlierAnswer, earlier_answers
from comeback.engine.case.events import INSTEAD_OF, Draft, Event, Kind
from comeback.engine.walk import steps
from comeback.engine.walk.policy import fitting_complaints
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase
from comeback.kb.vocabulary import FEATURES

WORDS_APART = " / "


def step_again(walk: Walk, item: EarlierAnswer) -> steps.Step:
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


def corrected(walk: Walk, item: EarlierAnswer, kind: str, payload: Mapping[str, Any], at: str, by: str) -> list[Draft]:
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


def _readings(item: EarlierAnswer, fresh: Mapping[str, Any]) -> dict[str, str]:
    before = {k: v for k, v in item.event.payload.get("readings", {}).items() if k not in fresh["results"]}
    return before | dict(fresh.get("readings", {}))


def _since(item: EarlierAnswer, fresh: Mapping[str, Any]) -> dict[str, list[str]]:
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


def no_longer_known(walk: Walk) -> list[EarlierAnswer]:
    """Answers that this version of the knowledge does not have any more: their check or result is gone."""
    knowledge = walk.knowledge
    out = []
    for item in earlier_answers(walk):
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


def taken_out(walk: Walk, stale: list[EarlierAnswer], at: str, by: str) -> list[Draft]:
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

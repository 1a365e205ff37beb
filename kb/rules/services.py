"""Rules for services: new parts are not worn and may be faulty; opening looks cost little and tell something."""

import re
from collections.abc import Iterator

from comeback.kb.rules.bearing import bears_on
from comeback.kb.rules.words import Broken
from comeback.kb.schema import Cause, Check, Complaint, KnowledgeBase, Service
from comeback.kb.vocabulary import Audience, CauseKind

RENEWS = 0.5
"""A repair that removes a cause less often than this does not renew the part: the cause is elsewhere. Judged."""
MOST_MINUTES, MOST_SET_UP = 2.0, 5.0
"""Minutes of one list's opening looks together, and of each set-up that one needs. Judged."""

_NEW_PART = re.compile(
    r"\binstall (?:the|a|an) new (?!(?:seal|gasket|washer|O-ring)s?\b)|\breplace the (?!(?:\S+ )?hose)", re.I
)
"""Words of a step that fits a new part; seals and hoses have slips of their own and are not called worn."""


def new_part_not_named(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A step that fits a new part says which repair does the same, so that nobody calls the part worn."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            found = _NEW_PART.search(step.do)
            if found and not step.renews:
                message = f"'{found[0].strip()}': add `renews: [...]` with the repair that fits the same part."
                yield ("services", service.id, "steps", name, "do"), message


def renewed_part_called_worn(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Nobody is told that a part installed yesterday is worn."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            for cause in _removed(knowledge, step.renews):
                if cause.kind is CauseKind.WEAR and service.id not in cause.not_after:
                    message = f"Step '{name}' of '{service.id}' renews this part. Add `not_after: [{service.id}]`."
                    yield ("causes", cause.id), message


def new_part_never_faulty(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A new part can be faulty: a step that installs one has a slip of its service that one of its repairs removes."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            if step.renews and all(cause.service != service.id for cause in _removed(knowledge, step.renews)):
                repairs = ", ".join(step.renews)
                message = f"No slip of '{service.id}' is removed by {repairs}. Add the cause: the new part is faulty."
                yield ("services", service.id, "steps", name, "renews"), message


def _removed(knowledge: KnowledgeBase, repairs: tuple[str, ...]) -> list[Cause]:
    removes = [pair for repair in repairs for pair in knowledge.repairs[repair].removes.items()]
    return [knowledge.causes[cause] for cause, chance in removes if chance >= RENEWS]


def opening_look_out_of_place(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An opening look is made in the bay, with little set-up, and after what it needs."""
    for section, entry in _entries(knowledge):
        for i, name in enumerate(entry.opening):
            for check in _looks(knowledge, name):
                wrong = _wrong(knowledge, entry, check, entry.opening[i + 1 :])
                if wrong:
                    yield (section, entry.id, "opening", i), f"'{name}' {wrong} Choose another opening look."
                    break


def opening_looks_too_long(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """The opening looks of one complaint or service take two minutes in all."""
    for section, entry in _entries(knowledge):
        minutes = sum((knowledge.checks.get(name) or knowledge.panels[name]).minutes for name in entry.opening)
        if minutes > MOST_MINUTES:
            message = f"The opening looks take {minutes:g} min. Drop some: {MOST_MINUTES:g} min at most."
            yield (section, entry.id, "opening"), message


def opening_look_that_tells_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A service's opening look shows one of its slips; a complaint's shows a cause that may bring the complaint."""
    for section, entry in _entries(knowledge):
        slips = [cause for cause in knowledge.causes.values() if cause.service == entry.id]
        own = slips if isinstance(entry, Service) else [knowledge.causes[cause] for cause in bears_on(knowledge, entry)]
        for i, name in enumerate(entry.opening):
            if not any(check.id in cause.shows for check in _looks(knowledge, name) for cause in own):
                yield (section, entry.id, "opening", i), f"No cause of '{entry.id}' shows in '{name}'. Drop it."


def history_unmarked(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """What the bay has to ask the customer costs a call; danger signs are asked whatever they cost."""
    for check in knowledge.checks.values():
        asks = Audience.BAY in check.audience and str(check.do).startswith(("Ask the driver", "Ask the customer"))
        if asks and not check.asks_customer and not check.red_flag:
            yield ("checks", check.id), "The bay has to ask the customer this. Add `asks_customer: true`."


def _looks(knowledge: KnowledgeBase, name: str) -> list[Check]:
    """The checks of an opening look: one by itself, or all of a panel."""
    return [check for check in knowledge.checks.values() if name in (check.id, check.panel)]


def _entries(knowledge: KnowledgeBase) -> Iterator[tuple[str, Service | Complaint]]:
    yield from (("services", entry) for entry in knowledge.services.values())
    yield from (("complaints", entry) for entry in knowledge.complaints.values())


def _wrong(knowledge: KnowledgeBase, entry: Service | Complaint, check: Check, later: tuple[str, ...]) -> str:
    """What is wrong with the check as an opening look; empty if nothing is."""
    if Audience.BAY not in check.audience:
        return "is not done in the bay."
    if check.asks_customer:
        return "has to be asked of the customer."
    if any(knowledge.set_ups[name].minutes > MOST_SET_UP for name in check.set_up):
        return f"needs a set-up of more than {MOST_SET_UP:g} min."
    if any(needed in later for needed in check.needs):
        return "comes before what it needs."
    reports = entry.reports if isinstance(entry, Complaint) else {}
    if any(reports.get(needed, allowed[0]) not in allowed for needed, allowed in check.needs.items()):
        return "cannot be done with what the complaint reports."
    return ""

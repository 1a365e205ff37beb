"""Rules for opening looks: what every good technician looks at first costs little and says something."""

from collections.abc import Iterator

from comeback.kb.rules.words import Broken
from comeback.kb.schema import Check, Complaint, KnowledgeBase, Service
from comeback.kb.vocabulary import Audience

MOST_MINUTES, MOST_SET_UP = 2.0, 5.0
"""Minutes of one list's looks together without set-ups, and of each set-up that one needs. Judged."""


def opening_look_out_of_place(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """An opening look is made in the bay, with little set-up, and not before what it needs."""
    for section, entry in _entries(knowledge):
        for i, name in enumerate(entry.opening):
            for check in looked_at(knowledge, name):
                wrong = _wrong(knowledge, entry, check, entry.opening[i + 1 :])
                if wrong:
                    yield (section, entry.id, "opening", i), f"'{name}' {wrong} Choose another opening look."
                    break


def opening_looks_too_long(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """The opening looks of one complaint or service take two minutes in all."""
    for section, entry in _entries(knowledge):
        minutes = sum(_minutes(knowledge, name) for name in entry.opening)
        if minutes > MOST_MINUTES:
            message = f"The opening looks take {minutes:g} min. Leave {MOST_MINUTES:g} min of them."
            yield (section, entry.id, "opening"), message


def opening_look_that_tells_nothing(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A service's opening look shows one of its slips; a complaint's shows a cause that may bring the complaint."""
    for section, entry in _entries(knowledge):
        causes = [c for c in knowledge.causes.values() if _belongs(c.service, set(c.shows), entry)]
        for i, name in enumerate(entry.opening):
            checks = {check.id for check in looked_at(knowledge, name)}
            if all(checks.isdisjoint(cause.shows) for cause in causes):
                yield (section, entry.id, "opening", i), f"No cause of '{entry.id}' shows in '{name}'. Drop it."


def history_unmarked(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """What the bay has to ask the customer costs a call back; danger signs are asked whatever they cost."""
    for check in knowledge.checks.values():
        asks = Audience.BAY in check.audience and str(check.do).startswith(("Ask the driver", "Ask the customer"))
        if asks and not check.asks_customer and not check.red_flag:
            yield ("checks", check.id), "The bay has to ask the customer this. Add `asks_customer: true`."


def looked_at(knowledge: KnowledgeBase, name: str) -> list[Check]:
    """The checks of an opening look: one by itself, or all of a panel."""
    if name in knowledge.checks:
        return [knowledge.checks[name]]
    return [check for check in knowledge.checks.values() if check.panel == name]


def _entries(knowledge: KnowledgeBase) -> Iterator[tuple[str, Service | Complaint]]:
    yield from (("services", entry) for entry in knowledge.services.values())
    yield from (("complaints", entry) for entry in knowledge.complaints.values())


def _belongs(service: str | None, shows: set[str], entry: Service | Complaint) -> bool:
    return service == entry.id if isinstance(entry, Service) else not shows.isdisjoint(entry.reports)


def _minutes(knowledge: KnowledgeBase, name: str) -> float:
    return (knowledge.checks.get(name) or knowledge.panels[name]).minutes


def _wrong(knowledge: KnowledgeBase, entry: Service | Complaint, check: Check, later: tuple[str, ...]) -> str:
    """What is wrong with the check as an opening look; empty if nothing is."""
    if Audience.BAY not in check.audience:
        return "is not made in the bay."
    if check.asks_customer:
        return "has to be asked of the customer."
    if any(knowledge.set_ups[name].minutes > MOST_SET_UP for name in check.set_up):
        return f"needs a set-up of more than {MOST_SET_UP:g} min."
    if any(needed in later for needed in check.needs):
        return "comes before what it needs."
    reports = entry.reports if isinstance(entry, Complaint) else {}
    if any(reports.get(needed, allowed[0]) not in allowed for needed, allowed in check.needs.items()):
        return "cannot be made with what the complaint reports."
    return ""

"""Many codes that were read at one go in one line: `Stored codes: P0303; none in 23 other families`."""

from collections.abc import Iterable, Mapping, Sequence

from comeback.engine.case.events import Event
from comeback.engine.case.facts import Answered, fact_of
from comeback.kb.schema import KnowledgeBase


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
    return {number: fact.codes for number, fact in told if isinstance(fact, Answered) and fact.codes}

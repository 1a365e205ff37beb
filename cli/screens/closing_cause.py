"""Which cause a person found before a case is closed: the choices, and the words for what was recorded."""

from comeback.engine.case.facts import Closed
from comeback.engine.walk import steps
from comeback.engine.walk.walk import Walk
from comeback.kb.schema import KnowledgeBase

MOST = 5
LEAST = 0.02
"""Chance below which a cause that the repair removes is not offered, but for those that are named."""
CONFIRMED, CHOSEN, IN_WORDS, NOT_SEEN = "confirmed", "chosen", "in words", "not seen"
"""How a person named the cause: the one proposed, one of the others, one that is not listed, none."""


def choices(walk: Walk, step: steps.CloseCase) -> tuple[str, ...]:
    """Causes that the repairs remove: those named first, then by their chance of having been there."""
    places, belief = walk.view.network.places, walk.view.belief
    repairs = walk.knowledge.repairs
    removed = {cause for repair in step.repairs for cause in repairs[repair].removes if cause in places}
    chances = {cause: float(belief.was_present[places[cause]]) for cause in removed}
    likely = sorted((c for c, p in chances.items() if p >= LEAST), key=lambda c: (-chances[c], c))
    return tuple(dict.fromkeys((*step.causes, *likely)))[: max(MOST, len(step.causes))]


def cause_text(knowledge: KnowledgeBase, closed: Closed) -> str:
    """The recorded cause in words, with how it was named."""
    names = [knowledge.causes[c].name if c in knowledge.causes else c for c in closed.causes]
    told = closed.cause_words or ", ".join(names) or "not found"
    how = {
        CONFIRMED: " (named by the program, confirmed)", CHOSEN: " (chosen)", IN_WORDS: " (in the technician's words)",
        NOT_SEEN: " (nobody saw which)",
    }.get(closed.cause_named, "")  # fmt: skip
    return f"{told}{how}"

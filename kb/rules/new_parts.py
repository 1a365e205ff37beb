"""Rules for parts that a service renews: they are not worn afterwards, and may be faulty from new."""

from collections.abc import Iterator

from comeback.kb.rules.words import Broken
from comeback.kb.schema import Cause, KnowledgeBase, Repair
from comeback.kb.vocabulary import CauseKind

RENEWS = 0.5
"""A repair that removes a cause less often than this does not renew the part: the cause lies elsewhere. Judged."""


def renewed_part_called_worn(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """Nobody is told that a part which was fitted yesterday is worn."""
    for service, step, repair in _renewals(knowledge):
        for cause in _removed(knowledge, repair):
            if cause.kind is CauseKind.WEAR and service not in cause.not_after:
                message = f"Step '{step}' of '{service}' renews this part. Add `not_after: [{service}]`."
                yield ("causes", cause.id), message


def new_part_never_faulty(knowledge: KnowledgeBase) -> Iterator[Broken]:
    """A new part can be faulty: a step that fits one has a slip of its service that one of its repairs removes."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            removed = [cause for repair in step.renews for cause in _removed(knowledge, knowledge.repairs[repair])]
            if step.renews and not any(cause.service == service.id for cause in removed):
                repairs = ", ".join(step.renews)
                message = (
                    f"No slip of '{service.id}' is removed by {repairs}. Add the cause that the new part is faulty."
                )
                yield ("services", service.id, "steps", name, "renews"), message


def _renewals(knowledge: KnowledgeBase) -> Iterator[tuple[str, str, Repair]]:
    """(service, step, repair whose new part the step fits)."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            yield from ((service.id, name, knowledge.repairs[repair]) for repair in step.renews)


def _removed(knowledge: KnowledgeBase, repair: Repair) -> list[Cause]:
    return [knowledge.causes[cause] for cause, chance in repair.removes.items() if chance >= RENEWS]

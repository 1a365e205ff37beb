"""Which causes a complaint may come from, and how often they show a result: sums that rules and reports share."""

from comeback.kb.schema import Cause, Complaint, KnowledgeBase


def chance_of(knowledge: KnowledgeBase, cause: Cause, check: str, results: frozenset[str]) -> float:
    """Chance that `cause` alone gives one of `results`; 0 if it does not show in the check."""
    if check not in cause.shows:
        return 0.0
    chances = zip(knowledge.checks[check].names, knowledge.chances(cause.id, check), strict=True)
    return sum(chance for result, chance in chances if result in results)


def bears_on(knowledge: KnowledgeBase, complaint: Complaint) -> dict[str, float]:
    """Cause -> chance that it alone brings what the complaint reports; only causes that show something of it.

    Each abnormal result that is reported must be there. A cause that shows in one of them only gives 0 for
    the others, so the least chance is taken over those that it shows in.
    """
    reported = [
        (check, frozenset([result]))
        for check, result in complaint.reports.items()
        if result != knowledge.checks[check].expected
    ]
    found = {}
    for cause in knowledge.causes.values():
        chances = [chance_of(knowledge, cause, check, results) for check, results in reported]
        shown = [chance for chance in chances if chance > 0]
        if shown:
            found[cause.id] = min(shown)
    return found

"""Which causes a complaint may come from, and how often they show a result: sums that rules and reports share."""

from comeback.kb.schema import Cause, Check, Complaint, KnowledgeBase
from comeback.kb.vocabulary import Disposition, Tier


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


def flags_left_out(knowledge: KnowledgeBase, complaint: Complaint) -> list[tuple[str, float]]:
    """Danger signs that are not on the complaint's list, with the share of such cars that show them.

    A danger sign is a check for danger to people or to the car; the results that count forbid driving, or lead
    to a question that may.
    The share is a sum over causes that could bring the complaint alone, by frequency, as if every service
    had been done: an estimate for ordering, not a belief.
    """
    weights = {
        cause: chance * knowledge.causes[cause].frequency for cause, chance in bears_on(knowledge, complaint).items()
    }
    whole = sum(weights.values())
    found = []
    for check in knowledge.checks.values():
        if whole and _could_be_asked(knowledge, check, complaint):
            forbids = (result for result, least in check.red_flag.items() if least >= Disposition.TOW)
            raised = frozenset((*forbids, *check.follow_up))
            seen = sum(w * chance_of(knowledge, knowledge.causes[c], check.id, raised) for c, w in weights.items())
            found.append((check.id, seen / whole))
    return sorted(found, key=lambda pair: (-pair[1], pair[0]))


def _could_be_asked(knowledge: KnowledgeBase, check: Check, complaint: Complaint) -> bool:
    """A danger sign that is not asked or reported already, and that what is reported does not rule out.

    Not one that waits for another sign, nor one for some services only: the others would hear it for nothing.
    """
    if not check.red_flag or check.tier > Tier.CAR or check.services or knowledge.follows(check.id):
        return False
    known = (*complaint.red_flags, *complaint.reports)
    fits = all(complaint.reports.get(needed) in (None, *results) for needed, results in check.needs.items())
    return check.id not in known and fits

"""What rules and reports share: which causes may bring a complaint, how often they show a result, all instructions."""

import math
from collections.abc import Collection, Iterator

from comeback.kb.schema import Check, Complaint, KnowledgeBase
from comeback.kb.vocabulary import Disposition, Tier
from comeback.kb.yaml.reader import Path


def chance_of(knowledge: KnowledgeBase, cause: str, check: str, results: Collection[str]) -> float:
    """Chance that `cause` alone gives one of `results`; 0 if it does not show in the check."""
    if check not in knowledge.causes[cause].shows:
        return 0.0
    chances = zip(knowledge.checks[check].names, knowledge.chances(cause, check), strict=True)
    return sum(chance for result, chance in chances if result in results)


def bears_on(knowledge: KnowledgeBase, complaint: Complaint) -> dict[str, float]:
    """Cause -> chance that it alone brings what the complaint reports; only causes that show some of it.

    The least chance of the abnormal results that it shows in; for any others it would be 0.
    """
    reports = complaint.reports.items()
    abnormal = [(check, (result,)) for check, result in reports if result != knowledge.checks[check].expected]
    found = {}
    for cause in knowledge.causes:
        shown = [chance for pair in abnormal if (chance := chance_of(knowledge, cause, *pair)) > 0]
        if shown:
            found[cause] = min(shown)
    return found


def unexplained(knowledge: KnowledgeBase, complaint: Complaint, service: str) -> float:
    """Share of the cars with this complaint after this service, 0 to 1, that have none of the known causes.

    Each cause is taken by itself, at its frequency; what it does not show may have come anyway. Exact for causes that
    exclude each other, and close to the belief's own figure, since the causes are rare.
    """
    reports = [(check, knowledge.checks[check].names.index(result)) for check, result in complaint.reports.items()]
    anyway = [knowledge.leak(check)[result] for check, result in reports]
    known = 0.0
    for cause in knowledge.causes.values():
        shown = [knowledge.chances(cause.id, c)[r] if c in cause.shows else 0.0 for c, r in reports]
        if cause.after((service,)) and any(shown):
            known += cause.frequency / 1000 * math.prod(map(max, shown, anyway))
    nothing = math.prod(anyway)
    return nothing / (nothing + known)


def flags_left_out(knowledge: KnowledgeBase, complaint: Complaint) -> list[tuple[str, float]]:
    """Danger signs that are not on the complaint's list, with the share of such cars that show them.

    A danger sign is a check for danger to people or to the car; the results that count forbid driving, or lead
    to a question that may. The share is a sum over causes that could bring the complaint alone, by frequency, as if
    every service had been done: an estimate for ordering, not a belief.
    """
    causes = knowledge.causes
    weights = {cause: chance * causes[cause].frequency for cause, chance in bears_on(knowledge, complaint).items()}
    whole = sum(weights.values())
    found = []
    for check in knowledge.checks.values():
        if whole and _could_be_asked(knowledge, check, complaint):
            forbids = (result for result, least in check.red_flag.items() if least >= Disposition.TOW)
            raised = {*forbids, *check.follow_up}
            seen = sum(weight * chance_of(knowledge, cause, check.id, raised) for cause, weight in weights.items())
            found.append((check.id, seen / whole))
    return sorted(found, key=lambda pair: (-pair[1], pair[0]))


def _could_be_asked(knowledge: KnowledgeBase, check: Check, complaint: Complaint) -> bool:
    """A danger sign that is not asked or reported already, and that the reports do not rule out.

    Not one that follows another sign, nor one for some services only: after the others nobody needs to hear it. Nor
    one that says no more than the reports, as the oil level light beside the red oil light.
    """
    if not check.red_flag or check.tier > Tier.CAR or check.services or knowledge.follows(check.id):
        return False
    said = (knowledge.checks[name].red_flag.get(result) for name, result in complaint.reports.items())
    floor = max((least for least in said if least is not None), default=Disposition.WATCH)
    if not check.engine_off and _worst(knowledge, check) <= floor:
        return False
    fits = all(complaint.reports.get(needed) in (None, *results) for needed, results in check.needs.items())
    return fits and check.id not in (*complaint.red_flags, *complaint.reports)


def _worst(knowledge: KnowledgeBase, check: Check) -> Disposition:
    """The most urgent advice that the sign, or a question that follows it, can lead to."""
    signs = [check, *(knowledge.checks[sign] for signs in check.follow_up.values() for sign in signs)]
    return max(least for sign in signs for least in sign.red_flag.values())


def steps_of(knowledge: KnowledgeBase) -> Iterator[tuple[Path, str]]:
    """Every instruction to a technician, with its place."""
    for service in knowledge.services.values():
        for name, step in service.steps.items():
            yield ("services", service.id, "steps", name, "do"), step.do
    for check in knowledge.checks.values():
        if check.do:
            yield ("checks", check.id, "do"), check.do
    for section, field in (
        ("repairs", "steps"),
        ("procedures", "steps"),
        ("repairs", "put_back"),
        ("checks", "put_back"),
    ):
        for entry in getattr(knowledge, section).values():
            yield from (((section, entry.id, field, i), text) for i, text in enumerate(getattr(entry, field)))

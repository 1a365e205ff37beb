"""Which checks can be made before the keys go back, and how far they show a cause on that day."""

from comeback.engine.belief.network import Vehicle, fits
from comeback.kb.rules.bearing import chance_of
from comeback.kb.schema import Cause, Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Sense, Tier

ONSET, AT_ONCE = "onset", "at-once"
"""The check that says since when the complaint is there, and its result "from the first start on"."""
START = "start"
"""The check that starts the engine; what needs one of its results runs the engine."""
ASKED = "Ask "
"""How the instruction of a check begins that only the driver can answer; nobody is there to be asked."""


def runs(check: Check) -> bool:
    """True if the engine is run for it."""
    return check.runs_engine or check.id == START or START in check.needs


def seen_now(knowledge: KnowledgeBase, cause: Cause, check: Check, normal: frozenset[str] = frozenset()) -> float:
    """Chance that the check shows the cause before the keys go back, by a result that is not in `normal`."""
    abnormal = chance_of(knowledge, cause.id, check.id, set(check.names[1:]) - normal)
    onset = knowledge.checks.get(ONSET)
    if not vague(check) or onset is None or ONSET not in cause.shows or AT_ONCE not in onset.results:
        return abnormal
    # What is vague shows only where the trouble begins at once; in all such cars if the knowledge does not say.
    return abnormal * chance_of(knowledge, cause.id, ONSET, [AT_ONCE])


def vague(check: Check) -> bool:
    """True for what the driver notices and what the car stores: it says that something is wrong, not what."""
    return check.sense is not None or bool(check.codes)


def possible(knowledge: KnowledgeBase, vehicle: Vehicle) -> list[tuple[str, ...]]:
    """Groups of checks that can be made before the keys go back: a panel, or one check; in file order.

    Not: what only the driver can tell, what takes something apart again, what destroys evidence, and what
    makes sense only with something abnormal, for then the car stays here anyway.
    """
    groups: dict[str, list[str]] = {}
    for check in knowledge.checks.values():
        possible = Audience.BAY in check.audience and check.tier < Tier.STRIP and not check.erases_evidence
        sound = all(knowledge.checks[name].expected in with_ for name, with_ in check.needs.items())
        fitting = possible and sound and fits(check.only_if, vehicle)
        asked = check.sense is Sense.REMEMBER or str(check.do).startswith(ASKED)
        if fitting and not asked:
            groups.setdefault(f"panel {check.panel}" if check.panel else check.id, []).append(check.id)
    return [tuple(group) for group in groups.values()]

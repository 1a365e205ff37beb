"""Which causes look like a given one, and the check that tells the two apart best."""

from dataclasses import dataclass
from itertools import combinations

from comeback.kb.schema import Cause, KnowledgeBase
from comeback.kb.vocabulary import Audience


@dataclass(frozen=True)
class Mimic:
    """`likeness`: 0 nothing in common to 1 the same picture. `apart_by`: best check in the bay, `apart` how far.

    `apart` is the total variation distance of the check's results: the share of cars in which it tells.
    """

    cause: str
    likeness: float
    apart_by: str
    apart: float


def mimics(knowledge: KnowledgeBase, cause: Cause, most: int = 5) -> list[Mimic]:
    """The causes most like `cause` that the same car could have, most alike first.

    Likeness is shared chance over joint chance of all abnormal results, sum(min) / sum(max): the weighted
    Jaccard index (from memory). What both never show does not count.
    """
    others = (other for other in knowledge.causes.values() if other.id != cause.id and _same_car(cause, other))
    rows = [_beside(knowledge, cause, other) for other in others]
    return sorted((row for row in rows if row.likeness > 0), key=lambda row: (-row.likeness, row.cause))[:most]


def never_apart(knowledge: KnowledgeBase, margin: float) -> list[tuple[str, str]]:
    """Pairs of causes that the same car could have and that no check in the bay tells apart by `margin` or more."""
    bay = {check.id for check in knowledge.checks.values() if Audience.BAY in check.audience}
    return [
        (one.id, other.id)
        for one, other in combinations(knowledge.causes.values(), 2)
        if _same_car(one, other) and not {*one.shows}.isdisjoint(other.shows)
        and all(_distance(knowledge, one, other, check) < margin for check in bay & {*one.shows, *other.shows})
    ]  # fmt: skip


def _same_car(one: Cause, other: Cause) -> bool:
    """True if one car could have either."""
    fits = all(set(kinds) & set(other.only_if.get(feature, kinds)) for feature, kinds in one.only_if.items())
    return fits and (one.service is None or other.service in (None, one.service))


def _distance(knowledge: KnowledgeBase, one: Cause, other: Cause, check: str) -> float:
    """Total variation distance of the check's results."""
    pairs = zip(_results(knowledge, one, check), _results(knowledge, other, check), strict=True)
    return 0.5 * sum(abs(a - b) for a, b in pairs)


def _beside(knowledge: KnowledgeBase, one: Cause, other: Cause) -> Mimic:
    """How like `one` the other is, from all checks in which either shows."""
    shared = joint = apart = 0.0
    best = ""
    for check in sorted({*one.shows, *other.shows}):
        pairs = list(zip(_results(knowledge, one, check), _results(knowledge, other, check), strict=True))
        shared += sum(min(pair) for pair in pairs[1:])
        joint += sum(max(pair) for pair in pairs[1:])
        distance = _distance(knowledge, one, other, check)
        if Audience.BAY in knowledge.checks[check].audience and distance > apart + 1e-12:
            best, apart = check, distance
    return Mimic(other.id, shared / joint if joint else 0.0, best, apart)


def _results(knowledge: KnowledgeBase, cause: Cause, check: str) -> tuple[float, ...]:
    """Chances of the results, expected first; a check that the cause does not show in is as expected."""
    if check in cause.shows:
        return knowledge.chances(cause.id, check)
    return (1.0, *(0.0 for _ in knowledge.checks[check].names[1:]))

"""Which causes look like a given one, and the check that tells the two apart best."""

from collections.abc import Iterator
from dataclasses import dataclass

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
    rows = [Mimic(other.id, _likeness(knowledge, cause, other), *_apart(knowledge, cause, other))
            for other in _same_car(knowledge, cause)]  # fmt: skip
    return sorted((row for row in rows if row.likeness > 0), key=lambda row: (-row.likeness, row.cause))[:most]


def _same_car(knowledge: KnowledgeBase, cause: Cause) -> Iterator[Cause]:
    for other in knowledge.causes.values():
        fits = all(set(kinds) & set(other.only_if.get(feature, kinds)) for feature, kinds in cause.only_if.items())
        together = cause.service is None or other.service in (None, cause.service)
        if other.id != cause.id and fits and together:
            yield other


def _results(knowledge: KnowledgeBase, cause: Cause, check: str) -> tuple[float, ...]:
    """Chances of the results, expected first; a check that the cause does not show in is as expected."""
    if check in cause.shows:
        return knowledge.chances(cause.id, check)
    return (1.0, *(0.0 for _ in knowledge.checks[check].names[1:]))


def _likeness(knowledge: KnowledgeBase, one: Cause, other: Cause) -> float:
    shared = joint = 0.0
    for check in {*one.shows, *other.shows}:
        pairs = zip(_results(knowledge, one, check)[1:], _results(knowledge, other, check)[1:], strict=True)
        for a, b in pairs:
            shared += min(a, b)
            joint += max(a, b)
    return shared / joint if joint else 0.0


def _apart(knowledge: KnowledgeBase, one: Cause, other: Cause) -> tuple[str, float]:
    best, most = "", 0.0
    for check in sorted({*one.shows, *other.shows}):
        pairs = zip(_results(knowledge, one, check), _results(knowledge, other, check), strict=True)
        distance = 0.5 * sum(abs(a - b) for a, b in pairs)
        if Audience.BAY in knowledge.checks[check].audience and distance > most + 1e-12:
            best, most = check, distance
    return best, most

"""How often each cause occurs, from the causes that closed cases had.

T    sum of the frequencies of all causes that a service may bring back to the shop, cars per 1000
K    such causes found after that service
N    services done; if nobody says how many, N = 1000 K / T, so that T stays as it was judged

A caller who is told to watch does not come in if it passes, so of such causes, and of after-effects, only
some become closed cases: those that did are the least there were, and none is no evidence that there were
none. They are left out of T and K, and never lowered.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from comeback.engine.learning.beta import judged
from comeback.engine.learning.evidence import Counts, Learned, Lessons, Weights, kappa_of, revised_number
from comeback.kb.schema import Cause, KnowledgeBase
from comeback.kb.vocabulary import CauseKind, Disposition

STAYS_AWAY = "not lowered: a car that only needs watching, or in which it passes, does not come in"
"""Why a cause that passes or is watched is not made rarer by closed cases."""


def learn_frequencies(
    knowledge: KnowledgeBase,
    rows: Iterable[tuple[str, str, str, int]],
    done: Mapping[tuple[str, str], float],
    weights: Weights,
    shop: str | None,
    lessons: Lessons,
) -> None:
    """Add a number for every cause that could have been found; `rows` are (shop, service, cause, cases)."""
    cases: dict[tuple[str, str], float] = defaultdict(float)
    found: dict[tuple[str, str], float] = defaultdict(float)
    hits: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for whose, service, cause, count in rows:
        if cause not in knowledge.causes or service not in knowledge.services:
            lessons.unknown.add(cause if cause not in knowledge.causes else service)
            continue
        if comes_in(knowledge.causes[cause]):
            cases[whose, service] += count
        found[whose, service] += count
        hits[cause][whose] += count
        lessons.shops[whose] = lessons.shops.get(whose, 0) + count
    exposure = _exposure(knowledge, cases, found, done, lessons)
    tables = {c.id: table for c in knowledge.causes.values() if (table := _table(c, hits[c.id], exposure))}
    causes = [knowledge.causes[name] for name in tables]
    kappa = kappa_of(tables, {c.id: judged(c.frequency / 1000, weights.frequency) for c in causes})
    counted = all(known for _, known in lessons.services.values())
    for entry in causes:
        path = f"causes.{entry.id}.frequency"
        made = revised_number(path, entry.frequency, 1000.0, tables[entry.id], kappa, weights, shop)
        lessons.numbers.append(_guarded(made, entry, counted))


def _exposure(
    knowledge: KnowledgeBase,
    cases: Mapping[tuple[str, str], float],
    found: Mapping[tuple[str, str], float],
    done: Mapping[tuple[str, str], float],
    lessons: Lessons,
) -> dict[tuple[str, str], float]:
    """(shop, service) -> services done: as said, else as many as the judged frequencies make of the cases."""
    out: dict[tuple[str, str], float] = {}
    for key in sorted({*found, *done}):
        service = key[1]
        possible = [c for c in knowledge.causes.values() if c.after((service,))]
        total = sum(cause.frequency for cause in possible if comes_in(cause))
        worked_out = 1000 * cases.get(key, 0.0) / total if total else 0.0
        known = done.get(key)
        out[key] = max(worked_out if known is None else known, found.get(key, 0.0))
        before, all_known = lessons.services.get(service, (0.0, True))
        lessons.services[service] = (before + out[key], all_known and known is not None)
    return out


def _table(cause: Cause, hits: Mapping[str, float], exposure: Mapping[tuple[str, str], float]) -> Counts:
    """Shop -> [cars with the cause, services after which it could have been there]."""
    table: Counts = {}
    for (shop, service), done in exposure.items():
        if cause.after((service,)):
            table.setdefault(shop, [0.0, 0.0])[1] += done
    for shop, count in hits.items():
        row = table.setdefault(shop, [0.0, 0.0])
        row[0] = count
        row[1] = max(row[1], count)  # a slip recorded after another service: at least these cars were here
    return table


def comes_in(cause: Cause) -> bool:
    """True if a car with this cause comes in and becomes a closed case: no after-effect, none that is only watched."""
    return cause.kind is not CauseKind.AFTER_EFFECT and cause.drive > Disposition.WATCH


def _guarded(made: Learned, cause: Cause, counted: bool) -> Learned:
    """A cause is not made rarer by counting comebacks if it does not bring the car in, or must not be missed."""
    lowered = made.belief.mean < made.was / 1000
    if lowered and not comes_in(cause):
        return replace(made, value=made.was, held=STAYS_AWAY, counted=counted)
    if not made.held and cause.drive >= Disposition.TOW and lowered:
        made = replace(made, held="not lowered: with this cause the car must not be driven")
    return replace(made, counted=counted)

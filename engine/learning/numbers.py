"""Counts of closed cases and the knowledge -> revised numbers, each with what speaks for it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import accumulate, pairwise

from comeback.engine.learning.beta import judged
from comeback.engine.learning.evidence import (
    MOST_PERCENT,
    WEIGHTS,
    Counts,
    Learned,
    Lessons,
    Weights,
    kappa_of,
    revised_number,
)
from comeback.engine.learning.frequencies import learn_frequencies
from comeback.kb.schema import KnowledgeBase


def learn(
    knowledge: KnowledgeBase,
    causes: Iterable[tuple[str, str, str, int]],
    findings: Iterable[tuple[str, str, str, str, int]],
    done: Mapping[tuple[str, str], float],
    weights: Weights = WEIGHTS,
    shop: str | None = None,
) -> Lessons:
    """Learn from the counts that a case log keeps.

    `done`: (shop, service) -> services done, where known. `shop`: numbers of that shop, with
    the others as its judgment; without, of all shops together.
    """
    lessons = Lessons()
    learn_frequencies(knowledge, causes, done, weights, shop, lessons)
    learn_chances(knowledge, findings, weights, shop, lessons)
    # Numbers that an overlay already revises are held, with the results that share their hundred percent.
    places = {_group(path): revision.at for path, revision in knowledge.revisions.items()}
    lessons.numbers = sorted(
        (replace(one, held=f"already revised at {places[at]}") if (at := _group(one.path)) in places else one
         for one in lessons.numbers),
        key=lambda one: one.path,
    )  # fmt: skip
    return lessons


def _group(path: str) -> str:
    return path.rpartition(".")[0] if ".shows." in path else path


def learn_chances(
    knowledge: KnowledgeBase,
    rows: Iterable[tuple[str, str, str, str, int]],
    weights: Weights,
    shop: str | None,
    lessons: Lessons,
) -> None:
    """Add a number for every result of every check made on cars with one cause alone.

    `rows` are (shop, cause, check, result, cases).
    """
    seen: dict[tuple[str, str], dict[str, dict[str, float]]] = {}
    for whose, cause, check, result, count in rows:
        known = knowledge.causes.get(cause)
        if known is None or check not in knowledge.checks or result not in knowledge.checks[check].results:
            lessons.unknown.add(cause if known is None else f"{check}: {result}")
        elif check in known.shows:
            counts = seen.setdefault((cause, check), {}).setdefault(whose, {})
            counts[result] = counts.get(result, 0.0) + count
    groups = {key: list(_results(knowledge, *key, by_shop)) for key, by_shop in seen.items()}
    every = [one for group in groups.values() for one in group]
    tables = {path: table for path, _, table in every}
    kappa = kappa_of(tables, {path: judged(was / 100, weights.chance) for path, was, _ in every})
    for group in groups.values():
        made = [revised_number(path, was, 100.0, table, kappa, weights, shop) for path, was, table in group]
        lessons.numbers += _together(made)


def _together(results: list[Learned]) -> list[Learned]:
    """Results of one check share a hundred percent: those that move do so together or not at all."""
    if all(one.held for one in results):
        return results
    most = max(results, key=lambda one: one.value)
    over = sum(one.value for one in results) - MOST_PERCENT
    if over > 0:
        results = [replace(one, value=round(one.value - over, 3)) if one is most else one for one in results]
    return [one if one.value == one.was else replace(one, held="") for one in results]


def _results(
    knowledge: KnowledgeBase, cause: str, check: str, by_shop: Mapping[str, Mapping[str, float]]
) -> Iterable[tuple[str, float, Counts]]:
    """(path, percentage judged, counts by shop) of each abnormal result."""
    known, chances = knowledge.checks[check], knowledge.chances(cause, check)
    leak = list(accumulate(knowledge.leak(check)))
    own = {shop: _own_shares([counts.get(name, 0.0) for name in known.names], leak) for shop, counts in by_shop.items()}
    for place, result in enumerate(known.names[1:], 1):
        table = {shop: [times[place], times[-1]] for shop, times in own.items()}
        yield f"causes.{cause}.shows.{check}.{result}", round(100 * chances[place], 9), table


def _own_shares(counts: list[float], leak: list[float]) -> list[float]:
    """Times the cause itself gave each result, and at the end how often it was looked at.

    `leak` is the chance of at most each result without the cause. Noisy-MAX: the share of at most a
    result is the cause's own times the leak's, so dividing by the leak's takes out what would have been
    seen without the cause.
    """
    total = sum(counts)
    at_most = [min(seen / limit, total) for seen, limit in zip(accumulate(counts), leak, strict=True)]
    return [*(max(upto - before, 0.0) for before, upto in pairwise([0.0, *at_most])), total]

"""Counts of closed cases and the knowledge -> revised numbers, each with what speaks for it."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from comeback.engine.learning.chances import learn_chances
from comeback.engine.learning.evidence import Learned, Lessons, Weights
from comeback.engine.learning.frequencies import learn_frequencies
from comeback.kb.schema import KnowledgeBase


def learn(
    knowledge: KnowledgeBase,
    causes: Iterable[tuple[str, str, str, int]],
    findings: Iterable[tuple[str, str, str, str, int]],
    done: Mapping[tuple[str, str], float],
    weights: Weights,
    shop: str | None = None,
) -> Lessons:
    """Learn from the counts of `case_log_counts`.

    `done`: (shop, service) -> services done, where somebody knows. `shop`: numbers of that shop, with
    the others as its judgement; without, of all shops together.
    """
    lessons = Lessons()
    learn_frequencies(knowledge, causes, done, weights, shop, lessons)
    learn_chances(knowledge, findings, weights, shop, lessons)
    lessons.numbers = _not_twice(knowledge, lessons.numbers)
    return lessons


def _not_twice(knowledge: KnowledgeBase, numbers: list[Learned]) -> list[Learned]:
    """Numbers that an overlay already revises are held, with the results that share their hundred percent."""
    places = {_group(path): revision.at for path, revision in knowledge.revisions.items()}
    made = [
        replace(one, held=f"already revised at {places[_group(one.path)]}") if _group(one.path) in places else one
        for one in numbers
    ]
    return sorted(made, key=lambda one: one.path)


def _group(path: str) -> str:
    return path.rpartition(".")[0] if ".shows." in path else path

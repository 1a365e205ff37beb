"""Everything the knowledge check finds, with what was read and what a shop's own files changed."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path as FilePath

from comeback.kb.loader import LoadState, gather
from comeback.kb.problems import Problem
from comeback.kb.rules import driving, hazard, numbers, reach, remedies, services, words
from comeback.kb.rules.words import Broken
from comeback.kb.schema import KnowledgeBase

RULES: tuple[Callable[[KnowledgeBase], Iterator[Broken]], ...] = tuple(
    rule
    for module in (reach, numbers, hazard, services, driving, remedies, words)
    for name, rule in vars(module).items()
    if getattr(rule, "__module__", "") == module.__name__ and not name.startswith("_")
    if getattr(rule, "__annotations__", {}).get("return") == Iterator[Broken]
)
"""Rules beyond types: every public function of these modules that yields `Broken`."""


def examine(
    *folders: FilePath, overlays: Sequence[FilePath] = ()
) -> tuple[KnowledgeBase | None, LoadState, tuple[Problem, ...]]:
    """The knowledge (None if it cannot be used), what was read, and every problem of reading and rules together.

    Files that are not read, and revisions of something that has changed since, are problems too, though the
    knowledge can be used.
    """
    knowledge, state = gather(*folders, overlays=overlays)
    found = [*state.problems, *state.remarks]
    for rule in RULES:
        for path, message in rule(knowledge) if knowledge else ():
            document = state.places[str(path[0]), str(path[1])]
            found.append(document.key_problem(path, rule.__name__.replace("_", "-"), message))
    return knowledge, state, tuple(sorted(set(found)))

"""Everything the knowledge check finds, with what was read and what a shop's own files changed."""

from collections.abc import Sequence
from pathlib import Path as FilePath

from comeback.kb.loader import LoadState, gather
from comeback.kb.problems import Problem
from comeback.kb.rules.all_rules import RULES
from comeback.kb.schema import KnowledgeBase


def examine(
    *folders: FilePath, overlays: Sequence[FilePath] = ()
) -> tuple[KnowledgeBase | None, LoadState, tuple[Problem, ...]]:
    """The knowledge (None if it cannot be used), what was read, and every problem of reading and rules together.

    Files that are not read, and revisions whose ground has moved since, count here though the knowledge can be used.
    """
    knowledge, state = gather(*folders, overlays=overlays)
    found = [*state.problems, *state.remarks]
    if knowledge is None:
        return None, state, tuple(sorted(set(found)))
    for rule in RULES:
        for path, message in rule(knowledge):
            document = state.places[str(path[0]), str(path[1])]
            found.append(document.key_problem(path, rule.__name__.replace("_", "-"), message))
    return knowledge, state, tuple(sorted(set(found)))

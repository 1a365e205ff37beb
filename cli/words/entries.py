"""A service or complaint named on the command line: its id, or the words people use for it."""

import argparse
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from comeback.cli.errors import UsageError

if TYPE_CHECKING:
    from comeback.kb.schema import KnowledgeBase

SLIP = 0.85
"""From so alike on an id was meant, its letters slipped."""
MOST_NAMED = 3
"""Entries that an answer names, when the words fit several."""


def take_names(given: argparse.Namespace, knowledge: "KnowledgeBase") -> None:
    """Words for `--service` and `--complaint` become their ids. Raises UsageError if they mean none."""
    if given.service is not None:
        given.service = service_named(knowledge, given.service)
    if given.complaint is not None:
        given.complaint = complaint_named(knowledge, given.complaint)


def service_named(knowledge: "KnowledgeBase", asked: str) -> str:
    """The id of the service meant. Raises UsageError naming those that fit, if not exactly one does."""
    from comeback.cli.words.search_services import find_services

    fitting = find_services(knowledge, asked.replace("-", " "), list(knowledge.services)).services
    return _only("service", asked, fitting, {name: entry.name for name, entry in knowledge.services.items()})


def complaint_named(knowledge: "KnowledgeBase", asked: str) -> str:
    """The id of the complaint meant. Raises UsageError naming those that fit, if not exactly one does."""
    from comeback.cli.words.search import find_complaints

    fitting = find_complaints(knowledge, asked.replace("-", " "), knowledge.complaints).near
    return _only("complaint", asked, fitting, {name: entry.name for name, entry in knowledge.complaints.items()})


def _only(kind: str, asked: str, found: Sequence[str], names: Mapping[str, str]) -> str:
    from comeback.kb.nearest import nearest

    meant = [asked] if asked in names else nearest(asked.lower(), names, likeness=SLIP)
    if meant or len(found) == 1:
        return (meant or found)[0]
    if found:
        fitting = ", ".join(f"{name} ({names[name]})" for name in found[:MOST_NAMED])
        raise UsageError(f"'{asked}' matches more than one {kind}. Type one of: {fitting}.")
    known = f"Type one of: {', '.join(names)}." if len(names) <= 12 else f"List them: comeback explain --list {kind}"
    raise UsageError(f"There is no {kind} '{asked}'. {known}")

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

    if asked in knowledge.services:
        return asked
    found = find_services(knowledge, asked.replace("-", " "), list(knowledge.services))
    return _only("service", asked, found.services, {name: entry.name for name, entry in knowledge.services.items()})


def complaint_named(knowledge: "KnowledgeBase", asked: str) -> str:
    """The id of the complaint meant. Raises UsageError naming those that fit, if not exactly one does."""
    from comeback.cli.words.search import find_complaints

    if asked in knowledge.complaints:
        return asked
    names = {name: entry.name for name, entry in knowledge.complaints.items()}
    found = find_complaints(knowledge, asked.replace("-", " "), knowledge.complaints)
    return _only("complaint", asked, found.near, names)


def _only(kind: str, asked: str, found: Sequence[str], names: Mapping[str, str]) -> str:
    from comeback.kb.nearest import nearest

    slip = nearest(asked.lower(), names, likeness=SLIP)
    if slip or len(found) == 1:
        return (slip or found)[0]
    if found:
        fitting = ", ".join(f"{name} ({names[name]})" for name in found[:MOST_NAMED])
        raise UsageError(f"'{asked}' matches more than one {kind}. Type one of: {fitting}.")
    if len(names) <= 12:
        raise UsageError(f"There is no {kind} '{asked}'. Type one of: {', '.join(names)}.")
    raise UsageError(f"There is no {kind} '{asked}'. List them: comeback explain --list {kind}")

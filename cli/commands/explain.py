"""Everything known about a cause, check, repair, complaint, service, caution or trouble code.

comeback explain P0171           a trouble code
comeback explain pcv-hose-off    an entry by its id
comeback explain stalls --kind check
comeback explain --list cause    the ids of all causes
"""

import argparse
import sys
from typing import TYPE_CHECKING

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.look import look_of, show

if TYPE_CHECKING:
    from comeback.kb.schema import KnowledgeBase

KINDS = (
    "cause", "check", "code", "repair", "complaint", "service", "caution", "procedure", "panel", "set-up", "source",
)  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback explain`."""
    name = parser.add_argument("id", nargs="?", metavar="ID", help="id of an entry, or a trouble code")
    options.completed_by(name, options.entry_ids("complaints", "causes", "checks"))
    parser.add_argument("--kind", choices=KINDS, metavar="KIND", help=f"if several share the id: {', '.join(KINDS)}")
    parser.add_argument("--list", choices=KINDS, metavar="KIND", help="list the ids of a kind")
    options.add_json(parser)
    options.add_knowledge(parser)


def run(given: argparse.Namespace) -> int:
    """Explain the entry, or list ids."""
    from comeback.cli.reports.explaining import ids, pages

    if (given.id is None) == (given.list is None):
        raise UsageError("Explain what? Give one id: comeback explain P0171. List ids: comeback explain --list cause.")
    knowledge = options.knowledge_of(given)
    look = look_of(sys.stdout)
    if given.list is not None:
        known = ids(knowledge, given.list).items()
        show([("plain", line) for key, name in known for line in look.wrap(name, 26, f"{key}  ")], look)
        return exit_codes.DONE
    found = pages(knowledge, given.id, given.kind)
    if not found:
        raise UsageError(_unknown(knowledge, given.id, given.kind))
    if given.json:
        return options.print_json(found)
    for i, page in enumerate(found):
        show([*([("plain", "")] if i else []), *page.lines(look)], look)
    return exit_codes.DONE


def _unknown(knowledge: "KnowledgeBase", asked: str, kind: str | None) -> str:
    """What to type instead."""
    from comeback.cli.reports.explaining import nearest, pages

    others = [page.kind for page in pages(knowledge, asked)]
    if others:
        return f"'{asked}' is not a {kind}; it is a {' and a '.join(others)}. Leave out --kind."
    near = nearest(knowledge, asked)
    hint = f"Did you mean: {', '.join(near)}?" if near else "List ids: comeback explain --list cause."
    return f"No entry is called '{asked}'. {hint}"

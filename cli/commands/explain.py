"""Everything known about a cause, check, repair, complaint, service, caution or trouble code.

comeback explain P0171           a trouble code
comeback explain pcv-hose-off    an entry by its id
comeback explain stalls --kind check
comeback explain --list cause    the ids of all causes
comeback explain pcv-hose-off --graph -o hose.svg   what shows it and what fixes it
"""

import argparse
import sys
from functools import partial

from comeback.cli import exit_codes, options
from comeback.cli.errors import UsageError
from comeback.cli.look import look_of, show
from comeback.cli.reports.explaining import KINDS, ids, nearest, pages
from comeback.kb.schema import KnowledgeBase


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback explain`."""
    completer = options.entry_ids("complaints", "causes", "checks")
    options.add(parser, "id", nargs="?", metavar="ID", completer=completer, help="id of an entry, or a trouble code")
    parser.add_argument("--kind", choices=KINDS, metavar="KIND", help=f"if several share the id: {', '.join(KINDS)}")
    parser.add_argument("--list", choices=KINDS, metavar="KIND", help="list the ids of a kind")
    parser.add_argument("--graph", action="store_true", help="draw what is around a cause, check or complaint")
    parser.add_argument("-o", "--output", metavar="FILE", help="file for the drawing: .svg, .png or .pdf")
    options.add(parser, "--json", *options.KNOWLEDGE)


def run(given: argparse.Namespace) -> int:
    """Explain the entry, or list ids."""
    if (given.id is None) == (given.list is None):
        raise UsageError("Explain what? Give one id: comeback explain P0171. List ids: comeback explain --list cause.")
    if given.graph != bool(given.output) or (given.graph and (given.list or given.json)):
        raise UsageError("A drawing needs an id and a file: comeback explain rough-idle --graph -o rough-idle.svg")
    knowledge = options.knowledge_of(given)
    look = look_of(sys.stdout)
    if given.list is not None:
        known = ids(knowledge, given.list).items()
        show([("plain", line) for key, name in known for line in look.wrap(name, 26, f"{key}  ")], look)
        return exit_codes.DONE
    found = pages(knowledge, given.id, given.kind)
    if not found:
        raise UsageError(_unknown(knowledge, given.id, given.kind))
    if given.graph:
        return _draw(given, knowledge, [page.kind for page in found])
    if given.json:
        return options.print_json(found)
    for i, page in enumerate(found):
        show([*([("plain", "")] if i else []), *page.lines(look)], look)
    return exit_codes.DONE


def _draw(given: argparse.Namespace, knowledge: KnowledgeBase, kinds: list[str]) -> int:
    """Draw the entry and what surrounds it."""
    from comeback.cli.reports.charting import write_drawing  # with the graph library, which the text does not need
    from comeback.diagrams.printing import PAPERS
    from comeback.engine.analysis.relations import SECTIONS, SURROUNDED, surroundings

    known = [kind for kind in kinds if kind in SURROUNDED]
    if len(known) != 1:
        said = f"'{given.id}' is a {' and a '.join(kinds)}."
        raise UsageError(f"{said} Add --kind." if known else f"{said} Drawn are causes, checks and complaints.")
    entries = getattr(knowledge, SECTIONS[known[0]])
    entry = next(entry for key, entry in entries.items() if key.lower() == given.id.strip().lower())
    graph_of = partial(surroundings, knowledge, known[0], entry.id)
    return write_drawing(given, knowledge, f"{entry.name} ({known[0]})", graph_of, PAPERS["letter"])


def _unknown(knowledge: KnowledgeBase, asked: str, kind: str | None) -> str:
    """What to type instead."""
    others = [page.kind for page in pages(knowledge, asked)]
    if others:
        return f"'{asked}' is not a {kind}; it is a {' and a '.join(others)}. Leave out --kind."
    near = nearest(knowledge, asked)
    hint = f"Did you mean: {', '.join(near)}?" if near else "List ids: comeback explain --list cause."
    return f"No entry is called '{asked}'. {hint}"

"""Find problems in knowledge files, each with file, line and column.

Without a folder, the files that came with the program are checked, with the overlay
of COMEBACK_OVERLAY or the configuration. Exit code 4 if there is any problem.

comeback check --overlay my-shop/   a shop's own files on top of the program's
comeback check --report             counts, and causes that no check tells apart
"""

import argparse
import sys
import textwrap
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.look import tell
from comeback.cli.numbers import counted
from comeback.engine.analysis.mimics import never_apart
from comeback.engine.belief.network import Network, build_network
from comeback.kb.examination import examine
from comeback.kb.loader import LoadState, shipped_folder
from comeback.kb.rules.bearing import flags_left_out
from comeback.kb.schema import KnowledgeBase

WIDE_MARGIN = 0.5
"""Share of cars in which a check must tell two causes apart, or the report names them."""
LEAST_SHARE = 0.02
"""A danger sign that a complaint's list leaves out is named if so many of its cars show it."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback check`."""
    parser.add_argument("folder", nargs="*", metavar="PATH", help="check these files or folders instead")
    options.add(parser, "--overlay")
    parser.add_argument("--report", action="store_true", help="tables of what the knowledge contains; warnings")


def run(given: argparse.Namespace) -> int:
    """Print every problem and a count, or the report."""
    folders = [Path(folder) for folder in given.folder]
    knowledge, reading, problems = examine(*folders, overlays=options.overlays_of(given, bool(folders)))
    count = counted(len(problems), "problem")
    if knowledge is not None and given.report:
        for line in report_lines(knowledge):
            indent = " " * (len(line) - len(line.lstrip()))
            tell(*(textwrap.wrap(line, 79, subsequent_indent=indent, break_on_hyphens=False) or [""]))
        if problems:
            print(f"{count}. To list: comeback check", file=sys.stderr)
        return exit_codes.DONE
    tell(*(line for problem in problems for line in problem.lines))
    tell(*_what_was_read(reading, bool(folders)), stream=sys.stderr if problems else sys.stdout)
    if problems:
        print(f"{count}.", file=sys.stderr)
        return exit_codes.KNOWLEDGE
    if knowledge is not None:
        parts = ("services", "complaints", "causes", "checks", "repairs", "cautions")
        counts = ", ".join(f"{len(getattr(knowledge, part))} {part}" for part in parts)
        print(f"No problems. {counts}. Knowledge {knowledge.version}.")
    return exit_codes.DONE


def _what_was_read(reading: LoadState, own_folders: bool) -> Iterator[str]:
    """A line for each folder; then what the overlay revises, and what warns less than before and why."""
    for i, read in enumerate(reading.folders):
        role = " (overlay)" if read.overlay else "" if own_folders else " (came with the program)"
        yield f"{'' if i else 'Read:':6}{counted(read.files, 'file')} in {read.folder}{role}"
    here = Path("kb/knowledge")
    if not own_folders and here.is_dir() and not here.samefile(shipped_folder()):
        yield f"Not read: {here} in this folder, another copy. To check that: comeback check {here}"
    revised = [counted(len(reading.revisions), "number")] if reading.revisions else []
    revised += [counted(len(reading.changes), "text or list", "texts or lists")] if reading.changes else []
    if revised:
        yield f"Revised by the overlay: {' and '.join(revised)}."
    if reading.milder:
        yield "Warns less than before, and says why:"
        yield from (f"  {at}  {what}" for at, what in reading.milder)


def report_lines(knowledge: KnowledgeBase) -> Iterator[str]:
    """The report as paragraphs and tables of at most 80 columns; paragraphs still have to be wrapped."""
    networks = {name: build_network(knowledge, (name,)) for name in knowledge.services}
    yield f"Knowledge {knowledge.version}: {len(knowledge.causes)} causes, {len(knowledge.checks)} checks, " + (
        f"{len(knowledge.repairs)} repairs, {len(knowledge.cautions)} cautions, {len(knowledge.sources)} sources."
    )
    sections = ("services", "complaints", "causes", "checks", "repairs", "cautions", "procedures", "codes")
    entries = [entry for section in sections for entry in getattr(knowledge, section).values()]
    counts = Counter(status for e in entries for status in {knowledge.sources[s].status for s in e.source})
    named = ", ".join(f"{status} {count}" for status, count in counts.most_common())
    yield f"Of {len(entries)} entries these name a source that is (one with several counts for each): {named}."
    yield from _contents(knowledge, networks)
    yield from _alike(knowledge)
    missing = [
        f"{complaint.id}: {check} {100 * share:.0f}"
        for complaint in knowledge.complaints.values()
        for check, share in flags_left_out(knowledge, complaint)
        if share >= LEAST_SHARE
    ]
    if missing:
        yield "Danger signs that are not on a complaint's list, with % of such cars that show them:"
        yield f"  {'; '.join(missing)}"


def _contents(knowledge: KnowledgeBase, networks: dict[str, Network]) -> Iterator[str]:
    """What may be met after each service: its own causes and all wear, and what bears on them."""
    yield ""
    yield "service               steps     own  causes  checks repairs"
    for service, network in networks.items():
        causes = [knowledge.causes[name] for name in network.causes]
        own = sum(1 for cause in causes if cause.service == service)
        checks = len({check for cause in causes for check in cause.shows})
        repairs = sum(1 for repair in knowledge.repairs.values() if set(network.causes) & set(repair.removes))
        steps = len(knowledge.services[service].steps)
        yield f"{service:19}" + "".join(f"{n:8}" for n in (steps, own, len(causes), checks, repairs))
    yield "own: slips and after-effects of the service; causes: these and all wear; the rest: what bears on them."


def _alike(knowledge: KnowledgeBase) -> Iterator[str]:
    """Causes that the same car could have and no check in the bay tells apart by the wide margin, in pairs."""
    pairs = never_apart(knowledge, WIDE_MARGIN)
    yield ""
    if pairs:
        yield f"No check in the bay tells these apart in {100 * WIDE_MARGIN:.0f} of 100 cars:"
        yield from (f"  {one}, {other}" for one, other in pairs)

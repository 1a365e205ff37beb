"""Find problems in knowledge files, each with file, line and column.

Without a folder, the files that came with the program are checked, with the overlay
of COMEBACK_OVERLAY or the configuration. Exit code 4 if there is any problem.

comeback check --overlay my-shop/   a shop's own files on top of the program's
comeback check --report             counts, and what the checks can tell apart
"""

import argparse
import sys
import textwrap
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.look import tell
from comeback.cli.numbers import counted
from comeback.engine.analysis.testability import MARGIN, testability
from comeback.engine.belief.network import Network, build_network
from comeback.kb.examination import examine
from comeback.kb.loader import LoadState, shipped_folder
from comeback.kb.rules.bearing import flags_left_out
from comeback.kb.schema import Check, KnowledgeBase
from comeback.kb.vocabulary import Audience, Tier

DEPTHS: dict[str, Callable[[Check], bool]] = {
    "phone": lambda check: Audience.PHONE in check.audience,
    "look": lambda check: Audience.BAY in check.audience and check.tier <= Tier.LOOK,
    "bay": lambda check: Audience.BAY in check.audience,
}
"""Checks that are made on the phone; by looking, in the bay; all in the bay."""
WIDE_MARGIN = 0.5
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
    yield from _told_apart(knowledge, networks)
    yield from _alike(knowledge, networks)
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


def _told_apart(knowledge: KnowledgeBase, networks: dict[str, Network]) -> Iterator[str]:
    yield ""
    yield "Told apart       " + "".join(f"with {name}".ljust(21) for name in DEPTHS).rstrip()
    yield "service          " + "  ".join(["seen alone <=3 mean"] * len(DEPTHS))
    for service, network in networks.items():
        cells = []
        for wanted in DEPTHS.values():
            found = testability(network, [name for name in network.observables if wanted(knowledge.checks[name])])
            shares = [100 * share for share in (found.detected, found.isolated[1], found.isolated[3])]
            cells.append("{:4.0f}{:6.0f}{:4.0f}{:5.1f}".format(*shares, found.expected_size))
        yield f"{service[:16]:17}" + "  ".join(cells)
    yield (
        f"seen: % of all causes, by frequency, that some check tells from 'nothing wrong' in {100 * MARGIN:.0f} of 100"
        " cars or more. alone, <=3: % of the seen causes, by frequency, in groups of 1, of at most 3, that no check"
        " tells apart that well. mean: mean size of the group, over the same causes. One cause present, any car."
    )


def _alike(knowledge: KnowledgeBase, networks: dict[str, Network]) -> Iterator[str]:
    """Groups that no check in the bay tells apart by the wide margin, each once."""
    groups: dict[tuple[str, ...], None] = {}
    for network in networks.values():
        names = [name for name in network.observables if DEPTHS["bay"](knowledge.checks[name])]
        found = testability(network, names, WIDE_MARGIN)
        groups.update((group, None) for group in found.groups if len(group) > 1)
    yield ""
    if groups:
        yield f"No check in the bay tells these apart in {100 * WIDE_MARGIN:.0f} of 100 cars:"
        yield from (f"  {', '.join(group)}" for group in groups)

"""Find problems in knowledge files, each with file, line and column.

Without a folder, the files that came with the program are checked, with the overlay
of COMEBACK_OVERLAY or the configuration. Exit code 4 if there is any problem.

comeback check --overlay my-shop/   a shop's own files on top of the program's
comeback check --report             counts, and what the checks can tell apart
"""

import argparse
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

from comeback.cli import exit_codes, options
from comeback.cli.look import tell
from comeback.cli.numbers import counted
from comeback.cli.reports.knowledge_report import report_lines
from comeback.kb.examination import examine
from comeback.kb.loader import LoadState, shipped_folder


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback check`."""
    parser.add_argument("folder", nargs="*", metavar="PATH", help="check these files or folders instead")
    options.add_overlay(parser)
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

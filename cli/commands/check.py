"""Find problems in knowledge files, each with file, line and column.

Without a folder the shipped knowledge is checked. Exit code 4 if there is any problem.
"""

import argparse
import json
import sys
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback check`."""
    parser.add_argument("folder", nargs="*", metavar="PATH", help="knowledge files or folders of them")
    parser.add_argument("--json", action="store_true", help="print the problems as JSON")


def run(given: argparse.Namespace) -> int:
    """Print every problem, then a count."""
    from comeback.cli import exit_codes
    from comeback.kb.rules import check_folders

    knowledge, problems = check_folders(*(Path(folder) for folder in given.folder))
    if given.json:
        rows = [
            {"file": p.file, "line": p.line, "column": p.column, "rule": p.rule, "message": p.message} for p in problems
        ]
        print(json.dumps(rows, ensure_ascii=False, indent=1))
    else:
        for problem in problems:
            print(problem)
        _summary(knowledge, len(problems))
    return exit_codes.KNOWLEDGE if problems else exit_codes.DONE


def _summary(knowledge, count: int) -> None:  # type: ignore[no-untyped-def]
    if count:
        print(f"{count} problem{'s' if count > 1 else ''}.", file=sys.stderr)
    else:
        parts = ("services", "complaints", "causes", "checks", "repairs", "cautions")
        counts = ", ".join(f"{len(getattr(knowledge, part))} {part}" for part in parts)
        print(f"No problems. {counts}. Knowledge {knowledge.version}.")

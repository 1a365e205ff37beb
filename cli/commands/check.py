"""Find problems in knowledge files, each with file, line and column.

Without a folder the shipped knowledge is checked, with the overlay of COMEBACK_OVERLAY
or the configuration. Exit code 4 if there is any problem.

comeback check --overlay my-shop/   a shop's own files beside the shipped ones
comeback check --report             counts, what the checks can tell apart, reading grades
comeback check --sensitivity        does the advice hang on the exact numbers?
"""

import argparse
import sys
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from comeback.cli.look import tell
from comeback.engine.safe_text import as_json

if TYPE_CHECKING:
    from comeback.kb.loader import LoadState
    from comeback.kb.problems import Problem
    from comeback.kb.schema import KnowledgeBase


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of `comeback check`."""
    from comeback.cli import options

    parser.add_argument(
        "folder", nargs="*", metavar="PATH", help="knowledge files or folders to check instead of the shipped ones"
    )
    options.add_overlay(parser)
    parser.add_argument("--json", action="store_true", help="print as JSON")
    parser.add_argument("--report", action="store_true", help="tables of what the knowledge contains; warnings")
    parser.add_argument("--sensitivity", action="store_true", help="vary all numbers and see what advice changes")
    parser.add_argument("--service", metavar="ID", help="for --report and --sensitivity: only this service")
    parser.add_argument("--runs", type=int, default=20, metavar="N", help="how many times to vary them (default: 20)")
    parser.add_argument(
        "--noise", type=float, default=0.5, metavar="SD", help="standard deviation in natural log-odds (default: 0.5)"
    )
    parser.add_argument("--seed", type=int, default=1, metavar="S", help="random seed (default: 1)")


def run(given: argparse.Namespace) -> int:
    """Print every problem and a count, or a report."""
    from comeback.cli import exit_codes
    from comeback.cli.options import overlays_of
    from comeback.kb.examination import examine

    folders = [Path(folder) for folder in given.folder]
    overlays = overlays_of(given, bool(folders))
    knowledge, reading, problems = examine(*folders, overlays=overlays)
    if knowledge is not None and (given.report or given.sensitivity):
        _reports(given, knowledge)
        if problems:
            print(f"{len(problems)} problems: comeback check lists them.", file=sys.stderr)
        return exit_codes.DONE
    if given.json:
        rows = [
            {"file": p.file, "line": p.line, "column": p.column, "rule": p.rule, "message": p.message} for p in problems
        ]
        print(as_json(rows, indent=1))
    else:
        tell(*(line for problem in problems for line in problem.lines))
        _summary(knowledge, reading, problems, bool(folders))
    return exit_codes.KNOWLEDGE if problems else exit_codes.DONE


def _summary(
    knowledge: "KnowledgeBase | None", reading: "LoadState", problems: "Sequence[Problem]", own_folders: bool
) -> None:
    from comeback.cli.reports.knowledge_read import what_was_read

    count = len(problems)
    tell(*what_was_read(reading, own_folders), stream=sys.stderr if count else sys.stdout)
    if count:
        print(f"{count} problem{'s' if count > 1 else ''}.", file=sys.stderr)
    elif knowledge is not None:
        parts = ("services", "complaints", "causes", "checks", "repairs", "cautions")
        counts = ", ".join(f"{len(getattr(knowledge, part))} {part}" for part in parts)
        print(f"No problems. {counts}. Knowledge {knowledge.version}.")


def _reports(given: argparse.Namespace, knowledge: "KnowledgeBase") -> None:
    from comeback.cli.reports.knowledge_report import report_data, report_lines

    services = _services(given, knowledge)
    data: dict[str, Any] = {}
    if given.report:
        data["report"] = report_data(knowledge, services)
        _print(given, report_lines(data["report"], knowledge))
    if given.sensitivity:
        from comeback.cli.reports.sensitivity_report import sensitivity_lines

        data["sensitivity"] = _sensitivity(given, knowledge, services)
        _print(given, sensitivity_lines(data["sensitivity"]))
    if given.json:
        print(as_json(data, indent=1))


def _sensitivity(given: argparse.Namespace, knowledge: "KnowledgeBase", services: list[str]) -> dict[str, Any]:
    import numpy as np

    from comeback.cli.reports.sensitivity_report import sensitivity_data
    from comeback.engine.analysis.sensitivity import sensitivity

    found = sensitivity(knowledge, services, np.random.default_rng(given.seed), given.runs, given.noise, _progress)
    return sensitivity_data(knowledge, found, given.noise, given.seed)


def _progress(done: int, whole: int) -> None:
    """One line that is written over, on a terminal only."""
    if sys.stderr.isatty():
        print(f"\rtried {done} of {whole} copies", end="\n" if done == whole else "", file=sys.stderr, flush=True)


def _services(given: argparse.Namespace, knowledge: "KnowledgeBase") -> list[str]:
    from comeback.cli.errors import UsageError
    from comeback.cli.words.entries import service_named

    if given.runs < 1 or not 0 <= given.noise <= 5 or given.seed < 0:
        raise UsageError("--runs must be 1 or more, --noise from 0 to 5, --seed 0 or more.")
    if given.service is None:
        return list(knowledge.services)
    return [service_named(knowledge, given.service)]


def _print(given: argparse.Namespace, lines: Iterable[str]) -> None:
    """Wrapped to 79 columns, paragraphs and lists alike; nothing if JSON was asked for."""
    for line in lines if not given.json else ():
        indent = " " * (len(line) - len(line.lstrip()))
        for part in textwrap.wrap(line, 79, subsequent_indent=indent, break_on_hyphens=False) or [""]:
            tell(part)
